"""The spec file: its schema as frozen tables, and the reader that fills them or says what is wrong and where."""

from stitchcraft.spec.lines import key_lines
from stitchcraft.spec.reading import read_spec, spec_from_text
from stitchcraft.spec.tables import (
    BagTable,
    BindingTable,
    ClosureTable,
    ConnectorTable,
    CornerTable,
    DecorationTable,
    EdgeTable,
    LabelTable,
    MachineTable,
    MaterialTable,
    PaletteTable,
    ShapingTable,
    SnapTable,
    Spec,
    StrapsTable,
    StyleTable,
    TabTable,
    TipTable,
)
from stitchcraft.spec.template import spec_text

__all__ = [
    "BagTable", "BindingTable", "ClosureTable", "ConnectorTable", "CornerTable", "DecorationTable", "EdgeTable",
    "LabelTable", "MachineTable", "MaterialTable", "PaletteTable", "ShapingTable", "SnapTable", "Spec", "StrapsTable",
    "StyleTable", "TabTable", "TipTable", "key_lines", "read_spec", "spec_from_text", "spec_text",
]  # fmt: skip
