"""The order of gluing: each step against the same wing in a file of its own, statics and springs by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.solve import Mechanism
from models.loads.hand_test import GRAVITY, BadHandLoad, HandLoad
from models.studies import steps as study
from models.studies.hand_test import given, half, hold
from models.studies.steps import COVERING, FIRST, FRAME, RAILS, SECOND, SHEETING, stages, stays, steps

CAPS = 'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\njoint = "scarfed"\n'


def spars(first: bool, second: bool) -> str:
    """A box in bays 1 and 2, a rear web in bay 3, a second spar with a web on its front.

    The caps lie as deep as the sheeting will be thick, which a file without it has to say.
    """
    main = '[[spars]]\nname = "main"\nat = "30 %"\ninset = "1.5 mm"\n' + CAPS
    if first:
        main += '[[spars.webs]]\nbays = "1-3"\nface = "rear"\nthickness = "1.5 mm"\n'
    if second:
        main += '[[spars.webs]]\nbays = "1-2"\nface = "front"\nthickness = "1.5 mm"\n'
    aft = '[[spars]]\nname = "aft"\nat = "65 %"\ninset = "1 mm"\n' + CAPS
    return (
        main + aft + ('[[spars.webs]]\nbays = "1"\nface = "front"\nthickness = "1.5 mm"\n' if first else "")
    )


BRACE = '[[braces]]\nspar = "main"\nface = "between"\nto = "80 mm"\nthickness = "2 mm"\n'
RAIL = (
    '[[rails]]\nname = "bearer"\ny = "30 mm"\nx_front = "-60 mm"\nx_rear = "135 mm"\nz = "3.2 mm"\n'
    'width = "8 mm"\nheight = "5 mm"\nwood = "beech"\nties = ["main", "aft"]\ntie_thickness = "2 mm"\n'
)
SHEETS = '[[sheeting]]\nfrom = "leading edge"\nto = "main"\nthickness = "1.5 mm"\nwood = "balsa medium"\n'
FILM = (
    '[covering]\nfilm = "polyester film"\nthickness = "0.025 mm"\nE = "4.5 GPa"\npretension = "60 N/m"\n'
    'mass_per_area = "45 g/m2"\n'
)
EQUIPMENT = '[[masses]]\nname = "battery"\nmass = "90 g"\nx = "20 mm"\n'
RIBS = 'count = 5\nthickness = "2 mm"\n'
STRIP = 'cap_strip = { width = "6 mm", thickness = "1 mm", wood = "balsa light" }\n'
GLUED = {
    FRAME: (spars(False, False), RIBS, BRACE),
    FIRST: (spars(True, False), RIBS, BRACE),
    SECOND: (spars(True, True), RIBS, BRACE),
    RAILS: (spars(True, True), RIBS, BRACE + RAIL),
    SHEETING: (spars(True, True), RIBS + STRIP, BRACE + RAIL + SHEETS),
    COVERING: (spars(True, True), RIBS + STRIP, BRACE + RAIL + SHEETS + FILM),
}
COARSE = {"per_bay": 1, "across_chord": 2}


@pytest.fixture(scope="module")
def built(make_wing):
    spar, ribs, extra = GLUED[COVERING]
    return steps(make_wing(spars=spar, ribs=ribs, extra=extra + EQUIPMENT), **COARSE)


def test_steps_in_their_order(built):
    assert [step.stage.name for step in built.steps] == list(GLUED)
    assert [step.mass for step in built.steps] == sorted(step.mass for step in built.steps)
    assert built.spar == "main"
    assert_allclose(built.y, 0.6)


@pytest.mark.parametrize("name", GLUED)
def test_a_step_is_the_wing_of_a_file_without_the_other_parts(built, make_wing, name):
    spar, ribs, extra = GLUED[name]
    alone = make_wing(spars=spar, ribs=ribs, extra=extra)
    model = half(alone, **COARSE, covered=name == COVERING)
    loads = [
        HandLoad("main", -1, force=1.0), HandLoad("main", -1, couple=1.0),
        HandLoad("leading edge", -1, force=1.0), HandLoad("trailing edge", -1, force=1.0),
    ]  # fmt: skip
    push, turn, nose, tail = given(hold(model, loads), loads)
    step = next(step for step in built.steps if step.stage.name == name)
    assert_allclose(step.bending, push.stiffness, rtol=1e-9)
    assert_allclose(step.torsion, turn.torsional_stiffness, rtol=1e-9)
    assert_allclose(
        [step.flexibility[0, 0], step.flexibility[1, 1]], [nose.deflection, tail.deflection], rtol=1e-9
    )
    assert_allclose(step.mass, -study.own_weight(model)[:, 2].sum() / GRAVITY, rtol=1e-9)


def test_every_step_is_stiffer_than_the_one_before(built):
    for one, other in zip(built.steps[:-1], built.steps[1:]):
        assert other.bending > one.bending * (1 - 1e-9)
        assert other.torsion > one.torsion * (1 - 1e-9)


def test_steps_that_a_wing_does_not_have_are_left_out(make_wing):
    assert [stage.name for stage in stages(make_wing())] == [FRAME, FIRST]
    bare = make_wing(spars='[[spars]]\nname = "main"\nat = "30 %"\n' + CAPS)
    found = steps(bare, **COARSE)
    assert [step.stage.name for step in found.steps] == [FRAME]
    assert not found.orders
    mass_alone = make_wing(extra='[covering]\nmass_per_area = "45 g/m2"\n')
    assert stages(mass_alone)[-1].glued == "covering (mass alone)"


def test_first_webs_are_one_a_bay_of_the_face_with_most(built):
    first = built.steps[1].stage.wing
    main, aft = ({(w.bay, w.face) for w in spar.webs if w.side == "starboard"} for spar in first.spars)
    assert main == {(1, "rear"), (2, "rear"), (3, "rear")}
    assert aft == {(1, "front")}


def test_a_specimen_is_refused(make_specimen):
    with pytest.raises(BadHandLoad, match="specimen"):
        steps(make_specimen())


# ---- the ladder of caps and ribs by hand -----

BAYS, BAY, DEPTH = 6, 0.06, 0.03
WIDE, HIGH = 8e-3, 4e-3


@pytest.fixture(scope="module")
def ladder(make_wing):
    """Caps and posts alone, straight, as a wing's first step; posts of the caps' own wood 6 mm thick."""
    wing = make_wing(
        stations='{ y = "0 mm", chord = "250 mm", section = "NACA 0012" },'
        '{ y = "360 mm", chord = "250 mm" }',
        ribs='count = 7\nthickness = "6 mm"\nwood = "spruce"',
        spars='[[spars]]\nname = "main"\nat = "30 %"\n' + CAPS
        + '[[spars.webs]]\nbays = "all"\nface = "rear"\nthickness = "1.5 mm"\n',
        edges="",
    )  # fmt: skip
    return replace(wing, ribs=tuple(replace(rib, panel="none", post_grain=np.pi / 2) for rib in wing.ribs))


@pytest.fixture(scope="module")
def walked(ladder):
    return steps(ladder)


def test_weight_of_the_ladder(ladder, walked):
    spar, rib = ladder.spars[0], ladder.ribs[0]
    depth = float(spar.z_upper.at(0.0) - spar.z_lower.at(0.0))
    caps = 2 * WIDE * HIGH * BAYS * BAY * spar.upper.layers[0].material.density
    post = WIDE * (depth - 2 * HIGH) * rib.post_thickness * rib.post_material.density
    # Half a post on the centre line; at the tip the whole one.
    assert_allclose(walked.steps[0].mass, caps + (BAYS + 0.5) * post, rtol=1e-6)
    web = ladder.spars[0].webs[0]
    webs = 1.5e-3 * depth * BAYS * BAY * web.material.density
    assert_allclose(walked.steps[1].mass - walked.steps[0].mass, webs, rtol=1e-3)


def test_stiffness_of_the_ladder(ladder, walked):
    """Booms of a beam, and the shear of battens (Timoshenko and Gere, Theory of elastic stability, on
    battened columns, from memory): caps bent between the posts, posts between the caps' axes (b) bent over
    their clear length l, shear of both, and the feet's turn, each by M^2 of V a/2. The last post has one
    panel's moment."""
    step = walked.steps[0]
    model = step.analysis.model
    stick, b = ladder.spars[0].upper.layers[0].material.stick(), float(model.depth[0, 0])
    area, inertia, shear = WIDE * HIGH, WIDE * HIGH**3 / 12, 5 / 6 * stick.G_up
    length = BAYS * BAY
    booms = length**3 / (3 * stick.E * (area * b**2 / 2 + 2 * inertia))
    caps = BAYS * BAY**3 / (24 * stick.E * inertia) + length / (2 * shear * area)
    thick, clear = float(model.posts.thickness[1]), b - HIGH
    bent = clear**3 / (12 * stick.E * WIDE * thick**3 / 12) + clear / (shear * WIDE * thick)
    feet = float(model.posts.foot_flexibility[1]) / 2 * clear**2
    posts = (BAYS - 1 + 0.25) * BAY**2 * (bent + feet) / b**2
    assert_allclose(step.bending, 1 / (booms + caps + posts), rtol=0.03)
    assert caps + posts > 2 * booms  # which is what a web takes away


