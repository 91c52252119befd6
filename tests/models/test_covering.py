"""A covered wing: closed in torsion, slack where Mohr says, between its bounds, and else bare."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import rigid_motions
from fea.elements.membrane import element_axes
from fea.elements.tension_field import principal
from fea.solve import pinned
from models.analysis import analyse, solve, spar_motion, wing_twist
from models.covering import cover, field, wrinkled
from models.loads.hand_test import HandLoad
from models.strength import check, covering_edges, covering_ribs, covering_slack, covering_tearing
from models.strength.solved import Solved
from models.structure import build
from models.studies.bent_pull_up import bent_pull_up, influence_of
from models.studies.hand_test import half, hold, hold_covered
from models.wing.airfoil import half_thickness
from models.wing.reading import read_text

WING = """
[planform]
stations = [
    { y = "0 mm", chord = "220 mm", section = "NACA 2412" },
    { y = "500 mm", chord = "150 mm", leading_edge = "30 mm", dihedral = "3 deg", washout = "2 deg" },
]
[ribs]
count = 7
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "6 mm", height = "4 mm" }
webs = [{ bays = "all", face = "front", thickness = "1.5 mm" }]
[leading_edge]
width = "8 mm"
height = "10 mm"
[trailing_edge]
width = "14 mm"
height = "3 mm"
[case]
load_factor = 6
mass = "1.2 kg"
"""
FILM = """
[covering]
film = "polyester film"
thickness = "0.025 mm"
mass_per_area = "45 g/m2"
E = "4.5 GPa"
pretension = "60 N/m"
"""
TUBE = """
[planform]
stations = [{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "600 mm", chord = "200 mm" }]
[ribs]
count = 13
thickness = "3 mm"
wood = "birch ply"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "3 mm", height = "2 mm", wood = "spruce" }
[leading_edge]
width = "8 mm"
height = "14 mm"
wood = "balsa light"
[trailing_edge]
width = "10 mm"
height = "4 mm"
wood = "balsa light"
[covering]
film = "polyester film"
thickness = "0.025 mm"
E = "4.5 GPa"
pretension = "200 N/m"
"""


def tip(analysis):
    return spar_motion(analysis, 0).deflection[-1], wing_twist(analysis)[1][-1]


@pytest.fixture(scope="module")
def covered():
    return cover(read_text(WING + FILM))


def test_bare_answers_know_nothing_of_film():
    """The same numbers to the last bit, whatever the film."""
    plain = analyse(read_text(WING + '[covering]\nmass_per_area = "45 g/m2"\n'))
    film = analyse(read_text(WING + FILM))
    assert np.array_equal(plain.solution.displacements, film.solution.displacements)
    assert cover(plain.wing) is None


def test_film_closes_the_open_section(covered):
    up, twist = tip(analyse(read_text(WING + FILM)))
    up_taut, twist_taut = tip(covered.taut)
    assert abs(twist_taut) < 0.2 * abs(twist)
    assert 0.8 * up < up_taut < up


def test_rigid_motion_stretches_no_film():
    model = build(read_text(WING + FILM), covered=True)
    assembly = covered_assembly = cover(model.wing).taut.solution.assembly
    stiff = assembly.stiffness()
    motions = rigid_motions(covered_assembly.structure.nodes, 6)
    scale = abs(stiff) @ np.abs(motions)
    # A planform's lines of net are straight to a hundredth of a millimetre between ribs.
    assert np.abs(stiff @ motions).max() <= 1e-9 * scale.max()


def test_closed_tube_turns_as_bredt_says():
    """Film alone makes the cells: G J = 4 A^2 G t/p of the outer contour (Bredt, textbook); caps, edge sticks
    and ribs that hold the section add some, and the film's give at the edges takes some."""
    wing = read_text(TUBE)
    couple = 0.01
    load = HandLoad("main", -1, couple=couple)
    at = hold(half(wing, covered=True), [load])
    motion = spar_motion(at, 0, 0)
    # Rate of twist half way out, away from the clamp and the load.
    inner, outer = np.interp([0.2, 0.4], motion.y, motion.twist)
    stiffness = couple * 0.2 / (outer - inner)
    x = (1 - np.cos(np.linspace(0, np.pi, 400))) / 2
    keep = (x >= 0.04) & (x <= 0.95)  # between the sticks
    z = half_thickness(x, 0.12)
    area = 2 * np.trapezoid(z, x) * 0.2**2
    contour = 2 * np.hypot(np.diff(x[keep]), np.diff(z[keep])).sum() * 0.2
    shear = wing.coverings[0].stretch[2, 2]
    bare = hold(half(wing), [load])
    motion = spar_motion(bare, 0, 0)
    inner, outer = np.interp([0.2, 0.4], motion.y, motion.twist)
    frame = couple * 0.2 / (outer - inner)
    assert frame < 0.2 * stiffness
    assert_allclose(stiffness, 4 * area**2 * shear / contour, rtol=0.15)


