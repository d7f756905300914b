"""Self-discharge: fits of decay models, what follows from them, and the planning of measurements."""

from collections import namedtuple
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cellkit.logs.decay_models import DECAY_MODELS, DecayModel, model_named
from cellkit.logs.fitting import Fit, FitError, expected_half_width, fit_curve
from cellkit.logs.shelf_log import EXAMPLE, PLACE, ShelfLog
from cellkit.tables.logger_files import DAY
from cellkit.tables.published import GAS
from cellkit.units import Constraint, InputError, expect, non_negative, quantity, to_si

TIME = non_negative("s", 'Q_(30, "day")')
TAILS = (1 - 0.95) / 2, (1 + 0.95) / 2  # shares of the draws below either end of an interval
SHARE_LEFT = Constraint("", "0.8", low=0.01, high=0.99, single=True)


class Estimate(namedtuple("Estimate", "value low high")):
    """A value and both ends of its interval as quantities; printed, to the digits that the interval warrants."""

    @classmethod
    def of(cls, spec, value, low, high):
        """From SI numbers and a spec as :func:`cellkit.units.quantity` reads it."""
        return cls(*(quantity(x, spec) for x in (value, low, high)))

    @classmethod
    def of_draws(cls, spec, values, method="linear"):
        """From the SI value of a fit, followed by those of its bootstrap draws."""
        return cls.of(spec, values[0], *np.quantile(values[1:], TAILS, axis=0, method=method))

    def __str__(self):
        if np.ndim(self.value.magnitude):
            return "\n".join(str(Estimate(*ends)) for ends in zip(*self, strict=True))
        width = float((self.high - self.low).magnitude)
        digits = int(np.clip(1 - np.floor(np.log10(width)), 0, 9)) if 0 < width < np.inf else 3
        value, low, high = (f"{x.magnitude:.{digits}f}" for x in self)
        return f"{value}{_unit(self.value)} (95 %: {low} to {high})"


def _unit(value):
    return f" {value.units:~P}".replace("d⁰⋅⁵", "√d").rstrip()


