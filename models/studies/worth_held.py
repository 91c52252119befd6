"""Whole webs held against the verdict, for the study of worth.

What a web does to the wing as built, its sheeting whole, is a sieve and no more: the verdict counts sheeting
that bows, lift where the bent wing puts it, and every case in the air. The best of the sieve, and webs beside
the part that goes first in the case that governs, are tried as `models.studies.tried` has it; what then comes
first is judged whole, until what is left is unlikely to be better.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from fea.solve import Mechanism
from models.loads.pull_up import LightAeroplane
from models.studies.bowed import SETTLED
from models.studies.tried import COARSE, Trial, judged
from models.studies.worth_designs import Site, toggled
from models.verdict import Verdict
from models.wing.parts import Wing

NOISE = SETTLED
"""Share of the governing reserve below which its change says nothing: bowed sheeting settles no closer."""
_SURVIVE = 5e-3
"""The same of the share of wings that survive: what is drawn is thousands of wings."""
_OF_SIEVE, TRIED = 2, 5
"""Webs of the sieve that are tried, and webs in all, of those to be put in; of those to be taken out webs at
most, in the order of the sieve (a choice, for the time that it takes)."""
_JUDGED_IN, _JUDGED_OUT = 3, 2
"""Webs that are judged whole at most (the same)."""
MOST_STEPS = 2 + 2 * TRIED + _JUDGED_IN + _JUDGED_OUT
"""Steps that are told at most."""
_DOUBT = 0.1
"""How far below the best judged one the worth by trial of another must lie to be left alone (a judgement, no
source)."""


@dataclass(frozen=True)
class Candidate:
    """A web that may be judged: its place, and what the wing gains by the change, g, less than nought if it
    is taken out."""

    site: Site
    grams: float


@dataclass
class Held:
    """Whole webs judged.

    Parameters
    ----------
    wing : Wing
        As drawn.
    drawn : Verdict
        On it.
    per_bay : int
        Elements along a bay.
    tell : callable
        Told before every step.
    """

    wing: Wing
    drawn: Verdict
    per_bay: int
    tell: Callable[[str], None]
    after: dict[Site, Verdict] = field(default_factory=dict)

    def __post_init__(self) -> None:
        governing = self.drawn.governing
        cases = () if governing is self.drawn.pull_up else (governing.name,)
        self._trial = Trial(cases, COARSE)
        self._base: Verdict | None = None

    def put_in(self, sieve: list[Candidate]) -> None:
        """Judge webs that are not there; those of the sieve the best first."""
        tried = []
        for one in self._likely(sieve):
            found = self._tried(one)
            if found is not None:
                tried.append((gain(found[0], found[1]) / one.grams, one))
        best = 0.0
        for k, (promised, one) in enumerate(sorted(tried, key=lambda pair: -pair[0])):
            if k == _JUDGED_IN or promised < (1 - _DOUBT) * best or (k and promised <= 0):
                return
            found = self._judged(one)
            if found is not None:
                best = max(best, gain(self.drawn, found) / one.grams)

    def take_out(self, sieve: list[Candidate]) -> None:
        """Judge webs that are there; those of the sieve the least missed first."""
        tried = []
        for one in sieve[:TRIED]:
            found = self._tried(one)
            if found is not None:
                tried.append((missed(*found, -one.grams), one))
                if not any(tried[-1][0]):
                    break
        for _, one in sorted(tried, key=lambda pair: pair[0])[:_JUDGED_OUT]:
            found = self._judged(one)
            if found is not None and not any(missed(self.drawn, found, -one.grams)):
                return

    def _likely(self, sieve: list[Candidate]) -> list[Candidate]:
        """The best of the sieve, and webs beside what goes first in the case that governs."""
        first = self.drawn.governing.first
        part = None if first is None else first.part
        if part is None or part.bay is None:
            return sieve[:TRIED]
        own, bay = part.spar, part.bay
        near = [one for one in sieve if abs(one.site.bay - bay) <= 1 and own in ("", one.site.spar)]
        near.sort(key=lambda one: abs(one.site.bay - bay))
        every = {one.site: one for one in (*sieve[:_OF_SIEVE], *near, *sieve)}
        return list(every.values())[:TRIED]

    def _tried(self, one: Candidate) -> tuple[Verdict, Verdict] | None:
        """By trial: the wing as drawn, and with the change; None where it could not fly."""
        if self._base is None:
            self.tell("in the hardest case, as drawn")
            self._base = self._trial(self.wing)
        self.tell(f"in the hardest case: {one.site.words}")
        try:
            return self._base, self._trial(toggled(self.wing, [one.site]))
        except (Mechanism, LightAeroplane):
            return None

    def _judged(self, one: Candidate) -> Verdict | None:
        self.tell(f"all cases: {one.site.words}")
        try:
            found = judged(toggled(self.wing, [one.site]), per_bay=self.per_bay, test=False)
        except (Mechanism, LightAeroplane):
            return None
        self.after[one.site] = found
        return found


def gain(before: Verdict, after: Verdict) -> float:
    """What the governing reserve gains; 0 where that is no more than noise."""
    more = after.least - before.least
    return more if abs(more) > NOISE * before.least else 0.0


def missed(before: Verdict, after: Verdict, grams: float) -> tuple[float, float]:
    """For a gram of so many saved, what the governing reserve loses, and the share of wings that survive;
    neither where that is no more than noise."""
    fewer = before.survive - after.survive
    return max(-gain(before, after), 0.0) / grams, (fewer if fewer > _SURVIVE else 0.0) / grams
