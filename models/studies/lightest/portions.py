"""Segments put together from portions: what one spar, one rib or one field between spars gives.

A segment hangs on the webs of all spars at once, but hardly any of its elements do. Those of a spar hang on
the webs of that spar's own bay; those of a rib on how far webs stand out there; sheeting and rails between
two spars on how far the webs of the bay stand out on the two sides that face them, next to a rib on what
stands out there besides, and where they are fastened to a cap on all that is known of that spar's webs;
sheeting on a cap likewise. So a few dozen builds of the wing hold every portion of every layout, and any
segment is summed from them and condensed within milliseconds, with nothing left out: a portion is known by
all that its elements hang on, and what fits none of these rules goes into one that is known by the whole
state of its segment.
"""

from __future__ import annotations

import itertools
import pickle
from collections.abc import Callable, Iterable
from copy import copy
from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import blas, lapack

from fea.arrays import Array, Ints
from fea.assembly import Assembly, rigid_motions
from fea.chain import Link
from models.structure import Model, build
from models.structure.model import Part
from models.studies.lightest.bodies import Bodies
from models.studies.lightest.cover import Cover
from models.studies.lightest.names import Name, Need, State, needs
from models.studies.lightest.places import Places, distinct
from models.studies.lightest.segments import (
    FAMILIES,
    LINKS,
    CutWing,
    Key,
    Register,
    SegmentBody,
    Untabulated,
    joined_columns,
)
from models.studies.lightest.tables import Table, Tables, WebRun, pieces, tables, things
from models.studies.tip import end_rows
from models.workers import Run

Marks = NDArray[np.bool_]

_OF_SPARS = ("caps", "webs", "web plates", "strips", "posts")
"""Blocks whose elements belong to a spar."""
_OF_NODES = ("rib panels", "sheeting strips", "rails", "ties")
"""Families of things whose portion follows from the nodes that their rows read."""
_NEAR = 1e-9
_BESIDE = 1e-6
"""Lengths below which nodes stand at a rib, or on a spar's line, m."""

_AT_ONCE = 64
"""Portions that are taken from a build together: all at once take room that grows with the wing."""
_FEW = 8
"""Segments for which layouts are built as they come."""


@dataclass(frozen=True, eq=False)
class Portion:
    """Some of a segment's elements and what strength needs of them, in one state.

    Freedoms are counted within the segment, inside first, then those of its inner and its outer interface;
    stiffness, loads and rows are scaled.

    Parameters
    ----------
    at, stiffness : (k,) int32 and (k,) float array
        Entries of the (n, n) stiffness, row by row, and their values.
    freedoms, inertial : (j,) int32 and (j, 6) float array
        Mass times rigid motions, kg, kg m, kg m2.
    loaded, loads : (i,) int32 and (i, n_columns) float array
        Columns of outer loads.
    resultant : (6, n_columns) float array
        Of the columns, about the origin.
    inertia : (6, 6) float array
        About the origin: kg, kg m, kg m2.
    web_mass : float
        Webs and their strips, kg.
    rows : dict of str to tuple
        Of every family how many rows begin here, and of all numbers their rows, columns and values. Next to a
        rib the rows are those that begin in the portion of the same field that is next to none.
    table : dict of str to dict of str to array
        Constants of every family, things counted within the portion.
    pieces : tuple of WebRun
        Runs of webs, elements counted within the portion.
    nodes, points : (m,) int and (m, 3) float array
        Nodes that may stand elsewhere in another state, and where they stand, m.
    """

    at: NDArray[np.int32]
    stiffness: Array
    freedoms: NDArray[np.int32]
    inertial: Array
    loaded: NDArray[np.int32]
    loads: Array
    resultant: Array
    inertia: Array
    web_mass: float
    rows: dict[str, tuple[int, NDArray[np.int32], NDArray[np.int32], Array]]
    table: dict[str, Table]
    pieces: tuple[WebRun, ...]
    nodes: Ints
    points: Array

    @cached_property
    def size(self) -> int:
        """About how many bytes it takes."""
        tables = sum(np.asarray(v).nbytes for figures in self.table.values() for v in figures.values())
        rows = sum(row.nbytes + column.nbytes + value.nbytes for _, row, column, value in self.rows.values())
        return int(tables + rows + self.at.nbytes + self.stiffness.nbytes + self.inertial.nbytes) + 8000


def renumbered(portion: Portion, numbers: Ints) -> Portion:
    """A portion whose modes of parts are numbered otherwise. Each old number has its new one in `numbers`
    (n,)."""
    table = {
        family: {name: numbers[v] if _is_number(name) else v for name, v in figures.items()}
        for family, figures in portion.table.items()
    }
    return replace(portion, table=table)


def _is_number(name: str) -> bool:
    return name.startswith("id_")


class Rows:
    """Rows of numbers, most of them zero. `values` (k,) stand at `row` and `column` (k,), those of one place
    are added up; `shape` is how many rows there are and how long they are."""

    def __init__(self, row: Any, column: Any, values: Array, shape: tuple[int, int]) -> None:
        import scipy.sparse as sp

        self.matrix = sp.coo_matrix((values, (row, column)), shape=shape).tocsr()

    def __len__(self) -> int:
        return int(self.matrix.shape[0])

    @property
    def size(self) -> int:
        """About how many bytes they take."""
        return int(self.matrix.data.nbytes + self.matrix.indices.nbytes)

    def __matmul__(self, other: Array) -> Array:
        return np.asarray(self.matrix @ other)


