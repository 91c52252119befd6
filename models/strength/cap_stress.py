"""Stresses in the layers of every cap, at the points along each element where they can be worst.

In an open bay section forces vary linearly along a cap element, so that any sum of their absolute values is
greatest at one of its ends. Where a rib post stands on the cap the end is the post's face: inside its foot
the cap and the post are one piece of wood, and the peak on the joint's centre line is met by no section of
the cap.

Webs and sheeting hand their shear flow to a cap beside its axis, all along. The model gathers it at the
nodes, which makes the section forces jump there; mid-length they are right. In such bays the axial force is
drawn through the middles of the elements, up to one cap height from the post (Saint-Venant's principle), and
the cap's own bending is its mean over two clear heights: the web takes the cap's bending over within about a
clear height, and the peak that is left where a web, a brace or sheeting begins or ends is a local matter
that the mesh does not settle. Common practice leaves that bending out altogether and checks N/A.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.analysis import Analysis
from models.strength.mode import Layouts
from models.strength.web_stress import stretch_mean
from models.structure.model import Model


@dataclass(frozen=True, eq=False)
class CapStress:
    """Stresses of cap elements at two points each.

    Parameters
    ----------
    mean : (n, 2, n_layers) float array
        Mean stress of each layer, Pa, tension positive; nan where the element lies within a post's foot.
    bending : (n, 2, n_layers) float array
        Largest bending stress of the layer about its own mean (both bendings together, at a corner), Pa, not
        negative.
    tension, compression, bending_strength : (n, n_layers) float array
        Strengths along the grain, Pa; infinite for a layer that is not there.
    slowly : (n, n_layers) bool array
        The layer's material goes on bearing its crushing strength while it gives.
    y : (n, 2) float array
        Where the points lie along the span, m.
    open : (n,) bool array
        The spar has no web there.
    sheeted : (n,) bool array
        Sheeting is glued on the cap there.
    axial_force : (n,) float array
        N at mid-length, N.
    forces : (n, 2, 6) float array
        Section forces at the points, from which the stresses come, N and N m; nan within a post's foot.
    """

    mean: Array
    bending: Array
    tension: Array
    compression: Array
    bending_strength: Array
    slowly: NDArray[np.bool_]
    y: Array
    open: NDArray[np.bool_]
    sheeted: NDArray[np.bool_]
    axial_force: Array
    forces: Array


def bent(along: Array, bending: Array, rupture: Array) -> Array:
    """Share of the modulus of rupture, (...), not below 0, that bending uses at the corner that a mean
    stress loads most: the mean, positive the way the corner is judged (the other way it relieves the
    bending), the largest bending stress about it (not negative) and the modulus, Pa."""
    return np.asarray(np.maximum(bending - np.maximum(-along, 0.0), 0.0) / rupture)


def mostly_bent(along: Array, bending: Array, strength: Array, rupture: Array) -> NDArray[np.bool_]:
    """Whether bending uses more of its own strength than the mean stress of its.

    Parameters
    ----------
    along, bending : (...) float array
        As for `bent`, Pa.
    strength, rupture : (...) float array
        Against the mean stress, and modulus of rupture, Pa.

    Returns
    -------
    (...) bool array
    """
    return np.asarray(bent(along, bending, rupture) > np.maximum(along, 0.0) / strength)


def layer_stress(
    forces: Array, width: Array, heights: Array, modulus: Array, centroid: Array, upper: NDArray[np.bool_]
) -> tuple[Array, Array]:
    """Mean and bending stress of each layer of rectangular layered sections: plane sections, each layer its
    own E.

    Parameters
    ----------
    forces : (n, n_points, 6) float array
        N, V_y, V_z, T, M_y, M_z (N, N m), M_y > 0 pulling the upper side.
    width : (n,) float array
        m.
    heights, modulus : (n, n_layers) float array
        From the outer face inward, m; Pa.
    centroid : (n,) float array
        Depth of the axis below the outer face, m.
    upper : (n,) bool array
        The outer face is the upper one.

    Returns
    -------
    mean, bending : (n, n_points, n_layers) float array
        Pa; the mean with its sign, the bending stress about it at the worst corner, not negative.

    References
    ----------
    Elementary theory of bending of layered sections: Timoshenko, Strength of Materials (from memory).
    """
    stiff = modulus * heights * width[:, None]
    inward = np.cumsum(heights, axis=1) - heights / 2 - centroid[:, None]
    z = np.where(upper, -1.0, 1.0)[:, None] * inward
    axial = stiff.sum(axis=1)
    bending_y = (stiff * (z**2 + heights**2 / 12)).sum(axis=1)
    bending_z = axial * width**2 / 12
    stretch, curve_y, curve_z = (
        forces[:, :, 0] / axial[:, None],
        forces[:, :, 4] / bending_y[:, None],
        forces[:, :, 5] / bending_z[:, None],
    )
    mean = modulus[:, None] * (stretch[..., None] + curve_y[..., None] * z[:, None])
    own = (
        np.abs(curve_y)[..., None] * heights[:, None] / 2 + (np.abs(curve_z) * width[:, None] / 2)[..., None]
    )
    return mean, modulus[:, None] * own


def between_posts(first: Array, last: Array, centre: Array, half: Array) -> tuple[Array, Array]:
    """Clear part of elements outside the feet of posts.

    Parameters
    ----------
    first, last : (n,) float array
        Ends of the elements along the span, m.
    centre, half : (n, n_posts) float array
        Posts' centre lines and half their thickness, m; a post that does not concern an element has half
        zero.

    Returns
    -------
    start, end : (n,) float array
        m; end < start where a foot covers the element.
    """
    start, end = first.copy(), last.copy()
    if not centre.shape[1]:
        return start, end
    covers_start = (half > 0) & (np.abs(first[:, None] - centre) < half)
    covers_end = (half > 0) & (np.abs(last[:, None] - centre) < half)
    start = np.maximum(start, np.where(covers_start, centre + half, -np.inf).max(axis=1))
    end = np.minimum(end, np.where(covers_end, centre - half, np.inf).min(axis=1))
    return start, end


def through_middles(values: Array, first: Array, last: Array, run: NDArray[np.intp], at: Array) -> Array:
    """Values at points of elements on the parabolas through the values at the middles of three neighbouring
    elements.

    Parameters
    ----------
    values : (n, n_values) float array
        At mid-length of each element.
    first, last : (n,) float array
        Ends of the elements, m.
    run : (n,) int array
        Elements of one run adjoin; curves are not drawn from one run to another.
    at : (n, 2) float array
        Points in the first and in the second half of each element, m.

    Returns
    -------
    (n, 2, n_values) float array
        At the ends of a run the parabola of its last three elements goes on; two elements make a line, and a
        lone one keeps its value.
    """
    order = np.lexsort((first, run))
    middle, value, owner = ((first + last) / 2)[order], values[order], run[order]
    begins = np.searchsorted(owner, owner, side="left")
    count = np.searchsorted(owner, owner, side="right") - begins
    place = np.arange(len(order)) - begins
    low = begins + np.clip(place - 1, 0, np.maximum(count - 3, 0))
    out = np.empty((*at.shape, values.shape[1]))
    nodes = [np.minimum(low + k, begins + count - 1) for k in range(3)]
    x = np.stack([middle[n] for n in nodes])
    used = np.stack([np.full(len(order), True), count > 1, count > 2])
    for side in (0, 1):
        point = at[order, side]
        total = np.zeros((len(order), values.shape[1]))
        for k in range(3):
            weight = used[k].astype(float)
            for m in range(3):
                if m != k:
                    pair = used[k] & used[m]
                    weight = np.where(
                        pair, weight * (point - x[m]) / np.where(pair, x[k] - x[m], 1.0), weight
                    )
            total += weight[:, None] * value[nodes[k]]
        out[order, side] = total
    return out


def under_sheeting(analysis: Analysis) -> NDArray[np.bool_]:
    """Which cap elements have sheeting glued on them."""
    model = analysis.model
    names = [spar.name for spar in model.wing.spars]
    covered = {(p.spar, p.place, p.bay, p.side) for p in model.parts if p.kind == "sheeting" and p.spar}
    if not covered:
        return np.zeros(len(model.caps.spar), dtype=bool)
    flying = model.wing.flies
    rows = zip(model.caps.spar.tolist(), model.caps.upper.tolist(), model.caps.span.tolist())
    return np.array(
        [
            (names[s], "upper" if u else "lower", int(model.bay[i]), model.side(i) if flying else "")
            in covered
            for s, u, i in rows
        ],
        dtype=bool,
    )


def two_heights(model: Model) -> tuple[NDArray[np.intp], Array]:
    """Bay of each cap element (n,), and two clear heights of each bay (n_bays,), m, not less than two of the
    cap."""
    caps, parts = model.caps, model.structure.blocks["caps"].part
    assert parts is not None
    _, run = np.unique(parts, return_inverse=True)
    length, height = np.diff(model.y)[caps.span], caps.layer_heights.sum(axis=1)
    depth = (model.depth[caps.spar, caps.span] + model.depth[caps.spar, caps.span + 1]) / 2
    clear = np.maximum(depth - height, height)
    return run, np.bincount(run, 2 * clear * length) / np.bincount(run, length)


@dataclass(frozen=True, eq=False)
class CapsAsBuilt:
    """What of the stresses of caps does not hang on their load: of `CapStress` all strengths and places, ends
    and length of the elements along the span, m, whether webs or sheeting are glued on, points over the
    length, and run and stretch as `two_heights` has them."""

    first: Array
    last: Array
    joined: NDArray[np.bool_]
    covered: NDArray[np.bool_]
    points: Array
    share: Array
    run: NDArray[np.intp]
    stretch: Array
    absent: NDArray[np.bool_]
    table: Array
    slowly: NDArray[np.bool_]
    is_open: NDArray[np.bool_]
    sheeted: NDArray[np.bool_]


def caps_as_built(analysis: Analysis) -> CapsAsBuilt:
    """What of the stresses of all caps does not hang on their load."""
    model = analysis.model
    caps = model.caps
    first, last = model.y[caps.span], model.y[caps.span + 1]
    webbed = set(zip(model.webs.spar.tolist(), model.webs.span.tolist()))
    is_open = np.array(
        [(s, i) not in webbed for s, i in zip(caps.spar.tolist(), caps.span.tolist())], dtype=bool
    )
    sheeted = under_sheeting(analysis)
    joined = ~is_open | sheeted
    start, end = _clear_of_posts(model, first, last, np.where(joined, caps.layer_heights.sum(axis=1), 0.0))
    covered = end <= start
    points = np.stack([start, end], axis=1)
    share = (points - first[:, None]) / (last - first)[:, None]
    run, stretch = two_heights(model)
    absent = caps.layer_heights <= 0
    n_layers = caps.layer_heights.shape[1]
    strengths = {
        key: [
            [getattr(w, k) for w in m] + [1.0] * (n_layers - len(m))
            for k in ("tension", "compression", "bending", "crushes_slowly")
        ]
        for key, m in {id(m): m for m in caps.materials}.items()
    }
    table = np.array([strengths[id(m)] for m in caps.materials]).reshape(-1, 4, n_layers)
    slowly = table[:, 3] > 0
    table = np.where(absent[:, None], np.inf, table)
    return CapsAsBuilt(
        first, last, joined, covered, points, share, run, stretch, absent, table, slowly, is_open, sheeted
    )


def _clear_of_posts(model: Model, first: Array, last: Array, glued: Array) -> tuple[Array, Array]:
    """Clear part of all cap elements outside the feet of their own spars' posts, m, (n,) each.

    `glued` is how far beyond a post its foot still counts, m, (n,). A spar asks after its own posts alone.
    """
    caps, posts = model.caps, model.posts
    start, end = first.copy(), last.copy()
    by_spar = np.argsort(posts.spar, kind="stable")
    owner = posts.spar[by_spar]
    of_caps = np.argsort(caps.spar, kind="stable")
    own = caps.spar[of_caps]
    for spar in np.unique(own).tolist():
        mine = of_caps[np.searchsorted(own, spar) : np.searchsorted(own, spar, side="right")]
        its = by_spar[np.searchsorted(owner, spar) : np.searchsorted(owner, spar, side="right")]
        reach = posts.thickness[its] / 2 + glued[mine, None]
        centre = np.broadcast_to(model.y[posts.station[its]], reach.shape)
        start[mine], end[mine] = between_posts(first[mine], last[mine], centre, reach)
    return start, end


def cap_stress(analysis: Analysis, built: CapsAsBuilt | None = None) -> CapStress:
    """Stresses of all caps of an analysis, with what does not hang on its load where that is there."""
    model = analysis.model
    caps = model.caps
    built = caps_as_built(analysis) if built is None else built
    ends = analysis.recovered["caps"]["forces"]
    parts = model.structure.blocks["caps"].part
    assert parts is not None
    middle = ends.mean(axis=1)
    drawn = through_middles(middle, built.first, built.last, parts, built.points)
    length, feet = built.last - built.first, np.zeros((len(built.stretch), 2))
    for moment in (4, 5):
        mean_moment = stretch_mean(middle[:, moment], built.first, length, built.run, built.stretch, feet)
        drawn[:, :, moment] = mean_moment[:, None]
    straight = ends[:, :1] + built.share[..., None] * (ends[:, 1:] - ends[:, :1])
    forces = np.where(built.joined[:, None, None], drawn, straight)
    forces[built.covered] = np.nan
    mean, bending = layer_stress(
        forces, caps.width, caps.layer_heights, caps.layer_modulus, caps.centroid, caps.upper
    )
    return CapStress(
        np.where(built.absent[:, None], 0.0, mean),
        np.where(built.absent[:, None], 0.0, bending),
        built.table[:, 0],
        built.table[:, 1],
        built.table[:, 2],
        built.slowly,
        built.points,
        built.is_open,
        built.sheeted,
        ends[:, :, 0].mean(axis=1),
        forces,
    )


def fibres(of: Layouts) -> list[tuple[int, Array, Array]]:
    """Mean and bending stress of all caps in many layouts, as `layer_stress`: (layer, mean, bending) of every
    layer at both points, (n, n_layouts), Pa."""
    table = of.table["caps"]
    out = []
    for p in (0, 1):
        force, up, aft = of.force[:, p], of.up[:, p], of.aft[:, p]
        sizes = np.abs(up), np.abs(aft)
        for k in range(table["pull"].shape[1]):
            pull, tilt, bend, side = (table[name][:, k, None] for name in ("pull", "tilt", "bend", "side"))
            out.append((k, pull * force + tilt * up, bend * sizes[0] + side * sizes[1]))
    return out


def worst_of_layers(
    of: Layouts, limits: tuple[str, ...], rule: Callable[..., Array], sign: float, *, bent_most: bool
) -> Array:
    """Most that any layer of each cap uses in many layouts, (n, n_layouts).

    Parameters
    ----------
    of : Layouts
        What the caps bear.
    limits : tuple of str
        Columns that the rule takes after the stresses: the strength against the mean stress and the modulus
        of rupture first.
    rule : callable
        Share used, of mean and bending stress and the limits.
    sign : float
        1 where tension, -1 where compression adds to the bending.
    bent_most : bool
        Only where bending uses most of an open bay's cap; else all but there.
    """
    table = of.table["caps"]
    is_open = np.flatnonzero(table["open"])
    rows: Any = is_open if bent_most else slice(None)
    most = np.zeros_like(of.force[rows, 0])
    for k, mean, bending in of.the(fibres):
        bounds = [table[name][rows, k, None] for name in limits]
        share = rule(mean[rows], bending[rows], *bounds)
        if len(is_open):
            at = slice(None) if bent_most else is_open
            mostly = mostly_bent(sign * mean[is_open], bending[is_open], *(b[at] for b in bounds[:2]))
            share[at] = np.where(mostly == bent_most, share[at], 0.0)
        most = np.maximum(most, share)
    if not bent_most:
        return most
    out = np.zeros_like(of.force[:, 0])
    out[is_open] = most
    return out
