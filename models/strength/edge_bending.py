"""Leading and trailing edges: direct stress and bending half way along each of their elements, added."""

from __future__ import annotations

import numpy as np

from models.analysis import Analysis
from models.strength.finding import Finding, ratio

MODE = "edge bending"
SOURCE = "f/F + f_b/F_b = 1: National Design Specification for Wood Construction, eq. 3.9-1 [from memory]"
REASON = "the spars carry the wing's bending and hardly feel a cracked edge (common practice, no source)"


def findings(analysis: Analysis) -> list[Finding]:
    """All elements of both edges."""
    model = analysis.model
    if "edges" not in model.structure.blocks:
        return []
    block = model.structure.blocks["edges"]
    assert block.part is not None
    sticks = {e.kind: e.material for e in model.wing.edges}
    of = [sticks[model.parts[p].place] for p in block.part]
    tension, crushing, rupture = (
        np.array([getattr(m, k) for m in of]) for k in ("tension", "compression", "bending")
    )
    assert model.edges is not None
    forces = analysis.recovered["edges"]["forces"].mean(axis=1, keepdims=True)
    direct, bent = (v[:, 0] for v in model.edges.stress(forces))
    share = np.where(direct > 0, direct / tension, -direct / crushing) + bent / rupture
    applied = np.abs(direct) + bent
    factor = ratio(np.ones(len(share)), share)
    there = np.flatnonzero(share > 0)
    y = model.structure.nodes[block.nodes, 1].mean(axis=1)
    return [
        Finding(
            MODE,
            "edges",
            there,
            factor[there],
            applied[there],
            applied[there] * factor[there],
            "Pa",
            y[there],
            SOURCE,
            REASON,
        )
    ]
