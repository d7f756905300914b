"""Tables of measurements as loggers and people write them: columns found by their titles, read in blocks."""

import contextlib
import csv
import functools
import io
import re
import warnings
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from cellkit.tables.published import find_file
from cellkit.tables.text_files import SEPARATORS, decoded, number, read_unit
from cellkit.units import Q_, InputError, ureg

BLOCK = 1 << 22  # characters read at once
LONGEST = 100_000  # characters of a line of titles or notes
NOTES = 100  # lines in which the titles have to stand
DAY = 86400.0
NO_READING = {"", "-", "--", "---", "----", "ol", "o.l", "o.l.", "-ol", "ovl", "ovld", "overload", "overflow"}
NO_READING |= {"nan", "n/a", "null"}
TITLES = {  # what a column may be called, in small letters, before its unit
    "time": "(?:(?:test|total|elapsed|run)?[ _]?time|date ?[/&_ ]? ?time|timestamp|date|t|zeit|datum|uhrzeit)",
    "voltage": "(?:(?:cell |battery )?voltage|volts?|u|v|e|spannung)",
    "current": "(?:current|amps?|amperes?|i|strom)",
    "capacity": "(?:capacity|kapazität|charge left)",
    "temperature": "(?:temperature|temp\\.?|temperatur)",
    "state": "(?:state|status|mode|step[ _]type|zustand|modus)",
}
HOURS, MINUTES, DATES = {"hh:mm", "h:m"}, {"mm:ss", "m:s"}, {"d/m/y", "m/d/y"}  # in place of a unit
CLOCKS = {"clock", "hh:mm:ss", "h:m:s", "h:min:s"} | HOURS | MINUTES | DATES
CLOCK = re.compile(
    r"(?:(\d{1,4})([-./])(\d{1,2})\2(\d{1,4})(?:[T,\s]+|$))?(?:(?:(\d+)\s*d(?:ays?)?[\s,]*)?(\d+):(\d\d)"
    r"(?::(\d\d(?:[.,]\d+)?))?\s*([AaPp][Mm])?)?\s*(?:Z|UTC|([+-]\d\d):?(\d\d))?",
    re.ASCII,
)


@dataclass(frozen=True)
class Column:
    """What is asked for: the SI ``units`` of which one has to fit, none for words; an ``example`` of the title."""

    units: tuple
    example: str
    optional: bool = False


@dataclass(eq=False)
class Table:
    """What was read: ``data`` are SI values by quantity (NaN where there is no reading), or words.

    ``rows`` are those of the file, ``starts`` the first measurements below each header; ``shown`` is the unit that each
    column has in the file. ``dated`` times are a date's or a clock's, ``local`` ones as the clock on a wall shows them.
    """

    path: Path
    data: dict
    rows: np.ndarray
    starts: np.ndarray
    shown: dict
    local: bool = False
    dated: bool = False
    remarks: list = field(default_factory=list)

    def refuse(self, bad, says):
        """An :class:`InputError` with the file's row of the first measurement that is ``bad``, if any is."""
        if np.any(bad):
            index = int(np.argmax(bad))
            raise InputError(f"{self.path.name}, row {self.rows[index]}: {says(index)}")

    def keep(self, chosen):
        """The measurements that are ``chosen`` only."""
        before = np.concatenate([[0], np.cumsum(chosen)])
        self.data = {key: values[chosen] for key, values in self.data.items()}
        self.rows, starts = self.rows[chosen], before[self.starts]
        self.starts = np.unique(starts[starts < self.rows.size])