@dataclass(frozen=True)
class SelfDischargeFit:
    """One decay model fitted to one log at one temperature; printed, it says what was found and how sure it is."""

    log: ShelfLog
    model: DecayModel
    fit: Fit

    def value(self, name="rate"):
        """A parameter: ``"capacity"`` at the start, ``"rate"`` (the share of it lost per time), or another."""
        return self._shown(name, self.fit.values)

    def standard_error(self, name="rate"):
        """Standard error of a parameter."""
        return self._shown(name, self.fit.standard_errors)

    def interval(self, name="rate"):
        """Both ends of the profile-likelihood interval of a parameter."""
        return tuple(quantity(end, self.model.spec(name, self.log.unit)) for end in self.fit.interval(name))

    def _shown(self, name, values):
        return quantity(values[self.fit.number(name)], self.model.spec(name, self.log.unit))

    @cached_property
    def draws(self):
        """Parameters of 1,000 bootstrap refits, SI, one row each."""
        return self.fit.bootstrap()

    def _rest(self):
        """Parameters after the capacity, each an array of that of the fit and those of the draws."""
        return np.vstack([self.fit.values, self.draws]).T[1:]

    @property
    def p_value(self):
        """Rough probability of a scatter this large if the curve is right; NaN where the error was not known."""
        from scipy.special import fdtrc

        free = self.fit.y.size - self.fit.values.size
        known = not self.fit.estimated and free > 0
        return float(fdtrc(free, min(self.fit.dof, 1e9), self.fit.rss / free)) if known else np.nan

    def retained(self, time):
        """Share of the starting capacity left after ``time``, with its interval (bootstrap): a :class:`Estimate`."""
        t = to_si("time", time, TIME)
        left = self.model.left(t, *self._rest()[(..., *[None] * np.ndim(t))])
        return Estimate.of_draws(" -> percent", left)

    def shelf_time(self, left):
        """Time until the share ``left`` of the starting capacity is left: a :class:`ShelfTime` that warns."""
        share, until = to_si("left", left, SHARE_LEFT), self.log.time.max()
        shown = "s -> hour" if until < 4 * DAY else "s -> day"
        when = Estimate.of_draws(shown, self.model.time_to(share, *self._rest()), "inverted_cdf")  # some are infinite
        return ShelfTime(share, *when, quantity(until, shown))

    def _far_row(self):
        """What one row far off the curve does to the rate, in words; nothing where there is none.

        Far is beyond 99 % of what the largest of so many normal residuals does (Bonferroni; from memory).
        """
        from scipy.special import stdtr

        fit, log, dof = self.fit, self.log, self.fit.dof
        if fit.is_exact or dof < 2:
            return []
        gaps = np.abs(fit.residuals) * fit.weight / fit.scale
        at = int(np.argmax(gaps))
        t = gaps[at]
        if fit.estimated:  # the row itself has its part in the error
            t, dof = t * np.sqrt((dof - 1) / max(dof - t**2, 1e-9)), dof - 1
        if 2 * stdtr(min(dof, 1e9), -t) * gaps.size >= 0.01:
            return []
        x, y = np.delete(fit.x, at), np.delete(fit.y, at)
        error = None if log.error is None else np.delete(log.error, at)
        try:
            rate = fit_curve(fit.curve, x, y, fit.values, error, log.error_dof, fit.names).values[-1]
        except FitError:
            return []
        rate = quantity(rate, self.model.spec("rate"))
        row = f"Measurement {at + 1}" if log.rows is None else f"Row {log.rows[at]}"
        return [f"  {row} lies {gaps[at]:.1f} errors off the curve; without it the rate is {rate.m:.3g}{_unit(rate)}."]

    def __str__(self):
        said = [f"{self.log.cell}, at {self.log.places}, {self.model.name}:\n  {self.model.words}"]
        for name in self.model.names:
            found = Estimate(self.value(name), *self.interval(name))
            said.append(f"  {name}: {found}")
        if self.fit.is_exact:
            said.append("  The data lie on this curve exactly, as measured data never do: the interval means nothing.")
        if self.p_value < 0.01:
            said.append("  The scatter about this curve is more than the measurement error explains: do not trust it.")
        return "\n".join(said + self._far_row())


class ShelfTime(namedtuple("ShelfTime", "left time low high measured_until")):
    """When the share ``left`` is reached, with its interval; printed, it says so and warns beyond the data."""

    @property
    def extrapolates(self):
        """Whether the answer lies beyond the last measurement, where no datum supports the curve."""
        return bool(self.high > self.measured_until)

    def __str__(self):
        when = str(Estimate(self.time, self.low, self.high)).replace("inf", "never")
        times = (self.high / self.measured_until).to("").magnitude
        warning = f" BEYOND THE DATA: up to {times:.1f} × the {self.measured_until:.3g~P} measured."
        return f"{100 * self.left:.0f} % is left after {when}.{warning if self.extrapolates else ''}"


def _fitted(log, kind, curve, names, start):
    """Least squares to a log; a FitError where the data hold no decay, or do not settle the curve."""
    if np.ptp(log.capacity) <= 1e-9 * log.capacity.max():
        raise FitError("There is no decay in the data: the capacity is the same in every row. Wait longer.")
    try:
        found = fit_curve(curve, log.time, log.capacity, start, log.error, log.error_dof, names)
    except FitError:
        raise FitError(
            f"No best '{kind.name}' curve was found: the {log.time.size} measurements do not settle its {len(names)} "
            "parameters. Take a model with fewer of them, or measure more."
        ) from None
    values, reach = found.values, found.coverage_factor * found.standard_errors
    if len(kind.names) == 2 and values[1] <= reach[1]:
        if values[1] < -reach[1]:
            raise FitError("The capacity rises with time. Has each row the charge that came out, and its own days?")
        most = quantity(values[1] + reach[1], kind.spec("rate"))
        raise FitError(
            f"There is no decay in the data that rises above their error; a rate of up to {most.magnitude:.2g}"
            f"{_unit(most)} would go unnoticed. Wait longer, or measure more precisely."
        )
    if len(kind.names) == 4 and not (reach[1] < values[1] < 1 - reach[1] and values[2] > values[3] > -reach[3]):
        raise FitError(
            f"The data do not hold a fast and a slow decay: its fast share is {values[1]:.0%} ± {reach[1]:.0%}. "
            "Try 'first order'."
        )
    return found


