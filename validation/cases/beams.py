"""Straight beams of one rectangular section under tip, spread and centre loads, with and without shear."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from fea.structure import Array, Structure, Supports
from models.section import rectangle_torsion, rectangle_torsion_constant
from validation.case import Case, Result
from validation.meshes import along_y, chain, moved, rectangle
from validation.units import MM, MPA, N_PER_MM

E, G = 10_000 * MPA, 600 * MPA
WIDTH, DEPTH, LENGTH = 10 * MM, 20 * MM, 300 * MM
INERTIA, AREA = WIDTH * DEPTH**3 / 12, WIDTH * DEPTH
SHEAR = 5 / 6 * G * AREA
TIP_FORCE, SPREAD, COUPLE, TORQUE = 10.0, 0.05 * N_PER_MM, 1000e-3, 500e-3
GJ = float(rectangle_torsion(WIDTH, DEPTH, G, G))

BOOKS = "beam formulas of any strength-of-materials book (Roark; Timoshenko), from memory; evaluated here"
EXACT = "the beam element is exact for this load at its nodes: rounding alone"


def _beam(*, shear: bool = True) -> tuple[float, ...]:
    return rectangle(E, G, WIDTH, DEPTH, GJ, shear=shear)


def _cantilever(n: int, line_load: Array | None = None) -> Structure:
    return chain(along_y(np.linspace(0, LENGTH, n + 1)), _beam(), Supports.fixed([0]), line_load=line_load)


def tip_force() -> Iterator[Result]:
    """One element, force at the tip."""
    moves, _ = moved(_cantilever(1), [(1, (0, 0, TIP_FORCE))])
    expected = TIP_FORCE * LENGTH**3 / (3 * E * INERTIA) + TIP_FORCE * LENGTH / SHEAR
    row = partial(Result, unit="mm", tolerance=1e-9, source=BOOKS, why=EXACT, kind="rounding")
    yield row("tip deflection P L^3/3EI + P L/kGA", moves[1, 2] / MM, expected / MM)


def spread_load() -> Iterator[Result]:
    """Three elements, load spread over the whole length."""
    moves, _ = moved(_cantilever(3, np.array([0, 0, SPREAD])), [])
    expected = SPREAD * LENGTH**4 / (8 * E * INERTIA) + SPREAD * LENGTH**2 / (2 * SHEAR)
    row = partial(Result, unit="mm", tolerance=1e-9, source=BOOKS, why=EXACT, kind="rounding")
    yield row("tip deflection w L^4/8EI + w L^2/2kGA", moves[3, 2] / MM, expected / MM)


def tip_couple() -> Iterator[Result]:
    """A couple at the tip bends without shear."""
    moves, _ = moved(_cantilever(1), [(1, (0, 0, 0, COUPLE))])
    expected = COUPLE * LENGTH**2 / (2 * E * INERTIA)
    row = partial(Result, unit="mm", tolerance=1e-9, source=BOOKS, why=EXACT, kind="rounding")
    yield row("tip deflection M L^2/2EI", moves[1, 2] / MM, expected / MM)


def torque() -> Iterator[Result]:
    """Torque at the tip, and the torsion constant against its series."""
    moves, _ = moved(_cantilever(1), [(1, (0, 0, 0, 0, TORQUE))])
    n = np.arange(1, 2001, 2)
    long, short = DEPTH, WIDTH
    series = (np.tanh(n * np.pi * long / (2 * short)) / n**5).sum()
    constant = long * short**3 * (1 / 3 - 64 / np.pi**5 * short / long * series)
    timoshenko = (
        "Timoshenko and Goodier, torsion of a rectangle, from memory; series of 1000 terms summed here"
    )
    row = partial(Result, kind="rounding")
    yield row(
        "tip twist T L/GJ", float(moves[1, 4]), TORQUE * LENGTH / GJ, "rad", 1e-9, source=BOOKS, why=EXACT
    )
    yield row(
        "J of 10 x 20 mm",
        float(rectangle_torsion_constant(WIDTH, DEPTH)) / MM**4,
        float(constant) / MM**4,
        "mm4",
        1e-6,
        source=timoshenko,
        why="two sums of one series",
    )
    yield row(
        "J of a unit square",
        float(rectangle_torsion_constant(1.0, 1.0)),
        0.140577,
        "",
        1e-5,
        source="Timoshenko and Goodier, table of k1, from memory",
        why="printed to six digits",
    )


def fixed_fixed() -> Iterator[Result]:
    """Both ends clamped, no shear: centre force, and load spread."""
    ends = Supports.fixed([0, 2])
    points = along_y([0, LENGTH / 2, LENGTH])
    centre, _ = moved(chain(points, _beam(shear=False), ends), [(1, (0, 0, TIP_FORCE))])
    spread, _ = moved(chain(points, _beam(shear=False), ends, line_load=np.array([0, 0, SPREAD])), [])
    row = partial(Result, unit="mm", tolerance=1e-9, source=BOOKS, why=EXACT, kind="rounding")
    yield row(
        "centre force: middle P L^3/192EI",
        centre[1, 2] / MM,
        TIP_FORCE * LENGTH**3 / (192 * E * INERTIA) / MM,
    )
    yield row(
        "spread load: middle w L^4/384EI", spread[1, 2] / MM, SPREAD * LENGTH**4 / (384 * E * INERTIA) / MM
    )


def propped_spread() -> Iterator[Result]:
    """One end clamped, one propped, load spread, no shear."""
    points = along_y([0, 0.5785 * LENGTH, LENGTH])
    supports = Supports.fixed([0]) + Supports.fixed([2], "xz")
    structure = chain(points, _beam(shear=False), supports, line_load=np.array([0, 0, -SPREAD]))
    moves, solution = moved(structure, [])
    row = partial(Result, source=BOOKS, kind="rounding")
    yield row(
        "force of the prop 3wL/8",
        float(solution.reactions[2, 2, 0]),
        3 * SPREAD * LENGTH / 8,
        "N",
        1e-9,
        why=EXACT,
    )
    yield row(
        "greatest sag w L^4/184.6EI",
        -moves[1, 2] / MM,
        SPREAD * LENGTH**4 / (184.6 * E * INERTIA) / MM,
        "mm",
        1e-3,
        why="184.6 and 0.5785 L are rounded in the books",
    )


def propped_centre() -> Iterator[Result]:
    """One end clamped, one propped, centre force, no shear."""
    supports = Supports.fixed([0]) + Supports.fixed([2], "xz")
    structure = chain(along_y([0, LENGTH / 2, LENGTH]), _beam(shear=False), supports)
    moves, _ = moved(structure, [(1, (0, 0, TIP_FORCE))])
    expected = 7 * TIP_FORCE * LENGTH**3 / (768 * E * INERTIA)
    row = partial(Result, unit="mm", tolerance=1e-9, source=BOOKS, why=EXACT, kind="rounding")
    yield row("under the force 7 P L^3/768EI", moves[1, 2] / MM, expected / MM)


def wooden_test_beam() -> Iterator[Result]:
    """Share of shear in the standard bending test of wood: 2 x 2 in on 28 in, E/G = 16."""
    side, span, young = 50.8 * MM, 711.2 * MM, E
    supports = Supports.fixed([0], "xyzY") + Supports.fixed([2], "xz")

    def middle(shear: bool) -> float:
        made = rectangle(young, young / 16, side, side, young / 16 * side**4, shear=shear)
        moves, _ = moved(chain(along_y([0, span / 2, span]), made, supports), [(1, (0, 0, 100.0))])
        return float(moves[1, 2])

    ratio = middle(True) / middle(False) - 1
    source = (
        "1.2 (E/G)(h/L)^2; agrees with the rule that a modulus from this test is about 10 % low (USDA FPL "
        "Wood Handbook; NACA TR 180, Newlin and Trayer 1924), from memory; evaluated here"
    )
    yield Result(
        "shear deflection over bending deflection",
        ratio,
        1.2 * 16 * (side / span) ** 2,
        "",
        1e-9,
        source,
        EXACT,
        "rounding",
    )


def grained_rectangle() -> Iterator[Result]:
    """Torsion of a rectangle with two shear moduli, one value and its two turns."""
    g_xy, g_xz = 201.96 * MPA, 138.38 * MPA
    value = float(rectangle_torsion(10 * MM, 6 * MM, g_xy, g_xz))
    swapped = float(rectangle_torsion(6 * MM, 10 * MM, g_xz, g_xy))
    source = "Lekhnitskii, stretched coordinate, from memory; 80 694.2 N mm2 computed"
    unit = MPA * MM**4
    row = partial(Result, unit="N mm2", source=source, kind="rounding")
    yield row(
        "G J of 10 x 6 mm, G 201.96 along 10, 138.38 along 6",
        value / unit,
        80694.2,
        tolerance=1e-6,
        why="printed to six digits",
    )
    yield row(
        "the same with the axes' names swapped",
        swapped / unit,
        value / unit,
        tolerance=1e-12,
        why="one bar, two descriptions",
    )


CASES = (
    Case("B1", "Cantilever, force at the tip", tip_force),
    Case("B2", "Cantilever, load spread along it", spread_load),
    Case("B3", "Cantilever, couple at the tip", tip_couple),
    Case("B4", "Rectangular bar in torsion", torque),
    Case("B5", "Beam clamped at both ends", fixed_fixed),
    Case("B6", "Propped cantilever, load spread along it", propped_spread),
    Case("B7", "Propped cantilever, force in the middle", propped_centre),
    Case("B8", "Share of shear in a wooden test beam", wooden_test_beam),
    Case("B9", "Grained rectangle in torsion", grained_rectangle),
)
