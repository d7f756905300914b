"""The pilot: flat and felt samples plated, rested and weighed; what the acid takes from them, with its interval."""

from dataclasses import dataclass

import numpy as np

from cellkit.cells.plates import solid_density
from cellkit.chemistry.properties import CONCENTRATION
from cellkit.chemistry.side_reactions import exchange_current_density
from cellkit.chemistry.solution import from_molarity
from cellkit.logs.fitting import expected_half_width, fit_curve
from cellkit.logs.self_discharge import Estimate
from cellkit.tables.lists import read_items
from cellkit.tables.metals import METALS, metal_named
from cellkit.tables.published import FARADAY, molar_mass
from cellkit.units import TEMPERATURE, InputError, aloud, one_of, positive, quantity, takes

FORMS, LEVELS, WEIGHINGS = ("flat", "felt"), ("low", "high"), ("bare", "plated", "first rest", "second rest")
GOAL = 0.3  # half of the interval of a loss that a pilot is to find, over the loss
WATER = 998.0  # kg/m³, near 20 °C
RESTS = (3600.0, 43200.0)  # s: the plan, 1 h and 12 h
MASS, TIME = positive("kg", "3.215,g"), positive("s", "1,hour")
AREA, CURRENT = positive("m^2", "10,cm^2"), positive("A", "0.2,A")
LOSSES = ("loss while plating", "loss at rest")
UNKNOWNS = ("bare low", "bare high", *LOSSES)
ITEMS = {
    "metal": lambda text: one_of("metal", text.lower(), METALS),
    "weighed in": lambda text: one_of("weighed in", text.lower(), ("water", "air")),
    "scale shows": MASS,
    **dict.fromkeys(("acid", "salt"), CONCENTRATION),
    "temperature": TEMPERATURE,
    **dict.fromkeys([f"{level} current" for level in LEVELS], CURRENT),
    **dict.fromkeys([f"charging time at {level} current" for level in LEVELS], TIME),
    **dict.fromkeys(WEIGHINGS[2:], TIME),
    **dict.fromkeys([f"{form} area" for form in FORMS], AREA),
    **{f"{form}, {level} current, {when}": MASS for form in FORMS for level in LEVELS for when in WEIGHINGS},
}


def _per_charge(metal, medium):
    """What a scale shows more for each coulomb of metal: M/2F, times 1 - ρ(water)/ρ for a sample hung in water."""
    symbol = metal_named(metal).symbol
    return molar_mass.si(symbol) / (2 * FARADAY) * (1 - WATER / solid_density(symbol) if medium == "water" else 1.0)


def _plan(area, currents, charging, rests):
    """Rows of the eight weighings: of the high current, area, current, charging time, resting time."""
    return np.array(
        [
            (high, area, plated * currents[high], plated * charging[high], rest)
            for high in (0, 1)
            for plated, rest in zip((0, 1, 1, 1), (0, 0, *rests), strict=True)
        ],
        float,
    ).T


def _reading(per_charge, plan):
    """The curve of the eight weighings: bare + M/2F [(I - i_p A) t - i_r A t_r], never less than bare."""
    high, area, current, charging, resting = plan

    def curve(_, bare_low, bare_high, plating, rest):
        plated = (current - plating * area) * charging
        left = np.maximum(plated, 0.0) - rest * area * resting
        there = left > 0
        mass = np.where(high, bare_high, bare_low) + per_charge * np.where(there, left, 0.0)
        by_loss = (-per_charge * area * t * there for t in (charging * (plated > 0), resting))
        return mass, (1.0 - high, high, *by_loss)

    return curve


