"""What does each layout of webs buy in bending, twist and strength, and for how many grams?

Compares no webs, C on either face, box, box with the grain along the span, the file's own webs and the
layouts that it names, on the whole wing and on each spar alone.

example: sparbay compare trainer
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import replace
from operator import attrgetter
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, figures, give
from models.command.exit_codes import ExitCode
from models.command.files import must_fly, read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import DEG, Columns, Page, answer, borne, fixed, number
from models.rounding import down

if TYPE_CHECKING:
    from models import small_movements
    from models.studies.compare import LayoutResult
    from models.studies.speed import Speeds
    from models.verdict import Verdict
    from models.wing.parts import Wing

ABOUT_GAINS = (
    "Gains are the change against the first layout in percent of that layout's figure, for each {mass} of "
    "web; nothing is said where a layout adds no mass. Lift is that of the wing as built; the verdict counts "
    "the bent wing's where that is harder."
)


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json")
    command.add_argument("--speed", action="store_true",
        help="a column more: the speed at which flutter and the like begin")  # fmt: skip
    shared(command, "mesh")


def run(options: argparse.Namespace) -> ExitCode:
    """Compare the layouts of the wing file."""
    from models.studies.compare import compare, n_steps
    from models.studies.speed import by_layout
    from models.verdict import verdict

    wing = read_wing(options.file)
    if options.speed:
        must_fly(wing, options.file, "--speed")
    with Progress(n_steps(wing), quiet=True) as progress:
        results = compare(wing, per_bay=options.mesh, progress=progress)
    decided = verdict(wing, per_bay=options.mesh) if wing.planform is not None else None
    fast = by_layout(wing, per_bay=options.mesh) if options.speed else None
    record = compare_record(wing, results, options.file, options.mesh, decided, fast)
    return give(options, record, compare_text)


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
    wing, results
        The wing, and every layout tried on it, the file's own first.
    file : str
        As it was typed.
    per_bay : int
        Elements along a bay.
    decided : Verdict or None
        On the wing as drawn; None of a specimen.
    fast : dict or None
        Speeds by the layout's name, where they were asked for.
    """
    from models import small_movements
    from models.verdict import in_short
    from models.verdict import record as verdict_record

    flying = wing.flies
    rows = _layout_records(results, flying=flying)
    for row, result in zip(rows, results, strict=True):
        if row["web_mass_kg"] <= _lightest(results, result.scope) + 1e-12:
            for key in GAINS:
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
    record = {
        "wing": wing.name,
        "answer": {"sentences": said if too_far is None else [*said, too_far]},
        "small_movements": small_movements.record(
            max((one for _, one in moved), key=lambda one: one.beyond), too_far
        ),
        "verdict": None if decided is None else verdict_record(decided),
        "layouts": rows,
        "about_gains": ABOUT_GAINS.format(mass=say.small_mass()),
        "mesh": {"elements_per_bay": per_bay},
    }
    return document("compare", file, record)


GAINS = ("bending", "torsion", "strength")
"""What a layout gains for its mass."""


def _layout_records(results: Iterable[LayoutResult], *, flying: bool) -> list[Record]:
    """Results of a layout comparison as plain data, in their order; `flying` as against a specimen."""
    from models.studies.layouts import UNIT_TORQUE

    rows = []
    for r in results:
        strength, tip_load = "load_multiple_at_first_failure", "the load of the file"
        if r.scope != "wing":
            strength = "tip_force_at_first_failure_N"
            tip_load = f"{say.force(1.0):.3g}, and {say.small_moment(UNIT_TORQUE):.3g}"
        elif flying:
            strength = "load_factor_at_first_failure"
        rows.append(
            {"scope": r.scope, "layout": r.name, "tip_load": tip_load}
            | figures(r, "web_mass_kg", "tip_deflection_m", "tip_twist_rad", "bending_stiffness_N_per_m")
            | figures(r, "torsional_stiffness_N_m_per_rad")
            | {strength: r.load_factor_at_first_failure}
            | figures(r, "reserve_factor", "first_failure")
            | {f"{what}_gain_percent_per_g": getattr(r, f"{what}_gain") for what in GAINS}
        )
    return rows


def _movement(wing: Wing, result: LayoutResult) -> small_movements.Movement:
    """How far the tip of a layout moves, of a spar alone over its own length."""
    from models import small_movements

    moved = small_movements.of_tip(wing, result.tip_deflection, result.tip_twist)
    ends = {spar.name: spar.y_end for spar in wing.spars}
    if result.scope == "wing":
        return moved
    return replace(moved, length=ends[result.scope], specimen=True)


