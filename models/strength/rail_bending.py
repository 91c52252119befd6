"""A rail (engine bearer) broken in bending by what it carries, its axial force added."""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Layouts, Many, Mode, Rule, torn
from models.strength.solved import Solved

_FIGURES = ("width", "height", "tension", "compression", "bending")


def used(
    force: Array,
    up: Array,
    aft: Array,
    width: Array,
    height: Array,
    tension: Array,
    crushing: Array,
    rupture: Array,
) -> tuple[Array, Array]:
    """Share of the strength used, and the stress of the worst corner.

    Parameters
    ----------
    force, up, aft : (...) float array
        N, M_y and M_z, N and N m.
    width, height : (...) float array
        m.
    tension, crushing, rupture : (...) float array
        Along the grain, Pa.

    Returns
    -------
    used, stress : (...) float array
        f/F + f_b/F_b; Pa.

    References
    ----------
    National Design Specification for Wood Construction, eq. 3.9-1 (from memory).
    """
    area = width * height
    axial = force / area
    bend = 6 * (np.abs(up) / height + np.abs(aft) / width) / area
    direct = np.where(axial > 0, axial / tension, -axial / crushing)
    return np.asarray(direct + bend / rupture), np.asarray(np.abs(axial) + bend)


def constants(at: Solved) -> dict[str, Array]:
    """Sizes and strengths."""
    block = at.model.structure.blocks["rails"]
    rails = {r.name: r for r in at.model.wing.rails}
    assert block.part is not None
    those = [rails[at.model.parts[p].place] for p in block.part]
    sizes = {name: np.array([getattr(r, name) for r in those]) for name in ("width", "height")}
    return sizes | {name: np.array([getattr(r.material, name) for r in those]) for name in _FIGURES[2:]}


def shares_of(at: Solved) -> Array:
    """Share of the rail of each element that is in the model: a rail on the plane of symmetry counts by half
    in a half model."""
    model = at.model
    block = model.structure.blocks["rails"]
    rails = {r.name: r for r in model.wing.rails}
    assert block.part is not None
    those = [rails[model.parts[p].place] for p in block.part]
    return np.array([0.5 if model.half and r.y < 1e-9 else 1.0 for r in those])


def many(of: Layouts) -> Array:
    """The same of all rails in many layouts, at the worse end."""
    rows = of.rows("rails")
    both = rows.reshape(len(rows), 2, 3, -1)
    each = (of.table["rails"][name][:, None, None] for name in _FIGURES)
    return np.asarray(used(both[:, :, 0], both[:, :, 1], both[:, :, 2], *each)[0].max(axis=1))


def findings(at: Solved) -> list[Finding]:
    """All rails, at both ends of each element."""
    model = at.model
    block = model.structure.blocks["rails"]
    forces = at.analysis.recovered["rails"]["forces"] / at.of_build(shares_of)[:, None, None]
    each = (v[:, None] for v in at.of_build(constants).values())
    shares, stress = used(*(forces[:, :, k] for k in (0, 4, 5)), *each)
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
    many=Many(family="rails", constants=constants, used=many),
)
