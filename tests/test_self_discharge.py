"""Self-discharge: the decay models, their fits and intervals, what is made of them, and the reader of logs."""

import re
import runpy
import tracemalloc
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants, optimize, stats

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.logs import fitting
from cellkit.logs.fitting import fit_curve, refit
from cellkit.logs.self_discharge import Estimate, ModelComparison, _fitted

DAY = 86400.0
TRUTH = {
    "constant leak": {"capacity": Q_(1000, "mAh"), "rate": Q_(1, "percent/day")},
    "first order": {"capacity": Q_(1000, "mAh"), "rate": Q_(3, "percent/day")},
    "square root of time": {"capacity": Q_(1000, "mAh"), "rate": Q_(6, "percent/day**0.5")},
    "fast + slow": {
        "capacity": Q_(1000, "mAh"),
        "share": Q_(30, "percent"),
        "fast": Q_(25, "percent/day"),
        "rate": Q_(0.6, "percent/day"),
    },
}
DAYS = Q_(np.repeat([0, 1, 2, 4, 7, 10, 14, 20, 28, 35, 42, 56], 2), "day")
models = pytest.mark.parametrize("model", TRUTH)


def si(model):
    return np.array([TRUTH[model][name].to_base_units().magnitude for name in ck.logs.DECAY_MODELS[model].names])


def made(model, error=8, seed=0, days=DAYS):
    return ck.logs.simulate_shelf_log(model, days, Q_(error, "mAh"), seed=seed, **TRUTH[model])


# the curves


@models
def test_derivatives_agree_with_differences(model):
    t, b, curve = DAYS.to("s").magnitude, si(model), ck.logs.DECAY_MODELS[model].curve
    for j, slope in enumerate(curve(t, *b)[1]):
        step = np.zeros_like(b)
        step[j] = 1e-6 * b[j]
        numeric = (curve(t, *(b + step))[0] - curve(t, *(b - step))[0]) / (2 * step[j])
        np.testing.assert_allclose(slope, numeric, rtol=1e-6, atol=1e-8 * np.abs(slope).max())


@given(left=st.floats(0.02, 0.98), model=st.sampled_from(sorted(TRUTH)))
def test_time_to_a_share_is_the_inverse_of_the_curve(left, model):
    b, kind = si(model), ck.logs.DECAY_MODELS[model]
    assert kind.curve(kind.time_to(left, *b[1:]), 1.0, *b[1:])[0] == pytest.approx(left, rel=1e-9)


@models
def test_times_of_many_draws_are_those_of_each(model):
    many = np.outer(si(model)[1:], [1, 1, 1])
    many[-1] *= [0.5, 1, 0] if model != "fast + slow" else [0.5, 1, 2]
    kind = ck.logs.DECAY_MODELS[model]
    np.testing.assert_allclose(kind.time_to(0.6, *many), [kind.time_to(0.6, *one) for one in many.T], rtol=1e-9)


def test_half_lives_of_textbook_kinetics():
    """Half-lives by general textbooks of kinetics: zero order 1/(2k), first order ln 2/k (from memory)."""
    assert ck.logs.DECAY_MODELS["constant leak"].time_to(0.5, 0.01) == pytest.approx(50)
    assert ck.logs.DECAY_MODELS["first order"].time_to(0.5, 0.01) == pytest.approx(69.31, abs=0.01)


# the fit


@models
def test_noiseless_data_give_the_truth(model):
    fit = ck.logs.fit_self_discharge(made(model, error=1e-6), model)
    np.testing.assert_allclose(fit.fit.values, si(model), rtol=1e-6)


@models
def test_values_and_errors_agree_with_a_general_library(model):
    """scipy.optimize.curve_fit with its own numeric derivatives."""
    log, kind = made(model), ck.logs.DECAY_MODELS[model]
    fit = ck.logs.fit_self_discharge(log, model).fit
    days, b = log.time / DAY, fit.values.copy()
    scale = np.ones(b.size)
    rates = [j for j, name in enumerate(kind.names) if name in ("rate", "fast")]
    scale[rates] = DAY**kind.clock_power
    values, covariance = optimize.curve_fit(lambda t, *p: kind.curve(t, *p)[0], days, log.capacity, b * scale * 1.05)
    np.testing.assert_allclose(fit.values * scale, values, rtol=1e-5)
    np.testing.assert_allclose(fit.standard_errors * scale, np.sqrt(np.diag(covariance)), rtol=1e-3)


def test_interval_of_a_straight_line_is_the_textbook_one():
    """For a straight line the profile interval is slope ± t·error: against scipy.stats.linregress and its t."""
    rng = np.random.default_rng(3)
    x = np.linspace(0, 10, 9)
    y = 5 - 0.3 * x + 0.2 * rng.standard_normal(9)
    fit = fit_curve(lambda x, a, b: (a + b * x, (np.ones_like(x), x)), x, y, [1, 1], names=("a", "b"))
    line = stats.linregress(x, y)
    half = stats.t.ppf(0.975, 7) * line.stderr
    np.testing.assert_allclose(fit.interval("b"), [line.slope - half, line.slope + half], rtol=1e-4)
    draws = fit.bootstrap(20_000)[:, 1]
    assert draws.mean() == pytest.approx(line.slope, rel=1e-9), "a line is linear in its data: mirrored noise cancels"
    ends = np.quantile(draws, [0.025, 0.975])
    np.testing.assert_allclose(ends, [line.slope - half, line.slope + half], atol=0.05 * half)


