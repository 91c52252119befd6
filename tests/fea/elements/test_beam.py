"""Beams against hand calculations; the common beam is B1-B7 of the published cases (any strength-of-materials
book).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.elements import beam
from fea.elements.beam import Beams, Sections
from fea.elements.faults import DegenerateElement
from fea.solve import statics
from fea.structure import Loads, Structure, Supports

LENGTH, EI, EI_SIDE, EA = 0.3, 10e9 * 6.66667e-9, 10e9 * 1.666667e-9, 10e9 * 200e-6
UP = np.array([0.0, 0.0, 1.0])


def _line(n, block_sections, turn=None, **more):
    """A beam along x in n elements."""
    nodes = np.zeros((n + 1, 3))
    nodes[:, 0] = np.linspace(0, LENGTH, n + 1)
    up = np.tile(UP, (n, 1))
    if turn is not None:
        nodes, up = nodes @ turn.T, up @ turn.T
    number = np.arange(n)
    return nodes, Beams(np.stack([number, number + 1], axis=1), block_sections, up, **more)


def _cantilever(n, block_sections, force, **more):
    nodes, block = _line(n, block_sections, **more)
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0]))
    return statics(structure, Loads.forces(structure, [(n, force)]))


@pytest.mark.parametrize("n", [1, 3])
def test_cantilever_with_tip_force(n, make_sections):
    """P L^3/3EI + P L/(kappa G A), both ways; nodes are exact."""
    up = _cantilever(n, make_sections(n), (0, 0, 10.0)).displacements[-1, 2, 0]
    shear = 10 * LENGTH / (5 / 6 * 0.6e9 * 200e-6)
    ei = 10e9 * 0.01 * 0.02**3 / 12
    assert_allclose(up, 10 * LENGTH**3 / (3 * ei) + shear, rtol=1e-9)
    ei_side = 10e9 * 0.02 * 0.01**3 / 12
    side = _cantilever(n, make_sections(n), (0, 10.0, 0)).displacements[-1, 1, 0]
    assert_allclose(side, 10 * LENGTH**3 / (3 * ei_side) + shear, rtol=1e-9)


@pytest.mark.parametrize("n", [1, 2, 5])
@pytest.mark.parametrize("direction", [1, 2])
def test_linear_load_with_shear(n, direction, make_sections):
    """Cantilever under w(x) = w0 (1 - x/L): tip w0 L^4/30EI + w0 L^2/(6 kappa G A), root moment w0 L^2/6."""
    w0 = 50.0
    at = np.linspace(0, LENGTH, n + 1)
    load = np.zeros((n, 2, 3))
    load[:, 0, direction] = w0 * (1 - at[:-1] / LENGTH)
    load[:, 1, direction] = w0 * (1 - at[1:] / LENGTH)
    nodes, block = _line(n, make_sections(n), line_load=load)
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0]))
    solution = statics(structure, Loads.zero(structure))
    inertia = {2: 0.01 * 0.02**3 / 12, 1: 0.02 * 0.01**3 / 12}[direction]
    tip = w0 * LENGTH**4 / (30 * 10e9 * inertia) + w0 * LENGTH**2 / (6 * 5 / 6 * 0.6e9 * 200e-6)
    assert_allclose(solution.displacements[-1, direction, 0], tip, rtol=1e-9)
    assert_allclose(solution.reactions[0, direction, 0], -w0 * LENGTH / 2, rtol=1e-11)
    # Along the first element: shear w0 (L - x)^2/2L, moment w0 (L - x)^3/6L, in the signs of the module.
    fractions = np.array([0.0, 0.3, 1.0])
    corners = solution.assembly.corners("beam")
    moves = solution.assembly.element_displacements("beam", solution.displacements)
    forces = block.forces_along(corners, moves, fractions)[0, :, :, 0]
    rest = LENGTH - fractions * at[1]
    assert_allclose(forces[:, direction], w0 * rest**2 / (2 * LENGTH), rtol=1e-9, atol=1e-9 * w0 * LENGTH)
    moment = forces[:, 4] if direction == 2 else forces[:, 5]
    sign = -1 if direction == 2 else 1
    assert_allclose(sign * moment, w0 * rest**3 / (6 * LENGTH), rtol=1e-9, atol=1e-9 * w0 * LENGTH**2)


def test_moment_sign_matches_the_axial_stress(make_sections):
    """A force that lifts the tip compresses the upper face: N/A + M_y z/I_y is negative there, positive
    below.
    """
    solution = _cantilever(2, make_sections(2), (0, 0, 10.0))
    m_y = solution.recover(0)["beam"]["forces"][0, 0, 4]
    assert_allclose(m_y, -10 * LENGTH, rtol=1e-10)
    # Sideways towards +y: the side of +y is compressed, -M_z y/I_z < 0 there.
    m_z = _cantilever(2, make_sections(2), (0, 10.0, 0)).recover(0)["beam"]["forces"][0, 0, 5]
    assert_allclose(m_z, 10 * LENGTH, rtol=1e-10)


def test_axial_load_along_the_beam(make_sections):
    """Pull p per length: force p (L - x), tip p L^2/2EA."""
    load = np.zeros((2, 2, 3))
    load[:, :, 0] = 40.0
    nodes, block = _line(2, make_sections(2), line_load=load)
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0]))
    solution = statics(structure, Loads.zero(structure))
    assert_allclose(solution.displacements[-1, 0, 0], 40 * LENGTH**2 / (2 * EA), rtol=1e-9)
    expected = 40 * np.array([[LENGTH, LENGTH / 2], [LENGTH / 2, 0]])
    assert_allclose(solution.recover(0)["beam"]["forces"][:, :, 0], expected, rtol=1e-9, atol=1e-9 * 12)


def test_fixed_fixed_under_centre_force_and_spread_load(make_sections):
    """P L^3/192EI and w L^4/384EI, shear left out (B5)."""
    nodes, block = _line(2, make_sections(2, shear=False))
    ei = 10e9 * 0.01 * 0.02**3 / 12
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0, 2]))
    solution = statics(structure, Loads.forces(structure, [(1, (0, 0, 10.0))]))
    assert_allclose(solution.displacements[1, 2, 0], 10 * LENGTH**3 / (192 * ei), rtol=1e-9)
    load = np.zeros((2, 2, 3))
    load[:, :, 2] = 50.0
    nodes, block = _line(2, make_sections(2, shear=False), line_load=load)
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0, 2]))
    middle = statics(structure, Loads.zero(structure)).displacements[1, 2, 0]
    assert_allclose(middle, 50 * LENGTH**4 / (384 * ei), rtol=1e-9)


def test_propped_cantilever(make_sections):
    """Prop takes 3 w L/8 (B6)."""
    load = np.zeros((1, 2, 3))
    load[:, :, 2] = 50.0
    nodes, block = _line(1, make_sections(1, shear=False), line_load=load)
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0]) + Supports.fixed([1], "z"))
    assert_allclose(
        statics(structure, Loads.zero(structure)).reactions[1, 2, 0], -3 / 8 * 50 * LENGTH, rtol=1e-9
    )


def test_joint_that_turns(make_sections):
    """Rotation give c at the root of a cantilever adds P L^2 c at the tip; a slip s adds P s; a torsion give
    T t.
    """
    ei, shear = 10e9 * 0.01 * 0.02**3 / 12, 5 / 6 * 0.6e9 * 200e-6
    give = np.zeros((1, 2, 6, 6))
    give[0, 0, 4, 4], give[0, 0, 2, 2], give[0, 0, 3, 3] = 2e-3, 3e-6, 5e-3
    solution = _cantilever(1, make_sections(1), (0, 0, 10.0, 0.5, 0, 0), end_flexibility=give)
    stiff = 10 * LENGTH**3 / (3 * ei) + 10 * LENGTH / shear
    assert_allclose(solution.displacements[1, 2, 0], stiff + 10 * LENGTH**2 * 2e-3 + 10 * 3e-6, rtol=1e-9)
    assert_allclose(
        solution.displacements[1, 3, 0], 0.5 * LENGTH / (0.6e9 * 4573.63e-12) + 0.5 * 5e-3, rtol=1e-9
    )


def test_two_joints_that_turn_under_a_spread_load(make_sections):
    """Ends held through equal rotation gives c: middle 5wL^4/384EI - M L^2/8EI, M = (w L^3/24EI)/(L/2EI +
    c)."""
    ei, w, c = 10e9 * 0.01 * 0.02**3 / 12, 50.0, 1e-3
    load = np.zeros((2, 2, 3))
    load[:, :, 2] = w
    give = np.zeros((2, 2, 6, 6))
    give[0, 0, 4, 4] = give[1, 1, 4, 4] = c
    nodes, block = _line(2, make_sections(2, shear=False), line_load=load, end_flexibility=give)
    structure = Structure(nodes, {"beam": block}, Supports.fixed([0, 2]))
    solution = statics(structure, Loads.zero(structure))
    moment = (w * LENGTH**3 / (24 * ei)) / (LENGTH / (2 * ei) + c)
    middle = 5 * w * LENGTH**4 / (384 * ei) - moment * LENGTH**2 / (8 * ei)
    assert_allclose(solution.displacements[1, 2, 0], middle, rtol=1e-9)
    assert_allclose(np.abs(solution.reactions[[0, 2], 4, 0]), moment, rtol=1e-9)


def test_give_at_one_end_of_one_loaded_element_equals_a_spring(make_sections):
    """One element with give at its root = the same element on a spring of the inverse rate, under a linear
    load.
    """
    from fea.elements.spring import Springs

    load = np.array([[[0, 10.0, 50.0], [5.0, 20.0, 10.0]]])
    rates = np.array([2e5, 3e5, 4e5, 300.0, 200.0, 100.0])
    give = np.zeros((1, 2, 6, 6))
    give[0, 0] = np.diag(1 / rates)
    nodes, block = _line(1, make_sections(1), line_load=load, end_flexibility=give)
    held = Supports.fixed([0]) + Supports.fixed([1], "yz")
    first = statics(s := Structure(nodes, {"beam": block}, held), Loads.zero(s))
    nodes = np.vstack([nodes, nodes[:1]])
    _, plain = _line(1, make_sections(1), line_load=load)
    springs = Springs(np.array([[2, 0]]), rates[None], np.eye(3)[None])
    held = Supports.fixed([2]) + Supports.fixed([1], "yz")
    second = statics(s := Structure(nodes, {"beam": plain, "spring": springs}, held), Loads.zero(s))
    assert_allclose(first.displacements[1], second.displacements[1], rtol=1e-8, atol=1e-12)
    a, b = first.recover(0)["beam"]["forces"], second.recover(0)["beam"]["forces"]
    assert_allclose(a, b, rtol=1e-8, atol=1e-9 * np.abs(b).max())


def test_recovered_forces_balance_the_stiffness_forces(rng, rotation, make_block):
    """End forces from K u equal minus and plus the section forces at both ends, turned to global axes."""
    block, corners = make_block("beam", rng, 5, rotation)
    moves = 1e-3 * rng.standard_normal((5, 2, 6))
    ends = np.einsum("eij,ej->ei", block.unit_stiffness(corners), moves.reshape(5, 12)).reshape(5, 4, 3)
    _, axes = beam.local_axes(corners, block.up)
    local = np.einsum("eij,epj->epi", axes, ends).reshape(5, 2, 6)
    forces = block.recover(corners, moves)["forces"]
    scale = np.abs(forces).max()
    assert_allclose(forces[:, 0], -local[:, 0], rtol=1e-9, atol=1e-11 * scale)
    assert_allclose(forces[:, 1], local[:, 1], rtol=1e-9, atol=1e-11 * scale)


def test_turned_beam_with_load(rotation, make_sections):
    """Everything turned in space gives the turned answer, loads along the beam included."""
    load = np.array([[[10.0, 20.0, 30.0], [40.0, 0.0, -20.0]]])
    results = []
    for turn in (np.eye(3), rotation):
        nodes, block = _line(1, make_sections(1), turn=turn, line_load=load @ turn.T)
        structure = Structure(nodes, {"beam": block}, Supports.fixed([0]))
        solution = statics(structure, Loads.zero(structure))
        results.append(
            (solution.displacements[1].reshape(2, 3) @ turn, solution.recover(0)["beam"]["forces"])
        )
    assert_allclose(results[1][0], results[0][0], rtol=1e-9, atol=1e-12)
    assert_allclose(results[1][1], results[0][1], rtol=1e-9, atol=1e-9)


def test_slender_beam_has_no_shear_locking(make_sections):
    """Infinite shear stiffness is the limit of a large one."""
    thin = make_sections(1, shear=False)
    stiff = Sections(
        thin.axial, thin.bending_y, thin.bending_z, thin.torsion, np.full(1, 1e18), np.full(1, 1e18)
    )
    ends, up = np.array([[[0.0, 0, 0], [1, 0, 0]]]), UP[None]
    a, b = beam.stiffness(ends, thin, up), beam.stiffness(ends, stiff, up)
    assert_allclose(a, b, rtol=1e-9, atol=1e-9 * np.abs(a).max())


def test_up_along_the_beam_is_named(make_sections):
    ends = np.array([[[0.0, 0, 0], [1, 0, 0]], [[0.0, 0, 0], [0, 0, 1]]])
    with pytest.raises(DegenerateElement) as fault:
        beam.local_axes(ends, np.tile(UP, (2, 1)))
    assert fault.value.elements.tolist() == [1]


def test_stress_stiffness_of_a_pulled_beam():
    """Coefficients N/30L (36, 3L, 4L^2, -L^2) of the cubic beam (Przemieniecki 1968, ch. 15, from memory)."""
    length, pull = 0.5, 80.0
    ends, forces = np.array([[[0.0, 0, 0], [length, 0, 0]]]), np.zeros((1, 2, 6))
    forces[..., 0] = pull
    k = beam.geometric_stiffness(ends, UP[None], forces, np.zeros(1))[0]
    v = [1, 5, 7, 11]
    l2 = length**2
    expected = pull / (30 * length) * np.array(
        [[36, 3 * length, -36, 3 * length], [3 * length, 4 * l2, -3 * length, -l2],
         [-36, -3 * length, 36, -3 * length], [3 * length, -l2, -3 * length, 4 * l2]]
    )  # fmt: skip
    assert_allclose(k[np.ix_(v, v)], expected, rtol=1e-12)


@pytest.mark.parametrize(("times", "odd"), [(1.0, 1.0), (4.0, 0.25), (np.inf, 0.0)])
def test_sides_that_are_held_leave_even_bending_and_shear(times, odd, make_sections):
    """One end moved sideways against the other, neither turning: 1/(L^3/12EI + L/(kappa G A)), the first term
    less the stiffer the S; turned against each other by equal couples: EI/L as ever."""
    plain = make_sections(1)
    held = replace(plain, s_bending_z=times * plain.bending_z)
    nodes, block = _line(1, held)
    stiff = block.unit_stiffness(nodes[block.nodes])[0]
    shear = float(plain.shear_y[0])
    assert_allclose(
        1 / stiff[7, 7], odd * LENGTH**3 / (12 * float(plain.bending_z[0])) + LENGTH / shear, rtol=1e-12
    )
    apart = np.zeros(12)
    apart[5], apart[11] = -0.5, 0.5
    assert_allclose(stiff @ apart, apart * 2 * float(plain.bending_z[0]) / LENGTH, atol=1e-9)
    # Up and down all is as before.
    as_ever = _line(1, plain)[1].unit_stiffness(nodes[block.nodes])[0]
    rows = [0, 2, 3, 4, 6, 8, 9, 10]
    assert_allclose(stiff[np.ix_(rows, rows)], as_ever[np.ix_(rows, rows)], rtol=1e-12, atol=1e-6)


def test_sides_that_are_held_take_no_load_along_the_beam(make_sections):
    section = make_sections(1)
    load = np.ones((1, 2, 3))
    nodes, block = _line(1, replace(section, s_bending_z=section.bending_z), line_load=load)
    with pytest.raises(ValueError, match="along its length"):
        block.equivalent_loads(nodes[block.nodes])
