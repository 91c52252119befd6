"""Load cases of an engine on rails: its weight, thrust, torque, gyroscopic couples, shaking, nose-over and
hard landing, as nodal loads on the free wing, all of them right sides of one factor.

Inertia of the whole wing balances what is left over. Thrust is balanced by an equal drag of the ribs, as in
steady flight, and not by the aeroplane's own acceleration, which would relieve the rails. The propeller turns
clockwise seen from behind.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from fea.elements.beam import Beams, Sections
from fea.elements.mass import Masses
from fea.structure import Loads
from models import units_out as say
from models.gravity import GRAVITY
from models.loads.pull_up import PullUp, air_speed, hung_at_centre, pull_up
from models.rounding import gees
from models.structure.model import Model, Part
from models.wing.parts import Bolts, Engine, Wing

_STIFF = 100.0
"""Crankcase against the rails that it joins."""


@dataclass(frozen=True)
class EngineCase:
    """One load case: its name, what acts, and whether a factor in it is a stated one without a source."""

    name: str
    what: str
    stated: bool = False


@dataclass(frozen=True, eq=False)
class EngineLoads:
    """Loads of all cases side by side.

    Parameters
    ----------
    cases : tuple of EngineCase
        One a column of `loads`.
    loads : Loads
        N and N m.
    pull_up : PullUp
        The pull-up that the cases are built on.
    speed, pitch_rate : float
        In the pull-up, m/s and rad/s.
    gyroscopic : tuple of float
        Largest couple in the pull-up and in yaw, N m.
    """

    cases: tuple[EngineCase, ...]
    loads: Loads
    pull_up: PullUp
    speed: float
    pitch_rate: float
    gyroscopic: tuple[float, float]


def cut_to_engine(wing: Wing) -> Wing:
    """The wing with its rails ending at the engine, so that a node stands there.

    Wood ahead of it carries nothing. Rails whose engine sits behind their first spar stay as they are.
    """
    assert wing.engine is not None, "a wing without an engine"
    x = next(m.x for m in wing.masses if m.name == wing.engine.name)
    spars = {s.name: s for s in wing.spars}
    rails = tuple(
        replace(r, x_front=x, bolts=_moved(r.bolts, r.x_front - x))
        if r.x_front < x < min(float(spars[t].x.at(r.y)) for t in r.ties) - r.height
        else r
        for r in wing.rails
    )
    return replace(wing, rails=rails)


def _moved(bolts: Bolts | None, aft: float) -> Bolts | None:
    """Bolts that stay where they are on a rail whose front end is cut back."""
    return None if bolts is None else replace(bolts, from_front=bolts.from_front + aft)


def bolt_on(model: Model) -> Model:
    """The model with the crankcase as a stiff cross-piece between the rails that carry the engine; the
    same where a single rail carries it."""
    nodes = np.unique(mounts(model)[0])
    if len(nodes) < 2:
        return model
    nodes = nodes[np.argsort(model.structure.nodes[nodes, 1])]
    pairs = np.stack([nodes[:-1], nodes[1:]], axis=1)
    rails = model.structure.blocks["rails"]
    assert isinstance(rails, Beams)
    s, n = rails.sections, len(pairs)
    largest = (float(v.max()) for v in (s.axial, s.bending_y, s.bending_z, s.torsion, s.shear_y, s.shear_z))
    block = Beams(
        pairs,
        Sections(*(np.full(n, _STIFF * v) for v in largest)),
        np.tile([0.0, 0.0, 1.0], (n, 1)),
        part=np.full(n, len(model.parts), dtype=np.intp),
    )
    part = Part("crankcase", "", model.wing.engine.name if model.wing.engine else "")
    blocks = {**model.structure.blocks, "crankcase": block}
    structure = replace(model.structure, blocks=blocks, parts=(*model.structure.parts, part.name))
    return replace(model, structure=structure, parts=(*model.parts, part))


def gyroscopic_couple(inertia: float, spin: float, turn: float, blades: int) -> float:
    """Largest couple of a turning propeller whose axis is turned, N m.

    I spin turn; a propeller of two blades pulses between nothing and twice that.

    Parameters
    ----------
    inertia : float
        kg m2.
    spin, turn : float
        rad/s.
    blades : int
        Of the propeller.

    References
    ----------
    Couple = turn x angular momentum; twice for two blades: from memory.
    """
    return inertia * spin * turn * (2.0 if blades == 2 else 1.0)


def engine_loads(model: Model, assembly: Assembly) -> EngineLoads:
    """Loads of every case of an engine on rails.

    Raises
    ------
    models.loads.pull_up.LightAeroplane
        The flying mass is less than the wing's own.
    """
    engine, case, plan = model.wing.engine, model.wing.case, model.wing.planform
    assert engine is not None
    assert plan is not None
    assert not model.half
    flight = pull_up(model, assembly)
    speed = air_speed(case, flight.lift, plan.area)
    n = flight.load_factor
    pitch_rate = GRAVITY * max(n - 1, 0.0) / speed
    pitch, yaw = (
        gyroscopic_couple(engine.rotor_inertia, engine.speed, rate, engine.blades)
        for rate in (pitch_rate, engine.yaw_rate)
    )
    level = flight.loads.nodal / n
    power = at_engine(model, (-engine.thrust, 0, 0, engine.torque, 0, 0)) + _drag(model, engine.thrust)
    weight = GRAVITY * next(m.mass for m in model.wing.masses if m.name == engine.name)
    shake = at_engine(model, (0, 0, engine.vibration * weight, 0, 0, 0))
    # Spin points ahead (-x): pitching up gives a couple to starboard (-z), yaw to either side one about y.
    up, aside = at_engine(model, (0, 0, 0, 0, 0, -pitch)), at_engine(model, (0, 0, 0, 0, yaw, 0))
    rows = [
        (EngineCase("pull-up", f"{gees(n)} g, engine idle"), level * n),
        (
            EngineCase(
                "pull-up under power",
                f"{gees(n)} g, thrust, torque, gyroscopic couple {say.moment(pitch):.2f}",
            ),
            level * n + power + up,
        ),
        *(
            (
                EngineCase(
                    f"yaw, nose {way}", f"1 g, thrust, torque, gyroscopic couple {say.moment(yaw):.2f}", True
                ),
                level + power + sign * aside,
            )
            for way, sign in (("pulled up", 1), ("pulled down", -1))
        ),
        *(
            (
                EngineCase(
                    f"shaking {way}", f"1 g, thrust, torque, {engine.vibration:g} x engine weight", True
                ),
                level + power + sign * shake,
            )
            for way, sign in (("up", 1), ("down", -1))
        ),
        (
            EngineCase("nose-over", f"{engine.nose_over:g} x weight aft on the engine", True),
            _nose_over(model, flight, engine),
        ),
        (
            EngineCase("hard landing", f"{engine.hard_landing:g} g, borne at the centre section", True),
            _landing(model, flight, engine),
        ),
    ]
    nodal = np.concatenate([row for _, row in rows], axis=2)
    return EngineLoads(tuple(c for c, _ in rows), Loads(nodal), flight, speed, pitch_rate, (pitch, yaw))


def at_engine(model: Model, components: tuple[float, ...]) -> Array:
    """Force and moment (N, N m) at the engine's centre of gravity on the rails that carry it,
    (n_nodes, 6, 1)."""
    nodes, share, arms = mounts(model)
    force, couple = np.array(components[:3], dtype=float), np.array(components[3:], dtype=float)
    nodal = np.zeros((len(model.structure.nodes), 6, 1))
    np.add.at(nodal[:, :3, 0], nodes, share[:, None] * force)
    np.add.at(nodal[:, 3:, 0], nodes, share[:, None] * (couple + np.cross(arms, force)))
    return nodal


def mounts(model: Model) -> tuple[Ints, Array, Array]:
    """Rail nodes that carry the engine, the share of each, and the arms from there to it, m."""
    masses, engine = model.structure.blocks["masses"], model.wing.engine
    assert isinstance(masses, Masses)
    assert engine is not None
    assert masses.part is not None
    assert masses.offsets is not None
    own = np.array([model.parts[p].place == engine.name and model.parts[p].kind == "mass"
                    for p in masses.part])  # fmt: skip
    mass, shares = masses.mass_values[own], masses.carried[own]
    share = (mass / mass.sum())[:, None] * shares
    there = share != 0
    return masses.nodes[own][there], share[there], masses.offsets[own][there]


def _drag(model: Model, thrust: float) -> Array:
    """Drag of the size of the thrust, on the caps at the ribs, shared as the chord's area is."""
    nodal = np.zeros((len(model.structure.nodes), 6, 1))
    plan = model.wing.planform
    assert plan is not None
    chord = plan.chord.at(np.abs(model.y[model.rib_station]))
    for j, part in zip(model.rib_station, chord / chord.sum()):
        caps = model.cap_nodes[:, :, j].ravel()
        caps = caps[caps >= 0]
        nodal[caps, 0, 0] += thrust * part / len(caps)
    return nodal


def _nose_over(model: Model, flight: PullUp, engine: Engine) -> Array:
    """The ground pushes the engine aft; what hangs on the centre section pushes on."""
    nodal = at_engine(model, (engine.nose_over * flight.flying_mass * GRAVITY, 0, 0, 0, 0, 0))
    rest = engine.nose_over * (flight.flying_mass - flight.wing_mass) * GRAVITY
    caps = model.centre_caps
    nodal[caps, 0, 0] -= rest / len(caps)
    return nodal


def _landing(model: Model, flight: PullUp, engine: Engine) -> Array:
    """The centre section is pushed up by so many times the wing's weight; lift is left out."""
    nodal = np.zeros((len(model.structure.nodes), 6, 1))
    push = engine.hard_landing * flight.wing_mass * GRAVITY
    hung_at_centre(model, push, 0.0, flight.balance_x, nodal)
    return nodal