def test_as_few_measurements_as_can_settle_a_line():
    """Three, one of which tells the error (scipy.stats.linregress); two of known error: √2 · error / distance."""

    def fit(x, y, error=None):
        return fit_curve(lambda x, a, b: (a + b * x, (np.ones_like(x), x)), np.array(x), np.array(y), [1, 1], error)

    x, y = [0.0, 1.0, 4.0], [5.0, 4.5, 3.8]
    three, line = fit(x, y), stats.linregress(x, y)
    assert [three.values[1], three.standard_errors[1]] == pytest.approx([line.slope, line.stderr], rel=1e-6)
    two = fit(x[1:], y[1:], 0.2)
    assert [two.values[1], two.standard_errors[1]] == pytest.approx([-0.7 / 3, np.sqrt(2) * 0.2 / 3], rel=1e-6)
    for few, error in ((2, None), (1, 0.2)):
        with pytest.raises(ck.logs.FitError, match=f"{few} measurements cannot settle 2 parameters"):
            fit(x[:few], y[:few], error)


def test_two_parameters_that_do_the_same_are_not_settled():
    """Of a + b only the sum can be known, by whatever data, far from the curve or nearer than their error."""
    x = np.linspace(0, 10, 9)
    for far, error in ((1.0, None), (0.001, 1.0)):
        with pytest.raises(ck.logs.FitError, match="more parameters than the data can settle"):
            fit_curve(lambda x, a, b: ((a + b) * x, (x, x)), x, 3 * x + far * np.cos(x), [1, 1], error)


@models
def test_joint_refits_are_the_single_fits(model, monkeypatch):
    fit = ck.logs.fit_self_discharge(made(model), model).fit
    many = fit.fitted + fit.scale * np.random.default_rng(5).standard_normal((20, fit.y.size))
    single = [fit_curve(fit.curve, fit.x, y, fit.values).values for y in many]
    monkeypatch.setattr(fitting, "fit_curve", None)  # none of these has to go alone
    joint = refit(fit.curve, fit.x, many, fit.values, fit.weight)
    assert np.max(np.abs(joint - single) / fit.standard_errors) < 1e-5


@pytest.mark.parametrize("rate", [0.3, 0.6])
def test_a_refit_that_wanders_off_goes_alone(rate):
    """Begun at ten and twenty times the rate; from ten it once ended at a rate of 11,000 per day, where no slope is."""
    curve, x = ck.logs.DECAY_MODELS["first order"].curve, np.linspace(0, 50, 12)
    many = 1000 * np.exp(-0.03 * x) + 8 * np.random.default_rng(1).standard_normal((5, 12))
    single = [fit_curve(curve, x, y, [1000, rate]).values for y in many]
    np.testing.assert_allclose(refit(curve, x, many, [1000, rate], np.full(12, 0.5)), single, rtol=1e-6)
    assert np.array(single)[:, 1] == pytest.approx(0.03, rel=0.1)


@models
def test_intervals_cover_the_truth(model):
    """200 logs; the benchmark does 500 for each parameter. Binomial: 0.95 ± 0.046 at three standard deviations."""
    held = 0
    for seed in range(200):
        low, high = ck.logs.fit_self_discharge(made(model, seed=seed), model).interval("rate")
        held += low <= TRUTH[model]["rate"] <= high
    assert 0.904 <= held / 200 <= 0.996


def test_given_error_sets_the_width():
    one, two = (
        ck.logs.ShelfLog(
            "x", made("first order").time, made("first order").capacity, np.full(24, 298.15), np.full(24, 3.6 * s)
        )
        for s in (8, 16)
    )
    assert ck.logs.fit_self_discharge(two).standard_error().m == pytest.approx(
        2 * ck.logs.fit_self_discharge(one).standard_error().m, rel=1e-6
    )
    assert ck.logs.fit_self_discharge(two).value().m == pytest.approx(
        ck.logs.fit_self_discharge(one).value().m, rel=1e-9
    )
    known = ck.logs.fit_self_discharge(two)
    assert len(known.draws) == 1000  # which know a deviation to 2.2 %; three times that
    assert np.std(known.draws, axis=0) == pytest.approx(known.fit.standard_errors, rel=0.07)


@models
def test_the_unit_of_the_capacity_does_not_matter(model):
    """The same log as shares of its first capacity: the search begins as well among numbers below one."""
    log = made(model)
    shares = ck.logs.ShelfLog("x", log.time, log.capacity / 3600, log.temperature)
    scale = np.array([3600.0] + [1.0] * (len(ck.logs.DECAY_MODELS[model].names) - 1))
    np.testing.assert_allclose(
        ck.logs.fit_self_discharge(shares, model).fit.values * scale,
        ck.logs.fit_self_discharge(log, model).fit.values,
        rtol=1e-5,
    )


def test_misfit_tells_a_wrong_curve():
    log = made("first order")
    known = ck.logs.ShelfLog("x", log.time, log.capacity, log.temperature, np.full(24, 8 * 3.6))
    assert ck.logs.fit_self_discharge(known).p_value > 0.01
    assert ck.logs.fit_self_discharge(known, "square root of time").p_value < 1e-6
    assert "do not trust it" in str(ck.logs.fit_self_discharge(known, "square root of time"))
    assert np.isnan(ck.logs.fit_self_discharge(log).p_value)


# what cannot be fitted


def test_no_decay_says_so_with_what_would_go_unnoticed():
    flat = ck.logs.simulate_shelf_log(
        "first order", DAYS, Q_(8, "mAh"), capacity=Q_(1000, "mAh"), rate=Q_(0, "percent/day")
    )
    for model in ("constant leak", "first order", "square root of time"):
        with pytest.raises(ck.logs.FitError, match=r"no decay in the data.*up to 0\.\d+ %/√?d"):
            ck.logs.fit_self_discharge(flat, model)


def exact(*capacities):
    time = np.arange(len(capacities)) * 5 * DAY
    return ck.logs.ShelfLog("x", time, np.array(capacities, dtype=float), np.full(len(capacities), 298.15))


def test_flat_and_rising_data_say_what_they_are():
    for model in TRUTH:
        with pytest.raises(ck.logs.FitError, match="the same in every row"):
            ck.logs.fit_self_discharge(exact(*[1000] * 6), model)
    with pytest.raises(ck.logs.FitError, match="rises with time"):
        ck.logs.fit_self_discharge(exact(1000, 1012, 1019, 1031, 1040, 1049))
    with pytest.raises(ck.logs.FitError, match=r"No model can be fitted\. .*the same in every row"):
        ck.logs.compare_models(exact(*[1000] * 6))


