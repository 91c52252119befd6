"""Scatter: the same drawing built many times from other wood, and what fails first in each wing.

Stiffness and size of every piece are drawn for a number of sets of wood, each of which is solved on the real
structure and judged by every failure mode; strengths and glue are drawn for every half wing anew. Where more
wings are drawn than sets are solved each half wing still has wood of its own, foretold from those that are
(`foretold`); with few sets wings share them, which makes them count for fewer. Where half
a wing is modelled, port and starboard are two independent draws of it and the weaker decides; how one half's
wood changes the other half's load is neglected.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.solve import pinned
from models.analysis import analyse
from models.rounding import down, gees
from models.strength.margin import NothingLoaded
from models.strength.modes import named
from models.structure.model import Part
from models.studies.bent_pull_up import bent_pull_up
from models.studies.layouts import apply, as_drawn, bays_of, everywhere, faces_take_webs
from models.studies.scatter.draws import STIFF_AND_STRONG, WITHIN, Spread, draw_halves, spread_of
from models.studies.scatter.foretold import FEWEST, MOST, OwnWood, own_wood, pays
from models.studies.scatter.interval import design_effect, quantile_interval, share_interval
from models.studies.scatter.pieces import SIZE
from models.studies.scatter.rare import Chance, chance_below
from models.studies.scatter.states import Solver, States
from models.wing.parts import Layout, Wing
from models.wing.words import spar_words
from models.woods.data import spread, tables
from models.workers import Run

MOST_STATES = 1000
"""Sets of wood; of a larger sample the others are foretold, or strengths are drawn several times for each."""
SEED = 20261
"""Seed where none is given; drawn once."""
_GLUE = tables()["glues"]["scatter"]
ASSUMPTIONS = (
    "Woods' coefficients of variation as `sparbay woods` lists them with their sources: from piece to piece, "
    "halved where a piece was weighed, and the doubt of the table's figure, as if every piece came from "
    "another source; tables are taken as means, factors as lognormal.",
    f"Two strengths within one stick or sheet are correlated by {WITHIN:g} (common practice, no source); "
    f"stiffness and strength of one piece by {STIFF_AND_STRONG:g} (Wood Handbook, on grading [from memory]); "
    "pieces are independent.",
    f"Sizes vary by {SIZE * 100:g} % each (common practice, no source); a stick's whole stiffness grows with "
    "the area of its section, a sheet's with its thickness.",
    f"Every glue line has a quality of its own, coefficient of variation {100 * spread(_GLUE):.0f} %: "
    f"{100 * _GLUE['value']:.0f} from joint to joint (common practice, no source) and, for the doubt of what "
    f"wood bears across its grain, {100 * _GLUE['doubt']:.0f}.",
    "Sheeting that bows leaves each part the share of its reserve that it leaves in mean wood at the load at "
    "which weak wings fail.",
    "Loads are those of the nominal mass; a wing must bear its pull-up with lift as it is built and with "
    "lift where it puts it as it bends and twists in mean wood. Buckling loads vary with stiffness and size "
    "alone. Where crushing of the bent spar takes part, weak wood is judged cautiously.",
)
HALVES = (
    "Port and starboard are two independent draws of the modelled half, and the weaker decides; that the "
    "wood of one half changes the load of the other is neglected."
)


@dataclass(frozen=True)
class First:
    """A part and mode, and the share of wings in which it is the first to go; `chance` is between `low` and
    `high` with the study's confidence."""

    part: Part
    mode: str
    side: str
    chance: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Scatter:
    """What many wings from one drawing do.

    Parameters
    ----------
    wing : Wing
        The drawing.
    seed, n_wings, n_states : int
        Of the sample: wings, and sets of wood that were solved.
    asked : float
        Load factor asked for (1 for a specimen, which counts in multiples of its load).
    nominal : float
        Load factor at first failure with everything as in the tables.
    load_factors : (n_wings,) float array
        At first failure.
    firsts : tuple of First
        Shares, the greatest first; they sum to 1.
    median, fifth : float
        Load factors that half, and one in twenty, do not reach.
    fifth_interval : (float, float)
        Of the fifth percentile.
    survival : float
        Share of the wings that survive the load asked for.
    survival_interval : (float, float)
        Of that share.
    failing : Chance
        Chance of failing below the load asked for, by importance sampling.
    design_effect : float
        What the sets of wood that wings share cost: the sample counts for n_wings over this, 1 where each
        half wing has wood of its own.
    confidence : float
        Of all intervals.
    missed : (float, float) or None
        By how much the reserve of a half wing was missed where it was left out, in the middle, or foretold
        and then solved besides, at most; None where none was foretold.
    """

    wing: Wing
    seed: int
    n_wings: int
    n_states: int
    asked: float
    nominal: float
    load_factors: Array
    firsts: tuple[First, ...]
    median: float
    fifth: float
    fifth_interval: tuple[float, float]
    survival: float
    survival_interval: tuple[float, float]
    failing: Chance
    design_effect: float
    confidence: float
    missed: tuple[float, float] | None = None

    @property
    def flying(self) -> bool:
        """Load factors are in g; else in multiples of a specimen's load."""
        return self.wing.flies

    def by_bay(self) -> list[tuple[str, str, int | None, float]]:
        """Share of every (side, spar, bay), the greatest first; they sum to 1."""
        found: dict[tuple[str, str, int | None], float] = {}
        for one in self.firsts:
            key = (one.side, one.part.spar, one.part.bay)
            found[key] = found.get(key, 0.0) + one.chance
        return sorted(((*key, share) for key, share in found.items()), key=lambda row: -row[3])


