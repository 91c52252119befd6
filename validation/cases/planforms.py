"""Unusual planforms on the vortex lattice: very short and very long ones, swept both ways, pointed, cranked,
bent upward and twisted, against closed forms and exact theorems."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from models.loads.lifting_line import lifting_line
from models.loads.lifting_surface import LiftingSurface, lifting_surface, mean_aerodynamic_chord
from models.wing.parts import Line, Planform
from validation.case import Case, Result
from validation.cases.lifting_surfaces import elliptic, planform, tapered

POINT = 1e-6
"""Tip chord of a pointed wing over its root chord: a file asks for a chord above nothing."""


def pointed(aspect: float) -> Planform:
    """Delta with a straight trailing edge, 2 m of span."""
    root = 4 / aspect
    return planform(np.array([0.0, 1.0]), root * np.array([1.0, POINT]), np.array([0.0, root * (1 - POINT)]))


def gothic(aspect: float) -> Planform:
    """Pointed nose, tips along the stream, straight trailing edge: y = 2 x - x^2 in units of root chord
    and semispan, 1 m; area 4/3 of semispan times root chord."""
    root = 4 / aspect / (4 / 3)
    y = np.sin(np.linspace(0.0, np.pi / 2, 401))
    chord = np.maximum(np.sqrt(1 - y), POINT)
    return planform(y, root * chord, root * (1 - chord))


def cranked() -> Planform:
    """A strake of 63 degrees before an outer wing of 27."""
    return planform(np.array([0.0, 0.4, 1.0]), np.array([1.2, 0.6, 0.25]), np.array([0.0, 0.8, 1.1]))


def backwards(wing: Planform) -> Planform:
    """The same outline in reversed flow."""
    y = np.union1d(wing.leading_edge_x.y, wing.chord.y)
    return replace(wing, leading_edge_x=Line(y, -wing.leading_edge_x.at(y) - wing.chord.at(y)))


def large() -> Iterator[Result]:
    """Elliptic wings: one term beyond the lifting line."""
    source = (
        "Van Dyke, Lifting-line theory as a singular-perturbation problem, 1964: C_L/(2 pi alpha) = "
        "1/(1 + 2/A + 16/(pi A)^2 (ln(pi A) - 9/8)), from memory"
    )
    for aspect, tolerance in ((12.0, 5e-3), (24.0, 1e-3), (48.0, 1e-3)):
        printed = 2 * np.pi / (1 + 2 / aspect + 16 / (np.pi * aspect) ** 2 * (np.log(np.pi * aspect) - 9 / 8))
        yield Result(
            f"lift slope, A {aspect:.0f}",
            lifting_surface(elliptic(aspect), strips=80).lift_slope,
            printed,
            "1/rad",
            tolerance,
            source,
            "the next term falls as the third power of the aspect ratio",
            "theory",
        )


def small() -> Iterator[Result]:
    """Very low aspect ratios: lift of the slender body, whatever the outline."""
    source = "R. T. Jones, Properties of low-aspect-ratio pointed wings, NACA TR 835, 1946, from memory"
    aspect = 0.05
    shapes = (
        ("delta", pointed(aspect), 2 / 3, 4 / aspect, 0.03),
        ("gothic", gothic(aspect), 7 / 15, 3 / aspect, 0.03),
        ("rectangle", tapered(aspect), 0.0, 2 / aspect, 0.03),
    )
    row = partial(Result, unit="", kind="theory")
    for name, wing, centre, root, tolerance in shapes:
        found = lifting_surface(wing, rows=16)
        slope = np.pi * aspect / 2
        why = f"A {aspect:g} is not yet nothing, and sixteen rows stand for the chord"
        yield row(
            f"{name}: lift slope, pi A/2",
            found.lift_slope,
            slope,
            unit="1/rad",
            tolerance=0.03,
            source=source,
            why=why,
        )
        yield row(
            f"{name}: neutral point, of the root chord",
            found.neutral_x / root,
            centre,
            tolerance=tolerance,
            source=f"{source}: lift of a length of chord as d(b^2)/dx, which acts at 1 - int (b/b_max)^2 dx",
            why=why,
            scale=1.0,
        )
        yield row(
            f"{name}: induced drag over the ellipse's",
            found.induced_drag(0.3) * np.pi * aspect / 0.09,
            1.0,
            tolerance=2e-3,
            source=f"{source}: elliptic span load",
            why=why,
        )


def reversed_flow() -> Iterator[Result]:
    """Lift slope in forward and in reversed flow; zero-lift angle from the other flow's load."""
    source = "Reverse-flow theorem (Munk 1950; Ursell and Ward 1950), from memory: the lift slopes are equal"
    twist = (
        "Reverse-flow theorem (as above): lift by twist = twist weighted by the flat plate's load in "
        "reversed flow; computed from the same lattice"
    )
    shapes = (
        ("swept back 35 degrees, A 6", tapered(6.0, 0.5, np.radians(35))),
        ("swept forward 30 degrees, A 8", tapered(8.0, 0.7, np.radians(-30))),
        ("delta, A 2", pointed(2.0)),
        ("cranked", cranked()),
    )
    row = partial(Result, kind="mesh")
    for name, wing in shapes:
        there, back = lifting_surface(wing), lifting_surface(backwards(wing))
        yield row(
            f"lift slope, {name}",
            there.lift_slope,
            back.lift_slope,
            "1/rad",
            5e-3,
            source=source,
            why="40 strips and 8 rows: the bend at the centre is not resolved alike both ways",
        )
        nose_down = Line(np.array([0.0, 1.0]), np.radians([0.0, 4.0]))
        twisted = lifting_surface(replace(wing, washout=nose_down))
        weight = back.width * back.additional
        mean = float(weight @ np.tan(nose_down.at(back.y)) / weight.sum())
        yield row(
            f"zero-lift angle by 4 degrees of washout, {name}",
            np.degrees(twisted.zero_lift_angle),
            np.degrees(mean),
            "deg",
            1e-2,
            source=twist,
            why="as the slopes",
        )


