"""Leading and trailing edge sticks as they are once sanded: the part of the stick that lies within the
outline.

A builder buys a rectangle and sands it to the section. What is left at the nose has four fifths of the
rectangle's area and half of its second moment or less, a trailing edge is a wedge, and both count for much
where nothing is sheeted.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.section import OutlineSection, outline_section
from models.wing.parts import Edge, Wing

Array = NDArray[np.float64]

_POINTS = 32


def stick_sections(wing: Wing, edge: Edge, y: Array) -> tuple[OutlineSection, Array, Array]:
    """Sections of an edge stick at spanwise positions, and where their centroids lie.

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
    sections : OutlineSection
        About their centroids.
    x, z : (n,) float array
        Centroids, m.
    """
    plan = wing.planform
    assert plan is not None, "edges belong to a wing with a planform"
    span = np.abs(y)
    chord = plan.chord.at(span)
    leading = edge.kind == "leading"
    points, weights = np.polynomial.legendre.leggauss(_POINTS)
    s, ds = (points + 1) / 2, weights / 2
    # A nose is round: its height grows with the root of the distance, which is smooth in s with x = w s^2.
    share = s**2 if leading else s
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
    stick = edge.material.stick()
    rate = 2 * s if leading else np.ones_like(s)
    sections = outline_section(
        s, ds, edge.width * share, edge.width * rate, centre, half, stick.G_aft, stick.G_up, closed=leading
    )
    at = np.einsum("q,nq->n", ds * rate, half * x[:, :-1]) / np.einsum("q,nq->n", ds * rate, half)
    return sections, at, sections.centre_z
