"""Natural modes: frequencies and shapes of free vibration, supported or in free flight.

Solved as the largest 1/omega^2 of the flexibility acting on inertia, which lets freedoms be without mass. A
free body's flexibility is that of the pinned body between two projections that take the rigid motions out, so
that no shift has to be chosen.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import scipy.linalg as sl
import scipy.sparse as sp

from fea.assembly import Assembly, rigid_motions
from fea.solve import Factor, Mechanism, allowed_motions, factorise, pinned
from fea.structure import Array, Structure

_DENSE = 300
"""Freedoms up to which all modes are found at once."""
_SEED = 73709
"""Of the starting vectors; drawn once."""
_BLOCK = 8
"""Vectors that are carried on together: one elimination answers them for the price of few."""
TOGETHER = 64
"""Columns that are worked on together: all at once are more than a machine may have room for."""
_EXACT = 1e-11
"""What a mode leaves over, over its 1/omega^2, below which it counts as found."""


def natural_modes(
    structure: Structure | Assembly | Factor, n_modes: int, *, free: bool = False, highest: float = np.inf
) -> tuple[Array, Array]:
    """Natural frequencies and shapes.

    Parameters
    ----------
    structure : Structure, Assembly or Factor
        With masses; a factor is one of its own supports, or with `free` of `fea.solve.pinned`.
    n_modes : int
        How many, lowest first.
    free : bool
        True: in free flight; the supports are conditions of symmetry, and only the modes that deform are
        returned.
    highest : float
        Modes beyond this frequency are not wanted, Hz.

    Returns
    -------
    frequencies : (n,) float array
        Cycles per second, Hz; fewer than `n_modes` where the masses allow no more, or no more are wanted.
    modes : (n_nodes, 6, n) float array
        Shapes of unit modal mass x' M x = 1, m/sqrt(kg) and rad/(m sqrt(kg)).

    Raises
    ------
    Mechanism
        Something can move freely: with `free`, besides the rigid motions; or the structure has no mass.

    References
    ----------
    Bathe, Finite Element Procedures, chapters on eigenproblems; Golub and Underwood, The block Lanczos method
    for computing eigenvalues, 1977 (both from memory).
    """
    given = structure if isinstance(structure, Assembly | Factor) else Assembly(structure)
    assembly = given.assembly if isinstance(given, Factor) else given
    mass = assembly.mass()
    if not mass.nnz or not np.abs(mass.data).max():
        raise Mechanism(np.array([0]), np.eye(6)[:1], ("a structure without mass does not vibrate",))
    if isinstance(given, Factor):
        factor = given
    else:
        factor = pinned(assembly) if free else factorise(assembly)
    refined = _flexibility(factor, mass, free=free)
    least = (2 * np.pi * highest) ** -2.0
    if assembly.size <= (max(_DENSE, 3 * n_modes) if np.isinf(highest) else _DENSE):
        inverse, shapes = _all(refined, mass)
    else:
        inverse, shapes = _largest(_flexibility(factor, mass, free=free, once=True), mass, n_modes, least)
    order = np.argsort(-inverse, kind="stable")[:n_modes]
    shapes = shapes[:, order[inverse[order] > 1e-12 * inverse.max(initial=0.0)]]
    # One more product, refined, clears what freedoms without mass may have picked up, and what the search
    # left out: an error of a shape counts by its square.
    answers = refined(mass @ shapes)
    moved = mass @ answers
    by_shape, by_answer = shapes.T @ moved, answers.T @ moved
    inverse, amounts = sl.eigh((by_answer + by_answer.T) / 2, (by_shape + by_shape.T) / 2)
    wanted = np.flatnonzero(inverse > least)[::-1]
    shapes = answers @ amounts[:, wanted]
    shapes /= np.sqrt(np.einsum("ij,ij->j", shapes, mass @ shapes))
    return 1 / (2 * np.pi * np.sqrt(inverse[wanted])), assembly.nodal(shapes)


def _flexibility(
    factor: Factor, mass: sp.csc_matrix, *, free: bool, once: bool = False
) -> Callable[[Array], Array]:
    """Movement under forces, both (size, n): of the supported body, or of the free one, whose forces are
    balanced by inertia, without its rigid part. By one solve (`once`), or refined by a second."""
    solve = factor.once if once else factor.solve

    def held(force: Array) -> Array:
        return np.asarray(factor.turn @ solve(factor.turn.T @ force))

    supports, points = factor.assembly.structure.supports, factor.assembly.structure.nodes
    motions = rigid_motions(points, factor.assembly.freedoms)
    rigid = motions @ allowed_motions(factor.assembly, supports, motions) if free else motions[:, :0]
    if not rigid.shape[1]:
        return held
    moved = mass @ rigid
    inertia = rigid.T @ moved
    if not inertia.any() or np.linalg.cond(inertia / np.abs(inertia).max()) > 1e14:
        raise Mechanism(np.array([0]), np.eye(6)[:1], ("a rigid motion has no mass",))

    def flexibility(force: Array) -> Array:
        balanced = force - moved @ np.linalg.solve(inertia, rigid.T @ force)
        movement = held(balanced)
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


def _largest(
    flexibility: Callable[[Array], Array], mass: sp.csc_matrix, n_modes: int, least: float
) -> tuple[Array, Array]:
    """The largest 1/omega^2 down to `least` by block Lanczos, every new block cleared of all before it."""
    size, n = mass.shape[0], 0
    start = np.random.default_rng(_SEED).standard_normal((size, _BLOCK))
    room = np.empty((2, size, 0))  # the basis, and M times it
    answered: list[Array] = []  # basis' M F M block, of each block
    fresh = flexibility(mass @ start)
    while True:
        block, moving = _orthonormal(fresh, room[0, :, :n], room[1, :, :n], mass)
        if not block.shape[1]:  # the masses allow no more
            inverse, amounts = _ritz(answered, n)
            return inverse, room[0, :, :n] @ amounts
        if n + _BLOCK > room.shape[2]:
            room = _roomier(room, n)
        n += block.shape[1]
        room[:, :, n - block.shape[1] : n] = block, moving
        basis, moved = room[:, :, :n]
        fresh = flexibility(moving)
        answered.append(moved.T @ fresh)
        fresh = fresh - basis @ answered[-1]
        inverse, amounts = _ritz(answered, n)
        most = np.arange(n)[::-1][: n_modes + 1]
        last = amounts[n - block.shape[1] :, most]
        left = np.sqrt(np.maximum(np.einsum("ij,ij->j", last, fresh.T @ (mass @ fresh) @ last), 0.0))
        few = np.flatnonzero(inverse[most] > least)[:n_modes]
        # The next beyond those wanted, if it is not one of too many, is beyond the bound for certain.
        beyond = len(few) == n_modes or (len(few) < len(most) and (inverse[most] + left)[len(few)] <= least)
        if beyond and (left[few] <= _EXACT * inverse[most[few]]).all():
            return inverse[most[few]], basis @ amounts[:, most[few]]


def _roomier(room: Array, n: int) -> Array:
    """The same n vectors with room for as many more, or sixteen blocks."""
    out = np.empty((*room.shape[:2], 2 * n + 16 * _BLOCK))
    out[:, :, :n] = room[:, :, :n]
    return out


def _ritz(answered: list[Array], n: int) -> tuple[Array, Array]:
    """Values, rising, and vectors of the operator on the basis, from its columns as they were found."""
    upper = np.zeros((n, n))
    at = 0
    for columns in answered:
        rows, width = columns.shape
        upper[:rows, at : at + width] = columns
        at += width
    diagonal = np.triu(upper)
    return np.linalg.eigh(diagonal + diagonal.T - np.diag(upper.diagonal()))


def _orthonormal(fresh: Array, basis: Array, moved: Array, mass: sp.csc_matrix) -> tuple[Array, Array]:
    """What is new in some vectors beside a basis, x' M x = 1, and M times it; twice is enough."""
    size = np.sqrt(np.abs(np.einsum("ij,ij->j", fresh, mass @ fresh)).max())
    for _ in range(2):
        fresh = fresh - basis @ (moved.T @ fresh)
        values, turn = np.linalg.eigh(fresh.T @ (mass @ fresh))
        kept = values > max(1e-24 * size**2, 1e-15 * values[-1], 0.0)
        fresh = fresh @ (turn[:, kept] / np.sqrt(values[kept]))
        size = 1.0
        if not kept.any():
            break
    return fresh, mass @ fresh


def free_answers(
    assembly: Assembly, force: Array | sp.csc_matrix, mass: sp.csc_matrix, factor: Factor | None = None
) -> Array:
    """Static answers of a free body to forces that its inertia balances, as shapes to reduce it to: what they
    miss counts by its square there, so that they are not refined.

    Parameters
    ----------
    assembly : Assembly
        Of a body without supports, or with those of symmetry.
    force : (size, n) float array or sparse matrix
        On its freedoms, N and N m.
    mass : (size, size) sparse matrix
        Of the body with all that hangs on it.
    factor : Factor or None
        From `fea.solve.pinned`, where it is there already.

    Returns
    -------
    (size, n) float array
        Movements without a rigid part, m and rad.

    Raises
    ------
    Mechanism
        As `natural_modes`.
    """
    factor = pinned(assembly) if factor is None else factor
    flexibility = _flexibility(factor, mass, free=True, once=True)
    out = np.empty(force.shape)
    for k in range(0, force.shape[1], TOGETHER):
        some = force[:, k : k + TOGETHER]
        out[:, k : k + TOGETHER] = flexibility(
            some.toarray() if isinstance(some, sp.csc_matrix) else np.asarray(some)
        )
    return out
