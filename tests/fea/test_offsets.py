"""Rigid links and flattened quadrilaterals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly, rigid_motions
from fea.elements.mass import Masses
from fea.offsets import (
    corner_displacements,
    corner_matrix,
    cross_matrix,
    flattened,
    flattening_matrix,
    link_matrix,
    node_forces,
    to_nodes,
)
from fea.solve import statics
from fea.structure import Loads, Structure, Supports

KINDS = ["bar", "beam", "membrane", "membrane with drilling", "shear panel", "plate", "mass"]


def test_cross_matrix(rng):
    r, theta = rng.standard_normal((2, 5, 3))
    assert_allclose(
        np.einsum("eij,ej->ei", cross_matrix(r), theta), np.cross(theta, r), rtol=1e-13, atol=1e-15
    )


@pytest.mark.parametrize("freedoms", [3, 6])
def test_congruence_equals_dense_algebra(freedoms, rng):
    n, k = 4, 3
    matrices = rng.standard_normal((n, k * freedoms, k * freedoms))
    offsets = rng.standard_normal((n, k, 3))
    link = link_matrix(offsets, freedoms)
    for e in range(n):
        whole = np.zeros((k * freedoms, k * 6))
        for c in range(k):
            whole[c * freedoms : (c + 1) * freedoms, c * 6 : (c + 1) * 6] = link[e, c]
        expected = whole.T @ matrices[e] @ whole
        assert_allclose(
            to_nodes(matrices, corner_matrix(offsets, freedoms))[e], expected, rtol=1e-12, atol=1e-13
        )
        moves = rng.standard_normal((n, k, 6, 2))
        moved = corner_displacements(moves, offsets, freedoms)[e].reshape(k * freedoms, 2)
        assert_allclose(moved, whole @ moves[e].reshape(k * 6, 2), rtol=1e-12, atol=1e-13)


@pytest.mark.parametrize("kind", KINDS)
def test_hanging_elements_let_the_body_move(kind, rng, rotation, make_block):
    """Nodes anywhere, corners where they were: rigid motions of the nodes are free of force and of stress."""
    block, corners = make_block(kind, rng, 5, rotation)
    k = corners.shape[1]
    nodes = corners.reshape(-1, 3) + 0.05 * rng.standard_normal((5 * k, 3))
    hung = replace(block, offsets=corners - nodes.reshape(5, k, 3))
    assembly = Assembly(Structure(nodes, {"block": hung}))
    assert_allclose(assembly.corners("block"), corners, rtol=1e-9, atol=1e-12)
    stiff, motions = assembly.stiffness(), rigid_motions(nodes)
    scale = max((abs(stiff) @ np.abs(motions)).max(), 1e-300)
    assert np.abs(stiff @ motions).max() <= 1e-12 * scale
    random = 1e-3 * rng.standard_normal((len(nodes), 6))
    reference = assembly.recover(random)["block"]
    still = assembly.recover(rigid_motions(nodes).reshape(len(nodes), 6, 6) * 1e-3)["block"]
    for name, values in reference.items():
        assert np.abs(still[name]).max() <= 1e-10 * np.abs(values).max()


def test_offset_beam_on_a_rigid_arm(make_sections):
    """A cantilever hung 50 mm below its nodes, end force along it: the moment P e bends it by P e L^2/2EI."""
    from fea.elements.beam import Beams

    length, arm, pull = 0.3, 0.05, 20.0
    nodes = np.array([[0.0, 0, arm], [length, 0, arm]])
    offsets = np.zeros((1, 2, 3))
    offsets[..., 2] = -arm
    block = Beams(np.array([[0, 1]]), make_sections(1), np.array([[0, 0, 1.0]]), offsets=offsets)
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0]))
    moves = statics(structure, Loads.forces(structure, [(1, (pull, 0, 0))])).displacements[1, :, 0]
    ei, ea = 10e9 * 0.01 * 0.02**3 / 12, 10e9 * 200e-6
    turn = pull * arm * length / ei
    assert_allclose(moves[4], turn, rtol=1e-9)
    assert_allclose(moves[0], pull * length / ea + turn * arm, rtol=1e-9)
    assert_allclose(moves[2], -pull * arm * length**2 / (2 * ei), rtol=1e-9)


def test_line_load_on_a_hanging_beam_turns_its_nodes(make_sections):
    """A sideways load on a beam below its nodes: the support's moment about x counts the arm."""
    from fea.elements.beam import Beams

    nodes, offsets = np.array([[0.0, 0, 0], [0.3, 0, 0]]), np.zeros((1, 2, 3))
    offsets[..., 2] = -0.05
    load = np.zeros((1, 2, 3))
    load[..., 1] = 40.0
    block = Beams(
        np.array([[0, 1]]), make_sections(1), np.array([[0, 0, 1.0]]), offsets=offsets, line_load=load
    )
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0]))
    solution = statics(structure, Loads.zero(structure))
    # Force 12 N along y at (0.15, 0, -0.05): moment r x F = (0.05 x 12, 0, 0.15 x 12).
    assert_allclose(solution.reactions[0, :, 0], [0, -12, 0, -0.6, 0, -1.8], rtol=1e-9, atol=1e-9)


def test_mass_on_an_arm():
    """Mass m at distance r: m r^2 about the node, m r couples turning with moving."""
    structure = Structure(
        np.zeros((1, 3)), {"mass": Masses(np.array([[0]]), np.array([2.0]), np.array([[[0.3, 0, 0]]]))}
    )
    m = Assembly(structure).mass().toarray()
    assert_allclose(np.diag(m), [2, 2, 2, 0, 0.18, 0.18], rtol=1e-12, atol=1e-15)
    assert_allclose([m[1, 5], m[2, 4]], [0.6, -0.6], rtol=1e-12)


