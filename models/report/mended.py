"""The answer of `mend` for people: words, the changes in order, and what each does by itself."""

from __future__ import annotations

from models.report.text import Page, Record, answer
from models.rounding import down

"""Rows of the table of changes by themselves; the JSON document has them all."""


def mend_text(out: Page, record: Record) -> None:
    """Words first, then the tables.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.mend.mend_record`.
    """
    answer(out, record, good=record["answer"]["fit"])
    columns = ["<change", "gains\ng", "survive\nof 100", "<hardest case then", "one in twenty\nbears it x"]
    before = record["before"]
    start: tuple[str, ...] = (
        "as drawn", "-", down(100 * before["share_surviving_all"], 0), before["hardest"]["case"],
        down(before["hardest"]["reserve_factor_one_in_twenty"], 2),
    )  # fmt: skip
    fast = before["speed"] is not None
    if fast:
        columns.append("may fly\nkm/h")
        start = (*start, _kmh(before["speed"]["advised_m_per_s"]))
    if record["steps"]:
        rows = [start, *(_row(one, fast) for one in record["steps"])]
        out.table("Step by step, each on top of those before it", columns, rows)
    if record["alone"]:
        rows = [start, *(_row(one, fast) for one in record["alone"])]
        out.table("Single changes, the most for its mass first", columns, rows)
        out.say(
            "Each change was solved on a coarse mesh; the answer on the mesh of `sparbay check`. The search "
            "goes step by step: another set may be a little lighter."
        )
    out.files(record["files"])


def _row(one: Record, fast: bool) -> tuple[str, ...]:
    row = (
        one["change"],
        f"{one['grams']:.1f}",
        down(100 * one["share_surviving_all"], 0),
        one["hardest"],
        down(one["reserve_factor_one_in_twenty"], 2),
    )
    return (*row, _kmh(one["speed_let_m_per_s"])) if fast else row


def _kmh(speed: float | None) -> str:
    """Rounded down; a step towards strength was not asked for its speed."""
    return "-" if speed is None else down(3.6 * speed, 0)
