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

from fea.arrays import Array
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


def findings(at: Solved) -> list[Finding]:
    """Every tie of every rail at every spar."""
    forces = at.analysis.recovered["rail ties"]["forces"].mean(axis=1)
    out = []
    bears = at.of_build(constants)
    for one, to_rail, to_spar in zip(at.of_build(ties), bears["to_rail"], bears["to_spar"]):
        each, n = forces[one.rows], len(one.rows)
        up = float((np.where(np.array(one.cap) == 0, 1.0, -1.0) * each[:, 0]).sum())
        total = float(np.hypot(up, np.linalg.norm(each[:, 1:3], axis=1).sum())) / one.share
        acting, there = np.full(n, total), np.full(n, one.y)
        for mode, strength in ((MODE, to_rail), (MODE_SPAR, to_spar)):
            factor = ratio(np.full(n, strength), acting)
            rows = np.array(one.rows)
            out.append(mode.found(np.arange(n), factor, acting, there, unit="N", element=rows))
        out += _crushed(at, one, each[:, 0] / one.share)
    return out


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


def _crushed(at: Solved, of: RailTies, axial: Array) -> list[Finding]:
    spar = at.model.wing.spars[of.spar]
    out = []
    for k, c, force in zip(of.rows, of.cap, axial):
        if force >= 0:
            continue
        cap = (spar.upper, spar.lower)[c]
        stress = -float(force) / (of.rail.tie_thickness * float(cap.width.at(abs(of.y))))
        strength = cap.layers[-1].material.compression_across
        reserve, applied, y, limit = (np.array([v]) for v in (strength / stress, stress, of.y, strength))
        one, element = np.array([0]), np.array([k])
        out.append(MODE_CRUSHED.found(one, reserve, applied, y, allowable=limit, element=element))
    return out


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
    find=findings,
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
