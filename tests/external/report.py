"""Comparisons with the world outside: what makes one a test, and the table in comparisons.md.

Run it with ``python tests/external/report.py``: Markdown, each row computed by the very function that the test calls.
"""

import functools
import importlib
import json
import re
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
INDEPENDENT = "independent"
CODE = "check of the code"  # the same table or parameters as in cellkit: finds slips, says nothing about nature


class Comparison(NamedTuple):
    """One row of the table. ``allowed`` and the deviations are in ``unit``; ``why`` says why not less is allowed.

    ``mark`` is ``INDEPENDENT`` or ``CODE``.
    """

    quantity: str
    range: str
    against: str
    allowed: float
    unit: str
    mark: str
    why: str = ""


def compared(*row, **more):
    """Turn a generator of ``(label, deviation)`` into a test that no deviation exceeds what the row allows."""
    comparison = Comparison(*row, **more)
    assert comparison.mark in (INDEPENDENT, CODE)

    def wrap(generator):
        @functools.wraps(generator)
        def test():
            found = [(label, float(deviation)) for label, deviation in generator()]
            assert found, "nothing was compared"
            outside = [f"{label}: {d:+.3g}" for label, d in found if not abs(d) <= comparison.allowed]
            assert not outside, f"more than {comparison.allowed} {comparison.unit} away: {'; '.join(outside)}"

        test.comparison, test.deviations = comparison, generator
        return test

    return wrap


@functools.lru_cache
def _values():
    return json.loads((HERE / "values.json").read_text(encoding="utf-8"))


def values(quantity, substance=None, source=""):
    """Rows of values.json whose quantity and substance match the patterns from their start and whose source holds a
    word. Never empty: a row that goes missing has to be noticed."""
    rows = [r for r in _values() if re.match(quantity, r["quantity"]) and re.match(substance or "", r["substance"])]
    rows = [r for r in rows if source in r["source"]]
    assert rows, f"values.json has no {quantity!r} of {substance!r} from {source!r}"
    return rows


def numbers(text):
    """All numbers in a condition or a name, such as ``'0.5 m CuSO4'``; formulas keep theirs."""
    return [float(x) for x in re.findall(r"(?<![\w.])-?\d+\.?\d*", text)]


def percent(ours, theirs):
    """Deviation in percent of ``theirs``."""
    return 100 * (float(ours) / theirs - 1)


def markdown():
    """The table, a row for each comparison in the test modules beside this file."""
    lines = [
        "| quantity | range | compared with | | points | worst deviation | allowed |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for path in sorted(HERE.glob("test_*.py")):
        for test in vars(importlib.import_module(path.stem)).values():
            if row := getattr(test, "comparison", None):
                found = [abs(float(deviation)) for _, deviation in test.deviations()]
                allowed = f"{row.allowed:g} {row.unit}" + (f" ({row.why})" if row.why else "")
                cells = (*row[:3], row.mark, str(len(found)), f"{max(found):.2g} {row.unit}", allowed)
                lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(markdown())