def drag() -> Iterator[Result]:
    """Drag of the wake against the series of the same load, and slender wings against Glauert's line."""
    munk = "Glauert 1926, C_Di = pi A sum n A_n^2 of the sine series of the load (from memory); computed"
    shapes = (
        ("rectangle, A 6", tapered(6.0)),
        ("swept back 35 degrees, A 6", tapered(6.0, 0.5, np.radians(35))),
        ("delta, A 2", pointed(2.0)),
        ("cranked", cranked()),
        ("inverse taper 2, A 5", tapered(5.0, 2.0)),
    )
    row = partial(
        Result,
        unit="",
        tolerance=1e-2,
        source="Glauert's series of 200 terms (lifting line), from memory",
        kind="theory",
    )
    for name, wing in shapes:
        found = lifting_surface(wing, strips=80, rows=4)
        yield row(
            f"induced drag at C_L 1, {name}",
            found.induced_drag(1.0),
            series_drag(found, found.load(1.0)),
            source=munk,
            why="the series is fitted to 80 strips; strips on either side of a bend differ in width",
            kind="mesh",
        )
    for taper in (1.0, 0.5):
        wing = tapered(80.0, taper)
        line, found = lifting_line(wing), lifting_surface(wing, strips=80, rows=4)
        yield row(
            f"lift slope, A 80, taper {taper:g}",
            found.lift_slope,
            line.lift_slope,
            unit="1/rad",
            why="what is left of the finite chord at A 80",
        )
        yield row(
            f"induced drag over the ellipse's, A 80, taper {taper:g}",
            found.induced_drag(1.0) * np.pi * 80.0,
            1 + line.drag_factor,
            tolerance=0.06,
            why="the line keeps the load full up to the tip; a finite chord rounds it off over a chord",
        )


