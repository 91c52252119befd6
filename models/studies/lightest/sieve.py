"""Which of very many layouts fail at a load, without the rest of their answers.

The wing is cut at one rib. Every different half inboard and outboard of it is condensed once, level by level,
and kept; a layout is one half of each, and its movements follow from one small system at the cut. Segments
are judged one after the other, those first that threw out most so far, and a layout is thrown out by the
first mode that fails: exactly the formulas and figures of `sweep`, only not all of them. What stays need not
hold: modes of two segments (a rib's post, glue at the ends of a run of webs) are not asked here, so that it
is evaluated whole.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.chain import inward, outward
from models.studies.lightest.condensed import Condensed
from models.studies.lightest.halves import WingHalves
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
        self.inner = WingHalves(segments, range(self.cut), outward)
        self.outer = WingHalves(segments, range(n - 1, self.cut - 1, -1), inward)
        self.thrown, self.asked = np.ones(n), np.ones(n)

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

    def _halves(self, numbers: Ints) -> tuple[Ints, Ints]:
        """Which inner and outer half layouts have, (n,) each."""
        if self.inner.bytes() + self.outer.bytes() > _KEPT:
            self.inner.clear()
            self.outer.clear()
        return self.inner.places(numbers), self.outer.places(numbers)

    # ---- judging --------------------------------------------------------------------------------------

    def failing(self, codes: Ints) -> Marks:
        """Which layouts are sure to miss a limit. Of `codes` (n, n_cells), (n,): where False, nothing is
        known.

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
        order = np.lexsort((outer, inner))
        jobs = [order[k : k + portion] for k in range(0, len(order), portion)]
        out = np.zeros(len(codes), dtype=bool)

        def work(rows: Ints) -> None:
            out[rows] = self._portion(numbers[rows], inner[rows], outer[rows])

        if self.threads > 1 and len(jobs) > 1:
            with ThreadPoolExecutor(self.threads) as pool:
                list(pool.map(work, jobs))
        else:
            for rows in jobs:
                work(rows)
        return out

    def _portion(self, numbers: Ints, inner: Ints, outer: Ints) -> Marks:
        amounts = self.segments.loads.amounts(
            self.inner.inertia[inner] + self.outer.inertia[outer],
            self.inner.resultant[inner] + self.outer.resultant[outer],
            self.segments.allowed,
        )
        one, two = self.inner.end, self.outer.end
        meeting = np.zeros((len(numbers), one.stiffness.shape[-1]))
        for k in range(0, len(numbers), 2048):
            some = slice(k, k + 2048)
            a, b = inner[some], outer[some]
            right = (one.load[a] + two.load[b]) @ amounts[some][:, :, None]
            meeting[some] = np.linalg.solve(one.stiffness[a] + two.stiffness[b], right)[:, :, 0]
        alive = np.arange(len(numbers))
        inside = [np.zeros((len(numbers), 0))] * self.segments.n_segments
        if any(limit is not None for limit in self.tips):
            low = self.inner.moves(inner, meeting, amounts)
            high = self.outer.moves(outer, meeting, amounts)
            both = [*reversed(low), *high[1:]]
            inside = [np.concatenate(pair, axis=1) for pair in pairwise(both)]
            alive = alive[~self._bent(numbers, inside, amounts)]
        for half, places, first in ((self.inner, inner, 0), (self.outer, outer, self.cut)):
            if not len(alive):
                break
            moves = half.moves(places[alive], meeting[alive], amounts[alive])
            chain = moves[::-1] if half is self.inner else moves
            alive = self._judged(numbers, amounts, alive, chain, first)
        out = np.ones(len(numbers), dtype=bool)
        out[alive] = False
        return out

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
