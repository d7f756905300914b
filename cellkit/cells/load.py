"""The voltage of one cell under a current, part by part; how long it runs a load; carbon beside a lead plate."""

from collections import namedtuple
from dataclasses import dataclass

import numpy as np

from cellkit.cells.block import Block
from cellkit.cells.cell import Cell
from cellkit.chemistry.properties import conductivity
from cellkit.chemistry.roots import root
from cellkit.chemistry.solution import Electrolyte
from cellkit.tables.published import FARADAY, GAS, in_si, table
from cellkit.units import InputError, expect, fraction, non_negative, one_of, only_where, positive, said_of, takes

BRUGGEMAN = 1.5  # power of the porosity by which pores slow a current in the liquid, from memory
STEPS = 64  # slices of depth, narrow towards both ends, where volts go with the logarithm of what is left
CASES = ("nominal", "best", "worst")
BLOCK = 'cellkit.cells.read_block("osier_yard_block.csv")'
AMPERE = positive("A", 'Q_(100, "mA")')


@dataclass(frozen=True)
class CurrentPath:
    """What the current of one cell has to pass, made by :func:`current_path`. SI floats or arrays that broadcast.

    ``area`` [m²] is all the faces of positives that look at a negative, ``negatives`` the number of those,
    ``aspect_ratio`` the long side of a plate over the short one, which carries the tab,
    ``values`` the rows of the table.
    """

    area: float
    negatives: float
    aspect_ratio: float
    values: dict

    def _resistances(self, negative, conductivity):
        """Separator, felt, polyethylene, mesh and wiring [Ω]; lead plates have only the first and the last."""
        v, wet = self.values, conductivity * self.area
        separator, felt = (v[part] / (wet * v[part + "_porosity"] ** BRUGGEMAN) for part in ("separator", "felt"))
        if negative == "lead":
            return separator, 0.0, 0.0, 0.0, v["wiring"]
        felt = (felt + v["felt"] / (v["felt_conductivity"] * self.area)) / 3
        mesh = v["mesh"] * self.aspect_ratio / 3 / self.negatives
        return separator, felt, v["polyethylene"] / self.area, mesh, v["wiring"]


def current_path(block, case="nominal", felt=None):
    """The :class:`CurrentPath` of one cell of a block, from a table of remembered and invented values.

    ``case`` is ``"nominal"``, or one end of the range of every value at once: ``"best"`` or ``"worst"``. ``felt``: its
    thickness [m] on one face, if measured. Source: ``data/reference/kinetics.csv``.
    """
    expect("block", block, Block, BLOCK)
    one_of("case", case, CASES)
    values = {row["name"]: in_si(row, case)[0] for row in table("kinetics")} | ({} if felt is None else {"felt": felt})
    sides = block.values["plate width"], block.values["plate height"]
    negatives = block.values["number of negative plates"] / block.cells
    return CurrentPath(block.faces * np.prod(sides), negatives, max(sides) / min(sides), values)


LoadVoltages = namedtuple(
    "LoadVoltages",
    "rest separator felt polyethylene mesh wiring positive_overpotential negative_overpotential terminal",
)
LoadVoltages.__doc__ = "At rest; what a current costs in five resistances and at the plates; what is left at the poles."


def _check(cell, path):
    expect("cell", cell, Cell, "block.lead_cell()")
    expect("path", path, CurrentPath, "cellkit.cells.current_path(block)")


def _state(cell, path, depth):
    """Rest voltage [V], resistances [Ω], and slope [V] and exchange current [A] of each plate, at a depth."""
    now = Cell.at_depth.si(cell, depth)
    acid, salt = Electrolyte.acid_molarity.si(now), Electrolyte.salt_molarity.si(now)
    resistances = path._resistances(cell.negative, conductivity.si(acid, salt, now.metal, now.temperature))
    slope = GAS * np.asarray(now.temperature) / (path.values["transfer_coefficient"] * FARADAY)
    exchange = (path.values[plate] * path.area for plate in ("lead_dioxide", cell.negative))
    return Cell.rest_voltage.si(cell, depth), resistances, [(slope, i0) for i0 in exchange]


def _volts(state, current):
    rest, resistances, plates = state
    lost = [current * r for r in resistances] + [b * np.arcsinh(current / (2 * i0)) for b, i0 in plates]
    return LoadVoltages(rest, *lost, rest - sum(lost))


