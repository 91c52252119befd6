"""Adjoint sensitivities against complex steps of the whole solve, exact to rounding, and a closed form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.sparse as sp
import scipy.sparse.linalg as spla
from numpy.testing import assert_allclose

from fea.adjoint import UnbalancedGradient, adjoint
from fea.assembly import Assembly, rigid_motions
from fea.elements.bar import Bars
from fea.elements.beam import Beams, Sections
from fea.elements.mass import Masses
from fea.elements.membrane import Membranes, plane_stress
from fea.solve import free_body, statics
from fea.structure import Loads, Structure, Supports

SEED = 70421
TINY = 1e-30
"""A complex step: no difference is formed, so that it may be as small as one likes."""


def _bars(n: int = 5) -> Structure:
    nodes = np.zeros((n + 1, 3))
    nodes[:, 0] = np.linspace(0.0, 0.25, n + 1)
    pairs = np.stack([np.arange(n), np.arange(1, n + 1)], axis=1)
    held = Supports.fixed(np.arange(n + 1), "yz") + Supports.fixed([0], "x")
    return Structure(nodes, {"bars": Bars(pairs, np.full(n, 300.0))}, held)


def test_bars_in_series() -> None:
    structure = _bars()
    solution = statics(structure, Loads.forces(structure, [(5, (2.0, 0.0, 0.0))]))
    tip = np.zeros((6, 6, 1))
    tip[5, 0] = 1.0
    found = adjoint(solution, tip).of_scales({"bars": np.arange(5)}, 5)
    # The tip moves by F L/EA for each bar; a factor on one takes that away again: -F L/EA.
    assert_allclose(found, np.full((1, 5), -2.0 * 0.05 / 300.0), rtol=1e-12)


def _girder(seed: int, supports: Supports | None = None) -> Structure:
    """A ladder of beams with sheets between and masses about, of random sizes."""
    random = np.random.default_rng(seed)
    n = 6
    y = np.cumsum(random.uniform(0.04, 0.08, n + 1))
    low = np.stack([random.uniform(-0.005, 0.005, n + 1), y, np.zeros(n + 1)], axis=1)
    nodes = np.concatenate([low, low + np.array([0.01, 0.0, 0.03])])
    lower = np.stack([np.arange(n), np.arange(1, n + 1)], axis=1)
    posts = np.stack([np.arange(n + 1), np.arange(n + 1) + n + 1], axis=1)
    pairs = np.concatenate([lower, lower + n + 1, posts])
    m = len(pairs)
    sections = Sections(*(size * random.uniform(0.5, 2.0, m) for size in (1e5, 0.3, 0.4, 0.05, 3e4, 3e4)))
    facing = np.tile([1.0, 0.2, 0.1], (m, 1))
    beams = Beams(pairs, sections, facing, mass_per_length=0.03 * random.uniform(0.5, 2.0, m))
    quads = np.concatenate([lower, lower[:, ::-1] + n + 1], axis=1)
    sheets = Membranes(
        quads,
        1e-3 * random.uniform(0.5, 2.0, n),
        np.tile(plane_stress(*(np.array(v) for v in (3e9, 1e8, 2e8, 0.3))), (n, 1, 1)),
        np.tile([0.0, 1.0, 0.0], (n, 1)),
        offsets=np.tile(random.uniform(-0.004, 0.004, 3), (n, 4, 1)),
        density=np.full(n, 160.0),
    )
    masses = Masses(np.array([[2], [9]]), np.array([0.05, 0.08]), random.uniform(-0.02, 0.02, (2, 1, 3)))
    held = Supports.fixed([0, n + 1]) if supports is None else supports
    return Structure(nodes, {"beams": beams, "sheets": sheets, "masses": masses}, held)


def _element_matrices(
    assembly: Assembly, groups: dict[str, np.ndarray], group: int
) -> tuple[sp.csc_matrix, sp.csc_matrix]:
    """Stiffness and mass of one group."""
    blocks = assembly.structure.blocks
    zero = {name: np.zeros(len(b.nodes)) for name, b in blocks.items()}
    chosen = {name: blocks[name].scale * (g == group) for name, g in groups.items()}
    mass = {
        name: assembly.on_nodes(name, b.mass(assembly.corners(name)))
        * (groups[name] == group if name in groups else np.zeros(len(b.nodes)))[:, None, None, None, None]
        for name, b in blocks.items()
    }
    return assembly.stiffness(zero | chosen), assembly.add(mass)


@pytest.mark.parametrize("flying", [False, True])
@pytest.mark.parametrize("seed", [SEED, SEED + 1, SEED + 2])
def test_complex_step_of_random_structures(seed: int, *, flying: bool) -> None:
    structure = _girder(seed, Supports.none() if flying else None)
    assembly = Assembly(structure)
    random = np.random.default_rng(seed)
    loads = Loads(random.standard_normal((14, 6, 1)) * [[[1.0]] * 3 + [[0.02]] * 3])
    solution = free_body(assembly, loads) if flying else statics(assembly, loads)
    groups = {"beams": random.integers(-1, 4, 19), "sheets": random.integers(-1, 4, 6)}
    gradients = random.standard_normal((14, 6, 3)) * [[[1.0]] * 3 + [[0.02]] * 3]
    motions = rigid_motions(structure.nodes)
    flat = gradients.reshape(84, 3)
    if flying:  # figures of a body in flight must not ask where it is
        flat = flat - motions @ np.linalg.lstsq(motions, flat, rcond=None)[0]
    found = adjoint(solution, flat.reshape(14, 6, 3)).of_scales(groups, 4, with_mass=flying)
    free = np.arange(84)
    if flying:
        free = np.setdiff1d(free, [0, 1, 2, 6 * 6, 6 * 6 + 2, 13 * 6])  # any six that stop it
    else:
        free = np.setdiff1d(free, np.concatenate([np.arange(6), 42 + np.arange(6)]))
    for g in range(4):
        stiff, mass = _element_matrices(assembly, groups, g)
        k = assembly.stiffness() + 1j * TINY * stiff
        force = loads.nodal.reshape(84, 1).astype(complex)
        if flying:
            m = assembly.mass() + 1j * TINY * mass
            carried = m @ motions
            force = force - carried @ np.linalg.solve(motions.T @ carried, motions.T @ force)
        moves = np.zeros((84, 1), dtype=complex)
        moves[free, 0] = spla.splu(k[free][:, free].tocsc()).solve(force[free, 0])
        exact = (flat.T @ moves).imag[:, 0] / TINY
        # Rounding times the condition of such structures, some 1e6.
        assert_allclose(found[:, g], exact, rtol=1e-7, atol=1e-9 * np.abs(found).max())


def test_residual_and_scales_agree() -> None:
    structure = _girder(SEED + 5)
    assembly = Assembly(structure)
    loads = Loads.forces(structure, [(6, (0.3, 0.0, 1.0)), (13, (0.0, 0.2, 1.0))])
    solution = statics(assembly, loads)
    row = np.zeros((14, 6, 1))
    row[13, 2] = 1.0
    found = adjoint(solution, row)
    groups = {"sheets": np.arange(6)}
    left = np.stack(
        [
            (
                assembly.stiffness({n: np.zeros(len(b.nodes)) for n, b in structure.blocks.items()}
                                   | {"sheets": structure.blocks["sheets"].scale * (np.arange(6) == g)})
                @ assembly.vector(solution.displacements)
            ).reshape(14, 6)
            for g in range(6)
        ],
        axis=2,
    )  # fmt: skip
    # The same products in another order.
    assert_allclose(found.of_residual(left), found.of_scales(groups, 6), rtol=1e-9, atol=1e-18)


def test_a_figure_that_asks_where_a_flying_body_is() -> None:
    structure = _girder(SEED, Supports.none())
    solution = free_body(structure, Loads.forces(structure, [(3, (0.0, 0.0, 1.0))]))
    row = np.zeros((14, 6, 2))
    row[3, 2, 0], row[4, 2, 0] = 1.0, -1.0
    row[3, 2, 1] = 1.0
    with pytest.raises(UnbalancedGradient) as raised:
        adjoint(solution, row[:, :, 1:])
    assert raised.value.row == 0
    assert raised.value.share > 0.1


def test_nothing_is_changed() -> None:
    structure = _girder(SEED)
    solution = statics(structure, Loads.forces(structure, [(3, (0.0, 0.0, 1.0))]))
    row = np.random.default_rng(SEED).standard_normal((14, 6, 1))
    kept, moves = row.copy(), solution.displacements.copy()
    found = adjoint(solution, row)
    again = replace(found)
    again.of_scales({"sheets": np.arange(6)}, 6)
    assert (row == kept).all()
    assert (solution.displacements == moves).all()
