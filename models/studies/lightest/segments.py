"""A wing cut at its ribs: each segment (a bay and the rib outboard of it) condensed to what it shares with
its neighbours, for every state of its webs.

What a bay's webs change reaches no further than its own elements and the two ribs that bound it, whose panels
and sheeting begin at the webs' faces. So a segment is known by its own webs and by how far webs stand out at
its two ends. Segments are cut out of wings built through the ordinary door; one build serves many segments
at once. The loads are columns (lift, pitching moment, inertia of each rigid motion) whose amounts follow from
the sums over all segments, so that a heavier web is flown with the lift and the inertia that it asks for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np

from fea.arrays import Array, Ints
from fea.assembly import Assembly, rigid_motions
from fea.chain import Link
from fea.reanalysis import pinned
from fea.solve import allowed_motions
from models.loads.bench import bench
from models.loads.pull_up import hung_at_centre, panel_ribs, pressed_on_ribs, rib_loads
from models.structure import Model, build
from models.structure.model import Part
from models.studies.lightest.places import Places
from models.studies.lightest.tables import Table, WebRun
from models.studies.tip import end_rows

Key = tuple[tuple[int, ...], tuple[float, ...], tuple[float, ...]]

ROWS = {
    "caps": 6, "cap bays": 1, "press": 2, "webs": 4, "panel shear": 1, "panels": 1, "posts": 3, "rails": 6,
    "ties": 5, "rib panels": 3, "sheeting strips": 3,
}  # fmt: skip
"""Rows of each thing that is judged, by family."""
FAMILIES = (*ROWS, "ends")
LINKS = {
    ("webs", "cap"): "caps",
    ("webs", "press"): "press",
    ("webs", "panel"): "panels",
    ("panel shear", "panel"): "panels",
    ("post sides", "press"): "press",
}
"""Columns of tables that number things of another family."""


def joined_columns(
    family: str, name: str, columns: Sequence[Any], starts: Sequence[Mapping[str, int]]
) -> Any:
    """A column of tables one after another; what numbers things of another family counts on.

    Parameters
    ----------
    family, name : str
        The tables' family and the column's name.
    columns : sequence of (n, ...) array
        Of each table.
    starts : sequence of mapping of str to int
        Things of every family that come before those of each table.

    Returns
    -------
    (n, ...) array
    """
    link = LINKS.get((family, name))
    if link is not None:
        columns = [column + start[link] for column, start in zip(columns, starts)]
    return columns[0] if len(columns) == 1 else np.concatenate(columns)


class Untabulated(ValueError):
    """The wing's mesh does not fall into segments: a web in one bay changes elements in others."""

    def __init__(self, name: str, why: str) -> None:
        super().__init__(f"{name}: layouts cannot be tabulated bay by bay: {why}")


@dataclass(frozen=True, eq=False)
class SegmentBody:
    """What is known of a segment in one state, whatever its rows stand on.

    Parameters
    ----------
    link : Link
        On the freedoms of its two interfaces.
    first : dict of str to int
        Where each family's rows begin.
    table : dict of str to dict of str to array
        Constants of each family, with numbers of rows and things counted within the segment.
    pieces : tuple of WebRun
        Runs of webs, elements counted within the segment.
    inertia : (6, 6) float array
        About the origin: kg, kg m, kg m2.
    resultant : (6, n_columns) float array
        Of the columns of outer loads.
    web_mass : float
        Webs and their strips, kg, of what is modelled.
    """

    link: Link
    first: dict[str, int]
    table: dict[str, Table]
    pieces: tuple[WebRun, ...]
    inertia: Array
    resultant: Array
    web_mass: float


@dataclass(frozen=True, eq=False)
class Segment(SegmentBody):
    """A segment in one state, condensed. `rows` (n_rows, n_interface) and `given` (n_rows, n_columns) give
    what strength and movements need from the interfaces' movements and the columns' amounts."""

    rows: Array
    given: Array

    @property
    def size(self) -> int:
        """About how many bytes it takes."""
        return int(self.rows.nbytes + self.given.nbytes + self.link.stiffness.nbytes)


@dataclass(frozen=True, eq=False)
class _Cut:
    """Where the reference wing is cut: freedoms inside and on the two interfaces of every segment."""

    bays: tuple[tuple[int, ...], ...]
    planes: Array
    inside: tuple[Ints, ...]
    inner: tuple[Ints, ...]
    outer: tuple[Ints, ...]


@dataclass
class Register:
    """Numbers of failure modes of parts, shared by all builds."""

    known: dict[tuple[str, Part], int] = field(default_factory=dict)

    def number(self, mode: str, part: Part) -> int:
        """Number of a mode and part, new or known."""
        return self.known.setdefault((mode, part), len(self.known))

    def names(self) -> list[tuple[str, Part]]:
        """Mode and part of every number."""
        return list(self.known)


