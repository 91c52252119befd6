"""What check says of its mesh."""

from __future__ import annotations

from importlib import resources

import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse, tip_deflection
from models.strength import check
from models.studies.mesh_error import mesh_error, words
from models.wing.reading import read


def shipped(name):
    with resources.as_file(resources.files("models.wings") / f"{name}.toml") as path:
        return read(path)


@pytest.mark.parametrize("name", ["trainer", "spar-c"])
def test_it_is_the_change_from_a_mesh_half_as_fine(name):
    wing = shipped(name)
    analysis = analyse(wing)
    margins = check(analysis)
    found = mesh_error(analysis, margins, per_bay=4, rigid_joints=False)
    coarse = analyse(wing, per_bay=2, across_chord=2)
    assert found is not None
    assert_allclose(found.deflection, 1 - tip_deflection(coarse) / tip_deflection(analysis), rtol=1e-9)
    loads = [check(a).load_factor_at_first_failure() for a in (coarse, analysis)]
    assert_allclose(found.failure, 1 - loads[0] / loads[1], rtol=1e-9)
    assert f"tip deflection by {100 * abs(found.deflection):.1f} %" in words(found)


def test_a_mesh_of_one_element_has_no_coarser(make_specimen):
    analysis = analyse(make_specimen("front"), per_bay=1)
    assert mesh_error(analysis, check(analysis), per_bay=1, rigid_joints=False) is None
    assert "not told" in words(None)


@pytest.mark.parametrize("name", ["trainer", "powered-tailless", "box-two-spars-sheeted", "spar-c"])
def test_the_default_mesh_is_within_one_per_cent_of_one_eight_times_as_fine(name):
    wing = shipped(name)
    coarse, fine = analyse(wing), analyse(wing, per_bay=32)
    assert_allclose(tip_deflection(coarse), tip_deflection(fine), rtol=0.01)
