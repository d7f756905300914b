"""Long tables of numbers from a logger: numpy's reader for a clean file, row by row for the rest, errors by row."""

import csv
import re
import warnings
from array import array
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cellkit.tables.published import find_file
from cellkit.units import Q_, InputError

HEADER = 2000  # characters read in search of a header


@dataclass(frozen=True, eq=False)
class Table:
    """Columns of a logger's file in SI units.

    Parameters
    ----------
    path : Path
    separator : str
    titles : list of str
    places : list of int
        Which of ``titles`` were asked for, in that order.
    values : array
        One row of SI values per measurement.
    starts : array of int
        The first measurement below each header; loggers write their header again after a restart.
    """

    path: Path
    separator: str
    titles: list
    places: list
    values: np.ndarray
    starts: np.ndarray

    def refuse(self, bad, says):
        """An :class:`InputError` with the file's row of the first measurement that is ``bad``, if any is."""
        if bad.any():
            index = np.argmax(bad)
            row = _careful(self.path, self.separator, self.titles, self.places)[1][index]
            raise InputError(f"{self.path.name}, row {row}: {says(index)}")


def read_table(name, columns):
    """Read the columns ``<quantity>_<unit>`` of a logger's file, whatever else it holds.

    The separator is what the header has most of: comma, semicolon or tab. Decimal commas are read where they cannot
    separate. Repeated headers start a new section.

    Parameters
    ----------
    name : str or path
        The learner's own CSV, or the name of a file in ``data/bench``.
    columns : dict of str to (str, str)
        SI unit and an example of the title by quantity.

    Returns
    -------
    Table

    Raises
    ------
    InputError
        Naming the row: a column or unit that is missing, too many or too few values, what is no finite number.

    Examples
    --------
    >>> read_table("log_copper.csv", {"pressure": ("Pa", "pressure_hPa")})
    Traceback (most recent call last):
        ...
    cellkit.units.InputError: log_copper.csv, row 1: no column pressure_<unit> in 'time_min,voltage_V,current_mA'. \
The first row has to name it once with its unit, such as pressure_hPa.
    """
    path = find_file(name)
    try:
        separator, titles = _header(path)
        found = [_column(path.name, titles, quantity, *what) for quantity, what in columns.items()]
        where = path, separator, titles, [place for place, _ in found]
        try:
            values, starts = _quick(*where)
        except (ValueError, UserWarning):
            values, _, starts = _careful(*where)
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"{path.name} is not CSV in UTF-8 ({error}). Save it anew as 'CSV UTF-8'.") from None
    starts = np.unique([start for start in starts if start < len(values)])
    table = Table(*where, values, starts)
    table.refuse(
        ~np.isfinite(values).all(axis=1),
        lambda index: f"{' '.join(f'{x:g}' for x in values[index])}: not all finite. Delete the row, or mend it.",
    )
    values *= [factor for _, factor in found]
    return table


def _header(path):
    with path.open(encoding="utf-8-sig") as file:
        line = file.readline(HEADER)
    separator = max(",;\t", key=line.count)
    return separator, [title.strip() for title in next(csv.reader([line], delimiter=separator), [])]


def _column(file, titles, quantity, unit, example):
    """Position of a quantity's column and its factor to SI."""
    found = [title for title in titles if re.match(rf"{quantity}_.", title, re.IGNORECASE)]
    if len(found) != 1:
        raise InputError(
            f"{file}, row 1: {len(found) or 'no'} column {quantity}_<unit> in {','.join(titles)[:120]!r}. The first "
            f"row has to name it once with its unit, such as {example}."
        )
    try:
        return titles.index(found[0]), Q_(1.0, found[0].split("_", 1)[1]).to(unit).magnitude
    except Exception:  # pint answers an unreadable unit with many kinds of error
        raise InputError(f"{file}, row 1: {found[0]!r} has no unit of {quantity}; try {example}.") from None


def _quick(path, separator, titles, places):
    """The columns and the starts by numpy's own reader; ValueError or UserWarning if not all is clean numbers."""
    options = {"delimiter": separator, "comments": None, "ndmin": 2, "encoding": "utf-8-sig"}
    with path.open(encoding="utf-8-sig") as file, warnings.catch_warnings():
        warnings.simplefilter("error", UserWarning)  # a table without rows
        try:
            values, starts = np.loadtxt(path, skiprows=1, **options), [0]
        except ValueError:  # it may be only for headers in the midst
            starts = [0]
            values = np.loadtxt(_measurements(file, starts), **options)
    if values.shape[1] != len(titles):
        raise ValueError
    return np.array([values[:, place] for place in places]).T, starts  # one column lies behind the other


def _measurements(file, starts):
    """Lines of ``file`` without headers; adds to ``starts`` how many lines went before each repeated one."""
    header, others = next(file), 0
    for index, line in enumerate(file):
        if line in (header, "\n"):
            if line == header:
                starts.append(index - others)
            others += 1
        else:
            yield line


def _careful(path, separator, titles, places):
    """The columns, the file's row of each measurement, and the first measurement below each header."""
    values, rows, starts, decimal = array("d"), array("q"), [], set()  # lists would take eight times the file
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.reader(file, delimiter=separator)
        for fields in reader:
            fields = [field.strip() for field in fields]
            if fields == titles:
                starts.append(len(rows))
            elif any(fields):
                where = f"{path.name}, row {reader.line_num}"
                if len(fields) != len(titles):
                    hint = " A decimal comma splits a number in two: write 1.5, not 1,5." if separator == "," else ""
                    raise InputError(f"{where}: {len(fields)} values, {len(titles)} columns.{hint} Or delete the row.")
                values.extend(_number(where, titles[p], fields[p], separator, decimal) for p in places)
                rows.append(reader.line_num)
    return np.array(values).reshape(-1, len(places)), rows, starts


def _number(where, title, text, separator, decimal):
    decimal.update(mark for mark in ".," if mark in text)
    if separator != "," and len(decimal) > 1:
        raise InputError(f"{where}, {title}: {text[:40]!r} where rows above have another decimal mark. Keep to one.")
    try:
        return float(text.replace("_", "?") if separator == "," else text.replace("_", "?").replace(",", "."))
    except ValueError:
        hint = "Delete the row, or mend it."
        if separator == "," and "," in text:
            hint = "Write 1.5, not 1,5."
        elif ":" in text:
            hint = "Write times as a number since the start, not as a clock shows them."
        raise InputError(f"{where}, {title}: {text[:40]!r} is not a number. {hint}") from None
