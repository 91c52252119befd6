"""Where along the span the mesh has its stations: at ribs, ends of spars and braces, rails, and evenly
between."""

from __future__ import annotations

import itertools

import numpy as np

from fea.arrays import Array, Ints
from models.wing.parts import Wing

_GRADE = 0.5
"""Between even (0) and cosine (1) spacing within a bay: what begins or ends at a rib changes fastest
there."""


def stations(wing: Wing, per_bay: int, whole: bool) -> tuple[Array, Ints]:
    """Span stations of the mesh, (n_stations,), m, port negative and first where the whole wing is meant,
    and the bay number of each span between, (n_stations - 1,); `per_bay` elements along a bay, more where
    something ends inside it."""
    edges = wing.bay_edges
    ends = (
        [spar.y_end for spar in wing.spars]
        + [brace.y_end for brace in wing.braces]
        + [r.y for r in wing.rails]
    )
    ends += [rib.y for rib in wing.ribs]
    for spar in wing.spars:
        for cap in (spar.upper, spar.lower):
            for line in (cap.width, *(layer.height for layer in cap.layers)):
                ends += [float(a) for a, b in zip(line.y[:-1], line.y[1:]) if a == b]
    bounds = [float(e) for e in edges]
    if wing.semispan - bounds[-1] > 1e-9:
        bounds.append(wing.semispan)
    smallest = 0.02 * float(np.diff(edges).min())
    marks = sorted({*bounds, *(e for e in ends if all(abs(e - b) > min(smallest, 4e-4) for b in bounds))})
    marks = [m for m in marks if bounds[0] - 1e-12 <= m <= wing.semispan + 1e-12]
    y, bay = [marks[0]], []
    for left, right in itertools.pairwise(marks):
        which = int(np.clip(np.searchsorted(edges, (left + right) / 2) - 1, 0, len(edges) - 2))
        step = (edges[which + 1] - edges[which]) / per_bay
        pieces = max(1, int(np.ceil((right - left) / step - 1e-6)))
        # A stub at a rib or a tip is short already and gains nothing from being cut.
        pieces = 1 if right - left < 0.1 * step else pieces
        even = np.linspace(0.0, 1.0, pieces + 1)[1:]
        graded = (1 - _GRADE) * even + _GRADE * (1 - np.cos(np.pi * even)) / 2
        y += list(left + (right - left) * graded)
        bay += [which + wing.first_bay] * pieces
    stations_y, bays = np.array(y), np.array(bay, dtype=np.intp)
    if whole and wing.flies:
        return np.concatenate([-stations_y[:0:-1], stations_y]), np.concatenate([bays[::-1], bays])
    return stations_y, bays


def nearest(y: Array, at: float) -> int:
    """The mesh station nearest to a spanwise position."""
    return int(np.argmin(np.abs(y - at)))
