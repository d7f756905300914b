"""One cell, written as sixty and more loggers write it: read rightly, read with a remark, or refused with what to try.

The truth is invented: 1.3 V behind 0.15 ohm, at rest, charged at 0.25 A, at rest, discharged at 0.3 A. What was
written is integrated here by numpy's trapezoids, on its own; the reader has to give that charge and that energy.
"""

import re
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy.integrate import trapezoid

import cellkit as ck
from cellkit import Q_, InputError

SECONDS = np.arange(0, 2400.0, 10)
AMPERES = np.select([SECONDS < 300, SECONDS < 1200, SECONDS < 1500, SECONDS < 2300], [0.0, -0.25, 0.0, 0.3], 0.0)
VOLTS = np.round(1.3 - 0.15 * AMPERES - 1e-5 * SECONDS, 4)
TRUTH = {
    "charge_out": trapezoid(np.maximum(AMPERES, 0), SECONDS),
    "charge_in": trapezoid(np.maximum(-AMPERES, 0), SECONDS),
    "energy_out": trapezoid(np.maximum(AMPERES, 0) * VOLTS, SECONDS),
    "energy_in": trapezoid(np.maximum(-AMPERES, 0) * VOLTS, SECONDS),
}
START = datetime(2026, 5, 17, 14, 0, 0)  # a Sunday
STATE = np.select([AMPERES > 0, AMPERES < 0], ["Discharge", "Charge"], "Rest")


def clock(form, start=START, add=None):
    """The time of each row as ``form`` writes it; ``add`` seconds are shown besides, such as summer time."""
    add = np.zeros(SECONDS.size) if add is None else add
    return [(start + timedelta(seconds=float(s + a))).strftime(form) for s, a in zip(SECONDS, add, strict=True)]


def text(header, *columns, separator=",", decimal=".", notes="", end="\n"):
    rows = zip(*([f"{x:.10g}" if not isinstance(x, str) else x for x in column] for column in columns), strict=True)
    rows = [[f.replace(".", decimal) if re.fullmatch(r"[-.\de]+", f) else f for f in row] for row in rows]
    return notes + end.join([separator.join(header), *(separator.join(row) for row in rows)]) + end


def plain(header, separator=",", decimal=".", notes="", time=SECONDS, volts=VOLTS, amperes=AMPERES, **options):
    return text(header.split("~"), time, volts, amperes, separator=separator, decimal=decimal, notes=notes, **options)


def patched(row, fields, base=None):
    """The plain file with one row (as a spreadsheet counts) written otherwise."""
    lines = (base or CLEAN).splitlines()
    lines[row - 1] = fields
    return "\n".join(lines) + "\n"


CLEAN = plain("time_s~voltage_V~current_A")
MIDNIGHT = START.replace(hour=23, minute=45)
AUTUMN = datetime(2026, 10, 25, 2, 40)  # clocks go back from 3 to 2 within these rows
SPRING = datetime(2026, 3, 29, 1, 40)
LATER = np.where(SECONDS >= 1200, 3600.0, 0)
HMS = [f"{s // 3600:.0f}:{s // 60 % 60:02.0f}:{s % 60:02.0f}" for s in SECONDS]
LONG = [f"{25 + s // 3600:.0f}:{s // 60 % 60:02.0f}:{s % 60:02.0f}" for s in SECONDS]
NOTES = "Logger X1\nSerial: 007;A\n\nChannel 1, cell of Osier Yard\n"
TUV, TUI = "Time [s]~Voltage [V]~Current [A]", "t/s~U/V~I/A"
ISO = "%Y-%m-%d %H:%M:%S"

