"""The hand test: a wing held at its middle and pushed, hung with a bag or twisted; how far it gives.

The starboard half stands alone: what is held does not move, so the other half does not matter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.assembly import Assembly
from fea.solve import factorise, statics
from fea.structure import Loads
from models.analysis import Analysis, spar_motion
from models.covering import slack_share, wrinkled
from models.loads.hand_test import BadHandLoad, HandLoad, hand_loads, held, loaded_nodes, rib_station
from models.strength import Margin, covering_slack
from models.strength.solved import Solved
from models.structure import ACROSS_CHORD, Model, Part, build
from models.studies.bowed import check_bowed
from models.studies.proof import share_for
from models.wing.parts import Wing


@dataclass(frozen=True)
class Given:
    """How the wing gives under one load.

    Parameters
    ----------
    load : HandLoad
        What was put on.
    y : float
        Where along the span, m.
    deflection : float
        Upward under the load, mean of upper and lower node, m.
    twist : float
        Of the loaded spar there, nose up, rad; NaN on an edge.
    stiffness : float
        Force over deflection, N/m; NaN for a couple alone.
    torsional_stiffness : float
        Couple over twist, N m/rad; NaN for a force alone.
    """

    load: HandLoad
    y: float
    deflection: float
    twist: float
    stiffness: float
    torsional_stiffness: float


@dataclass(frozen=True)
class Slack:
    """When the covering goes slack under one load of the hand. At which `factor` on the load, infinite where
    it does not, and where first; `share` of its area is wrinkled under the load itself."""

    factor: float
    part: Part | None
    share: float


@dataclass(frozen=True)
class Bears:
    """What a held wing bears of one load, as factors on it, sheeting bowed as far as it is at first failure.

    Parameters
    ----------
    harmless : float
        Up to which no part uses more than the share of its strength that a proof test may.
    by : Margin
        What sets that.
    breaks : float
        At first failure in mean wood.
    first : Margin
        What fails.
    """

    harmless: float
    by: Margin
    breaks: float
    first: Margin


def half(wing: Wing, *, per_bay: int = 4, across_chord: int = ACROSS_CHORD, covered: bool = False) -> Model:
    """The starboard half of a flying wing.

    Parameters
    ----------
    wing : Wing
        With a planform.
    per_bay, across_chord, covered
        As for `models.structure.build`.

    Raises
    ------
    BadHandLoad
        The file is of a specimen, which is clamped as it is.
    """
    if wing.clamped:
        raise BadHandLoad("wing", "a specimen", "a wing with a planform; a specimen is clamped already")
    return build(wing, per_bay=per_bay, across_chord=across_chord, whole=False, covered=covered)


def hold(model: Model, loads: Loads | Sequence[HandLoad], held_at: int | None = None) -> Analysis:
    """A half wing held fast and loaded, every load a column of the solution; case 0 is the analysis's own.
    Loads are nodal ones of one's own, or the hand's; `held_at` numbers the rib up to which the wing is held,
    None holds the centre line.

    Raises
    ------
    BadHandLoad
        A load or the hold has no place on this wing.
    """
    supports = held(model, held_at)
    if not isinstance(loads, Loads):
        _outboard(model, loads, held_at)
        loads = hand_loads(model, loads)
    factor = factorise(Assembly(model.structure), supports)
    solution = replace(statics(factor, loads), factor=factor)
    return Analysis(model, solution, 0, None, 1.0, solution.recover(0), held=True)


def hold_covered(
    model: Model, loads: Sequence[HandLoad], held_at: int | None = None
) -> tuple[Analysis, list[Slack]]:
    """The covered half wing held and loaded, its film wrinkled under the loads that make it slack. The model
    is of `half`, with film on it; the analysis has a column a load, `held_at` is as for `hold`.

    Raises
    ------
    BadHandLoad
        As `hold`.
    """
    analysis = hold(model, loads, held_at)
    factor = analysis.solution.factor
    assert factor is not None, "kept"
    moves = analysis.solution.displacements.copy()
    found = []
    for column in range(len(loads)):
        one = analysis.column(column)
        films = covering_slack.findings(Solved(one))[0]
        if not len(films.reserve):
            found.append(Slack(np.inf, None, 0.0))
            continue
        worst = int(np.argmin(films.reserve))
        block = model.structure.blocks["covering"]
        assert block.part is not None
        part, reserve, share = model.parts[block.part[films.element[worst]]], films.reserve[worst], 0.0
        if reserve < 1:
            _, state = wrinkled(analysis, factor, column=column)
            moves[:, :, column], share = state.moves, slack_share(analysis, state)
        found.append(Slack(float(reserve), part, share))
    solution = replace(analysis.solution, displacements=moves)
    return replace(analysis, solution=solution, recovered=solution.recover(0)), found


def given(analysis: Analysis, loads: Sequence[HandLoad]) -> list[Given]:
    """Deflection, twist and stiffness under every load. The analysis is from `hold` with these loads, one a
    column."""
    model = analysis.model
    names = [spar.name for spar in model.wing.spars]
    found = []
    for column, load in enumerate(loads):
        moves = analysis.solution.displacements[:, :, column]
        nodes, station = loaded_nodes(model, load), rib_station(model, load.rib)
        up = float(moves[nodes, 2].mean())
        twist = np.nan
        if load.at in names:
            motion = spar_motion(analysis, names.index(load.at), column)
            twist = float(motion.twist[np.argmin(np.abs(motion.y - model.y[station]))])
        stiffness = load.force / up if load.force and up else np.nan
        turning = load.couple / twist if load.couple and twist else np.nan
        found.append(Given(load, float(model.y[station]), up, twist, stiffness, turning))
    return found


def bears(analysis: Analysis, column: int) -> Bears | None:
    """What the wing bears of one of the loads that it was held with; None where nothing is loaded."""
    wing = analysis.model.wing
    rows = check_bowed(analysis.column(column)).rows
    if not rows:
        return None
    let = [row.reserve_factor * share_for(wing, row).value for row in rows]
    k = int(np.argmin(let))
    return Bears(let[k], rows[k], rows[0].reserve_factor, rows[0])


def _outboard(model: Model, loads: Sequence[HandLoad], held_at: int | None) -> None:
    end = 0.0 if held_at is None else model.y[rib_station(model, held_at, "held_at")]
    for load in loads:
        if model.y[rib_station(model, load.rib)] < end + 1e-9:
            raise BadHandLoad("rib", str(load.rib), "a rib farther out than where the wing is held")