class CutWing:
    """A wing cut at its ribs: which freedoms, loads and rigid motions its segments have, and what each is
    known by.

    Raises
    ------
    Untabulated
        The mesh does not fall into segments.
    """

    def __init__(self, places: Places, *, per_bay: int = 4) -> None:
        self.places, self.per_bay = places, per_bay
        self.register = Register()
        self.builds = 0
        wing = places.wing
        self._check_sheets()
        model = self.model = build(places.laid(places.own), per_bay=per_bay)
        assembly = Assembly(model.structure)
        self.n_nodes, self.half = len(model.structure.nodes), model.half
        self.loads = FlightColumns(model) if wing.flies else BenchColumns(model)
        held = pinned(assembly)
        self._fixed = np.zeros(assembly.size, dtype=bool)
        self._fixed[held.node * 6 + 3 * held.turns + np.abs(held.direction).argmax(axis=1)] = True
        diagonal = assembly.stiffness().diagonal()
        self._active = diagonal > 0
        # Powers of two, which round nothing: a long wing's answer feels the last place of its stiffness.
        self._scale = np.exp2(-np.round(np.log2(np.where(self._active, diagonal, 1.0)) / 2))
        self.allowed = (
            allowed_motions(assembly, model.structure.supports, rigid_motions(model.structure.nodes))
            if wing.flies
            else np.zeros((6, 0))
        )
        self.n_columns = self.loads.n_columns + self.allowed.shape[1]
        self._cut = self._find_cuts(model)
        self.n_segments = len(self._cut.bays)
        self.cells = tuple(
            np.array([k for k, cell in enumerate(places.cells) if cell.bay in bays], dtype=np.intp)
            for bays in self._cut.bays
        )
        self._end_cells = tuple(
            [
                np.array([k for k in cells if places.cells[k].bay == bays[e]])
                for cells, bays in zip(self.cells, self._cut.bays)
            ]
            for e in (0, -1)
        )
        self._laps = self._cell_laps()
        self.end_names = end_rows(model)[0]

    def _check_sheets(self) -> None:
        """A sheet that ends between spars or edges has its line of nodes where webs push it, all along."""
        wing = self.places.wing
        plan = wing.planform
        middle = wing.semispan / 2
        for sheet in wing.sheets:
            for edge in (sheet.x_from, sheet.x_to):
                x = float(edge.at(middle))
                anchors = [
                    (float(s.x.at(middle)), float(s.aslant.at(middle) * s.upper.width.at(middle)))
                    for s in wing.spars
                ]
                if any(abs(x - at) < 0.55 * width + 1e-9 for at, width in anchors):
                    continue
                if plan is not None:
                    start, chord = float(plan.leading_edge_x.at(middle)), float(plan.chord.at(middle))
                    if x < start + 0.03 * chord or x > start + 0.9 * chord:
                        continue
                elif not min(a for a, _ in anchors) < x < max(a for a, _ in anchors):
                    continue
                raise Untabulated(wing.name, f"{sheet.surface} sheeting ends between spars")

    # ---- cutting --------------------------------------------------------------------------------------

    def _find_cuts(self, model: Model) -> _Cut:
        y = model.structure.nodes[:, 1]
        edges = [float(e) for e in self.places.wing.bay_edges]
        first = self.places.wing.first_bay
        crossed = np.zeros(len(edges), dtype=bool)
        reach = []
        for block in model.structure.blocks.values():
            low, high = y[block.nodes].min(axis=1), y[block.nodes].max(axis=1)
            reach.append((low, high))
            for k in range(1, len(edges) - 1):
                crossed[k] |= bool(((low < edges[k] - 1e-9) & (high > edges[k] + 1e-9)).any())
        keep = [k for k in range(len(edges)) if not crossed[k]]
        planes = np.array([edges[k] for k in keep])
        planes[-1] = max(planes[-1], float(y.max()))
        bays = tuple(tuple(first + b for b in range(a, c)) for a, c in pairwise(keep))
        station = np.searchsorted(planes, y - 1e-9)  # plane at or outboard of the node
        beyond: list[set[int]] = [set() for _ in planes]
        for (low, high), block in zip(reach, model.structure.blocks.values()):
            for k in range(1, len(planes) - 1):
                # Webs' ends slip at a rib, and webs of either bay may be there in other layouts.
                tied = block.kind == "tie"
                outboard = (low > planes[k] - 1e-9) & ((high > planes[k] + 1e-9) | tied)
                touching = block.nodes[outboard]
                near = touching[np.abs(y[touching] - planes[k]) < 1e-9]
                beyond[k].update(int(v) for v in np.unique(near))
        free = self._active & ~self._fixed

        def freedoms(nodes: Ints) -> Ints:
            every = (np.asarray(nodes, dtype=np.intp)[:, None] * 6 + np.arange(6)).ravel()
            return every[free[every]]

        shared = [np.array(sorted(nodes), dtype=np.intp) for nodes in beyond]
        inside, inner, outer = [], [], []
        for m in range(len(bays)):
            own = (station == m + 1) | ((station == 0) & (m == 0))
            rest = np.setdiff1d(np.flatnonzero(own), shared[m + 1] if m + 1 < len(bays) else [])
            inside.append(freedoms(rest))
            inner.append(freedoms(shared[m]) if m else np.zeros(0, dtype=np.intp))
            outer.append(freedoms(shared[m + 1]) if m + 1 < len(bays) else np.zeros(0, dtype=np.intp))
        return _Cut(bays, planes, tuple(inside), tuple(inner), tuple(outer))

    def _cell_laps(self) -> list[list[Array]]:
        """How far webs stand out before and behind each spar, for every choice of every cell."""
        places = self.places
        names = [spar.name for spar in places.wing.spars]
        out = []
        for k, cell in enumerate(places.cells):
            rows = []
            for faces in cell.choices:
                lap = np.zeros((len(names), 2))
                for face in faces:
                    if face != "between":
                        lap[names.index(cell.spar), 0 if face == "front" else 1] = places.web(
                            k, face
                        ).thickness
                rows.append(lap.ravel())
            out.append(rows)
        return out

    # ---- keys -----------------------------------------------------------------------------------------

    def keys(self, codes: Ints) -> list[Key]:
        """What each segment of a layout (n_cells,) is known by."""
        own = [tuple(codes[cells].tolist()) for cells in self.cells]
        none = np.zeros(2 * len(self.places.wing.spars))
        # Webs stand out at an end of a segment as far as those of the bay there.
        inner, outer = (
            [np.max([self._laps[k][codes[k]] for k in cells] or [none], axis=0) for cells in at]
            for at in self._end_cells
        )
        at = [inner[0], *(np.maximum(a, b) for a, b in zip(outer[:-1], inner[1:])), outer[-1]]
        names = [tuple(v.tolist()) for v in at]
        return [(own[m], names[m], names[m + 1]) for m in range(self.n_segments)]

    def _element_segments(self, model: Model, nodes: Ints) -> Ints:
        y = model.structure.nodes[nodes, 1]
        middle, low, high = y.mean(axis=1), y.min(axis=1), y.max(axis=1)
        at = np.searchsorted(self._cut.planes, np.where(high - low < 1e-9, middle - 1e-9, middle)) - 1
        return np.maximum(at, 0)

    def _owned_nodes(self, model: Model, m: int) -> Ints:
        """Nodes inside a segment and on its outer interface; at the root those of the root too."""
        at = np.maximum(np.searchsorted(self._cut.planes, model.structure.nodes[:, 1] - 1e-9) - 1, 0)
        return np.flatnonzero(at == m)


