"""Lift of the actual planform by a vortex lattice: horseshoe vortices on the wing's mean surface.

Each panel has its bound vortex at a quarter of its chord and its point of no flow at three quarters; the
trailing legs run straight aft. Sweep, taper and dihedral shape the lattice, camber and washout turn the
surface's slope (small angles, incompressible, no stall, no thickness, no fuselage). Falkner 1943 (ARC R&M
1910); Bertin and Smith, Aerodynamics for Engineers, chapter on wings of finite span (both from memory); the
place of the points is that of Pistolesi and James 1972 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from fea.arrays import Array
from fea.cubic import cubic
from fea.dense import solved
from models.loads.span_loading import SpanLoading
from models.wing.parts import Planform

STRIPS = 40
"""Strips along a half span."""
ROWS = 8
"""Panels along the chord."""
_STEP = 0.01
"""Half the length over which the slope of the mean line is taken, of the chord: a coordinate file's own noise
is shorter."""


@dataclass(frozen=True, eq=False)
class LiftingSurface:
    """Lift, moment and induced drag of a planform at any angle: both sides, starboard strips shown.

    Parameters
    ----------
    semispan : float
        m.
    area : float
        Projected, both sides, m2.
    mean_chord : float
        Mean aerodynamic chord, m.
    y, width : (n_strips,) float arrays
        Middle and width of the strips along y, from the centre outward, m.
    additional : (n_strips,) float array
        c c_l per radian of angle of attack, m.
    basic : (n_strips,) float array
        c c_l at no angle of attack, from camber and washout, m.
    lift_slope : float
        dC_L/dalpha per radian.
    zero_lift_angle : float
        Of the centre section's chord, rad.
    neutral_x : float
        Aerodynamic centre of the bare wing, m aft of the apex: where the moment does not change with lift.
    zero_lift_moment : float
        C_m at no lift, on area and mean aerodynamic chord, nose up.
    wake : (n_strips, n_strips) float array
        Downwash far behind, square to the wake, per unit load c c_l, times each strip's length, -.
    """

    semispan: float
    area: float
    mean_chord: float
    y: Array
    width: Array
    additional: Array
    basic: Array
    lift_slope: float
    zero_lift_angle: float
    neutral_x: float
    zero_lift_moment: float
    wake: Array

    def angle(self, lift_coefficient: float) -> float:
        """Angle of attack of the centre section's chord at a lift coefficient, rad."""
        return self.zero_lift_angle + lift_coefficient / self.lift_slope

    def load(self, lift_coefficient: float) -> Array:
        """c c_l of the strips at a lift coefficient of the wing, m; (n_strips,)."""
        return self.basic + self.angle(lift_coefficient) * self.additional

    def moment_coefficient(self, lift_coefficient: float, x: float) -> float:
        """C_m about x (m aft of the apex) on area and mean aerodynamic chord, nose up."""
        return self.zero_lift_moment - lift_coefficient * (self.neutral_x - x) / self.mean_chord

    def induced_drag(self, lift_coefficient: float) -> float:
        """C_Di from the wake far behind (Trefftz plane)."""
        load = self.load(lift_coefficient)
        return float(load @ self.wake @ load) / self.area

    def loading(self, lift_coefficient: float) -> SpanLoading:
        """Lift per length along the span as a smooth curve through the strips (a cubic spline over the angle
        arcsin(y/s), nothing at the tips): the load that grows with lift, and that at no lift beside it."""
        at, semispan = np.arcsin(self.y / self.semispan), self.semispan
        angles = np.concatenate([[-np.pi / 2], -at[::-1], at, [np.pi / 2]])
        both = np.stack([self.additional, self.load(0.0)], axis=1)
        curves = cubic(angles, np.concatenate([np.zeros((1, 2)), both[::-1], both, np.zeros((1, 2))]))

        def on(y: Array) -> Array:
            return np.asarray(curves(np.arcsin(np.clip(y / semispan, -1.0, 1.0))))

        growing = SpanLoading.normalised(semispan, lambda y: on(y)[..., 0], self.y)
        y, weight = growing.points(np.array([0.0, semispan]), both=False)
        # Nothing in all by the strips; by the curve through them but for its own error.
        left = 2 * float(on(y)[..., 1] @ weight)

        def shape(y: Array) -> Array:
            unit = growing.shape(y)
            return np.asarray(unit + (on(y)[..., 1] - left * unit) / (lift_coefficient * self.area))

        return SpanLoading(semispan, shape, self.y)


