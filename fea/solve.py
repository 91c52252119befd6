"""Statics: K u = f with supports in any direction, prescribed movement, many right sides; a body in flight.

A free body is held by nothing: its loads are first balanced by the inertia of its mass under the rigid
acceleration they cause, then as many freedoms are pinned as it has rigid motions, where any set that stops
them will do, and the pins' reactions must vanish. Every solution carries its own proof: residual, reactions,
energy, size of the pivots.

Freedoms are eliminated node by node, in minimum-degree order of the graph of the nodes, which is found in a
fraction of the time that the matrix's own graph takes and fills in no more. The factors are SuperLU's (in
SciPy), in symmetric mode. Where the optional package scikit-sparse is installed (`pip install
'sparbay[fast]'`), matrices of `_LARGE` unknowns and more go to CHOLMOD instead: of the free sparse direct
solvers tried on wings refined along the span and over the chord it was the fastest, and it shows its pivots,
which the proof needs. MKL's PARDISO, in minimum-degree order and loaded already, is a seventh to a third
faster still; it is not free software, is made for one kind of processor, brings a gigabyte of libraries, and
shows no pivots. QDLDL was slower. Below `_LARGE` loading another library costs more than it saves. Banded and
block-tridiagonal elimination along the span lose, because edges and rails reach over whole bays, which makes
the band wide.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Protocol

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as spla
from numpy.typing import NDArray

from fea.assembly import Assembly, rigid_motions, total
from fea.structure import Array, Ints, Loads, Structure, Supports

_PIVOT_FLOOR = 1e-11
"""Pivots of the scaled matrix (unit diagonal) below this mean that something can move freely."""


_BALANCE = 1e-6
"""Share of the loads, or of their work, that may be missing from the reactions' sum and from the strain
energy, beside what rounding of the elements' forces is worth; own choice, no source."""
_ROUNDED = 16 * float(np.finfo(float).eps)
"""Rounding of a row of stiffness times movements, over its absolute sum: a few units in the last place, which
the stiffness itself and the sums carry; own choice, no source."""

_SAME = 1e-11
"""Share of the absolute sum of a row of stiffness times movements up to which two ways to take the sum are
the same but for rounding, 2e-14 on wings of 60 bays; own choice, no source."""

_ELIMINATED = 1e-12
"""Rounding of an elimination, over the largest stiffness times the largest movement;
own choice, no source."""

_ONCE = 1e-3
"""Share of the loads that may be left over by an elimination that is not refined, beside that rounding; own
choice, no source."""

_LARGE = 2_000
"""Unknowns from which another library's factors repay its loading, some 7 ms."""

_WIDE = 170.0
"""Operations a number of the factor from which that library gathers columns to dense blocks; measured on
wings refined along the span (95 to 128, column by column is faster) and over the chord (230, blocks are)."""


class Mechanism(ValueError):
    """The structure can move without deforming: the nodes that move, most first, and the parts that meet
    there.

    Parameters
    ----------
    nodes : (n,) int array
        Nodes that take part in the free motion, greatest first.
    motion : (n, 6) float array
        Their motion, scaled to a greatest entry of 1 (movements in units of the structure's size).
    parts : tuple of str
        Names of the parts whose elements meet at the first of the nodes.
    """

    def __init__(self, nodes: Ints, motion: Array, parts: tuple[str, ...]) -> None:
        self.nodes, self.motion, self.parts = nodes, motion, parts
        axis = ("x", "y", "z", "about x", "about y", "about z")[int(np.argmax(np.abs(motion[0])))]
        verb = "turn" if axis.startswith("about") else "move along"
        where = f" ({', '.join(parts)})" if parts else ""
        super().__init__(f"node {int(nodes[0])}{where} is free to {verb} {axis}")


class UnbalancedSolve(ArithmeticError):
    """A solution fails one of its own checks; carries what was measured, the bound and the check's name."""

    def __init__(self, residual: float, bound: float, check: str = "equilibrium residual") -> None:
        self.residual, self.bound, self.check = residual, bound, check
        super().__init__(f"{check} {residual:.2e} exceeds {bound:.0e} of the loads")


class IndefiniteStiffness(UnbalancedSolve):
    """A pivot is not positive: some movement would give energy back; carries the smallest pivot."""

    def __init__(self, pivot: float) -> None:
        super().__init__(pivot, 0.0, "smallest pivot")
        self.args = (f"smallest pivot {pivot:.2e} is not positive: some movement gives energy back",)


