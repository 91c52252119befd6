"""From blocks of elements to sparse matrices: the pattern is built once, and values are refilled for every
variant.

Each element contributes one dense square a pair of its nodes. Pairs of nodes are sorted once; adding the
squares of equal pairs is one product with a sparse matrix of weights. A matrix of any kind (stiffness, mass,
stress stiffness) runs through the same path, and a stiffness whose properties scale refills by writing the
scales into those weights: K = K0 + sum of scale x unit K.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.offsets import (
    Bow,
    corner_displacements,
    corner_matrix,
    flattening_matrix,
    link_matrix,
    linked,
    node_forces,
    to_nodes,
)
from fea.portions import each_portion
from fea.structure import Block, Structure


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Node pairs of the elements, sorted: entries order[start[i]:start[i + 1]] belong to the i-th different
    pair.

    `pointer` says where the pairs of each row node begin, `columns` the column node of each.
    """

    order: NDArray[np.int32]
    start: NDArray[np.int32]
    columns: NDArray[np.int32]
    pointer: NDArray[np.int32]


def _sorted_pairs(blocks: list[Ints], n_nodes: int) -> _Pairs:
    """Pairs of the elements of all blocks, each (n_elements, n_corners), in linear time: a sparse
    transposition is a counting sort.

    Entries are numbered element by element, the pairs of an element with the first corner the slower. The
    corners are sorted by their nodes; written out with their partners they are the entries sorted by the
    first node. As each entry (a, b) has a mirrored one (b, a) in the same element, carrying the number of
    that one through one more transposition sorts by both.
    """
    # The sparse library's own kind of whole number, lest it copies them at every step.
    n_corners = np.concatenate([np.full(len(b), b.shape[1], dtype=np.int32) for b in blocks])
    corners = np.concatenate([b.ravel() for b in blocks]).astype(np.int32, copy=False)
    first_corner, first_entry = _running(n_corners), _running(n_corners * n_corners)
    number = np.arange(len(corners), dtype=np.int32)
    shape = (len(n_corners), n_nodes)
    by_node = sp.csr_matrix((number, corners, first_corner), shape=shape).tocsc()
    corner, element = by_node.data, by_node.indices
    mirrored = first_entry[element] + (corner - first_corner[element])
    many = n_corners[element]
    pointer = _running(many)
    if len({b.shape[1] for b in blocks}) == 1:
        k = blocks[0].shape[1]
        partners = np.take(corners.reshape(-1, k), element, axis=0).ravel()
        entries = (mirrored[:, None] + np.arange(0, k * k, k, dtype=np.int32)).ravel()
    else:
        step = np.arange(pointer[-1], dtype=np.int32) - np.repeat(pointer[:-1], many)
        partners = corners[np.repeat(first_corner[element], many) + step]
        entries = np.repeat(mirrored, many) + step * np.repeat(many, many)
    square = (n_nodes, n_nodes)
    ordered = sp.csr_matrix((entries, partners, pointer[by_node.indptr]), shape=square).tocsc()
    order, columns, rows = ordered.data, ordered.indices, ordered.indptr
    new = np.ones(len(order) + 1, dtype=bool)
    np.not_equal(columns[1:], columns[:-1], out=new[1:-1])
    new[rows] = True
    start = np.flatnonzero(new).astype(np.int32)
    return _Pairs(order, start, columns[start[:-1]], np.searchsorted(start, rows).astype(np.int32))


def _running(counts: NDArray[np.int32]) -> NDArray[np.int32]:
    """Where runs of these lengths begin, and where the last ends."""
    out = np.zeros(len(counts) + 1, dtype=np.int32)
    np.cumsum(counts, out=out[1:])
    return out


_PORTION = 256
"""Elements carried from corners to nodes at a time: few enough for a processor's cache."""


_ROWS = 4_000
"""Nodes whose rows of a matrix are summed at a time: few enough for the cache, enough to make little of the
cost of a call."""


def _portions(n: int) -> list[slice]:
    return [slice(first, first + _PORTION) for first in range(0, n, _PORTION)]


def _extra(block: Block) -> Array | None:
    """What a block's corners move per rotation of their nodes besides the rigid link, if anything."""
    extra: Array | None = getattr(block, "extra_links", None)
    return extra


