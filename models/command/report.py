"""How do I show, send or print everything about this wing in one file?

One page that needs nothing beside it: answer and cautions, the wing to turn with the mouse, loads,
movements, reserve factors, envelope, balance, layouts, inputs and what was assumed, proofs and sources.
Leaves with 1 as sparbay note does.

example: sparbay report trainer --out trainer.html
"""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from models.command.document import Record, document, give
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import find, need, read_wing, refuse_file, write_new, write_text
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import Page, answer, reserve
from models.version import VERSION

if TYPE_CHECKING:
    from models.page.contents import Contents
    from models.wing.parts import Wing

KINDS = (".html", ".htm", ".pdf")
"""Endings that a page may have."""


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    shared(command, "file", "json", "mesh")
    add("--out", metavar="PAGE", required=True, help="the file to write: wing.html, or wing.pdf for paper")
    add("--overwrite", action="store_true", help="replace the file if it exists")
    add("--page", choices=("a4", "letter"),
        help="paper to print on (default: the printer's own; of a PDF a4)")  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Write the page; 1 where the note has it not fit, or a specimen fails."""
    path = Path(options.out)
    record = written(options.file, path, per_bay=options.mesh, page=options.page, overwrite=options.overwrite)
    return give(options, record, report_text, holds=record["answer"]["fit"])


def written(
    file: str, path: Path, *, per_bay: int = 4, page: str | None = None, overwrite: bool = False
) -> Record:
    """Write the page of a wing file; what `report_record` says of it.

    Parameters
    ----------
    file, path : str, Path
        A path or the name of a shipped wing, and where to, ending in .html, .htm or .pdf.
    per_bay : int, default 4
        Elements along a bay.
    page : str or None
        Size of the paper, "a4" or "letter".
    overwrite : bool, default False
        Replace what is there.

    Raises
    ------
    InputFault
        The page cannot be written there, or there is no such wing.
    models.wing.faults.WingFileError
        The file has faults.
    """
    from models.studies.compare import n_steps
    from models.studies.note import N_STEPS

    _refuse(path, overwrite=overwrite)
    printed = path.suffix.lower() == ".pdf"
    if printed:
        from models.page.pdf import NoTypesetter, typesetter

        try:
            typesetter()  # before a minute of work is spent on what cannot be written
        except NoTypesetter as fault:
            raise InputFault(f"{path}: {fault}") from None
    wing = read_wing(file)
    if path.exists() and path.samefile(find(file)):
        raise InputFault(f"{path}: is the wing file itself; give the page another name.")
    steps = n_steps(wing) + 3 + (N_STEPS if wing.planform is not None else 0)
    with Progress(steps, quiet=True) as step:
        contents = _gather(wing, file, per_bay, step)
        step("writing the page")
        from models.page.render import html

        text = html(contents, paper=page or ("a4" if printed else None), printed=printed)
        if printed:
            from models.page.pdf import pdf

            data = pdf(text)
        else:
            data = text.encode("utf-8")
    (write_text if overwrite else write_new)(path, data)
    return report_record(contents, path, len(data))


def report_record(contents: Contents, path: Path, size: int) -> Record:
    """All that `report` has to say: the answers of the page, and where it is."""
    noted = contents.noted
    if noted is not None:
        answer = {"fit": noted["answer"]["fit"], "sentences": noted["answer"]["sentences"]}
    else:
        found = contents.checked["answer"]
        answer = {"fit": found["survives"], "sentences": found["sentences"]}
    record = {
        "wing": contents.wing.name,
        "kind": contents.checked["kind"],
        "answer": answer,
        "turns": bool(contents.views.viewer),
        "lacking": contents.views.lacking,
        "check": contents.checked,
        "compare": contents.compared,
        "note": noted,
        "envelope": contents.flown,
        "balance": contents.balanced,
        "files": [str(path)],
        "size_bytes": size,
    }
    return document("report", contents.file, record)


def _refuse(path: Path, *, overwrite: bool) -> None:
    """Raise for a place that a page cannot or must not be written to."""
    if path.suffix.lower() not in KINDS:
        raise InputFault(f"report: --out: {path} ends in none of {', '.join(KINDS)}; give wing.html, say.")
    refuse_file(path, overwrite=overwrite, mend="give another name, or --overwrite to replace it")
    for library in ("matplotlib", "jinja2"):
        need(library, "report", "ask for `sparbay note`, which needs none")


def _gather(wing: Wing, file: str, per_bay: int, step: Progress) -> Contents:
    """Everything that the page says."""
    from models.command.balance import balance_record
    from models.command.compare import compare_record
    from models.command.envelope import envelope_record
    from models.command.note import note_record
    from models.command.record import check_record
    from models.page.contents import Contents
    from models.page.views import wing_views
    from models.pictures.first import judged
    from models.session import Session
    from models.studies.compare import compare
    from models.studies.doubts import doubts
    from models.studies.note import note
    from models.wing.intake import file_text

    step("the load of the file")
    text = file_text(find(file))  # as it is read now: it may be another one in a minute, or gone
    session = Session(wing, per_bay=per_bay)
    analysis, margins = session.side.sound, session.side.told
    noted = note(wing, session=session, step=step) if wing.planform is not None else None
    layouts = compare(wing, per_bay=per_bay, progress=step)
    step("views of the wing")
    decided = noted.verdict if noted else None
    found = judged(analysis, margins, decided.pull_up.rows if decided else ())
    return Contents(
        wing=wing,
        file=file,
        text=text,
        analysis=analysis,
        margins=margins,
        layouts=tuple(layouts),
        note=noted,
        judged=found,
        doubts=tuple(doubts(analysis, margins)),
        views=wing_views(analysis, found),
        checked=check_record(analysis, margins, file, per_bay=per_bay, rigid_joints=False, decided=decided),
        compared=compare_record(wing, layouts, file, per_bay, decided),
        noted=note_record(noted, file, per_bay) if noted else None,
        flown=envelope_record(noted.envelope, file, per_bay, []) if noted else None,
        balanced=balance_record(noted.balance, file, []) if noted else None,
        version=VERSION,
        made=date.today().isoformat(),
    )


def report_text(out: Page, record: Record) -> None:
    """Words, the hardest cases, cautions, the file."""
    answer(out, record)
    if record["note"] is not None:
        out.listed("The hardest cases", record["note"]["cases"], {
            "~case": "case",
            "reserve\nfactor": ("reserve_factor", reserve),
            "~weakest": lambda c: c["weakest"] or "-",
        })  # fmt: skip
    if record["lacking"]:
        out.warn(record["lacking"])
    out.files([f"{file} ({record['size_bytes'] / 1e6:.1f}\u00a0MB)" for file in record["files"]])
