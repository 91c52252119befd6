"""Every mode of failure on its own against a published figure or a worked example, a case a mode.

A case bears the name of its mode under `models.strength`; the buckling of webs in shear is in
`strength_modes`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache, partial

import numpy as np

from fea.arrays import Array
from models.strength import (
    brace_joint,
    cap_compression,
    cap_tension,
    cap_twist,
    glue_ends,
    norris,
    post,
    rail_bending,
    rail_joint,
    web_buckling_combined,
    web_column,
    web_combined,
    web_direct,
    web_shear,
    web_splitting,
)
from models.strength.cap_column import column_force, on_foundation
from models.strength.cap_stress import layer_stress
from models.strength.glue_line import flow_in_lap
from models.strength.plate_shear import buckling_flow, wave_forms
from models.strength.sheet_buckling import compression_flow
from models.strength.web_edges import crushing_force, kink_force
from models.woods.glue import allowable, glue
from models.woods.off_axis import Strengths, hankinson, stiffness, to_grain, turned
from models.woods.wood import Material, SheetConstants, material
from validation.case import Case, Result, only

E_L = 3740e6 * 160 / 184
BALSA = {
    "flat-sawn": SheetConstants(E_L, 0.015 * E_L, 0.037 * E_L, 0.488),
    "quarter-sawn": SheetConstants(E_L, 0.046 * E_L, 0.054 * E_L, 0.229),
}
"""Balsa of E_L 3.25 GPa with the constant ratios of the Wood Handbook's table 5-1."""
INCH, POUND = 0.0254, 4.4482216
_HAND = "worked by hand [computed]"
_SECTION = "National Design Specification, Supplement, table 1B, 1.5 x 3.5 in: S 3.063 in3 [from memory]"
_FPL_1816 = "Norris, FPL report 1816, 1950 [from memory]"


def _one(value: float) -> Array:
    return np.array([value])


_rounded = partial(Result, unit="", tolerance=1e-9, why="arithmetic alone", kind="rounding")


@cache
def _spruce() -> Material:
    return material("spruce")


def _strengths(wood: Material) -> Strengths:
    return Strengths(
        *(
            _one(getattr(wood, k))
            for k in ("tension", "compression", "tension_across", "compression_across", "shear")
        )
    )


def _cap_tension() -> Iterator[Result]:
    yield _rounded(
        "modulus of a 1.5 x 3.5 in section, in3",
        _section_modulus(),
        3.063,
        unit="in3",
        source=_SECTION,
        tolerance=2e-3,
        why="published to four figures",
    )
    share = cap_tension.used(*(_one(v) for v in (650.0, 400.0, 1000.0, 1600.0)))
    yield _rounded(
        "f_t/F_t + f_b/F_b of 650/1000 and 400/1600 psi",
        float(share[0]),
        0.9,
        source=f"National Design Specification, eq. 3.9-1 [from memory]; {_HAND}",
    )


def _section_modulus() -> float:
    """Of a cap of 1.5 x 3.5 in, from the stress that 1 N m makes in it, in3."""
    size = np.array([1.5, 3.5]) * INCH
    force = np.zeros((1, 1, 6))
    force[..., 4] = 1.0
    bending = layer_stress(
        force, size[:1], size[1:, None], np.array([[1e10]]), size[1:] / 2, np.array([True])
    )[1]
    return float(1 / bending[0, 0, 0] / INCH**3)


