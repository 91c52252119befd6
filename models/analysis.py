"""A wing built, loaded and solved: what every answer, picture and comparison starts from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly, rigid_motions
from fea.elements.beam import Beams
from fea.solve import Factor, Solution, free_body, statics
from models.loads.bench import bench
from models.loads.pull_up import PullUp, pull_up
from models.structure import ACROSS_CHORD, Model, build
from models.wing.parts import Wing


@dataclass(frozen=True, eq=False)
class Analysis:
    """A solved wing.

    Parameters
    ----------
    model : Model
        Structure and parts.
    solution : Solution
        One case for a flying wing (the pull-up at its load factor); for a specimen three: the tip force
        alone, the tip torque alone, and both together.
    case : int
        The column of the solution that strength and pictures are about (the last).
    pull_up : PullUp or None
        Loads of a flying wing.
    load_factor : float
        n of the case; 1 for a specimen, whose margins count in multiples of its load.
    recovered : mapping of str to dict of str to array
        Section forces and stresses of every block in that column.
    held : bool
        Held fast by supports (a hand): movements are then told as they are, and not against the centre.
    """

    model: Model
    solution: Solution
    case: int
    pull_up: PullUp | None
    load_factor: float
    recovered: Mapping[str, dict[str, Array]]
    held: bool = False

    @property
    def wing(self) -> Wing:
        """What was analysed."""
        return self.model.wing

    def column(self, case: int) -> Analysis:
        """The same looked at in another column of its solution."""
        return replace(self, case=case, recovered=self.solution.recover(case))

    def cap_forces(self, case: int | None = None, positions: Array | None = None) -> Array:
        """Section forces of the cap elements, (n_elements, n_positions, 6): N, V_y, V_z, T, M_y, M_z. `case`
        is the solution's column, None the analysis's own; `positions` (n_positions,) are fractions of each
        element's length, None for both ends."""
        assembly = self.solution.assembly
        caps = self.model.structure.blocks["caps"]
        assert isinstance(caps, Beams)
        moves = self.solution.displacements[:, :, self.case if case is None else case]
        corners = assembly.corners("caps")
        at = np.array([0.0, 1.0]) if positions is None else positions
        return caps.forces_along(corners, assembly.element_displacements("caps", moves), at)


def analyse(
    wing: Wing,
    *,
    per_bay: int = 4,
    across_chord: int = ACROSS_CHORD,
    rigid_joints: bool = False,
    bound: float = 1e-8,
    keep_factor: bool = False,
) -> Analysis:
    """Build, load and solve a wing or specimen for the case in its file.

    Parameters
    ----------
    wing : Wing
        From `models.wing.reading.read`.
    per_bay, across_chord, rigid_joints
        As for `models.structure.build`.
    bound : float, default 1e-8
        Largest equilibrium residual that is let pass.
    keep_factor : bool, default False
        Keep a flying wing's factor with the solution, for what asks more of the same structure.

    Returns
    -------
    Analysis

    Raises
    ------
    fea.solve.Mechanism
        A part can move freely; the message names it.
    models.loads.pull_up.LightAeroplane
        The flying mass is less than the wing's own.

    Examples
    --------
    >>> import sparbay
    >>> analysis = sparbay.analyse(sparbay.read("spar-box"), per_bay=1)
    >>> analysis.solution.displacements.shape[1:]  # of every node, in each case
    (6, 3)
    >>> analysis.solution.checks.residual < 1e-8
    True
    """
    model = build(wing, per_bay=per_bay, across_chord=across_chord, rigid_joints=rigid_joints)
    return solve(model, bound=bound, keep_factor=keep_factor)


def solve(
    model: Model,
    *,
    bound: float = 1e-8,
    assembly: Assembly | None = None,
    factor: Factor | None = None,
    keep_factor: bool = False,
) -> Analysis:
    """Load and solve a built model for the case in its file.

    Parameters
    ----------
    model : Model
        From `models.structure.build`.
    bound : float, default 1e-8
        Largest equilibrium residual that is let pass.
    assembly : Assembly or None
        Of the model's structure, if there is one already.
    factor : Factor or None
        Of a flying wing's, if it was kept; its assembly is taken.
    keep_factor : bool, default False
        Keep a flying wing's factor with the solution.

    Returns
    -------
    Analysis

    Raises
    ------
    fea.solve.Mechanism, models.loads.pull_up.LightAeroplane
        As `analyse`.
    """
    if factor is not None:
        assembly = factor.assembly
    assembly = Assembly(model.structure) if assembly is None else assembly
    if model.wing.clamped:
        solution = statics(assembly, bench(model), bound)
        flight = None
    else:
        flight = pull_up(model, assembly)
        body = assembly if factor is None else factor
        solution = free_body(body, flight.loads, bound=bound, keep_factor=keep_factor)
    case = solution.displacements.shape[2] - 1
    n = flight.load_factor if flight is not None else 1.0
    return Analysis(model, solution, case, flight, n, solution.recover(case))


