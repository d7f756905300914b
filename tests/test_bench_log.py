"""Bench logs: integrals worked by hand, their properties, bad files refused by row, and the invented logs' truth."""

import itertools
import re
import runpy

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid

import cellkit as ck
from cellkit import Q_, InputError

HEADER = "time_s,voltage_V,current_A"
on_one_folder = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


@pytest.fixture
def read(tmp_path):
    """Reads the rows of a log, each a text or the numbers of its three columns."""

    def from_rows(rows, header=HEADER, newline="\n", encoding="utf-8", **options):
        path = tmp_path / "log.csv"
        rows = [row if isinstance(row, str) else ",".join(format(float(x), ".17g") for x in row) for row in rows]
        path.write_bytes((newline.join([header, *rows]) + newline).encode(encoding))
        return ck.logs.read_bench_log(path, **options)

    return from_rows


def si(quantity):
    return quantity.to_base_units().magnitude


# worked by hand

BY_HAND = [  # a charge of 2 A for an hour at 1.5 V, a step to rest, then 1 A out for an hour and a half at 1.2 V
    (0, 1.4, 0),
    (0, 1.5, -2),
    (3600, 1.5, -2),
    (3600, 1.3, 0),
    (4200, 1.3, 0),
    (4200, 1.2, 1),
    (9600, 1.2, 1),
    (9600, 1.3, 0),
    (10200, 1.3, 0),
]


def test_worked_by_hand(read):
    """In: 2 A × 1 h = 2 Ah, × 1.5 V = 3 Wh. Out: 1 A × 1.5 h = 1.5 Ah, × 1.2 V = 1.8 Wh. So 75 % and 60 %.

    Steps: 0.1 V/2 A = 50 mΩ, 0.2 V/2 A = 100 mΩ, 0.1 V/1 A = 100 mΩ twice.
    """
    log = read(BY_HAND)
    assert log.charge_in.to("Ah").magnitude == pytest.approx(2)
    assert log.energy_in.to("Wh").magnitude == pytest.approx(3)
    assert log.charge_out.to("Ah").magnitude == pytest.approx(1.5)
    assert log.energy_out.to("Wh").magnitude == pytest.approx(1.8)
    (cycle,) = log.cycles
    assert cycle.coulombic_efficiency.to("percent").magnitude == pytest.approx(75)
    assert cycle.energy_efficiency.to("percent").magnitude == pytest.approx(60)
    assert cycle.discharge.end_voltage.to("V").magnitude == pytest.approx(1.2)
    assert cycle.discharge.mean_voltage.to("V").magnitude == pytest.approx(1.2)
    assert cycle.discharge.passed.to("Ah").magnitude == pytest.approx([0, 1.5])
    assert log.resistance.steps == 4
    assert log.resistance.median.to("mohm").magnitude == pytest.approx(100)
    assert str(cycle.discharge) == "discharge: 1.500 Ah, 1.800 Wh in 1.5 h, mean 1.200 V, end 1.200 V"


def test_trapezoids_on_irregular_times_and_through_zero(read):
    """0 to 2 A in 10 s: 10 C. 2 to 4 A in 1 s: 3 C. 4 to -2 A in 3 s crosses after 2 s: 4 C out, 1 C in."""
    log = read([(0, 1, 0), (10, 1, 2), (11, 1, 4), (14, 1, -2)], discharge="positive")
    assert si(log.charge_out) == pytest.approx(17)
    assert si(log.charge_in) == pytest.approx(1)
    assert si(log.energy_out) == pytest.approx(17)


def test_rests_part_no_phase_and_threshold_hides_a_zero_error(read):
    """Zero error of 1 % of the current, under the threshold of 2 %: three discharges with rests remain one."""
    rows = [(60 * k, 1.2, 1.0 if k % 10 else -0.01) for k in range(31)]
    phases = read(rows, discharge="positive").phases
    assert [phase.kind for phase in phases] == ["discharge"]


