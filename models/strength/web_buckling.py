"""A web buckling in shear: an orthotropic plate, simply supported by caps and ribs, under the panel's mean
shear.

The first buckle of a solid-wood web counts as its failure: the tension field that would follow pulls across
the grain. Plates with their grain along a side follow Seydel's two parameters, taken from a table of our
own; others are solved one by one (`plate_shear`). Thin-plate theory: shear through the thickness lowers
stubby webs (clear height below 13 thicknesses) by 10 % and more, where shear strength governs anyway; caps
and ribs clamp the edges, which is not counted.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.strength.finding import Finding, ratio
from models.strength.mode import BUCKLES, Layouts, Many, Mode, Remains, buckled
from models.strength.plate_shear import buckling_flow
from models.strength.solved import Solved
from models.strength.web_stress import WebStress
from models.woods.off_axis import stiffness
from models.woods.wood import SheetConstants

_TWIST = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.25, 1.5, 2.0, 3.0])
_ASPECT = np.linspace(0.0, 1.0, 21)
# fmt: off
_C = np.array(
    [
        [8.124, 8.144, 8.203, 8.284, 8.378, 8.489, 8.584, 8.824, 8.961, 8.985, 9.230,
         9.682, 10.317, 10.297, 10.241, 10.272, 10.401, 10.631, 10.966, 11.405, 11.950],
        [8.684, 8.705, 8.767, 8.848, 8.976, 9.104, 9.193, 9.491, 9.578, 9.666, 9.969,
         10.473, 11.061, 11.002, 11.010, 11.104, 11.296, 11.588, 11.982, 12.481, 13.083],
        [9.230, 9.251, 9.314, 9.402, 9.560, 9.707, 9.792, 10.144, 10.189, 10.338, 10.697,
         11.250, 11.706, 11.706, 11.775, 11.932, 12.185, 12.538, 12.993, 13.549, 14.209],
        [9.763, 9.785, 9.850, 9.946, 10.108, 10.296, 10.384, 10.773, 10.793, 11.002, 11.416,
         12.016, 12.350, 12.407, 12.537, 12.756, 13.070, 13.484, 13.997, 14.612, 15.327],
        [10.283, 10.307, 10.377, 10.482, 10.635, 10.842, 10.966, 11.317, 11.392, 11.659, 12.125,
         12.771, 12.993, 13.107, 13.297, 13.576, 13.951, 14.424, 14.996, 15.668, 16.440],
        [10.792, 10.817, 10.893, 11.007, 11.154, 11.362, 11.541, 11.858, 11.986, 12.308, 12.826,
         13.514, 13.635, 13.806, 14.055, 14.394, 14.828, 15.360, 15.990, 16.719, 17.547],
        [11.288, 11.315, 11.396, 11.523, 11.665, 11.877, 12.108, 12.393, 12.575, 12.952, 13.518,
         14.107, 14.276, 14.503, 14.810, 15.208, 15.701, 16.292, 16.979, 17.765, 18.648],
        [11.773, 11.801, 11.883, 12.022, 12.170, 12.385, 12.667, 12.925, 13.159, 13.589, 14.203,
         14.698, 14.916, 15.198, 15.563, 16.020, 16.571, 17.219, 17.964, 18.806, 19.745],
        [12.248, 12.277, 12.362, 12.502, 12.669, 12.888, 13.217, 13.453, 13.739, 14.220, 14.881,
         15.288, 15.555, 15.892, 16.314, 16.829, 17.438, 18.144, 18.945, 19.843, 20.837],
        [12.712, 12.742, 12.832, 12.975, 13.160, 13.386, 13.760, 13.977, 14.315, 14.846, 15.553,
         15.877, 16.194, 16.585, 17.064, 17.636, 18.302, 19.065, 19.922, 20.876, 21.924],
        [13.167, 13.199, 13.294, 13.440, 13.645, 13.878, 14.281, 14.497, 14.886, 15.467, 16.152,
         16.465, 16.832, 17.277, 17.812, 18.440, 19.164, 19.982, 20.896, 21.905, 23.008],
        [14.262, 14.298, 14.405, 14.573, 14.827, 15.087, 15.465, 15.784, 16.297, 16.997, 17.515,
         17.933, 18.423, 19.001, 19.674, 20.442, 21.306, 22.264, 23.316, 24.462, 25.700],
        [15.304, 15.343, 15.462, 15.666, 15.929, 16.263, 16.624, 17.052, 17.685, 18.409, 18.869,
         19.395, 20.009, 20.720, 21.528, 22.434, 23.435, 24.530, 25.719, 27.000, 28.373],
        [17.247, 17.297, 17.445, 17.680, 18.000, 18.456, 18.881, 19.536, 20.343, 20.909, 21.557,
         22.309, 23.170, 24.140, 25.214, 26.388, 27.659, 29.023, 30.480, 32.028, 33.667],
        [20.688, 20.761, 20.980, 21.348, 21.865, 22.387, 23.217, 24.105, 24.881, 25.801, 26.876,
         28.097, 29.451, 30.928, 32.517, 34.211, 36.004, 37.893, 39.873, 41.944, 44.105],
    ]
)
# fmt: on
"""c by D3/sqrt(D1 D2) (rows) and (b/a)(D1/D2)^(1/4) (columns): Ritz with 4 half waves and more per unit of
slenderness and 14 across, infinite strip in the first column. Tests solve entries again."""


def shear_coefficient(twist: Array, aspect: Array) -> Array:
    """Seydel's c in tau = 4 c (D1 D2^3)^(1/4)/(t b^2), (n,), from the table, linear between, by
    D3/sqrt(D1 D2), 0 to 3 (its inverse is his theta), and beta = (b/a)(D1/D2)^(1/4), 0 to 1.

    References
    ----------
    Seydel, Ueber das Ausbeulen von rechteckigen, isotropen oder orthogonal-anisotropen Platten bei
    Schubbeanspruchung, 1933 (from memory).
    """
    i = np.clip(np.searchsorted(_TWIST, twist) - 1, 0, len(_TWIST) - 2)
    k = np.clip(np.searchsorted(_ASPECT, aspect) - 1, 0, len(_ASPECT) - 2)
    u = (twist - _TWIST[i]) / (_TWIST[i + 1] - _TWIST[i])
    v = (aspect - _ASPECT[k]) / (_ASPECT[k + 1] - _ASPECT[k])
    inner = _C[i, k] * (1 - v) + _C[i, k + 1] * v
    outer = _C[i + 1, k] * (1 - v) + _C[i + 1, k + 1] * v
    return np.asarray(inner * (1 - u) + outer * u)


def along_sides(length: Array, clear: Array, d1: Array, d2: Array, d3: Array) -> Array:
    """Shear flow that buckles plates whose grain runs along a side.

    Parameters
    ----------
    length, clear : (n,) float array
        Sides along x and y, m.
    d1, d2, d3 : (n,) float array
        Bending rigidity along x and along y, and D12 + 2 D66, N m.

    Returns
    -------
    (n,) float array
        N/m.
    """
    aspect = clear / length * (d1 / d2) ** 0.25
    swap = aspect > 1
    a, b = np.where(swap, clear, length), np.where(swap, length, clear)
    first, second = np.where(swap, d2, d1), np.where(swap, d1, d2)
    c = shear_coefficient(d3 / np.sqrt(d1 * d2), b / a * (first / second) ** 0.25)
    return np.asarray(4 * c * (first * second**3) ** 0.25 / b**2)


def critical_flow(
    length: Array,
    clear: Array,
    thickness: Array,
    sheet: list[SheetConstants],
    grain: Array,
    positive: NDArray[np.bool_],
) -> Array:
    """Shear flow that buckles web panels.

    Parameters
    ----------
    length, clear : (n,) float array
        Clear sides along the span and upright, m.
    thickness : (n,) float array
        m.
    sheet : list of n SheetConstants
        Plate-bending constants in grain axes, Pa.
    grain : (n,) float array
        From the span to the grain, rad.
    positive : (n,) bool array
        Sign of the shear, which matters where the grain is askew.

    Returns
    -------
    (n,) float array
        N/m.
    """
    up, down = critical_flows(length, clear, thickness, sheet, grain)
    return np.where(positive, up, down)


def critical_flows(
    length: Array, clear: Array, thickness: Array, sheet: list[SheetConstants], grain: Array
) -> tuple[Array, Array]:
    """`critical_flow` for shear of either sign.

    Parameters
    ----------
    length, clear, thickness, sheet, grain
        As for `critical_flow`.

    Returns
    -------
    up, down : (n,) float array
        Of positive and of negative shear, N/m.
    """
    kinds = list(zip(sheet, grain.tolist()))
    moduli = {kind: stiffness(*kind) for kind in set(kinds)}
    rigidity = np.array([moduli[kind] for kind in kinds]) * (thickness**3 / 12)[:, None, None]
    d1, d2 = rigidity[:, 0, 0], rigidity[:, 1, 1]
    d3 = rigidity[:, 0, 1] + 2 * rigidity[:, 2, 2]
    straight = np.abs(np.sin(2 * grain)) < 1e-6
    straight &= d3 <= _TWIST[-1] * np.sqrt(d1 * d2)
    out = np.zeros((2, len(length)))
    out[:, straight] = along_sides(*(v[straight] for v in (length, clear, d1, d2, d3)))
    if not straight.all():
        askew = ~straight
        slender = float((np.maximum(length / clear, clear / length)[askew]).max())
        n_long = int(np.clip(2 * np.ceil(3 * slender), 12, 36))
        flows = buckling_flow(length[askew], clear[askew], rigidity[askew], (n_long, 12))
        out[:, askew] = flows[:, 0], flows[:, 1]
    return out[0], out[1]


def panel_flow(at: Solved) -> Array:
    """Shear flow that buckles each web panel, for the sign of its own shear, (n_panels,), N/m."""
    up, down = at.of_build(_both_ways)
    return np.where(at.webs.panel_shear > 0, up, down)


def _both_ways(at: Solved) -> tuple[Array, Array]:
    """Shear flow of either sign that buckles each web panel, (n_panels,), N/m."""
    webs, stress = at.model.webs, at.webs
    first = stress.first
    sheet = [webs.materials[m].in_bending() for m in webs.material[first]]
    bounded = np.maximum(stress.panel_length, stress.panel_clear * 1e-3)
    return critical_flows(bounded, stress.panel_clear, webs.thickness[first], sheet, stress.grain[first])


def constants(at: Solved) -> dict[str, Array]:
    """Shear stress of either sign that buckles each panel."""
    thickness = at.model.webs.thickness[at.webs.first]
    up, down = at.of_build(_both_ways)
    return {"flow_up": up / thickness, "flow_down": down / thickness}


def many(of: Layouts) -> Array:
    """The same of all panels in many layouts."""
    table = of.table["panels"]
    bears = np.where(of.panel_positive, table["flow_up"][:, None], table["flow_down"][:, None])
    return np.asarray(of.panel_shear / bears)


def findings(at: Solved) -> list[Finding]:
    """Shear buckling of all web and brace panels; every element of a panel has the panel's reserve."""
    stress = at.webs
    applied, allowable = (
        np.abs(stress.panel_shear),
        at.the(panel_flow) / at.model.webs.thickness[stress.first],
    )
    return [on_panels(MODE, stress, ratio(allowable, applied), applied, allowable)]


