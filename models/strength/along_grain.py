"""What parts bear along their grain that carry the load of others which have failed: edges, and the edges of
webs and braces whose grain runs along the span. A sound wing's caps and webs fail first."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fea.arrays import Array
from models.strength import edge_bending
from models.strength.finding import Finding, reserve_of
from models.strength.mode import LOST, Mode, Rule, torn
from models.strength.solved import Solved
from models.woods.wood import Material


def findings(at: Solved) -> list[Finding]:
    """Edges, and edges of webs with their grain along the span, in whatever state of damage."""
    out = []
    for block, found in (("edges", _edges), ("webs", _web_edges)):
        if at.has(block):
            used, stress, allowable = found(at)
            y = at.analysis.solution.assembly.corners(block)[:, :4, 1].mean(axis=1)
            one = MODE.found(used > 0, reserve_of(used), stress, y, allowable=allowable)
            out.append(replace(one, block=block))
    return out


def _limit(stress: Array, woods: list[Material]) -> Array:
    """Strength along the grain by the sign of the stress, Pa."""
    strengths = np.array([(w.tension, w.compression) for w in woods]).reshape(-1, 2)
    return np.where(stress > 0, strengths[:, 0], strengths[:, 1])


def _edges(at: Solved) -> tuple[Array, Array, Array]:
    """Share of the strength used, stress and the stress at failure of the edges' beams, at the worse end."""
    used, direct, bent, _ = edge_bending.sticks(at, at.analysis.recovered["edges"]["forces"])
    row, worst = np.arange(len(used)), used.argmax(axis=1)
    stress = (np.abs(direct) + bent)[row, worst]
    return used[row, worst], stress, stress * reserve_of(used[row, worst])


def _web_edges(at: Solved) -> tuple[Array, Array, Array]:
    """Share of the strength used by the stretch of the edges of webs and braces whose grain runs along the
    span."""
    analysis, webs = at.analysis, at.model.webs
    assembly = analysis.solution.assembly
    corners = assembly.corners("webs")
    moves = analysis.solution.displacements[:, :, analysis.case]
    own = assembly.element_displacements("webs", moves)[:, :, :3]
    strain = np.zeros((len(corners), 2))
    for side, (a, b) in enumerate(((0, 1), (3, 2))):
        run = corners[:, b] - corners[:, a]
        strain[:, side] = np.einsum("ei,ei->e", own[:, b] - own[:, a], run) / np.einsum("ei,ei->e", run, run)
    woods = [webs.materials[m] for m in webs.material]
    stress = strain * np.array([w.E_L for w in woods])[:, None]
    limit = np.stack([_limit(stress[:, k], woods) for k in (0, 1)], axis=1)
    along = np.abs(np.cos(webs.grain)) > np.abs(np.sin(webs.grain))
    used = np.where(along[:, None], np.abs(stress) / limit, 0.0)
    row, worst = np.arange(len(used)), used.argmax(axis=1)
    return used[row, worst], np.abs(stress)[row, worst], limit[row, worst]


MODE = Mode(
    name="stress along the grain",
    words="breaks",
    source="f/F + f_b/F_b = 1 along the grain: ANC-18, Design of Wood Aircraft Structures [from memory]",
    block="caps",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("tension"),
    proof=torn,
    remains=LOST,
    many=None,
)