def test_cycles_pair_each_charge_with_the_discharge_after_it(read):
    amperes = [1, 1, -1, -1, 1, 1, -1, -1, -1, 1, 1, -1]
    log = read([(10 * k, 1.3, i) for k, i in enumerate(amperes)], discharge="positive")
    assert [phase.kind[0] for phase in log.phases] == list("dcdcdc")
    assert len(log.cycles) == 2
    # a crossing from 1 to -1 A in 10 s gives 2.5 C each way: charges of 15 and 25 C, discharges of 15 C
    assert [cycle.coulombic_efficiency.to("").magnitude for cycle in log.cycles] == pytest.approx([1, 15 / 25])


def test_a_log_that_ends_under_current_is_counted_to_its_last_row(read):
    (phase,) = read([(0, 1.3, 0), (10, 1.3, 0), (10, 1.2, 1), (20, 1.2, 1)]).phases
    assert si(phase.charge) == pytest.approx(10)
    assert si(phase.energy) == pytest.approx(12)


def test_a_rise_over_several_rows_is_no_step(read):
    """A row in the midst of a switch shows neither level; what it says of the resistance would be chance."""
    rows = [(0, 1.3, 0), (1, 1.3, 0), (2, 1.3, 0.5), (3, 1.2, 1), (4, 1.2, 1), (5, 1.3, 0), (6, 1.3, 0)]
    resistance = read(rows).resistance
    assert resistance.steps == 1
    assert resistance.median.to("mohm").magnitude == pytest.approx(100)


def test_a_log_at_rest_has_no_phase_and_no_resistance(read):
    log = read([(0, 1.3, 0), (10, 1.3, 0)], discharge="positive")
    assert log.phases == ()
    with pytest.raises(InputError, match=r"no charge with a discharge after it\. Log both, the charge first\."):
        assert log.cycles
    assert si(log.charge_out) == 0
    with pytest.raises(InputError, match=r"never jumps by 10%.*Switch the load off and on"):
        assert log.resistance


# properties

logs = st.lists(st.tuples(st.floats(0.1, 50), st.floats(0, 3), st.floats(-5, 5)), min_size=3, max_size=25)


def rows_of(drawn):
    time = np.cumsum([step for step, _, _ in drawn])
    return [(t, v, i) for t, (_, v, i) in zip(time, drawn, strict=True)]


def totals(log):
    return np.array([si(x) for x in (log.charge_out, log.charge_in, log.energy_out, log.energy_in)])


@pytest.fixture
def no_gaps(monkeypatch):
    """Arbitrary steps of time and current are what these properties are about."""
    for limit in ("GAP", "SPIKE"):
        monkeypatch.setattr(ck.logs.bench_log, limit, np.inf)
    monkeypatch.setattr(ck.logs.bench_log, "_sign", lambda *_: (1, ""))


@on_one_folder
@given(drawn=logs)
def test_units_do_not_matter(read, no_gaps, drawn):
    rows = rows_of(drawn)
    other = read([(t / 60, 1000 * v, 1000 * i) for t, v, i in rows], "time_min,voltage_mV,current_mA")
    np.testing.assert_allclose(totals(read(rows)), totals(other), rtol=1e-9, atol=1e-12)


@on_one_folder
@given(drawn=logs, data=st.data())
def test_the_parts_of_a_log_add_up(read, no_gaps, drawn, data):
    rows = rows_of(drawn)
    cut = data.draw(st.integers(1, len(rows) - 2))
    parts = totals(read(rows[: cut + 1])) + totals(read(rows[cut:]))
    np.testing.assert_allclose(parts, totals(read(rows)), rtol=1e-9, atol=1e-9)


@on_one_folder
@given(drawn=logs)
def test_out_less_in_is_the_trapezoid_by_numpy(read, no_gaps, drawn):
    t, v, i = np.transpose(rows_of(drawn))
    out, into, energy_out, energy_in = totals(read(rows_of(drawn)))
    assert out - into == pytest.approx(trapezoid(i, t), abs=1e-6)
    assert energy_out - energy_in == pytest.approx(trapezoid(i * v, t), abs=1e-6)


