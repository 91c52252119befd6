"""Structures of the kinds that the cases use again and again: chains of beams, flat grids, prismatic
thin-walled tubes.

Spans run along y, sections lie in x and z.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fea.arrays import Array, Ints
from fea.elements.bar import Bars
from fea.elements.beam import Beams, Sections
from fea.elements.membrane import plane_stress
from fea.solve import Solution, statics
from fea.structure import Loads, Structure, Supports

UP = np.array([0.0, 0.0, 1.0])


def section(
    axial: float,
    bending_y: float,
    bending_z: float,
    torsion: float,
    shear: tuple[float, float] = (np.inf, np.inf),
) -> tuple[float, ...]:
    """Rigidities of one section in the order of `fea.elements.beam.Sections`; `shear` along local y and z."""
    return (axial, bending_y, bending_z, torsion, *shear)


def rectangle(
    young: float, shear_modulus: float, width: float, height: float, torsion: float, *, shear: bool = True
) -> tuple[float, ...]:
    """Rigidities of a rectangle, `width` along local y and `height` along local z, m, with shear coefficient
    5/6.

    `torsion` is G J, N m2. Without `shear` its flexibility is left out.
    """
    area = width * height
    rigid = 5 / 6 * shear_modulus * area if shear else np.inf
    return section(
        young * area, young * width * height**3 / 12, young * height * width**3 / 12, torsion, (rigid, rigid)
    )


def sections(rows: Sequence[tuple[float, ...]]) -> Sections:
    """Block of sections, one row an element."""
    return Sections(*np.array(rows, dtype=float).T.copy())


def beams(
    nodes: Ints | Sequence[Sequence[int]],
    rows: Sequence[tuple[float, ...]],
    up: Array,
    line_load: Array | None = None,
) -> Beams:
    """Block of beams; `up` (3,) for all or (n_elements, 3); `line_load` (3,) for all, N/m."""
    pairs = np.asarray(nodes, dtype=np.intp)
    n = len(pairs)
    load = None if line_load is None else np.broadcast_to(line_load, (n, 2, 3)).copy()
    return Beams(pairs, sections(rows), np.broadcast_to(up, (n, 3)).copy(), line_load=load)


def chain(
    points: Array, row: tuple[float, ...], supports: Supports, up: Array = UP, line_load: Array | None = None
) -> Structure:
    """Beams of one section from each point to the next."""
    n = len(points) - 1
    pairs = np.stack([np.arange(n), np.arange(1, n + 1)], axis=1)
    return Structure(points, {"beams": beams(pairs, [row] * n, up, line_load)}, supports)


def along_y(positions: Sequence[float] | Array) -> Array:
    """Points on the y axis, (n, 3)."""
    out = np.zeros((len(positions), 3))
    out[:, 1] = positions
    return out


def moved(structure: Structure, rows: list[tuple[int, tuple[float, ...]]]) -> tuple[Array, Solution]:
    """Displacements (n_nodes, 6) under forces on nodes (see `Loads.forces`), and the whole solution."""
    solution = statics(structure, Loads.forces(structure, rows))
    return solution.displacements[:, :, 0], solution


def moduli(constants: tuple[float, float, float, float], n: int) -> Array:
    """Plane-stress moduli (n, 3, 3), Pa, of n elements of one sheet: E_1, E_2, G_12 in Pa and nu_12."""
    one = plane_stress(*(np.array(value) for value in constants))
    return np.broadcast_to(one, (n, 3, 3))


def grid(n_first: int, n_second: int) -> Ints:
    """Quadrilaterals of a grid whose node (i, j) has number i (n_second + 1) + j, (n_first * n_second, 4)."""
    i, j = np.meshgrid(np.arange(n_first), np.arange(n_second), indexing="ij")
    first = (i * (n_second + 1) + j).ravel()
    return np.stack([first, first + n_second + 1, first + n_second + 2, first + 1], axis=1)


def tube_nodes(contour: Array, stations: Array) -> Array:
    """Nodes of a prismatic tube: node s * n_contour + c at contour point c (x, z) and station s (y)."""
    n = len(contour)
    out = np.empty((len(stations) * n, 3))
    out[:, [0, 2]] = np.tile(contour, (len(stations), 1))
    out[:, 1] = np.repeat(stations, n)
    return out


def tube_walls(walls: Ints, n_contour: int, n_bays: int) -> Ints:
    """Quadrilaterals of the walls, bay by bay, (n_bays * n_walls, 4): corners a, b inboard, then b, a
    outboard."""
    inner = walls[None] + n_contour * np.arange(n_bays)[:, None, None]
    return np.concatenate([inner, inner[..., ::-1] + n_contour], axis=2).reshape(-1, 4)


def tube_booms(n_contour: int, n_bays: int) -> Ints:
    """Bars along the span, bay by bay, (n_bays * n_contour, 2)."""
    inner = np.arange(n_contour * n_bays)
    return np.stack([inner, inner + n_contour], axis=1)


def stiff_ribs(ring: Sequence[int], stations: Sequence[int], n_contour: int, axial_rigidity: float) -> Bars:
    """Bars that keep the section in shape at stations: the ring of contour points, a fan from its first."""
    order = np.asarray(ring)
    n = len(order)
    sides = np.stack([order, np.roll(order, -1)], axis=1)
    fan = np.stack([np.repeat(order[0], n - 3), order[2 : n - 1]], axis=1)
    one = np.concatenate([sides, fan])
    pairs = np.concatenate([one + s * n_contour for s in stations]).astype(np.intp)
    return Bars(pairs, np.full(len(pairs), axial_rigidity))


def torque_about_y(points: Array, torque: float) -> Array:
    """Forces (n, 3) in x and z on points of a section that make up a torque, in proportion to their arms."""
    arms = points - points.mean(axis=0)
    # About +y a force (fx, fz) at (x, z) has the moment z fx - x fz.
    forces = np.stack([arms[:, 2], np.zeros(len(points)), -arms[:, 0]], axis=1)
    return forces * torque / (arms[:, 0] ** 2 + arms[:, 2] ** 2).sum()
