"""The answer of `family` as text and a table."""

from __future__ import annotations

from typing import Any

from models.report.text import Page, answer, borne, fixed, reserve

Record = dict[str, Any]


def family_text(out: Page, record: Record) -> None:
    """The answer of `family`: words, cautions, a line a wing, and what could not be read.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.family.family_record`.
    """
    found = record["answer"]
    answer(out, record, good=found["n_survive"] == found["n_members"])
    rows = [
        (
            member["member"],
            reserve(member["reserve_factor"]),
            borne(member["load_factor_at_first_failure"]),
            borne(member["load_factor_failing_one_in_twenty"]),
            "-" if member["share_surviving_all"] is None else borne(100 * member["share_surviving_all"], 0),
            f"{member['part']}: {member['mode']}" if member["part"] else "-",
            fixed(member["structure_kg"], 1e3, 0),
            fixed(member["tip_deflection_m"], 1e3),
        )
        for member in record["members"]
        if "fault" not in member
    ]
    if rows:
        heads = [
            "~wing", "reserve\nfactor", "fails\nat, g", "one in\n20, g", "survive\nof 100", "~goes first",
            "structure\ngrams", "tip up,\nmm",
        ]  # fmt: skip
        out.table("Wings in the order asked", heads, rows)
    for member in record["members"]:
        if "fault" in member:
            out.warn(f"Not checked: {member['member']}: {' '.join(member['fault'].split())}")
