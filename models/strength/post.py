"""A rib post pressed or torn between the caps of a spar, and broken in bending next to an open bay.

The post is as wide as the caps and as thick as the rib; off the grain its strength follows Hankinson. Next
to an open bay the post's bending in the spar's plane carries the bay's shear from cap to cap (Vierendeel)
and counts. Between webs that bending only follows the caps' movement and is left out; bending fore and aft
belongs to the rib's panel, of which the post is a strip, and is left out everywhere.
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
    "P/P_column + M/(Z F_b) = 1: fourth-power column rule, Wood Handbook 1999, chapter 8 [from memory]; "
    "Hankinson off the grain [looked up]"
)


def used(
    axial: Array,
    moment: Array,
    thickness: Array,
    width: Array,
    length: Array,
    modulus: Array,
    tension: Array,
    crushing: Array,
    rupture: Array,
) -> Array:
    """Share of the strength used.

    Parameters
    ----------
    axial, moment : (n,) float array
        N (tension positive) and moment in the spar's plane, N and N m.
    thickness, width, length : (n,) float array
        Along the span, fore and aft, and clear between the caps, m.
    modulus, tension, crushing, rupture : (n,) float array
        Along the post's axis, Pa.

    Returns
    -------
    (n,) float array
        N/(F_t A) or -N/P_column, and |M|/(Z F_b) added.

    References
    ----------
    Wood Handbook, 1999, chapter 8 (from memory).
    """
    area = width * thickness
    least = np.minimum(width, thickness)
    column = column_force(crushing * area, np.pi**2 * modulus * area * least**2 / 12 / length**2)
    direct = np.where(axial > 0, axial / (tension * area), -axial / column)
    return np.asarray(direct + np.abs(moment) * 6 / (area * thickness * rupture))


def findings(analysis: Analysis, *, stiff: bool) -> list[Finding]:
    """All rib posts.

    Parameters
    ----------
    stiff : bool
        True: posts that stand upright in their grain, or of plywood: what they carry, the spar needs. False:
        the rest, ribs with their grain along the chord, so soft upright that an open bay hardly uses them
        and survives their cracking.
    """
    model = analysis.model
    posts = model.posts
    if not len(posts.station):
        return []
    at = model.y[posts.station]
    ribs = {round(r.y, 9): r.post_grain for r in model.wing.ribs}
    off = np.pi / 2 - np.array([ribs.get(round(abs(float(y)), 9), np.pi / 2) for y in at])
    woods = posts.materials
    figure = {
        name: np.array([getattr(w, name) for w in woods])
        for name in ("tension", "compression", "bending", "tension_across", "compression_across", "E_L")
    }
    tension = hankinson(figure["tension"], figure["tension_across"], off, 1.5)
    crushing = hankinson(figure["compression"], figure["compression_across"], off)
    rupture = hankinson(figure["bending"], figure["tension_across"], off, 1.5)
    modulus = hankinson(figure["E_L"], np.array([w.in_plane().E_2 for w in woods]), off)
    # A rib on the plane of symmetry counts by half in a half model.
    share = np.where(model.half & (np.abs(at) < 1e-9), 0.5, 1.0)
    forces = analysis.recovered["posts"]["forces"] / share[:, None, None]
    axial = forces[:, :, 0].mean(axis=1)
    moment = np.where(_next_to_open(analysis), np.abs(forces[:, :, 4]).max(axis=1), 0.0)
    size = (posts.thickness, posts.width)
    shares = used(axial, moment, *size, posts.length, modulus, tension, crushing, rupture)
    is_stiff = (np.abs(np.sin(off)) < np.sqrt(0.5)) | np.array([w.kind == "ply" for w in woods])
    there = (shares > 0) & (is_stiff == stiff)
    reserve = ratio(np.ones(len(shares)), shares)
    area = posts.width * posts.thickness
    fibre = (np.abs(axial) + 6 * moment / posts.thickness) / area
    return [
        Finding(
            MODE,
            "posts",
            np.flatnonzero(there),
            reserve[there],
            fibre[there],
            (fibre * np.where(there, reserve, 0))[there],
            "Pa",
            at[there],
            SOURCE,
        )
    ]


def _next_to_open(analysis: Analysis) -> NDArray[np.bool_]:
    """Which posts have a span without a web beside them."""
    model = analysis.model
    webbed = set(zip(model.webs.spar.tolist(), model.webs.span.tolist()))
    return np.array(
        [
            any(
                (s, i) not in webbed
                for i in (j - 1, j)
                if 0 <= i < len(model.bay) and model.cap_nodes[s, 0, [i, i + 1]].min() >= 0
            )
            for s, j in zip(model.posts.spar.tolist(), model.posts.station.tolist())
        ],
        dtype=bool,
    )