def test_data_without_scatter_are_not_trusted():
    fit = ck.logs.fit_self_discharge(exact(1000, 950, 900, 850, 800), "constant leak")
    assert fit.value("rate").m == pytest.approx(1)
    assert "measured data never do" in str(fit)


def test_too_few_times_for_the_parameters():
    with pytest.raises(ck.logs.FitError, match=r"3 different times cannot settle 4 parameters"):
        ck.logs.fit_self_discharge(made("fast + slow", days=Q_([0, 0, 5, 5, 9, 9], "day")), "fast + slow")
    with pytest.raises(ck.logs.FitError, match=r"2 measurements cannot settle 2|do not settle its 2"):
        ck.logs.fit_self_discharge(made("first order", days=Q_([0, 9], "day")))


def test_one_decay_is_not_taken_for_two():
    with pytest.raises(ck.logs.FitError, match=r"'fast \+ slow' curve was found|do not hold a fast and a slow"):
        ck.logs.fit_self_discharge(made("first order", error=2), "fast + slow")


def test_two_stores_that_changed_places_are_refused():
    """The same curve with its names exchanged: the rate on the shelf would be the fast one."""
    kind, (capacity, share, fast, slow) = ck.logs.DECAY_MODELS["fast + slow"], si("fast + slow")
    with pytest.raises(ck.logs.FitError, match="do not hold a fast and a slow"):
        _fitted(made("fast + slow", error=2), kind, kind.curve, kind.names, (capacity, 1 - share, slow, fast))


def test_values_that_are_not_finite():
    log = made("first order")
    log.capacity[3] = np.nan
    with pytest.raises(InputError, match="1 value"):
        fit_curve(ck.logs.DECAY_MODELS["first order"].curve, log.time, log.capacity, [1, 1])


def test_start_where_the_curve_overflows():
    with pytest.raises(ck.logs.FitError, match="not finite at the start"):
        fit_curve(ck.logs.DECAY_MODELS["first order"].curve, np.arange(5.0), np.arange(5.0, 0, -1), [1, -1e4])


def test_unknown_model_lists_the_known():
    with pytest.raises(InputError, match="'first order'"):
        ck.logs.fit_self_discharge(made("first order"), "second order")


def test_a_rate_without_a_unit_is_told_one_to_type():
    with pytest.raises(InputError, match=r'Try rate=Q_\(2, "percent/day"\)'):
        ck.logs.simulate_shelf_log("first order", DAYS, Q_(8, "mAh"), capacity=Q_(1, "Ah"), rate=0.03)


# models compared


@models
def test_the_truth_is_among_the_plausible(model):
    comparison = ck.logs.compare_models(made(model, error=4))
    assert model in [fitted.model.name for fitted in comparison.plausible]


def test_aicc_by_hand():
    """n ln(RSS/n) + 2k + 2k(k+1)/(n−k−1), the error counted among the k unknowns (Hurvich & Tsai, from memory)."""
    for n, days in ((24, DAYS), (5, Q_([0, 10, 25, 40, 55], "day"))):  # five are the fewest that can be rated
        fit = ck.logs.fit_self_discharge(made("first order", days=days)).fit
        rss = np.sum(fit.residuals**2)
        assert fit.aicc == pytest.approx(n * np.log(rss / n) + 2 * 3 + 2 * 3 * 4 / (n - 3 - 1))


def test_verdict_in_words():
    short = made("first order", days=Q_(np.linspace(0, 6, 12), "day"))
    assert "cannot tell" in str(ck.logs.compare_models(short))
    assert "clearly prefer 'first order'" in str(ck.logs.compare_models(made("first order", error=2)))


@pytest.mark.parametrize(
    ("gap", "says"),
    [
        (1.99, "cannot tell 'first order' and 'constant leak' apart"),
        (2.01, "lean towards 'first order'; the next one has 3 times less"),
        (6.9, "lean towards 'first order'; the next one has 32 times less"),
        (7.1, "clearly prefer 'first order'; the next one has 35 times less"),
        (14.1, "the next one has over 1,000 times less"),
    ],
)
def test_verdict_by_how_far_the_next_one_is_behind(gap, says):
    """Support is exp(−Δ/2), and less than 2 behind is no difference (Burnham & Anderson, from memory).

    n ln(RSS/n) grows by Δ where RSS is exp(Δ/n) times as much.
    """
    best = ck.logs.fit_self_discharge(made("first order"))
    worse = replace(best.fit, rss=best.fit.rss * np.exp(gap / best.fit.y.size))
    behind = replace(best, model=ck.logs.DECAY_MODELS["constant leak"], fit=worse)
    comparison = ModelComparison((best, behind), {})
    assert comparison.delta_aicc["constant leak"] == pytest.approx(gap)
    assert len(comparison.plausible) == 1 + (gap < 2)
    assert says in str(comparison)


def test_interval_of_draws_is_that_of_their_distribution():
    """95 % of a normal distribution lie within 1.960 standard deviations: any table of it."""
    draws = stats.norm.ppf((np.arange(10_000) + 0.5) / 10_000)
    found = Estimate.of_draws("", np.array([0.0, *draws]))
    assert [end.m for end in found] == pytest.approx([0, -1.960, 1.960], abs=1e-3)


def test_four_points_are_compared_and_said_to_be_too_few_to_rate():
    """AICc divides by n − k − 1, which is zero for four measurements and three unknowns."""
    log = made("first order", days=Q_([0, 10, 25, 50], "day"))
    comparison = ck.logs.compare_models(log)
    assert {fitted.model.name for fitted in comparison.fits} >= {"first order", "constant leak"}
    assert "4 measurements are too few to rate a model." in str(comparison)
    assert set(comparison.delta_aicc.values()) == {0.0}