@dataclass(frozen=True)
class Checks:
    """How well a solve satisfies what it must.

    Parameters
    ----------
    residual : float
        Largest force left over at a free freedom, over the largest load or element force there.
    reaction_sum : float
        Loads plus reactions, over the loads: overall equilibrium, worst of forces and moments.
    energy : float
        Work of the loads against strain energy, relative.
    smallest_pivot : float
        Smallest pivot of the matrix scaled to a unit diagonal, with its sign.
    free_reaction : float
        For a free body: the largest reaction of the pins over the sum of the loads; else 0.
    """

    residual: float
    reaction_sum: float
    energy: float
    smallest_pivot: float
    free_reaction: float = 0.0


@dataclass(frozen=True, eq=False)
class Solution:
    """Displacements of a structure and the proof that they are in equilibrium.

    Parameters
    ----------
    assembly : Assembly
        What was solved.
    displacements : (n_nodes, 6, n_cases) float array
        Movements (m) and rotations (rad).
    loads : (n_nodes, 6, n_cases) float array
        All that acts on the nodes, inertia of a free body included, N and N m.
    reactions : (n_nodes, 6, n_cases) float array
        Forces of the supports on the nodes, N and N m.
    checks : Checks
        Residual, reactions, energy, pivots.
    acceleration : (6, n_cases) float array
        Rigid acceleration of a free body about the origin, m/s2 and rad/s2; zero for a supported one.
    factor : Factor or None
        What was eliminated, where `free_body` was asked to keep it.
    """

    assembly: Assembly
    displacements: Array
    loads: Array
    reactions: Array
    checks: Checks
    acceleration: Array = field(default_factory=lambda: np.zeros((6, 1)))
    factor: Factor | None = field(default=None, repr=False)

    def recover(self, case: int | None = None) -> dict[str, dict[str, Array]]:
        """What each block recovers (stresses, section forces), for one case or for all."""
        moves = self.displacements if case is None else self.displacements[:, :, case]
        return self.assembly.recover(moves)


class Elimination(Protocol):
    """What a factorised matrix must offer, whoever made it."""

    def solve(self, rhs: Array) -> Array:
        """The matrix's inverse times columns."""
        ...


@dataclass(frozen=True, eq=False)
class _Cholesky:
    """CHOLMOD's factor under the same name as SuperLU's."""

    factor: Any

    def solve(self, rhs: Array) -> Array:
        """The matrix's inverse times columns."""
        return np.asarray(self.factor(rhs))


def _cholmod(n_unknowns: int) -> Any:
    """The optional package's module; None where it is missing, or the matrix too small to repay it."""
    if n_unknowns < _LARGE:
        return None
    try:
        from sksparse import cholmod
    except ImportError:
        return None
    return cholmod


def _cholesky(matrix: sp.csc_matrix, cholmod: Any, width: float) -> tuple[Elimination, Array] | None:
    """CHOLMOD's factor of an ordered matrix and the pivot of each unknown; None where the matrix is not
    positive definite, which SuperLU then has to tell about. `width` is in operations a number of the factor.
    """
    # The library's own switch, at 40, is too early for fronts as thin as ours.
    mode = "simplicial" if width < _WIDE else "supernodal"
    try:
        factor = cholmod.cholesky(matrix, ordering_method="natural", mode=mode)
    except cholmod.CholmodError:
        return None
    pivots = np.empty(matrix.shape[0])
    pivots[factor.P()] = factor.D()
    return _Cholesky(factor), pivots


def _superlu(matrix: sp.csc_matrix) -> tuple[Elimination, Array]:
    """SuperLU's factor of an ordered matrix and the pivot of each unknown."""
    # Panels and relaxed columns narrower than the library's own suit the thin fronts of a wing.
    lu = spla.splu(
        matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, relax=4, panel_size=4,
        options={"SymmetricMode": True},
    )  # fmt: skip
    return lu, lu.U.diagonal()[lu.perm_c]


