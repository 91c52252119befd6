"""The numbers that the pictures show: deflection, cap stress, shear flow, reserve by bay.

All in SI; the scenes turn them into millimetres, MPa and N/mm at the edge.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from fea.arrays import Array, Ints
from fea.assembly import rigid_motions
from fea.elements.beam import Beams, local_axes
from fea.elements.membrane import Membranes, element_axes
from models.analysis import Analysis
from models.pictures.surfaces import Surface
from models.strength.solved import Solved
from models.structure.model import Model

BANDS = (1.0, 1.5, 2.0, 4.0)
"""Limits between the bands of reserve factor."""
BAND_WORDS = ("below 1: fails", "1 to 1.5", "1.5 to 2", "2 to 4", "above 4")
"""What the bands are called."""


def displacements(analysis: Analysis) -> Array:
    """Movements of the nodes in the analysis's case, (n_nodes, 6), m and rad.

    A flying wing's are measured from its centre section: the fore-and-aft and vertical movement and the
    pitch that fit the caps on the centre line best are taken off.
    """
    model = analysis.model
    moves = analysis.solution.displacements[:, :, analysis.case]
    if model.wing.clamped:
        return moves
    centre = model.centre_caps
    rigid = rigid_motions(model.structure.nodes).reshape(-1, 6, 6)[:, :, [0, 2, 4]]
    in_plane = rigid[centre][:, [0, 2]].reshape(-1, 3)
    amount = np.linalg.lstsq(in_plane, moves[centre][:, [0, 2]].ravel(), rcond=None)[0]
    return np.asarray(moves - rigid @ amount)


def settled(analysis: Analysis) -> Analysis:
    """The same analysis with only its own case, whose movements are those of `displacements`.

    A free wing's rigid pitch is arbitrary, and over a swept span it would pass for deflection.
    """
    moves = displacements(analysis)[:, :, None]
    return replace(analysis, solution=replace(analysis.solution, displacements=moves), case=0)


def cap_stress(analysis: Analysis, surface: Surface) -> Array:
    """Axial stress, Pa, tension positive, at every point of the surface of the block "caps", (n_points,).

    Bending about both axes included: sigma = E (N/EA + M_y z/EI_y - M_z y/EI_z), E that of the layer, y and z
    from the cap's axis.
    """
    caps = analysis.model.structure.blocks["caps"]
    assert isinstance(caps, Beams)
    forces = analysis.cap_forces()[surface.element, surface.corner]
    axes = local_axes(analysis.solution.assembly.corners("caps"), caps.up)[1][surface.element]
    _, y, z = np.einsum("pij,pj->ip", axes, surface.arms)
    s = caps.sections
    e = surface.element
    strain = forces[:, 0] / s.axial[e] + forces[:, 4] * z / s.bending_y[e] - forces[:, 5] * y / s.bending_z[e]
    return np.asarray(analysis.model.caps.layer_modulus[e, surface.layer] * strain)


def main_layer(model: Model) -> int:
    """Which layer of the caps has the most wood in it, counted from the outer face."""
    caps = model.caps
    length = np.diff(model.y)[caps.span]
    return int(np.argmax((caps.layer_heights * (caps.width * length)[:, None]).sum(axis=0)))


def range_by_material(model: Model, surface: Surface, values: Array) -> dict[str, tuple[float, float]]:
    """Least and greatest of the values at the caps' points, by the name of the material there."""
    names = np.array(
        [model.caps.materials[e][k].name for e, k in zip(surface.element[::8], surface.layer[::8])]
    )
    by_box = values.reshape(-1, 8)
    return {
        n: (float(by_box[names == n].min()), float(by_box[names == n].max()))
        for n in dict.fromkeys(names.tolist())
    }


