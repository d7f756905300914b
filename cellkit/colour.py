"""The blue of copper sulfate as a gauge of how much copper is still dissolved."""

import numpy as np

from cellkit.units import not_negative, positive, takes

ABSORPTIVITY = 1.2  # m²/mol (12 L/(mol cm)) of Cu++ in sulfate near 810 nm, from memory


@takes(returns="", concentration=not_negative("mol/m^3", 'Q_(1, "mol/L")'), path=positive("m", 'Q_(1, "cm")'))
def transmittance(concentration, path):
    """Share of near-infrared light (810 nm) that passes a copper sulfate solution: T = 10^(-ε c d).

    Parameters
    ----------
    concentration : Quantity [mol/m³]
        CuSO4 per volume.
    path : Quantity [m]
        Length the light travels in the solution.

    Returns
    -------
    Quantity [1]
        Compare two samples in the same glass; ε is good to about 10 %. Below T = 0.01 stray light decides, so thin
        the layer. The eye judges red light, where the solution absorbs less but fades in the same order.

    Raises
    ------
    InputError
        For a negative concentration or a path that is not more than zero.

    Examples
    --------
    >>> from cellkit import Q_
    >>> f"{transmittance(Q_(0.1, 'mol/L'), Q_(1, 'cm')):.3f~P}"
    '0.063'

    References
    ----------
    Beer-Lambert law; ε from memory.
    """
    return 10.0 ** (-ABSORPTIVITY * np.asarray(concentration) * path)
