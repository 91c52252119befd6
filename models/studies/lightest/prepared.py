"""Portions of a wing, and all segments that some layouts need put together at once, out of few builds."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from models.studies.lightest.cover import Cover
from models.studies.lightest.places import distinct
from models.studies.lightest.portions import Portions, State
from models.studies.lightest.segments import Key

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

_FEW = 8
"""Segments for which layouts are built as they come."""


class Prepared(Portions):
    """Segments of a wing in all states that were asked for.

    Parameters
    ----------
    places : Places
        Where the layouts may carry webs.
    per_bay : int
        Elements along a bay.

    Raises
    ------
    Untabulated
        The mesh does not fall into segments.
    """

    def segments(self, codes: Ints) -> list[Any]:
        """All segments of one layout (n_cells,), from the root outward."""
        keys = self.keys(codes)
        missing = [(m, key, codes) for m, key in enumerate(keys) if (m, key) not in self.found]
        if missing:
            self.gathered(missing, codes[None])
        return [self.found[m, key] for m, key in enumerate(keys)]

    def prepare(self, layouts: Ints, progress: Callable[[str], None] | None = None) -> None:
        """Know every segment that some layouts (n_layouts, n_cells) need."""
        self.gathered(self._wanted(layouts), layouts, progress)

    def _wanted(self, layouts: Ints) -> list[tuple[int, Key, Ints]]:
        """Unknown segments, each with a layout that has it."""
        out = []
        for m in range(self.n_segments):
            near = [self.cells[k] for k in (m - 1, m, m + 1) if 0 <= k < self.n_segments]
            columns = np.concatenate(near)
            seen: set[Key] = set()
            base = layouts[0].copy()
            for row in distinct(layouts[:, columns])[0]:
                base[columns] = row
                key = self.keys(base)[m]
                if key not in seen and (m, key) not in self.found:
                    seen.add(key)
                    out.append((m, key, base.copy()))
        return out

    def gathered(
        self,
        wanted: list[tuple[int, Key, Ints]],
        layouts: Ints,
        progress: Callable[[str], None] | None = None,
    ) -> None:
        """Build for what no build has shown yet, and condense.

        Parameters
        ----------
        wanted : list of (int, tuple, (n_cells,) int array)
            Segments by number and key, each with a layout that has it.
        layouts : (n, n_cells) int array
            What may be built for them: each cell in one of the states that it has in any of these.
        progress : callable or None
            Told before every step.
        """
        states = [self.states_of(m, codes) for m, _, codes in wanted]
        unknown = {one for some in states for one in some if one not in self.known}
        if unknown and len(wanted) > _FEW:
            cover = Cover(self, layouts[0], [np.unique(column).tolist() for column in layouts.T])
            while unknown and (codes := cover.most(self.known)) is not None:
                if progress is not None:
                    progress(f"{self.places.wing.name}: building, {len(unknown)} portions to go")
                self.harvest(codes)
                unknown = {one for one in unknown if one not in self.known}
        for k, (m, key, codes) in enumerate(wanted):
            if any(one not in self.known for one in states[k]):
                self.harvest(codes)
            if progress is not None and k % 50 == 0:
                progress(f"{self.places.wing.name}: {len(wanted) - k} segments to put together")
            self.found[m, key] = self.made(m, states[k])

    def made(self, m: int, states: list[tuple[int, State]]) -> Any:
        """A segment from its portions; see `Portions.composed`."""
        return self.composed(m, states)

    def build_all(self, progress: Callable[[str], None] | None = None) -> None:
        """Build until every layout of the cells' choices can be put together without a build.

        Parameters
        ----------
        progress : callable or None
            Told before every build.
        """
        choices = [range(len(cell.choices)) for cell in self.places.cells]
        cover = Cover(self, self.places.own, choices)
        while (codes := cover.most(self.known)) is not None:
            if progress is not None:
                progress(f"{self.places.wing.name}: {self.builds} built")
            self.harvest(codes)