def test_an_outlier_is_named_with_its_row_and_its_weight(written):
    rows = [(day, 1000 * np.exp(-0.03 * day) + (-1) ** k * 4) for k, day in enumerate(range(0, 30, 2))]
    rows[7] = (14, 350.0)  # 1000 exp(-0.42) is 657: a slip of the pen, in row 9 of the file
    lines = "\n".join(f"{day},{capacity:.0f}" for day, capacity in rows)
    fitted = ck.logs.fit_self_discharge(ck.logs.read_shelf_log(written(f"time_day,capacity_mAh\n{lines}\n")))
    assert re.search(
        r"Row 9 lies \d\.\d errors off the curve; without it the rate is (2\.9\d|3\.0\d?|3) %/d", str(fitted)
    )


@pytest.mark.parametrize(("off", "far"), [(18.5, False), (19.0, True)])
def test_from_where_on_a_row_is_far(off, far):
    """r²/RSS of a normal residual is beta distributed, ½ and (dof − 1)/2 (from memory): 1 % of 15 rows (Bonferroni)."""
    days = np.arange(15.0) * 2  # the rows lie 4 mAh off to either side, one of them more
    capacity = 3.6 * (1000 * np.exp(-0.03 * days) + 4 * (-1.0) ** np.arange(15) + off * (days == 12))
    fitted = ck.logs.fit_self_discharge(ck.logs.ShelfLog("x", days * DAY, capacity, np.full(15, 298.15)))
    share = np.max(fitted.fit.residuals**2) / fitted.fit.rss
    assert (15 * stats.beta.sf(share, 0.5, (13 - 1) / 2) < 0.01) == far
    assert ("off the curve" in str(fitted)) == far


def test_outliers_are_rarely_seen_where_there_are_none():
    """One in a hundred logs is what the rule allows; of 200, more than 8 would be one chance in a thousand."""
    said = [str(ck.logs.fit_self_discharge(made("first order", seed=n))) for n in range(200)]
    assert sum("off the curve" in words for words in said) <= 8


# cells, temperatures, shelf time


def test_cells_that_differ_and_cells_that_do_not():
    slow = {"capacity": Q_(500, "mAh"), "rate": Q_(1, "percent/day")}
    one, same = ck.logs.fit_self_discharge(made("first order")), ck.logs.fit_self_discharge(made("first order", seed=9))
    other = ck.logs.fit_self_discharge(ck.logs.simulate_shelf_log("first order", DAYS, Q_(4, "mAh"), seed=4, **slow))
    ratio = ck.logs.compare_cells(one, other)
    assert ratio.low.m < 3 < ratio.high.m
    assert ratio.low.m > 1
    alike = ck.logs.compare_cells(one, same)
    assert alike.low.m < 1 < alike.high.m
    stores = [ck.logs.fit_self_discharge(made("fast + slow", error=2, seed=seed), "fast + slow") for seed in (0, 1)]
    alike = ck.logs.compare_cells(*stores)  # by the slow rate, which is the one on the shelf
    assert alike.value.m == pytest.approx((stores[0].value("rate") / stores[1].value("rate")).m)
    assert 0.7 < alike.low.m < 1 < alike.high.m < 1.4
    with pytest.raises(InputError, match=r"Fit one model"):
        ck.logs.compare_cells(one, ck.logs.fit_self_discharge(made("first order"), "constant leak"))


def warm_log(model, energy=50e3, error=4.0, seed=2, kelvin=(278.15, 288.15, 298.15, 308.15)):
    """Each temperature simulated on its own, with the rates that Arrhenius' law gives for it."""
    parts = []
    for n, here in enumerate(kelvin):
        speed = np.exp(-energy / constants.R * (1 / here - 1 / 293.15))
        warmer = {k: v * speed if k in ("rate", "fast") else v for k, v in TRUTH[model].items()}
        parts.append(ck.logs.simulate_shelf_log(model, DAYS / 2, Q_(error, "mAh"), seed=seed + n, **warmer))
    kelvin = np.repeat(kelvin, DAYS.size)
    return ck.logs.ShelfLog(
        "warm", *(np.concatenate([getattr(p, f) for p in parts]) for f in ("time", "capacity")), kelvin
    )


@models
def test_arrhenius_finds_energy_and_rate(model):
    fitted = ck.logs.fit_arrhenius(warm_log(model), model)
    energy, rate = fitted.activation_energy(), fitted.rate_at(Q_(20, "degC"))
    assert energy.low.m < 50 < energy.high.m
    assert energy.high.m - energy.low.m < 5
    assert rate.low <= TRUTH[model]["rate"] <= rate.high
    at_the_middle = fitted.rate_at(Q_(fitted.reference_temperature, "K")).value.to_base_units().m
    assert at_the_middle == pytest.approx(fitted.fit.values[-2], rel=1e-9)


def test_arrhenius_of_noiseless_data_and_the_factor():
    fitted = ck.logs.fit_arrhenius(warm_log("first order", error=1e-5))
    assert fitted.activation_energy().value.m == pytest.approx(50, rel=1e-5)
    span = 1 / (fitted.reference_temperature - 5) - 1 / (fitted.reference_temperature + 5)
    assert fitted.q10().value.m == pytest.approx(np.exp(50e3 / constants.R * span), rel=1e-5)


def test_doubling_per_ten_degrees_is_recognised():
    """Common practice, no source: the energy that doubles a rate about the middle of the log."""
    middle = 2 / (1 / 278.15 + 1 / 308.15)
    energy = np.log(2) * constants.R / (1 / (middle - 5) - 1 / (middle + 5))
    assert "agrees with doubling" in str(ck.logs.fit_arrhenius(warm_log("first order", energy=energy)))
    assert "does not agree with doubling" in str(ck.logs.fit_arrhenius(warm_log("first order", energy=25e3)))


