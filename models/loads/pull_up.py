"""A pull-up: lift along the span on its chordwise line of action, balanced by the inertia of wing and
equipment.

Lift is n times the weight, spread by Schrenk or by the lifting surface at the pull-up's lift coefficient;
every rib gets its share as a pressure along its chord whose
resultant lies on the section's line of action: the lift line (quarter chord unless the file says otherwise)
and the section's pitching moment. The aeroplane is trimmed (`models.loads.trim`): by its elevons over their
own span, by a tail with a couple at the wing's centre, or, without either, by an even change of the sections'
moment along the span. Everything grows in proportion with the load factor, as at one lift coefficient and
growing speed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.assembly import Assembly, rigid_motions
from fea.structure import Loads
from models import units_out as say
from models.gravity import GRAVITY
from models.loads.schrenk import schrenk_span
from models.loads.span_loading import SpanLoading, rib_shares
from models.loads.trim import Trimmer, trimmer
from models.rounding import down
from models.structure.model import Model
from models.wing.mean_line import section_moments
from models.wing.parts import LoadCase, Planform, Wing


@dataclass(frozen=True, eq=False)
class PullUp:
    """The loads of a pull-up and what went into them; forces of the modelled half where the model is half a
    wing.

    Parameters
    ----------
    load_factor : float
        n.
    flying_mass : float
        Of the whole aeroplane, kg.
    wing_mass : float
        Structure, covering and point masses of the whole wing, kg.
    lift : float
        n W of the whole aeroplane, N.
    loads : Loads
        Outer loads on the nodes (lift, trim, and the carried part of the weight of what is not modelled).
    rib_y, rib_lift, rib_moment, rib_x : (n_ribs,) float arrays
        Station (m), lift (N), nose-up moment about the line of action (N m) and line of action (m) at every
        rib.
    trim_moment : float
        Nose-up moment that trims the aeroplane, N m, both sides.
    trimmed_by : str
        "tail", "elevons" or "sections".
    trim_coefficient : float
        The moment as a change of the sections' moment coefficient; 0 where a tail or elevons trim.
    elevon : float
        Deflection of elevons that trim, rad, trailing edge down; 0 where others do.
    structural_mass : dict of str to float
        Both sides, kg.
    balance_x : float
        Centre of gravity of what is modelled, m aft.
    lift_x : float
        Centre of the lift, m aft.
    """

    load_factor: float
    flying_mass: float
    wing_mass: float
    lift: float
    loads: Loads
    rib_y: Array
    rib_lift: Array
    rib_moment: Array
    rib_x: Array
    trim_moment: float
    trimmed_by: str
    trim_coefficient: float
    elevon: float
    structural_mass: dict[str, float]
    balance_x: float
    lift_x: float


def pull_up(model: Model, assembly: Assembly, ribs: RibLoads | None = None) -> PullUp:
    """Loads of the wing's pull-up; `ribs` of the same wing at another load factor or speed, where they are
    there.

    Raises
    ------
    LightAeroplane
        The flying mass in the file is less than that of the wing itself.
    """
    mass, centre = _mass_and_centre(model, assembly)
    ribs = rib_loads(model) if ribs is None else replace(ribs, wing=model.wing)
    one = ribs.balanced(np.array([mass]), centre[:1])
    (rib_lift,), (moment,), (roll,) = ribs.carried(one)
    nodal = np.zeros((len(model.structure.nodes), 6, 1))
    pressed_on_ribs(model, panel_ribs(model), rib_lift, moment, ribs.line, roll, nodal)
    hung_at_centre(model, float(one.hung[0]), float(one.tail[0]), float(centre[0]), nodal)
    by = "tail" if one.by_tail[0] else ribs.trims.by
    amount = float(one.trim[0])
    return PullUp(
        model.wing.case.load_factor,
        float(one.flying[0]),
        ribs.sides * mass,
        float(one.lift[0]),
        Loads(nodal),
        ribs.stations,
        rib_lift,
        moment,
        ribs.line,
        float(one.trim_moment[0]),
        by,
        amount if by == "sections" else 0.0,
        amount if by == "elevons" else 0.0,
        {k: ribs.sides * v for k, v in model.structural_mass.items()},
        float(centre[0]),
        float((rib_lift * ribs.line).sum() / rib_lift.sum()),
    )


@dataclass(frozen=True, eq=False)
class PullUpBalance:
    """What pull-ups of wings of some masses come to, (n,) each.

    Parameters
    ----------
    flying : (n,) float array
        Mass of the whole aeroplane, kg.
    lift : (n,) float array
        Of the whole aeroplane, N.
    pressure : (n,) float array
        Dynamic, Pa.
    trim : (n,) float array
        Of what the wing itself trims with: deflection of the elevons, rad, or change of c_m.
    trim_moment : (n,) float array
        Nose-up moment that trims the aeroplane, N m, both sides.
    by_tail : (n,) bool array
        Whether a tail gives that.
    hung : (n,) float array
        Force up at the centre section, at the centre of gravity of what is modelled, N, of what is modelled.
    tail : (n,) float array
        Nose-up couple of a tail at the centre section, N m, of what is modelled.
    """

    flying: Array
    lift: Array
    pressure: Array
    trim: Array
    trim_moment: Array
    by_tail: NDArray[np.bool_]
    hung: Array
    tail: Array


@dataclass(frozen=True, eq=False)
class RibLoads:
    """What a pull-up puts on the ribs of a wing, as far as it does not hang on the wing's mass.

    Parameters
    ----------
    wing : Wing
        Flying.
    sides : float
        2 where half of it is modelled.
    stations, line : (n_ribs,) float array
        Ribs, and the line of action of their lift, m.
    share, basic : (2, n_ribs) float array
        Lift of every rib, and its moment about x (m), per unit of lift: share, and basic at a lift
        coefficient of 1, which goes with 1 over it.
    sections, area, chord : (n_ribs,) float array
        Pitching moment coefficients, and what they count for, m2 and m.
    trims : Trimmer
        What the wing itself trims with.
    """

    wing: Wing
    sides: float
    stations: Array
    line: Array
    share: Array
    basic: Array
    sections: Array
    area: Array
    chord: Array
    trims: Trimmer

    def _over(self, lift: Array, pressure: Array) -> Array:
        """1 over the lift coefficient."""
        assert self.wing.planform is not None
        return pressure * self.wing.planform.area / lift

    def balanced(self, mass: Array, centre: Array) -> PullUpBalance:
        """Pull-ups of wings that differ in mass: what is modelled weighs (n,) kg and lies (n,) m aft.

        Raises
        ------
        LightAeroplane
            The flying mass in the file is less than that of a wing itself.
        """
        wing, case = self.wing, self.wing.case
        assert wing.planform is not None
        wing_mass = self.sides * mass
        flying = np.full(len(mass), case.flying_mass) if case.flying_mass else wing_mass
        if (flying < wing_mass * (1 - 1e-9)).any():
            worst = int(np.argmin(flying - wing_mass))
            raise LightAeroplane(float(flying[worst]), float(wing_mass[worst]))
        lift = case.load_factor * flying * GRAVITY
        pressure = np.array([dynamic_pressure(case, v, wing.planform.area) for v in lift.tolist()])
        rib_lift = (self.share[0] + self._over(lift, pressure)[:, None] * self.basic[0]) * lift[:, None]
        moment = pressure[:, None] * self.sections * self.area * self.chord
        # About the balance point of the modelled mass; inertia acts there, n g each kilogram.
        nose_up = (moment - rib_lift * (self.line - centre[:, None])).sum(axis=1) * self.sides
        fuselage = flying - wing_mass
        heavy = fuselage > 1e-6 * flying
        tailed = heavy | any(m.carried_by == "fuselage" for m in wing.masses)
        by_tail = tailed & (self.trims.by == "sections")
        return PullUpBalance(
            flying,
            lift,
            pressure,
            np.where(by_tail, 0.0, -nose_up / (self.sides * pressure * self.trims.pitch)),
            -nose_up,
            by_tail,
            np.where(heavy, -fuselage * (case.load_factor * GRAVITY) / self.sides, 0.0),
            np.where(by_tail, -nose_up / self.sides, 0.0),
        )

    def carried(self, found: PullUpBalance) -> tuple[Array, Array, Array]:
        """Lift (N), nose-up moment about the line of action and moment about x (N m) of every rib,
        (n, n_ribs) each."""
        over, trimming = self._over(found.lift, found.pressure), (found.pressure * found.trim)[:, None]
        lift, roll = (
            (share + over[:, None] * basic) * found.lift[:, None]
            for share, basic in zip(self.share, self.basic)
        )
        moment = found.pressure[:, None] * self.sections * self.area * self.chord
        return (
            lift + trimming * self.trims.lift,
            moment + trimming * self.trims.moment,
            roll + trimming * self.trims.roll,
        )

    def columns(self) -> Array:
        """Lift, nose-up moment and moment about x of every rib as columns, (4, 3, n_ribs): per unit of the
        lift, of the lift over its coefficient, of the dynamic pressure, and of that times what trims."""
        none = np.zeros_like(self.line)
        return np.array(
            [
                [self.share[0], none, self.share[1]],
                [self.basic[0], none, self.basic[1]],
                [none, self.sections * self.area * self.chord, none],
                [self.trims.lift, self.trims.moment, self.trims.roll],
            ]
        )

    def amounts(self, found: PullUpBalance) -> Array:
        """How much of each of the `columns` wings have, (n, 4)."""
        lift, pressure = found.lift, found.pressure
        return np.stack([lift, lift * self._over(lift, pressure), pressure, pressure * found.trim], axis=1)


def rib_loads(model: Model) -> RibLoads:
    """What a pull-up puts on the ribs of a flying wing, whatever it weighs."""
    wing, case, plan = model.wing, model.wing.case, model.wing.planform
    assert plan is not None, "a pull-up needs a planform"
    stations = model.y[panel_ribs(model)]
    # A lattice's loading at a lift coefficient c is a + b/c of unit lift, Schrenk's the same at any.
    share = np.stack(rib_shares(span_loading(plan, case, 1.0), stations))
    basic = np.zeros_like(share)
    if case.lift_method == "surface":
        basic = 2 * (share - np.stack(rib_shares(span_loading(plan, case, 2.0), stations)))
        share = share - basic
    span = np.abs(stations)
    chord = plan.chord.at(span)
    line = plan.leading_edge_x.at(span) + case.lift_line * chord
    area = rib_areas(stations, plan.semispan, chord)
    return RibLoads(
        wing,
        2.0 if model.half else 1.0,
        stations,
        line,
        share,
        basic,
        section_moments(plan, case, span),
        area,
        chord,
        trimmer(model, stations, line, area * chord),
    )


def dynamic_pressure(case: LoadCase, lift: float, area: float) -> float:
    """Dynamic pressure, Pa, from the case's speed, or from lift (N), area (m2) and lift coefficient."""
    if case.speed:
        return 0.5 * case.air_density * case.speed**2
    return lift / (case.lift_coefficient * area)


