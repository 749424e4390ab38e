"""The whole pipeline for one bag: parts, plans, machine files, proofs, report and pictures."""

from stitchcraft.kit.build import Kit, build_kit
from stitchcraft.kit.hooping_options import HoopingOptions
from stitchcraft.kit.make import make_kit, write_kit
from stitchcraft.kit.sewn import SewnPart

__all__ = ["HoopingOptions", "Kit", "SewnPart", "build_kit", "make_kit", "write_kit"]
