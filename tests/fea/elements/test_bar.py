"""Bars against hand calculations."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

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
