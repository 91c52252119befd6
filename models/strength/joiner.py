"""Halves on a joiner: a rod, tube or blade that carries the spar across its joint in a box in each half.

The model's caps run on through the joint, and so do its sheeting and edges; cut there, all of the wing's
bending crosses in the joiners, which share it by their stiffness, but for what spars take that run through.
In the box it passes into the spar (`models.strength.socket`): the box's wood is pressed, its
wood and the webs on the spar's faces carry the shear that brings the caps' forces back, the glue hands it
over, and the caps are pushed off from within. The joiner's own give is not in the model. Neither fore-and-aft
bending nor torque of the joint is looked at, nor the wall of a thin tube kinking.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from fea.arrays import Array
from models.loads.diagrams import of_loads
from models.strength import fitting
from models.strength.finding import Finding
from models.strength.glue_line import OFF, lines
from models.strength.mode import LOST, Mode, Rule, pressed, sheared, torn
from models.strength.socket import SOURCE, bedded, mean_shear, straight
from models.strength.solved import Solved
from models.strength.spar_moment import along_spans
from models.strength.web_shear import shear_at, strengths_of
from models.structure.model import Part
from models.wing.joints import alone
from models.wing.parts import Joiner, Spar
from models.woods.dowel_bearing import END_GRAIN, dowel_bearing
from models.woods.dowel_bearing import SOURCE as BEARING
from models.woods.glue import allowable, glue
from models.woods.off_axis import turned

REASON = "of a joint, which is judged by itself: the model's caps run on through it"

_BESIDE = 1e-7
"""What stands on the joint itself lies inward of it, m."""
_POINTS = 201
"""Along a box, for the shear force in it."""
_SOFTEST = 1.0
"""Least shear flow for each angle, and least strengths, of a box where nothing is beside the joiner, N/m."""


def section(one: Joiner) -> tuple[float, float, float]:
    """Of a joiner's section: second moment of area (m4), depth of the outermost fibre (m), and the greatest
    shear stress for each newton (1/m2).

    References
    ----------
    Timoshenko, Strength of Materials (from memory): 4/3 V/A of a circle, 2 V/A of a thin tube, 3/2 V/A of a
    rectangle.
    """
    if one.form == "blade":
        return one.width * one.height**3 / 12, one.height / 2, 1.5 / one.area
    inner = 0.0 if one.form == "rod" else one.height - 2 * one.wall
    peak = 4 / 3 if one.form == "rod" else 2.0
    return np.pi * (one.height**4 - inner**4) / 64, one.height / 2, peak / one.area


def crushing(one: Joiner) -> float:
    """What the wood of a box bears under its joiner, Pa of the joiner's width.

    A round joiner bears as a dowel does, along the grain of the box as one in end grain; a blade on a plain
    face, across the grain or on it.
    """
    across = not one.upright
    if one.form == "blade":
        return one.filler.compression_across if across else one.filler.compression
    own = dowel_bearing(one.filler, one.width, across=across)
    return max(END_GRAIN * own, min(one.filler.compression_across, own)) if across else own


@dataclass(frozen=True)
class Box:
    """The box of a joiner in one half: clear height between the caps and distance of the caps' middles, m."""

    clear: float
    depth: float


def bed(one: Joiner, box: Box) -> float:
    """Line load of the box's wood for each movement of the joiner in it, N/m2.

    The wood over (or under) the joiner as a short column of the joiner's width, no higher than that width:
    without its neighbours' help it would give more, and the shear force gather less.
    """
    stick = one.filler.stick()
    young = stick.E if one.upright else stick.E_up
    height = max((box.clear - one.height) / 2, 1e-4)
    return young * one.width / min(height, one.width)


@dataclass(frozen=True, eq=False)
class Joined:
    """What one joiner carries at one box.

    Numbers of the spar and of its joiner; where the box begins and ends (m, port negative); moment at the
    joint, moment and shear force at the box's mouth, N m and N, of what lies beyond the box as seen from the
    joint: the shear is negative at a box that lies inward of it.
    """

    spar: int
    number: int
    mouth: float
    end: float
    at_joint: float
    moment: float
    shear: float


