"""Tables of a bench test: written and read again, and faults told by line."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from models.structure import build
from models.studies.bench_test import bench_test
from models.studies.readings import TableError, bags_csv, read_bags, read_readings, readings_csv


@pytest.fixture
def wing(make_wing):
    return make_wing()


@pytest.fixture
def model(wing):
    return build(wing, per_bay=1)


HEAD = "step,side,rib,aft [mm],deflection [mm],twist [deg]\n"


def test_bags_come_back_as_they_were_written(wing, model) -> None:
    test = bench_test(wing, per_bay=1, steps=2)
    laid = read_bags(bags_csv(test), model)
    for step, share in ((1, 0.5), (2, 1.0)):
        mass = sum(one.mass for one in laid if one.step == step)
        assert_allclose(mass, share * sum(bag.mass for bag in test.plan.bags), rtol=1e-3)
        moment = sum(one.mass * one.x for one in laid if one.step == step)
        wanted = sum(bag.mass * s * x for bag in test.plan.bags for s, x in zip(bag.shares, bag.x))
        assert_allclose(moment, share * wanted, rtol=2e-3)


def test_the_template_is_read_once_it_is_filled_in(wing, model) -> None:
    test = bench_test(wing, per_bay=1, steps=2)
    text = readings_csv(test)
    with pytest.raises(TableError, match="holds no reading"):
        read_readings(text, model)
    lines = text.splitlines()
    rows = [n for n, line in enumerate(lines) if line.startswith("1,starboard")]
    lines[rows[-1]] = lines[rows[-1]].removesuffix(",,") + ",3.5,0.2"
    one, other = read_readings("\n".join(lines), model)
    assert (one.what, one.step, one.side, one.line) == ("deflection", 1, "starboard", rows[-1] + 1)
    assert_allclose([one.value, other.value], [3.5e-3, math.radians(0.2)], rtol=1e-12)
    assert one.rib == test.marks[-1].rib
    assert_allclose(one.x, test.marks[-1].x, atol=1e-4)


def test_units_semicolons_decimal_commas_and_spars(model) -> None:
    text = '\ufeff# a remark\nstep;y [in];spar;deflection (in)\n1;"11,8";main;"0,25"\n'
    (one,) = read_readings(text, model)
    assert one.rib == 6 or one.rib > 1
    assert_allclose(one.value, 0.25 * 0.0254, rtol=1e-12)
    assert one.side == "starboard"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("step,rib,aft,deflection [mm]\n1,3,60,1\n", 'line 1: column "aft" has no unit'),
        ("step,rib,aft [kg],deflection [mm]\n", "is a mass, not a length"),
        ("step,rib,aft [mm],defletion [mm]\n", "did you mean deflection"),
        ("step,rib,aft [mm],step,deflection [mm]\n", "stands there twice"),
        ("step,aft [mm],deflection [mm]\n", 'lacks a column "rib"'),
        ("rib,aft [mm],deflection [mm]\n", "lacks the column step"),
        ("step,rib,aft [mm]\n", 'lacks a column "deflection [mm]"'),
        ("step,rib,deflection [mm]\n", 'lacks a column "aft [mm]"'),
        (HEAD + "1,starboard,3,60,1.0 mm,\n", 'line 2: deflection: "1.0 mm" is not a number (in mm'),
        (HEAD + "1,starboard,3,60,nan,\n", "is not a number"),
        (HEAD + "0,starboard,3,60,1,\n", 'step: "0" is not the number of a step'),
        (HEAD + "1,left,3,60,1,\n", 'side: "left" is not a side'),
        (HEAD + "1,port,99,60,1,\n", 'rib: "99" is not a rib outside the hold'),
        (HEAD + "1,port,1,60,1,\n", 'rib: "1" is not a rib outside the hold'),
        (HEAD + "1,port,3,900,1,\n", 'aft: "900" is not near a chord'),
        (HEAD + "1,port,3,60,1,\n1,port,3,60,2,\n", 'line 3: deflection: "2" was read on line 2'),
        (HEAD + "1,port,3,60,1,,,7\n", "line 2: has 8 cells"),
        (HEAD + "1,port,3,60,1e6,\n", 'deflection: "1e6" is more than'),
        (HEAD + "1,port,3,60,,200\n", 'twist: "200" is more than'),
        ("step,y [mm],aft [mm],deflection [mm]\n1,123,60,1\n", "is at no rib outside the hold"),
        ("step,rib,spar,deflection [mm]\n1,3,mian,1\n", "did you mean main"),
    ],
)
def test_faults_are_told_by_line(model, text: str, words: str) -> None:
    with pytest.raises(TableError) as fault:
        read_readings(text, model)
    assert words in str(fault.value)


def test_all_faults_in_one_run(model) -> None:
    with pytest.raises(TableError) as fault:
        read_readings(HEAD + "1,left,3,60,1,\n1,port,3,60,x,\n", model)
    assert [one[:7] for one in fault.value.faults] == ["line 2:", "line 3:"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("step,rib,aft [mm],mass [g]\n1,3,60,0\n", "holds no mass"),
        ("step,rib,aft [mm],mass [g]\n1,3,60,x\n", 'line 2: mass: "x" is not a number'),
        ("step,rib,aft [mm],mass\n", "has no unit"),
        ("step,rib,mass [g]\n", "lacks the column aft"),
        ("step,rib,aft [mm],mass [g]\n1,,60,5\n", 'line 2: rib: "" says nothing'),
        ("step,rib,aft [mm],mass [g]\n1,3,60,1e300\n", 'mass: "1e300" in g is beyond any mass of a wing'),
        ("step,rib,aft [mm],mass [g]\n" + "1,3,60,x\n" * 30, "and 21 faults more; mend these first"),
    ],
)
def test_faults_of_the_table_of_bags(model, text: str, words: str) -> None:
    with pytest.raises(TableError) as fault:
        read_bags(text, model)
    assert words in str(fault.value)