@on_one_folder
@given(drawn=logs)
def test_turning_the_current_swaps_in_and_out(read, no_gaps, drawn):
    """The small part of a crossing is the difference of two large ones: good to rounding of the large one."""
    rows = rows_of(drawn)
    np.testing.assert_allclose(
        totals(read([(t, v, -i) for t, v, i in rows])), totals(read(rows))[[1, 0, 3, 2]], rtol=1e-12, atol=1e-12
    )


@on_one_folder
@given(amperes=st.floats(0.01, 50), steps=st.lists(st.floats(0.1, 100), min_size=1, max_size=20))
def test_constant_current_is_current_times_time(read, no_gaps, amperes, steps):
    time = np.cumsum([0.0, *steps])
    assert si(read([(t, 1.2, amperes) for t in time]).charge_out) == pytest.approx(amperes * time[-1])


@on_one_folder
@given(ends=st.tuples(st.floats(-5, 5), st.floats(-5, 5)), inner=st.lists(st.floats(1, 99), max_size=20))
def test_a_ramp_does_not_change_when_sampled_anew(read, no_gaps, ends, inner):
    def charge(times):
        log = read([(t, 1.0, ends[0] + (ends[1] - ends[0]) * t / 100) for t in times])
        return si(log.charge_out), si(log.charge_in)

    assert charge([0, *sorted(inner), 100]) == pytest.approx(charge([0, 100]), rel=1e-9, abs=1e-9)


@on_one_folder
@given(
    ohms=st.floats(0.01, 1),
    levels=st.lists(st.sampled_from([-0.5, 0, 0.3, 0.6]), min_size=2, max_size=12),
    turned=st.booleans(),
)
def test_resistance_and_sign_of_an_ideal_cell(read, ohms, levels, turned):
    """E = 1.3 V behind a resistance: every step tells it exactly, whichever way the file writes the current."""
    levels = [0, *(a for a, b in itertools.pairwise(levels) if a != b), 0.6, 0]
    rows = [(60 * k, 1.3 - ohms * i, -i if turned else i) for k, i in enumerate(np.repeat(levels, 3))]
    log = read(rows)
    assert log.resistance.median.to("ohm").magnitude == pytest.approx(ohms, rel=1e-6)
    assert log.resistance.scatter.to("ohm").magnitude == pytest.approx(0, abs=1e-6)
    np.testing.assert_allclose(log.current, np.repeat(levels, 3), atol=1e-12)


# files as loggers write them

CLEAN = ["0,1.3,0", "10,1.3,0", "20,1.2,0.5", "30,1.2,0.5"]
CHARGE = 0.5 * (10 / 2 + 10)  # C: half a trapezoid and a whole one


@pytest.mark.parametrize(
    ("rows", "options"),
    [
        (CLEAN, {}),
        (CLEAN, {"encoding": "utf-8-sig"}),
        (CLEAN, {"newline": "\r\n"}),
        ([row.replace(",", ";") for row in CLEAN], {"header": HEADER.replace(",", ";")}),
        ([row.replace(",", "\t") for row in CLEAN], {"header": HEADER.replace(",", "\t")}),
        ([r.replace(",", ";").replace(".", ",") for r in CLEAN], {"header": HEADER.replace(",", ";")}),
        ([f'"{row.replace(",", chr(34) + "," + chr(34))}"' for row in CLEAN], {}),
        ([f"{row},ok" for row in CLEAN], {"header": f"{HEADER},note"}),
        ([f"{k},{row}" for k, row in enumerate(CLEAN)], {"header": f"row,{HEADER}"}),
        ([CLEAN[0], "", *CLEAN[1:], ""], {}),
        ([f" {row.replace(',', ' , ')} " for row in CLEAN], {"header": HEADER.replace(",", " , ")}),
        ([f"{float(r.split(',')[0]) + 1.7e9:.1f},{r.split(',', 1)[1]}" for r in CLEAN], {}),
        (["0,1300,0", "10,1300,0", "20,1200,500", "30,1200,500"], {"header": "Time_s,Voltage_mV,Current_mA"}),
    ],
    ids="clean BOM CRLF semicolons tabs comma-decimals quoted note extra blank spaces epoch units".split(),
)
def test_read_rightly(read, rows, options):
    log = read(rows, **options)
    assert si(log.charge_out) == pytest.approx(CHARGE, rel=1e-6)
    assert log.resistance.median.to("ohm").magnitude == pytest.approx(0.2, rel=1e-6)


