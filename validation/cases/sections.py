"""Thin-walled sections on their own: flanges and web, an idealised channel, a box of booms."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from fea.elements.bar import Bars
from fea.elements.membrane import Membranes, stresses
from fea.elements.shear_panel import ShearPanels
from fea.structure import Array, Block, Structure, Supports
from models.section import BoomSection, boom_section, second_moments
from validation.case import Case, Result
from validation.meshes import grid, moduli, moved, stiff_ribs, tube_booms, tube_nodes, tube_walls
from validation.units import MM, N_PER_MM


def tapered_spar() -> Iterator[Result]:
    """Flanges at a slope and a web that takes bending too: section analysis, then membranes."""
    moment, force, slope = 20e3, 20e3, 0.05
    depth, flange, thickness = 300 * MM, 400 * MM**2, 2 * MM
    # A joint without area in the middle of the web shows the flow there.
    heights = np.array([depth / 2, 0.0, -depth / 2])
    made = BoomSection(
        np.stack([0 * heights, heights], axis=1),
        np.array([flange, 0.0, flange]),
        np.array([[0, 1], [1, 2]]),
        np.ones(2),
        np.full(2, thickness),
    )
    _, inertia = second_moments(made)
    direct = moment * depth / 2 / inertia[1, 1] * flange
    in_web = force - 2 * direct * slope
    ends = np.abs(boom_section(made, (0.0, in_web)).ends) / N_PER_MM
    source = (
        "Megson, Aircraft Structures for Engineering Students, Example 21.1, looked up in a public worked "
        "copy"
    )
    row = partial(
        Result, source=source, tolerance=1e-3, why="source prints three digits or more", kind="rounding"
    )
    mesh_flow = _membrane_web(depth, flange, thickness, in_web)
    elements = "membranes, four in the depth: mean flow over one element against the parabola's"
    membranes = partial(Result, unit="N/mm", tolerance=1e-2, source=source, why=elements, kind="mesh")
    shape = _parabola_means(ends[0, 0], ends[0, 1])
    yield row("second moment of area", inertia[1, 1] / MM**4, 22.5e6, "mm4")
    yield row("flange direct force", direct, 53_333.0, "N")
    yield row("shear of the web", in_web, 14_667.0, "N")
    yield row("shear flow at the flange", float(ends[0, 0]), 39.11, "N/mm")
    yield row("greatest shear flow", float(ends[0, 1]), 53.78, "N/mm")
    yield membranes("membrane web: flow in the outer quarter", mesh_flow[0], shape[0])
    yield membranes("membrane web: flow in the inner quarter", mesh_flow[1], shape[1])


def _parabola_means(edge: float, middle: float) -> tuple[float, float]:
    """Means over the outer and the inner half of half the depth of a parabola from `edge` to `middle`."""
    rise = middle - edge
    return middle - rise * (1 - 1 / 8) / 3 * 2, middle - rise / 12


def _membrane_web(depth: float, flange: float, thickness: float, force: float) -> Array:
    """Flow (N/mm) in the outer and inner quarters of the depth, at mid-span of a long spar with a web of
    membranes."""
    bays, length, young, shear = 24, 8 * depth, 70e9, 26e9
    along, up = np.linspace(0, length, bays + 1), np.linspace(-depth / 2, depth / 2, 5)
    points = np.zeros((len(along) * 5, 3))
    points[:, 1], points[:, 2] = np.repeat(along, 5), np.tile(up, len(along))
    n = bays * 4
    sheet = moduli((young, young, shear, 0.0), n)
    web = Membranes(grid(bays, 4), np.full(n, thickness), sheet, np.tile([0, 1.0, 0], (n, 1)))
    starts = np.concatenate([np.arange(0, bays * 5, 5), np.arange(4, bays * 5, 5)])
    flanges = Bars(np.stack([starts, starts + 5], axis=1), np.full(2 * bays, young * flange))
    supports = Supports.fixed(np.arange(5), "xyz") + Supports.fixed(np.arange(5, len(points)), "x")
    structure = Structure(points, {"web": web, "flanges": flanges}, supports)
    share = np.array([1, 2, 2, 2, 1]) / 8
    rows: list[tuple[int, tuple[float, ...]]] = [(bays * 5 + k, (0, 0, force * share[k])) for k in range(5)]
    _, solution = moved(structure, rows)
    corners = solution.assembly.corners("web")
    at_corners = solution.assembly.element_displacements("web", solution.displacements[:, :, 0])
    stress = stresses(corners, at_corners, web.constitutive, web.grain, np.zeros((1, 2)))[:, 0, 2]
    middle = (
        np.abs(stress.reshape(bays, 4)[bays // 2 - 1 : bays // 2 + 1].mean(axis=0)) * thickness / N_PER_MM
    )
    return np.array([(middle[0] + middle[3]) / 2, (middle[1] + middle[2]) / 2])


def open_channel() -> Iterator[Result]:
    """Four equal booms joined as a channel, force through the shear centre."""
    width, height = 200 * MM, 400 * MM
    positions = np.array([[width, height / 2], [0, height / 2], [0, -height / 2], [width, -height / 2]])
    made = BoomSection(positions, np.full(4, 300 * MM**2), np.array([[0, 1], [1, 2], [2, 3]]), np.ones(3))
    flows = np.abs(boom_section(made, (0.0, 4800.0)).mean) / N_PER_MM
    source = "Megson, Introduction to Aircraft Structural Analysis, Example 19.3, p. 552, looked up"
    row = partial(
        Result, unit="N/mm", tolerance=1e-6, source=source, why="statics of four booms", kind="rounding"
    )
    _, inertia = second_moments(made)
    yield row("second moment of area", inertia[1, 1] / MM**4, 48e6, unit="mm4", why="sum of A z^2")
    yield row("flow in the upper flange", float(flows[0]), 6.0)
    yield row("flow in the web", float(flows[1]), 12.0)
    yield row("flow in the lower flange", float(flows[2]), 6.0)


BOX_X = np.array([-480.0, -240.0, 0.0, 120.0]) * MM
BOX_Z = np.array([30.0, 100.0, 100.0, 50.0]) * MM
BOX_AREAS = np.array([200.0, 250.0, 400.0, 100.0]) * MM**2
WALLS = ("1-2", "2-3", "3-4", "4-5", "5-6", "6-7", "7-8", "8-1")
COMPUTED = np.array([12.720, 5.318, 34.178, 37.785, 34.178, 5.318, 12.720, 17.049])
PRINTED = np.array([12.7, 5.4, 34.3, 37.9, 34.3, 5.4, 12.7, 17.0])


def _box() -> BoomSection:
    upper, lower = np.stack([BOX_X, BOX_Z], axis=1), np.stack([BOX_X, -BOX_Z], axis=1)
    walls = np.array([[k, (k + 1) % 8] for k in range(8)])
    areas = np.concatenate([BOX_AREAS, BOX_AREAS[::-1]])
    return BoomSection(np.concatenate([upper, lower[::-1]]), areas, walls, np.ones(8))


def box_in_shear() -> list[Result]:
    """Single cell of eight booms, vertical force through booms 3 and 6: section analysis, then bars and
    panels."""
    made, force = _box(), 10e3
    flows = np.abs(boom_section(made, (0.0, force), 0.0).mean) / N_PER_MM
    modelled = _box_at_mid_length(made, force) / N_PER_MM
    source = (
        "Megson, Introduction to Aircraft Structural Analysis, Example 19.4, pp. 549-551, looked up; "
        "positions of the booms from memory, which give the source's I, cell area and flows"
    )
    rounded = "reference computed to three decimals"
    ends = (
        "long box, ribs stiff in their plane; the clamped root spreads the booms' loads, little of it left "
        "at mid-length"
    )
    digits = "the source prints one decimal of flows of 5 to 38 N/mm and rounds on the way: up to 1.6 %"
    upper_half = (0, 1, 2, 3, 7)
    row = partial(Result, source=source)
    out = [
        row(
            "second moment of area",
            second_moments(made)[1][1, 1] / MM**4,
            13.86e6,
            "mm4",
            1e-6,
            why="sum of A z^2",
            kind="rounding",
        )
    ]
    for what, values, expected, tolerance, why, kind in (
        ("section", flows, COMPUTED, 1e-3, rounded, "rounding"),
        ("as printed", flows, PRINTED, 2e-2, digits, "rounding"),
        ("bars and panels", modelled, COMPUTED, 3e-2, ends, "theory"),
    ):
        out += [
            row(
                f"{what}: flow in wall {WALLS[k]}",
                float(values[k]),
                float(expected[k]),
                "N/mm",
                tolerance,
                why=why,
                kind=kind,
            )
            for k in upper_half
        ]
    return out


def _box_at_mid_length(made: BoomSection, force: float) -> Array:
    """Flows (N/m, sizes) of the walls in the middle of a clamped box of bars and panels."""
    bays, length, young, shear, n = 20, 4.0, 70e9, 26e9, 8
    stations = np.linspace(0, length, bays + 1)
    walls = tube_walls(made.walls, n, bays)
    blocks: dict[str, Block] = {
        "walls": ShearPanels(walls, np.full(len(walls), 1 * MM), np.full(len(walls), shear)),
        "booms": Bars(tube_booms(n, bays), np.tile(young * made.areas, bays)),
        "ribs": stiff_ribs(range(n), range(1, bays + 1), n, 1e4 * young * 100 * MM**2),
    }
    structure = Structure(tube_nodes(made.positions, stations), blocks, Supports.fixed(np.arange(n), "xyz"))
    tip = n * bays
    half: tuple[float, ...] = (0, 0, force / 2)
    _, solution = moved(structure, [(tip + 2, half), (tip + 5, half)])
    # Edge 41 of a panel lies along the section at the inboard station.
    flows = np.abs(solution.recover(0)["walls"]["shear_flow"][:, 3].reshape(bays, n))
    return np.asarray(flows[bays // 2 - 1 : bays // 2 + 1].mean(axis=0))


CASES = (
    Case("S3", "Tapered spar whose web takes bending too", tapered_spar),
    Case("S4", "Idealised open channel in shear", open_channel),
    Case("C6", "Idealised box of eight booms in shear", box_in_shear),
)
