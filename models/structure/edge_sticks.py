"""Leading and trailing edge sticks as they are once sanded: the part of the stick that lies within the
outline.

A builder buys a rectangle and sands it to the section. What is left at the nose has four fifths of the
rectangle's area and half of its second moment or less, a trailing edge is a wedge, and both count for much
where nothing is sheeted.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from fea.arrays import Array
from models.section import OutlineSection, outline_section
from models.structure.kept import kept
from models.wing.parts import Edge, Planform, Wing

_POINTS = 32
_GAUSS = np.polynomial.legendre.leggauss(_POINTS)


@dataclass(frozen=True, eq=False)
class _Sanded:
    """What is left of a stick at n positions along the span, by points along the chord.

    `s`, `weight` (n_points,) quadrature on 0 to 1 from the outer end; `depth`, `rate` (n_points,) distance
    from there and its slope against s, m; `x`, `centre`, `half` (n, n_points) place, middle and half
    height, m.
    """

    s: Array
    weight: Array
    depth: Array
    rate: Array
    x: Array
    centre: Array
    half: Array


def _sanded(wing: Wing, edge: Edge, y: Array, *, ends: bool = False) -> _Sanded:
    """What is left of a stick; `ends` puts its outer and inner end among the points, for no integral."""
    plan = wing.planform
    assert plan is not None, "edges belong to a wing with a planform"
    span = np.abs(y)
    chord = plan.chord.at(span)
    leading = edge.kind == "leading"
    points, weights = _GAUSS
    s, ds = (points + 1) / 2, weights / 2
    if ends:
        s, ds = np.linspace(0.0, 1.0, _POINTS), np.zeros(_POINTS)
    # A nose is round: its height grows with the root of the distance, which is smooth in s with x = w s^2.
    share, rate = (s**2, 2 * s) if leading else (s, np.ones_like(s))
    depth = np.concatenate([share, [1.0]]) * edge.width
    along = np.broadcast_to(span[:, None], (len(span), len(depth))).ravel()
    fraction = depth[None, :] / chord[:, None]
    fraction = np.clip(fraction if leading else 1 - fraction, 0.0, 1.0)
    x, top, bottom = _outline(plan, along, fraction)
    middle = (top[:, -1:] + bottom[:, -1:]) / 2
    top, bottom = np.minimum(top, middle + edge.height / 2), np.maximum(bottom, middle - edge.height / 2)
    half = np.maximum(top - bottom, 0.0)[:, :-1] / 2
    centre = (top + bottom)[:, :-1] / 2
    return _Sanded(s, ds, edge.width * share, edge.width * rate, x[:, :-1], centre, half)


@kept(64)
def _outline(plan: Planform, along: Array, fraction: Array) -> tuple[Array, ...]:
    """Of the outline at stations, (n m,), and shares of the chord, (n, m): x of the upper surface, and the
    heights of both."""
    upper, lower = (plan.surface_at(along, fraction.ravel(), upper) for upper in (True, False))
    return tuple(v.reshape(fraction.shape) for v in (*upper, lower[1]))


def where_skin_meets(wing: Wing, edge: Edge, y: Array) -> tuple[Array, Array, Array]:
    """Where ribs and sheeting that follow the outline come down on an edge stick.

    A stick as high as the outline is met at its inner face. The outline closes over a lower one and meets its
    corners further out, where it is as high as the stick.

    Parameters
    ----------
    wing : Wing
        With a planform.
    edge : Edge
        As for `stick_sections`.
    y : (n,) float array
        Spanwise positions, m.

    Returns
    -------
    x, top, bottom : (n,) float arrays
        Place along the chord and heights of the outline there, m.
    """
    outline = _sanded(wing, replace(edge, height=np.inf), y, ends=True)
    row = np.arange(len(y))
    # From the inner face outwards: the last point up to which the outline is higher than the stick.
    higher = outline.half > edge.height / 2
    out = outline.half.shape[1] - 1 - np.argmin(higher[:, ::-1], axis=1)
    out = np.where(higher.all(axis=1), 0, out)
    inner = np.minimum(out + 1, outline.half.shape[1] - 1)
    low, high = outline.half[row, out], outline.half[row, inner]
    rise = np.where(inner > out, high - low, 1.0)
    share = np.clip((edge.height / 2 - low) / np.where(rise > 0, rise, 1.0), 0.0, 1.0) * (inner > out)
    x, centre, half = (
        v[row, out] + share * (v[row, inner] - v[row, out]) for v in (outline.x, outline.centre, outline.half)
    )
    return x, centre + half, centre - half


def stick_centroids(wing: Wing, edge: Edge, y: Array) -> tuple[Array, Array]:
    """Centroids x, z, (n,), m, of an edge stick at spanwise positions (n,), m."""
    left = _sanded(wing, edge, y)
    amount = left.half * (left.weight * left.rate)
    return np.average(left.x, axis=1, weights=amount), np.average(left.centre, axis=1, weights=amount)


def stick_sections(wing: Wing, edge: Edge, y: Array) -> OutlineSection:
    """Sections of an edge stick at spanwise positions.

    Parameters
    ----------
    wing : Wing
        With a planform.
    edge : Edge
        Its width counts from the outer end of the chord; its height is centred on the outline where it meets
        the ribs, and what stands out of the outline is sanded off.
    y : (n,) float array
        Spanwise positions, m.

    Returns
    -------
    OutlineSection
        About their centroids.
    """
    left, stick = _sanded(wing, edge, y), edge.material.stick()
    shape = left.s, left.weight, left.depth, left.rate, left.centre, left.half
    return OutlineSection(*_cut_out(*shape, stick.G_aft, stick.G_up, edge.kind == "leading"))


@kept(16)
def _cut_out(*shape: Any) -> tuple[Array, ...]:
    """Fields of `OutlineSection`, from what `outline_section` takes."""
    *figures, closed = shape
    found = outline_section(*figures, closed=closed)
    return tuple(getattr(found, one.name) for one in fields(OutlineSection))
