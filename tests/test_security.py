"""What a learner types or reads from a file is shown and never run; nothing here opens a door.

``tests/browser/live/test_escaping.py`` looks at the same in a real page.
"""

import ast
import configparser
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from urllib.parse import urlsplit

import nbformat
import psutil
import pytest
from jupyter_client.manager import KernelManager
from jupyter_server.serverapp import ServerApp
from jupyter_server.services.kernels.kernelmanager import MappingKernelManager
from nbconvert import HTMLExporter
from traitlets.config.loader import PyFileConfigLoader

import cellkit as ck
from cellkit import Q_, InputError
from cellkit.show.exercises import DONE, Exercises
from cellkit.show.sheet import Sheet

ROOT = Path(__file__).parent.parent
HOSTILE = [
    "<script>window.pwned = 1</script>",
    '"><img src="x" onerror="window.pwned = 1">',
    "'><svg onload='window.pwned = 1'>",
    "</textarea></title></style><iframe srcdoc='<script>parent.pwned = 1</script>'>",
    "&lt;script&gt;&#60;script&#62;",
    "[a](javascript:window.pwned=1)",
]
DOLLARS = ["costs $5 and $6", "$x^{2$", r"$\undefined$"]


class Page(HTMLParser):
    """Tags with their attributes, and the text between them."""

    def __init__(self, page):
        super().__init__()
        self.tags, self.words = [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.words.append(data)


# ---- pages


@pytest.mark.parametrize("words", HOSTILE)
def test_a_panel_shows_words_as_words(words):
    page = Page("".join(ck.show.live.frame(b"png", words, 2)))
    assert [tag for tag, _ in page.tags] == ["img", "p"]
    assert set(page.tags[0][1]) == {"width", "height", "decoding", "data-rows", "onload", "alt", "src"}
    assert page.tags[0][1]["onload"] == ck.show.live.SPOKEN
    assert not page.tags[1][1]
    assert page.tags[0][1]["alt"] == "".join(page.words) == words


@pytest.mark.parametrize("words", HOSTILE)
def test_a_sheet_shows_words_as_words(words):
    def page(words):
        lines = "\n".join(f"{mark} {words}" for mark in "#-+!") + f"\n| {words} | {words} | {words}"
        return Page(Sheet(words, words, "\n" + lines).html)

    assert page(words).tags == page("plain").tags
    assert page(words).words.count(words) == 8  # both titles, summary, heading; a row has three


def names(tree):
    """Every name, attribute and text in a piece of Python."""
    for node in ast.walk(tree):
        yield node, getattr(node, "id", None) or getattr(node, "attr", None) or getattr(node, "value", None)


def test_two_places_make_html():
    """Whatever else would hand markup to a page has to come by here first."""
    found = []
    for path in sorted((ROOT / "cellkit").rglob("*.py")):
        for node, name in names(ast.parse(path.read_text(encoding="utf-8"))):
            marked = r"HTML(Math)?|Markdown|Latex|SVG|Javascript|text/(html|markdown|latex)|image/svg\+xml"
            marked += r"|application/javascript|description_allow_html|_repr_(html|markdown|latex|svg|javascript)_"
            if isinstance(name, str) and re.fullmatch(marked, name):
                found.append((path.name, name, type(node).__name__))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and re.fullmatch(r"_repr_(?!mimebundle)\w+_", node.name):
                found.append((path.name, node.name, "def"))
    # a panel's picture with its sentence, and its style; a build sheet
    html = [("live.py", "HTML", "Attribute")]
    assert found == [*html, *html, *html, ("sheet.py", "_repr_html_", "def")]


def exported(*outputs):
    """A notebook page with these outputs."""
    cell = nbformat.v4.new_code_cell("1", outputs=list(outputs))
    return Page(HTMLExporter().from_notebook_node(nbformat.v4.new_notebook(cells=[cell]))[0])


@pytest.mark.parametrize("words", HOSTILE)
def test_a_page_without_kernel_shows_words_as_words(words):
    """Picture, print and error of a stored notebook, as nbconvert and so the static site write them."""
    picture = ck.show.mass_bars({words: Q_(3, "g"), "other": Q_(2, "g")})
    assert words in picture.sentence
    data, metadata = picture.bundle()
    data["image/png"] = "AAAA"
    with pytest.raises(InputError) as refused:
        ck.show.build_sheet(ck.designs.read_design("osier_yard_design.csv"), words)
    said = f"{picture.sentence} {refused.value}"
    plain_metadata = {"image/png": metadata["image/png"] | {"alt": "plain"}}
    plain, page = (
        exported(
            nbformat.v4.new_output("display_data", data, metadata=about),
            nbformat.v4.new_output("stream", name="stdout", text=text),
            nbformat.v4.new_output("error", ename="InputError", evalue=text, traceback=[text]),
        )
        for about, text in ((plain_metadata, "plain"), (metadata, said))
    )
    assert [tag for tag, _ in page.tags] == [tag for tag, _ in plain.tags]
    assert [sorted(attrs) for _, attrs in page.tags] == [sorted(attrs) for _, attrs in plain.tags]
    assert "".join(page.words).count(picture.sentence) == 2


PRICES = "item,value,unit,note\n"
LOG = "time_min,voltage_V,current_A,{}\n0,1.31,0,{}\n10,1.25,0.3,{}\n20,1.25,0.3,{}\n"


@pytest.mark.parametrize("words", [*HOSTILE, *DOLLARS, "=cmd|' /C calc'!A0", "\x1b[31m", "../../x"])
def test_a_header_or_a_note_is_only_text(tmp_path, words):
    """Other columns are ignored, whatever they are called and hold; the picture has nothing of them."""
    quoted = '"' + words.replace('"', '""') + '"'
    path = tmp_path / "my_log.csv"
    path.write_text(LOG.format(quoted, quoted, quoted, quoted), encoding="utf-8")
    log = ck.logs.read_bench_log(path)
    plain = tmp_path / "plain" / path.name
    plain.parent.mkdir()
    plain.write_text(LOG.format("note", "", "", ""), encoding="utf-8")
    assert str(log) == str(ck.logs.read_bench_log(plain))
    picture = ck.show.volts_and_amperes(log, "copper")
    assert words not in picture.sentence
    picture.png(1)


@pytest.mark.parametrize("words", DOLLARS)
def test_dollars_in_a_name_are_no_formula(tmp_path, words):
    rows = "".join(f'"{words}",20,{day},{1000 - 10 * day}\n' for day in range(5))
    path = tmp_path / "shelf.csv"
    path.write_text("cell,temperature_degC,time_day,capacity_mAh\n" + rows, encoding="utf-8")
    pictures = [
        ck.show.mass_bars({words: Q_(3, "g")}),
        ck.show.curves([0, 1], {words: [0, 1]}, "Time / s", "Voltage / V", levels={words: 1}),
        ck.show.shelf_measurements(ck.logs.read_shelf_log(path)),
    ]
    for picture in pictures:
        picture.png(1)
        drawn = [
            text for text in picture.figure.findobj(ck.show.figures.Text) if text.get_text().replace("\n", " ") == words
        ]
        assert drawn
        assert not any(text.get_parse_math() for text in drawn)


# ---- names of files


@pytest.mark.parametrize("words", [*HOSTILE, "../../x", "/etc/x", "..\\x", "CON", "a\0b", "~/x", "x" * 70])
def test_no_text_becomes_the_name_of_a_file(tmp_path, monkeypatch, capsys, words):
    """A title, an exercise and an answer go into a file, never into its name."""
    inside = tmp_path / "a" / "b"
    inside.mkdir(parents=True)
    monkeypatch.chdir(inside)
    file = "from cellkit.show import Exercise\nglobals()[{!a}] = lambda: Exercise({!a})\n"
    (inside / "04.py").write_text(file.format(words.replace(" ", "_"), words), encoding="utf-8")
    ask = Exercises("04.py")
    ask(words, words)
    ask.progress()
    sheet = Sheet(words, "My cell.", "")
    sheet.save("my_cell.txt")
    assert sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*")) == [
        "a",
        "a/b",
        "a/b/04.py",
        "a/b/my_cell.txt",
        f"a/b/{DONE}",
    ]
    assert json.loads(Path(DONE).read_text(encoding="utf-8")) == {"04": [words]}
    assert f"done  {words}" in capsys.readouterr().out


