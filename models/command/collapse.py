"""`sparbay collapse`: what follows the first failure, until the wing can carry no more."""

from __future__ import annotations

import argparse
from pathlib import Path

from models import small_movements
from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import filled, new_folder, read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.studies.collapse import MOST_STEPS, Collapse, collapse, happens, sentences

ABOUT = (
    "Each state of damage is loaded from nothing; damage counts by the bay, which is the cautious side, and "
    "the jolt of a part that lets go is left out, which is not. Sheeting that bows keeps von Karman's "
    "effective width. What a failed part still carries is a judgement, told below; the load at first failure "
    "does not depend on it."
)


def run(options: argparse.Namespace) -> ExitCode:
    """Tell the story; 1 where the first failure comes below the load asked for."""
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
    record = collapse_record(story, options.file, options.mesh, files)
    if options.json:
        print_json(record)
    else:
        from models.report import failures
        from models.report.text import tell

        tell(failures.collapse_text, record)
    return ExitCode.DONE if record["answer"]["survives"] else ExitCode.FAILS


def collapse_record(story: Collapse, file: str, per_bay: int, files: list[Path]) -> Record:
    """All that `collapse` has to say.

    Parameters
    ----------
    story : Collapse
        From `models.studies.collapse.collapse`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.
    files : list of Path
        Pictures written.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    analysis = story.analysis
    specimen = analysis.wing.clamped
    moved = [
        (f"{k + 1}", small_movements.of_tip(analysis.wing, s.tip_deflection, s.tip_twist))
        for k, s in enumerate(story.steps)
    ]
    too_far = small_movements.worst(moved, "step")
    farthest = max((one for _, one in moved), key=lambda one: one.beyond, default=None)
    record = {
        "command": "collapse",
        "version": version(),
        "file": file,
        "wing": analysis.wing.name,
        "kind": "specimen" if specimen else "wing",
        "cautions": list(CAUTIONS),
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
            {
                "step": k + 1,
                "load_factor": s.load_factor,
                "part": s.part.name,
                "side": s.part.side,
                "mode": s.mode,
                "words": happens(s, side=story.one_side),
                "still_carries": s.keeps.words,
                "why": s.keeps.why,
                "tip_deflection_m": s.tip_deflection,
                "tip_twist_rad": s.tip_twist,
                "small_movements_hold": moved[k][1].hold,
                "stiffness_left": s.stiffness_left,
                "y_m": s.y,
            }
            for k, s in enumerate(story.steps)
        ],
        "sheeting_that_bows": [{"part": p.name, "from_load_factor": n} for p, n in story.sheeting],
        "about": ABOUT,
        "mesh": {"elements_per_bay": per_bay, "one_side": story.one_side},
        "files": [str(f) for f in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned
