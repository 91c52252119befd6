"""Sparse matrices against dense ones summed by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.sparse as sp
from numpy.testing import assert_allclose

from fea import assembly as assembly_module
from fea.assembly import Assembly, _sorted_pairs, rigid_motions, total
from fea.elements.bar import Bars
from fea.elements.beam import Beams
from fea.elements.mass import Masses
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from fea.structure import Loads, Structure, Supports


@pytest.fixture
def mixed(rng, make_sections, wood):
    """Beams, a bar, membranes (one hung, one warped), plates and a mass on seven nodes."""
    nodes = np.array(
        [[0, 0, 0], [0.1, 0, 0], [0.1, 0.08, 0], [0, 0.09, 0], [0.22, 0, 0], [0.2, 0.1, 0.02], [0.1, 0, 0.1]]
    )
    quads = np.array([[0, 1, 2, 3], [1, 4, 5, 2]])
    offsets = 0.01 * rng.standard_normal((2, 4, 3))
    offsets[0] = 0
    many = np.tile(wood, (2, 1, 1))
    grain = np.tile([1.0, 0.3, 0.0], (2, 1))
    blocks = {
        "beams": Beams(np.array([[0, 1], [1, 4], [4, 6]]), make_sections(3), np.tile([0.0, 1, 0], (3, 1)),
                       mass_per_length=np.full(3, 0.1)),
        "bar": Bars(np.array([[6, 5]]), np.array([4e4])),
        "sheet": Membranes(quads, np.array([1e-3, 2e-3]), many, grain, offsets=offsets, density=np.full(2,
        160.0)), "plate": Plates(quads, np.array([1e-3, 2e-3]), many, grain),
        "mass": Masses(np.array([[6]]), np.array([0.2]), np.array([[[0.0, 0.0, 0.05]]])),
    }  # fmt: skip
    return Structure(nodes, blocks, Supports.fixed([0]))


def _dense(assembly, matrices):
    """Sum element by element in a loop."""
    d = assembly.freedoms
    out = np.zeros((assembly.size, assembly.size))
    for name, block in assembly.structure.blocks.items():
        for nodes, matrix in zip(block.nodes, assembly.on_nodes(name, matrices[name]), strict=True):
            at = (nodes[:, None] * d + np.arange(d)).ravel()
            out[np.ix_(at, at)] += matrix.reshape(len(at), len(at))
    return out


def test_equals_the_dense_sum(mixed):
    assembly = Assembly(mixed)
    blocks = mixed.blocks.items()
    stiff = {n: b.unit_stiffness(assembly.corners(n)) * b.scale[:, None, None] for n, b in blocks}
    expected = _dense(assembly, stiff)
    found = assembly.stiffness()
    assert isinstance(found, sp.csc_matrix)
    assert found.has_canonical_format
    assert_allclose(found.toarray(), expected, rtol=1e-11, atol=1e-13 * np.abs(expected).max())
    mass = _dense(assembly, {n: b.mass(assembly.corners(n)) for n, b in blocks})
    assert_allclose(assembly.mass().toarray(), mass, rtol=1e-11, atol=1e-14 * mass.max())


def test_stress_stiffness_equals_the_dense_sum(mixed, rng):
    assembly = Assembly(mixed)
    recovered = assembly.recover(1e-4 * rng.standard_normal((7, 6)))
    parts = {n: b.geometric_stiffness(assembly.corners(n), recovered[n]) for n, b in mixed.blocks.items()}
    expected = _dense(assembly, parts)
    assert_allclose(
        assembly.geometric_stiffness(recovered).toarray(),
        expected,
        rtol=1e-10,
        atol=1e-13 * np.abs(expected).max(),
    )


def test_pairs_are_sorted_by_both_nodes(rng):
    """Elements of two, four and one corners, some with a node twice, against a sort by comparison."""
    blocks = [rng.integers(0, 9, (n, k)) for n, k in ((7, 2), (5, 4), (3, 1), (4, 4))]
    rows = np.concatenate([np.repeat(b, b.shape[1], axis=1).ravel() for b in blocks])
    columns = np.concatenate([np.tile(b, b.shape[1]).ravel() for b in blocks])
    pairs = _sorted_pairs(blocks, 9)
    assert sorted(pairs.order) == list(range(len(rows)))
    found = np.stack([rows, columns])[:, pairs.order]
    assert (found == np.stack([rows, columns])[:, np.lexsort((columns, rows))]).all()
    different, counts = np.unique(found, axis=1, return_counts=True)
    assert (np.diff(pairs.start) == counts).all()
    assert (pairs.columns == different[1]).all()
    assert (np.diff(pairs.pointer) == np.bincount(different[0], minlength=9)).all()


def test_blocks_of_one_number_of_corners_take_scales_too(mixed):
    """The same sum as that of all blocks, where every element has four corners and where they differ."""
    blocks = {name: mixed.blocks[name] for name in ("sheet", "plate")}
    alone, rest = Assembly(Structure(mixed.nodes, blocks)), Assembly(mixed)
    scales = {"sheet": np.array([3e-3, 0.5e-3])}
    zero = {name: np.zeros(len(mixed.blocks[name].nodes)) for name in ("beams", "bar", "mass")}
    expected = rest.stiffness(scales | zero).toarray()
    assert_allclose(alone.stiffness(scales).toarray(), expected, rtol=1e-13, atol=1e-15 * expected.max())


def test_rows_summed_some_at_a_time_are_the_same(mixed, monkeypatch):
    expected = Assembly(mixed).stiffness()
    monkeypatch.setattr(assembly_module, "_ROWS", 3)
    found = Assembly(mixed).stiffness()
    assert (found.indptr == expected.indptr).all()
    assert (found.indices == expected.indices).all()
    assert (found.data == expected.data).all()


def test_node_graph_joins_what_shares_an_element(mixed):
    expected = np.zeros((7, 7))
    for block in mixed.blocks.values():
        for nodes in block.nodes:
            expected[np.ix_(nodes, nodes)] = 1
    assert (Assembly(mixed).node_graph().toarray() == expected).all()


def test_refilled_equals_rebuilt(mixed):
    assembly = Assembly(mixed)
    first = assembly.stiffness()
    before = first.copy()
    thickness = np.array([3e-3, 0.5e-3])
    refilled = assembly.stiffness({"sheet": thickness})
    other = replace(
        mixed, blocks={**mixed.blocks, "sheet": replace(mixed.blocks["sheet"], thickness=thickness)}
    )
    rebuilt = Assembly(other).stiffness()
    assert (refilled.indices == rebuilt.indices).all()
    assert_allclose(refilled.data, rebuilt.data, rtol=1e-12, atol=1e-14 * np.abs(rebuilt.data).max())
    assert (first != before).nnz == 0
    # And the old values come back bit for bit.
    assert (assembly.stiffness() != first).nnz == 0


def test_stiffness_is_linear_in_the_properties(mixed):
    """K = K0 + t1 K1 + t2 K2 from three refills predicts a fourth."""
    assembly = Assembly(mixed)
    zero = assembly.stiffness({"sheet": np.zeros(2)}).toarray()
    unit = [assembly.stiffness({"sheet": np.eye(2)[k]}).toarray() - zero for k in (0, 1)]
    expected = zero + 2e-3 * unit[0] + 0.7e-3 * unit[1]
    found = assembly.stiffness({"sheet": np.array([2e-3, 0.7e-3])}).toarray()
    # The unit matrices are for a metre of thickness: their rounding counts.
    assert_allclose(found, expected, rtol=0, atol=1e-14 * np.abs(unit).max())


def test_unit_stiffness_is_on_node_freedoms_and_safe(mixed):
    assembly = Assembly(mixed)
    unit = assembly.unit_stiffness()
    assert unit["sheet"].shape == (2, 4, 6, 4, 6)
    assert unit["beams"].shape == (3, 2, 6, 2, 6)
    expected = assembly.on_nodes("sheet", mixed.blocks["sheet"].unit_stiffness(assembly.corners("sheet")))
    assert_allclose(unit["sheet"], expected, rtol=1e-13)
    with pytest.raises(ValueError, match="read-only"):
        unit["sheet"][0, 0, 0, 0, 0] = 1


def test_numbering_of_the_nodes_changes_nothing(mixed, rng):
    new = rng.permutation(7)
    nodes = np.empty_like(mixed.nodes)
    nodes[new] = mixed.nodes
    blocks = {name: replace(block, nodes=new[block.nodes]) for name, block in mixed.blocks.items()}
    here = Assembly(mixed).stiffness().toarray().reshape(7, 6, 7, 6)
    there = Assembly(Structure(nodes, blocks)).stiffness().toarray().reshape(7, 6, 7, 6)
    assert_allclose(there[new][:, :, new], here, rtol=1e-11, atol=1e-13 * np.abs(here).max())


def test_rigid_motions_and_total(rng):
    points = rng.standard_normal((5, 3))
    motions = rigid_motions(points).reshape(5, 6, 6)
    for k in range(3):
        turn = np.eye(3)[k]
        assert_allclose(motions[:, :3, 3 + k], np.cross(turn, points), rtol=1e-14, atol=1e-15)
        assert_allclose(motions[:, 3:, 3 + k], np.tile(turn, (5, 1)))
    nodal = rng.standard_normal((5, 6, 2))
    sums = total(points, nodal)
    assert_allclose(sums[:3], nodal[:, :3].sum(axis=0), rtol=1e-12)
    moments = np.cross(points[:, :, None], nodal[:, :3], axis=1) + nodal[:, 3:]
    assert_allclose(sums[3:], moments.sum(axis=0), rtol=1e-12)


def test_rigid_motions_cost_nothing(mixed):
    assembly = Assembly(mixed)
    stiff, motions = assembly.stiffness(), rigid_motions(mixed.nodes)
    assert np.abs(stiff @ motions).max() <= 1e-12 * (abs(stiff) @ np.abs(motions)).max()


def test_mass_of_the_whole(mixed):
    assembly = Assembly(mixed)
    found = rigid_motions(mixed.nodes).T @ (assembly.mass() @ rigid_motions(mixed.nodes))
    lengths = np.array([0.1, 0.12, np.sqrt(0.12**2 + 0.1**2)])
    sheet, corners = mixed.blocks["sheet"], assembly.corners("sheet")
    areas = np.linalg.norm(np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1]), axis=1) / 2
    mass = 0.1 * lengths.sum() + 160 * (sheet.thickness * areas).sum() + 0.2
    assert_allclose(np.diag(found)[:3], mass, rtol=1e-10)


def test_structure_without_elements_gives_an_empty_matrix():
    assembly = Assembly(Structure(np.zeros((2, 3)), {}))
    assert assembly.stiffness().shape == (6, 6)
    assert assembly.stiffness().nnz == 0


def test_vector_and_nodal_are_inverse(mixed, rng):
    assembly = Assembly(mixed)
    nodal = rng.standard_normal((7, 6, 3))
    assert (assembly.nodal(assembly.vector(nodal)) == nodal).all()


def test_nothing_is_changed(mixed, rng):
    for block in mixed.blocks.values():
        for value in vars(block).values():
            if isinstance(value, np.ndarray):
                value.flags.writeable = False
    assembly = Assembly(mixed)
    moves = 1e-4 * rng.standard_normal((7, 6))
    moves.flags.writeable = False
    assembly.stiffness()
    assembly.mass()
    assembly.geometric_stiffness(assembly.recover(moves))
    assert (assembly.distributed_loads() == 0).all()
    assert not Loads.zero(mixed).nodal.any()