@dataclass(frozen=True, eq=False)
class Composed(SegmentBody):
    """A segment put together, its rows still on all its freedoms.

    Parameters
    ----------
    rows : Rows
        What strength and movements need, from the movements inside and at both interfaces.
    nodes, points : (n,) int and (n, 3) float array
        Nodes inside and on the outer interface, and where they stand, m.
    root : (p, p) float array
        Lower factor of Cholesky of the stiffness inside.
    across, load : (p, n_interface) and (p, n_columns) float array
        What couples the inside with the interfaces, and its loads, solved forward with `root`.
    """

    rows: Rows
    nodes: Ints
    points: Array
    root: Array
    across: Array
    load: Array

    @cached_property
    def size(self) -> int:
        """About how many bytes it takes."""
        return int(self.root.nbytes + self.across.nbytes + self.link.stiffness.nbytes) + self.rows.size

    def inside(self, ends: Array, amounts: Array) -> Array:
        """Movements inside from those of both interfaces and the columns' amounts."""
        right = self.load @ amounts - self.across @ ends
        return blas.dtrsv(self.root, right, lower=1, trans=1) if len(right) else right


class Portions(CutWing):
    """Segments of a wing, put together from portions that builds have shown.

    Raises
    ------
    Untabulated
        The mesh does not fall into segments.
    """

    def __init__(self, places: Places, *, per_bay: int = 4) -> None:
        super().__init__(places, per_bay=per_bay)
        self.run: Run | None = None
        self.known: dict[tuple[int, State], Portion] = {}
        self.found: dict[tuple[int, Key], Any] = {}
        model = self.model
        self._caps = np.full(self.n_nodes, -1, dtype=np.intp)
        for s, two in enumerate(model.cap_nodes):
            self._caps[two[two >= 0]] = s
        self._freedoms = [
            np.concatenate([self._cut.inside[m], self._cut.inner[m], self._cut.outer[m]])
            for m in range(self.n_segments)
        ]
        self._owned = [self._owned_nodes(model, m) for m in range(self.n_segments)]
        ends = end_rows(model)[1]
        self._ends = [self._end_rows(ends, m) for m in range(self.n_segments)]
        self._spar_cells = [
            [
                np.array([k for k in cells if places.cells[k].spar == spar.name], dtype=np.intp)
                for spar in places.wing.spars
            ]
            for cells in self.cells
        ]
        self.names: tuple[Name, ...] = self._all_names(model)
        self._number = {name: i for i, name in enumerate(self.names)}
        self._begins = [self._number[name.begins] for name in self.names]
        n_spars = len(places.wing.spars)
        self.needs = [needs(name, self.n_segments, n_spars) for name in self.names]
        self._of_segment = [
            [i for i, name in enumerate(self.names) if name.segment == m] for m in range(self.n_segments)
        ]

    def _end_rows(self, ends: Array, m: int) -> tuple[int, Any, Any, Array]:
        """What a segment's movements add to those of the wing's ends, as rows of a portion."""
        mine = np.zeros(len(self._scale), dtype=bool)
        mine[(self._owned[m][:, None] * 6 + np.arange(6)).ravel()] = True
        freedoms = self._freedoms[m]
        rows = np.where(mine, ends, 0.0)[:, freedoms] * self._scale[freedoms]
        which, column = np.nonzero(rows)
        return len(rows), which.astype(np.int32), column.astype(np.int32), rows[which, column]

    def take(self, places: Places) -> None:
        """Go on with more choices of cells; those that there were keep their numbers."""
        self.places = places
        self._laps = self._cell_laps()

    def alone(self) -> Self:
        """The same without anything that was built, and with numbers of its own: to work elsewhere."""
        made = copy(self)
        made.known, made.found, made.register, made.run = {}, {}, Register(), None
        return made

    # ---- names and states -----------------------------------------------------------------------------

    def _all_names(self, model: Model) -> tuple[Name, ...]:
        found: set[Name] = {Name("rib", p) for p in range(self.n_segments + 1)}
        found |= {Name("spar", m, s) for m in range(self.n_segments) for s in range(len(model.cap_nodes))}
        at = _Nodes(self, model)
        for name, block in model.structure.blocks.items():
            of = at.of_elements(name, block.nodes, block.part)
            found |= set(of)
            # Rows may read a node on behalf of any element that it has.
            for one, nodes in zip(of, block.nodes):
                if one.kind == "field":
                    found.add(one.begins)
                    inside, outside = at.beside(nodes, one.at)
                    found |= {
                        one._replace(inner=inner, outer=outer)
                        for inner, outer in zip(inside.tolist(), outside.tolist())
                    }
                elif one.kind == "rib" and name == "rail ties":
                    found |= {Name("joint", one.at, s) for s in self._caps[nodes].tolist() if s >= 0}
        columns = self.loads.columns(model)
        loaded = np.flatnonzero(columns.any(axis=1)) // 6
        found |= {Name("rest", m) for m in self._stations(model, loaded[at.plane[loaded] < 0]).tolist()}
        return tuple(sorted(found))

    def _stations(self, model: Model, nodes: Ints) -> Ints:
        """Segments of some nodes."""
        y = model.structure.nodes[nodes, 1]
        return np.maximum(np.searchsorted(self._cut.planes, y - _NEAR) - 1, 0)

    def states(self, codes: Ints) -> list[State]:
        """What every portion of a layout (n_cells,) is known by, in the order of `names`."""
        return self._states(codes, range(len(self.names)))

    def states_of(self, m: int, codes: Ints) -> list[tuple[int, State]]:
        """Numbers of one segment's portions, and what they are known by in a layout (n_cells,)."""
        of = self._of_segment[m]
        return list(zip(of, self._states(codes, of)))

    def numbers_of(self, m: int) -> list[int]:
        """Numbers of one segment's portions."""
        return self._of_segment[m]

    def _states(self, codes: Ints, numbers: Iterable[int]) -> list[State]:
        whole = self.keys(codes)
        ribs = [whole[0][1], *(key[2] for key in whole)]

        @cache
        def value(need: Need) -> Any:
            if need.kind == "lap":
                return ribs[need.at][need.which]
            if need.kind == "all":
                return whole[need.at][0]
            if need.kind == "spar":
                return tuple(codes[self._spar_cells[need.at][need.which]].tolist())
            cells = self._spar_cells[need.at][need.which // 2]
            return tuple(float(self._laps[k][codes[k]][need.which]) for k in cells)

        return [tuple(value(need) for need in self.needs[i]) for i in numbers]

    def unknown(self, codes: Ints) -> list[tuple[int, State]]:
        """Portions of a layout that no build has shown yet."""
        return [one for one in enumerate(self.states(codes)) if one not in self.known]

    # ---- putting together -----------------------------------------------------------------------------

    def segments(self, codes: Ints) -> list[Any]:
        """All segments of one layout (n_cells,), from the root outward."""
        keys = self.keys(codes)
        missing = [(m, key, codes) for m, key in enumerate(keys) if (m, key) not in self.found]
        if missing:
            self.gathered(missing, codes[None])
        return [self.found[m, key] for m, key in enumerate(keys)]

    @cached_property
    def bodies(self) -> Bodies:
        """Its segments as bodies."""
        return Bodies(
            self._freedoms,
            [len(a) + len(b) for a, b in zip(self._cut.inner, self._cut.outer)],
            self._scale,
            self._fixed & self._active,
            self._cut.planes,
            self.model.structure.nodes,
        )

    def points(self, segments: list[Composed]) -> Array:
        """Where all nodes stand, (n_nodes, 3), m, by all segments from the root outward."""
        points = np.zeros((self.n_nodes, 3))
        for segment in segments:
            points[segment.nodes] = segment.points
        return points

    def whole_moves(self, moves: list[Array], inside: list[Array]) -> Array:
        """Movements of all nodes, (n_nodes, 6), m and rad, held where the structure is pinned, from scaled
        ones: of the interfaces from the root's (none) to the tip's (none), and inside the segments."""
        scaled = np.zeros(6 * self.n_nodes)
        for m, within in enumerate(inside):
            scaled[self._cut.inside[m]] = within
            scaled[self._cut.outer[m]] = moves[m + 1]
        return (scaled * self._scale).reshape(-1, 6)

    def at_hand(self, codes: Ints) -> bool:
        """Whether a layout (n_cells,) needs no build."""
        missing = [m for m, key in enumerate(self.keys(codes)) if (m, key) not in self.found]
        return all(one in self.known for m in missing for one in self.states_of(m, codes))

    def put_together(self, m: int, codes: Ints) -> None:
        """Put one segment of a layout together ahead of time.

        Raises
        ------
        KeyError
            A portion of it is not known.
        numpy.linalg.LinAlgError
            A part of it is held by nothing.
        """
        self.found[m, self.keys(codes)[m]] = self.made(m, self.states_of(m, codes))

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
        """Build for what no build has shown yet, and condense. What is wanted are segments by number and key,
        each with a layout (n_cells,) that has it. For them may be built what `layouts` (n, n_cells) have:
        each cell in one of its states in any of these."""
        states = [self.states_of(m, codes) for m, _, codes in wanted]
        unknown = {one for some in states for one in some if one not in self.known}
        if unknown and len(wanted) > _FEW:
            cover = Cover(self, layouts[0], [np.unique(column).tolist() for column in layouts.T])
            self._build(cover, unknown, progress)
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
        """Build until every layout of the cells' choices can be put together without a build."""
        choices = [range(len(cell.choices)) for cell in self.places.cells]
        self._build(Cover(self, self.places.own, choices), None, progress)

    def _build(
        self,
        cover: Cover,
        unknown: set[tuple[int, State]] | None,
        progress: Callable[[str], None] | None,
    ) -> None:
        """Build what a cover gives until it gives nothing, or these are known; others may do it (`run`)."""
        known = set(self.known)
        layouts: list[tuple[Ints, list[tuple[int, State]]]] = []
        while (unknown is None or unknown - known) and (codes := cover.most(known)) is not None:
            wanted = [one for one in enumerate(self.states(codes)) if one not in known]
            known.update(wanted)
            layouts.append((codes, wanted))
        run = self.run if len(layouts) > 1 else None
        told = b"" if run is None else pickle.dumps(self.alone())
        found = iter(() if run is None else run(built, [told] * len(layouts), *zip(*layouts)))
        for k, (codes, wanted) in enumerate(layouts):
            if progress is not None:
                progress(f"{self.places.wing.name}: {len(layouts) - k} to be built")
            if run is None:
                self.known.update(self.shown(codes, wanted))
                continue
            shown, names = next(found)
            numbers = np.array([self.register.number(*name) for name in names], dtype=np.intp)
            self.known.update((one, renumbered(portion, numbers)) for one, portion in shown.items())
            self.builds += 1

    def harvest(self, codes: Ints) -> None:
        """Build a layout for what is not known of it yet."""
        wanted = self.unknown(codes)
        if wanted:
            self.known.update(self.shown(codes, wanted))

    def composed(self, m: int, states: list[tuple[int, State]]) -> Composed:
        """A segment from its portions. Of their numbers and states, as `states_of` gives them.

        Raises
        ------
        KeyError
            One of them is not known.
        numpy.linalg.LinAlgError
            A part of it is held by nothing.
        """
        parts = [self.known[one] for one in states]
        system, right = self._summed(m, parts)
        n, p = len(system), len(self._cut.inside[m])
        root = np.zeros((0, 0))
        solved = np.zeros((0, n - p + right.shape[1]))
        stiffness, load = system[p:, p:], right[p:]
        if p:
            root, wrong = lapack.dpotrf(system[:p, :p].T, lower=1, clean=0)
            if wrong:
                raise np.linalg.LinAlgError("a part of a segment is held by nothing")
            known = np.concatenate([system[:p, p:], right[:p]], axis=1)
            solved = blas.dtrsm(1.0, root, np.asfortranarray(known), lower=1, overwrite_b=1)
            across = solved[:, : n - p]
            stiffness = stiffness - across.T @ across
            load = load - across.T @ solved[:, n - p :]
        rows, first, table, runs = self._joined(m, parts)
        nodes, points = self._owned[m], self.model.structure.nodes.copy()
        for part in parts:
            points[part.nodes] = part.points
        return Composed(
            Link(len(self._cut.inner[m]), np.ascontiguousarray(stiffness), np.ascontiguousarray(load)),
            first,
            table,
            runs,
            np.asarray(sum(part.inertia for part in parts)),
            np.asarray(sum(part.resultant for part in parts)),
            float(sum(part.web_mass for part in parts)),
            rows,
            nodes,
            points[nodes],
            root,
            solved[:, : n - p],
            solved[:, n - p :],
        )

    def _summed(self, m: int, parts: list[Portion]) -> tuple[Array, Array]:
        """Stiffness (n, n) and columns of loads (n, n_columns) of a segment on all its freedoms, scaled."""
        freedoms = self._freedoms[m]
        n, scale = len(freedoms), self._scale[freedoms]
        flat = np.zeros(n * n)
        inertial, loads = np.zeros((n, 6)), np.zeros((n, self.loads.n_columns))
        for part in parts:
            flat[part.at] += part.stiffness
            inertial[part.freedoms] += part.inertial
            loads[part.loaded] += part.loads
        right = np.concatenate([loads, -inertial @ self.allowed], axis=1) * scale[:, None]
        return flat.reshape(n, n), right

    def uncondensed(self, m: int, states: list[tuple[int, State]]) -> tuple[Array, Array, Array, Array]:
        """A segment on all its freedoms, those inside first, then those of its inner and outer interface.

        Parameters
        ----------
        m : int
            Its number.
        states : list of (int, State)
            Numbers of its portions and their states, as `states_of` gives them.

        Returns
        -------
        stiffness : (n, n) float array
            Scaled.
        load : (n, n_columns) float array
            Columns of loads, scaled.
        inertia : (6, 6) float array
            As `SegmentBody` has it.
        resultant : (6, n_outer_columns) float array
            As `SegmentBody` has it.
        """
        parts = [self.known[one] for one in states]
        return (
            *self._summed(m, parts),
            np.asarray(sum(part.inertia for part in parts)),
            np.asarray(sum(part.resultant for part in parts)),
        )

    def _joined(
        self, m: int, parts: list[Portion]
    ) -> tuple[Rows, dict[str, int], dict[str, Table], tuple[WebRun, ...]]:
        """Rows and tables of portions one after another, things counted within the segment."""
        start = [dict.fromkeys(part.table, 0) for part in parts]
        table: dict[str, Table] = {}
        families = sorted({family for part in parts for family in part.table})
        for family in families:
            count = 0
            for k, part in enumerate(parts):
                start[k][family] = count
                count += things(part.table.get(family))
        for family in families:
            have = [k for k, part in enumerate(parts) if family in part.table]
            starts_here = [start[k] for k in have]
            table[family] = {
                name: joined_columns(family, name, [parts[k].table[family][name] for k in have], starts_here)
                for name in parts[have[0]].table[family]
            }
        first: dict[str, int] = {}
        row: list[Any] = []
        column: list[Any] = []
        numbers: list[Any] = []
        place = {i: k for k, i in enumerate(self._of_segment[m])}
        count = 0
        for family in FAMILIES:
            first[family] = count
            begin = [0] * len(parts)
            for k, part in enumerate(parts):
                begin[k] = count
                count += part.rows[family][0] if family in part.rows else 0
            for i, k in place.items():
                if family in parts[k].rows:
                    _, of_row, of_column, value = parts[k].rows[family]
                    row.append(of_row + begin[place[self._begins[i]]])
                    column.append(of_column)
                    numbers.append(value)
        n_ends, of_row, of_column, value = self._ends[m]
        row.append(of_row + count)
        column.append(of_column)
        numbers.append(value)
        rows = Rows(
            np.concatenate(row),
            np.concatenate(column),
            np.concatenate(numbers),
            (count + n_ends, len(self._freedoms[m])),
        )
        runs = tuple(
            replace(piece, elements=tuple(e + start[k]["webs"] for e in piece.elements))
            for k, part in enumerate(parts)
            for piece in part.pieces
        )
        return rows, first, table, runs

    # ---- taking apart ---------------------------------------------------------------------------------

    def shown(self, codes: Ints, wanted: Iterable[tuple[int, State]]) -> dict[tuple[int, State], Portion]:
        """Build a layout, and take from it some of its portions. `codes` (n_cells,), and the portions'
        numbers with their states in this layout.

        Raises
        ------
        Untabulated
            Its mesh does not fall into segments or portions as that of the file's own layout does.
        """
        model = build(self.places.laid(codes), per_bay=self.per_bay)
        self.builds += 1
        if len(model.structure.nodes) != self.n_nodes:
            raise Untabulated(self.places.wing.name, "its nodes change with its webs")
        assembly = Assembly(model.structure)
        wanted = list(wanted)
        spars = any(self.names[i].kind == "spar" for i, _ in wanted)
        made = tables(model, assembly, self.register.number, spars=spars)
        apart = _Apart(self, model, assembly, made)
        found: dict[tuple[int, State], Portion] = {}
        for first in range(0, len(wanted), _AT_ONCE):
            some = wanted[first : first + _AT_ONCE]
            found |= zip(some, apart.portions([i for i, _ in some]))
        return found


def built(
    told: bytes, codes: Ints, wanted: list[tuple[int, State]]
) -> tuple[dict[tuple[int, State], Portion], list[tuple[str, Part]]]:
    """Build a layout in place of others: its portions, and the names of the modes of parts that these number.

    Parameters
    ----------
    told : bytes
        Their `Portions`, without anything built.
    codes, wanted
        As for `Portions.shown`.
    """
    one = pickle.loads(told)
    shown = one.shown(codes, wanted)
    return shown, one.register.names()


class _Nodes:
    """Where the nodes of a built wing stand among ribs and spars, and what that makes of elements."""

    def __init__(self, of: Portions, model: Model) -> None:
        self.of, self.model = of, model
        nodes = model.structure.nodes
        planes = of._cut.planes
        near = np.abs(nodes[:, 1, None] - planes[None])
        self.plane = np.where(near.min(axis=1) < _NEAR, near.argmin(axis=1), -1)
        wing = model.wing
        span = np.abs(nodes[:, 1])
        x = np.stack([spar.x.at(span) for spar in wing.spars], axis=1)
        there = np.stack([span <= spar.y_end + _NEAR for spar in wing.spars], axis=1)
        # Spars that do not come as far as a node say nothing about it.
        self.behind: Marks = np.where(there, nodes[:, :1] >= x - _BESIDE, False)
        self.before: Marks = np.where(there, nodes[:, :1] <= x + _BESIDE, False)
        self.there = there
        self.order = np.argsort(
            [float(np.nanmean(spar.x.at(np.linspace(0, wing.semispan, 9)))) for spar in wing.spars]
        )
        self.sheeting = np.array([part.kind == "sheeting" for part in model.parts] or [False])
        self.spar_of_part = np.array(
            [_spar_number(wing.spars, part) for part in model.parts] or [-1], dtype=np.intp
        )

        # Nodes at a rib feel the bay's other rib where an element goes from one to the other.
        self.near = np.zeros((len(nodes), 2), dtype=bool)
        for name, block in model.structure.blocks.items():
            if name not in _OF_SPARS:
                segment = of._element_segments(model, block.nodes)[:, None]
                plane = self.plane[block.nodes]
                for k in (0, 1):
                    touches = (plane == segment + k).any(axis=1)[:, None]
                    np.logical_or.at(self.near[:, k], block.nodes, touches & (plane != segment + k))

    def beside(self, nodes: Ints, m: int) -> tuple[Marks, Marks]:
        """Whether nodes' elements in a segment are next to its inner rib, and to its outer one."""
        plane = self.plane[nodes]
        return (plane == m) | self.near[nodes, 0], (plane == m + 1) | self.near[nodes, 1]

    def of_elements(self, name: str, nodes: Ints, part: Ints | None) -> list[Name]:
        """The portion that each element of a block belongs to."""
        segment = self.of._element_segments(self.model, nodes)
        if name in _OF_SPARS and part is not None:
            spar = self.spar_of_part[part]
            if (spar >= 0).all():
                plane = self.plane[nodes]
                inside = (plane == segment[:, None]).any(axis=1).tolist()
                outside = (plane == segment[:, None] + 1).any(axis=1).tolist()
                return [
                    Name("skin", m, s, inner=inside[e], outer=outside[e]) if skin else Name("spar", m, s)
                    for e, (skin, m, s) in enumerate(
                        zip(self.sheeting[part].tolist(), segment.tolist(), spar.tolist())
                    )
                ]
        return self.of_sets(segment, nodes, alone=name == "masses")

    def of_sets(self, segment: Ints, nodes: Ints, *, alone: bool = False) -> list[Name]:
        """The portion that each set of nodes, (n, k), belongs to; masses stand `alone`."""
        plane = self.plane[nodes]
        at_rib = (plane == plane[:, :1]).all(axis=1) & (plane[:, 0] >= 0)
        behind: Any = self.behind[nodes].all(axis=1)
        before: Any = self.before[nodes].all(axis=1)
        reached: Any = self.there[nodes].any(axis=1)
        clear = ((behind != before) | ~reached).all(axis=1)
        caps, planes = self.of._caps[nodes], plane.tolist()
        out: list[Name] = []
        for e, m in enumerate(segment.tolist()):
            if at_rib[e]:
                out.append(Name("rib", int(plane[e, 0])))
            elif alone:
                out.append(Name("bay", m))
            elif not clear[e]:
                # On a spar's line, as what ties a rail to it: that spar alone may be felt.
                on = np.flatnonzero(behind[e] & before[e] & reached[e]).tolist()
                one_line = len(on) == 1 and set(caps[e].tolist()) <= {on[0], -1}
                near = {"inner": m in planes[e], "outer": m + 1 in planes[e]}
                out.append(Name("skin", m, on[0], **near) if one_line else Name("rest", m))
            else:
                left = [int(s) for s in self.order if behind[e, s]]
                right = [int(s) for s in self.order if before[e, s]]
                one, other = (left[-1] if left else -1), (right[0] if right else -1)
                held = set(caps[e].tolist()) - {-1}
                if held <= {one, other}:
                    near = {"inner": m in planes[e], "outer": m + 1 in planes[e]}
                    out.append(Name("field", m, one, other, one in held, other in held, **near))
                else:
                    out.append(Name("rest", m))
        return out


def _spar_number(spars: Any, part: Part) -> int:
    return next((s for s, spar in enumerate(spars) if spar.name == part.spar), -1)


class _Apart:
    """A built wing, ready to be taken apart into portions."""

    def __init__(self, of: Portions, model: Model, assembly: Assembly, made: Tables) -> None:
        self.of, self.model, self.assembly, self.made = of, model, assembly, made
        self.at = _Nodes(of, model)
        self.motions = rigid_motions(model.structure.nodes)
        self.columns = of.loads.columns(model)
        self.kinds = np.array([p.kind in ("web", "web strip") for p in model.parts])
        self.matrices: dict[str, tuple[Array, Array]] = {}
        self.count = np.array([len(freedoms) for freedoms in of._freedoms])
        self.local = np.tile(self.count[:, None].astype(np.int32), (1, assembly.size))
        for m, freedoms in enumerate(of._freedoms):
            self.local[m, freedoms] = np.arange(self.count[m])
        # Numbers are sorted once, so that a portion looks at what is its own alone.
        count = len(of.names)
        self.elements: dict[str, _Groups] = {}
        for name, block in model.structure.blocks.items():
            numbers = self._numbers(self.at.of_elements(name, block.nodes, block.part))
            self.elements[name] = _Groups(numbers, count)
        self._which: dict[str, Ints] = {}
        for family in made.span:
            self._which[family] = self._of_things(family)
        self.things = {family: _Groups(which, count) for family, which in self._which.items()}
        self.rows_of = {
            family: (made.rows[family].tocsr(), _Groups(self._which[family][made.owner[family]], count))
            for family in made.rows
            if family in made.span
        }
        self.new = {family: np.full(len(which), -1, dtype=np.intp) for family, which in self._which.items()}
        self.runs = pieces(model)
        self.at_rib = _Groups(self.at.plane + 1, of.n_segments + 2)
        self.between = [
            owned[self.at.plane[owned] < 0]
            for owned in (of._owned_nodes(model, m) for m in range(of.n_segments))
        ]

    def _of_block(self, name: str) -> tuple[Array, Array]:
        """Stiffness per unit scale and mass of a block's elements, on their own freedoms."""
        if name not in self.matrices:
            block, corners = self.model.structure.blocks[name], self.assembly.corners(name)
            self.matrices[name] = block.unit_stiffness(corners), block.mass(corners)
        return self.matrices[name]

    def _numbers(self, names: list[Name]) -> Ints:
        try:
            return np.array([self.of._number[name] for name in names], dtype=np.intp)
        except KeyError as error:
            raise Untabulated(self.of.places.wing.name, f"its webs make {error.args[0]}") from None

    def _of_things(self, family: str) -> Ints:
        """The portion that each thing of a family belongs to."""
        made, of = self.made, self.of
        span = made.span[family]
        middle = (self.model.y[1:] + self.model.y[:-1]) / 2
        segment = (np.searchsorted(of._cut.planes, middle) - 1)[span]
        if family in _OF_NODES:
            rows, owner = made.rows[family].tocsr(), made.owner[family]
            out = np.empty(len(span), dtype=np.intp)
            thing = np.repeat(owner, np.diff(rows.indptr))
            pairs = np.unique(thing * of.n_nodes + rows.indices // 6)
            which, node = np.divmod(pairs, of.n_nodes)
            count = np.bincount(which, minlength=len(span))
            begin = np.concatenate([[0], np.cumsum(count)])
            for k in np.unique(count).tolist():  # sets of one size together
                some = np.flatnonzero(count == k)
                sets = node[begin[some][:, None] + np.arange(k)]
                names = self.at.of_sets(segment[some], sets)
                if family == "ties":  # glued to the webs on both sides of a rib
                    held = of._caps[sets].max(axis=1).tolist()
                    names = [
                        Name("joint", name.at, s) if name.kind == "rib" else name
                        for name, s in zip(names, held)
                    ]
                out[some] = self._numbers([name.begins for name in names])
            return out
        table = made.table[family]
        if "spar" in table:
            spar = np.asarray(table["spar"])
        elif family == "panel shear":
            return self._of_things("panels")[table["panel"]]
        else:
            known = of.register.names()
            number = next(np.asarray(v) for name, v in table.items() if _is_number(name))
            spar = np.array([_spar_number(self.model.wing.spars, known[k][1]) for k in number.tolist()])
        return self._numbers([Name("spar", m, s) for m, s in zip(segment.tolist(), spar.tolist())])

    def portions(self, numbers: list[int]) -> list[Portion]:
        """Some portions, by their numbers."""
        of, motions = self.of, self.motions
        segment = np.array([of.names[i].segment for i in numbers], dtype=np.intp)
        count = self.count[segment]
        start = np.concatenate([[0], np.cumsum(count)])
        entries = _Entries(int(start[-1]), int(count.max()))
        inertial, inertia = np.zeros((start[-1], 6)), np.zeros((len(numbers), 6, 6))
        web_mass = np.zeros(len(numbers))
        touched: list[list[Ints]] = [[] for _ in numbers]
        for block_name, block in self.model.structure.blocks.items():
            groups = [self.elements[block_name].of(i) for i in numbers]
            at = np.concatenate(groups)
            portion = np.repeat(np.arange(len(groups)), [len(one) for one in groups])
            if not len(at):
                continue
            for k in np.unique(portion).tolist():
                touched[k].append(block.nodes[groups[k]].ravel())
            freedom = (block.nodes[at][:, :, None] * 6 + np.arange(6)).reshape(len(at), -1)
            size = freedom.shape[1]
            unit, mass = (self.assembly.on_nodes(block_name, one, at) for one in self._of_block(block_name))
            scale = of._scale[freedom]
            stiff = unit.reshape(len(at), size, size) * block.scale[at, None, None]
            stiff = stiff * scale[:, :, None] * scale[:, None, :]
            local = self.local[segment[portion][:, None], freedom]
            inside = local < count[portion][:, None]
            row = np.where(inside, start[portion][:, None] + local, -1)
            entries.add(row, np.where(inside, local, -1), stiff)
            moved = mass.reshape(len(at), size, size) @ motions[freedom]
            np.add.at(inertial, row[inside], moved[inside])
            own = np.einsum("eia,eib->eab", motions[freedom], moved)
            np.add.at(inertia, portion, own)
            if block.part is not None:
                web = self.kinds[block.part[at]]
                web_mass += np.bincount(portion[web], own[web, 0, 0], len(numbers))
        stiffness = entries.summed(start)
        return [
            self._portion(
                i, *stiffness[k], inertial[start[k] : start[k + 1]], inertia[k], web_mass[k], touched[k]
            )
            for k, i in enumerate(numbers)
        ]

    def _portion(
        self,
        i: int,
        at: NDArray[np.int32],
        stiffness: Array,
        inertial: Array,
        inertia: Array,
        web_mass: float,
        touched: list[Ints],
    ) -> Portion:
        """One portion, what was summed for it given."""
        name = self.of.names[i]
        m = name.segment
        local, n = self.local[m], self.count[m]
        has = np.flatnonzero(inertial.any(axis=1))
        moving = self._moving(name, touched)
        mine = (self._loaded(name)[:, None] * 6 + np.arange(6)).ravel()
        loads = self.columns[mine]
        loaded = np.flatnonzero(loads.any(axis=1) & (local[mine] < n))
        loaded = loaded[np.argsort(local[mine[loaded]])]
        rows, table, numbers = self._rows(i, m)
        return Portion(
            at,
            stiffness,
            has.astype(np.int32),
            inertial[has],
            local[mine[loaded]],
            loads[loaded],
            np.asarray(self.motions[mine].T @ loads),
            inertia,
            float(web_mass),
            rows,
            table,
            self._pieces(name, numbers),
            moving,
            self.model.structure.nodes[moving],
        )

    def _moving(self, name: Name, touched: list[Ints]) -> Ints:
        """Nodes whose places hang on a portion's state: all at a rib but the caps', else those between
        ribs."""
        plane, caps = self.at.plane, self.of._caps
        if name.kind == "rib":
            here = self.at_rib.of(name.at + 1)
            return here[caps[here] < 0]
        if name.kind in ("spar", "skin") or not touched:
            return np.zeros(0, dtype=np.intp)
        nodes = np.unique(np.concatenate(touched))
        return nodes[(plane[nodes] < 0) & (caps[nodes] < 0)]

    def _loaded(self, name: Name) -> Ints:
        """Nodes whose loads a portion has: those at a rib, and the rest those between ribs."""
        if name.kind == "rib":
            return self.at_rib.of(name.at + 1)
        return self.between[name.at] if name.kind == "rest" else np.zeros(0, dtype=np.intp)

    def _rows(
        self, i: int, m: int
    ) -> tuple[dict[str, tuple[int, Any, Any, Array]], dict[str, Table], dict[str, Ints]]:
        made, of = self.made, self.of
        local, n, begins = self.local[m], self.count[m], of._begins[i]
        numbers: dict[str, Ints] = {}
        for family, groups in self.things.items():
            here = groups.of(begins)
            if len(here):
                numbers[family] = here
        rows: dict[str, tuple[int, Any, Any, Array]] = {}
        for family in numbers:
            if family not in self.rows_of:
                continue
            of_family, by_portion = self.rows_of[family]
            some = of_family[by_portion.of(begins)]
            column = local[some.indices]
            keep = (column < n) & (some.data != 0)
            if of.names[i].kind == "field":
                keep &= self._beside(of.names[i], some.indices // 6)
            row = np.repeat(np.arange(some.shape[0], dtype=np.int32), np.diff(some.indptr))[keep]
            values = some.data[keep] * of._scale[some.indices[keep]]
            rows[family] = (some.shape[0] if begins == i else 0, row, column[keep].astype(np.int32), values)
        if begins != i:
            return rows, {}, {}
        table: dict[str, Table] = {}
        new: dict[str, Ints] = {}
        for family, here in numbers.items():
            # Of other portions' things these are left over, and never read.
            new[family] = self.new[family]
            new[family][here] = np.arange(len(here))
        for family, here in numbers.items():
            table[family] = {}
            for name, value in made.table[family].items():
                value = np.asarray(value)[here]
                if (family, name) in LINKS:
                    value = new[LINKS[family, name]][value]
                table[family][name] = value
        return rows, table, new

    def _beside(self, name: Name, nodes: Ints) -> Marks:
        """Which nodes' numbers in rows hang on what a field's portion hangs on, and on no more."""
        inside, outside = self.at.beside(nodes, name.at)
        return np.asarray((inside == name.inner) & (outside == name.outer))

    def _pieces(self, name: Name, numbers: dict[str, Ints]) -> tuple[WebRun, ...]:
        if name.kind != "spar" or "webs" not in numbers:
            return ()
        new, which, i = numbers["webs"], self._which["webs"], self.of._number[name]
        return tuple(
            WebRun(run.kind, run.spans, tuple(int(new[k]) for k in run.elements))
            for run in self.runs
            if which[run.elements[0]] == i
        )


class _Groups:
    """Places of small whole numbers, found at once for each of them. `numbers` (n,) run from 0 to below
    `count`."""

    def __init__(self, numbers: Ints, count: int) -> None:
        self.order = np.argsort(numbers, kind="stable")
        self.start = np.searchsorted(numbers[self.order], np.arange(count + 1))

    def of(self, number: int) -> Ints:
        """Where a number stands, in order."""
        return self.order[self.start[number] : self.start[number + 1]]


class _Entries:
    """Entries of some square matrices below each other, as they come element by element; `n_rows` of all
    together and `n_columns` of the widest."""

    def __init__(self, n_rows: int, n_columns: int) -> None:
        self.shape = n_rows, n_columns
        self.rows = [np.zeros(0, dtype=np.intp)]
        self.columns = [np.zeros(0, dtype=np.intp)]
        self.values = [np.zeros(0)]

    def add(self, row: Ints, column: Ints, values: Array) -> None:
        """Square matrices of elements, (n, k, k), whose freedoms stand at some rows and columns, (n, k),
        below nought where they are left out."""
        keep = (row >= 0)[:, :, None] & (column >= 0)[:, None] & (values != 0)
        self.rows.append(np.broadcast_to(row[:, :, None], values.shape)[keep])
        self.columns.append(np.broadcast_to(column[:, None], values.shape)[keep])
        self.values.append(values[keep])

    def summed(self, start: Ints) -> list[tuple[NDArray[np.int32], Array]]:
        """Of every matrix, which begin at some rows, the places row by row and their values, those of one
        place added up."""
        import scipy.sparse as sp

        row, column, value = (np.concatenate(one) for one in (self.rows, self.columns, self.values))
        matrix = sp.coo_matrix((value, (row, column)), shape=self.shape).tocsr()
        matrix.sort_indices()
        size = np.diff(start)
        local = np.arange(self.shape[0]) - np.repeat(start[:-1], size)
        place = np.repeat(local * np.repeat(size, size), np.diff(matrix.indptr)) + matrix.indices
        cut = matrix.indptr[start]
        return [
            (place[low:high].astype(np.int32), np.asarray(matrix.data[low:high]))
            for low, high in itertools.pairwise(cut)
        ]
