"""Stress of the webs between the caps, turned to the span, and the panels that they make between two ribs.

The strips that lap the caps are not webs here: they go with the caps. Where a web ends, or the next bay
carries another, its shear flow climbs within about a clear height of the rib. There the model is at its
worst: an edge that is not glued to the rib bears no shear at all, and what the climb is worth depends on the
rib's foot. So a web is judged by its shear half a clear height away from its end, as the mean over one clear
height; timber design likewise takes a beam's shear a depth away from its support (National Design
Specification for Wood Construction, 3.4.3.1, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from models.analysis import Analysis
from models.woods.off_axis import to_grain


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
        tau_yz averaged over one clear height along the span, the worst such stretch that starts or ends
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
    upright : (n,) float array
        sigma_z averaged like the shear, Pa: what ribs' loads and kinks of the spar press and pull between the
        caps.
    panel_upright : (n_panels,) float array
        Mean sigma_z, Pa.
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
    upright: Array
    panel_upright: Array


@dataclass(frozen=True, eq=False)
class WebsAsBuilt:
    """What of `WebStress` does not hang on the load, the first end of the elements, m, lengths of panels, m,
    within the feet of ribs besides, and which panels cross the centre line."""

    grain: Array
    length: Array
    y: Array
    panel: Ints
    first: Ints
    panel_length: Array
    panel_clear: Array
    left: Array
    total: Array
    feet: Array
    across: NDArray[np.bool_]


def webs_as_built(analysis: Analysis) -> WebsAsBuilt:
    """What of the stress of all webs does not hang on their load."""
    model = analysis.model
    webs = model.webs
    left, right = model.y[webs.span], model.y[webs.span + 1]
    y, length = (left + right) / 2, right - left
    grain = np.where(y >= 0, webs.grain, np.pi - webs.grain)
    parts = model.structure.blocks["webs"].part
    assert parts is not None
    table = np.stack([parts.astype(float), webs.thickness, webs.material.astype(float), webs.grain], axis=1)
    _, first, panel = np.unique(table, axis=0, return_index=True, return_inverse=True)
    panel = panel.ravel()
    total = np.asarray(np.bincount(panel, length), dtype=np.float64)
    feet = within_ribs(analysis, panel_ends(panel, left, right, len(first)))
    taken = feet.sum(axis=1)
    across = (model.bay[webs.span[first]] == 0) & (model.wing.flies) & (model.wing.first_bay == 0)
    # Between ribs the panel across the centre line is twice its starboard half.
    clear_length = np.where(across, 2, 1) * (total - taken)
    clear = np.bincount(panel, webs.clear * length) / total
    return WebsAsBuilt(
        grain, length, y, panel, first, clear_length, clear, left, total, feet, np.asarray(across)
    )


def web_stress(analysis: Analysis, built: WebsAsBuilt) -> WebStress:
    """Gather the webs of an analysis, with what does not hang on its load."""
    own = analysis.recovered["webs"]["stress"]
    stress = to_grain(own[:, 0], own[:, 1], own[:, 2], -built.grain)
    length, panel, total = built.length, built.panel, built.total
    shear = np.where(
        built.across,
        np.bincount(panel, np.abs(stress[:, 2]) * length),
        np.bincount(panel, stress[:, 2] * length),
    )
    mean, upright = (
        stretch_mean(stress[:, k], built.left, length, panel, built.panel_clear, built.feet) for k in (2, 1)
    )
    return WebStress(
        built.grain,
        stress,
        mean,
        length,
        built.y,
        panel,
        built.first,
        built.panel_length,
        built.panel_clear,
        shear / total,
        upright,
        np.bincount(panel, stress[:, 1] * length) / total,
    )


def stretch_mean(
    values: Array, left: Array, length: Array, panel: Ints, stretch: Array, feet: Array
) -> Array:
    """Mean of values over stretches of given length, the greatest that start or end with an element.

    The values are means of the elements; within an element the value runs straight, with the slope of its
    neighbours, so that the mean over a stretch does not jump with the mesh.

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
    value, size = values[order], length[order]
    edge = np.concatenate([[0.0], np.cumsum(size)])
    whole = np.concatenate([[0.0], np.cumsum(value * size)])
    slope = slopes_at_middles(value, size, panel[order])

    def integral(at: Array) -> Array:
        e = np.clip(np.searchsorted(edge, at, side="right") - 1, 0, len(size) - 1)
        past = at - edge[e]
        return np.asarray(whole[e] + value[e] * past + slope[e] * past * (past - size[e]) / 2)

    total = np.bincount(panel, length)
    last = np.cumsum(total)
    low, high = (last - total + feet[:, 0])[panel], (last - feet[:, 1])[panel]
    width = np.minimum(stretch[panel], high - low)
    start, end = np.empty_like(length), np.empty_like(length)
    start[order], end[order] = edge[:-1], edge[1:]
    found = []
    for first in (start, end - width):
        at = np.clip(first, low, high - width)
        found.append((integral(at + width) - integral(at)) / width)
    return np.where(np.abs(found[0]) >= np.abs(found[1]), found[0], found[1])


def slopes_at_middles(value: Array, size: Array, panel: Ints) -> Array:
    """Slopes at the middles of elements in a row, of the parabola through them and their neighbours in the
    panel.

    At a panel's end, where the shear climbs most, the parabola is that of the last three elements.
    """
    n = len(value)
    if n == 1:
        return np.zeros(1)
    same = panel[1:] == panel[:-1]
    rise = np.where(same, 2 * np.diff(value) / (size[1:] + size[:-1]), 0.0)
    before, after = np.concatenate([[0.0], rise]), np.concatenate([rise, [0.0]])
    has_before, has_after = np.concatenate([[False], same]), np.concatenate([same, [False]])
    slope = np.where(has_before & has_after, (before + after) / 2, before + after)
    last, first = has_before & ~has_after, has_after & ~has_before
    two_back = np.concatenate([[False], has_before[:-1]]) & last
    two_ahead = np.concatenate([has_after[1:], [False]]) & first
    slope[two_back] += (before - np.concatenate([[0.0], before[:-1]]))[two_back] / 2
    slope[two_ahead] += (after - np.concatenate([after[1:], [0.0]]))[two_ahead] / 2
    return np.asarray(slope)


def panel_ends(panel: Ints, left: Array, right: Array, n: int) -> Array:
    """Least and greatest y of every panel.

    Parameters
    ----------
    panel : (n_elements,) int array
        Which panel each element belongs to.
    left, right : (n_elements,) float array
        Ends of the elements, m.
    n : int
        How many panels.

    Returns
    -------
    (n, 2) float array
    """
    ends = np.stack([np.full(n, np.inf), np.full(n, -np.inf)], axis=1)
    np.minimum.at(ends[:, 0], panel, left)
    np.maximum.at(ends[:, 1], panel, right)
    return ends


def within_ribs(analysis: Analysis, ends: Array) -> Array:
    """Length of the panels that lies within the thickness of the rib at either end, (n_panels, 2), m."""
    wing = analysis.model.wing
    at = np.array([r.y for r in wing.ribs])
    half = np.array([max(r.thickness, r.post_thickness) / 2 for r in wing.ribs])
    if not len(at):
        return np.zeros_like(ends)
    apart = np.abs(np.abs(ends)[:, :, None] - at)
    return np.asarray(np.where(apart < half, half - apart, 0.0).max(axis=2))
