"""Rib stations along every spar at full size: a strip to lay on the cap, with both faces of every rib."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.drawings.ink import Drawing, Item, Path, Text, bounds, line, moved, text_width
from models.wing.parts import Spar, Wing
from models.wing.words import spar_words

_ROW = 12.0
"""Room over and under a strip for its words, mm."""
_CLOSE = 8.0
_SIZE = 2.4
_TOUCH = 1e-7


@dataclass(frozen=True, eq=False)
class RibMark:
    """A rib on a strip.

    Parameters
    ----------
    number : int
        Of the rib, 1 the innermost.
    along : float
        From the centre line (or clamp) to its middle, true length along the spar in space, m.
    faces : (float, float)
        The same of its inner and outer face on the spar's middle line, m.
    sweep : float
        Angle between rib and the square across the spar, in plan, rad.
    width : float
        Of the upper cap fore and aft, m.
    """

    number: int
    along: float
    faces: tuple[float, float]
    sweep: float
    width: float


def length_along(spar: Spar, y: Array) -> Array:
    """True length along a spar's middle line in space from the centre line or clamp, at y, (n,), m."""
    marks = np.unique(np.concatenate([[0.0, spar.y_end], spar.x.y, spar.z_upper.y, spar.z_lower.y, y]))
    x, z = spar.x.at(marks), (spar.z_upper.at(marks) + spar.z_lower.at(marks)) / 2
    steps = np.sqrt(np.diff(x) ** 2 + np.diff(marks) ** 2 + np.diff(z) ** 2)
    return np.interp(y, marks, np.concatenate([[0.0], np.cumsum(steps)]))


def stations(wing: Wing, spar: Spar) -> tuple[RibMark, ...]:
    """Ribs along a spar, from the centre outward."""
    found = []
    for number, rib in enumerate(wing.ribs, 1):
        if rib.y > spar.y_end + _TOUCH:
            break
        half = rib.thickness / 2
        y = np.clip([rib.y - half, rib.y, rib.y + half], 0.0, max(spar.y_end, rib.y))
        inner, middle, outer = length_along(spar, y)
        a, b = max(rib.y - 1e-3, 0.0), min(rib.y + 1e-3, spar.y_end)
        sweep = float(np.arctan2(spar.x.at(b) - spar.x.at(a), b - a))
        width = float(spar.upper.width.at(rib.y))
        found.append(RibMark(number, float(middle), (float(inner), float(outer)), sweep, width))
    return tuple(found)


def stations_drawing(wing: Wing) -> Drawing:
    """Strips of all spars under one another, seen from above, outboard to the right, front up.

    One side; for port it is turned over.
    """
    items: list[Item] = []
    up, wide = 0.0, 0.0
    for spar in reversed(wing.spars):
        own, width, height = _strip(wing, spar)
        items += moved(own, 0.0, up)
        up, wide = up + height + 4.0, max(wide, width)
    side = "; starboard (turn over for port)" if wing.flies else ""
    start = "centre" if wing.flies else "clamp"
    title = (
        f"Rib stations along the spars from above, front up, {say.ruler_word()} along the spar from "
        f"the {start}{side}"
    )
    return Drawing("rib-stations", title, wide, up - 4.0, tuple(items))


def _strip(wing: Wing, spar: Spar) -> tuple[list[Item], float, float]:
    at = stations(wing, spar)
    # Just outboard of a step as well as inboard of it: `Line.at` gives the inboard value.
    beside = spar.upper.width.y + 1e-7
    y = np.unique(np.concatenate([[0.0], spar.x.y, spar.upper.width.y, beside, [spar.y_end]]))
    y = y[y <= spar.y_end]
    s = 1e3 * length_along(spar, y)
    half = 1e3 * spar.upper.width.at(y) / 2
    middle = _ROW + _CLOSE + float(half.max())
    upper, lower = np.stack([s, middle + half], 1), np.stack([s, middle - half], 1)
    items: list[Item] = [
        Path(tuple((float(a), float(b)) for a, b in (*upper, *lower[::-1])), "MARK", True, name=spar.name),
        line((0.0, middle), (float(s[-1]), middle), layer="CENTRE"),
        Text((0.0, middle + half.max() + 8.2), f"{spar_words(spar.name)}, upper cap", 3.0),
    ]
    taken, down = -1e9, 0.0
    for station in at:
        reach = 500 * station.width / np.cos(station.sweep)
        lean = reach * np.sin(station.sweep), reach * np.cos(station.sweep)
        for face in station.faces:
            ends = (1e3 * face - lean[0], middle + lean[1]), (1e3 * face + lean[0], middle - lean[1])
            items.append(line(*ends, layer="CUT", name=f"rib {station.number}"))
        x, foot = 1e3 * station.along, middle - float(half.max())
        words = (f"rib {station.number}", say.ruler.bare(station.along, ".2f"))
        wide = max(text_width(w, _SIZE) for w in words) + 1.0
        # Where ribs are close, every other one has its words further down.
        drop = _CLOSE if x - wide / 2 < taken and down == 0.0 else 0.0
        taken, down = x + wide / 2, drop
        items.append(line((x, foot - 0.8), (x, foot - 2.4 - drop), layer="MARK"))
        items.append(Text((x, foot - 5.0 - drop), words[0], _SIZE, "middle"))
        items.append(Text((x, foot - 8.4 - drop), words[1], _SIZE, "middle"))
    for inner, outer in itertools.pairwise(at):
        middle_x = 500 * (inner.along + outer.along)
        # Of a specimen bay 1 lies between the clamp and the first rib.
        bay = f"bay {inner.number + wing.clamped}"
        if text_width(bay, _SIZE) < 900 * (outer.along - inner.along):
            items.append(
                Text((middle_x, middle + float(half.max()) + 1.5), bay, _SIZE, "middle", layer="SMALL")
            )
    boxes = [bounds(item) for item in items if isinstance(item, Text)]
    start, end = min(0.0, *(box[0] for box in boxes)), max(float(s[-1]), *(box[2] for box in boxes))
    return list(moved(items, -start, 0.0)), end - start, middle + float(half.max()) + 12.0
