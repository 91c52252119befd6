"""Pictures of worth: what the scene and the bars show, not how it looks."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.pictures.surfaces import surfaces
from models.pictures.worth import _owners, _set_off, _subtitle, plot_worth, worth_bars, worth_scene
from models.structure import build
from models.studies.worth import Worth, worth
from models.studies.worth_designs import toggled
from models.wing.reading import read


@pytest.fixture(scope="module")
def found() -> Worth:
    """A small specimen's."""
    return worth(read(resources.files("models.wings") / "spar-c.toml"), per_bay=1)


def test_bars_are_the_tables_figures(found: Worth) -> None:
    table = worth_bars(found)
    assert table.shape == (4, len(found.sites))
    for column, one in zip(table.T, found.sites):
        assert one.change is not None
        assert_allclose(column[0] * one.change.grams, one.change.load_factor, rtol=1e-12)
        drawn = found.drawn.deflection
        changed = drawn + one.change.deflection
        with_it, without = (drawn, changed) if one.site.present else (changed, drawn)
        assert_allclose(column[1], 100 * (abs(with_it) / abs(without) - 1), rtol=1e-9, atol=1e-9)
        assert column[1] >= -100
        assert column[3] == one.grams > 0


def test_every_web_is_drawn_once_with_its_worth(found: Worth) -> None:
    absent = [s.site for s in found.sites if not s.site.present]
    full = build(toggled(found.analysis.wing, absent), per_bay=1)
    owner = _owners(full, found)
    assert sorted(set(owner.tolist())) == list(range(len(found.sites)))
    webs = surfaces(full)["webs"]
    moved = _set_off(full, webs) - webs.points
    front = np.array([f == "front" for f in full.webs.face])[webs.element]
    assert (moved[front, 0] < 0).all()
    assert (moved[~front, 0] > 0).all()
    assert not moved[:, 1:].any()
    plotter = worth_scene(found, size=(320, 200))
    try:
        for k, one in enumerate(found.sites):
            mapper = plotter.renderer.actors[f"web {k}"].mapper
            mapper.update()
            mesh = mapper.dataset
            (name,) = (n for n in mesh.point_data if n.startswith("load"))
            assert one.change is not None
            assert_allclose(mesh.point_data[name], one.change.per_gram(one.change.load_factor), rtol=1e-12)
            prop = plotter.renderer.actors[f"web {k}"].prop
            assert prop.line_width == pytest.approx(2.2 if one.site.present else 1.0, rel=1e-6)
    finally:
        plotter.close()
    least = found.best_out
    assert least is not None
    assert least.site.words in _subtitle(found)


def test_the_chart_is_written_whole(found: Worth, tmp_path) -> None:
    path = plot_worth(found, tmp_path / "bars.png")
    assert path.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert [p.name for p in tmp_path.iterdir()] == ["bars.png"]
