"""Any silhouette, decoration, size and fastener together: a tab that can be sewn, or one clear line."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stitchcraft.decoration import Crosshatch, Decoration, Dots, Echo, NoDecoration, Petals, Rings, Scallops, Waves
from stitchcraft.design import Area, Line, Purpose
from stitchcraft.errors import Level, ParameterError
from stitchcraft.parts import FASTENERS, Button, ClosureTab, SewInSnap, Snap, TurnLock
from stitchcraft.parts.tips import TIPS

ALLOWANCE = 6.35  # 1/4 in around a tab before turning: common practice, no source
SEAM_CLEAR = 3.0  # decoration off the seam: common practice, no source

DECORATIONS = (
    NoDecoration(), Crosshatch(pitch=9), Dots(pitch=7, diameter=3), Rings(pitch=11), Echo(pitch=6), Petals(pitch=13),
    Scallops(pitch=9), Waves(pitch=15),
)  # fmt: skip
INSET = st.none() | st.floats(4, 60)
FASTENED = st.one_of(
    st.builds(Snap, diameter=st.floats(6, 26), inset=INSET),
    st.builds(SewInSnap, diameter=st.floats(6, 26), inset=INSET, holes=st.integers(2, 8)),
    st.builds(TurnLock, width=st.floats(26, 44), height=st.floats(14, 26), hole_width=st.floats(8, 20),
              hole_height=st.floats(4, 9), inset=INSET),
    st.builds(Button, diameter=st.floats(9, 30), thickness=st.floats(1, 8), inset=INSET, bead=st.floats(1.2, 2.5),
              direction=st.sampled_from(["along", "across"])),
)  # fmt: skip


def drawn(element) -> shapely.Geometry:
    if isinstance(element, Area):
        return element.polygon
    if isinstance(element, Line):
        return shapely.LineString(element.path)
    return shapely.MultiPoint(np.vstack([element.rail_a, element.rail_b])).convex_hull


def holds(tab: ClosureTab) -> list[str]:
    """Everything that a tab promises, re-derived from what is stitched; the codes of its findings."""
    front, back, finished = tab.front(), tab.back(), tab.finished()
    seam = next(stop for stop in front.stops if stop.purpose is Purpose.SEAM).elements[0].path
    assert shapely.LineString(seam).is_simple
    shape = shapely.Polygon(seam)
    assert shape.is_valid
    for stop in front.stops:
        if stop.purpose is Purpose.DECORATE:
            inside = shape.buffer(-(SEAM_CLEAR - 0.05), quad_segs=32)
            assert all(inside.covers(drawn(element)) for element in stop.elements)
        if stop.purpose is Purpose.TICKS:
            trimmed = shape.buffer(ALLOWANCE, quad_segs=32)
            assert len(stop.elements) == 4
            assert all(drawn(tick).distance(trimmed) > 1.0 for tick in stop.elements)
    through = [stop for one in (front, finished) if one for stop in one.stops if stop.purpose is Purpose.SNAP]
    decorated = [drawn(e) for stop in front.stops if stop.purpose is Purpose.DECORATE for e in stop.elements]
    for stop in through:
        marked = shapely.MultiPoint(np.vstack([np.asarray(drawn(e).envelope.exterior.coords) if not isinstance(e, Line)
                                               else e.path for e in stop.elements])).convex_hull  # fmt: skip
        assert not any(marked.intersects(one) for one in decorated)
    half = tab.fastened_by.on_tab(tab.snap_centre)
    findings = tab.findings()
    near = [finding for finding in findings if finding.code.endswith("-near-seam")]
    clear = float(shapely.LineString(seam).distance(half)) if shape.covers(half) else 0.0
    assert (clear < tab.fastened_by.seam_clearance_mm) == bool(near)
    assert (clear == 0.0) == any(finding.level is Level.ERROR for finding in near)
    assert all(finding.remedy for finding in findings)
    assert all(stop.elements for one in (front, back, finished) if one for stop in one.stops)
    return [finding.code for finding in findings]


@settings(max_examples=settings.default.max_examples // 2, suppress_health_check=[HealthCheck.too_slow])
@given(
    tip=st.sampled_from(list(TIPS)), width=st.floats(18, 140), length=st.floats(40, 240), slant=st.floats(-25, 25),
    waist=st.floats(0.45, 1.0), radius=st.none() | st.floats(0, 10), depth=st.none() | st.floats(4, 120),
    decoration=st.sampled_from(DECORATIONS), fastener=FASTENED,
)  # fmt: skip
def test_any_tab_is_sewable_or_refused_in_one_line(
    tip, width, length, slant, waist, radius, depth, decoration, fastener
):
    try:
        tab = ClosureTab(
            width=width, length=length, tip=tip, slant=slant, waist=max(5.0, waist * width), tip_radius=radius,
            tip_depth=depth, decoration=decoration, fastener=fastener,
        )  # fmt: skip
    except ParameterError as error:
        assert "\n" not in str(error)  # noqa: PT017
        return
    holds(tab)


@pytest.mark.parametrize("kind", FASTENERS)
@pytest.mark.parametrize("tip", TIPS)
def test_every_silhouette_takes_every_fastener_at_three_inches(tip, kind):
    fastener = FASTENERS[kind].suited(76.2, inset=30 if tip == "keyhole" else 44)
    tab = ClosureTab(tip=tip, length=150, fastener=fastener, decoration=_plain(kind))
    assert holds(tab) == []


def _plain(kind: str) -> Decoration:
    return Dots(pitch=8, diameter=3) if kind in ("button", "turn-lock") else NoDecoration()
