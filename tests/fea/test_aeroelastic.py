"""Divergence, reversal and flutter: limits, laws of similarity, and against the exact function; published
figures are in `validation/cases/aeroelastic.py`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.aeroelastic import (
    JONES,
    HarmonicAir,
    System,
    divergence,
    dynamic_stiffness,
    flapped_section,
    flapped_strips,
    flutter,
    harmonic_flutter,
    normal,
    onset,
    reversal,
    root,
    state_matrix,
    steady,
    strips,
    sweep,
    theodorsen,
    trimmed,
    with_damping,
)

AIR = 1.225
SPEEDS = np.linspace(0.2, 4.0, 60)


def _section(free: bool = False, ahead: float = -0.1, axis: float = -0.2) -> System:
    one = np.ones(1)
    mass = 75.0 * np.array([[1, ahead], [ahead, 0.24]])
    stiffness = 75.0 * np.diag([0.0 if free else 0.16, 0.24])
    air = strips(np.array([[1.0, 0]]), np.array([[0, 1.0]]), one, one, axis * one, 2 * np.pi)
    return System(mass, stiffness, np.zeros((2, 2)), air)


def test_lag_of_circulation_has_its_limits():
    assert_allclose(theodorsen(np.array([0.0, 1e-6j, 1e6j])), [1, 1, 0.5], atol=2e-5)
    assert_allclose(JONES.lag(np.array([0.0 + 0j, 1e9j])), [1, 0.5], atol=1e-8)
    k = 1j * np.linspace(0.02, 2, 200)
    assert np.abs(JONES.lag(k) - theodorsen(k)).max() < 0.015


def test_states_have_the_roots_of_the_dynamic_stiffness():
    """An eigenvalue of the states makes the dynamic stiffness with the same lags singular."""
    section = _section()
    for value in np.linalg.eigvals(state_matrix(section, AIR, 1.5)):
        if value.imag > 0:
            stiff = dynamic_stiffness(section, AIR, 1.5, complex(value), JONES)
            sizes = np.linalg.svd(stiff, compute_uv=False)
            assert sizes[-1] < 1e-10 * sizes[0]
            assert_allclose(root(section, AIR, 1.5, complex(value) * 1.01, JONES), value, rtol=1e-8)


def _tapering(n_strips: int = 40) -> System:
    """A cantilever wing that tapers, on bending and twist by powers of its span."""
    y = (np.arange(n_strips) + 0.5) / n_strips
    half_chord, none = 0.15 * (1 - 0.5 * y), np.zeros((n_strips, 3))
    up = np.hstack([np.stack([y**2, y**3, y**4], axis=1), none])
    nose_up = np.hstack([none, np.stack([y, y**2, y**3], axis=1)])
    air = strips(up, nose_up, np.full(n_strips, 1 / n_strips), half_chord, np.zeros(n_strips), 2 * np.pi)
    mass = (up.T * 0.5) @ up + (nose_up.T * 0.004) @ nose_up + 0.01 * (up.T @ nose_up + nose_up.T @ up)
    stiffness = np.zeros((6, 6))
    bend, turn = np.arange(2, 5), np.arange(1, 4)
    bent, turned = bend * (bend - 1), turn
    stiffness[:3, :3] = 40.0 * np.outer(bent, bent) / (bend[:, None] + bend - 3) * n_strips
    stiffness[3:, 3:] = 4.0 * np.outer(turned, turned) / (turn[:, None] + turn - 1) * n_strips
    return System(mass, stiffness, np.zeros((6, 6)), air)


@pytest.mark.parametrize("n_strips", [10, 40, 120])
def test_few_states_of_the_wake_swing_as_all_do(n_strips):
    system = _tapering(n_strips)
    assert len(system.short_wake.fade) < min(0.8 * len(system.wake.fade), 40)
    for speed in (2.0, 10.0, 40.0):
        every = np.linalg.eigvals(state_matrix(system, AIR, speed))
        few = np.linalg.eigvals(state_matrix(system, AIR, speed, system.short_wake))
        swings = every[every.imag > 0.05 * np.abs(every)]
        assert len(swings) >= 5
        near = np.abs(few[:, None] - swings).min(axis=0)
        assert (near < 1e-9 * np.abs(swings)).all()


def test_states_that_say_too_little_are_not_taken(monkeypatch):
    """As many states as leave something out: the forces are held against those of all, which stay."""
    monkeypatch.setattr("fea.aeroelastic._UNFELT", 1e-3)
    system = _tapering()
    assert system.short_wake is system.wake


def test_nothing_happens_without_air():
    assert flutter(_section(), 1e-12, SPEEDS) == []
    values = sweep(_section(), 1e-12, SPEEDS, 2).values
    omega, _ = normal(_section().mass, _section().stiffness)
    assert_allclose(values.imag, np.broadcast_to(omega, values.shape), rtol=1e-9)


def test_a_flutter_point_is_one_with_the_exact_function():
    found = flutter(_section(), AIR, SPEEDS)[0]
    stiff = dynamic_stiffness(_section(), AIR, found.speed, 1j * found.omega)
    assert_allclose(stiff @ found.shape, 0, atol=1e-9 * np.abs(stiff).max())
    near = flutter(_section(), AIR, SPEEDS, exact=False)[0]
    assert 1e-4 < abs(near.speed / found.speed - 1) < 1e-2


def test_a_search_that_begins_too_late_looks_below():
    found = flutter(_section(), AIR, SPEEDS)[0]
    late = flutter(_section(), AIR, SPEEDS[found.speed * 1.05 < SPEEDS])
    assert_allclose(late[0].speed, found.speed, rtol=1e-8)


def test_similar_bodies_flutter_alike():
    """All sizes by 3, stiffness by 4 at the same shape: speed by 2 (masses as density times size)."""
    one = flutter(_section(), AIR, SPEEDS)[0]
    stiffer = replace(_section(), stiffness=4 * _section().stiffness)
    two = flutter(stiffer, AIR, 2 * SPEEDS)[0]
    assert_allclose([two.speed, two.omega], [2 * one.speed, 2 * one.omega], rtol=1e-8)
    heavy = replace(_section(), mass=2 * _section().mass, stiffness=2 * _section().stiffness)
    three = flutter(heavy, 2 * AIR, SPEEDS)[0]
    assert_allclose([three.speed, three.omega], [one.speed, one.omega], rtol=1e-8)


def test_other_coordinates_and_units_say_the_same():
    section = _section()
    turned = np.array([[1.0, 300.0], [0.02, -500.0]])
    other = System(
        turned.T @ section.mass @ turned,
        turned.T @ section.stiffness @ turned,
        turned.T @ section.damping @ turned,
        section.air.through(turned),
    )
    assert_allclose(flutter(other, AIR, SPEEDS)[0].speed, flutter(section, AIR, SPEEDS)[0].speed, rtol=1e-8)
    assert_allclose(divergence(other), divergence(section), rtol=1e-9)


def test_damping_of_the_structure_raises_the_speed_and_has_the_size_asked_for():
    damped = with_damping(_section(), 0.02)
    assert_allclose(sweep(damped, 1e-12, SPEEDS[:2], 2).damping, 0.01, rtol=1e-6)
    assert flutter(damped, AIR, SPEEDS)[0].speed > flutter(_section(), AIR, SPEEDS)[0].speed


def test_a_section_twists_off_where_its_spring_says():
    """q = K/(2 pi c e) with lift a quarter chord from the edge, e from there to the axis."""
    expected = 75 * 0.24 / (2 * np.pi * 2 * (0.5 - 0.2))
    assert_allclose(divergence(_section()), expected, rtol=1e-10)
    assert_allclose(divergence(_section(free=True)), np.inf)
    assert divergence(_section(axis=-0.6)) == np.inf


def test_a_free_plunge_is_no_state_and_its_lasting_rate_cancels_lift():
    section = _section(free=True)
    placed, neutral = section.resisted
    assert placed.shape == (2, 1)
    assert_allclose(neutral[1] / neutral[0], 0, atol=1e-12)
    assert_allclose(placed.T @ section.mass @ neutral, 0, atol=1e-12)
    # A force up makes it rise until the air takes its lift away: 2 pi c q w'/V = F.
    place, pace = steady(section, 10.0, np.array([5.0, 5.0 * 0.3]))
    assert_allclose(pace[0], 5 / (10 * 2 * np.pi * 2), rtol=1e-9)
    assert_allclose(place[1], 0, atol=1e-12)


def test_reversal_of_a_flap_on_a_section_free_to_plunge():
    """q = -K cl_d/(c^2 cm_d cl_a), Megson 29.2, with lift's slope 2 pi."""
    by_flap, moment = 3.0, -0.6
    control = 2 * np.array([by_flap, by_flap * 0.3 + 2 * moment])
    expected = -75 * 0.24 * by_flap / (4 * moment * 2 * np.pi)
    assert_allclose(reversal(_section(free=True), control), expected, rtol=1e-9)
    with pytest.raises(ValueError, match="free to roll"):
        reversal(_section(), control)


