"""What one wing does in the study of worth, and how that changes."""

from __future__ import annotations

from dataclasses import dataclass

from models.studies.worth_scatter import Paired


@dataclass(frozen=True)
class Figures:
    """What one wing does.

    Parameters
    ----------
    deflection, twist : float
        At the tip, up, m, and nose up, rad, in the file's load case.
    load_factor : float
        At first failure, g; of a specimen multiples of its load.
    mass : float
        Of the whole wing, both sides, with what it carries, kg.
    first_failure : str
        Part and mode.
    """

    deflection: float
    twist: float
    load_factor: float
    mass: float
    first_failure: str

    def to(self, other: Figures, fifth: Paired | None = None) -> Change:
        """How another wing's figures differ from these."""
        return Change(
            other.deflection - self.deflection,
            other.twist - self.twist,
            other.load_factor - self.load_factor,
            other.mass - self.mass,
            other.first_failure,
            fifth,
        )


@dataclass(frozen=True)
class Change:
    """How figures change from the wing as drawn to another one.

    Parameters
    ----------
    deflection, twist, load_factor, mass : float
        As in `Figures`, changed less drawn.
    first_failure : str
        Of the changed wing.
    fifth : Paired or None
        Of the fifth percentile of the load factor; None where it was not asked for.
    """

    deflection: float
    twist: float
    load_factor: float
    mass: float
    first_failure: str
    fifth: Paired | None = None

    @property
    def grams(self) -> float:
        """Wood put in, or (negative) taken out, g."""
        return 1e3 * self.mass

    def per_gram(self, value: float) -> float:
        """A change for each gram put in; nan where nothing is weighed."""
        return value / self.grams if self.grams else float("nan")
