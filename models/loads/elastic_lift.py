"""Lift where the bent and twisted wing puts it: steady air that follows the twist of the strips.

The wing as built has its own lift; what its twist adds is the lattice's (`models.loads.unsteady_lattice`, at
rest), strip by strip. One set of right sides on the factor that is there, a unit nose-up moment on every rib,
says how lift and moment on any rib twist any other (the flexibility is symmetric). The rest is a small dense
system in the twist of the strips: (I - q H Q) twist = twist of the wing as built, with what keeps the
balance beside it. In a pull-up the whole turns so that the lift stays, and what trims keeps the pitch: a tail
with a couple, elevons by their own pressures, or the sections' camber. In a roll the rate follows (steady) or
inertia does (begun); elevons thrown in pitch keep the lift. Both sides alike and opposite are looked at apart
where the sides are alike.

Small angles: lift is straight in the angle, so no stall, and forces stay upright as the wing bends. Towards
the speed at which the wing twists off, or twists as fast as it is trimmed, small differences decide, and
beyond it there is no answer: from nine tenths of it on the twist is that in air of nine tenths, the least
that it adds. Of two cases nothing is told there: as a roll begins no rate damps it yet, which is an end of
the model and not of the wing (the steady roll at that speed stands beside it); and a wing that film stiffens
flies beyond where it twists off bare.

References
----------
Bisplinghoff, Ashley, Halfman, Aeroelasticity, 1955: flexibility influence and lift that follows twist (from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import scipy.sparse as sp

from fea.aeroelastic import trim_limit, trimmed
from fea.arrays import Array
from fea.assembly import Assembly, rigid_motions
from fea.solve import Factor
from fea.vibration import TOGETHER
from models.loads.body import Body, on_centre
from models.loads.pull_up import hung_at_centre
from models.loads.unsteady_lattice import Lattice
from models.loads.unsteady_strips import Strips, lay, rib_forces
from models.structure.covering import taut
from models.structure.model import Model
from models.wing.parts import Planform, Wing

TOO_NEAR = 0.9
"""Speed over that at which it ends, from which on the air that twists the wing counts as no faster: a
choice."""
KEEPS = ("trim", "roll begun", "steady roll", "lift")
"""What stays as the wing bends: lift and pitch; these, with inertia to answer in roll; these and no rolling
moment; lift alone."""
_ROLLS = KEEPS[1:3]
_MIRROR = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])
"""Forces along, and moments about, x y z in a mirror between the sides."""


@dataclass(frozen=True, eq=False)
class Steady:
    """Lift and moment about mid-chord of starboard strips over density V^2, by what the wing does.

    `twist`: by nose-up angles of the strips, alike (1) or opposite (-1) to port, m2 and m3 per rad. `rate` (2
    s,): by a roll of unit rate over V, starboard up. `flap` (2 s,): by elevons down on both sides, per rad;
    nothing without any.
    """

    twist: dict[int, Array]
    rate: Array
    flap: Array


@lru_cache(maxsize=8)
def _steady(
    edges: tuple[float, ...],
    leading: tuple[float, ...],
    chord: tuple[float, ...],
    covered: tuple[float, ...],
    hinge: float,
) -> Steady:
    """Layouts, loadings and cases of one wing share its lattice."""
    lattice = Lattice(np.array(edges), np.array(leading), np.array(chord))
    twist, flap, _ = lattice.at_rest(1, np.array(covered), hinge)
    opposite, _, rate = lattice.at_rest(-1, np.array(covered), hinge)
    return Steady({1: twist, -1: opposite}, rate, flap)


def steady(wing: Wing, strips: Strips) -> Steady:
    """Of a wing, on its starboard strips from the centre outward."""
    plan = wing.planform
    assert plan is not None, "a lattice needs a planform"
    at = np.concatenate([[0.0], np.cumsum(strips.width)])
    covered, hinge = np.zeros_like(strips.width), 0.5
    if wing.elevons is not None:
        covered, hinge = strips.covered(wing.elevons) / strips.width, wing.elevons.hinge
    rows = (at, plan.leading_edge_x.at(at), plan.chord.at(at), covered)
    return _steady(*(tuple(row.tolist()) for row in rows), hinge)


def behind(plan: Planform, ribs: Array, strips: Strips, balance_x: float) -> Array:
    """How far the mid-chord of strips, as their ribs carry it, lies behind a point.

    Parameters
    ----------
    plan : Planform
        Outline.
    ribs : (n_ribs,) float array
        Where the ribs stand, m.
    strips : Strips
        Between them.
    balance_x : float
        Of the point, m aft.

    Returns
    -------
    (s,) float array
        m.
    """
    span = np.abs(ribs)
    return np.asarray(strips.ribs @ (plan.leading_edge_x.at(span) + plan.chord.at(span) / 2) - balance_x)


def _onto(shapes: Array) -> Array:
    """Amounts of shapes that are square to one another and of one length."""
    return np.asarray(shapes.T / (shapes[:, 0] @ shapes[:, 0]))


@dataclass(frozen=True, eq=False)
class Bent:
    """What the bent wing adds to the loads of one case.

    Parameters
    ----------
    nodal : (n_nodes, 6, 1) float array
        N and N m, what trims among them.
    y, more_lift, more_moment : (S,) float arrays
        Of the strips: m; N; N m nose up about mid-chord.
    twist, rigid_twist : (S,) float arrays
        Of the strips against the centre, of the bent wing and of the wing as built, nose up, rad.
    trim : (k,) float array
        What changed to keep the balance, the turn of the whole first, rad.
    """

    nodal: Array
    y: Array
    more_lift: Array
    more_moment: Array
    twist: Array
    rigid_twist: Array
    trim: Array


class Influence:
    """How a structure that is factorised twists in its own air.

    Parameters
    ----------
    model : Model
        Of a flying wing, a half or both sides.
    assembly : Assembly
        Of its structure.
    factor : Factor
        Of the free wing, `fea.solve.pinned`.
    body : Body
        The rest of the aeroplane.
    trimmed_by : str
        As `models.loads.pull_up.PullUp.trimmed_by`.
    """

    def __init__(self, model: Model, assembly: Assembly, factor: Factor, body: Body, trimmed_by: str) -> None:
        self.model, self.assembly, self.body, self.trimmed_by = model, assembly, body, trimmed_by
        self.balance_x = float(body.at[0])
        self._factor = factor
        self._ends: dict[str, float] = {}
        plan = model.wing.planform
        assert plan is not None, "what flies has a planform"
        self.plan = plan
        self.y, self._unit = rib_forces(model)
        self.strips = lay(plan, self.y)
        self.steady = steady(model.wing, self._starboard)

    @cached_property
    def _starboard(self) -> Strips:
        return self.strips.starboard()

    @property
    def alike(self) -> bool:
        """The sides do not differ."""
        return not self.model.wing.whole

    @cached_property
    def _rigid(self) -> tuple[Array, Array]:
        """Rigid motions that are free, and the loads on the centre that take them up, (size, 3 or 6)."""
        kept = (0, 2, 4) if self.model.half else (0, 1, 2, 3, 4, 5)
        motions = rigid_motions(self.model.structure.nodes, self.assembly.freedoms)[:, kept]
        grip = [on_centre(self.model, unit, self.body.at) for unit in np.eye(6)[list(kept)]]
        return motions, self.assembly.vector(np.concatenate(grip, axis=2))

    @cached_property
    def _twisted(self) -> tuple[Array, Array]:
        """What a unit nose-up moment on each rib, the wing held at the centre, does: movements against that
        by the unit loads, (n, 2 n), and by the inertia of rigid motions, (n, 6)."""
        motions, grip = self._rigid
        n, turn = len(self.y), self._factor.turn
        # Of sides that are alike the moments to port are mirror images.
        first = n // 2 if self.alike and not self.model.half else 0
        moments = self._loads[:, n + first :]
        inertia = self.assembly.rigid_inertia()
        by_load, by_inertia = [], []
        for k in range(0, moments.shape[1], TOGETHER):
            some = moments[:, k : k + TOGETHER]
            held = some.toarray() - grip @ (some.T @ motions).T
            moved = turn @ self._factor.once(turn.T @ held)
            moved -= motions @ (grip.T @ moved)
            by_load.append((self._loads.T @ moved).T)
            by_inertia.append(moved.T @ inertia)
        load, inert = np.vstack(by_load), np.vstack(by_inertia)
        if first:
            port = np.arange(len(load))[: -first - 1 : -1]
            other = np.concatenate([np.arange(n)[::-1], n + np.arange(n)[::-1]])
            load = np.vstack([load[port][:, other], load])
            inert = np.vstack([inert[port] * _MIRROR, inert])
        return load, inert

    @cached_property
    def _loads(self) -> sp.csc_matrix:
        return self.assembly.columns(self._unit)

    def twist(self, moves: Array) -> Array:
        """Nose-up angle of the strips against the centre by movements, (n_nodes, 6, c): (S, c), rad."""
        motions, grip = self._rigid
        flat = self.assembly.vector(moves)
        seen = flat - motions @ (grip.T @ flat)
        return np.asarray(self.strips.ribs @ (self._loads[:, len(self.y) :].T @ seen))

    @cached_property
    def _by_force(self) -> Array:
        """Twist of the strips by lift and moment of the strips, held at the centre, (S, 2 S)."""
        ribs = self.strips.ribs
        by_ribs, n = self._twisted[0], len(self.y)
        return np.asarray(ribs @ np.hstack([by_ribs[:, :n] @ ribs.T, by_ribs[:, n:] @ ribs.T]))

    @cached_property
    def _by_inertia(self) -> tuple[Array, Array]:
        """Twist of the strips by the inertia that answers a wrench, (S, 6), and wrenches by forces on the
        strips, (6, 2 S), about the origin; of both sides."""
        ribs, n = self.strips.ribs, len(self.y)
        motions = rigid_motions(self.model.structure.nodes, self.assembly.freedoms)
        inertia = self.assembly.rigid_inertia()
        whole = motions.T @ inertia + self.body.inertia()
        answer = -self._twisted[1] @ np.linalg.inv(whole)
        wrench = np.asarray((self._loads.T @ motions).T)
        return np.asarray(ribs @ answer), np.hstack([wrench[:, :n] @ ribs.T, wrench[:, n:] @ ribs.T])

    @cached_property
    def _halves(self) -> list[tuple[int, Array, Array]]:
        """Kinds of movement with their shapes on all strips: sign (0: both at once), of angles (S, m), and of
        forces (2 S, 2 m). Columns are square to one another and of one length."""
        s, every = len(self._starboard.y), len(self.strips.y)
        if every == s:
            return [(1, np.eye(s), np.eye(2 * s))]
        found = []
        for sign in (1, -1):
            shape = np.vstack([sign * np.eye(s)[::-1], np.eye(s)])
            none = np.zeros_like(shape)
            found.append((sign, shape, np.block([[shape, none], [none, shape]])))
        if self.alike:
            return found
        angles, forces = (np.hstack([one[k] for one in found]) for k in (1, 2))
        order = np.concatenate([np.arange(s), 2 * s + np.arange(s), s + np.arange(s), 3 * s + np.arange(s)])
        return [(0, angles, forces[:, order])]

    def _air(self, sign: int) -> Array:
        """Forces by angles in a kind of movement, (2 m, m), over density V^2."""
        if sign:
            return self.steady.twist[sign]
        s = len(self._starboard.y)
        out = np.zeros((4 * s, 2 * s))
        for k, one in enumerate((1, -1)):
            for half in range(2):
                rows = slice((2 * half + k) * s, (2 * half + k + 1) * s)
                out[rows, k * s : (k + 1) * s] = self.steady.twist[one][half * s : (half + 1) * s]
        return out

    def _placed(self, sign: int, kind: int, forces: Array) -> Array:
        """Starboard forces of one kind, (2 s,), in the coordinates of a movement, (2 m,)."""
        if sign:
            return forces
        s = len(forces) // 2
        out = np.zeros((2, 2, s))
        out[:, 0 if kind > 0 else 1] = forces.reshape(2, s)
        return out.ravel()

    def _means(self, keeps: str, sign: int) -> tuple[Array, Array]:
        """Means of trim, (2 m, k), over density V^2, and sums of forces that vanish, (k, 2 m)."""
        s = len(self._starboard.y)
        strips = self._starboard
        means, sums = [], []
        if sign >= 0:
            means.append(self._placed(sign, 1, self.steady.twist[1] @ np.ones(s)))
            sums.append(self._placed(sign, 1, np.concatenate([np.ones(s), np.zeros(s)])))
            if keeps != "lift" and self.trimmed_by != "tail":
                if self.trimmed_by == "elevons":
                    by = self.steady.flap
                else:
                    by = np.concatenate([np.zeros(s), strips.width * strips.chord**2])
                arm = behind(self.plan, self.y, strips, self.balance_x)
                means.append(self._placed(sign, 1, by))
                sums.append(self._placed(sign, 1, np.concatenate([-arm, np.ones(s)])))
        if sign <= 0 and keeps == "steady roll":
            means.append(self._placed(sign, -1, self.steady.rate))
            sums.append(self._placed(sign, -1, np.concatenate([strips.y, np.zeros(s)])))
        m = 2 * s if sign else 4 * s
        return np.array(means).reshape(-1, m).T, np.array(sums).reshape(-1, m)

    def _push(self, keeps: str, sign: int, angles: Array, forces: Array) -> Array:
        """Twist by forces in a kind of movement, (m, 2 m): of the free wing, what trims among them."""
        push = self._by_force
        if not self.model.half and (sign <= 0 or keeps == "lift"):
            answer, wrench = self._by_inertia
            if keeps != "lift" and self.trimmed_by == "tail":
                wrench = wrench.copy()  # a couple in the middle takes the pitch about the point of balance
                wrench[4] = -self.balance_x * wrench[2]
            push = push + answer @ wrench
        return np.asarray(_onto(angles) @ push @ forces)

    def ends(self, keeps: str, pressure: float) -> float:
        """How much faster than at density V^2 of `pressure`, Pa, the answer ends; infinite if never.

        Where the wing held at its middle twists off, or twists as fast as what keeps it in balance.
        """
        if keeps not in self._ends:
            none, found = np.zeros((0, 0)), [np.inf]
            for sign, angles, forces in self._halves:
                if sign < 0 and keeps not in _ROLLS:
                    continue
                air = self._air(sign)
                n = len(air[0])
                if sign >= 0:
                    held = _onto(angles) @ self._by_force @ forces
                    found.append(
                        trim_limit(np.eye(n), held, air, none.reshape(2 * n, 0), none.reshape(0, 2 * n))
                    )
                push = self._push(keeps, sign, angles, forces)
                found.append(trim_limit(np.eye(n), push, air, *self._means(keeps, sign)))
            self._ends[keeps] = min(found)
        return float(np.sqrt(self._ends[keeps] / pressure))

    def bent(self, keeps: str, pressure: float, rigid: Array) -> Bent | None:
        """What the bent wing adds to the loads of a case.

        Parameters
        ----------
        keeps : str
            One of `KEEPS`.
        pressure : float
            Density times the speed squared, Pa.
        rigid : (S,) float array
            Twist of the strips under the loads of the wing as built, rad, from `twist`.

        Returns
        -------
        Bent or None
            From nine tenths on of the speed at which it ends that in air of nine tenths; None there as a roll
            begins, and of a wing without the film that stiffens it.
        """
        ends = self.ends(keeps, pressure)
        if ends < 1 / TOO_NEAR:
            if keeps == _ROLLS[0] or (taut(self.model.wing) and self.model.films is None):
                return None
            pressure *= (TOO_NEAR * ends) ** 2
        every = len(self.strips.y)
        more, twist, trims = np.zeros(2 * every), np.zeros(every), []
        for sign, angles, forces in self._halves:
            own = _onto(angles) @ rigid
            if sign < 0 and keeps not in _ROLLS:
                twist += angles @ own
                continue
            air = pressure * self._air(sign)
            means, sums = self._means(keeps, sign)
            push = self._push(keeps, sign, angles, forces)
            place, trim, added = trimmed(np.eye(len(own)), own, push, air, pressure * means, sums)
            more += forces @ added
            twist += angles @ place
            trims.append(trim)
        lift, moment = np.split(more, 2)
        return Bent(
            self._nodal(keeps, lift, moment),
            self.strips.y,
            lift,
            moment,
            twist,
            rigid,
            np.concatenate(trims),
        )

    def _nodal(self, keeps: str, lift: Array, moment: Array) -> Array:
        """On the ribs, with the couple of a tail."""
        ribs = self.strips.ribs
        nodal = (self._unit @ np.concatenate([ribs.T @ lift, ribs.T @ moment])).reshape(-1, 6, 1)
        if keeps != "lift" and self.trimmed_by == "tail":
            arm = behind(self.plan, self.y, self.strips, self.balance_x)
            hung_at_centre(self.model, 0.0, -float(moment.sum() - arm @ lift), self.balance_x, nodal)
        return np.asarray(nodal)