def _cap_compression() -> Iterator[Result]:

    def share(mean: float, bending: float, crushing: float, rupture: float) -> float:
        at = _one(mean), _one(bending), _one(crushing), _one(rupture)
        full = cap_compression.fullness(at[2], at[3], np.array([True]))
        return float(cap_compression.used(*at, full)[0])

    yield _rounded(
        "whole rectangle in bending, modulus of rupture 10000 psi, crushing strength 5000 psi",
        share(0.0, 10000.0, 5000.0, 10000.0),
        1.0,
        source=f"what a modulus of rupture is: Wood Handbook, chapter 5 [from memory]; {_HAND}",
    )
    yield _rounded(
        "2500 of 5000 and 5625 of 7500 psi: (f_c/F_c)^2 + f_b/F_b",
        share(-2500.0, 5625.0, 5000.0, 7500.0),
        1.0,
        source=f"National Design Specification, eq. 3.9-3, short piece [from memory]; {_HAND}",
    )
    # R/F_c = (3n - 1)/(n + 1) = 2: the pulled edge tears at n = 3. A wedge of c = 1/4 of the height lacks
    # (1 + n) c/2 = 1/2 of F_c, at 1/2 - c/3 = 5/12 from the middle: 6 x 1/2 x 5/12 = 1.25.
    yield _rounded(
        "half the crushing strength and 1.25 of it in bending, R = 2 F_c: stresses integrated",
        share(-0.5, 1.25, 1.0, 2.0),
        1.0,
        source="rectangle plastic in compression, elastic in tension (Bechtel and Norris, FPL report 1910 "
        f"[from memory]); {_HAND}",
    )
    modulus = np.array([[1.6e6, 29e6]]) * POUND / INCH**2
    heights = np.array([[8.0, 0.25]]) * INCH
    ratio = modulus[0, 1] / modulus[0, 0]
    depth = np.cumsum(heights, axis=1) - heights / 2
    centroid = (depth * heights * modulus).sum(axis=1) / (heights * modulus).sum(axis=1)
    force = np.zeros((1, 1, 6))
    force[..., 4] = 1e3
    mean, own = layer_stress(force, _one(6 * INCH), heights, modulus, centroid, np.array([True]))
    wide = 6 * ratio  # transformed section: the plate as wide as its modulus is greater
    middle = (6 * 8 * 4 + wide * 0.25 * 8.125) / (6 * 8 + wide * 0.25)
    inertia = (
        6 * 8**3 / 12 + 48 * (middle - 4) ** 2 + wide * 0.25**3 / 12 + wide * 0.25 * (8.125 - middle) ** 2
    )
    by_hand = ratio * 1e3 * (8.25 - middle) / inertia / INCH**3
    yield _rounded(
        "stress of a steel facing on a timber section, transformed section",
        float((np.abs(mean) + own)[0, 0, 1]),
        by_hand,
        unit="Pa",
        source=f"Timoshenko, Strength of Materials, beams of two materials [from memory]; {_HAND}",
    )


def _cap_bending() -> Iterator[Result]:
    from models.analysis import analyse
    from models.command.files import read_wing

    wing = read_wing("spar-open")
    posts = tuple(replace(r, post_thickness=0.012, post_material=material("birch ply")) for r in wing.ribs)
    analysis = analyse(replace(wing, ribs=posts), rigid_joints=True)
    model = analysis.model
    ribs = model.y[model.rib_station]
    at = model.y[model.caps.span]
    caps = np.flatnonzero(~model.caps.upper & (at > ribs[2] - 1e-9) & (at < ribs[3] - 1e-9))
    moments = analysis.recovered["caps"]["forces"][caps, :, 4]
    # The girder bends as a whole besides, which adds one moment at both ends of the bay.
    moment = abs(float(moments[0, 0] - moments[-1, 1])) / 2
    yield Result(
        "moment of a cap at a stiff post over V p/4",
        moment / (1.0 * (ribs[3] - ribs[2]) / 4),
        1.0,
        "",
        0.02,
        f"portal method for Vierendeel girders [from memory]; {_HAND}",
        "caps share the shear nearly equally",
        "theory",
    )


def _cap_buckling() -> Iterator[Result]:
    source = "Timoshenko and Gere, Theory of Elastic Stability, 1961, table 2-5 [from memory]"
    for rate, published in (
        (0.0, 1.0),
        (1.0, 0.927),
        (5.0, 0.741),
        (10.0, 0.615),
        (20.0, 0.483),
        (30.0, 0.437),
    ):
        force = float(on_foundation(_one(1.0), _one(1.0), _one(16 * rate))[0])
        yield _rounded(
            f"reduced length of a bar on a foundation, k L^4/(16 E I) {rate:g}",
            float(np.pi / np.sqrt(force)),
            published,
            source=source,
            tolerance=2e-3,
            why="published to three figures",
        )
    long = float(on_foundation(_one(1.0), _one(1.0), _one(1e8))[0])
    yield _rounded(
        "long bar over 2 sqrt(k E I)",
        long / 2e4,
        1.0,
        source="Timoshenko and Gere, 1961, art. 2.10 [from memory]",
        tolerance=5e-3,
        why="near the limit only",
    )


