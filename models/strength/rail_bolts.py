"""A rail broken at a hole for one of the engine's bolts: what is left of its width beside the hole.

Holes run upright through the rail. The section that is left is taken as a rectangle, without a peak of stress
at the hole's edge (net section: practice of wood construction).
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.strength.finding import Finding, reserve_of
from models.strength.mode import LOST, Layouts, Many, Mode, Rule, torn
from models.strength.rail_bending import constants as of_rails
from models.strength.rail_bending import shares_of, used
from models.strength.solved import Solved
from models.wing.parts import Rail


def holes(rail: Rail) -> Array:
    """Where the holes of a rail lie along it, m; (0,) without any."""
    bolts = rail.bolts
    if bolts is None:
        return np.zeros(0)
    return np.asarray(rail.x_front + bolts.from_front + bolts.along * np.arange(bolts.per_rail), dtype=float)


def constants(at: Solved) -> dict[str, Array]:
    """Of every element: where its holes lie, as shares of its length, and their diameters; (n, n_holes), nan
    where there is none."""
    model = at.model
    block = model.structure.blocks["rails"]
    rails = {r.name: r for r in model.wing.rails}
    assert block.part is not None
    x = model.structure.nodes[block.nodes, 0]
    found: list[list[tuple[float, float]]] = []
    for (start, end), p in zip(x, block.part):
        rail = rails[model.parts[p].place]
        there = holes(rail)
        # A hole on the node between two elements belongs to the one ahead of it.
        inside = (there > start + 1e-9) & (there <= end + 1e-9)
        size = 0.0 if rail.bolts is None else rail.bolts.hole
        found.append([(float((h - start) / (end - start)), size) for h in there[inside]])
    most = max(1, *(len(row) for row in found))
    out = np.full((2, len(found), most), np.nan)
    for k, row in enumerate(found):
        for j, (share, size) in enumerate(row):
            out[:, k, j] = share, size
    return {"hole_at": out[0], "hole": out[1]}


def at_holes(forces: Array, place: Array, hole: Array, sizes: dict[str, Array]) -> Array:
    """Share of the strength used at the worst hole of each element.

    Parameters
    ----------
    forces : (n, 2, 3, ...) float array
        N, M_y and M_z at both ends of each element, N and N m.
    place, hole : (n, n_holes) float array
        As from `constants`.
    sizes : dict of str to (n,) float array
        Of the rails, as from `rail_bending.constants`.

    Returns
    -------
    (n, ...) float array
        f/F + f_b/F_b on what is left of the width; 0 without a hole.

    References
    ----------
    National Design Specification for Wood Construction, 3.1.2 and eq. 3.9-1 (from memory).
    """
    more = (1,) * (forces.ndim - 3)
    worst = np.zeros((len(forces), *forces.shape[3:]))
    for k in range(place.shape[1]):
        t = place[:, k].reshape(-1, 1, *more)
        between = forces[:, 0] * (1 - t) + forces[:, 1] * t
        own = {name: value.reshape(-1, *more) for name, value in sizes.items()}
        own["width"] = own["width"] - hole[:, k].reshape(-1, *more)
        each = (own[name] for name in ("width", "height", "tension", "compression", "bending"))
        worst = np.fmax(worst, used(between[:, 0], between[:, 1], between[:, 2], *each)[0])
    return worst


def findings(at: Solved) -> list[Finding]:
    """All holes of all rails."""
    model = at.model
    block = model.structure.blocks["rails"]
    if not any(r.bolts is not None for r in model.wing.rails):
        return []
    own, rails = at.of_build(constants), at.of_build(of_rails)
    forces = at.analysis.recovered["rails"]["forces"] / at.of_build(shares_of)[:, None, None]
    shares = at_holes(forces[:, :, [0, 4, 5]], own["hole_at"], own["hole"], rails)
    y = model.structure.nodes[block.nodes, 1].mean(axis=1)
    rupture = rails["bending"]
    return [MODE.found(shares > 0, reserve_of(shares), shares * rupture, y, allowable=rupture)]


def many(of: Layouts) -> Array:
    """The same of all rails in many layouts."""
    rows, table = of.rows("rails"), of.table["rails"]
    both = rows.reshape(len(rows), 2, 3, -1)
    return at_holes(both, table["hole_at"], table["hole"], table)


MODE = Mode(
    name="rail bending at bolt hole",
    words="breaks at a bolt hole",
    source=(
        "f/F + f_b/F_b = 1 on the net section: National Design Specification for Wood Construction, 3.1.2 "
        "and eq. 3.9-1 [from memory]"
    ),
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
