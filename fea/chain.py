"""Structures that are a chain of segments: each condensed to its two interfaces, the chain solved from its
ends inward.

Static condensation leaves the segment's stiffness and loads on the freedoms that it shares with its
neighbours; a part of the chain that has been solved up to an interface acts on the rest through one matrix
and its loads there. Both are exact. Every function takes leading axes of variants and several columns of
loads.

Sources: Guyan, Reduction of stiffness and mass matrices, AIAA Journal 3, 1965; Przemieniecki, Matrix
structural analysis of substructures, AIAA Journal 1, 1963 (both from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import lapack

from fea.arrays import Array


@dataclass(frozen=True, eq=False)
class Link:
    """A segment condensed to its interfaces.

    Parameters
    ----------
    n_inner : int
        Freedoms of the inner interface; those of the outer one follow.
    stiffness : (n, n) float array
        On both interfaces.
    load : (n, n_columns) float array
        Loads carried to the interfaces.
    """

    n_inner: int
    stiffness: Array
    load: Array


@dataclass(frozen=True, eq=False)
class End:
    """A part of a chain as its one interface feels it.

    Parameters
    ----------
    stiffness : (..., n, n) float array
        On the interface.
    load : (..., n, n_columns) float array
        Loads carried to it.
    follow, own : (..., m, n) and (..., m, n_columns) float array
        Movement of the interface before, `own` times the columns' amounts less `follow` times this one's.
    root : (m, m) float array or None
        Lower factor of Cholesky of what was eliminated last, without variants, for loads that come later.
    """

    stiffness: Array
    load: Array
    follow: Array
    own: Array
    root: Array | None = None


def eliminated(stiffness: Array, load: Array, pivots: int) -> End:
    """Eliminate the first freedoms of a symmetric system.

    Parameters
    ----------
    stiffness : (..., n, n) float array
        Positive definite in the pivots; scaled to a diagonal near 1 for small rounding.
    load : (..., n, n_columns) float array
        Columns of loads.
    pivots : int
        How many freedoms to eliminate, from the first.

    Returns
    -------
    End
        On the n - pivots freedoms that are left.

    Raises
    ------
    numpy.linalg.LinAlgError
        Nothing holds some of the pivots.
    """
    p = pivots
    across = stiffness[..., :p, p:]
    answer = np.concatenate([across, load[..., :p, :]], axis=-1)
    root = None
    if p and stiffness.ndim == 2:
        root, wrong = lapack.dpotrf(stiffness[:p, :p], lower=1)
        if wrong:
            raise np.linalg.LinAlgError("a part of a chain is held by nothing")
        answer = lapack.dpotrs(root, answer, lower=1)[0]
    elif p:
        answer = np.linalg.solve(stiffness[..., :p, :p], answer)
    n = across.shape[-1]
    follow, own = answer[..., :n], answer[..., n:]
    back = np.swapaxes(across, -1, -2)
    return End(
        np.asarray(stiffness[..., p:, p:] - back @ follow),
        np.asarray(load[..., p:, :] - back @ own),
        follow,
        own,
        root,
    )


def outward(inner: End | None, link: Link) -> End:
    """The chain up to a link's outer interface, from what lies inboard of the link on its inner one (None
    where the chain begins with the link, which has none); `follow` and `own` of what comes back give the
    inner one."""
    if inner is None:
        return eliminated(link.stiffness, link.load, link.n_inner)
    return eliminated(*_joined(link.stiffness, link.load, inner), link.n_inner)


def inward(outer: End | None, link: Link) -> End:
    """The chain from its tip to a link's inner interface, from what lies outboard of the link on its
    outer one (None where the chain ends with it); `follow` and `own` of what comes back give the outer
    one."""
    n, turned = link.n_inner, np.r_[link.n_inner : len(link.stiffness), 0 : link.n_inner]
    stiffness, load = link.stiffness[np.ix_(turned, turned)], link.load[turned]
    if outer is None:
        return eliminated(stiffness, load, len(turned) - n)
    return eliminated(*_joined(stiffness, load, outer), len(turned) - n)


def followed(ends: Sequence[End], first: Array, amounts: Array) -> list[Array]:
    """Movements of interfaces one after another, away from one that is known.

    Parameters
    ----------
    ends : sequence of End
        Each on the interface before, from the known one on.
    first : (n,) or (n, n_variants) float array
        Movements of the known interface.
    amounts : (n_columns,) or (n_columns, n_variants) float array
        Of the columns of loads.

    Returns
    -------
    list of (m,) or (m, n_variants) float array
        Of the known interface and of all that follow.
    """
    moves = [first]
    for end in ends:
        moves.append(end.own @ amounts - end.follow @ moves[-1])
    return moves


def moved(ends: Sequence[End], loads: Sequence[Array]) -> list[Array]:
    """Movements of all interfaces of a chain under loads on these alone, by what has been eliminated: to
    correct what was found by the loads that it leaves over.

    Parameters
    ----------
    ends : sequence of End
        In the order of elimination, without variants, to the end of the chain.
    loads : sequence of (n,) float array
        On the interfaces in that order: the first and the last, where the chain ends, have no freedoms.

    Returns
    -------
    list of (n,) float array
        In the same order.
    """
    own, carried = [], loads[0]
    for end, load in zip(ends, loads[1:]):
        own.append(carried if end.root is None else lapack.dpotrs(end.root, carried, lower=1)[0])
        carried = load - end.follow.T @ carried
    moves = [carried]
    for end, here in zip(reversed(ends), reversed(own)):
        moves.append(here - end.follow @ moves[-1])
    return moves[::-1]


def _joined(stiffness: Array, load: Array, end: End) -> tuple[Array, Array]:
    """A segment's system with a solved part added on its first freedoms."""
    n = end.stiffness.shape[-1]
    lead = end.stiffness.shape[:-2]
    full = np.broadcast_to(stiffness, (*lead, *stiffness.shape)).copy()
    right = np.broadcast_to(load, (*lead, *load.shape)).copy()
    full[..., :n, :n] += end.stiffness
    right[..., :n, :] += end.load
    return full, right
