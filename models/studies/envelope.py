"""The envelope of manoeuvres and gusts with the strength of the wing in it, for each loading.

At each speed the wing is limited by lift and by its structure. The structure's limit is the load factor at
which the first part fails: the loads are those of the lift, as the load factor, and of the section's moment,
as the speed squared, solved once each and put together. What `check` and all others call the load factor at
failure lets all loads grow alike and with them the speed (`models.loads.pull_up.growing_words`): it is the
limit here at the speed that it has then. Sheeting that bows before the first failure brings it
down; that is worked out once upright and once inverted, at the cruise speed, and taken as a share for all
speeds; the hardest corner is solved and checked once more on its own, with its own bowing. Limits, and where
a full pull meets them, count the harder of lift as built and lift where the bent and twisted wing puts it at
that speed (`models.loads.elastic_lift`), as the corners do, which tell both.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence, Set
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from fea.arrays import Array, Ints
from fea.solve import free_body
from fea.structure import Loads
from models import units_out as say
from models.analysis import Analysis
from models.loads.elastic_lift import TOO_NEAR, Influence
from models.loads.envelope import (
    ManoeuvreBounds,
    corner_speed,
    design_speeds,
    most_by_lift,
    of_gust,
    slope_of,
    stall_speed,
    tightest_radius,
)
from models.loads.pull_up import GRAVITY, LightAeroplane
from models.recovered import changed, recovered
from models.rounding import gees
from models.session import Session
from models.strength import Margin, rounded_down
from models.strength.counted import JOINER, JOINT, joints
from models.strength.margin import Least, every_finding, least
from models.strength.modes import MODES
from models.studies.bent_pull_up import influence_of
from models.studies.bowed import shares_left
from models.studies.collapse import DamagedWing
from models.studies.proof import share_for
from models.studies.speed_limit import Limit, kmh
from models.units_out import mass_beside_gees
from models.wing.parts import Flight, Loading, PointMass, Wing

INVERTED = 0.5
"""Inverted over upright load factor where the file gives none: 14 CFR 23.337(b), acrobatic (from memory)."""
SPEEDS = 9
"""At most so many speeds in the table, besides those with a name."""
_STEPS = (1, 2, 5)
"""Steps of the table, km/h, or ten, a hundred times as much."""
_STEPS_EACH = 3
_SETTLED, _MOST_TRIES = 1e-7, 25
_FAR_BELOW = 0.5
"""Share of what is asked for below which, by straight lines, a mode is not looked at between two ends."""
_CROSSINGS = 4
"""Times that what bowed sheeting leaves is asked where lines cross: it hangs little on where."""
_MET = 1e-4
_NEAR_ZERO = 1e-3
"""Least load factor that is tried: margins are counted in multiples of it."""


@dataclass(frozen=True)
class Corner:
    """A corner of the envelope, checked for strength.

    Parameters
    ----------
    name : str
        In words.
    speed : float
        m/s.
    asked : float
        Load factor that the manoeuvre or gust asks for.
    load_factor : float
        The same or, where the wing stalls first, what it can lift.
    reserve : float
        Least reserve factor there, sheeting bowed as far as it is at failure.
    margin : Margin or None
        What fails first if the load grows; None where nothing is loaded.
    bent : float or None
        Reserve factor with the lift where the bent and twisted wing puts it; None where nothing is loaded or
        `models.loads.elastic_lift.Influence.bent` tells nothing.
    bent_margin : Margin or None
        What fails first then.
    ends : float
        Speed at which it ends, m/s: the wing twists off, or as fast as it is trimmed; infinite if never.
    """

    name: str
    speed: float
    asked: float
    load_factor: float
    reserve: float
    margin: Margin | None
    bent: float | None = None
    bent_margin: Margin | None = None
    ends: float = float("inf")

    @property
    def counts_bent(self) -> bool:
        """The lift where the bent wing puts it is the harder."""
        return self.bent is not None and self.bent < self.reserve

    @property
    def least(self) -> float:
        """Reserve factor by the harder of both loads."""
        return self.bent if self.bent is not None and self.counts_bent else self.reserve

    @property
    def weakest(self) -> Margin | None:
        """What fails first by the harder of both loads."""
        return self.bent_margin if self.counts_bent else self.margin


@dataclass(frozen=True)
class AtSpeed:
    """What the wing can do at one speed; load factors of the inverted side without their minus.

    What the structure bears is a range of load factors. Where the section's moment alone loads the wing hard
    the range may leave zero out (one end's sign is then turned); where not even level flight is borne there
    is none (NaN).

    Parameters
    ----------
    speed : float
        m/s.
    name : str
        Of a speed that has one, else "".
    lift, lift_inverted : float
        Load factor of the greatest lift.
    fails, fails_inverted : float
        Load factor at the first failure.
    harmless, harmless_inverted : float
        Load factor up to which no part is strained beyond the share that a proof test may use.
    gust_up, gust_down : float
        Load factor in the gust of the cruise speed.
    """

    speed: float
    name: str
    lift: float
    lift_inverted: float
    fails: float
    fails_inverted: float
    harmless: float
    harmless_inverted: float
    gust_up: float
    gust_down: float

    @property
    def safe(self) -> float:
        """Load factor of the hardest pull-up without a stall and without harm; NaN where there is none."""
        most = min(self.lift, self.harmless) if np.isfinite(self.harmless_inverted) else self.harmless
        return float(most) if most >= -self.harmless_inverted else float("nan")

    @property
    def radius(self) -> float:
        """Radius of the loop that this pull-up flies at its lowest point, m; infinite where it is no more
        than level flight."""
        return float(tightest_radius(self.speed, self.safe)) if self.safe > 1 else float("inf")


@dataclass(frozen=True)
class Meets:
    """Where the greatest lift meets what the structure bears: above that speed the wing sets the limit.
    `speed` in m/s, the load factor there without a minus, and the part that sets it."""

    speed: float
    load_factor: float
    margin: Margin


@dataclass(frozen=True, eq=False)
class MassEnvelope:
    """The envelope at one loading.

    Parameters
    ----------
    name : str
        Of the loading.
    mass : float
        Flying mass, kg.
    wing_loading : float
        N/m2.
    slope : float
        Lift slope, 1/rad.
    limits : ManoeuvreBounds
        Stall and never-exceed speeds, load factors asked for.
    cruise : float
        m/s.
    rows : tuple of AtSpeed
        From the stall speed to the never-exceed speed.
    corners : tuple of Corner
        In the order of the outline, then gusts.
    critical : Corner
        That with the least reserve, by the harder of both loads.
    harms, breaks, breaks_inverted : Meets or None
        Slowest full pull that harms the wing, that breaks it, and full push that breaks it; None where it
        stalls first up to the never-exceed speed.
    bowed, bowed_inverted : float
        Load factor at first failure with sheeting bowed over that with all sheeting whole.
    """

    name: str
    mass: float
    wing_loading: float
    slope: float
    limits: ManoeuvreBounds
    cruise: float
    rows: tuple[AtSpeed, ...]
    corners: tuple[Corner, ...]
    critical: Corner
    harms: Meets | None
    breaks: Meets | None
    breaks_inverted: Meets | None
    bowed: float
    bowed_inverted: float

    @property
    def stall_speed(self) -> float:
        """Upright at 1 g, m/s."""
        return self.limits.stall

    @property
    def corner_speed(self) -> float:
        """Slowest speed at which the load factor asked for can be lifted, m/s."""
        return self.limits.corners()[0][0]

    @property
    def at_cruise(self) -> AtSpeed:
        """What the wing can do at the cruise speed; `safe` and `radius` are the hardest safe pull-up."""
        return self.at(self.cruise)

    def at(self, speed: float) -> AtSpeed:
        """The row of a speed (the nearest), m/s."""
        return min(self.rows, key=lambda row: abs(row.speed - speed))


@dataclass(frozen=True, eq=False)
class Envelope:
    """Envelopes of a wing, one a loading. `masses` as in the file first, then with what is used up used up,
    then in the order of `flight.loadings`; `speed`: flutter and the like, of the wing in the file, None where
    that was not looked at."""

    wing: Wing
    masses: tuple[MassEnvelope, ...]
    speed: Limit | None = None

    @property
    def advised(self) -> float:
        """Fastest to be flown for flutter and the like, m/s; infinite where that was not looked at."""
        return np.inf if self.speed is None else self.speed.advised

    @property
    def worst(self) -> MassEnvelope:
        """The loading that has the hardest corner of all."""
        return min(self.masses, key=lambda one: one.critical.least)


class Heavy(ValueError):
    """A loading's flying mass is less than the wing and what it carries; masses in kg."""

    def __init__(self, loading: str, fault: LightAeroplane) -> None:
        self.loading, self.flying, self.wing = loading, fault.flying, fault.wing
        super().__init__(f"{loading}: {fault}")


class Slow(ValueError):
    """A speed of the file, by its key in `flight`, is below the stall speed of a loading; both m/s."""

    def __init__(self, key: str, speed: float, stall: float, loading: str) -> None:
        self.key, self.speed, self.stall, self.loading = key, speed, stall, loading
        super().__init__(
            f"{key} {say.wind(speed):.3g} is below the stall speed of {say.wind(stall):.3g} ({loading})"
        )


def n_steps(wing: Wing) -> int:
    """How often `envelope` calls its `progress`."""
    return _STEPS_EACH * len(loadings_of(wing))


def envelope(
    wing: Wing,
    *,
    per_bay: int = 4,
    speeds: int = SPEEDS,
    progress: Callable[[str], None] = lambda what: None,
    session: Session | None = None,
) -> Envelope:
    """The envelope of a flying wing at every loading in its file.

    Parameters
    ----------
    wing : Wing
        With a planform; its `flight` says how it is flown.
    per_bay : int, default 4
        Elements along a bay.
    speeds : int
        At most so many speeds in the table, besides those with a name; at least 1.
    progress : callable
        Called with the name of each step as it begins, `n_steps` times.
    session : Session or None
        Of the wing, where there is one; its mesh is taken.

    Raises
    ------
    Heavy, models.loads.pull_up.LightAeroplane
        A flying mass, of a loading or of the case, is less than the wing's own.
    Slow
        The cruise or never-exceed speed is below the stall speed.
    fea.solve.Mechanism
        A part can move freely.
    """
    assert wing.planform is not None, "an envelope needs a flying wing"
    slope = slope_of(wing.planform)
    session = Session(wing, per_bay=per_bay) if session is None else session
    return Envelope(
        wing, tuple(_of_loading(session, slope, one, speeds, progress) for one in loadings_of(wing))
    )


def loadings_of(wing: Wing) -> tuple[Loading, ...]:
    """What the aeroplane may weigh: as in the file, with what is used up used up, and the file's loadings."""
    assert wing.flight is not None
    uses = any(m.empty is not None for m in wing.masses)
    used = (Loading("fuel used up", 0.0, (), used_up=True),) if uses else ()
    return (Loading("as in the file", 0.0, ()), *used, *wing.flight.loadings)


def loaded(wing: Wing, loading: Loading) -> Wing:
    """The wing with the masses of a loading. Without a flying mass of the loading's own, that of the file
    changes by what its masses change."""
    new = dict(loading.masses)

    def weighs(m: PointMass) -> float:
        return m.empty if loading.used_up and m.empty is not None else new.get(m.name, m.mass)

    masses = tuple(replace(m, mass=weighs(m)) for m in wing.masses)
    change = sum((a.mass - b.mass) * (2 if a.paired else 1) for a, b in zip(masses, wing.masses))
    flying = wing.case.flying_mass
    flying = loading.mass or (flying + change if flying else 0.0)
    return replace(wing, masses=masses, case=replace(wing.case, flying_mass=flying))


def _of_loading(
    session: Session, slope: float, loading: Loading, speeds: int, progress: Callable[[str], None]
) -> MassEnvelope:
    wing = session.wing
    plan, flight = wing.planform, wing.flight
    assert plan is not None
    assert flight is not None
    progress(f"{loading.name}: solving the wing")
    try:
        strength = Strength(loaded(wing, loading), session=session)
    except LightAeroplane as fault:
        if not loading.mass:
            raise
        raise Heavy(loading.name, fault) from None
    weight = strength.mass * GRAVITY / plan.area
    stall, stall_inverted = (
        float(stall_speed(weight, flight.air_density, most))
        for most in (flight.max_lift_coefficient, flight.max_lift_coefficient_inverted)
    )
    asked = wing.case.load_factor
    _, cruise, never_exceed = design_speeds(wing, stall)
    limits_given = (("never_exceed_speed", never_exceed), ("cruise_speed", cruise))
    for key, speed in limits_given if flight.never_exceed_speed else limits_given[::-1]:
        if speed < stall * (1 - 1e-9):
            raise Slow(key, speed, stall, loading.name)
    limits = ManoeuvreBounds(
        stall, stall_inverted, never_exceed, asked, flight.inverted_load_factor or INVERTED * asked
    )
    progress(f"{loading.name}: sheeting that bows, corners")
    strength.bow(cruise, limits)
    chord = plan.area / (2 * plan.semispan)

    def gust(speed: float, velocity: float) -> float:
        return float(of_gust(speed, velocity, weight, chord, slope, flight.air_density))

    corners = strength.hardest_bent(strength.settled(_corners(strength, limits, flight, cruise, gust)))
    progress(f"{loading.name}: limits by speed")
    harms, breaks = (strength.meets(limits, 1, harmless=h) for h in (True, False))
    named: dict[float, str] = {}
    for speed, word in (
        (stall, "stall"),
        (cruise, "cruise"),
        (limits.corners()[0][0], "corner"),
        (never_exceed, "never exceed"),
        *(((harms.speed, "full pull harms"),) if harms and harms.speed > stall else ()),
        *(((breaks.speed, "full pull breaks"),) if breaks and breaks.speed > stall else ()),
    ):
        named[speed] = f"{named[speed]}, {word}" if speed in named else word
    return MassEnvelope(
        loading.name,
        strength.mass,
        weight,
        slope,
        limits,
        cruise,
        tuple(
            AtSpeed(
                speed,
                named.get(speed, ""),
                float(most_by_lift(speed, stall)),
                float(most_by_lift(speed, stall_inverted)),
                strength.counted(speed, 1),
                strength.counted(speed, -1),
                strength.counted(speed, 1, harmless=True),
                strength.counted(speed, -1, harmless=True),
                gust(speed, flight.gust_velocity),
                gust(speed, -flight.gust_velocity),
            )
            for speed in _speeds(named, speeds)
        ),
        corners,
        min(corners, key=lambda corner: corner.least),
        harms,
        breaks,
        strength.meets(limits, -1),
        strength.bowed[1],
        strength.bowed[-1],
    )


def _speeds(named: dict[float, str], most: int) -> list[float]:
    """Named speeds and round ones between, in rising order, m/s; round ones next to a name are left out."""
    low, high = min(named), max(named)
    steps = (10**power * s for power in itertools.count() for s in _STEPS)
    step = next(s for s in steps if (high - low) * 3.6 / s <= most) / 3.6
    even = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    near = np.abs(even[:, None] - np.array(list(named))).min(axis=1)
    return sorted([*named, *even[near > 0.2 * step].tolist()])


def _corners(
    strength: Strength,
    limits: ManoeuvreBounds,
    flight: Flight,
    cruise: float,
    gust: Callable[[float, float], float],
) -> tuple[Corner, ...]:
    (fast, up), (slow, down) = limits.corners()
    found = [
        ("pull-up at the corner speed", fast, limits.up, up),
        ("pull-up at the never-exceed speed", limits.never_exceed, limits.up, up),
        ("push at the inverted corner speed", slow, -limits.down, down),
        ("push at the never-exceed speed", limits.never_exceed, -limits.down, down),
    ]
    for words, speed, velocity in (
        ("the cruise speed", cruise, flight.gust_velocity),
        ("the never-exceed speed", limits.never_exceed, flight.never_exceed_gust_velocity),
    ):
        for way, sign in (("up", 1), ("down", -1)):
            asked = gust(speed, sign * velocity)
            most = float(most_by_lift(speed, limits.stall if asked > 0 else limits.stall_inverted))
            found.append((f"{way}-gust at {words}", speed, asked, float(np.clip(asked, -most, most))))
    return tuple(strength.corner(*one) for one in found)


class _Whole(DamagedWing):
    """A wing whose sheeting may bow, of which nothing is lost."""

    def first_failure(self, guess: float | None = None) -> tuple[float, list[Margin], Analysis]:
        """Load factor at first failure with sheeting bowed as far as it is there, the reserves, and the wing
        there under the loads of its case; joints are left out. Looked for from a guess, or from where it
        fails with all sheeting whole."""
        guess = self.whole if guess is None and np.isfinite(self.whole) else guess
        return self.settle(lambda rows: rows[0].reserve_factor, guess)[:3]


_MODES = {mode.name: k for k, mode in enumerate(MODES)}


class _Used(NamedTuple):
    """A load factor, and the shares used there with all sheeting whole, as `Strength._at` has them."""

    ratio: float
    share: Array


class Strength:
    """The wing's strength at any speed and load factor, from two solves on one factor.

    Reserve factors are multiples of the whole load, so that all checks lie on one curve over load factor by
    speed squared; what was checked for one speed serves every other.

    Parameters
    ----------
    wing : Wing
        With the masses that it is flown with.
    per_bay : int, default 4
        Elements along a bay.
    session : Session or None
        Of the same wing with other masses, where there is one; its mesh is taken.

    Attributes
    ----------
    mass : float
        Flying mass, kg.
    bowed : dict of int to float
        Share of the load factor at first failure that sheeting which bows leaves, by sign of the load factor.

    What bows leaves each part and mode the share of its reserve that it leaves at loads of the same kind: at
    load factors over speed squared that were settled, and between them by its reciprocal.
    """

    def __init__(self, wing: Wing, *, per_bay: int = 4, session: Session | None = None) -> None:
        self._speed = wing.case.speed or 20.0
        self.wing = wing
        session = Session(wing, per_bay=per_bay) if session is None else session
        self._frame = frame = session.carrying(wing)
        one, two = (frame.flown(self._flown(self._speed, n)) for n in (1.0, 2.0))
        first, second = one.solution, two.solution
        # Loads are those of the lift, as the load factor, and of the section's moment, as the speed squared;
        # movements, and all that is recovered, are in proportion to them.
        moves = np.concatenate(
            [
                second.displacements - first.displacements,
                2 * first.displacements - second.displacements,
            ],
            axis=2,
        )
        self._moves, self._recovered = moves, recovered(frame.assembly, moves)
        of_lift, of_moment = second.loads - first.loads, 2 * first.loads - second.loads
        self._loads = np.concatenate([of_lift, of_moment], axis=2)
        # A millionth of the load is rounding; without a section moment every speed is alike.
        self.alike = bool(np.abs(of_moment).max() <= 1e-6 * np.abs(of_lift).max())
        self._one = one
        assert one.pull_up is not None
        self.mass = one.pull_up.flying_mass
        self.bowed: dict[int, float] = {}
        self._left: dict[int, tuple[Array, Array]] = {}
        self._known: dict[tuple[float, int, bool], float] = {}
        self._checked: dict[tuple[float, float], Least] = {}
        self._points: dict[float, Array] = {}
        self._worst: dict[tuple[float, int], tuple[float, float]] = {}
        self._shares: dict[tuple[int, int], float] = {}
        self._bent: dict[float, Strength | None] = {}
        self._leave({})

    def _flown(self, speed: float, load_factor: float) -> Wing:
        assert self.wing.flight is not None
        return replace(
            self.wing,
            case=replace(
                self.wing.case,
                speed=speed,
                load_factor=load_factor,
                air_density=self.wing.flight.air_density,
            ),
        )

    def analysis(self, speed: float, load_factor: float) -> Analysis:
        """What is recovered at a speed (m/s) and a load factor of either sign, with the loads, and nothing
        else: its pull-up and the rest of its solution are those of the first solve.
        """
        both = np.array([load_factor, (speed / self._speed) ** 2])
        solution = replace(self._one.solution, loads=(self._loads @ both)[:, :, None])
        figures = changed(self._recovered, lambda _, of: {what: value @ both for what, value in of.items()})
        model = replace(self._one.model, wing=self._flown(speed, load_factor))
        return replace(
            self._one, model=model, solution=solution, case=0, load_factor=load_factor, recovered=figures
        )

    def bow(self, speed: float, limits: ManoeuvreBounds) -> None:
        """Work out how much of the strength sheeting that bows leaves, upright and inverted."""
        self._leave({})
        if not self.wing.sheets:
            return
        found: dict[int, tuple[float, dict[float, Array]]] = {}
        for sign, n, corner in zip((1, -1), (limits.up, limits.down), limits.corners()):
            share, told = 1.0, dict[float, Array]()
            # First near the load at which it breaks with sheeting whole, then where it does bowed.
            fast = limits.never_exceed
            more = () if self.alike else (corner[0], (speed + fast) / 2, fast)
            for k, v in enumerate((speed, *more)):
                most = self.limit(v, sign)
                flown = sign * (share * most if 0 < most < np.inf else n)
                state = _Whole(self._flown(v, flown), frame=self._frame)
                if not np.isfinite(state.whole):
                    break
                failing, rows, _ = state.first_failure(flown if k else None)
                share = share if k else float(failing / state.whole)
                told[abs(self._ratio(v, flown))] = self._leaves(state.margins.rows, rows)
            if told:
                found[sign] = share, told
        self._leave(found)

    def _ratio(self, speed: float, load_factor: float) -> float:
        """Load factor at the reference speed of loads of the same kind: lift and the section's moment in the
        same ratio."""
        return load_factor * (self._speed / speed) ** 2

    def _leave(self, found: Mapping[int, tuple[float, Mapping[float, Array]]]) -> None:
        """Let sheeting that bows leave so much of the load factor, and at some ratios as of `_ratio`, without
        sign, of each mode and part; by sign of the load factor, all where there is none."""
        none = 1.0, {1.0: np.ones(len(_MODES) * len(self._frame.model.parts))}
        for sign in (1, -1):
            self.bowed[sign], told = found.get(sign, none)
            ratios = sorted(told, reverse=True)
            self._left[sign] = 1 / np.array(ratios), np.array([told[ratio] for ratio in ratios])
        for known in (self._known, self._bent, self._worst):
            known.clear()

    def _leaves_at(self, ratio: float, sign: int) -> Array:
        """Share of its reserve that sheeting which bows leaves each mode and part at a ratio as of `_ratio`,
        (n_modes n_parts,)."""
        at, left = self._left[sign]
        if len(at) == 1:
            return np.asarray(left[0])
        place = np.interp(1 / max(abs(ratio), _NEAR_ZERO), at, np.arange(len(at)))
        k = min(int(place), len(at) - 2)
        return np.asarray(left[k] + (place - k) * (left[k + 1] - left[k]))

    def _leaves(self, whole: Sequence[Margin], bowed: Sequence[Margin]) -> Array:
        """Share of its reserve that sheeting which bows leaves each mode and part, (n_modes n_parts,)."""
        number = {part: k for k, part in enumerate(self._frame.model.parts)}
        out = np.ones(len(_MODES) * len(number))
        for (mode, part), left in shares_left(whole, bowed).items():
            out[_MODES[mode] * len(number) + number[part]] = left
        return out

    def limit(self, speed: float, sign: int, *, harmless: bool = False) -> float:
        """Load factor at the end of the range that the structure bears at a speed, turned to be upright.
        `speed` in m/s; `sign` is 1 for the upright end, -1 for the inverted one, and the load factor comes
        times it: infinite where nothing fails, NaN where not even level flight is borne. `harmless`: up to
        the share of each strength that a proof test may use, instead of to the first failure."""
        key = (self._speed if self.alike else speed, sign, harmless)
        if key not in self._known and self.alike:
            used = self._used(float(sign), sign, harmless)
            self._known[key] = 1 / used if used > 0 else float("inf")
        if key not in self._known:
            share = (key[0] / self._speed) ** 2
            self._known[key] = sign * share * self._end(1 / share, sign, harmless=harmless)
        return self._known[key]

    def _end(self, target: float, sign: int, *, harmless: bool) -> float:
        """End of the range of load factors at the reference speed in which not more than `target` of the
        strength is used. What is used is convex in the load factor, of most parts straight."""
        most = max(self.wing.case.load_factor, 1.0)
        inside = self._bearable(target, sign, harmless=harmless)
        if inside is None:
            return float("nan")
        step = max(most * target, abs(inside))
        outside = min(
            (r for r in self._points if sign * (r - inside) > 0 and self._used(r, sign, harmless) > target),
            key=lambda r: sign * r,
            default=None,
        )
        while outside is None:
            if step > 1e6 * most * max(target, 1.0):
                return sign * float("inf")
            trial = inside + sign * step
            if self._used(trial, sign, harmless) > target:
                outside = trial
            else:
                inside, step = trial, 2 * step
        which = 1 if harmless else 0
        ends = _Used(inside, self._at(inside)), _Used(outside, self._at(outside))
        for tries in range(_MOST_TRIES):
            trial = self._crossing(*ends, target, which, sign)
            if tries % 3 == 2:  # a bent curve: one end alone would creep
                trial = (ends[0].ratio + ends[1].ratio) / 2
            at = self._between(trial, *ends, target, which, sign)
            used = float((at.share[which] / self._leaves_at(trial, sign)).max())
            if abs(used / target - 1) < _SETTLED:
                return trial
            ends = (at, ends[1]) if used < target else (ends[0], at)
        return ends[0].ratio

    def _crossing(self, one: _Used, other: _Used, target: float, which: int, sign: int) -> float:
        """Where the straight lines of all parts between two load factors first reach what sheeting that bows
        leaves of the target, from the one."""
        low, high, part = one.share[which], other.share[which], 1.0
        for _ in range(_CROSSINGS):
            ratio = one.ratio + (other.ratio - one.ratio) * part
            most = target * self._leaves_at(ratio, sign)
            rises = high > np.maximum(low, most)
            reached = (most - low)[rises] / (high - low)[rises]
            part = float(np.clip(np.min(reached, initial=1.0), 0.0, 1.0))
        return one.ratio + (other.ratio - one.ratio) * part

    def _between(self, ratio: float, one: _Used, other: _Used, target: float, which: int, sign: int) -> _Used:
        """What is used between two load factors, at the reference speed: of modes that may come near the
        target there; of others the straight line, above which a convex share does not come."""
        if ratio in self._points:
            return _Used(ratio, self._at(ratio))
        part = (ratio - one.ratio) / (other.ratio - one.ratio)
        share = (1 - part) * one.share + part * other.share
        of_mode = share.reshape(2, len(_MODES), -1)
        left = self._leaves_at(ratio, sign).reshape(len(_MODES), -1)
        near = (of_mode[which] >= _FAR_BELOW * target * left).any(axis=1)
        found = np.zeros(share.shape)
        names = {MODES[k].name for k in np.flatnonzero(near)}
        self._fill(found, self._least(self.analysis(self._speed, ratio), names))
        of_mode[:, near] = found.reshape(of_mode.shape)[:, near]
        return _Used(ratio, share)

    def _bearable(self, target: float, sign: int, *, harmless: bool) -> float | None:
        """A load factor at the reference speed that uses no more than `target` of the strength: of those that
        were looked at the nearest to the end that is wanted. None where neither flight without lift nor level
        flight does: what is borne beyond them is no range to fly in."""
        if all(self._used(ratio, sign, harmless) > target for ratio in (_NEAR_ZERO, target)):
            return None
        borne = (r for r in self._points if self._used(r, sign, harmless) <= target)
        return max(borne, key=lambda r: sign * r)

    def _rows(self, speed: float, load_factor: float) -> Least:
        """Reserves of all parts, the least first, as `_least`."""
        key = (self._speed if self.alike else speed, load_factor)
        if key not in self._checked:
            self._checked[key] = self._least(self.analysis(*key))
        return self._checked[key]

    def _least(self, at: Analysis, only: Set[str] | None = None) -> Least:
        """Reserves with all sheeting whole, of some modes or of all, joints among them."""
        found = every_finding(at, counted_only=True, only=only, build=self._frame.build)
        found = [one for one in found if not one.reason]
        if only is None or not only.isdisjoint((*JOINT, *JOINER)):
            found += joints(at, self._frame.build)
        return least(at.model, [one for one in found if only is None or one.mode in only])

    def _hardest(self, rows: Least, ratio: float, *, harmless: bool = False) -> tuple[float, Margin]:
        """Least reserve that sheeting which bows leaves at a ratio as of `_ratio`, or of it what a proof test
        may use, and whose."""
        left = rows.reserve * self._leaves_at(ratio, -1 if ratio < 0 else 1)[_places(rows)]
        left = left * self._share(rows) if harmless else left
        first = int(np.argmin(left))
        return float(left[first]), rows.margin(first)

    def _share(self, rows: Least) -> Array:
        """Share of its strength that a proof test may use of each."""
        keys = list(zip(rows.of_mode(_MODES).tolist(), rows.number.tolist()))
        for k, key in enumerate(keys):
            if key not in self._shares:
                row = rows.margin(k)
                self._shares[key] = share_for(self.wing, row).value
        return np.array([self._shares[key] for key in keys])

    def _at(self, ratio: float) -> Array:
        """Used share of the strength, and of what a proof test may use, of every part and mode at the
        reference speed with all sheeting whole, (2, n); 0 of what is not loaded."""
        if ratio not in self._points:
            rows = self._rows(self._speed, ratio)
            found = np.zeros((2, len(_MODES) * len(rows.model.parts)))
            self._fill(found, rows)
            self._points[ratio] = found
        return self._points[ratio]

    def _left_at(self, ratio: float, sign: int) -> Array:
        """The same with sheeting that bows."""
        return np.asarray(self._at(ratio) / self._leaves_at(ratio, sign))

    def _fill(self, share: Array, rows: Least) -> None:
        """Write what reserves leave used into an array of `_at`."""
        used = 1 / rows.reserve
        share[:, _places(rows)] = used, used / self._share(rows)

    def _used(self, ratio: float, sign: int, harmless: bool) -> float:
        """The worst part's share, sheeting bowed as at the end of the range of one sign."""
        if (ratio, sign) not in self._worst:
            worst = self._left_at(ratio, sign).max(axis=1)
            self._worst[ratio, sign] = float(worst[0]), float(worst[1])
        return self._worst[ratio, sign][1 if harmless else 0]

    def corner(self, name: str, speed: float, asked: float, load_factor: float) -> Corner:
        """A corner with its reserve factor.

        Parameters
        ----------
        name : str
            In words.
        speed : float
            m/s.
        asked, load_factor : float
            Asked for, and lifted.
        """
        sign = -1 if load_factor < 0 else 1
        size = max(abs(load_factor), _NEAR_ZERO)
        # Without a section moment the load only grows, and one check serves every load factor.
        checked = 1.0 if self.alike else size
        rows = self._rows(speed, sign * checked)
        if not len(rows.reserve):
            return Corner(name, speed, asked, load_factor, float("inf"), None)
        reserve, first = self._hardest(rows, self._ratio(speed, sign * checked))
        return Corner(name, speed, asked, load_factor, reserve * checked / size, first)

    def settled(self, corners: tuple[Corner, ...]) -> tuple[Corner, ...]:
        """Corners with the hardest solved and checked on its own, until the hardest is one that was."""
        found, done = list(corners), set()
        while True:
            k = min(range(len(found)), key=lambda k: found[k].reserve)
            if k in done or found[k].margin is None:
                return tuple(found)
            found[k] = self._solved(found[k])
            done.add(k)

    def _solved(self, corner: Corner) -> Corner:
        """A corner from its own solve, with sheeting bowed as far as it is there and not by a share."""
        flown = self._flown(corner.speed, corner.load_factor)
        if self.alike or not self.wing.sheets:  # loads that only grow bow the same sheeting alike
            at = self._frame.flown(flown)
            reserve, first = self._hardest(self._least(at), self._ratio(corner.speed, corner.load_factor))
        else:
            n, margins, at = _Whole(flown, frame=self._frame).first_failure()
            first, reserve = margins[0], n / corner.load_factor
            held = least(at.model, joints(at, self._frame.build))
            if len(held.reserve) and held.reserve[0] < reserve:
                first, reserve = held.margin(0), float(held.reserve[0])
        return replace(corner, reserve=reserve, margin=first)

    @cached_property
    def influence(self) -> Influence:
        """How the wing twists in its own air."""
        return influence_of(self._one, self._frame.factor)

    def bent(self, corners: tuple[Corner, ...]) -> tuple[Corner, ...]:
        """Corners with the reserves that they have with the lift where the bent wing puts it.

        By the ratio of two checks; what bows leaves each part the same share in both."""
        assert self.wing.flight is not None
        found = []
        for one in corners:
            pressure = self.wing.flight.air_density * one.speed**2
            at = replace(one, ends=one.speed * self.influence.ends("trim", pressure))
            n = np.copysign(max(abs(one.load_factor), _NEAR_ZERO), one.load_factor)
            built = self.analysis(one.speed, float(n))
            moves = self._moves @ np.array([float(n), (one.speed / self._speed) ** 2])[:, None]
            more = self.influence.bent("trim", pressure, self.influence.twist(moves)[:, 0])
            before = self._least(built)
            if more is not None and len(before.reserve) and one.margin is not None:
                added = free_body(self._frame.factor, Loads(more.nodal))
                figures = recovered(self._frame.assembly, (moves + added.displacements)[:, :, 0])
                loaded = replace(built.solution, loads=built.solution.loads + added.loads)
                rows = self._least(replace(built, solution=loaded, recovered=figures))
                kind = self._ratio(one.speed, float(n))
                reserve, first = self._hardest(rows, kind)
                grown = reserve / self._hardest(before, kind)[0]
                at = replace(at, bent=one.reserve * grown, bent_margin=first)
            found.append(at)
        return tuple(found)

    def hardest_bent(self, corners: tuple[Corner, ...]) -> tuple[Corner, ...]:
        """As `bent`, the hardest by either load solved on its own."""
        found, done = list(self.bent(corners)), set()
        while True:
            k = min(range(len(found)), key=lambda k: found[k].least)
            # The hardest as built is solved already.
            if k in done or found[k].margin is None or not found[k].counts_bent:
                return tuple(found)
            found[k] = self.bent((self._solved(found[k]),))[0]
            done.add(k)

    def counted(self, speed: float, sign: int, *, harmless: bool = False) -> float:
        """As `limit`, by the harder of lift as built and of the bent wing at that speed."""
        bent, built = self.of_bent(speed), self.limit(speed, sign, harmless=harmless)
        # Where either bears no load factor at all the wing bears none: NaN is kept.
        return built if bent is None else float(np.minimum(built, bent.limit(speed, sign, harmless=harmless)))

    def of_bent(self, speed: float) -> Strength | None:
        """The same with the lift where the bent and twisted wing puts it at a speed, m/s; None where nothing
        is told of that.

        What its twist adds is linear in the movements: it goes onto those of the lift and those of the
        section's moment alike.
        """
        if speed not in self._bent:
            self._bent[speed] = self._of_bent(speed)
        return self._bent[speed]

    def _of_bent(self, speed: float) -> Strength | None:
        assert self.wing.flight is not None
        pressure, moves = self.wing.flight.air_density * speed**2, self._moves
        more = [self.influence.bent("trim", pressure, twist) for twist in self.influence.twist(moves).T]
        nodal = [one.nodal for one in more if one is not None]
        if len(nodal) < len(more):
            return None
        other = copy(self)
        added = free_body(self._frame.factor, Loads(np.concatenate(nodal, axis=2)))
        other._moves, other._loads = moves + added.displacements, self._loads + added.loads
        other._recovered = recovered(self._frame.assembly, other._moves)
        other._known, other._checked, other._points, other._worst = {}, {}, {}, {}
        return other

    def meets(self, limits: ManoeuvreBounds, sign: int, *, harmless: bool = False) -> Meets | None:
        """Where the greatest lift meets what the structure bears, by the harder of lift as built and of the
        bent wing; None where not below never-exceed. `sign` is 1 for the pull upright, -1 for the push;
        `harmless` as in `limit`.

        Lift as built and the section's moment both grow as the speed squared, so that one check says it; of
        the bent wing it is found step by step."""
        stall = limits.stall if sign > 0 else limits.stall_inverted
        rows = self._rows(stall, float(sign))
        if not len(rows.reserve):
            return None
        n, first = self._hardest(rows, self._ratio(stall, float(sign)), harmless=harmless)
        found = Meets(float(corner_speed(stall, n)), n, first)
        most = min(found.speed, limits.never_exceed)

        def left(speed: float) -> float:
            """What it bears over what is lifted; nothing where the section's moment alone is too much."""
            bears = self.counted(speed, sign, harmless=harmless)
            return float(np.nan_to_num(bears) - most_by_lift(speed, stall))

        if (bent := self.of_bent(most)) is not None and left(most) < -_MET * n and left(stall) > 0:
            speed = float(brentq(left, stall, most, rtol=_MET))
            n = float(most_by_lift(speed, stall))
            bent = self.of_bent(speed) or bent
            rows = bent._rows(speed, sign * n)
            kind = self._ratio(speed, sign * n)
            found = Meets(speed, n, bent._hardest(rows, kind, harmless=harmless)[1])
        return found if found.speed < limits.never_exceed else None


def _places(rows: Least) -> Ints:
    """Where what is told of modes and parts stands in arrays of all, (n,)."""
    return np.asarray(rows.of_mode(_MODES) * len(rows.model.parts) + rows.number)


def sentences(found: Envelope) -> list[str]:
    """The answer in words: what may be pulled, what sets the limit, what breaks, what gusts ask, the hardest
    corner; of the loading with the hardest corner in full, of the others in one sentence each."""
    worst = found.worst
    whom = f"{_whom(worst)}: the wing" if len(found.masses) > 1 else "The wing"
    said = [
        f"{whom} stalls at {kmh(worst.stall_speed)}; {gees(worst.limits.corners()[0][1])} g can be lifted "
        f"from the corner speed of {kmh(worst.corner_speed)} on.",
        *not_flown(found),
        *([found.speed.sentence] if found.speed is not None and found.speed.sentence else []),
        *beyond_words(found.speed, worst),
        _of_speed(worst),
        "At each speed lift alone grows until something breaks, by the harder of lift as built and lift "
        "where the bent wing puts it; `sparbay check` lets the speed grow with the load, and as built its "
        "failing load is the one here at the speed that it tells.",
        *_of_full_pull(worst),
        _of_gusts(worst, found.wing),
    ]
    corner = worst.critical
    words = (
        f"Hardest on the structure is the {corner.name}, {gees(corner.load_factor)} g at {kmh(corner.speed)}"
    )
    if corner.margin is None:
        said.append(f"{words}: nothing is loaded there.")
    else:
        assert corner.weakest is not None
        fate = "survives" if corner.least >= 1 else "fails"
        said.append(f"{words}: the wing {fate} it, reserve factor {rounded_down(corner.least)}, weakest "
                    f"{_weakest(corner.weakest)}{_also_bent(worst)}.")  # fmt: skip
    said += _of_bent(worst)
    for one in found.masses:
        if one is not worst:
            said.append(
                f"{_whom(one)}: it stalls at {kmh(one.stall_speed)}, may pull {_pull(one.at_cruise)} at "
                f"{kmh(one.cruise)}, and has reserve factor {rounded_down(one.critical.least)} in the "
                f"{one.critical.name}."
            )
    return said


def _also_bent(one: MassEnvelope) -> str:
    """What the lesser load leaves at the hardest corner, as the end of a sentence."""
    corner = one.critical
    if corner.counts_bent:
        return f", with its lift where the bent wing puts it; as built {rounded_down(corner.reserve)}"
    if corner.bent is not None:
        return (
            f", with its lift as built; {rounded_down(corner.bent)} where the bent wing puts it, a relief "
            "that is not counted"
        )
    return f"; near {kmh(corner.ends)} it twists off, or as fast as it is trimmed: counted as built"


def _of_bent(one: MassEnvelope) -> list[str]:
    """Which corners lie too near where the wing twists off for the bent wing to be known."""
    near = [c for c in one.corners if c.speed >= TOO_NEAR * c.ends and c.margin is not None]
    if not near or one.critical.bent is None:
        return []
    slowest = min(near, key=lambda c: c.speed)
    count = "as built" if slowest.bent is None else "its twist as of nine tenths of that speed"
    return [
        f"At {kmh(slowest.speed)} and beyond corners count {count}: near {kmh(slowest.ends)} the wing "
        "twists off, or as fast as it is trimmed."
    ]


def not_flown(found: Envelope) -> list[str]:
    """Words on a pull-up of the file that the wing cannot lift at its speed; none where it can."""
    case, worst = found.wing.case, found.worst
    lifts = float(most_by_lift(case.speed, worst.stall_speed))
    if not case.speed or lifts >= case.load_factor * (1 - 1e-9):
        return []
    return [
        f"The pull-up in the file, {gees(case.load_factor)} g at {kmh(case.speed)}, cannot be flown: the "
        f"wing stalls at {gees(lifts)} g there."
    ]


def beyond_words(speed: Limit | None, one: MassEnvelope) -> list[str]:
    """That a never-exceed speed lies beyond the advised one; nothing where it does not."""
    never = one.limits.never_exceed
    if speed is None or never <= speed.advised * (1 + 1e-9):
        return []
    return [
        f"The never-exceed speed here, {kmh(never)}, lies beyond the {say.speed.at_most(speed.advised)} that "
        "are advised."
    ]


def _whom(one: MassEnvelope) -> str:
    return f"{one.name[:1].upper()}{one.name[1:]}, {mass_beside_gees(one.mass)}"


def _weakest(margin: Margin) -> str:
    return f"{margin.part.name_without_side} ({margin.mode})"


def _pull(row: AtSpeed) -> str:
    return f"{gees(row.safe)} g" if row.safe > 1 else "nothing without harm"


def _of_speed(one: MassEnvelope) -> str:
    row = one.at_cruise
    breaks = f"breaks at {gees(row.fails)} g"
    breaks = breaks if row.fails > 0 else "does not even bear level flight"
    breaks = "bears any load" if np.isinf(row.fails) else breaks
    words = f"it stalls at {gees(row.lift)} g and {breaks}"
    if row.safe > 1:
        return (
            f"At {kmh(row.speed)} you may pull {gees(row.safe)} g, a loop of {say.span(row.radius):.3g} "
            f"radius; {words}."
        )
    return f"At {kmh(row.speed)} no pull-up is without harm; {words}."


def _of_full_pull(one: MassEnvelope) -> list[str]:
    last = kmh(one.limits.never_exceed)
    if one.harms is None:
        return [f"Up to the never-exceed speed of {last} the stall, not the wing, sets the limit."]
    said = [
        f"Above {kmh(one.harms.speed)} the wing, not the stall, sets the limit: without harm "
        f"{gees(one.harms.load_factor)} g there, by {_weakest(one.harms.margin)}."
        if one.harms.load_factor >= 1
        else f"Level flight harms it: without harm it bears {_bears(one.harms.load_factor)}, by "
        f"{_weakest(one.harms.margin)}."
    ]
    if one.breaks is None:
        return [
            *said,
            f"Up to the never-exceed speed of {last} a full pull stalls the wing before it breaks.",
        ]
    if one.breaks.load_factor < 1:
        return [
            f"Level flight breaks it: it bears {_bears(one.breaks.load_factor)}, by "
            f"{_weakest(one.breaks.margin)}."
        ]
    return [
        *said,
        f"Above {kmh(one.breaks.speed)} a full pull breaks it, at {gees(one.breaks.load_factor)} g: "
        f"{_weakest(one.breaks.margin)}.",
    ]


def _bears(load_factor: float) -> str:
    """A load factor below 1, so that it is never told as 1.0."""
    return f"{rounded_down(load_factor)} g"


def _of_gusts(one: MassEnvelope, wing: Wing) -> str:
    assert wing.flight is not None
    gust = f"{say.wind(wing.flight.gust_velocity):.3g}"
    row = one.at_cruise
    words = f"A gust of {gust} at {kmh(one.cruise)} asks {gees(row.gust_up)} g from below"
    words += f" and {gees(row.gust_down)} g from above"
    stalls = row.gust_up > row.lift or -row.gust_down > row.lift_inverted
    return f"{words}{', more than the wing can lift: it stalls' if stalls else ''}."
