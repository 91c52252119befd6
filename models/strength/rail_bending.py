"""A rail (engine bearer) broken in bending by what it carries, its axial force added."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Mode, Rule, torn
from models.strength.solved import Solved

Array = NDArray[np.float64]


def used(
    forces: Array, width: Array, height: Array, tension: Array, crushing: Array, rupture: Array
) -> tuple[Array, Array]:
    """Share of the strength used, and the stress of the worst corner.

    Parameters
    ----------
    forces : (n, n_points, 6) float array
        N, V_y, V_z, T, M_y, M_z, N and N m.
    width, height : (n,) float array
        m.
    tension, crushing, rupture : (n,) float array
        Along the grain, Pa.

    Returns
    -------
    used, stress : (n, n_points) float array
        f/F + f_b/F_b; Pa.

    References
    ----------
    National Design Specification for Wood Construction, eq. 3.9-1 (from memory).
    """
    area = width * height
    axial = forces[:, :, 0] / area[:, None]
    bend = (
        6
        * (np.abs(forces[:, :, 4]) / height[:, None] + np.abs(forces[:, :, 5]) / width[:, None])
        / area[:, None]
    )
    direct = np.where(axial > 0, axial / tension[:, None], -axial / crushing[:, None])
    return np.asarray(direct + bend / rupture[:, None]), np.asarray(np.abs(axial) + bend)


def findings(at: Solved) -> list[Finding]:
    """All rails, at both ends of each element."""
    model = at.model
    block = model.structure.blocks["rails"]
    rails = {r.name: r for r in model.wing.rails}
    assert block.part is not None
    those = [rails[model.parts[p].place] for p in block.part]
    # A rail on the plane of symmetry counts by half in a half model.
    share = np.array([0.5 if model.half and r.y < 1e-9 else 1.0 for r in those])
    forces = at.analysis.recovered["rails"]["forces"] / share[:, None, None]
    sizes = (np.array([r.width for r in those]), np.array([r.height for r in those]))
    strengths = (
        np.array([getattr(r.material, k) for r in those]) for k in ("tension", "compression", "bending")
    )
    shares, stress = used(forces, *sizes, *strengths)
    worst = shares.argmax(axis=1)
    row = np.arange(len(worst))
    reserve = ratio(np.ones(len(row)), shares[row, worst])
    applied = stress[row, worst]
    y = model.structure.nodes[block.nodes, 1].mean(axis=1)
    return [MODE.found(shares[row, worst] > 0, reserve, applied, y)]


MODE = Mode(
    name="rail bending",
    words="breaks in bending",
    source="f/F + f_b/F_b = 1: National Design Specification for Wood Construction, eq. 3.9-1 [from memory]",
    block="rails",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("bending", size=1),
    proof=torn,
    remains=LOST,
)
