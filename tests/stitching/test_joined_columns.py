"""Letters in satin: each is sewn without a cut, and what leads from stroke to stroke lies under the strokes."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from stitchcraft.decoration.lettering import set_text
from stitchcraft.defaults import STANDARD_WIDTH_MM
from stitchcraft.design import Area, Design, Kind, Purpose, Role, Satin, Stop, Thread
from stitchcraft.stitching import plan

ALPHABET = "ABEHKMQRSTWaegkmw&8"


def sewn(polygon: shapely.Polygon):
    return plan(Design("letter", (Stop(Purpose.LETTER, Thread("#2f5d62"), (Area(polygon, Satin()),)),)))


def letter(text: str, face: str = "sans", height: float = 10.0) -> shapely.Polygon:
    (drawn,) = set_text(text, face=face, height=height).letters
    return max(drawn.polygons, key=lambda polygon: polygon.area)


def bar(x0: float, y0: float, x1: float, y1: float) -> shapely.Polygon:
    return shapely.box(x0, y0, x1, y1)


LADDER = shapely.union_all([bar(0, 0, 2, 16), bar(8, 0, 10, 16), bar(1, 4, 9, 6), bar(1, 10, 9, 12)])
COMB = shapely.union_all([bar(0, 0, 20, 2), *(bar(x, 1, x + 2, 9) for x in (0, 6, 12, 18))])


def threads(the_plan) -> int:
    return int((the_plan.kind == Kind.TRIM).sum())


def jumps_inside(the_plan) -> int:
    """Jumps but the first, which leads to the letter."""
    inner = the_plan.kind[np.flatnonzero(the_plan.kind == Kind.STITCH)[0] :]
    return int((inner == Kind.JUMP).sum())


@pytest.mark.parametrize("shape", [LADDER, COMB], ids=["ladder", "comb"])
def test_a_shape_of_many_strokes_is_sewn_without_a_cut(shape):
    the_plan = sewn(shape)
    assert threads(the_plan) == 1
    assert jumps_inside(the_plan) == 0


@pytest.mark.parametrize("face", ["sans", "serif"])
def test_letters_are_sewn_without_a_cut(face):
    cut = [text for text in ALPHABET if jumps_inside(sewn(letter(text, face)))]
    assert len(cut) <= 1, cut


@pytest.mark.parametrize("shape", [LADDER, COMB, *(letter(text) for text in "AERkm")])
def test_what_leads_from_stroke_to_stroke_is_covered_by_satin_sewn_later(shape):
    the_plan = sewn(shape)
    points = the_plan.xy[the_plan.kind == Kind.STITCH]
    roles = the_plan.role[the_plan.kind == Kind.STITCH]
    stitches = shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))
    bare = travelled = 0
    for at in np.flatnonzero(roles[1:] == Role.TRAVEL):
        later = stitches[at + 1 :][roles[at + 2 :] == Role.TOP]
        along = shapely.line_interpolate_point(stitches[at], np.linspace(0.05, 0.95, 7), normalized=True)
        gaps = shapely.distance(along[:, None], later[None]).min(axis=1)
        bare += int((gaps > STANDARD_WIDTH_MM / 2).sum())
        travelled += len(along)
    assert travelled > 20
    assert bare <= 0.03 * travelled


def test_the_strokes_are_covered_as_well_as_one_by_one():
    the_plan = sewn(LADDER)
    points = the_plan.xy[the_plan.kind == Kind.STITCH]
    stitches = shapely.STRtree(shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)))
    spots = np.stack(np.meshgrid(np.arange(0.1, 10, 0.2), np.arange(0.1, 16, 0.2)), axis=-1).reshape(-1, 2)
    inside = shapely.points(spots[shapely.contains_xy(LADDER, *spots.T)])
    _, gaps = stitches.query_nearest(inside, return_distance=True, all_matches=False)
    assert (gaps <= STANDARD_WIDTH_MM / 2).mean() > 0.985


def test_shapes_apart_are_pieces_of_their_own():
    two = shapely.MultiPolygon([bar(0, 0, 2, 12), bar(10, 0, 12, 12)])
    assert threads(sewn(two)) == 2
