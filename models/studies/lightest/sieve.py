"""Which of very many layouts fail at a load, without the rest of their answers.

The wing is cut at one rib. Every different half inboard and outboard of it is condensed once, level by level,
and kept; a layout is one half of each, and its movements follow from one small system at the cut. Segments
are judged one after the other, those first that threw out most so far, and a layout is thrown out by the
first mode that fails: exactly the formulas and figures of `sweep`, only not all of them. What stays need not
hold: modes of two segments (a rib's post, glue at the ends of a run of webs) are not asked here, so that it
is evaluated whole.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.chain import End, Link, inward, outward
from models.studies.lightest.condensed import Condensed
from models.studies.lightest.judge import Stack

Marks = NDArray[np.bool_]

_SURE = 1e-7
"""Nearer than this to the limit nothing is thrown out: rounding differs with the order of the sums."""
_AT_ONCE = 2.0e8
"""Bytes of movements that one thread holds."""
_COLUMNS = 512
"""Layouts judged together."""
_KEPT = 1.5e9
"""Bytes of condensed halves that are kept."""


class _Level:
    """Halves that end at one rib: what lies beyond as its interface feels it, a row each, in arrays that
    double when they are full."""

    def __init__(self) -> None:
        self.numbers: dict[int, int] = {}
        self._arrays: list[Array] = []

    def add(self, keys: Ints, end: End, inertia: Array, resultant: Array) -> None:
        """More halves; `keys` name them."""
        start, stop = len(self.numbers), len(self.numbers) + len(keys)
        fresh = [end.stiffness, end.load, end.follow, end.own, inertia, resultant]
        if not self._arrays:
            self._arrays = [np.empty((0, *rows.shape[1:])) for rows in fresh]
        if stop > len(self._arrays[0]):
            self._arrays = [_longer(rows, start, 2 * stop) for rows in self._arrays]
        for rows, new in zip(self._arrays, fresh):
            rows[start:stop] = new
        self.numbers.update(zip(keys.tolist(), range(start, stop)))

    def joined(self) -> tuple[End, Array, Array]:
        """All, with their inertia (n, 6, 6) and resultant (n, 6, n_columns)."""
        stiffness, load, follow, own, inertia, resultant = (a[: len(self.numbers)] for a in self._arrays)
        return End(stiffness, load, follow, own), inertia, resultant

    def bytes(self) -> float:
        """Taken by all halves."""
        return float(sum(rows[: len(self.numbers)].nbytes for rows in self._arrays))


def _longer(rows: Array, many: int, room: int) -> Array:
    out = np.empty((room, *rows.shape[1:]))
    out[:many] = rows[:many]
    return out


class Sieve:
    """Throws out layouts that fail.

    Parameters
    ----------
    segments : Condensed
        The wing's.
    load_factor : float
        That must be borne; multiples of its load for a specimen.
    deflection, twist : float or None
        Greatest size at the tip in the load case, m and rad.
    threads : int
        Side by side.
    """

    def __init__(
        self,
        segments: Condensed,
        load_factor: float,
        *,
        deflection: float | None = None,
        twist: float | None = None,
        threads: int = 2,
    ) -> None:
        self.segments, self.threads = segments, threads
        self.most = segments.loads.load_factor / load_factor * (1 + _SURE)
        self.tips = (deflection, twist)
        n = segments.n_segments
        self.cut = self._balanced_cut()
        self._stacks: list[list[Stack]] = [[] for _ in range(n)]
        self._clear()
        self.thrown, self.asked = np.ones(n), np.ones(n)

    def _clear(self) -> None:
        n = self.segments.n_segments
        self.inner = [_Level() for _ in range(self.cut)]
        self.outer = [_Level() for _ in range(n - self.cut)]

    def _balanced_cut(self) -> int:
        """So that both halves come in about as many kinds."""
        if self.segments.n_segments < 2:
            return 1
        cells = self.segments.places.cells
        states = [float(np.prod([len(cells[k].choices) for k in some])) for some in self.segments.cells]
        kinds = np.log(np.array(states))
        return 1 + int(np.abs(2 * np.cumsum(kinds)[:-1] - kinds.sum()).argmin())

    def _last_station(self, m: int) -> int:
        """Where posts hang on the next segment too; -1 at the tip."""
        if m == self.segments.n_segments - 1:
            return -1
        return int(np.abs(self.segments.model.y - self.segments._cut.planes[m + 1]).argmin())

    # ---- halves ---------------------------------------------------------------------------------------

    def _halves(self, numbers: Ints) -> tuple[list[Ints], list[Ints]]:
        """Numbers of all beginnings of the inner halves, and of the outer ones, of layouts."""
        taken = sum(level.bytes() for level in (*self.inner, *self.outer))
        if taken > _KEPT:
            self._clear()
        out: list[list[Ints]] = []
        for levels, order, step in (
            (self.inner, range(self.cut), outward),
            (self.outer, range(self.segments.n_segments - 1, self.cut - 1, -1), inward),
        ):
            place = np.zeros(len(numbers), dtype=np.intp)
            places: list[Ints] = []
            before: _Level | None = None
            for level, m in zip(levels, order):
                name = place * (1 << 20) + numbers[:, m]
                different, at, back = np.unique(name, return_index=True, return_inverse=True)
                fresh = np.array([one not in level.numbers for one in different.tolist()])
                if fresh.any():
                    self._grow(
                        level, before, m, different[fresh], place[at][fresh], numbers[at, m][fresh], step
                    )
                place = np.array([level.numbers[one] for one in different.tolist()])[back.ravel()]
                places.append(place)
                before = level
            out.append(places)
        return out[0], out[1]

    def _grow(
        self,
        level: _Level,
        before: _Level | None,
        m: int,
        names: Ints,
        parents: Ints,
        kinds: Ints,
        step: Callable[[End | None, Link], End],
    ) -> None:
        for kind in np.unique(kinds).tolist():
            mine = np.flatnonzero(kinds == kind)
            segment = self.segments.numbered[m][kind]
            if before is None:
                end = step(None, segment.link)
                end = End(*(a[None] for a in (end.stiffness, end.load, end.follow, end.own)))
                inertia, resultant = segment.inertia[None], segment.resultant[None]
            else:
                far, heavy, loaded = before.joined()
                at = parents[mine]
                end = step(End(far.stiffness[at], far.load[at], far.follow[at], far.own[at]), segment.link)
                inertia, resultant = heavy[at] + segment.inertia, loaded[at] + segment.resultant
            level.add(names[mine], end, inertia, resultant)

    # ---- judging --------------------------------------------------------------------------------------

    def failing(self, codes: Ints) -> Marks:
        """Which layouts are sure to miss a limit.

        Parameters
        ----------
        codes : (n, n_cells) int array
            Layouts.

        Returns
        -------
        (n,) bool array
            Where False, nothing is known.

        Raises
        ------
        models.loads.pull_up.LightAeroplane
            A layout's wing is heavier than the aeroplane.
        """
        if self.segments.n_segments < 2:
            return np.zeros(len(codes), dtype=bool)
        numbers = self.segments.numbers(codes)
        for m, (stacks, known) in enumerate(zip(self._stacks, self.segments.numbered)):
            stacks += [Stack([one], self._last_station(m)) for one in known[len(stacks) :]]
        inner, outer = self._halves(numbers)
        widths = [len(self.segments.numbered[m][0].link.stiffness) for m in range(self.segments.n_segments)]
        portion = max(256, int(_AT_ONCE / (8 * sum(widths))))
        # Layouts of one inner half, then of one outer half, side by side: fewer and larger products.
        order = np.lexsort((outer[-1], inner[-1]))
        jobs = [order[k : k + portion] for k in range(0, len(order), portion)]
        out = np.zeros(len(codes), dtype=bool)

        def work(rows: Ints) -> None:
            out[rows] = self._portion(
                numbers[rows], [place[rows] for place in inner], [place[rows] for place in outer]
            )

        if self.threads > 1 and len(jobs) > 1:
            with ThreadPoolExecutor(self.threads) as pool:
                list(pool.map(work, jobs))
        else:
            for rows in jobs:
                work(rows)
        return out

    def _portion(self, numbers: Ints, inner: list[Ints], outer: list[Ints]) -> Marks:
        one, two = self.inner[-1].joined(), self.outer[-1].joined()
        i, o = inner[-1], outer[-1]
        amounts = self.segments.loads.amounts(
            one[1][i] + two[1][o], one[2][i] + two[2][o], self.segments.allowed
        )
        meeting = np.zeros((len(numbers), one[0].stiffness.shape[-1]))
        for k in range(0, len(numbers), 2048):
            some = slice(k, k + 2048)
            a, b = i[some], o[some]
            right = (one[0].load[a] + two[0].load[b]) @ amounts[some][:, :, None]
            meeting[some] = np.linalg.solve(one[0].stiffness[a] + two[0].stiffness[b], right)[:, :, 0]
        alive = np.arange(len(numbers))
        inside = [np.zeros((len(numbers), 0))] * self.segments.n_segments
        if any(limit is not None for limit in self.tips):
            low = self._moves(inner, self.inner, meeting, amounts)
            high = self._moves(outer, self.outer, meeting, amounts)
            both = [*reversed(low), *high[1:]]
            inside = [np.concatenate(pair, axis=1) for pair in pairwise(both)]
            alive = alive[~self._bent(numbers, inside, amounts)]
        for half in (0, 1):
            if not len(alive):
                break
            places, levels = ((inner, self.inner), (outer, self.outer))[half]
            moves = self._moves([p[alive] for p in places], levels, meeting[alive], amounts[alive])
            chain = moves[::-1] if half == 0 else moves
            first = 0 if half == 0 else self.cut
            alive = self._judged(numbers, amounts, alive, chain, first)
        out = np.ones(len(numbers), dtype=bool)
        out[alive] = False
        return out

    @staticmethod
    def _moves(places: list[Ints], levels: list[_Level], meeting: Array, amounts: Array) -> list[Array]:
        """Movements of the interfaces from the cut on to the root or the tip, (n, n_freedoms) each."""
        moves = [meeting]
        for place, level in zip(reversed(places), reversed(levels)):
            end = level.joined()[0]
            out = np.empty((len(meeting), end.own.shape[1]))
            order = np.argsort(place, kind="stable")
            edges = np.flatnonzero(np.diff(place[order], prepend=-1, append=-1))
            for start, stop in zip(edges[:-1].tolist(), edges[1:].tolist()):
                rows = order[start:stop]
                k = place[rows[0]]
                out[rows] = amounts[rows] @ end.own[k].T - moves[-1][rows] @ end.follow[k].T
            moves.append(out)
        return moves

    def _bent(self, numbers: Ints, inside: list[Array], amounts: Array) -> Marks:
        """Which layouts bend or twist too far."""
        ends = np.zeros((len(numbers), len(self.segments.end_names)))
        for m, moves in enumerate(inside):
            for kind in np.unique(numbers[:, m]).tolist():
                rows = np.flatnonzero(numbers[:, m] == kind)
                segment = self.segments.numbered[m][kind]
                start = segment.first["ends"]
                ends[rows] += moves[rows] @ segment.rows[start:].T + amounts[rows] @ segment.given[start:].T
        deflection, twist = self.tips
        out = np.zeros(len(numbers), dtype=bool)
        if deflection is not None:
            out |= np.abs(ends[:, :-1]).max(axis=1) > deflection * (1 + _SURE)
        if twist is not None:
            out |= np.abs(ends[:, -1]) > twist * (1 + _SURE)
        return out

    def _judged(self, numbers: Ints, amounts: Array, alive: Ints, chain: list[Array], first: int) -> Ints:
        """Layouts of those alive that the segments from `first` on leave standing."""
        here = np.arange(len(alive))
        count = len(chain) - 1
        order = np.argsort(-self.thrown[first : first + count] / self.asked[first : first + count])
        for k in order.tolist():
            m = first + k
            kinds = numbers[alive[here], m]
            standing = np.zeros(len(here), dtype=bool)
            rank = np.argsort(kinds, kind="stable")
            edges = np.flatnonzero(np.diff(kinds[rank], prepend=-1, append=-1))
            for start, stop in zip(edges[:-1].tolist(), edges[1:].tolist()):
                for c in range(start, stop, _COLUMNS):
                    some = rank[c : min(c + _COLUMNS, stop)]
                    rows = here[some]
                    kind = int(kinds[some[0]])
                    segment = self.segments.numbered[m][kind]
                    ends = np.concatenate([chain[k][rows], chain[k + 1][rows]], axis=1)
                    values = segment.rows @ ends.T + segment.given @ amounts[alive[rows]].T
                    standing[some] = ~self._overloaded(self._stacks[m][kind], values)
            self.asked[m] += len(here)
            self.thrown[m] += len(here) - int(standing.sum())
            here = here[standing]
            if not len(here):
                break
        return alive[here]

    def _overloaded(self, stack: Stack, values: Array) -> Marks:
        judged = stack.judge(values)
        out = np.zeros(values.shape[1], dtype=bool)
        for used in judged.used():
            if len(used.share):
                out |= used.share.max(axis=0) > self.most
                if out.all():
                    return out
        # A mode that would only throw out what is thrown out already is not asked.
        combined = judged.combined(np.where(out, np.inf, self.most))
        if combined is not None:
            out |= combined.share.max(axis=0) > self.most
        return out
