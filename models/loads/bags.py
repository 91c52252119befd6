"""Bags of sand on a wing that lies upside down: which ribs, how far aft, how heavy, to load it as in flight.

Diagrams are moments of all that acts outboard of a cut just inboard of a rib, bending and torsion about axes
across and along the spar there, so that a swept wing's bending does not pass for torsion. Which ribs get one
of the few bags, how heavy and how far aft, is a mixed-integer linear program for the least worst error
(scipy.optimize.milp). Masses and places are then rounded and mended step by step.

Where bags on single ribs do not do, they may lie on battens across two ribs, next to each other or with one
between: by the lever rule a bag part of the way along a batten that rests at a place of its own on each rib
is two bags as good as free of each other. Where equipment far out pulls the wing down in flight, which no bag
does, cords over a pulley may lift the wing there.

A plan can be laid: every bag, batten or cord has a stretch of the span to itself (or of the wing's fore or
aft part there), so that no two bags lie within a bag's width, no bag on a rib under a batten, and no two
battens cross or touch (`models.loads.laying` looks at what comes out, in plan).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.optimize as so
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from fea.elements.mass import Masses
from models import system
from models.gravity import GRAVITY
from models.structure.model import Model

BENDING_ALLOWED = 0.03
"""Error of bending that is let pass, of the value at the rib (see `Diagrams.measure`)."""
TORSION_ALLOWED = 0.05
"""Error of torsion that is let pass."""
SHEAR_ALLOWED = 0.40
"""Error of shear that is aimed at, weaker since a few bags make steps of it."""
LOCAL_SHARE = 0.2
"""Below this share of the diagram's greatest value an error counts against this share of it, for a value
near zero has no per cents."""
REACHES = ((0.02, 0.85), (-0.25, 0.85))
"""How far fore and aft a bag may lie, of the chord: on the wing, and where that does not do, ahead of the
leading edge too, hung on a stick laid on the rib (a judgement, no source)."""
BAG_WIDTH = 60e-3
"""Side of a bag as it lies, m, where nothing else is said (a judgement, no source)."""
ROOM = 10e-3
"""Half of what is kept free between the ends of two battens, and what a cord takes to each side, m: a batten
ends 5 mm beyond its rib (a judgement, no source)."""
DIVIDE = 0.45
"""Where the fore part of the chord ends and the aft part begins, if there are bags in both (a choice)."""
PLACE = 1e-3
"""Places are told to this length, m."""
ALONG = 0.05
"""Places along a batten are told in this share of the way from rib to rib."""
_GOOD = 0.5
"""Worst error, of what is allowed, at which the search may end: half, so that a place or a mass that is a
little off does not cost what is promised."""
_SHARP = 16
"""Mending lowers the sum of this power of the errors, near to the worst but with a slope everywhere."""
_KICKS, _SEED = 12, 7
"""How often numbers from which no move helps are knocked about at random, by about a step each, and mended
again (an iterated local search: Lourenco, Martin and Stutzle, "Iterated Local Search", in: Handbook of
Metaheuristics, 2003), where the errors are not let pass; and the seed."""
_DROPPED = (0.5, 0.01)
"""Bags lighter than so much of a step of mass are left out; than so much where that is too much to miss: they
weigh a step then."""
_NODES, _PARTED_NODES, _GAP = 400, 20, 0.02
"""Branches that the search for seats may look at, so that it ends and ends alike everywhere (fewer where
there are three times the seats), and the share by which it may miss the least error that any choice has."""
_ENOUGH = 0.15
"""Where there are three times the seats, errors below this share of what is allowed count alike: the search
ends there."""
_SHEAR_COUNTS = 0.05
"""What the worst error of shear counts beside that of bending and torsion."""
_CORD_COUNTS, _BAG_COUNTS = 0.1, 0.005
"""What a cord counts beside the worst error, since it is more trouble to rig than a bag, and what a bag does
where a choice rounds badly (choices)."""


@dataclass(frozen=True, eq=False)
class Diagrams:
    """Shear, bending and torsion of the starboard side, just inboard of ribs (the first: outside the hold).

    `y` (n,): cuts, m. `values` (n, 3): shear (N, up), bending (N m, lifts the tip) and torsion (N m, nose up)
    about the spar at the cut.
    """

    y: Array
    values: Array

    @property
    def measure(self) -> Array:
        """What errors count against, (n, 3): the value there, at least `LOCAL_SHARE` of the greatest."""
        size = np.abs(self.values)
        return np.maximum(size, LOCAL_SHARE * size.max(axis=0))

    def error(self, other: Diagrams) -> Array:
        """The other's error against this one, (n, 3), in parts of `measure`; 0 where nothing is loaded."""
        measure = self.measure
        return (other.values - self.values) / np.where(measure > 0, measure, 1.0)