@pytest.mark.parametrize("again", [["40,1.3,0", "50,1.2,0.5"], ["0,1.3,0", "10,1.2,0.5"]], ids=["on", "anew"])
def test_repeated_header_starts_a_section(read, again):
    """Nothing is counted between sections, whether the logger's time goes on or starts anew."""
    log = read([*CLEAN, HEADER, *again])
    assert si(log.charge_out) == pytest.approx(CHARGE + 0.5 * 10 / 2)
    assert (np.diff(log.time) >= 0).all()
    assert "2 sections" in str(log)


def test_a_header_with_nothing_below_it_starts_no_section(read):
    log = read([*CLEAN, HEADER])
    assert si(log.charge_out) == pytest.approx(CHARGE)
    assert "section" not in str(log)


def test_thousands_of_repeated_headers(read):
    rows = [row for k in range(3000) for row in (HEADER, f"{20 * k},1.3,0", f"{20 * k + 10},1.2,0.5")]
    log = read(rows)
    assert si(log.charge_out) == pytest.approx(3000 * 2.5)
    assert "3000 sections" in str(log)


def test_gap_under_a_steady_current_is_counted_and_said(read):
    log = read([(0, 1.3, 0), (10, 1.2, 1), (20, 1.2, 1), (30, 1.2, 1), (3630, 1.1, 1)])
    assert si(log.charge_out) == pytest.approx(5 + 20 + 3600)
    assert "gaps: 1, 1 h in all, counted with the steady current" in str(log)


def test_repeated_times_are_said_and_add_nothing(read):
    log = read([(0, 1.3, 0), (10, 1.3, 0), (10, 1.2, 1), (20, 1.2, 1)])
    assert si(log.charge_out) == pytest.approx(10)
    assert "rows with the time of the row before: 1;" in str(log)


def test_sign_is_said_and_never_guessed(read):
    assert "discharge as positive current\n  (told by 100 % of 1 steps" in str(read(CLEAN))
    turned = [row.replace("0.5", "-0.5") for row in CLEAN]
    log = read(turned)
    assert "discharge as negative current\n  (told by" in str(log)
    assert si(log.charge_out) == pytest.approx(CHARGE)
    assert "(as you said)" in str(read(turned, discharge="negative"))
    steady = ["0,1.3,0.5", "10,1.2,0.5", "20,1.1,0.5"]
    with pytest.raises(InputError, match=r"no steps of the current agree\. Say discharge='positive' or 'negative'"):
        read(steady)
    assert si(read(steady, discharge="negative").charge_in) == pytest.approx(10)
    with pytest.raises(InputError, match=r"50 % of 2 steps of the current agree\. Say discharge="):
        read([*CLEAN, "40,1.1,0", "50,1.1,0"])
    with pytest.raises(InputError, match=r"discharge='positive' contradicts 100 % of 1 steps.*Leave discharge out"):
        read(turned, discharge="positive")
    with pytest.raises(InputError, match=r"discharge is 'down'; allowed are 'positive', 'negative', None"):
        read(CLEAN, discharge="down")