def lifting_surface(
    planform: Planform, *, strips: int = STRIPS, rows: int = ROWS, even: bool = False
) -> LiftingSurface:
    """Solve the lattice for unit angle of attack and for camber and washout.

    Parameters
    ----------
    planform : Planform
        Outline, sections, washout.
    strips, rows : int
        Panels along a half span and along the chord.
    even : bool, default False
        Strips of one width; else they narrow towards the tip as the cosine.
    """
    lines = (planform.chord, planform.leading_edge_x, planform.leading_edge_z, planform.washout)
    sections = (planform.section_y, planform.section_x, planform.section_upper, planform.section_lower)
    arrays = [planform.semispan, *(line.y for line in lines), *(line.value for line in lines), *sections]
    figures = tuple(np.asarray(one, dtype=float).tobytes() for one in arrays)
    return _solved(_Outline(figures, planform), strips, rows, even)


@dataclass(frozen=True)
class _Outline:
    """A planform, alike to any of the same figures: a file read again with other webs, say, has the same."""

    figures: tuple[bytes, ...]
    planform: Planform = field(compare=False)


@lru_cache(maxsize=32)
def _solved(outline: _Outline, strips: int, rows: int, even: bool) -> LiftingSurface:
    """`lifting_surface`, once for each outline: lift, gusts and balance of one wing ask for the same."""
    planform = outline.planform
    edges, y = strip_edges(planform, strips, even=even)
    span, lattice = edges[-1], SurfaceLattice.of(planform, edges, y, rows)
    slope = _slopes(planform, y, rows)
    # Square to the surface: induced velocity and stream cancel; U = 1, slope and angle times the cosine.
    sides = np.stack([-lattice.cosine.ravel(), (lattice.cosine * slope).ravel()], axis=1)
    vortices = solved(lattice.influence(), sides).reshape(rows, len(y), 2)
    loads = 2 * vortices.sum(axis=0)
    moments = 2 * (vortices * lattice.middle_x[:, :, None]).sum(axis=0)
    width, area = np.diff(edges), planform.area
    lifts = 2 * width @ loads / area
    mean = mean_aerodynamic_chord(planform)[0]
    turns = -2 * width @ moments / (area * mean)
    alpha = -float(lifts[1] / lifts[0])
    return LiftingSurface(
        semispan=float(span),
        area=area,
        mean_chord=mean,
        y=y,
        width=width,
        additional=loads[:, 0],
        basic=loads[:, 1],
        lift_slope=float(lifts[0]),
        zero_lift_angle=alpha,
        neutral_x=-float(turns[0] / lifts[0]) * mean,
        zero_lift_moment=float(turns[1] + alpha * turns[0]),
        wake=lattice.wake(),
    )


def mean_aerodynamic_chord(planform: Planform) -> tuple[float, float, float]:
    """Mean aerodynamic chord, the y where it lies and the x of its leading edge, m.

    Integrals of c^2, c y and c x over the half span, exact for an outline of straight pieces.
    """
    edges = np.unique(np.concatenate([planform.chord.y, planform.leading_edge_x.y, [0.0, planform.semispan]]))
    edges = edges[edges <= planform.semispan]
    x, weight = np.polynomial.legendre.leggauss(3)
    half = np.diff(edges)[:, None] / 2
    y = ((edges[:-1] + edges[1:])[:, None] / 2 + half * x).ravel()
    weights = (half * weight).ravel() * planform.chord.at(y)
    area = weights.sum()
    return (
        float(weights @ planform.chord.at(y) / area),
        float(weights @ y / area),
        float(weights @ planform.leading_edge_x.at(y) / area),
    )