def span_loading(planform: Planform, case: LoadCase, lift_coefficient: float) -> SpanLoading:
    """Lift along the span by the method that the case names, at a lift coefficient of the wing."""
    if case.lift_method == "surface":
        from models.loads.lifting_surface import lifting_surface  # few wings ask for it

        return lifting_surface(planform).loading(lift_coefficient)
    return schrenk_span(planform)


def root_bending(planform: Planform, method: str, lift_coefficient: float) -> float:
    """Bending moment on the centre line over that of the same lift in the middle of the half spans, by
    "schrenk" or "surface" at a lift coefficient of the wing: 1 for an even load; 8/(3 pi) for an ellipse."""
    if method == "surface":
        from models.loads.lifting_surface import lifting_surface  # few wings ask for it

        surface = lifting_surface(planform)
        y, force = surface.y, surface.load(lift_coefficient) * surface.width
    else:
        loading = schrenk_span(planform)
        y, weight = loading.points(np.array([0.0, planform.semispan]), both=False)
        force = loading.per_length(y, 1.0) * weight
    return float(2 * (force @ y) / (force.sum() * planform.semispan))


def air_speed(case: LoadCase, lift: float, area: float) -> float:
    """Speed of a pull-up, m/s: the file's, or that at which its lift coefficient gives the lift (N)."""
    return case.speed or float(np.sqrt(2 * lift / (case.air_density * area * case.lift_coefficient)))


