"""The hand test: a wing held at its middle, a bag hung from it or a batten laid under it and twisted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fea.arrays import Ints
from fea.structure import Loads, Supports
from models.gravity import GRAVITY
from models.structure.model import Model

LEADING, TRAILING = "leading edge", "trailing edge"
EDGES = (LEADING, TRAILING)


class BadHandLoad(ValueError):
    """A load or a hold that this wing has no place for.

    Parameters
    ----------
    what : str
        "at", "rib", "held_at" or "wing": which figure is wrong.
    given, expected : str
        In words.
    """

    def __init__(self, what: str, given: str, expected: str) -> None:
        super().__init__(f"{what}: {given}, expected {expected}")
        self.what, self.given, self.expected = what, given, expected


@dataclass(frozen=True)
class HandLoad:
    """One push, one hung mass or one twist.

    Parameters
    ----------
    at : str
        A spar's name, "leading edge" or "trailing edge".
    rib : int
        Number of the rib, 1 the innermost, -1 the outermost.
    force : float
        Upward, N; a hung mass pushes down.
    couple : float
        About the span, nose up, N m; on a spar alone, as chordwise forces on its caps.
    mass : float
        Mass whose weight `force` is, kg; 0 where nothing is hung.
    """

    at: str
    rib: int
    force: float = 0.0
    couple: float = 0.0
    mass: float = 0.0

    @staticmethod
    def hung(mass: float, at: str, rib: int) -> HandLoad:
        """A mass (kg) hung from the wing."""
        return HandLoad(at, rib, force=-mass * GRAVITY, mass=mass)


def rib_station(model: Model, rib: int, what: str = "rib") -> int:
    """Mesh station of a rib of the starboard half by its number, -1 the outermost; `what` is for the message.

    Raises
    ------
    BadHandLoad
        There is no such rib.
    """
    ribs = model.wing.ribs
    index = rib - 1 if rib > 0 else len(ribs) + rib
    if rib == 0 or not 0 <= index < len(ribs):
        raise BadHandLoad(what, str(rib), f"a rib from 1 (innermost) to {len(ribs)}")
    return int(np.argmin(np.abs(model.y - ribs[index].y)))


def held(model: Model, rib: int | None = None) -> Supports:
    """The hand: all six freedoms of everything at the centre line held fast; at a rib of that number, of
    everything from the centre line to it."""
    end = 0.0 if rib is None else float(model.y[rib_station(model, rib, "held_at")])
    return Supports.fixed(np.flatnonzero(model.structure.nodes[:, 1] < end + 1e-9))


def loaded_nodes(model: Model, load: HandLoad) -> Ints:
    """Upper and lower node that a load acts on, half on each, (2,); the same twice where upper and lower
    surface meet.

    Raises
    ------
    BadHandLoad
        The wing has no such place, or it does not reach the rib.
    """
    names = [spar.name for spar in model.wing.spars]
    station = rib_station(model, load.rib)
    if load.at in names:
        nodes = model.cap_nodes[names.index(load.at), :, station]
    elif load.at in EDGES and model.chordlines:
        line = model.chordlines[0 if load.at == LEADING else -1]
        nodes = np.array([line.upper[station], line.lower[station]])
    else:
        places = [*names, *EDGES] if model.chordlines else names
        raise BadHandLoad("at", f'"{load.at}"', " or ".join(f'"{place}"' for place in places))
    if (nodes < 0).any():
        raise BadHandLoad("rib", str(load.rib), f"a rib that the {load.at} reaches")
    return np.asarray(nodes, dtype=np.intp)


def hand_loads(model: Model, loads: Sequence[HandLoad]) -> Loads:
    """Nodal loads, one column a load, (n_nodes, 6, n_loads), N and N m.

    A couple M about the span is put in as chordwise forces M/h aft on the upper cap and forward on the lower,
    h the distance between their axes (statics).

    Raises
    ------
    BadHandLoad
        As `loaded_nodes`; also for a couple on an edge.
    """
    nodal = np.zeros((len(model.structure.nodes), 6, len(loads)))
    names = [spar.name for spar in model.wing.spars]
    for column, load in enumerate(loads):
        nodes = loaded_nodes(model, load)
        np.add.at(nodal[:, 2, column], nodes, load.force / 2)
        if load.couple:
            if load.at not in names:
                raise BadHandLoad("at", f'"{load.at}"', "a spar, for a couple acts on its two caps")
            arm = float(model.depth[names.index(load.at), rib_station(model, load.rib)])
            nodal[nodes[0], 0, column] += load.couple / arm
            nodal[nodes[1], 0, column] -= load.couple / arm
    return Loads(nodal)
