"""Closed cells in torsion (Bredt): one cell, two cells, and what one wall more is worth."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from fea.elements.bar import Bars
from fea.elements.membrane import Membranes
from fea.elements.shear_panel import ShearPanels
from fea.solve import statics
from fea.structure import Array, Block, Ints, Loads, Structure, Supports
from models.section import BoomSection, torsion
from validation.case import Case, Result
from validation.meshes import moduli, tube_booms, tube_nodes, tube_walls
from validation.units import MM

G, E = 26e9, 70e9
LENGTH = 200 * MM
TWIST = 1e-3
BREDT = "Bredt; by any strength book, from memory; evaluated here"


def _section(positions: Array, walls: Ints, thickness: Array) -> BoomSection:
    return BoomSection(positions, np.zeros(len(positions)), walls, G * thickness)


def _ring(n: int) -> Ints:
    return np.array([[k, (k + 1) % n] for k in range(n)])


def twisted(
    positions: Array, walls: Ints, thickness: Array, *, membranes: bool, bays: int = 1
) -> tuple[float, Array]:
    """Torsion constant (m4) and flows per G theta' (m2) of a tube whose ends are turned and may warp.

    Ends are turned as ribs stiff in their plane would turn them; along the span one movement alone is held.
    """
    n = len(positions)
    nodes = tube_nodes(positions, np.linspace(0, LENGTH, bays + 1))
    quads = tube_walls(walls, n, bays)
    sheet = np.tile(thickness, bays)
    if membranes:
        along = np.tile([0, 1.0, 0], (len(quads), 1))
        made: Block = Membranes(quads, sheet, moduli((E, E, G, 0.3), len(quads)), along)
    else:
        made = ShearPanels(quads, sheet, np.full(len(quads), G))
    # Bars without a role in torsion keep a wall's ends from drifting apart.
    booms = Bars(tube_booms(n, bays), np.full(n * bays, E * 100 * MM**2))
    ends = np.concatenate([np.arange(n), np.arange(n * bays, n * (bays + 1))])
    supports = Supports.fixed(ends, "xz") + Supports.fixed([0], "y")
    angle = np.where(supports.node >= n, TWIST, 0.0)
    at = nodes[supports.node]
    # Turning about +y moves (x, z) by angle (z, -x).
    turned = np.stack([angle * at[:, 2], 0 * angle, -angle * at[:, 0]], axis=1)
    supports = Supports(
        supports.node, supports.turns, supports.direction, np.einsum("ij,ij->i", supports.direction, turned)
    )
    structure = Structure(nodes, {"walls": made, "booms": booms}, supports)
    solution = statics(structure, Loads.zero(structure))
    tip = slice(n * bays, n * (bays + 1))
    pull = solution.reactions[tip, :, 0]
    torque = float((nodes[tip, 2] * pull[:, 0] - nodes[tip, 0] * pull[:, 2]).sum())
    if membranes:
        flows = solution.recover(0)["walls"]["stress"][:, 2] * sheet
    else:
        flows = solution.recover(0)["walls"]["shear_flow"][:, 0]
    return torque * LENGTH / (TWIST * G), np.abs(flows[: len(walls)]) * LENGTH / (TWIST * G)


def _rectangle(width: float, height: float) -> Array:
    return np.array([[0, 0], [width, 0], [width, height], [0, height]])


def one_cell() -> Iterator[Result]:
    """Box of one thickness, as panels and as membranes."""
    width, height, thickness = 100 * MM, 50 * MM, 2 * MM
    corners, walls, sheet = _rectangle(width, height), _ring(4), np.full(4, thickness)
    expected = 4 * (width * height) ** 2 * thickness / (2 * (width + height))
    panels, flows = twisted(corners, walls, sheet, membranes=False)
    sheets, _ = twisted(corners, walls, sheet, membranes=True, bays=4)
    by_section, _ = torsion(_section(corners, walls, sheet))
    exact = "walls in pure shear, ends free to warp: both elements hold it exactly"
    flow = expected / (2 * width * height)
    row = partial(Result, unit="mm4", source=BREDT, why=exact, kind="rounding")
    yield row("J by section", by_section / G / MM**4, expected / MM**4, tolerance=1e-9, why="one formula")
    yield row("J of panels", panels / MM**4, expected / MM**4, tolerance=1e-6)
    yield row(
        "J of membranes",
        sheets / MM**4,
        expected / MM**4,
        tolerance=1e-2,
        why="corners of thin walls counted once; " + exact,
        kind="theory",
    )
    yield row("flow T/2A per G theta'", float(flows[0]) / MM**2, flow / MM**2, unit="mm2", tolerance=1e-6)


def two_cells() -> Iterator[Result]:
    """Two cells with a thicker shared wall."""
    positions = np.array([[0, 0], [100, 0], [160, 0], [160, 50], [100, 50], [0, 50.0]]) * MM
    walls = np.concatenate([_ring(6), [[1, 4]]])
    sheet = np.array([2, 2, 2, 2, 2, 2, 3.0]) * MM
    source = "Bredt for two cells, from memory; 1 222 418.9 mm4 and flows computed"
    exact = "walls in pure shear, ends free to warp; figures printed to six digits"
    by_section, q = torsion(_section(positions, walls, sheet))
    modelled, flows = twisted(positions, walls, sheet, membranes=False)
    row = partial(Result, unit="mm2", tolerance=1e-6, source=source, why=exact, kind="rounding")
    for what, constant, flow in (
        ("by section", by_section / G, np.abs(q) / G),
        ("of panels", modelled, flows),
    ):
        yield row(f"J {what}", constant / MM**4, 1_222_418.9, unit="mm4")
        yield row(f"larger cell's flow per G theta' {what}", float(flow[0]) / MM**2, 79.0560)
        yield row(f"smaller cell's flow per G theta' {what}", float(flow[1]) / MM**2, 71.9764)


def one_wall_more() -> Iterator[Result]:
    """A web of the same thickness a quarter of the way along a box adds 1.8 % in torsion."""
    width, height, thickness, at = 200 * MM, 100 * MM, 3 * MM, 50 * MM
    positions = np.array([[0, 0], [at, 0], [width, 0], [width, height], [at, height], [0, height]])
    ring = _ring(6)
    source = "Sun, Mechanics of Aircraft Structures, problem 3.5, looked up in a public solution"
    exact = "walls in pure shear, ends free to warp"
    row = partial(Result, unit="mm4", tolerance=1e-6, why=exact, kind="rounding")
    for what, walls, expected, where in (
        ("one cell", ring, 8.00e6, source),
        (
            "with a web",
            np.concatenate([ring, [[1, 4]]]),
            57e6 / 7,
            f"{source}; second cell computed, 8.14286e6",
        ),
    ):
        sheet = np.full(len(walls), thickness)
        by_section, _ = torsion(_section(positions, walls, sheet))
        modelled, _ = twisted(positions, walls, sheet, membranes=False)
        yield row(f"J by section, {what}", by_section / G / MM**4, expected, source=where)
        yield row(f"J of panels, {what}", modelled / MM**4, expected, source=where)


CASES = (
    Case("C1", "One cell in torsion", one_cell),
    Case("C2", "Two cells in torsion", two_cells),
    Case("C3", "One wall more in a cell", one_wall_more),
)
