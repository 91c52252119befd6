"""VTU files: written whole, true to the corners, read back, opened by a viewer's library without a murmur."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.elements.bar import Bars
from fea.elements.beam import Beams
from fea.elements.mass import Masses
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from fea.elements.shear_panel import ShearPanels
from fea.elements.spring import Springs
from fea.export import read, write
from fea.solve import statics
from fea.structure import Loads, Structure, Supports


@pytest.fixture
def structure(make_sections, wood):
    """Two beams one above the other, a web hung between them on offsets, a bar, a spring, a mass."""
    nodes = np.array([[0.0, 0, 0], [0.1, 0, 0], [0, 0, 0.05], [0.1, 0, 0.05], [0.1, 0, 0.05]])
    offsets = np.zeros((1, 4, 3))
    offsets[:, :, 1], offsets[0, :2, 2], offsets[0, 2:, 2] = 0.004, 0.003, -0.003
    quad, one = np.array([[0, 1, 3, 2]]), np.ones(1)
    blocks = {
        "caps": Beams(
            np.array([[0, 1], [2, 3]]), make_sections(2), np.tile([0.0, 1, 0], (2, 1)), part=np.array([0, 1])
        ),
        "web": Membranes(
            quad, 1e-3 * one, wood[None], np.array([[0, 0, 1.0]]), offsets=offsets, part=np.array([2])
        ),
        "web plate": Plates(
            quad, 1e-3 * one, wood[None], np.array([[0, 0, 1.0]]), offsets=offsets, part=np.array([2])
        ),
        "panel": ShearPanels(quad, 1e-3 * one, 1e8 * one),
        "post": Bars(np.array([[1, 3]]), np.array([1e4]), part=np.array([3])),
        "joint": Springs(np.array([[3, 4]]), np.full((1, 6), 1e4), np.eye(3)[None]),
        "engine": Masses(np.array([[4]]), one),
        "nothing": Bars(np.zeros((0, 2), dtype=np.intp), np.zeros(0)),
    }
    return Structure(nodes, blocks, Supports.fixed([0, 2]), ("lower cap", "upper cap", "Schubsteg ä", "post"))


@pytest.fixture
def solution(structure):
    return statics(structure, Loads.forces(structure, [(4, (0, 1.0, 2.0)), (1, (3.0, 0, 0))]))


def test_round_trip(tmp_path, structure, solution):
    path = tmp_path / "spar.vtu"
    reserve = {"caps": np.array([1.5, 0.9]), "web": np.array([3.0])}
    before = solution.displacements.copy()
    write(path, structure, solution, fields={"reserve factor": reserve})
    assert (solution.displacements == before).all()
    back = read(path)
    assert back.parts == structure.parts
    assert list(back.blocks) == [name for name in structure.blocks if name != "nothing"]
    for name, cells in back.blocks.items():
        block = structure.blocks[name]
        assert_allclose(back.points[cells], structure.true_corners(block), rtol=1e-15, atol=0)
        moved = solution.assembly.element_displacements(name, solution.displacements[:, :, 0])
        assert_allclose(back.point_data["displacement"][cells], moved[:, :, :3], rtol=1e-12, atol=1e-18)
        expected = [-1] * len(cells) if block.part is None else block.part
        assert back.part[name].tolist() == list(expected)
    assert set(back.cell_data["reserve factor"]) == {"caps", "web"}
    assert (back.cell_data["reserve factor"]["caps"] == reserve["caps"]).all()
    recovered = solution.recover(0)
    assert (back.cell_data["beam forces M_y, end 1"]["caps"] == recovered["caps"]["forces"][:, 0, 4]).all()
    assert (back.cell_data["beam forces N, end 2"]["caps"] == recovered["caps"]["forces"][:, 1, 0]).all()
    assert (back.cell_data["membrane stress"]["web"] == recovered["web"]["stress"]).all()
    assert (back.cell_data["plate moment"]["web plate"] == recovered["web plate"]["moment"]).all()
    assert (back.cell_data["shear panel shear flow"]["panel"] == recovered["panel"]["shear_flow"]).all()
    assert (back.cell_data["bar axial force"]["post"] == recovered["post"]["axial_force"]).all()
    assert (back.cell_data["spring force z"]["joint"] == recovered["joint"]["force"][:, 2]).all()
    assert set(back.cell_data["bar axial force"]) == {"post"}


def test_corners_of_one_node_stay_joined_or_apart(tmp_path, structure):
    """Web and plate share their hung points; the caps keep theirs on the nodes."""
    write(tmp_path / "s.vtu", structure)
    back = read(tmp_path / "s.vtu")
    assert (back.blocks["web"] == back.blocks["web plate"]).all()
    assert not set(back.blocks["web"].ravel()) & set(back.blocks["caps"].ravel())
    assert set(back.blocks["panel"].ravel()) == set(back.blocks["caps"].ravel())
    assert not back.point_data
    assert not back.cell_data


def test_opens_in_pyvista(tmp_path, structure, solution):
    """Warnings are errors in this suite: nothing is said while reading."""
    pyvista = pytest.importorskip("pyvista")
    path = tmp_path / "spar.vtu"
    write(path, structure, solution, fields={"reserve factor": {"web": np.array([3.0])}})
    mesh = pyvista.read(path)
    assert mesh.n_cells == 8
    assert {int(t) for t in mesh.celltypes} == {1, 3, 9}  # vertex, line, quadrilateral
    assert np.isnan(mesh.cell_data["reserve factor"]).sum() == 7
    assert mesh.point_data["displacement"].shape == (mesh.n_points, 3)
    names = bytes(mesh.field_data["part names"]).decode().split("\n")
    assert tuple(names) == structure.parts
    web = mesh.cell_data["part"] == 2
    assert_allclose(mesh.extract_cells(np.flatnonzero(web)).bounds[2:4], [0.004, 0.004], rtol=1e-12)
    assert np.isfinite(mesh.warp_by_vector("displacement").points).all()


def test_other_case_and_other_structure(tmp_path, structure):
    loads = np.zeros((5, 6, 2))
    loads[1, 2] = [1.0, -2.0]
    solution = statics(structure, Loads(loads))
    write(tmp_path / "a.vtu", structure, solution, case=0)
    write(tmp_path / "b.vtu", replace(structure), solution, case=1)
    a, b = read(tmp_path / "a.vtu"), read(tmp_path / "b.vtu")
    assert_allclose(b.point_data["rotation"], -2 * a.point_data["rotation"], rtol=1e-9, atol=1e-15)
    left, right = a.cell_data["bar axial force"]["post"], b.cell_data["bar axial force"]["post"]
    assert_allclose(right, -2 * left, rtol=1e-9)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"x": {"cap": np.zeros(2)}}, "no block 'cap'"),
        ({"x": {"caps": np.zeros(3)}}, "caps has 2 elements"),
        ({"x": {"caps": np.zeros((2, 3, 3))}}, "caps has 2 elements"),
        ({"x": {"caps": np.zeros((2, 3)), "web": np.zeros((1, 2))}}, "different widths"),
    ],
)
def test_bad_fields_leave_the_old_file(tmp_path, structure, fields, words):
    path = tmp_path / "spar.vtu"
    path.write_text("old")
    with pytest.raises(ValueError, match=words):
        write(path, structure, fields=fields)
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["spar.vtu"]


def test_a_failed_write_leaves_nothing(tmp_path, structure, monkeypatch):
    import meshio

    def fail(*args, **more):
        raise OSError("disk full")

    monkeypatch.setattr(meshio.vtu, "write", fail)
    (tmp_path / "spar.vtu").write_text("old")
    with pytest.raises(OSError, match="disk full"):
        write(tmp_path / "spar.vtu", structure)
    assert (tmp_path / "spar.vtu").read_text() == "old"
    assert len(list(tmp_path.iterdir())) == 1


def test_files_of_others_are_refused(tmp_path):
    import meshio

    (tmp_path / "text.vtu").write_text("no mesh")
    with pytest.raises(ValueError, match="not a VTU file"):
        read(tmp_path / "text.vtu")
    meshio.vtu.write(tmp_path / "other.vtu", meshio.Mesh(np.zeros((2, 3)), [("line", np.array([[0, 1]]))]))
    with pytest.raises(ValueError, match="not written here"):
        read(tmp_path / "other.vtu")
    with pytest.raises(OSError, match="nowhere"):
        read(tmp_path / "nowhere.vtu")