GAP_ROWS = ["0,1.3,0", "10,1.3,0", "20,1.3,0", "3620,1.2,0.5"]
BAD = {
    "missing column": (
        "time_s,voltage_V",
        ["0,1.3"],
        r"row 1: no column of current with a unit in 'time_s,voltage_V' \(understood: time in 'time_s', voltage in "
        r"'voltage_V'\)\. Call it current_A.*try cellkit\.logs\.read_bench_log\('log\.csv', columns={'current': ",
    ),
    "no unit": ("time,voltage_V,current_A", CLEAN, r"row 2: time is '0', neither a date nor a clock's.*Call it time_s"),
    "unknown unit": ("time_s,voltage_V,current_bananas", CLEAN, r"row 1: no column of current with a unit.*bananas"),
    "wrong unit": ("time_m,voltage_V,current_A", CLEAN, r"row 1: no column of time with a unit.*time_s or time_min"),
    "two of one": ("time_s,time_min,voltage_V,current_A", CLEAN, r"row 1: 2 columns of time with a unit"),
    "no header": ("0,1.3,0", CLEAN, r"row 1: no column of time with a unit in '0,1.3,0'"),
    "no rows": (HEADER, [], r"0 rows of measurements; it takes two or more"),
    "one row": (HEADER, CLEAN[:1], r"1 rows of measurements; it takes two or more"),
    "decimal comma": (HEADER, [CLEAN[0], "10,1,3,0"], r"row 3: 4 values, 3 columns\. A decimal comma.*1\.5, not 1,5"),
    "all decimal commas": (HEADER, ["0,0,1,3,0,0", "10,0,1,3,0,1"], r"row 2: 6 values, 3 columns\. A decimal comma"),
    "quoted comma": (HEADER, [CLEAN[0], '10,"1,3",0'], r"row 3, voltage_V: '1,3' is not a number\. Write 1\.5"),
    "both marks": (
        "time_s;voltage_V;current_A",
        ["0;1.3;0", "10;1,3;0"],
        r"row 3, voltage_V: '1,3'.*another decimal mark",
    ),
    "thousands": ("time_s;voltage_V;current_A", ["0;1,3;0", "1.000,5;1,3;0"], r"row 3, time_s: '1\.000,5'"),
    "broken off": (HEADER, [*CLEAN, "40,1.", "50,1.2,0.5"], r"row 6: fewer values than 3 columns\. Delete the row"),
    "text": (HEADER, [CLEAN[0], "10,ca 1,0"], r"row 3, voltage_V: 'ca 1' is not a number\. Delete the row, or mend it"),
    "clock": (HEADER, ["12:00:01,1.3,0"], r"row 2, time_s: '12:00:01' is not.*columns={'time': \('time_s', 'clock'\)}"),
    "underscore": (HEADER, [CLEAN[0], "1_0,1.3,0"], r"row 3, time_s: '1\?0|row 3, time_s: '1_0' is not a number"),
    "all blank": (HEADER, ["0,,0", "10,nan,0"], r"0 rows of measurements; it takes two or more"),
    "infinite": (HEADER, [*CLEAN, "40,1.3,1e999"], r"row 6: current is not finite\. Delete the row, or mend it"),
    "inf": (HEADER, [*CLEAN, "40,1.3,inf"], r"row 6, current_A: 'inf' is not a number"),
    "unsorted": (
        HEADER,
        [*CLEAN, "25,1.2,0.5"],
        r"row 6: time goes back by 5 s\. Sort the rows.*put the header in again",
    ),
    "unsorted, blanks": (HEADER, ["", *CLEAN, "", "25,1.2,0.5"], r"row 8: time goes back by 5 s"),
    "gap": (HEADER, GAP_ROWS, r"row 5: 3600 s after the row before, where 10 s are usual.*Put the header in again"),
    "below zero": (HEADER, ["0,1.3,0", "10,-1.3,0"], r"row 3: -1\.3 V\. Are the probes swapped\?"),
}


@pytest.mark.parametrize("case", BAD)
def test_refused_with_the_row_and_what_to_try(read, case):
    header, rows, says = BAD[case]
    with pytest.raises(InputError, match=says):
        read(rows, header)


def test_a_header_across_the_gap_is_what_the_refusal_promises(read):
    assert si(read([*GAP_ROWS[:3], HEADER, GAP_ROWS[3], "3630,1.3,0"]).charge_out) == pytest.approx(2.5)


