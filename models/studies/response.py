"""Movements at a few marks of one structure under fixed loads, with factors on the stiffness of its pieces:
their slopes, and what they become when small parts (a web, a brace) are taken out.

One factorisation serves for all of it. Slopes come by the adjoint, du/dp = -z' (dK/dp) u with K z = m for a
mark's row m. A part taken out is a change of low rank, K - G G': with Y = K^-1 G, movements change by
Y (1 - G' Y)^-1 G' u (Woodbury), adjoint movements alike, and slopes follow from both. Nothing is
approximated, save that a part leaves a millionth of itself, lest nodes of its own float.

Sources: Haftka and Guerdal, Elements of Structural Optimization, ch. 7, adjoint method for static response;
Hager, Updating the inverse of a matrix, SIAM Review 31, 1989, eq. (1) (both from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.assembly import Assembly
from fea.solve import Factor, factorise
from fea.structure import Supports

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

LEFT = 1e-6
"""What stays of the stiffness of a part that is taken out."""
_NULL = 1e-12
"""Eigenvalues of a part's scaled stiffness below this share of its largest are its rigid motions."""


@dataclass(frozen=True, eq=False)
class Moved:
    """Movements at the marks and their slopes.

    Parameters
    ----------
    moves : (n_marks,) float array
        m or rad.
    slopes : (n_marks, n_pieces) float array
        Over the natural logarithm of each piece's flexibility.
    """

    moves: Array
    slopes: Array


@dataclass(frozen=True, eq=False)
class _Part:
    """What may be taken out: its freedoms (numbers among the free), its stiffness for factors of 1 and the
    piece that it is cut from (-1 for none)."""

    freedoms: Ints
    stiffness: Array
    piece: int


