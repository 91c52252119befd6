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
