"""The answer of `measured` as text and tables."""

from __future__ import annotations

import math
from typing import Any

from models.report.text import Page, answer, fixed, number

Record = dict[str, Any]

_DEG = 180 / math.pi


def measured_text(out: Page, record: Record) -> None:
    """The answer of `measured`: words, then for each side its marks, suspects and pieces.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.measured.measured_record`.
    """
    answer(out, record, good=record["answer"]["sound"])
    for side in record["sides"]:
        _marks(out, side)
        _hypotheses(out, side)
        _suspects(out, side)
        _pieces(out, side)
    out.say(record["about"])
    out.files(record["files"])


def _marks(out: Page, side: Record) -> None:
    rows = []
    for m in side["marks"]:
        dial = m["what"] == "deflection"
        factor, places = (1e3, 2) if dial else (_DEG, 2)
        rows.append(
            (
                str(m["rib"]), fixed(m["x_m"], 1e3, 0) if dial else "rib", "mm" if dial else "deg",
                *(fixed(m[key], factor, places) for key in ("computed", "measured", "error")),
                fixed(m["measured"] - m["computed"], factor, places),
                fixed(m["explained"] - m["computed"], factor, places),
            )
        )  # fmt: skip
    noise = side["noise"]
    told = "estimated from the scatter over the steps" if noise["estimated"] else "as given or assumed"
    columns = ["rib", "at x\nmm aft", "<unit", "computed", "measured", "error", "measured\nless computed",
               "explained\nless computed"]  # fmt: skip
    out.table(f"Movement under all bags, {side['side']}", columns, rows)
    out.say(
        f"Noise of one reading, {told}: {number(noise['dial_m'], 1e3, 2)} mm, "
        f"{number(noise['gauge_rad'], _DEG, 2)} degrees, and {fixed(noise['share_of_reading'], 100)} % of "
        "the reading."
    )


def _hypotheses(out: Page, side: Record) -> None:
    rows = [
        (
            h["what"],
            fixed(h["ln_evidence_against_sound"], places=1),
            f"{100 * h['probability']:.3g}",
        )
        for k, h in enumerate(side["hypotheses"])
        if not k or h["probability"] >= 0.01
    ]
    columns = ["<hypothesis", "ln evidence\nagainst sound", "probability\n%"]
    out.table(f"What may be, {side['side']}, the likeliest first", columns, rows)


def _suspects(out: Page, side: Record) -> None:
    if not side["suspects"]:
        return
    rows = [
        (
            s["part"],
            fixed(s["ln_evidence_against_sound"], places=1),
            fixed(s["share_of_suspicion"], 100, 0),
            _amount(s["amount_gone"], s["amount_error"]),
            fixed(s["chance_of_being_named_if_missing"], 100, 0),
        )
        for s in side["suspects"]
    ]
    columns = ["<part", "ln evidence\nagainst sound", "share of\nsuspicion, %", "gone if\nany is, %",
               "would be named\nif missing, %"]  # fmt: skip
    out.table(f"Is it there? Webs and braces, {side['side']}, the most suspect first", columns, rows)


def _amount(amount: float, error: float | None) -> str:
    """Per cent and error; nothing where the readings hardly depend on it."""
    if error is None or error > 0.25:
        return "cannot tell"
    return f"{fixed(amount, 100, 0)} +- {fixed(error, 100, 0)}"


def _pieces(out: Page, side: Record) -> None:
    rows = [
        (
            p["piece"],
            f"{100 * (p['stiffness_over_computed'] - 1):+.0f}",
            fixed(p["error"], 100, 0),
            fixed(p["scatter_of_the_wood"], 100, 0),
            fixed(p["learned"], 100, 0),
        )
        for p in side["pieces"]
    ]
    columns = ["<piece", "stiffness against\ncomputed, %", "error\n%", "scatter of\nsuch wood, %",
               "of the scatter\nresolved, %"]  # fmt: skip
    out.table(f"What the wood would have to be, {side['side']}", columns, rows)


def tones_text(out: Page, record: Record) -> None:
    """The answer of `measured` on tones: words, then each tone as heard, as computed and as explained.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.measured`.
    """
    answer(out, record, good=record["answer"]["sound"])
    rows = [
        (str(t["tone"]), *(number(t[f"{k}_Hz"], 1, 3) for k in ("heard", "computed", "explained")))
        for t in record["tones"]
    ]
    out.table("Tones, Hz", ["tone", "heard", "computed", "explained"], rows)
