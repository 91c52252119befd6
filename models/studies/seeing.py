"""Which dials of a bench test tell the webs of a wing apart, and which missing webs they will show.

The judge of the readings (`measured`) is asked before the test. Readings are taken one after another, always
the one that helps most, until a web that is missing is named as surely as if every dial were read at every
step. How surely is estimated from distances: with a web gone readings lie d standard deviations (of wood,
bags, hold, shape and noise together) from those of a sound wing or of another web gone, the logarithm of the
likelihoods' ratio is normal with mean d**2/2 and variance d**2, and it must exceed what `measured` asks. What
is told in the end is not this estimate but the judge's own (`Bench.foreseen`).

Sources: distance of two normal distributions and the error of telling them apart: Duda, Hart and Stork,
Pattern Classification, 2001, section 2.8; choosing measurements one by one: Kammer, Sensor placement for
on-orbit modal identification, Journal of Guidance 14, 1991 (both from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from fea.arrays import Array, Ints
from fea.solve import factorise, statics
from fea.structure import Loads
from models import units_out as say
from models.analysis import Analysis
from models.loads.bags import Bag, rib_stations
from models.structure import build
from models.structure.model import Model
from models.studies import hypotheses as hyp
from models.studies.bench_test import BenchTest, Mark, bag_loads, held, point_deflection
from models.studies.hand_test import bears
from models.studies.measured import (
    CREDIBLE,
    DIAL,
    DOUBT,
    GAUGE,
    MESH,
    MOST,
    RELATIVE,
    SEEN,
    WORTH,
    Bench,
    Noise,
    Suspect,
)
from models.studies.readings import SIDES, Laid, Reading, bags_csv, read_bags
from models.studies.response import Moved
from models.wing.parts import Wing

COUPLE_AT = (0.05, 0.85)
"""Where the bag of the couple lies on the outermost rib, first and then, of the chord (a judgement)."""
COUPLE_SHARE = 0.5
"""What the couple may use of the load that does no harm (a judgement, no source)."""
_GIVEN_AWAY, _LEAST_GIVEN_AWAY = 0.05, 0.3
"""Share of the webs named, on average, and number of them, by which fewer readings may fall short of all
dials at all steps (a choice)."""
_NEARLY = 0.85
"""What no web that all dials at all steps would surely show may fall below (a choice)."""
_ALONG = (0.55, 0.75)
"""Where along the outermost rib's span a dial on the first spar is read in any case: bending is told of dials
far out."""
_TWIST = math.radians(5.0)
"""How far the couple may twist the outermost rib: half of what small movements allow."""
_LEAST_COUPLE = 0.01


@dataclass(frozen=True)
class Couple:
    """A bag on the outermost rib, alone on the wing: first fore, then aft. What the dials differ by is twist.

    `x` and `aft` (of the leading edge) fore and aft, m; `mass` kg; `steps` their numbers.
    """

    rib: int
    y: float
    x: tuple[float, float]
    aft: tuple[float, float]
    mass: float
    steps: tuple[int, int]


@dataclass(frozen=True)
class Dial:
    """A dial to be read, on both sides, at some `steps`: `expected` by all bags of its step (m), `doubt` a
    standard deviation of that (wood, bags, hold, the model), m; both have an entry a step."""

    mark: Mark
    steps: tuple[int, ...]
    expected: tuple[float, ...]
    doubt: tuple[float, ...]


@dataclass(frozen=True)
class Seeing:
    """What to read, and what it will show.

    Parameters
    ----------
    dials : tuple of Dial
        By rib.
    couple : Couple or None
        Where twist is wanted.
    gauge : float
        Standard deviation of a dial, m.
    webs : tuple of (Suspect, float)
        Chance that each is named if it is missing.
    alarm : float
        Chance that something is named in a sound wing.
    every : int
        Readings if every dial were read at every step, both sides.
    twist : float
        Standard deviation of what the readings say of stiffness in twist, as a share.
    """

    dials: tuple[Dial, ...]
    couple: Couple | None
    gauge: float
    webs: tuple[tuple[Suspect, float], ...]
    alarm: float
    every: int
    twist: float

    @property
    def n_readings(self) -> int:
        """Of both sides."""
        return len(SIDES) * sum(len(d.steps) for d in self.dials)

    @property
    def seen(self) -> int:
        """Webs and braces that will be named with a chance of `SEEN` or more."""
        return sum(chance >= SEEN for _, chance in self.webs)


def seeing(
    wing: Wing, test: BenchTest, *, gauge: float = DIAL, twist: bool = False, per_bay: int = MESH
) -> Seeing:
    """Choose what to read.

    Parameters
    ----------
    wing : Wing
        A flying wing.
    test : BenchTest
        Its plan.
    gauge : float
        Standard deviation of a dial, m.
    twist : bool
        Lay a couple besides.
    per_bay : int
        Elements along a bay, at the most `MESH` are used.
    """
    mesh = min(per_bay, MESH)
    model = build(wing, per_bay=mesh)
    laid = list(read_bags(bags_csv(test), model))
    n_steps = len(test.fractions)
    couple = couple_of(model, test) if twist else None
    if couple is not None:
        laid += couple_laid(couple)
    noise = Noise(gauge, GAUGE, RELATIVE)
    steps = list(range(1, n_steps + 1))
    full = Bench(model, SIDES[0], tuple(laid), _readings(test.marks, steps, couple), mesh)
    field = _Field(full, noise, n_steps)
    goal = field.named(list(field.reading))
    chosen: list[tuple[int, int]] | None = None
    # Two steps at the least: dials that are off by a fixed amount show only then.
    fewer = sorted({max(1, round(n_steps / 2)), n_steps})
    for those in (fewer, steps[-3:], steps):
        found = field.chosen(those, goal)
        if found is not None and (chosen is None or len(found) < len(chosen)):
            chosen = found
    if chosen is None:
        chosen = list(field.reading)
    bench = Bench(
        model, SIDES[0], tuple(laid),
        [full.readings[field.reading[one]] for one in chosen], mesh,
    )  # fmt: skip
    seen, alarm = bench.foreseen(noise)
    expected, doubt = field.expected()
    by_place: dict[tuple[int, float], list[tuple[int, int]]] = {}
    for one in chosen:
        by_place.setdefault(full.marks[one[1]][1::2], []).append(one)
    marks = {(m.rib, round(m.x, 6)): m for m in test.marks}
    dials = []
    for place in sorted(by_place):
        mine = sorted(by_place[place])
        share = [full.share[field.reading[one]] for one in mine]
        dials.append(
            Dial(
                marks[place],
                tuple(step for step, _ in mine),
                tuple(float(s * expected[m]) for s, (_, m) in zip(share, mine)),
                tuple(float(s * doubt[m]) for s, (_, m) in zip(share, mine)),
            )
        )
    extra = 0 if couple is None else 2
    return Seeing(
        tuple(dials), couple, gauge, tuple(zip(bench.suspects, seen.tolist())), alarm,
        len(SIDES) * len(test.marks) * (n_steps + extra), bench.foreseen_twist(noise),
    )  # fmt: skip


def couple_of(model: Model, test: BenchTest) -> Couple | None:
    """The couple's bag, as heavy as does no harm; None where even a light one would."""
    plan = model.wing.planform
    assert plan is not None
    stations = rib_stations(model)
    rib, y = len(stations), float(stations[-1])
    edge, chord = float(plan.leading_edge_x.at(y)), float(plan.chord.at(y))
    aft = tuple(round(share * chord, 3) for share in COUPLE_AT)
    x = (edge + aft[0], edge + aft[1])
    from fea.assembly import Assembly

    loads = np.stack([bag_loads(model, (Bag((rib,), (y,), (a,), (0.0,), 1.0),)) for a in x], axis=-1)
    solution = statics(factorise(Assembly(model.structure), held(model)), Loads(loads))
    most = 0.5 * max((bag.mass for bag in test.plan.bags), default=0.0)
    analysis = Analysis(model, solution, 0, None, 1.0, solution.recover(0), held=True)
    borne = [one for one in (bears(analysis, k) for k in range(2)) if one is not None]
    most = min([most, *(COUPLE_SHARE * one.harmless for one in borne)])
    marks = [mark for mark in test.marks if mark.rib == rib]
    moves = np.stack([point_deflection(model, solution.displacements, m.x, m.y) for m in marks])
    turned = np.abs(moves[0] - moves[-1]).max() / max(abs(marks[-1].x - marks[0].x), 1e-9)
    most = min(
        most, _TWIST / max(turned, 1e-12), float(np.abs(test.full).max()) / max(np.abs(moves).max(), 1e-12)
    )
    mass = math.floor(most / _LEAST_COUPLE + 1e-9) * _LEAST_COUPLE
    n = len(test.fractions)
    return None if mass < _LEAST_COUPLE else Couple(rib, y, x, (aft[0], aft[1]), mass, (n + 1, n + 2))


