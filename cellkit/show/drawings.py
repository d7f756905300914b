"""Drawings: a block, a cell and a plate to the scale of a list, what moves in a cell, a first charge, wires, gas.

Each is drawn on a page whose coordinates are pixels, and comes with its sentence in words.
"""

import re
from dataclasses import replace

import numpy as np
from matplotlib.patches import Rectangle

from cellkit.cells.block import Block
from cellkit.cells.cell import Cell
from cellkit.cells.charge import first_charge
from cellkit.cells.load import BLOCK
from cellkit.cells.plates import AREA, AREAL_MASS, felt_plate_mass, solid_density
from cellkit.chemistry.potentials import NEGATIVES, half_cell
from cellkit.chemistry.side_reactions import gas_volume
from cellkit.chemistry.solution import Electrolyte
from cellkit.show.figures import COLOURS, HEIGHT, INK, PALE, WIDTH, Picture, canvas
from cellkit.tables.published import table
from cellkit.units import Q_, InputError, expect, one_of, positive, to_si

LIQUID, DIOXIDE, FELT, PLASTIC = "#d3e5f2", "#9c6a33", "#fbf3e4", "#8c8c8c"
SIDES = {"positive": ("+", DIOXIDE), "negative": ("−", COLOURS["lead"])}
REBUILT = 'block.rebuilt_cell(liquid, Q_(6, "g"), Q_(10, "Ah"))'
ROUND = (1, 2, 5, 10, 20, 50, 100, 200, 500)  # mm: lengths of the bar that gives the scale
WALL = 0.15  # room between an outer plate and the wall, as a share of the gap between two plates


def _page(height=HEIGHT, notes=()):
    """Axes whose coordinates are the pixels of the picture, with ``notes`` as lines at the foot."""
    figure, ax = canvas(height=height, left=0, right=1, bottom=0, top=1)
    ax.set(xlim=(0, WIDTH), ylim=(0, height))
    ax.axis("off")
    for row, note in enumerate(reversed(notes)):
        _say(ax, 20, 14 + 17 * row, note)
    return figure, ax


def _box(ax, x, y, width, height, fill, inside="", above="", below="", beside="", **look):
    """A box with words in it and around it."""
    look = {"linewidth": 0.8, "edgecolor": INK} | look
    ax.add_patch(Rectangle((x, y), width, height, facecolor=fill, zorder=1, **look))
    for words, up in (inside, y + height / 2), (above, y + height + 11), (below, y - 13):
        _say(ax, x + width / 2, up, words, ha="center")
    _say(ax, x + width + 7, y + height / 2, beside)


def _say(ax, x, y, words, **look):
    if words:
        ax.text(x, y, words, **({"fontsize": 9, "color": INK, "va": "center"} | look))


def _line(ax, *points, color=INK, width=2.0, **look):
    ax.plot(*zip(*points, strict=True), color=color, linewidth=width, zorder=1, **look)


def _arrow(ax, start, end):
    ax.annotate("", end, start, arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.8, "shrinkA": 0, "shrinkB": 0})


def _scale(ax, x, y, pixels_per_mm):
    """A bar that gives the scale, with its length."""
    length = next((mm for mm in ROUND if mm * pixels_per_mm >= 30), ROUND[-1])
    _line(ax, (x, y), (x + length * pixels_per_mm, y), width=3, solid_capstyle="butt")
    _say(ax, x + length * pixels_per_mm + 6, y, f"{length} mm")


def plates_in_turn(block, number=0):
    """The sides of the plates of one cell from left to right: in turn, those that are more numerous outside."""
    places = []
    for side in SIDES:
        share, more = divmod(int(block.values[f"number of {side} plates"]), block.cells)
        count = share + (number < more)  # the first cells have what does not share out evenly
        places += [((n + 0.5) / count, side) for n in range(count)]
    return [side for _, side in sorted(places)]


def _thickness(block):
    """How thick each plate would be as solid lead, and all liquid of one cell spread over a plate's face [mm]."""
    lead, face = solid_density("Pb"), Block.plate_area.si(block)
    solid = {
        side: 1000 * block.values[f"{side} plates"] / block.values[f"number of {side} plates"] / lead / face
        for side in SIDES
    }
    return solid, 1000 * Electrolyte.volume.si(block.electrolyte()) / face


def _edges(plates, solid, liquid):
    """Left edge [mm] of each plate, the gap between two, and the width inside the walls."""
    gap = liquid / (len(plates) - 1 + 2 * WALL)
    ends = WALL * gap + np.cumsum([solid[side] + gap for side in plates])
    return ends - gap - [solid[side] for side in plates], gap, ends[-1] + (WALL - 1) * gap


