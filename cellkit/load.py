"""The voltage of one cell under a current, part by part, and how long it runs a load."""

from collections import namedtuple
from dataclasses import dataclass

import numpy as np

from cellkit.cell import Cell
from cellkit.conductivity import conductivity
from cellkit.reference import FARADAY, GAS, table
from cellkit.solution import Electrolyte
from cellkit.teardown import Block
from cellkit.units import Q_, InputError, expect, fraction, not_negative, one_of, positive, takes

BRUGGEMAN = 1.5  # power of the porosity by which pores slow a current in the liquid, from memory
STEPS = 64  # slices of depth, narrow towards both ends
CASES = ("middle", "good", "poor")
BLOCK = 'cellkit.teardown.read("otter_lane_block.csv")'
AMPERE = positive("A", 'Q_(100, "mA")')


@dataclass(frozen=True)
class Stack:
    """What the current of one cell has to pass, made by :func:`stack`. SI floats or arrays that broadcast.

    ``area`` [m²] is all the faces of positives that look at a negative, ``negatives`` the number of those, ``tall`` the
    height of a plate over its width, with the tab on the short side, ``values`` the rows of the table.
    """

    area: float
    negatives: float
    tall: float
    values: dict

    def _resistances(self, negative, conductivity):
        """Separator, felt, polyethylene, mesh and leads [Ω]; lead plates have only the first and the last."""
        v, wet = self.values, conductivity * self.area
        separator, felt = (v[part] / (wet * v[part + "_porosity"] ** BRUGGEMAN) for part in ("separator", "felt"))
        if negative == "lead":
            return separator, 0.0, 0.0, 0.0, v["leads"]
        felt = (felt + v["felt"] / (v["felt_conductivity"] * self.area)) / 3
        return separator, felt, v["polyethylene"] / self.area, v["mesh"] * self.tall / 3 / self.negatives, v["leads"]


@takes(
    separator=positive("m", 'Q_(1, "mm")'),
    felt=positive("m", 'Q_(1.5, "mm")'),
    polyethylene=not_negative("ohm*m^2", 'Q_(2, "ohm*cm^2")'),
    mesh=not_negative("ohm", 'Q_(0.06, "ohm")'),
    leads=not_negative("ohm", 'Q_(5, "mohm")'),
)
def stack(block, case="middle", separator=None, felt=None, polyethylene=None, mesh=None, leads=None):
    """The :class:`Stack` of one cell of a block; what you have not measured comes from a table.

    Parameters
    ----------
    block : Block
    case : str
        ``"middle"``, or one end of the spread for every value at once: ``"good"`` or ``"poor"``.
    separator, felt : Quantity [m]
        Thickness of one separator; of the felt on one face.
    polyethylene, mesh, leads : Quantity [Ω m²], [Ω], [Ω]
        Resistance × area of one face with its contacts; a square, edge to edge; tabs, joints, terminals of one cell.

    Returns
    -------
    Stack
        Remembered or invented where you give nothing.

    Raises
    ------
    InputError
        For another case or a value out of range.

    Examples
    --------
    >>> from cellkit.teardown import read
    >>> f"{Q_(stack(read('otter_lane_block.csv')).area, 'm^2').to('cm^2'):.0f~P} of faces in each cell"
    '149 cm² of faces in each cell'

    References
    ----------
    ``data/reference/kinetics.csv``.
    """
    expect("block", block, Block, BLOCK)
    one_of("case", case, CASES)
    values = {row["name"]: Q_(row[case], str(row["unit"])).to_base_units().magnitude for row in table("kinetics")}
    known = {"separator": separator, "felt": felt, "polyethylene": polyethylene, "mesh": mesh, "leads": leads}
    values |= {name: value for name, value in known.items() if value is not None}
    np.broadcast_arrays(*values.values())
    width, height = block.values["plate width"], block.values["plate height"]
    positives, negatives = (block.values[f"number of {sign} plates"] / block.cells for sign in ("positive", "negative"))
    return Stack(2 * positives * width * height, negatives, height / width, values)


Volts = namedtuple("Volts", "rest separator felt polyethylene mesh leads positive negative poles")
Volts.__doc__ = "At rest; what a current costs in five resistances and at the two plates; what is left at the poles."


