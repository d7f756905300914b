"""One machine for a room: each learner logs in with an account of that machine and works in a home folder of their own.

Put the course where every account may read it, such as /srv/course, with a .venv made of the machine's own Python, and
run as root in it:

    .venv/bin/python -m pip install jupyterhub && npm install -g configurable-http-proxy
    groupadd learners
    for n in 01 02 03; do useradd --create-home --groups learners learner$n; passwd learner$n; done
    .venv/bin/python -m jupyterhub -f .hub/jupyterhub_config.py

It answers on this machine only. To let the room in, put a web server with a certificate in front of it that passes
requests, WebSockets included, on to 127.0.0.1:8000; passwords and code must not cross the room's network in clear.
"""

import shutil
import sys
from pathlib import Path

COURSE = Path(__file__).resolve().parent.parent

c = get_config()  # noqa: F821
c.JupyterHub.bind_url = "http://127.0.0.1:8000"
c.PAMAuthenticator.allowed_groups = {"learners"}
c.Spawner.cmd = [sys.executable, "-m", "jupyterhub.singleuser"]
c.Spawner.default_url = "/lab/tree/course/00_start_here.ipynb"
c.JupyterHub.shutdown_on_logout = True  # gives the memory of those who left back to those who stay


def bring_lessons(spawner):
    """Give a learner who has none a copy of the lessons; one that is there is never touched."""
    import pwd

    account = pwd.getpwnam(spawner.user.name)
    copy = Path(account.pw_dir) / "course"
    if not copy.exists():
        shutil.copytree(COURSE / "notebooks", copy)
        for path in (copy, *copy.rglob("*")):
            shutil.chown(path, account.pw_uid, account.pw_gid)


c.Spawner.pre_spawn_hook = bring_lessons
