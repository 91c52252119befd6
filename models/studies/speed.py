"""How fast: speeds at which the tips beat by themselves, the wing twists off, or elevons lose their grip.

The whole structure's mass and stiffness are condensed on the free aeroplane's static answers to unit lift and
moment at every rib and to what the fuselage puts in at the centre, and on its rigid motions (Rayleigh and
Ritz). So every static answer of the wing to its air is exact, free or held at the middle, and masses follow
as well as those answers can move them; `again` widens the basis by static answers to their own inertia, to
show that nothing is missing. Movement that both sides share and movement in which they are opposite are
looked at apart. Air comes in strips (`models.loads.unsteady_strips`), which are followed by speed, and by a
lattice of the planform (`models.loads.unsteady_lattice`), which gives the onset alone. A tail is not in the
model: the fuselage's mass is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.aeroelastic import (
    Air,
    Flutter,
    HarmonicAir,
    System,
    divergence,
    flutter,
    harmonic_flutter,
    normal,
    reversal,
    steady,
    sweep,
    trim_limit,
    trimmed,
    with_damping,
)
from fea.arrays import Array
from fea.assembly import Assembly, rigid_motions
from fea.dense import solved
from fea.vibration import TOGETHER, free_answers
from models import units_out as say
from models.covering import is_taut
from models.gravity import GRAVITY
from models.loads.body import Body, on_centre
from models.loads.elastic_lift import TOO_NEAR, behind
from models.loads.unsteady_lattice import Flap, Lattice
from models.loads.unsteady_strips import PER_BAY, Strips, lay, rib_forces
from models.session import Frame, Session
from models.structure.model import Model
from models.studies.layouts import apply, as_drawn, bays_of, standard
from models.studies.speed_covering import TautFilm, taut_part
from models.wing.flush import takes_webs
from models.wing.parts import Elevons, NotFlying, Wing

LOSS = (0.006, 0.03)
"""Loss factors of the structure between which the answer is given: logarithmic decrements of 0.02 (dry) to
0.1 (damp) over pi, of wood alone (Wood Handbook, chapter on mechanical properties, from memory); glue lines
and covering add some that no source is known for. The lower counts."""
LAST = 100.0
"""Speed up to which is searched, m/s."""
_SPEEDS = np.concatenate([np.arange(2.0, 30.0, 0.5), np.arange(30.0, LAST + 0.5, 1.0)])
"""At which eigenvalues are looked at, m/s."""
_MOST_MODES = 20
"""Natural modes that the search keeps for each kind of movement, of those that the basis has."""
SHARES = (0.0, 0.1, 0.25, 0.5, 0.75)
"""Of the servos' stiffness that elevons with slack are tried with. Slack and spring in a row give, to a swing
of one size, a share of the spring's stiffness that grows from nought to all with the swing (describing
function, textbooks on control, from memory); which shares to try is a choice."""
_ALIKE = 0.2
"""Difference of two frequencies up to which a mode with little and with more damping is taken for one."""
_SAME = 0.05
"""Distance of a followed mode from what beats, over its frequency, up to which they are one: what a line may
bend between two speeds (a judgement, no source)."""
_APART = 1e-6
"""Coupling of the two kinds of movement, over what they have themselves, up to which they are looked at
apart."""


@dataclass(frozen=True, eq=False)
class Half:
    """Movement of one kind: both sides alike, or opposite.

    Parameters
    ----------
    kind : str
        "symmetric", "antisymmetric", or "together" for a wing whose sides differ.
    free, held : System
        In flight, and held at the middle.
    up, nose_up : (n_ribs, n) float array
        Movement of the ribs by the coordinates of `free`, m and rad.
    held_up, held_nose_up : (n_ribs, m) float array
        The same by those of `held`.
    strips : Strips
        Of the starboard side, standing for both, or of both.
    held_pull : (m,) float array
        Forces of the pull-up on the coordinates of `held`, inertia among them.
    every : (size, k) float array
        Movements of the whole structure that both are made of.
    by_free, by_held : (k, n), (k, m) float array
        How much of each, by the coordinates of `free` and of `held`.
    loose : Loose or None
        With the elevons on their servos.
    """

    kind: str
    free: System
    held: System
    up: Array
    nose_up: Array
    held_up: Array
    held_nose_up: Array
    strips: Strips
    held_pull: Array
    every: Array
    by_free: Array
    by_held: Array
    loose: Loose | None = None

    @property
    def swinging(self) -> Loose:
        """What may beat: with the elevons on their servos, or standing still."""
        still = Loose(self.free, np.inf, self.up, self.nose_up, np.zeros(self.up.shape[1]))
        return still if self.loose is None else self.loose


@dataclass(frozen=True, eq=False)
class Loose:
    """Movement of one kind with the elevons on their servos' stiffness.

    Parameters
    ----------
    system : System
        In flight; the last coordinate is the turn of the elevon against the wing, rear edge down, rad.
    stiffness : float
        Of the servos against that turn, N m/rad, both sides.
    up, nose_up : (n_ribs, n) float array
        As in `Half`.
    turn : (n,) float array
        Of the starboard elevon, by coordinates.
    """

    system: System
    stiffness: float
    up: Array
    nose_up: Array
    turn: Array

    def held_by(self, share: float) -> System:
        """The same with a share of the servos' stiffness."""
        stiff = self.system.stiffness.copy()
        stiff[-1, -1] = share * self.stiffness
        return replace(self.system, stiffness=stiff)