def joined(at: Solved) -> list[Joined]:
    """All boxes of all joiners, on each side that is modelled."""
    model, wing = at.model, at.model.wing
    names = [spar.name for spar in wing.spars]
    solution, case = at.analysis.solution, at.analysis.case
    loads = solution.loads[:, :, case] + solution.reactions[:, :, case]
    middle, every = along_spans(at)
    found = []
    for k, one in enumerate(wing.joiners):
        mates = [other for other in wing.joiners if abs(other.at - one.at) < 1e-9]
        stiff = [other.material.stick().E * section(other)[0] for other in mates]
        share = one.material.stick().E * section(one)[0] / sum(stiff)
        cut = {other.spar for other in mates} | {spar.name for spar in alone(wing, one.at)}
        through = [row for row, name in enumerate(names) if name not in cut]
        for side in (1.0,) if model.half else (1.0, -1.0):
            for way in (1.0,) if one.at < 1e-9 else (1.0, -1.0):
                stations = one.at + way * np.array([0.0, one.box_from, one.reach])
                moment = of_loads(model, loads, side * (stations + way * _BESIDE)).bending
                for row in through:
                    moment = moment - _moment(every[row], middle * side, stations)
                root, mouth, end = (share * moment).tolist()
                shear = (mouth - end) / (one.reach - one.box_from)
                begin, finish = (side * stations[1:]).tolist()
                found.append(Joined(names.index(one.spar), k, begin, finish, root, mouth, shear))
    return found


def _moment(moment: Array, y: Array, stations: Array) -> Array:
    """Moment (n_spans,) of a spar, known half way along spans at y, at stations of its one side."""
    there = (y > 0) & ~np.isnan(moment)
    order = np.argsort(y[there])
    return np.asarray(np.interp(stations, y[there][order], moment[there][order]))


def findings(at: Solved) -> list[Finding]:
    """Every joiner and its boxes."""
    wing = at.model.wing
    if not wing.joiners or wing.clamped:
        return []
    out = []
    for one in at.the(joined):
        out += _of(at, one)
    return out


def _of(at: Solved, one: Joined) -> list[Finding]:
    joiner = at.model.wing.joiners[one.number]
    box = _box(at, one)
    second, edge, peak = section(joiner)
    length = joiner.reach - joiner.box_from
    stiff = joiner.material.stick().E * second
    walls, glued, held, spar = _strengths(at, one, joiner)
    place = np.linspace(0.0, length, _POINTS)
    bent, force = bedded(one.moment, one.shear, place, stiff, bed(joiner, box), spar * box.depth)
    line = max(map(abs, straight(one.moment, one.shear, length)))
    largest = float(np.abs(force).max())
    # Beams say nothing of stretches shorter than their depth: the mean over that (Saint-Venant).
    flow = abs(mean_shear(place, bent, box.depth) - one.shear) / box.depth
    found = partial(_found, at, joiner, joiner.at * (1.0 if one.mouth >= 0 else -1.0))
    kind = joiner.material
    out = [
        found(MODE, max(abs(one.at_joint), abs(one.moment)) * edge / second, kind.bending),
        found(MODE_SHEAR, peak * largest, kind.shear),
        found(MODE_BEARING, line / joiner.width, crushing(joiner), box=True),
        found(MODE_BOX, flow, walls, box=True, unit="N/m"),
        found(MODE_GLUE, flow, glued, box=True, unit="N/m"),
    ]
    if not joiner.wrapped:
        out.append(found(MODE_BURST, line, held, box=True, unit="N/m"))
    return out


def _box(at: Solved, one: Joined) -> Box:
    model, y = at.model, (one.mouth + one.end) / 2
    order = np.argsort(model.y)
    depth = float(np.interp(y, model.y[order], model.depth[one.spar, order]))
    return Box(clear_height(model.wing.spars[one.spar], abs(y)), depth)


def clear_height(spar: Spar, y: float) -> float:
    """Clear height between the caps at y (m), m."""
    caps = sum(float(layer.height.at(y)) for cap in (spar.upper, spar.lower) for layer in cap.layers)
    return float(spar.z_upper.at(y) - spar.z_lower.at(y)) - caps


