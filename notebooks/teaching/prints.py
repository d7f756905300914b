#!/usr/bin/env python3
"""Write a folder of pages to print: what a teacher reads, sheets and cards for the room, the lessons without answers.

    python notebooks/teaching/prints.py OUT

OUT gets a folder A4 and a folder Letter, each with an index.html to open in a browser and print from.
"""

import argparse
import csv
import html
import os
import re
import sys
from pathlib import Path

import mistune
import nbformat

TEACHING = Path(__file__).resolve().parent
NOTEBOOKS = TEACHING.parent
DATA = NOTEBOOKS.parent / "data"
PAPERS = {"A4": "A4", "Letter": "letter"}
STYLE = """
@page { size: PAPER; margin: 15mm 17mm }
* { box-sizing: border-box }
body { font: 10.5pt/1.4 "DejaVu Sans", Verdana, Arial, sans-serif; color: #000; background: #fff; margin: 0 auto;
  max-width: 180mm; padding: 0 4mm }
h1, h2, h3 { line-height: 1.2; break-after: avoid }
h1 { font-size: 17pt; margin: 0 0 4mm } h2 { font-size: 13pt; margin: 6mm 0 2mm }
h3 { font-size: 11pt; margin: 4mm 0 1mm }
p, ul, ol { margin: 2mm 0; orphans: 3; widows: 3 } li { margin: 1mm 0 }
a { color: inherit; text-decoration-thickness: 0.5px }
.wide { overflow-x: auto; padding-right: 1px }
table { border-collapse: collapse; width: 100%; margin: 3mm 0; font-size: 9pt }
th, td { border: 0.5px solid #777; padding: 1mm 1.5mm; text-align: left; vertical-align: top; min-width: 9mm }
th { background: #eee } tr { break-inside: avoid } thead { display: table-header-group }
pre, code { font: 7.7pt/1.35 "DejaVu Sans Mono", monospace } p code, li code, td code { font-size: 0.9em }
pre { white-space: pre-wrap; overflow-x: auto; margin: 2mm 0; padding: 1.5mm 2mm; break-inside: avoid }
pre.code { border-left: 1mm solid #999; background: #f4f4f4 }
pre.said { border-left: 1mm solid #ddd; break-inside: auto }
pre.code:has(+ pre.said) { break-after: avoid }
img { max-width: 100%; break-inside: avoid }
.task-list-item { list-style: none }
.task-list-item input { appearance: none; width: 3mm; height: 3mm; border: 1px solid #000; margin: 0 2mm 0 -5mm }
h2 + p:has(> em:only-child), h3 + p:has(> em:only-child) { break-after: avoid }
.sheets p, .sheets li { font-size: 11pt; margin: 2mm 0 } .sheets li.task-list-item, .sheets ul li { margin: 1mm 0 }
.sheets h2 { margin-top: 4mm } .sheets table { font-size: 10.5pt; margin: 2mm 0 } .sheets td { padding: 1.25mm 1.6mm }
.sheets .list { font-size: 9pt } .sheets .list td { padding: 0.8mm 1.5mm }
.list { table-layout: fixed } .list th { width: 11% } .list th:first-child { width: 56% }
.two .list { margin: 0 } .two .list th { width: 22% }
.blank { table-layout: fixed } .blank th { width: 12% } .blank th:first-child { width: 25% }
.blank th:last-child { width: 51% } .sheets .blank { font-size: 9pt } .sheets .blank td { padding: 0.7mm 1.5mm }
.cards { display: grid; grid-template-columns: 1fr 1fr; gap: 3mm; padding-right: 1px }
.card { border: 1px dashed #000; padding: 3mm 4mm; min-height: 36mm; break-inside: avoid; font-size: 11pt }
.card b { display: block; font-size: 13pt; margin-bottom: 1mm }
@media screen and (max-width: 600px) { .wide img { max-width: none } .cards { grid-template-columns: 1fr }
  .list, .blank { table-layout: auto } }
@media print { body { max-width: none; padding: 0 } nav { display: none } .two { columns: 2 } }
"""


