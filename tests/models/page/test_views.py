"""Views: what the turning scenes hold, and what the page has where they cannot be made."""

from __future__ import annotations

import sys
from typing import Any

import numpy as np
import pytest

from models.analysis import Analysis, analyse
from models.page import views
from models.pictures.first import ShownReserves, judged
from models.pictures.screen import NoRenderer
from models.strength import check


@pytest.fixture(scope="module")
def solved(make_specimen: Any) -> tuple[Analysis, ShownReserves]:
    analysis = analyse(make_specimen(length=120.0), per_bay=1)
    return analysis, judged(analysis, check(analysis))


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stills that take no time."""
    monkeypatch.setattr(views, "_still", lambda make: "data:image/png;base64,")


def test_scenes_beyond_the_room_are_left_as_stills(solved: Any, quick: None, can_draw: bool) -> None:
    if not can_draw:
        pytest.skip("no scenes can be drawn here")
    whole = views.wing_views(*solved)
    assert whole.lacking == ""
    assert all(view.scene and view.still for view in whole.views)
    sizes = [len(view.scene) for view in whole.views]
    few = views.wing_views(*solved, most_bytes=sizes[0] + 200)
    assert [bool(view.scene) for view in few.views] == [True, False, False]
    assert "too many parts" in few.lacking
    assert few.viewer
    none = views.wing_views(*solved, most_bytes=1)
    assert not none.viewer
    assert not any(view.scene for view in none.views)


def test_without_the_exporter(solved: Any, quick: None, can_draw: bool, monkeypatch: Any) -> None:
    if not can_draw:
        pytest.skip("no scenes can be drawn here")
    monkeypatch.setitem(sys.modules, "trame_vtk.modules.vtk", None)
    found = views.wing_views(*solved)
    assert "pip install trame-vtk" in found.lacking
    assert not found.viewer
    assert all(view.still for view in found.views)


def test_with_another_exporter(solved: Any, quick: None, monkeypatch: Any) -> None:
    monkeypatch.setattr(views, "_exported", lambda drawn: "<html>")
    found = views.wing_views(*solved)
    assert "does not know" in found.lacking
    assert not found.viewer


def test_where_nothing_draws(solved: Any, monkeypatch: Any) -> None:
    def none(make: Any) -> str:
        raise NoRenderer("no renderer here")

    monkeypatch.setattr(views, "_still", none)
    found = views.wing_views(*solved)
    assert found.lacking == "no renderer here"
    assert [(view.still, view.scene) for view in found.views] == [("", "")] * 3
    assert all(view.words for view in found.views)


def test_a_half_is_mirrored_with_faces_that_look_outward(make_wing: Any) -> None:
    analysis = analyse(make_wing(), per_bay=1)
    assert analysis.model.half
    _, drawn, _ = views._deflection(analysis, judged(analysis, check(analysis)))
    for one in drawn:
        n = len(one.points) // 2
        np.testing.assert_array_equal(one.points[n:], one.points[:n] * [1, -1, 1])
        faces = len(one.faces) // 2
        corners = one.points[one.faces]
        normals = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
        # Normals are mirrored like the points, which a mere copy of the faces would turn inward.
        scale = np.abs(normals).max()
        np.testing.assert_allclose(normals[faces:], normals[:faces] * [1, -1, 1], rtol=0, atol=1e-9 * scale)


def test_ramp_ends_and_middle() -> None:
    found = views._ramp(("#000000", "#ff0000", "#ffffff"), np.array([0.0, 0.25, 0.5, 1.0, 2.0]))
    assert found.tolist() == [[0, 0, 0], [128, 0, 0], [255, 0, 0], [255, 255, 255], [255, 255, 255]]


def test_addresses_are_taken_out() -> None:
    page = (
        'x="https://a.b/favicon-1.png"; // see http://www.c.d/e\n'
        'new URL(x, "http://any"); const base64Str = "UEs=";'
    )
    scene, viewer = views._split(page)
    assert scene == "UEs="
    assert viewer == (
        f'x="data:,"; // see www.c.d/e\nnew URL(x, "http://any"); const base64Str = "{views.MARK}";'
    )