# ---- code

FORBIDDEN = {
    *("eval", "exec", "__import__", "pickle", "cPickle", "_pickle", "dill", "joblib", "marshal", "shelve"),
    *("read_pickle", "allow_pickle", "os.system", "os.popen", "os.startfile", "getoutput", "getstatusoutput"),
    *("yaml.load", "yaml.unsafe_load", "unsafe_load", "create_subprocess_shell", "pty", "ctypes", "telnetlib"),
}


def dangers(tree):
    """What a piece of Python does that the course does not do."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id in FORBIDDEN:
            yield node.id
        if isinstance(node, ast.Attribute):
            yield from {node.attr, f"{getattr(node.value, 'id', '')}.{node.attr}"} & FORBIDDEN
        if isinstance(node, ast.Import):
            yield from {name.name.split(".")[0] for name in node.names} & FORBIDDEN
        if isinstance(node, ast.ImportFrom):
            module = (node.module or "").split(".")[0]
            taken = {name.name for name in node.names}
            yield from ({module} | taken | {f"{module}.{name}" for name in taken}) & FORBIDDEN
        if isinstance(node, ast.keyword) and node.arg in ("shell", "allow_pickle"):
            allowed = isinstance(node.value, ast.Constant) and node.value.value is False
            yield from () if allowed else (node.arg,)


def sources():
    """All Python of the course that a learner or whoever installs it runs, by name."""
    scripts = [*(ROOT / ".ci").iterdir(), *(ROOT / ".hub").iterdir(), *(ROOT / ".binder").iterdir()]
    scripts = [path for path in scripts if path.is_file() and "python" in path.read_text("utf-8").split("\n")[0]]
    for path in {
        *scripts,
        *(ROOT / ".hub").glob("*.py"),
        *(folder for top in ("cellkit", "notebooks", "data") for folder in (ROOT / top).rglob("*.py")),
    }:
        yield path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
    for path in (ROOT / "notebooks").rglob("[!.]*.ipynb"):
        for cell in nbformat.read(path, as_version=4).cells:
            if cell.cell_type == "code":
                yield f"{path.stem} {cell.id}", cell.source


def test_no_code_is_made_of_text_and_no_shell_is_called():
    """A notebook's line that is no Python, such as one that starts with ``!``, does not parse and fails too."""
    found = {name: sorted(set(dangers(ast.parse(text)))) for name, text in sources()}
    assert len(found) > 200
    assert {"cellkit/units.py", ".hub/jupyterhub_config.py", ".ci/run_notebooks"} <= set(found)
    assert {name: what for name, what in found.items() if what} == {}


