"""Natural modes: frequencies and shapes of free vibration, supported or in free flight.

Solved as the largest 1/omega^2 of the flexibility acting on inertia, which lets freedoms be without mass. A
free body's flexibility is that of the pinned body between two projections that take the rigid motions out, so
that no shift has to be chosen.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as spla

from fea.assembly import Assembly, rigid_motions
from fea.solve import Mechanism, _allowed_motions, _pins, factorise
from fea.structure import Array, Structure, Supports

_DENSE = 300
"""Freedoms up to which all modes are found at once."""
_SEED = 73709
"""Of the starting vector; drawn once."""


def natural_modes(
    structure: Structure | Assembly, n_modes: int, *, free: bool = False
) -> tuple[Array, Array]:
    """Natural frequencies and shapes.

    Parameters
    ----------
    structure : Structure or Assembly
        With masses.
    n_modes : int
        How many, lowest first.
    free : bool
        True: in free flight; the supports are conditions of symmetry, and only the modes that deform are
        returned.

    Returns
    -------
    frequencies : (n,) float array
        Cycles per second, Hz; fewer than `n_modes` where the masses allow no more.
    modes : (n_nodes, 6, n) float array
        Shapes of unit modal mass x' M x = 1, m/sqrt(kg) and rad/(m sqrt(kg)).

    Raises
    ------
    Mechanism
        Something can move freely: with `free`, besides the rigid motions; or the structure has no mass.

    References
    ----------
    Bathe, Finite Element Procedures, chapters on eigenproblems (from memory).
    """
    assembly = structure if isinstance(structure, Assembly) else Assembly(structure)
    mass = assembly.mass()
    if not mass.nnz or not np.abs(mass.data).max():
        raise Mechanism(np.array([0]), np.eye(6)[:1], ("a structure without mass does not vibrate",))
    flexibility = (
        _free_flexibility(assembly, mass)
        if free
        else _held_flexibility(assembly, assembly.structure.supports)
    )
    if assembly.size <= max(_DENSE, 3 * n_modes):
        inverse, shapes = _all(flexibility, mass)
    else:
        inverse, shapes = _largest(flexibility, mass, n_modes)
    order = np.argsort(-inverse, kind="stable")[:n_modes]
    order = order[inverse[order] > 1e-12 * inverse.max()]
    # One more product clears what freedoms without mass may have picked up.
    shapes = flexibility(mass @ shapes[:, order])
    shapes /= np.sqrt(np.einsum("ij,ij->j", shapes, mass @ shapes))
    return 1 / (2 * np.pi * np.sqrt(inverse[order])), assembly.nodal(shapes)


def _held_flexibility(assembly: Assembly, supports: Supports) -> Callable[[Array], Array]:
    """Movement under forces, both (size, n), of the supported body."""
    factor = factorise(assembly, supports)
    return lambda force: factor.turn @ factor.solve(factor.turn.T @ force)


def _free_flexibility(assembly: Assembly, mass: sp.csc_matrix) -> Callable[[Array], Array]:
    """The same of the free body: forces balanced by inertia, movement without its rigid part."""
    supports = assembly.structure.supports
    motions = rigid_motions(assembly.structure.nodes, assembly.freedoms)
    rigid = motions @ _allowed_motions(assembly, supports, motions)
    if not rigid.shape[1]:
        return _held_flexibility(assembly, supports)
    stiff = assembly.stiffness()
    pinned = _held_flexibility(assembly, supports + _pins(assembly, rigid, supports, stiff.diagonal() > 0))
    moved = mass @ rigid
    inertia = rigid.T @ moved
    if not inertia.any() or np.linalg.cond(inertia / np.abs(inertia).max()) > 1e14:
        raise Mechanism(np.array([0]), np.eye(6)[:1], ("a rigid motion has no mass",))

    def flexibility(force: Array) -> Array:
        balanced = force - moved @ np.linalg.solve(inertia, rigid.T @ force)
        movement = pinned(balanced)
        return movement - rigid @ np.linalg.solve(inertia, moved.T @ movement)

    return flexibility


def _all(flexibility: Callable[[Array], Array], mass: sp.csc_matrix) -> tuple[Array, Array]:
    """Every 1/omega^2 of a small structure: L' F L y with M = L L'."""
    values, vectors = np.linalg.eigh(mass.toarray())
    kept = values > 1e-14 * values[-1]
    root = vectors[:, kept] * np.sqrt(values[kept])
    flexible = flexibility(root)
    inverse, amounts = np.linalg.eigh((root.T @ flexible + flexible.T @ root) / 2)
    return inverse, flexible @ amounts


def _largest(flexibility: Callable[[Array], Array], mass: sp.csc_matrix, n_modes: int) -> tuple[Array, Array]:
    operator = spla.LinearOperator(
        mass.shape, matvec=lambda x: flexibility(x.reshape(-1, 1))[:, 0], dtype=float
    )
    start = operator @ (mass @ np.random.default_rng(_SEED).standard_normal(mass.shape[0]))
    # Shift and invert about zero: the stiffness itself is not asked for, only its inverse.
    squared, shapes = spla.eigsh(
        mass, n_modes, mass, sigma=0.0, OPinv=operator, which="LM", v0=start, tol=1e-11
    )
    return 1 / squared, shapes


def free_answers(assembly: Assembly, force: Array, mass: sp.csc_matrix) -> Array:
    """Static answers of a free body to forces that its inertia balances.

    Parameters
    ----------
    assembly : Assembly
        Of a body without supports, or with those of symmetry.
    force : (size, n) float array
        On its freedoms, N and N m.
    mass : (size, size) sparse matrix
        Of the body with all that hangs on it.

    Returns
    -------
    (size, n) float array
        Movements without a rigid part, m and rad.

    Raises
    ------
    Mechanism
        As `natural_modes`.
    """
    return np.asarray(_free_flexibility(assembly, mass)(force))
