"""Point masses and covering, hung on the nodes of rails and ribs so that their weight and inertia act where
they are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from fea.arrays import Array, Ints
from fea.elements.mass import Masses
from models.structure.ground import Ground
from models.structure.model import Chordline, Part
from models.structure.rails import RailNodes
from models.wing.parts import Planform, PointMass, Wing

Carried = list[tuple[int, float]]
Place = tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Carriers:
    """What may carry masses: ribs by mesh station, lines of the chord from leading to trailing edge
    (`anchors` those of a spar or an edge), rails, and the nodes of the caps on the centre line."""

    rib_station: Ints
    chordlines: tuple[Chordline, ...]
    anchors: tuple[Chordline, ...]
    rails: tuple[RailNodes, ...]
    centre: Ints


class _Hung(NamedTuple):
    """A mass: nodes that carry it with their shares, kg, its place (m) and number of its part; `one` is the
    number of the point mass that it is a share of, `levers` whether levers along the chord and along the
    span put it in its place."""

    carried: Carried
    amount: float
    place: Place
    part: int
    one: int
    levers: tuple[bool, bool] = (False, False)


def point_masses(ground: Ground, on: Carriers) -> Masses | None:
    """Masses on rigid arms from the nodes that carry them.

    A mass carried by rails hangs on the rail node nearest to it. One carried by the fuselage hangs, as all of
    that does, on the caps of the centre line, alike on each: couples of nose and tail meet in the fuselage
    and not in the wing. Any other is carried by the ribs to both sides of it by the lever rule, each with a
    row of its own (a row over several bays would tie these into one, for whoever takes wings apart at their
    ribs; of the moments of inertia only that about x is larger, by mass times both distances), and of each by
    the spars and edges before and behind it, or the two nearest to it if it lies beyond them, by the lever
    rule and half by the upper and half by the lower contour: forces alone, as a tray that is held at four
    places hands them over (common practice, no source). Where there is one spar alone, on its caps with what
    couple that takes.

    Where half a wing is modelled, a mass on the centre line counts by half. None where there is nothing to
    carry.
    """
    wing, draft, points = ground.wing, ground.draft, ground.draft.positions()
    rows: list[_Hung] = []
    count = 0
    named = [(item, Part("mass", "", item.name, None, "")) for item in wing.masses]
    for item, of in (*named, *_joiners(wing), *_fastening(wing)):
        for position, amount in _sides(item, ground.mirrored):
            number = draft.part(of)
            count += 1
            for carried, share, levers in _carriers(ground, on, item, position, points):
                rows.append(_Hung(carried, share * amount, position, number, count, levers))
    for node, amount in [*_covering(ground, on), *_pieces(ground, on)]:
        number = draft.part(Part("mass", "", "covering", None, ""))
        count += 1
        x, y, z = points[node].tolist()
        rows.append(_Hung([(node, 1.0)], amount, (x, y, z), number, count))
    if not rows:
        return None
    k = max(len(row.carried) for row in rows)
    nodes, shares = np.zeros((len(rows), k), dtype=np.intp), np.zeros((len(rows), k))
    for e, row in enumerate(rows):
        nodes[e] = row.carried[0][0]
        nodes[e, : len(row.carried)], shares[e, : len(row.carried)] = zip(*row.carried)
    offsets = np.array([row.place for row in rows])[:, None] - points[nodes]
    # Where the lever rule puts the mass in its place.
    for axis in (0, 1):
        offsets[[row.levers[axis] for row in rows], :, axis] = 0.0
    mass = np.array([row.amount for row in rows])
    part, one = np.array([(row.part, row.one) for row in rows], dtype=np.intp).T
    return Masses(nodes, mass, offsets, shares, part, one)


def _fastening(wing: Wing) -> list[tuple[PointMass, Part]]:
    """Bolts and dowels, or bands, on the centre line."""
    own = wing.fastening
    if own is None:
        return []
    spar = wing.spars[0]
    x = (own.bolts_at + own.dowels_at) / 2 if own.bolts else float(spar.x.at(0.0))
    z = float(spar.z_upper.at(0.0) + spar.z_lower.at(0.0)) / 2
    what = "wing bolts" if own.bolts else "rubber bands"
    return [(PointMass(what, own.mass, x, 0.0, z, "wing"), Part(what))]


def _joiners(wing: Wing) -> list[tuple[PointMass, Part]]:
    """Joiners and the wood of their boxes, each as two masses, half way out to both sides of the joint."""
    spars, out = {spar.name: spar for spar in wing.spars}, []
    for one in wing.joiners:
        spar, box = spars[one.spar], one.at + (one.box_from + one.reach) / 2
        high, low = float(spar.z_upper.at(box)), float(spar.z_lower.at(box))
        caps = sum(float(layer.height.at(box)) for cap in (spar.upper, spar.lower) for layer in cap.layers)
        width = min(float(spar.upper.width.at(box)), float(spar.lower.width.at(box)))
        length = one.reach - one.box_from
        filled = one.filler.density * max((high - low - caps) * width - one.area, 0.0) * length
        whole = one.material.density * one.area * one.reach
        # Off the centre line the other side has one of its own, and it lies to both sides of the joint.
        at, whole = (one.at, 2 * whole) if one.at else (one.reach / 2, whole)
        for kind, y, mass in (("joiner", at, whole), ("joiner box", box, filled)):
            x, z = float(spar.x.at(y)), (high + low) / 2
            item = PointMass(kind, mass, x, y, z, "wing", paired=True)
            out.append((item, Part(kind, one.spar, one.form, station=one.station)))
            if kind == "joiner box" and one.at:
                inner = replace(item, y=one.at - (one.box_from + one.reach) / 2)
                out.append((inner, Part(kind, one.spar, one.form, station=one.station)))
    return out


def _sides(item: PointMass, mirrored: bool) -> list[tuple[Place, float]]:
    right = (item.x, item.y, item.z)
    if not mirrored:
        # Half a wing: a mass on the centre line is shared with the other half, one off it is its own twin.
        return [(right, item.mass / 2)] if item.y < 1e-9 or not item.paired else [(right, item.mass)]
    if item.paired:
        return [(right, item.mass), ((item.x, -item.y, item.z), item.mass)]
    return [(right, item.mass)]


def _carriers(
    ground: Ground, on: Carriers, item: PointMass, position: Place, points: Array
) -> list[tuple[Carried, float, tuple[bool, bool]]]:
    """Nodes that carry a mass together with their shares, how much of it, and whether levers along the chord
    and along the span put it in its place."""
    (x, at, _), y, none = position, ground.y, (False, False)
    if item.carried_by == "fuselage":
        return [([(int(n), 1 / len(on.centre)) for n in on.centre], 1.0, none)]
    if item.carried_by == "rails" and on.rails:
        beside_it = [r for r in on.rails if np.sign(y[r.station]) == np.sign(at)]
        own = beside_it if ground.mirrored and at != 0 and beside_it else on.rails
        return [([(int(r.nodes[np.argmin(np.abs(r.x - x))]), 1.0)], 1 / len(own), none) for r in own]
    beside = _ribs_beside(y[on.rib_station], at, ground.mirrored)
    return [
        (carried, share * own, (len(carried) > 1, len(carried) > 1 and len(beside) > 1))
        for k, share in beside
        for carried, own in _on_rib(x, int(on.rib_station[k]), on.anchors, points)
    ]


_BESIDE = 0.1
"""Of the bay: a mass nearer to a rib than that stands on it, and its neighbours carry it (no source)."""


def _ribs_beside(stations: Array, at: float, mirrored: bool) -> list[tuple[int, float]]:
    """Ribs that carry a mass at a place along the span, and their shares: those to both sides of it."""
    order = np.argsort(stations)
    y, number = stations[order], order
    if not mirrored:  # the other half's ribs are the images of these
        images = y[::-1] * -1.0
        keep = images < -1e-9
        y, number = np.concatenate([images[keep], y]), np.concatenate([order[::-1][keep], order])
    near = int(np.argmin(np.abs(y - at)))
    bay = float(np.diff(y)[[max(near - 1, 0), min(near, len(y) - 2)]].min()) if len(y) > 1 else 1.0
    left = near if y[near] <= at else near - 1
    right = left + 1
    if abs(y[near] - at) < _BESIDE * bay and 0 < near < len(y) - 1:
        left, right = near - 1, near + 1
    if left < 0 or right >= len(y) or (near in (0, len(y) - 1) and abs(y[near] - at) < _BESIDE * bay):
        return [(int(number[near]), 1.0)]
    share = float((at - y[left]) / (y[right] - y[left]))
    return [(int(number[left]), 1 - share), (int(number[right]), share)]


def _on_rib(x: float, j: int, anchors: tuple[Chordline, ...], points: Array) -> list[tuple[Carried, float]]:
    """Nodes of the rib at a mesh station that carry a mass at x together, and how much of it."""
    pairs = [(int(a.upper[j]), int(a.lower[j])) for a in anchors if a.upper[j] >= 0 and a.lower[j] >= 0]
    if len(pairs) == 1:
        return [([(node, 1.0)], 0.5) for node in pairs[0]]
    xs = np.array([points[list(pair), 0].mean() for pair in pairs])
    k = int(np.clip(np.searchsorted(xs, x) - 1, 0, len(xs) - 2))
    share = float((x - xs[k]) / (xs[k + 1] - xs[k]))
    levers = zip((*pairs[k], *pairs[k + 1]), ((1 - share) / 2,) * 2 + (share / 2,) * 2)
    return [(list(levers), 1.0)]


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


def _chord_bounds(plan: Planform, lines: list[Chordline], y: Array, j: int) -> Array:
    """Between which places along the chord each of some lines answers for what lies there, m."""
    span, xs = abs(float(y[j])), np.array([line.x[j] for line in lines])
    start, chord = float(plan.leading_edge_x.at(span)), float(plan.chord.at(span))
    return np.concatenate([[start], (xs[1:] + xs[:-1]) / 2, [start + chord]])


def _covering(ground: Ground, on: Carriers) -> list[tuple[int, float]]:
    """Covering of both surfaces: masses (kg) of the nodes of the ribs by the chord each answers for."""
    wing, y = ground.wing, ground.y
    if wing.covering_mass_per_area <= 0 or wing.planform is None:
        return []
    low = float(y.min()) if y.min() < -1e-9 else 0.0
    lengths = tributary(y, on.rib_station, wing.semispan, low)
    out = []
    for j, length in zip(on.rib_station, lengths):
        there = [line for line in on.chordlines if line.upper[j] >= 0 and line.lower[j] >= 0]
        for line, width in zip(there, np.diff(_chord_bounds(wing.planform, there, y, j))):
            mass = float(wing.covering_mass_per_area * width * length)
            out += [(int(line.upper[j]), mass), (int(line.lower[j]), mass)]
    return out


def _pieces(ground: Ground, on: Carriers) -> list[tuple[int, float]]:
    """Covering that lies on parts of the wing: of every bay half on the rib at either end, on the lines of
    the chord by the width that each answers for."""
    wing, y, plan = ground.wing, ground.y, ground.wing.planform
    if plan is None:
        return []
    edges, out = wing.bay_edges, []
    for piece in wing.coverings:
        sides = {"starboard": 1.0, "port": -1.0} if y.min() < -1e-9 else {"starboard": 1.0}
        bays = [(sides[s], bay) for s, bay in sorted(piece.bays) if s in sides and piece.mass_per_area > 0]
        for sign, bay in bays:
            ends = edges[bay - wing.first_bay], edges[bay - wing.first_bay + 1]
            for near, far in (ends, ends[::-1]):
                # A little inside the bay, so that a bay across the centre line finds its own side's rib.
                target = sign * (0.999 * near + 0.001 * far)
                j = int(on.rib_station[np.argmin(np.abs(y[on.rib_station] - target))])
                span, middle = abs(float(y[j])), (3 * near + far) / 4
                nodes = {k: getattr(line, piece.surface)[j] for k, line in enumerate(on.chordlines)}
                there = [k for k, node in nodes.items() if node >= 0]
                bounds = _chord_bounds(plan, [on.chordlines[k] for k in there], y, j)
                low, high = float(piece.x_from.at(span)), float(piece.x_to.at(span))
                width = np.maximum(np.minimum(bounds[1:], high) - np.maximum(bounds[:-1], low), 0.0)
                # As wide as the film is in the middle of the half bay.
                width *= float(piece.x_to.at(middle) - piece.x_from.at(middle)) / (high - low)
                for k, wide in zip(there, width):
                    if wide > 0:
                        mass = piece.mass_per_area * wide * (ends[1] - ends[0]) / 2
                        out.append((int(nodes[k]), float(mass)))
    return out
