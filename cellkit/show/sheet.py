"""The build sheet of one construction: weigh, mix, fill, charge, expect, write down, hand in, on one page.

A :class:`Sheet` holds sections of lines; a page of HTML, plain text and a drawing of the text are made from them.
"""

import io
import re
import textwrap
from dataclasses import dataclass
from functools import cache
from html import escape
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font

from cellkit.cells.load import carbon_wrap
from cellkit.chemistry.properties import heat_of_dilution
from cellkit.chemistry.recipe import neutralise
from cellkit.chemistry.side_reactions import side_reaction
from cellkit.chemistry.solution import Electrolyte
from cellkit.designs.design import Design
from cellkit.designs.review import Review, Span
from cellkit.tables.saving import write
from cellkit.units import InputError, expect, quantity, shown

LONGEST = 80  # characters of a title
SUFFIXES = (".html", ".pdf", ".png", ".txt")

# "&" is the sheet. In a notebook, which may be dark, it lies among other things: no rule may reach beyond it, and it
# has to say what the notebook would otherwise say for it.
STYLE = """
& { font: 1rem/1.35 sans-serif; color: #000; background: #fff; max-width: 62rem; margin: auto; padding: 1em; }
& header > :first-child { font: bold 1.4em/1.2 sans-serif; margin: 0 0 .3em; overflow-wrap: anywhere; }
& p { margin: .25em 0; }
& .columns { display: flex; flex-wrap: wrap; gap: 0 2em; }
& .columns > div { flex: 1 1 20em; min-width: 0; }
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
@media print {
  & { font-size: 8.5pt; line-height: 1.2; max-width: none; padding: 0; }
  & td.blank { width: 28%; }
  & .columns { display: block; columns: 2; column-gap: 2em; }
  & .caution, & li, & tr { break-inside: avoid; }
  & section > :first-child, & .caution { break-after: avoid; }
  & section > :first-child { margin: .5em 0 .15em; }
  & p, & ol { margin: .12em 0; }
}
""".replace("&", "article.build-sheet.build-sheet")  # twice: it outweighs what notebooks say of theirs
PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{}</title><style>@page {{ margin: 8mm; }} body {{ margin: 0; background: #fff; }}</style></head>
<body><main>{}</main></body></html>
"""

# The drawing in points, as wide as A4 and as high as Letter, so that it goes on both. Letters are counted, all being
# of one width.
WIDTH, HEIGHT, MARGIN, COLUMN = 595.0, 792.0, 34.0, 256.0
SIZES = (8.5, 8.0, 7.5, 7.0, 6.5)  # the first in which all fits is taken
ADVANCE, LEADING = 0.63, 1.24  # of the size: DejaVu Sans Mono, which matplotlib brings, as wide as a screen rounds it


class Line(NamedTuple):
    """An entry of a section: ``"caution"``, ``"step"``, ``"plain"``, or ``"row"`` with a value or none, and a blank."""

    kind: str
    text: str
    value: str = ""
    unit: str = ""


class Section(NamedTuple):
    """A heading and its lines."""

    heading: str
    lines: tuple

    def words(self, measured=", measured"):
        """Each line as it reads aloud."""
        step = 0
        for kind, text, value, unit in self.lines:
            step += kind == "step"
            start = {"step": f"{step}. ", "caution": "Caution: "}.get(kind, "")
            row = f"{f': {value}{measured}' if value else ''}: ________\u00a0{unit}".rstrip() if kind == "row" else ""
            yield start + text + row

    def html(self, level):
        """The section under a heading of this level."""
        parts, step = [f"<h{level}>{escape(self.heading)}</h{level}>"], 1
        for kind, group in groupby(self.lines, key=lambda line: line.kind):
            lines = [Line(kind, *map(escape, line[1:])) for line in group]
            if kind == "step":
                parts.append(f'<ol start="{step}">{"".join(f"<li>{line.text}</li>" for line in lines)}</ol>')
                step += len(lines)
            elif kind == "row":
                parts.append(f"<table>{''.join(map(_row, lines))}</table>")
            elif kind == "caution":
                parts += [f'<p class="caution"><strong>Caution:</strong> {line.text}</p>' for line in lines]
            else:
                parts += [f"<p>{line.text}</p>" for line in lines]
        return "\n".join(["<section>", *parts, "</section>"])


def _row(line):
    value, ask = (f"<td>{line.value}</td>", "measured") if line.value else ("", "to write in")
    blank = f'<td class="blank"><span>{ask}:</span> {line.unit}</td>'
    return f'<tr><th scope="row">{line.text}</th>{value}{blank}</tr>'


@dataclass(frozen=True, repr=False)
class Sheet:
    """What stands on one page: a title, a summary and two columns of sections. It shows itself in a notebook."""

    title: str
    summary: str
    columns: tuple

    def __post_init__(self):
        title = re.sub(r"[\x00-\x1f\x7f-\x9f\ud800-\udfff]", "\ufffd", " ".join(str(self.title).split()))
        object.__setattr__(self, "title", title)
        if len(title) > LONGEST:
            raise InputError(f"the title has {len(title)} characters, allowed are {LONGEST}; try {title[:LONGEST]!r}.")

    @property
    def text(self):
        """The whole sheet as lines of plain text, in reading order."""
        sections = (["", section.heading.upper(), *section.words()] for column in self.columns for section in column)
        return "\n".join([self.title, self.summary, *(line for lines in sections for line in lines)])

    @property
    def html(self):
        """A whole page: two columns on paper, A4 or Letter, and one on a phone."""
        return PAGE.format(escape(self.title), self._article(1))

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        return self._article(2)  # its title lies below that of the notebook

    def _article(self, level):
        columns = ("\n".join(section.html(level + 1) for section in column) for column in self.columns)
        return (
            f'<article class="build-sheet">\n<style>{STYLE}</style>\n'
            f"<header><h{level}>{escape(self.title)}</h{level}>\n<p>{escape(self.summary)}</p></header>\n"
            f'<div class="columns">{"".join(f"<div>{column}</div>" for column in columns)}</div>\n</article>'
        )

    def save(self, path, replace=False):
        """Write the sheet to a file and say where it is; no file is replaced unless ``replace`` is True.

        The name ends in ``.html`` to print or to read on a phone, ``.txt`` for the words alone, ``.pdf`` or ``.png``
        for a drawing of them. The folder has to be there; ``~`` is your home folder.
        """
        expect("replace", replace, bool, "True")
        kind = Path(str(path)).suffix.lower()
        if kind not in SUFFIXES:
            raise InputError(
                f"path is {shown(path)} and ends in {kind!r}; allowed are {', '.join(SUFFIXES)}. Try 'my_cell.html'."
            )
        words = {".html": self.html, ".txt": self.text + "\n"}
        return write(path, words[kind].encode() if kind in words else self._drawn(kind[1:]), replace)

    def _drawn(self, kind):
        """Bytes of the drawing, without a date: the same sheet gives the same."""
        meta = {"pdf": {"CreationDate": None, "Title": self.title}, "png": {"Software": None}}[kind]
        out = io.BytesIO()
        with matplotlib.rc_context({"pdf.fonttype": 42}):
            self.figure().savefig(out, format=kind, dpi=150, metadata=meta)
        return out.getvalue()

    def figure(self):
        """The text as a drawing in two columns, in the largest of ``SIZES`` in which it fits."""
        full = WIDTH - 2 * MARGIN
        for size in SIZES:
            top = [(row, False) for row in ("", "", *_broken(self.summary, full, size, ""))]
            columns = [[row for section in column for row in _block(section, size)] for column in self.columns]
            if (len(top) + max(map(len, columns))) * LEADING * size <= HEIGHT - 2 * MARGIN:
                break
        else:
            raise InputError("the sheet has more words than one page holds. Try a shorter title, .html or .txt.")
        figure = Figure(figsize=(WIDTH / 72, HEIGHT / 72), facecolor="white")
        FigureCanvasAgg(figure)

        def put(words, bold, x, y, size):
            place = (MARGIN + x) / WIDTH, 1 - (MARGIN + y) / HEIGHT
            figure.text(*place, words, font=_font(bold), size=size, va="top", parse_math=False)

        put(_known(self.title), True, 0, 0, min(14, full / (ADVANCE * max(len(self.title), 1))))
        for rows, x, start in ((top, 0, 0), (columns[0], 0, len(top)), (columns[1], full - COLUMN, len(top))):
            for n, (words, bold) in enumerate(rows, start):
                put(words, bold, x, n * LEADING * size, size)
        return figure


def _font(bold):
    return FontProperties(family="DejaVu Sans Mono", weight="bold" if bold else "normal")


@cache
def _letters():
    """Code points that the font has, plain and bold."""
    return set.intersection(*(set(get_font(findfont(_font(bold))).get_charmap()) for bold in (False, True)))


def _known(words):
    return "".join(c if ord(c) in _letters() else "□" for c in words)


def _broken(words, width, size, indent="  "):
    """Rows of the drawing, no wider than so many points."""
    return textwrap.wrap(_known(words), int(width / (ADVANCE * size)), subsequent_indent=indent)


def _block(section, size):
    """Rows of the drawing of a section, and whether they are bold."""
    yield from (("", False), (section.heading.upper(), True))
    for line, words in zip(section.lines, section.words(""), strict=True):
        yield from ((row, line.kind == "caution") for row in _broken(words, COLUMN, size))


def build_sheet(design, construction, title=None):
    """The :class:`Sheet` of a design and one of ``cellkit.designs.CONSTRUCTIONS``, with a title of your own.

    Its predictions are those of :class:`cellkit.designs.Review`, with the same limits; its masses those of the list.

    >>> from cellkit.designs import read_design
    >>> sheet = build_sheet(read_design("osier_yard_design.csv"), "zinc", "Footpath counter")
    >>> print(sheet.text.splitlines()[0])
    Footpath counter
    """
    expect("design", design, Design, 'design.read("osier_yard_design.csv")')
    review = Review(design, construction)
    name = review.chosen.name
    cells, cell, load = design.block.cells, review.cell, f"{design['load current'].to('mA'):.3g~P}"
    half = review.under_load(0.5)
    doubts = "\n".join(
        f"- {finding.question} No: {finding.because}." for finding in review.findings() if not finding.yes
    )
    back, (rate, gas) = review.charge_returned().best.to("").magnitude, review.hydrogen_bound()
    ahead = f"It beats the block as it was in {review.chance()}. " if review.rebuilt else ""
    listed = f"List: {design.listed_in}. " if design.listed_in else ""
    summary = (
        f"{name[0].upper()}{name[1:]}, {cells} cells in series. Expected: up to {back * cell.capacity:.1f~P}, "
        f"limited by {cell.limiting}; {_between(Span(*(cells * volts for volts in half)), 1)} under {load}, half full. "
        f"{ahead}Predictions, not measurements: the lessons say what they are worth. "
        f"{listed}Local codes and licensed practice come first."
    )
    all_cells, first = (" for all cells", "First charge") if review.rebuilt else ("", "Charge")
    build, charge, hand_in = (_rebuilt if review.rebuilt else _left_alone)(review)
    full, empty, whole = (
        f"{n * cell.rest_voltage(depth).magnitude:.2f} ± {n * cell.rest_voltage_uncertainty(depth).to('V'):.2f~P}"
        for n, depth in ((1, 0.1), (1, 0.9), (cells, 0.1))
    )
    hours = (gas / rate).to("hour").magnitude
    soon = " within minutes" if hours < 1 else f" after {hours:.0f} hours"
    left = f"""
        # Ask first
        {doubts}
        # Weigh{all_cells}
        ! lead dust is poison. Keep plates wet; gloves on, wash hands, no food, no children.
        {f"| positives, drained, all | {_grams(design.values['positive plates'])} | g" if review.rebuilt else ""}
        {build}"""
    right = f"""
        # {first}
        ! a charging cell gives gas that explodes: up to {gas:.1f~P} of hydrogen, 4 % of the air in a box of
        {(gas / LIMIT).to("L"):.0f~P}{soon}. Never closed in. At least {review.ventilation_rate:.2f~P} of fresh air
        (EN IEC 62485-2, from memory), no flame. Charger off at the wall before a clip comes off.
        {charge}
        # Expect
        | at rest, nearly full | {full} | V
        | at rest, nearly empty | {empty} | V
        | under {load}, half full | {_between(half, 2)} | V
        | the block at rest, nearly full | {whole} | V
        | the block under {load}, half full | {_between(Span(*(cells * volts for volts in half)), 2)} | V
        | charge that comes back, limited by {cell.limiting} | up to {back * cell.capacity:.1f~P} | Ah
        | run at {load} | {_between(Span(*(back * time for time in review.run())), 0, "up to ")} | h
        | energy per mass of block, at rest | up to {back * cell.specific_energy("block"):.0f~P} | Wh/kg
        - Volts of one cell, where no block is named. Stop the discharge at {review.end_voltage:.2f~P} a cell,
        {cells * review.end_voltage:.2f~P} of the block, sooner if they fall fast.
        - Ranges: poor to good end of contacts and plates. Up to: before losses that are not counted.
        # Write down as you go
        | date and name | |
        | room temperature | | °C
        | block, finished | | g
        | first charge | | Ah
        | first discharge | | Ah
        | volts after a week at rest | | V
        # Hand in
        ! nothing down the drain, nothing in the bin. Local rules decide.
        {hand_in}"""
    return Sheet(f"Build sheet: {name}" if title is None else title, summary, (_read(left), _read(right)))


LIMIT = side_reaction("lower explosive limit of hydrogen").low
RINSE = """Eye or skin: running water at once, at least 30 minutes, while somebody else calls for help (state health
        department, page read)"""
FUSE = "a fuse just above the load and below what the wire carries, rated for direct current"
MARKS = {"!": "caution", "+": "step", "|": "row", "-": "plain"}  # how a line begins; "#" begins a section


def _read(words):
    """The sections that a text with ``MARKS`` describes; a line without a mark goes on with the one before."""
    sections = []
    for entry in re.split(r"\n\s*(?=[#!+|-] )", words)[1:]:
        line = " ".join(entry[1:].split())
        if entry[0] == "#":
            sections.append((line, []))
        else:
            sections[-1][1].append(Line(MARKS[entry[0]], *(part.strip() for part in line.split("|"))))
    return tuple(Section(heading, tuple(lines)) for heading, lines in sections if lines)


def _grams(kilograms):
    return f"{quantity(kilograms, 'kg -> g'):.1f~P}"


def _between(span, digits, start=""):
    """A span as words, from the poor to the good end."""
    poor, good = (end.magnitude for end in (span.worst, span.best))
    if np.isnan(good):
        return "none: too few volts"
    low, high = ("none" if np.isnan(end) else f"{end:.{digits}f}" for end in (poor, good))
    return f"{start}{f'{low} to ' if low != high else ''}{high} {span.best.units:~P}"


def _rebuilt(review):
    """What to do with felt in place of the lead negatives: to build, to charge for the first time, to hand in."""
    design, values, cells = review.design, review.design.values, review.design.block.cells
    metal, fresh = review.cell.negative, design.fresh(review.construction)
    crystals, stock = design[f"{metal} crystals"], design["stock acid"]
    weighed = design.recipe(review.construction)
    water = f"+ All the water, {weighed.water:.0f~P}, into a wide jar of glass or polyethylene."
    if weighed.stock_acid.magnitude == 0:
        mix = f"! face shield and gloves on. {RINSE}.\n{water}"
    else:
        warm = heat_of_dilution(weighed.stock_acid, weighed.water, stock).final
        mix = f"""{water}
        ! face shield, gloves, apron. Acid into water, never water into acid. {RINSE}; baking soda only for the bench.
        + The acid, {weighed.stock_acid:.0f~P}, slowly into the water, stirring. It warms to about {warm:.0f~P}."""
    flooded = values["kind of block"] == "flooded"
    soaked = "; it has to cover the plates. Mark the level" if flooded else ", until the mat has drunk it"
    has_tank, tank = review.chosen.tank, design["tank volume"].to("mL")
    each = fresh.volume - tank if has_tank else fresh.volume
    first, current, most = review.first_charge, review.charging_current, review.first_charge_limit
    share, (low, high), (least, last) = 1 - review.full_depth(), review.charging(first=True), review.charging()
    stop = share * first.charge
    oxygen = f"""+ The positives are full already: {first.oxygen_charge:.2f~P} make {first.oxygen_volume:.1f~P} of
        oxygen in each cell, out of {first.water:.1f~P} of water. Top up with distilled water."""
    kept = review.current_efficiency().nominal.to("").magnitude
    short = "A cell far below the others has a short; warm, it is off at once."
    sign = f"+ Stop at once above {most:.2f~P} in any cell, or at a quick rise: the metal ions are gone. {short}"
    later = f"""+ Later charges end at (what came out) / {kept:.2f}, at about {least:.2f~P} to {last:.2f~P} a cell.
        Now and then empty each cell alone, so that all start equal."""
    danger, salt = "", ""
    if review.corrodes:
        gone = review.shelf_time()
        danger = f"""! {metal} makes hydrogen in acid day and night: all of it within {gone.worst.to("minute"):.0f~P} to
        {gone.best:.0f~P}. Outdoors, never shut in. A charged negative heats up in air: keep it under liquid."""
        salt = """! only laboratory-grade salt and acid, outdoors, no bare lead alloy in the liquid: arsenic and
        antimony give deadly gas."""
        sign = f"""+ Stop by the ampere-hours, and at once above {most:.2f~P} in any cell: {metal} shows no rise
        when its ions end. {short}"""
        later = later if kept else f"- By published rates no {metal} stays on so much felt: do the pilot before this."
    build = f"""| new negatives, dry, all | {_grams(cells * values["new negative plates"])} | g
        | water, distilled | {weighed.water:.1f~P} | g
        | battery acid, {stock.to("percent"):.0f~P} | {weighed.stock_acid:.1f~P} | g
        | {metal} sulfate, {crystals} | {weighed.crystals:.1f~P} | g
        - 1 % off is near enough. Write what you see.
        # Mix
        {mix}
        {salt}
        + Crystals in, little by little. Stir until clear. Let it cool.
        + A float in it reads {fresh.density.to("g/mL"):.3f~P} at 25 °C.
        + Label: {metal} sulfate {fresh.salt_molarity:.2f~P}, sulfuric acid {fresh.acid_molarity:.2f~P}, date, poison,
        corrosive. Out of reach of children.
        # Build
        {_plates(review)}
        # Fill
        ! shield, gloves, apron stay on. Rings off, {FUSE}, before anything is connected: the load
        takes {design["load current"].to("A"):.2g~P}.
        + {"Pour off each cell and let it drip" if flooded else "Press each cell"} until it holds
        {_grams(values["held electrolyte"])} of old acid. Keep the rest.
        {"" if flooded else "A gel cannot be wrung: leave such a block closed."}
        {"+ Tank and tubes: a day with plain water on a tray. No drop may come out." if has_tank else ""}
        + Pour {each:.0f~P} ({(each * fresh.density).to("g"):.1f~P}) into each cell, slowly{soaked}.
        {f"+ Into the tank go {tank:.0f~P} for each cell." if has_tank else ""}
        + Wait an hour, so that {"the felt is" if flooded else "mat and felt are"} soaked."""
    charge = f"""{danger}
        + Supply at {current:.0f~P} and at most {cells * most:.1f~P} for the {cells} cells in series.
        + Stop after {stop:.2f~P}, {(stop / current).to("hour"):.0f~P}: {100 * share:.0f} % of the {first.charge:.2f~P}
        that the negatives need. Each cell then shows about {low:.2f~P} to {high:.2f~P}.
        {sign}
        {oxygen if first.oxygen.magnitude else ""}
        {later}"""
    acid, spent = review.pressed_out(), review.spent()
    old, new = (neutralise(liquid) for liquid in (acid, spent))
    keeps = "Felt discharged, under water, lid loose: spent, it still gasses." if review.corrodes else ""
    hand_in = f"""- {_grams(values["negative plates"])} of lead plates, rinsed, damp, in a bag that can breathe: battery
        take-back.
        - Positives, felt and case too, wet; mind the edges of mesh and fibre. {keeps}
        - {acid.volume:.0f~P} of old acid, later {spent.volume:.0f~P} of spent electrolyte, rinse water, wipes, gloves:
        labelled, to the hazardous-waste point.
        - If they want it neutral: {old.bicarbonate:.0f~P} of baking soda for the old acid, up to
        {new.bicarbonate:.0f~P} for the spent, spoon by spoon in an open bowl, shield on. It foams:
        {old.gas_volume:.0f~P} and {new.gas_volume:.0f~P} of CO₂. {metal.capitalize()} and nickel
        stay in it and stay poison."""
    return build, charge, hand_in


def _plates(review):
    """What to build of felt, as steps."""
    design, block = review.design, review.design.block
    positives, negatives = (
        int(block.values[f"number of {sign} plates"]) // block.cells for sign in ("positive", "negative")
    )
    size = " × ".join(f"{1000 * block.values[f'plate {side}']:.0f}" for side in ("width", "height"))
    outer = (
        "negatives"
        if negatives > positives
        else "one negative, one positive"
        if negatives == positives
        else "positives"
    )
    felt, all_plates = design["felt thickness"].to("mm"), negatives * block.cells
    return f"""+ {all_plates} new plates, {negatives} a cell, {size} mm: mesh in filled polyethylene, felt of
        {felt:.1f~P} on the {block.faces:.0f} faces of a cell that look at a positive.
        + Stack in turn, a separator between each two, outside {outer}.
        + Join the mesh to the old strap, above the liquid."""


def _left_alone(review):
    """The same for a block that keeps its lead negatives, wrapped in carbon or as they are."""
    design, values, wrapped = review.design, review.design.values, review.chosen.wrap
    if wrapped:
        wrap = carbon_wrap(design.current_path(), design["carbon wrap"]).mass * design.block.cells
    steps = "+ Leave it closed if you can: this is the block to compare with. Masses are those of one taken apart."
    if wrapped:
        pressed = _grams(Electrolyte.mass.si(review.pressed_out()))
        steps = f"""+ Wrap each negative in its carbon, tight and even. Nothing may touch a positive.
        + Pour the {pressed} of acid that were pressed out back in, in equal parts.
        + Wait an hour, then read the volts of each cell at rest."""
    weigh = (
        ""
        if not wrapped
        else f"""| lead negatives, drained, all | {_grams(values["negative plates"])} | g
        | carbon of the wraps, dry | {wrap:.1f~P} | g
        | acid in all cells | {_grams(values["electrolyte"])} | g"""
    )
    build = f"""{weigh or f"| the whole block | {_grams(values['whole block'])} | g"}
        # Put together
        ! face shield, gloves, apron where acid is poured. {RINSE}. Rings off, {FUSE}.
        {steps}"""
    charge = f"""+ Charge with {review.charging_current:.0f~P} or less.
        + Stop at {review.charging()[0]:.2f~P} for each cell (common practice, no source).
        {"+ Carbon beside lead makes more hydrogen (from memory): more air is better." if wrapped else ""}"""
    return build, charge, "- The block, whole, at the end of its life: to a battery take-back."
