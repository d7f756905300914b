"""Rebuilds side by side: every uncertain input drawn at once, the chance against the unmodified block, what decides it.

All constructions meet the same draws, so that what they share cannot decide between them. Below that, a map of the
energy per mass over two choices.
"""

import textwrap
from collections import namedtuple
from dataclasses import dataclass, replace

import numpy as np

from cellkit.cells.cell import Cell
from cellkit.cells.load import voltage_under_load
from cellkit.chemistry.activity import tabulated
from cellkit.chemistry.properties import DENSITY_ERROR
from cellkit.chemistry.side_reactions import CASES, side_reaction
from cellkit.chemistry.solution import Electrolyte
from cellkit.designs.design import CONSTRUCTIONS, DESIGN_ITEMS, EXAMPLE, REMEMBERED, Design, construction_named
from cellkit.designs.losses import DRAWN, charge_returned, charging_current
from cellkit.tables.published import in_si, table
from cellkit.units import (
    Constraint,
    InputError,
    expect,
    fraction,
    one_of,
    only_where,
    positive,
    quantity,
    quietly,
    takes,
    to_si,
)

BAND = (5, 50, 95)  # percentiles: nine draws of ten lie between the outer two
RULE_OF_THREE = 3.0  # none in n draws leaves a chance of up to 3/n at 95 %; Hanley & Lippman-Hand 1983, from memory
FROM_THE_LIST = ("felt", "carbon_capacitance", "carbon_resistance")  # drawn as the design's felt thickness; not needed
TWO_SIDED = 1.96  # standard deviations to either side of a 95 % interval, normal
UNFOUNDED = ("from memory", "invented")
AT_ONCE = 20_000  # draws worked on together: more take memory, fewer take time
NODES = 15  # along each axis of the map, where the mean voltage is computed; between them it is interpolated


def outcomes(design, inputs):
    """Energy per mass [J/kg] of the whole block, and whether its load is too much for it, for SI ``inputs`` by name.

    Pairs of arrays by construction. W = q Q (mean rest voltage - loss at half depth), with q the charge returned, what
    a discharge soon after delivers of the charge that was passed (:func:`cellkit.designs.losses.charge_returned`), and
    nothing where the half-empty cell is below the end voltage, which counts as too much load. Charge left over where
    the voltage gets there later than that is not counted off.
    """
    listed = {name: value for name, value in inputs.items() if name in design.values}
    varied = Design.varied.si(design, design.carried(listed))
    path = varied.current_path()
    drawn = {name: inputs[_kinetic(name)] for name in path.values if _kinetic(name) in inputs}
    path = replace(path, values=path.values | drawn)
    current, found = varied.values["load current"], {}
    for key in CONSTRUCTIONS:
        try:
            cell, end = Design.cell.si(varied, key), varied.end_voltage(key)
        except InputError:  # a row that it needs was left blank: the others go on
            missing = np.full(np.shape(inputs["rest voltage"]), np.nan)
            found[key] = missing, missing > 0
            continue
        half = voltage_under_load.si(cell, path, current, 0.5)
        off = inputs["rest voltage"] * Cell.rest_voltage_uncertainty.si(cell, 0.5)
        charging = charging_current(design, Design.cell.si(design, key))  # as planned, whatever is drawn
        charge = Cell.capacity.si(cell) * charge_returned(varied, cell, charging, inputs)
        energy = charge * (Cell.mean_voltage.si(cell) + off - (half.rest - half.terminal))
        heavier = inputs["density of solutions"] * DENSITY_ERROR * Electrolyte.mass.si(cell.electrolyte)
        overloaded = np.isfinite(half.rest) & ~(half.terminal + off >= end)
        found[key] = np.where(overloaded, 0.0, energy) / (Cell.mass.si(cell, "block") + heavier), overloaded
    return found


def _kinetic(name):
    """Name among the inputs of a row of ``kinetics.csv``."""
    return f"load: {name.replace('_', ' ')}"


def _measurable(name):
    """The :class:`Constraint` of an input that was measured: an item of the list, or in the unit of its row."""
    if name in DESIGN_ITEMS:
        return DESIGN_ITEMS[name]
    rows = {row["name"]: row for row in table("side_reactions")} | {_kinetic(r["name"]): r for r in table("kinetics")}
    if name not in rows:  # a share, or parts of a calculation's error, to either side
        return fraction("0.6") if name in REMEMBERED else Constraint("", "-0.5")
    unit, nominal = rows[name]["unit"], rows[name]["nominal"]
    return fraction(f"{nominal:g}") if unit == 1 else positive(unit, f'Q_({nominal:g}, "{unit}")')


