"""Any area, planned whole: every needle point inside, all of it covered, no limit passed; shapely is the judge."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stitchcraft.defaults import FABRICS
from stitchcraft.design import Area, Design, Fill, Kind, Purpose, Role, Stop, Thread
from stitchcraft.family import Family
from stitchcraft.machine import thread_metres
from stitchcraft.spec import read_spec
from stitchcraft.stitching import plan

COTTON = FABRICS["quilting cotton"]
SPACING = 0.8
THREAD = Thread("#2f5d62")
SAMPLES = sorted(Path(__file__).parents[2].joinpath("samples").glob("*.toml"))


def blob(draw):
    """One of: a box, a sliver, a disc, a star, a comb of slits, two boxes that touch in a corner or along an edge."""
    x, y = draw(st.floats(-12, 12)), draw(st.floats(-12, 12))
    size = draw(st.floats(0.2, 14))
    kind = draw(st.sampled_from(["box", "sliver", "disc", "star", "comb", "corner", "edge"]))
    if kind == "box":
        return shapely.affinity.rotate(shapely.box(x, y, x + size, y + draw(st.floats(0.2, 14))), 17)
    if kind == "sliver":
        return shapely.Polygon([(x, y), (x + 20, y + 0.3), (x + 3, y + size / 10 + 0.01)])
    if kind == "disc":
        return shapely.Point(x, y).buffer(size / 2)
    if kind == "star":
        turn = np.arange(10) * np.pi / 5
        far = np.where(np.arange(10) % 2 == 0, size, size * draw(st.floats(0.15, 0.9)))
        return shapely.Polygon(np.column_stack([x + far * np.cos(turn), y + far * np.sin(turn)]))
    if kind == "comb":
        slits = [shapely.box(x + k * 2.5 + 1, y - 1, x + k * 2.5 + 1.2, y + 7) for k in range(4)]
        return shapely.box(x, y, x + 12, y + 8) - shapely.union_all(slits)
    if kind == "corner":
        return shapely.union_all([shapely.box(x, y, x + 5, y + 5), shapely.box(x + 5, y + 5, x + 9, y + 9)])
    return shapely.union_all([shapely.box(x, y, x + 5, y + 5), shapely.box(x + 5, y + 1, x + 9, y + 3)])


@st.composite
def areas(draw):
    shape = shapely.union_all([blob(draw) for _ in range(draw(st.integers(1, 4)))])
    for _ in range(draw(st.integers(0, 3))):
        shape = shape - blob(draw)
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon) and part.area > 0.5]
    assume(parts)
    return shapely.MultiPolygon(parts) if len(parts) > 1 else parts[0]


@given(areas(), st.sampled_from([0.0, 33.0, 90.0, None]), st.booleans())
@settings(max_examples=40)
def test_any_area_is_covered_from_inside_and_within_the_limits(shape, angle, underlay):
    fill = Area(shape, Fill(angle=angle, row_spacing=SPACING, underlay=underlay))
    made = plan(Design("area", (Stop(Purpose.DECORATE, THREAD, (fill,)),)))
    # inside, locks and all, but for the widening against the pull of the cloth
    allowed = shape.buffer(COTTON.pull + 0.01)
    assert shapely.intersects_xy(allowed, *made.needle_points.T).all()
    steps = np.hypot(*np.diff(made.xy, axis=0).T)
    sewn = made.is_stitch[1:] & made.is_stitch[:-1]
    plain = sewn & (made.role[1:] != Role.LOCK) & (made.role[:-1] != Role.LOCK)
    assert steps.max(initial=0) <= 12.0
    assert steps[plain].min(initial=1.0) >= 0.3 - 1e-9
    # one thread for each connected part, never more
    assert made.trims + np.count_nonzero(made.kind == Kind.END) <= len(shapely.get_parts(shape)) + 1
    # what is as wide as two rows lies within a row of the thread
    top = sewn & (made.role[1:] != Role.UNDERLAY)
    thread = shapely.union_all(shapely.linestrings(np.stack([made.xy[:-1][top], made.xy[1:][top]], axis=1)))
    wide = shape.buffer(-SPACING).buffer(SPACING * 0.9)
    assert (wide - thread.buffer(SPACING * 1.02)).area <= 0.01 * shape.area


def test_an_outline_that_touches_itself_is_filled_on_both_sides_of_the_touch():
    bow = shapely.Polygon([(0, 0), (8, 8), (8, 0), (4, 4), (0, 8)])
    made = plan(Design("bow", (Stop(Purpose.DECORATE, THREAD, (Area(bow, Fill(angle=0)),)),)))
    left, _, right, _ = made.bounds
    inside = shapely.make_valid(bow, method="structure", keep_collapsed=False).buffer(COTTON.pull + 0.01)
    assert shapely.intersects_xy(inside, *made.needle_points.T).all()
    assert right - left > 7


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_whole_parts_use_thread_as_its_makers_say(sample):
    # makers state 4.5 to 5.5 m of top thread and about 3 m of bobbin thread per 1,000 stitches of a mixed design;
    # in parts of running lines the stitches are longer than there, in parts of dots shorter, and both use accordingly
    family = Family.from_spec(read_spec(sample))
    plans = [plan(part.design, fabric=family.style.fabric) for part in family.made()]
    stitches = sum(made.stitches for made in plans)
    used = [thread_metres(made) for made in plans]
    top, bobbin = (1000 * sum(getattr(one, name) for one in used) / stitches for name in ("top_m", "bobbin_m"))
    assert 3.0 < top < 6.0
    assert 1.5 < bobbin < 4.0
    assert 0.45 < bobbin / top < 0.75
