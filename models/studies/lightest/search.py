"""The lightest layout of webs that meets a builder's limits, and what each gram buys.

Where there are few enough layouts each is evaluated (`sweep`), exactly as building and checking it would, so
that the lightest of those that meet every limit is the lightest there is, and the front of mass against
strength or stiffness is the whole front. Reserve factors do not grow with every web (a stiffer web draws
load, a web that ends presses its glue), so that no bound on them is used.

Where there are more, layouts are asked in order of their mass: webs' masses add up cell by cell, and sums of
sorted lists can be drawn in rising order, in portions that grow. Most of a portion is thrown out by the first
mode that fails (`sieve`); what is left is evaluated. The first that meets every limit is the lightest, since
all that are lighter fail; until it comes, the mass reached is a lower bound. Before, the best layout known is
improved by changing one bay at a time, then two, and, where one spar alone is free, by differential
evolution.

Sources: Lawler, A procedure for computing the K best solutions to discrete optimization problems, Management
Science 18, 1972; Storn and Price, Differential evolution, Journal of Global Optimization 11, 1997 (both from
memory).
"""

from __future__ import annotations

import heapq
import itertools
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from models import units_out as say
from models.structure.model import Part
from models.studies.lightest.held import held, holds
from models.studies.lightest.needed import ruled_out
from models.studies.lightest.places import Faces, Places, changed, places
from models.studies.lightest.plain import PlainSweep, cell_masses
from models.studies.lightest.segments import Untabulated
from models.studies.lightest.sieve import Sieve
from models.studies.lightest.sweep import Evaluated, Sweep
from models.system import told_to_end
from models.verdict import Verdict
from models.wing.parts import Wing
from models.workers import Run

Tell = Callable[[str], None] | None

MOST_EVALUATED = 300_000
"""Layouts that are all evaluated; more are searched."""
MOST_ONE_BY_ONE = 260
"""The same where each must be built: four free bays."""
SECONDS = 120.0
"""Time for a search that cannot evaluate all layouts, unless another is given."""
SEED = 60427
"""Of differential evolution and of scatter; drawn once."""
MOST_FLOWN = 12
"""Layouts whose speed is worked out, about a second each: a choice."""
STREAMED = 4096
"""Layouts asked in order of their mass before it is looked for what none of the rest can do without."""
_TO_RULE = 0.8
"""Share of the time left that looking for them may take."""
_ROUNDING = 1e-9
_PAIRS_AT_MOST = 3000
_LARGEST_PORTION = 1 << 18


@dataclass(frozen=True)
class Stock:
    """Sheets at hand of one thickness (and wood, if it is named): `area` of all of them, m2."""

    thickness: float
    area: float
    wood: str = ""
    words: str = ""


@dataclass(frozen=True)
class Limits:
    """What the builder asks of a layout.

    Parameters
    ----------
    load_factor : float
        At which nothing may fail (multiples of its load for a specimen).
    survival : float or None
        Share of wings, their wood scattered, that must bear it; None: the wing with its woods as in the
        tables.
    deflection, twist : float or None
        Greatest size at the tip in the file's load case, m and rad.
    web_mass : float or None
        Greatest mass of webs, kg.
    stock : tuple of Stock
        Sheets at hand; woods and thicknesses that are not named are not limited.
    runs : bool
        On each face of each spar a web once ended is not begun again outboard.
    speed : float or None
        At which it is to be flown, m/s, five sixths at most of that of flutter and the like.
    """

    load_factor: float
    survival: float | None = None
    deflection: float | None = None
    twist: float | None = None
    web_mass: float | None = None
    stock: tuple[Stock, ...] = ()
    runs: bool = False
    speed: float | None = None


@dataclass(frozen=True, eq=False)
class Candidate:
    """A layout and what it does.

    Parameters
    ----------
    codes : (n_cells,) int array
        Number of the choice of every cell.
    faces : dict of (spar, bay) to tuple of str
        Faces that carry webs.
    web_mass : float
        Both sides of a flying wing, kg.
    load_factor : float
        At first failure as built, all sheeting whole; of a specimen a multiple of its load.
    mode : str
        How that part fails.
    part : Part
        What fails first.
    deflection, twist : float
        At the tip in the file's load case, m and rad (nose up).
    survival : float or None
        Share of wings, their wood scattered, that bear the load; None where it was not asked for.
    survival_interval : (float, float) or None
        Where that share lies with 95 %.
    verdict : Verdict or None
        On the wing with this layout, where it was judged whole (`models.studies.lightest.held`).
    """

    codes: Ints
    faces: dict[tuple[str, int], Faces]
    web_mass: float
    load_factor: float
    mode: str
    part: Part
    deflection: float
    twist: float
    survival: float | None = None
    survival_interval: tuple[float, float] | None = None
    verdict: Verdict | None = None


