"""Where the tip's deflection and twist are read, and what they are as rows on the movements."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from fea.assembly import rigid_motions
from models.analysis import Analysis, longest_spars, outermost_spars, spar_motion, wing_twist
from models.structure.model import Model


@dataclass(frozen=True)
class Tip:
    """Where deflection and twist are read: spars by number; `deflected` the one whose end moves most, `front`
    and `rear` the outermost of those that give the twist (the same where there is one spar)."""

    deflected: int
    front: int
    rear: int


def tip_of(analysis: Analysis) -> Tip:
    """Where the tip's deflection and twist are read, of the wing as drawn."""

    def moves(spar: int) -> float:
        return abs(float(spar_motion(analysis, spar).deflection[-1]))

    return Tip(max(longest_spars(analysis.wing), key=moves), *outermost_spars(analysis.wing))


def tip_rows(model: Model, tip: Tip) -> Array:
    """Tip deflection (m, up) and twist (rad, nose up) as rows on the movements.

    Returns
    -------
    (n_nodes, 6, 2) float array
        Per metre and radian of each movement; relative to the centre section, as
        `models.analysis.spar_motion` and `wing_twist` read them.
    """
    rows = np.zeros((len(model.structure.nodes), 6, 2))
    _add_deflection(model, rows[:, :, 0], tip.deflected, _last(model, tip.deflected), 1.0)
    if tip.front == tip.rear:
        _add_twist(model, rows[:, :, 1], tip.front)
    else:
        j = min(_last(model, tip.front), _last(model, tip.rear))
        span = abs(float(model.y[j]))
        spars = model.wing.spars
        apart = float(spars[tip.rear].x.at(span) - spars[tip.front].x.at(span))
        _add_deflection(model, rows[:, :, 1], tip.front, j, 1 / apart)
        _add_deflection(model, rows[:, :, 1], tip.rear, j, -1 / apart)
    if model.wing.clamped:
        return rows
    # Movements count from the centre section's own, which is a least-squares fit: see `from_centre`.
    centre = model.cap_nodes[:, :, _centre(model)].ravel()
    rigid = rigid_motions(model.structure.nodes).reshape(-1, 6, 6)
    fit = np.linalg.pinv(rigid[centre][:, :3].reshape(-1, 6), rcond=1e-13)
    taken = np.einsum("nim,nif->mf", rigid, rows)
    back = (fit.T @ taken).reshape(len(centre), 3, 2)
    np.add.at(rows, (centre[:, None], np.arange(3)[None]), -back)
    return rows


def _last(model: Model, spar: int) -> int:
    return int(np.flatnonzero(model.cap_nodes[spar, 0] >= 0)[-1])


def _centre(model: Model) -> int:
    return int(np.argmin(np.abs(model.y)))


def _add_deflection(model: Model, row: Array, spar: int, station: int, factor: float) -> None:
    np.add.at(row[:, 2], model.cap_nodes[spar, :, station], factor / 2)
    if model.wing.flies:
        np.add.at(row[:, 2], model.cap_nodes[spar, :, _centre(model)], -factor / 2)


def _add_twist(model: Model, row: Array, spar: int) -> None:
    ends = [(_last(model, spar), 1.0)]
    if model.wing.flies:
        ends.append((_centre(model), -1.0))
    for station, sign in ends:
        upper, lower = model.cap_nodes[spar, :, station]
        row[upper, 0] += sign / model.depth[spar, station]
        row[lower, 0] -= sign / model.depth[spar, station]


def read_tip(analysis: Analysis, tip: Tip) -> tuple[float, float]:
    """Tip deflection, m, and twist, rad, of an analysis, read where the drawn wing's are."""
    up = float(spar_motion(analysis, tip.deflected).deflection[-1])
    return up, float(wing_twist(analysis)[1][-1])


def end_rows(model: Model) -> tuple[tuple[str, ...], Array]:
    """Deflection of every spar's end and twist of the wing, per movement of the caps.

    Returns
    -------
    names : tuple of str
        "deflection" of each spar that reaches farthest, and "twist" last.
    rows : (n, 6 n_nodes) float array
        As those of `tip_rows`.
    """
    outermost = outermost_spars(model.wing)
    found = [tip_rows(model, Tip(s, *outermost)) for s in longest_spars(model.wing)]
    rows = [*(one[:, :, 0].ravel() for one in found), found[0][:, :, 1].ravel()]
    return (*["deflection"] * len(found), "twist"), np.stack(rows)
