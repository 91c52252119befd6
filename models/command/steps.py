"""`sparbay steps`: the order of gluing, how stiff the wing is at each step, and when it may leave the jig."""

from __future__ import annotations

import argparse
import math
from pathlib import Path

from models import small_movements
from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import filled, must_fly, new_folder, read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.rounding import down
from models.strength.margin import Margins, happens
from models.studies.steps import BREAKS, ERROR, STAYS, TWISTS, Steps, n_solved, steps

ABOUT = (
    "Each step is this wing with parts left out, one half, held fast at the centre line; equipment and bolts "
    "are in none. Glue sets without stress in the shape the wing has then; glue that is green, shrinks or "
    "warms is not counted. Order of the steps: that of most plans (common practice, no source). A board that "
    "stays out of true through all steps builds in the same twist in any order."
)
JUDGED = (
    f"Limits are judgement (common practice, no source): a lift breaks nothing {BREAKS:g} times over and "
    f"twists by {math.degrees(TWISTS):g} deg at most; off the jig a hand leaves {math.degrees(STAYS):g} deg "
    "at most."
)
_UNTIL = {
    "pinned": "stays pinned to the jig",
    "lift": "may be lifted, and goes back on the jig for the next part",
    "free": "may be lifted, and the next part may be glued off the jig",
}


def run(options: argparse.Namespace) -> ExitCode:
    """Walk through the build; 1 where even the finished wing does not bear a hand's lift."""
    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "steps")
    with Progress(n_solved(wing), quiet=True) as progress:
        found = steps(wing, per_bay=options.mesh, progress=progress)

    def draw(place: Path) -> list[Path]:
        from models.pictures.steps import plot_steps

        return [plot_steps(found, place / "steps.png")]

    files = filled(folder, draw)
    record = steps_record(found, options.file, options.mesh, files)
    if options.json:
        print_json(record)
    else:
        from models.report.steps import steps_text
        from models.report.text import tell

        tell(steps_text, record)
    return ExitCode.DONE if record["answer"]["finished_wing_bears_a_lift"] else ExitCode.FAILS


