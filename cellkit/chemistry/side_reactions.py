"""Gas from side reactions: how much hydrogen and oxygen, and how much air to carry it off."""

import numpy as np

from cellkit.chemistry.activity import ROOM
from cellkit.tables.published import FARADAY, GAS
from cellkit.units import TEMPERATURE, Constraint, non_negative, one_of, takes

ELECTRONS = {"hydrogen": 2, "oxygen": 4}
ATMOSPHERE = 101325.0  # Pa


@takes(returns="m^3 -> L", charge=non_negative("C", 'Q_(1, "Ah")'), temperature=TEMPERATURE)
def gas_volume(charge, gas="hydrogen", temperature=ROOM):
    """Volume of dry gas that a charge sets free at one atmosphere: V = Q R T / (n F p), with n = 2 (H2) or 4 (O2).

    ``gas`` is ``"hydrogen"`` or ``"oxygen"``. Source: Faraday's law and the ideal gas.

    >>> from cellkit import Q_
    >>> f"{gas_volume(Q_(1, 'Ah')):.2f~P}"
    '0.46 L'
    """
    electrons = ELECTRONS[one_of("gas", gas, ELECTRONS)]
    return np.asarray(charge) * GAS * temperature / (electrons * FARADAY * ATMOSPHERE)


@takes(
    returns="m^3/s -> m^3/hour",
    cells=Constraint("", "3", low=1, high=1000, whole=True),
    gas_current=non_negative("A", 'Q_(0.5, "A")'),
)
def ventilation(cells, gas_current):
    """Air that keeps hydrogen below 4 % with a fivefold margin: Q = 0.05 n I m³/h, for n cells and I in amperes.

    ``gas_current`` makes gas; for a rebuilt cell, which no standard knows, take the whole charging current. For natural
    draught the openings have to be sized as well. Local codes and a licensed practitioner decide.

    Source: EN IEC 62485-2, from memory.

    >>> from cellkit import Q_
    >>> f"{ventilation(3, Q_(0.4, 'A')):.2f~P}"
    '0.06 m³/h'
    """
    return 0.05 * np.asarray(cells) * gas_current / 3600