@dataclass(frozen=True, eq=False)
class Control:
    """One side's elevon as a body on its hinge. The file gives it a servo's stiffness; `mass` in kg."""

    elevons: Elevons
    mass: float

    def loosen(self, half: Half) -> Half:
        """With the turn of the elevons as one more movement.

        Raises
        ------
        HeavyControl
            More mass behind the hinge than the wing has there.
        """
        strips, elevons = half.strips, self.elevons
        covered = strips.covered(elevons)
        own = (1 - elevons.hinge) * strips.chord  # chord of the elevon
        mass = self.mass * covered * own / (covered * own).sum()
        arm = own / 2 if np.isnan(elevons.balance) else np.full_like(own, elevons.balance)
        about_centre = mass * own**2 / 12  # a plate of even thickness
        behind = (elevons.hinge - 0.5) * strips.chord + arm
        up, nose_up = strips.ribs @ half.up, strips.ribs @ half.nose_up
        with_wing = -(mass * arm) @ (up - behind[:, None] * nose_up) + about_centre @ nose_up
        turning = float((mass * arm**2 + about_centre).sum())
        n = half.up.shape[1]
        inertia, stiff = np.zeros((n + 1, n + 1)), np.zeros((n + 1, n + 1))
        inertia[:n, :n], stiff[:n, :n] = half.free.mass, half.free.stiffness
        inertia[n, :n] = inertia[:n, n] = strips.sides * with_wing
        inertia[n, n], stiff[n, n] = strips.sides * turning, strips.sides * elevons.servo_stiffness
        if np.linalg.eigvalsh(inertia)[0] <= 0:
            raise HeavyControl(self.mass)
        none = np.zeros((len(half.up), 1))
        ribs_up, ribs_nose_up = np.hstack([half.up, none]), np.hstack([half.nose_up, none])
        turn = np.eye(n + 1)[n]
        air = strips.loose_air(elevons, ribs_up, ribs_nose_up, turn)
        system = System(inertia, stiff, np.zeros_like(inertia), air)
        return replace(half, loose=Loose(system, float(stiff[n, n]), ribs_up, ribs_nose_up, turn))


@dataclass(frozen=True)
class Pull:
    """The pull-up of the file with the loads of the wing as it is built.

    Parameters
    ----------
    load_factor, lift : float
        n; N.
    bending : float
        Of the starboard side's air and inertia at the centre line, N m.
    balance_x : float
        Where inertia acts, m aft.
    trimmed_by : str
        As `models.loads.pull_up.PullUp.trimmed_by`.
    """

    load_factor: float
    lift: float
    bending: float
    balance_x: float
    trimmed_by: str

    @property
    def tail(self) -> bool:
        """A tail trims."""
        return self.trimmed_by == "tail"


class HeavyControl(ValueError):
    """An elevon that is heavier than what the wing has where it hangs; kg."""

    def __init__(self, mass: float) -> None:
        self.mass = mass
        super().__init__(f"an elevon of {say.mass(mass):.3g} is heavier than the wing behind its hinge")


@dataclass(frozen=True, eq=False)
class Reduced:
    """A wing on few coordinates.

    Parameters
    ----------
    wing : Wing
        The wing.
    strips : Strips
        Its air.
    rib_y : (n_ribs,) float array
        m.
    halves : tuple of Half
        Kinds of movement.
    mass : float
        Of the whole aeroplane, kg.
    rest : float
        Of what the file has no place for and that sits at the centre, kg.
    web_mass : float
        Of all shear webs, kg.
    case_speed : float
        Of the pull-up, m/s.
    control : Control or None
        Elevons that swing on their servos; None where they stand still against the wing.
    pull : Pull
        The pull-up.
    model, assembly : Model, Assembly
        What was condensed.
    body : Body
        The rest of the aeroplane, of `rest`.
    film : TautFilm or None
        What counts of covering that has stiffness; None where none has.
    """

    wing: Wing
    strips: Strips
    rib_y: Array
    halves: tuple[Half, ...]
    mass: float
    rest: float
    web_mass: float
    case_speed: float
    control: Control | None
    pull: Pull
    model: Model
    assembly: Assembly
    body: Body
    film: TautFilm | None


_SHARED, _OPPOSITE = (0, 2, 4), (1, 3, 5)
"""Movements and turns of the centre that both sides share, or have opposite, of x y z and about them."""
_FELT, _DRIFT = ((2, 4), (3,)), ((0,), (1, 5))
"""Those of them that the air feels, and the rest, which are free of it and drift: momentum keeps them."""


