"""The note as one page of text: headings at the left, words beside them, one table, the cautions."""

from __future__ import annotations

import textwrap
from typing import Any

from models.report.text import Page, reserve

Record = dict[str, Any]

_LEFT = 15


def note_text(out: Page, record: Record) -> None:
    """The note.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.note.note_record`.
    """
    out.line(record["wing"], "bold")
    out.line(record["description"])
    good = record["answer"]["fit"]
    for name, sentences in record["answer"]["paragraphs"].items():
        style = ("green" if good else "bold red") if name == "Verdict" else ""
        lines = textwrap.wrap(" ".join(sentences), out.width - _LEFT) or [""]
        for k, line in enumerate(lines):
            out.line(f"{name if k == 0 else '':<{_LEFT}}{line}", style)
    rows = [
        (row["group"], row["case"], reserve(row["reserve_factor"]), row["weakest"] or "-")
        for row in record["cases"]
    ]
    out.table("Cases, the hardest first", ["<in", "~case", "reserve\nfactor", "~weakest"], rows)
    out.cautions(record["cautions"])
    out.say(record["about"])
    out.files(record["files"])
