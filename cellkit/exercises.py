"""What an exercise answers: nothing yet, the wrong unit, the wrong sign, the wrong size, near, or yes."""

from cellkit.units import Q_


def judge(mine, right, close, hint):
    """Words about a learner's answer, on unit, then sign, then size, then value; never the right number.

    Parameters
    ----------
    mine : Quantity, number or None
        None where there is no answer yet. A plain number will do where ``right`` has no unit.
    right : Quantity
        Computed, not typed in.
    close : float
        How far off is still right, in the unit of ``right``.
    hint : str
        What to look at.

    Returns
    -------
    str

    Examples
    --------
    >>> judge(Q_(-340, "mV"), Q_(0.34, "V"), 0.01, "Which shelf is the upper one?")
    'Look at the sign first. Which shelf is the upper one?'
    """
    if mine is None:
        return "not answered yet"
    try:
        answer = Q_(mine).to(right.units).magnitude
        off = abs(answer - right.magnitude)
    except Exception:  # whatever a learner types in gets words, not a traceback
        unit = "" if right.dimensionless else f", such as Q_(1, '{right.units:~}')"
        return f"It needs a number{' with a unit that fits' if unit else ''}{unit}."
    if off <= close:
        return "Yes."
    if answer * right.magnitude < 0:
        return f"Look at the sign first. {hint}"
    if not abs(right.magnitude) / 3 < abs(answer) < 3 * abs(right.magnitude):
        return f"The size is far off. {hint}"
    return f"Near, but not there yet. {hint}"