def growing_words(case: LoadCase, lift: float, area: float, factor: float) -> str:
    """How loads grow up to a failure, in a sentence; said once, and meant by every load factor at failure but
    those of `envelope` at a speed.

    All loads of the pull-up grow alike: lift, inertia, what trims and, with the speed squared, the sections'
    moment, so that the angle of attack stays. At a speed that stays, lift alone grows; `models.studies.
    envelope` tells that. Both are one at one point: the load factor at failure of `check` is the envelope's
    at the speed that is told here.

    Parameters
    ----------
    case : LoadCase
        Of the pull-up.
    lift : float
        N.
    area : float
        m2.
    factor : float
        Reserve factor of the first failure.
    """
    speed = air_speed(case, lift, area)
    said = "All loads grow alike up to failure, at one angle of attack: "
    said += f"{down(factor * case.load_factor)} g are at {say.speed(speed * np.sqrt(factor)):.0f}"
    if not case.speed:
        said += f" (without a speed in the file by its lift coefficient of {case.lift_coefficient:.3g})"
    return f"{said}; `sparbay envelope` has every speed."


METHODS_APART = 0.1
"""Share by which Schrenk's bending moment may differ from the lifting surface's before it is told."""


def lift_words(planform: Planform, case: LoadCase, lift: float) -> str | None:
    """A sentence where both methods of spreading the lift (N) differ by over `METHODS_APART`, or None."""
    coefficient = lift / (dynamic_pressure(case, lift, planform.area) * planform.area)
    schrenk, surface = (root_bending(planform, method, coefficient) for method in ("schrenk", "surface"))
    apart = schrenk / surface - 1
    if abs(apart) <= METHODS_APART:
        return None
    more = f"{100 * abs(apart):.0f} % {'more' if apart > 0 else 'less'}"
    taken = {"schrenk": "Schrenk's", "surface": "the lifting surface's"}[case.lift_method]
    return (
        f"Schrenk's rule, which knows neither sweep nor washout, bends the centre {more} than the lifting "
        f"surface does: {taken} lift is taken here (`case.lift`)."
    )


