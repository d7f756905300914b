"""Each usual kind of wrong answer gets words of its own, and none of them the right number."""

import numpy as np
import pytest

from cellkit import Q_
from cellkit.exercises import judge

VOLTS = Q_(0.340, "V")


@pytest.mark.parametrize(
    ("mine", "says"),
    [
        (None, "not answered yet"),
        (Q_(0.335, "V"), "Yes."),
        (Q_(340, "mV"), "Yes."),
        (0.34, "It needs a number with a unit that fits, such as Q_(1, 'V')."),
        (Q_(0.34, "A"), "It needs a number with a unit that fits"),
        ("0.34 V or so", "It needs a number"),
        ([1, 2], "It needs a number"),
        (Q_(-0.34, "V"), "Look at the sign first. Look up."),
        (Q_(340, "V"), "The size is far off. Look up."),
        (Q_(0.30, "V"), "Near, but not there yet. Look up."),
        (Q_(np.nan, "V"), "The size is far off."),
    ],
)
def test_words(mine, says):
    words = judge(mine, VOLTS, 0.01, "Look up.")
    assert words.startswith(says)
    assert "0.34" not in words


def test_plain_number_where_there_is_no_unit():
    assert judge(3, Q_(3, ""), 0, "") == "Yes."
    assert judge(Q_(50, "percent"), Q_(0.5, ""), 0.01, "") == "Yes."
    assert judge("three", Q_(3, ""), 0, "") == "It needs a number."