@pytest.mark.parametrize(
    "line",
    [
        "eval('1')",
        "import pickle",
        "from os import system",
        "import os; os.system('x')",
        "import subprocess as s; s.run('x', shell=True)",
        "import numpy as np; np.load('x', allow_pickle=True)",
        "import yaml; yaml.load('x')",
        "from pickle import loads",
        "f = exec",
    ],
)
def test_the_test_sees_what_it_looks_for(line):
    assert list(dangers(ast.parse(line)))


def test_a_pattern_is_no_danger():
    assert list(dangers(ast.parse("import re; re.compile('x'); run('x', shell=False)"))) == []


# ---- doors


def test_actions_are_pinned_to_a_commit():
    for path in (ROOT / ".github" / "workflows").glob("*.y*ml"):
        text = path.read_text(encoding="utf-8")
        used = re.findall(r"uses:\s*(.*)", text)
        assert used
        assert [line for line in used if not re.fullmatch(r"[\w./-]+@[0-9a-f]{40}  ?# v\d+\.\d+\.\d+", line)] == []
        assert re.search(r"^permissions:\n  contents: read$", text, re.MULTILINE)
        assert "pull_request_target" not in text
        assert "secrets." not in text


OPEN = re.compile(
    r"--(ServerApp\.)?ip[= ]*['\"]?(0\.0\.0\.0|\*|::)|(token|password)[= ]*(''|\"\")|--allow-root"
    r"|disable_check_xsrf|allow_origin|DummyAuthenticator|allow_all"
)


