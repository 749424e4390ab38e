"""The spec file: its schema as frozen tables, and the reader that fills them or says what is wrong and where."""

from stitchcraft.spec.bag_tables import (
    BagTable,
    BindingTable,
    HoopingTable,
    MachineTable,
    MaterialTable,
    PaletteTable,
    PricesTable,
    ShapingTable,
    StrapsTable,
)
from stitchcraft.spec.lines import key_lines
from stitchcraft.spec.part_tables import (
    ClosureTable,
    ConnectorTable,
    CornerTable,
    DecorationTable,
    EdgeTable,
    FastenerTable,
    LabelTable,
    ProfileTable,
    SnapTable,
    StyleTable,
    TabTable,
    TipTable,
)
from stitchcraft.spec.reading import read_spec, spec_from_text
from stitchcraft.spec.tables import Spec
from stitchcraft.spec.template import spec_text

__all__ = [
    "BagTable", "BindingTable", "ClosureTable", "ConnectorTable", "CornerTable", "DecorationTable", "EdgeTable",
    "FastenerTable", "HoopingTable", "LabelTable", "MachineTable", "MaterialTable", "PaletteTable", "PricesTable",
    "ProfileTable", "ShapingTable", "SnapTable", "Spec", "StrapsTable", "StyleTable", "TabTable", "TipTable",
    "key_lines", "read_spec", "spec_from_text", "spec_text",
]  # fmt: skip