def test_arrhenius_refuses_one_temperature_and_knows_its_range():
    with pytest.raises(InputError, match="two temperatures or more"):
        ck.logs.fit_arrhenius(made("first order"))
    fitted = ck.logs.fit_arrhenius(warm_log("first order"))
    assert fitted.extrapolates(Q_(50, "degC"))
    assert not fitted.extrapolates(Q_(30, "degC"))


def test_two_temperatures_will_do():
    """15 and 25 °C without noise: energy, rate and factor come back; the middle is the mean of 1/T of both."""
    fitted = ck.logs.fit_arrhenius(warm_log("first order", error=1e-5, kelvin=(288.15, 298.15)))
    assert fitted.activation_energy().value.m == pytest.approx(50, rel=1e-5)
    assert fitted.rate_at(Q_(20, "degC")).value.to("percent/day").m == pytest.approx(3, rel=1e-6)
    middle = 1 / ((1 / 288.15 + 1 / 298.15) / 2)
    assert fitted.reference_temperature == pytest.approx(middle)
    assert fitted.q10().value.m == pytest.approx(
        np.exp(50e3 / constants.R * (1 / (middle - 5) - 1 / (middle + 5))), rel=1e-5
    )
    for celsius in (15, 20, 25):
        assert not fitted.extrapolates(Q_(celsius, "degC"))
    for celsius in (14.9, 25.1):
        assert fitted.extrapolates(Q_(celsius, "degC"))


@models
def test_arrhenius_refuses_what_a_single_fit_refuses(model):
    """No decay, a rise, or noise alone: once these gave narrow or absurd energies, or a crash."""
    log = warm_log("first order")
    size = log.capacity.size

    def refused(capacity, says):
        other = ck.logs.ShelfLog("x", log.time, capacity, log.temperature)
        with pytest.raises(ck.logs.FitError, match=says):
            ck.logs.fit_arrhenius(other, model)

    refused(np.full(size, 3600.0), "the same in every row")
    rng = np.random.default_rng(4)
    noise = rng.standard_normal(size)
    refused(3600 + 30 * noise, "no decay in the data|No best|do not hold a fast")
    refused(3600 + 40 * log.time / DAY + noise, "rises with time|No best|do not hold a fast")


def test_a_temperature_with_day_zero_only_is_named():
    log = warm_log("first order")
    keep = (log.temperature < 300) | (log.time == 0)
    part = ck.logs.ShelfLog("x", log.time[keep], log.capacity[keep], log.temperature[keep])
    with pytest.raises(ck.logs.FitError, match=r"At 35 °C there are rows of day 0 only\. Measure there later"):
        ck.logs.fit_arrhenius(part)


@given(
    model=st.sampled_from(sorted(TRUTH)),
    left=st.floats(0.02, 0.98),
    share=st.floats(0.01, 0.99),
    rates=st.tuples(st.floats(-1e-6, 1e-4), st.floats(-1e-6, 1e-4)),
    days=st.floats(0, 3650),
)
def test_shares_stay_between_zero_and_one_and_times_are_not_negative(model, left, share, rates, days):
    kind = ck.logs.DECAY_MODELS[model]
    given = (share, *rates) if len(kind.names) == 4 else rates[:1]
    assert 0 <= kind.left(days * DAY, *given) <= 1
    with np.errstate(all="ignore"):
        time = kind.time_to(left, *given)
    assert time >= 0
    if np.isfinite(time):
        falling = given if len(kind.names) == 2 else (share, *np.maximum(rates, 0))
        assert kind.left(time, *falling) == pytest.approx(left, rel=1e-6)


def test_a_slow_rate_that_noise_made_negative():
    """A store of 70 % that stays: 80 % is left when two thirds of the other are gone, 60 % never."""
    time_to = ck.logs.DECAY_MODELS["fast + slow"].time_to
    with np.errstate(all="ignore"):
        assert time_to(0.8, 0.3, 0.1, -1e-6) == pytest.approx(np.log(3) / 0.1)
        assert time_to(0.6, 0.3, 0.1, -1e-6) == np.inf


def test_one_time_is_as_good_as_many():
    fit = ck.logs.fit_self_discharge(made("first order"))
    one, many = fit.retained(Q_(10, "day")), fit.retained(Q_([10, 20], "day"))
    assert one.value == many.value[0]
    assert re.fullmatch(r"73\.9\d % \(95 %: 73\.\d+ to 74\.\d+\)", str(one))
    assert len(str(many).splitlines()) == 2
    assert made("first order", days=Q_(3, "day")).time.tolist() == [3 * DAY]
    width = ck.logs.relative_half_width(Q_(3, "day"), Q_(1, "percent"), rate=Q_(3, "percent/day"))
    assert width.m == np.inf


def test_a_table_of_times_is_as_good_as_a_list():
    """Once raw errors of numpy."""
    fit, days = ck.logs.fit_self_discharge(made("first order")), Q_([[1, 2, 3], [4, 5, 6]], "day")
    assert fit.retained(days).low.shape == (2, 3)
    assert made("first order", days=days).time.size == 6


def test_a_leak_of_five_percent_leaves_nothing_after_a_month():
    days = Q_([0, 2, 4, 8, 10, 12], "day")
    truth = {"capacity": Q_(1000, "mAh"), "rate": Q_(5, "percent/day")}
    fit = ck.logs.fit_self_discharge(
        ck.logs.simulate_shelf_log("constant leak", days, Q_(4, "mAh"), **truth), "constant leak"
    )
    assert [end.m for end in fit.retained(Q_(30, "day"))] == [0, 0, 0]


