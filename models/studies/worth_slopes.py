"""Slopes of a wing's figures with respect to every web, size and wood, by the adjoint.

One adjoint solve a figure serves all variables. What a variable leaves over of the forces when the movements
are held comes from building the changed wing and multiplying; nothing is solved for it. A web changes its own
bay only, so that webs of one spar and face three bays apart are thickened in one build, and what is left over
is told apart by where along the span it is; what their mass does to lift and trim of the whole is put in by
the mass and its static moment.

A web that is there is thickened (one-sided differences: where two neighbours of one thickness meet, the
sheeting starts from the thicker one, and that turns a corner). One that is not there is a ghost: the panel
and the lapped strips of the web that would be put in, with its place, joints and mass, all in proportion to a
factor that grows from nought. Its plate stiffness grows with the cube of the thickness, so that its slope is
nought; the caps keep their torsion and their strength.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.adjoint import Adjoint, adjoint
from fea.arrays import Array
from fea.assembly import Assembly, rigid_motions
from fea.beside import Beside, Known
from fea.elements.mass import Masses
from fea.elements.slip import SlippingMembranes
from fea.elements.tie import Ties
from fea.structure import Structure
from models.analysis import Analysis
from models.loads.bench import bench
from models.loads.pull_up import pull_up
from models.structure import Model, build
from models.studies.tip import Tip, tip_rows
from models.studies.worth_designs import Site, Size, thicker, toggled
from models.studies.worth_outputs import Place, reserve_at, reserve_gradient, with_moves
from models.wing.parts import Wing

APART = 3
"""Every so manieth bay is changed in one build."""
_STEP = 2e-3
_BOTH_WAYS = tuple((_STEP * k, w / _STEP) for k, w in ((1, 2 / 3), (-1, -2 / 3), (2, -1 / 12), (-2, 1 / 12)))
_NARROW = tuple((5e-4 * k, k / 1e-3) for k in (1, -1))
_ONWARD = tuple((3e-3 * k, w / 3e-3) for k, w in ((1, 3.0), (2, -1.5), (3, 1 / 3)))
"""Changes of a variable, as a share of it, and weights of first derivatives from both sides and from one
(less the value at nought, whose weight makes the sum nought): Abramowitz and Stegun, Handbook of Mathematical
Functions, table 25.2 (from memory). They leave the fourth and third power of the step; smaller steps would
leave more rounding than they save, and larger ones would reach corners that a size turns, such as where a
joint's give is bounded. Density goes by powers near one, so that two narrow steps do: what they leave, some
1e-7 of the slope, is no more than rounding."""


@dataclass(frozen=True)
class Slope:
    """What a variable does, for a factor of 1 + p at p = 0 (a ghost: for s whole webs at s = 0). `outputs`
    are changes of tip deflection (m), tip twist (rad), and of the load factor at which each place that is
    followed fails (g; of a specimen multiples of its load), per unit of p or s; `mass` is the change of the
    wing's, both sides, kg."""

    outputs: tuple[float, ...]
    mass: float

    def per_gram(self) -> tuple[float, ...]:
        """Changes of the outputs for a gram, nan where nothing is weighed."""
        grams = 1e3 * self.mass
        return tuple(v / grams if grams else float("nan") for v in self.outputs)