def block_opened(block):
    """A block seen from above with its lid off, and one plate from the front, all to one scale.

    ``block``: A list has no thicknesses. So a plate is as thick as solid lead of its mass, and the acid as wide as its
    volume over the face of a plate. Its sentence counts cells and plates and gives the sizes.
    """
    solid, liquid = _thickness(expect("block", block, Block, BLOCK))
    width, height = (1000 * block.values[f"plate {length}"] for length in ("width", "height"))
    cells = [
        (plates_in_turn(block, number), *_edges(plates_in_turn(block, number), solid, liquid))
        for number in range(block.cells)
    ]
    scale = min(310 / sum(inside for *_, inside in cells), 240 / max(width, height))
    figure, ax = _page(notes=["To scale, with plates as thin as solid lead would be. Real ones have pores: thicker."])
    x, base, deep, before = 20, 85, width * scale, 20
    for number, (plates, edges, _, inside) in enumerate(cells):
        wide = inside * scale
        label = f"cell {number + 1}" if wide > 45 else f"{number + 1}" if wide > 16 and number < 99 else ""
        _box(ax, x, base, wide, deep, LIQUID, below=label, linewidth=2)
        for side, end in zip(SIDES, (number % 2, 1 - number % 2), strict=True):  # straps of a side change ends
            thick, fill = solid[side] * scale, SIDES[side][1]
            lefts = [x + edge * scale for edge, each in zip(edges, plates, strict=True) if each == side]
            for left in lefts:
                _box(ax, left, base + 0.03 * deep, thick, 0.94 * deep, fill, gid=side, linewidth=0)
            start, stop = min(lefts, default=x), max(lefts, default=x) + thick
            strap = base + (0.84 - 0.74 * end) * deep, 0.06 * deep
            _box(ax, start, strap[0], stop - start, strap[1], fill, gid="strap", linewidth=0)
            if side == "positive" and number:
                _box(ax, before, strap[0], start - before, strap[1], COLOURS["lead"], gid="link")
        before, x = stop, x + wide
    _say(ax, 20, base + deep + 34, "+ pole: positives of the first cell", color=DIOXIDE, weight="bold")
    _say(ax, 20, base + deep + 16, "− pole: negatives of the last cell", color=COLOURS["lead"], weight="bold")
    _box(ax, 370, base, deep, height * scale, PALE, hatch="+++", edgecolor=COLOURS["lead"], gid="face")
    _box(ax, 370 + 0.1 * deep, base + height * scale, 0.2 * deep, 16, COLOURS["lead"])
    _say(ax, 370, base - 13, f"one plate from the front, {width:.0f} × {height:.0f} mm")
    _scale(ax, 20, 46, scale)
    first = cells[0][0]
    return Picture(
        figure,
        f"A block from above without its lid; cells in series: {block.cells}. The first cell has "
        f"{first.count('positive')} positive and {first.count('negative')} negative plates in turn, {width:.0f} mm "
        f"wide and {height:.0f} mm high, acid between. Straps join the plates of each side, and the negatives to the "
        f"positives of any next cell. As solid lead a positive would be {solid['positive']:.2f} mm thick, a "
        f"negative {solid['negative']:.2f} mm.",
    )


