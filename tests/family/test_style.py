"""What a style and a family refuse, and what they take by name."""

import pytest

from stitchcraft.bag import Bag
from stitchcraft.defaults import FABRICS
from stitchcraft.errors import ParameterError
from stitchcraft.family import Family, Style


def test_a_style_takes_a_fabric_by_its_name_as_the_planner_does():
    assert Style(fabric="denim").fabric is FABRICS["denim"]


@pytest.mark.parametrize("values", [{"fabric": "silk"}, {"decoration": "dots"}, {"edge": 3}, {"palette": "#000000"}])
def test_a_style_refuses_what_is_no_such_thing(values):
    with pytest.raises(ParameterError, match=next(iter(values))):
        Style(**values)


def test_a_misspelt_option_of_a_part_is_named_with_what_there_is():
    with pytest.raises(ParameterError, match=r"tab option is 'widht'; it needs to be one of width, length"):
        Family(bag=Bag(width=300, height=250), tab={"widht": 70})
