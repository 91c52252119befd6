"""Lift along the span by Schrenk's approximation, and the ordinates of four-digit sections."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from models.loads.schrenk import schrenk_loading
from models.wing.airfoil import FRACTIONS, four_digit, half_thickness
from validation.case import Case, Result

ETA = np.array([0, 0.2, 0.4, 0.6, 0.8, 0.9, 1.0])
RECTANGLE = np.array([1.136620, 1.123757, 1.083472, 1.009296, 0.881972, 0.777496, 0.5])
TAPERED = np.array([1.303286, 1.223757, 1.116805, 0.975962, 0.781972, 0.644163, 0.333333])

STATIONS = np.array([1.25, 2.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 90, 95, 100])
ORDINATES = np.array(
    [
        *(1.894, 2.615, 3.555, 4.200, 4.683, 5.345, 5.738, 5.941, 6.002),
        *(5.803, 5.294, 4.563, 3.664, 2.623, 1.448, 0.807, 0.126),
    ]
)


def schrenk() -> list[Result]:
    """Rectangle and taper 0.5: ordinates and the place of the half wing's lift."""
    source = "Schrenk 1940, NACA TM 948 (assumption looked up in its opening); ordinates computed"
    digits = "printed to six digits"
    x, weight = np.polynomial.legendre.leggauss(40)
    angle, weight = (x + 1) * np.pi / 4, weight * np.pi / 4
    at, weight = np.sin(angle), weight * np.cos(angle)
    out = []
    row = partial(Result, unit="", tolerance=1e-9, source=source, why="closed integral", kind="rounding")
    for name, taper, printed in (("rectangle", 1.0, RECTANGLE), ("taper 0.5", 0.5, TAPERED)):

        def chord(eta: np.ndarray, taper: float = taper) -> np.ndarray:
            return np.asarray((1 - (1 - taper) * eta) / ((1 + taper) / 2))

        found = schrenk_loading(chord(ETA), ETA)
        worst = int(np.argmax(np.abs(found - printed)))
        where = f"{name}: lift per length at eta {ETA[worst]:.1f}, farthest of seven"
        out.append(row(where, found[worst], printed[worst], tolerance=1.5e-6, why=digits))
        lift = schrenk_loading(chord(at), at)
        planform = (1 / 2 - (1 - taper) / 3) / ((1 + taper) / 2)
        exact = (planform + 4 / (3 * np.pi)) / 2
        total = float((lift * weight).sum())
        out.append(row(f"{name}: lift in all", total, 1.0))
        centre = float((lift * at * weight).sum())
        quantity = f"{name}: lateral centre over the semispan"
        out.append(row(quantity, centre, exact))
    return out


def sections() -> Iterator[Result]:
    """Half thickness of a 12 % section, its nose, and where a cambered one bulges most."""
    table = "NACA TR 460, table of NACA 0012, from memory; ordinates computed by its formula"
    found = half_thickness(STATIONS / 100, 0.12) * 100
    worst = int(np.argmax(np.abs(found - ORDINATES)))
    shape = np.interp(STATIONS / 100, FRACTIONS, four_digit(0.0, 0.0, 0.12)[0]) * 100
    kept = int(np.argmax(np.abs(shape - ORDINATES)))
    near = 1e-10
    radius = float(half_thickness(np.array([near]), 0.12)[0]) ** 2 / (2 * near) * 100
    upper, lower = (np.interp(0.4, FRACTIONS, side) * 100 for side in four_digit(0.02, 0.4, 0.12))
    half = float(half_thickness(np.array([0.4]), 0.12)[0]) * 100
    rounded = "printed to three decimals of % chord"
    kept_points = "printed to three decimals; read between the 401 points kept of a section"
    camber = "NACA TR 460, mean line of NACA 2412: 2 % at 40 % of the chord, from memory"
    unit = "% chord"
    row = partial(Result, unit=unit, tolerance=1e-3, source=table, why=kept_points, kind="rounding")
    yield row(
        f"NACA 0012, half thickness at {STATIONS[worst]:g} %, farthest of 17",
        found[worst],
        ORDINATES[worst],
        why=rounded,
        scale=1.0,
    )
    yield row(f"the section as kept, at {STATIONS[kept]:g} %", shape[kept], ORDINATES[kept], scale=1.0)
    yield row("nose radius 1.1019 t^2", radius, 1.587, why=rounded, scale=1.0)
    yield row("NACA 2412, top at 40 %", upper, 2 + half, source=camber, scale=1.0)
    yield row("NACA 2412, bottom at 40 %", lower, 2 - half, source=camber, scale=1.0)


CASES = (Case("L2", "Lift along the span by Schrenk", schrenk), Case("L3", "Four-digit sections", sections))