def read_table(name, columns, call, chosen=None):
    """Read the columns that are asked for, whatever else a file holds, as a :class:`Table`.

    A title is one of ``TITLES`` or the key itself with its unit behind it (``time_s``, ``Time [s]``, ``U/V``), or the
    unit in a row below. Notes may stand above, a header again starts a new section. Times may be dates or a clock's.

    ``name``: the learner's own file, or the name of one in ``data/bench``. ``call``: the call to be named in messages.
    ``chosen``: title and unit of columns that go by other names; in place of a unit, one of ``CLOCKS`` for times.

    >>> read_table("log_copper.csv", {"pressure": Column(("Pa",), "pressure_hPa")}, "read")
    Traceback (most recent call last):
        ...
    cellkit.units.InputError: log_copper.csv, row 1: no column of pressure with a unit in \
'time_min,voltage_V,current_mA'. Call it pressure_hPa there, or try \
read('log_copper.csv', columns={'pressure': ('its title', 'Pa')}).
    """
    path = find_file(name)
    chosen = {} if chosen is None else chosen
    if not isinstance(chosen, dict) or not all(
        key in columns and isinstance(c, tuple | list) and len(c) == 2 and all(isinstance(text, str) for text in c)
        for key, c in chosen.items()
    ):
        raise InputError(f"columns has to name {', '.join(columns)}. Try columns={{'time': ('its title', 's')}}.")
    return decoded(path, lambda file: _Reader(path, columns, call, chosen).table(file))