def slug(title):
    """The anchor of a heading, as the links between the pages write it."""
    return re.sub(r"[^\w\- ]", "", re.sub("<.*?>", "", title).lower()).strip().replace(" ", "-")


class Renderer(mistune.HTMLRenderer):
    """HTML of one page; ``goes_to`` turns the address of a link into one inside the folder, or None."""

    def __init__(self, goes_to):
        super().__init__(escape=False)
        self.goes_to = goes_to

    def heading(self, text, level, **attributes):
        return f'<h{level} id="{slug(text)}">{text}</h{level}>\n'

    def link(self, text, url, title=None):
        url = self.goes_to(url)
        return text if url is None else f'<a href="{html.escape(url)}">{text}</a>'

    def image(self, text, url, title=None):
        return f"<p><em>{text}</em></p>"  # a picture beside a lesson is told in its words

    def block_code(self, code, info=None):
        return f'<pre class="code">{html.escape(code.rstrip())}</pre>\n'


def tables(markdown):
    """Each table of a Markdown text as a list of rows, its header first."""
    for block in re.findall(r"(?:^\|.*\n?)+", markdown, re.MULTILINE):
        header, _, *rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in block.splitlines()]
        yield [header, *rows]


def page_of(lesson):
    """The text of the teaching page of a lesson."""
    (path,) = TEACHING.glob(f"{lesson}_*.md")
    return path.read_text(encoding="utf-8")


def kit(lesson):
    """The tables of a page's kit: first what is needed, then what its cards say."""
    return list(tables(page_of(lesson).split("\n## Kit\n")[1].split("\n## ")[0]))


def plain(words):
    """Words of a Markdown table as HTML, a number kept beside its unit."""
    words = re.sub(r"(\d) (?=(?:m?[VA]|mol/L|mL|g|%)\b)", "\\1\u00a0", html.escape(words, quote=False))
    return re.sub(r"\*+([^*]+)\*+", r"<em>\1</em>", words)


def as_table(rows, kind=""):
    """Rows of words, their header first, as an HTML table."""
    header, *rows = [[plain(cell) for cell in row] for row in rows]
    head = "".join(f"<th>{cell}</th>" for cell in header)
    body = "".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows)
    return f'<table class="{kind}"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def cards(title, rows):
    """A page of cards to cut, each a heading with some words under it."""
    inner = "".join(
        f'<div class="card"><b>{plain(name)}</b>{"<br>".join(map(plain, words))}</div>' for name, *words in rows
    )
    return f'<h1 id="{slug(title)}">{title}</h1><div class="cards">{inner}</div>'