def test_modes_are_followed_across_speeds():
    """A finer path ends where a coarse one does; at the flutter point one mode's damping is nought."""
    speeds = np.linspace(0.2, 2.4, 23)
    coarse, fine = sweep(_section(), AIR, speeds, 2), sweep(_section(), AIR, np.linspace(0.2, 2.4, 89), 2)
    assert_allclose(coarse.values[-1], fine.values[-1], rtol=1e-9)
    at = flutter(_section(), AIR, SPEEDS, exact=False)[0].speed
    ends = sweep(_section(), AIR, np.linspace(0.2, at, 50), 2)
    assert np.nanmin(np.abs(ends.damping[-1])) < 1e-6


def test_harmonic_air_gives_the_flutter_of_the_same_air_in_strips():
    """The exact function tabulated; no damping, and damping as a loss factor raises the speed."""
    section = _section()
    kappa = np.concatenate([[0.0], np.geomspace(0.01, 2, 60)])
    force = []
    for k in kappa:
        air, lagged = section.air, theodorsen(1j * k * section.air.half_chord)
        wake = (air.push * lagged) @ (air.angle + 1j * k * air.rate)
        force.append(k**2 * air.mass + 1j * k * air.damping + air.stiffness + wake)
    harmonic = HarmonicAir(kappa, np.array(force))
    found = harmonic_flutter(section.mass, section.stiffness, harmonic, AIR)
    exact = flutter(section, AIR, SPEEDS)[0]
    assert found is not None
    assert_allclose([found.speed, found.omega], [exact.speed, exact.omega], rtol=1e-5)
    assert np.abs(np.vdot(found.shape, exact.shape)) > 0.999
    damped = harmonic_flutter(section.mass, section.stiffness, harmonic, AIR, 0.02)
    assert damped is not None
    assert damped.speed > found.speed
    assert harmonic_flutter(section.mass, section.stiffness, harmonic, 1e-9) is None


