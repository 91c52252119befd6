"""Segments for very many layouts: put together from portions, everything that is asked of them condensed to
their two interfaces, so that a layout's values follow from small full matrices."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from typing import Self

import numpy as np
from scipy.linalg import blas

from fea.arrays import Ints
from models.studies.lightest.names import State
from models.studies.lightest.places import Places
from models.studies.lightest.portions import Portions
from models.studies.lightest.segments import Segment, SegmentBody


class Condensed(Portions):
    """Segments of a wing in all states that were asked for, their rows on their interfaces.

    Raises
    ------
    Untabulated
        The mesh does not fall into segments.
    """

    def __init__(self, places: Places, *, per_bay: int = 4) -> None:
        super().__init__(places, per_bay=per_bay)
        self.numbered: list[list[Segment]] = [[] for _ in range(self.n_segments)]
        self._numbers: list[dict[int, int]] = [{} for _ in range(self.n_segments)]
        # Each choice's laps as small whole numbers in the same order, and how many there are of each.
        laps = [np.array(rows) for rows in self._laps]
        values = [np.unique(column) for column in np.concatenate(laps).T]
        self._radix = np.array([len(v) for v in values], dtype=np.intp)
        self._ranks = [
            np.stack([np.searchsorted(v, column) for v, column in zip(values, lap.T)], axis=1) for lap in laps
        ]

    def alone(self) -> Self:
        """As of `Portions`."""
        made = super().alone()
        made.numbered, made._numbers = [], []
        return made

    def numbers(self, codes: Ints, progress: Callable[[str], None] | None = None) -> Ints:
        """Which of the segments in `numbered` layouts are made of; new ones are put together. Of `codes` (n,
        n_cells), (n, n_segments)."""
        n = len(codes)
        inner, outer = ([self._reach(codes, cells) for cells in at] for at in self._end_cells)
        planes = [inner[0], *(np.maximum(a, b) for a, b in zip(outer[:-1], inner[1:])), outer[-1]]
        weight = np.concatenate([[1], np.cumprod(self._radix)[:-1]])
        kinds = int(np.prod(self._radix))
        classes = [plane @ weight for plane in planes]
        out = np.zeros((n, self.n_segments), dtype=np.intp)
        names, unknown = [], []
        for m in range(self.n_segments):
            own = np.zeros(n, dtype=np.intp)
            for k in self.cells[m]:
                own = own * len(self.places.cells[k].choices) + codes[:, k]
            full = (own * kinds + classes[m]) * kinds + classes[m + 1]
            different, at, back = np.unique(full, return_index=True, return_inverse=True)
            names.append((different.tolist(), back.ravel()))
            unknown += [
                (m, name, i)
                for name, i in zip(different.tolist(), at.tolist())
                if name not in self._numbers[m]
            ]
        wanted = [(m, self.keys(codes[i])[m], codes[i]) for m, _, i in unknown]
        missing = [one for one in wanted if one[:2] not in self.found]
        self.gathered(missing, codes[sorted({i for _, _, i in unknown})], progress)
        for (m, name, _), (_, key, _) in zip(unknown, wanted):
            self._numbers[m][name] = len(self.numbered[m])
            self.numbered[m].append(self.found[m, key])
        for m, (different, back) in enumerate(names):
            out[:, m] = np.array([self._numbers[m][name] for name in different])[back]
        return out

    def _reach(self, codes: Ints, cells: Ints) -> Ints:
        """How far webs of some cells stand out at most, as ranks, (n, 2 n_spars)."""
        out = np.zeros((len(codes), len(self._radix)), dtype=np.intp)
        for k in cells:
            out = np.maximum(out, self._ranks[k][codes[:, k]])
        return out

    def made(self, m: int, states: list[tuple[int, State]]) -> Segment:
        """A segment from its portions, its rows on the freedoms of its interfaces. Of their numbers and
        states, as `states_of` gives them; without its inside."""
        one = self.composed(m, states)
        p = len(one.root)
        rows = one.rows.matrix.toarray()
        inside, ends = rows[:, :p], rows[:, p:]
        given = np.zeros((len(rows), one.load.shape[1]))
        if p:
            half = blas.dtrsm(1.0, one.root, np.asfortranarray(inside.T), lower=1, overwrite_b=1)
            ends = ends - half.T @ one.across
            given = half.T @ one.load
        body = {part.name: getattr(one, part.name) for part in fields(SegmentBody)}
        return Segment(**body, rows=np.ascontiguousarray(ends), given=np.ascontiguousarray(given))
