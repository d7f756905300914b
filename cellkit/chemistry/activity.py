"""Activities in water + H2SO4 + CuSO4 or ZnSO4 at 25 °C by the ion-interaction (Pitzer) equations.

The bisulfate equilibrium HSO4- = H+ + SO4-- is solved inside. Parameters, with their sources, stand in
``data/reference/ion_interaction.csv``; they and the standard potentials of :mod:`cellkit.chemistry.potentials` belong
together.
"""

import contextvars
import functools
from collections import namedtuple

import numpy as np

from cellkit.chemistry.roots import root
from cellkit.tables.metals import METALS, dissolved_metal
from cellkit.tables.published import molar_mass, table
from cellkit.units import Constraint, one_of, only_where, set_to, takes

ROOM = 298.15  # K
DEBYE_HUECKEL = 0.3915  # A_phi of water at 25 °C, (kg/mol)^0.5; Archer & Wang 1990, doi:10.1063/1.555853, from memory
ION_SIZE = 1.2  # b, (kg/mol)^0.5, fixed by the Pitzer convention
LOG10_K2 = -1.988  # HSO4- = H+ + SO4-- at 25 °C, pitzer.dat of PHREEQC 3.8.6
ACID = Constraint("mol/kg", 'Q_(1, "mol/kg")', low=0.0, high=7.0)
SALT = Constraint("mol/kg", 'Q_(0.5, "mol/kg")', low=0.0)  # how much more, each metal knows
STAND_INS = ("Fe(II)", "Mg")
LEAST = 1e-12  # mol/kg: with less acid than this, the activity coefficients are those at this much
BLOCK = 8_000  # compositions worked on at once: more only moves memory about
GRID = 200, 60  # nodes of the tables along the fourth root of all sulfate and along the acid's share of it
_FROM_TABLES = contextvars.ContextVar("from_tables", default=False)
# A context for many compositions: activities are interpolated between computed ones, in a tenth of the time. Rest
# voltages are within 0.02 mV of the full ones, and NaN where these are. Bisulfate is not tabulated: NaN.
tabulated = functools.partial(set_to, _FROM_TABLES, True)


class Activities(namedtuple("Activities", "hydrogen sulfate metal water bisulfate")):
    """Natural logarithms of activities (molal scale for ions, mole fraction for water) and the bisulfate molality."""


@functools.lru_cache
def _parameters(metal, stand_in):
    """beta0, beta1, beta2, C, alpha1, alpha2 by ion pair; ``stand_in`` supplies metal-HSO4 (None: the mean of all)."""
    rows = {(r["cation"], r["anion"]): r for r in table("ion_interaction")}

    def read(cation, anion, divisor):
        r = rows[cation, anion]
        return np.array([r["beta0"], r["beta1"], r["beta2"], r["cphi"] / divisor, r["alpha1"], r["alpha2"]])

    chosen = STAND_INS if stand_in is None else (stand_in,)
    return {
        ("H", "HSO4"): read("H", "HSO4", 2.0),
        ("H", "SO4"): read("H", "SO4", 2 * 2**0.5),
        ("M", "HSO4"): np.mean([read(c, "HSO4", 2 * 2**0.5) for c in chosen], axis=0),
        ("M", "SO4"): read(METALS[metal].symbol, "SO4", 4.0),
    }


def _shape(x):
    """g(x), g'(x) and exp(-x) of the second virial coefficient."""
    e = np.exp(-x)
    return 2 * (1 - (1 + x) * e) / x**2, -2 * (1 - (1 + x + x * x / 2) * e) / x**2, e


def _second_virial(p, strength, shapes):
    """B, B' and B_phi of one ion pair; ``shapes`` maps each alpha to its :func:`_shape`."""
    b, slope, b_phi = p[0], 0.0, p[0]
    for beta, alpha in ((p[1], p[4]), (p[2], p[5])):
        if beta:
            g, g_slope, e = shapes[alpha]
            b, slope, b_phi = b + beta * g, slope + beta * g_slope, b_phi + beta * e
    return b, slope / strength, b_phi


def _unlike_charges(strength, root):
    """E-theta and its slope in ionic strength for a 1-2 pair of like sign (Pitzer 1975, doi:10.1007/BF00646562)."""

    unit = 6 * DEBYE_HUECKEL * root
    falling, rising = 4.581 * unit**-0.7237, 0.0120 * unit**0.528

    def j(times):
        """J and J' at ``times`` the unit; powers of a product are products of powers."""
        grown = rising * times**0.528
        q = falling * times**-0.7237 * np.exp(-grown)
        return times * unit / (4 + q), 1 / (4 + q) + q * (0.7237 + 0.528 * grown) / (4 + q) ** 2

    (j12, s12), (j11, s11), (j22, s22) = j(2.0), j(1.0), j(4.0)
    theta = (j12 - j11 / 2 - j22 / 2) / (2 * strength)
    return theta, -theta / strength + unit * (2 * s12 - s11 / 2 - 2 * s22) / (4 * strength**2)


