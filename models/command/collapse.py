"""What follows the first failure, and does it end the flight?

Breaks what fails first, solves again, and tells the story until the wing can carry no more. Leaves with 1
if the first failure comes below the load asked for.

example: sparbay collapse trainer
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, figures, give, recorded
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, new_folder, read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import DEG, Columns, Page, answer, borne, fixed, load_unit, rest

if TYPE_CHECKING:
    from models.studies.collapse import Collapse

ABOUT = (
    "Each state of damage is loaded from nothing; damage counts by the bay, which is the cautious side, and "
    "the jolt of a part that lets go is left out, which is not. Sheeting that bows keeps von Karman's "
    "effective width. What a failed part still carries is a judgement, told below; the load at first failure "
    "does not depend on it. Lift is that of the wing as built; the verdict of `sparbay check` counts the "
    "bent wing's where that is harder."
)


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")
    command.add_argument("--one-side", action="store_true",
        help="let only the weaker side of a flying wing break, not both at once")  # fmt: skip
    shared(command, "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Tell the story; 1 where the first failure comes below the load asked for."""
    from models.studies.collapse import MOST_STEPS, collapse

    folder = new_folder(options.folder, scenes=True)
    wing = read_wing(options.file)
    if options.one_side and wing.clamped:
        raise InputFault(f"{options.file}: --one-side: a specimen has but one side.")
    with Progress(MOST_STEPS, quiet=True) as progress:
        story = collapse(wing, per_bay=options.mesh, one_side=options.one_side, progress=progress)

    def draw(place: Path) -> list[Path]:
        from models.pictures.failures import draw_collapse

        return draw_collapse(story, place)

    files = filled(folder, draw)
    record = recorded(options, _figures(story), files)
    return give(options, record, collapse_text, holds=record["answer"]["survives"])


def _figures(story: Collapse) -> Record:
    from models import small_movements
    from models.studies.collapse import happens, sentences

    analysis = story.analysis
    specimen = analysis.wing.clamped
    moved = [
        (f"{k + 1}", small_movements.of_tip(analysis.wing, s.tip_deflection, s.tip_twist))
        for k, s in enumerate(story.steps)
    ]
    too_far = small_movements.worst(moved, "step")
    farthest = max((one for _, one in moved), key=lambda one: one.beyond, default=None)
    return {
        "wing": analysis.wing.name,
        "kind": "specimen" if specimen else "wing",
        "small_movements": small_movements.record(farthest, too_far) if farthest is not None else None,
        "answer": {
            "sentences": [*sentences(story), *([too_far] if too_far else [])],
            "survives": bool(story.first >= analysis.load_factor),
            "first_failure_ends_it": story.ends_flight if story.steps else None,
            "load_factor_asked": analysis.load_factor,
            "load_factor_at_first_failure": story.first,
            "load_factor_at_first_failure_with_sheeting_whole": story.whole,
            "load_factor_after_first_failure": story.residual if story.steps else None,
            "collapse_load_factor": story.collapse,
            "end": story.end,
            "folds": story.folds,
        },
        "steps": [
            {"step": k + 1, "load_factor": s.load_factor}
            | figures(s, part="part.name", side="part.side", mode="mode")
            | {"words": happens(s, side=story.one_side)}
            | figures(s, still_carries="keeps.words", why="keeps.why")
            | figures(s, "tip_deflection_m", "tip_twist_rad")
            | {"small_movements_hold": moved[k][1].hold}
            | figures(s, "stiffness_left", "y_m")
            for k, s in enumerate(story.steps)
        ],
        "sheeting_that_bows": [{"part": p.name, "from_load_factor": n} for p, n in story.sheeting],
        "about": ABOUT,
        "mesh": {"one_side": story.one_side},
    }


def collapse_text(out: Page, record: Record) -> None:
    """The answer of `collapse`: words, the failures in their order, and what failed parts still carry."""
    answer(out, record, good=record["answer"]["survives"])
    unit, places = load_unit(record)
    steps = record["steps"]
    out.listed("Failures in their order", steps, {
        "step": ("step", str),
        f"holds\nup to, {unit}": ("load_factor", borne, places),
        "~what happens": "words",
        "<mode": "mode",
        "<still carries": "still_carries",
        f"tip up\n{say.length.unit}": ("tip_deflection_m", say.length.fixed),
        "tip twist\ndeg": ("tip_twist_rad", fixed, DEG),
        "stiffness\nleft, %": ("stiffness_left", fixed, 100, 0),
    })  # fmt: skip
    if bows := record["sheeting_that_bows"]:
        heads: Columns = {"<sheeting": "part", f"from, {unit}": ("from_load_factor", borne, places)}
        out.listed("Sheeting that bows", bows, heads)
    why = dict.fromkeys((s["still_carries"], s["why"]) for s in steps)
    out.table("What a failed part still carries", ["<rest", "~reason"], [*why])
    rest(out, record)
