"""Tones of a tap test read back: do they fit the wing as drawn, and if not, what may be off?

What a tone's logarithm moves by is, to first order, a sum over the pieces of wood
(`models.studies.scatter.pieces`), by the derivative of an eigenvalue (Fox and Kapoor 1968, from memory); the
pieces scatter as their wood does, readings and model have errors of their own (`READ`, `MODEL`). Compared
are, by one likelihood: all is sound; one web, gone or loose on one side, each built anew without it on both
sides and its move halved, which is right to first order, for tones do not tell the sides apart; all wood
softer or heavier than scatter says. Something is named under the rule of `models.studies.measured`. What the
tones make of the wood moves the flutter speed by its own slopes (`models.studies.speed_doubt`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.studies import hypotheses as hyp
from models.studies.layouts import apply, as_drawn
from models.studies.measured import CREDIBLE, DOUBT, FALSE_ALARM, MOST, WHOLE, Suspect
from models.studies.readings import ReadingsTable, TableError
from models.studies.scatter.pieces import pieces_of
from models.studies.speed import Reduced, Speeds, condense
from models.studies.speed_doubt import SpeedDoubt, forms
from models.studies.tap import Heard, Tone, bare_of, heard
from models.wing.parts import Wing

READ = 0.01
"""Standard deviation of a frequency read, of itself (common practice, no source)."""
MODEL = 0.02
"""The same of the model's own error, of each tone by itself (a judgement: stiffness of solids is met within
3 %, frequency as its root, and masses of glue and finish are not in the file)."""
HEAVIER = 0.10
"""Standard deviation of the mass of all wood together where it is off by more than scatter (a judgement)."""
_ALIKE = 0.6
"""Least likeness of two tones' movements for them to be one tone (a choice)."""
SHARES = (1.0, 0.75, 0.5, 0.25)
"""Of a web's stiffness that may be gone: the first where it is left out."""


@dataclass(frozen=True)
class Read:
    """A frequency that was heard: number of the tone as `speed` lists them, from 1, Hz, line of the file."""

    number: int
    frequency: float
    line: int


@dataclass(frozen=True)
class ToneFinding:
    """A hypothesis: in words, its web if it is one, and its probability."""

    kind: str
    words: str
    suspect: Suspect | None
    probability: float


@dataclass(frozen=True, eq=False)
class Back:
    """What the tones say.

    Parameters
    ----------
    reads : tuple of Read
        As they came.
    computed, explained : (n,) float array
        Hz, as drawn, and with the wood that fits best.
    findings : tuple of ToneFinding
        Likeliest first; "sound" among them.
    named : tuple of ToneFinding
        What is named: nothing where a sound wing is as likely as `DOUBT`.
    misfit : float
        Chance that tones lie as far from the likeliest.
    flutter, fifth : float or None
        Speed at which it begins to beat with the wood as heard, and that nineteen in twenty pass, m/s; None
        where it does not beat, or something besides wood is named.
    """

    reads: tuple[Read, ...]
    computed: Array
    explained: Array
    findings: tuple[ToneFinding, ...]
    named: tuple[ToneFinding, ...]
    misfit: float
    flutter: float | None
    fifth: float | None

    @property
    def sound(self) -> bool:
        """Nothing is named, and something fits."""
        return not self.named and self.misfit >= FALSE_ALARM


def sentences(found: Back) -> list[str]:
    """What the tones say, in words."""
    off = np.array([one.frequency for one in found.reads]) / found.computed - 1
    worst = int(np.argmax(np.abs(off)))
    many = "tone was" if len(found.reads) == 1 else "tones were"
    said = [
        f"{len(found.reads)} {many} read; the furthest off is tone {found.reads[worst].number}, "
        f"{found.reads[worst].frequency:.1f} Hz heard for {found.computed[worst]:.1f} computed "
        f"({100 * off[worst]:+.0f} %)."
    ]
    if found.named:
        words = "; or ".join(f"{one.words} ({100 * one.probability:.0f} %)" for one in found.named)
        said.append(f"Off is: {words}.")
        if any(one.suspect for one in found.named):
            said.append("Which side it is tones do not tell: look, or lay bags (`sparbay bench`).")
    elif found.misfit < FALSE_ALARM:
        said.append("Nothing that was tried explains these tones: was each the tone that it was taken for?")
    else:
        said.append("They fit a sound wing, within what wood scatters.")
    if found.flutter is not None and found.fifth is not None:
        said.append(
            f"With the wood as heard it begins to beat near {say.speed(found.flutter):.0f}; nineteen wings "
            f"in twenty like it begin beyond {say.speed(found.fifth):.0f}."
        )
    elif found.named:
        said.append("How fast it may be flown is told again when that is mended.")
    return said


