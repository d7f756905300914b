"""Carbon wrapped round a lead negative: a double layer in parallel with the plate, in closed form."""

from typing import NamedTuple

import numpy as np

from cellkit.load import Stack
from cellkit.units import expect, not_negative, positive, takes

OHM = positive("ohm", 'Q_(10, "mohm")')


class Wrap(NamedTuple):
    """All the carbon of one cell: its mass, its capacitance, and the resistance on the way from it to the lead."""

    mass: float
    capacitance: float
    resistance: float


@takes(
    returns={"mass": "kg -> g", "capacitance": "F", "resistance": "ohm -> mohm"},
    carbon=positive("kg/m^2", 'Q_(20, "mg/cm^2")'),
)
def wrap(stack, carbon):
    """Activated carbon on every face of the negatives: m = m' A, C = c m, R = r / A over all faces together.

    Parameters
    ----------
    stack : Stack
        From :func:`cellkit.load.stack`; its case carries the spread.
    carbon : Quantity [kg/m²]
        Dry carbon per area of face.

    Returns
    -------
    Wrap

    Raises
    ------
    InputError
        For carbon that is not more than zero.

    Examples
    --------
    >>> from cellkit import Q_, load, teardown
    >>> cell = load.stack(teardown.read("otter_lane_block.csv"))
    >>> f"{wrap(cell, Q_(20, 'mg/cm^2')).capacitance:.0f~P}"
    '179 F'

    References
    ----------
    ``data/reference/kinetics.csv``.
    """
    expect("stack", stack, Stack, "cellkit.load.stack(block)")
    mass = np.asarray(carbon) * stack.area
    return Wrap(mass, stack.values["carbon_capacitance"] * mass, stack.values["carbon_resistance"] / stack.area)


class Pulse(NamedTuple):
    """Share of a current step that the carbon carries, and the resistance of plate and carbon together."""

    share: float
    resistance: float


@takes(
    returns={"share": "", "resistance": "ohm -> mohm"},
    time=not_negative("s", 'Q_(2, "s")'),
    plate=OHM,
    capacitance=positive("F", 'Q_(200, "F")'),
    resistance=OHM,
)
def pulse(time, plate, capacitance, resistance):
    """A time after a current step: share s = Rp / (Rp + Rc) exp(-t / τ), τ = C (Rp + Rc); resistance Rp (1 - s).

    Parameters
    ----------
    time : Quantity [s]
    plate : Quantity [Ω]
        Rp, of the lead plate alone: its overpotential divided by the current.
    capacitance, resistance : Quantity [F], [Ω]
        C and Rc, of the :class:`Wrap`.

    Returns
    -------
    Pulse
        With the plate as a plain resistance; at large currents it bends, and the carbon carries less.

    Raises
    ------
    InputError
        For a time below zero, or another value that is not more than zero.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{pulse(Q_(2, 's'), Q_(30, 'mohm'), Q_(180, 'F'), Q_(3, 'mohm')).share:.2f~P}"
    '0.65'

    References
    ----------
    Kirchhoff's laws for a resistance beside a resistance and a capacitor in series.
    """
    both = np.asarray(plate) + resistance
    share = plate / both * np.exp(-np.asarray(time) / (np.asarray(capacitance) * both))
    return Pulse(share, plate * (1 - share))
