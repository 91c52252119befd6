"""What the webs' grain buys: by hand on a cantilever, and in words that follow from the figures."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.command.files import read_wing
from models.strength.web_buckling import along_sides
from models.studies.grain import ANGLES, Direction, compare_grain, governing, sentences, with_grain
from models.woods.wood import material


@pytest.fixture(scope="module")
def cantilever() -> dict[str, Direction]:
    """spar-c: web 1.6 mm, clear 18 mm, bays of 60 mm less 2 mm of rib, all of one balsa."""
    return {d.name: d for d in compare_grain(read_wing("spar-c"))}


def test_all_directions_and_bays_are_there(cantilever: dict[str, Direction]) -> None:
    assert list(cantilever) == list(ANGLES)
    assert [b.bay for b in cantilever["upright"].bays] == [1, 2, 3, 4, 5, 6]
    assert_allclose([d.mass for d in cantilever.values()], cantilever["upright"].mass, rtol=1e-12)


def test_sizes(cantilever: dict[str, Direction]) -> None:
    bay = cantilever["upright"].bays[2]
    assert_allclose([bay.slenderness, bay.aspect], [18 / 1.6, 58 / 18], rtol=1e-6)


def test_glue_bears_three_times_as_much_along_the_span(cantilever: dict[str, Direction]) -> None:
    upright, along = (cantilever[k].bays[3].reserves["glue line"] for k in ("upright", "along the span"))
    # 5 %: the structure is solved anew, and the web along the span shares the bending.
    assert_allclose(along / upright, 3.0, rtol=0.05)


def test_shear_is_the_same_both_ways(cantilever: dict[str, Direction]) -> None:
    upright, along = (cantilever[k].bays[3].reserves["web shear"] for k in ("upright", "along the span"))
    # 10 %: the shear modulus is the same, but strips along the span stiffen the caps, which then bear more.
    assert_allclose(along / upright, 1.0, rtol=0.1)


def test_share_of_bending_by_hand(cantilever: dict[str, Direction]) -> None:
    # Web of the caps' own wood over the whole depth against caps: I of 1.6 x 30 mm over both together.
    web, caps = 1.6 * 30**3 / 12, 2 * (10 * 6**3 / 12 + 60 * 12**2)
    # 5 %: strips are counted at the caps' axes, and the caps bend sideways as well.
    assert_allclose(cantilever["along the span"].bays[3].bending_share, web / (web + caps), rtol=0.05)
    assert cantilever["upright"].bays[3].bending_share < 0.02 * web / (web + caps) * 2


def test_slenderness_at_which_buckling_comes_first_by_hand(cantilever: dict[str, Direction]) -> None:
    # tau_cr = tau_cr(t/b = 1) (t/b)^2 reaches the shear strength at b/t = sqrt(tau_cr(1)/S).
    balsa = material("balsa", density=184.0)
    e_l, e_t, g = 3740e6, 56.1e6, 138.38e6
    free = 1 - 0.488**2 * e_t / e_l
    d = np.array([e_l / free / 12]), np.array([e_t / free / 12])
    d3 = np.array([0.488 * e_t / free / 12 + 2 * g / 12])
    flow = along_sides(np.array([58 / 18]), np.ones(1), *d, d3)
    bay = cantilever["along the span"].bays[2]
    assert_allclose(bay.buckles_above, np.sqrt(float(flow[0]) / balsa.shear), rtol=1e-3)


def test_governing_prefers_the_plain_mode() -> None:
    assert governing({"web shear": 1.02, "web shear, bending and crushing": 1.0}) == "web shear"
    found = governing({"web shear": 1.2, "web shear, bending and crushing": 1.0})
    assert found == "web shear, bending and crushing"


def test_words_say_what_governs(cantilever: dict[str, Direction]) -> None:
    words = " ".join(sentences(tuple(cantilever.values())))
    assert "no web here buckles first, whichever way its grain runs" in words
    assert "glue line" in words
    assert "The clear depth is 11 thicknesses" in words
    assert "mass is the same in all" in words


def test_a_wing_without_webs_has_nothing_to_turn() -> None:
    assert compare_grain(read_wing("spar-open")) == ()
    assert sentences(()) == ["The wing has no webs, so their grain is no question."]


def test_turning_leaves_the_wing_of_the_file_alone() -> None:
    wing = read_wing("spar-c")
    turned = with_grain(wing, 0.0)
    assert {w.grain for w in turned.spars[0].webs} == {0.0}
    assert all(w.grain != 0.0 for w in wing.spars[0].webs)