@dataclass(frozen=True, eq=False)
class Lightest:
    """What was found.

    Parameters
    ----------
    places : Places
        Cells and their choices.
    limits : Limits
        As asked.
    best : Candidate or None
        Lightest layout that meets every limit, None where none of those evaluated does.
    nominal : Candidate or None
        The same with woods as in the tables, whatever share of wings may be asked for.
    own, everything : Candidate
        The file's layout, and webs on every face of every free cell.
    strength, stiffness, twisting : tuple of Candidate
        Fronts, the lightest first: no layout evaluated is both lighter and stronger (bends less, twists
        less). Where not all are evaluated, one that was thrown out may be.
    evaluated, total : int
        Layouts evaluated, and layouts that there are under the rule of runs.
    proven : bool
        No layout lighter than `nominal` meets the limits (that on scatter aside).
    lower_bound : float
        No layout lighter than this meets the limits, kg; the mass of `nominal` where it is proven.
    thrown : int
        Layouts besides those evaluated that were thrown out by the first mode found to fail.
    tabulated : bool
        The wing falls into bays; else each layout was built, solved and checked.
    tried : tuple of Candidate
        Layouts whose survival was worked out.
    fast : tuple of (Candidate, float)
        Layouts whose speed was worked out, with the fastest that each may be flown, m/s.
    judged : tuple of Candidate
        Layouts of a flying wing that were judged whole, in their order.
    stopped : bool
        The search was interrupted, and this is the best that it had found.
    needed : tuple of (str, int)
        Spars and bays where no layout that meets the limits and is as light as `nominal` does without a web
        (of the choices there without the lightest).
    """

    places: Places
    limits: Limits
    best: Candidate | None
    nominal: Candidate | None
    own: Candidate
    everything: Candidate
    strength: tuple[Candidate, ...]
    stiffness: tuple[Candidate, ...]
    twisting: tuple[Candidate, ...]
    evaluated: int
    total: int
    proven: bool
    lower_bound: float
    thrown: int = 0
    tabulated: bool = True
    tried: tuple[Candidate, ...] = ()
    fast: tuple[tuple[Candidate, float], ...] = ()
    judged: tuple[Candidate, ...] = ()
    stopped: bool = False
    needed: tuple[tuple[str, int], ...] = ()


@dataclass
class _Answers:
    """All answers so far; how many layouts were thrown out, below which mass (kg) none does it, whether the
    best is proven, and cells and choices that no lighter one has that holds, None where not asked."""

    answers: list[Evaluated] = field(default_factory=list)
    known: set[bytes] = field(default_factory=set)
    thrown: int = 0
    bound: float = 0.0
    proven: bool = False
    ruled: list[tuple[int, int]] | None = None

    def joined(self) -> Evaluated:
        first = self.answers[0]
        if len(self.answers) > 1:
            parts = self.answers
            names = ("codes", "load_factor", "number", "deflection", "twist", "web_mass")
            joined: Any = {name: np.concatenate([getattr(a, name) for a in parts]) for name in names}
            first = replace(parts[-1], **joined)
            self.answers = [first]
        return first


def lightest(
    wing: Wing,
    limits: Limits,
    *,
    free: tuple[tuple[str, int], ...] | None = None,
    per_bay: int = 4,
    most_evaluated: int = MOST_EVALUATED,
    seconds: float = SECONDS,
    progress: Tell = None,
    run: Run | None = None,
) -> Lightest:
    """Look for the lightest layout of webs.

    Parameters
    ----------
    wing : Wing
        The drawing; its two sides alike.
    limits : Limits
        What the layout must do.
    free : tuple of (spar, bay) or None
        Cells that may choose, None for all; the others keep the file's webs.
    per_bay : int
        Elements along a bay.
    most_evaluated : int
        Where there are no more layouts than this, all are evaluated.
    seconds : float
        For a search that cannot evaluate all.
    progress : callable or None
        Told before every step.
    run : Run or None
        Who builds, and judges what is found (`models.workers`); None: this process.

    Returns
    -------
    Lightest

    Raises
    ------
    models.studies.lightest.places.Asymmetric
        The wing is none for this study.
    models.loads.pull_up.LightAeroplane
        A layout's wing is heavier than the aeroplane.

    Examples
    --------
    >>> import sparbay
    >>> wing = sparbay.read("spar-box")
    >>> limits = sparbay.Limits(load_factor=1, deflection=1.0, twist=0.5)
    >>> found = sparbay.lightest(wing, limits, free=(("spar", 1), ("spar", 2)), per_bay=1)
    >>> found.proven, found.total
    (True, 16)
    >>> found.best.web_mass < found.own.web_mass  # kg
    True
    """
    where = places(wing, free)
    try:
        sweep: Sweep | PlainSweep = Sweep(where, per_bay=per_bay, run=run)
        result = _lightest(where, sweep, limits, per_bay, most_evaluated, seconds, progress, run)
    except Untabulated:
        sweep = PlainSweep(where, per_bay=per_bay)
        most_evaluated = min(most_evaluated, MOST_ONE_BY_ONE)
        result = _lightest(where, sweep, limits, per_bay, most_evaluated, seconds, progress, run)
    if limits.speed is not None:
        return _fast_enough(result, per_bay, progress, run)
    return _strong_enough(result, per_bay, progress, run) if wing.flies else result


