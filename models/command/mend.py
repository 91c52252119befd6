"""`sparbay mend`: the smallest changes that make a wing fit, and the file with them."""

from __future__ import annotations

import argparse
from pathlib import Path

from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import find, read_wing, refuse_file, with_ends_of, write_new, written
from models.command.progress import Progress
from models.command.record import Record
from models.studies.mend import Mended, Tried, mend, sentences
from models.verdict import record as verdict_record
from models.wing.faults import WingFileError
from models.wing.intake import file_text
from models.wing.reading import read_text


def run(options: argparse.Namespace) -> ExitCode:
    """Find what to change; 1 where nothing makes the wing fit."""
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
    if options.json:
        print_json(record)
    else:
        from models.report.mended import mend_text
        from models.report.text import tell

        tell(mend_text, record)
    return ExitCode.DONE if found.after.fit else ExitCode.FAILS


def _write(target: Path, found: Mended, path: Path, source: str) -> list[Path]:
    """Put the mended file in place, if it reads where it will lie as it does here; what was written."""
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
        From `models.studies.mend.mend`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.
    files : list of Path
        What was written.

    Returns
    -------
    dict
        Plain data, units in the keys.
    """
    return {
        "command": "mend",
        "version": version(),
        "file": file,
        "wing": found.before.wing,
        "answer": {"fit": found.after.fit, "grams": found.grams, "sentences": sentences(found)},
        "cautions": list(CAUTIONS),
        "steps": [_row(one) for one in found.steps],
        "alone": [_row(one) for one in found.alone],
        "before": verdict_record(found.before),
        "after": verdict_record(found.after),
        "per_bay": per_bay,
        "files": [str(one) for one in files],
    }


def _row(one: Tried) -> Record:
    return {
        "change": one.remedy.words,
        "grams": one.grams,
        "share_surviving_all": one.after.survive,
        "hardest": one.after.hardest.name,
        "reserve_factor_one_in_twenty": one.after.hardest.fifth,
        "speed_let_m_per_s": None if one.after.speed is None else one.after.speed.record()["advised_m_per_s"],
    }
