"""Variants of one structure against closed forms and against a factorisation of each variant's own."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from fea.elements.bar import Bars
from fea.elements.beam import Beams, Sections
from fea.elements.membrane import Membranes, plane_stress
from fea.elements.plate import Plates
from fea.reanalysis import Variants, node_recovery
from fea.solve import IndefiniteStiffness, factorise, statics
from fea.structure import Loads, Structure, Supports

SEED = 51907


def _bars_in_series(n: int = 6) -> Structure:
    nodes = np.zeros((n + 1, 3))
    nodes[:, 0] = np.linspace(0.0, 0.3, n + 1)
    pairs = np.stack([np.arange(n), np.arange(1, n + 1)], axis=1)
    held = Supports.fixed(np.arange(n + 1), "yz") + Supports.fixed([0], "x")
    return Structure(nodes, {"bars": Bars(pairs, np.full(n, 250.0))}, held)


def test_bars_in_series_give_the_sum_of_their_flexibilities() -> None:
    structure = _bars_in_series()
    load = Loads.forces(structure, [(6, (4.0, 0.0, 0.0))])
    solution = statics(structure, load)
    groups = np.array([0, 0, 1, 1, -1, 2])
    variants = Variants(solution, {"bars": groups}, 3)
    factors = np.exp(0.3 * np.random.default_rng(SEED).standard_normal((7, 3)))
    every = np.concatenate([factors, np.ones((7, 1))], axis=1)[:, groups]
    expected = 4.0 * 0.05 / 250.0 * np.cumsum(1 / every, axis=1)
    # Rounding of a well-conditioned chain.
    assert_allclose(variants.solve(factors)[1:, 0].T, expected, rtol=1e-11)


def test_a_group_that_lies_in_several_places_is_condensed_in_each() -> None:
    structure = _bars_in_series(9)
    solution = statics(structure, Loads.forces(structure, [(9, (4.0, 0.0, 0.0)), (5, (1.0, 0.0, 0.0))]))
    groups = np.array([0, 0, 0, 1, 0, 0, 0, 1, 1])
    factors = np.exp(0.3 * np.random.default_rng(SEED).standard_normal((7, 2)))
    force = np.array([5.0] * 5 + [4.0] * 4)
    expected = 0.3 / 9 / 250.0 * np.cumsum(force / factors[:, groups], axis=1)
    # Rounding of a well-conditioned chain.
    assert_allclose(Variants(solution, {"bars": groups}, 2).solve(factors)[1:, 0].T, expected, rtol=1e-12)


def _box() -> Structure:
    """A rectangular tube of sheets with stringers along its corners, clamped at one end."""
    n, sides = 9, 4
    ring = np.array([[0.0, 0.0], [0.06, 0.0], [0.06, 0.03], [0.0, 0.03]])
    y = np.linspace(0.0, 0.4, n)
    nodes = np.array([[x, at, z] for at in y for x, z in ring])
    quads, kind, sticks, corner = [], [], [], []
    for i in range(n - 1):
        for k in range(sides):
            a, b = sides * i + k, sides * i + (k + 1) % sides
            quads.append([a, b, b + sides, a + sides])
            kind.append(k)
            sticks.append([a, a + sides])
            corner.append(k)
    m = len(quads)
    along, sheet = np.tile([0.0, 1.0, 0.0], (m, 1)), np.full(m, 1e-3)
    stiff = np.tile(plane_stress(*(np.array(v) for v in (3e9, 1e8, 2e8, 0.3))), (m, 1, 1))
    one = np.ones(m)
    section = Sections(*(v * one for v in (1e5, 0.2, 0.2, 0.05, 1e4, 1e4)))
    blocks = {
        "sheets": Membranes(np.array(quads), sheet, stiff, along),
        "plates": Plates(np.array(quads), sheet, stiff, along),
        "sticks": Beams(np.array(sticks), section, np.tile([0.0, 0.0, 1.0], (m, 1))),
    }
    return Structure(nodes, blocks, Supports.fixed(np.arange(sides)))


@pytest.fixture(scope="module")
def box() -> tuple[Variants, dict[str, np.ndarray], Assembly, Loads]:
    structure = _box()
    load = Loads.forces(structure, [(32, (1.0, 0.0, 5.0)), (17, (0.0, -2.0, 3.0))])
    assembly = Assembly(structure)
    m = len(structure.blocks["sheets"].nodes)
    groups = {"sheets": np.arange(m) % 4, "plates": np.arange(m) % 4, "sticks": 4 + np.arange(m) % 4}
    groups["sticks"][-1] = -1
    return Variants(statics(assembly, load), groups, 8), groups, assembly, load


def test_variants_agree_with_solves_of_their_own(box: tuple) -> None:
    variants, groups, assembly, load = box
    factors = np.exp(0.4 * np.random.default_rng(SEED).standard_normal((5, 8)))
    moves = variants.solve(factors)
    blocks = assembly.structure.blocks
    for k, s in enumerate(factors):
        scales = {name: blocks[name].scale * np.append(s, 1.0)[g] for name, g in groups.items()}
        own = statics(factorise(assembly, stiffness=assembly.stiffness(scales)), load).displacements[:, :, 0]
        # Rounding at a condition number of the scaled matrix of some 1e6.
        assert_allclose(moves[:, :, k], own, rtol=0, atol=1e-9 * np.abs(own).max())
        assert_allclose(variants.direct(s), own, rtol=0, atol=1e-9 * np.abs(own).max())
    assert variants.residual(factors, moves).max() < 1e-8


def test_one_and_many_variants_are_the_same(box: tuple) -> None:
    variants = box[0]
    factors = np.exp(0.2 * np.random.default_rng(SEED).standard_normal((3, 8)))
    together = variants.solve(factors)
    for k in range(3):
        alone = variants.solve(factors[[k]])[:, :, 0]
        # Products of many and of one are summed in another order; rounding at a condition number of 1e6.
        assert_allclose(together[:, :, k], alone, rtol=0, atol=1e-9 * np.abs(alone).max())


def test_loads_solved_together_are_those_solved_alone(box: tuple) -> None:
    _, groups, assembly, load = box
    other = Loads.forces(assembly.structure, [(20, (0.0, 1.0, -2.0))])
    one, two = statics(assembly, load), statics(assembly, other)
    factors = np.exp(0.3 * np.random.default_rng(SEED).standard_normal((3, 8)))
    both = Variants(one, groups, 8, beside=[two])
    together = both.solve(factors)
    for k, solution in enumerate((one, two)):
        alone = Variants(solution, groups, 8).solve(factors)
        # Rounding at a condition number of 1e6.
        assert_allclose(together[:, :, 3 * k : 3 * k + 3], alone, rtol=0, atol=1e-9 * np.abs(alone).max())
    assert both.residual(factors, together).shape == (6,)
    assert both.residual(factors, together).max() < 1e-8


def test_a_common_factor_divides_the_movement() -> None:
    structure = _bars_in_series()
    solution = statics(structure, Loads.forces(structure, [(6, (4.0, 0.0, 0.0)), (2, (-1.0, 0.0, 0.0))]))
    variants = Variants(solution, {"bars": np.array([0, 1, 2, 0, 1, 2])}, 3)
    assert_allclose(variants.solve(np.full((1, 3), 2.5))[:, :, 0], solution.displacements[:, :, 0] / 2.5,
                    rtol=0, atol=1e-12 * np.abs(solution.displacements).max())  # fmt: skip


def test_recovery_is_linear_in_the_nodes(box: tuple) -> None:
    _, _, assembly, _ = box
    moves = np.random.default_rng(SEED).standard_normal((len(assembly.structure.nodes), 6))
    found = assembly.recover(moves)
    for name, what in (("sheets", "stress"), ("sticks", "forces"), ("plates", "moment")):
        own = moves[assembly.structure.blocks[name].nodes].reshape(len(found[name][what]), -1)
        computed = np.einsum("e...k,ek->e...", node_recovery(assembly, name, what), own)
        scale = np.abs(found[name][what]).max()
        assert_allclose(computed, found[name][what], rtol=0, atol=1e-10 * scale)


def test_stiffness_that_gives_energy_back_is_refused(box: tuple) -> None:
    variants = box[0]
    for group in range(4):
        factors = np.ones((2, 8))
        factors[1, group] = -1.0
        with pytest.raises(IndefiniteStiffness, match="not positive"):
            variants.solve(factors)


def test_a_group_that_does_not_exist_is_refused() -> None:
    structure = _bars_in_series()
    solution = statics(structure, Loads.forces(structure, [(6, (1.0, 0.0, 0.0))]))
    Variants(solution, {"bars": np.full(6, 1)}, 2)
    with pytest.raises(ValueError, match="groups of bars"):
        Variants(solution, {"bars": np.full(6, 2)}, 2)
    with pytest.raises(ValueError, match="groups of bars"):
        Variants(solution, {"bars": np.zeros(5, dtype=np.intp)}, 2)


def test_recovery_on_nodes_is_that_of_the_elements() -> None:
    nodes = np.array([[0.0, 0, 0], [0.1, 0.01, 0], [0.2, 0, 0.02]])
    sections = Sections(*(np.full(2, v) for v in (900.0, 0.2, 0.1, 0.05, 300.0, 400.0)))
    offsets = np.random.default_rng(4401).uniform(-0.01, 0.01, (2, 2, 3))
    beams = Beams(np.array([[0, 1], [1, 2]]), sections, np.tile([0.0, 0.0, 1.0], (2, 1)), offsets)
    assembly = Assembly(Structure(nodes, {"beams": beams}))
    moves = np.random.default_rng(5517).standard_normal((3, 6))
    unit = node_recovery(assembly, "beams", "forces")
    found = np.einsum("epci,ei->epc", unit, moves[beams.nodes].reshape(2, 12))
    expected = assembly.recover(moves)["beams"]["forces"]
    assert_allclose(found, expected, rtol=1e-9, atol=1e-12 * np.abs(expected).max())  # rounding
