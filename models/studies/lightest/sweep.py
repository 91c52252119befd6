"""Many layouts of one wing at once: tip deflection and twist, load factor at first failure, mass of webs.

Exact: each layout gives what building, solving and checking it through the ordinary door gives. The wing is
a chain of segments (`segments`); layouts that agree from the root to some rib share that half's elimination,
and those that agree outboard of it the other half's. Where the halves meet, each layout has one small dense
system of its own; from its solution the stresses of each half follow for all layouts that share it in one
product.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from fea.arrays import Array, Ints
from fea.chain import followed, inward, outward
from models.strength import post
from models.structure.model import Part
from models.studies.lightest.condensed import Condensed
from models.studies.lightest.halves import WingHalves
from models.studies.lightest.judge import END, POST, JudgedStack, Stack, joined_runs
from models.studies.lightest.places import Places, distinct
from models.studies.lightest.tables import WebRun
from models.workers import Run

_COLUMNS = 128
"""Layouts judged together: so many that numpy's calls do not count, so few that tables stay in the cache."""


@dataclass(frozen=True, eq=False)
class Evaluated:
    """What each of many layouts does.

    Parameters
    ----------
    codes : (n, n_cells) int array
        Layouts.
    load_factor : (n,) float array
        At first failure; multiples of its load for a specimen.
    number : (n,) int array
        Which mode and part fails first, an index into `names`.
    deflection, twist : (n,) float array
        Of the tip in the load case, m and rad (nose up).
    web_mass : (n,) float array
        Webs with their lapped strips, both sides of a flying wing, kg.
    names : list of (str, Part)
        Modes and parts.
    """

    codes: Ints
    load_factor: Array
    number: Ints
    deflection: Array
    twist: Array
    web_mass: Array
    names: list[tuple[str, Part]]

    def first(self, k: int) -> tuple[str, Part]:
        """Mode and part that fail first in layout k."""
        return self.names[int(self.number[k])]


class Sweep:
    """Evaluates layouts of one wing.

    Raises
    ------
    models.studies.lightest.segments.Untabulated
        The wing's mesh does not fall into bays.
    """

    at_once = 256

    def __init__(self, places: Places, *, per_bay: int = 4, threads: int = 2, run: Run | None = None) -> None:
        self.segments = Condensed(places, per_bay=per_bay)
        self.segments.run = run
        self.places, self.threads = places, threads

    def answers(self, codes: Ints, progress: Callable[[str], None] | None = None) -> Evaluated:
        """Evaluate layouts. `codes` (n, n_cells); `progress` is told before every step.

        Raises
        ------
        models.loads.pull_up.LightAeroplane
            A layout's wing is heavier than the aeroplane.
        """
        keys = self.segments.numbers(codes, progress)
        state = _Evaluation(self, codes, keys)
        for k, work in enumerate((state.meet, state.judge_inner, state.judge_outer)):
            if progress is not None:
                what = ("solving", "inner bays", "outer bays")[k]
                progress(f"{self.places.wing.name}: {what} of {len(codes)} layouts")
            jobs = state.jobs(k)
            if self.threads > 1 and len(jobs) > 8:
                with ThreadPoolExecutor(self.threads) as pool:
                    list(pool.map(work, jobs))
            else:
                for job in jobs:
                    work(job)
        return state.finished()


