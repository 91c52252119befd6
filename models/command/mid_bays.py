"""Stresses half way along every bay: of the caps, their slopes across the cap, and the shear of the webs.

At the middle of a bay the disturbance of the ribs has died down, so that this is where a figure can be compared with a
hand calculation. A value at a plane between two elements is the mean of both sides; it is interpolated between the
elements' middles, which gives that mean for equal elements and the element's own value where one lies across the plane.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.elements.beam import Beams
from fea.elements.membrane import Membranes, element_axes
from models.analysis import Analysis

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CapStress:
    """Axial stress of a cap's own wood: sigma = mean + slope_up (z - axis) + slope_aft (x - axis).

    Parameters
    ----------
    mean : float
        Axial force over area, tension positive, Pa. Web strips lapped on the cap and sheeting carry their own.
    slope_up, slope_aft : float
        Growth of the stress upward and aft, Pa/m.
    """

    mean: float
    slope_up: float
    slope_aft: float


@dataclass(frozen=True)
class WebShear:
    """Mean shear stress of a web (or dihedral brace) over the clear height between the caps.

    Parameters
    ----------
    kind, face : str
        "web" or "brace"; "front", "rear" or "between".
    shear : float
        Pa; positive where the web pushes what lies outboard of it down, as a web that carries lift inward does.
    """

    kind: str
    face: str
    shear: float


@dataclass(frozen=True)
class MidBay:
    """Stresses at the middle of one bay of one spar, `y` in m (port negative)."""

    spar: str
    bay: int
    side: str
    y: float
    upper: CapStress
    lower: CapStress
    webs: tuple[WebShear, ...]


def mid_bays(analysis: Analysis, case: int | None = None) -> tuple[MidBay, ...]:
    """Stresses at the middle of every bay of every spar.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    case : int or None
        Column of the solution; None for the analysis's own.

    Returns
    -------
    tuple of MidBay
        Spar by spar, from port to tip (or from the clamp outward). Where a spar ends inside a bay, the middle of the
        part that it has.
    """
    model = analysis.model
    caps, webs, spans = model.caps, model.webs, model.y
    stress, shear = _cap_stress(analysis, case), _web_shear(analysis, case)
    middle = (spans[1:] + spans[:-1]) / 2
    side = np.where(middle > 0, 1, -1)
    found = []
    for s, spar in enumerate(model.wing.spars):
        own = np.unique(caps.span[caps.spar == s])
        for sign, bay in dict.fromkeys((int(side[i]), int(model.bay[i])) for i in own):
            here = own[(side[own] == sign) & (model.bay[own] == bay)]
            y = float(spans[here[0]] + spans[here[-1] + 1]) / 2
            upper, lower = (
                CapStress(
                    *(
                        _at(y, caps.span, stress[:, k], (caps.spar == s) & (caps.upper == top), here, middle)
                        for k in range(3)
                    )
                )
                for top in (True, False)
            )
            there = []
            for kind, brace in (("web", False), ("brace", True)):
                for face in ("front", "between", "rear"):
                    rows = (
                        (webs.spar == s) & (webs.brace == brace) & (np.array(webs.face, dtype=object) == face)
                    )
                    value = _at(y, webs.span, shear * sign, rows, here, middle)
                    if not np.isnan(value):
                        there.append(WebShear(kind, face, value))
            name = model.side(int(here[0])) if model.wing.root == "symmetry" else ""
            found.append(MidBay(spar.name, bay, name, y, upper, lower, tuple(there)))
    return tuple(found)


def _at(
    y: float,
    span: NDArray[np.intp],
    value: Array,
    rows: NDArray[np.bool_],
    here: NDArray[np.intp],
    middle: Array,
) -> float:
    """Value at y between the middles of those rows' elements that lie in the spans `here`; NaN where there are none."""
    rows = rows & np.isin(span, here)
    if not rows.any():
        return float("nan")
    order = np.argsort(middle[span[rows]])
    return float(np.interp(y, middle[span[rows]][order], value[rows][order]))


def _cap_stress(analysis: Analysis, case: int | None) -> Array:
    """Mean stress (Pa) and its slopes up and aft (Pa/m) at the middle of every cap element, (n, 3)."""
    block = analysis.model.structure.blocks["caps"]
    assert isinstance(block, Beams)
    forces = analysis.cap_forces(case, np.array([0.5]))[:, 0]
    caps, sections = analysis.model.caps, block.sections
    area = caps.width * caps.layer_heights.sum(axis=1)
    modulus = sections.axial / area
    # Local y of a cap points forward, so that -M_z y/I_z grows aft.
    return np.stack(
        [
            forces[:, 0] / area,
            modulus * forces[:, 4] / sections.bending_y,
            modulus * forces[:, 5] / sections.bending_z,
        ],
        axis=1,
    )


def _web_shear(analysis: Analysis, case: int | None) -> Array:
    """Shear stress between span and upright at the middle of every web element, on the face that looks to starboard, Pa."""
    block = analysis.model.structure.blocks.get("webs")
    if not isinstance(block, Membranes):
        return np.zeros(0)
    assembly = analysis.solution.assembly
    moves = analysis.solution.displacements[:, :, analysis.case if case is None else case]
    corners = assembly.corners("webs")
    stress = block.recover(corners, assembly.element_displacements("webs", moves))["stress"]
    axes = element_axes(corners, block.grain)
    along = (corners[:, 1] + corners[:, 2] - corners[:, 0] - corners[:, 3]) / 2
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    up = np.cross(axes[:, 2], along)
    a, b = np.einsum("eij,ej->ei", axes[:, :2], along).T, np.einsum("eij,ej->ei", axes[:, :2], up).T
    turned: Array = (
        stress[:, 0] * a[0] * b[0] + stress[:, 1] * a[1] * b[1] + stress[:, 2] * (a[0] * b[1] + a[1] * b[0])
    )
    return turned
