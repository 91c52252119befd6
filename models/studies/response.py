"""Movements at a few marks of one structure under fixed loads, with factors on the stiffness of its pieces:
their slopes, and what they become when small parts (a web, a brace) are taken out.

One factorisation serves for all of it. Slopes come by the adjoint, du/dp = -z' (dK/dp) u with K z = m for a
mark's row m. A part taken out is a change of low rank, K - G G': with Y = K^-1 G, movements change by
Y (1 - G' Y)^-1 G' u (Woodbury), adjoint movements alike, and slopes follow from both. Webs and braces are
taken out exactly, save that a part leaves a millionth of itself, lest nodes of its own float; wide parts by
Galerkin's method on two blocks of Krylov's space (`_WIDE`).

Sources: Haftka and Guerdal, Elements of Structural Optimization, ch. 7, adjoint method for static response;
Hager, Updating the inverse of a matrix, SIAM Review 31, 1989, eq. (1); Antoulas, Approximation of Large-Scale
Dynamical Systems, 2005, ch. 11, moments matched from both sides (all from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import scipy.sparse as sp

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from fea.solve import Factor, factorise
from fea.structure import Supports

LEFT = 1e-6
"""What stays of the stiffness of a part that is taken out."""
_NULL = 1e-12
"""Eigenvalues of a part's scaled stiffness below this share of its largest are its rigid motions."""
_WIDE = 48
"""Parts with more ways to strain than this (ribs, panels of sheeting) give way in those ways alone that the
loads and marks see, and in what these do to the part itself once round the structure: an error below a tenth
of what a dial tells, for a seventh of the work (measured on the example wings)."""
_SEEN = 1e-4
"""Ways that are seen below this share of the most are left out."""
_TOGETHER = 8
"""Parts that are made ready at a time: more take more memory than they save time."""


@dataclass(frozen=True, eq=False)
class Moved:
    """Movements at the marks and their slopes. `moves` (n_marks,), m or rad; `slopes` (n_marks, n_pieces)
    over the natural logarithm of each piece's flexibility."""

    moves: Array
    slopes: Array


@dataclass(frozen=True, eq=False)
class _WoodPart:
    """What may be taken out: its freedoms (numbers among the free), its stiffness for factors of 1 and the
    piece that it is cut from (-1 for none)."""

    freedoms: Ints
    stiffness: Array
    piece: int


@dataclass(frozen=True, eq=False)
class _WoodSpread:
    """A part in a structure that is solved: all that a share taken out of it needs.

    `root` (n_own, k) of its stiffness at the `freedoms`, `moved` (n_free, k) by the root's columns as loads,
    `loads` and `marks` (k, n_shapes) and (k, n_marks) what the root sees of the movements and of the adjoint;
    `of_loads`, `of_marks` and `of_own` (n_pieces, k, ...) each piece's energy of `moved` with those and with
    itself; `piece` as in `_WoodPart`.
    """

    freedoms: Ints
    root: Array
    moved: Array
    loads: Array
    marks: Array
    of_loads: Array
    of_marks: Array
    of_own: Array
    piece: int


@dataclass(frozen=True, eq=False)
class SolvedResponse:
    """A structure solved for one set of factors; `Response.without` takes parts out of it.

    `moved` (n_free, n_shapes) under the loads, `adjoint` (n_free, n_marks), `whole` what they say at the
    marks.
    """

    log_flexibility: Array
    factor: Factor
    moved: Array
    adjoint: Array
    whole: Moved
    spreads: dict[int, _WoodSpread] = field(default_factory=dict)
    """Of parts used already."""
    forces: dict[int, Array] = field(default_factory=dict)
    """Of the part used last with others: what pieces take of its `moved`, (n_rows, k)."""
    crossed: dict[tuple[int, int], Array] = field(default_factory=dict)
    """Each piece's energy of one part's `moved` with another's, (n_pieces, k, k)."""


def _spanned(columns: Array, beside: Array | None = None) -> Array:
    """Orthonormal columns that span given ones, each counted alike, besides others."""
    if beside is not None:
        columns = columns - beside @ (beside.T @ columns)
    size = np.linalg.norm(columns, axis=0)
    span, share, _ = np.linalg.svd(columns[:, size > 0] / size[size > 0], full_matrices=False)
    kept = span[:, share > _SEEN * share.max(initial=0.0)]
    if beside is not None:
        kept, _ = np.linalg.qr(kept - beside @ (beside.T @ kept))
    return np.asarray(kept)


