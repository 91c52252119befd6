"""The answer of `rails` as text and tables."""

from __future__ import annotations

from typing import Any

from models.report.text import Page, answer, fixed, reserve

Record = dict[str, Any]


def rails_text(out: Page, record: Record) -> None:
    """The answer of `rails`: words, cautions, reserve factors case by case, frequencies, build checks.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.rails.rails_record`.
    """
    answer(out, record, good=record["answer"]["holds"] and record["answer"]["clear_of_resonance"])
    _cases(out, record["cases"])
    _frequencies(out, record["frequencies"])
    out.line()
    for check in record["build"]["checks"]:
        out.say(f"Build check: {check}")
    out.line()
    out.say(record["about"])


def _cases(out: Page, cases: list[Record]) -> None:
    modes = list(dict.fromkeys(r["mode"] for c in cases for r in c["rails"]))
    rows = []
    for c in cases:
        least = {
            m: min((r["reserve_factor"] for r in c["rails"] if r["mode"] == m), default=None) for m in modes
        }
        bay, weakest = c["carrying_bay"], c["weakest_part_of_the_wing"]
        rows.append(
            (
                c["case"],
                c["acts"],
                *(reserve(least[m]) for m in modes),
                "-" if bay is None else f"{reserve(bay['reserve_factor'])} {bay['part']}",
                "-" if weakest is None else f"{reserve(weakest['reserve_factor'])} {weakest['part']}",
            )
        )
    heads = [m.replace(" ", "\n") for m in modes]
    columns = ["<case", "~what acts", *heads, "~bays that carry", "~weakest of the wing"]
    out.table("Reserve factors of rails, their ties and glue, and of the bays that carry them", columns, rows)


def _frequencies(out: Page, found: Record) -> None:
    rows = [(fixed(m["frequency_Hz"]), fixed(m["share"], 100, 0), m["engine_moves"]) for m in found["modes"]]
    out.table("Natural frequencies in which the engine takes part", ["Hz", "share, %", "<engine moves"], rows)
    hand = found["by_hand_Hz"]
    if hand is not None:
        out.say(f"Rails alone on stiff spars, by hand: {fixed(hand)} Hz up and down.")
    shakers = [
        (
            s["name"],
            fixed(s["frequency_Hz"]),
            ", ".join(fixed(f) for f in s["too_near_Hz"]) or "none",
            ", ".join(fixed(m["rpm"], 1, 0) for m in s["met_between_idle_and_full"]) or "none",
        )
        for s in found["shakers"]
    ]
    heads = ["<shaker", "Hz", "<too near, Hz", "<meets a mode at, rpm"]
    out.table("What shakes it at full speed, and where it meets a mode from idle on", heads, shakers)
