"""The named hypotheses that readings of a bench test are compared under, with one likelihood.

What may be: all is sound; a web or brace is gone; one is thinner or loose; two are; the wood of caps, webs or
other pieces is off by more than wood scatters; a rib or a panel of sheeting is loose; the hold turns; a bag
lies elsewhere, or all do; a dial or all dials are off; signs or units of the dials are mistaken; a slip of
the test and one of the others besides, as likely beforehand as both are independently of each other. Each has
a prior weight (`PRIORS`), a marginal likelihood with the wood, the bags' places and the dials integrated out
(`explanation`), and from both a probability.

What is taken as known is the same for all: the scatter of wood, an error in common (`measured.COMMON`),
bags that lie up to `PLACED` off, all together and one by one, a hold that gives `HOLD` in twist, noise, and
the model's own error of shape, `SHAPE` of each rib's largest movement.

Source: comparison of hypotheses by marginal likelihoods: Kass and Raftery, Bayes factors, Journal of the
American Statistical Association 90, 1995 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import log_ndtr

from fea.arrays import Array
from models.gravity import GRAVITY
from models.studies.explanation import Fit, Law, Maker, Prior, Problem, power_law
from models.studies.response import Moved

SHAPE = 0.005
"""Standard deviation of the model's own error at a mark, of the largest movement of its rib. The model is
-0.5 % off in tip deflection and 0.4 to 0.9 % in twist of a whole half wing as a converged solid
(`validate 'wing 1'`, by a couple, ribs between root and tip)."""
PLACED = 2e-3
"""Standard deviation of where a bag lies along its rib, m, of all together and of each (a judgement)."""
HOLD = math.radians(0.1)
"""Standard deviation of the twist that the hold gives under all bags, rad: caps alone or the whole centre
section held differ by about as much on the half wings of `validate 'wing 1'` (a judgement)."""
PRIORS = {
    "web gone": 0.12,
    "web loose": 0.12,
    "two webs": 0.01,
    "wood": 0.02,
    "rib": 0.01,
    "sheeting": 0.01,
    "hold": 0.02,
    "bags": 0.02,
    "bag": 0.02,
    "offset": 0.02,
    "dial offset": 0.01,
    "sign": 0.02,
    "dial sign": 0.01,
    "unit": 0.01,
    "dial unit": 0.01,
    "load unit": 0.01,
}
"""Prior weights of the kinds of hypothesis, each spread evenly over its own; "sound" has the rest (a
judgement, no source)."""
LEFT = (0.1, 0.2, 0.35, 0.5, 0.65, 0.8)
"""What a thinner or loose web may keep of its stiffness."""
PART_LEFT = (0.05, 0.3)
"""The same of a loose rib or panel of sheeting."""
PAIR_LEFT = (0.0, 0.5)
UNITS = {
    "cm for mm": 10.0,
    "mm for cm": 0.1,
    "inches for mm": 25.4,
    "mm for inches": 1 / 25.4,
    "m for mm": 1e3,
}
"""What readings are multiplied by to come right."""
LOAD_UNITS = {
    "they weigh newtons where kilograms are written": GRAVITY,
    "they weigh kilograms where newtons were counted": 1 / GRAVITY,
    "they weigh pounds where kilograms are written": 1 / 0.45359237,
    "they weigh kilograms where pounds were counted": 0.45359237,
}
"""The same of all dials and gauges, where the bags' masses are mistaken (standard gravity; the pound)."""
WOOD_OFF = 0.7
"""Standard deviation of ln flexibility of a kind of wood that is off (a factor of 2)."""
BAG_OFF, BAGS_OFF = 30e-3, 15e-3
"""Standard deviation of how far one bag lies off that was misplaced, or all of them, m."""
OFFSET = 1e-3
"""Standard deviation of an offset of the dials, m."""
TURNS = (math.radians(0.5), math.radians(1.0))
"""Standard deviation of how far a hold that gives turns in bending and in twist under all bags, rad."""
PAIRED = 4
"""Webs that are tried with every other."""
SLIPS = (
    "offset", "sign", "unit", "load unit", "bags", "bag", "dial offset", "dial sign", "dial unit", "hold",
)  # fmt: skip
"""Kinds that are of the test and not of the wing."""
BESIDES = 3
"""Slips that are tried with everything else besides."""
_ANYTHING = 20.0
"""Times the model's own error of shape by which they are chosen, 10 % of each rib's largest movement: so much
a wing may be off that has something else besides (a choice)."""
_SCALES = ("unit", "load unit", "dial unit")
_NEAR = 0.01
"""A step in ln flexibility that is taken without fitting anew: what is missed is half its square."""
_NINE_OF_TEN = 1.2816
"""Standard deviations below which nine of ten normal draws lie."""
_FITTED = 60
"""Hypotheses whose wood is fitted; the rest lie far below by the slopes."""


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """What may be.

    Parameters
    ----------
    kind : str
        "sound" or one of `PRIORS`.
    words : str
        As it is told.
    group : tuple
        Hypotheses of a group are told as one.
    left : tuple of (int, float)
        Parts that keep a share of their stiffness.
    columns : (n_data, n) float array or None
        What unknowns of its own add to the data, one unit each.
    wood : (n_pieces, n) float array or None
        What they add to the logarithms of flexibilities.
    spread : (n,) float array
        Their standard deviations.
    factor : (n_data,) float array or None
        What the data are to be multiplied by.
    error : (n_data,) float array or None
        Standard deviation of the data so multiplied, where that is not the multiplied one: a dial that is
        read in another unit is as good as it is.
    webs : tuple of int
        Numbers of the suspects that it accuses.
    sign : float
        Sign that its own unknown (the last, of several) must have; 0 for either.
    parts : tuple of Hypothesis
        Of two that are so together, these; none of one alone.
    """

    kind: str
    words: str
    group: tuple[object, ...]
    left: tuple[tuple[int, float], ...] = ()
    columns: Array | None = None
    wood: Array | None = None
    spread: Array = field(default_factory=lambda: np.zeros(0))
    factor: Array | None = None
    error: Array | None = None
    webs: tuple[int, ...] = ()
    sign: float = 0.0
    parts: tuple[Hypothesis, ...] = ()


