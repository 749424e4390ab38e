"""Two small kits whose papers are read back: one bound, boxed and in inches, one flat and turned, in mm."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from stitchcraft.family import Family
from stitchcraft.kit.build import Kit, build_kit
from stitchcraft.kit.make import machine_from
from stitchcraft.kit.papers import sheet_of
from stitchcraft.paper import Sheet
from stitchcraft.spec import read_spec

TOTE = """
name = "Test tote"
units = "in"
[bag]
width = 14
height = 12
depth = 4
seam = "1/4 in"
wall = "4 mm"
top = "bound"
binding = { strip = "2 1/2 in", depth = "1/4 in", overlap = "4 in" }
shaping = { down = "1 1/2 in", over = "2 in" }
straps = { spacing = 6, width = 1 }
[machine]
hoops = ["130x180", "100x100"]
formats = ["dst", "exp"]
[style]
decoration = { kind = "crosshatch", pitch = "25 mm" }
[tab]
width = 3
tip = "ogee"
snap = { diameter = "18 mm", inset = "1 in" }
[closure]
drop = "3 in"
[corner]
width = 4
height = 4
[label]
text = "Pier"
"""

CLUTCH = """
name = "Test clutch"
[bag]
width = 240
height = 150
seam = 8
lining_seam = 12
wall = 3
top = "turned"
straps = { spacing = 90, width = 16 }
[machine]
hoops = ["100x100", "140x200"]
formats = ["pes"]
trims = false
[style]
decoration = { kind = "crosshatch", pitch = 20 }
edge = { kind = "triple" }
[tab]
width = 62
length = 96
snap = { diameter = 14, inset = 30 }
batting = true
[connector]
layout = "pair"
height = 30
"""


def kit_from(text: str, folder) -> Kit:
    path = folder / "bag.toml"
    path.write_text(text, encoding="utf-8")
    spec = read_spec(path)
    return build_kit(Family.from_spec(spec), machine_from(spec.machine))


@pytest.fixture(scope="session")
def tote_kit(tmp_path_factory) -> Kit:
    return kit_from(TOTE, tmp_path_factory.mktemp("tote"))


@pytest.fixture(scope="session")
def tote(tote_kit) -> Sheet:
    return sheet_of(tote_kit)


@pytest.fixture(scope="session")
def clutch(tmp_path_factory) -> Sheet:
    return sheet_of(kit_from(CLUTCH, tmp_path_factory.mktemp("clutch")))


@pytest.fixture(scope="session")
def named(tote) -> Callable[[str], Sheet]:
    """The tote under another name, with two parts only."""
    short = tuple(part for part in tote.parts if part.name in ("label", "shaping-marks"))
    return lambda name: replace(tote, family=replace(tote.family, name=name), parts=short)