def bench(name):
    """Rows of a list of the course."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def design_sheet(title, rows):
    """A design list to read and to judge."""
    listed = as_table([["item", "value", "unit"], *([row["item"], row["value"], row["unit"]] for row in rows)], "list")
    listed = listed.replace("_", "_<wbr>")  # where the name of a file may go on in a second line
    return f'<h1 id="{slug(title)}">{title}</h1><div class="two">{listed}</div>'


def blank_list(title, rows):
    """A design list to fill in at the bench, with what each row asks for."""
    asked = as_table([["item", "value", "unit", "what it is"], *([*row.values()] for row in rows)], "blank")
    return f'<h1 id="{slug(title)}">{title}</h1>{asked}'


def faulty_sheets():
    """The four sheets of lesson 08, each with its planted fault, as its page names them."""
    for sheet, changed, _ in kit("08")[1][1:]:
        metal, rows = "zinc", bench("bench/osier_yard_design.csv")
        for row in rows:
            if row["item"] == "fill volume":
                row["value"] = "36"
        if (change := re.fullmatch(r"(.*), ([\d.]+) (\S+)", changed)) is not None:
            (row,) = [row for row in rows if row["item"] == change[1]]
            row["value"] = change[2]
        else:
            metal = changed.split(" in place of ")[0]
        yield f"sheet_{sheet}", design_sheet(f"Sheet {sheet}: a {metal} cell (invented)", rows)


def gas_line_cards():
    header, *rows = kit("03")[1]
    return [
        (row[0], kind, f"stand at {volts}") for row in rows for kind, volts in zip(header[1:], row[1:], strict=True)
    ]


def toll_cards():
    (_, *tolls), (_, *roles) = kit("04")[1:3]
    return [*((toll, f"at 1 A I take {one}", f"at 0.1 A I take {tenth}") for toll, one, tenth in tolls), *roles]


def inputs_card():
    """The five inputs of the game of lesson 07, as its page names them and the course's table spreads them."""
    named = re.search(r"The five inputs: (.*?)\.", page_of("07"), re.DOTALL)[1].replace("\n", " ").split(", ")
    rows = {row["input"]: row for row in bench("reference/spread.csv")}
    rows |= {row["name"]: row | {"how": "times what comes out"} for row in bench("reference/side_reactions.csv")}
    shown = [[name, *(rows[name][key] for key in ("how", "low", "nominal", "high", "source"))] for name in named]
    title = "Five inputs to roll for"
    words = "<p>1 or 2: low. 3 or 4: nominal. 5 or 6: high. <em>times</em>: multiply the row of the list by it.</p>"
    return f"<h1>{title}</h1>{words}{as_table([['input', 'how', 'low', 'nominal', 'high', 'where from'], *shown])}"


def shopping():
    """What the kits need for six pairs, with room for prices."""
    found = ["<h1>What to get, for six pairs</h1>"]
    for path in sorted(TEACHING.glob("[0-9][0-9]_*.md")):
        (header, *rows), *_ = kit(path.name[:2])
        at = header.index("what"), header.index("six pairs"), header.index("teacher")
        listed = [[*(row[i] for i in at), "", ""] for row in rows if "laptop" not in row[0]]
        title = re.match(r"# Teach lesson (.*)", path.read_text(encoding="utf-8"))[1]
        found.append(
            f"<h2>{title}</h2>" + as_table([["what", "six pairs", "teacher", "have it", "price"], *listed], "list")
        )
    return "\n".join(found) + "<p>All together: ____________</p>"


def labels():
    """Labels for bottles and waste, as many of each as six pairs need."""
    ((_, *rows),) = tables((TEACHING / "sheets" / "labels.md").read_text(encoding="utf-8"))
    blanks = "made on ____________ by ____________", "belongs to ______________________"
    return [(name, words, *blanks) for name, copies, words in rows for _ in range(int(copies))]


def made_sheets():
    """Sheets that are put together from the pages and the course's lists: name and HTML."""
    yield "gas_line_cards", cards("Gas lines", gas_line_cards())
    yield "toll_cards", cards("Seven tolls", toll_cards())
    yield "constructions", cards("Five constructions", kit("07")[1][1:])
    yield "inputs", inputs_card()
    yield from faulty_sheets()
    yield "design_blank", blank_list("My design", bench("bench/design_template.csv"))
    yield "labels", cards("Labels", labels())
    yield "shopping", shopping()


def exercise(source):
    """What a learner fills in, without what judges it."""
    blank = "____________________"
    lines = [
        re.sub(r"= None\b", f"= {blank}", line) for line in source.splitlines() if re.match(r"my_\w+ = None\b", line)
    ]
    return "\n".join(lines) or blank


def shown(output):
    """One stored output of a lesson."""
    data = output.get("data", {})
    if "image/png" in data:
        picture, about = "".join(data["image/png"].split()), output.metadata.get("image/png", {})
        size = f'alt="{html.escape(about.get("alt", ""))}" width="{about.get("width", 640)}"'
        return f'<div class="wide"><img {size} src="data:image/png;base64,{picture}"></div>'
    if "image/svg+xml" in data:
        return f'<div class="wide">{data["image/svg+xml"]}</div>'
    if "application/vnd.jupyter.widget-view+json" in data:
        return "<p><em>Here the lesson on the screen has controls to move.</em></p>"
    if "text/html" in data:
        return f'<div class="wide">{data["text/html"]}</div>'
    words = output.get("text") or data.get("text/plain") or output.get("evalue") or ""
    return f'<pre class="said">{html.escape(words.rstrip())}</pre>' if words.strip() else ""


