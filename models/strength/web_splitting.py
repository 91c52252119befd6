"""A web of solid wood split along its grain, or crushed across it.

Tension across the grain opens a crack; pressure across it crushes the wood. With the grain along the span
both come from what acts between the caps (kinks, ribs' loads, and the crushing of the bent spar, which grows
with the square of the load), and a crack runs on along the spar. With the grain upright they come from the
caps' strain, and a crack stays between two fibres. Plywood does not split.
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.strength.finding import Finding, growing, reserve_of
from models.strength.mode import LOST, Layouts, Many, Mode, Rule, sheared
from models.strength.solved import Solved


def used_across(linear: Array, crushing: Array, tension: Array, compression: Array) -> Array:
    """Share of the strength across the grain that is used: 1/k of the factor k on the load at which
    k linear - k^2 crushing reaches it.

    Parameters
    ----------
    linear, crushing : (...) float array
        Stress across the grain in proportion to the load, tension positive, and pressure that grows with its
        square, not negative, Pa.
    tension, compression : (...) float array
        Across the grain, Pa.

    Returns
    -------
    (...) float array
        0 where nothing acts. Pressure that would relieve a tension is not counted on.

    References
    ----------
    Greatest-stress criterion: Jones, Mechanics of Composite Materials, chapter 2 (from memory).
    """
    crushed = growing(np.maximum(-linear, 0.0) / compression, crushing / compression)
    return np.maximum(np.maximum(linear, 0.0) / tension, crushed)


def across_grain(along: Array, upright: Array, shear: Array, grain: Array) -> Array:
    """Stress across the grain.

    Parameters
    ----------
    along, upright, shear : (...) float array
        Along the span, upright, and in shear, Pa.
    grain : (...) float array
        From the span to the grain, rad.

    Returns
    -------
    (...) float array
        Pa.

    References
    ----------
    Mohr's circle (textbook).
    """
    s, c = np.sin(grain), np.cos(grain)
    return np.asarray(s**2 * along + c**2 * upright - 2 * s * c * shear)


def constants(at: Solved) -> dict[str, Array]:
    """Which webs can split so that it ends the flight: of solid wood, the grain along the span."""
    webs, grain = at.model.webs, at.webs.grain
    solid = np.array([m.kind == "solid" for m in webs.materials])[webs.material]
    return {"splits": np.where(np.sin(grain) ** 2 > np.cos(grain) ** 2, 0.0, solid)}


def many(of: Layouts) -> Array:
    """The same of all webs in many layouts."""
    table = of.table["webs"]
    out = np.zeros_like(of.shear)
    at = np.flatnonzero(table["splits"])
    if len(at):
        grain, young = table["grain"][at, None], table["young"][at, None]
        tension, compression = table["strength"][at, 2, None], table["strength"][at, 3, None]
        crushing = np.cos(grain) ** 2 * of.crushing[at]
        for along in (young * of.inner[at, 0], young * of.inner[at, 1], 0.0 * of.shear[at]):
            own = across_grain(along, of.upright[at], of.shear[at], grain)
            out[at] = np.maximum(out[at], used_across(own, crushing, tension, compression))
    return out


def findings(at: Solved) -> list[Finding]:
    """All webs of solid wood, at both edges and half way up."""
    webs, stress, edges = at.model.webs, at.webs, at.edges
    solid = np.array([m.kind == "solid" for m in webs.materials])[webs.material]
    tension = np.array([m.tension_across for m in webs.materials])[webs.material]
    compression = np.array([m.compression_across for m in webs.materials])[webs.material]
    zero = np.zeros(len(solid))
    across = np.sin(stress.grain) ** 2, np.cos(stress.grain) ** 2
    shares, largest = [], []
    for along in (edges.young * edges.inner[:, 0], edges.young * edges.inner[:, 1], zero):
        own = across_grain(along, stress.upright, stress.shear, stress.grain)
        crushing = across[1] * edges.crushing
        shares.append(used_across(own, crushing, tension, compression))
        largest.append(np.abs(own) + crushing)
    factor, applied = reserve_of(np.max(shares, axis=0)), np.max(largest, axis=0)
    there = solid & np.isfinite(factor) & (applied > 0)
    upright = across[0] > across[1]
    return [
        MODE.found(there & ~upright, factor, applied, stress.y),
        MODE.found(there & upright, factor, applied, stress.y, spared=True),
    ]


MODE = Mode(
    name="web splitting",
    words="splits or is crushed across its grain",
    source=(
        "greatest stress across the grain against tension or compression across: Wood Handbook, FPL-GTR-190, "
        "chapter 5 [from memory]; crushing M^2/(E I h) [computed]"
    ),
    block="webs",
    find=findings,
    ends_flight=True,
    reason=(
        "grain upright: a crack between two fibres leaves the rest of the panel working between its glue "
        "lines (common practice, no source)"
    ),
    joins=(),
    scatter=Rule("tension_across"),
    proof=sheared,
    remains=LOST,
    many=Many(family="webs", constants=constants, used=many),
)
