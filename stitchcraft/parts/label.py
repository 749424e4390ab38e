"""The label: lettering on its own piece of cloth. Its origin is its middle."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.letter_findings import small_letters
from stitchcraft.decoration.lettering import Lettering, set_text
from stitchcraft.defaults import PARTS
from stitchcraft.design import Design, Line, Purpose, Running, Stop
from stitchcraft.errors import Finding, ParameterError
from stitchcraft.geometry.curves import grown, polygons_of
from stitchcraft.parts.threads import Palette
from stitchcraft.ranges import keep_ranged
from stitchcraft.units import Length


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Label:
    """A label. Lengths in (a number is mm), mm stored.

    Attributes:
        text: The words, one line.
        width: Width of the lettering before it is bent, unless a height is given.
        height: Height of a capital; None follows from the width.
        face: Name of a face.
        font: A font file of the maker's own, in place of the face.
        stitch: One of `LETTER_STITCHES`; ``"auto"`` is triple for a face of lines, satin or fill for outlines.
        letter_spacing: Room between letters beside what the face gives them.
        arc: Radius of the baseline; None for a straight line.
        side: ``"above"``: the text arches over the circle's middle; ``"below"``: it hangs under it.
        palette: Threads.

    Raises:
        ParameterError: If a value is out of range, a letter is not in the face, or the font cannot be used.
    """

    text: str
    width: Length = PARTS["label_width"].value
    height: Length | None = None
    face: str = "plain"
    font: str | os.PathLike[str] | None = None
    stitch: str = "auto"
    letter_spacing: Length = 0.0
    arc: Length | None = None
    side: str = "above"
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        keep_ranged(self, "label", "width", "height")
        try:
            self.lettering.stitch(self.stitch)
        except ParameterError as error:
            raise ParameterError(f"label.{error.name}", error.value, error.needs) from error

    @property
    def _laid(self) -> dict[str, Any]:
        size = {"width": self.width} if self.height is None else {"height": self.height}
        named = {key: getattr(self, key) for key in ("text", "face", "font", "arc", "side")}
        named["spacing"] = self.letter_spacing
        return size | named | {"retrace": self.stitch == "running"}

    @property
    def lettering(self) -> Lettering:
        """The letters, centred on the origin."""
        return set_text(**self._laid)

    @property
    def outline(self) -> FloatArray:
        """The fold line around the lettering, closed, mm."""
        core = shapely.box(*shapely.MultiLineString(list(self.lettering.paths)).bounds)
        margin = PARTS["label_margin"].value
        # the corners are a third of the margin round: they fold without a bulge
        box = grown(grown(core, margin, mitre=True), -margin / 3)
        return np.asarray(polygons_of(grown(box, margin / 3))[0].exterior.coords)

    def design(self) -> Design:
        """The letters from left to right, then the fold line."""
        lettering = self.lettering
        letters = lettering.elements(self.stitch)
        return Design(
            "label",
            (
                Stop(Purpose.LETTER, self.palette.thread("detail"), tuple(letters),
                     "Hoop the label cloth with its stabilizer, right side up.", ordered=lettering.outlined),
                Stop(Purpose.OUTLINE, self.palette.thread("mark"), (Line(self.outline, Running(length=3.0)),)),
            ),
        )  # fmt: skip

    def findings(self) -> tuple[Finding, ...]:
        """Whether the letters are large enough to read."""
        key = "label.width" if self.height is None else "label.height"
        return small_letters(self.lettering, self.stitch, code="label-small", part="label", key=key)

    def __repr__(self) -> str:
        return f"<Label {self.text!r}, {self.lettering.face}, {self.stitch} stitch>"
