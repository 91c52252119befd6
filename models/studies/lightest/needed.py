"""Choices of cells that no layout that holds can have, whatever all other webs are.

A part that fails hardly feels webs some bays away; what is proven of it once need not be asked of each of the
layouts that differ there. The wing is looked at as a window of segments from the root to a rib, known in all
their webs, and a rest of which nothing is known but that its webs weigh no more than is left. Of a figure l =
g'(rows u + given a) of the window there is then a lower bound over all rests:

1. Statics. Of the forces by which the rest pulls at the rib all sums are known (its loads; the wing's
   supports lie in the window). Let u_r be the window's movements under its loads and those sums where the
   rib's freedoms move as a rigid body. What the true forces q are besides has no sum: u = u_r + K^-1 q, K the
   window's stiffness, and u_r'K K^-1 q = 0, since u_r is rigid where q acts.
2. Energy. So u'K u = u_r'K u_r + e^2 with e^2 = q'K^-1 q. The segments' stiffnesses add up and none is
   negative: u'K u is no more than the whole wing's energy W = f'K_w^-1 f. Hence e^2 <= W - u_r'K u_r.
3. Duality. |l - l_r| = |r'K^-1 q| <= rho e (Cauchy-Schwarz), r = rows'g, where rho^2 = r'K^-1 r - r'K_r^-1 r
   is what r gives the window more with a free rib than with a rigid one: q works on no rigid movement.
4. W <= sum of the segments' energies under any forces between them that are in equilibrium with the loads
   (the least complementary energy). Those of one solved layout serve, carried over to where nodes stand at
   the rib in hand, with what is missing in sums spread over the spars' caps. They hang on nothing but the
   rib's webs, so that for each segment the greatest of all its states counts.
5. Loads. Webs' masses change them: sums of forces between segments, and the lift that bears them. Both are
   sums over webs in proportion to their masses (`_CURVED` for what is not), so that the worst single web with
   all the mass that is left is counted: in l_r, in u_r'K u_r and, with all webs of the wing, in W.

Shares of the modes in `CONVEX` are convex and grow in proportion to their rows: at any values they are at
least g'values with the slopes g at others. A window in which the bound fails is divided by the webs of its
next bay, until it is proven or covers the wing. Everything is in the freedoms of the interfaces, in which
the segments' own condensed energies are left out on both sides.

Sources: Castigliano's least work, and Prager and Synge, Approximations in elasticity based on the concept of
function space, Quarterly of Applied Mathematics 5, 1947 (from memory).
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator
from copy import copy
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve, cholesky, solve_triangular

from fea.arrays import Array, Ints
from fea.chain import End, followed, outward
from models.strength import cap_column, rail_joint, sheet_strength
from models.studies.lightest.condensed import Condensed
from models.studies.lightest.judge import Stack
from models.studies.lightest.names import State
from models.studies.lightest.portions import Portion
from models.studies.lightest.segments import Segment

Marks = NDArray[np.bool_]

CONVEX = (rail_joint.MODE.name, rail_joint.MODE_SPAR.name, cap_column.MODE.name, sheet_strength.MODE.name)
"""Modes whose share is a convex function of their rows that grows in proportion to them: lengths of vectors
and their sums (ties), a push or nothing (caps), and Norris without credit (sheeting)."""
MOST_WINDOWS = 20_000
"""That are looked at for one choice of a cell."""
_LIGHT = 0.05
"""Share of a flying wing's mass beyond which webs are too heavy for this."""
_CURVED = 1.1
"""How far loads may change beyond proportion to webs' masses. Lift is in proportion to the wing's mass, and
the couples that trim it are products of that, or of a power of it up to 1, with where the mass lies: with
`_LIGHT` what is beyond proportion is less than twice that share of the change."""
_WIDE = 1.05
"""By how much a part must fail in two layouts to be tried at all."""
_SURE = 1e-5
"""Of a share: what rounding may do, slopes by small differences besides."""
_TOLD = 1e-8
"""Share by which a mass may be off by rounding."""
_SOFT = 1e-12
"""Added to scaled stiffnesses, 1 on their diagonal, for freedoms that nothing holds and nothing may load."""
_FREE = 1e-10
"""Stiffness against a rigid movement below which nothing holds it."""
_LEFT = 1e-5
"""Share of a load that may be left when it is found to be borne."""


