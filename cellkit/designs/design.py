"""A design: the block as weighed and what is planned for it, from one list; the constructions that it can become."""

from dataclasses import dataclass, replace

import numpy as np

from cellkit.cells.block import ACTIVE_SHARE, BLOCK_ITEMS, LEAD_UTILISATION, Block, checked, si_values
from cellkit.cells.load import carbon_wrap, current_path
from cellkit.cells.plates import felt_capacity
from cellkit.chemistry.potentials import CORRODE, NEGATIVES, half_cell
from cellkit.chemistry.recipe import PURITY, STOCK, Recipe, weigh_out
from cellkit.chemistry.solution import Electrolyte, from_density, from_molality, from_molarity
from cellkit.tables.lists import Optional, measured, read_items
from cellkit.tables.metals import HYDRATES, METALS, read_label
from cellkit.tables.published import find_file
from cellkit.units import TEMPERATURE, InputError, expect, non_negative, one_of, positive, said_of, takes, to_si

EXAMPLE = 'cellkit.designs.read_design("osier_yard_design.csv")'


@dataclass(frozen=True)
class Construction:
    """What a block can become: ``key`` in code and lists of results, ``name`` in words for pictures and verdicts.

    ``metal`` is what plates on the felt, None where the negatives stay lead; ``tank`` holds more solution outside;
    ``wrap`` is carbon round the lead. ``left_out`` says in words what its figures do not count.
    """

    key: str
    name: str
    metal: str | None = None
    tank: bool = False
    wrap: bool = False
    left_out: str = ""

    @property
    def negative(self):
        """``"lead"`` or the name of the metal."""
        return self.metal or "lead"


_FRESH = "{} corrodes in the acid: the figure is for a fresh charge."
_STORED = "What the carbon stores is left out: some thousandths of the charge."
_PUMP = "The pump, its mass and its power are left out."
CONSTRUCTIONS = {
    construction.key: construction
    for construction in (
        Construction("lead", "unmodified block"),
        *(Construction(m, f"{m} rebuild", m, left_out=_FRESH.format(m.title()) * (m in CORRODE)) for m in METALS),
        Construction("carbon-wrapped lead", "carbon-wrapped block", wrap=True, left_out=_STORED),
        Construction("copper with tank", "copper rebuild with tank", "copper", tank=True, left_out=_PUMP),
    )
}


def construction_named(key):
    """The :class:`Construction` of a key, or an :class:`InputError` that lists the keys."""
    return CONSTRUCTIONS[one_of("construction", key, CONSTRUCTIONS)]


def _crystals(metal):
    """A reader of the label of crystals that have to hold ``metal``."""

    def read(text):
        label = read_label(text)
        if HYDRATES[label].name != metal:
            raise InputError(f"{label} holds no {metal}; write what its label says, such as {read.example}.")
        return label

    read.example = METALS[metal].hydrates[0]
    return read


def _negative(text):
    """A reader of what the negatives of a log are."""
    return one_of("negative in the log", text.lower(), NEGATIVES)


_negative.example = "copper"
COLDEST = 283.15  # K: an unheated cupboard in winter, where a list says nothing
LEAD_EMPTY = 1.75  # V of one lead cell on load; common practice, no source
BOUGHT = "purity", "stock acid"  # rows that a rebuild needs on the bench, beside those of its cell
BY_METAL = {
    "fill volume": positive("m^3", "40,mL"),
    "fill salt": positive("mol/m^3", "1,mol/L"),
    "fill acid": non_negative("mol/m^3", "0.5,mol/L"),
    "end voltage": positive("V", "1.13,V"),
    "charging current": Optional(positive("A", "100,mA")),
}  # a row such as "zinc fill volume" is that metal's own; without it the common one counts
PLANNED = {
    **BY_METAL,
    "held electrolyte": non_negative("kg", "10,g"),
    "new negative plates": positive("kg", "6,g"),
    "new plate thickness": Optional(positive("m", "0.3,mm")),
    "felt thickness": positive("m", "1.5,mm"),
    "felt fill": replace(PURITY, example="30,percent"),
    "charge kept by positives": replace(PURITY, example="100,percent"),
    "load current": positive("A", "100,mA"),
    "coldest place": Optional(replace(TEMPERATURE, example="10,degC"), COLDEST),
    "carbon wrap": positive("kg/m^2", "20,mg/cm^2"),
    "tank volume": non_negative("m^3", "20,mL"),
    "tank and tubing": non_negative("kg", "15,g"),
    **{f"{metal} crystals": _crystals(metal) for metal in METALS},
    "purity": PURITY,
    "stock acid": STOCK,
    **{f"{metal} {item}": Optional(getattr(kind, "kind", kind)) for metal in METALS for item, kind in BY_METAL.items()},
    "log": Optional(str),
    "negative in the log": Optional(_negative),
    "cells in the log": Optional(BLOCK_ITEMS["cells"]),
    "shelf log": Optional(str),
}
DESIGN_ITEMS = BLOCK_ITEMS | PLANNED
REMEMBERED = {"active share": ACTIVE_SHARE, "use of the lead": LEAD_UTILISATION}


