"""Tables of measurements as loggers and people write them: columns found by their titles, read in blocks."""

import csv
import functools
import io
import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from cellkit.tables.published import find_file
from cellkit.tables.text_files import SEPARATORS, decoded, number, read_unit
from cellkit.units import Q_, InputError, shown, ureg

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
    r"(?:(\d{1,4})(?P<mark>[-./])(\d{1,2})\2(\d{1,4})(?:[T,\s]+|$))?(?:(?:(\d+)\s*d(?:ays?)?[\s,]*)?(\d+):(?P<minutes>\d\d)"
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

    ``rows`` are those of the file, ``section`` counts the headers above each; ``shown`` is the unit that each column
    has in the file. ``dated`` times are a date's or a clock's, ``local`` ones as the clock on a wall shows them.
    """

    path: Path
    data: dict
    rows: np.ndarray
    section: np.ndarray
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
        self.data = {key: values[chosen] for key, values in self.data.items()}
        self.rows, self.section = self.rows[chosen], self.section[chosen]


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
    path, chosen = find_file(name), {} if chosen is None else chosen
    if not isinstance(chosen, dict) or not all(
        key in columns and isinstance(c, tuple | list) and len(c) == 2 and all(isinstance(text, str) for text in c)
        for key, c in chosen.items()
    ):
        known = f"it has to name {', '.join(columns)}. Try columns={{'time': ('its title', 's')}}."
        raise InputError(f"columns is {shown(chosen)}; {known}")
    return decoded(path, lambda file: _Reader(path, columns, call, chosen).table(file))


@functools.lru_cache(maxsize=2000)  # every field of a hundred lines may be a title
def _si(unit, column):
    """The SI unit of a column's that a text is a unit for, None if there is none."""
    try:
        unit = read_unit(unit)
    except InputError:
        return None
    return next((si for si in column.units if unit.dimensionality == ureg.Unit(si).dimensionality), None)


