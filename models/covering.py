"""A covered wing beside the bare one: taut, and beyond the load at which the covering goes slack, wrinkled.

Taut film carries with its full stiffness, and the answer is in proportion to the load, until in the first
strip of the first bay the lesser principal force is gone. Beyond that the film pulls along its folds alone.
Equilibrium is then found by putting what the taut film carried too much back on as forces and solving again
with the same factor (the initial stress method, Zienkiewicz, Valliappan and King 1969, from memory; trials
mixed as in `fea.mixing`). The frame may give as it likes, so that the answer lies between the
bare wing and one whose wrinkled film has stiff edges. First failure is also told with the lift where the
covered wing puts it as it bends and twists (`models.loads.elastic_lift`): what its twist adds is linear in
the movements, and is put on in every solve.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.assembly import Assembly
from fea.elements.membrane import Membranes, areas, forces_at_corners
from fea.elements.tension_field import relaxed
from fea.mixing import mixed
from fea.solve import Factor, pinned
from models.analysis import Analysis, solve
from models.loads.pull_up import air_speed
from models.strength import Margins, check
from models.strength.covering_slack import MODE as SLACK
from models.structure import build
from models.structure.covering import taut
from models.structure.model import Part
from models.studies.bent_pull_up import bent_pull_up, influence_of
from models.wing.parts import Wing

Follows = Callable[[Array], Array]
"""Loads of lift that follows the twist, (n_nodes, 6) N and N m, by movements without it, m and rad."""
_CLOSE = 1e-5
"""Change of the film's forces over the greatest of them at which a wrinkled answer stands."""
_ROUNDS = 400
_KEPT = 8
"""Former rounds that are mixed with the last."""
_STEPS = 6
_NEAR = 2e-3
"""Distance of the reserve from 1 at which a load is that of the first failure."""


class NoRest(ArithmeticError):
    """The wrinkled film comes to no rest: carries what it still moves, over the greatest force."""

    def __init__(self, change: float) -> None:
        self.change = change
        super().__init__(f"wrinkled covering still changes by {change:.1e} after {_ROUNDS} rounds")


@dataclass(frozen=True, eq=False)
class Field:
    """Equilibrium with film that wrinkles. `moves` (n_nodes, 6), m and rad; `forces` (n_elements, 3) of the
    film, pretension included, N/m; `slack` (n_elements,) where it wrinkles or hangs; solved in so many
    `rounds`; `more` (n_nodes, 6) what lift that follows the twist adds to the loads, N and N m, or None."""

    moves: Array
    forces: Array
    slack: NDArray[np.bool_]
    rounds: int
    more: Array | None = None


@dataclass(frozen=True, eq=False)
class Covered:
    """Answers of a covered wing.

    Parameters
    ----------
    taut : Analysis
        With film that never wrinkles: holds up to `slack_load`.
    taut_margins : Margins
        Its reserves.
    slack_load : float
        Load factor (multiple of the load of a hand test) at which the film goes slack first; infinite where
        it does not.
    slack_part : Part or None
        Where.
    wrinkled : Analysis
        At the case's load, with film that wrinkles; the same as `taut` below `slack_load`.
    slack_share : float
        Share of the film's area that wrinkles there.
    failing_load : float
        Load factor at first failure with film that wrinkles.
    failing : Margins
        Reserves there.
    bent_load : float or None
        Load factor at first failure with the lift where the bent and twisted wing puts it, film and all; None
        where that is not looked at.
    stiff : Covered or None
        The same with film of the stiff end of what is said of it; None where the file gives its stiffness.
    """

    taut: Analysis
    taut_margins: Margins
    slack_load: float
    slack_part: Part | None
    wrinkled: Analysis
    slack_share: float
    failing_load: float
    failing: Margins
    bent_load: float | None = None
    stiff: Covered | None = None

    @property
    def counted_load(self) -> float:
        """Load factor at first failure by the harder of lift as built and lift of the bent wing."""
        return self.failing_load if self.bent_load is None else min(self.failing_load, self.bent_load)

    @property
    def least_load(self) -> float:
        """The same with the film's low or stiff end, whichever is worse."""
        return min(self.counted_load, math.inf if self.stiff is None else self.stiff.counted_load)


