"""A design: the block as weighed and what is planned for it, from one list; the five cells that it can become."""

from dataclasses import dataclass, replace

from cellkit.cells.block import ACTIVE_SHARE, BLOCK_ITEMS, LEAD_UTILISATION, Block, checked
from cellkit.cells.cell import refuse_outside_model
from cellkit.cells.load import carbon_wrap, current_path
from cellkit.cells.plates import felt_capacity
from cellkit.chemistry.recipe import PLAN_ITEMS
from cellkit.chemistry.solution import Electrolyte, from_density, from_molality, from_molarity
from cellkit.tables.lists import read_items
from cellkit.tables.published import METALS
from cellkit.units import Constraint, InputError, expect, non_negative, one_of, positive, quantity, takes, to_si

EXAMPLE = 'cellkit.designs.read_design("otter_lane_design.csv")'
CONSTRUCTIONS = ("lead", "copper", "zinc", "carbon-wrapped lead", "copper with tank")


def _crystals(metal):
    """A reader of the label of crystals that have to hold ``metal``."""

    def read_label(text):
        name = PLAN_ITEMS["crystals"](text)
        if not name.startswith(METALS[metal]):
            raise InputError(f"{name} holds no {metal}; read the label again.")
        return name

    return read_label


_SOME = {"low": 0.0, "high": 1.0, "open_low": True}
PLANNED = {
    "fill volume": positive("m^3", "40,mL"),
    "fill salt": positive("mol/m^3", "1,mol/L"),
    "fill acid": non_negative("mol/m^3", "0.5,mol/L"),
    "held electrolyte": non_negative("kg", "10,g"),
    "new negative plates": positive("kg", "6,g"),
    "felt thickness": positive("m", "1.5,mm"),
    "felt fill": Constraint("", "30,percent", **_SOME),
    "charge kept by positives": Constraint("", "100,percent", **_SOME),
    "carbon wrap": positive("kg/m^2", "20,mg/cm^2"),
    "tank volume": non_negative("m^3", "20,mL"),
    "tank and tubing": non_negative("kg", "15,g"),
    "load current": positive("A", "100,mA"),
    "end voltage": positive("V", "1.13,V"),
    "copper crystals": _crystals("copper"),
    "zinc crystals": _crystals("zinc"),
    "purity": PLAN_ITEMS["purity"],
    "stock acid": PLAN_ITEMS["stock acid"],
}
DESIGN_ITEMS = BLOCK_ITEMS | PLANNED
REMEMBERED = {"active share": ACTIVE_SHARE, "use of the lead": LEAD_UTILISATION}


def metal_of(construction):
    """``"copper"``, ``"zinc"`` or None: the metal that plates in a construction; an InputError for an unknown one."""
    one_of("construction", construction, CONSTRUCTIONS)
    return next((metal for metal in METALS if construction.startswith(metal)), None)


def _refuse(arguments, built):
    """An :class:`InputError` for a fill that does not dissolve, alone or with what is held, or cannot be computed."""
    design, construction = arguments["self"], arguments["construction"]
    if metal := metal_of(construction):
        poured, held = design.fresh(construction), design.held()
        mixed = poured + held
        strengths = (quantity(amount / mixed.water, "mol/kg") for amount in (mixed.acid, mixed.salt))
        try:
            from_molality(quantity(mixed.water, "kg"), *strengths, metal)
        except InputError as error:
            raise InputError(f"with what the mats hold, {error}") from None
    refuse_outside_model(arguments, built)


