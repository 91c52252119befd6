"""Plate triangle: constant curvature, rigid motions, an orthotropic plate against Navier's series."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.elements import plate_triangle
from fea.elements.membrane_triangle import local_axes

RNG = np.random.default_rng(40961)
# D11, D22, D12, D66 of an orthotropic plate, N m.
RIGIDITY = np.array([[9.0, 0.4, 0], [0.4, 1.5, 0], [0, 0, 0.8]])
PATCH = np.array(
    [[0, 0], [0.24, 0], [0.24, 0.12], [0, 0.12], [0.04, 0.02], [0.18, 0.03], [0.16, 0.08], [0.08, 0.08]]
)
QUADS = [[0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7], [4, 5, 6, 7]]
TRIANGLES = np.array([t for a, b, c, d in QUADS for t in ([a, b, c], [a, c, d])])


def turned(matrix, angle):
    """The same plate with its material turned anticlockwise by the angle."""
    c, s = np.cos(angle), np.sin(angle)
    stress = np.array([[c * c, s * s, -2 * s * c], [s * s, c * c, 2 * s * c], [s * c, -s * c, c * c - s * s]])
    return stress @ matrix @ stress.T


def in_element_axes(corners, matrix):
    return np.array([turned(matrix, -np.arctan2(e1[1], e1[0])) for e1 in local_axes(corners)[:, 0]])


def flat(points):
    return np.concatenate([points, np.zeros((len(points), 1))], axis=1)


def assemble(matrices, triangles, n_nodes):
    whole = np.zeros((6 * n_nodes,) * 2)
    for nodes, matrix in zip(triangles, matrices):
        unknowns = (6 * nodes[:, None] + np.arange(6)).ravel()
        whole[np.ix_(unknowns, unknowns)] += matrix
    return whole


def solve(whole, free, given, load):
    answer = given.copy()
    answer[free] = np.linalg.solve(whole[np.ix_(free, free)], (load - whole @ given)[free])
    return answer


def random_triangles(n=6):
    return RNG.normal(size=(n, 3, 3)), np.array(
        [turned(RIGIDITY, angle) for angle in RNG.uniform(0, np.pi, n)]
    )


def test_rigid_motions_symmetry_and_rank():
    corners, rigidity = random_triangles()
    for triangle, matrix in zip(corners, plate_triangle.unit_stiffness(corners, rigidity)):
        size = np.abs(matrix).max()
        assert_allclose(matrix, matrix.T, rtol=0, atol=1e-15 * size)
        moves = [np.tile(np.r_[direction, 0, 0, 0], 3) for direction in np.eye(3)]
        moves += [
            np.column_stack([np.cross(axis, triangle), np.tile(axis, (3, 1))]).ravel() for axis in np.eye(3)
        ]
        assert_allclose(np.array(moves) @ matrix, 0, atol=1e-12 * size * max(1, np.abs(triangle).max()))
        values = np.linalg.eigvalsh(matrix)
        assert_allclose(values[:12], 0, atol=1e-13 * values[-1])
        assert values[12] > 1e-7 * values[-1]


@pytest.mark.parametrize("angle", [0, 0.5, 1.3])
def test_patch_of_constant_curvature(angle):
    """w = quadratic on the border of a distorted patch: inside exact, moments D times the curvature."""
    curvature = np.array([0.3, -0.5, 0.4])
    x, y = PATCH.T
    expected = np.zeros((len(PATCH), 6))
    expected[:, 2] = (
        -(curvature[0] * x**2 + curvature[1] * y**2 + curvature[2] * x * y) / 2 + 0.1 * x - 0.2 * y
    )
    expected[:, 3] = -(curvature[1] * y + curvature[2] * x / 2) - 0.2
    expected[:, 4] = curvature[0] * x + curvature[2] * y / 2 - 0.1
    corners = flat(PATCH)[TRIANGLES]
    rigidity = turned(RIGIDITY, angle)
    own = in_element_axes(corners, rigidity)
    whole = assemble(plate_triangle.unit_stiffness(corners, own), TRIANGLES, len(PATCH))
    free = np.zeros((len(PATCH), 6), dtype=bool)
    free[4:, 2:5] = True
    given = np.where(free, 0, expected).ravel()
    found = solve(whole, free.ravel(), given, np.zeros(given.size)).reshape(-1, 6)
    assert_allclose(found, expected, rtol=0, atol=1e-10 * np.abs(expected).max())
    moments = plate_triangle.moments(corners, found[TRIANGLES].reshape(-1, 18), own)
    m_x, m_y, m_xy = rigidity @ curvature
    for (e1, e2), moment in zip(local_axes(corners)[:, :2, :2], moments):
        tensor = np.array([[m_x, m_xy], [m_xy, m_y]])
        assert_allclose(
            moment,
            [e1 @ tensor @ e1, e2 @ tensor @ e2, e1 @ tensor @ e2],
            rtol=0,
            atol=1e-10 * np.abs(moments).max(),
        )


def test_sign_of_the_moment():
    """Bent so that the centre stands highest along the normal: the +e3 face is stretched, m1 positive."""
    corners = np.array([[[-1.0, 0, 0], [1, 0, 0], [0, 1, 0]]])
    motion = np.zeros((1, 3, 6))
    motion[0, :, 2] = -(corners[0, :, 0] ** 2) / 2
    motion[0, :, 4] = corners[0, :, 0]
    moments = plate_triangle.moments(corners, motion.reshape(1, 18), RIGIDITY[None])
    assert_allclose(moments, RIGIDITY[:1], rtol=1e-12, atol=1e-12)


def test_turned_axes_turn_the_answer():
    corners, rigidity = random_triangles()
    axes = np.linalg.qr(RNG.normal(size=(3, 3)))[0]
    axes *= np.linalg.det(axes)
    change = np.kron(np.eye(6), axes)
    matrix = plate_triangle.unit_stiffness(corners @ axes.T, rigidity)
    expected = change @ plate_triangle.unit_stiffness(corners, rigidity) @ change.T
    assert_allclose(matrix, expected, atol=1e-11 * np.abs(matrix).max())


@pytest.mark.parametrize("order", [[1, 2, 0], [2, 1, 0]])
def test_renumbering_changes_nothing(order):
    corners = flat(np.array([[0.0, 0], [3, 0.4], [1, 2]]))[None]
    rigidity = turned(RIGIDITY, 0.3)
    expected = plate_triangle.unit_stiffness(corners, in_element_axes(corners, rigidity))[0]
    again = corners[:, order]
    own = in_element_axes(again, rigidity)
    if local_axes(again)[0, 2, 2] < 0:
        own = own * np.array([[1, 1, -1], [1, 1, -1], [-1, -1, 1]])
    found = plate_triangle.unit_stiffness(again, own)[0]
    unknowns = (6 * np.array(order)[:, None] + np.arange(6)).ravel()
    assert_allclose(found, expected[np.ix_(unknowns, unknowns)], atol=1e-12 * np.abs(expected).max())


def test_energy_of_a_bent_strip():
    """Energy of constant curvature, D kappa^2/2 per area, twice (plate theory)."""
    length, width = 2.0, 0.5
    points = np.array([[0, 0], [length, 0], [length, width], [0, width]])
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    corners = flat(points)[triangles]
    rigidity = np.diag([3.0, 1.0, 0.5])
    whole = assemble(plate_triangle.unit_stiffness(corners, in_element_axes(corners, rigidity)), triangles, 4)
    curvature = 0.2
    motion = np.zeros((4, 6))
    motion[:, 2] = -curvature * points[:, 0] ** 2 / 2
    motion[:, 4] = curvature * points[:, 0]
    assert_allclose(motion.ravel() @ whole @ motion.ravel(), 3.0 * curvature**2 * length * width, rtol=1e-12)


def navier(a, b, pressure, rigidity, terms=199):
    """Centre of a simply supported orthotropic plate (Timoshenko, Woinowsky-Krieger; from memory)."""
    m, n = np.meshgrid(np.arange(1, terms + 1, 2), np.arange(1, terms + 1, 2), indexing="ij")
    mixed = rigidity[0, 1] + 2 * rigidity[2, 2]
    stiffness = (
        rigidity[0, 0] * (m / a) ** 4 + 2 * mixed * (m * n / (a * b)) ** 2 + rigidity[1, 1] * (n / b) ** 4
    )
    signs = (-1.0) ** ((m + n) / 2 - 1)
    return (16 * pressure / np.pi**6 * signs / (m * n * stiffness)).sum()


def plate_deflection(n, a, b, pressure):
    """Whole plate of n x n rectangles cut in two; a third of an element's load to each corner."""
    x, y = np.meshgrid(np.linspace(0, a, n + 1), np.linspace(0, b, n + 1), indexing="ij")
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    number = np.arange(len(points)).reshape(x.shape)
    p, q, r, s = number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]
    triangles = np.concatenate([np.stack([k.ravel() for k in t], axis=1) for t in ((p, q, r), (p, r, s))])
    corners = flat(points)[triangles]
    whole = assemble(
        plate_triangle.unit_stiffness(corners, in_element_axes(corners, RIGIDITY)), triangles, len(points)
    )
    free = np.zeros((len(points), 6), dtype=bool)
    free[:, 2:5] = True
    free[number[[0, -1]].ravel(), 2:4] = False
    free[number[:, [0, -1]].ravel(), 2] = False
    free[number[:, [0, -1]].ravel(), 4] = False
    load = np.zeros((len(points), 6))
    np.add.at(load[:, 2], triangles.ravel(), pressure * a * b / (2 * n * n) / 3)
    found = solve(whole, free.ravel(), np.zeros(load.size), load.ravel())
    return found.reshape(-1, 6)[number[n // 2, n // 2], 2]


def test_simply_supported_orthotropic_plate_converges():
    """Order 2 towards Navier's series; 1 % at 16 x 16."""
    exact = navier(1.2, 0.8, 5.0, RIGIDITY)
    errors = np.array([plate_deflection(n, 1.2, 0.8, 5.0) / exact - 1 for n in (4, 8, 16)])
    rates = np.log2(np.abs(errors[:-1] / errors[1:]))
    assert abs(errors[-1]) < 0.01
    assert_allclose(rates, 2, atol=0.15)