READ = {
    # separators, marks, encodings
    "commas": CLEAN,
    "semicolons": plain("time_s~voltage_V~current_A", ";"),
    "tabs": plain("time_s~voltage_V~current_A", "\t"),
    "bars": plain("time_s~voltage_V~current_A", "|"),
    "semicolons and decimal commas": plain(TUI, ";", ","),
    "tabs and decimal commas": plain(TUI, "\t", ","),
    "byte-order mark": CLEAN.encode("utf-8-sig"),
    "UTF-16": CLEAN.encode("utf-16"),
    "UTF-16 little-endian, no mark": CLEAN.encode("utf-16-le"),
    "UTF-16 big-endian, no mark": CLEAN.encode("utf-16-be"),
    "code page 1252": ("Prüfstand\n" + plain("Zeit/s~Spannung/V~Strom/A", ";", ",")).encode("cp1252"),
    "Windows line ends": CLEAN.replace("\n", "\r\n").encode(),
    "old Mac line ends": CLEAN.replace("\n", "\r").encode(),
    "no last line end": CLEAN.rstrip("\n"),
    "quoted": "\n".join(",".join(f'"{f}"' for f in line.split(",")) for line in CLEAN.splitlines()),
    "quoted decimal commas": "\n".join(
        ";".join(f'"{f}"' for f in line.split(";")) for line in plain(TUI, ";", ",").splitlines()
    ),
    "blank lines": CLEAN.replace("\n", "\n\n"),
    "spaces around": CLEAN.replace(",", " , "),
    "a separator behind each row": CLEAN.replace("\n", ",\n"),
    "a separator behind each row but the titles": CLEAN.replace("\n", ",\n").replace("A,\n", "A\n", 1),
    "exponents": plain("time_s~voltage_V~current_A").replace("1.3,0\n", "1.3e0,0.000E+00\n"),
    "a true minus": CLEAN.replace("-", "−"),
    # titles and units
    "brackets": plain(TUV),
    "parentheses": plain("Time(s)~Voltage(V)~Current(A)"),
    "quantity over unit": plain(TUI),
    "spaces before units": plain("Time s~Voltage V~Current A"),
    "in": plain("Zeit in s~Spannung in V~Strom in A", ";", ","),
    "units only": plain("s~V~A"),
    "words of units": plain("seconds~volts~amps"),
    "underscored tester": plain("Test_Time(s)~Voltage(V)~Current(A)"),
    "elapsed": plain("Elapsed Time (s)~Cell Voltage (V)~Current (A)"),
    "capitals": plain("TIME_S~VOLTAGE_V~CURRENT_A".replace("_S", "_s")),
    "minutes, mV and mA": plain(
        "Time [min]~U [mV]~I [mA]", time=SECONDS / 60, volts=VOLTS * 1e3, amperes=AMPERES * 1e3
    ),
    "hours and µA": plain("Time (h)~U (V)~I (µA)", time=SECONDS / 3600, amperes=AMPERES * 1e6),
    "milliseconds": plain("time_ms~voltage_V~current_A", time=SECONDS * 1e3),
    "seconds since 1970": plain("time_s~voltage_V~current_A", time=SECONDS + 1_779_026_400),
    "units in a row of their own": plain("Time~Voltage~Current").replace("Current\n", "Current\ns,V,A\n"),
    "units in brackets in a row": plain("Time~Voltage~Current").replace("Current\n", "Current\n[s],[V],[A]\n"),
    "units in a row, German": plain("Zeit~Spannung~Strom", ";", ",").replace("Strom\n", "Strom\ns;V;A\n"),
    "another order": text(["I/A", "t/s", "U/V"], AMPERES, SECONDS, VOLTS),
    "a running number": text(["No.", "t/s", "U/V", "I/A"], np.arange(240.0), SECONDS, VOLTS, AMPERES),
    "two temperatures": text(["t/s", "U/V", "I/A", "T1/°C", "T2/°C"], SECONDS, VOLTS, AMPERES, VOLTS + 20, VOLTS + 21),
    "two temperatures called T": text(["t/s", "U/V", "I/A", "T/°C", "T/°C"], SECONDS, VOLTS, AMPERES, VOLTS, VOLTS),
    "watts and milliampere-hours": text(
        ["t/s", "U/V", "I/A", "P/W", "Q/mAh"], SECONDS, VOLTS, AMPERES, VOLTS * AMPERES, SECONDS
    ),
    "a note": text(["t/s", "U/V", "I/A", "note"], SECONDS, VOLTS, AMPERES, ["ok, fine; good" if 0 else "ok"] * 240),
    # notes above
    "notes above": plain(TUV, notes=NOTES),
    "notes above, semicolons": plain(TUV, ";", ",", notes=NOTES),
    "a line that names the separator": plain(TUV, ";", ",", notes="sep=;\n"),
    "sixty lines of notes": plain(TUV, notes="# set 1, 2; 3\n" * 60),
    # the sign
    "discharge negative": plain("time_s~voltage_V~current_A", amperes=-AMPERES),
    "unsigned with states": text(["t/s", "U/V", "I/A", "State"], SECONDS, VOLTS, np.abs(AMPERES), STATE),
    "unsigned with short states": text(
        ["t/s", "U/V", "I/A", "Mode"],
        SECONDS,
        VOLTS,
        np.abs(AMPERES),
        [s[:3].upper() + "G" * (s != "Rest") for s in STATE],
    ),
    "a tester's states": text(
        ["t/s", "U/V", "I/A", "Step Type"],
        SECONDS,
        VOLTS,
        np.abs(AMPERES),
        np.select([AMPERES > 0, AMPERES < 0], ["CC_DChg", "CC_Chg"], "Rest"),
    ),
    # dates and clocks
    "ISO with a space": text(["Timestamp", "U/V", "I/A"], clock(ISO), VOLTS, AMPERES),
    "ISO with T and Z": text(["time", "U/V", "I/A"], clock("%Y-%m-%dT%H:%M:%SZ"), VOLTS, AMPERES),
    "ISO with fractions": text(["time", "U/V", "I/A"], clock("%Y-%m-%dT%H:%M:%S.%f"), VOLTS, AMPERES),
    "ISO with a zone": text(["time", "U/V", "I/A"], clock("%Y-%m-%dT%H:%M:%S+02:00"), VOLTS, AMPERES),
    "slashes, year first": text(["Date/Time", "U/V", "I/A"], clock("%Y/%m/%d %H:%M:%S"), VOLTS, AMPERES),
    "German": text(["Datum", "U/V", "I/A"], clock("%d.%m.%Y %H:%M:%S"), VOLTS, AMPERES, separator=";", decimal=","),
    "German, short year": text(["Zeit", "U/V", "I/A"], clock("%d.%m.%y %H:%M:%S"), VOLTS, AMPERES, separator=";"),
    "American": text(["Date Time", "U/V", "I/A"], clock("%m/%d/%Y %H:%M:%S"), VOLTS, AMPERES),
    "American, AM and PM": text(["Time", "U/V", "I/A"], clock("%m/%d/%Y %I:%M:%S %p"), VOLTS, AMPERES),
    "British": text(["Time", "U/V", "I/A"], clock("%d/%m/%Y %H:%M:%S"), VOLTS, AMPERES),
    "a date and a time": text(["Date", "Time", "U/V", "I/A"], clock("%Y-%m-%d"), clock("%H:%M:%S"), VOLTS, AMPERES),
    "a clock": text(["Time", "U/V", "I/A"], clock("%H:%M:%S"), VOLTS, AMPERES),
    "hours, minutes, seconds": text(["Time [h:m:s]", "U/V", "I/A"], HMS, VOLTS, AMPERES),
    "more than a day": text(["Time", "U/V", "I/A"], LONG, VOLTS, AMPERES),
    "days and a clock": text(["Time", "U/V", "I/A"], [f"3d {t}" for t in HMS], VOLTS, AMPERES),
    "a date and seconds of their own": text(["Date", "t/s", "U/V", "I/A"], clock(ISO), SECONDS, VOLTS, AMPERES),
}
REMARKED = {
    "past midnight": (text(["Time", "U/V", "I/A"], clock("%H:%M:%S", MIDNIGHT), VOLTS, AMPERES), "passes midnight 1 ×"),
    "clocks set back": (
        text(["Time", "U/V", "I/A"], clock(ISO, AUTUMN, -LATER), VOLTS, AMPERES),
        "clocks were set back by an hour, as the interval shows; undone",
    ),
    "clocks set forward": (
        text(["Time", "U/V", "I/A"], clock(ISO, SPRING, LATER), VOLTS, AMPERES),
        "clocks were set forward by an hour, as the interval shows; undone",
    ),
    "day and month": (text(["Time", "U/V", "I/A"], clock("%d/%m/%Y %H:%M:%S"), VOLTS, AMPERES), "read as day/month"),
    "month and day": (text(["Time", "U/V", "I/A"], clock("%m/%d/%Y %H:%M:%S"), VOLTS, AMPERES), "read as month/day"),
    "an overload": (patched(10, "80,OL,0"), "rows without a reading: 1, the first is row 10; left out"),
    "a blank": (patched(60, "580,,-0.25"), "rows without a reading: 1, the first is row 60"),
    "dashes": (patched(60, "580,---,---"), "rows without a reading: 1, the first is row 60"),
    "nan": (patched(60, "580,nan,-0.25"), "rows without a reading: 1, the first is row 60"),
    "a last line cut off": (CLEAN + "2400,1.2", "row 242 is cut off and left out"),
    "a footer": (CLEAN + "end of test\n", "row 242 is cut off and left out"),
    "a restart": (CLEAN + "time_s,voltage_V,current_A\n2400,1.276,0\n2410,1.276,0\n", "2 sections"),
    "a restart, cut off before": (
        CLEAN + "2400,1.2\ntime_s,voltage_V,current_A\n2410,1.276,0\n",
        "row 242 is cut off",
    ),
    "unsigned, said": (
        text(["t/s", "U/V", "I/A", "State"], SECONDS, VOLTS, np.abs(AMPERES), STATE),
        "column of states",
    ),
}
EVEN = plain("time_s~voltage_V~current_A", time=np.where(SECONDS >= 600, SECONDS + 3600, SECONDS))
REFUSED = {
    "a spike of volts": (patched(40, "380,655.35,-0.25"), r"row 40: 655\.35 V, where 1\.33 V are the most otherwise"),
    "spikes of volts in one row of forty": (
        plain(TUI, volts=np.where(np.arange(240) % 40 == 7, 655.35, VOLTS)),
        r"row 9: 655\.35 V, where 1\.33 V are the most otherwise",
    ),
    "spikes of amperes in one row of forty": (
        plain(TUI, amperes=np.where(np.arange(240) % 40 == 7, 65535, AMPERES)),
        r"row 9: 65535 A, where 0\.3 A are the most otherwise",
    ),
    "a spike of amperes": (
        patched(40, "380,1.3337,65535"),
        r"row 40: 65535 A, where 0\.3 A are.*Leave its field blank",
    ),
    "a negative spike": (patched(40, "380,1.3337,-32768"), r"row 40: 32768 A"),
    "both marks": (
        plain(TUI, ";").replace("1.3;0", "1,3;0", 1),
        r"row 3, U/V: '1\.2999', while others have another dec",
    ),
    "decimal commas between commas": (plain(TUI, ",", ","), r"row 2: 4 values, 3 columns\. A decimal comma splits"),
    "an ambiguous date": (
        text(["Time", "U/V", "I/A"], clock("%m/%d/%Y %H:%M:%S", datetime(2026, 5, 6, 23, 45)), VOLTS, AMPERES),
        r"is 5/6 a day and a month.*columns={'time': \('its title', 'd/m/y'\)}\), or 'm/d/y'",
    ),
    "hours or minutes": (
        text(["Time", "U/V", "I/A"], clock("%H:%M"), VOLTS, AMPERES),
        r"row 2: '14:00' may be minutes and seconds or hours and minutes\. Try .*'hh:mm'",
    ),
    "no such date": (
        text(["Time", "U/V", "I/A"], ["2026-02-30 10:00:00"] * 240, VOLTS, AMPERES),
        "row 2: there is no day 30 in month 2 of 2026",
    ),
    "words": (
        text(["Time", "U/V", "I/A"], ["noon"] * 240, VOLTS, AMPERES),
        r"row 2: time is 'noon', neither a date nor",
    ),
    "no units": (plain("time~voltage~current"), r"the column 'voltage' has no unit of voltage.*\('voltage', 'V'\)"),
    "unknown titles": (
        plain("t/s~U/V~shunt"),
        r"row 1: no column of current.*understood: time in 't/s', voltage in 'U/V'.*columns={'current'",
    ),
    "two voltages": (
        text(["t/s", "U/V", "Voltage (V)", "I/A"], SECONDS, VOLTS, VOLTS, AMPERES),
        r"2 columns of voltage with a unit",
    ),
    "unsigned without states": (
        plain(TUI, amperes=np.abs(AMPERES)),
        r"50 % of 4 steps of the current agree.*are all currents written positive\? Then a column 'state'",
    ),
    "unsigned with odd states": (
        text(
            ["t/s", "U/V", "I/A", "State"], SECONDS, VOLTS, np.abs(AMPERES), ["Run" if i else "Rest" for i in AMPERES]
        ),
        r"50 % of 4 steps of the current agree",
    ),
    "states the wrong way round": (
        text(
            ["t/s", "U/V", "I/A", "State"],
            SECONDS,
            VOLTS,
            np.abs(AMPERES),
            np.select([AMPERES < 0, AMPERES > 0], ["Discharge", "Charge"], "Rest"),
        ),
        r"the column of states contradicts the volts",
    ),
    "a clock set back without a date": (
        plain("time_s~voltage_V~current_A", time=np.where(SECONDS >= 600, SECONDS - 3600, SECONDS)),
        r"row 62: time goes back by 3590 s; an hour as when clocks are set back",
    ),
    "a footer of two lines": (CLEAN + "end\nof test\n", r"row 242: fewer values than 3 columns"),
    "letters for digits": (patched(40, "380,1.3E,0"), r"row 40, voltage_V: '1\.3E' is not a number"),
    "a unit that would be computed": (
        plain("time_s~voltage_V~current_9**9**9**9"),
        r"no column of current with a unit",
    ),
}