@dataclass(frozen=True)
class Bag:
    """A bag of one side, `mass` in kg; negative: a cord that lifts.

    `ribs` (1 the innermost) is one rib, or two that a batten lies across; `y`, `x` (m, in the wing's axes)
    and `aft` (m aft of the leading edge there) have an entry a rib. On a batten the bag lies `along` of the
    way from the inner rib to the outer.
    """

    ribs: tuple[int, ...]
    y: tuple[float, ...]
    x: tuple[float, ...]
    aft: tuple[float, ...]
    mass: float
    along: float = 0.5

    @property
    def shares(self) -> tuple[float, ...]:
        """Share of the mass on each rib, by the lever rule."""
        return (1.0,) if len(self.ribs) == 1 else (1.0 - self.along, self.along)


@dataclass(frozen=True, eq=False)
class BagPlan:
    """Bags of one side, the other side alike.

    Parameters
    ----------
    bags : tuple of Bag
        From the centre outward.
    flight : Diagrams
        What is to be reproduced, at the load factor of the test.
    bench : Diagrams
        What bags and the wing's own weight make.
    own : Diagrams
        The wing's own weight alone.
    load_factor : float
        n of the test.
    rib : (n,) int array
        Number of the rib at each cut, 1 the innermost; 0 for the edge of the hold.
    """

    bags: tuple[Bag, ...]
    flight: Diagrams
    bench: Diagrams
    own: Diagrams
    load_factor: float
    rib: Ints

    @property
    def errors(self) -> Array:
        """Greatest error of shear, bending and torsion in parts of `Diagrams.measure`, (3,)."""
        return np.abs(self.flight.error(self.bench)).max(axis=0)

    @property
    def excess(self) -> float:
        """How far the bags bend the wing more than flight does, at the worst cut, as `errors` count; 0 where
        they nowhere do."""
        more = self.flight.error(self.bench) * np.sign(self.flight.values)
        return float(max(0.0, more[:, 1].max()))

    @property
    def of_greatest(self) -> Array:
        """Greatest error of shear, bending and torsion in parts of each diagram's greatest value, (3,)."""
        greatest = np.abs(self.flight.values).max(axis=0)
        miss = np.abs(self.bench.values - self.flight.values).max(axis=0)
        return np.asarray(miss / np.where(greatest > 0, greatest, 1.0))

    def faint(self, diagram: int) -> tuple[int, ...]:
        """Ribs at which bending (1) or torsion (2) is less than `LOCAL_SHARE` of its greatest value, so that
        errors there count against that share of it."""
        size = np.abs(self.flight.values[:, diagram])
        return tuple(self.rib[size < LOCAL_SHARE * size.max()].tolist())

    @property
    def kept(self) -> bool:
        """Whether bending and torsion are reproduced within what is allowed."""
        return bool(self.errors[1] <= BENDING_ALLOWED and self.errors[2] <= TORSION_ALLOWED)

    @property
    def mass(self) -> float:
        """Of the bags of both sides, cords' counterweights left out, kg."""
        return 2 * sum(bag.mass for bag in self.bags if bag.mass > 0)

    @property
    def count(self) -> int:
        """Bags and cords of both sides."""
        return 2 * len(self.bags)


