"""Cantilever spars of two flanges and a web that carries shear alone, straight and tapered."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from fea.elements.bar import Bars
from fea.elements.shear_panel import ShearPanels, flow_at
from fea.solve import Solution
from fea.structure import Array, Structure, Supports
from validation.case import Case, Result
from validation.meshes import moved
from validation.units import MM, MPA, N_PER_MM

E, G, FLANGE, FORCE = 10_000 * MPA, 600 * MPA, 60 * MM**2, 100.0


def spar(stations: Array, depths: Array, thickness: float, *, linear_flanges: bool) -> Structure:
    """Spar in the y-z plane, clamped at its first station; node 2 s lower and 2 s + 1 upper flange.

    With `linear_flanges` the panels count the change of the flanges' force along a bay, else bars of constant
    force alone stand for the flanges.
    """
    n = len(stations) - 1
    points = np.zeros((2 * (n + 1), 3))
    points[:, 1] = np.repeat(stations, 2)
    points[0::2, 2], points[1::2, 2] = -depths / 2, depths / 2
    lower = np.arange(0, 2 * n, 2)
    webs = np.stack([lower, lower + 2, lower + 3, lower + 1], axis=1)
    edges = np.full((n, 4), np.inf)
    edges[:, [0, 2]] = E * FLANGE
    panels = ShearPanels(
        webs, np.full(n, thickness), np.full(n, G), edge_axial_rigidity=edges if linear_flanges else None
    )
    flanges = np.concatenate([webs[:, [0, 1]], webs[:, [3, 2]]])
    posts = np.stack([np.arange(2, 2 * n + 2, 2), np.arange(3, 2 * n + 3, 2)], axis=1)
    bars = Bars(np.concatenate([flanges, posts]), np.full(3 * n, E * FLANGE))
    supports = Supports.fixed([0, 1], "xyz") + Supports.fixed(np.arange(2, len(points)), "x")
    return Structure(points, {"web": panels, "bars": bars}, supports)


def _tip(structure: Structure) -> tuple[float, Solution]:
    half: tuple[float, ...] = (0, 0, FORCE / 2)
    last = len(structure.nodes) - 1
    moves, solution = moved(structure, [(last - 1, half), (last, half)])
    return float(moves[-2:, 2].mean()), solution


def straight() -> Iterator[Result]:
    """Constant depth: one panel with flanges of linear force, then bars of constant force and their rate."""
    length, depth, thickness = 360 * MM, 30 * MM, 0.8 * MM
    expected = 2 * FORCE * length**3 / (3 * E * FLANGE * depth**2) + FORCE * length / (G * thickness * depth)

    def made(n: int, linear: bool) -> tuple[float, Solution]:
        return _tip(
            spar(np.linspace(0, length, n + 1), np.full(n + 1, depth), thickness, linear_flanges=linear)
        )

    one, solution = made(1, True)
    flow = solution.recover(0)["web"]["shear_flow"]
    root = abs(float(solution.reactions[0, 1, 0]))
    coarse, middle, fine = (made(n, False)[0] for n in (6, 12, 24))
    rate = float(np.log2((middle - coarse) / (fine - middle)))
    source = "Kuhn, Stresses in Aircraft and Shell Structures; Megson; from memory; evaluated here"
    row = partial(Result, source=source, kind="rounding")
    exact = "a panel that counts the flanges' linear force is exact with one a spar"
    yield row("tip deflection 2PL^3/3EAh^2 + PL/Gth", one / MM, expected / MM, "mm", 1e-8, why=exact)
    yield row(
        "shear flow P/h, farthest from it",
        float(flow.flat[np.argmax(np.abs(flow - FORCE / depth))]) / N_PER_MM,
        FORCE / depth / N_PER_MM,
        "N/mm",
        1e-8,
        why="equilibrium alone",
    )
    yield row(
        "flange force at the root P L/h", root, FORCE * length / depth, "N", 1e-8, why="equilibrium alone"
    )
    yield row(
        "tip deflection, bars of constant force, extrapolated",
        (4 * fine - middle) / 3 / MM,
        expected / MM,
        "mm",
        1e-8,
        why="the error of 12 and 24 bays is exactly 1/n^2, which the extrapolation takes out",
    )
    yield row(
        "order of that error, 6, 12 and 24 bays",
        rate,
        2.0,
        "",
        1e-6,
        why="a force in steps of one bay errs by 1/(4n^2) of the flanges' part",
        kind="mesh",
    )


def tapered() -> list[Result]:
    """Web from 100 to 50 mm deep: flanges' slope carries part of the force."""
    length, root, tip, thickness = 400 * MM, 100 * MM, 50 * MM, 1 * MM

    def made(n: int) -> tuple[float, Solution]:
        stations = np.linspace(0, length, n + 1)
        return _tip(spar(stations, root + (tip - root) * stations / length, thickness, linear_flanges=True))

    one, solution = made(1)
    eight, _ = made(8)
    corners = solution.assembly.corners("web")
    flows = solution.recover(0)["web"]["shear_flow"]
    at = np.zeros((1, 3, 3))
    at[0, :, 1] = [length, length / 2, 0]
    inside = flow_at(corners, flows, at)[0] / N_PER_MM
    source = "Wagner; Garvey 1951, The quadrilateral shear panel; from memory; q = P h_t/h^2 evaluated here"
    total = "flanges by integration of (Px/h)^2/EA cos^3 0.975979 + web 0.500000 mm, computed"
    row = partial(
        Result, source=source, kind="rounding", why="equilibrium, which the panel satisfies exactly"
    )
    depths = ((tip, "tip"), ((root + tip) / 2, "middle"), (root, "root"))
    why = (
        "one panel takes the flanges' force as that of a uniform slope about its mean; the wedge's exact "
        "stress field has a web softer by 0.13 %"
    )
    return [
        *(
            row(f"shear flow at the {where}", float(q), FORCE * tip / h**2 / N_PER_MM, "N/mm", 1e-8)
            for q, (h, where) in zip(inside, depths)
        ),
        row(
            "mean flow at the root edge P h_t/h_r^2",
            abs(float(flows[0, 3])) / N_PER_MM,
            FORCE * tip / root**2 / N_PER_MM,
            "N/mm",
            1e-8,
        ),
        row(
            "mean flow along the flanges P/h_r",
            abs(float(flows[0, 0])) / N_PER_MM,
            FORCE / root / N_PER_MM,
            "N/mm",
            1e-8,
        ),
        row(
            "tip deflection, one panel", one / MM, 1.475979, "mm", 3e-3, source=total, why=why, kind="theory"
        ),
        row(
            "tip deflection, eight panels",
            eight / MM,
            1.475979,
            "mm",
            1e-3,
            source=total,
            why=why,
            kind="theory",
        ),
    ]


def _drawn(length: float, root: float, tip: float) -> Structure:
    """A spar of six panels, for its picture."""
    stations = np.linspace(0, length, 7)
    return spar(stations, root + (tip - root) * stations / length, 1 * MM, linear_flanges=False)


CASES = (
    Case(
        "S1", "Constant shear web between two flanges", straight, partial(_drawn, 360 * MM, 30 * MM, 30 * MM)
    ),
    Case("S2", "Tapered web between straight flanges", tapered, partial(_drawn, 400 * MM, 100 * MM, 50 * MM)),
)
