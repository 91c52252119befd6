"""Where an engine rail hands its load to the spars: glue between rail and ply tie, and between tie and spar.

The rail lies on the face of its tie over the width of the spar's caps and, where the tie goes on to the next
spar, over one rail height more (a spread at 45 degrees). The tie stands with its edges butted on the inner
faces of both caps and, where the spar has a web or a brace, against it over the clear height, on each side
that the rail reaches. What the glue of these bears is added up. All of this is common practice, no source: a
file cannot say how a builder fits his doublers.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Mode, Remains, Rule, pressed, sheared
from models.strength.solved import Solved
from models.wing.parts import Rail
from models.woods.glue import allowable, glue

Array = NDArray[np.float64]


def glued_force(areas: Array, strengths: Array) -> float:
    """Force that some glued faces bear together, N, from areas (n,) in m2 and shear strengths (n,) in Pa."""
    return float((np.asarray(areas) * np.asarray(strengths)).sum())


def findings(at: Solved) -> list[Finding]:
    """Every tie of every rail at every spar."""
    analysis, model = at.analysis, at.model
    block = model.structure.blocks["rail ties"]
    assert block.part is not None
    rails = {r.name: r for r in model.wing.rails}
    forces = analysis.recovered["rail ties"]["forces"].mean(axis=1)
    spar_of = {int(node): (s, c) for s, two in enumerate(model.cap_nodes) for c, row in enumerate(two)
               for node in row if node >= 0}  # fmt: skip
    pairs: dict[tuple[int, int], list[int]] = {}
    for k, (cap, rail_node) in enumerate(block.nodes.tolist()):
        pairs.setdefault((rail_node, spar_of[cap][0]), []).append(k)
    out = []
    for (_, s), rows in pairs.items():
        rail = rails[model.parts[block.part[rows[0]]].place]
        share = 0.5 if model.half and rail.y < 1e-9 else 1.0
        y = float(model.structure.nodes[block.nodes[rows[0], 0], 1])
        sign = np.array([1.0 if spar_of[int(block.nodes[k, 0])][1] == 0 else -1.0 for k in rows])
        each = forces[rows]
        up = float((sign * each[:, 0]).sum())
        total = float(np.hypot(up, np.linalg.norm(each[:, 1:3], axis=1).sum())) / share
        for mode, strength in (
            (MODE, _rail_glue(analysis, rail, s)),
            (MODE_SPAR, _spar_glue(analysis, rail, s, y)),
        ):
            acting, there = np.full(len(rows), total), np.full(len(rows), y)
            factor = ratio(np.full(len(rows), strength), acting)
            every = np.arange(len(rows))
            out.append(mode.found(every, factor, acting, there, unit="N", element=np.array(rows)))
        out += _crushed(analysis, rail, s, y, rows, each[:, 0] / share, spar_of, block.nodes)
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


def _crushed(
    analysis: Analysis,
    rail: Rail,
    s: int,
    y: float,
    rows: list[int],
    axial: Array,
    spar_of: dict[int, tuple[int, int]],
    nodes: NDArray[np.intp],
) -> list[Finding]:
    spar = analysis.wing.spars[s]
    out = []
    for k, force in zip(rows, axial):
        if force >= 0:
            continue
        cap = (spar.upper, spar.lower)[spar_of[int(nodes[k, 0])][1]]
        stress = -float(force) / (rail.tie_thickness * float(cap.width.at(abs(y))))
        strength = cap.layers[-1].material.compression_across
        reserve, applied, there = (np.array([v]) for v in (strength / stress, stress, y))
        one, limit = np.array([0]), np.array([strength])
        out.append(MODE_CRUSHED.found(one, reserve, applied, there, allowable=limit, element=np.array([k])))
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
)

MODE_SPAR = Mode(
    name="tie to spar glue",
    words="comes off its spar",
    source=MODE.source,
    block="rail ties",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("glue"),
    proof=sheared,
    remains=OFF,
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
)
