"""Shear panel: equilibrium in any shape, closed-form energy, tapered and constant webs by hand."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.elements import shear_panel
from fea.elements.faults import DegenerateElement

RNG = np.random.default_rng(51973)
SHAPES = {
    "rectangle": [[0, 0, 0], [3, 0, 0], [3, 2, 0], [0, 2, 0]],
    "trapezoid": [[0, -1, 0], [4, -0.5, 0], [4, 0.5, 0], [0, 1, 0]],
    "parallelogram": [[0, 0, 0], [3, 0.5, 0], [4, 2, 0], [1, 1.5, 0]],
    "general": [[0, 0, 0], [5, 0.3, 0], [4, 3, 0], [-0.5, 2, 0]],
    "warped": [[0, 0, 0.1], [5, 0.3, -0.1], [4, 3, 0.2], [-0.5, 2, -0.15]],
}
SHEAR_MODULUS = 2.0


def turn() -> np.ndarray:
    axes = np.linalg.qr(RNG.normal(size=(3, 3)))[0]
    return axes * np.linalg.det(axes)


def panels() -> np.ndarray:
    return np.array(list(SHAPES.values()), dtype=float) @ turn().T + RNG.normal(size=3)


def stiffness(corners: np.ndarray) -> np.ndarray:
    return shear_panel.unit_stiffness(corners, np.full(len(corners), SHEAR_MODULUS))


def rigid_motions(corners: np.ndarray) -> np.ndarray:
    """(6, 12) displacements of one panel."""
    moves = [np.tile(direction, 4) for direction in np.eye(3)]
    return np.array(moves + [np.cross(direction, corners).ravel() for direction in np.eye(3)])


def test_rigid_motions_meet_no_force_and_rank_is_one():
    quads = panels()
    for corners, matrix in zip(quads, stiffness(quads)):
        size = np.abs(matrix).max()
        assert_allclose(matrix, matrix.T, rtol=0, atol=1e-15 * size)
        forces = rigid_motions(corners) @ matrix
        assert_allclose(forces, 0, atol=1e-12 * size * np.abs(corners).max())
        values = np.linalg.eigvalsh(matrix)
        assert values[-1] > 0
        assert_allclose(values[:-1], 0, atol=1e-13 * values[-1])


def test_rectangle_against_the_textbook():
    """Rectangle a x b in shear gamma: energy G a b t gamma^2/2, flow G t gamma (any text on strength)."""
    corners = np.array([SHAPES["rectangle"]], dtype=float)
    gamma, thickness = 1e-3, 0.7
    displacements = np.zeros((1, 4, 3))
    displacements[..., 0] = gamma * corners[..., 1]
    displacements = displacements.reshape(1, 12)
    matrix = stiffness(corners)[0] * thickness
    assert_allclose(
        displacements[0] @ matrix @ displacements[0], SHEAR_MODULUS * thickness * 6 * gamma**2, rtol=1e-13
    )
    flows = shear_panel.edge_flows(corners, displacements, np.array([SHEAR_MODULUS]), np.array([thickness]))
    assert_allclose(flows, SHEAR_MODULUS * thickness * gamma, rtol=1e-13)


def test_edge_forces_balance_as_a_set():
    """Mean flow x edge vector: no resultant and no moment, for every plane shape."""
    corners = np.array([SHAPES[name] for name in SHAPES if name != "warped"], dtype=float)
    flows = some_flows(corners)
    edges = np.roll(corners, -1, axis=1) - corners
    forces = flows[:, :, None] * edges * np.array([-1, 1, -1, 1])[:, None]
    size = np.abs(forces).max()
    assert_allclose(forces.sum(axis=1), 0, atol=1e-14 * size)
    assert_allclose(np.cross(corners, forces).sum(axis=1), 0, atol=1e-14 * size * 5)
    assert_allclose(flows[:, 0] * flows[:, 2], flows[:, 1] * flows[:, 3], rtol=1e-13)


def some_flows(corners: np.ndarray) -> np.ndarray:
    ones = np.ones(len(corners))
    displacements = np.tile(np.array([0.1, 0.2, 0, -0.3, 0, 0, 0.5, 0.4, 0, 0, -0.2, 0]), (len(corners), 1))
    return shear_panel.edge_flows(corners, displacements, SHEAR_MODULUS * ones, ones)


def test_corner_forces_are_in_equilibrium_even_when_warped():
    corners = panels()
    forces = (stiffness(corners) @ RNG.normal(size=12)).reshape(-1, 4, 3)
    size = np.abs(forces).max()
    assert_allclose(forces.sum(axis=1), 0, atol=1e-13 * size)
    assert_allclose(np.cross(corners, forces).sum(axis=1), 0, atol=1e-13 * size * np.abs(corners).max())


def test_energy_is_the_integral_of_the_flow():
    """q^2/2Gt summed over a fine grid of triangles by their centroids against the closed form q0^2 A/2Gt."""
    corners = np.array([SHAPES["general"]], dtype=float)
    flows = some_flows(corners)
    n = 300
    xi, eta = np.meshgrid(*(2 * [(np.arange(n) + 0.5) / n]), indexing="ij")
    p1, p2, p3, p4 = corners[0, :, :2]
    xy = ((1 - xi) * (1 - eta))[..., None] * p1 + (xi * (1 - eta))[..., None] * p2
    xy = xy + (xi * eta)[..., None] * p3 + ((1 - xi) * eta)[..., None] * p4
    by_xi = (1 - eta)[..., None] * (p2 - p1) + eta[..., None] * (p3 - p4)
    by_eta = (1 - xi)[..., None] * (p4 - p1) + xi[..., None] * (p3 - p2)
    area = (by_xi[..., 0] * by_eta[..., 1] - by_xi[..., 1] * by_eta[..., 0]) / n**2
    points = np.concatenate([xy.reshape(1, -1, 2), np.zeros((1, n * n, 1))], axis=2)
    flow = shear_panel.flow_at(corners, flows, points)[0]
    assert_allclose((flow**2 * area.ravel()).sum(), flows[0, 0] * flows[0, 2] * area.sum(), rtol=1e-5)


@pytest.mark.parametrize("shape", ["trapezoid", "general"])
def test_flow_along_an_edge_has_the_mean_of_the_edge(shape):
    corners = np.array([SHAPES[shape]], dtype=float)
    flows = some_flows(corners)
    nodes, weights = np.polynomial.legendre.leggauss(20)
    for edge in range(4):
        start, end = corners[0, edge], corners[0, (edge + 1) % 4]
        points = start + (nodes[:, None] + 1) / 2 * (end - start)
        mean = shear_panel.flow_at(corners, flows, points[None])[0] @ weights / 2
        assert_allclose(mean, flows[0, edge], rtol=1e-12)


def test_turned_axes_turn_the_answer():
    corners, axes = panels(), turn()
    twelve = np.kron(np.eye(4), axes)
    turned = stiffness(corners @ axes.T)
    assert_allclose(turned, twelve @ stiffness(corners) @ twelve.T, atol=1e-13 * np.abs(turned).max())


@pytest.mark.parametrize("order", [[1, 2, 3, 0], [2, 3, 0, 1], [0, 3, 2, 1]])
def test_renumbering_changes_nothing(order):
    corners = panels()
    unknowns = (3 * np.array(order)[:, None] + np.arange(3)).ravel()
    expected = stiffness(corners)[:, unknowns][:, :, unknowns]
    assert_allclose(stiffness(corners[:, order]), expected, atol=1e-13 * np.abs(expected).max())


def test_slight_taper_joins_the_rectangle_smoothly():
    """The share of the ends comes from a series near a parallel edge and from logarithms away from it."""
    taper = 1 + np.array([0.0999999999, 0.1000000001, -0.0999999999, -0.1000000001])
    share = shear_panel._share_of_second_end(taper)
    nodes, weights = np.polynomial.legendre.leggauss(30)
    s = (nodes + 1) / 2
    flow = 1 / (1 + (taper[:, None] - 1) * s) ** 2
    assert_allclose(share, (flow * s) @ weights / (flow @ weights), rtol=1e-13)


def test_tilting_turns_the_corner_forces():
    """N is in equilibrium, so the geometric stiffness times a tilt equals the corner forces turned by it."""
    corners = panels()[:4]
    displacements = RNG.normal(size=12)
    forces = (stiffness(corners) @ displacements).reshape(-1, 4, 3)
    ones = np.ones(len(corners))
    flows = shear_panel.edge_flows(
        corners, np.tile(displacements, (len(corners), 1)), SHEAR_MODULUS * ones, ones
    )
    matrices = shear_panel.geometric_stiffness(corners, flows)
    for quad, force, matrix in zip(corners, forces, matrices):
        normal = np.cross(quad[2] - quad[0], quad[3] - quad[1])
        normal /= np.linalg.norm(normal)
        axis = RNG.normal(size=3)
        answer = (matrix @ np.cross(axis, quad).ravel()).reshape(4, 3) @ normal
        assert_allclose(answer, np.cross(axis, force) @ normal, atol=1e-12 * np.abs(force).max())
        assert_allclose(matrix, matrix.T, atol=1e-14 * np.abs(matrix).max())
        assert_allclose(matrix @ np.tile(normal, 4), 0, atol=1e-13 * np.abs(matrix).max())


def test_geometric_stiffness_of_a_rectangle():
    """Bilinear w = x y/(a b) under flow q: 2 q integral w_x w_y = 2 q/(a b)^2 a^2 b^2/4 = q/2."""
    corners = np.array([SHAPES["rectangle"]], dtype=float)
    matrix = shear_panel.geometric_stiffness(corners, np.full((1, 4), 7.0))[0]
    displacement = np.zeros(12)
    displacement[8] = 1
    assert_allclose(displacement @ matrix @ displacement, 3.5, rtol=1e-13)


def cantilever(n_panels, depth_tip, depth_root, length, counts_edges):
    """Deflection and flows of a web between two bar flanges and posts at the stations; tip force 100 N down.

    Units N and mm, x from the tip; flange area 60, E 10 000, G 600.
    """
    area_modulus, shear_modulus, thickness = 6e5, 600.0, 1.0 if depth_tip != depth_root else 0.8
    stations = np.linspace(0, length, n_panels + 1)
    depth = depth_tip + (depth_root - depth_tip) * stations / length
    lower = np.stack([stations, -depth / 2, 0 * depth], axis=1)
    nodes = np.concatenate([lower, lower * [1, -1, 1]])
    k = np.arange(n_panels)
    up = n_panels + 1
    quads = np.stack([k, k + 1, up + k + 1, up + k], axis=1)
    corners, ones = nodes[quads], np.ones(n_panels)
    rigid = np.inf
    rigidity = np.tile([area_modulus, rigid, area_modulus, rigid], (n_panels, 1))
    if counts_edges:
        webs = shear_panel.stiffness_with_edges(corners, shear_modulus * ones, thickness * ones, rigidity)
    else:
        webs = thickness * shear_panel.unit_stiffness(corners, shear_modulus * ones)
    matrix = np.zeros((3 * len(nodes),) * 2)
    for quad, web in zip(quads, webs):
        unknowns = (3 * quad[:, None] + np.arange(3)).ravel()
        matrix[np.ix_(unknowns, unknowns)] += web
    flanges = [(i, i + 1, area_modulus) for i in k] + [(up + i, up + i + 1, area_modulus) for i in k]
    for i, j, rigidity_of_bar in flanges + [(i, up + i, area_modulus) for i in range(up)]:
        span = nodes[j] - nodes[i]
        stretch = np.concatenate([-span, span]) / np.linalg.norm(span)
        unknowns = np.r_[3 * i : 3 * i + 3, 3 * j : 3 * j + 3]
        stiffness_of_bar = rigidity_of_bar / np.linalg.norm(span)
        matrix[np.ix_(unknowns, unknowns)] += stiffness_of_bar * np.outer(stretch, stretch)
    free = np.ones((len(nodes), 3), dtype=bool)
    free[:, 2] = False
    free[[n_panels, up + n_panels]] = False
    free = free.ravel()
    load = np.zeros((len(nodes), 3))
    load[[0, up], 1] = -50
    displacements = np.zeros(len(free))
    displacements[free] = np.linalg.solve(matrix[np.ix_(free, free)], load.ravel()[free])
    corner_displacements = displacements.reshape(-1, 3)[quads].reshape(n_panels, 12)
    if counts_edges:
        return -displacements[1], None, depth
    flows = shear_panel.edge_flows(corners, corner_displacements, shear_modulus * ones, thickness * ones)
    return -displacements[1], flows, depth


@pytest.mark.parametrize("n_panels", [1, 3, 8])
def test_flows_of_a_tapered_web(n_panels):
    """Straight symmetric flanges, force P at the tip: q = P h_t/h^2; means P h_t/(h_a h_b) along the flanges.

    Moment equilibrium, by hand: the flanges carry P x/h along x, the web what their slope leaves (Wagner;
    from memory).
    """
    _, flows, depth = cantilever(n_panels, 50, 100, 400, counts_edges=False)
    inner, outer = depth[:-1], depth[1:]
    expected = 100 * 50 / np.stack([inner * outer, outer**2, inner * outer, inner**2], axis=1)
    assert_allclose(np.abs(flows), expected, rtol=1e-8)


def test_flow_inside_a_tapered_web():
    """2.0000, 0.88889, 0.50000 N/mm at tip, middle and root (same calculation) from a single panel."""
    _, flows, _ = cantilever(1, 50, 100, 400, counts_edges=False)
    corners = np.array([[[0, -25, 0], [400, -50, 0], [400, 50, 0], [0, 25, 0]]], dtype=float)
    points = np.array([[[0, 3, 0], [200, -20, 0], [400, 0, 0]]], dtype=float)
    found = np.abs(shear_panel.flow_at(corners, flows, points))
    assert_allclose(found, [[2, 8 / 9, 0.5]], rtol=1e-8)


def tapered_deflections():
    """Web and flange parts of the tip deflection by the unit-load method, h = h_t + k x."""
    p, tip, root, length = 100, 50, 100, 400
    k = (root - tip) / length
    web = p * length * (1 / tip**2 - 1 / root**2) * tip**2 / (2 * 600 * (root - tip))
    integral = (root - tip - 2 * tip * np.log(root / tip) - tip**2 * (1 / root - 1 / tip)) / k**3
    slope = k / 2
    flanges = 2 * p * integral * (1 + slope**2) ** 1.5 / 6e5
    return web, flanges


def test_deflection_of_a_tapered_web():
    web, flanges = tapered_deflections()
    assert_allclose([web, flanges], [0.5, 0.975979], rtol=1e-6)
    for n_panels in (1, 4):
        exact, _, _ = cantilever(n_panels, 50, 100, 400, counts_edges=True)
        assert_allclose(exact, web + flanges, rtol=1e-7)
    errors = [1 - cantilever(n, 50, 100, 400, counts_edges=False)[0] / (web + flanges) for n in (4, 8, 16)]
    assert_allclose(np.log2(errors[0] / errors[1]), 2, atol=0.1)
    assert_allclose(np.log2(errors[1] / errors[2]), 2, atol=0.1)
    assert errors[2] < 1.1e-3


@pytest.mark.parametrize("n_panels", [1, 2, 5])
def test_constant_web_between_bar_flanges(n_panels):
    """2 P L^3/(3 E A h^2) + P L/(G t h) = 5.76 + 2.5 mm (Kuhn, Megson; from memory).

    Flanges of constant force lose 1/(4 n^2) of their part, by summing the squares of the mid-panel forces.
    """
    stepped, flows, _ = cantilever(n_panels, 30, 30, 360, counts_edges=False)
    assert_allclose(stepped, 5.76 * (1 - 1 / (4 * n_panels**2)) + 2.5, rtol=1e-7)
    assert_allclose(np.abs(flows), 100 / 30, rtol=1e-9)
    exact, _, _ = cantilever(n_panels, 30, 30, 360, counts_edges=True)
    assert_allclose(exact, 8.26, rtol=1e-7)


@pytest.mark.parametrize(
    "bad",
    [
        [[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0]],
        [[0, 0, 0], [1, 0, 0], [0.2, 0.2, 0], [0, 1, 0]],
        [[0, 0, 0], [1, 0, 0], [1, 0, 0], [0, 1, 0]],
        [[0, 0, 0], [1, 0, 0], [2, 0, 0], [3, 0, 0]],
    ],
)
def test_what_is_no_convex_quadrilateral_is_named(bad):
    corners = np.array([SHAPES["general"], bad], dtype=float)
    with pytest.raises(DegenerateElement) as error:
        stiffness(corners)
    assert error.value.elements.tolist() == [1]


def test_nearly_triangular_panel_is_still_taken():
    corners = np.array([[[0, 0, 0], [1, 0, 0], [0.50001, 0.50001, 0], [0, 1, 0]]])
    assert np.isfinite(stiffness(corners)).all()


def test_inputs_are_left_alone():
    corners = panels()
    before = corners.copy()
    stiffness(corners)
    shear_panel.geometric_stiffness(corners, np.ones((len(corners), 4)))
    assert (corners == before).all()