def _drawn(design, count, seed):
    """Each uncertain input as an array of SI values by name, and what its row rests on, a status."""
    random, drawn, status = np.random.default_rng(seed), {}, {}
    for row in table("spread"):
        name, (low, middle, high) = row["input"], in_si(row, *CASES)
        if name in DESIGN_ITEMS and name not in design.values:
            continue  # a row left blank, such as that of a tank
        uniform = row["shape"] == "uniform"
        sample = random.uniform(low, high, count) if uniform else random.triangular(low, middle, high, count)
        if row["how"] == "times":
            most = 1.0 if name in REMEMBERED else DESIGN_ITEMS[name].high
            sample = np.minimum(design.values[name] * sample, most)
        elif row["how"] == "plus":
            sample = np.maximum(design.values[name] + sample, 0.0)
        drawn[name], status[name] = sample, row["status"]
    for name in DRAWN:
        row = side_reaction(name)
        drawn[name] = np.exp(random.triangular(*np.log(row[:3]), count))
        status[name] = row.status
    nominal, best, worst = (design.current_path(case).values for case in ("nominal", "best", "worst"))
    for row in table("kinetics"):
        name, value = row["name"], nominal[row["name"]]
        if name not in FROM_THE_LIST:
            z = random.triangular(-1, 0, 1, count)
            drawn[_kinetic(name)] = value * (np.where(z > 0, best[name], worst[name]) / value) ** np.abs(z)
            status[_kinetic(name)] = row["status"]
    return drawn, status


@dataclass(frozen=True)
class Comparison:
    """Draws of every uncertain input and what each construction makes of them; made by :func:`compare`.

    ``inputs`` maps each input to its SI draws, ``specific_energies`` each construction to J/kg of the whole block under
    the design's load: 0 where it does not carry the load, which ``overloaded`` tells, or nothing of its charge stays,
    NaN where its solution does not exist. ``refused`` says why a construction cannot be built even with nominal inputs.
    ``status`` says of each input whether its row is published, measured, from memory or invented.
    """

    inputs: dict
    specific_energies: dict
    overloaded: dict
    refused: dict
    status: dict

    def _of(self, construction):
        return self.specific_energies[construction_named(construction).key]

    @property
    def count(self):
        """Number of draws."""
        return len(self.specific_energies["lead"])

    def specific_energy(self, construction):
        """Wh/kg of the whole block: 5th, 50th and 95th percentile of the draws (those without a solution as 0)."""
        return quantity(np.percentile(np.nan_to_num(self._of(construction)), BAND), "J/kg -> Wh/kg")

    def draws_ahead(self, construction):
        """Number of draws in which a construction holds more per kilogram than the unmodified block in it."""
        return int(np.sum(self._of(construction) > self.specific_energies["lead"]))

    def sensitivity(self, construction):
        """Squared rank correlation (Spearman) of each input with Wh/kg over that of the same block before.

        A dict from the largest to the smallest. For independent inputs that act in one direction each, as here, it is
        about the share of the spread that an input brings; without any effect about 1 / :attr:`count` is left.
        """
        ahead = self._of(construction) / (1.0 if construction == "lead" else self.specific_energies["lead"])
        known = np.isfinite(ahead)
        if known.sum() < 2:
            raise InputError(
                f"{construction} exists in {known.sum()} of {self.count} draws: too few. {self.verdict(construction)}"
            )
        place = _ranks(ahead[known])
        shares = {name: _correlation(_ranks(sample[known]), place) ** 2 for name, sample in self.inputs.items()}
        return dict(sorted(shares.items(), key=lambda item: -item[1]))

    def unfounded(self, construction):
        """Share of what the inputs decide that rests on remembered or invented rows: of the :meth:`sensitivity`.

        Zero where nothing decides, as every draw says the same.
        """
        shares = self.sensitivity(construction)
        weak = sum(share for name, share in shares.items() if self.status[name] in UNFOUNDED)
        return weak / (sum(shares.values()) or 1.0)

    def verdict(self, construction):
        """The chance in words, never more certain than the draws allow; lines of up to 100 characters."""
        chosen = construction_named(construction)
        if construction in self.refused:
            return textwrap.fill(f"There is no {chosen.name}: {self.refused[construction]}", 100)
        ahead, count, band = self.draws_ahead(construction), self.count, "in nine draws of ten"
        before, (low, middle, high) = (self.specific_energy(c).magnitude for c in ("lead", construction))
        if construction == "lead":
            return f"The {chosen.name} holds {middle:.0f} Wh/kg ({low:.0f} to {high:.0f} {band}) under these inputs."
        energy, overloaded = self._of(construction), self.overloaded[chosen.key]
        lost = {
            "it does not carry the load": overloaded,
            "nothing of its charge stays": (energy == 0) & ~overloaded,
            "its solution does not exist": np.isnan(energy),
        }
        words = [
            f"The {chosen.name} beats the {CONSTRUCTIONS['lead'].name} in {in_words(ahead, count)} under these inputs: "
            f"{middle:.0f} Wh/kg ({low:.0f} to {high:.0f} {band}) against {before[1]:.0f} ({before[0]:.0f} to "
            f"{before[2]:.0f})."
        ]
        if ahead in (0, count):
            most = 100 * min(RULE_OF_THREE / count, 1.0)
            words.append(f"So many draws leave a chance of up to {most:.3g} % that the next one says otherwise.")
        words += [f"In {in_words(many, count)} {why}." for why, draws in lost.items() if (many := int(np.sum(draws)))]
        if np.any(energy > 0) and np.isfinite(energy).sum() > 1:
            weak = 100 * self.unfounded(construction)
            words.append(f"Of what decides that, {weak:.0f} % rests on memory or invention.")
        return textwrap.fill(" ".join([*words, chosen.left_out]).strip(), 100)


