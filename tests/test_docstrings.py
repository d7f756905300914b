"""Public functions say what they do: a sentence, an example that runs; what a declaration knows is added to it."""

import importlib
import inspect
import pkgutil
import re

import pytest

import cellkit


def _public():
    """Each function of cellkit that has a plain SI form, by its full name."""
    for module in pkgutil.walk_packages(cellkit.__path__, "cellkit."):
        inside = importlib.import_module(module.name)
        for name, thing in vars(inside).items():
            at_home = inspect.isfunction(thing) and thing.__module__ == inside.__name__
            if at_home and not name.startswith("_") and hasattr(thing, "si"):
                yield f"{module.name}.{name}", thing


FUNCTIONS = dict(_public())
# these say "see from_molarity" and have nothing to add to it
SEE = {name for name, f in FUNCTIONS.items() if re.search(r"; see :func:`\w+`\.\n", f.__doc__ or "")}


def test_there_is_something_to_look_at():
    assert len(FUNCTIONS) >= 25
    assert len(SEE) <= 4


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_summary_is_one_sentence(name):
    summary = inspect.getdoc(FUNCTIONS[name]).split("\n\n")[0]
    assert summary.endswith(".")
    assert len(summary) < 200


@pytest.mark.parametrize("name", sorted(set(FUNCTIONS) - SEE))
def test_an_example_runs(name):
    """Run it does because pytest collects it."""
    assert ">>> " in FUNCTIONS[name].__doc__


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_what_the_declaration_knows_is_said_once(name):
    """Each argument with its unit and range stands under its own heading, and no section of the text repeats it."""
    function = FUNCTIONS[name]
    words, _, declared = function.__doc__.partition("Takes and returns")
    for argument, constraint in function.constraints.items():
        assert f"    {argument} : [{constraint.unit or '1'}], {constraint.allowed()}" in declared
    assert not re.search(r"^\s*(Parameters|Returns|Raises)\n\s*-+$", words, re.MULTILINE)


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_words_in_backticks_are_real(name):
    """A name that is set off as code and looks like an argument is one, or a constant of the module, or a result."""
    function, words = FUNCTIONS[name], FUNCTIONS[name].__doc__.partition("Takes and returns")[0]
    module = inspect.getmodule(function)
    for word in re.findall(r"``([a-z_]+)``", words):
        known = set(inspect.signature(function).parameters) | set(vars(module))
        fields = re.findall(r":class:`(?:~cellkit\.\w+\.)?(\w+)`", words)
        known |= {f for c in fields for f in getattr(getattr(module, c, None), "_fields", ())} | set(dir(function))
        assert word in known, word