@dataclass(frozen=True)
class Pilot:
    """A filled-in list of one pilot in SI floats; made by :func:`read_pilot`."""

    values: dict

    def fit(self, form):
        """Least squares of the eight weighings of ``"flat"`` or ``"felt"``: bare masses, losses per face [A/m²]."""
        v, form = self.values, one_of("form", form, FORMS)
        y = np.array([[v[f"{form}, {level} current, {when}"] for when in WEIGHINGS] for level in LEVELS])
        per_charge = _per_charge(v["metal"], v["weighed in"])
        gain = (y[1] - y[1, 0]) / per_charge / v[f"{form} area"]
        if not min(gain[1], gain[2]) > 0:
            bare, plated, rested = (f"{quantity(mass, 'kg -> g'):.4g~P}" for mass in y[1, :3])
            raise InputError(
                f"the {form} sample of the high current has to hold metal when plated and after the first rest; bare "
                f"{bare}, plated {plated}, rested {rested}. Plate more, weigh it sooner, or take a finer scale."
            )
        late = 3 if gain[3] > 0.1 * gain[1] else 2
        start = (
            v["high current"] / v[f"{form} area"] - gain[1] / v["charging time at high current"],
            (gain[1] - gain[late]) / v[WEIGHINGS[late]],
        )
        currents, charging = ([v[f"{what}{level} current"] for level in LEVELS] for what in ("", "charging time at "))
        plan = _plan(v[f"{form} area"], currents, charging, [v[when] for when in WEIGHINGS[2:]])
        curve, error = _reading(per_charge, plan), v["scale shows"] / np.sqrt(12)
        return fit_curve(curve, np.arange(8.0), y.ravel(), (*y[:, 0], *start), error, 8 - len(UNKNOWNS), UNKNOWNS)

    def loss(self, form, name="loss at rest"):
        """One of ``LOSSES`` per face of ``"flat"`` or ``"felt"`` with its interval, an :class:`Estimate`."""
        return Estimate.of("A/m^2 -> mA/cm^2", *self._interval(form, name))

    def exchange_current_density(self, form="flat"):
        """Exchange current density of hydrogen per face with its interval, an :class:`Estimate`."""
        v, losses = self.values, self._interval(form, "loss at rest")
        with aloud():
            fill = from_molarity.si(1e-3, v["acid"], v["salt"], v["metal"], v["temperature"])
            solution = *fill.molalities, v["temperature"]
            found = (exchange_current_density.si(loss, v["metal"], *solution) for loss in losses)
            return Estimate.of("A/m^2 -> pA/cm^2", *found)

    def _interval(self, form, name):
        at = UNKNOWNS.index(one_of("name", name, LOSSES))
        found = self.fit(form)
        # what the scatter says, but never less than the last digit of the scale
        half = found.coverage_factor * found.standard_errors[at] * max(1.0, np.sqrt(found.rss / found.dof))
        return found.values[at], max(found.values[at] - half, 0.0), found.values[at] + half


def read_pilot(name):
    """A :class:`Pilot` from a filled-in ``pilot_template.csv``; refused by row as :func:`cellkit.cells.read_block`.

    >>> print(read_pilot("osier_yard_pilot.csv").loss("felt"))
    4.43 mA/cm² (95 %: 4.22 to 4.64)
    """
    found, where = read_items(name, ITEMS)
    values = {item: x if isinstance(x, str) else float(x.to_base_units().magnitude) for item, x in found.items()}
    if not values["first rest"] < values["second rest"]:
        first, second = (f"{found[item]:.3g~P}" for item in ("first rest", "second rest"))
        raise InputError(f"{where}: second rest is {second} from the end of charging; it has to be more than {first}.")
    return Pilot(values)


@takes(returns="m^2 -> cm^2", resolution=positive("kg", 'Q_(1, "mg")'), loss=positive("A/m^2", 'Q_(0.5, "mA/cm^2")'))
def pilot_area(resolution, loss):
    """Face of zinc that pins the loss at rest to ± 30 % of it: A = t s √[(JᵀJ)⁻¹] / (0.3 i), s = resolution / √12.

    ``resolution``: last digit of the scale; ``loss``: a guess of i at rest, per face; 30 % of it are half of the 95 %
    interval. Of each of two samples, hung in water and weighed bare, plated, after 1 h and after 12 h.
    Source: least squares with Student's t; a rounded reading is off by resolution / √12.

    >>> from cellkit import Q_
    >>> [f"{pilot_area(Q_(digit, 'g'), Q_(0.5, 'mA/cm^2')):.1f~P}" for digit in (1, 0.01, 0.001)]
    ['382.5 cm²', '3.8 cm²', '0.4 cm²']
    """
    curve = _reading(_per_charge("zinc", "water"), _plan(1.0, (1.0, 1.0), (3600.0, 3600.0), RESTS))
    half = expected_half_width(curve, np.arange(8.0), np.zeros(4))
    return half * np.asarray(resolution) / np.sqrt(12) / (np.asarray(loss) * GOAL)