@pytest.fixture
def read(tmp_path):
    def read(content, **options):
        path = tmp_path / "log.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return ck.logs.read_bench_log(path, **options)

    return read


def totals(log):
    return [getattr(log, key).to_base_units().magnitude for key in TRUTH]


def ours(log, tolerance=2e-4):
    """The truth of the file; our integrals part a line that crosses zero, the trapezoids above do not need to."""
    np.testing.assert_allclose(totals(log), [TRUTH[k] for k in TRUTH], rtol=tolerance)


def test_sixty_and_more():
    assert len(READ) + len(REMARKED) + len(REFUSED) >= 90
    assert len(READ) >= 60


@pytest.mark.parametrize("dialect", READ)
def test_read_as_it_comes(read, dialect):
    log = read(READ[dialect])
    ours(log, 1e-6)
    assert log.time.size == SECONDS.size
    assert not [said for said in log.remarks[1:] if "read as" not in said]


@pytest.mark.parametrize("dialect", REMARKED)
def test_read_with_a_remark(read, dialect):
    content, says = REMARKED[dialect]
    log = read(content)
    assert says in str(log)
    ours(log, 1e-4 if "row" in says else 1e-6)  # a row that is left out was rounded to 0.1 mV


@pytest.mark.parametrize("dialect", REFUSED)
def test_refused_with_what_to_try(read, dialect):
    content, says = REFUSED[dialect]
    with pytest.raises(InputError, match=says):
        read(content)


