"""What carries a mass: the ribs to both sides of it, the fuselage, or nothing that the file says."""

from __future__ import annotations

from dataclasses import asdict, replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly, rigid_motions
from models.analysis import analyse
from models.strength import check
from models.structure import build
from models.studies.balance import balance
from models.wing.faults import WingFileError

TAIL = '[[masses]]\nname = "tail"\nmass = "120 g"\nx = "800 mm"\n{}'
NOSE = '[[masses]]\nname = "nose"\nmass = "400 g"\nx = "-150 mm"\n{}'
FUSELAGE = 'carried_by = "fuselage"\n'
CASE = 'load_factor = 5\nmass = "1.2 kg"'


def weighed(wing, **kwargs):
    """Mass and first and second moments of the built wing about the origin, (6, 6)."""
    model = build(wing, per_bay=1, **kwargs)
    assembly = Assembly(model.structure)
    rigid = rigid_motions(model.structure.nodes, assembly.freedoms)
    return rigid.T @ (assembly.mass() @ rigid)


@pytest.mark.parametrize(
    ("y", "paired"), [(0.0, False), (0.1, True), (0.137, True), (0.13, False), (0.6, True)]
)
@pytest.mark.parametrize("by", ["wing", "fuselage"])
def test_a_mass_weighs_where_it_is(make_wing, y, paired, by):
    """Beside the same wing without it: mass and static moments, wherever it stands, whatever carries it."""
    extra = (
        f'[[masses]]\nname = "pod"\nmass = "300 g"\nx = "90 mm"\ny = "{1e3 * y} mm"\nz = "-20 mm"\n'
        f'carried_by = "{by}"\npaired = {str(paired).lower()}\n'
    )
    stations = (
        '{ y = "0 mm", chord = "240 mm", section = "NACA 2412" }, '
        '{ y = "600 mm", chord = "160 mm", leading_edge = "60 mm" }'
    )
    wing = make_wing(stations=stations, extra=extra, case=CASE)
    more = weighed(wing, whole=True) - weighed(replace(wing, masses=()), whole=True)
    sides = 2 if paired else 1
    at = np.array([0.09, 0.0 if paired else y, -0.02])
    assert_allclose(more[0, 0], 0.3 * sides, rtol=1e-9)
    found = np.array([-more[4, 2], more[3, 2], more[4, 0]]) / more[0, 0]
    assert_allclose(found, at, atol=1e-9)
    if by == "fuselage" or not paired or y == 0.6:
        # Turning about x, y and z: the mass is one point.
        own = 0.3 * sides * (0.09**2 + 0.02**2)
        assert_allclose(more[4, 4], own, rtol=1e-9)


def test_a_heavy_mass_hangs_on_the_ribs_to_both_sides(make_wing):
    """On a rib, its neighbours carry it; half a wing and a whole one alike."""
    extra = '[[masses]]\nname = "pod"\nmass = "500 g"\nx = "80 mm"\n'
    wing = make_wing(extra=extra, case="load_factor = 5")
    model = build(replace(wing, whole=True), per_bay=2)
    masses = model.structure.blocks["masses"]
    rows = [k for k, p in enumerate(masses.part) if model.parts[p].place == "pod"]
    stations = [set(np.round(model.structure.nodes[masses.nodes[k], 1], 6).tolist()) for k in rows]
    assert sorted(map(sorted, stations)) == [[-0.1], [0.1]]  # a row a rib: none ties bays into one
    places = masses.places(model.structure.true_corners(masses))[rows]
    assert_allclose(places, [[0.08, 0.0, 0.0]] * 2, atol=1e-12)
    half, both = (analyse(replace(wing, whole=w), per_bay=2) for w in (False, True))
    assert_allclose(
        check(both).load_factor_at_first_failure(), check(half).load_factor_at_first_failure(), rtol=1e-6
    )