def _lightest(
    where: Places,
    sweep: Sweep | PlainSweep,
    limits: Limits,
    per_bay: int,
    most_evaluated: int,
    seconds: float,
    progress: Tell,
    run: Run | None,
) -> Lightest:
    options = _options(where, limits, per_bay)
    total = options.count()
    pool = _Answers()
    everything = _everything(where)
    stopped = False
    if total <= most_evaluated:
        rows = options.every()
        rows = rows[options.fits(rows)]
        _evaluate(sweep, pool, np.concatenate([np.stack([where.own, everything]), rows]), progress)
        found = pool.joined()
        judged = slice(2, None)
        best = _best(found, limits, np.arange(len(found.codes))[judged])
        pool.proven = True
    else:
        try:
            _search(where, sweep, options, limits, pool, everything, seconds, progress)
        except KeyboardInterrupt:
            if told_to_end() or not pool.answers:
                raise
            stopped = True
        found = pool.joined()
        best = _best(found, limits, np.flatnonzero(options.fits(found.codes) & options.ruled(found.codes)))
    if pool.proven:
        pool.bound = float("inf") if best is None else float(found.web_mass[best])
    counted = np.flatnonzero(options.fits(found.codes) & options.ruled(found.codes))
    fronts = [
        tuple(_candidate(where, found, k) for k in _front(found.web_mass, worth, counted))
        for worth in (found.load_factor, -np.abs(found.deflection), -np.abs(found.twist))
    ]
    lightest_found = None if best is None else _candidate(where, found, best)
    result = Lightest(
        where,
        limits,
        lightest_found,
        lightest_found,
        _candidate(where, found, 0),
        _candidate(where, found, 1),
        fronts[0],
        fronts[1],
        fronts[2],
        min(len(found.codes), total),
        total,
        pool.proven,
        pool.bound,
        pool.thrown,
        isinstance(sweep, Sweep),
        stopped=stopped,
        needed=tuple((where.cells[k].spar, where.cells[k].bay) for k, _ in pool.ruled or []),
    )
    if limits.survival is None or best is None:
        return result
    return _surviving(result, found, counted, per_bay, progress, run)


# ---- which layouts there are --------------------------------------------------------------------------


class _Options:
    """Layouts as one choice out of each of several lists, whose masses add up.

    `groups` are cells (m,) with their possible rows (n, m); cells of no group keep the file's choice.
    """

    def __init__(
        self, where: Places, limits: Limits, groups: list[tuple[Ints, Ints]], mass: list[Array], area: dict
    ) -> None:
        self.where, self.limits, self.groups, self.mass, self.area = where, limits, groups, mass, area

    def count(self) -> int:
        """How many."""
        total = 1
        for _, rows in self.groups:
            total *= len(rows)
        return total

    def every(self) -> Ints:
        """All, (n, n_cells)."""
        sizes = [len(rows) for _, rows in self.groups]
        index = np.indices(sizes).reshape(len(sizes), -1) if sizes else np.zeros((0, 1), dtype=np.intp)
        out = np.repeat(self.where.own[None], index.shape[1] if sizes else 1, axis=0)
        for (cells, rows), k in zip(self.groups, index):
            out[:, cells] = rows[k]
        return out

    def tables(self) -> list[Array]:
        """Masses of every group's rows, kg."""
        return [
            np.array([self.mass[c][rows[:, i]] for i, c in enumerate(cells)]).sum(axis=0)
            for cells, rows in self.groups
        ]

    def beside(self, ruled: list[tuple[int, int]]) -> _Options:
        """Those without some choices of cells."""
        groups = []
        for cells, rows in self.groups:
            good = np.ones(len(rows), dtype=bool)
            for cell, choice in ruled:
                good &= (rows[:, cells == cell] != choice).all(axis=1)
            groups.append((cells, rows[good]))
        return _Options(self.where, self.limits, groups, self.mass, self.area)

    def masses(self, codes: Ints) -> Array:
        """Of the webs of layouts (n, n_cells), kg, added up cell by cell."""
        return np.asarray(sum(self.mass[k][codes[:, k]] for k in range(codes.shape[1])))

    def fits(self, codes: Ints) -> NDArray[np.bool_]:
        """Which layouts (n, n_cells) the sheets at hand and the greatest mass of webs allow."""
        good = np.ones(len(codes), dtype=bool)
        for stock, tables in self.area.items():
            used = sum(tables[k][codes[:, k]] for k in range(codes.shape[1]))
            good &= np.asarray(used) <= stock.area * (1 + 1e-12)
        if self.limits.web_mass is not None:
            good &= self.masses(codes) <= self.limits.web_mass * (1 + 1e-9)
        return good

    def ruled(self, codes: Ints) -> NDArray[np.bool_]:
        """Which layouts (n, n_cells) keep the rule of runs, if it is asked for."""
        if not self.limits.runs:
            return np.ones(len(codes), dtype=bool)
        good = np.ones(len(codes), dtype=bool)
        for face in ("front", "rear"):
            for cells in _by_spar(self.where):
                has = np.stack(
                    [np.array([face in c for c in self.where.cells[k].choices])[codes[:, k]] for k in cells],
                    axis=1,
                )
                able = np.array([any(face in c for c in self.where.cells[k].choices) for k in cells])
                has = has[:, able].astype(np.int8)
                good &= (np.diff(has, axis=1, prepend=0) > 0).sum(axis=1) <= 1
        return good