def _log_coefficients(h, m, x, s, parameters):
    """ln gamma of H+, M++, HSO4-, SO4-- and ln a of water for species molalities h, m, x, s."""
    strength, charge = (h + 4 * m + x + 4 * s) / 2, h + 2 * m + x + 2 * s
    root = np.sqrt(strength)
    f = -DEBYE_HUECKEL * (root / (1 + ION_SIZE * root) + 2 / ION_SIZE * np.log1p(ION_SIZE * root))
    osmotic = -DEBYE_HUECKEL * strength * root / (1 + ION_SIZE * root)
    shapes = {alpha: _shape(alpha * root) for alpha in {a for p in parameters.values() for a in p[4:] if a}}
    pair, ternary = {}, 0.0
    for (cation, anion), p in parameters.items():
        both = (h if cation == "H" else m) * (x if anion == "HSO4" else s)
        b, slope, b_phi = _second_virial(p, strength, shapes)
        pair[cation, anion] = 2 * b + charge * p[3]
        f, ternary = f + both * slope, ternary + both * p[3]
        osmotic = osmotic + both * (b_phi + charge * p[3])
    theta, theta_slope = _unlike_charges(strength, root)
    f = f + (h * m + x * s) * theta_slope
    osmotic = osmotic + (h * m + x * s) * (theta + strength * theta_slope)
    ln_h = f + x * pair["H", "HSO4"] + s * pair["H", "SO4"] + 2 * m * theta + ternary
    ln_m = 4 * f + x * pair["M", "HSO4"] + s * pair["M", "SO4"] + 2 * h * theta + 2 * ternary
    ln_x = f + h * pair["H", "HSO4"] + m * pair["M", "HSO4"] + 2 * s * theta + ternary
    ln_s = 4 * f + h * pair["H", "SO4"] + m * pair["M", "SO4"] + 2 * x * theta + 2 * ternary
    return ln_h, ln_m, ln_x, ln_s, -molar_mass.si("H2O") * (h + m + x + s + 2 * osmotic)


def within_fit(metal, salt):
    """Molalities of a metal's sulfate, where the activity model holds for them."""
    known, salt = dissolved_metal(metal, salt), np.asarray(salt, float)
    if known is None:
        return salt
    most = f"mol/kg of {known.salt}; the activity model holds up to {known.salt_limit} mol/kg. Try less salt."
    return only_where(~(salt > known.salt_limit), salt, lambda: f"salt is {np.nanmax(salt):.3g} {most}")


@takes(acid=ACID, salt=SALT)
def activities(acid, salt=0.0, metal=None, stand_in=None):
    """The :class:`Activities` in a solution of H2SO4 and one metal sulfate at 25 °C.

    Solves ln[γ(H)γ(SO4)m(H)m(SO4) / (γ(HSO4)m(HSO4))] = ln K2 for the bisulfate molality, with all γ from the
    ion-interaction equations including E-theta. ``hydrogen`` is -inf without acid, ``metal`` is -inf without salt.

    ``stand_in`` says whose parameters serve for the metal-bisulfate pair, which nobody has published for Cu or Zn:
    ``"Fe(II)"``, ``"Mg"``, or None for their mean. Between the two (RT/2F) ln Q differs by up to 8 mV below 2 mol/kg
    acid and by up to 10 mV at 7 mol/kg with little salt; half the gap goes into the stated uncertainty. From 6 to 7
    mol/kg the acid parameters reach past their fit: the water activity over 40 wt% acid (6.8 mol/kg) is still 0.568,
    the handbook value (from memory). Salt holds up to the limit of its metal.
    Source: Harvie, Møller & Weare 1984, doi:10.1016/0016-7037(84)90098-X (equations, from memory); May et al. 2011,
    doi:10.1021/je2009329; pitzer.dat of PHREEQC 3.8.6.

    >>> f"{np.exp(activities(Q_(1, 'mol/kg')).water):.4f}"
    '0.9617'
    """
    one_of("stand_in", stand_in, (*STAND_INS, None))
    acid, salt = np.broadcast_arrays(np.asarray(acid, float), within_fit(metal, salt))
    pair = metal or next(iter(METALS)), stand_in
    if _FROM_TABLES.get():
        work = functools.partial(_interpolated, table=_tabulated(*pair), top=_top(pair[0]))
    else:
        work = functools.partial(_activities, parameters=_parameters(*pair))
    if acid.size <= BLOCK:
        return work(acid, salt)
    cuts = range(BLOCK, acid.size, BLOCK)
    parts = [work(*block) for block in zip(np.split(acid.ravel(), cuts), np.split(salt.ravel(), cuts), strict=True)]
    return Activities(*(np.concatenate(part).reshape(acid.shape) for part in zip(*parts, strict=True)))


