"""Start a server without what the course does not need, in a third of the processor time that ``python -m`` takes.

For the hub: ``python .lab/serve.py jupyterhub.singleuser ...``; notebooks/start.py runs it with jupyterlab.labapp.
"""

import importlib
import os
import sys

# A grammar of international addresses, for checks of events that nobody here sends. Jsonschema does without it where it
# is not installed, and reading it takes longer than all else that jupyter_server imports.
sys.modules["rfc3987_syntax"] = None

# JupyterLab, when it is imported, starts Node.js if there is one and asks for the settings of a builder of extensions.
path = os.environ.get("PATH", os.defpath)
os.environ["PATH"] = os.devnull
importlib.import_module("jupyterlab.labapp")
os.environ["PATH"] = path

importlib.import_module(sys.argv.pop(1)).main()