class _Evaluation:
    """One evaluation: halves, what was found where they meet, and the least reserves so far."""

    def __init__(self, sweep: Sweep, codes: Ints, keys: Ints) -> None:
        self.codes, self.segments = codes, sweep.segments
        n, n_segments = len(codes), sweep.segments.n_segments
        self.n = n
        self.cut = self._best_cut(keys) if n_segments > 1 else 1
        self.inner = WingHalves(self.segments, range(self.cut), outward)
        self.outer = WingHalves(self.segments, range(n_segments - 1, self.cut - 1, -1), inward)
        self.inner_of, self.outer_of = self.inner.places(keys), self.outer.places(keys)
        self.y = self.segments.model.y
        at = self.segments._cut.planes[self.cut]
        self.station = int(np.abs(self.y - at).argmin())
        self.whole = n_segments == 1
        self.runs = {half: self._runs_at_cut(half) for half in (self.inner, self.outer)}
        one, two = self.inner, self.outer
        self.amounts = self.segments.loads.amounts(
            one.inertia[self.inner_of] + two.inertia[self.outer_of],
            one.resultant[self.inner_of] + two.resultant[self.outer_of],
            self.segments.allowed,
        )
        self.moves = np.zeros((n, two.end.stiffness.shape[-1]))
        self.share, self.number = np.zeros(n), np.zeros(n, dtype=np.intp)
        self.n_ends = len(self.segments.end_names)
        self.tip = np.zeros((self.n_ends, n))
        self.by_inner = _grouped(self.inner_of, len(one))
        self.by_outer = _grouped(self.outer_of, len(two))
        self.posts: dict[str, Array] = {}
        self.kinds = sorted({k for half in self.runs.values() for runs in half for k in runs}, key=str)
        self.glue = [_GlueAtCut(n) for _ in self.kinds]

    def _best_cut(self, keys: Ints) -> int:
        n_segments = keys.shape[1]
        costs = []
        for p in range(1, n_segments):
            inner, outer = (len(distinct(part)[0]) for part in (keys[:, :p], keys[:, p:]))
            costs.append(inner * (p + 2) + outer * (n_segments - p + 2))
        return int(np.argmin(costs)) + 1

    def _runs_at_cut(self, half: WingHalves) -> list[dict[tuple, WebRun]]:
        """Webs that reach the cut, by kind, of every half."""
        if self.whole:
            return [{} for _ in range(len(half))]
        out = []
        for h in range(len(half)):
            parts = [part for _, part in half.chain(h)]
            if half is self.inner:
                touching = [r for r in joined_runs(parts[::-1]) if r.spans[-1] == self.station - 1]
            else:
                touching = [r for r in joined_runs(parts) if r.spans[0] == self.station]
            out.append({run.kind: run for run in touching})
        return out

    def jobs(self, phase: int) -> list[tuple[int, Ints]]:
        """Halves with their layouts, in portions."""
        groups = self.by_outer if phase == 2 else self.by_inner
        if phase == 2 and self.whole:
            return []
        return [
            (h, rows[k : k + _COLUMNS])
            for h, rows in enumerate(groups)
            for k in range(0, len(rows), _COLUMNS)
        ]

    def meet(self, job: tuple[int, Ints]) -> None:
        """Solve the system at the cut for layouts with one inner half."""
        h, rows = job
        if self.whole:
            return
        one, two, others = self.inner.end, self.outer.end, self.outer_of[rows]
        stiffness = one.stiffness[h] + two.stiffness[others]
        load = one.load[h] + two.load[others]
        right = load @ self.amounts[rows][:, :, None]
        self.moves[rows] = np.linalg.solve(stiffness, right)[:, :, 0]

    # ---- judging --------------------------------------------------------------------------------------

    def judge_inner(self, job: tuple[int, Ints]) -> None:
        """Judge the segments inboard of the cut."""
        self._judge(self.inner, job, -1 if self.whole else self.station, first=True)

    def judge_outer(self, job: tuple[int, Ints]) -> None:
        """Judge the segments outboard of the cut."""
        self._judge(self.outer, job, -1, first=False)

    def _judge(self, half: WingHalves, job: tuple[int, Ints], cut: int, *, first: bool) -> None:
        h, rows = job
        amounts, chain = self.amounts[rows].T, half.chain(h)
        moves = followed([end for end, _ in chain], self.moves[rows].T, amounts)
        parts = [part for _, part in chain]
        if first:
            moves.reverse()
            parts.reverse()
        values = [
            part.rows @ np.concatenate([moves[k], moves[k + 1]]) + part.given @ amounts
            for k, part in enumerate(parts)
        ]
        for part, value in zip(parts, values):
            self.tip[:, rows] += value[part.first["ends"] :]
        stack = Stack(parts, cut)
        judged = stack.judge(np.concatenate(values))
        share, number = self.share[rows], self.number[rows]

        def take(numbers: Ints, shares: Array) -> None:
            nonlocal share, number
            if not len(shares):
                return
            worst = shares.argmax(axis=0)
            most = shares[worst, np.arange(shares.shape[1])]
            more = most > share
            share, number = np.where(more, most, share), np.where(more, numbers[worst], number)

        for used in judged.used():
            take(used.number, used.share)
        self._ends_of_runs(stack, judged, rows, h, take, first=first)
        combined = judged.combined(share)
        if combined is not None:
            take(combined.number, combined.share)
        self.share[rows], self.number[rows] = share, number
        if not self.whole:
            self._posts_at_cut(stack, judged, rows, first=first)

    def _posts_at_cut(self, stack: Stack, judged: JudgedStack, rows: Ints, *, first: bool) -> None:
        """Keep what posts at the cut need of this side."""
        store = self.posts
        if first:
            table = stack.table.get("posts")
            if not table:
                return
            at = np.flatnonzero(table["station"] == self.station)
            if not len(at):
                return
            axial, moment, pressed = judged.posts(at_cut=True)
            for name, value in (
                ("axial", axial[at]),
                ("moment", moment[at]),
                ("pressed", pressed[at]),
                ("open", np.repeat(stack.next_to_open[at][:, None], len(rows), axis=1)),
            ):
                self._kept(name, len(at))[:, rows] += value
            store.setdefault("spars", table["spar"][at])
            for name in ("tear", "crush", "bend", POST):
                store.setdefault(name, table[name][at])
            return
        sides = stack.table.get("post sides")
        if not sides or "spars" not in store:
            return
        for k in np.flatnonzero((stack.post_of < 0) & (sides["station"] == self.station)):
            p = int(np.flatnonzero(store["spars"] == sides["spar"][k])[0])
            store["pressed"][p, rows] += judged.press[sides["press"][k]] * sides["weight"][k]
            store["open"][p, rows] += float(sides["open"][k])

    def _kept(self, name: str, count: int) -> Array:
        return self.posts.setdefault(name, np.zeros((count, self.n)))

    def _ends_of_runs(
        self, stack: Stack, judged: JudgedStack, rows: Ints, h: int, take: Callable, *, first: bool
    ) -> None:
        """Glue at the ends of webs: runs within this half at once, those that reach the cut in part."""
        every = np.arange(len(rows))
        for run in stack.runs:
            touching = self.runs[self.inner if first else self.outer][h].get(run.kind)
            if touching is None or touching.spans != run.spans:
                take(*self._run(stack, judged, run, run.spans, every, None))
                continue
            slot = self.glue[self.kinds.index(run.kind)]
            others = self.outer_of[rows] if first else self.inner_of[rows]
            runs = self.runs[self.outer if first else self.inner]
            partners = np.array(
                [
                    (p.spans[-1] if first else p.spans[0]) if (p := runs[o].get(run.kind)) else -1
                    for o in others
                ]
            )
            numbers, shares = [], []
            for partner in np.unique(partners).tolist():
                columns = np.flatnonzero(partners == partner)
                if partner < 0:
                    found = self._run(stack, judged, run, run.spans, columns, None)
                    if len(found[0]):
                        full = np.zeros((len(found[0]), len(rows)))
                        full[:, columns] = found[1]
                        numbers.append(found[0])
                        shares.append(full)
                    continue
                spans = (
                    (*run.spans, *range(run.spans[-1] + 1, partner + 1))
                    if first
                    else (*range(partner, run.spans[0]), *run.spans)
                )
                self._run(stack, judged, run, spans, columns, (slot, rows))
            if numbers:
                take(np.concatenate(numbers), np.concatenate(shares))

    def _run(
        self,
        stack: Stack,
        judged: JudgedStack,
        run: WebRun,
        spans: tuple[int, ...],
        columns: Ints,
        store: tuple[_GlueAtCut, Ints] | None,
    ) -> tuple[Ints, Array]:
        """Shares of strength at both ends of a run over `spans`, of which this stack has `run`; with a
        store only what this stack knows is written down."""
        table = stack.table["webs"]
        element = dict(zip(run.spans, run.elements))
        numbers, shares = [], []
        for end in ends_of(self.y, spans, self.segments.places.wing.semispan):
            at, middle = element.get(end.span), element.get(end.middle)
            if store is not None:
                slot, rows = store
                slot.write(
                    end.inboard,
                    rows[columns],
                    end.length,
                    None if at is None else judged.end_flow(at)[columns],
                    None if at is None else table["glue"][at],
                    None if at is None else int(table[END][at]),
                    None if middle is None else judged.end_force(middle)[:, columns],
                )
                continue
            assert at is not None
            assert middle is not None
            numbers.append(int(table[END][at]))
            shares.append(judged.end_share(at, middle, end.length, inboard=end.inboard)[columns])
        return np.array(numbers, dtype=np.intp), np.array(shares).reshape(len(numbers), len(columns))

    # ---- the end --------------------------------------------------------------------------------------

    def finished(self) -> Evaluated:
        """Modes that straddle the cut, and the answers."""
        if "spars" in self.posts:
            kept = self.posts
            moment = np.where(kept["open"] > 0, kept["moment"], 0.0)
            unit = (kept[name][:, None] for name in ("tear", "crush", "bend"))
            share = post.shares(kept["axial"], moment, kept["pressed"], *unit)
            self._take(share.max(axis=0), kept[POST][share.argmax(axis=0)])
        for slot in self.glue:
            for side in (True, False):
                if side in slot.known:
                    self._take(*slot.shares(side))
        segments = self.segments
        names = segments.end_names
        tips, twist = self.tip[:-1], self.tip[-1]
        far = np.abs(tips).argmax(axis=0)
        sides = 2.0 if segments.half else 1.0
        mass = self.inner.web_mass[self.inner_of] + self.outer.web_mass[self.outer_of]
        assert names[-1] == "twist"
        with np.errstate(divide="ignore"):
            factor = np.where(self.share > 0, segments.loads.load_factor / self.share, np.inf)
        return Evaluated(
            self.codes,
            factor,
            self.number,
            tips[far, np.arange(self.n)],
            twist,
            sides * mass,
            segments.register.names(),
        )

    def _take(self, share: Array, number: Ints) -> None:
        more = share > self.share
        self.share = np.where(more, share, self.share)
        self.number = np.where(more, number, self.number)


