"""Side reactions and what they leave: each formula by hand, limits, and the table's own promises."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy import constants

from cellkit import Q_, InputError
from cellkit.cells.charge import (
    cycles,
    cycles_until_reversal,
    leak_current,
    rest_loss,
)
from cellkit.chemistry.activity import activities
from cellkit.chemistry.potentials import corrosion_driving_force, electrode_potential
from cellkit.chemistry.side_reactions import (
    CASES,
    dissolution_current_density,
    exchange_current_density,
    felt_area,
    gas_volume,
    hydrogen_current_density,
    hydrogen_loss,
    hydrogen_upper_bound,
    impurities,
    ions_left_behind,
    oxygen_limited_current,
    oxygen_overpotential,
    side_reaction,
    value,
)
from cellkit.chemistry.solution import from_molarity
from cellkit.designs import losses
from cellkit.tables.published import table

STATUS = {"published", "from memory", "invented"}
MIXTURE = (1.2, 0.8)  # mol/kg of acid and of zinc sulfate


# --- the tables


@pytest.mark.parametrize("name", [row["name"] for row in table("side_reactions")])
def test_each_row_is_a_range_with_a_status(name):
    row = side_reaction(name)
    assert 0 < row.low <= row.nominal <= row.high
    assert row.status in STATUS
    assert ("from memory" in row.source) == (row.status == "from memory")


def test_impurities_say_where_from_what_and_what_to_do():
    assert {"antimony", "arsenic", "nickel", "iron", "copper"} <= {row["element"] for row in table("impurities")}
    for row in table("impurities"):
        assert row["status"] in STATUS
        assert all(row[column] for column in ("comes_from", "effect", "source", "do"))
        assert bool(row["shown_mg_per_L"]) == bool(row["shown_effect"])


def test_impurities_of_a_metal_are_its_rows_in_words():
    """Half the current at 14 µg/L of antimony: Ault & Frazer 1988, abstract."""
    zinc = {found.element: found for found in impurities("zinc")}
    assert zinc["antimony"].shown.startswith("0.014 mg/L: half of the current lost")
    assert zinc["germanium"].shown == "no figure found for how little does harm"
    assert {found.element for found in impurities("copper")} == {"iron", "chloride"}  # "any" stands for both metals
    assert all(text for found in zinc.values() for text in found)


def test_nothing_remembered_stands_in_the_upper_bound():
    """An invented or remembered number must not stand where a hand could be hurt."""
    for name in (
        "hydrogen while plating zinc",
        "hydrogen on zinc",
        "fibre diameter",
        "lower explosive limit of hydrogen",
        "oxygen on lead dioxide",
    ):
        assert side_reaction(name).status == "published"


# --- true area and hydrogen


def test_felt_area_by_hand():
    """4 × 0.07 / 10 µm = 28 000 m²/m³; times 1.5 mm is 42 m² per m² of face."""
    assert felt_area.si(1.0, 1.5e-3, 10e-6) == pytest.approx(42.0)


def test_hydrogen_by_hand():
    """η = 0.80 V, i0 = 1e-6 A/m², a = 0.25, α = ½: b = ln 10 × 8.314463 × 298.15 / (½ × 96485.33) = 0.11832 V.

    10^(0.80/0.11832) = 10^6.7613 = 5.772e6; times √0.25 × 1e-6 = 2.886 A/m².
    """
    assert hydrogen_current_density(0.80, 0.25, 1e-6) == pytest.approx(2.886, rel=1e-3)


def test_one_tafel_slope_more_is_ten_times_the_hydrogen():
    slope = np.log(10) * 8.314462618 * 298.15 / (0.5 * 96485.33212)
    one, ten = hydrogen_current_density(np.array([0.7, 0.7 + slope]), 1.0, 1e-6)
    assert ten / one == pytest.approx(10)


def test_hydrogen_loss_is_the_formula_at_the_potential_of_the_metal():
    drive, activity = (
        corrosion_driving_force("zinc", *MIXTURE),
        np.exp(activities.si(*MIXTURE, "zinc").hydrogen),
    )
    by_hand = hydrogen_current_density(drive + 0.1, activity, value("hydrogen on zinc"))
    assert hydrogen_loss.si("zinc", *MIXTURE, overpotential=0.1) == pytest.approx(by_hand)


def test_band_is_in_order_at_every_temperature():
    for kelvin in (273.15, 298.15, 313.15):
        losses = [hydrogen_loss.si("zinc", *MIXTURE, kelvin, case=case) for case in CASES]
        assert losses == sorted(losses)


@pytest.mark.parametrize(
    ("case", "kelvin", "times"),
    [
        ("low", 308.15, 1.481),
        ("nominal", 308.15, 1.924),
        ("high", 308.15, 2.500),
        ("low", 288.15, 0.3753),
        ("nominal", 288.15, 0.4966),
        ("high", 288.15, 0.6571),
    ],
)
def test_ten_kelvin_double_the_loss_at_a_fixed_potential(case, kelvin, times):
    """50 kJ/mol: exp(50e3/8.314463 × (1/298.15 - 1/308.15)) = exp(0.6545) = 1.92; zinc's own drift is taken off.

    30 and 70 kJ/mol: in warmth most hydrogen comes with the larger, exp(0.9164); in the cold with the smaller,
    exp(-0.4200), and least with the larger, exp(-0.9800).
    """
    there, room = (hydrogen_loss.si("zinc", *MIXTURE, at, 0.0, case) for at in (kelvin, 298.15))
    drives = [corrosion_driving_force("zinc", *MIXTURE, at) for at in (kelvin, 298.15)]
    slope = np.log(10) * 8.314462618 * 298.15 / (0.5 * 96485.33212)
    assert there / room * 10 ** ((drives[1] - drives[0]) / slope) == pytest.approx(times, rel=5e-4)


def test_copper_makes_no_hydrogen():
    assert hydrogen_loss.si("copper", *MIXTURE) == 0


def test_more_acid_makes_more_hydrogen():
    assert np.all(np.diff(hydrogen_loss.si("zinc", np.linspace(0.1, 3, 9), 0.5)) > 0)


def test_exchange_current_is_found_again():
    loss = hydrogen_loss.si("zinc", *MIXTURE, 303.15, case="nominal")
    assert exchange_current_density.si(loss, "zinc", *MIXTURE, 303.15) == pytest.approx(value("hydrogen on zinc"))


def test_hydrogen_needs_its_ions():
    with pytest.raises(InputError, match="no zinc ions"):
        hydrogen_loss("zinc", Q_(1, "mol/kg"), Q_(0, "mol/kg"))
    with pytest.raises(InputError, match="above hydrogen"):
        exchange_current_density(Q_(1, "A/m^2"), "copper", Q_(1, "mol/kg"), Q_(0.5, "mol/kg"))


# --- gas and its upper bound


def test_gas_by_the_molar_volume_of_an_ideal_gas():
    """CODATA as carried by scipy: 22.41396954 L/mol at 273.15 K and 101325 Pa; two electrons per molecule."""
    molar = constants.value("molar volume of ideal gas (273.15 K, 101.325 kPa)")
    moles = 180 / (2 * constants.value("Faraday constant"))
    assert gas_volume.si(180.0, "hydrogen", 273.15) == pytest.approx(moles * molar, rel=1e-6)


def test_bound_by_hand():
    """100 cm² × 200 A/m² = 2 A, with 0.5 A of charging 2.5 A; 2.5/(2 × 96485.33) mol/s × 24.465 L/mol = 1.141 L/h.

    Molar volume at 25 °C and 1 atm: handbook figure, from memory.
    """
    bound = hydrogen_upper_bound.si(0.01, 3600.0, 1.0, 1.0, 0.5)
    assert bound.rate * 3.6e6 == pytest.approx(1.141, rel=1e-3)
    assert bound.total * 1000 == pytest.approx(0.4564, rel=1e-3)


def test_bound_grows_with_acid_and_never_shrinks():
    """2 mol/kg of acid beside 0.05 of salt makes 5.4 times what the solution of the paper makes: a(H+)^½ 10^(η/b).

    √2.269 × 10^(0.83912/0.11832) against √0.698 × 10^(0.78333/0.11832), activities and driving forces by the course.
    """
    paper, strong, weak = (hydrogen_upper_bound.si(0.01, 1.0, *s).rate for s in ((1.1, 0.85), (2, 0.05), (0.3, 1.5)))
    assert strong / paper == pytest.approx(5.34, rel=0.01)
    assert weak == pytest.approx(paper, rel=0.01)


def test_bound_is_the_published_rate_in_the_published_solution():
    """1.07 mol/L H2SO4 with 0.8 mol/L ZnSO4, 200 A/m² (pages named in the table); a hundredth more of the acid, or a
    twentieth less of the zinc, makes more by a(H+)^½ 10^(η/b), and nothing takes it below what was seen."""
    slope = np.log(10) * 8.314462618 * 298.15 / (0.5 * 96485.33212)

    def per_kilogram(acid, salt):
        fill = from_molarity.si(1e-3, acid, salt, "zinc")
        return fill.acid / fill.water, fill.salt / fill.water

    def makes(solution):
        activity = np.exp(activities.si(*solution, "zinc").hydrogen)
        return activity**0.5 * 10 ** (corrosion_driving_force("zinc", *solution) / slope)

    paper = per_kilogram(1070.0, 800.0)
    seen = 200 / (2 * 96485.33) * 8.314463 * 298.15 / 101325
    for solution, times in (
        (paper, 1.0),
        (per_kilogram(1060.0, 800.0), 1.0),
        (per_kilogram(1080.0, 800.0), makes(per_kilogram(1080.0, 800.0)) / makes(paper)),
        (per_kilogram(1070.0, 760.0), makes(per_kilogram(1070.0, 760.0)) / makes(paper)),
    ):
        assert hydrogen_upper_bound.si(1.0, 1.0, *solution).rate == pytest.approx(seen * times, rel=5e-5)


def test_bound_is_above_the_band():
    """The high end of the band at rest on a surface three times as rough, in all solutions of the course."""
    acid, salt = np.meshgrid(np.linspace(0.2, 3, 8), [0.05, 0.1, 0.5, 1.0])
    most = hydrogen_loss.si("zinc", acid, salt, 298.15, case="high") * 3
    bound = hydrogen_upper_bound.si(1.0, 1.0, acid, salt).rate
    one_ampere = hydrogen_upper_bound.si(1e-9, 1.0, 1.0, 1.0, 1.0).rate
    assert np.all(bound > most * one_ampere)


def test_bound_stops_where_nothing_was_published():
    mixture = Q_(1, "mol/kg"), Q_(1, "mol/kg")
    with pytest.raises(InputError, match="temperature"):
        hydrogen_upper_bound(Q_(50, "cm^2"), Q_(1, "Ah"), *mixture, temperature=Q_(40.1, "degC"))
    assert hydrogen_upper_bound(Q_(50, "cm^2"), Q_(1, "Ah"), *mixture, temperature=Q_(40, "degC")).rate > 0


# --- copper and oxygen


def test_copper_by_hand():
    """1.7 g/(m² d) = 1.9676e-8 kg/(m² s); × 2 × 96485.33 / 0.063546 kg/mol = 0.05975 A/m²."""
    assert dissolution_current_density.si(1.7e-3 / 86400) == pytest.approx(0.05975, rel=1e-3)


def test_air_can_feed_what_copper_was_seen_to_lose():
    """Through half a millimetre of liquid, the order of an unstirred layer (from memory), enough oxygen comes."""
    seen = dissolution_current_density.si(value("copper dissolved by oxygen", "high"))
    assert oxygen_limited_current(1.0, 0.5e-3) > seen


def test_oxygen_limit_by_hand():
    """4 × 96485.33 × 2e-9 m²/s × 0.265 mol/m³ / 10 mm = 0.02046 A/m²."""
    assert oxygen_limited_current(1.0, 0.01) == pytest.approx(0.02046, rel=1e-3)


def test_oxygen_of_the_positive_dissolves_copper_by_hand():
    """Pure oxygen, 0.265/0.2095 = 1.265 mol/m³: 4 × 96485.33 × 2e-9 × 1.265 / 1 mm × 148.8 cm² = 14.5 mA.

    Beside 107 mA of a first charge that is up to an eighth, more than the published three per cent of a cell whose
    positive makes no oxygen.
    """
    assert oxygen_limited_current(0.01488, 1e-3, share=1.0) == pytest.approx(14.53e-3, rel=2e-3)


def test_oxygen_overpotential_by_hand():
    """7 A/m² over 1e-7 A/m² is 7.845 decades of 0.05916 V / 0.59 = 0.10027 V: 0.7866 V above oxygen.

    In 1 mol/kg of acid lead dioxide stands 0.400 V above oxygen already, by the course's potentials.
    """
    plate, gas = (electrode_potential.si(name, 1.0) for name in ("lead dioxide", "oxygen"))
    assert plate - gas == pytest.approx(0.400, abs=1e-3)
    assert oxygen_overpotential(7.0, 1.0) == pytest.approx(0.7866 - (plate - gas), abs=2e-4)
    tenfold = oxygen_overpotential(np.array([7.0, 70.0]), 1.0)
    assert np.diff(tenfold) == pytest.approx(0.10027, rel=1e-3)


def test_a_positive_on_charge_is_never_below_its_rest_potential():
    assert oxygen_overpotential(1e-9, 1.0) == 0


# --- what comes back


def test_efficiency_by_hand(monkeypatch):
    """50 mA with 5 mA of loss: 1 - 0.1 and 50/55; more loss than current leaves nothing."""
    zinc = SimpleNamespace(negative="zinc")
    monkeypatch.setattr(losses, "losses", lambda *_: (np.array([0.005, 0.05, 0.5]), 0.005))
    assert losses.efficiency(None, zinc, 0.05, {}) == pytest.approx([0.9, 0.0, 0.0])
    assert losses.delivered(None, zinc, 0.05, {}) == pytest.approx(50 / 55)


def test_rest_loss_by_hand():
    """10 mA from 1 Ah: 0.24 Ah a day, empty after 100 h."""
    lost = rest_loss.si(3600.0, 0.01)
    assert lost.rate * 86400 == pytest.approx(0.24)
    assert lost.time / 3600 == pytest.approx(100)


def test_charge_that_ends_by_efficiency_keeps_the_cell():
    """Later charges: what came out over CE. Ten cycles at CE = 0.8, f = 1.25: the charge stays.

    Passed 12.5 Ah; hydrogen 0.2 of it, 2.5 Ah; the positive gave 10 Ah and got 12.5: 2.5 Ah of oxygen, which took
    2.5 × 3600/(2 × 96485.33) × 18.015 g = 0.840 g of water.
    """
    after = cycles.si(3600.0, 0.8, 1.25, 10)
    assert after.charge == pytest.approx(3600.0)
    assert (after.hydrogen / 3600, after.oxygen / 3600) == pytest.approx((2.5, 2.5))
    assert after.water * 1000 == pytest.approx(0.840, rel=1e-3)


def test_charge_that_ends_when_it_is_back_in_fades():
    """CE = 0.9, f = 1: 0.9^n; hydrogen is all that is missing, and the positive makes none."""
    after = cycles.si(3600.0, 0.9, 1.0, np.array([0, 1, 2, 10]))
    assert after.charge / 3600 == pytest.approx([1, 0.9, 0.81, 0.9**10])
    assert after.hydrogen == pytest.approx(3600 - after.charge)
    assert after.oxygen == pytest.approx(0)


@pytest.mark.parametrize("factor", [1.1, 1.3])
def test_cycles_one_by_one(factor):
    """The closed form against plain book-keeping of both plates; passing 1.3 times as much keeps it full, no more."""
    efficiency, held, hydrogen, oxygen = 0.85, 3600.0, 0.0, 0.0
    for _ in range(7):
        passed = factor * held
        kept = min(efficiency * passed, 3600.0)
        hydrogen, oxygen, held = hydrogen + passed - kept, oxygen + passed - held, kept
    after = cycles.si(3600.0, 0.85, factor, 7)
    assert (after.charge, after.hydrogen, after.oxygen) == pytest.approx((held, hydrogen, oxygen))


def test_reversal_one_by_one():
    """Depth 0.8, 5 % apart: the gap grows by 0.04 a cycle, the reserve is 0.2: five cycles."""
    assert cycles_until_reversal.si(0.8, 0.05) == pytest.approx(0.2 / 0.04)


def test_leak_by_hand():
    """2 V × 40 S/m × 1 mm² / 30 mm = 2.667 mA."""
    assert leak_current.si(2.0, 40.0, 1e-6, 0.03) == pytest.approx(2.667e-3, rel=1e-3)


# --- what is out of reach


def test_ions_left_behind_by_hand():
    """50 A/m² × 1.5 mm / (4 × 96485.33 × 4.6e-10 × 0.93^1.5) = 0.075 / 1.5923e-4 = 471 mol/m³."""
    assert ions_left_behind("zinc", 50.0, 1.5e-3) == pytest.approx(471.0, rel=1e-3)


def test_areal_charge_by_hand():
    """1 Ah on 25 cm² are 40 mAh/cm², twice what was shown."""
    assert 3600 / 25e-4 / value("areal charge without needles") == pytest.approx(2.0)