def condense(
    wing: Wing,
    *,
    per_bay: int = 4,
    strips_per_bay: int = PER_BAY,
    again: int = 0,
    at_rest: bool = False,
    session: Session | None = None,
) -> Reduced:
    """Reduce a wing.

    Parameters
    ----------
    wing : Wing
        A flying wing.
    per_bay : int
        Elements along each bay.
    strips_per_bay : int
        Strips of air.
    again : int
        How often the basis is widened by static answers to its own inertia.
    at_rest : bool
        On the bench: all covering is taut.
    session : Session or None
        Of the wing, where there is one; its mesh is taken.

    Raises
    ------
    NotFlying
        A specimen.
    models.loads.pull_up.LightAeroplane, fea.solve.Mechanism
        As `models.analysis.analyse`.
    """
    if wing.clamped or wing.planform is None:
        raise NotFlying("a specimen does not fly")
    session = Session(wing, per_bay=per_bay) if session is None else session
    frame, film = _covered(session, at_rest) if is_taut(wing) else (session.both, None)
    model, assembly, situation = frame.model, frame.assembly, frame.situation
    body = situation.body
    y, on_ribs = rib_forces(model)
    lifts = assembly.columns(on_ribs)
    grip = assembly.vector(np.concatenate([on_centre(model, unit, body.at) for unit in np.eye(6)], axis=2))
    hold = sp.csc_matrix(grip)
    mass = (assembly.mass() + hold @ sp.csc_matrix(body.inertia()) @ hold.T).tocsc()
    rigid = rigid_motions(model.structure.nodes, assembly.freedoms)

    def basis(k: int) -> Array:
        """Static answers of a kind, and rigid motions: what the air feels, what drifts."""
        sets = [free_answers(assembly, _by_kind(lifts, hold, y, (1, -1)[k]), mass, frame.factor)]
        for _ in range(again):
            sets.append(free_answers(assembly, mass @ sets[-1], mass, frame.factor))
        return np.hstack([*sets, rigid[:, _FELT[k]], rigid[:, _DRIFT[k]]])

    n, speed = situation.flight.load_factor, situation.speed
    up = rigid[:, 2]
    lifted = situation.lifted(n, speed)
    pull = assembly.vector(lifted)[:, 0] - n * GRAVITY * (assembly.mass() @ up)
    full = _Full(mass, assembly.stiffness(), lifts, grip, pull)
    strips = lay(wing.planform, y, strips_per_bay)
    halves = full.halves(basis(0), basis(1), strips)
    control = None
    if wing.elevons is not None and wing.elevons.servo_stiffness and len(halves) > 1:
        found = wing.elevons.mass or _behind_hinge(model, assembly, wing.elevons)
        control = Control(wing.elevons, found)
        halves = [control.loosen(half) for half in halves]
    flight = situation.flight
    return Reduced(
        wing,
        strips,
        y,
        tuple(halves),
        flight.flying_mass,
        body.mass,
        sum(model.structural_mass.get(kind, 0.0) for kind in ("web", "web strip")),
        situation.speed,
        control,
        Pull(
            n,
            situation.flight.lift,
            _bending(model, lifted) - n * GRAVITY * _outboard(model, assembly),
            situation.flight.balance_x,
            flight.trimmed_by,
        ),
        model,
        assembly,
        body,
        film,
    )


def _covered(session: Session, at_rest: bool) -> tuple[Frame, TautFilm | None]:
    """The whole wing with what counts of its covering."""
    model = session.covered
    film = None
    if model.films is not None and not at_rest:
        model, film = taut_part(model)
    return Frame(model), film


def _bending(model: Model, loads: Array) -> float:
    """Bending moment that loads on starboard nodes, (n_nodes, 6, 1), make at the centre line, N m."""
    y, z = model.structure.nodes[:, 1], model.structure.nodes[:, 2]
    there = y > 1e-9
    middle = float(z[np.abs(y) < 1e-6].mean())
    force = loads[there, :, 0]
    return float((force[:, 2] * y[there] - force[:, 1] * (z[there] - middle) + force[:, 3]).sum())


def _outboard(model: Model, assembly: Assembly) -> float:
    """Starboard mass times its y, kg m."""
    y = model.structure.nodes[:, 1]
    return float((_at_nodes(assembly) * y)[y > 0].sum())


def _at_nodes(assembly: Assembly) -> Array:
    """Mass that moves with each node, (n_nodes,), kg."""
    up = rigid_motions(assembly.structure.nodes, assembly.freedoms)[:, 2:3]
    return np.asarray(assembly.nodal(up * (assembly.mass() @ up))[:, 2, 0])


def _behind_hinge(model: Model, assembly: Assembly, elevons: Elevons) -> float:
    """Mass of the wing behind the hinge line of one side's elevon, at nodes, kg."""
    plan, nodes = model.wing.planform, model.structure.nodes
    assert plan is not None, "elevons need a planform"
    span = np.abs(nodes[:, 1])
    behind = nodes[:, 0] > plan.leading_edge_x.at(span) + elevons.hinge * plan.chord.at(span)
    there = behind & (span > elevons.y_from) & (span < elevons.y_to)
    return float(_at_nodes(assembly)[there].sum()) / 2


def _by_kind(lifts: sp.csc_matrix, grip: sp.csc_matrix, y: Array, sign: int) -> sp.csc_matrix:
    """Loads on ribs and centre that both sides share (1) or have opposite (-1), as columns."""
    n = len(y)
    starboard = np.flatnonzero(y > (-1e-9 if sign > 0 else 1e-9))
    port = n - 1 - starboard
    own = [lifts[:, k + starboard] + sign * lifts[:, k + port] for k in (0, n)]
    return sp.hstack([*own, grip[:, _SHARED if sign > 0 else _OPPOSITE]], format="csc")