def _by_spar(where: Places) -> list[list[int]]:
    names = dict.fromkeys(cell.spar for cell in where.cells)
    return [[k for k, cell in enumerate(where.cells) if cell.spar == name] for name in names]


def _options(where: Places, limits: Limits, per_bay: int) -> _Options:
    mass, area = _figures(where, limits, per_bay)
    groups = []
    if limits.runs:
        probe = _Options(where, limits, [], mass, area)
        for cells in _by_spar(where):
            free = [k for k in cells if len(where.cells[k].choices) > 1]
            if not free:
                continue
            rows = np.zeros((1, 0), dtype=np.intp)
            for i, k in enumerate(free):
                choices = np.arange(len(where.cells[k].choices))
                rows = np.concatenate(
                    [np.repeat(rows, len(choices), axis=0), np.tile(choices, len(rows))[:, None]], axis=1
                )
                # A beginning that breaks the rule breaks it however it goes on.
                whole = np.repeat(where.own[None], len(rows), axis=0)
                whole[:, free] = 0
                whole[:, free[: i + 1]] = rows
                later = [c for c in cells if c > k]
                kept = whole[:, : max(cells) + 1].copy()
                kept[:, later] = 0
                full = whole.copy()
                full[:, later] = np.array([_open_code(where, c) for c in later], dtype=np.intp)
                rows = rows[probe.ruled(full)]
            final = np.repeat(where.own[None], len(rows), axis=0)
            final[:, free] = rows
            rows = rows[probe.ruled(final)]
            groups.append((np.array(free, dtype=np.intp), rows))
    else:
        for k in where.free:
            groups.append((np.array([k]), np.arange(len(where.cells[k].choices))[:, None]))
    return _Options(where, limits, groups, mass, area)


def _open_code(where: Places, cell: int) -> int:
    choices = where.cells[cell].choices
    return choices.index(()) if () in choices else 0


def _figures(where: Places, limits: Limits, per_bay: int) -> tuple[list[Array], dict[Stock, list[Array]]]:
    """Mass of the webs of every choice of every cell, kg, and area that it takes of every stock, m2; both
    sides."""
    mass = [np.zeros(len(cell.choices)) for cell in where.cells]
    area = {stock: [np.zeros(len(cell.choices)) for cell in where.cells] for stock in limits.stock}
    for choice in range(max(len(cell.choices) for cell in where.cells)):
        codes = np.array([min(choice, len(cell.choices) - 1) for cell in where.cells], dtype=np.intp)
        found = cell_masses(where, codes, per_bay)
        for k, cell in enumerate(where.cells):
            mass[k][codes[k]] = found.get((cell.spar, cell.bay), 0.0)
    for k, cell in enumerate(where.cells):
        for c, faces in enumerate(cell.choices):
            if not faces:
                continue
            webs = [where.web(k, face) for face in faces]
            weight = np.array([w.thickness * w.material.density for w in webs])
            for stock, tables in area.items():
                for web, share in zip(webs, weight / weight.sum()):
                    if abs(web.thickness - stock.thickness) < 1e-6 and stock.wood in ("", web.material.name):
                        tables[k][c] += mass[k][c] * share / (web.thickness * web.material.density)
    return mass, area


def _everything(where: Places) -> Ints:
    out = where.own
    for k, cell in enumerate(where.cells):
        if len(cell.choices) > 1:
            sizes = [len(faces) for faces in cell.choices]
            out[k] = int(np.argmax(sizes))
    return out


# ---- evaluating ---------------------------------------------------------------------------------------


def _evaluate(sweep: Sweep | PlainSweep, pool: _Answers, rows: Ints, progress: Tell) -> None:
    if len(rows):
        pool.answers.append(sweep.answers(rows, progress))


def meets(found: Evaluated | Candidate, limits: Limits) -> NDArray[np.bool_]:
    """Which layouts, or whether one, meet the limits; one that is met but for rounding is met."""
    good = np.asarray(found.load_factor >= limits.load_factor * (1 - _ROUNDING))
    for value, most in ((found.deflection, limits.deflection), (found.twist, limits.twist)):
        if most is not None:
            good = good & (np.abs(value) <= most * (1 + _ROUNDING))
    return good


