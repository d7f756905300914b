"""Lessons played in a kernel far from home, for all the tests that want to know what came of them.

Each lesson is played once in each run of the tests: its solutions, then, with those names forgotten, every cell, and
each again from the last to the first. Tests read that, and may go on in the same kernel. It serves one lesson after the
other, since starting it takes longer than most of them; nbval gives each a fresh one. It has all at once: a working
directory with a space and accents in its name, an empty home folder, a locale with a decimal comma that is not UTF-8,
warnings of cellkit and of the lesson as errors, and, where the system lets a process be shut in, no network device and
the course mounted read-only, which stops even root.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

import nbformat
from jupyter_client.kernelspec import KernelSpecManager
from jupyter_client.manager import AsyncKernelManager
from nbclient import NotebookClient

ROOT = Path(__file__).parent.parent
LESSONS = sorted((ROOT / "notebooks").glob("[!.]*.ipynb"))
WIDGET = "application/vnd.jupyter.widget-view+json"
READ_ONLY = 'mount --bind "$0" "$0" && mount -o remount,ro,bind "$0" && exec "$@"'
START = """
import locale, os, warnings
locale.setlocale(locale.LC_ALL, "")
warnings.simplefilter("ignore", EncodingWarning)
warnings.filterwarnings("error", module="cellkit|__main__")  # a file opened in the system's own encoding is one
"""
ANEW = """
get_ipython().reset()
import os
os.chdir({folder!r})
"""
EXPRESSION = """
import cellkit
plain = not isinstance(my_answer, cellkit.Q_)
print(repr(my_answer) if plain else f'Q_({float(my_answer.magnitude)!r}, "{my_answer.units}")')
"""


@cache
def shut_in():
    """The start of a command that runs without network and cannot write to the course; empty where there is none."""
    for who in ([], ["--map-root-user"]):
        command = ["unshare", *who, "--net", "--mount", "sh", "-c", READ_ONLY, str(ROOT)]
        if shutil.which("unshare") and not subprocess.run([*command, "true"], capture_output=True).returncode:
            return command
    return []


def abroad(folder):
    """Environment of a process in a German Latin-1 locale, made in ``folder`` where it can be, with an empty home."""
    home, made = folder / "home", folder / "locales"
    home.mkdir()
    made.mkdir()
    dropped = ("XDG_", "LC_", "LANG", "JUPYTER", "IPYTHON", "MPL", "PYTHONUTF8")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(dropped)}
    if shutil.which("localedef"):
        command = ["localedef", "-i", "de_DE", "-f", "ISO-8859-1", str(made / "de_DE.ISO-8859-1")]
        subprocess.run(command, capture_output=True)
    spoken = {"LC_ALL": "C"}
    if (made / "de_DE.ISO-8859-1").exists():
        spoken = {"LOCPATH": str(made), "LC_ALL": "de_DE.ISO-8859-1"}
    own = {"HOME": str(home), "USERPROFILE": str(home), "IPYTHONDIR": str(folder / "ipython")}
    strict = {"PYTHONUTF8": "0", "PYTHONWARNDEFAULTENCODING": "1", "PYTHONWARNINGS": "ignore::EncodingWarning"}
    env = kept | spoken | own | strict
    # matplotlib looks for fonts once; where that takes long it says so, which is neither the lesson's fault nor ours
    subprocess.run([sys.executable, "-c", "import matplotlib.font_manager"], env=env, capture_output=True, check=True)
    return env


def copied(cell, source=None):
    return nbformat.v4.new_code_cell(source or cell.source, metadata=cell.metadata)


def code_cells(path):
    return [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]


def printed(cell):
    return "".join(output.get("text", "") for output in cell.outputs)


def shown(cell, pictures=True):
    """What a learner sees below a cell; a live control is another one in each run."""
    seen = []
    for output in cell.outputs:
        data = {kind: value for kind, value in output.get("data", {}).items() if kind != WIDGET}
        if not pictures:
            data.pop("image/png", None)
        words = [output[key] for key in ("name", "text", "ename", "evalue") if key in output]
        seen.append((output.output_type, words, data))
    return seen


class Far:
    """A kernel in the surroundings ``env`` of :func:`abroad`, its files in ``folder``."""

    def __init__(self, env, folder):
        self.work, self._short = folder / "Übung für mich", tempfile.TemporaryDirectory()
        self.work.mkdir()
        (folder / "far").mkdir()
        argv = [*shut_in(), sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
        spec = {"argv": argv, "display_name": "far", "language": "python"}
        (folder / "far" / "kernel.json").write_text(json.dumps(spec), encoding="utf-8")
        specs = KernelSpecManager(kernel_dirs=[str(folder)])
        self._env, self._manager = env, AsyncKernelManager(kernel_name="far", kernel_spec_manager=specs)
        self._client = None
        if shut_in():  # the name of a socket has 107 bytes at most
            self._manager.transport, self._manager.connection_file = "ipc", f"{self._short.name}/k.json"
        self.run([nbformat.v4.new_code_cell(START)])

    def run(self, cells, anew=None):
        """Execute cells; with ``anew`` in this folder, and with no name left of what was executed before."""
        first = [nbformat.v4.new_code_cell(ANEW.format(folder=os.fsencode(anew)))] if anew else []
        self._execute([*first, *cells])
        return cells

    def _execute(self, cells, **options):
        notebook, place = nbformat.v4.new_notebook(cells=cells), {"metadata": {"path": str(self.work)}}
        client = NotebookClient(notebook, km=self._manager, timeout=300, coalesce_streams=True, resources=place)
        client.kc = self._client
        client.execute(env=self._env, **options)
        self._client = client.kc

    def close(self):
        """End the kernel."""
        self._execute([], cleanup_kc=True)
        self._short.cleanup()


class Played:
    """A lesson's code cells ``stored``, as they came out ``once``, and ``again``, backward after all of them.

    Before them its solutions ran: their cells as ``solved``, and what they give in ``right``, an expression for each
    exercise. The ``kernel`` is a :class:`Far`.
    """

    def __init__(self, path, kernel):
        self.path, self.stored = path, code_cells(path)
        self.solutions = code_cells(path.parent / "solutions" / path.name)
        self.solved = [copied(cell) for cell in self.solutions]
        given = {cell.id: nbformat.v4.new_code_cell(EXPRESSION) for cell in self.solutions if "solution-" in cell.id}
        pairs = zip(self.solutions, self.solved, strict=True)
        solving, self._place = (kernel.work / f"{path.stem} {what}" for what in ("solved", "played"))
        solving.mkdir()
        self._place.mkdir()
        kernel.run([each for cell, new in pairs for each in (new, given.get(cell.id)) if each], anew=solving)
        self.right = {name.removeprefix("solution-"): printed(cell).strip() for name, cell in given.items()}
        self.once, self.again = ([copied(cell) for cell in self.stored] for _ in range(2))
        kernel.run([*self.once, *reversed(self.again)], anew=self._place)
        self._kernel, self._anew = kernel, None

    def run(self, cells, anew=None):
        """As :meth:`Far.run`; after others went on ``anew`` the lesson is played once more, so no order matters."""
        back, self._anew = self._anew and not anew, anew
        if back:
            self._kernel.run([copied(cell) for cell in self.stored], anew=self._place)
        return self._kernel.run(cells, anew)
