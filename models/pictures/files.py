"""Pictures as files, written beside their place and put there whole: nobody meets half a file."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path


def write_whole(path: Path, draw: Callable[[str], object]) -> None:
    """Let `draw` write a PNG beside its place, then move it there in one step.

    Parameters
    ----------
    path : path
        Where to; a file that is there is replaced.
    draw : callable
        Writes to the path that it is given.
    """
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}.", suffix=".png")
    os.close(handle)
    try:
        draw(beside)
        # A temporary file is for its owner alone; a result is for everyone the user lets see his files.
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(beside, 0o666 & ~umask)
        os.replace(beside, path)
    except BaseException:
        os.unlink(beside)
        raise