def _lack(found: Evaluated, limits: Limits) -> Array:
    """By how much layouts miss the limits, all misses as shares of their limits added up, (n,)."""
    lack = np.maximum(1 - found.load_factor / limits.load_factor, 0.0)
    for value, most in ((found.deflection, limits.deflection), (found.twist, limits.twist)):
        if most is not None:
            lack = lack + np.maximum(np.abs(value) / most - 1, 0.0)
    return np.asarray(lack)


def _best(found: Evaluated, limits: Limits, among: Ints) -> int | None:
    """Lightest of some layouts that meets the limits; of equal ones the strongest."""
    good = among[meets(found, limits)[among]]
    if not len(good):
        return None
    mass = np.round(found.web_mass[good], 12)
    return int(good[np.lexsort((-found.load_factor[good], mass))[0]])


def _front(mass: Array, worth: Array, among: Ints) -> list[int]:
    """Layouts of which no other is at once as light and worth more; the lightest first."""
    order = among[np.lexsort((-worth[among], np.round(mass[among], 12)))]
    best = np.maximum.accumulate(worth[order])
    # Equal to nine figures is equal: rounding must not make a front longer.
    fresh = np.ones(len(order), dtype=bool)
    fresh[1:] = worth[order][1:] > best[:-1] + 1e-9 * np.abs(best[:-1])
    return [int(k) for k in order[fresh]]


def _candidate(where: Places, found: Evaluated, k: int) -> Candidate:
    mode, part = found.first(k)
    return Candidate(
        found.codes[k],
        where.faces(found.codes[k]),
        float(found.web_mass[k]),
        float(found.load_factor[k]),
        mode,
        part,
        float(found.deflection[k]),
        float(found.twist[k]),
    )


# ---- too many to evaluate -----------------------------------------------------------------------------