@dataclass(frozen=True, eq=False)
class Factor:
    """A factorised stiffness on the free freedoms, ready for any number of right sides.

    `turn` maps free freedoms to all: u = turn v + given. `solve` takes and returns free freedoms. `order`
    lists them as they are eliminated; `ordered` is the stiffness on them so, and `lu` its factors.
    """

    assembly: Assembly
    stiffness: sp.csc_matrix
    turn: sp.csc_matrix
    held: sp.csc_matrix
    given: Array
    scale: Array
    order: Ints
    ordered: sp.csr_matrix
    lu: Elimination
    smallest_pivot: float
    pins: Supports | None = None
    """What holds a body in flight besides."""

    def fits(self, assembly: Assembly) -> bool:
        """Whether another assembly has the same stiffness, number by number: with other masses, say."""
        one, other = assembly.stiffness(), self.stiffness
        return one is other or all(
            np.array_equal(a, b)
            for a, b in ((one.indptr, other.indptr), (one.indices, other.indices), (one.data, other.data))
        )

    @cached_property
    def matrix(self) -> sp.csc_matrix:
        """Stiffness on the free freedoms, (n_free, n_free), compressed by columns."""
        return _on_free(self.turn, self.stiffness)

    @cached_property
    def _largest(self) -> float:
        """Largest number of the stiffness."""
        return max(float(self.ordered.data.max(initial=0.0)), -float(self.ordered.data.min(initial=0.0)))

    def once(self, right: Array) -> Array:
        """Solve on the free freedoms, (n_free, n_cases), without refinement.

        Raises `UnbalancedSolve` where what was found does not solve it.
        """
        ordered = right[self.order]
        return self._proved(ordered, self.lu.solve(ordered), _ONCE)

    def solve(self, right: Array) -> Array:
        """Solve on the free freedoms, (n_free, n_cases), with one step of iterative refinement.

        Raises `UnbalancedSolve` where what was found does not solve it.
        """
        ordered = right[self.order]
        first = self.lu.solve(ordered)
        first = first + self.lu.solve(np.asarray(ordered - self.ordered @ first))
        return self._proved(ordered, first, _BALANCE)

    def _proved(self, right: Array, moves: Array, bound: float) -> Array:
        """Movements in the order of the free freedoms, if they solve what they should: one mixture of all
        cases is tried, which takes one product with the matrix."""
        size = np.abs(right).max(axis=0, initial=0.0)
        share = np.cos(np.arange(len(size))) / np.where(size > np.finfo(float).tiny, size, 1.0)
        mixed = moves @ share
        left = float(np.abs(right @ share - self.ordered @ mixed).max(initial=0.0))
        if not left <= bound + _ELIMINATED * self._largest * np.abs(mixed).max(initial=0.0):
            raise UnbalancedSolve(left, bound, "force that the elimination leaves over")
        out = np.empty(right.shape)
        out[self.order] = moves
        return out


def factorise(
    assembly: Assembly, supports: Supports | None = None, stiffness: sp.csc_matrix | None = None
) -> Factor:
    """Factorise the stiffness of a structure on what its supports leave free.

    Parameters
    ----------
    assembly : Assembly
        Of the structure.
    supports : Supports or None
        Others than the structure's own.
    stiffness : (size, size) sparse matrix or None
        A matrix other than the structure's own, on the same pattern.

    Raises
    ------
    Mechanism
        Something can move freely; carries nodes and parts.
    IndefiniteStiffness
        Some movement would give energy back.
    """
    supports = assembly.structure.supports if supports is None else supports
    stiff = assembly.stiffness() if stiffness is None else stiffness
    whole = stiff.diagonal()
    free, held, given = _split(assembly, supports, stiff, whole)
    if free.shape[1] == 0:
        raise Mechanism(np.array([0]), np.zeros((1, 6)), ())
    library = _cholmod(free.shape[1])
    order, width = _elimination_order(assembly, free, library)
    ordered = _on_free(free, stiff, order)
    if _is_selection(free):
        diagonal = whole[free.indices]
    else:
        diagonal = np.empty(len(order))
        diagonal[order] = ordered.diagonal()
    if diagonal.min() <= 0:
        if diagonal.min() < -_ROUNDED * diagonal.max():  # energy back from one movement alone: no mechanism
            raise IndefiniteStiffness(float(diagonal.min() / np.abs(diagonal).max()))
        _name_mechanism(assembly, free, _on_free(free, stiff))
        raise IndefiniteStiffness(float(diagonal.min() / np.abs(diagonal).max()))
    found = None if library is None else _cholesky(ordered, library, width)
    if found is None:
        try:
            found = _superlu(ordered)
        except RuntimeError:
            _name_mechanism(assembly, free, _on_free(free, stiff))
            raise
    eliminated, pivots = found
    # Pivots of the matrix scaled to a unit diagonal, which elimination does not need for itself.
    smallest = float((pivots / diagonal[order]).min())
    if smallest < _PIVOT_FLOOR:
        _name_mechanism(assembly, free, _on_free(free, stiff))
    if not smallest > 0:
        raise IndefiniteStiffness(smallest)
    scale = 1 / np.sqrt(diagonal)
    # As it came, not turned round: what rounding leaves unsymmetric would else be out of balance.
    return Factor(assembly, stiff, free, held, given, scale, order, ordered.T, eliminated, smallest)


