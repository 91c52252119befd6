"""A cap buckling as a column between ribs, sideways or in the spar's own plane, on what supports it there.

The ribs hold it at both ends of the bay, taken as hinges. Between them the webs are an elastic foundation in
the spar's plane, as stiff as they are upright: a web on one face is enough, and one with its grain along the
span is softer by the ratio of the moduli. Sideways the webs are not counted; sheeting glued on the cap holds
it by its stretch across and its shear. Short columns are crushed, slim ones buckle after Euler, and between
them the fourth-power rule applies.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.analysis import Analysis
from models.strength.cap_stress import CapStress
from models.strength.finding import Finding, ratio
from models.strength.mode import Many, Mode, Remains, Rule, pressed
from models.strength.solved import Solved
from models.strength.web_edges import cap_rows
from models.woods.off_axis import turned

_WAVES = np.arange(1, 41)


def column_force(crushing: Array, euler: Array) -> Array:
    """Force of a column, N, crushing to Euler: P_c [1 - (1/3) (2 P_c/(3 P_E))^2] down to P_E = 2/3 P_c,
    below it P_E; from the force that crushes a short piece and pi^2 E I/L^2 (infinite where it is held
    all along), (...), N.

    Notes
    -----
    The same as F_c [1 - (1/3)((L/d)/K)^4], K = pi sqrt(E/(8 F_c)), of a rectangle. The handbook counts L/d
    up to 11 as short; here the curve is kept, at most a few per cent lower there.

    References
    ----------
    Wood Handbook, 1999, chapter 8, columns (FPL fourth-power rule, from memory); Civil Engineering Formulas,
    eqs. 6.11 to 6.15 (working-stress form, looked up).
    """
    slender = 2 * crushing / (3 * euler)
    return np.asarray(np.where(slender <= 1, crushing * (1 - np.minimum(slender, 1.0) ** 2 / 3), euler))


def on_foundation(bending: Array, length: Array, rate: Array, shear: Array | float = 0.0) -> Array:
    """Force that buckles a hinged column on an elastic foundation.

    Parameters
    ----------
    bending : (n,) float array
        E I, N m2.
    length : (n,) float array
        m.
    rate : (n,) float array
        Force per length and sideways movement, N/m2.
    shear : (n,) float array or float
        Force per length and curvature of a support that resists slope (sheeting in shear), N.

    Returns
    -------
    (n,) float array
        Least over m of pi^2 E I m^2/L^2 + k L^2/(pi^2 m^2), and `shear` added; not below the first and near
        2 sqrt(k E I) for a long column; N.

    References
    ----------
    Timoshenko and Gere, Theory of Elastic Stability, 1961, art. 2.10 (from memory).
    """
    wave = (np.pi * _WAVES[None] / length[:, None]) ** 2
    long = 2 * np.sqrt(rate * bending)
    force = (bending[:, None] * wave + rate[:, None] / wave).min(axis=1)
    # Beyond the waves counted the column is as good as endless.
    many = rate / bending > wave[:, -1] ** 2
    return np.asarray(np.where(many, long, force) + shear)


def findings(at: Solved) -> list[Finding]:
    """Column buckling of the caps, bay by bay, under the bay's mean axial force."""
    model, caps = at.model, at.model.caps
    bay, push = bays_of_caps(at.analysis, at.caps)
    force = at.of_build(_bears)
    reserve = ratio(force, push[bay])
    area = caps.layer_heights.sum(axis=1) * caps.width
    y = (model.y[caps.span] + model.y[caps.span + 1]) / 2
    return [MODE.found(push[bay] > 0, reserve, push[bay] / area, y, allowable=force / area)]


def _bears(at: Solved) -> Array:
    """Force at which each cap element buckles, (n,), N."""
    analysis, stress = at.analysis, at.caps
    caps = at.model.caps
    bay, _ = bays_of_caps(analysis, stress)
    clear = clear_length(analysis, bay)[bay]
    stiff = caps.layer_modulus * caps.layer_heights * caps.width[:, None]
    middles = np.cumsum(caps.layer_heights, axis=1) - caps.layer_heights / 2 - caps.centroid[:, None]
    upright = (stiff * (middles**2 + caps.layer_heights**2 / 12)).sum(axis=1)
    sideways = stiff.sum(axis=1) * caps.width**2 / 12
    rate = np.zeros(len(bay))
    if at.has("webs"):
        for c in (0, 1):
            rate[cap_rows(analysis)[:, c]] = at.edges.stiffness
    held, sheared = _sheeting(analysis, stress)
    euler = np.minimum(on_foundation(upright, clear, rate), on_foundation(sideways, clear, held, sheared))
    return column_force(crushing_force(analysis, stress), euler)


