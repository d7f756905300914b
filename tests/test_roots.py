"""The root finder that solutions share, on functions whose roots are known by algebra."""

import numpy as np
import pytest

from cellkit.chemistry.roots import root

LOW, HIGH, CLOSE = 10.0, 20.0, 1e-12
ROOTS = np.linspace(10.5, 19.5, 10)
FALLING = {
    "a straight line": lambda x: ROOTS - x,
    "an exponential": lambda x: np.exp(-x / 5) - np.exp(-ROOTS / 5),
    "a cube": lambda x: (ROOTS / 10) ** 3 - (x / 10) ** 3,
    "a logarithm": lambda x: np.log(ROOTS / x),
    "a step, flat a little way off": lambda x: -1e-3 * np.tanh(20 * (x - ROOTS)),
}


@pytest.mark.parametrize("falling", FALLING.values(), ids=FALLING)
def test_roots_are_found_inside_the_bracket_by_fewer_steps_than_halving_takes(falling):
    """Secants gain 1.6 times the digits with each step, as any textbook has it; halving gains one bit."""
    asked = []
    found = root(lambda x: falling(asked.append(x) or x), np.full(10, 11.0), -1.0, LOW, HIGH, CLOSE)
    assert found == pytest.approx(ROOTS, rel=1e-8)
    assert np.all((np.array(asked) > LOW) & (np.array(asked) < HIGH))
    assert len(asked) < np.log2((HIGH - LOW) / CLOSE) / 2


def test_where_there_is_no_root_there_is_no_number():
    beyond = np.array([9.0, 15.0, 21.0])
    found = root(lambda x: beyond - x, np.full(3, 11.0), -2.0, LOW, HIGH, CLOSE)
    assert np.isnan(found).tolist() == [True, False, True]
    assert found[1] == pytest.approx(15)
