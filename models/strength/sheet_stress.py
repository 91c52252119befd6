"""Stresses of the sheeting turned to the span, and the panels between spars, edges and ribs that it makes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array, Ints
from models.analysis import Analysis
from models.strength.solved import Solved
from models.woods.off_axis import to_grain
from models.woods.wood import Material

FOLDS = "folds"
"""Name of what is recovered of sheeting that bows in shear: tension along the span and the chord that its
folds add, (n_elements,), Pa; absent where none has bowed."""


@dataclass(frozen=True, eq=False)
class SheetStress:
    """One row an element of the sheeting; plate axes are the span (y) and forward.

    Parameters
    ----------
    stress : (n, 2, 3) float array
        In grain axes, averaged along the span over the bay at the fore and the aft edge of each strip of the
        chord, Pa: a sheet beside a cap stretches with it, however narrow the strips are.
    strip : (n,) int array
        Which strip of the chord over a bay each belongs to.
    size : (n,) float array
        Length of the element along the span, m.
    grain : (n,) float array
        From the span to the grain, towards forward, rad.
    y : (n,) float array
        Middle of the element, m.
    panel : (n,) int array
        Which panel each belongs to: one sheet between two spars or edges, in one bay of one side.
    first : (n_panels,) int array
        An element of each panel.
    length, width : (n_panels,) float array
        Clear length between ribs and width along the chord, m.
    mean : (n_panels, 3) float array
        Mean sigma along the span, along the chord, and shear, Pa.
    materials : tuple of Material
        Of each element.
    thickness : (n,) float array
        m.
    """

    stress: Array
    strip: Ints
    size: Array
    grain: Array
    y: Array
    panel: Ints
    first: Ints
    length: Array
    width: Array
    mean: Array
    materials: tuple[Material, ...]
    thickness: Array


@dataclass(frozen=True, eq=False)
class SheetNet:
    """What of `SheetStress` does not hang on the load.

    Parameters
    ----------
    within : (n,) int array
        Strip of the chord, within a bay, that each element belongs to.
    size, grain, y, panel, first, length, width, materials
        As in `SheetStress`.
    area : (n,) float array
        m2.
    total : (n_panels,) float array
        Area of each panel, m2.
    along : (n_strips,) float array
        Length of each strip, m.
    """

    within: Ints
    size: Array
    grain: Array
    y: Array
    panel: Ints
    first: Ints
    length: Array
    width: Array
    materials: tuple[Material, ...]
    area: Array
    total: Array
    along: Array


def sheet_net(at: Solved) -> SheetNet:
    """The panels that the sheeting of a structure makes, where there is any."""
    analysis, model = at.analysis, at.model
    sheets, wing = model.sheets, model.wing
    corners = model.structure.true_corners(model.structure.blocks["sheeting"])
    middle = corners.mean(axis=1)
    y, x = middle[:, 1], middle[:, 0]
    size = corners[:, 3, 1] - corners[:, 0, 1]
    wide = (corners[:, 1, 0] - corners[:, 0, 0] + corners[:, 2, 0] - corners[:, 3, 0]) / 2
    own = np.array([s.grain for s in wing.sheets])[sheets.sheet]
    grain = np.arctan2(-np.sin(own), np.where(y >= 0, np.cos(own), -np.cos(own)))
    # A strip of the net runs along the span; the next begins where the span goes back.
    fresh = (np.diff(sheets.sheet, prepend=-1) != 0) | (np.diff(sheets.span, prepend=10**9) <= 0)
    strip = np.cumsum(fresh) - 1
    place = np.sum([s.x.at(np.abs(y)) < x for s in {s.name: s for s in wing.spars}.values()], axis=0)
    bay = 2 * model.bay[sheets.span] + (y > 0)
    # One number for each kind: rows would be sorted many times as slowly.
    within = np.unique(strip * (bay.max() + 1) + bay, return_inverse=True)[1]
    parts = model.structure.blocks["sheeting"].part
    assert parts is not None
    key = (sheets.sheet * (place.max() + 1) + place) * (parts.max() + 1) + parts
    _, first, panel = np.unique(key, return_index=True, return_inverse=True)
    area = size * wide
    total = np.asarray(np.bincount(panel, area), dtype=np.float64)
    long = np.bincount(panel, size)
    strips = np.bincount(np.unique(panel * len(strip) + strip) // len(strip))
    length = long / strips
    across = (model.bay[sheets.span[first]] == 0) & (wing.flies) & (wing.first_bay == 0)
    return SheetNet(
        within,
        size,
        grain,
        y,
        panel,
        first,
        np.where(across & model.half, 2, 1) * length - _ribs(analysis),
        total / length,
        tuple(wing.sheets[k].material for k in sheets.sheet),
        area,
        total,
        np.asarray(np.bincount(within, size), dtype=np.float64),
    )


def sheet_stress(at: Solved) -> SheetStress:
    """Gather the sheeting, where there is any."""
    net = at.of_build(sheet_net)
    recovered = at.analysis.recovered["sheeting"]["stress"]
    slope = at.analysis.recovered["sheeting"]["slope"]
    at_edges = np.concatenate([recovered - slope, recovered + slope], axis=1)
    mean = np.stack(
        [np.bincount(net.within, value * net.size) / net.along for value in at_edges.T], axis=1
    ).reshape(-1, 2, 3)
    turned = to_grain(recovered[:, 0], recovered[:, 1], recovered[:, 2], -net.grain)
    of_panel = np.stack(
        [np.bincount(net.panel, turned[:, k] * net.area) / net.total for k in range(3)], axis=1
    )
    return SheetStress(
        mean[net.within],
        net.within,
        net.size,
        net.grain,
        net.y,
        net.panel,
        net.first,
        net.length,
        net.width,
        of_panel,
        net.materials,
        at.model.sheets.thickness,
    )


def _ribs(analysis: Analysis) -> float:
    """Thickness of the ribs that bound the panels, m: the least of the wing's, the cautious side."""
    return min((rib.thickness for rib in analysis.wing.ribs), default=0.0)