def scatter(
    wing: Wing,
    *,
    samples: int = 10_000,
    seed: int = SEED,
    per_bay: int = 4,
    states: int = MOST_STATES,
    confidence: float = 0.95,
    progress: Callable[[str], None] | None = None,
    run: Run | None = None,
) -> Scatter:
    """Build a wing many times from other wood and load each to its first failure.

    Parameters
    ----------
    wing : Wing
        The drawing.
    samples : int
        Wings.
    seed : int
        The same seed gives the same wings.
    per_bay : int
        Elements along a bay.
    states : int
        Most sets of wood to solve; where others are foretold from them, as many again if need be.
    confidence : float
        Of the intervals.
    progress : callable or None
        Told before every step.
    run : Run or None
        Who solves the sets of wood (`models.workers`); None: this process.

    Returns
    -------
    Scatter

    Raises
    ------
    fea.solve.Mechanism, models.loads.pull_up.LightAeroplane
        As for `models.analysis.analyse`.
    ValueError
        No sample, or nothing that could fail.
    """
    if samples < 1 or states < 1:
        raise ValueError("at least one wing and one set of wood")
    analysis = analyse(wing, per_bay=per_bay)
    bent = None if analysis.pull_up is None else bent_pull_up(analysis, pinned(analysis.solution.assembly))
    sides = ("starboard", "port") if analysis.model.half else ("",)
    n = samples * len(sides)
    solver = Solver(analysis, progress, bent, run, per_bay, bows=True)
    n_states = min(states, n)
    found, spread = sets_of_wood(solver, seed, min(n_states, FEWEST if pays(FEWEST, n) else MOST))
    if progress is not None:
        progress(f"{wing.name}: strengths of {samples} wings")
    own = None
    if pays(len(found.reserve), n):
        own = _own_wood(solver, found, spread, seed, n, len(sides), n_states)
    if own is None:
        found = solver.more(found, *_wood(solver, seed, n_states))
        state = np.arange(n) if n_states == n else np.random.default_rng([seed, 1]).integers(0, n_states, n)
        halves = draw_halves(found, spread, state, [seed, 1])
    else:
        halves, state, n_states = own.halves, own.halves.state, own.n_solved
    every = halves.reserve.reshape(samples, len(sides)) * found.load_factor
    weaker = every.argmin(axis=1)
    load_factors = every.min(axis=1)
    pair = halves.first.reshape(samples, len(sides))[np.arange(samples), weaker]
    fifth = float(np.quantile(load_factors, 0.05, method="inverted_cdf"))
    effect = design_effect(halves.reserve * found.load_factor < fifth, state)
    counts = samples / effect
    survive = float((load_factors >= found.load_factor).mean())
    failing = chance_below(
        found, spread, found.load_factor, np.random.default_rng([seed, 2]), halves=len(sides)
    )
    return Scatter(
        wing,
        seed,
        samples,
        n_states,
        found.load_factor,
        found.nominal,
        load_factors,
        _firsts(found, pair, weaker, sides, counts, confidence),
        float(np.median(load_factors)),
        fifth,
        quantile_interval(load_factors, 0.05, confidence, effect),
        survive,
        share_interval(survive * counts, counts, confidence),
        failing,
        effect,
        confidence,
        None if own is None else (math.expm1(own.missed[0]), math.expm1(own.missed[1])),
    )


