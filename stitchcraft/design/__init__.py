"""The types that travel from parts to stitches: no verbs."""

from stitchcraft.design.design import Design, Stop
from stitchcraft.design.elements import (
    Area,
    Column,
    DoubleRun,
    Element,
    Fill,
    FloatArray,
    Line,
    LineStitch,
    Purpose,
    Running,
    Satin,
    Thread,
    Triple,
    colour_from,
    frozen_path,
)
from stitchcraft.design.plan import Kind, PlanStop, Role, StitchPlan
from stitchcraft.design.purposes import MARK_PURPOSES, PURPOSE_WORDS, SHOWN_PURPOSES

__all__ = [
    "MARK_PURPOSES", "PURPOSE_WORDS", "SHOWN_PURPOSES", "Area", "Column", "Design", "DoubleRun", "Element", "Fill",
    "FloatArray", "Kind", "Line", "LineStitch", "PlanStop", "Purpose", "Role", "Running", "Satin", "StitchPlan", "Stop",
    "Thread", "Triple", "colour_from", "frozen_path",
]  # fmt: skip
