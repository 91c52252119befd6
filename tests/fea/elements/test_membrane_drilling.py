"""Quadrilateral membranes with rotations: rigid motion, rank, patch, invariance, bending."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.elements import membrane
from fea.elements.faults import DegenerateElement
from fea.elements.membrane import plane_stress
from fea.elements.membrane_drilling import DrillingMembranes, stresses, unit_stiffness

WOOD = plane_stress(np.array([3740e6]), np.array([172e6]), np.array([202e6]), np.array([0.229]))
GRAIN = np.array([[0.8, 0.5, 0.1]])
SHAPES = {
    "square": [[0, 0], [1, 0], [1, 1], [0, 1]],
    "leaning": [[0, 0], [2, 0], [2.5, 0.5], [0.5, 0.5]],
    "any": [[0, 0], [1.3, 0.1], [1.1, 0.9], [-0.2, 0.6]],
}


def _turn() -> np.ndarray:
    axis, angle = np.array([0.3, -0.5, 0.8]) / np.sqrt(0.98), 0.9
    k = np.cross(np.eye(3), axis)
    return np.eye(3) + np.sin(angle) * k + (1 - np.cos(angle)) * k @ k


def _corners(shape: str) -> np.ndarray:
    flat = np.concatenate([np.array(SHAPES[shape]), np.zeros((4, 1))], axis=1)
    return (0.04 * flat @ _turn().T)[None] + [0.3, -0.2, 0.1]


@pytest.mark.parametrize("shape", SHAPES)
def test_rank_symmetry_and_rigid_motion(shape: str) -> None:
    corners = _corners(shape)
    stiff = unit_stiffness(corners, WOOD, GRAIN)[0]
    size = np.abs(stiff).max()
    assert_allclose(stiff, stiff.T, atol=1e-12 * size)
    for k in range(3):
        rigid = np.zeros((4, 6))
        rigid[:, k] = 1.0
        assert_allclose(stiff @ rigid.ravel(), 0, atol=1e-10 * size)
        rigid = np.zeros((4, 6))
        rigid[:, :3], rigid[:, 3 + k] = np.cross(np.eye(3)[k], corners[0]), 1.0
        assert_allclose(stiff @ rigid.ravel(), 0, atol=1e-10 * size)
    scale = 1 / np.sqrt(np.where(np.diag(stiff) > 0, np.diag(stiff), 1))
    values = np.linalg.eigvalsh(stiff * scale[:, None] * scale)
    # 24 unknowns; 15 motions in the plane's normal, about axes in it, and rigid ones in it cost nothing.
    assert (values > -1e-10).all()
    assert (values > 1e-6).sum() == 9


@pytest.mark.parametrize("shape", SHAPES)
def test_constant_strain_is_exact(shape: str) -> None:
    corners, turn = _corners(shape), _turn()
    gradient = turn @ np.array([[1.0, 0.3, 0], [-0.6, 0.4, 0], [0, 0, 0]]) @ turn.T * 1e-3
    moves = np.zeros((1, 4, 6))
    moves[0, :, :3] = corners[0] @ gradient.T
    moves[0, :, 3:] = turn[:, 2] * (-0.6 - 0.3) / 2 * 1e-3
    points = np.array([[0, 0], [-1, 1], [0.7, 0.2]])
    found = stresses(corners, moves, WOOD, GRAIN, points)[0]
    axes = membrane.element_axes(corners, GRAIN)[0]
    strain = axes @ (gradient + gradient.T) / 2 @ axes.T
    expected = WOOD[0] @ [strain[0, 0], strain[1, 1], 2 * strain[0, 1]]
    # Rounding of two solves.
    assert_allclose(found, np.tile(expected, (3, 1)), rtol=1e-10)
    work = moves.ravel() @ unit_stiffness(corners, WOOD, GRAIN)[0] @ moves.ravel()
    area = membrane.areas(corners)[0]
    assert_allclose(work, expected @ np.linalg.solve(WOOD[0], expected) * area, rtol=1e-10)


def test_numbering_changes_nothing() -> None:
    corners = _corners("any")
    stiff = unit_stiffness(corners, WOOD, GRAIN)[0].reshape(4, 6, 4, 6)
    rolled = unit_stiffness(np.roll(corners, -1, axis=1), WOOD, GRAIN)[0].reshape(4, 6, 4, 6)
    back = np.roll(np.roll(rolled, 1, axis=0), 1, axis=2)
    assert_allclose(back, stiff, atol=1e-12 * np.abs(stiff).max())


def test_turning_the_axes_turns_the_answer() -> None:
    corners, turn = _corners("any"), _turn()
    stiff = unit_stiffness(corners, WOOD, GRAIN)[0].reshape(8, 3, 8, 3)
    turned = unit_stiffness(corners @ turn.T, WOOD, GRAIN @ turn.T)[0].reshape(8, 3, 8, 3)
    expected = np.einsum("ij,ajbk,lk->aibl", turn, stiff, turn)
    assert_allclose(turned, expected, atol=1e-12 * np.abs(stiff).max())


def test_pure_bending_of_a_rectangle_is_exact_along_the_grain() -> None:
    # Without Poisson's ratio, whose shortening along the upright edges the element's edges do not follow.
    wood = plane_stress(np.array([3740e6]), np.array([172e6]), np.array([202e6]), np.array([0.0]))
    length, depth, curvature = 0.05, 0.01, 0.4
    corners = np.array([[[0, 0, 0], [length, 0, 0], [length, depth, 0], [0, depth, 0]]]) - [0, depth / 2, 0]
    grain = np.array([[1.0, 0, 0]])
    moves = np.zeros((1, 4, 6))
    x, y = corners[0, :, 0], corners[0, :, 1]
    # The exact shape at the corners: u = k x y, v = -k x^2/2, turn -k x.
    moves[0, :, 0], moves[0, :, 1], moves[0, :, 5] = curvature * x * y, -curvature * x**2 / 2, -curvature * x
    work = moves.ravel() @ unit_stiffness(corners, wood, grain)[0] @ moves.ravel()
    # int E (k y)^2 dA
    assert_allclose(work, 3740e6 * curvature**2 * length * depth**3 / 12, rtol=1e-10)
    edge = stresses(corners, moves, wood, grain, np.array([[0.0, 1.0]]))[0, 0]
    assert_allclose(edge, [3740e6 * curvature * depth / 2, 0, 0], rtol=1e-10, atol=1e-3)


def test_block_stands_beside_the_plain_membrane() -> None:
    corners = np.concatenate([_corners(shape) for shape in SHAPES])
    n = len(corners)
    made = DrillingMembranes(
        np.arange(4 * n).reshape(n, 4),
        np.full(n, 0.002),
        np.repeat(WOOD, n, axis=0),
        np.repeat(GRAIN, n, axis=0),
        density=np.full(n, 160.0),
    )
    assert_allclose(made.mass(corners).sum(), 3 * 160 * 0.002 * membrane.areas(corners).sum(), rtol=1e-12)
    moves = np.random.default_rng(20719).standard_normal((n, 4, 6, 2)) * 1e-5
    both = made.recover(corners, moves)["stress"]
    one = made.recover(corners, moves[..., 1])["stress"]
    assert both.shape == (n, 3, 2)
    assert_allclose(both[..., 1], one, rtol=1e-10)
    stressed = made.geometric_stiffness(corners, {"stress": one}).reshape(n, 4, 6, 4, 6)
    plain = membrane.geometric_stiffness(corners, 0.002 * one, made.grain).reshape(n, 4, 3, 4, 3)
    assert_allclose(stressed[:, :, :3, :, :3], plain)
    assert not stressed[:, :, 3:].any()


def test_corner_turned_inside_out_is_refused() -> None:
    corners = _corners("square")[:, [0, 2, 1, 3]]
    with pytest.raises(DegenerateElement):
        unit_stiffness(corners, WOOD, GRAIN)
