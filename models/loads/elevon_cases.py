"""Elevons or ailerons thrown: a roll begun, a steady roll, a pitch begun and checked, and what servos hold.

Full deflection comes at the manoeuvring speed (14 CFR 23.455(a)(2)(i)); above it, at the cruise speed, as
much as gives the same rate of roll (ii), which goes as the deflection times the speed; at the never-exceed
speed a third of the deflection: the rule asks for a third of the rate (iii), which is less (looked up). A
roll is flown at two thirds of the load factor (14 CFR 23.349(b), from memory), all of the deflection at once.
Begun, the inertia of wing and body in roll balances the ailerons; steady, the damping of the turning wing
does, and a roll stopped is a roll begun the other way. In pitch the lift is kept and the elevons' moment
turns the aeroplane: up at 1 g to begin, down in the full pull-up to check it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, partial

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.loads.cases import CaseLoads, Situation
from models.loads.elevons import FlapLift, flap_lift, hinge_moment, moment_pieces, pieces
from models.loads.envelope import design_speeds, stall_speed
from models.loads.pull_up import span_loading
from models.rounding import gees
from models.wing.parts import Elevons

ROLL_SHARE = 2 / 3
"""Load factor in a roll over that of the pull-up where the file gives none: 14 CFR 23.349(b), from memory."""
THIRD = 1 / 3
"""Share of the deflection at the never-exceed speed."""
_SIDE = {1: "starboard", -1: "port"}


@dataclass(frozen=True)
class Throw:
    """How far elevons are thrown at a speed: words for a name, m/s, share of the deflection."""

    words: str
    speed: float
    share: float


def throws(situation: Situation) -> tuple[Throw, ...]:
    """Full at the manoeuvring speed, and less above it; from the slowest to the fastest."""
    wing = situation.model.wing
    assert wing.elevons is not None
    assert wing.flight is not None
    loading = situation.weight / situation.planform.area
    stall = float(stall_speed(loading, wing.flight.air_density, wing.flight.max_lift_coefficient))
    full, cruise, never_exceed = design_speeds(wing, stall)
    full = wing.elevons.speed or min(full, never_exceed)
    found = [Throw("", full, 1.0)]
    if full < cruise < never_exceed:
        found.append(Throw(" at the cruise speed", cruise, full / cruise))
    if full < never_exceed:
        found.append(Throw(" at the never-exceed speed", never_exceed, THIRD))
    return tuple(found)


def cases(situation: Situation) -> tuple[CaseLoads, ...]:
    """Cases of the elevons in the file; none without."""
    elevons = situation.model.wing.elevons
    if elevons is None:
        return ()
    flap = flap_lift(situation.planform, elevons)
    found: list[CaseLoads] = []
    for throw in throws(situation):
        if "roll" in elevons.acts:
            found += _roll(situation, elevons, flap, throw)
        if "pitch" in elevons.acts and "cruise" not in throw.words:
            found += _pitch(situation, elevons, flap, throw)
    return tuple(found)


def _roll_load_factor(situation: Situation, elevons: Elevons) -> float:
    n = elevons.load_factor
    return ROLL_SHARE * situation.flight.load_factor if np.isnan(n) else n


def _what(elevons: Elevons, throw: Throw) -> str:
    return f"{np.degrees(throw.share * elevons.deflection):.0f} deg at {say.speed(throw.speed):.0f}"


def _roll(situation: Situation, elevons: Elevons, flap: FlapLift, throw: Throw) -> list[CaseLoads]:
    n, speed = _roll_load_factor(situation, elevons), throw.speed
    level = cache(lambda: situation.lifted(n, speed))

    @cache
    def turned(damped: bool) -> Array:
        load = flap.roll - flap.helix * flap.damping if damped else flap.roll
        return throw.share * thrown(situation, elevons, flap, load, speed, -1.0)

    def to(side: int, damped: bool) -> Array:
        return level() + side * turned(damped)

    # The damped load is per radian of deflection too, since the helix angle is.
    turn = flap.helix * throw.share * elevons.deflection * speed / situation.planform.semispan
    what = f"{gees(n)} g, {_what(elevons, throw)}"
    found = []
    for side in situation.sides:
        down = f"{throw.words} ({_SIDE[side]} {'aileron' if elevons.acts == 'roll' else 'elevon'} down)"
        found += [
            CaseLoads(
                f"roll begun{down}",
                "flight",
                what,
                True,
                partial(to, side, False),
                n,
                speed=speed,
                keeps="roll begun",
            ),
            CaseLoads(
                f"steady roll{down}",
                "flight",
                f"{what}, turning {np.degrees(turn):.0f} deg/s",
                True,
                partial(to, side, True),
                n,
                speed=speed,
                keeps="steady roll",
            ),
        ]
    return found


def _pitch(situation: Situation, elevons: Elevons, flap: FlapLift, throw: Throw) -> list[CaseLoads]:
    n, speed = situation.flight.load_factor, throw.speed
    down = cache(lambda: thrown(situation, elevons, flap, flap.pitch, speed, 1.0))

    def to(factor: float, sign: int) -> Array:
        # From where the elevons stand in trim to their stop, or as far as they are thrown.
        share = sign * throw.share - situation.flown(factor, speed).elevon / elevons.deflection
        return situation.lifted(factor, speed) + share * down()

    what = _what(elevons, throw)
    found = []
    for way, factor, sign in (("up", 1.0, -1), ("down", n, 1)):
        found.append(
            CaseLoads(
                f"elevons {way}{throw.words}",
                "flight",
                f"{gees(factor)} g, both {way} {what}",
                True,
                partial(to, factor, sign),
                factor,
                speed=speed,
                keeps="lift",
            )
        )
    return found


def thrown(
    situation: Situation, elevons: Elevons, flap: FlapLift, load: Array, speed: float, mirror: float
) -> Array:
    """Loads of elevons at their largest deflection, beyond those of the wing without.

    Parameters
    ----------
    situation : Situation
        Of a model of both sides.
    elevons : Elevons
        Where they are, how far they go.
    flap : FlapLift
        From `models.loads.elevons.flap_lift`.
    load : (n_strips,) float array
        c c_l per radian of deflection along the starboard side, m.
    speed : float
        m/s.
    mirror : float
        1 where both go down, -1 where port goes up.

    Returns
    -------
    (n_nodes, 6, 1) float array
        N and N m.
    """
    pressure = 0.5 * situation.model.wing.case.air_density * speed**2
    size = pressure * elevons.deflection
    stations = situation.model.y[situation.ribs]
    y, amount = pieces(flap, load, stations, mirror)
    at, turn = moment_pieces(situation.planform, elevons, stations, mirror)
    return situation.on_ribs((y, size * amount), (at, size * turn))


@dataclass(frozen=True)
class Servo:
    """What a servo has to hold at worst.

    Parameters
    ----------
    hinge_moment : float
        At the hinge of one side, N m, trailing edge down.
    torque : float
        At the servo, N m, without sign.
    speed, angle, load_factor : float
        There, m/s, rad (trailing edge down) and n.
    """

    hinge_moment: float
    torque: float
    speed: float
    angle: float
    load_factor: float


def servo(situation: Situation) -> Servo | None:
    """The hardest hinge moment of one elevon or aileron; None without.

    Of every throw in roll (down and up, at the load factor of a roll) and, of elevons, in the pull-up; from
    trim. Thin-aerofoil theory, no gap and no balance ahead of the hinge: on the hard side.
    """
    wing, plan = situation.model.wing, situation.planform
    elevons = wing.elevons
    if elevons is None:
        return None
    flap = flap_lift(plan, elevons)
    found = []
    n_roll = _roll_load_factor(situation, elevons) if "roll" in elevons.acts else situation.flight.load_factor
    for throw in throws(situation):
        flight = situation.flown(n_roll, throw.speed)
        case = wing.case
        pressure = 0.5 * case.air_density * throw.speed**2
        loading = span_loading(plan, case, flight.lift / (pressure * plan.area))
        level = loading.per_length(flap.y, flight.lift) / pressure + flight.elevon * flap.pitch
        for way in (1, -1):
            own = way * throw.share * elevons.deflection
            load = level + own * (flap.roll if "roll" in elevons.acts else flap.pitch)
            moment = pressure * hinge_moment(plan, elevons, flap.y, load, flap.width, flight.elevon + own)
            found.append(
                Servo(moment, abs(moment) * elevons.linkage, throw.speed, flight.elevon + own, n_roll)
            )
    return max(found, key=lambda one: one.torque)


def servo_words(found: Servo, elevons: Elevons) -> str:
    """What the servo must hold, in a sentence, in kg cm or in ozf as servos are sold."""
    said = (
        f"Each servo needs {say.servo_moment(found.torque):.2g} at its horn, with {gees(found.load_factor)} "
        f"g, {np.degrees(abs(found.angle)):.0f} deg {'down' if found.angle > 0 else 'up'} at "
        f"{say.speed(found.speed):.0f} (hinge moment {say.moment(abs(found.hinge_moment)):.3g}"
    )
    said += ")" if elevons.linkage == 1 else f", linkage {elevons.linkage:.3g})"
    if np.isnan(elevons.servo_torque):
        return f"{said}."
    fate = "it has" if elevons.servo_torque >= found.torque else "too much: it has"
    return f"{said}; {fate} {say.servo_moment(elevons.servo_torque):.2g}."
