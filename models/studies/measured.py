"""Is the wing as stiff as computed? Readings of a bench test against the model, and what would explain them.

Every piece of wood (stick or sheet, `scatter.pieces`) carries a factor on its flexibility with a lognormal
prior from the wood's own scatter (`explanation`). Three explanations are compared: all as computed, one
factor on the whole wing, every piece its own. Against the last stands, for every web and brace in turn, that
it is missing or that its glue has let go. Each is judged by its marginal likelihood, with all factors
integrated out about the wood that fits it best.

One solve of the wing as drawn gives all of these to begin with: slopes over the wood by the adjoint, and each
suspect taken out as a change of low rank (`response`). How movements bend with the wood is then taken from
products of powers, with a doubt of its own. The sound wing and the few likeliest suspects are solved anew for
every step to the best wood, these as wings built without the suspect.

Among many webs one fits best by chance. How large the best likelihood ratio gets where nothing is missing is
drawn by simulation of readings with the scatter of wood and dials; a web is named only above what all but
`FALSE_ALARM` of such sound wings reach, so that the rate holds for the whole list of webs, not for each. The
same draws with a web out say how surely it would have been seen. `validation.rates` counts how often both
come true.

Source: greatest statistic of many tests by simulation: Westfall and Young, Resampling-Based Multiple Testing,
1993 [from memory].
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.optimize as so
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.assembly import Assembly
from models.loads.bags import Bag, rib_stations
from models.structure import build
from models.structure.model import Model
from models.studies.bench_test import TAIL, NoBench, bag_loads, held, levers
from models.studies.explanation import Fit, Maker, Problem, power_law, wood_prior
from models.studies.readings import SIDES, Laid, Reading, as_bags
from models.studies.response import Moved, Response
from models.studies.scatter.pieces import pieces_of
from models.wing.parts import Wing

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

FALSE_ALARM = 0.01
"""Share of sound wings in which some web would be named by chance (a choice)."""
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
_CREDIBLE = 0.95
_DRAWS, _SEED = 10_000, 71933
"""Sound wings drawn: 100 of them lie above the 1 % that counts."""
_TRIALS = 400
"""Wings drawn without each suspect."""
_CURVED = 0.15
"""Error of products of powers over what the wood's scatter does to a movement (measured on the example wings
against solves of random wood: 0.11 to 0.15)."""
_ROUNDS, _FINE = 30, 1e-3
"""Steps to the best wood, and the shortest of them, where they cost no solve."""
_SOLVES = 8
"""Steps where each costs a solve."""
_REFINED, _WITHIN = 6, 5.0
"""Suspects that are solved anew at the most, and how far ln evidence may lie below the best for it."""


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
        spar = self.spar if "spar" in self.spar else f"{self.spar} spar"
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

    `evidence` is ln of the marginal likelihood with it missing over that with nothing missing; `posterior`
    its share among the suspects; `amount` how much of the effect of a missing web the readings show, with
    its standard deviation `amount_error`; `seen` the chance that it would have been named rightly (or with
    one beside it that the readings cannot tell from it), had it been missing.
    """

    suspect: Suspect
    evidence: float
    posterior: float
    amount: float
    amount_error: float
    seen: float


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
        Chance that readings of a sound wing, or of one with the named web missing, lie as far from what wood
        and noise explain.
    suspects : tuple of SuspectFound
        The most suspect first.
    chance : float
        Chance that a sound wing raises as strong a suspicion against any of its webs.
    named : tuple of Suspect
        What is missing: the fewest suspects that share 95 % of the posterior; none where chance is not below
        `FALSE_ALARM`.
    pieces : tuple of PieceFound
        Under the best explanation.
    odd : tuple of (int, float)
        Lines of readings that depart from their own mark's others by more than 4 standard deviations, and by
        how many.
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
    named: tuple[Suspect, ...]
    pieces: tuple[PieceFound, ...]
    odd: tuple[tuple[int, float], ...]

    @property
    def fits(self) -> bool:
        """Whether wood and noise explain the readings."""
        return self.misfit >= FALSE_ALARM

    @property
    def sound(self) -> bool:
        """No web is named and wood and noise explain the readings."""
        return not self.named and self.fits


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

    Returns
    -------
    Measured

    Raises
    ------
    NoBench
        The file is of a specimen.
    NoReading
        A reading at a step at which nothing lay.
    """
    if wing.root == "clamped":
        raise NoBench("a specimen has no bench test")
    model = build(wing, per_bay=per_bay) if model is None else model
    sides = []
    for side in SIDES:
        mine = [one for one in readings if one.side == side]
        if mine:
            sides.append(Bench(model, side, laid, mine, per_bay, progress).judged(noise))
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
    ) -> None:
        self.per_bay = per_bay
        self.model, self.side, self.readings = model, side, list(readings)
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
        keys = [(self.shape_of[r.step][0], r.rib, r.what, round(r.x, 6)) for r in readings]
        self.marks = sorted(set(keys))
        self.mark_of = np.array([self.marks.index(key) for key in keys], dtype=np.intp)
        self.share = np.array([self.shape_of[r.step][1] for r in readings])
        self.turned = np.array([mark[2] == "twist" for mark in self.marks])
        self.shape = np.array([mark[0] for mark in self.marks], dtype=np.intp)
        self.pieces = pieces_of(model)
        pieces = self.pieces.pieces
        self.prior = wood_prior(np.array([p.stiffness for p in pieces]), np.array([p.size for p in pieces]))
        self.suspects, parts = _suspects(model, SIDES[0] if model.half else side)
        self.sound = self._response(model, self.pieces.groups, parts)
        self._drawn: list[Moved] | None = None
        self._rebuilt: dict[int, Response] = {}

    # Movements

    @property
    def drawn(self) -> list[Moved]:
        """Movements and slopes for the wood as listed: of the wing as drawn, then without each suspect."""
        if self._drawn is None:
            solved = self.sound.solve(np.zeros(len(self.prior.mean)))
            self._drawn = [self.sound.whole(solved)]
            self._drawn += [self.sound.without(solved, k) for k in range(len(self.suspects))]
        return self._drawn

    def without(self, k: int) -> Response:
        """The wing built anew without a suspect: joints of web and cap change besides."""
        if k not in self._rebuilt:
            suspect, wing = self.suspects[k], self.model.wing
            sides = SIDES if self.model.half else (self.side,)
            gone = (suspect.kind, suspect.spar, suspect.face, suspect.bay)
            spars = tuple(
                replace(spar, webs=tuple(
                    web for web in spar.webs
                    if gone != ("web", spar.name, web.face, web.bay) or web.side not in sides
                ))
                for spar in wing.spars
            )  # fmt: skip
            braces = tuple(b for b in wing.braces if ("brace", b.spar, b.face) != gone[:3])
            model = build(replace(wing, spars=spars, braces=braces), per_bay=self.per_bay)
            own = pieces_of(model)
            names = [(p.name, p.material.density) for p in self.pieces.pieces]
            number = np.array([names.index((p.name, p.material.density)) for p in own.pieces] + [-1])
            groups = {name: number[of] for name, of in own.groups.items()}
            self._rebuilt[k] = self._response(model, groups, {})
        return self._rebuilt[k]

    def _response(self, model: Model, pieces: dict[str, Ints], parts: dict[str, Ints]) -> Response:
        loads = np.stack([bag_loads(model, bags) for bags in self.shape_bags], axis=-1)
        rows = [self._row(model, m) for m in range(len(self.marks))]
        d, size = 6, 6 * len(model.structure.nodes)
        at = [[d * node + 2 for node, _ in row] for row in rows]
        values = [[share for _, share in row] for row in rows]
        place = np.repeat(np.arange(len(rows)), [len(row) for row in rows])
        matrix = sp.csr_matrix((np.concatenate(values), (place, np.concatenate(at))), shape=(len(rows), size))
        return Response(
            Assembly(model.structure), held(model), loads, matrix, self.shape, pieces,
            len(self.pieces.pieces), parts=parts, n_parts=len(self.suspects) if parts else 0,
        )  # fmt: skip

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

    def judged(self, noise: Noise | None = None, value: Array | None = None) -> SideFound:
        """Compare the explanations.

        Parameters
        ----------
        noise : Noise or None
            Of one reading; None estimates it where there are enough readings.
        value : (n_readings,) float array or None
            Figures in place of the readings' own, m and rad.

        Returns
        -------
        SideFound
        """
        if value is None:
            value = np.array([r.value for r in self.readings])
        self.progress(f"{self.side}: {len(self.suspects)} webs and braces in turn")
        drawn = self.drawn
        computed = drawn[0].moves
        noise = self.noise(value) if noise is None else noise
        mean, error = self.gathered(value, noise)
        maker = Maker(self.prior, error, COMMON * np.stack([~self.turned, self.turned], axis=1))
        self.progress(f"{self.side}: what chance does")
        listed = [maker.about(moved, np.zeros(len(self.prior.mean))) for moved in drawn]
        draw = np.random.default_rng([_SEED, 1])
        by_chance = _greatest(listed[0], listed[1:], listed[0].draws(draw, _DRAWS))
        limit = float(np.quantile(by_chance, 1 - FALSE_ALARM)) if len(listed) > 1 else math.inf
        seen = _seen(listed, limit, draw)
        self.progress(f"{self.side}: wood that explains the readings")
        rough = maker.doubting(_CURVED, drawn[0].slopes)
        fits = [rough.fit(power_law(one), mean, self.prior.mean, _ROUNDS, close=_FINE) for one in drawn]
        evidence = np.array([one.evidence - fits[0].evidence for one in fits[1:]])
        amounts: list[tuple[float, float]] = [
            rough.about(power_law(drawn[0])(one.at), one.at).amount(one.problem, mean) for one in fits[1:]
        ]
        self.progress(f"{self.side}: the likeliest once more")
        sound = self._exact(maker, -1, mean, fits[0].at)
        best, fitting = evidence.max(initial=-math.inf), False
        for k in np.argsort(-evidence, kind="stable")[:_REFINED].tolist() if best > limit - _WITHIN else ():
            if evidence[k] < best - _WITHIN and fitting:
                break
            fits[k + 1] = self._exact(maker, k, mean, fits[k + 1].at)
            evidence[k] = fits[k + 1].evidence - sound.evidence
            fitting |= fits[k + 1].problem.misfit(mean) >= FALSE_ALARM
        chance = float((1 + (by_chance >= evidence.max(initial=-math.inf)).sum()) / (1 + len(by_chance)))
        weight = np.exp(evidence - evidence.max(initial=0.0))
        posterior = weight / weight.sum() if len(weight) else weight
        named = _credible(posterior) if chance < FALSE_ALARM else []
        chosen = fits[int(np.argmax(evidence)) + 1].problem if named else sound.problem
        found = [
            SuspectFound(
                self.suspects[k],
                float(evidence[k]),
                float(posterior[k]),
                amounts[k][0],
                amounts[k][1],
                float(seen[k]),
            )
            for k in np.argsort(-evidence, kind="stable")
        ]
        less, doubt = chosen.deviations(mean)
        # Mean and scatter of a lognormal stiffness.
        stiff = np.exp(-(self.prior.mean + less) + doubt**2 / 2)
        strays = stiff * np.sqrt(np.expm1(doubt**2))
        before = np.sqrt(np.expm1(self.prior.spread**2))
        bending, bending_error = self._ratio(mean, error, computed, turned=False)
        twist, twist_error = self._ratio(mean, error, computed, turned=True)
        level, whole, factor, factor_error = _simple(mean, error, computed, self.turned)
        return SideFound(
            self.side,
            np.array([m[1] for m in self.marks], dtype=np.intp),
            np.array([m[3] for m in self.marks]),
            tuple(m[2] for m in self.marks),
            mean, error, computed, chosen.explained(mean), noise,
            bending, bending_error, twist, twist_error,
            level, whole, sound.evidence, factor, factor_error,
            chosen.misfit(mean),
            tuple(found), chance,
            tuple(self.suspects[k] for k in named),
            tuple(
                PieceFound(self._name(p.name), float(before[k]), float(stiff[k]), float(strays[k]))
                for k, p in enumerate(self.pieces.pieces)
            ),
            self._odd(value, noise),
        )  # fmt: skip

    def _exact(self, maker: Maker, k: int, mean: Array, start: Array) -> Fit:
        """The wood that explains the readings best with a suspect missing (-1: none), the wing solved anew
        for every step."""
        law = self.sound.at if k < 0 else self.without(k).at
        listed = np.zeros(len(self.prior.mean)), self.drawn[k + 1]
        found = maker.fit(law, mean, start, _SOLVES, other=listed)
        if found.problem.misfit(mean) < FALSE_ALARM:
            # A start far off may end in a dip beside the best.
            found = max(found, maker.fit(law, mean, listed[0], _SOLVES), key=lambda one: one.evidence)
        return found

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

    def noise(self, value: Array) -> Noise:
        """Noise from how readings of one mark scatter about a line through zero, by restricted likelihood;
        the defaults where there are too few steps."""
        if len(value) - len(self.marks) < FREEDOM:
            return Noise()
        size, n = self._plain(value), len(self.marks)

        def cost(logs: Array) -> float:
            dial, gauge, relative = np.exp(logs).tolist()
            noise = Noise(dial, gauge, relative)
            sigma = self.sigma(noise, size)
            mean, error = self.gathered(value, noise)
            left = (value - self.share * mean[self.mark_of]) / sigma
            # A weak pull to the defaults keeps a kind that was not read where it is.
            pull = ((logs - start) ** 2).sum() / 8
            return float((2 * np.log(sigma) + left**2).sum() - 2 * np.log(error[:n]).sum() + pull)

        start = np.log([DIAL, GAUGE, RELATIVE])
        found = so.minimize(
            cost, start, method="L-BFGS-B", bounds=[(s + math.log(LEAST), s + 5) for s in start]
        )
        # A noise from few readings is itself uncertain: taken one standard deviation larger than it comes
        # out.
        doubt = 1 + 1 / math.sqrt(2 * (len(value) - n))
        dial, gauge, relative = (doubt * np.exp(found.x)).tolist()
        return Noise(dial, gauge, relative, estimated=True)

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
        """Stiffness measured over computed in bending (mean movement of each rib) or in twist, with its
        error."""
        rows: list[tuple[float, float, float]] = []
        for shape, rib in sorted({(m[0], m[1]) for m in self.marks}):
            there = [k for k, m in enumerate(self.marks) if (m[0], m[1]) == (shape, rib)]
            dials = sorted((k for k in there if not self.turned[k]), key=lambda k: self.marks[k][3])
            if not turned:
                if dials:
                    doubt = float(np.sqrt((error[dials] ** 2).sum())) / len(dials)
                    rows.append((float(computed[dials].mean()), float(mean[dials].mean()), doubt))
                continue
            rows += [(float(computed[k]), float(mean[k]), float(error[k])) for k in there if self.turned[k]]
            if len(dials) > 1:
                a, b = dials[0], dials[-1]
                arm = self.marks[b][3] - self.marks[a][3]
                turn, read = ((float(w[a]) - float(w[b])) / arm for w in (computed, mean))
                rows.append((turn, read, math.hypot(error[a], error[b]) / arm))
        table = np.array(rows).reshape(-1, 3)
        weight = float((table[:, 0] ** 2 / table[:, 2] ** 2).sum())
        if not weight:
            return math.nan, math.nan
        flexible = float((table[:, 0] * table[:, 1] / table[:, 2] ** 2).sum()) / weight
        doubt = math.hypot(1 / math.sqrt(weight), COMMON)
        return (1 / flexible, doubt / flexible**2) if flexible > 0 else (math.nan, math.nan)


def _greatest(sound: Problem, problems: list[Problem], drawn: Array) -> Array:
    """The best likelihood ratio of any suspect, for every draw."""
    base, best = sound.evidences(drawn), np.full(len(drawn), -np.inf)
    for problem in problems:
        best = np.maximum(best, problem.evidences(drawn) - base)
    return best


def _seen(listed: list[Problem], limit: float, draw: np.random.Generator) -> Array:
    """Chance that each suspect is named when it is missing; `listed` holds the sound wing and them."""
    n = len(listed) - 1
    drawn = np.concatenate([problem.draws(draw, _TRIALS) for problem in listed[1:]] or [np.zeros((0, 1))])
    if not n:
        return np.zeros(0)
    every = np.stack([p.evidences(drawn) for p in listed], axis=1)
    every = (every[:, 1:] - every[:, :1]).reshape(n, _TRIALS, n)
    best = every.max(axis=2)
    weight = np.exp(every - best[..., None])
    weight /= weight.sum(axis=2, keepdims=True)
    own = np.take_along_axis(weight, np.arange(n)[:, None, None], axis=2)
    before = np.where(weight > own, weight, 0.0).sum(axis=2)
    return np.asarray(((best > limit) & (before < _CREDIBLE)).mean(axis=1))


def _credible(posterior: Array) -> list[int]:
    """The fewest that share 95 % of the posterior."""
    order = np.argsort(-posterior, kind="stable")
    count = int(np.searchsorted(np.cumsum(posterior[order]), _CREDIBLE)) + 1
    return [int(k) for k in order[:count]]


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


def _suspects(model: Model, side: str) -> tuple[tuple[Suspect, ...], dict[str, Ints]]:
    """Webs and braces of a side, and which of them every element of every block belongs to (-1: none)."""
    suspects: dict[Suspect, int] = {}
    of_part = np.full(len(model.parts) + 1, -1, dtype=np.intp)
    for p, part in enumerate(model.parts):
        kind = part.kind.split()[0]
        if kind in ("web", "brace") and part.side == side and part.bay is not None:
            one = Suspect(kind, part.spar, part.place.split()[0], part.bay if kind == "web" else 0)
            of_part[p] = suspects.setdefault(one, len(suspects))
    blocks = model.structure.blocks.items()
    groups = {name: of_part[block.part] for name, block in blocks if block.part is not None}
    return tuple(suspects), {name: of for name, of in groups.items() if (of >= 0).any()}


ABOUT = (
    f"Errors are one standard deviation. {100 * COMMON:.0f} % is allowed for what all readings share "
    "(bags, model). Scatter of the woods as `sparbay woods` lists it, sizes as builders cut. A web is "
    f"named where the best likelihood ratio is above what all but {100 * FALSE_ALARM:.0f} % of simulated "
    "sound wings reach with any of their webs, so that the list's length is allowed for. Stiffness of a "
    "piece takes modulus, size and glue together."
)


def sentences(one: SideFound) -> list[str]:
    """The answer for one side in words.

    Parameters
    ----------
    one : SideFound
        From `measured`.

    Returns
    -------
    list of str
    """
    side = one.side[:1].upper() + one.side[1:]
    ratios = [("in bending", one.bending, one.bending_error), ("in twist", one.twist, one.twist_error)]
    told = [_stiffness(*ratio) for ratio in ratios if math.isfinite(ratio[1])]
    said = [f"{side}: {' and '.join(told)}."] if told else []
    total = len(one.suspects)
    if one.named:
        names = _listed([suspect.name for suspect in one.named], "or")
        best = next(s for s in one.suspects if s.suspect == one.named[0])
        alarm = (
            f"{100 * one.chance:.2g} %" if one.chance > 1.5 / _DRAWS else f"less than {100 / _DRAWS:.2g} %"
        )
        apart = "; the readings do not tell these apart" if len(one.named) > 1 else ""
        said.append(
            f"Something is missing there or its glue has let go: {names}{apart}. A sound wing raises such a "
            f"suspicion against one of its {total} webs and braces with a chance of {alarm}."
        )
        if math.isfinite(best.amount_error):
            said.append(
                f"The readings show {100 * best.amount:.0f} % \N{PLUS-MINUS SIGN} "
                f"{100 * best.amount_error:.0f} % of what its absence does."
            )
    else:
        said.append(
            f"No web or brace is missing that these readings could show (a sound wing looks as suspicious "
            f"with a chance of {100 * one.chance:.0f} %)."
        )
        said.append(_wood(one))
    if not one.fits:
        said.append(
            f"Beware: neither wood nor noise{' nor what is named' if one.named else ''} explains the "
            f"readings (chance {100 * one.misfit:.2g} %): look at marks, bags, the hold, splices and "
            "joints, or at more than one web."
        )
    blind = [s.suspect for s in one.suspects if s.seen < BLIND]
    unsure = [s.suspect for s in one.suspects if BLIND <= s.seen < SEEN]
    if total:
        clear = total - len(blind) - len(unsure)
        words = (
            f"{clear} of the {total} webs and braces would have been named with a chance of "
            f"{100 * SEEN:.0f} % or more if missing"
        )
        if unsure:
            words += f"; {len(unsure)} perhaps: {_places(unsure)}"
        if blind:
            words += (
                f"; of {len(blind)} a missing one could not be seen (it changes the readings by less than "
                f"their noise and the wood's scatter do): {_places(blind)}"
            )
        said.append(f"{words}.")
    for line, away in one.odd[:5]:
        said.append(
            f"Line {line} departs from the other steps of its mark by {abs(away):.0f} standard "
            "deviations: a slip of the pen?"
        )
    return said


def _stiffness(where: str, ratio: float, error: float) -> str:
    about = f"{100 * abs(ratio - 1):.0f} % \N{PLUS-MINUS SIGN} {100 * error:.0f} %"
    if abs(ratio - 1) <= 2 * error:
        near = f"{100 * (ratio - 1):+.0f} % \N{PLUS-MINUS SIGN} {100 * error:.0f} %"
        return f"{where} as stiff as computed ({near})"
    return f"{where} {about} {'stiffer' if ratio > 1 else 'softer'} than computed"


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
            f"One factor explains it: the whole wing {100 * abs(change):.0f} % \N{PLUS-MINUS SIGN} "
            f"{100 * one.whole_error:.0f} % {'stiffer' if change > 0 else 'softer'} than computed, as "
            "other wood makes it."
        )
    most = sorted(one.pieces, key=lambda p: -abs(p.factor - 1) / max(p.error, 1e-9))[:3]
    told = [
        f"{p.name} {100 * (p.factor - 1):+.0f} % \N{PLUS-MINUS SIGN} {100 * p.error:.0f} %"
        for p in most
        if abs(p.factor - 1) > p.error
    ]
    more = f": {'; '.join(told)}" if told else ""
    return f"Pieces of other wood than listed explain it{more}."


_CLEARLY = 3.0
"""Difference of ln evidence from which one explanation is preferred to a simpler one (Jeffreys' "strong",
from memory: a factor of 20)."""


def _listed(words: list[str], last: str) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def _places(suspects: list[Suspect]) -> str:
    """Suspects gathered by spar and face, bays as ranges."""
    lines: dict[tuple[str, str], list[int]] = {}
    for one in suspects:
        lines.setdefault((one.spar if "spar" in one.spar else f"{one.spar} spar", one.face), []).append(
            one.bay
        )
    told = []
    for (spar, face), bays in lines.items():
        runs: list[list[int]] = []
        for bay in sorted(b for b in bays if b):
            if runs and bay == runs[-1][-1] + 1:
                runs[-1].append(bay)
            else:
                runs.append([bay])
        if runs:
            where = ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]}-{r[-1]}" for r in runs)
            told.append(f"{spar}, {face}, bay {where}")
        if 0 in bays:
            told.append(f"{spar}, {face} brace")
    return "; ".join(told)
