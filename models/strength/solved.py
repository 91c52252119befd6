"""A solved structure as the modes of failure look at it: what several of them need is worked out once."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any, TypeVar

from models.analysis import Analysis
from models.strength.cap_stress import CapsAsBuilt, CapStress, cap_stress, caps_as_built
from models.strength.web_edges import EdgesAsBuilt, WebEdges, edges_as_built, web_edges
from models.strength.web_stress import WebsAsBuilt, WebStress, web_stress, webs_as_built
from models.structure.model import Model

T = TypeVar("T")


class Build:
    """What modes of failure know of a structure whatever loads it: filled as they ask, and passed on by
    whoever judges many loads of one structure. Of another structure it begins anew."""

    def __init__(self) -> None:
        self._mark: tuple[object, ...] = ()
        self._known: dict[Callable[..., Any], Any] = {}

    def known(self, model: Model) -> dict[Callable[..., Any], Any]:
        """What is known of a model."""
        wing = model.wing
        parts = (wing.spars, wing.ribs, wing.sheets, wing.rails, wing.braces, wing.joiners, wing.fastening)
        mark = (model.structure, model.caps, model.webs, model.posts, model.sheets, *parts)
        if len(mark) != len(self._mark) or any(a is not b for a, b in zip(mark, self._mark)):
            self._mark, self._known = mark, {}
        return self._known


class Solved:
    """An analysis, and the stresses of its caps and webs.

    Parameters
    ----------
    analysis : Analysis
        Of it only the model and what was recovered is looked at.
    build : Build or None
        Of its structure, where other loads on it are looked at too.
    """

    def __init__(self, analysis: Analysis, build: Build | None = None) -> None:
        self.analysis = analysis
        self._known: dict[Callable[..., Any], Any] = {}
        self._of_build = (Build() if build is None else build).known(analysis.model)

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

    def of_build(self, work: Callable[[Solved], T]) -> T:
        """What a function makes of the structure whatever its load, worked out once for all that share it."""
        if work not in self._of_build:
            self._of_build[work] = work(self)
        found: T = self._of_build[work]
        return found

    @cached_property
    def caps(self) -> CapStress:
        """Stress of the caps."""
        return cap_stress(self.analysis, self.of_build(_caps_as_built))

    @cached_property
    def webs(self) -> WebStress:
        """Stress of the webs, where there are any."""
        return web_stress(self.analysis, self.of_build(_webs_as_built))

    @cached_property
    def edges(self) -> WebEdges:
        """What the caps do to the webs, where there are any."""
        found = web_edges(self.analysis, self.caps, self.of_build(_edges_as_built))
        assert found is not None
        return found


def _caps_as_built(at: Solved) -> CapsAsBuilt:
    return caps_as_built(at.analysis)


def _webs_as_built(at: Solved) -> WebsAsBuilt:
    return webs_as_built(at.analysis)


def _edges_as_built(at: Solved) -> EdgesAsBuilt:
    return edges_as_built(at.analysis)
