"""The build sheet of one construction: weigh, mix, fill, charge, expect, write down, hand in, on one page."""

from cellkit.cells.load import carbon_wrap
from cellkit.chemistry.properties import heat_of_dilution
from cellkit.chemistry.recipe import neutralise, weigh_out
from cellkit.chemistry.solution import Electrolyte
from cellkit.designs.design import Design
from cellkit.designs.review import STOP, Review, Span, times
from cellkit.show.sheet_page import Line, Section, Sheet
from cellkit.units import expect, quantity

FORMULAS = {"copper": "copper sulfate", "zinc": "zinc sulfate"}


def build_sheet(design, construction, title=None):
    """The :class:`~cellkit.show.Sheet` of a design.

    Parameters
    ----------
    design : Design
        From :func:`cellkit.designs.read_design`.
    construction : str
        One of ``cellkit.designs.CONSTRUCTIONS``.
    title : str or None
        Your name for it, up to 80 characters, shown as you write it.

    Returns
    -------
    Sheet
        ``.text`` to read, ``.picture()`` to look at, ``.save("my_cell.pdf")`` to print. Its predictions are those of
        :class:`cellkit.designs.Review`, with the same limits; its masses are those of the list.

    Raises
    ------
    InputError
        For an unknown construction, a title that is too long, or a design that cannot be computed.

    Examples
    --------
    >>> from cellkit.designs import read_design
    >>> sheet = build_sheet(read_design("otter_lane_design.csv"), "zinc", "Footpath counter")
    >>> print(sheet.text.splitlines()[0])
    Footpath counter
    """
    expect("design", design, Design, 'design.read("otter_lane_design.csv")')
    review = Review(design, construction)
    cells, cell = design.block.cells, review.cell
    volts = _between(Span(*(cells * volts for volts in review.under_load(0.5))), 1)
    summary = (
        f"{construction[0].upper()}{construction[1:]}, {cells} cells in series. Expected: up to {cell.capacity:.1f~P}, "
        f"limited by {cell.limiting}; {volts} under {_load(review)}, half full. Predictions, not measurements: the "
        "lessons say what they are worth. Local codes and licensed practice come first."
    )
    steps = (_weigh, _mix, _fill) if review.rebuilt else (_weigh, _close)
    left, right = (_ask, *steps, _write_down), (_charge, _expect, _hand_in)
    columns = tuple(tuple(section for part in parts if (section := part(review))) for parts in (left, right))
    return Sheet(f"Build sheet: {construction}" if title is None else title, summary, columns)


def _grams(kilograms):
    return f"{quantity(kilograms, 'kg -> g'):.1f~P}"


def _load(review):
    return f"{review.design['load current'].to('mA'):.3g~P}"


def _recipe(review):
    """What to weigh out for all cells."""
    design = review.design
    fresh = times(design.fresh(review.construction), design.block.cells)
    crystals = design[f"{review.cell.negative} crystals"]
    return weigh_out(fresh, crystals, None, design["purity"], design["stock acid"])


def _ask(review):
    doubts = [Line("plain", f"{f.question} No: {f.because}.") for f in review.findings() if not f.yes]
    return Section("Ask first", tuple(doubts)) if doubts else None


def _weigh(review):
    values, block = review.design.values, review.design.block
    lead = Line("caution", "lead dust is poison. Keep plates wet; gloves on, wash hands, no food, no children.")
    positives = Line("row", "positives, drained, all", _grams(values["positive plates"]), "g")
    if not review.rebuilt:
        rows = [positives, Line("row", "lead negatives, drained, all", _grams(values["negative plates"]), "g")]
        if review.construction != "lead":
            wrap = carbon_wrap(review.design.current_path(), review.design["carbon wrap"]).mass * block.cells
            rows.append(Line("row", "carbon of the wraps, dry", f"{wrap:.1f~P}", "g"))
        rows.append(Line("row", "acid in all cells", _grams(values["electrolyte"]), "g"))
        return Section("Weigh", (lead, *rows))
    weighed, metal = _recipe(review), review.cell.negative
    crystals = f"{FORMULAS[metal]}, {review.design[f'{metal} crystals']}"
    rows = (
        positives,
        Line("row", "new negatives, dry, all", _grams(block.cells * values["new negative plates"]), "g"),
        Line("row", "water, distilled", f"{weighed.water:.1f~P}", "g"),
        Line(
            "row",
            f"battery acid, {review.design['stock acid'].to('percent'):.0f~P}",
            f"{weighed.stock_acid:.1f~P}",
            "g",
        ),
        Line("row", crystals, f"{weighed.crystals:.1f~P}", "g"),
    )
    return Section("Weigh for all cells", (lead, *rows, Line("plain", "1 % off is near enough. Write what you see.")))


