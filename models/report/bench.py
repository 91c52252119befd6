"""The answer of `bench` as text and tables."""

from __future__ import annotations

import math
from typing import Any

from models.report.text import Page, cautions, fixed, number

Record = dict[str, Any]

_DEG = 180 / math.pi


def bench_text(out: Page, record: Record) -> None:
    """The answer of `bench`: words, bags, cautions, diagrams, and what to expect at each step.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.bench.bench_record`.
    """
    answer = record["answer"]
    good = answer["reproduced"] and answer["safe"]
    out.say(record["wing"], "bold")
    for sentence in answer["sentences"]:
        out.say(sentence, "green" if good else "bold red")
    steps = record["steps"]
    heads = [f"step {s['step']}\n{s['load_factor']:.1f} g" for s in steps]
    rows: list[tuple[str, ...]] = []
    for bag in record["bags_on_each_side"]:
        ribs = " and ".join(str(r) for r in bag["ribs"])
        aft = " and ".join(fixed(a, 1e3, 0) for a in bag["aft_of_leading_edge_m"])
        what = "cord up" if bag["cord_that_lifts"] else "batten" if len(bag["ribs"]) > 1 else "bag"
        along = fixed(bag["from_inner_rib_m"], 1e3, 0) if what == "batten" else "-"
        nr = str(len(rows) + 1)
        rows.append((nr, ribs, what, aft, along, *(fixed(m, 1e3, 0) for m in bag["mass_by_step_kg"])))
    out.table(
        "Bags on each side, g at each step (both sides alike)",
        ["no.", "<rib", "<how", "mm aft of\nleading edge", "batten: mm from\nthe inner rib", *heads],
        rows,
    )
    if any(row[2] == "batten" for row in rows):
        out.say(
            "A batten rests on one point of each of its two ribs, as far aft as given for each; its bag "
            "lies on it so far from the inner rib, and the ribs between are left free."
        )
    cautions(out, record)
    _expected(out, record, heads)
    _reproduced(out, record)


def _expected(out: Page, record: Record, heads: list[str]) -> None:
    rows = [
        (
            str(m["rib"]),
            m["place"],
            fixed(m["aft_of_leading_edge_m"], 1e3, 0),
            fixed(m["own_weight_deflection_m"], 1e3, 2),
            *(fixed(d, 1e3, 1) for d in m["deflection_by_step_m"]),
        )
        for m in record["marks"]
    ]
    columns = ["rib", "<at", "mm aft of\nleading edge", "own weight\n(before zero)", *heads]
    out.table("Deflection to expect from the bags, mm (the tip sinks: as lift bends it)", columns, rows)
    rows = [
        (
            str(t["rib"]),
            fixed(t["own_weight_twist_rad"], _DEG, 2),
            *(fixed(v, _DEG, 2) for v in t["twist_by_step_rad"]),
        )
        for t in record["twist"]
    ]
    out.table("Twist to expect, degrees nose up", ["rib", "own weight\n(before zero)", *heads], rows)


def _reproduced(out: Page, record: Record) -> None:
    rows = [
        (
            str(d["rib"] or "hold"),
            fixed(d["y_m"], 1e3, 0),
            *(
                cell
                for unit in ("shear_N", "bending_N_m", "torsion_N_m")
                for cell in (
                    number(d[f"flight_{unit}"], 1.0, 3),
                    number(d[f"bench_{unit}"], 1.0, 3),
                    fixed(d[f"error_of_{unit.split('_')[0]}"], 100),
                )
            ),
        )
        for d in record["diagrams"]
    ]
    columns = ["rib", "at y\nmm"]
    for what in ("shear, N", "bending, N m", "torsion, N m"):
        columns += [f"{what}\nflight", "\nbench", "\nerror, %"]
    out.table("Flight and bench just inboard of each rib (the first row: at the hold)", columns, rows)
    share = record["errors_are_of"]["share_of_greatest"]
    out.say(
        f"Errors are of the value at the rib, or of {100 * share:.0f} % of the greatest where it is smaller. "
        "Bending and torsion are about axes across and along the first spar that reaches the tip. Flight: "
        "lift less inertia of structure and equipment; bench: bags and the bare wing's own weight."
    )
    for file in record["files"]:
        out.line(f"Written: {file}")