def shear_flow(analysis: Analysis) -> Array:
    """Mean shear flow of every web element between span and depth, (n_webs,), N/m.

    Positive where the web hands an upward load of the outer wing inboard.
    """
    model = analysis.model
    webs = model.structure.blocks["webs"]
    assert isinstance(webs, Membranes)
    corners = analysis.solution.assembly.corners("webs")[:, :4]
    grain, across, _ = np.swapaxes(element_axes(corners, webs.grain), 0, 1)
    along = corners[:, 1] + corners[:, 2] - corners[:, 0] - corners[:, 3]
    along *= np.sign(corners[:, :, 1].mean(axis=1) * along[:, 1])[:, None]
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    up = np.array([0.0, 0.0, 1.0]) - along * along[:, 2:]
    up /= np.linalg.norm(up, axis=1, keepdims=True)
    a_s, a_u, b_s, b_u = ((v * w).sum(axis=1) for v in (grain, across) for w in (along, up))
    s_1, s_2, s_12 = analysis.recovered["webs"]["stress"].T
    return np.asarray((s_1 * a_s * a_u + s_2 * b_s * b_u + s_12 * (a_s * b_u + a_u * b_s)) * webs.thickness)


def checked_cap_stress(analysis: Analysis, layer: int) -> float:
    """Greatest stress of one layer of the caps that the check takes, direct and bending together, Pa."""
    found = Solved(analysis).caps
    there = analysis.model.caps.layer_heights[:, layer] > 0
    return float(np.nanmax((np.abs(found.mean) + found.bending)[there][:, :, layer], initial=0.0))


def checked_shear_flow(analysis: Analysis) -> float:
    """Greatest shear flow of the webs that the check takes, the mean over a clear height, N/m."""
    return float(np.nanmax(np.abs(Solved(analysis).webs.shear * analysis.model.webs.thickness), initial=0.0))


def reserve_by_part(analysis: Analysis, reserve: Mapping[str, Array]) -> dict[str, Array]:
    """Least reserve factor of the part (one bay of one cap or web) that each element belongs to.

    By block, (n_elements,); nan where nothing, here of a part, was checked.
    """
    out = {}
    for name, values in reserve.items():
        part = analysis.model.structure.blocks[name].part
        values = np.asarray(values, dtype=float)
        if part is None:
            out[name] = values
            continue
        least = np.full(int(part.max()) + 1, np.inf)
        np.minimum.at(least, part, np.where(np.isnan(values), np.inf, values))
        known = np.zeros(len(least), dtype=bool)
        known[part[~np.isnan(values)]] = True
        out[name] = np.where(known, least, np.nan)[part]
    return out


def bands(reserve: Array) -> Ints:
    """Band of reserve factor: 0 below 1 (fails), then up to 1.5, 2, 4 and above; -1 where not checked."""
    band = np.searchsorted(BANDS, np.nan_to_num(reserve, nan=0.0, posinf=1e9), side="right")
    return np.where(np.isnan(reserve), -1, band)


def weakest(reserve: Mapping[str, Array]) -> tuple[str, int] | None:
    """Block and element of the least reserve factor, None where nothing was checked."""
    best: tuple[float, str, int] | None = None
    for name, values in reserve.items():
        if not len(values) or np.isnan(values).all():
            continue
        at = int(np.nanargmin(values))
        if best is None or values[at] < best[0]:
            best = (float(values[at]), name, at)
    return None if best is None else best[1:]


def cut_forces(analysis: Analysis) -> tuple[Array, Array, Array]:
    """Shear force and bending moment of the whole section between stations, starboard side, with inertia.

    Summed from all loads on the nodes outboard of the cut, so it rests on statics alone.

    Returns
    -------
    y : (n,) float array
        Cuts, the middle of every span, m.
    shear : (n,) float array
        Upward load outboard of the cut, N.
    bending : (n,) float array
        Moment that lifts the tip, N m.
    """
    model = analysis.model
    nodes = model.structure.nodes
    load = analysis.solution.loads[:, :, analysis.case]
    y = (model.y[1:] + model.y[:-1]) / 2
    y = y[y > 0]
    # Moments are taken about the line of the spars' middle at the cut, so that pull along a drooping wing
    # adds nothing.
    centre_z = np.nanmean(np.where(model.cap_nodes >= 0, nodes[model.cap_nodes, 2], np.nan), axis=(0, 1))
    z = np.interp(y, model.y, centre_z)
    outboard = nodes[:, 1] > y[:, None]
    shear = outboard @ load[:, 2]
    arm = nodes[:, 1] - y[:, None]
    height = nodes[:, 2] - z[:, None]
    bending = (outboard * (load[:, 2] * arm - load[:, 1] * height + load[:, 3])).sum(axis=1)
    return y, shear, bending
