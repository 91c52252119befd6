"""Sheeting that bows, settled in many cases at once on one factor of the structure with its sheeting whole.

From its buckling load on a panel of sheeting keeps the effective width of von Karman, b sqrt(s_cr/s), so that
caps and edges take over its share of the bending. s over s_cr is the share of its buckling load by what would
act on it unbowed, compression and shear together; that shear leaves no more than compression is a judgement,
on the cautious side for caps, webs and glue (a tension field leaves more). Of what shears a bowed panel a
part is carried along its folds as a tension field, which pulls on the sheeting's own grain. What the panels
shed is put back as a load on the whole structure, K u = f + sum of (1 - left) K_panel u, until it no longer
changes: one elimination serves every case and every load (trials mixed as in `fea.mixing`).

References
----------
von Karman, Sechler and Donnell, The strength of thin plates in compression, 1932 (from memory); Kuhn, NACA TN
687, 1939 (abstract looked up): the part of the shear that a tension field carries.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from fea.elements.membrane import Membranes
from fea.mixing import mixed
from fea.solve import Factor, Solution, pinned
from models.analysis import Analysis
from models.recovered import Recovered, changed, recovered, with_block
from models.strength import Margin, Margins, check, modes
from models.strength.counted import with_joints
from models.strength.sheet_buckling import BOWS, panel_limits, pressed
from models.strength.sheet_stress import FOLDS, sheet_net
from models.strength.solved import Build, Solved
from models.structure import Model
from models.structure.model import Part
from models.woods.off_axis import to_grain

SETTLED = 0.002
"""Relative change of the load factor below which the load at which a wing with bowed sheeting fails counts as
met."""
_GAP = 1e-8
"""Change of the movements, over their size, below which they count as settled."""
_ROUGH = 1e-5
"""The same where the state is a bound, or where a wing is only tried."""
_MOST_TRIES = 100
_MIXED = 8
"""Trials that the next one is mixed of."""
_ROOM = 5e8
"""Bytes that are taken for cases which are settled together."""
_FAR = 1.5
"""A case whose bound lies beyond so many times the least one is left at its bound."""
_LITTLE = 0.01
"""A bound that lies no farther below than this is left at that."""
_NEAR = 2.0
"""Times the least reserve up to which a part is near failing (a judgement, no source)."""
_MOST_CLOSER = 4
"""Times that the load at which a case fails is looked for closer."""


def sheet_buckling(margins: Margins) -> dict[Part, float]:
    """Reserve factor against bowing of each part of the sheeting (one bay of one side and surface): the least
    in whatever makes its panels bow. Of margins with all sheeting whole."""
    bowing = _bowing()
    return {row.part: row.reserve_factor for row in reversed(margins.secondary) if row.mode in bowing}


def bows_from(margins: Margins) -> float:
    """Multiple of the load from which on sheeting bows; inf if never. Of margins with all sheeting whole."""
    return min(sheet_buckling(margins).values(), default=np.inf)


@dataclass(frozen=True, eq=False)
class Bowed:
    """Settled sheeting in some cases. `moves` (n_nodes, 6, n_cases), m and rad, under the loads of the cases;
    `left` (n_panels, n_cases), the share of its stiffness that each panel keeps."""

    moves: Array
    left: Array


class Sheeting:
    """Sheeting of one structure that may bow, in some cases.

    Parameters
    ----------
    at : Solved
        Any analysis of the structure.
    factor : Factor
        Of it with all sheeting whole.
    moves : (n_nodes, 6, n_cases) float array
        Of that structure under the loads of the cases.
    share : (n_elements,) float array or None
        Stiffness of the elements of sheeting over that of sound ones.
    """

    def __init__(self, at: Solved, factor: Factor, moves: Array, share: Array | None = None) -> None:
        self.factor, self.moves = factor, moves
        self.panel = at.of_build(sheet_net).panel
        block, assembly = at.model.structure.blocks["sheeting"], factor.assembly
        self._stress, self._limits = at.of_build(_mean_stress), at.of_build(panel_limits)
        scale = block.scale if share is None else block.scale * share
        d, k = assembly.freedoms, block.nodes.shape[1]
        unit_stiffness = assembly.unit_stiffness()["sheeting"].reshape(-1, k * d, k * d)
        self._stiffness = scale[:, None, None] * unit_stiffness
        self._nodes = block.nodes
        corner = self._nodes.ravel()
        into = (np.ones(len(corner)), (corner, np.arange(len(corner))))
        self._onto = sp.csr_matrix(into, shape=(len(moves), len(corner)))
        self._last: Array | None = None

    @property
    def n_panels(self) -> int:
        """How many panels there are."""
        return len(self._limits.straight)

    def settle(self, multiple: Array, only: Ints | None = None, *, rough: bool = False) -> Bowed:
        """The sheeting bowed as far as it is at some multiple of each case's load, (n_cases,); of some cases
        alone if wanted, and to `_ROUGH` alone."""
        out = self.moves.copy() if self._last is None else self._last
        kept = np.ones((self.n_panels, self.moves.shape[2]))
        every = np.arange(len(multiple)) if only is None else only
        # What is kept of the trials of so many cases takes the room of so many movements.
        together = max(1, int(_ROOM / (out.itemsize * out[:, :, 0].size * (2 * _MIXED + 6))))
        for first in range(0, len(every), together):
            self._settle(every[first : first + together], multiple, out, kept, _ROUGH if rough else _GAP)
        self._last = out.copy()
        return Bowed(out, kept)

    def _settle(self, at: Ints, multiple: Array, out: Array, kept: Array, close: float) -> None:
        """Settle some cases, from the movements that stand in `out` for them to those that do then."""
        size = np.linalg.norm(self.moves[:, :3, at], axis=(0, 1))
        whole, moves = self.moves[:, :, at], out[:, :, at]
        tried: list[Array] = []
        gaps: list[Array] = []
        for k in range(_MOST_TRIES):
            left = self._left(moves, multiple[at])
            gap = whole + self._answer(moves, left) - moves
            shift = gap[:, :3].reshape(-1, len(at))  # turns have another unit
            on = np.sqrt((shift * shift).sum(axis=0)) > close * size
            if k == _MOST_TRIES - 1:
                on[:] = False
            if not on.all():
                done, last = at[~on], moves[:, :, ~on] + gap[:, :, ~on]
                out[:, :, done], kept[:, done] = last, self._left(last, multiple[done])
            if not on.any():
                return
            tried, gaps = [*tried[1 - _MIXED :], moves], [*gaps[1 - _MIXED :], gap]
            if not on.all():
                at, whole, size = at[on], whole[:, :, on], size[on]
                tried, gaps = [one[:, :, on] for one in tried], [one[:, :, on] for one in gaps]
            moves = mixed(tried, gaps, 3)  # turns have another unit

    def folds(self, bowed: Bowed) -> Array:
        """Tension along the span and along the chord that the folds of each panel add under the loads of the
        cases, (n_panels, n_cases), Pa.

        Of the shear tau a tension field carries (1 - tau_0/tau)^n, tau_0 that at which the panel bows, n = 3
        less what its frames bear, which is left out. Between frames as stiff as each other folds lie at
        45 degrees: they pull as hard along as across, whatever way the grain runs. The formula is that of
        metal skins; a later one (NACA TN 2661, from memory) has less from twice tau_0 on."""
        shear = (self._stress @ bowed.moves.reshape(-1, bowed.left.shape[1]))[self.n_panels :]
        return np.asarray((1 - bowed.left**2) ** 3 * bowed.left * np.abs(shear))

    def _left(self, moves: Array, multiple: Array) -> Array:
        """Share of its stiffness that each panel keeps under some multiples of the loads that move it so,
        (n_panels, n)."""
        along, shear = (self._stress @ moves.reshape(-1, len(multiple))).reshape(2, -1, len(multiple))
        return left_of(multiple * pressed(along, shear, self._limits))

    def _answer(self, moves: Array, left: Array) -> Array:
        """Movements under what the panels shed, (n_nodes, 6, n_cases)."""
        assembly, (n, k) = self.factor.assembly, self._nodes.shape
        d, cases = assembly.freedoms, moves.shape[2]
        force = self._stiffness @ moves[self._nodes][:, :, :d].reshape(n, k * d, cases)
        force *= (1 - left)[self.panel][:, None]
        nodal = self._onto @ force.reshape(n * k, d * cases)
        turn = self.factor.turn
        answer = turn @ self.factor.once(turn.T @ nodal.reshape(-1, cases))
        return np.asarray(assembly.nodal(answer))


def left_of(over: Array) -> Array:
    """Stiffness left to sheeting that is pressed by so many times what buckles it."""
    return np.asarray(1 / np.sqrt(np.maximum(over, 1.0)))


def _mean_stress(at: Solved) -> sp.csr_matrix:
    """Mean stress of each panel, were none bowed, by the freedoms of the nodes, (2 n_panels, 6 n_nodes), Pa a
    m or rad: along the span of all, then in shear."""
    block, net = at.model.structure.blocks["sheeting"], at.of_build(sheet_net)
    assembly = at.analysis.solution.assembly
    assert isinstance(block, Membranes)
    (m, k), n = block.nodes.shape, len(net.total)
    at_corners = assembly.corner_matrices("sheeting", np.arange(m)).reshape(m, k, -1, 6 * k)
    stress = block.stressed(assembly.corners("sheeting"))(at_corners)[:, 0]
    turned = to_grain(stress[:, 0], stress[:, 1], stress[:, 2], -net.grain[:, None])
    mean = turned * (net.area / net.total[net.panel])[:, None, None]
    column = np.broadcast_to((6 * block.nodes[:, :, None] + np.arange(6)).reshape(m, 1, 6 * k), (m, 2, 6 * k))
    row = np.broadcast_to((net.panel[:, None] + n * np.arange(2))[:, :, None], column.shape)
    value = np.moveaxis(mean[:, :, [0, 2]], 2, 1)
    shape = (2 * n, 6 * len(at.model.structure.nodes))
    return sp.csr_matrix((value.ravel(), (row.ravel(), column.ravel())), shape=shape)


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


def margins_bowed(
    model: Model,
    solution: Solution,
    analyses: Sequence[Analysis],
    whole: Sequence[Margins],
    known: Build | None = None,
    group: Sequence[int] | None = None,
    *,
    rough: bool = False,
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
    rough : bool
        Settle the sheeting to five places, not eight, as in any case those that are left at their bound.
    """
    out = list(whole)
    least = np.array([one.rows[0].reserve_factor if one.rows else np.inf for one in whole])
    bows = np.array([bows_from(one) for one in whole])
    hit = np.flatnonzero((bows < least) & np.isfinite(least)).tolist()
    if not hit:
        return out
    known = Build() if known is None else known
    factor = solution.factor or pinned(solution.assembly)
    moves = solution.displacements[:, :, [analyses[k].case for k in hit]]
    sheeting = Sheeting(Solved(analyses[hit[0]], known), factor, moves)

    def judged(multiple: Array, of: list[int], *, rough: bool) -> list[Margins]:
        some = np.array(of, dtype=np.intp)
        state = sheeting.settle(multiple, some, rough=rough)
        found = []
        moved = replace(solution, displacements=state.moves)
        every = by_case(moved.assembly, state.moves[:, :, some])
        folds = sheeting.folds(state)[sheeting.panel]
        for i, k in enumerate(of):
            share = state.left[sheeting.panel, k]
            own = column(every, i)
            unbowed = own["sheeting"]
            mean = {
                what: value * share.reshape(-1, *([1] * (value.ndim - 1))) for what, value in unbowed.items()
            }
            own = with_block(own, "sheeting", {**mean, FOLDS: folds[:, k]})
            at = replace(analyses[hit[k]], solution=moved, case=k, recovered=own)
            found.append(_as_told(check(at_its_edges(at, unbowed), build=known), whole[hit[k]]))
        return found

    high = least[hit]
    for k, one in enumerate(judged(high, list(range(len(hit))), rough=True)):
        out[hit[k]] = one
    got = np.array([out[k].rows[0].reserve_factor for k in hit])
    groups = np.zeros(len(whole), dtype=np.intp) if group is None else np.array(group)
    hardest = np.array([np.min([*got[groups[hit] == g], *least[groups == g]]) for g in groups[hit]])
    asked = np.flatnonzero((got < _FAR * hardest) & (got < (1 - _LITTLE) * high))
    above, bound = high.copy(), got.copy()
    near = high.copy()
    near[asked] = _fails_near(high[asked], bound[asked], bows[hit][asked])
    for _ in range(_MOST_CLOSER):
        near = np.minimum((1 + SETTLED) * near, above)
        asked = asked[near[asked] < above[asked]]
        if not len(asked):
            break
        for k, one in zip(asked.tolist(), judged(near, asked.tolist(), rough=rough)):
            got[k] = one.rows[0].reserve_factor
            # The sheeting has bowed as far as at its first failure at least: no reserve is too large.
            if got[k] <= near[k]:
                out[hit[k]] = one
        slope = (bound - got)[asked] / (above - near)[asked]
        closer = near.copy()
        closer[asked] += (got - near)[asked] / (1 - slope)
        safe = got <= near
        above, bound = np.where(safe, near, above), np.where(safe, got, bound)
        asked = asked[~safe[asked] | (near[asked] - got[asked] > 2 * SETTLED * near[asked])]
        near = closer
    return out


