"""A plan or a file in, findings out. Checks never print and never raise for a bad design."""

from stitchcraft.checks.comparing import Comparison, KitComparison, compare, compare_kits
from stitchcraft.checks.density import DensityMap, density_map
from stitchcraft.checks.files import check_file
from stitchcraft.checks.stitches import check

__all__ = [
    "Comparison", "DensityMap", "KitComparison", "check", "check_file", "compare", "compare_kits", "density_map",
]  # fmt: skip
