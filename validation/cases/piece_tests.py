"""A stick's sag turned back into its modulus, against the handbook's beam formula and the beam element."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from fea.structure import Supports
from models.studies.piece_test import TriedPiece, judge
from models.woods.piece import Held
from models.woods.wood import material
from validation.case import Case, Result
from validation.meshes import along_y, chain, moved, section
from validation.units import MM

_BOOK = (
    "Wood Handbook (FPL-GTR-190), equations 9-2 to 9-4 and table 9-1: k_b 1/48, k_s 1/4 at midspan, 1/3 "
    "and 1 at the free end, A' = 5 b h/6 [looked up]; evaluated here"
)
SPAN, WIDTH, DEPTH, LOAD = 240 * MM, 8 * MM, 12 * MM, 6.0


def handbook_sag(span: float, k_b: float, k_s: float) -> float:
    """Sag of a spruce stick by the handbook, m."""
    wood = material("spruce")
    second_moment, area = WIDTH * DEPTH**3 / 12, 5 * WIDTH * DEPTH / 6
    return k_b * LOAD * span**3 / (wood.E_L * second_moment) + k_s * LOAD * span / (wood.G_LT * area)


def element_sag() -> float:
    """Sag of the same stick held at one end, by a Timoshenko beam element, m."""
    wood = material("spruce")
    area, up, aft = WIDTH * DEPTH, WIDTH * DEPTH**3 / 12, DEPTH * WIDTH**3 / 12
    shear = 5 / 6 * wood.G_LT * area
    beam = section(wood.E_L * area, wood.E_L * up, wood.E_L * aft, 1.0, (shear, shear))
    structure = chain(along_y([0, SPAN]), beam, Supports.fixed([0]))
    return -float(moved(structure, [(1, (0, 0, -LOAD))])[0][1, 2])


def bent_sticks() -> list[Result]:
    """Modulus of a stick on two supports and of one held at one end, from the sag that the formula gives."""
    wood = material("spruce")
    rows = []
    ways: tuple[tuple[Held, float, float], ...] = (("both ends", 1 / 48, 1 / 4), ("one end", 1 / 3, 1.0))
    row = partial(Result, tolerance=1e-9, source=_BOOK, kind="rounding")
    for held, k_b, k_s in ways:
        piece = TriedPiece(
            "spruce", WIDTH, DEPTH, span=SPAN, loads=(LOAD,), sags=(handbook_sag(SPAN, k_b, k_s),), held=held
        )
        found = judge(piece)
        assert found.E_L is not None
        rows.append(
            row(
                f"modulus from the sag of a stick held at {held}",
                found.E_L / 1e9,
                wood.E_L / 1e9,
                "GPa",
                why="the same formula worked backwards: rounding",
            )
        )
    rows.append(
        row(
            "sag of the stick held at one end, by the beam element",
            element_sag() / MM,
            handbook_sag(SPAN, 1 / 3, 1.0) / MM,
            "mm",
            why="the element is exact for an end load, shear included",
        )
    )
    return rows


def weighed_sheet() -> Iterator[Result]:
    """Density of a sheet of trade size and what its errors make of it, by hand."""
    inch = 25.4 * MM
    piece = TriedPiece("balsa", 3 * inch, inch / 16, length=36 * inch, mass=15.946e-3)
    found = judge(piece)
    assert found.density is not None
    assert found.density_error is not None
    # 9 lb/ft3 exactly; errors 0.5 g, 1 mm, 0.05 mm of width and thickness: 3.14, 0.11, 0.07 and 3.15 %.
    expected = 9 * 0.45359237 / 0.3048**3
    hand = expected * (0.031356**2 + 0.0010936**2 + 0.00065617**2 + 0.031496**2) ** 0.5
    source = "mass over volume, errors added as squares (elementary statistics); evaluated here"
    row = partial(Result, unit="kg/m3", source=source, kind="rounding")
    yield row(
        "density of a 1/16 x 3 x 36 in sheet of 15.946 g",
        found.density,
        expected,
        tolerance=1e-4,
        why="the mass is given to five digits",
    )
    yield row(
        "its error with usual tools",
        found.density_error,
        hand,
        tolerance=1e-3,
        why="errors worked out by hand to five digits",
    )


CASES = (
    Case("P1", "A bent stick's modulus", bent_sticks),
    Case("P2", "A weighed sheet's density", weighed_sheet),
)
