"""What to change: the smallest changes that make a wing fit by its own verdict, each of them solved.

What is short in the hardest cases names the changes that may help (`remedies`); each is put into the file's
text, read back and tried in the hardest cases on a coarse mesh (`models.verdict.trial`). The one that takes
away most of what is lacking for its grams stays, and so on until the wing is fit by the whole verdict; what
has become needless by what came after it is then taken back. That is a search step by step: it need not find
the very lightest set. A wing whose file states a speed is then made fast enough for it (`faster`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from models import units_out as say
from models.structure import build
from models.studies.mend.faster import Faster, faster
from models.studies.mend.remedies import Remedy, remedies
from models.studies.speed_limit import Limit, limit, stated
from models.studies.tried import COARSE, Trial, counting, judged
from models.verdict import Verdict, down, share
from models.wing.faults import WingFileError
from models.wing.parts import Wing
from models.wing.reading import read_text

MOST_ROUNDS = 40
_SPEED_ROUNDS = 2
"""How often what makes a wing faster is looked for, on the coarsest mesh, and judged on that of the
answer."""
_SLIGHT = 1e-3
"""Mass that any change costs at least, kg: the work of it."""
_DOUBT = 0.03
"""How far below the share of wings that is wanted a trial may stay and the whole verdict be asked still: a
trial draws without slopes by stiffness, which is on the safe side."""
_HELPS = 0.002
"""Least share of what is lacking that a change takes away."""


@dataclass(frozen=True)
class Tried:
    """A change, solved. The wing, both sides, gains `grams`, g; the verdicts are without and with it."""

    remedy: Remedy
    grams: float
    before: Verdict
    after: Verdict

    @property
    def worth(self) -> float:
        """What it takes away of what is lacking, for its mass."""
        return _worth(self.before.shortfall - self.after.shortfall, self.grams)


def _kind(remedy: Remedy) -> str:
    """A change without its sizes and places."""
    return re.sub(r"bays? [-\d, and]+|[\d./]+", "", remedy.words)


def _worth(taken_away: float, grams: float) -> float:
    return taken_away / max(1e-3 * grams + _SLIGHT, 1e-4)


@dataclass(frozen=True)
class Mended:
    """What makes a wing fit.

    Parameters
    ----------
    before, after : Verdict
        Of the wing as it was and with all steps.
    alone : tuple of Tried
        First changes by themselves, the best first.
    steps : tuple of Tried
        What was done in order, each on top of those before it.
    text : str
        Of the file with all steps.
    """

    before: Verdict
    after: Verdict
    alone: tuple[Tried, ...]
    steps: tuple[Tried, ...]
    text: str

    @property
    def grams(self) -> float:
        """That the wing gains, g."""
        return 1e3 * (self.after.mass - self.before.mass)


@dataclass(frozen=True)
class _Trials:
    """Reads and judges texts of one file; what was tried once is known."""

    source: str
    folder: Path
    name: str
    per_bay: int
    step: Callable[[str], None] | None
    judged: dict[str, Verdict] = field(default_factory=dict)
    known: dict[tuple[str, Trial], Verdict] = field(default_factory=dict)
    limits: dict[str, Limit] = field(default_factory=dict)
    last: dict[str, float] = field(default_factory=dict)
    """Worth of the changes when they were tried last, 0 of what did not help."""
    idle: set[str] = field(default_factory=set)
    """Kinds of change that did not help when they were tried last."""

    def read(self, text: str) -> Wing:
        return read_text(text, source=self.source, folder=self.folder, name=self.name)

    def judge(self, text: str, words: str = "") -> Verdict:
        """The whole verdict, on the mesh of the answer."""
        if text not in self.judged:
            if self.step is not None:
                self.step(words)
            self.judged[text] = judged(self.read(text), per_bay=self.per_bay)
        return self.judged[text]

    def limit(self, text: str) -> Limit:
        """How fast it may be flown, on the mesh of the answer."""
        if text not in self.limits:
            if self.step is not None:
                self.step("how fast it may fly")
            self.limits[text] = limit(self.read(text), per_bay=self.per_bay)
        return self.limits[text]

    def trial(self, text: str, wanted: Trial, words: str = "") -> Verdict:
        """The verdict of a trial."""
        key = (text, wanted)
        if key not in self.known:
            if self.step is not None:
                self.step(words)
            self.known[key] = wanted(self.read(text))
        return self.known[key]

    def tried(self, remedy: Remedy, text: str, before: Verdict, wanted: Trial) -> Tried | None:
        """The change, solved; None where it makes no wing or changes nothing."""
        try:
            changed = remedy.edit(text)
            if changed == text:
                return None
            after = self.trial(changed, wanted, remedy.words)
        except (WingFileError, ValueError):
            return None
        return Tried(remedy, 1e3 * (after.mass - before.mass), before, after)

    def helping(self, text: str, before: Verdict, short: Verdict, wanted: Trial) -> list[Tried]:
        """Changes that help, the best first; `short` says what falls short. Of those that cannot be the best
        not all are tried."""
        offered = remedies(text, self.read(text), short)
        # A kind of change that did not help when it was tried last waits until nothing else helps.
        waiting = [one for one in offered if _kind(one) in self.idle]
        lively = [one for one in offered if _kind(one) not in self.idle]
        return self._helping(lively, text, before, wanted) or self._helping(waiting, text, before, wanted)

    def _helping(self, offered: list[Remedy], text: str, before: Verdict, wanted: Trial) -> list[Tried]:
        mass = _structure(self.read(text))
        grams = {one.words: self._gained(one, text, mass) for one in offered}
        # The better the best one is, the fewer can beat it: those first that were worth most or weigh least.
        offered = sorted(offered, key=lambda one: (-self.last.get(one.words, 0.0), grams[one.words]))
        out: list[Tried] = []
        best = 0.0
        for remedy in offered:
            # At best a change takes away all that is lacking.
            if _worth(before.shortfall, grams[remedy.words]) <= best:
                continue
            one = self.tried(remedy, text, before, wanted)
            if one is None:
                continue
            fits = one.after.fit and not before.fit
            helps = fits or one.after.shortfall < (1 - _HELPS) * before.shortfall
            self.last[remedy.words] = one.worth if helps else 0.0
            if helps:
                out.append(one)
                best = max(best, one.worth)
        self.idle.difference_update(_kind(one.remedy) for one in out)
        self.idle.update(_kind(one) for one in offered if self.last.get(one.words, 1.0) <= 0)
        return sorted(out, key=lambda one: one.worth, reverse=True)

    def _gained(self, remedy: Remedy, text: str, mass: float) -> float:
        """Mass that a change adds, g; without end where it makes no wing."""
        try:
            return 1e3 * (_structure(self.read(remedy.edit(text))) - mass)
        except (WingFileError, ValueError):
            return math.inf


def _structure(wing: Wing) -> float:
    """Mass of the structure, kg, both sides: it is built, and nothing solved."""
    model = build(wing, per_bay=1)
    return (2.0 if model.half else 1.0) * sum(model.structural_mass.values())


def mend(
    text: str,
    *,
    source: str = "",
    folder: Path = Path(),
    name: str = "wing",
    per_bay: int = 4,
    step: Callable[[str], None] | None = None,
    before: Verdict | None = None,
    fast: bool = True,
) -> Mended:
    """Find changes that make a flying wing fit.

    Parameters
    ----------
    text : str
        Of the wing file.
    source : str
        Name of the file in messages.
    folder : Path
        From which coordinate files count.
    name : str
        Of the wing where the file gives none.
    per_bay : int, default 4
        Elements along a bay of the answer.
    step : callable or None
        Told in words what is tried.
    before : Verdict or None
        On the wing as it is, on that mesh, where it is there already.
    fast : bool, default True
        Make it fast enough too, where its file states a speed.

    Returns
    -------
    Mended
        Not fit in the end where nothing more was found that helps.

    Raises
    ------
    models.wing.faults.WingFileError
        The file has faults.
    """
    bench = _Trials(source, folder, name, per_bay, step)
    before = replace(bench.judge(text) if before is None else before, speed=None)
    plan = _Plan(before, [], [], text)
    if not before.fit:
        plan = _stronger(bench, plan)
    if fast and stated(bench.read(text)):
        before = replace(before, speed=bench.limit(text))
        plan = _faster(bench, plan)
    return Mended(before, plan.found, tuple(plan.alone), tuple(plan.steps), plan.text)


@dataclass(frozen=True)
class _Plan:
    """The verdict on a text, first changes by themselves, and the steps that led to it."""

    found: Verdict
    alone: list[Tried]
    steps: list[Tried]
    text: str


def _faster(bench: _Trials, plan: _Plan) -> _Plan:
    """Changes on top, until a wing that is strong enough may fly as fast as its file asks."""
    for _ in range(_SPEED_ROUNDS):
        plan = replace(plan, found=replace(plan.found, speed=bench.limit(plan.text)))
        let = plan.found.speed
        if let is None or let.holds or not plan.found.strong or plan.found.tail_heavy:
            return plan
        more, alone = faster(plan.text, bench.read, _structure, let, bench.step)
        if not more:
            return plan
        wanted = Trial(counting(plan.found), min(COARSE, bench.per_bay))
        base = replace(bench.trial(plan.text, wanted), speed=let)

        def tried(one: Faster, text: str, before: Verdict, wanted: Trial = wanted) -> Tried:
            after = replace(bench.trial(one.remedy.edit(text), wanted), speed=one.after)
            return Tried(one.remedy, 1e3 * one.gained, before, after)

        singles = plan.alone or [tried(one, plan.text, base) for one in alone]
        now, steps = plan.text, list(plan.steps)
        for one in more:
            steps.append(tried(one, now, base))
            now, base = one.remedy.edit(now), steps[-1].after
        plan = _Plan(bench.judge(now, "all cases"), singles, steps, now)
        if not plan.found.fit:  # what makes it faster made it weaker
            plan = _stronger(bench, plan)
    return replace(plan, found=replace(plan.found, speed=bench.limit(plan.text)))


def _stronger(bench: _Trials, plan: _Plan) -> _Plan:
    """Changes on top, until a wing is fit but for its speed, or nothing more helps."""
    text, per_bay, found = plan.text, bench.per_bay, plan.found
    now, alone, steps, judged = text, list[Tried](), list[Tried](), True
    wanted = Trial(counting(found), min(COARSE, per_bay))
    for _ in range(MOST_ROUNDS):
        base = bench.trial(now, wanted, "as it is so far")
        helping = bench.helping(now, base, found if base.fit else base, wanted)
        alone = alone or helping
        if not helping:
            break
        steps.append(helping[0])
        now, judged = helping[0].remedy.edit(now), False
        if not _near(helping[0].after):
            continue
        found, judged = bench.judge(now, "all cases"), True
        if found.fit:
            break
        # What the trial passes and the verdict does not is tried in more cases, on the mesh of the answer.
        cases = tuple(dict.fromkeys((*wanted.cases, *counting(found))))
        wanted = Trial(cases, per_bay if helping[0].after.fit else wanted.per_bay)
    if not judged:
        found = bench.judge(now, "all cases")
    if found.fit:
        coarse = replace(wanted, per_bay=min(COARSE, per_bay))
        steps, now, found = _without_needless(bench, text, steps, found, coarse)
    if steps:
        steps[-1] = replace(steps[-1], after=found)
    return _Plan(found, plan.alone or alone, [*plan.steps, *steps], now)


def _near(found: Verdict) -> bool:
    """Whether a trial comes so near to what is wanted that the verdict is asked."""
    return found.fit or (found.survive >= found.wanted - _DOUBT and not found.tail_heavy)


def _without_needless(
    bench: _Trials, text: str, steps: list[Tried], found: Verdict, wanted: Trial
) -> tuple[list[Tried], str, Verdict]:
    """The steps without those that the others make needless, and with lesser sizes where these are enough,
    the heaviest tried first."""
    kept = steps

    def fit_with(rest: list[Tried], words: str) -> Verdict | None:
        try:
            tried = _all(text, rest)
            after = bench.judge(tried, words) if _near(bench.trial(tried, wanted, words)) else None
        except (WingFileError, ValueError):
            return None
        return after if after is not None and after.fit else None

    for one in sorted(steps, key=lambda step: -step.grams) if len(steps) > 1 else ():
        rest = [step for step in kept if step is not one]
        after = fit_with(rest, f"without: {one.remedy.words}")
        if after is not None and after.mass <= found.mass + 1e-9:
            kept, found = rest, after
    for one in sorted(kept, key=lambda step: -step.grams):
        for less in one.remedy.lesser:
            rest = [replace(step, remedy=less) if step is one else step for step in kept]
            after = fit_with(rest, less.words)
            if after is not None and after.mass < found.mass - 1e-9:
                kept, found = rest, after
                break
    if kept != steps:
        kept = _again(bench, text, kept, wanted)
    return kept, _all(text, kept), found


def _again(bench: _Trials, text: str, steps: list[Tried], wanted: Trial) -> list[Tried]:
    """The steps that are left, tried anew one on top of the other."""
    out: list[Tried] = []
    now, before = text, bench.trial(text, wanted)
    for one in steps:
        now = one.remedy.edit(now)
        after = bench.trial(now, wanted, one.remedy.words)
        out.append(Tried(one.remedy, 1e3 * (after.mass - before.mass), before, after))
        before = after
    return out


def _all(text: str, steps: list[Tried]) -> str:
    for one in steps:
        text = one.remedy.edit(text)
    return text


def sentences(found: Mended) -> list[str]:
    """What to change, in words."""
    if found.before.fit:
        return ["The wing is fit as drawn: nothing needs to be changed."]
    if not found.steps and found.before.strong and not found.before.tail_heavy:
        return [
            "Nothing was found that lets it fly as fast as its file asks among webs, sheeting and masses "
            f"near the tips: {_SLOWER}.",
            *_speed_words(found),
        ]
    if not found.steps:
        return [
            "Nothing was found that helps among larger parts, webs of other bays and faces, other woods and "
            f"joints: {_ANEW}."
        ]
    what = "; ".join(one.remedy.words for one in found.steps)
    was, now = found.before.hardest, found.after.hardest
    end = (
        f"Then {share(found.after.survive)} such wings survive all that is asked in the air "
        f"({share(found.before.survive)} before). Hardest is {now.name}: one wing of twenty fails at "
        f"{down(now.fifth, 2)} times what is asked ({was.name}: {down(was.fifth, 2)} before)."
    )
    let = _speed_words(found)
    if found.after.fit:
        return [f"To make it fit, {grams(found.grams)} in all: {what}.", end, *let]
    anew = _SLOWER if found.after.strong and not found.after.tail_heavy else _ANEW
    return [
        f"Nothing makes it fit, but this goes farthest, {grams(found.grams)} in all: {what}.",
        end,
        *let,
        f"Beyond that {anew}.",
    ]


_ANEW = "draw the wing anew, deeper or with a lesser load"
_SLOWER = "draw the wing anew, stiffer in twist, or fly it slower"


def _speed_words(found: Mended) -> list[str]:
    """How fast it may be flown before and after, where its file asks for a speed."""
    was, now = found.before.speed, found.after.speed
    if was is None or now is None or not math.isfinite(was.advised):
        return []
    let = say.speed.at_most(now.advised) if math.isfinite(now.advised) else "any speed"
    return [
        f"It may be flown at {let} then ({say.speed.at_most(was.advised)} before); its file asks for "
        f"{say.speed(now.asked):.0f}."
    ]


def grams(value: float) -> str:
    """A mass gained or saved (g) in words, "3.0 grams": "g" alone stands for times its weight beside it."""
    if -0.05 < value < 0.05:
        return "no mass"
    return f"{say.grams(1e-3 * value):.1f}" if value > 0 else f"{say.grams(-1e-3 * value):.1f} less"


__all__ = ["Mended", "Remedy", "Tried", "grams", "mend", "sentences"]