def _on_free(free: sp.csc_matrix, stiff: sp.csc_matrix, order: Ints | None = None) -> sp.csc_matrix:
    """Stiffness on the free freedoms; in another order if wanted, and then turned round."""
    if not _is_selection(free):
        matrix = (free.T @ stiff @ free).tocsc()
        return matrix if order is None else _chosen(matrix, order)
    if order is None:
        return stiff[:, free.indices][free.indices]
    return _chosen(stiff, free.indices[order])


def _chosen(matrix: sp.csc_matrix, at: Ints) -> sp.csc_matrix:
    """Rows and columns of a symmetric matrix, (len(at), len(at)), turned round: rows as columns.

    Columns are cheap to choose. A transposition brings the rows in their new order, and sorts them in linear
    time; those that are not wanted all go to one column past the last, which is left out.
    """
    n = len(at)
    chosen = matrix[:, at]
    label = np.full(matrix.shape[0], n, dtype=chosen.indices.dtype)
    label[at] = np.arange(n, dtype=label.dtype)
    by_row = sp.csr_matrix((chosen.data, np.take(label, chosen.indices), chosen.indptr), shape=(n, n + 1))
    turned = by_row.tocsc()
    end = turned.indptr[n]
    out = sp.csc_matrix((turned.data[:end], turned.indices[:end], turned.indptr[:-1]), shape=(n, n))
    out.has_canonical_format = True
    return out


def _elimination_order(assembly: Assembly, free: sp.csc_matrix, library: Any) -> tuple[Ints, float]:
    """Free freedoms in an order that keeps factors thin, minimum degree on the graph of the nodes; and how
    many operations a number of the factor takes, 0 without a library that asks for it.

    All freedoms of a node have the same neighbours, so that little is lost, and the graph is an order of
    magnitude smaller than the matrix.
    """
    node = free.indices[free.indptr[:-1]] // assembly.freedoms
    n_nodes = len(assembly.structure.nodes)
    nodes = np.flatnonzero(np.bincount(node, minlength=n_nodes))
    graph = _chosen(assembly.node_graph(), nodes)
    # Diagonally dominant, so that eliminating it never cancels anything.
    column = np.repeat(np.arange(len(nodes)), np.diff(graph.indptr))
    graph.data = np.where(graph.indices == column, len(nodes), -1.0)
    width = 0.0
    if library is None:
        # Single columns: the order is wanted, not the factors.
        lu = spla.splu(
            graph, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, relax=1, panel_size=1,
            options={"SymmetricMode": True},
        )  # fmt: skip
        rank = lu.perm_c
    else:
        rank = np.empty(len(nodes), dtype=np.intp)
        factor = library.cholesky(graph, ordering_method="amd", mode="simplicial")
        rank[factor.P()] = np.arange(len(nodes))
        below = np.diff(factor.L().indptr).astype(float)
        width = float(assembly.freedoms * (below @ below) / below.sum())
    place = np.zeros(n_nodes, dtype=np.intp)
    place[nodes] = rank
    return np.argsort(place[node], kind="stable"), width


def _is_selection(free: sp.csc_matrix) -> bool:
    return bool(free.nnz == free.shape[1] and (free.data == 1).all())