def _cap_twist() -> Iterator[Result]:
    poisson = 0.25
    for aspect, published in ((1.0, 1.44), (2.0, 0.698), (3.0, 0.564), (5.0, 0.506)):
        twist, bending = _one(1 / 2.5 / 12), _one(1 / 12)
        flow = float(cap_twist.flow_of_strip(twist, bending, _one(1.0), _one(aspect))[0])
        k = flow / np.pi**2 * 12 * (1 - poisson**2)
        yield Result(
            f"k of a plate with one edge free, a/b {aspect:g}",
            k,
            published,
            "",
            0.04,
            "Timoshenko and Gere, Theory of Elastic Stability, 1961, art. 9.3 [from memory]",
            "the strip is free to curl across, which the plate is not: the cautious side",
            "theory",
        )


def _web_shear() -> Iterator[Result]:
    wood = material("balsa", density=160.0)
    one = _strengths(wood)
    for angle in (0.0, 90.0):
        used = float(web_shear.shear_at(_one(np.radians(angle)), _one(1e6), one)[0])
        yield _rounded(
            f"shear strength of balsa of 160 kg/m3, grain at {angle:g} degrees",
            1e6 / used,
            2.1e6,
            unit="Pa",
            source="Wood Handbook, table 5-5 [from memory], read at 160 kg/m3; a course sheet's 1.6 MPa at "
            "123 kg/m3 [looked up] is 2.08 by the density law",
            tolerance=5e-3,
            why="published to two figures",
        )
    used = float(web_shear.shear_at(_one(-np.pi / 4), _one(1e6), one)[0])
    yield Result(
        "shear strength at 45 degrees, tension across the grain",
        1e6 / used,
        0.97e6,
        "Pa",
        0.06,
        "tension across the grain of balsa of 160 kg/m3, 0.97 MPa [guess]; grain at 45 degrees turned "
        "by hand [computed]",
        "the compression along the grain that comes with it counts a little",
        "theory",
    )


def _norris() -> Iterator[Result]:
    """Norris against Hankinson, two published rules for one strength."""
    one = _strengths(_spruce())
    for angle in (10.0, 45.0, 70.0):
        turn = _one(np.radians(angle))
        norris = float(web_direct.strength_along(turn, one, tension=False)[0])
        other = float(hankinson(_spruce().compression, _spruce().compression_across, turn)[0])
        yield Result(
            f"Sitka spruce in compression at {angle:g} degrees, Norris against Hankinson",
            norris,
            other,
            "Pa",
            0.12,
            f"Hankinson's equation, n = 2 [looked up]; {_FPL_1816}",
            "two rules fitted to tests; they part most at small angles",
            "theory",
        )


def _web_direct() -> Iterator[Result]:
    yield from _norris()
    for angle, published in ((0.0, 13e6), (90.0, 0.2e6)):
        stress = float(turned(BALSA["flat-sawn"], np.radians(angle)).E_x) * 0.004
        yield _rounded(
            f"balsa web at the caps' failing strain of 0.4 %, grain {angle:g} degrees",
            stress,
            published,
            unit="Pa",
            source=f"E times strain; {_HAND}",
            tolerance=0.03,
            why="one or two figures",
        )


def _web_combined() -> Iterator[Result]:
    one = _strengths(_spruce())
    stress = to_grain(_one(4e6), _one(-1e6), _one(2e6), _one(0.0))
    factor = float(web_combined.load_at_failure(stress, np.zeros((1, 3)), one)[0])
    yield _rounded(
        "three stresses in proportion to the load",
        factor,
        float(norris.factor(stress, one)[0]),
        source=f"{_FPL_1816}, left side to the power -1/2",
    )
    crushed = float(web_combined.load_at_failure(np.zeros((1, 3)), np.array([[0.0, -1e6, 0.0]]), one)[0])
    yield _rounded(
        "crushing alone, which grows with the square of the load",
        crushed,
        2.0,
        source=f"sqrt(4.0 MPa/1 MPa) of spruce across the grain; {_HAND}",
    )
    stick, area, depth = 13e6, 18e-6, 0.02
    inertia = area * depth**2 / 2
    moment = stick * area * depth
    force = float(crushing_force(_one(moment), _one(E_L * inertia), _one(depth))[0])
    yield _rounded(
        "crushing by balsa caps of 18 mm2 at 13 MPa, 20 mm apart",
        force,
        94.0,
        unit="N/m",
        source=f"2 s^2 A/(E h); {_HAND}",
        tolerance=5e-3,
        why="two figures",
    )
    kink = float(kink_force(_one(234.0), _one(np.radians(5.0)))[0])
    yield _rounded(
        "press of a cap force of 234 N at a kink of 5 degrees",
        kink,
        20.4,
        unit="N",
        source=f"F a; {_HAND}",
        tolerance=5e-3,
        why="three figures",
    )