@dataclass(frozen=True, eq=False)
class _Full:
    """Matrices of the whole structure; forces on ribs, (size, 2 n_ribs), on the centre, (size, 6), and of the
    pull-up, (size,)."""

    mass: sp.csc_matrix
    stiffness: sp.csc_matrix
    lifts: sp.csc_matrix
    grip: Array
    pull: Array

    def halves(self, one: Array, two: Array, strips: Strips) -> list[Half]:
        """Both kinds of movement apart by their static answers and rigid motions, or together where the
        answers drive each other."""
        n, m = (each.shape[1] - len(_FELT[k]) - len(_DRIFT[k]) for k, each in enumerate((one, two)))
        of_one, of_two, driven = [], [], False
        for matrix in (self.mass, self.stiffness):
            of_one += _seen(matrix, one, one)
            own, across = _seen(matrix, two, two, one)
            of_two.append(own)
            across = across[:n, :m]
            size = np.sqrt(np.outer(of_one[-1].diagonal()[:n], of_two[-1].diagonal()[:m]))
            driven |= bool(np.any(np.abs(across) > _APART * size))
        if not driven:
            starboard = strips.starboard()
            return [
                self.half("symmetric", one, of_one, 1, starboard),
                self.half("antisymmetric", two, of_two, 2, starboard),
            ]
        every = np.hstack([one[:, :-1], two[:, :-2], one[:, -1:], two[:, -2:]])
        of_every = [_seen(matrix, every, every)[0] for matrix in (self.mass, self.stiffness)]
        return [self.half("together", every, of_every, 3, strips)]

    def half(self, kind: str, every: Array, reduced: list[Array], drifting: int, strips: Strips) -> Half:
        """Reduced to static answers and rigid motions that the air feels, and so many last ones that drift;
        `reduced` are mass and stiffness on all of them."""
        # What drifts keeps its momentum, nought: coordinates are laid so that it has no part in them.
        mass, n = reduced[0], every.shape[1] - drifting
        keeps = np.vstack([np.eye(n), -np.linalg.solve(mass[n:, n:], mass[n:, :n])])
        ribs, pull = self.lifts.T @ every, every.T @ self.pull
        flying, by_free, up, nose_up = _system(reduced, keeps, ribs, strips)
        centre = self.grip.T @ every
        kept = np.abs(centre).max(axis=1) > 1e-9 * np.abs(centre).max()
        size = np.linalg.norm(every, axis=0)
        _, sizes, turned = np.linalg.svd(centre[kept] / size)
        still = turned[int(np.count_nonzero(sizes > 1e-10 * sizes[0])) :].T / size[:, None]
        held, by_held, held_up, held_nose_up = _system(reduced, still, ribs, strips)
        pulled = by_held.T @ pull
        return Half(
            kind, flying, held, up, nose_up, held_up, held_nose_up, strips, pulled, every, by_free, by_held
        )


def _seen(matrix: sp.csc_matrix, right: Array, *left: Array) -> list[Array]:
    """Products of a matrix and columns as other columns see them, some columns at a time."""
    parts: list[list[Array]] = [[] for _ in left]
    for k in range(0, right.shape[1], TOGETHER):
        product = matrix @ right[:, k : k + TOGETHER]
        for found, columns in zip(parts, left):
            found.append(columns.T @ product)
    return [np.hstack(found) for found in parts]


def _system(
    reduced: list[Array], columns: Array, ribs: Array, strips: Strips
) -> tuple[System, Array, Array, Array]:
    """On the natural modes of some columns, which they are by, with the ribs' movements up and nose up."""
    mass, stiffness = (columns.T @ matrix @ columns for matrix in reduced)
    omega, modes = normal((mass + mass.T) / 2, (stiffness + stiffness.T) / 2)
    by = columns @ modes
    up, nose_up = np.split(ribs @ by, 2)
    size = len(omega)
    air = strips.air(up, nose_up)
    return System(np.eye(size), np.diag(omega**2), np.zeros((size, size)), air), by, up, nose_up


@dataclass(frozen=True, eq=False)
class Beating:
    """A speed at which the wing begins to swing by itself.

    Parameters
    ----------
    kind : str
        As `Half.kind`.
    speed, frequency : float
        m/s, Hz.
    damped_speed : float
        The same at the upper loss factor, m/s; infinite where it does not begin up to the last speed, NaN
        where that was not asked for.
    bays : tuple of int
        Starboard bays that twist most: at least half as much a metre as the bay that does most.
    up, nose_up : (n_ribs,) complex array
        Shape at the ribs, of unit movement where it is greatest, m and rad.
    turn : complex
        Of the starboard elevon against the wing with that, rear edge down, rad; 0 where it stands still.
    """

    kind: str
    speed: float
    frequency: float
    damped_speed: float
    bays: tuple[int, ...]
    up: NDArray[np.complex128]
    nose_up: NDArray[np.complex128]
    turn: complex = 0j


@dataclass(frozen=True, eq=False)
class Latticed:
    """The same speeds by a lattice of the planform. `beating` has the kind of movement, speed (m/s) and
    frequency (Hz) of its onset, lowest first, up to `LAST`; the other two in m/s, infinite where it never
    does, or of a wing without elevons."""

    beating: tuple[tuple[str, float, float], ...]
    twist_off: float
    reversal: float


@dataclass(frozen=True, eq=False)
class FollowedMode:
    """A mode of the free wing followed by speed; frequency (Hz) and share of critical damping, (v,).

    Its lowest natural ones, then those that beat without being one of them. NaN where it does not swing.
    """

    kind: str
    frequency: Array
    damping: Array


