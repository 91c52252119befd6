"""Flutter of built wings against a small model of its own making: ribs in strips, a follower of k by hand.

It shares the flexibility (movements of the ribs held at the middle, exact by `test_speed`) and the mass of
the structure, and nothing else: ribs stay straight along the chord and everything between two ribs moves with
them, modes are followed by k with Hankel functions in place of states.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import scipy.linalg as sl
from numpy.testing import assert_allclose
from scipy.special import hankel2

from fea.assembly import Assembly
from models.loads.cases import Situation
from models.structure import build
from models.studies.layouts import apply, standard
from models.studies.speed import LOSS, condense, speeds
from tests.variants import heavy_tips

AIR = 1.225


def _rib_mass(model, assembly, rib_y):
    """Mass by movement up and nose up of ribs about mid-chord, everything between them moving along."""
    plan, nodes = model.wing.planform, model.structure.nodes
    y, n = nodes[:, 1], len(rib_y)
    middle = plan.leading_edge_x.at(np.abs(y)) + plan.chord.at(np.abs(y)) / 2
    ahead, step = np.zeros((len(nodes), 6, 2 * n)), 1e-4
    for k in range(n):
        hat = np.eye(n)[k]
        share = np.interp(y, rib_y, hat)
        slope = (np.interp(y + step, rib_y, hat) - np.interp(y - step, rib_y, hat)) / (2 * step)
        ahead[:, 2, k], ahead[:, 3, k] = share, slope
        ahead[:, 2, n + k], ahead[:, 4, n + k] = -(nodes[:, 0] - middle) * share, share
        ahead[:, 0, n + k] = nodes[:, 2] * share
    moved = assembly.vector(ahead)
    return moved.T @ (assembly.mass() @ moved)


class Small:
    """Starboard ribs of a wing whose sides move opposite, free to roll with the body in its middle."""

    def __init__(self, wing, reduced, per_bay):
        model = build(wing, per_bay=per_bay, whole=True)
        assembly = Assembly(model.structure)
        body = Situation.of(model, assembly).body
        y, plan = reduced.rib_y, wing.planform
        n = len(y)
        star = np.flatnonzero(y > 1e-9)
        m, port = len(star), n - 1 - star
        half = next(h for h in reduced.halves if h.kind == "antisymmetric")
        rows = np.vstack([half.held_up, half.held_nose_up])
        give = rows @ np.linalg.solve(half.held.stiffness, rows.T)
        one, other = np.concatenate([star, n + star]), np.concatenate([port, n + port])
        stiff = np.linalg.inv(give[np.ix_(one, one)] - give[np.ix_(one, other)])
        opposite = np.zeros((2 * n, 2 * m))
        opposite[one, np.arange(2 * m)], opposite[other, np.arange(2 * m)] = 1, -1
        mass = opposite.T @ _rib_mass(model, assembly, y) @ opposite / 2
        # Roll first, then what the wing gives; the body resists roll, and a little for rails near the middle.
        self.columns = np.hstack([np.concatenate([y[star], np.zeros(m)])[:, None], np.eye(2 * m)])
        self.mass = self.columns.T @ mass @ self.columns
        self.mass[0, 0] += body.mass * body.width**2 / 16 + 5e-4
        self.stiffness = np.zeros((2 * m + 1,) * 2)
        self.stiffness[1:, 1:] = stiff
        # Three strips a bay, each between its two ribs; nothing moves on the centre line.
        edges = np.concatenate([np.linspace(a, b, 4)[:-1] for a, b in pairwise([0.0, *y[star]])])
        edges = np.append(edges, wing.semispan)
        at = (edges[1:] + edges[:-1]) / 2
        self.width, self.b = np.diff(edges), plan.chord.at(at) / 2
        self.between = np.column_stack([np.interp(at, [0.0, *y[star]], [0.0, *hat]) for hat in np.eye(m)])

    def air(self, p, speed):
        """Force of the air by movement of the ribs; everything about mid-chord."""
        b, v = self.b, speed
        k = np.maximum(p.imag * b / v, 1e-9)
        c = hankel2(1, k) / (hankel2(1, k) + 1j * hankel2(0, k))
        wash = np.array([-p + 0 * b, v + b * p / 2])
        lift = 2 * np.pi * AIR * v * b * c * wash
        moment = lift * b / 2
        around = np.pi * AIR * b**2
        lift += around * np.array([-(p**2) + 0 * b, v * p + 0 * b])
        moment += around * np.array([0 * b, -v * b * p / 2 - b**2 * p**2 / 8])
        n = self.between
        rows = (lift, moment)
        return np.block([[n.T @ ((self.width * part)[:, None] * n) for part in row] for row in rows])

    def onset(self, speeds, modes=4):
        """Lowest speed at which a mode begins to grow, m/s and Hz."""
        squared, forms = sl.eigh(self.stiffness, self.mass)
        shapes = self.columns @ forms[:, :modes]
        stiff = np.diag(np.maximum(squared[:modes], 0)) * (1 + 1j * LOSS[0])
        found = []
        for start in np.sqrt(np.maximum(squared[1:modes], 0)):
            p, before = 1j * start, None
            for speed in speeds:
                for _ in range(50):
                    values = np.sqrt(np.linalg.eigvals(shapes.T @ self.air(p, speed) @ shapes - stiff) + 0j)
                    values = np.where(values.imag < 0, -values, values)
                    new = values[np.argmin(np.abs(values - p))]
                    settled = abs(new - p) < 1e-6 * abs(p)
                    p = (p + new) / 2
                    if settled:
                        break
                if before is not None and before[1].real < 0 <= p.real:
                    part = -before[1].real / (p.real - before[1].real)
                    at = before[0] + part * (speed - before[0])
                    found.append((at, p.imag / (2 * np.pi)))
                    break
                before = (speed, p)
        return min(found)


@pytest.mark.parametrize("layout", ["as drawn", "no webs"])
def test_flutter_of_a_built_wing_is_that_of_a_small_model_of_it(layout):
    """Ribs on two spars, which bend little along the chord: 3 %. (On one spar they bend enough for 7 %.)"""
    wing = heavy_tips()
    wing = apply(wing, next(one for one in standard(wing) if one.name == layout))
    reduced = condense(wing, per_bay=1)
    ours = next(b for b in speeds(reduced, follow=False).beating if b.kind == "antisymmetric")
    speed, frequency = Small(wing, reduced, 1).onset(ours.speed * np.arange(0.88, 1.14, 0.04))
    assert_allclose(ours.speed, speed, rtol=3e-2)
    assert_allclose(ours.frequency, frequency, rtol=3e-2)