@dataclass(frozen=True, eq=False)
class Judged:
    """A hypothesis after the readings: `evidence` ln of the marginal likelihood over that of the sound wing,
    `weight` its probability, `fit` the best wood and unknowns."""

    hypothesis: Hypothesis
    evidence: float
    weight: float
    fit: Fit

    @property
    def own(self) -> Array:
        """Best values of the hypothesis's own unknowns."""
        return self.fit.at[len(self.fit.at) - len(self.hypothesis.spread) :]


def log_prior(hypotheses: Sequence[Hypothesis], pairs: int) -> Array:
    """ln of the prior of every hypothesis; `pairs` in all, of which a few are among them."""
    counts: dict[str, int] = {}
    for one in hypotheses:
        counts[one.kind] = counts.get(one.kind, 0) + 1
    if "two webs" in counts:
        counts["two webs"] = max(pairs, 1) * len(PAIR_LEFT) ** 2
    sound = 1.0 - sum(PRIORS.values())
    return np.array(
        [math.log(sound if h.kind == "sound" else PRIORS[h.kind] / counts[h.kind]) for h in hypotheses]
    )


def both(slip: Hypothesis, other: Hypothesis) -> Hypothesis | None:
    """Two hypotheses that are so together; None where they speak of the same thing. A slip of the test
    (`SLIPS`), and any but the sound wing."""
    if other.kind == "sound" or slip.group == other.group:
        return None
    if slip.kind in _SCALES and other.kind in _SCALES:
        return None
    first, last = (other, slip) if slip.sign else (slip, other)
    if first.sign:
        return None

    def beside(a: Array | None, b: Array | None) -> Array | None:
        n = next((len(each) for each in (a, b) if each is not None), None)
        if n is None:
            return None
        return np.concatenate(
            [
                np.zeros((n, len(one.spread))) if each is None else each
                for one, each in ((first, a), (last, b))
            ],
            axis=1,
        )

    if slip.factor is not None and other.factor is not None:
        factor: Array | None = slip.factor * other.factor
    else:
        factor = slip.factor if other.factor is None else other.factor
    return Hypothesis(
        slip.kind, f"{slip.words}, and besides {other.words}",
        ("both", *sorted((slip.group, other.group), key=repr)),
        slip.left + other.left, beside(first.columns, last.columns), beside(first.wood, last.wood),
        np.concatenate([first.spread, last.spread]), factor,
        slip.error if slip.error is not None else other.error, slip.webs + other.webs, last.sign,
        (first, last),
    )  # fmt: skip


