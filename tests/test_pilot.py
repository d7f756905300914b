"""The pilot: its invented truth is found again, its list is read, and a coarse scale is told what it would take."""

import runpy

import numpy as np
import pytest

from cellkit import Q_, InputError
from cellkit.chemistry import hydrogen_loss
from cellkit.chemistry.side_reactions import value
from cellkit.logs import Pilot, pilot, pilot_area, read_pilot
from cellkit.tables.published import data_path

PILOT = read_pilot("osier_yard_pilot.csv")
MAKER = runpy.run_path(str(data_path("bench/make_pilot.py")))
TRUTH, ERROR = MAKER["TRUTH"], MAKER["ERROR"]


def simulate(of, losses, error, seed=0):
    """The same pilot weighed anew, each weighing off by a normal ``error`` [kg]; ``losses`` by form [A/m²], a pair."""
    random, values = np.random.default_rng(seed), dict(of.values)
    for form in pilot.FORMS:
        names = [f"{form}, {level} current, {when}" for level in pilot.LEVELS for when in pilot.WEIGHINGS]
        mass, _ = of.fit(form).curve(None, values[names[0]], values[names[4]], *losses[form])
        values |= dict(zip(names, (mass + error * random.standard_normal(8)).tolist(), strict=True))
    return Pilot(values)


def interval(form, name, of=PILOT):
    found = of.loss(form, name)
    return tuple(float(x.to("A/m^2").magnitude) for x in found)


@pytest.mark.parametrize("form", pilot.FORMS)
@pytest.mark.parametrize(("j", "name"), list(enumerate(pilot.LOSSES)))
def test_invented_pilot_holds_its_truth(form, j, name):
    middle, low, high = interval(form, name)
    assert low <= TRUTH[form][j] <= high
    assert low < middle < high


def test_truth_lies_in_its_interval_in_95_of_100_simulations():
    """500 pilots; 95 % of them ± 3 standard errors of a share (0.97 %) are 460 to 490."""
    inside = dict.fromkeys([(form, name) for form in pilot.FORMS for name in pilot.LOSSES], 0)
    for seed in range(500):
        again = simulate(PILOT, TRUTH, ERROR, seed)
        for form, name in inside:
            _, low, high = interval(form, name, again)
            inside[form, name] += low <= TRUTH[form][pilot.LOSSES.index(name)] <= high
    assert all(460 <= count <= 490 for count in inside.values()), inside


def test_without_error_the_truth_comes_out():
    exact = simulate(PILOT, TRUTH, 0.0)
    for form in pilot.FORMS:
        assert exact.fit(form).values[2:] == pytest.approx(TRUTH[form], rel=1e-6)


def test_deposit_by_hand():
    """0.3 A on 10 cm² for 2 h, 9 A/m² lost while plating and 1.6 at rest for 1 h, hung in water.

    (0.3 - 0.009) × 7200 - 0.0016 × 3600 = 2089.44 C; × 65.38 g/mol / (2 × 96485.33) = 0.70792 g; × (1 - 998/7134).
    """
    exact = simulate(PILOT, TRUTH, 0.0).values
    gain = exact["flat, high current, first rest"] - exact["flat, high current, bare"]
    assert gain * 1000 == pytest.approx(0.70792 * (1 - 998 / 7134), rel=1e-4)


def test_exchange_current_goes_back_to_the_loss():
    at_nominal = hydrogen_loss.si("zinc", 1.05, 1.05, 295.15)  # about the fill of the list, 1 mol/L of each at 22 °C
    found = PILOT.exchange_current_density("flat")
    nominal = value("hydrogen on zinc") * 1e8  # A/m² to pA/cm²
    assert found.value.magnitude / nominal == pytest.approx(interval("flat", "loss at rest")[0] / at_nominal, rel=0.1)
    assert found.low < found.value < found.high


def test_kitchen_scale_is_too_coarse():
    """A gram on 10 cm² hides the loss altogether; the area it would take is no pilot, a milligram's is."""
    loss = Q_(0.16, "mA/cm^2")
    assert pilot_area(Q_(1, "g"), loss) > Q_(1000, "cm^2")
    assert pilot_area(Q_(1, "mg"), loss) < Q_(2, "cm^2")
    coarse = {"scale shows": 1e-3}
    rounded = {k: round(x, 3) if isinstance(x, float) and "current, " in k else x for k, x in PILOT.values.items()}
    with pytest.raises(InputError, match="finer scale"):
        Pilot(rounded | coarse).loss("flat")


def test_area_needed_is_what_the_fit_gives():
    """The scatter of many fits at the area that is asked for, against the goal."""
    loss, resolution = 40.0, 1e-4
    area = pilot_area.si(resolution, loss)
    values = PILOT.values | {"flat area": area, "low current": 600 * area, "high current": 900 * area}
    losses = {"flat": (loss, loss), "felt": TRUTH["felt"]}
    many = [simulate(Pilot(values), losses, resolution / 12**0.5, s).fit("flat") for s in range(200)]
    spread = np.std([fit.values[-1] for fit in many], ddof=1)
    assert many[0].coverage_factor * spread / loss == pytest.approx(0.3, rel=0.15)  # 200 draws know a spread to 5 %


def test_a_tenth_of_a_gram_does_not_pass_for_certainty():
    """Rounded to 0.1 g the rested samples look alike; the interval says how little that means."""
    rounded = {k: round(x, 4) if "current, " in k else x for k, x in PILOT.values.items()} | {"scale shows": 1e-4}
    middle, low, high = interval("flat", "loss at rest", Pilot(rounded))
    assert low == 0
    assert high > max(2 * middle, TRUTH["flat"][1])


def test_pilot_of_copper_has_no_hydrogen():
    with pytest.raises(InputError, match="above hydrogen"):
        Pilot(PILOT.values | {"metal": "copper", "salt": 500.0}).exchange_current_density()


def test_generator_writes_the_stored_files(tmp_path):
    stored = {name: data_path(f"bench/{name}.csv").read_bytes() for name in ("osier_yard_pilot", "pilot_template")}
    copy = tmp_path / "make_pilot.py"
    copy.write_bytes(data_path("bench/make_pilot.py").read_bytes())
    runpy.run_path(str(copy), run_name="__main__")
    assert {name: (tmp_path / f"{name}.csv").read_bytes() for name in stored} == stored


def test_rests_have_to_be_in_order(tmp_path):
    text = data_path("bench/osier_yard_pilot.csv").read_text(encoding="utf-8")
    path = tmp_path / "mine.csv"
    path.write_text(text.replace('"second rest",12.0', '"second rest",0.5'), encoding="utf-8")
    with pytest.raises(InputError, match="second rest is 0.5 h .* more than 1 h"):
        read_pilot(path)


def test_template_asks_for_what_is_read():
    rows = data_path("bench/pilot_template.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert [row.split('"')[1] for row in rows] == list(pilot.ITEMS)
