"""A shared hooping's section of the worksheet: its pieces in the field, numbered, and their stops in one order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, Spacer
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.design import Design
from stitchcraft.errors import Finding
from stitchcraft.family import Part
from stitchcraft.machine import Placement, hands_on_minutes, minutes
from stitchcraft.paper import cautions
from stitchcraft.paper.drawing import MM, fill, stroke
from stitchcraft.paper.flow import INK, FieldPicture, box, care, pairs, para, table, together
from stitchcraft.paper.fonts import BOLD
from stitchcraft.paper.handling import handled
from stitchcraft.paper.hooping_page import (
    field_words,
    files_words,
    finding_line,
    screen_note,
    sews_words,
    side_by_side,
    stops_table,
)
from stitchcraft.paper.materials import hooped_words
from stitchcraft.paper.sheet import Sheet, SheetHooping, SheetPart, SheetPlan
from stitchcraft.paper.words import (
    after_words,
    loaded_words,
    merged_words,
    minute_words,
    needle_words,
    off_centre_words,
    pieces_title,
    title_of,
    turn_words,
)
from stitchcraft.parts import Danger
from stitchcraft.units import both_text

_WIDTH = 180.0
_BADGE_MM = 2.4
"""Radius of a piece's number on the paper."""

_LARGE_MM = 14.0
"""A piece this wide and high on the paper has room for its number between its stitches."""


def shared_section(sheet: Sheet, hooping: SheetHooping, number: int, findings: Sequence[Finding]) -> list[Flowable]:
    """Everything about one hooping that several parts share.

    Args:
        sheet: The kit's values.
        hooping: The hooping.
        number: Its place in the order of the work, from 1.
        findings: What the checks say of the parts in it.
    """
    title = pieces_title(hooping)
    caption = para(
        "Seen from above, the far side of the frame up. Dash-dotted: the middle of the field. Each piece has its "
        "number and an arrow to its own upper side.", style="small",
    )  # fmt: skip
    whole = SheetPart(Part(Design(hooping.name, ())), hooping.plan, hooping.hoop, Placement(), hooping.files)
    section: list[Flowable] = [
        para(f"{number}  {title[:1].upper() + title[1:]}: sew together, {loaded_words(hooping)}", style="part"),
        side_by_side([_SharedPicture(hooping, whole), caption], pairs(_facts(sheet, hooping), (27.0, 82.0))),
    ]
    if findings:
        section += [Spacer(1, 1.5 * MM), box([finding_line(finding) for finding in findings], _WIDTH, heavy=True)]
    words = [merged_words(hooping, stop) for stop in range(len(hooping.plan.stops))]
    dangers: list[Danger] = [danger for piece in hooping.pieces for danger in piece.part.dangers]
    if any(piece.name == "shaping-marks" for piece in hooping.pieces):
        dangers.append(Danger.METAL)
    section += [
        Spacer(1, 2 * MM),
        stops_table(sheet, whole, words),
        *screen_note(whole),
        Spacer(1, 2 * MM),
        together(
            [
                para(handled(after_words(hooping), sheet.family.style.fabric), lead="Afterwards."),
                care(" ".join((cautions.MACHINE, *cautions.about(tuple(dict.fromkeys(dangers)))))),
            ]
        ),
    ]
    return [together(section)]


def fewest_section(plan: SheetPlan, more: str = "") -> list[Flowable]:
    """How few hoopings would do; *more* is said after that."""
    words = (
        f"{plan.words}. Loose parts share a hooping only with parts of the same cloth; parts on a panel only with "
        f"parts on the same panel, where they lie on it, for the panel has fleece fused to its back.{more}"
    )
    return [para(words, style="cell")]


def apart_section(plan: SheetPlan) -> list[Flowable]:
    """Why parts are not sewn together, for those who wonder."""
    reasons: dict[str, list[str]] = {}
    for one, other, why in plan.apart:
        if "of its own" in why or why.startswith("they are sewn on two panels"):
            continue  # said once for all below
        reasons.setdefault(f"{title_of(one)} and {title_of(other).lower()}", []).append(why)
    rows = [[who, "; ".join(whys)] for who, whys in reasons.items()]
    if not rows:
        return []
    return [
        together(
            [
                para("Parts that share no hooping", style="head"),
                table(["Not together", "Because"], rows, [60, 120]),
            ]
        )
    ]


