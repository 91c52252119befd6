"""Load cases of a whole wing: the pull-up, elevons in roll and pitch, landing, launch, carrying.

A wing in the air or thrown about is held by nothing: what acts from outside is listed, and the inertia of
wing and body balances it. Gravity is not among the loads, since it pulls on every part alike; the wing feels
what holds it up. A wing that is carried is held where it is carried, and its weight is the load.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from models.gravity import GRAVITY
from models.loads.body import LENGTH, WIDTH, Body, wing_inertia
from models.loads.diagrams import axis_points, lumped
from models.loads.pull_up import (
    PullUp,
    RibLoads,
    air_speed,
    hung_at_centre,
    pressed_on_ribs,
    pull_up,
    rib_areas,
    rib_loads,
)
from models.loads.trim import trimmer
from models.rounding import gees
from models.structure.model import Model
from models.wing.parts import Landing, Planform

PULL_UP = "pull-up"
"""Name of the case that is first."""
KINDS = ("flight", "landing", "launch", "carrying")
IN_THE_AIR = ("flight", "launch")
"""Those that a wing must bear to be fit; what landing and carrying break does not end a flight."""


@dataclass(frozen=True, eq=False)
class CaseLoads:
    """What acts on the wing in one case.

    Parameters
    ----------
    name : str
        Short.
    kind : str
        One of `KINDS`.
    acts : str
        What acts, in words, with its size.
    stated : bool
        A size in it is a stated one without a source.
    put : callable
        What puts the loads on, asked once they are wanted.
    load_factor : float
        n of flight; 1 where there is no such thing.
    held : tuple of (Ints, str)
        Nodes and directions ("xz") that hold it; empty for a wing held by nothing.
    speed : float
        m/s, where the wing's own twist is to be counted; 0 where not.
    keeps : str
        What stays as it twists: one of `models.loads.elastic_lift.KEEPS`, or "".
    """

    name: str
    kind: str
    acts: str
    stated: bool
    put: Callable[[], Array]
    load_factor: float = 1.0
    held: tuple[tuple[Ints, str], ...] = ()
    speed: float = 0.0
    keeps: str = ""

    @cached_property
    def nodal(self) -> Array:
        """Loads from outside, (n_nodes, 6, 1), N and N m; of a wing that is carried its weight."""
        return self.put()


@dataclass(frozen=True, eq=False)
class Situation:
    """A built wing, its pull-up and the rest of the aeroplane: what every case starts from.

    `model`: both sides of a flying wing; for its pull-up alone one will do. `assembly`: of its structure.
    `flight`: the pull-up in the file. `body`: the rest of the aeroplane.
    """

    model: Model
    assembly: Assembly
    flight: PullUp
    body: Body

    @classmethod
    def of(cls, model: Model, assembly: Assembly) -> Situation:
        """Of a model of both sides, or of one: then the body has no mass, its weight hangs on the centre
        section as in `models.loads.pull_up`.

        Raises
        ------
        models.loads.pull_up.LightAeroplane
            The flying mass is less than the wing's own.
        """
        flight = pull_up(model, assembly)
        height = float(model.structure.nodes[model.centre_caps, 2].mean())
        mass = flight.flying_mass - flight.wing_mass
        mass = 0.0 if model.half or mass <= 1e-6 * flight.flying_mass else mass
        landing = model.wing.landing
        assert landing is not None, "a flying wing lands"
        length = landing.body_length or LENGTH * 2 * model.wing.semispan
        at = np.array([flight.balance_x, 0.0, height])
        return cls(model, assembly, flight, Body(mass, at, length, landing.body_width or WIDTH * length))

    @cached_property
    def _pull_ups(self) -> dict[tuple[float, float], PullUp]:
        """By load factor and speed, those that were asked for."""
        return {}

    @cached_property
    def _rib_loads(self) -> RibLoads:
        """What a pull-up puts on the ribs, at any load factor and speed."""
        return rib_loads(self.model)

    @property
    def weight(self) -> float:
        """Of the whole aeroplane, N."""
        return self.flight.flying_mass * GRAVITY

    @property
    def centre(self) -> Array:
        """Centre of gravity of wing and body, (3,), m."""
        whole = wing_inertia(self.model, self.assembly) + self.body.inertia()
        # Rows of turns against unit movements hold the static moments.
        return np.array([-whole[4, 2], whole[3, 2], whole[4, 0]]) / whole[0, 0]

    @property
    def planform(self) -> Planform:
        """The wing's outline."""
        plan = self.model.wing.planform
        assert plan is not None, "a flying wing has a planform"
        return plan

    @property
    def landing(self) -> Landing:
        """How it lands and is carried."""
        assert self.model.wing.landing is not None, "a flying wing lands"
        return self.model.wing.landing

    @property
    def sides(self) -> tuple[int, ...]:
        """Sides that need a case of their own: starboard (1) alone where both sides are the same."""
        return (1, -1) if self.model.wing.whole else (1,)

    @property
    def speed(self) -> float:
        """Of the pull-up, m/s."""
        return air_speed(self.model.wing.case, self.flight.lift, self.planform.area)

    @property
    def ribs(self) -> Ints:
        """Mesh stations of the ribs from port to starboard."""
        return np.sort(self.model.rib_station)

    def nothing(self) -> Array:
        """No load, (n_nodes, 6, 1)."""
        return np.zeros((len(self.model.structure.nodes), 6, 1))

    def flown(self, load_factor: float, speed: float = 0.0) -> PullUp:
        """The pull-up at another load factor and speed (m/s; 0: at the lift coefficient of the load case)."""
        if (load_factor, speed) not in self._pull_ups:
            case = replace(self.model.wing.case, load_factor=load_factor, speed=speed)
            model = replace(self.model, wing=replace(self.model.wing, case=case))
            self._pull_ups[load_factor, speed] = pull_up(model, self.assembly, self._rib_loads)
        return self._pull_ups[load_factor, speed]

    def lifted(self, load_factor: float, speed: float = 0.0) -> Array:
        """Loads of the air in trimmed flight, (n_nodes, 6, 1), N and N m: at a load factor of 0
        nothing, the section's moment left out; at a speed (m/s) of 0 at the lift coefficient of the
        load case."""
        if load_factor == 0:
            return self.nothing()
        model = self.model
        nodal = self.flown(load_factor, speed).loads.nodal.copy()
        # The pull-up hangs the body's weight on the centre section; here its inertia does that.
        if self.body.mass > 0:
            hung_at_centre(model, self.body.mass * load_factor * GRAVITY, 0.0, self.flight.balance_x, nodal)
        return nodal

    def on_ribs(self, lift: tuple[Array, Array], moment: tuple[Array, Array]) -> Array:
        """Lift (N) on the quarter-chord line and nose-up moments (N m) about it, each (y in m,
        amount) of both sides, on the ribs, (n_nodes, 6, 1)."""
        stations = self.model.y[self.ribs]
        force, first, last = lumped(stations, *lift)
        turn, _, _ = lumped(stations, *moment)
        roll = np.zeros(len(stations))
        roll[0] += first
        roll[-1] += last
        return self._put(force, turn, roll, axis_points(self.planform, stations)[:, 0])

    def _put(self, force: Array, turn: Array, roll: Array, line: Array) -> Array:
        """Lift, moments about its line and about x of every rib, on the ribs."""
        nodal = self.nothing()
        pressed_on_ribs(self.model, self.ribs, force, turn, line, roll, nodal)
        return nodal

    def trimming(self, moment: float) -> Array:
        """A nose-up moment, N m, from what trims the aeroplane: `models.loads.trim`."""
        flight = self.flight
        if flight.trimmed_by == "tail":
            nodal = self.nothing()
            hung_at_centre(self.model, 0.0, moment, flight.balance_x, nodal)
            return nodal
        stations = self.model.y[self.ribs]
        chord = self.planform.chord.at(np.abs(stations))
        weights = rib_areas(stations, self.planform.semispan, chord) * chord
        trims = trimmer(self.model, stations, flight.rib_x, weights)
        size = moment / trims.pitch
        return self._put(size * trims.lift, size * trims.moment, size * trims.roll, flight.rib_x)


def pull_up_case(situation: Situation) -> CaseLoads:
    """The pull-up that the file asks for."""
    n = situation.flight.load_factor
    speed = situation.model.wing.case.speed
    return CaseLoads(
        PULL_UP,
        "flight",
        f"{gees(n)} g, trimmed",
        False,
        lambda: situation.lifted(n, speed),
        n,
        speed=situation.speed,
        keeps="trim",
    )


def load_cases(situation: Situation) -> tuple[CaseLoads, ...]:
    """All cases that the file asks for, the pull-up first."""
    # Each kind looks at this module for the records, so that they come in only here.
    from models.loads import carrying, elevon_cases, landing, launch

    more: tuple[Callable[[Situation], tuple[CaseLoads, ...]], ...] = (
        elevon_cases.cases,
        landing.cases,
        launch.cases,
        carrying.cases,
    )
    return (pull_up_case(situation), *(case for kind in more for case in kind(situation)))
