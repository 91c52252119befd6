"""Which bay lets go first, at what load, and how surely, wood being what it is?

Builds the drawing many times from other wood, solves the real structure for each set of wood, and counts
what goes first. The same seed gives the same wings.

example: sparbay scatter trainer
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from models.command.document import Record, figures, give, recorded
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, new_folder, read_wing
from models.command.options import add_workers, quantity, shared, workers_asked
from models.command.progress import Progress
from models.report.text import Page, answer, fixed
from models.workers import NoWorkers

if TYPE_CHECKING:
    from models.studies.scatter import Scatter

_FOR_LAYOUTS = 320
"""Most sets of wood for each layout: six layouts take no more than twice the time of the wing alone."""


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    shared(command, "file", "json", "mesh")
    add("--samples", metavar="N", type=quantity("whole number", 100, 1_000_000), default=10_000,
        help="wings (default: 10000)")  # fmt: skip
    add("--sets", metavar="N", type=quantity("whole number", 20, 100_000), default=1000,
        help="sets of wood that are solved, at most two for each wing (default: 1000; 320 for each layout); "
        "with 500 and more every half wing has wood of its own, foretold from the first 1000 (500 of a large "
        "wing) and solved where the answer hangs on it, as long as 2000 sets in all, or these, are enough",
    )  # fmt: skip
    add("--seed", metavar="S", type=quantity("whole number", 0, 2**32 - 1), default=20261,
        help="of the draws (default: 20261)")  # fmt: skip
    add("--layouts", action="store_true", help="compare layouts of webs by it as well")
    add_workers(command)
    shared(command, "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Draw the wings and tell what goes first."""
    from models.studies.scatter import layouts_to_compare, n_steps, scatter, scatter_of_layouts

    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    asked = {"samples": options.samples, "seed": options.seed, "per_bay": options.mesh}
    sets = min(options.sets, _FOR_LAYOUTS)
    steps = n_steps(options.samples, options.sets)
    if options.layouts:
        steps += n_steps(options.samples, sets, len(layouts_to_compare(wing)))
    try:
        with workers_asked(options) as work, Progress(steps, quiet=True) as progress:
            run = None if work is map else work
            result = scatter(wing, **asked, states=options.sets, progress=progress, run=run)
            layouts = []
            if options.layouts:
                layouts = scatter_of_layouts(wing, **asked, states=sets, progress=progress, run=run)
    except NoWorkers as fault:
        raise InputFault(f"scatter: {fault}") from None

    def draw(place: Path) -> list[Path]:
        from models.pictures.plots import plot_scatter

        return [plot_scatter(result, place / "scatter.png")]

    files = filled(folder, draw)
    record = recorded(options, _figures(result, layouts), files)
    return give(options, record, scatter_text)


def _figures(result: Scatter, layouts: list[tuple[str, Scatter]]) -> Record:
    from models.studies.scatter import ASSUMPTIONS, HALVES, likeliest, sentences

    return {
        "wing": result.wing.name,
        "kind": "wing" if result.flying else "specimen",
        "answer": {"sentences": sentences(result), **_loads(result)},
        "confidence": result.confidence,
        "bays": [
            {"side": side, "spar": spar, "bay": bay, "chance": chance}
            for side, spar, bay, chance in result.by_bay()
        ],
        "first_failures": [
            figures(one, part="part.name", mode="mode", side="side", spar="part.spar", bay="part.bay")
            | figures(one, "chance", "low", "high")
            for one in result.firsts
        ],
        "layouts": [
            {
                "layout": name,
                **_loads(one),
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
            "foretold_missed_by": result.missed and result.missed[1],
            "foretold_missed_by_in_the_middle": result.missed and result.missed[0],
            "seed": result.seed,
        },
        "assumptions": [*ASSUMPTIONS, *([HALVES] if result.flying and not result.wing.whole else [])],
    }


def _loads(result: Scatter) -> Record:
    return figures(
        result, load_factor_asked="asked", load_factor_nominal="nominal", load_factor_median="median",
        load_factor_fifth_percentile="fifth", fifth_percentile_interval="fifth_interval",
        survival="survival", survival_interval="survival_interval",
        failure_by_importance_sampling="failing.value",
    ) | {
        "failure_by_importance_sampling_interval": [result.failing.low, result.failing.high],
    }  # fmt: skip


def scatter_text(out: Page, record: Record) -> None:
    """Words first, then the tables, then what was assumed."""
    answer(out, record)
    percent = f"{100 * record['confidence']:.0f} %"
    flying = record["kind"] == "wing"
    unit = "g" if flying else "times the load"
    found = record["answer"]
    out.listed("Where it goes first", record["bays"], {
        "bay": ("bay", lambda bay: "-" if bay is None else str(bay)),
        "<spar": lambda b: b["spar"] or "-",
        "<side": lambda b: b["side"] or "-",
        "wings\n%": ("chance", fixed, 100),
    })  # fmt: skip
    out.listed("What goes first", record["first_failures"], {
        "<part": "part",
        "<mode": "mode",
        "wings\n%": ("chance", fixed, 100),
        f"{percent}\ninterval": lambda f: f"{fixed(f['low'], 100)} to {fixed(f['high'], 100)}",
    })  # fmt: skip
    low, high = found["fifth_percentile_interval"]
    rows = [
        ("with everything as in the tables", fixed(found["load_factor_nominal"]), "-"),
        ("median", fixed(found["load_factor_median"]), "-"),
        ("fifth percentile", fixed(found["load_factor_fifth_percentile"]), f"{fixed(low)} to {fixed(high)}"),
    ]
    out.table(f"At first failure, {unit}", ["<wings", unit, f"{percent}\ninterval"], rows)
    if record.get("layouts"):
        _layouts(out, record, unit)
    out.line()
    sample = record["sample"]
    kind = "wings" if flying else "specimens"
    sets = f"{sample['n_sets_of_wood']} sets of wood"
    drawn = f"{sample['n_wings']} {kind} from {sets}, seed {sample['seed']}; "
    most, middle = sample["foretold_missed_by"], sample["foretold_missed_by_in_the_middle"]
    if most is None:
        out.say(f"{drawn}the sets that they share make them count for {sample['n_effective']:.0f}.")
    else:
        out.say(
            f"{drawn}each half wing has wood of its own, foretold from those (missed by {100 * middle:.1f} % "
            f"in the middle and {100 * most:.0f} % at most where that was looked at) and solved where the "
            "load asked for or the fifth percentile hung on it."
        )
    for assumption in record["assumptions"]:
        out.say(f"- {assumption}")
    out.files(record["files"])


def _layouts(out: Page, record: Record, unit: str) -> None:
    out.listed("Layouts", record["layouts"], {
        "<layout": "layout",
        f"median\n{unit}": ("load_factor_median", fixed),
        f"fifth\n{unit}": ("load_factor_fifth_percentile", fixed),
        "interval": lambda r: " to ".join(fixed(v) for v in r["fifth_percentile_interval"]),
        "survive\n%": ("survival", fixed, 100),
        "~likeliest to go first": lambda r: f"{r['first_failure']} ({100 * r['first_failure_chance']:.0f} %)",
    })  # fmt: skip