def lightest_first(groups: list[Array]) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Choices out of each of several lists, in rising order of their sum.

    Parameters
    ----------
    groups : list of (n,) float array
        Addends.

    Yields
    ------
    total : float
    choice : tuple of int
        Index into every list.
    """
    if len(groups) == 1:
        order = np.argsort(groups[0], kind="stable")
        for k in order.tolist():
            yield float(groups[0][k]), (k,)
        return
    half = len(groups) // 2
    sides = [_Listed(lightest_first(part)) for part in (groups[:half], groups[half:])]
    one, two = sides
    if one.get(0) is None or two.get(0) is None:
        return

    def key(i: int, k: int) -> float | None:
        a, b = one.get(i), two.get(k)
        return None if a is None or b is None else a[0] + b[0]

    heap = [(key(0, 0), 0, 0)]
    while heap:
        total, i, k = heapq.heappop(heap)
        a, b = one.get(i), two.get(k)
        assert a is not None
        assert b is not None
        assert total is not None
        yield total, (*a[1], *b[1])
        for ni, nk in ((i, k + 1), (i + 1, 0)) if k == 0 else ((i, k + 1),):
            value = key(ni, nk)
            if value is not None:
                heapq.heappush(heap, (value, ni, nk))


class _Listed:
    """An iterator whose items can be asked for by number."""

    def __init__(self, source: Iterator[tuple[float, tuple[int, ...]]]) -> None:
        self._source, self._items = source, []  # type: ignore[var-annotated]

    def get(self, k: int) -> tuple[float, tuple[int, ...]] | None:
        """Item k, None beyond the end."""
        while len(self._items) <= k:
            item = next(self._source, None)
            if item is None:
                return None
            self._items.append(item)
        return self._items[k]


def _search(
    where: Places,
    sweep: Sweep | PlainSweep,
    options: _Options,
    limits: Limits,
    pool: _Answers,
    everything: Ints,
    seconds: float,
    progress: Tell,
) -> None:
    """Put layouts into the pool until the best is proven or time is up; what is there is always whole."""
    start = time.monotonic()

    def left() -> float:
        return seconds - (time.monotonic() - start)

    def look(rows: Ints, reserve: float = 0.0) -> bool:
        """Evaluate layouts while there is time; whether there was for all."""
        rows = rows[options.fits(rows) & options.ruled(rows)]
        fresh = [r for r in rows if r.tobytes() not in pool.known]
        for k in range(0, len(fresh), sweep.at_once):
            if left() <= reserve:
                return False
            some = fresh[k : k + sweep.at_once]
            pool.known.update(r.tobytes() for r in some)
            _evaluate(sweep, pool, np.stack(some), progress)
        return True

    def incumbent() -> int | None:
        found = pool.joined()
        among = np.flatnonzero(options.fits(found.codes) & options.ruled(found.codes))
        return _best(found, limits, among)

    _evaluate(sweep, pool, np.stack([where.own, everything]), progress)
    pool.known.update(r.tobytes() for r in (where.own, everything))
    look(_from_the_root(where), 0.7 * seconds)
    nearest, better = -1, True
    while incumbent() is None and better and left() > 0.5 * seconds:
        found = pool.joined()
        among = np.flatnonzero(options.fits(found.codes) & options.ruled(found.codes))
        if not len(among):
            break
        before, nearest = nearest, int(among[_lack(found, limits)[among].argmin()])
        better = nearest != before
        if better:
            look(where.single_changes(found.codes[nearest]), 0.5 * seconds)
    for neighbours, reserve in ((Places.single_changes, 0.35 * seconds), (_double_changes, 0.3 * seconds)):
        better = True
        while better and left() > reserve:
            best = incumbent()
            if best is None:
                break
            around = neighbours(where, pool.joined().codes[best])
            # A heavier layout is no use, and one that differs little in mass is most likely to hold.
            around = around[options.masses(around) < pool.joined().web_mass[best] * (1 - 1e-9)]
            look(around[np.argsort(-options.masses(around), kind="stable")], reserve)
            better = incumbent() != best
    if left() > 0.3 * seconds and not limits.runs and len(_by_spar_free(where)) == 1:
        _evolve(where, options, limits, pool, look, left, 0.1 * seconds)
    fixed = float(options.masses(_without(where, options)[None])[0])
    stream = lightest_first(options.tables())
    sieve = _sieve(sweep, limits)
    size, pace, streamed = sweep.at_once, 0.0, 0
    best = incumbent()
    while left() > 0:
        if streamed >= STREAMED and best is not None and sieve is not None and pool.ruled is None:
            most = float(pool.joined().web_mass[best])
            pool.ruled = _ruled_out(where, sieve, options, everything, most, left, progress)
            if pool.ruled:
                options, lowest = options.beside(pool.ruled), pool.bound * (1 - _ROUNDING)
                stream = (one for one in lightest_first(options.tables()) if one[0] + fixed >= lowest)
        began = time.monotonic()
        batch = list(itertools.islice(stream, size))
        if not batch:
            pool.proven = True
            break
        codes = np.repeat(where.own[None], len(batch), axis=0)
        picks = np.array([choice for _, choice in batch])
        for (cells, rows), k in zip(options.groups, picks.T):
            codes[:, cells] = rows[k]
        limit = np.inf if best is None else pool.joined().web_mass[best]
        totals = np.array([t for t, _ in batch]) + fixed
        streamed += len(batch)
        codes = codes[totals < limit * (1 + 1e-9)]
        if sieve is not None:
            codes = codes[options.fits(codes) & options.ruled(codes)]
            if progress is not None:
                progress(f"{where.wing.name}: {len(codes)} layouts, from {say.mass(totals[0]):.2f} of webs")
            failing = sieve.failing(codes) if len(codes) else np.zeros(0, dtype=bool)
            pool.thrown += int(failing.sum())
            codes = codes[~failing]
        if not look(codes):
            break
        pool.bound = float(totals[-1])
        best = incumbent()
        if best is not None and pool.joined().web_mass[best] <= pool.bound * (1 + 1e-9):
            pool.proven = True
            break
        pace = (time.monotonic() - began) / len(batch)
        if sieve is not None:  # the larger, the more they share; none that the time left is too short for
            size = max(sweep.at_once, min(2 * size, _LARGEST_PORTION, int(0.5 * left() / pace)))


def _ruled_out(
    where: Places,
    sieve: Sieve,
    options: _Options,
    everything: Ints,
    most: float,
    left: Callable[[], float],
    progress: Tell,
) -> list[tuple[int, int]]:
    """Cells and choices that no layout up to a mass (kg) that holds has."""
    until = left() * (1 - _TO_RULE)
    if progress is not None:
        progress(f"{where.wing.name}: webs that no layout can do without")
    return ruled_out(
        sieve.segments,
        options.mass,
        most * (1 + 2 * _ROUNDING),
        _without(where, options),
        everything,
        sieve.most,
        lambda: left() > until,
    )


def _sieve(sweep: Sweep | PlainSweep, limits: Limits) -> Sieve | None:
    if not isinstance(sweep, Sweep):
        return None
    return Sieve(
        sweep.segments,
        limits.load_factor,
        deflection=limits.deflection,
        twist=limits.twist,
        threads=sweep.threads,
    )


def _without(where: Places, options: _Options) -> Ints:
    """The layout whose grouped cells count nothing: for the mass of the rest."""
    out = where.own
    for cells, _ in options.groups:
        for k in cells:
            out[k] = _open_code(where, int(k))
    return out


def _by_spar_free(where: Places) -> list[list[int]]:
    """Free cells of every spar that has any."""
    cells = [[k for k in cells if len(where.cells[k].choices) > 1] for cells in _by_spar(where)]
    return [some for some in cells if some]


def _from_the_root(where: Places) -> Ints:
    """Layouts whose webs run from the root outward on both faces of every spar, or on one."""
    spars = _by_spar_free(where)
    kinds = (("front", "rear"), ("front",), ("rear",))
    rows = []
    for ends in itertools.product(*(range(len(cells) + 1) for cells in spars)):
        for kind in kinds:
            codes = where.own
            for cells, end in zip(spars, ends):
                for i, k in enumerate(cells):
                    choices = where.cells[k].choices
                    fit = [c for c, faces in enumerate(choices) if faces == (kind if i < end else ())]
                    codes[k] = fit[0] if fit else _open_code(where, k)
            rows.append(codes)
    return np.stack(rows)


def _double_changes(where: Places, codes: Ints) -> Ints:
    """Layouts that differ from one in two cells; a part of them where there are many."""
    pairs = [(a, b) for a, b in itertools.combinations(where.changes(codes), 2) if a[0] != b[0]]
    if len(pairs) > _PAIRS_AT_MOST:
        keep = np.random.default_rng(SEED).permutation(len(pairs))[:_PAIRS_AT_MOST]
        pairs = [pairs[k] for k in np.sort(keep)]
    return changed(codes, pairs)


def _evolve(
    where: Places,
    options: _Options,
    limits: Limits,
    pool: _Answers,
    look: Callable[..., bool],
    left: Callable[[], float],
    seconds: float,
) -> None:
    """Differential evolution on the cells' choices; what misses a limit is charged for it."""
    from scipy.optimize import differential_evolution

    free = where.free
    stop = left() - seconds
    heaviest = max(float(options.masses(_everything(where)[None])[0]), 1e-9)

    def charge(x: Array) -> Array:
        rows = np.repeat(where.own[None], x.shape[1], axis=0)
        rows[:, free] = np.round(x.T).astype(np.intp)
        look(rows)
        found = pool.joined()
        lack = _lack(found, limits)
        place = {codes.tobytes(): k for k, codes in enumerate(found.codes)}
        out = np.empty(len(rows))
        for i, row in enumerate(rows):
            k = place.get(row.tobytes())
            if k is None:  # the sheets do not suffice, or there was no time
                out[i] = 10 * heaviest
                continue
            out[i] = found.web_mass[k] + heaviest * (lack[k] + (lack[k] > 0))
        return out

    best = _best(pool.joined(), limits, np.arange(len(pool.joined().codes)))
    bounds = [(0, len(where.cells[k].choices) - 1) for k in free]
    rng = np.random.default_rng(SEED)
    start = np.stack([rng.integers(0, high + 1, 4 * len(free)) for _, high in bounds], axis=1).astype(float)
    if best is not None:
        start[0] = pool.joined().codes[best][free]
    differential_evolution(
        charge,
        bounds,
        integrality=np.ones(len(free), dtype=bool),
        vectorized=True,
        updating="deferred",
        init=start,
        maxiter=1000,
        rng=rng,
        polish=False,
        callback=lambda *_, **__: left() < stop,
    )


