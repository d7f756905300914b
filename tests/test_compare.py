"""Draws of every uncertain input: reproducible, the same for all; chances and words no surer than the draws."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.chemistry.activity import tabulated
from cellkit.chemistry.side_reactions import side_reaction
from cellkit.designs import comparison, losses
from cellkit.designs.comparison import Comparison, _correlation, _measurable, _ranks, compare, in_words, outcomes
from cellkit.designs.design import CONSTRUCTIONS, DESIGN_ITEMS, REMEMBERED, Design, read_design
from cellkit.tables.published import table

DESIGN = read_design("osier_yard_design.csv")
FOUND = compare(DESIGN, 2000, seed=1)
EXACT = {"rest voltage": 0.0, "density of solutions": 0.0} | losses.NOMINAL


def specific_energies(design, inputs):
    return {key: energy for key, (energy, _) in outcomes(design, inputs).items()}


def made_up(lead, zinc, overloaded=False):
    """A comparison with given J/kg."""
    inputs = {"a": np.arange(float(len(lead)))}
    energies = {"lead": np.asarray(lead, float), "zinc": np.asarray(zinc, float)}
    loads = {"zinc": np.broadcast_to(overloaded, len(zinc))}
    return Comparison(inputs, energies, loads, {}, {"a": "invented"})


def in_one_line(found, construction):
    lines = found.verdict(construction).splitlines()
    assert max(map(len, lines)) <= 100
    return " ".join(lines)


# --- one evaluation


def test_by_hand_from_the_parts():
    """W/m = q Q (mean rest voltage - loss at half depth) / m; the parts from cell and load.

    q of copper: 97 % of the charge is plated, and oxygen takes 1.41 mA (2.7 g/(m² d) of 148.8 cm²) beside 100 mA.
    """
    cell, stack = DESIGN.cell("copper"), DESIGN.current_path()
    half = ck.cells.voltage_under_load(cell, stack, DESIGN["load current"], 0.5)
    volts = cell.mean_voltage - (half.rest - half.terminal)
    expected = 0.97 * 100 / 101.412 * cell.capacity * volts / cell.mass("block")
    found = specific_energies(DESIGN, EXACT)["copper"]
    assert found == pytest.approx(expected.to("J/kg").magnitude, rel=1e-4)


def test_the_errors_of_the_model():
    """One unit of rest voltage adds the stated uncertainty; one of density makes the solution 0.3 % heavier."""
    cell, plain = DESIGN.cell("copper"), specific_energies(DESIGN, EXACT)["copper"]
    higher = specific_energies(DESIGN, EXACT | {"rest voltage": 1.0})["copper"]
    added = 0.97 * 100 / 101.412 * cell.capacity * cell.rest_voltage_uncertainty(0.5) / cell.mass("block")
    assert higher - plain == pytest.approx(added.to("J/kg").magnitude, rel=1e-4)
    heavier = specific_energies(DESIGN, EXACT | {"density of solutions": 1.0})["copper"]
    assert plain / heavier - 1 == pytest.approx((0.003 * cell.masses["electrolyte"] / cell.mass("block")).magnitude)


def test_a_cell_below_its_end_voltage_gives_nothing():
    found = specific_energies(Design.varied.si(DESIGN, {"end voltage": 1.6}), EXACT)
    assert found["copper"] == found["copper with tank"] == 0
    assert found["lead"] > 0


def test_all_at_once_is_each_alone():
    """Exactly from the same tables, and within what 0.02 mV of rest voltage may change by the full computation."""
    together = FOUND.specific_energies
    for k in (0, 17, 1999):
        inputs = {name: draws[k] for name, draws in FOUND.inputs.items()}
        with tabulated():
            alone = specific_energies(DESIGN, inputs)
        full = specific_energies(DESIGN, inputs)
        for name in CONSTRUCTIONS:
            assert together[name][k] == pytest.approx(alone[name], rel=1e-9), name
            assert together[name][k] == pytest.approx(full[name], rel=5e-5), name


def test_draws_in_blocks_are_the_draws_together(monkeypatch):
    monkeypatch.setattr(comparison, "AT_ONCE", 300)
    blocks = compare(DESIGN, 2000, seed=1)
    for name in CONSTRUCTIONS:
        assert blocks.specific_energies[name] == pytest.approx(FOUND.specific_energies[name], rel=1e-12)


# --- the draws


def test_every_row_of_the_table_is_an_input():
    rows = table("spread")
    assert {row["input"] for row in rows} <= set(FOUND.inputs)
    assert set(FOUND.status) == set(FOUND.inputs)
    assert set(FOUND.status.values()) <= {"published", "measured", "from memory", "invented"}
    for row in rows:
        assert row["low"] <= row["nominal"] <= row["high"]
        assert row["low"] < row["high"]
        assert row["shape"] in ("uniform", "triangular")
        assert row["source"]
        if row["how"] in ("times", "plus"):
            assert row["input"] in DESIGN_ITEMS or row["input"] in REMEMBERED


def test_draws_stay_within_the_table_and_fill_it():
    salt = FOUND.inputs["fill salt"] / DESIGN.values["fill salt"]
    assert 0.97 <= salt.min() < 0.975
    assert 1.025 < salt.max() <= 1.03
    drawn, (middle, good, poor) = FOUND.inputs["load: wiring"], (5e-3, 2e-3, 15e-3)  # kinetics.csv
    assert good < drawn.min() < drawn.max() < poor
    assert np.median(drawn) == pytest.approx(middle, rel=0.05)
    assert FOUND.inputs["charge kept by positives"].max() <= 1


def test_no_mass_is_drawn_below_nothing_and_no_share_above_all():
    little = Design.varied.si(DESIGN, {"separators": 0.0005, "active share": 0.95})  # ± 1 g, and up to 15 % more
    drawn = compare(little, 200).inputs
    assert drawn["separators"].min() == 0 < drawn["separators"].max()
    assert drawn["active share"].max() == 1


def test_draws_have_the_mean_of_their_shape():
    """Mean (low + mode + high) / 3 of a triangle, of variance (a² + b² + c² - ab - bc - ca) / 18, and (low + high) / 2
    of what is as likely anywhere between, of variance (b - a)² / 12: textbooks, from memory. Four standard errors;
    of a side reaction the logarithm. As many draws as are taken where nobody says how many.
    """
    found = compare(DESIGN, seed=3)
    assert found.count == 10_000
    drawn = {
        "hydrogen on zinc": (np.log(found.inputs["hydrogen on zinc"]), np.log(side_reaction("hydrogen on zinc")[:3]))
    }
    for row in table("spread"):
        name, ends = row["input"], np.array([row[end] for end in ("low", "nominal", "high")])
        sample, item = found.inputs[name], DESIGN.values.get(name)
        if row["how"] == "plus":
            sample = Q_(sample - item, DESIGN_ITEMS[name].unit).to(row["unit"]).magnitude
        drawn[name] = sample / item if row["how"] == "times" else sample, ends
    uniform = {row["input"] for row in table("spread") if row["shape"] == "uniform"}
    for name, (sample, (a, b, c)) in drawn.items():
        mean, variance = (a + b + c) / 3, (a * a + b * b + c * c - a * b - b * c - c * a) / 18
        if name in uniform:
            mean, variance = (a + c) / 2, (c - a) ** 2 / 12
        assert sample.mean() == pytest.approx(mean, abs=4 * (variance / found.count) ** 0.5), name
        assert sample.var() == pytest.approx(variance, rel=0.1), name


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 2**32))
def test_the_seed_reproduces_the_draws(seed):
    one, same, other = compare(DESIGN, 20, seed), compare(DESIGN, 20, seed), compare(DESIGN, 20, seed + 1)
    assert all(np.array_equal(one.specific_energies[name], same.specific_energies[name]) for name in CONSTRUCTIONS)
    assert not np.array_equal(one.specific_energies["copper"], other.specific_energies["copper"])


def test_without_a_seed_it_is_that_of_zero():
    zero, unsaid = compare(DESIGN, 20, 0), compare(DESIGN, 20)
    assert np.array_equal(zero.specific_energies["copper"], unsaid.specific_energies["copper"])
    for seed in (-1, 0.5):
        with pytest.raises(InputError, match="seed is"):
            compare(DESIGN, 20, seed)


def test_what_they_share_cannot_decide():
    """Wrapped in carbon, a block is heavier by the wrap in each draw, whatever else was drawn."""
    assert np.all(FOUND.specific_energies["carbon-wrapped lead"] < FOUND.specific_energies["lead"])


def test_what_is_known_is_not_drawn():
    known = {"current efficiency of copper": 0.95, "fill volume": Q_(45, "mL")}
    found = compare(DESIGN, 50, known=known)
    assert set(found.inputs["current efficiency of copper"]) == {0.95}
    assert found.inputs["fill volume"] == pytest.approx(45e-6)
    assert found.sensitivity("copper")["current efficiency of copper"] == 0
    assert found.status["current efficiency of copper"] == "measured"
    with pytest.raises(InputError, match="'luck'; allowed are 'positive plates"):
        compare(DESIGN, 50, known={"luck": 1})
    with pytest.raises(InputError, match="fill volume is 45 g"):
        compare(DESIGN, 50, known={"fill volume": Q_(45, "g")})
    with pytest.raises(InputError, match="current efficiency of copper is -0.1"):
        compare(DESIGN, 50, known={"current efficiency of copper": -0.1})
    with pytest.raises(InputError, match="current efficiency of copper is 97; allowed is from 0 to 1"):
        compare(DESIGN, 50, known={"current efficiency of copper": 97})


def test_each_input_can_be_known_in_the_unit_of_its_row():
    """Once a resistance was refused with its unit and taken without, and a density below the calculated one refused."""
    found = compare(DESIGN, 50, known={"load: wiring": Q_(7, "mohm"), "density of solutions": -0.5})
    assert found.inputs["load: wiring"] == pytest.approx(0.007)
    assert set(found.inputs["density of solutions"]) == {-0.5}
    between = compare(DESIGN, 2000, known={"rest voltage": (-0.5, -0.8, -0.2)}).inputs["rest voltage"]
    assert np.mean((between > -0.8) & (between < -0.2)) == pytest.approx(0.95, abs=0.015)
    as_drawn = {name: drawn.mean() for name, drawn in FOUND.inputs.items()}
    known = {name: Q_(mean, Q_(1, _measurable(name).unit).to_base_units().units) for name, mean in as_drawn.items()}
    for name, kept in compare(DESIGN, 1, known=known).inputs.items():
        assert kept == pytest.approx(as_drawn[name]), name
    with pytest.raises(
        InputError, match=r'load: wiring is 0.007, .* it has to carry a unit. Try load: wiring=Q_\(5, "moh'
    ):
        compare(DESIGN, 50, known={"load: wiring": 0.007})
    with pytest.raises(InputError, match="rest voltage has 2 values; give one"):
        compare(DESIGN, 50, known={"rest voltage": (-0.5, 0.5)})
    with pytest.raises(InputError, match="rest voltage has 3 values; it takes one at a time"):
        compare(DESIGN, 50, known={"rest voltage": [0.1, 0.0, 0.2]})
    with pytest.raises(InputError, match="rest voltage is 1.2 V, which is not a plain number"):
        compare(DESIGN, 50, known={"rest voltage": Q_(1.2, "V")})


def test_a_pilot_takes_the_place_of_the_published_range():
    """95 % of a normal distribution lie within 1.96 standard deviations: the share of draws inside the interval."""
    pilot = ck.logs.read_pilot("osier_yard_pilot.csv").exchange_current_density("flat")
    found = compare(DESIGN, 4000, known={"hydrogen on zinc": pilot})
    drawn = Q_(found.inputs["hydrogen on zinc"], "A/m^2")
    assert np.mean((drawn > pilot.low) & (drawn < pilot.high)) == pytest.approx(0.95, abs=0.011)
    assert found.status["hydrogen on zinc"] == "measured"


@pytest.mark.parametrize("count", [0, -1, 2.5, 1_000_001, "many", None])
def test_no_such_number_of_draws(count):
    with pytest.raises(InputError, match="count is"):
        compare(DESIGN, count)


def test_only_a_design_is_drawn():
    with pytest.raises(InputError, match="it has to be of type Design"):
        compare(DESIGN.block)


# --- what comes out


def test_nine_draws_of_ten_lie_in_the_band():
    """Of 0, 1, … 100 Wh/kg the 5th, 50th and 95th percentile are 5, 50 and 95."""
    found = made_up(np.ones(101), 3600 * np.arange(101.0))
    assert found.specific_energy("zinc").to("Wh/kg").magnitude == pytest.approx([5, 50, 95])


def test_as_good_as_the_block_is_not_ahead():
    found = made_up([3600, 3600, 3600], [3600, 3601, 3599])
    assert found.draws_ahead("zinc") == 1


@given(st.lists(st.tuples(st.floats(1, 1e5), st.floats(1, 1e5)), min_size=1, max_size=50))
def test_odds_lie_between_none_and_all(pairs):
    found = made_up(*zip(*pairs, strict=True))
    assert 0 <= found.draws_ahead("zinc") / found.count <= 1
    assert found.draws_ahead("zinc") == sum(zinc > lead for lead, zinc in pairs)


def test_a_draw_without_a_solution_does_not_win():
    found = made_up([3600, 3600, 3600], [np.nan, 7200, 0])
    assert found.draws_ahead("zinc") == 1
    said = in_one_line(found, "zinc")
    assert "In 1 of 3 draws nothing of its charge stays. In 1 of 3 draws its solution does not exist." in said
    assert "carry" not in said
    assert "In 1 of 3 draws it does not carry the load." in in_one_line(
        made_up([3600, 3600, 3600], [7200, 7200, 0], [False, False, True]), "zinc"
    )


def test_rank_correlation_is_spearmans():
    """Beside scipy's, with ties."""
    random = np.random.default_rng(4)
    one, other = random.integers(0, 9, 60), random.normal(size=60)
    for pair in ((one, other), (other, other**3), (one, -one)):
        assert _correlation(*map(_ranks, pair)) == pytest.approx(stats.spearmanr(*pair).statistic)
    assert _correlation(_ranks(np.ones(5)), _ranks(np.arange(5))) == 0