def steps_record(found: Steps, file: str, per_bay: int, files: list[Path]) -> Record:
    """All that `steps` has to say.

    Parameters
    ----------
    found : Steps
        From `models.studies.steps.steps`.
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
    moved = [
        (f"{k} ({step.stage.name})", small_movements.of(step.analysis, column))
        for k, step in enumerate(found.steps, 1)
        if step.analysis is not None
        for column in (4, 5)
    ]
    too_far = small_movements.worst(moved, "step")
    record = {
        "command": "steps",
        "version": version(),
        "file": file,
        "wing": found.wing.name,
        "kind": "wing",
        "answer": {
            "sentences": [*_sentences(found), *([too_far] if too_far else []), JUDGED],
            "finished_wing_bears_a_lift": found.steps[-1].bears,
        },
        "small_movements": small_movements.record(
            max((m for _, m in moved), key=lambda m: m.beyond), too_far
        ),
        "cautions": list(CAUTIONS),
        "spar": found.spar,
        "y_m": found.y,
        "board_error_m": ERROR,
        "board_error_rad": ERROR / found.chord,
        "judged": {"breaks_at_least": BREAKS, "twists_at_most_rad": TWISTS, "stays_at_most_rad": STAYS},
        "steps": [
            {
                "step": k + 1,
                "name": step.stage.name,
                "glued_on": step.stage.glued,
                "half_mass_kg": step.mass,
                "bending_stiffness_N_per_m": step.bending,
                "torsional_stiffness_N_m_per_rad": step.torsion,
                "lift_at_corner_N": step.hand,
                "twist_lifted_by_corner_rad": step.twisted,
                "breaks_at_times_lift_by_tip": _load(step.by_tip),
                "breaks_at_times_lift_by_corner": _load(step.by_corner),
                "breaks_first_by_tip": _first(step.by_tip),
                "breaks_first_by_corner": _first(step.by_corner),
                "stays_of_board_rad": step.board,
                "stays_of_hand_rad": step.held,
                "holds_together": step.analysis is not None,
                "small_movements_hold": step.analysis is None
                or all(small_movements.of(step.analysis, column).hold for column in (4, 5)),
                "until_next": found.verdict(k),
            }
            for k, step in enumerate(found.steps)
        ],
        "orders": [
            {
                "order": one.order,
                "sets": one.what,
                "bending_stiffness_N_per_m": one.bending,
                "torsional_stiffness_N_m_per_rad": one.torsion,
                "stays_of_board_rad": one.board,
                "stays_of_hand_rad": one.held,
            }
            for one in found.orders
        ],
        "about": ABOUT,
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(f) for f in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _load(margins: Margins | None) -> float:
    return 0.0 if margins is None else margins.load_factor_at_first_failure()


def _first(margins: Margins | None) -> str | None:
    if margins is None or not margins.rows:
        return None
    return f"{margins.first().part.name} {happens(margins.rows)}"


def _sentences(found: Steps) -> list[str]:
    first, last = found.steps[0], found.steps[-1]
    begin = f"{first.bending * 1e-3:.3g} N/mm and {_turn(first.torsion)} N m/deg"
    end = f"{last.bending * 1e-3:.3g} N/mm and {_turn(last.torsion)} N m/deg"
    said = [
        f"Held at its middle, the tip gives {begin} as a {first.stage.name} of {first.stage.glued}; {end} "
        "when all is glued."
        if len(found.steps) > 1
        else f"There is but one step: {begin} at the tip."
    ]
    for verdict, words in _UNTIL.items():
        own = [k for k in range(len(found.steps) - 1) if found.verdict(k) == verdict]
        if own:
            listed = ", ".join(f"{k + 1} ({found.steps[k].stage.name})" for k in own)
            said.append(f"After step{'s' if len(own) > 1 else ''} {listed} it {words}.")
    if found.verdict(len(found.steps) - 1) != "done":
        said.append(
            f"Finished, it is lifted by its middle: by a corner it twists {_deg(last.twisted)} deg, and a "
            f"lift breaks it at {down(last.breaks)} times its weight."
        )
    locked = [(step.board, k) for k, step in enumerate(found.steps) if not math.isnan(step.board)]
    if locked:
        board, k = max(locked)
        step = found.steps[k]
        gives = f"{_deg(ERROR / found.chord)} deg that a board {ERROR * 1e3:g} mm too high under the tip's"
        said.append(
            f"Most twist is built in while the {_set(step.stage.name)}: of {gives} trailing edge gives, "
            f"{_deg(board)} deg stay; a hand that bears the wing by that corner meanwhile leaves "
            f"{_hand(step.held)}."
        )
    if found.orders:
        webs, close, early, late = found.orders
        last_most = close.board > webs.board and late.board > early.board
        most = "What closes the cell last locks most" if last_most else f"The {close.what} locks most"
        said.append(
            f"Webs before the {close.what}: it sets on a wing {_ratio(close.torsion, early.torsion)} times "
            f"as stiff in twist and {_ratio(close.bending, early.bending)} times in bending as without webs. "
            f"Of the board stay {_deg(webs.board)} deg with the webs and {_deg(close.board)} deg with the "
            f"{close.what}; the other way round {_deg(early.board)} deg with the {early.what}, "
            f"{_deg(late.board)} deg with the webs. {most}: have the jig true then."
        )
    elif len(found.steps) > 1 and found.steps[1].stage.name == "first webs":
        then = found.steps[1]
        said.append(
            f"Webs now and not later: {_ratio(then.bending, first.bending)} times as stiff in bending and "
            f"{_ratio(then.torsion, first.torsion)} times in twist; nothing here closes a cell afterwards."
        )
    return said


def _set(name: str) -> str:
    return f"{name} {'set' if name.endswith('s') else 'sets'}"


def _ratio(now: float, before: float) -> str:
    if not before:
        return "beyond all measure as many"
    return f"{now / before:.2f}" if now < 1.095 * before else f"{now / before:.2g}"


def _turn(stiffness: float) -> str:
    return f"{math.radians(stiffness):.3g}"


def _deg(angle: float) -> str:
    return f"{abs(math.degrees(angle)):.2g}"


def _hand(angle: float) -> str:
    return f"{_deg(angle)} deg" if math.isfinite(angle) else "whatever twist it gives"