@dataclass(frozen=True, eq=False)
class Speeds:
    """What speed does to a wing.

    Parameters
    ----------
    reduced : Reduced
        What was tried.
    beating : tuple of Beating
        Lowest first, up to `LAST`, at the lower loss factor.
    twist_off : float
        Speed at which the wing, held at its middle, twists off, both sides alike; m/s, infinite where it
        never does.
    reversal : float or None
        Speed at which elevons or ailerons no longer roll the wing, m/s; None without any.
    grip : (v,) float array or None
        Rate of roll for the elevons' angle at every speed, of what a wing that does not twist would do.
    speeds : (v,) float array
        m/s.
    modes : tuple of FollowedMode
        At the lower loss factor.
    lattice : Latticed or None
        By the lattice; None of a wing whose sides differ.
    rattle : float or None
        Lowest speed at which the wing beats, by strips, with any share of the servos' stiffness in `SHARES`:
        what elevons with slack feel while they move little beyond it, m/s, infinite where it does not; None
        without slack.
    trim_ends : float
        Speed from which a wing without a tail cannot be kept in trim, by the lattice, m/s; infinite where it
        can, and with a tail.
    """

    reduced: Reduced
    beating: tuple[Beating, ...]
    twist_off: float
    reversal: float | None
    grip: Array | None
    speeds: Array
    modes: tuple[FollowedMode, ...]
    lattice: Latticed | None
    rattle: float | None = None
    trim_ends: float = np.inf

    def left(self, share: float) -> float:
        """Speed at which so much of the elevons' grip is left, m/s; of what is left the first time."""
        assert self.grip is not None, "a wing with elevons"
        speeds, grip = np.concatenate([[0.0], self.speeds]), np.concatenate([[1.0], self.grip])
        below = np.flatnonzero(grip <= share)
        if not len(below):
            return float("inf")
        k = int(below[0])
        part = (grip[k - 1] - share) / (grip[k - 1] - grip[k])
        return float(speeds[k - 1] + part * (speeds[k] - speeds[k - 1]))

    @property
    def lowest(self) -> tuple[str, float]:
        """What comes first, "beating", "twist-off", "reversal", "trim" or "", and its speed, m/s (infinite).

        By the strips or the lattice, whichever says the lower.
        """
        kinds = [
            ("beating", self.beating[0].speed if self.beating else np.inf),
            ("twist-off", self.twist_off),
            ("trim", self.trim_ends),
        ]
        if self.reversal is not None:
            kinds.append(("reversal", self.reversal))
        if self.lattice is not None:
            kinds += [("beating", speed) for _, speed, _ in self.lattice.beating]
            kinds += [("twist-off", self.lattice.twist_off), ("reversal", self.lattice.reversal)]
        name, speed = min(kinds, key=lambda each: each[1])
        return (name, speed) if speed <= LAST else ("", np.inf)


def fewer(system: System, most: int) -> System:
    """The same on its lowest natural modes in a vacuum."""
    omega, modes = normal(system.mass, system.stiffness, most)
    size = len(omega)
    return System(
        np.eye(size), np.diag(omega**2), modes.T @ system.damping @ modes, system.air.through(modes)
    )


def speeds(reduced: Reduced, *, n_modes: int = 4, follow: bool = True) -> Speeds:
    """Speeds that limit a wing. `n_modes` of each kind are followed by speed, 0 for none; without `follow`
    the lower loss factor alone is tried."""
    wing, density = reduced.wing, reduced.wing.case.air_density
    beating: list[Beating] = []
    modes: list[FollowedMode] = []
    shown = np.arange(5.0, LAST + 0.1, 1.25)
    for half in reduced.halves:
        system = half.swinging.system
        few = fewer(system, _MOST_MODES)
        forms = normal(system.mass, system.stiffness, _MOST_MODES)[1]
        low = flutter(with_damping(few, LOSS[0]), density, _SPEEDS, most=3 if follow else 1)
        high = []
        if follow and low:
            later = _SPEEDS[np.flatnonzero(0.95 * low[0].speed < _SPEEDS)]
            high = flutter(with_damping(few, LOSS[1]), density, later, most=len(low))
        for point in low:
            # The same mode, by its frequency: with more damping another may come first.
            near = [h.speed for h in high if abs(h.omega / point.omega - 1) < _ALIKE]
            damped = (near[0] if near else np.inf) if follow else np.nan
            beating.append(_beating(reduced, half, point, forms, damped))
        if follow and n_modes:
            fine = np.concatenate([np.arange(2.5, 30.0, 0.625), np.arange(30.0, LAST + 0.1, 1.25)])
            damped_little = with_damping(few, LOSS[0])
            paths = list(sweep(damped_little, density, fine, n_modes).values.T)
            for point in low:
                # What beats may be the flight itself, which swings in no vacuum: no natural mode leads to it.
                if not any(_leads_to(fine, path, point) for path in paths):
                    paths.append(_through(damped_little, density, fine, point))
            here = np.isin(np.round(fine, 6), np.round(shown, 6))
            for path in paths:
                values = path[here]
                hertz = np.where(np.isnan(values.real), np.nan, values.imag / (2 * np.pi))
                modes.append(FollowedMode(half.kind, hertz, -values.real / np.abs(values)))
    twist_off = min(
        _speed(divergence(half.held), density) for half in reduced.halves if half.kind != "antisymmetric"
    )
    turned, grip = None, None
    rolling = next((half for half in reduced.halves if half.kind == "antisymmetric"), None)
    if wing.elevons is not None and "roll" in wing.elevons.acts and rolling is not None:
        force = rolling.strips.flap(wing.elevons, rolling.up, rolling.nose_up, -1.0)
        turned = _speed(reversal(rolling.free, force), density)
        grip = grips(rolling, force, density, shown)
    beating.sort(key=lambda each: each.speed)
    by_lattice = latticed(reduced)
    rattle = _rattle(reduced) if follow and reduced.control and reduced.control.elevons.slack else None
    ends = np.inf if reduced.pull.tail else trim_ends(reduced)
    return Speeds(
        reduced, tuple(beating), twist_off, turned, grip, shown, tuple(modes), by_lattice, rattle, ends
    )


