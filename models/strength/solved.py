"""A solved structure as the modes of failure look at it: what several of them need is worked out once."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any, TypeVar

from models.analysis import Analysis
from models.strength.cap_stress import CapStress, cap_stress
from models.strength.web_edges import WebEdges, web_edges
from models.strength.web_stress import WebStress, web_stress
from models.structure.model import Model

T = TypeVar("T")


class Solved:
    """An analysis, and the stresses of its caps and webs.

    Parameters
    ----------
    analysis : Analysis
        Of it only the model and what was recovered is looked at.
    """

    def __init__(self, analysis: Analysis) -> None:
        self.analysis = analysis
        self._known: dict[Callable[..., Any], Any] = {}

    @property
    def model(self) -> Model:
        """Its model."""
        return self.analysis.model

    def has(self, block: str) -> bool:
        """Whether there is anything in a block of the structure."""
        found = self.model.structure.blocks.get(block)
        return found is not None and len(found.nodes) > 0

    def the(self, work: Callable[[Solved], T]) -> T:
        """What a function makes of this, worked out once."""
        if work not in self._known:
            self._known[work] = work(self)
        found: T = self._known[work]
        return found

    @cached_property
    def caps(self) -> CapStress:
        """Stress of the caps."""
        return cap_stress(self.analysis)

    @cached_property
    def webs(self) -> WebStress:
        """Stress of the webs, where there are any."""
        found = web_stress(self.analysis)
        assert found is not None
        return found

    @cached_property
    def edges(self) -> WebEdges:
        """What the caps do to the webs, where there are any."""
        found = web_edges(self.analysis, self.caps)
        assert found is not None
        return found