class Slopes:
    """Slopes of one solved wing.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    tip : Tip
        Where deflection and twist are read.
    followed : sequence of Place
        What fails first, and others whose reserves are followed.
    per_bay : int
        Elements along a bay, as the analysis was built.
    known : Known or None
        Of the solved structure under its movements, if there is one already.
    """

    def __init__(
        self,
        analysis: Analysis,
        tip: Tip,
        followed: Sequence[Place],
        *,
        per_bay: int = 4,
        known: Known | None = None,
    ) -> None:
        self.analysis, self.tip, self.followed, self.per_bay = analysis, tip, followed, per_bay
        self.moves = analysis.solution.displacements[:, :, analysis.case]
        self.fast = analysis.solution.acceleration[:, min(analysis.case, _last_case(analysis))]
        rows = tip_rows(analysis.model, tip)
        margins = [analysis.load_factor * reserve_gradient(analysis, place) for place in followed]
        gradients = np.concatenate([rows, np.stack(margins, axis=2)], axis=2)
        self.adjoint: Adjoint = adjoint(analysis.solution, gradients, analysis.case, analysis.solution.factor)
        self.known = Known(analysis.solution.assembly, self.moves) if known is None else known
        self._outer = self._outer_less_inertia(analysis.model, analysis.solution.assembly)
        self._held = self._at_held_moves(analysis.model, analysis.solution.assembly)
        self._weighed = np.array(_mass_and_moment(analysis.model, analysis.solution.assembly))
        self._lift = self._lift_by_mass() if analysis.pull_up is not None else None

    @property
    def load_factors(self) -> Array:
        """At which each place that is followed fails, (n_followed,), g."""
        return self._held[2:]

    @property
    def _sides(self) -> float:
        return 2.0 if self.analysis.model.half else 1.0

    def _build(self, wing: Wing) -> tuple[Model, Beside]:
        model = build(wing, per_bay=self.per_bay)
        return model, Beside(model.structure, self.known)

    def _outer_less_inertia(self, model: Model, assembly: Assembly) -> Array:
        """f - M a of a model under the rigid acceleration of the wing as drawn, (n_nodes, 6)."""
        if self.analysis.pull_up is None:
            return bench(model).nodal[:, :, self.analysis.case]
        inertia = assembly.nodal((assembly.rigid_inertia() @ self.fast)[:, None])[:, :, 0]
        return np.asarray(pull_up(model, assembly).loads.nodal[:, :, 0] - inertia)

    def _left_over(self, model: Model, assembly: Beside) -> Array:
        """K u + M a - f of a changed model under the movements and the rigid acceleration of the wing as
        drawn, less that of the wing as drawn, (n_nodes, 6)."""
        outer = self._outer_less_inertia(model, assembly)
        return np.asarray(assembly.pull_less_known() - (outer - self._outer))

    def _at_held_moves(self, model: Model, assembly: Assembly) -> Array:
        """The figures of a model under the movements of the wing as drawn, (n_outputs,)."""
        seen = with_moves(model, assembly, self.analysis)
        reserves = reserve_at(seen, self.followed)[:, 0]
        tips = np.einsum("nif,ni->f", tip_rows(model, self.tip), self.moves)
        return np.concatenate([tips, self.analysis.load_factor * reserves])

    def of_size(self, size: Size) -> Slope:
        """Slope of a size or wood, by central differences of the build."""
        left, held, weighed = self._differences(
            lambda step: size.change(self.analysis.wing, 1 + step),
            _NARROW if size.what == "density" else _BOTH_WAYS,
        )
        change = self.adjoint.of_residual(left[:, :, None])[:, 0]
        return Slope(tuple((held + change).tolist()), self._sides * float(weighed[0].sum()))

    def _differences(
        self, changed: Callable[[float], Wing], stencil: tuple[tuple[float, float], ...]
    ) -> tuple[Array, Array, Array]:
        """Derivatives of the forces left over, of the figures, and of mass and moment by node, at held
        movements."""
        left, held = np.zeros_like(self._outer), np.zeros_like(self._held)
        weighed = np.zeros_like(self._weighed)
        for step, factor in stencil:
            model, assembly = self._build(changed(step))
            left += factor * self._left_over(model, assembly)
            held += factor * (self._at_held_moves(model, assembly) - self._held)
            weighed += factor * (np.array(_mass_and_moment(model, assembly)) - self._weighed)
        return left, held, weighed

    def of_sites(self, sites: list[Site], progress: Callable[[str], None] | None = None) -> dict[Site, Slope]:
        """Slopes of webs, those that are there and ghosts. `progress` is told before every group of sites."""
        found: dict[Site, Slope] = {}
        for group in groups(sites):
            if progress is not None:
                progress(f"slopes: {group[0].spar}, {group[0].face}")
            found |= self._webs(group) if group[0].present else self._ghosts(group)
        return found

    def _webs(self, group: list[Site]) -> dict[Site, Slope]:
        """Webs that are there, thickened together."""
        analysis, wing = self.analysis, self.analysis.wing
        left, held, weighed = self._differences(lambda step: thicker(wing, group, 1 + step), _ONWARD)
        lift = self._lift
        if lift is not None:  # put back what all the group's mass together does to the lift
            left = left + np.einsum("nik,k->ni", lift, weighed.sum(axis=1))
        owner = self._nearest(group, analysis.model.structure.nodes[:, 1])
        # What is judged belongs to the nearest site too; the tips' rows are nobody's, for no web moves them.
        judged = np.concatenate([[-1, -1], self._nearest(group, np.array([p.y for p in self.followed]))])
        out = {}
        for k, site in enumerate(group):
            mine = owner == k
            own = np.where(mine[:, None], left, 0.0)
            mass = weighed[:, mine].sum(axis=1)
            if lift is not None:
                own = own - lift @ mass
            change = self.adjoint.of_residual(own[:, :, None])[:, 0]
            seen = np.where(judged == k, held, 0.0)
            out[site] = Slope(tuple((change + seen).tolist()), self._sides * float(mass[0]))
        return out

    def _nearest(self, group: list[Site], y: Array) -> NDArray[np.intp]:
        """Which site of a group each station along the span belongs to."""
        at = np.array([self._middle(site) for site in group])
        return np.asarray(np.abs(y[:, None] - at).argmin(axis=1))

    def _middle(self, site: Site) -> float:
        """Of a site's bay along the span, m; of one that stands for both sides, starboard's."""
        wing = self.analysis.wing
        k = site.bay - wing.first_bay
        if site.bay == 0:
            return 0.0
        middle = float(wing.bay_edges[k] + wing.bay_edges[k + 1]) / 2
        return middle if "starboard" in site.sides else -middle

    def _ghosts(self, group: list[Site]) -> dict[Site, Slope]:
        """Webs that are not there: panels and strips as they would be, in proportion."""
        model, assembly = self._build(toggled(self.analysis.wing, group))
        out = {}
        # The caps' nodes are the first that are made, and stand where they stood.
        same = int(model.cap_nodes.max()) + 1
        assert np.array_equal(model.structure.nodes[:same], self.analysis.model.structure.nodes[:same])
        rigid = rigid_motions(model.structure.nodes) @ self.fast
        loose = self._loose()
        for site in group:
            parts = {
                k
                for k, part in enumerate(model.parts)
                if part.kind in ("web", "web strip")
                and (part.spar, part.bay) == (site.spar, site.bay)
                and part.place.split()[0] == site.face
                and (not part.side or part.side in site.sides)
            }
            left = np.zeros((len(self.moves), 6))
            weighed = np.zeros(2)
            for name in ("webs", "strips"):
                block = model.structure.blocks.get(name)
                if block is None or block.part is None:
                    continue
                mine = np.flatnonzero(np.isin(block.part, list(parts)))
                if not len(mine):
                    continue
                nodes = block.nodes[mine]
                stiff = assembly.unit_stiffness()[name][mine] * block.scale[mine][:, None, None, None, None]
                mass = assembly.on_nodes(name, block.mass(assembly.corners(name)))[mine]
                pull = np.einsum("eaibj,ebj->eai", stiff, _slipped(stiff, nodes, self.moves, loose)[nodes])
                if self._lift is not None:
                    pull += np.einsum("eaibj,ebj->eai", mass, rigid.reshape(-1, 6)[nodes])
                np.add.at(left, nodes, pull)
                weighed += _weighed(mass, nodes, model.structure.nodes)
            if self._lift is not None:
                left -= self._lift @ weighed
            change = self.adjoint.of_residual(left[:, :, None])[:, 0]
            out[site] = Slope(tuple(change.tolist()), self._sides * float(weighed[0]))
        return out

    def _loose(self) -> NDArray[np.bool_]:
        """Nodes of webs' slip that no web of the drawn wing holds, (n_nodes,)."""
        blocks = self.analysis.model.structure.blocks
        out = np.zeros(len(self.moves), dtype=bool)
        if isinstance(ends := blocks.get("web ends"), Ties):
            out[ends.nodes[:, 0]] = True
        if isinstance(webs := blocks.get("webs"), SlippingMembranes):
            ends_of, held = webs.slips()
            out[ends_of[held]] = False
        return out

    def _lift_by_mass(self) -> Array:
        """Change of the outer loads with the wing's modelled mass (kg) and its static moment about y (kg m),
        (n_nodes, 6, 2)."""
        model, assembly = self.analysis.model, self.analysis.solution.assembly
        nodes = model.structure.nodes
        fore, aft = int(np.argmin(nodes[:, 0])), int(np.argmax(nodes[:, 0]))
        apart = nodes[aft, 0] - nodes[fore, 0]
        mass = float(_mass_and_moment(model, assembly)[0].sum())
        steps = (1e-4 * mass, 1e-4 * mass * apart)
        out = np.zeros((len(nodes), 6, 2))
        for k, step in enumerate(steps):
            # A mass at the foremost node and one at the rearmost that have the moment asked for together.
            rear = (-nodes[fore, 0] if k == 0 else 1.0) / apart
            front = (1.0 if k == 0 else 0.0) - rear
            ends = []
            for sign in (1.0, -1.0):
                heavier = _heavier(assembly, (fore, aft), (sign * step * front, sign * step * rear))
                ends.append(pull_up(model, heavier).loads.nodal[:, :, 0])
            out[:, :, k] = (ends[0] - ends[1]) / (2 * step)
        return out