def _leads_to(speeds: Array, path: NDArray[np.complex128], point: Flutter) -> bool:
    """Whether a followed mode, (v,), is the one that beats."""
    at = complex(np.interp(point.speed, speeds, path.real), np.interp(point.speed, speeds, path.imag))
    return abs(at - 1j * point.omega) < _SAME * point.omega


def _through(system: System, density: float, speeds: Array, point: Flutter) -> NDArray[np.complex128]:
    """The mode that beats at a point, (v,), followed from there both ways."""
    below = speeds < point.speed
    path = np.full(len(speeds), np.nan + 0j)
    for part in (np.flatnonzero(below)[::-1], np.flatnonzero(~below)):
        way = np.concatenate([[point.speed], speeds[part]])
        path[part] = sweep(system, density, way, 1, near=1j * point.omega).values[1:, 0]
    return path


def _rattle(reduced: Reduced) -> float:
    """See `Speeds.rattle`."""
    found = [np.inf]
    for half in reduced.halves:
        if half.loose is None:
            continue
        for share in SHARES:
            few = with_damping(fewer(half.loose.held_by(share), _MOST_MODES), LOSS[0])
            found += [point.speed for point in flutter(few, reduced.wing.case.air_density, _SPEEDS)]
    return float(min(found))


def by_layout(
    wing: Wing, *, per_bay: int = 4, progress: Callable[[str], None] | None = None
) -> dict[str, Speeds]:
    """Speeds of every layout by its name, the file's own first and alone followed.

    Raises
    ------
    HeavyControl
        From `condense`.
    """
    found = {}
    for one in sorted(standard(wing), key=lambda each: each.name != "as drawn"):
        if progress is not None:
            progress(one.name)
        drawn = one.name == "as drawn"
        each = speeds(condense(apply(wing, one), per_bay=per_bay), follow=drawn)
        # Movements of the whole structure are looked at as drawn alone.
        found[one.name] = each if drawn else replace(each, reduced=replace(each.reduced, halves=()))
    return found


_KAPPA = np.concatenate([[0.0], np.geomspace(0.03, 4.0, 18)])
"""Reduced frequencies, of the mean half chord, for which the lattice is solved."""


@dataclass(frozen=True, eq=False)
class _Solved:
    """A lattice's forces on its columns for every kappa (1/m), by sign of the mirror; see `Lattice`."""

    lattice: Lattice
    kappa: Array
    forces: dict[int, NDArray[np.complex128]]
    lasting: Array


@lru_cache(maxsize=4)
def _solved(
    edges: tuple[float, ...],
    leading: tuple[float, ...],
    chord: tuple[float, ...],
    covered: tuple[float, ...],
    hinge: float,
) -> _Solved:
    """Layouts of one wing share its lattice."""
    lattice = Lattice(np.array(edges), np.array(leading), np.array(chord))
    kappa = _KAPPA / (float(np.mean(chord)) / 2)
    flap = Flap(np.array(covered), hinge)
    forces = {sign: np.array([lattice.harmonic(float(k), sign, flap) for k in kappa]) for sign in (1, -1)}
    return _Solved(lattice, kappa, forces, lattice.lasting(-1))


def _lattice_of(wing: Wing, strips: Strips) -> _Solved:
    """On the columns that the starboard strips are."""
    plan = wing.planform
    assert plan is not None, "a lattice needs a planform"
    at = np.concatenate([[0.0], np.cumsum(strips.width)])
    rows = (at, plan.leading_edge_x.at(at), plan.chord.at(at))
    covered, hinge = np.zeros_like(strips.width), 0.5
    if wing.elevons is not None:
        covered, hinge = strips.covered(wing.elevons) / strips.width, wing.elevons.hinge
    edges, leading, chord = (tuple(row.tolist()) for row in rows)
    return _solved(edges, leading, chord, tuple(covered.tolist()), hinge)


def latticed(reduced: Reduced) -> Latticed | None:
    """Speeds that limit a wing, by a lattice of its planform. None where the sides differ."""
    wing, density = reduced.wing, reduced.wing.case.air_density
    if any(half.kind == "together" for half in reduced.halves):
        return None
    beating, twist_off, turned = [], np.inf, np.inf
    for half in reduced.halves:
        sign = 1 if half.kind == "symmetric" else -1
        found = _lattice_of(wing, half.strips)
        swings = half.swinging
        omega, forms = normal(swings.system.mass, swings.system.stiffness, _MOST_MODES)
        ribs = _on_columns(half.strips, swings.up @ forms, swings.nose_up @ forms)
        columns = np.vstack([ribs, swings.turn @ forms])
        air = HarmonicAir(found.kappa, 2 * columns.T @ found.forces[sign] @ columns)
        point = harmonic_flutter(np.eye(len(omega)), np.diag(omega**2), air, density, LOSS[0])
        if point is not None and point.speed <= LAST:
            beating.append((half.kind, point.speed, point.omega / (2 * np.pi)))
        if sign > 0:
            columns = _on_columns(half.strips, half.held_up, half.held_nose_up)
            standing = 2 * columns.T @ found.forces[sign][0, :-1, :-1].real @ columns
            held = replace(half.held, air=_steady_air(standing, 0 * standing))
            twist_off = _speed(divergence(held), density)
        elif wing.elevons is not None and "roll" in wing.elevons.acts:
            columns = _on_columns(half.strips, half.up, half.nose_up)
            standing = 2 * columns.T @ found.forces[sign][0, :-1, :-1].real @ columns
            free = replace(half.free, air=_steady_air(standing, 2 * columns.T @ found.lasting @ columns))
            covered = half.strips.covered(wing.elevons) / half.strips.width
            flap = found.lattice.flap(covered, wing.elevons.hinge, sign)
            # Both sides, and for dynamic pressure in place of density V^2.
            turned = _speed(reversal(free, 2 * 2 * columns.T @ flap), density)
    return Latticed(tuple(sorted(beating, key=lambda each: each[1])), twist_off, turned)


