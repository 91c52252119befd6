"""The engine on its rails: reserve factors of rails, ties, glue and the spar bays that carry them in every
load case, and the natural frequency against what shakes it.

The whole wing is solved free, all cases by one factor, and checked case by case with the rules of
`models.strength`. Beside the frequencies of the built wing stands the hand formula of an overhanging beam on
stiff spars.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly
from fea.solve import Factor, free_body, pinned
from fea.vibration import natural_modes
from models.analysis import Analysis
from models.loads.engine import EngineCase, EngineLoads, bolt_on, cut_to_engine, engine_loads, mounts
from models.strength import Margin, check
from models.strength.margin import ranked
from models.strength.solved import Build
from models.structure import Model, build
from models.studies import rail_bolts, rail_shear
from models.wing.parts import Engine, Rail, Wing

CLEARANCE = 0.2
"""How far a natural frequency should stay from what shakes, as a share of the latter: common practice, no
source."""
_MOST_MODES = 1200
_TAKES_PART = 0.05
"""Share of a mode's kinetic energy in the engine from which on it is a mode of the engine."""
_CARRIERS = ("rail", "rail tie")


@dataclass(frozen=True)
class RailCase:
    """Reserve factors in one case, each the least of its kind; `rows` are those of rails and ties."""

    case: EngineCase
    rows: tuple[Margin, ...]
    bay: Margin | None
    weakest: Margin | None

    @property
    def least(self) -> float:
        """Least reserve factor of rails, ties and the spar bays that carry them; inf where nothing acts."""
        first = self.first
        return math.inf if first is None else first.reserve_factor

    @property
    def first(self) -> Margin | None:
        """What has that reserve factor."""
        each = [*self.rows, *([self.bay] if self.bay is not None else [])]
        return min(each, key=lambda m: m.reserve_factor, default=None)


@dataclass(frozen=True)
class RailMode:
    """A natural mode: frequency (Hz), share of its kinetic energy in the engine, and the engine's main
    direction."""

    frequency: float
    share: float
    direction: str


@dataclass(frozen=True)
class Shaker:
    """Something that shakes the engine at a frequency, Hz.

    `near` are modes within the clearance of it at full speed, `met` those that it meets on the way there from
    idle, each with the shaft's speed, rad/s.
    """

    name: str
    frequency: float
    near: tuple[RailMode, ...]
    met: tuple[tuple[RailMode, float], ...] = ()


@dataclass(frozen=True, eq=False)
class RailStudy:
    """What the engine does to its rails.

    Parameters
    ----------
    wing : Wing
        As read.
    loads : EngineLoads
        The cases.
    cases : tuple of RailCase
        In the order of the cases.
    modes : tuple of RailMode
        In which the engine takes part, lowest first.
    hand_frequency : float
        Overhanging beam on stiff spars, Hz; nan where the engine is not ahead of its first spar.
    shakers : tuple of Shaker
        Firing, blade passing, one revolution.
    spacing : float
        Clear distance between the rails of a pair, m; 0 for a single rail.
    toe_in : float
        Turn of the thrust line for 1 mm by which one rail stands ahead of its twin, rad; 0 for a single rail.
    """

    wing: Wing
    loads: EngineLoads
    cases: tuple[RailCase, ...]
    modes: tuple[RailMode, ...]
    hand_frequency: float
    shakers: tuple[Shaker, ...]
    spacing: float
    toe_in: float

    @property
    def worst(self) -> RailCase:
        """Case of the least reserve factor."""
        return min(self.cases, key=lambda c: c.least)


class NoEngine(ValueError):
    """The wing file tells of no engine on rails."""


def rails(wing: Wing, *, per_bay: int = 4) -> RailStudy:
    """Check the engine's rails. A flying wing with an engine.

    Raises
    ------
    NoEngine
        Nothing to check.
    fea.solve.Mechanism, models.loads.pull_up.LightAeroplane
        As `models.analysis.analyse`.
    """
    if wing.engine is None or not wing.rails:
        raise NoEngine("the file has no [engine] on rails; see `sparbay keys`.")
    model = bolt_on(build(cut_to_engine(wing), per_bay=per_bay, whole=True))
    assembly = Assembly(model.structure)
    loads = engine_loads(model, assembly)
    factor = pinned(assembly)
    solution = free_body(factor, loads.loads)
    cases, known = [], Build()
    for k, case in enumerate(loads.cases):
        times = loads.pull_up.load_factor if "pull-up" in case.name else 1.0
        analysis = Analysis(model, solution, k, loads.pull_up, times, solution.recover(k))
        cases.append(_result(analysis, case, wing, known))
    modes = _modes_up_to(model, factor, (1 + CLEARANCE) * max(_shaking(wing.engine).values()))
    pair = [r for r in wing.rails if r.y > 0]
    apart = 2 * pair[0].y if pair else 0.0
    return RailStudy(
        wing,
        loads,
        tuple(cases),
        modes,
        _by_hand(wing),
        shakers(wing.engine, modes),
        apart - pair[0].width if pair else 0.0,
        math.atan(1e-3 / apart) if pair else 0.0,
    )


def _shaking(engine: Engine) -> dict[str, float]:
    """How often an engine shakes at full speed, Hz, by what does it."""
    turns = engine.speed / (2 * math.pi)
    return {
        "blades passing": engine.blades * turns,
        "firing": engine.firings * turns,
        "one revolution": turns,
    }


