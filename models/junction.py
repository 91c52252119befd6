"""Where a web or a sheet is glued along a cap: what the cap with its glued-on strips does in twist and in
shear.

A web laps the cap over its whole height, so that its shear flow enters the cap over that height and not at a
line; the lapped strip shears, and in rolling shear (across the grain) it shears a good deal. Twist of the
cap warps its section, which moves the edge of the panel along the span. Both follow from the antiplane
problem of Saint-Venant on the section cap + strips: minimise the shear energy of an axial warping field
under (a) unit rate of twist, (b) unit shear flow at the edge of a strip, balanced by an axial stress
gradient in proportion to the moduli. Solved here with polynomials of high order in every rectangle of one
material, for many sections at once.

Sources: Saint-Venant's torsion and flexure problems, Timoshenko and Goodier, Theory of Elasticity, ch. 11
and 12 (from memory); no constant in here is fitted to anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class CapSections:
    """Sections made of rectangles: a grid of columns (fore to aft) and rows (from the web side outward to
    the skin).

    Parameters
    ----------
    widths : (n, n_columns) float array
        Of the columns, m. A column of zero width must be left out (a grid of another type).
    heights : (n, n_rows) float array
        Of the rows, m.
    shear_across, shear_up : (n, n_columns, n_rows) float array
        Shear moduli against slopes of the warping fore and aft, and up and down, Pa; zero where there is no
        material (in all sections alike).
    modulus : (n, n_columns, n_rows) float array
        Modulus along the span, Pa.
    centre : (n, 2) float array
        Beam axis (centroid of the cap), from the fore lower corner of the grid, m.
    """

    widths: Array
    heights: Array
    shear_across: Array
    shear_up: Array
    modulus: Array
    centre: Array


@dataclass(frozen=True, eq=False)
class CapResponse:
    """What `respond` finds.

    Parameters
    ----------
    torsion : (n,) float array
        G J of cap and strips together, N m2.
    torsion_above : (n,) float array
        The part of it above the rows set apart: the energy of the twisting field there, N m2.
    warping : (n, n_edges) float array
        Axial movement of each loaded edge per unit rate of twist, m2.
    give : (n, n_edges, n_edges) float array
        Axial movement of one loaded edge per unit shear flow at another, against the plane section, m2/N.
    """

    torsion: Array
    torsion_above: Array
    warping: Array
    give: Array


@lru_cache(maxsize=8)
def _line(degree: int) -> tuple[Array, Array, Array, Array]:
    """Of Lagrange polynomials at Gauss-Lobatto points on [0, 1]: mass, stiffness, int(phi), int(phi')."""
    inner = np.polynomial.legendre.Legendre.basis(degree).deriv().roots()
    points = (np.concatenate([[-1.0], np.sort(inner.real), [1.0]]) + 1) / 2
    x, w = np.polynomial.legendre.leggauss(degree + 1)
    x, w = (x + 1) / 2, w / 2
    vander = np.linalg.inv(np.vander(points, increasing=True))
    value = np.vander(x, degree + 1, increasing=True) @ vander
    power = np.arange(degree + 1)
    raw = np.where(power > 0, power * x[:, None] ** np.maximum(power - 1, 0), 0.0)
    slope = raw @ vander
    mass = value.T @ (w[:, None] * value)
    stiff = slope.T @ (w[:, None] * slope)
    return mass, stiff, w @ value, w @ slope


@lru_cache(maxsize=32)
def _cell(across: int, up: int) -> tuple[Array, Array, Array]:
    """Of a rectangle with these degrees, on [0, 1] both ways: its energies of slopes across and up, and the
    integrals of its polynomials."""
    (mass_x, stiff_x, int_x, _), (mass_z, stiff_z, int_z, _) = _line(across), _line(up)
    pairs = ((stiff_x, mass_z), (mass_x, stiff_z), (int_x, int_z))
    one, two, three = (np.asarray(np.kron(a, b), dtype=np.float64) for a, b in pairs)
    return one, two, three


def respond(
    sections: CapSections,
    edges: tuple[tuple[str, int, int], ...],
    degrees_across: tuple[int, ...],
    degrees_up: tuple[int, ...],
    apart: int = 0,
) -> CapResponse:
    """Torsion constant, and warping and give at the loaded edges, of many sections on one grid.

    Parameters
    ----------
    sections : CapSections
        All on one grid of columns and rows.
    edges : tuple of (side, column, row)
        Loaded edges: side "inner" (the edge of a column that looks to the web side), "fore" or "aft".
    degrees_across : tuple of int
        Polynomial degree of each column.
    degrees_up : tuple of int
        Polynomial degree of each row.
    apart : int
        How many rows from the web side are left out of `torsion_above`.

    Returns
    -------
    CapResponse

    Notes
    -----
    Twice the energy of the twisting field, int G_across (psi_x + z)^2 + G_up (psi_z - x)^2, is G J. It is a
    sum of squares, so that its share in any of the cells is positive whatever the others are (from the
    variational form of Saint-Venant's torsion, Timoshenko and Goodier, ch. 11, from memory).
    """
    n, n_columns = sections.widths.shape
    n_rows = sections.heights.shape[1]
    starts_x = np.concatenate([[0], np.cumsum(degrees_across)])
    starts_z = np.concatenate([[0], np.cumsum(degrees_up)])
    nx, nz = starts_x[-1] + 1, starts_z[-1] + 1
    size = nx * nz
    index = np.arange(size).reshape(nx, nz)
    stiff = np.zeros((n, size, size))
    twist = np.zeros((n, size))
    weight = np.zeros((n, size))
    stretch = np.zeros(n)
    polar = np.zeros(n)
    lines: dict[tuple[int, int], NDArray[np.intp]] = {}
    above: list[tuple[NDArray[np.intp], Array, Array, Array]] = []
    left = np.cumsum(sections.widths, axis=1) - sections.widths - sections.centre[:, :1]
    below = np.cumsum(sections.heights, axis=1) - sections.heights - sections.centre[:, 1:]
    for c in range(n_columns):
        px = degrees_across[c]
        _, _, int_x, slope_x = _line(px)
        for r in range(n_rows):
            pz = degrees_up[r]
            _, _, int_z, slope_z = _line(pz)
            energy_across, energy_up, mean = _cell(px, pz)
            where = index[starts_x[c] : starts_x[c] + px + 1, starts_z[r] : starts_z[r] + pz + 1]
            at = where.ravel()
            lines[c, r] = where
            a, b = sections.widths[:, c], sections.heights[:, r]
            across, up, young = (
                sections.shear_across[:, c, r],
                sections.shear_up[:, c, r],
                sections.modulus[:, c, r],
            )
            block = (across * b / a)[:, None, None] * energy_across
            block += (up * a / b)[:, None, None] * energy_up
            stiff[:, at[:, None], at[None, :]] += block
            mid_z = (below[:, r, None] * int_z + b[:, None] * _first_moment(pz)) * b[:, None]
            mid_x = (left[:, c, None] * int_x + a[:, None] * _first_moment(px)) * a[:, None]
            pull = -across[:, None, None] * slope_x[None, :, None] * mid_z[:, None, :]
            pull += up[:, None, None] * mid_x[:, :, None] * slope_z[None, None, :]
            twist[:, at] += pull.reshape(n, -1)
            weight[:, at] += (young * a * b)[:, None] * mean
            stretch += young * a * b
            second_z = ((below[:, r] + b) ** 3 - below[:, r] ** 3) / 3
            second_x = ((left[:, c] + a) ** 3 - left[:, c] ** 3) / 3
            own_polar = across * a * second_z + up * b * second_x
            polar += own_polar
            if r >= apart > 0:
                above.append((at, block, pull.reshape(n, -1), own_polar))
    right = [twist]
    pulls = []
    for side, c, r in edges:
        g = np.zeros((n, size))
        where = lines[c, r]
        if side == "inner":
            g[:, where[:, 0]] = _line(degrees_across[c])[2]
        else:
            g[:, where[0 if side == "fore" else -1, :]] = _line(degrees_up[r])[2]
        pulls.append(g)
        right.append(g - weight / stretch[:, None])
    # Freedoms without material (cut-out corners of the grid) are held; so is one freedom of the rest.
    dead = np.abs(np.diagonal(stiff, axis1=1, axis2=2)).max(axis=0) == 0
    alive = np.flatnonzero(~dead)
    keep = alive[1:]
    solved = np.zeros((n, size, len(right)))
    solved[:, keep] = np.linalg.solve(
        stiff[:, keep[:, None], keep[None, :]], np.stack(right, axis=2)[:, keep]
    )
    moved_whole = np.einsum("ni,nik->nk", weight, solved) / stretch[:, None]
    solved[:, alive] -= moved_whole[:, None]
    torsion = polar - np.einsum("ni,ni->n", solved[:, :, 0], twist)
    torsion_above = torsion
    if apart:
        torsion_above = np.zeros(n)
        for at, block, own_twist, own_polar in above:
            field = solved[:, at, 0]
            torsion_above += own_polar - 2 * np.einsum("ni,ni->n", field, own_twist)
            torsion_above += np.einsum("ni,nij,nj->n", field, block, field, optimize=True)
    loads = np.stack(pulls, axis=1) if pulls else np.zeros((n, 0, size))
    moved = loads @ solved
    warping, give = moved[:, :, 0], moved[:, :, 1:]
    return CapResponse(torsion, torsion_above, warping, give)


@lru_cache(maxsize=8)
def _first_moment(degree: int) -> Array:
    """int(x phi) on [0, 1]."""
    inner = np.polynomial.legendre.Legendre.basis(degree).deriv().roots()
    points = (np.concatenate([[-1.0], np.sort(inner.real), [1.0]]) + 1) / 2
    return np.asarray(_line(degree)[0] @ points)


def foot_rotation_flexibility(
    modulus_along: Array, modulus_up: Array, shear: Array, nu_along_up: Array, thickness: Array, width: Array
) -> Array:
    """Rotation of a thin rib's foot on a cap per unit moment: a rigid strip rocking on an orthotropic
    half-plane.

    Under a rigid strip of half-length a, pressed by a moment M a unit width, an elastic half-plane gives the
    rotation 4 M/(pi a^2 E*); for an orthotropic one with its axes along and square to the surface, 2/E* =
    sqrt(s11 s22) sqrt(2 sqrt(s22/s11) + (2 s12 + s66)/s11), s the compliances (1 along the surface). Plane
    stress: the cap is free fore and aft. The wood across the grain is so soft that the foot of an
    upright-grained post counts as rigid; a cap several times deeper than the foot is long counts as a
    half-plane.

    Parameters
    ----------
    modulus_along, modulus_up, shear, nu_along_up : (n,) float array
        Of the cap: E along the span, E up and down, G between them (Pa), Poisson's ratio.
    thickness : (n,) float array
        Of the rib along the span, 2 a, m.
    width : (n,) float array
        Of the foot fore and aft, m.

    Returns
    -------
    (n,) float array
        rad per N m.

    References
    ----------
    Muskhelishvili, Some Basic Problems of the Mathematical Theory of Elasticity, and Johnson, Contact
    Mechanics, ch. 2 (rigid tilted punch); Lekhnitskii, Theory of Elasticity of an Anisotropic Body
    (half-plane): all from memory.
    """
    s11, s22, s66, s12 = 1 / modulus_along, 1 / modulus_up, 1 / shear, -nu_along_up / modulus_along
    twice_over_contact = np.sqrt(s11 * s22) * np.sqrt(2 * np.sqrt(s22 / s11) + (2 * s12 + s66) / s11)
    contact = 2 / twice_over_contact
    half = thickness / 2
    return 4 / (np.pi * half**2 * contact * width)


_WAVES = np.exp(np.linspace(np.log(0.05), np.log(1e4), 700))
"""Wave numbers of the load along a stick, times its depth: at the least the give stands still, at the
greatest it is a half-plane's."""


@lru_cache(maxsize=64)
def _wave_give(modulus_along: float, modulus_aft: float, shear: float, nu: float) -> Array:
    """Movement of a stick's loaded face per pressure in waves along it, over its depth, less what the stick
    does as a beam, 1/Pa, at `_WAVES`.

    The stick is a strip in plane stress, loaded on one face and free on the other. Its stress function
    f(x) cos(k y) has four terms exp(+-r k x), a22 r^4 - (2 a12 + a66) r^2 + a11 = 0; for long waves its face
    moves by 12 a22/(k d)^4 (bending), and by (1.2 a66 + 2.4 a12)/(k d)^2 (shear, and the swelling of the
    bent stick), which beams have; the rest is positive at all waves for every wood of the list (a test holds
    it). Timoshenko and Goodier, Theory of Elasticity, solution in Fourier series, and Lekhnitskii's
    compliances: from memory; the terms for long waves computed from the same solution.
    """
    a11, a22, a12, a66 = 1 / modulus_aft, 1 / modulus_along, -nu / modulus_along, 1 / shear
    middle = 2 * a12 + a66
    root = np.sqrt(complex(middle**2 - 4 * a11 * a22))
    if abs(root) < 1e-3 * middle:  # twin roots, as of a metal: a hair apart
        root = complex(1e-3 * middle)
    r = np.sqrt(np.array([middle + root, middle - root]) / (2 * a22))
    rate = np.concatenate([r, -r])
    fade = np.exp(-_WAVES[:, None] * r)
    one = np.ones_like(fade)
    loaded, free = np.concatenate([one, fade], axis=1), np.concatenate([fade, one], axis=1)
    ends = np.stack([loaded, loaded * rate, free, free * rate], axis=1)
    pressed = np.zeros((len(_WAVES), 4, 1), dtype=complex)
    pressed[:, 0] = 1.0
    amount = np.linalg.solve(ends, pressed)[:, :, 0]
    whole = np.abs((amount * loaded * rate**3).sum(axis=1).real) * a22 / _WAVES
    return np.asarray(whole - 12 * a22 / _WAVES**4 - (1.2 * a66 + 2.4 * a12) / _WAVES**2)


def _rigid_strip(x: Array) -> Array:
    """Bessel's J0(x) squared for x above 0, its swings smoothed away between 8 and 32, where they matter no
    more and a coarse row of waves would not follow them.

    Polynomials 9.4.1 and 9.4.3 of Abramowitz and Stegun, Handbook of Mathematical Functions (from memory; a
    test holds them to 1e-7): no kink is left that slopes would feel.
    """
    near = np.polynomial.polynomial.polyval((np.minimum(x, 3.0) / 3) ** 2, _NEAR) ** 2
    inverse = 3 / np.maximum(x, 3.0)
    size = np.polynomial.polynomial.polyval(inverse, _FAR_SIZE) ** 2 * inverse / 3
    phase = 3 / inverse + np.polynomial.polynomial.polyval(inverse, _FAR_PHASE)
    done = np.clip(np.log(np.maximum(x, 8.0) / 8) / np.log(4), 0.0, 1.0)
    left = 1 - done**3 * (10 - 15 * done + 6 * done**2)
    return np.where(x < 3.0, near, size * (1 + left * np.cos(2 * phase)) / 2)


_NEAR = (1.0, -2.2499997, 1.2656208, -0.3163866, 0.0444479, -0.0039444, 0.0002100)
_FAR_SIZE = (0.79788456, -0.00000077, -0.00552740, -0.00009512, 0.00137237, -0.00072805, 0.00014476)
_FAR_PHASE = (-0.78539816, -0.04166397, -0.00003954, 0.00262573, -0.00054125, -0.00029333, 0.00013558)
"""Polynomials of J0 below 3, in (x/3)^2, and of its size times sqrt(x) and its phase less x above, in 3/x."""


def foot_press_flexibility(
    modulus_along: float, modulus_aft: float, shear: float, nu: float, thickness: float, depth: float
) -> float:
    """How far a rib's end, pressed along the chord against the side of a stick, goes into its wood.

    A rigid strip as long along the stick as the rib is thick presses on its side, as in
    `foot_rotation_flexibility`: along its grain a rib is several times stiffer than a stick across its own.
    Its pressure is that of a rigid strip on a half-plane, whose waves are Bessel's J0. What the stick does as
    a beam is left out. Positive by construction: a sum over waves, each positive.

    Parameters
    ----------
    modulus_along, modulus_aft, shear : float
        Of the stick: E along the span, E aft, G between them, Pa.
    nu : float
        Pulled along the stick, shrinks aft.
    thickness : float
        Of the rib along the span, m.
    depth : float
        Of the stick fore and aft, m.

    Returns
    -------
    float
        Movement of the foot per force a unit height, m2/N.

    References
    ----------
    As `_wave_give`; the rigid strip's pressure: Johnson, Contact Mechanics, ch. 2, from memory. Held by a
    test against plane finite elements of another library.
    """
    give = np.maximum(_wave_give(modulus_along, modulus_aft, shear, nu), 0.0)
    spread = _rigid_strip(_WAVES * thickness / (2 * depth))
    # Even steps of the waves' logarithm; below the first wave the give is that of the first, beyond the last
    # what it adds falls as one over the wave number.
    step = np.log(_WAVES[1] / _WAVES[0])
    weighed = give * spread * _WAVES
    inner = step * (weighed.sum() - (weighed[0] + weighed[-1]) / 2)
    return float((inner + weighed[0] + weighed[-1]) / np.pi)