def _lightest(results: list[LayoutResult], scope: str) -> float:
    """Mass of the webs of the first layout of a scope, which gains are counted from, kg."""
    return next(r for r in results if r.scope == scope).web_mass


def sentences(results: list[LayoutResult], *, flying: bool) -> list[str]:
    """What webs buy on the wing (or its only spar), in words: the file's, and the best for each gram."""
    said = []
    scope = results[0].scope
    group = [r for r in results if r.scope == scope]
    base = group[0]
    whom = "the wing" if scope == "wing" else f"spar {scope} alone"
    drawn = next((r for r in group if r.name == "as drawn"), None)
    if drawn is not None and drawn.web_mass > base.web_mass:
        unit = ("g" if flying else "times the load") if scope == "wing" else "N"
        grams = say.grams(drawn.web_mass - base.web_mass)
        bends = drawn.bending_stiffness / base.bending_stiffness
        twists = drawn.torsional_stiffness / base.torsional_stiffness
        said.append(
            f"Against {base.name}, the webs of the file ({grams:.1f}) make {whom} {bends:.2f} times as "
            f"stiff in bending and {twists:.2f} times in torsion; first failure moves from "
            f"{down(base.load_factor_at_first_failure)} to {down(drawn.load_factor_at_first_failure)} {unit}."
        )
    webbed = [r for r in group if r.web_mass > base.web_mass]
    if webbed:
        best = []
        for what in GAINS:
            gain = f"{what}_gain"
            most = max(webbed, key=attrgetter(gain))
            per_gram = getattr(most, gain) * _each()
            best.append(f"in {what} {most.name} ({per_gram:+.1f} %/{_per()})")
        said.append(f"Most for each {say.small_mass()} of web: {', '.join(best)}.")
    return said or [f"No layout of {whom} has webs."]


def _each() -> float:
    """Gains for a gram as gains for the unit of mass that is spoken."""
    return 1e3 / say.mass.factor


def _per() -> str:
    """That unit; not "g": beside it a wing fails at so many g."""
    return "oz" if say.imperial() else "gram"


def compare_text(out: Page, record: Record) -> None:
    """The answer of `compare`: words first, then a table for the wing and for each spar."""
    answer(out, record)
    for scope in dict.fromkeys(r["scope"] for r in record["layouts"]):
        _layouts(out, scope, [r for r in record["layouts"] if r["scope"] == scope])
    out.say(record["about_gains"])


_STRENGTH = {
    "load_factor_at_first_failure": ("fails at\ng", 1),
    "load_multiple_at_first_failure": ("fails at\ntimes load", 2),
    "tip_force_at_first_failure_N": ("fails at\nN", 2),
}


def _layouts(out: Page, scope: str, rows: Sequence[Record]) -> None:
    strength = next(key for key in _STRENGTH if key in rows[0])
    heading, places = _STRENGTH[strength]
    alone = strength.endswith("_N")
    heading = f"fails at\n{say.force.unit}" if alone else heading
    per_gram = _each()
    columns: Columns = {
        "<layout": "layout",
        f"webs\n{say.grams.unit}": ("web_mass_kg", say.mass.fixed, 2),
        heading: lambda r: borne(
            r[strength] * say.force.factor if alone and r[strength] else r[strength], places
        ),
        f"bending\n{say.bending_stiffness.unit}": (
            "bending_stiffness_N_per_m", say.bending_stiffness.number, 3
        ),
        f"torsion\n{say.torsion_stiffness.unit}": (
            "torsional_stiffness_N_m_per_rad", say.torsion_stiffness.number, 3
        ),
    }  # fmt: skip
    if "speed_m_per_s" in rows[0]:
        columns[f"beats, twists\noff at, {say.speed.unit}"] = ("speed_m_per_s", say.speed.number, 3)
    columns[f"tip up\n{say.length.unit}"] = ("tip_deflection_m", say.length.number)
    columns["tip twist\ndeg"] = ("tip_twist_rad", number, DEG)
    for what in GAINS:
        columns[f"{what}\n%/{_per()}"] = (f"{what}_gain_percent_per_g", fixed, per_gram)
    columns["~first failure"] = "first_failure"
    whom = "Whole wing" if scope == "wing" else f"Spar alone, {scope}"
    out.listed(f"{whom}: tip movement under {rows[0]['tip_load']}", rows, columns)
