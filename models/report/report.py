"""The answer of `report` as text: words, cautions, and where the page is."""

from __future__ import annotations

from typing import Any

from models.report.text import Page, answer, reserve

Record = dict[str, Any]


def report_text(out: Page, record: Record) -> None:
    """Words, the hardest cases, cautions, the file.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.report.report_record`.
    """
    answer(out, record)
    if record["note"] is not None:
        rows = [
            (c["case"], reserve(c["reserve_factor"]), c["weakest"] or "-") for c in record["note"]["cases"]
        ]
        out.table("The hardest cases", ["~case", "reserve\nfactor", "~weakest"], rows)
    if record["lacking"]:
        out.warn(record["lacking"])
    out.files([f"{file} ({record['size_bytes'] / 1e6:.1f}\u00a0MB)" for file in record["files"]])
