"""`sparbay compare`: the same wing, and each of its spars alone, with different layouts of webs."""

from __future__ import annotations

import argparse

from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import read_wing
from models.command.progress import Progress
from models.command.record import Record, layout_records
from models.studies.compare import LayoutResult, compare, n_steps
from models.wing.parts import Wing

ABOUT_GAINS = (
    "Gains are the change against the first layout in percent of that layout's figure, for each gram of web; "
    "nothing is said where a layout adds no mass."
)


def run(options: argparse.Namespace) -> ExitCode:
    """Compare the layouts of the wing file."""
    wing = read_wing(options.file)
    with Progress(n_steps(wing), quiet=True) as progress:
        results = compare(wing, per_bay=options.mesh, progress=progress)
    record = compare_record(wing, results, options.file, options.mesh)
    if options.json:
        print_json(record)
    else:
        from models.report import text

        text.compare_text(text.console(), record)
    return ExitCode.DONE


def compare_record(wing: Wing, results: list[LayoutResult], file: str, per_bay: int) -> Record:
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

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    rows = layout_records(results)
    for row, result in zip(rows, results, strict=True):
        if row["web_mass_kg"] <= _lightest(results, result.scope) + 1e-12:
            for key in ("bending", "torsion", "strength"):
                row[f"{key}_gain_percent_per_g"] = None
    return {
        "command": "compare",
        "version": version(),
        "file": file,
        "wing": wing.name,
        "answer": {"sentences": sentences(results)},
        "layouts": rows,
        "about_gains": ABOUT_GAINS,
        "mesh": {"elements_per_bay": per_bay},
    }


def _lightest(results: list[LayoutResult], scope: str) -> float:
    """Mass of the webs of the first layout of a scope, which gains are counted from, kg."""
    return next(r for r in results if r.scope == scope).web_mass


def sentences(results: list[LayoutResult]) -> list[str]:
    """What webs buy on the wing (or the first spar), in words: those of the file, and the best of each kind a gram.

    Parameters
    ----------
    results : list of LayoutResult
        Of `models.studies.compare.compare`.
    """
    said = []
    scope = results[0].scope
    group = [r for r in results if r.scope == scope]
    base = group[0]
    whom = "the wing" if scope == "wing" else f"spar {scope} alone"
    drawn = next((r for r in group if r.name == "as drawn"), None)
    if drawn is not None and drawn.web_mass > base.web_mass:
        unit = "g" if scope == "wing" else "N"
        said.append(
            f"Against {base.name}, the webs of the file ({(drawn.web_mass - base.web_mass) * 1e3:.1f} g) make {whom} "
            f"{_times(drawn.bending_stiffness, base.bending_stiffness)} as stiff in bending and "
            f"{_times(drawn.torsional_stiffness, base.torsional_stiffness)} in torsion; first failure moves from "
            f"{base.load_factor_at_first_failure:.1f} to {drawn.load_factor_at_first_failure:.1f} {unit}."
        )
    webbed = [r for r in group if r.web_mass > base.web_mass]
    if webbed:
        best = [max(webbed, key=lambda r, k=key: getattr(r, k)) for key in ("bending_gain", "torsion_gain", "strength_gain")]
        said.append(
            f"Most for each gram of web: in bending {best[0].name} ({best[0].bending_gain:+.1f} %/g), in torsion "
            f"{best[1].name} ({best[1].torsion_gain:+.1f} %/g), in strength {best[2].name} ({best[2].strength_gain:+.1f} %/g)."
        )
    return said or [f"No layout of {whom} has webs."]


def _times(now: float, then: float) -> str:
    return f"{now / then:.2f} times"