def test_the_calls_that_messages_name_read_the_file(read):
    ours(read(plain("t/s~U/V~shunt", amperes=AMPERES * 1e3), columns={"current": ("shunt", "mA")}), 1e-6)
    ours(read(plain("time~voltage~current"), columns={k: (k, u) for k, u in zip(
        ("time", "voltage", "current"), "sVA", strict=True)}), 1e-6)  # fmt: skip
    six = datetime(2026, 5, 6, 23, 45)
    content = text(["Time", "U/V", "I/A"], clock("%m/%d/%Y %H:%M:%S", six), VOLTS, AMPERES)
    ours(read(content, columns={"time": ("Time", "m/d/y")}), 1e-6)
    clocks = text(["time_s", "U/V", "I/A"], clock("%H:%M:%S"), VOLTS, AMPERES)
    ours(read(clocks, columns={"time": ("time_s", "clock")}), 1e-6)
    with pytest.raises(InputError, match=r"columns: '9\*\*9\*\*9' is no unit of current; try 'A'"):
        read(CLEAN, columns={"current": ("current_A", "9**9**9")})
    with pytest.raises(InputError, match=r"no column of current with a unit in"):
        read(CLEAN, columns={"current": ("amps", "A")})
    with pytest.raises(InputError, match=r"columns is .*; it has to name time, voltage, current"):
        read(CLEAN, columns={"amps": ("x", "A")})


