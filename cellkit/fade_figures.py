"""Pictures of self-discharge: what was measured, the fitted fade with its band, residuals, rates and their spread."""

import numpy as np

from cellkit.fade import SHARE_LEFT, Fade, fit
from cellkit.figures import COLOURS, INK, Picture, canvas, look
from cellkit.shelf_log import DAY, EXAMPLE, Log
from cellkit.units import Q_, InputError, Kind, expect, to_si
from cellkit.warmth import Warmth

MAH = Q_(1, "C").to("mAh").magnitude
FITTED = f"cellkit.self_discharge.fit({EXAMPLE})"
STYLES = ["-", "--", "-.", ":"]


def _each(name, things, kind, example):
    """Look at everything that is to be drawn."""
    if not things:
        raise InputError(f"{name}: there is nothing to draw. Try {example}.")
    for thing in things:
        expect(name, thing, kind, example)


def measurements(*logs):
    """Capacity against days on the shelf, all temperatures, one marker per measurement."""
    _each("logs", logs, Log, EXAMPLE)
    figure, ax = canvas(left=0.11, right=0.97, top=0.97, bottom=0.14)
    words = []
    for log, marker in zip(logs, "os^D", strict=False):
        colour, shown = look(log.cell)["color"], log.capacity * MAH
        ax.plot(log.time / DAY, shown, marker, color=colour, alpha=0.7, markersize=5, linestyle="none")
        last = np.argmax(log.time - shown)
        ax.annotate(
            log.cell, (log.time[last] / DAY, shown[last]), (-4, 7), textcoords="offset points", color=colour, ha="right"
        )
        words.append(
            f"{log.cell}: from {shown.max():.0f} down to {shown.min():.0f} mAh in {log.time.max() / DAY:.0f} days"
        )
    ax.set(xlabel="Time on the shelf / day", ylabel="Capacity left / mAh", xlim=(-1, None), ylim=(0, None))
    return Picture(figure, f"Capacity left at {logs[0].places}. " + "; ".join(words) + ".")


def fading(*fades, left=None):
    """Measured share left, fitted curve and 95 % band; with ``left``, drawn on to that shelf time.

    What lies beyond the last measurement is shaded and marked as a guess.
    """
    _each("fades", fades, Fade, FITTED)
    left = left if left is None else to_si("left", left, SHARE_LEFT)
    figure, ax = canvas(left=0.11, right=0.97, top=0.97, bottom=0.14)
    shelves = [fade.shelf_time(left) for fade in fades] if left else []
    measured = [fade.log.time.max() / DAY for fade in fades]
    until = 1.08 * max([0, *(shelf.high.m for shelf in shelves if np.isfinite(shelf.high.m))])
    end = max([until, *measured])
    words = []
    for n, fade in enumerate(fades):
        same = [f.log.cell for f in fades].count(fade.log.cell) > 1
        style = look(fade.log.cell) | ({"linestyle": STYLES[n]} if same else {})
        days = np.linspace(0, max(measured[n], until), 200)
        band = fade.retained(Q_(days, "day"))
        share = 100 * fade.log.capacity / fade.fit.values[0]
        ax.plot(fade.log.time / DAY, share, "o", color=style["color"], alpha=0.7, markersize=5)
        ax.plot(days, band.value.m, linewidth=2, **style)
        ax.fill_between(days, band.low.m, band.high.m, color=style["color"], alpha=0.2, linewidth=0)
        named = {"color": style["color"], "ha": "right" if n % 2 else "left"}
        name = fade.model.name if same else f"{fade.log.cell}: {fade.model.name}"
        ax.annotate(
            name,
            (days[150], band.value.m[150]),
            (0, -14 if n % 2 else 7),
            textcoords="offset points",
            **named,
        )
        words.append(f"{name} leaves {band.value.m[-1]:.0f} % after {days[-1]:.0f} days")
    ax.set(
        xlabel="Time on the shelf / day",
        ylabel="Share of the starting capacity / %",
        xlim=(-0.5, end),
        ylim=(0, 108),
    )
    if left:
        ax.axhline(100 * left, color=INK, linewidth=0.8)
        ax.text(0.5, 100 * left - 1, f"{left:.0%} left", va="top", fontsize=9)
        for fade, shelf in zip(fades, shelves, strict=True):
            words.append(f"{fade.model.name}: {left:.0%} left after {shelf.low.m:.0f} to {shelf.high.m:.0f} days")
    if any(shelf.extrapolates for shelf in shelves):
        known, amber = min(measured), COLOURS["warning"]
        ax.axvspan(known, end, facecolor=amber, alpha=0.15, hatch="//", edgecolor=amber)
        ax.text((known + end) / 2, 4, "BEYOND THE DATA: a guess", ha="center", fontsize=11, weight="bold")
        words.append(f"everything after {known:.0f} days is beyond the data, a guess")
    return Picture(figure, "; ".join(words) + ".")