@takes(returns=dict.fromkeys(LoadVoltages._fields, "V"), current=non_negative("A", AMPERE.example), depth=fraction())
def voltage_under_load(cell, path, current, depth=0.5):
    """Terminal voltage of a cell, part by part: rest - I Σ R - (R T / α F) Σ asinh(I / 2 I0), as :class:`LoadVoltages`.

    Separator: d / (κ ε^1.5 A). Felt with its reaction spread evenly: a third of its thickness, in the liquid and in
    the fibres. Mesh fed evenly and drained at one edge: a third of its squares. The composition of the cell at
    ``depth`` sets the conductivity κ. True in a pulse, or before the pores run down: acid starving in the positive is
    left out, and so is the lead grid, which conducts so well. A current that leaves no volts is refused.
    Source: Bruggeman, Butler–Volmer with one transfer coefficient, evenly loaded porous electrode: from memory.

    >>> block = ck.cells.read_block("osier_yard_block.csv")
    >>> f"{voltage_under_load(block.lead_cell(), current_path(block), Q_(1, 'A')).terminal:.2f~P}"
    '1.98 V'
    """
    _check(cell, path)
    with said_of(f"at a depth of {np.min(depth):.3g}, "):
        state = _state(cell, path, depth)
    found = LoadVoltages(*np.broadcast_arrays(*_volts(state, np.asarray(current))))
    driven = np.isfinite(found.terminal) & (found.terminal > 0)
    why = f"the cell cannot drive {np.max(current):.4g} A at a depth of {np.max(depth):.3g}; no voltage is left. "
    why += "Try a smaller current, or a depth that is not at either end."
    return found._replace(terminal=only_where(driven, found.terminal, lambda: why))


Run = namedtuple("Run", "time charge energy mean_voltage depth")
Run.__doc__ = "What a load got: for how long, how much, at which mean voltage, and how deep the cell then was."


def _drawn(state, power, resistance):
    """Current [A] at which the cell meets a power or a resistor; NaN if it never does.

    Newton from below: I V(I) is concave and V(I) convex, so no step goes past the first root.
    """
    rest, resistances, plates = state
    current = power / rest if resistance is None else 0.0 * rest
    for _ in range(60):
        now = _volts(state, current).terminal
        steep = sum(resistances) + sum(b / np.hypot(current, 2 * i0) for b, i0 in plates)
        if resistance is None:
            gap, rise, scale = power - current * now, now - current * steep, power
        else:
            gap, rise, scale = now - current * resistance, steep + resistance, rest
        if not np.any(np.abs(gap) > 1e-9 * scale):
            break
        current = current + np.divide(gap, rise, out=np.full(np.shape(gap), np.nan), where=rise > 0)
    return np.where(np.abs(gap) <= 1e-9 * scale, current, np.nan)


def _depth_at(end, along, nodes):
    """Depth where volts ``along`` ``nodes`` first falls to ``end``: 1 if it never does, NaN if it starts below.

    Between two nodes volts fall with x, or with u = log(x / (1 - x)) where a reagent is nearly gone; the third node
    tells how much of the fall is which.
    """
    low, stretched = ~(along >= end), np.log(nodes / (1 - nodes))
    below = np.maximum(np.argmax(low, axis=0), 1)
    three = below - 1, below, np.where(below > 1, below - 2, 2)
    (x0, x1, x2), (u0, u1, u2) = ([marks[k] for k in three] for marks in (nodes, stretched))
    v0, v1, v2 = (np.take_along_axis(along, k[None], axis=0)[0] for k in three)
    by_x, by_u = (x2 - x0) / (x1 - x0), (u2 - u0) / (u1 - u0)
    with np.errstate(invalid="ignore", divide="ignore"):  # volts that do not fall, or are none
        part = np.clip(np.nan_to_num(((v2 - v0) / (v1 - v0) - by_x) / (by_u - by_x), nan=1.0), 0, 1)
        wanted = np.clip(np.nan_to_num((v0 - end) / (v0 - v1)), 0, 1)

    def above(u):
        x = 1 / (1 + np.exp(-u))
        return wanted - (1 - part) * (x - x0) / (x1 - x0) - part * (u - u0) / (u1 - u0)

    x = 1 / (1 + np.exp(-root(above, (u0 + u1) / 2, -1 / (u1 - u0), u0, u1, close=1e-12)))
    return np.where(low[0], np.nan, np.where(low.any(axis=0), x, 1.0))