def _slipped(stiff: Array, nodes: NDArray[np.intp], moves: Array, loose: NDArray[np.bool_]) -> Array:
    """Movements with the slip that elements (n, k, 6, k, 6) take by themselves where nothing else holds."""
    own = np.unique(nodes[loose[nodes]])
    if not len(own):
        return moves
    place = np.full(len(moves), -1, dtype=np.intp)
    place[own] = np.arange(len(own))
    upright = stiff[:, :, 2, :, 2]
    pull = np.einsum(
        "eaj,ej->ea", stiff[:, :, 2].reshape(*nodes.shape, -1), moves[nodes].reshape(len(nodes), -1)
    )
    force, hold = np.zeros(len(own)), np.zeros((len(own), len(own)))
    a, b = place[nodes][:, :, None], place[nodes][:, None]
    both = np.broadcast_arrays(a, b)
    kept = (both[0] >= 0) & (both[1] >= 0)
    np.add.at(hold, (both[0][kept], both[1][kept]), upright[kept])
    np.add.at(force, place[nodes][place[nodes] >= 0], pull[place[nodes] >= 0])
    out = moves.copy()
    out[own, 2] -= np.linalg.solve(hold, force)
    return out


def _heavier(assembly: Assembly, nodes: tuple[int, int], masses: tuple[float, float]) -> Assembly:
    """The same structure with more mass at two nodes, for the loads that follow from the mass."""
    structure = assembly.structure
    at = np.array(nodes, dtype=np.intp)[:, None]
    more = Masses(at, np.array(masses), np.zeros((2, 1, 3)))
    return Assembly(Structure(structure.nodes, {**structure.blocks, "more": more}, structure.supports))


