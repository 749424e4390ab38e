"""A plan or a file in, findings out. Checks never print and never raise for a bad design."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stitchcraft.lazy import loaded_when_asked

if TYPE_CHECKING:
    from stitchcraft.checks.comparing import Comparison, KitComparison, compare, compare_kits
    from stitchcraft.checks.density import DensityMap, density_map
    from stitchcraft.checks.files import check_file
    from stitchcraft.checks.stitches import check

# loaded when first asked for: a file is opened, and its reader started, before numpy is there
_HOME = {
    "comparing": (
        "Comparison",
        "KitComparison",
        "compare",
        "compare_kits",
    ),
    "density": (
        "DensityMap",
        "density_map",
    ),
    "files": ("check_file",),
    "stitches": ("check",),
}
__getattr__ = loaded_when_asked(__name__, _HOME)

__all__ = [
    "Comparison", "DensityMap", "KitComparison", "check", "check_file", "compare", "compare_kits", "density_map",
]  # fmt: skip
