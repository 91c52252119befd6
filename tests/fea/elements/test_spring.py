"""Springs: the rates given, in the axes given, by hand."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from fea.elements import spring
from fea.elements.spring import Springs
from fea.solve import statics
from fea.structure import Loads, Structure, Supports


def test_each_rate_along_and_about_its_own_axis(rotation):
    rates = np.array([[100.0, 200.0, 300.0, 4.0, 5.0, 6.0]])
    block = Springs(np.array([[0, 1]]), rates, rotation.T[None])
    structure = Structure(np.zeros((2, 3)), {"spring": block}, Supports.fixed([0]))
    for k in range(6):
        load = np.zeros((2, 6, 1))
        load[1, 3 * (k // 3) : 3 * (k // 3) + 3, 0] = 10.0 * rotation[:, k % 3]
        solution = statics(structure, Loads(load))
        expected = np.zeros(6)
        expected[3 * (k // 3) : 3 * (k // 3) + 3] = 10.0 / rates[0, k] * rotation[:, k % 3]
        assert_allclose(solution.displacements[1, :, 0], expected, rtol=1e-10, atol=1e-14)
        force = np.zeros(6)
        force[k] = 10.0
        assert_allclose(solution.recover(0)["spring"]["force"], [force], rtol=1e-10, atol=1e-10)


def test_recovered_forces_are_those_of_the_stiffness(rng, rotation, make_block):
    block, corners = make_block("spring", rng, 4, rotation)
    moves = rng.standard_normal((4, 2, 6))
    ends = np.einsum("eij,ej->ei", spring.stiffness(block.rates, block.axes), moves.reshape(4, 12)).reshape(
        4, 2, 2, 3
    )
    local = np.einsum("eij,enkj->enki", block.axes, ends).reshape(4, 2, 6)
    found = block.recover(corners, moves)["force"]
    assert_allclose(local[:, 1], found, rtol=1e-11, atol=1e-9)
    assert_allclose(local[:, 0], -found, rtol=1e-11, atol=1e-9)
