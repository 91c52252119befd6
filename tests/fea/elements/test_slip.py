"""Panels that slip on what they hang on: balance, energy, and the shear lag of a panel with a free end."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly, rigid_motions
from fea.elements.membrane import plane_stress
from fea.elements.slip import SlippingMembranes
from fea.offsets import Bow
from fea.structure import Structure

HIGH, LONG, THICK, SHEAR = 0.02, 0.06, 2e-3, 150e6
HELD = 2e7  # N/m2
LAG = np.sqrt(SHEAR * THICK * HIGH / HELD)


def strip(n_pieces, end_held=0.0, turn=None, grain=0.0):
    """A panel on two members between x = 0 and LONG in n pieces; structure, and the two slip nodes."""
    turn = np.eye(3) if turn is None else turn
    x = np.linspace(0.0, LONG, n_pieces + 1)
    lower, upper = (np.stack([x, 0 * x, z + 0 * x], axis=1) for z in (0.0, HIGH))
    ends = np.array([[0.0, 0.0, HIGH / 2], [LONG, 0.0, HIGH / 2]])
    points = np.concatenate([lower, upper, ends]) @ turn.T
    n = len(x)
    a, b = np.arange(n_pieces), np.arange(n_pieces) + 1
    # With the grain askew, stretch held off: that is what shears with the slip.
    one = plane_stress(*(np.array(v) for v in (3e9, 6e7, SHEAR, 0.4)))
    c, k = np.cos(grain), np.sin(grain)
    sheared = np.array([c * k, -c * k, c * c - k * k])
    modulus = sheared @ one @ sheared
    whole, points_of = np.sinh(LONG / LAG), np.polynomial.legendre.leggauss(12)
    hold, slope = np.zeros((n_pieces, 2, 2)), np.zeros((n_pieces, 2))
    for e in a:
        middle, half = (x[e] + x[e + 1]) / 2, (x[e + 1] - x[e]) / 2
        at = middle + half * points_of[0]
        shape = np.stack([np.sinh((LONG - at) / LAG), np.sinh(at / LAG)]) / whole
        rise = np.stack([-np.cosh((LONG - at) / LAG), np.cosh(at / LAG)]) / (whole * LAG)
        weight = half * points_of[1]
        hold[e] = modulus * THICK * HIGH * (rise * weight) @ rise.T + HELD * (shape * weight) @ shape.T
        edge = np.stack([np.sinh((LONG - x[[e, e + 1]]) / LAG), np.sinh(x[[e, e + 1]] / LAG)]) / whole
        slope[e] = (edge[:, 1] - edge[:, 0]) / (2 * half)
    hold[-1, 1, 1] += end_held
    six = np.tile([2 * n, 2 * n + 1, 0, n, n - 1, 2 * n - 1], (n_pieces, 1))
    nodes = np.concatenate([np.stack([a, b, n + b, n + a], axis=1), six], axis=1)
    fibre = turn @ [np.cos(grain), 0.0, np.sin(grain)]
    block = SlippingMembranes(
        nodes,
        np.full(n_pieces, THICK),
        np.tile(one, (n_pieces, 1, 1)),
        np.tile(fibre, (n_pieces, 1)),
        np.zeros((n_pieces, 10, 3)),
        density=np.full(n_pieces, 160.0),
        extra_links=np.zeros((n_pieces, 10, 3, 3)),
        bow=Bow(np.tile(np.arange(10), (n_pieces, 1)), np.zeros((n_pieces, 10, 3, 6))),
        slope=slope,
        hold=hold / THICK,
        upright=np.tile(turn @ [0.0, 0.0, 1.0], (n_pieces, 1)),
    )
    return Structure(points, {"web": block}), (2 * n, 2 * n + 1)


@pytest.mark.parametrize("grain", [0.0, np.pi / 2, 0.7])
def test_rigid_motion_gives_no_force_and_no_movement_gives_energy_back(rotation, grain):
    structure, _ = strip(3, turn=rotation, grain=grain)
    matrix = Assembly(structure).stiffness().toarray()
    motions = rigid_motions(structure.nodes)
    assert np.abs(matrix @ motions).max() < 1e-12 * np.abs(matrix).max()
    values = np.linalg.eigvalsh(matrix)
    assert values[0] > -1e-12 * values[-1]
    # Of a panel in one piece: three strains, two bendings and two slips resist.
    single = np.linalg.eigvalsh(Assembly(strip(1, turn=rotation, grain=grain)[0]).stiffness().toarray())
    assert (single > 1e-9 * single[-1]).sum() == 7


def sheared(n_pieces, end_held=0.0):
    """Members move so that the panel shears by 1e-3 all along, the first end held against slip: slip of the
    other, and mean shear stress of the pieces."""
    structure, (_, last) = strip(n_pieces, end_held)
    assembly = Assembly(structure)
    moves = np.zeros((len(structure.nodes), 6))
    moves[:, 2] = 1e-3 * structure.nodes[:, 0]
    at = 6 * last + 2
    matrix = assembly.stiffness()
    force = matrix @ moves.ravel()
    slip = -force[at] / matrix[at, at]
    moves[last, 2] += slip
    block = structure.blocks["web"]
    own = moves[block.nodes][:, :, :, None]
    return slip, block.recover(assembly.corners("web"), own)["stress"][:, 2, 0]


@pytest.mark.parametrize("n_pieces", [1, 4, 9])
def test_a_free_end_slips_by_the_shear_lag(n_pieces):
    # G t h (gamma + s') = 0 at the free end, s'' = s/lag^2, s = 0 at the other.
    slip, stress = sheared(n_pieces)
    assert_allclose(slip, -1e-3 * LAG * np.tanh(LONG / LAG), rtol=1e-9)
    x = np.linspace(0, LONG, n_pieces + 1)
    lost = -np.diff(np.sinh(x / LAG)) / np.cosh(LONG / LAG) * LAG / (LONG / n_pieces)
    assert_allclose(stress, SHEAR * 1e-3 * (1 + lost), rtol=1e-9)


def test_an_end_that_is_held_slips_less():
    own = SHEAR * THICK * HIGH / LAG / np.tanh(LONG / LAG)
    slip, _ = sheared(4, end_held=own)
    assert_allclose(slip, sheared(4)[0] / 2, rtol=1e-9)


def test_the_mass_is_the_panels_and_moves_with_the_members():
    structure, (first, last) = strip(4)
    assembly = Assembly(structure)
    mass = assembly.mass().toarray().reshape(len(structure.nodes), 6, -1, 6)[:, 2, :, 2]
    assert_allclose(mass.sum(), 160.0 * THICK * HIGH * LONG, rtol=1e-12)
    assert not mass[[first, last]].any()
    block = structure.blocks["web"]
    moves = np.random.default_rng(3).normal(size=(4, 10, 3, 2))
    expected = np.einsum("eij,ejc->eic", block.mass(assembly.corners("web")), moves.reshape(4, 30, 2))
    found = block.mass_times(assembly.corners("web"), moves)
    assert_allclose(found.reshape(4, 30, 2), expected, rtol=1e-12, atol=1e-15)


def test_pull_stiffens_it_sideways_as_a_plain_membrane():
    structure, _ = strip(2)
    block, corners = structure.blocks["web"], Assembly(structure).corners("web")
    stress = {"stress": np.array([[1e6, 2e5, 3e5], [1e6, 0.0, -1e5]])}
    whole = block.geometric_stiffness(corners, stress)
    assert not whole[:, 12:].any()
    assert not whole[:, :, 12:].any()
    assert np.linalg.matrix_rank(whole[0, :12, :12]) == 3
