"""Which findings of a check count on a wing: all that nothing sets aside, and the joints that it has."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from models.analysis import Analysis
from models.strength import brace_joint, fastening, joiner
from models.strength.finding import Finding
from models.strength.margin import Margin, Margins, every_finding
from models.strength.solved import Build, Solved
from models.structure.model import Part
from models.wing.parts import Wing

JOINT = (brace_joint.MODE.name, brace_joint.MODE_GLUE.name)
"""Modes of a brace over caps that are cut."""
JOINER = tuple(mode.name for mode in (*joiner.EVERY, *fastening.EVERY))
"""Modes of what holds halves together, and the wing on its fuselage."""


def counted(wing: Wing, rows: Sequence[Margin]) -> list[Margin]:
    """Margins that count, the least first: with joiners, fastenings, and the braces of caps that are cut."""
    holds = _holding(wing)
    kept = [row for row in rows if not row.reason or holds(row.mode, row.spar, row.y)]
    return sorted(kept, key=lambda row: row.reserve_factor)


def _holding(wing: Wing) -> Callable[[str, str, float], bool]:
    """Whether a mode, on a spar and at y, m, is of a joint that holds: a joiner, a fastening, or a brace over
    caps that are cut there."""
    spars = {spar.name: spar for spar in wing.spars}
    return lambda mode, spar, y: mode in JOINER or (mode in JOINT and brace_joint.cut(spars[spar], y))


def with_joints(wing: Wing, margins: Margins) -> Margins:
    """Margins of a wing among whose rows are those of joiners, fastenings and braces of cut caps."""
    holds = _holding(wing)
    beside = tuple(row for row in margins.secondary if not holds(row.mode, row.spar, row.y))
    rows = tuple(counted(wing, [*margins.rows, *margins.secondary]))
    return replace(margins, rows=rows, secondary=beside)


def joints(analysis: Analysis, build: Build | None = None) -> list[Finding]:
    """What counts on a wing though a check sets it aside: joiners, fastenings, braces over cut caps.

    Parameters
    ----------
    analysis : Analysis
        Solved; joiners and fastenings are judged by the loads of its solution.
    build : Build or None
        Of its structure, where other loads on it are looked at too.
    """
    model = analysis.model
    wing = model.wing
    bridged = bool(wing.braces) and Solved(analysis, build).of_build(brace_joint.any_cut)
    names = {*(JOINT if bridged else ()), *(JOINER if wing.joiners or wing.fastening else ())}
    if wing.clamped or not names:
        return []
    holds = _holding(wing)

    def counts(one: Finding) -> bool:
        of_block = model.structure.blocks[one.block].part
        if one.mode not in names or not len(one.element) or of_block is None:
            return False
        # Each finding of a brace is of one joint.
        return holds(one.mode, model.parts[of_block[one.element[0]]].spar, float(one.y[0]))

    return [one for one in every_finding(analysis, only=names, build=build) if counts(one)]


def harder(built: Sequence[Margin], bent: Sequence[Margin] = ()) -> list[Margin]:
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
