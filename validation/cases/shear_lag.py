"""Shear lag in the cover of a six-boom box: the middle boom lags behind the two at the edges."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from fea.elements.bar import Bars
from fea.elements.shear_panel import ShearPanels
from fea.structure import Array, Block, Structure, Supports
from validation.case import Case, Result
from validation.meshes import moved, tube_booms, tube_nodes, tube_walls
from validation.units import MM, MPA, N_PER_MM

E, G = 70_000 * MPA, 26_000 * MPA
FORCE, DEPTH, PITCH, MIDDLE, EDGE, SHEET, LENGTH = (
    1000.0,
    100 * MM,
    150 * MM,
    400 * MM**2,
    200 * MM**2,
    1 * MM,
    1.0,
)


def cover(bays: int) -> tuple[Array, Array, Array]:
    """Forces (N) in the middle and the edge boom at the stations, root first, and the cover's flow (N/m) in
    the bays."""
    # Contour: upper cover 0 1 2, lower cover 3 4 5, webs between 0 and 3 and between 2 and 5.
    contour = np.array([[x, z] for z in (DEPTH / 2, -DEPTH / 2) for x in (-PITCH, 0, PITCH)])
    walls = np.array([[0, 1], [1, 2], [3, 4], [4, 5], [0, 3], [2, 5]])
    n = len(contour)
    quads = tube_walls(walls, n, bays)
    areas = np.array([EDGE, MIDDLE, EDGE, EDGE, MIDDLE, EDGE])
    blocks: dict[str, Block] = {
        "sheets": ShearPanels(quads, np.full(len(quads), SHEET), np.full(len(quads), G)),
        "booms": Bars(tube_booms(n, bays), np.tile(E * areas, bays)),
        # Posts stiff in the section's plane (a thousandfold is enough, a millionfold drowns in rounding);
        # across the cover nothing moves (transverse strain neglected).
        "posts": Bars(
            np.concatenate([np.array([[0, 3], [2, 5]]) + n * s for s in range(1, bays + 1)]),
            np.full(2 * bays, 1e3 * E * EDGE),
        ),
    }
    free = np.arange(n, n * (bays + 1))
    middles = free[(free % n == 1) | (free % n == 4)]
    supports = Supports.fixed(np.arange(n), "xyz") + Supports.fixed(free, "x") + Supports.fixed(middles, "z")
    structure = Structure(tube_nodes(contour, np.linspace(0, LENGTH, bays + 1)), blocks, supports)
    quarter: tuple[float, ...] = (0, 0, FORCE / 4)
    tip = n * bays
    _, solution = moved(structure, [(tip + k, quarter) for k in (0, 2, 3, 5)])
    recovered = solution.recover(0)
    bars = recovered["booms"]["axial_force"].reshape(bays, n)[:, :2]
    stations = np.zeros((bays + 1, 2))
    stations[1:-1] = (bars[1:] + bars[:-1]) / 2
    # At the root the clamp takes the bar's force and half a bay of the panels' flow.
    stations[0] = -solution.reactions[[0, 1], 1, 0]
    flow = recovered["sheets"]["shear_flow"][:, 0].reshape(bays, len(walls))[:, 0]
    return np.abs(stations[:, 1]), np.abs(stations[:, 0]), np.abs(flow)


def closed_form(z: Array) -> tuple[Array, Array, Array]:
    """P_A, P_B (N) and cover flow (N/m) at distances z from the free end."""
    rate = np.sqrt(G * SHEET * (2 * EDGE + MIDDLE) / (PITCH * E * MIDDLE * EDGE))
    per = FORCE / (DEPTH * (2 * EDGE + MIDDLE))
    lag = np.sinh(rate * z) / (rate * np.cosh(rate * LENGTH))
    middle = per * MIDDLE * (z - lag)
    edge = per * EDGE * (z + MIDDLE / (2 * EDGE) * lag)
    return middle, edge, per * MIDDLE / 2 * (1 - np.cosh(rate * z) / np.cosh(rate * LENGTH))


def six_booms() -> Iterator[Result]:
    """Twenty bays beside the closed form; order by 10, 20 and 40."""
    source = (
        "Megson, Aircraft Structures for Engineering Students, eqs 11.24-11.35, pp. 456-460, looked up; "
        "evaluated here"
    )
    bays = 20
    middle, edge, flow = cover(bays)
    row = partial(Result, tolerance=5e-3, source=source, kind="mesh")
    for z in (0.25, 0.5, 0.75, 1.0):
        station = round((1 - z) * bays)
        p_a, p_b, _ = closed_form(np.array([z]))
        why = "20 bays of bars with constant force, error as 1/n^2"
        where = f"{z * 1e3:.0f} mm from the tip"
        yield row(f"middle boom {where}", float(middle[station]), float(p_a[0]), "N", why=why)
        yield row(f"edge boom {where}", float(edge[station]), float(p_b[0]), "N", why=why)
        if z < 1:
            here = (flow[station - 1] + flow[station]) / 2 / N_PER_MM
            expected = float(closed_form(np.array([z]))[2][0]) / N_PER_MM
            yield row(f"cover flow {where}", float(here), expected, "N/mm", why=why)
    exact = float(closed_form(np.array([1.0]))[0][0])
    errors = [abs(float(cover(n)[0][0]) - exact) for n in (10, 20, 40)]
    order = float(np.log2(errors[0] / errors[2]) / 2)
    yield row(
        "order of the root's middle boom, 10 to 40 bays",
        order,
        2.0,
        "",
        tolerance=5e-2,
        why="theory's order 2 within 0.1",
    )


CASES = (Case("S6", "Shear lag in a six-boom box", six_booms),)