def _strengths(at: Solved, one: Joined, joiner: Joiner) -> tuple[float, float, float, float]:
    """Shear flow that the box bears, that its glue on the caps bears, and the line load that holds a cap on
    it, and its shear flow for each angle, N/m: the least along the box."""
    model, webs = at.model, at.model.webs
    spar, kind = model.wing.spars[one.spar], glue(joiner.glue)
    y = abs(one.mouth + one.end) / 2
    width = min(float(spar.upper.width.at(y)), float(spar.lower.width.at(y)))
    beside = max(width - joiner.width, 0.0)
    line = min(
        allowable(kind, joiner.filler, cap.layers[-1].material, np.pi / 2 if joiner.upright else 0.0).shear
        for cap in (spar.upper, spar.lower)
    )
    across = min(
        joiner.filler.tension if joiner.upright else joiner.filler.tension_across,
        *(cap.layers[-1].material.tension_across for cap in (spar.upper, spar.lower)),
    )
    own = np.array(
        [
            max(beside * joiner.filler.shear, _SOFTEST),
            width * line,
            max(beside * across, _SOFTEST),
            max(beside * joiner.filler.stick().G_up, _SOFTEST),
        ]
    )
    # As the model's own: webs (and braces of another joint) of the spans that the box covers.
    inner, outer = sorted((one.mouth, one.end))
    mid = (model.y[:-1] + model.y[1:]) / 2
    spans = np.flatnonzero((mid > inner) & (mid < outer))
    if not len(spans):
        spans = np.array([int(np.abs(mid - (inner + outer) / 2).argmin())])
    rows = np.flatnonzero((webs.spar == one.spar) & np.isin(webs.span, spans))
    if not len(rows):
        return _four(own)
    strengths = strengths_of(webs.materials, webs.material)
    used = np.max([shear_at(webs.grain, np.full(len(webs.span), sign), strengths) for sign in (1.0, -1.0)], 0)
    of = at.of_build(lines)
    sums = {int(i): np.zeros(4) for i in spans}
    for k in rows:
        caps = (spar.upper, spar.lower)
        wood = webs.materials[webs.material[k]]
        roll = [allowable(glue(webs.glue[k]), wood, cap.layers[-1].material, np.pi / 2).shear for cap in caps]
        stiff = turned(wood.in_plane(), float(webs.grain[k])).G_xy
        sums[int(webs.span[k])] += [
            webs.thickness[k] / used[k],
            (of.shear[k] * webs.lap[k]).min(),
            (np.array(roll) * webs.lap[k]).min(),
            webs.thickness[k] * float(stiff),
        ]
    return _four(own + np.min(list(sums.values()), axis=0))


def _four(values: Array) -> tuple[float, float, float, float]:
    one, two, three, four = values.tolist()
    return one, two, three, four


def _found(
    at: Solved,
    joiner: Joiner,
    y: float,
    mode: Mode,
    applied: float,
    allowed: float,
    *,
    box: bool = False,
    unit: str = "Pa",
) -> Finding:
    kind = "joiner box" if box else "joiner"

    def is_it(part: Part) -> bool:
        return (part.kind, part.spar, part.station) == (kind, joiner.spar, joiner.station)

    return fitting.found(at, mode, is_it, applied, allowed, y=y, unit=unit)


_mode = partial(fitting.mode, find=findings, reason=REASON, remains=LOST)


MODE = _mode(
    "joiner bending",
    "breaks in bending",
    "M c/I against the strength in bending, of metal its yield: Timoshenko, Strength of Materials "
    "[from memory]",
    Rule("bending"),
    torn,
)
MODE_SHEAR = _mode(
    "joiner shear", "is sheared through", f"greatest shear stress; {SOURCE}", Rule("shear"), sheared
)
MODE_BEARING = _mode(
    "joiner bearing",
    "is crushed under its joiner",
    f"line load over the joiner's width, {BEARING}; in end grain by 0.67 (11.5.2) [from memory]; "
    "under a blade compression of the wood",
    Rule("compression_across"),
    pressed,
)
MODE_BOX = _mode(
    "joiner box shear",
    "is sheared along the joiner",
    "shear flow that brings back the caps' forces, on webs and what wood is left beside the joiner; "
    f"{SOURCE}",
    Rule("shear"),
    sheared,
)
MODE_GLUE = _mode(
    "joiner box glue",
    "comes off the caps along the joiner",
    "the same flow on the glue of box and webs on the caps, added up [common practice, no source]",
    Rule("glue"),
    sheared,
    remains=OFF,
)
MODE_BURST = _mode(
    "joiner box burst",
    "is pushed open by the joiner",
    "line load on a cap against the webs' glue across the grain and what wood is left beside the joiner, "
    "pulled across: equilibrium [computed]; added up [common practice, no source]",
    Rule("glue"),
    sheared,
    remains=OFF,
)
EVERY = (MODE, MODE_SHEAR, MODE_BEARING, MODE_BOX, MODE_GLUE, MODE_BURST)