class _GlueAtCut:
    """One kind of web that crosses the cut: what both halves know of its two ends."""

    def __init__(self, n: int) -> None:
        self.n = n
        self.known: dict[bool, dict[str, Array]] = {}

    def write(
        self,
        inboard: bool,
        rows: Ints,
        length: float,
        flow: Array | None,
        glue: Array | None,
        number: int | None,
        force: Array | None,
    ) -> None:
        """Write down what one half knows of some layouts."""
        if inboard not in self.known:
            self.known[inboard] = {
                "length": np.ones(self.n),
                "flow": np.zeros(self.n),
                "glue": np.full((2, self.n), np.inf),
                "number": np.zeros(self.n),
                "force": np.zeros((2, self.n)),
            }
        kept = self.known[inboard]
        kept["length"][rows] = length
        if flow is not None and glue is not None and number is not None:
            kept["flow"][rows], kept["glue"][:, rows], kept["number"][rows] = flow, glue[:, None], number
        if force is not None:
            kept["force"][:, rows] = force

    def shares(self, inboard: bool) -> tuple[Array, Ints]:
        """Share of strength and number of mode and part of all layouts, 0 where there is no such run."""
        kept = self.known[inboard]
        force = kept["force"] / kept["length"]
        total = force + kept["flow"] if inboard else np.abs(force - kept["flow"])
        return (total / kept["glue"]).max(axis=0), kept["number"].astype(np.intp)