def fit_self_discharge(log, model="first order"):
    """Least-squares fit of a decay model to a log at one temperature: a :class:`SelfDischargeFit`.

    Valid while the mechanism stays what it was and the errors of the measurements are independent. A FitError says
    where the capacity does not fall, or the data do not hold the model.

    ``log``: of several temperatures choose one by ``log.at(...)`` or use :func:`fit_arrhenius`. ``model``: one of
    ``DECAY_MODELS``.

    >>> from cellkit.units import Q_
    >>> from cellkit.logs.shelf_log import read_shelf_log
    >>> copper = fit_self_discharge(read_shelf_log("self_discharge_copper.csv").at(Q_(25, "degC")))
    >>> f"{copper.value('rate'):.2f~P}"
    '1.22 %/d'
    """
    expect("log", log, ShelfLog, EXAMPLE)
    if np.ptp(log.temperature) > 0.02:
        raise InputError(f"The log holds {log.places}; choose one by log.at(...) or fit all by fit_arrhenius(log).")
    kind = model_named(model)
    return SelfDischargeFit(log, kind, _fitted(log, kind, kind.curve, kind.names, kind.start(log.time, log.capacity)))


@dataclass(frozen=True)
class ArrheniusFit:
    """A decay model fitted to all temperatures of a log at once; printed, it gives activation energy and factor."""

    log: ShelfLog
    model: DecayModel
    fit: Fit
    reference_temperature: float  # K, where the rate of the fit holds

    def activation_energy(self):
        """Activation energy with its profile-likelihood interval: a :class:`Estimate`."""
        return Estimate.of("J/mol -> kJ/mol", self.fit.values[-1], *self.fit.interval("activation energy"))

    def q10(self):
        """How many times faster at 5 °C above the middle of the log than at 5 °C below it: a :class:`Estimate`."""
        span = (1 / (self.reference_temperature - 5) - 1 / (self.reference_temperature + 5)) / GAS
        return Estimate.of("", *(np.exp(x.to("J/mol").magnitude * span) for x in self.activation_energy()))

    @cached_property
    def _draws(self):
        return self.fit.bootstrap()

    def parameters_at(self, kelvin):
        """Parameters of the decay model at a temperature [K], SI: of the fit, then of each draw, a row each."""
        *rows, energy = np.vstack([self.fit.values, self._draws]).T
        speed = np.exp(-energy * (1 / kelvin - 1 / self.reference_temperature) / GAS)
        first = self.model.first_rate
        return np.transpose([*rows[:first], *(rate * speed for rate in rows[first:])])

    def rate_at(self, temperature):
        """Rate at a temperature, with its bootstrap interval: a :class:`Estimate`."""
        rates = self.parameters_at(to_si("temperature", temperature, PLACE))[:, -1]
        return Estimate.of_draws(self.model.spec("rate"), rates)

    def extrapolates(self, temperature):
        """Whether a temperature lies outside those of the log."""
        asked = to_si("temperature", temperature, PLACE)
        return not self.log.temperature.min() - 0.02 <= asked <= self.log.temperature.max() + 0.02

    def __str__(self):
        energy, factor = self.activation_energy(), self.q10()
        fits = "agrees with" if factor.low.m <= 2 <= factor.high.m else "does not agree with"
        return (
            f"{self.log.cell}, {self.model.name} at {self.log.places}\n  activation energy: {energy}\n"
            f"  10 °C more multiplies the rate by {factor}; that {fits} doubling"
        )


