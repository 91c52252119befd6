"""Is this wing fit to fly: how hard, what breaks first, does it balance, do the rails hold?

One page: envelope, critical case, weakest bay, balance, engine rails, static test, what to do first. Leaves
with 1 if a case fails, it balances out of range, or the engine shakes it.

example: sparbay note powered-tailless
"""

from __future__ import annotations

import argparse
import io
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, give
from models.command.exit_codes import ExitCode
from models.command.files import filled, must_fly, new_folder, read_wing, write_text
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import Page, reserve
from models.units_out import mass_words

if TYPE_CHECKING:
    from models.studies.note import Note

ABOUT = (
    "Reserve factor = allowable / applied; below 1 it fails. Sheeting that bows is counted, but for the "
    "engine's cases and where the wing is held. Everything in full: sparbay envelope, loads, loads --rails, "
    "balance, bench --proof, check."
)

_MOST_LINES = 22
"""Lines of the paragraphs on a screen that has the hardest cases too."""
_ALWAYS = ("small movements no longer hold", "Too near a natural frequency")
"""Words of sentences that no screen leaves out, as it leaves out nothing of the verdict."""
_MOST_CASES = 9
"""Rows of the table of cases on the page that is written, which is one sheet of paper."""


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh", "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Write the note; 1 where it is not fit by the verdict or something else speaks against it."""
    from models.studies.note import N_STEPS, note

    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "a note")
    with Progress(N_STEPS, quiet=True) as step:
        found = note(wing, per_bay=options.mesh, step=step)
    record = note_record(found, options.file, options.mesh)
    if folder is not None:
        record["files"] = [str(f) for f in filled(folder, lambda place: _write(found, record, place))]
    return give(options, record, note_text, holds=found.fit)


def note_record(found: Note, file: str, per_bay: int) -> Record:
    """All that the note has to say."""
    from models import small_movements
    from models.studies.load_cases import far
    from models.studies.note import paragraphs, where
    from models.verdict import record as verdict_record

    plan = found.wing.planform
    assert plan is not None
    flown = found.envelope.worst
    loading, said = flown.wing_loading, paragraphs(found)
    record = {
        "wing": found.wing.name,
        "kind": "wing",
        "description": (
            f"span {say.span(2 * plan.semispan):.2f}, area {say.area(plan.area):.1f}, "
            f"{mass_words(flown.mass)}, wing loading {say.wing_loading(loading):.0f}"
        ),
        "answer": {
            "fit": found.fit,
            "verdict": verdict_record(found.verdict),
            "paragraphs": said,
            "sentences": [sentence for about in said.values() for sentence in about],
        },
        "small_movements": small_movements.record(*far(found.cases)),
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
    return document("note", file, record)


def _write(found: Note, record: Record, folder: Path) -> list[Path]:
    """The page as text, and its pictures."""
    from models.pictures.balance import plot_balance
    from models.pictures.load_diagrams import plot_loads
    from models.pictures.plots import envelope_title, plot_envelope
    from models.report.text import Length, Page

    page = io.StringIO()
    out = Page(page, length=Length(whole=True, rows=_MOST_CASES))
    note_text(out, record)
    out.end()
    files = [folder / "note.txt"]
    write_text(files[0], page.getvalue())
    one = found.envelope.worst
    loading = f", {one.name}" if len(found.envelope.masses) > 1 else ""
    title = envelope_title(f"{found.wing.name}{loading}", one)
    files.append(plot_envelope(title, one, folder / "envelope.png", found.envelope.advised))
    files.append(plot_balance(found.balance, folder / "balance.png"))
    return [*files, *plot_loads(found.cases, folder)]


_LEFT = 15
"""Columns for the paragraphs' names, where there is room beside them."""
_NARROW = 72
_ROOM = 31
"""Lines of paragraphs that leave room for the cautions on a screen."""
_LESSER = (
    "It balances ahead", "What lets it fly faster", "Taken as butted", "What its own twist adds",
    "Named but not described", "On landing", "Against flying it speaks also", "Hardest is",
)  # fmt: skip
"""What a screen that is full leaves out first, by its first words, the least first."""


def _laid(name: str, sentences: list[str], width: int) -> list[str]:
    """A paragraph's lines: beside its name, or under it on a narrow screen."""
    beside = width >= _NARROW
    head, hang = (f"{name:<{_LEFT}}", " " * _LEFT) if beside else (f"{name}: ", "  ")
    text = " ".join(sentences)
    return textwrap.wrap(text, width, initial_indent=head, subsequent_indent=hang) or [head.rstrip()]


def _must(name: str, k: int, sentence: str) -> bool:
    """Whether a sentence is on every screen: of the verdict all but its lesser load; the hardest case
    and the weakest bay stand there already."""
    if name == "Verdict":
        return not sentence.startswith(("That is with its lift", "What to change"))
    return (k == 0 and name not in ("Critical case", "Weakest bay")) or any(w in sentence for w in _ALWAYS)


def _shortened(paragraphs: dict[str, list[str]], width: int) -> dict[str, list[str]]:
    """What no screen leaves out, and in their order as many other sentences as there is room for."""
    kept = {
        name: {k for k, one in enumerate(sentences) if _must(name, k, one)}
        for name, sentences in paragraphs.items()
    }

    def told() -> dict[str, list[str]]:
        return {name: [paragraphs[name][k] for k in sorted(some)] for name, some in kept.items() if some}

    for name, sentences in paragraphs.items():
        for k in range(len(sentences)):
            if k not in kept[name]:
                kept[name].add(k)
                if sum(len(_laid(*one, width)) for one in told().items()) > _MOST_LINES:
                    kept[name].remove(k)
                    break
    for begins in _LESSER if width >= _NARROW else ():
        if sum(len(_laid(*one, width)) for one in told().items()) > _ROOM:
            for name, sentences in paragraphs.items():
                kept[name] -= {k for k, one in enumerate(sentences) if one.startswith(begins)}
    return told()


def note_text(out: Page, record: Record) -> None:
    """The note."""
    for words, style in ((record["wing"], "bold"), (record["description"], "")):
        for line in textwrap.wrap(words, out.width):
            out.line(line, style)
    good = record["answer"]["fit"]
    paragraphs = record["answer"]["paragraphs"]
    told = _shortened(paragraphs, out.width) if out.short else paragraphs
    if told != paragraphs:
        out.hold_back("the rest of each paragraph")
    for name, sentences in told.items():
        style = ("green" if good else "bold red") if name == "Verdict" else ""
        for line in _laid(name, sentences, out.width):
            out.line(line, style)
    rows = [
        (row["group"], row["case"], reserve(row["reserve_factor"]), row["weakest"] or "-")
        for row in record["cases"]
    ]
    out.table("Cases, the hardest first", ["<in", "~case", "reserve\nfactor", "~weakest"], rows)
    out.cautions(record["cautions"])
    out.say(record["about"])
    out.files(record["files"])