class _Reader:
    def __init__(self, path, columns, call, chosen):
        self.path, self.columns, self.call, self.chosen = path, columns, call, chosen
        self.decimal, self.short, self.cut = set(), None, []

    def _try(self, key, unit, title="its title"):
        return f"{self.call}({self.path.name!r}, columns={{{key!r}: ({title!r}, {unit!r})}})"

    def _call_it(self, key, title="its title"):
        column = self.columns[key]
        return f"Call it {column.example} there, or try {self._try(key, next(iter(column.units), ''), title)}."

    # where the columns are

    def table(self, file):
        head = []
        while len(head) < NOTES and (line := file.readline(LONGEST)):
            head.append(line)
            if len(line) == LONGEST:
                break
        at, self.separator, self.titles, self.found = self._header(head)
        file.seek(0)
        for _ in range(at + 1):
            self.header = file.readline().rstrip("\n")
        at += self._units_below(head[at + 1] if at + 1 < len(head) else "", file)
        self.unit = {key: places[0][1] for key, places in self.found.items() if places}
        self.clock = [place for place, unit in self.found.get("time", []) if unit is None or unit in CLOCKS]
        return self._read(file, at + 2)

    def _split(self, line, separator):
        return [title.strip() for title in next(csv.reader([line], delimiter=separator), [])]

    def _header(self, head):
        """Number, separator and titles of the line in which most columns are found, and their places and units."""
        tries = [
            (at, separator, titles, {key: self._candidates(key, titles) for key in self.columns})
            for at, line in enumerate(head or [""])
            for separator in sorted(filter(line.count, SEPARATORS), key=line.count, reverse=True) or ","
            for titles in [self._split(line, separator)]
        ]
        at, separator, titles, found = max(tries, key=lambda one: (sum(map(bool, one[3].values())), any(one[2])))
        understood = ", ".join(f"{key} in {titles[p[0][0]]!r}" for key, p in found.items() if len(p) == 1)
        seen = f"{separator.join(titles)[:120]!r}" + f" (understood: {understood})" * bool(understood)
        for key, column in self.columns.items():
            with_unit = [(place, unit) for place, unit in found[key] if unit]
            places = with_unit if len(with_unit) == 1 else found[key]
            named = [titles[place].lower() for place, _ in places]
            if key == "time" and len(places) == 2 and {"date", "datum"} & {*named} and not with_unit:
                places = places if named[0] in ("date", "datum") else places[::-1]
            elif len(places) > 1 or not (places or column.optional):
                count = f"{len(places) or 'no'} column{'s' * (len(places) > 1)} of {key}"
                raise InputError(
                    f"{self.path.name}, row {at + 1}: {count}{' with a unit' * bool(column.units)} in {seen}. "
                    + self._call_it(key)
                )
            found[key] = places
        return at, separator, titles, found

    def _candidates(self, key, titles):
        """Places and units of the columns that may hold a quantity; a unit is None where the title has none."""
        column, places = self.columns[key], []
        for place, title in enumerate(titles):
            if key in self.chosen:
                asked, unit = (text.strip() for text in self.chosen[key])
                if column.units and not (self._si(unit, column) or (key == "time" and unit in CLOCKS)):
                    raise InputError(f"columns: {unit[:40]!r} is no unit of {key}; try {column.units[0]!r}.")
                places += [(place, unit)] if title.lower() == asked.lower() else []
                continue
            words = f"(?:{key.replace('_', '[ _]')}|{TITLES.get(key, key)})"
            match = re.fullmatch(
                rf"{words}(?:\s*[\[({{<](.*)[\])}}>]|(?:\s*[_/:]\s*|\s+in\s+|,?\s+)(.+))?", title, re.IGNORECASE
            )
            unit = (match[1] or match[2] or "").strip("[](){} ") if match else ""
            itself = (title, title.lower().rstrip("s"))[: 1 + (len(title) > 2)]  # "V", "Seconds"
            unit = unit or next((u for u in itself if self._si(u, column)), "")
            if not column.units:
                places += [(place, None)] if match else []
            elif unit and self._si(unit, column):
                places.append((place, unit))
            elif match and key == "time" and unit.lower() in CLOCKS:
                places.append((place, unit.lower()))
            elif match and not unit:
                places.append((place, None))
        return places

    @staticmethod
    @functools.lru_cache(maxsize=2000)  # every field of a hundred lines may be a title
    def _si(unit, column):
        """Which SI unit of a column's a text is a unit for, as a list of one or none."""
        try:
            unit = read_unit(unit)
        except InputError:
            return []
        return [si for si in column.units if unit.dimensionality == ureg.Unit(si).dimensionality][:1]

    def _units_below(self, line, file):
        """Take units from a row of their own, if the next one is; how many rows that was."""
        below, taken = [text.strip("[](){} ") for text in self._split(line, self.separator)], {}
        missing = [k for k, p in self.found.items() if len(p) == 1 and p[0][1] is None and self.columns[k].units]
        for key in missing:
            place = self.found[key][0][0]
            text = below[place] if place < len(below) else ""
            is_clock = key == "time" and text.lower() in CLOCKS
            if is_clock or (re.match(r"[^\d.,+-]", text) and self._si(text, self.columns[key])):
                taken[key] = [(place, text)]
        for key in missing:
            if key not in taken and key != "time":
                title = self.titles[self.found[key][0][0]]
                words = f"{self.path.name}: the column {title!r} has no unit of {key}. "
                raise InputError(words + self._call_it(key, title))
        if taken:
            file.readline()
            self.found |= taken
        return int(bool(taken))

    # the rows below

    def _read(self, file, line):
        """Blocks of lines by numpy's reader, or row by row where that stumbles."""
        words = [key for key in self.unit if not self.columns[key].units]
        plain = {k: p[0][0] for k, p in self.found.items() if p and k not in words and not (k == "time" and self.clock)}
        parts, rows, starts, count = {key: [] for key in self.unit}, [np.empty(0, np.int32)], [0], 0
        while block := file.read(BLOCK):
            block += file.readline()
            quick = None if words or self.clock or self.short else self._quick(block, line, plain)
            values, at, begins = quick or self._slow(block, line, plain, words)
            for key, part in values.items():
                parts[key].append(part)
            rows.append(np.asarray(at, dtype=np.int32))
            starts += [count + begin for begin in begins]
            count, line = count + len(at), line + block.count("\n")
        data = {key: np.empty(0) for key in self.unit}
        for key in data if count else ():
            data[key], parts[key] = np.concatenate(parts[key]), None
        starts = np.unique([start for start in starts if start < count]).astype(int)
        table = Table(self.path, data, np.concatenate(rows), starts, self.unit)
        table.remarks += [f"row {row} is cut off and left out" for row in [*self.cut, *filter(None, [self.short])][:3]]
        for key in plain:
            (si,), unit = self._si(self.unit[key], self.columns[key]), read_unit(self.unit[key])
            zero, one = (Q_(x, unit).to(si).magnitude for x in (0.0, 1.0))
            data[key] *= one - zero
            data[key] += zero
            table.refuse(np.isinf(data[key]), lambda i, k=key: f"{k} is not finite. Delete the row, or mend it.")
        if self.clock and count:
            data["time"] = self._seconds(data["time"], table)
        return table

    def _quick(self, block, line, plain):
        """Columns, rows and starts of a block of clean numbers; None where it is anything else."""
        marks = {"."} if self.separator == "," else {mark for mark in ".," if mark in block}
        if len(self.decimal | marks) > 1 or not block.endswith("\n"):
            return None
        parts = ("\n" + block).split("\n" + self.header + "\n")
        lines = [part.count("\n") + (at > 0) for at, part in enumerate(parts)]
        lines[-1] -= 1
        clean = "\n".join(parts)[1:] if parts[0] or len(parts) == 1 else "\n".join(parts[1:])
        if marks == {","}:
            clean = clean.replace(",", ".")
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", UserWarning)  # a block without rows
                values = np.loadtxt(io.StringIO(clean), delimiter=self.separator, comments=None, ndmin=2)
        except (ValueError, UserWarning):
            return None
        if values.shape != (sum(lines), len(self.titles)) or not np.isfinite(values).all():
            return None
        self.decimal |= marks
        at = line + np.arange(len(values)) + np.repeat(np.arange(len(parts)), lines)
        return {key: values[:, place].copy() for key, place in plain.items()}, at, np.cumsum(lines)[:-1]

    def _slow(self, block, line, plain, words):
        """The same row by row, with blanks, words and clocks; an InputError names the row that cannot be read."""
        texts, at, begins = {key: [] for key in self.unit}, [], []
        reader = csv.reader(io.StringIO(block), delimiter=self.separator)
        for fields in reader:
            row, fields = line + reader.line_num - 1, [text.strip() for text in fields]
            while len(fields) > len(self.titles) and not fields[-1]:
                fields.pop()
            if fields == self.titles:
                begins.append(len(at))
                self.cut, self.short = self.cut + [self.short] * bool(self.short), None
                continue
            if not any(fields):
                continue
            if self.short or len(fields) > len(self.titles):  # a short row is cut off only where nothing follows
                many = f"{self.path.name}, row {self.short or row}: {'fewer' if self.short else len(fields)} values"
                hint = " A decimal comma splits a number in two: write 1.5, not 1,5." if self.separator == "," else ""
                raise InputError(f"{many}, {len(self.titles)} columns.{hint} Or delete the row.")
            if len(fields) < len(self.titles):
                self.short = row
                continue
            for key, place in plain.items():
                texts[key].append(fields[place])
            for key in words:
                texts[key].append(fields[self.found[key][0][0]])
            if self.clock:
                texts["time"].append(self._stamp(row, " ".join(fields[place] for place in self.clock)))
            at.append(row)
        if not at:
            return {}, at, begins
        values = {key: self._numbers(at, self.titles[place], texts[key]) for key, place in plain.items()}
        return values | {key: np.array(texts[key]) for key in texts.keys() - plain.keys()}, at, begins

    def _numbers(self, rows, title, texts):
        """One column of a block: all at once if it holds nothing but numbers with a point, else text by text."""
        if re.fullmatch(r"[0-9.eE+\-\n]*", "\n".join(texts)) and (self.separator == "," or "," not in self.decimal):
            with contextlib.suppress(ValueError):
                values = [float(text) for text in texts]
                self.decimal |= {"."} if self.separator != "," and any("." in text for text in texts) else set()
                return np.array(values)
        return np.array([self._value(row, title, text) for row, text in zip(rows, texts, strict=True)])

    def _value(self, row, title, text):
        if text.lower() in NO_READING:
            return np.nan
        try:
            value = number(text, self.separator)
        except ValueError:
            hint = "Write 1.5, not 1,5." if "," in text and self.separator == "," else "Delete the row, or mend it."
            hint = f"If it is a clock's, try {self._try('time', 'clock', title)}." if ":" in text else hint
            raise InputError(f"{self.path.name}, row {row}, {title}: {text[:40]!r} is not a number. {hint}") from None
        self.decimal |= {mark for mark in ".," if mark in text}
        if len(self.decimal) > 1:  # with a comma as separator there is but the point
            where = f"{self.path.name}, row {row}, {title}: {text[:40]!r}"
            raise InputError(f"{where}, while others have another decimal mark. Keep to one.")
        return value

    def _stamp(self, row, text):
        """Year, month, day, 1 if these two may be the other way round, seconds, 1 if in a time zone."""
        if text.lower() in NO_READING:
            return [np.nan] * 6
        match, unit = CLOCK.fullmatch(text), self.unit["time"]
        where = f"{self.path.name}, row {row}: "
        if not match or not (match[2] or match[6]):
            words = f"time is {text[:40]!r}, neither a date nor a clock's hours, minutes and seconds, and has no unit. "
            raise InputError(where + words + self._call_it("time"))
        a, mark, b, c, days, hours, minutes, seconds, noon, zone, zone_minutes = match.groups("")
        if hours and not (seconds or mark or unit in HOURS | MINUTES):
            words = f"{text!r} may be minutes and seconds or hours and minutes. Try "
            raise InputError(f"{where}{words}{self._try('time', 'hh:mm')}.")
        if not seconds and unit in MINUTES:
            hours, minutes, seconds = "0", hours, minutes
        clock = int(hours or 0) % (12 if noon else 10**6) + 12 * (noon.lower() == "pm")
        total = 86400 * int(days or 0) + 3600 * clock + 60 * int(minutes or 0) + float(seconds.replace(",", ".") or 0)
        total -= 3600 * int(zone or 0) + 60 * int(f"{zone[:1]}{zone_minutes or 0}")
        date = [np.inf, 0, 0, 0]
        if mark:
            turned = len(a) < 4 and mark != "."
            year, month, day = (a, b, c) if len(a) == 4 else (c, a, b) if turned else (c, b, a)
            date = [int(year) + 2000 * (len(year) <= 2), int(month), int(day), turned]
        return [*date, total, bool(zone) or text.endswith(("Z", "UTC"))]

    def _seconds(self, stamps, table):
        """Seconds of dates and clock times; what is ambiguous is refused."""
        year, month, day, turned, seconds, zoned = stamps.T
        known = np.isfinite(seconds)
        dated = np.isfinite(year)
        table.refuse(known & (dated != dated[known][0] if known.any() else False), lambda i: "a date here, none above.")
        table.local, table.dated = not zoned[known].all(), True
        if not dated.any():
            back = np.diff(seconds[known]) < -DAY / 2
            back &= seconds[known][:-1] < DAY
            seconds[known] += DAY * np.concatenate([[0], np.cumsum(back)])
            table.remarks += [f"the clock passes midnight {back.sum()} ×"] if back.any() else []
            return seconds
        if turned[dated].any():
            unit = self.unit["time"]
            day_first = unit == "d/m/y" or (unit != "m/d/y" and (month[dated] > 12).any())
            same = np.ptp(month[dated]) == np.ptp(day[dated]) == 0
            if not (unit in DATES or day_first or (day[dated] > 12).any() or same):
                words = (
                    f"{self.path.name}: is {month[0]:.0f}/{day[0]:.0f} a day and a month, or a month and a day? Try "
                )
                raise InputError(f"{words}{self._try('time', 'd/m/y')}, or 'm/d/y'.")
            month, day = (day, month) if day_first else (month, day)
            table.remarks.append(f"dates are read as {'day/month' if day_first else 'month/day'}")
        year, month, day = (np.where(known, x, 1).astype(int) for x in (year, month, day))
        months = ((year - 1970) * 12 + month - 1).astype("M8[M]")
        days = months.astype("M8[D]") + (day - 1)
        table.refuse((days.astype("M8[M]") != months) | (month < 1) | (month > 12), lambda i: "there is no such date.")
        return days.astype(float) * DAY + seconds