class BenchColumns:
    """Loads of a specimen: one column, both of its loads together."""

    n_columns = 1

    def __init__(self, model: Model) -> None:
        self.load_factor = 1.0

    def columns(self, model: Model) -> Array:
        """The bench load on all freedoms, (size, 1), N and N m."""
        return bench(model).nodal[:, :, -1].reshape(-1, 1)

    def amounts(self, inertia: Array, resultant: Array, allowed: Array) -> Array:
        """One of every layout, (n, 1)."""
        return np.ones((len(inertia), 1))


class FlightColumns:
    """Loads of a pull-up as columns whose amounts hang on the layout's mass: those of
    `models.loads.pull_up.RibLoads`, force at the centre, couple there."""

    n_columns = 6

    def __init__(self, model: Model) -> None:
        self.load_factor = model.wing.case.load_factor
        self.ribs = rib_loads(model)

    def columns(self, model: Model) -> Array:
        """Columns on all freedoms, (size, 6); moment, trim and forces per unit."""
        nodal = np.zeros((6, len(model.structure.nodes), 6, 1))
        for out, (lift, moment, roll) in zip(nodal, self.ribs.columns()):
            pressed_on_ribs(model, panel_ribs(model), lift, moment, self.ribs.line, roll, out)
        hung_at_centre(model, 1.0, 0.0, 0.0, nodal[4])
        hung_at_centre(model, 0.0, 1.0, 0.0, nodal[5])
        return nodal.reshape(6, -1).T.copy()

    def amounts(self, inertia: Array, resultant: Array, allowed: Array) -> Array:
        """Amounts of all columns, the rigid accelerations last. (n, 6 + n_rigid), by `inertia` (n, 6, 6) of
        each layout about the origin, `resultant` (n, 6, 6) of its columns and rigid motions `allowed` (6,
        n_rigid).

        Raises
        ------
        models.loads.pull_up.LightAeroplane
            A layout's wing is heavier than the aeroplane.
        """
        mass = inertia[:, 2, 2]
        centre = -inertia[:, 4, 2] / mass
        found = self.ribs.balanced(mass, centre)
        at_centre = np.stack([found.hung, found.tail - found.hung * centre], axis=1)
        out = np.concatenate([self.ribs.amounts(found), at_centre], axis=1)
        total = (resultant @ out[:, :, None])[:, :, 0]
        rigid = np.linalg.solve(allowed.T @ inertia @ allowed, (total @ allowed)[:, :, None])[:, :, 0]
        return np.concatenate([out, rigid], axis=1)