def test_empty_and_noise_are_refused(tmp_path):
    path, noise = tmp_path / "noise.csv", np.random.default_rng(3)
    path.write_bytes(b"")
    with pytest.raises(InputError, match=r"row 1: no column of time with a unit in ''"):
        ck.logs.read_bench_log(path)
    path.write_bytes(noise.integers(0, 256, 50_000_000, dtype=np.uint8).tobytes())
    with pytest.raises(InputError, match=r"noise\.csv is not text"):
        ck.logs.read_bench_log(path)
    path.write_bytes(noise.integers(32, 127, 50_000_000, dtype=np.uint8).tobytes())  # letters, in one line
    with pytest.raises(InputError, match=r"row 1: (no|\d+) columns? of time with a unit") as refused:
        ck.logs.read_bench_log(path)
    assert len(str(refused.value)) < 400
    rubbish = noise.integers(32, 127, 50_000_000, dtype=np.uint8)
    path.write_bytes(HEADER.encode() + b"\n" + rubbish.tobytes())
    with pytest.raises(
        InputError, match=r"noise\.csv(, row 2: \S+ values, 3 columns| cannot be read as CSV)"
    ) as refused:
        ck.logs.read_bench_log(path)
    assert len(str(refused.value)) < 400


def test_no_such_file():
    with pytest.raises(InputError, match=r"there is no file 'mine\.csv' in .*log_copper\.csv"):
        ck.logs.read_bench_log("mine.csv")


# the invented logs

MAKE = runpy.run_path(str(ck.tables.data_path("bench/make_logs.py")))


@pytest.mark.parametrize("cell", MAKE["TRUTH"])
def test_invented_logs_give_their_truth_back(cell):
    truth, log = MAKE["TRUTH"][cell], ck.logs.read_bench_log(f"log_{cell}.csv")
    (cycle,) = log.cycles
    # the rows are two minutes apart, and the cell does not end exactly as empty as it began
    stored, out = truth.capacity * (0.98 - truth.full), cycle.discharge.charge.to("Ah").magnitude
    if not truth.hydrogen:
        assert cycle.coulombic_efficiency.to("").magnitude == pytest.approx(truth.coulombic, abs=0.015)
        assert out == pytest.approx(stored, rel=0.03)
    # near either end the steps show more than the resistance at half charge
    assert truth.resistance < log.resistance.median.to("ohm").magnitude < 1.2 * truth.resistance
    assert cycle.discharge.end_voltage.to("V").magnitude == pytest.approx(truth.end, abs=0.01)


def test_the_zinc_log_loses_what_published_rates_take():
    """Between the middle and the poor end of the published range for a flat face; on felt, slowly, nothing would stay.

    What is missing at the end is the hydrogen, step by step, of the shelf log's rate, seven times as much on charge.
    """
    truth, (cycle,) = MAKE["TRUTH"]["zinc"], ck.logs.read_bench_log("log_zinc.csv").cycles
    design = ck.designs.read_design("osier_yard_design.csv")
    cell, face = design.cell("zinc"), design.current_path().area
    shelf = runpy.run_path(str(ck.tables.data_path("bench/make_self_discharge.py")))
    capacity, rate, _ = shelf["TRUTH"]["zinc"]
    assert truth.hydrogen == pytest.approx(capacity * rate / 1000, rel=0.02)
    assert MAKE["FALL"] == shelf["FALL"]["zinc"]
    assert MAKE["PLATING"] == pytest.approx(np.exp(0.1 * 0.5 * 96485 / 8.314 / 298.15), rel=0.01)
    half = cell.at_depth(1 - truth.capacity / 2 / cell.capacity.to("Ah").magnitude)

    def kept(case, area=face, current=truth.charge):
        mixed = half.acid / half.water, half.salt / half.water
        lost = ck.chemistry.hydrogen_loss.si("zinc", *mixed, overpotential=0.1, case=case)
        return max(1 - area * lost / current, 0.0)

    assert kept("high") < cycle.coulombic_efficiency.to("").magnitude < kept("nominal")
    felt = ck.chemistry.felt_area.si(face, 1.5e-3)
    assert kept("nominal", felt, 0.1) == 0
    gas, depth, log = 0.0, 0.985, ck.logs.read_bench_log("log_zinc.csv")
    for step, amperes in zip(np.diff(log.time), log.current[:-1], strict=True):
        passed = MAKE["passed"](truth, depth, amperes)
        gas, depth = gas + (passed - amperes) * step / 3600, min(depth + passed * step / 3600 / truth.capacity, 1.0)
    missing = (cycle.charge.charge - cycle.discharge.charge).to("Ah").magnitude
    assert missing == pytest.approx(gas, abs=0.02)  # rows are up to two minutes apart


