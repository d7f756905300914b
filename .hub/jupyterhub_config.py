"""One machine for a room: each learner logs in with an account of that machine and works in a home folder of their own.

Put the course where every account may read it, here /srv/course, with a .venv made of the machine's own Python and the
course installed in it. Then, as root:

    /srv/course/.venv/bin/python -m pip install jupyterhub && npm install -g configurable-http-proxy
    groupadd learners
    for n in 01 02 03; do
        useradd --create-home --key HOME_MODE=0700 --groups learners learner$n; passwd learner$n; done
    cp /srv/course/.hub/jupyterhub.service /etc/systemd/system/ && systemctl enable --now jupyterhub

The path of a home may have 28 letters: a kernel's sockets lie below it, and the name of a socket has 107 bytes at most.
It answers on this machine only. To let the room in, put a web server with a certificate in front of it, as in
nginx_site.conf beside this file: passwords and code must not cross the room's network in clear.
"""

import compileall
import contextlib
import itertools
import os
import random
import socket
import subprocess
import sys
from pathlib import Path

COURSE = Path(__file__).resolve().parent.parent
sys.path.append(str(COURSE / "notebooks"))
from start import LAB, SETTINGS  # noqa: E402

STATE = Path("/var/lib/jupyterhub")  # the unit makes it, for root only
CACHE = COURSE / ".hub" / ".cache"  # what a first kernel looks up and keeps in its home: fonts, pint's units
IDLE = 2 * 3600  # s without a sign of life, after which a kernel ends, and then its server

# learners may not write into the course: each kernel of theirs would take longer
compileall.compile_dir(COURSE / "cellkit", quiet=1)
looks_up = [sys.executable, "-c", "import cellkit.show"]
subprocess.run(looks_up, env=os.environ | {"XDG_CACHE_HOME": str(CACHE)}, check=True)

os.umask(0o077)  # for what the hub keeps, and for every file that a learner makes

c = get_config()  # noqa: F821
c.JupyterHub.bind_url = "http://127.0.0.1:8000"
c.JupyterHub.db_url = f"sqlite:///{STATE}/jupyterhub.sqlite"
c.JupyterHub.cookie_secret_file = f"{STATE}/cookie_secret"
c.ConfigurableHTTPProxy.pid_file = f"{STATE}/proxy.pid"
c.JupyterHub.shutdown_on_logout = True  # gives the memory of those who left back to those who stay
c.PAMAuthenticator.allowed_groups = {"learners"}
# no learner takes the whole machine: processes and threads of one account, and memory of one process
LIMITS = ["prlimit", "--nproc=1000", f"--data={3 * 2**30}"]
c.Spawner.cmd = [*LIMITS, sys.executable, str(LAB / "serve.py"), "jupyterhub.singleuser"]
c.Spawner.args = [
    *SETTINGS,
    "--KernelManager.transport=ipc",  # a port on loopback would show its messages to every account of the machine
    f"--MappingKernelManager.cull_idle_timeout={IDLE}",
    "--MappingKernelManager.cull_connected=True",
    f"--ServerApp.shutdown_no_activity_timeout={IDLE}",
]
# Settings of the page beside .lab's: without the menu Save and Export and its list of raw cells, which have the server
# load every format as soon as a lesson is open, an eighth of what a start costs. File > Print makes a page still.
c.Spawner.environment = {"JUPYTER_CONFIG_PATH": str(COURSE / ".hub" / "jupyter")}
c.Spawner.default_url = "/lab/tree/course/00_start_here.ipynb"


# JupyterHub has the system name a free port and lets it go until the server listens, seconds later: two who start at
# once may be given one port, and the second meets 404. These the system never names, and each comes up once in a round.
PORTS = itertools.cycle(random.SystemRandom().sample(range(20000, 30000), 10000))


def own_port():
    """A port for a learner's server; nobody listens there yet, as nobody can guess which one comes next."""
    for port in PORTS:
        with contextlib.suppress(OSError), socket.socket() as probe:
            probe.bind(("127.0.0.1", port))
            return port


def prepare(spawner):
    spawner.port = own_port()
    bring_lessons(spawner)


def bring_lessons(spawner):
    """Give a learner who has none a copy of the lessons and empty templates; one that is there is never touched.

    It is made with the learner's own rights, since root should follow no link that a learner has laid, and moved into
    its place when complete.
    """
    import pwd

    account = pwd.getpwnam(spawner.user.name)
    copy, part = (str(Path(account.pw_dir) / name) for name in ("course", ".course.part"))
    rights = {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": [], "cwd": "/", "check": True}
    subprocess.run(["chmod", "go=", account.pw_dir], **rights)  # an account made in another way
    if not Path(copy).exists():
        templates = sorted(map(str, (COURSE / "data" / "bench").glob("*_template.csv")))
        subprocess.run(["rm", "-rf", part], **rights)
        subprocess.run(["cp", "-R", str(COURSE / "notebooks"), part], **rights)
        subprocess.run(["cp", *templates, part], **rights)
        # answers, the teacher's pages, what makes a copy like this one and what somebody's run has left
        left = [path.name for path in (COURSE / "notebooks").glob("my_*")]
        not_theirs = [f"{part}/{name}" for name in ("solutions", "teaching", "start.py", *left)]
        subprocess.run(["rm", "-rf", *not_theirs], **rights)
        subprocess.run(["cp", "-R", str(CACHE), account.pw_dir], **rights)
        subprocess.run(["mv", part, copy], **rights)


c.Spawner.pre_spawn_hook = prepare