class _Reader:
    def __init__(self, path, columns, call, chosen):
        self.path, self.columns, self.call, self.chosen = path, columns, call, chosen
        self.decimal, self.short, self.cut = set(), None, []

    def _try(self, key, unit, title="its title"):
        return f"{self.call}({self.path.name!r}, columns={{{key!r}: ({title!r}, {unit!r})}})"

    def _call_it(self, key, title="its title"):
        column = self.columns[key]
        return f"Call it {column.example} there, or try {self._try(key, next(iter(column.units), ''), title)}."

    def table(self, file):
        """Find the titles, then read what lies below them."""
        head = [file.readline(LONGEST)]
        while 0 < len(head[-1]) < LONGEST and len(head) < NOTES:
            head.append(file.readline(LONGEST))
        at, self.separator, self.titles, found = self._header(head)
        below = self._units_below(found, "".join(head[at + 1 : at + 2]))
        file.seek(0)
        for _ in range(at + 1 + bool(below)):
            file.readline()
        self.header = head[at].rstrip("\n")
        self.unit = {key: below.get(key, places[0][1]) for key, places in found.items()}
        is_clock = "time" in found and self.unit["time"] in (None, *CLOCKS)
        self.clock = [place for place, _ in found.pop("time")] if is_clock else []
        first = {key: places[0][0] for key, places in found.items()}
        self.words = {key: place for key, place in first.items() if not self.columns[key].units}
        self.numbers = {key: place for key, place in first.items() if self.columns[key].units}
        return self._read(file, at + 2 + bool(below))

    # where the columns are

    def _split(self, line, separator):
        return [title.strip() for title in next(csv.reader([line], delimiter=separator), [])]

    def _unit(self, key, text):
        """A text that is a unit of a quantity, as it is kept; empty for any other."""
        if key == "time" and text.lower() in CLOCKS:
            return text.lower()
        return text if re.match(r"[^\d.,+-]", text) and _si(text, self.columns[key]) is not None else ""

    def _header(self, head):
        """Number, separator and titles of the line in which most columns are found, and their places and units."""
        tries = [
            (at, separator, titles, {key: self._candidates(key, titles) for key in self.columns})
            for at, line in enumerate(head)
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
        return at, separator, titles, {key: places for key, places in found.items() if places}

    def _candidates(self, key, titles):
        """Places and units of the columns that may hold a quantity; a unit is None where the title has none."""
        column, places = self.columns[key], []
        if key in self.chosen:
            asked, unit = (text.strip() for text in self.chosen[key])
            if column.units and _si(unit, column) is None and not self._unit(key, unit):
                raise InputError(f"columns: {unit[:40]!r} is no unit of {key}; try {column.units[0]!r}.")
            return [(place, unit) for place, title in enumerate(titles) if title.lower() == asked.lower()]
        words = f"(?:{key.replace('_', '[ _]')}|{TITLES.get(key, key)})"
        for place, title in enumerate(titles):
            match = re.fullmatch(
                rf"{words}(?:\s*[\[({{<](.*)[\])}}>]|(?:\s*[_/:]\s*|\s+in\s+|,?\s+)(.+))?", title, re.IGNORECASE
            )
            said = (match[1] or match[2] or "").strip("[](){} ") if match else ""
            itself = (title, title.lower().rstrip("s"))[: 1 + (len(title) > 2)]  # "V", "Seconds"
            unit = next(filter(None, (self._unit(key, text) for text in ([said] if said else itself))), None)
            if match if not column.units else unit or (match and not said):
                places.append((place, unit))
        return places

    def _units_below(self, found, line):
        """Units by quantity from a row of their own, if the next one is."""
        fields, taken = [text.strip("[](){} ") for text in self._split(line, self.separator)], {}
        for key, places in found.items():
            place, unit = places[0]
            if unit is None and len(places) == 1 and self.columns[key].units:
                taken[key] = self._unit(key, fields[place] if place < len(fields) else "")
                if not taken[key] and key != "time":
                    title = self.titles[place]
                    words = f"{self.path.name}: the column {title!r} has no unit of {key}. "
                    raise InputError(words + self._call_it(key, title))
        return {key: unit for key, unit in taken.items() if unit}

    # the rows below

    def _read(self, file, line):
        """Blocks of lines by numpy's reader, or row by row where that stumbles."""
        blocks, headers = [], 0
        while block := file.read(BLOCK):
            block += file.readline()
            quick = None if self.words or self.clock or self.short else self._quick(block, line)
            values, rows, above, again = quick or self._slow(block, line)
            if len(rows):
                counts = {"row": np.asarray(rows, np.int32), "section": np.asarray(above, np.int32) + headers}
                blocks.append(values | counts)
            headers, line = headers + again, line + block.count("\n")
        data = {
            key: np.concatenate([values.pop(key) for values in blocks]) if blocks else np.empty(0)
            for key in (*self.unit, "row", "section")
        }
        table = Table(self.path, data, data.pop("row"), data.pop("section"), self.unit)
        table.remarks += [f"row {row} is cut off and left out" for row in [*self.cut, *filter(None, [self.short])][:3]]
        for key in self.numbers:
            si, unit = _si(self.unit[key], self.columns[key]), read_unit(self.unit[key])
            zero, one = (Q_(x, unit).to(si).magnitude for x in (0.0, 1.0))
            data[key] *= one - zero
            data[key] += zero
            table.refuse(np.isinf(data[key]), lambda i, k=key: f"{k} is not finite. Delete the row, or mend it.")
        if self.clock and blocks:
            data["time"] = self._seconds(data["time"], table)
        return table

    def _quick(self, block, line):
        """Of a block of clean numbers columns, rows, headers above each, and in all; None where it is anything else."""
        marks = {"."} if self.separator == "," else {mark for mark in ".," if mark in block}
        if len(self.decimal | marks) > 1 or not block.endswith("\n") or block.isspace():
            return None
        again, gap = f"\n{self.header}\n", self.separator.join(["nan"] * len(self.titles))
        clean = ("\n" + block).replace(again, f"\n{gap}\n")[1:]  # a header again is a row without numbers
        if marks == {","}:
            clean = clean.replace(",", ".")
        try:
            values = np.loadtxt(io.StringIO(clean), delimiter=self.separator, comments=None, ndmin=2)
        except ValueError:
            return None
        kept = np.isfinite(values).all(1)
        headers = np.sum(~kept)
        if values.shape != (block.count("\n"), len(self.titles)) or headers != ("\n" + block).count(again):
            return None
        self.decimal |= marks
        columns = {key: values[kept, place] for key, place in self.numbers.items()}
        return columns, line + np.flatnonzero(kept), np.cumsum(~kept)[kept], headers

    def _slow(self, block, line):
        """The same row by row, with blanks, words and clocks; an InputError names the row that cannot be read."""
        texts, rows, above, headers = [], [], [], 0
        reader = csv.reader(io.StringIO(block), delimiter=self.separator)
        for fields in reader:
            row, fields = line + reader.line_num - 1, [text.strip() for text in fields]
            while len(fields) > len(self.titles) and not fields[-1]:
                fields.pop()
            if fields == self.titles:
                headers += 1
                self.cut, self.short = self.cut + [self.short] * bool(self.short), None
                continue
            if not any(fields):
                continue
            if self.short or len(fields) > len(self.titles):  # a short row is cut off only where nothing follows
                many = "fewer values than" if self.short else f"{len(fields)} values,"
                comma = "A decimal comma splits a number in two: write 1.5, not 1,5. Or delete"
                hint = comma if self.separator == "," and not self.short else "Delete"
                row = f"{self.path.name}, row {self.short or row}"
                raise InputError(f"{row}: {many} {len(self.titles)} columns. {hint} the row.")
            if len(fields) < len(self.titles):
                self.short = row
                continue
            texts.append(fields)
            rows.append(row)
            above.append(headers)
        values = {
            key: [self._value(*one, place) for one in zip(rows, texts, strict=True)]
            for key, place in self.numbers.items()
        }
        values |= {key: [fields[place] for fields in texts] for key, place in self.words.items()}
        if self.clock:
            stamps = (" ".join(fields[place] for place in self.clock) for fields in texts)
            values["time"] = [self._stamp(row, text) for row, text in zip(rows, stamps, strict=True)]
        return {key: np.array(column) for key, column in values.items()}, rows, above, headers

    def _value(self, row, fields, place):
        text, title = fields[place], self.titles[place]
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
        match, unit, where = CLOCK.fullmatch(text), self.unit["time"], f"{self.path.name}, row {row}: "
        if not match or not (match["mark"] or match["minutes"]):
            words = f"time is {text[:40]!r}, neither a date nor a clock's hours, minutes and seconds, and has no unit. "
            raise InputError(where + words + self._call_it("time"))
        a, mark, b, c, days, hours, minutes, seconds, noon, zone, zone_minutes = match.groups("")
        if hours and not (seconds or mark or unit in HOURS | MINUTES):
            words = f"{text!r} may be minutes and seconds or hours and minutes. Try "
            raise InputError(f"{where}{words}{self._try('time', 'hh:mm')}.")
        if not seconds and unit in MINUTES:
            hours, minutes, seconds = "0", hours, minutes
        clock = int(hours or 0) % (12 if noon else 10**6) + 12 * (noon.lower() == "pm")
        total = DAY * int(days or 0) + 3600 * clock + 60 * int(minutes or 0) + float(seconds.replace(",", ".") or 0)
        total -= 3600 * int(zone or 0) + 60 * int(f"{zone[:1]}{zone_minutes or 0}")
        zoned, turned = bool(zone) or text.endswith(("Z", "UTC")), len(a) < 4 and mark != "."
        year, month, day = (a, b, c) if len(a) == 4 else (c, a, b) if turned else (c, b, a)
        date = [int(year) + 2000 * (len(year) <= 2), int(month), int(day)] if mark else [np.inf, 0, 0]
        return [*date, bool(mark) and turned, total, zoned]

    def _seconds(self, stamps, table):
        """Seconds of dates and clock times; what is ambiguous is refused."""
        year, month, day, turned, seconds, zoned = stamps.T
        known, dated = np.isfinite(seconds), np.isfinite(year)
        table.refuse(known & (dated != dated.any()), lambda i: "no date, which other rows have. Write one.")
        table.local, table.dated = not zoned[known].all(), True
        if not dated.any():
            back = (np.diff(seconds[known]) < -DAY / 2) & (seconds[known][:-1] < DAY)
            seconds[known] += DAY * np.concatenate([[0], np.cumsum(back)])
            table.remarks += [f"the clock passes midnight {back.sum()} ×"] if back.any() else []
            return seconds
        if turned[dated].any():
            unit = self.unit["time"]
            day_first = unit == "d/m/y" or (unit != "m/d/y" and (month[dated] > 12).any())
            one_day = np.ptp(month[dated]) == np.ptp(day[dated]) == 0
            if not (unit in DATES or day_first or (day[dated] > 12).any() or one_day):
                words = f"is {month[dated][0]:.0f}/{day[dated][0]:.0f} a day and a month, or a month and a day?"
                raise InputError(f"{self.path.name}: {words} Try {self._try('time', 'd/m/y')}, or 'm/d/y'.")
            month, day = (day, month) if day_first else (month, day)
            table.remarks.append(f"dates are read as {'day/month' if day_first else 'month/day'}")
        year, month, day = (np.where(known, x, 1).astype(int) for x in (year, month, day))
        months = ((year - 1970) * 12 + month - 1).astype("M8[M]")
        days = months.astype("M8[D]") + (day - 1)
        never = (days.astype("M8[M]") != months) | (month < 1) | (month > 12)
        table.refuse(never, lambda i: f"there is no day {day[i]} in month {month[i]} of {year[i]}. Mend the date.")
        return days.astype(float) * DAY + seconds