class Ear:
    """A wing's tones and what moves them."""

    def __init__(
        self, wing: Wing, *, per_bay: int = 4, progress: Callable[[str], None] | None = None
    ) -> None:
        say = progress or (lambda _: None)
        self.wing, self.say = wing, say
        say("tones as drawn")
        self.heard = _both(wing, per_bay)
        pieces = [pieces_of(one.reduced.model) for one in (self.heard[0], self.heard[-1])]
        self.names = [piece.name for piece in pieces[-1].pieces]
        self.stiffness = np.array([piece.stiffness for piece in pieces[-1].pieces])
        self.size = np.array([piece.size for piece in pieces[-1].pieces])
        rows_stiff, rows_mass = [], []
        for one in self.heard:
            mine = pieces[1 if one.tone.held else 0]
            shape = one.shape.astype(complex)
            stiff, mass = forms(one.reduced.assembly, mine.groups, len(mine.pieces), shape, shape)
            at = {piece.name: k for k, piece in enumerate(mine.pieces)}
            order = [at[name] for name in self.names]
            rows_stiff.append(stiff.real[order] / (2 * one.omega**2))
            rows_mass.append(-mass.real[order] / 2)
        self.by_stiffness, self.by_mass = np.array(rows_stiff), np.array(rows_mass)
        self._shifts: dict[Suspect, Array] | None = None

    @property
    def by_size(self) -> Array:
        """Change of the logarithm of every tone with that of every piece's thickness."""
        return self.by_stiffness + self.by_mass

    @property
    def frequencies(self) -> Array:
        """Hz, as drawn."""
        return np.array([one.tone.frequency for one in self.heard])

    @property
    def scatter(self) -> Array:
        """Covariance of the logarithms by wood that scatters, (n, n)."""
        a, b = self.by_stiffness * self.stiffness, self.by_size * self.size
        return np.asarray(a @ a.T + b @ b.T)

    @property
    def shifts(self) -> dict[Suspect, Array]:
        """What each web missing on one side moves the logarithms of the tones by; nan where one is lost."""
        if self._shifts is None:
            self._shifts = {}
            coarse = _both(self.wing, 1)
            layout = as_drawn(self.wing)
            for suspect in suspects(self.wing):
                self.say(f"without {suspect.name}")
                webs = {
                    key: tuple(f for f in faces if not _is(suspect, key, f))
                    for key, faces in layout.webs.items()
                }
                other = _both(apply(self.wing, replace(layout, webs=webs)), 1)
                self._shifts[suspect] = _moves(coarse, other) / 2
        return self._shifts

    def back(
        self, reads: tuple[Read, ...], found: Speeds | None = None, sure: SpeedDoubt | None = None
    ) -> Back:
        """What tones that were heard say. Each tone once; `found` is of the wing as drawn, for its flutter
        speed, `sure` with its slopes."""
        rows = np.array([one.number - 1 for one in reads])
        moved = np.log(np.array([one.frequency for one in reads]) / self.frequencies[rows])
        error = self.scatter[np.ix_(rows, rows)] + (READ**2 + MODEL**2) * np.eye(len(rows))
        softer = self.by_stiffness[rows].sum(axis=1) * WHOLE
        heavier = self.by_mass[rows].sum(axis=1) * HEAVIER
        wood = error + np.outer(softer, softer) + np.outer(heavier, heavier)
        as_listed = _normal(error)
        rest = 1 - sum(hyp.PRIORS[kind] for kind in ("web gone", "web loose", "wood"))
        worth: list[tuple[str, Suspect | None, float]] = [("sound", None, math.log(rest) + as_listed(moved))]
        worth.append(("wood", None, math.log(hyp.PRIORS["wood"]) + _normal(wood)(moved)))
        each = {s: m[rows] for s, m in self.shifts.items() if np.all(np.isfinite(m[rows]))}
        for suspect, move in each.items():
            for share in SHARES:
                kind = "web gone" if share == SHARES[0] else "web loose"
                many = len(each) * (1 if share == SHARES[0] else len(SHARES) - 1)
                value = math.log(hyp.PRIORS[kind] / many) + as_listed(moved - share * move)
                worth.append((kind, suspect, value))
        top = max(value for *_, value in worth)
        total = sum(math.exp(value - top) for *_, value in worth)
        shares: dict[Suspect | str, float] = {}
        for kind, which, value in worth:
            key = which if which is not None else kind
            shares[key] = shares.get(key, 0.0) + math.exp(value - top) / total
        findings = sorted((_finding(key, p) for key, p in shares.items()), key=lambda one: -one.probability)
        best = max(worth, key=lambda one: one[2])
        gap = moved - (0 if best[1] is None else _best_share(moved, each[best[1]], as_listed) * each[best[1]])
        spread = wood if best[0] == "wood" else error
        misfit = _chance(gap, spread)
        named = _named(findings, misfit)
        # The wood that fits best: every piece's own, and what all have in common.
        gain = np.linalg.solve(spread, gap)
        both = [(self.by_stiffness, self.stiffness**2), (self.by_size, self.size**2)]
        pieces = [variance * (by[rows].T @ gain) for by, variance in both]
        common = WHOLE**2 * float(self.by_stiffness[rows].sum(axis=1) @ gain) * (best[0] == "wood")
        explained = self.frequencies[rows] * np.exp(moved - gap + (spread - _own(len(rows))) @ gain)
        flutter = fifth = None
        if found is not None and sure is not None and all(one.kind == "wood" for one in named):
            at = {name: k for k, name in enumerate(sure.names)}
            order = [at[name] for name in self.names]
            slopes = sure.by_stiffness[order], sure.by_size[order]
            change = sum(float(s @ p) for s, p in zip(slopes, pieces, strict=True))
            change += common * float(slopes[0].sum())
            cross = sum((by[rows] * variance) @ s for (by, variance), s in zip(both, slopes, strict=True))
            less = float(cross @ np.linalg.solve(spread, cross))
            flutter = sure.speed * math.exp(change)
            left = math.sqrt(max(sure.deviation**2 - less, 0.0))
            way = math.log(sure.fifth / sure.speed) + 1.6448536 * sure.deviation
            fifth = flutter * math.exp(way - 1.6448536 * left)
        return Back(
            reads, self.frequencies[rows], explained, tuple(findings), tuple(named), misfit, flutter, fifth
        )