def _web_column() -> Iterator[Result]:
    source = f"pi^2 E t^2/(12 h^2), Timoshenko and Gere, 1961, art. 2.1 [from memory]; {_HAND}"
    for cut, angle, published in (
        ("flat-sawn", 0.0, 0.23e6),
        ("quarter-sawn", 0.0, 0.69e6),
        ("flat-sawn", 90.0, 15e6),
    ):
        modulus = float(turned(BALSA[cut], np.radians(angle)).E_y)
        stress = float(web_column.column_stress(_one(modulus), _one(1.5e-3), _one(0.02))[0])
        yield _rounded(
            f"{cut} balsa 20 x 1.5 mm, grain {angle:g} degrees",
            stress,
            published,
            unit="Pa",
            source=source,
            tolerance=0.025,
            why="two figures",
        )


def _web_both() -> Iterator[Result]:
    rigidity = np.array([[[1.0, 0.3, 0.0], [0.3, 1.0, 0.0], [0.0, 0.0, 0.35]]])
    for share in (0.25, 0.5, 0.75):
        exact = _shear_left(_one(1.0), _one(1.0), rigidity, share)
        rule = 1 / float(web_buckling_combined.used(_one(np.sqrt(1 - share)), _one(0.0), _one(share))[0])
        yield Result(
            f"shear left to a square plate at {share:g} of its compression, rule over series",
            np.sqrt(1 - share) * rule / exact,
            1.0,
            "",
            0.04,
            "Batdorf and Stein, NACA TN 1223, 1947: parabola [from memory]; double sine Ritz [computed]",
            "the parabola is a fit; it lies on the cautious side",
            "theory",
        )


def _shear_left(length: Array, width: Array, rigidity: Array, share: float) -> float:
    """Shear that buckles a plate pressed at a share of its buckling compression, over that of the plate
    alone."""
    m, n, pull = wave_forms(12, 12)
    a, b, d = length[0], width[0], rigidity[0]
    along, across = (m / a) ** 2, (n / b) ** 2
    own = (
        np.pi**4
        * a
        * b
        / 4
        * (d[0, 0] * along**2 + 2 * (d[0, 1] + 2 * d[2, 2]) * along * across + d[1, 1] * across**2)
    )
    pressed = np.pi**2 * a * b / 4 * along
    critical = (own / pressed).min()
    stiff = own - share * critical * pressed
    roots = np.linalg.eigvalsh(-2 * pull / np.sqrt(np.outer(stiff, stiff)))
    return float(1 / roots.max() / buckling_flow(length, width, rigidity)[0, 0])


def _web_splitting() -> Iterator[Result]:
    wood = material("balsa", density=160.0)
    factor = 1 / web_splitting.used_across(
        np.array([1e6, 0.0]),
        np.array([0.0, 1e6]),
        np.full(2, wood.tension_across),
        np.full(2, wood.compression_across),
    )
    yield _rounded(
        "1 MPa across the grain of balsa of 160 kg/m3",
        float(factor[0]),
        0.97,
        source="0.97 MPa [guess]; worked by hand [computed]",
        tolerance=6e-3,
        why="two figures",
    )
    yield _rounded(
        "crushed by 1 MPa that grows with the square of the load",
        float(factor[1]),
        float(np.sqrt(0.91)),
        source=f"0.91 MPa [guess]; {_HAND}",
    )


def _glue_line() -> Iterator[Result]:
    balsa = material("balsa", density=160.0)
    crossed = allowable(glue("aliphatic"), balsa, balsa, np.pi / 2).shear
    parallel = allowable(glue("aliphatic"), balsa, balsa, 0.0).shear
    yield _rounded(
        "crossed grains over parallel grains",
        crossed / parallel,
        1 / 3,
        source="FPL report 1522, 1945, summary [looked up]",
    )
    stress = float(flow_in_lap(_one(1e6), _one(1.5e-3), np.array([[6e-3, 3e-3]]))[0, 1])
    yield _rounded("1 MPa in a web of 1.5 mm, lap of 3 mm", stress, 0.5e6, unit="Pa", source=_HAND)


def _glue_ends() -> Iterator[Result]:
    force = float(glue_ends.end_force(*(_one(v) for v in (10e9, 1.5e-3, 0.003, 0.002, 4e-3, 20e-3)))[0])
    yield _rounded(
        "ply of 1.5 mm, strip 4 mm at 0.3 %, 20 mm clear from 0.2 %",
        force,
        330.0,
        unit="N",
        source=f"15 kN/mm x (0.012 + 0.010) mm; {_HAND}",
    )


