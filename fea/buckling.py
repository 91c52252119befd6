"""Linear buckling: by what factor the loads of a solved case must grow before the structure has another shape
to go to.

The stress stiffness KG of the solved case is linear in the load factor f, and (K + f KG) x = 0 is solved as
the largest 1/f of -KG x = (1/f) K x, where K is positive definite whatever the signs of the stresses.
"""

from __future__ import annotations

import numpy as np
import scipy.linalg
import scipy.sparse.linalg as spla

from fea.assembly import Assembly
from fea.solve import Factor, Solution, factorise
from fea.structure import Array, Structure

_DENSE = 300
"""Freedoms up to which all eigenvalues are found at once."""
_NO_BUCKLING = 1e-10
"""Share of the greatest 1/f, in size, below which one is rounding."""
_SEED = 61403
"""Of the starting vector, so that the answer is the same every time; drawn once."""


def linear_buckling(
    structure: Structure | Assembly | Factor,
    solution: Solution,
    n_modes: int = 1,
    *,
    case: int = 0,
    both_signs: bool = False,
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
    both_signs : bool
        Return negative factors too, of loads turned round; in order of size.

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

    Notes
    -----
    Small displacements before buckling are assumed; a shell that is soft to imperfections carries less.

    References
    ----------
    Bathe, Finite Element Procedures, section on linearised buckling (from memory).
    """
    factor = _factor_of(structure)
    assembly = factor.assembly
    stress = assembly.geometric_stiffness(solution.recover(case))
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
        inverse, shapes = _largest(resists, factor, n_modes, both_signs=both_signs)
    kept = _order(inverse, both_signs=both_signs)[:n_modes]
    modes = assembly.nodal(factor.turn @ shapes[:, kept])
    return 1 / inverse[kept], _to_unit_movement(modes)


def _factor_of(structure: Structure | Assembly | Factor) -> Factor:
    if isinstance(structure, Factor):
        return structure
    return factorise(structure if isinstance(structure, Assembly) else Assembly(structure))


def _largest(
    resists: spla.LinearOperator, factor: Factor, n_modes: int, *, both_signs: bool
) -> tuple[Array, Array]:
    shape = resists.shape
    inverse = spla.LinearOperator(shape, matvec=lambda x: factor.solve(x.reshape(-1, 1))[:, 0], dtype=float)
    start = np.random.default_rng(_SEED).standard_normal(shape[0])
    values, shapes = spla.eigsh(
        resists, n_modes, factor.matrix, Minv=inverse, which="LM" if both_signs else "LA", v0=start, tol=1e-10
    )
    return values, shapes


def _order(inverse: Array, *, both_signs: bool) -> Array:
    """Numbers of the inverse factors that count, least factor first."""
    size = np.abs(inverse) if both_signs else inverse
    floor = _NO_BUCKLING * np.abs(inverse).max(initial=0.0)
    order = np.argsort(-size, kind="stable")
    return order[size[order] > floor]


def _to_unit_movement(modes: Array) -> Array:
    movement = np.abs(modes[:, :3]).max(axis=(0, 1), initial=0.0)
    rotation = np.abs(modes[:, 3:]).max(axis=(0, 1), initial=0.0)
    size = np.where(movement > 0, movement, np.where(rotation > 0, rotation, 1.0))
    return modes / size
