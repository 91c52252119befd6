"""`sparbay compare`: the same wing, and each of its spars alone, with different layouts of webs."""

from __future__ import annotations

import argparse
from dataclasses import replace
from operator import attrgetter

from models import small_movements
from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import must_fly, read_wing
from models.command.progress import Progress
from models.command.record import Record, layout_records
from models.rounding import down
from models.studies.compare import LayoutResult, compare, n_steps
from models.studies.speed import Speeds, by_layout
from models.verdict import Verdict, in_short, verdict
from models.verdict import record as verdict_record
from models.wing.parts import Wing

ABOUT_GAINS = (
    "Gains are the change against the first layout in percent of that layout's figure, for each gram of web; "
    "nothing is said where a layout adds no mass."
)


def run(options: argparse.Namespace) -> ExitCode:
    """Compare the layouts of the wing file."""
    wing = read_wing(options.file)
    if options.speed:
        must_fly(wing, options.file, "--speed")
    with Progress(n_steps(wing), quiet=True) as progress:
        results = compare(wing, per_bay=options.mesh, progress=progress)
    decided = verdict(wing, per_bay=options.mesh) if wing.planform is not None else None
    fast = by_layout(wing, per_bay=options.mesh) if options.speed else None
    record = compare_record(wing, results, options.file, options.mesh, decided, fast)
    if options.json:
        print_json(record)
    else:
        from models.report import text

        text.tell(text.compare_text, record)
    return ExitCode.DONE


def compare_record(
    wing: Wing,
    results: list[LayoutResult],
    file: str,
    per_bay: int,
    decided: Verdict | None = None,
    fast: dict[str, Speeds] | None = None,
) -> Record:
    """All that `compare` has to say.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    results : list of LayoutResult
        From `models.studies.compare.compare`.
    file : str
        Its name as it was typed.
    per_bay : int
        Elements along a bay.
    decided : Verdict or None
        On the wing as drawn, where it was worked out.
    fast : dict of str to Speeds, or None
        What speed does to each layout of the wing, where it was asked for.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    flying = wing.flies
    rows = layout_records(results, flying=flying)
    for row, result in zip(rows, results, strict=True):
        if row["web_mass_kg"] <= _lightest(results, result.scope) + 1e-12:
            for key in ("bending", "torsion", "strength"):
                row[f"{key}_gain_percent_per_g"] = None
    moved = [
        (r.name if r.scope == "wing" else f"{r.name}, {r.scope} alone", _movement(wing, r)) for r in results
    ]
    for row, (_, one) in zip(rows, moved, strict=True):
        row["small_movements_hold"] = one.hold
    for row in rows:
        if fast is not None and row["scope"] == "wing":
            what, speed = fast[row["layout"]].lowest
            row["speed_comes_first"], row["speed_m_per_s"] = what or None, speed if what else None
    too_far = small_movements.worst(moved, "layout")
    said = sentences(results, flying=flying)
    said += in_short(decided) if decided is not None else []
    return {
        "command": "compare",
        "version": version(),
        "file": file,
        "wing": wing.name,
        "cautions": list(CAUTIONS),
        "answer": {"sentences": said if too_far is None else [*said, too_far]},
        "small_movements": small_movements.record(
            max((one for _, one in moved), key=lambda one: one.beyond), too_far
        ),
        "verdict": None if decided is None else verdict_record(decided),
        "layouts": rows,
        "about_gains": ABOUT_GAINS,
        "mesh": {"elements_per_bay": per_bay},
    }


def _movement(wing: Wing, result: LayoutResult) -> small_movements.Movement:
    """How far the tip of a layout moves, of a spar alone over its own length."""
    moved = small_movements.of_tip(wing, result.tip_deflection, result.tip_twist)
    ends = {spar.name: spar.y_end for spar in wing.spars}
    if result.scope == "wing":
        return moved
    return replace(moved, length=ends[result.scope], specimen=True)


def _lightest(results: list[LayoutResult], scope: str) -> float:
    """Mass of the webs of the first layout of a scope, which gains are counted from, kg."""
    return next(r for r in results if r.scope == scope).web_mass


def sentences(results: list[LayoutResult], *, flying: bool) -> list[str]:
    """What webs buy on the wing (or its only spar), in words: those of the file, and the best for each gram.

    Parameters
    ----------
    results : list of LayoutResult
        Of `models.studies.compare.compare`.
    flying : bool
        Loads of the whole wing count in g; else in multiples of the specimen's load.
    """
    said = []
    scope = results[0].scope
    group = [r for r in results if r.scope == scope]
    base = group[0]
    whom = "the wing" if scope == "wing" else f"spar {scope} alone"
    drawn = next((r for r in group if r.name == "as drawn"), None)
    if drawn is not None and drawn.web_mass > base.web_mass:
        unit = ("g" if flying else "times the load") if scope == "wing" else "N"
        grams = (drawn.web_mass - base.web_mass) * 1e3
        bends = drawn.bending_stiffness / base.bending_stiffness
        twists = drawn.torsional_stiffness / base.torsional_stiffness
        said.append(
            f"Against {base.name}, the webs of the file ({grams:.1f} grams) make {whom} {bends:.2f} times as "
            f"stiff in bending and {twists:.2f} times in torsion; first failure moves from "
            f"{down(base.load_factor_at_first_failure)} to {down(drawn.load_factor_at_first_failure)} {unit}."
        )
    webbed = [r for r in group if r.web_mass > base.web_mass]
    if webbed:
        best = []
        for what, gain in (
            ("bending", "bending_gain"),
            ("torsion", "torsion_gain"),
            ("strength", "strength_gain"),
        ):
            most = max(webbed, key=attrgetter(gain))
            best.append(f"in {what} {most.name} ({getattr(most, gain):+.1f} %/g)")
        said.append(f"Most for each gram of web: {', '.join(best)}.")
    return said or [f"No layout of {whom} has webs."]
