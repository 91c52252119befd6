"""Glue lines: the weaker of glue and wood, one third where the grains cross (FPL report 1522, 1945)."""

import math

import pytest
from numpy.testing import assert_allclose

from models.woods.glue import allowable, crossing_factor, glue, glue_names
from models.woods.wood import WoodError, material

BALSA = material("balsa", density=160.0)


def test_factor_is_one_third_across_and_linear_between():
    degrees = (0, 45, 90, 135, 180, -90, 30)
    found = [crossing_factor(math.radians(angle)) for angle in degrees]
    assert_allclose(found, [1, 2 / 3, 1 / 3, 2 / 3, 1, 1 / 3, 7 / 9], rtol=1e-12)


def test_on_balsa_the_wood_governs_with_every_glue():
    for name in glue_names():
        line = allowable(glue(name), BALSA, material("spruce"), math.pi / 2)
        assert_allclose(line.shear, BALSA.shear / 3, rtol=1e-12)
        assert line.governed_by == "balsa in shear"


def test_on_hardwood_the_glue_governs():
    beech = material("beech")
    line = allowable(glue("cyanoacrylate"), beech, beech, 0.0)
    assert (line.shear, line.governed_by) == (5.0e6, "cyanoacrylate glue")
    # Looked up on planed beech: wood and glue are near each other there.
    assert allowable(glue("polyurethane"), beech, beech, 0.0).shear == 13.1e6


def test_plywood_rolls_under_its_face():
    sheet, spruce = material("birch ply"), material("spruce")
    line = allowable(glue("epoxy"), sheet, spruce, 0.0)
    assert line.shear == sheet.rolling_shear
    assert "rolling" in line.governed_by


def test_wire_has_no_grain_to_cross():
    line = allowable(glue("epoxy"), material("music wire"), material("birch"), 0.0)
    assert line.governed_by == "epoxy glue"


def test_end_grain_bears_a_quarter():
    line = allowable(glue("epoxy"), BALSA, BALSA, 0.0, end_grain=True)
    assert_allclose(line.shear, BALSA.shear / 4, rtol=1e-12)


def test_strength_figures_lie_in_their_published_ranges():
    # MPa, makers' ranges (from memory) and the lap-joint study on beech.
    ranges = {"cyanoacrylate": (3, 7), "aliphatic": (8, 14), "epoxy": (8, 15), "polyurethane": (13.1, 15.5)}
    assert set(ranges) == set(glue_names())
    for name, (low, high) in ranges.items():
        assert low <= glue(name).lap_shear / 1e6 <= high
        assert 0.20 <= glue(name).scatter <= 0.30


def test_unknown_glue():
    with pytest.raises(WoodError) as caught:
        glue("epoxi")
    assert caught.value.key == "glue"
    assert "epoxy?" in caught.value.expected
