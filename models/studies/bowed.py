"""Sheeting that bows, settled in many cases at once on one factor of the structure with its sheeting whole.

From its buckling load on a panel of sheeting keeps the effective width of von Karman, b sqrt(s_cr/s), so that
caps and edges take over its share of the bending. What the panels shed is put back as a load on the whole
structure, K u = f + sum of (1 - left) K_panel u, until it no longer changes: one elimination serves every
case and every load.

References
----------
von Karman, Sechler and Donnell, The strength of thin plates in compression, 1932; Anderson, Iterative
procedures for nonlinear integral equations, J. ACM 12 (1965), 547-560 (both from memory).
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from fea.elements.membrane import Membranes
from fea.solve import Factor, Solution, pinned
from models.analysis import Analysis
from models.recovered import Recovered, changed, recovered, with_block
from models.strength import Margins, check, modes
from models.strength.sheet_buckling import BOWS
from models.strength.solved import Build
from models.structure import Model
from models.structure.model import Part

SETTLED = 0.002
"""Relative change of the load factor below which bowed sheeting counts as settled, and four times that of the
stiffness which is left to it."""
_GAP = 3e-4
"""Change of the movements, over their size, below which they count as settled."""
_MOST_TRIES = 60
_MIXED = 4
"""Trials that the next one is mixed of."""
_FAR = 1.5
"""A case whose bound lies beyond so many times the least one is left at its bound."""
_LITTLE = 0.01
"""A bound that lies no farther below than this is left at that."""
_BEYOND = 1.005
"""How far beyond the load at which it is thought to fail a case is settled the second time."""


def sheet_buckling(margins: Margins) -> dict[Part, float]:
    """Reserve factor against bowing of each panel of sheeting (one bay of one side and surface): the least in
    whatever makes sheeting bow. Of margins with all sheeting whole."""
    bowing = _bowing()
    return {row.part: row.reserve_factor for row in reversed(margins.secondary) if row.mode in bowing}


@dataclass(frozen=True, eq=False)
class Bowed:
    """Settled sheeting in some cases. `moves` (n_nodes, 6, n_cases), m and rad, under the loads of the cases;
    `left` (n_parts, n_cases), the share of its stiffness that each part of the model keeps."""

    moves: Array
    left: Array


class Sheeting:
    """Sheeting of one structure that may bow, in some cases.

    Parameters
    ----------
    model : Model
        Whose structure has been factorised.
    factor : Factor
        With all sheeting whole.
    moves : (n_nodes, 6, n_cases) float array
        Of that structure under the loads of the cases.
    reserve : (n_parts, n_cases) float array
        Multiple of each case's load at which a panel bows; inf of what does not.
    unit : (n_parts, n_cases) float array
        Mean compression along the span of each panel in the sound wing (`pressure`), Pa.
    share : (n_elements,) float array or None
        Stiffness of the elements of sheeting over that of sound ones.
    """

    def __init__(
        self,
        model: Model,
        factor: Factor,
        moves: Array,
        reserve: Array,
        unit: Array,
        share: Array | None = None,
    ) -> None:
        self.model, self.factor, self.moves = model, factor, moves
        self.reserve, self.unit = reserve, unit
        block = model.structure.blocks["sheeting"]
        assert isinstance(block, Membranes)
        assert block.part is not None
        self._on = np.flatnonzero(np.isfinite(reserve.min(axis=1)[block.part]))
        self._part = block.part[self._on]
        assembly = factor.assembly
        scale = (block.scale if share is None else block.scale * share)[self._on]
        d, k = assembly.freedoms, block.nodes.shape[1]
        unit_stiffness = assembly.unit_stiffness()["sheeting"][self._on].reshape(-1, k * d, k * d)
        self._stiffness = scale[:, None, None] * unit_stiffness
        self._nodes = block.nodes[self._on]
        corner = self._nodes.ravel()
        into = (np.ones(len(corner)), (corner, np.arange(len(corner))))
        self._onto = sp.csr_matrix(into, shape=(len(moves), len(corner)))
        self._last: Array | None = None
        self._pressure = Pressure(model, assembly, self._on)

    def settle(self, multiple: Array, only: Ints | None = None) -> Bowed:
        """The sheeting bowed as far as it is at some multiple of each case's load, (n_cases,); of some cases
        alone if wanted."""
        out = self.moves.copy() if self._last is None else self._last
        kept = np.ones(self.reserve.shape)
        size = np.linalg.norm(self.moves[:, :3], axis=(0, 1))
        at = np.arange(len(multiple)) if only is None else only  # cases that are not settled yet
        whole, moves, before = self.moves[:, :, at], out[:, :, at], np.zeros((len(kept), len(at)))
        tried: list[Array] = []
        gaps: list[Array] = []
        for k in range(_MOST_TRIES):
            left = self._left(moves, multiple[at], at)
            gap = whole + self._answer(moves, left) - moves
            shift = gap[:, :3].reshape(-1, len(at))  # turns have another unit
            on = np.sqrt((shift * shift).sum(axis=0)) > _GAP * size[at]
            on |= np.abs(left - before).max(axis=0, initial=0.0) > SETTLED / 4
            if k == _MOST_TRIES - 1:
                on[:] = False
            if not on.all():
                out[:, :, at[~on]], kept[:, at[~on]] = moves[:, :, ~on], left[:, ~on]
            if not on.any():
                break
            tried, gaps = [*tried[1 - _MIXED :], moves], [*gaps[1 - _MIXED :], gap]
            if not on.all():
                at, left, whole = at[on], left[:, on], whole[:, :, on]
                tried, gaps = [one[:, :, on] for one in tried], [one[:, :, on] for one in gaps]
            before, moves = left, _mixed(tried, gaps)
        self._last = out.copy()
        return Bowed(out, kept)

    def _left(self, moves: Array, multiple: Array, at: Ints) -> Array:
        """Share of its stiffness that each panel keeps in some cases, (n_parts, n_at)."""
        now, unit = self._pressure.rows @ moves.reshape(-1, len(at)), self.unit[:, at]
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(unit != 0, np.maximum(now / unit, 0.0), 1.0)
        return left_of(multiple * ratio / self.reserve[:, at])

    def _answer(self, moves: Array, left: Array) -> Array:
        """Movements under what the panels shed, (n_nodes, 6, n_cases)."""
        assembly, (n, k) = self.factor.assembly, self._nodes.shape
        d, cases = assembly.freedoms, moves.shape[2]
        force = self._stiffness @ moves[self._nodes][:, :, :d].reshape(n, k * d, cases)
        force *= (1 - left)[self._part][:, None]
        nodal = self._onto @ force.reshape(n * k, d * cases)
        turn = self.factor.turn
        answer = turn @ self.factor.once(turn.T @ nodal.reshape(-1, cases))
        return np.asarray(assembly.nodal(answer))


def _mixed(tried: list[Array], gaps: list[Array]) -> Array:
    """The next trial of each case by the last ones: the mixture whose gaps cancel best (Anderson)."""
    out = tried[-1] + gaps[-1]
    if len(gaps) == 1:
        return np.asarray(out)
    steps = [late - early for early, late in itertools.pairwise(gaps)]
    answers = [late - early + step for (early, late), step in zip(itertools.pairwise(tried), steps)]
    # Turns have another unit.
    of_moves = np.stack([step[:, :3].reshape(-1, step.shape[2]) for step in steps]).transpose(2, 0, 1)
    last = gaps[-1][:, :3].reshape(-1, out.shape[2]).T
    of_moves, last = np.ascontiguousarray(of_moves), np.ascontiguousarray(last)
    normal = of_moves @ of_moves.transpose(0, 2, 1)
    right = of_moves @ last[:, :, None]
    size = np.trace(normal, axis1=1, axis2=2)[:, None, None]
    normal = normal + (1e-10 * size + 1e-300) * np.eye(len(steps))
    share = np.linalg.solve(normal, right)[:, :, 0]
    for k, answer in enumerate(answers):
        out -= share[:, k] * answer
    return np.asarray(out)


def left_of(over: Array) -> Array:
    """Stiffness left to sheeting that is pressed by so many times what buckles it."""
    return np.asarray(1 / np.sqrt(np.maximum(over, 1.0)))


def pressure(model: Model, assembly: Assembly, moves: Array) -> Array:
    """Mean compression along the span that each part would bear unbowed, (n_parts, n_cases), Pa.

    Negative where it is pulled; 0 of what is no sheeting.
    """
    return Pressure(model, assembly)(moves)


class Pressure:
    """`pressure` of any movements; if wanted, of some of the elements of the sheeting alone: all those of
    their parts."""

    def __init__(self, model: Model, assembly: Assembly, some: Ints | None = None) -> None:
        whole = model.structure.blocks["sheeting"]
        assert isinstance(whole, Membranes)
        assert whole.part is not None
        some = np.arange(len(whole.nodes)) if some is None else some
        self._assembly, self._some = assembly, some
        block, corners, part = of_some(whole, some), assembly.corners("sheeting")[some], whole.part[some]
        self._moved, self._stress = assembly.mover("sheeting", some), block.stressed(corners)
        diagonals = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
        self._area = np.linalg.norm(diagonals, axis=1)[:, None] / 2
        self._spanwise = spanwise(block)[:, None]
        n, m = len(model.parts), len(some)
        total = np.bincount(part, self._area[:, 0], n)
        self._pick = sp.csr_matrix((np.ones(m), (part, np.arange(m))), shape=(n, m))
        self._total = np.where(total > 0, total, 1.0)[:, None]

    def __call__(self, moves: Array) -> Array:
        """Of movements (n_nodes, 6, n_cases)."""
        return self._of_stress(self._stress(self._moved(moves)))

    def _of_stress(self, stress: Array) -> Array:
        return np.asarray(-(self._pick @ self._along(stress)) / self._total)

    def _along(self, stress: Array) -> Array:
        """Force along the span of each element over its depth, (m, ...), from (m, 1, 3, ...) stresses."""
        return np.asarray(np.where(self._spanwise, stress[:, 0, 0], stress[:, 0, 1]) * self._area)

    @cached_property
    def rows(self) -> sp.csr_matrix:
        """The same as a matrix on the freedoms of the nodes, (n_parts, 6 n_nodes): for many movements."""
        nodes = self._assembly.structure.blocks["sheeting"].nodes[self._some]
        m, k = nodes.shape
        at_corners = self._assembly.corner_matrices("sheeting", self._some)
        along = self._along(self._stress(at_corners.reshape(m, k, -1, 6 * k)))
        column = (6 * nodes[:, :, None] + np.arange(6)).reshape(m, 6 * k)
        by_element = sp.csr_matrix(
            (along.ravel(), column.ravel(), np.arange(m + 1) * 6 * k),
            shape=(m, 6 * len(self._assembly.structure.nodes)),
        )
        return sp.diags(-1 / self._total[:, 0]) @ (self._pick @ by_element)


def of_some(block: Membranes, some: Ints) -> Membranes:
    """Some elements of a block."""
    n = len(block.nodes)
    own: dict[str, Any] = {
        one.name: value[some]
        for one in fields(block)
        if isinstance(value := getattr(block, one.name), np.ndarray) and len(value) == n
    }
    return replace(block, **own)


def spanwise(block: Membranes) -> NDArray[np.bool_]:
    """Whether the grain of sheeting, and not what lies across it, runs nearer to the span; (n_elements,)."""
    return np.asarray(np.abs(block.grain[:, 1]) > np.abs(block.grain[:, 0]))


def at_its_edges(analysis: Analysis, unbowed: Mapping[str, Array] | None = None) -> Analysis:
    """The same with the sheeting's stress along the span as its edges bear it, which do not bow: what is
    recovered is the mean over a panel that has bowed. Shear and what lies across stay as handed on. `unbowed`
    is what the sheeting recovers as if none of it had bowed, where that is there already."""
    block = analysis.model.structure.blocks.get("sheeting")
    if not isinstance(block, Membranes):
        return analysis
    n, along = np.arange(len(block.nodes)), np.where(spanwise(block), 0, 1)
    found = {what: value.copy() for what, value in analysis.recovered["sheeting"].items()}
    unbowed = _unbowed(analysis, block) if unbowed is None else unbowed
    for what, value in unbowed.items():
        found[what][n, along] = value[n, along]
    return replace(analysis, recovered=with_block(analysis.recovered, "sheeting", found))


def _unbowed(analysis: Analysis, block: Membranes) -> dict[str, Array]:
    """What the sheeting recovers as if none of it had bowed."""
    assembly = analysis.solution.assembly
    moves = analysis.solution.displacements[:, :, analysis.case]
    return block.recover(assembly.corners("sheeting"), assembly.element_displacements("sheeting", moves))


def reserves(model: Model, margins: Sequence[Margins]) -> Array:
    """Multiples of each case's load at which each part of a model bows, (n_parts, n_cases); inf if never."""
    number = {part: k for k, part in enumerate(model.parts)}
    out = np.full((len(model.parts), len(margins)), np.inf)
    for case, one in enumerate(margins):
        for part, reserve in sheet_buckling(one).items():
            out[number[part], case] = reserve
    return out