def test_nose_and_tail_meet_in_the_fuselage(make_wing):
    """Whatever their arms, the wing feels their weight alone; on its ribs they would break it."""
    both = NOSE.format(FUSELAGE) + TAIL.format(FUSELAGE)
    hung = analyse(make_wing(extra=both, case=CASE))
    wing = hung.wing
    arm = (0.4 * -0.15 + 0.12 * 0.8) / 0.52
    lump = replace(wing.masses[0], name="all", mass=0.52, x=arm)
    one = analyse(replace(wing, masses=(lump,)))
    assert hung.pull_up.trimmed_by == "tail"
    assert_allclose(hung.pull_up.balance_x, one.pull_up.balance_x, rtol=1e-9)
    assert_allclose(
        check(hung).load_factor_at_first_failure(), check(one).load_factor_at_first_failure(), rtol=1e-6
    )
    ribs = analyse(replace(wing, masses=tuple(replace(m, carried_by="wing") for m in wing.masses)))
    assert check(ribs).load_factor_at_first_failure() < 0.9 * check(hung).load_factor_at_first_failure()


def test_the_fuselage_counts_in_balance_and_pitch(make_wing):
    """Without a flying mass too: then the tail is what trims."""
    extra = NOSE.format(FUSELAGE) + TAIL.format(FUSELAGE)
    wing = make_wing(extra=extra, case="load_factor = 5")
    assert analyse(wing, per_bay=2).pull_up.trimmed_by == "tail"
    found = balance(wing)
    bare = balance(replace(wing, masses=()))
    assert_allclose(found.states[0].mass, bare.states[0].mass + 0.52, rtol=1e-9)
    about = found.states[0].inertia[1, 1]
    x = found.states[0].centre[0]
    own = bare.states[0].inertia[1, 1] + bare.states[0].mass * (bare.states[0].centre[0] - x) ** 2
    # Beside it the heights of nose and tail over the centre of gravity, a few millimetres.
    assert_allclose(about, own + 0.4 * (x + 0.15) ** 2 + 0.12 * (x - 0.8) ** 2, rtol=1e-3)


@pytest.mark.parametrize(("text", "asked"), [(TAIL.format('y = "200 mm"\npaired = true\n'), True),
                                             (TAIL.format('carried_by = "wing"\n'), False),
                                             (TAIL.format(FUSELAGE), False)])  # fmt: skip
def test_a_mass_beyond_the_chord_is_asked_about_off_the_centre_line(make_wing, text, asked):
    if not asked:
        wing = make_wing(extra=text, case=CASE)
        assert not wing.cautions
        return
    with pytest.raises(WingFileError, match=r"masses\[0\]\.carried_by.*beyond the chord"):
        make_wing(extra=text, case=CASE)


def test_what_lies_beyond_the_chord_is_taken_for_a_fuselage(make_wing):
    """The same wing as one whose file says so, and a caution names what was taken; nothing is called given
    by default."""
    pod = '[[masses]]\nname = "pod"\nmass = "100 g"\nx = "90 mm"\n'
    unsaid = make_wing(extra=NOSE.format("") + pod + TAIL.format(""), case="load_factor = 5")
    said = make_wing(extra=NOSE.format(FUSELAGE) + pod + TAIL.format(FUSELAGE), case="load_factor = 5")
    assert list(map(asdict, unsaid.masses)) == list(map(asdict, said.masses))
    assert [m.carried_by for m in unsaid.masses] == ["fuselage", "wing", "fuselage"]
    (caution,) = unsaid.cautions
    assert caution.startswith("Nose and tail beyond the chord")
    assert not said.cautions
    paths = [path for path, _ in unsaid.assumed]
    assert "masses[1].carried_by" in paths
    assert "masses[0].carried_by" not in paths
    # What such a file says of the greatest lift is that of a tailed aeroplane.
    assert unsaid.flight.max_lift_coefficient == said.flight.max_lift_coefficient == 1.2


def test_a_mass_that_a_rail_may_carry_is_asked_about(make_wing):
    rail = (
        '[[rails]]\nname = "bearer"\ny = "20 mm"\nx_front = "-160 mm"\nx_rear = "90 mm"\nwidth = "8 mm"\n'
        'height = "8 mm"\nties = ["main"]\ntie_thickness = "2 mm"\n'
    )
    with pytest.raises(WingFileError, match=r"masses\[0\]\.carried_by.*beyond the chord"):
        make_wing(extra=NOSE.format("") + rail, case=CASE)