def shakers(engine: Engine, modes: tuple[RailMode, ...]) -> tuple[Shaker, ...]:
    """What shakes on an engine, each with the modes that it comes near or meets.

    Parameters
    ----------
    engine : Engine
        With its speeds, rad/s.
    modes : tuple of RailMode
        Up to the highest frequency at which it shakes, and a little beyond.
    """
    return tuple(
        Shaker(
            name,
            f,
            tuple(m for m in modes if abs(m.frequency - f) < CLEARANCE * f),
            _met(modes, f / engine.speed, engine.idle, engine.speed),
        )
        for name, f in _shaking(engine).items()
        if f > 0
    )


def _met(
    modes: tuple[RailMode, ...], per_turn: float, idle: float, full: float
) -> tuple[tuple[RailMode, float], ...]:
    """Modes that what shakes so often (Hz for 1 rad/s) meets between idle and full speed, and where."""
    speeds = [(m, m.frequency / per_turn) for m in modes]
    return tuple((m, speed) for m, speed in speeds if idle <= speed <= full)


def _modes_up_to(model: Model, factor: Factor, highest: float) -> tuple[RailMode, ...]:
    """All modes of the engine up to a frequency, Hz."""
    found, shapes = natural_modes(factor, _MOST_MODES, free=True, highest=highest)
    there = found <= highest
    return engine_modes(model, found[there], shapes[:, :, there])


def _result(analysis: Analysis, case: EngineCase, wing: Wing, known: Build) -> RailCase:
    model = analysis.model
    beside = [*rail_shear.findings(analysis), *rail_bolts.findings(analysis, wing.rails)]
    margins = check(analysis, build=known)
    own = [m for m in margins.rows if m.part.kind in _CARRIERS]
    both = sorted([*own, *ranked(model, beside)], key=lambda m: m.reserve_factor)
    best: dict[tuple[str, str], Margin] = {}
    for m in both:
        best.setdefault((m.mode, m.part.place), m)
    bays = carrying_bays(model)
    spars = {t for r in model.wing.rails for t in r.ties}
    bay = next((m for m in margins.rows if m.bay in bays and m.spar in spars), None)
    return RailCase(case, tuple(best.values()), bay, margins.rows[0] if margins.rows else None)


def carrying_bays(model: Model) -> frozenset[int]:
    """Numbers of the bays in which, or at whose edge, rails are tied to the spars."""
    return frozenset(
        int(model.bay[k])
        for rail in model.wing.rails
        for k in range(len(model.bay))
        for y in (rail.y, -rail.y)
        if model.y[k] - 1e-9 <= y <= model.y[k + 1] + 1e-9
    )


def engine_modes(model: Model, frequencies: Array, shapes: Array) -> tuple[RailMode, ...]:
    """Modes in which the engine takes part. Lowest first, of `frequencies` (n,), Hz, and `shapes` (n_nodes,
    6, n) of unit modal mass."""
    nodes, share, arms = mounts(model)
    assert model.wing.engine is not None
    mass = next(m.mass for m in model.wing.masses if m.name == model.wing.engine.name)
    turn = np.moveaxis(shapes[nodes, 3:], 2, 1)
    moves = np.moveaxis(shapes[nodes, :3], 2, 1) + np.cross(turn, arms[:, None])
    energy = mass * np.einsum("i,ijk->jk", share, moves**2)
    names = ("fore and aft", "sideways", "up and down")
    return tuple(
        RailMode(float(f), float(e.sum()), names[int(e.argmax())])
        for f, e in zip(frequencies, energy)
        if e.sum() >= _TAKES_PART
    )


def overhang_stiffness(rail: Rail, overhang: float, back: float) -> float:
    """Force for unit deflection at the end of a beam that overhangs two stiff supports, N/m. `overhang` a
    ahead of the first support, `back` b between the two, m.

    1/k = a^2 (a + b)/(3 E I) + a (1 + a/b)/(kappa G A); with no second support a cantilever (b = 0):
    a^3/(3 E I) + a/(kappa G A).

    References
    ----------
    Overhanging beam: tables of any strength book, from memory; Castigliano's theorem for the shear.
    """
    stick = rail.material.stick()
    area = rail.width * rail.height
    bend = 3 * stick.E * area * rail.height**2 / 12
    shear = 5 / 6 * stick.G_up * area
    ratio = overhang / back if back > 0 else 0.0
    return 1 / (overhang**2 * (overhang + back) / bend + overhang * (1 + ratio) / shear)


def frequency(stiffness: float, mass: float) -> float:
    """sqrt(k/m)/(2 pi), Hz, of k in N/m and m in kg."""
    return math.sqrt(stiffness / mass) / (2 * math.pi)


def _by_hand(wing: Wing) -> float:
    assert wing.engine is not None
    item = next(m for m in wing.masses if m.name == wing.engine.name)
    spars = {s.name: s for s in wing.spars}
    total = 0.0
    for rail in wing.rails:
        at = sorted(float(spars[t].x.at(rail.y)) for t in rail.ties)
        if item.x >= at[0]:
            return math.nan
        back = at[-1] - at[0]
        total += (2 if rail.y > 0 else 1) * overhang_stiffness(rail, at[0] - item.x, back)
    return frequency(total, item.mass)