def _fails_near(high: Array, bound: Array, bows: Array) -> Array:
    """Multiple of the load at which a wing is thought to fail, (n_cases,): its reserve falls from what it is
    with all sheeting whole, at the load at which the first bows, to a bound at that reserve's load, with the
    logarithm of the load."""
    steep = (high - bound) / np.log(high / bows)
    near = bound.copy()
    for _ in range(6):  # Newton; the reserve falls slowly
        near -= (near - high + steep * np.log(near / bows)) / (1 + steep / near)
    return near


def check_bowed(analysis: Analysis) -> Margins:
    """Margins that count in one case, joints among them, sheeting bowed as far as it is at first failure.

    Parameters
    ----------
    analysis : Analysis
        Of a wing, all sheeting whole.
    """
    build = Build()
    whole = check(analysis, build=build)
    settled = margins_bowed(analysis.model, analysis.solution, [analysis], [whole], build)[0]
    return with_joints(analysis.wing, settled)


@dataclass(frozen=True, eq=False)
class Bowing:
    """What sheeting that bows takes from the reserves of a case.

    Parameters
    ----------
    whole, bowed : sequence of Margin
        With all sheeting whole, and bowed as far as it is at first failure, the least first.
    begins, fails : float
        Multiples of the load from which on it bows, and at which something fails other than a joint.
    """

    whole: Sequence[Margin]
    bowed: Sequence[Margin]
    begins: float
    fails: float

    @property
    def counts(self) -> bool:
        """Sheeting bows before anything fails."""
        return self.begins < self.fails

    def at(self, multiple: float, within: float = np.inf) -> list[Margin]:
        """Reserves with sheeting bowed as far as it is at another multiple of the load, the least first; of
        parts and modes within some times the least at first failure alone.

        Between the load from which it bows and that at first failure they fall as the effective width of one
        panel does, with 1 - sqrt(begins/multiple). Of seven wings whose strengths were taken as 0.4 to 0.8
        of what they are, so that they failed lower, 0 to 9 in 100 low and once 1 high."""
        if not self.counts:
            return list(self.bowed)
        whole = {(row.mode, row.part): row.reserve_factor for row in self.whole}
        bowed = 1 - np.sqrt(self.begins / max(multiple, self.begins))
        bowed /= 1 - np.sqrt(self.begins / self.fails)
        near = [row for row in self.bowed if row.reserve_factor <= within * self.bowed[0].reserve_factor]
        found = []
        for row in near:
            sound = whole.get((row.mode, row.part), row.reserve_factor)
            found.append(replace(row, reserve_factor=sound + (row.reserve_factor - sound) * bowed))
        return sorted(found, key=lambda row: row.reserve_factor)


def shares_left(whole: Sequence[Margin], bowed: Sequence[Margin]) -> dict[tuple[str, Part], float]:
    """Share of its reserve with all sheeting whole that sheeting which bows leaves each mode and part.

    Of a part that is far from failing in one state the share hangs on small differences and says nothing of
    others: none is taken as left less than the least of those that are near, and none as left more than all.

    Parameters
    ----------
    whole, bowed : sequence of Margin
        What counts, the least reserve first.

    Returns
    -------
    dict of (mode, part) to float
        Of what is in both.
    """
    before = {(row.mode, row.part): row.reserve_factor for row in whole}
    out, least = {}, 1.0
    for row in bowed:
        if (row.mode, row.part) not in before:
            continue
        left = row.reserve_factor / before[row.mode, row.part]
        if row.reserve_factor < _NEAR * bowed[0].reserve_factor:
            least = min(least, left)
        out[row.mode, row.part] = min(max(left, least), 1.0)
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
