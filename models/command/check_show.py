"""What do deflection, stress and reserve factors look like on the wing?

Opens a window or, with a folder, writes every picture there.

example: sparbay check --show trainer --folder pictures
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from pathlib import Path

from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, new_folder, read_wing
from models.command.options import shared
from models.command.progress import Progress

SCENES = ("deflection", "cap stress", "shear flow", "reserve")
"""Names of the scenes, as in `models.pictures`, which takes too long to load for a line of help."""


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    shared(command, "file")
    where = command.add_mutually_exclusive_group()
    where.add_argument("--folder", metavar="DIR", help="write all pictures into this folder; no window")
    names = ", ".join(f'"{name}"' for name in SCENES)
    where.add_argument("--scene", metavar="NAME", choices=SCENES,
        help=f"the scene in the window: {names} (default: the first)")  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Show one scene in a window, or write all pictures into a folder that is new or empty."""
    from models import small_movements
    from models.analysis import analyse
    from models.session import Session
    from models.strength import sentence
    from models.verdict import first_failure, in_short, verdict

    folder = new_folder(options.folder, scenes=True)
    if folder is None and not _has_screen():
        raise InputFault(
            "check --show: there is no screen to open a window on; give --folder DIR to write pictures "
            "instead."
        )
    analysis = analyse(read_wing(options.file))
    session = Session(analysis.wing, sound=analysis)
    margins = session.side.told
    too_far = small_movements.warning(small_movements.of(analysis))
    if options.scene == "shear flow" and "webs" not in analysis.model.structure.blocks:
        raise InputFault(
            f"check --show: --scene: {options.file} has no webs, so that there is no shear flow to show."
        )
    from models.pictures import NoRenderer, draw_all, judged, show

    decided = verdict(analysis.wing, session=session) if analysis.pull_up is not None else None
    first = sentence(margins) if decided is None else first_failure(decided, margins)
    rows = () if decided is None else decided.pull_up.rows
    found = judged(analysis, margins, rows) if margins.rows else None
    if folder is None:
        if too_far is not None:
            print(too_far)
        try:
            show(analysis, options.scene or "deflection", found=found)
        except NoRenderer as fault:
            raise InputFault(f"check --show: {fault}.") from None
        return ExitCode.DONE

    def draw(place: Path) -> Iterator[Path]:
        yield from draw_all(analysis, found, place)

    with Progress(1, quiet=True) as progress:
        progress("pictures")
        paths = filled(folder, draw)
    print(first)
    if decided is not None:
        print(" ".join(in_short(decided)))
    if too_far is not None:
        print(too_far)
    for path in paths:
        print(path)
    return ExitCode.DONE


def _has_screen() -> bool:
    screens = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    return sys.platform in ("win32", "darwin") or bool(screens)
