"""Where a layout may carry webs: the cells (spar and bay) of a wing, and the faces that each may choose.

A layout is a row of numbers, one a cell, from the centre outward and in each bay spar by spar; a number says
which of the cell's choices it takes. Both sides of a flying wing carry the same webs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Ints
from models.studies.layouts import apply, braced, web_at
from models.wing.flush import takes_webs
from models.wing.parts import Layout, Web, Wing

Faces = tuple[str, ...]
FREE: tuple[Faces, ...] = ((), ("front",), ("rear",), ("front", "rear"))
"""What a free cell may carry: open, a C on either face, a box."""


class Asymmetric(ValueError):
    """Port and starboard differ in more than webs, so that one layout for both sides is no question."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name}: port and starboard differ in more than their webs; the lightest layout is looked for "
            "on wings whose two sides are alike"
        )


@dataclass(frozen=True)
class BayChoices:
    """One bay of one spar, and the sets of faces that may carry a web there; `own` is the file's choice."""

    spar: str
    bay: int
    choices: tuple[Faces, ...]
    own: int


@dataclass(frozen=True, eq=False)
class Places:
    """All cells of a wing. Of its drawing, the two sides alike; from the centre outward, spar by spar in each
    bay."""

    wing: Wing
    cells: tuple[BayChoices, ...]

    @property
    def own(self) -> Ints:
        """The file's layout, (n_cells,)."""
        return np.array([cell.own for cell in self.cells], dtype=np.intp)

    @property
    def free(self) -> Ints:
        """Cells with more than one choice, (n_free,)."""
        return np.array([k for k, cell in enumerate(self.cells) if len(cell.choices) > 1], dtype=np.intp)

    def count(self) -> int:
        """How many layouts there are."""
        return math.prod(len(cell.choices) for cell in self.cells)

    def every(self) -> Ints:
        """All layouts, (n_layouts, n_cells); the last cell runs fastest."""
        grids = np.indices([len(cell.choices) for cell in self.cells]).reshape(len(self.cells), -1)
        return np.ascontiguousarray(grids.T).astype(np.intp)

    def sides(self) -> tuple[str, ...]:
        """Sides that carry a layout's webs."""
        return ("starboard",) if self.wing.clamped else ("starboard", "port")

    def faces(self, codes: Ints) -> dict[tuple[str, int], Faces]:
        """Faces that carry webs in every cell of a layout (n_cells,), by spar and bay."""
        return {(cell.spar, cell.bay): cell.choices[k] for cell, k in zip(self.cells, codes.tolist())}

    def layout(self, codes: Ints) -> Layout:
        """A layout as `models.studies.layouts` knows it."""
        webs = {
            (spar, side, bay): faces
            for (spar, bay), faces in self.faces(codes).items()
            for side in self.sides()
            if faces
        }
        return Layout("layout", webs)

    def laid(self, codes: Ints) -> Wing:
        """The wing with a layout's webs."""
        return apply(self.wing, self.layout(codes))

    def codes(self, faces: dict[tuple[str, int], Faces]) -> Ints:
        """The layout with other faces in the cells named by (spar, bay).

        Raises
        ------
        KeyError
            No such cell, or not among its choices.
        """
        out = self.own
        for (spar, bay), wanted in faces.items():
            at = [k for k, cell in enumerate(self.cells) if (cell.spar, cell.bay) == (spar, bay)]
            order = tuple(f for f in ("front", "between", "rear") if f in wanted)
            if not at or order not in self.cells[at[0]].choices:
                raise KeyError(f"bay {bay}, {spar} spar: faces {order}")
            out[at[0]] = self.cells[at[0]].choices.index(order)
        return out

    def changes(self, codes: Ints) -> list[tuple[int, int]]:
        """Changes of one cell that a layout (n_cells,) allows: which cell, to which of its choices."""
        return [(int(k), c) for k in self.free for c in range(len(self.cells[k].choices)) if c != codes[k]]

    def single_changes(self, codes: Ints) -> Ints:
        """Layouts that differ from one (n_cells,) in one cell, (n, n_cells)."""
        return changed(codes, [(change,) for change in self.changes(codes)])

    def web(self, cell: int, face: str) -> Web:
        """The web that a layout puts on a face of a cell (starboard)."""
        at = self.cells[cell]
        spar = next(s for s in self.wing.spars if s.name == at.spar)
        return web_at(self.wing, spar, "starboard", at.bay, face)