def _law_of(one: Hypothesis, base: Moved, at: Array, n_more: int) -> Law:
    """Data for the logarithms of flexibilities and then a hypothesis's own unknowns, from movements under it
    solved at the wood `at`; the last `n_more` data are what readings miss of a line through zero."""
    plain, n = power_law(base), len(at)

    def law(unknown: Array) -> Moved:
        own = unknown[n:]
        wood = unknown[:n] + (one.wood @ own if one.wood is not None else 0.0)
        moved = plain(wood - at)
        moves = np.concatenate([moved.moves, np.zeros(n_more)])
        slopes = np.concatenate([moved.slopes, np.zeros((n_more, n))])
        if len(own):
            more = np.zeros((len(moves), len(own)))
            if one.wood is not None:
                more[: len(moved.moves)] += moved.slopes @ one.wood
            if one.columns is not None:
                more += one.columns
                moves = moves + one.columns @ own
            slopes = np.concatenate([slopes, more], axis=1)
        return Moved(moves, slopes)

    return law


@dataclass(frozen=True, eq=False)
class ReadData:
    """What was read, and how far it may be off. The maker's error is without the model's own, which is
    `shape` (n_data,); `data` (n_data,) are readings gathered, `n_more` of them are what they miss
    of lines through zero."""

    maker: Maker
    shape: Array
    data: Array
    n_more: int

    @property
    def error(self) -> Array:
        """Of the data, the model's own with it."""
        return np.hypot(self.maker.error, self.shape)


@dataclass(frozen=True, eq=False)
class Posed:
    """A hypothesis ready to be fitted: ln density of the reading as it is to that as it is put right `level`,
    unknowns to begin from `first`."""

    law: Law
    maker: Maker
    reading: Array
    level: float
    first: Array

    def problem(self) -> Problem:
        """By slopes alone."""
        return self.maker.about(self.law(self.first), self.first)

    def rough(self) -> float:
        """Evidence by slopes alone."""
        return self.problem().evidence(self.reading) + self.level


def posed(one: Hypothesis, base: Moved, at: Array, start: Array, read: ReadData) -> Posed:
    """A hypothesis ready to be fitted.

    Parameters
    ----------
    one : Hypothesis
        What may be.
    base : Moved
        Movements under it at the wood `at`.
    at, start : (n_pieces,) float array
        Wood that was solved, and wood to start from.
    read : ReadData
        What was read.
    """
    maker, data = read.maker, read.data
    error = maker.error if one.factor is None else maker.error * np.abs(one.factor)
    error = error if one.error is None else one.error
    mean, spread = maker.prior.mean, maker.prior.spread
    prior = Prior(np.append(mean, np.zeros(len(one.spread))), np.append(spread, one.spread))
    mine = replace(maker, prior=prior, error=np.hypot(error, read.shape))
    reading = data if one.factor is None else data * one.factor
    level = 0.0 if one.factor is None else float(np.log(np.abs(one.factor)).sum())
    first = np.concatenate([start, np.zeros(len(one.spread))])
    return Posed(_law_of(one, base, at, read.n_more), mine, reading, level, first)


def likeliest_slips(
    hypotheses: Sequence[Hypothesis], priors: Array, base: Moved, at: Array, start: Array, read: ReadData
) -> list[Hypothesis]:
    """The slips of the test that are likeliest where the wing may be off besides, `BESIDES` of them.

    Parameters
    ----------
    hypotheses : sequence of Hypothesis
        Slips are looked for among these.
    priors : (n,) float array
        ln.
    base : Moved
        Movements of the sound wing at the wood `at`.
    at, start : (n_pieces,) float array
        Wood that was solved, and wood to start from.
    read : ReadData
        What was read.
    """
    slips = [(one, p) for one, p in zip(hypotheses, priors) if one.kind in SLIPS]
    wide = replace(read, shape=_ANYTHING * read.shape)
    rough = [p + posed(one, base, at, start, wide).rough() for one, p in slips]
    return [slips[int(k)][0] for k in np.argsort(-np.array(rough), kind="stable")[:BESIDES]]


