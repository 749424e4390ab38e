"""The label: lettering on its own piece of cloth. Its origin is its middle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from stitchcraft.decoration.lettering import Lettering, text_paths
from stitchcraft.defaults import PARTS
from stitchcraft.design import Design, Line, LineStitch, Purpose, Running, Stop, Triple
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.curves import FloatArray, grown, polygons_of
from stitchcraft.parts.threads import Palette
from stitchcraft.units import Length, length_between, mm_text


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Label:
    """A label. Lengths in (a number is mm), mm stored.

    Attributes:
        text: The words, one line.
        width: Width of the lettering.
        height: Height of a capital; None follows from the width.
        stitch: ``"triple"`` or ``"running"``.
        palette: Threads.

    Raises:
        ParameterError: If a value is out of range or a letter is not in the face.
    """

    text: str
    width: Length = PARTS["label_width"].value
    height: Length | None = None
    stitch: str = "triple"
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        object.__setattr__(self, "width", length_between(self.width, name="label.width", low=8, high=400))
        if self.height is not None:
            object.__setattr__(self, "height", length_between(self.height, name="label.height", low=2, high=200))
        if self.stitch not in ("triple", "running"):
            raise ParameterError("label.stitch", self.stitch, '"triple" or "running"')
        _ = self.lettering

    @property
    def lettering(self) -> Lettering:
        """The letters' lines, centred on the origin."""
        if self.height is not None:
            return text_paths(self.text, height=float(self.height))
        return text_paths(self.text, width=float(self.width))

    @property
    def outline(self) -> FloatArray:
        """The fold line around the lettering, closed, mm."""
        left, bottom, right, top = shapely.MultiLineString(list(self.lettering.paths)).bounds
        margin = PARTS["label_margin"].value
        core = shapely.box(left, bottom, right, top)
        # the corners are a third of the margin round: they fold without a bulge
        box = grown(grown(core, margin, mitre=True), -margin / 3)
        return np.asarray(polygons_of(grown(box, margin / 3))[0].exterior.coords)

    def design(self) -> Design:
        """The letters, then the fold line."""
        style: LineStitch = Triple(length=1.8) if self.stitch == "triple" else Running(length=1.8)
        letters = tuple(Line(path, style) for path in self.lettering.paths)
        return Design(
            "label",
            (
                Stop(Purpose.LETTER, self.palette.thread("accent"), letters,
                     "Hoop the label cloth with its stabilizer, right side up."),
                Stop(Purpose.OUTLINE, self.palette.thread("mark"), (Line(self.outline, Running(length=3.0)),),
                     "Change to the marking thread: the fold line comes last."),
            ),
        )  # fmt: skip

    def findings(self) -> tuple[Finding, ...]:
        """Whether the letters are large enough to read."""
        low = PARTS["lettering_lowest"].value
        height = self.lettering.cap_height_mm
        if height >= low:
            return ()
        return (
            Finding(
                Level.WARNING, "label-small", "label", f"Its capitals are {mm_text(height)} high.",
                f"Set label.width to at least {mm_text(float(self.width) * low / height)}, or use fewer words.",
                round(height, 2), low,
            ),
        )  # fmt: skip
