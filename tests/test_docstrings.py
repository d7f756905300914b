"""Public functions say what they take: every parameter by name, and each section that a learner looks for."""

import importlib
import inspect
import pkgutil
import re

import pytest

import cellkit

SECTIONS = ("Parameters", "Returns", "Raises", "Examples", "References")


def _public():
    """Each function of cellkit that has a plain SI form, by its full name."""
    for module in pkgutil.walk_packages(cellkit.__path__, "cellkit."):
        inside = importlib.import_module(module.name)
        for name, thing in vars(inside).items():
            at_home = inspect.isfunction(thing) and thing.__module__ == inside.__name__
            if at_home and not name.startswith("_") and hasattr(thing, "si"):
                yield f"{module.name.split('.')[-1]}.{name}", thing


FUNCTIONS = dict(_public())
# these say "see from_molarity" and have nothing to add to it
SEE = {name for name, f in FUNCTIONS.items() if re.search(r"; see :func:`\w+`\.$", f.__doc__ or "")}
WHOLE = sorted(set(FUNCTIONS) - SEE)


def _section(doc, name):
    found = re.search(rf"^{name}\n-{{{len(name)}}}\n(.*?)(?=^\w+\n-+\n|\Z)", doc, re.M | re.S)
    return found[1] if found else ""


def _named(doc):
    """Names in the Parameters section: each line at its margin, before the colon."""
    heads = [line.split(":")[0] for line in _section(doc, "Parameters").splitlines() if line and line[0] != " "]
    return [name.strip() for head in heads for name in head.split(",")]


def test_there_is_something_to_look_at():
    assert len(WHOLE) >= 12
    assert len(SEE) <= 4


@pytest.mark.parametrize("name", WHOLE)
def test_every_parameter_is_named_and_no_other(name):
    function = FUNCTIONS[name]
    assert _named(inspect.getdoc(function)) == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("name", WHOLE)
@pytest.mark.parametrize("section", SECTIONS)
def test_every_section_is_there(name, section):
    assert _section(inspect.getdoc(FUNCTIONS[name]), section).strip()


@pytest.mark.parametrize("name", WHOLE)
def test_quantities_carry_their_unit(name):
    section = _section(inspect.getdoc(FUNCTIONS[name]), "Parameters")
    assert all("[" in line for line in section.splitlines() if re.match(r"\S.*: Quantity", line))


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_summary_is_one_sentence(name):
    summary = inspect.getdoc(FUNCTIONS[name]).split("\n\n")[0]
    assert summary.endswith(".")
    assert len(summary) < 200
