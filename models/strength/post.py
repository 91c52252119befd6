"""A rib post crushed or broken between the caps of a spar: axial force as a column, and bending in the spar's plane.

The post is as wide as the caps and as thick as the rib; its grain usually stands upright. Its strength at an angle to
the grain follows Hankinson.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis
from models.strength.cap_column import column_force
from models.strength.finding import Finding, ratio
from models.woods.off_axis import hankinson

Array = NDArray[np.float64]

MODE = "rib post"
SOURCE = (
    "P/P_column + M/(Z F_b) = 1: fourth-power column rule, Wood Handbook 1999, chapter 8 [from memory]; Hankinson off "
    "the grain [looked up]"
)


def used(
    forces: Array, thickness: Array, width: Array, length: Array, modulus: Array, tension: Array, crushing: Array,
    rupture: Array,
) -> Array:  # fmt: skip
    """Share of the strength used.

    Parameters
    ----------
    forces : (n, n_points, 6) float array
        N, V_y, V_z, T, M_y (in the spar's plane), M_z along the post, N and N m.
    thickness, width, length : (n,) float array
        Along the span, fore and aft, and clear between the caps, m.
    modulus, tension, crushing, rupture : (n,) float array
        Along the post's axis, Pa.

    Returns
    -------
    (n, n_points) float array
        |N|/N_allowed + |M_y|/(Z_y F_b) + |M_z|/(Z_z F_b).

    References
    ----------
    Wood Handbook, 1999, chapter 8 (from memory).
    """
    area = width * thickness
    least = np.minimum(width, thickness)
    column = column_force(crushing * area, np.pi**2 * modulus * area * least**2 / 12 / length**2)
    axial = forces[:, :, 0]
    direct = np.where(axial > 0, axial / (tension * area)[:, None], -axial / column[:, None])
    bend = np.abs(forces[:, :, 4]) * (6 / (area * thickness * rupture))[:, None]
    return np.asarray(direct + bend + np.abs(forces[:, :, 5]) * (6 / (area * width * rupture))[:, None])


def findings(analysis: Analysis) -> list[Finding]:
    """All rib posts, at both feet."""
    model = analysis.model
    posts = model.posts
    if not len(posts.station):
        return []
    at = model.y[posts.station]
    ribs = {round(r.y, 9): r for r in model.wing.ribs}
    grain = np.array([ribs[round(abs(float(y)), 9)].post_grain if round(abs(float(y)), 9) in ribs else np.pi / 2 for y in at])
    off = np.pi / 2 - grain
    woods = posts.materials
    strength = {
        k: hankinson(np.array([getattr(w, k) for w in woods]), np.array([getattr(w, across) for w in woods]), off, power)
        for k, across, power in (("tension", "tension_across", 1.5), ("compression", "compression_across", 2.0),
                                 ("bending", "tension_across", 1.5))
    }  # fmt: skip
    modulus = hankinson(np.array([w.E_L for w in woods]), np.array([w.in_plane().E_2 for w in woods]), off, 2.0)
    # A rib on the plane of symmetry counts by half in a half model.
    share = np.where(model.half & (np.abs(at) < 1e-9), 0.5, 1.0)
    forces = analysis.recovered["posts"]["forces"] / share[:, None, None]
    shares = used(forces, posts.thickness, posts.width, posts.length, modulus, strength["tension"],
                  strength["compression"], strength["bending"])  # fmt: skip
    worst = shares.max(axis=1)
    reserve = ratio(np.ones(len(worst)), worst)
    there = worst > 0
    area = posts.width * posts.thickness
    end = shares.argmax(axis=1)
    chosen = forces[np.arange(len(end)), end]
    fibre = (np.abs(chosen[:, 0]) + 6 * np.abs(chosen[:, 4]) / posts.thickness + 6 * np.abs(chosen[:, 5]) / posts.width) / area
    element = np.flatnonzero(there)
    return [Finding(MODE, "posts", element, reserve[there], fibre[there], fibre[there] * reserve[there], "Pa", at[there],
                    SOURCE)]  # fmt: skip
