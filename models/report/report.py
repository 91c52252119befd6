"""The answer of `report` as text: words, cautions, and where the page is."""

from __future__ import annotations

from typing import Any

from models.report.text import Page, cautions, reserve

Record = dict[str, Any]

_MOST_ROWS = 5


def report_text(out: Page, record: Record) -> None:
    """Words, the hardest cases, cautions, the file.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.report.report_record`.
    """
    out.say(record["wing"], "bold")
    for sentence in record["answer"]["sentences"]:
        out.say(sentence)
    cautions(out, record)
    if record["note"] is not None:
        rows = [
            (c["case"], reserve(c["reserve_factor"]), c["weakest"] or "-")
            for c in record["note"]["cases"][:_MOST_ROWS]
        ]
        out.table("The hardest cases", ["~case", "reserve\nfactor", "~weakest"], rows)
    out.line()
    if record["lacking"]:
        out.say(record["lacking"], "yellow")
    for file in record["files"]:
        out.line(f"written: {file} ({record['size_bytes'] / 1e6:.1f} MB)")
