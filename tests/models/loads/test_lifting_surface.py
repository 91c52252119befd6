"""The vortex lattice: scaling, symmetry, camber, and a flying wing solved with its lift."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse, spar_motion
from models.loads.lifting_surface import lifting_surface
from models.loads.pull_up import lift_words, root_bending
from models.wing.parts import Line, Planform
from models.wing.reading import read, read_text

WINGS = Path(__file__).parents[3] / "models" / "wings"


def straight(aspect: float, size: float = 1.0, camber: float = 0.0) -> Planform:
    """A rectangular wing, thin, with a parabolic mean line of the given camber."""
    semispan, chord = size, 2 * size / aspect
    x = np.linspace(0, 1, 101)
    mean = 4 * camber * x * (1 - x)
    y = np.array([0.0, semispan])
    flat = Line(y, np.zeros(2))
    return Planform(
        semispan, Line(y, np.full(2, chord)), flat, flat, flat, np.array([0.0]), x, mean[None], mean[None]
    )


def test_size_changes_nothing_but_size() -> None:
    small, large = lifting_surface(straight(6.0)), lifting_surface(straight(6.0, 3.0))
    assert_allclose(large.lift_slope, small.lift_slope, rtol=1e-12)
    assert_allclose(large.neutral_x / 3, small.neutral_x, rtol=1e-10)


def test_a_lattice_is_solved_once_for_an_outline_however_often_it_is_read() -> None:
    one, again = straight(6.0), straight(6.0)
    assert lifting_surface(one) is lifting_surface(again)
    tip = Line(again.washout.y, np.array([0.0, 0.05]))
    assert lifting_surface(replace(again, washout=tip)) is not lifting_surface(one)
    assert lifting_surface(replace(again, semispan=0.9)) is not lifting_surface(one)


def test_a_slender_wing_approaches_the_section() -> None:
    assert_allclose(lifting_surface(straight(200.0)).lift_slope, 2 * np.pi, rtol=0.02)


def test_parabolic_camber_turns_the_zero_lift_angle() -> None:
    # Thin-aerofoil theory: alpha_0 = -2 f for a parabolic mean line of camber f (from memory); 3 %: lattice.
    found = lifting_surface(straight(100.0, camber=0.02))
    assert_allclose(found.zero_lift_angle, -0.04, rtol=0.03)


@pytest.mark.parametrize("name", ["trainer", "powered-tailless", "sailplane"])
def test_a_wing_flies_on_the_surface_as_on_schrenk(name: str) -> None:
    wing = read(WINGS / f"{name}.toml")
    schrenk, surface = (
        analyse(replace(wing, case=replace(wing.case, lift_method=method)))
        for method in ("schrenk", "surface")
    )
    flight = surface.pull_up
    assert flight is not None
    assert_allclose(2 * flight.rib_lift.sum(), flight.lift, rtol=1e-9)
    assert surface.solution.checks.free_reaction < 1e-8
    tips = [spar_motion(a, 0).deflection[-1] for a in (schrenk, surface)]
    assert tips[0] != tips[1]
    assert_allclose(tips[1], tips[0], rtol=0.6)


def test_the_key_says_which() -> None:
    text = (WINGS / "trainer.toml").read_text(encoding="utf-8")
    assert read_text(text).case.lift_method == "schrenk"
    other = text.replace("load_factor = 4", 'load_factor = 4\nlift = "surface"')
    assert read_text(other).case.lift_method == "surface"


@pytest.mark.parametrize(
    ("tip", "method"),
    [
        ('chord = "220 mm"', "schrenk"),
        ('chord = "120 mm", leading_edge = "25 mm"', "schrenk"),
        ('chord = "120 mm"', "surface"),
        ('chord = "220 mm", leading_edge = "10 mm"', "surface"),
        ('chord = "220 mm", washout = "1 deg"', "surface"),
        ('chord = "220 mm", section = "NACA 0012"', "surface"),
        ('chord = "220 mm", section = "NACA 2410"', "surface"),
    ],
)
def test_a_wing_that_sweeps_or_twists_flies_on_the_surface(tip: str, method: str) -> None:
    text = (WINGS / "trainer.toml").read_text(encoding="utf-8")
    changed = text.replace('chord = "220 mm", dihedral = "3 deg"', tip)
    assert changed != text
    assert read_text(changed).case.lift_method == method
    given = changed.replace("load_factor = 4", 'load_factor = 4\nlift = "schrenk"')
    assert read_text(given).case.lift_method == "schrenk"


def test_it_is_told_where_the_methods_differ() -> None:
    text = (WINGS / "powered-tailless.toml").read_text(encoding="utf-8")
    for washout, told in (("5 deg", True), ("0 deg", False)):
        wing = read_text(text.replace('washout = "3 deg"', f'washout = "{washout}"'))
        coefficient = 0.4
        lift = 0.5 * wing.case.air_density * wing.case.speed**2 * wing.planform.area * coefficient
        schrenk, surface = (root_bending(wing.planform, m, coefficient) for m in ("schrenk", "surface"))
        said = lift_words(wing.planform, wing.case, lift)
        assert (abs(schrenk / surface - 1) > 0.1) == told == (said is not None)
        if said is not None:
            assert f"{100 * (schrenk / surface - 1):.0f} % more" in said
            assert "lifting surface's lift is taken" in said


def test_bending_of_the_rectangle_by_schrenk() -> None:
    """Half of an even load and half of an ellipse: (1 + 8/(3 pi))/2."""
    assert_allclose(root_bending(straight(8.0), "schrenk", 0.5), (1 + 8 / (3 * np.pi)) / 2, rtol=1e-9)
