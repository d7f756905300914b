"""Least squares with intervals that can be defended: plain floats, analytic derivatives, scipy's optimiser.

A curve is a function ``curve(x, *parameters) -> (y, partials)``: the values and their derivatives by each parameter.
Parameters broadcast against ``x``, so one call serves a single fit, a thousand refits or a rate per measurement.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cellkit.units import InputError, one_of

AT_ONCE = 1 << 20  # numbers of refitted data that are held in memory


class FitError(InputError):
    """The data do not settle what was asked of them; the message says what happened and what to try."""


def evaluate(curve, x, parameters):
    """Values (..., n) and derivatives (..., n, p) of ``curve`` for ``parameters`` (..., p)."""
    with np.errstate(all="ignore"):
        y, partials = curve(x, *np.moveaxis(np.asarray(parameters, dtype=float)[..., None], -2, 0))
    return y, np.stack(np.broadcast_arrays(y, *partials)[1:], -1)


def _search(curve, x, y, start, weight):
    from scipy.optimize import least_squares

    return least_squares(
        lambda p: (evaluate(curve, x, p)[0] - y) * weight,
        start,
        lambda p: evaluate(curve, x, p)[1] * weight[:, None],
        method="lm",
        x_scale="jac",
        max_nfev=2000,
        **dict.fromkeys(("ftol", "xtol", "gtol"), 1e-15),
    )


@dataclass(frozen=True)
class Fit:
    """A least-squares solution; ``scale/weight`` is the error of each ``y``, known to ``dof`` degrees of freedom."""

    curve: Callable
    names: tuple[str, ...]
    x: np.ndarray
    y: np.ndarray
    weight: np.ndarray
    values: np.ndarray
    covariance: np.ndarray
    rss: float
    scale: float
    dof: float
    estimated: bool  # the error comes from the scatter about the curve itself

    def number(self, name):
        """The place of a parameter."""
        return self.names.index(one_of("name", name, self.names))

    @property
    def standard_errors(self):
        """Standard errors of the parameters."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def fitted(self):
        """The curve at the measurements."""
        return evaluate(self.curve, self.x, self.values)[0]

    @property
    def residuals(self):
        """Measured minus fitted."""
        return self.y - self.fitted

    @property
    def is_exact(self):
        """Whether the data lie on the curve to rounding, so that their scatter says nothing about an error."""
        return bool(self.estimated and np.sqrt(self.rss) <= 1e-9 * np.linalg.norm(self.y * self.weight))

    @property
    def aicc(self):
        """Akaike's criterion corrected for few measurements; only differences between curves mean anything.

        Infinite where the measurements are at most one more than the unknowns.
        """
        n, k = self.y.size, self.values.size + self.estimated
        if n < k + 2:
            return np.inf
        return (n * np.log(max(self.rss, 1e-300) / n) if self.estimated else self.rss) + 2 * k * n / (n - k - 1)

    @property
    def coverage_factor(self):
        """How many standard errors an interval of 95 % goes to either side (Student's t)."""
        from scipy.special import stdtrit

        return float(stdtrit(min(self.dof, 1e9), 0.975))

    def interval(self, name):
        """Profile-likelihood interval of 95 %: how far ``name`` moves, all else refitted, until the fit is too bad.

        An end that the data do not bound is infinite.
        """
        from scipy.optimize import brentq

        j = self.number(name)
        if self.is_exact:
            return float(self.values[j]), float(self.values[j])
        rest, allowed = np.arange(self.values.size) != j, (self.scale * self.coverage_factor) ** 2

        def excess(shift):
            def pinned(x, *others):
                y, partials = self.curve(x, *others[:j], self.values[j] + shift, *others[j:])
                return y, partials[:j] + partials[j + 1 :]

            start = self.values[rest] + self.covariance[rest, j] / self.covariance[j, j] * shift
            found = 2 * _search(pinned, self.x, self.y, start, self.weight).cost
            if found < self.rss - 0.01 * allowed:
                raise FitError(f"a better fit lies at {name} = {self.values[j] + shift:.3g}; start from there")
            return found - self.rss - allowed

        ends = []
        for step in np.array([-1, 1]) * self.standard_errors[j] * self.coverage_factor:
            far = next((step * times for times in (1.2, 2, 4, 8, 16) if excess(step * times) > 0), None)
            shift = np.copysign(np.inf, step) if far is None else brentq(excess, 0, far, xtol=1e-5 * abs(step))
            ends.append(float(self.values[j] + shift))
        return tuple(ends)

    def bootstrap(self, draws=1000):
        """Parameters (draws, p) of refits to the curve plus noise; where the noise level is estimated it varies too."""
        rng, half = np.random.default_rng(0), (draws + 1) // 2
        level = np.sqrt(self.dof / rng.chisquare(self.dof, (half, 1))) if np.isfinite(self.dof) else np.ones((half, 1))
        pairs, began = [], time.monotonic()  # mirrored, so that neither side is favoured
        for part in np.array_split(level, -(-half * self.y.size // AT_ONCE)):
            noise = part * self.scale / self.weight * rng.standard_normal((len(part), self.y.size))
            both = (self.fitted + noise, self.fitted - noise)
            pairs.append([refit(self.curve, self.x, many, self.values, self.weight) for many in both])
            if time.monotonic() - began > 1:
                print(f"\r{2 * sum(len(side) for side, _ in pairs)} of {draws} refits done", end="", file=sys.stderr)
        found = np.concatenate([side for sides in zip(*pairs, strict=True) for side in sides])[:draws]
        settled = np.isfinite(found).all(-1)
        if settled.mean() < 0.98:
            raise FitError(f"{(~settled).sum()} of {draws} refits found no answer: measure more, or fit less")
        return found[settled]


def fit_curve(curve, x, y, start, error=None, error_dof=np.inf, names=None):
    """Least squares by Levenberg-Marquardt (MINPACK through scipy) with the curve's own derivatives: a :class:`Fit`.

    ``error`` is the standard error of ``y``, known to ``error_dof`` degrees of freedom; without it the scatter about
    the curve tells. A FitError where the search did not end at a best fit.
    """
    x, y, start = (np.asarray(a, dtype=float) for a in (x, y, start))
    names = tuple(names or (f"b{i + 1}" for i in range(start.size)))
    weight = np.broadcast_to(1 / np.asarray(1.0 if error is None else error, dtype=float), y.shape)
    for label, values in {"x": x, "y": y, "start": start, "1/error": weight}.items():
        if (strange := ~np.isfinite(values)).any():
            raise InputError(f"{label} holds {strange.sum()} value(s) that are not finite. Leave them out.")
    if y.size < start.size + (error is None):
        raise FitError(f"{y.size} measurements cannot settle {start.size} parameters ({', '.join(names)}); take more")
    if not np.isfinite(evaluate(curve, x, start)[0]).all():
        raise FitError(f"the curve is not finite at the start {start.tolist()}; start nearer to the answer")
    found = _search(curve, x, y, start, weight)
    rss, dof = 2 * found.cost, y.size - start.size if error is None else error_dof
    scale = np.sqrt(rss / dof) if error is None else 1.0
    norm = np.linalg.norm(found.jac, axis=0)
    with np.errstate(all="ignore"):
        u, singular, v = np.linalg.svd(np.nan_to_num(found.jac / norm), full_matrices=False)
        covariance = scale**2 * (v.T / singular**2) @ v / np.outer(norm, norm)
        ahead = np.abs(v.T @ (u.T @ found.fun / singular)) / norm  # how far one more Gauss-Newton step would go
        astray = ~(ahead <= 0.01 * np.sqrt(np.diag(covariance)) + 1e-9 * np.abs(found.x))
    if found.status <= 0 or astray.any() or not singular[-1] > 1e-9:
        worst = np.argmax(astray) if astray.any() else np.argmax(np.abs(v[-1]))
        raise FitError(
            f"the search from {start.tolist()} ended at {names[worst]} = {found.x[worst]:.3g}, no best fit: the "
            "start is too far from the answer, or the curve has more parameters than the data can settle"
        )
    return Fit(curve, names, x, y, weight, found.x, covariance, rss, scale, dof, error is None)


def expected_half_width(curve, x, guess):
    """Half of the 95 % interval to expect for the last parameter, per error of one ``y``: t(n − p) · √[(JᵀJ)⁻¹].

    J are the derivatives at a ``guess`` of the parameters. Infinite where as many ``y`` cannot settle them.
    """
    from scipy.special import stdtrit

    slopes = evaluate(curve, x, guess)[1]
    free = len(slopes) - len(guess)
    if free < 1 or np.linalg.matrix_rank(slopes) < len(guess):
        return np.inf
    return stdtrit(free, 0.975) * np.sqrt(np.linalg.inv(slopes.T @ slopes)[-1, -1])


def refit(curve, x, many, start, weight):
    """Parameters (m, p) of the least-squares fits to ``many`` (m, n) data sets at once, all from one ``start``.

    Gauss-Newton on all sets together; a set that has not settled goes to scipy alone, and is NaN if that fails.
    """
    found = np.tile(np.asarray(start, dtype=float), (len(many), 1))
    with np.errstate(all="ignore"):
        for _ in range(20):
            model, slopes = evaluate(curve, x, found)
            slopes *= weight[:, None]
            size = np.linalg.norm(slopes, axis=1)  # nothing where a parameter no longer matters: NaN, not settled
            slopes /= size[:, None]
            turned = np.swapaxes(slopes, 1, 2)
            normal = turned @ slopes + 1e-12 * np.eye(size.shape[1])  # a set without a unique answer never settles
            step = np.linalg.solve(normal, turned @ ((many - model) * weight)[..., None])[..., 0] / size
            found += step
            unsettled = ~(np.abs(step) <= 1e-7 * np.abs(found)).all(1)
            if not unsettled.any():
                break
    for i in np.flatnonzero(unsettled):
        try:
            found[i] = fit_curve(curve, x, many[i], start, 1 / weight).values
        except FitError:
            found[i] = np.nan
    return found
