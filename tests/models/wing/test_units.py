import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from models.units_out import mass_words
from models.wing.units import (
    KINDS,
    QuantityError,
    _by_pint,
    _listed,
    _plain,
    read_quantity,
    write_quantity,
)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        # Exact by the definitions of inch, pound, standard gravity, nautical mile and statute mile.
        ("1.5 mm", "length", 0.0015),
        ("2 cm", "length", 0.02),
        ("1/16 in", "length", 0.0254 / 16),
        ("1 3/8 in", "length", 0.0254 * 1.375),
        ("1-3/8 in", "length", 0.0254 * 1.375),
        ("-90 mm", "length", -0.09),
        ("1e-3m", "length", 0.001),
        ("2 ft", "length", 0.6096),
        ("6 oz", "mass", 6 * 0.45359237 / 16),
        ("2 lb", "mass", 0.90718474),
        ("160 kg/m3", "density", 160.0),
        ("0.16 g/cm3", "density", 160.0),
        ("9 lb/ft3", "density", 9 * 0.45359237 / 0.3048**3),
        ("60 g/m2", "mass per area", 0.06),
        ("2 oz/yd2", "mass per area", 2 * 0.45359237 / 16 / 0.9144**2),
        ("1 kgf", "force", 9.80665),
        ("2 lbf", "force", 2 * 0.45359237 * 9.80665),
        ("16 ozf", "force", 0.45359237 * 9.80665),
        ("500 N mm", "torque", 0.5),
        ("1 in lbf", "torque", 0.0254 * 0.45359237 * 9.80665),
        ("1 in-lbf", "torque", 0.0254 * 0.45359237 * 9.80665),
        ("16 in-ozf/deg", "torque per angle", 0.0254 * 0.45359237 * 9.80665 * 180 / math.pi),
        ("3.74 GPa", "stress", 3.74e9),
        ("1000 psi", "stress", 1000 * 0.45359237 * 9.80665 / 0.0254**2),
        ("180 deg", "angle", math.pi),
        ("0.1 rad", "angle", 0.1),
        ("36 km/h", "speed", 10.0),
        ("10 kt", "speed", 18520 / 3600),
        ("10 mph", "speed", 16093.44 / 3600),
        ("10 ft/s", "speed", 3.048),
        ("30 %", "fraction", 0.3),
    ],
)
def test_a_quantity_comes_out_in_si(text, kind, expected):
    assert_allclose(read_quantity(text, kind), expected, rtol=1e-12)


@pytest.mark.parametrize(
    ("value", "kind", "message"),
    [
        (3, "length", "has no unit; a length takes mm, cm, m, in or ft"),
        ("3", "length", "has no unit; a length takes mm, cm, m, in or ft."),
        ("1/16", "length", "has no unit"),
        ("3 g", "length", "is a mass, not a length; a length takes mm, cm, m, in or ft."),
        ("3 oz", "force", "is a mass, not a force; a force takes N, kgf, gf, lbf or ozf."),
        ("30 deg", "fraction", "is not a fraction; a fraction takes %."),
        ("30 %", "length", "is a fraction, not a length"),
        ("3 mm2", "length", "is not a length"),
        ("3 furlong", "length", "has an unknown unit furlong; a length takes"),
        ("3 )(", "length", "has an unknown unit )("),
        ("3 mm3", "length", "has an unknown unit mm3"),
        (math.nan, "length", "is not a finite number"),
        (math.inf, "mass", "is not a finite number"),
        ("nan mm", "length", "is not a finite number"),
        ("-inf mm", "length", "is not a finite number"),
        ("1e999 mm", "length", "is not a finite number"),
        ("1,5 mm", "length", "has an unknown unit"),
        ("thick", "length", "is not a length; write a number and its unit"),
        ("", "length", "is not a length"),
        ("1/0 in", "length", "divides by zero."),
        (True, "length", "is not a length"),
        (["3 mm"], "length", "is not a length"),
        (10**500, "length", "has no unit"),
    ],
)
def test_what_is_no_quantity_is_refused(value, kind, message):
    with pytest.raises(QuantityError) as caught:
        read_quantity(value, kind)
    assert message in str(caught.value)


@pytest.mark.parametrize(("kind", "unit"), [(kind, unit) for kind in KINDS for unit in KINDS[kind].units])
@given(value=st.floats(1e-6, 1e6))
def test_written_and_read_again(kind, unit, value):
    text = write_quantity(value, unit, digits=15)
    assert_allclose(read_quantity(text, kind), value, rtol=1e-13)


def test_an_unknown_unit_cannot_be_written():
    with pytest.raises(QuantityError, match="furlong"):
        write_quantity(1.0, "furlong")


def test_units_worked_out_here_are_those_of_pint():
    """Every listed name, every unit offered, and products that nobody offers."""
    offered = {unit for kind in KINDS.values() for unit in (*kind.units, kind.si)} - {"%"}
    for unit in sorted({*_listed(), *offered, "kg m/s/s", "in in lbf", "oz/in2/ft", "lb ft/lb"}):
        unit = unit.replace("-", " ")
        found = _plain(unit, _listed())
        assert found is not None, unit
        size, dimension = _by_pint(unit)
        assert_allclose(found[0], size, rtol=1e-14, err_msg=unit)
        assert found[1] == dimension, unit


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [("2 kg*m**2", "moment of inertia", 2.0), ("3 N*mm", "torque", 0.003), ("5 kg/m^3", "density", 5.0)],
)
def test_other_spellings_are_read_too(text, kind, expected):
    assert_allclose(read_quantity(text, kind), expected, rtol=1e-12)


@pytest.mark.parametrize(
    ("mass", "words"),
    [(3e-4, "0.3 g"), (0.0251, "25.1 g"), (0.9994, "999 g"), (0.9996, "1 kg"), (4.3434, "4.34 kg")],
)
def test_masses_are_told_in_grams_below_a_kilogram(mass, words):
    assert mass_words(mass) == words