def test_nothing_says_to_leave_the_door_open():
    """Commands in READMEs, lessons, scripts and settings."""
    where = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "notebooks").rglob("*.md")]
    fence = re.compile(r"```\w*\n(.*?)```", re.DOTALL)
    text = {path.relative_to(ROOT).as_posix(): "\n".join(fence.findall(path.read_text("utf-8"))) for path in where}
    assert "notebooks/start.py" in text["README.md"]
    for folder in (".ci", ".hub", ".binder", ".github/workflows"):
        text |= {path.name: path.read_text("utf-8") for path in (ROOT / folder).iterdir() if path.is_file()}
    text |= dict(sources())
    assert {name: found[0] for name, words in text.items() if (found := OPEN.search(words))} == {}


def test_the_readme_says_what_not_to_turn_off():
    text = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    assert "Do not set `--ip=0.0.0.0`, an empty token or an empty password" in text


def load_hub(course):
    """The hub's configuration in a folder, and the mask that it sets; this process gets its own back."""
    before = os.umask(0o022)
    try:
        config = PyFileConfigLoader("jupyterhub_config.py", path=f"{course}/.hub").load_config()
    finally:
        mask = os.umask(before)
    return config, mask


@pytest.fixture(scope="module")
def hub():
    return load_hub(ROOT)


def test_the_hub_listens_here_only_and_asks_who_it_is(hub):
    config, _ = hub
    assert urlsplit(config.JupyterHub.bind_url).hostname == "127.0.0.1"
    assert config.PAMAuthenticator.allowed_groups == {"learners"}
    assert "authenticator_class" not in config.JupyterHub  # the accounts of the machine are the default
    assert not {"ip", "hub_ip", "hub_bind_url", "admin_access"} & set(config.JupyterHub)
    assert not {"ip", "disable_user_config"} & set(config.Spawner)
    assert list(config.Spawner.environment) == ["JUPYTER_CONFIG_PATH"], "and nothing of the hub's own"


def test_what_the_hub_keeps_and_what_learners_say_is_closed_to_others(hub):
    from jupyterlab.labapp import LabApp  # all of JupyterLab, which no other test here needs

    config, mask = hub
    assert mask == 0o077
    state = "/var/lib/jupyterhub/"
    assert config.JupyterHub.db_url == f"sqlite:///{state}jupyterhub.sqlite"
    assert config.JupyterHub.cookie_secret_file.startswith(state)
    assert config.ConfigurableHTTPProxy.pid_file.startswith(state)
    given = dict(argument.removeprefix("--").split("=") for argument in config.Spawner.args)
    # a name that the servers do not know is passed over in silence
    known = {KernelManager: ["transport"], MappingKernelManager: ["cull_idle_timeout", "cull_connected"]}
    known |= {ServerApp: ["shutdown_no_activity_timeout", "jpserver_extensions"]}
    known |= {LabApp: ["app_settings_dir", "extension_manager"]}
    assert set(given) == {f"{owner.__name__}.{name}" for owner, names in known.items() for name in names}
    assert all(set(names) <= set(owner.class_traits()) for owner, names in known.items())
    assert given["KernelManager.transport"] == "ipc"
    assert given["MappingKernelManager.cull_connected"] == "True"
    # nor does a page know what is gone from JupyterLab
    page = Path(config.Spawner.environment["JUPYTER_CONFIG_PATH"], "labconfig", "page_config.json").read_text()
    bundles = [path.read_text(encoding="utf-8") for path in Path(LabApp().static_dir).glob("jlab_core*.js")]
    for extension in json.loads(page)["disabledExtensions"]:
        assert any(f'"{extension}"' in text for text in bundles)
    waits = [int(value) for name, value in given.items() if name.endswith("timeout")]
    assert all(3600 < wait <= 4 * 3600 for wait in waits), "longer than a break, shorter than a day"


