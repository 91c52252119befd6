"""The rest of the aeroplane: what is no part of the wing answers by inertia too, at the centre section.

It is a cylinder of even mass along the flight axis, its middle at the balance point of the wing as modelled,
the same as in the pull-up, and long and wide enough to resist turning as fuselage and tail do. Its share of
the inertia is a load on the caps of the centre section; `fea.solve.free_body` then adds the wing's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly, rigid_motions, total
from fea.dense import solved
from models.loads.pull_up import hung_at_centre
from models.structure.model import Model

LENGTH = 0.7
"""Length of the body where the file gives none, of the span: common practice, no source."""
WIDTH = 0.12
"""Width of the body where the file gives none, of its length: common practice, no source."""
_COUPLE_ARM = 0.002
"""Length that weighs a couple on a node against a force, m: forces go first, as a fuselage grips."""


@dataclass(frozen=True, eq=False)
class Body:
    """What hangs on the centre section.

    `mass`: kg; 0 where the wing is all there is. `at` (3,): its middle, m. `length`, `width`: of the
    cylinder, m.
    """

    mass: float
    at: Array
    length: float
    width: float

    def inertia(self) -> Array:
        """About the origin, (6, 6), kg, kg m, kg m2: of movements along x y z and turns about them."""
        x, y, z = self.at
        arm = np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])
        to_middle = np.eye(6)
        to_middle[:3, 3:] = arm
        roll = self.mass * self.width**2 / 8
        turn = self.mass * (self.length**2 / 12 + self.width**2 / 16)
        own = np.diag([self.mass] * 3 + [roll, turn, turn])
        return np.asarray(to_middle.T @ own @ to_middle)


def wing_inertia(model: Model, assembly: Assembly) -> Array:
    """Of the wing as a rigid body about the origin, (6, 6), as `Body.inertia`."""
    rigid = rigid_motions(model.structure.nodes, assembly.freedoms)
    return np.asarray(rigid.T @ assembly.rigid_inertia())


def with_body(model: Model, assembly: Assembly, outer: Array, body: Body) -> Array:
    """Loads on a wing in flight with the inertia of the rest of the aeroplane among them.

    Parameters
    ----------
    model : Model
        Both sides of a flying wing.
    assembly : Assembly
        Of its structure.
    outer : (n_nodes, 6, n_cases) float array
        What acts from outside, gravity left out (it pulls body and wing alike), N and N m.
    body : Body
        The rest of the aeroplane.

    Returns
    -------
    (n_nodes, 6, n_cases) float array
        For `fea.solve.free_body`, N and N m.
    """
    if body.mass <= 0:
        return outer
    sums = total(model.structure.nodes, outer)
    own = body.inertia()
    acceleration = solved(wing_inertia(model, assembly) + own, sums)
    pull = -own @ acceleration
    at_centre = [on_centre(model, wrench, body.at) for wrench in pull.T]
    return np.asarray(outer + np.concatenate(at_centre, axis=2))


def on_centre(model: Model, wrench: Array, at: Array) -> Array:
    """Force and moment about the origin, (6,), N and N m, put on the caps at the centre line.

    Lift and pitch are shared as the pull-up shares them; the rest by the least forces that do, with couples
    on single nodes only where no forces can.
    """
    nodal = np.zeros((len(model.structure.nodes), 6, 1))
    nose_up = wrench[4] - (at[2] * wrench[0] - at[0] * wrench[2])
    hung_at_centre(model, float(wrench[2]), float(nose_up), float(at[0]), nodal)
    caps = model.centre_caps
    left = wrench - total(model.structure.nodes, nodal)[:, 0]
    weights = np.tile([1.0] * 3 + [_COUPLE_ARM**2] * 3, len(caps))
    arms = rigid_motions(model.structure.nodes[caps]).T
    share = weights * (arms.T @ np.linalg.solve((arms * weights) @ arms.T, left))
    nodal[caps, :, 0] += share.reshape(-1, 6)
    return nodal