@dataclass(frozen=True, eq=False)
class Elastic:
    """The pull-up with the lift where the bent and twisted wing puts it.

    Parameters
    ----------
    y, more_lift, more_moment : (s,) float arrays
        Of starboard strips: m; N; N m nose up about mid-chord; beyond those of the wing as built, with trim.
    turn : float
        Nose-up turn of the whole aeroplane that keeps the lift, rad.
    bending, rigid_bending : float
        Of the starboard side at the centre line, N m.
    up, rigid_up : float
        Of the outermost rib's mid-chord against the middle of the wing, m.
    twist, rigid_twist : float
        Of that rib, nose up, rad.
    """

    y: Array
    more_lift: Array
    more_moment: Array
    turn: float
    bending: float
    rigid_bending: float
    up: float
    rigid_up: float
    twist: float
    rigid_twist: float


def elastic(reduced: Reduced, stiffer: float = 1.0) -> Elastic | None:
    """The pull-up at its own speed, lift following twist by the lattice, total lift and pitch kept. With the
    wing's own stiffness times `stiffer`. None where the sides differ, and from nine tenths of the speed on at
    which it twists off, by the lattice, or trim ends: small differences decide there, and beyond it the
    figures mean nothing."""
    pull = reduced.pull
    half = next((one for one in reduced.halves if one.kind == "symmetric"), None)
    if half is None:
        return None
    strips = half.strips
    s, stiff, push = len(strips.y), stiffer * half.held.stiffness, 2 * _on_columns(*_held(half)).T
    by_place, by_trim, sums = _trims(reduced, half)
    if _trim_speeds(reduced, half, stiffer) < 1 / TOO_NEAR**2:
        return None
    place, trim, more = trimmed(stiff, half.held_pull, push, by_place, by_trim, sums)
    still = solved(stiff, half.held_pull)
    tip = len(reduced.rib_y) - 1
    return Elastic(
        strips.y,
        more[:s],
        more[s:],
        float(trim[0]),
        pull.bending + float(more[:s] @ strips.y),
        pull.bending,
        *(float(half.held_up[tip] @ q) for q in (place, still)),
        *(float(half.held_nose_up[tip] @ q) for q in (place, still)),
    )


def trim_ends(reduced: Reduced) -> float:
    """Speed from which nothing keeps a wing's lift and pitch, since it twists as fast as it is trimmed. m/s,
    by the lattice; infinite where trim always holds it, or the sides differ."""
    half = next((one for one in reduced.halves if one.kind == "symmetric"), None)
    return np.inf if half is None else float(reduced.case_speed * np.sqrt(_trim_speeds(reduced, half)))


def _held(half: Half) -> tuple[Strips, Array, Array]:
    return half.strips, half.held_up, half.held_nose_up


def _trim_speeds(reduced: Reduced, half: Half, stiffer: float = 1.0) -> float:
    """Pressure at which trim ends, or the held wing twists off, over that of the case; the lesser."""
    push = 2 * _on_columns(*_held(half)).T
    by_place, by_trim, sums = _trims(reduced, half)
    stiff = stiffer * half.held.stiffness
    follows = push @ by_place
    # Here air of unit density at unit speed is that of the pull-up, half of which is its pressure.
    off = 2 * divergence(replace(half.held, stiffness=stiff, air=_steady_air(follows, 0 * follows)))
    return min(off, trim_limit(stiff, push, by_place, by_trim, sums))


def _trims(reduced: Reduced, half: Half) -> tuple[Array, Array, Array]:
    """Pressures by place and by means of trim in the pull-up, and which sums of them must vanish.

    The whole turns nose up; without a tail elevons that act in pitch follow, or the sections' camber all
    along the span.
    """
    wing, pull, strips = reduced.wing, reduced.pull, half.strips
    plan = wing.planform
    assert plan is not None, "what flies has a planform"
    found, s = _lattice_of(wing, strips), len(strips.y)
    pressure = wing.case.air_density * reduced.case_speed**2
    standing = pressure * found.forces[1][0, : 2 * s, s : 2 * s].real
    # Starboard strips stand for both sides; moments about mid-chord, which lies so far behind the balance.
    arm = behind(plan, reduced.rib_y, strips, pull.balance_x)
    by_trim, sums = [standing @ np.ones(s)], [np.concatenate([np.ones(s), np.zeros(s)])]
    if not pull.tail:
        elevons = wing.elevons
        if elevons is not None and pull.trimmed_by == "elevons":
            covered = strips.covered(elevons) / strips.width
            by_trim.append(pressure * found.lattice.flap(covered, elevons.hinge, 1))
        else:
            by_trim.append(np.concatenate([np.zeros(s), strips.width * strips.chord**2]))
        sums.append(np.concatenate([-arm, np.ones(s)]))
    return standing @ _on_columns(*_held(half))[s:], np.array(by_trim).T, np.array(sums)


