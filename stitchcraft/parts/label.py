"""The label: lettering on its own piece of cloth. Its origin is its middle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from stitchcraft.decoration.lettering import FACE_NAMES, Lettering, letters_of, text_paths
from stitchcraft.defaults import PARTS
from stitchcraft.design import Design, Line, Purpose, Running, Stop
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.curves import FloatArray, grown, polygons_of
from stitchcraft.parts.threads import Palette
from stitchcraft.units import Length, length_between, mm_text


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Label:
    """A label. Lengths in (a number is mm), mm stored.

    Attributes:
        text: The words, one line.
        width: Width of the lettering, unless a height is given.
        height: Height of a capital; None follows from the width.
        face: Name of a face.
        stitch: ``"triple"`` or ``"running"``.
        palette: Threads.

    Raises:
        ParameterError: If a value is out of range or a letter is not in the face.
    """

    text: str
    width: Length = PARTS["label_width"].value
    height: Length | None = None
    face: str = "plain"
    stitch: str = "triple"
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        object.__setattr__(self, "width", length_between(self.width, name="label.width", low=5, high=400))
        if self.height is not None:
            object.__setattr__(self, "height", length_between(self.height, name="label.height", low=2, high=100))
        if self.stitch not in ("triple", "running"):
            raise ParameterError("label.stitch", self.stitch, '"triple" or "running"')
        if self.face not in FACE_NAMES:
            raise ParameterError("label.face", self.face, "one of " + ", ".join(FACE_NAMES))
        try:
            _ = self.lettering
        except ParameterError as error:
            raise ParameterError(f"label.{error.name}", error.value, error.needs) from error

    @property
    def _size(self) -> dict[str, Any]:
        return {"width": self.width} if self.height is None else {"height": self.height}

    @property
    def lettering(self) -> Lettering:
        """The letters' lines, centred on the origin."""
        return text_paths(self.text, face=self.face, **self._size)

    @property
    def outline(self) -> FloatArray:
        """The fold line around the lettering, closed, mm."""
        core = shapely.box(*shapely.MultiLineString(list(self.lettering.paths)).bounds)
        margin = PARTS["label_margin"].value
        # the corners are a third of the margin round: they fold without a bulge
        box = grown(grown(core, margin, mitre=True), -margin / 3)
        return np.asarray(polygons_of(grown(box, margin / 3))[0].exterior.coords)

    def design(self) -> Design:
        """The letters, then the fold line."""
        letters = letters_of(self.text, face=self.face, stitch=self.stitch, **self._size)
        return Design(
            "label",
            (
                Stop(Purpose.LETTER, self.palette.thread("detail"), tuple(letters),
                     "Hoop the label cloth with its stabilizer, right side up."),
                Stop(Purpose.OUTLINE, self.palette.thread("mark"), (Line(self.outline, Running(length=3.0)),)),
            ),
        )  # fmt: skip

    def findings(self) -> tuple[Finding, ...]:
        """Whether the letters are large enough to read."""
        lettering = self.lettering
        if lettering.reads:
            return ()
        low, height = lettering.smallest_height, lettering.cap_height_mm
        return (
            Finding(
                Level.WARNING, "label-small", "label", f"Its capitals are {mm_text(height)} high.",
                f"Set label.width to at least {mm_text(lettering.width_mm * low / height + 0.05)}, or use fewer words.",
                round(height, 2), low,
            ),
        )  # fmt: skip

    def __repr__(self) -> str:
        return f"<Label {self.text!r}, {self.face}, {self.stitch} stitch>"
