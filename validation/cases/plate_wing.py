"""Bare frame of a model-size wing: aluminium plate with plastic ribs, loaded by weights at the tip.

The plate is one of membranes and plates in bending, the ribs are beams along the chord on it. The outlines of
the ribs are not published; they are taken as the section's own depth over the plate, nothing ahead of or
behind it, and 5 mm wide along the span throughout.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import pairwise

import numpy as np

from fea.assembly import Assembly
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from fea.solve import factorise, statics
from fea.structure import Array, Block, Ints, Loads, Structure, Supports
from models.section import rectangle_torsion
from models.wing.airfoil import half_thickness
from validation.case import Case, Result
from validation.meshes import UP, beams, grid, moduli, rectangle
from validation.units import KGF, MM, MPA

SPAN, CHORD = 550 * MM, 100 * MM
FRONT, REAR, THICKNESS = 19.3 * MM, 79.3 * MM, 2.25 * MM
E, G, NU = 71_000 * MPA, 26_669 * MPA, 0.33
RIB_E, RIB_NU, RIB_WIDTH, PITCH = 1100 * MPA, 0.394, 5 * MM, 38.25 * MM
HUNG = 140 * MM
REFERENCE = 44 * MM
SOURCE = (
    "Avin et al., AIAA Journal 2022, Technion; numbers looked up in the data set of Riso and Cesnik, "
    "Journal of Aircraft 2023, doi 10.2514/1.C036869"
)
MISSING = "outlines of the ribs, thickness of the end ribs and the clamp's give are not published"


@dataclass(frozen=True, eq=False)
class PlateFrame:
    """Plate and ribs: the structure without skin, the ribs' stations in the grid, the tip's nodes, and loads
    of 1 kg at mid-chord and behind the trailing edge, (n_nodes, 6, 2)."""

    structure: Structure
    chordwise: Array
    ribs: Array
    at: Ints
    tip: Ints
    loads: Array


def plate() -> PlateFrame:
    """The frame clamped at its root."""
    ribs = np.append(40 * MM + PITCH * np.arange(13), SPAN)
    stations = _stations(ribs)
    chordwise = np.linspace(FRONT, REAR, 9)
    n_chord = len(chordwise)
    y, x = np.meshgrid(stations, chordwise, indexing="ij")
    points = np.stack([x, y, 0 * x], axis=2).reshape(-1, 3)
    quads = grid(len(stations) - 1, n_chord - 1)
    n = len(quads)
    aluminium = moduli((E, E, G, NU), n)
    along = np.tile([0, 1.0, 0], (n, 1))
    sheet = np.full(n, THICKNESS)
    at = np.array([int(np.argmin(np.abs(stations - y_rib))) for y_rib in ribs])
    inner = (at[:, None] * n_chord + np.arange(n_chord - 1)).ravel()
    pairs = np.stack([inner, inner + 1], axis=1)
    blocks: dict[str, Block] = {
        "sheet": Membranes(quads, sheet, aluminium, along, drilling=np.full((n, 4), 1e-3)),
        "bending": Plates(quads, sheet, aluminium, along),
        "ribs": beams(pairs, _rib_rows(chordwise, len(ribs)), UP),
    }
    structure = Structure(points, blocks, Supports.fixed(np.arange(n_chord)))
    tip = np.arange(len(points) - n_chord, len(points))
    cases = np.zeros((len(points), 6, 2))
    weight = KGF
    cases[tip, 2, 0], cases[tip, 4, 0] = _about(chordwise, weight, CHORD / 2)
    cases[tip, 2, 1], cases[tip, 4, 1] = _about(chordwise, weight, HUNG)
    return PlateFrame(structure, chordwise, ribs, at, tip, cases)


@lru_cache(maxsize=1)
def frame() -> tuple[Array, Array]:
    """Tip movement and slope along the chord per kilogram, at mid-chord and hung behind the trailing edge.

    Returns
    -------
    movements : (2, 2) float array
        At mid-chord and at the reference axis (rows) for the two places of the mass (columns), m/kg.
    slopes : (2,) float array
        rad/kg.
    """
    bare = plate()
    chordwise = bare.chordwise
    solved = statics(factorise(Assembly(bare.structure)), Loads(bare.loads))
    moves = solved.displacements[bare.tip]
    at_nose, slope = np.polynomial.polynomial.polyfit(chordwise, moves[:, 2], 1)
    return at_nose + np.outer([CHORD / 2, REFERENCE], slope), slope


def _stations(ribs: Array, per_pitch: int = 6) -> Array:
    """Stations along the span: every rib and equal parts between neighbours."""
    edges = np.concatenate([[0.0], ribs])
    parts = [np.linspace(a, b, per_pitch + 1)[1:] for a, b in pairwise(edges)]
    return np.concatenate([[0.0], *parts])


def _rib_rows(chordwise: Array, n_ribs: int) -> list[tuple[float, ...]]:
    """Sections of the ribs' pieces: the airfoil's depth over the plate; at the tip a rod stiff enough to keep
    it straight."""
    middle = (chordwise[1:] + chordwise[:-1]) / 2
    depth = 2 * half_thickness(middle / CHORD, 0.18) * CHORD
    shear = RIB_E / (2 + 2 * RIB_NU)
    plain = [
        rectangle(RIB_E, shear, RIB_WIDTH, h, float(rectangle_torsion(RIB_WIDTH, h, shear, shear)))
        for h in depth
    ]
    rod = [rectangle(E, G, 10 * MM, 10 * MM, float(rectangle_torsion(10 * MM, 10 * MM, G, G)))] * len(middle)
    return plain * (n_ribs - 1) + rod


def _about(chordwise: Array, weight: float, x: float) -> tuple[Array, Array]:
    """Downward forces and moments about y on the tip's nodes that make up a weight at x aft."""
    n = len(chordwise)
    force = np.full(n, -weight / n)
    # A force up at x has the moment -x F about y; what the even share lacks is added as moments.
    lacking = -(x - chordwise.mean()) * -weight
    return force, np.full(n, lacking / n)


