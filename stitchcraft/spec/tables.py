"""The spec as frozen values, and the schema of the file: every key, its kind and its range stand once.

All lengths are mm. A key that the file leaves out is None, and a table that it leaves out has every key None;
what suits the bag is chosen by the layers above. Only a flat base and the shaping snaps have values of their
own. A table is None itself where its absence means something: no shaping snaps, no decoration of the part's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from stitchcraft.spec import words
from stitchcraft.spec.bag_tables import BagTable, HoopingTable, MachineTable, MaterialTable, PricesTable
from stitchcraft.spec.keys import NAME, ChoiceKey, ListKey
from stitchcraft.spec.part_tables import ClosureTable, ConnectorTable, CornerTable, LabelTable, StyleTable, TabTable
from stitchcraft.spec.table import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Spec(Table):
    """A whole bag spec.

    Attributes:
        name: A title for people; never a path.
        units: The unit of a length that named none; everything here is mm already.
        parts: What the kit is limited to; None for all that the bag has.
        bag: The bag's sizes.
        machine: What will sew it.
        hooping: How parts share hoopings.
        material: Cloth and thread.
        style: What the parts have in common.
        tab: The closure tab.
        closure: Where the tab closes.
        corner: The corner accents.
        connector: The strap connectors.
        label: The label.
        prices: What a unit of each material costs.
    """

    name: Annotated[str, NAME] = "Bag"
    units: Annotated[str, ChoiceKey(words.UNITS)] = "mm"
    parts: Annotated[tuple[str, ...] | None, ListKey(ChoiceKey(words.PARTS), '["tab", "corner"]')] = None
    bag: BagTable
    machine: MachineTable = MachineTable()
    hooping: HoopingTable = HoopingTable()
    material: MaterialTable = MaterialTable()
    style: StyleTable = StyleTable()
    tab: TabTable = TabTable()
    closure: ClosureTable = ClosureTable()
    corner: CornerTable = CornerTable()
    connector: ConnectorTable = ConnectorTable()
    label: LabelTable = LabelTable()
    prices: PricesTable = PricesTable()
