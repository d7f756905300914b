"""Lists with the columns item, value, unit that a learner fills in: read, with errors that name the row."""

import csv
import re
from typing import Any, NamedTuple

from cellkit.tables.published import find_file
from cellkit.tables.text_files import SEPARATORS, decoded, number, read_unit
from cellkit.units import Q_, Constraint, InputError, quantity, said_of, to_si


class Optional(NamedTuple):
    """A row that a list may lack or leave blank; then it counts as ``default``."""

    kind: Any
    default: Any = None


def measured(value, kind):
    """A value of a list as a quantity in the unit of its kind; words and blanks as they are."""
    kind = getattr(kind, "kind", kind)
    return quantity(value, kind.unit) if isinstance(kind, Constraint) and value is not None else value


def _rows(file):
    """Separator, lower-case header and rows, each with its number, of an open list."""
    first = file.readline()
    separator = max(SEPARATORS, key=first.count)
    header = [title.strip().lower() for title in next(csv.reader([first], delimiter=separator), [])]
    reader = csv.reader(file, delimiter=separator)
    rows = [(1 + reader.line_num, [field.strip() for field in row]) for row in reader]
    return separator, header, [(at, row) for at, row in rows if any(row)]


def _measured(item, text, unit, kinds, separator, currencies):
    """What one row says, as the first of ``kinds`` that its unit fits."""
    named = re.match(r"([^\W\d]+|[€$£¥]|1?)(?=/|$)", unit)
    if "money" in kinds[0].unit and named and named[1] not in ("kg", "g", "mg"):
        currencies.add(named[1])  # whatever currency, or none
        unit = "money" + unit[named.end() :]
    try:
        value = number(text, separator)
    except ValueError:
        hint = "write the decimal point as a dot" if "," in text else "write digits only"
        raise InputError(f"the value of {item!r} is {text!r}, not a number; {hint}.") from None
    try:
        measured = Q_(value, read_unit(unit))
    except InputError:
        comma = " A decimal comma splits a number in two: write 7.6, not 7,6." if unit.isdigit() else ""
        raise InputError(f"unit {unit!r} of {item!r} is not known; try {kinds[0].example}.{comma}") from None
    if len(currencies) > 1:
        raise InputError(f"prices in {' and '.join(repr(c) for c in sorted(currencies))}; keep to one currency.")
    to_si(item, measured, next((kind for kind in kinds if measured.check(kind.unit)), kinds[0]))
    return measured


def read_items(name, items):
    """What a learner filled in: a dict from item to quantity (in the unit of its row), and the last row in words.

    ``name``: the learner's own file, or the name of one in ``data/bench``: columns ``item``, ``value``, ``unit`` in any
    order, others are ignored. ``items``: what each item has to be: a :class:`~cellkit.units.Constraint`, a tuple of
    them between which the unit decides, a function of the text, or an :class:`Optional` with one of these.

    >>> read_items("osier_yard_block.csv", {"cells": Constraint("", "3,1")})
    Traceback (most recent call last):
        ...
    cellkit.units.InputError: osier_yard_block.csv, row 3: item 'whole block' is not known; known are cells.
    """
    path = find_file(name)
    where, found, currencies = path.name, {}, set()
    separator, header, rows = decoded(path, _rows)
    if missing := [column for column in ("item", "value", "unit") if column not in header]:
        raise InputError(f"{where}: no column {', '.join(missing)}; its first row must be item,value,unit,note.")
    for at, row in rows:
        where = f"{path.name}, row {at}"
        if len(row) > len(header):
            raise InputError(
                f"{where} has more fields than the header: {', '.join(row[: len(header)])}. "
                "Write the decimal point as a dot and put quotes around a note that holds a comma."
            )
        field = dict.fromkeys(header, "") | dict(zip(header, row, strict=False))
        item, text = field["item"].lower(), field["value"]
        if item in found:
            raise InputError(f"{where}: {item!r} is there twice; keep one.")
        if item not in items:
            raise InputError(f"{where}: item {item!r} is not known; known are {', '.join(items)}.")
        kind = items[item]
        if isinstance(kind, Optional):
            kind = kind.kind
            if not text:
                found[item] = items[item].default
                continue
        with said_of(f"{where}: "):
            if callable(kind):
                found[item] = kind(text)
            else:
                kinds = (kind,) if isinstance(kind, Constraint) else kind
                found[item] = _measured(item, text, field["unit"], kinds, separator, currencies)
    optional = {item: kind.default for item, kind in items.items() if isinstance(kind, Optional)}
    if missing := [item for item in items if item not in found and item not in optional]:
        raise InputError(f"{where}: the list ends without {', '.join(missing)}; add a row for each.")
    return optional | found, where