def field(
    assembly: Assembly,
    factor: Factor,
    tension: Array,
    loads: Array,
    start: Array | None = None,
    follows: Follows | None = None,
) -> Field:
    """Equilibrium of a frame with film that wrinkles.

    Parameters
    ----------
    assembly : Assembly
        With a block "covering" of unit thickness, its moduli in N/m.
    factor : Factor
        Of the assembly, supported.
    tension : (n_elements, 3) float array
        Pretension in the film's own axes, in equilibrium with the frame as it stands, N/m.
    loads : (n_nodes, 6) float array
        N and N m.
    start : (n_elements, 3) float array or None
        What the taut film is thought to carry too much, N/m; nothing if None.
    follows : callable or None
        What lift that follows the twist adds to the loads by movements without it, both (n_nodes, 6).

    Raises
    ------
    NoRest
        The rounds run out.
    """
    block = assembly.structure.blocks["covering"]
    assert isinstance(block, Membranes)
    corners, moduli = assembly.corners("covering"), block.constitutive
    still = np.linalg.solve(moduli, tension[..., None])[..., 0]

    def moved(force: Array) -> Array:
        flat = factor.turn @ factor.solve(factor.turn.T @ assembly.vector(force[:, :, None]))
        return np.asarray(assembly.nodal(flat)[:, :, 0])

    def answer(excess: Array) -> tuple[Array, Array, Array, Array | None]:
        held = forces_at_corners(corners, excess, block.grain)
        moves, more = moved(loads + assembly.nodal_forces("covering", held)), None
        if follows is not None:
            more = follows(moves)
            moves = moves + moved(more)
        at = assembly.element_displacements("covering", moves)
        change = block.recover(corners, at)["stress"]
        strain = still + np.linalg.solve(moduli, change[..., None])[..., 0]
        forces = relaxed(strain, moduli)
        return tension + change - forces, moves, forces, more

    excess = np.zeros_like(tension) if start is None else start
    tried: list[Array] = []
    gaps: list[Array] = []
    for rounds in range(1, _ROUNDS + 1):
        found, moves, forces, more = answer(excess)
        gap = found - excess
        change = float(np.abs(gap).max() / max(np.abs(forces).max(), np.abs(tension).max()))
        if change <= _CLOSE:
            slack = np.abs(found).max(axis=1) > 1e-9 * np.abs(tension).max()
            return Field(moves, forces, slack, rounds, more)
        tried, gaps = [*tried[-_KEPT:], excess[:, :, None]], [*gaps[-_KEPT:], gap[:, :, None]]
        excess = mixed(tried, gaps)[:, :, 0]
    raise NoRest(change)


def wrinkled(
    analysis: Analysis,
    factor: Factor,
    share: float = 1.0,
    column: int | None = None,
    follows: Follows | None = None,
) -> tuple[Analysis, Field]:
    """An analysis of a taut wing again, with film that wrinkles.

    Parameters
    ----------
    analysis : Analysis
        Of the covered wing.
    factor : Factor
        Of its stiffness, supported as it is.
    share : float
        Of the load.
    column : int or None
        Which of its cases; None for its own.
    follows : callable or None
        As for `field`.

    Returns
    -------
    Analysis
        Of one case; what its film recovers is what the load has added to the pretension.
    Field
    """
    model, assembly = analysis.model, analysis.solution.assembly
    assert model.films is not None
    case = analysis.case if column is None else column
    tension = model.films.tension
    loads = share * analysis.solution.loads[:, :, case]
    found = field(assembly, factor, tension, loads, follows=follows)
    recovered = assembly.recover(found.moves)
    recovered["covering"]["stress"] = found.forces - tension
    solution = replace(
        analysis.solution,
        displacements=found.moves[:, :, None],
        loads=(loads if found.more is None else loads + found.more)[:, :, None],
        reactions=share * analysis.solution.reactions[:, :, case : case + 1],
    )
    return (
        replace(
            analysis, solution=solution, case=0, load_factor=share * analysis.load_factor, recovered=recovered
        ),
        found,
    )


def first_slack(margins: Margins) -> tuple[float, Part | None]:
    """Load factor at which the covering goes slack first, and where; infinite and None where it does not."""
    rows = [row for row in margins.secondary if row.mode == SLACK.name]
    if not rows:
        return np.inf, None
    worst = min(rows, key=lambda row: row.reserve_factor)
    return worst.reserve_factor * margins.load_factor, worst.part