def places(wing: Wing, free: tuple[tuple[str, int], ...] | None = None) -> Places:
    """Cells of a wing.

    `free` are the cells that may choose; the others keep what the file gives them. None: all. A face that a
    brace covers takes no web besides, nor do the faces of caps of different width, and a cell whose own faces
    are none of `FREE` may keep them too.

    Raises
    ------
    Asymmetric
        The two sides of the wing differ in more than their webs.
    """
    wing = alike(wing)
    edges = wing.bay_edges
    bays = [wing.first_bay + i for i in range(len(edges) - 1)]
    cells = []
    for i, bay in enumerate(bays):
        for spar in wing.spars:
            if edges[i] >= spar.y_end - 1e-9:
                continue
            taken = braced(wing, spar.name, bay)
            here = {w.face for w in spar.webs if w.bay == bay and w.side == "starboard"}
            own = tuple(f for f in ("front", "between", "rear") if f in here)
            if free is not None and (spar.name, bay) not in free:
                choices: tuple[Faces, ...] = (own,)
            else:
                taken |= set() if takes_webs(wing, spar, bay) else {"front", "rear"}
                choices = tuple(faces for faces in FREE if not taken & set(faces))
                choices = choices if own in choices else (*choices, own)
            cells.append(BayChoices(spar.name, bay, choices, choices.index(own)))
    return Places(wing, tuple(cells))


def changed(codes: Ints, changes: Sequence[tuple[tuple[int, int], ...]]) -> Ints:
    """A layout (n_cells,) with some changes at a time, as `Places.changes` names them, (n, n_cells)."""
    rows = np.repeat(codes[None], len(changes), axis=0)
    for row, cells in zip(rows, changes):
        for k, c in cells:
            row[k] = c
    return rows


def distinct(rows: Ints) -> tuple[Ints, Ints]:
    """Different rows of small whole numbers, and which of them each row is. Of `rows` (n, m), not negative:
    (n_different, m) and (n,)."""
    place = np.zeros(len(rows), dtype=np.int64)
    count = 1
    for column in rows.T:
        step = int(column.max(initial=0)) + 1
        if step == 1:
            continue
        if count > 2**40 // step:  # numbers of the rows so far, small again
            place = np.unique(place, return_inverse=True)[1].ravel()
            count = int(place.max()) + 1
        place = place * step + column
        count *= step
    if count <= 4 * len(rows) + 1000:
        seen = np.bincount(place, minlength=count) > 0
        first = np.zeros(count, dtype=np.intp)
        first[place[::-1]] = np.arange(len(rows))[::-1]
        number = np.cumsum(seen) - 1
        return rows[first[seen]], number[place]
    _, at, back = np.unique(place, return_index=True, return_inverse=True)
    return rows[at], back.ravel()


def alike(wing: Wing) -> Wing:
    """The wing with starboard's webs on both sides, as half a wing.

    Raises
    ------
    Asymmetric
        As `places`.
    """
    if not wing.whole:
        return wing
    lopsided = any(mass.y > 1e-9 and not mass.paired for mass in wing.masses) or any(
        {b for side, b in sheet.bays if side == "port"}
        != {b for side, b in sheet.bays if side == "starboard"}
        for sheet in wing.sheets
    )
    if lopsided:
        raise Asymmetric(wing.name)
    spars = []
    for spar in wing.spars:
        starboard = [w for w in spar.webs if w.side == "starboard"]
        spars.append(
            replace(spar, webs=tuple(replace(w, side=s) for w in starboard for s in ("starboard", "port")))
        )
    return replace(wing, spars=tuple(spars), whole=False)
