"""What a rebuild costs: a price list of the learner's own, the bill of each construction, and money per watt-hour."""

from cellkit.cells.cell import Cell
from cellkit.chemistry.recipe import weigh_out
from cellkit.designs.design import EXAMPLE, Design, metal_of
from cellkit.tables.lists import read_items
from cellkit.units import InputError, expect, non_negative, ureg

_PER_MASS, _SUM = non_negative("money/kg", "14,money/kg"), non_negative("money", "5,money")
PRICES = {
    "copper crystals": _PER_MASS,
    "zinc crystals": _PER_MASS,
    "stock acid": _PER_MASS,
    "distilled water": _PER_MASS,
    "felt plates": non_negative("money/m^2", "260,money/m^2"),
    "carbon wrap": _PER_MASS,
    "tank and tubing": _SUM,
    "consumables": _SUM,
    "scrap lead": _PER_MASS,
    "new block": _SUM,
}


def read_prices(name):
    """Read a price list; see :func:`cellkit.tables.read_items` for the form of the file.

    Parameters
    ----------
    name : str or path
        The learner's own CSV, or the name of a file in ``data/bench``; one row for each of ``PRICES``.

    Returns
    -------
    dict of str to Quantity

    Raises
    ------
    InputError
        Naming the row.

    Examples
    --------
    >>> f"{read_prices('otter_lane_prices.csv')['scrap lead']:.2f~P}"
    '0.90 money/kg'
    """
    return read_items(name, PRICES)[0]


def _masses(design, construction):
    """Mass [kg], area [m²] or number of what is bought for one cell, by item of the price list."""
    cell, metal = Design.cell.si(design, construction), metal_of(construction)
    if metal is None:
        wrap = cell.negative_mass - Design.cell.si(design, "lead").negative_mass
        return {"carbon wrap": wrap} if construction != "lead" else {}
    crystals = f"{metal} crystals"
    poured = weigh_out.si(
        design.fresh(construction), design[crystals], None, design.values["purity"], design.values["stock acid"]
    )
    bought = {crystals: poured.crystals, "stock acid": poured.stock_acid, "distilled water": poured.water}
    bought["felt plates"] = design.current_path().area
    return bought | ({"tank and tubing": 1} if construction.endswith("tank") else {})


def bill(design, prices, construction):
    """What the whole block of a construction costs, part by part: cells × amount × price, less the lead returned.

    Parameters
    ----------
    design : Design
    prices : dict of str to Quantity
        From :func:`read`.
    construction : str
        One of :data:`cellkit.designs.CONSTRUCTIONS`. The unmodified block is bought new; the others start from one
        that is there for nothing.

    Returns
    -------
    dict of str to Quantity [money]
        Copper and zinc rebuilds return their lead negatives to the scrapyard, as money below zero. Work, tools, the
        charger and a tank's pump are not in it.

    Raises
    ------
    InputError
        As :meth:`cellkit.designs.Design.cell`, or for prices that are not a price list.

    Examples
    --------
    >>> from cellkit.designs import read_design
    >>> plan, prices = read_design("otter_lane_design.csv"), read_prices("otter_lane_prices.csv")
    >>> f"{sum(bill(plan, prices, 'copper').values()):.1f~P}"
    '17.0 money'

    References
    ----------
    Arithmetic.
    """
    if not isinstance(prices, dict) or set(prices) != set(PRICES):
        raise InputError(
            'prices are no price list; read one with cellkit.designs.read_prices("otter_lane_prices.csv").'
        )
    expect("design", design, Design, EXAMPLE).cell(construction)
    if construction == "lead":
        return {"new block": prices["new block"].to("money")}
    units = {"felt plates": "m^2", "tank and tubing": ""}
    parts = {
        item: (design.block.cells * ureg.Quantity(amount, units.get(item, "kg")) * prices[item]).to("money")
        for item, amount in _masses(design, construction).items()
    }
    parts["consumables"] = prices["consumables"].to("money")
    if metal_of(construction):
        parts["scrap lead"] = -(design["negative plates"] * prices["scrap lead"]).to("money")
    return parts


def cost_per_energy(design, prices, construction):
    """The :func:`bill` over the energy of one discharge of the whole block at rest voltage.

    Parameters
    ----------
    design : Design
    prices : dict of str to Quantity
    construction : str

    Returns
    -------
    Quantity [money/Wh]
        Of one discharge. Divided by the number of cycles that the block lives, which nothing here predicts, it is the
        price of a watt-hour delivered.

    Raises
    ------
    InputError
        As :func:`bill`.

    Examples
    --------
    >>> from cellkit.designs import read_design
    >>> plan, prices = read_design("otter_lane_design.csv"), read_prices("otter_lane_prices.csv")
    >>> f"{cost_per_energy(plan, prices, 'lead').to('money/Wh'):.2f~P}"
    '0.78 money/Wh'

    References
    ----------
    Arithmetic.
    """
    total = sum(bill(design, prices, construction).values())
    energy = design.block.cells * Cell.energy.si(design.cell(construction))
    return (total / ureg.Quantity(energy, "J")).to("money/Wh")