def cross_section(block, metal, felt):
    """One cell cut from top to bottom, before and after its lead negatives are replaced; widths to one scale.

    ``block``: widths as in :func:`block_opened`. ``metal``: the metal that plates into the felt. ``felt``: thickness of
    the felt on each face that looks at a positive. Its sentence lists the layers with their thickness and says what is
    not to scale.
    """
    solid, liquid = _thickness(expect("block", block, Block, BLOCK))
    one_of("metal", metal, [name for name in NEGATIVES if name != "lead"])
    felt = 1000 * to_si("felt", felt, positive("m", 'Q_(1.5, "mm")'))
    plates = plates_in_turn(block)
    edges, gap, inside = _edges(plates, solid, liquid)
    title, room = f"After: felt, which takes up {metal} on charge, on a collector", gap + solid["negative"] / 2
    if felt > room:
        title = f"After: felt of {felt:.3g} mm does not fit, a face has room for {room:.2g} mm at most"
    notes = (
        "Widths to scale: plates as solid lead of their mass, felt as given, liquid as its volume.",
        "Not to scale: heights and the collector. Real plates have pores, so they are thicker.",
    )
    scale, (figure, ax) = 600 / inside, _page(470, notes)
    between = "free acid" if block.values["kind of block"] == "flooded" else "glass mats soaked with acid"
    _say(ax, 20, 452, f"Before: lead negatives, {between}", weight="bold", fontsize=10)
    _say(ax, 20, 257, title, color=COLOURS[metal], weight="bold", fontsize=10)
    felted = {"hatch": "xx", "edgecolor": COLOURS[metal]}
    for base in (290, 95):
        _box(ax, 20, base, 600, 125, LIQUID, linewidth=2)
        for n, side in enumerate(plates):
            left, wide = 20 + edges[n] * scale, solid[side] * scale
            sign = SIDES[side][0] if len(plates) <= 15 else ""
            if base > 100 or side == "positive":
                _box(ax, left, base + 6, wide, 126, SIDES[side][1], above=sign, gid=side, linewidth=0)
                continue
            middle = left + wide / 2
            for step in (-1, 1):
                if 0 <= n + step < len(plates) and plates[n + step] == "positive":
                    start = middle + min(step, 0) * felt * scale
                    _box(ax, start, base + 6, felt * scale, 114, FELT, gid="felt", linewidth=0.4, **felted)
            _box(ax, middle - 1.5, base + 6, 3, 126, INK, above=sign)
    legend = ("lead dioxide", DIOXIDE), ("lead", COLOURS["lead"]), ("mat, liquid", LIQUID), ("felt, liquid", FELT)
    for x, (name, fill) in zip((20, 135, 200, 305), legend, strict=True):
        _box(ax, x, 60, 16, 12, fill, beside=name, **(felted if fill == FELT else {}))
    _box(ax, 417, 59, 3, 14, INK, beside="collector")
    _scale(ax, 515, 66, scale)
    return Picture(
        figure,
        f"One cell in cross-section. Before: {plates.count('positive')} plates of lead dioxide, "
        f"{solid['positive']:.2f} mm each, and {plates.count('negative')} of lead, {solid['negative']:.2f} mm each as "
        f"solid lead; between them {between}, {liquid:.1f} mm of liquid in all. {title}: {felt:.3g} mm "
        f"on every face that looks at a positive, {block.faces:.0f} faces in all, between the same positives. Widths "
        "are to scale; heights and the collector are not.",
    )


def composite_plate(area, mesh, filled_polyethylene, felt):
    """The layers of a composite plate in their order, and under them what each weighs, to scale.

    ``area``, ``mesh``, ``filled_polyethylene``, ``felt``: as for :func:`cellkit.cells.felt_plate_mass`. Its sentence
    names the layers from face to face with their areal masses, and gives the mass of the plate.
    """
    given = {"mesh": mesh, "filled_polyethylene": filled_polyethylene, "felt": felt}
    given = {name: to_si(name, value, replace(AREAL_MASS, single=True)) for name, value in given.items()}
    face, heaviest = to_si("area", area, replace(AREA, single=True)), max(given.values())
    if heaviest == 0:
        raise InputError('the layers weigh 0 g, which leaves nothing to draw. Try felt=Q_(13, "mg/cm^2").')
    whole = f"one plate of {1e4 * face:.1f} cm² weighs {1000 * felt_plate_mass.si(face, **given):.2f} g"
    looks = {
        "mesh": ("stainless mesh", "white", "++"),
        "filled_polyethylene": ("carbon-filled polyethylene", PLASTIC, ""),
        "felt": ("carbon felt", FELT, "xx"),
    }
    figure, ax = _page(330)
    _say(ax, 20, 312, "From face to face (thicknesses not to scale)", weight="bold")
    x, words = 20, []
    outside = [("felt", 122), ("filled_polyethylene", 92)]
    for name, wide in (*outside, ("mesh", 52), *outside[::-1]):
        _, fill, hatch = looks[name]
        _box(ax, x, 200, wide, 70, fill, above=name.split("_")[-1], hatch=hatch)
        x += wide
    _arrow(ax, (610, 235), (506, 235))
    _say(ax, 515, 250, "liquid gets in")
    _say(ax, 20, 182, "The polyethylene keeps acid off the mesh and lets the current through.")
    _say(ax, 20, 148, f"Mass per area (to scale): {whole}", weight="bold")
    for y, (name, mass) in zip((105, 70, 35), given.items(), strict=True):
        long, fill, hatch = looks[name]
        share = f"{100 * mass:.3g} mg/cm², {mass / sum(given.values()):.0%}"
        _say(ax, 20, y + 11, long)
        _box(ax, 200, y, 290 * mass / heaviest, 22, fill, beside=share, hatch=hatch, gid=name)
        words.append(f"{long} {share}")
    return Picture(
        figure,
        "A composite plate from face to face: felt, carbon-filled polyethylene, stainless mesh, polyethylene, felt. By "
        f"mass: {'; '.join(words)}; {whole}. Thicknesses are not to scale.",
    )


