"""Point masses and covering, hung on the nodes of rails and ribs so that their weight and inertia act where
they are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.elements.mass import Masses
from models.build.model import Chordline, Draft, Part
from models.wing.parts import PointMass, Rail, Wing

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


def point_masses(
    wing: Wing,
    draft: Draft,
    y: Array,
    rib_station: Ints,
    chordlines: tuple[Chordline, ...],
    carriers: tuple[tuple[Rail, Ints, Array, int], ...],
    *,
    mirrored: bool,
) -> Masses | None:
    """Masses on rigid arms from the nodes that carry them.

    A mass carried by rails hangs on the rail node nearest to it; any other on the nodes of the nearest rib's
    chord lines before and behind it, by the lever rule, half on the upper and half on the lower contour.

    Parameters
    ----------
    wing : Wing
        The wing.
    draft : Draft
        Takes the nodes and parts.
    y : (n_stations,) float array
        Mesh stations, m.
    rib_station : (n_ribs,) int array
        Mesh station of every rib.
    chordlines : tuple of Chordline
        Nodes that may carry a mass, from leading to trailing edge.
    carriers : tuple of (Rail, node numbers, their x, mesh station)
        Rails as built.
    mirrored : bool
        Both sides are modelled; else a mass on the centre line counts by half.

    Returns
    -------
    Masses or None
        None where there is nothing to carry.
    """
    nodes: list[int] = []
    mass: list[float] = []
    at: list[tuple[float, float, float]] = []
    part: list[int] = []
    for item in wing.masses:
        for position, amount in _sides(item, mirrored):
            number = draft.part(Part("mass", "", item.name, None, ""))
            for node, share in _carried(item, position, y, rib_station, chordlines, carriers, mirrored):
                nodes.append(node)
                mass.append(share * amount)
                at.append(position)
                part.append(number)
    laid = _covering(wing, y, rib_station, chordlines, draft)
    for node, amount, where in [*laid, *_pieces(wing, y, rib_station, chordlines, draft)]:
        number = draft.part(Part("mass", "", "covering", None, ""))
        nodes.append(node)
        mass.append(amount)
        at.append(where)
        part.append(number)
    if not nodes:
        return None
    index = np.array(nodes, dtype=np.intp)[:, None]
    offsets = np.array(at)[:, None] - draft.positions()[index]
    return Masses(index, np.array(mass), offsets, np.array(part, dtype=np.intp))


def _sides(item: PointMass, mirrored: bool) -> list[tuple[tuple[float, float, float], float]]:
    right = (item.x, item.y, item.z)
    if not mirrored:
        # Half a wing: a mass on the centre line is shared with the other half, one off it is its own twin.
        return [(right, item.mass / 2)] if item.y < 1e-9 or not item.paired else [(right, item.mass)]
    if item.paired:
        return [(right, item.mass), ((item.x, -item.y, item.z), item.mass)]
    return [(right, item.mass)]


def _carried(
    item: PointMass,
    position: tuple[float, float, float],
    y: Array,
    rib_station: Ints,
    chordlines: tuple[Chordline, ...],
    carriers: tuple[tuple[Rail, Ints, Array, int], ...],
    mirrored: bool,
) -> list[tuple[int, float]]:
    x, at, _ = position
    if item.carried_by == "rails" and carriers:
        own = [c for c in carriers if not mirrored or at == 0 or np.sign(y[c[3]]) == np.sign(at)] or list(
            carriers
        )
        return [(int(numbers[np.argmin(np.abs(xs - x))]), 1 / len(own)) for _, numbers, xs, _ in own]
    order = rib_station[np.argsort(np.abs(y[rib_station] - at), kind="stable")]
    j = int(order[0])
    there = [line for line in chordlines if line.upper[j] >= 0 and line.lower[j] >= 0]
    xs = np.array([line.x[j] for line in there])
    if x <= xs[0] or len(there) == 1:
        pairs = [(0, 1.0)]
    elif x >= xs[-1]:
        pairs = [(len(there) - 1, 1.0)]
    else:
        k = int(np.searchsorted(xs, x)) - 1
        share = (x - xs[k]) / (xs[k + 1] - xs[k])
        pairs = [(k, 1 - share), (k + 1, share)]
    out = []
    for k, share in pairs:
        out += [(int(there[k].upper[j]), share / 2), (int(there[k].lower[j]), share / 2)]
    return out


def tributary(y: Array, stations: Ints, semispan: float, low: float) -> Array:
    """Length of span that each rib answers for, from half way to its neighbours, m.

    Parameters
    ----------
    y : (n_stations,) float array
        Mesh stations, m.
    stations : (n_ribs,) int array
        Mesh station of every rib.
    semispan, low : float
        Where the span ends outboard and inboard (or to port), m.

    Returns
    -------
    (n_ribs,) float array
        m.
    """
    at = np.sort(y[stations])
    bounds = np.concatenate([[low], (at[1:] + at[:-1]) / 2, [semispan]])
    length = np.diff(bounds)
    return length[np.searchsorted(at, y[stations])]


def _covering(
    wing: Wing, y: Array, rib_station: Ints, chordlines: tuple[Chordline, ...], draft: Draft
) -> list[tuple[int, float, tuple[float, float, float]]]:
    """Covering of both surfaces, shared out to the nodes of the ribs by the chord each answers for."""
    if wing.covering_mass_per_area <= 0 or wing.planform is None:
        return []
    low = float(y.min()) if y.min() < -1e-9 else 0.0
    lengths = tributary(y, rib_station, wing.semispan, low)
    points = draft.positions()
    out = []
    for j, length in zip(rib_station, lengths):
        there = [line for line in chordlines if line.upper[j] >= 0 and line.lower[j] >= 0]
        xs = np.array([line.x[j] for line in there])
        span = abs(float(y[j]))
        start = float(wing.planform.leading_edge_x.at(span))
        chord = float(wing.planform.chord.at(span))
        bounds = np.concatenate([[start], (xs[1:] + xs[:-1]) / 2, [start + chord]])
        for line, width in zip(there, np.diff(bounds)):
            for node in (int(line.upper[j]), int(line.lower[j])):
                out.append((node, float(wing.covering_mass_per_area * width * length), tuple(points[node])))
    return out


def _pieces(
    wing: Wing, y: Array, rib_station: Ints, chordlines: tuple[Chordline, ...], draft: Draft
) -> list[tuple[int, float, tuple[float, float, float]]]:
    """Covering that lies on parts of the wing: of every bay half on the rib at either end, on the lines of
    the chord by the width that each answers for."""
    plan = wing.planform
    if plan is None:
        return []
    edges, points, both = wing.bay_edges, draft.positions(), y.min() < -1e-9
    out = []
    for piece in wing.coverings:
        sides = {"starboard": 1.0, "port": -1.0} if both else {"starboard": 1.0}
        bays = [(sides[s], bay) for s, bay in sorted(piece.bays) if s in sides and piece.mass_per_area > 0]
        for sign, bay in bays:
            ends = edges[bay - wing.first_bay], edges[bay - wing.first_bay + 1]
            for near, far in (ends, ends[::-1]):
                # A little inside the bay, so that a bay across the centre line finds its own side's rib.
                target = sign * (0.999 * near + 0.001 * far)
                j = int(rib_station[np.argmin(np.abs(y[rib_station] - target))])
                span, middle = abs(float(y[j])), (3 * near + far) / 4
                start, chord = float(plan.leading_edge_x.at(span)), float(plan.chord.at(span))
                nodes = [line.upper if piece.surface == "upper" else line.lower for line in chordlines]
                there = [k for k, numbers in enumerate(nodes) if numbers[j] >= 0]
                xs = np.array([chordlines[k].x[j] for k in there])
                bounds = np.concatenate([[start], (xs[1:] + xs[:-1]) / 2, [start + chord]])
                low, high = float(piece.x_from.at(span)), float(piece.x_to.at(span))
                width = np.maximum(np.minimum(bounds[1:], high) - np.maximum(bounds[:-1], low), 0.0)
                # As wide as the film is in the middle of the half bay.
                width *= float(piece.x_to.at(middle) - piece.x_from.at(middle)) / (high - low)
                for k, wide in zip(there, width):
                    if wide > 0:
                        node = int(nodes[k][j])
                        mass = piece.mass_per_area * wide * (ends[1] - ends[0]) / 2
                        out.append((node, float(mass), tuple(points[node])))
    return out