def tones_csv(wing: Wing, told: list[Tone]) -> str:
    """A table of tones to be filled in, in the order of `models.studies.tap.tones`."""
    out = [
        "# Fill in hertz where you heard the tone; leave empty what you did not hear. Then: sparbay measured "
        "FILE tones.csv\n",
        "tone,wing,sides,tap,expected,hertz\n",
    ]
    for k, one in enumerate(told, 1):
        hung = "equipped and held at its middle" if one.held else "bare and hung on cords"
        sides = {"symmetric": "alike", "antisymmetric": "opposite"}.get(one.kind, "unlike")
        tap = f"rib {wing.rib_number(one.tap_y)} at {say.length(one.tap_y):.0f} {one.tap_at}"
        out.append(f"{k},{hung},{sides},{tap},{one.frequency:.1f},\n")
    return "".join(out)


def holds_tones(text: str) -> bool:
    """Whether a table of readings is one of tones: by a column "hertz"."""
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip(' "').startswith("#")]
    return bool(lines) and "hertz" in {head.strip(' "').lower() for head in re.split("[,;\t]", lines[0])}


def read_tones(text: str, n: int) -> tuple[Read, ...]:
    """Frequencies from a table as `tones_csv` writes it.

    Raises
    ------
    models.studies.readings.TableError
        With line numbers.
    """
    known = dict.fromkeys(("tone", "wing", "sides", "tap", "expected", "hertz"), "")
    table = ReadingsTable(text, known, needed=("tone", "hertz"))
    table.heads["hertz"] = ("Hz", 1.0)
    reads: dict[int, Read] = {}
    for row in table.rows:
        if not row.cell("hertz"):
            continue
        number = row.whole("tone", 1, n, f"is not the number of a tone; they run from 1 to {n}.")
        value = row.number("hertz")
        if number is None or value is None:
            continue
        if not 0.1 <= value <= 2000:
            row.fault("hertz", row.cell("hertz"), "is no tone of a wing; 0.1 to 2000 Hz are.")
        elif number in reads:
            row.fault("tone", row.cell("tone"), f"was read on line {reads[number].line} already.")
        else:
            reads[number] = Read(number, value, row.line)
    table.check()
    if not reads:
        raise TableError(["holds no tone; fill in hertz."])
    return tuple(reads.values())


