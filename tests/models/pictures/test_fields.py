from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse, spar_motion
from models.pictures import fields
from models.pictures.surfaces import surfaces
from models.wing.reading import read
from models.wings import shipped


@pytest.fixture(scope="module")
def box():
    return analyse(read(shipped()["spar-box"]))


@pytest.fixture(scope="module")
def wing():
    return analyse(read(shipped()["powered-tailless"]))


def test_shear_flow_of_a_box_carries_the_tip_force(box):
    # 1 N up at the tip, two webs: q = V/(2 h), h between the clear height (18 mm, the webs' own) and
    # the caps' axes (24 mm); halfway along, where neither the clamp nor the tip disturbs it. Positive:
    # upward load to the root.
    force = box.wing.case.tip_force
    flow = fields.shear_flow(box)
    middle = box.model.webs.span == len(box.model.bay) // 2
    assert middle.sum() == 2
    assert (flow[middle] > force / (2 * 0.024) * 0.95).all()
    assert (flow[middle] < force / (2 * 0.018)).all()
    assert_allclose(flow[middle][0], flow[middle][1], rtol=1e-6)


def test_cap_stress_balances_the_moment_of_the_tip_force(box):
    # Each cap's stress, summed over its section at its four corners (linear between: the mean is
    # exact), gives the axial force; the pair of them times the distance of their axes is the moment
    # save for the caps' own bending and the overlapping strips, so not more than the moment and not
    # less than four fifths of it.
    surface = surfaces(box.model)["caps"]
    stress = fields.cap_stress(box, surface).reshape(-1, 2, 4)
    area = 0.010 * 0.006
    for span in (5, 12, 20):
        rows = np.flatnonzero(box.model.caps.span == span)
        upper = box.model.caps.upper[rows]
        axial = stress[rows].mean(axis=2).mean(axis=1) * area
        assert axial[upper] < 0 < axial[~upper]
        moment = box.wing.case.tip_force * (0.360 - (box.model.y[span] + box.model.y[span + 1]) / 2)
        couple = float(axial[~upper][0] - axial[upper][0]) / 2 * 0.024
        assert 0.8 * moment < couple < moment


def test_cap_stress_corners_are_those_of_the_section_forces(box):
    surface = surfaces(box.model)["caps"]
    forces = box.cap_forces()
    sections = box.model.structure.blocks["caps"].sections
    e = box.model.caps.layer_modulus[0, 0]
    stress = fields.cap_stress(box, surface)[:4]
    n, m_y, m_z = forces[0, 0, [0, 4, 5]]
    # A beam towards the tip with z up has y forward.
    axis = box.solution.assembly.corners("caps")[0, 0]
    y, z = axis[0] - surface.points[:4, 0], surface.points[:4, 2] - axis[2]
    expected = e * (n / sections.axial[0] + m_y * z / sections.bending_y[0] - m_z * y / sections.bending_z[0])
    assert_allclose(stress, expected, rtol=1e-9)


def test_the_centre_section_of_a_wing_in_flight_stays_put(wing):
    moves = fields.displacements(wing)
    centre = wing.model.cap_nodes[:, :, int(np.argmin(np.abs(wing.model.y)))].ravel()
    largest = np.abs(moves[:, 2]).max()
    # What is left there is the caps' own change of shape, small against what the wing does.
    assert np.abs(moves[centre][:, [0, 2]]).max() < 0.002 * largest


def test_a_wing_in_flight_deflects_the_same_however_it_was_pitched(wing):
    # The free body's pitch is arbitrary: a rigid turn about the span's axis, added to it, must not
    # show.
    turned = wing.solution.displacements.copy()
    nodes = wing.model.structure.nodes
    turned[:, 0, wing.case] += 0.02 * nodes[:, 2] + 0.003
    turned[:, 2, wing.case] += -0.02 * nodes[:, 0] - 0.001
    turned[:, 4, wing.case] += 0.02
    other = replace(wing, solution=replace(wing.solution, displacements=turned))
    scale = np.abs(fields.displacements(wing)).max()
    assert_allclose(fields.displacements(other), fields.displacements(wing), rtol=0, atol=1e-9 * scale)
    motion, expected = (spar_motion(fields.settled(w), 0) for w in (other, wing))
    assert_allclose(motion.deflection, expected.deflection, rtol=0, atol=1e-9 * scale)


def test_a_clamped_specimens_displacements_are_left_alone(box):
    assert_allclose(fields.displacements(box), box.solution.displacements[:, :, box.case], rtol=0, atol=0)


def test_reserve_of_a_part_is_its_elements_least(box):
    n = len(box.model.caps.spar)
    given = np.full(n, 3.0)
    given[5] = 0.7
    part = box.model.structure.blocks["caps"].part
    given[part == part[20]] = np.nan
    by_part = fields.reserve_by_part(box, {"caps": given})["caps"]
    assert (by_part[part == part[5]] == 0.7).all()
    assert np.isnan(by_part[part == part[20]]).all()
    others = (part != part[5]) & (part != part[20])
    assert (by_part[others] == 3.0).all()
    assert given[5] == 0.7
    assert (given == 3.0).sum() == n - 1 - (part == part[20]).sum()


@pytest.mark.parametrize(
    ("factor", "band"),
    [(0.999, 0), (1.0, 1), (1.49, 1), (1.5, 2), (2.0, 3), (4.0, 4), (np.inf, 4), (np.nan, -1), (0.0, 0)],
)
def test_bands(factor, band):
    assert fields.bands(np.array([factor]))[0] == band


def test_weakest_passes_over_what_was_not_checked():
    reserve = {
        "caps": np.array([2.0, np.nan]),
        "webs": np.array([np.nan, 1.2, 3.0]),
        "posts": np.array([np.nan]),
    }
    assert fields.weakest(reserve) == ("webs", 1)
    assert fields.weakest({"posts": np.array([np.nan])}) is None


def test_cut_forces_of_a_specimen_are_statics(box):
    y, shear, bending = fields.cut_forces(box)
    force = box.wing.case.tip_force
    assert_allclose(shear, force, rtol=1e-9)
    assert_allclose(bending, force * (0.360 - y), rtol=1e-9)


def test_cut_forces_of_a_free_wing_vanish_at_the_tip_and_balance_at_the_centre(wing):
    y, shear, _ = fields.cut_forces(wing)
    # Nothing holds the wing: what the cut beside the centre carries is what acts on the centre line
    # itself.
    centre = np.abs(wing.model.structure.nodes[:, 1]) < 1e-9
    on_centre = wing.solution.loads[centre, 2, wing.case].sum()
    assert_allclose(shear[0], -on_centre, rtol=1e-6)
    assert abs(shear[-1]) < 0.1 * np.abs(shear).max()
    assert y[0] > 0
