"""`sparbay note`: the whole picture of one wing on a page."""

from __future__ import annotations

import argparse
import io
from pathlib import Path

from models import small_movements
from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import filled, must_fly, new_folder, read_wing, write_text
from models.command.progress import Progress
from models.command.record import Record, finite
from models.loads.pull_up import GRAVITY
from models.studies.load_cases import far
from models.studies.note import N_STEPS, Note, note, paragraphs, where
from models.verdict import record as verdict_record
from models.wing.units import mass_words

ABOUT = (
    "Reserve factor = allowable / applied; below 1 it fails. Sheeting that bows is counted, but for the "
    "engine's cases and where the wing is held. Everything in full: sparbay envelope, loads, balance, rails, "
    "proof, check."
)

_MOST_CASES = 9
"""Rows of the table of cases on the page that is written, which is one sheet of paper."""


def run(options: argparse.Namespace) -> ExitCode:
    """Write the note; 1 where it is not fit by the verdict or something else speaks against it."""
    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "a note")
    with Progress(N_STEPS, quiet=True) as step:
        found = note(wing, per_bay=options.mesh, step=step)
    record = note_record(found, options.file, options.mesh)
    if folder is not None:
        record["files"] = [str(f) for f in filled(folder, lambda place: _write(found, record, place))]
    if options.json:
        print_json(record)
    else:
        from models.report.note import note_text
        from models.report.text import tell

        tell(note_text, record)
    return ExitCode.DONE if found.fit else ExitCode.FAILS


def note_record(found: Note, file: str, per_bay: int) -> Record:
    """All that the note has to say.

    Parameters
    ----------
    found : Note
        From `models.studies.note.note`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    plan = found.wing.planform
    assert plan is not None
    flown = found.envelope.worst
    loading, said = flown.wing_loading, paragraphs(found)
    record = {
        "command": "note",
        "version": version(),
        "file": file,
        "wing": found.wing.name,
        "kind": "wing",
        "description": (
            f"span {2 * plan.semispan:.2f} m, area {100 * plan.area:.1f} dm2, {mass_words(flown.mass)}, wing "
            f"loading {10 * loading / GRAVITY:.0f} g/dm2"
        ),
        "answer": {
            "fit": found.fit,
            "verdict": verdict_record(found.verdict),
            "paragraphs": said,
            "sentences": [sentence for about in said.values() for sentence in about],
        },
        "small_movements": small_movements.record(*far(found.cases)),
        "cautions": list(CAUTIONS),
        "span_m": 2 * plan.semispan,
        "area_m2": plan.area,
        "flying_mass_kg": flown.mass,
        "wing_loading_N_per_m2": loading,
        "stall_speed_m_per_s": flown.stall_speed,
        "corner_speed_m_per_s": flown.corner_speed,
        "cruise_speed_m_per_s": flown.cruise,
        "never_exceed_speed_m_per_s": flown.limits.never_exceed,
        "safe_load_factor_at_cruise": flown.at_cruise.safe,
        "static_margins": [state.static_margin for state in found.balance.states],
        "centres_aft_of_datum_m": [state.aft_of_datum for state in found.balance.states],
        "balance_inside": found.balance.inside,
        "test_up_to_load_factor": found.proof.highest,
        "load_factor_at_first_failure": found.proof.first_failure,
        "cases": [
            {
                "group": row.group,
                "case": row.case,
                "acts": row.acts,
                "reserve_factor": row.reserve,
                "weakest": None if row.margin is None else where(row.margin),
            }
            for row in found.rows
        ],
        "elements_per_bay": per_bay,
        "about": ABOUT,
        "files": [],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _write(found: Note, record: Record, folder: Path) -> list[Path]:
    """The page as text, and its pictures."""
    from models.pictures.balance import plot_balance
    from models.pictures.load_diagrams import plot_loads
    from models.pictures.plots import plot_envelope
    from models.report.note import note_text
    from models.report.text import Length, Page

    page = io.StringIO()
    out = Page(page, length=Length(whole=True, rows=_MOST_CASES))
    note_text(out, record)
    out.end()
    files = [folder / "note.txt"]
    write_text(files[0], page.getvalue())
    one = found.envelope.worst
    title = f"{found.wing.name}: {one.name}"
    files.append(plot_envelope(title, one, folder / "envelope.png", found.envelope.advised))
    files.append(plot_balance(found.balance, folder / "balance.png"))
    return [*files, *plot_loads(found.cases, folder)]
