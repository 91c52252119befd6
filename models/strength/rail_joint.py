"""Where an engine rail hands its load to the spars: glue between rail and ply tie, and between tie and spar.

The rail lies on the face of its tie over the width of the spar's caps and, where the tie goes on to the next
spar, over one rail height more (a spread at 45 degrees). The tie stands with its edges butted on the inner
faces of both caps and, where the spar has a web or a brace, against it over the clear height, on each side
that the rail reaches. What the glue of these bears is added up. All of this is common practice, no source: a
file cannot say how a builder fits his doublers.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array, Ints
from models.analysis import Analysis
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Layouts, Many, Mode, Remains, Rule, pressed, sheared
from models.strength.solved import Solved
from models.wing.parts import Rail
from models.woods.glue import allowable, glue


def glued_force(areas: Array, strengths: Array) -> float:
    """Force that some glued faces bear together, N, from areas (n,) in m2 and shear strengths (n,) in Pa."""
    return float((np.asarray(areas) * np.asarray(strengths)).sum())


@dataclass(frozen=True, eq=False)
class RailTies:
    """The ties of one rail at one spar: elements `rows` (n,), the rail, the number of the spar, `y` in m,
    which cap each goes to (n,), and the share of the rail in the model."""

    rows: list[int]
    rail: Rail
    spar: int
    y: float
    cap: list[int]
    share: float


def ties(at: Solved) -> list[RailTies]:
    """All of a model, a rail and a spar each."""
    model = at.model
    block = model.structure.blocks["rail ties"]
    assert block.part is not None
    rails = {r.name: r for r in model.wing.rails}
    spar_of = {int(node): (s, c) for s, two in enumerate(model.cap_nodes) for c, row in enumerate(two)
               for node in row if node >= 0}  # fmt: skip
    pairs: dict[tuple[int, int], list[int]] = {}
    for k, (cap, rail_node) in enumerate(block.nodes.tolist()):
        pairs.setdefault((rail_node, spar_of[cap][0]), []).append(k)
    out = []
    for (_, s), rows in pairs.items():
        rail = rails[model.parts[block.part[rows[0]]].place]
        y = float(model.structure.nodes[block.nodes[rows[0], 0], 1])
        caps = [spar_of[int(block.nodes[k, 0])][1] for k in rows]
        out.append(RailTies(rows, rail, s, y, caps, 0.5 if model.half and rail.y < 1e-9 else 1.0))
    return out


def constants(at: Solved) -> dict[str, Array]:
    """Forces that the glue of the ties of a rail at a spar bears."""
    found = at.of_build(ties)
    return {
        "to_rail": np.array([_rail_glue(at.analysis, one.rail, one.spar) for one in found]),
        "to_spar": np.array([_spar_glue(at.analysis, one.rail, one.spar, one.y) for one in found]),
    }


def handed_over(of: Layouts) -> Array:
    """Force that the ties of a rail hand over at a spar, (n, n_layouts), N, from rows (up, V_y and V_z of two
    ties); the second may not be there."""
    rows = of.rows("ties")
    second = (of.table["ties"]["count"] > 1)[:, None]
    aside = np.hypot(rows[:, 1], rows[:, 2]) + np.where(second, np.hypot(rows[:, 3], rows[:, 4]), 0.0)
    return np.asarray(np.hypot(rows[:, 0], aside))


@dataclass(frozen=True, eq=False)
class _EachTie:
    """Elements of all ties, (n,), a rail and a spar after another: their `rows`, which of `ties` each is of,
    1 on an upper cap and -1 on a lower, the share of the rail in the model, y in m, the area of its foot, m2,
    and what its cap bears across the grain, Pa."""

    rows: Ints
    owner: Ints
    sign: Array
    share: Array
    y: Array
    foot: Array
    across: Array


def _each_tie(at: Solved) -> _EachTie:
    rows, owner, figures = [], [], []
    for k, one in enumerate(at.of_build(ties)):
        spar = at.model.wing.spars[one.spar]
        rows += one.rows
        owner += [k] * len(one.rows)
        for c in one.cap:
            cap = (spar.upper, spar.lower)[c]
            foot = one.rail.tie_thickness * float(cap.width.at(abs(one.y)))
            across = cap.layers[-1].material.compression_across
            figures.append((1.0 if c == 0 else -1.0, one.share, one.y, foot, across))
    return _EachTie(
        np.array(rows, dtype=np.intp), np.array(owner, dtype=np.intp), *np.array(figures).reshape(-1, 5).T
    )


def _forces(at: Solved) -> Array:
    """Of all elements of ties at their middles, N (N m), as `_EachTie` has them."""
    return np.asarray(at.analysis.recovered["rail ties"]["forces"].mean(axis=1)[at.of_build(_each_tie).rows])


def findings(at: Solved) -> list[Finding]:
    """Every tie of every rail at every spar."""
    each, of, bears = at.the(_forces), at.of_build(_each_tie), at.of_build(constants)
    up, aside = (
        np.bincount(of.owner, force) for force in (of.sign * each[:, 0], np.linalg.norm(each[:, 1:3], axis=1))
    )
    acting = np.hypot(up, aside)[of.owner] / of.share
    every = np.arange(len(of.rows))
    return [
        mode.found(every, ratio(bears[glued][of.owner], acting), acting, of.y, unit="N", element=of.rows)
        for mode, glued in ((MODE, "to_rail"), (MODE_SPAR, "to_spar"))
    ]


def _crushed(at: Solved) -> list[Finding]:
    """The foot of every tie that presses on its cap."""
    each, of = at.the(_forces), at.of_build(_each_tie)
    stress = np.maximum(-each[:, 0] / of.share, 0.0) / of.foot
    reserve = ratio(of.across, stress)
    return [MODE_CRUSHED.found(stress > 0, reserve, stress, of.y, allowable=of.across, element=of.rows)]


def _rail_glue(analysis: Analysis, rail: Rail, s: int) -> float:
    spar = analysis.wing.spars[s]
    crossing = len([t for t in rail.ties if t != spar.name])
    width = float(spar.upper.width.at(rail.y))
    order = sorted(
        rail.ties, key=lambda t: float(next(p for p in analysis.wing.spars if p.name == t).x.at(rail.y))
    )
    sides = 0 if not crossing else (1 if spar.name in (order[0], order[-1]) else 2)
    area = rail.height * (width + sides * rail.height)
    line = allowable(glue(rail.glue), rail.material, rail.tie_material, rail.tie_grain)
    return glued_force(np.array([area]), np.array([line.shear]))


def _spar_glue(analysis: Analysis, rail: Rail, s: int, y: float) -> float:
    model = analysis.model
    spar, webs = analysis.wing.spars[s], model.webs
    width = float(spar.upper.width.at(abs(y)))
    kind = glue(rail.glue)
    areas, strengths = [], []
    for cap in (spar.upper, spar.lower):
        areas.append(rail.tie_thickness * width)
        strengths.append(allowable(kind, rail.tie_material, cap.layers[-1].material, np.pi / 2).shear)
    beside = (webs.spar == s) & (model.y[webs.span] <= y + 1e-9) & (model.y[webs.span + 1] >= y - 1e-9)
    x = float(spar.x.at(abs(y)))
    reached = {"front": rail.x_front < x - width, "rear": rail.x_rear > x + width}
    # Of the elements on both sides of the tie the one with the lower clear height counts.
    order = sorted(np.flatnonzero(beside).tolist(), key=lambda k: -webs.clear[k])
    held = {webs.face[k]: k for k in order}
    for side, reaches in reached.items():
        k = held.get(side, held.get("between"))
        if reaches and k is not None:
            areas.append(rail.tie_thickness * float(webs.clear[k]))
            turn = float(webs.grain[k]) - rail.tie_grain
            strengths.append(allowable(kind, rail.tie_material, webs.materials[webs.material[k]], turn).shear)
    return glued_force(np.array(areas), np.array(strengths))


OFF = Remains(0.0, 0.0, "nothing", "a tie that is off hands over no load")
MODE = Mode(
    name="rail to tie glue",
    words="comes off its rail",
    source=(
        "force over glued area, 45 degree spread: common practice, no source; glue: FPL report 1522 [looked "
        "up]"
    ),
    block="rail ties",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("glue"),
    proof=sheared,
    remains=OFF,
    many=Many(
        family="ties",
        constants=constants,
        used=lambda of: of.the(handed_over) / of.table["ties"]["to_rail"][:, None],
    ),
)

MODE_SPAR = replace(
    MODE,
    name="tie to spar glue",
    words="comes off its spar",
    many=Many(
        family="ties",
        constants=lambda _: {},
        used=lambda of: of.the(handed_over) / of.table["ties"]["to_spar"][:, None],
    ),
)

MODE_CRUSHED = Mode(
    name="cap crushed under tie",
    words="crushes its cap",
    source=(
        "force over the tie's foot against compression across the grain: Wood Handbook, FPL-GTR-190, table "
        "5-3 [from "
        "memory]"
    ),
    block="rail ties",
    find=_crushed,
    ends_flight=False,
    reason=(
        "wood pressed across its grain has no ultimate: the foot beds in and hardens, and the tie's glue on "
        "the webs holds"
    ),
    joins=(),
    scatter=Rule("compression_across"),
    proof=pressed,
    remains=LOST,
    many=None,
)
