"""Diagrams of load cases: a picture a kind, with every case, its reserve factor and the pull-up beside."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.pictures import plots
from models.pictures.load_diagrams import plot_loads
from models.studies.load_cases import load_cases

TABLE = 'load_factor = 4\nmass = "0.9 kg"\n[landing]\ncarrying_load_factor = 0.0'


def test_a_picture_a_kind_with_every_case(make_wing, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    drawn = {}
    monkeypatch.setattr(plots, "save_figure", lambda figure, path: drawn.setdefault(path, figure) and path)
    study = load_cases(make_wing(case=TABLE), per_bay=1)
    files = plot_loads(study, tmp_path)
    assert [f.name for f in files] == ["loads-flight.png", "loads-landing.png"]
    panels = drawn[files[1]].axes
    words = [text.get_text().replace("\n", " ") for text in panels[3].get_legend().get_texts()]
    assert words[0] == "pull-up, for comparison"
    own = [one for one in study.cases if one.case.kind == "landing"]
    assert [w.split(": reserve")[0] for w in words[1:]] == [one.name for one in own]
    for panel, key in zip(panels[:3], ("shear", "bending", "torsion")):
        curve = panel.get_lines()[1]
        assert_allclose(curve.get_xdata(), 1e3 * own[0].sections.y, rtol=1e-12)
        assert_allclose(curve.get_ydata(), getattr(own[0].sections, key), rtol=1e-12)
        assert "N" in panel.get_ylabel()
    assert np.ptp(panels[0].get_lines()[1].get_ydata()) > 0
