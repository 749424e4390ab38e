"""Design in-the-hoop embroidery for handbags: parts that fit the bag, the hoop and each other.

Lengths go in as millimetres or as text with a unit; everything stored or returned is millimetres, x right,
y up, the right side of the cloth up.

Example:
    >>> from stitchcraft import ClosureTab, Dots, Hoop, Snap, check, plan
    >>> dots = Dots(pitch=7, joined=True)
    >>> tab = ClosureTab(width="3 in", length="5 1/4 in", tip="ogee", snap=Snap(diameter=18), decoration=dots)
    >>> front = plan(tab.front(), fabric="quilting cotton")
    >>> check(front, hoop=Hoop(130, 180))
    []
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stitchcraft.lazy import loaded_when_asked

if TYPE_CHECKING:
    from stitchcraft.bag import Bag, Binding, Closure, Shaping, Straps, solve_closure
    from stitchcraft.catalogue import Catalogue, make_catalogue, read_variants
    from stitchcraft.checks import (
        Comparison,
        DensityMap,
        KitComparison,
        check,
        check_file,
        compare,
        compare_kits,
        density_map,
    )
    from stitchcraft.decoration import (
        Chevrons,
        Clamshell,
        Crosshatch,
        Decoration,
        Dots,
        Echo,
        Meander,
        Monogram,
        NoDecoration,
        Petals,
        Rings,
        Scallops,
        Waves,
        Words,
        decoration_from,
    )
    from stitchcraft.decoration.artwork import Artwork
    from stitchcraft.defaults import DirectedPull, FabricProfile
    from stitchcraft.design import (
        Area,
        Column,
        Design,
        DoubleRun,
        Fill,
        Line,
        Purpose,
        Running,
        Satin,
        StitchPlan,
        Stop,
        Thread,
        Triple,
    )
    from stitchcraft.errors import (
        ArtworkError,
        Finding,
        Findings,
        Level,
        MachineFileError,
        ParameterError,
        PluginError,
        SpecError,
        StitchcraftError,
    )
    from stitchcraft.family import Family, Style
    from stitchcraft.kit import HoopingOptions, Kit, build_kit, make_kit, write_kit
    from stitchcraft.kit.contact_sheet import contact_sheet
    from stitchcraft.machine import Hoop, Machine, MachineFile, inspect_file, read_file, save
    from stitchcraft.machine.costs import Prices
    from stitchcraft.parts import (
        Button,
        ClosureTab,
        CornerAccent,
        Edge,
        Fastener,
        Label,
        Palette,
        SewInSnap,
        ShapingMark,
        Snap,
        SnapMark,
        StrapConnector,
        Swatch,
        TurnLock,
    )
    from stitchcraft.stitching import Calibration, Measured, fit_profile, plan

# Where each name lives: a module is loaded when a name of it is first asked for, so that `import stitchcraft`
# and the quick commands cost next to nothing.
_HOME = {
    "bag": ("Bag", "Binding", "Closure", "Shaping", "Straps", "solve_closure"),
    "catalogue": ("Catalogue", "make_catalogue", "read_variants"),
    "checks": (
        "Comparison", "DensityMap", "KitComparison", "check", "check_file", "compare", "compare_kits", "density_map",
    ),
    "decoration": (
        "Chevrons", "Clamshell", "Crosshatch", "Decoration", "Dots", "Echo", "Meander", "Monogram", "NoDecoration",
        "Petals", "Rings", "Scallops", "Waves", "Words", "decoration_from",
    ),
    "decoration.artwork": ("Artwork",),
    "defaults": ("DirectedPull", "FabricProfile"),
    "design": (
        "Area", "Column", "Design", "DoubleRun", "Fill", "Line", "Purpose", "Running", "Satin", "StitchPlan", "Stop",
        "Thread", "Triple",
    ),
    "errors": (
        "ArtworkError", "Finding", "Findings", "Level", "MachineFileError", "ParameterError", "PluginError",
        "SpecError", "StitchcraftError",
    ),
    "family": ("Family", "Style"),
    "kit": ("HoopingOptions", "Kit", "build_kit", "make_kit", "write_kit"),
    "kit.contact_sheet": ("contact_sheet",),
    "machine": ("Hoop", "Machine", "MachineFile", "inspect_file", "read_file", "save"),
    "machine.costs": ("Prices",),
    "parts": (
        "Button", "ClosureTab", "CornerAccent", "Edge", "Fastener", "Label", "Palette", "SewInSnap", "ShapingMark",
        "Snap", "SnapMark", "StrapConnector", "Swatch", "TurnLock",
    ),
    "stitching": ("Calibration", "Measured", "fit_profile", "plan"),
}  # fmt: skip

__all__ = [
    "Area", "Artwork", "ArtworkError", "Bag", "Binding", "Button", "Calibration", "Catalogue", "Chevrons", "Clamshell",
    "Closure", "ClosureTab", "Column", "Comparison", "CornerAccent", "Crosshatch", "Decoration", "DensityMap",
    "Design", "DirectedPull", "Dots", "DoubleRun", "Echo", "Edge", "FabricProfile", "Family", "Fastener", "Fill",
    "Finding", "Findings", "Hoop", "HoopingOptions", "Kit", "KitComparison", "Label", "Level", "Line", "Machine",
    "MachineFile", "MachineFileError", "Meander", "Measured", "Monogram", "NoDecoration", "Palette", "ParameterError",
    "Petals", "PluginError", "Prices", "Purpose", "Rings", "Running", "Satin", "Scallops", "SewInSnap", "Shaping",
    "ShapingMark", "Snap", "SnapMark", "SpecError", "StitchPlan", "StitchcraftError", "Stop", "StrapConnector",
    "Straps", "Style", "Swatch", "Thread", "Triple", "TurnLock", "Waves", "Words", "build_kit", "check", "check_file",
    "compare", "compare_kits", "contact_sheet", "decoration_from", "density_map", "fit_profile", "inspect_file",
    "make_catalogue", "make_kit", "plan", "read_file", "read_variants", "save", "solve_closure", "write_kit",
]  # fmt: skip


__getattr__ = loaded_when_asked(__name__, _HOME)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