class LightAeroplane(ValueError):
    """The flying mass that the file gives is less than the wing's own; both in kg."""

    def __init__(self, flying: float, wing: float) -> None:
        self.flying, self.wing = flying, wing
        super().__init__(
            f"flying mass {say.whole_mass(flying):.3f} is less than the {say.whole_mass(wing):.3f} of "
            "the wing and what it carries"
        )


def _mass_and_centre(model: Model, assembly: Assembly) -> tuple[float, Array]:
    """Mass of what is modelled, kg, and its centre, m."""
    motions = rigid_motions(model.structure.nodes, assembly.freedoms)
    first = motions.T @ assembly.rigid_inertia()[:, :3]
    mass = float(first[2, 2])
    # Rows of rotations against unit movements hold the static moments: about y against z gives -m x.
    x, y, z = -first[4, 2] / mass, first[3, 2] / mass, first[4, 0] / mass
    return mass, np.array([x, y, z])


def panel_ribs(model: Model) -> Ints:
    """Mesh stations of the ribs, in rising order."""
    return np.sort(model.rib_station)


def rib_areas(stations: Array, semispan: float, chord: Array) -> Array:
    """Area that each rib answers for, m2."""
    low = -semispan if stations.min() < -1e-9 else 0.0
    bounds = np.concatenate([[low], (stations[1:] + stations[:-1]) / 2, [semispan]])
    return np.diff(bounds) * chord


class OnRibNodes(NamedTuple):
    """What ribs' loads put on their nodes.

    Parameters
    ----------
    node, rib : (m,) int array
        Node, and which of the ribs it is of.
    share : (m,) float array
        Of the chord of its rib that it answers for.
    force, couple : (m,) float array
        Force up, N, and nose-up couple, N m.
    """

    node: Ints
    rib: Ints
    share: Array
    force: Array
    couple: Array