def _wood(solver: Solver, seed: int, n: int) -> tuple[Array, Array]:
    """Standard normal variables of stiffness and size of n sets, (n, n_pieces) each; the first of many are
    those of few."""
    z = np.random.default_rng([seed, 0]).standard_normal((n, 2, len(solver.pieces.pieces)))
    return z[:, 0], z[:, 1]


def sets_of_wood(solver: Solver, seed: int, n_states: int) -> tuple[States, Spread]:
    """Sets of wood of a wing, and the scatter of its strengths.

    Raises
    ------
    NothingLoaded
        No part of the wing is loaded, so that none can fail.
    """
    found = solver.states(*_wood(solver, seed, n_states))
    if not found.pairs:
        raise NothingLoaded
    return found, spread_of(found, solver.pieces)


def _own_wood(
    solver: Solver, known: States, spread: Spread, seed: int, n: int, n_sides: int, most: int
) -> OwnWood | None:
    """Half wings of wood of their own, the first of which are the known sets; so many sets may be solved, or
    twice the most from which others are foretold."""
    stiffness_z, size_z = _wood(solver, seed, n)
    stiff, size = solver.factors(stiffness_z, size_z)
    every = replace(known, stiffness_z=stiffness_z, size_z=size_z, stiffness=stiff[:, known.piece])
    return own_wood(
        known,
        spread,
        every,
        # Forces follow both together; what is judged by its stress follows its size besides.
        np.log(np.concatenate([stiff * size, size], axis=1)),
        lambda rows: solver.reserves_of(known, stiffness_z[rows], size_z[rows]),
        [seed, 1],
        n_sides,
        max(most, 2 * MOST),
    )