@pytest.mark.parametrize("cell", MAKE["TRUTH"])
def test_invented_logs_are_made_by_their_generator(cell):
    stored = ck.tables.data_path(f"bench/log_{cell}.csv").read_text(encoding="utf-8").splitlines()
    unit, volt, ampere, sign = MAKE["FORMAT"][cell]
    made = np.array(list(MAKE["rows"](cell))) / [MAKE["SIZE"][unit], MAKE["SIZE"][volt], sign * MAKE["SIZE"][ampere]]
    assert stored[0] == f"time_{unit},voltage_{volt},current_{ampere}"
    shown = np.array([row.split(",") for row in stored[1:]], float)
    for column, written in enumerate((unit, volt, ampere)):
        rounding = 0.501 * 10.0 ** -MAKE["DIGITS"][written]
        np.testing.assert_allclose(shown[:, column], made[:, column], rtol=0, atol=rounding)


def test_template_reads():
    assert [phase.kind for phase in ck.logs.read_bench_log("log_template.csv").phases] == ["charge", "discharge"]


# the picture


def test_picture_says_what_is_shaded(read):
    picture = ck.show.volts_and_amperes(read(BY_HAND), "copper")
    assert picture.sentence == (
        "log.csv, 2.8 hours: charge of 2.00 Ah and 3.00 Wh, last 1.50 V; discharge of 1.50 Ah and 1.80 Wh, last 1.20 V."
    )
    texts = [text.get_text() for text in picture.figure.axes[1].texts]
    assert texts == ["charge 2.00 Ah", "discharge 1.50 Ah"]
    low, high = (shade.get_datalim(picture.figure.axes[1].transData) for shade in picture.figure.axes[1].collections)
    assert low.y0 == pytest.approx(-2)
    assert high.y1 == pytest.approx(1)


def test_shades_stay_on_their_side_of_zero(read):
    log = read([(0, 1.4, -1), (10, 1.4, -1), (20, 1.2, 1), (30, 1.2, 1)], discharge="positive")
    axes = ck.show.volts_and_amperes(log).figure.axes[1]
    charge, discharge = (shade.get_datalim(axes.transData) for shade in axes.collections)
    assert (charge.y0, charge.y1) == (-1, 0)
    assert (discharge.y0, discharge.y1) == (0, 1)


def test_picture_of_a_long_log_keeps_its_peaks(read):
    volts, current = np.full(20_000, 1.3), np.zeros(20_000)
    current[7_777:7_780], volts[15_001] = 3, 1.1
    log = read(np.c_[np.arange(20_000), volts, current].tolist(), discharge="positive")
    above, below = ck.show.volts_and_amperes(log).figure.axes
    assert above.lines[0].get_xdata().size < 3_000
    assert above.lines[0].get_ydata().min() == 1.1
    assert below.lines[0].get_ydata().max() == 3


def test_quantities_carry_their_units(read):
    log = read(BY_HAND)
    assert re.fullmatch(r"log\.csv: 9 rows, 2\.8 h(\n  .*)+", str(log))
    assert log.charge_out.units == Q_(1, "Ah").units
    assert log.energy_out.units == Q_(1, "Wh").units