def _spelt(term):
    """A term of a reaction in the table as it is printed, and whether it is an ion: ``"4H+"`` is 4 H⁺."""
    many, what, charge = re.fullmatch(r"(\d*)(\w+?)([+-]*)", term.strip()).groups()
    formula = what if what == "e" else re.sub(r"\d", lambda digit: "₀₁₂₃₄₅₆₇₈₉"[int(digit[0])], what)
    sign = ("²" if len(charge) == 2 else "") + charge[:1].translate(str.maketrans("+-", "⁺⁻"))
    return f"{many} {formula}{sign}".strip(), bool(charge) and what != "e"


def half_reaction(name, backward=False):
    """A half-cell's reaction as text, as a reduction or ``backward``, with its ions on the left and on the right."""
    reductions = {row["half_cell"]: row["reduction"] for row in table("half_cells")}
    sides = reductions[name].split(" = ")[:: -1 if backward else 1]
    terms = [[_spelt(term) for term in side.split(" + ")] for side in sides]
    text = " → ".join(" + ".join(word for word, _ in side) for side in terms)
    return text, *([word for word, ion in side if ion] for side in terms)


def what_moves(negative):
    """Ions and electrons of one cell on discharge and on charge, with both half reactions.

    ``negative``: ``"lead"`` or the metal that plates. Its sentence gives the half reactions and says which ions go
    where.
    """
    one_of("negative", negative, NEGATIVES)
    figure, ax = _page(470)
    sentence = [f"{negative.capitalize()} cell."]
    for base, title, engine, way in (240, "Discharge", "load", 1), (0, "Charge", "charger", -1):
        ends = ((negative, "−", COLOURS[negative], way > 0), ("lead dioxide", "+", DIOXIDE, way < 0))
        words, reactions = [], []
        _say(ax, 20, base + 215, title, weight="bold", fontsize=11)
        _box(ax, 20, base + 40, 600, 105, LIQUID)
        _say(ax, 320, base + 54, "liquid", ha="center", color=COLOURS["zinc"])
        for (name, pole, fill, backward), step, near in zip(ends, (1, -1), ("left", "right"), strict=True):
            middle = 320 - 240 * step
            text, used, made = half_reaction(name, backward)
            _box(ax, middle - 20, base + 48, 40, 112, fill)
            _say(ax, middle, base + 104, pole, color="white", weight="bold", fontsize=14, ha="center")
            _line(ax, (middle, base + 160), (middle, base + 195), (320 - 50 * step, base + 195))
            _say(ax, 320 - 300 * step, base + 22, text, ha=near, fontsize=10)
            for row, ion in enumerate(used + made):
                points = [(middle + away * step, base + 125 - 34 * row) for away in (121, 26)]
                _arrow(ax, *(points if ion in used else points[::-1]))
                _say(ax, middle + 128 * step, base + 125 - 34 * row, ion, ha=near, fontsize=11)
            wire = [(320 - away * step, base + 206) for away in (190, 95)]
            _arrow(ax, *(wire[:: way * step]))
            _say(ax, 320 - 142 * step, base + 180, "2 e⁻", ha="center", fontsize=11)
            reactions.append(f"at the {name} {text}")
            words += [f"{', '.join(ions)} {to} the {name}" for ions, to in ((used, "to"), (made, "out of")) if ions]
        _box(ax, 270, base + 182, 100, 26, "white", engine)
        start, end = (name for name, *_ in ends[::way])
        sentence.append(
            f"{title}: {'; '.join(reactions)}. Electrons run from the {start} through the {engine} to the {end}. Ions: "
            f"{'; '.join(words)}."
        )
    return Picture(figure, " ".join(sentence))


def _rebuilt(cell):
    """The cell, or an InputError for one that has kept its lead or is none."""
    if expect("cell", cell, Cell, REBUILT).negative == "lead":
        raise InputError(f"the cell has lead negatives; it has to be one with felt plates. Try {REBUILT}.")
    return cell


