"""Files of a learner: written whole or not at all, and never over another without being asked."""

import contextlib
import glob
import os
import time
import uuid
from pathlib import Path

from cellkit.units import InputError

FORGOTTEN = 3600  # seconds after which the part of a writer that was killed goes


def write(path, data, replace=False):
    """Write bytes beside the target, then move them into its place, so that it is never half a file.

    A link is followed, ``~`` is the home folder; a file that is replaced keeps its rights. An InputError where the
    folder is missing, a file is there already, or the disk refuses; then what was there is untouched.
    """
    try:
        target = Path(path).expanduser().resolve()
        mine = f".{target.name[:20]}."
        part = target.with_name(f"{mine}{uuid.uuid4().hex}.part")
        folder, old = target.parent.is_dir(), target.exists()
    except (OSError, RuntimeError, TypeError, ValueError) as error:
        raise InputError(f"{path!r} cannot be the name of a file: {error}. Try 'my_cell.html'.") from None
    if not folder:
        raise InputError(f"there is no folder {str(target.parent)!r}; make it first, or save somewhere else.")
    there = f"{target.name!r} is already there; save under another name, or say replace=True."
    if old and not replace:
        raise InputError(there)
    claimed = False
    try:
        with part.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if old:
            part.chmod(target.stat().st_mode & 0o7777)
        if not replace:
            target.open("xb").close()  # of two savers only one can do this
            claimed = True
        os.replace(part, target)
        claimed = False
    except FileExistsError:
        raise InputError(there) from None
    except OSError as error:
        kept = "The file that was there is as it was." if old else "No file was left behind."
        raise InputError(
            f"{target.name!r} could not be written: {error.strerror}. {kept} Try another folder."
        ) from None
    finally:
        for mess in [part] + [target] * claimed:
            if mess.exists():  # on a read-only disk it is an error to unlink even what is not there
                mess.unlink()
    with contextlib.suppress(OSError):  # another saver may be faster
        for left in target.parent.glob(f"{glob.escape(mine)}{'[0-9a-f]' * 32}.part"):
            if left.stat().st_mtime < time.time() - FORGOTTEN:
                left.unlink()
    return target
