"""What do webs, fins, covering and fuel do to each speed, by the gram?

One table alone: every layout of webs, webs of one face, masses moved, the covering as film, the tank empty.

example: sparbay speed --buys sailplane
"""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, give, recorded
from models.command.exit_codes import ExitCode
from models.command.files import find, must_fly, read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import LENGTH, Page, answer, number

if TYPE_CHECKING:
    from models.studies.speed_buys import Bought
    from models.wing.parts import Wing

ABOUT_FILM = (
    "Covering as film: the list's polyester, as thick as the covering's own mass says, by the low end of its "
    "stiffness, where it is taut."
)
_KEYS = ("beats", "twists_off", "no_grip")
_SPEEDS = ("before it beats", "before it twists off", "before it rolls the wrong way")


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")


def run(options: argparse.Namespace) -> ExitCode:
    """Speeds of every change beside those of the wing in the file."""
    from models.studies.speed_buys import buys

    wing = read_wing(options.file)
    must_fly(wing, options.file, "speed")
    text = find(options.file).read_text(encoding="utf-8-sig")
    with Progress(None, quiet=True) as progress:
        rows = buys(wing, text, per_bay=options.mesh, progress=progress)
    before = LENGTH.set(LENGTH.get()._replace(whole=True))
    try:
        return give(options, recorded(options, _figures(wing, rows), []), buys_text)
    finally:
        LENGTH.reset(before)


def _figures(wing: Wing, rows: list[Bought]) -> Record:
    from models.studies.speed import LAST

    layouts = [row for row in rows if row.against is rows[0].reach and row.grams > 0]
    said = []
    for k, what in enumerate(_SPEEDS):
        told = [row for row in layouts if math.isfinite(row.per_gram[k])]
        if told:
            best = max(told, key=lambda row: row.per_gram[k])
            buys_most = say.speed(best.per_gram[k] / say.mass.factor)
            buys = f"{what}: {best.name}, {buys_most:.2g} {say.a_small_mass()}"
            said.append(buys if best.per_gram[k] > 0 else "")
    said = [one for one in said if one]
    kinds = (
        f"Most speed for {say.a_small_mass()} of webs - {'; '.join(said)}."
        if said
        else "No layout of webs is faster."
    )
    return {
        "wing": wing.name,
        "kind": "wing",
        "answer": {"sentences": [kinds], "survives": None},
        "searched_to_m_per_s": LAST,
        "buys": [
            {
                "name": row.name,
                "web_mass_more_kg": row.grams,
                **{f"{key}_m_per_s": _reached(v) for key, v in zip(_KEYS, row.reach.each, strict=True)},
                **{
                    f"{key}_m_per_s_per_kg": v if math.isfinite(v) else None
                    for key, v in zip(_KEYS, row.per_gram, strict=True)
                },
            }
            for row in rows
        ],
        "about": [
            f"Each speed is the lower of strips and lattice; -: not up to {say.speed(LAST):.0f}. Layouts "
            "against no webs, webs of one face against the wing that lacks them, the rest against as drawn.",
            *([ABOUT_FILM] if any(row.name == "its covering as film" for row in rows) else []),
        ],
    }


def _reached(speed: float) -> float | None:
    from models.studies.speed import LAST

    return speed if speed <= LAST else None


def buys_text(out: Page, record: Record) -> None:
    """One table, whole."""
    answer(out, record, good=None)
    keys: tuple[str, ...] = ("beats", "twists_off", "no_grip")
    grip = any(row["no_grip_m_per_s"] is not None for row in record["buys"])
    keys = keys if grip else keys[:2]
    rows = [
        (
            row["name"],
            say.mass.number(row["web_mass_more_kg"], 3),
            *(say.speed.number(row[f"{key}_m_per_s"], 3) for key in keys),
            *(number(row[f"{key}_m_per_s_per_kg"], say.speed.factor / say.mass.factor, 2) for key in keys),
        )
        for row in record["buys"]
    ]
    heads = [f"beats\n{say.speed.unit}", "twists\noff", "no\ngrip"][: len(keys)]
    each = [f"{say.a_small_mass()}:\nbeats", "twists\noff", "no\ngrip"][: len(keys)]
    out.table("What each change does to the speeds", ["<", f"webs\n{say.grams.unit}", *heads, *each], rows)
    for words in record["about"]:
        out.say(words)
