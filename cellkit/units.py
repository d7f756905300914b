"""Quantities at the edge, SI floats inside: the one unit registry and the decorators that join the two.

A learner calls ``f(Q_(20, "g"))`` and gets a quantity back. Code that runs hot calls ``f.si(0.020)``: the same
function on floats or arrays in SI units. A limit is written once, where it is known (a :class:`Constraint` of an
argument, or :func:`only_where` of a result): it gives NaN in the plain form, and words as soon as a learner's call is
under way, however deep in it the limit is met.
"""

import contextlib
import contextvars
import functools
import inspect
import math
import numbers
import re
from dataclasses import dataclass

import numpy as np
import pint

try:
    ureg = pint.UnitRegistry(cache_folder=":auto:")  # a sixth of the time to start
except Exception:  # a home folder that takes no files, or one that was left half written
    ureg = pint.UnitRegistry()
pint.set_application_registry(ureg)
ureg.define("ampere_hour = ampere * hour = Ah")
ureg.define("watt_hour = watt * hour = Wh")
ureg.define("money = [money]")  # in which currency does not matter, as long as it is one
ureg.define("liter = decimeter ** 3 = L = l = litre")
Q_ = ureg.Quantity


class InputError(ValueError):
    """Something the caller gave cannot be used; the message says what was given, what is allowed and what to try."""

    def __init__(self, message):
        # a spoilt file has words of thousands of letters, and halves of letters, which no screen shows
        message = re.sub(r"(\S{60})\S{60,}", r"\1…", message)
        super().__init__(message.encode("utf-8", "replace").decode())

    def _render_traceback_(self):
        return [f"{type(self).__name__}: {self}"]


@contextlib.contextmanager
def set_to(variable, value):
    """A context in which a context variable has this value."""
    before = variable.set(value)
    try:
        yield
    finally:
        variable.reset(before)


_IN_WORDS = contextvars.ContextVar("in_words", default=False)
speaking = _IN_WORDS.get  # whether a learner's call is under way, in which a limit that is met ends in words
aloud = functools.partial(set_to, _IN_WORDS, True)  # a context in which limits end in words, as in a learner's call
quietly = functools.partial(set_to, _IN_WORDS, False)  # limits give NaN: for many cells, some of which cannot be


@contextlib.contextmanager
def said_of(what):
    """A context that puts ``what`` before the words of any :class:`InputError` raised in it."""
    try:
        yield
    except InputError as error:
        raise type(error)(f"{what}{error}") from None


def only_where(ok, value, why):
    """``value`` where ``ok`` holds; elsewhere NaN, or in a learner's call an InputError with the words of ``why()``."""
    if np.all(ok):
        return value
    if speaking():
        raise InputError(why())
    return np.where(ok, value, np.nan)[()]


@dataclass(frozen=True)
class Constraint:
    """What an argument has to be: its SI ``unit``, the closed range ``low``..``high`` in that unit, an ``example``.

    ``open_low`` excludes ``low`` itself, ``whole`` all but whole numbers, ``single`` arrays. One whose unit is
    ``""`` (dimensionless) also takes plain numbers.
    """

    unit: str
    example: str
    low: float = -math.inf
    high: float = math.inf
    open_low: bool = False
    whole: bool = False
    single: bool = False

    def within(self, value):
        """Boolean array: where ``value`` (SI) is finite and inside the range."""
        slack = 1e-12  # of a closed end: a conversion of units may round it to the wrong side
        above = value > self.low if self.open_low else value >= self.low - slack * abs(self.low)
        inside = np.isfinite(value) & above & (value <= self.high + slack * abs(self.high))
        return inside & (value == np.round(value)) if self.whole else inside

    def allowed(self, unit=None):
        """The range in words, in ``unit`` (default: the SI one)."""

        def show(x):
            return f"{Q_(x, self.unit).to(unit):.6g~P}" if unit else f"{x:.6g} {self.unit}".strip()

        if self.low == -math.inf and self.high == math.inf:
            return "any finite value"
        above = "more than " if self.open_low else "at least " if self.high == math.inf else "from "
        most = "" if self.high == math.inf else f" to {show(self.high)}"
        return ("a whole number " if self.whole else "") + above + show(self.low) + most


