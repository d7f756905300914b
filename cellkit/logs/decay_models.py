"""Ways for a cell to lose charge: each an object with its curve, its words, its start of a search and its inverse.

Every curve is a starting capacity times a share that starts at 1, so that rates of cells of any size compare directly.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cellkit.logs.fitting import FitError
from cellkit.units import one_of, ureg


@dataclass(frozen=True)
class DecayModel:
    """``curve(t, *parameters)`` gives values and derivatives; ``start(t, y)`` parameters near those of the data.

    ``time_to(share left, *parameters after the capacity)`` is the curve's inverse, infinite where it never gets there.
    """

    name: str
    words: str
    curve: Callable
    start: Callable
    time_to: Callable
    names: tuple[str, ...] = ("capacity", "rate")
    clock_power: float = 1.0  # a rate is in 1/s to this power

    @property
    def first_rate(self):
        """Number of the first parameter that is a rate, which warmth makes faster."""
        return self.names.index("share") + 1 if "share" in self.names else 1

    def spec(self, name, unit="percent"):
        """SI unit and shown unit of a parameter, as :func:`cellkit.units.quantity` reads them."""
        if name == "capacity":
            return f"{'' if ureg.Unit(unit).dimensionless else 'C'} -> {unit}"
        if name == "share":
            return " -> percent"
        power = "" if self.clock_power == 1 else f"**{self.clock_power}"
        return f"1/s{power} -> percent/day{power}"

    def left(self, t, *rates):
        """Share left, which is never below zero or above one."""
        return np.clip(self.curve(t, 1.0, *rates)[0], 0, 1)


def _leak(t, capacity, rate):
    left = 1 - rate * t
    return capacity * left, (left, -capacity * t)


def _leak_start(t, y):
    slope, level = np.polyfit(t, y, 1)
    return level, -slope / level


def _exponential(t, capacity, rate):
    left = np.exp(-rate * t)
    return capacity * left, (left, -capacity * t * left)


def _exponential_start(t, y):
    """Best of a grid of rates, the level of each from linear least squares."""
    rates = np.geomspace(1e-3, 100, 60) / t.max()
    shapes = np.exp(-np.outer(rates, t))
    levels = shapes @ y / np.sum(shapes**2, 1)
    best = np.argmin(np.sum((levels[:, None] * shapes - y) ** 2, 1))
    return levels[best], rates[best]


def _two(t, capacity, share, fast, slow):
    quick, lasting = np.exp(-fast * t), np.exp(-slow * t)
    left = share * quick + (1 - share) * lasting
    partials = left, capacity * (quick - lasting), -capacity * share * t * quick, -capacity * (1 - share) * t * lasting
    return capacity * left, partials


def _two_start(t, y):
    """Best of a grid of rate pairs, the amplitudes of each pair from linear least squares."""
    rates, best, found = np.geomspace(0.02, 60, 16) / t.max(), np.inf, None
    for i, slow in enumerate(rates):
        for fast in rates[i + 1 :]:
            basis = np.exp(-np.outer(t, (fast, slow)))
            amplitudes = np.linalg.lstsq(basis, y, rcond=None)[0]
            cost = np.sum((basis @ amplitudes - y) ** 2)
            if cost < best and amplitudes.min() > 0:
                best, found = cost, (amplitudes.sum(), amplitudes[0] / amplitudes.sum(), fast, slow)
    if found is None:
        raise FitError("no pair of decays follows the data")
    return found


def _time_of_two(left, share, fast, slow):
    """By bisection; a rate that noise made negative, or nothing, counts as zero, and its store as one that stays."""
    share, fast, slow = np.broadcast_arrays(
        share, *(np.where(np.asarray(rate) > 1e-30, rate, 0) for rate in (fast, slow))
    )
    stays = np.where(fast > 0, 0, share) + np.where(slow > 0, 0, 1 - share)
    bounds = [-np.log((left - stays) / (1 - stays)) / rate for rate in (fast, slow)]
    low, high = np.zeros(share.shape), np.max([np.where(np.isfinite(bound), bound, 0) for bound in bounds], axis=0)
    for _ in range(60):
        middle = (low + high) / 2
        above = _two(middle, 1.0, share, fast, slow)[0] > left
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return np.where(stays < left, high, np.inf)


def _if_it_falls(time_to):
    def time_or_never(left, rate):
        return np.where(np.asarray(rate) > 0, time_to(left, np.asarray(rate, dtype=float)), np.inf)

    return time_or_never


DECAY_MODELS = {
    model.name: model
    for model in (
        DecayModel(
            "constant leak",
            "capacity · (1 − rate·t): a conducting path drains the same current all the time.",
            _leak,
            _leak_start,
            _if_it_falls(lambda left, rate: (1 - left) / rate),
        ),
        DecayModel(
            "first order",
            "capacity · exp(−rate·t): a reaction drains a current in proportion to the charge that is left.",
            _exponential,
            _exponential_start,
            _if_it_falls(lambda left, rate: -np.log(left) / rate),
        ),
        DecayModel(
            "square root of time",
            "capacity · (1 − rate·√t): diffusion, quick at first, through a layer that thickens as it goes.",
            lambda t, capacity, rate: _leak(np.sqrt(t), capacity, rate),
            lambda t, y: _leak_start(np.sqrt(t), y),
            _if_it_falls(lambda left, rate: ((1 - left) / rate) ** 2),
            clock_power=0.5,
        ),
        DecayModel(
            "fast + slow",
            "capacity · (share·exp(−fast·t) + (1 − share)·exp(−slow·t)): two stores that drain side by side.",
            _two,
            _two_start,
            _time_of_two,
            ("capacity", "share", "fast", "rate"),
        ),
    )
}


def model_named(name):
    """The :class:`DecayModel` of a name, or an error that lists the names."""
    return DECAY_MODELS[one_of("model", name, DECAY_MODELS)]
