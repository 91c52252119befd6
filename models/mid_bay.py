"""Stresses half way along every bay: mean and slopes of the axial stress in the caps, mean shear stress in
the webs.

Half way between two ribs the local disturbance of the joints has died away, so this is where a strain gauge
would sit and where the model is compared with solid elements.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.elements.beam import Beams
from models.analysis import Analysis
from models.structure.model import Model
from models.structure.spars import FACES, rotation_matrix


@dataclass(frozen=True)
class MidBay:
    """Stresses half way along one bay of one spar.

    Parameters
    ----------
    spar, side : str
        Which spar; "port", "starboard" or "" for a specimen.
    bay : int
        Bay number.
    y : float
        Where, m.
    upper_cap, lower_cap : float
        Mean axial stress over the cap's own section (N/A), Pa, tension positive.
    upper_slope_z, lower_slope_z : float
        Slope of the axial stress upward, Pa/m.
    upper_slope_x, lower_slope_x : float
        Slope of the axial stress aft, Pa/m.
    web_shear : dict of str to float
        Mean shear stress over the clear height, by face, Pa; positive where it lifts the outboard side.
    """

    spar: str
    side: str
    bay: int
    y: float
    upper_cap: float
    lower_cap: float
    upper_slope_z: float
    lower_slope_z: float
    upper_slope_x: float
    lower_slope_x: float
    web_shear: dict[str, float]


def mid_bays(analysis: Analysis, case: int | None = None) -> list[MidBay]:
    """Stresses half way along every bay of every spar. Spar by spar, from port (or the root) to the tip;
    `case` is the solution's column, None the analysis's own."""
    model = analysis.model
    which = analysis.case if case is None else case
    forces = analysis.cap_forces(which)
    shear = web_shear(analysis, which)
    caps, webs = model.caps, model.webs
    face_of = np.array(webs.face, dtype=object)
    out = []
    for s, spar in enumerate(model.wing.spars):
        rows = {
            upper: {
                int(caps.span[e]): int(e) for e in np.flatnonzero((caps.spar == s) & (caps.upper == upper))
            }
            for upper in (True, False)
        }
        on = {face: np.flatnonzero((face_of == face) & (webs.spar == s) & ~webs.brace) for face in FACES}
        there = (model.cap_nodes[s, 0, :-1] >= 0) & (model.cap_nodes[s, 0, 1:] >= 0)
        for left, right, bay, side in _bays(model, there):
            y = (left + right) / 2
            span = int(np.clip(np.searchsorted(model.y, y) - 1, 0, len(model.y) - 2))
            up, low = (_cap_at(model, forces, rows[upper], span, y) for upper in (True, False))
            of_faces = ((face, _web_at(model, shear, on[face], y)) for face in FACES)
            faces = {face: value for face, value in of_faces if value is not None}
            figures = up[0], low[0], up[1], low[1], up[2], low[2]
            out.append(MidBay(spar.name, side, bay, float(y), *figures, faces))
    return out


def web_shear(analysis: Analysis, case: int) -> Array:
    """Shear stress between span and depth of every web element, positive where it lifts the outboard side.
    (n_webs,), Pa; `case` is the solution's column."""
    model = analysis.model
    if "webs" not in model.structure.blocks:
        return np.zeros(0)
    moves = analysis.solution.displacements[:, :, case]
    assembly = analysis.solution.assembly
    block = model.structure.blocks["webs"]
    stress = block.recover(assembly.corners("webs"), assembly.element_displacements("webs", moves))["stress"]
    # Seen from aft, a port web's grain leans the other way from the y axis, and lifting its outboard side
    # shears it the other way round.
    port = model.y[model.webs.span] + model.y[model.webs.span + 1] < 0
    grain = np.where(port, np.pi - model.webs.grain, model.webs.grain)
    # Stress turns back from grain to span as strain does forward, transposed.
    to_span = np.swapaxes(rotation_matrix(grain), 1, 2)
    return np.asarray(np.where(port, -1.0, 1.0) * (to_span @ stress[..., None])[:, 2, 0])


@dataclass(frozen=True)
class SheetMidBay:
    """Stresses of the sheeting half way along one bay, of one surface.

    Parameters
    ----------
    surface, side : str
        "upper" or "lower"; "port", "starboard" or "" for a specimen.
    bay : int
        Bay number.
    y : float
        Where, m.
    span_stress : float
        Mean stress along the span over the sheets' width, Pa, tension positive.
    shear : float
        Mean shear stress between aft and starboard over the sheets' width, Pa.
    """

    surface: str
    side: str
    bay: int
    y: float
    span_stress: float
    shear: float


