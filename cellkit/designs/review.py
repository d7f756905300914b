"""A design held up to the light: what a construction should do, and the questions to ask before it is built."""

from collections import namedtuple
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from cellkit.cells.cell import Cell
from cellkit.cells.charge import CURRENT, first_charge, rest_loss
from cellkit.cells.load import run_load, voltage_under_load
from cellkit.cells.plates import solid_density
from cellkit.chemistry.properties import BESIDE_ACID, IN_WATER, solubility
from cellkit.chemistry.side_reactions import (
    HydrogenBound,
    gas_volume,
    hydrogen_upper_bound,
    ions_left_behind,
    oxygen_limited_current,
    oxygen_overpotential,
    value,
    ventilation,
)
from cellkit.chemistry.solution import Electrolyte
from cellkit.designs import losses
from cellkit.designs.comparison import compare, in_words
from cellkit.designs.design import CONSTRUCTIONS, EXAMPLE, Design, construction_named
from cellkit.tables.published import FARADAY, table
from cellkit.units import Constraint, InputError, expect, gives, quantity, to_si

DEPTH = Constraint("", "0.5", low=0.0, high=1.0, single=True)
ACTIVE = 0.9  # share of a discharge in acid in which lead dioxide was found most active: a judgement
FOLLOW = 0.1  # share of the metal ions that may stay behind: a judgement
STOP_ABOVE = 0.1  # V above what is expected: a judgement; gas is counted from the whole current, whatever the volts
LEAD_FULL = 2.40  # V of one lead cell on charge; common practice, no source; gas as above
NEW_PLATE_DENSITY = 1500.0  # kg/m³ of felt, filled polyethylene and mesh together, pores not counted; from memory
SPARE, MORE = 1e-6, 1.05  # m³ of a cell that a mended fill leaves free; what it has more than it needs: both chosen
DRAWS = 400  # for a chance in tenths
WEEK = 7 * 24 * 3600.0  # s
FUSES = 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10  # times a power of ten: preferred numbers R10, ISO 3; from memory
SQUEEZED = 0.3  # share by which a glass mat may be pressed together, and has to be pressed at all; from memory


class Span(namedtuple("Span", "worst nominal best")):
    """A prediction with everything that is not known at its worst, nominal, and at its best."""


class Finding(namedtuple("Finding", "question yes because")):
    """A question to which yes is the good answer, the answer, and the numbers that it rests on."""


class Cold(namedtuple("Cold", "salt least most")):
    """Metal sulfate that is there, and the least and the most that dissolves [mol/kg]."""

    @property
    def stays(self):
        """Whether all of it stays dissolved; None where that is within the error."""
        return None if self.least < self.salt <= self.most else bool(self.salt <= self.least)