def _ranks(values):
    """Places in order of size, equal values sharing the middle of theirs."""
    _, where, many = np.unique(values, return_inverse=True, return_counts=True)
    return (np.cumsum(many) - (many - 1) / 2)[where]


def _correlation(one, other):
    """Correlation; 0 where one of them does not vary."""
    return float(np.corrcoef(one, other)[0, 1]) if np.ptp(one) and np.ptp(other) else 0.0


def in_words(some, count):
    """``some`` of ``count`` draws in words, in tenths if that tells it from none and all, else finer.

    >>> in_words(8123, 10000), in_words(9921, 10000), in_words(4, 5), in_words(0, 200)
    ('8 of 10 draws', '99 of 100 draws', '4 of 5 draws', 'none of 200 draws')
    """
    if some == 0:
        return f"none of {count:,} draws"
    if some == count:
        return f"all {count:,} draws"
    for parts in (10, 100):
        if parts < count and 0 < round(some / count * parts) < parts:
            return f"{round(some / count * parts)} of {parts} draws"
    return f"{some:,} of {count:,} draws"


@takes(
    count=Constraint("", "10_000", low=1, high=1_000_000, whole=True, single=True),
    seed=Constraint("", "0", low=0, whole=True, single=True),
)
def compare(design, count=10_000, seed=0, known=None):
    """The :class:`Comparison` of all constructions on the same ``count`` draws of every uncertain input.

    Independent draws of each row of ``data/reference/spread.csv``, and of each row of ``kinetics.csv``: there between
    best, nominal and worst, in the logarithm; so too of the side reactions that decide what comes back, between low and
    high of ``side_reactions.csv``. The same ``seed`` gives the same draws. ``known`` is what you have measured of the
    inputs, in a dict by name, such as ``{"hydrogen on zinc": pilot.exchange_current_density("flat")}``: a quantity is
    no longer drawn, a value with both ends of its 95 % interval is drawn from it. ``density of solutions`` and ``rest
    voltage`` are in parts of their stated error: -0.5 is half of it below the calculation. The chances hold for these
    inputs only: what is in no table (leaks, sulfated plates, needles, days at rest, impurities, mistakes) is not drawn.
    Source: squared rank correlation as a measure of what matters: common in uncertainty analysis, from memory.

    >>> found = compare(ck.designs.read_design("osier_yard_design.csv"), 2000)
    >>> in_words(found.draws_ahead("copper"), found.count)
    'none of 2,000 draws'
    """
    expect("design", design, Design, EXAMPLE)
    expect("known", known or {}, dict, '{"fill volume": Q_(40, "mL")}')
    inputs, status = _drawn(design, int(count), int(seed))
    random = np.random.default_rng(int(seed) + 1)
    for name, value in (known or {}).items():
        one_of("a name in known", name, inputs)
        kind, ends = replace(_measurable(name), single=True), value if isinstance(value, tuple) else (value,) * 3
        if len(ends) != 3:
            raise InputError(f"{name} has {len(ends)} values; give one, or (one, low, high) with its 95 % interval.")
        middle, low, high = (quantity(to_si(name, end, kind), kind.unit).to_base_units().magnitude for end in ends)
        spread = (high - low) / 2 / TWO_SIDED
        inputs[name] = np.clip(middle + spread * random.standard_normal(int(count)), kind.low, kind.high)
        status[name] = "measured"
    refused = {key: why for key in CONSTRUCTIONS if (why := design.refused(key))}
    with quietly(), tabulated():
        cuts = (slice(start, start + AT_ONCE) for start in range(0, int(count), AT_ONCE))
        parts = [outcomes(design, {name: draws[cut] for name, draws in inputs.items()}) for cut in cuts]
    found = {key: np.concatenate([part[key][0] for part in parts]) for key in CONSTRUCTIONS}
    overloaded = {key: np.concatenate([part[key][1] for part in parts]) for key in CONSTRUCTIONS}
    return Comparison(inputs, found, overloaded, refused, status)


