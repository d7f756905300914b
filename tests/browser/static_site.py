"""The in-browser edition on a free local port, and a Chromium that reaches nothing else."""

import functools
import gzip
import http.server
import importlib.machinery
import importlib.util
import json
import re
import socketserver
import threading
from contextlib import contextmanager
from urllib.parse import urlsplit

import lab
import pyodide_folder

CODE = "[...jupyterapp.shell.currentWidget.content.model.cells].filter(c => c.type === 'code')"
SHUT = re.compile(r"\.(whl|zip|png|ico|woff2?|gz)$")  # compressed already: a server sends these as they are
# what a Chromium asks its maker on its own, whatever page is open
OF_THE_BROWSER = ("update.googleapis.com", "content-autofill.googleapis.com", "accounts.google.com")


def builder():
    """The script that builds the site, as a module."""
    loader = importlib.machinery.SourceFileLoader("build_site", str(lab.NOTEBOOKS.parent / ".ci" / "build_site"))
    module = importlib.util.module_from_spec(importlib.util.spec_from_loader("build_site", loader))
    loader.exec_module(module)
    return module


def built(out):
    """Build the site in ``out`` with a local Python, and let its pages be driven from outside; returns ``out``."""
    builder().build(out, pyodide_folder.folder())
    settings = out / "jupyter-lite.json"
    site = json.loads(settings.read_text(encoding="utf-8"))
    site["jupyter-config-data"]["exposeAppInBrowser"] = True
    settings.write_text(json.dumps(site), encoding="utf-8")
    return out


@contextmanager
def _listening(handler):
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()


@contextmanager
def served(site):
    """``site`` as ``python -m http.server`` offers it; yields its address and the list of what is asked for."""
    asked = []

    class Files(http.server.SimpleHTTPRequestHandler):
        def log_request(self, code="-", size="-"):
            asked.append((urlsplit(self.path).path, int(code)))

        def log_message(self, *_):
            pass

    with _listening(functools.partial(Files, directory=site)) as address:
        yield f"http://{address}", asked


@contextmanager
def shut_in_browser(playwright, other_computer="other.test"):
    """A Chromium whose way out is refused, for pages and workers alike; yields it and the list of what was tried.

    ``other_computer`` is a name for this one that the browser takes for another.
    """
    tried = []

    class Refuse(socketserver.StreamRequestHandler):
        def handle(self):
            _, target, *_ = self.rfile.readline().decode("latin-1").split() or ("", "")
            if target and urlsplit(target if "://" in target else f"//{target}").hostname not in OF_THE_BROWSER:
                tried.append(target)
            self.wfile.write(b"HTTP/1.1 403 Forbidden\r\nContent-Length: 0\r\nConnection: close\r\n\r\n")

    with _listening(Refuse) as proxy:
        names = f"--host-resolver-rules=MAP {other_computer} 127.0.0.1"
        direct = f"--proxy-bypass-list={other_computer}"
        started = lab.launch(playwright, f"--proxy-server={proxy}", direct, names)
        yield started, tried
        started.close()


def open_site(page, address, name):
    """Open the site at ``address`` with the notebook ``name`` and wait until its Python has started."""
    page.set_default_timeout(lab.PATIENCE)
    page.goto(f"{address}/lab/index.html?path={name}")
    page.wait_for_function(f"window.{lab.KERNEL_IS_IDLE}")


def open_beside(page, name):
    """Open the notebook ``name`` on a page where one is open, in the same Python with its names forgotten."""
    page.evaluate(
        """async name => {
          const id = jupyterapp.shell.currentWidget.sessionContext.session.kernel.id;
          await jupyterapp.commands.execute('docmanager:open', {path: name, kernel: {id}});
        }""",
        name,
    )
    page.wait_for_function(
        f"n => jupyterapp.shell.currentWidget?.context?.path === n && {lab.KERNEL_IS_IDLE}", arg=name
    )
    page.evaluate(
        """async () => {
          const kernel = jupyterapp.shell.currentWidget.sessionContext.session.kernel;
          await kernel.requestExecute({code: '%reset -f'}).done;
        }"""
    )


def run_all(page):
    """Run every cell; returns the outputs of each code cell and its tags."""
    page.evaluate("void jupyterapp.commands.execute('notebook:run-all-cells')")
    page.wait_for_function(f"{CODE}.every(c => c.executionCount && c.executionState === 'idle')")
    cells = page.evaluate(f"{CODE}.map(c => ({{tags: c.getMetadata('tags') ?? [], outputs: c.outputs.toJSON()}}))")
    return [(cell["tags"], cell["outputs"]) for cell in cells]


def run_code(page, source):
    """Append a cell with ``source`` to the open notebook and run it; returns its outputs."""
    page.evaluate(
        """source => {
          const notebook = jupyterapp.shell.currentWidget.content;
          notebook.model.sharedModel.addCell({cell_type: 'code', source});
          notebook.activeCellIndex = notebook.widgets.length - 1;
          return jupyterapp.commands.execute('notebook:run-cell');
        }""",
        source,
    )
    return page.evaluate(f"{CODE}.at(-1).outputs.toJSON()")


def weight(site, paths):
    """Bytes of these files as they lie there, and as a server sends them that compresses text."""
    raw = small = 0
    for path in set(paths):
        file = site / path.lstrip("/")
        contents = (file / "index.html" if file.is_dir() else file).read_bytes()
        raw += len(contents)
        small += len(contents) if SHUT.search(path) else len(gzip.compress(contents, 6))
    return raw, small
