"""What a room costs: the course's JupyterHub on this machine, N learners at once with lesson 01 from the first click.

    python tests/benchmarks/bench_hub.py [1 4 8 16]

As root, with jupyterhub in this Python and configurable-http-proxy (npm) on the path. Every learner gets a home and a
server of their own as ``.hub`` sets them up, though without an account, asks the server for what JupyterLab's page asks
for, gets a kernel, and has each cell of the lesson run in turn. Homes are new, as on a first day. Printed for each N:
memory of one learner's server and kernel at the end (proportional set size: a page shared by k processes counts 1/k to
each), their processor seconds and those of what they started, up to the first picture and in all, those of hub and
proxy for each learner, the time from the click on *start* to the first picture (median and worst), and how many
learners met an error.
"""

import json
import os
import platform
import re
import secrets
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
import uuid
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import nbformat
import psutil
import websocket

ROOT = Path(__file__).resolve().parents[2]
LESSON = ROOT / "notebooks" / "01_weigh_the_plates.ipynb"
CONFIG = """
import os
import pwd


def account(name):
    home = os.path.join({folder!r}, name)
    os.makedirs(home, exist_ok=True)
    return pwd.struct_passwd((name, "", os.getuid(), os.getgid(), "", home, ""))


pwd.getpwnam = account
c = get_config()
load_subconfig({config!r})
c.JupyterHub.db_url = "sqlite:///jupyterhub.sqlite"
c.JupyterHub.cookie_secret_file = "cookie_secret"
c.ConfigurableHTTPProxy.pid_file = "proxy.pid"
c.JupyterHub.bind_url = "http://127.0.0.1:{port}"
c.JupyterHub.hub_port = {hub}
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{proxy}"
c.JupyterHub.authenticator_class = "dummy"
c.Authenticator.allow_all = True
c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = "{folder}/{{username}}"
c.Spawner.args.append("--allow-root")
c.Spawner.start_timeout = c.Spawner.http_timeout = 300
c.JupyterHub.concurrent_spawn_limit = 0
c.JupyterHub.services = [dict(name="learners", api_token={token!r})]
scopes = ["admin:users", "admin:servers", "access:servers"]
c.JupyterHub.load_roles = [dict(name="all", services=["learners"], scopes=scopes)]
"""


def free_ports(count):
    probes = [socket.socket() for _ in range(count)]
    for probe in probes:
        probe.bind(("127.0.0.1", 0))
    ports = [probe.getsockname()[1] for probe in probes]
    for probe in probes:
        probe.close()
    return ports


class Hub:
    """A JupyterHub in a temporary folder, on loopback."""

    def __init__(self, folder):
        self.port, hub, proxy = free_ports(3)
        self.token = secrets.token_hex(32)
        config = Path(folder) / "config.py"
        ports = {"port": self.port, "hub": hub, "proxy": proxy}
        ours = str(ROOT / ".hub" / "jupyterhub_config.py")
        config.write_text(CONFIG.format(config=ours, folder=folder, token=self.token, **ports))
        with open(Path(folder) / "hub.log", "wb") as log:
            command = [sys.executable, "-m", "jupyterhub", "-f", str(config)]
            self.process = subprocess.Popen(command, cwd=folder, stdout=log, stderr=log)
        for _ in range(300):
            try:
                self.ask("GET", "/hub/api/")
                return
            except OSError:
                if self.process.poll() is not None:
                    raise SystemExit((Path(folder) / "hub.log").read_text()) from None
                time.sleep(0.2)
        raise SystemExit("JupyterHub did not answer for a minute")

    def open(self, method, path, body=None):
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", method=method)
        request.add_header("Authorization", f"token {self.token}")
        return urllib.request.urlopen(request, None if body is None else json.dumps(body).encode(), 300)

    def ask(self, method, path, body=None):
        with self.open(method, path, body) as answer:
            text = answer.read()
        return json.loads(text) if text else None

    def wait_for(self, name):
        """Until a learner's server is there: told by the hub, as the page that shows its progress is."""
        with self.open("GET", f"/hub/api/users/{name}/server/progress") as events:
            for line in events:
                if line.startswith(b"data:") and (told := json.loads(line[5:])).get("ready"):
                    return
        raise SystemExit(f"no server for {name}: {told}")

    def stop(self):
        self.process.terminate()
        self.process.wait()


def learn(hub, name, cells):
    """What :func:`work` gives; a refusal of the hub is an error met."""
    try:
        return work(hub, name, cells)
    except urllib.error.HTTPError as error:
        print(f"{name}: {error.url}: {error}", file=sys.stderr)
        return None, None, [str(error)]


