"""Sheeting buckling between ribs, spars and edges: wrinkles of compression, shear, and both.

Panels are flat orthotropic plates, simply supported all round, under their mean stress; the camber of the
surface, which helps, is not counted. A wrinkle does not end the flight: the sheet goes on carrying along its
edges (von Karman's effective width), and hands the rest to the caps.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis
from models.strength.finding import Finding, ratio
from models.strength.sheet_stress import SheetStress
from models.strength.web_buckling import critical_flow
from models.strength.web_buckling_combined import combined
from models.woods.off_axis import stiffness

Array = NDArray[np.float64]

MODE = "sheeting wrinkling"
MODE_SHEAR = "sheeting shear buckling"
MODE_BOTH = "sheeting buckling, shear and compression"
SOURCE = (
    "simply supported orthotropic plate in compression, least over half waves: Lekhnitskii, Anisotropic "
    "Plates, "
    "1968; ANC-18 [both from memory]; curvature not counted"
)
SOURCE_SHEAR = "simply supported orthotropic plate in shear, Seydel 1933 [from memory]; curvature not counted"
SOURCE_BOTH = "R_s^2 + R_c = 1: ANC-18 [from memory]; curvature not counted"
REASON = (
    "wrinkled sheeting still carries along its edges (von Karman's effective width [from memory]) and its "
    "camber, not "
    "counted, delays the wrinkle"
)
_WAVES = np.arange(1, 61)


def compression_flow(length: Array, width: Array, rigidity: Array) -> Array:
    """Compression per width, along the length, that buckles simply supported plates.

    Parameters
    ----------
    length, width : (n,) float array
        Along and across the load, m.
    rigidity : (n, 3, 3) float array
        D, x along the load, N m; coupling of bending and twist is left out.

    Returns
    -------
    (n,) float array
        (pi^2/b^2) least over m of D1 (m b/a)^2 + 2 D3 + D2 (a/(m b))^2, N/m.

    References
    ----------
    Lekhnitskii, Anisotropic Plates, 1968 (from memory).
    """
    d1, d2 = rigidity[:, 0, 0, None], rigidity[:, 1, 1, None]
    d3 = rigidity[:, 0, 1] + 2 * rigidity[:, 2, 2]
    wave = (_WAVES[None] * (width / length)[:, None]) ** 2
    least = (d1 * wave + d2 / wave).min(axis=1)
    return np.asarray(np.pi**2 / width**2 * (least + 2 * d3))


def findings(analysis: Analysis, sheets: SheetStress) -> list[Finding]:
    """All panels of sheeting, in compression, in shear and in both; elements have their panel's reserve."""
    first = sheets.first
    thickness = sheets.thickness[first]
    woods = [sheets.materials[e].in_bending() for e in first]
    grain = sheets.grain[first]
    made = {key: stiffness(*key) for key in set(zip(woods, grain.tolist()))}
    rigidity = np.stack([made[key] for key in zip(woods, grain.tolist())])
    rigidity = rigidity * (thickness**3 / 12)[:, None, None]
    push, shear = np.maximum(-sheets.mean[:, 0], 0.0), np.abs(sheets.mean[:, 2])
    straight = compression_flow(sheets.length, sheets.width, rigidity) / thickness
    flow = critical_flow(sheets.length, sheets.width, thickness, woods, grain, sheets.mean[:, 2] > 0)
    sheared = flow / thickness
    out = []
    both = combined(shear / sheared, push / straight, np.zeros(len(push)))
    for mode, factor, applied, source in (
        (MODE, ratio(straight, push), push, SOURCE),
        (MODE_SHEAR, ratio(sheared, shear), shear, SOURCE_SHEAR),
        (MODE_BOTH, both, np.hypot(push, shear), SOURCE_BOTH),
    ):
        there = np.flatnonzero(np.isfinite(factor[sheets.panel]) & (applied[sheets.panel] > 0))
        at = sheets.panel[there]
        y = np.bincount(sheets.panel, sheets.y) / np.bincount(sheets.panel)
        out.append(
            Finding(
                mode,
                "sheeting",
                there,
                factor[at],
                applied[at],
                applied[at] * factor[at],
                "Pa",
                y[at],
                source,
                REASON,
            )
        )
    return out
