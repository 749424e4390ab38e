"""Each kind: its motifs, its limits, and how a spec names it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import shapely

from stitchcraft.decoration import (
    KINDS,
    Chevrons,
    Clamshell,
    Crosshatch,
    Decoration,
    Dots,
    Echo,
    Meander,
    NoDecoration,
    Petals,
    Rings,
    Scallops,
    Waves,
    decoration_from,
)
from stitchcraft.design import Area, Column, Line
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import length_of, mirrored

FIELD = shapely.box(0, 0, 70, 70)
OURS = [kind for kind in KINDS if kind not in ("artwork", "lettering", "monogram")]


def test_the_kinds_are_those_that_a_spec_can_name() -> None:
    assert set(KINDS) >= {
        "dots", "crosshatch", "rings", "clamshell", "petals", "scallops", "echo", "meander", "artwork", "none",
    }  # fmt: skip


@pytest.mark.parametrize("kind", OURS)
def test_a_kind_alone_makes_its_default(kind: str) -> None:
    decoration = decoration_from(kind)
    assert decoration.kind == kind
    assert decoration == type(decoration)()
    assert hash(decoration) == hash(type(decoration)())


def test_options_come_as_a_spec_writes_them() -> None:
    dots = decoration_from("dots", {"pitch": "1/4 in", "diameter": 3, "edge": "clip"})
    assert dots == Dots(pitch=6.35, diameter=3.0, edge="clip")
    assert decoration_from("rings", {"pitch": 0.5, "angle": 45}, unit="in") == Rings(pitch=12.7, angle=45)
    assert decoration_from("meander", {"seed": 7}, unit="in") == Meander(seed=7)


@pytest.mark.parametrize(
    ("kind", "options", "words"),
    [
        ("stripes", {}, "decoration kind is 'stripes'; it needs to be one of dots, crosshatch"),
        ("dots", {"spacing": 3}, "dots option is 'spacing'; it needs to be one of inset, shift, pitch, diameter"),
        ("dots", {"pitch": "wide"}, "pitch is 'wide'"),
        ("dots", {"pitch": None}, "pitch is None"),
        ("dots", {"pitch": [7]}, "pitch is [7]"),
        ("crosshatch", {"angle": "steep"}, "angle is 'steep'"),
        ("meander", {"seed": 1.5}, "seed is 1.5"),
        ("echo", {"lines": 0}, "lines is 0"),
        ("scallops", {"staggered": "yes"}, "staggered is 'yes'; it needs to be true or false"),
    ],
)
def test_what_a_spec_gets_wrong_is_named(kind: str, options: dict[str, object], words: str) -> None:
    with pytest.raises(ParameterError) as caught:
        decoration_from(kind, options)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("cls", "options", "name"),
    [
        (Dots, {"pitch": 5, "diameter": 5.01}, "diameter"),
        (Dots, {"pitch": 1.9, "diameter": 1.5}, "pitch"),
        (Dots, {"diameter": 1.1}, "diameter"),
        (Dots, {"layout": "random"}, "layout"),
        (Dots, {"edge": "torn"}, "edge"),
        (Dots, {"joined": 1}, "joined"),
        (Dots, {"inset": -1}, "inset"),
        (Dots, {"pitch": float("nan")}, "pitch"),
        (Crosshatch, {"pitch": 1}, "pitch"),
        (Crosshatch, {"between": 10}, "between"),
        (Crosshatch, {"stitch": "satin"}, "stitch"),
        (Crosshatch, {"angle": float("inf")}, "angle"),
        (Crosshatch, {"angle": True}, "angle"),
        (Rings, {"pitch": 12, "diameter": 11.9}, "diameter"),
        (Rings, {"pitch": 12, "diameter": 24.1}, "diameter"),
        (Clamshell, {"pitch": 3}, "pitch"),
        (Petals, {"pitch": 4}, "pitch"),
        (Petals, {"stitch": "fill"}, "stitch"),
        (Petals, {"border": "yes"}, "border"),
        (Scallops, {"pitch": 10, "depth": 5.1}, "depth"),
        (Waves, {"pitch": 10, "depth": 10.1}, "depth"),
        (Chevrons, {"spacing": 0}, "spacing"),
        (Echo, {"pitch": 1}, "pitch"),
        (Echo, {"lines": True}, "lines"),
        (Meander, {"pitch": 1}, "pitch"),
        (Meander, {"seed": -1}, "seed"),
    ],
)
def test_a_value_that_cannot_be_used_is_refused_by_name(
    cls: type[Decoration], options: dict[str, object], name: str
) -> None:
    with pytest.raises(ParameterError) as caught:
        cls(**options)
    assert caught.value.name == name


def test_an_area_or_shift_that_is_none_is_refused() -> None:
    bow_tie = shapely.Polygon([(0, 0), (9, 9), (9, 0), (0, 9)])
    for area in (bow_tie, shapely.Point(0, 0), "tab"):
        with pytest.raises(ParameterError, match="area is"):
            Dots().elements(area)
    for shift in ((0.0, float("nan")), (1,), None, ("a", "b"), (0, 2000), "ab"):
        with pytest.raises(ParameterError, match="shift is"):
            Dots(shift=shift)


@pytest.mark.parametrize("kind", OURS)
def test_decorations_are_frozen_and_hold_millimetres(kind: str) -> None:
    decoration = decoration_from(kind)
    with pytest.raises(dataclasses.FrozenInstanceError):
        decoration.inset = 3
    lengths = [field.name for field in dataclasses.fields(decoration) if "Length" in str(field.type)]
    assert all(isinstance(getattr(decoration, name), float) for name in lengths)


def test_whole_dots_keep_their_lattice_and_a_node_sits_on_the_shift() -> None:
    dots = Dots(shift=(31, 17)).elements(FIELD)
    centres = np.array([(dot.rail_a.mean(axis=0) + dot.rail_b.mean(axis=0)) / 2 for dot in dots])
    assert np.hypot(*(centres - (31, 17)).T).min() < 1e-9
    gaps = np.hypot(*(centres[:, None] - centres[None]).transpose(2, 0, 1))
    np.fill_diagonal(gaps, np.inf)
    assert np.allclose(gaps.min(axis=1), 7)
    inner = np.all((centres > 10) & (centres < 60), axis=1)
    assert set((gaps < 7.001).sum(axis=1)[inner]) == {6}


def test_dots_that_touch_the_edge_are_whole() -> None:
    dots = Dots(pitch=10, diameter=4, layout="square", angle=90)
    assert dots.describe(shapely.box(-2, -2, 32, 22)).motifs == 4 * 3
    assert dots.describe(shapely.box(-1.99, -1.99, 31.99, 21.99)).motifs == 2 * 1


def test_a_satin_dot_is_a_column_across_the_disc_without_crowded_poles() -> None:
    (dot,) = Dots().elements(shapely.box(-2, -2, 2, 2))
    assert isinstance(dot, Column)
    widths = np.hypot(*(dot.rail_a - dot.rail_b).T)
    assert widths.max() == pytest.approx(3.0, abs=0.02)
    assert widths.min() > 1.0
    assert np.allclose(np.hypot(*np.vstack([dot.rail_a, dot.rail_b]).T), 1.5)
    # both rails run the same way, and the thread lies along the rows
    assert np.allclose((dot.rail_b - dot.rail_a)[:, 1], 0)


def test_cut_dots_are_filled_up_to_the_edge_and_slivers_are_left_out() -> None:
    whole, cut = Dots(diameter=5).elements(FIELD), Dots(diameter=5, edge="clip").elements(FIELD)
    pieces = [e for e in cut if isinstance(e, Area)]
    assert len(cut) - len(pieces) == len(whole)
    assert pieces
    assert min(piece.polygon.area for piece in pieces) >= 0.25 * np.pi * 2.5**2
    assert max(piece.polygon.area for piece in pieces) < np.pi * 2.5**2


def test_fading_dots_shrink_towards_the_edge() -> None:
    dots = Dots(edge="fade").elements(FIELD)
    centres = [((dot.rail_a + dot.rail_b) / 2).mean(axis=0) for dot in dots]
    room = shapely.distance(FIELD.boundary, shapely.points(centres))
    size = np.array([np.ptp(np.vstack([d.rail_a, d.rail_b])[:, 0]) for d in dots])
    assert size.min() >= 1.2 - 1e-9
    assert size.max() == pytest.approx(3.0, abs=0.01)
    order = np.argsort(room)
    assert (np.diff(size[order]) >= -1e-6).all()
    assert np.ptp(size) > 1


def test_dots_on_a_string_are_led_from_each_to_the_next() -> None:
    elements = Dots(joined=True).elements(FIELD)
    strings = [e for e in elements if isinstance(e, Line)]
    count = Dots(joined=True).describe(FIELD)
    assert len(elements) - len(strings) == count.motifs == Dots().describe(FIELD).motifs
    assert count.link_mm == pytest.approx(sum(length_of(string.path) for string in strings))
    # within a row a string spans the pitch less the two half dots, whose ends are cut at 66 degrees of their arcs
    gap = 7 - 3 * np.sin(np.radians(66))
    assert sum(length_of(string.path) == pytest.approx(gap) for string in strings) > 0.7 * len(strings)
    assert len(strings) >= count.motifs - 2


def test_whole_rings_are_whole() -> None:
    decoration = Rings(edge="whole", pitch=10, diameter=12)
    count = decoration.describe(shapely.box(-6, -6, 36, 26))
    assert count.motifs == 4 * 3
    assert count.line_mm == pytest.approx(12 * np.pi * 12, rel=2e-3)
    assert count.runs == 1


def test_whole_clamshells_close() -> None:
    count = Clamshell(edge="whole", pitch=16).describe(shapely.box(-8.0, -8.0, 8.0, 8.0))
    assert (count.motifs, count.runs) == (1, 1)
    # from the closed form: the outline of one scale is 2 pi r
    assert count.line_mm == pytest.approx(2 * np.pi * 8, rel=2e-3)


def test_satin_petals_stay_apart_at_the_flower_centres() -> None:
    petals = [e for e in Petals(stitch="satin", shift=(35, 35)).elements(FIELD) if isinstance(e, Column)]
    ends = np.vstack([[p.rail_a[0], p.rail_b[0], p.rail_a[-1], p.rail_b[-1]] for p in petals])
    widths = [np.hypot(*(p.rail_a[i] - p.rail_b[i])) for p in petals for i in (0, -1)]
    assert np.allclose(widths, 1.0)
    gaps = np.hypot(*(ends[:, None] - ends[None]).transpose(2, 0, 1))
    np.fill_diagonal(gaps, np.inf)
    assert gaps.min() > 0.5


def test_cut_satin_petals_are_filled_across() -> None:
    pieces = [e for e in Petals(stitch="satin").elements(shapely.box(0, 0, 36, 36)) if isinstance(e, Area)]
    assert pieces
    assert {round(piece.stitch.angle % 180) for piece in pieces} <= {45, 135}
    whole = Petals(stitch="satin", edge="whole").elements(shapely.box(0, 0, 36, 36))
    assert all(isinstance(element, Column) for element in whole)


def test_every_other_row_of_scallops_is_shifted() -> None:
    staggered = Scallops(pitch=10, depth=4, spacing=8).elements(FIELD)
    plain = Scallops(pitch=10, depth=4, spacing=8, staggered=False).elements(FIELD)
    for elements, offsets in ((staggered, {0, 5}), (plain, {0})):
        drawn = shapely.union_all([shapely.LineString(e.path) for e in elements])
        cusps = {
            round(x) % 10
            for y in (8, 16, 24, 32, 40)
            for point in shapely.get_parts(drawn.intersection(shapely.LineString([(3, y + 1e-4), (67, y + 1e-4)])))
            for x, _ in point.centroid.coords
        }
        assert cusps == offsets


def test_opposed_waves_touch_and_like_waves_keep_their_distance() -> None:
    def rows(decoration: Waves) -> list[shapely.Geometry]:
        lines = decoration.elements(shapely.box(-1.0, -20, 47, 20))
        drawn = shapely.union_all([shapely.LineString(line.path) for line in lines])
        probe = shapely.LineString([(12, -19.9), (12, 19.9)])
        return sorted(point.y for point in shapely.get_parts(drawn.intersection(probe)))

    assert np.allclose(np.diff(rows(Waves())), 6, atol=0.02)
    assert np.diff(rows(Waves(opposed=True, spacing=7))).min() == pytest.approx(1, abs=0.03)


@pytest.mark.parametrize("kind", [kind for kind in OURS if kind not in ("none", "echo", "meander")])
def test_a_seam_through_the_origin_mirrors_every_pattern_onto_itself(kind: str) -> None:
    # the accent across the seam is the mirror image: with a node on the seam the two halves carry one pattern
    decoration = decoration_from(kind)

    def drawn(*, mirror: bool) -> shapely.Geometry:
        paths = []
        for element in decoration.elements(shapely.box(-40, -30, 40, 30)):
            paths += [element.path] if isinstance(element, Line) else [element.rail_a, element.rail_b]
        paths = [mirrored(path) if mirror else path for path in paths]
        return shapely.union_all([shapely.LineString(path) for path in paths]).intersection(
            shapely.box(-25, -15, 25, 15)
        )

    assert shapely.hausdorff_distance(drawn(mirror=False), drawn(mirror=True)) < 0.02


def test_echo_lines_lie_at_their_distances_from_the_outline() -> None:
    shape = shapely.box(0, 0, 60, 40).difference(shapely.Point(30, 20).buffer(6, quad_segs=32))
    elements = Echo(pitch=5).elements(shape)
    for element in elements:
        depth = shapely.distance(shape.boundary, shapely.points(element.path))
        assert np.ptp(depth) < 0.03
        assert depth.mean() / 5 == pytest.approx(round(depth.mean() / 5), abs=0.01)
    assert len(Echo(pitch=5, lines=1).elements(shape)) == 2
    assert len(Echo(pitch=5, first=0, lines=1).elements(shape)) == 2
    assert Echo(pitch=5, first=0, lines=1).describe(shape).line_mm == pytest.approx(shape.length)


def test_no_decoration_is_empty_and_counts_nothing() -> None:
    assert NoDecoration().elements(FIELD) == ()
    count = NoDecoration().describe(FIELD)
    assert (count.motifs, count.line_mm, count.cover, count.area_mm2) == (0, 0, 0, 4900)


@pytest.mark.parametrize("kind", [kind for kind in OURS if kind != "none"])
def test_pattern_of_too_many_repeats_is_refused_with_the_pitch_that_would_do(kind):
    decoration = decoration_from(kind, {"pitch": 5} | ({"diameter": 6} if kind == "rings" else {}))
    with pytest.raises(ParameterError, match=r"decoration\.pitch is 5\.0; it needs to be at least 6 mm"):
        decoration.elements(shapely.box(0, 0, 600, 600))
