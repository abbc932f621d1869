"""Refusing numbers outside a range."""

import numpy as np
import pytest

from advisor.errors import OutOfRange
from advisor.physics.basics import inside


def test_what_lies_in_the_range_comes_back_as_an_array():
    assert inside("flow", 1.0, (0.0, 1.0), "m3/s") == np.array(1.0)
    assert inside("flow", np.array([0.0, 0.5]), (0.0, 1.0), "m3/s").tolist() == [0.0, 0.5]


@pytest.mark.parametrize("bad", [1.0000001, -1e-9, np.nan, np.inf, np.array([0.5, np.nan])])
def test_what_does_not_is_refused_with_its_name_value_and_range(bad):
    with pytest.raises(OutOfRange, match=r"flow \S+ m3/s; allowed: 0 to 1 m3/s"):
        inside("flow", bad, (0.0, 1.0), "m3/s")


def test_the_first_bad_one_of_many_is_named():
    with pytest.raises(OutOfRange, match="flow 7 m3/s"):
        inside("flow", np.array([0.5, 7.0, 8.0]), (0.0, 1.0), "m3/s")
