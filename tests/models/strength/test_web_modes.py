"""What acts on webs beside shear, by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from models.analysis import Analysis, analyse
from models.command.files import read_wing
from models.strength import glue_ends, norris, post, web_combined, web_splitting
from models.strength.cap_stress import cap_stress
from models.strength.finding import growing, reserve_of
from models.strength.solved import Solved
from models.strength.spar_moment import moments
from models.strength.web_edges import crushing_force, kink_force, web_edges
from models.strength.web_shear import strengths_of
from models.wing.parts import Line, Spar
from models.woods.off_axis import to_grain
from models.woods.wood import material

share = st.floats(0, 50)


@pytest.fixture(scope="module")
def cantilever() -> Analysis:
    """spar-c: 1 N at 360 mm, caps 10 x 6 mm on axes 24 mm apart, web 1.6 mm, grain upright."""
    return analyse(read_wing("spar-c"))


@given(linear=share, square=share)
def test_growing_solves_its_equation(linear: float, square: float) -> None:
    k = float(reserve_of(growing(np.array([linear]), np.array([square])))[0])
    if linear + square < 1e-6:
        return
    assert_allclose(linear * k + square * k**2, 1.0, rtol=1e-9)


def test_growing_is_endless_where_nothing_acts() -> None:
    assert reserve_of(growing(np.zeros(1), np.zeros(1)))[0] == np.inf


def test_crushing_of_a_cantilever_is_moment_squared_over_stiffness_and_depth(cantilever: Analysis) -> None:
    edges = web_edges(cantilever, cap_stress(cantilever))
    assert edges is not None
    webs, y = cantilever.model.webs, cantilever.model.y
    middle = (y[webs.span] + y[webs.span + 1]) / 2
    inertia = 2 * (0.01 * 0.006**3 / 12 + 0.01 * 0.006 * 0.012**2)
    one = np.ones(len(middle))
    by_hand = crushing_force(0.36 - middle, 3740e6 * inertia * one, 0.024 * one)
    inner = (middle > 0.05) & (middle < 0.27)
    # 10 %: beside the ribs the caps' own bending and the strips take a few per cent of the moment, which
    # counts twice.
    assert_allclose(edges.pressure[inner], by_hand[inner], rtol=0.1)
    assert_allclose(edges.pressure[inner].mean(), by_hand[inner].mean(), rtol=0.06)
    assert_allclose(edges.crushing, edges.pressure / 1.6e-3, rtol=1e-9)


def test_moment_of_a_cantilever_is_its_force_times_the_arm(cantilever: Analysis) -> None:
    caps = cap_stress(cantilever)
    edges = web_edges(cantilever, caps)
    assert edges is not None
    of_caps, of_webs = moments(cantilever, caps, edges)
    webs, y = cantilever.model.webs, cantilever.model.y
    middle = (y[webs.span] + y[webs.span + 1]) / 2
    inner = (middle > 0.05) & (middle < 0.3)
    # 2 %: equilibrium, but for the strain that is taken to run straight between the caps.
    assert_allclose((of_caps + of_webs)[inner], (0.36 - middle)[inner], rtol=0.02)


def test_dihedral_presses_the_centre_of_the_model_as_the_kink_says() -> None:
    # The trainer's caps meet at 2 x 3 degrees on the centre line; post, web and brace there bear the press.
    wing = read_wing("trainer")
    flat = replace(wing, spars=tuple(_flattened(s) for s in wing.spars))
    bent, straight = (analyse(w, per_bay=8) for w in (wing, flat))
    upright = [_pressure_at_centre(a) for a in (bent, straight)]
    caps = cap_stress(bent)
    edges = web_edges(bent, caps)
    assert edges is not None
    of_caps, of_webs = moments(bent, caps, edges)
    first = bent.model.webs.span == 0
    force = (of_caps[first][0] + of_webs[first].sum()) / bent.model.depth[0, 0]
    # Half of the press at the whole kink of 6 degrees acts on the half wing.
    by_hand = float(kink_force(np.array([force]), np.radians([6.0]))[0]) / 2
    # 8 %: the moment falls over the stretch of web that is summed up.
    assert_allclose(upright[0] - upright[1], by_hand, rtol=0.08)


def _flattened(spar: Spar) -> Spar:
    upper, lower = (Line.constant(float(line.at(0.0))) for line in (spar.z_upper, spar.z_lower))
    return replace(spar, z_upper=upper, z_lower=lower)


def _pressure_at_centre(analysis: Analysis) -> float:
    """Force between the caps near the centre line: post and webs, N, pressing positive."""
    model = analysis.model
    at = np.flatnonzero(model.posts.station == int(np.argmin(np.abs(model.y))))
    force = -float(analysis.recovered["posts"]["forces"][at, :, 0].mean(axis=1).sum())
    webs = model.webs
    y = (model.y[webs.span] + model.y[webs.span + 1]) / 2
    grain = np.where(y >= 0, webs.grain, np.pi - webs.grain)
    own = analysis.recovered["webs"]["stress"]
    upright = to_grain(own[:, 0], own[:, 1], own[:, 2], -grain)[:, 1]
    length = np.diff(model.y)[webs.span]
    return force - float((upright * webs.thickness * length)[y < 0.03].sum())


def test_end_force_by_hand() -> None:
    # 10 GPa x 1.5 mm: 15 kN/mm; strip of 4 mm at 0.3 %, half of 20 mm falling from 0.2 % to nothing.
    force = glue_ends.end_force(*(np.array([v]) for v in (10e9, 1.5e-3, 3e-3, 2e-3, 4e-3, 20e-3)))
    assert_allclose(force, 15e6 * (3e-3 * 4e-3 + 0.5 * 2e-3 * 10e-3), rtol=1e-12)


def test_ends_of_the_trainers_webs_and_brace() -> None:
    analysis = analyse(read_wing("trainer"))
    ends = glue_ends.web_ends(analysis)
    model = analysis.model
    found = {
        (bool(model.webs.brace[e]), round(float(model.y[model.webs.span[e] + 1]), 6), round(float(length), 6))
        for e, length in zip(ends.element, ends.length)
    }
    # Both run to the centre line, which is no end: the web for six bays of 70 mm, the brace for 70 mm.
    assert found == {(True, 0.07, 0.07), (False, 0.42, 0.42)}
    assert not ends.inboard.any()


@given(
    along=st.floats(-5e6, 5e6),
    upright=st.floats(-1e6, 0),
    shear=st.floats(-2e6, 2e6),
    crushing=st.floats(0, 1e6),
    grain=st.floats(0, np.pi),
)
def test_load_at_failure_is_where_norris_is_one(
    along: float, upright: float, shear: float, crushing: float, grain: float
) -> None:
    balsa = material("balsa", density=160.0)
    strengths = strengths_of((balsa,), np.zeros(1, dtype=np.intp))
    linear = to_grain([along], [upright], [shear], [grain])
    square = to_grain([0.0], [-crushing], [0.0], [grain])
    if np.abs(linear).max() + np.abs(square).max() < 1e3:
        return
    k = web_combined.load_at_failure(linear, square, strengths)
    assert_allclose(
        norris.left_side(k[:, None] * linear + k[:, None] ** 2 * square, strengths), 1.0, rtol=1e-3
    )


def test_splitting_by_hand() -> None:
    one = np.ones(1)
    assert_allclose(web_splitting.used_across(0.5 * one, 0 * one, one, 2 * one), 1 / 2, rtol=1e-12)
    assert_allclose(web_splitting.used_across(-0.5 * one, 0 * one, one, 2 * one), 1 / 4, rtol=1e-12)
    # Crushing of 2 of 2 grows with the square, the pressure beside it of 1 of 2 in proportion.
    k = 1 / float(web_splitting.used_across(-one, 2 * one, one, 2 * one)[0])
    assert_allclose(k / 2 + k**2, 1.0, rtol=1e-12)


def test_posts_of_an_open_spar_bear_half_of_both_bays() -> None:
    analysis = analyse(read_wing("spar-open"))
    caps = cap_stress(analysis)
    pressed = post.crushing_on_posts(Solved(analysis))
    model = analysis.model
    y, force = model.y[model.posts.station], caps.axial_force
    lower, middle = ~model.caps.upper, (model.y[model.caps.span] + model.y[model.caps.span + 1]) / 2
    for at, press in list(zip(y, pressed))[1:5]:
        # 2 N^2/(E A h) in the bay on either side, each over 30 mm.
        beside = [force[lower & (np.abs(middle - at - side) < 0.01)].mean() for side in (-0.03, 0.03)]
        by_hand = sum(2 * n**2 / (3740e6 * 6e-5 * 0.024) * 0.03 for n in beside)
        assert_allclose(press, by_hand, rtol=1e-6)
