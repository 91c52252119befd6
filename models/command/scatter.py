"""`sparbay scatter`: what other wood would do to the same drawing, and how surely the wing holds."""

from __future__ import annotations

import argparse
from pathlib import Path

from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import filled, new_folder, read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.studies.scatter import (
    ASSUMPTIONS,
    HALVES,
    Scatter,
    layouts_to_compare,
    likeliest,
    n_steps,
    scatter,
    scatter_of_layouts,
    sentences,
)

_FOR_LAYOUTS = 320
"""Most sets of wood for each layout: six layouts take no more than twice the time of the wing alone."""


def run(options: argparse.Namespace) -> ExitCode:
    """Draw the wings and tell what goes first."""
    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    asked = {"samples": options.samples, "seed": options.seed, "per_bay": options.mesh}
    sets = min(options.sets, _FOR_LAYOUTS)
    steps = n_steps(options.samples, options.sets)
    if options.layouts:
        steps += n_steps(options.samples, sets, len(layouts_to_compare(wing)))
    with Progress(steps, quiet=True) as progress:
        result = scatter(wing, **asked, states=options.sets, progress=progress)
        layouts = scatter_of_layouts(wing, **asked, states=sets, progress=progress) if options.layouts else []

    def draw(place: Path) -> list[Path]:
        from models.pictures.plots import plot_scatter

        return [plot_scatter(result, place / "scatter.png")]

    files = filled(folder, draw)
    record = scatter_record(result, layouts, options.file, options.mesh, files)
    if options.json:
        print_json(record)
    else:
        from models.report.scatter import scatter_text
        from models.report.text import tell

        tell(scatter_text, record)
    return ExitCode.DONE


def scatter_record(
    result: Scatter, layouts: list[tuple[str, Scatter]], file: str, per_bay: int, files: list[Path]
) -> Record:
    """All that `scatter` has to say.

    Parameters
    ----------
    result : Scatter
        From `models.studies.scatter.scatter`.
    layouts : list of (name, Scatter)
        From `models.studies.scatter.scatter_of_layouts`; none if they were not asked for.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.
    files : list of Path
        Pictures.

    Returns
    -------
    dict
        Plain data; load factors of a specimen are multiples of its load.
    """
    record: Record = {
        "command": "scatter",
        "version": version(),
        "file": file,
        "wing": result.wing.name,
        "kind": "wing" if result.flying else "specimen",
        "answer": {"sentences": sentences(result), **_figures(result)},
        "cautions": list(CAUTIONS),
        "confidence": result.confidence,
        "bays": [
            {"side": side, "spar": spar, "bay": bay, "chance": chance}
            for side, spar, bay, chance in result.by_bay()
        ],
        "first_failures": [
            {
                "part": one.part.name,
                "mode": one.mode,
                "side": one.side,
                "spar": one.part.spar,
                "bay": one.part.bay,
                "chance": one.chance,
                "low": one.low,
                "high": one.high,
            }
            for one in result.firsts
        ],
        "layouts": [
            {
                "layout": name,
                **_figures(one),
                "first_bay": most.place,
                "first_bay_chance": most.chance,
                "first_failure": ": ".join(dict.fromkeys((most.place, most.what, most.mode))),
                "first_failure_chance": most.mode_chance,
            }
            for name, one in layouts
            for most in [likeliest(one)]
        ],
        "sample": {
            "n_wings": result.n_wings,
            "n_sets_of_wood": result.n_states,
            "n_effective": result.n_wings / result.design_effect,
            "seed": result.seed,
        },
        "assumptions": [*ASSUMPTIONS, *([HALVES] if result.flying and not result.wing.whole else [])],
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(path) for path in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _figures(result: Scatter) -> Record:
    return {
        "load_factor_asked": result.asked,
        "load_factor_nominal": result.nominal,
        "load_factor_median": result.median,
        "load_factor_fifth_percentile": result.fifth,
        "fifth_percentile_interval": list(result.fifth_interval),
        "survival": result.survival,
        "survival_interval": list(result.survival_interval),
        "failure_by_importance_sampling": result.failing.value,
        "failure_by_importance_sampling_interval": [result.failing.low, result.failing.high],
    }
