"""The answer of `lightest` for people: words, the layout beside the file's own, and what each gram buys."""

from __future__ import annotations

import math

from models.report.text import Page, Record, answer, borne, fixed

MOST_ROWS = 16
"""Rows of a front; the JSON document has them all."""


def lightest_text(out: Page, record: Record) -> None:
    """Words first, then the tables.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.lightest.lightest_record`.
    """
    answer(out, record, good=record["answer"]["found"])
    flying = record["kind"] == "wing"
    unit = "g" if flying else "x load"
    columns = ["webs\ngrams", f"fails at\n{unit}", "tip up\nmm", "twist\ndeg", "~fails first", "~webs"]
    named = [
        (name, record[key])
        for name, key in (
            ("lightest", "lightest"),
            ("as drawn", "as_drawn"),
            ("webs everywhere", "webs_everywhere"),
        )
        if record[key]
    ]
    out.table("Side by side", ["<", *columns], [(name, *_row(r)) for name, r in named])
    best = "nothing lighter is better"
    if record["evaluated"] < record["layouts"]:
        best = "nothing lighter that was evaluated is better"
    for title, key in (
        ("What each gram buys in strength", "mass_against_strength"),
        ("What each gram buys against bending", "mass_against_deflection"),
        ("What each gram buys against twist", "mass_against_twist"),
    ):
        rows = record[key]
        shown = _thinned(rows)
        more = f" ({len(shown)} of {len(rows)})" if len(shown) < len(rows) else ""
        out.table(f"{title}: {best}{more}", columns, [_row(r) for r in shown])
    out.line()
    out.say(record["about"])
    out.files(record["files"])


def _thinned(rows: list[Record]) -> list[Record]:
    """Evenly chosen rows of a long table, first and last among them."""
    if len(rows) <= MOST_ROWS:
        return rows
    last = len(rows) - 1
    return [rows[k] for k in sorted({round(i * last / (MOST_ROWS - 1)) for i in range(MOST_ROWS)})]


def _row(row: Record) -> tuple[str, ...]:
    return (
        fixed(row["web_mass_kg"], 1e3),
        borne(row["load_factor_at_first_failure"], 2),
        fixed(row["tip_deflection_m"], 1e3),
        fixed(row["tip_twist_rad"], 180 / math.pi, places=2),
        f"{row['part']}, {row['mode']}",
        row["webs"],
    )
