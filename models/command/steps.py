"""In which order do I glue it, how stiff is it at each step, and when may it leave the jig?

Walks through ribs and caps, webs, rails, sheeting and covering: stiffness in bending and twist, what a
hand's lift breaks, the twist that a warped board or a hand builds in, and webs before sheeting against
after. Leaves with 1 if even the finished wing does not bear a hand's lift.

example: sparbay steps powered-tailless --folder steps
"""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, figures, give, recorded
from models.command.exit_codes import ExitCode
from models.command.files import filled, must_fly, new_folder, read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import DEG, Columns, Page, answer, borne, fixed, rest
from models.rounding import down

if TYPE_CHECKING:
    from models.strength import Margins
    from models.studies.steps import Steps

ABOUT = (
    "Each step is this wing with parts left out, one half, held fast at the centre line; equipment and bolts "
    "are in none. Glue sets without stress in the shape the wing has then; glue that is green, shrinks or "
    "warms is not counted. Order of the steps: that of most plans (common practice, no source). A board that "
    "stays out of true through all steps builds in the same twist in any order."
)


def _judged() -> str:
    """What is judged, and not computed."""
    from models.studies.steps import BREAKS, STAYS, TWISTS

    return (
        f"Limits are judgement (common practice, no source): a lift breaks nothing {BREAKS:g} times over and "
        f"twists by {math.degrees(TWISTS):g} deg at most; off the jig a hand leaves "
        f"{math.degrees(STAYS):g} deg at most."
    )


_UNTIL = {
    "pinned": "stays pinned to the jig",
    "lift": "may be lifted, and goes back on the jig for the next part",
    "free": "may be lifted, and the next part may be glued off the jig",
}


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh", "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Walk through the build; 1 where even the finished wing does not bear a hand's lift."""
    from models.studies.steps import n_solved, steps

    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "steps")
    with Progress(n_solved(wing), quiet=True) as progress:
        found = steps(wing, per_bay=options.mesh, progress=progress)

    def draw(place: Path) -> list[Path]:
        from models.pictures.steps import plot_steps

        return [plot_steps(found, place / "steps.png")]

    record = recorded(options, _figures(found), filled(folder, draw))
    return give(options, record, steps_text, holds=record["answer"]["finished_wing_bears_a_lift"])


def _figures(found: Steps) -> Record:
    from models import small_movements
    from models.studies.steps import BREAKS, ERROR, STAYS, TWISTS

    moved = [
        (f"{k} ({step.stage.name})", small_movements.of(step.analysis, column))
        for k, step in enumerate(found.steps, 1)
        if step.analysis is not None
        for column in (4, 5)
    ]
    too_far = small_movements.worst(moved, "step")
    return {
        "wing": found.wing.name,
        "kind": "wing",
        "answer": {
            "sentences": [*_sentences(found), *([too_far] if too_far else []), _judged()],
            "finished_wing_bears_a_lift": found.steps[-1].bears,
        },
        "small_movements": small_movements.record(
            max((m for _, m in moved), key=lambda m: m.beyond), too_far
        ),
        "spar": found.spar,
        "y_m": found.y,
        "board_error_m": ERROR,
        "board_error_rad": ERROR / found.chord,
        "judged": {"breaks_at_least": BREAKS, "twists_at_most_rad": TWISTS, "stays_at_most_rad": STAYS},
        "steps": [
            {"step": k + 1, "name": step.stage.name, "glued_on": step.stage.glued}
            | figures(
                step, half_mass_kg="mass", bending_stiffness_N_per_m="bending",
                torsional_stiffness_N_m_per_rad="torsion", lift_at_corner_N="hand",
                twist_lifted_by_corner_rad="twisted",
            )
            | {
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
            figures(
                one, order="order", sets="what", bending_stiffness_N_per_m="bending",
                torsional_stiffness_N_m_per_rad="torsion", stays_of_board_rad="board",
                stays_of_hand_rad="held",
            )
            for one in found.orders
        ],
        "about": ABOUT,
    }  # fmt: skip


def _load(margins: Margins | None) -> float:
    return 0.0 if margins is None else margins.load_factor_at_first_failure()


def _first(margins: Margins | None) -> str | None:
    if margins is None or not margins.rows:
        return None
    from models.strength.margin import happens

    return f"{margins.first().part.name} {happens(margins.rows)}"


def _sentences(found: Steps) -> list[str]:
    from models.studies.steps import ERROR

    first, last = found.steps[0], found.steps[-1]
    begin = f"{say.bending_stiffness(first.bending):.3g} and {_turn(first.torsion)}"
    end = f"{say.bending_stiffness(last.bending):.3g} and {_turn(last.torsion)}"
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
        gives = f"{_deg(ERROR / found.chord)} deg that a board {say.size(ERROR):g} too high under the tip's"
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
    return f"{say.torsion_stiffness(stiffness):.3g}"


def _deg(angle: float) -> str:
    return f"{abs(math.degrees(angle)):.2g}"


def _hand(angle: float) -> str:
    return f"{_deg(angle)} deg" if math.isfinite(angle) else "whatever twist it gives"


def steps_text(out: Page, record: Record) -> None:
    """Words, cautions, the steps, webs before and after, what breaks first, remarks."""
    answer(out, record, good=record["answer"]["finished_wing_bears_a_lift"])

    def step(r: Record) -> str:
        return f"{r['step']} {r['name']}"

    error = record["board_error_rad"]
    mm = f"{say.size(record['board_error_m']):g}"
    of = f" ({mm} is {_degrees(error)} deg)" if error is not None else ""
    stiff: Columns = {
        f"bends\n{say.bending_stiffness.unit}": (
            "bending_stiffness_N_per_m", say.bending_stiffness.number, 3
        ),
        f"twists\n{say.torsion_stiffness.unit}": (
            "torsional_stiffness_N_m_per_rad", say.torsion_stiffness.number, 3
        ),
    }  # fmt: skip
    stays: Columns = {
        "board\ndeg": ("stays_of_board_rad", _degrees), "hand\ndeg": ("stays_of_hand_rad", _degrees),
    }  # fmt: skip
    lifted: Columns = {"lifted\ndeg": ("twist_lifted_by_corner_rad", _degrees), "breaks\ntimes": _times}
    begin: Columns = {"<glued on": step, f"half\n{say.mass.unit}": ("half_mass_kg", say.mass.fixed)}
    title = f"Step by step; board, hand: twist that stays{of}"
    out.listed(title, record["steps"], begin | stiff | lifted | stays | {"<until\nnext": "until_next"})
    if record["orders"]:
        what: Columns = {"<order": "order", "<while this\nsets": "sets"}
        out.listed("Webs before or after: what stays", record["orders"], what | stiff | stays)
    lifts = [
        (step(r), what, borne(r[f"breaks_at_times_lift_{how}"]), r[f"breaks_first_{how}"] or "-")
        for r in record["steps"]
        for what, how in (("by both tips", "by_tip"), ("by a corner", "by_corner"))
    ]
    out.table("What a lift breaks first", ["<step", "<lifted", "times its\nweight", "~breaks first"], lifts)
    glued: Columns = {"<step": step, "~parts": "glued_on", "<until the next": "until_next"}
    out.listed("What is glued on", record["steps"], glued)
    rest(out, record)


def _degrees(angle: float | None) -> str:
    return "-" if angle is None else fixed(abs(angle), DEG, 2)


def _times(row: Record) -> str:
    both = [row[f"breaks_at_times_lift_by_{how}"] for how in ("tip", "corner")]
    known = [one for one in both if one is not None]
    return borne(min(known)) if known else "-"
