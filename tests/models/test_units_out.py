"""Figures in the units spoken: what is written reads back within half of its last digit."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models import units_out as say
from models.wing.units import KINDS, QuantityError, read_quantity

READ = {
    "length": "length", "ruler": "length", "size": "length", "span": "length", "mass": "mass",
    "whole_mass": "mass", "force": "force", "moment": "torque", "stress": "stress", "stiff_stress": "stress",
    "speed": "speed", "wind": "speed", "density": "density", "film_mass": "mass per area",
    "force_per_span": "force per length", "angle": "angle",
}  # fmt: skip
"""Kinds that are told, and as what a wing file would read them."""


def half_a_digit(text: str) -> float:
    """Half of the last digit of the number in front, in its unit."""
    number = text.split(" ")[0]
    return 0.5 * 10.0 ** -len(number.partition(".")[2])


@pytest.mark.parametrize("system", say.SYSTEMS)
@pytest.mark.parametrize("kind", [k for k in READ if k not in ("ruler", "size")])
@settings(max_examples=40, deadline=None)
@given(value=st.floats(1e-3, 1e3), places=st.integers(0, 4))
def test_what_is_written_reads_back(system: str, kind: str, value: float, places: int) -> None:
    one = say.KINDS[kind]
    with say.speak(system):
        value /= one.factor
        text = format(one(value), f".{places}f")
        assert abs(read_quantity(text, READ[kind]) - value) * one.factor <= half_a_digit(text) * (1 + 1e-9)
        text = format(one(value), ".4g")
        assert read_quantity(text, READ[kind]) == pytest.approx(value, rel=0.51e-3)


@settings(deadline=None)
@given(inches=st.floats(0.0, 500.0))
def test_a_ruler_is_read_to_the_nearest_64th(inches: float) -> None:
    text = say.fraction(inches)
    whole = sum((Fraction(word) for word in text.split(" ")), Fraction(0))
    assert whole.denominator in (1, 2, 4, 8, 16, 32, 64)
    assert abs(float(whole) - inches) <= 1 / 128 + 1e-12
    with say.speak("imperial"):
        told = f"{say.ruler(inches * say.INCH):.1f}"
        assert abs(read_quantity(told, "length") / say.INCH - inches) <= 1 / 128 + 1e-9
        told = f"{say.size(inches * say.INCH):.4g}"
        assert abs(read_quantity(told, "length") / say.INCH - inches) <= 5e-4 + 1e-9


@pytest.mark.parametrize(
    ("metres", "words"),
    [
        (0.0015875, "1/16 in"), (3 / 32 * 0.0254, "3/32 in"), (0.0254, "1 in"), (0.026987500, "1 1/16 in"),
        (0.001, "0.039 in"), (0.0, "0 in"), (0.2667, "10 1/2 in"),
    ],
)  # fmt: skip
def test_sizes_are_fractions_where_they_are(metres: float, words: str) -> None:
    with say.speak("imperial"):
        assert f"{say.size(metres):.1f}" == words


def test_metric_words_are_python_s_own() -> None:
    assert (
        f"{say.length(0.12345):.1f} {say.mass(0.0123):.0f} {say.speed(25.0):.0f}" == "123.5 mm 12 g 90 km/h"
    )
    assert say.length.fixed(-1e-9) == "0.0"
    assert say.length.fixed(None) == "-"
    assert say.mass_words(1.5) == "1.5 kg"


@pytest.mark.parametrize(
    ("kilograms", "words"),
    [(9.25 * say.POUND, "9 lb 4 oz"), (1.5 * say.OUNCE, "1.50 oz"),
     (15.99 * say.OUNCE, "1 lb"), (1.0, "2 lb 3.3 oz"),
     (8 * say.POUND, "8 lb")],
)  # fmt: skip
def test_masses_are_told_in_pounds_and_ounces(kilograms: float, words: str) -> None:
    with say.speak("imperial"):
        assert say.mass_words(kilograms) == words


def test_rounded_down_and_up_in_either_system() -> None:
    for system in say.SYSTEMS:
        with say.speak(system):
            told = float(say.speed.down(12.3456))
            assert told <= 12.3456 * say.speed.factor < told + 1
            assert float(say.length.up(1e-7, 1)) > 0
            assert float(say.length.up(0.0123456, 1)) >= 0.0123456 * say.length.factor


def test_an_option_outweighs_the_file() -> None:
    assert not say.imperial()
    with say.speak(None):
        say.adopt("imperial")
        assert say.imperial()
    with say.speak("metric"):
        say.adopt("imperial")
        assert not say.imperial()
    assert not say.imperial()


def test_units_are_those_of_most_lengths() -> None:
    assert say.units_of({"a": "3 in", "b": ["1/16 in", "2 mm"], "c": [{"d": "7 ft"}]}) == "imperial"
    assert say.units_of({"a": "3 in", "b": "2 mm", "note": "in"}) == "metric"
    assert say.units_of({"a": "3 in", "units": "metric"}) == "metric"
    assert say.units_of({}) == "metric"


def test_columns_of_a_list_are_called_for_their_units() -> None:
    row = {"thickness_mm": 2.54, "area_mm2": 645.16, "mass_g": 28.349523125, "where": "bay 1"}
    assert say.columns(row) == row
    with say.speak("imperial"):
        assert say.columns(row) == {"thickness_in": 0.1, "area_in2": 1.0, "mass_oz": 1.0, "where": "bay 1"}


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ('84"', "length", 84 * 0.0254), ("7' 0\"", "length", 7 * 0.3048), ("7'", "length", 7 * 0.3048),
        ("7'1-1/2\"", "length", 85.5 * 0.0254), ("7 ft 1 1/2 in", "length", 85.5 * 0.0254),
        ('3/32"', "length", 3 / 32 * 0.0254), ("1-1/16 in", "length", 17 / 16 * 0.0254),
        ("9 lb 4 oz", "mass", 9.25 * say.POUND), ("9lb4oz", "mass", 9.25 * say.POUND),
        ("9 LBS", "mass", 9 * say.POUND),
        ("55 MPH", "speed", 55 * 0.44704), ("12 Inches", "length", 0.3048),
    ],
)  # fmt: skip
def test_builders_spellings_are_read(text: str, kind: str, si: float) -> None:
    assert read_quantity(text, kind) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind"), [("7' 0", "length"), ("9 oz 4 lb", "mass"), ("3 ft 4 lb", "length"), ("1 M", "length"),
                       ("9 lb 4 oz", "length"), ("7' 0\"", "mass")],
)  # fmt: skip
def test_what_could_mean_something_else_is_refused(text: str, kind: str) -> None:
    with pytest.raises(QuantityError):
        read_quantity(text, kind)


def test_every_kind_is_known_by_both_names() -> None:
    for name, kind in say.KINDS.items():
        assert kind.metric.times > 0, name
        ratio = kind.metric.times / kind.other.times  # of the other unit to the metric one
        shift = kind.other.more - math.log10(ratio)
        assert -1.0 < shift < 1.6, name  # digits of either are worth about as much
    assert all(re.fullmatch(r"[\w ]+", name) for name in KINDS)
