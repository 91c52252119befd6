"""Stress of the webs between the caps, turned to the span, and the panels that they make between two ribs.

The strips that lap the caps are not webs here: they go with the caps. Where a web ends, or the next bay
carries another, its shear flow climbs within about a clear height of the rib. There the model is at its
worst: an edge that is not glued to the rib bears no shear at all, and what the climb is worth depends on the
rib's foot. So a web is judged by its shear one clear height away from its end, as the mean over two clear
heights; timber design likewise takes a beam's shear a depth away from its support (National Design
Specification for Wood Construction, 3.4.3.1, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis
from models.woods.off_axis import to_grain

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class WebStress:
    """Webs' stresses, one row an element, and their panels.

    Parameters
    ----------
    grain : (n,) float array
        Angle from y (to starboard) to the grain, towards z, rad.
    stress : (n, 3) float array
        sigma_y, sigma_z, tau_yz of the element's middle, Pa.
    shear : (n,) float array
        tau_yz averaged over two clear heights along the span, the worst such stretch that starts or ends
        with the element, Pa.
    length : (n,) float array
        Of the element along the span, m.
    y : (n,) float array
        Middle of the element, m.
    panel : (n,) int array
        Which panel each belongs to: one spar, face, bay, side, thickness and wood.
    first : (n_panels,) int array
        An element of each panel.
    panel_length, panel_clear : (n_panels,) float array
        Clear length between ribs and mean clear height between caps, m.
    panel_shear : (n_panels,) float array
        Mean tau_yz, Pa.
    """

    grain: Array
    stress: Array
    shear: Array
    length: Array
    y: Array
    panel: Ints
    first: Ints
    panel_length: Array
    panel_clear: Array
    panel_shear: Array


def web_stress(analysis: Analysis) -> WebStress | None:
    """Gather the webs of an analysis; None where it has none."""
    model = analysis.model
    webs = model.webs
    if not len(webs.span):
        return None
    left, right = model.y[webs.span], model.y[webs.span + 1]
    y, length = (left + right) / 2, right - left
    grain = np.where(y >= 0, webs.grain, np.pi - webs.grain)
    own = analysis.recovered["webs"]["stress"]
    stress = to_grain(own[:, 0], own[:, 1], own[:, 2], -grain)
    parts = model.structure.blocks["webs"].part
    assert parts is not None
    table = np.stack([parts.astype(float), webs.thickness, webs.material.astype(float), webs.grain], axis=1)
    _, first, panel = np.unique(table, axis=0, return_index=True, return_inverse=True)
    panel = panel.ravel()
    total = np.bincount(panel, length)
    feet = _within_ribs(analysis, _panel_ends(panel, left, right, len(first)))
    taken = feet.sum(axis=1)
    across = (
        (model.bay[webs.span[first]] == 0) & (model.wing.root == "symmetry") & (model.wing.first_bay == 0)
    )
    # Between ribs the panel across the centre line is twice its starboard half.
    clear_length = np.where(across, 2, 1) * (total - taken)
    clear = np.bincount(panel, webs.clear * length) / total
    shear = np.where(
        across, np.bincount(panel, np.abs(stress[:, 2]) * length), np.bincount(panel, stress[:, 2] * length)
    )
    mean = stretch_mean(stress[:, 2], left, length, panel, 2 * clear, feet)
    return WebStress(grain, stress, mean, length, y, panel, first, clear_length, clear, shear / total)


def stretch_mean(
    values: Array, left: Array, length: Array, panel: Ints, stretch: Array, feet: Array
) -> Array:
    """Mean of piecewise constant values over stretches of given length, the greatest that start or end with
    an element.

    Parameters
    ----------
    values, left, length : (n,) float array
        Value, first end (m) and length (m) of each element.
    panel : (n,) int array
        Which panel each belongs to; those of one panel adjoin.
    stretch : (n_panels,) float array
        Length to average over, m; the whole panel where it is shorter.
    feet : (n_panels, 2) float array
        Length left out at both ends, m.

    Returns
    -------
    (n,) float array
        With its sign, in the unit of the values.
    """
    order = np.lexsort((left, panel))
    edge = np.concatenate([[0.0], np.cumsum(length[order])])
    whole = np.concatenate([[0.0], np.cumsum((values * length)[order])])
    total = np.bincount(panel, length)
    last = np.cumsum(total)
    low, high = (last - total + feet[:, 0])[panel], (last - feet[:, 1])[panel]
    width = np.minimum(stretch[panel], high - low)
    start, end = np.empty_like(length), np.empty_like(length)
    start[order], end[order] = edge[:-1], edge[1:]
    found = []
    for first in (start, end - width):
        at = np.clip(first, low, high - width)
        found.append((np.interp(at + width, edge, whole) - np.interp(at, edge, whole)) / width)
    return np.where(np.abs(found[0]) >= np.abs(found[1]), found[0], found[1])


def _panel_ends(panel: Ints, left: Array, right: Array, n: int) -> Array:
    """Least and greatest y of every panel, (n, 2)."""
    ends = np.stack([np.full(n, np.inf), np.full(n, -np.inf)], axis=1)
    np.minimum.at(ends[:, 0], panel, left)
    np.maximum.at(ends[:, 1], panel, right)
    return ends


def _within_ribs(analysis: Analysis, ends: Array) -> Array:
    """Length of the panels that lies within the thickness of the rib at either end, (n_panels, 2), m."""
    wing = analysis.model.wing
    at = np.array([r.y for r in wing.ribs])
    half = np.array([max(r.thickness, r.post_thickness) / 2 for r in wing.ribs])
    if not len(at):
        return np.zeros_like(ends)
    apart = np.abs(np.abs(ends)[:, :, None] - at)
    return np.asarray(np.where(apart < half, half - apart, 0.0).max(axis=2))
