"""What does it buy on this wing to run the webs' grain upright, mode by mode?

Solves the wing with the grain of all its webs upright, along the span and at 45 degrees, and says what
governs in every bay: shear, glue, buckling, splitting or crushing.

example: sparbay compare --grain trainer
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from models.command.document import Record, figures, give, recorded
from models.command.exit_codes import ExitCode
from models.command.files import read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import Page, answer, fixed, reserve

if TYPE_CHECKING:
    from models.studies.grain import Direction
    from models.wing.parts import Wing

ABOUT = (
    "In pure shear a web is as stiff and as strong along its grain as square to it; the differences come "
    "from the glue, buckling, splitting and the share of bending. All webs of the wing are turned together "
    "and the structure is solved anew; braces keep their grain."
)


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")


def run(options: argparse.Namespace) -> ExitCode:
    """Turn the grain of the webs in the wing file and compare."""
    from models.studies.grain import ANGLES, compare_grain

    wing = read_wing(options.file)
    with Progress(len(ANGLES), quiet=True) as progress:
        directions = compare_grain(wing, per_bay=options.mesh, progress=progress)
    record = recorded(options, _figures(wing, directions))
    return give(options, record, grain_text)


def _figures(wing: Wing, directions: Sequence[Direction]) -> Record:
    from models.studies.grain import sentences

    return {
        "wing": wing.name,
        "answer": {"sentences": sentences(tuple(directions))},
        "about": ABOUT,
        "directions": [
            figures(
                d, grain="name", angle_from_span_rad="angle", first_failure="first_failure",
                load_factor_at_first_failure="load_factor_at_first_failure", web_mass_in_model_kg="mass",
            )
            | {"webs": [figures(b, **_WEB) for b in d.bays]}
            for d in directions
        ],
    }  # fmt: skip


_WEB = {
    "spar": "spar", "face": "face", "side": "side", "bay": "bay", "wood": "wood",
    "thickness_m": "thickness", "clear_depth_m": "clear", "clear_length_m": "length",
    "depth_over_thickness": "slenderness", "length_over_depth": "aspect", "governs": "governs",
    "reserve_factors": "reserves", "buckles_before_shear_above_depth_over_thickness": "buckles_above",
    "share_of_bending": "bending_share", "glue_reserve_factor_if_cut_at_ribs": "glue_if_cut",
}  # fmt: skip
"""What is told of a web, and what the study calls it."""
_ANGLE_HEADS = {
    "upright": "upright",
    "along the span": "along span",
    "45 degrees, rising outboard": "45 rising",
    "45 degrees, falling outboard": "45 falling",
}


def grain_text(out: Page, record: Record) -> None:
    """The page: words first, then each web's governing mode, then its reserves by mode."""
    answer(out, record)
    out.line()
    out.say(record["about"])
    directions = record["directions"]
    if not directions:
        return
    heads = [_ANGLE_HEADS[d["grain"]] for d in directions]
    webs = list(zip(*(d["webs"] for d in directions)))
    rows = [
        (
            *_web_name(same[0]), fixed(same[0]["depth_over_thickness"]),
            fixed(same[0]["length_over_depth"], places=2),
            *(f"{reserve(w['reserve_factors'][w['governs']])} {w['governs']}" for w in same),
        )
        for same in webs
    ]  # fmt: skip
    names = ["<spar", "bay", "<side", "<face"]
    columns = [*names, "depth over\nthickness", "length\nover depth", *(f"<{h}" for h in heads)]
    out.table("Least reserve factor of each web and what governs", columns, rows)

    def each(title: str, told: Callable[[Record], str]) -> None:
        rows = [(*_web_name(same[0]), *map(told, same)) for same in webs]
        out.table(title, [*names, *heads], rows)

    for mode in dict.fromkeys(mode for same in webs for w in same for mode in w["reserve_factors"]):
        each(f"Reserve factor: {mode}", lambda w, mode=mode: reserve(w["reserve_factors"].get(mode)))  # type: ignore[misc]
    each("Share of the spar's bending, %", lambda w: fixed(w["share_of_bending"], 100))


def _web_name(web: Record) -> tuple[str, ...]:
    return web["spar"], str(web["bay"]), web["side"] or "-", web["face"]
