"""A family says lengths in its maker's unit first."""

import re

import pytest

from stitchcraft.bag import Bag, Straps
from stitchcraft.errors import ParameterError
from stitchcraft.family import Family
from stitchcraft.units import to_mm

WIDE = {"width": 330, "height": 270}


def test_parts_say_lengths_in_the_familys_own_unit():
    said = {}
    for unit in ("mm", "cm", "in"):
        family = Family(bag=Bag(**WIDE, straps=Straps(spacing=120, width=25.4)), units=unit)
        said[unit] = next(part.after for part in family.made() if part.name == "connector-back")
    assert "25.4 mm (1 in) strap" in said["mm"]
    assert "2.54 cm (1 in) strap" in said["cm"]
    assert "1 in (25.4 mm) strap" in said["in"]
    with pytest.raises(ParameterError, match="units"):
        Family(bag=Bag(**WIDE), units="ell")


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
@pytest.mark.parametrize("drop", [9.0, 12.3, 16.7])
def test_a_remedy_holds_whichever_of_its_units_is_followed(unit, drop):
    family = Family(bag=Bag(**WIDE), drop=drop, units=unit)
    (found,) = [finding for finding in family.findings() if finding.code == "fastener-high"]
    lengths = re.findall(r"([0-9][0-9 /.]*) ?(mm|cm|in)\b", found.remedy)
    assert {named for _, named in lengths} == {unit, "mm" if unit == "in" else "in"}
    for number, named in lengths:
        better = Family(bag=Bag(**WIDE), drop=to_mm(f"{number} {named}"), units=unit)
        assert "fastener-high" not in {finding.code for finding in better.findings()}
