"""Is the wing as stiff as computed? Readings of a bench test against the model, and what would explain them.

Every piece of wood (stick or sheet, `scatter.pieces`) carries a factor on its flexibility with a lognormal
prior from the wood's own scatter (`explanation`). Named hypotheses (`hypotheses`) are compared by their
marginal likelihoods, with wood, places of bags and offsets integrated out, and their priors. One solve of the
wing gives all of them: slopes over the wood by the adjoint, parts taken out or softened as changes of low
rank, bags displaced by the adjoint again (`response`). It is solved anew at the wood of the likeliest, until
that stands.

Something is named only where the probability that all is sound is below `DOUBT` and what is named fits
by chi-square; the fewest hypotheses that share `CREDIBLE` of the rest are told together. How surely a missing
web would be named is drawn by simulation, and `validation.rates` counts how often it comes true.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import scipy.optimize as so
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from fea.solve import factorise, statics
from fea.structure import Loads
from models import units_out as say
from models.loads.bags import Bag, hold, rib_stations
from models.loads.pull_up import GRAVITY
from models.structure import build
from models.structure.model import Model
from models.studies import hypotheses as hyp
from models.studies.bench_test import TAIL, NoBench, bag_loads, held, levers
from models.studies.explanation import Maker, Problem, power_law, wood_prior
from models.studies.layouts import webbed
from models.studies.readings import SIDES, Laid, Reading, as_bags
from models.studies.response import Moved, Response, SolvedResponse
from models.studies.scatter.pieces import pieces_of
from models.wing.parts import Spar, Web, Wing
from models.wing.words import number_runs, spar_words

MESH = 2
"""Elements along a bay, at the most, for what hypotheses change; the wing as drawn is solved on the mesh
asked for, and what that moves by besides is added to all."""
FALSE_ALARM = 0.01
"""Chance of a misfit below which a hypothesis does not explain the readings (a choice)."""
DOUBT = 0.05
"""Something is named only where the probability that all is sound is below this: a Bayes factor of 19 times
the prior odds of sound (`hypotheses.PRIORS`; a choice)."""
CREDIBLE = 0.95
"""What is named shares this much of the probability that something is off."""
MOST = 4
"""More hypotheses than this that cannot be told apart are not named."""
COMMON = 0.03
"""Standard deviation of an error common to all readings of one side, a share of them: weighed bags and the
model itself, whose worst miss in bending against converged solids is 3.4 % (see README; a judgement)."""
WHOLE = 0.22
"""Standard deviation of the factor on the whole wing: that of clear wood's modulus (scatter table of the
woods)."""
DIAL, GAUGE = 0.2e-3, math.radians(0.1)
"""Standard deviation of a reading of deflection, m, and of twist, rad, where nothing else is known (common
practice, no source)."""
RELATIVE = 0.01
"""The same as a share of the reading (common practice, no source)."""
LEAST = 0.05
"""A noise estimated from the scatter over the steps is not taken below this share of those defaults."""
FREEDOM = 10
"""Readings beyond one a mark that it takes to estimate the noise."""
SEEN = 0.9
"""A missing web that is named at least so often is called one that would be seen."""
BLIND = 0.1
"""One that is named less often than this is called one that could not be seen."""
WORTH = 0.25
"""A ratio of stiffness with a larger error is not told."""
_SEED = 71933
_TRIALS, _MORE_TRIALS, _SOUND_TRIALS = 100, 300, 1000
"""Wings drawn without each suspect, more of those suspects that may be promised, and sound ones."""
_PROMISING = 0.5
"""Share of the first draws from which on more are drawn, lest chance alone promise a web."""
_OF_ONE_DIAL = ("dial offset", "dial sign", "dial unit", "bag")
"""Slips of one dial or bag are not tried besides others of the test."""
_PAIRED_BELOW = 0.5
"""Two webs are tried where the probability of a sound wing is below this."""
_FAINT = 1e-7
"""Hypotheses below this share of the likeliest's weight are not solved for again."""
_ROUNDS, _NEAR, _STRIDE = 5, 0.1, 0.7
"""Solves at the wood of the likeliest hypothesis, a step in ln flexibility that is not worth one, and the
longest."""
_TELLS_BAGS = 0.95
"""Readings that leave more than this of the variance of the bags' places say nothing of them."""
_TRUE = 0.1
"""Hypotheses are not compared anew where a solve shows movements so near to what the slopes told, in standard
deviations of the readings."""
_TIMES, _PLAIN = 3.0, 10.0
"""A reading more than so many times the other steps of its mark, or less than that part of them, and more
than so many dials' errors off, is a slip (a choice)."""
_OUTER = 0.55
"""Bending is told of the spar's dials beyond this share of the outermost one's span."""
_AT_SPAR = 3e-3
"""How far from a spar's middle a dial reads the spar, m."""


class MarkRead(NamedTuple):
    """Where a reading was taken: number of the shape of load, rib, "deflection" or "twist", x m."""

    shape: int
    rib: int
    what: str
    x: float


class NoReading(ValueError):
    """Readings that do not go together with what lay on the wing; the message finishes the file's name."""


@dataclass(frozen=True)
class Noise:
    """Standard deviations of one reading: `dial` m, `gauge` rad, `relative` a share of the movement; and
    whether they were estimated from the scatter over the steps."""

    dial: float = DIAL
    gauge: float = GAUGE
    relative: float = RELATIVE
    estimated: bool = False


@dataclass(frozen=True)
class Suspect:
    """A web or brace that might be missing: its spar, face and bay (0 for a whole brace)."""

    kind: str
    spar: str
    face: str
    bay: int

    @property
    def name(self) -> str:
        """In words: "bay 4, main spar: front web"."""
        spar = spar_words(self.spar)
        if self.kind == "brace":
            return f"{spar}: {self.face} brace"
        return f"bay {self.bay}, {spar}: {self.face} web"


@dataclass(frozen=True)
class PieceFound:
    """Stiffness of a piece over the computed one: `before` the scatter of its wood, `factor` and `error`
    after the readings (standard deviations of the factor)."""

    name: str
    before: float
    factor: float
    error: float

    @property
    def learned(self) -> float:
        """Share of the wood's scatter that the readings took away."""
        return 1.0 - (self.error / self.factor / self.before) ** 2


@dataclass(frozen=True)
class SuspectFound:
    """A suspect after the readings.

    `evidence` is ln of the marginal likelihood with it gone, thinner or loose over that of the sound wing;
    `posterior` its share among the suspects; `amount` the share of its stiffness that is gone if anything is,
    with its standard deviation `amount_error`; `seen` the chance that it would have been named rightly (or
    with one beside it that the readings cannot tell from it), had it been missing.
    """

    suspect: Suspect
    evidence: float
    posterior: float
    amount: float
    amount_error: float
    seen: float


@dataclass(frozen=True)
class ToldHypothesis:
    """A hypothesis as told: kind (of `hypotheses.PRIORS`), words, probability, ln evidence against sound."""

    kind: str
    words: str
    probability: float
    evidence: float


@dataclass(frozen=True, eq=False)
class SideFound:
    """What the readings of one side say.

    Parameters
    ----------
    side : str
        "starboard" or "port".
    rib, x, what
        Of every mark, (n_marks,): rib number, m, "deflection" or "twist".
    measured, error : (n_marks,) float array
        Reading brought to all bags, and its standard deviation, m or rad.
    computed : (n_marks,) float array
        As computed, m or rad.
    explained : (n_marks,) float array
        With the best explanation.
    noise : Noise
        As taken.
    bending, bending_error, twist, twist_error : float
        Stiffness measured over computed, and its standard deviation; nan where nothing was read.
    as_computed, whole, pieces_differ : float
        ln of the marginal likelihoods of the three explanations without a missing web.
    whole_factor, whole_error : float
        Stiffness of the whole wing over the computed one, by the second explanation.
    misfit : float
        Chance that readings lie as far from the likeliest hypothesis.
    suspects : tuple of SuspectFound
        The most suspect first.
    chance : float
        Probability that all is sound.
    alarm : float
        Chance that a sound wing would have something named, by simulation.
    named : tuple of Suspect
        Webs and braces that the verdict accuses.
    verdict : tuple of ToldHypothesis
        What is named: the fewest hypotheses that share `CREDIBLE` of the probability that something is off;
        none where `chance` is not below `DOUBT`, where the likeliest does not fit, or where more than
        `MOST` would have to be named.
    hypotheses : tuple of ToldHypothesis
        All that were compared, likeliest first.
    apart : str
        Which reading would tell the first two of the verdict apart; empty where there is one.
    pieces : tuple of PieceFound
        Under the best explanation.
    odd : tuple of (int, float)
        Lines of readings that depart from their own mark's others by more than 4 standard deviations, and by
        how many.
    slips : tuple of (int, float)
        Lines of readings so many times what their mark's other steps make them that they were left out.
    bags_aft, bags_aft_error : float
        How far aft of their places all bags lie on average as the readings alone have it, and its standard
        deviation, m; nan where they do not tell.
    bags_told : float
        How far all bags must lie fore or aft of their places for it to be told in nine of ten tests, m; inf
        where it never is.
    dials_told : (float, float)
        How far off one dial must be for the same, of the dial that shows it first and of the last one, m.
    """

    side: str
    rib: Ints
    x: Array
    what: tuple[str, ...]
    measured: Array
    error: Array
    computed: Array
    explained: Array
    noise: Noise
    bending: float
    bending_error: float
    twist: float
    twist_error: float
    as_computed: float
    whole: float
    pieces_differ: float
    whole_factor: float
    whole_error: float
    misfit: float
    suspects: tuple[SuspectFound, ...]
    chance: float
    alarm: float
    named: tuple[Suspect, ...]
    verdict: tuple[ToldHypothesis, ...]
    hypotheses: tuple[ToldHypothesis, ...]
    apart: str
    pieces: tuple[PieceFound, ...]
    odd: tuple[tuple[int, float], ...]
    slips: tuple[tuple[int, float], ...] = ()
    bags_aft: float = math.nan
    bags_aft_error: float = math.nan
    bags_told: float = math.inf
    dials_told: tuple[float, float] = (math.inf, math.inf)

    @property
    def fits(self) -> bool:
        """Whether what is likeliest explains the readings."""
        return self.misfit >= FALSE_ALARM

    @property
    def sound(self) -> bool:
        """Nothing but other wood is named, sound or other wood is likeliest, and it explains the readings."""
        wood = bool(self.verdict) and all(one.kind == "wood" for one in self.verdict)
        return self.fits and (wood or self.chance >= DOUBT)


