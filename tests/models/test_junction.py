"""Sections of cap and glued-on strips against finite elements of another library and closed forms."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import skfem
from numpy.testing import assert_allclose
from scipy.special import j0
from skfem.helpers import grad

from models.junction import (
    CapSections,
    _rigid_strip,
    _wave_give,
    foot_press_flexibility,
    foot_rotation_flexibility,
    respond,
    respond_coupled,
)
from models.section import rectangle_torsion
from models.woods.solid_stiffness import sheet_stiffness, stick_stiffness
from models.woods.wood import custom, material, names

MM, MPA = 1e-3, 1e6
CAP = (201.96 * MPA, 138.38 * MPA, 3740 * MPA)
"""Of the reference balsa, as a cap: shear moduli across and up, modulus along."""
WEB = (18.7 * MPA, 201.96 * MPA, 172.04 * MPA)
"""Of a web of the same wood, grain upright: rolling shear across, shear in its plane, modulus along."""
CARBON = (4e9, 4e9, 120e9)
SKIN = (201.96 * MPA, 18.7 * MPA, 3740 * MPA)


def grid(columns, rows, material, centre):
    """One section: widths and heights in mm, `material[column][row]` (across, up, along) or None."""
    table = np.array([[m or (0.0, 0.0, 0.0) for m in column] for column in material])
    return CapSections(
        np.array([columns]) * MM, np.array([rows]) * MM, table[None, ..., 0], table[None, ..., 1],
        table[None, ..., 2], np.array([centre]) * MM,
    )  # fmt: skip


ONE_WEB = (
    grid([1.6, 10], [3.2, 6], [[WEB, WEB], [None, CAP]], (6.6, 6.2)),
    (("inner", 0, 0),),
    (3, 6),
    (3, 5),
)
BOX = (
    grid([1.6, 10, 2.4], [3.2, 6], [[WEB, WEB], [None, CAP], [WEB, WEB]], (6.6, 6.2)),
    (("inner", 0, 0), ("inner", 2, 0)),
    (3, 6, 3),
    (3, 5),
)
BETWEEN = (
    grid([4, 2, 4], [4, 5], [[None, CAP], [WEB, CAP], [None, CAP]], (5, 6.5)),
    (("inner", 1, 0),),
    (3, 3, 3),
    (3, 5),
)
FACED_AND_SHEETED = (
    grid(
        [8, 1.5], [3, 5, 0.5, 1.5],
        [[None, CAP, CARBON, SKIN], [WEB, WEB, WEB, SKIN]], (4, 6.2),
    ),
    (("inner", 1, 0), ("fore", 0, 3), ("aft", 1, 3)),
    (6, 3),
    (3, 5, 2, 2),
)  # fmt: skip
SECTIONS = {"one web": ONE_WEB, "box": BOX, "between": BETWEEN, "faced and sheeted": FACED_AND_SHEETED}


def by_finite_elements(sections, edges, per_side=8):
    """Torsion, warping and give of one section by biquadratic finite elements graded towards every corner."""
    x_edges = np.concatenate([[0], np.cumsum(sections.widths[0])])
    z_edges = np.concatenate([[0], np.cumsum(sections.heights[0])])
    graded = (1 - np.cos(np.linspace(0, np.pi, 2 * per_side + 1))) / 2

    def cut(ends):
        pieces = [a + (b - a) * graded for a, b in pairwise(ends)]
        return np.concatenate([[ends[0]], *(p[1:] for p in pieces)])

    mesh = skfem.MeshQuad.init_tensor(cut(x_edges), cut(z_edges))
    middle = mesh.p[:, mesh.t].mean(axis=1)
    column = np.searchsorted(x_edges, middle[0]) - 1
    row = np.searchsorted(z_edges, middle[1]) - 1
    across, up, young = (
        a[0, column, row] for a in (sections.shear_across, sections.shear_up, sections.modulus)
    )
    solid = np.flatnonzero(up > 0)
    mesh, across, up, young = mesh.restrict(solid), across[solid], up[solid], young[solid]
    basis = skfem.Basis(mesh, skfem.ElementQuad2(), intorder=6)
    x0, z0 = sections.centre[0]
    x, z = np.asarray(basis.global_coordinates()) - np.array([x0, z0])[:, None, None]
    g_x, g_z, e = across[:, None], up[:, None], young[:, None]
    stiff = skfem.BilinearForm(
        lambda u, v, w: g_x * grad(u)[0] * grad(v)[0] + g_z * grad(u)[1] * grad(v)[1]
    ).assemble(basis)
    # A turn about y moves points aft by z and down by x: shear is psi_x + z and psi_z - x per unit rate.
    twist = skfem.LinearForm(lambda v, w: -g_x * z * grad(v)[0] + g_z * x * grad(v)[1]).assemble(basis)
    weight = skfem.LinearForm(lambda v, w: e * v).assemble(basis)
    area = basis.dx
    stretch = float((e * area).sum())
    pulls = []
    for side, c, r in edges:
        low, high = (x_edges[c], x_edges[c + 1]) if side == "inner" else (z_edges[r], z_edges[r + 1])
        along = 0 if side == "inner" else 1
        at = z_edges[r] if side == "inner" else x_edges[c if side == "fore" else c + 1]

        def on_edge(p, along=along, at=at, low=low, high=high):
            return (np.abs(p[1 - along] - at) < 1e-9) & (p[along] > low) & (p[along] < high)

        facet = skfem.FacetBasis(
            mesh, skfem.ElementQuad2(), facets=mesh.facets_satisfying(on_edge), intorder=6
        )
        pulls.append(skfem.LinearForm(lambda v, w: v).assemble(facet) / (high - low))
    rights = np.stack([twist, *(p - weight / stretch for p in pulls)], axis=1)
    moved = np.stack([skfem.solve(*skfem.condense(stiff, b, D=np.array([0]))) for b in rights.T], axis=1)
    moved -= (weight @ moved) / stretch
    loads = np.stack(pulls)
    polar = float(((g_x * z**2 + g_z * x**2) * area).sum())
    return polar - twist @ moved[:, 0], loads @ moved[:, 0], loads @ moved[:, 1:]


@pytest.mark.parametrize("name", SECTIONS)
def test_against_finite_elements_of_another_library(name):
    sections, edges, across, up = SECTIONS[name]
    # The corner between web and cap is singular: low degrees are some 1 % off (see the tests of the spars).
    found = respond(sections, edges, tuple(d + 6 for d in across), tuple(d + 6 for d in up))
    torsion, warping, give = by_finite_elements(sections, edges)
    assert_allclose(found.torsion[0], torsion, rtol=3e-3)
    # Parts of the warping may cancel: what counts is its size beside half the section's enclosing rectangle.
    size = sections.widths.sum() * sections.heights.sum() / 2
    assert_allclose(found.warping[0], warping, rtol=3e-3, atol=3e-3 * size)
    assert_allclose(found.give[0], give, rtol=3e-3, atol=3e-3 * np.diag(give).min())


@pytest.mark.parametrize("ratio", [0.3, 1.0, 4.0])
def test_a_plain_rectangle_twists_as_the_series_says(ratio):
    g_aft, g_up = 200 * MPA, 200 * MPA * ratio
    section = grid([10], [6], [[(g_aft, g_up, 1e9)]], (5, 3))
    found = respond(section, (), (8,), (8,))
    assert_allclose(found.torsion[0], rectangle_torsion(10 * MM, 6 * MM, g_aft, g_up), rtol=1e-4)


def test_a_flow_over_a_whole_side_of_a_rectangle():
    # Flow q over the lower side, balanced evenly: G u'' = -q/(w h), so the side moves q h/(3 G w) past the
    # mean, the upper side q h/(6 G w) the other way. The fore side likewise with width for height.
    width, height, g_aft, g_up = 10 * MM, 6 * MM, 201.96 * MPA, 138.38 * MPA
    section = grid([10], [6], [[(g_aft, g_up, 3740 * MPA)]], (5, 3))
    found = respond(section, (("inner", 0, 0), ("fore", 0, 0), ("aft", 0, 0)), (4,), (4,))
    up, aft = height / (g_up * width), width / (g_aft * height)
    want = np.array([[up / 3, 0, 0], [0, aft / 3, -aft / 6], [0, -aft / 6, aft / 3]])
    assert_allclose(found.give[0], want, rtol=1e-9, atol=1e-9 * up)
    assert_allclose(found.warping[0], 0, atol=1e-12 * width * height)


@pytest.mark.parametrize("name", SECTIONS)
def test_give_is_mutual_and_the_beam_axis_only_shifts_the_warping(name):
    sections, edges, across, up = SECTIONS[name]
    found = respond(sections, edges, across, up)
    assert_allclose(
        found.give, np.swapaxes(found.give, 1, 2), rtol=1e-8, atol=1e-10 * np.abs(found.give).max()
    )
    moved = respond(replace(sections, centre=sections.centre + 3 * MM), edges, across, up)
    # Saint-Venant's torsion constant does not depend on the point about which the section is said to turn.
    assert_allclose(moved.torsion, found.torsion, rtol=1e-9)
    assert_allclose(moved.give, found.give, rtol=1e-9, atol=1e-12 * np.abs(found.give).max())


def test_a_section_and_its_mirror_image():
    sections, edges, across, up = ONE_WEB
    flip = [np.flip(a, axis=1) for a in (sections.shear_across, sections.shear_up, sections.modulus)]
    centre = sections.centre * [-1, 1] + [sections.widths.sum(), 0]
    mirror = CapSections(sections.widths[:, ::-1], sections.heights, *flip, centre)
    one = respond(sections, edges, across, up)
    other = respond(mirror, (("inner", 1, 0),), across[::-1], up)
    assert_allclose(other.torsion, one.torsion, rtol=1e-10)
    assert_allclose(other.give, one.give, rtol=1e-10)
    assert_allclose(other.warping, -one.warping, rtol=1e-8)


def test_many_sections_at_once_are_each_their_own():
    one, edges, across, up = ONE_WEB
    two = replace(one, widths=one.widths * [1.3, 0.8])
    both = CapSections(
        *(np.concatenate([getattr(s, f) for s in (one, two)]) for f in one.__dataclass_fields__)
    )
    together = respond(both, edges, across, up)
    for k, section in enumerate((one, two)):
        alone = respond(section, edges, across, up)
        assert_allclose(together.torsion[k], alone.torsion[0], rtol=1e-10)
        assert_allclose(together.give[k], alone.give[0], rtol=1e-10)


def test_an_answer_does_not_hang_on_how_many_are_asked_about_at_once(monkeypatch):
    # To the last digit, so that builds of other processes are the same.
    one, edges, across, up = ONE_WEB
    some = [replace(one, widths=one.widths * [1 + k / 10, 1 - k / 9]) for k in range(5)]
    names = one.__dataclass_fields__
    monkeypatch.setattr("models.junction._KNOWN", {})
    together = respond(
        CapSections(*(np.concatenate([getattr(s, f) for s in some]) for f in names)), edges, across, up, 1
    )
    for k, section in enumerate(some):
        monkeypatch.setattr("models.junction._KNOWN", {})
        alone = respond(section, edges, across, up, 1)
        for name in alone.__dataclass_fields__:
            np.testing.assert_array_equal(getattr(together, name)[k], getattr(alone, name)[0])


REFERENCE = custom(
    "reference balsa",
    {
        "like": "balsa", "density": 184.0, "E_L": 3740 * MPA, "E_R": 172.04 * MPA, "E_T": 56.1 * MPA,
        "G_LR": 201.96 * MPA, "G_LT": 138.38 * MPA, "G_RT": 18.7 * MPA,
        "nu_LR": 0.229, "nu_LT": 0.488, "nu_RT": 0.665,
    },
)  # fmt: skip
FULL_CAP = (201.96 * MPA, 138.38 * MPA, 3740 * MPA)


def glued(degrees, rear=None, scale=1.0):
    """A cap, `scale` times as stiff, with a strip in front and perhaps one behind: what `respond_coupled`
    takes."""
    n_strips = 1 if rear is None else 2
    # The stub has no modulus: its stretch is the panel's business.
    sheet = (18.7 * MPA, 138.38 * MPA, 56.1 * MPA)
    stub = (18.7 * MPA, 138.38 * MPA, 0.0)
    cap = tuple(scale * v for v in FULL_CAP)
    columns, material = [1.6, 10.0], [[stub, sheet], [None, cap]]
    if rear is not None:
        columns, material = [*columns, 1.6], [*material, [stub, sheet]]
    sections = grid(columns, [3.2, 6], material, (6.6, 6.2))
    stiffness = np.zeros((1, len(columns), 2, 6, 6))
    stiffness[0, 1, 1] = scale * stick_stiffness(REFERENCE)
    for column, angle in zip((0, 2), (degrees, rear)[:n_strips]):
        stiffness[0, column] = sheet_stiffness(REFERENCE, np.deg2rad(angle))
    edges = (("inner", 0, 0), ("inner", 2, 0))[:n_strips]
    return sections, stiffness, edges, ((0, 0), (2, 1))[:n_strips], (4, 7, 4)[: 1 + n_strips], (4, 6), 1


def vector_elements(sections, stiffness, per_side=6):
    """A section with one strip by biquadratic elements of another library, three movements a node: torsion
    with the strip held, its stretch, their coupling, and warping, slip and give of its edge."""
    x_edges = np.concatenate([[0], np.cumsum(sections.widths[0])])
    z_edges = np.concatenate([[0], np.cumsum(sections.heights[0])])
    graded = (1 - np.cos(np.linspace(0, np.pi, 2 * per_side + 1))) / 2

    def cut(ends):
        pieces = [a + (b - a) * graded for a, b in pairwise(ends)]
        return np.concatenate([[ends[0]], *(p[1:] for p in pieces)])

    mesh = skfem.MeshQuad.init_tensor(cut(x_edges), cut(z_edges))
    middle = mesh.p[:, mesh.t].mean(axis=1)
    column, row = (np.searchsorted(e, m) - 1 for e, m in zip((x_edges, z_edges), middle))
    solid = np.flatnonzero(stiffness[0, column, row, 1, 1] > 0)
    mesh, column, row = mesh.restrict(solid), column[solid], row[solid]
    moduli = np.moveaxis(stiffness[0, column, row], 0, -1)[..., None]
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementQuad2(), 3), intorder=6)
    x0, z0 = sections.centre[0]
    x, z = np.asarray(basis.global_coordinates()) - np.array([x0, z0])[:, None, None]

    def strain(v):
        g = grad(v)  # movements x, y, z; slopes x, z
        return [g[0, 0], 0 * g[0, 0], g[2, 1], g[1, 1], g[0, 1] + g[2, 0], g[1, 0]]

    def product(one, other):
        return sum(moduli[i, j] * one[i] * other[j] for i in range(6) for j in range(6))

    zero = 0 * x
    above = np.broadcast_to((row > 0).astype(float)[:, None], x.shape)
    given = [[zero, zero, zero, -x, zero, z], [zero, above, zero, zero, zero, zero]]
    stiff = skfem.BilinearForm(lambda u, v, w: product(strain(u), strain(v))).assemble(basis)
    pulls = np.stack(
        [skfem.LinearForm(lambda v, w, e=e: product(e, strain(v))).assemble(basis) for e in given], axis=1
    )
    own = np.array([[float((product(a, b) * basis.dx).sum()) for b in given] for a in given])
    facet = skfem.FacetBasis(
        mesh,
        skfem.ElementVector(skfem.ElementQuad2(), 3),
        facets=mesh.facets_satisfying(lambda p: (np.abs(p[1]) < 1e-9) & (p[0] < x_edges[1])),
        intorder=6,
    )
    flow = skfem.LinearForm(lambda v, w: v[1]).assemble(facet) / x_edges[1]
    modulus = np.broadcast_to(sections.modulus[0, column, row][:, None], x.shape)
    weight = skfem.LinearForm(lambda v, w: modulus * v[1]).assemble(basis)
    stretched = float((modulus * basis.dx).sum())
    right = np.column_stack([-pulls, flow - weight / stretched])
    # One place held in every way and another in x hold the section's rigid motion.
    place = basis.doflocs[:, ::1]
    where = [int(np.argmin(np.hypot(*(place - np.array([[x_edges[1]], [at]])) * 1.0))) for at in z_edges[1:]]
    node = [np.flatnonzero((np.abs(place - place[:, [w]]) < 1e-12).all(axis=0)) for w in where]
    held = np.array([*node[0], node[1][0]])
    moved = np.stack([skfem.solve(*skfem.condense(stiff, b, D=held)) for b in right.T], axis=1)
    axial = np.zeros(basis.N)
    axial[basis.nodal_dofs[1]] = axial[basis.facet_dofs[1]] = axial[basis.interior_dofs[1]] = 1.0
    moved -= axial[:, None] * (weight @ moved) / stretched
    whole = own + pulls.T @ moved[:, :2]
    cap = float((modulus * (column == 1)[:, None] * basis.dx).sum())
    return whole[0, 0], whole[1, 1] - cap, whole[0, 1], flow @ moved


def test_a_strip_askew_against_finite_elements_of_another_library():
    sections, stiffness, edges, strips, across, up, apart = glued(35.0)
    finer = tuple(d + 4 for d in across), tuple(d + 4 for d in up)
    found = respond_coupled(sections, stiffness, edges, strips, *finer, apart, (12, 12))
    held, stretch, coupled, (warping, slip, give) = vector_elements(sections, stiffness)
    assert_allclose(found.stretch[0, 0], stretch, rtol=3e-3)
    assert_allclose(found.turn[0, 0], coupled / stretch, rtol=3e-3)
    assert_allclose(found.cap.torsion[0], held - coupled**2 / stretch, rtol=3e-3)
    assert_allclose(found.cap.warping[0, 0], warping, rtol=3e-3)
    assert_allclose(found.cap.give[0, 0, 0], give, rtol=3e-3)
    assert_allclose(found.slip[0, 0], slip, rtol=3e-3)


@pytest.mark.parametrize("rear", [None, 90.0])
@pytest.mark.parametrize("grain", [0.0, 90.0])
def test_a_strip_with_its_grain_along_an_axis_is_the_antiplane_problem(grain, rear):
    sections, stiffness, edges, strips, across, up, apart = glued(grain, rear)
    # G_13 turns with the grain: what stands in the antiplane section is that of the upright one.
    through = stiffness[0, :, 0, 5, 5]
    sections.shear_across[0, :, 0] = np.where(sections.shear_up[0, :, 0] > 0, through, 0.0)
    sections.shear_across[0, [0, -1][: len(strips)], 1] = through[[0, -1][: len(strips)]]
    found = respond_coupled(sections, stiffness, edges, strips, across, up, apart)
    plain = respond(sections, edges, across, up, apart)
    assert_allclose(found.cap.torsion, plain.torsion, rtol=1e-9)
    assert_allclose(found.cap.torsion_above, plain.torsion_above, rtol=1e-9)
    assert_allclose(found.cap.warping, plain.warping, rtol=1e-8)
    assert_allclose(found.cap.give, plain.give, rtol=1e-9, atol=1e-9 * np.abs(plain.give).max())
    assert_allclose(found.turn, 0, atol=1e-12)
    assert_allclose(found.slip, 0, atol=1e-12)


def test_a_grain_turned_the_other_way_turns_the_coupling_alone():
    sections, stiffness, edges, strips, across, up, apart = glued(35.0)
    other = glued(-35.0)[1]
    one, two = (respond_coupled(sections, s, edges, strips, across, up, apart) for s in (stiffness, other))
    for name in ("torsion", "torsion_above", "warping", "give"):
        assert_allclose(getattr(two.cap, name), getattr(one.cap, name), rtol=1e-8)
    assert_allclose(two.stretch, one.stretch, rtol=1e-9)
    assert_allclose(two.turn, -one.turn, rtol=1e-8)
    assert_allclose(two.slip, -one.slip, rtol=1e-8)
    assert abs(one.turn[0, 0]) > 0.1 * MM


def test_a_strip_on_next_to_nothing_pulls_with_its_own_free_modulus():
    # A cap a millionth as stiff holds nothing: the strip's stretch is E of a sheet askew, 1/S_11, times area.
    sections, stiffness, edges, strips, across, up, apart = glued(45.0, scale=1e-6)
    found = respond_coupled(sections, stiffness, edges, strips, across, up, apart)
    m = REFERENCE
    free = 4 / (1 / m.E_L + 1 / m.E_T - 2 * m.nu_LT / m.E_L + 1 / m.G_LT)
    # The stub, held along the span, still hangs on it: a bound from above only.
    assert free * 1.6 * 6 * MM**2 * (1 - 1e-9) < found.stretch[0, 0] < 1.4 * free * 1.6 * 6 * MM**2


def test_two_strips_askew_each_pull_their_own_way():
    sections, stiffness, edges, strips, across, up, apart = glued(45.0, 45.0)
    sections = replace(sections, centre=np.array([[6.6, 6.2]]) * MM)
    found = respond_coupled(sections, stiffness, edges, strips, across, up, apart)
    assert_allclose(found.stretch[0, 0], found.stretch[0, 1], rtol=1e-9)
    assert_allclose(found.turn[0, 0], -found.turn[0, 1], rtol=1e-8)
    assert_allclose(found.slip[0, 0], found.slip[0, 1], rtol=1e-8)
    assert_allclose(found.cap.give[0], found.cap.give[0].T, rtol=1e-8)


def test_foot_of_an_isotropic_post():
    # Rigid flat strip of half-length a on an isotropic half-plane in plane stress: 4 M/(pi a^2 E).
    e, nu, thickness, width = 3e9, 0.3, 2 * MM, 10 * MM
    found = foot_rotation_flexibility(
        *(np.array([v]) for v in (e, e, e / (2 * (1 + nu)), nu, thickness, width))
    )
    assert_allclose(found, 4 / (np.pi * (thickness / 2) ** 2 * e * width), rtol=1e-12)


def test_foot_of_a_grained_post():
    # Roots of the half-plane's characteristic equation s11 m^4 + (2 s12 + s66) m^2 + s22 = 0: the contact
    # modulus is 2/[s11 (b1 + b2) b1 b2] with b the roots' imaginary parts (Lekhnitskii's solution, written
    # another way).
    e_1, e_2, g, nu = 3740 * MPA, 56.1 * MPA, 138.38 * MPA, 0.488
    s11, s22, s66, s12 = 1 / e_1, 1 / e_2, 1 / g, -nu / e_1
    squares = np.roots([s11, -(2 * s12 + s66), s22])
    b_1, b_2 = np.sqrt(squares + 0j)
    contact = 2 / (s11 * (b_1 + b_2) * b_1 * b_2).real
    thickness, width = 2 * MM, 10 * MM
    found = foot_rotation_flexibility(*(np.array([v]) for v in (e_1, e_2, g, nu, thickness, width)))
    assert_allclose(found, 4 / (np.pi * (thickness / 2) ** 2 * contact * width), rtol=1e-12)


def by_plane_elements(along, aft, shear, nu, thickness, depth, length):
    """Movement of rigid feet every 2 x `length` on the side of a stick, against the mean of that side which
    an even pull holds, per force a unit height; biquadratic plane elements of another library."""
    across = depth * (1 - np.linspace(1, 0, 25) ** 2)
    beyond = thickness / 2 + (length - thickness / 2) * np.linspace(0, 1, 60) ** 2
    under = thickness / 2 * (1 - np.linspace(1, 0, 13) ** 2)
    mesh = skfem.MeshQuad.init_tensor(across, np.concatenate([under[:-1], beyond]))
    element = skfem.ElementVector(skfem.ElementQuad2())
    basis = skfem.Basis(mesh, element, intorder=4)
    side = skfem.FacetBasis(
        mesh, element, facets=mesh.facets_satisfying(lambda x: np.isclose(x[0], depth)), intorder=4
    )
    plane = 1 / (1 - nu**2 * aft / along)

    @skfem.BilinearForm
    def stiffness(u, v, _):
        e, f = skfem.helpers.sym_grad(u), skfem.helpers.sym_grad(v)
        pull = plane * aft * (e[0, 0] + nu * e[1, 1])
        stretch = plane * (nu * aft * e[0, 0] + along * e[1, 1])
        return pull * f[0, 0] + stretch * f[1, 1] + 4 * shear * e[0, 1] * f[0, 1]

    @skfem.LinearForm
    def even(v, _):
        return v[0] / length

    mean = even.assemble(side)
    still = [basis.get_dofs(lambda x, at=at: np.isclose(x[1], at)).all("u^2") for at in (0.0, length)]
    foot = basis.get_dofs(lambda x: np.isclose(x[0], depth) & (x[1] < thickness / 2 * 1.0001)).all("u^1")
    held = np.unique(np.concatenate([*still, foot]))
    moved = skfem.solve(*skfem.condense(stiffness.assemble(basis), 0.5 * mean, D=held))
    return float(mean @ moved)


@pytest.mark.parametrize(("wood", "thickness", "depth"), [
    ("spruce", 2, 8), ("spruce", 1, 8), ("balsa medium", 2, 20), ("balsa medium", 3, 6), ("birch ply", 2, 8),
])  # fmt: skip
def test_a_foot_presses_into_the_side_of_a_stick(wood, thickness, depth):
    stick = material(wood).stick()
    figures = [float(v) for v in (stick.E, stick.E_aft, stick.G_aft, stick.nu_L_aft)]
    found = foot_press_flexibility(*figures, thickness * MM, depth * MM)
    length = 12 * depth * MM
    expected = by_plane_elements(*figures, thickness * MM, depth * MM, length)
    # Feet in a row: the beam between them, in waves of 2 x length and its parts.
    along, _, shear, nu = figures
    wave = np.arange(1, 400) * np.pi / length
    deep = wave * depth * MM
    bent = 12 / along / deep**4 + (1.2 / shear - 2.4 * nu / along) / deep**2
    beam = (bent * j0(wave * thickness * MM / 2) ** 2).sum() * depth * MM / length
    endless = _wave_give(*figures)[0] * depth * MM / (2 * length)  # that of the even pull, half a step
    assert_allclose(found, expected - beam + endless, rtol=0.02)


@pytest.mark.parametrize("wood", sorted(names()))
def test_a_stick_gives_way_to_every_wave(wood):
    stick = material(wood).stick()
    figures = [float(v) for v in (stick.E, stick.E_aft, stick.G_aft, stick.nu_L_aft)]
    assert (_wave_give(*figures) > 0).all()
    gives = [foot_press_flexibility(*figures, t * MM, 8 * MM) for t in (0.5, 1, 2, 4, 8)]
    assert (np.diff(gives) < 0).all()
    assert foot_press_flexibility(*figures, 2 * MM, 16 * MM) > gives[2]
    # A strip far shorter than the stick is deep gives as on a half-plane: twice as short, ln 2 more.
    s11, s22, s12, s66 = 1 / figures[0], 1 / figures[1], -figures[3] / figures[0], 1 / figures[2]
    both = np.sqrt(s11 * s22) * np.sqrt(2 * np.sqrt(s22 / s11) + (2 * s12 + s66) / s11)
    short = [foot_press_flexibility(*figures, t * MM, 8 * MM) for t in (0.05, 0.1)]
    assert_allclose(short[0] - short[1], both / np.pi * np.log(2), rtol=0.02)


def test_the_pressure_of_a_rigid_strip():
    x = np.linspace(0.01, 8, 500)
    assert_allclose(_rigid_strip(x), j0(x) ** 2, atol=1e-7)
    far = np.linspace(40, 400, 100)
    assert_allclose(_rigid_strip(far), 1 / (np.pi * far), rtol=1e-4)
    # Smooth in the sizes: what a slope by differences sees does not hang on the step.
    slopes = [
        (foot_press_flexibility(12e9, 9e8, 8e8, 0.4, 2e-3, 8e-3 * (1 + h))
         - foot_press_flexibility(12e9, 9e8, 8e8, 0.4, 2e-3, 8e-3 * (1 - h))) / h
        for h in (1e-4, 3e-4, 1e-3)
    ]  # fmt: skip
    assert_allclose(slopes, slopes[1], rtol=1e-5)
