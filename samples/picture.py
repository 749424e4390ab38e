"""Draw the picture of the README, the heron tote's preview: python samples/picture.py [PICTURE.png]."""

from __future__ import annotations

import io
import sys
from pathlib import Path

from PIL import Image

from stitchcraft.kit.make import kit_of
from stitchcraft.kit.pictures import preview_png

HERE = Path(__file__).parent
WIDTH_PX = 1200


def picture() -> Image.Image:
    """The preview, small enough for a page."""
    whole = Image.open(io.BytesIO(preview_png(kit_of(HERE / "heron_tote.toml")))).convert("RGB")
    small = whole.resize((WIDTH_PX, round(whole.height * WIDTH_PX / whole.width)), Image.Resampling.LANCZOS)
    return small.quantize(128, dither=Image.Dither.NONE)


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "heron_tote.png"
    picture().save(target, optimize=True)
    print(target)