def crushing_force(analysis: Analysis, stress: CapStress) -> Array:
    """Force that crushes each cap element, (n,), N: its layers shorten together, and the first to reach its
    crushing strain decides."""
    caps = analysis.model.caps
    axial = (caps.layer_modulus * caps.layer_heights).sum(axis=1) * caps.width
    strain = np.min(stress.compression / np.where(caps.layer_modulus > 0, caps.layer_modulus, 1.0), axis=1)
    return np.asarray(strain * axial)


def bays_of_caps(analysis: Analysis, stress: CapStress) -> tuple[NDArray[np.intp], Array]:
    """Bay of each cap element (n,), and the mean compression of each bay (n_bays,), N, not negative."""
    length = np.diff(analysis.model.y)[analysis.model.caps.span]
    parts = analysis.model.structure.blocks["caps"].part
    assert parts is not None
    _, bay = np.unique(parts, return_inverse=True)
    mean = np.bincount(bay, stress.axial_force * length) / np.bincount(bay, length)
    return bay, np.maximum(-mean, 0.0)


def clear_length(analysis: Analysis, bay: NDArray[np.intp]) -> Array:
    """Free length of the caps of every bay, rib middle to rib middle, (n_bays,), m; across the centre both
    halves count."""
    caps, wing = analysis.model.caps, analysis.model.wing
    spans = np.bincount(bay, np.diff(analysis.model.y)[caps.span])
    middle = wing.flies and wing.first_bay == 0
    across = np.zeros(len(spans), dtype=bool)
    across[bay] = middle & (analysis.model.bay[caps.span] == 0)
    return np.where(across, 2 * spans, spans)


def _sheeting(analysis: Analysis, stress: CapStress) -> tuple[Array, Array]:
    """How sheeting holds each cap sideways: E t/b (N/m2) by its stretch across and G t b/3 (N) by its shear,
    b its width to where it is held next."""
    model = analysis.model
    caps, wing = model.caps, model.wing
    rate, shear = np.zeros(len(caps.spar)), np.zeros(len(caps.spar))
    if not stress.sheeted.any():
        return rate, shear
    y = np.abs(model.y[caps.span] + model.y[caps.span + 1]) / 2
    by_name = {spar.name: spar for spar in wing.spars}
    lines = np.array([spar.x.at(y) for spar in by_name.values()])
    own = np.array([list(by_name).index(spar.name) for spar in wing.spars])
    here = lines[own[caps.spar], np.arange(len(y))]
    for sheet in wing.sheets:
        at = turned(sheet.material.in_plane(), sheet.grain)
        start, end = sheet.x_from.at(y), sheet.x_to.at(y)
        on = stress.sheeted & (caps.upper == (sheet.surface == "upper"))
        on &= (start <= here + caps.width) & (end >= here - caps.width)
        on &= np.isin(model.bay[caps.span], [b for _, b in sheet.bays])
        behind = np.where(lines > here + caps.width, lines, np.inf).min(axis=0)
        ahead = np.where(lines < here - caps.width, lines, -np.inf).max(axis=0)
        for width in (np.minimum(end, behind) - here, here - np.maximum(start, ahead)):
            there = on & (width > 2 * caps.width)
            reach = np.where(there, width, 1.0)
            rate += np.where(there, float(at.E_y) * sheet.thickness / reach, 0.0)
            shear += np.where(there, float(at.G_xy) * sheet.thickness * reach / 3, 0.0)
    return rate, shear


def least_of_bays(at: Solved, findings: list[Finding]) -> Array:
    """Least force that any element of each bay's caps bears by some findings, (n_bays,), N; infinite where
    there is none."""
    caps = at.model.caps
    bay, push = bays_of_caps(at.analysis, at.caps)
    area = caps.layer_heights.sum(axis=1) * caps.width
    least = np.full(len(push), np.inf)
    for one in findings:
        np.minimum.at(least, bay[one.element], one.allowable * area[one.element])
    return least


BOWED = Remains(
    0.3,
    0.5,
    "half its force",
    "a buckled column holds its Euler force while it bows, until its bent fibres break; half of it is a "
    "judgement, no source",
)
MODE = Mode(
    name="cap buckling",
    words="buckles",
    source=(
        "fourth-power and Euler column rule: Wood Handbook 1999, chapter 8 [from memory; its working-stress "
        "form looked up]; on a foundation: Timoshenko and Gere, 1961, art. 2.10 [from memory]"
    ),
    block="caps",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("compression", size=1, column=True),
    proof=pressed,
    remains=BOWED,
    many=Many(
        family="cap bays",
        constants=lambda at: {"column": least_of_bays(at, findings(at))},
        used=lambda of: of.push / of.table["cap bays"]["column"][:, None],
    ),
)
