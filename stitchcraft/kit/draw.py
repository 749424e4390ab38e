"""Pictures of a machine file, or of the parts of a spec."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from stitchcraft.design import StitchPlan
from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.family import Family
from stitchcraft.kit.cloth import cloth_under
from stitchcraft.kit.make import kit_of, placed_errors
from stitchcraft.kit.pictures import parts_svg, preview_png
from stitchcraft.kit.replay import player_of
from stitchcraft.machine import FORMATS, read_file
from stitchcraft.stitching import plan
from stitchcraft.view import PlayerPart, density_picture, patch_under, plan_svg, player_html, thread_picture
from stitchcraft.whole_files import whole_file

PICTURES: Final = (".svg", ".png", ".html")


def draw_file(source: Path, target: Path, *, part: str | None = None, density: bool = False) -> None:
    """Draw a machine file or parts of a spec: SVG (the plan, true to scale), PNG (as sewn) or HTML (the player).

    Args:
        source: A machine file, or a spec (``.toml``).
        target: Where to; the suffix says which picture.
        part: Which part of a spec; None draws them all: for PNG with the bag that they belong on, for SVG in
            rows.
        density: Draw how closely needle holes and thread lie instead, PNG only; of a spec its first part, if none is
            named.

    Raises:
        SpecError: If the spec or the target cannot be used.
        MachineFileError: If the machine file cannot be read.
        ParameterError: If the part is none of the spec's, or the picture would be too large.
    """
    suffix = target.suffix.lower()
    if suffix not in PICTURES:
        raise SpecError(f"{target}: the suffix says which picture to draw, and it must be one of {', '.join(PICTURES)}")
    if density:
        if suffix != ".png":
            raise SpecError(f"{target}: a map of the density is a .png")
        data = _density_of(source, part)
    elif suffix == ".html":
        data = _page_of(source, part).encode()
    elif suffix == ".svg":
        data = _svg_of(source, part).encode()
    elif part is None and _is_spec(source):
        data = preview_png(kit_of(source))
    else:
        stitches, cloth = _sewn_of(source, part)[0]
        data = thread_picture(stitches, cloth=cloth, pixels_per_mm=_scale(stitches))
    whole_file(target, data)


def _density_of(source: Path, part: str | None) -> bytes:
    if not _is_spec(source):
        stitches = _plan_of(source, part)
        try:
            return density_picture(stitches)
        except ParameterError as error:
            raise SpecError(f"{source}: {error}") from error
    with placed_errors(source):
        family = Family.from_spec(source)
        named = family.made()[0].name if part is None else part
    return density_picture(_plan_of(source, named), fabric=family.style.fabric)


def _is_spec(source: Path) -> bool:
    return source.suffix.lower() == ".toml"


def _page_of(source: Path, part: str | None) -> str:
    if _is_spec(source):
        return player_of(kit_of(source), part=part)
    stitches = _plan_of(source, part)
    # a file does not say what a stop is for
    return player_html(source.name, [PlayerPart(stitches, title=source.stem, sews=("stitches",) * len(stitches.stops))])


def _scale(stitches: StitchPlan) -> float:
    left, bottom, right, top = stitches.bounds
    return min(10.0, 2000 / (max(right - left, top - bottom) + 8))


def _svg_of(source: Path, part: str | None) -> str:
    sewn = _sewn_of(source, part)
    if not _is_spec(source):
        return plan_svg(sewn[0][0])
    if part is None:
        return parts_svg(sewn, Family.from_spec(source).name)
    return plan_svg(sewn[0][0], cloth=[patch_under(*sewn[0])])


def _plan_of(source: Path, part: str | None) -> StitchPlan:
    return _sewn_of(source, part)[0][0]


def _sewn_of(source: Path, part: str | None) -> list[tuple[StitchPlan, str | None]]:
    """A machine file, or the parts of a spec or the one that is named, each with the colour of its cloth if known."""
    if not _is_spec(source):
        if part is not None:
            raise ParameterError("part", part, f"left out for a machine file ({', '.join(FORMATS)})")
        return [(read_file(source).plan(), None)]
    with placed_errors(source):
        family = Family.from_spec(source)
        parts = {one.name: one for one in family.made()}
        if part is not None and part not in parts:
            raise ParameterError("part", part, "one of " + ", ".join(parts))
        return [
            (plan(one.design, fabric=family.style.fabric), cloth_under(one, family.style))
            for one in parts.values()
            if part in (None, one.name)
        ]