@dataclass(frozen=True)
class Design:
    """What a learner has and plans. ``values`` maps each of ``ITEMS`` and ``REMEMBERED`` to its SI value or an array.

    ``design["fill salt"]`` is a quantity.
    """

    values: dict

    def __getitem__(self, item):
        kind = DESIGN_ITEMS[one_of("item", item, DESIGN_ITEMS)]
        return quantity(self.values[item], kind.unit) if isinstance(kind, Constraint) else self.values[item]

    def varied(self, changes):
        """The design with some values replaced by other quantities, in a dict by item; an InputError for others."""
        expect("changes", changes, dict, '{"fill volume": Q_(37, "mL")}')
        for item in changes:
            one_of(
                "an item of changes",
                item,
                [name for name, kind in DESIGN_ITEMS.items() if isinstance(kind, Constraint)],
            )
        return self._with({item: to_si(item, value, DESIGN_ITEMS[item]) for item, value in changes.items()})

    def _with(self, values):
        return Design(self.values | values)

    varied.si = _with  # for hot loops: SI numbers and arrays that broadcast

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

    def _bottle(self, construction):
        """Volume, acid and salt [SI] poured into one cell and, if it has one, its tank."""
        volume, acid, salt = (self.values[f"fill {what}"] for what in ("volume", "acid", "salt"))
        return volume + (self.values["tank volume"] if construction.endswith("tank") else 0.0), acid, salt

    def fresh(self, construction):
        """What is poured into one cell (and its tank) on top of what is held, an :class:`Electrolyte`."""
        metal = metal_of(construction)
        amounts = zip(self._bottle(construction), ("m^3", "mol/m^3", "mol/m^3"), strict=True)
        return from_molarity(*(quantity(*amount) for amount in amounts), metal)

    def current_path(self, case="nominal"):
        """What the current of one cell passes; see :func:`cellkit.cells.current_path`."""
        return current_path.si(self.block, case, felt=self.values["felt thickness"])

    @takes(refuse=_refuse)
    def cell(self, construction):
        """One cell of a construction, as filled.

        Parameters
        ----------
        construction : str
            One of ``CONSTRUCTIONS``. ``"lead"`` is the cell as it was; copper and zinc get what is poured in and what
            is held; the carbon wrap only adds its mass; a tank adds solution to what is poured in, and its own mass at
            the level of the block. The tank's pump and the power that it draws are left out.

        Returns
        -------
        Cell

        Raises
        ------
        InputError
            For an unknown construction, a fill that does not dissolve or leaves the activity model (NaN in ``.si``).
        """
        block, values, metal = self.block, self.values, metal_of(construction)
        if metal is None:
            before = Block.lead_cell.si(block)
            wrap = carbon_wrap.si(self.current_path(), values["carbon wrap"]).mass if construction != "lead" else 0.0
            return replace(before, negative_mass=before.negative_mass + wrap)
        mixed = from_molarity.si(*self._bottle(construction), metal) + self.held()
        per_water = mixed.acid / mixed.water, mixed.salt / mixed.water
        filled = from_molality.si(mixed.water, *per_water, metal, mixed.temperature)
        most = felt_capacity.si(metal, self.current_path().area, values["felt thickness"], fill=values["felt fill"])
        built = Block.rebuilt_cell.si(block, filled, values["new negative plates"], most)
        tank = values["tank and tubing"] if construction.endswith("tank") else 0.0
        kept = built.utilisation * values["charge kept by positives"]
        return replace(built, utilisation=kept, other=built.other + tank)


def read_design(name):
    """Read a design.

    Parameters
    ----------
    name : str or path
        The learner's own CSV, or the name of a file in ``data/bench``; see :func:`cellkit.tables.read_items`. One
        row for each of ``ITEMS``: those of a tear-down list, then those of the plan, per cell where that matters.

    Returns
    -------
    Design

    Raises
    ------
    InputError
        Naming the row, as :func:`cellkit.cells.read_block` does.

    Examples
    --------
    >>> design = read_design("otter_lane_design.csv")
    >>> f"{design.cell('zinc').specific_energy('block'):.0f~P}"
    '29 Wh/kg'
    """
    found, where = read_items(name, DESIGN_ITEMS)
    kinds = {item: DESIGN_ITEMS[item] for item in found}
    values = {
        item: given.to(kinds[item].unit).magnitude if isinstance(kinds[item], Constraint) else given
        for item, given in found.items()
    }
    checked({item: values[item] for item in BLOCK_ITEMS}, where)
    return Design(values | REMEMBERED)