def test_shelf_time_and_its_warning():
    fit = ck.logs.fit_self_discharge(made("first order"))
    near, far = fit.shelf_time(0.5), fit.shelf_time(0.1)
    assert near.low.m < np.log(2) / 0.03 < near.high.m
    assert not near.extrapolates
    assert "BEYOND" not in str(near)
    assert far.extrapolates
    assert re.search(r"BEYOND THE DATA: up to 1\.\d × the 56 d measured", str(far))
    soon = ck.logs.fit_self_discharge(made("first order", days=Q_(np.linspace(0, 48, 24), "hour"))).shelf_time(0.97)
    assert soon.low < Q_(24 * np.log(1 / 0.97) / 0.03, "hour") < soon.high
    assert [str(shelf.time.units) for shelf in (soon, near)] == ["hour", "day"]
    with pytest.raises(InputError, match="left is"):
        fit.shelf_time(1.2)
    with pytest.raises(InputError, match="left has 2 values; it takes one at a time"):
        fit.shelf_time([0.5, 0.6])


def test_band_narrows_where_the_data_are():
    fit = ck.logs.fit_self_discharge(made("first order"))
    band = fit.retained(Q_([10, 150], "day"))
    assert band.value.m == pytest.approx(100 * np.exp(-fit.value().to("1/day").m * np.array([10, 150])))
    assert (band.low < band.value).all()
    assert (band.value < band.high).all()
    relative = (band.high - band.low) / band.value
    assert relative[1] > 2 * relative[0]


# the trap, the plan, the gas


def test_planned_width_is_what_simulation_gives():
    log, width = made("first order"), ck.logs.relative_half_width(DAYS, 0.008, rate=Q_(3, "percent/day"))
    rates = [ck.logs.fit_self_discharge(made("first order", seed=seed)).value().m for seed in range(200)]
    seen = stats.t.ppf(0.975, log.time.size - 2) * np.std(rates) / 3
    assert width.to("").m == pytest.approx(seen, rel=0.15)  # 200 draws know a deviation to 5 %; three times that


def test_a_long_log_is_refitted_in_parts(monkeypatch):
    """1,000 refits of 10,000 rows took 1.2 GiB at once; the draws are the same in parts of any size."""
    log = made("first order", days=Q_(np.linspace(0, 60, 10_000), "day"))
    fitted = ck.logs.fit_self_discharge(log)
    tracemalloc.start()
    left = fitted.retained(Q_(80, "day"))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 300 * 2**20
    assert left.low < left.value < left.high
    few = replace(log, time=log.time[::500], capacity=log.capacity[::500], temperature=log.temperature[::500])
    whole = ck.logs.fit_self_discharge(few).draws
    monkeypatch.setattr(fitting, "AT_ONCE", 3 * 20)
    np.testing.assert_allclose(ck.logs.fit_self_discharge(few).draws, whole, rtol=1e-7)


def test_plan_reaches_its_goal_and_no_sooner():
    guess = {"rate": Q_(3, "percent/day")}
    counts = ck.logs.plan_measurements(Q_([5, 30], "day"), Q_(1, "percent"), **guess)
    for days, (words, count) in zip((5, 30), counts.items(), strict=True):
        width = [
            ck.logs.relative_half_width(Q_(np.linspace(0, days, n), "day"), Q_(1, "percent"), **guess).to("").m
            for n in (count - 1, count)
        ]
        assert words == f"{days} d"
        assert width[0] > 0.1 >= width[1]
    assert ck.logs.plan_measurements(Q_([[5], [30]], "day"), Q_(1, "percent"), **guess) == counts
    assert ck.logs.plan_measurements(Q_([0.1], "day"), Q_(1, "percent"), **guess) == {"0.1 d": None}
    # the least that leave one over for the error, and the most: a width is in proportion to the error of one
    hundred = ck.logs.relative_half_width(Q_(np.linspace(0, 5, 100), "day"), Q_(1, "percent"), **guess).to("").m
    for error, count in ((1e-3, 3), (0.1 / hundred * 0.9999, 100), (0.1 / hundred * 1.0001, None)):
        assert ck.logs.plan_measurements(Q_([5], "day"), Q_(error, "percent"), **guess) == {"5 d": count}
    with pytest.raises(InputError, match="takes capacity, share, fast, rate"):
        ck.logs.simulate_shelf_log("fast + slow", Q_([5], "day"), Q_(1, "mAh"), **guess)


# the invented logs


def generator():
    return runpy.run_path(str(ck.tables.data_path("bench/make_self_discharge.py")))


def test_the_generators_truth_is_recovered():
    capacity, rate, energy = generator()["TRUTH"]["copper"]
    log, model = ck.logs.read_shelf_log("self_discharge_copper.csv"), "constant leak"
    one, fitted = ck.logs.fit_self_discharge(log.at(Q_(25, "degC")), model), ck.logs.fit_arrhenius(log, model)
    low, high = one.interval("rate")
    assert low <= Q_(rate, "1/day") <= high
    low, high = one.interval("capacity")
    assert low <= Q_(capacity, "mAh") <= high
    band = fitted.activation_energy()
    assert band.low.m < energy / 1000 < band.high.m


def test_corrosion_is_near_first_order_and_yet_not():
    """What lesson 06 says of zinc: first order wins, its rate is a tenth off at most, and its interval misses."""
    capacity, rate, energy = generator()["TRUTH"]["zinc"]
    log = ck.logs.read_shelf_log("self_discharge_zinc.csv")
    best = ck.logs.compare_models(log.at(Q_(25, "degC"))).best
    assert best.model.name == "first order"
    assert best.p_value > 0.05
    low, high = best.interval("rate")
    assert 0.9 * Q_(rate, "1/hour") < best.value("rate") < high < Q_(rate, "1/hour")
    low, high = best.interval("capacity")
    assert low <= Q_(capacity, "mAh") <= high
    band = ck.logs.fit_arrhenius(log).activation_energy()
    assert band.low.m < energy / 1000 < band.high.m


YARD = ck.designs.read_design("osier_yard_design.csv")
FACE = YARD.current_path().area


def at_rest(depth, case):
    """Hydrogen current [A] of the example's zinc as a flat face, by the published range."""
    e = YARD.cell("zinc").at_depth(depth)
    return FACE * ck.chemistry.hydrogen_loss.si("zinc", e.acid / e.water, e.salt / e.water, case=case)


