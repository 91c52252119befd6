"""Halves on a joiner: a rod in its socket by hand, what the box bears, and who carries whose load."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import rigid_motions
from models.analysis import analyse
from models.strength import brace_joint, check, joiner
from models.strength.socket import bedded, mean_shear, straight
from models.strength.solved import Solved
from models.strength.spar_moment import along_spans
from models.studies.mend.remedies import remedies
from models.verdict import unheld, verdict
from models.wing.faults import WingFileError
from models.wing.reading import read_text
from models.woods.dowel_bearing import dowel_bearing
from models.woods.wood import material

SPARS = (
    '[[spars]]\nname = "main"\nat = "30 %"\ncaps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
    "{joint}"
    '[[spars.webs]]\nbays = "all"\nface = "rear"\nthickness = "1.5 mm"\n'
)
BRACE = '[[braces]]\nspar = "main"\nface = "front"\nto = "60 mm"\nthickness = "2 mm"\n'
SECOND = (
    '[[spars]]\nname = "rear"\nat = "65 %"\ncaps = { width = "5 mm", height = "3 mm", wood = "spruce" }\n'
    '{joint}[[spars.webs]]\nbays = "all"\nface = "front"\nthickness = "1.5 mm"\n'
)
ROD = 'form = "rod"\ndiameter = "5 mm"\n'
CASE = 'load_factor = 5\nmass = "1.2 kg"\nmoment_coefficient = 0.0'
WIDE = '{ y = "0 mm", chord = "200 mm", section = "NACA 0015" }, { y = "600 mm", chord = "140 mm" }'


def joined(form=ROD, wood="carbon", reach="150 mm", more=""):
    return f'[[joiners]]\nspar = "main"\n{form}wood = "{wood}"\nreach = "{reach}"\n{more}'


@pytest.fixture(scope="module")
def make(make_wing):
    def of(extra, joint="", second="", **kwargs):
        spars = SPARS.replace("{joint}", joint) + second
        return make_wing(stations=WIDE, spars=spars, extra=extra, case=CASE, **kwargs)

    return of


@pytest.fixture(scope="module")
def one(make):
    """A wing on a carbon rod, solved."""
    return Solved(analyse(make(joined()), per_bay=1))


def of_modes(at):
    return {f.mode: f for f in joiner.findings(at)}


# ---- the socket -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("stiffness", "bed", "spar"), [(25.0, 1e2, np.inf), (25.0, 1e9, np.inf),
                                                        (8.0, 1e10, 3e4), (8.0, 5e6, 2e3)])  # fmt: skip
def test_a_socket_is_in_equilibrium(stiffness, bed, spar):
    s = np.linspace(0.0, 0.12, 4001)
    moment, force = bedded(10.0, 30.0, s, stiffness, bed, spar)
    assert_allclose([moment[0], force[0]], [10.0, 30.0], rtol=1e-6)
    assert_allclose([moment[-1], force[-1]], 0.0, atol=1e-6)
    assert_allclose(np.trapezoid(force, s), 10.0, rtol=1e-4)  # the moment falls by what the shear carries


def test_a_stiff_rod_presses_along_a_line():
    """4 V/b - 6 M/b^2 at the mouth; the shear force of M alone is greatest half way, 3/2 M/b."""
    mouth, end = straight(10.0, 0.0, 0.1)
    assert_allclose([mouth, end], [-6000.0, 6000.0], rtol=1e-12)
    # A load over the outer third point presses nothing at the mouth.
    assert_allclose(straight(30.0 * 0.2 / 3, 30.0, 0.1), [0.0, 600.0], atol=1e-9)
    s = np.linspace(0.0, 0.1, 2001)
    for bed in (1.0, 1e5):  # by formula, and by the general solution on a soft bed
        _, force = bedded(10.0, 0.0, s, 25.0, bed, np.inf)
        assert_allclose(force.max(), 150.0, rtol=1e-3)


def test_a_slender_rod_is_a_long_beam_on_an_elastic_bed():
    """Hetenyi: shear force at most 0.6448 M lambda from an end moment, lambda = (k/(4 E I))^(1/4)."""
    s = np.linspace(0.0, 0.3, 20001)
    wave = (1e9 / (4 * 25.0)) ** 0.25
    _, force = bedded(10.0, 0.0, s, 25.0, 1e9, np.inf)
    assert_allclose(force.max(), np.sqrt(2) * np.exp(-np.pi / 4) * 10.0 * wave, rtol=1e-4)


def test_a_hard_bed_leaves_the_shear_of_the_spar():
    """Rod and spar locked together: the moment falls as exp(-s sqrt(G A/(E I)))."""
    s = np.linspace(0.0, 0.3, 4001)
    rate = np.sqrt(3e4 / 8.0)
    moment, _ = bedded(10.0, 10.0 * rate, s, 8.0, 1e14, 3e4)
    assert_allclose(moment[:2000], 10.0 * np.exp(-rate * s[:2000]), atol=2e-3)
    assert_allclose(mean_shear(s, moment, 0.02), 10.0 * (1 - np.exp(-rate * 0.02)) / 0.02, rtol=1e-3)


# ---- what wood and sections bear --------------------------------------------------------------------------


def test_dowel_bearing_by_hand():
    """Spruce of 448 kg/m3 has G = 0.40: 4480 psi along and, 1/2 in thick, 6100 0.4^1.45/0.5^0.5 across."""
    wood = replace(material("spruce"), density=448.0)
    psi = 6894.757
    assert_allclose(dowel_bearing(wood, 0.0127, across=False), 4480 * psi, rtol=1e-6)
    assert_allclose(dowel_bearing(wood, 0.0127, across=True), 2284.6 * psi, rtol=1e-3)
    assert_allclose(dowel_bearing(wood, 0.003, across=True), 3075.6 * psi, rtol=1e-3)
    balsa = material("balsa", density=120.0)  # lighter than what was tested
    assert dowel_bearing(balsa, 0.003, across=True) == balsa.compression_across


@pytest.mark.parametrize(
    ("form", "second", "depth", "peak"),
    [
        ('form = "rod"\ndiameter = "5 mm"\n', np.pi * 5**4 / 64, 2.5, 4 / 3 / (np.pi * 25 / 4)),
        ('form = "tube"\ndiameter = "8 mm"\nwall = "1 mm"\n', np.pi * (8**4 - 6**4) / 64, 4.0,
         2 / (np.pi * 7)),
        ('form = "blade"\nwidth = "2 mm"\nheight = "9 mm"\n', 2 * 9**3 / 12, 4.5, 1.5 / 18),
    ],
)  # fmt: skip
def test_sections(make, form, second, depth, peak):
    (own,) = make(joined(form)).joiners
    assert_allclose(joiner.section(own), [second * 1e-12, depth * 1e-3, peak * 1e6], rtol=1e-9)


# ---- on a wing --------------------------------------------------------------------------------------------


def test_the_rod_carries_the_moment_of_the_spar(one):
    """By hand: ribs' lift less weight, times their arms; 32 M/(pi d^3) against the strength of the rod.

    0.2 %: lift acts a little off the ribs' stations (0.04 % was seen).
    """
    found = of_modes(one)
    bending = found["joiner bending"]
    assert_allclose(bending.applied[0], 32 * by_hand(one) / (np.pi * 0.005**3), rtol=2e-3)
    assert_allclose(bending.reserve[0], material("carbon").bending / bending.applied[0], rtol=1e-12)
    # The line load of a straight rod, by hand from the moment and the lift over the box.
    (own,) = one.the(joiner.joined)
    b, m, v = 0.15, own.moment, own.shear
    assert v > 0
    line = max(abs(4 * v * b - 6 * m), abs(6 * m - 2 * v * b)) / b**2
    assert_allclose(found["joiner bearing"].applied[0], line / 0.005, rtol=1e-12)
    # Beside the rod 3 mm of the box's ply are left, and the web of balsa on one face.
    ply = material("birch ply").shear * 0.003
    box = found["joiner box shear"].allowable[0]
    assert ply < box < ply + 1.5e-3 * 4e6
    # It lies between what a stiff rod asks for and the moment given over within one depth of the spar.
    depth = one.model.depth[0, 0]
    flow = found["joiner box shear"].applied[0] * depth
    assert 1.5 * m / b - v < flow < m / depth


def by_hand(at):
    """Moment of a half wing at the centre line: ribs' lift less n g of all it carries, times their arms."""
    flight, assembly = at.analysis.pull_up, at.analysis.solution.assembly
    rigid = rigid_motions(at.model.structure.nodes, assembly.freedoms)
    arm = (rigid.T @ (assembly.mass() @ rigid))[3, 2]
    return float((flight.rib_lift * flight.rib_y).sum() - flight.load_factor * 9.80665 * arm)