@dataclass(frozen=True, eq=False)
class Measured:
    """Readings of a bench test, judged side by side."""

    model: Model
    sides: tuple[SideFound, ...]

    @property
    def sound(self) -> bool:
        """Every side that was read is sound."""
        return all(side.sound for side in self.sides)


def measured(
    wing: Wing,
    laid: tuple[Laid, ...],
    readings: tuple[Reading, ...],
    *,
    noise: Noise | None = None,
    per_bay: int = 4,
    model: Model | None = None,
    progress: Callable[[str], None] | None = None,
) -> Measured:
    """Judge the readings of a bench test.

    Parameters
    ----------
    wing : Wing
        As drawn.
    laid : tuple of Laid
        What lay where at each step, on each side alike.
    readings : tuple of Reading
        Of one side or both; movements from the bare wing, against the centre section.
    noise : Noise or None
        Of one reading; None estimates it from the scatter over the steps where there are enough of them.
    per_bay : int
        Elements along a bay.
    model : Model or None
        Of the wing, if it was built already.
    progress : callable or None
        Told before every step.

    Raises
    ------
    NoBench
        The file is of a specimen.
    NoReading
        A reading at a step at which nothing lay.
    """
    if wing.clamped:
        raise NoBench("a specimen has no bench test")
    model = build(wing, per_bay=per_bay) if model is None else model
    coarse = model if per_bay <= MESH else build(wing, per_bay=MESH)
    sides: list[SideFound] = []
    bench: Bench | None = None
    for side in SIDES:
        mine = [one for one in readings if one.side == side]
        if not mine:
            continue
        like = None if bench is None else bench.mirrored(side, mine)
        # With a noise that is given the other side would show the same.
        seen = None
        if like and noise:
            own = {one.suspect: one.seen for one in sides[0].suspects}
            seen = np.array([own[one] for one in like.suspects]), sides[0].alarm
        bench = like or Bench(coarse, side, laid, mine, min(per_bay, MESH), progress, fine=model)
        sides.append(bench.judged(noise, foreseen=seen))
    return Measured(model, tuple(sides))


def n_steps(sides: int) -> int:
    """Number of steps that `measured` tells its progress of."""
    return 4 * sides


