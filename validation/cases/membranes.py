"""Membranes: patch tests of isotropic and grained sheets, Cook's tapered panel, an off-axis strip, a grained
beam."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from fea.elements import membrane
from fea.elements.membrane import Membranes
from fea.solve import statics
from fea.structure import Array, Ints, Loads, Structure, Supports
from validation.case import Case, Result
from validation.meshes import grid, moduli, moved
from validation.units import MM, MPA

PATCH = np.array(
    [[0, 0], [0.24, 0], [0.24, 0.12], [0, 0.12], [0.04, 0.02], [0.18, 0.03], [0.16, 0.08], [0.08, 0.08]],
    dtype=float,
)
WOOD = (3740 * MPA, 172.04 * MPA, 201.96 * MPA, 0.229)
Constants = tuple[float, float, float, float]
QUADS = np.array([[0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7], [4, 5, 6, 7]])


def _flat(points: Array) -> Array:
    return np.concatenate([points, np.zeros((len(points), 1))], axis=1)


def _patch_stresses(constants: Constants, grain: Array, gradient: Array) -> Array:
    """Stresses (n, 3) in material axes of a patch whose edge moves as u = gradient x."""
    edge = Supports.fixed([0, 1, 2, 3], "xy")
    value = np.einsum("ij,ij->i", _flat(PATCH[edge.node] @ gradient.T), edge.direction)
    supports = Supports(edge.node, edge.turns, edge.direction, value) + Supports.fixed(np.arange(8), "z")
    n = len(QUADS)
    sheet = (QUADS, np.full(n, 0.001), moduli(constants, n), np.tile(grain, (n, 1)))
    structure = Structure(_flat(PATCH), {"patch": Membranes(*sheet)}, supports)
    solution = statics(structure, Loads.zero(structure))
    corners = solution.assembly.corners("patch")
    moves = solution.assembly.element_displacements("patch", solution.displacements[:, :, 0])
    points = np.array([[0.0, 0], [-1, -1], [1, -1], [1, 1], [-1, 1]])
    return membrane.stresses(corners, moves[:, :, :3], *sheet[2:], points).reshape(-1, 3)


def _sheet(quads: Ints, constants: Constants, grain: Array, thickness: float = 0.001) -> Membranes:
    n = len(quads)
    return Membranes(quads, np.full(n, thickness), moduli(constants, n), np.tile(grain, (n, 1)))


def _farthest(values: Array, expected: float) -> float:
    return float(values[np.argmax(np.abs(values - expected))])


def patch() -> Iterator[Result]:
    """MacNeal and Harder's patch, then a grained sheet at 27 degrees."""
    isotropic = (1e6, 1e6, 1e6 / 2.5, 0.25)
    gradient = 1e-3 * np.array([[1, 0.5], [0.5, 1]])
    source = "MacNeal and Harder 1985, patch test, from memory; E/(1 - nu) 1e-3 and 1e-3 G evaluated here"
    exact = "a patch under constant strain is exact in any shape: rounding alone"
    row = partial(Result, tolerance=1e-10, source=source, why=exact, kind="rounding")
    angle = np.radians(27.0)
    grain = np.array([np.cos(angle), np.sin(angle), 0.0])
    skew = 1e-3 * np.array([[0.7, 0.4], [-0.1, -0.5]])
    found = _patch_stresses(isotropic, np.array([1.0, 0, 0]), gradient)
    for k, (name, expected) in enumerate((("x", 4000 / 3), ("y", 4000 / 3), ("xy", 400.0))):
        yield row(f"stress {name}, farthest", _farthest(found[:, k], expected), expected, "psi")
    found = _patch_stresses(WOOD, grain, skew)
    axes = np.array([grain[:2], [-grain[1], grain[0]]])
    strain = axes @ (skew + skew.T) / 2 @ axes.T
    expected_stress = moduli(WOOD, 1)[0] @ np.array([strain[0, 0], strain[1, 1], 2 * strain[0, 1]])
    for k, name in enumerate(("along", "across", "in shear")):
        expected = float(expected_stress[k])
        value = _farthest(found[:, k], expected) / MPA
        yield row(f"grain at 27 degrees: stress {name}", value, expected / MPA, "MPa")