def lesson(path, markdown):
    """A lesson with its stored outputs, without what judges its exercises or is folded away: hints and answers."""
    found = []
    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type == "markdown":
            found.append(markdown(re.sub("<details.*?</details>", "", cell.source, flags=re.DOTALL)))
        elif cell.cell_type == "code" and "ask.progress" not in cell.source:
            asks = re.search(r"^ask\(", cell.source, re.MULTILINE)
            code = exercise(cell.source) if asks else cell.source
            found.append(f'<pre class="code">{html.escape(code)}</pre>')
            found += [] if asks else [shown(output) for output in cell.outputs]
    return "\n".join(found)


def write(out, paper):
    """Fill ``out`` with the pages for one paper."""
    home = {path: f"teacher/{path.stem}.html" for path in sorted(TEACHING.glob("*.md"))}
    home |= {path: f"sheets/{path.stem}.html" for path in sorted(TEACHING.glob("sheets/*.md")) if path.stem != "labels"}
    home |= {path: f"lessons/{path.stem}.html" for path in sorted(NOTEBOOKS.glob("[0-9][0-9]_*.ipynb"))}
    home[NOTEBOOKS / "glossary.md"] = "lessons/glossary.html"
    bodies = {}
    for source, target in home.items():

        def goes_to(url, source=source, target=target):
            file, _, anchor = url.partition("#")
            if url.startswith("https://"):
                return url
            linked = home.get((source.parent / file).resolve() if file else source)
            return linked and os.path.relpath(linked, Path(target).parent) + (f"#{anchor}" if anchor else "")

        markdown = mistune.create_markdown(renderer=Renderer(goes_to), plugins=["table", "task_lists"])
        text = lesson(source, markdown) if source.suffix == ".ipynb" else markdown(source.read_text(encoding="utf-8"))
        bodies[target] = text
    bodies |= {f"sheets/{name}.html": body for name, body in made_sheets()}
    titles = {target: re.sub("<.*?>", "", re.search(r"<h1.*?>(.*?)</h1>", body)[1]) for target, body in bodies.items()}
    index = ["<h1>Pages to print</h1>"]
    for folder, heading in {"sheets": "For the room", "teacher": "For the teacher", "lessons": "Lessons"}.items():
        links = [f'<li><a href="{to}">{titles[to]}</a></li>' for to in sorted(bodies) if to.startswith(folder)]
        index.append(f"<h2>{heading}</h2><ul>{''.join(links)}</ul>")
    for target, body in {**bodies, "index.html": "\n".join(index)}.items():
        back = "" if target == "index.html" else '<nav><a href="../index.html">All pages</a></nav>'
        head = '<meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        head += f"<title>{titles.get(target, 'Pages to print')}</title>"
        head += f"<style>{STYLE.replace('PAPER', PAPERS[paper])}</style>"
        body = re.sub(r"<table.*?</table>", r'<div class="wide">\g<0></div>', body, flags=re.DOTALL)
        file = out / paper / target
        file.parent.mkdir(parents=True, exist_ok=True)
        main = f'<main class="{target.split("/")[0]}">{body}</main>'
        page = f'<!doctype html><html lang="en"><head>{head}</head><body>{back}{main}</body></html>'
        file.write_text(page, encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path, metavar="OUT")
    out = parser.parse_args().out
    try:
        for paper in PAPERS:
            write(out, paper)
    except OSError as error:
        sys.exit(f"Not printed: {error}. Look whether the disk is full or the folder may not be written to.")
    print(f"Open {out / 'A4' / 'index.html'}, or the one in Letter, and print from there.")


if __name__ == "__main__":
    main()