def residuals(*fades):
    """Measured minus fitted for each fit, one panel below the other, with the error of a measurement as a band."""
    _each("fades", fades, Fade, FITTED)
    figure, axes = canvas(len(fades), left=0.13, right=0.97, top=0.93, bottom=0.14, hspace=0.45)
    words, top = [], 1.15 * max(np.abs(fade.fit.residuals).max() for fade in fades) * MAH
    for fade, ax in zip(fades, np.atleast_1d(axes), strict=True):
        gap, days = fade.fit.residuals * MAH, fade.log.time / DAY
        error = np.mean(fade.fit.scale / fade.fit.weight) * MAH
        ax.axhspan(-error, error, color=look(fade.log.cell)["color"], alpha=0.15, linewidth=0)
        ax.axhline(0, color=INK, linewidth=0.8)
        ax.plot(days, gap, "o", color=look(fade.log.cell)["color"])
        ax.set_title(fade.model.name, fontsize=10, loc="left")
        ax.set(ylim=(-top, top))
        ax.tick_params(labelbottom=fade is fades[-1])
        inside = np.mean(np.abs(gap) <= error)
        words.append(f"{fade.model.name}: {inside:.0%} within ± {error:.0f} mAh, the worst {np.abs(gap).max():.0f} mAh")
    np.atleast_1d(axes)[-1].set_xlabel("Time on the shelf / day")
    figure.supylabel("Residual / mAh", fontsize=10)
    return Picture(figure, "Measured minus fitted. " + "; ".join(words) + ".")


def rates(*warmths):
    """Rate against temperature: one fit per temperature as points, the Arrhenius fit to all as a line with its band."""
    _each("warmths", warmths, Warmth, f"cellkit.self_discharge.arrhenius({EXAMPLE})")
    figure, ax = canvas(left=0.11, right=0.78, top=0.97, bottom=0.14)
    words = []
    for warmth in warmths:
        style, there = look(warmth.log.cell), warmth.log.temperatures
        celsius = np.linspace(there.m.min(), there.m.max(), 40)
        bands = [warmth.rate_at(Q_(t, "degC")) for t in celsius]
        ax.plot(celsius, [band.value.m for band in bands], linewidth=2, **style)
        ax.fill_between(
            celsius, *([getattr(b, e).m for b in bands] for e in ("low", "high")), color=style["color"], alpha=0.2
        )
        for t in there.m:
            one = fit(warmth.log.at(Q_(t, "degC")), warmth.model.name)
            low, high = (end.m for end in one.interval())
            ax.plot([t, t], [low, high], color=style["color"], linewidth=1)
            ax.plot(t, one.value().m, "o", color=style["color"], markersize=5)
        ax.text(celsius[-1] + 0.7, bands[-1].value.m, warmth.log.cell, color=style["color"], va="center", fontsize=9)
        words.append(f"{warmth.log.cell}: {bands[0].value.m:.2g} to {bands[-1].value.m:.2g} %/d")
    ax.set(xlabel="Temperature / °C", ylabel="Rate / % per day", ylim=(0, None))
    return Picture(
        figure, f"Rate from {celsius[0]:.0f} to {celsius[-1]:.0f} °C, points with 95 % bars. " + "; ".join(words) + "."
    )


def spread(estimates, truth, label):
    """Histograms of estimates of one number by several methods, with the truth as a line."""
    _each("estimates", [estimates], dict, '{"fit": [2.9, 3.1]}')
    truth = to_si("truth", truth, Kind("", "3", single=True))
    estimates = {name: np.atleast_1d(to_si(name, values, Kind("", "[2.9, 3.1]"))) for name, values in estimates.items()}
    figure, axes = canvas(len(estimates), left=0.11, right=0.97, top=0.93, bottom=0.14, hspace=0.5)
    axes = np.atleast_1d(axes)
    everything = np.concatenate(list(estimates.values()))
    low, high = everything.min(), everything.max()
    edges, words = np.linspace(low, high + (low == high), 60), []
    for (name, values), ax in zip(estimates.items(), axes, strict=True):
        ax.hist(values, edges, color=COLOURS["zinc"])
        ax.axvline(truth, color=INK, linestyle="--")
        ax.set_title(name, fontsize=10, loc="left")
        ax.set(ylabel="Logs / 1", xlim=(edges[0], edges[-1]))
        low, high = np.quantile(values, [0.025, 0.975])
        words.append(f"{name}: on average {np.mean(values):.2f}, 95 % of them between {low:.2f} and {high:.2f}")
    axes[-1].set_xlabel(label)
    return Picture(figure, f"The truth is {truth:g}. " + "; ".join(words) + ".")