@dataclass(frozen=True)
class Review:
    """What one construction of a :class:`~cellkit.designs.Design` is expected to do. All is of one cell."""

    design: object
    construction: str

    @property
    def chosen(self):
        """The :class:`~cellkit.designs.design.Construction`."""
        return construction_named(self.construction)

    @cached_property
    def refused(self):
        """Why there is no such cell, in words; nothing if there is one."""
        return self.design.refused(self.construction)

    @cached_property
    def cell(self):
        """The :class:`~cellkit.cells.Cell` as filled."""
        return self.design.cell(self.construction)

    @cached_property
    def original_cell(self):
        """The cell of the unmodified block."""
        return self.design.block.lead_cell()

    @cached_property
    def first_charge(self):
        """What the first charge does, a :class:`~cellkit.cells.FirstCharge`."""
        return first_charge(self.cell)

    @property
    def rebuilt(self):
        """Whether the negative is felt, with metal plated on it."""
        return self.chosen.metal is not None

    def _span(self, function, spec):
        return Span(*(quantity(function(self.design.current_path(case)), spec) for case in Span._fields))

    def under_load(self, depth):
        """Volts with the load current flowing at a depth of discharge: a :class:`Span`, nan where it cannot."""
        depth = to_si("depth", depth, DEPTH)
        current = self.design.values["load current"]
        return self._span(lambda path: voltage_under_load.si(self.cell, path, current, depth).terminal, "V")

    @gives("V")
    def end_voltage(self):
        """End voltage of the discharge: that of the list, for lead at least 1.75 V."""
        return self.design.end_voltage(self.construction)

    def run(self):
        """Hours that the load runs to :attr:`end_voltage`: a :class:`Span`, nan where a full cell cannot carry it."""
        return self._span(lambda path: self._run(path).time, "s -> hour")

    def _run(self, path):
        end, current = Review.end_voltage.si(self), self.design.values["load current"]
        return run_load.si(self.cell, path, end, current=current)

    @gives("A -> mA")
    def charging_current(self):
        """That of the list, or the one that keeps its metal, within what a small positive takes."""
        return float(losses.charging_current(self.design, self.cell))

    def _kept(self, function, spec, current=None):
        current = Review.charging_current.si(self) if current is None else current
        return Span(*(quantity(function(self.design, self.cell, current, end), spec) for end in losses.ENDS))

    def current_efficiency(self):
        """Share of the charging current that stays as metal at half depth: a :class:`Span`."""
        return self._kept(losses.efficiency, " -> percent")

    def charge_returned(self):
        """What a discharge soon after delivers of the charge that was passed: a :class:`Span`."""
        return self._kept(losses.charge_returned, " -> percent")

    def delivered(self, current):
        """Share of the metal spent at half depth that a load of this current is delivered: a :class:`Span`."""
        return self._kept(losses.delivered, " -> percent", to_si("current", current, CURRENT))

    def full_depth(self):
        """Depth at which charging ends: the share of the metal ions that diffusion leaves behind, never all of it."""
        density = self._face_current()
        left = ions_left_behind(self.chosen.metal, density, self.design.values["felt thickness"])
        share = left / Electrolyte.salt_molarity.si(self.cell.at_depth(1.0))
        return float(np.minimum(share, 0.99))

    def _face_current(self):
        return Review.charging_current.si(self) / self.design.current_path().area

    def shelf_time(self):
        """Time at rest until nothing is left, at the rate of a fresh charge: a :class:`Span`."""
        return Span(*(quantity(self._at_rest(end).time, "s -> hour") for end in losses.ENDS))

    def _at_rest(self, end):
        resting = losses.losses(self.design, self.cell, end, self.full_depth())[1]
        return rest_loss.si(Cell.capacity.si(self.cell), resting)

    def after_a_week(self):
        """Volts of a full cell after a week at rest: a :class:`Span`, nan where nothing is left; None for lead.

        What is left of the charge, after the loss of :meth:`shelf_time` all along, sets a depth and that the rest
        voltage, with its uncertainty below and above. How fast lead loses its charge stands in none of the tables.
        """
        if not self.rebuilt:
            return None
        ends = []
        for end, sign in zip(losses.ENDS, (-1, 0, 1), strict=True):
            depth = min(self.full_depth() + float(self._at_rest(end).rate) * WEEK, 1.0)
            volts = Cell.rest_voltage.si(self.cell, depth) + sign * Cell.rest_voltage_uncertainty.si(self.cell, depth)
            ends.append(quantity(volts if depth < 1 else np.nan, "V"))
        return Span(*ends)

    def fuse(self):
        """Fuse [A] just above the load and the charger, the thinnest wire [m²] that carries more, and how much [A].

        An InputError where no wire of ``data/reference/wires.csv`` carries more than such a fuse.
        """
        current = max(self.design.values["load current"], Review.charging_current.si(self))
        decade = 10.0 ** np.floor(np.log10(current))
        fuse = min(size * decade for size in FUSES if size * decade > current * (1 + 1e-9))
        for row in table("wires"):
            if fuse < row["current_A"]:
                return tuple(map(quantity, (fuse, row["area_mm2"] * 1e-6, row["current_A"]), ("A", "m^2 -> mm^2", "A")))
        raise InputError(f"{current:.3g} A is more than the wires of the table carry. Ask a licensed electrician.")

    def hydrogen_bound(self):
        """Most hydrogen of all cells, from published values only: per time, and of one whole charge."""
        count, current = self.design.block.cells, Review.charging_current.si(self)
        charge = first_charge.si(self.cell).charge if self.rebuilt else Cell.capacity.si(self.cell)
        if self.corrodes:
            full = self.cell.at_depth(self.full_depth()).molalities
            area = losses.metal_area(self.design, losses.WORST["fibre diameter"])
            found = hydrogen_upper_bound.si(count * area, count * charge, *full, count * current)
        else:
            found = HydrogenBound(*(gas_volume.si(count * passed) for passed in (current, charge)))
        return HydrogenBound(quantity(found.rate, "m^3/s -> L/hour"), quantity(found.total, "m^3 -> L"))

    @property
    def corrodes(self):
        """Whether the acid takes the plated metal under hydrogen."""
        return self.rebuilt and float(losses.losses(self.design, self.cell, losses.NOMINAL)[0]) > 0

    def charging(self, first=False):
        """Volts at the end of a charge, lowest and highest; ``first`` for the one that makes oxygen.

        Rest voltage at :meth:`full_depth` and what the charging current costs on top, as much as on discharge. A
        positive that makes oxygen stands between its rest potential and, at most, ``oxygen_overpotential`` above it.
        """
        expect("first", first, bool, "True")
        if not self.rebuilt:
            return quantity(LEAD_FULL, "V"), quantity(LEAD_FULL, "V")
        depth, current = self.full_depth(), Review.charging_current.si(self)
        full, ends = self.cell.at_depth(depth).molalities, []
        most = oxygen_overpotential(self._face_current(), *full, self.chosen.metal)
        for case, oxygen in (("best", 0.0), ("worst", most)):
            now = voltage_under_load.si(self.cell, self.design.current_path(case), current, depth)
            swap = oxygen - now.positive_overpotential if first and self.cell.positive_charged else 0.0
            ends.append(quantity(2 * now.rest - now.terminal + swap, "V"))
        return tuple(ends)

    @property
    def first_charge_limit(self):
        """Volts at which the first charge has to stop: ``STOP_ABOVE`` the highest that are expected."""
        return self.charging(first=True)[1] + quantity(STOP_ABOVE, "V")

    @gives("m^3/s -> m^3/hour")
    def ventilation_rate(self):
        """Air for all cells: that of a current which makes hydrogen as fast as :meth:`hydrogen_bound` says at most."""
        rate = self.hydrogen_bound().rate.to("m^3/s").magnitude
        return ventilation(1, rate / gas_volume.si(1.0))

    @gives("m^3 -> mL")
    def free_volume(self):
        """Room for liquid in one cell: what the acid filled, the solid lead that went, less the solids that came."""
        before = Electrolyte.volume.si(self.design.block.wrung())
        if not self.rebuilt:
            return before
        new = self.design.values["new negative plates"]
        return before + self.original_cell.negative_mass / solid_density("Pb") - new / NEW_PLATE_DENSITY

    def pressed_out(self):
        """Old acid of all cells that mats and positives do not keep, an :class:`Electrolyte`."""
        whole, held = self.design.block.wrung(), self.design.held()
        water, acid = whole.water - held.water, whole.acid - held.acid
        if water < 0:
            raise InputError(f"mats hold {held.mass:.1f~P} of acid, a cell had only {whole.mass:.1f~P}. Weigh again.")
        return times(Electrolyte(water, acid, temperature=whole.temperature), self.design.block.cells)

    def spent(self):
        """Liquid of all cells at the end of their life, charged, where it has most acid: an :class:`Electrolyte`."""
        return times(self.cell.at_depth(0.0), self.design.block.cells)

    def findings(self):
        """The questions to ask of a design, as a list of :class:`Finding`."""
        if refused := self.refused:
            return [Finding("Can it be built?", False, refused)]
        found = [self._ending(), self._volts()]
        if self.rebuilt:
            found = [self._fit(), self._felt(), self._cold(), *found, self._first_charge(), self._stays()]
            found += [self._reach(), self._needles(), self._strong(), self._stack()]
        return [*found, self._gain()] if self.rebuilt or self.chosen.wrap else found

    def _fit(self):
        liquid = self.cell.electrolyte.volume.to("mL")
        if self.chosen.tank:
            liquid -= self.design["tank volume"]
        because = f"{liquid:.0f~P} of liquid for about {self.free_volume:.0f~P} of room"
        return Finding("Does the liquid fit in?", bool(liquid <= self.free_volume), because)

    def _felt(self):
        felt, ions = (self.cell.limits[name] for name in ("felt", "metal ions"))
        because = f"room for {felt:.1f~P} of metal, {ions:.1f~P} in the liquid"
        return Finding("Does the felt hold all the metal?", bool(felt >= ions), because)

    def cold(self):
        """Sulfate in the coldest place, as filled, which is tightest: a :class:`Cold`."""
        acid, salt = self.cell.electrolyte.molalities
        middle = solubility.si(self.chosen.metal, acid, self.design.values["coldest place"])
        error = BESIDE_ACID if acid else IN_WATER
        return Cold(salt, (1 - error) * middle, (1 + error) * middle)

    def _cold(self):
        cold, coldest = self.cold(), self.design.values["coldest place"] - 273.15
        because = f"at {coldest:.0f} °C at least {cold.least:.2f} mol/kg dissolve, there is {cold.salt:.2f} as filled"
        return Finding("Does it stay dissolved in the cold?", bool(cold.stays), because)

    def _ending(self):
        limits = sorted(self.cell.limits.items(), key=lambda item: item[1])
        (name, charge), (following, later) = limits[:2]
        because = f"{name} at {charge:.2f~P}, then {following} at {later:.2f~P}"
        return Finding("Does something other than felt or acid end it?", name not in ("felt", "acid"), because)

    def _volts(self):
        poor, _, good = (volts.magnitude for volts in self.under_load(0.9))
        least = self.end_voltage
        used = self._span(lambda path: self._run(path).depth, "").worst.magnitude
        left = f"{100 * abs(1 - used):.0f} % of the charge is left there at worst"
        left = "a full cell does not reach it at worst" if np.isnan(used) else left
        because = f"{poor:.2f} to {good:.2f} V when nine tenths are used, {least:.2f~P} is the end; {left}"
        if np.isnan(poor):
            because = "at the poor end of what is not known, this current leaves no volts"
        return Finding("Are there volts enough for the load?", bool(poor >= least.magnitude), because)

    def _stack(self):
        """Jar depth less positives, new plates and felt, over as many gaps as faces that look at each other."""
        block, values, question = self.design.block, self.design.values, "Does the stack fit into the jar?"
        taken = {
            "positive thickness": block.values["number of positive plates"] / block.cells,
            "new plate thickness": block.values["number of negative plates"] / block.cells,
            "felt thickness": block.faces,
        }
        if missing := [item for item in ("jar depth", "mat thickness", *taken) if values.get(item) is None]:
            return Finding(question, False, f"not known; add to the list: {', '.join(missing)}")
        room = (values["jar depth"] - sum(count * values[item] for item, count in taken.items())) / block.faces
        if room < 0:
            return Finding(question, False, "plates and felt alone are thicker than the jar")
        loose, flooded = values["mat thickness"], values["kind of block"] == "flooded"
        least = loose if flooded else (1 - SQUEEZED) * loose
        because = f"{1000 * room:.1f} mm are left for each separator; it takes at least {1000 * least:.1f} mm"
        if not flooded:
            because += f", and only under {1000 * loose:.1f} mm is the mat pressed"
        return Finding(question, bool(least <= room and (flooded or room < loose)), because)

    def _first_charge(self):
        charge, oxygen = self.first_charge.oxygen_charge, self.first_charge.oxygen_volume
        because = f"{charge:.2f~P} make {oxygen:.1f~P} of oxygen in each cell; a block discharged first makes none"
        if charge.magnitude == 0:
            because = "it goes in discharged, and lead sulfate takes the charge"
        return Finding("Does the positive take the first charge?", bool(charge.magnitude == 0), because)

    def _stays(self):
        kept = self.current_efficiency()
        because = f"{kept.worst.m:.0f} to {kept.best:.0f~P} of {self.charging_current:.0f~P} by published rates"
        if self.corrodes:
            lost = quantity(losses.losses(self.design, self.cell, losses.NOMINAL)[0], "A")
            because += f"; {self.chosen.metal} in the felt loses about {float(f'{lost.m:.1g}'):g} A meanwhile"
        elif self.first_charge.oxygen_charge:
            path = self.design.current_path()
            taken = oxygen_limited_current(path.area, path.values["separator"], share=1.0, case="high")
            because += f"; oxygen of a full positive may take {1000 * taken:.0f} mA of a first charge"
        return Finding("Does charging keep its metal?", bool(kept.nominal.m >= 100 * losses.LEAST), because)

    def _reach(self):
        because = f"diffusion leaves {100 * self.full_depth():.0f} % of them behind at {self.charging_current:.0f~P}"
        return Finding("Do the ions follow the charging current?", self.full_depth() <= FOLLOW, because)

    def _needles(self):
        charge, face = self.first_charge.charge.to("C").magnitude, self.design.current_path().area
        areal, most = charge / face, value("areal charge without needles")
        plated, shown = (quantity(x, "C/m^2 -> mA*hour/cm^2").m for x in (areal, most))
        because = f"{plated:.0f} mAh on each cm² of face, none were seen up to {shown:.0f}"
        return Finding("Is so much metal plated without needles?", bool(areal <= most), because)

    def _strong(self):
        full, empty = (Electrolyte.acid_molarity.si(self.cell.at_depth(depth)) for depth in (0.0, 1.0))
        share = active_share(full, empty)
        because = f"lead dioxide is most active in {100 * share:.0f} % of {full / 1000:.1f} to {empty / 1000:.1f} mol/L"
        return Finding("Is there acid enough for the positive?", bool(share >= ACTIVE), because)

    def _gain(self):
        mine, theirs = (cell.specific_energy("block") for cell in (self.cell, self.original_cell))
        share = self.charge_returned().nominal.to("").m if self.rebuilt else 1.0
        because = f"{share * mine:.1f~P} of what comes back, the block had {theirs:.1f~P}"
        return Finding("Does it beat the block as it was?", bool(share * mine > theirs), because)

    def chance(self):
        """In how many of some hundred draws it beats the block, in words; see :func:`cellkit.designs.compare`."""
        found = compare(self.design, DRAWS)
        return in_words(found.draws_ahead(self.construction), found.count)


