"""A rail (engine bearer) split along its grain by shear force and twist, and the ply web above and below it
sheared through. Looked at by the study of the rails alone, not among the modes of `models.strength.check`."""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.analysis import Analysis
from models.strength.finding import Finding, ratio

MODE = "rail shear"
MODE_WEB = "rail web shear"
SOURCE = (
    "3/2 V/A: National Design Specification for Wood Construction, eq. 3.4-2; twist T (3 + 1.8 b/a)/(a b^2): "
    "Roark's Formulas for Stress and Strain, table of torsion [from memory]"
)
SOURCE_WEB = "mean shear of the ply against its shear strength [common practice, no source]"


def shear_stress(forces: Array, width: Array, height: Array) -> Array:
    """Largest shear stress of a rectangle under shear both ways and twist.

    3/2 V/A + T (3 + 1.8 b/a)/(a b^2), a the longer side, (n, n_points), Pa: the two peaks meet on one face.
    `forces` (n, n_points, 6) are N, V_y, V_z, T, M_y, M_z, N and N m; sides (n,), m.

    References
    ----------
    National Design Specification for Wood Construction, eq. 3.4-2; Roark's Formulas for Stress and Strain,
    torsion of a rectangle (from memory).
    """
    area = (width * height)[:, None]
    longer, shorter = np.maximum(width, height)[:, None], np.minimum(width, height)[:, None]
    push = 1.5 * np.hypot(forces[:, :, 1], forces[:, :, 2]) / area
    twist = np.abs(forces[:, :, 3]) * (3 + 1.8 * shorter / longer) / (longer * shorter**2)
    return np.asarray(push + twist)


def findings(analysis: Analysis) -> list[Finding]:
    """All rails, at both ends of each element, and all webs between them and the caps."""
    model = analysis.model
    blocks = model.structure.blocks
    if "rails" not in blocks:
        return []
    rails = {r.name: r for r in model.wing.rails}
    out = []
    for block, mode in (("rails", MODE), ("rail webs", MODE_WEB)):
        if block not in blocks:
            continue
        part = blocks[block].part
        assert part is not None
        those = [rails[model.parts[p].place] for p in part]
        if block == "rails":
            share = np.array([0.5 if model.half and r.y < 1e-9 else 1.0 for r in those])
            forces = analysis.recovered[block]["forces"] / share[:, None, None]
            sizes = (np.array([r.width for r in those]), np.array([r.height for r in those]))
            applied = shear_stress(forces, *sizes).max(axis=1)
            strength, source = np.array([r.material.shear for r in those]), SOURCE
        else:
            applied = np.abs(analysis.recovered[block]["stress"][:, 2])
            strength, source = np.array([r.tie_material.shear for r in those]), SOURCE_WEB
        at = np.flatnonzero(applied > 0)
        y = model.structure.nodes[blocks[block].nodes, 1].mean(axis=1)
        reserve = ratio(strength[at], applied[at])
        out.append(Finding(mode, block, at, reserve, applied[at], strength[at], "Pa", y[at], source))
    return out
