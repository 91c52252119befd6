"""Bars against hand calculations."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from fea.elements import bar
from fea.elements.faults import DegenerateElement
from fea.solve import statics
from fea.structure import Loads, Structure, Supports


def test_stretched_along_a_skew_axis():
    ends = np.array([[[0.0, 0.0, 0.0], [0.3, 0.0, 0.4]]])
    moves = np.array([[[0.0, 0.0, 0.0], [0.006, 0.5, 0.008]]])  # 10 mm along, the rest square to the bar
    assert_allclose(bar.axial_forces(ends, moves, np.array([1000.0])), [1000.0 * 0.010 / 0.5], rtol=1e-13)


def test_two_bar_truss():
    """Bars at 45 degrees under a force W at the apex: each carries W/sqrt 2, the apex goes down W L/(E A)
    (statics).
    """
    nodes = np.array([[-1.0, 0, 0], [1, 0, 0], [0, 0, -1]])
    block = bar.Bars(np.array([[0, 2], [1, 2]]), np.full(2, 5e4))
    held = Supports.fixed([0, 1], "xyz") + Supports.fixed([2], "y")
    structure = Structure(nodes, {"bars": block}, held)
    solution = statics(structure, Loads.forces(structure, [(2, (0.0, 0.0, -100.0))]))
    assert_allclose(solution.recover(0)["bars"]["axial_force"], 100 / np.sqrt(2), rtol=1e-12)
    assert_allclose(solution.displacements[2, 2, 0], -100 * np.sqrt(2) / 5e4, rtol=1e-12)
    assert_allclose(solution.reactions[:2, 2, 0], 50.0, rtol=1e-12)


def test_a_taut_string_resists_by_its_force_alone():
    """Pulled by N, a bar of length L moved sideways at one end by w needs N w/L."""
    ends = np.array([[[0.0, 0, 0], [0, 2.0, 0]]])
    k = bar.geometric_stiffness(ends, np.array([30.0]))[0]
    assert_allclose(k[3:, 3:], 30 / 2 * np.diag([1.0, 0.0, 1.0]), rtol=1e-13)


def test_ends_that_coincide_are_named():
    ends = np.zeros((3, 2, 3))
    ends[[0, 2], 1, 0] = 1
    with pytest.raises(DegenerateElement) as fault:
        bar.stiffness(ends, np.ones(3))
    assert fault.value.elements.tolist() == [1]


def test_a_bar_stretched_by_the_twist_of_what_it_is_glued_to():
    # Along y, 0.5 m, E A = 200 N: an end moves 3 mm along per radian about y; turning both is free.
    nodes = np.array([[0.0, 0.0, 0.0], [0.0, 0.5, 0.0]])
    links = np.zeros((1, 2, 3, 3))
    links[0, :, 1, 1] = 3e-3
    block = bar.Bars(np.array([[0, 1]]), np.array([200.0]), np.zeros((1, 2, 3)), extra_links=links)
    stiff = Assembly(Structure(nodes, {"bars": block})).stiffness().toarray()
    twist, turn, pull = np.zeros(12), np.zeros(12), np.zeros(12)
    twist[10], pull[7] = 0.1, 1e-3
    turn[4] = turn[10] = 0.1
    assert_allclose(stiff @ turn, 0, atol=1e-12)
    assert_allclose(
        (stiff @ twist)[[1, 7, 4, 10]], 200 / 0.5 * 3e-4 * np.array([-1, 1, -3e-3, 3e-3]), rtol=1e-12
    )
    assert_allclose(twist @ stiff @ pull, pull @ stiff @ twist, rtol=1e-12)