def bending() -> Iterator[Result]:
    """Mass at mid-chord of the tip; linear, so compared where the wing is nearly so."""
    deflection, _ = frame()
    per_kg = abs(float(deflection[0, 0])) / SPAN * 100
    stiffness = KGF * SPAN**3 / (3 * abs(float(deflection[0, 0])))
    reading = (
        "asked for 6 %, missed by 9.7 %: the first reading lies low beside the others (4.27, then steps "
        "of 4.82, 4.46, 4.36 where a stiffening wing's must shrink), which is 6 % of it; the rest is 4 % "
        f"by which this model is softer than the source's own linear one; {MISSING}"
    )
    why = f"linear model of a test read to about 0.1 %; {MISSING}"
    row = partial(Result, unit="% of span", tolerance=None, source=SOURCE, kind="information")
    yield row(
        "tip down under 0.2 kg",
        per_kg * 0.2,
        4.27,
        tolerance=6e-2,
        why=reading,
        kind="measured",
        known_miss=0.1,
    )
    yield row("tip down under 0.4 kg", per_kg * 0.4, 9.09, tolerance=6e-2, why=why, kind="measured")
    for mass, measured in ((0.6, 13.55), (1.0, 22.10), (2.0, 38.83)):
        yield row(
            f"tip down under {mass:.1f} kg",
            per_kg * mass,
            measured,
            why="the wing stiffens as it bends away; a linear answer must not be held to it",
        )
    linear = "the source's own linear built-up model, which knows the ribs"
    yield row("tip down per kg, source's linear model", per_kg, 22.5, why=linear)
    yield row(
        "equivalent E I from the tip, published 4.42 to 4.71",
        stiffness,
        4.565,
        unit="N m2",
        why="middle of the published range; a bare plate as a beam has 4.044, held flat across 4.538; "
        f"{MISSING}",
    )


def torsion() -> Iterator[Result]:
    """Mass hung 40 mm behind the trailing edge."""
    deflection, twist = frame()
    degrees = abs(float(np.degrees(twist[1])))
    row = partial(Result, unit="degrees", source=SOURCE, kind="measured")
    yield row(
        "tip twist under 1 kg",
        degrees,
        4.2,
        tolerance=0.15,
        why=f"readings in steps of 0.6 degrees, so 4.2 +- 0.3; {MISSING}",
    )
    yield row(
        "tip twist per kg, source's linear model",
        degrees,
        4.14,
        tolerance=None,
        why="the source's own linear built-up model, which knows the ribs",
        kind="information",
    )
    yield row(
        "tip down under 0.2 kg, in the torsion test",
        abs(float(deflection[1, 1])) / SPAN * 20,
        4.55,
        unit="% of span",
        tolerance=6e-2,
        why=f"linear model; {MISSING}",
    )


def _structure() -> Structure:
    return plate().structure


CASES = (
    Case("E2", "Plate wing with plastic ribs in bending", bending, _structure),
    Case("E3", "Plate wing with plastic ribs in torsion", torsion, _structure),
)
