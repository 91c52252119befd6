"""Manoeuvres and gusts by speed: what the wing can lift, what a circle or a gust asks, and their outline.

Load factor n = lift / weight. The wing can lift n = (V/V_stall)^2 and no more; a circle of radius R flown at
V asks 1 + V^2/(g R) at its lowest point; a gust asks 1 +- K rho U V a/(2 W/S) with the alleviation factor of
Pratt and Walker, since a gust is not sharp and a light wing rises with it. Kernels are plain formulas on
arrays that broadcast, (...): speeds m/s, radii and chords m, wing loading W/S N/m2, density kg/m3, lift slope
1/rad; `stall` is the stall speed at 1 g.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fea.arrays import Array
from models.gravity import GRAVITY
from models.loads.lifting_surface import lifting_surface
from models.wing.parts import Planform, Wing


def stall_speed(wing_loading: ArrayLike, density: ArrayLike, max_lift_coefficient: ArrayLike) -> Array:
    """Speed at which the greatest lift just equals the weight, sqrt(2 (W/S)/(rho C_L max))."""
    return np.sqrt(2 * np.asarray(wing_loading) / (np.asarray(density) * np.asarray(max_lift_coefficient)))


def most_by_lift(speed: ArrayLike, stall: ArrayLike) -> Array:
    """Load factor that the greatest lift gives, (V/V_stall)^2."""
    return np.asarray((np.asarray(speed, dtype=float) / stall) ** 2)


def corner_speed(stall: ArrayLike, load_factor: ArrayLike) -> Array:
    """Slowest speed at which a load factor can be lifted, V_stall sqrt(n): the manoeuvre speed."""
    return np.asarray(np.asarray(stall) * np.sqrt(load_factor))


def of_circle(speed: ArrayLike, radius: ArrayLike) -> Array:
    """Load factor at the lowest point of a circle in the upright plane, 1 + V^2/(g R)."""
    return 1 + np.asarray(speed, dtype=float) ** 2 / (GRAVITY * np.asarray(radius))


def tightest_radius(speed: ArrayLike, load_factor: ArrayLike) -> Array:
    """Radius of the circle that takes a load factor at its lowest point, V^2/(g (n - 1)); infinite where
    n is 1 or less: the path cannot be bent upward."""
    speed, over = np.asarray(speed, dtype=float), np.asarray(load_factor, dtype=float) - 1
    return np.where(over > 0, speed**2 / (GRAVITY * np.where(over > 0, over, 1.0)), np.inf)


def mass_ratio(wing_loading: ArrayLike, density: ArrayLike, chord: ArrayLike, slope: ArrayLike) -> Array:
    """Mass of the aeroplane over that of the air that feels its wing, 2 (W/S)/(rho c a g).

    Parameters
    ----------
    wing_loading, density, chord, slope
        As above; the mean geometric chord.

    References
    ----------
    14 CFR 23.341(c) as it stood before 2017 (from memory).
    """
    return 2 * np.asarray(wing_loading) / (np.asarray(density) * chord * np.asarray(slope) * GRAVITY)


def alleviation(ratio: ArrayLike) -> Array:
    """Share of a sharp-edged gust's jolt that a real gust leaves, 0.88 mu/(5.3 + mu), mu the mass ratio.

    Notes
    -----
    For a gust that grows as one less a cosine over 12.5 chords, on a stiff aeroplane that rises but does not
    pitch.

    References
    ----------
    Pratt and Walker, A revised gust-load formula and a re-evaluation of V-G data, NACA Report 1206, 1954;
    14 CFR 23.341(c) as it stood before 2017 (both from memory).
    """
    ratio = np.asarray(ratio, dtype=float)
    return 0.88 * ratio / (5.3 + ratio)


def of_gust(
    speed: ArrayLike,
    gust: ArrayLike,
    wing_loading: ArrayLike,
    chord: ArrayLike,
    slope: ArrayLike,
    density: ArrayLike,
) -> Array:
    """Load factor in a gust met in level flight, 1 + K rho U V a/(2 W/S), at low height.

    Parameters
    ----------
    speed, gust, wing_loading, chord, slope, density
        V, U (m/s, upward positive), and as for `mass_ratio`.

    Notes
    -----
    What the gust asks; that the wing may stall in it is not in the formula.

    References
    ----------
    As `alleviation`.
    """
    kept = alleviation(mass_ratio(wing_loading, density, chord, slope))
    jolt = np.asarray(density) * np.asarray(gust) * np.asarray(speed) * slope / (2 * np.asarray(wing_loading))
    return np.asarray(1 + kept * jolt)


def slope_of(planform: Planform) -> float:
    """Lift slope of a bare, stiff wing by `models.loads.lifting_surface`, 1/rad, without compressibility."""
    return lifting_surface(planform).lift_slope


FASTEST = 1.4
"""Never-exceed over cruise speed where the file gives none: 14 CFR 23.335(b), normal category (from
memory)."""


def design_speeds(wing: Wing, stall: float) -> tuple[float, float, float]:
    """Manoeuvring, cruise and never-exceed speed, m/s, of a wing whose stall speed at 1 g is known, m/s.

    What the file leaves out: the load factor at the greatest lift, the load case's speed or that one, and
    `FASTEST` times the cruise speed.
    """
    flight, case = wing.flight, wing.case
    assert flight is not None, "a wing in flight has limits"
    manoeuvring = float(corner_speed(stall, case.load_factor))
    cruise = flight.cruise_speed or case.speed or manoeuvring
    never_exceed = flight.never_exceed_speed or FASTEST * cruise
    return manoeuvring, min(cruise, never_exceed), never_exceed


@dataclass(frozen=True)
class ManoeuvreBounds:
    """What bounds the manoeuvres.

    Parameters
    ----------
    stall, stall_inverted : float
        Stall speeds at 1 g, m/s.
    never_exceed : float
        m/s.
    up, down : float
        Greatest load factor upright and inverted, the latter without its minus.
    """

    stall: float
    stall_inverted: float
    never_exceed: float
    up: float
    down: float

    def corners(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Speed and load factor at the upright and the inverted corner: the slowest at which the load factor
        is reached, or at the never-exceed speed what the lift gives there."""
        found = []
        for stall, most, sign in ((self.stall, self.up, 1), (self.stall_inverted, self.down, -1)):
            speed = min(float(corner_speed(stall, most)), self.never_exceed)
            found.append((speed, sign * min(most, float(most_by_lift(speed, stall)))))
        return found[0], found[1]


def outline(limits: ManoeuvreBounds, points: int = 40) -> tuple[Array, Array]:
    """Closed outline of the manoeuvres, speeds (m/s) and load factors (n,), the last point the first:
    lift to the corner, the load factor to the never-exceed speed, back; `points` on each of the two
    curves of greatest lift."""
    (fast, up), (slow, down) = limits.corners()
    rising, falling = np.linspace(0.0, fast, points), np.linspace(slow, 0.0, points)
    speed = np.concatenate([rising, [limits.never_exceed] * 2, falling])
    n = np.concatenate(
        [most_by_lift(rising, limits.stall), [up, down], -most_by_lift(falling, limits.stall_inverted)]
    )
    return speed, n