class Bench:
    """What lay on one side and where it was read, with the model that predicts it; ready for any figures.

    Movements are those of all bags: readings of every step are scaled by the share of the bags that lay.
    Where the steps are not in proportion, every shape of load is solved and its marks count as others.

    Parameters
    ----------
    model : Model
        Of the wing as drawn.
    side : str
        "starboard" or "port".
    laid : tuple of Laid
        What lay where at each step.
    readings : sequence of Reading
        Of this side.
    per_bay : int
        Elements along a bay.
    progress : callable or None
        Told before every step.
    fine : Model or None
        The same on a finer mesh: what it moves by besides is added to all that the model predicts.

    Raises
    ------
    NoReading
        A reading at a step at which nothing lay.
    """

    def __init__(
        self,
        model: Model,
        side: str,
        laid: tuple[Laid, ...],
        readings: Sequence[Reading],
        per_bay: int,
        progress: Callable[[str], None] | None = None,
        *,
        fine: Model | None = None,
    ) -> None:
        self.per_bay, self.model, self.side = per_bay, model, side
        self.progress = progress or (lambda _: None)
        steps = sorted({one.step for one in readings})
        loads = {s: bag_loads(model, as_bags(one for one in laid if one.step == s)) for s in steps}
        bare = [s for s in steps if not np.abs(loads[s]).any()]
        if bare:
            line = next(one.line for one in readings if one.step == bare[0])
            raise NoReading(f"line {line}: step {bare[0]} has a reading, but no bags lay there.")
        self.shapes: list[Array] = []
        self.shape_bags: list[tuple[Bag, ...]] = []
        self.shape_of: dict[int, tuple[int, float]] = {}
        for s in sorted(steps, key=lambda s: -float(np.abs(loads[s]).sum())):
            for k, shape in enumerate(self.shapes):
                share = float((loads[s] * shape).sum() / (shape**2).sum())
                if np.abs(loads[s] - share * shape).max() <= 0.01 * np.abs(shape).max() and share > 0:
                    self.shape_of[s] = (k, share)
                    break
            else:
                self.shape_of[s] = (len(self.shapes), 1.0)
                self.shapes.append(loads[s])
                self.shape_bags.append(as_bags(one for one in laid if one.step == s))
        keys = [self._mark(r) for r in readings]
        self.marks = sorted(set(keys))
        self._take(side, readings, keys)
        self.turned = np.array([mark.what == "twist" for mark in self.marks])
        self.shape = np.array([mark.shape for mark in self.marks], dtype=np.intp)
        self.pieces = pieces_of(model)
        pieces = self.pieces.pieces
        self.prior = wood_prior(np.array([p.stiffness for p in pieces]), np.array([p.size for p in pieces]))
        own = SIDES[0] if model.half else side
        self.suspects, of_part = _suspects(model, own)
        self.others = _other_parts(model, own, self.pieces.of_part, of_part, len(self.suspects))
        blocks = model.structure.blocks.items()
        parts = {name: of_part[block.part] for name, block in blocks if block.part is not None}
        parts = {name: of for name, of in parts.items() if (of >= 0).any()}
        self.sound = self._response(model, self.pieces.groups, parts)
        if fine is not None and fine is not model:
            self.sound.offset = self._moves(fine) - self._moves(model)
        self._solved: SolvedResponse | None = None
        self._bases: dict[tuple[tuple[int, float], ...], Moved] = {}
        self._bag_columns: Array | None = None
        self._drawn: list[Moved] | None = None
        self._rebuilt: dict[int, Response] = {}

    def mirrored(self, side: str, readings: Sequence[Reading]) -> Bench | None:
        """The same with readings of the other side, all that was solved kept; None where they were taken at
        other places or steps, or the sides are not alike."""
        if not self.model.half or any(r.step not in self.shape_of for r in readings):
            return None
        keys = [self._mark(r) for r in readings]
        if set(keys) != set(self.marks):
            return None
        other = copy(self)
        other._take(side, readings, keys)
        return other

    def _mark(self, reading: Reading) -> MarkRead:
        return MarkRead(self.shape_of[reading.step][0], reading.rib, reading.what, round(reading.x, 6))

    def _take(self, side: str, readings: Sequence[Reading], keys: list[MarkRead]) -> None:
        """Have readings of a side, at marks that are there already."""
        self.side, self.readings = side, list(readings)
        self.mark_of = np.array([self.marks.index(key) for key in keys], dtype=np.intp)
        self.share = np.array([self.shape_of[r.step][1] for r in readings])

    # Movements

    @property
    def listed(self) -> SolvedResponse:
        """Solved for the wood as listed."""
        if self._solved is None:
            self._solved = self.sound.solve(np.zeros(len(self.prior.mean)))
        return self._solved

    @property
    def drawn(self) -> list[Moved]:
        """Movements and slopes for the wood as listed: of the wing as drawn, then without each suspect."""
        if self._drawn is None:
            solved = self.listed
            self.sound.spread(solved, range(len(self.suspects)))
            self._drawn = [solved.whole]
            self._drawn += [self._base(solved, ((k, 0.0),)) for k in range(len(self.suspects))]
        return self._drawn

    def without(self, k: int) -> Response:
        """The wing built anew without a suspect: joints of web and cap change besides."""
        if k not in self._rebuilt:
            suspect, wing = self.suspects[k], self.model.wing
            sides = SIDES if self.model.half else (self.side,)
            gone = (suspect.kind, suspect.spar, suspect.face, suspect.bay)

            def left(spar: Spar) -> list[Web]:
                of_kind = [("web", spar.name, web.face, web.bay) == gone for web in spar.webs]
                return [web for web, it in zip(spar.webs, of_kind) if not it or web.side not in sides]

            braces = tuple(b for b in wing.braces if ("brace", b.spar, b.face) != gone[:3])
            model = build(replace(webbed(wing, left), braces=braces), per_bay=self.per_bay)
            own = pieces_of(model)
            names = [(p.name, p.material.density) for p in self.pieces.pieces]
            number = np.array([names.index((p.name, p.material.density)) for p in own.pieces] + [-1])
            groups = {name: number[of] for name, of in own.groups.items()}
            self._rebuilt[k] = self._response(model, groups, {})
        return self._rebuilt[k]

    def _response(self, model: Model, pieces: dict[str, Ints], parts: dict[str, Ints]) -> Response:
        loads, matrix = self._asked(model)
        return Response(
            Assembly(model.structure), held(model), loads, matrix, self.shape, pieces,
            len(self.pieces.pieces), parts=parts,
        )  # fmt: skip

    def _asked(self, model: Model) -> tuple[Array, sp.csr_matrix]:
        """Loads (n_nodes, 6, n_shapes) on a model, and each mark's movement from those of its freedoms."""
        loads = np.stack([bag_loads(model, bags) for bags in self.shape_bags], axis=-1)
        rows = [self._row(model, m) for m in range(len(self.marks))]
        d, size = 6, 6 * len(model.structure.nodes)
        at = [[d * node + 2 for node, _ in row] for row in rows]
        values = [[share for _, share in row] for row in rows]
        place = np.repeat(np.arange(len(rows)), [len(row) for row in rows])
        triple = (np.concatenate(values), (place, np.concatenate(at)))
        return loads, sp.csr_matrix(triple, shape=(len(rows), size))

    def _moves(self, model: Model) -> Array:
        """Movements at the marks of a model as listed, (n_marks,)."""
        loads, matrix = self._asked(model)
        found = statics(factorise(Assembly(model.structure), held(model)), Loads(loads)).displacements
        every = matrix @ found.reshape(-1, loads.shape[2])
        return np.asarray(every[np.arange(len(self.marks)), self.shape])

    def _row(self, model: Model, m: int) -> list[tuple[int, float]]:
        """Movement at a mark from the movements up of a model's nodes: (node, share)."""
        _, rib, what, x = self.marks[m]
        y = float(rib_stations(model)[rib - 1]) * (1.0 if model.half or self.side == SIDES[0] else -1.0)
        if what == "deflection":
            return levers(model, x, y)
        spars = [float(s.x.at(abs(y))) for s in model.wing.spars if abs(y) <= s.y_end + 1e-9]
        plan = model.wing.planform
        assert plan is not None
        edge, chord = float(plan.leading_edge_x.at(abs(y))), float(plan.chord.at(abs(y)))
        fore = min(spars)
        aft = max(spars) if len(spars) > 1 else edge + TAIL * chord
        arm = aft - fore
        return [(node, share / arm) for node, share in levers(model, fore, y)] + [
            (node, -share / arm) for node, share in levers(model, aft, y)
        ]

    # The answer

    def judged(
        self,
        noise: Noise | None = None,
        value: Array | None = None,
        *,
        foreseen: tuple[Array, float] | None = None,
    ) -> SideFound:
        """Compare the explanations. A noise of None is estimated where there are enough readings; `value`
        (n_readings,) in place of the readings' own figures, m and rad; `foreseen` as the method gives it,
        where that is known already."""
        if value is None:
            value = np.array([r.value for r in self.readings])
        given = value
        value, slips_of_pen = self._without_slips(value)
        self.progress(f"{self.side}: what each hypothesis does")
        computed = self.drawn[0].moves
        noise = self.noise(value) if noise is None else noise
        read, of, offset = self._read(value, noise)
        data, m = read.data, len(self.marks)

        def read_as(factor: Array) -> Array | None:
            # A noise that was estimated from the readings is in their unit, right or wrong.
            if noise is None or noise.estimated:
                return None
            put_right = value * factor[:m][self.mark_of]
            _, doubt, of_so, _ = self._missed(put_right, noise)
            return np.append(self.gathered(put_right, noise)[1], doubt) if len(of_so) == len(of) else None

        listed = self._hypotheses(offset, of, read_as)
        self.progress(f"{self.side}: how likely each of them is")
        n_pairs = math.comb(len(self.suspects), 2)
        prior_of = {id(h): p for h, p in zip(listed, hyp.log_prior(listed, n_pairs))}
        found, first = self._searched(listed, prior_of, read)
        self.progress(f"{self.side}: what would have been seen")
        gathered = hyp.groups(found)
        sound = next(j for j in found if j.hypothesis.kind == "sound")
        chance = sound.weight
        best = found[0] if chance < DOUBT else sound
        misfit = hyp.misfit(best, data)
        verdict, named, apart = self._verdict(gathered, sound, misfit, read)
        seen, alarm = self._chances(listed, read) if foreseen is None else foreseen
        factor = np.ones(len(data)) if best.hypothesis.factor is None else best.hypothesis.factor
        whole_error = read.error[:m]
        moves, error = self._put_right(best, read) if verdict else (data[:m], whole_error)
        bending, bending_error = self._ratio(moves, error, computed, turned=False)
        twist, twist_error = self._ratio(moves, error, computed, turned=True)
        level, whole, whole_factor, factor_error = _simple(data[:m], whole_error, computed, self.turned)
        # The density of what readings miss of lines through zero, the same under all hypotheses that do not
        # speak of it.
        doubts = read.maker.error[m:]
        lines = float(np.log(doubts).sum() + ((data[m:] / doubts) ** 2).sum() / 2)
        return SideFound(
            self.side,
            np.array([mark.rib for mark in self.marks], dtype=np.intp),
            np.array([mark.x for mark in self.marks]),
            tuple(mark.what for mark in self.marks),
            data[:m], whole_error, computed, (best.fit.problem.explained(data * factor) / factor)[:m], noise,
            bending, bending_error, twist, twist_error,
            level, whole, sound.fit.problem.evidence(data) + lines,
            whole_factor, factor_error,
            misfit,
            tuple(self._suspects_told(found, first, best, prior_of, seen)), chance, alarm, named, verdict,
            tuple(_told(group) for group in gathered), apart,
            self._pieces_told(best, data * factor),
            self._odd(given, noise), slips_of_pen, *self._bags_aft(best, data * factor),
            *self._slips_told(listed, prior_of, sound.fit.problem),
        )  # fmt: skip

    def _read(self, value: Array, noise: Noise) -> tuple[hyp.ReadData, Ints, Array]:
        """Readings gathered: the marks' movements, then what lines through zero miss; with `of` and `offset`
        of `_missed`."""
        mean, error = self.gathered(value, noise)
        missed, doubt, of, offset = self._missed(value, noise)
        shape = np.append(hyp.SHAPE * self._largest(self.drawn[0].moves), np.zeros(len(of)))
        maker = self._maker(np.append(error, doubt), len(of))
        return hyp.ReadData(maker, shape, np.append(mean, missed), len(of)), of, offset

    def _put_right(self, best: hyp.Judged, read: hyp.ReadData) -> tuple[Array, Array]:
        """Movements of the marks without the slip that a hypothesis speaks of, and their errors."""
        one, m = best.hypothesis, len(self.marks)
        factor = np.ones(len(read.data)) if one.factor is None else one.factor
        moves, error = (read.data * factor)[:m], read.error[:m]
        if one.columns is not None:
            own_doubt = best.fit.problem.deviations(read.data * factor)[1][len(self.prior.mean) :]
            moves = moves - one.columns[:m] @ best.own
            error = np.hypot(error, np.sqrt(one.columns[:m] ** 2 @ own_doubt**2))
        return moves, error

    def _pieces_told(self, best: hyp.Judged, reading: Array) -> tuple[PieceFound, ...]:
        """Stiffness of every piece under a hypothesis, of readings as it puts them right."""
        less, doubts = (each[: len(self.prior.mean)] for each in best.fit.problem.deviations(reading))
        # Mean and scatter of a lognormal stiffness.
        stiff = np.exp(-(self.prior.mean + less) + doubts**2 / 2)
        strays = stiff * np.sqrt(np.expm1(doubts**2))
        before = np.sqrt(np.expm1(self.prior.spread**2))
        names = [self._name(p.name) for p in self.pieces.pieces]
        return tuple(PieceFound(*row) for row in zip(names, *(v.tolist() for v in (before, stiff, strays))))

    def _searched(
        self, listed: list[hyp.Hypothesis], prior_of: dict[int, float], read: hyp.ReadData
    ) -> tuple[list[hyp.Judged], list[hyp.Judged]]:
        """What explains the readings, likeliest first: at the wood that the likeliest comes to, and before
        any step. Priors of what is tried besides are added to `prior_of`."""
        n, m = len(self.prior.mean), len(self.marks)
        error = read.error[:m]
        at, start = np.zeros(n), self.prior.mean
        n_pairs = max(math.comb(len(self.suspects), 2), 1)
        of_pair = math.log(hyp.PRIORS["two webs"] / n_pairs / len(hyp.PAIR_LEFT) ** 2)
        first: list[hyp.Judged] = []
        chosen, solved = listed, self.listed
        together: list[hyp.Hypothesis] = []
        sound_prior = prior_of[id(listed[0])]

        def priors(those: Sequence[hyp.Hypothesis]) -> Array:
            return np.array([prior_of.get(id(h), of_pair) for h in those])

        def compare() -> list[hyp.Judged]:
            return hyp.judge(chosen, priors(chosen), self._every_base(solved, chosen), at, start, read)

        def pairs() -> list[hyp.Hypothesis]:
            webs = dict.fromkeys(k for g in hyp.groups(found) for k in g[0].hypothesis.webs)
            return self._pairs(list(webs)[: hyp.PAIRED])

        def besides(slips: list[hyp.Hypothesis], others: list[hyp.Hypothesis]) -> list[hyp.Hypothesis]:
            both = hyp.besides(slips, others)
            prior_of.update({id(h): float(priors(h.parts).sum()) - sound_prior for h in both})
            together.extend(both)
            return both

        for _ in range(_ROUNDS):
            found = compare()
            first = first or found
            if next(j.weight for j in found if j.hypothesis.kind == "sound") < _PAIRED_BELOW:
                # Two webs are tried where one alone, or anything else, is likelier than that all is sound.
                chosen = [h for h in chosen if h.kind != "two webs"] + pairs()
                found = compare()
                if not together:
                    # A slip hides whatever else is off, and what is off hides a slip: what all bags do by
                    # lying elsewhere is one direction among many readings; a chi-square sees little of it.
                    base = self._base(solved, ())
                    slips = hyp.likeliest_slips(listed, priors(listed), base, at, start, read)
                    chosen = chosen + besides(slips, [h for h in listed if h.kind not in _OF_ONE_DIAL])
                    found = compare()
                    if found[0].hypothesis.webs and slips:
                        # Two webs and a slip.
                        likeliest = (h for h in found[0].hypothesis.parts if h.kind in hyp.SLIPS)
                        chosen = chosen + besides([next(likeliest, slips[0])], pairs())
                        found = compare()
            best = found[0]
            wood = best.fit.at[:n].copy()
            if best.hypothesis.wood is not None:
                wood += best.hypothesis.wood @ best.fit.at[n:]
            longest = float(np.abs(wood - at).max(initial=0.0))
            if longest <= _NEAR:
                break
            step, start = (wood - at) * min(1.0, _STRIDE / longest), best.fit.at[:n]
            told = power_law(self._every_base(solved, [best.hypothesis])[0])(step).moves
            at = at + step
            solved = self.sound.solve(at)
            off = self._every_base(solved, [best.hypothesis])[0].moves - told
            if longest <= _STRIDE and (np.abs(off) <= _TRUE * error).all():
                break
            kept = [j.hypothesis for j in found if j.weight > _FAINT * best.weight]
            chosen = [listed[0], *(h for h in kept if h is not listed[0])]
        return found, first

    def _suspects_told(
        self, found: list[hyp.Judged], first: list[hyp.Judged], best: hyp.Judged, prior_of: dict[int, float],
        seen: Array,
    ) -> list[SuspectFound]:  # fmt: skip
        """What the readings say of every web; `found` and `first` as from `_searched`, `seen` the chance that
        each is named when it is gone."""
        singles: list[list[hyp.Judged]] = [[] for _ in self.suspects]
        # Those that fell far behind at first stand as they did then, with no weight.
        last = {id(j.hypothesis) for j in found}
        behind = [replace(j, weight=0.0) for j in first if id(j.hypothesis) not in last]
        # Beside a slip that is likeliest, alone or with something else, webs are those found besides it.
        slip_group = next((part.group for part in best.hypothesis.parts if part.kind in hyp.SLIPS), None)
        beside = [j for j in found if slip_group in [part.group for part in j.hypothesis.parts]]
        for one in beside + found + behind:
            if one.hypothesis.kind in ("web gone", "web loose") or (
                len(one.hypothesis.webs) == 1 and one.hypothesis.parts and one in beside
            ):
                singles[one.hypothesis.webs[0]].append(one)
        weights = np.array([sum(j.weight for j in mine) for mine in singles])
        total = max(float(weights.sum()), 1e-300)
        suspects = []
        for k, mine in enumerate(singles):
            logs = np.array([prior_of[id(j.hypothesis)] for j in mine])
            evidence = np.logaddexp.reduce(np.array([j.evidence for j in mine]) + logs)
            evidence = float(evidence - np.logaddexp.reduce(logs))
            share = float(weights[k]) / total
            suspects.append(SuspectFound(self.suspects[k], evidence, share, *_gone(mine), float(seen[k])))
        return sorted(suspects, key=lambda s: -s.evidence)

    def _slips_told(
        self, listed: list[hyp.Hypothesis], prior_of: dict[int, float], sound: Problem
    ) -> tuple[float, tuple[float, float]]:
        """How large slips of all bags, and of one dial, must be to be told in nine of ten tests of a sound
        wing, m (of the dial that shows it first, and of the last one)."""
        asked = next(prior_of[id(h)] for h in listed if h.kind == "sound") + math.log(1 / DOUBT - 1)

        def told(kind: str) -> list[float]:
            return [
                hyp.told_from(sound, h.columns[:, 0], float(h.spread[0]), asked - prior_of[id(h)])
                for h in listed if h.kind == kind and h.columns is not None
            ]  # fmt: skip

        dials = told("dial offset") or [math.inf]
        return min(told("bags"), default=math.inf), (min(dials), max(dials))

    def _bags_aft(self, best: hyp.Judged, reading: Array) -> tuple[float, float]:
        """How far aft of their places all bags lie on average as the readings alone have it, under a
        hypothesis, and the standard deviation of that, m; nan where they do not tell."""
        ribs = self.bag_columns.shape[1]
        mean, covariance = best.fit.problem.shared_errors(reading)
        # Of the common errors (see `_maker`): two shares, each rib's bags, all of them, the hold.
        of = np.zeros(len(mean))
        of[2 : 2 + ribs], of[2 + ribs] = hyp.PLACED / ribs, hyp.PLACED
        after, before = float(of @ covariance @ of), float(of @ of)
        if after > _TELLS_BAGS * before:
            return math.nan, math.nan
        # What was known of it beforehand is taken out again.
        alone = 1 / (1 / after - 1 / before)
        return float(of @ mean) / after * alone, math.sqrt(alone)

    def _maker(self, error: Array, n_more: int) -> Maker:
        """What all hypotheses share: wood, noise, an error in common, bags displaced, a hold that gives."""
        m = len(self.marks)
        shared = np.zeros((m + n_more, 2))
        shared[:m] = COMMON * np.stack([~self.turned, self.turned], axis=1)
        bags = self.bag_columns
        fixed = np.zeros((m + n_more, bags.shape[1] + 2))
        fixed[:m, : bags.shape[1]] = hyp.PLACED * bags
        fixed[:m, -2] = hyp.PLACED * bags.sum(axis=1)
        fixed[:m, -1] = hyp.HOLD * self._turns()[:, 1]
        return Maker(self.prior, error, shared, fixed)

    @property
    def bag_columns(self) -> Array:
        """What the bags of each rib do to the marks, one metre further aft, (n_marks, n_ribs)."""
        if self._bag_columns is None:
            model, side = self.model, 1.0 if self.model.half or self.side == SIDES[0] else -1.0
            ribs = self.bag_ribs
            columns = np.zeros((len(self.marks), len(ribs)))
            for shape, bags in enumerate(self.shape_bags):
                loads = np.zeros((len(model.structure.nodes), 6, len(ribs)))
                for bag in bags:
                    for x, y, share in zip(bag.x, bag.y, bag.shares):
                        weight = share * bag.mass * GRAVITY
                        # The shares on the rib are linear in the place, in between two nodes.
                        aft, fore = (levers(model, x + d, side * y) for d in (1e-4, -1e-4))
                        for node, part in aft:
                            loads[node, 2, ribs.index(bag.ribs[0])] += weight * part / 2e-4
                        for node, part in fore:
                            loads[node, 2, ribs.index(bag.ribs[0])] -= weight * part / 2e-4
                of = self.shape == shape
                columns[of] = self.sound.under(self.listed, loads)[of]
            self._bag_columns = columns
        return self._bag_columns

    @property
    def bag_ribs(self) -> list[int]:
        """Ribs with bags."""
        return sorted({bag.ribs[0] for bags in self.shape_bags for bag in bags})

    def _turns(self) -> Array:
        """What a hold that turns by 1 rad in bending and nose up does to the marks, (n_marks, 2)."""
        stations, middle = rib_stations(self.model), hold(self.model)
        plan = self.model.wing.planform
        assert plan is not None
        pivot = float(self.model.wing.spars[0].x.at(max(middle, 0.0)))
        out = np.zeros((len(self.marks), 2))
        for k, (_, rib, what, x) in enumerate(self.marks):
            out[k] = (0.0, 1.0) if what == "twist" else (stations[rib - 1] - middle, pivot - x)
        return out

    def _largest(self, moves: Array) -> Array:
        """Largest deflection of each mark's rib, m; of a mark of twist over half the chord, rad."""
        out = np.zeros(len(self.marks))
        plan = self.model.wing.planform
        assert plan is not None
        for k, (shape, rib, what, _) in enumerate(self.marks):
            there = [j for j, other in enumerate(self.marks) if other[:2] == (shape, rib)]
            dials = [abs(float(moves[j])) for j in there if not self.turned[j]]
            if what == "twist":
                chord = float(plan.chord.at(float(rib_stations(self.model)[rib - 1])))
                out[k] = max([abs(float(moves[k])), *(2 * d / chord for d in dials)])
            else:
                out[k] = max(dials)
        return out

    def _every_base(self, solved: SolvedResponse, chosen: Sequence[hyp.Hypothesis]) -> list[Moved]:
        """Movements under hypotheses."""
        new = [h.left for h in chosen if solved is not self.listed or h.left not in self._bases]
        self.sound.spread(solved, [part for left in new for part, _ in left])
        return [self._base(solved, one.left) for one in chosen]

    def _base(self, solved: SolvedResponse, left: tuple[tuple[int, float], ...]) -> Moved:
        """Movements with parts weakened; those for the wood as listed are kept."""
        if solved is not self.listed:
            return self.sound.weakened(solved, dict(left))
        if left not in self._bases:
            self._bases[left] = self.sound.weakened(solved, dict(left))
        return self._bases[left]

    def _pairs(self, webs: list[int]) -> list[hyp.Hypothesis]:
        """Two webs of which one is among those given."""
        n = len(self.suspects)
        pairs = {(min(a, b), max(a, b)): (a, b) for a in reversed(webs) for b in range(n) if a != b}
        return [
            hyp.Hypothesis(
                "two webs", f"{self.suspects[a].name} and {self.suspects[b].name}, gone, thinner or loose",
                ("two webs", a, b), ((first, s), (other, r)), webs=(a, b),
            )
            for (a, b), (first, other) in sorted(pairs.items(), key=lambda pair: pair[1])
            for s in hyp.PAIR_LEFT for r in hyp.PAIR_LEFT
        ]  # fmt: skip

    def _hypotheses(
        self, offset: Array, of: Ints, read_as: Callable[[Array], Array | None] = lambda _: None
    ) -> list[hyp.Hypothesis]:
        """All but pairs; the sound wing first. `offset` is what an offset of 1 m of each mark does to the
        data, `of` the mark of each datum beyond the marks' own, `read_as` the errors of data that are read in
        other units, of factors on them."""
        mark = np.concatenate([np.arange(len(self.marks)), of])
        return [
            hyp.Hypothesis("sound", "all is sound", ("sound",)),
            *self._of_parts(),
            *self._of_wood(),
            *self._of_setting_up(len(of)),
            *self._of_dials(offset, mark, read_as),
            *self._of_units(mark, read_as),
        ]

    def _of_parts(self) -> Iterator[hyp.Hypothesis]:
        """A web or another part is gone or loose."""
        for k, suspect in enumerate(self.suspects):
            group = ("web", k)
            yield hyp.Hypothesis("web gone", suspect.name, group, ((k, 0.0),), webs=(k,))
            for left in hyp.LEFT:
                yield hyp.Hypothesis("web loose", suspect.name, group, ((k, left),), webs=(k,))
        for kind, words, where, parts in self.others:
            for left in hyp.PART_LEFT:
                yield hyp.Hypothesis(kind, words, where, tuple((p, left) for p in parts))

    def _of_wood(self) -> Iterator[hyp.Hypothesis]:
        """The wood of one kind of piece is not as listed."""
        kinds = {
            "caps": "cap", "webs": "web sheet", "sheeting": "sheeting", "ribs": "rib sheet", "edges": "edge",
        }  # fmt: skip
        for words, key in kinds.items():
            of_wood = np.array([key in p.name for p in self.pieces.pieces], dtype=np.float64)[:, None]
            if of_wood.any():
                said, spread = f"the wood of the {words} is not as listed", np.array([hyp.WOOD_OFF])
                yield hyp.Hypothesis("wood", said, ("wood", words), wood=of_wood, spread=spread)

    def _of_setting_up(self, n_more: int) -> Iterator[hyp.Hypothesis]:
        """The hold gives, or bags lie elsewhere; `n_more` data are not of a mark's mean."""
        turns = self._turns()
        way = float(np.sign((turns[:, 0] * np.where(self.turned, 0.0, self.drawn[0].moves)).sum()))
        bags, none = self.bag_columns, np.zeros(n_more)
        for k, words in enumerate(("gives as the wing bends", "turns nose up or down")):
            if turns[:, k].any():
                column, sign = np.append(turns[:, k], none), 0.0 if k else way
                yield _shifted("hold", f"the hold {words}", (k,), column, hyp.TURNS[k], sign)
        words = "all bags lie fore or aft of where they were to lie"
        yield _shifted("bags", words, (), np.append(bags.sum(axis=1), none), hyp.BAGS_OFF)
        for k, rib in enumerate(self.bag_ribs):
            words = f"the bag on rib {rib} lies fore or aft of its place"
            yield _shifted("bag", words, (rib,), np.append(bags[:, k], none), hyp.BAG_OFF)

    def _of_dials(
        self, offset: Array, mark: Ints, read_as: Callable[[Array], Array | None]
    ) -> Iterator[hyp.Hypothesis]:
        """Dials are off by a fixed amount, or read with another sign or unit; `mark`: of each datum."""

        def misread(kind: str, words: str, where: object, those: NDArray[np.bool_]) -> hyp.Hypothesis:
            said = f"{words} read with the wrong sign"
            return _scaled(kind, said, (where,), np.where(those, -1.0, 1.0))

        dial = ~self.turned[mark]
        for words, marks in self._sets():
            those = np.isin(mark, marks) & dial
            off = np.where(those, offset, 0.0)
            yield _shifted("offset", f"{words} are off by the same amount", (words,), off, hyp.OFFSET)
            yield misread("sign", f"{words} are", words, those)
        if self.turned.any():
            yield misread("sign", "twist is", "twist", self.turned[mark])
        for k in np.flatnonzero(~self.turned).tolist():
            words = f"the dial on rib {self.marks[k].rib}, x = {say.length(self.marks[k].x):.0f}, is"
            off = np.where(mark == k, offset, 0.0)
            yield _shifted("dial offset", f"{words} off by a fixed amount", (k,), off, hyp.OFFSET)
            yield misread("dial sign", words, k, mark == k)
            for unit, times in hyp.UNITS.items():
                factor = np.where(mark == k, times, 1.0)
                said = f"{words} read in another unit: {unit}"
                yield _scaled("dial unit", said, (k, unit), factor, read_as(factor))

    def _of_units(self, mark: Ints, read_as: Callable[[Array], Array | None]) -> Iterator[hyp.Hypothesis]:
        """All bags, or all dials, are in another unit; `mark` of each datum."""
        for words, times in hyp.LOAD_UNITS.items():
            said = f"the bags are not as heavy as they are written: {words}"
            yield _scaled("load unit", said, (words,), np.full(len(mark), times))
        for words, times in hyp.UNITS.items():
            factor = np.where(self.turned[mark], 1.0, times)
            said = f"the unit of the dials is mistaken: {words}"
            yield _scaled("unit", said, (words,), factor, read_as(factor))

    def _sets(self) -> list[tuple[str, list[int]]]:
        """Dials that a builder may mistake together."""
        every = np.flatnonzero(~self.turned).tolist()
        if not every:
            return []
        fore, aft = [], []
        for shape, rib in sorted({mark[:2] for mark in self.marks}):
            there = [k for k in every if self.marks[k][:2] == (shape, rib)]
            there.sort(key=lambda k: self.marks[k].x)
            if len(there) > 1:
                fore.append(there[0])
                aft.append(there[-1])
        sets = [("all dials", every)]
        if fore and len(fore) < len(every):
            sets += [("the foremost dials", fore), ("the rearmost dials", aft)]
        return sets

    def _verdict(
        self, gathered: list[list[hyp.Judged]], sound: hyp.Judged, misfit: float, read: hyp.ReadData
    ) -> tuple[tuple[ToldHypothesis, ...], tuple[Suspect, ...], str]:
        """What is named, the webs among it, and what would tell the first two apart."""
        if sound.weight >= DOUBT or misfit < FALSE_ALARM:
            return (), (), ""
        off = hyp.merged(gathered)
        weights = np.array([sum(j.weight for j in g) for g in off])
        count = int(np.searchsorted(np.cumsum(weights) / weights.sum(), CREDIBLE)) + 1
        if count > MOST:
            return (), (), ""
        told = off[:count]
        webs = dict.fromkeys(k for g in told for k in _own(g)[0].hypothesis.webs)
        apart = ""
        if len(told) > 1 and all(g[0].hypothesis.kind in hyp.SLIPS for g in told[:2]):
            apart = "Look at the test: what dials and scales show, in which unit, and where the bags lie"
        elif len(told) > 1:
            both = []
            for g in told[:2]:
                best = max(_own(g), key=lambda j: j.weight)
                factor = 1.0 if best.hypothesis.factor is None else best.hypothesis.factor
                both.append(best.fit.problem.explained(read.data * factor) / factor)
            gap = np.abs(both[0] - both[1])[: len(self.marks)]
            k = int(np.argmax(gap / read.error[: len(gap)]))
            size = f"{math.degrees(gap[k]):.2g} degrees" if self.turned[k] else f"{say.length(gap[k]):.2g}"
            apart = (
                f"They differ most at rib {self.marks[k].rib}, x = {say.length(self.marks[k].x):.0f}, "
                f"by {size} under all bags: read there again, several times, and look there"
            )
        return tuple(_told(g) for g in told), tuple(self.suspects[k] for k in webs), apart

    def _chances(self, listed: list[hyp.Hypothesis], read: hyp.ReadData) -> tuple[Array, float]:
        """Chance that each suspect is named when it is gone, and that anything is when all is sound, by draws
        of readings with wood, bags and noise."""
        n = len(self.prior.mean)
        linear = [h for h in listed if h.factor is None]
        prior = hyp.log_prior(listed, math.comb(len(self.suspects), 2))
        prior = prior[[k for k, h in enumerate(listed) if h.factor is None]]
        at, mean = np.zeros(n), self.prior.mean
        bases = self._every_base(self.listed, linear)
        problems = [hyp.posed(one, base, at, mean, read).problem() for one, base in zip(linear, bases)]
        draw = np.random.default_rng([_SEED, 1])
        gone = [k for k, h in enumerate(linear) if h.kind == "web gone"]
        keys = list(dict.fromkeys(h.group for h in linear))
        of = np.zeros((len(linear), len(keys)))
        of[np.arange(len(linear)), [keys.index(h.group) for h in linear]] = 1.0

        def told(of_these: list[int], n: int) -> tuple[Array, Array]:
            """Share of n readings drawn under each of some hypotheses of which something is told, and it
            among that."""
            drawn = np.concatenate([problems[k].draws(draw, n) for k in of_these])
            logs = np.stack([p.evidences(drawn) for p in problems], axis=1) + prior
            weight = np.exp(logs - logs.max(axis=1, keepdims=True))
            grouped = weight / weight.sum(axis=1, keepdims=True) @ of
            sound, rest = grouped[:, 0], grouped[:, 1:]
            off = np.maximum(rest.sum(axis=1), 1e-300)
            few = -np.sort(-rest, axis=1)[:, :MOST].sum(axis=1) / off >= CREDIBLE
            anything = (sound < DOUBT) & few
            own = np.repeat([keys.index(linear[k].group) - 1 for k in of_these], n)
            share = rest[np.arange(len(rest)), own]
            before = np.where(rest > share[:, None], rest, 0.0).sum(axis=1) / off
            shares = [each.reshape(-1, n).mean(axis=1) for each in (anything, anything & (before < CREDIBLE))]
            return shares[0], shares[1]

        alarm = float(told([0], _SOUND_TRIALS)[0][0])
        if not gone:
            return np.zeros(0), alarm
        named = told(gone, _TRIALS)[1]
        share = _TRIALS / (_TRIALS + _MORE_TRIALS)
        if len(again := np.flatnonzero(named >= _PROMISING)):
            more = told([gone[k] for k in again.tolist()], _MORE_TRIALS)[1]
            named[again] = share * named[again] + (1 - share) * more
        # What is right does not fit by chi-square in so many of a hundred, and is not named then.
        return named * (1 - FALSE_ALARM), alarm

    def foreseen(self, noise: Noise) -> tuple[Array, float]:
        """Before the test: chance that each suspect is named if it is missing, and that anything is in a
        sound wing. (n_suspects,) and one."""
        value = self.drawn[0].moves[self.mark_of] * self.share
        read, of, offset = self._read(value, noise)
        return self._chances(self._hypotheses(offset, of), read)

    def foreseen_twist(self, noise: Noise) -> float:
        """Standard deviation of the stiffness in twist that the readings will tell, as a share; nan where
        none is told."""
        moves = self.drawn[0].moves
        _, error = self.gathered(moves[self.mark_of] * self.share, noise)
        error = np.hypot(error, hyp.SHAPE * self._largest(moves))
        return self._ratio(moves, error, moves, turned=True)[1]

    def _name(self, piece: str) -> str:
        """Name of a piece; where half a wing stands for both, the half that was read."""
        return piece.replace(f", {SIDES[0]}", f", {self.side}") if self.model.half else piece

    # Readings

    def sigma(self, noise: Noise, size: Array) -> Array:
        """Standard deviation of every reading where the marks move by `size` under all bags."""
        flat = np.where(self.turned[self.mark_of], noise.gauge, noise.dial)
        return np.hypot(flat, noise.relative * np.abs(size[self.mark_of] * self.share))

    def gathered(self, value: Array, noise: Noise) -> tuple[Array, Array]:
        """Every mark's movement under all bags by weighted least squares over its steps, and its error."""
        size = self._plain(value)
        weight = self.share / self.sigma(noise, size) ** 2
        n = len(self.marks)
        sums = np.bincount(self.mark_of, weight * self.share, n)
        return np.bincount(self.mark_of, weight * value, n) / sums, 1 / np.sqrt(sums)

    def _plain(self, value: Array) -> Array:
        n = len(self.marks)
        squares = np.bincount(self.mark_of, self.share**2, n)
        return np.bincount(self.mark_of, self.share * value, n) / squares

    def _missed(self, value: Array, noise: Noise) -> tuple[Array, Array, Ints, Array]:
        """Where the lines of marks that were read at several steps stand without load.

        Returns
        -------
        missed, doubt : (n,) float arrays
            m or rad, and its standard deviation.
        of : (n,) int array
            Marks.
        offset : (n_marks + n,) float array
            What an offset of 1 of its dial does to each mark's movement under all bags, and to `missed`.
        """
        n, weight = len(self.marks), 1 / self.sigma(noise, self._plain(value)) ** 2
        slope = np.bincount(self.mark_of, weight * self.share, n) / np.bincount(
            self.mark_of, weight * self.share**2, n
        )
        rest = 1 - self.share * slope[self.mark_of]
        known = np.bincount(self.mark_of, weight * rest**2, n)
        of = np.flatnonzero(known > 1e-3 * np.bincount(self.mark_of, weight, n)).astype(np.intp)
        missed = np.bincount(self.mark_of, weight * rest * value, n)[of] / known[of]
        return missed, 1 / np.sqrt(known[of]), of, np.concatenate([slope, np.ones(len(of))])

    def noise(self, value: Array) -> Noise:
        """Noise from how readings of one mark scatter about a line, by restricted likelihood; the defaults
        where there are too few steps. The line need not go through zero, lest an offset count as noise."""
        size, n = self._plain(value), len(self.marks)
        lines = n + len(self._missed(value, Noise())[0])
        if len(value) - lines < FREEDOM:
            return Noise()

        def cost(logs: Array) -> float:
            dial, gauge, relative = np.exp(logs).tolist()
            noise = Noise(dial, gauge, relative)
            sigma = self.sigma(noise, size)
            mean, error = self.gathered(value, noise)
            missed, doubt, _, _ = self._missed(value, noise)
            left = (value - self.share * mean[self.mark_of]) / sigma
            squares = (left**2).sum() - ((missed / doubt) ** 2).sum()
            # A weak pull to the defaults keeps a kind that was not read where it is.
            pull = ((logs - start) ** 2).sum() / 8
            return float(
                2 * np.log(sigma).sum() + squares - 2 * np.log(error).sum() - 2 * np.log(doubt).sum() + pull
            )

        start = np.log([DIAL, GAUGE, RELATIVE])
        found = so.minimize(
            cost, start, method="L-BFGS-B", bounds=[(s + math.log(LEAST), s + 5) for s in start]
        )
        # A noise from few readings is itself uncertain: taken one standard deviation larger than it comes
        # out.
        doubt = 1 + 1 / math.sqrt(2 * (len(value) - lines))
        dial, gauge, relative = (doubt * np.exp(found.x)).tolist()
        return Noise(dial, gauge, relative, estimated=True)

    def _without_slips(self, value: Array) -> tuple[Array, tuple[tuple[int, float], ...]]:
        """Readings many times more or less than the other steps of their mark, put to what these make of them
        (a slip of the pen or of the unit says nothing of the wing), and which they are, with the factor."""
        scaled, out, slips = value / self.share, value.copy(), []
        computed = self.drawn[0].moves
        for m in range(len(self.marks)):
            mine = np.flatnonzero(self.mark_of == m)
            if len(mine) < 2 or self.turned[m]:
                continue
            middle = float(np.median(scaled[mine]))
            if len(mine) == 2:
                # Of two the one is trusted that lies nearer to what was computed.
                near = np.abs(np.log(np.abs(scaled[mine] / computed[m]) + 1e-300))
                middle = float(scaled[mine[int(np.argmin(near))]])
            for i in mine.tolist():
                ratio = scaled[i] / middle if middle else 1.0
                far = abs(value[i] - self.share[i] * middle) > _PLAIN * DIAL
                if far and not 1 / _TIMES < ratio < _TIMES:
                    out[i] = self.share[i] * middle
                    slips.append((self.readings[i].line, float(ratio)))
            if 2 * sum(bool(out[i] != value[i]) for i in mine.tolist()) > len(mine):
                out[mine] = value[mine]
        kept = {self.readings[i].line for i in np.flatnonzero(out != value)}
        return out, tuple(one for one in slips if one[0] in kept)

    def _odd(self, value: Array, noise: Noise) -> tuple[tuple[int, float], ...]:
        """Readings that depart from the line of their own mark, one that has others."""
        # The median of a mark's own steps, which one slip of the pen does not move.
        scaled = value / self.share
        middle = np.array([np.median(scaled[self.mark_of == m]) for m in range(len(self.marks))])
        many = np.bincount(self.mark_of)[self.mark_of] >= 3
        flat = Noise(max(noise.dial, DIAL), max(noise.gauge, GAUGE), max(min(noise.relative, 0.05), RELATIVE))
        away = (value - self.share * middle[self.mark_of]) / self.sigma(flat, middle)
        return tuple(
            (self.readings[i].line, float(away[i])) for i in np.flatnonzero(many & (np.abs(away) > 4.5))
        )

    def _ratio(self, mean: Array, error: Array, computed: Array, *, turned: bool) -> tuple[float, float]:
        """Stiffness measured over computed, with its error: in bending by the outer dials on spars, in
        twist by gauges and pairs of dials on one rib."""
        stations, spars = rib_stations(self.model), self.model.wing.spars
        each = np.eye(len(self.marks))
        if not turned:
            on_spar = [
                k for k, (_, rib, what, x) in enumerate(self.marks)
                if what == "deflection"
                and any(abs(x - float(s.x.at(float(stations[rib - 1])))) <= _AT_SPAR for s in spars)
            ]  # fmt: skip
            outermost = max((float(stations[self.marks[k].rib - 1]) for k in on_spar), default=0.0)
            rows = [each[k] for k in on_spar if stations[self.marks[k].rib - 1] >= _OUTER * outermost]
        else:
            rows = [each[k] for k in np.flatnonzero(self.turned)]
            for shape, rib in sorted({mark[:2] for mark in self.marks}):
                there = [k for k, m in enumerate(self.marks) if m[:2] == (shape, rib) and m.what != "twist"]
                there.sort(key=lambda k: self.marks[k].x)
                if len(there) > 1:
                    a, b = there[0], there[-1]
                    rows.append((each[a] - each[b]) / (self.marks[b].x - self.marks[a].x))
        of = np.array(rows).reshape(-1, len(self.marks))
        due, read, doubt = of @ computed, of @ mean, np.sqrt(of**2 @ error**2)
        weight = float((due**2 / doubt**2).sum())
        if not weight:
            return math.nan, math.nan
        gain = due / doubt**2 / weight
        flexible = float(gain @ read)
        if flexible <= 0:
            return math.nan, math.nan
        # What the bags' places and the hold do to all dials alike; as much more of it as the wing is softer.
        bags = self.bag_columns
        alike = np.column_stack(
            [hyp.PLACED * bags, hyp.PLACED * bags.sum(axis=1), hyp.HOLD * self._turns()[:, 1]]
        )
        common = flexible * math.hypot(COMMON, float(np.linalg.norm(gain @ of @ alike)))
        return 1 / flexible, math.hypot(weight**-0.5, common) / flexible**2


