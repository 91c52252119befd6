"""All failure modes on one analysis: the worst reserve of every part in every mode, ranked, and the answer
in words.

Every part's stress grows in proportion to the load, so the least reserve factor times the case's load factor
is the load factor at which the first part fails.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from fea.arrays import Array, Ints
from models import units_out as say
from models.analysis import Analysis
from models.recovered import NotFinite
from models.rounding import down
from models.strength import modes
from models.strength.finding import Finding
from models.strength.solved import Build, Solved
from models.structure.model import Model, Part
from models.wing.words import spar_words

_ALONE = 1.05
"""A mode that is this near to the reserve of those joined is named in its own words."""
UNLOADED = 1e6
"""A reserve beyond this is rounding: the part carries nothing."""


class NothingLoaded(ValueError):
    """A case that loads no part of the wing."""

    def __init__(self) -> None:
        super().__init__("no part of the wing is loaded, so that none can fail")


@dataclass(frozen=True)
class Margin:
    """Worst reserve of one part in one mode.

    Parameters
    ----------
    mode : str
        Name of the failure mode, as its file under `models.strength` calls it.
    part : Part
        What fails.
    spar, bay, side
        Of the part.
    reserve_factor : float
        Allowable over applied at the case's load.
    applied, allowable : float
        In `unit`.
    unit : str
        "Pa", "N/m" or "N".
    y : float
        Where along the span, m.
    source : str
        Of the rule.
    reason : str
        Why it is not counted among the failures that end the flight; "" where it is.
    """

    mode: str
    part: Part
    spar: str
    bay: int | None
    side: str
    reserve_factor: float
    applied: float
    allowable: float
    unit: str
    y: float
    source: str
    reason: str = ""


@dataclass(frozen=True, eq=False)
class Margins:
    """Margins of an analysis.

    Parameters
    ----------
    rows : tuple of Margin
        Worst of every mode and part, the least reserve first.
    load_factor : float
        Of the case; 1 for a specimen.
    element_reserve : mapping of str to (n_elements,) float array
        Least reserve of every element of a block over all modes, nan where nothing was checked.
    specimen : bool
        Margins count in multiples of the load, not in g.
    secondary : tuple of Margin
        What may give way before anything in `rows` without ending the flight, or counts on a condition only,
        each with its reason. Not ranked among the failures, and not in `element_reserve`.
    """

    rows: tuple[Margin, ...]
    load_factor: float
    element_reserve: Mapping[str, Array] = field(repr=False)
    specimen: bool = False
    secondary: tuple[Margin, ...] = ()

    def first(self) -> Margin:
        """What fails first.

        Raises
        ------
        NothingLoaded
        """
        if not self.rows:
            raise NothingLoaded
        return self.rows[0]

    def sources(self) -> dict[str, str]:
        """Source of the rule of every mode that was checked, by its name; one that names its glue's weakest
        part does so for the worst."""
        found: dict[str, str] = {}
        for row in (*self.rows, *self.secondary):
            found.setdefault(row.mode, row.source)
        return dict(sorted(found.items()))

    def by_bay(self) -> list[Margin]:
        """Worst margin of every bay of every spar and side, the worst bay first."""
        found: dict[tuple[str, str, int], Margin] = {}
        for row in self.rows:
            if row.bay is not None and row.spar:
                found.setdefault((row.side, row.spar, row.bay), row)
        return list(found.values())

    def load_factor_at_first_failure(self) -> float:
        """Load factor (or, of a specimen, multiple of its load) at first failure; inf if nothing can."""
        return self.load_factor * self.rows[0].reserve_factor if self.rows else float("inf")


def check(
    analysis: Analysis,
    *,
    damaged: bool = False,
    build: Build | None = None,
    only: Collection[str] | None = None,
) -> Margins:
    """Check every part of an analysed wing or specimen against every mode of failure.

    Parameters
    ----------
    analysis : Analysis
        From `models.analysis.analyse`.
    damaged : bool, default False
        Something has failed: parts that inherit its load are checked besides.
    build : Build or None
        Of its structure, where other loads on it are checked too.
    only : collection of str or None
        Names of the modes that are asked; None for all.

    Examples
    --------
    >>> import sparbay
    >>> margins = sparbay.check(sparbay.analyse(sparbay.read("trainer"), per_bay=1))
    >>> first = margins.first()
    >>> margins.load_factor, first.reserve_factor == min(row.reserve_factor for row in margins.rows)
    (4.0, True)
    >>> margins.load_factor_at_first_failure() == margins.load_factor * first.reserve_factor
    True
    """
    found = every_finding(analysis, damaged=damaged, build=build, only=only)
    model = analysis.model
    found = [one for one in found if only is None or one.mode in only]
    counted = [one for one in found if not one.reason]
    return Margins(
        ranked(model, counted),
        analysis.load_factor,
        _ByElement(model, counted),
        model.wing.clamped,
        ranked(model, [one for one in found if one.reason]),
    )


def ranked_rows(
    analysis: Analysis, *, damaged: bool = False, build: Build | None = None
) -> tuple[Margin, ...]:
    """The rows of `check` alone: what ends the flight, and nothing beside it."""
    found = every_finding(analysis, counted_only=True, damaged=damaged, build=build)
    return ranked(analysis.model, [one for one in found if not one.reason])


def every_finding(
    analysis: Analysis,
    *,
    counted_only: bool = False,
    damaged: bool = False,
    only: Collection[str] | None = None,
    build: Build | None = None,
) -> list[Finding]:
    """What every mode finds, element by element; those with a reason end no flight.

    Parameters
    ----------
    analysis : Analysis
        Solved; of it only the model and what was recovered is looked at.
    counted_only : bool
        Leave out modes all of whose findings have a reason.
    damaged : bool
        Ask besides what is asked of parts that inherit the load of others.
    only : collection of str or None
        Names of the modes that are wanted; others may come with them.
    build : Build or None
        Of its structure, where other loads on it are looked at too.

    Raises
    ------
    NotFinite
        A reserve is no number.
    """
    at = Solved(analysis, build)
    asked = (
        mode.find
        for mode in (*modes.MODES, *(modes.DAMAGED if damaged else ()))
        if at.has(mode.block)
        and (mode.ends_flight or not counted_only)
        and (only is None or mode.name in only)
    )
    found = [one for find in dict.fromkeys(asked) for one in find(at)]
    for one in found:
        if np.isnan(one.reserve).any():
            raise NotFinite(f"a reserve of {one.mode} is not a number")
    return found


@dataclass(frozen=True, eq=False)
class Least:
    """Least reserve of every mode and part that some findings have, the least first.

    Parameters
    ----------
    model : Model
        Whose parts they are.
    found : list of Finding
        What was found.
    reserve : (n,) float array
        Of each mode and part.
    number, finding, row : (n,) int array
        Its part's number, which of the findings has it and in which of its rows.
    """

    model: Model
    found: list[Finding]
    reserve: Array
    number: Ints
    finding: Ints
    row: Ints

    def margin(self, k: int) -> Margin:
        """One of them, with all that is told of it."""
        return _row(self.model.parts[self.number[k]], self.found[self.finding[k]], int(self.row[k]))

    def of_mode(self, names: Mapping[str, int]) -> Ints:
        """Number of the mode of each, (n,), by its name."""
        return np.array([names[one.mode] for one in self.found], dtype=np.intp)[self.finding]


def least(model: Model, found: list[Finding]) -> Least:
    """Least reserve of every mode and part, the least first."""
    none = np.zeros(0, dtype=np.intp)
    if not found:
        return Least(model, found, np.zeros(0), none, none, none)
    names = {one.mode: k for k, one in enumerate(found)}
    size = [len(one.element) for one in found]
    finding = np.repeat(np.arange(len(found)), size)
    number = np.concatenate([_parts(model, one.block)[one.element] for one in found])
    row = np.concatenate([np.arange(n) for n in size])
    reserve = np.concatenate([one.reserve for one in found])
    loaded = np.flatnonzero(reserve < UNLOADED)
    if not len(loaded):
        return Least(model, found, np.zeros(0), none, none, none)
    key = np.repeat([names[one.mode] for one in found], size)[loaded] * len(model.parts) + number[loaded]
    order = np.lexsort((reserve[loaded], key))
    fresh = np.flatnonzero(np.diff(key[order], prepend=-1))
    # Of those that are equal the one that was found first stands first.
    came = np.minimum.reduceat(finding[loaded[order]], fresh)
    at = loaded[order[fresh]]
    at = at[np.lexsort((number[at], came, reserve[at]))]
    return Least(model, found, reserve[at], number[at], finding[at], row[at])


def ranked(model: Model, found: list[Finding]) -> tuple[Margin, ...]:
    """Least reserve of every mode and part, the least first."""
    of = least(model, found)
    if not len(of.reserve):
        return ()
    first = np.cumsum([0, *(len(one.reserve) for one in found)])
    at = first[of.finding] + of.row
    applied, allowable, y = (
        np.concatenate(column)[at].tolist()
        for column in zip(*((one.applied, one.allowable, one.y) for one in found))
    )
    rows = []
    for p, f, reserve, acts, bears, place in zip(
        of.number.tolist(), of.finding.tolist(), of.reserve.tolist(), applied, allowable, y
    ):
        part, one = model.parts[p], found[f]
        # A check makes thousands: what a frozen record does for every field is done once for all of them.
        row = object.__new__(Margin)
        row.__dict__.update(
            mode=one.mode,
            part=part,
            spar=part.spar,
            bay=part.bay,
            side=part.side,
            reserve_factor=reserve,
            applied=acts,
            allowable=bears,
            unit=one.unit,
            y=place,
            source=one.source,
            reason=one.reason,
        )
        rows.append(row)
    return tuple(rows)


def _parts(model: Model, block: str) -> Ints:
    found = model.structure.blocks[block].part
    assert found is not None
    return found


def _row(part: Part, one: Finding, k: int) -> Margin:
    return Margin(
        one.mode,
        part,
        part.spar,
        part.bay,
        part.side,
        float(one.reserve[k]),
        float(one.applied[k]),
        float(one.allowable[k]),
        one.unit,
        float(one.y[k]),
        one.source,
        one.reason,
    )


class _ByElement(Mapping[str, Array]):
    """Least reserve of every element over some findings, by block; worked out as it is first asked for."""

    def __init__(self, model: Model, found: list[Finding]) -> None:
        self._model, self._found = model, found

    @cached_property
    def _least(self) -> dict[str, Array]:
        out: dict[str, Array] = {}
        for one in self._found:
            n = len(self._model.structure.blocks[one.block].nodes)
            least = out.setdefault(one.block, np.full(n, np.nan))
            fresh = np.full(n, np.inf)
            np.minimum.at(fresh, one.element, one.reserve)
            seen = np.zeros(n, dtype=bool)
            seen[one.element] = True
            out[one.block] = np.where(seen, np.fmin(least, fresh), least)
        return out

    def __getitem__(self, block: str) -> Array:
        return self._least[block]

    def __iter__(self) -> Iterator[str]:
        return iter(self._least)

    def __len__(self) -> int:
        return len(self._least)

    def __reduce__(self) -> tuple[type, tuple[dict[str, Array]]]:
        """To another process go the figures alone."""
        return dict, (self._least,)


def rounded_down(reserve: float, unlimited: str = "without limit") -> str:
    """A reserve factor to two places, rounded down, so that what fails is never written as 1.00."""
    return down(reserve, 2, unlimited)


def sentence(margins: Margins) -> str:
    """The answer in words: which bay fails first, at what load, and how.

    Returns
    -------
    str
        "Bay 3, front spar, starboard fails first, at 7.4 g: upper cap is crushed."

    Examples
    --------
    >>> import sparbay
    >>> margins = sparbay.check(sparbay.analyse(sparbay.read("trainer"), per_bay=1))
    >>> print(sparbay.sentence(margins))  # doctest: +ELLIPSIS
    Bay ..., main spar, starboard fails first, at ... g: ...
    """
    if not margins.rows:
        return "Nothing is loaded, so nothing fails."
    place, at, what = first_told(margins)
    comma = "," if what.startswith("it ") and "," in place else ""
    return f"{place}{comma} fails first, at {at}: {what}."


def first_told(margins: Margins) -> tuple[str, str, str]:
    """What fails first in the pieces of a sentence: "Bay 3, front spar, starboard", "7.4 g", "upper cap
    is crushed"."""
    worst = margins.first()
    part = worst.part
    where = [] if part.bay is None else [f"bay {part.bay}"]
    if part.spar:
        where.append(spar_words(part.spar))
    if part.side:
        where.append(part.side)
    what = part.place if part.kind == "rail" or part.kind in part.place else part.what
    if part.station is not None and part.rib is None:
        what += f" at {say.length(part.station):.0f}"
    load = margins.load_factor_at_first_failure()
    at = f"{load:.3g} times its load" if margins.specimen else f"{down(load)} g"
    place = ", ".join(where)
    if part.bay is None and not part.spar:
        place, what = ", ".join([what, *where]), "it"
    return f"{place[:1].upper()}{place[1:]}", at, f"{what} {happens(margins.rows)}"


def happens(rows: Sequence[Margin]) -> str:
    """What becomes of the part that fails first, in words."""
    return modes.named(plain_mode(rows)).words


def plain_mode(rows: Sequence[Margin]) -> str:
    """Mode of the first of some margins; of one that joins others, that which does nearly all of it alone."""
    worst = rows[0]
    joined = [mode.name for mode in modes.named(worst.mode).joins]
    for row in rows:
        if row.reserve_factor > _ALONE * worst.reserve_factor:
            break
        if row.part == worst.part and row.mode in joined:
            return row.mode
    return worst.mode
