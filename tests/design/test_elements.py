"""What threads and areas refuse."""

import math

import pytest
import shapely

from stitchcraft.design import Area, Fill, Satin, Thread
from stitchcraft.errors import ParameterError


@pytest.mark.parametrize("weight", [0, -40, math.nan, math.inf, "40", True])
def test_a_thread_whose_weight_is_no_number_of_lengths_to_a_mass_is_refused(weight):
    with pytest.raises(ParameterError, match="weight"):
        Thread("#2f5d62", weight=weight)


@pytest.mark.parametrize("key", ["start", "end"])
def test_an_area_takes_a_place_to_begin_and_to_end_for_rows_only(key):
    square = shapely.box(0, 0, 5, 5)
    assert getattr(Area(square, Fill(), **{key: [1, 2]}), key) == (1.0, 2.0)
    for wrong in ((1.0,), "here", (math.nan, 0.0), (1.0, 2.0, 3.0)):
        with pytest.raises(ParameterError, match=f"^{key} is"):
            Area(square, Fill(), **{key: wrong})
    with pytest.raises(ParameterError, match=f"^{key} is .*left out for satin"):
        Area(square, Satin(), **{key: (1.0, 2.0)})
