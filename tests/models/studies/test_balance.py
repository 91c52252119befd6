"""Mass and balance: the sums agree with the mass matrix, and what is said to mend the balance mends it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly, rigid_motions
from models.loads.pull_up import LightAeroplane, pull_up
from models.structure import build
from models.structure.glue_lines import glue_lines
from models.structure.model import Model
from models.studies import balance as study
from models.studies.balance import Balance, sentences
from models.wing.parts import NotFlying, PointMass, Wing
from models.wing.reading import WingFileError, read, read_text

WINGS = Path(__file__).parents[3] / "models" / "wings"
FLYING = ("trainer", "sailplane", "powered-tailless")
WING = """
name = "plank"
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 0012" },
    { y = "500 mm", chord = "200 mm", leading_edge = "60 mm" },
]
[ribs]
count = 6
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "6 mm", height = "4 mm", wood = "spruce" }
[[spars.webs]]
bays = "1-5"
face = "rear"
thickness = "1.5 mm"
[[masses]]
name = "battery"
mass = "200 g"
x = "-30 mm"
carried_by = "wing"
[[masses]]
name = "tank"
mass = "60 g"
empty = "10 g"
x = "40 mm"
"""


PLAIN = read_text(WING)


def plank(*changes: tuple[str, str], more: str = "") -> Wing:
    text = WING
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    # One outline for all: its lattice is solved once.
    return replace(read_text(text + more), planform=PLAIN.planform)


def balance(wing: Wing, *, model: Model | None = None) -> Balance:
    """Of a coarse mesh: masses do not hang on it."""
    return study.balance(wing, model=model or (build(wing, per_bay=1) if wing.planform else None))


@cache
def shipped(name: str) -> Wing:
    return read(WINGS / f"{name}.toml")


@pytest.mark.parametrize("name", FLYING)
def test_sums_are_those_of_the_mass_matrix(name: str) -> None:
    model = build(shipped(name), per_bay=1)
    found, assembly = balance(model.wing, model=model), Assembly(model.structure)
    flight = pull_up(model, assembly)
    assert_allclose(found.analysed_mass, flight.wing_mass, rtol=1e-9)
    assert_allclose(found.analysed_centre[0], flight.balance_x, rtol=1e-9)
    motions = rigid_motions(model.structure.nodes, assembly.freedoms)
    whole = motions.T @ (assembly.mass() @ motions)
    assert_allclose(found.analysed_centre[2], whole[4, 0] / whole[0, 0], rtol=1e-9)
    lots = [lot for lot in found.lots if lot.kind != "glue"]
    assert_allclose(sum(lot.mass for lot in lots), found.analysed_mass, rtol=1e-9)
    moment = sum(lot.mass * lot.centre for lot in lots)
    assert_allclose(moment / found.analysed_mass, found.analysed_centre, rtol=1e-9, atol=1e-12)
    assert_allclose(sum(mass for _, mass, _ in found.parts), found.analysed_mass, rtol=1e-9)
    # With the glue: the state's own centre and inertia about it.
    total = found.states[0]
    assert_allclose(sum(lot.mass for lot in found.lots), total.mass, rtol=1e-9)
    x, z, m = total.centre[0], total.centre[2], total.mass
    extra = sum((1 for lot in found.lots if lot.kind == "glue"), 0)
    assert extra == 1
    about_origin = total.inertia[1, 1] + m * (x**2 + z**2)
    assert about_origin > (2 if model.half else 1) * whole[4, 4] * (1 - 1e-9)


@pytest.mark.parametrize("name", FLYING)
def test_half_a_wing_stands_for_both(name: str) -> None:
    wing = shipped(name)
    half, whole = (balance(wing, model=build(wing, per_bay=1, whole=both)) for both in (False, True))
    for one, two in zip(half.states, whole.states):
        assert_allclose(one.mass, two.mass, rtol=1e-9)
        assert_allclose(one.centre, two.centre, atol=1e-9)
        assert_allclose(one.inertia, two.inertia, atol=1e-9 * np.trace(two.inertia))
    assert_allclose(half.glue_area, whole.glue_area, rtol=1e-9)


def test_a_mass_on_one_side_moves_the_centre_there() -> None:
    lopsided = plank(more='[[masses]]\nname = "servo"\nmass = "50 g"\nx = "80 mm"\ny = "200 mm"\n')
    found = balance(lopsided)
    state = found.states[0]
    assert "mm to starboard" in " ".join(sentences(found))
    assert "starboard" not in " ".join(sentences(balance(plank())))
    assert_allclose(state.centre[1], 0.05 * 0.2 / state.mass, rtol=1e-9)


def test_what_is_used_up_leaves_from_where_it_is() -> None:
    full, empty = balance(plank()).states
    assert (full.name, empty.name) == ("full", "empty")
    assert_allclose(full.mass - empty.mass, 0.05, rtol=1e-9)
    assert_allclose(full.mass * full.centre[0] - empty.mass * empty.centre[0], 0.05 * 0.04, rtol=1e-9)
    spin = full.inertia[1, 1] + full.mass * (full.centre[0] ** 2 + full.centre[2] ** 2)
    less = empty.inertia[1, 1] + empty.mass * (empty.centre[0] ** 2 + empty.centre[2] ** 2)
    assert_allclose(spin - less, 0.05 * 0.04**2, rtol=1e-9)
    assert [s.name for s in balance(plank(('empty = "10 g"\n', ""))).states] == [""]


def test_shift_is_with_less_without() -> None:
    wing = plank()
    found = balance(wing)
    lot = next(lot for lot in found.lots if lot.name == "battery")
    without = balance(replace(wing, masses=tuple(m for m in wing.masses if m.name != "battery")))
    assert_allclose(lot.shift, found.states[0].centre[0] - without.states[0].centre[0], rtol=1e-9)
    webs = next(lot for lot in found.together if lot.name == "all shear webs")
    open_spar = replace(wing, spars=tuple(replace(spar, webs=()) for spar in wing.spars))
    bare = balance(replace(open_spar, balance=replace(wing.balance, glue_spread=1e-12)))
    dry = balance(replace(wing, balance=replace(wing.balance, glue_spread=1e-12)))
    # A rib that need not make room for a web is longer by the web's thickness.
    ribs = [next(lot.mass for lot in b.lots if lot.name == "ribs") for b in (dry, bare)]
    gone = dry.states[0].mass - bare.states[0].mass
    assert_allclose(gone, webs.mass + ribs[0] - ribs[1], rtol=1e-6)


def test_the_range_is_laid_off_from_the_neutral_point() -> None:
    found = balance(plank())
    assert_allclose(found.mean_chord, 0.2, rtol=1e-12)
    assert_allclose(found.rearmost, found.neutral_x - 0.05 * 0.2, rtol=1e-12)
    assert_allclose(found.foremost, found.neutral_x - 0.15 * 0.2, rtol=1e-12)
    state = found.states[0]
    assert_allclose(state.static_margin * 0.2, found.neutral_x - state.centre[0], rtol=1e-12)
    margins = [s.static_margin for s in found.states]
    assert found.inside == all(0.05 <= m <= 0.15 for m in margins)


def moved(wing: Wing, name: str, by: float) -> Wing:
    masses = tuple(replace(m, x=m.x + by) if m.name == name else m for m in wing.masses)
    return replace(wing, masses=masses)


@pytest.mark.parametrize("x", ["-200 mm", "250 mm"])
def test_the_movement_told_is_the_least_that_does(x: str) -> None:
    wing = plank(('x = "-30 mm"', f'x = "{x}"'))
    found = balance(wing)
    assert found.inside is False
    move = next(m for m in found.moves if m.name == "battery")
    assert move.needed is not None
    assert (move.needed > 0) == (x == "-200 mm")
    # A hair farther it is inside, a hair less far it is not.
    assert balance(moved(wing, "battery", move.needed * (1 + 1e-6))).inside
    assert not balance(moved(wing, "battery", move.needed * (1 - 1e-6))).inside
    far = move.most if move.needed > 0 else move.least
    assert far is not None
    assert balance(moved(wing, "battery", far * (1 - 1e-6))).inside
    assert not balance(moved(wing, "battery", far * (1 + 1e-6))).inside
    words = " ".join(sentences(found))
    assert "outside" in words
    assert ("aft" if move.needed > 0 else "forward") in words


@pytest.mark.parametrize("x", ["-200 mm", "250 mm"])
def test_ballast_told_is_the_least_that_does(x: str) -> None:
    wing = plank(('x = "-30 mm"', f'x = "{x}"'))
    ballast = balance(wing).ballast
    assert ballast is not None

    def with_ballast(mass: float) -> bool | None:
        lead = PointMass("lead", mass, ballast.x, 0.0, 0.0, "wing")
        return balance(replace(wing, masses=(*wing.masses, lead))).inside

    assert with_ballast(ballast.mass * (1 + 1e-6))
    assert not with_ballast(ballast.mass * (1 - 1e-6))


def test_places_bound_the_movement() -> None:
    far = ('x = "-30 mm"', 'x = "250 mm"')
    free = balance(plank(far))
    assert {m.name for m in free.moves} == {"battery", "tank"}
    near = balance(plank(far, ('mass = "200 g"', 'mass = "200 g"\nmoves_between = ["240 mm", "260 mm"]')))
    (move,) = near.moves
    assert move.marked
    assert not move.within_reach
    assert "beyond its places" in " ".join(sentences(near))
    wide = balance(plank(far, ('mass = "200 g"', 'mass = "200 g"\nmoves_between = ["-200 mm", "260 mm"]')))
    assert wide.moves[0].within_reach
    assert f"Move {wide.moves[0].name}" in " ".join(sentences(wide))


def test_the_rest_of_the_aeroplane_makes_it_balance() -> None:
    wing = plank(more='[case]\nmass = "1.5 kg"\n')
    found = balance(wing)
    assert found.inside is None
    assert found.rest is not None
    assert found.moves == ()
    rest = found.rest
    for x, limit in ((rest.least_x, found.foremost), (rest.most_x, found.rearmost)):
        assert x is not None
        fuselage = PointMass("fuselage", rest.mass, x, 0.0, 0.0, "wing")
        states = balance(replace(wing, masses=(*wing.masses, fuselage))).states
        gaps = [abs(s.centre[0] - limit) for s in states]
        assert_allclose(min(gaps), 0.0, atol=1e-9)
        assert all(found.foremost - 1e-9 <= s.centre[0] <= found.rearmost + 1e-9 for s in states)
    text = " ".join(sentences(found))
    assert "bare wing" in text
    assert "itself balance" in text


def test_a_little_without_a_place_is_told_and_left_out() -> None:
    mass = balance(plank()).states[0].mass
    found = balance(plank(more=f'[case]\nmass = "{1.05 * mass:.6f} kg"\n'))
    assert found.inside is not None
    assert "no place in the file" in " ".join(sentences(found))
    assert_allclose(found.wing_loading, 1.05 * mass * 9.80665 / 0.2, rtol=1e-5)
    assert balance(plank(more=f'[case]\nmass = "{1.2 * mass:.6f} kg"\n')).inside is None


KEYS = (
    ('least_static_margin = "2 %"', lambda f: f.rearmost),
    ('most_static_margin = "20 %"', lambda f: f.foremost),
    ('datum = "60 mm"', lambda f: f.states[0].aft_of_datum),
    ('neutral_point = "70 mm"', lambda f: f.neutral_x),
    ('glue_spread = "300 g/m2"', lambda f: f.states[0].mass),
)


@pytest.mark.parametrize(("line", "figure"), KEYS, ids=[line.split()[0] for line, _ in KEYS])
def test_every_key_of_the_table_counts(line, figure) -> None:
    assert figure(balance(plank(more=f"[balance]\n{line}\n"))) != figure(balance(plank()))


def test_ballast_goes_where_the_file_says() -> None:
    far = ('x = "-30 mm"', 'x = "250 mm"')
    there = balance(plank(far, more='[balance]\nballast_at = "-100 mm"\n')).ballast
    assert there is not None
    assert there.x == -0.1
    assert there.mass < balance(plank(far)).ballast.mass


@pytest.mark.parametrize(
    ("change", "path"),
    [
        (('empty = "10 g"', 'empty = "61 g"'), "masses[1].empty"),
        (('empty = "10 g"', 'moves_between = ["50 mm", "90 mm"]'), "masses[1].moves_between"),
        (('empty = "10 g"', 'moves_between = ["50 mm", "30 mm"]'), "masses[1].moves_between"),
        (('empty = "10 g"', 'moves_between = "50 mm"'), "masses[1].moves_between"),
        (('empty = "10 g"', 'empty = "-1 g"'), "masses[1].empty"),
        (
            ('name = "plank"', 'name = "plank"\nbalance = { most_static_margin = "5 %" }'),
            "balance.most_static",
        ),
    ],
)
def test_faults_of_the_file(change: tuple[str, str], path: str) -> None:
    with pytest.raises(WingFileError) as fault:
        plank(change)
    assert path in str(fault.value)


def test_last_good_values() -> None:
    assert len(balance(plank(('empty = "10 g"', 'empty = "60 g"'))).states) == 2
    plank(('empty = "10 g"', 'moves_between = ["40 mm", "90 mm"]'))


def test_what_cannot_be_weighed() -> None:
    with pytest.raises(NotFlying):
        balance(read(WINGS / "spar-box.toml"))
    with pytest.raises(LightAeroplane):
        balance(plank(more='[case]\nmass = "10 g"\n'))


def test_a_bare_wing_is_called_so() -> None:
    wing = plank()
    bare = balance(replace(wing, masses=()))
    assert bare.moves == ()
    assert "hangs nothing on the wing" in " ".join(sentences(bare))
    assert "hangs nothing" not in " ".join(sentences(balance(wing)))


def test_a_neutral_point_from_the_file_is_named_as_such() -> None:
    words = " ".join(sentences(balance(plank(more='[balance]\nneutral_point = "70 mm"\n'))))
    assert "of the aeroplane, from the file, is 70 mm aft" in words


def test_a_wing_without_a_rib_on_the_centre_line() -> None:
    apart = plank(("count = 6", 'count = 6\nfrom = "20 mm"'), ('bays = "1-5"', 'bays = "0-5"'))
    half, whole = (
        balance(apart, model=build(apart, per_bay=1, whole=False)),
        balance(apart, model=build(apart, per_bay=1, whole=True)),
    )
    assert_allclose(half.states[0].centre, whole.states[0].centre, atol=1e-9)
    assert_allclose(half.glue_area, whole.glue_area, rtol=1e-9)


def test_glue_by_hand() -> None:
    model = build(plank(), per_bay=1)
    lines = glue_lines(model)
    laps = sum(a for joint, a in zip(lines.joint, lines.area) if joint == "shear webs on caps")
    assert_allclose(laps, 2 * 0.004 * np.hypot(0.5, 0.06), rtol=1e-9)
    feet = sum(a for joint, a in zip(lines.joint, lines.area) if joint == "ribs on caps")
    # Ribs cut the caps along the stream.
    assert_allclose(feet, 5.5 * 2 * 0.002 * 0.006 * np.hypot(0.5, 0.06) / 0.5, rtol=1e-9)


def test_glue_of_a_full_house() -> None:
    joints = set(glue_lines(build(shipped("powered-tailless"), per_bay=1)).joint)
    assert joints >= {
        "braces on caps", "cap strips on ribs", "sheeting on ribs", "sheeting on caps", "rails on ties",
        "sheeting on the leading edge", "ribs on edges", "rail ties on spars",
    }  # fmt: skip
    assert "facings on caps" in glue_lines(build(shipped("sailplane"), per_bay=1)).joint


def test_a_movement_of_everything_moves_nothing_but_the_centre() -> None:
    found = balance(plank())
    ahead = next(lot for lot in found.together if lot.name.startswith("all ahead"))
    battery = next(lot for lot in found.lots if lot.name == "battery")
    assert_allclose(ahead.mass, battery.mass, rtol=1e-9)  # nothing else lies ahead of the leading edge


def test_masses_do_not_hang_on_the_mesh() -> None:
    coarse, fine = balance(plank()), study.balance(plank())
    for one, two in zip(coarse.states, fine.states):
        assert_allclose(one.mass, two.mass, rtol=1e-9)
        assert_allclose(one.centre, two.centre, rtol=1e-9, atol=1e-12)


def test_caps_and_webs_by_hand() -> None:
    wing = plank()
    found = balance(wing)
    lots = {lot.name: lot for lot in found.lots}
    long = np.hypot(0.5, 0.06)  # the spar sweeps with the wing
    (spar,) = wing.spars
    caps = lots["caps, main spar"]
    assert_allclose(caps.mass, 4 * 0.006 * 0.004 * long * spar.upper.layers[0].material.density, rtol=1e-9)
    assert_allclose(caps.centre, [0.3 * 0.2 + 0.03, 0.0, 0.0], atol=1e-9)
    # All lots together, moment by moment.
    total = sum(lot.mass for lot in found.lots)
    x = sum(lot.mass * lot.centre[0] for lot in found.lots) / total
    assert_allclose(found.states[0].centre[0], x, rtol=1e-12)


def test_places_ahead_of_the_datum_are_told_as_such() -> None:
    words = " ".join(sentences(balance(plank(more='[balance]\ndatum = "100 mm"\n'))))
    assert "ahead" in words
    assert "-" not in words.replace("bare-wing", "").split("Static margin")[0]
    middle = 1e3 * (balance(plank()).foremost + balance(plank()).rearmost) / 2
    within = " ".join(sentences(balance(plank(more=f'[balance]\ndatum = "{middle:.3f} mm"\n'))))
    assert "range 10 mm ahead to 10 mm aft" in within


def test_a_movement_longer_than_the_aeroplane_is_not_offered() -> None:
    light = plank(('x = "-30 mm"', 'x = "250 mm"'), ('mass = "60 g"\nempty = "10 g"', 'mass = "2 g"'))
    found = balance(light)
    tank = next(m for m in found.moves if m.name == "tank")
    assert tank.needed is not None
    assert abs(tank.needed) > 2 * light.semispan
    assert not tank.within_reach
    assert "tank" not in " ".join(sentences(found))
