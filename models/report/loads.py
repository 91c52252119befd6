"""The answer of `loads` as text and tables."""

from __future__ import annotations

import math
from typing import Any

from models.report.text import Page, answer, fixed, number, reserve

Record = dict[str, Any]

_DEG = 180 / math.pi


def loads_text(out: Page, record: Record) -> None:
    """Words, cautions, a table of the cases, one of the section forces, what was assumed, files.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.loads.loads_record`.
    """
    answer(out, record, good=record["answer"]["survives"])
    at = {c["case"]: c for c in record["cases"]}
    ranked = [at[name] for name in record["answer"]["order"]]
    _cases(out, ranked)
    _sections(out, ranked)
    if record["assumed"]:
        rows = [(a["key"], a["value"]) for a in record["assumed"]]
        out.table("Assumed, because the file does not say", ["<key", "~value"], rows)
    out.line()
    out.say(record["about"])
    out.files(record["files"])


def _cases(out: Page, cases: list[Record]) -> None:
    rows = []
    for c in cases:
        weakest = c["weakest"]
        part, mode = ("-", "-") if weakest is None else (weakest["part"], weakest["mode"])
        bows = "-" if c["sheeting_bows"] is None else "bows"
        bent = c["bent_wing"]
        told = None if bent is None else bent["reserve_factor"]
        twisted = "" if bent is None else "-" if told is None else reserve(told)
        rows.append((c["case"], reserve(c["reserve_factor"]), twisted, part, mode, bows))
    columns = ["~case", "reserve\nfactor", "of bent\nwing", "~weakest part", "~how it fails", "<sheeting"]
    out.table("Load cases, the hardest first", columns, rows)
    acts = [(c["case"], c["acts"]) for c in cases]
    out.table("What acts (W: weight of the aeroplane)", ["~case", "~what acts"], acts)


_SIDES = ("port", "starboard")
_ROOT = ("shear_N", "bending_N_m", "torsion_N_m", "sweeping_bending_N_m")


def _plain(value: float, largest: float) -> str:
    """Three digits; rounding beside the largest of its kind is nothing."""
    return number(value if abs(value) > 1e-5 * largest else 0.0, digits=3)


def _sections(out: Page, cases: list[Record]) -> None:
    rows = []
    largest = {key: max(abs(c["root"][key]) for c in cases) for key in _ROOT}
    for c in cases:
        root = c["root"]
        rows.append(
            (
                c["case"],
                "port" if root["y_m"] < 0 else "starboard",
                *(_plain(root[key], largest[key]) for key in _ROOT),
                _plain(c["largest"]["bending_N_m"], largest["bending_N_m"]),
                " / ".join(fixed(c[f"twist_{side}_rad"], _DEG) for side in _SIDES),
                " / ".join(fixed(c[f"tip_deflection_{side}_m"], 1e3, 0) for side in _SIDES),
            )
        )
    columns = ["~case", "<side", "shear\nN", "bending\nN m", "torsion\nN m", "bending\naft, N m",
               "most bending\nanywhere, N m", "twist, port /\nstarb., deg",
               "tip rises, port /\nstarb., mm"]  # fmt: skip
    out.table(
        "Root of the side that bends more, about the quarter chord; positive: up, tip lifted, nose up, aft",
        columns,
        rows,
    )
