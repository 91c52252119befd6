"""What to change: the smallest changes that make a wing fit by its own verdict, each of them solved.

What is short in the hardest cases names the changes that may help (`remedies`); each is put into the file's
text, read back and judged by `models.verdict`. The one that takes away most of what is lacking for its grams
stays, and so on until the wing is fit; what has become needless by what came after it is then taken back.
That is a search step by step: it need not find the very lightest set.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path

from models.studies.mend.remedies import Remedy, remedies
from models.verdict import CaseVerdict, Verdict, down, share, verdict
from models.wing.faults import WingFileError
from models.wing.parts import Wing
from models.wing.reading import read_text

COARSE = 2
"""Elements along a bay while changes are tried; the answer is solved on the mesh that is asked for."""
MOST_ROUNDS = 16
_SLIGHT = 1e-3
"""Mass that any change costs at least, kg: the work of it."""
_ALL = 0.99
"""Share of wings that survive a case which no change need be tried in; the verdict after it has all cases."""
_HELPS = 0.002
"""Least share of what is lacking that a change takes away."""


@dataclass(frozen=True)
class Tried:
    """A change, solved.

    Parameters
    ----------
    remedy : Remedy
        What was done.
    grams : float
        That the wing gains (of both sides), g.
    before, after : Verdict
        Of the wing without and with it.
    """

    remedy: Remedy
    grams: float
    before: Verdict
    after: Verdict

    @property
    def worth(self) -> float:
        """What it takes away of what is lacking, for its mass."""
        return (self.before.shortfall - self.after.shortfall) / max(1e-3 * self.grams + _SLIGHT, 1e-4)


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
class _Bench:
    """Reads and judges texts of one file."""

    source: str
    folder: Path
    name: str
    step: Callable[[str], None] | None

    def read(self, text: str) -> Wing:
        return read_text(text, source=self.source, folder=self.folder, name=self.name)

    def judge(
        self, text: str, per_bay: int, words: str = "", trial: Collection[str] | None = None
    ) -> Verdict:
        if self.step is not None:
            self.step(words)
        return verdict(self.read(text), per_bay=per_bay, trial=trial)

    def tried(self, remedy: Remedy, text: str, before: Verdict, per_bay: int) -> Tried | None:
        """The change, solved; None where it makes no wing or changes nothing."""
        try:
            changed = remedy.edit(text)
            if changed == text:
                return None
            after = self.judge(changed, per_bay, remedy.words, [one.name for one in _counting(before)])
        except (WingFileError, ValueError):
            return None
        return Tried(remedy, 1e3 * (after.mass - before.mass), before, after)


def mend(
    text: str,
    *,
    source: str = "",
    folder: Path = Path(),
    name: str = "wing",
    per_bay: int = 4,
    step: Callable[[str], None] | None = None,
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

    Returns
    -------
    Mended
        Not fit in the end where nothing more was found that helps.

    Raises
    ------
    models.wing.faults.WingFileError
        The file has faults.
    """
    bench = _Bench(source, folder, name, step)
    before = bench.judge(text, per_bay)
    if before.fit:
        return Mended(before, before, (), (), text)
    found, now, alone = before, text, list[Tried]()
    steps: list[Tried] = []
    for mesh in dict.fromkeys((min(COARSE, per_bay), per_bay)):
        found = before if mesh == per_bay and not steps else bench.judge(now, mesh)
        for _ in range(MOST_ROUNDS):
            if found.fit:
                break
            every = [
                one
                for remedy in remedies(now, bench.read(now), found)
                if (one := bench.tried(remedy, now, found, mesh)) is not None
            ]
            helping = [
                one for one in every if one.after.shortfall < (1 - _HELPS) * found.shortfall or one.after.fit
            ]
            helping.sort(key=lambda one: one.worth, reverse=True)
            if not steps and not alone:
                alone = helping
            if not helping:
                break
            best = helping[0].remedy
            now = best.edit(now)
            after = bench.judge(now, mesh, best.words)
            steps.append(Tried(best, 1e3 * (after.mass - found.mass), found, after))
            found = after
    if found.fit and steps:
        steps, now, found = _without_needless(bench, text, steps, found, per_bay)
    return Mended(before, found, tuple(alone), tuple(steps), now)


def _counting(found: Verdict) -> list[CaseVerdict]:
    """Cases beside the pull-up that a change is tried in: those that not all wings survive."""
    return [one for one in found.others if one.survive < _ALL] or list(found.others[:1])


def _without_needless(
    bench: _Bench, text: str, steps: list[Tried], found: Verdict, per_bay: int
) -> tuple[list[Tried], str, Verdict]:
    """The steps without those that the others make needless, the heaviest tried first."""
    for one in sorted(steps, key=lambda step: -step.grams):
        rest = [step for step in steps if step is not one]
        try:
            tried = _all(text, rest)
            after = bench.judge(tried, per_bay, f"without: {one.remedy.words}")
        except (WingFileError, ValueError):
            continue
        if after.fit and after.mass <= found.mass + 1e-9:
            steps, found = rest, after
    return _again(bench, text, steps, found), _all(text, steps), found


def _again(bench: _Bench, text: str, steps: list[Tried], found: Verdict) -> list[Tried]:
    """The steps that are left, judged anew one on top of the other; the last is the answer itself."""
    out: list[Tried] = []
    now, before = text, bench.judge(text, COARSE) if len(steps) > 1 else steps[0].before
    for k, one in enumerate(steps):
        now = one.remedy.edit(now)
        after = found if k == len(steps) - 1 else bench.judge(now, COARSE, one.remedy.words)
        out.append(Tried(one.remedy, 1e3 * (after.mass - before.mass), before, after))
        before = after
    return out


def _all(text: str, steps: list[Tried]) -> str:
    for one in steps:
        text = one.remedy.edit(text)
    return text


def sentences(found: Mended) -> list[str]:
    """What to change, in words.

    Parameters
    ----------
    found : Mended
        From `mend`.

    Returns
    -------
    list of str
    """
    if found.before.fit:
        return ["The wing is fit as drawn: nothing needs to be changed."]
    if not found.steps:
        return [
            "Nothing was found that helps among larger parts, webs of other bays and faces, other woods and "
            "joints: draw the wing anew, deeper or with a lesser load."
        ]
    what = "; ".join(one.remedy.words for one in found.steps)
    was, now = found.before.hardest, found.after.hardest
    end = (
        f"Then {share(found.after.survive)} such wings survive all that is asked in the air "
        f"({share(found.before.survive)} before). Hardest is {now.name}: one wing of twenty fails at "
        f"{down(now.fifth, 2)} times what is asked ({was.name}: {down(was.fifth, 2)} before)."
    )
    if found.after.fit:
        return [f"To make it fit, {grams(found.grams)} in all: {what}.", end]
    return [
        f"Nothing makes it fit, but this goes farthest, {grams(found.grams)} in all: {what}.",
        f"{end} Beyond that draw the wing anew, deeper or with a lesser load.",
    ]


def grams(value: float) -> str:
    """A mass gained or saved, g."""
    return f"{value:.1f} g" if value >= 0.05 else "no mass" if value > -0.05 else f"{-value:.1f} g less"


__all__ = ["Mended", "Remedy", "Tried", "grams", "mend", "sentences"]