def powered(text):
    """The short tailless wing with an engine, its front spar on a tube, not a brace, its rear spar cut."""
    text = text.replace('joint = "scarfed"\n', "")
    brace, rails = text.index("[[braces]]"), text.index("[[rails]]")
    tube = joined('form = "tube"\ndiameter = "8 mm"\nwall = "1 mm"\n', reach="210 mm")
    return read_text(text[:brace] + tube.replace("main", "front") + text[rails:])


def swept(make_wing):
    """Two spars, swept back, with dihedral, a blade of aluminium in the front one and a wire in the rear."""
    blade = joined('form = "blade"\nwidth = "3 mm"\nheight = "10 mm"\n', "aluminium 6061")
    wire = joined('form = "rod"\ndiameter = "2 mm"\n', "music wire", "100 mm").replace('"main"', '"rear"')
    stations = (
        '{ y = "0 mm", chord = "220 mm", section = "NACA 0015" }, '
        '{ y = "600 mm", chord = "160 mm", leading_edge = "120 mm", dihedral = "3 deg" }'
    )
    spars = SPARS.replace("{joint}", "") + SECOND.replace("{joint}", "")
    return make_wing(stations=stations, spars=spars, extra=blade + wire, case=CASE)


@pytest.mark.parametrize("which", ["powered", "swept"])
def test_moments_of_other_wings_by_hand(which, make_wing, path_of):
    """All of the wing's bending is the joiners', shared by E I; stresses by M/Z.

    0.2 %: lift acts a little off the ribs' stations (0.04 % was seen).
    """
    text = path_of("short-tailless").read_text(encoding="utf-8")
    at = Solved(analyse(powered(text) if which == "powered" else swept(make_wing), per_bay=1))
    moment, stress = by_hand(at), [f.applied[0] for f in joiner.findings(at) if f.mode == "joiner bending"]
    if which == "powered":
        (found,) = stress
        assert_allclose(found, moment * 32 * 8e-3 / (np.pi * (8e-3**4 - 6e-3**4)), rtol=2e-3)
        return
    alloy = material("aluminium 6061")  # 6061-T6: 68.9 GPa, yield 276 MPa
    assert (alloy.E_L, alloy.bending) == (68.9e9, 276e6)
    stiff = np.array([68.9e9 * 3e-3 * 1e-2**3 / 12, 200e9 * np.pi * 2e-3**4 / 64])
    share = stiff / stiff.sum() * moment
    assert_allclose(stress, [share[0] * 6 / (3e-3 * 1e-2**2), share[1] * 32 / (np.pi * 2e-3**3)], rtol=2e-3)


