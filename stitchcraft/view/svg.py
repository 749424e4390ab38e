"""The plan as lines, true to scale: stops in their colours and numbered, moves dashed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

import numpy as np

from stitchcraft.design import FloatArray, Kind, StitchPlan
from stitchcraft.machine import Hoop, Placement

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")


def plan_svg(
    plan: StitchPlan,
    *,
    hoop: Hoop | None = None,
    placement: Placement | None = None,
    margin: float = 5.0,
    needle_points: bool = False,
) -> str:
    """Draw a plan as SVG whose user unit is 1 mm.

    Args:
        plan: What is sewn.
        hoop: A field to draw around it; its centre is (0, 0).
        placement: How to lay it; None leaves it in its own frame.
        margin: Around everything, mm.
        needle_points: Whether each penetration gets a dot.

    Returns:
        The text of the file.
    """
    xy = plan.xy if placement is None else placement.placed(plan.xy)
    points = xy[plan.is_stitch]
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    if hoop is not None:
        left, right = min(left, -hoop.width / 2), max(right, hoop.width / 2)
        bottom, top = min(bottom, -hoop.height / 2), max(top, hoop.height / 2)
    left, bottom, right, top = left - margin, bottom - margin, right + margin, top + margin
    width, height = right - left, top - bottom
    root = ET.Element("svg", {
        "xmlns": "http://www.w3.org/2000/svg", "width": f"{width:.2f}mm", "height": f"{height:.2f}mm",
        "viewBox": f"{left:.2f} {-top:.2f} {width:.2f} {height:.2f}",
    })  # fmt: skip
    title = ET.SubElement(root, "title")
    title.text = _CONTROL.sub("", f"{plan.name}: {plan.stitches} stitches, {len(plan.stops)} stops")
    if hoop is not None:
        ET.SubElement(root, "rect", {
            "x": f"{-hoop.width / 2:.2f}", "y": f"{-hoop.height / 2:.2f}", "width": f"{hoop.width:.2f}",
            "height": f"{hoop.height:.2f}", "fill": "none", "stroke": "#9a9a9a", "stroke-width": "0.3",
        })  # fmt: skip
    for number, stop in enumerate(plan.stops):
        _add_stop(root, plan, xy, number, stop.thread.colour, needle_points=needle_points)
    for number in range(len(plan.stops)):
        _add_number(root, plan, xy, number)
    ET.indent(root)
    return ET.tostring(root, encoding="unicode") + "\n"


def _add_stop(
    root: ET.Element, plan: StitchPlan, xy: FloatArray, number: int, colour: str, *, needle_points: bool
) -> None:
    group = ET.SubElement(
        root, "g", {"id": f"stop-{number + 1}", "fill": "none", "stroke": colour, "stroke-linecap": "round"}
    )
    sewn: list[str] = []
    moves: list[str] = []
    for kind, path in _strokes(plan, xy, number):
        (sewn if kind == Kind.STITCH else moves).append(_path(path))
    if moves:
        ET.SubElement(group, "path", {"d": " ".join(moves), "stroke-width": "0.12", "stroke-dasharray": "0.6 0.6"})
    if sewn:
        ET.SubElement(group, "path", {"d": " ".join(sewn), "stroke-width": "0.25"})
    if needle_points:
        dots = " ".join(f"M{x:.2f} {-y:.2f}h0" for x, y in xy[plan.is_stitch & (plan.stop == number)])
        ET.SubElement(group, "path", {"d": dots, "stroke-width": "0.4"})


def _strokes(plan: StitchPlan, xy: FloatArray, number: int) -> Iterator[tuple[int, FloatArray]]:
    """Stretches of rows of one stop that are all sewn or all moved, each with the point where it sets out."""
    rows = np.flatnonzero((plan.stop == number) & ((plan.kind == Kind.STITCH) | (plan.kind == Kind.JUMP)))
    if not len(rows):
        return
    kinds = plan.kind[rows]
    breaks = np.flatnonzero(np.diff(kinds.astype(int)) != 0) + 1
    for part in np.split(rows, breaks):
        first = int(part[0])
        before = [first - 1] if first and plan.stop[first - 1] == number else []
        path = xy[[*before, *part.tolist()]]
        if len(path) > 1:
            yield int(plan.kind[first]), path


def _path(points: FloatArray) -> str:
    return "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in points)


def _add_number(root: ET.Element, plan: StitchPlan, xy: FloatArray, number: int) -> None:
    first = np.flatnonzero(plan.is_stitch & (plan.stop == number))
    if not len(first):
        return
    x, y = xy[first[0]]
    group = ET.SubElement(root, "g")
    ET.SubElement(group, "circle", {
        "cx": f"{x:.2f}", "cy": f"{-y:.2f}", "r": "1.8", "fill": "#ffffff", "stroke": "#303030", "stroke-width": "0.2",
    })  # fmt: skip
    label = ET.SubElement(group, "text", {
        "x": f"{x:.2f}", "y": f"{-y + 0.9:.2f}", "fill": "#303030", "font-size": "2.6", "font-family": "sans-serif",
        "text-anchor": "middle",
    })  # fmt: skip
    label.text = str(number + 1)
