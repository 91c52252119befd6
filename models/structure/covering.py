"""Film on the open areas of the net: taut membranes between ribs, spars and edges.

The film is glued to ribs, caps and edge sticks and lies on the same lines of nodes as sheeting does; over
sheeting it is left out, and in a bay without a rib at both ends. It has no stiffness against being bent.
Where a node carries film alone, its tension between the two ribs holds it to the straight line between them,
as a string's does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.elements.membrane import Membranes, corner_masses, element_axes
from fea.elements.tie import Ties, follow
from models.structure.ground import Ground
from models.structure.model import FilmElements
from models.structure.ribs import Net, NetLine, laid_under, panels_between, reaches, sheet_fibre
from models.wing.parts import Covering, Wing


def taut(wing: Wing) -> list[Covering]:
    """Covering that has stiffness."""
    return [one for one in wing.coverings if one.stretch is not None]


def build_covering(
    ground: Ground, net: Net, ribs: Ints, others: Ints
) -> tuple[Membranes | None, Ties | None, FilmElements | None]:
    """Membranes of the film, what holds their free nodes, and the films' figures.

    Parameters
    ----------
    ground : Ground
        Of a wing with covering.
    net : Net
        Laid with nodes under the covering.
    ribs : (n_ribs,) int array
        Mesh station of every rib.
    others : int array
        Nodes that something else than film holds.

    Returns
    -------
    Membranes, Ties, FilmElements
        None where there is no film.
    """
    between_ribs = _between_ribs(ground, ribs)
    strips = []
    for k, film in enumerate(taut(ground.wing)):
        lies = ground.lies(film.bays) & between_ribs
        for strip, (a, b) in enumerate(zip(net.lines[:-1], net.lines[1:])):
            spans = np.flatnonzero(lies & _open(ground, film, a, b))
            if len(spans):
                strips.append((k, film, strip, a, b, spans))
    if not strips:
        return None, None, None
    corners, nodes, part = [], [], []
    for _, film, _, a, b, i in strips:
        upper = film.surface == "upper"
        four, where_they_are = panels_between(a, b, upper, 0.0, ground.y, i)
        nodes.append(four)
        corners.append(where_they_are)
        part += [ground.part("covering", "", film.surface, e) for e in i.tolist()]
    at, where = np.concatenate(nodes), np.concatenate(corners)
    count = [len(strip[-1]) for strip in strips]
    films = [strip[1] for strip in strips]
    grain = np.repeat([film.grain for film in films], count)
    stretch = np.repeat(np.stack([film.stretch for film in films if film.stretch is not None]), count, axis=0)
    tension = np.repeat(np.array([film.pretension for film in films]), count, axis=0)
    fibre = np.concatenate([sheet_fibre(c, film.grain) for c, film in zip(corners, films)])
    number = np.array(part, dtype=np.intp)
    membranes = Membranes(
        at, np.ones(len(at)), stretch, fibre, where - ground.draft.positions()[at], part=number
    )
    of, ahead, span = (
        np.repeat([s[0] for s in strips], count),
        np.repeat([s[2] for s in strips], count),
        np.concatenate([s[-1] for s in strips]),
    )
    figures = FilmElements(of, ahead, span, pretension_in_film(where, fibre, grain, tension), tension)
    return membranes, _ties(ground, net, ribs, membranes, where, tension[:, 0], others), figures


def _open(ground: Ground, film: Covering, a: NetLine, b: NetLine) -> NDArray[np.bool_]:
    """Spans between two lines of the net where the film lies and no sheeting does."""
    on = reaches(ground, film, a, b) & laid_under(film, a, b)
    for sheet in ground.wing.sheets:
        if sheet.surface == film.surface:
            on &= ~(ground.lies(sheet.bays) & reaches(ground, sheet, a, b))
    return np.asarray(on)


def _between_ribs(ground: Ground, ribs: Ints) -> NDArray[np.bool_]:
    """Spans with a rib on either side of them, the mirrored ones of half a wing counted."""
    at = np.sort(ground.y[ribs])
    low = -at[-1] if ground.wing.flies else at[0]
    middle = (ground.y[1:] + ground.y[:-1]) / 2
    return np.asarray((middle > low) & (middle < at[-1]))


def pretension_in_film(corners: Array, fibre: Array, grain: Array, tension: Array) -> Array:
    """Tension along the span and the chord, in the film's own axes.

    Parameters
    ----------
    corners : (n, 4, 3) float array
        Of the panels, m.
    fibre : (n, 3) float array
        Direction of the film's grain.
    grain : (n,) float array
        From the span towards aft, rad.
    tension : (n, 2) float array
        Along the span and along the chord, N/m.

    Returns
    -------
    (n, 3) float array
        N_1, N_2, N_12, N/m.
    """
    c, s = np.cos(grain), np.sin(grain)
    # Whether the second axis of the film lies to the same side of the first as aft does of the span.
    aft = corners[:, 1] - corners[:, 0] + corners[:, 2] - corners[:, 3]
    across = element_axes(corners, fibre)[:, 1]
    rest = aft - np.einsum("ei,ei->e", aft, fibre)[:, None] * fibre
    way = np.where(np.abs(c) > 1e-9, np.sign(np.einsum("ei,ei->e", rest, across)) * np.sign(c), 1.0)
    span, chord = tension.T
    both = way * (chord - span) * c * s
    return np.stack([span * c**2 + chord * s**2, span * s**2 + chord * c**2, both], axis=1)


def _ties(
    ground: Ground, net: Net, ribs: Ints, film: Membranes, corners: Array, tension: Array, held: Ints
) -> Ties | None:
    """What the film's tension along the span holds its own nodes with, between the ribs on either side.

    A string of tension N a width between ribs b apart gives p x (b - x)/2N to an even pressure p (statics),
    so that each node is held by 2N/(x (b - x)) times the area that it stands for.
    """
    y, draft = ground.y, ground.draft
    area, pull = np.zeros(draft.n_nodes), np.zeros(draft.n_nodes)
    share = corner_masses(corners, np.ones(len(corners)))
    for k in range(4):
        at = film.nodes[:, k]
        np.add.at(area, at, share[:, k])
        np.add.at(pull, at, share[:, k] * tension)
    alone = area > 0
    alone[held] = False
    # The mirrored half of a wing pulls as well; there a line may run on to the plane of symmetry.
    stops = np.unique(np.concatenate([ribs, [0, len(y) - 1]]))
    rows, span2 = [], []
    for k, line in enumerate(net.lines):
        beside = net.lines[k - 1 if k else k + 1]
        for nodes, others in ((line.upper, beside.upper), (line.lower, beside.lower)):
            for j in np.flatnonzero((nodes >= 0) & alone[nodes]):
                i = int(np.searchsorted(stops, j))
                a, b = int(stops[max(i - 1, 0)]), int(stops[min(i, len(stops) - 1)])
                # From the end nearer the centre line, so that both sides are alike; from both if they are.
                ends = [(a, b), (b, a)]
                if abs(abs(y[a]) - abs(y[b])) > 1e-9:
                    ends = [min(ends, key=lambda two: abs(y[two[0]]))]
                for near, far in ends:
                    four = (nodes[j], nodes[near], nodes[far], others[near])
                    if a < j < b and min(four) >= 0:
                        rows.append(four)
                        span2.append(len(ends) * (y[j] - y[a]) * (y[b] - y[j]))
    if not rows:
        return None
    at = np.array(rows, dtype=np.intp)
    shares, direction = follow(draft.positions()[at])
    rates = 2 * pull[at[:, 0]] / np.array(span2)
    assert film.part is not None
    return Ties(at, shares, direction, rates, np.full(len(at), film.part[0], dtype=np.intp))