def _split(
    assembly: Assembly, supports: Supports, stiff: sp.csc_matrix, diagonal: Array
) -> tuple[sp.csc_matrix, sp.csc_matrix, Array]:
    """Bases of free and held freedoms (columns), and the movement given by the supports, from a stiffness and
    its diagonal."""
    d, size = assembly.freedoms, assembly.size
    relevant = np.ones(len(supports.node), dtype=bool) if d == 6 else ~supports.turns
    node, turns = supports.node[relevant], supports.turns[relevant]
    direction, value = supports.direction[relevant], supports.value[relevant]
    axis = np.argmax(np.abs(direction), axis=1) if len(node) else np.zeros(0, dtype=np.intp)
    plain = np.abs(np.abs(direction).max(axis=1, initial=0) - 1) < 1e-12
    first = node * d + 3 * turns
    given = np.zeros(size)
    taken = np.zeros(size, dtype=bool)
    at = (first + axis)[plain]
    taken[at] = True
    given[at] = (value * np.sign(np.take_along_axis(direction, axis[:, None], 1)[:, 0]))[plain]
    columns_free, columns_held = [], []
    skew = np.unique(first[~plain])
    for start in skew:  # few: supports along no axis
        rows = first == start
        given_dirs = direction[rows]
        basis = np.linalg.qr(np.concatenate([given_dirs, np.eye(3)]).T)[0]
        n_held = rows.sum()
        taken[start : start + 3] = True
        given[start : start + 3] = given_dirs.T @ value[rows]
        columns_held.append((start, given_dirs.T))
        if n_held < 3:
            columns_free.append((start, basis[:, n_held:3]))
    idle = diagonal == 0
    doubtful = np.flatnonzero(idle)
    if len(doubtful):
        idle[doubtful] = abs(stiff[:, doubtful]).sum(axis=0) == 0
    keep = np.flatnonzero(~taken & ~idle)
    held_plain = np.flatnonzero(taken)
    if len(skew):
        inside = (skew[:, None] + np.arange(3)).ravel()
        held_plain = np.setdiff1d(held_plain, inside)
    return _columns(size, keep, columns_free), _columns(size, held_plain, columns_held), given


def _columns(size: int, plain: Ints, blocks: list[tuple[int, Array]]) -> sp.csc_matrix:
    if not blocks:
        many = len(plain)
        return sp.csc_matrix((np.ones(many), plain, np.arange(many + 1)), shape=(size, many))
    rows, cols, data = [plain], [np.arange(len(plain))], [np.ones(len(plain))]
    count = len(plain)
    for start, block in blocks:
        r, c = np.indices(block.shape)
        rows.append(r.ravel() + start)
        cols.append(c.ravel() + count)
        data.append(block.ravel())
        count += block.shape[1]
    triple = (np.concatenate(data), (np.concatenate(rows), np.concatenate(cols)))
    out = sp.csc_matrix(triple, shape=(size, count))
    out.sort_indices()
    return out


def _name_mechanism(assembly: Assembly, free: sp.csc_matrix, matrix: sp.csc_matrix) -> None:
    """Raise `Mechanism` with the softest motion of the scaled matrix, found by inverse iteration beside
    zero."""
    diagonal = matrix.diagonal()
    size = np.ptp(assembly.structure.nodes, axis=0).max() or 1.0
    floor = np.abs(diagonal).max()
    scale = 1 / np.sqrt(np.where(diagonal > 0, diagonal, floor))
    scaled = sp.diags(scale) @ matrix @ sp.diags(scale)
    shifted = spla.splu((scaled + 1e-10 * sp.identity(len(scale))).tocsc())
    # A fixed start makes the message reproducible; 7919 is a prime drawn once.
    vector = np.random.default_rng(7919).standard_normal(len(scale))
    for _ in range(6):
        vector = shifted.solve(vector)
        vector /= np.linalg.norm(vector)
    softness = vector @ (scaled @ vector)
    if abs(softness) > 1e-9:
        return
    motion = assembly.nodal((free @ (scale * vector))[:, None])[:, :, 0]
    measure = motion.copy()
    measure[:, :3] /= size
    strength = np.abs(measure).max(axis=1)
    order = np.argsort(-strength, kind="stable")
    order = order[strength[order] > 0.05 * strength.max()]
    measure /= np.abs(measure).max()
    raise Mechanism(order, measure[order], _parts_at(assembly.structure, int(order[0])))


def _parts_at(structure: Structure, node: int) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for name, block in structure.blocks.items():
        touching = (block.nodes == node).any(axis=1)
        if block.part is not None and structure.parts:
            found.update(dict.fromkeys(structure.parts[p] for p in block.part[touching]))
        elif touching.any():
            found[name] = None
    return tuple(found)


