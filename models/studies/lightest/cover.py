"""Which layouts to build, so that few builds show the portions of many.

A layout is chosen segment by segment from the root outward: what is still unknown of a segment hangs on its
own webs and those of its two neighbours, so that the layout that shows the most can be found exactly, by
dynamic programming along the wing. What is wanted sooner weighs more.

Source: Bellman, Dynamic Programming, Princeton University Press 1957 (from memory).
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np

from fea.arrays import Array, Ints
from models.studies.lightest.names import Name, Need, State

if TYPE_CHECKING:
    from models.studies.lightest.portions import Portions


_MOST = 64
"""States of a segment's webs that are looked at, if not said otherwise."""
NEXT, SOON, SOME = 1e8, 1e6, 1.0
"""Weights of a portion that the next step of some cell needs, that a single change needs, and that any layout
needs; those that need more changes at once weigh a tenth of `SOON` for each further change."""


class Cover:
    """What the layouts about one in hand need.

    Parameters
    ----------
    portions : Portions
        Of the wing.
    codes : (n_cells,) int array
        The layout in hand.
    choices : sequence of sequence of int
        For every cell the choices that count, in the order of its steps, that of the layout among them.
    most : int
        States of a segment's webs that are looked at; where there are more, those near the layout in hand.
    """

    def __init__(
        self, portions: Portions, codes: Ints, choices: Sequence[Sequence[int]], *, most: int = _MOST
    ) -> None:
        self.portions, self.codes, self.choices = portions, codes, [list(some) for some in choices]
        self._most = most
        self.states = [self._some_states(cells) for cells in portions.cells]
        self.here = [
            int(np.flatnonzero((states == codes[cells]).all(axis=1))[0])
            for states, cells in zip(self.states, portions.cells)
        ]
        inner, outer = zip(*(self._laps(m) for m in range(portions.n_segments)))
        self.depth, every = np.unique(
            np.concatenate([v.ravel() for v in (*inner, *outer)]), return_inverse=True
        )
        cut = np.cumsum([v.size for v in (*inner, *outer)])[:-1]
        numbered = [part.reshape(v.shape) for part, v in zip(np.split(every.ravel(), cut), (*inner, *outer))]
        self.inner, self.outer = numbered[: len(inner)], numbered[len(inner) :]
        self.place: list[Ints] = []
        self.needed: list[list[State]] = []
        for i in range(len(portions.names)):
            place, needed = self._numbered(i)
            self.place.append(place)
            self.needed.append(needed)
        self.weight = [self._by_distance(i) for i in range(len(portions.names))]
        self._weigh()

    def _some_states(self, cells: Ints) -> Ints:
        """States of a segment's cells, (n, n_cells)."""
        lists = [self.choices[k] for k in cells]
        count = int(np.prod([len(some) for some in lists])) if lists else 1
        if count <= self._most:
            return np.array(list(product(*lists)), dtype=np.intp).reshape(count, len(cells))
        here = self.codes[cells]
        near = [here]
        for j, some in enumerate(lists):
            for choice in some:
                if choice != here[j]:
                    one = here.copy()
                    one[j] = choice
                    near.append(one)
        return np.array(near, dtype=np.intp)

    def _laps(self, m: int) -> tuple[Array, Array]:
        """How far webs stand out at a segment's two ends in each of its states, (n_states, 2 n_spars)."""
        portions, cells = self.portions, self.portions.cells[m]
        none = np.zeros(2 * len(portions.places.wing.spars))
        out = []
        for at in portions._end_cells:
            rows = []
            for state in self.states[m]:
                code = dict(zip(cells.tolist(), state.tolist()))
                rows.append(np.max([portions._laps[k][code[k]] for k in at[m].tolist()] or [none], axis=0))
            out.append(np.array(rows).reshape(len(self.states[m]), -1))
        return out[0], out[1]

    def _rib(self, m: int) -> tuple[Ints, Ints]:
        """Laps at the inner and at the outer rib of a segment, as numbers in order of size: (n_before, n_own,
        2 n_spars) and (n_own, n_after, 2 n_spars)."""
        own_in, own_out = self.inner[m], self.outer[m]
        before = self.outer[m - 1][:, None] if m else np.zeros((1, 1, own_in.shape[1]), dtype=np.intp)
        last = m + 1 == self.portions.n_segments
        after = np.zeros((1, 1, own_out.shape[1]), dtype=np.intp) if last else self.inner[m + 1][None]
        return np.maximum(before, own_in[None]), np.maximum(own_out[:, None], after)

    def _numbered(self, i: int) -> tuple[Ints, list[State]]:
        """Number of a portion's state for every state of its segment and both neighbours, (n_before or 1,
        n_own, n_after or 1), and what each number stands for."""
        m = self._at(self.portions.names[i])
        inside, outside = self._rib(m)
        ribs = {m: inside[:, :, None], m + 1: outside[None]}
        columns: list[tuple[Ints, list[Any]]] = []
        for need in self.portions.needs[i]:
            if need.kind == "lap":
                columns.append((ribs[need.at][..., need.which], self.depth.tolist()))
                continue
            number, values = self._listed(need)
            # Of the segment itself, or of the one before.
            columns.append((number[None, :, None] if need.at == m else number[:, None, None], values))
        # Only as many neighbours as the portion feels.
        place = np.zeros(np.broadcast_shapes(*(number.shape for number, _ in columns)), dtype=np.int64)
        for number, values in columns:
            place = place * max(len(values), 1) + number
        different, back = np.unique(place, return_inverse=True)
        out: list[State] = []
        for value in different.tolist():
            parts: list[Any] = []
            for _, values in reversed(columns):
                value, digit = divmod(value, max(len(values), 1))
                parts.append(values[digit])
            out.append(tuple(reversed(parts)))
        return back.reshape(place.shape), out

    def _listed(self, need: Need) -> tuple[Ints, list[Any]]:
        """What all states of a segment make of something that hangs on it alone, by number, and what each
        number stands for."""
        portions, states = self.portions, self.states[need.at]
        if need.kind == "all":
            rows = [tuple(state) for state in states.tolist()]
        else:
            spar = need.which if need.kind == "spar" else need.which // 2
            own = portions._spar_cells[need.at][spar].tolist()
            at = [portions.cells[need.at].tolist().index(k) for k in own]
            rows = [tuple(state) for state in states[:, at].tolist()]
            if need.kind == "out":
                laps = portions._laps
                rows = [tuple(float(laps[k][c][need.which]) for k, c in zip(own, state)) for state in rows]
        known: dict[Any, int] = {}
        return np.array([known.setdefault(row, len(known)) for row in rows], dtype=np.intp), list(known)

    # ---- what is wanted sooner ------------------------------------------------------------------------

    def _by_distance(self, i: int) -> Array:
        """Weights of a portion's states by how many changes lie between them and the layout in hand."""
        portions, place = self.portions, self.place[i]
        m = self._at(portions.names[i])
        apart = [
            (states != self.codes[cells]).sum(axis=1) for states, cells in zip(self.states, portions.cells)
        ]
        none = np.zeros(1, dtype=np.intp)
        before = apart[m - 1] if place.shape[0] > 1 else none
        after = apart[m + 1] if place.shape[2] > 1 else none
        total = before[:, None, None] + apart[m][None, :, None] + after[None, None]
        least = np.full(len(self.needed[i]), 99, dtype=np.intp)
        np.minimum.at(least, place, np.broadcast_to(total, place.shape))
        return np.asarray(np.maximum(SOON / 10.0 ** (np.maximum(least, 1) - 1), SOME))

    def _at(self, name: Name) -> int:
        """The segment by whose state, and its neighbours', a portion's states are numbered."""
        return min(name.at, self.portions.n_segments - 1)

    def _weigh(self) -> None:
        """Weigh what the next step of every cell needs, and keep what single changes need."""
        portions = self.portions
        self.changes: list[list[tuple[int, int]]] = []
        for m, cells in enumerate(portions.cells):
            for j, k in enumerate(cells.tolist()):
                some = self.choices[k]
                at = some.index(int(self.codes[k]))
                for step in range(1, len(some)):
                    wanted = self.codes[cells].copy()
                    wanted[j] = some[(at + step) % len(some)]
                    b = int(np.flatnonzero((self.states[m] == wanted).all(axis=1))[0])
                    here = list(self.here)
                    here[m] = b
                    needs = [
                        (i, self._place(i, here))
                        for n in range(max(m - 1, 0), min(m + 2, portions.n_segments))
                        for i in portions._of_segment[n]
                    ]
                    self.changes.append(needs)
                    if step == 1:
                        for i, number in needs:
                            self.weight[i][number] = NEXT
        for i in range(len(portions.names)):
            self.weight[i][self._place(i, self.here)] = NEXT

    def _place(self, i: int, here: list[int]) -> int:
        """Number of a portion's state in a layout given by the states of its segments."""
        name = self.portions.names[i]
        n = self.portions.n_segments
        m = self._at(name)
        place = self.place[i]
        at = (here[m - 1] if m else 0, here[m], here[m + 1] if m + 1 < n else 0)
        return int(place[tuple(min(k, size - 1) for k, size in zip(at, place.shape))])

    def left(self, known: Container[tuple[int, State]]) -> int:
        """Single changes of the layout in hand for which something is not known."""
        return sum(any((i, self.needed[i][k]) not in known for i, k in needs) for needs in self.changes)

    # ---- choosing -------------------------------------------------------------------------------------

    def most(self, known: Container[tuple[int, State]], least: float = SOME) -> Ints | None:
        """The layout (n_cells,) whose build shows the most of what is not known; None where nothing is
        unknown that weighs `least` or more."""
        portions = self.portions
        n = portions.n_segments
        gain: list[Array] = [np.zeros((1, len(states), 1)) for states in self.states]
        heaviest = 0.0
        for i, name in enumerate(portions.names):
            unknown = np.array([(i, state) not in known for state in self.needed[i]])
            if not unknown.any():
                continue
            weight = np.where(unknown, self.weight[i], 0.0)
            heaviest = max(heaviest, float(weight.max()))
            m = self._at(name)
            gain[m] = gain[m] + weight[self.place[i]]
        if heaviest < least:
            return None
        # Best sum up to a segment, by its state and that of the next one.
        best = np.zeros((1, len(self.states[0])))
        came: list[Ints] = []
        for m in range(n):
            after = len(self.states[m + 1]) if m + 1 < n else 1
            total = np.broadcast_to(best[:, :, None] + gain[m], (len(best), len(self.states[m]), after))
            came.append(total.argmax(axis=0))
            best = total.max(axis=0)
        path = [0] * n
        path[n - 1] = int(best[:, 0].argmax())
        after = 0
        for m in range(n - 1, 0, -1):
            path[m - 1] = int(came[m][path[m], after])
            after = path[m]
        codes = self.codes.copy()
        for m, cells in enumerate(portions.cells):
            codes[cells] = self.states[m][path[m]]
        return codes