def from_centre(model: Model, moves: Array, nodes: Array | None = None) -> Array:
    """Movements as they are seen from the centre section. Both (n_nodes, 6), m and rad; `nodes` (n_nodes, 3)
    stand elsewhere than the model's, m.

    A wing in flight is held by nothing, and where its rigid motion ends up is chance: over a swept span
    pitch would pass for deflection. What the caps on the centre line do as one rigid body (least squares) is
    taken off."""
    if model.wing.clamped:
        return moves
    centre = model.centre_caps
    rigid = rigid_motions(model.structure.nodes if nodes is None else nodes).reshape(-1, 6, 6)
    amount = np.linalg.lstsq(rigid[centre][:, :3].reshape(-1, 6), moves[centre, :3].ravel(), rcond=None)[0]
    return np.asarray(moves - rigid @ amount)


@dataclass(frozen=True, eq=False)
class SparMotion:
    """Movement of one spar along the span in one case, relative to the centre (or clamp).

    Parameters
    ----------
    y : (n,) float array
        Mesh stations along the span, m.
    deflection : (n,) float array
        Upward, mean of both caps, m.
    twist : (n,) float array
        Nose up, (movement aft of the upper cap less that of the lower) over the distance between their axes,
        rad.
    """

    y: Array
    deflection: Array
    twist: Array


def spar_motion(analysis: Analysis, spar: int, case: int | None = None) -> SparMotion:
    """Deflection and twist of a spar at every mesh station.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    spar : int
        Which spar.
    case : int or None
        Column of the solution; None for the analysis's own.

    Returns
    -------
    SparMotion

    Examples
    --------
    >>> import sparbay
    >>> analysis = sparbay.analyse(sparbay.read("spar-c"), per_bay=1)
    >>> motion = sparbay.spar_motion(analysis, 0)
    >>> motion.deflection[0].item(), motion.deflection[-1].item() == sparbay.tip_deflection(analysis)
    (0.0, True)
    """
    model = analysis.model
    moves = analysis.solution.displacements[:, :, analysis.case if case is None else case]
    if not analysis.held:
        moves = from_centre(model, moves)
    nodes = model.cap_nodes[spar]
    there = np.flatnonzero(nodes[0] >= 0)
    upper, lower = moves[nodes[0, there]], moves[nodes[1, there]]
    deflection = (upper[:, 2] + lower[:, 2]) / 2
    twist = (upper[:, 0] - lower[:, 0]) / model.depth[spar, there]
    y = model.y[there]
    if model.wing.flies and not analysis.held:
        centre = int(np.argmin(np.abs(y)))
        deflection = deflection - deflection[centre]
        twist = twist - twist[centre]
    return SparMotion(y, deflection, twist)


def tip_deflection(analysis: Analysis) -> float:
    """Of the outermost spar end, m: the greatest over the spars that reach farthest.

    Examples
    --------
    >>> import sparbay
    >>> tips = [
    ...     sparbay.tip_deflection(sparbay.analyse(sparbay.read(name), per_bay=1))
    ...     for name in ("spar-open", "spar-c", "spar-box")
    ... ]
    >>> tips[0] > tips[1] > tips[2] > 0  # without webs, with one, with two
    True
    """
    ends = [spar_motion(analysis, s).deflection[-1] for s in longest_spars(analysis.wing)]
    return float(max(ends, key=abs))


def longest_spars(wing: Wing) -> list[int]:
    """Numbers of the spars that reach farthest, whose ends are the tip."""
    far = max(spar.y_end for spar in wing.spars)
    return [s for s, spar in enumerate(wing.spars) if spar.y_end > far - 1e-6]


def outermost_spars(wing: Wing) -> tuple[int, int]:
    """Numbers of the foremost and the rearmost spar, those that the wing's twist is read from."""
    middle = [float(np.nanmean(spar.x.at(np.array([0.0, wing.semispan])))) for spar in wing.spars]
    return int(np.argmin(middle)), int(np.argmax(middle))


def wing_twist(analysis: Analysis, case: int | None = None) -> tuple[Array, Array]:
    """Twist of the wing along the span, nose up.

    From the difference of its foremost and rearmost spars' deflections where there are two or more, else of
    its one spar.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    case : int or None
        Column of the solution; None for the analysis's own.

    Returns
    -------
    y : (n,) float array
        m.
    twist : (n,) float array
        rad, relative to the centre.

    Examples
    --------
    >>> import sparbay
    >>> y, twist = sparbay.wing_twist(sparbay.analyse(sparbay.read("trainer"), per_bay=1))
    >>> f"{y[-1]:.3f} m", y.shape == twist.shape
    ('0.700 m', True)
    """
    model = analysis.model
    front, rear = outermost_spars(model.wing)
    if front == rear:
        motion = spar_motion(analysis, front, case)
        return motion.y, motion.twist
    a, b = spar_motion(analysis, front, case), spar_motion(analysis, rear, case)
    common = np.intersect1d(np.round(a.y, 9), np.round(b.y, 9))
    i, k = np.isin(np.round(a.y, 9), common), np.isin(np.round(b.y, 9), common)
    y = a.y[i]
    span = np.abs(y)
    apart = model.wing.spars[rear].x.at(span) - model.wing.spars[front].x.at(span)
    return y, (a.deflection[i] - b.deflection[k]) / apart