def _mix(review):
    weighed, stock = _recipe(review), review.design["stock acid"]
    water = Line("step", f"All the water, {weighed.water:.0f~P}, into a wide jar of glass or polyethylene.")
    dissolve = Line("step", "Crystals in, little by little. Stir until clear. Let it cool.")
    label = Line("step", "Label: what, how strong, date, poison, corrosive. Out of reach of children.")
    if weighed.stock_acid.magnitude == 0:
        return Section("Mix", (Line("caution", "goggles and gloves on."), water, dissolve, label))
    warm = heat_of_dilution(weighed.stock_acid, weighed.water, stock).final
    caution = Line(
        "caution",
        "goggles, gloves, apron. Acid into water, never water into acid. Running water near for eyes and skin, at "
        "once and long; baking soda only for the bench.",
    )
    pour = f"The acid, {weighed.stock_acid:.0f~P}, slowly into the water, stirring. It warms to about {warm:.0f~P}."
    return Section("Mix", (water, caution, Line("step", pour), dissolve, label))


def _fill(review):
    design = review.design
    fresh, tank = design.fresh(review.construction), review.construction.endswith("tank")
    each = fresh.volume - design["tank volume"].to("mL") if tank else fresh.volume
    mass = each * fresh.density
    steps = [
        f"Press each cell until it holds {_grams(design.values['held electrolyte'])} of old acid. Keep the rest.",
        f"Pour {each:.0f~P} ({mass.to('g'):.1f~P}) into each cell, slowly, until the mat has drunk it.",
    ]
    if tank:
        steps[1:1] = ["Tank and tubes: a day with plain water on a tray. No drop may come out."]
        steps.append(f"Into the tank go {design['tank volume'].to('mL'):.0f~P} for each cell.")
    steps.append("Wait an hour, so that mat and felt are soaked.")
    caution = Line(
        "caution",
        "goggles stay on. Rings off, a fuse of twice the current, before anything is connected.",
    )
    return Section("Fill", (caution, *(Line("step", step) for step in steps)))


def _close(review):
    if review.construction == "lead":
        steps = ["Leave it closed if you can: this is the block to compare with. Masses are those of one taken apart."]
    else:
        pressed = Electrolyte.mass.si(review.pressed_out())
        steps = [
            "Wrap each negative in its carbon, tight and even. Nothing may touch a positive.",
            f"Pour the {_grams(pressed)} of acid that were pressed out back in, in equal parts.",
            "Wait an hour, then read the volts of each cell at rest.",
        ]
    caution = Line(
        "caution", "goggles and gloves where acid is poured. Rings off, a fuse of twice the current in the lead."
    )
    return Section("Put together", (caution, *(Line("step", step) for step in steps)))


