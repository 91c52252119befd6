"""Every different half of a wing, from one of its ends to a cut, condensed once and kept.

Halves that begin alike share their beginning: they are known level by level, each by the half that it goes on
from and by the segment that it adds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.chain import End, Link
from models.studies.lightest.condensed import Condensed
from models.studies.lightest.segments import Segment

_KINDS = 1 << 20
"""More than a segment has states."""


class _Level:
    """Halves that end at one rib, a row each, in arrays that double when they are full."""

    def __init__(self) -> None:
        self.numbers: dict[int, int] = {}
        self._rows: dict[str, NDArray] = {}

    def __len__(self) -> int:
        return len(self.numbers)

    def __getitem__(self, name: str) -> NDArray:
        return self._rows[name][: len(self)]

    def add(self, names: Ints, end: End, **more: NDArray) -> None:
        """More halves, known by `names`."""
        start, stop = len(self), len(self) + len(names)
        every = {name: new for name, new in vars(end).items() if new is not None}
        for name, new in {**every, **more}.items():
            rows = self._rows.get(name, np.empty((0, *new.shape[1:]), dtype=new.dtype))
            if stop > len(rows):
                room = np.empty((2 * stop, *new.shape[1:]), dtype=new.dtype)
                room[:start] = rows[:start]
                rows = self._rows[name] = room
            rows[start:stop] = new
        self.numbers.update(zip(names.tolist(), range(start, stop)))

    def end(self) -> End:
        """All halves as the rib feels them."""
        return End(*(self[name] for name in ("stiffness", "load", "follow", "own")))

    def bytes(self) -> float:
        """Taken by all halves."""
        return float(sum(self[name].nbytes for name in self._rows))


class WingHalves:
    """Halves of a wing on one side of a cut. `order` has the numbers of their segments, from the end of the
    wing to the cut, none where the cut is the end; `step` is `fea.chain.outward` from the root, `inward` from
    the tip."""

    def __init__(
        self, segments: Condensed, order: Sequence[int], step: Callable[[End | None, Link], End]
    ) -> None:
        self.segments, self.order, self._step = segments, order, step
        self.clear()

    def clear(self) -> None:
        """Forget all halves."""
        nothing, columns = _Level(), self.segments.n_columns
        rows = (np.zeros((1, *shape)) for shape in ((0, 0), (0, columns), (0, 0), (0, columns)))
        sums = {"inertia": (6, 6), "resultant": (6, self.segments.loads.n_columns), "web_mass": ()}
        begin = {name: np.zeros((1, *shape)) for name, shape in sums.items()}
        nothing.add(np.zeros(1, dtype=np.intp), End(*rows), **begin)
        self._levels = [nothing, *(_Level() for _ in self.order)]

    def __len__(self) -> int:
        return len(self._levels[-1])

    @property
    def end(self) -> End:
        """All halves as the cut feels them, in the order of their numbers."""
        return self._levels[-1].end()

    @property
    def inertia(self) -> Array:
        """Of all halves, (n, 6, 6): kg, kg m, kg m2."""
        return self._levels[-1]["inertia"]

    @property
    def resultant(self) -> Array:
        """Of the columns of outer loads on all halves, (n, 6, n_columns)."""
        return self._levels[-1]["resultant"]

    @property
    def web_mass(self) -> Array:
        """Of all halves, (n,), kg."""
        return self._levels[-1]["web_mass"]

    def bytes(self) -> float:
        """Taken by all that is kept."""
        return sum(level.bytes() for level in self._levels)

    def places(self, numbers: Ints) -> Ints:
        """Which half layouts have, (n,); those that are new are condensed. Of `numbers` (n, n_segments), as
        `Condensed.numbers` gives them."""
        place = np.zeros(len(numbers), dtype=np.intp)
        for before, level, m in zip(self._levels, self._levels[1:], self.order):
            name = place * _KINDS + numbers[:, m]
            different, back = np.unique(name, return_inverse=True)
            self._grow(before, level, m, [one for one in different.tolist() if one not in level.numbers])
            place = np.array([level.numbers[one] for one in different.tolist()])[back.ravel()]
        return place

    def _grow(self, before: _Level, level: _Level, m: int, names: list[int]) -> None:
        fresh = np.array(names, dtype=np.intp)
        far = before.end()
        for kind in np.unique(fresh % _KINDS).tolist():
            mine = fresh[fresh % _KINDS == kind]
            at = mine // _KINDS
            segment = self.segments.numbered[m][kind]
            begun = End(far.stiffness[at], far.load[at], far.follow[at], far.own[at])
            level.add(
                mine,
                self._step(begun, segment.link),
                inertia=before["inertia"][at] + segment.inertia,
                resultant=before["resultant"][at] + segment.resultant,
                web_mass=before["web_mass"][at] + segment.web_mass,
                parent=at,
                kind=np.full(len(mine), kind),
            )

    def chain(self, place: int) -> list[tuple[End, Segment]]:
        """One half's segments from the cut on, each with what lies between its near end and the end of the
        wing."""
        out = []
        for level, m in zip(self._levels[:0:-1], reversed(self.order)):
            far = level.end()
            end = End(far.stiffness[place], far.load[place], far.follow[place], far.own[place])
            out.append((end, self.segments.numbered[m][int(level["kind"][place])]))
            place = int(level["parent"][place])
        return out

    def moves(self, places: Ints, meeting: Array, amounts: Array) -> list[Array]:
        """Movements of the interfaces from the cut on, (n, n_freedoms) each. Of halves (n,), their movements
        `meeting` (n, n_freedoms) at the cut and `amounts` (n, n_columns) of the loads."""
        moves = [meeting]
        for level in self._levels[:0:-1]:
            end = level.end()
            out = np.empty((len(meeting), end.own.shape[1]))
            order = np.argsort(places, kind="stable")
            edges = np.flatnonzero(np.diff(places[order], prepend=-1, append=-1))
            for start, stop in zip(edges[:-1].tolist(), edges[1:].tolist()):
                rows = order[start:stop]
                k = places[rows[0]]
                out[rows] = amounts[rows] @ end.own[k].T - moves[-1][rows] @ end.follow[k].T
            moves.append(out)
            places = level["parent"][places]
        return moves