def test_an_offset_at_rest_is_said_and_can_be_subtracted(read):
    """2 mA through 2390 s are 1.33 mAh, by hand."""
    content = plain("time_s~voltage_V~current_A", amperes=AMPERES + 0.002)
    assert 'the current reads 2 mA: over the whole log 1.33 mAh. If none flowed, try offset=Q_(2, "mA")' in str(
        read(content)
    )
    ours(read(content, offset=Q_(2, "mA")), 1e-6)
    turned = plain("time_s~voltage_V~current_A", amperes=-(AMPERES + 0.002))
    assert 'try offset=Q_(-2, "mA")' in str(read(turned))
    ours(read(turned, offset=Q_(-2, "mA")), 1e-6)
    assert "at rest" not in str(read(CLEAN))


def test_a_gap_of_an_hour_is_said(read):
    """In numbers of seconds it may be a pause of the logger: counted, and the row is named."""
    log = read(EVEN)
    assert "row 62: an hour more than usual since the row before; was a clock set forward?" in str(log)
    assert "gaps: 1, 1 h in all" in str(log)
    assert "0.251 Ah, too much if it paused" in str(log)  # 0.25 A for 3610 s


def test_a_pause_inside_a_gap_shows_in_the_volts(read):
    """A discharge whose voltage is higher after the gap than before it has rested in between."""
    amperes = np.where(SECONDS < 100, 0, 0.3)
    volts = 1.3 - 0.15 * amperes - 5e-5 * SECONDS
    time = np.where(SECONDS >= 1200, SECONDS + 3000, SECONDS)
    rising = plain(TUI, time=time, volts=volts + 0.04 * (SECONDS >= 1200), amperes=amperes)
    with pytest.raises(
        InputError, match=r"row 122: the voltage went from .* V within a gap of 3010 s.*did the current p"
    ):
        read(rising)
    assert "gaps: 1" in str(read(plain(TUI, time=time, volts=volts, amperes=amperes)))