def is_taut(wing: Wing) -> bool:
    """Whether the wing has covering with stiffness."""
    return bool(taut(wing))


def stiffened(wing: Wing) -> Wing | None:
    """The wing with films of the stiff end of what is said of them; None where none has another end."""
    if all(one.stiffer == 1 for one in taut(wing)):
        return None
    films = (
        one if one.stretch is None else replace(one, stretch=one.stiffer * one.stretch, stiffer=1.0)
        for one in wing.coverings
    )
    return replace(wing, coverings=tuple(films))


def cover(wing: Wing, *, per_bay: int = 4, rigid_joints: bool = False, bent: bool = False) -> Covered | None:
    """The covered flying wing under the load in its file. None where no covering has stiffness, or it lies on
    sheeting alone.

    Parameters
    ----------
    wing : Wing
        A flying wing.
    per_bay, rigid_joints
        As for `models.structure.build`.
    bent : bool, default False
        Look at the lift where the bent and twisted wing puts it too.
    """
    if not is_taut(wing):
        return None
    # A bay across the centre line has no rib on the plane of symmetry that would hold the film.
    whole = True if wing.first_bay == 0 else None
    model = build(wing, per_bay=per_bay, rigid_joints=rigid_joints, whole=whole, covered=True)
    if model.films is None:
        return None
    analysis = solve(model)
    margins = check(analysis)
    load, part = first_slack(margins)
    at_case, share, factor = analysis, 0.0, None
    if load < analysis.load_factor:
        factor = pinned(analysis.solution.assembly)
        at_case, found = wrinkled(analysis, factor)
        share = slack_share(analysis, found)
    failing = margins
    if load < margins.load_factor_at_first_failure():
        factor = factor or pinned(analysis.solution.assembly)
        failing = _first_failure(analysis, factor, check(at_case))
    stiff = None
    if (other := stiffened(wing)) is not None:
        stiff = cover(other, per_bay=per_bay, rigid_joints=rigid_joints, bent=bent)
    failing_load = failing.load_factor_at_first_failure()
    bent_load = _bent_load(analysis, factor or pinned(analysis.solution.assembly)) if bent else None
    return Covered(analysis, margins, load, part, at_case, share, failing_load, failing, bent_load, stiff)


def _bent_load(analysis: Analysis, factor: Factor) -> float | None:
    """Load factor at first failure with the lift where the covered wing puts it as it bends and twists at the
    speed of its pull-up; None where that is not known.

    Where wrinkled film comes to no rest in that air the load at which it goes slack is the last that is known
    to be borne.
    """
    flight, plan = analysis.pull_up, analysis.wing.planform
    if flight is None or plan is None:
        return None
    influence = influence_of(analysis, factor)
    taut_bent = bent_pull_up(analysis, factor, influence)
    if taut_bent is None:
        return None
    margins = check(taut_bent)
    slack_load, failing_load = first_slack(margins)[0], margins.load_factor_at_first_failure()
    if slack_load >= failing_load:
        return failing_load
    case = analysis.wing.case
    pressure = case.air_density * air_speed(case, flight.lift, plan.area) ** 2

    def follows(moves: Array) -> Array:
        bent = influence.bent("trim", pressure, influence.twist(moves[:, :, None])[:, 0])
        assert bent is not None, "the taut wing has it"
        return bent.nodal[:, :, 0]

    try:
        if slack_load < analysis.load_factor:
            margins = check(wrinkled(analysis, factor, follows=follows)[0])
        return _first_failure(analysis, factor, margins, follows).load_factor_at_first_failure()
    except NoRest:
        return slack_load


def _first_failure(
    analysis: Analysis, factor: Factor, margins: Margins, follows: Follows | None = None
) -> Margins:
    """Reserves at the load at which the first part fails; each step takes the last one's reserve."""
    for _ in range(_STEPS):
        if not margins.rows or abs(margins.rows[0].reserve_factor - 1) <= _NEAR:
            break
        share = margins.load_factor_at_first_failure() / analysis.load_factor
        margins = check(wrinkled(analysis, factor, share, follows=follows)[0])
    return margins


def slack_share(analysis: Analysis, found: Field) -> float:
    """Share of the film's area that wrinkles or hangs."""
    corners = analysis.solution.assembly.corners("covering")
    area = areas(corners)
    return float(area[found.slack].sum() / area.sum())
