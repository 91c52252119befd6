"""Whole webs held against the verdict, for the study of worth.

What a web does to the wing as built in its pull-up, its sheeting whole, is a sieve and no more: the verdict
counts sheeting that bows, lift where the bent wing puts it, and every case in the air. Webs that do most for
the load or against twist, on which the bent wing's lift hangs, and those beside the part that goes first in
the case that governs are tried as `models.studies.tried` has it, then those around the best of them; what
comes first so is judged whole, until what is left is unlikely to be better, or cannot be.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from fea.solve import Mechanism
from models.loads.pull_up import LightAeroplane
from models.studies.bowed import SETTLED
from models.studies.tried import COARSE, Trial, judged
from models.studies.worth_designs import Site, toggled
from models.verdict import Verdict
from models.wing.parts import Wing

NOISE = SETTLED
"""Share of the governing reserve below which its change says nothing: bowed sheeting settles no closer."""
_SURVIVE = 0.01
"""The same of the share of wings that survive: some thousands of wings are drawn."""
TRIED = 5
"""Webs to be put in that are tried at most."""
_TRIED_OUT = 4
"""Webs to be taken out that are tried at most."""
_JUDGED = 2
"""Webs that are judged whole at most, of those put in and of those taken out (all three a choice, for the
time that it takes)."""
MOST_STEPS = 3 + TRIED + _TRIED_OUT + 2 * _JUDGED
"""Steps that are told at most."""
_DOUBT = 0.1
"""How far below the best judged one the worth by trial of another must lie to be left alone, and above it
what is lost (a judgement, no source)."""


@dataclass(frozen=True)
class Toggle:
    """A web that may be judged: its place, and what the wing gains by the change, g, less than nought if it
    is taken out."""

    site: Site
    grams: float


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

    Attributes
    ----------
    after : dict of Site to Verdict
        On the wing with the web of a site put in or taken out, of those that were judged whole.
    """

    def __init__(self, wing: Wing, drawn: Verdict, per_bay: int, tell: Callable[[str], None]) -> None:
        self.wing, self.drawn, self.per_bay, self.tell = wing, drawn, per_bay, tell
        self.after: dict[Site, Verdict] = {}
        governing = drawn.governing
        self._trial = Trial(() if governing is drawn.pull_up else (governing.name,), COARSE)
        self._base: Verdict | None = None

    def put_in(self, *sieves: list[Toggle]) -> None:
        """Judge webs that are not there, of some sieves, each with all of them, the best first."""
        promised: dict[Site, float] = {}
        every = {one.site: one for one in sieves[0]}

        def look(one: Toggle) -> None:
            found = self._tried(one)
            promised[one.site] = -math.inf if found is None else gain(*found) / one.grams

        for one in self._likely(sieves):
            look(one)
        while promised and len(promised) < TRIED:
            best = max(promised, key=promised.__getitem__)
            around = [one for one in sieves[0] if one.site not in promised and _beside(one.site, best)]
            if promised[best] <= 0 or not around:
                break
            look(min(around, key=lambda one: one.site.face != best.face))
        most = 0.0
        order = sorted(promised, key=promised.__getitem__, reverse=True)
        for k, site in enumerate(order[:_JUDGED]):
            if k and (promised[site] <= (1 - _DOUBT) * most or self._bound(every[site]) <= most):
                return
            judged = self._judged(every[site])
            if judged is not None:
                most = max(most, gain(self.drawn, judged) / every[site].grams)

    def take_out(self, sieve: list[Toggle]) -> None:
        """Judge webs that are there; those of the sieve the least missed first."""
        promised: list[tuple[float, Toggle]] = []
        for one in sieve[:_TRIED_OUT]:
            tried = self._tried(one)
            if tried is not None:
                promised.append((max(-gain(*tried), 0.0) / -one.grams, one))
                if not promised[-1][0]:
                    break
        least = math.inf
        for loses, one in sorted(promised, key=lambda pair: pair[0])[:_JUDGED]:
            if (1 - _DOUBT) * loses > least:
                return
            judged = self._judged(one)
            if judged is not None:
                found = missed(self.drawn, judged, -one.grams)
                if not any(found):
                    return
                least = min(least, found[0])

    def _likely(self, sieves: Sequence[list[Toggle]]) -> list[Toggle]:
        """The best of each sieve on every spar, and one beside what goes first in the case that governs."""
        found: dict[Site, Toggle] = {}
        for sieve in sieves:
            spars = dict.fromkeys(one.site.spar for one in sieve)
            found |= {one.site: one for one in (_first_of(sieve, spar) for spar in spars)}
        first = self.drawn.governing.first
        if first is not None and first.part.bay is not None:
            own, bay = first.part.spar, first.part.bay
            near = [one for one in sieves[0] if abs(one.site.bay - bay) <= 1 and own in ("", one.site.spar)]
            near.sort(key=lambda one: abs(one.site.bay - bay))
            found |= {one.site: one for one in near[:1]}
        return list(found.values())[: TRIED - 2]

    def _tried(self, one: Toggle) -> tuple[Verdict, Verdict] | None:
        """By trial: the wing as drawn, and with the change; None where it could not fly."""
        if self._base is None:
            self.tell("in the hardest case, as drawn")
            self._base = self._trial(self.wing)
        found = self._changed(one, "in the hardest case", self._trial)
        return None if found is None else (self._base, found)

    def _bound(self, one: Toggle) -> float:
        """What a gram of a web gains at most, on the mesh of the answer: in some cases of the verdict no
        less is left than in all."""
        finer = replace(self._trial, per_bay=self.per_bay)
        found = self._changed(one, "in the hardest case, on the finer mesh", finer)
        return -math.inf if found is None else gain(self.drawn, found) / one.grams

    def _judged(self, one: Toggle) -> Verdict | None:
        found = self._changed(one, "all cases", partial(judged, per_bay=self.per_bay, beside=False))
        if found is not None:
            self.after[one.site] = found
        return found

    def _changed(self, one: Toggle, words: str, judge: Callable[[Wing], Verdict]) -> Verdict | None:
        """On the wing with the change; None where it could not stand or fly."""
        self.tell(f"{words}: {one.site.words}")
        try:
            return judge(toggled(self.wing, [one.site]))
        except (Mechanism, LightAeroplane):
            return None


def _first_of(sieve: list[Toggle], spar: str) -> Toggle:
    return next(one for one in sieve if one.site.spar == spar)


def _beside(one: Site, other: Site) -> bool:
    """Of one spar and side, and in neighbouring bays or the same."""
    return (one.spar, one.side) == (other.spar, other.side) and abs(one.bay - other.bay) <= 1


def gain(before: Verdict, after: Verdict) -> float:
    """What the governing reserve gains; 0 where that is no more than noise."""
    more = after.least - before.least
    return more if abs(more) > NOISE * before.least else 0.0


def missed(before: Verdict, after: Verdict, grams: float) -> tuple[float, float]:
    """For a gram of so many saved, what the governing reserve loses, and the share of wings that survive;
    neither where that is no more than noise."""
    fewer = before.survive - after.survive
    return max(-gain(before, after), 0.0) / grams, (fewer if fewer > _SURVIVE else 0.0) / grams
