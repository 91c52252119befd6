"""A thin channel: section constants, shear centre, and torsion of a cantilever whose root may not warp
(Vlasov)."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache, partial

import numpy as np

from fea.assembly import Assembly
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from fea.solve import factorise, statics
from fea.structure import Array, Block, Loads, Structure, Supports
from models.section import BoomSection, second_moments, shear_centre, warping
from validation.case import Case, Result
from validation.meshes import beams, moduli, section, tube_nodes, tube_walls
from validation.units import MM, MPA

E, G = 70_000 * MPA, 26_000 * MPA
FLANGE, WEB, THICKNESS, LENGTH, TORQUE = 40 * MM, 80 * MM, 2 * MM, 500 * MM, 1000e-3
VLASOV = "Vlasov, Thin-Walled Elastic Beams, from memory; evaluated here"


def _section() -> BoomSection:
    corners = np.array([[FLANGE, WEB / 2], [0, WEB / 2], [0, -WEB / 2], [FLANGE, -WEB / 2]])
    walls = np.array([[0, 1], [1, 2], [2, 3]])
    return BoomSection(corners, np.zeros(4), walls, np.full(3, G * THICKNESS), np.full(3, THICKNESS))


def _contour(per_flange: int = 4, per_web: int = 8) -> Array:
    upper = np.stack([np.linspace(FLANGE, 0, per_flange + 1), np.full(per_flange + 1, WEB / 2)], axis=1)
    web = np.stack([np.zeros(per_web + 1), np.linspace(WEB / 2, -WEB / 2, per_web + 1)], axis=1)
    lower = upper[::-1] * [1, -1]
    return np.concatenate([upper, web[1:], lower[1:]])


@lru_cache(maxsize=1)
def cantilever() -> tuple[Array, Array, Array]:
    """Tip twists per torque and per upward force in the web (rad/N m, rad/N), and root reactions along y of a
    torque."""
    contour, bays = _contour(), 50
    n = len(contour)
    nodes = tube_nodes(contour, np.linspace(0, LENGTH, bays + 1))
    walls = np.stack([np.arange(n - 1), np.arange(1, n)], axis=1)
    quads = tube_walls(walls, n, bays)
    m = len(quads)
    stiff_sheet = moduli((E, E, G, E / (2 * G) - 1), m)
    along, sheet = np.tile([0, 1.0, 0], (m, 1)), np.full(m, THICKNESS)
    # Frames every 50 mm: stiff in bending in the section's plane alone, so that they hold the shape and let
    # it warp.
    frames = np.concatenate([walls + n * s for s in range(5, bays + 1, 5)])
    stiff = section(1.0, 1e-6, 1e4 * E * THICKNESS**4, 1e-6)
    blocks: dict[str, Block] = {
        "membranes": Membranes(quads, sheet, stiff_sheet, along, drilling=np.full((m, 4), 1e-3)),
        "plates": Plates(quads, sheet, stiff_sheet, along),
        # Local z along the span: bending about it is bending in the section's plane.
        "frames": beams(frames, [stiff] * len(frames), np.array([0, 1.0, 0])),
    }
    structure = Structure(nodes, blocks, Supports.fixed(np.arange(n)))
    tip = n * bays
    upper, lower = tip + 4, tip + 12
    cases = np.zeros((len(nodes), 6, 2))
    # A couple of forces along the flanges at the corners: about +y, z times the force in x.
    cases[upper, 0, 0], cases[lower, 0, 0] = 1 / WEB, -1 / WEB
    cases[tip + 4 : tip + 13, 2, 1] = np.array([0.5, *[1.0] * 7, 0.5]) / 8
    solution = statics(factorise(Assembly(structure)), Loads(cases))
    moves = solution.displacements
    twist = (moves[upper, 0] - moves[lower, 0]) / WEB
    return twist, solution.reactions[:n, 1, 0], contour


def constants() -> Iterator[Result]:
    """Section constants by formulas and by the section analysis; shear centre also of a model of membranes
    and plates."""
    made = _section()
    _, inertia = second_moments(made)
    centre = shear_centre(made)
    constant, _ = warping(made)
    twist, _, _ = cantilever()
    # Force up in the web at x = 0 acts ahead of the shear centre's line; it twists as its moment about it
    # does.
    found = float(twist[1] / twist[0])
    formulas = "thin channel: I, e = b^2h^2t/4I, C_w = tb^3h^2(3b+2h)/12(6b+h); from memory, computed"
    row = partial(Result, source=formulas, why="one theory, two ways; printed to six digits", kind="rounding")
    torsion = (2 * FLANGE + WEB) * THICKNESS**3 / 3
    yield row("second moment of area", inertia[1, 1] / MM**4, 341_333.0, "mm4", 1e-5)
    yield row("shear centre behind the web", -float(centre[0]) / MM, 15.0, "mm", 1e-6)
    yield row("warping constant", constant / MM**6, 5.97333e7, "mm6", 1e-6)
    yield row("J = sum of s t^3/3", torsion / MM**4, 426.67, "mm4", 1e-5)
    yield row(
        "twist-free line behind the web, membranes and plates",
        abs(found) / MM,
        15.0,
        "mm",
        2e-2,
        why="walls as membranes and plates, root clamped, section kept in shape every 50 mm",
        kind="theory",
    )


def torsion_with_held_root() -> Iterator[Result]:
    """Twist, bimoment and warping stress under a torque at the tip."""
    made = _section()
    constant, sectorial = warping(made)
    torsion = (2 * FLANGE + WEB) * THICKNESS**3 / 3
    k = np.sqrt(G * torsion / (E * constant))
    expected = TORQUE * LENGTH / (G * torsion) * (1 - np.tanh(k * LENGTH) / (k * LENGTH))
    bimoment = TORQUE / k * np.tanh(k * LENGTH)
    twist, reactions, contour = cantilever()
    # Sectorial coordinate of the contour's points, linear along each wall.
    upper = np.interp(contour[:5, 0], [0, FLANGE], [sectorial[1], sectorial[0]])
    web = np.interp(contour[4:13, 1], [-WEB / 2, WEB / 2], [sectorial[2], sectorial[1]])
    omega = np.concatenate([upper, web[1:], -upper[::-1][1:]])
    found = abs(float(reactions @ omega)) * TORQUE
    per_omega = found / constant
    theory_stress = bimoment / constant * np.abs(sectorial) / MPA
    row = partial(
        Result,
        source=VLASOV,
        kind="theory",
        tolerance=2e-2,
        why="Vlasov's walls have no shear strain or Poisson's contraction; membranes and plates have",
    )
    yield row("tip twist", abs(float(twist[0])) * TORQUE, expected, "rad")
    yield row("root bimoment", found / MM**2, bimoment / MM**2, "N mm2")
    yield row(
        "root warping stress, flange tips (from the bimoment)",
        per_omega * abs(sectorial[0]) / MPA,
        theory_stress[0],
        "MPa",
    )
    yield row(
        "root warping stress, corners (from the bimoment)",
        per_omega * abs(sectorial[1]) / MPA,
        theory_stress[1],
        "MPa",
    )
    yield row(
        "kL of the formula",
        float(k * LENGTH),
        0.814411,
        "",
        tolerance=1e-5,
        why="printed to six digits",
        kind="rounding",
    )


CASES = (
    Case("C4", "Thin channel and its shear centre", constants),
    Case("C5", "Thin channel in torsion with its root held", torsion_with_held_root),
)
