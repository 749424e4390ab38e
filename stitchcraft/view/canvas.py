"""A picture in millimetres: y up, drawn large and scaled down so that edges are smooth."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import ArrayLike

from stitchcraft.errors import ParameterError

if TYPE_CHECKING:
    from PIL.Image import Image

OVERSAMPLING: Final = 3
MOST_PIXELS: Final = 60_000_000
"""Of the oversampled picture: 180 MB, the most that a picture may take while it is drawn."""

Colour = tuple[int, int, int]


class Canvas:
    """A picture of a rectangle of the plane.

    Args:
        bounds: Left, bottom, right, top, mm.
        pixels_per_mm: Scale of the finished picture.
        ground: Colour behind everything.
    """

    def __init__(
        self, bounds: tuple[float, float, float, float], *, pixels_per_mm: float, ground: str = "#ffffff"
    ) -> None:
        # the picture library is loaded with the first picture: quick commands draw none
        from PIL import Image, ImageDraw

        left, bottom, right, top = bounds
        self.scale = pixels_per_mm * OVERSAMPLING
        self.left, self.top = left, top
        self.width = max(1, math.ceil((right - left) * pixels_per_mm))
        self.height = max(1, math.ceil((top - bottom) * pixels_per_mm))
        if self.width * self.height * OVERSAMPLING**2 > MOST_PIXELS:
            raise ParameterError("pixels_per_mm", pixels_per_mm, "smaller, for a picture of this size")
        size = (self.width * OVERSAMPLING, self.height * OVERSAMPLING)
        self._image = Image.new("RGB", size, ground)
        self._draw = ImageDraw.Draw(self._image)

    def at(self, xy: ArrayLike) -> list[tuple[float, float]]:
        """Positions in mm as pixels of the large picture."""
        points = (np.asarray(xy, dtype=np.float64).reshape(-1, 2) - [self.left, self.top]) * [self.scale, -self.scale]
        return list(map(tuple, points.tolist()))

    def line(self, xy: ArrayLike, colour: str | Colour, *, width: float = 0.2) -> None:
        """A line of a width in mm, its corners rounded."""
        self._draw.line(self.at(xy), fill=colour, width=max(1, round(width * self.scale)), joint="curve")

    def segments(self, starts: ArrayLike, ends: ArrayLike, colours: Iterable[Colour], *, width: float) -> None:
        """Many straight lines, each in its own colour, a width in mm."""
        thick = max(1, round(width * self.scale))
        for a, b, colour in zip(self.at(starts), self.at(ends), colours, strict=True):
            self._draw.line((a, b), fill=colour, width=thick)

    def polygon(
        self, xy: ArrayLike, fill: str | Colour | None, *, outline: str | None = None, width: float = 0.2
    ) -> None:
        """A filled outline."""
        points = self.at(xy)
        if fill is not None:
            self._draw.polygon(points, fill=fill)
        if outline is not None:
            self._draw.line([*points, points[0]], fill=outline, width=max(1, round(width * self.scale)), joint="curve")

    def dots(self, xy: ArrayLike, colour: str | Colour, *, diameter: float) -> None:
        """Filled discs of a diameter in mm."""
        r = diameter * self.scale / 2
        for x, y in self.at(xy):
            self._draw.ellipse((x - r, y - r, x + r, y + r), fill=colour)

    def pixels(self, corner: tuple[float, float], colours: ArrayLike, *, pixel: float) -> None:
        """Squares of colour side by side.

        Args:
            corner: Upper left corner of them all, mm.
            colours: (rows, columns, 3) from 0 to 255, the top row first.
            pixel: Side of a square, mm.
        """
        from PIL import Image

        values = np.asarray(colours, dtype=np.uint8)
        (left, top), (right, bottom) = self.at(
            [corner, (corner[0] + values.shape[1] * pixel, corner[1] - values.shape[0] * pixel)]
        )
        size = (max(1, round(right) - round(left)), max(1, round(bottom) - round(top)))
        shown = Image.fromarray(values, "RGB").resize(size, Image.Resampling.NEAREST)
        self._image.paste(shown, (round(left), round(top)))

    def text(self, at: tuple[float, float], words: str, colour: str, *, height: float, anchor: str = "mm") -> None:
        """Words at a place, letters about *height* mm high; *anchor* as the picture library names it."""
        from PIL import ImageFont

        font = ImageFont.load_default(size=max(6.0, height * self.scale * 1.35))
        self._draw.text(self.at(at)[0], words, fill=colour, font=font, anchor=anchor)

    def image(self) -> Image:
        """The finished picture."""
        return self._image.reduce(OVERSAMPLING)

    def png(self) -> bytes:
        """The finished picture as PNG; the same picture gives the same bytes."""
        return png_of(self.image())


def png_of(image: Image) -> bytes:
    """A picture as PNG; the same picture gives the same bytes."""
    stream = io.BytesIO()
    image.save(stream, format="PNG", optimize=False)
    return stream.getvalue()


def rgb(colour: str) -> Colour:
    """``"#rrggbb"`` as three numbers from 0 to 255."""
    return (int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16))