def cook_panel(n: int) -> tuple[float, float]:
    """Upward movement of the middle and the top of the loaded edge of Cook's panel with n x n elements."""
    across, up = np.meshgrid(np.linspace(0, 1, n + 1), np.linspace(0, 1, n + 1), indexing="ij")
    low, high = 44 * across, 44 + 16 * across
    points = np.stack([48 * across, low + (high - low) * up, 0 * across], axis=2).reshape(-1, 3)
    sheet = _sheet(grid(n, n), (1.0, 1.0, 0.375, 1 / 3), np.array([1.0, 0, 0]), 1.0)
    root = np.arange(n + 1)
    supports = Supports.fixed(root, "xyz") + Supports.fixed(np.arange(n + 1, len(points)), "z")
    structure = Structure(points, {"panel": sheet}, supports)
    edge = np.arange(n * (n + 1), (n + 1) ** 2)
    share = np.full(n + 1, 1 / n)
    share[[0, -1]] /= 2
    rows: list[tuple[int, tuple[float, ...]]] = [(int(node), (0, float(f))) for node, f in zip(edge, share)]
    moves, _ = moved(structure, rows)
    return float(moves[edge[n // 2], 1]), float(moves[edge[-1], 1])


def cook() -> Iterator[Result]:
    """16 and 32 elements a side."""
    middle_16, _ = cook_panel(16)
    middle_32, top_32 = cook_panel(32)
    source = "Cook's tapered panel; 23.96 at (48, 52) looked up for 64 x 64 elements with incompatible modes"
    limit = "computed with nine-node elements, 32 a side; limit 25.17"
    row = partial(Result, unit="", tolerance=5e-3, source=source, why="mesh", kind="mesh")
    yield row("middle of the loaded edge, 16 x 16", middle_16, 23.96, tolerance=2e-2)
    yield row("middle of the loaded edge, 32 x 32", middle_32, 23.96)
    yield row("upper corner (48, 60), 32 x 32", top_32, 25.137, source=limit)


def off_axis() -> Iterator[Result]:
    """One element pulled along x with its grain at angles to it, held so that it may shear."""
    e_l, e_t, g, nu = WOOD
    printed = {
        0: (3740.0, 0.0, 0.229),
        10: (2512.53, -1.87752, 0.0619243),
        45: (366.670, -1.01663, -0.0922217),
        60: (238.564, -0.637443, -0.0413494),
        90: (172.04, 0.0, 0.010534),
    }
    source = (
        "Jones, Mechanics of Composite Materials; Lekhnitskii; from memory; 1/E_x = c^4/E_L + ... "
        "evaluated here"
    )
    table = "the same formulas, computed to six digits"
    points = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], dtype=float) * 10 * MM
    supports = Supports.fixed([0], "xyz") + Supports.fixed([1, 2], "z") + Supports.fixed([3], "xz")
    row = partial(Result, source=table, kind="rounding")
    for degrees, (e_x, shear, contraction) in printed.items():
        angle = np.radians(degrees)
        c, s = np.cos(angle), np.sin(angle)
        sheet = _sheet(np.array([[0, 1, 2, 3]]), WOOD, np.array([c, s, 0]), 1 * MM)
        structure = Structure(points.copy(), {"strip": sheet}, supports)
        moves, _ = moved(structure, [(1, (5.0,)), (2, (5.0,))])
        size = 10 * MM
        strain = float(moves[1, 0]) / size
        young = 10.0 / (size * 1 * MM) / strain
        exact = 1 / (c**4 / e_l + s**4 / e_t + (1 / g - 2 * nu / e_l) * c**2 * s**2)
        coupling = float(moves[1, 1]) / size / strain
        shrink = -float(moves[3, 1]) / size / strain
        where = f"grain at {degrees} degrees"
        rounded = "printed to six digits"
        yield row(
            f"E_x, {where}",
            young / MPA,
            exact / MPA,
            "MPa",
            1e-8,
            source=source,
            why="constant strain: rounding alone",
        )
        yield row(f"E_x, {where}, as printed", young / MPA, e_x, "MPa", 3e-6, why=rounded)
        yield row(f"shear per stretch, {where}", coupling, shear, "", 5e-6, why=rounded, scale=1.0)
        yield row(
            f"contraction per stretch, {where}", shrink, contraction, "", 5e-6, why=rounded, scale=0.229
        )


def grained_beam() -> Iterator[Result]:
    """Sheet as a cantilever, its grain along and across the span."""
    length, height, thickness = 120 * MM, 24 * MM, 1.6 * MM
    n_along, n_deep = 20, 4
    along, up = np.meshgrid(
        np.linspace(0, length, n_along + 1), np.linspace(0, height, n_deep + 1), indexing="ij"
    )
    points = np.stack([along, up, 0 * along], axis=2).reshape(-1, 3)
    root = np.arange(n_deep + 1)
    supports = Supports.fixed(root, "xyz") + Supports.fixed(np.arange(n_deep + 1, len(points)), "z")
    # Shear as a beam's parabola, given to the nodes by the work it does: exact integrals over each element's
    # hats.
    share = _parabola_shares(n_deep)
    edge = n_along * (n_deep + 1)
    source = "P L^3/3E_xI + 6PL/5Ght; evaluated here (0.102121 mm, and 1.835425 with E_T rounded to 172.0)"
    inertia = thickness * height**3 / 12
    slip = 6 * length / (5 * WOOD[2] * height * thickness)
    for name, grain, young in (("along", [1.0, 0, 0], WOOD[0]), ("across", [0, 1.0, 0], WOOD[1])):
        expected = (length**3 / (3 * young * inertia) + slip) / MM
        sheet = _sheet(grid(n_along, n_deep), WOOD, np.array(grain), thickness)
        structure = Structure(points.copy(), {"beam": sheet}, supports)
        rows: list[tuple[int, tuple[float, ...]]] = [
            (edge + k, (0, float(share[k]))) for k in range(n_deep + 1)
        ]
        moves, _ = moved(structure, rows)
        yield Result(
            f"tip deflection, grain {name} the span",
            float(share @ moves[edge:, 1]) / MM,
            expected,
            "mm",
            2e-2,
            source,
            "root clamped in two dimensions, where the formula leaves it free to warp",
            "theory",
        )


def _parabola_shares(n: int) -> Array:
    """Shares of the nodes of n elements over a unit height in 6 s (1 - s), (n + 1,)."""
    at, weight = np.polynomial.legendre.leggauss(3)
    out = np.zeros(n + 1)
    for k in range(n):
        s = (k + (at + 1) / 2) / n
        value = 6 * s * (1 - s) * weight / (2 * n)
        out[k] += (value * (1 - at) / 2).sum()
        out[k + 1] += (value * (1 + at) / 2).sum()
    return out


CASES = (
    Case("M1", "Patch tests", patch),
    Case("M3", "Cook's tapered panel", cook),
    Case("M4", "Grained strip pulled off its axes", off_axis),
    Case("M5", "Grained sheet as a beam", grained_beam),
)
