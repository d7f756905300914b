"""How a cell loses charge on the shelf: read a log, fit decays, compare models, cells and temperatures, plan, warn."""

from collections import namedtuple
from dataclasses import dataclass

import numpy as np

from cellkit.decay import MODELS, model_named, spec_of
from cellkit.fade import LEVEL, TIME, Band, Fade, ShelfTime, fit, tails
from cellkit.fitting import FitError, evaluate
from cellkit.gas import gas_volume
from cellkit.reference import FARADAY, molar_mass
from cellkit.shelf_log import EXAMPLE, Log, charge_from_voltage, read
from cellkit.units import TEMPERATURE, InputError, Kind, expect, not_negative, positive, quantity, takes, to_si
from cellkit.warmth import Warmth, arrhenius

__all__ = ["MODELS", "Fade", "FitError", "Log", "ShelfTime", "Warmth"]
__all__ += ["arrhenius", "charge_from_voltage", "fit", "read"]  # and what follows
SEED, MOST = (Kind("", example, low, whole=True, single=True) for example, low in (("0", 0), ("100", 3)))
ERROR = Kind("C", 'Q_(10, "mAh")', low=0.0, single=True)
GOAL, SHARE = (Kind("", text, low=0.0, open_low=True, single=True) for text in ("0.1", 'Q_(1, "percent")'))
Corrosion = namedtuple("Corrosion", "current hydrogen_per_day zinc_per_day")


@dataclass(frozen=True)
class Comparison:
    """Models fitted to one log, best first, and why others could not be fitted; printed, it gives the verdict."""

    fades: tuple[Fade, ...]
    failures: dict

    @property
    def best(self):
        """The fit with the least AICc."""
        return self.fades[0]

    @property
    def behind(self):
        """How far each model's AICc lies above the best one's, by name."""
        return {fade.model.name: fade.fit.aicc - self.best.fit.aicc for fade in self.fades}

    @property
    def plausible(self):
        """The models that the data cannot tell from the best: less than 2 behind (from memory: the usual rule)."""
        return [fade for fade in self.fades if self.behind[fade.model.name] < 2]

    def __str__(self):
        rows = [f"{name:20} AICc + {gap:.1f}" for name, gap in self.behind.items()]
        rows += [f"{name:20} not fitted: {why}" for name, why in self.failures.items()]
        names = [f"'{fade.model.name}'" for fade in self.plausible]
        gaps = [gap for gap in self.behind.values() if gap >= 2]
        if len(names) > 1:
            rows.append(f"The data cannot tell {' and '.join(names)} apart.")
        elif gaps:
            times = f"{np.exp(min(gaps) / 2):.0f}" if min(gaps) < 14 else "over 1,000"
            verdict = "clearly prefer" if min(gaps) > 7 else "lean towards"
            rows.append(f"The data {verdict} {names[0]}; the next one has {times} times less support.")
        if self.best.misfit < 0.01:
            rows.append("None of them follows the data within the measurement error.")
        return "\n".join(rows)


def compare(log, models=tuple(MODELS)):
    """All models fitted to one log and set in order by AICc, which charges a model for each parameter it uses.

    Parameters
    ----------
    log : Log
        At one temperature.
    models : sequence of str
        Names as :func:`fit` takes them.

    Returns
    -------
    Comparison
        It ranks these models only; the truth may be none of them, so look at the residuals too.

    Raises
    ------
    FitError
        If no model can be fitted.

    References
    ----------
    Hurvich & Tsai 1989, Biometrika 76, 297, for the small-sample correction (from memory).
    """
    if not isinstance(models, tuple | list):
        raise InputError("models has to be a list. Try models=['first order', 'fast + slow'].")
    fades, failures = [], {}
    for name in models:
        try:
            fade = fit(log, name)
            fades.append((fade.fit.aicc, name, fade))
        except FitError as error:
            failures[name] = str(error)
    if not fades:
        raise FitError("No model can be fitted. " + " ".join(dict.fromkeys(failures.values())))
    return Comparison(tuple(fade for *_, fade in sorted(fades)), failures)


