"""Coverage of the 95 % intervals over simulated logs, and the speed of a fit with 1,000 bootstrap refits.

    python tests/benchmarks/bench_self_discharge.py [--quick | LOGS]

Coverage: for each model, LOGS (500; --quick: 60) logs of 24 measurements with known truth; how often the
profile-likelihood interval of each parameter and the bootstrap interval of the shelf time hold it. Speed: the same
1,000 data sets through cellkit's joint refit and, one by one, through scipy's curve_fit with the same derivatives and
start.
"""

import sys
import time

import numpy as np
from scipy.optimize import curve_fit

import cellkit as ck
from cellkit import Q_
from cellkit.logs.fitting import fit_curve, refit

DAYS = {"fast + slow": np.geomspace(0.5, 80, 11)}
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
ERROR, LEFT = Q_(8, "mAh"), 0.7


def simulated(model, seed):
    days = np.repeat(np.concatenate([[0], DAYS.get(model, np.linspace(4, 44, 11))]), 2)
    return ck.logs.simulate_shelf_log(model, Q_(days, "day"), ERROR, seed=seed, **TRUTH[model])


def coverage(model, logs):
    truth = TRUTH[model]
    kind = ck.logs.DECAY_MODELS[model]
    si = [truth[name].to_base_units().magnitude for name in kind.names[1:]]
    reached = float(kind.time_to(LEFT, *si)) / 86400
    inside = dict.fromkeys([*truth, f"time to {LEFT:.0%}"], 0)
    refused = 0
    first = 1000 * list(TRUTH).index(model)  # no two models share their noise
    for seed in range(first, first + logs):
        try:
            fitted = ck.logs.fit_self_discharge(simulated(model, seed), model)
            shelf = fitted.shelf_time(LEFT)
            held = {name: low <= truth[name] <= high for name in truth for low, high in [fitted.interval(name)]}
        except ck.logs.FitError:
            refused += 1
            continue
        held[f"time to {LEFT:.0%}"] = shelf.low.m <= reached <= shelf.high.m
        for name, holds in held.items():
            inside[name] += holds
    shown = ", ".join(f"{name} {count / (logs - refused):.1%}" for name, count in inside.items())
    chance = 100 * np.sqrt(0.95 * 0.05 / logs)
    print(
        f"{model:20} {logs} logs, {refused} refused; hold the truth (± {chance:.1f} % by chance): {shown}", flush=True
    )


def speed(model, draws=1000):
    log, kind = simulated(model, 1), ck.logs.DECAY_MODELS[model]
    began = time.perf_counter()
    fit = fit_curve(kind.curve, log.time, log.capacity, kind.start(log.time, log.capacity))
    first = time.perf_counter() - began
    many = fit.fitted + fit.scale * np.random.default_rng(0).standard_normal((draws, log.time.size))

    def value(t, *p):
        return kind.curve(t, *p)[0]

    def slopes(t, *p):
        return np.stack(np.broadcast_arrays(*kind.curve(t, *p)[1]), -1)

    began = time.perf_counter()
    ours = refit(kind.curve, log.time, many, fit.values, fit.weight)
    ours_time = first + time.perf_counter() - began
    began = time.perf_counter()
    theirs = [curve_fit(value, log.time, y, fit.values, jac=slopes, xtol=1e-12, ftol=1e-12)[0] for y in many]
    theirs_time = first + time.perf_counter() - began
    apart = np.max(np.abs(ours - theirs) / fit.standard_errors)
    print(
        f"{model:20} fit + {draws} refits: {theirs_time / ours_time:.1f} × as fast as through curve_fit "
        f"({ours_time * 1e3:.0f} ms, {theirs_time * 1e3:.0f} ms); answers apart by at most {apart:.1e} standard errors",
        flush=True,
    )


if __name__ == "__main__":
    for name in TRUTH:
        speed(name)
    asked = {"--quick": 60, "500": 500} | {word: int(word) for word in sys.argv[1:] if word.isdigit()}
    for name in TRUTH:
        coverage(name, asked[sys.argv[1] if len(sys.argv) > 1 else "500"])
