"""How each cloth wants to be stitched, with the source of its numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults.numbers import COMMON, DENSITY, PLANNING
from stitchcraft.errors import ParameterError
from stitchcraft.plugins import Registry
from stitchcraft.units import number_between


@dataclass(frozen=True, slots=True)
class DirectedPull:
    """The pull of thread that lies in one direction of the cloth.

    Attributes:
        angle: Direction of the thread, degrees counter-clockwise from x; the cloth's lengthwise grain lies along y.
        pull: Widening at each end of a line of thread, constant part, mm.
        pull_share: Widening at each end, as a share of the line's length.
    """

    angle: float
    pull: float
    pull_share: float

    def __post_init__(self) -> None:
        for key, low, high in (("angle", -360, 360), ("pull", 0, 2), ("pull_share", 0, 0.2)):
            number_between(getattr(self, key), name=key, low=low, high=high)


def pulls_at(directions: Sequence[DirectedPull], angle_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Read the pull in any direction off those that are known.

    A direction and its opposite are one. In between the two neighbours are mixed in proportion, so that no value
    goes past those that were measured.

    Args:
        directions: What is known, at least one.
        angle_deg: (n,) directions of thread, degrees, or a single one.

    Returns:
        The constant parts, mm, and the shares, each of the shape of *angle_deg*.

    Example:
        >>> pull, share = pulls_at([DirectedPull(0, 0.1, 0.02), DirectedPull(90, 0.3, 0.02)], [0, 45, 180, -90])
        >>> pull.round(3).tolist()
        [0.1, 0.2, 0.1, 0.3]
    """
    known = [[one.angle, one.pull, one.pull_share] for one in directions]
    angle, pull, share = np.array(known, dtype=np.float64).T
    wanted = np.asarray(angle_deg, dtype=np.float64)
    return np.interp(wanted, angle, pull, period=180.0), np.interp(wanted, angle, share, period=180.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FabricProfile:
    """How a cloth wants to be stitched. All lengths mm, for 40-weight thread.

    Attributes:
        name: What the spec calls it.
        pull: Widening at each end of a satin line or fill row, constant part.
        pull_share: Widening at each end as a share of the width.
        satin_pitch: Needle point to needle point on one side of a satin.
        row_spacing: Line to line of a fill.
        fill_length: Stitch along a fill row.
        run_length: Running stitch.
        triple_length: Triple stitch.
        seam_length: Stitch of a seam.
        underlay: Whether satin and fill get underlay.
        directions: The pull by the direction of the thread, where it was measured; *pull* and *pull_share* hold
            in all directions if there are none.
        strain: By which share a filled area would shrink along its rows if the cloth around it did not hold it.
            Above 0, the outlines of filled areas are changed by the model in `stitchcraft.geometry.sheet`, and
            the rows are still widened by *pull*.
        stiffening: How much stiffer than bare cloth a filled area is in that model; 0 for equally stiff.
        source: Where the numbers come from.
    """

    name: str
    pull: float = 0.10
    pull_share: float = 0.02
    satin_pitch: float = 0.40
    row_spacing: float = 0.25
    fill_length: float = 4.0
    run_length: float = 2.5
    triple_length: float = 2.5
    seam_length: float = 2.0
    underlay: bool = True
    directions: tuple[DirectedPull, ...] = ()
    strain: float = 0.0
    stiffening: float = 0.0
    source: str = COMMON

    def __post_init__(self) -> None:
        for key, low, high in (
            ("pull", 0, 2), ("pull_share", 0, 0.2), ("satin_pitch", 0.2, 5), ("row_spacing", 0.1, 5),
            ("fill_length", 1, 12), ("run_length", 0.5, 12), ("triple_length", 0.5, 12), ("seam_length", 0.5, 5),
            ("strain", 0, 0.1), ("stiffening", 0, 20),
        ):  # fmt: skip
            number_between(getattr(self, key), name=f"{self.name}.{key}", low=low, high=high)
        object.__setattr__(self, "directions", tuple(self.directions))
        angles = [one.angle % 180 for one in self.directions]
        if len(set(angles)) < len(angles):
            raise ParameterError(f"{self.name}.directions", angles, "directions of which no two are the same")

    def pull_at(self, angle_deg: float) -> tuple[float, float]:
        """The pull of thread in one direction.

        Args:
            angle_deg: Direction of the thread, degrees counter-clockwise from x.

        Returns:
            Widening at each end of a line: constant part, mm, and share of the line's length.

        Example:
            >>> FABRICS["denim"].pull_at(45)
            (0.12, 0.015)
        """
        if not self.directions:
            return self.pull, self.pull_share
        pull, share = pulls_at(self.directions, angle_deg)
        return float(pull), float(share)


_WOVEN = (
    "pitch: Images (UK) Feb 2022 p. 69 (0.40 mm for 40 weight); fill stitch: Printwear Feb 2016 p. 63 (4 mm); "
    "row spacing between the published 0.2 and 0.42; pull 0.1 an end (0.2 in all) and the rest: " + COMMON
)

_FABRICS: Final[dict[str, FabricProfile]] = {
    profile.name: profile
    for profile in (
        FabricProfile(name="quilting cotton", source=_WOVEN),
        FabricProfile(name="canvas", pull=0.10, pull_share=0.015, run_length=2.8, triple_length=2.8, source=_WOVEN),
        FabricProfile(name="denim", pull=0.12, pull_share=0.015, satin_pitch=0.42, run_length=2.8,
                      triple_length=3.0, source=_WOVEN),
        FabricProfile(name="felt", pull=0.18, pull_share=0.025, satin_pitch=0.42, row_spacing=0.30,
                      run_length=3.0, triple_length=3.0),
        FabricProfile(name="faux leather", pull=0.08, pull_share=0.01, satin_pitch=0.60, row_spacing=0.40,
                      fill_length=4.5, run_length=3.5, triple_length=3.5, seam_length=3.0, underlay=False,
                      source="longer and fewer stitches, since every hole stays open: " + COMMON),
        FabricProfile(name="minky", pull=0.20, pull_share=0.03, run_length=3.0, triple_length=3.0,
                      source="pull 0.4 in all for pile: " + COMMON),
    )
}  # fmt: skip

FABRICS: Final = Registry(
    "fabrics", _FABRICS, takes=lambda value: isinstance(value, FabricProfile), needs="a FabricProfile"
)
"""Every fabric by name, those of other packages included."""

FABRIC_NAMES: Final = tuple(_FABRICS)

_NEEDLE_TABLE: Final = "graphics-pro.com, table of threads and needles"

NEEDLES: Final[dict[int, tuple[str, str]]] = {
    12: ("100/16", _NEEDLE_TABLE),
    30: ("75/11 or 80/12", _NEEDLE_TABLE),
    40: ("75/11", _NEEDLE_TABLE),
    60: ("65/9", _NEEDLE_TABLE),
    75: ("60/8", _NEEDLE_TABLE),
}
"""Needle for a thread weight, metric and US size, and where that is from."""

FABRIC_NEEDLES: Final[dict[str, tuple[str, str]]] = {
    "canvas": ("80/12 to 90/14, sharp", _NEEDLE_TABLE),
    "denim": ("80/12 to 90/14, sharp", _NEEDLE_TABLE),
}
"""Cloths that want another needle than their thread alone."""


def fabric_profile(fabric: str | FabricProfile) -> FabricProfile:
    """Look a fabric up by name; a profile is handed back as it is.

    Raises:
        ParameterError: If no profile has that name.
    """
    if isinstance(fabric, FabricProfile):
        return fabric
    if fabric not in FABRICS:
        raise ParameterError("fabric", fabric, "one of " + ", ".join(FABRICS))
    return FABRICS[fabric]


def density_limit(fabric: str | FabricProfile | None) -> float:
    """Penetrations in any 1 mm2, with 40-weight thread, past which a fabric is likely cut; None for a woven one."""
    name = fabric.name if isinstance(fabric, FabricProfile) else fabric
    row = DENSITY.get(name) if name is not None else None
    return PLANNING["density_stop"].value if row is None else row.value
