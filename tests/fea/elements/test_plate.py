"""Thin quadrilateral plates: constant curvature on distorted patches, strips, Navier's series,
convergence."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import rigid_motions
from fea.elements import plate
from fea.elements.faults import NonPositiveRigidity
from fea.elements.membrane import plane_stress
from fea.elements.plate import Plates
from fea.solve import statics
from fea.structure import Loads, Structure, Supports

PATCH_NODES = np.array(
    [[0, 0], [0.24, 0], [0.24, 0.12], [0, 0.12], [0.04, 0.02], [0.18, 0.03], [0.16, 0.08], [0.08, 0.08]]
)
PATCH = np.array([[0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7], [4, 5, 6, 7]])


def _plates(quads, constitutive, thickness, grain):
    n = len(quads)
    return Plates(
        quads, np.full(n, thickness), np.broadcast_to(constitutive, (n, 3, 3)).copy(), np.tile(grain, (n, 1))
    )


def _grid(n_x, n_y, a, b):
    x, y = np.meshgrid(np.linspace(0, a, n_x + 1), np.linspace(0, b, n_y + 1), indexing="ij")
    i, j = np.meshgrid(np.arange(n_x), np.arange(n_y), indexing="ij")
    first = (i * (n_y + 1) + j).ravel()
    nodes = np.column_stack([x.ravel(), y.ravel(), 0 * x.ravel()])
    return nodes, np.stack([first, first + n_y + 1, first + n_y + 2, first + 1], axis=1)


@pytest.mark.parametrize("angle", [0.0, 35.0])
def test_constant_curvature_patch(angle, rotation, wood):
    """w = quadratic on the border of a distorted patch: inner nodes and moments exact to 1e-10, turned in
    space too.
    """
    curvature = np.array([[0.3, -0.1], [-0.1, 0.5]])  # w = x' c x / 2
    thickness = 2e-3
    w = np.einsum("ni,ij,nj->n", PATCH_NODES, curvature, PATCH_NODES) / 2
    slope = PATCH_NODES @ curvature
    exact = np.zeros((8, 6))
    exact[:, 2], exact[:, 3], exact[:, 4] = w, slope[:, 1], -slope[:, 0]
    turned = np.concatenate([exact[:, :3] @ rotation.T, exact[:, 3:] @ rotation.T], axis=1)
    radians = np.deg2rad(angle)
    grain = np.array([np.cos(radians), np.sin(radians), 0])
    axes = np.tile(rotation.T, (8, 1))  # rows: the plate's x, y, normal at each node in turn
    node, which = np.repeat(np.arange(8), 3), np.tile(np.arange(3), 8)
    border = node < 4
    flat_move, flat_turn = exact[node, which], exact[node, which + 3]
    held_moves = border | (which < 2)  # in the plane a plate resists nothing
    held_turns = border | (which == 2)
    supports = Supports(
        np.concatenate([node[held_moves], node[held_turns]]),
        np.repeat([False, True], [held_moves.sum(), held_turns.sum()]),
        np.concatenate([axes[held_moves], axes[held_turns]]),
        np.concatenate([flat_move[held_moves], flat_turn[held_turns]]),
    )
    structure = Structure(
        np.column_stack([PATCH_NODES, np.zeros(8)]) @ rotation.T,
        {"plate": _plates(PATCH, wood, thickness, rotation @ grain)},
        supports,
    )
    solution = statics(structure, Loads.zero(structure))
    assert_allclose(solution.displacements[:, :, 0], turned, rtol=1e-10, atol=1e-10 * np.abs(turned).max())
    turn = np.array([[np.cos(radians), np.sin(radians)], [-np.sin(radians), np.cos(radians)]])
    along = turn @ curvature @ turn.T
    # Movement along the normal w curves the face by -w'': stress z E kappa.
    expected = -wood * thickness**3 / 12 @ [along[0, 0], along[1, 1], 2 * along[0, 1]]
    found = solution.recover(0)["plate"]["moment"]
    assert_allclose(found, np.tile(expected, (5, 1)), rtol=1e-9, atol=1e-10 * np.abs(expected).max())


def test_cantilever_strip_without_side_contraction():
    """One element, nu = 0: P L^3/3EI exactly, and with both ends kept from turning P L^3/12EI (the S of a
    web).
    """
    nodes, quads = _grid(1, 1, 0.05, 0.02)
    e, t, force = 4e9, 1.5e-3, 0.4
    block = _plates(quads, np.diag([e, 1e-6 * e, e / 2]), t, [1, 0, 0])
    ei = e * 0.02 * t**3 / 12
    tip = np.array([2, 3])
    free = Structure(nodes, {"plate": block}, Supports.fixed([0, 1]) + Supports.fixed(tip, "X"))
    rows = [(k, (0, 0, force / 2)) for k in tip]
    assert_allclose(
        statics(free, Loads.forces(free, rows)).displacements[tip, 2, 0],
        force * 0.05**3 / (3 * ei),
        rtol=1e-9,
    )
    kept = Structure(nodes, {"plate": block}, Supports.fixed([0, 1]) + Supports.fixed(tip, "XY"))
    assert_allclose(
        statics(kept, Loads.forces(kept, rows)).displacements[tip, 2, 0],
        force * 0.05**3 / (12 * ei),
        rtol=1e-9,
    )


def _navier(constitutive, thickness, a, b, pressure):
    """Centre of a simply supported orthotropic plate: double sine series (Lekhnitskii, Anisotropic Plates,
    memory).
    """
    d = constitutive * thickness**3 / 12
    m, n = np.meshgrid(np.arange(1, 400, 2), np.arange(1, 400, 2), indexing="ij")
    alpha, beta = m * np.pi / a, n * np.pi / b
    stiff = d[0, 0] * alpha**4 + 2 * (d[0, 1] + 2 * d[2, 2]) * alpha**2 * beta**2 + d[1, 1] * beta**4
    sign = np.sin(m * np.pi / 2) * np.sin(n * np.pi / 2)
    return (16 * pressure / (np.pi**2 * m * n) / stiff * sign).sum()


def _simply_supported(n, constitutive, thickness, a, b, pressure):
    nodes, quads = _grid(n, n, a, b)
    x, y = nodes[:, 0], nodes[:, 1]
    on_x, on_y = (x == 0) | (x == x.max()), (y == 0) | (y == y.max())
    held = (
        Supports.fixed(np.flatnonzero(on_x | on_y), "z")
        + Supports.fixed(np.flatnonzero(on_x), "X")
        + Supports.fixed(np.flatnonzero(on_y), "Y")
    )
    structure = Structure(nodes, {"plate": _plates(quads, constitutive, thickness, [1, 0, 0])}, held)
    loads = np.zeros((len(nodes), 6, 1))
    np.add.at(loads[:, 2, 0], quads, pressure * a * b / n**2 / 4)
    solution = statics(structure, Loads(loads))
    return solution.displacements[np.argmin(np.hypot(x - a / 2, y - b / 2)), 2, 0]


def test_orthotropic_plate_against_navier(wood):
    """Balsa 22 times as stiff along the grain; error falls as h^2, below 1e-4 from 16 x 16 on."""
    args = (wood, 2e-3, 0.16, 0.06, 300.0)
    exact = _navier(*args)
    errors = [abs(_simply_supported(n, *args) / exact - 1) for n in (16, 32, 64)]
    assert errors[-1] < 1e-5
    slopes = -np.diff(np.log2(errors))
    # The sixteenth still carries a part of higher order, 2.19.
    assert_allclose(slopes, 2, atol=0.2)
    assert_allclose(slopes[-1], 2, atol=0.1)
    assert errors[0] < 1e-4


def test_moments_balance_the_corner_forces(rng, rotation, make_block):
    """Work of the moments at the four points on any curvature = work of K u."""
    from fea.elements import membrane

    block, corners = make_block("plate", rng, 5, rotation)
    moves, other = 1e-3 * rng.standard_normal((2, 5, 4, 6))
    points = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) / np.sqrt(3)
    rigidity = block.constitutive / 12
    moment = plate.moments(corners, moves, rigidity, block.grain, points)
    curvature = plate.moments(corners, other, np.tile(np.eye(3), (5, 1, 1)), block.grain, points)
    _, determinant = membrane.shape_gradients(
        membrane.in_plane(corners, membrane.element_axes(corners, block.grain)), points
    )
    work = np.einsum("ep,epi,epi->e", determinant, moment, curvature)
    k = block.unit_stiffness(corners)
    assert_allclose(
        work, np.einsum("ei,eij,ej->e", other.reshape(5, 24), k, moves.reshape(5, 24)), rtol=1e-10
    )


def test_a_sliver_with_straight_edges_moves_freely_as_a_rigid_body():
    # A web's plate in the stub outboard of a tip rib: 0.16 mm along the span, 60 mm high.
    corners = np.array([[[0.0, 0.0, 0.0], [0.0, 1.6e-4, 0.0], [0.0, 1.6e-4, 0.06], [0.0, 0.0, 0.06]]])
    plates = Plates(
        np.arange(4)[None],
        np.array([3.7e-3]),
        plane_stress(*(np.array([v]) for v in (9e9, 5e9, 7e8, 0.1))),
        np.array([[0.0, 1.0, 0.0]]),
        straight=np.array([[True, False, True, False]]),
    )
    stiff = plates.unit_stiffness(corners)[0]
    rigid = rigid_motions(corners[0])
    # The rounding left is that of the sliver's curvatures, squared once and not twice.
    assert np.abs(stiff @ rigid).max() < 1e-14 * np.abs(stiff).max()
    assert np.linalg.eigvalsh(stiff).min() > -1e-14 * np.abs(stiff).max()


def test_a_plate_that_would_give_energy_back_is_refused(wood):
    nodes, quads = _grid(2, 1, 0.2, 0.1)
    plates = _plates(quads, wood, 1e-3, [1.0, 0.0, 0.0])
    plates.constitutive[1, 1, 1] *= -1
    with pytest.raises(NonPositiveRigidity, match="plate 1: bending rigidity is not positive"):
        plates.unit_stiffness(nodes[quads])
