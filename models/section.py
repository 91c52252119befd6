"""Cross-sections analysed on their own: torsion of a grained rectangle, and shear flow in booms joined by
thin walls.

The thin-walled analysis is that of the classic strength books (Megson, Aircraft Structures for Engineering
Students, chapters 16 to 20; from memory): engineers' bending theory gives the growth of force in the booms,
equilibrium and equal rate of twist of every cell give the flows. Cells need not be named: they are the loops
of the walls.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fea.arrays import Array, Ints

_ODD = np.arange(1, 14, 2)
# Sum of 1/n^5 over odd n: 31/32 zeta(5).
_SUM_ODD_5 = 31 / 32 * 1.0369277551433699


def rectangle_torsion_constant(a: ArrayLike, b: ArrayLike) -> Array:
    """Saint-Venant's torsion constant of rectangles. J, m4, of sides in any order, m.

    Notes
    -----
    The series in tanh(n pi a/2b)/n^5 is summed as the closed sum of 1/n^5 less the rest, which dies out as
    exp(-n pi): seven terms leave less than 1e-16.

    References
    ----------
    Timoshenko and Goodier, Theory of Elasticity, article on the torsion of rectangular bars (from memory).
    """
    long, short = np.maximum(a, b)[..., None], np.minimum(a, b)[..., None]
    rest = ((1 - np.tanh(_ODD * np.pi * long / (2 * short))) / _ODD**5).sum(axis=-1)
    long, short = long[..., 0], short[..., 0]
    return np.asarray(long * short**3 * (1 / 3 - 64 / np.pi**5 * short / long * (_SUM_ODD_5 - rest)))


def rectangle_torsion(width: ArrayLike, height: ArrayLike, g_width: ArrayLike, g_height: ArrayLike) -> Array:
    """Torsional rigidity of rectangles with two shear moduli, as a stick of wood has.

    Parameters
    ----------
    width, height : (...) float array
        Sides of the section, m.
    g_width, g_height : (...) float array
        Shear moduli for shear stress on the section along its width and along its height, Pa.

    Returns
    -------
    (...) float array
        G J, N m2.

    Notes
    -----
    Stretching the height by sqrt(g_width/g_height) turns the stress function's equation into that of an
    isotropic rectangle.

    References
    ----------
    Lekhnitskii, Theory of Elasticity of an Anisotropic Body, torsion of an orthotropic rectangular bar (from
    memory).
    """
    stretch = np.sqrt(np.asarray(g_width, dtype=float) / g_height)
    constant = rectangle_torsion_constant(np.asarray(width, dtype=float), height * stretch)
    return np.asarray(np.asarray(g_height) * constant / stretch)


@dataclass(frozen=True, eq=False)
class BoomSection:
    """Booms joined by thin straight walls.

    Parameters
    ----------
    positions : (n_booms, 2) float array
        Booms in the plane of the section, m; first axis aft, second up.
    areas : (n_booms,) float array
        Areas that carry direct stress, m2 (E A over a common E where woods differ); 0 for a plain joint.
    walls : (n_walls, 2) int array
        Booms that each wall joins.
    shear_rigidity : (n_walls,) float array
        G t, N/m; only ratios count for the flows.
    direct_thickness : (n_walls,) float array or None
        Thickness that carries direct stress, m; None where walls carry shear only.
    """

    positions: Array
    areas: Array
    walls: Ints
    shear_rigidity: Array
    direct_thickness: Array | None = None


@dataclass(frozen=True, eq=False)
class ShearFlows:
    """Flows under one load.

    Parameters
    ----------
    mean : (n_walls,) float array
        Mean flow of each wall, from its first boom to its second, N/m.
    ends : (n_walls, 2) float array
        Flow at both ends of each wall, N/m.
    twist_rate : float
        Rate of twist, rad/m, positive from the first axis to the second; 0 for an open section, whose
        twist its walls' own torsion decides.
    moment : float
        Moment of the flows about the origin, N m.
    """

    mean: Array
    ends: Array
    twist_rate: float
    moment: float


def second_moments(section: BoomSection) -> tuple[Array, Array]:
    """Centroid (2,), m, and matrix of second moments of area about it (2, 2), m4: [[sum A x x, sum A x z],
    ...]."""
    weights = _direct(section)
    centroid = (weights.sum(axis=1) @ section.positions) / weights.sum()
    arms = section.positions - centroid
    return centroid, arms.T @ weights @ arms


def boom_section(section: BoomSection, force: ArrayLike, moment: float | None = None) -> ShearFlows:
    """Flows in the walls under a shear force, the section taking it by bending along the span.

    Parameters
    ----------
    section : BoomSection
        Booms and walls.
    force : (2,) float array
        Shear force that the flows make up, N.
    moment : float or None
        Moment of the force about the origin, N m, first axis to second; None for a force through the shear
        centre (no twist). Of an open section the flows do not depend on it, and it must be None.

    Raises
    ------
    ValueError
        A moment is given for an open section.
    """
    weights = _direct(section)
    centroid, inertia = second_moments(section)
    # Least squares: booms in one line have no stiffness the other way, nor need any if not loaded that way.
    gradient, *_ = np.linalg.lstsq(inertia, np.asarray(force, dtype=float), rcond=None)
    # Growth of force along the span at each boom is what flows into it along the walls.
    growth = weights @ (section.positions - centroid) @ gradient
    incidence = _incidence(section)
    basic, *_ = np.linalg.lstsq(incidence, growth, rcond=None)
    loops, swept, give = _loops(incidence), _swept(section), _give(section)
    if not loops.shape[1]:
        if moment is not None:
            raise ValueError("an open section has no say in the moment of its flows: give no moment")
        return _with_ends(section, basic, gradient, centroid, 0.0)
    # Unknowns: flow of every loop and the rate of twist; loops must all twist at that rate.
    n = loops.shape[1]
    matrix = np.zeros((n + 1, n + 1))
    matrix[:n, :n] = loops.T @ (give[:, None] * loops)
    matrix[:n, n] = -(loops.T @ swept)
    right = np.append(-(loops.T @ (give * basic)), 0.0)
    if moment is None:
        matrix[n, n] = 1.0
    else:
        matrix[n, :n] = swept @ loops
        right[n] = moment - swept @ basic
    # Rows of very different size (compatibility, moment): scaling keeps the solve well conditioned.
    size = np.abs(matrix).max(axis=1)
    solved = np.linalg.solve(matrix / size[:, None], right / size)
    return _with_ends(section, basic + loops @ solved[:n], gradient, centroid, float(solved[n]))


def torsion(section: BoomSection) -> tuple[float, Array]:
    """Torsional rigidity of the closed cells of a section, and the flows of a unit rate of twist.
    `shear_rigidity` in N/m.

    Returns
    -------
    rigidity : float
        G J of Bredt's theory, N m2; 0 without a cell.
    flows : (n_walls,) float array
        N/m per rad/m.

    References
    ----------
    Bredt 1896, by any strength book (from memory).
    """
    loops, swept, give = _loops(_incidence(section)), _swept(section), _give(section)
    if not loops.shape[1]:
        return 0.0, np.zeros(len(section.walls))
    flows = loops @ np.linalg.solve(loops.T @ (give[:, None] * loops), loops.T @ swept)
    return float(swept @ flows), flows


def shear_centre(section: BoomSection) -> Array:
    """Point through which a force bends the section without twisting it, (2,), m."""
    aft = boom_section(section, (1.0, 0.0)).moment
    up = boom_section(section, (0.0, 1.0)).moment
    return np.array([up, -aft])


def warping(section: BoomSection) -> tuple[float, Array]:
    """Warping constant of an open section of thin walls, and the sectorial coordinate of its booms.

    Returns
    -------
    constant : float
        C_w about the shear centre, m6.
    sectorial : (n_booms,) float array
        Twice the area swept about the shear centre, with mean zero over the section, m2; axial movement is
        minus this times the rate of twist.

    References
    ----------
    Vlasov, Thin-Walled Elastic Beams (from memory).
    """
    first, second = section.walls.T
    arms = section.positions - shear_centre(section)
    swept = arms[first, 0] * arms[second, 1] - arms[first, 1] * arms[second, 0]
    sectorial, *_ = np.linalg.lstsq(_incidence(section).T, -swept, rcond=None)
    weights = _direct(section)
    sectorial = sectorial - (weights.sum(axis=1) @ sectorial) / weights.sum()
    return float(sectorial @ weights @ sectorial), sectorial


def _direct(section: BoomSection) -> Array:
    """Area matrix (n_booms, n_booms): booms on the diagonal, walls spread so that linear stress is integrated
    exactly."""
    out = np.diag(section.areas.astype(float))
    if section.direct_thickness is not None:
        first, second = section.walls.T
        share = section.direct_thickness * _lengths(section) / 6
        for i, j, factor in ((first, first, 2), (second, second, 2), (first, second, 1), (second, first, 1)):
            np.add.at(out, (i, j), factor * share)
    return out


def _lengths(section: BoomSection) -> Array:
    first, second = section.walls.T
    return np.asarray(np.linalg.norm(section.positions[second] - section.positions[first], axis=1))


def _give(section: BoomSection) -> Array:
    return _lengths(section) / section.shear_rigidity


def _swept(section: BoomSection) -> Array:
    """Moment about the origin of a unit flow in each wall: twice the area that the wall sweeps, m2."""
    a, b = section.positions[section.walls[:, 0]], section.positions[section.walls[:, 1]]
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])


def _incidence(section: BoomSection) -> Array:
    """Flow into each boom per unit flow of each wall, (n_booms, n_walls): -1 at the first boom, +1 at the
    second."""
    out = np.zeros((len(section.positions), len(section.walls)))
    at = np.arange(len(section.walls))
    out[section.walls[:, 0], at] = -1.0
    out[section.walls[:, 1], at] = 1.0
    return out


def _loops(incidence: Array) -> Array:
    """Basis (columns) of the flows that leave every boom in balance, (n_walls, n_loops)."""
    _, values, right = np.linalg.svd(incidence)
    full = np.zeros(incidence.shape[1])
    full[: len(values)] = values
    return right[full < 1e-9].T


def _with_ends(
    section: BoomSection, mean: Array, gradient: Array, centroid: Array, twist_rate: float
) -> ShearFlows:
    """Mean flows with those at the ends of walls that carry direct stress themselves."""
    ends = np.repeat(mean[:, None], 2, axis=1)
    if section.direct_thickness is not None:
        growth = (section.positions - centroid) @ gradient
        per_wall = growth[section.walls] * (section.direct_thickness * _lengths(section))[:, None]
        # Force growth along the wall is fed by the fall of the flow: q' = -t (growth), mean kept.
        ends[:, 0] += per_wall[:, 0] / 3 + per_wall[:, 1] / 6
        ends[:, 1] -= per_wall[:, 0] / 6 + per_wall[:, 1] / 3
    return ShearFlows(mean, ends, twist_rate, float(_swept(section) @ mean))


@dataclass(frozen=True, eq=False)
class OutlineSection:
    """Solid sections cut out of an outline, about their centroids.

    Parameters
    ----------
    area : (n,) float array
        m2.
    second_up, second_aft : (n,) float array
        Second moments of area for bending up and down and fore and aft, m4.
    modulus_up, modulus_aft : (n,) float array
        Section moduli (second moment over the farthest fibre), m3.
    torsion : (n,) float array
        G J, N m2.
    centre_z : (n,) float array
        Height of the centroid, m.
    """

    area: Array
    second_up: Array
    second_aft: Array
    modulus_up: Array
    modulus_aft: Array
    torsion: Array
    centre_z: Array


_ALONG, _UPWARD = 6, 3
_HEIGHT_X, _HEIGHT_W = np.polynomial.legendre.leggauss(6)


def outline_section(
    s: Array,
    weight: Array,
    x: Array,
    x_rate: Array,
    centre: Array,
    half: Array,
    g_width: float,
    g_height: float,
    *,
    closed: bool,
) -> OutlineSection:
    """Area, second moments and torsion of solid sections whose half height varies along the chord.

    Torsion by Ritz's method on Prandtl's stress function: phi vanishes on the outline by a factor (z_top -
    z)(z - z_bottom), and at the flat ends; times polynomials along and upright. The rigidity is 4 b'
    K^-1 b with b the integrals of the functions and K their energy, so it is positive and never above the
    true one.

    Parameters
    ----------
    s, weight : (n_points,) float array
        Quadrature on 0 to 1, from the outer end to the end that is cut flat.
    x, x_rate : (n_points,) float array
        Distance from the outer end, and its slope against s, m.
    centre, half : (n, n_points) float array
        Middle and half height of the sections there, m.
    g_width, g_height : float
        Shear moduli against shear stress along the width and along the height, Pa.
    closed : bool
        The outline closes at the outer end; otherwise that end is flat too.

    References
    ----------
    Timoshenko and Goodier, Theory of Elasticity, torsion, the membrane analogy and the energy method;
    orthotropic bars: Lekhnitskii, Theory of Elasticity of an Anisotropic Body (both from memory).
    """
    step = weight * x_rate
    area = 2 * half @ step
    centre_x = 2 * (half * x) @ step / area
    centre_z = 2 * (half * centre) @ step / area
    off = centre - centre_z[:, None]
    second_up = 2 * (half * off**2 + half**3 / 3) @ step
    second_aft = 2 * (half * (x - centre_x[:, None]) ** 2) @ step
    far_up = (np.abs(off) + half).max(axis=1)
    far_aft = np.maximum(x.max() - centre_x, centre_x - x.min())
    # A stick that is lower than the outline has a kink, so slopes are taken from point to point.
    centre_s, half_s = np.gradient(centre, s, axis=1), np.gradient(half, s, axis=1)
    tall = half.max(axis=1)[:, None, None]
    z = centre[:, :, None] + half[:, :, None] * _HEIGHT_X  # (n, points, heights)
    rel = z - centre[:, :, None]
    bubble = half[:, :, None] ** 2 - rel**2
    bubble_s = 2 * half[:, :, None] * half_s[:, :, None] + 2 * rel * centre_s[:, :, None]
    ends = (1 - s) if closed else s * (1 - s)
    ends_s = -np.ones_like(s) if closed else 1 - 2 * s
    measure = step[:, None] * half[:, :, None] * _HEIGHT_W
    values, ups, acrosses = [], [], []
    for i in range(_ALONG):
        along = ends * s**i
        along_s = ends_s * s**i + (ends * i * s ** (i - 1) if i else 0.0)
        for j in range(_UPWARD):
            upright = (rel / tall) ** j
            upright_z = j * (rel / tall) ** (j - 1) / tall if j else np.zeros_like(rel)
            values.append(bubble * along[:, None] * upright)
            ups.append((-2 * rel * upright + bubble * upright_z) * along[:, None])
            slope = bubble_s * along[:, None] * upright + bubble * along_s[:, None] * upright
            slope -= bubble * along[:, None] * upright_z * centre_s[:, :, None]
            acrosses.append(slope / x_rate[:, None])
    phi, phi_z, phi_x = (np.stack(v, axis=1).reshape(len(area), len(v), -1) for v in (values, ups, acrosses))
    by = measure.reshape(len(area), 1, -1)
    energy = (phi_z * by / g_width) @ phi_z.transpose(0, 2, 1)
    energy += (phi_x * by / g_height) @ phi_x.transpose(0, 2, 1)
    load = (phi * by).sum(axis=2)
    size = np.sqrt(np.einsum("nii->ni", energy))
    scaled = energy / (size[:, :, None] * size[:, None, :])
    # Polynomials are nearly alike: what rounding cannot tell apart is left out, which only lowers the bound.
    roots, vectors = np.linalg.eigh(scaled)
    amount = np.einsum("nij,ni->nj", vectors, load / size)
    part = np.where(roots > 1e-11, amount**2 / np.maximum(roots, 1e-300), 0.0).sum(axis=1)
    return OutlineSection(
        area, second_up, second_aft, second_up / far_up, second_aft / far_aft, 4 * part, centre_z
    )
