"""Pictures of buckling and collapse: what is in the scenes."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.pictures import stage
from models.pictures.failures import (
    SHOWN,
    buckling_mode,
    collapse_sequence,
    draw_buckling,
    draw_collapse,
    numbered,
)
from models.pictures.screen import NoRenderer, drawing_surface
from models.rounding import down
from models.studies.buckling import buckle, words
from models.studies.collapse import collapse, happens
from models.wing.reading import read
from models.wings import shipped

SMALL = (320, 200)


@pytest.fixture(scope="module", autouse=True)
def _can_draw():
    try:
        with drawing_surface(off_screen=True):
            pass
    except NoRenderer as fault:
        pytest.skip(str(fault))


@pytest.fixture(scope="module")
def buckled():
    return buckle(analyse(read(shipped()["trainer"])), 1)


@pytest.fixture(scope="module")
def story():
    return collapse(read(shipped()["trainer"]))


def _texts(plotter):
    actors = plotter.renderer.actors.values()
    return [a.GetInput() for a in actors if hasattr(a, "GetInput") and a.IsA("vtkTextActor")]


def test_a_mode_is_coloured_by_movement_and_marked_in_words(buckled):
    mode = buckled.modes[0]
    plotter = buckling_mode(buckled, mode)
    texts = _texts(plotter)
    said = " ".join(" ".join(t.split()) for t in texts)
    assert words(mode) in said
    assert "The port half moves opposite." in texts
    assert stage.CAUTION in texts
    seen = []
    for name, actor in plotter.renderer.actors.items():
        if hasattr(getattr(actor, "mapper", None), "dataset") and not name.startswith("unbent"):
            actor.mapper.update()
            data = actor.mapper.dataset.point_data
            if "movement over the greatest" in data:
                seen.append(data["movement over the greatest"].max())
    assert_allclose(max(seen), 1.0, rtol=1e-6)
    plotter.close()


def test_failures_are_numbered_and_told_in_their_order(story):
    plotter = collapse_sequence(story)
    texts = [t.strip() for t in _texts(plotter)]
    for k, step in enumerate(story.steps[:SHOWN]):
        line = f"{k + 1}. at {down(step.load_factor)} g: {happens(step, side=False)}"
        assert any(t.startswith(line) for t in texts)
    assert {str(k + 1) for k in range(min(SHOWN, len(story.steps)))} <= set(texts)
    assert any("ends the flight" in t for t in texts)
    plotter.close()


def test_a_part_that_fails_twice_has_both_numbers():
    story = collapse(read(shipped()["spar-box"]))
    assert next(iter(numbered(story).values())) == [1, 2]


def test_files(buckled, story, tmp_path):
    assert [p.name for p in draw_buckling(buckled, tmp_path / "a", size=SMALL)] == ["buckling.png"]
    names = [p.name for p in draw_collapse(story, tmp_path / "b", size=SMALL)]
    assert names == ["collapse.png", "collapse-steps.png"]
    from matplotlib.image import imread

    image = imread(tmp_path / "b" / "collapse.png")[..., :3]
    assert image.shape[:2] == SMALL[::-1]
    assert 0.02 < (image < 0.9).any(axis=2).mean() < 0.7
    assert (np.ptp(image, axis=2) > 0.2).mean() > 0.002
