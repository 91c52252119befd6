"""Elevons and ailerons: lift and section moment of a deflected flap along the span, in roll and in pitch.

By thin-aerofoil theory a flap turns the section's angle of no lift and adds a moment about its quarter chord
(H. Glauert, Theoretical relationships for an aerofoil with hinged flap, ARC R&M 1095, 1927, from memory;
closed forms, checked here against quadrature of the theory's integrals). The change of angle goes to the
vortex lattice of the wing, mirrored with its sign turned for roll; lift acts at the quarter chord of each
section and the moment besides. No gap, no thickness, no stall: real flaps give less, so that this is on the
hard side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from fea.arrays import Array
from fea.dense import solved
from models.loads.lifting_surface import ROWS, STRIPS, SurfaceLattice, horseshoe, strip_edges
from models.wing.parts import Elevons, Line, Planform


def flap_effectiveness(hinge: float) -> float:
    """Turn of the angle of no lift per flap angle, 1 - (t - sin t)/pi with cos t = 1 - 2 x at the hinge
    (of the chord): 0 with the hinge at the trailing edge, 1 at the leading edge.

    References
    ----------
    Glauert 1927, ARC R&M 1095 (from memory).
    """
    angle = float(np.arccos(1 - 2 * hinge))
    return 1 - (angle - float(np.sin(angle))) / np.pi


def flap_moment(hinge: float) -> float:
    """Moment coefficient about the quarter chord per flap angle, nose up, 1/rad, -sin t (1 - cos t)/2
    with cos t = 1 - 2 x at the hinge; negative: a flap that goes down pitches the section nose down.

    References
    ----------
    Glauert 1927, ARC R&M 1095 (from memory).
    """
    angle = float(np.arccos(1 - 2 * hinge))
    return -float(np.sin(angle) * (1 - np.cos(angle))) / 2


def hinge_slopes(hinge: float) -> tuple[float, float]:
    """Hinge-moment coefficients per angle of attack and per flap angle, on the flap's own chord squared.

    b1 = -[2 (pi - t) (2 cos t - 1) + 4 sin t - sin 2 t]/(4 F^2) and b2 = -[1 - cos 2 t - 2 (pi - t)^2
    (1 - 2 cos t) + 4 (pi - t) sin t]/(4 pi F^2), with cos t = 1 - 2 x at the hinge and F = 1 - x.

    Parameters
    ----------
    hinge : float
        x, of the chord from the leading edge.

    Returns
    -------
    b1, b2 : float
        1/rad; both negative: air pushes a flap up that goes down, and up where the wing lifts.

    References
    ----------
    Glauert 1927, ARC R&M 1095; Houghton and Carpenter, Aerodynamics for Engineering Students, the hinge
    moment coefficient (both looked up in part; checked by quadrature of the theory's pressures).
    """
    t, flap = float(np.arccos(1 - 2 * hinge)), 1 - hinge
    rest, c, s = np.pi - t, float(np.cos(t)), float(np.sin(t))
    b1 = -(2 * rest * (2 * c - 1) + 4 * s - np.sin(2 * t)) / (4 * flap**2)
    b2 = -(1 - np.cos(2 * t) - 2 * rest**2 * (1 - 2 * c) + 4 * rest * s) / (4 * np.pi * flap**2)
    return float(b1), float(b2)


def hinge_moment(
    planform: Planform, elevons: Elevons, y: Array, load: Array, width: Array, angle: float
) -> float:
    """Hinge moment of the starboard flap over the dynamic pressure, m3, trailing edge down.

    Every strip's angle of attack follows from its lift: c_l/(2 pi) less what the flap gives by itself. The
    camber's own share is left out.

    Parameters
    ----------
    planform : Planform
        Outline.
    elevons : Elevons
        Where they are.
    y, load, width : (n_strips,) float arrays
        Middle of strips of the starboard side, c c_l there of all that lifts, and their width, m.
    angle : float
        Of the flap, rad, trailing edge down.

    Returns
    -------
    float
        Times the dynamic pressure: N m, to be held by the servo with the opposite.
    """
    edges = np.concatenate([[0.0], np.cumsum(width)])
    low, high = np.maximum(edges[:-1], elevons.y_from), np.minimum(edges[1:], elevons.y_to)
    inside = np.maximum(high - low, 0.0)
    b1, b2 = hinge_slopes(elevons.hinge)
    chord = planform.chord.at(y)
    attack = load / (2 * np.pi * chord) - flap_effectiveness(elevons.hinge) * angle
    squared = ((1 - elevons.hinge) * chord) ** 2
    return float((inside * squared) @ (b1 * attack + b2 * angle))


@dataclass(frozen=True, eq=False)
class FlapLift:
    """Lift along the starboard half span of deflected elevons, strip by strip; c c_l in m.

    Parameters
    ----------
    y, width : (n_strips,) float arrays
        Middle and width of the strips, m, from the centre outward.
    roll : (n_strips,) float array
        Per radian, starboard down and port up; the port side has the opposite.
    damping : (n_strips,) float array
        Per tip helix angle p s/V, rolling starboard down; the port side has the opposite.
    pitch : (n_strips,) float array
        Per radian, both down, with the angle of attack changed so that the wing lifts as before.
    """

    y: Array
    width: Array
    roll: Array
    damping: Array
    pitch: Array

    def arm(self, load: Array) -> float:
        """Rolling moment of a load with its opposite to port, over the dynamic pressure, m3."""
        return float(2 * (load * self.width) @ self.y)

    @property
    def helix(self) -> float:
        """Tip helix angle of a steady roll per radian of deflection: damping takes all the moment."""
        return self.arm(self.roll) / self.arm(self.damping)


@lru_cache(maxsize=32)
def flap_lift(planform: Planform, elevons: Elevons) -> FlapLift:
    """Solve the lattice with flaps deflected; once for each wing, since trim and cases ask for the same."""
    # Ends of the flaps as points of the outline make edges of strips there.
    ends = np.array([elevons.y_from, elevons.y_to])
    at = np.union1d(planform.chord.y, ends)
    marked = replace(planform, chord=Line(at, planform.chord.at(at)))
    edges, y = strip_edges(marked, STRIPS, even=False)
    lattice = SurfaceLattice.of(marked, edges, y, ROWS)
    width = np.diff(edges)
    covered = np.minimum(edges[1:], ends[1]) - np.maximum(edges[:-1], ends[0])
    inside = np.clip(covered / width, 0.0, 1.0) * flap_effectiveness(elevons.hinge)
    own, mirrored = _influences(lattice)
    even = _solve(lattice, own + mirrored, np.stack([inside, np.ones_like(y)], axis=1))
    odd = _solve(lattice, own - mirrored, np.stack([inside, y / planform.semispan], axis=1))
    flap, angle = even.T
    pitch = flap - angle * (width @ flap) / (width @ angle)
    return FlapLift(y, width, odd[:, 0], odd[:, 1], pitch)


def _influences(lattice: SurfaceLattice) -> tuple[Array, Array]:
    """Velocity square to the surface at every point per unit circulation of every horseshoe, and of its
    mirror image."""
    points = lattice.points.reshape(-1, 3)
    inner, outer = lattice.inner.reshape(-1, 3), lattice.outer.reshape(-1, 3)
    cosine, sine = lattice.cosine.ravel()[:, None], lattice.sine.ravel()[:, None]
    flip = np.array([1.0, -1.0, 1.0])
    own, mirrored = horseshoe(points, inner, outer), flip * horseshoe(points * flip, inner, outer)
    return tuple(v[..., 2] * cosine - v[..., 1] * sine for v in (own, mirrored))  # type: ignore[return-value]


def _solve(lattice: SurfaceLattice, influence: Array, angles: Array) -> Array:
    """c c_l of the strips for local angles, (n_strips, n)."""
    rows = lattice.points.shape[0]
    right = -lattice.cosine.ravel()[:, None] * np.tile(angles, (rows, 1))
    vortices = solved(influence, right).reshape(rows, *angles.shape)
    return np.asarray(2 * vortices.sum(axis=0))


def pieces(flap: FlapLift, load: Array, ribs: Array, mirror: float) -> tuple[Array, Array]:
    """Strips of both sides cut at the ribs, so that each piece lies between two: middle (m), c c_l times
    length (m2).

    Parameters
    ----------
    flap : FlapLift
        Strips.
    load : (n_strips,) float array
        c c_l of the starboard ones, m.
    ribs : (n_ribs,) float array
        Of both sides, m.
    mirror : float
        1, or -1 where port has the opposite.

    Returns
    -------
    y, amount : (n,) float arrays
        m and m2.
    """
    # The middle of a cosine strip is not half way: its edges follow from the widths.
    edges = np.concatenate([[0.0], np.cumsum(flap.width)])
    cut = np.unique(np.concatenate([edges, np.abs(ribs)]))
    cut = cut[cut <= edges[-1] + 1e-12]
    middle = (cut[1:] + cut[:-1]) / 2
    own = load[np.clip(np.searchsorted(edges, middle) - 1, 0, len(load) - 1)] * np.diff(cut)
    return np.concatenate([-middle[::-1], middle]), np.concatenate([mirror * own[::-1], own])


def moment_pieces(planform: Planform, elevons: Elevons, ribs: Array, mirror: float) -> tuple[Array, Array]:
    """Section moment of flaps along both sides over dynamic pressure and flap angle: y (m), c^2 c_m dy (m3).

    Parameters
    ----------
    planform, elevons
        As for `hinge_moment`.
    ribs, mirror
        As for `pieces`.

    Returns
    -------
    y, amount : (n,) float arrays
        Points of a quadrature that is exact for a tapered chord.
    """
    ends = [elevons.y_from, elevons.y_to]
    cut = np.unique(np.concatenate([ends, np.abs(ribs), planform.chord.y]))
    cut = cut[(cut >= ends[0]) & (cut <= ends[1])]
    x, weight = np.polynomial.legendre.leggauss(3)
    half = np.diff(cut)[:, None] / 2
    y = ((cut[1:] + cut[:-1])[:, None] / 2 + half * x).ravel()
    amount = (half * weight).ravel() * planform.chord.at(y) ** 2 * flap_moment(elevons.hinge)
    return np.concatenate([-y[::-1], y]), np.concatenate([mirror * amount[::-1], amount])


def rolling_moment(planform: Planform, y: Array, twist: Array) -> float:
    """Rolling moment over the dynamic pressure, m3, positive where it lifts starboard, of a wing twisted
    by opposite angles on both sides: nose up (n,), rad, at rising stations of the starboard side (n,), m."""
    edges, middle = strip_edges(planform, STRIPS, even=False)
    lattice = SurfaceLattice.of(planform, edges, middle, ROWS)
    own, mirrored = _influences(lattice)
    load = _solve(lattice, own - mirrored, np.interp(middle, y, twist)[:, None])[:, 0]
    return float(2 * (load * np.diff(edges)) @ middle)