_PM = "\N{PLUS-MINUS SIGN}"


def _shifted(
    kind: str, words: str, where: tuple[object, ...], column: Array, spread: float, sign: float = 0.0
) -> hyp.Hypothesis:
    """One unknown adds `column` (n_data,) a unit, `spread` its standard deviation; `where` ends the group,
    which `kind` begins; `words` and `sign` as the record has them."""
    own = np.array([spread])
    return hyp.Hypothesis(kind, words, (kind, *where), columns=column[:, None], spread=own, sign=sign)


def _scaled(
    kind: str, words: str, where: tuple[object, ...], factor: Array, error: Array | None = None
) -> hyp.Hypothesis:
    """The data are to be multiplied by `factor`; `where` as in `_shifted`, the rest as the record has it."""
    return hyp.Hypothesis(kind, words, (kind, *where), factor=factor, error=error)


def _gone(mine: list[hyp.Judged]) -> tuple[float, float]:
    """Share of a web's stiffness that is gone if anything is, and its standard deviation."""
    logs = np.array([j.evidence for j in mine])
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    gone = np.array([1.0 - j.hypothesis.left[0][1] for j in mine])
    mean = float(weight @ gone)
    return mean, float(np.sqrt(weight @ (gone - mean) ** 2))


def _own(group: list[hyp.Judged]) -> list[hyp.Judged]:
    """Those of a group that it is named by, without pairs that stand with a single web."""
    return [j for j in group if j.hypothesis.group == group[0].hypothesis.group]


