"""Glue lines: the weaker of glue and wood; wood across its grain rolls at a third (FPL report 1522)."""

import math

import pytest
from numpy.testing import assert_allclose

from models.woods.glue import allowable, glue, glue_names, shear_at
from models.woods.wood import WoodError, material

BALSA = material("balsa", density=160.0)


def test_wood_across_its_grain_bears_a_third_and_hankinson_between():
    # (1/3)/(sin^2 + (1/3) cos^2): 1/2 at 45, 2/3 at 30 degrees.
    degrees = (0, 45, 90, 135, 180, -90, 30)
    found = [shear_at(BALSA, math.radians(angle)) / BALSA.shear for angle in degrees]
    assert_allclose(found, [1, 1 / 2, 1 / 3, 1 / 2, 1, 1 / 3, 2 / 3], rtol=1e-12)


def test_on_balsa_the_wood_governs_with_every_glue():
    for name in glue_names():
        line = allowable(glue(name), BALSA, material("spruce"), math.pi / 2)
        assert_allclose(line.shear, BALSA.rolling_shear, rtol=1e-12)
        assert line.governed_by == "balsa in rolling shear"
        assert allowable(glue(name), BALSA, material("spruce"), 0.0).governed_by == "balsa in shear"


def test_a_crossed_solid_and_a_ply_of_the_same_wood_roll_alike():
    spruce = material("spruce")
    for sheet, veneer in (("birch ply", "birch"), ("light ply", "yellow-poplar")):
        crossed = allowable(glue("polyurethane"), material(veneer), material(veneer), math.pi / 2).shear
        assert allowable(glue("polyurethane"), material(sheet), material(sheet), 0.0).shear == crossed
    assert allowable(glue("epoxy"), spruce, spruce, math.pi / 2).shear == spruce.rolling_shear


def test_beech_rolls_at_the_strength_measured():
    # Aicher and others 2016: mean 5.6 MPa of 50 tests.
    beech = material("beech")
    assert allowable(glue("epoxy"), beech, beech, math.pi / 2).shear == 5.6e6


def test_on_hardwood_the_glue_governs():
    beech = material("beech")
    line = allowable(glue("cyanoacrylate"), beech, beech, 0.0)
    assert (line.shear, line.governed_by) == (5.0e6, "cyanoacrylate glue")
    # Looked up on planed beech: wood and glue are near each other there.
    assert allowable(glue("polyurethane"), beech, beech, 0.0).shear == 13.1e6


def test_plywood_rolls_under_its_face():
    sheet, birch = material("light ply"), material("birch")
    line = allowable(glue("epoxy"), sheet, birch, 0.0)
    assert line.shear == sheet.rolling_shear
    assert "rolling" in line.governed_by


def test_wire_has_no_grain_to_cross():
    line = allowable(glue("epoxy"), material("music wire"), material("birch"), 0.0)
    assert line.governed_by == "epoxy glue"


def test_end_grain_bears_no_more_than_a_crossed_joint():
    for angle in (0.0, math.pi / 3, math.pi / 2):
        line = allowable(glue("epoxy"), BALSA, BALSA, angle, end_grain=True)
        assert_allclose(line.shear, BALSA.shear / 3, rtol=1e-12)


def test_scatter_of_a_joint_holds_the_doubt_of_crossed_grain():
    # 25 % from joint to joint, and 30 %: wood across its grain bears 0.18 to 0.48 of that along it.
    for name in glue_names():
        assert_allclose(glue(name).scatter, math.hypot(0.25, 0.30), rtol=1e-12)
        assert allowable(glue(name), BALSA, BALSA, 0.0).scatter == glue(name).scatter


def test_strength_figures_lie_in_their_published_ranges():
    # MPa, makers' ranges (from memory) and the lap-joint study on beech.
    ranges = {"cyanoacrylate": (3, 7), "aliphatic": (8, 14), "epoxy": (8, 15), "polyurethane": (13.1, 15.5)}
    assert set(ranges) == set(glue_names())
    for name, (low, high) in ranges.items():
        assert low <= glue(name).lap_shear / 1e6 <= high


def test_unknown_glue():
    with pytest.raises(WoodError) as caught:
        glue("epoxi")
    assert caught.value.key == "glue"
    assert "epoxy?" in caught.value.expected
