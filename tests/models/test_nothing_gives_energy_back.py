"""No stiffness is negative anywhere: sections, joints and whole specimens of any size and wood.

What is got by subtraction could turn negative outside the sizes that builders use; here sizes run over
decades and woods are mixed at will. A specimen is solved with positive pivots, or refused as a fault of its
file.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fea.elements.beam import Beams
from fea.elements.membrane import Membranes, plane_stress
from fea.elements.plate import Plates
from fea.solve import Mechanism
from models.analysis import solve
from models.junction import CapSections, respond
from models.section import outline_section, rectangle_torsion
from models.structure import build
from models.structure.spars import softened
from models.wing.reading import read_text
from models.woods.wood import material, names

WOODS = st.sampled_from(sorted(names()))
SHEETS = st.sampled_from([name for name in sorted(names()) if name != "music wire"])
ANGLES = st.floats(-90.0, 90.0)
FACES = [(), ("front",), ("rear",), ("both",), ("between",), ("both", "between")]
RIGIDITIES = ("axial", "bending_y", "bending_z", "torsion", "shear_y", "shear_z")
SHARES = st.sampled_from([0.01, 0.1, 0.5, 0.9, 0.99, 0.9999999, 1.0])


def over(least: float, most: float) -> st.SearchStrategy[float]:
    """Sizes spread evenly over decades."""
    return st.floats(np.log(least), np.log(most)).map(lambda v: float(np.exp(v)))


def quick(examples: int) -> settings:
    return settings(max_examples=examples, derandomize=True, deadline=None, database=None)


@quick(100)
@given(over(1e-4, 1.0), over(1e-4, 1.0), over(1e6, 1e11), over(1e6, 1e11))
def test_rectangles_resist_twist(width, height, g_width, g_height):
    found = float(rectangle_torsion(width, height, g_width, g_height))
    # Never stiffer than a thin plate either way: the flow across the other direction adds give.
    most = min(g_width * width * height**3, g_height * height * width**3) * 4 / 3
    assert 0 < found < most


@quick(40)
@given(over(1e-3, 0.1), over(1e-4, 0.05), st.floats(-0.5, 0.5), *[over(1e7, 1e10)] * 2, st.booleans())
def test_edge_sticks_resist_twist(length, tall, slant, g_width, g_height, closed):
    s, weight = np.polynomial.legendre.leggauss(12)
    s, weight = (s + 1) / 2, weight / 2
    half = (tall * (np.sqrt(s) if closed else 1 + slant * s))[None]
    found = outline_section(
        s, weight, length * s, np.full_like(s, length), slant * tall * s[None], half, g_width, g_height,
        closed=closed,
    )  # fmt: skip
    for figure in (found.area, found.second_up, found.second_aft, found.torsion):
        assert (figure > 0).all()


@quick(80)
@given(
    st.lists(over(2e-4, 0.03), min_size=3, max_size=3),
    st.lists(over(2e-4, 0.03), min_size=3, max_size=3),
    st.lists(WOODS, min_size=3, max_size=3),
    ANGLES,
    st.sampled_from(["one", "two", "between"]),
)
def test_caps_with_strips_resist_twist_and_shear(widths, heights, woods, angle, which):
    cap, web, skin = (material(wood) for wood in woods)
    stick = cap.stick()
    g_13, g_23 = web.through_thickness_shear()
    turn = np.radians(angle)
    rolling = float(np.cos(turn) ** 2 * g_13 + np.sin(turn) ** 2 * g_23)
    sheet, cover = web.in_plane(), skin.in_plane()
    caps = (stick.G_aft, stick.G_up, stick.E)
    strip = (rolling, float(sheet.G_12), float(sheet.E_2))
    over_all = (float(cover.G_12), float(skin.through_thickness_shear()[0]), float(cover.E_1))
    nothing = (0.0, 0.0, 0.0)
    table = {
        "one": [[strip, strip, over_all], [nothing, caps, over_all]],
        "two": [[strip, strip, over_all], [nothing, caps, over_all], [strip, strip, over_all]],
        "between": [[nothing, caps, over_all], [strip, caps, over_all], [nothing, caps, over_all]],
    }[which]
    figures = np.array(table)[None]
    columns = widths[: len(table)]
    loaded = {"one": (0,), "two": (0, 2), "between": (1,)}[which]
    centre = np.array([[sum(columns) / 2, heights[0] + heights[1] / 2]])
    found = respond(
        CapSections(np.array([columns]), np.array([heights]), *np.moveaxis(figures, -1, 0), centre),
        tuple(("inner", k, 0) for k in loaded),
        (4,) * len(columns),
        (3, 4, 3),
        apart=1,
    )
    assert 0 < found.torsion_above[0] <= found.torsion[0] * (1 + 1e-9)
    assert np.linalg.eigvalsh(found.give[0]).min() > 0


@quick(200)
@given(SHEETS, ANGLES, over(1e-4, 2.0))
def test_a_joint_never_takes_a_sheet_s_stiffness_below_zero(wood, angle, factor):
    at = material(wood).in_plane()
    plane = plane_stress(*(np.array(v) for v in (at.E_1, at.E_2, at.G_12, at.nu_12)))[None]
    found = softened(plane, np.radians([angle]), np.array([factor]))
    size = 1 / np.sqrt(np.diagonal(plane[0]))
    assert np.linalg.eigvalsh(found[0] * size[:, None] * size).min() > 0


def wood_of_its_own(draw):
    """An orthotropic wood with moduli in any order of size that wood has, as a table of the file."""
    along = draw(over(300, 20000))
    rays = along * draw(over(0.02, 0.5))
    rings = rays * draw(over(0.2, 1.0))
    shears = [along * draw(over(0.02, 0.2)) for _ in range(2)] + [along * draw(over(0.002, 0.05))]
    rows = zip(("E_L", "E_R", "E_T", "G_LR", "G_LT", "G_RT"), (along, rays, rings, *shears), strict=True)
    ratios = "".join(f"nu_{pair} = {draw(st.floats(0.0, 0.4)):.3f}\n" for pair in ("LR", "LT", "RT"))
    return '[woods.own]\nlike = "balsa"\n' + "".join(f'{k} = "{v:.5g} MPa"\n' for k, v in rows) + ratios


@st.composite
def specimens(draw):
    """A specimen of any size: thick webs on thin caps, hard on soft, slanted grain, box or sheeted."""

    def wood():
        return f'"{draw(st.sampled_from([*sorted(names()), "own"]))}"'

    length, n_bays = draw(over(60, 1500)), draw(st.integers(1, 3))
    depth = draw(over(6, 120))
    deep = f'["{depth:.5g} mm", "{depth * draw(st.floats(0.5, 1.0)):.5g} mm"]'
    text = f'[specimen]\nlength = "{length:.5g} mm"\ndepth = {deep}\n'
    stations = [f"{length * (k + 1) / n_bays:.5g} mm" for k in range(n_bays)]
    text += f"[ribs]\nstations = {stations}\n"
    rib = min(draw(over(0.3, 12)), 0.4 * length / n_bays)
    text += f'thickness = "{rib:.4g} mm"\nwood = {wood()}\ngrain = "{draw(ANGLES):.3g} deg"\n'
    x = 0.0
    for k in range(draw(st.integers(1, 2))):
        width, taper = draw(over(1, 30)), draw(st.sampled_from([1.0, 0.6]))
        height = min(draw(over(0.5, 15)), 0.2 * depth)
        facing = f', facings = [{{ thickness = "{0.04 * depth:.4g} mm", to = "{0.5 * length:.5g} mm" }}]'
        text += (
            f'[[spars]]\nname = "s{k}"\nx = "{x:.5g} mm"\ncaps = {{ '
            f'width = ["{width:.5g} mm", "{width * taper:.5g} mm"], '
            f'height = "{height:.5g} mm", wood = {wood()}'
            f"{facing if draw(st.booleans()) else ''} }}\n"
        )
        for face in draw(st.sampled_from(FACES)):
            thick = draw(over(0.2, 12))
            if face == "between":  # every width up to the cap's own
                thick = 0.99999 * width * taper * draw(st.sampled_from([0.02, 0.2, 0.5, 0.9, 0.999, 1.0]))
            text += (
                f'[[spars.webs]]\nbays = "all"\nface = "{face}"\n'
                f'thickness = "{thick:.6g} mm"\nwood = {wood()}\n'
                f'grain = "{draw(st.one_of(st.sampled_from([0.0, 90.0]), ANGLES)):.4g} deg"\n'
            )
        x += width + 30 + draw(over(10, 200))
    if draw(st.booleans()):
        text += (
            f'[[sheeting]]\nthickness = "{draw(over(0.3, 4)):.4g} mm"\nwood = {wood()}\n'
            f'grain = "{draw(ANGLES):.4g} deg"\n'
        )
    text += '[case]\ntip_force = "1 N"\ntip_torque = "10 N mm"\n'
    return text + wood_of_its_own(draw)


def beams_and_sheets(structure):
    """Rigidities of all beams (n, 6) and moduli of all sheets, scaled to a unit diagonal (n, 3, 3)."""
    rigidities, moduli = [], []
    for block in structure.blocks.values():
        if isinstance(block, Beams):
            figures = block.sections
            rigidities.append(np.stack([getattr(figures, name) for name in RIGIDITIES], axis=1))
        if isinstance(block, Membranes | Plates):
            size = 1 / np.sqrt(np.diagonal(block.constitutive, axis1=1, axis2=2))
            moduli.append(block.constitutive * size[:, :, None] * size[:, None, :])
    return np.concatenate(rigidities), np.concatenate(moduli) if moduli else np.ones((0, 3, 3))


@pytest.mark.long
@quick(80)
@given(specimens())
def test_every_specimen_is_solved_with_positive_pivots_or_refused(text):
    wing = read_text(text)  # sizes are drawn so that all go together
    model = build(wing, per_bay=1, across_chord=1)
    rigidities, moduli = beams_and_sheets(model.structure)
    assert (rigidities > 0).all()
    assert (np.linalg.eigvalsh(moduli) > 0).all()
    try:
        found = solve(model)
    except Mechanism:  # so slender that rounding hides what holds it; the part is named to the reader
        return
    assert found.solution.checks.smallest_pivot > 0


@quick(60)
@given(WOODS, WOODS, over(1, 30), over(0.5, 15), SHARES, ANGLES)
def test_caps_resist_twist_with_a_web_let_in_of_any_width(cap, web, width, height, share, angle):
    wing = read_text(
        f"""
        [specimen]
        length = "100 mm"
        depth = "{3 * height} mm"
        [ribs]
        pitch = "100 mm"
        thickness = "2 mm"
        [[spars]]
        name = "spar"
        caps = {{ width = "{width} mm", height = "{height} mm", wood = "{cap}" }}
        [[spars.webs]]
        bays = "all"
        face = "between"
        thickness = "{width * share} mm"
        wood = "{web}"
        grain = "{angle} deg"
        [case]
        tip_force = "1 N"
        """
    )
    rigidities, moduli = beams_and_sheets(build(wing, per_bay=1).structure)
    assert (rigidities > 0).all()
    assert (np.linalg.eigvalsh(moduli) > 0).all()