def _sized(one: hyp.Hypothesis, own: Array, *, unsure: bool = False) -> str:
    """A hypothesis in words, with how much of it there is by its own unknowns; `unsure`: a web may be gone or
    loose."""
    words, kind = one.words, one.kind
    if unsure and kind in ("web gone", "web loose"):
        return f"{words} is missing, thinner or loose"
    if kind == "hold":
        words += f" (by {math.degrees(float(own[0])):+.2f} degrees)"
    elif kind in ("bag", "bags"):
        words += f" (by {say.length(float(own[0])):+.0f})"
    elif kind in ("offset", "dial offset"):
        words += f" (by {say.length(float(own[0])):+.2f})"
    elif kind == "wood":
        words += f" (stiffness times {math.exp(-float(own[0])):.2f})"
    elif kind == "web gone":
        words += " is missing or its glue has let go"
    elif kind == "web loose":
        words += f" is thinner or loose (keeps about {100 * one.left[0][1]:.0f} %)"
    return words


def _told(group: list[hyp.Judged]) -> ToldHypothesis:
    """A group of hypotheses as it is told."""
    probability, mine = sum(j.weight for j in group), _own(group)
    best = max(mine, key=lambda j: j.weight)
    one, kind, words = best.hypothesis, best.hypothesis.kind, best.hypothesis.words
    alone = sum(j.weight for j in mine)
    if one.parts:
        ends = np.cumsum([len(part.spread) for part in one.parts])
        each = list(zip(one.parts, np.split(best.own, ends[:-1])))
        each.sort(key=lambda pair: pair[0].kind not in hyp.SLIPS)
        gone = sum(j.weight for j in mine if "web gone" in [part.kind for part in j.hypothesis.parts])
        unsure = 0.05 <= gone / max(alone, 1e-300) <= 0.95
        words = ", and besides ".join(_sized(part, own, unsure=unsure) for part, own in each)
    elif one.group[0] == "web":
        gone = sum(j.weight for j in mine if j.hypothesis.kind == "web gone") / max(alone, 1e-300)
        kind = "web gone" if gone >= 0.5 else "web loose"
        if gone > 0.95:
            words += " is missing or its glue has let go"
        elif gone < 0.05:
            share, doubt = _gone(mine)
            words += f" is thinner or loose (keeps {100 - 100 * share:.0f} % {_PM} {100 * doubt:.0f} %)"
        else:
            words += " is missing, thinner or loose"
    elif kind == "sheeting" and len({j.hypothesis.words for j in mine if j.weight > 0.05 * probability}) > 1:
        words = f"the sheeting of bay {one.group[1]} is loose, above or below or both"
    else:
        words = _sized(one, best.own)
    if alone < 0.8 * probability:
        other = "another one" if one.group[0] == "web" else "something else"
        words += f" (perhaps {other} besides)"
    return ToldHypothesis(kind, words, probability, max(j.evidence for j in mine))