@dataclass(frozen=True, eq=False)
class _Energies:
    """Of a segment in one state: twice its energy under the forces of the known layout; the same in pairs
    (n, n) of unit sums passed on from its outer rib to its inner one (6) and unit amounts of the columns,
    borne at the inner rib; `sums` (6,) are how much more pulls inward than in the known layout, N and N m."""

    known: float
    units: Array
    sums: Array


_OfSegment = tuple[dict[tuple, _Energies], Array, Array]


class Windows:
    """Lower bounds on shares over all that webs may be outboard of a rib.

    Parameters
    ----------
    segments : Condensed
        The wing's.
    mass : list of (n_choices,) float array
        Of the webs of every choice of every cell, kg.
    most : float
        Webs' mass at which layouts are of no use any more, kg.
    known : (n_cells,) int array
        The lightest layout, whose forces are taken for those between segments.
    go_on : callable
        Whether there is time; where there is not, it is not `whole` and of no use.
    """

    def __init__(
        self,
        segments: Condensed,
        mass: list[Array],
        most: float,
        known: Ints,
        go_on: Callable[[], bool] = lambda: True,
    ) -> None:
        self.segments, self.mass, self.most, self.known = segments, mass, most, known
        self.parts = self._parts(known)
        self.amounts = self._amounts(self.parts)
        self.bottom = self.weight(known)
        self._positions: dict[tuple[int, tuple], Array] = {}
        self._patterns: dict[tuple[int, tuple], tuple[Array, Array, Array]] = {}
        self._slopes: dict[tuple[int, int, int], Array] = {}
        self._pull = self._between()
        self._sums = [self._sum(part, self.amounts) for part in self.parts]
        self.whole = False
        self._own: list[Array] = []
        self._lap: list[Array] = []
        self.energies: list[dict[tuple, _Energies]] = []
        segments.build_all()
        every = self._every()
        for _ in range(segments.n_segments):
            if not go_on():
                return
            of, own, lap = next(every)
            self.energies.append(of)
            self._own.append(own)
            self._lap.append(lap)
        self.whole = True
        self._per_mass()
        self.worst = np.array([max(e.known for e in of.values()) for of in self.energies])

    def weight(self, codes: Ints) -> float:
        """Mass of the webs of a layout, kg."""
        return float(sum(table[c] for table, c in zip(self.mass, codes.tolist())))

    # ---- the known layout -----------------------------------------------------------------------------

    def _parts(self, codes: Ints) -> list[Segment]:
        numbers = self.segments.numbers(codes[None])[0].tolist()
        return [self.segments.numbered[m][k] for m, k in enumerate(numbers)]

    def _amounts(self, parts: list[Segment]) -> Array:
        inertia, resultant = sum(p.inertia for p in parts), sum(p.resultant for p in parts)
        return self.segments.loads.amounts(
            np.asarray(inertia)[None], np.asarray(resultant)[None], self.segments.allowed
        )[0]

    def _between(self) -> list[Array]:
        """Forces by which what lies outboard of every inner rib pulls there, scaled."""
        moves = _along(self.parts, self.amounts)
        out = [np.zeros(0)]
        for m, part in enumerate(self.parts):
            ends = np.concatenate([moves[m], moves[m + 1]])
            out.append((part.link.stiffness @ ends - part.link.load @ self.amounts)[part.link.n_inner :])
        return out

    def _sum(self, part: Segment, amounts: Array) -> Array:
        """Sums of a segment's loads about the origin, (6,)."""
        n = self.segments.loads.n_columns
        return np.asarray(part.resultant @ amounts[:n] - part.inertia @ (self.segments.allowed @ amounts[n:]))

    # ---- rigid movements ------------------------------------------------------------------------------

    def _points(self, m: int, codes: Ints) -> Array:
        """Where the nodes of a segment stand in a layout, those of its inner rib too."""
        segments = self.segments
        points = segments.model.structure.nodes.copy()
        for k in range(max(m - 1, 0), m + 1):
            for one in segments.states_of(k, codes):
                if one not in segments.known:
                    segments.harvest(codes)
                portion = segments.known[one]
                points[portion.nodes] = portion.points
        return points

    def _rigid(self, freedoms: Ints, points: Array) -> Array:
        """Six rigid movements of scaled freedoms, (n, 6)."""
        node, which = np.divmod(freedoms, 6)
        x, y, z = points[node].T
        zero, one = np.zeros(len(node)), np.ones(len(node))
        every = np.array(
            [
                [one, zero, zero, zero, z, -y],
                [zero, one, zero, -z, zero, x],
                [zero, zero, one, y, -x, zero],
                [zero, zero, zero, one, zero, zero],
                [zero, zero, zero, zero, one, zero],
                [zero, zero, zero, zero, zero, one],
            ]
        )
        return np.asarray(every[which, :, np.arange(len(node))] / self.segments._scale[freedoms][:, None])

    def _rib(self, rib: int, lap: tuple, codes: Ints) -> tuple[Array, Array, Array]:
        """Of the interface outboard of segment `rib` - 1 with webs that stand out as `lap` says: its rigid
        movements (n, 6), forces of unit sums (n, 6), and the known layout's forces with its sums there."""
        found = self._patterns.get((rib, lap))
        if found is None:
            segments = self.segments
            freedoms = segments._cut.outer[rib - 1]
            points = self._points(rib - 1, codes)
            rigid = self._rigid(freedoms, points)
            node, which = np.divmod(freedoms, 6)
            on_caps = (segments._caps[node] >= 0) & (which < 3)
            scale = segments._scale[freedoms] ** 2
            for bears in (on_caps, which < 3):
                spread = np.where(bears, scale, 0.0)[:, None] * rigid
                square = rigid.T @ spread
                size = 1 / np.sqrt(np.maximum(np.diag(square), 1e-300))
                if np.linalg.eigvalsh(square * size[:, None] * size)[0] > 1e-9:
                    break
            unit = spread @ np.linalg.inv(square)
            wanted = np.asarray(sum(self._sums[rib:]))
            pull = self._pull[rib]
            found = self._patterns[rib, lap] = (rigid, unit, pull + unit @ (wanted - rigid.T @ pull))
        return found

    def _about(self, rib: int) -> Array:
        """Sums about the origin of unit forces at, and unit moments about, the middle of the caps at a rib,
        (6, 6)."""
        segments = self.segments
        node = np.unique(segments._cut.outer[rib - 1] // 6)
        caps = node[segments._caps[node] >= 0]
        x, y, z = segments.model.structure.nodes[caps if len(caps) else node].mean(axis=0)
        out = np.eye(6)
        out[3:, :3] = [[0, -z, y], [z, 0, -x], [-y, x, 0]]
        return out

    # ---- energies of segments -------------------------------------------------------------------------

    def _states(self, m: int) -> Iterator[tuple[Ints, float, float]]:
        """Layouts with every state that a segment may have, the mass of its webs beyond the known layout's,
        and the least that webs beside it have with which it is so."""
        segments, n = self.segments, self.segments.n_segments

        def choices(k: int) -> list[Ints]:
            cells = segments.cells[k]
            return [
                np.array(one, dtype=np.intp)
                for one in product(*(range(len(segments.places.cells[c].choices)) for c in cells))
            ]

        def extra(cells: Ints, state: Ints) -> float:
            return sum(float(self.mass[c][s] - self.mass[c][self.known[c]]) for c, s in zip(cells, state))

        at_most = self.most * (1 + _TOLD)
        for own in choices(m):
            codes = self.known.copy()
            codes[segments.cells[m]] = own
            mine = extra(segments.cells[m], own)
            beside: list[list[tuple[float, Ints, Ints]]] = []
            for k, end in ((m - 1, 1), (m + 1, 2)):
                if not 0 <= k < n:
                    beside.append([(0.0, np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp))])
                    continue
                least: dict[tuple, tuple[float, Ints, Ints]] = {}
                for other in choices(k):
                    codes[segments.cells[k]] = other
                    lap, heavy = segments.keys(codes)[m][end], extra(segments.cells[k], other)
                    if lap not in least or heavy < least[lap][0]:
                        least[lap] = (heavy, segments.cells[k], other)
                codes[segments.cells[k]] = self.known[segments.cells[k]]
                beside.append(sorted(least.values(), key=lambda one: one[0]))
            for inner, outer in product(*beside):
                if self.bottom + mine + inner[0] + outer[0] > at_most:
                    continue
                out = codes.copy()
                out[inner[1]], out[outer[1]] = inner[2], outer[2]
                yield out, mine, inner[0] + outer[0]

    def _every(self) -> Iterator[_OfSegment]:
        """`energies_of` of all segments, by whoever works for the wing's."""
        segments, numbers = self.segments, range(self.segments.n_segments)
        if segments.run is None:
            return map(self.energies_of, numbers)
        told = copy(self)
        told.segments, told.parts, told.energies = segments.alone(), [], []
        # A segment's rigid movements are told by where the nodes of two before it stand, too.
        near = [{i for k in range(max(m - 2, 0), m + 1) for i in segments.numbers_of(k)} for m in numbers]
        known = [{key: one for key, one in segments.known.items() if key[0] in some} for some in near]
        many = segments.n_segments
        return iter(segments.run(energies_of, [pickle.dumps(told)] * many, known, numbers))

    def energies_of(self, m: int) -> _OfSegment:
        """Energies of a segment in every state, and what a kilogram of its own webs, and of those beside it,
        pulls more."""
        out: dict[tuple, _Energies] = {}
        own, lap = [np.zeros(6)], [np.zeros(6)]
        alone: dict[tuple, Array] = {}
        for codes, mine, beside in self._states(m):
            key = self.segments.keys(codes)[m]
            one = out[key] = self._energy(m, key, codes)
            if beside <= 0:  # the first of its own webs
                alone[key[0]] = one.sums
                own.append(one.sums / mine if mine > 0 else np.zeros(6))
            else:
                lap.append((one.sums - alone[key[0]]) / beside)
        return out, np.array(own), np.array(lap)

    def _energy(self, m: int, key: tuple, codes: Ints) -> _Energies:
        segments, n = self.segments, self.segments.n_segments
        states = segments.states_of(m, codes)
        if any(one not in segments.known for one in states):
            segments.harvest(codes)
        system, load, inertia, resultant = segments.uncondensed(m, states)
        inside, inner = len(segments._cut.inside[m]), len(segments._cut.inner[m])
        columns = np.concatenate([(load @ self.amounts)[:, None], np.zeros((len(load), 6)), load], axis=1)
        if m + 1 < n:
            _, unit, pull = self._rib(m + 1, key[2], codes)
            columns[inside + inner :, 0] += pull
            columns[inside + inner :, 1:7] += unit @ self._about(m + 1)
        by_column = np.concatenate([resultant, -inertia @ segments.allowed], axis=1)
        sums = by_column @ self.amounts - self._sums[m]
        if m:  # what the segment's state and its loads pull besides goes on inward
            _, unit, pull = self._rib(m, key[1], codes)
            columns[inside : inside + inner, 0] -= pull + unit @ sums
            if m + 1 < n:
                columns[inside : inside + inner, 1:7] -= unit @ self._about(m + 1)
            columns[inside : inside + inner, 7:] -= unit @ by_column
        stiff = _held(system, self._rigid(segments._freedoms[m], self._points(m, codes)), inside)
        root = _root(stiff)
        forward = solve_triangular(root, columns, lower=True, check_finite=False)
        answer = solve_triangular(root, forward, lower=True, trans=1, check_finite=False)
        bad = _left(stiff, answer, columns) > _LEFT
        # Of the inside, which is eliminated first, the energy that the interfaces do not feel is left out.
        energy = forward[inside:].T @ forward[inside:] * (1 + _SURE)
        return _Energies(np.inf if bad.any() else float(energy[0, 0]), energy[1:, 1:], sums)

    def _per_mass(self) -> None:
        """What a kilogram of webs changes: see `_changes`; and at most, of every segment the root of twice
        its energy."""
        segments = self.segments
        inertia, resultant = (
            np.asarray(sum(getattr(p, of) for p in self.parts)) for of in ("inertia", "resultant")
        )
        # Of a gram at the middle and another further aft: what it pulls, and how the amounts follow.
        pulled, follow = [], []
        n = segments.loads.n_columns
        for x in (0.0, 0.1):
            moves = np.eye(3, 6)
            moves[1, 5], moves[2, 4] = x, -x
            gram = 1e-3 * moves.T @ moves
            more = segments.loads.amounts((inertia + gram)[None], resultant[None], segments.allowed)[0]
            pulled.append(-gram @ (segments.allowed @ self.amounts[n:]))
            follow.append(more - self.amounts)
        self._follow = np.array(follow).T @ np.linalg.pinv(np.array(pulled).T)
        beyond = np.zeros((6, len(self.amounts)))
        self._beyond = [beyond]
        for part in self.parts[::-1]:
            beyond = beyond + np.concatenate([part.resultant, -part.inertia @ segments.allowed], axis=1)
            self._beyond.insert(0, beyond)
        self.more = np.zeros(segments.n_segments)
        for m, of in enumerate(self.energies):
            units = np.array([e.units for e in of.values()])
            for some, times in zip(self._changes(m + 1, 0), (1, 2)):
                square = np.einsum("ki,sij,kj->sk", some, units, some, optimize=True)
                self.more[m] += times * float(np.sqrt(max(square.max(), 0.0)))

    def _changes(self, rib: int, first: int) -> tuple[Array, Array]:
        """Sums that pull at a rib, about the middle of its caps, and amounts of the columns, of a kilogram of
        webs in each of the segments from `first` on, and of one that stands beside them, (n, 6 + n_columns):
        all changes are sums of these, by no more mass than there is of the former and twice that of the
        latter."""
        n = self.segments.n_segments
        turn = np.linalg.inv(self._about(rib)) if rib < n else np.zeros((6, 6))
        out = []
        for of in (self._own, self._lap):
            sums = np.concatenate(of[first:])
            here = np.repeat(np.arange(first, n) >= rib, [len(some) for some in of[first:]])
            amounts = sums @ self._follow.T
            pull = (sums * here[:, None] + amounts @ self._beyond[min(rib, n)].T) @ turn.T
            out.append(_CURVED * np.concatenate([pull, amounts], axis=1))
        return out[0], out[1]

    # ---- bounds ---------------------------------------------------------------------------------------

    def least_share(self, m: int, number: int, codes: Ints, n: int) -> float:
        """What a part's mode uses of its strength at least at the load of the case.

        Parameters
        ----------
        m, number : int
            Segment, and number of the mode and part, of one of `CONVEX`.
        codes : (n_cells,) int array
            Known in its first `n` + 1 segments; where webs are not known, that of the known layout.
        n : int
            Segments of the window; if all, the share itself.
        """
        segments = self.segments
        parts = self._parts(codes)
        amounts = self._amounts(parts)
        kind = int(segments.numbers(codes[None])[0, m])
        if n == segments.n_segments:
            moves = _along(parts, amounts)
            values = parts[m].rows @ np.concatenate([moves[m], moves[m + 1]]) + parts[m].given @ amounts
            return float(self.shares(m, kind, values[:, None], number).max())
        first = np.concatenate([[0], np.cumsum([len(f) for f in segments._cut.outer[:n]])])
        size = int(first[-1])
        stiff, load = np.zeros((size, size)), np.zeros((size, len(amounts)))

        def at(k: int) -> Ints:
            return np.arange(first[k - 1] if k else 0, first[k + 1])

        for k in range(n):
            here = at(k)
            stiff[np.ix_(here, here)] += parts[k].link.stiffness
            load[here] += parts[k].link.load
        keys = segments.keys(codes)
        ribs = [self._rib(k + 1, keys[k][2], codes)[0] for k in range(n)]
        stiff = _held(stiff, np.concatenate(ribs))
        # The rib as a rigid body: its freedoms give way to six.
        rigid = ribs[-1]
        turn = np.linalg.inv(np.linalg.cholesky(rigid.T @ rigid)).T
        edge = int(first[-2])
        reduce = np.zeros((size, edge + 6))
        reduce[:edge, :edge] = np.eye(edge)
        reduce[edge:, edge:] = rigid @ turn
        sums = np.asarray(sum(self._sum(part, amounts) for part in parts[n:]))
        right = np.zeros((edge + 6, 7 + len(amounts)))
        right[:, 0] = reduce.T @ (load @ amounts)
        right[edge:, 0] += turn.T @ sums
        right[edge:, 1:7] = turn.T @ self._about(n)
        right[:, 7:] = reduce.T @ load
        given = np.concatenate([amounts[:, None], np.zeros((len(amounts), 6)), np.eye(len(amounts))], axis=1)
        tight = reduce.T @ stiff @ reduce
        row = np.zeros(size)
        answer = _solved(tight, right)
        moves_here = reduce @ answer
        here = at(m)
        values = parts[m].rows @ moves_here[here] + parts[m].given @ given
        slope = self._slopes.get((m, kind, number))
        if slope is None:
            slope = self._slopes[m, kind, number] = self._slope(m, kind, values[:, 0], number)
        figures = slope @ values
        # What is not known of the loads, by the mass that is left.
        spare = max(self.most - self.weight(codes), 0.0)
        energies = right.T @ answer
        least, stored = float(figures[0]), float(np.sqrt(max(energies[0, 0], 0.0)))
        for some, times in zip(self._changes(n, n), (1, 2)):
            least -= times * spare * float(np.maximum(-(some @ figures[1:]), 0.0).max())
            square = ((some @ energies[1:, 1:]) * some).sum(axis=1).max()
            stored -= times * spare * float(np.sqrt(max(square, 0.0)))
        stored = max(stored, 0.0) ** 2
        row[here] = parts[m].rows.T @ slope
        free, bound = _solved(stiff, row[:, None]), _solved(tight, reduce.T @ row[:, None])
        if (
            max(
                _left(stiff, free, row[:, None])[0],
                _left(tight, bound, reduce.T @ row[:, None])[0],
                _left(tight, answer, right).max(),
            )
            > _LEFT
        ):
            return -np.inf
        work = float(row @ free[:, 0])
        rho = np.sqrt(max(work - float((reduce.T @ row) @ bound[:, 0]), 0.0) + _SURE * work)
        return least - rho * float(np.sqrt(max(self._energy_at_most(codes, n) - stored, 0.0)))

    def _energy_at_most(self, codes: Ints, n: int) -> float:
        """W of the docstring, of a layout known in its first `n` + 1 segments."""
        keys = self.segments.keys(codes)
        known = [self.energies[m][keys[m]].known for m in range(n)]
        more = (self.most - self.bottom) * float(np.sqrt((self.more**2).sum()))
        return float(np.sqrt(sum(known) + self.worst[n:].sum()) + more) ** 2

    # ---- shares ---------------------------------------------------------------------------------------

    def shares(self, m: int, kind: int, values: Array, number: int) -> Array:
        """What all things of a number use, (n_things, n_columns), and a row of nothing.

        Parameters
        ----------
        m, kind : int
            Segment, and which of its states.
        values : (n_rows, n_columns) float array
            Of the segment's rows.
        number : int
            Of the mode and part.
        """
        segments = self.segments
        judged = Stack([segments.numbered[m][kind]], _last_station(segments, m)).judge(values)
        rows = [used.share[used.number == number] for used in judged.used()]
        return np.concatenate([np.zeros((1, values.shape[1])), *rows])

    def _slope(self, m: int, kind: int, values: Array, number: int) -> Array:
        """Slopes of the share of the thing that uses the most, (n_rows,)."""
        step = 1e-6 * np.maximum(np.abs(values), 1e-6 * np.abs(values).max())
        around = np.concatenate(
            [values[:, None], values[:, None] + np.diag(step), values[:, None] - np.diag(step)], axis=1
        )
        shares = self.shares(m, kind, around, number)
        mine = shares[shares[:, 0].argmax()]
        n = len(values)
        slope = np.asarray((mine[1 : n + 1] - mine[n + 1 :]) / (2 * step))
        # A share that does not grow in proportion has a kink there: nothing is then proven by it.
        return slope if abs(slope @ values - mine[0]) < _SURE * mine[0] else np.zeros(n)


