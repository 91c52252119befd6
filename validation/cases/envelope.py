"""Manoeuvre and gust loads: hand calculations, the rule's own units, and alleviation against a gust flown
through."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy.integrate import solve_ivp

from models.loads.envelope import (
    alleviation,
    corner_speed,
    of_circle,
    of_gust,
    slope_of,
    stall_speed,
    tightest_radius,
)
from validation.case import Case, Result
from validation.cases.lifting_surfaces import elliptic, tapered

FOOT, KNOT, POUND = 0.3048, 1852 / 3600, 4.4482216
"""m, m/s and N."""
GUST_CHORDS = 12.5
"""Chords over which the gust grows to its full strength."""
_WAGNER = np.array([[0.165, 0.0455], [0.335, 0.3]])
_KUSSNER = np.array([[0.5, 0.13], [0.5, 1.0]])


def gust_by_hand() -> Iterator[Result]:
    """A gust of 30 ft/s at 100 knots on a wing of 16 lb/ft2, worked in those units."""
    loading, chord, slope, gust, speed = 16.0, 5.0, 4.8, 30.0, 100.0
    ratio = 2 * loading / (0.0023769 * chord * slope * 32.174)
    by_hand = 1 + 0.88 * ratio / (5.3 + ratio) * gust * speed * slope / (498 * loading)
    found = of_gust(speed * KNOT, gust * FOOT, loading * POUND / FOOT**2, chord * FOOT, slope, 1.225)
    yield Result(
        "load factor in the gust",
        float(found),
        by_hand,
        "",
        1e-3,
        "14 CFR 23.341(c) before 2017: n = 1 + K U V a/(498 W/S), from memory; worked by hand, computed",
        "the rule's 498 is rounded from 498.3 or so",
        "rounding",
    )


def flown_through() -> list[Result]:
    """Greatest jolt of a stiff aeroplane that rises in a gust, over that of a sharp-edged gust."""
    source = (
        "Pratt and Walker, NACA Report 1206, 1954 (from memory); computed here by growth of lift after "
        "R. T. Jones, NACA Report 681, 1940 (from memory)"
    )
    why = "the factor is a fit to such curves; the growth of lift is that of an endless wing"
    return [
        Result(
            f"alleviation at mass ratio {ratio:g}", float(alleviation(ratio)), _jolt(ratio), "", 0.04,
            source, why, "theory"
        )
        for ratio in (5.0, 10.0, 20.0, 50.0)
    ]  # fmt: skip


def _jolt(ratio: float) -> float:
    """Lift over its sharp-edged value, the greatest; time in half chords, lags of the growth as states."""
    length = 4 * GUST_CHORDS
    wagner, kussner = _WAGNER, _KUSSNER

    def gust(s: float) -> float:
        return float((1 - np.cos(2 * np.pi * s / length)) / 2) if s < length else 0.0

    def lift(state: np.ndarray) -> float:
        from_rising = state[0] * (1 - wagner[:, 0].sum()) + wagner[:, 0] @ state[1:3]
        return float(kussner[:, 0] @ state[3:] - from_rising)

    def rate(s: float, state: np.ndarray) -> np.ndarray:
        lags = wagner[:, 1] * (state[0] - state[1:3]), kussner[:, 1] * (gust(s) - state[3:])
        return np.concatenate([[lift(state) / (2 * ratio)], *lags])

    done = solve_ivp(rate, (0.0, 2 * length), np.zeros(5), rtol=1e-8, atol=1e-10, max_step=0.5)
    return max(lift(state) for state in done.y.T)


def slope() -> list[Result]:
    """Lift slope that the gust formula gets, against the closed form for straight and swept wings."""
    source = (
        "2 pi A/(2 + sqrt(4 + A^2 (1 + tan^2 of the half-chord's sweep))): Helmbold 1942 for the "
        "straight ellipse, Lowry and Polhamus, NACA TN 3911, 1957, for the swept wing (both from memory)"
    )
    why = (
        "the closed form blends the endless and the slender wing; between them it lies above lifting "
        "surfaces, 3 % at aspect ratio 6, and comes to them as that grows (the circular wing, known exactly, "
        "is case L8); it is an ellipse's, and a rectangle lifts less"
    )
    swept = tapered(6.0, 0.4, np.radians(30.0))
    edge = (swept.leading_edge_x.value + swept.chord.value / 2) / swept.semispan
    rows = (
        ("rectangle, aspect ratio 6", tapered(6.0, 1.0, 0.0), 6.0, 0.0, 0.02, 0.075),
        ("rectangle, aspect ratio 12", tapered(12.0, 1.0, 0.0), 12.0, 0.0, 0.02, 0.075),
        ("ellipse, aspect ratio 4", elliptic(4.0), 4.0, 0.0, 0.02, 0.045),
        ("ellipse, aspect ratio 6", elliptic(6.0), 6.0, 0.0, 0.02, 0.04),
        ("ellipse, aspect ratio 12", elliptic(12.0), 12.0, 0.0, 0.02, None),
        (
            "quarter chord swept 30 degrees, taper 0.4, aspect ratio 6",
            swept,
            6.0,
            edge[1] - edge[0],
            0.03,
            None,
        ),
    )
    return [
        Result(
            f"lift slope, {what}", slope_of(plan),
            2 * np.pi * ratio / (2 + np.sqrt(4 + ratio**2 * (1 + tangent**2))),
            "1/rad", allowed, source, why, "theory", known_miss=miss
        )
        for what, plan, ratio, tangent, allowed, miss in rows
    ]  # fmt: skip


def by_hand() -> list[Result]:
    """Stall, corner and loop of a wing of 45 N/m2 that lifts 1.2 at most and is asked for 6 g."""
    source = "lift = weight; n = (V/V_stall)^2; n = 1 + V^2/(g R), g 9.80665 m/s2; worked by hand, computed"
    rows = (
        ("stall speed", stall_speed(45.0, 1.225, 1.2), 7.82461, "m/s"),
        ("corner speed, 6 g", corner_speed(7.82461, 6.0), 19.16630, "m/s"),
        ("load factor at 30 m/s in a loop of 15 m", of_circle(30.0, 15.0), 7.118297, ""),
        ("loop at 30 m/s and 6 g", tightest_radius(30.0, 6.0), 18.35489, "m"),
    )
    return [
        Result(what, float(found), hand, unit, 1e-6, source, "seven figures", "rounding")
        for what, found, hand, unit in rows
    ]


CASES: tuple[Case, ...] = (
    Case("G1", "gust load factor worked by hand in the rule's units", gust_by_hand),
    Case("G2", "gust alleviation factor against a gust flown through", flown_through),
    Case("G3", "lift slope for the gust formula against a closed form", slope),
    Case("G4", "stall, corner and loop worked by hand", by_hand),
)