def positive(unit, example):
    """The :class:`Constraint` of a value that has to be more than zero."""
    return Constraint(unit, example, low=0.0, open_low=True)


def non_negative(unit, example):
    """The :class:`Constraint` of a value that may be zero."""
    return Constraint(unit, example, low=0.0)


def fraction(example="0.5"):
    """The :class:`Constraint` of a share between 0 and 1; a percentage is taken too."""
    return Constraint("", example, low=0.0, high=1.0)


TEMPERATURE = Constraint("K", 'Q_(25, "degC")', low=273.15, high=318.15)


def to_si(name, value, kind):
    """``value`` as an SI float or array, or an :class:`InputError` that names the argument ``name``."""
    plain, example = not isinstance(value, pint.Quantity), f"Try {name}={kind.example}."
    if plain and kind.unit:
        kept = f"{shown(value)}, a plain {type(value).__name__}"
        raise InputError(f"{name} is {kept}; it has to carry a unit. {example}")
    given = value if plain else value.magnitude
    try:
        if not _real(given):
            raise TypeError
        value = Q_(value, "") if plain else value
        magnitude = np.asarray(value.to(kind.unit).magnitude, dtype=float)
    except pint.DimensionalityError:
        raise InputError(f"{name} is {shown(value)}, which is not a {_dimension(kind.unit)}. {example}") from None
    except (TypeError, ValueError, OverflowError):
        many = "made of real numbers, none masked" if hasattr(given, "__len__") else "a real number"
        raise InputError(f"{name} is {shown(given)}; it has to be {many}. {example}") from None
    if magnitude.size == 0:
        raise InputError(f"{name} is empty; it needs at least one value. {example}")
    if kind.single and magnitude.ndim:
        raise InputError(f"{name} has {magnitude.size} values; it takes one at a time. {example}")
    bad = ~kind.within(magnitude)
    if bad.any():
        unit = value.units if value.units != ureg.dimensionless else None
        first = Q_(magnitude[bad].flat[0], kind.unit).to(unit or kind.unit)
        many = f" ({bad.sum()} of {bad.size} values)" if magnitude.ndim else ""
        raise InputError(f"{name} is {first:.6g~P}{many}; allowed is {kind.allowed(unit)}. {example}")
    return float(magnitude) if magnitude.ndim == 0 else magnitude


def _real(given):
    """Whether a value, or every one in an array or a list, is a real number: no text, no truth value, none masked."""
    if isinstance(given, np.ndarray) and given.dtype.kind in "iuf":
        return not np.ma.isMaskedArray(given)
    if isinstance(given, list | tuple | range) or (isinstance(given, np.ndarray) and given.dtype.kind == "O"):
        return all(map(_real, given))
    return isinstance(given, numbers.Real) and not isinstance(given, bool)


def _dimension(unit):
    known = {"kg": "mass", "m^3": "volume", "K": "temperature", "mol/m^3": "concentration per volume (such as mol/L)"}
    known |= {"mol/kg": "concentration per mass of water (mol/kg)", "C": "charge", "V": "voltage", "": "plain number"}
    return known.get(unit, f"quantity in {unit}")


def one_of(name, value, options):
    """``value`` if it is one of the ``options``, words or None; else an :class:`InputError` that lists them."""
    if not (value is None or isinstance(value, str)) or value not in options:
        raise InputError(f"{name} is {shown(value)}; allowed are {', '.join(map(repr, options))}.")
    return value


def expect(name, value, kind, example):
    """``value`` if it is an object of class ``kind``, else an :class:`InputError` with an ``example`` of one."""
    if not isinstance(value, kind):
        raise InputError(f"{name} is {shown(value)}; it has to be of type {kind.__name__}. Try {name}={example}.")
    return value


def shown(value):
    """A value in few words, for a message."""
    text = f"{value:.6g~P}" if isinstance(value, pint.Quantity) else repr(value)
    return text if len(text) <= 60 else f"of type {type(value).__name__}"


def in_range(name, value, constraint):
    """An SI ``value`` with NaN outside the range of its constraint, or the words about it in a learner's call."""
    value = np.asarray(value, dtype=float)
    ok = constraint.within(value)

    def why():
        return f"{name} is {Q_(value[~ok].flat[0], constraint.unit):.6g~P}; allowed is {constraint.allowed()}."

    return only_where(ok, value, why)


