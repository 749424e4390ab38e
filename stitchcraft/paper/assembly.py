"""Putting the bag together: the steps in order, with the bag's own numbers."""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.bag import Bag
from stitchcraft.defaults import BAG
from stitchcraft.family import Family
from stitchcraft.paper import cautions
from stitchcraft.paper.handling import STUCK_FLEECE, heat_shy
from stitchcraft.parts import Danger
from stitchcraft.units import both_sizes, both_text


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the work.

    Attributes:
        title: What it is about.
        text: What to do.
        caution: What can hurt in it; may be empty.
    """

    title: str
    text: str
    caution: str = ""


def preparation(family: Family, *, bags: int = 1) -> tuple[Step, ...]:
    """What comes before the first hooping.

    Args:
        family: The bag and its parts.
        bags: How many bags alike are made.
    """
    panels = "both panel cloths" if bags == 1 else f"all {2 * bags} panel cloths"
    bag, cool = family.bag, heat_shy(family.style.fabric)
    return (
        Step(
            "Print and measure",
            "Print the templates at 100 % (no fitting to the page) and measure the check square on each page: 50 mm "
            "and 2 in. Join the pages by their marks.",
        ),
        Step(
            "Cut",
            "Cut what is hooped by the list alone: it is larger than its template, so that the frame holds it, and is "
            "cut to the template's line only after it is sewn. Cut the other pieces by their templates, at true size.",
            cautions.BLADES,
        ),
        Step(
            "Stick the fleece on" if cool else "Fuse",
            STUCK_FLEECE.format(panels=panels)
            if cool
            else f"Fuse the fleece to the wrong side of {panels}, in the middle, where the panel will be.",
            cautions.IRON,
        ),
        Step(
            "Mark",
            "On the right side of each panel cloth mark the middle line and the top edge with a marker that comes "
            "out; then, by the panel template, a crosshair for each part. The finished panel is "
            f"{both_sizes(bag.width_mm, bag.height_mm)} between its seams.",
        ),
    )


def assembly(family: Family, parts: frozenset[str]) -> tuple[Step, ...]:
    """What comes after the last hooping.

    Args:
        family: The bag and its parts.
        parts: Names of the parts that were sewn.
    """
    steps = [_cut_panels(family.bag)]
    steps += _fasteners(family, parts)
    if family.bag.has_straps and any(name.startswith("connector") for name in parts):
        steps.append(_straps(family))
    steps += _shell(family.bag, parts)
    steps += _base(family.bag)
    if "tab-front" in parts:
        steps.append(_tab(family))
    steps += _lining(family, parts)
    steps += _bound_top(family.bag) if family.bag.top == "bound" else _turned_top(family.bag)
    steps += _closing(family, parts)
    return tuple(steps)


def _cut_panels(bag: Bag) -> Step:
    notch = f" Cut a square of {both_text(bag.corner_cut_mm)} from each lower corner." if bag.depth_mm else ""
    return Step(
        "Cut the panels to size",
        f"Lay the panel template on each embroidered cloth, its crosshairs on the stitched ornaments, and cut to "
        f"{both_sizes(*bag.panel_cut_mm)}.{notch}",
        cautions.BLADES,
    )


def _fasteners(family: Family, parts: frozenset[str]) -> list[Step]:
    steps = []
    if "tab-back" in parts and parts & {"connector-front", "snap-mark"}:
        setting = family.fastener.bag_setting
        steps.append(Step(
            setting.title,
            f"At the stitched target, {both_text(family.closure.drop_mm)} below the top edge on the middle line: "
            f"{setting.text}",
            " ".join(cautions.about(danger for danger in setting.dangers if danger is not Danger.METAL)),
        ))  # fmt: skip
    shaping = family.bag.shaping
    if shaping is not None and "shaping-marks" in parts:
        steps.append(Step(
            "Shaping snaps",
            f"At the four marks, {both_text(float(shaping.down))} below the top edge and "
            f"{both_text(float(shaping.over))} in from the side seams, set one half of each snap on the front and its "
            "mate on the back, faces on the right side, backing plates behind.",
            cautions.SMALL_PARTS,
        ))  # fmt: skip
    return steps


def _straps(family: Family) -> Step:
    bag, connector = family.bag, family.strap_connector
    fold, off = both_text(BAG["strap_turn"].value), both_text(bag.strap_spacing_mm / 2)
    title = family.fastener.title
    keep_off = f"Sew a square with a cross; keep the needle off the {title}."
    if not connector.landings:
        return Step(
            "Straps",
            f"Fold {fold} under at each strap end and sew it straight onto the panel, its middle {off} left and right "
            f"of the middle line, its end {both_text(family.closure.drop_mm)} below the top edge, on a scrap of "
            f"stiffener. {keep_off}",
            cautions.METAL,
        )
    low = max(float(box[:, 1].max()) for box in connector.landings)
    sides = {"both": "left and right", "left": "left", "right": "right"}[connector.ends]
    back = "" if connector.ends == "both" else " (on the back panel on the other side)"
    return Step(
        "Straps",
        f"Fold {fold} under at each strap end and sew it over its stitched box, {off} {sides} of the middle{back}, "
        f"the end {both_text(family.closure.drop_mm + low)} below the top edge, so that the box is hidden. {keep_off}",
        cautions.METAL,
    )


def _shell(bag: Bag, parts: frozenset[str]) -> list[Step]:
    seam = both_text(bag.seam_mm)
    meet = " Match the accents' cover stitches where they cross the seams." if "corner-left" in parts else ""
    steps = [
        Step("Bottom "
             "seam", f"Lay the panels right sides together and sew the bottom with a {seam} allowance. Press it open."
             + meet, cautions.IRON),
        Step("Side seams", f"Sew both sides with a {seam} allowance; press them open." + meet),
    ]  # fmt: skip
    if bag.depth_mm:
        width, depth, height = bag.standing_mm
        steps.append(Step(
            "Boxed corners",
            "At each lower corner bring the side seam onto the bottom seam, the cut edges level, and sew across with "
            f"a {seam} allowance: the seam is {both_text(bag.depth_mm)} long. The bag then stands "
            f"{both_sizes(width, depth)} at the base and {both_text(height)} high.",
        ))  # fmt: skip
    steps.append(Step("Turn", "Turn the shell right side out and push out the corners."))
    return steps


def _base(bag: Bag) -> list[Step]:
    steps = []
    if bag.base_mm is not None:
        steps.append(Step(
            "Base stiffener",
            f"Cut to {both_sizes(*bag.base_mm)}, its corners trimmed round, so that it lies inside the seams of the "
            "base. Hold it with double-sided tape: it can't be pinned.",
            cautions.BLADES,
        ))  # fmt: skip
    if bag.feet_mm:
        x, y = bag.feet_mm[0]
        steps.append(Step(
            "Feet",
            f"Through cloth and stiffener, {both_text(x)} left and right of the middle of the base and {both_text(y)} "
            "to each side of the bottom seam: cut slits, push the prongs in from outside, spread them over backing "
            "plates.",
            f"{cautions.CHISEL} {cautions.SMALL_PARTS}",
        ))  # fmt: skip
    return steps


def _tab(family: Family) -> Step:
    bag, tab = family.bag, family.closure_tab
    root = bag.root_depth_mm if bag.top == "bound" else bag.seam_mm
    return Step(
        "Baste the tab",
        "Lay the finished tab on the outside of the back, its decorated side down, its tip pointing down, its middle "
        f"on the panel's middle line. Its root line ({both_text(tab.length_mm)} from the tip) lies {both_text(root)} "
        f"below the raw edge, where the top is sewn later. Baste it within {_basting(bag)} of the raw edge, and cut "
        "what stands up past the raw edge off level.",
        cautions.METAL,
    )


def _lining(family: Family, parts: frozenset[str]) -> list[Step]:
    bag = family.bag
    side = both_text(float(bag.lining_seam))
    gap = (
        "" if bag.top == "bound"
        else f" Leave {both_text(BAG['turning_gap'].value)} open in the middle of the bottom seam to turn the bag "
             "through."
    )  # fmt: skip
    corners = ""
    if bag.depth_mm:
        wide, high = bag.lining_corner_cut_mm
        corners = (
            f" Its corners are cut out {both_sizes(wide, high)}, width and height, so that their edges come out equal "
            f"in spite of the wider side allowance; box them with {both_text(bag.seam_mm)}."
        )
    label = "Sew the label to a lining panel first, over its folded edges. " if "label" in parts else ""
    return [
        Step(
            "Lining",
            f"{label}Sew the lining's sides with a {side} allowance and its bottom with {both_text(bag.seam_mm)}: it "
            f"ends up {both_text(bag.lining_width_mm)} wide, a little smaller than the bag, and lies smooth "
            f"inside.{gap}{corners}",
        )
    ]


def _basting(bag: Bag) -> str:
    """How near to the raw edge the top is basted: inside the seam that is sewn over it."""
    hidden_by = bag.root_depth_mm if bag.top == "bound" else bag.seam_mm
    return both_text(max(1.0, hidden_by - BAG["basted_inside"].value))


def _bound_top(bag: Bag) -> list[Step]:
    strip, length = bag.binding_mm or (0.0, 0.0)
    return [
        Step(
            "Lining in",
            "Put the lining into the shell, wrong sides together, side seams on side seams, raw edges level, and "
            f"baste the top within {_basting(bag)} of the raw edge, inside the binding's stitch line.",
        ),
        Step(
            "Binding",
            f"Cut one end of the {both_sizes(strip, length)} strip straight and one at 45°; fold under and press the "
            "slanted end, then fold the strip in half lengthwise, right side out, and press. With raw edges level on "
            f"the outside, begin at the back, about {both_text(float(bag.binding.overlap))} from the slanted end, and "
            f"sew {both_text(bag.root_depth_mm)} from the edge, over the tab's root line. Coming round, cut the "
            "straight end to lie inside the slanted tail, lay it in, and finish the seam. Fold the binding over the "
            "edge to the inside, so that it covers its own seam, and sew it down by hand or in the ditch.",
            cautions.METAL,
        ),
    ]


def _turned_top(bag: Bag) -> list[Step]:
    return [
        Step(
            "Turned top",
            "Turn the lining wrong side out and put the shell into it, right sides together, side seams on side "
            f"seams. Sew round the top with a {both_text(bag.seam_mm)} allowance, over the tab's root line. Turn the "
            "bag through the gap in the lining, close the gap, push the lining in, press the edge and topstitch it.",
            cautions.IRON,
        )
    ]


def _closing(family: Family, parts: frozenset[str]) -> list[Step]:
    bag, closure, fastener = family.bag, family.closure, family.fastener
    steps = []
    if "tab-front" in parts:
        climb = f"{both_text(bag.root_depth_mm)} up the back, " if bag.root_depth_mm else ""
        missed = closure.miss_mm > BAG["closure_miss"].value
        lands = f"misses its target by {both_text(closure.miss_mm)}" if missed else "meets its target"
        steps.append(Step(
            "Close the tab",
            f"Bring the tab up and over: {climb}{both_text(bag.wall_mm)} across the edge and "
            f"{both_text(closure.drop_mm)} down the front, where the {fastener.word} {lands}. {fastener.rest_words}"
            f"{' ' if fastener.rest_words else ''}The tab's point hangs {both_text(closure.inset_mm)} beyond it.",
        ))  # fmt: skip
    if bag.shaping is not None and bag.shaped_top_mm is not None and bag.lean_deg is not None:
        steps.append(Step(
            "Shape the top",
            f"Tuck the side seams in and close the shaping snaps: the top is then {both_text(bag.shaped_top_mm)} "
            f"wide, and each side leans in by {bag.lean_deg:.1f}°.",
        ))  # fmt: skip
    steps.append(Step(
        "Look it over", "Cut threads, take out markings and basting, and pull at every fastener and foot.",
        cautions.SMALL_PARTS if bag.feet_mm or "tab-back" in parts else "",
    ))  # fmt: skip
    return steps