def _warped(rng, rotation, make_quads, n=6):
    flat = make_quads(rng, n, np.eye(3))
    flat[..., 2] = 0.01 * rng.standard_normal((n, 4))
    return flat @ rotation.T


def test_flattened_corners_lie_in_one_plane(rng, rotation, make_quads):
    corners = _warped(rng, rotation, make_quads)
    before = corners.copy()
    flat, stubs = flattened(corners)
    volume = np.einsum(
        "ej,ej->e", np.cross(flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]), flat[:, 3] - flat[:, 0]
    )
    assert np.abs(volume).max() <= 1e-15 * 0.1**3 * 1e2
    assert_allclose(flat, corners + stubs, rtol=0, atol=1e-16)
    heights = np.linalg.norm(stubs, axis=2)
    assert_allclose(heights, heights[:, :1] * np.ones((1, 4)), rtol=1e-9)  # alternately above and below
    assert (corners == before).all()


def test_plane_corners_stay_exactly(rng, make_quads):
    corners = make_quads(rng, 6, np.eye(3))
    flat, stubs = flattened(corners)
    assert not stubs.any()
    assert (flat == corners).all()


@pytest.mark.parametrize("kind", ["membrane", "membrane with drilling", "plate"])
@pytest.mark.parametrize("hung", [False, True])
def test_warped_quadrilaterals_let_the_body_move(kind, hung, rng, rotation, make_block, make_quads):
    block, _ = make_block(kind, rng, 6, rotation)
    corners = _warped(rng, rotation, make_quads)
    nodes = corners.reshape(-1, 3).copy()
    if hung:
        nodes += 0.05 * rng.standard_normal(nodes.shape)
        block = replace(block, offsets=corners - nodes.reshape(6, 4, 3))
    assembly = Assembly(Structure(nodes, {"block": block}))
    stiff, motions = assembly.stiffness(), rigid_motions(nodes, assembly.freedoms)
    assert np.abs(stiff @ motions).max() <= 1e-12 * (abs(stiff) @ np.abs(motions)).max()
    k = stiff.toarray()[: 4 * assembly.freedoms, : 4 * assembly.freedoms]
    assert_allclose(k, k.T, rtol=0, atol=1e-13 * np.abs(k).max())
    # Of one membrane the rank is still five: no rotation of a node is asked for.
    if kind == "membrane" and not hung:
        assert np.linalg.matrix_rank(k, tol=1e-9 * np.abs(k).max()) == 5
    moves = rigid_motions(nodes).reshape(-1, 6, 6) * 1e-3
    still = assembly.recover(moves)["block"]
    random = assembly.recover(1e-3 * rng.standard_normal((len(nodes), 6)))["block"]
    for name, values in random.items():
        assert np.abs(still[name]).max() <= 1e-10 * np.abs(values).max()


def test_flattening_plane_quadrilaterals_changes_nothing(rng, make_quads):
    flat = make_quads(rng, 3, np.eye(3))
    assert_allclose(
        flattening_matrix(flat, np.zeros_like(flat), 6), np.tile(np.eye(24), (3, 1, 1)), rtol=0, atol=0
    )


def test_curved_sheet_of_membranes_alone_holds_together(wood):
    """A warped sheet without any rotation (three freedoms a node) solves and balances."""
    from fea.elements.membrane import Membranes

    s, t = np.meshgrid(np.linspace(0, 0.3, 7), np.linspace(0, 0.1, 4), indexing="ij")
    # Double curvature gives a net of membranes its normal stiffness.
    nodes = np.column_stack(
        [s.ravel(), t.ravel(), 2 * s.ravel() * t.ravel() + 3 * t.ravel() * (0.1 - t.ravel())]
    )
    i, j = np.meshgrid(np.arange(6), np.arange(3), indexing="ij")
    first = (i * 4 + j).ravel()
    quads = np.stack([first, first + 4, first + 5, first + 1], axis=1)
    n = len(quads)
    block = Membranes(quads, np.full(n, 1e-3), np.tile(wood, (n, 1, 1)), np.tile([1.0, 0.0, 0.0], (n, 1)))
    border = np.flatnonzero(
        (s.ravel() == 0) | (t.ravel() == 0) | (t.ravel() == t.max()) | (s.ravel() == s.max())
    )
    structure = Structure(nodes, {"sheet": block}, Supports.fixed(border, "xyz"))
    assert structure.freedoms == 3
    solution = statics(structure, Loads.forces(structure, [(13, (0.0, 0.0, 1.0))]))
    assert solution.checks.reaction_sum < 1e-10
    assert solution.checks.energy < 1e-8


@pytest.mark.parametrize("freedoms", [3, 6])
def test_node_forces_do_the_work_of_the_corners(freedoms, rng):
    """Forces on corners and on nodes do the same work in any movement, the extra links' included."""
    n, k = 4, 3
    force, moves = rng.standard_normal((n, k, freedoms, 2)), rng.standard_normal((n, k, 6, 2))
    offsets, extra = rng.standard_normal((n, k, 3)), rng.standard_normal((n, k, 3, 3))
    at_corners = (corner_displacements(moves, offsets, freedoms, extra) * force).sum(axis=2)
    at_nodes = (moves * node_forces(force, offsets, freedoms, extra)).sum(axis=2)
    assert_allclose(at_nodes, at_corners, rtol=1e-12, atol=1e-12)
