"""Bench loads: one newton is one newton."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from fea.assembly import total
from models.loads.bench import bench
from models.structure import build

REAR = """[[spars]]
name = "rear"
x = "100 mm"
caps = { width = "10 mm", height = "6 mm", wood = "reference-balsa" }
"""


def test_three_cases(make_specimen):
    model = build(make_specimen("front", case='tip_force = "3 N"\ntip_torque = "0.4 N m"'))
    sums = total(model.structure.nodes, bench(model).nodal)
    # Force at the tip (0.36 m out, over the origin), couple nose up; then both.
    force, couple = np.array([0, 0, 3.0, 3.0 * 0.36, 0, 0]), np.array([0, 0, 0, 0, 0.4, 0])
    assert_allclose(sums.T, [force, couple, force + couple], rtol=1e-12, atol=1e-12)


def test_the_spar_that_the_file_names(make_specimen):
    case = 'tip_force = "1 N"\ntip_spar = "rear"'
    model = build(make_specimen("front", extra=REAR, case=case))
    nodal = bench(model).nodal
    loaded = np.flatnonzero(nodal[:, 2, 0])
    assert sorted(loaded) == sorted(model.cap_nodes[1, :, -1])
    assert_allclose(total(model.structure.nodes, nodal)[4, 0], -0.1, rtol=1e-12)