def test_the_generators_zinc_follows_published_rates():
    """dq/dt = -r exp[-k (1 - q)] by small steps; rate and k as the hydrogen of a flat face between both ends of q."""
    made = generator()
    share, k, (capacity, rate, _) = made["share"], made["FALL"]["zinc"], made["TRUTH"]["zinc"]
    q, step = 1.0, 0.001
    for _ in range(20_000):
        q -= step * rate * np.exp(-k * (1 - q))
    assert share(k, 20 * rate) == pytest.approx(q, abs=1e-4)
    assert round(FACE * 1e4) == 149
    full = 1 - capacity / YARD.cell("zinc").capacity.to("mAh").m
    assert at_rest(full, "nominal") < capacity * rate / 1000 < at_rest(full, "high")
    assert np.log(at_rest(full, "nominal") / at_rest(1, "nominal")) == pytest.approx(
        k, rel=0.2
    )  # a straight line of it


def test_the_generators_copper_follows_published_rates():
    """Both ends of the row: 1.7 g/m² a day is of 25 °C in 1 mol/L acid, 4.4 taken to be of 55 °C."""
    low, _, high, *_ = ck.chemistry.side_reaction("copper dissolved by oxygen")
    capacity, rate, energy = generator()["TRUTH"]["copper"]
    oxygen = FACE * ck.chemistry.dissolution_current_density.si(low, "copper")
    assert capacity * rate / 24000 == pytest.approx(oxygen, rel=0.01)
    assert np.exp(energy / 8.314 * (1 / 298.15 - 1 / 328.15)) == pytest.approx(high / low, rel=0.01)


@pytest.mark.parametrize("cell", ["copper", "zinc"])
def test_the_generator_writes_the_file(cell):
    text = ck.tables.data_path(f"bench/self_discharge_{cell}.csv").read_text(encoding="utf-8")
    assert text.splitlines()[1:] == list(generator()["rows"](cell))


def test_the_template_reads():
    log = ck.logs.read_shelf_log("self_discharge_template.csv")
    assert log.time.size >= 3


# the reader

GOOD = "time_day,capacity_mAh\n0,1000\n7,900\n14,800\n"


@pytest.fixture
def written(tmp_path):
    def write(text, encoding="utf-8"):
        path = tmp_path / "mine.csv"
        path.write_bytes(text.encode(encoding))
        return path

    return write


@pytest.mark.parametrize(
    "text",
    [
        GOOD,
        "\ufeff" + GOOD,
        GOOD.replace(",", ";"),
        GOOD.replace(",", "\t"),
        GOOD.replace("\n", "\r\n"),
        GOOD + "\n , \n",
        "time_h,note,capacity_A*h\n0,,1\n168,x,0.9\n336,,0.8\n",
        "capacity_mAh,time_day\n1000,0\n800,14\n900,7\n",
        GOOD.replace(",", ";").replace("900", "900,0"),
        "Datum;Kapazität / mAh\n17.05.2026;1000\n24.05.2026;900\n31.05.2026;800\n",
        "my shelf\n\nTime [day],Capacity (mAh)\n0,1000\n7,900\n14,800\n",
        "Time,Capacity\nday,mAh\n0,1000\n7,900\n14,800\n",
        "days,mAh\n0,1000\n7,900\n14,800\n",
    ],
    ids="plain BOM semicolons tabs CRLF blank other order decimal-commas dates notes-above units-below bare".split(),
)
def test_forms_that_mean_the_same(written, text):
    log = ck.logs.read_shelf_log(written(text))
    np.testing.assert_allclose(sorted(log.time), [0, 7 * DAY, 14 * DAY])
    np.testing.assert_allclose(sorted(log.capacity), [2880, 3240, 3600])
    assert log.temperatures.m == pytest.approx([25])
    assert "at 25 °C (assumed)" in str(log)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "row 1: no column of time with a unit"),
        ("time_day,capacity_mAh\n", "no measurements"),
        ("time_day,charge_mAh\n0,1000\n", "no column of capacity with a unit in 'time_day,charge_mAh'"),
        ("when,capacity_mAh\n0,1000\n", r"no column of time"),
        (GOOD + "21,lots\n", r"row 5, capacity_mAh: 'lots' is not a number"),
        (GOOD + "21,\n", r"row 5: capacity is blank, which cannot be; allowed is more than 0 mAh"),
        (GOOD + '21,"750,5"\n', r"row 5, capacity_mAh: '750,5' is not a number. Write 1.5"),
        (GOOD + "21,750,5\n", r"row 5: 3 values, 2 columns. A decimal comma"),
        (GOOD + "-1,750\n", r"row 5: time is -1 d, which cannot be; allowed is from 0"),
        (GOOD + "21,0\n", r"row 5: capacity is 0 mAh, which cannot be; allowed is more than 0"),
        (GOOD + "21,nan\n", r"row 5: capacity is blank, which cannot be"),
        (GOOD + "21,inf\n", r"row 5, capacity_mAh: 'inf' is not a number"),
        (GOOD.replace("day", "banana"), r"no column of time with a unit in 'time_banana"),
        (GOOD.replace("day", "kg"), r"no column of time with a unit in 'time_kg"),
        ("time_day,capacity_mAh,temperature_degC\n0,1000,250\n", r"row 2: temperature is 250 °C, which cannot be"),
        ("cell,time_day,capacity_mAh\na,0,1000\nb,1,900\n", "several cells: a, b"),
        ("time_day,rest_voltage_V\n0,1.2\n", "no column of capacity with a unit"),
        ("time_day,capacity\n0,1\n7,0.9\n", "the column 'capacity' has no unit of capacity"),
    ],
)
def test_refused_by_row(written, text, says):
    with pytest.raises(InputError, match=says):
        ck.logs.read_shelf_log(written(text))


def test_unknown_name_lists_what_there_is():
    with pytest.raises(InputError, match=r"self_discharge_zinc\.csv"):
        ck.logs.read_shelf_log("self_discharge_tin.csv")