def statics(structure: Structure | Assembly | Factor, loads: Loads, bound: float = 1e-8) -> Solution:
    """Solve a supported structure for any number of load cases.

    Parameters
    ----------
    structure : Structure, Assembly or Factor
        What to solve; handing over an assembly or a factor saves building it again.
    loads : Loads
        Nodal loads; distributed loads of the blocks act in every case besides.
    bound : float
        Largest residual that is let pass.

    Raises
    ------
    Mechanism
        Something can move freely.
    UnbalancedSolve
        The residual exceeds `bound`, reactions or energy do not balance, or a pivot is negative.
    """
    factor = _factor_of(structure, None)
    nodal = loads.nodal + factor.assembly.distributed_loads()[:, :, None]
    return _finish(factor, nodal, bound, np.zeros((6, nodal.shape[2])), free_body=False)


def _check_answered(factor: Factor, nodal: Array) -> None:
    """Raise `Mechanism` for a load on a freedom that neither an element nor a support answers."""
    d = factor.assembly.freedoms
    answered = np.zeros(factor.assembly.size, dtype=bool)
    answered[factor.turn.indices] = answered[factor.held.indices] = True
    idle = np.ones((len(nodal), 6), dtype=bool)
    idle[:, :d] = ~answered.reshape(-1, d)
    size = np.abs(nodal).max(axis=2, initial=0.0)
    scale = np.array([size[:, :3].max(initial=0.0)] * 3 + [size.max(initial=0.0)] * 3)
    lost = idle & (size > 1e-9 * scale)
    if lost.any():
        node = int(np.flatnonzero(lost.any(axis=1))[0])
        motion = np.zeros((1, 6))
        motion[0, np.flatnonzero(lost[node])[0]] = 1.0
        raise Mechanism(np.array([node]), motion, _parts_at(factor.assembly.structure, node))


def _factor_of(structure: Structure | Assembly | Factor, supports: Supports | None) -> Factor:
    if isinstance(structure, Factor):
        return structure
    return factorise(structure if isinstance(structure, Assembly) else Assembly(structure), supports)


def free_body(
    structure: Structure | Assembly | Factor,
    loads: Loads,
    bound: float = 1e-8,
    *,
    keep_factor: bool = False,
) -> Solution:
    """Solve a structure in free flight: loads balanced by the inertia of its own mass.

    The structure's supports are taken as conditions of symmetry (or none); whatever rigid motions they leave
    free are the body's accelerations.

    Parameters
    ----------
    structure : Structure, Assembly or Factor
        With masses; a factor is one of `pinned`, or that a solution kept.
    loads : Loads
        Outer loads; distributed loads of the blocks act besides.
    bound : float
        Largest residual that is let pass.
    keep_factor : bool, default False
        Hand out the factor with the solution, for more loads that balance themselves.

    Returns
    -------
    Solution
        `acceleration` is the rigid acceleration; `checks.free_reaction` the pins' reaction over the loads.

    Raises
    ------
    Mechanism
        Something can move freely besides the rigid motions, or a rigid motion has no mass.
    UnbalancedSolve
        The residual exceeds `bound`, reactions or energy do not balance, or a pivot is negative.
    """
    known = structure if isinstance(structure, Factor) else None
    if isinstance(structure, Factor):
        assembly = structure.assembly
    else:
        assembly = structure if isinstance(structure, Assembly) else Assembly(structure)
    points, supports = assembly.structure.nodes, assembly.structure.supports
    inertial = assembly.rigid_inertia()
    motions = rigid_motions(points, assembly.freedoms)
    allowed = allowed_motions(assembly, supports, motions)
    nodal = loads.nodal + assembly.distributed_loads()[:, :, None]
    force = assembly.vector(nodal)
    rigid = motions @ allowed
    inertia = rigid.T @ (inertial @ allowed)
    if not rigid.shape[1]:
        factor = factorise(assembly, supports) if known is None else known
        still = np.zeros((6, force.shape[1]))
        out = _finish(factor, assembly.nodal(force), bound, still, free_body=True)
        return replace(out, factor=factor) if keep_factor else out
    if not inertia.any() or np.linalg.cond(inertia / np.abs(inertia).max()) > 1e14:
        raise Mechanism(np.array([0]), np.eye(6)[:1], ("a structure without mass cannot fly",))
    amount = np.linalg.solve(inertia, rigid.T @ force)
    balanced = force - inertial @ (allowed @ amount)
    factor = _pinned(assembly, rigid) if known is None else known
    out = _finish(factor, assembly.nodal(balanced), bound, allowed @ amount, free_body=True, pins=factor.pins)
    return replace(out, factor=factor) if keep_factor else out


