"""The answers of `buckle`, `collapse` and `proof` as text and tables."""

from __future__ import annotations

import math
from typing import Any

from models.report.text import Page, answer, fixed, number

Record = dict[str, Any]

_DEG = 180 / math.pi


def _unit(record: Record) -> tuple[str, int]:
    return ("times\nits load", 2) if record["kind"] == "specimen" else ("g", 1)


def buckle_text(out: Page, record: Record) -> None:
    """The answer of `buckle`: words, the modes, and the lowest of each group of parts.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.buckle.buckle_record`.
    """
    answer(out, record, good=record["answer"]["holds"])
    unit, places = _unit(record)
    columns = [f"buckles\nat, {unit}", "of load\nasked", "~shape"]
    columns += ["<strain energy by bay", "<by kind of part"]
    out.table("The lowest modes", columns, [_mode_row(m, places) for m in record["modes"]])
    groups = {
        "spars": "spars, edges, rails",
        "sheeting": "sheeting",
        "ribs": "ribs and their strips",
    }
    rows = [(groups[group], *_mode_row(m, places)[:3]) for group, m in record["first_of_each_group"].items()]
    columns = ["<stress of", f"buckles\nat, {unit}", "of load\nasked", "~shape"]
    out.table("The lowest mode by the stress of one group of parts alone", columns, rows)
    mesh = record["mesh"]
    out.line()
    out.say(record["about"])
    out.say(f"Mesh: {mesh['elements_per_bay']} elements a bay, {mesh['panels_across']} panels between spars.")
    out.files(record["files"])


def _mode_row(mode: Record, places: int) -> tuple[str, ...]:
    bays = [f"{b['bay']}{'p' if b['side'] == 'port' else ''}: {100 * b['share']:.0f} %"
            for b in mode["strain_energy_by_bay"][:3]]  # fmt: skip
    kinds = [f"{k} {100 * v:.0f} %" for k, v in list(mode["strain_energy_by_kind"].items())[:2]]
    return (
        fixed(mode["load_factor"], places=places),
        fixed(mode["factor_on_load"], places=2),
        mode["words"].rpartition(" at ")[0] if "as a whole" not in mode["words"] else mode["words"],
        ", ".join(bays),
        ", ".join(kinds),
    )


def collapse_text(out: Page, record: Record) -> None:
    """The answer of `collapse`: words, the failures in their order, and what failed parts still carry.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.collapse.collapse_record`.
    """
    answer(out, record, good=record["answer"]["survives"])
    unit, places = _unit(record)
    steps = record["steps"]
    rows = [
        (
            str(s["step"]),
            fixed(s["load_factor"], places=places),
            s["words"],
            s["mode"],
            s["still_carries"],
            fixed(s["tip_deflection_m"], 1e3),
            fixed(s["tip_twist_rad"], _DEG),
            fixed(s["stiffness_left"], 100, 0),
        )
        for s in steps
    ]
    columns = [
        "step",
        f"holds\nup to, {unit}",
        "~what happens",
        "<mode",
        "<still carries",
        "tip up\nmm",
        "tip twist\ndeg",
        "stiffness\nleft, %",
    ]
    out.table("Failures in their order", columns, rows)
    bows = record["sheeting_that_bows"]
    if bows:
        first = [(b["part"], fixed(b["from_load_factor"], places=places)) for b in bows]
        out.table("Sheeting that bows", ["<sheeting", f"from, {unit}"], first)
    why = dict.fromkeys((s["still_carries"], s["why"]) for s in steps)
    out.table("What a failed part still carries", ["<rest", "~reason"], [*why])
    out.line()
    out.say(record["about"])
    out.files(record["files"])


def proof_text(out: Page, record: Record) -> None:
    """The answer of `proof`: words, cautions, what limits the test, and what to hang where.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.proof.proof_record`.
    """
    answer(out, record, good=record["answer"]["possible"])
    unit, places = _unit(record)
    limits = record["limits"]
    rows = [
        (
            fixed(r["load_factor"], places=places),
            r["part"],
            r["mode"],
            fixed(r["share_of_strength"], 100, 0),
            r["source_of_share"],
        )
        for r in limits
    ]
    columns = [f"may go\nto, {unit}", "<part", "<mode", "share of\nstrength, %", "?~source of the share"]
    out.table("What limits the test, the lowest first", columns, rows)
    hung = record["hang_on_each_side"]
    if hung:
        n = record["answer"]["suggested_load_factor"]
        weights = [(fixed(h["y_m"], 1e3, 0), number(h["mass_kg"], 1e3, 3)) for h in hung]
        out.table(
            f"What to hang at each rib of each side for {n:.1f} g, upside down (negative: borne there)",
            ["rib at\ny, mm", "g"],
            weights,
        )
        out.say(
            "Lift less the inertia of the wing and all it carries; the wing's own weight, which helps by 1 g "
            "of it, is left out. Spread each over the rib with its middle on the line of action of the lift."
        )
    factor = record["answer"]["pull_up_over_test"]
    out.line()
    out.say(
        f"A load held for {record['answer']['hold_s']:.0f} s uses the wood like a pull-up {factor:.2f} times "
        "as hard that lasts a second: 7.5 % for each tenfold time, Wood Handbook 1999, chapter 4 [from "
        "memory]."
    )