def _simple(mean: Array, error: Array, computed: Array, turned: NDArray[np.bool_]) -> tuple[float, ...]:
    """ln marginal likelihoods of "as computed" and "one factor", and that factor on stiffness with its
    error."""
    common = COMMON * np.stack([np.where(turned, 0, computed), np.where(turned, computed, 0)], axis=1)
    none = np.zeros((len(mean), 0))
    plain = Problem(computed, none, np.zeros(0), error, common)
    whole = Problem(computed, computed[:, None], np.array([WHOLE]), error, common)
    more, doubt = whole.deviations(mean)
    factor = 1 / (1 + float(more[0]))
    return plain.evidence(mean), whole.evidence(mean), factor, float(doubt[0]) * factor**2


def _suspects(model: Model, side: str) -> tuple[tuple[Suspect, ...], Ints]:
    """Webs and braces of a side, and which of them every part of the model belongs to (-1: none)."""
    suspects: dict[Suspect, int] = {}
    of_part = np.full(len(model.parts) + 1, -1, dtype=np.intp)
    for p, part in enumerate(model.parts):
        kind = part.kind.split()[0]
        if kind in ("web", "brace") and part.side == side and part.bay is not None:
            one = Suspect(kind, part.spar, part.place.split()[0], part.bay if kind == "web" else 0)
            of_part[p] = suspects.setdefault(one, len(suspects))
    return tuple(suspects), of_part