def test_a_short_strong_pulse_is_no_spike(read):
    """5 A for two rows among milliamperes: the volts show it."""
    amperes = np.where((SECONDS > 1000) & (SECONDS < 1030), 5.0, 0.01)
    log = read(plain(TUI, volts=1.3 - 0.15 * amperes, amperes=amperes))
    assert log.charge_out.to("C").magnitude == pytest.approx(trapezoid(amperes, SECONDS))


def test_dates_agree_with_the_standard_library(read):
    """Two zones, a leap day and a change of year, against datetime's own arithmetic."""
    stamps = ["2024-02-28T23:59:30+02:00", "2024-02-29T00:00:30+02:00", "2024-02-29T00:01:00+03:00"]
    rows = [f"{stamp},1.3,0.1" for stamp in stamps[:2]]
    log = read("time,U/V,I/A\n" + "\n".join(rows) + "\n", discharge="positive")
    want = [datetime.fromisoformat(stamp).astimezone(UTC).timestamp() for stamp in stamps[:2]]
    np.testing.assert_allclose(log.time, np.array(want) - want[0])
    log = read("time,U/V,I/A\n31.12.2025 23:59:00,1.3,0.1\n01.01.2026 00:01:00,1.3,0.1\n", discharge="positive")
    assert log.time[-1] == 120


@pytest.mark.parametrize("length", [5_000, 90_000])
def test_a_long_line_above_costs_no_row(read, length):
    """Header lines of more than 2,000 characters were once read as values."""
    log = read("x" * length + "\n" + CLEAN)
    ours(log, 1e-6)
    assert log.time.size == SECONDS.size


@pytest.mark.parametrize("length", [100_000, 300_000])
def test_a_line_above_that_is_too_long_is_refused(read, length):
    with pytest.raises(InputError, match=r"row 1: no column of time"):
        read("x" * length + "\n" + CLEAN)


def test_a_million_characters_in_one_field(read):
    with pytest.raises(InputError, match=r"log\.csv"):
        read(CLEAN + "1," + "9" * 1_000_000 + ",3\n")


def test_blocks_of_any_size_give_the_same(read, monkeypatch):
    """Sections, blanks and decimal marks across the borders of blocks."""
    content = CLEAN + "time_s,voltage_V,current_A\n2400,1.276,0\n2410,OL,0\n\n2420,1.276,0\n"
    whole = read(content)
    for size in (7, 100, 1000):
        monkeypatch.setattr(ck.tables.logger_files, "BLOCK", size)
        other = read(content)
        assert other.remarks == whole.remarks
        np.testing.assert_array_equal(other.voltage, whole.voltage)
        with pytest.raises(InputError, match=r"row 250: time goes back by 1 s"):
            read(content + "2430,1.276,0\n" * 3 + "2429,1.276,0\n")