@lru_cache(maxsize=1)
def _told(windows: bytes) -> Windows:
    found: Windows = pickle.loads(windows)
    return found


def energies_of(windows: bytes, known: dict[tuple[int, State], Portion], m: int) -> _OfSegment:
    """`Windows.energies_of` in place of others.

    Parameters
    ----------
    windows : bytes
        Theirs, without portions.
    known : dict
        Portions of the segment and of two before it.
    m : int
        Number of the segment.
    """
    here = _told(windows)
    here.segments.known = known
    return here.energies_of(m)


def ruled_out(
    segments: Condensed,
    mass: list[Array],
    most: float,
    known: Ints,
    everything: Ints,
    share: float,
    go_on: Callable[[], bool],
) -> list[tuple[int, int]]:
    """Choices that no layout that holds has which is no heavier than a known one.

    Parameters
    ----------
    segments, mass
        As of `Windows`.
    most : float
        Mass of webs of the known one, kg.
    known, everything : (n_cells,) int array
        The lightest layout there is, and webs wherever there may be any.
    share : float
        Share of the strength at the load of the case beyond which a part fails at the load asked for.
    go_on : callable
        Whether there is time.

    Returns
    -------
    list of (int, int)
        Cells and their choices: the lightest of the cell, where a part then fails whatever else there is.
    """
    if segments.n_segments < 3 or not supports_at_the_root(segments):
        return []
    if segments.places.wing.flies and most > _LIGHT * _wing_mass(segments, known):
        return []
    parts = _likely(segments, known, everything, share)
    if not parts:
        return []
    try:
        windows = Windows(segments, mass, most, known, go_on)
    except np.linalg.LinAlgError:  # in some state a part is held by nothing
        return []
    if not windows.whole:
        return []
    out = []
    for cell, (m, number) in parts.items():
        if not go_on():
            break
        if _fails_always(windows, cell, m, number, share * (1 + _SURE), go_on):
            out.append((cell, int(known[cell])))
    return out


