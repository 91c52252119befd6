import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.pictures.surfaces import surfaces
from models.structure import build
from models.wing.reading import read
from models.wings import shipped


@pytest.fixture(scope="module")
def spar():
    return build(read(shipped()["spar-c"]))


@pytest.fixture(scope="module")
def wing():
    return build(read(shipped()["powered-tailless"]))


def test_a_specimens_caps_and_web_fill_the_box_that_its_file_describes(spar):
    # spar-c.toml: 360 mm long, 30 mm deep, caps 10 x 6 mm, a web of 1.6 mm on the front face.
    parts = surfaces(spar)
    caps = parts["caps"].points
    middle = spar.wing.spars[0].x.at(0.0)
    assert_allclose(np.ptp(caps, axis=0), [0.010, 0.360, 0.030], rtol=1e-9)
    upper = caps[caps[:, 2] > caps[:, 2].mean()]
    assert_allclose(np.ptp(upper[:, 2]), 0.006, rtol=1e-9)
    web = parts["webs"].points
    assert_allclose([web[:, 0].min(), web[:, 0].max()], [middle - 0.0066, middle - 0.0050], rtol=1e-9)
    assert_allclose(np.ptp(web[:, 2]), 0.018, rtol=1e-9)


def test_volume_of_the_boxes_is_that_of_the_caps(spar):
    volume = _volume(surfaces(spar)["caps"])
    assert_allclose(volume, 2 * 0.360 * 0.010 * 0.006, rtol=1e-9)


def _volume(surface):
    """By the divergence theorem over the faces cut into triangles."""
    p = surface.points[surface.quads]
    first = np.einsum("fi,fi->f", p[:, 0], np.cross(p[:, 1], p[:, 2]))
    second = np.einsum("fi,fi->f", p[:, 0], np.cross(p[:, 2], p[:, 3]))
    return float(first.sum() + second.sum()) / 6


def test_every_kind_of_part_of_the_powered_wing_is_drawn_once(wing):
    expected = {
        "caps", "webs", "posts", "ribs", "sheeting", "cap strips", "edges", "rails", "rail ties", "rail webs",
    }  # fmt: skip
    parts = surfaces(wing)
    assert set(parts) == expected
    for name, surface in parts.items():
        assert len(np.unique(surface.element)) == len(wing.structure.blocks[name].nodes), name
        assert np.isfinite(surface.points).all(), name


def test_boxes_of_a_swept_wing_meet_end_to_end(wing):
    # Rails have one size throughout: the far end of one element is the near end of the next.
    rails = surfaces(wing)["rails"]
    ends = rails.points.reshape(-1, 2, 4, 3)
    assert_allclose(ends[:-1, 1], ends[1:, 0], rtol=0, atol=1e-12)


def test_a_rigid_motion_of_the_nodes_moves_every_point_rigidly(wing):
    shift, turn = np.array([0.01, -0.02, 0.03]), np.array([1e-3, -2e-3, 3e-3])
    nodes = wing.structure.nodes
    moves = np.concatenate([shift + np.cross(turn, nodes), np.broadcast_to(turn, nodes.shape)], axis=1)
    for name, surface in surfaces(wing).items():
        expected = shift + np.cross(turn, surface.points)
        assert_allclose(surface.moves(nodes, moves), expected, rtol=0, atol=1e-12 * 0.04, err_msg=name)


def test_see_through_faces_are_among_the_faces(wing):
    for surface in surfaces(wing).values():
        whole = {tuple(f) for f in surface.quads.tolist()}
        assert {tuple(f) for f in surface.shell.tolist()} < whole


def test_a_facing_is_a_box_of_its_own():
    model = build(read(shipped()["sailplane"]))
    caps = surfaces(model)["caps"]
    facing = caps.only(caps.layer == 1)
    # sailplane.toml: carbon 0.5 mm thick on the inner face, out to 1080 mm.
    assert_allclose(np.abs(facing.points[:, 1]).max(), 1.080, rtol=1e-9)
    height = np.ptp(facing.points.reshape(-1, 2, 4, 3)[:, 0, :, 2], axis=1)
    assert_allclose(height, 0.0005, rtol=1e-9)