@takes(
    returns={"time": "s -> hour", "charge": "C -> Ah", "energy": "J -> Wh", "mean_voltage": "V", "depth": ""},
    end=positive("V", 'Q_(1.1, "V")'),
    current=AMPERE,
    power=positive("W", 'Q_(0.1, "W")'),
    resistance=positive("ohm", 'Q_(10, "ohm")'),
    pulse=AMPERE,
    duty_cycle=fraction("0.05"),
)
def run_load(cell, path, end, current=None, power=None, resistance=None, pulse=None, duty_cycle=0.0):
    """How long a full cell runs one load until it is down to ``end``: t = Q ∫ dx / I(x), W = Q ∫ V(x) dx over depth x.

    One of ``current``, ``power``, ``resistance``, for this cell: of three in series each has a third of a power or a
    resistance. ``pulse`` is drawn instead of ``current`` for a ``duty_cycle`` of the time; ``end`` is met in the pulse.
    The charge is that of a slow discharge, cut off at ``end``; a fast one gets less. No self-discharge. A load that a
    full cell cannot carry is refused. Source: balance of charge and energy.

    >>> block = ck.cells.read_block("osier_yard_block.csv")
    >>> f"{run_load(block.lead_cell(), current_path(block), Q_(1.75, 'V'), current=Q_(155, 'mA')).time:.0f~P}"
    '20 h'
    """
    _check(cell, path)
    loads = {"current": current, "power": power, "resistance": resistance, "pulse": pulse}
    given = [name for name, load in loads.items() if load is not None]
    if given not in (["current"], ["power"], ["resistance"], ["current", "pulse"]):
        known = 'allowed is one of current, power, resistance; pulse goes with current. Try current=Q_(50, "mA").'
        raise InputError(f"{' and '.join(given) or 'no load'} given; {known}")
    charge = Cell.capacity.si(cell)
    own = np.broadcast_shapes(np.shape(charge), np.shape(cell.electrolyte.temperature))
    sizes = (end, *loads.values(), duty_cycle, path.area, *path.values.values())
    shape = np.broadcast_shapes(own, *map(np.shape, sizes))
    even = np.linspace(0, 1, 2 * STEPS + 1)
    marks = even**4 * (35 - 84 * even + 70 * even**2 - 20 * even**3)  # smooth and flat at both ends
    nodes, edges = marks[1::2], marks[::2].reshape(-1, *[1] * len(shape))
    state = _state(cell, path, nodes.reshape(-1, *[1] * (len(shape) - len(own))))
    if current is None:
        phases = [(_drawn(state, power, resistance), 1.0)]
    else:
        share, pulse = np.asarray(duty_cycle), current if pulse is None else pulse
        phases = [  # what is never drawn ends nothing
            (np.where(share < 1, current, pulse), 1 - share),
            (np.where(share > 0, pulse, current), share),
        ]
    seen = [(_volts(state, amperes).terminal, amperes * part) for amperes, part in phases]
    drawn, watts = sum(amperes for _, amperes in seen), sum(v * amperes for v, amperes in seen)
    least = np.broadcast_to(np.minimum.reduce(np.broadcast_arrays(*(v for v, _ in seen))), (STEPS, *shape))
    depth = _depth_at(np.asarray(end), least, nodes)
    width = np.clip(depth - edges[:-1], 0, np.diff(edges, axis=0))
    time, energy = (charge * np.sum(np.where(width > 0, width * y, width), axis=0) for y in (1 / drawn, watts / drawn))
    why = f"a full cell cannot carry this load above {np.max(end):.3g} V. Try a smaller load or a lower end voltage."
    time = only_where(~np.isnan(time), time, lambda: why)
    return Run(time, charge * depth, energy, energy / (charge * depth), depth)


OHM = positive("ohm", 'Q_(10, "mohm")')


class CarbonWrap(namedtuple("CarbonWrap", "mass capacitance resistance")):
    """All the carbon of one cell: its mass, its capacitance, and the resistance on the way from it to the lead."""


@takes(
    returns={"mass": "kg -> g", "capacitance": "F", "resistance": "ohm -> mohm"},
    carbon=positive("kg/m^2", 'Q_(20, "mg/cm^2")'),
)
def carbon_wrap(path, carbon):
    """Activated carbon on every face of the negatives, as :class:`CarbonWrap`: m = m' A, C = c m, R = r / A.

    ``carbon`` is dry carbon per area of face. Source: ``data/reference/kinetics.csv``.

    >>> cell = current_path(ck.cells.read_block("osier_yard_block.csv"))
    >>> f"{carbon_wrap(cell, Q_(20, 'mg/cm^2')).capacitance:.0f~P}"
    '179 F'
    """
    expect("path", path, CurrentPath, "cellkit.cells.current_path(block)")
    mass = np.asarray(carbon) * path.area
    return CarbonWrap(mass, path.values["carbon_capacitance"] * mass, path.values["carbon_resistance"] / path.area)


class CarbonPulse(namedtuple("CarbonPulse", "share resistance")):
    """Share of a current step that the carbon carries, and the resistance of plate and carbon together."""


@takes(
    returns={"share": "", "resistance": "ohm -> mohm"},
    time=non_negative("s", 'Q_(2, "s")'),
    plate=OHM,
    capacitance=positive("F", 'Q_(200, "F")'),
    resistance=OHM,
)
def carbon_pulse(time, plate, capacitance, resistance):
    """A time after a current step: share s = Rp / (Rp + Rc) exp(-t / τ), τ = C (Rp + Rc); resistance Rp (1 - s).

    ``plate`` is Rp, of the lead plate alone: its overpotential divided by the current; ``capacitance`` C and
    ``resistance`` Rc are of the :class:`CarbonWrap`. With the plate as a plain resistance; at large currents it bends,
    and the carbon carries less. Source: Kirchhoff's laws for a resistance beside a resistance and a capacitor.

    >>> f"{carbon_pulse(Q_(2, 's'), Q_(30, 'mohm'), Q_(180, 'F'), Q_(3, 'mohm')).share:.2f~P}"
    '0.65'
    """
    both = np.asarray(plate) + resistance
    share = plate / both * np.exp(-np.asarray(time) / (np.asarray(capacitance) * both))
    return CarbonPulse(share, plate * (1 - share))