def test_it_counts_in_the_verdict_alone(one, make):
    """The tables know caps that run on; the verdict is the joiner's where that is the weakest."""
    names = {mode.name for mode in joiner.EVERY}
    margins = check(one.analysis)
    assert not names & {row.mode for row in margins.rows}
    assert names <= {row.mode for row in margins.secondary}
    weak = verdict(make(joined(wood="beech")), per_bay=1, alone=True)
    strong = verdict(make(joined(wood="music wire", more="wrapped = true\n")), per_bay=1, alone=True)
    assert weak.pull_up.first.mode in names
    assert weak.pull_up.mean < 0.7 * strong.pull_up.mean
    assert 0 < weak.pull_up.fifth < weak.pull_up.mean
    assert "joiner box burst" not in {row.mode for row in strong.pull_up.rows}


def test_its_mass_counts(one, make, make_wing):
    """pi/4 d^2 2 reach rho of the rod, and the ply of the box less the bore."""
    bare = analyse(make(""), per_bay=1)
    more = one.analysis.pull_up.wing_mass - bare.pull_up.wing_mass
    area = np.pi / 4 * 0.005**2
    spar, y = one.model.wing.spars[0], 0.075
    clear = float(spar.z_upper.at(y) - spar.z_lower.at(y)) - 0.008
    ply = material("birch ply").density * 2 * 0.15 * (clear * 0.008 - area)
    assert_allclose(more, material("carbon").density * area * 0.3 + ply, rtol=1e-9)


def test_a_spar_cut_beside_it_hands_over_its_load(make):
    """A second spar keeps its moment where its caps run through; two joiners share the whole."""
    bare, scarfed = (SECOND.replace("{joint}", said) for said in ("", 'joint = "scarfed"\n'))
    cut, kept = (Solved(analyse(make(joined(), second=second), per_bay=1)) for second in (bare, scarfed))
    both = make(joined() + joined().replace('"main"', '"rear"').replace('"5 mm"', '"4 mm"'), second=bare)
    main, rear = Solved(analyse(both, per_bay=1)).the(joiner.joined)
    (all_of_it,), (its_own,) = cut.the(joiner.joined), kept.the(joiner.joined)
    assert any("rear spar" in said for said in cut.model.wing.cautions)
    assert not any("rear spar" in said for said in kept.model.wing.cautions)
    y, moments = along_spans(kept)
    through = moments[1, y > 0][0]  # sweep lets the rear spar bend the other way
    assert abs(through) > 0.03 * all_of_it.at_joint
    assert_allclose(its_own.at_joint + through, all_of_it.at_joint, rtol=1e-9)
    assert_allclose(main.at_joint + rear.at_joint, all_of_it.at_joint, rtol=0.02)  # but for its mass