def test_goes_slack_in_proportion_to_its_tautness(covered):
    twice = cover(read_text(WING + FILM.replace("60 N/m", "120 N/m")))
    assert_allclose(twice.slack_load / covered.slack_load, 2, rtol=0.02)
    assert covered.slack_part.kind == "covering"
    assert covered.slack_part.place == "upper"  # pressed by bending
    # At that load the lesser principal force of one strip is gone, and of none before.
    start, change, _ = covering_slack.strips(Solved(covered.taut))
    share = covered.slack_load / covered.taut.load_factor
    least = principal(start + share * change)[1]
    assert_allclose(least.min(), 0, atol=1e-9 * start.max())


def test_wrinkled_lies_between_bare_and_taut(covered):
    """Work of the loads: taut film gives the stiffest wing, none the softest, and no film ever pushes."""
    asked = covered.taut.load_factor
    assert covered.slack_load < asked
    assert 0 < covered.slack_share < 1
    moves = [one.solution.displacements[:, :, 0] for one in (covered.taut, covered.wrinkled)]
    loads = covered.taut.solution.loads[:, :, 0]
    taut, loose = ((loads * each).sum() for each in moves)
    bare = analyse(read_text(WING + FILM)).solution
    work_bare = (bare.loads[:, :, 0] * bare.displacements[:, :, 0]).sum()
    assert taut < loose < work_bare
    films = covered.wrinkled.model.films
    forces = films.tension + covered.wrinkled.recovered["covering"]["stress"]
    assert principal(forces)[1].min() >= -1e-6 * np.abs(forces).max()


def test_below_slack_nothing_wrinkles(covered):
    share = 0.2 * covered.slack_load / covered.taut.load_factor
    factor = pinned(covered.taut.solution.assembly)
    found, state = wrinkled(covered.taut, factor, share)
    assert state.rounds == 1
    assert_allclose(tip(found), share * np.array(tip(covered.taut)), rtol=1e-7)


def test_wrinkled_film_flies_in_the_air_that_its_own_twist_makes():
    """The lift that is put on is that of the twist at rest; taut, that of the taut wing at once."""
    soft = read_text(WING + FILM.replace('E = "4.5 GPa"\n', "").replace("60 N/m", "20 N/m"))
    fast = replace(soft, case=replace(soft.case, speed=60.0))
    taut = solve(build(fast, per_bay=1, covered=True))
    factor = pinned(taut.solution.assembly)
    influence = influence_of(taut, factor)
    last = []

    def follows(moves):
        twist = influence.twist(moves[:, :, None])[:, 0]
        last.append(influence.bent("trim", fast.case.air_density * 60.0**2, twist))
        return last[-1].nodal[:, :, 0]

    for share in (0.01, 1.0):
        found, state = wrinkled(taut, factor, share, follows=follows)
        assert state.slack.any() is np.bool_(share == 1)
        at_rest = influence.twist(found.solution.displacements)[:, 0]
        assert_allclose(last[-1].twist, at_rest, atol=1e-6 * np.abs(at_rest).max())
        assert np.abs(last[-1].twist - last[-1].rigid_twist).max() > 0.01 * np.abs(at_rest).max()
        if share < 1:
            assert state.rounds == 1
            bent = bent_pull_up(taut, factor)
            assert_allclose(found.solution.displacements, share * bent.solution.displacements, atol=1e-10)