def _check(cell, stack):
    expect("cell", cell, Cell, "block.lead_cell()")
    expect("stack", stack, Stack, "cellkit.load.stack(block)")


def _path(cell, stack, depth):
    """Rest voltage [V], resistances [Ω], and slope [V] and exchange current [A] of each plate, at a depth."""
    now = Cell.at_depth.si(cell, depth)
    acid, salt = Electrolyte.acid_molarity.si(now), Electrolyte.salt_molarity.si(now)
    resistances = stack._resistances(cell.negative, conductivity.si(acid, salt, now.metal, now.temperature))
    slope = GAS * np.asarray(now.temperature) / (stack.values["transfer"] * FARADAY)
    exchange = (stack.values[plate] * stack.area for plate in ("lead_dioxide", cell.negative))
    return Cell.rest_voltage.si(cell, depth), resistances, [(slope, i0) for i0 in exchange]


def _volts(path, current):
    rest, resistances, plates = path
    lost = [current * r for r in resistances] + [b * np.arcsinh(current / (2 * i0)) for b, i0 in plates]
    return Volts(rest, *lost, rest - sum(lost))


def _refuse_reversed(arguments, result):
    if not np.all(np.isfinite(result.poles)):
        worst = f"{np.max(arguments['current']):.3g} A at a depth of {np.max(arguments['depth']):.3g}"
        raise InputError(
            f"the cell cannot drive {worst}; no voltage is left. Try a smaller current, not at either end."
        )


@takes(
    returns=dict.fromkeys(Volts._fields, "V"),
    refuse=_refuse_reversed,
    current=not_negative("A", AMPERE.example),
    depth=fraction(),
)
def volts(cell, stack, current, depth=0.5):
    """Voltage at the poles: rest - I Σ R - (R T / α F) Σ asinh(I / 2 I0), part by part.

    Separator: d / (κ ε^1.5 A). Felt with its reaction spread evenly: a third of its thickness, in the liquid and in
    the fibres. Mesh fed evenly and drained at one edge: a third of its squares.

    Parameters
    ----------
    cell, stack : Cell, Stack
        The composition of the cell at ``depth`` sets the conductivity κ.
    current, depth : Quantity [A], float [1]

    Returns
    -------
    Volts
        In a pulse, or before the pores run down: acid starving in the positive is left out, and so is the lead grid,
        which conducts so well. In ``.si`` the poles are NaN where nothing positive and finite is left.

    Raises
    ------
    InputError
        For a current that the cell cannot drive.

    Examples
    --------
    >>> from cellkit.teardown import read
    >>> block = read("otter_lane_block.csv")
    >>> f"{volts(block.lead_cell(), stack(block), Q_(1, 'A')).poles:.2f~P}"
    '1.98 V'

    References
    ----------
    Bruggeman, Butler–Volmer with one transfer coefficient, evenly loaded porous electrode: from memory.
    """
    _check(cell, stack)
    found = Volts(*np.broadcast_arrays(*_volts(_path(cell, stack, depth), np.asarray(current))))
    return found._replace(poles=np.where(np.isfinite(found.poles) & (found.poles > 0), found.poles, np.nan))


Run = namedtuple("Run", "time charge energy mean_volts depth")
Run.__doc__ = "What a load got: for how long, how much, at which mean voltage, and how deep the cell then was."


def _drawn(path, power, resistance):
    """Current [A] at which the cell meets a power or a resistor; NaN if it never does.

    Newton from below: I V(I) is concave and V(I) convex, so no step goes past the first root.
    """
    rest, resistances, plates = path
    current = power / rest if resistance is None else 0.0 * rest
    for _ in range(60):
        now = _volts(path, current).poles
        steep = sum(resistances) + sum(b / np.hypot(current, 2 * i0) for b, i0 in plates)
        if resistance is None:
            gap, rise, scale = power - current * now, now - current * steep, power
        else:
            gap, rise, scale = now - current * resistance, steep + resistance, rest
        if not np.any(np.abs(gap) > 1e-9 * scale):
            break
        current = current + np.divide(gap, rise, out=np.full(np.shape(gap), np.nan), where=rise > 0)
    return np.where(np.abs(gap) <= 1e-9 * scale, current, np.nan)