def _other_parts(
    model: Model, side: str, piece: Ints, of_part: Ints, first: int
) -> list[tuple[str, str, tuple[object, ...], tuple[int, ...]]]:
    """Ribs and panels of sheeting that may be loose: kind, words, group, numbers of parts; numbers are
    entered in `of_part`."""
    sign = 1.0 if side == SIDES[0] else -1.0
    stations, edge = rib_stations(model), hold(model)
    numbers: dict[tuple[object, ...], int] = {}
    told: dict[tuple[str, str, tuple[object, ...]], set[int]] = {}
    for p, part in enumerate(model.parts):
        if piece[p] < 0:
            continue
        if part.kind in ("rib", "post", "cap strip") and part.station is not None:
            y = sign * part.station
            if y <= edge + 1e-9:
                continue
            rib = int(np.argmin(np.abs(stations - y))) + 1
            key: tuple[object, ...] = ("rib", rib, int(piece[p]))
            names: list[tuple[str, str, tuple[object, ...]]] = [("rib", f"rib {rib} is loose", ("rib", rib))]
        elif part.kind == "sheeting" and part.side == side and part.bay is not None:
            key = ("sheeting", part.bay, part.place, int(piece[p]))
            words, group = f"sheeting of bay {part.bay} is loose", ("sheeting", part.bay)
            names = [
                ("sheeting", f"the {part.place} {words}", group),
                ("sheeting", f"the {words} on both surfaces", group),
            ]
        else:
            continue
        of_part[p] = numbers.setdefault(key, first + len(numbers))
        for name in names:
            told.setdefault(name, set()).add(int(of_part[p]))
    return [(*names, tuple(sorted(parts))) for names, parts in told.items()]