def plate_balance(cell):
    """How charged each plate is before and after a first charge, for charged and for discharged positives.

    ``cell``: A rebuilt one; in which state its own positives go in does not matter here. Its sentence gives the
    ampere-hours in each plate before and after, and those that make oxygen.
    """
    metal, sentence = _rebuilt(cell).negative, []
    words = {"charged": True, "discharged": False}
    found = {word: first_charge(replace(cell, positive_charged=full)) for word, full in words.items()}
    full = found["charged"].positive.magnitude
    notes = (
        "Heights to scale. Coloured: charge ready in the plate; outline: what it can take; dots: oxygen.",
        "A cell gives charge only where both plates have some.",
    )
    figure, ax = _page(430, notes)
    unit = 240 / max(full + first.oxygen_charge.magnitude for first in found.values())
    unit = min(unit, 240 / max(first.charge.magnitude for first in found.values()))
    for x, (word, first) in zip((20, 335), found.items(), strict=True):
        start, passed, lost = (each.magnitude for each in (first.positive, first.charge, first.oxygen_charge))
        stored = start + passed - lost
        _say(ax, x, 412, f"Positives go in {word}", weight="bold", fontsize=10.5)
        states = ("as filled", start, 0.0), ("after the first charge", stored, passed)
        for left, (when, ready, plated) in zip((x, x + 160), states, strict=True):
            sides = ("positive", ready, full, DIOXIDE), ("felt", plated, passed, COLOURS[metal])
            for bar, (name, level, most, fill) in zip((left, left + 62), sides, strict=True):
                _box(ax, bar, 110, 44, max(most, level) * unit, "white", below=name, edgecolor=PLASTIC, linewidth=1.2)
                gid = f"{word}, {when}, {name}"
                _box(ax, bar, 110, 44, level * unit, fill, above=f"{level:.2f}", linewidth=0, gid=gid)
            _say(ax, left + 53, 80, when, ha="center")
        if lost:
            look = {"beside": f"{lost:.2f} Ah\noxygen", "hatch": "..", "linestyle": "--", "gid": "oxygen"}
            _box(ax, x + 160, 130 + stored * unit, 44, lost * unit, "white", **look)
        _arrow(ax, (x + 114, 200), (x + 152, 200))
        _say(ax, x + 133, 214, f"{passed:.2f} Ah", ha="center", fontsize=8)
        said = "The positive is full: oxygen comes off." if lost else "Both sides fill together: no oxygen."
        _say(ax, x, 58, said, weight="bold")
        sentence.append(
            f"Positives {word}: as filled {start:.2f} Ah wait in the positive, none in the felt; a first charge of "
            f"{passed:.2f} Ah leaves {stored:.2f} Ah in the positive and {passed:.2f} Ah of {metal} in "
            f"the felt, and {lost:.2f} Ah make oxygen."
        )
    return Picture(figure, " ".join(sentence))


def wiring_diagram(current, shunt):
    """How to wire a log: cell, fuse near the pole, load, shunt, and the logger's thin wires.

    ``current``, ``shunt``: current of the load; resistance of the shunt. Its sentence follows the wire round and gives
    the volts and the heat at the shunt.
    """
    current = to_si("current", current, replace(positive("A", 'Q_(0.3, "A")'), single=True))
    shunt = to_si("shunt", shunt, replace(positive("ohm", 'Q_(0.1, "ohm")'), single=True))
    reads, heat = (Q_(*each).to_compact() for each in ((current * shunt, "V"), (current**2 * shunt, "W")))
    makes = f"At {current:.3g} A a shunt of {shunt:.3g} Ω shows {reads:.3g~P} and makes {heat:.3g~P} of heat."
    notes = (
        makes,
        "A meter set to amperes takes the place of the shunt. Across the poles it is a short circuit.",
        "Fuse: above the load's current, below what the thinnest wire carries, for direct current.",
        "A charger takes the place of the load. The plan shows what is joined to what, not to scale.",
    )
    figure, ax = _page(420, notes)
    _line(ax, (90, 260), (90, 365), (550, 365), (550, 130), (90, 130), (90, 210))
    _box(ax, 50, 205, 80, 65, "white", "cell")
    _box(ax, 66, 312, 48, 30, COLOURS["warning"], "fuse")
    _box(ax, 505, 225, 90, 50, "white", "load")
    _box(ax, 265, 115, 120, 30, PALE, f"shunt {shunt:.3g} Ω")
    _box(ax, 250, 220, 150, 50, "white", "logger", linewidth=1.5)
    _arrow(ax, (300, 365), (400, 365))
    for y, meets, sign in (290, 255, "+"), (172, 235, "−"):
        _line(ax, (90, y), (205, y), (205, meets), (250, meets), color=COLOURS["zinc"], width=1.2)
        _say(ax, 72, y - 10 if sign == "+" else y + 16, sign, weight="bold", fontsize=13)
    _box(ax, 130, 279, 48, 22, COLOURS["warning"], "fuse")
    for x in (258, 392):
        _line(ax, (x, 130), (x, 220), color=COLOURS["copper"], width=1.2, linestyle="--")
    for x, y, words, look in (
        (125, 328, "1  fuse first, close to the + pole", {"weight": "bold"}),
        (475, 385, "2  connect the load last", {"weight": "bold", "ha": "center"}),
        (350, 350, f"{current:.3g} A", {"ha": "center"}),
        (215, 290, "volts: from the poles", {"color": COLOURS["zinc"]}),
        (402, 185, f"amperes: {reads:.3g~P}", {"color": COLOURS["copper"]}),
    ):
        _say(ax, x, y, words, **look)
    return Picture(
        figure,
        "From the + pole the wire goes through a fuse close to the pole, the load and the shunt back to the − pole. "
        "Thin wires take the volts to the logger from the poles themselves, the one at + through a fuse of its own; "
        f"two more take them from both ends of the shunt. {makes} The load is connected last. A meter set to amperes "
        "takes the place of the shunt, never across the poles; a charger takes the place of the load.",
    )


