"""Cell physics for rebuilding lead-acid cells with lighter negative plates: masses, solutions, volts, self-discharge.

>>> import cellkit as ck
>>> f"{ck.tables.molar_mass('PbO2'):.1f~P}"
'239.2 g/mol'
"""

import importlib

from cellkit.environment import check_environment
from cellkit.units import Q_, InputError

FOLDERS = ("tables", "chemistry", "cells", "designs", "logs", "show")  # each imports from those before it only
__all__ = ["FOLDERS", "Q_", "InputError", "check_environment"]


def __getattr__(name):
    if name in FOLDERS:
        return importlib.import_module(f"cellkit.{name}")
    raise AttributeError(f"cellkit has no {name!r}; it has {', '.join([*FOLDERS, *__all__])}")


def __dir__():
    return sorted([*__all__, *FOLDERS])
