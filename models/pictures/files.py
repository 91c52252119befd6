"""Pictures as files, written beside their place and put there whole: nobody meets half a file."""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

from models import system


def write_whole(path: Path, draw: Callable[[str], object]) -> None:
    """Let `draw` write a PNG to the path given to it, beside its place, then move it there in one step."""
    beside = system.beside(path, ending=".png")
    try:
        draw(str(beside))
        system.ordinary_rights(beside)
        os.replace(beside, path)
    finally:
        system.drop(beside)


def shoot(plotter: Any, path: Path) -> None:
    """Write a scene as a PNG, replaced whole, and close it."""
    with closing(plotter):
        write_whole(path, plotter.screenshot)
