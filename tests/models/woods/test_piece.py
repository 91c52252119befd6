"""The builder's own piece: kitchen scale and bend test against the beam formula worked backwards."""

import math

import pytest
from numpy.testing import assert_allclose

from models.woods.piece import BendTest, density, modulus
from models.woods.wood import WoodError, material


def test_sheet_on_the_scale():
    # 1/16 x 3 x 36 in is 110.61 cm3; 15.946 g is 9 lb/ft3 at 16.018 kg/m3 each (five figures).
    inch, mass = 0.0254, 15.946e-3
    assert_allclose(density(36 * inch, 3 * inch, inch / 16, mass), 144.162, rtol=1e-4)
    balsa = material("balsa", density=density(36 * inch, 3 * inch, inch / 16, mass))
    assert_allclose(balsa.E_L, 3.74e9 * 144.162 / 160, rtol=1e-4)


@pytest.mark.parametrize(("held", "bending", "shearing"), [("both ends", 48.0, 4.0), ("one end", 3.0, 1.0)])
def test_bend_test_gives_back_the_modulus(held, bending, shearing):
    # Timoshenko: sag = P L^3/(48 E I) + P L/(4 k G A), or P L^3/(3 E I) + P L/(k G A), k = 5/6.
    E, G, span, width, depth, load = 3.6e9, 0.15e9, 0.25, 0.008, 0.01, 2.0
    second_moment, area = width * depth**3 / 12, width * depth
    sag = load * span**3 / (bending * E * second_moment) + load * span / (shearing * 5 / 6 * G * area)
    assert_allclose(modulus(BendTest(span, load, sag, width, depth, held), E / G), E, rtol=1e-12)


def test_handbook_beam_needs_a_tenth_more():
    # Span 14 depths: 1 + 1.2 (E/G)/196, 1.10 for Sitka spruce.
    spruce = material("spruce")
    second_moment = 0.05**4 / 12
    sag = 100.0 * 0.7**3 / (48 * 10.8e9 * second_moment)
    found = modulus(BendTest(0.7, 100.0, sag, 0.05, 0.05), spruce.E_L / spruce.G_LT)
    assert_allclose(found, 1.10 * 10.8e9, rtol=0.002)


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"span": 0.0479}, "span"),
        ({"sag": 0.0301}, "sag"),
        ({"load": 0.0}, "load"),
        ({"depth": math.nan}, "depth"),
        ({"held": "neither"}, "held"),
    ],
)
def test_tests_that_tell_nothing_are_refused(changes, key):
    good = {"span": 0.3, "load": 0.5, "sag": 0.03, "width": 0.006, "depth": 0.006, "held": "both ends"}
    modulus(BendTest(**good), 20.0)
    if key == "span":
        modulus(BendTest(**{**good, "span": 0.0481, "sag": 0.001}), 20.0)
        changes = {**changes, "sag": 0.001}
    with pytest.raises(WoodError) as caught:
        modulus(BendTest(**{**good, **changes}), 20.0)
    assert caught.value.key == key


def test_weightless_sheet_is_refused():
    with pytest.raises(WoodError) as caught:
        density(1.0, 0.1, 0.001, 0.0)
    assert caught.value.key == "mass"