class Response:
    """A structure ready to be solved with any factors on its pieces.

    Parameters
    ----------
    assembly : Assembly
        Of the structure.
    supports : Supports
        What holds it, along the axes and without movement.
    loads : (n_nodes, 6, n_shapes) float array
        N and N m.
    rows : (n_marks, size) sparse matrix
        Movement at each mark from those of all freedoms.
    shape_of_mark : (n_marks,) int array
        Under which of the loads each mark is read.
    pieces : mapping of str to (n_elements,) int array
        Piece of every element of a block, -1 for none.
    n_pieces : int
        How many there are.
    parts : mapping of str to (n_elements,) int array, optional
        Part that may be taken out, of every element of a block, -1 for none. A part is of one piece.

    Attributes
    ----------
    offset : (n_marks,) float array
        Added to all movements: what a finer mesh moves by besides, m or rad; nothing unless it is set.
    """

    def __init__(
        self,
        assembly: Assembly,
        supports: Supports,
        loads: Array,
        rows: sp.csr_matrix,
        shape_of_mark: Ints,
        pieces: Mapping[str, Ints],
        n_pieces: int,
        *,
        parts: Mapping[str, Ints] | None = None,
    ) -> None:
        self.assembly, self.supports, self.n_pieces = assembly, supports, n_pieces
        self.shape_of_mark, self._pieces, self._given_parts = shape_of_mark, dict(pieces), dict(parts or {})
        self.offset = np.zeros(len(shape_of_mark))
        self._loads, self._rows = assembly.vector(loads), rows
        self._stacked: tuple[sp.csr_matrix, Ints, Ints] | None = None
        self._parts: list[_WoodPart] | None = None

    def solve(self, log_flexibility: Array) -> SolvedResponse:
        """Solve for factors on the pieces. `log_flexibility` (n_pieces,): natural logarithm of the factor on
        each one's flexibility."""
        blocks = self.assembly.structure.blocks
        stiff = np.append(np.exp(-log_flexibility), 1.0)
        scales = {name: blocks[name].scale * stiff[numbers] for name, numbers in self._pieces.items()}
        factor = factorise(self.assembly, self.supports, self.assembly.stiffness(scales))
        free = factor.turn.indices
        n_shapes = self._loads.shape[1]
        right = np.concatenate([self._loads[free], self._rows[:, free].T.toarray()], axis=1)
        found = factor.solve(right)
        moved, adjoint = found[:, :n_shapes], found[:, n_shapes:]
        every = self._rows[:, free] @ moved
        marks = np.arange(len(self.shape_of_mark))
        energy = self._energy(factor, moved, self._forces(factor, stiff, adjoint))
        slopes = energy[:, self.shape_of_mark, marks].T
        whole = Moved(np.asarray(every[marks, self.shape_of_mark]) + self.offset, slopes)
        return SolvedResponse(log_flexibility, factor, moved, adjoint, whole)

    def _forces(self, factor: Factor, stiff: Array, moved: Array) -> Array:
        """What pieces take of movements (n_free, n), at the rows of `_products`, (n_rows, n)."""
        products, _, ends = self._products(factor.turn.indices)
        return np.asarray(products @ moved) * np.repeat(stiff[: self.n_pieces], np.diff(ends))[:, None]

    def _energy(self, factor: Factor, moved: Array, forces: Array) -> Array:
        """Work of every piece's forces (n_rows, m) on movements (n_free, n), (n_pieces, n, m)."""
        _, at, ends = self._products(factor.turn.indices)
        there = moved[at]
        return np.stack([there[a:b].T @ forces[a:b] for a, b in pairwise(ends)])

    def at(self, log_flexibility: Array) -> Moved:
        """Movements and slopes for factors on the pieces, (n_pieces,) logarithms of flexibilities."""
        return self.solve(log_flexibility).whole

    def without(self, solved: SolvedResponse, part: int) -> Moved:
        """Movements and slopes with a part taken out."""
        return self.weakened(solved, {part: LEFT})

    def weakened(self, solved: SolvedResponse, left: Mapping[int, float]) -> Moved:
        """Movements and slopes with parts that keep only a share of their stiffness, exactly. `left` stays of
        each part, 0 to 1 (at least `LEFT` is kept); those not named are whole."""
        if not left:
            return solved.whole
        self.spread(solved, left)
        parts = [solved.spreads[part] for part in left]
        gone = [1.0 - max(share, LEFT) for share in left.values()]
        # K' = K - H D H' with D the share that goes: u' = u + Y (1/D - H' Y)^-1 H' u, Y = K^-1 H.
        core = -np.block([[one.root.T @ other.moved[one.freedoms] for other in parts] for one in parts])
        sizes = np.concatenate([np.full(len(one.loads), 1 / g) for one, g in zip(parts, gone)])
        seen = np.concatenate([np.concatenate([one.loads, one.marks], axis=1) for one in parts])
        more = np.linalg.solve(core + np.diag(sizes), seen)
        n_shapes = solved.moved.shape[1]
        # Of every mark: what its loads and its adjoint movements gain, in columns of Y.
        by_load, by_mark = more[:, :n_shapes][:, self.shape_of_mark], more[:, n_shapes:]
        of_loads = np.concatenate([one.of_loads for one in parts], axis=1)[:, :, self.shape_of_mark]
        of_marks = np.concatenate([one.of_marks for one in parts], axis=1)
        of_own = np.concatenate(
            [np.concatenate([self._crossed(solved, a, b) for b in left], axis=2) for a in left], axis=1
        )
        moves = solved.whole.moves + (seen[:, n_shapes:] * by_load).sum(axis=0)
        gained = (of_loads + of_own @ by_load) * by_mark + of_marks * by_load
        slopes = solved.whole.slopes + gained.sum(axis=1).T
        # What is left of a part's piece is less by the share that goes: H' u' = (1/D) (1/D - H' Y)^-1 H' u.
        start = 0
        for one, g in zip(parts, gone):
            mine = slice(start, start := start + len(one.loads))
            if one.piece >= 0:
                slopes[:, one.piece] -= (by_mark[mine] * by_load[mine]).sum(axis=0) / g
        return Moved(moves, slopes)

    def spread(self, solved: SolvedResponse, parts: Iterable[int]) -> None:
        """Make ready to take parts out, all together: faster than one by one."""
        new = [part for part in dict.fromkeys(parts) if part not in solved.spreads]
        stiff = np.append(np.exp(-solved.log_flexibility), 1.0)
        every = self._all_parts(solved.factor.turn.indices) if new else []
        both, n_shapes = np.concatenate([solved.moved, solved.adjoint], axis=1), solved.moved.shape[1]
        for start in range(0, len(new), _TOGETHER):
            these = [every[part] for part in new[start : start + _TOGETHER]]
            roots = []
            for one in these:
                scale = solved.factor.scale[one.freedoms]
                # On a unit diagonal, lest turns and movements differ in size by their units.
                size, modes = np.linalg.eigh(one.stiffness * stiff[one.piece] * scale * scale[:, None])
                kept = size > _NULL * size[-1]
                roots.append(modes[:, kept] * np.sqrt(size[kept]) / scale[:, None])
            wide = [k for k, root in enumerate(roots) if root.shape[1] > _WIDE]
            of = [np.eye(root.shape[1]) for root in roots]
            for k in wide:
                of[k] = _spanned(roots[k].T @ both[these[k].freedoms])
            moved = self._under_roots(solved, these, [root @ q for root, q in zip(roots, of)])
            # What a wide part does to itself as it gives way, once round the structure.
            again = [_spanned(roots[k].T @ moved[k][these[k].freedoms], of[k]) for k in wide]
            more = self._under_roots(
                solved, [these[k] for k in wide], [roots[k] @ q for k, q in zip(wide, again)]
            )
            for k, q, columns in zip(wide, again, more):
                of[k] = np.concatenate([of[k], q], axis=1)
                moved[k] = np.concatenate([moved[k], columns], axis=1)
            forces = self._forces(solved.factor, stiff, np.concatenate(moved, axis=1))
            of_both = self._energy(solved.factor, both, forces)
            b = 0
            for k, part in enumerate(new[start : start + _TOGETHER]):
                a, b = b, b + moved[k].shape[1]
                at, root, own = these[k].freedoms, roots[k] @ of[k], moved[k]
                energy = of_both[:, :, a:b].transpose(0, 2, 1)
                solved.spreads[part] = _WoodSpread(
                    at, root, own, root.T @ solved.moved[at], root.T @ solved.adjoint[at],
                    energy[:, :, :n_shapes], energy[:, :, n_shapes:],
                    self._energy(solved.factor, own, forces[:, a:b]), these[k].piece,
                )  # fmt: skip

    def _under_roots(self, solved: SolvedResponse, parts: list[_WoodPart], roots: list[Array]) -> list[Array]:
        """What the structure moves by with parts' roots (n_own, k) as loads, (n_free, k) each."""
        if not parts:
            return []
        ends = np.cumsum([root.shape[1] for root in roots])
        right = np.zeros((len(solved.moved), ends[-1]))
        for one, root, end in zip(parts, roots, ends):
            right[one.freedoms, end - root.shape[1] : end] = root
        return np.split(solved.factor.once(right), ends[:-1], axis=1)

    def _crossed(self, solved: SolvedResponse, a: int, b: int) -> Array:
        """Energy in each piece of what one part's root moves with what another's does, (n_pieces, k, k)."""
        if a == b:
            return solved.spreads[a].of_own
        if (a, b) not in solved.crossed:
            # The first of a pair comes up with many others.
            if a not in solved.forces and b not in solved.forces:
                stiff = np.exp(-solved.log_flexibility)
                solved.forces.clear()
                solved.forces[a] = self._forces(solved.factor, stiff, solved.spreads[a].moved)
            one, other = (b, a) if a in solved.forces else (a, b)
            cross = self._energy(solved.factor, solved.spreads[one].moved, solved.forces[other])
            solved.crossed[one, other] = cross
            solved.crossed[other, one] = cross.transpose(0, 2, 1)
        return solved.crossed[a, b]

    def under(self, solved: SolvedResponse, loads: Array) -> Array:
        """What other loads (n_nodes, 6, n) do at every mark, (n_marks, n), by the adjoint."""
        free = solved.factor.turn.indices
        return np.asarray(solved.adjoint.T @ self.assembly.vector(loads)[free])

    def _products(self, free: Ints) -> tuple[sp.csr_matrix, Ints, Ints]:
        """Stiffness of every piece for factors of 1, one below another, (n_rows, n_free), of the free
        freedoms that the piece has; which these are, (n_rows,); where each piece begins, (n_pieces + 1,)."""
        if self._stacked is None:
            rows, columns, values = [], [], []
            number = self._numbers(free)
            unit, blocks = self.assembly.unit_stiffness(), self.assembly.structure.blocks
            for name, numbers in self._pieces.items():
                of = np.flatnonzero(numbers >= 0)
                dofs = self._dofs(name, of)
                local = number[dofs]
                square = unit[name][of].reshape(len(of), dofs.shape[1], dofs.shape[1])
                square = square * blocks[name].scale[of][:, None, None]
                there = (local[:, :, None] >= 0) & (local[:, None] >= 0) & (square != 0)
                row = local[:, :, None] + (numbers[of] * len(free))[:, None, None]
                rows.append(np.broadcast_to(row, square.shape)[there])
                columns.append(np.broadcast_to(local[:, None], square.shape)[there])
                values.append(square[there])
            own, place = np.unique(np.concatenate(rows), return_inverse=True)
            triple = (np.concatenate(values), (place.ravel(), np.concatenate(columns)))
            stacked = sp.csr_matrix(triple, shape=(len(own), len(free)))
            ends = np.searchsorted(own, len(free) * np.arange(self.n_pieces + 1)).astype(np.intp)
            self._stacked = stacked, own % len(free), ends
        return self._stacked

    def _all_parts(self, free: Ints) -> list[_WoodPart]:
        """Freedoms and stiffness of every part that may be taken out."""
        if self._parts is None:
            number = self._numbers(free)
            unit, blocks = self.assembly.unit_stiffness(), self.assembly.structure.blocks
            self._parts = []
            most = max((int(of.max(initial=-1)) for of in self._given_parts.values()), default=-1)
            for part in range(most + 1):
                pairs: list[tuple[Ints, Array]] = []
                pieces: set[int] = set()
                for name, numbers in self._given_parts.items():
                    of = np.flatnonzero(numbers == part)
                    if not len(of):
                        continue
                    dofs = self._dofs(name, of)
                    square = unit[name][of].reshape(len(of), dofs.shape[1], dofs.shape[1])
                    pairs.append((number[dofs], square * blocks[name].scale[of][:, None, None]))
                    cut = self._pieces.get(name)
                    pieces |= {-1} if cut is None else set(cut[of].tolist())
                if len(pieces) != 1:
                    raise ValueError(f"part {part}: of {len(pieces)} pieces where 1 is due")
                own = np.unique(np.concatenate([local.ravel() for local, _ in pairs]))
                own = own[own >= 0]
                place = np.full(len(free) + 1, len(own))
                place[own] = np.arange(len(own))
                sums = np.zeros((len(own) + 1, len(own) + 1))
                for local, square in pairs:
                    at = place[local]  # -1 is the last: held, and left out
                    np.add.at(sums, (at[:, :, None], at[:, None]), square)
                self._parts.append(_WoodPart(own, sums[:-1, :-1], pieces.pop()))
        return self._parts

    def _numbers(self, free: Ints) -> Ints:
        number = np.full(self.assembly.size, -1, dtype=np.intp)
        number[free] = np.arange(len(free))
        return number

    def _dofs(self, name: str, of: Ints) -> Ints:
        d = self.assembly.freedoms
        nodes = self.assembly.structure.blocks[name].nodes[of]
        dofs: Ints = (nodes[:, :, None] * d + np.arange(d)).reshape(len(of), nodes.shape[1] * d)
        return dofs