def fit_arrhenius(log, model="first order"):
    """One fit to all temperatures: an :class:`ArrheniusFit`, rates as ``rate · exp(−E/R · (1/T − 1/T_middle))``.

    The starting capacity is shared, in ``"fast + slow"`` also E. Valid while one mechanism rules at all temperatures;
    two of them fix E but cannot test the law. Refused as in :func:`fit_self_discharge`.

    Source: Doubling every 10 °C, which the result is compared with, is common practice, no source.
    """
    expect("log", log, ShelfLog, EXAMPLE)
    kind, kelvin = model_named(model), log.temperature
    if len(log.temperatures) < 2:
        raise InputError(f"The log knows only {log.places}; store cells at two temperatures or more, 10 °C apart.")
    for place in log.temperatures:
        if not log.at(place).time.any():
            raise FitError(f"At {place:.3g~P} there are rows of day 0 only. Measure there later, or leave it out.")
    middle = 2 / (1 / kelvin.min() + 1 / kelvin.max())
    inverse = (1 / kelvin - 1 / middle) / GAS

    def curve(t, *parameters):
        *known, energy = parameters
        warmed = t * np.exp(-energy * inverse / kind.clock_power)  # warmth makes the time that a curve sees run faster
        y, slopes = kind.curve(warmed, *known)
        by_rates = (rate * slope for rate, slope in list(zip(known, slopes, strict=True))[kind.first_rate :])
        return y, (*slopes, -inverse * sum(by_rates))

    start = *kind.start(log.time, log.capacity), 50e3
    return ArrheniusFit(log, kind, _fitted(log, kind, curve, (*kind.names, "activation energy"), start), middle)


SEED = Constraint("", "0", low=0, whole=True, single=True)
ERROR = Constraint("C", 'Q_(10, "mAh")', low=0.0, single=True)
SHARE = Constraint("", 'Q_(1, "percent")', low=0.0, open_low=True, single=True)
RATE = Constraint("1/s", 'Q_(3, "percent/day")', low=0.0, open_low=True, single=True)
GOAL = 0.1  # half of the 95 % interval of a rate that is to be measured, over the rate


@dataclass(frozen=True)
class ModelComparison:
    """Models fitted to one log, best first, and why others could not be fitted; printed, it gives the verdict."""

    fits: tuple[SelfDischargeFit, ...]
    failures: dict

    @property
    def best(self):
        """The fit with the least AICc."""
        return self.fits[0]

    @property
    def delta_aicc(self):
        """How far each model's AICc lies above the best one's, by name."""
        best = self.best.fit.aicc
        return {f.model.name: 0.0 if f.fit.aicc == best else f.fit.aicc - best for f in self.fits}

    @property
    def plausible(self):
        """The models that the data cannot tell from the best: less than 2 behind (from memory: the usual rule)."""
        return [fitted for fitted in self.fits if self.delta_aicc[fitted.model.name] < 2]

    def __str__(self):
        rows = [f"{name:20} AICc + {gap:.1f}" for name, gap in self.delta_aicc.items()]
        rows += [f"{name:20} not fitted:\n  {why}" for name, why in self.failures.items()]
        names = [f"'{fitted.model.name}'" for fitted in self.plausible]
        gaps = [gap for gap in self.delta_aicc.values() if gap >= 2]
        if np.isinf(self.best.fit.aicc):
            rows.append(f"{self.best.fit.y.size} measurements are too few to rate a model.")
        if len(names) > 1:
            rows.append(f"The data cannot tell {' and '.join(names)} apart.")
        elif gaps:
            times = f"{np.exp(min(gaps) / 2):.0f}" if min(gaps) < 14 else "over 1,000"
            verdict = "clearly prefer" if min(gaps) > 7 else "lean towards"
            rows.append(f"The data {verdict} {names[0]}; the next one has {times} times less support.")
        if self.best.p_value < 0.01:
            rows.append("None of them follows the data within the measurement error.")
        return "\n".join(rows)