def active_share(charged, discharged):
    """Share of a discharge in acid [mol/m³], falling evenly, in which lead dioxide was found most active.

    What the rest gives was not published: count on nothing. Source: ``data/reference/side_reactions.csv``.
    """
    least, most = value("least acid of lead dioxide"), value("most acid of lead dioxide")
    high, low = np.maximum(charged, discharged), np.minimum(charged, discharged)
    high = np.where(high > low, high, high + 1e-6)  # a discharge that does not change the acid is a very short one
    return np.maximum(np.minimum(high, most) - np.maximum(low, least), 0.0) / (high - low)


def times(electrolyte, count):
    """So many cells' worth of an :class:`Electrolyte`."""
    return replace(electrolyte, **{name: count * getattr(electrolyte, name) for name in ("water", "acid", "salt")})


def mended(design, construction):
    """The :class:`Design` with fill rows for a rebuild's metal that fit in, stay dissolved and do not end by the acid.

    At most the volume of the list, and ``SPARE`` less than there is room for; as much metal as the positives use and
    ``MORE``, or as much as the felt holds, was plated free of needles, and dissolves in the coldest place at the lower
    edge; acid as listed, or as much as it takes to outlast the others. An :class:`InputError` where there is no such
    fill.

    >>> better = Review(mended(ck.designs.read_design("osier_yard_design.csv"), "copper"), "copper")
    >>> f"{better.cell.capacity:.1f~P}, ended by {better.cell.limiting}"
    '1.4 Ah, ended by metal ions'
    """
    review = Review(expect("design", design, Design, EXAMPLE), construction)
    values, held = design.values, design.held()
    if not review.rebuilt:
        raise InputError(f"construction is {construction!r}, whose fill stays as it is; try 'copper'.")
    metal, tank = review.chosen.metal, values["tank volume"] if review.chosen.tank else 0.0
    room = Review.free_volume.si(review) - Electrolyte.volume.si(held) - SPARE
    volume = min(design.planned("fill volume", metal), room)
    if volume <= 0:
        raise InputError(f"the mats hold {held.volume:.1f~P}, which leaves no room to pour any in; press them harder.")
    listed = design.planned("fill acid", metal)
    used = values["capacity"] * values["charge kept by positives"] / (2 * FARADAY)  # mol of lead dioxide
    for part in np.arange(1.0, 0.0, -0.02):
        ions = part * MORE * used
        outlasting = 2 * MORE * min(ions, used) - ions * (1 if design.block.opened_charged else 2) - held.acid
        acid = max(listed, outlasting / (volume + tank))
        fill = {"volume": volume, "salt": ions / (volume + tank), "acid": acid}
        found = Review(Design.varied.si(design, {f"{metal} fill {what}": fill[what] for what in fill}), construction)
        if not found.refused and all(ask().yes for ask in (found._felt, found._needles, found._cold)):
            return found.design
    cold = f"{values['coldest place'] - 273.15:.0f} °C with {listed / 1000:.2g} mol/L of acid"
    raise InputError(f"no {metal} solution stays dissolved at {cold}. Try less acid, or a warmer place.")


def reviews(design):
    """A :class:`Review` of each construction, by key."""
    expect("design", design, Design, EXAMPLE)
    return {key: Review(design, key) for key in CONSTRUCTIONS}
