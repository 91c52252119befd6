"""Columns, strips and beam-columns against the closed forms (Timoshenko and Gere, Theory of Elastic
Stability).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly, rigid_motions
from fea.buckling import _check_shapes, held_at, linear_buckling, stress_stiffness
from fea.elements.beam import Beams, Sections
from fea.elements.membrane import Membranes, plane_stress
from fea.elements.plate import Plates
from fea.elements.spring import Springs
from fea.solve import Mechanism, UnbalancedSolve, factorise, statics
from fea.structure import Loads, Structure, Supports

MM = 1e-3


def _sections(n, ea, ei_y, ei_z, gj):
    many = [np.full(n, v) for v in (ea, ei_y, ei_z, gj, np.inf, np.inf)]
    return Sections(*many)


def _column(n, supports, *, turn=None, length=0.3, **more):
    """A column along x; EI about y 66.7, about z three times as much."""
    turn = np.eye(3) if turn is None else turn
    nodes = np.zeros((n + 1, 3))
    nodes[:, 0] = np.linspace(0, length, n + 1)
    number = np.arange(n)
    block = Beams(np.stack([number, number + 1], axis=1), _sections(n, 2e6, 200 / 3, 200.0, 3.0),
                  np.tile(turn[:, 2], (n, 1)), **more)  # fmt: skip
    return Structure(nodes @ turn.T, {"column": block}, supports)


ENDS = {
    "cantilever": (2.467401, lambda n: Supports.fixed([0])),
    "pinned": (9.869604, lambda n: Supports.fixed([0], "xyzX") + Supports.fixed([n], "yz")),
    "propped": (20.190729, lambda n: Supports.fixed([0]) + Supports.fixed([n], "yz")),
    "fixed": (39.478418, lambda n: Supports.fixed([0]) + Supports.fixed([n], "yzXYZ")),
}


@pytest.mark.parametrize("ends", ENDS)
def test_euler_columns(ends):
    """B13: P L^2/EI. Cubic elements err by (kh)^4/720, k^2 = P/EI, the first term left out.

    0.1 % with four elements for the first two; the propped and the fixed column need eight (0.013 and 0.05
    %).
    """
    exact, supports = ENDS[ends]
    n_elements = (2, 4, 8, 16)
    errors = []
    for n in n_elements:
        structure = _column(n, supports(n))
        solution = statics(structure, Loads.forces(structure, [(n, (-1.0, 0, 0))]))
        factors, modes = linear_buckling(structure, solution)
        errors.append(factors[0] * 0.3**2 / (200 / 3) / exact - 1)
        assert np.abs(modes[:, 2]).max() == 1.0  # about the weak axis: up and down
        assert np.abs(modes[:, [1, 5]]).max() < 1e-6
    theory = exact**2 / np.array(n_elements) ** 4 / 720
    assert_allclose(errors[1:], theory[1:], rtol=0.15, atol=1e-7)
    assert_allclose(np.log2(errors[1] / errors[2]), 4, atol=0.2)
    assert errors[1 if ends in ("cantilever", "pinned") else 2] < 1e-3


def test_pull_never_buckles():
    structure = _column(4, ENDS["pinned"][1](4))
    solution = statics(structure, Loads.forces(structure, [(4, (1.0, 0, 0))]))
    factors, modes = linear_buckling(structure, solution, 3)
    assert len(factors) == 0
    assert modes.shape == (5, 6, 0)


def test_unloaded_structure_has_no_factor():
    structure = _column(4, ENDS["pinned"][1](4))
    factors, _ = linear_buckling(structure, statics(structure, Loads.zero(structure)), 2)
    assert len(factors) == 0


def test_case_and_size_of_the_load():
    structure = _column(4, ENDS["pinned"][1](4))
    nodal = np.zeros((5, 6, 2))
    nodal[4, 0] = [-1.0, -50.0]
    solution = statics(structure, Loads(nodal))
    one, fifty = (linear_buckling(structure, solution, case=c)[0][0] for c in (0, 1))
    assert_allclose(one, 50 * fifty, rtol=1e-8)


def test_turned_column(rotation):
    """In any direction, with supports held in its own axes."""

    def held(turn):
        unit = [(0, False, turn[:, k]) for k in range(3)] + [(0, True, turn[:, 0])]
        unit += [(4, False, turn[:, 1]), (4, False, turn[:, 2])]
        node, turns, direction = zip(*unit, strict=True)
        return Supports(np.array(node), np.array(turns), np.array(direction), np.zeros(len(unit)))

    found = []
    for turn in (np.eye(3), rotation):
        structure = _column(4, held(turn), turn=turn)
        solution = statics(structure, Loads.forces(structure, [(4, tuple(-turn[:, 0]))]))
        found.append(linear_buckling(structure, solution, 3)[0])
    assert_allclose(found[1], found[0], rtol=1e-8)


def _strip(n, up=(0.0, 0.0, 1.0)):
    length, e, g = 0.5, 70e9, 26e9
    nodes = np.zeros((n + 1, 3))
    nodes[:, 0] = np.linspace(0, length, n + 1)
    number = np.arange(n)
    i_side, i_deep = 40 * 2**3 / 12 * MM**4, 2 * 40**3 / 12 * MM**4
    sections = _sections(n, e * 80e-6, e * i_deep, e * i_side, g * 103.305 * MM**4)
    block = Beams(np.stack([number, number + 1], axis=1), sections, np.tile(up, (n, 1)))
    return Structure(nodes, {"strip": block}, Supports.fixed([0]))


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_deep_strip_buckles_sideways(sense):
    """B14: tip force at the centroid, P = 4.0126 sqrt(E I_z G J)/L^2 = 35.939 N; 0.5 % with 16 elements.

    The closed form leaves out the deep bending stiffness, as a strip 20 times as deep as thick allows.
    """
    found = []
    for n in (4, 8, 16):
        structure = _strip(n)
        solution = statics(structure, Loads.forces(structure, [(n, (0, 0, sense))]))
        found.append(linear_buckling(structure, solution)[0][0])
    assert_allclose(found[-1], 35.939, rtol=5e-3)
    # The twist is linear in an element: h^2.
    assert_allclose(np.log2((found[0] - found[1]) / (found[1] - found[2])), 2, atol=0.1)


def test_deep_strip_under_pure_moment():
    """Simply supported strip under equal end moments, M = (pi/L) sqrt(E I_z G J); a moment that turns
    semi-tangentially.
    """
    n = 16
    base = _strip(n)
    held = Supports.fixed([0], "xyzX") + Supports.fixed([n], "yzX")
    structure = Structure(base.nodes.copy(), dict(base.blocks), held)
    loads = Loads.forces(structure, [(0, (0, 0, 0, 0, 1.0, 0)), (n, (0, 0, 0, 0, -1.0, 0))])
    factors, _ = linear_buckling(structure, statics(structure, loads))
    i_side = 40 * 2**3 / 12 * MM**4
    assert_allclose(factors[0], np.pi / 0.5 * np.sqrt(70e9 * i_side * 26e9 * 103.305 * MM**4), rtol=5e-3)


def test_column_on_springs():
    """B15: P_1 = 100.367, P_2 = 127.900 N by (pi^2 EI/L^2)[m^2 + k L^4/(m^2 pi^4 EI)]; 0.2 %."""
    n, length, ei, k = 24, 0.6, 1.0, 2000.0  # 10 GPa x 100 mm4; 0.002 N/mm2
    nodes = np.zeros((2 * (n + 1), 3))
    nodes[: n + 1, 0] = nodes[n + 1 :, 0] = np.linspace(0, length, n + 1)
    number = np.arange(n)
    column = Beams(
        np.stack([number, number + 1], axis=1),
        _sections(n, 1e6, ei, 100 * ei, 1.0),
        np.tile([0, 0, 1.0], (n, 1)),
    )
    # Springs of the tributary length; those at the ends rest on supports anyway.
    rates = np.zeros((n + 1, 6))
    rates[:, 2] = k * length / n
    ground = Springs(
        np.stack([np.arange(n + 1), np.arange(n + 1) + n + 1], axis=1),
        rates,
        np.tile(np.eye(3), (n + 1, 1, 1)),
    )
    held = (
        Supports.fixed([0], "xyzX") + Supports.fixed([n], "yz") + Supports.fixed(np.arange(n + 1, 2 * n + 2))
    )
    structure = Structure(nodes, {"column": column, "ground": ground}, held)
    solution = statics(structure, Loads.forces(structure, [(n, (-1.0, 0, 0))]))
    factors, _ = linear_buckling(structure, solution, 2)
    assert_allclose(factors, [100.367, 127.900], rtol=2e-3)


def test_beam_column():
    """B17: centre force under half of Euler's thrust, 0.675000 grows to 1.340744 mm; 0.1 % with eight
    elements.
    """
    n = 8
    structure = _column(n, Supports.fixed([0], "xyzX") + Supports.fixed([n], "yz"), length=0.6)
    solution = statics(structure, Loads.forces(structure, [(n, (-0.5 * 1827.70, 0, 0))]))
    assembly = Assembly(structure)
    stiff = assembly.stiffness() + assembly.geometric_stiffness(solution.recover(0))
    loads = Loads.forces(structure, [(n // 2, (0, 0, 10.0))])
    plain = statics(structure, loads).displacements[n // 2, 2, 0]
    bent = statics(factorise(assembly, stiffness=stiff), loads).displacements[n // 2, 2, 0]
    assert_allclose(plain, 0.675e-3, rtol=1e-6)
    assert_allclose(bent, 1.340744e-3, rtol=1e-3)


def test_many_freedoms_give_what_few_give():
    """The iterative way, past the size of the dense one."""
    found = []
    for n in (20, 60):
        structure = _column(n, ENDS["pinned"][1](n))
        solution = statics(structure, Loads.forces(structure, [(n, (-1.0, 0, 0))]))
        found.append(linear_buckling(structure, solution, 4)[0])
    assert_allclose(found[1], found[0], rtol=1e-4)
    assert_allclose(found[1][0] * 0.09 / (200 / 3), 9.869604, rtol=1e-5)
    assert_allclose(found[1][:3] / found[1][0], [1, 3, 4], rtol=1e-3)  # weak 1, strong 1, weak 2


def test_square_plate_in_compression():
    """Simply supported isotropic plate squeezed one way: N = 4 pi^2 D/b^2 (Bryan 1891; Timoshenko and Gere),
    1 %.
    """
    n, side, t, e, nu = 12, 0.2, 2e-3, 3e9, 0.3
    s = np.linspace(0, side, n + 1)
    x, y = (g.ravel() for g in np.meshgrid(s, s, indexing="ij"))
    nodes = np.column_stack([x, y, 0 * x])
    i, j = np.meshgrid(np.arange(n), np.arange(n), indexing="ij")
    first = (i * (n + 1) + j).ravel()
    quads = np.stack([first, first + n + 1, first + n + 2, first + 1], axis=1)
    m = len(quads)
    values = (
        quads,
        np.full(m, t),
        np.tile(plane_stress(e, e, e / 2 / (1 + nu), nu), (m, 1, 1)),
        np.tile([1.0, 0, 0], (m, 1)),
    )
    edge = np.flatnonzero((x == 0) | (x == side) | (y == 0) | (y == side))
    held = Supports.fixed(edge, "z") + Supports.fixed([0], "xy") + Supports.fixed([n], "x")
    structure = Structure(nodes, {"sheet": Membranes(*values), "plate": Plates(*values)}, held)
    nodal = np.zeros((len(nodes), 6, 1))
    for side_x, sign in ((0, 1.0), (side, -1.0)):
        row = np.flatnonzero(x == side_x)
        nodal[row, 0, 0] = sign * side / n
        nodal[row[[0, -1]], 0, 0] /= 2
    solution = statics(structure, Loads(nodal))
    factors, _ = linear_buckling(structure, solution)
    d = e * t**3 / 12 / (1 - nu**2)
    assert_allclose(factors[0], 4 * np.pi**2 * d / side**2, rtol=0.01)


def test_stress_stiffness_turns_the_end_forces(rotation):
    """Rigid rotation w of a stressed frame member turns its end forces: KG R w = w x f on the movements."""
    structure = _column(3, Supports.fixed([0]), turn=rotation)
    force = (-5.0, 2.0, 1.0)
    solution = statics(structure, Loads.forces(structure, [(3, force)]))
    assembly = solution.assembly
    stress = assembly.geometric_stiffness(solution.recover(0))
    ends = solution.loads[:, :3, 0] + solution.reactions[:, :3, 0]
    for k in range(3):
        turned = assembly.nodal(stress @ rigid_motions(structure.nodes)[:, 3 + k : 4 + k])[:, :3, 0]
        expected = np.cross(np.eye(3)[k], ends)
        assert_allclose(turned, expected, rtol=1e-8, atol=1e-9 * np.abs(ends).max())


def _two_columns(second=1.0):
    """Two columns side by side, the second under so many times the force of the first."""
    n = 4
    a, b = _column(n, ENDS["pinned"][1](n)), _column(n, ENDS["pinned"][1](n))
    number = np.arange(n)
    later = Beams(np.stack([number, number + 1], axis=1) + n + 1, _sections(n, 2e6, 200 / 3, 200.0, 3.0),
                  np.tile([0.0, 0, 1], (n, 1)))  # fmt: skip
    held = a.supports + replace(b.supports, node=b.supports.node + n + 1)
    nodes = np.concatenate([a.nodes, b.nodes + np.array([0, 0.1, 0])])
    structure = Structure(nodes, {"one": a.blocks["column"], "two": later}, held)
    loads = Loads.forces(structure, [(n, (-1.0, 0, 0)), (2 * n + 1, (-second, 0, 0))])
    return structure, statics(structure, loads)


def test_stress_of_some_blocks_alone():
    structure, solution = _two_columns(second=4.0)
    whole = linear_buckling(structure, solution, 2)[0]
    first = linear_buckling(structure, solution, 1, stressed=["one"])[0]
    second = linear_buckling(structure, solution, 1, stressed=["two"])[0]
    assert_allclose(4 * whole[0], first[0], rtol=1e-8)
    assert_allclose(whole[0], second[0], rtol=1e-8)
    assert_allclose(first[0] * 0.09 / (200 / 3), 9.869604, rtol=1e-3)


def test_stress_stiffness_is_the_sum_of_its_blocks():
    structure, solution = _two_columns()
    assembly = Assembly(structure)
    parts = [stress_stiffness(assembly, solution, stressed=[name]) for name in structure.blocks]
    whole = stress_stiffness(assembly, solution)
    assert abs(whole - parts[0] - parts[1]).max() <= 1e-12 * abs(whole).max()


def test_a_free_column_is_measured_from_its_pins():
    """Equal and opposite end forces, no support: pinned at both ends it buckles as Euler's column."""
    n = 4
    structure = _column(n, Supports.none())
    assembly = Assembly(structure)
    held = held_at(assembly, np.array([0, n]))
    assert len(held.node) == 6
    assert set(held.node.tolist()) == {0, n}
    loads = Loads.forces(structure, [(0, (1.0, 0, 0)), (n, (-1.0, 0, 0))])
    factor = factorise(assembly, held)
    solution = statics(factor, loads)
    assert np.abs(solution.reactions).max() <= 1e-9
    factors, _ = linear_buckling(factor, solution)
    assert_allclose(factors[0] * 0.09 / (200 / 3), 9.869604, rtol=1e-3)


def test_supports_that_hold_all_get_no_pins():
    structure = _column(4, Supports.fixed([0]))
    assert held_at(Assembly(structure), np.arange(5)) is structure.supports


def test_pins_that_cannot_stop_a_motion_are_refused():
    structure = _column(4, Supports.fixed([0], "xyz"))
    assert len(held_at(Assembly(structure), np.array([0])).node) == 6
    with pytest.raises(Mechanism):
        held_at(Assembly(structure), np.zeros(0, dtype=int))


def test_a_shape_out_of_equilibrium_is_refused():
    structure = _column(4, ENDS["pinned"][1](4))
    solution = statics(structure, Loads.forces(structure, [(4, (-1.0, 0, 0))]))
    factor = factorise(Assembly(structure))
    resists = -(factor.turn.T @ stress_stiffness(factor.assembly, solution) @ factor.turn).tocsc()
    factors, modes = linear_buckling(factor, solution)
    shapes = factor.turn.T @ factor.assembly.vector(modes)
    _check_shapes(factor.matrix, resists, 1 / factors, shapes)
    with pytest.raises(UnbalancedSolve):
        _check_shapes(2 * factor.matrix, resists, 1 / factors, shapes)