class SpecificEnergyMap(namedtuple("SpecificEnergyMap", "specific_energy limits limiting")):
    """Energy per mass, charge by reagent and the name of the least, over plates (rows) and volumes (columns)."""


@takes(
    returns={"specific_energy": "J/kg -> Wh/kg"},
    volume=Constraint("m^3", 'Q_([20, 40, 60], "mL")', low=0.0, open_low=True),
    plates=Constraint("kg", 'Q_([40, 60, 80], "g")', low=0.0, open_low=True),
)
def specific_energy_map(design, construction, volume, plates):
    """Wh/kg of the whole block at rest voltage on a grid, all else as the design has it: a :class:`SpecificEnergyMap`.

    ``volume`` is poured into each cell on top of what is held (all the acid of a cell that stays lead), ``plates`` are
    the positives of one cell; the same share of their PbO2 reacts whatever they weigh, though thick plates give less of
    it. Both rising. Whether they fit into the case is not asked. NaN where the solution does not exist. The mean
    voltage is interpolated between 15 × 15 points: within 0.2 Wh/kg on the grid of the design map.

    >>> plan = ck.designs.read_design("osier_yard_design.csv")
    >>> here = specific_energy_map(plan, "zinc", Q_([20, 40], "mL"), Q_([50, 72], "g"))
    >>> f"{here.specific_energy[1, 1]:.0f~P}, first to run out: {here.limiting[1, 1]}"
    '29 Wh/kg, first to run out: metal ions'
    """
    values, cells = expect("design", design, Design, EXAMPLE).values, design.block.cells
    metal = construction_named(construction).metal
    volume, plates = _rising("volume", volume), _rising("plates", plates)

    def cell(volume, plates):
        grown = plates * cells / values["positive plates"]
        changes = {"positive plates": plates * cells, "capacity": values["capacity"] * grown}
        if metal:
            changes["fill volume"] = volume
        else:
            changes["electrolyte"] = volume * values["electrolyte density"] * cells
        return Design.cell.si(Design.varied.si(design, changes), construction)

    columns, rows = (axis if len(axis) <= NODES else np.linspace(*axis[[0, -1]], NODES) for axis in (volume, plates))
    with quietly(), tabulated():
        whole = cell(volume[None, :], plates[:, None])
        coarse = Cell.mean_voltage.si(cell(columns[None, :], rows[:, None]))
    along = np.array([np.interp(volume, columns, volts) for volts in coarse])
    volts = np.array([np.interp(plates, rows, volts) for volts in along.T]).T
    limits = {name: np.broadcast_to(charge, volts.shape) for name, charge in whole._limits().items()}
    found = Cell.capacity.si(whole) * volts / Cell.mass.si(whole, "block")
    return SpecificEnergyMap(found, limits, whole.limiting)


def _rising(name, axis):
    axis = np.atleast_1d(axis)
    rises = axis.ndim == 1 and bool((np.diff(axis) > 0).all())
    return only_where(rises, axis, lambda: f"{name} has to be one row of values that rise; sort it, each value once.")