def margins_bowed(
    model: Model,
    solution: Solution,
    analyses: Sequence[Analysis],
    whole: Sequence[Margins],
    known: Build | None = None,
    group: Sequence[int] | None = None,
) -> list[Margins]:
    """Margins of some cases with sheeting bowed as far as it is at first failure, or farther.

    A case whose sheeting bows before anything fails is settled at the load at which the wing would fail with
    all sheeting whole: more bows there than at its first failure, so that its reserves are safe. Of those
    among the hardest the load is then found closer.

    Parameters
    ----------
    model : Model
        Of all cases.
    solution : Solution
        Of a free body, with a column for each case, all sheeting whole.
    analyses : sequence of Analysis
        Of the cases, all sheeting whole.
    whole : sequence of Margins
        The same.
    known : Build or None
        What modes of failure know of the model, where they were asked already.
    group : sequence of int or None
        Number of the cases among which each is judged to be hard or not; None where all are of one.
    """
    out = list(whole)
    least = np.array([one.rows[0].reserve_factor if one.rows else np.inf for one in whole])
    bows = np.array([min(sheet_buckling(one).values(), default=np.inf) for one in whole])
    hit = np.flatnonzero((bows < least) & np.isfinite(least)).tolist()
    if not hit:
        return out
    known = Build() if known is None else known
    factor = solution.factor or pinned(solution.assembly)
    moves = solution.displacements[:, :, [analyses[k].case for k in hit]]
    reserve = reserves(model, [whole[k] for k in hit])
    sheeting = Sheeting(model, factor, moves, reserve, pressure(model, factor.assembly, moves))

    def judged(multiple: Array, of: list[int]) -> list[Margins]:
        some = np.array(of, dtype=np.intp)
        state = sheeting.settle(multiple, some)
        block, found = model.structure.blocks["sheeting"], []
        moved = replace(solution, displacements=state.moves)
        every = by_case(moved.assembly, state.moves[:, :, some])
        for i, k in enumerate(of):
            share = state.left[:, k][block.part]
            own = column(every, i)
            unbowed = own["sheeting"]
            mean = {
                what: value * share.reshape(-1, *([1] * (value.ndim - 1))) for what, value in unbowed.items()
            }
            own = with_block(own, "sheeting", mean)
            at = replace(analyses[hit[k]], solution=moved, case=k, recovered=own)
            found.append(_as_told(check(at_its_edges(at, unbowed), build=known), whole[hit[k]]))
        return found

    high = least[hit]
    first = judged(high, list(range(len(hit))))
    bound = np.array([one.rows[0].reserve_factor for one in first])
    # Where a straight line from the load at which the first sheeting bows says that it fails.
    drop = (high - bound) / (high - bows[hit])
    near = _BEYOND * (high + drop * bows[hit]) / (1 + drop)
    groups = np.zeros(len(whole), dtype=np.intp) if group is None else np.array(group)
    hardest = np.array([np.min([*bound[groups[hit] == g], *least[groups == g]]) for g in groups[hit]])
    hard = (bound < _FAR * hardest) & (bound < (1 - _LITTLE) * high) & (near < high)
    close = np.flatnonzero(hard & (bound < near)).tolist()
    for k, one in enumerate(first):
        out[hit[k]] = one
    if close:
        for k, one in zip(close, judged(near, close)):
            # The sheeting has bowed as far as at its first failure at least: no reserve is too large.
            if one.rows[0].reserve_factor <= near[k]:
                out[hit[k]] = one
    return out


def by_case(assembly: Assembly, moves: Array) -> Recovered:
    """What is recovered of the movements of several cases, (n_nodes, 6, n_cases); the first axis of the
    figures counts the cases, not the last."""
    return changed(
        recovered(assembly, moves),
        lambda _, figures: {
            what: np.ascontiguousarray(np.moveaxis(value, -1, 0)) for what, value in figures.items()
        },
    )


def column(figures: Mapping[str, Mapping[str, Array]], case: int) -> Recovered:
    """One case of what `by_case` gave; not to be written to."""
    return Recovered(figures, lambda name: {what: value[case] for what, value in figures[name].items()})


def _as_told(bowed: Margins, whole: Margins) -> Margins:
    """Margins with sheeting bowed; when sheeting bows is told as of sheeting that is whole."""
    bowing = _bowing()
    kept = [row for row in bowed.secondary if row.mode not in bowing]
    again = [row for row in whole.secondary if row.mode in bowing]
    every = sorted([*kept, *again], key=lambda row: row.reserve_factor)
    return replace(bowed, secondary=tuple(every))


def _bowing() -> set[str]:
    """Names of the modes by which sheeting bows."""
    return {mode.name for mode in modes.MODES if mode.remains is BOWS}
