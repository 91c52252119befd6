"""Natural frequencies of beams and bodies against closed forms (roots as in any book on vibration)."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from fea.elements.beam import Beams
from fea.elements.mass import Masses
from fea.elements.spring import Springs
from fea.solve import Mechanism, factorise, pinned
from fea.structure import Structure, Supports
from fea.vibration import natural_modes

LENGTH, DENSITY, AREA = 0.3, 450.0, 200e-6
INERTIA = 0.01 * 0.02 * (0.01**2 + 0.02**2) / 12


def _beam(n, make_sections, supports, length=LENGTH):
    nodes = np.zeros((n + 1, 3))
    nodes[:, 0] = np.linspace(0, length, n + 1)
    number = np.arange(n)
    block = Beams(
        np.stack([number, number + 1], axis=1),
        make_sections(n, shear=False),
        np.tile([0.0, 0, 1], (n, 1)),
        mass_per_length=np.full(n, DENSITY * AREA),
        polar_inertia=np.full(n, DENSITY * INERTIA),
    )
    return Structure(nodes, {"beam": block}, supports)


def _main_direction(modes):
    """0 1 2 along x y z, 3 turning about x."""
    size = np.abs(modes[:, :4]).max(axis=0)
    size[3] *= 0.01
    return np.argmax(size, axis=0)


def test_cantilever(make_sections):
    """B16: 169.224, 1060.51 Hz to 0.1 % and 2969.45 Hz; torsion 712.87 Hz; sideways half of it (width half
    the depth).
    """
    frequencies, modes = natural_modes(_beam(10, make_sections, Supports.fixed([0])), 12)
    way = _main_direction(modes)
    assert_allclose(frequencies[way == 2][:2], [169.224, 1060.51], rtol=1e-3)
    assert_allclose(frequencies[way == 2][2], 2969.45, rtol=2e-3)
    assert_allclose(frequencies[way == 1][:2], np.array([169.224, 1060.51]) / 2, rtol=1e-3)
    # Linear twist: (2n - 1)/4L with an error of (pi h/4L)^2/6 on ten elements, 0.1 %.
    assert_allclose(frequencies[way == 3][0], 712.87, rtol=1.1e-3)


def test_torsion_converges_to_the_second_mode(make_sections):
    errors = []
    for n in (10, 20, 40):
        frequencies, modes = natural_modes(_beam(n, make_sections, Supports.fixed([0])), 12)
        errors.append(frequencies[_main_direction(modes) == 3][1] / 2138.6 - 1)
    assert_allclose(np.log2(np.array(errors[:-1]) / errors[1:]), 2, atol=0.1)
    assert errors[-1] < 1e-3


def test_modes_are_orthogonal_of_unit_mass(make_sections):
    structure = _beam(10, make_sections, Supports.fixed([0]))
    frequencies, modes = natural_modes(structure, 6)
    assembly = Assembly(structure)
    x = assembly.vector(modes)
    assert_allclose(x.T @ (assembly.mass() @ x), np.eye(6), rtol=0, atol=1e-9)
    omega2 = (2 * np.pi * frequencies) ** 2
    assert_allclose(x.T @ (assembly.stiffness() @ x), np.diag(omega2), rtol=1e-7, atol=1e-6 * omega2.max())
    assert np.abs(modes[0]).max() <= 1e-12 * np.abs(modes).max()


def test_free_free_beam(make_sections):
    """beta L = 4.730041 for a beam in flight; no rigid motion among the modes, whichever way it lies."""
    structure = _beam(12, make_sections, Supports.none())
    frequencies, modes = natural_modes(structure, 4, free=True)
    way = _main_direction(modes)
    ei = 10e9 * 0.01 * 0.02**3 / 12
    expected = 4.730041**2 / (2 * np.pi * LENGTH**2) * np.sqrt(ei / (DENSITY * AREA))
    assert_allclose(frequencies[way == 2][0], expected, rtol=1e-3)
    assert_allclose(frequencies[way == 1][0], expected / 2, rtol=1e-3)


def test_half_with_symmetry_has_the_symmetric_modes(make_sections):
    whole, shapes = natural_modes(_beam(16, make_sections, Supports.none()), 12, free=True)
    half, half_shapes = natural_modes(
        _beam(8, make_sections, Supports.fixed([0], "xYZ"), LENGTH / 2), 4, free=True
    )
    symmetric = [f for f, s in zip(whole, shapes.transpose(2, 0, 1), strict=True)
                 if _main_direction(s[..., None])[0] == 2 and s[0, 2] * s[-1, 2] > 0]  # fmt: skip
    way = _main_direction(half_shapes)
    assert_allclose(half[way == 2][0], symmetric[0], rtol=1e-6)


def test_large_and_small_take_different_ways_to_one_answer(make_sections):
    few, _ = natural_modes(_beam(20, make_sections, Supports.fixed([0])), 3)
    many, _ = natural_modes(_beam(80, make_sections, Supports.fixed([0])), 3)
    assert_allclose(many, few, rtol=1e-4)
    few, _ = natural_modes(_beam(20, make_sections, Supports.none()), 3, free=True)
    many, _ = natural_modes(_beam(80, make_sections, Supports.none()), 3, free=True)
    assert_allclose(many, few, rtol=1e-3)


@pytest.mark.parametrize("free", [False, True])
def test_a_factor_that_is_there_answers_the_same(make_sections, free):
    assembly = Assembly(_beam(80, make_sections, Supports.none() if free else Supports.fixed([0])))
    factor = pinned(assembly) if free else factorise(assembly)
    one, other = (natural_modes(of, 3, free=free)[0] for of in (assembly, factor))
    assert_allclose(one, other, rtol=1e-12)


def test_mass_on_a_spring():
    """sqrt(k/m)/2 pi in each direction; only three modes exist however many are asked for."""
    nodes = np.zeros((2, 3))
    spring = Springs(np.array([[0, 1]]), np.array([[100.0, 400.0, 900.0, 1, 1, 1]]), np.eye(3)[None])
    structure = Structure(
        nodes, {"spring": spring, "mass": Masses(np.array([[1]]), np.array([4.0]))}, Supports.fixed([0])
    )
    frequencies, modes = natural_modes(structure, 6)
    assert_allclose(frequencies, np.array([5.0, 10.0, 15.0]) / 2 / np.pi, rtol=1e-10)
    assert modes.shape == (2, 6, 3)


def test_two_masses_in_flight():
    """sqrt(k (1/m1 + 1/m2)) along the axis that the spring joins."""
    spring = Springs(np.array([[0, 1]]), np.array([[100.0, 200.0, 300.0, 1, 1, 1]]), np.eye(3)[None])
    arms = np.array([[[0.1, 0.0, 0.0]], [[0.0, 0.2, 0.0]], [[0.0, 0.0, 0.3]], [[0.1, 0.1, 0.0]]])
    masses = Masses(np.array([[0], [0], [0], [0]]), np.ones(4), arms)
    other = Masses(np.array([[1], [1], [1], [1]]), np.ones(4), arms)
    structure = Structure(np.zeros((2, 3)), {"spring": spring, "a": masses, "b": other})
    frequencies, modes = natural_modes(structure, 6, free=True)
    assert len(frequencies) == 6
    # Two equal bodies move against each other: the frequencies are those of one on springs of twice the rate.
    held = Structure(
        np.zeros((2, 3)),
        {"spring": Springs(spring.nodes, 2 * spring.rates, spring.axes), "b": other},
        Supports.fixed([0]),
    )
    assert_allclose(frequencies, natural_modes(held, 6)[0], rtol=1e-9)
    assert_allclose(modes[0], -modes[1], rtol=1e-7, atol=1e-9)


def test_without_mass(make_sections):
    from dataclasses import replace

    structure = _beam(2, make_sections, Supports.fixed([0]))
    block = replace(structure.blocks["beam"], mass_per_length=None, polar_inertia=None)
    with pytest.raises(Mechanism, match="without mass"):
        natural_modes(replace(structure, blocks={"beam": block}), 1)