def test_what_a_covered_wing_bears_counts_the_harder_of_both_loads():
    """Film ten times as soft lets it twist: then the lift of the bent wing decides; slow, it is nothing."""
    soft = read_text(WING + FILM.replace('E = "4.5 GPa"\n', ""))
    fast = cover(replace(soft, case=replace(soft.case, speed=80.0)), per_bay=1, bent=True)
    assert fast.bent_load < 0.6 * fast.failing_load
    assert fast.least_load == fast.bent_load
    thin = replace(soft.case, speed=80.0, moment_coefficient=0.0, air_density=1e-6 * soft.case.air_density)
    slow = cover(replace(soft, case=thin), per_bay=1, bent=True)
    assert_allclose(slow.bent_load, slow.failing_load, rtol=5e-3)


def test_a_start_elsewhere_ends_at_the_same_rest(covered):
    """One answer only, for the energy is convex."""
    factor = pinned(covered.taut.solution.assembly)
    tension = covered.taut.model.films.tension
    loads = covered.taut.solution.loads[:, :, 0]
    assembly = covered.taut.solution.assembly
    one = field(assembly, factor, tension, loads)
    other = field(assembly, factor, tension, loads, start=np.full_like(tension, 30.0))
    assert_allclose(other.forces, one.forces, atol=2e-3 * np.abs(one.forces).max())


def test_sheeted_areas_carry_no_film():
    sheet = '[[sheeting]]\nfrom = "leading edge"\nto = "main"\nthickness = "1 mm"\n'
    model = build(read_text(WING + sheet + FILM), covered=True)
    films = model.structure.true_corners(model.structure.blocks["covering"])
    spar = model.wing.spars[0].x.at(np.abs(films[:, :, 1].mean(axis=1)))
    assert (films[:, :, 0].mean(axis=1) > spar).all()


def test_film_on_one_side_is_modelled_whole_and_mass_counts_where_it_lies():
    piece = FILM.replace("[covering]", '[covering]\nside = "port"\nsurface = "upper"\nbays = "2-3"')
    wing = read_text(WING + piece)
    assert wing.whole
    model = build(wing, covered=True)
    block = model.structure.blocks["covering"]
    places = {(model.parts[p].side, model.parts[p].bay, model.parts[p].place) for p in block.part}
    assert places == {("port", 2, "upper"), ("port", 3, "upper")}
    masses = model.structure.blocks["masses"]
    hung = [m for m, p in zip(masses.mass_values, masses.part) if model.parts[p].place == "covering"]
    y = np.array([wing.bay_edges[1], wing.bay_edges[3]])
    expected = 0.045 * np.trapezoid(wing.planform.chord.at(y), y)
    assert_allclose(sum(hung), expected, rtol=1e-2)


def test_a_bay_across_the_centre_line_is_covered_too():
    ribs = 'stations = ["30 mm", "110 mm", "200 mm", "300 mm", "400 mm", "500 mm"]'
    wing = read_text(WING.replace("count = 7", ribs).replace("30 %", "32 %") + FILM)
    assert wing.first_bay == 0
    found = cover(wing)
    assert not found.taut.model.half
    y = found.taut.model.y
    motion = spar_motion(found.taut, 0)
    assert_allclose(motion.deflection, motion.deflection[::-1], atol=1e-7)
    assert len(y) > 0


def test_grain_turns_the_stiff_way_of_tissue():
    text = FILM.replace('"polyester film"', '"tissue and dope"').replace('thickness = "0.025 mm"\n', "")
    text = text.replace('E = "4.5 GPa"', 'stretch_stiffness = "80 N/mm"')
    grains = ("span", "chord", "30 deg")
    wings = [read_text(WING + text + f'grain = "{grain}"') for grain in grains]
    held = [hold(half(wing, covered=True), [HandLoad("main", -1, force=1.0)]) for wing in wings]
    one, two, three = (spar_motion(a, 0).deflection[-1] for a in held)
    assert one < three < two


