"""The build sheet of one construction: weigh, mix, fill, charge, expect, write down, hand in, on one page.

It is written as lines that begin with a mark; a page of HTML and plain text are made from them.
"""

import re
from html import escape
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

import numpy as np

from cellkit.cells.load import carbon_wrap
from cellkit.chemistry.properties import heat_of_dilution
from cellkit.chemistry.recipe import neutralise
from cellkit.chemistry.side_reactions import side_reaction
from cellkit.chemistry.solution import Electrolyte
from cellkit.designs.design import EXAMPLE, LEAD_EMPTY, Design
from cellkit.designs.review import Review, Span
from cellkit.show.drawings import plates_in_turn
from cellkit.tables.saving import write
from cellkit.units import InputError, expect, one_of, quantity

# "&" is the sheet. In a notebook, which may be dark, it lies among other things: no rule may reach beyond it, and it
# has to say what the notebook would otherwise say for it.
STYLE = """
& { font: 1rem/1.35 sans-serif; color: #000; background: #fff; max-width: 62rem; margin: auto; padding: 1em;
  overflow-wrap: anywhere; container-type: inline-size; }
& header > :first-child { font: bold 1.4em/1.2 sans-serif; margin: 0 0 .3em; }
& p { margin: .25em 0; }
& .columns { columns: 20em 2; column-gap: 2em; }
& .caution, & li, & tr { break-inside: avoid; }
& section > :first-child, & .caution { break-after: avoid; }
& section > :first-child { font: bold 1.1em/1.3 sans-serif; margin: .7em 0 .3em; border-bottom: 1px solid #000; }
& .caution { border: 1.5px solid #000; background: #e9e9e9; padding: .15em .4em; font-weight: bold;
  -webkit-print-color-adjust: exact; print-color-adjust: exact; }
& ol { margin: .25em 0; padding-left: 1.6em; }
& table { width: 100%; border-spacing: 0; border-collapse: separate; table-layout: auto; margin: 0; font: inherit; }
& th, & td { text-align: left; vertical-align: bottom; padding: .15em .5em .15em 0; border: 0;
  color: #000; background: #fff; }
& th { font-weight: normal; }
& td { font-weight: bold; white-space: nowrap; }
& td.blank { position: relative; width: 20%; text-align: right; font-weight: normal; border-bottom: 1px solid #000; }
& td.blank span { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
@container (max-width: 19rem) {
  & td { white-space: normal; }
}
@media print {
  & { font-size: 8.3pt; line-height: 1.2; max-width: none; padding: 0; container-type: normal; }
  & th, & td { padding-top: .07em; padding-bottom: .07em; }
  & td.blank { width: 24%; }
  & section > :first-child { margin: .5em 0 .15em; }
  & p, & ol { margin: .12em 0; }
}
""".replace("&", "article.build-sheet.build-sheet")  # twice: it outweighs what notebooks say of theirs
PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{}</title><style>@page {{ margin: 8mm; }} body {{ margin: 0; background: #fff; }}</style></head>
<body><main>{}</main></body></html>
"""


BLANK = '<td class="blank"><span>{}:</span> {}</td></tr>'
FORMS = {  # of a line by the mark that it begins with, as plain text and as HTML; "#" begins a section
    "!": ("Caution: {0}", '<p class="caution"><strong>Caution:</strong> {0}</p>'),
    "+": ("{step}. {0}", '<li value="{step}">{0}</li>'),
    "-": ("{0}", "<p>{0}</p>"),
    "|": (  # a label, the value expected and its unit
        "{0}: {1}, measured: ________\u00a0{2}",
        '<tr><th scope="row">{0}</th><td>{1}</td>' + BLANK.format("measured", "{2}"),
    ),
    "_": ("{0}: ________\u00a0{1}", '<tr><th scope="row">{0}</th>' + BLANK.format("to write in", "{1}")),
}
AROUND = {"+": "ol", "|": "table", "_": "table"}  # several lines of a kind, in HTML


def _read(marked):
    """Heading and lines of each section that has any, a line as its mark, the number of its step, and its parts.

    A line without a mark goes on with the one before.
    """
    sections = []
    for entry in re.split(r"\n\s*(?=[#!+|_-] )", marked)[1:]:
        mark, parts = entry[0], [" ".join(part.split()) for part in entry[1:].split("|")]
        if mark == "#":
            step, lines = 0, []
            sections.append((*parts, lines))
        else:
            step += mark == "+"
            lines.append((mark, step, parts))
    return [section for section in sections if section[1]]


class Sheet(NamedTuple):
    """What stands on one page: a title, a summary and marked lines. It shows itself in a notebook."""

    title: str
    summary: str
    marked: str

    @property
    def text(self):
        """The whole sheet as lines of plain text, in reading order."""
        said = [self.title, self.summary]
        for heading, lines in _read(self.marked):
            said += ["", heading.upper()]
            said += [FORMS[mark][0].format(*parts, step=step).rstrip() for mark, step, parts in lines]
        return "\n".join(said)

    @property
    def html(self):
        """A whole page: two columns on paper, A4 or Letter, and one on a phone."""
        return PAGE.format(escape(self.title), self._article(1))

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        return self._article(2)  # its title lies below that of the notebook

    def _article(self, level):
        return (
            f'<article class="build-sheet">\n<style>{STYLE}</style>\n'
            f"<header><h{level}>{escape(self.title)}</h{level}>\n<p>{escape(self.summary)}</p></header>\n"
            f'<div class="columns">{_sections(escape(self.marked), level + 1)}</div>\n</article>'
        )

    def save(self, path, replace=False):
        """Write the sheet to a file and say where it is; no file is replaced unless ``replace`` is True.

        The name ends in ``.html`` to print or to read on a phone, or in ``.txt`` for the words alone. The folder has to
        be there; ``~`` is your home folder.
        """
        expect("replace", replace, bool, "True")
        forms = {".html": self.html, ".txt": self.text + "\n"}
        kind = one_of("the ending of path", Path(str(path)).suffix.lower(), forms)
        return write(path, forms[kind].encode("utf-8", "replace"), replace)  # half a letter in the name of a list


def _sections(marked, level):
    """Sections of marked lines as HTML, under headings of this level; no number is parted from its unit."""
    html = []
    for heading, lines in _read(marked):
        html.append(f"<section>\n<h{level}>{heading}</h{level}>")
        for around, group in groupby(lines, key=lambda line: AROUND.get(line[0])):
            inside = "".join(FORMS[mark][1].format(*parts, step=step) for mark, step, parts in group)
            html.append(f"<{around}>{inside}</{around}>" if around else inside)
        html.append("</section>")
    return re.sub(r"(?<=\d) (?=(?:°C|mm|mL|[km]?[AghLVW]h?)\b|%)", "\u00a0", "\n".join(html))


def build_sheet(design, construction):
    """The :class:`Sheet` of a design and one of ``cellkit.designs.CONSTRUCTIONS``.

    Its predictions are those of :class:`cellkit.designs.Review`, with the same limits; its masses those of the list.
    """
    expect("design", design, Design, EXAMPLE)
    review = Review(design, construction)
    name, cells, cell = review.chosen.name, design.block.cells, review.cell
    build, charge, hand_in = (_rebuilt if review.rebuilt else _left_alone)(review)
    doubts = "\n".join(f"- {asked.question} No: {asked.because}." for asked in review.findings() if not asked.yes)
    load, back = f"{design['load current'].to('mA'):.5g~P}", review.charge_returned().best.to("").magnitude
    under_load = Span(*(cells * volts for volts in review.under_load(0.5)))
    charged = f"up to {back * cell.capacity:.1f~P}"
    ended = cell.limiting if back else "what hydrogen takes"
    ahead = f"It beats the block as it was in {review.chance()}. " if review.rebuilt else ""
    listed = f"List: {design.listed_in}. " if design.listed_in else ""
    summary = (
        f"{name.capitalize()}, cells in series: {cells}. Expected: {charged}, limited by {ended}; "
        f"{_between(under_load, 1)} under {load}, half full. {ahead}Predictions, not measurements: the lessons say "
        f"what they are worth. {listed}Local codes and licensed practice come first."
    )
    full, empty, whole = (
        f"{n * cell.rest_voltage(depth).magnitude:.2f} ± {n * cell.rest_voltage_uncertainty(depth).to('V'):.2f~P}"
        for n, depth in ((1, 0.1), (1, 0.9), (cells, 0.1))
    )
    week = "not predicted"
    if rested := review.after_a_week():
        week = _between(Span(*(cells * volts for volts in rested)), 2, nothing=("flat", "nothing left"))
    marked = f"""
        # Ask first
        {doubts}
        {build}
        {charge}
        # Expect
        | cell at rest, nearly full | {full} | V
        | cell at rest, nearly empty | {empty} | V
        | block at rest, nearly full | {whole} | V
        | block under {load}, half full | {_between(under_load, 2)} | V
        | block after a week at rest | {week} | V
        | charge that comes back | {charged} | Ah
        | run at {load} | {_between(Span(*(back * time for time in review.run())), 0, "up to ")} | h
        | energy per mass of block | up to {back * cell.specific_energy("block"):.0f~P} | Wh/kg
        - Stop the discharge at {review.end_voltage:.2f~P} a cell, {cells * review.end_voltage:.2f~P} of the block,
        sooner if they fall fast. Ranges: poor to good end. Up to: losses that are not counted come off.
        # Write down as you go
        _ date and name |
        _ room temperature | °C
        _ block, finished | g
        _ first charge | Ah
        _ first discharge | Ah
        # Hand in
        ! nothing down the drain, nothing in the bin. Local rules decide.
        {hand_in}"""
    return Sheet(f"Build sheet: {name}", summary, marked)


LIMIT = side_reaction("lower explosive limit of hydrogen").low
RINSE = "Eye or skin: running water at once, at least 30 minutes, while somebody else calls for help"


def _grams(kilograms):
    return f"{quantity(kilograms, 'kg -> g'):.1f~P}"


def _between(span, digits, start="", nothing=("none", "too few volts")):
    """A span as words, from the poor to the good end; ``nothing`` is a word for an end that is not there, and why."""
    poor, good = (end.magnitude for end in (span.worst, span.best))
    if np.isnan(good):
        return ": ".join(nothing)
    low, high = (nothing[0] if np.isnan(end) else f"{end:.{digits}f}" for end in (poor, good))
    return f"{start}{f'{low} to ' if low != high else ''}{high} {span.best.units:~P}"


def _fuse(review):
    """What comes before anything is connected, and which fuse."""
    rule = "just above the load and below what the wire carries, rated for direct current"
    start = "Rings off. Before anything is connected: a fuse"
    try:
        fuse, wire, most = review.fuse()
    except InputError as error:
        return f"{start} {rule}; {error}."
    return f"{start} of {fuse:.3g~P} at one pole, {rule}: {wire:.3g~P} of copper carries {most:.3g~P}."


def _gas(review):
    """The caution about gas, wherever something is charged."""
    rate, gas = review.hydrogen_bound()
    hours, air = (gas / rate).to("hour").magnitude, review.ventilation_rate
    return f"""! a charging cell gives gas that explodes: up to {gas:.1f~P} of hydrogen, 4 % of the air in a box of
        {(gas / LIMIT).to("L"):.0f~P}{" within minutes" if hours < 1 else f" after {hours:.0f} hours"}. Never closed in.
        At least {float(f"{air.m:.3g}"):,g} {air.u:~P} of fresh air (EN IEC 62485-2, from memory), no flame. Charger
        off at the wall before a clip comes off."""


def _rebuilt(review):
    """What to do with felt in place of the lead negatives: to build, to charge for the first time, to hand in."""
    design, values, cells = review.design, review.design.values, review.design.block.cells
    metal, fresh, current = review.chosen.metal, design.fresh(review.construction), review.charging_current
    flooded, has_tank = values["kind of block"] == "flooded", review.chosen.tank
    tank = design["tank volume"].to("mL") if has_tank else 0 * fresh.volume
    each = fresh.volume - tank
    danger, salt, sign = "", "", " or at a quick rise: the metal ions are gone."
    if review.corrodes:
        gone, sign = review.shelf_time(), f". Go by the ampere-hours: {metal} shows no rise when its ions end."
        danger = f"""! {metal} makes hydrogen in acid day and night: all of it within {gone.worst.to("minute"):.0f~P} to
        {gone.best:.0f~P}. Outdoors, never shut in. In air it heats up: keep it wet."""
        salt = """! only laboratory-grade salt and acid, outdoors, no bare lead alloy in the liquid: arsenic and
        antimony give deadly gas."""
    build = f"""{_opened(review)}
        | positives, drained, all | {_grams(values["positive plates"])} | g
        | new negatives, dry, all | {_grams(cells * values["new negative plates"])} | g
        {_mixed(review, fresh, salt)}
        # Build
        {_plates(review)}
        # Fill
        ! shield, gloves, apron stay on. {_fuse(review)}
        + {"Pour off each cell and let it drip" if flooded else "Press each cell"} until it holds
        {_grams(values["held electrolyte"])} of old acid. Keep the rest.
        {"+ Tank and tubes: a day with plain water on a tray. No drop may come out." if has_tank else ""}
        + Pour {each:.0f~P} ({(each * fresh.density).to("g"):.1f~P}) into each cell, slowly{
        "; it has to cover the plates. Mark the level" if flooded else ", until the mat has drunk it"
    }.
        {f"+ Into the tank go {tank:.0f~P} for each cell." if has_tank else ""}
        + Wait an hour, so that {"the felt is" if flooded else "mat and felt are"} soaked."""
    first, most = review.first_charge, review.first_charge_limit
    share, (low, high) = 1 - review.full_depth(), review.charging(first=True)
    stop = share * first.charge
    oxygen = f"""+ The positives are full already: {first.oxygen_charge:.2f~P} make {first.oxygen_volume:.1f~P} of
        oxygen in each cell, out of {first.water:.1f~P} of water. Top up with distilled water."""
    charge = f"""# First charge
        {_gas(review)}
        {danger}
        + Supply at {current:.0f~P} and at most {cells * most:.1f~P} for all cells in series.
        + Stop after {stop:.2f~P}, {(stop / current).to("hour"):.0f~P}: {100 * share:.0f} % of the {first.charge:.2f~P}
        that the negatives need. Each cell then shows about {low:.2f~P} to {high:.2f~P}.
        + Earlier, and at once, above {most:.2f~P} in any cell{sign} A cell far below the others has a short; warm, it
        is off at once.
        {oxygen if first.oxygen.magnitude else ""}
        {_later(review)}"""
    return build, charge, _handed_in(review)


def _opened(review):
    """How the block is opened, as cautions and steps."""
    volts = review.design.block.cells * LEAD_EMPTY
    flooded = review.design.values["kind of block"] == "flooded"
    gel = "" if flooded else " A gel cannot be wrung: leave such a block closed."
    state = f"+ Before: discharge the block to {volts:.3g} V ({LEAD_EMPTY} V a cell), then open it."
    if review.design.block.opened_charged:
        state = "! charged negatives heat up in air: under water in a rigid tub at once, never dried."
    return f"""# Open, weigh all cells
        ! lead dust and acid: face shield, gloves, apron. Plates stay wet. Wash hands; no food, no children. {RINSE};
        baking soda only for the bench.
        {state}{gel}"""


def _mixed(review, fresh, salt):
    """Rows to weigh and steps to mix what is poured into all cells."""
    design, metal = review.design, review.chosen.metal
    crystals, stock = design[f"{metal} crystals"], design["stock acid"]
    weighed = design.recipe(review.construction)
    acid = "! shield and gloves stay on."
    if weighed.stock_acid.magnitude:
        warm = heat_of_dilution(weighed.stock_acid, weighed.water, stock).final
        acid = f"""! face shield, gloves, apron. Acid into water, never water into acid.
        + The acid, {weighed.stock_acid:.0f~P}, slowly into the water, stirring. It warms to about {warm:.0f~P}."""
    return f"""| water, distilled | {weighed.water:.1f~P} | g
        | battery acid, {stock.to("percent"):.0f~P} | {weighed.stock_acid:.1f~P} | g
        | {metal} sulfate, {crystals} | {weighed.crystals:.1f~P} | g
        - 1 % off is near enough.
        # Mix
        + All the water, {weighed.water:.0f~P}, into a wide jar of glass or polyethylene.
        {acid}
        {salt}
        + Crystals in, little by little. Stir until clear. Cool, at 25 °C, a hydrometer in it reads
        {fresh.density.to("g/mL"):.3f~P}.
        + Label: {metal} sulfate {fresh.salt_molarity:.2f~P}, sulfuric acid {fresh.acid_molarity:.2f~P}, date, poison,
        corrosive. Out of reach of children."""


def _plates(review):
    """What to build of felt, as steps."""
    design, block = review.design, review.design.block
    sides = plates_in_turn(block)
    negatives, order = sides.count("negative"), " ".join(side[0].upper() for side in sides)
    size = " × ".join(f"{1000 * block.values[f'plate {side}']:.0f}" for side in ("width", "height"))
    sheet = design.values.get("new plate thickness")
    thick = f", {1000 * sheet:.2g} mm in all" if sheet else ""
    return f"""! pressed hot, polyethylene gives fumes: outdoors. Ends of fibre and mesh prick: gloves.
        + {negatives * block.cells} new plates, {negatives} a cell, {size} mm: mesh between sheets of carbon-filled
        polyethylene{thick}; felt of {design["felt thickness"].to("mm"):.1f~P} on the {block.faces:.0f} faces of a cell
        that look at a positive.
        + Stack {order} (N new, P positive), a separator between each two.
        + Join the mesh to the old strap above the liquid. Cover bare lead and steel that liquid can reach."""


def _later(review):
    """Where every charge after the first one ends."""
    kept, (least, most) = review.current_efficiency().nominal.to("").magnitude, review.charging()
    if not kept:
        return f"- By published rates no {review.chosen.metal} stays on so much felt: do the pilot before this."
    return f"""+ Later charges end at (what came out) / {kept:.2f}, at about {least:.2f~P} to {most:.2f~P} a cell.
        Now and then empty each cell alone, so that all start equal."""


def _handed_in(review):
    """What is left over of a rebuild, and where it goes."""
    acid, spent = review.pressed_out(), review.spent()
    old, new = (neutralise(liquid) for liquid in (acid, spent))
    keeps = "Felt discharged, under water, lid loose: spent, it still gasses." if review.corrodes else ""
    return f"""- {_grams(review.design.values["negative plates"])} of lead plates, and the positives one day, rinsed,
        damp, in a bag that can breathe: battery take-back.
        - {acid.volume:.0f~P} of old acid, later {spent.volume:.0f~P} of spent electrolyte, felt, mats, case, rinse
        water, wipes, gloves: labelled, to the hazardous-waste point. {keeps}
        - To make it neutral: {old.bicarbonate:.0f~P} of baking soda for the old acid, up to
        {new.bicarbonate:.0f~P} for the spent, spoon by spoon outdoors in an open bowl, shield on. It foams:
        {old.gas_volume:.0f~P} and {new.gas_volume:.0f~P} of CO₂. {review.chosen.metal.capitalize()} and nickel
        stay in it: poison."""


def _left_alone(review):
    """The same for a block that keeps its lead negatives, wrapped in carbon or as they are."""
    design, values = review.design, review.design.values
    charge = f"""# Charge
        {_gas(review)}
        + Charge with {review.charging_current:.0f~P} or less.
        + Stop at {review.charging()[0]:.2f~P} for each cell (common practice, no source)."""
    hand_in = "- The block, whole, at the end of its life: to a battery take-back."
    if not review.chosen.wrap:
        build = f"""# Leave it closed
        - This is the block to compare with. Its masses and predictions come from a list of one taken apart.
        | the whole block | {_grams(values["whole block"])} | g
        ! what leaks is acid: gloves on, wash hands. {RINSE}. {_fuse(review)}"""
        return build, charge, hand_in
    wrap = carbon_wrap(design.current_path(), design["carbon wrap"]).mass * design.block.cells
    build = f"""{_opened(review)}
        | lead negatives, drained, all | {_grams(values["negative plates"])} | g
        | carbon of the wraps, dry | {wrap:.1f~P} | g
        | acid in all cells | {_grams(values["electrolyte"])} | g
        # Put together
        ! shield, gloves, apron stay on. {_fuse(review)}
        + Wrap each negative in its carbon, tight and even. Nothing may touch a positive.
        + Pour the {_grams(Electrolyte.mass.si(review.pressed_out()))} of acid that were pressed out back in, in equal
        parts.
        + Wait an hour, then read the volts of each cell at rest."""
    more = "+ Carbon beside lead makes more hydrogen (from memory): more air is better."
    return build, f"{charge}\n        {more}", hand_in
