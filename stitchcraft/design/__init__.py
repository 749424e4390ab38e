"""The types that travel from parts to stitches: no verbs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stitchcraft.lazy import loaded_when_asked

if TYPE_CHECKING:
    from stitchcraft.design.design import Design, Stop
    from stitchcraft.design.elements import (
        Area,
        Column,
        DoubleRun,
        Element,
        Fill,
        Line,
        LineStitch,
        Running,
        Satin,
        Triple,
    )
    from stitchcraft.design.plan import Kind, PlanStop, Role, StitchPlan
    from stitchcraft.design.purposes import MARK_PURPOSES, PURPOSE_WORDS, SHOWN_PURPOSES, Purpose
    from stitchcraft.design.threads import Thread, colour_from

# loaded when first asked for: the check of a file needs plans, but nothing that is drawn
_HOME = {
    "design": ("Design", "Stop"),
    "elements": (
        "Area", "Column", "DoubleRun", "Element", "Fill", "Line", "LineStitch", "Running", "Satin", "Triple",
    ),
    "plan": ("Kind", "PlanStop", "Role", "StitchPlan"),
    "purposes": ("MARK_PURPOSES", "PURPOSE_WORDS", "SHOWN_PURPOSES", "Purpose"),
    "threads": ("Thread", "colour_from"),
}  # fmt: skip
__getattr__ = loaded_when_asked(__name__, _HOME)

__all__ = [
    "MARK_PURPOSES", "PURPOSE_WORDS", "SHOWN_PURPOSES", "Area", "Column", "Design", "DoubleRun", "Element", "Fill",
    "Kind", "Line", "LineStitch", "PlanStop", "Purpose", "Role", "Running", "Satin", "StitchPlan", "Stop", "Thread",
    "Triple", "colour_from",
]  # fmt: skip
