"""Is this Python what the course was made for? Compared with the installed package's own metadata."""

import platform
from importlib import metadata


def check_environment(distribution="cellkit"):
    """Say in words whether Python and the packages here are new enough for an installed ``distribution``.

    The sentence for a good environment holds no version, so that it is the same on every machine.

    >>> print(check_environment())
    Python and 7 packages: everything is in place.
    """
    from packaging.requirements import Requirement  # every installation of matplotlib brings it

    python = f"python{metadata.metadata(distribution)['Requires-Python']}"
    needed = [Requirement(text) for text in [python, *metadata.requires(distribution)] if "extra ==" not in text]
    needed = [package for package in needed if package.marker is None or package.marker.evaluate()]
    faults = []
    for package in needed:
        found = _installed(package.name)
        if found is None:
            faults.append(f"{package.name} is missing; it has to be {package.specifier}.")
        elif not package.specifier.contains(found, prereleases=True):
            faults.append(f"{package.name} is {found}; it has to be {package.specifier}.")
    if not faults:
        return f"Python and {len(needed) - 1} packages: everything is in place."
    return "\n".join([*faults, "Close JupyterLab, delete the folder .venv, run the first command of README.md again."])


def _installed(name):
    if name == "python":
        return platform.python_version()
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None
