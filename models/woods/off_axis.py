"""A sheet's stiffness and strength at an angle to its grain; every function works on whole arrays.

Angles are in rad, from the direction x of interest to the grain, anticlockwise positive. Stiffness follows
Jones, Mechanics of Composite Materials, chapter 2; strength Hankinson's and Norris' formulas (all from
memory).
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.woods.wood import SheetConstants

Floats = NDArray[np.float64]


class Turned(NamedTuple):
    """Engineering constants along x and y of a sheet whose grain is turned from x; each shaped as the angle.

    `G_xy` is that of a piece free to stretch as it shears; one held from stretching has `stiffness`[2, 2].
    `coupling` is the shear strain gamma_xy per unit eps_x of a strip pulled along x and free to shear.
    """

    E_x: Floats
    E_y: Floats
    G_xy: Floats
    nu_xy: Floats
    coupling: Floats


def turned(sheet: SheetConstants, angle: ArrayLike) -> Turned:
    """Engineering constants of a sheet at angles (...) from x to its grain, rad.

    References
    ----------
    Jones, Mechanics of Composite Materials, eqs. 2.97 (from memory).
    """
    flexibility = compliance(sheet, angle)
    along, across, shear = flexibility[..., 0, 0], flexibility[..., 1, 1], flexibility[..., 2, 2]
    nu_xy = -flexibility[..., 0, 1] / along
    return Turned(1.0 / along, 1.0 / across, 1.0 / shear, nu_xy, flexibility[..., 2, 0] / along)


def compliance(sheet: SheetConstants, angle: ArrayLike) -> Floats:
    """Plane-stress compliance in x, y, (..., 3, 3), 1/Pa: (eps_x, eps_y, gamma_xy) from (sigma_x,
    sigma_y, tau_xy), at angles (...), rad."""
    own = np.array(
        [
            [1.0 / sheet.E_1, -sheet.nu_12 / sheet.E_1, 0.0],
            [-sheet.nu_12 / sheet.E_1, 1.0 / sheet.E_2, 0.0],
            [0.0, 0.0, 1.0 / sheet.G_12],
        ]
    )
    to_grain = _stress_to_grain(angle)
    return np.swapaxes(to_grain, -1, -2) @ own @ to_grain


def stiffness(sheet: SheetConstants, angle: ArrayLike) -> Floats:
    """Plane-stress stiffness in x, y: the inverse of `compliance`, Pa, (..., 3, 3)."""
    rest = 1.0 - sheet.nu_12**2 * sheet.E_2 / sheet.E_1
    coupled = sheet.nu_12 * sheet.E_2 / rest
    own = np.array(
        [[sheet.E_1 / rest, coupled, 0.0], [coupled, sheet.E_2 / rest, 0.0], [0.0, 0.0, sheet.G_12]]
    )
    # Inverse of `compliance`: the turn of stresses by minus the angle undoes that by the angle.
    from_grain = _stress_to_grain(-np.asarray(angle, dtype=np.float64))
    return from_grain @ own @ np.swapaxes(from_grain, -1, -2)


def to_grain(sigma_x: ArrayLike, sigma_y: ArrayLike, tau_xy: ArrayLike, angle: ArrayLike) -> Floats:
    """Stresses along the grain, across it and in shear.

    Parameters
    ----------
    sigma_x, sigma_y, tau_xy : (...) array_like
        Pa, tension positive.
    angle : (...) array_like
        From x to the grain, rad.

    Returns
    -------
    (..., 3) float array
        sigma_L, sigma_T, tau_LT, Pa.
    """
    stress = np.stack(np.broadcast_arrays(sigma_x, sigma_y, tau_xy), axis=-1).astype(np.float64)
    return (_stress_to_grain(angle) @ stress[..., None])[..., 0]


def hankinson(along: ArrayLike, across: ArrayLike, angle: ArrayLike, power: float = 2.0) -> Floats:
    """Strength (or modulus) at an angle to the grain: P Q/(P sin^n a + Q cos^n a).

    For direct stress only. n is 2 in compression and 1.5 to 2 in tension and bending; 1.5 is the cautious
    one.

    Parameters
    ----------
    along, across : (...) array_like
        P and Q, above zero.
    angle : (...) array_like
        rad.
    power : float
        n.

    Returns
    -------
    (...) float array
        In the unit of P and Q.

    References
    ----------
    Hankinson's equation (encyclopedia article, looked up); Wood Handbook for n (from memory).
    """
    along, across = np.asarray(along, dtype=np.float64), np.asarray(across, dtype=np.float64)
    sine, cosine = np.abs(np.sin(angle)), np.abs(np.cos(angle))
    return along * across / (along * sine**power + across * cosine**power)


class Strengths(NamedTuple):
    """Strengths in the grain axes, all positive, Pa."""

    tension: ArrayLike
    compression: ArrayLike
    tension_across: ArrayLike
    compression_across: ArrayLike
    shear: ArrayLike


def interaction(
    stresses: ArrayLike, strengths: Strengths, form: Literal["norris", "tsai-hill"] = "norris"
) -> Floats:
    """Left side of the quadratic strength criterion; failure at 1.

    (s_L/F_L)^2 - s_L s_T/(F_L F_T) + (s_T/F_T)^2 + (tau/S)^2, each F by the sign of its stress; Tsai-Hill
    divides the product by F_L^2 instead.

    Parameters
    ----------
    stresses : (..., 3) array_like
        sigma_L, sigma_T, tau_LT as from `to_grain`, Pa.
    strengths : Strengths
    form : {"norris", "tsai-hill"}

    Returns
    -------
    (...) float array
        Grows with the square of the load: the reserve factor is its -1/2 power (`reserve`).

    References
    ----------
    Norris; Tsai-Hill after Jones, Mechanics of Composite Materials, chapter 2 (from memory).
    """
    along, across, shear = np.moveaxis(np.asarray(stresses, dtype=np.float64), -1, 0)
    F_L = np.where(along >= 0.0, strengths.tension, strengths.compression)
    F_T = np.where(across >= 0.0, strengths.tension_across, strengths.compression_across)
    product = along * across / (F_L * (F_T if form == "norris" else F_L))
    return (along / F_L) ** 2 - product + (across / F_T) ** 2 + (shear / strengths.shear) ** 2


def reserve(
    stresses: ArrayLike, strengths: Strengths, form: Literal["norris", "tsai-hill"] = "norris"
) -> Floats:
    """Reserve factor by `interaction`: how many times these stresses the wood bears; infinite without."""
    used = interaction(stresses, strengths, form)
    with np.errstate(divide="ignore"):
        return 1.0 / np.sqrt(used)


def _stress_to_grain(angle: ArrayLike) -> Floats:
    """Matrices that turn (sigma_x, sigma_y, tau_xy) into the grain's axes, (..., 3, 3)."""
    cosine, sine = np.cos(angle), np.sin(angle)
    cc, ss, cs = cosine * cosine, sine * sine, cosine * sine
    rows = (cc, ss, 2.0 * cs), (ss, cc, -2.0 * cs), (-cs, cs, cc - ss)
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)