def compare_cells(one, other, level=0.95):
    """Ratio of two cells' rates with its interval, from pairs of bootstrap refits; it differs if 1 lies outside.

    Parameters
    ----------
    one, other : Fade
        The same model, fitted to each.

    Returns
    -------
    Band [-]
        Rate of ``one`` over rate of ``other``.

    Raises
    ------
    InputError
        If the models differ: their rates are not the same kind of thing.
    """
    for role, fade in (("one", one), ("other", other)):
        expect(role, fade, Fade, f"cellkit.self_discharge.fit({EXAMPLE})")
    if one.model is not other.model:
        raise InputError(
            f"'{one.model.name}' and '{other.model.name}' have rates of different kinds. Fit one model to both."
        )
    pairs = min(len(one.draws), len(other.draws))
    # shuffled, since both sets of draws come from the same seed
    second = np.random.default_rng(1).permutation(other.draws[:pairs, -1])
    low, high = np.quantile(one.draws[:pairs, -1] / second, tails(level))
    return Band.of("", one.fit.values[-1] / other.fit.values[-1], low, high)


def log_line(log):
    """The trap: first-order rate from a straight line through the logarithms, every point counted alike.

    Taking logarithms stretches the error of the small capacities; a capacity that noise made zero or less has no
    logarithm and drops out, which bends the rest. Returned for comparison with :func:`fit`: a rate [1/s].
    """
    above = expect("log", log, Log, EXAMPLE).capacity > 0
    return quantity(-np.polyfit(log.time[above], np.log(log.capacity[above]), 1)[0], "1/s -> percent/day")


def _given(model, parameters, unit="percent"):
    """SI values of a model's parameters by name, in the order of its curve."""
    if set(parameters) != set(model.names):
        raise InputError(f"'{model.name}' takes {', '.join(model.names)}; given: {', '.join(parameters) or 'none'}.")
    specs = [spec_of(model, name, unit).split(" -> ") for name in model.names]
    kinds = [Kind(si.strip(), f'Q_(2, "{shown}")', low=0.0) for si, shown in specs]
    return [to_si(name, parameters[name], kind) for name, kind in zip(model.names, kinds, strict=True)]


def simulate(model, time, error, seed=0, **parameters):
    """A log whose truth is known: the model's curve at ``time`` plus normal noise of standard deviation ``error``.

    Parameters
    ----------
    model : str
        As in :func:`fit`.
    time : Quantity [s]
        One entry per measurement.
    error : Quantity [C]
        Standard error of a measurement.
    seed : int
        The same seed gives the same noise.
    **parameters : Quantity
        ``capacity`` [C], ``rate`` [1/s] and what else the model has.

    Returns
    -------
    Log
        Marked as simulated, at 25 °C.
    """
    kind, t = model_named(model), to_si("time", time, TIME)
    values, sd = _given(kind, parameters, "mAh"), to_si("error", error, ERROR)
    random = np.random.default_rng(int(to_si("seed", seed, SEED)))
    noisy = kind.curve(t, *values)[0] + sd * random.standard_normal(t.size)
    return Log("simulated", t, noisy, np.full(t.size, 298.15))