def _last_case(analysis: Analysis) -> int:
    return analysis.solution.acceleration.shape[1] - 1


def _mass_and_moment(model: Model, assembly: Assembly) -> tuple[Array, Array]:
    """Mass (kg) and static moment about y (kg m) by node, (n_nodes,) each."""
    motions = rigid_motions(model.structure.nodes, assembly.freedoms)
    carried = assembly.rigid_inertia()[:, 2]
    n = len(model.structure.nodes)
    mass = (motions[:, 2] * carried).reshape(n, -1).sum(axis=1)
    moment = -(motions[:, 4] * carried).reshape(n, -1).sum(axis=1)
    return mass, moment


def _weighed(mass: Array, nodes: NDArray[np.intp], points: Array) -> Array:
    """Mass and static moment about y of some elements, (2,): kg, kg m."""
    motions = rigid_motions(points).reshape(len(points), 6, 6)[nodes]
    carried = np.einsum("eaibj,ebj->eai", mass, motions[..., 2])
    return np.array([(motions[..., 2] * carried).sum(), -(motions[..., 4] * carried).sum()])


def groups(sites: list[Site]) -> list[list[Site]]:
    """Sites that are changed in one build: of one spar, face and state, `APART` bays from each other."""

    def key(site: Site) -> tuple[str, str, bool, int]:
        along = -site.bay if site.side == "port" else site.bay
        if site.side == "port" and all(s.bay for s in sites):
            along += (
                1  # no bay straddles the centre line: the first to port is next to the first to starboard
            )
        return site.spar, site.face, site.present, along % APART

    return [list(g) for _, g in itertools.groupby(sorted(sites, key=key), key=key)]


def n_steps(sites: list[Site], sizes: list[Size]) -> int:
    """How many steps the slopes of some sites and sizes take."""
    return len(groups(sites)) + len(sizes)
