"""What the tests of the finite elements share: numbers drawn once, turned axes, and one block of every
kind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fea.elements.bar import Bars
from fea.elements.beam import Beams, Sections
from fea.elements.mass import Masses
from fea.elements.membrane import Membranes, plane_stress
from fea.elements.plate import Plates
from fea.elements.shear_panel import ShearPanels
from fea.elements.spring import Springs
from fea.elements.tie import Ties, follow

SEED = 52817
"""Drawn once."""
WOOD = plane_stress(3740e6, 172.04e6, 201.96e6, 0.229)
"""Balsa of case M4 of the published cases, Pa."""


@pytest.fixture
def rng():
    return np.random.default_rng(SEED)


@pytest.fixture
def rotation(rng):
    """A proper rotation about no axis of note, (3, 3)."""
    matrix, _ = np.linalg.qr(rng.standard_normal((3, 3)))
    return matrix * np.linalg.det(matrix)


def sections(n, shear=True):
    """Sections of the common beam of the published cases, 10 x 20 mm, in a material with E 10 GPa, G 0.6
    GPa."""
    width, depth, e, g = 0.010, 0.020, 10e9, 0.6e9
    stiff = 5 / 6 * g * width * depth if shear else np.inf
    values = (
        e * width * depth, e * width * depth**3 / 12, e * depth * width**3 / 12, g * 4573.63e-12, stiff,
        stiff,
    )  # fmt: skip
    return Sections(*(np.full(n, v) for v in values))


def distorted_quads(rng, n, turn):
    """Plane quadrilaterals, distorted and turned in space, as corner positions (n, 4, 3), sizes about 0.1
    m."""
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    plane = square + rng.uniform(-0.22, 0.22, (n, 4, 2))
    return np.concatenate([0.1 * plane, np.zeros((n, 4, 1))], axis=2) @ turn.T


def block_of(kind, rng, n, turn):
    """(block, nodes (n_nodes, 3)): elements of one kind that share no node."""

    def numbers(k):
        return np.arange(n * k).reshape(n, k)

    random = rng.standard_normal((n, 3))
    ends = 0.1 * rng.standard_normal((n, 2, 3))
    if kind == "bar":
        return Bars(numbers(2), rng.uniform(1e3, 2e3, n), mass_per_length=np.full(n, 0.05)), ends
    if kind == "beam":
        block = Beams(
            numbers(2), sections(n), random, mass_per_length=np.full(n, 0.09), polar_inertia=np.full(n, 1e-5)
        )
        return block, ends
    if kind == "beam with give":
        give = rng.standard_normal((n, 2, 6, 6))
        size = np.array([3e-4] * 3 + [3e-2] * 3)
        give = give @ give.transpose(0, 1, 3, 2) * np.outer(size, size)
        return Beams(numbers(2), sections(n), random, end_flexibility=give), ends
    corners = distorted_quads(rng, n, turn)
    wood = np.broadcast_to(WOOD, (n, 3, 3)).copy()
    thickness = rng.uniform(1e-3, 2e-3, n)
    if kind == "membrane":
        return Membranes(numbers(4), thickness, wood, random, density=np.full(n, 160.0)), corners
    if kind == "membrane with drilling":
        return Membranes(numbers(4), thickness, wood, random, drilling=np.full((n, 4), 0.1)), corners
    if kind == "membrane with giving ends":
        give = rng.uniform(-1e-5, 1e-5, (n, 4, 3))
        return Membranes(numbers(4), thickness, wood, random, give=give), corners
    if kind == "shear panel":
        return ShearPanels(numbers(4), thickness, np.full(n, 0.6e9)), corners
    if kind == "plate":
        return Plates(numbers(4), thickness, wood, random), corners
    if kind == "spring":
        frame = np.linalg.qr(rng.standard_normal((n, 3, 3)))[0]
        return Springs(numbers(2), rng.uniform(1e3, 1e4, (n, 6)), frame), np.repeat(ends[:, :1], 2, axis=1)
    if kind == "tie":
        at = rng.standard_normal((n, 4, 3)) * 0.1
        return Ties(numbers(4), *follow(at), rng.uniform(1e3, 1e4, n)), at
    if kind == "mass":
        return Masses(numbers(1), rng.uniform(0.1, 0.2, n)), ends[:, :1]
    raise ValueError(kind)


def turned(block, turn):
    """The same block with every direction it carries turned."""
    changes = {}
    for name in ("grain", "up", "offsets", "line_load", "direction"):
        value = getattr(block, name, None)
        if value is not None:
            changes[name] = value @ turn.T
    if hasattr(block, "axes"):
        changes["axes"] = block.axes @ turn.T
    return replace(block, **changes)


@pytest.fixture
def make_block():
    return block_of


@pytest.fixture
def make_sections():
    return sections


@pytest.fixture
def make_turned():
    return turned


@pytest.fixture
def make_quads():
    return distorted_quads


@pytest.fixture
def wood():
    return WOOD
