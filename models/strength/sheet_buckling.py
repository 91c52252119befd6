"""Sheeting buckling between ribs, spars and edges: wrinkles of compression, shear, and both.

Panels are flat orthotropic plates, simply supported all round, under their mean stress; the camber of the
surface, which helps, is not counted. A wrinkle does not end the flight: the sheet goes on carrying along its
edges (von Karman's effective width), and hands the rest to the caps.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array
from models.strength.finding import Finding, ratio, reserve_of
from models.strength.mode import BUCKLES, Mode, Remains, buckled
from models.strength.sheet_stress import sheet_net, sheet_stress
from models.strength.solved import Solved
from models.strength.web_buckling import critical_flows
from models.strength.web_buckling_combined import used
from models.woods.off_axis import stiffness

_WAVES = np.arange(1, 200)


def compression_flow(length: Array, width: Array, rigidity: Array) -> Array:
    """Compression per width, along the length, that buckles simply supported plates (n,): (pi^2/b^2)
    least over m of D1 (m b/a)^2 + 2 D3 + D2 (a/(m b))^2, N/m; a along and b across the load, m; D (n, 3,
    3) with x along the load, N m, coupling of bending and twist left out.

    References
    ----------
    Lekhnitskii, Anisotropic Plates, 1968 (from memory).
    """
    d1, d2 = rigidity[:, 0, 0, None], rigidity[:, 1, 1, None]
    d3 = rigidity[:, 0, 1] + 2 * rigidity[:, 2, 2]
    wave = (_WAVES[None] * (width / length)[:, None]) ** 2
    least = (d1 * wave + d2 / wave).min(axis=1)
    return np.asarray(np.pi**2 / width**2 * (least + 2 * d3))


@dataclass(frozen=True, eq=False)
class PanelLimits:
    """Stress that buckles each panel of sheeting by itself, (n_panels,), Pa: compression along the span, and
    shear of either sign."""

    straight: Array
    up: Array
    down: Array


def findings(at: Solved) -> list[Finding]:
    """All panels of sheeting, in compression, in shear and in both; elements have their panel's reserve."""
    sheets, limits = at.the(sheet_stress), at.of_build(panel_limits)
    push, shear, sheared = _acting(sheets.mean[:, 0], sheets.mean[:, 2], limits)
    both = reserve_of(pressed(sheets.mean[:, 0], sheets.mean[:, 2], limits))
    panel = sheets.panel
    y = (np.bincount(panel, sheets.y) / np.bincount(panel))[panel]
    return [
        mode.found(np.isfinite(factor[panel]) & (applied[panel] > 0), factor[panel], applied[panel], y)
        for mode, factor, applied in (
            (MODE, ratio(limits.straight, push), push),
            (MODE_SHEAR, ratio(sheared, shear), shear),
            (MODE_BOTH, both, np.hypot(push, shear)),
        )
    ]


def pressed(along: Array, shear: Array, limits: PanelLimits) -> Array:
    """Share of what buckles each panel that acts on it: 1 over the multiple of the load at which it bows.

    Parameters
    ----------
    along, shear : (n_panels, ...) float array
        Mean stress along the span, tension positive, and in shear, Pa.
    limits : PanelLimits
        What each bears.

    Returns
    -------
    (n_panels, ...) float array
        Grows in proportion to the stresses.
    """
    push, shear, sheared = _acting(along, shear, limits)
    straight = limits.straight.reshape(-1, *([1] * (push.ndim - 1)))
    return used(shear / sheared, push / straight, np.zeros(push.shape))


def _acting(along: Array, shear: Array, limits: PanelLimits) -> tuple[Array, Array, Array]:
    """What presses each panel, what shears it, and the shear of that sign which buckles it."""
    up, down = (one.reshape(-1, *([1] * (shear.ndim - 1))) for one in (limits.up, limits.down))
    return np.maximum(-along, 0.0), np.abs(shear), np.where(shear > 0, up, down)


def panel_limits(at: Solved) -> PanelLimits:
    """Of a structure's panels of sheeting, as `sheet_net` numbers them."""
    net, thick = at.of_build(sheet_net), at.model.sheets.thickness
    first = net.first
    thickness = thick[first]
    woods = [net.materials[e].in_bending() for e in first]
    grain = net.grain[first]
    made = {key: stiffness(*key) for key in set(zip(woods, grain.tolist()))}
    rigidity = np.stack([made[key] for key in zip(woods, grain.tolist())])
    rigidity = rigidity * (thickness**3 / 12)[:, None, None]
    straight = compression_flow(net.length, net.width, rigidity) / thickness
    up, down = critical_flows(net.length, net.width, thickness, woods, grain)
    return PanelLimits(straight, up / thickness, down / thickness)


REASON = (
    "wrinkled sheeting still carries along its edges (von Karman's effective width [from memory]) and its "
    "camber, not "
    "counted, delays the wrinkle"
)
BOWS = Remains(
    1.0,
    1.0,
    "its effective width",
    "sheeting that bows goes on carrying along its edges, the share sqrt(s_cr/s) of what it would: von "
    "Karman [from memory]",
)
"""By what presses it, as `models.studies.collapse` works out; it comes back flat."""

MODE = Mode(
    name="sheeting wrinkling",
    words="wrinkles",
    source=(
        "simply supported orthotropic plate in compression, least over half waves: Lekhnitskii, Anisotropic "
        "Plates, "
        "1968; ANC-18 [both from memory]; curvature not counted"
    ),
    block="sheeting",
    find=findings,
    ends_flight=False,
    reason=REASON,
    joins=(),
    scatter=BUCKLES,
    proof=buckled,
    remains=BOWS,
    many=None,
)

MODE_SHEAR = replace(
    MODE,
    name="sheeting shear buckling",
    words="buckles in shear",
    source="simply supported orthotropic plate in shear, Seydel 1933 [from memory]; curvature not counted",
)

MODE_BOTH = replace(
    MODE,
    name="sheeting buckling, shear and compression",
    words="buckles in shear and compression",
    source="R_s^2 + R_c = 1: ANC-18 [from memory]; curvature not counted",
    joins=(MODE, MODE_SHEAR),
)