def _brace() -> Iterator[Result]:
    moment = 1000 * POUND * INCH
    stress = float(brace_joint.brace_stress(_one(moment), _one(1.5 * INCH), _one(3.5 * INCH))[0])
    yield _rounded(
        "1000 lb in on 1.5 x 3.5 in",
        stress / (POUND / INCH**2),
        1000 / 3.063,
        unit="psi",
        source=_SECTION,
        tolerance=2e-3,
        why="published to four figures",
    )


def _brace_glue() -> Iterator[Result]:
    from models.analysis import analyse
    from models.command.files import read_wing
    from models.strength import check

    analysis = analyse(read_wing("trainer"))
    rows = {row.mode: row for row in check(analysis).secondary}
    section, line = rows[brace_joint.MODE.name], rows[brace_joint.MODE_GLUE.name]
    model = analysis.model
    k = int(np.flatnonzero(model.webs.brace)[0])
    height = float(model.webs.clear[k] + model.webs.lap[k].sum())
    moment = section.applied * float(model.webs.thickness[k]) * height**2 / 6
    by_hand = moment / float(model.depth[0, 0]) / analysis.wing.braces[0].y_end
    yield Result(
        "flow in the glue of the trainer's brace: moment over depth and length",
        line.applied,
        by_hand,
        "N/m",
        0.02,
        _HAND,
        "the depth is that of the first element",
        "rounding",
    )


def _rails() -> Iterator[Result]:
    figures = (-144.0, 2.88, 0.0, 0.012, 0.012, 60e6, 50e6, 100e6)
    share, stress = rail_bending.used(*(_one(v) for v in figures))
    for name, what, found, published, unit in (
        ("rail-bending", "12 x 12 mm: 144 N over 50 MPa, 2.88 N m over 100 MPa", float(share[0]), 0.12, ""),
        ("edge-bending", "12 x 12 mm: stress of 144 N and 2.88 N m", float(stress[0]), 11e6, "Pa"),
        (
            "rail-to-tie-glue",
            "12 x 20 mm at 4 MPa",
            rail_joint.glued_force(_one(240e-6), _one(4e6)),
            960.0,
            "N",
        ),
        (
            "tie-to-spar-glue",
            "two feet 3 x 8 mm at 0.6 MPa, two edges 3 x 24 mm at 2.5 MPa",
            rail_joint.glued_force(
                np.array([24e-6, 24e-6, 72e-6, 72e-6]), np.array([0.6e6, 0.6e6, 2.5e6, 2.5e6])
            ),
            388.8,
            "N",
        ),
    ):
        yield _rounded(what, found, published, unit=unit, source=_HAND, name=name)
    spruce = _spruce()
    yield _rounded(
        "Sitka spruce across the grain",
        spruce.compression_across,
        4.0e6,
        unit="Pa",
        source="Young and others, 1998, teaching table [looked up]",
        name="cap-crushed-under-tie",
    )


def _post() -> Iterator[Result]:
    along, across = 38.7e6, 4.0e6
    found = float(hankinson(along, across, np.pi / 6))
    yield _rounded(
        "Sitka spruce pressed at 30 degrees",
        found,
        38.7e6 * 4 / (38.7 * 0.25 + 4 * 0.75),
        unit="Pa",
        source=f"Hankinson's equation [looked up]; {_HAND}",
    )
    k = np.pi * np.sqrt(11.9e9 / (8 * along))
    length = k * 0.01
    unit = post.unit(*(_one(v) for v in (0.01, 0.01, length, 11.9e9, 65e6, along, 70e6)))
    used = float(post.shares(_one(-1.0), _one(0.0), _one(0.0), *unit)[0])
    yield _rounded(
        "10 x 10 mm post at L/d = K over its crushing force",
        1 / used / (along * 1e-4),
        2 / 3,
        source="Wood Handbook, 1999, chapter 8, fourth-power rule [from memory]",
    )
    euler = np.pi**2 * 11.9e9 * 1e-8 / 12 / length**2
    yield _rounded(
        "the same by the columns' own rule",
        float(column_force(_one(along * 1e-4), _one(euler))[0]) / (along * 1e-4),
        2 / 3,
        source="Wood Handbook, 1999, chapter 8 [from memory]",
    )


