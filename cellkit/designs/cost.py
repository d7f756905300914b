"""What a rebuild costs: a price list of the learner's own, the bill of each construction, and money per watt-hour."""

from cellkit.cells.cell import Cell
from cellkit.cells.load import carbon_wrap
from cellkit.designs.design import EXAMPLE, Design, construction_named
from cellkit.tables.lists import Optional, read_items
from cellkit.tables.metals import METALS
from cellkit.units import InputError, expect, non_negative, shown, ureg

_PER_MASS, _SUM = non_negative("money/kg", "14,money/kg"), non_negative("money", "5,money")
PRICES = {
    **{f"{metal} crystals": Optional(_PER_MASS, None) for metal in METALS},  # of the metals that are planned
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
    """Read a price list into a dict of quantities: a row for each of ``PRICES``; see :func:`cellkit.tables.read_items`.

    >>> f"{read_prices('osier_yard_prices.csv')['scrap lead']:.2f~P}"
    '0.90 money/kg'
    """
    return read_items(name, PRICES)[0]


def _bought(design, chosen):
    """What is bought for all cells, by item of the price list: quantities of mass, area or number."""
    cells = design.block.cells
    if chosen.wrap:
        return {"carbon wrap": cells * carbon_wrap(design.current_path(), design["carbon wrap"]).mass}
    poured = design.recipe(chosen.key)
    bought = {f"{chosen.metal} crystals": poured.crystals, "stock acid": poured.stock_acid}
    bought["distilled water"] = poured.water
    bought["felt plates"] = ureg.Quantity(cells * design.current_path().area, "m^2")
    return bought | ({"tank and tubing": cells} if chosen.tank else {})


def bill(design, prices, construction):
    """What the whole block of a construction costs: a dict of money by part, cells × amount × price.

    ``prices`` are from :func:`read_prices`. The unmodified block is bought new; the others start from one that is there
    for nothing, and rebuilds return their lead negatives to the scrapyard, as money below zero. Work, tools, the
    charger and a tank's pump are not in it.

    >>> plan, prices = ck.designs.read_design("osier_yard_design.csv"), read_prices("osier_yard_prices.csv")
    >>> f"{sum(bill(plan, prices, 'copper').values()):.1f~P}"
    '17.0 money'
    """
    if not isinstance(prices, dict) or set(prices) != set(PRICES):
        raise InputError(f'prices is {shown(prices)}, no price list; try cellkit.designs.read_prices("my_prices.csv").')
    expect("design", design, Design, EXAMPLE).cell(construction)
    chosen = construction_named(construction)
    if not (chosen.metal or chosen.wrap):
        return {"new block": prices["new block"].to("money")}
    bought = _bought(design, chosen)
    if missing := [item for item in bought if prices[item] is None]:
        raise InputError(f"the price list has no {', '.join(missing)}; add a row such as {missing[0]},14,money/kg.")
    parts = {item: (amount * prices[item]).to("money") for item, amount in bought.items()}
    parts["consumables"] = prices["consumables"].to("money")
    if chosen.metal:
        parts["scrap lead"] = -(design["negative plates"] * prices["scrap lead"]).to("money")
    return parts


def cost_per_energy(design, prices, construction):
    """The :func:`bill` over the energy of one discharge of the whole block at rest voltage.

    Divided by the number of cycles that the block lives, which nothing here predicts, it is the price of a watt-hour
    delivered.

    >>> plan, prices = ck.designs.read_design("osier_yard_design.csv"), read_prices("osier_yard_prices.csv")
    >>> f"{cost_per_energy(plan, prices, 'lead').to('money/Wh'):.2f~P}"
    '0.78 money/Wh'
    """
    total = sum(bill(design, prices, construction).values())
    energy = design.block.cells * Cell.energy.si(design.cell(construction))
    return (total / ureg.Quantity(energy, "J")).to("money/Wh")