def on_panels(mode: Mode, stress: WebStress, reserve: Array, applied: Array, allowable: Array) -> Finding:
    """A finding of panels of webs, by their elements.

    Parameters
    ----------
    mode : Mode
        Whose finding.
    stress : WebStress
        Of the webs.
    reserve, applied, allowable : (n_panels,) float array
        See `Finding`; the reserve is infinite where nothing acts.
    """
    panel = stress.panel
    middle = np.bincount(panel, stress.y * stress.length) / np.bincount(panel, stress.length)
    figures = (v[panel] for v in (reserve, applied, middle))
    return mode.found(np.isfinite(reserve[panel]), *figures, allowable=allowable[panel])


FIELD = Remains(
    0.5,
    1.0,
    "a tension field",
    "plywood webs live on as tension fields, about half as stiff: Wagner's theory [from memory]",
)
SPLIT = Remains(
    0.0,
    0.0,
    "nothing",
    "solid sheet forms no tension field: its tension across the grain is about 1 MPa; first buckling of a "
    "solid web is its failure (common practice, no source)",
    FIELD,
)
MODE = Mode(
    name="web shear buckling",
    words="buckles in shear",
    source=(
        "simply supported orthotropic plate in shear, Seydel 1933 [from memory], coefficients by double sine "
        "Ritz [computed]; bending constants of the sheet"
    ),
    block="webs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=BUCKLES,
    proof=buckled,
    remains=SPLIT,
    many=Many(family="panels", constants=constants, used=many),
)
