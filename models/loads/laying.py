"""Whether bags and battens can be laid as a plan says, in plan view, and what lies under the battens' ends.

A bag is a square as it lies, a batten a strip from rib to rib that ends `OVERHANG` beyond both. What comes
too close is told; nothing is taken from how the plan was made (`models.loads.bags` keeps every bag apart
along the span, which is more than is asked here).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.loads.bags import BAG_WIDTH, Bag, rib_stations
from models.structure.model import Model

BATTEN_WIDTH = 10e-3
"""Width of a batten, m (a judgement, no source)."""
OVERHANG = 5e-3
"""How far a batten reaches beyond its ribs, m (a judgement, no source)."""
CLEAR = 3e-3
"""What a batten clears the ribs between its ends by, and the thinnest packer, m (a judgement, no source)."""
_TOUCH = 1e-6


def clashes(bags: Sequence[Bag], width: float = BAG_WIDTH) -> list[str]:
    """What of the plan of one side cannot be laid with bags `width` (m) wide as they lie, in words,
    numbers from 1 as in the plan; empty where all can."""
    said = []
    for (i, a), (j, b) in combinations(enumerate(bags, 1), 2):
        if a.mass > 0 and b.mass > 0 and float(np.abs(_place(a) - _place(b)).max()) < width - _TOUCH:
            said.append(f"bags {i} and {j} lie less than a bag's width of {say.size(width):.0f} apart")
        if len(a.ribs) > 1 and len(b.ribs) > 1 and _apart(_line(a), _line(b)) < BATTEN_WIDTH - _TOUCH:
            said.append(f"the battens of bags {i} and {j} cross or touch")
        for (m, one), (n, other) in (((i, a), (j, b)), ((j, b), (i, a))):
            if len(other.ribs) < 2:
                continue
            half = width / 2 if one.mass > 0 else BATTEN_WIDTH / 2  # a cord's loop
            if _from_square(_place(one), half, _line(other)) < BATTEN_WIDTH / 2 - _TOUCH:
                what = "bag" if one.mass > 0 else "cord"
                said.append(f"{what} {m} touches the batten of bag {n}")
    return said


def packer(model: Model, bag: Bag) -> float:
    """Height of the packers under both ends of a straight batten, m, a whole number of millimetres; 0 for
    a bag on a rib.

    The batten lies on the wing's lower side, which is on top, and clears all ribs between its own by `CLEAR`.
    """
    if len(bag.ribs) < 2:
        return 0.0
    y = rib_stations(model)[bag.ribs[0] - 1 : bag.ribs[1]]
    way = (y - y[0]) / (y[-1] - y[0])
    x = bag.x[0] + way * (bag.x[1] - bag.x[0])
    height = np.array([_height(model, float(a), float(b)) for a, b in zip(x, y)])
    line = height[0] + way * (height[-1] - height[0])
    return math.ceil((max(float((height - line).max()), 0.0) + CLEAR) * 1e3 - 1e-6) * 1e-3


def _height(model: Model, x: float, y: float) -> float:
    """Height of a rib's lower edge, upside down, m."""
    j = int(np.argmin(np.abs(model.y - y)))
    there = [int(c.lower[j]) for c in model.chordlines if c.upper[j] >= 0 and c.lower[j] >= 0]
    nodes = model.structure.nodes[there]
    order = np.argsort(nodes[:, 0])
    return -float(np.interp(x, nodes[order, 0], nodes[order, 2]))


def _place(bag: Bag) -> Array:
    """Of the bag itself, (x, y), m."""
    return np.array([np.dot(bag.x, bag.shares), np.dot(bag.y, bag.shares)])


def _line(bag: Bag) -> Array:
    """Ends of a batten, (2, 2): x, y, m."""
    ends = np.array([bag.x, bag.y]).T
    along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    return ends + OVERHANG * np.stack([-along, along])


def _apart(a: Array, b: Array) -> float:
    """Distance of two segments in the plane, m; 0 where they cross."""
    if _cross(a[0], a[1], b[0]) * _cross(a[0], a[1], b[1]) < 0 and (
        _cross(b[0], b[1], a[0]) * _cross(b[0], b[1], a[1]) < 0
    ):
        return 0.0
    return min(_to_segment(p, s) for p, s in ((a[0], b), (a[1], b), (b[0], a), (b[1], a)))


def _cross(o: Array, a: Array, b: Array) -> float:
    return float((a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]))


def _to_segment(point: Array, segment: Array) -> float:
    way = segment[1] - segment[0]
    t = float(np.clip((point - segment[0]) @ way / (way @ way), 0.0, 1.0))
    return float(np.linalg.norm(point - segment[0] - t * way))


def _from_square(centre: Array, half: float, segment: Array) -> float:
    """Distance of a segment from a square with its sides along x and y, m; 0 where they meet."""
    corners = [centre + half * np.array(sign) for sign in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    if float(np.abs(segment - centre).max(axis=1).min()) <= half:
        return 0.0
    return min(_apart(np.array(side), segment) for side in pairwise([*corners, corners[0]]))
