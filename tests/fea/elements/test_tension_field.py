"""Films that cannot be pushed: Mohr's circle, Wagner's field between stiff edges, and what always holds."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from fea.elements.membrane import Membranes, forces_at_corners, plane_stress
from fea.elements.tension_field import factor_to, principal, relaxed

T, E, NU, N0 = 25e-6, 4.5e9, 0.38, 100.0
FILM = T * plane_stress(np.array(E), np.array(E), np.array(E / 2 / (1 + NU)), np.array(NU))


def _strain(gamma, n_x=N0, n_y=N0):
    still = np.linalg.solve(FILM, np.array([n_x, n_y, 0.0]))
    return still + np.array([0.0, 0.0, 1.0]) * np.atleast_1d(gamma)[:, None]


def _film(strain):
    return relaxed(strain, np.broadcast_to(FILM, (len(strain), 3, 3)))


def test_square_frame_of_line_13():
    """G t, where it begins to wrinkle, and the slope E t/4 beyond (Wagner between stiff edges)."""
    assert_allclose(FILM[2, 2], 40.76e3, rtol=1e-4)
    gamma_w = N0 / FILM[2, 2]
    assert_allclose(gamma_w, 0.002453, rtol=2e-4)
    gamma = np.array([0.5, 1.0, 0.005 / gamma_w, 4.0]) * gamma_w
    found = _film(_strain(gamma))
    assert_allclose(found[:2, 2], FILM[2, 2] * gamma[:2], rtol=1e-6)
    eps0 = N0 * (1 - NU) / (E * T)
    tension = E * T * (eps0 + gamma[2:] / 2)
    assert_allclose(found[2:, 2], tension / 2, rtol=1e-6)
    assert_allclose(found[2:, :2], found[2:, 2:].repeat(2, axis=1), rtol=1e-5)  # the pull each way is q
    assert_allclose(found[2, 2], 171.6, rtol=1e-3)
    slope = (found[3, 2] - found[2, 2]) / (gamma[3] - gamma[2])
    assert_allclose(slope, FILM[2, 2] * (1 + NU) / 2, rtol=1e-6)


def test_pure_shear_goes_slack_at_the_mean_of_the_tensions(rng):
    n_x, n_y = rng.uniform(10, 200, (2, 50))
    start = np.stack([n_x, n_y, 0 * n_x], axis=1)
    change = np.tile([0.0, 0.0, 1.0], (50, 1))
    assert_allclose(factor_to(start, change), np.sqrt(n_x * n_y), rtol=1e-12)
    assert_allclose(factor_to(start, -change), np.sqrt(n_x * n_y), rtol=1e-12)


def test_factor_stands_on_mohrs_circle(rng):
    """At the factor the lesser principal force is zero and before it positive, for any change."""
    start = np.stack([*rng.uniform(50, 150, (2, 400)), rng.uniform(-40, 40, 400)], axis=1)
    change = rng.standard_normal((400, 3)) * 10.0 ** rng.uniform(-3, 3, (400, 1))
    k = factor_to(start, change)
    there = np.isfinite(k)
    assert there.mean() > 0.8
    at = start[there] + k[there, None] * change[there]
    assert np.abs(principal(at)[1]).max() <= 1e-9 * np.abs(at).max()
    for share in (0.2, 0.7, 0.999):
        assert (principal(start[there] + share * k[there, None] * change[there])[1] > 0).all()
    far = start[~there] + 1e4 * change[~there]
    assert (principal(far)[1] >= 0).all()
    torn = factor_to(start, change, 500.0)
    torn_at = start + np.where(np.isfinite(torn), torn, 0.0)[:, None] * change
    assert (principal(torn_at)[0] <= 500 * (1 + 1e-9)).all()


def test_film_never_pushes_and_turns_with_its_axes(rng):
    strain = rng.standard_normal((300, 3)) * 1e-3
    forces = _film(strain)
    assert (principal(forces)[1] >= -1e-6 * np.abs(forces).max()).all()
    # Turned by an angle, the same film gives the same forces turned.
    c, s = np.cos(0.4), np.sin(0.4)
    turn = np.array([[c * c, s * s, 2 * c * s], [s * s, c * c, -2 * c * s], [-c * s, c * s, c * c - s * s]])
    of_strain = turn.copy()
    of_strain[:2, 2] /= 2
    of_strain[2, :2] *= 2
    assert_allclose(_film(strain @ of_strain.T), forces @ turn.T, atol=2e-5 * np.abs(forces).max())


def test_relaxed_forces_are_the_slope_of_an_energy(rng):
    """Path independence and monotony: of a convex energy, so that any iteration has one answer."""
    ortho = np.tile(T * plane_stress(*(np.array(v) for v in (4e9, 2e9, 1e9, 0.3))), (200, 1, 1))
    one, two = rng.standard_normal((2, 200, 3)) * 1e-3
    step = ((relaxed(one, ortho) - relaxed(two, ortho)) * (one - two)).sum(axis=1)
    assert (step >= -1e-9 * np.abs(step).max()).all()


def test_one_way_cloth_pulls_along_its_thread():
    strain = np.array([[1e-3, -1e-3, 0.0]])
    assert_allclose(_film(strain)[0], [E * T * 1e-3, 0, 0], atol=1e-5 * E * T * 1e-3)
    assert not _film(np.array([[-1e-3, -2e-3, 0.0]])).any()


def test_forces_at_corners_do_the_work_of_the_forces(rng, make_quads, rotation):
    corners = make_quads(rng, 5, rotation)
    grain = corners[:, 1] - corners[:, 0]
    block = Membranes(np.arange(20).reshape(5, 4), np.ones(5), np.tile(FILM, (5, 1, 1)), grain)
    moves = rng.standard_normal((5, 4, 3))
    forces = rng.standard_normal((5, 3))
    strain = np.linalg.solve(FILM, block.recover(corners, moves)["stress"][..., None])[..., 0]
    held = forces_at_corners(corners, forces, grain)
    area = np.linalg.norm(np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1]), axis=1) / 2
    assert_allclose((held * moves).sum(axis=(1, 2)), area * (strain * forces).sum(axis=1), rtol=1e-9)
    assert_allclose(held.sum(axis=1), 0, atol=1e-12)
