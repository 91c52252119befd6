"""What the caps do to the webs glued on them: strain along the span, and crushing between them.

A web follows the caps' strain, which is read off the caps' section forces and so needs no fine mesh in the
web. In a bent spar the caps' forces, following the curve, press the web together with a force per length of
cap force times curvature, w = M^2/(E I h). It grows with the square of the load and no linear solution knows
it. Kinks of the unloaded spar (dihedral, taper) are in the solution already.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array, Ints
from fea.elements.beam import Beams
from models.analysis import Analysis
from models.strength.cap_stress import CapStress
from models.woods.off_axis import turned


@dataclass(frozen=True, eq=False)
class WebEdges:
    """One row a web element; upper edge first, then lower.

    Parameters
    ----------
    axis, inner, outer : (n, 2) float array
        Strain along the span at the cap's axis, and on the web's own face of the cap at the cap's inner and
        outer edge; of the worse end of the element.
    young, across : (n,) float array
        Modulus of the web along the span and upright, Pa.
    stiffness : (n,) float array
        Force per length and per approach of the caps of all webs of the spar there together, N/m2.
    pressure : (n,) float array
        Crushing by curvature of all webs of the spar there, w at the load of the case, N/m; not negative.
    crushing : (n,) float array
        The web's own share of it as a stress, shared by stiffness, Pa.
    """

    axis: Array
    inner: Array
    outer: Array
    young: Array
    across: Array
    stiffness: Array
    pressure: Array
    crushing: Array


def crushing_force(moment: Array, bending_rigidity: Array, depth: Array) -> Array:
    """Force per length by which the caps of a bent spar press its web together, M^2/(E I h), (n,), N/m:
    cap force M/h times curvature M/(E I), from N m, N m2 and the distance of the caps' axes, m. The web
    bears it once: both caps press with it, one against the other.

    References
    ----------
    Equilibrium of a bent cap; Kuhn, Stresses in Aircraft and Shell Structures, 1956: crushing load on the
    web (from memory).
    """
    return np.asarray(moment**2 / (bending_rigidity * depth))


def kink_force(cap_force: Array, angle: Array) -> Array:
    """Force by which a cap presses inward at a kink, 2 F sin(a/2), N; cap force N, kink rad; both (n,)."""
    return np.asarray(2 * np.abs(cap_force) * np.sin(np.abs(angle) / 2))


@dataclass(frozen=True, eq=False)
class EdgesAsBuilt:
    """What of `WebEdges` does not hang on the load: cap elements beside each web, distances of the caps'
    faces and edges from their axes, m, stiffness of the lapped strips of webs side by side, N, and depth, m.
    """

    rows: Ints
    x: Array
    inward: Array
    out: Array
    young: Array
    across: Array
    stiffness: Array
    strips: Array
    depth: Array


def edges_as_built(analysis: Analysis) -> EdgesAsBuilt:
    """What of the edges of all webs does not hang on their load."""
    model = analysis.model
    webs, bars = model.webs, model.caps
    rows = cap_rows(analysis)
    height = bars.layer_heights.sum(axis=1)
    sign = np.array([1.0, -1.0])  # outer faces look up, then down
    out, inward = bars.centroid[rows] * sign, -(height - bars.centroid)[rows] * sign
    side = np.array([{"front": -0.5, "between": 0.0, "rear": 0.5}[f] for f in webs.face])
    x = side[:, None] * bars.width[rows]
    constants = {
        (m, g): turned(webs.materials[m].in_plane(), g)
        for m, g in set(zip(webs.material.tolist(), webs.grain.tolist()))
    }
    figures = np.array(
        [
            (constants[m, g].E_x, constants[m, g].E_y)
            for m, g in zip(webs.material.tolist(), webs.grain.tolist())
        ]
    )
    young, across = figures[:, 0], figures[:, 1]
    _, place = np.unique(webs.spar * (len(model.y) + 1) + webs.span, return_inverse=True)
    strip = (
        young[:, None] * webs.thickness[:, None] * np.where(webs.lap > webs.thickness[:, None], webs.lap, 0)
    )
    of_place = [np.asarray(np.bincount(place, strip[:, c]), dtype=np.float64) for c in (0, 1)]
    strips = np.stack(of_place, axis=1)[place]
    depth = (model.depth[webs.spar, webs.span] + model.depth[webs.spar, webs.span + 1]) / 2
    stiff = np.asarray(np.bincount(place, across * webs.thickness / webs.clear), dtype=np.float64)[place]
    return EdgesAsBuilt(rows, x, inward, out, young, across, stiff, strips, depth)


def web_edges(analysis: Analysis, caps: CapStress, built: EdgesAsBuilt | None = None) -> WebEdges | None:
    """Strain and crushing of all webs and braces, with what does not hang on the load where that is there;
    None where there are none."""
    webs = analysis.model.webs
    if not len(webs.span):
        return None
    built = edges_as_built(analysis) if built is None else built
    rows = built.rows
    stretch, up, aft = cap_strains(analysis, caps)
    face = stretch[rows] + aft[rows] * built.x[..., None]
    axis, inner, outer = (
        _largest(v)
        for v in (
            stretch[rows],
            face + up[rows] * built.inward[..., None],
            face + up[rows] * built.out[..., None],
        )
    )
    mean = stretch.mean(axis=1)
    force = _section(analysis)[0][rows] * mean[rows]
    total = force + built.strips * mean[rows]
    curvature = (mean[rows[:, 1]] - mean[rows[:, 0]]) / built.depth
    press = np.maximum(curvature * (total[:, 1] - total[:, 0]) / 2, 0.0)
    crushing = press * built.across / webs.clear / built.stiffness
    return WebEdges(axis, inner, outer, built.young, built.across, built.stiffness, press, crushing)


def cap_rows(analysis: Analysis) -> Ints:
    """Upper and lower cap element beside each web element, (n_webs, 2)."""
    caps, webs = analysis.model.caps, analysis.model.webs
    n = len(analysis.model.y)
    table = np.full((len(analysis.model.wing.spars), 2, n), -1, dtype=np.intp)
    table[caps.spar, np.where(caps.upper, 0, 1), caps.span] = np.arange(len(caps.spar))
    return table[webs.spar, :, webs.span]


def cap_strains(analysis: Analysis, caps: CapStress) -> tuple[Array, Array, Array]:
    """Strain of the caps' axes, its slopes upward and aft (1/m), at both points of each element, (n, 2)."""
    forces = caps.forces
    if np.isnan(forces).any():  # within a post's foot: the axial force alone, as for the caps themselves
        own = np.zeros((len(forces), 6))
        own[:, 0] = caps.axial_force
        forces = np.where(np.isnan(forces), own[:, None], forces)
    axial, upright, sideways = _section(analysis)
    return (
        forces[:, :, 0] / axial[:, None],
        forces[:, :, 4] / upright[:, None],
        forces[:, :, 5] / sideways[:, None],
    )


def _section(analysis: Analysis) -> tuple[Array, Array, Array]:
    block = analysis.model.structure.blocks["caps"]
    assert isinstance(block, Beams)
    return block.sections.axial, block.sections.bending_y, block.sections.bending_z


def _largest(values: Array) -> Array:
    """The value of the greater size of the last axis, with its sign."""
    which = np.abs(values).argmax(axis=-1)[..., None]
    return np.take_along_axis(values, which, axis=-1)[..., 0]
