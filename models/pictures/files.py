"""Pictures as files, written beside their place and put there whole: nobody meets half a file."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from models import system


def write_whole(path: Path, draw: Callable[[str], object]) -> None:
    """Let `draw` write a PNG beside its place, then move it there in one step.

    Parameters
    ----------
    path : path
        Where to; a file that is there is replaced.
    draw : callable
        Writes to the path that it is given.
    """
    beside = system.beside(path, ending=".png")
    try:
        draw(str(beside))
        system.ordinary_rights(beside)
        os.replace(beside, path)
    finally:
        system.drop(beside)