def test_strips_with_flaps_that_stand_still_are_strips():
    """And one strip with a flap is the section with a flap, times its width."""
    rng = np.random.default_rng(5)
    up, nose_up, turn = rng.normal(size=(3, 4, 6))
    width, half = rng.uniform(0.5, 2, size=(2, 4))
    still = System(*(np.eye(6),) * 3, flapped_strips(up, nose_up, 0 * turn, width, half, 0.7))
    plain = System(*(np.eye(6),) * 3, strips(up, nose_up, width, half, np.zeros(4), 2 * np.pi))
    for p in (3j, 0.5 + 20j):
        ours, theirs = (dynamic_stiffness(one, 1.2, 9.0, p) for one in (still, plain))
        assert_allclose(ours, theirs, rtol=1e-10, atol=1e-10)
    one = [np.eye(3)[k : k + 1] for k in range(3)]
    strip = System(*(np.eye(3),) * 3, flapped_strips(*one, np.array([2.0]), np.array([0.3]), 0.7))
    section = System(*(np.eye(3),) * 3, flapped_section(0.3, 0.0, 0.4))
    air = [dynamic_stiffness(s, 1.2, 9.0, 5j) - dynamic_stiffness(s, 0.0, 9.0, 5j) for s in (strip, section)]
    assert_allclose(air[0], 2 * air[1], rtol=1e-9, atol=1e-12)


def test_lift_at_constant_total_lift_goes_where_a_twisting_wing_puts_it():
    """q/q_D 0.36: root 0.684750, tip 1.164967 of the mean, centre at 0.540623: z cos(z (1 - y/L))/sin z with
    z = 0.6 pi/2 and tan(z/2)/z in closed form (even wing, strips; computed); q_D from `divergence`'s rod."""
    n, length, torsion, arm, slope = 400, 1.0, 8.0, 0.025, 2 * np.pi
    h = length / n
    chain = torsion / h * (np.diag(np.append(2 * np.ones(n - 1), 1)) - np.eye(n, k=1) - np.eye(n, k=-1))
    middle = (np.eye(n) + np.eye(n, k=-1)) / 2
    pressure = 0.36 * torsion * (np.pi / (2 * length)) ** 2 / (slope * 0.25 * arm)
    lifts = pressure * slope * 0.25 * h * np.eye(n)
    mean = np.full(n, 10.0 * h)
    push = arm * middle.T
    # By lift 1 N/m the wing as built has an angle of mean lift.
    _, _, more = trimmed(chain, push @ mean, push, lifts @ middle, lifts @ np.ones((n, 1)), np.ones((1, n)))
    share = (mean + more) / mean
    y = (np.arange(n) + 0.5) * h
    z = 0.6 * np.pi / 2
    assert_allclose(share, z * np.cos(z * (1 - y)) / np.sin(z), rtol=1e-4)
    assert_allclose(share[[0, -1]], [0.684750, 1.164967], rtol=2e-3)
    assert_allclose(y @ (mean + more) / 10, 0.540623, rtol=1e-4)
    assert abs(more.sum()) < 1e-9 * 10


def test_derivative_of_a_flutter_speed_is_its_difference():
    """By stiffness, mass and damping of a section; exact function and lags; 1e-4."""
    section = replace(_section(), damping=0.01 * np.eye(2))
    rng = np.random.default_rng(3)
    for exact in (True, False):
        point = flutter(section, AIR, SPEEDS, exact=exact)[0]
        at = onset(section, AIR, point, None if exact else JONES)
        for name in ("stiffness", "mass", "damping"):
            change = rng.normal(size=(2, 2))
            change = 0.1 * (change + change.T) * np.abs(getattr(section, name)).max()
            form = np.array([at.left.conj() @ change @ at.right])
            none = np.zeros(1, complex)
            ours = at.by(*(form if one == name else none for one in ("stiffness", "mass", "damping")))[0]
            step = 1e-4
            ends = [
                flutter(
                    replace(section, **{name: getattr(section, name) + s * change}), AIR, SPEEDS, exact=exact
                )
                for s in (step, -step)
            ]
            assert_allclose(ours, (ends[0][0].speed - ends[1][0].speed) / (2 * step), rtol=1e-4)