def test_one_draw_ranks_nothing():
    with pytest.raises(InputError, match="zinc exists in 1 of 2 draws: too few"):
        made_up([1, 1], [np.nan, 2]).sensitivity("zinc")


def test_ranking_is_sorted_and_knows_what_cancels():
    shares = FOUND.sensitivity("copper")
    assert list(shares.values()) == sorted(shares.values(), reverse=True)
    assert list(shares)[:2] == ["capacity", "current efficiency of copper"]
    assert sum(shares.values()) == pytest.approx(1, abs=0.1)  # nearly additive, 2,000 draws
    assert shares["active share"] < 0.005  # cancels: the measured charge stands for it; 1/2000 is chance


def test_what_decides_the_block_itself_is_what_it_was_weighed_with():
    """By hand: capacity, a triangle of ±5 %, has 2.04 % of standard deviation; acid, ±6 g of 730 g anywhere, 0.47 %.

    So acid brings (0.47 / 2.04)² = 5.4 % as much as capacity; a rebuild's own rows bring nothing.
    """
    shares = FOUND.sensitivity("lead")
    assert next(iter(shares)) == "capacity"
    assert shares["electrolyte"] / shares["capacity"] == pytest.approx(0.054, abs=0.02)  # of 2,000 draws
    assert max(shares["fill salt"], shares["current efficiency of copper"]) < 0.005


