"""Lists with the columns item, value, unit that a learner fills in: read, with errors that name the row."""

import csv
import io

from cellkit.tables.published import find_file
from cellkit.units import Constraint, InputError, to_si, ureg


def open_table(name):
    """A learner's CSV (or one of ``data/bench``), whatever its separator.

    Returns
    -------
    file : str
        Name of the file.
    header : list of str
    rows : list of (str, list of str)
        Each row that is not empty, with where it is, in words.

    Raises
    ------
    InputError
        If there is no such file or it is not UTF-8.
    """
    path = find_file(name)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{path.name} is not UTF-8 text; save it as 'CSV UTF-8' from the spreadsheet.") from None
    first = text.split("\n", 1)[0]
    reader = csv.reader(io.StringIO(text), delimiter=max(",;\t", key=first.count))
    table = [(f"{path.name}, row {reader.line_num}", [field.strip() for field in row]) for row in reader]
    header = table[0][1] if table else []
    return path.name, header, [(where, row) for where, row in table[1:] if any(row)]


def _rows(name):
    """Rows of a list as dicts, each with where it is."""
    file, header, rows = open_table(name)
    header = [title.lower() for title in header]
    if missing := [column for column in ("item", "value", "unit") if column not in header]:
        raise InputError(f"{file}: no column {', '.join(missing)}; its first row must be item,value,unit,note.")
    for where, row in rows:
        if len(row) > len(header):
            raise InputError(
                f"{where} has more fields than the header: {', '.join(row[: len(header)])}. "
                "Write the decimal point as a dot and put quotes around a note that holds a comma."
            )
        yield where, dict(zip(header, row, strict=False))


def _read_value(where, item, row, kinds):
    """What one row says, as the first of ``kinds`` that its unit fits."""
    text, unit = row.get("value", ""), row.get("unit", "")
    try:
        number = float(text.replace("_", "?"))
    except ValueError:
        hint = "write the decimal point as a dot" if "," in text else "write digits only"
        raise InputError(f"{where}: the value of {item!r} is {text!r}, not a number; {hint}.") from None
    try:
        measured = ureg.Quantity(number, "" if unit == "1" else unit)
    except Exception:  # pint answers an unreadable unit with many kinds of error
        comma = " A decimal comma splits a number in two: write 7.6, not 7,6." if unit.isdigit() else ""
        raise InputError(f"{where}: unit {unit!r} of {item!r} is not known; try {kinds[0].example}.{comma}") from None
    kind = next((kind for kind in kinds if measured.check(kind.unit)), kinds[0])
    try:
        to_si(item, measured, kind)
    except InputError as error:
        raise InputError(f"{where}: {error}") from None
    return measured


def read_items(name, items):
    """What a list says that a learner filled in.

    Parameters
    ----------
    name : str or path
        The learner's own CSV, or the name of a file in ``data/bench``. Columns ``item``, ``value``, ``unit`` and, if
        wanted, ``note``; one row for each of ``items``, in any order and any fitting unit.
    items : dict
        What each item has to be: a :class:`~cellkit.units.Constraint`, a tuple of them between which the unit decides,
       or
        a function that turns the text into what it stands for.

    Returns
    -------
    found : dict
        A quantity in the unit of its row, or what the function returned, for each item.
    where : str
        The last row, in words, for what the caller has to say about the list as a whole.

    Raises
    ------
    InputError
        Naming the row: a missing column or item, an unknown or repeated item, an unknown unit, text in a number, a
        decimal comma, a value out of range.

    Examples
    --------
    >>> found, where = read_items("otter_lane_block.csv", {"cells": Constraint("", "3,1")})
    Traceback (most recent call last):
        ...
    cellkit.units.InputError: otter_lane_block.csv, row 3: item 'whole block' is not known; known are cells.
    """
    found, where = {}, str(name)
    for where, row in _rows(name):
        item = row.get("item", "").lower()
        if item in found:
            raise InputError(f"{where}: {item!r} is there twice; keep one.")
        if item not in items:
            raise InputError(f"{where}: item {item!r} is not known; known are {', '.join(items)}.")
        if callable(items[item]):
            try:
                found[item] = items[item](row.get("value", ""))
            except InputError as error:
                raise InputError(f"{where}: {error}") from None
        else:
            kinds = (items[item],) if isinstance(items[item], Constraint) else items[item]
            found[item] = _read_value(where, item, row, kinds)
    if missing := [item for item in items if item not in found]:
        raise InputError(f"{where}: the list ends without {', '.join(missing)}; add a row for each.")
    return found, where