@dataclass(frozen=True, eq=False)
class Cuts:
    """Where diagrams are cut: position of the spar there, direction of the spar (unit, in plan)."""

    at: Array
    along: Array


def cuts(model: Model) -> Cuts:
    """Cuts at the edge of the hold and just inboard of every rib beyond it, starboard, on the spar.

    The spar is the first of those that reach farthest out.
    """
    nodes = model.structure.nodes
    ends = [spar.y_end for spar in model.wing.spars]
    main = int(np.argmax(np.array(ends) > max(ends) - 1e-9))
    caps = model.cap_nodes[main]
    there = np.flatnonzero((caps[0] >= 0) & (model.y > -1e-9))
    line = nodes[caps[:, there]].mean(axis=0)
    ribs, edge = rib_stations(model), hold(model)
    y = np.concatenate([[edge], ribs[ribs > edge + 1e-9]])
    at = np.stack([np.interp(y, line[:, 1], line[:, k]) for k in range(3)], axis=1)
    at[:, 1] = y
    step = np.diff(line[:, :2], axis=0)
    inboard = np.clip(np.searchsorted(line[:, 1], y - 1e-9) - 1, 0, len(step) - 1)
    along = step[inboard] / np.linalg.norm(step[inboard], axis=1, keepdims=True)
    return Cuts(at, along)


def hold(model: Model) -> float:
    """Half the width over which the centre section is held, m: out to the engine bearers where there are
    any, whose load goes straight into the hold; else the centre line."""
    return max((rail.y for rail in model.wing.rails), default=0.0)


def rib_stations(model: Model) -> Array:
    """Ribs of the starboard side, the innermost first, m."""
    y = np.sort(model.y[model.rib_station])
    return y[y > -1e-9]


def diagrams(model: Model, nodal: Array) -> Diagrams:
    """Shear, bending and torsion of node loads.

    Parameters
    ----------
    model : Model
        A flying wing.
    nodal : (n_nodes, 6) float array
        N and N m.
    """
    cut = cuts(model)
    nodes = model.structure.nodes
    # What acts at the edge of the hold goes into it: there the cut is just outboard.
    y = cut.at[:, 1] - 1e-9
    y[0] += 2e-9
    outboard = nodes[:, 1] > y[:, None]
    arm = nodes[None] - cut.at[:, None]
    moment = np.cross(arm, nodal[None, :, :3])[..., :2] + nodal[None, :, 3:5]
    moment = np.einsum("cn,cni->ci", outboard.astype(float), moment)
    return Diagrams(cut.at[:, 1], _resolved(cut, np.asarray(outboard @ nodal[:, 2]), np.asarray(moment)))


def _resolved(cut: Cuts, shear: Array, moment: Array) -> Array:
    """Moments about x and y as bending across and torsion along the spar."""
    t_x, t_y = cut.along.T
    return np.stack(
        [shear, moment[:, 0] * t_y - moment[:, 1] * t_x, moment[:, 0] * t_x + moment[:, 1] * t_y], axis=1
    )


def own_weight(model: Model, assembly: Assembly) -> Array:
    """Weight of the bare wing (structure and covering, no equipment) lying upside down, (n_nodes, 6).

    It pulls towards the wing's upper side, as lift does.
    """
    values = {}
    for name, block in model.structure.blocks.items():
        mass = assembly.on_nodes(name, block.mass(assembly.corners(name)))
        if isinstance(block, Masses) and block.part is not None:
            kept = np.array([model.parts[p].place == "covering" for p in block.part])
            mass = mass * kept[:, None, None, None, None]
        values[name] = mass
    upward = np.zeros((len(model.structure.nodes), 6, 1))
    upward[:, 2] = GRAVITY
    return np.asarray(assembly.nodal(assembly.add(values) @ assembly.vector(upward))[:, :, 0])