def couple_laid(couple: Couple) -> list[Laid]:
    """What lies on the wing at the couple's steps."""
    return [Laid(s, couple.rib, x, couple.y, couple.mass) for s, x in zip(couple.steps, couple.x)]


def _readings(marks: tuple[Mark, ...], steps: list[int], couple: Couple | None) -> list[Reading]:
    every = [*steps, *(couple.steps if couple else ())]
    return [Reading(k, SIDES[0], m.rib, m.x, "deflection", 0.0, 0) for k in every for m in marks]


class _Field:
    """Readings to choose among: (step, mark of `full`), and how well some of them tell webs apart."""

    def __init__(self, full: Bench, noise: Noise, n_steps: int) -> None:
        self.full, self.noise, self.n_steps = full, noise, n_steps
        self.reading = {(r.step, int(full.mark_of[i])): i for i, r in enumerate(full.readings)}
        mean = full.prior.mean
        size = full.drawn[0].moves
        shape = hyp.SHAPE * full._largest(size)
        maker = full._maker(shape, 0)
        self.problems = [maker.about(self._at(moved, mean), mean) for moved in full.drawn]
        sound = self.problems[0]
        self.centres = np.stack([p.centre for p in self.problems])
        self.covariance = (
            np.diag(shape**2)
            + (sound.slope * sound.spread**2) @ sound.slope.T
            + sound.common @ sound.common.T
        )
        prior = hyp.PRIORS["web gone"] / max(len(full.suspects), 1)
        sound_prior = 1.0 - sum(hyp.PRIORS.values())
        self.asked = math.log(sound_prior / prior) + math.log(1 / DOUBT)
        self.beside = math.log(CREDIBLE / (1 - CREDIBLE))

    def _at(self, moved: Moved, mean: Array) -> Moved:
        from models.studies.explanation import power_law

        return power_law(moved)(mean)

    def named(self, chosen: list[tuple[int, int]]) -> Array:
        """Chance that each web is named if it is missing, (n_suspects,), as estimated."""
        if not chosen or len(self.centres) < 2:
            return np.zeros(len(self.centres) - 1)
        return self._named(self._distances(chosen, [])[0])

    def _known(self, chosen: list[tuple[int, int]]) -> tuple[Ints, Array]:
        """Marks of readings, and the variance that their dials leave each."""
        at, place = np.unique([mark for _, mark in chosen], return_inverse=True)
        share = np.array([self.full.share[self.reading[one]] for one in chosen])
        size = np.abs(self.centres[0][at])[place]
        known = np.bincount(
            place, share**2 / (self.noise.dial**2 + (self.noise.relative * share * size) ** 2), len(at)
        )
        return at.astype(np.intp), 1 / known

    def _distances(self, chosen: list[tuple[int, int]], more: list[list[tuple[int, int]]]) -> Array:
        """Squares of distances between the sound wing and wings without each web, (1 + n, n_wings, n_wings):
        by some readings, and by these and each group of `more`, of one mark each that is not among them."""
        at, left = self._known(chosen)
        inverse = np.linalg.inv(self.covariance[np.ix_(at, at)] + np.diag(left))
        there = self.centres[:, at]
        inner = there @ inverse @ there.T
        own = np.diag(inner)
        square = (own[:, None] + own - 2 * inner)[None]
        if more:
            marks, doubt = (np.concatenate(each) for each in zip(*(self._known(group) for group in more)))
            beside = self.covariance[np.ix_(at, marks)]
            told = inverse @ beside
            doubt = np.diag(self.covariance)[marks] + doubt - (beside * told).sum(axis=0)
            new = (self.centres[:, marks] - there @ told).T
            gain = (new[:, :, None] - new[:, None]) ** 2 / doubt[:, None, None]
            square = np.concatenate([square, square + gain])
        return np.maximum(square, 1e-12)

    def _named(self, square: Array) -> Array:
        """Chance that each web is named, by squares of distances (n_wings, n_wings)."""

        def chance(squares: Array, asked: float) -> Array:
            return np.asarray(ndtr((squares / 2 - asked) / np.sqrt(squares)))

        webs = square[1:, 1:].copy()
        named = chance(square[0, 1:], self.asked)
        if len(webs) > MOST:
            # So many others may be told beside it.
            webs.sort(axis=1)
            named = np.minimum(named, chance(webs[:, MOST], self.beside))
        return named

    def chosen(self, steps: list[int], goal: Array) -> list[tuple[int, int]] | None:
        """The fewest readings, every chosen dial at all of `steps`, that come near such chances; None if none
        do."""
        marks = self.full.marks
        of_plan = sorted({m for s, m in self.reading if s == self.n_steps})
        groups = [[(step, mark) for step in steps] for mark in of_plan]
        groups += [[one] for one in sorted(self.reading) if one[0] > self.n_steps]
        outermost = max(mark.rib for mark in marks)
        # Bending is told of dials on spars far out, twist of two dials on one rib: the outermost rib's.
        out = [g for g in groups if marks[g[0][1]].rib == outermost]
        stations = rib_stations(self.full.model)
        spar = self.full.model.wing.spars[0]
        for share in _ALONG:

            def how_near(group: list[tuple[int, int]], share=share) -> tuple[float, float, bool]:
                step, mark = group[0][0], marks[group[0][1]]
                y = float(stations[mark.rib - 1])
                across = abs(mark.x - float(spar.x.at(y)))
                return abs(y - share * stations[outermost - 1]), across, step > self.n_steps

            near = min(groups, key=how_near)
            out += [near] if near not in out else []
        found = [one for group in out for one in group]
        left = [g for g in groups if g not in out]

        def short(named: Array) -> bool:
            clear = (named >= _NEARLY)[goal >= SEEN].all()
            return not clear or float((goal - named).sum()) > max(
                _GIVEN_AWAY * float(goal.sum()), _LEAST_GIVEN_AWAY
            )

        named = self.named(found)
        while short(named) and left:
            each = self._distances(found, left)[1:]
            gains = [float((self._named(one) - named).sum()) / len(g) for one, g in zip(each, left)]
            best = int(np.argmax(gains))
            found = found + left.pop(best)
            named = self.named(found)
        return None if short(named) else found

    def expected(self) -> tuple[Array, Array]:
        """Movements of the wing as listed under all bags, and their standard deviation, (n_marks,), m."""
        return self.full.drawn[0].moves, np.sqrt(np.diag(self.covariance))