def _on_columns(strips: Strips, up: Array, nose_up: Array) -> Array:
    return np.vstack([strips.ribs @ up, strips.ribs @ nose_up])


def _steady_air(standing: Array, lasting: Array) -> Air:
    """Air of steady movement alone."""
    n = len(standing)
    return Air(
        np.zeros(0), 0 * standing, lasting, standing, np.zeros((n, 0)), np.zeros((0, n)), np.zeros((0, n))
    )


def grips(rolling: Half, force: Array, density: float, at: Array) -> Array:
    """Steady rate of roll, of that of the wing that does not twist.

    Parameters
    ----------
    rolling : Half
        Movement in which the sides are opposite.
    force : (n,) float array
        Of the controls, for unit dynamic pressure and angle.
    density : float
        kg/m3.
    at : (v,) float array
        Speeds, m/s.

    Returns
    -------
    (v,) float array
        1 at rest, below 0 beyond reversal.
    """

    def turning(speed: float) -> float:
        pressure = 0.5 * density * speed**2
        _, pace = steady(rolling.free, pressure, pressure * force)
        return float((rolling.up @ pace)[-1])

    first = turning(0.01)
    return np.array([turning(float(v)) / first for v in at])


def _speed(pressure: float, density: float) -> float:
    return float(np.sqrt(2 * pressure / density))


def _beating(reduced: Reduced, half: Half, point: Flutter, forms: Array, later: float) -> Beating:
    shape, swings = forms @ point.shape, half.swinging
    up, nose_up = swings.up @ shape, swings.nose_up @ shape
    tall = np.abs(up)
    # Of two sides that move as far rounding would choose.
    size = up[np.flatnonzero(tall > (1 - 1e-6) * tall.max())[-1]]
    turn = complex(swings.turn @ shape / size)
    y = reduced.rib_y
    there = y > -1e-9
    steep = np.abs(np.diff(nose_up[there]) / np.diff(y[there]))
    first = reduced.wing.first_bay
    bays = tuple(int(first + k) for k in np.flatnonzero(steep >= 0.5 * steep.max()))
    hertz = point.omega / (2 * np.pi)
    return Beating(half.kind, point.speed, hertz, later, bays, up / size, nose_up / size, turn)


@dataclass(frozen=True, eq=False)
class Help:
    """A change that may let the wing fly faster. With the mass of webs that it adds, kg, and the speeds of
    the wing changed."""

    words: str
    mass: float
    speeds: Speeds


FORWARD = 0.25
"""How far forward masses near the tips are moved to see what that does, of the chord there: a choice."""


def helps(drawn: Speeds, *, per_bay: int = 4) -> list[Help]:
    """What two kinds of change would do: masses near the tips forward, webs in open bays that twist most.
    That with the highest lowest speed first, those that do not raise it left out; none where nothing limits
    the wing."""
    wing = drawn.reduced.wing
    if not drawn.lowest[0]:
        return []
    tried = masses_forward(wing)
    bays = drawn.beating[0].bays if drawn.beating else tuple(bay for _, bay in bays_of(wing, wing.spars[0]))
    layout = as_drawn(wing)
    for spar in wing.spars:
        keys = [(spar.name, side, bay) for side, bay in bays_of(wing, spar) if bay in bays]
        new = {key: ("front",) for key in keys if key not in layout.webs and takes_webs(wing, spar, key[2])}
        if new:
            named = tuple(sorted({bay for _, _, bay in new}))
            words = f"front webs on the {spar.name} spar in {bay_words(named)}"
            tried.append((words, apply(wing, replace(layout, webs=layout.webs | new))))
    found = []
    for words, changed in tried:
        reduced = condense(changed, per_bay=per_bay)
        one = Help(words, reduced.web_mass - drawn.reduced.web_mass, speeds(reduced, follow=False))
        if one.speeds.lowest[1] > drawn.lowest[1] * 1.01:
            found.append(one)
    return sorted(found, key=lambda one: -one.speeds.lowest[1])


def masses_forward(wing: Wing) -> list[tuple[str, Wing]]:
    """Each mass near the tips moved forward, in words, and the wing with it."""
    assert wing.planform is not None, "what flies has a planform"
    out = []
    for k, item in enumerate(wing.masses):
        if item.y > wing.semispan / 2:
            step = FORWARD * float(wing.planform.chord.at(np.array([item.y]))[0])
            masses = (*wing.masses[:k], replace(item, x=item.x - step), *wing.masses[k + 1 :])
            out.append((f"{item.name} {say.length(step):.0f} forward", replace(wing, masses=masses)))
    return out


def bay_words(bays: tuple[int, ...]) -> str:
    """Bays 12 to 14; bay 3; bays 2, 5 and 7."""
    if len(bays) == 1:
        return f"bay {bays[0]}"
    if bays == tuple(range(bays[0], bays[-1] + 1)):
        return f"bays {bays[0]} to {bays[-1]}"
    return f"bays {', '.join(map(str, bays[:-1]))} and {bays[-1]}"
