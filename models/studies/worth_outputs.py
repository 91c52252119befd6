"""What a wing is judged by in the study of worth beside tip deflection and twist (`tip`, exact rows on the
movements): load at first failure.

The load factor is the reserve of one part in one way of failing at one place, which is followed as the wing
changes, and whose gradient with respect to the movements is taken by differences of the failure mode's own
code, many at a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from fea.beside import Beside
from models.analysis import Analysis
from models.strength.finding import Finding
from models.strength.margin import NothingLoaded, every_finding
from models.structure.model import Model, Part
from models.studies.scatter.stack import side_by_side

AT_ONCE = 8
"""Movements judged side by side; more save nothing."""
_NUDGE = 5e-5
"""Change of a stress or section force for the gradient, over its size about there. Central differences then
err by some 1e-9 of the gradient, and rounding by as much; where a stress goes through nought, and its
strength changes with its sign, by the nudge itself."""
_LARGE = 0.1
"""Change by which what a reserve depends on is found."""
_UNTOUCHED = 1e-11
"""A reserve that changes by less under `_LARGE` does not depend on what was changed: running sums over all
elements carry some rounding from one place to another."""


@dataclass(frozen=True)
class Place:
    """One place where one mode was judged: element of a block, and which of the element's points.

    `y` is where along the span, m.
    """

    mode: str
    block: str
    element: int
    point: int
    part: Part
    y: float


def critical(analysis: Analysis) -> Place:
    """The place that fails first.

    Raises
    ------
    NothingLoaded
    """
    found = [one for one in every_finding(analysis, counted_only=True) if not one.reason and len(one.reserve)]
    if not found or not min(float(one.reserve.min()) for one in found) < 1e6:
        raise NothingLoaded
    worst = min(found, key=lambda one: float(one.reserve.min()))
    return _place(analysis.model, worst, int(np.argmin(worst.reserve)))


def places(analysis: Analysis, wanted: Sequence[tuple[Part, str]]) -> list[Place]:
    """Where some parts fail in some modes. Of each (part, mode) that is judged, one: that of the least
    reserve."""
    least: dict[tuple[Part, str], tuple[float, Place]] = {}
    for one in every_finding(analysis, counted_only=True):
        numbers = analysis.model.structure.blocks[one.block].part
        if one.reason or numbers is None:
            continue
        for part, mode in wanted:
            if mode != one.mode or part not in analysis.model.parts:
                continue
            mine = np.flatnonzero(numbers[one.element] == analysis.model.parts.index(part))
            if not len(mine):
                continue
            k = int(mine[np.argmin(one.reserve[mine])])
            if (part, mode) not in least or one.reserve[k] < least[part, mode][0]:
                least[part, mode] = float(one.reserve[k]), _place(analysis.model, one, k)
    return [least[key][1] for key in wanted if key in least]


def _place(model: Model, found: Finding, k: int) -> Place:
    element = int(found.element[k])
    point = int((found.element[:k] == element).sum())
    numbers = model.structure.blocks[found.block].part
    assert numbers is not None
    return Place(
        found.mode, found.block, element, point, model.parts[int(numbers[element])], float(found.y[k])
    )


def reserve_at(analysis: Analysis, at: Sequence[Place], copies: int = 1) -> Array:
    """Reserve factors at some places, of one wing or of several side by side. (n_places, copies), nan where
    the mode does not judge the place. What was recovered counts; with copies, of a model from `side_by_side`.
    """
    out = np.full((len(at), copies), np.nan)
    for one in every_finding(analysis, counted_only=True, only={place.mode for place in at}):
        if one.reason:
            continue
        n = len(analysis.model.structure.blocks[one.block].nodes) // copies
        for p, place in enumerate(at):
            if one.mode != place.mode or one.block != place.block:
                continue
            for k in range(copies):
                mine = np.flatnonzero(one.element == place.element + k * n)
                if len(mine) > place.point:
                    out[p, k] = one.reserve[mine[place.point]]
    return out


def with_moves(model: Model, assembly: Assembly, analysis: Analysis) -> Analysis:
    """An analysis of a changed model under the movements of the wing as drawn, which are held. The assembly
    is of its structure: beside the drawn one what is alike is not recovered again. Of the analysis strength
    looks at the model and at what is recovered."""
    if isinstance(assembly, Beside):
        recovered = assembly.recover_beside(analysis.recovered)
    else:
        recovered = analysis.recovered
    return replace(analysis, model=model, recovered=recovered)


@dataclass(frozen=True, eq=False)
class _Nudge:
    """A change of what was recovered: `amount` (n_rows, n_figures) more in those rows of block and figure."""

    block: str
    what: str
    rows: Ints
    amount: Array


def reserve_gradient(analysis: Analysis, place: Place) -> Array:
    """Gradient of the reserve at a place with respect to the movements. (n_nodes, 6), per metre and radian.

    The reserve is a function of stresses and section forces, which are linear in the movements. Which
    elements it depends on is found by halving; their figures are nudged one by one, and the rows that give
    them from the movements do the rest."""
    assembly, judge = analysis.solution.assembly, _PlaceJudge(analysis, place)
    touched = judge.touched()
    nodes = np.unique(
        np.concatenate([assembly.structure.blocks[name].nodes[rows].ravel() for name, _, rows in touched])
    )
    units = np.zeros((len(analysis.model.structure.nodes), 6, 6 * len(nodes)))
    units[nodes[:, None], np.arange(6), np.arange(6 * len(nodes)).reshape(-1, 6)] = 1.0
    recovered = assembly.recover(units)
    gradient = np.zeros((len(analysis.model.structure.nodes), 6))
    for name, what, rows in touched:
        per_figure = judge.slopes(name, what, rows)
        per_unit = recovered[name][what][rows].reshape(*per_figure.shape, -1)
        gradient[nodes] += np.einsum("ec,ecm->m", per_figure, per_unit).reshape(-1, 6)
    return gradient


class _PlaceJudge:
    """Judges changes of what was recovered at one place, several wings side by side."""

    def __init__(self, analysis: Analysis, place: Place) -> None:
        self.analysis, self.place = analysis, place
        self.base = float(reserve_at(analysis, [place])[0, 0])
        self._many: dict[int, tuple[Model, dict[str, dict[str, Array]]]] = {}

    def _figures(self, name: str, what: str) -> Array:
        """What was recovered, one row an element."""
        value = self.analysis.recovered[name][what]
        return value.reshape(len(value), -1)

    def __call__(self, nudges: list[_Nudge]) -> Array:
        """Reserve after each nudge."""
        out = np.empty(len(nudges))
        for first in range(0, len(nudges), AT_ONCE):
            some = nudges[first : first + AT_ONCE]
            n = len(some)
            if n not in self._many:
                tiled = {
                    name: {what: np.concatenate([value] * n) for what, value in figures.items()}
                    for name, figures in self.analysis.recovered.items()
                }
                self._many[n] = side_by_side(self.analysis.model, n), tiled
            model, tiled = self._many[n]
            changed = {name: dict(figures) for name, figures in tiled.items()}
            for k, nudge in enumerate(some):
                value = changed[nudge.block][nudge.what]
                if value is tiled[nudge.block][nudge.what]:
                    value = changed[nudge.block][nudge.what] = value.copy()
                each = len(value) // n
                value.reshape(len(value), -1)[nudge.rows + k * each] += nudge.amount
            many = replace(self.analysis, model=model, recovered=changed)
            out[first : first + n] = reserve_at(many, [self.place], n)[0]
        return out

    def touched(self) -> list[tuple[str, str, Ints]]:
        """Rows of blocks and figures that the reserve depends on."""
        groups = [
            (name, what, np.arange(len(value)))
            for name, figures in self.analysis.recovered.items()
            for what, value in figures.items()
            if value.size
        ]
        found: dict[tuple[str, str], list[int]] = {}
        while groups:
            seen = self([self._large(*group) for group in groups])
            matter = [g for g, v in zip(groups, seen) if not abs(v - self.base) <= _UNTOUCHED * self.base]
            groups = []
            for name, what, rows in matter:
                if len(rows) == 1:
                    found.setdefault((name, what), []).append(int(rows[0]))
                else:
                    half = len(rows) // 2
                    groups += [(name, what, rows[:half]), (name, what, rows[half:])]
        return [(name, what, np.array(sorted(rows), dtype=np.intp)) for (name, what), rows in found.items()]

    def _large(self, name: str, what: str, rows: Ints) -> _Nudge:
        """A large change of all figures of some rows, uneven so that no two take each other away."""
        figures = self._figures(name, what)
        size = np.abs(figures).max(axis=0)
        k = np.arange(figures.shape[1])
        uneven = np.sin(1.0 + 1.7 * rows[:, None] + 0.9 * k)
        return _Nudge(name, what, rows, _LARGE * size * (uneven + 0.2 * np.sign(uneven)))

    def slopes(self, name: str, what: str, rows: Ints) -> Array:
        """Change of the reserve with each figure of some rows, (n_rows, n_figures)."""
        figures = self._figures(name, what)
        size = np.maximum(np.abs(figures[rows]).max(axis=0), 1e-3 * np.abs(figures).max())
        step = _NUDGE * size
        nudges = []
        for row in rows:
            for k in range(figures.shape[1]):
                for sign in (1.0, -1.0):
                    amount = np.zeros((1, figures.shape[1]))
                    amount[0, k] = sign * step[k]
                    nudges.append(_Nudge(name, what, np.array([row]), amount))
        found = self(nudges).reshape(len(rows), figures.shape[1], 2)
        return np.asarray((found[..., 0] - found[..., 1]) / (2 * step))