def strip_edges(planform: Planform, count: int, *, even: bool) -> tuple[Array, Array]:
    """Edges of the strips, one at every kink of the outline, and their middles (of the angle, for cosines).

    Kinks that share their nearest edge, as a step drawn over a millimetre does, get one edge between them: a
    sliver among wide strips would spoil the lattice there (its wake's drag falls below the least there is).
    """
    span = planform.semispan
    if even:
        edges = np.linspace(0.0, span, count + 1)
        return edges, (edges[1:] + edges[:-1]) / 2
    angles = np.linspace(0.0, np.pi / 2, count + 1)
    kinks = np.arcsin(np.clip(_kinks(planform) / span, 0.0, 1.0))
    if 0 < len(kinks) < count // 2:
        nearest, which = np.unique(np.abs(angles[1:-1, None] - kinks).argmin(axis=0) + 1, return_inverse=True)
        angles[nearest] = np.bincount(which, kinks) / np.bincount(which)
    return span * np.sin(angles), span * np.sin((angles[1:] + angles[:-1]) / 2)


def _kinks(planform: Planform) -> Array:
    """Stations between centre and tip at which the outline, its twist or its camber bends, m.

    A station put between two others on the line that joins them changes nothing, and is none.
    """
    lines = [planform.chord, planform.leading_edge_x, planform.leading_edge_z, planform.washout]
    curves = [(line.y, line.value[:, None]) for line in lines]
    curves.append((planform.section_y, planform.section_upper + planform.section_lower))
    found = np.unique(np.concatenate([_bends(y, value) for y, value in curves]))
    return found[(found > 1e-6 * planform.semispan) & (found < (1 - 1e-6) * planform.semispan)]


def _bends(y: Array, value: Array) -> Array:
    """Of points y (n,) m at which the lines through value (n, n_lines) bend, or step."""
    if len(y) < 3:
        return np.zeros(0)
    step = np.diff(y)[:, None]
    share = step[:-1] / np.where(step[:-1] + step[1:] > 0, step[:-1] + step[1:], 1.0)
    straight = value[:-2] * (1 - share) + value[2:] * share
    off = np.abs(value[1:-1] - straight).max(axis=1)
    return np.asarray(
        y[1:-1][(off > 1e-9 * max(float(np.ptp(value)), 1e-12)) | (step[:-1, 0] * step[1:, 0] == 0)]
    )


def _slopes(planform: Planform, y: Array, rows: int) -> Array:
    """dz/dx of the turned mean line at the points of no flow, (rows, n_strips); positive where it falls
    forward, as washout does."""
    at = (np.arange(rows) + 0.75) / rows
    low, high = np.maximum(at - _STEP, 0.0), np.minimum(at + _STEP, 1.0)
    mean = (planform.section_upper + planform.section_lower) / 2
    table = np.stack(
        [
            (np.interp(high, planform.section_x, row) - np.interp(low, planform.section_x, row))
            / (high - low)
            for row in mean
        ]
    )
    camber = np.stack([np.interp(y, planform.section_y, column) for column in table.T])
    return camber + np.tan(planform.washout.at(y))


