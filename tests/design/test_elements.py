"""What a thread refuses."""

import math

import pytest

from stitchcraft.design import Thread
from stitchcraft.errors import ParameterError


@pytest.mark.parametrize("weight", [0, -40, math.nan, math.inf, "40", True])
def test_a_thread_whose_weight_is_no_number_of_lengths_to_a_mass_is_refused(weight):
    with pytest.raises(ParameterError, match="weight"):
        Thread("#2f5d62", weight=weight)