def test_copper_rests_on_what_was_read_or_measured_and_zinc_on_nothing_else():
    """Of copper less than a fifth of what decides is remembered or invented; of zinc no draw says anything else."""
    assert FOUND.unfounded("copper") < 0.2
    assert np.all(np.nan_to_num(FOUND.specific_energies["zinc"]) == 0)
    assert FOUND.unfounded("zinc") == 0
    invented = made_up([1, 1, 1, 1], [1, 2, 3, 4])
    assert invented.unfounded("zinc") == 1
    assert "100 % rests on memory or invention" in in_one_line(invented, "zinc")


@pytest.mark.parametrize(
    ("wins", "count", "words"),
    [
        (8123, 10_000, "8 of 10 draws"),
        (9921, 10_000, "99 of 100 draws"),
        (12, 10_000, "12 of 10,000 draws"),
        (1000, 10_000, "1 of 10 draws"),
        (4, 5, "4 of 5 draws"),
        (1, 30, "1 of 30 draws"),
        (0, 200, "none of 200 draws"),
        (200, 200, "all 200 draws"),
        (1, 1, "all 1 draws"),
    ],
)
def test_odds_in_words(wins, count, words):
    assert in_words(wins, count) == words


@given(st.integers(1, 3000).flatmap(lambda count: st.tuples(st.integers(0, count), st.just(count))))
def test_words_claim_neither_all_nor_none_nor_finer_than_the_draws(pair):
    wins, count = pair
    words = in_words(wins, count)
    assert words.startswith("none") == (wins == 0)
    assert words.startswith("all") == (wins == count)
    if 0 < wins < count:
        some, of = (int(word.replace(",", "")) for word in words.split()[:3:2])
        assert 0 < some < of <= count
        assert abs(some / of - wins / count) <= 0.5 / of + 1e-12


