"""One decay model fitted to one log, and what it has to say: rates with intervals, share left, shelf time."""

from collections import namedtuple
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cellkit.decay import Model, model_named, spec_of
from cellkit.fitting import Fit, FitError, evaluate, fit_curve
from cellkit.shelf_log import EXAMPLE, Log
from cellkit.units import InputError, Kind, expect, not_negative, one_of, quantity, to_si

TIME = not_negative("s", 'Q_(30, "day")')
LEVEL = Kind("", "0.95", low=0.0, high=0.9999, open_low=True, single=True)
SHARE_LEFT = Kind("", "0.8", low=0.01, high=0.99, single=True)


def tails(level):
    """Shares of the draws below either end of an interval."""
    level = to_si("level", level, LEVEL)
    return [(1 - level) / 2, (1 + level) / 2]


class Band(namedtuple("Band", "value low high")):
    """A value and both ends of its interval as quantities; printed, to the digits that the interval warrants."""

    @classmethod
    def of(cls, spec, value, low, high):
        """From SI numbers and a spec as :func:`cellkit.units.quantity` reads it."""
        return cls(*(quantity(x, spec) for x in (value, low, high)))

    def __str__(self):
        width = float((self.high - self.low).magnitude)
        digits = int(np.clip(1 - np.floor(np.log10(width)), 0, 9)) if 0 < width < np.inf else 3
        value, low, high = (f"{x.magnitude:.{digits}f}" for x in self)
        unit = f" {self.value.units:~P}".replace("d⁰⋅⁵", "√d").rstrip()
        return f"{value}{unit} (95 %: {low} to {high})"


@dataclass(frozen=True)
class Fade:
    """One decay model fitted to one log at one temperature; printed, it says what was found and how sure it is."""

    log: Log
    model: Model
    fit: Fit

    def value(self, name="rate"):
        """A parameter: ``"capacity"`` at the start, ``"rate"`` (the share of it lost per time), or another."""
        return self._shown(name, self.fit.values)

    def standard_error(self, name="rate"):
        """Standard error of a parameter."""
        return self._shown(name, self.fit.errors)

    def interval(self, name="rate", level=0.95):
        """Both ends of the profile-likelihood interval of a parameter."""
        self._known(name)
        ends = self.fit.interval(name, to_si("level", level, LEVEL))
        return tuple(quantity(end, spec_of(self.model, name, self.log.unit)) for end in ends)

    def _known(self, name):
        return self.model.names.index(one_of("name", name, self.model.names))

    def _shown(self, name, values):
        return quantity(values[self._known(name)], spec_of(self.model, name, self.log.unit))

    @cached_property
    def draws(self):
        """Parameters of 1,000 bootstrap refits, SI, one row each."""
        return self.fit.bootstrap(1000)

    @property
    def misfit(self):
        """Rough probability of a scatter this large if the curve is right; NaN where the error was not known."""
        from scipy.special import fdtrc

        free = self.fit.y.size - self.fit.values.size
        known = not self.fit.estimated and free > 0
        return float(fdtrc(free, min(self.fit.dof, 1e9), self.fit.rss / free)) if known else np.nan

    def retained(self, time, level=0.95):
        """Share of the starting capacity left after ``time``, with its interval (bootstrap): a :class:`Band`."""
        t = np.atleast_1d(to_si("time", time, TIME))
        ends = tails(level)
        start = np.where(np.array(self.model.names) == "capacity", 1.0, self.fit.values)
        low, high = np.quantile(evaluate(self.model.curve, t, self.draws)[0] / self.fit.values[0], ends, axis=0)
        mid = evaluate(self.model.curve, t, start)[0]
        return Band.of(" -> percent", mid, low, high)

    def shelf_time(self, left, level=0.95):
        """Time until the share ``left`` of the starting capacity is left: a :class:`ShelfTime` that warns."""
        share = to_si("left", left, SHARE_LEFT)
        ends = tails(level)
        with np.errstate(all="ignore"):
            times = np.array(self.model.time_to(share, *self.draws[:, 1:].T))
            middle = float(self.model.time_to(share, *self.fit.values[1:]))
        times[~(self.draws[:, -1] > 0)] = np.inf  # a rate of zero or less never gets there
        low, high = np.quantile(times, ends, method="inverted_cdf")
        return ShelfTime(share, *(quantity(x, "s -> day") for x in (middle, low, high, self.log.time.max())))

    def __str__(self):
        said = [f"{self.log.cell} at {self.log.places}, {self.model.name}: {self.model.curve.__doc__}"]
        for name in self.model.names:
            found = Band(self.value(name), *self.interval(name))
            said.append(f"  {name}: {found}")
        if self.fit.exact:
            said.append("  The data lie on this curve exactly, as measured data never do: the interval means nothing.")
        if self.misfit < 0.01:
            said.append("  The scatter about this curve is more than the measurement error explains: do not trust it.")
        return "\n".join(said)