def _bow(block: Block) -> Bow | None:
    """How the bow of members beside a block moves its corners, if it does."""
    bow: Bow | None = getattr(block, "bow", None)
    return bow


class Assembly:
    """Matrices of one structure on one pattern.

    Parameters
    ----------
    structure : Structure
        What to assemble.

    Attributes
    ----------
    size : int
        Freedoms in all, active or not: number of nodes x freedoms of a node.
    """

    def __init__(self, structure: Structure) -> None:
        self.structure = structure
        self.freedoms = structure.freedoms
        self.size = len(structure.nodes) * self.freedoms
        self._corners: dict[str, tuple[Array, Array | None]] = {}
        self._flatten: dict[str, Array | None] = {}
        for name, block in structure.blocks.items():
            corners, stubs = structure.flat_corners(block)
            self._corners[name] = corners, block.offsets
            self._flatten[name] = None if stubs is None else flattening_matrix(corners, stubs, block.freedoms)
        self._unit: Array | None = None
        self._mass: sp.csc_matrix | None = None
        self._rigid_inertia: Array | None = None
        self._pairs = self._number_pairs()

    def _number_pairs(self) -> _Pairs:
        blocks = [block.nodes for block in self.structure.blocks.values() if len(block.nodes)]
        return _sorted_pairs(blocks or [np.zeros((0, 1), dtype=np.intp)], len(self.structure.nodes))

    def _by_pair(
        self,
        make: Callable[[str, Block], Array],
        *,
        carried: bool = False,
        unit: bool = False,
        known: Mapping[str, Array] | None = None,
    ) -> Array:
        """Element matrices of all blocks on node freedoms, one row a pair of nodes.

        `make` gives a block's matrices, on corner freedoms or `carried` to the nodes already; no more than
        one block's are held at a time. Where the `unit` stiffness is wanted, a block whose corners are its
        nodes may write the rows itself. Rows of some blocks may be `known`.
        """
        d = self.freedoms
        out = np.empty((len(self._pairs.order), d * d))
        first = 0
        for name, block in self.structure.blocks.items():
            n, k = block.nodes.shape
            rows = out[first : first + n * k * k]
            first += n * k * k
            if known is not None and name in known:
                rows[:] = known[name]
                continue
            if unit and self._own_pairs(name):
                block.unit_pairs(self.corners(name), rows.reshape(n, -1))  # type: ignore[attr-defined]
                continue
            view = rows.reshape(n, k, k, d, d)
            matrices = make(name, block)
            for some in _portions(n):
                here = matrices[some] if carried else self._on_nodes(name, matrices[some], some)
                view[some] = here.transpose(0, 1, 3, 2, 4)
        return out

    def _own_pairs(self, name: str) -> bool:
        """Whether a block can write its stiffness on node freedoms pair by pair."""
        block = self.structure.blocks[name]
        plain = self._corners[name][1] is None and self._flatten[name] is None
        plain = plain and getattr(block, "give", None) is None
        return plain and block.freedoms == self.freedoms == 3 and hasattr(block, "unit_pairs")

    def corners(self, name: str) -> Array:
        """Corner positions of a block, (n_elements, n_corners, 3), m."""
        return self._corners[name][0]

    def on_nodes(self, name: str, matrices: Array, only: Ints | None = None) -> Array:
        """A block's element matrices, of some elements if wanted, carried to node freedoms, (n_elements, k,
        freedoms, k, freedoms)."""
        n, k = self.structure.blocks[name].nodes.shape
        n = n if only is None else len(only)
        out = np.empty((n, k, self.freedoms, k, self.freedoms))
        for some in _portions(n):
            which = some if only is None else only[some]
            out[some] = self._on_nodes(name, matrices[which], which)
        return out

    def _on_nodes(self, name: str, matrices: Array, some: slice | Ints) -> Array:
        """Matrices of some of a block's elements, carried to node freedoms."""
        block = self.structure.blocks[name]
        k, flatten = block.nodes.shape[1], self._flatten[name]
        if self._corners[name][1] is not None:
            return to_nodes(matrices, self.corner_matrices(name, some)).reshape(-1, k, 6, k, 6)
        if flatten is not None:
            matrices = np.swapaxes(flatten[some], 1, 2) @ matrices @ flatten[some]
        matrices = matrices.reshape(-1, k, block.freedoms, k, block.freedoms)
        if self.freedoms == block.freedoms:
            return matrices
        out = np.zeros((len(matrices), k, 6, k, 6))
        out[:, :, : block.freedoms, :, : block.freedoms] = matrices
        return out

    def unit_stiffness(self) -> dict[str, Array]:
        """Every block's stiffness per unit scale on node freedoms, (n_elements, k, freedoms, k,
        freedoms); computed once and kept: views, not to be changed."""
        pairs, out, first, d = self._unit_by_pair(), {}, 0, self.freedoms
        for name, block in self.structure.blocks.items():
            n, k = block.nodes.shape
            out[name] = pairs[first : first + n * k * k].reshape(n, k, k, d, d).transpose(0, 1, 3, 2, 4)
            first += n * k * k
        return out

    def _unit_by_pair(self) -> Array:
        if self._unit is None:
            self._unit = self._by_pair(
                lambda name, block: block.unit_stiffness(self.corners(name)), unit=True
            )
            self._unit.flags.writeable = False
        return self._unit

    def add(self, values: Mapping[str, Array]) -> sp.csc_matrix:
        """Sum symmetric element matrices, for every block (n_elements, k, freedoms, k, freedoms) as
        `on_nodes` gives them, into one sparse matrix (size, size), compressed by columns."""
        return self._sum(self._by_pair(lambda name, _: values[name], carried=True))

    def _sum(self, by_pair: Array, scales: list[Array] | None = None) -> sp.csc_matrix:
        """Sum of the squares of every pair, with factors on the blocks' elements or not, as a matrix.

        Some rows of nodes at a time, so that of what lies between the elements and the matrix little is held.
        """
        pairs, square, n_nodes = self._pairs, self.freedoms**2, len(self.structure.nodes)
        weights = self._weights(scales)
        if n_nodes <= _ROWS:
            rows = self._rows(by_pair, weights, 0)
            data, indices, ends = rows.data, rows.indices, rows.indptr
        else:
            many = len(pairs.columns) * square
            data, indices = np.empty(many), np.empty(many, dtype=np.int32)

            def work(some: slice) -> None:
                rows = self._rows(by_pair, weights, some.start)
                begin = int(pairs.pointer[some.start]) * square
                data[begin : begin + rows.nnz], indices[begin : begin + rows.nnz] = rows.data, rows.indices

            each_portion(work, n_nodes, _ROWS)
            in_row = np.diff(pairs.pointer) * np.int32(self.freedoms)
            ends = _running(np.repeat(in_row, self.freedoms))
        # Symmetric: the rows are the columns, and a transposition is saved.
        matrix = sp.csc_matrix((data, indices, ends), shape=(self.size, self.size))
        matrix.has_sorted_indices = True
        return matrix

    def _rows(
        self, by_pair: Array, weights: Callable[[NDArray[np.int32]], Array], first: int
    ) -> sp.csr_matrix:
        """The rows of `_ROWS` nodes from one on."""
        pairs, d = self._pairs, self.freedoms
        pointer = pairs.pointer[first : first + _ROWS + 1]
        start = pairs.start[pointer[0] : pointer[-1] + 1]
        order = pairs.order[start[0] : start[-1]]
        adding = (weights(order), order, start - start[0])
        summed = sp.csr_matrix(adding, shape=(len(start) - 1, len(by_pair))) @ by_pair
        columns = pairs.columns[pointer[0] : pointer[-1]]
        blocks = (summed.reshape(-1, d, d), columns, pointer - pointer[0])
        return sp.bsr_matrix(blocks, shape=((len(pointer) - 1) * d, self.size)).tocsr()

    def _weights(self, scales: list[Array] | None) -> Callable[[NDArray[np.int32]], Array]:
        """What gives the factors of entries from their numbers."""
        if scales is None:
            return lambda order: np.ones(len(order))
        squares = [block.nodes.shape[1] ** 2 for block in self.structure.blocks.values()]
        if len(set(squares)) == 1:  # spares a long array of repeated scales
            together, square = np.concatenate(scales), np.int32(squares[0])
            return lambda order: np.take(together, order // square)
        every = np.concatenate([np.zeros(0), *map(np.repeat, scales, squares)])
        return lambda order: every[order]

    def stiffness(self, scales: Mapping[str, Array] | None = None) -> sp.csc_matrix:
        """Stiffness matrix, with the blocks' own scales or others.

        Parameters
        ----------
        scales : mapping of str to (n_elements,) float array or None
            Scales that replace those of the blocks named (thickness of a membrane, say).

        Returns
        -------
        (size, size) sparse matrix
            N/m, N, N m.
        """
        scales = scales or {}
        weights = [scales.get(name, block.scale) for name, block in self.structure.blocks.items()]
        return self._sum(self._unit_by_pair(), weights)

    def pulling(self, stiffness: sp.csc_matrix) -> Callable[[Array], Array] | None:
        """What gives stiffness times movements, by how each node's neighbours move beside it.

        Far out on a slender structure elements are deformed by a thousandth of what they are carried along
        with, and the plain product's terms nearly cancel: their rounding, and that of the diagonal's sums,
        act as loads that nobody put on. A movement as one body costs nothing, so each node's own, and its
        turn, is taken from its neighbours first; the diagonal is not needed then.

        Parameters
        ----------
        stiffness : (size, size) sparse matrix
            As `stiffness` gives it.

        Returns
        -------
        callable or None
            From movements (size, n_cases), m and rad, to forces of that shape; None where the matrix is not
            on this assembly's pattern.
        """
        pairs, d, points = self._pairs, self.freedoms, self.structure.nodes
        if stiffness.nnz != len(pairs.columns) * d * d:
            return None
        node, other = np.repeat(np.arange(len(points)), np.diff(pairs.pointer)), pairs.columns
        # Of a node's row the numbers of all its pairs stand one after another, whichever its freedom.
        shift = stiffness.indptr[:-1] - d * np.repeat(pairs.pointer[:-1], d)
        places = np.arange(stiffness.nnz, dtype=shift.dtype)
        places -= np.repeat(shift, np.diff(stiffness.indptr))
        rows = sp.csr_matrix((stiffness.data, places, stiffness.indptr), shape=(self.size, d * len(other)))
        x, y, z = (points[other] - points[node]).T

        def pull(moves: Array) -> Array:
            out = np.empty(moves.shape)
            for column, moved in zip(out.T, moves.T):
                own = moved.reshape(-1, d)
                beside = own[other] - own[node]
                if d == 6:
                    about_x, about_y, about_z = own[node, 3:].T
                    beside[:, 0] -= about_y * z - about_z * y
                    beside[:, 1] -= about_z * x - about_x * z
                    beside[:, 2] -= about_x * y - about_y * x
                column[:] = rows @ beside.ravel()
            return out

        return pull

    def mass(self) -> sp.csc_matrix:
        """Mass matrix, (size, size), kg, kg m, kg m2; computed once and kept."""
        if self._mass is None:
            by_pair = self._by_pair(lambda name, block: block.mass(self.corners(name)))
            self._mass = self._sum(by_pair)
        return self._mass

    def rigid_inertia(self) -> Array:
        """Mass matrix times the six columns of `rigid_motions`, (size, 6): kg and kg m on movements,
        kg m and kg m2 on rotations; summed from the elements, computed once and kept."""
        if self._rigid_inertia is None:
            nodes, d = self.structure.nodes, self.freedoms
            motions = self.nodal(rigid_motions(nodes, d))
            out = np.zeros((len(nodes), d, 6))
            for name, block in self.structure.blocks.items():
                force = self._mass_times(name, block, motions)
                if force is None:
                    continue
                self._onto_nodes(name, force.reshape(*block.nodes.shape, block.freedoms, 6), out)
            self._rigid_inertia = out.reshape(self.size, 6)
            self._rigid_inertia.flags.writeable = False
        return self._rigid_inertia

    def element_inertia(self) -> dict[str, Array]:
        """Rigid-body mass matrix of each element about the origin, (n_elements, 6, 6), kg, kg m, kg m2, of
        every block that has mass."""
        motions = self.nodal(rigid_motions(self.structure.nodes, self.freedoms))
        blocks = self.structure.blocks.items()
        found = {name: self._moved_mass(name, block, motions) for name, block in blocks}
        return {name: np.swapaxes(one[0], 1, 2) @ one[1] for name, one in found.items() if one is not None}

    def _mass_times(self, name: str, block: Block, motions: Array) -> Array | None:
        """Mass of a block's elements times motions, (n_elements, k freedoms, 6); None where it has none."""
        found = self._moved_mass(name, block, motions)
        return None if found is None else found[1]

    def _moved_mass(self, name: str, block: Block, motions: Array) -> tuple[Array, Array] | None:
        """Motions of a block's elements, and their mass times these, both (n_elements, k freedoms, 6); None
        where it has none. A block may know it without its matrices."""
        shape = len(block.nodes), block.nodes.shape[1] * block.freedoms, 6
        times = getattr(block, "mass_times", None)
        if times is not None:
            moved = self.element_displacements(name, motions)
            found = times(self.corners(name), moved)
            return None if found is None else (moved.reshape(shape), np.asarray(found).reshape(shape))
        masses = block.mass(self.corners(name))
        if not masses.any():
            return None
        moved = self.element_displacements(name, motions).reshape(shape)
        return moved, np.asarray(masses @ moved)

    def geometric_stiffness(self, recovered: Mapping[str, dict[str, Array]]) -> sp.csc_matrix:
        """Stress stiffness from what `recover` gave for one case, (size, size), N/m, N, N m."""
        by_pair = self._by_pair(
            lambda name, block: block.geometric_stiffness(self.corners(name), recovered[name])
        )
        return self._sum(by_pair)

    def distributed_loads(self) -> Array:
        """Nodal loads of the blocks' distributed loads, (n_nodes, 6), N and N m."""
        out = np.zeros((len(self.structure.nodes), 6))
        for name, block in self.structure.blocks.items():
            make = getattr(block, "equivalent_loads", None)
            loads = make(self.corners(name)) if make is not None else None
            if loads is None:
                continue
            offsets = self._corners[name][1]
            if offsets is not None:
                loads = loads.copy()
                loads[..., 3:] += np.cross(offsets, loads[..., :3])
            np.add.at(out, block.nodes, loads)
        return out

    def element_displacements(self, name: str, displacements: Array) -> Array:
        """Movements of a block's corners, (n_elements, k, block freedoms, ...), from those of nodes (n_nodes,
        6, ...).
        """
        block = self.structure.blocks[name]
        offsets = self._corners[name][1]
        at = displacements[block.nodes]
        at = (
            at[:, :, : block.freedoms]
            if offsets is None
            else corner_displacements(at, offsets, block.freedoms, _extra(block), _bow(block))
        )
        flatten = self._flatten[name]
        if flatten is None:
            return at
        n, k = block.nodes.shape
        return (flatten @ at.reshape(n, k * block.freedoms, -1)).reshape(at.shape)

    def corner_matrices(self, name: str, some: Ints | slice) -> Array:
        """What `mover` does, as matrices: (n_some, k block freedoms, 6 k)."""
        block, offsets, flatten = self.structure.blocks[name], self._corners[name][1], self._flatten[name]
        extra, bow = _extra(block), _bow(block)
        flatten = None if flatten is None else flatten[some]
        if offsets is None:
            return corner_matrix(np.zeros((*block.nodes[some].shape, 3)), block.freedoms, None, flatten)
        return corner_matrix(
            offsets[some],
            block.freedoms,
            None if extra is None else extra[some],
            flatten,
            None if bow is None else bow.of(some),
        )

    def mover(self, name: str, some: Ints) -> Callable[[Array], Array]:
        """`element_displacements` of some of a block's elements, for movements without number."""
        block, offsets, flatten = self.structure.blocks[name], self._corners[name][1], self._flatten[name]
        nodes, freedoms = block.nodes[some], block.freedoms
        flat = None if flatten is None else flatten[some]
        extra, bow = _extra(block), _bow(block)
        bow = None if bow is None else bow.of(some)
        if offsets is not None:
            offsets = offsets[some]
            link = link_matrix(offsets, freedoms, None if extra is None else extra[some])

        def moved(displacements: Array) -> Array:
            at = displacements[nodes]
            if offsets is None:
                at = at[:, :, :freedoms]
            else:
                at = linked(at, link, bow)
            if flat is None:
                return at
            n, k = nodes.shape
            return np.asarray((flat @ at.reshape(n, k * freedoms, -1)).reshape(at.shape))

        return moved

    def nodal_forces(self, name: str, at_corners: Array) -> Array:
        """Forces on nodes, (n_nodes, 6), from those on the corners of a block's elements, (n_elements, k,
        block freedoms): the transpose of `element_displacements`.
        """
        out = np.zeros((len(self.structure.nodes), 6))
        self._onto_nodes(name, at_corners, out)
        return out

    def _onto_nodes(self, name: str, at_corners: Array, out: Array) -> None:
        """Add forces on a block's corners, (n_elements, k, block freedoms, ...), to those on nodes."""
        block, offsets, flatten = self.structure.blocks[name], self._corners[name][1], self._flatten[name]
        force = at_corners
        if flatten is not None:
            n, k = block.nodes.shape
            force = np.swapaxes(flatten, 1, 2) @ force.reshape(n, k * block.freedoms, -1)
            force = force.reshape(at_corners.shape)
        if offsets is not None:
            force = node_forces(force, offsets, block.freedoms, _extra(block), _bow(block))
        np.add.at(out[:, : force.shape[2]], block.nodes, force)

    def recover(self, displacements: Array) -> dict[str, dict[str, Array]]:
        """What every block recovers from node displacements (n_nodes, 6, ...): stresses, section forces."""
        return {name: self.recover_block(name, displacements) for name in self.structure.blocks}

    def recover_block(self, name: str, displacements: Array) -> dict[str, Array]:
        """The same of one block."""
        block = self.structure.blocks[name]
        return block.recover(self.corners(name), self.element_displacements(name, displacements))

    def node_graph(self) -> sp.csc_matrix:
        """Ones where an element joins two nodes, (n_nodes, n_nodes), nodes with themselves included."""
        pairs, n = self._pairs, len(self.structure.nodes)
        return sp.csc_matrix((np.ones(len(pairs.columns)), pairs.columns, pairs.pointer), shape=(n, n))

    def vector(self, nodal: Array) -> Array:
        """Node values (n_nodes, 6, n_cases) as columns on this assembly's freedoms, (size, n_cases)."""
        return nodal[:, : self.freedoms].reshape(self.size, -1)

    def columns(self, by_node: sp.csc_matrix) -> sp.csc_matrix:
        """The same of few node values, (6 n_nodes, n_cases): sparse."""
        if self.freedoms == 6:
            return by_node
        own = np.arange(6 * len(self.structure.nodes)).reshape(-1, 6)[:, : self.freedoms]
        return by_node.tocsr()[own.ravel()].tocsc()

    def nodal(self, vector: Array) -> Array:
        """Columns (size, n_cases) as node values (n_nodes, 6, n_cases)."""
        n = len(self.structure.nodes)
        out = np.zeros((n, 6, vector.shape[1]))
        out[:, : self.freedoms] = vector.reshape(n, self.freedoms, -1)
        return out


def rigid_motions(points: Array, freedoms: int = 6) -> Array:
    """The six rigid motions of points (n_nodes, 3), m, about the origin as columns, (n_nodes freedoms,
    6): unit movements along x y z, then unit rotations about them; nodes have 3 or 6 freedoms."""
    out = np.zeros((len(points), freedoms, 6))
    out[:, :3, :3] = np.eye(3)
    x, y, z = points.T
    out[:, 1, 3], out[:, 2, 3] = -z, y
    out[:, 0, 4], out[:, 2, 4] = z, -x
    out[:, 0, 5], out[:, 1, 5] = -y, x
    if freedoms == 6:
        out[:, 3:, 3:] = np.eye(3)
    return out.reshape(-1, 6)


def total(points: Array, nodal: Array) -> Array:
    """Resultant force and moment about the origin of node loads (n_nodes, 6, n_cases): (6, n_cases), N and N
    m.
    """
    return rigid_motions(points).T @ nodal.reshape(6 * len(points), -1)