def test_none_and_all_say_what_is_left():
    """Rule of three (from memory): none in 60 draws leaves up to 3/60 = 5 %."""
    lead = np.full(60, 3600.0)
    for zinc, start in ((lead / 2, "none of 60 draws"), (lead * 2, "all 60 draws")):
        words = in_one_line(made_up(lead, zinc), "zinc")
        assert start in words
        assert "chance of up to 5 %" in words
    assert "chance of up to 100 %" in in_one_line(made_up([1], [2]), "zinc")


def test_verdicts_say_what_is_left_out():
    assert "pump, its mass and its power are left out" in in_one_line(FOUND, "copper with tank")
    assert "corrodes" in in_one_line(FOUND, "zinc")
    assert in_one_line(FOUND, "lead").startswith("The unmodified block holds 26 Wh/kg")


def test_what_cannot_be_built_is_said():
    found = compare(Design.varied.si(DESIGN, {"fill salt": 1500.0}), 20)
    assert found.verdict("copper").startswith(
        "There is no copper rebuild: H2SO4 0.5 mol/L with CuSO4 1.5 mol/L is more"
    )
    assert found.draws_ahead("copper") == 0
    assert "zinc" not in found.refused
    assert np.all(found.specific_energy("copper").magnitude == 0)
    with pytest.raises(InputError, match="'gold'; allowed are 'lead'"):
        found.draws_ahead("gold")


def test_one_that_fails_never_stops_the_others():
    """Copper that does not dissolve and a tank left blank: said in words, the others as before."""
    strong = DESIGN.varied({"copper fill salt": Q_(1.5, "mol/L")})
    listed = {name: value for name, value in strong.values.items() if name != "tank volume"}
    found = compare(Design(type(strong.values)(listed)), 300)
    assert set(found.refused) == {"copper", "copper with tank"}
    assert "more than dissolves" in found.verdict("copper")
    assert "tank volume is blank" in found.verdict("copper with tank")
    assert np.isnan(found.specific_energies["copper with tank"]).all()
    assert np.isfinite(found.specific_energies["zinc"]).all()
    with pytest.raises(InputError, match="too few"):
        found.sensitivity("copper with tank")


def test_a_blank_row_of_one_leaves_those_after_it():
    """Carbon comes before the tank in the list of constructions."""
    listed = {name: value for name, value in DESIGN.values.items() if name != "carbon wrap"}
    found = compare(Design(type(DESIGN.values)(listed)), 50)
    assert set(found.refused) == {"carbon-wrapped lead"}
    assert np.isnan(found.specific_energies["carbon-wrapped lead"]).all()
    assert np.isfinite(found.specific_energies["copper with tank"]).all()