def test_repeats_tell_the_error(written):
    pairs = [(day, 1000 - 20 * day + sign * 6) for day in range(6) for sign in (1, -1)]
    log = ck.logs.read_shelf_log(written("time_day,capacity_mAh\n" + "".join(f"{t},{q}\n" for t, q in pairs)))
    assert log.error_dof == 6
    np.testing.assert_allclose(log.error, 3.6 * 6 * np.sqrt(2))
    assert "from 6 repeats" in str(log)
    few = ck.logs.read_shelf_log(written("time_day,capacity_mAh\n0,1000\n0,990\n5,900\n"))
    assert few.error is None
    assert "unknown" in str(few)


def test_repeats_that_are_copies_tell_no_error(written):
    """Once "1/error holds 10 value(s) that are not finite numbers"."""
    rows = "".join(f"{day},{1000 - 20 * day + day % 2}\n" * 2 for day in range(0, 12, 2))
    log = ck.logs.read_shelf_log(written("time_day,capacity_mAh\n" + rows))
    assert log.error is None
    ck.logs.fit_self_discharge(log)


@pytest.mark.parametrize(("unit", "ends"), [("degF", (-4, 140)), ("degC", (-20, 60)), ("K", (253.15, 333.15))])
def test_closed_ends_are_allowed_in_any_unit(written, unit, ends):
    rows = "".join(f"{t},{day},{1000 - day}\n" for t in ends for day in (0, 5))
    log = ck.logs.read_shelf_log(written(f"temperature_{unit},time_day,capacity_mAh\n{rows}"))
    assert log.temperatures.m == pytest.approx([-20, 60])
    assert "assumed" not in str(log)


def test_percent(written):
    log = ck.logs.read_shelf_log(written("time_day,capacity_percent\n0,100\n9,80\n"))
    np.testing.assert_allclose(log.capacity, [1, 0.8])


def test_an_error_may_be_given_with_each_row(written):
    log = ck.logs.read_shelf_log(written("time_day,capacity_percent,capacity_error_percent\n0,100,1\n9,80,2\n"))
    np.testing.assert_allclose(log.error, [0.01, 0.02])
    assert "error of one measurement: 1.5 %, given" in str(log)
    with pytest.raises(InputError, match="its error in mAh. Use one unit"):
        ck.logs.read_shelf_log(written("time_day,capacity_percent,capacity_error_mAh\n0,100,1\n9,80,2\n"))


def test_one_temperature_out_of_several():
    log = ck.logs.read_shelf_log("self_discharge_zinc.csv")
    assert set(log.at(Q_(15, "degC")).temperature) == {288.15}
    with pytest.raises(InputError, match="5, 15, 25, 35 °C"):
        log.at(Q_(20, "degC"))
    with pytest.raises(InputError, match=r"log.at\(...\)"):
        ck.logs.fit_self_discharge(log)


def test_refits_are_drawn_once_for_a_fit(monkeypatch):
    """Rates along a curve, a shelf time and a band use the draws that are there."""
    asked, bootstrap = [], fitting.Fit.bootstrap
    monkeypatch.setattr(fitting.Fit, "bootstrap", lambda fit: asked.append(fit) or bootstrap(fit))
    log = ck.logs.read_shelf_log("self_discharge_copper.csv")
    by_heat, other = ck.logs.fit_arrhenius(log), ck.logs.fit_arrhenius(log, "constant leak")
    ck.show.rates_by_temperature(by_heat, other)
    ck.show.shelf_panel(by_heat)
    by_heat.rate_at(Q_(20, "degC"))
    assert [fit is by_heat.fit for fit in asked] == [True, False]
    fit = ck.logs.fit_self_discharge(log.at(Q_(25, "degC")))
    ck.show.self_discharge_curves(fit, left=0.8)
    ck.logs.compare_cells(fit, fit)
    assert len(asked) == 3


def test_progress_is_shown_when_it_takes_long(capsys, monkeypatch):
    clock = iter(range(0, 1000, 2))
    monkeypatch.setattr("cellkit.logs.fitting.time", SimpleNamespace(monotonic=lambda: next(clock)))
    fit = ck.logs.fit_self_discharge(made("first order")).fit
    fit.bootstrap(200)
    assert "of 200 refits done" in capsys.readouterr().err


# pictures


def said(picture):
    return [text.get_text() for ax in picture.figure.axes for text in ax.texts]


def test_extrapolation_is_marked_in_the_picture_and_only_there():
    fitted = ck.logs.fit_self_discharge(made("first order"))
    beyond, within = ck.show.self_discharge_curves(fitted, left=0.1), ck.show.self_discharge_curves(fitted, left=0.5)
    assert "BEYOND THE DATA: a guess" in said(beyond)
    assert "after 56 days is beyond the data" in beyond.sentence
    assert not [text for text in said(within) + said(ck.show.self_discharge_curves(fitted)) if "BEYOND" in text]
    assert "beyond" not in within.sentence


def test_pictures_say_their_numbers():
    zinc, copper = (ck.logs.read_shelf_log(f"self_discharge_{cell}.csv") for cell in ("zinc", "copper"))
    at_room = [log.at(Q_(25, "degC")) for log in (zinc, copper)]
    assert ", at 25 °C: from 938 down to 411 mAh in 1.17 days" in ck.show.shelf_measurements(*at_room).sentence
    assert "constant leak" in ck.show.residuals(*ck.logs.compare_models(at_room[0]).fits).sentence
    assert (
        "copper, invented: 0.5"
        in ck.show.rates_by_temperature(ck.logs.fit_arrhenius(zinc), ck.logs.fit_arrhenius(copper)).sentence
    )
    picture = ck.show.histograms({"one": np.array([2.0, 4.0]), "two": np.array([3.0, 3.0])}, 3, "Rate / % per day")
    assert "one: on average 3.00, 95 % of them between 2.05 and 3.95" in picture.sentence