def quantity(value, spec):
    """An SI ``value`` as a quantity; ``spec`` is ``"SI unit"`` or ``"SI unit -> unit to show"``."""
    inside, _, shown = (part.strip() for part in spec.partition("->"))
    value = np.asarray(value, dtype=float)
    result = Q_(float(value) if value.ndim == 0 else value, inside)
    return result.to(shown) if shown else result


def takes(returns=None, **constraints):
    """Give a function on SI floats its learner-facing form: quantities in, quantities out, words where a limit is met.

    ``returns`` is how :func:`quantity` shows the result: one spec, a dict of specs by field of a returned named tuple,
    or None to leave it as it is. ``constraints`` say what each quantity argument has to be; other arguments pass. What
    is declared here is added to the docstring. ``function.si`` is the plain form; ``function.constraints`` the dict.
    """

    def wrap(function):
        signature = inspect.signature(function)
        flags = {name for name, given in signature.parameters.items() if isinstance(given.default, bool)}

        def converted(name, value, convert):
            # None stands for an argument left out, where that is allowed
            passes = name not in constraints or (value is None and signature.parameters[name].default is None)
            return value if passes else convert(name, value, constraints[name])

        @functools.wraps(function)
        def learner(*args, **kwargs):
            try:
                bound = signature.bind(*args, **kwargs)
            except TypeError as error:
                raise InputError(f"{function.__name__}: {error}. It takes {', '.join(signature.parameters)}.") from None
            for name, value in bound.arguments.items():
                bound.arguments[name] = converted(name, value, to_si)
                if name in flags and not isinstance(value, bool | np.bool_):
                    raise InputError(f"{name} is {shown(value)}; it has to be True or False.")
            try:
                with aloud():
                    result = function(*bound.args, **bound.kwargs)
            except ValueError as error:
                if "broadcast" not in str(error):  # numpy's word for arrays that do not go together
                    raise
                raise InputError(_do_not_fit(function.__name__, bound.arguments, constraints)) from None
            if isinstance(returns, dict):
                return result._replace(**{f: quantity(getattr(result, f), spec) for f, spec in returns.items()})
            return result if returns is None else quantity(result, returns)

        @functools.wraps(function)
        def si(*args, **kwargs):
            # signature.bind takes longer than most of what is called in this way
            names = *signature.parameters, "one too many"  # about which Python complains
            args = [converted(name, value, in_range) for name, value in zip(names, args, strict=False)]
            return function(*args, **{name: converted(name, value, in_range) for name, value in kwargs.items()})

        learner.si, learner.constraints = si, constraints
        learner.__doc__ = f"{inspect.cleandoc(function.__doc__ or '')}\n\n{_declared(returns, constraints)}"
        return learner

    return wrap


def _declared(returns, constraints):
    """What a declaration says, for the docstring."""
    lines = [f"    {name} : [{c.unit or '1'}], {c.allowed()}" for name, c in constraints.items()]
    shown = returns.items() if isinstance(returns, dict) else [("returns", returns)] if returns is not None else []
    lines += [f"    {name} : [{spec.split('->')[-1].strip() or '1'}]" for name, spec in shown]
    return "\n".join(["Takes and returns", "", *lines])


def _do_not_fit(call, arguments, constraints):
    shapes = {name: " × ".join(map(str, np.shape(value))) for name, value in arguments.items() if name in constraints}
    given = ", ".join(f"{name} has {shape}" for name, shape in shapes.items() if shape)
    given = given or "those inside have different numbers of"
    return f"{call}: arrays that do not go together: {given} values. Try one value, or as many in each."


class gives:
    """A read-only property computed in SI floats and shown as a quantity.

    ``thing.mass`` is a quantity; ``Thing.mass.si(thing)`` is the plain SI value.
    """

    def __init__(self, spec):
        self.spec = spec

    def __call__(self, function):
        self.si, self.__doc__ = function, function.__doc__
        return self

    def __get__(self, obj, owner=None):
        return self if obj is None else quantity(self.si(obj), self.spec)