def test_a_hand_bears_the_half_about_its_middle(walked):
    # The posts of both ends aside, weight is even: half of it at the tip, from where its middle is.
    for step in walked.steps:
        assert_allclose(step.hand, step.mass * GRAVITY / 2, rtol=0.02)


def test_bending_where_it_hangs_between_two_hands(walked):
    """W L/8 of an even weight (statics), as a couple of the caps."""
    step = walked.steps[1]
    caps = step.analysis.cap_forces(case=4)[:, 0, 0]
    inner = step.analysis.model.caps.span == 0
    moment = 2 * step.mass * GRAVITY * 2 * walked.y / 8
    arm = float(step.analysis.model.depth[0, 0])
    upper = caps[inner & step.analysis.model.caps.upper][0]
    lower = caps[inner & ~step.analysis.model.caps.upper][0]
    assert upper < 0 < lower
    # The webs' strips bear some of it.
    assert 0.8 < (lower - upper) / 2 * arm / moment < 1.02


# ---- what stays -----


def test_what_stays_is_what_two_glued_springs_do():
    """Springs k held at u0, others k' glued on without stress, let go: (k + k') u = k' u0."""
    rng = np.random.default_rng(4)
    one, new = (m @ m.T + np.eye(2) for m in rng.normal(size=(2, 2, 2)))
    left = stays(np.linalg.inv(one), np.linalg.inv(one + new), error=1e-3)
    assert_allclose(left, np.linalg.solve(one + new, new @ [0.0, 1e-3]))
    assert_allclose(stays(np.eye(2), np.eye(2)), 0.0, atol=1e-18)  # nothing new, nothing stays
    assert_allclose(stays(np.full((2, 2), np.nan), np.eye(2), error=1e-3), [0.0, 1e-3])


