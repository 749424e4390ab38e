"""What is done with arrays of any kind."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from stitchcraft.arrays import distinct


@given(arrays.arrays(st.sampled_from([np.int32, np.int64]), st.integers(0, 30), elements=st.integers(0, 40)))
def test_distinct_numbers_are_those_that_numpy_finds(numbers):
    assert distinct(numbers).tolist() == np.unique(numbers).tolist()
