"""What a structure refuses, at the last good value and the first bad one."""

from __future__ import annotations

import numpy as np
import pytest

from fea.elements.bar import Bars
from fea.elements.membrane import Membranes
from fea.structure import BadStructure, Loads, Structure, Supports

NODES = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])


def _bars(**changes):
    values = {"nodes": np.array([[0, 1], [1, 2]]), "axial_rigidity": np.array([1.0, 2.0])} | changes
    return Bars(**values)


def test_a_good_one_is_taken_and_its_nodes_are_locked():
    structure = Structure(NODES.copy(), {"bars": _bars()}, Supports.fixed([2]))
    assert structure.freedoms == 3
    with pytest.raises(ValueError, match="read-only"):
        structure.nodes[0, 0] = 1


@pytest.mark.parametrize(
    ("nodes", "bars", "supports", "words"),
    [
        (NODES[:, :2], _bars(), Supports.none(), "nodes: shape"),
        (np.where(NODES == 1, np.nan, NODES), _bars(), Supports.none(), "node 1 is not finite"),
        (NODES, _bars(nodes=np.array([[0, 3]])), Supports.none(), "node 3 of 3"),
        (NODES, _bars(nodes=np.array([[-1, 2]])), Supports.none(), "does not exist"),
        (NODES, _bars(offsets=np.zeros((2, 3, 3))), Supports.none(), "offsets"),
        (NODES, _bars(axial_rigidity=np.array([1.0, np.inf])), Supports.none(), "element 1 is not finite"),
        (NODES, _bars(), Supports.fixed([3], "x"), "node 3 of 3"),
        (NODES, _bars(), Supports.fixed([1], "x") + Supports.fixed([1], "x"), "node 1 is held twice"),
    ],
)
def test_bad_ones_are_refused_by_name(nodes, bars, supports, words):
    with pytest.raises(BadStructure, match=words):
        Structure(nodes.copy(), {"bars": bars}, supports)


def _held(*directions):
    n = len(directions)
    unit = np.array([np.array(d, dtype=float) / np.linalg.norm(d) for d in directions])
    return Supports(np.zeros(n, dtype=np.intp), np.zeros(n, dtype=bool), unit, np.zeros(n))


def test_directions_square_to_each_other():
    Structure(NODES.copy(), {"bars": _bars()}, _held((1, 1, 0), (-1, 1, 0), (0, 0, 1)))
    with pytest.raises(BadStructure, match="not square"):
        Structure(NODES.copy(), {"bars": _bars()}, _held((1, 1, 0), (1, 0, 0)))
    with pytest.raises(BadStructure, match="not square"):
        Structure(NODES.copy(), {"bars": _bars()}, _held((1, 0, 0), (0, 1, 0), (0.6, 0.8, 0)))
    # A movement and a rotation about the same axis do not disturb each other.
    Structure(NODES.copy(), {"bars": _bars()}, Supports.fixed([0], "xX"))


def test_direction_of_no_unit_length():
    bad = Supports(np.array([0]), np.array([False]), np.array([[0, 0, 1.1]]), np.zeros(1))
    with pytest.raises(BadStructure, match="row 0 is not a unit vector"):
        Structure(NODES.copy(), {"bars": _bars()}, bad)


def test_offsets_need_rotations():
    assert Structure(NODES.copy(), {"bars": _bars(offsets=np.zeros((2, 2, 3)))}).freedoms == 6


def test_loads_add_up():
    structure = Structure(NODES.copy(), {"bars": _bars()})
    loads = Loads.forces(structure, [(1, (1.0, 2.0, 3.0)), (1, (1.0, 0, 0, 4.0, 0, 0))])
    assert loads.nodal[1, :, 0].tolist() == [2, 2, 3, 4, 0, 0]
    assert not Loads.zero(structure).nodal.any()


def test_warped_membranes_are_flattened_and_shear_panels_are_not(wood):
    from fea.elements.shear_panel import ShearPanels

    nodes = np.array([[0.0, 0, 0], [1, 0, 0.1], [1, 1, 0], [0, 1, 0.1]])
    quads = np.array([[0, 1, 2, 3]])
    sheet = Membranes(quads, np.ones(1), wood[None], np.array([[1.0, 0, 0]]))
    structure = Structure(nodes, {"sheet": sheet, "web": ShearPanels(quads, np.ones(1), np.ones(1))})
    assert np.ptp(structure.corners(sheet)[0][0, :, 2]) < 1e-15
    assert np.ptp(structure.true_corners(sheet)[0, :, 2]) == 0.1
    assert np.ptp(structure.corners(structure.blocks["web"])[0][0, :, 2]) == 0.1