ABOUT = (
    f"Errors are one standard deviation. {100 * COMMON:.0f} % is allowed for what all readings share "
    f"(bags, model), {100 * hyp.SHAPE:.1f} % of each rib's largest movement for the model's shape, "
    f"{{placed}} for places of bags, all and each, {math.degrees(hyp.HOLD):.1f} degrees for the hold in "
    "twist. Scatter of the woods as `sparbay woods` lists it, sizes as builders cut. Hypotheses are "
    "compared by marginal likelihood and prior weight ("
    + ", ".join(f"{kind} {weight:g}" for kind, weight in hyp.PRIORS.items())
    + f", sound {1 - sum(hyp.PRIORS.values()):.2g}, each spread over its own; judgements). Something is "
    f"named where the probability of a sound wing is below {100 * DOUBT:.0f} % and what is named fits by "
    f"chi-square (chance above {100 * FALSE_ALARM:.0f} %); hypotheses that together have "
    f"{100 * CREDIBLE:.0f} % of the rest are told together. Stiffness of a piece takes modulus, size and "
    "glue together."
)


def sentences(one: SideFound) -> list[str]:
    """The answer for one side in words."""
    side = one.side[:1].upper() + one.side[1:]
    said = [f"{side}: {' and '.join(_stiffnesses(one))}."]
    total = len(one.suspects)
    odds = f"{100 * one.chance:.2g} %" if one.chance > 1e-4 else "less than 0.01 %"
    if one.verdict:
        words = [verdict.words for verdict in one.verdict]
        if len(words) == 1:
            said.append(
                f"What explains it: {words[0]} (ln evidence {one.verdict[0].evidence:+.0f} "
                f"against sound; all is sound with a probability of {odds})."
            )
        else:
            told = [f"{v.words} ({100 * v.probability:.0f} %)" for v in one.verdict]
            said.append(
                f"What explains it: {_listed(told, 'or')}; the readings do not tell these apart (all is "
                f"sound with a probability of {odds})."
            )
            said.append(f"{one.apart}.")
    elif one.chance < DOUBT:
        leading = [h for h in one.hypotheses if h.kind != "sound"][:3]
        said.append(
            f"Something is off (all is sound with a probability of {odds}), but "
            + ("the readings do not say what: " if one.fits else "nothing that was tried explains it; near: ")
            + f"{_listed([h.words for h in leading], 'or')}."
        )
    elif not one.fits and one.hypotheses and one.hypotheses[0].kind != "sound":
        said.append(
            f"The readings do not fit a sound wing; likelier is: {one.hypotheses[0].words} "
            f"({100 * one.hypotheses[0].probability:.0f} %; all is sound with a probability of {odds})."
        )
    else:
        said.append(
            "No web or brace is missing that these readings could show (all is sound with a probability of "
            f"{odds})."
        )
        said.append(_wood(one))
    if not one.fits:
        said.append(
            "Beware: neither wood nor noise nor any hypothesis that was tried explains the readings (chance "
            f"{100 * one.misfit:.2g} %): look at marks, bags, the hold, splices and joints, or at more than "
            "two webs."
        )
    if abs(one.bags_aft) > 2 * one.bags_aft_error and one.fits and _tells_no_bags(one):
        said.append(
            f"By themselves the readings put the bags {say.length(abs(one.bags_aft)):.0f} {_PM} "
            f"{say.length(one.bags_aft_error):.0f} {'aft' if one.bags_aft > 0 else 'fore'} of their "
            "places, all together (one sound test in twenty reads so far off): measure where they lie."
        )
    if (slips := _slips(one)) and one.fits:
        said.append(slips)
    blind = [s.suspect for s in one.suspects if s.seen < BLIND]
    unsure = [s.suspect for s in one.suspects if BLIND <= s.seen < SEEN]
    if total:
        clear = total - len(blind) - len(unsure)
        words_seen = (
            f"{clear} of the {total} webs and braces would have been named with a chance of "
            f"{100 * SEEN:.0f} % or more if missing"
        )
        if unsure:
            words_seen += f"; {len(unsure)} perhaps: {places(unsure)}"
        if blind:
            words_seen += (
                f"; of {len(blind)} a missing one could not be seen (it changes the readings by less than "
                f"their noise and the wood's scatter do): {places(blind)}"
            )
        alarm = f"{100 * one.alarm:.1g} %" if one.alarm else f"less than {100 / _SOUND_TRIALS:.1g} %"
        said.append(f"{words_seen}. Of a sound wing something would be named with a chance of {alarm}.")
    for line, ratio in one.slips[:5]:
        units = [words for words, times in hyp.UNITS.items() if abs(ratio * times - 1) < 0.1]
        how = f" as if {units[0]}" if units else ""
        said.append(
            f"Line {line} reads {ratio:.3g} times what the other steps of its mark make it{how}: a slip of "
            "the pen or of the unit; it was left out."
        )
    for line, away in [o for o in one.odd if o[0] not in dict(one.slips)][:5]:
        said.append(
            f"Line {line} departs from the other steps of its mark by {abs(away):.0f} standard "
            "deviations: a slip of the pen?"
        )
    return said


def _slips(one: SideFound) -> str:
    """How large slips of the test must be to be told; empty where none is."""
    told = []
    if math.isfinite(one.bags_told):
        told.append(f"all bags {say.length.up(one.bags_told)} {say.length.unit} fore or aft of their places")
    if math.isfinite(one.dials_told[1]):
        low, high = (say.length.up(each, 1) for each in one.dials_told)
        told.append(f"one dial {low if low == high else f'{low} to {high}'} {say.length.unit} off")
    if not told:
        return ""
    return (
        f"Of slips of the test these readings tell, nine times of ten, {' or '.join(told)}, and larger ones."
    )


def _tells_no_bags(one: SideFound) -> bool:
    """Whether the verdict says nothing of the bags' places."""
    return not any("lie fore or aft" in v.words or "lies fore or aft" in v.words for v in one.verdict)


def _stiffnesses(one: SideFound) -> list[str]:
    """Bending and twist, or why they are not told."""
    told = []
    for where, ratio, error, lacking in (
        ("in bending", one.bending, one.bending_error, "these bags and dials do not tell bending"),
        ("in twist", one.twist, one.twist_error, "these bags and dials do not tell twist"),
    ):
        if math.isfinite(ratio) and error <= WORTH:
            told.append(_stiffness(where, ratio, error))
        else:
            told.append(lacking)
    return told


def _stiffness(where: str, ratio: float, error: float) -> str:
    doubt = f"% {_PM} {100 * error:.0f} %"
    if abs(ratio - 1) <= 2 * error:
        return f"{where} as stiff as computed ({100 * (ratio - 1):+.0f} {doubt})"
    change = "stiffer" if ratio > 1 else "softer"
    return f"{where} {100 * abs(ratio - 1):.0f} {doubt} {change} than computed"


def _wood(one: SideFound) -> str:
    """Which of the explanations without a missing web the readings prefer."""
    if max(one.whole, one.pieces_differ) < one.as_computed + _CLEARLY:
        return (
            "All as computed explains the readings well enough; nothing says that the wood is other than "
            "listed."
        )
    if one.whole >= one.pieces_differ - _CLEARLY:
        change = one.whole_factor - 1
        return (
            f"One factor explains it: the whole wing {100 * abs(change):.0f} % {_PM} "
            f"{100 * one.whole_error:.0f} % {'stiffer' if change > 0 else 'softer'} than computed, as "
            "other wood makes it."
        )
    most = sorted(one.pieces, key=lambda p: -abs(p.factor - 1) / max(p.error, 1e-9))[:3]
    told = [
        f"{p.name} {100 * (p.factor - 1):+.0f} % {_PM} {100 * p.error:.0f} %"
        for p in most
        if p.error < min(abs(p.factor - 1), WORTH)
    ]
    more = f": {'; '.join(told)}" if told else ""
    return f"Pieces of other wood than listed explain it{more}."


_CLEARLY = 3.0
"""Difference of ln evidence from which one explanation is preferred to a simpler one (Jeffreys' "strong",
from memory: a factor of 20)."""


def _listed(words: list[str], last: str) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def places(suspects: Sequence[Suspect]) -> str:
    """Suspects gathered by spar and face, bays as ranges."""
    lines: dict[tuple[str, str], list[int]] = {}
    for one in suspects:
        lines.setdefault((spar_words(one.spar), one.face), []).append(one.bay)
    told = []
    for (spar, face), bays in lines.items():
        if runs := number_runs(b for b in bays if b):
            told.append(f"{spar}, {face}, bay {', '.join(runs)}")
        if 0 in bays:
            told.append(f"{spar}, {face} brace")
    return "; ".join(told)