def test_a_permanent_error_of_the_board_leaves_the_same_in_any_order():
    """On a board that stays out of true the old parts alone pull back, whatever was glued on in which
    order."""
    rng = np.random.default_rng(5)
    frame, webs, sheet = (m @ m.T + np.eye(2) for m in rng.normal(size=(3, 2, 2)))
    whole = np.linalg.inv(frame + webs + sheet)
    ways = []
    for first in (webs, sheet):
        shape = np.array([0.0, 1e-3])
        left = stays(np.linalg.inv(frame), np.linalg.inv(frame + first), error=1e-3)
        force = (frame + first) @ (shape - left)  # laid on the board again
        ways.append(shape - whole @ force)
    assert_allclose(ways[0], ways[1])


def test_orders_end_with_the_same_wing(built):
    early, close, first, late = built.orders
    assert (early.order, early.what, close.what) == ("webs, then sheeting", "webs", "sheeting")
    assert (first.order, first.what, late.what) == ("sheeting, then webs", "sheeting", "webs")
    assert early.torsion == first.torsion < late.torsion
    assert close.torsion > early.torsion
    assert close.bending > first.bending
    assert min(one.board for one in built.orders) > 0
    # What closes the cell last locks more than it does first.
    assert close.board > first.board
    assert late.board > early.board


def test_verdicts(built, monkeypatch):
    last = len(built.steps) - 1
    assert built.verdict(last) == "done"
    monkeypatch.setattr(study, "STAYS", 1e9)
    assert built.verdict(0) == "free"
    monkeypatch.setattr(study, "STAYS", 0.0)
    assert built.verdict(0) == "lift"
    monkeypatch.setattr(study, "BREAKS", 1e9)
    assert built.verdict(0) == "pinned"
    assert built.verdict(last) == "by middle"


def test_a_frame_that_falls_apart_stays_pinned(make_wing, monkeypatch):
    real = study.hold

    def loose(model, loads):
        if not model.wing.spars[0].webs:
            raise Mechanism(np.array([0]), np.eye(1, 6), ("cap",))
        return real(model, loads)

    monkeypatch.setattr(study, "hold", loose)
    wing = make_wing(ribs=RIBS)
    found = steps(wing, **COARSE)
    assert found.steps[0].bending == 0
    assert found.verdict(0) == "pinned"
    assert_allclose(found.steps[1].board, study.ERROR / found.chord)
    with pytest.raises(Mechanism):
        steps(replace(wing, spars=(replace(wing.spars[0], webs=()),)), **COARSE)
