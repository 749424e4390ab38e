"""Two paths compared, told in lines and drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from stitchcraft.checks.comparing import Comparison, KitComparison, compare, compare_kits
from stitchcraft.errors import SpecError
from stitchcraft.units import Length
from stitchcraft.whole_files import whole_file

PICTURES: Final = (".svg", ".png")


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """A comparison in words.

    Attributes:
        same: Whether both sew the same.
        lines: What there is to say, one line each.
        result: The comparison itself.
    """

    same: bool
    lines: tuple[str, ...]
    result: Comparison | KitComparison

    def to_dict(self) -> dict[str, Any]:
        """The comparison as plain values for JSON."""
        return self.result.to_dict()


def compare_paths(first: Path, second: Path, *, within: Length = 0.0, target: Path | None = None) -> Told:
    """Compare two machine files or two folders of them, and draw what differs.

    Args:
        first: A file or a folder.
        second: The same.
        within: How far apart two penetrations may lie and still be the same.
        target: A picture, .svg or .png; of folders, a folder that is made, with an SVG for each file that differs.

    Raises:
        SpecError: If one is a file and the other a folder, or the target cannot be written.
        MachineFileError: If a file cannot be read.
        ParameterError: If *within* is out of range.
    """
    for place in (first, second):
        if not place.exists():
            raise SpecError(f"{place}: there is no such file or folder")
    if first.is_dir() != second.is_dir():
        raise SpecError(f"{first} and {second}: one is a folder and the other is not; compare two of a kind")
    if first.is_dir():
        kits = compare_kits(first, second, within=within)
        if target is not None:
            _draw_kits(kits, target)
        return Told(kits.same, tuple(_kit_lines(kits, first, second)), kits)
    if target is not None and target.suffix.lower() not in PICTURES:
        raise SpecError(f"{target}: the suffix says which picture to draw, and it must be one of {', '.join(PICTURES)}")
    one = compare(first, second, within=within)
    if target is not None:
        whole_file(target, _picture(one, target.suffix.lower()))
    return Told(one.same, (f"{first} and {second}: {one}", *_stop_lines(one)), one)


def _picture(one: Comparison, suffix: str) -> bytes:
    # the picture libraries are loaded with the first picture
    from stitchcraft.view.comparison import comparison_png, comparison_svg

    return comparison_svg(one).encode() if suffix == ".svg" else comparison_png(one)


def _draw_kits(kits: KitComparison, target: Path) -> None:
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SpecError(f"{target}: cannot be made: {error.strerror or error}") from None
    for name, one in kits.files:
        if one is not None and not one.same:
            whole_file(target / f"{name}.svg", _picture(one, ".svg"))


def _stop_lines(one: Comparison) -> Iterator[str]:
    """What differs stop by stop: as they lie, or nothing more to say where a shift explains it all."""
    if one.same or one.same_shifted:
        return
    for stop in one.stops:
        ours, theirs = stop.stitches
        holes = stop.holes
        if ours == theirs and not len(holes.only_first) and not len(holes.only_second):
            continue
        far = f", up to {holes.farthest_mm:.1f} mm apart" if holes.farthest_mm < float("inf") else ""
        yield (
            f"  stop {stop.n}: {ours:,} and {theirs:,} stitches; {len(holes.only_first):,} holes in the first only, "
            f"{len(holes.only_second):,} in the second only{far}"
        )


def _kit_lines(kits: KitComparison, first: Path, second: Path) -> Iterator[str]:
    for folder, names in ((first, kits.only_first), (second, kits.only_second)):
        yield from (f"{name}: only in {folder}" for name in names)
    alike = 0
    for name, one in kits.files:
        if one is None or one.same:
            alike += 1
            continue
        yield f"{name}: {one}"
        yield from _stop_lines(one)
    yield f"{alike} of {len(kits.files)} files that both have sew the same"
