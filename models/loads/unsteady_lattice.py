"""Unsteady lift of a planform by a lattice: rings of vortices on a flat wing and its wake, moving.

Every panel has its ring from a quarter of its chord to a quarter of the next one's, and its point of no flow
at three quarters. The wake lies flat behind, straight aft, and carries what the rear edge had when it left
it: strength e^(-i kappa x) for movement e^(i omega t), kappa = omega/V, averaged over each ring of the wake,
which grow aft. Pressure by Bernoulli's unsteady equation: density V times the step in strength between rings
at their bound vortex, and density times the rate of strength over each ring. Both sides alike or opposite by
mirror image.
Flat: no dihedral, camber, thickness; incompressible. Points, vortices and rings each stand for half a panel
to either side of themselves: what a hinge cuts, and where pressure ends before the rear edge, follow from
that, and the error along the chord falls as the square of the panels (two dimensions, tests). The outermost
column ends a quarter of its width before the tip, which does the same for the error along the span.

Hough, Remarks on vortex-lattice methods, Journal of Aircraft 10, 1973: the inset at the tip (from memory).
Katz and Plotkin, Low-Speed Aerodynamics, chapters on rings and on unsteady lift (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.dense import Eliminated, solved

Complex = NDArray[np.complex128]

ROWS = 10
"""Panels along the chord."""
_GROWTH = 1.12
"""Of the rings of the wake, each over the one before, behind the first chord."""
_INSET = 0.25
"""Of the outermost column's width, between the tip and the vortex that trails there (Hough)."""
_FAR = 60.0
"""Length of the wake, semispans."""
_AT_ONCE = 8
"""Points whose wash is worked out together: what is between stays near the processor; by trial."""


def _wash(at: Array, x: Array, y: Array) -> Array:
    """Velocity up at points in the plane, (p, 2), by unit rings between lines of x, (n + 1, columns + 1), on
    sides of columns at y; (p, n, columns). Fore from port to starboard: strength above nought lifts and
    washes down inside."""
    sides = np.stack([x, np.broadcast_to(y, x.shape)], axis=-1)
    out = np.empty((len(at), len(x) - 1, len(y) - 1))
    for k in range(0, len(at), _AT_ONCE):
        some = at[k : k + _AT_ONCE]
        across = _of_segments(some, sides[:, :-1], sides[:, 1:])
        along = _of_segments(some, sides[:-1], sides[1:])
        out[k : k + _AT_ONCE] = across[:, :-1] - across[:, 1:] + along[:, :, 1:] - along[:, :, :-1]
    return out


def _of_segments(at: Array, a: Array, b: Array) -> Array:
    """The same by straight pieces of unit vortex from some places to others, (n, m, 2); (p, n, m)."""
    at = at[:, None, None]
    r1x, r1y = at[..., 0] - a[..., 0], at[..., 1] - a[..., 1]
    r2x, r2y = at[..., 0] - b[..., 0], at[..., 1] - b[..., 1]
    cross = r1x * r2y - r1y * r2x
    d = b - a
    one, two = np.hypot(r1x, r1y), np.hypot(r2x, r2y)
    along = d[..., 0] * (r1x / one - r2x / two) + d[..., 1] * (r1y / one - r2y / two)
    # On the line of the segment it washes nothing up or down.
    apart = np.abs(cross) > 1e-12 * np.hypot(d[..., 0], d[..., 1]) * np.maximum(one, two)
    return np.asarray(np.where(apart, along / np.where(apart, cross, 1.0), 0.0) / (4 * np.pi))


@dataclass(frozen=True, eq=False)
class Flap:
    """A control of both sides behind one hinge line.

    `covered` (s,): share of each column's width that has it. `hinge`: of the chord.
    """

    covered: Array
    hinge: float