@dataclass(frozen=True, eq=False)
class SurfaceLattice:
    """Starboard horseshoes and points, (rows, n_strips, 3); the port side is their mirror image."""

    inner: Array
    outer: Array
    points: Array
    cosine: Array
    sine: Array

    @classmethod
    def of(cls, planform: Planform, edges: Array, y: Array, rows: int) -> SurfaceLattice:
        """Of a planform.

        Parameters
        ----------
        planform : Planform
            Outline, camber, washout.
        edges, y : (n_strips + 1,) and (n_strips,) float array
            Edges and middles of the strips, m.
        rows : int
            Rows along the chord.
        """
        row = np.arange(rows)[:, None]

        lines = [
            line.at(edges) for line in (planform.leading_edge_x, planform.chord, planform.leading_edge_z)
        ]

        def on(at: Array, fraction: Array) -> Array:
            # Straight from edge to edge, points as well as vortices: where a strip holds a bend of the
            # outline, a point on the outline itself would not lie between the vortices ahead and behind.
            front, chord, height = (np.interp(at, edges, values) for values in lines)
            x = front + fraction * chord
            return np.stack([x, np.broadcast_to(at, x.shape), np.broadcast_to(height, x.shape)], axis=-1)

        bound = on(edges, (row + 0.25) / rows)
        inner, outer = bound[:, :-1], bound[:, 1:]
        across = outer - inner
        length = np.hypot(across[..., 1], across[..., 2])
        return cls(inner, outer, on(y, (row + 0.75) / rows), across[..., 1] / length, across[..., 2] / length)

    @property
    def middle_x(self) -> Array:
        """Where each bound vortex's lift acts, m aft; (rows, n_strips)."""
        return (self.inner[..., 0] + self.outer[..., 0]) / 2

    def influence(self) -> Array:
        """Velocity square to the surface at every point per unit circulation of every horseshoe and its
        mirror image."""
        inner, outer = self.inner.reshape(-1, 3), self.outer.reshape(-1, 3)
        points = self.points.reshape(-1, 3)
        mirror = np.array([1.0, -1.0, 1.0])
        velocity = horseshoe(points, inner, outer) + mirror * horseshoe(points * mirror, inner, outer)
        return np.asarray(
            velocity[..., 2] * self.cosine.ravel()[:, None] - velocity[..., 1] * self.sine.ravel()[:, None]
        )

    def wake(self) -> Array:
        """Quadratic form of induced drag: C_Di S = load' W load."""
        inner, outer = self.inner[0], self.outer[0]
        share = (self.points[0, :, 1] - inner[:, 1]) / (outer[:, 1] - inner[:, 1])
        at = (inner + share[:, None] * (outer - inner))[:, 1:]
        length = np.hypot(*(outer - inner)[:, 1:].T)
        mirror = np.array([-1.0, 1.0])

        def pair(points: Array) -> Array:
            return _trail(points, outer[:, 1:]) - _trail(points, inner[:, 1:])

        velocity = pair(at) + mirror * pair(at * mirror)
        square = velocity[..., 1] * self.cosine[0][:, None] - velocity[..., 0] * self.sine[0][:, None]
        # Both sides: C_Di S = -2 sum G w ds, with G = load/2 and w from G too.
        return np.asarray(-square * length[:, None] / 2)


def horseshoe(points: Array, inner: Array, outer: Array) -> Array:
    """Velocity at points of horseshoes of unit circulation, legs aft along x; (n_points, n_horseshoes, 3)."""
    a, b = points[:, None] - inner, points[:, None] - outer
    length_a, length_b = np.linalg.norm(a, axis=-1), np.linalg.norm(b, axis=-1)
    together = length_a * length_b
    bound = (
        np.cross(a, b)
        * ((length_a + length_b) / (together * (together + np.einsum("pqi,pqi->pq", a, b))))[..., None]
    )
    return np.asarray((bound + _leg(b, length_b) - _leg(a, length_a)) / (4 * np.pi))


def _leg(r: Array, length: Array) -> Array:
    """4 pi times the velocity at r from the end of a vortex that runs aft for ever."""
    cross = np.stack([np.zeros_like(length), -r[..., 2], r[..., 1]], axis=-1)
    # |r| - x loses all digits far behind the wing; (y^2 + z^2)/(|r| + x) is the same.
    square = r[..., 1] ** 2 + r[..., 2] ** 2
    behind = r[..., 0] > 0
    gap = np.where(behind, square / np.where(behind, length + r[..., 0], 1.0), length - r[..., 0])
    return np.asarray(cross / (length * gap)[..., None])


def _trail(points: Array, at: Array) -> Array:
    """Velocity (y, z) in the plane far behind, of straight vortices of unit strength; (n_points, n, 2)."""
    r = points[:, None] - at
    return np.asarray(
        np.stack([-r[..., 1], r[..., 0]], axis=-1) / (2 * np.pi * (r**2).sum(axis=-1)[..., None])
    )
