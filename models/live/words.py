"""What the page says of an answer: sentences, rows and figures, with the digits of `check`."""

from __future__ import annotations

import math
import re
from typing import Any

from models import small_movements
from models import units_out as say
from models.command.record import bench_load
from models.live.cells import Cell, LiveState
from models.live.engine import Answer, LeastReserve
from models.live.solid import Solid
from models.report.text import FAR, borne, fixed, reserve
from models.rounding import down
from models.wing.faults import WingFileError
from models.wing.parts import Wing

_STATES = {
    (): "open",
    ("front",): "front",
    ("rear",): "rear",
    ("front", "rear"): "both",
    ("between",): "between",
}


def state_word(faces: tuple[str, ...]) -> str:
    """A set of faces as the file calls it: "open", "front", "rear", "both" or "between"."""
    return _STATES.get(faces, " and ".join(faces))


NO_ROOM = (
    "This web leaves something beside it no room at all, so that the wing cannot be built; take a "
    "thinner one, or another face."
)
_OF_WEB = re.compile(r"spars\[(\d+)\]\.webs\[\d+\](?:\.(\w+))?")


def refused(error: WingFileError, wing: Wing) -> str:
    """What is wrong with a layout, in the page's words: a spar by its name, not a key of the file.

    A line a fault; what is not about a web stays in the file's words.
    """
    lines = []
    for fault in error.faults:
        of = _OF_WEB.fullmatch(fault.key_path)
        if of is None or int(of[1]) >= len(wing.spars):
            lines.append(str(WingFileError(error.source, (fault,))))
            continue
        what = f", {of[2]}" if of[2] else ""
        rest = f"{fault.value} {fault.expected}" if fault.value else fault.expected
        lines.append(f"Webs of the {wing.spars[int(of[1])].name} spar{what}: {rest}")
    return "\n".join(dict.fromkeys(lines))


def verdict(wing: Wing, answer: Answer) -> str:
    """Whether the load asked about is survived, in words."""
    least = answer.reserve_factor
    survives = answer.load_factor_at_first_failure >= answer.load_factor
    factor = reserve(least if math.isfinite(least) else None)
    fate = f"{'survives' if survives else 'fails'}, reserve factor {factor}"
    if wing.flies:
        # The other cases, and other wood, are worked out behind the page: the whole verdict takes its place.
        return f"Pull-up alone, mean wood, lift as built: at {down(answer.load_factor)} g the wing {fate}."
    if answer.load_factor == 1:
        return f"The bench load asked for is {bench_load(wing)}: the specimen {fate}."
    return f"The load asked for is {answer.load_factor:.3g} times {bench_load(wing)}: the specimen {fate}."


def too_far(wing: Wing, answer: Answer) -> str:
    """What is said where small movements no longer hold at the load asked about, else nothing."""
    moved = small_movements.of_tip(wing, answer.tip_deflection, answer.tip_twist)
    return small_movements.warning(moved) or ""


def told(
    wing: Wing, cells: tuple[Cell, ...], state: LiveState, answer: Answer, shapes: Solid
) -> dict[str, Any]:
    """An answer as plain data for the page: figures in SI beside the texts that are shown.

    Parameters
    ----------
    wing, cells, state, answer, shapes
        The wing as it was opened; of the shapes, reserve factors of the parts go along.
    """
    flying = wing.flies
    limit = answer.load_factor_at_first_failure
    bays = answer.bays()
    rows = []
    for cell, choice in zip(cells, state.choices, strict=True):
        sides = (*cell.sides, "")  # parts of a specimen have no side
        found = [bays[key] for side in sides if (key := (side, cell.spar, cell.bay)) in bays]
        worst = min(found, key=lambda one: one.reserve_factor, default=None)
        rows.append(_row(worst, cell, choice, answer, flying))
    near = [one for one in answer.least if one.reserve_factor <= FAR]
    other = [one for one in near if one.part.bay is None or not one.part.spar]
    words = "no limit"
    if math.isfinite(limit):
        words = f"{borne(limit)} g" if flying else f"{limit:.3g} times the load"
    by_name = {one.part: one.reserve_factor for one in answer.least}
    return {
        "sentence": answer.sentence,
        "verdict": verdict(wing, answer),
        "too_far": too_far(wing, answer),
        "survives": limit >= answer.load_factor,
        "load_factor": answer.load_factor,
        "load_factor_at_first_failure": limit if math.isfinite(limit) else None,
        "first_cell": _first_cell(cells, answer),
        "web_mass_kg": answer.web_mass,
        "tip_deflection_m": answer.tip_deflection,
        "tip_twist_rad": answer.tip_twist,
        "shown": {
            "limit": words,
            "grams": say.mass.fixed(answer.web_mass, 1),
            "deflection": say.length.fixed(answer.tip_deflection, 2 if flying else 3),
            "twist": fixed(answer.tip_twist, 180 / math.pi, 2 if flying else 3),
        },
        "rows": rows,
        "others": [_other(one, answer, flying) for one in other[:6]],
        "reserve_of_part": [
            float(f"{by_name[part]:.5g}") if part in by_name else None for part in shapes.parts
        ],
        "whole": answer.whole,
        "built": answer.built,
        "seconds": answer.seconds,
    }


def _first_cell(cells: tuple[Cell, ...], answer: Answer) -> int | None:
    """The cell that what fails first is in, if it is in any."""
    if not answer.least:
        return None
    first = answer.least[0].part
    for k, cell in enumerate(cells):
        if (cell.spar, cell.bay) == (first.spar, first.bay) and first.side in ("", *cell.sides):
            return k
    return None


def _row(one: LeastReserve | None, cell: Cell, choice: int, answer: Answer, flying: bool) -> dict[str, Any]:
    state = state_word(cell.choices[choice])
    if one is None:
        return {"state": state, "reserve_factor": None, "reserve": "-", "fails": "-", "goes": "not loaded"}
    limit = one.reserve_factor * answer.load_factor
    near = one.reserve_factor <= FAR
    return {
        "state": state,
        "reserve_factor": one.reserve_factor,
        "reserve": reserve(one.reserve_factor),
        "fails": borne(limit, 1 if flying else 2) if near else "-",
        "goes": f"{one.part.name.rpartition(': ')[2]}: {one.mode}",
    }


def _other(one: LeastReserve, answer: Answer, flying: bool) -> dict[str, Any]:
    return {
        "part": one.part.name,
        "mode": one.mode,
        "reserve": reserve(one.reserve_factor),
        "fails": borne(one.reserve_factor * answer.load_factor, 1 if flying else 2),
    }