def _facts(sheet: Sheet, hooping: SheetHooping) -> list[tuple[str, str]]:
    plan = hooping.plan
    machine, hands = (minute_words(value(plan, sheet.machine)) for value in (minutes, hands_on_minutes))
    rows = [("Field", field_words(hooping.hoop)), ("Files", files_words(hooping.files))]
    if hooping.panel_move is not None:
        x, y = (float(value) for value in hooping.panel_move.taken_back([(0.0, 0.0)])[0])
        middle = "on the middle line, " if abs(x) < 0.05 else ""
        words = off_centre_words(x, y, "right", "above").replace("left and", "left of the middle line and")
        words = words.replace("right and", "right of the middle line and")
        rows.append(("On the panel", f"the middle of the field {middle}{words} the top edge"))
        rows.append(("In the field", f"the panel lies {turn_words(hooping.panel_move.angle_deg)}"))
    for number, piece in enumerate(hooping.pieces, start=1):
        x, y = piece.placement.offset_mm
        centre = off_centre_words(x, y, "to the right of", "above")
        where = f"crosshair {centre} the middle of the field" if centre else "crosshair on the middle of the field"
        turn = "" if hooping.panel_move is not None else f", {turn_words(piece.placement.angle_deg)}"
        rows.append((f"Piece {number}", f"{title_of(piece.name).lower()}{turn}; {where}"))
    rows += [
        ("Between pieces", f"{both_text(hooping.gap_mm)} at the nearest"),
        ("Hoop", hooped_words(sheet, hooping.pieces[0])),
        ("Needle", needle_words(plan, sheet.family.style.fabric) + "; your machine's manual goes first"),
        ("Sews", sews_words(sheet, plan)),
        ("Time", f"{machine} min by machine at {sheet.machine.speed:g} stitches a minute, about {hands} min by hand"),
    ]
    return rows


def number_spot(
    number: int, hulls: Sequence[BaseGeometry], field: shapely.Polygon, angle_deg: float, taken: Sequence[BaseGeometry]
) -> FloatArray:
    """Where a piece's number goes: in its middle if it is large, else beside it, off all stitching.

    Args:
        number: Which piece, by index.
        hulls: What each piece covers, mm on the paper.
        field: The field, mm on the paper.
        angle_deg: Where the piece's upper side lies.
        taken: What numbers that were placed before cover.

    Returns:
        The middle of the number, (2,) mm on the paper, within the field.
    """
    hull = hulls[number]
    left, bottom, right, top = hull.bounds
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    if min(right - left, top - bottom) >= _LARGE_MM:
        return np.array([hull.centroid.x, hull.centroid.y])
    off = _BADGE_MM + 0.8
    spots = [
        *((x, y) for y in (middle[1], bottom, top) for x in (left - off, right + off)),
        *((x, y) for x in (middle[0], left, right) for y in (bottom - off, top + off)),
    ]
    stitched = shapely.union_all([*hulls, *taken])
    for spot in spots:
        badge = _badge_at(np.array(spot), angle_deg)
        if field.covers(badge) and not stitched.intersects(badge):
            return np.array(spot)
    return np.clip(middle, np.array(field.bounds[:2]) + off, np.array(field.bounds[2:]) - off)


def _badge_at(at: FloatArray, angle_deg: float) -> BaseGeometry:
    """What a number and its arrow cover."""
    arrow = shapely.LineString(turned([[0.0, 0.0], [0.0, 7.4]], angle_deg, at)).buffer(1.0, cap_style="flat")
    return shapely.union(arrow, shapely.Point(at).buffer(_BADGE_MM + 0.3))


class _SharedPicture(FieldPicture):
    """The pieces as they lie in their field, each with its number and an arrow to its upper side."""

    def __init__(self, hooping: SheetHooping, whole: SheetPart) -> None:
        super().__init__(whole, (66.0, 80.0))
        self.hooping = hooping

    def draw(self) -> None:
        """Draw the field with all stitches, then the numbers."""
        super().draw()
        canvas = self.canv
        canvas.saveState()
        canvas.translate(self.width / 2, self.height / 2)
        canvas.scale(MM, MM)
        hulls = [
            shapely.convex_hull(shapely.MultiPoint(self.scale * piece.placement.placed(piece.plan.needle_points)))
            for piece in self.hooping.pieces
        ]
        taken: list[BaseGeometry] = []
        for number, piece in enumerate(self.hooping.pieces, start=1):
            angle = piece.placement.angle_deg
            at = number_spot(number - 1, hulls, shapely.box(*(-self.half * self.scale), *(self.half * self.scale)),
                             angle, taken)  # fmt: skip
            taken.append(_badge_at(at, angle))
            shaft = turned([[0.0, _BADGE_MM], [0.0, 6.4]], angle, at)
            stroke(canvas, [shaft], width=1.6, colour="#ffffff")
            stroke(canvas, [shaft], width=0.45)
            fill(canvas, turned([[-1.0, 5.4], [0.0, 7.4], [1.0, 5.4]], angle, at), "#000000")
            canvas.setFillColor(HexColor("#ffffff"))
            canvas.setStrokeColor(HexColor(INK))
            canvas.setLineWidth(0.3)
            canvas.circle(float(at[0]), float(at[1]), _BADGE_MM, stroke=1, fill=1)
            canvas.setFillColor(HexColor(INK))
            canvas.setFont(BOLD, 3.4)
            canvas.drawCentredString(float(at[0]), float(at[1]) - 1.15, str(number))
        canvas.restoreState()

    def _pieces(self) -> Sequence[SheetPart]:
        return self.hooping.pieces

    def _crosshair(self, thin: float) -> None:
        """Pieces have numbers instead."""

    def _up_arrow(self) -> None:
        """Each piece has its own."""
