"""Launch: on tow or winch, by a bungee, by hand, and a motor at full thrust on its bulkhead.

On the line the wing lifts what it weighs and what the line pulls down, and is trimmed; what the line pulls
forward speeds everything up. From a stand (bungee, hand, motor) the wing does not lift yet: the hand or the
ramp bears the centre section, and the push forward is balanced by inertia.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.loads.body import on_centre
from models.loads.cases import CaseLoads, Situation
from models.loads.landing import carriers
from models.wing.parts import Launch


def cases(situation: Situation) -> tuple[CaseLoads, ...]:
    """Cases of the launch in the file; none without."""
    launch = situation.model.wing.launch
    if launch is None:
        return ()
    found = []
    if launch.tow_tension:
        found.append(_tow(situation, launch))
    if launch.bungee_tension:
        found.append(_bungee(situation, launch))
    if launch.hand_push:
        push = launch.hand_push * situation.weight
        acts = f"{launch.hand_push:g} W forward at the grip, which bears 1 W"
        put = partial(_at, situation, situation.body.at, (-push, 0.0, situation.weight))
        found.append(CaseLoads("hand launch", "launch", acts, True, put))
    if launch.motor:
        found.append(_motor(situation, launch))
    return tuple(found)


def _at(situation: Situation, place: Array, force: tuple[float, float, float]) -> Array:
    """A force on the centre section, its line of action through a place."""
    pull = np.array(force)
    return on_centre(situation.model, np.concatenate([pull, np.cross(place, pull)]), situation.body.at)


def hook(situation: Situation, launch: Launch) -> Array:
    """Place of the hook, (3,), m."""
    given = np.array([launch.hook_x, 0.0, launch.hook_z])
    return np.where(np.isnan(given), situation.body.at, given)


def _tow(situation: Situation, launch: Launch) -> CaseLoads:
    ahead, down = launch.tow_tension * np.cos(launch.tow_angle), launch.tow_tension * np.sin(launch.tow_angle)
    n = launch.tow_load_factor + down / situation.weight

    def put() -> Array:
        place, centre = hook(situation, launch), situation.centre
        nose_up = float(np.cross(place - centre, [-ahead, 0.0, -down])[1])
        pulled = _at(situation, place, (-ahead, 0.0, -down))
        return situation.lifted(n) + pulled + situation.trimming(-nose_up)

    acts = (
        f"line pulls {say.force(launch.tow_tension):.3g}, {np.degrees(launch.tow_angle):.0f} deg down; "
        f"the wing lifts {n:.1f} W, trimmed"
    )
    return CaseLoads("tow or winch", "launch", acts, False, put, n)


def _bungee(situation: Situation, launch: Launch) -> CaseLoads:
    ahead = launch.bungee_tension * np.cos(launch.bungee_angle)
    down = launch.bungee_tension * np.sin(launch.bungee_angle)

    def put() -> Array:
        pulled = _at(situation, hook(situation, launch), (-ahead, 0.0, -down))
        return pulled + _at(situation, situation.body.at, (0.0, 0.0, situation.weight + down))

    angle = np.degrees(launch.bungee_angle)
    acts = f"bungee pulls {say.force(launch.bungee_tension):.3g}, {angle:.0f} deg down; from a stand"
    return CaseLoads("bungee", "launch", acts, False, put)


def _motor(situation: Situation, launch: Launch) -> CaseLoads:
    def put() -> Array:
        nodes, share, arms, places = carriers(situation.model, launch.motor)
        count = len(np.unique(np.round(places, 9), axis=0))
        thrust = np.array([-launch.motor_thrust, 0.0, 0.0])
        # Clockwise seen from behind: the propeller turns the aeroplane to port.
        torque = np.array([launch.motor_torque, 0.0, 0.0])
        nodal = situation.nothing()
        np.add.at(nodal[:, :3, 0], nodes, share[:, None] * thrust)
        np.add.at(nodal[:, 3:, 0], nodes, share[:, None] * (torque + np.cross(arms, thrust)))
        held = np.array([0.0, 0.0, situation.weight, -count * launch.motor_torque, 0.0, 0.0])
        at = situation.body.at
        held[3:] += np.cross(at, held[:3])
        return nodal + on_centre(situation.model, held, at)

    acts = (
        f"thrust {say.force(launch.motor_thrust):.3g}, torque {say.moment(launch.motor_torque):.2g}; wing "
        "level in the hand"
    )
    return CaseLoads("motor at full thrust", "launch", acts, False, put)
