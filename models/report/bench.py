"""The answer of `bench` as text and tables."""

from __future__ import annotations

import math
from typing import Any

from models.report.text import Page, answer, fixed, number

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
    found = record["answer"]
    answer(out, record, good=found["reproduced"] and found["safe"])
    steps = record["steps"]
    heads = [f"step {s['step']}\n{s['load_factor']:.1f} g" for s in steps]
    rows: list[tuple[str, ...]] = []
    for bag in record["bags_on_each_side"]:
        ribs = " and ".join(str(r) for r in bag["ribs"])
        aft = " and ".join(fixed(a, 1e3, 0) for a in bag["aft_of_leading_edge_m"])
        what = "cord up" if bag["cord_that_lifts"] else "batten" if len(bag["ribs"]) > 1 else "bag"
        along = fixed(bag["from_inner_rib_m"], 1e3, 0) if what == "batten" else "-"
        nr, packer = str(len(rows) + 1), fixed(bag["packer_m"], 1e3, 0)
        masses = (fixed(m, 1e3, 0) for m in bag["mass_by_step_kg"])
        rows.append((nr, ribs, what, aft, along, packer, *masses))
    out.table(
        "Bags on each side, g at each step (both sides alike)",
        [
            "no.",
            "<rib",
            "<how",
            "mm aft of\nleading edge",
            "batten: mm from\nthe inner rib",
            "packers,\nmm high",
            *heads,
        ],
        rows,
    )
    if any(row[2] == "batten" for row in rows):
        out.say(
            "A batten rests on one point of each of its two ribs, as far aft as given for each; its bag "
            "lies on it so far from the inner rib, packers lie under both its ends, and the ribs between are "
            "left free."
        )
    couple = record["readings"]["couple"]
    if couple:
        aft = " mm, then ".join(fixed(a, 1e3, 0) for a in couple["aft_of_leading_edge_m"])
        out.say(
            f"Then, with all other bags off, a couple: {fixed(couple['mass_kg'], 1e3, 0)} g on each side "
            f"alone on rib {couple['rib']}, first {aft} mm aft of the leading edge (steps "
            f"{couple['steps'][0]} and {couple['steps'][1]}), on a stick along the rib."
        )
    _expected(out, record, heads)
    _reproduced(out, record)


def digits(error: float) -> int:
    """Places, in mm, that mean something beside a standard deviation in m."""
    return max(0, min(2, -math.floor(math.log10(max(error * 1e3, 1e-3)))))


def _expected(out: Page, record: Record, heads: list[str]) -> None:
    read = record["readings"]
    steps = sorted({k for dial in read["dials"] for k in dial["steps"]})
    own = {(m["rib"], m["aft_of_leading_edge_m"]): m["own_weight_deflection_m"] for m in record["marks"]}
    rows = []
    for dial in read["dials"]:
        at = {k: j for j, k in enumerate(dial["steps"])}
        error = dial["standard_deviation_m"]
        shown = [max(err, read["reading_error_m"]) for err in error]
        most = max(range(len(shown)), key=lambda j: abs(dial["expected_m"][j]))
        rows.append(
            (
                str(dial["rib"]),
                dial["place"],
                fixed(dial["aft_of_leading_edge_m"], 1e3, 0),
                fixed(own[dial["rib"], dial["aft_of_leading_edge_m"]], 1e3, 1),
                *(
                    fixed(dial["expected_m"][at[k]], 1e3, digits(shown[at[k]])) if k in at else "-"
                    for k in steps
                ),
                fixed(2 * shown[most], 1e3, digits(shown[most])),
            )
        )
    named = dict(enumerate(heads, 1))
    columns = ["rib", "<at", "mm aft of\nleading edge", "own weight\n(before zero)"]
    columns += [named.get(k, f"step {k}\ncouple") for k in steps]
    out.table(
        "Read these dials, mm (the tip sinks: as lift bends it), and expect of the bags", [*columns,
        "give or take\nat the most"], rows,
    )  # fmt: skip
    out.say(
        "Give or take: two standard deviations of what wood, hold, bags and the model may do; a wing within "
        "it is as computed. " + f"Judge with: {read['judge_with']}"
    )
    twice = {d["rib"] for d in read["dials"] if sum(e["rib"] == d["rib"] for e in read["dials"]) > 1}
    last = len(heads)
    rows = [
        (str(t["rib"]), fixed(t["own_weight_twist_rad"], _DEG, 1), fixed(t["twist_by_step_rad"][-1], _DEG, 1))
        for t in record["twist"]
        if t["rib"] in twice
    ]
    if rows:
        out.table("Twist to expect, degrees nose up", ["rib", "own weight\n(before zero)", heads[last - 1]],
                  rows)  # fmt: skip
    rows = [
        (w["part"], f"{100 * w['chance_of_being_named_if_missing']:.0f}")
        for w in read["webs"]
        if w["chance_of_being_named_if_missing"] >= 0.05
    ]
    if rows:
        out.table(
            "Chance of being named if missing, % (those not listed: below 5)", ["<web or brace", "%"], rows
        )


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
    out.files(record["files"])
