"""Examples in docstrings run as in a lesson, where ``ck`` is cellkit and ``Q_`` makes a quantity."""

import pytest

import cellkit


@pytest.fixture(autouse=True)
def _as_in_a_lesson(doctest_namespace):
    doctest_namespace |= {"ck": cellkit, "Q_": cellkit.Q_}
