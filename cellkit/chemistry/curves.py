"""A curve through tabulated points."""

import numpy as np


class Curve:
    """Cubic between points, whose slopes let it rise and fall only where the points do.

    Between two steps of unlike sign the slope is zero, else their weighted harmonic mean; at an end it is that of the
    parabola through three points, held within three times the last step. Beyond the ends the last cubic goes on.
    Source: Fritsch and Butland, SIAM J. Sci. Comput. 5 (1984) 300, as in scipy's ``PchipInterpolator``.
    """

    def __init__(self, x, y):
        self.x, y = np.asarray(x, float), np.asarray(y, float)
        width = np.diff(self.x)
        step = np.diff(y) / width
        near, far = 2 * width[1:] + width[:-1], width[1:] + 2 * width[:-1]
        turns = step[:-1] * step[1:] <= 0
        with np.errstate(divide="ignore", invalid="ignore"):
            inside = np.where(turns, 0.0, (near + far) / (near / step[:-1] + far / step[1:]))
        first, last = _at_end(*width[:2], *step[:2]), _at_end(*width[:-3:-1], *step[:-3:-1])
        slope = np.array([first, *inside, last])
        bend = (slope[:-1] + slope[1:] - 2 * step) / width
        self.powers = bend / width, (step - slope[:-1]) / width - bend, slope[:-1], y[:-1]

    def __call__(self, x):
        """Height of the curve and its slope."""
        piece = np.searchsorted(self.x[1:-1], x, "right")
        t, (a, b, c, d) = x - self.x[piece], (power[piece] for power in self.powers)
        return ((a * t + b) * t + c) * t + d, (3 * a * t + 2 * b) * t + c


def _at_end(width, width_behind, step, step_behind):
    slope = ((2 * width + width_behind) * step - width * step_behind) / (width + width_behind)
    most = 3 * abs(step) if step * step_behind < 0 else np.inf
    return np.sign(step) * np.clip(np.sign(step) * slope, 0, most)
