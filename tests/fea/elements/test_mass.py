"""Point masses on arms: a body of several has the inertia that its points add up to."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from fea.assembly import Assembly, rigid_motions
from fea.elements.mass import Masses
from fea.structure import Structure


def test_inertia_of_points_about_the_origin(rng):
    """sum m (r^2 1 - r r'), and the moment of mass, whichever node the points hang on."""
    points, mass, nodes = rng.standard_normal((7, 3)), rng.uniform(0.1, 1, 7), rng.standard_normal((3, 3))
    node = rng.integers(0, 3, 7)
    block = Masses(node[:, None], mass, (points - nodes[node])[:, None])
    motions = rigid_motions(nodes)
    found = motions.T @ (Assembly(Structure(nodes, {"mass": block})).mass() @ motions)
    r2 = (points**2).sum(axis=1)
    inertia = np.einsum(
        "e,eij->ij", mass, r2[:, None, None] * np.eye(3) - points[:, :, None] * points[:, None, :]
    )
    assert_allclose(found[:3, :3], mass.sum() * np.eye(3), rtol=1e-12, atol=1e-13)
    assert_allclose(found[3:, 3:], inertia, rtol=1e-12, atol=1e-13)
    first = mass @ points
    # Turning about z by one radian moves the centre of mass along y by x.
    assert_allclose([found[1, 5], found[0, 5], found[2, 3]], [first[0], -first[1], first[1]], rtol=1e-12)


def test_shared_by_two_a_mass_is_where_the_lever_rule_puts_it() -> None:
    nodes = np.array([[0.0, 0, 0], [0.2, 0, 0]])
    for x in (0.05, 0.5):  # between them, and beyond
        shares = np.array([[1 - x / 0.2, x / 0.2]])
        shared = Masses(np.array([[0, 1]]), np.array([0.3]), np.zeros((1, 2, 3)), shares)
        alone = Masses(np.array([[0]]), np.array([0.3]), np.array([[[x, 0, 0]]]))
        assert_allclose(shared.places(nodes[None]), [[x, 0, 0]], rtol=1e-12)
        found, expected = (
            Assembly(Structure(nodes, {"mass": block})).rigid_inertia().reshape(2, 6, 6)
            for block in (shared, alone)
        )
        motions = rigid_motions(nodes).reshape(2, 6, 6)
        assert_allclose(
            np.einsum("nia,nib->ab", motions, found), np.einsum("nia,nib->ab", motions, expected), atol=1e-15
        )
        # Forces alone: no couple on either node.
        assert_allclose(found[:, 3:], 0.0, atol=1e-15)


def test_shares_of_one_mass_stand_where_it_is() -> None:
    """Two rows of one mass and one of another: the first two in their mean, by mass."""
    corners = np.array([[[0.0, 0.0, 0.0]], [[0.0, 4.0, 0.0]], [[1.0, 2.0, 3.0]]])
    block = Masses(np.array([[0], [1], [2]]), np.array([0.3, 0.1, 0.5]), one=np.array([7, 7, 8]))
    expected = [[0.0, 1.0, 0.0], [0.0, 1.0, 0.0], [1.0, 2.0, 3.0]]
    np.testing.assert_allclose(block.places(corners), expected, atol=1e-15)
