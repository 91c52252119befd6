"""Leading and trailing edges: direct stress and bending half way along each of their elements, added."""

from __future__ import annotations

import numpy as np

from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Mode, Rule, torn
from models.strength.solved import Solved


def findings(at: Solved) -> list[Finding]:
    """All elements of both edges."""
    model = at.model
    block = model.structure.blocks["edges"]
    assert block.part is not None
    sticks = {e.kind: e.material for e in model.wing.edges}
    of = [sticks[model.parts[p].place] for p in block.part]
    tension, crushing, rupture = (
        np.array([getattr(m, k) for m in of]) for k in ("tension", "compression", "bending")
    )
    assert model.edges is not None
    forces = at.analysis.recovered["edges"]["forces"].mean(axis=1, keepdims=True)
    direct, bent = (v[:, 0] for v in model.edges.stress(forces))
    share = np.where(direct > 0, direct / tension, -direct / crushing) + bent / rupture
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
