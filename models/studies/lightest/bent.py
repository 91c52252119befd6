"""Whether a layout that was found holds its load with the lift where the bent wing puts it, too.

Thousands of layouts are judged by linear rows under the lift of the wing as built. What is answered in the
end is solved once more, its lift following its twist; if it fails so, the next heavier one is asked.
"""

from __future__ import annotations

from fea.solve import pinned
from models.analysis import analyse
from models.strength import check
from models.strength.counted import counted
from models.studies.bent_pull_up import bent_pull_up
from models.wing.parts import Wing


def bent_load(wing: Wing, *, per_bay: int = 4) -> float | None:
    """Load factor at first failure with the lift where the bent wing puts it, all sheeting whole. None of a
    specimen, where nothing is loaded, and near the speed at which the wing twists off or trim ends."""
    if not wing.flies:
        return None
    analysis = analyse(wing, per_bay=per_bay)
    bent = bent_pull_up(analysis, pinned(analysis.solution.assembly))
    rows = [] if bent is None else counted(wing, check(bent).rows)
    return float(rows[0].reserve_factor * analysis.load_factor) if rows else None