@dataclass(frozen=True)
class RunEnd:
    """An end of a run of webs: its span, the span half way along, which end, and the length to the middle."""

    span: int
    middle: int
    inboard: bool
    length: float


def ends_of(y: Array, spans: tuple[int, ...], semispan: float) -> list[RunEnd]:
    """Ends of a run of webs, as `models.strength.glue_ends.web_ends` finds them on half a wing or a specimen.
    By the mesh stations `y` (n_stations,), m, the spans that the run covers, and the semispan, m."""
    left, right = float(y[spans[0]]), float(y[spans[-1] + 1])
    held = abs(left) < 1e-9
    length = right - left if held else (right - left) / 2
    out = []
    for low in (True, False):
        end = left if low else right
        if (low and held) or abs(end) > semispan - 1e-9:
            continue
        inward = end + (1 if low else -1) * (1 - 1e-6) * length
        middle = int(np.clip(np.searchsorted(y, inward) - 1, spans[0], spans[-1]))
        out.append(RunEnd(spans[0] if low else spans[-1], middle, low, length))
    return out


def _grouped(of: Ints, count: int) -> list[Ints]:
    order = np.argsort(of, kind="stable")
    bounds = np.searchsorted(of[order], np.arange(count + 1))
    return [order[bounds[k] : bounds[k + 1]] for k in range(count)]