def _wing_mass(segments: Condensed, codes: Ints) -> float:
    """Of both sides, kg."""
    numbers = segments.numbers(codes[None])[0].tolist()
    side = sum(float(segments.numbered[m][k].inertia[2, 2]) for m, k in enumerate(numbers))
    return (2.0 if segments.half else 1.0) * side


def supports_at_the_root(segments: Condensed) -> bool:
    """Whether only the first segment's supports bear anything: pins of a wing in flight bear nothing."""
    if segments.places.wing.flies:
        return True
    held = np.flatnonzero(segments._fixed) // 6
    return bool((np.abs(segments.model.structure.nodes[held, 1] - segments._cut.planes[0]) < 1e-9).all())


def _likely(segments: Condensed, known: Ints, everything: Ints, share: float) -> dict[int, tuple[int, int]]:
    """Cells, each with segment and number of the part that fails by most where it alone is open and also
    where all are; none where no part does both."""
    rows = [known]
    cells = [k for k in segments.places.free.tolist() if known[k] != everything[k]]
    for k in cells:
        rows.append(everything.copy())
        rows[-1][k] = known[k]
    used = [_used(segments, codes) for codes in rows]
    out = {}
    for k, mine in zip(cells, used[1:]):
        both = {one: min(value, used[0].get(one, 0.0)) for one, value in mine.items()}
        one = max(both, key=lambda name: both[name], default=None)
        if one is not None and both[one] > share * _WIDE:
            out[k] = one
    return dict(sorted(out.items(), key=lambda item: item[0]))