def suspects(wing: Wing) -> list[Suspect]:
    """Webs that may be missing, of either side together."""
    first = {}
    for spar in wing.spars:
        for web in spar.webs:
            first[(spar.name, web.face, web.bay)] = Suspect("web", spar.name, web.face, web.bay)
    return list(first.values())


def _is(suspect: Suspect, key: tuple[str, str, int], face: str) -> bool:
    return (suspect.spar, suspect.bay, suspect.face) == (key[0], key[2], face)


def _both(wing: Wing, per_bay: int) -> list[Heard]:
    """Tones in the order of `models.studies.tap.tones`."""
    equipped: Reduced = condense(wing, per_bay=per_bay, at_rest=True)
    bare = condense(bare_of(wing), per_bay=per_bay)
    return heard(bare, held=False) + heard(equipped, held=True)


def _moves(drawn: list[Heard], other: list[Heard]) -> Array:
    """ln of each tone of another wing over that of this one, by likeness of the ribs' movement."""
    from scipy.optimize import linear_sum_assignment

    out = np.full(len(drawn), np.nan)
    for held in (False, True):
        for kind in {one.tone.kind for one in drawn}:
            rows = [k for k, one in enumerate(drawn) if (one.tone.held, one.tone.kind) == (held, kind)]
            columns = [one for one in other if (one.tone.held, one.tone.kind) == (held, kind)]
            if not columns:
                continue
            alike = np.array([[abs(drawn[k].ribs @ one.ribs) for one in columns] for k in rows])
            pairs = list(zip(*linear_sum_assignment(-alike), strict=True))
            if min(alike[i, j] for i, j in pairs) < _ALIKE:
                pairs = [(k, k) for k in range(min(len(rows), len(columns)))]  # in their order
            for i, j in pairs:
                out[rows[i]] = math.log(columns[j].omega / drawn[rows[i]].omega)
    return out


def _own(n: int) -> Array:
    return (READ**2 + MODEL**2) * np.eye(n)


def _normal(spread: Array) -> Callable[[Array], float]:
    """ln of a normal density, by its gap."""
    inverse, size = np.linalg.inv(spread), float(np.linalg.slogdet(2 * np.pi * spread)[1])
    return lambda gap: float(-0.5 * (gap @ inverse @ gap + size))


def _chance(gap: Array, spread: Array) -> float:
    from scipy.stats import chi2

    return float(chi2.sf(gap @ np.linalg.solve(spread, gap), len(gap)))


def _best_share(moved: Array, move: Array, law: Callable[[Array], float]) -> float:
    return max(SHARES, key=lambda share: law(moved - share * move))


def _finding(key: Suspect | str, probability: float) -> ToneFinding:
    if isinstance(key, Suspect):
        return ToneFinding("web", f"{key.name}, on one side: left out or its glue dry", key, probability)
    words = {"sound": "all is sound", "wood": "all wood softer or stiffer, lighter or heavier, than listed"}
    return ToneFinding(key, words[key], None, probability)


def _named(findings: list[ToneFinding], misfit: float) -> list[ToneFinding]:
    """The rule of `measured`: the fewest that share what is not sound, where that is doubted and fits."""
    sound = next(one.probability for one in findings if one.kind == "sound")
    if sound >= DOUBT or misfit < FALSE_ALARM:
        return []
    named: list[ToneFinding] = []
    for one in findings:
        if one.kind == "sound":
            continue
        named.append(one)
        if sum(each.probability for each in named) >= CREDIBLE * (1 - sound):
            break
    return named if len(named) <= MOST else []
