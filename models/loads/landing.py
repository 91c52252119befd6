"""Landing: a wing tip strikes, the belly comes down, or the undercarriage's legs push on their blocks.

The ground pushes up by a stated multiple of the weight and aft by friction; the wing still lifts a share of
the weight (14 CFR 23.473(e) lets two thirds of it be counted, from memory), and all else is inertia. One leg
pushes as it does when all land (14 CFR 23.483, looked up). A tip may be given a speed and a way to stop in
instead: an even push that takes the speed of the mass which the aeroplane, as a free rigid body, sets
against a push at its tip.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial

import numpy as np

from fea.arrays import Array, Ints
from fea.elements.mass import Masses
from models.loads.body import on_centre, wing_inertia
from models.loads.cases import CaseLoads, Situation
from models.loads.pull_up import pressed_on_ribs, rib_nodes
from models.structure.model import Model

_SIDE = {1: "starboard", -1: "port"}


def cases(situation: Situation) -> tuple[CaseLoads, ...]:
    """Tip strike, belly landing and, where the file names legs, landings on them; none whose push is 0."""
    landing = situation.landing
    lift = cache(lambda: situation.lifted(landing.lift))
    found = []
    if landing.tip_force or landing.tip_speed:
        found += [_tip(situation, lift, side) for side in situation.sides]
    if landing.belly_load_factor:
        found.append(_belly(situation, lift))
    return (*found, *_legs(situation, lift))


def _acts(situation: Situation, push: str, friction: float) -> str:
    return f"{push}, {friction:g} of it aft; the wing lifts {situation.landing.lift:.2f} W"


def _tip(situation: Situation, lift: Callable[[], Array], side: int) -> CaseLoads:
    landing, model = situation.landing, situation.model
    push = tip_push(situation, side)

    def put() -> Array:
        j = int(situation.ribs[-1 if side > 0 else 0])
        nodal = situation.nothing()
        line = tip_place(situation, side)[:1]
        pressed_on_ribs(model, np.array([j]), np.array([push]), np.zeros(1), line, np.zeros(1), nodal)
        nodes, _, share = rib_nodes(model, j)
        np.add.at(nodal[:, 0, 0], nodes, landing.tip_friction * push * share)
        return lift() + nodal

    acts = _acts(situation, f"{push / situation.weight:.2f} W up", landing.tip_friction)
    return CaseLoads(f"tip strike ({_SIDE[side]})", "landing", acts, True, put)


def tip_place(situation: Situation, side: int) -> Array:
    """Where the ground strikes the outermost rib of a side (1 or -1), (3,), m."""
    y = float(situation.model.y[situation.ribs[-1 if side > 0 else 0]])
    plan = situation.planform
    x = plan.leading_edge_x.at(abs(y)) + situation.landing.tip_at * plan.chord.at(abs(y))
    return np.array([float(x), y, float(plan.leading_edge_z.at(abs(y)))])


def tip_push(situation: Situation, side: int) -> float:
    """Upward push of the ground on a tip, N."""
    landing = situation.landing
    if landing.tip_speed <= 0:
        return landing.tip_force * situation.weight
    return tip_mass(situation, side) * landing.tip_speed**2 / (2 * landing.tip_stop)


def tip_mass(situation: Situation, side: int) -> float:
    """Mass that the aeroplane sets against the ground's push at a tip (side 1 starboard, -1 port), kg:
    push over the tip's upward acceleration, friction that goes with the push counted.

    References
    ----------
    Rigid body under an eccentric push, 1/m' = 1/m + r^2/J in the plane: any book of dynamics, from memory.
    """
    inertia = wing_inertia(situation.model, situation.assembly) + situation.body.inertia()
    place = tip_place(situation, side)
    push = np.array([situation.landing.tip_friction, 0.0, 1.0])
    wrench = np.concatenate([push, np.cross(place, push)])
    upward = np.array([0.0, 0.0, 1.0])
    at_tip = np.concatenate([upward, np.cross(place, upward)])
    return 1 / float(at_tip @ np.linalg.solve(inertia, wrench))


def _belly(situation: Situation, lift: Callable[[], Array]) -> CaseLoads:
    landing = situation.landing
    x = situation.flight.balance_x if np.isnan(landing.belly_x) else landing.belly_x
    push = landing.belly_load_factor * situation.weight

    def put() -> Array:
        force = np.array([landing.belly_friction * push, 0.0, push])
        if landing.belly_on == "rails":
            return lift() + _on_rails(situation.model, force, x)
        at = np.array([x, 0.0, situation.body.at[2]])
        return lift() + on_centre(situation.model, np.concatenate([force, np.cross(at, force)]), at)

    push_up = f"{landing.belly_load_factor:g} W up on the {landing.belly_on}"
    acts = _acts(situation, push_up, landing.belly_friction)
    return CaseLoads("belly landing", "landing", acts, True, put)


def _on_rails(model: Model, force: Array, x: float) -> Array:
    """A push on the rails, straight along them, whose resultant lies at x."""
    nodes = np.unique(model.structure.blocks["rails"].nodes)
    at = model.structure.nodes[nodes, 0]
    slope = at - at.mean()
    nodal = np.zeros((len(model.structure.nodes), 6, 1))
    share = 1 / len(at) + slope * (x - at.mean()) / (slope @ slope)
    nodal[nodes, 2, 0] = force[2] * share
    nodal[nodes, 0, 0] = force[0] / len(at)
    return nodal


def _legs(situation: Situation, lift: Callable[[], Array]) -> list[CaseLoads]:
    landing = situation.landing
    if not landing.legs or not landing.leg_load_factor:
        return []
    nodes, share, arms, places = carriers(situation.model, landing.legs)
    legs, of_leg = np.unique(np.round(places, 9), axis=0, return_inverse=True)
    of_leg = of_leg.ravel()
    push = landing.leg_load_factor * situation.weight / len(legs)
    force = np.array([landing.leg_friction * push, 0.0, push])
    wheel = arms - np.array([0.0, 0.0, landing.leg_length])

    def on(which: Ints) -> Array:
        nodal = situation.nothing()
        here = np.isin(of_leg, which)
        part = share[here, None]
        np.add.at(nodal[:, :3, 0], nodes[here], part * force)
        np.add.at(nodal[:, 3:, 0], nodes[here], part * np.cross(wheel[here], force))
        return lift() + nodal

    acts = _acts(situation, f"{landing.leg_load_factor:g} W up in all", landing.leg_friction)
    found = [CaseLoads("landing on all legs", "landing", acts, True, partial(on, np.arange(len(legs))))]
    for side in situation.sides:
        own = np.flatnonzero(legs[:, 1] * side > 1e-9)
        if 0 < len(own) < len(legs):
            part = landing.leg_load_factor * len(own) / len(legs)
            acts = _acts(situation, f"{part:.2g} W up", landing.leg_friction)
            name = f"landing on one leg ({_SIDE[side]})"
            found.append(CaseLoads(name, "landing", acts, True, partial(on, own)))
    return found


def carriers(model: Model, name: str) -> tuple[Ints, Array, Array, Array]:
    """Nodes (n,) that carry the masses of a name, the share of one mass that each carries (n,), from node
    to mass, and the mass itself, (n, 3), m."""
    masses = model.structure.blocks["masses"]
    assert isinstance(masses, Masses)
    assert masses.part is not None
    assert masses.offsets is not None
    own = np.array([model.parts[p].kind == "mass" and model.parts[p].place == name for p in masses.part])
    nodes, arms, shares = masses.nodes[own], masses.offsets[own], masses.carried[own]
    places = masses.places(model.structure.true_corners(masses))[own]
    _, of_one = np.unique(np.round(places, 9), axis=0, return_inverse=True)
    mass = masses.mass_values[own]
    of_mass = mass / np.bincount(of_one.ravel(), mass)[of_one.ravel()]
    share = of_mass[:, None] * shares
    there = share != 0
    return nodes[there], share[there], arms[there], np.broadcast_to(places[:, None], arms.shape)[there]
