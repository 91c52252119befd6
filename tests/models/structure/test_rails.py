"""Engine rails: the overhang is determined by statics, and what is put on it arrives at the root."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.testing import assert_allclose

from fea.solve import statics
from fea.structure import Loads, Supports
from models.structure import build

SPARS = """[[spars]]
name = "front"
at = "25 %"
caps = { width = "10 mm", height = "5 mm", wood = "spruce" }
[[spars.webs]]
bays = "all"
face = "front"
thickness = "1.5 mm"
[[spars]]
name = "rear"
at = "60 %"
caps = { width = "8 mm", height = "4 mm", wood = "spruce" }
"""
RAIL = """[[rails]]
name = "bearer"
y = "{y} mm"
x_front = "-80 mm"
x_rear = "190 mm"
width = "10 mm"
height = "10 mm"
ties = ["front", "rear"]
tie_thickness = "3 mm"
"""


def wing_with_rails(make_wing, y=30):
    stations = '{ y = "0 mm", chord = "300 mm", section = "NACA 0018" }, { y = "600 mm", chord = "240 mm" }'
    return make_wing(stations=stations, spars=SPARS, extra=RAIL.format(y=y))


def test_the_overhang_bends_as_statics_say(make_wing):
    model = build(wing_with_rails(make_wing), whole=True)
    block, nodes = model.structure.blocks["rails"], model.structure.nodes
    front = [int(n) for n in np.unique(block.nodes) if abs(nodes[n, 0] + 0.08) < 1e-9]
    assert_allclose(sorted(nodes[front, 1]), [-0.03, 0.03], rtol=1e-9)
    held = Supports.fixed(np.flatnonzero(np.abs(nodes[:, 1]) > 0.599))
    structure = replace(model.structure, supports=held)
    solution = statics(structure, Loads.forces(structure, [(front[0], (0.0, 0.0, -10.0))]))
    assert_allclose(solution.reactions[:, 2].sum(), 10.0, rtol=1e-9)
    at = np.array([nodes[front[0], 0], nodes[front[0], 1]])
    arms = nodes[:, :2]
    moment = solution.reactions[:, 4, 0] - arms[:, 0] * solution.reactions[:, 2, 0]
    moment += nodes[:, 2] * solution.reactions[:, 0, 0]
    assert_allclose(moment.sum(), -10.0 * at[0], rtol=1e-8)
    # Ahead of the first spar nothing holds the rail: its moment is the force times the distance from its end.
    forces = solution.recover(0)["rails"]["forces"]
    ends = model.structure.true_corners(block)
    loaded = (np.abs(ends[:, 0, 1] - at[1]) < 1e-9) & (ends[:, :, 0].max(axis=1) < 0.25 * 0.3 - 1e-9)
    assert loaded.any()
    assert_allclose(np.abs(forces[loaded, :, 4]), 10.0 * (ends[loaded, :, 0] + 0.08), rtol=1e-8, atol=1e-10)


def test_a_rail_off_the_centre_has_its_twin(make_wing):
    wing = wing_with_rails(make_wing)
    half, whole = build(wing), build(wing, whole=True)
    for kind in ("rail", "rail tie"):
        assert_allclose(2 * half.structural_mass[kind], whole.structural_mass[kind], rtol=1e-9)
    wood = wing.rails[0].material
    assert_allclose(half.structural_mass["rail"], wood.density * 1e-4 * 0.27, rtol=1e-9)
    assert {p.side for p in whole.parts if p.kind == "rail"} == {"port", "starboard"}


def test_a_rail_on_the_centre_line_counts_half_in_half_a_wing(make_wing):
    wing = wing_with_rails(make_wing, y=0)
    half, whole = build(wing), build(wing, whole=True)
    for kind in ("rail", "rail tie"):
        assert_allclose(2 * half.structural_mass[kind], whole.structural_mass[kind], rtol=1e-9)