def work(hub, name, cells):
    """Start ``name``'s server and run ``cells``: waiting and processor seconds to the first picture, errors met."""
    clicked = time.perf_counter()
    hub.ask("POST", f"/hub/api/users/{name}")
    hub.ask("POST", f"/hub/api/users/{name}/server")
    hub.wait_for(name)
    look(hub, name)
    kernel = hub.ask("POST", f"/user/{name}/api/kernels", {"name": "python3"})["id"]
    session, first, spent, errors = uuid.uuid4().hex, None, None, []
    line = websocket.create_connection(
        f"ws://127.0.0.1:{hub.port}/user/{name}/api/kernels/{kernel}/channels?session_id={session}",
        header=[f"Authorization: token {hub.token}"],
        timeout=300,
    )
    for code, meant in cells:
        asked = uuid.uuid4().hex
        header = {"msg_id": asked, "msg_type": "execute_request", "username": name, "session": session}
        header |= {"version": "5.3", "date": "2000-01-01T00:00:00Z"}
        content = {"code": code, "silent": False, "store_history": True, "user_expressions": {}}
        content |= {"allow_stdin": False, "stop_on_error": False}
        message = {"header": header, "parent_header": {}, "metadata": {}, "content": content, "channel": "shell"}
        line.send(json.dumps(message))
        while True:
            message = json.loads(line.recv())
            if message["parent_header"].get("msg_id") != asked:
                continue
            if "image/png" in message["content"].get("data", {}) and first is None:
                first = time.perf_counter() - clicked
                spent = seconds(next(each for each in families(hub) if each[0].environ()["JUPYTERHUB_USER"] == name))
            if message["msg_type"] == "error" and not meant:
                errors.append(message["content"]["evalue"])
            if message["msg_type"] == "status" and message["content"]["execution_state"] == "idle":
                break
    line.close()
    return first, spent, errors


def look(hub, name):
    """Ask for what JupyterLab's page asks for when a lesson is opened: all that costs its server more than a moment."""
    lesson = f"course/{LESSON.name}"
    with hub.open("GET", f"/user/{name}/lab/tree/{lesson}") as answer:
        page = answer.read().decode()
    config = json.loads(re.search(r'id="jupyter-config-data"[^>]*>(.*?)</script>', page, re.DOTALL)[1])
    asked = ["lab/api/settings", "lab/api/translations/default", "api/kernelspecs"]
    formats = {"@jupyterlab/notebook-extension:export", "@jupyterlab/notebook-extension:update-raw-mimetype"}
    asked += ["api/nbconvert"] * (not formats <= {*config["disabledExtensions"]})
    asked += ["lab/api/build"] * config["buildCheck"]
    asked += [f"api/contents/{lesson}?content=1", f"api/contents/{lesson}/checkpoints"]
    for path in asked:
        hub.ask("GET", f"/user/{name}/{path}")


def families(hub):
    """Each learner's server with its kernel, as processes."""
    for child in psutil.Process(hub.process.pid).children():
        if "jupyterhub.singleuser" in " ".join(child.cmdline()):
            yield [child, *child.children(recursive=True)]


def shared(hub):
    """Hub and proxy, as processes."""
    root = psutil.Process(hub.process.pid)
    return [root, *(child for child in root.children() if "jupyterhub.singleuser" not in " ".join(child.cmdline()))]


def seconds(family):
    """Processor seconds of these processes, and of those that they have started and that have ended."""
    return sum(sum(each.cpu_times()[:4]) for each in family)


def main():
    sizes = [int(size) for size in sys.argv[1:]] or [1, 4, 8, 16]
    notebook = nbformat.read(LESSON, as_version=4)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    cells = [(cell.source, "raises-exception" in cell.metadata.get("tags", [])) for cell in code]
    total = psutil.virtual_memory().total / 2**30
    print(
        f"{os.cpu_count()} cores, {total:.0f} GiB, {platform.system()} {platform.machine()}, {len(cells)} cells each\n"
    )
    print(
        "| learners | MiB each | processor s, to picture / in all | of hub and proxy | first picture, median / worst s "
        "| with an error |"
    )
    print("| --- | --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        hub = Hub(folder)
        try:
            for size in sizes:
                names = [f"{size}x{n}" for n in range(size)]  # short: below the homes lie sockets
                idle = seconds(shared(hub))
                with ThreadPoolExecutor(size) as room:
                    found = list(room.map(lambda name: learn(hub, name, cells), names))
                there = list(families(hub))
                memory = [sum(each.memory_full_info().pss for each in family) / 2**20 for family in there]
                firsts = [first for first, _, _ in found if first is not None]
                before = [spent for _, spent, _ in found if spent is not None]
                failed = sum(first is None or bool(errors) for first, _, errors in found)
                print(
                    f"| {size} | {statistics.mean(memory):.0f} "
                    f"| {statistics.mean(before):.1f} / {statistics.mean(map(seconds, there)):.1f} "
                    f"| {(seconds(shared(hub)) - idle) / size:.1f} "
                    f"| {statistics.median(firsts):.1f} / {max(firsts):.1f} | {failed} |",
                    flush=True,
                )
                for name in names:
                    hub.ask("DELETE", f"/hub/api/users/{name}/server")
                while list(families(hub)):
                    time.sleep(0.5)
        finally:
            hub.stop()


if __name__ == "__main__":
    main()
