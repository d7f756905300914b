"""Cell physics for rebuilding lead-acid cells with lighter negative plates: masses, solutions, volts, self-discharge.

>>> import cellkit as ck
>>> f"{ck.reference.molar_mass('PbO2'):.1f~P}"
'239.2 g/mol'
"""

import importlib

from cellkit.units import Q_, InputError

__all__ = ["InputError", "Q_"]
_MODULES = (
    "activity carbon cell colour conductivity decay density environment fade_figures figures fitting gas heat load "
    "panel plates potentials recipe reference self_discharge solubility solution teardown units volt_figures"
)


def __getattr__(name):
    if name in _MODULES.split():
        return importlib.import_module(f"cellkit.{name}")
    raise AttributeError(f"cellkit has no {name!r}; it has {_MODULES.replace(' ', ', ')}, Q_ and InputError")


def __dir__():
    return sorted([*__all__, *_MODULES.split()])
