"""Ways for a cell to lose charge: the curves with their derivatives, where a search begins, the time to a share left.

Every curve is a starting capacity times a share that starts at 1, so that rates of cells of any size compare directly.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cellkit.fitting import FitError
from cellkit.units import one_of, ureg


def constant_leak(t, capacity, rate):
    """capacity · (1 − rate·t): a conducting path drains the same current all the time."""
    left = 1 - rate * t
    return capacity * left, (left, -capacity * t)


def first_order(t, capacity, rate):
    """capacity · exp(−rate·t): a reaction drains a current in proportion to the charge that is left."""
    left = np.exp(-rate * t)
    return capacity * left, (left, -capacity * t * left)


def square_root(t, capacity, rate):
    """capacity · (1 − rate·√t): diffusion, quick at first, through a layer that thickens as it goes."""
    return constant_leak(np.sqrt(t), capacity, rate)


def fast_and_slow(t, capacity, share, fast, slow):
    """capacity · (share·exp(−fast·t) + (1 − share)·exp(−slow·t)): two stores that drain side by side."""
    quick, lasting = np.exp(-fast * t), np.exp(-slow * t)
    left = share * quick + (1 - share) * lasting
    partials = left, capacity * (quick - lasting), -capacity * share * t * quick, -capacity * (1 - share) * t * lasting
    return capacity * left, partials


def _leak_start(t, y):
    slope, level = np.polyfit(t, y, 1)
    return level, -slope / level


def _exponential_start(t, y):
    """Best of a grid of rates, the level of each from linear least squares."""
    rates = np.geomspace(1e-3, 100, 60) / t.max()
    shapes = np.exp(-np.outer(rates, t))
    levels = shapes @ y / np.sum(shapes**2, 1)
    best = np.argmin(np.sum((levels[:, None] * shapes - y) ** 2, 1))
    return levels[best], rates[best]


def _two_exponentials_start(t, y):
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
    share, fast, slow = np.broadcast_arrays(share, fast, slow)
    low, high = np.zeros(share.shape), -np.log(left) / np.minimum(fast, slow)
    for _ in range(60):
        middle = (low + high) / 2
        above = fast_and_slow(middle, 1.0, share, fast, slow)[0] > left
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return high


@dataclass(frozen=True)
class Model:
    """A decay curve, where a search begins, and the inverse ``time_to(share left, *parameters after capacity)``."""

    name: str
    curve: Callable
    start: Callable
    time_to: Callable
    names: tuple[str, ...] = ("capacity", "rate")
    clock_power: float = 1.0  # a rate is in 1/s to this power


MODELS = {
    model.name: model
    for model in (
        Model("constant leak", constant_leak, _leak_start, lambda left, k: (1 - left) / k),
        Model("first order", first_order, _exponential_start, lambda left, k: -np.log(left) / k),
        Model(
            "square root of time",
            square_root,
            lambda t, y: _leak_start(np.sqrt(t), y),
            lambda left, k: ((1 - left) / k) ** 2,
            clock_power=0.5,
        ),
        Model(
            "fast + slow", fast_and_slow, _two_exponentials_start, _time_of_two, ("capacity", "share", "fast", "rate")
        ),
    )
}


def model_named(name):
    """The :class:`Model` of a name, or an error that lists the names."""
    return MODELS[one_of("model", name, MODELS)]


def spec_of(model, name, unit="percent"):
    """SI unit and shown unit of a parameter, as :func:`cellkit.units.quantity` reads them."""
    if name == "capacity":
        return f"{'' if ureg.Unit(unit).dimensionless else 'C'} -> {unit}"
    if name == "share":
        return " -> percent"
    power = "" if model.clock_power == 1 else f"**{model.clock_power}"
    return f"1/s{power} -> percent/day{power}"