def _depth_at(end, volts, nodes):
    """Depth where ``volts`` along ``nodes`` first falls to ``end``: 1 if it never does, NaN if it starts below."""
    low = ~(volts >= end)
    after = np.maximum(np.argmax(low, axis=0), 1)
    high, below = (np.take_along_axis(volts, k[None], axis=0)[0] for k in (after - 1, after))
    depth = nodes[after - 1] + np.nan_to_num((high - end) / (high - below)) * (nodes[after] - nodes[after - 1])
    return np.where(low[0], np.nan, np.where(low.any(axis=0), depth, 1.0))


def _refuse_too_much(arguments, result):
    if np.any(np.isnan(result.time)):
        end = f"{np.max(arguments['end']):.3g} V"
        raise InputError(f"a full cell cannot carry this load above {end}. Try a smaller load or a lower end voltage.")


@takes(
    returns={"time": "s -> hour", "charge": "C -> Ah", "energy": "J -> Wh", "mean_volts": "V", "depth": ""},
    refuse=_refuse_too_much,
    end=positive("V", 'Q_(1.1, "V")'),
    current=AMPERE,
    power=positive("W", 'Q_(0.1, "W")'),
    resistance=positive("ohm", 'Q_(10, "ohm")'),
    pulse=AMPERE,
    share=fraction("0.05"),
)
def run(cell, stack, end, current=None, power=None, resistance=None, pulse=None, share=0.0):
    """How long a full cell runs one load until it is down to ``end``: t = Q ∫ dx / I(x), W = Q ∫ V(x) dx over depth x.

    Parameters
    ----------
    cell, stack : Cell, Stack
    end : Quantity [V]
    current, power, resistance : Quantity [A], [W], [Ω]
        One of them, for this cell: of three in series each has a third of a power or a resistance.
    pulse, share : Quantity [A], float [1]
        Drawn instead of ``current`` for a ``share`` of the time. ``end`` is met in the pulse.

    Returns
    -------
    Run
        The charge is that of a slow discharge, cut off at ``end``; a fast one gets less. No self-discharge.

    Raises
    ------
    InputError
        For no load or two, or one that a full cell cannot carry (NaN in ``.si``).

    Examples
    --------
    >>> from cellkit.teardown import read
    >>> block = read("otter_lane_block.csv")
    >>> f"{run(block.lead_cell(), stack(block), Q_(1.75, 'V'), current=Q_(155, 'mA')).time:.0f~P}"
    '20 h'

    References
    ----------
    Balance of charge and energy.
    """
    _check(cell, stack)
    if sum(load is not None for load in (current, power, resistance)) != 1 or (pulse is not None and current is None):
        raise InputError('give one of current, power, resistance; pulse goes with current. Try current=Q_(50, "mA").')
    charge = Cell.capacity.si(cell)
    own = np.broadcast_shapes(np.shape(charge), np.shape(cell.electrolyte.temperature))
    given = (end, current, power, resistance, pulse, share, stack.area, *stack.values.values())
    shape = np.broadcast_shapes(own, *map(np.shape, given))
    marks = np.sin(np.linspace(0, np.pi / 2, 2 * STEPS + 1)) ** 2
    nodes, edges = marks[1::2], marks[::2].reshape(-1, *[1] * len(shape))
    path = _path(cell, stack, nodes.reshape(-1, *[1] * (len(shape) - len(own))))
    if current is None:
        phases = [(_drawn(path, power, resistance), 1.0)]
    else:
        phases = [(current, 1 - np.asarray(share)), (current if pulse is None else pulse, share)]
    seen = [(_volts(path, amperes).poles, amperes * part) for amperes, part in phases]
    drawn, watts = sum(amperes for _, amperes in seen), sum(v * amperes for v, amperes in seen)
    least = np.broadcast_to(np.minimum.reduce(np.broadcast_arrays(*(v for v, _ in seen))), (STEPS, *shape))
    depth = _depth_at(np.asarray(end), least, nodes)
    width = np.clip(depth - edges[:-1], 0, np.diff(edges, axis=0))
    time, energy = (charge * np.sum(np.where(width > 0, width * y, width), axis=0) for y in (1 / drawn, watts / drawn))
    return Run(time, charge * depth, energy, energy / (charge * depth), depth)