@pytest.mark.skipif(shutil.which("prlimit") is None, reason="the hub is for Linux")
def test_a_learner_has_limits(hub):
    """The command that starts a learner's server hands its limits on to all that it starts."""
    command = hub[0].Spawner.cmd
    limits = command[: command.index(sys.executable)]
    told = "import resource as r; print(r.getrlimit(r.RLIMIT_NPROC)[1], r.getrlimit(r.RLIMIT_DATA)[1])"
    said = subprocess.run([*limits, sys.executable, "-c", told], capture_output=True, text=True, check=True)
    processes, memory = map(int, said.stdout.split())
    assert 200 < processes < 5000
    assert 2**30 < memory < 8 * 2**30


def test_the_unit_and_the_web_server_fit_the_hub(hub):
    config, _ = hub
    unit = configparser.ConfigParser(interpolation=None)
    unit.optionxform = str
    unit.read(ROOT / ".hub" / "jupyterhub.service")
    service = unit["Service"]
    assert f"/var/lib/{service['StateDirectory']}/" in config.JupyterHub.cookie_secret_file
    assert service["StateDirectoryMode"] == "0700"
    assert service["ExecStart"].endswith("/.hub/jupyterhub_config.py")
    site = (ROOT / ".hub" / "nginx_site.conf").read_text(encoding="utf-8")
    assert f"proxy_pass {config.JupyterHub.bind_url};" in site
    plain, shut = re.split(r"^server ", site, flags=re.MULTILINE)[1:]
    assert "listen 80;" in plain
    assert "return 301 https://" in plain
    assert "proxy_pass" not in plain
    assert re.findall(r"listen .*;", shut) == ["listen 443 ssl;"]
    assert re.findall(r"ssl_protocols (.*);", shut) == ["TLSv1.2 TLSv1.3"]  # RFC 8996 gives up those before


@pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root may act for another account")
def test_the_hub_brings_lessons_with_the_learners_rights(monkeypatch):
    """No file of root's is given away, through a link or otherwise, and what is there is not touched."""
    # pytest's own folder is closed to other accounts, and this checkout may be
    with tempfile.TemporaryDirectory() as home, tempfile.TemporaryDirectory() as course:
        os.chown(home, 65534, 65534)
        os.chmod(home, 0o755)
        os.chmod(course, 0o755)
        for part in (".hub", "notebooks", "data/bench"):
            shutil.copytree(ROOT / part, Path(course, part))
        Path(course, "notebooks", "my_spoilt_log.csv").write_text("left by a run of lesson 05")
        config, mask = load_hub(course)
        account = SimpleNamespace(pw_uid=65534, pw_gid=65534, pw_dir=home)
        monkeypatch.setattr("pwd.getpwnam", lambda name: account)
        spawner = SimpleNamespace(user=SimpleNamespace(name="learner01"))
        before = os.umask(mask)
        try:
            config.Spawner.pre_spawn_hook(spawner)
        finally:
            os.umask(before)
        made = [Path(home), *Path(home).rglob("*")]
        assert len(made) > 20
        assert {path.stat().st_uid for path in made} == {65534}
        assert {path.stat().st_mode & 0o077 for path in made} == {0}, "learners cannot read each other"
        templates = {path.name for path in (ROOT / "data" / "bench").glob("*_template.csv")}
        assert templates == {path.name for path in Path(home, "course").glob("*.csv")}
        (Path(home, "course") / "00_start_here.ipynb").write_text("mine")
        config.Spawner.pre_spawn_hook(spawner)
        assert (Path(home, "course") / "00_start_here.ipynb").read_text() == "mine"
        assert sorted(os.listdir(home)) == [".cache", "course"]
        cache = Path(home, ".cache")
        kept = {path.relative_to(cache): path.stat().st_mtime_ns for path in cache.rglob("*.*")}
        env = {name: value for name, value in os.environ.items() if name != "MPLCONFIGDIR"}
        env["XDG_CACHE_HOME"] = str(cache)
        subprocess.run([sys.executable, "-c", "import cellkit.show"], env=env, check=True)
        again = {path.relative_to(cache): path.stat().st_mtime_ns for path in cache.rglob("*.*")}
        assert {path.parts[0] for path in kept} == {"matplotlib", "pint"}
        assert again == kept, "the first kernel finds all that it looks for"
    assert "chown" not in (ROOT / ".hub" / "jupyterhub_config.py").read_text("utf-8")


