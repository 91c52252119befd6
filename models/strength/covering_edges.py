"""Edge sticks under the pull of taut covering: bent inward between the ribs, and by the load besides.

The solution holds what the load adds to the film's pull; what it was shrunk with is added here. A stick
that runs through over its ribs is bent by p b^2/12 at each, in the outermost bay by p b^2/8 (fixed and
propped beam under an even load, textbook), p the pull of both surfaces and b the distance of the ribs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from fea.elements.beam import Beams
from models.analysis import Analysis
from models.strength import edge_bending
from models.strength.finding import Finding
from models.strength.mode import LOST, Mode, Rule, torn
from models.strength.solved import Solved


@dataclass(frozen=True, eq=False)
class EdgePull:
    """What the pretension does to every element of the block "edges".

    Parameters
    ----------
    inward, upward : (n,) float array
        Pull of both surfaces a length along the chord towards the other edge, and upward, N/m.
    length : (n,) float array
        Distance of the ribs on either side, m.
    stress : (n,) float array
        Greatest bending stress at a rib, Pa.
    sag : (n,) float array
        Half way between the ribs, inward, p b^4/384 E I, m.
    """

    inward: Array
    upward: Array
    length: Array
    stress: Array
    sag: Array


def pull(analysis: Analysis) -> EdgePull | None:
    """Of an analysis of a covered wing; None where no stick is pulled."""
    model = analysis.model
    films, edges = model.films, model.edges
    if films is None or edges is None:
        return None
    block, sticks = model.structure.blocks["covering"], model.structure.blocks["edges"]
    assert isinstance(sticks, Beams)
    corners = model.structure.true_corners(block)
    force = np.zeros((len(sticks.nodes), 2))
    place = {tuple(sorted(pair)): k for k, pair in enumerate(sticks.nodes.tolist())}
    for ahead, behind in (((0, 3), (1, 2)), ((1, 2), (0, 3))):
        across = corners[:, list(behind)].mean(axis=1) - corners[:, list(ahead)].mean(axis=1)
        across /= np.linalg.norm(across, axis=1, keepdims=True)
        for e, pair in enumerate(block.nodes[:, list(ahead)].tolist()):
            k = place.get(tuple(sorted(pair)))
            if k is not None:
                force[k] += films.laid[e, 1] * across[e, [0, 2]]
    if not force.any():
        return None
    inward, upward = np.abs(force[:, 0]), force[:, 1]
    middle = model.structure.nodes[sticks.nodes, 1].mean(axis=1)
    at = np.unique(np.concatenate([model.y[model.rib_station], [model.y[0]] * (not model.half)]))
    if model.half and at[0] > 1e-9:
        at = np.concatenate([[-at[0]], at])
    k = np.clip(np.searchsorted(at, middle), 1, len(at) - 1)
    length = at[k] - at[k - 1]
    last = (k == len(at) - 1) | ((k == 1) & (not model.half))
    moment = length**2 / np.where(last, 8.0, 12.0)
    stress = moment * (inward / edges.modulus_aft + np.abs(upward) / edges.modulus_up)
    sag = inward * length**4 / (384 * sticks.sections.bending_z)
    return EdgePull(inward, upward, length, stress, sag)


def findings(at: Solved) -> list[Finding]:
    """All elements of both edges."""
    model, pulled = at.model, pull(at.analysis)
    if pulled is None:
        return []
    forces = at.analysis.recovered["edges"]["forces"].mean(axis=1, keepdims=True)
    loaded, direct, bent, rupture = (v[:, 0] for v in edge_bending.sticks(at, forces))
    left = np.maximum(1 - pulled.stress / rupture, 0.0)
    there = (pulled.stress > 0) & (loaded > 0)
    factor = left / np.where(there, loaded, 1.0)
    applied = np.abs(direct) + bent + pulled.stress
    allowable = pulled.stress + (applied - pulled.stress) * factor
    y = model.structure.nodes[model.structure.blocks["edges"].nodes, 1].mean(axis=1)
    return [MODE.found(there, factor, applied, y, allowable=allowable)]


MODE = Mode(
    name="edge under covering",
    words="breaks under the covering's pull",
    source=f"fixed and propped beam under an even load [textbook]; {edge_bending.MODE.source}",
    block="edges",
    find=findings,
    ends_flight=False,
    reason=edge_bending.MODE.reason,
    joins=(),
    scatter=Rule("bending", size=1),
    proof=torn,
    remains=LOST,
    many=None,
)