@dataclass(frozen=True, eq=False)
class Lattice:
    """A starboard half planform in columns along the stream.

    `edges` (s + 1,): y of the columns' sides, from the centre outward, m. `leading`, `chord` (s + 1,): x of
    the leading edge, and the chord, on them, m. `rows`: panels along the chord.
    """

    edges: Array
    leading: Array
    chord: Array
    rows: int = ROWS

    @cached_property
    def _laid(self) -> tuple[Array, Array, Array]:
        """Sides of the columns as vortices lie: y, x of the leading edge and chord, m; short of the tip."""
        edges = self.edges.copy()
        edges[-1] -= _INSET * (edges[-1] - edges[-2])
        leading, chord = (np.interp(edges, self.edges, line) for line in (self.leading, self.chord))
        return edges, leading, chord

    @property
    def columns(self) -> int:
        """How many."""
        return len(self.edges) - 1

    @cached_property
    def _middle(self) -> tuple[Array, Array, Array]:
        """y, x of the leading edge and chord half way across each column, m."""
        y, leading, chord = ((q[1:] + q[:-1]) / 2 for q in self._laid)
        return y, leading, chord

    @cached_property
    def points(self) -> Array:
        """Where no air flows through, (rows, columns, 2): x and y, m."""
        y, leading, chord = self._middle
        share = (np.arange(self.rows) + 0.75) / self.rows
        x = leading + share[:, None] * chord
        return np.stack([x, np.broadcast_to(y, x.shape)], axis=-1)

    @cached_property
    def _lines(self) -> Array:
        """x of the bound vortices, and last of the wake's beginning, (rows + 1, columns + 1), m."""
        share = (np.arange(self.rows + 1) + 0.25) / self.rows
        return np.asarray(self._laid[1] + share[:, None] * self._laid[2])

    @cached_property
    def _wake(self) -> Array:
        """x behind the wake's beginning of the sides of its rings, (n + 1,), m."""
        step = float(self._laid[2].mean()) / self.rows
        lengths = [step] * self.rows
        far = _FAR * float(self._laid[0][-1])
        while sum(lengths) < far:
            lengths.append(lengths[-1] * _GROWTH)
        return np.concatenate([[0.0], np.cumsum(lengths)])

    @cached_property
    def _influence(self) -> dict[int, tuple[Array, Array]]:
        """By mirror sign: wash of bound rings, (p, p), and of the wake's, (n, p, columns)."""
        at = self.points.reshape(-1, 2)
        image = at * np.array([1.0, -1.0])
        y, lines = self._laid[0], (self._lines, self._lines[-1] + self._wake[:, None])
        own = [(_wash(at, x, y), _wash(image, x, y)) for x in lines]
        found = {}
        for sign in (1, -1):
            a, w = (one + sign * other for one, other in own)
            found[sign] = (a.reshape(len(at), -1), np.ascontiguousarray(w.transpose(1, 0, 2)))
        return found

    @cached_property
    def _bound(self) -> dict[int, Eliminated]:
        """Bound rings without a wake, by mirror sign."""
        return {sign: Eliminated(bound) for sign, (bound, _) in self._influence.items()}

    def _shed(self, kappa: float, sign: int) -> Complex:
        """Wash at the points by what is shed behind the last row of unit rings, (p, columns), 1/m."""
        wake = self._influence[sign][1]
        # The first ring has what the rear edge had while the stream ran a panel's length: what is shed
        # meanwhile lies at a quarter of it, as the wing's own vortices lie in their panels.
        gap = 0.5 * (self._laid[2][1:] + self._laid[2][:-1]) / 2 / self.rows
        sides = np.exp(-1j * kappa * self._wake)
        if kappa > 0:
            strength = np.diff(sides) / (-1j * kappa * np.diff(self._wake))
        else:
            strength = np.ones(len(self._wake) - 1, complex)
        real, imaginary = np.tensordot([strength.real, strength.imag], wake, axes=1)
        return np.asarray((real + 1j * imaginary) * np.exp(-1j * kappa * gap))

    @cached_property
    def _places(self) -> tuple[Array, Array, Array]:
        """Behind mid-chord, (rows, columns), m: points, bound vortices, middles of rings."""
        _, leading, chord = self._middle
        half = leading + chord / 2
        bound = (self._lines[:, 1:] + self._lines[:, :-1]) / 2
        return self.points[..., 0] - half, bound[:-1] - half, (bound[:-1] + bound[1:]) / 2 - half

    def forces(self, kappa: float, sign: int, wash: Array | Complex) -> tuple[Complex, Complex]:
        """Lift and moment of the columns by wash at the points.

        Parameters
        ----------
        kappa : float
            omega/V, 1/m.
        sign : int
            1: both sides alike; -1: opposite.
        wash : (rows, columns, m) complex array
            Velocity up of the surface, in its own stream, over V.

        Returns
        -------
        lift, nose_up : (columns, m) complex array
            Starboard, over density V^2: m2, and m3 about mid-chord.
        """
        return self._summed(*self._pressures(kappa, sign, wash))

    def _pressures(self, kappa: float, sign: int, wash: Array | Complex) -> tuple[Complex, Complex]:
        """Over density V^2 and width: at the bound vortices, and over the rings; (rows, columns, m), m."""
        m = wash.shape[2]
        wanted = wash.reshape(-1, m).astype(complex)
        strength = self._bound[sign].with_last(self._shed(kappa, sign), wanted)
        strength = strength.reshape(self.rows, self.columns, m)
        step = np.diff(strength, axis=0, prepend=0.0)
        # A bound vortex stands for half a panel to either side, so that the last leaves a quarter of a panel
        # before the rear edge. There pressure vanishes: step and rate, one against the other, both end there.
        end = self._laid[1] + (1 - 0.25 / self.rows) * self._laid[2]
        long = np.diff(np.vstack([self._lines[:-1], end]), axis=0)
        long = (long[:, 1:] + long[:, :-1]) / 2
        return np.asarray(step), np.asarray(1j * kappa * strength * long[..., None])

    def _summed(self, step: Complex, rate: Complex) -> tuple[Complex, Complex]:
        width = np.diff(self._laid[0])[:, None]
        _, bound, middle = self._places
        lift = (step + rate).sum(axis=0) * width
        moment = -(step * bound[..., None] + rate * middle[..., None]).sum(axis=0) * width
        return np.asarray(lift), np.asarray(moment)

    def harmonic(self, kappa: float, sign: int, flap: Flap | None = None) -> Complex:
        """Lifts and moments by the columns' movement up at mid-chord and nose up.

        Parameters
        ----------
        kappa, sign
            As for `Lattice.forces`.
        flap : Flap or None
            That turns against the wing, its rear edge down, as one more movement.

        Returns
        -------
        (2 s, 2 s) complex array
            Over density V^2, starboard side; lifts first, movements up first. With a flap one row and column
            more: its hinge moment, rear edge down, and its turn.
        """
        s = self.columns
        behind = self._places[0]
        wash = np.zeros((self.rows, s, 2 * s + (flap is not None)), complex)
        column = np.arange(s)
        wash[:, column, column] = 1j * kappa
        wash[:, column, s + column] = -1 - 1j * kappa * behind
        if flap is None:
            return np.concatenate(self.forces(kappa, sign, wash))
        _, _, chord = self._middle
        hinge = (flap.hinge - 0.5) * chord
        # Points, vortices and rings stand for half a panel to either side, which the hinge may cut.
        half = chord / (2 * self.rows)
        before, after = ([np.maximum(x + end - hinge, 0.0) for x in self._places] for end in (-half, half))
        at, bound, middle = ((b**2 - a**2) / (4 * half) for a, b in zip(before, after, strict=True))
        share = self._behind(flap.hinge)[:, None] * flap.covered
        wash[:, :, 2 * s] = -share - 1j * kappa * at * flap.covered
        step, rate = self._pressures(kappa, sign, wash)
        lift, moment = self._summed(step, rate)
        turned = -((step * bound[..., None] + rate * middle[..., None]) * flap.covered[:, None]).sum(axis=0)
        about_hinge = (turned * np.diff(self._laid[0])[:, None]).sum(axis=0, keepdims=True)
        return np.concatenate([lift, moment, about_hinge])

    def work(self, kappa: float, sign: int, wash: Array | Complex, bound: Array, rings: Array) -> Complex:
        """Generalised forces of movements that bend the chord as well.

        Parameters
        ----------
        kappa, sign
            As for `Lattice.forces`.
        wash : (rows, columns, m) complex array
            As for `forces`, of m movements: i kappa times the movement, and its slope along x.
        bound, rings : (rows, columns, m) float array
            The movements up at the bound vortices and at the middles of the rings, `places`.

        Returns
        -------
        (m, m) complex array
            Over density V^2, starboard side: work on each movement (rows) of the pressures by each (columns).
        """
        step, rate = self._pressures(kappa, sign, wash)
        width = np.diff(self._laid[0])[:, None]
        return np.asarray(
            np.einsum("rcm,rcn->mn", bound * width, step) + np.einsum("rcm,rcn->mn", rings * width, rate)
        )

    @property
    def places(self) -> tuple[Array, Array, Array, Array]:
        """y of the columns, (columns,); x of points, bound vortices, middles of rings, (rows, columns), m."""
        y, leading, chord = self._middle
        half = leading + chord / 2
        points, bound, rings = (x + half for x in self._places)
        return y, points, bound, rings

    def _behind(self, hinge: float) -> Array:
        """Share behind a hinge of what each row of points stands for, half a panel either side, (rows,)."""
        below = (np.arange(self.rows) + 1.25) / self.rows
        return np.clip((below - hinge) * self.rows, 0.0, 1.0)

    def lasting(self, sign: int) -> Array:
        """As `harmonic` for rates over V that last, in place of movements, (2 s, 2 s)."""
        s = self.columns
        wash = np.zeros((self.rows, s, 2 * s))
        column = np.arange(s)
        wash[:, column, column] = 1.0
        wash[:, column, s + column] = -self._places[0]
        return np.concatenate(self.forces(0.0, sign, wash)).real

    @cached_property
    def _in_steady_air(self) -> tuple[Array, Array]:
        """Wash at all points by unit rings, long ones behind the columns last, and by their mirror images."""
        at = self.points.reshape(-1, 2)
        far = self._lines[-1] + self._wake[-1]
        lines = np.vstack([self._lines, far])
        own, image = (_wash(at * np.array([1.0, sign]), lines, self._laid[0]) for sign in (1.0, -1.0))
        return own.reshape(len(at), -1), image.reshape(len(at), -1)

    def at_rest(self, sign: int, covered: Array, hinge: float) -> tuple[Array, Array, Array]:
        """Lifts and moments of the columns in steady air, one solve; as `harmonic`, `flap`, `lasting`.

        The rings of the wake have one strength then, so that one long ring behind each column is all of them.

        Parameters
        ----------
        sign : int
            1: both sides alike; -1: opposite.
        covered : (s,) float array
            Share of each column's width that has a flap.
        hinge : float
            Of the chord.

        Returns
        -------
        twist : (2 s, s) float array
            By the columns' angles nose up, over density V^2, starboard side, per rad.
        flap, rate : (2 s,) float arrays
            By flaps turned down, per rad; by a roll of unit rate over V, starboard up, per 1/m.
        """
        s, (own, image) = self.columns, self._in_steady_air
        matrix = own + sign * image
        bound = matrix[:, :-s].copy()
        bound[:, -s:] += matrix[:, -s:]
        wash = np.zeros((self.rows, s, s + 2))
        column = np.arange(s)
        wash[:, column, column] = -1.0
        wash[:, :, s] = -self._behind(hinge)[:, None] * covered
        middle = (self.edges[1:] + self.edges[:-1]) / 2
        wash[:, :, s + 1] = middle
        strength = solved(bound, wash.reshape(len(bound), -1)).reshape(wash.shape)
        step = np.diff(strength, axis=0, prepend=0.0)
        forces = np.concatenate(self._summed(step.astype(complex), 0 * step)).real
        return forces[:, :s], forces[:, s], forces[:, s + 1]

    def flap(self, covered: Array, hinge: float, sign: int) -> Array:
        """Lifts and moments for flaps turned down, (2 s,), per radian.

        Parameters
        ----------
        covered, hinge, sign
            As for `Lattice.at_rest`.

        Returns
        -------
        (2 s,) float array
            Over density V^2, starboard side.
        """
        wash = -(self._behind(hinge)[:, None] * covered)[..., None]
        return np.concatenate(self.forces(0.0, sign, wash)).real[:, 0]