def gas_path(cell):
    """How gas leaves a cell during its first charge, and how much: areas to scale with volumes.

    ``cell``: A rebuilt one, with its positives in the state in which they go in. Its sentence gives the oxygen, the
    hydrogen that the same charge again makes, and the liquid beside them.
    """
    first, liquid = first_charge.si(_rebuilt(cell)), cell.electrolyte
    hydrogen = gas_volume.si(first.charge, "hydrogen", liquid.temperature)
    litres = [1000 * volume for volume in (Electrolyte.volume.si(liquid), first.oxygen_volume, hydrogen)]
    notes = (
        "H₂: the same charge again, after the last metal ion. Longer charging makes more.",
        "Hydrogen with oxygen or air explodes from the smallest spark: vents open, moving air,",
        "no flame, charger off at the wall before a clip comes off. The cell is not to scale.",
    )
    figure, ax = _page(notes=notes)
    _box(ax, 30, 110, 180, 170, LIQUID, linewidth=2)
    for side in (0, 1):
        _line(ax, (30 + 180 * side, 280), (30 + 180 * side, 315), (105 + 30 * side, 315))
    for x, fill, pole, gas in (85, COLOURS[cell.negative], "−", "H₂"), (155, DIOXIDE, "+", "O₂"):
        _box(ax, x - 15, 120, 30, 140, fill)
        _say(ax, x, 190, pole, color="white", weight="bold", fontsize=14, ha="center")
        _say(ax, x, 297, gas, ha="center")
    _arrow(ax, (120, 290), (120, 355))
    _say(ax, 20, 378, "An open vent, and moving air", weight="bold")
    when = "from the first minute" if first.oxygen_charge else "when the charge is done"
    _say(ax, 20, 93, f"+ gives O₂ {when};")
    always = "some all along, more " if half_cell(cell.negative)["e0"] < half_cell("hydrogen")["e0"] else ""
    _say(ax, 20, 76, f"− gives H₂ {always}as the metal ions run out")
    _say(ax, 300, 378, "From one cell (areas to scale)", weight="bold")
    x, names = 300, ("liquid", "O₂, first charge", "H₂, same charge")
    for name, volume, fill in zip(names, litres, (LIQUID, PALE, COLOURS["warning"]), strict=True):
        side = 135 * np.sqrt(volume / max(litres))
        _box(ax, x, 150, side, side, fill, gid=name)
        _say(ax, x, 128, f"{name}\n{volume:.2g} L")
        x += max(side, 95 if name != "liquid" else 45) + 12
    return Picture(
        figure,
        "Gas rises from the plates, gathers under the lid and leaves through an open vent into moving air: oxygen "
        f"from the positive {when}, hydrogen from the {cell.negative} plate {always}as the metal ions run out. One "
        f"cell with {litres[0]:.2g} L of liquid gives {litres[1]:.2g} L of oxygen in its first charge; as much charge "
        f"again, after the last metal ion, makes up to {litres[2]:.2g} L of hydrogen, and longer charging more. "
        "Together they explode from the smallest spark.",
    )