def sheet_mid_bays(analysis: Analysis, case: int | None = None) -> list[SheetMidBay]:
    """Stresses of the sheeting half way along every bay, the mean over the width of each surface's sheets.
    Bay by bay, upper surface before lower; `case` is the solution's column, None the analysis's own."""
    model = analysis.model
    block = model.structure.blocks.get("sheeting")
    if block is None:
        return []
    assembly = analysis.solution.assembly
    moves = analysis.solution.displacements[:, :, analysis.case if case is None else case]
    corners = assembly.corners("sheeting")
    stress = block.recover(corners, assembly.element_displacements("sheeting", moves))["stress"]
    sheets, of = model.wing.sheets, model.sheets.sheet
    span = model.sheets.span
    port = model.y[span] + model.y[span + 1] < 0
    # The grain leans aft from the span outboard; the panels' second axis lies a right angle from the grain
    # seen from above, forward of a spanwise one to starboard and aft of one to port.
    lean = np.array([sheet.grain for sheet in sheets])[of] * np.where(port, 1.0, -1.0)
    turned = (np.swapaxes(rotation_matrix(lean), 1, 2) @ stress[..., None])[..., 0]
    shear = -turned[:, 2]  # both axes turn round together to port
    width = (corners[:, 1, 0] + corners[:, 2, 0] - corners[:, 0, 0] - corners[:, 3, 0]) / 2
    surface = np.array([sheet.surface for sheet in sheets], dtype=object)[of]
    found = []
    for left, right, bay, side in _bays(model, np.ones(len(model.bay), dtype=bool)):
        y = (left + right) / 2
        here = (model.y[span] <= y + 1e-9) & (model.y[span + 1] >= y - 1e-9)
        for name in ("upper", "lower"):
            on = here & (surface == name)
            if on.any():
                along, across = (float(np.average(v[on], weights=width[on])) for v in (turned[:, 0], shear))
                found.append(SheetMidBay(name, side, bay, y, along, across))
    return found


def _bays(model: Model, there: NDArray[np.bool_]) -> list[tuple[float, float, int, str]]:
    """(from, to, bay, side) of the bays of what is there in some spans, (n_spans,)."""
    found: list[tuple[float, float, int, str]] = []
    clamped = model.wing.clamped
    for i in np.flatnonzero(there):
        side = "" if clamped else model.side(int(i))
        if found and found[-1][2] == model.bay[i] and (found[-1][3] == side):
            found[-1] = (found[-1][0], float(model.y[i + 1]), found[-1][2], side)
        else:
            found.append((float(model.y[i]), float(model.y[i + 1]), int(model.bay[i]), side))
    return found


def _cap_at(model: Model, forces: Array, row_of: dict[int, int], span: int, y: float) -> list[float]:
    """Mean axial stress (Pa) and its slopes up and aft (Pa/m) at y of a cap given by its elements' rows.

    A web hands its shear flow to the caps at the mesh stations, so a cap's force steps there; the mean of
    both sides of a station lies on the true line, and between stations the line is straight.
    """
    at_station = []
    for station in (span, span + 1):
        pieces = [
            _stress(model, row_of[i], *forces[row_of[i], end, [0, 4, 5]])
            for i, end in ((station - 1, 1), (station, 0))
            if i in row_of
        ]
        at_station.append(np.mean(pieces, axis=0))
    share = (y - model.y[span]) / (model.y[span + 1] - model.y[span])
    return [float(v) for v in at_station[0] * (1 - share) + at_station[1] * share]


def _stress(model: Model, e: int, n: float, m_y: float, m_z: float) -> tuple[float, float, float]:
    """Modulus-weighted section: stress of the thickest layer, at the cap's middle, and its slopes."""
    caps = model.caps
    block = model.structure.blocks["caps"]
    assert isinstance(block, Beams)
    sections = block.sections
    k = int(np.argmax(caps.layer_heights[e]))
    young = float(caps.layer_modulus[e, k])
    # Local z of a cap's beam is up and local y is forward, so a moment about z bends the aft side into
    # tension.
    return (
        young * n / float(sections.axial[e]),
        young * m_y / float(sections.bending_y[e]),
        young * m_z / float(sections.bending_z[e]),
    )


def _web_at(model: Model, shear: Array, on: NDArray[np.intp], y: float) -> float | None:
    """Mean shear stress of those web elements out of some that meet at y, Pa."""
    low, high = model.y[model.webs.span[on]], model.y[model.webs.span[on] + 1]
    touching = on[(low <= y + 1e-9) & (high >= y - 1e-9)]
    return float(shear[touching].mean()) if len(touching) else None