def series_drag(found: LiftingSurface, load: np.ndarray) -> float:
    """C_Di by the sine series of a load over the span: c c_l = 4 b sum A_n sin n theta, n odd."""
    theta = np.arccos(found.y / found.semispan)
    n = 2 * np.arange(len(load) // 2) + 1
    amount = np.linalg.lstsq(8 * found.semispan * np.sin(theta[:, None] * n), load, rcond=None)[0]
    aspect = 4 * found.semispan**2 / found.area
    return float(np.pi * aspect * (n * amount**2).sum())


def mean_chords() -> Iterator[Result]:
    """Mean aerodynamic chord in closed form."""
    source = "(2/3) c_r (1 + t + t^2)/(1 + t), at y = (b/6)(1 + 2 t)/(1 + t); textbook formula, from memory"
    row = partial(Result, unit="m", tolerance=1e-9, source=source, why="closed form", kind="rounding")
    for taper in (1.0, 0.4, POINT):
        root, span, sweep = 0.5, 1.6, 0.3
        wing = planform(np.array([0.0, span / 2]), root * np.array([1.0, taper]), np.array([0.0, sweep]))
        chord, y, x = mean_aerodynamic_chord(wing)
        at = span / 6 * (1 + 2 * taper) / (1 + taper)
        exact = 2 / 3 * root * (1 + taper + taper**2) / (1 + taper)
        name = f"taper {taper:.1f}"
        yield row(f"{name}: chord", chord, exact)
        yield row(f"{name}: place along the span", y, at)
        yield row(f"{name}: leading edge", x, sweep * at / (span / 2))
    found = mean_aerodynamic_chord(elliptic(6.0))
    yield row(
        "ellipse: chord over the root chord",
        found[0] / (8 / (6 * np.pi)),
        8 / (3 * np.pi),
        unit="",
        tolerance=1e-4,
        source="8/(3 pi), closed form, computed",
        why="the outline is read as 800 straight pieces",
        kind="mesh",
    )


def bent() -> Iterator[Result]:
    """Dihedral: a wing bent upward is the flat one of its true span, at an angle less by the cosine."""
    source = (
        "Purser and Campbell, V-tails, NACA TR 823, 1945, from memory: slope of the flat wing of the "
        "developed area times cos^2 of the dihedral, on that area"
    )
    for dihedral, tolerance in ((10.0, 5e-3), (30.0, 3e-2)):
        angle = np.radians(dihedral)
        flat = tapered(8.0 / np.cos(angle), 0.6)
        narrow = tapered(8.0, 0.6)
        wing = replace(narrow, leading_edge_z=Line(np.array([0.0, 1.0]), np.array([0.0, np.tan(angle)])))
        # On the projected area one of the two cosines goes.
        yield Result(
            f"lift slope, {dihedral:g} degrees, A 8, taper 0.6",
            lifting_surface(wing).lift_slope,
            lifting_surface(flat).lift_slope * np.cos(angle),
            "1/rad",
            tolerance,
            source,
            "the halves see each other at an angle: order of the dihedral squared over A",
            "theory",
        )


def sheared() -> Iterator[Result]:
    """Slender swept wings: neutral point of quarter-chord lift at the load's own lateral centre."""
    source = (
        "Quarter-chord lift on a line swept straight, x = y tan(sweep), closed form of its own load; computed"
    )
    for degrees in (-30.0, 20.0, 40.0):
        wing = tapered(40.0, 1.0, np.radians(degrees))
        found = lifting_surface(wing, strips=80, rows=4)
        weight = found.width * found.additional
        lateral = float(weight @ found.y / weight.sum())
        chord = float(wing.chord.at(0.0))
        yield Result(
            f"neutral point, {degrees:g} degrees, A 40, of the semispan",
            found.neutral_x,
            chord / 4 + lateral * np.tan(np.radians(degrees)),
            "m",
            5e-3,
            source,
            "at the bend in the middle and at the tips lift leaves the quarter chord, over about a chord",
            "theory",
            scale=1.0,
        )


CASES = (
    Case("L11", "Elliptic wings beyond the lifting line", large),
    Case("L12", "Wings of very low aspect ratio", small),
    Case("L13", "Wings in reversed flow", reversed_flow),
    Case("L14", "Induced drag of the wake and of its series", drag),
    Case("L15", "Mean aerodynamic chord", mean_chords),
    Case("L16", "Lift slope with dihedral", bent),
    Case("L17", "Neutral point of slender swept wings", sheared),
)
