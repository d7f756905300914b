"""Ways for a cell to lose charge, each an object with its curve and its words.

Every curve is a starting capacity times a share that starts at 1, so that rates of cells of any size compare directly.
"""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cellkit.logs.fitting import FitError
from cellkit.units import one_of, ureg


@dataclass(frozen=True)
class DecayModel:
    """``curve(t, *parameters)`` gives values and their derivatives by each parameter; the parameters have ``names``."""

    name: str
    words: str
    curve: Callable
    names: tuple[str, ...] = ("capacity", "rate")
    first_rate: int = 1  # number of the first parameter that is a rate, which warmth makes faster
    clock_power: float = 1.0  # a rate is in 1/s to this power

    def spec(self, name, unit="percent"):
        """SI unit and shown unit of a parameter, as :func:`cellkit.units.quantity` reads them."""
        if name == "capacity":
            return f"{'' if ureg.Unit(unit).dimensionless else 'C'} -> {unit}"
        if name == "share":
            return " -> percent"
        power = "" if self.clock_power == 1 else f"**{self.clock_power}"
        return f"1/s{power} -> percent/day{power}"

    def start(self, t, y):
        """Parameters to start a search from: the best of a grid, the capacity of each by linear least squares."""
        if (times := np.unique(t).size) < len(self.names):
            raise FitError(
                f"{times} different times cannot settle {len(self.names)} parameters ({', '.join(self.names)}). "
                "Measure at more times, or take a model with fewer parameters."
            )
        rates = np.geomspace(1e-3, 100, 30) / t.max() ** self.clock_power
        grid = rates[:, None]
        if "share" in self.names:
            pairs = itertools.combinations(rates[::-1], 2)  # the faster one first
            grid = np.array([(share, *pair) for pair in pairs for share in np.linspace(0.1, 0.9, 9)])
        shapes = self.curve(t, 1.0, *grid.T[..., None])[0]
        capacities = shapes @ y / np.sum(shapes**2, 1)
        best = np.argmin(np.sum((capacities[:, None] * shapes - y) ** 2, 1))
        return capacities[best], *grid[best]

    def left(self, t, *rates):
        """Share left, which is never below zero or above one."""
        return np.clip(self.curve(t, 1.0, *rates)[0], 0, 1)

    def time_to(self, left, *rest):
        """Time until the share ``left`` is left, by bisection; infinite where it is not reached in 30,000 years.

        ``rest``: the parameters after the capacity. A rate that noise made negative counts as none.
        """
        first = self.first_rate - 1
        rest = [*rest[:first], *(np.maximum(rate, 0) for rate in rest[first:])]
        # of one rate the curve sees rate · t^power only: once for all draws, as a slider waits
        if len(rest) == 1 and np.ndim(rest[0]):
            with np.errstate(divide="ignore"):
                return self.time_to(left, 1.0) / rest[0] ** (1 / self.clock_power)
        low, high = (np.full(np.broadcast(*rest).shape, end) for end in (1e-6, 1e12))
        for _ in range(60):
            middle = np.sqrt(low * high)
            above = self.curve(middle, 1.0, *rest)[0] > left
            low, high = np.where(above, middle, low), np.where(above, high, middle)
        return np.where(self.curve(1e12, 1.0, *rest)[0] > left, np.inf, high)


def _leak(t, capacity, rate):
    left = 1 - rate * t
    return capacity * left, (left, -capacity * t)


def _exponential(t, capacity, rate):
    left = np.exp(-rate * t)
    return capacity * left, (left, -capacity * t * left)


def _two(t, capacity, share, fast, slow):
    quick, lasting = np.exp(-fast * t), np.exp(-slow * t)
    left = share * quick + (1 - share) * lasting
    partials = left, capacity * (quick - lasting), -capacity * share * t * quick, -capacity * (1 - share) * t * lasting
    return capacity * left, partials


DECAY_MODELS = {
    model.name: model
    for model in (
        DecayModel(
            "constant leak",
            "capacity · (1 − rate·t): a conducting path drains the same current all the time.",
            _leak,
        ),
        DecayModel(
            "first order",
            "capacity · exp(−rate·t): a reaction drains a current in proportion to the charge that is left.",
            _exponential,
        ),
        DecayModel(
            "square root of time",
            "capacity · (1 − rate·√t): diffusion, quick at first, through a layer that thickens as it goes.",
            lambda t, capacity, rate: _leak(np.sqrt(t), capacity, rate),
            clock_power=0.5,
        ),
        DecayModel(
            "fast + slow",
            "capacity · (share·exp(−fast·t) + (1 − share)·exp(−slow·t)): two stores that drain side by side.",
            _two,
            ("capacity", "share", "fast", "rate"),
            first_rate=2,
        ),
    )
}


def model_named(name):
    """The :class:`DecayModel` of a name, or an error that lists the names."""
    return DECAY_MODELS[one_of("model", name, DECAY_MODELS)]