# ---- scatter ------------------------------------------------------------------------------------------


def _surviving(
    result: Lightest, found: Evaluated, counted: Ints, per_bay: int, progress: Tell, run: Run | None
) -> Lightest:
    """The lightest layout on the front of mass against strength that enough wings survive with.

    Along the front strength grows with mass, and with it survival, so that the place where enough survive is
    found by halving; the layout before it is known to fall short.
    """
    limits = result.limits
    assert limits.survival is not None
    good = counted[meets(found, limits)[counted]]
    front = _front(found.web_mass, found.load_factor, good)
    tried: dict[int, Candidate] = {}

    def holds(i: int) -> bool:
        if i not in tried:
            tried[i] = survived(
                result.places, _candidate(result.places, found, front[i]), limits, per_bay, progress, run
            )
        share = tried[i].survival
        assert share is not None
        assert limits.survival is not None
        return share >= limits.survival

    least = first_that(len(front), holds)
    if least is None:
        return replace(result, best=None, tried=tuple(tried.values()))
    return replace(result, best=tried[least], tried=tuple(tried[i] for i in sorted(tried)))


def first_that(n: int, holds: Callable[[int], bool]) -> int | None:
    """The first of a row of n, the weakest first, that holds, found by halving; None where the last does not.

    Parameters
    ----------
    n : int
        How many.
    holds : callable
        Whether one does; what comes after it then does too.
    """
    if n == 0 or not holds(n - 1):
        return None
    if holds(0):
        return 0
    low, high = 0, n - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def _fast_enough(result: Lightest, per_bay: int, progress: Tell, run: Run | None) -> Lightest:
    """The lightest of the layouts on the fronts, from the best so far on, that may be flown as fast as asked.

    What webs do to flutter and twist-off follows no rule along a front (a single web may twist a wing off
    sooner), so that the layouts are looked at one by one, `MOST_FLOWN` of them.
    """
    limits = result.limits
    assert limits.speed is not None
    if result.best is None:
        return result
    heavier = _heavier(result, result.best)
    fast: list[tuple[Candidate, float]] = []
    checked: list[Candidate] = []
    some = heavier[:MOST_FLOWN]
    speeds = _asked(run, _advised, result, some, per_bay)
    for one in some:
        if progress is not None:
            progress(f"how fast with {say.mass(one.web_mass):.1f} of webs")
        fast.append((one, next(speeds)))
        if fast[-1][1] < limits.speed * (1 - _ROUNDING):
            continue
        verdicts = _asked(None, _verdict, result, [one], per_bay)
        checked.append(_judged(result, one, verdicts, per_bay, progress))
        if _does(checked[-1], limits):
            return replace(result, best=checked[-1], fast=tuple(fast), judged=tuple(checked))
    return replace(result, best=None, fast=tuple(fast), judged=tuple(checked))


