"""A box of three bays in torsion whose middle bay has lost its lower skin: the spars bend against each other.

The engine's panels and bars give the answer of a fine mesh. One constant flow a panel with flanges whose
force is linear along a bay, as the force method has it, is one element a bay made of the panel's own forces
(`BoxBays`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import ClassVar

import numpy as np

from fea.elements.bar import Bars
from fea.elements.shear_panel import ShearPanels
from fea.structure import Array, Ints, Structure, Supports
from validation.case import Case, Result
from validation.cases.cells import twisted
from validation.meshes import moved, stiff_ribs, torque_about_y, tube_booms, tube_nodes, tube_walls
from validation.units import MM, MPA, N_PER_MM

E, G = 70_000 * MPA, 26_000 * MPA
WIDTH, DEPTH, BAY, FLANGE, TORQUE = 800 * MM, 200 * MM, 1500 * MM, 1000 * MM**2, 10e3
CONTOUR = np.array([[0, 0], [WIDTH, 0], [WIDTH, DEPTH], [0, DEPTH]])
# Lower skin, rear web, upper skin, front web, each from a corner to the next.
WALLS = np.array([[0, 1], [1, 2], [2, 3], [3, 0]])
SHEETS = np.array([1, 2, 1, 2.0]) * MM
LOWER = 0


@dataclass(frozen=True, eq=False)
class BoxBays:
    """Bays of a box of four walls with one flow each, whose corners' flanges take the flows as force linear
    along them.

    Adds to the panels' flexibility A/Gt that of the linear part of the flanges' force, (L^3/12EA)(q_a -
    q_b)^2 a flange; the mean part is that of bars. `thickness` is 0 for a wall that is missing.
    """

    nodes: Ints
    thickness: Array
    shear_modulus: float
    flange_rigidity: float
    offsets: None = None
    part: None = None
    freedoms: ClassVar[int] = 3
    kind: ClassVar[str] = "box bay"

    @property
    def scale(self) -> Array:
        """One: flexibilities add, stiffnesses do not scale."""
        return np.ones(len(self.nodes))

    def _parts(self, corners: Array) -> tuple[Array, Array]:
        """Stretch of the walls per movement (n, 4, 24), and flows per stretch (n, 4, 4)."""
        n = len(corners)
        stretch = np.zeros((n, 4, 8, 3))
        rate = np.zeros((n, 4))
        for wall, (a, b) in enumerate(WALLS):
            around = [a, b, b + 4, a + 4]
            quads = corners[:, around]
            alone = ShearPanels(np.zeros((n, 4), dtype=np.intp), np.ones(n), np.full(n, 1.0))
            unit = np.broadcast_to(np.eye(12).reshape(4, 3, 12), (n, 4, 3, 12))
            area = np.linalg.norm(np.cross(quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1]), axis=1) / 2
            # Flow of a unit panel is stretch over area; a rectangle's four edges have one flow.
            flow = alone.recover(quads, unit)["shear_flow"][:, 0]
            stretch[:, wall, around] = (flow * area[:, None]).reshape(n, 4, 3)
            rate[:, wall] = self.shear_modulus * self.thickness[:, wall] / area
        length = np.linalg.norm(corners[:, 4] - corners[:, 0], axis=1)
        differ = np.eye(4) - np.roll(np.eye(4), -1, axis=1)
        coupling = (length**3 / (12 * self.flange_rigidity))[:, None, None] * (differ.T @ differ)
        flows = np.linalg.solve(np.eye(4) + rate[:, :, None] * coupling, rate[:, :, None] * np.eye(4))
        return stretch.reshape(n, 4, 24), flows

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness, (n, 24, 24)."""
        stretch, flows = self._parts(corners)
        return np.swapaxes(stretch, 1, 2) @ flows @ stretch

    def mass(self, corners: Array) -> Array:
        """No mass."""
        return np.zeros((len(corners), 24, 24))

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Flows of the walls: {"shear_flow": (n, 4, ...)}, N/m."""
        stretch, flows = self._parts(corners)
        moves = displacements.reshape(len(corners), 24, *displacements.shape[3:])
        return {"shear_flow": np.einsum("eij,ejk,ek...->ei...", flows, stretch, moves)}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """None."""
        return np.zeros((len(corners), 24, 24))


def box(per_bay: int) -> tuple[Array, Array, float]:
    """Flows (N/m, n_stations - 1, 4), flange forces at both ends of every piece (N, n, 4, 2), tip twist
    (rad).

    Bays count from the root; each is cut into `per_bay` pieces, with one a bay by `BoxBays`.
    """
    bays = 3 * per_bay
    nodes = tube_nodes(CONTOUR, np.linspace(0, 3 * BAY, bays + 1))
    sheets = np.tile(SHEETS, (bays, 1))
    sheets[per_bay : 2 * per_bay, LOWER] = 0.0
    flanges = Bars(tube_booms(4, bays), np.full(4 * bays, E * FLANGE))
    ribs = stiff_ribs(range(4), range(1, bays + 1), 4, 1e5 * E * FLANGE)
    if per_bay == 1:
        inner = 4 * np.arange(bays)[:, None] + np.arange(4)
        walls: BoxBays | ShearPanels = BoxBays(
            np.concatenate([inner, inner + 4], axis=1), sheets, G, E * FLANGE
        )
    else:
        there = sheets.ravel() > 0
        quads = tube_walls(WALLS, 4, bays)[there]
        walls = ShearPanels(quads, sheets.ravel()[there], np.full(len(quads), G))
    structure = Structure(
        nodes, {"walls": walls, "flanges": flanges, "ribs": ribs}, Supports.fixed(np.arange(4), "xyz")
    )
    tip = np.arange(4 * bays, 4 * bays + 4)
    forces = torque_about_y(nodes[tip], TORQUE)
    moves, solution = moved(structure, [(int(node), tuple(force)) for node, force in zip(tip, forces)])
    recovered = solution.recover(0)
    flows = np.zeros((bays, 4))
    if per_bay == 1:
        flows[:] = recovered["walls"]["shear_flow"]
    else:
        flows[sheets > 0] = recovered["walls"]["shear_flow"][:, 0]
    mean = recovered["flanges"]["axial_force"].reshape(bays, 4)
    # Growth of a flange's force along a piece is the difference of the flows of its two walls.
    growth = (np.roll(flows, 1, axis=1) - flows) * 3 * BAY / bays
    ends = np.stack([mean - growth / 2, mean + growth / 2], axis=2)
    twist = -(moves[tip[1], 2] - moves[tip[0], 2]) / WIDTH
    return flows, ends, float(twist)


def without_lower_skin() -> list[Result]:
    """One flow a panel; a fine mesh; the textbook's figures."""
    flows, ends, twist = box(1)
    constant, per_twist = twisted(CONTOUR, WALLS, SHEETS, membranes=False)
    fine = 24
    _, ends_fine, twist_fine = box(fine)
    book = (
        "Megson, Introduction to Aircraft Structural Analysis, Example 22.6, pp. 605-607, looked up: "
        "geometry, 31.25, 62.5 N/mm, 46 875 N; tip bay from its two equations"
    )
    force = (
        "force method without the textbook's point of zero bending, one flow a panel, rigid ribs; computed"
    )
    free = (
        "section kept in shape continuously, flow free to vary along the closed bays; computed with a fine "
        "mesh"
    )
    rigid = (
        "half a unit of the last printed digit; ribs a hundred thousand times stiffer than a flange, beyond "
        "which nothing but rounding changes"
    )
    mesh = "24 pieces a bay of constant flow; figures printed to five digits"
    assumed = "the textbook puts the point of zero bending at mid-bay"
    flow = np.abs(flows) / N_PER_MM
    end = np.abs(ends[:, 0])
    end_fine = np.abs(ends_fine[:, 0])
    peaks = (float(end[1, 1]), float(end[1, 0]), float(end[0, 0]))
    fine_peaks = (float(end_fine[2 * fine - 1, 1]), float(end_fine[fine, 0]), float(end_fine[0, 0]))
    names = ("open bay's outer end", "open bay's inner end", "root")
    row = partial(Result, source=force, why=rigid, kind="rounding")
    out = [
        row(
            "continuous box, free to warp: flow T/2A",
            TORQUE / constant * float(per_twist[0]) / N_PER_MM,
            31.25,
            "N/mm",
            1e-6,
            source=book,
            why="Bredt's pure shear",
        ),
        row(
            "continuous box, free to warp: tip twist",
            TORQUE * 3 * BAY / (G * constant),
            0.030424,
            "rad",
            2e-5,
            why="Bredt's pure shear; printed to five digits",
        ),
        row("tip twist, one panel a bay", abs(twist), 0.063202, "rad", 1e-5),
        row("tip twist, fine", abs(twist_fine), 0.057391, "rad", 1e-2, source=free, why=mesh, kind="mesh"),
    ]
    out += [
        row(f"flange force, {name}", peak, expected, "N", 0.5 / expected)
        for name, peak, expected in zip(names, peaks, (47_169.0, 46_581.0, 17_786.0))
    ]
    out += [
        row(f"flange force, {name}, fine", peak, expected, "N", 1e-2, source=free, why=mesh, kind="mesh")
        for name, peak, expected in zip(names, fine_peaks, (45_966.0, 47_784.0, 32_758.0))
    ]
    for name, bay, wall, expected in (
        ("tip bay's skin", 2, 2, 46.973),
        ("tip bay's web", 2, 1, 15.527),
        ("root bay's skin", 0, 2, 40.848),
        ("root bay's web", 0, 1, 21.652),
    ):
        out.append(row(f"flow, {name}", float(flow[bay, wall]), expected, "N/mm", 3e-5))
    for name, computed, expected, unit in (
        ("flow of the open bay's web", float(flow[1, 1]), 62.5, "N/mm"),
        ("flange force at the open bay's outer end", peaks[0], 46_875.0, "N"),
        ("flange force at the open bay's inner end", peaks[1], 46_875.0, "N"),
        ("tip bay's skin", float(flow[2, 2]), 46.875, "N/mm"),
        ("tip bay's web", float(flow[2, 1]), 15.625, "N/mm"),
    ):
        out.append(
            row(f"textbook: {name}", computed, expected, unit, 3e-2, source=book, why=assumed, kind="theory")
        )
    out.append(
        row(
            "flow of the open bay's upper skin",
            float(flow[1, 2]),
            0.0,
            "N/mm",
            1e-6,
            source=book,
            why="equilibrium of the section in torsion",
            scale=62.5,
        )
    )
    return out


CASES = (Case("S5", "Cut-out: a box without lower skin in its middle bay", without_lower_skin),)
