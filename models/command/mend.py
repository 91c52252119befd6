"""What are the smallest changes that make this wing fit to fly?

Tries larger sizes on sale, webs of other bays and faces, other woods, strips and joints for what falls
short in the hardest cases, solves each, and keeps what does most for its grams until the wing is fit; webs,
sheeting and masses forward until it may fly as fast as its file asks. Leaves with 1 if nothing makes it fit.

example: sparbay mend trainer --out mended.toml
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, give
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import find, read_wing, refuse_file, with_ends_of, write_new, written
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import Page, answer
from models.rounding import down

if TYPE_CHECKING:
    from models.studies.mend import Mended, Tried


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")
    command.add_argument("--out", metavar="FILE",
        help="write the file with the changes here, its comments kept; a new file")  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Find what to change; 1 where nothing makes the wing fit."""
    from models.studies.mend import mend
    from models.wing.intake import file_text

    wing = read_wing(options.file)
    if wing.planform is None:
        raise InputFault(f"{options.file}: a specimen has no verdict that changes could mend; give a wing.")
    target = None if options.out is None else Path(options.out)
    if target is not None:
        refuse_file(target)
    path = find(options.file)
    text = file_text(path)
    with Progress(None) as step:
        found = mend(
            text, source=options.file, folder=path.parent, name=path.stem, per_bay=options.mesh, step=step
        )
    files: list[Path] = []
    if target is not None and found.steps:
        files = written(lambda: _write(target, found, path, options.file))
    record = mend_record(found, options.file, options.mesh, files)
    return give(options, record, mend_text, holds=found.after.fit)


def _write(target: Path, found: Mended, path: Path, source: str) -> list[Path]:
    """Put the mended file in place, if it reads where it will lie as it does here; what was written."""
    from models.wing.faults import WingFileError
    from models.wing.reading import read_text

    try:
        read_text(found.text, source=source, folder=target.parent, name=path.stem)
    except WingFileError:
        raise InputFault(
            f"{target}: not written: a section of {source} lies in a coordinate file beside it; write into "
            f"that folder, {path.parent}."
        ) from None
    write_new(target, with_ends_of(found.text, path))
    return [target]


def mend_record(found: Mended, file: str, per_bay: int, files: list[Path]) -> Record:
    """All that `mend` has to say.

    Parameters
    ----------
    found : Mended
    file : str
        As it was typed.
    per_bay : int
        Elements along a bay.
    files : list of path
        What was written.
    """
    from models.studies.mend import sentences
    from models.verdict import record as verdict_record

    record = {
        "wing": found.before.wing,
        "answer": {"fit": found.after.fit, "grams": found.grams, "sentences": sentences(found)},
        "steps": [_row(one) for one in found.steps],
        "alone": [_row(one) for one in found.alone],
        "before": verdict_record(found.before),
        "after": verdict_record(found.after),
        "per_bay": per_bay,
        "files": [str(one) for one in files],
    }
    return document("mend", file, record)


def _row(one: Tried) -> Record:
    return {
        "change": one.remedy.words,
        "grams": one.grams,
        "share_surviving_all": one.after.survive,
        "hardest": one.after.hardest.name,
        "reserve_factor_one_in_twenty": one.after.hardest.fifth,
        "speed_let_m_per_s": None if one.after.speed is None else one.after.speed.record()["advised_m_per_s"],
    }


def mend_text(out: Page, record: Record) -> None:
    """Words first, then the tables."""
    answer(out, record, good=record["answer"]["fit"])
    columns = [
        "<change",
        f"gains\n{say.grams.unit}",
        "survive\nof 100",
        "<hardest case then",
        "one in twenty\nbears it x",
    ]
    before = record["before"]
    start: tuple[str, ...] = (
        "as drawn", "-", down(100 * before["share_surviving_all"], 0), before["hardest"]["case"],
        down(before["hardest"]["reserve_factor_one_in_twenty"], 2),
    )  # fmt: skip
    fast = before["speed"] is not None
    if fast:
        columns.append(f"may fly\n{say.speed.unit}")
        start = (*start, _kmh(before["speed"]["advised_m_per_s"]))
    if record["steps"]:
        rows = [start, *(_told(one, fast) for one in record["steps"])]
        out.table("Step by step, each on top of those before it", columns, rows)
    if record["alone"]:
        rows = [start, *(_told(one, fast) for one in record["alone"])]
        out.table("Single changes, the most for its mass first", columns, rows)
        out.say(
            "Each change was solved on a coarse mesh; the answer on the mesh of `sparbay check`. The search "
            "goes step by step: another set may be a little lighter."
        )
    out.files(record["files"])


def _told(one: Record, fast: bool) -> tuple[str, ...]:
    row = (
        one["change"],
        say.mass.bare(1e-3 * one["grams"], ".1f"),
        down(100 * one["share_surviving_all"], 0),
        one["hardest"],
        down(one["reserve_factor_one_in_twenty"], 2),
    )
    return (*row, _kmh(one["speed_let_m_per_s"])) if fast else row


def _kmh(speed: float | None) -> str:
    """Rounded down; a step towards strength was not asked for its speed."""
    return "-" if speed is None else say.speed.down(speed)
