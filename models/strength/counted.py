"""Which findings of a check count on a wing: all that nothing sets aside, and the joints that it has."""

from __future__ import annotations

from collections.abc import Sequence

from models.strength import brace_joint, fastening, joiner
from models.strength.margin import Margin
from models.structure.model import Part
from models.wing.parts import Wing

JOINT = (brace_joint.MODE.name, brace_joint.MODE_GLUE.name)
"""Modes of a brace over caps that are cut."""
JOINER = tuple(mode.name for mode in (*joiner.EVERY, *fastening.EVERY))
"""Modes of what holds halves together, and the wing on its fuselage."""


def counted(wing: Wing, rows: Sequence[Margin]) -> list[Margin]:
    """Margins that count, the least first: with joiners, fastenings, and the braces of caps that are cut."""
    spars = {spar.name: spar for spar in wing.spars}
    kept = [
        row
        for row in rows
        if not row.reason
        or row.mode in JOINER
        or (row.mode in JOINT and brace_joint.cut(spars[row.spar], row.y))
    ]
    return sorted(kept, key=lambda row: row.reserve_factor)


def harder(built: Sequence[Margin], bent: Sequence[Margin]) -> list[Margin]:
    """Of every part and mode what the harder of two loads leaves, the least first; `bent` is empty
    where it is not known."""
    if not bent:
        return list(built)
    least: dict[tuple[Part, str], Margin] = {}
    for row in (*built, *bent):
        key = (row.part, row.mode)
        if key not in least or row.reserve_factor < least[key].reserve_factor:
            least[key] = row
    return sorted(least.values(), key=lambda row: row.reserve_factor)
