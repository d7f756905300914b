"""PHREEQC with pitzer.dat, one solution at a time; copper and zinc added with the parameters that cellkit holds."""

import functools
import math

import phreeqc

from cellkit.tables.metals import METALS
from cellkit.tables.published import molar_mass, table

_OUTPUT = """
SELECTED_OUTPUT
 -reset false
 -high_precision true
USER_PUNCH
 -headings H SO4 M W M_HSO4 RHO
 10 PUNCH LA("H+"), LA("SO4-2"), LA("{ion}"), LA("H2O"), MOL("HSO4-"), RHO
END
"""


def _definition(metal, stand_in):
    """Input that makes ``metal`` a species; ``stand_in`` names the row that serves for its pair with HSO4-."""
    rows = {(r["cation"], r["anion"]): r for r in table("ion_interaction")}
    symbol = METALS[metal].symbol
    ion, mass = f"{symbol}+2", 1000 * molar_mass.si(symbol)
    text = f"SOLUTION_MASTER_SPECIES\n {symbol} {ion} 0 {mass} {mass}\n"
    text += f"SOLUTION_SPECIES\n {ion} = {ion}\n log_k 0\nPITZER\n"
    pairs = (("SO4-2", rows[symbol, "SO4"]), ("HSO4-", rows[stand_in, "HSO4"]))
    for block, column in (("B0", "beta0"), ("B1", "beta1"), ("B2", "beta2"), ("C0", "cphi")):
        text += f"-{block}\n" + "".join(f" {ion} {anion} {row[column]}\n" for anion, row in pairs if row[column])
    return text + "END\n"


@functools.lru_cache
def engine(metal=None, stand_in=None):
    """A PHREEQC that knows ``metal``, cached: loading the database takes longer than a thousand solutions."""
    run = phreeqc.Phreeqc()
    assert run.LoadBuiltInDatabase("pitzer.dat") == 0
    ion = f"{METALS[metal].symbol}+2" if metal else "Mg+2"
    assert run.RunString((_definition(metal, stand_in) if metal else "") + _OUTPUT.format(ion=ion)) == 0
    return run


def solution(acid, salt=0.0, metal=None, stand_in=None):
    """Natural logarithms of activities of H+, SO4--, M++ and water, the molality of HSO4- and the density [kg/m³]."""
    run = engine(metal, stand_in)
    held = f" {METALS[metal].symbol} {salt!r}\n" if metal else ""
    text = f"SOLUTION 1\n temp 25\n units mol/kgw\n pH 1 charge\n S(6) {acid + salt!r}\n{held}END\n"
    assert run.RunString(text) == 0, run.GetErrorString()
    row = {name: column[-1] for name, column in run.GetSelectedOutput().items()}
    logs = {name: math.log(10) * row[name] for name in ("H", "SO4", "M", "W")}
    return logs | {"HSO4": row["M_HSO4"], "density": 1000 * row["RHO"]}
