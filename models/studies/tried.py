"""A changed wing held against the verdict: tried in the hardest cases on a coarse mesh, then judged whole."""

from __future__ import annotations

from dataclasses import dataclass

from fea.solve import Mechanism
from models.verdict import Verdict, trial, verdict
from models.wing.parts import Wing

COARSE = 2
"""Elements along a bay while changes are tried; the answer is solved on the mesh that is asked for."""
_ALL = 0.99
"""Share of wings that survive a case which no change need be tried in; the verdict after it has all cases."""
_MOST_CASES = 3
"""Cases beside the pull-up that a change is tried in: the hardest."""


@dataclass(frozen=True)
class Trial:
    """What a change is tried in: cases beside the pull-up, and elements along a bay."""

    cases: tuple[str, ...]
    per_bay: int

    def __call__(self, wing: Wing) -> Verdict:
        """The verdict of a trial."""
        return trial(wing, self.cases, per_bay=self.per_bay)


def counting(found: Verdict) -> tuple[str, ...]:
    """Cases beside the pull-up that a change is tried in: the hardest of those that not all wings survive,
    and one in which it twists off."""
    names = [one.name for one in found.others if one.survive < _ALL]
    names = names[:_MOST_CASES] or [one.name for one in found.others[:1]]
    fast = found.twists_off
    if fast is not None and fast is not found.pull_up:
        names.append(fast.name)
    return tuple(dict.fromkeys(names))


def judged(wing: Wing, *, per_bay: int, beside: bool = True) -> Verdict:
    """The whole verdict, on the mesh of the answer; `beside`: with what says nothing of whether it is fit,
    how far a static test may go and what landing and carrying break."""
    try:
        return verdict(wing, per_bay=per_bay, test=beside, landing=beside)
    except Mechanism:  # of one element a long bay, whose ends hold it too little
        if per_bay >= COARSE:
            raise
        return verdict(wing, per_bay=COARSE, test=beside, landing=beside)
