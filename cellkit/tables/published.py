"""Published tables, each value with its source, and what follows from them by counting atoms."""

import csv
import functools
import os
import re
from pathlib import Path

from cellkit.units import InputError, shown, takes, ureg

FARADAY = ureg("faraday_constant").m_as("C/mol")  # exact by definition of the SI, as pint carries it
GAS = ureg("molar_gas_constant").m_as("J/(mol K)")


def data_path(name=""):
    """Path of a file or folder below ``data/``, such as ``"reference/density.csv"``, wherever cellkit is installed."""
    _must_be_a_path(name)
    package = Path(__file__).parent.parent
    packaged = package / "_data"
    root = packaged if packaged.is_dir() else package.parent / "data"
    path = root / name
    if not os.path.exists(path):  # what no disk can name is not there, where pathlib raises
        near = path.parent if os.path.isdir(path.parent) else root
        raise InputError(f"data has no {name!r}; it has {', '.join(sorted(p.name for p in near.iterdir()))}.")
    return path


def _must_be_a_path(name):
    if not isinstance(name, str | Path):
        raise InputError(f"name is {shown(name)}; it has to be a text or a path. Try 'osier_yard_block.csv'.")


def find_file(name):
    """Path of a learner's file or else of the one in ``data/bench``; an InputError if there is neither."""
    _must_be_a_path(name)
    try:
        path = Path(name) if os.path.isfile(name) else data_path(f"bench/{name}")
        if path.is_dir():
            raise InputError(f"{str(name)!r} is a folder; name a file in it.")
        return path
    except InputError as error:
        raise InputError(f"there is no file {str(name)!r} in {Path.cwd()}, and the course's own {error}") from None


@functools.lru_cache
def table(name):
    """The rows of ``data/reference/<name>.csv`` as a tuple of dicts, numbers read as floats."""

    def read(text):
        try:
            return float(text)
        except ValueError:
            return text

    with data_path(f"reference/{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple({key: read(text) for key, text in row.items()} for row in csv.DictReader(file))


@functools.lru_cache
def _factor(unit):
    return ureg.Quantity(1.0, unit).to_base_units().magnitude


def in_si(row, *columns):
    """Numbers of a row of a table as SI floats; its column ``unit`` says the unit in which they are written."""
    return [row[column] * _factor(str(row["unit"])) for column in columns]


def composition(formula):
    """Atoms in a formula, as a dict from element to count; the dot of a hydrate may also be ``.`` or ``*``.

    >>> composition("CuSO4·5H2O")
    {'Cu': 1, 'S': 1, 'O': 9, 'H': 10}
    """
    if not isinstance(formula, str):
        raise InputError(f"{shown(formula)} is not a formula; write it like 'CuSO4·5H2O'.")
    atoms = {}
    for part in re.split(r"[·.*]", formula):
        match = re.fullmatch(r"([1-9]\d?)?((?:[A-Z][a-z]?(?:[12]?[1-9]|10)?)+)", part)
        if not match:  # CuSO45H2O lacks its dot, and the last letter of H20 is a zero
            raise InputError(f"{formula!r} is not a formula; write it like 'CuSO4·5H2O'.")
        for element, count in re.findall(r"([A-Z][a-z]?)(\d*)", match[2]):
            atoms[element] = atoms.get(element, 0) + int(match[1] or 1) * int(count or 1)
    return atoms


@takes(returns="kg/mol -> g/mol")
def molar_mass(formula):
    """Molar mass: the sum of count × atomic weight over the atoms; see :func:`composition`.

    Good to about 1 in 10 000: sulfur's natural composition varies that much.
    Source: IUPAC conventional atomic weights, ``data/reference/atomic_weights.csv``.

    >>> f"{molar_mass('CuSO4·5H2O'):.2f~P}"
    '249.68 g/mol'
    """
    weights = {row["element"]: row["atomic_weight"] for row in table("atomic_weights")}
    atoms = composition(formula)
    if unknown := sorted(set(atoms) - set(weights)):
        raise InputError(f"{formula!r} holds {', '.join(unknown)}; cellkit knows {', '.join(weights)}.")
    return sum(count * weights[element] for element, count in atoms.items()) / 1000
