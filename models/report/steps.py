"""The answer of `steps` as text and tables."""

from __future__ import annotations

import math
from typing import Any

from models.report.text import Page, answer, borne, fixed, number

Record = dict[str, Any]

_DEG = 180 / math.pi


def steps_text(out: Page, record: Record) -> None:
    """The answer of `steps`: words, cautions, the steps, webs before and after, what breaks first, remarks.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.steps.steps_record`.
    """
    answer(out, record, good=record["answer"]["finished_wing_bears_a_lift"])
    rows = [
        (
            f"{r['step']} {r['name']}",
            fixed(r["half_mass_kg"], 1e3),
            number(r["bending_stiffness_N_per_m"], 1e-3, 3),
            number(r["torsional_stiffness_N_m_per_rad"], 1 / _DEG, 3),
            _deg(r["twist_lifted_by_corner_rad"]),
            _times(r),
            _deg(r["stays_of_board_rad"]),
            _deg(r["stays_of_hand_rad"]),
            r["until_next"],
        )
        for r in record["steps"]
    ]
    error = record["board_error_rad"]
    mm = f"{1e3 * record['board_error_m']:g} mm"
    of = f" ({mm} is {_deg(error)} deg)" if error is not None else ""
    columns = [
        "<glued on", "half\ng", "bends\nN/mm", "twists\nN m/deg", "lifted\ndeg", "breaks\ntimes",
        "board\ndeg", "hand\ndeg", "<until\nnext",
    ]  # fmt: skip
    out.table(f"Step by step; board, hand: twist that stays{of}", columns, rows)
    if record["orders"]:
        cells = [
            (
                r["order"],
                r["sets"],
                number(r["bending_stiffness_N_per_m"], 1e-3, 3),
                number(r["torsional_stiffness_N_m_per_rad"], 1 / _DEG, 3),
                _deg(r["stays_of_board_rad"]),
                _deg(r["stays_of_hand_rad"]),
            )
            for r in record["orders"]
        ]
        heads = ["<order", "<while this\nsets", "bends\nN/mm", "twists\nN m/deg", "board\ndeg", "hand\ndeg"]
        out.table("Webs before or after: what stays", heads, cells)
    lifts = [
        (
            f"{r['step']} {r['name']}",
            what,
            borne(r[f"breaks_at_times_lift_{how}"]),
            r[f"breaks_first_{how}"] or "-",
        )
        for r in record["steps"]
        for what, how in (("by both tips", "by_tip"), ("by a corner", "by_corner"))
    ]
    out.table("What a lift breaks first", ["<step", "<lifted", "times its\nweight", "~breaks first"], lifts)
    parts = [(f"{r['step']} {r['name']}", r["glued_on"], r["until_next"]) for r in record["steps"]]
    out.table("What is glued on", ["<step", "~parts", "<until the next"], parts)
    out.say(record["about"])
    out.files(record["files"])


def _deg(angle: float | None) -> str:
    return "-" if angle is None else fixed(abs(angle), _DEG, 2)


def _times(row: Record) -> str:
    both = [row[f"breaks_at_times_lift_by_{how}"] for how in ("tip", "corner")]
    known = [one for one in both if one is not None]
    return borne(min(known)) if known else "-"