def test_outer_panels_on_a_joiner(make):
    """On both sides of the joint a box; the inner one is pushed by lift beyond its mouth, which adds."""
    wing = make(joined(reach="80 mm", more='at = "300 mm"\n'), joint='joint = "joiner"\n')
    at = Solved(analyse(wing, per_bay=1))
    outer, inner = at.the(joiner.joined)
    assert (outer.mouth, round(outer.end, 9), round(inner.end, 9)) == (0.3, 0.38, 0.22)
    assert_allclose(outer.at_joint, inner.at_joint, rtol=1e-5)  # but for what stands on the joint
    assert outer.shear > 0 > inner.shear
    assert_allclose(of_modes(at)["joiner bending"].y, 0.3)
    # The spar's joint elsewhere is as if nothing were said: cut at its sweep, on a brace, where it has one.
    spar = at.model.wing.spars[0]
    assert brace_joint.cut(spar, 0.0) == brace_joint.cut(replace(spar, joint=""), 0.0)


def test_what_mends_a_joiner_can_be_built():
    """Thicker or longer, its box bound or in ply: each remedy is a file that is read again."""
    text = (files("models.wings") / "trainer.toml").read_text(encoding="utf-8")
    brace, edge = text.index("[[braces]]"), text.index("[leading_edge]")
    text = text[:brace] + joined(wood="beech", more='box_wood = "balsa light"\n') + text[edge:]
    text = text.replace('joint = "scarfed"\n', "")
    wing = read_text(text)
    found = verdict(wing, per_bay=1, alone=True)
    assert found.pull_up.mean < 1
    offered = {one.words: one for one in remedies(text, wing, found)}
    for words in ("joiner 6 mm thick", "joiner 210 mm to each side", "webs of birch ply 1 mm on both faces"):
        one = next(offered[key] for key in offered if words in key)
        assert read_text(one.edit(text)).joiners


def test_a_kink_that_nothing_holds_is_told(make_wing):
    """Where outer panels bend up, or caps are butted: a brace, a joiner or a scarf answers."""
    bent = (
        '{ y = "0 mm", chord = "200 mm", section = "NACA 0015" }, { y = "300 mm", chord = "200 mm" }, '
        '{ y = "600 mm", chord = "200 mm", dihedral = "4 deg" }'
    )
    there = joined(reach="80 mm", more='at = "300 mm"\n')
    for extra, joint, told in ((BRACE, "", True), (there, "", False), (BRACE, 'joint = "scarfed"\n', False),
                               ("", 'joint = "butted"\n', True)):  # fmt: skip
        wing = make_wing(stations=bent, spars=SPARS.replace("{joint}", joint), extra=extra, case=CASE)
        assert bool(unheld(wing)) == told, (extra, joint)


FAULTS = {
    "no joiner": ("", 'joint = "joiner"\n', r"spars\[0\]\.joint.*needs an entry of \[\[joiners\]\]"),
    "scarfed": (joined(), 'joint = "scarfed"\n', r"spars\[0\]\.joint.*stands beside joiners\[0\]"),
    "no spar": (joined().replace('"main"', '"mian"'), "", r"joiners\[0\]\.spar.*did you mean main"),
    "no size": (joined('form = "tube"\ndiameter = "6 mm"\n'), "", r"joiners\[0\]\.wall.*is missing: a tube"),
    "not its size": (joined(ROD + 'width = "3 mm"\n'), "", r"joiners\[0\]\.width.*does not go with a rod"),
    "solid tube": (joined('form = "tube"\ndiameter = "6 mm"\nwall = "3 mm"\n'), "", r"wall.*fills the tube"),
    "too thick": (joined('form = "rod"\ndiameter = "9 mm"\n'), "", r"diameter.*is wider than the caps"),
    "too high": (joined('form = "blade"\nwidth = "3 mm"\nheight = "40 mm"\n'), "",
                 r"height.*does not go between the caps"),
    "too long": (joined(reach="700 mm"), "", r"joiners\[0\]\.reach.*beyond the end of spar main"),
    "no box": (joined(more='box_from = "150 mm"\n'), "", r"joiners\[0\]\.box_from.*leaves no box"),
    "over the centre": (joined(more='at = "100 mm"\n'), "", r"reach.*reaches over the centre line"),
    "twice": (joined() + joined(more='at = "200 mm"\n', reach="100 mm"), "", r"joiners\[1\]\.at.*one box"),
    "a brace": (joined() + BRACE, "", r"joiners\[0\]\.at.*where braces\[0\] crosses it"),
    "no wood": (joined(wood="kryptonite"), "", r"joiners\[0\]\.wood"),
}  # fmt: skip


@pytest.mark.parametrize("what", FAULTS)
def test_what_cannot_be_is_refused(make, what):
    extra, joint, words = FAULTS[what]
    with pytest.raises(WingFileError, match=words):
        make(extra, joint)