def plan_bags(
    model: Model, flight: Array, own: Array, load_factor: float, *, bags: int, largest: float, step: float,
    width: float = BAG_WIDTH,
) -> BagPlan:  # fmt: skip
    """Choose ribs, places and masses.

    Parameters
    ----------
    model : Model
        A flying wing.
    flight : (n_nodes, 6) float array
        All loads at the load factor of the test, lift less inertia, N and N m.
    own : (n_nodes, 6) float array
        The bare wing's weight on the bench, from `own_weight`.
    load_factor : float
        n of the test.
    bags : int
        The most bags, both sides together.
    largest : float
        The most that a bag may weigh, kg.
    step : float
        Masses are rounded to this, kg.
    width : float
        Side of a bag as it lies, m.

    Returns
    -------
    BagPlan
        The best that such bags can do, whether or not it keeps what is allowed; without a bag where less than
        half a step is wanted on every rib.
    """
    cut = cuts(model)
    wanted, weight = diagrams(model, flight), diagrams(model, own)
    target = wanted.values - weight.values
    allowed = wanted.measure * np.array([SHEAR_ALLOWED, BENDING_ALLOWED, TORSION_ALLOWED])
    allowed = np.where(allowed > 0, allowed, 1.0)
    best: tuple[float, tuple[Bag, ...]] | None = None
    many = len(cut.at) - 1 > bags // 2  # more ribs than bags: single ribs will not do
    # The simplest means first; what is more trouble to rig only where that does not do.
    for battens, cords, reach, parted in (
        (False, False, 0, False), (True, False, 0, False), (True, False, 1, False), (False, True, 1, False),
        (True, True, 0, True), (True, True, 1, True),
    ):  # fmt: skip
        if many and not battens:
            continue
        if best is not None and best[0] <= (1.0 if cords or reach or parted else _GOOD):
            continue
        seats = _seats(model, REACHES[reach], width, battens=battens, cords=cords, parted=parted)
        found = _Problem(cut, seats, target, allowed, bags // 2, largest, step, width).solve()
        if best is None or found[0] < best[0]:
            best = found
    assert best is not None
    bench = weight.values + sum((_of_bag(cut, bag) for bag in best[1]), np.zeros_like(target))
    stations = rib_stations(model)
    rib = np.where(
        np.arange(len(wanted.y)) > 0, np.argmin(np.abs(stations - wanted.y[:, None]), axis=1) + 1, 0
    ).astype(np.intp)
    return BagPlan(best[1], wanted, Diagrams(wanted.y, bench), weight, load_factor, rib)


@dataclass(frozen=True, eq=False)
class _Seats:
    """Where bags may lie: `ribs` (n, 2) numbers, the same twice for one rib; `y`, `edge` (leading) and
    `chord` (n, 2), m; `sign` -1 for a cord; `reach` (n, 2, 2) how far fore and aft on either rib, of the
    chord; `taken` (n, 2) the stretch of the span that it takes, m, in the part of the chord `lane` (0 all of
    it, 1 fore, 2 aft); `least` (n,) the least share of the bag on either rib of a batten."""

    ribs: Ints
    y: Array
    edge: Array
    chord: Array
    sign: Array
    reach: Array
    taken: Array
    lane: Ints
    least: Array

    def rivals(self) -> Array:
        """Seats of which only one can be used, a row of 0 and 1 a set: those that take one place of the span,
        in the fore and in the aft part of the chord."""
        rows = []
        for y in np.unique(self.taken[:, 0] + 1e-9):
            there = (self.taken[:, 0] <= y) & (y < self.taken[:, 1] - 1e-9)
            rows += [there & (self.lane != other) for other in (2, 1)]
        kept = [row for row in rows if row.sum() > 1]
        return np.unique(np.array(kept, dtype=np.float64).reshape(len(kept), len(self.sign)), axis=0)


def _seats(
    model: Model, reach: tuple[float, float], width: float, *, battens: bool, cords: bool, parted: bool
) -> _Seats:
    plan = model.wing.planform
    assert plan is not None, "bags need a planform"
    stations = rib_stations(model)
    off = np.flatnonzero(stations > hold(model) + 1e-9)
    pairs = np.stack([off, off], axis=1)
    if battens:
        wide = [np.stack([off[:-apart], off[apart:]], axis=1) for apart in (1, 2) if len(off) > apart]
        pairs = np.concatenate([pairs, *wide])
    sign = np.ones(len(pairs))
    if cords:
        pairs = np.concatenate([pairs, np.stack([off, off], axis=1)])
        sign = np.concatenate([sign, -np.ones(len(off))])
    lane = np.zeros(len(pairs), dtype=np.intp)
    if parted:
        lane = np.repeat(np.arange(3), len(pairs))
        pairs, sign = np.tile(pairs, (3, 1)), np.tile(sign, 3)
    y = stations[pairs]
    chord = plan.chord.at(y)
    ends = np.empty((len(pairs), 2, 2))
    ends[..., 0], ends[..., 1] = reach
    away = (width / 2 + ROOM) / chord
    ends[lane == 1, :, 1] = (DIVIDE - away)[lane == 1]
    ends[lane == 2, :, 0] = (DIVIDE + away)[lane == 2]
    length = y[:, 1] - y[:, 0]
    # A bag keeps within the stretch that its batten takes, or on a short batten near the middle of it.
    half = np.where(sign < 0, ROOM, np.maximum(np.where(length > 0, length / 2 + ROOM, 0.0), width / 2))
    taken = y.mean(axis=1)[:, None] + half[:, None] * [-1.0, 1.0]
    free = (half - width / 2) / np.where(length > 0, length, 1.0)
    least = np.where(length > 0, np.maximum(0.5 - free, 0.0), 0.0)
    there = (ends[..., 0] <= ends[..., 1]).all(axis=1)
    return _Seats(
        pairs[there] + 1, y[there], plan.leading_edge_x.at(y[there]), chord[there], sign[there], ends[there],
        taken[there], lane[there], least[there],
    )  # fmt: skip


def _of_bag(cut: Cuts, bag: Bag) -> Array:
    """Diagrams (n, 3) of a bag."""
    out = sum(share * _of_point(cut, x, y) for x, y, share in zip(bag.x, bag.y, bag.shares))
    return np.asarray(bag.mass * out)


def _of_point(cut: Cuts, x: float, y: float) -> Array:
    """Diagrams (n, 3) of one kilogram at one place."""
    force = np.where(cut.at[:, 1] < y + 1e-9, GRAVITY, 0.0).astype(np.float64)
    moment = np.stack([(y - cut.at[:, 1]) * force, -(x - cut.at[:, 0]) * force], axis=1)
    return _resolved(cut, force, moment)


@dataclass(frozen=True, eq=False)
class _Problem:
    """Bags of one side against a target, (n_cuts, 3), with errors counted in `allowed`."""

    cut: Cuts
    seats: _Seats
    target: Array
    allowed: Array
    most: int
    largest: float
    step: float
    width: float

    def solve(self) -> tuple[float, tuple[Bag, ...]]:
        """Worst error of bending and torsion in parts of the allowed, and the bags."""
        seats = self.seats
        ends = [self._columns(seats.reach[:, rib, r], rib) for rib in (0, 1) for r in (0, 1)]
        matrix = np.stack(ends, axis=-1)  # cuts, diagrams, seats, and fore and aft of both ribs of a seat

        def chosen(a_bag: float) -> Array:
            return _chosen(
                matrix, self.target / self.allowed, seats.sign, self.most, self.largest, seats.rivals(),
                seats.least, _ENOUGH if seats.lane.any() else 0.0, a_bag,
            )  # fmt: skip

        kilograms = chosen(0.0)
        found = self._rounded(kilograms, _DROPPED[0], kicks=0)
        if found[0] > 1.0 and not seats.lane.any():
            # Choices that do as well differ by rounding alone, and some round badly: fewer bags may not.
            fewer = chosen(_BAG_COUNTS)
            other = self._rounded(fewer, _DROPPED[0], kicks=0)
            if other[0] < found[0]:
                found, kilograms = other, fewer
        # On a thin wing's outermost rib less than half a step may be all that makes torsion there.
        for dropped in _DROPPED:
            if found[0] > 1.0:
                other = self._rounded(kilograms, dropped, kicks=_KICKS)
                found = other if other[0] < found[0] else found
        return found

    def _columns(self, fraction: Array, rib: int) -> Array:
        """Diagrams (n_cuts, 3, n_seats) over what is allowed of a kilogram on one of each seat's two ribs, at
        a fraction of the chord, (n_seats,); nothing on the second rib of a seat that has one."""
        s = self.seats
        x = s.edge[:, rib] + fraction * s.chord[:, rib]
        sign = np.where(self.single & (rib == 1), 0.0, s.sign)
        each = [
            k * _of_point(self.cut, a, b) for a, b, k in zip(x.tolist(), s.y[:, rib].tolist(), sign.tolist())
        ]
        return np.asarray(np.stack(each, axis=-1) / self.allowed[..., None])

    @property
    def single(self) -> NDArray[np.bool_]:
        """Seats on one rib."""
        return np.asarray(self.seats.ribs[:, 0] == self.seats.ribs[:, 1])

    def _rounded(self, kilograms: Array, dropped: float, kicks: int) -> tuple[float, tuple[Bag, ...]]:
        """Round masses and places, then mend one at a time as long as the errors fall; seats with less than a
        part `dropped` of a step of mass are not used; `kicks` as for `_mended`."""
        used = np.arange(len(self.seats.sign))
        on = kilograms.reshape(-1, 2, 2)  # seat, rib, fore and aft
        on[self.single[used], 1] = 0.0
        kept = on.sum(axis=(1, 2)) > dropped * self.step
        used, on = used[kept], on[kept]
        if not len(used):
            return np.inf, ()
        chord = self.seats.chord[used]
        load = on.sum(axis=2)
        top = int(np.floor(self.largest / self.step + 1e-9))
        with np.errstate(invalid="ignore", divide="ignore"):
            fore, aft = self.seats.reach[used, :, 0], self.seats.reach[used, :, 1]
            place = fore + np.nan_to_num(on[..., 1] / load, nan=0.5) * (aft - fore)
        # Steps of mass, of the way along the batten, and of the place on either rib.
        steps = np.stack(
            [
                np.clip(np.round(load.sum(axis=1) / self.step), 1, top),
                np.round(load[:, 1] / load.sum(axis=1) / ALONG),
                *np.round(place * chord / PLACE).T,
            ],
            axis=1,
        )
        least = self.seats.least[used]
        low = np.stack(
            [np.ones(len(used)), np.ceil(least / ALONG - 1e-9), *np.ceil(fore * chord / PLACE - 1e-9).T],
            axis=1,
        )
        high = np.stack(
            [
                np.full(len(used), float(top)),
                np.where(self.single[used], 0.0, np.floor((1 - least) / ALONG + 1e-9)),
                *np.floor(aft * chord / PLACE + 1e-9).T,
            ],
            axis=1,
        )
        steps = np.clip(steps, low, np.maximum(low, high))
        best, steps = self._mended(used, steps, low, high, kicks)
        found = [self._bag(int(r), *(float(v) for v in row)) for r, row in zip(used, steps)]
        return best, tuple(sorted(found, key=lambda bag: bag.y))

    def _mended(self, used: Ints, steps: Array, low: Array, high: Array, kicks: int) -> tuple[float, Array]:
        """Move one number of one bag, or shift mass or place between neighbours, as long as the errors fall;
        where they are not let pass then, any two numbers of a bag or of neighbours together, and at last so
        often from numbers knocked about."""
        chord = self.seats.chord[used]
        none, all_of_it = np.zeros(len(self.seats.sign)), np.ones(len(self.seats.sign))
        at_edge = [self._columns(none, rib)[..., used] for rib in (0, 1)]
        per_step = [
            (self._columns(all_of_it, rib)[..., used] - at_edge[rib]) * PLACE / chord[:, rib]
            for rib in (0, 1)
        ]
        goal = self.target / self.allowed
        weight = np.array([0.25, 1.0, 1.0])  # shear is aimed at, not promised

        def of(k: int, row: Array) -> Array:
            mass, along = row[0] * self.step, row[1] * ALONG
            each = [at_edge[rib][..., k] + per_step[rib][..., k] * row[2 + rib] for rib in (0, 1)]
            return np.asarray(mass * ((1 - along) * each[0] + along * each[1]))

        def judge(gap: Array) -> float:
            return float(((gap * weight) ** _SHARP).sum())

        some = [(1, a, a) for a in (0, 2)]
        every = [(near, a, b) for near in (0, 1) for a in range(4) for b in range(4) if near or a < b]

        def trials(k: int, size: int, pairs: list[tuple[int, int, int]]) -> list[list[tuple[int, int, int]]]:
            ways = [(size, size), (size, -size), (-size, size), (-size, -size)]
            near = [(n, a, b) for n, a, b in pairs if k + n < len(used)]
            return [[(k, c, d)] for c in range(4) for d in (size, -size)] + [
                [(k, a, d), (k + n, b, e)] for n, a, b in near for d, e in ways
            ]

        def descended(steps: Array, sizes: tuple[int, ...]) -> tuple[Array, Array]:
            """Numbers from which no such move lowers the errors, and the errors."""
            steps = steps.copy()
            parts = np.stack([of(k, row) for k, row in enumerate(steps)])
            gap = parts.sum(axis=0) - goal
            best = judge(gap)
            for pairs in (some, every):
                for size in sizes * 4:
                    before = best
                    for trial in (one for k in range(len(used)) for one in trials(k, size, pairs)):
                        rows = {j: steps[j].copy() for j, *_ in trial}
                        for j, c, d in trial:
                            rows[j][c] += d
                        if any(
                            ((row < low[j] - 1e-9) | (row > high[j] + 1e-9)).any() for j, row in rows.items()
                        ):
                            continue
                        new_parts = {j: of(j, row) for j, row in rows.items()}
                        new_gap = gap + sum(new_parts[j] - parts[j] for j in rows)
                        if (new := judge(new_gap)) < best * (1 - 1e-9):
                            best, gap = new, new_gap
                            for j, row in rows.items():
                                steps[j], parts[j] = row, new_parts[j]
                    if size == 1 and best >= before:
                        break
                if np.abs(gap[:, 1:]).max() <= 1.0:
                    break
            return steps, gap

        def worst(gap: Array) -> float:
            return float(np.abs(gap[:, 1:]).max())

        steps, gap = descended(steps, (20, 8, 3, 1))
        rng = np.random.default_rng(_SEED)
        for _ in range(kicks):
            if worst(gap) <= 1.0:
                break
            kick = np.rint(rng.normal(0.0, 1.0, steps.shape))
            other, left = descended(np.clip(steps + kick, low, np.maximum(low, high)), (3, 1))
            if judge(left) < judge(gap):
                steps, gap = other, left
        return worst(gap), steps

    def _bag(self, seat: int, mass: float, along: float, *places: float) -> Bag:
        s = self.seats
        share = round(along * ALONG, 9)
        ends = slice(0, 2)
        if self.single[seat] or share in (0.0, 1.0):
            ends = slice(1, 2) if share == 1.0 else slice(0, 1)
        aft = np.round(np.array(places)[ends] * PLACE, 4)
        return Bag(
            tuple(s.ribs[seat, ends].tolist()),
            tuple(s.y[seat, ends].tolist()),
            tuple((s.edge[seat, ends] + aft).tolist()),
            tuple(aft.tolist()),
            float(s.sign[seat]) * round(mass * self.step, 9),
            share if ends == slice(0, 2) else 0.5,
        )


def _chosen(
    matrix: Array,
    goal: Array,
    sign: Array,
    most: int,
    largest: float,
    rivals: Array,
    least: Array,
    enough: float,
    a_bag: float,
) -> Array:
    """Kilograms on both ends of both ribs of every seat, at most so many seats in use, for the least worst
    error.

    A mixed-integer linear program: the worst error of bending and torsion is what is minimised, with a little
    of the worst error of shear; a whole number 0 or 1 a seat says whether a bag lies there.

    Parameters
    ----------
    matrix : (n_cuts, 3, n_seats, 4) float array
        Error per kilogram.
    goal : (n_cuts, 3) float array
        Error without bags, with the other sign.
    sign : (n_seats,) float array
        -1 for a cord.
    most : int
        Seats in use.
    largest : float
        kg on a seat.
    rivals : (n, n_seats) float array
        Rows of 0 and 1: seats of which one at the most can be used.
    least : (n_seats,) float array
        Least share on either rib of a batten.
    enough : float
        Errors below this count alike.
    a_bag : float
        What a bag counts beside the worst error.

    Returns
    -------
    (n_seats, 4) float array
        kg.
    """
    n = matrix.shape[2]
    shear, rest = (matrix[:, kinds].reshape(-1, 4 * n) for kinds in ([0], [1, 2]))
    wanted_shear, wanted = goal[:, 0], goal[:, 1:].ravel()
    # Unknowns: kilograms, whether a seat is used, worst error of bending and torsion, worst error of shear.
    rows: list[Array] = []
    bounds: list[Array] = []
    for block, right, column in ((rest, wanted, 0), (shear, wanted_shear, 1)):
        error = np.zeros((len(block), 2))
        error[:, column] = -1.0
        for way in (1.0, -1.0):
            rows.append(np.hstack([way * block, np.zeros((len(block), n)), error]))
            bounds.append(way * right)
    rows.append(np.hstack([np.repeat(np.eye(n), 4, axis=1), -largest * np.eye(n), np.zeros((n, 2))]))
    rows.append(np.concatenate([np.zeros(4 * n), np.ones(n), [0.0, 0.0]])[None])
    bounds += [np.zeros(n), np.array([float(most)])]
    rows.append(np.hstack([np.zeros((len(rivals), 4 * n)), rivals, np.zeros((len(rivals), 2))]))
    bounds.append(np.ones(len(rivals)))
    for k in np.flatnonzero(least > 0).tolist():
        for one in (0, 1):
            share = np.zeros((1, 5 * n + 2))
            share[0, 4 * k : 4 * k + 4] = least[k]
            share[0, 4 * k + 2 * one : 4 * k + 2 * one + 2] -= 1.0
            rows.append(share)
            bounds.append(np.zeros(1))
    cost = np.zeros(5 * n + 2)
    cost[4 * n : 5 * n] = np.where(sign < 0, _CORD_COUNTS, a_bag)
    cost[-2:] = 1.0, _SHEAR_COUNTS
    whole = np.concatenate([np.zeros(4 * n), np.ones(n), [0.0, 0.0]])
    top = np.concatenate([np.full(4 * n, largest), np.ones(n), [np.inf, np.inf]])
    with system.hushed():  # the solver has a line that it prints even where it is told to say nothing
        found = so.milp(
            cost,
            constraints=so.LinearConstraint(np.vstack(rows), -np.inf, np.concatenate(bounds)),
            integrality=whole,
            bounds=so.Bounds(np.concatenate([np.zeros(5 * n), [enough, enough]]), top),
            # To reduce the program first costs more than it saves where many branches are looked at.
            options={
                "node_limit": _PARTED_NODES if enough else _NODES,
                "mip_rel_gap": _GAP,
                "presolve": bool(enough),
            },
        )
    if found.x is None:
        raise ArithmeticError(f"no choice of bags was found: {found.message}")
    return np.maximum(found.x[: 4 * n], 0.0).reshape(n, 4)
