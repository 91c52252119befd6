"""Lift of wings by the lifting line and by the vortex lattice: closed forms, published planforms, neutral
points."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from models.loads.lifting_line import lifting_line
from models.loads.lifting_surface import lifting_surface, mean_aerodynamic_chord
from models.wing.airfoil import FRACTIONS, four_digit
from models.wing.parts import Line, Planform
from validation.case import Case, Result


def planform(
    y: np.ndarray, chord: np.ndarray, leading_edge: np.ndarray, camber: tuple[float, float] = (0.0, 0.0)
) -> Planform:
    """Outline of one four-digit section of 12 % all along, without dihedral and washout."""
    nothing = Line(y, np.zeros_like(y))
    upper, lower = four_digit(*camber, 0.12)
    return Planform(
        float(y[-1]),
        Line(y, chord),
        Line(y, leading_edge),
        nothing,
        nothing,
        np.array([0.0]),
        FRACTIONS,
        upper[None],
        lower[None],
    )


def tapered(aspect: float, taper: float = 1.0, sweep: float = 0.0) -> Planform:
    """Of 2 m span; sweep of the quarter chord line, rad."""
    root = 4 / aspect / (1 + taper)
    y, chord = np.array([0.0, 1.0]), root * np.array([1.0, taper])
    return planform(y, chord, (root - chord) / 4 + y * np.tan(sweep))


def elliptic(aspect: float, straight_at: float = 0.25) -> Planform:
    """Of 2 m span; the line at this share of the chord is straight."""
    angle = np.linspace(0.0, np.pi / 2, 801)
    chord = 8 / (np.pi * aspect) * np.maximum(np.cos(angle), 1e-12)
    return planform(np.sin(angle), chord, -straight_at * chord)


def elliptic_line() -> Iterator[Result]:
    """Elliptic wing of aspect ratio 6 by the lifting line."""
    source = (
        "Lifting line, closed form C_L = 2 pi alpha/(1 + 2/A), C_Di = C_L^2/(pi A), 4/(3 pi); from memory"
    )
    why = "the chord is read from an outline of 800 straight pieces"
    line = lifting_line(elliptic(6.0))
    x, weight = np.polynomial.legendre.leggauss(200)
    angle = (x + 1) * np.pi / 4
    load = line.load(np.sin(angle)) * np.cos(angle) * weight
    centre = float((load * np.sin(angle)).sum() / load.sum())
    row = partial(Result, unit="", tolerance=1e-3, source=source, why=why, kind="mesh")
    yield row("lift slope, A 6", line.lift_slope, 4.712389, unit="1/rad")
    yield row("induced drag above the ellipse's", line.drag_factor, 0.0, scale=1.0)
    yield row("half wing's lift, of the semispan", centre, 0.424413)


def rectangles() -> Iterator[Result]:
    """Rectangular wings: the lifting line's own figures, and the surface's known difference."""
    source = "Glauert's series of 200 terms, computed independently; aspect ratio 5 and 10"
    row = partial(Result, unit="1/rad", tolerance=2e-3, source=source, kind="rounding")
    for aspect, slope, factor in ((5.0, 4.31412, 0.03838), (10.0, 5.04679, 0.08591)):
        line, surface = lifting_line(tapered(aspect)), lifting_surface(tapered(aspect))
        what = f"A {aspect:.0f}"
        yield row(f"lift slope, {what}", line.lift_slope, slope, why="same series")
        yield row(
            f"1/e - 1, {what}", line.drag_factor, factor, unit="", why="same series, printed to four digits"
        )
        yield row(
            f"lift slope of the lattice, {what}",
            surface.lift_slope,
            slope,
            tolerance=None,
            why="for information: a chord of finite length lies in its own curved flow, which a line "
            "cannot see; the loss falls about as ln A/A^2",
            kind="information",
        )


def slender() -> Iterator[Result]:
    """Elliptic wings of growing aspect ratio: the lattice goes over into the lifting line."""
    source = "Lifting line, closed form C_L = 2 pi alpha/(1 + 2/A) and c c_l as an ellipse; from memory"
    finite = "for information: the chord's finite length, a loss that falls about as ln A/A^2"
    row = partial(Result, unit="", source=source, kind="theory")
    for aspect in (6.0, 12.0, 24.0, 48.0):
        surface = lifting_surface(elliptic(aspect), strips=80)
        last = aspect == 48.0
        yield row(
            f"lift slope, A {aspect:.0f}",
            surface.lift_slope,
            2 * np.pi / (1 + 2 / aspect),
            unit="1/rad",
            tolerance=5e-3 if last else None,
            why="what is left of ln A/A^2 at A 48" if last else finite,
            kind="theory" if last else "information",
        )
    load = surface.additional / np.sqrt(1 - surface.y**2)
    ellipse = 8 * surface.lift_slope / (np.pi * 48.0)
    farthest = int(np.argmax(np.abs(load - ellipse) * np.sqrt(1 - surface.y**2)))
    shape = float(np.sqrt(1 - surface.y[farthest] ** 2))
    yield row(
        f"span load at eta {surface.y[farthest]:.3f}, A 48, farthest of 80, of the middle's",
        load[farthest] / ellipse * shape,
        shape,
        tolerance=1e-2,
        why="the outermost strips are wider than the tip's chord is long",
        scale=1.0,
    )
    slope = surface.lift_slope
    drag = surface.induced_drag(slope) * np.pi * 48.0 / slope**2
    yield row("induced drag over the ellipse's, A 48", drag, 1.0, tolerance=5e-3, why="as its span load")


def swept() -> list[Result]:
    """45 degrees of sweep, aspect ratio 5, no taper: four strips a side and one row, and many."""
    source = "Bertin and Smith, Aerodynamics for Engineers, swept wing of four panels a side; from memory"
    digits = "printed to three digits"
    wing = tapered(5.0, 1.0, np.pi / 4)
    coarse, fine = lifting_surface(wing, strips=4, rows=1, even=True), lifting_surface(wing, strips=80)
    row = partial(Result, unit="1/rad", tolerance=2e-2, source=source, kind="rounding")
    out = [
        row(
            "lift slope, 4 strips and 1 row",
            coarse.lift_slope,
            3.443,
            why="the printed answer is of the same lattice, by hand",
        )
    ]
    circulation = coarse.additional / 2 / (4 * np.pi * 2.0)
    for k, printed in enumerate((0.0273, 0.0287, 0.0286, 0.0250)):
        out.append(
            row(
                f"circulation of strip {k + 1}, of 4 pi b U alpha",
                circulation[k],
                printed,
                unit="",
                why=digits,
            )
        )
    out.append(
        row(
            "lift slope, 80 strips and 8 rows",
            fine.lift_slope,
            3.443,
            tolerance=None,
            why="for information, the converged value: four strips overstate the lift near the tip",
            kind="information",
        )
    )
    return out


def circle() -> Iterator[Result]:
    """A round wing: the lifting surface where the lifting line is farthest off."""
    found = lifting_surface(elliptic(4 / np.pi, 0.5), rows=16)
    yield Result(
        "lift slope of a circular wing",
        found.lift_slope,
        1.790,
        "1/rad",
        5e-3,
        "Jordan, The parabolic wing tip in subsonic flow, AIAA paper 71-10, 1971: 1.7900; from memory",
        "sixteen rows and forty strips; the outline is straight from strip to strip",
        "mesh",
    )


def camber() -> Iterator[Result]:
    """Zero-lift angle and moment of a slender cambered wing against thin-aerofoil theory."""
    m, p = 0.02, 0.4
    theta = (np.arange(20000) + 0.5) * np.pi / 20000
    x = (1 - np.cos(theta)) / 2
    slope = 2 * m * (p - x) / np.where(x < p, p**2, (1 - p) ** 2)
    angle = -float((slope * (np.cos(theta) - 1)).mean())
    moment = np.pi / 4 * (2 * (slope * np.cos(2 * theta)).mean() - 2 * (slope * np.cos(theta)).mean())
    y = np.array([0.0, 20.0])
    found = lifting_surface(planform(y, np.full(2, 0.2), np.zeros(2), (m, p)))
    source = "Thin-aerofoil theory (Glauert 1926) with the mean line of NACA 2412, NACA TR 460; from memory"
    why = (
        "eight rows; and the mean of the surfaces' ordinates is not quite the mean line near the nose, from "
        "which thickness is laid off square"
    )
    row = partial(Result, source=source, why=why, kind="theory")
    yield row("zero-lift angle", np.degrees(found.zero_lift_angle), np.degrees(angle), "deg", 0.03)
    yield row("moment about the neutral point", found.zero_lift_moment, moment, "", 0.04)


def neutral_points() -> Iterator[Result]:
    """Neutral point of straight, tapered and swept wings against the quarter chord."""
    quarter = "Thin-aerofoil theory: aerodynamic centre at the quarter chord (from memory); slender wing"
    row = partial(
        Result,
        unit="",
        source="Quarter of the mean aerodynamic chord, common practice (from memory)",
        kind="theory",
    )
    for name, taper in (("straight", 1.0), ("tapered to 0.5, quarter chord straight", 0.5)):
        wing = tapered(40.0, taper)
        found, chord = lifting_surface(wing, strips=80), mean_aerodynamic_chord(wing)
        yield row(
            f"{name}, A 40, of the mean chord",
            (found.neutral_x - chord[2]) / chord[0],
            0.25,
            tolerance=5e-3,
            source=quarter,
            why="what is left of the tips at A 40",
            scale=1.0,
        )
        low = tapered(6.0, taper)
        found, chord = lifting_surface(low), mean_aerodynamic_chord(low)
        yield row(
            f"{name}, A 6, of the mean chord",
            (found.neutral_x - chord[2]) / chord[0],
            0.25,
            tolerance=0.02,
            why="at the tips lift moves forward",
            scale=1.0,
        )
    wing = tapered(8.0, 0.4, np.radians(20))
    found, chord = lifting_surface(wing), mean_aerodynamic_chord(wing)
    yield row(
        "swept 20 degrees, taper 0.4, A 8, of the mean chord",
        (found.neutral_x - chord[2]) / chord[0],
        0.25,
        tolerance=0.03,
        why="the span load is not quite as the chord, and lift moves aft in the middle",
        scale=1.0,
    )


CASES = (
    Case("L1", "Elliptic wing by the lifting line", elliptic_line),
    Case("L4", "Rectangular wings by the lifting line", rectangles),
    Case("L5", "Elliptic wings in the slender limit", slender),
    Case("L6", "Swept wing at its published panel count", swept),
    Case("L8", "Circular wing", circle),
    Case("L9", "Camber", camber),
    Case("L10", "Neutral points", neutral_points),
)