def _used(segments: Condensed, codes: Ints) -> dict[tuple[int, int], float]:
    """Shares used by the parts of `CONVEX` in a layout, by segment and number."""
    numbers = segments.numbers(codes[None])[0].tolist()
    names = segments.register.names()
    parts = [segments.numbered[m][k] for m, k in enumerate(numbers)]
    inertia, resultant = (
        np.asarray(sum(p.inertia for p in parts)),
        np.asarray(sum(p.resultant for p in parts)),
    )
    amounts = segments.loads.amounts(inertia[None], resultant[None], segments.allowed)[0]
    moves = _along(parts, amounts)
    out: dict[tuple[int, int], float] = {}
    for m, part in enumerate(parts):
        values = part.rows @ np.concatenate([moves[m], moves[m + 1]]) + part.given @ amounts
        for used in Stack([part], _last_station(segments, m)).judge(values[:, None]).used():
            for number, value in zip(used.number.tolist(), used.share[:, 0].tolist()):
                if names[number][0] in CONVEX:
                    out[m, number] = max(out.get((m, number), 0.0), value)
    return out


def _fails_always(
    windows: Windows, cell: int, m: int, number: int, share: float, go_on: Callable[[], bool]
) -> bool:
    """Whether a part fails in all layouts whose cell has its lightest choice."""
    segments = windows.segments
    n_segments = segments.n_segments
    first = next(
        (n for n in range(m + 1, n_segments + 1) if windows.least_share(m, number, windows.known, n) > share),
        None,
    )
    if first is None or cell not in np.concatenate(segments.cells[: max(m + 1, first - 2) + 1]):
        return False
    # Those with more webs have less mass left, so that a shorter window proves some.
    n = max(m + 1, first - 2)
    asked = 0
    waiting = [windows.known]
    for k in range(min(n + 1, n_segments)):
        waiting = [one for codes in waiting for one in _divided(windows, codes, k, cell)]
    while waiting:
        further = []
        for codes in waiting:
            asked += 1
            if asked > MOST_WINDOWS or not go_on():
                return False
            if windows.least_share(m, number, codes, n) <= share:
                if n == n_segments:
                    return False
                further.append(codes)
        n += 1
        last = n == n_segments
        waiting = further if last else [one for codes in further for one in _divided(windows, codes, n, cell)]
    return True


