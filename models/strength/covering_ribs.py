"""The rib at the end of the covering, pulled sideways by film on one side alone.

Between two spars, or a spar and an edge, it is a simply supported strip of its own depth and thickness under
the film's pull of both surfaces, bent about the upright: p l^2/8 over h t^2/6 (textbook). Ribs with film on
both sides are pulled by the difference.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from fea.arrays import Array, Ints
from fea.elements.membrane import element_axes
from models.analysis import Analysis
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Mode, Rule, torn
from models.strength.solved import Solved
from models.wing.parts import Rib

_ONE_SIDED = 0.05
"""Share of the film's tension below which a rib is taken as pulled alike from both sides: the two bays of a
tapered wing differ by as much (own choice, no source)."""


@dataclass(frozen=True, eq=False)
class SidePull:
    """Pull of the film on ribs, a row for every piece of a rib between spars and edges.

    Parameters
    ----------
    station : (n,) int array
        Mesh station.
    start, change : (n,) float array
        Sideways pull of both surfaces a length of the chord, of the pretension and of what the load adds,
        positive inward, N/m.
    length, depth : (n,) float array
        Along the chord, and mean height, m.
    elements : tuple of (n_elements,) int array
        Of the block "ribs".
    ribs : tuple of Rib
        Whose they are.
    """

    station: Ints
    start: Array
    change: Array
    length: Array
    depth: Array
    elements: tuple[Ints, ...]
    ribs: tuple[Rib, ...]

    def stress_per_pull(self) -> Array:
        """Bending stress by the pull of a length, of a strip between spars and edges, (n,), 1/m."""
        thick = np.array([rib.thickness for rib in self.ribs])
        return np.asarray(self.length**2 / 8 / (self.depth * thick**2 / 6))


class _Piece(NamedTuple):
    """One piece of a rib, with the figures of `SidePull`."""

    station: int
    start: float
    change: float
    length: float
    depth: float
    elements: Ints
    rib: Rib


def side_pull(analysis: Analysis) -> SidePull | None:
    """Of an analysis of a covered wing; None where no rib is pulled to one side."""
    model = analysis.model
    films, block = model.films, model.structure.blocks.get("ribs")
    if films is None or block is None:
        return None
    film = model.structure.blocks["covering"]
    corners, panels = model.structure.true_corners(film), model.structure.true_corners(block)
    wide, added, along = _pulls(analysis, corners)
    middle, where = corners[:, :, 0].mean(axis=1), panels.mean(axis=1)
    rows: list[_Piece] = []
    for j in np.unique(model.rib_station):
        y = float(model.y[j])
        if model.half and abs(y) < 1e-9:
            continue  # the mirrored film pulls the other way
        rib = min(model.wing.ribs, key=lambda one: abs(one.y - abs(y)))
        of_rib = np.flatnonzero(np.abs(where[:, 1] - y) < 1e-9)
        marks = sorted(float(s.x.at(abs(y))) for s in model.wing.spars if s.y_end > abs(y) - 1e-9)
        gap = np.searchsorted(marks, where[of_rib, 0])
        sign = np.where(films.span < j, 1.0, -1.0) * np.where((films.span == j - 1) | (films.span == j), 1, 0)
        for k in np.unique(gap):
            mine = of_rib[gap == k]
            beside = np.flatnonzero((sign != 0) & (np.searchsorted(marks, middle) == k))
            piece = panels[mine]
            length = float(np.ptp(piece[:, :, 0]))
            depth = float((piece[:, 2:, 2].mean(axis=1) - piece[:, :2, 2].mean(axis=1)).mean())
            # Film goes on over an edge stick, where it pulls at the stick.
            reach = float(np.ptp(corners[beside, :, 0])) if len(beside) else length
            pull = (sign * wide)[beside].sum() / reach, (sign * added)[beside].sum() / reach
            if abs(pull[0]) > _ONE_SIDED * along:
                at_rest, more = (float(np.sign(pull[0]) * p) for p in pull)
                rows.append(_Piece(int(j), at_rest, more, length, depth, mine, rib))
    if not rows:
        return None
    figures = np.array([(one.start, one.change, one.length, one.depth) for one in rows])
    elements, ribs = tuple(one.elements for one in rows), tuple(one.rib for one in rows)
    start, change, length, depth = figures.T
    station = np.array([one.station for one in rows], dtype=np.intp)
    return SidePull(station, start, change, length, depth, elements, ribs)


def _pulls(analysis: Analysis, corners: Array) -> tuple[Array, Array, float]:
    """Force of every panel of film along the span, of pretension and load, N, and the most tension, N/m."""
    films = analysis.model.films
    assert films is not None
    film = analysis.model.structure.blocks["covering"]
    span = corners[:, 3] - corners[:, 0] + corners[:, 2] - corners[:, 1]
    span /= np.linalg.norm(span, axis=1, keepdims=True)
    axes = element_axes(corners, film.grain)  # type: ignore[attr-defined]
    one, two = (np.einsum("ei,ei->e", span, axes[:, k]) for k in (0, 1))
    added = analysis.recovered["covering"]["stress"]
    normal = added[:, 0] * one**2 + added[:, 1] * two**2 + 2 * added[:, 2] * one * two
    chord = np.linalg.norm(corners[:, 1] - corners[:, 0] + corners[:, 2] - corners[:, 3], axis=1) / 2
    return films.laid[:, 0] * chord, normal * chord, float(films.laid.max())


def findings(at: Solved) -> list[Finding]:
    """All ribs that film pulls to one side."""
    found = side_pull(at.analysis)
    if found is None:
        return []
    # Bent along the chord: along its grain if that runs so, else across.
    strength = np.array(
        [
            r.material.bending if abs(np.cos(r.grain)) > np.sqrt(0.5) else r.material.tension_across
            for r in found.ribs
        ]
    )
    per_pull = found.stress_per_pull()
    left = np.maximum(strength - per_pull * found.start, 0.0)
    # What the load adds to the pull at a tip is rounding.
    grows = per_pull * np.where(found.change > 1e-9 * found.start, found.change, 0.0)
    factor = np.where(left > 0, ratio(left, grows), 0.0)
    applied = per_pull * (found.start + found.change)
    count = [len(e) for e in found.elements]
    each = (np.repeat(v, count) for v in (factor, applied, at.model.y[found.station]))
    keep, limit = np.repeat(np.isfinite(factor), count), np.repeat(strength, count)
    return [MODE.found(keep, *each, allowable=limit, element=np.concatenate(found.elements))]


MODE = Mode(
    name="rib under covering",
    words="is bent sideways by the covering",
    source="p l^2/8 over h t^2/6, a strip between spars and edges [textbook, computed from the film's pull]",
    block="ribs",
    find=findings,
    ends_flight=False,
    reason=(
        "a rib at the end of the covering bows or cracks as the covering is shrunk; a gusset or a block "
        "stops it, of which the file says nothing (common practice, no source)"
    ),
    joins=(),
    scatter=Rule("bending", size=2),
    proof=torn,
    remains=LOST,
    many=None,
)
