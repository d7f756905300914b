"""Files of a learner: written whole or not at all, and never over another without being asked."""

import os
import uuid
from pathlib import Path

from cellkit.units import InputError


def write(path, data, replace=False):
    """Write bytes beside the target, then move them into its place, so that it is never half a file.

    Parameters
    ----------
    path : str or path
        A name in a folder that is there; ``~`` is the home folder, a link is followed.
    data : bytes
    replace : bool
        Whether a file that is already there may go.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    InputError
        Where the folder is missing, a file is there already, or the disk refuses; then what was there is untouched.
    """
    try:
        target = Path(path).expanduser().resolve()
        part = target.with_name(f".{uuid.uuid4().hex}.part")
        folder, old = target.parent.is_dir(), target.exists()
    except (OSError, RuntimeError, TypeError, ValueError) as error:
        raise InputError(f"{path!r} cannot be the name of a file: {error}. Try 'my_cell.pdf'.") from None
    if not folder:
        raise InputError(f"there is no folder {str(target.parent)!r}; make it first, or save somewhere else.")
    if old and not replace:
        raise InputError(f"{target.name!r} is already there; save under another name, or say replace=True.")
    try:
        with part.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, target)
    except OSError as error:
        kept = "The file that was there is as it was." if old else "No file was left behind."
        raise InputError(
            f"{target.name!r} could not be written: {error.strerror}. {kept} Try another folder."
        ) from None
    finally:
        if part.exists():  # on a read-only disk it is an error to unlink even what is not there
            part.unlink()
    return target
