"""The search for a root that solutions share: for whole arrays, and without a library that takes long to load."""

import numpy as np


def root(falling, start, slope, low, high, close):
    """Where a ``falling`` function of an array is zero between ``low`` and ``high``: secants in a shrinking bracket.

    Begins at ``start`` with a guess of the ``slope``, ends where it is ``close`` to zero; NaN where it never is.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        x, value = start, falling(start)
        for _ in range(80):
            unsettled = np.abs(value) > close
            if not unsettled.any():
                break
            low, high = np.where(value > 0, x, low), np.where(value > 0, high, x)
            ahead = x - value / slope
            ahead = np.where((ahead > low) & (ahead < high), ahead, (low + high) / 2)
            ahead = np.where(unsettled, ahead, x)
            step, last, x = ahead - x, value, ahead
            value = falling(x)
            slope = (value - last) / step
        return np.where(np.abs(value) <= 100 * close, x, np.nan)