def judge(
    hypotheses: Sequence[Hypothesis],
    priors: Array,
    bases: Sequence[Moved],
    at: Array,
    start: Array,
    read: ReadData,
) -> list[Judged]:
    """Evidence of all hypotheses, the likeliest first.

    Parameters
    ----------
    hypotheses : sequence of Hypothesis
        The first: sound.
    priors : (n,) float array
        ln.
    bases : sequence of Moved
        Movements under each at the wood `at`.
    at, start : (n_pieces,) float array
        Wood that was solved, and wood to start from.
    read : ReadData
        What was read.

    Returns
    -------
    list of Judged
        Those that were fitted, the sound one among them; `evidence` against it.
    """
    every = [posed(one, base, at, start, read) for one, base in zip(hypotheses, bases)]
    rough = [each.rough() for each in every]
    order = np.argsort(-(np.array(rough) + priors), kind="stable")
    chosen = [0, *[int(k) for k in order if k][: _FITTED - 1]]
    chosen += [k for k, h in enumerate(hypotheses) if h.kind == "web gone" and k not in chosen]
    found = []
    for k in chosen:
        one = every[k]
        law, mine, reading, level, first = one.law, one.maker, one.reading, one.level, one.first
        other = (mine.prior.mean, law(mine.prior.mean))
        fit = mine.fit(law, reading, first, 20, other=other, close=_NEAR)
        last = mine.prior.mean + fit.problem.deviations(reading)[0]
        if np.abs(last - fit.at).max(initial=0.0) <= _NEAR:
            # What is counted in metres is told by this step alone.
            fit = replace(fit, at=last)
        if hypotheses[k].sign:
            # Half a normal prior: twice its density where the unknown has the sign, none elsewhere.
            less, doubt = (float(each[-1]) for each in fit.problem.deviations(reading))
            level += math.log(2) + float(log_ndtr(hypotheses[k].sign * less / max(doubt, 1e-300)))
        found.append((k, fit, fit.evidence + level))
    sound = found[0][2]
    evidence = np.array([e - sound for _, _, e in found])
    weight = np.exp(evidence + priors[chosen] - (evidence + priors[chosen]).max())
    weight /= weight.sum()
    out = [
        Judged(hypotheses[k], float(e), float(w), fit) for (k, fit, _), e, w in zip(found, evidence, weight)
    ]
    return sorted(out, key=lambda j: -j.weight)


def told_from(sound: Problem, column: Array, spread: float, asked: float) -> float:
    """How large a slip of the test must be to be told of in nine of ten tests.

    With a slip d in readings that know it to 1/sqrt(t), the estimate is normal about d, and the logarithm of
    the likelihoods' ratio to a sound wing is w t estimate**2/2 - ln(1 + spread**2 t)/2, with
    w = spread**2 t/(1 + spread**2 t).

    Parameters
    ----------
    sound : Problem
        The readings as a sound wing makes them.
    column : (n_data,) float array
        What a slip of 1 m adds to the data, m.
    spread : float
        Standard deviation of the slip where there is one, m.
    asked : float
        What ln evidence must exceed for the slip to be told.

    Returns
    -------
    float
        m; inf where no size is told.
    """
    known = sound.information(column)
    if known <= 0:
        return math.inf
    gained = spread**2 * known
    asked = max(asked + math.log1p(gained) / 2, 0.0)
    return math.sqrt(2 * asked * (1 + gained) / (gained * known)) + _NINE_OF_TEN / math.sqrt(known)


def besides(slips: Sequence[Hypothesis], listed: Sequence[Hypothesis]) -> list[Hypothesis]:
    """Slips of the test, each with everything else besides."""
    done: set[tuple[object, ...]] = set()
    out = []
    for slip in slips:
        out += [two for other in listed if other.group not in done and (two := both(slip, other)) is not None]
        done.add(slip.group)
    return out


def groups(judged: Sequence[Judged]) -> list[list[Judged]]:
    """Hypotheses that are told as one, gathered, the likeliest group first."""
    of: dict[tuple[object, ...], list[Judged]] = {}
    for one in judged:
        of.setdefault(one.hypothesis.group, []).append(one)
    return sorted(of.values(), key=_weight)


def merged(gathered: Sequence[list[Judged]]) -> list[list[Judged]]:
    """Groups for the verdict, the sound wing left out, the likeliest first: two things together of which one
    alone is likelier stand with that one, for what is told of it is right either way."""
    off = [list(g) for g in gathered if g[0].hypothesis.kind != "sound"]
    out: list[list[Judged]] = []
    for group in off:
        home = next((g for g in out if _within(g[0].hypothesis, group[0].hypothesis)), None)
        if home is None:
            out.append(group)
        else:
            home += group
    return sorted(out, key=_weight)


def _within(one: Hypothesis, two: Hypothesis) -> bool:
    """Whether one hypothesis is a part of another that is two things together."""
    if two.kind == "two webs":
        return one.kind != "two webs" and not one.parts and bool(one.webs) and set(one.webs) < set(two.webs)
    return any(one.group == part.group for part in two.parts)


def _weight(group: Sequence[Judged]) -> float:
    return -sum(j.weight for j in group)


def misfit(one: Judged, data: Array) -> float:
    """Chance of readings at least as far off under a hypothesis."""
    problem: Problem = one.fit.problem
    factor = one.hypothesis.factor
    return problem.misfit(data if factor is None else data * factor)