def _charge(review):
    first, air, current = review.first, review.air, review.charging_current
    gas = Line(
        "caution",
        f"a charging cell gives gas that explodes. Vents open, at least {air:.2f~P} of fresh air (EN IEC 62485-2, "
        "from memory), no flame, never a closed box. Charger off at the wall before a clip comes off.",
    )
    if not review.rebuilt:
        full, _ = review.charging()
        steps = [
            f"Charge with {current:.0f~P} or less.",
            f"Stop at {full:.2f~P} for each cell (common practice, no source).",
        ]
        if review.construction != "lead":
            steps.append("Carbon beside lead makes more hydrogen (from memory): more air is better.")
        return Section("Charge", (gas, *(Line("step", step) for step in steps)))
    stop, (low, high) = STOP * first.charge, review.charging(first=True)
    cells, most = review.design.block.cells, review.first_charge_limit
    steps = [
        f"Supply at {current:.0f~P} and at most {cells * most:.1f~P} for the {cells} cells in series.",
        f"Stop after {stop:.2f~P}, {(stop / current).to('hour'):.0f~P}: {100 * STOP:.0f} % of the "
        f"{first.charge:.2f~P} that the negatives need. Each cell then shows about {low:.2f~P} to {high:.2f~P}.",
        f"Stop at once above {most:.2f~P} in any cell, or at a quick rise: the metal ions are gone. "
        "A cell far below the others has a short.",
    ]
    if first.oxygen.magnitude:
        steps.append(
            f"The positives are full already: {first.oxygen_charge:.2f~P} make {first.oxygen_volume:.1f~P} of oxygen "
            f"in each cell, out of {first.water:.1f~P} of water. Top up with distilled water."
        )
    low, high = review.charging()
    steps.append(f"Later charges end at about {low:.2f~P} to {high:.2f~P} a cell, or when what came out is back in.")
    if review.cell.negative == "zinc":
        steps.append("Zinc makes hydrogen in acid day and night: never shut it in.")
    return Section("First charge", (gas, *(Line("step", step) for step in steps)))


def _between(span, digits, start=""):
    """A span as words, from the poor to the good end."""
    low, high = (f"{end.magnitude:.{digits}f}" for end in (span.worst, span.best))
    if high == "nan":
        return "none: too few volts"
    low = "none" if low == "nan" else low
    return f"{start}{f'{low} to ' if low != high else ''}{high} {span.best.units:~P}"


def _expect(review):
    cell, load = review.cell, _load(review)
    rows = []
    for depth, name in ((0.1, "nearly full"), (0.9, "nearly empty")):
        rest, unsure = cell.rest_voltage(depth), cell.rest_voltage_uncertainty(depth).to("V")
        rows.append(Line("row", f"at rest, {name}", f"{rest.magnitude:.2f} ± {unsure:.2f~P}", "V"))
    rows += [
        Line("row", f"under {load}, half full", _between(review.under_load(0.5), 2), "V"),
        Line("row", f"charge, limited by {cell.limiting}", f"up to {cell.capacity:.1f~P}", "Ah"),
        Line("row", f"run at {load}", _between(review.run(), 0, "up to "), "h"),
        Line("row", "energy per mass of block, at rest", f"up to {cell.specific_energy('block'):.0f~P}", "Wh/kg"),
        Line(
            "plain",
            f"Volts of one cell. Stop the discharge at {review.end:.2f~P} a cell, sooner if they fall fast.",
        ),
        Line("plain", "Ranges: poor to good end of contacts and plates. Up to: before losses that are not counted."),
    ]
    return Section("Expect", tuple(rows))


def _write_down(review):
    blanks = {
        "date and name": "",
        "room temperature": "°C",
        "block, finished": "g",
        "first charge": "Ah",
        "first discharge": "Ah",
        "volts after a week at rest": "V",
    }
    return Section("Write down as you go", tuple(Line("row", what, unit=unit) for what, unit in blanks.items()))


def _hand_in(review):
    rule = Line("caution", "nothing down the drain, nothing in the bin. Local rules decide.")
    if not review.rebuilt:
        return Section(
            "Hand in", (rule, Line("plain", "The block, whole, at the end of its life: to a battery take-back."))
        )
    lead = _grams(review.design.values["negative plates"])
    acid, spent = review.pressed_out(), review.spent()
    old, new = (neutralise(liquid) for liquid in (acid, spent))
    lines = (
        Line("plain", f"{lead} of lead plates, rinsed, damp, in a bag that can breathe: battery take-back."),
        Line(
            "plain",
            f"{acid.volume:.0f~P} of old acid, later {spent.volume:.0f~P} of spent electrolyte, rinse water, wipes, "
            "gloves: labelled, to the hazardous-waste point.",
        ),
        Line(
            "plain",
            f"If they want it neutral: {old.bicarbonate:.0f~P} of baking soda for the old acid, up to "
            f"{new.bicarbonate:.0f~P} for the spent, spoon by spoon in an open bowl, goggles on. It foams: "
            f"{old.gas_volume:.0f~P} and {new.gas_volume:.0f~P} of CO₂. {review.cell.negative.capitalize()} stays in "
            "it and stays poison.",
        ),
    )
    return Section("Hand in", (rule, *lines))
