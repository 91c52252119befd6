"""Leading and trailing edges: direct stress and bending half way along each of their elements, added."""

from __future__ import annotations

import numpy as np

from models.strength.finding import Array, Finding, ratio
from models.strength.mode import LOST, Mode, Rule, torn
from models.strength.solved import Solved


def sticks(at: Solved, forces: Array) -> tuple[Array, Array, Array, Array]:
    """Edges under section forces (n, n_points, 6): share of the strength used, direct and bending stress
    (n, n_points) and the modulus of rupture (n, 1), Pa."""
    model, part = at.model, at.model.structure.blocks["edges"].part
    assert part is not None
    assert model.edges is not None
    woods = {e.kind: e.material for e in model.wing.edges}
    of = [woods[model.parts[p].place] for p in part]
    tension, crushing, rupture = (
        np.array([getattr(m, k) for m in of])[:, None] for k in ("tension", "compression", "bending")
    )
    direct, bent = model.edges.stress(forces)
    share = np.where(direct > 0, direct / tension, -direct / crushing) + bent / rupture
    return share, direct, bent, rupture


def findings(at: Solved) -> list[Finding]:
    """All elements of both edges."""
    model = at.model
    block = model.structure.blocks["edges"]
    forces = at.analysis.recovered["edges"]["forces"].mean(axis=1, keepdims=True)
    share, direct, bent, _ = (v[:, 0] for v in sticks(at, forces))
    applied = np.abs(direct) + bent
    factor = ratio(np.ones(len(share)), share)
    y = model.structure.nodes[block.nodes, 1].mean(axis=1)
    return [MODE.found(share > 0, factor, applied, y)]


MODE = Mode(
    name="edge bending",
    words="breaks in bending",
    source="f/F + f_b/F_b = 1: National Design Specification for Wood Construction, eq. 3.9-1 [from memory]",
    block="edges",
    find=findings,
    ends_flight=False,
    reason="the spars carry the wing's bending and hardly feel a cracked edge (common practice, no source)",
    joins=(),
    scatter=Rule("bending", size=1),
    proof=torn,
    remains=LOST,
    many=None,
)
