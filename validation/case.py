"""Records of a validation case: what is computed, what is published, how far they may differ, and why so
far."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import wraps
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fea.structure import Structure
    from models.wing.parts import Wing

KINDS = ("rounding", "mesh", "theory", "measured", "information")
"""What a difference comes from: arithmetic alone, the mesh, an effect that one side leaves out, scatter and
gaps of a test; or nothing is asked and the figure stands for information."""


class BadCase(ValueError):
    """A result does not hold together; the message says which and why."""


@dataclass(frozen=True)
class Result:
    """One figure of a case beside the published one.

    Parameters
    ----------
    quantity : str
        What the figure is.
    computed, published : float
        In `unit`.
    unit : str
        Unit of both; "" for a pure number.
    tolerance : float or None
        Largest difference as a fraction of `scale`; None where the comparison is for information.
    source : str
        Title, table or equation, and how far it was read: looked up, from memory, computed.
    why : str
        Why the tolerance is what it is; without a tolerance, why nothing is asked.
    kind : str
        One of `KINDS`.
    scale : float or None
        What the difference is measured by, in `unit`; None for the published figure itself.
    known_miss : float or None
        For a figure that is known to miss its tolerance, and whose `why` explains it: how far it may, as a
        fraction of `scale`. It is shown as a miss; beyond this it fails like any other.
    name : str
        Name of the case, which `run_case` fills in; "" before.

    Raises
    ------
    BadCase
        A kind that does not exist, no source or reason, or a published zero without a scale.
    """

    quantity: str
    computed: float
    published: float
    unit: str
    tolerance: float | None
    source: str
    why: str
    kind: str
    scale: float | None = None
    known_miss: float | None = None
    name: str = ""

    def __post_init__(self) -> None:
        for name in ("computed", "published"):
            object.__setattr__(self, name, float(getattr(self, name)))  # a numpy number is no plain data
        if self.kind not in KINDS:
            raise BadCase(f"{self.quantity}: kind {self.kind!r}, expected one of {', '.join(KINDS)}")
        if not self.source.strip() or not self.why.strip():
            raise BadCase(f"{self.quantity}: a source and a reason are needed")
        if self.kind == "information" and self.tolerance is not None:
            raise BadCase(f"{self.quantity}: a figure for information has no tolerance")
        if self.kind not in ("information", "measured") and self.tolerance is None:
            raise BadCase(f"{self.quantity}: kind {self.kind} needs a tolerance")
        if self.known_miss is not None and not (
            self.tolerance is not None and self.known_miss > self.tolerance
        ):
            raise BadCase(f"{self.quantity}: a known miss must lie beyond a stated tolerance")
        if not (abs(self.published) if self.scale is None else self.scale) > 0:
            raise BadCase(f"{self.quantity}: a published 0 needs a scale")

    @property
    def difference(self) -> float:
        """Computed less published, as a fraction of the scale."""
        return (self.computed - self.published) / (abs(self.published) if self.scale is None else self.scale)

    @property
    def within(self) -> bool:
        """Whether the difference is within the tolerance; True for information if it is a number."""
        if not math.isfinite(self.computed):
            return False
        return self.tolerance is None or abs(self.difference) <= self.tolerance

    @property
    def passed(self) -> bool:
        """Whether it is within the tolerance, or misses it by no more than is known and explained."""
        if self.within or self.known_miss is None:
            return self.within
        return math.isfinite(self.computed) and abs(self.difference) <= self.known_miss

    @property
    def verdict(self) -> str:
        """One of "passes", "known miss", "information", "fails"."""
        if not self.passed:
            return "fails"
        if self.tolerance is None:
            return "information"
        return "passes" if self.within else "known miss"

    @property
    def strain(self) -> float:
        """Share of the tolerance that the difference uses up; 0 for information, infinite for what is no
        number."""
        if not math.isfinite(self.computed):
            return math.inf
        return 0.0 if self.tolerance is None else abs(self.difference) / self.tolerance


@dataclass(frozen=True)
class Case:
    """A case: a set-up with one or more figures.

    Parameters
    ----------
    name : str
        Short name, unique.
    title : str
        What is tried, in words.
    run : callable
        Computes the figures; no argument, nothing printed.
    specimen : callable or None
        Gives the wing, specimen or structure that it is about, to be drawn; None where there is none.
    """

    name: str
    title: str
    run: Callable[[], Iterable[Result]]
    specimen: Callable[[], Wing | Structure] | None = None


def only(run: Callable[[], Iterable[Result]], name: str) -> Callable[[], Iterable[Result]]:
    """Of what several cases share, the figures of one name."""

    @wraps(run)
    def some() -> list[Result]:
        return [result for result in run() if result.name == name]

    return some