def test_no_two_servers_get_one_port_nor_one_that_is_taken(hub, monkeypatch):
    """Below those that Linux hands out by itself (ip_local_port_range: from 32768)."""
    names = hub[0].Spawner.pre_spawn_hook.__globals__
    ports = [names["own_port"]() for _ in range(200)]
    assert len(set(ports)) == 200
    assert 1024 <= min(ports) <= max(ports) < 32768
    assert ports != sorted(ports), "nobody may guess the next"
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        monkeypatch.setitem(names, "PORTS", iter([taken.getsockname()[1], ports[0]]))
        assert names["own_port"]() == ports[0]


def test_the_command_of_the_readme_listens_here_only_and_asks_for_a_token(tmp_path):
    """Started with nobody's settings: no page without the token, and no door but on this machine's own address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    own = {name: str(tmp_path) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_RUNTIME_DIR", "JUPYTER_DATA_DIR")}
    root = ["--allow-root"] if hasattr(os, "getuid") and os.getuid() == 0 else []
    started = next(line for line in (ROOT / "README.md").read_text("utf-8").splitlines() if "start.py" in line)
    assert started.endswith(".venv/bin/python notebooks/start.py")
    for folder in ("notebooks", "data", ".lab"):
        shutil.copytree(ROOT / folder, tmp_path / "course" / folder, ignore=shutil.ignore_patterns("__pycache__"))
    command = [sys.executable, "notebooks/start.py", "--no-browser", f"--port={port}"]
    for name in ("node", "npm"):  # POSIX finds them; they say that they have been called
        (tmp_path / name).write_text(f"#!/bin/sh\necho $@ >> {tmp_path}/called\n")
        (tmp_path / name).chmod(0o755)
    own["PATH"] = str(tmp_path) + os.pathsep + os.environ["PATH"]
    kept = {name: value for name, value in os.environ.items() if not name.startswith("JUPYTER")}
    with open(tmp_path / "log", "wb") as log:
        server = subprocess.Popen([*command, *root], cwd=tmp_path / "course", stdout=log, stderr=log, env=kept | own)
    try:
        for _ in range(300):
            if (info := list(tmp_path.glob("jpserver-*.json"))) and info[0].stat().st_size:
                break
            assert server.poll() is None, (tmp_path / "log").read_text()
            time.sleep(0.2)
        told = json.loads(info[0].read_text())
        port = told["port"]  # another one if somebody has taken ours meanwhile

        def doors():
            found = psutil.Process(server.pid).net_connections("inet")
            return {door.laddr for door in found if door.status == "LISTEN"}

        while not doors():  # it writes down where it will listen before it does
            assert server.poll() is None, (tmp_path / "log").read_text()
            time.sleep(0.2)
        assert told["hostname"] in ("localhost", "127.0.0.1")
        assert len(told["token"]) >= 32

        def status(query):
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/api/contents{query}", timeout=120) as answer:
                    return answer.status
            except urllib.error.HTTPError as error:
                return error.code

        assert status("") == status("?token=") == status("?token=guess") == 403
        assert status(f"?token={told['token']}") == 200
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/lab?token={told['token']}", timeout=120) as answer:
            page = json.loads(
                re.search(r'id="jupyter-config-data"[^>]*>(.*?)</script>', answer.read().decode(), re.S)[1]
            )
        assert page["disabledExtensions"] == ["@jupyterlab/apputils-extension:announcements"], "no question about news"
        assert page["terminalsAvailable"] is False
        assert page["buildCheck"] is False
        assert not (tmp_path / "called").exists(), "Node.js takes longer than the server itself"
        assert page["extensionManager"]["can_install"] is False
        assert {door.ip for door in doors()} <= {"127.0.0.1", "::1"}
        assert port in {door.port for door in doors()}
    finally:
        server.terminate()
        server.wait()
