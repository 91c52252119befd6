"""What if this bay were open, that web of ply, the loop flown harder? Answered as you click.

Opens a page of this computer alone, with the wing to turn and its bays to click; saves back into the file
with its comments, and writes the report and the drawings.

example: sparbay live powered-tailless
"""

from __future__ import annotations

import argparse
import math
import webbrowser
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.cautions import CAUTIONS
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import find
from models.command.options import shared

if TYPE_CHECKING:
    from models.analysis import Analysis
    from models.live.aside import Aside
    from models.live.page import Server
    from models.strength import Margins
    from models.verdict import Verdict

_LIBRARIES = ("jinja2", "starlette", "uvicorn")


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "mesh")
    command.add_argument("--no-browser", action="store_true",
        help="open no browser; print the address of the page alone")  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Serve the page until it is ended there or interrupted here."""
    _libraries()
    from models.live.aside import begun

    path = find(options.file)
    # It needs a second to come up, as reading the wing does here.
    aside = begun()
    try:
        return _served(prepared(options, path, aside), options)
    finally:
        if aside is not None:
            aside.end()


def _served(server: Server, options: argparse.Namespace) -> ExitCode:
    say.adopt(server.bench.opened.wing.units)
    server.bench.engine.work_ahead()
    found = server.bench.engine.answer(server.bench.own_state())
    from models.live.words import too_far, verdict
    from models.report.text import Length, Page

    out = Page(length=Length(whole=True))
    wing = server.bench.opened.wing
    out.say(wing.name, "bold")
    out.say(found.sentence)
    out.say(verdict(wing, found))
    if beyond := too_far(wing, found):
        out.say(beyond)
    out.cautions(CAUTIONS)
    out.line()
    out.line("The page is at the address below, for this computer alone; Ctrl-C ends it.")
    out.end()
    # In one piece, however narrow the terminal is.
    print(server.address, flush=True)
    if not options.no_browser and not webbrowser.open(server.address):
        print("No browser could be opened: open the address in one.", flush=True)
    server.run()
    return ExitCode.DONE


def _libraries() -> None:
    """Refuse where a library is missing, and say how to get it."""
    try:
        import jinja2  # noqa: F401
        import starlette  # noqa: F401
        import uvicorn  # noqa: F401
    except ImportError as error:
        name = (error.name or "").split(".")[0]
        if name not in _LIBRARIES:
            raise
        raise InputFault(
            f"live: the library {name} is not installed; get it with: python -m pip install "
            f"{' '.join(_LIBRARIES)}"
        ) from None


def prepared(options: argparse.Namespace, path: Path, aside: Aside | None = None) -> Server:
    """The server of a wing file, ready to run, with a second process at its side if there is one."""
    from models.live.page import Server, WingPage
    from models.live.saving import Desk

    desk = Desk(path, Path.cwd(), options.file)
    notes = partial(more_sentences, per_bay=options.mesh)
    return Server(WingPage(desk, notes=notes, per_bay=options.mesh, aside=aside))


def more_sentences(analysis: Analysis, per_bay: int = 4) -> list[str]:
    """What `check` says beside the first failure: of a wing the whole verdict."""
    from models.command.record import warnings
    from models.session import Session
    from models.verdict import sentences, verdict

    session = Session(analysis.wing, per_bay=per_bay, sound=analysis)
    margins = session.side.margins
    if analysis.pull_up is None:
        return warnings(analysis, margins)
    decided = verdict(analysis.wing, session=session)
    beside = what_differs(decided, margins)
    return [*sentences(decided), *([beside] if beside else []), *warnings(analysis, margins, decided=decided)]


def what_differs(decided: Verdict, margins: Margins) -> str:
    """Why the verdict's first failure is another than that of the page's answer; nothing where it is not."""
    from models.rounding import down
    from models.strength.counted import JOINER, JOINT

    page, counted = margins.load_factor_at_first_failure(), decided.pull_up.mean * decided.asked
    built = decided.pull_up.built * decided.asked
    built = counted if math.isnan(built) else built
    if down(page) == down(decided.failing):
        return ""
    taken, why = [], []
    first = decided.pull_up.first
    if first is not None and first.mode in (*JOINT, *JOINER):
        taken, why = ["joints as holding"], ["joints"]
    elif down(page) != down(built):
        taken, why = ["all sheeting as whole"], ["sheeting that bows"]
    if down(counted) != down(built):
        taken, why = [*taken, "lift as built"], [*why, "lift where the bent wing puts it"]
    if decided.failing < counted:
        taken, why = [*taken, "the wing as bare"], [*why, "the covering"]
    return (
        f"The first failure of {down(page)} g takes {' and '.join(taken)}; the verdict counts "
        f"{' and '.join(why)} too: {down(decided.failing)} g."
    )