class ShelfTime(namedtuple("ShelfTime", "left time low high measured_until")):
    """When the share ``left`` is reached, with its interval; printed, it says so and warns beyond the data."""

    @property
    def extrapolates(self):
        """Whether the answer lies beyond the last measurement, where no datum supports the curve."""
        return bool(self.high > self.measured_until)

    @property
    def warning(self):
        """The warning in words; empty where none is due."""
        times = (self.high / self.measured_until).to("").magnitude
        return (
            f"BEYOND THE DATA: up to {times:.1f} × the {self.measured_until:.3g~P} measured"
            if self.extrapolates
            else ""
        )

    def __str__(self):
        when = str(Band(self.time, self.low, self.high)).replace("inf", "never")
        return f"{self.left:.0%} is left after {when}." + (f" {self.warning}." if self.warning else "")


def fit(log, model="first order"):
    """Least-squares fit of a decay model to a log at one temperature.

    Parameters
    ----------
    log : Log
        See :func:`read`; of several temperatures choose one by ``log.at(...)`` or use :func:`arrhenius`.
    model : str
        ``"constant leak"``, ``"first order"``, ``"square root of time"`` or ``"fast + slow"``.

    Returns
    -------
    Fade
        Valid while the mechanism stays what it was and the errors of the measurements are independent.

    Raises
    ------
    FitError
        If the capacity does not fall, the data do not hold the model, or the search fails; it says which.

    Examples
    --------
    >>> from cellkit.units import Q_
    >>> from cellkit.shelf_log import read
    >>> zinc = fit(read("self_discharge_zinc.csv").at(Q_(25, "degC")))
    >>> f"{zinc.value('rate'):.1f~P}"
    '3.0 %/d'
    """
    expect("log", log, Log, EXAMPLE)
    if np.ptp(log.temperature) > 0.02:
        raise InputError(f"The log holds {log.places}; choose one by log.at(...) or fit them all by arrhenius(log).")
    kind = model_named(model)
    times = np.unique(log.time).size
    if times < len(kind.names):
        raise FitError(
            f"{times} different times cannot settle {len(kind.names)} parameters ({', '.join(kind.names)}). Measure at "
            "more times, or take a model with fewer parameters."
        )
    if np.ptp(log.capacity) <= 1e-9 * log.capacity.max():
        raise FitError("There is no decay in the data: the capacity is the same in every row.")
    try:
        start = kind.start(log.time, log.capacity)
        found = fit_curve(kind.curve, log.time, log.capacity, start, log.error, log.error_dof, kind.names)
    except FitError:
        raise FitError(
            f"No best '{model}' curve was found: the {log.time.size} measurements do not settle its {len(kind.names)} "
            "parameters. Take a model with fewer of them, or measure more."
        ) from None
    fade = Fade(log, kind, found)
    values, reach = found.values, found.reach() * found.errors
    if len(values) == 2 and values[1] <= reach[1]:
        if values[1] < -reach[1]:
            raise FitError("The capacity rises with time. Has each row the charge that came out, and its own days?")
        most = f"{quantity(values[1] + reach[1], spec_of(kind, 'rate')):.2g~P}".replace("d⁰⋅⁵", "√d")
        raise FitError(
            f"There is no decay in the data that rises above their error; a rate of up to {most} would go unnoticed. "
            "Wait longer, or measure more precisely."
        )
    if len(values) == 4 and not (reach[1] < values[1] < 1 - reach[1] and values[2] > values[3] > -reach[3]):
        raise FitError(
            f"The data do not hold a fast and a slow decay: its fast share is {values[1]:.0%} ± {reach[1]:.0%}. "
            "Try 'first order'."
        )
    return fade