def half_width(model, time, error, level=0.95, **parameters):
    """Half of the interval to expect for the rate, as a share of the rate, from measurements at ``time``.

    ``t(n − p) · error · √[(JᵀJ)⁻¹] / rate`` with the derivatives J of a curve that starts at 1.

    Parameters
    ----------
    model : str
        As in :func:`fit`.
    time : Quantity [s]
        When measurements are taken; one entry each.
    error : Quantity [-]
        Standard error of one, as a share of the full capacity.
    **parameters : Quantity
        A guess of the parameters other than the capacity.

    Returns
    -------
    Quantity [-]
        Infinite where the measurements cannot settle the parameters.
    """
    from scipy.special import stdtrit

    kind, t = model_named(model), to_si("time", time, TIME)
    values = _given(kind, {"capacity": 1.0, **parameters})
    slopes = evaluate(kind.curve, t, values)[1] * values
    free, level = t.size - len(values), to_si("level", level, LEVEL)
    if free < 1 or np.linalg.matrix_rank(slopes) < len(values):
        return quantity(np.inf, " -> percent")
    covariance = np.linalg.inv(slopes.T @ slopes)
    error = to_si("error", error, SHARE)
    return quantity(stdtrit(free, (1 + level) / 2) * error * np.sqrt(covariance[-1, -1]), " -> percent")


def plan(model, spans, error, goal=0.1, most=100, **parameters):
    """How many measurements, spread evenly from 0 to each of ``spans``, pin the rate to ± ``goal``.

    Parameters
    ----------
    model, error, **parameters
        As in :func:`half_width`.
    spans : Quantity [s]
        Days on the shelf that could be waited.
    goal : float or Quantity [-]
        Half of the 95 % interval as a share of the rate.

    Returns
    -------
    dict
        From the span in words to the number of measurements, None where ``most`` are not enough.

    Examples
    --------
    >>> from cellkit.units import Q_
    >>> plan("first order", Q_([10, 40], "day"), Q_(1, "percent"), rate=Q_(3, "percent/day"))
    {'10 d': 9, '40 d': 4}
    """
    goal, most = to_si("goal", goal, GOAL), int(to_si("most", most, MOST))
    spans = quantity(to_si("spans", spans, TIME), f"s -> {spans.units}")

    def enough(span, count):
        return half_width(model, np.linspace(0, 1, count) * span, error, **parameters).to("").magnitude <= goal

    return {
        f"{span:.3g~P}": next((count for count in range(3, most + 1) if enough(span, count)), None)
        for span in np.atleast_1d(spans)
    }


@takes(
    returns=Corrosion("A -> uA", "m^3/s -> cm^3/day", "kg/s -> mg/day")._asdict(),
    capacity=positive("C", 'Q_(1, "Ah")'),
    rate=not_negative("1/s", 'Q_(3, "percent/day")'),
    temperature=TEMPERATURE,
    cells=Kind("", "3", low=1),
)
def corrosion(capacity, rate, temperature, cells=1):
    """Hydrogen and zinc of a self-discharge that is all corrosion, Zn + 2 H⁺ → Zn²⁺ + H2, two electrons each.

    ``I = rate · capacity``; hydrogen as :func:`cellkit.gas.gas_volume` has it; zinc ``I/2F · M``.

    Parameters
    ----------
    capacity : Quantity [C]
        Charge in one cell.
    rate : Quantity [1/s]
        Share of it lost per time, at the start.
    temperature : Quantity [K]
        Of the gas.
    cells : int
        Cells in the box; current stays that of one cell.

    Returns
    -------
    Corrosion
        ``current`` [A], ``hydrogen_per_day`` [m³/s], ``zinc_per_day`` [kg/s], the last two for all cells. An upper
        bound: charge that the positive plate loses makes no hydrogen. Gas during charging is not in it.

    Raises
    ------
    InputError
        For a negative rate or a capacity of zero.

    Examples
    --------
    >>> from cellkit.units import Q_
    >>> lost = corrosion(Q_(1, "Ah"), Q_(3, "percent/day"), Q_(25, "degC"))
    >>> f"{lost.hydrogen_per_day:.1f~P}, {lost.zinc_per_day:.0f~P}"
    '13.7 cm³/d, 37 mg/d'

    References
    ----------
    Faraday's law and the ideal gas, as :func:`cellkit.gas.gas_volume`.
    """
    current = rate * capacity
    zinc = cells * current / (2 * FARADAY) * molar_mass.si("Zn")
    return Corrosion(current, gas_volume.si(cells * current, "hydrogen", temperature), zinc)