def _asked(
    run: Run | None,
    what: Callable[[Wing, float, int], Any],
    result: Lightest,
    some: list[Candidate],
    per_bay: int,
) -> Iterator[Any]:
    """What layouts give, one after another as they are wanted; others work ahead (`run`)."""
    wings = (result.places.laid(one.codes) for one in some)
    asked = [result.limits.load_factor] * len(some), [per_bay] * len(some)
    return iter((map if run is None or len(some) < 2 else run)(what, wings, *asked))


def _verdict(wing: Wing, load_factor: float, per_bay: int) -> Verdict:
    return held(wing, load_factor, per_bay=per_bay)


def _advised(wing: Wing, load_factor: float, per_bay: int) -> float:
    """The fastest that a wing may be flown, m/s."""
    from models.studies.speed_limit import limit

    return limit(wing, per_bay=per_bay).advised


def _strong_enough(result: Lightest, per_bay: int, progress: Tell, run: Run | None) -> Lightest:
    """The lightest of the layouts on the fronts, from the best so far on, that holds by the whole verdict.

    `MOST_FLOWN` of them are looked at one by one; of the heavier ones those on the front of strength, by
    halving.
    """
    if result.best is None:
        return result
    tried: list[Candidate] = []

    def does(one: Candidate, verdicts: Iterator[Verdict]) -> bool:
        tried.append(_judged(result, one, verdicts, per_bay, progress))
        return _does(tried[-1], result.limits)

    heavier = _heavier(result, result.best)
    some = heavier[:MOST_FLOWN]
    verdicts = _asked(run, _verdict, result, some, per_bay)
    for one in some:
        if does(one, verdicts):
            return replace(result, best=tried[-1], judged=tuple(tried))
    beyond = [one for one in result.strength if any(one is other for other in heavier[MOST_FLOWN:])]
    least = first_that(
        len(beyond), lambda k: does(beyond[k], _asked(None, _verdict, result, [beyond[k]], per_bay))
    )
    best = None
    if least is not None:
        best = next(one for one in tried if one.codes.tobytes() == beyond[least].codes.tobytes())
    return replace(result, best=best, judged=tuple(tried))


def _judged(
    result: Lightest,
    one: Candidate,
    verdicts: Iterator[Verdict],
    per_bay: int,
    progress: Tell,
) -> Candidate:
    """A layout with the verdict on it, which comes next, and, if it holds by that, with the share of wings if
    that was asked."""
    limits, where = result.limits, result.places
    if progress is not None:
        progress(f"all cases, with {say.mass(one.web_mass):.1f} of webs")
    checked = replace(one, verdict=next(verdicts))
    if (
        limits.survival is None
        or one.survival is not None
        or not _does(checked, replace(limits, survival=None))
    ):
        return checked
    # Here: whoever else works is at the verdicts that come next.
    return survived(where, checked, limits, per_bay, progress)


def _does(one: Candidate, limits: Limits) -> bool:
    """Whether a layout that was judged holds, in as many wings as were asked for."""
    assert one.verdict is not None
    return holds(one.verdict) and (limits.survival is None or (one.survival or 0.0) >= limits.survival)


def _heavier(result: Lightest, best: Candidate) -> list[Candidate]:
    """The best, and layouts on the fronts that are heavier and meet the limits, the lightest first."""
    limits = result.limits
    fronts = (result.strength, result.stiffness, result.twisting)
    others = {one.codes.tobytes(): one for front in fronts for one in front} | {best.codes.tobytes(): best}
    return sorted(
        (
            one
            for one in others.values()
            if one is best or (one.web_mass > best.web_mass and meets(one, limits))
        ),
        key=lambda one: one.web_mass,
    )


def survived(
    where: Places,
    one: Candidate,
    limits: Limits,
    per_bay: int,
    progress: Tell = None,
    run: Run | None = None,
) -> Candidate:
    """A layout with the share of wings that bear the load factor asked for, their wood scattered.

    Parameters
    ----------
    where : Places
        Cells.
    one : Candidate
        The layout.
    limits : Limits
        With the load factor.
    per_bay : int
        Elements along a bay.
    progress : callable or None
        Told before every step.
    run : Run or None
        Who solves the sets of wood; None: this process.
    """
    from models.studies.scatter import scatter
    from models.studies.scatter.interval import share_interval

    wing = where.laid(one.codes)
    drawn = scatter(wing, samples=4000, states=160, seed=SEED, per_bay=per_bay, progress=progress, run=run)
    share = float((drawn.load_factors >= limits.load_factor).mean())
    counts = drawn.n_wings / drawn.design_effect
    return replace(one, survival=share, survival_interval=share_interval(share * counts, counts, 0.95))