class Values(dict):
    """SI floats, arrays and words by item. A row of the plan that was left blank is asked for when it is needed."""

    def __missing__(self, item):
        example = getattr(getattr(DESIGN_ITEMS[item], "kind", DESIGN_ITEMS[item]), "example", "")
        raise InputError(f"{item} is blank in this list; it is needed here. Add a row such as {item},{example}.")


@dataclass(frozen=True)
class Design:
    """What a learner has and plans: ``values`` maps each of ``DESIGN_ITEMS`` and ``REMEMBERED`` to SI floats, arrays.

    ``design["fill salt"]`` is a quantity; ``listed_in`` says where the values come from.
    """

    values: dict
    listed_in: str = ""

    def __getitem__(self, item):
        return measured(self.values[one_of("item", item, DESIGN_ITEMS)], DESIGN_ITEMS[item])

    def planned(self, item, metal):
        """The SI value of one of ``BY_METAL`` for a metal: its own row, or the common one."""
        own = self.values.get(f"{metal} {item}")
        return self.values[item] if own is None else own

    def varied(self, changes):
        """The design with some values replaced by other quantities, in a dict by item; an InputError for others.

        A change of a common row, such as "fill volume", counts for every metal.
        """
        expect("changes", changes, dict, '{"fill volume": Q_(37, "mL")}')
        kinds = {item: getattr(kind, "kind", kind) for item, kind in DESIGN_ITEMS.items()}
        for item in changes:
            one_of("an item of changes", item, [name for name, kind in kinds.items() if hasattr(kind, "unit")])
        return self._with({item: to_si(item, value, kinds[item]) for item, value in changes.items()})

    def _with(self, values):
        own = {f"{metal} {item}" for item in BY_METAL if item in values for metal in METALS}
        kept = {item: value for item, value in self.values.items() if item not in own}
        listed_in = self.listed_in if "changed" in self.listed_in else f"{self.listed_in}, changed"
        return Design(Values(kept | values), listed_in)

    varied.si = _with  # for hot loops: SI numbers and arrays that broadcast

    def carried(self, inputs):
        """``inputs``, SI draws by item, with the same slip in the rows of each metal's own."""
        found = dict(inputs)
        for item in BY_METAL.keys() & inputs.keys():
            common = self.values[item]
            for name in (f"{metal} {item}" for metal in METALS):
                if (own := self.values.get(name)) is not None:
                    found[name] = own * (inputs[item] / common) if common else own + inputs[item]
        return found

    @property
    def block(self):
        """The block before, a :class:`~cellkit.cells.Block`."""
        values = {item: self.values[item] for item in BLOCK_ITEMS}
        return Block(values, *(self.values[item] for item in REMEMBERED))

    def held(self):
        """Old acid that mats and positives of one cell keep, an :class:`~cellkit.chemistry.Electrolyte`."""
        each = from_density.si(1.0, self.values["electrolyte density"])  # 1 kg: what is held may be nothing
        mass = self.values["held electrolyte"]
        return Electrolyte(mass * each.water, mass * each.acid, temperature=each.temperature)

    @takes()
    def fresh(self, construction):
        """What is poured into one cell (and its tank) on top of what is held, an :class:`Electrolyte`."""
        chosen = construction_named(construction)
        volume, acid, salt = (self.planned(f"fill {what}", chosen.metal) for what in ("volume", "acid", "salt"))
        tank = self.values["tank volume"] if chosen.tank else 0.0
        return from_molarity.si(volume + tank, acid, salt, chosen.metal)

    def recipe(self, construction):
        """What to weigh out for all cells and their tanks, a :class:`~cellkit.chemistry.recipe.Recipe`."""
        fresh, metal = self.fresh(construction), construction_named(construction).metal
        each = weigh_out(fresh, self[f"{metal} crystals"], self["purity"], self["stock acid"])
        return Recipe(*(self.block.cells * part for part in each))

    def metals(self):
        """Names of the metals that the design can have; an :class:`InputError` with the reasons if there is none."""
        refused = {metal: self.refused(metal) for metal in METALS}
        if all(refused.values()):
            raise InputError(" ".join(f"{metal}: {why}" for metal, why in refused.items()))
        return [metal for metal, why in refused.items() if not why]

    def end_voltage(self, construction):
        """Volts [V] of one cell at which the discharge ends: a metal's own row, or else the common one.

        The common one is never less for a negative below hydrogen than ``LEAD_EMPTY``, plus what zinc stands below
        lead: a load that is content with the volts of copper would empty zinc or lead until they are harmed.
        """
        negative = construction_named(construction).negative
        if (own := self.values.get(f"{negative} end voltage")) is not None:
            return own
        listed, potential = self.values["end voltage"], half_cell(negative)["e0"]
        return np.maximum(listed, LEAD_EMPTY + half_cell("lead")["e0"] - potential) if potential < 0 else listed

    def current_path(self, case="nominal"):
        """What the current of one cell passes; see :func:`cellkit.cells.current_path`."""
        return current_path(self.block, case, felt=self.values["felt thickness"])

    def felt_room(self, metal):
        """Charge [C] of ``metal`` for which the felt of one cell has room; see :func:`cellkit.cells.felt_capacity`."""
        thickness, fill = (self.values[f"felt {what}"] for what in ("thickness", "fill"))
        return felt_capacity.si(metal, self.current_path().area, thickness, fill=fill)

    @takes()
    def cell(self, construction):
        """One cell of a construction, a key of ``CONSTRUCTIONS``, as filled: a :class:`~cellkit.cells.Cell`.

        ``"lead"`` is the cell as it was; rebuilds get what is poured in and what is held; the carbon wrap only adds its
        mass; a tank adds solution to what is poured in, and its own mass at the level of the block. The tank's pump and
        the power that it draws are left out.
        """
        chosen, values = construction_named(construction), self.values
        if chosen.metal is None:
            before = Block.lead_cell.si(self.block)
            wrap = carbon_wrap.si(self.current_path(), values["carbon wrap"]).mass if chosen.wrap else 0.0
            return replace(before, negative_mass=before.negative_mass + wrap)
        mixed = Design.fresh.si(self, construction) + self.held()
        with said_of("with what the mats hold, "):
            filled = from_molality.si(mixed.water, *mixed.molalities, chosen.metal, mixed.temperature)
        block, most = self.block, self.felt_room(chosen.metal)
        built = Block.rebuilt_cell.si(block, filled, values["new negative plates"], most, block.opened_charged)
        kept = built.utilisation * values["charge kept by positives"]
        tank = values["tank and tubing"] if chosen.tank else 0.0
        return replace(built, utilisation=kept, other=built.other + tank)

    def refused(self, construction):
        """Why there is no cell of a construction, in words; nothing if there is one."""
        metal = construction_named(construction).metal
        try:
            self.cell(construction)
            self.end_voltage(construction)
            if metal:
                [self.values[item] for item in (f"{metal} crystals", *BOUGHT)]
        except InputError as error:
            return str(error)
        return ""


def read_design(name):
    """Read a :class:`Design`: a list with rows of ``DESIGN_ITEMS``; see :func:`cellkit.tables.read_items`.

    The rows of a tear-down list come first, then those of the plan, per cell where that matters; a row of the plan that
    is blank is asked for where it is needed. Refused by row as :func:`cellkit.cells.read_block` does.

    >>> design = read_design("osier_yard_design.csv")
    >>> f"{design.cell('zinc').specific_energy('block'):.0f~P}"
    '29 Wh/kg'
    """
    later = {item: kind if isinstance(kind, Optional) else Optional(kind) for item, kind in PLANNED.items()}
    found, where = read_items(name, BLOCK_ITEMS | later)
    values = si_values(found)
    listed = {item: values[item] for item in BLOCK_ITEMS}
    with said_of(f"{where}: "):
        checked(listed)
    planned = {item: values[item] for item in PLANNED if values[item] is not None}
    return Design(Values(listed | planned | REMEMBERED), find_file(name).name)
