"""What thin-aerofoil theory says of a section by its mean line: the angle of no lift and the moment.

With x = (1 - cos t)/2 and the mean line z(x) of a chord of 1, from a row of points even in t; the chord's own
slope, from a tail that does not lie on the axis, is taken off first and counted as an angle. What is left is
nothing at both ends, so that the integrals over the slope dz/dx may be taken by parts and no slope of a
coordinate file is needed:

alpha_0 = -(1/pi) int dz/dx (cos t - 1) dt = z_tail - (2/pi) int z/(1 + cos t) dt (Munk)
c_m,c/4 = (1/2) int dz/dx (cos 2t - cos t) dt = int z [(1 + 2 cos t)/(1 + cos t) - 2 (1 - cos t)] dt

H. Glauert, The Elements of Aerofoil and Airscrew Theory, 1926, chapter VII; M. Munk, General theory of thin
wing sections, NACA Report 142, 1922 (both from memory; checked by quadrature of the slope).
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.wing.parts import LoadCase, Planform


def mean_lines(planform: Planform) -> tuple[Array, Array, Array]:
    """Angle t of the points, (n_points,), and of every section its mean line less the chord's slope,
    (n_sections, n_points), and the height of its tail over the nose, (n_sections,), fractions of the
    chord."""
    # Half way upright: of a section 12 % thick whose thickness is laid off square to its mean line that line
    # is met at the nose alone a little too high (angle of no lift 3 %, moment 0.5 % too much for a 2412).
    mean = (planform.section_upper + planform.section_lower) / 2
    tail = mean[:, -1] - mean[:, 0]
    t = np.linspace(0.0, np.pi, mean.shape[1])
    return t, mean - mean[:, :1] - tail[:, None] * planform.section_x, tail


def zero_lift_angles(planform: Planform) -> Array:
    """Angle of attack of no lift of every section, against its own x axis, rad, (n_sections,); negative
    for a section with positive camber."""
    t, line, tail = mean_lines(planform)
    return np.asarray(tail - 2 / np.pi * _integral(_over(line, t), t))


def moment_coefficients(planform: Planform) -> Array:
    """Moment coefficient about the quarter chord of every section, nose up, (n_sections,); about -pi
    times the camber for a parabola."""
    t, line, _ = mean_lines(planform)
    c = np.cos(t)
    return np.asarray(_integral(_over(line, t) * (1 + 2 * c) - 2 * line * (1 - c), t))


def along(planform: Planform, values: Array, y: Array) -> Array:
    """A figure of the sections at stations y, m; mean lines, and with them these figures, vary linearly."""
    return np.asarray(np.interp(np.abs(y), planform.section_y, values))


def section_moments(planform: Planform, case: LoadCase, y: Array) -> Array:
    """Moment coefficient of the sections at stations y (m, either side): the file's, or by the mean line."""
    if case.moment_coefficient is not None:
        return np.full(np.shape(y), case.moment_coefficient)
    return along(planform, moment_coefficients(planform), y)


def sweeps_or_twists(planform: Planform) -> bool:
    """Whether the quarter-chord line is swept, or the angle of no lift varies along the span; if neither,
    Schrenk's rule, that knows the chord alone, leaves nothing out."""
    y = np.unique(np.concatenate([planform.chord.y, planform.leading_edge_x.y, planform.washout.y]))
    y = np.unique(np.concatenate([y, planform.section_y]))
    y = y[y <= planform.semispan]
    quarter = planform.leading_edge_x.at(y) + planform.chord.at(y) / 4
    angle = planform.washout.at(y) + along(planform, zero_lift_angles(planform), y)
    return bool(np.ptp(quarter) > _STRAIGHT * planform.semispan or np.ptp(angle) > _STRAIGHT)


_STRAIGHT = 1e-6
"""rad: less is rounding of the file's lengths."""


def _over(line: Array, t: Array) -> Array:
    """line/(1 + cos t); at the tail, where both vanish, by the parabola through the three points before."""
    found = np.zeros_like(line)
    found[:, :-1] = line[:, :-1] / (1 + np.cos(t[:-1]))
    found[:, -1] = 3 * found[:, -2] - 3 * found[:, -3] + found[:, -4]
    return found


def _integral(values: Array, t: Array) -> Array:
    """Trapezoidal rule: of what is even about both ends it converges faster than any power of the step."""
    return np.asarray(np.trapezoid(values, t, axis=1))
