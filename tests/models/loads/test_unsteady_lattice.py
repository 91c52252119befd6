"""Unsteady lattice: two dimensions, finite wings at rest, mirror images, flaps."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.aeroelastic import System, dynamic_stiffness, flapped_section, theodorsen
from models.loads.elevons import flap_effectiveness
from models.loads.lifting_surface import lifting_surface
from models.loads.unsteady_lattice import Flap, Lattice
from models.wing.reading import read


def _long(rows: int) -> Lattice:
    edges = np.linspace(0, 400, 11)
    return Lattice(edges, np.zeros(11), np.ones(11), rows)


@pytest.mark.parametrize("k", [0.1, 0.3, 0.6])
def test_a_long_wing_goes_to_theodorsens_lift_and_moment_as_one_over_its_rows(k):
    """Plunge and pitch about mid-chord, in the middle of a wing of 800 chords."""
    b, kappa = 0.5, 2 * k
    c = complex(theodorsen(1j * k))
    plunge = np.pi * b**2 * kappa**2 - 2 * np.pi * b * c * 1j * kappa
    wake = 2 * np.pi * b * c * (1 + 1j * kappa * b / 2)
    pitch = np.pi * b**2 * 1j * kappa + wake
    moment = np.pi * b**2 * (-b / 2 * 1j * kappa + b**2 * kappa**2 / 8) + b / 2 * wake
    errors = []
    for rows in (8, 16):
        lattice = _long(rows)
        found = lattice.harmonic(kappa, 1)
        lift, turn = found[0] / 40, found[10] / 40
        ours = np.array([lift[:10].sum(), lift[10:].sum(), turn[10:].sum()])
        errors.append(np.abs(ours / np.array([plunge, pitch, moment]) - 1))
    assert np.all(errors[0] < 0.09)
    assert np.all(errors[1] < 0.65 * errors[0])


def test_steady_lift_is_that_of_the_lifting_surface():
    plan = read(resources.files("models.wings") / "powered-tailless.toml").planform
    edges = np.linspace(0, plan.semispan, 41)
    lattice = Lattice(edges, plan.leading_edge_x.at(edges), plan.chord.at(edges), 8)
    found = lattice.harmonic(0.0, 1)
    s = lattice.columns
    slope = 2 * 2 * found[:s, s:].sum().real / plan.area
    assert_allclose(slope, lifting_surface(plan).lift_slope, rtol=1e-2)
    assert_allclose(found[:, :s], 0, atol=1e-12)
    # Nose up by the place of lift: the neutral point.
    y = (edges[1:] + edges[:-1]) / 2
    middle = plan.leading_edge_x.at(y) + plan.chord.at(y) / 2
    lift, turn = found[:s, s:].sum(axis=1).real, found[s:, s:].sum(axis=1).real
    assert_allclose((lift @ middle - turn.sum()) / lift.sum(), lifting_surface(plan).neutral_x, rtol=1e-2)


def test_slow_movement_goes_to_the_steady_limit():
    edges = np.linspace(0, 3, 13)
    lattice = Lattice(edges, 0.2 * edges, np.ones(13), 6)
    for sign in (1, -1):
        slow, still = lattice.harmonic(1e-4, sign), lattice.harmonic(0.0, sign)
        assert_allclose(slow, still, atol=2e-3 * np.abs(still).max())
        rate = lattice.lasting(sign)
        small = slow[:, :12] / 1e-4j
        assert_allclose(small.real, rate[:, :12], atol=1e-2 * np.abs(rate).max())


def test_a_flap_along_a_long_wing_lifts_as_thin_sections_do():
    errors = []
    for rows in (10, 40):
        lift = _long(rows).flap(np.ones(10), 0.8, 1)[0] / 40
        errors.append(lift / (np.pi * flap_effectiveness(0.8)) - 1)
    assert abs(errors[1]) < abs(errors[0]) < 0.06


def test_a_roll_has_less_lift_at_the_middle_than_a_plunge():
    edges = np.linspace(0, 3, 13)
    lattice = Lattice(edges, 0 * edges, np.ones(13), 6)
    alike, opposite = (lattice.harmonic(0.0, sign)[:12, 12:].sum(axis=1).real for sign in (1, -1))
    assert opposite[0] < 0.5 * alike[0]
    assert_allclose(opposite[-1], alike[-1], rtol=0.2)


@pytest.mark.parametrize("reduced", [0.1, 0.5])
def test_a_flap_in_the_middle_of_a_long_wing_is_that_of_a_section(reduced):
    """Lift, moment and hinge moment, by Theodorsen; a wing of 800 chords, all along but at its end."""
    lattice, chord, hinge = _long(40), 1.0, 0.75
    kappa, s = reduced / (chord / 2), lattice.columns
    forces = lattice.harmonic(kappa, 1, Flap(np.ones(s), hinge))
    plunge = np.concatenate([np.ones(s), np.zeros(s + 1)])
    movements = np.array([plunge, np.roll(plunge, s), np.eye(2 * s + 1)[-1]]).T
    answer = forces @ movements
    width = np.diff(lattice.edges)[0]
    ours = np.array([answer[0] / width, answer[s] / width, answer[-1] / lattice.edges[-1]])
    none = np.zeros((3, 3))
    section = System(none, none, none, flapped_section(chord / 2, 0.0, 2 * hinge - 1))
    exact = -dynamic_stiffness(section, 1.0, 1.0, 1j * kappa)
    for got, expected in zip(ours, exact, strict=True):
        assert_allclose(got, expected, atol=0.03 * np.abs(expected).max())
