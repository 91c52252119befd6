"""A wing in its pull-up with the lift where it puts it as it bends and twists, on the side that is solved."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fea.solve import Factor, free_body
from fea.structure import Loads
from models.analysis import Analysis
from models.loads.body import Body
from models.loads.elastic_lift import Influence
from models.loads.pull_up import air_speed


def influence_of(sound: Analysis, factor: Factor) -> Influence:
    """How a wing in its pull-up twists in its own air, on the side that is solved. `factor` is of its
    structure, `fea.solve.pinned`."""
    flight, model = sound.pull_up, sound.model
    assert flight is not None, "a wing in its pull-up"
    height = float(model.structure.nodes[model.centre_caps, 2].mean())
    # The pull-up hangs the body's weight on the centre section: its inertia is not asked for, and what the
    # twist adds keeps lift and pitch.
    body = Body(0.0, np.array([flight.balance_x, 0.0, height]), 1.0, 1.0)
    return Influence(model, sound.solution.assembly, factor, body, flight.trimmed_by)


def bent_pull_up(sound: Analysis, factor: Factor, influence: Influence | None = None) -> Analysis | None:
    """The same wing under lift that follows its twist in mean wood, at the speed of its pull-up.

    Parameters
    ----------
    sound : Analysis
        Of a flying wing in the case of its file, with lift as it is built.
    factor : Factor
        Of its structure, `fea.solve.pinned`.
    influence : Influence or None
        From `influence_of`, where it is there already.

    Returns
    -------
    Analysis or None
        None where `models.loads.elastic_lift.Influence.bent` has none.
    """
    flight, wing, solution = sound.pull_up, sound.wing, sound.solution
    assert flight is not None, "a wing in its pull-up"
    assert wing.planform is not None, "what flies has a planform"
    influence = influence_of(sound, factor) if influence is None else influence
    speed = air_speed(wing.case, flight.lift, wing.planform.area)
    own = [sound.case]
    moves = solution.displacements[:, :, own]
    bent = influence.bent("trim", wing.case.air_density * speed**2, influence.twist(moves)[:, 0])
    if bent is None:
        return None
    added = free_body(factor, Loads(bent.nodal))
    moved = replace(
        solution,
        displacements=moves + added.displacements,
        loads=solution.loads[:, :, own] + added.loads,
        reactions=solution.reactions[:, :, own] + added.reactions,
    )
    return replace(sound, solution=moved, case=0, recovered=moved.recover(0))
