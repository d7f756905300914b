"""Pictures of logs: a bench log with what was integrated shaded, shelf logs, fits and what is left of them."""

import numpy as np

from cellkit.logs.bench_log import BenchLog
from cellkit.logs.self_discharge import SHARE_LEFT, ArrheniusFit, SelfDischargeFit, fit_self_discharge
from cellkit.logs.shelf_log import DAY, EXAMPLE, ShelfLog
from cellkit.show.figures import COLOURS, INK, LINES, PALE, Picture, beyond, canvas, look, looks
from cellkit.units import Q_, Constraint, InputError, expect, one_of, to_si

POINTS = 2000  # rows drawn at most: more than the picture has pixels across
MAH = Q_(1, "C").to("mAh").magnitude
FITTED = f"cellkit.logs.fit_self_discharge({EXAMPLE})"
SHADES = {"charge": {"alpha": 0.2, "hatch": "//"}, "discharge": {"alpha": 0.5}}


def volts_and_amperes(log, cell="lead"):
    """Volts above, amperes below, over time. Shaded below: the charge of each phase, with its ampere-hours.

    ``log``: see :func:`cellkit.logs.read_bench_log`. ``cell``: cell type, for the colour. Its sentence names each phase
    with its ampere-hours, watt-hours and last volts.
    """
    expect("log", log, BenchLog, 'cellkit.logs.read_bench_log("log_copper.csv")')
    one_of("cell", cell, LINES)
    figure, (above, below) = canvas(2, height=460, bottom=0.12, hspace=0.12)
    unit = "hour" if log.time[-1] < 4 * DAY else "day"
    time = Q_(log.time, "s").to(unit).magnitude
    draw, colour = _drawn(log), look(cell)["color"]
    above.plot(time[draw], log.voltage[draw], linewidth=1.4, color=colour)
    below.plot(time[draw], log.current[draw], color=INK, linewidth=1)
    below.axhline(0, color=PALE, linewidth=1, zorder=0)
    words, box = [], {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 2}
    for phase in log.phases:
        rows = draw[(draw >= phase.rows.start - 1) & (draw <= phase.rows.stop)]
        low, high = (0, np.inf) if phase.kind == "discharge" else (-np.inf, 0)
        height = np.clip(log.current[rows], low, high)
        below.fill_between(time[rows], height, color=colour, linewidth=0, **SHADES[phase.kind])
        if len(log.phases) <= 6:
            place = (time[rows[0]] + time[rows[-1]]) / 2, height[np.abs(height).argmax()] / 2
            text = f"{phase.kind} {phase.charge:.2f~P}"
            below.text(*place, text, ha="center", va="center", fontsize=9, bbox=box)
        words.append(f"{phase.kind} of {phase.charge:.2f~P} and {phase.energy:.2f~P}, last {phase.end_voltage:.2f~P}")
    words[6:] = [f"and {len(words) - 6} more"] if len(words) > 6 else []
    above.tick_params(labelbottom=False)
    above.set(ylabel="Voltage / V", xlim=(time[0], time[-1]))
    below.set(xlabel=f"Time / {unit}", ylabel="Current out / A", xlim=(time[0], time[-1]))
    figure.align_ylabels()
    return Picture(figure, f"{log.name}, {time[-1]:.1f} {unit}s: {'; '.join(words)}.")


