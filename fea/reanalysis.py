"""Many variants of one structure, solved together: every group of elements carries a factor on its stiffness.

K(s) = K_fixed + sum of s_g K_g under one load. Nodes that one group alone touches are condensed once and for
all, since a group's own stiffness scales as a whole. What is left is eliminated front by front, as in a
multifrontal factorisation (nodes in the order of least fill, gathered to fronts), by Cholesky roots in place;
each front carries an axis of variants, so that a chunk of them is put together at once. Inverses of fronts
would leave ten times the residual. Several loads cost little more than one. The answer is that of a direct
solve of every variant; nothing is approximated. A basis made of solved variants would not do here: with a
dozen groups that scatter by a quarter two hundred of them still miss a wing's movements by a thousandth in
energy, its stresses by no less.

Sources: Duff and Reid, The multifrontal solution of indefinite sparse symmetric linear equations, ACM
Transactions on Mathematical Software 9, 1983; Guyan, Reduction of stiffness and mass matrices, AIAA Journal
3, 1965; Tinney and Walker, Direct solutions of sparse network equations by optimally ordered triangular
factorization, Proceedings of the IEEE 55, 1967, their third scheme (all from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp
from scipy.linalg.blas import dsyrk, dtrsm
from scipy.linalg.lapack import dpotrf
from scipy.sparse.csgraph import connected_components

from fea.arrays import Array, Ints
from fea.assembly import Assembly, rigid_motions
from fea.solve import IndefiniteStiffness, Solution, UnbalancedSolve, allowed_motions, factorise, pins_for
from fea.structure import Structure, Supports

_RATE, _TRAFFIC, _CALL = 25e9, 2e-9, 4e-7
"""Dense products a second, seconds an entry of a front is carried about, and a front's overhead a variant:
what decides whether two fronts become one. Orders of magnitude will do."""
_AT_ONCE, _FEWEST = 4e6, 8
"""Bytes of the largest front of the variants that are eliminated together, what a cache holds, and how many
there are at least: each reads the matrices of all groups once."""


@dataclass(frozen=True, eq=False)
class _Front:
    """Freedoms eliminated together (`pivots`) and those they touch then (`border`), in order of elimination.

    `own` (n_active, n_pivots n_pivots) and `across` (n_active, n_pivots (n_border + n_loads)) have a row for
    every group in `active`; the last is the fixed part, and has the loads. `children` are (front, places).
    """

    pivots: Ints
    border: Ints
    active: Ints
    own: Array
    across: Array
    children: tuple[tuple[int, tuple[_Place, ...]], ...]


@dataclass(frozen=True)
class _Place:
    """Part of what a child leaves to its border, and where it is added: 0 `own`, 1 `across`, 2 what is left
    to the border, and rows and columns there."""

    rows: slice
    columns: slice
    block: int
    rows_there: slice
    columns_there: slice


@dataclass(frozen=True, eq=False)
class _Inside:
    """Freedoms that one group alone touches, and their condensation: u = own/s - follow u(border)."""

    group: int
    own_dofs: Ints
    border: Ints
    own: Array
    follow: sp.csr_matrix


class Variants:
    """A structure ready to be solved with any factors on its groups.

    Parameters
    ----------
    solution : Solution
        A solved structure: its assembly, and its loads, which all variants keep (those of a free body with
        the inertia of its nominal mass).
    groups : mapping of str to (n_elements,) int array
        Group of every element of a block, -1 for those whose stiffness stays; blocks left out stay.
    n_groups : int
        How many groups there are.
    case : int
        Column of the loads.
    beside : sequence of Solution
        Of the same assembly: their loads' first columns are solved for as well.

    Raises
    ------
    fea.solve.Mechanism
        Something can move freely.
    ValueError
        A group number out of range, or supports along no axis.
    """

    def __init__(
        self,
        solution: Solution,
        groups: Mapping[str, Ints],
        n_groups: int,
        case: int = 0,
        beside: Sequence[Solution] = (),
    ) -> None:
        assembly = solution.assembly
        for name, numbers in groups.items():
            if (
                len(numbers) != len(assembly.structure.blocks[name].nodes)
                or numbers.max(initial=-1) >= n_groups
            ):
                raise ValueError(f"groups of {name}: one number below {n_groups} for every element")
        self.assembly, self.n_groups, self._groups = assembly, n_groups, dict(groups)
        held = pinned(assembly)
        factor = factorise(assembly, held)
        if factor.turn.nnz != factor.turn.shape[1] or factor.given.any():
            raise ValueError("variants need supports along the axes that hold without movement")
        self._supports = held
        self._free: Ints = factor.turn.indices.astype(np.intp)
        nodal = [solution.loads[:, :, [case]], *(one.loads[:, :, :1] for one in beside)]
        self._loads = assembly.vector(np.concatenate(nodal, axis=2))[self._free]
        parts = self._matrices()
        load = self._loads.copy()
        parts, self._inside, load = _condensed(parts, load, self._free // assembly.freedoms)
        self._fronts = _plan(parts, load, self._free // assembly.freedoms)

    def _matrices(self) -> list[sp.csr_matrix]:
        """Stiffness of every group, then of what is fixed, on the free freedoms."""
        out = []
        blocks = self.assembly.structure.blocks
        for g in (*range(self.n_groups), -1):
            scales = {}
            for name, block in blocks.items():
                numbers = self._groups.get(name)
                mine = np.full(len(block.nodes), g == -1) if numbers is None else numbers == g
                scales[name] = block.scale * mine
            matrix = self.assembly.stiffness(scales)[self._free][:, self._free].tocsr()
            matrix.eliminate_zeros()
            out.append(matrix)
        return out

    def solve(self, factors: Array) -> Array:
        """Movements of many variants, (n_nodes, 6, n_loads n_variants), m and rad, of all variants under the
        first load, then of all under the next, by factors above 0 on the stiffness of the groups,
        (n_variants, n_groups).

        Raises
        ------
        fea.solve.IndefiniteStiffness
            Of a variant.
        """
        scale = np.concatenate([factors, np.ones((len(factors), 1))], axis=1)
        n, loads = len(factors), self._loads.shape[1]
        largest = max(len(front.pivots) + len(front.border) for front in self._fronts)
        shares = np.array_split(scale, max(1, n // max(_FEWEST, int(_AT_ONCE / (8 * largest**2)))))
        parts = [_eliminate(self._fronts, share, *self._loads.shape) for share in shares]
        free = np.concatenate(parts, axis=2).reshape(-1, loads * n)
        for inside in reversed(self._inside):
            own = inside.own[:, :, None] / scale[:, inside.group]
            follows = inside.follow @ free[inside.border]
            free[inside.own_dofs] = own.reshape(len(own), -1) - follows
        moves = np.zeros((self.assembly.size, loads * n))
        moves[self._free] = free
        return self.assembly.nodal(moves)

    def direct(self, factors: Array) -> Array:
        """One variant by an assembly and factorisation of its own under the first load, (n_nodes, 6); what
        `solve` is held against.

        Raises
        ------
        UnbalancedSolve
            The residual exceeds 1e-8 of the greatest load.
        """
        blocks = self.assembly.structure.blocks
        extended = np.append(factors, 1.0)
        scales = {name: blocks[name].scale * extended[numbers] for name, numbers in self._groups.items()}
        factor = factorise(self.assembly, self._supports, self.assembly.stiffness(scales))
        load = self._loads[:, :1]
        free = factor.solve(load)
        gap = float(np.abs(factor.matrix @ free - load).max() / np.abs(load).max())
        if not gap <= 1e-8:
            raise UnbalancedSolve(gap, 1e-8)
        return self.assembly.nodal(factor.turn @ free)[:, :, 0]

    def residual(self, factors: Array, moves: Array) -> Array:
        """Largest force left over in every variant, over the largest load, (n_loads n_variants,), by what
        `solve` takes and gives."""
        free = self.assembly.vector(moves)[self._free]
        scale = np.concatenate([factors, np.ones((len(factors), 1))], axis=1)
        scale = np.tile(scale, (self._loads.shape[1], 1))
        left = -np.repeat(self._loads, len(factors), axis=1)
        for g, matrix in enumerate(self._matrices()):
            left += matrix @ (free * scale[:, g])
        most = np.repeat(np.abs(self._loads).max(axis=0), len(factors))
        return np.asarray(np.abs(left).max(axis=0) / most)


def pinned(assembly: Assembly) -> Supports:
    """The structure's supports, and pins for the rigid motions that they leave free, as
    `fea.solve.free_body` has them: loads in balance leave the pins without reaction."""
    supports = assembly.structure.supports
    motions = rigid_motions(assembly.structure.nodes, assembly.freedoms)
    rigid = motions @ allowed_motions(assembly, supports, motions)
    # A turn about the line on which all nodes lie moves nothing where nodes do not turn.
    moving, sizes, _ = np.linalg.svd(rigid, full_matrices=False)
    rigid = moving[:, sizes > 1e-9 * np.abs(motions).max()]
    if not rigid.shape[1]:
        return supports
    return supports + pins_for(assembly, rigid, supports, assembly.stiffness().diagonal() > 0)


def node_recovery(assembly: Assembly, name: str, what: str) -> Array:
    """What a block recovers for a unit movement of each freedom of its elements' nodes.

    Parameters
    ----------
    assembly : Assembly
        Of the structure, with six freedoms a node.
    name, what : str
        Block, and the key of its `recover`.

    Returns
    -------
    (n_elements, ..., 6 n_corners) float array
        To be multiplied with the movements of the elements' nodes, (n_elements, 6 n_corners).
    """
    block, points = assembly.structure.blocks[name], assembly.structure.nodes
    n, k = block.nodes.shape
    # Elements taken apart, each with nodes of its own, so that each can be moved by itself.
    apart = replace(block, nodes=np.arange(n * k, dtype=np.intp).reshape(n, k))  # type: ignore[type-var]
    alone = Assembly(Structure(points[block.nodes].reshape(n * k, 3), {name: apart}))
    unit = np.broadcast_to(np.eye(6 * k).reshape(k, 6, 6 * k), (n, k, 6, 6 * k)).reshape(n * k, 6, 6 * k)
    return block.recover(assembly.corners(name), alone.element_displacements(name, unit))[what]


def _condensed(
    parts: list[sp.csr_matrix], load: Array, node: Ints
) -> tuple[list[sp.csr_matrix], list[_Inside], Array]:
    """Condense every node that a single group touches out of that group's matrix.

    Its stiffness is s K, so that the condensed matrix is s times one that does not depend on s.
    """
    n_nodes = int(node.max()) + 1
    touched = np.zeros((len(parts), n_nodes), dtype=bool)
    for g, matrix in enumerate(parts):
        touched[g, node[np.diff(matrix.indptr) > 0]] = True
    alone = touched.sum(axis=0) == 1
    out, insides, load = [], [], load.copy()
    for g, matrix in enumerate(parts[:-1]):
        own = np.flatnonzero((alone & touched[g])[node])
        rest = np.flatnonzero((~alone & touched[g])[node])
        if not len(own) or not len(rest):
            out.append(matrix)
            continue
        n, label = connected_components(matrix[own][:, own], directed=False)
        own = own[np.argsort(label, kind="stable")]
        ends = np.cumsum(np.bincount(label, minlength=n))
        place = np.full(len(node), -1)
        place[rest] = np.arange(len(rest))
        rows = matrix[own]
        solved = np.zeros((len(own), load.shape[1]))
        follows, updates = [], []
        for last, size in zip(ends.tolist(), np.diff(ends, prepend=0).tolist()):
            mine = slice(last - size, last)
            border = np.unique(rows[mine].indices)
            border = border[place[border] >= 0]
            dense = rows[mine][:, np.concatenate([own[mine], border])].toarray()
            root = _root(dense[:, :size].T)
            side = dtrsm(1.0, root, np.concatenate([dense[:, size:], load[own[mine]]], axis=1), lower=1)
            across, pull = side[:, : len(border)], side[:, len(border) :]
            both = dtrsm(1.0, root, side, lower=1, trans_a=1)
            solved[mine] = both[:, len(border) :]
            load[border] -= across.T @ pull
            follows.append(_scattered(np.arange(len(own))[mine], place[border], both[:, : len(border)]))
            updates.append(_scattered(border, border, -(across.T @ across)))
        load[own] = 0.0
        insides.append(_Inside(g, own, rest, solved, _joined(follows, (len(own), len(rest)))))
        outside = matrix.tocoo()
        kept = (place[outside.row] >= 0) & (place[outside.col] >= 0)
        updates.append((outside.row[kept], outside.col[kept], outside.data[kept]))
        out.append(_joined(updates, matrix.shape))
    return [*out, parts[-1]], insides, load


def _scattered(rows: Ints, columns: Ints, values: Array) -> tuple[Ints, Ints, Array]:
    """A dense block by its entries: their rows, columns and values."""
    return np.repeat(rows, len(columns)), np.tile(columns, len(rows)), values.ravel()


def _joined(blocks: list[tuple[Ints, Ints, Array]], shape: tuple[int, int]) -> sp.csr_matrix:
    """The sum of blocks by their entries."""
    rows, columns, values = (np.concatenate(of_all) for of_all in zip(*blocks))
    return sp.csr_matrix((values, (rows, columns)), shape=shape)


def _root(matrix: Array) -> Array:
    """Cholesky's root of a symmetric matrix in its lower half, in place where columns lie one after another.

    Raises
    ------
    fea.solve.IndefiniteStiffness
        It has none.
    """
    root, wrong = dpotrf(matrix, lower=1, clean=0, overwrite_a=1)
    if wrong:
        raise IndefiniteStiffness(float(root[wrong - 1, wrong - 1]))
    return np.asarray(root)


def _plan(parts: list[sp.csr_matrix], load: Array, node: Ints) -> list[_Front]:
    """Order the nodes that are left, gather them to fronts, and cut the matrices to the fronts' shapes."""
    pattern = sum(abs(m) for m in parts).tocoo()
    n_nodes = int(node.max()) + 1
    near: list[set[int]] = [set() for _ in range(n_nodes)]
    pairs = np.unique(node[pattern.row].astype(np.int64) * n_nodes + node[pattern.col])
    for a, b in zip((pairs // n_nodes).tolist(), (pairs % n_nodes).tolist()):
        near[a].add(b)
    weight = np.bincount(node, minlength=n_nodes)
    order, borders = _least_fill(near)
    fronts = _gathered(order, borders, weight)
    return _cut(fronts, parts, load, node)


def _least_fill(near: list[set[int]]) -> tuple[list[int], dict[int, set[int]]]:
    """Eliminate the node that makes the fewest new neighbours, again and again; order, and neighbours at that
    time. Sets of nodes are bits of whole numbers."""
    graph = {a: sum(1 << other for other in b if other != a) for a, b in enumerate(near) if b}

    def missing(node: int) -> int:
        """Twice the pairs of neighbours that are none of each other."""
        around = graph[node]
        n = around.bit_count()
        return n * (n - 1) - sum((graph[other] & around).bit_count() for other in _members(around))

    fill = {a: missing(a) for a in graph}
    order, borders = [], {}
    while graph:
        first = min(fill, key=lambda a: (fill[a], graph[a].bit_count(), a))
        around = graph.pop(first)
        border = _members(around)
        touched = around
        for other in border:
            before = graph[other]
            graph[other] = (before | around) & ~(1 << other | 1 << first)
            if graph[other] & ~before:
                touched |= graph[other]
        del fill[first]
        fill.update((other, missing(other)) for other in _members(touched))
        order.append(first)
        borders[first] = set(border)
    return order, borders


def _members(bits: int) -> list[int]:
    out = []
    while bits:
        low = bits & -bits
        out.append(low.bit_length() - 1)
        bits ^= low
    return out


def _cost(pivots: float, border: float) -> float:
    """Seconds that a front costs, roughly."""
    work = pivots**3 / 3 + pivots**2 * border + pivots * border**2
    return work / _RATE + (pivots + border) ** 2 * _TRAFFIC + _CALL


def _gathered(
    order: list[int], borders: dict[int, set[int]], weight: Ints
) -> list[tuple[list[int], list[int]]]:
    """Fronts as (pivot nodes, border nodes); one joins its parent where that costs less than both apart."""
    place = {a: k for k, a in enumerate(order)}
    pivots: dict[int, list[int]] = {a: [a] for a in order}
    border = {a: set(borders[a]) for a in order}

    def size(nodes: set[int] | list[int]) -> int:
        return int(sum(weight[a] for a in nodes))

    children: dict[int, list[int]] = {a: [] for a in order}
    for a in order:
        if borders[a]:
            children[min(borders[a], key=place.__getitem__)].append(a)
    for a in order:  # children come before their parents
        again = True
        while again:
            again = False
            for child in children[a]:
                joined = (border[child] | border[a]) - set(pivots[a]) - set(pivots[child])
                p, q = size(pivots[child]), size(pivots[a])
                apart = _cost(p, size(border[child])) + _cost(q, size(border[a]))
                if _cost(p + q, size(joined)) <= apart:
                    pivots[a] = pivots.pop(child) + pivots[a]
                    border[a] = joined
                    children[a].remove(child)
                    children[a] += children.pop(child)
                    again = True
                    break
    heads = [a for a in order if a in pivots]
    return [(pivots[a], sorted(border[a], key=place.__getitem__)) for a in heads]


def _cut(
    fronts: list[tuple[list[int], list[int]]], parts: list[sp.csr_matrix], load: Array, node: Ints
) -> list[_Front]:
    by_node = np.argsort(node, kind="stable")
    bounds = np.searchsorted(node[by_node], np.arange(int(node.max()) + 2))
    own = [by_node[bounds[a] : bounds[a + 1]] for a in range(len(bounds) - 1)]
    rank = np.full(len(node), len(node), dtype=np.intp)
    count = 0
    for pivots, _ in fronts:
        for a in pivots:
            rank[own[a]] = np.arange(count, count + len(own[a]))
            count += len(own[a])
    owner_of = {a: k for k, (pivots, _) in enumerate(fronts) for a in pivots}
    waiting: list[list[int]] = [[] for _ in fronts]
    out: list[_Front] = []
    for k, (pivots, border) in enumerate(fronts):
        rows = np.concatenate([own[a] for a in pivots])
        edge = np.concatenate([own[a] for a in border]) if border else np.zeros(0, dtype=np.intp)
        edge = edge[np.argsort(rank[edge], kind="stable")]
        columns = np.concatenate([rows, edge])
        dense = [m[rows][:, columns] for m in parts]
        active = np.array([g for g, m in enumerate(dense) if m.nnz or m is dense[-1]], dtype=np.intp)
        n, p, loads = len(active), len(rows), load.shape[1]
        stiff = np.zeros((n, p, len(columns) + loads))
        for one, g in zip(stiff, active.tolist()):
            one[:, :-loads] = dense[g].toarray()
        stiff[-1, :, -loads:] = load[rows]
        where = {int(dof): i for i, dof in enumerate(columns)}
        children = tuple((c, _places(out[c].border, where, p, loads)) for c in waiting[k])
        own_part, across = stiff[:, :, :p].reshape(n, -1), stiff[:, :, p:].reshape(n, -1)
        out.append(_Front(rows, edge, active, own_part, across, children))
        if border:
            waiting[min(owner_of[a] for a in border)].append(k)
    return out


def _places(border: Ints, where: dict[int, int], pivots: int, loads: int) -> tuple[_Place, ...]:
    """Where the upper half of what a child leaves, its loads last, lies in its parent: stretches that lie one
    after another there."""
    at = np.array([*(where[int(dof)] for dof in border), *range(len(where), len(where) + loads)])
    breaks = np.flatnonzero((np.diff(at) != 1) | (at[1:] == pivots)) + 1
    runs = [(int(r[0]), int(r[-1]) + 1, int(at[r[0]])) for r in np.split(np.arange(len(at)), breaks)]
    out = []
    for i, (first, last, row) in enumerate(runs):
        for start, end, column in runs[i:]:
            block = int(row >= pivots) + int(column >= pivots)
            r, c = row - pivots * (block == 2), column - pivots * (block > 0)
            there = slice(r, r + last - first), slice(c, c + end - start)
            out.append(_Place(slice(first, last), slice(start, end), block, *there))
    return tuple(out)


def _eliminate(fronts: list[_Front], scale: Array, size: int, loads: int) -> Array:
    """Forward through the fronts and back, all variants at once; movements (size, n_loads, n_variants).

    Raises
    ------
    fea.solve.IndefiniteStiffness
        Of a variant.
    """
    m = len(scale)
    left: dict[int, Array] = {}
    kept: list[tuple[Array, Array]] = []
    for k, front in enumerate(fronts):
        p, b, of_active = len(front.pivots), len(front.border), scale[:, front.active]
        own = (of_active @ front.own).reshape(m, p, p)
        across = (of_active @ front.across).reshape(m, p, b + loads)
        border = np.zeros((m, b + loads, b + loads))
        blocks = own, across, border
        for child, places in front.children:
            update = left.pop(child)
            for at in places:
                blocks[at.block][:, at.rows_there, at.columns_there] += update[:, at.rows, at.columns]
        # The library counts along columns first: what is the upper half here is the lower half there.
        for root, side, corner in zip(own, across, border):
            _root(root.T)
            dtrsm(1.0, root.T, side.T, side=1, lower=1, trans_a=1, overwrite_b=1)
            if b:
                dsyrk(-1.0, side.T, 1.0, corner.T, lower=1, overwrite_c=1)
        kept.append((own, across))
        if b:
            left[k] = border
    moves = np.zeros((m, size, loads))
    for front, (own, across) in zip(reversed(fronts), reversed(kept)):
        known = across[:, :, -loads:] - across[:, :, :-loads] @ moves[:, front.border]
        right = np.ascontiguousarray(known.transpose(0, 2, 1))
        for root, rows in zip(own, right):
            dtrsm(1.0, root.T, rows.T, lower=1, trans_a=1, overwrite_b=1)
        moves[:, front.pivots] = right.transpose(0, 2, 1)
    return np.ascontiguousarray(moves.transpose(1, 2, 0))
