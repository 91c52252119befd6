"""Leading and trailing edge sticks as they are once sanded: the part of the stick that lies within the
outline.

A builder buys a rectangle and sands it to the section. What is left at the nose has four fifths of the
rectangle's area and half of its second moment or less, a trailing edge is a wedge, and both count for much
where nothing is sheeted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.section import OutlineSection, outline_section
from models.wing.parts import Edge, Wing

Array = NDArray[np.float64]

_POINTS = 32


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


def _sanded(wing: Wing, edge: Edge, y: Array) -> _Sanded:
    plan = wing.planform
    assert plan is not None, "edges belong to a wing with a planform"
    span = np.abs(y)
    chord = plan.chord.at(span)
    leading = edge.kind == "leading"
    points, weights = np.polynomial.legendre.leggauss(_POINTS)
    s, ds = (points + 1) / 2, weights / 2
    # A nose is round: its height grows with the root of the distance, which is smooth in s with x = w s^2.
    share, rate = (s**2, 2 * s) if leading else (s, np.ones_like(s))
    depth = np.concatenate([share, [1.0]]) * edge.width
    along = np.broadcast_to(span[:, None], (len(span), len(depth))).ravel()
    fraction = depth[None, :] / chord[:, None]
    fraction = np.clip(fraction if leading else 1 - fraction, 0.0, 1.0)
    (x, top), (_, bottom) = (
        tuple(v.reshape(fraction.shape) for v in plan.surface_at(along, fraction.ravel(), upper))
        for upper in (True, False)
    )
    middle = (top[:, -1:] + bottom[:, -1:]) / 2
    top, bottom = np.minimum(top, middle + edge.height / 2), np.maximum(bottom, middle - edge.height / 2)
    half = np.maximum(top - bottom, 0.0)[:, :-1] / 2
    centre = (top + bottom)[:, :-1] / 2
    return _Sanded(s, ds, edge.width * share, edge.width * rate, x[:, :-1], centre, half)


def stick_centroids(wing: Wing, edge: Edge, y: Array) -> tuple[Array, Array]:
    """Centroids of an edge stick at spanwise positions.

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
    x, z : (n,) float array
        m.
    """
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
    return outline_section(
        left.s,
        left.weight,
        left.depth,
        left.rate,
        left.centre,
        left.half,
        stick.G_aft,
        stick.G_up,
        closed=edge.kind == "leading",
    )
