"""Cell physics for rebuilding lead-acid cells with lighter negative plates: masses, solutions, volts, self-discharge.

>>> import cellkit as ck
>>> f"{ck.reference.molar_mass('PbO2'):.1f~P}"
'239.2 g/mol'
"""

import importlib
import pkgutil

from cellkit.units import Q_, InputError

__all__ = ["InputError", "Q_"]
_MODULES = sorted(module.name for module in pkgutil.iter_modules(__path__))


def __getattr__(name):
    if name in _MODULES:
        return importlib.import_module(f"cellkit.{name}")
    raise AttributeError(f"cellkit has no {name!r}; it has {', '.join(_MODULES)}, Q_ and InputError")


def __dir__():
    return sorted([*__all__, *_MODULES])
