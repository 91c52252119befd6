"""Unsteady air on a wing in strips along the stream; lift on each as if the wing had no ends.

Every rib moves as the straight line along the chord whose movement is conjugate to lift and moment as the
pull-up puts them on its nodes: up at the middle of the chord and nose up. Between two ribs both run straight.
Strips know nothing of each other, so lift does not fall off towards the tip: real wings diverge and flutter
later (Hildebrand and Reissner, NACA TN 926, abstract looked up: 17 to 40 % in divergence); a lattice gives 10
to 16 % more for the wings of `validate A6 A10 A11` (computed).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp

from fea.aeroelastic import Air, flapped_strips, strips
from fea.arrays import Array
from models.loads.elevons import flap_effectiveness, flap_moment
from models.loads.pull_up import on_rib_nodes, panel_ribs
from models.structure.model import Model
from models.wing.parts import Elevons, Planform

PER_BAY = 2
"""Strips in a bay."""


def rib_forces(model: Model) -> tuple[Array, sp.csc_matrix]:
    """Ribs of both sides, (n_ribs,), m, rising, and unit lift (1 N), then unit nose-up moment about the
    middle of the chord (1 N m) on each of them, (6 n_nodes, 2 n_ribs)."""
    plan = model.wing.planform
    assert plan is not None, "strips need a planform"
    ribs = panel_ribs(model)
    y = model.y[ribs]
    span = np.abs(y)
    middle = plan.leading_edge_x.at(span) + 0.5 * plan.chord.at(span)
    one, rows, columns, values = np.ones(len(ribs)), [], [], []
    for first, lift, moment in ((0, one, 0 * one), (len(ribs), 0 * one, one)):
        at = on_rib_nodes(model, ribs, lift, moment, middle)
        for freedom, amount in ((2, at.force), (4, at.couple)):
            rows.append(6 * at.node + freedom)
            columns.append(first + at.rib)
            values.append(amount)
    where = np.concatenate(rows), np.concatenate(columns)
    size = 6 * len(model.structure.nodes), 2 * len(ribs)
    return y, sp.csc_matrix((np.concatenate(values), where), shape=size)


@dataclass(frozen=True, eq=False)
class Strips:
    """Where the strips lie.

    Parameters
    ----------
    y, width, chord : (s,) float arrays
        Middle and width along the span, chord there, m.
    ribs : (s, n_ribs) float array
        How much each rib has in the movement of a strip.
    sides : float
        2 where a strip stands for its mirror image too.
    """

    y: Array
    width: Array
    chord: Array
    ribs: Array
    sides: float = 1.0

    def starboard(self) -> Strips:
        """Those of the starboard side for both: for movement that the sides share or have opposite."""
        there = self.y > 0
        return Strips(self.y[there], self.width[there], self.chord[there], self.ribs[there], sides=2.0)

    def air(self, up: Array, nose_up: Array, slope: float = 2 * np.pi) -> Air:
        """Air by movements of the ribs, both (n_ribs, n) by coordinates, m and rad."""
        middle = np.zeros(len(self.y))
        return strips(
            self.ribs @ up, self.ribs @ nose_up, self.sides * self.width, self.chord / 2, middle, slope
        )

    def loose_air(self, elevons: Elevons, up: Array, nose_up: Array, turn: Array) -> Air:
        """As `air`, with elevons that turn against the wing.

        Parameters
        ----------
        elevons : Elevons
            Where they are; strips that they reach in part count in part.
        up, nose_up : (n_ribs, n) float array
            As `air`.
        turn : (n,) float array
            Turn of the starboard elevon by coordinates, rear edge down, rad.

        Returns
        -------
        Air
            Of strips that stand for both sides.
        """
        share = self.covered(elevons) / self.width
        plain = replace(self, width=self.width * (1 - share))
        kept = share < 1 - 1e-9
        plain = replace(
            plain, y=self.y[kept], width=plain.width[kept], chord=self.chord[kept], ribs=self.ribs[kept]
        )
        there = share > 1e-9
        ribs = self.ribs[there]
        return plain.air(up, nose_up).beside(
            flapped_strips(
                ribs @ up,
                ribs @ nose_up,
                np.tile(turn, (int(there.sum()), 1)),
                self.sides * (self.width * share)[there],
                self.chord[there] / 2,
                elevons.hinge,
            )
        )

    def covered(self, elevons: Elevons) -> Array:
        """Width of each strip that elevons reach over, (s,), m."""
        low, high = np.abs(self.y) - self.width / 2, np.abs(self.y) + self.width / 2
        return np.asarray(
            np.clip(np.minimum(high, elevons.y_to) - np.maximum(low, elevons.y_from), 0.0, None)
        )

    def flap(self, elevons: Elevons, up: Array, nose_up: Array, mirror: float) -> Array:
        """Generalised force of elevons for unit dynamic pressure and angle, (n,).

        Parameters
        ----------
        elevons, up, nose_up
            As for `Strips.loose_air`.
        mirror : float
            1 where both go down, -1 where port goes up and starboard down.

        Returns
        -------
        (n,) float array
            Lift of thin sections by Glauert, on strips.
        """
        covered = self.covered(elevons)
        side = self.sides * np.where(self.y < 0, mirror, 1.0)
        lift = side * covered * self.chord * 2 * np.pi * flap_effectiveness(elevons.hinge)
        own = side * covered * self.chord**2 * flap_moment(elevons.hinge)
        # Lift acts at the quarter chord, a quarter of the chord before the middle.
        moment = own + lift * self.chord / 4
        return np.asarray(lift @ (self.ribs @ up) + moment @ (self.ribs @ nose_up))


_MOST = 100
"""Strips of one side; where bays make more of them, several side by side are one (chosen, no source: on a
wing of 160 bays and an aspect of 64, 80 and 160 of them differ by 0.14 % in twist-off and 0.10 % in beating;
the 320 of two a bay want a lattice of 10 GB and minutes)."""


def lay(planform: Planform, ribs: Array, per_bay: int = PER_BAY) -> Strips:
    """Strips of a planform between ribs of both sides, rising, (n_ribs,), m: `per_bay` between two ribs, or
    fewer on a wing of very many bays."""
    share = (np.arange(per_bay) + 0.5) / per_bay
    left, right = ribs[:-1, None], ribs[1:, None]
    y = (left + (right - left) * share).ravel()
    width = np.repeat(np.diff(ribs) / per_bay, per_bay)
    bay = np.repeat(np.arange(len(ribs) - 1), per_bay)
    place = np.tile(share, len(ribs) - 1)
    weights = np.zeros((len(y), len(ribs)))
    weights[np.arange(len(y)), bay] = 1 - place
    weights[np.arange(len(y)), bay + 1] = place
    starboard = int(np.count_nonzero(y > 0))
    together = math.ceil(max(starboard, len(y) - starboard) / _MOST)
    if together > 1:
        # From the centre outward, so that both sides are alike.
        out = np.abs(np.arange(len(y)) - (len(y) - starboard) + 0.5) // together
        first = np.flatnonzero(np.diff(np.where(y > 0, 1 + out, -1 - out), prepend=np.nan) != 0)
        y, weights = (np.add.reduceat((width * q.T).T, first) for q in (y, weights))
        width = np.add.reduceat(width, first)
        y, weights = y / width, weights / width[:, None]
    return Strips(y, width, planform.chord.at(np.abs(y)), weights)
