"""Two machine files or two kits: do they sew the same, and if not, where and how far apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.errors import MachineFileError
from stitchcraft.machine import FORMATS, MachineFile, read_file
from stitchcraft.units import MACHINE_UNIT_MM, Length, length_between

Units = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Difference:
    """What two sets of needle holes do not share.

    Attributes:
        only_first: (n, 2) mm, holes of the first that the second lacks.
        only_second: (m, 2) mm, holes of the second that the first lacks, where it has them.
        farthest_mm: From any hole of either to the nearest of the other, at most; infinite if one has none.
    """

    only_first: FloatArray
    only_second: FloatArray
    farthest_mm: float

    def to_dict(self) -> dict[str, Any]:
        """Counts and distance as plain values for JSON."""
        far = self.farthest_mm
        return {
            "only_first": len(self.only_first),
            "only_second": len(self.only_second),
            "farthest_mm": round(far, 3) if np.isfinite(far) else None,
        }


@dataclass(frozen=True, slots=True, eq=False)
class StopDifference:
    """One stop of both files, by its number.

    Attributes:
        n: Number of the stop, from 1.
        stitches: Penetrations in the first file and in the second; 0 where it has no such stop.
        holes: What the two do not share, as they lie.
    """

    n: int
    stitches: tuple[int, int]
    holes: Difference


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """Two machine files held against each other.

    Attributes:
        first: One file.
        second: The other.
        within_mm: How far apart two penetrations may lie and still be the same.
        same: Whether the needle goes down at the same places in the same order, with the machine halting between
            the same two.
        holes: What the two do not share, as they lie.
        shift_mm: How the second has to be moved, (x, y), so that most of its holes lie on those of the first.
        shifted: What the two do not share then; holes of the second are told where they would lie.
        same_shifted: Whether they would be the same then.
        stops: Each stop, by number, as they lie.
    """

    first: MachineFile
    second: MachineFile
    within_mm: float
    same: bool
    holes: Difference
    shift_mm: tuple[float, float]
    shifted: Difference
    same_shifted: bool
    stops: tuple[StopDifference, ...]

    def to_dict(self) -> dict[str, Any]:
        """The comparison as plain values for JSON."""
        return {
            "first": self.first.path,
            "second": self.second.path,
            "same": self.same,
            "within_mm": self.within_mm,
            "stitches": [self.first.stitches, self.second.stitches],
            "stops": [
                {"n": one.n, "stitches": list(one.stitches), **one.holes.to_dict()} for one in self.stops
            ],
            "holes": self.holes.to_dict(),
            "shift_mm": list(self.shift_mm),
            "same_shifted": self.same_shifted,
            "shifted": self.shifted.to_dict(),
        }  # fmt: skip

    def __str__(self) -> str:
        if self.same:
            return "they sew the same"
        if self.same_shifted:
            x, y = self.shift_mm
            return f"they sew the same once the second is moved by ({x:g}, {y:g}) mm"
        one, other = len(self.holes.only_first), len(self.holes.only_second)
        if not one and not other:
            return "they have the same holes, used in another order, another number of times or in other stops"
        far = f", up to {self.holes.farthest_mm:.1f} mm apart" if np.isfinite(self.holes.farthest_mm) else ""
        text = f"{one} holes are in the first only and {other} in the second only{far}"
        if any(self.shift_mm):
            x, y = self.shift_mm
            text += (
                f"; with the second moved by ({x:g}, {y:g}) mm {len(self.shifted.only_first)} and "
                f"{len(self.shifted.only_second)}"
            )
        return text


@dataclass(frozen=True, slots=True, eq=False)
class KitComparison:
    """Two folders of machine files held against each other, file by file.

    Attributes:
        files: Names that both have, with what came of it; None where the bytes are the same.
        only_first: Names of files that the first has and the second lacks.
        only_second: The other way about.
    """

    files: tuple[tuple[str, Comparison | None], ...]
    only_first: tuple[str, ...]
    only_second: tuple[str, ...]

    @property
    def same(self) -> bool:
        """Whether both have the same files and each pair sews the same."""
        all_there = not self.only_first and not self.only_second
        return all_there and all(one is None or one.same for _, one in self.files)

    def to_dict(self) -> dict[str, Any]:
        """The comparison as plain values for JSON."""
        return {
            "same": self.same,
            "files": {name: {"same": True} if one is None else one.to_dict() for name, one in self.files},
            "only_first": list(self.only_first),
            "only_second": list(self.only_second),
        }


def compare(first: str | Path | MachineFile, second: str | Path | MachineFile, *, within: Length = 0.0) -> Comparison:
    """Hold two machine files of any format against each other.

    Args:
        first: A path, or a file that was read.
        second: Likewise.
        within: How far apart two penetrations may lie and still be the same, a length up to 5 mm.

    Raises:
        MachineFileError: If one cannot be read.
        ParameterError: If *within* is out of range.
    """
    limit = length_between(within, name="within", low=0, high=5)
    one, other = (file if isinstance(file, MachineFile) else read_file(file) for file in (first, second))
    shift = _best_shift(one.units.astype(np.int64), other.units.astype(np.int64), limit)
    moved = other.units + shift
    stops = tuple(
        StopDifference(
            n=k + 1,
            stitches=(int((one.stop_of == k).sum()), int((other.stop_of == k).sum())),
            holes=_difference(one.units[one.stop_of == k], other.units[other.stop_of == k], limit),
        )
        for k in range(max(one.stops, other.stops))
    )
    x, y = (float(value) for value in shift * MACHINE_UNIT_MM)
    return Comparison(
        first=one, second=other, within_mm=limit, same=_same(one, other, other.units, limit),
        holes=_difference(one.units, other.units, limit), shift_mm=(round(x, 1) + 0.0, round(y, 1) + 0.0),
        shifted=_difference(one.units, moved, limit), same_shifted=_same(one, other, moved, limit), stops=stops,
    )  # fmt: skip


def compare_kits(first: str | Path, second: str | Path, *, within: Length = 0.0) -> KitComparison:
    """Hold the machine files of two folders against each other, by name.

    Args:
        first: A folder.
        second: Another.
        within: As `compare`.

    Raises:
        MachineFileError: If a folder holds no machine file, or one that differs cannot be read.
        ParameterError: If *within* is out of range.
    """
    one, other = Path(first), Path(second)
    names = [_machine_files(folder) for folder in (one, other)]
    both = [name for name in names[0] if name in names[1]]
    return KitComparison(
        files=tuple(
            (
                name,
                None if (one / name).read_bytes() == (other / name).read_bytes()
                else compare(one / name, other / name, within=within),
            )
            for name in both
        ),
        only_first=tuple(name for name in names[0] if name not in names[1]),
        only_second=tuple(name for name in names[1] if name not in names[0]),
    )  # fmt: skip


def _machine_files(folder: Path) -> list[str]:
    names = sorted(path.name for path in folder.iterdir() if path.suffix.lower().removeprefix(".") in FORMATS)
    if not names:
        raise MachineFileError(f"{folder}: holds no machine file ({', '.join(FORMATS)})")
    return names


def _same(one: MachineFile, other: MachineFile, units: NDArray[Any], within: float) -> bool:
    if len(one.units) != len(units) or not np.array_equal(one.stop_of, other.stop_of):
        return False
    apart = np.hypot(*(one.units - units).T) * MACHINE_UNIT_MM
    return bool((apart <= within + 1e-9).all())


def _difference(one: NDArray[Any], other: NDArray[Any], within: float) -> Difference:
    first, second = np.unique(one, axis=0), np.unique(other, axis=0)
    to_second, to_first = _distances(first, second), _distances(second, first)
    return Difference(
        first[to_second > within + 1e-9] * MACHINE_UNIT_MM,
        second[to_first > within + 1e-9] * MACHINE_UNIT_MM,
        max(float(to_second.max(initial=0.0)), float(to_first.max(initial=0.0))),
    )


def _distances(spots: NDArray[Any], others: NDArray[Any]) -> FloatArray:
    """From each hole to the nearest of the others, mm; infinite if there are none."""
    from scipy.spatial import cKDTree  # loaded with the first comparison

    if not len(spots) or not len(others):
        return np.full(len(spots), np.inf)
    distances: FloatArray = cKDTree(others).query(spots)[0] * MACHINE_UNIT_MM
    return distances


def _best_shift(one: Units, other: Units, within: float) -> Units:
    """By how many units the second set has to be moved so that most of its holes are holes of the first.

    Of equals the least shift counts, so that two files which lie as they should are not moved.
    """
    from scipy.spatial import cKDTree

    first, second = np.unique(one, axis=0), np.unique(other, axis=0)
    tree = cKDTree(first)

    def score(shift: Units) -> tuple[int, float]:
        far = tree.query(second + shift)[0] * MACHINE_UNIT_MM
        return int((far <= within + 1e-9).sum()), -float(np.hypot(*shift))

    best = np.zeros(2, dtype=np.int64)
    standing = score(best)
    if standing[0] == len(second) == len(first):
        return best
    for start in _shifts(one, other):
        shift = start
        for _ in range(4):
            nearest = tree.query(second + shift)[1]
            steps, count = np.unique(first[nearest] - second - shift, axis=0, return_counts=True)
            # the step that most holes ask for
            step = steps[count.argmax()]
            shift = shift + step
            if (found := score(shift)) > standing:
                best, standing = shift, found
            if not step.any():
                break
    return best


def _shifts(one: Units, other: Units) -> Iterator[Units]:
    """Where to begin the search: no shift, middles or starts laid together, penetrations in order, most overlap."""
    yield np.zeros(2, dtype=np.int64)
    yield (one.min(axis=0) + one.max(axis=0) - other.min(axis=0) - other.max(axis=0)) // 2
    yield one[0] - other[0]
    if len(one) == len(other):
        yield np.median(one - other, axis=0).astype(np.int64)
    yield _overlap(one, other)


def _overlap(one: Units, other: Units) -> Units:
    """The shift at which two pictures of the holes, drawn in coarse cells, lie on one another best."""
    from scipy.signal import fftconvolve

    span = max(np.ptp(one, axis=0).max(), np.ptp(other, axis=0).max(), 1)
    cell = max(5, int(span) // 800)
    pictures = []
    for units in (one, other):
        at = (units - units.min(axis=0)) // cell
        picture = np.zeros(at.max(axis=0) + 1)
        picture[tuple(at.T)] = 1.0
        pictures.append(picture)
    match = fftconvolve(pictures[0], pictures[1][::-1, ::-1])
    peak = np.array(np.unravel_index(match.argmax(), match.shape)) - np.array(pictures[1].shape) + 1
    shift: Units = (peak * cell + one.min(axis=0) - other.min(axis=0)).astype(np.int64)
    return shift