def on_rib_nodes(model: Model, ribs: Ints, lift: Array, moment: Array, line: Array) -> OnRibNodes:
    """Ribs' lifts and nose-up moments on their nodes, as pressures linear along the chord.

    Parameters
    ----------
    model : Model
        Flying.
    ribs : (n,) int array
        Mesh stations of ribs.
    lift, moment, line : (n,) float array
        Lift, N, nose-up moment about its line of action, N m, and where that is, m aft.
    """
    found = [rib_nodes(model, j) for j in ribs.tolist()]
    sizes = [len(nodes) for nodes, _, _ in found]
    rib, first = np.repeat(np.arange(len(ribs)), sizes), np.cumsum([0, *sizes[:-1]])
    node, x, share = (np.concatenate(column) for column in zip(*found))

    def summed(value: Array) -> Array:
        return np.asarray(np.add.reduceat(value, first))

    # Two unknowns, mean and slope of the pressure, from force and moment about the line of action (nose-up:
    # -x F).
    from_mean, arm = x - (summed(x) / sizes)[rib], x - line[rib]
    all_of, first_of = summed(share), summed(share * from_mean)
    about, slope_about = summed(arm * share), summed(arm * share * from_mean)
    # Nothing but one spar's caps bears a couple about their axis alone.
    wide = np.maximum.reduceat(x, first) - np.minimum.reduceat(x, first) > 1e-6
    both = np.where(wide, all_of * slope_about - first_of * about, 1.0)
    mean = np.where(wide, (lift * slope_about + moment * first_of) / both, lift)
    slope = np.where(wide, -(moment * all_of + lift * about) / both, 0.0)
    force = share * (mean[rib] + slope[rib] * from_mean)
    couple = np.where(wide, 0.0, moment + summed(force * arm))
    return OnRibNodes(node, rib, share, force, couple[rib] * share)


def pressed_on_ribs(
    model: Model, ribs: Ints, lift: Array, moment: Array, line: Array, roll: Array, nodal: Array
) -> None:
    """Put ribs' loads on their nodes.

    Parameters
    ----------
    model, ribs, lift, moment, line
        As for `on_rib_nodes`.
    roll : (n,) float array
        Moment about x, N m.
    nodal : (n_nodes, 6, 1) float array
        Loads, added to.
    """
    at = on_rib_nodes(model, ribs, lift, moment, line)
    np.add.at(nodal[:, 2, 0], at.node, at.force)
    np.add.at(nodal[:, 3, 0], at.node, roll[at.rib] * at.share)
    np.add.at(nodal[:, 4, 0], at.node, at.couple)


def rib_nodes(model: Model, j: int) -> tuple[Ints, Array, Array]:
    """Nodes of a rib, their x, and the share of the chord that each answers for."""
    if j not in model.of_ribs:
        model.of_ribs[j] = _of_rib(model, j)
    return model.of_ribs[j]


def _of_rib(model: Model, j: int) -> tuple[Ints, Array, Array]:
    nodes, x, share = [], [], []
    there = [line for line in model.chordlines if line.upper[j] >= 0 and line.lower[j] >= 0]
    xs = np.array([line.x[j] for line in there])
    if len(xs) > 1:
        bounds = np.concatenate([[xs[0]], (xs[1:] + xs[:-1]) / 2, [xs[-1]]])
        width = np.diff(bounds)
    else:
        width = np.ones(1)
    for line, w in zip(there, width / width.sum()):
        for node in (int(line.upper[j]), int(line.lower[j])):
            nodes.append(node)
            x.append(float(model.structure.nodes[node, 0]))
            share.append(w / 2)
    return np.array(nodes, dtype=np.intp), np.array(x), np.array(share)


def hung_at_centre(model: Model, force: float, couple: float, x: float, nodal: Array) -> None:
    """Put what hangs on the centre section on the spars' caps there, shared alike.

    Parameters
    ----------
    model : Model
        Flying.
    force, couple, x : float
        Force up, N, at x, m aft, and nose-up couple, N m.
    nodal : (n_nodes, 6, 1) float array
        Loads, added to.
    """
    j = int(np.argmin(np.abs(model.y)))
    caps = model.cap_nodes[:, :, j].ravel()
    at = model.structure.nodes[caps]
    count = len(caps)
    nodal[caps, 2, 0] += force / count
    turn = couple - float((-(at[:, 0] - x) * force / count).sum())
    nodal[caps, 4, 0] += turn / count
