"""Layouts compared: the order that webs must bring, what they weigh, and gains per gram."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from models.structure import build
from models.studies.compare import compare, held_stiffness, n_steps
from models.studies.layouts import UNIT_TORQUE, everywhere

NAMES = ["no webs", "front C", "rear C", "box", "box, grain along span", "as drawn"]


@pytest.fixture(scope="module")
def results(make_wing):
    told = []
    wing = make_wing()
    found = compare(wing, per_bay=2, progress=told.append)
    return wing, found, told


def of(results, scope):
    return {r.name: r for r in results[1] if r.scope == scope}


def test_every_layout_on_the_wing_and_on_its_spar(results):
    wing, found, told = results
    assert [(r.scope, r.name) for r in found] == [(s, n) for s in ("wing", "main") for n in NAMES]
    assert told == [f"{r.scope}: {r.name}" for r in found]
    assert n_steps(wing) == len(told) == 12


@pytest.mark.parametrize("scope", ["wing", "main"])
def test_webs_stiffen_in_their_order(results, scope):
    rows = of(results, scope)
    none, front, rear, box = (rows[n] for n in NAMES[:4])
    for c in (front, rear):
        assert none.web_mass == 0 < c.web_mass < box.web_mass
        assert none.bending_stiffness < c.bending_stiffness < box.bending_stiffness
        assert none.torsional_stiffness < c.torsional_stiffness < box.torsional_stiffness
        assert abs(c.tip_deflection) < abs(none.tip_deflection)
    assert_allclose(front.web_mass, rear.web_mass, rtol=1e-9)
    assert_allclose(box.web_mass, 2 * front.web_mass, rtol=1e-9)
    along = rows["box, grain along span"]
    assert_allclose(along.web_mass, box.web_mass, rtol=1e-9)
    assert along.bending_stiffness > box.bending_stiffness
    # The file's own layout is a C on the rear face.
    for name in ("web_mass", "tip_deflection", "bending_stiffness", "load_factor_at_first_failure"):
        assert_allclose(getattr(rows["as drawn"], name), getattr(rear, name), rtol=1e-9)


def test_webs_on_either_face_of_a_lone_spar_do_the_same(results):
    rows = of(results, "main")
    # The spar is swept a little by the wing's taper, so that its faces are not quite alike.
    assert_allclose(rows["front C"].bending_stiffness, rows["rear C"].bending_stiffness, rtol=5e-3)
    assert_allclose(rows["front C"].torsional_stiffness, rows["rear C"].torsional_stiffness, rtol=5e-3)


@pytest.mark.parametrize("scope", ["wing", "main"])
def test_gains_are_percent_per_gram_of_web(results, scope):
    rows = of(results, scope)
    none = rows["no webs"]
    assert (none.bending_gain, none.torsion_gain, none.strength_gain) == (0, 0, 0)
    for name in NAMES[1:]:
        row = rows[name]
        grams = 1000 * (row.web_mass - none.web_mass)
        for gain, what in (
            (row.bending_gain, "bending_stiffness"),
            (row.torsion_gain, "torsional_stiffness"),
            (row.strength_gain, "load_factor_at_first_failure"),
        ):
            change = 100 * (getattr(row, what) - getattr(none, what)) / getattr(none, what)
            assert_allclose(gain * grams, change, rtol=1e-9)


def test_stiffness_of_a_lone_spar_is_that_of_its_unit_loads(results):
    for row in of(results, "main").values():
        assert_allclose(row.tip_deflection * row.bending_stiffness, 1.0, rtol=1e-12)
        assert_allclose(row.tip_twist * row.torsional_stiffness, UNIT_TORQUE, rtol=1e-12)


def test_layouts_of_ones_own(make_wing):
    wing = make_wing()
    mine = (everywhere(wing, "a", ("rear",)), everywhere(wing, "b", ("front", "rear")))
    found = compare(wing, mine, per_bay=2)
    assert [r.name for r in found] == ["a", "b", "a", "b"]
    assert n_steps(wing, mine) == 4
    assert found[0].bending_gain == 0
    assert found[1].bending_gain > 0


@pytest.mark.parametrize("whole", [False, True])
def test_a_wing_held_at_its_centre(make_wing, whole):
    # Both halves are alike, but only the starboard tip is loaded: half a wing has the same stiffness.
    model = build(make_wing(), whole=whole)
    bending, torsion = held_stiffness(model, Assembly(model.structure))
    half = build(make_wing())
    assert_allclose([bending, torsion], held_stiffness(half, Assembly(half.structure)), rtol=1e-7)
    assert np.isfinite([bending, torsion]).all()


def test_specimens_of_one_spar_are_not_told_twice(make_specimen):
    found = compare(make_specimen("front"), per_bay=2)
    assert {r.scope for r in found} == {"spar"}
