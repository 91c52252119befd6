"""Linear buckling: by what factor the loads of a solved case must grow before the structure has another shape
to go to.

The stress stiffness KG of the solved case is linear in the load factor f, and (K + f KG) x = 0 is solved as
the largest 1/f of -KG x = (1/f) K x, where K is positive definite whatever the signs of the stresses.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
import scipy.linalg
import scipy.sparse as sp
import scipy.sparse.linalg as spla

from fea.assembly import Assembly, rigid_motions
from fea.solve import Factor, Solution, UnbalancedSolve, allowed_motions, factorise, pins_for
from fea.structure import Array, Ints, Structure, Supports

_DENSE = 300
"""Freedoms up to which all eigenvalues are found at once."""
_NO_BUCKLING = 1e-10
"""Share of the greatest 1/f, in size, below which one is rounding."""
_SEED = 61403
"""Of the starting vector, so that the answer is the same every time; drawn once."""
_RESIDUAL = 1e-6
"""Largest force left over by a shape, as a fraction of the greatest force that its stiffness makes."""


def linear_buckling(
    structure: Structure | Assembly | Factor,
    solution: Solution,
    n_modes: int = 1,
    *,
    case: int = 0,
    stressed: Collection[str] | None = None,
) -> tuple[Array, Array]:
    """Factors on the loads of a solved case at which the structure buckles, and the shapes.

    Parameters
    ----------
    structure : Structure, Assembly or Factor
        What buckles; usually what was solved. Its supports hold the shapes, so that a half structure with
        symmetry can be given others here.
    solution : Solution
        The state of stress.
    n_modes : int
        How many at most.
    case : int
        Which case of the solution.
    stressed : collection of str or None
        Blocks whose stress counts; the others only resist. None: all.

    Returns
    -------
    factors : (n,) float array
        Least first; fewer than `n_modes` where there are no more.
    modes : (n_nodes, 6, n) float array
        Shapes, the greatest movement 1 (the greatest rotation where nothing moves).

    Raises
    ------
    Mechanism
        The unloaded structure can already move freely.
    UnbalancedSolve
        A shape is not in equilibrium: (K + f KG) x leaves more than a millionth of K x.

    Notes
    -----
    Small displacements before buckling are assumed; a shell that is soft to imperfections carries less. Loads
    keep their direction. Of positive factors alone the largest 1/f is sought, so that loads turned round,
    however near zero their factors lie, cannot get in the way.

    References
    ----------
    Bathe, Finite Element Procedures, section on linearised buckling (from memory).
    """
    factor = _factor_of(structure)
    assembly = factor.assembly
    stress = stress_stiffness(assembly, solution, case, stressed)
    resists = -(factor.turn.T @ stress @ factor.turn).tocsc()
    if not resists.nnz or not np.abs(resists.data).max():
        inverse, shapes = np.zeros(0), np.zeros((resists.shape[0], 0))
    elif resists.shape[0] <= max(_DENSE, 3 * n_modes):
        # The scaling of the factorisation keeps movements and rotations alike in size.
        scale = factor.scale[:, None]
        stiff = scale * factor.matrix.toarray() * scale.T
        inverse, scaled = scipy.linalg.eigh(scale * resists.toarray() * scale.T, (stiff + stiff.T) / 2)
        shapes = scale * scaled
    else:
        inverse, shapes = _largest(resists, factor, n_modes)
    kept = _order(inverse)[:n_modes]
    _check_shapes(factor.matrix, resists, inverse[kept], shapes[:, kept])
    modes = assembly.nodal(factor.turn @ shapes[:, kept])
    return 1 / inverse[kept], _to_unit_movement(modes)


def stress_stiffness(
    assembly: Assembly, solution: Solution, case: int = 0, stressed: Collection[str] | None = None
) -> sp.csc_matrix:
    """Stress stiffness of a solved case, of all blocks or of some.

    Parameters
    ----------
    assembly : Assembly
        On whose pattern.
    solution, case
        As for `linear_buckling`.
    stressed : collection of str or None
        Blocks whose stress counts. None: all.

    Returns
    -------
    (size, size) sparse matrix
        N/m, N, N m.
    """
    recovered = solution.recover(case)
    if stressed is None:
        return assembly.geometric_stiffness(recovered)
    values = {}
    for name, block in assembly.structure.blocks.items():
        n, k = block.nodes.shape
        if name in stressed:
            own = block.geometric_stiffness(assembly.corners(name), recovered[name])
            values[name] = assembly.on_nodes(name, own)
        else:
            values[name] = np.zeros((n, k, assembly.freedoms, k, assembly.freedoms))
    return assembly.add(values)


def held_at(assembly: Assembly, nodes: Ints, supports: Supports | None = None) -> Supports:
    """Supports with as many single freedoms of some nodes besides as stop the rigid motions that they leave.

    Under loads in equilibrium with inertia such pins bear nothing, but they decide what a buckled body in
    flight is measured from: its loads keep their direction, and a rigid turn beside the buckling would work
    against them.

    Parameters
    ----------
    assembly : Assembly
        Of the structure.
    nodes : (n,) int array
        Where the pins may be; nodes that are held along no axis are passed over.
    supports : Supports or None
        Others than the structure's own.

    Raises
    ------
    Mechanism
        No freedom of those nodes stops the motions.
    """
    supports = assembly.structure.supports if supports is None else supports
    motions = rigid_motions(assembly.structure.nodes, assembly.freedoms)
    rigid = motions @ allowed_motions(assembly, supports, motions)
    if not rigid.shape[1]:
        return supports
    offered = np.zeros((len(assembly.structure.nodes), assembly.freedoms), dtype=bool)
    offered[nodes] = True
    axis = np.argmax(np.abs(supports.direction), axis=1) if len(supports.node) else supports.node
    askew = np.abs(np.abs(supports.direction).max(axis=1, initial=0.0) - 1) > 1e-12
    offered[supports.node[askew]] = False
    taken = ~askew & (~supports.turns | (assembly.freedoms == 6))
    offered[supports.node[taken], (axis + 3 * supports.turns)[taken]] = False
    stiff = assembly.stiffness().diagonal() > 0
    return supports + pins_for(assembly, rigid, Supports.none(), stiff & offered.ravel())


def _check_shapes(stiff: sp.csc_matrix, resists: sp.csc_matrix, inverse: Array, shapes: Array) -> None:
    """Raise `UnbalancedSolve` for a shape that K x = f (-KG) x leaves a force at."""
    if not shapes.shape[1]:
        return
    pull = stiff @ shapes
    left = np.abs(pull - (resists @ shapes) / inverse).max(axis=0)
    residual = float((left / np.abs(pull).max(axis=0)).max())
    if not residual <= _RESIDUAL:
        raise UnbalancedSolve(residual, _RESIDUAL)


def _factor_of(structure: Structure | Assembly | Factor) -> Factor:
    if isinstance(structure, Factor):
        return structure
    return factorise(structure if isinstance(structure, Assembly) else Assembly(structure))


def _largest(resists: spla.LinearOperator, factor: Factor, n_modes: int) -> tuple[Array, Array]:
    shape = resists.shape
    inverse = spla.LinearOperator(shape, matvec=lambda x: factor.solve(x.reshape(-1, 1))[:, 0], dtype=float)
    start = np.random.default_rng(_SEED).standard_normal(shape[0])
    values, shapes = spla.eigsh(
        resists, n_modes, factor.matrix, Minv=inverse, which="LA", v0=start, tol=1e-10
    )
    return values, shapes


def _order(inverse: Array) -> Array:
    """Numbers of the inverse factors that count, least factor first."""
    floor = _NO_BUCKLING * np.abs(inverse).max(initial=0.0)
    order = np.argsort(-inverse, kind="stable")
    return order[inverse[order] > floor]


def _to_unit_movement(modes: Array) -> Array:
    movement = np.abs(modes[:, :3]).max(axis=(0, 1), initial=0.0)
    rotation = np.abs(modes[:, 3:]).max(axis=(0, 1), initial=0.0)
    size = np.where(movement > 0, movement, np.where(rotation > 0, rotation, 1.0))
    return modes / size