@dataclass(frozen=True, eq=False)
class Solved:
    """A structure solved for one set of factors; `Response.without` takes parts out of it.

    `moved` (n_free, n_shapes) under the loads, `adjoint` (n_free, n_marks), `forces` (n_pieces, n_free,
    n_shapes) what each piece takes of the loads.
    """

    log_flexibility: Array
    factor: Factor
    moved: Array
    adjoint: Array
    forces: Array
    spreads: dict[int, tuple[Ints, Array, Array, int]] = field(default_factory=dict)
    """Of parts used already: freedoms, root of the stiffness, what it moves, piece."""


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
    n_parts : int, default 0
        How many there are.
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
        n_parts: int = 0,
    ) -> None:
        self.assembly, self.supports, self.n_pieces = assembly, supports, n_pieces
        self.shape_of_mark, self._pieces, self._given_parts = shape_of_mark, dict(pieces), dict(parts or {})
        self._n_parts = n_parts
        self._loads, self._rows = assembly.vector(loads), rows
        self._stacked: sp.csr_matrix | None = None
        self._parts: list[_Part] | None = None

    def solve(self, log_flexibility: Array) -> Solved:
        """Solve for factors on the pieces.

        Parameters
        ----------
        log_flexibility : (n_pieces,) float array
            Natural logarithm of the factor on each piece's flexibility.

        Returns
        -------
        Solved
        """
        blocks = self.assembly.structure.blocks
        stiff = np.append(np.exp(-log_flexibility), 1.0)
        scales = {name: blocks[name].scale * stiff[numbers] for name, numbers in self._pieces.items()}
        factor = factorise(self.assembly, self.supports, self.assembly.stiffness(scales))
        free = factor.turn.indices
        n_shapes = self._loads.shape[1]
        right = np.concatenate([self._loads[free], self._rows[:, free].T.toarray()], axis=1)
        found = factor.solve(right)
        moved, adjoint = found[:, :n_shapes], found[:, n_shapes:]
        forces = (self._products(free) @ moved).reshape(self.n_pieces, len(free), n_shapes)
        return Solved(log_flexibility, factor, moved, adjoint, forces * stiff[: self.n_pieces, None, None])

    def at(self, log_flexibility: Array) -> Moved:
        """Movements and slopes for factors on the pieces, (n_pieces,) logarithms of flexibilities."""
        return self.whole(self.solve(log_flexibility))

    def whole(self, solved: Solved) -> Moved:
        """Movements and slopes with nothing taken out."""
        return self._read(solved, solved.moved, solved.adjoint, solved.forces)

    def without(self, solved: Solved, part: int) -> Moved:
        """Movements and slopes with a part taken out.

        Parameters
        ----------
        solved : Solved
            From `solve`.
        part : int
            Number of the part.

        Returns
        -------
        Moved
        """
        return self.weakened(solved, {part: LEFT})

    def weakened(self, solved: Solved, left: Mapping[int, float]) -> Moved:
        """Movements and slopes with parts that keep only a share of their stiffness, exactly.

        Parameters
        ----------
        solved : Solved
            From `solve`.
        left : mapping of int to float
            What stays of each part, 0 to 1 (at least `LEFT` is kept); those not named are whole.

        Returns
        -------
        Moved
        """
        if not left:
            return self.whole(solved)
        parts = [self._spread(solved, part) for part in left]
        gone = [1.0 - max(share, LEFT) for share in left.values()]
        # K' = K - H D H' with D the share that goes: u' = u + Y (1/D - H' Y)^-1 H' u.
        core = np.block([[-half.T @ other[at] for _, _, other, _ in parts] for at, half, _, _ in parts])
        sizes = np.concatenate([np.full(half.shape[1], 1 / g) for (_, half, _, _), g in zip(parts, gone)])
        core[np.diag_indices(len(core))] += sizes
        n_shapes = solved.moved.shape[1]
        both = np.concatenate([solved.moved, solved.adjoint], axis=1)
        seen = np.concatenate([half.T @ both[at] for at, half, _, _ in parts])
        more = np.concatenate([spread for _, _, spread, _ in parts], axis=1) @ np.linalg.solve(core, seen)
        moved, adjoint = solved.moved + more[:, :n_shapes], solved.adjoint + more[:, n_shapes:]
        stiff = np.exp(-solved.log_flexibility)
        forces = (self._products(solved.factor.turn.indices) @ more[:, :n_shapes]).reshape(
            solved.forces.shape
        )
        forces = solved.forces + forces * stiff[: self.n_pieces, None, None]
        for (at, half, _, piece), g in zip(parts, gone):
            if piece >= 0:
                forces[piece, at] -= g * (half @ (half.T @ moved[at]))
        return self._read(solved, moved, adjoint, forces)

    def _spread(self, solved: Solved, part: int) -> tuple[Ints, Array, Array, int]:
        """A part's freedoms, the root of its stiffness, how the whole moves under its columns, its piece."""
        if part not in solved.spreads:
            one = self._all_parts(solved.factor.turn.indices)[part]
            at, stiff = one.freedoms, np.append(np.exp(-solved.log_flexibility), 1.0)
            scale = solved.factor.scale[at]
            # On a unit diagonal, lest turns and movements differ in size by their units.
            size, modes = np.linalg.eigh(one.stiffness * stiff[one.piece] * scale * scale[:, None])
            kept = size > _NULL * size[-1]
            half = modes[:, kept] * np.sqrt(size[kept]) / scale[:, None]
            right = np.zeros((len(solved.moved), half.shape[1]))
            right[at] = half
            solved.spreads[part] = at, half, solved.factor.once(right), one.piece
        return solved.spreads[part]

    def under(self, solved: Solved, loads: Array) -> Array:
        """What other loads (n_nodes, 6, n) do at every mark, (n_marks, n), by the adjoint."""
        free = solved.factor.turn.indices
        return np.asarray(solved.adjoint.T @ self.assembly.vector(loads)[free])

    def _read(self, solved: Solved, moved: Array, adjoint: Array, forces: Array) -> Moved:
        free = solved.factor.turn.indices
        every = self._rows[:, free] @ moved
        marks = np.arange(len(self.shape_of_mark))
        slopes = np.zeros((len(marks), self.n_pieces))
        for shape in range(moved.shape[1]):
            of = self.shape_of_mark == shape
            slopes[of] = adjoint[:, of].T @ forces[:, :, shape].T
        return Moved(np.asarray(every[marks, self.shape_of_mark]), slopes)

    def _products(self, free: Ints) -> sp.csr_matrix:
        """Stiffness of every piece for factors of 1, one below another, (n_pieces n_free, n_free)."""
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
            triple = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
            self._stacked = sp.csr_matrix(triple, shape=(self.n_pieces * len(free), len(free)))
        return self._stacked

    def _all_parts(self, free: Ints) -> list[_Part]:
        """Freedoms and stiffness of every part that may be taken out."""
        if self._parts is None:
            number = self._numbers(free)
            unit, blocks = self.assembly.unit_stiffness(), self.assembly.structure.blocks
            self._parts = []
            for part in range(self._n_parts):
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
                self._parts.append(_Part(own, sums[:-1, :-1], pieces.pop()))
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