def _activities(acid, salt, parameters):
    """:func:`activities` of one block that fits into the processor's cache."""
    some_acid = np.maximum(acid, LEAST)
    bisulfate = _solve_bisulfate(some_acid, salt, np.minimum(2 * some_acid, some_acid + salt), parameters)
    h, s = 2 * some_acid - bisulfate, some_acid + salt - bisulfate
    ln_h, ln_m, _, ln_s, ln_w = _log_coefficients(h, salt, bisulfate, s, parameters)
    part = acid / some_acid  # below the least, the acid's ions are in proportion to it
    with np.errstate(divide="ignore"):
        return Activities(ln_h + np.log(part * h), ln_s + np.log(s), ln_m + np.log(salt), ln_w, part * bisulfate)


def _top(metal):
    return (ACID.high + METALS[metal].salt_limit) ** 0.25


@functools.lru_cache
def _tabulated(metal, stand_in):
    """ln γ of H+, SO4-- and M++ (stoichiometric) and ln a of water in rows: what is left is smooth, even at nothing."""
    total = np.maximum(np.linspace(0, _top(metal), GRID[0])[:, None] ** 4, 1e-9)
    share = np.clip(np.linspace(0, 1, GRID[1]), 1e-9, 1 - 1e-9)
    acid, salt = total * share, total * (1 - share)
    ln = _activities(acid, salt, _parameters(metal, stand_in))
    nodes = ln.hydrogen - np.log(2 * acid), ln.sulfate - np.log(total), ln.metal - np.log(salt), ln.water
    return np.stack(nodes, axis=-1).reshape(-1, 4)


def _interpolated(acid, salt, table, top):
    """:func:`_activities` by bilinear interpolation."""
    total = np.maximum(acid, LEAST) + salt
    along, across = np.sqrt(np.sqrt(total)) * ((GRID[0] - 1) / top), acid / total * (GRID[1] - 1)
    i, j = (np.minimum(np.nan_to_num(x).astype(int), n - 2) for x, n in zip((along, across), GRID, strict=True))
    corner, along, across = i * GRID[1] + j, (along - i)[..., None], (across - j)[..., None]
    one, next_one, other, next_other = (table.take(corner + k, axis=0) for k in (0, 1, GRID[1], GRID[1] + 1))
    low, high = one + across * (next_one - one), other + across * (next_other - other)
    hydrogen, sulfate, metal, water = np.moveaxis(low + along * (high - low), -1, 0)
    with np.errstate(divide="ignore"):
        ions = hydrogen + np.log(2 * acid), sulfate + np.log(total), metal + np.log(salt)
    return Activities(*ions, water, np.full(acid.shape, np.nan))


def _solve_bisulfate(acid, salt, ceiling, parameters):
    """Molality of HSO4-, searched as a logit between 0 and ``ceiling``."""

    def unbalance(logit):
        x = ceiling / (1 + np.exp(-logit))
        h, s = 2 * acid - x, acid + salt - x
        ln_h, _, ln_x, ln_s, _ = _log_coefficients(h, salt, x, s, parameters)
        return ln_h + ln_s - ln_x + np.log(h * s / x) - LOG10_K2 * np.log(10)

    return ceiling / (1 + np.exp(-root(unbalance, np.ones(acid.shape), -2.0, -25.0, 25.0, close=1e-11)))


@takes(returns="", acid=ACID, salt=SALT)
def mean_activity_coefficient(acid, salt=0.0, metal=None):
    """Mean activity coefficient γ± of the metal sulfate, or of H2SO4 where no metal is named (stoichiometric).

    γ±(MSO4) = [a(M) a(SO4) / (m(M) m(SO4))]^½ and γ±(H2SO4) = [a(H)² a(SO4) / (m(H)² m(SO4))]^⅓, with the total
    molalities m(H) = 2 acid and m(SO4) = acid + salt below the line. Within 1 % of PHREEQC with the same parameters;
    handbooks of the 1950s give H2SO4 about 8 % higher throughout because they normalise it otherwise.
    Source: as :func:`activities`.

    >>> f"{mean_activity_coefficient(Q_(0, 'mol/kg'), Q_(1, 'mol/kg'), 'copper'):.3f~P}"
    '0.042'
    """
    ln = activities.si(acid, salt, metal)
    acid, salt = np.asarray(acid, float), np.asarray(salt, float)
    which, amount = ("acid", acid) if metal is None else ("salt", salt)
    with np.errstate(invalid="ignore", divide="ignore"):
        if metal is None:
            found = np.exp((2 * ln.hydrogen + ln.sulfate) / 3) / (4 * acid**2 * (acid + salt)) ** (1 / 3)
        else:
            found = np.sqrt(np.exp(ln.metal + ln.sulfate) / (salt * (acid + salt)))
    nothing = f"{which} is 0, so there is nothing to have a coefficient. Try {which}={ACID.example}."
    return only_where(amount != 0, found, lambda: nothing)
