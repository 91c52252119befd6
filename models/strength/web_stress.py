"""Stress of the webs between the caps, turned to the span, and the panels that they make between two ribs.

The strips that lap the caps are not webs here: they go with the caps.
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
    ends = _panel_ends(panel, left, right, len(first))
    taken = _within_ribs(analysis, ends)
    across = (model.bay[webs.span[first]] == 0) & (model.wing.root == "symmetry") & (model.wing.first_bay == 0)
    # Between ribs the panel across the centre line is twice its starboard half.
    clear_length = np.where(across, 2 * total, total) - np.where(across, 2, 1) * taken
    clear = np.bincount(panel, webs.clear * length) / total
    shear = np.where(across, np.bincount(panel, np.abs(stress[:, 2]) * length), np.bincount(panel, stress[:, 2] * length))
    return WebStress(grain, stress, length, y, panel, first, clear_length, clear, shear / total)


def _panel_ends(panel: Ints, left: Array, right: Array, n: int) -> Array:
    """Least and greatest y of every panel, (n, 2)."""
    ends = np.stack([np.full(n, np.inf), np.full(n, -np.inf)], axis=1)
    np.minimum.at(ends[:, 0], panel, left)
    np.maximum.at(ends[:, 1], panel, right)
    return ends


def _within_ribs(analysis: Analysis, ends: Array) -> Array:
    """Length of the panels that lies within the thickness of the ribs at their ends, m."""
    wing = analysis.model.wing
    at = np.array([r.y for r in wing.ribs])
    half = np.array([max(r.thickness, r.post_thickness) / 2 for r in wing.ribs])
    if not len(at):
        return np.zeros(len(ends))
    apart = np.abs(np.abs(ends)[:, :, None] - at)
    return np.asarray(np.where(apart < half, half - apart, 0.0).max(axis=2).sum(axis=1))