def n_steps(samples: int, states: int = MOST_STATES, wings: int = 1) -> int:
    """About how many steps `scatter` tells its progress of, for so many drawings."""
    return wings * (1 + -(-min(states, 2 * samples, MOST) // 64))


def _firsts(
    states: States,
    pair: NDArray[np.intp],
    half: NDArray[np.intp],
    sides: tuple[str, ...],
    counts: float,
    confidence: float,
) -> tuple[First, ...]:
    """Share of every part and mode among the first failures."""
    number = pair * len(sides) + half
    which, times = np.unique(number, return_counts=True)
    out = []
    for k, hits in zip(which.tolist(), times.tolist()):
        one, side = states.pairs[k // len(sides)], sides[k % len(sides)]
        share = hits / len(pair)
        low, high = share_interval(share * counts, counts, confidence)
        part = replace(one.part, side=side) if one.part.side and side else one.part
        out.append(First(part, one.mode, side or part.side, share, low, high))
    return tuple(sorted(out, key=lambda one: -one.chance))


@dataclass(frozen=True)
class Likeliest:
    """The bay that goes first most often, both sides together, and how: `chance` of the bay, and of its
    likeliest part and mode among all wings."""

    place: str
    chance: float
    what: str
    mode: str
    mode_chance: float


def likeliest(result: Scatter) -> Likeliest:
    """Which bay is the likeliest to go first, and how.

    Parameters
    ----------
    result : Scatter
        From `scatter`.

    Returns
    -------
    Likeliest
    """
    places: dict[str, float] = {}
    modes: dict[tuple[str, str, str], float] = {}
    for one in result.firsts:
        part = one.part
        what = f"{part.place} {part.kind}".strip() if part.kind != "rail" else part.place
        where = [] if part.bay is None else [f"bay {part.bay}"]
        if part.spar:
            where.append(spar_words(part.spar))
        place = ", ".join(where) or what
        places[place] = places.get(place, 0.0) + one.chance
        modes[place, what, one.mode] = modes.get((place, what, one.mode), 0.0) + one.chance
    place = max(places, key=lambda key: places[key])
    key = max((k for k in modes if k[0] == place), key=lambda k: modes[k])
    return Likeliest(place, places[place], key[1], key[2], modes[key])


def sentences(result: Scatter) -> list[str]:
    """The answer in words.

    Parameters
    ----------
    result : Scatter
        From `scatter`.

    Returns
    -------
    list of str
    """
    most = likeliest(result)
    unit = " g" if result.flying else " times the load"
    low, high = result.fifth_interval
    fate = named(most.mode).words
    kind = "wings" if result.flying else "specimens"
    bay, mode = _percent(most.chance), _percent(most.mode_chance)
    first = (
        f"{most.place[:1].upper()}{most.place[1:]} is the likeliest to go first ({bay}; mostly its "
        f"{most.what} {fate}, {mode}); half the {kind} fail below {down(result.median)}{unit} and one in "
        f"twenty below {down(result.fifth)}{unit} ({_percent(result.confidence)} interval {low:.1f} "
        f"to {high:.1f})."
    )
    return [first, _survival(result)]


def _survival(result: Scatter) -> str:
    asked = f"the {gees(result.asked)} g asked for" if result.flying else "the load asked for"
    low, high = result.survival_interval
    chance = result.failing.value
    if chance < 1e-9:
        return f"{asked[:1].upper()}{asked[1:]} breaks none in a thousand million (importance sampling)."
    if chance < 1e-3:
        return (
            f"{asked[:1].upper()}{asked[1:]} breaks about one in {_round(1 / chance)} (importance sampling)."
        )
    survive = down(100 * result.survival, 0 if 0.01 <= result.survival < 0.99 else 1)
    return (
        f"{survive} in 100 survive {asked} ({100 * result.confidence:.0f} % interval {100 * low:.1f} to "
        f"{100 * high:.1f})."
    )


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _round(value: float) -> str:
    return f"{float(f'{value:.1g}'):,.0f}".replace(",", " ")


def layouts_to_compare(wing: Wing) -> tuple[Layout, ...]:
    """No webs, C, box, box with the grain along the span, webs in the inner bays alone, and as drawn."""
    inner: dict[tuple[str, str, int], tuple[str, ...]] = {}
    for spar in wing.spars:
        bays = bays_of(wing, spar)
        last = max(bay for _, bay in bays)
        inner |= {(spar.name, side, bay): ("front", "rear") for side, bay in bays if bay <= (last + 1) // 2}
    on_faces = (
        everywhere(wing, "front C", ("front",)),
        everywhere(wing, "box", ("front", "rear")),
        everywhere(wing, "box, grain along span", ("front", "rear"), 0.0),
        Layout("box, inner half of the bays", inner),
    )
    return (
        everywhere(wing, "no webs", ()),
        *(on_faces if faces_take_webs(wing) else ()),
        as_drawn(wing),
    )


def scatter_of_layouts(
    wing: Wing,
    *,
    samples: int = 10_000,
    seed: int = SEED,
    per_bay: int = 4,
    states: int = 320,
    progress: Callable[[str], None] | None = None,
    run: Run | None = None,
) -> list[tuple[str, Scatter]]:
    """The same study for different layouts of webs.

    Parameters
    ----------
    wing : Wing
        The drawing.
    samples, seed, per_bay, states, progress, run
        As for `scatter`.

    Returns
    -------
    list of (layout's name, Scatter)
    """
    return [
        (
            layout.name,
            scatter(
                apply(wing, layout),
                samples=samples,
                seed=seed,
                per_bay=per_bay,
                states=states,
                progress=progress,
                run=run,
            ),
        )
        for layout in layouts_to_compare(wing)
    ]