def test_slant_grain_is_stretched_by_the_same_tensions():
    text = FILM.replace('"60 N/m"', '["90 N/m", "40 N/m"]')
    for grain in ("30 deg", "-50 deg", "chord"):
        model = build(read_text("whole = true\n" + WING + text + f'grain = "{grain}"'), covered=True)
        greater, lesser = principal(model.films.tension)
        assert_allclose(greater, 90, rtol=1e-9)
        assert_allclose(lesser, 40, rtol=1e-9)
        # The greater one along the span, on both sides and both surfaces.
        block = model.structure.blocks["covering"]
        corners = model.structure.flat_corners(block)[0]
        one, two = element_axes(corners, block.grain)[:, :2].transpose(1, 0, 2)
        span = corners[:, 3] - corners[:, 0] + corners[:, 2] - corners[:, 1]
        span /= np.linalg.norm(span, axis=1, keepdims=True)
        n_1, n_2, n_12 = model.films.tension.T[:, :, None]
        a, b = ((span * axis).sum(axis=1, keepdims=True) for axis in (one, two))
        pulled = one * (n_1 * a + n_12 * b) + two * (n_12 * a + n_2 * b)
        assert_allclose(pulled, 90 * span, atol=90 * 2e-3)


def test_weak_film_tears_and_strong_film_later():
    weak = FILM + 'strength = "3 MPa"\n'
    least = []
    for text in (FILM + 'strength = "2 MPa"\n', weak, FILM):
        rows = cover(read_text(WING + text)).taut_margins.secondary
        least.append(min(r.reserve_factor for r in rows if r.mode == covering_tearing.MODE.name))
    assert least[0] == 0  # torn by its own tension of 60 N/m
    assert 0 < least[1] < least[2]


def test_taut_film_bends_the_last_rib_and_thick_ones_less():
    least = []
    for thickness, tension in (("2 mm", "60 N/m"), ("2 mm", "120 N/m"), ("4 mm", "120 N/m")):
        text = WING.replace('thickness = "2 mm"', f'thickness = "{thickness}"', 1)
        taut = cover(read_text(text + FILM.replace("60 N/m", tension))).taut
        found = covering_ribs.side_pull(taut)
        assert len(set(found.station.tolist())) == 1  # of the other ribs both sides pull
        assert (found.start > 0).all()
        bent = [r.reserve_factor for r in check(taut).secondary if r.mode == covering_ribs.MODE.name]
        least.append(min(bent, default=np.inf))
    assert least[1] < least[0]
    assert least[1] < least[2]
    # Film that ends inside the span pulls the rib where it ends.
    inner = FILM.replace("[covering]", '[covering]\nbays = "1-3"')
    wing = read_text(WING + inner)
    taut = cover(wing).taut
    found = covering_ribs.side_pull(taut)
    assert_allclose(taut.model.y[found.station], wing.bay_edges[3], atol=1e-9)


def test_edges_are_pulled_inward_more_by_tauter_film():
    pulls = [
        covering_edges.pull(cover(read_text(WING + FILM.replace("60 N/m", tension))).taut)
        for tension in ("60 N/m", "120 N/m")
    ]
    assert_allclose(pulls[1].inward, 2 * pulls[0].inward, rtol=1e-9)
    assert_allclose(pulls[1].stress, 2 * pulls[0].stress, rtol=1e-9)
    assert (pulls[0].inward > 0.8 * 120).all()
    assert (pulls[0].sag > 0).all()


def test_hand_test_wrinkles_what_it_makes_slack():
    wing = read_text(WING + FILM)
    loads = [HandLoad("main", -1, force=0.1), HandLoad("main", -1, couple=0.6)]
    model = half(wing, covered=True)
    analysis, slack = hold_covered(model, loads)
    assert slack[0].factor > 1
    assert slack[1].factor < 1
    assert slack[1].share > 0
    taut = hold(model, loads).solution.displacements
    assert_allclose(analysis.solution.displacements[:, :, 0], taut[:, :, 0], rtol=1e-12)
    all_three = analysis, hold(model, loads), hold(half(wing), loads)
    twist = [spar_motion(a, 0, 1).twist[-1] for a in all_three]
    assert twist[1] < twist[0] < twist[2]


def test_bare_wing_has_no_findings_of_film():
    margins = check(analyse(read_text(WING + FILM)))
    assert not [row for row in margins.secondary if "covering" in row.mode]
