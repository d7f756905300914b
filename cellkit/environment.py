"""Is this Python what the course was made for? Compared with the installed package's own metadata."""

import platform
import re
import sys
from importlib import metadata


def check_environment(distribution="cellkit"):
    """Say in words whether Python and the packages here are new enough for ``distribution``.

    The sentence for a good environment holds no version, so that it is the same on every machine.

    Parameters
    ----------
    distribution : str
        Name of an installed package whose requirements all have the form ``name>=version``.

    Returns
    -------
    str
        One line if all is well; otherwise a line for each fault, and what to do.

    Raises
    ------
    importlib.metadata.PackageNotFoundError
        If ``distribution`` is not installed in this Python.

    Examples
    --------
    >>> print(check_environment())
    Python and 7 packages: everything is in place.
    """
    needed = {"Python": metadata.metadata(distribution)["Requires-Python"].removeprefix(">=")}
    for requirement in metadata.requires(distribution):
        requirement, _, marker = requirement.partition(";")
        if "extra" not in marker and not ("emscripten" in marker and sys.platform == "emscripten"):
            name, _, least = requirement.partition(">=")
            needed[name] = least
    faults = []
    for name, least in needed.items():
        found = _installed(name)
        if found is None:
            faults.append(f"{name} is missing; it has to be {least} or newer.")
        elif _numbers(found) < _numbers(least):
            faults.append(f"{name} is {found}; it has to be {least} or newer.")
    if not faults:
        return f"Python and {len(needed) - 1} packages: everything is in place."
    return "\n".join([*faults, "Close JupyterLab, delete the folder .venv, run the first command of README.md again."])


def _installed(name):
    if name == "Python":
        return platform.python_version()
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def _numbers(version):
    return tuple(int(part) for part in re.findall(r"\d+", version)[:3])