def sentences(one: Seeing) -> list[str]:
    """In words: what to read, and what it will show."""
    from models.studies.measured import places

    said = []
    sides = f"{one.n_readings} readings, both sides together (every dial at every step would be {one.every})"
    clear = [s for s, chance in one.webs if chance >= SEEN]
    maybe = [s for s, chance in one.webs if 0.5 <= chance < SEEN]
    total = len(one.webs)
    gauge = f"{say.length(one.gauge):g}"
    if clear:
        seen = (
            f"With dials good to {gauge}, {len(clear)} of the {total} webs and braces would be named if "
            f"missing ({100 * SEEN:.0f} % or surer): {places(clear)}"
        )
    else:
        seen = f"With dials good to {gauge}, none of the {total} webs and braces would surely be named"
    if maybe:
        seen += f"; more likely than not: {places(maybe)}"
    rest = total - len(clear) - len(maybe)
    if rest:
        which = "one" if rest == 1 else str(rest)
        seen += (
            f"; of {'the other ' if clear or maybe else ''}{which} a missing one will probably not be seen: "
            "look at those by eye, against the light or through the ribs, before covering"
        )
    said.append(f"Take {sides}.")
    said.append(f"{seen}.")
    if one.twist > WORTH or not math.isfinite(one.twist):
        more = "" if one.couple else ": ask for a couple with --twist if you want it"
        said.append(f"These bags do not tell stiffness in twist{more}.")
    return said
