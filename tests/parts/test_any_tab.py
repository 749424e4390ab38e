"""Every tip, profile and outline under every decoration at any size: a valid part, or one clear error."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stitchcraft.decoration import Decoration, decoration_from
from stitchcraft.decoration.artwork import Artwork
from stitchcraft.design import Area, Column, Design, Line, Purpose
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.svg_paths import read_svg
from stitchcraft.parts import ClosureTab, CornerAccent, Snap, StrapConnector
from stitchcraft.parts.outlines import OUTLINES
from stitchcraft.parts.profiles import PROFILES
from stitchcraft.parts.tips import TIPS

LEAF = read_svg(
    '<svg width="9mm" height="9mm" viewBox="0 0 9 9"><path d="M0 4C2 1 7 1 9 4C7 7 2 7 0 4Z"/>'
    '<path d="M4.5 7V9" stroke="red" stroke-width="0.5"/></svg>', name="leaf.svg"
)  # fmt: skip
EDGES = ("clip", "whole")


@st.composite
def decorations(draw: st.DrawFn) -> Decoration:
    """Any kind with any edge, at a pitch from fine to too large for the part."""
    kind = draw(st.sampled_from(("dots", "crosshatch", "rings", "clamshell", "petals", "scallops", "waves", "chevrons",
                                 "echo", "artwork", "motifs")))  # fmt: skip
    pitch = draw(st.floats(5, 40))
    if kind == "artwork":
        return Artwork(svg=LEAF, width=draw(st.floats(2, 60)))
    if kind == "motifs":
        return Artwork(svg=LEAF, pitch=pitch + 6, edge=draw(st.sampled_from((*EDGES, "fade"))))
    options: dict[str, Any] = {"pitch": pitch}
    if kind != "echo":
        options |= {"edge": draw(st.sampled_from(EDGES)), "angle": draw(st.floats(0, 180)),
                    "shift": draw(st.tuples(st.floats(-20, 20), st.floats(-20, 20)))}  # fmt: skip
    return decoration_from(kind, options)


def shapes_of(design: Design, purpose: Purpose) -> list[shapely.Geometry]:
    found: list[shapely.Geometry] = []
    for stop in design.stops:
        for element in stop.elements if stop.purpose is purpose else ():
            match element:
                case Line():
                    found.append(shapely.LineString(element.path))
                case Column():
                    found.append(shapely.MultiLineString([element.rail_a, element.rail_b]))
                case Area():
                    found.append(element.polygon)
    return found


def one_line(error: ParameterError, *keys: str) -> None:
    """Hold a refusal to one line that starts with a key of the part, and end the example."""
    assert "\n" not in str(error)
    assert str(error).startswith(keys)
    assume(False)


def assert_inside(design: Design, area: shapely.Geometry) -> None:
    room = shapely.buffer(area, 1e-6)
    assert all(room.covers(shape) for shape in shapes_of(design, Purpose.DECORATE))


@settings(max_examples=30)
@given(
    tip=st.sampled_from(list(TIPS)), width=st.floats(15, 160), length=st.floats(20, 260), slant=st.floats(-40, 40),
    waist=st.none() | st.floats(0.4, 1), radius=st.none() | st.floats(0, 12), snap=st.floats(8, 20),
    inset=st.floats(10, 60), decoration=decorations(),
)  # fmt: skip
def test_any_tab_is_whole_or_refused_in_a_line(
    tip: str, width: float, length: float, slant: float, waist: float | None, radius: float | None, snap: float,
    inset: float, decoration: Decoration,
) -> None:  # fmt: skip
    try:
        tab = ClosureTab(
            tip=tip, width=width, length=length, slant=slant, waist=None if waist is None else waist * width,
            tip_radius=radius, snap=Snap(diameter=snap, inset=inset), decoration=decoration,
        )  # fmt: skip
        front, back = tab.front(), tab.back()
    except ParameterError as error:
        one_line(error, "tab.", "decoration.")
    outline = shapely.LineString(tab.outline)
    assert outline.is_simple
    assert tab.shape.is_valid
    assert tab.shape.bounds[1] == -tab.length_mm or abs(tab.shape.bounds[1] + tab.length_mm) < 1e-5
    assert_inside(front, tab.decoration_area)
    seam = min((shape.distance(outline) for shape in shapes_of(front, Purpose.DECORATE)), default=np.inf)
    assert seam > 0.5
    # ticks lie outside what is left after trimming, and the snap's marks inside the tab or a finding says so
    assert all(shape.distance(tab.cut_shape) > 0 for shape in shapes_of(front, Purpose.TICKS))
    near = shapely.Point(tab.snap_centre).distance(outline)
    assert near >= tab.snap.keepout_mm - 1e-6 or any("near-seam" in finding.code for finding in tab.findings())
    assert all(np.isfinite(shapely.get_coordinates(shape)).all() for shape in shapes_of(back, Purpose.SNAP))


@settings(max_examples=25)
@given(
    profile=st.sampled_from(list(PROFILES)), width=st.floats(20, 200), height=st.floats(20, 200),
    depth=st.just(0.0) | st.floats(10, 120), decoration=decorations(),
)  # fmt: skip
def test_any_accent_is_whole_or_refused_in_a_line(
    profile: str, width: float, height: float, depth: float, decoration: Decoration
) -> None:
    try:
        accent = CornerAccent(profile=profile, width=width, height=height, depth=depth, decoration=decoration)
        left, right = accent.left(), accent.right()
    except ParameterError as error:
        one_line(error, "corner.", "decoration.")
    assert shapely.LineString(accent.free_edge).is_simple
    assert accent.shape.is_valid
    assert_inside(left, accent.decoration_area)
    clear = [shape.distance(shapely.LineString(accent.free_edge)) for shape in shapes_of(left, Purpose.DECORATE)]
    assert min(clear, default=np.inf) >= accent.edge.half_mm
    assert [stop.purpose for stop in left.stops] == [stop.purpose for stop in right.stops]


@settings(max_examples=25)
@given(
    outline=st.sampled_from(list(OUTLINES)), layout=st.sampled_from(("bridge", "pair")), spacing=st.floats(60, 220),
    strap=st.floats(8, 40), height=st.floats(20, 120), decoration=decorations(),
)  # fmt: skip
def test_any_connector_is_whole_or_refused_in_a_line(
    outline: str, layout: str, spacing: float, strap: float, height: float, decoration: Decoration
) -> None:
    try:
        connector = StrapConnector(
            outline=outline,
            layout=layout,
            spacing=spacing,
            strap_width=strap,
            height=height,
            decoration=decoration,  # type: ignore[arg-type]
        )
        piece = connector.left() if layout == "pair" else connector.front()
    except ParameterError as error:
        one_line(error, "connector.", "decoration.")
    assert connector.shape.is_valid
    target = layout == "bridge"
    assert_inside(piece, connector.decoration_area(target=target))
    for shape in shapes_of(piece, Purpose.DECORATE):
        assert shape.distance(connector.shape.exterior) >= connector.edge.half_mm
        assert not target or shape.distance(shapely.Point(0, 0)) >= connector.snap.keepout_mm - 0.02
        assert all(shape.distance(shapely.Polygon(box)) > 0.5 for box in connector.landings)
