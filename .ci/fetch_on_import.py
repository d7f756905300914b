"""Fetch a package of the browser edition when a line of Python first imports it, and not before.

Pyodide loads all that a cell's packages might need before the cell runs, and compiles every part of them. A worker may
also wait for a file in the middle of an import, in every browser; then only what is imported is fetched and compiled.
"""

import contextlib
import importlib
import io
import sys
import zipfile
from importlib import metadata
from site import getsitepackages

import pyodide_js
from IPython import get_ipython
from js import XMLHttpRequest
from pyodide.ffi import JsException


class _Promised(metadata.Distribution):
    """What the lock file knows of a package that is not there yet."""

    def __init__(self, record):
        self.record = record

    def read_text(self, filename):
        return "Name: {name}\nVersion: {version}\n".format_map(self.record) if filename == "METADATA" else None

    def locate_file(self, path):
        return path


class OnImport:
    """The finder that Python asks first: it fetches the package a name belongs to and lets the others find it."""

    def __init__(self, lock, base):
        self.base = base
        self.packages = {record["name"]: record for record in lock["packages"].values() if record.get("on_import")}
        self.owner = {top: name for name, record in self.packages.items() for top in record["on_import"]}

    def find_spec(self, name, path=None, target=None):
        loading = sys.modules.get("pint.compat")
        if name == "scipy" and loading and loading.__spec__._initializing:
            return None  # pint asks whether it is there, and does without
        if record := self.packages.get(self.owner.get(name)):
            request = XMLHttpRequest.new()
            request.open("GET", self.base + record["file_name"], False)
            request.responseType = "arraybuffer"
            with contextlib.suppress(JsException):  # without a network it raises, and its status is 0
                request.send()
            if request.status != 200:
                raise ImportError(f"{name} could not be fetched. Is there a network? Then run the cell again.")
            wheel = zipfile.ZipFile(io.BytesIO(request.response.to_bytes()))
            wheel.extractall(getsitepackages()[0])
            del self.packages[record["name"]]
            setattr(pyodide_js.loadedPackages, record["name"], "pyodide")
            importlib.invalidate_caches()
        return None

    def find_distributions(self, context):
        return [_Promised(each) for each in self.packages.values() if context.name in (None, each["name"])]


get_ipython().Completer.use_jedi = False  # this stands in its place
sys.meta_path.insert(0, OnImport(pyodide_js.lockfile.to_py(), pyodide_js.lockfileBaseUrl))
