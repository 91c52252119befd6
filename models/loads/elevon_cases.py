"""Elevons or ailerons thrown to their stops: a roll begun, a steady roll, and a pitch begun and checked.

A roll is flown at two thirds of the load factor (14 CFR 23.349(b), from memory) at full deflection, all of it
at once (14 CFR 23.455(a)(2)(i), looked up). Begun, the inertia of wing and body in roll balances the
ailerons; steady, the damping of the turning wing does, and a roll stopped is a roll begun the other way. In
pitch the lift is kept and the elevons' moment turns the aeroplane: up at 1 g to begin, down in the full
pull-up to check it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.loads.cases import CaseLoads, Situation
from models.loads.elevons import FlapLift, flap_lift, moment_pieces, pieces
from models.wing.parts import Elevons

Array = NDArray[np.float64]

ROLL_SHARE = 2 / 3
"""Load factor in a roll over that of the pull-up where the file gives none: 14 CFR 23.349(b), from memory."""
_SIDE = {1: "starboard", -1: "port"}


def cases(situation: Situation) -> tuple[CaseLoads, ...]:
    """Cases of the elevons in the file; none without.

    Parameters
    ----------
    situation : Situation
        Of a model of both sides.

    Returns
    -------
    tuple of CaseLoads
    """
    elevons = situation.model.wing.elevons
    if elevons is None:
        return ()
    speed = elevons.speed or situation.speed
    flap = flap_lift(situation.planform, elevons)
    found: list[CaseLoads] = []
    if "roll" in elevons.acts:
        found += _roll(situation, elevons, flap, speed)
    if "pitch" in elevons.acts:
        found += _pitch(situation, elevons, flap, speed)
    return tuple(found)


def _roll(situation: Situation, elevons: Elevons, flap: FlapLift, speed: float) -> list[CaseLoads]:
    n = elevons.load_factor
    n = ROLL_SHARE * situation.flight.load_factor if np.isnan(n) else n
    level = situation.lifted(n, speed)
    begun = thrown(situation, elevons, flap, flap.roll, speed, -1.0)
    steady = thrown(situation, elevons, flap, flap.roll - flap.helix * flap.damping, speed, -1.0)
    # The damped load is per radian of deflection too, since the helix angle is.
    turn = flap.helix * elevons.deflection * speed / situation.planform.semispan
    what = f"{n:.1f} g, {np.degrees(elevons.deflection):.0f} deg at {3.6 * speed:.0f} km/h"
    found = []
    for side in situation.sides:
        down = f"{_SIDE[side]} {'aileron' if elevons.acts == 'roll' else 'elevon'} down"
        found += [
            CaseLoads(f"roll begun ({down})", "flight", what, True, level + side * begun, n),
            CaseLoads(
                f"steady roll ({down})",
                "flight",
                f"{what}, turning {np.degrees(turn):.0f} deg/s",
                True,
                level + side * steady,
                n,
            ),
        ]
    return found


def _pitch(situation: Situation, elevons: Elevons, flap: FlapLift, speed: float) -> list[CaseLoads]:
    n = situation.flight.load_factor
    down = thrown(situation, elevons, flap, flap.pitch, speed, 1.0)
    what = f"{np.degrees(elevons.deflection):.0f} deg at {3.6 * speed:.0f} km/h"
    found = []
    for way, factor, sign in (("up", 1.0, -1), ("down", n, 1)):
        # From where the elevons stand in trim to their stop.
        share = sign - situation.flown(factor, speed).elevon / elevons.deflection
        found.append(
            CaseLoads(
                f"elevons {way}",
                "flight",
                f"{factor:.1f} g, both {way} {what}",
                True,
                situation.lifted(factor, speed) + share * down,
                factor,
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
