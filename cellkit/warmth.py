"""Self-discharge at several temperatures: one fit to all, its activation energy, and the rate at another warmth."""

from dataclasses import dataclass

import numpy as np

from cellkit.decay import Model, model_named, spec_of
from cellkit.fade import Band
from cellkit.fitting import Fit, fit_curve
from cellkit.reference import GAS
from cellkit.shelf_log import EXAMPLE, PLACE, Log
from cellkit.units import InputError, expect, to_si


@dataclass(frozen=True)
class Warmth:
    """A decay model fitted to all temperatures of a log at once; printed, it gives activation energy and factor."""

    log: Log
    model: Model
    fit: Fit
    middle: float  # K, where the rate of the fit holds

    def activation_energy(self):
        """Activation energy with its profile-likelihood interval: a :class:`Band`."""
        return Band.of("J/mol -> kJ/mol", self.fit.values[-1], *self.fit.interval("activation energy"))

    def factor(self):
        """How many times faster at 5 °C above the middle of the log than at 5 °C below it: a :class:`Band`."""
        span = (1 / (self.middle - 5) - 1 / (self.middle + 5)) / GAS
        return Band.of("", *(np.exp(x.to("J/mol").magnitude * span) for x in self.activation_energy()))

    def rate_at(self, temperature):
        """Rate at a temperature, with its bootstrap interval: a :class:`Band`."""
        inverse = (1 / to_si("temperature", temperature, PLACE) - 1 / self.middle) / GAS
        rates = np.vstack([self.fit.values, self.fit.bootstrap()])
        rates = rates[:, -2] * np.exp(-rates[:, -1] * inverse)
        return Band.of(spec_of(self.model, "rate"), rates[0], *np.quantile(rates[1:], [0.025, 0.975]))

    def extrapolates(self, temperature):
        """Whether a temperature lies outside those of the log."""
        asked = to_si("temperature", temperature, PLACE)
        return not self.log.temperature.min() - 0.02 <= asked <= self.log.temperature.max() + 0.02

    def __str__(self):
        energy, factor = self.activation_energy(), self.factor()
        fits = "agrees with" if factor.low.m <= 2 <= factor.high.m else "does not agree with"
        return (
            f"{self.log.cell}, {self.model.name} at {self.log.places}\n  activation energy: {energy}\n"
            f"  10 °C more multiplies the rate by {factor}; that {fits} doubling"
        )


def arrhenius(log, model="first order"):
    """One fit to all temperatures: the same starting capacity, rates as ``rate · exp(−E/R · (1/T − 1/T_middle))``.

    Parameters
    ----------
    log : Log
        With a temperature column of two or more values.
    model : str
        As in :func:`fit`; in ``"fast + slow"`` both rates share one activation energy.

    Returns
    -------
    Warmth
        Valid while one mechanism rules at all temperatures. Two temperatures fix E but cannot test the law.

    Raises
    ------
    InputError
        For a log of one temperature.
    FitError
        As :func:`fit`.

    References
    ----------
    Doubling every 10 °C, which the result is held against, is common practice, no source.
    """
    expect("log", log, Log, EXAMPLE)
    kind, kelvin = model_named(model), log.temperature
    if len(log.temperatures) < 2:
        raise InputError(f"The log knows only {log.places}; store cells at two temperatures or more, 10 °C apart.")
    middle = 2 / (1 / kelvin.min() + 1 / kelvin.max())
    inverse = (1 / kelvin - 1 / middle) / GAS
    first_rate = kind.names.index("share") + 1 if "share" in kind.names else 1

    def curve(t, *parameters):
        *known, energy = parameters
        speed = np.exp(-energy * inverse)
        y, slopes = kind.curve(t, *known[:first_rate], *(rate * speed for rate in known[first_rate:]))
        by_rate = [slope * speed for slope in slopes[first_rate:]]
        by_energy = -inverse * sum(rate * slope for rate, slope in zip(known[first_rate:], by_rate, strict=True))
        return y, (*slopes[:first_rate], *by_rate, by_energy)

    near = np.abs(kelvin - kelvin[np.argmin(np.abs(kelvin - middle))]) < 0.02
    start = [*kind.start(log.time[near], log.capacity[near]), 50e3]
    names = (*kind.names, "activation energy")
    found = fit_curve(curve, log.time, log.capacity, start, log.error, log.error_dof, names)
    return Warmth(log, kind, found, middle)