def pinned(assembly: Assembly) -> Factor:
    """Factor of a structure in free flight, for loads that balance themselves.

    Returns
    -------
    Factor
        With as many freedoms pinned besides as there are rigid motions left.

    Raises
    ------
    Mechanism
        Something can move freely besides the rigid motions.
    """
    supports = assembly.structure.supports
    motions = rigid_motions(assembly.structure.nodes, assembly.freedoms)
    rigid = motions @ allowed_motions(assembly, supports, motions)
    return _pinned(assembly, rigid) if rigid.shape[1] else factorise(assembly, supports)


def _pinned(assembly: Assembly, rigid: Array) -> Factor:
    supports, stiff = assembly.structure.supports, assembly.stiffness()
    pins = pins_for(assembly, rigid, supports, stiff.diagonal() > 0)
    return replace(factorise(assembly, supports + pins, stiff), pins=pins)


def allowed_motions(assembly: Assembly, supports: Supports, motions: Array) -> Array:
    """Combinations of the six rigid motions (columns) that the supports do not resist, (6, n)."""
    d = assembly.freedoms
    relevant = np.ones(len(supports.node), dtype=bool) if d == 6 else ~supports.turns
    first = (supports.node * d + 3 * supports.turns)[relevant]
    if not len(first):
        return np.eye(6)
    rows = np.stack([motions[first + k] for k in range(3)], axis=1)
    return unmoved(np.einsum("ik,ikm->im", supports.direction[relevant], rows))


def unmoved(held: Array) -> Array:
    """Combinations of motions, (n_motions, n), that move none of what is held, by its movement in each,
    (n_held, n_motions)."""
    if not len(held):
        return np.eye(held.shape[1])
    _, values, right = np.linalg.svd(held)
    full = np.zeros(held.shape[1])
    full[: len(values)] = values
    return np.asarray(right[full < 1e-9 * max(values.max(), 1e-300)].T)


def pins_for(assembly: Assembly, rigid: Array, supports: Supports, stiff: NDArray[np.bool_]) -> Supports:
    """As many single freedoms as there are rigid motions, chosen by pivoted elimination to stop them well.

    Movements are preferred; a rotation is pinned where no movement stops a motion, as of a straight beam
    about itself.

    Parameters
    ----------
    assembly : Assembly
        Of the structure.
    rigid : (size, n) float array
        The motions.
    supports : Supports
        What holds it already, where nothing is pinned.
    stiff : (size,) bool array
        Freedoms that have stiffness.
    """
    d, n_motions = assembly.freedoms, rigid.shape[1]
    size = np.ptp(assembly.structure.nodes, axis=0).max() or 1.0
    work = rigid.reshape(-1, d, n_motions).copy()
    work[:, 3:] *= 0.01 * size
    there = stiff.reshape(-1, d)
    work[~there] = 0
    work[supports.node] = 0
    # A node that cannot move all ways stands for an amount (of slip, say) and may be held softly.
    whole = work.copy()
    whole[~there[:, :3].all(axis=1)] = 0
    for left in (whole.reshape(-1, n_motions), work.reshape(-1, n_motions)):
        chosen = _stopped(left)
        if chosen is not None:
            break
    else:
        raise Mechanism(np.array([0]), np.eye(6)[:1], ("nothing in the structure resists a rigid motion",))
    node, which = chosen // d, chosen % d
    return Supports(node, which >= 3, np.eye(3)[which % 3], np.zeros(n_motions))


def _stopped(left: Array) -> Ints | None:
    """Rows of (n, n_motions) that stop all motions together, each the best for what is left; None where some
    motion moves none of them."""
    n_motions = left.shape[1]
    chosen = np.zeros(n_motions, dtype=np.intp)
    for k in range(n_motions):  # at most six
        chosen[k] = np.argmax(np.einsum("ij,ij->i", left, left))
        length = np.linalg.norm(left[chosen[k]])
        if length == 0:
            return None
        along = left[chosen[k]] / length
        left = left - np.outer(left @ along, along)
    return chosen