def _wrinkling() -> Iterator[Result]:
    iso = np.array([[[1.0, 0.3, 0.0], [0.3, 1.0, 0.0], [0.0, 0.0, 0.35]]])
    for aspect, published in ((0.6, 5.14), (1.0, 4.0), (1.4, 4.47), (3.0, 4.0)):
        flow = float(compression_flow(_one(aspect), _one(1.0), iso)[0])
        yield _rounded(
            f"k of an isotropic plate, a/b {aspect:g}",
            flow / np.pi**2,
            published,
            source="Timoshenko and Gere, 1961, table 9-1 [from memory]",
            tolerance=2e-3,
            why="published to three figures",
        )
    source = "2 pi^2 (sqrt(D1 D2) + D3)/(t b^2), ANC-18 form [from memory]; worked by hand [computed]"
    for cut, angle, aspect, published in (
        ("flat-sawn", 0.0, 2.9 * 8, 0.336),
        ("flat-sawn", 90.0, 0.35 * 60, 0.336),
        ("quarter-sawn", 0.0, 2.2 * 8, 0.549),
        ("flat-sawn", 0.0, 1.0, 0.97),
        ("flat-sawn", 0.0, 0.5, 3.4),
    ):
        rigidity = stiffness(BALSA[cut], np.radians(angle))[None] / 12
        flow = float(compression_flow(_one(aspect), _one(1.0), rigidity)[0]) / E_L
        yield _rounded(
            f"{cut} balsa, grain {angle:g} degrees, a/b {aspect:.3g}, over E_L (t/b)^2",
            flow,
            published,
            source=source,
            tolerance=0.015,
            why="two or three figures",
        )


def _sheet_shear() -> Iterator[Result]:
    iso = np.array([[[1.0, 0.3, 0.0], [0.3, 1.0, 0.0], [0.0, 0.0, 0.35]]])
    for aspect, published in ((1.0, 9.34), (2.0, 6.6), (4.0, 5.61)):
        flow = float(buckling_flow(_one(aspect), _one(1.0), iso, (24, 12))[0, 0])
        yield _rounded(
            f"k of an isotropic plate, a/b {aspect:g}",
            flow / np.pi**2,
            published,
            source="Timoshenko and Gere, 1961, table 9-10 and 5.35 + 4 (b/a)^2 [from memory]",
            tolerance=0.012,
            why="published to two or three figures",
        )


CASES: tuple[Case, ...] = (
    Case("cap-tension", "A cap torn, bending added", _cap_tension),
    Case("cap-compression", "A cap crushed, layers and bending added", _cap_compression),
    Case("cap-bending-open-bay", "A cap of an open bay bent at its posts", _cap_bending),
    Case("cap-buckling", "A cap as a column on its web", _cap_buckling),
    Case("cap-twist", "A wide cap twisting about its web", _cap_twist),
    Case("web-shear", "A web sheared through", _web_shear),
    Case("web-direct-stress", "A web at the caps' strain", _web_direct),
    Case("web-shear-bending-and-crushing", "A web under three stresses", _web_combined),
    Case("web-buckling-under-crushing", "A web as a wide column", _web_column),
    Case("web-buckling-shear-and-crushing", "A web buckling under both", _web_both),
    Case("web-splitting", "A web split or crushed across its grain", _web_splitting),
    Case("glue-line", "A web's glue line", _glue_line),
    Case("glue-at-web-end", "The glue of a web's end", _glue_ends),
    Case(
        "glue-at-web-end-first-crack",
        "The glue at a web's very end",
        _glue_ends,
    ),
    Case("brace-caps-cut", "A brace that carries all", _brace),
    Case("brace-glue-caps-cut", "The glue of a brace that carries all", _brace_glue),
    *(
        Case(name, title, only(_rails, name))
        for name, title in (
            ("rail-bending", "A rail bent"),
            ("rail-to-tie-glue", "Glue between rail and tie"),
            ("tie-to-spar-glue", "Glue between tie and spar"),
            ("cap-crushed-under-tie", "A cap under the foot of a tie"),
            ("edge-bending", "Leading and trailing edge bent"),
        )
    ),
    Case("rib-post", "A rib as a post", _post),
    Case("rib-shear", "A rib's panel under three stresses", _norris),
    Case("sheeting-strength", "Sheeting under three stresses", _norris),
    Case("sheeting-wrinkling", "Sheeting buckling in compression", _wrinkling),
    Case("sheeting-shear-buckling", "Sheeting buckling in shear", _sheet_shear),
    Case("sheeting-buckling-shear-and-compression", "Sheeting buckling under both", _web_both),
)