def compare_models(log):
    """All models fitted to one log and set in order by AICc, which charges a model for each parameter it uses.

    It ranks these models only; the truth may be none of them, so look at the residuals too. A FitError where none fits.

    Source: Hurvich & Tsai 1989, Biometrika 76, 297, for the small-sample correction (from memory).
    """
    fits, failures = [], {}
    for name in DECAY_MODELS:
        try:
            fits.append(fit_self_discharge(log, name))
        except FitError as error:
            failures[name] = str(error)
    if not fits:
        raise FitError("No model can be fitted. " + " ".join(dict.fromkeys(failures.values())))
    return ModelComparison(tuple(sorted(fits, key=lambda fitted: fitted.fit.aicc)), failures)


def compare_cells(one, other):
    """Ratio of two cells' rates with its interval, from pairs of bootstrap refits; it differs if 1 lies outside.

    Both are :class:`SelfDischargeFit` of one model: rates of different models are not the same kind of thing.
    """
    for role, fitted in (("one", one), ("other", other)):
        expect(role, fitted, SelfDischargeFit, f"cellkit.logs.fit_self_discharge({EXAMPLE})")
    if one.model is not other.model:
        raise InputError(f"'{one.model.name}' and '{other.model.name}' have rates of two kinds. Fit one model to both.")
    pairs = min(len(one.draws), len(other.draws))
    # shuffled, since both sets of draws come from the same seed
    second = np.random.default_rng(1).permutation(other.draws[:pairs, -1])
    ratios = one.draws[:pairs, -1] / second
    return Estimate.of_draws("", [one.fit.values[-1] / other.fit.values[-1], *ratios])


def simulate_shelf_log(model, time, error, seed=0, **parameters):
    """A log whose truth is known, at 25 °C: the model's curve at ``time`` plus normal noise of deviation ``error`` [C].

    ``parameters`` are ``capacity`` [C], ``rate`` [1/s] and what else the model has; the same seed gives the same noise.
    """
    kind, t, sd = model_named(model), np.ravel(to_si("time", time, TIME)), to_si("error", error, ERROR)
    if set(parameters) != set(kind.names):
        raise InputError(f"{model!r} takes {', '.join(kind.names)}; given: {', '.join(parameters) or 'none'}.")
    specs = {name: kind.spec(name, "mAh").split(" -> ") for name in kind.names}
    capacity, *rest = (
        to_si(name, parameters[name], non_negative(si.strip(), f'Q_(2, "{shown}")'))
        for name, (si, shown) in specs.items()
    )
    random = np.random.default_rng(int(to_si("seed", seed, SEED)))
    noisy = capacity * kind.left(t, *rest) + sd * random.standard_normal(t.size)
    return ShelfLog("simulated", t, noisy, np.full(t.size, 298.15))


def relative_half_width(time, error, rate):
    """Half of the 95 % interval to expect for a first-order rate, as a share of it, from measurements at ``time``.

    By least squares and Student's t; ``error`` is the standard error of one measurement as a share of the full
    capacity, ``rate`` a guess. Infinite where the measurements cannot settle both capacity and rate.
    """
    t, error, rate = np.ravel(to_si("time", time, TIME)), to_si("error", error, SHARE), to_si("rate", rate, RATE)
    half = expected_half_width(DECAY_MODELS["first order"].curve, t, (1.0, rate))
    return quantity(half * error / rate, " -> percent")


def plan_measurements(spans, error, rate):
    """How many measurements, spread evenly from 0 to each of ``spans``, pin a first-order rate to ± 10 %.

    A dict from the span in words to the number, None where 100 are not enough. The 10 % are half of the 95 % interval;
    the rest is as in :func:`relative_half_width`.

    >>> from cellkit.units import Q_
    >>> plan_measurements(Q_([10, 40], "day"), Q_(1, "percent"), Q_(3, "percent/day"))
    {'10 d': 9, '40 d': 4}
    """
    spans = quantity(np.ravel(to_si("spans", spans, TIME)), f"s -> {spans.units}")

    def enough(span, count):
        return relative_half_width(np.linspace(0, 1, count) * span, error, rate).m_as("") <= GOAL

    return {f"{span:.3g~P}": next((count for count in range(3, 101) if enough(span, count)), None) for span in spans}