def _finish(
    factor: Factor,
    nodal: Array,
    bound: float,
    acceleration: Array,
    *,
    free_body: bool,
    pins: Supports | None = None,
) -> Solution:
    assembly, stiff = factor.assembly, factor.stiffness
    _check_answered(factor, nodal)
    force = assembly.vector(nodal)
    given = factor.given[:, None]
    known = force - stiff @ given if given.any() else force
    moves = factor.turn @ factor.solve(factor.turn.T @ known) + given
    # Element forces at a node may be far greater than the load there; both set the scale of rounding.
    inner = abs(stiff) @ np.abs(moves)
    pull, pulling = stiff @ moves, assembly.pulling(stiff)
    if pulling is not None:
        apart = pulling(moves)
        # Not so where the matrix has springs to the ground, or stress, which a turn is not free of.
        if (np.abs(apart - pull) <= _SAME * inner).all():
            moves -= factor.turn @ factor.once(factor.turn.T @ (apart - force))
            pull = pulling(moves)
    gap = pull - force
    left = factor.turn.T @ gap
    largest = np.abs(force).max(axis=0) + np.abs(factor.turn.T @ inner).max(axis=0) * 1e-7
    largest = np.where(largest > 0, largest, 1.0)
    residual = float((np.abs(left).max(axis=0, initial=0.0) / largest).max())
    reaction = factor.held @ (factor.held.T @ gap)
    work = np.einsum("ij,ij->j", moves, force) + (given.T @ reaction)[0]
    strain = np.einsum("ij,ij->j", moves, pull)
    energy = float((np.abs(work - strain) / np.where(strain > 0, strain, 1.0)).max())
    reactions = assembly.nodal(reaction)
    points = assembly.structure.nodes
    sums = total(points, nodal + reactions)
    scale_force = np.abs(nodal[:, :3]).sum(axis=(0, 1)) + np.abs(reactions[:, :3]).sum(axis=(0, 1))
    arm = max(float(np.ptp(points, axis=0).max()), 1e-300)
    scale_moment = (
        scale_force * arm + np.abs(nodal[:, 3:]).sum(axis=(0, 1)) + np.abs(reactions[:, 3:]).sum(axis=(0, 1))
    )
    ratio = np.abs(sums[:3]).max(axis=0) / np.where(scale_force > 0, scale_force, 1.0)
    ratio = np.maximum(ratio, np.abs(sums[3:]).max(axis=0) / np.where(scale_moment > 0, scale_moment, 1.0))
    free = 0.0
    if free_body and pins is not None and len(pins.node):
        halves = reactions[pins.node].reshape(len(pins.node), 2, 3, -1)
        at_pins = halves[np.arange(len(pins.node)), pins.turns.astype(int)]
        amount = np.abs(np.einsum("ij,ijc->ic", pins.direction, at_pins))
        amount = amount / np.where(pins.turns, arm, 1.0)[:, None]
        free = float((amount.max(axis=0) / np.where(scale_force > 0, scale_force, 1.0)).max())
    checks = Checks(residual, float(ratio.max()), energy, factor.smallest_pivot, free)
    if not residual <= bound:
        raise UnbalancedSolve(residual, bound)
    noise = _ROUNDED * inner.sum(axis=0)
    missing = np.maximum(
        np.abs(sums[:3]).max(axis=0) / np.maximum(_BALANCE * scale_force + noise, 1e-300),
        np.abs(sums[3:]).max(axis=0) / np.maximum(_BALANCE * scale_moment + noise * max(arm, 1.0), 1e-300),
    )
    if not missing.max(initial=0.0) <= 1:
        raise UnbalancedSolve(checks.reaction_sum, _BALANCE, "sum of loads and reactions")
    noise = _ROUNDED * inner.sum(axis=0) / np.maximum(scale_force, 1e-300)
    if not free <= _BALANCE + noise.max(initial=0.0):
        raise UnbalancedSolve(free, _BALANCE, "reaction of the pins of a body in flight")
    noise = _ROUNDED * np.einsum("ij,ij->j", np.abs(moves), inner)
    if not (np.abs(work - strain) <= _BALANCE * np.abs(strain) + noise).all():
        raise UnbalancedSolve(energy, _BALANCE, "work of the loads less twice the strain energy")
    return Solution(assembly, assembly.nodal(moves), nodal, reactions, checks, acceleration)
