"""Outlines of filled areas changed so that they come out as drawn on a cloth that the stitching draws together."""

from __future__ import annotations

from dataclasses import replace

import shapely

from stitchcraft.defaults import PLANNING, FabricProfile
from stitchcraft.design import Area, Design, Element, Fill
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.geometry.sheet import Patch, Sheet, precompensated
from stitchcraft.stitching.fill_sections import angle_of_fewest_sections
from stitchcraft.stitching.layers import shape_of


def drawn_against_strain(design: Design, profile: FabricProfile) -> Design:
    """Change the outlines of a design's filled areas by the sheet model.

    All of them shrink on one sheet, so that they act on one another. The sheet reaches past the stitching by the
    ``sheet_margin`` of planning, since the hoop is chosen only when the stitches are known.

    Args:
        design: What to sew.
        profile: Its *strain* and *stiffening* are the cloth's.

    Returns:
        The same design where the strain is 0 or nothing is filled; otherwise one whose fills have new outlines
        and a settled angle.
    """
    if profile.strain == 0:
        return design
    spots: list[tuple[int, int]] = []
    patches: list[Patch] = []
    filled: list[Area] = []
    styles: list[Fill] = []
    for number, stop in enumerate(design.stops):
        for index, element in enumerate(stop.elements):
            if isinstance(element, Area) and isinstance(element.stitch, Fill):
                shape = shapely.MultiPolygon(polygons_of(shape_of(element)))
                if shape.is_empty:
                    continue
                filled.append(element)
                styles.append(_settled(element.stitch, shape, profile))
                patches.append(Patch(shape, float(styles[-1].angle or 0.0), profile.strain, profile.stiffening))
                spots.append((number, index))
    if not spots:
        return design
    elements: list[list[Element]] = [list(stop.elements) for stop in design.stops]
    outlines = precompensated(patches, Sheet(_frame(design)))
    for (number, index), drawn, style, outline in zip(spots, filled, styles, outlines, strict=True):
        elements[number][index] = Area(outline, style, start=drawn.start, end=drawn.end)
    stops = [replace(stop, elements=tuple(mine)) for stop, mine in zip(design.stops, elements, strict=True)]
    return replace(design, stops=tuple(stops))


def _settled(stitch: Fill, shape: shapely.MultiPolygon, profile: FabricProfile) -> Fill:
    """The style with the angle that the rows would take, which the new outline may not change."""
    if stitch.angle is not None:
        return stitch
    spacing = profile.row_spacing if stitch.row_spacing is None else stitch.row_spacing
    return replace(stitch, angle=angle_of_fewest_sections(shape, spacing=spacing))


def _frame(design: Design) -> tuple[float, float, float, float]:
    """The sheet's frame: around all that is sewn, at the margin."""
    everything = [shape_of(element) for stop in design.stops for element in stop.elements]
    left, bottom, right, top = shapely.total_bounds(everything).tolist()
    margin = PLANNING["sheet_margin"].value
    return (left - margin, bottom - margin, right + margin, top + margin)