def _divided(windows: Windows, codes: Ints, k: int, cell: int) -> list[Ints]:
    """Layouts with every state of a segment's cells, of those that are light enough."""
    segments = windows.segments
    out = []
    cells = segments.cells[k]
    for one in product(
        *(
            [int(windows.known[c])] if c == cell else range(len(segments.places.cells[c].choices))
            for c in cells
        )
    ):
        row = codes.copy()
        row[cells] = one
        if windows.weight(row) <= windows.most * (1 + _TOLD / 2):
            out.append(row)
    return out


def _along(parts: list[Segment], amounts: Array) -> list[Array]:
    """Movements of the interfaces of a layout, from the root's (none) to the tip's (none)."""
    ends: list[End] = []
    for part in parts:
        ends.append(outward(ends[-1] if ends else None, part.link))
    return followed(ends[::-1], np.zeros(0), amounts)[::-1]


def _last_station(segments: Condensed, m: int) -> int:
    """Where posts hang on the next segment too; -1 at the tip."""
    if m == segments.n_segments - 1:
        return -1
    return int(np.abs(segments.model.y - segments._cut.planes[m + 1]).argmin())


def _held(stiff: Array, rigid: Array, first: int = 0) -> Array:
    """A stiffness with those of some rigid movements (n, 6) held, at freedoms from `first` on, that nothing
    holds in it: of loads in equilibrium it bears the same energy."""
    base = np.linalg.qr(rigid)[0]
    least, turn = np.linalg.eigh(base.T @ stiff @ base)
    free = base[first:] @ turn[:, least < _FREE]
    out = stiff.copy()
    if free.shape[1]:
        held = np.linalg.qr(free)[0]
        out[first:, first:] += held @ held.T
    return out


def _root(stiff: Array) -> Array:
    """Lower factor of Cholesky."""
    return np.asarray(cholesky(stiff + _SOFT * np.eye(len(stiff)), lower=True, check_finite=False))


def _solved(stiff: Array, load: Array) -> Array:
    return np.asarray(cho_solve((_root(stiff), True), load, check_finite=False))


def _left(stiff: Array, answer: Array, load: Array) -> Array:
    """Share of loads (n, m) that is left unborne, (m,): on freedoms that nothing holds."""
    size = np.maximum(np.abs(load).max(axis=0), 1e-300)
    return np.asarray(np.abs(stiff @ answer - load).max(axis=0) / size)
