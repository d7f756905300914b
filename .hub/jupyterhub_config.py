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

import subprocess
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
    """Give a learner who has none a copy of the lessons; one that is there is never touched.

    It is made with the learner's own rights, since root should follow no link that a learner has laid, and moved into
    its place when complete.
    """
    import pwd

    account = pwd.getpwnam(spawner.user.name)
    copy, part = (str(Path(account.pw_dir) / name) for name in ("course", ".course.part"))
    if not Path(copy).exists():
        rights = {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": [], "cwd": "/", "check": True}
        subprocess.run(["rm", "-rf", part], **rights)
        subprocess.run(["cp", "-R", str(COURSE / "notebooks"), part], **rights)
        subprocess.run(["mv", part, copy], **rights)


c.Spawner.pre_spawn_hook = bring_lessons