def _drawn(log):
    """Rows to draw: all, or of each stretch of a long log the ones with the lowest and highest voltage and current."""
    rows = np.arange(log.time.size)
    if rows.size <= POINTS:
        return rows
    kept = [rows[[0, -1]]]
    for part in np.array_split(rows, POINTS // 4):
        kept += [part[[column[part].argmin(), column[part].argmax()]] for column in (log.voltage, log.current)]
    return np.unique(kept)


def _each(name, things, kind, example):
    """Look at everything that is to be drawn."""
    if not things:
        raise InputError(f"{name}: there is nothing to draw. Try {example}.")
    for thing in things:
        expect(name, thing, kind, example)


def _unit(log):
    """What a capacity of a log is multiplied by for its figure, and the unit it then has."""
    return (MAH, "mAh") if log.unit != "percent" else (100.0, "%")


def _stacked(names, left):
    """A figure of axes one above the other, each under its name, that count along one axis at the foot."""
    figure, axes = canvas(len(names), left=left, top=0.93, hspace=0.5)
    for name, ax in zip(names, axes := np.atleast_1d(axes), strict=True):
        ax.set_title(name, fontsize=10, loc="left")
        ax.tick_params(labelbottom=ax is axes[-1])
    return figure, axes


def shelf_measurements(*logs):
    """Capacity against days on the shelf, all temperatures, a marker per measurement; in percent if one log has it."""
    _each("logs", logs, ShelfLog, EXAMPLE)
    figure, ax = canvas()
    words = []
    for log, marker in zip(logs, "os^D", strict=False):
        scale, unit = _unit(log) if len({_unit(each) for each in logs}) == 1 else (100 / log.capacity.max(), "%")
        colour, shown = look(log.negative)["color"], log.capacity * scale
        ax.plot(log.time / DAY, shown, marker, color=colour, alpha=0.7, markersize=5, linestyle="none")
        last, early = np.argmax(log.time - shown), log.time.max() < 0.4 * max(each.time.max() for each in logs)
        place = {"xytext": (7, -3), "ha": "left"} if early else {"xytext": (-4, 7), "ha": "right"}
        ax.annotate(log.cell, (log.time[last] / DAY, shown[last]), textcoords="offset points", color=colour, **place)
        span = f"{shown.max():.0f} down to {shown.min():.0f} {unit} in {log.time.max() / DAY:.3g} days"
        words.append(f"{log.cell}, at {log.places}: from {span}")
    ax.set(xlabel="Time on the shelf / day", ylabel=f"Capacity left / {unit}", xlim=(-1, None), ylim=(0, None))
    return Picture(figure, "Capacity left. " + "; ".join(words) + ".")


def self_discharge_curves(*fits, left=None):
    """Measured share left, fitted curve and 95 % band; with ``left``, drawn on to that shelf time.

    What lies beyond the last measurement is shaded and marked as a guess.
    """
    _each("fits", fits, SelfDischargeFit, FITTED)
    left = left if left is None else to_si("left", left, SHARE_LEFT)
    figure, ax = canvas()
    shelves = [fit.shelf_time(left) for fit in fits] if left else []
    measured, cells = [fit.log.time.max() / DAY for fit in fits], [fit.log.cell for fit in fits]
    ends = [shelf.high.m_as("day") for shelf in shelves]
    until = 1.08 * max([0, *(day for day in ends if np.isfinite(day))])
    end, words = max([until, *measured]), []
    for n, (fit, style) in enumerate(zip(fits, looks(fit.log.negative for fit in fits), strict=True)):
        days, colour = np.linspace(0, max(measured[n], until), 200), style["color"]
        band = fit.retained(Q_(days, "day"))
        share = 100 * fit.log.capacity / fit.fit.values[0]
        ax.plot(fit.log.time / DAY, share, "o", color=colour, alpha=0.7, markersize=5)
        ax.plot(days, band.value.m, linewidth=2, **style)
        ax.fill_between(days, band.low.m, band.high.m, color=colour, alpha=0.2, linewidth=0)
        name = fit.model.name if cells.count(fit.log.cell) > 1 else f"{fit.log.cell}: {fit.model.name}"
        place = days[120], band.value.m[120]
        lift, side = (-14, "right") if n % 2 and place[0] > end / 3 else (7, "left")
        ax.annotate(name, place, (0, lift), textcoords="offset points", color=colour, ha=side)
        words.append(f"{name} leaves {band.value.m[-1]:.0f} % after {days[-1]:.3g} days")
    ax.set(xlabel="Time on the shelf / day", ylabel="Share of the starting capacity / %", xlim=(-0.5, end))
    ax.set_ylim(0, 108)
    if left:
        ax.axhline(100 * left, color=INK, linewidth=0.8)
        ax.text(0.5, 100 * left - 1, f"{100 * left:.0f} % left", va="top", fontsize=9)
        for fit, shelf in zip(fits, shelves, strict=True):
            span = f"{shelf.low.m:.0f} to {shelf.high.m:.0f} {shelf.high.units}s"
            words.append(f"{fit.model.name}: {100 * left:.0f} % left after {span}")
    if any(shelf.extrapolates for shelf in shelves):
        beyond(ax, min(measured), end)
        words.append(f"everything after {min(measured):.0f} days is beyond the data, a guess")
    return Picture(figure, "; ".join(words) + ".")


def residuals(*fits):
    """Measured minus fitted for each fit, one panel below the other, with the error of a measurement as a band."""
    _each("fits", fits, SelfDischargeFit, FITTED)
    figure, axes = _stacked([fit.model.name for fit in fits], left=0.13)
    scale, unit = _unit(fits[0].log)
    words, top = [], 1.15 * max(np.abs(fit.fit.residuals).max() for fit in fits) * scale
    for fit, ax in zip(fits, axes, strict=True):
        gap, colour = fit.fit.residuals * scale, look(fit.log.negative)["color"]
        error, worst = np.mean(fit.fit.scale / fit.fit.weight) * scale, np.abs(gap).max()
        ax.axhspan(-error, error, color=colour, alpha=0.15, linewidth=0)
        ax.axhline(0, color=INK, linewidth=0.8)
        ax.plot(fit.log.time / DAY, gap, "o", color=colour)
        ax.set_ylim(-top, top)
        inside = f"{100 * np.mean(np.abs(gap) <= error):.0f} % within ± {error:.3g} {unit}"
        words.append(f"{fit.model.name}: {inside}, the worst {worst:.3g} {unit}")
    axes[-1].set_xlabel("Time on the shelf / day")
    figure.supylabel(f"Residual / {unit}", fontsize=10)
    return Picture(figure, "Measured minus fitted. " + "; ".join(words) + ".")


def rates_by_temperature(*fits):
    """Rate against temperature: one fit per temperature as points, the Arrhenius fit to all as a line with its band."""
    _each("fits", fits, ArrheniusFit, f"cellkit.logs.fit_arrhenius({EXAMPLE})")
    figure, ax = canvas(right=0.78)
    words = []
    for fit, style in zip(fits, looks(fit.log.negative for fit in fits), strict=True):
        there, colour = fit.log.temperatures.m, style["color"]
        celsius = np.linspace(there.min(), there.max(), 40)
        bands = [fit.rate_at(Q_(t, "degC")) for t in celsius]
        value, low, high = ([getattr(band, end).m for band in bands] for end in ("value", "low", "high"))
        ax.plot(celsius, value, linewidth=2, **style)
        ax.fill_between(celsius, low, high, color=colour, alpha=0.2)
        for t in there:
            one = fit_self_discharge(fit.log.at(Q_(t, "degC")), fit.model.name)
            ax.plot([t, t], [end.m for end in one.interval()], color=colour, linewidth=1)
            ax.plot(t, one.value().m, "o", color=colour, markersize=5)
        ax.text(celsius[-1] + 0.7, value[-1], fit.log.cell, color=colour, va="center", fontsize=9)
        words.append(f"{fit.log.cell}: {value[0]:.3g} to {value[-1]:.3g} %/d")
    ax.set(xlabel="Temperature / °C", ylabel="Rate / % per day", ylim=(0, None))
    span = f"Rate from {celsius[0]:.0f} to {celsius[-1]:.0f} °C, points with 95 % bars. "
    return Picture(figure, span + "; ".join(words) + ".")


def histograms(estimates, truth, label):
    """Histograms of estimates of one number by several methods, with the truth as a line."""
    _each("estimates", [estimates], dict, '{"fit": [2.9, 3.1]}')
    truth = to_si("truth", truth, Constraint("", "3", single=True))
    kind = Constraint("", "[2.9, 3.1]")
    estimates = {name: np.atleast_1d(to_si(name, values, kind)) for name, values in estimates.items()}
    everything = np.concatenate(list(estimates.values()))
    low, high = everything.min(), everything.max()
    edges, words = np.linspace(low, high + (low == high), 60), []
    figure, axes = _stacked(list(estimates), left=0.11)
    for (name, values), ax in zip(estimates.items(), axes, strict=True):
        ax.hist(values, edges, color=COLOURS["zinc"])
        ax.axvline(truth, color=INK, linestyle="--")
        ax.set(ylabel="Number of logs", xlim=(edges[0], edges[-1]))
        low, high = np.quantile(values, [0.025, 0.975])
        words.append(f"{name}: on average {np.mean(values):.2f}, 95 % of them between {low:.2f} and {high:.2f}")
    axes[-1].set_xlabel(label)
    return Picture(figure, f"The truth is {truth:g}. " + "; ".join(words) + ".")
