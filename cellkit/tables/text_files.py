"""What all text files of the course share: their encoding, separator and decimal mark, and units as people write them.

No text of a file is evaluated: a number and a unit have to have the form of one before anything computes with them.
"""

import csv
import re

from cellkit.units import Q_, InputError, ureg

SEPARATORS = ",;\t|"
NUMBER = re.compile(r"[-+]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)(?:[eE][-+]?[0-9]{1,3})?")
_FACTOR = r"(?:1|[a-zµμΩΩ°%]+(?:_[a-z]+)?(?:(?:\^|\*\*)?-?[0-9](?:\.[0-9])?)?)"
UNIT = re.compile(rf"{_FACTOR}(?: ?[*·/ ] ?{_FACTOR}){{0,4}}", re.IGNORECASE)
_SPELT = {"²": "2", "³": "3", "⁻": "-", "¹": "1", "·": "*", "°C": "degC", "°F": "degF", "°": "deg", "%": "percent"}


def decoded(path, work):
    """What ``work`` makes of the open file: UTF-8, UTF-16 or, where it is neither, the Western code page 1252."""
    try:
        with path.open("rb") as file:
            head = file.read(2000)
        wide = {"utf-16": head[:2] in (b"\xff\xfe", b"\xfe\xff")}
        wide |= {f"utf-16-{end}": head[at::2].count(0) > 0.4 * len(head) for end, at in (("le", 1), ("be", 0))}
        for encoding in (*(name for name, so in wide.items() if so), "utf-8-sig", "cp1252"):
            try:
                with path.open(encoding=encoding) as file:
                    return work(file)
            except UnicodeError:
                pass
    except csv.Error as error:
        raise InputError(f"{path.name} cannot be read as CSV ({error}). Save it anew as 'CSV UTF-8'.") from None
    except OSError as error:
        raise InputError(f"{path.name} cannot be read: {error.strerror}. Try a copy in a folder of yours.") from None
    raise InputError(f"{path.name} is not text. Save it anew as 'CSV UTF-8'.")


def number(text, separator):
    """A text as a float; a decimal comma counts where the comma is no separator. ValueError for all else."""
    text = text.replace("\N{MINUS SIGN}", "-")
    if len(text) > 40 or not NUMBER.fullmatch(text) or ("," in text and separator == ","):
        raise ValueError
    return float(text.replace(",", "."))


def read_unit(text):
    """A pint unit from a text such as ``g/cm3``, ``mol L^-1`` or ``°C``; an InputError for all that is not its form."""
    plain = re.sub(r"\s+", " ", text.strip())
    for spelt, means in _SPELT.items():
        plain = plain.replace(spelt, means)
    if len(plain) > 40 or not (plain == "" or UNIT.fullmatch(plain)):
        raise InputError(f"{text[:40]!r} is no unit. Write it like g/cm^3.")
    plain = re.sub(r"(?<=[^\W\d])(?:\^|\*\*)?(-?[0-9](?:\.[0-9])?)", r"**\1", plain)
    try:
        return ureg.Unit("" if plain == "1" else re.sub(r"(?<=\w) (?=\w)", "*", plain))
    except Exception:  # pint answers an unreadable unit with many kinds of error
        raise InputError(f"{text[:40]!r} is no unit that is known. Write it like g/cm^3.") from None


def read_quantity(text):
    """A quantity from a text such as ``0.34 V`` or ``3``: one number and one unit, with nothing to be computed."""
    found = re.match(r"\s*(\S*?[0-9.,](?:[eE][-+]?[0-9]+)?)\s*(?=[^0-9.,]|$)(.*)", str(text)[:200], re.DOTALL)
    try:
        return Q_(number(found[1], ";"), read_unit(found[2]))
    except (TypeError, ValueError):  # an InputError is one
        raise InputError(f"{str(text)[:40]!r} is not a number with its unit. Write it like '0.34 V'.") from None
