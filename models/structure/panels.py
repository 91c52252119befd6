"""The classic picture of a wing: booms that carry force along the span, walls that carry shear flow alone.

Every cap becomes three booms (both faces and the middle) with the force and the moment of the solid stick.
Every sheet and every web gives the booms at its edges the area that its own direct stress is worth, and
carries a constant flow between them; a sheet that lies on a cap or an edge stick has its boom on the outline
and a wall of the stick's own wood down to the stick's middle. Sections keep their shape at every station, as
if ribs were stiff in their plane; along the span every boom moves on its own, so that sections warp. Caps and
edge sticks have no bending of their own, and of torsion that of Saint-Venant as they turn with their section.

An open bay is then a mechanism, for nothing holds its caps apart in shear. Rules of thumb for it miss by far:
between rigid posts, V a^3/(24 E I), an open spar of thin ribs (`validate 'booms A'`) is eleven times too
stiff; with the moments nought at the middles of caps and posts, the portal method, nearly three times too
soft, as caps bend through from bay to bay. So in open bays, and there alone, caps are beams and posts bend
into an S with feet that rock: a bridge of the full model's making, which is told. Beside a web, and at the
hold, a cap turns with its section.

References
----------
Megson, Aircraft Structures for Engineering Students, 9.8, eqs. 9.70 and 9.71 (looked up, a page of a public
copy): a panel of direct-stress thickness t_D and width b is worth B_1 = (t_D b/6) (2 + s_2/s_1) at its edge,
so t_D b/2 where both edges bear alike. Kuhn, Stresses in Aircraft and Shell Structures (from memory). Shear
panels: `fea.elements.shear_panel`. Beams: Przemieniecki, as in `fea.elements.beam`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as spla

from fea.arrays import Array, Ints
from fea.elements import bar, shear_panel
from fea.elements.bar import Bars
from fea.elements.beam import Beams
from models import units_out as say
from models.structure.model import Model
from models.structure.spars import FACES
from models.woods.off_axis import turned

_LEAST_PIVOT = 1e-11
"""Of the matrix scaled to a diagonal of ones: below it rounding alone holds something."""


class PanelMechanism(ValueError):
    """Booms and walls can move freely; `y` is where, m."""

    def __init__(self, y: float) -> None:
        self.y = y
        super().__init__(f"booms and walls alone can move freely at {say.length(y):.0f}")


@dataclass(frozen=True, eq=False)
class Walls:
    """Walls between two booms over one span between stations.

    Parameters
    ----------
    span, first, second : (n,) int array
        Span, and the booms on both sides.
    shear : (n,) float array
        G t, N/m.
    block : tuple of str
        What each stands for: "webs", "sheeting", "caps" or "sticks" (from a stick's middle to the
        sheet on it).
    element : (n,) int array
        Which element of that block of the model; -1 for none.
    """

    span: Ints
    first: Ints
    second: Ints
    shear: Array
    block: tuple[str, ...]
    element: Ints


@dataclass(frozen=True, eq=False)
class Bridges:
    """Both caps of a spar as one beam over spans without a web, with the posts that hold its slope.

    Parameters
    ----------
    span, upper, lower : (n,) int array
        Span, and the booms in the middles of the caps.
    bending, shear : (n,) float array
        E I and kappa G A of both caps together, N m2 and N.
    post_station, post_upper, post_lower : (n_posts,) int array
        Where a post stands, and between which booms.
    post_stiffness : (n_posts,) float array
        Moment of both its ends on the caps a unit of turn against their section, N m; infinite where the cap
        turns with the section.
    """

    span: Ints
    upper: Ints
    lower: Ints
    bending: Array
    shear: Array
    post_station: Ints
    post_upper: Ints
    post_lower: Ints
    post_stiffness: Array

    @staticmethod
    def none() -> Bridges:
        """No open bay."""
        number, figure = np.zeros(0, dtype=np.intp), np.zeros(0)
        return Bridges(number, number, number, figure, figure, number, number, number, figure)


@dataclass(frozen=True, eq=False)
class Booms:
    """A wing or spar as booms and walls, held at its first station.

    Parameters
    ----------
    y : (n_stations,) float array
        Stations from the hold outward, m.
    place : (n_booms, n_stations, 2) float array
        x and z of every boom, m; nan where there is none.
    axial : (n_booms, n_stations - 1) float array
        E A, N; 0 where there is none.
    walls : Walls
        Between them.
    torsion : (n_stations - 1,) float array
        G J of what is solid, N m2: Saint-Venant's torsion of sticks that turn with their section.
    bridges : Bridges
        Over open bays.
    """

    y: Array
    place: Array
    axial: Array
    walls: Walls
    torsion: Array
    bridges: Bridges


@dataclass(frozen=True, eq=False)
class PanelSolution:
    """What booms and walls do under loads.

    Parameters
    ----------
    moves : (n_stations, 3) float array
        Of each section: movement along x and z of its point on the y axis (m), and nose-up turn (rad).
    along : (n_booms, n_stations) float array
        Movement of each boom along the span, m.
    force : (n_booms, n_stations - 1) float array
        Axial force, tension positive, N.
    flow : (n_walls,) float array
        Shear flow, N/m: mean of both edges along the booms; positive where it pulls the first boom towards
        the tip.
    moment : (n_bridges, 2) float array
        Bending moment of both caps together at the ends of every span of a bridge, N m; positive where it
        pulls their upper sides.
    """

    moves: Array
    along: Array
    force: Array
    flow: Array
    moment: Array


class _Stiffness:
    """Stiffness of booms and walls as it is put together: freedoms are the three of every section, the
    movement of every boom along the span at every station, and the slopes of bridges."""

    def __init__(self, booms: Booms, size: int) -> None:
        self.booms, self.size = booms, size
        n_booms, n = booms.place.shape[:2]
        y = np.broadcast_to(booms.y[None, :, None], (n_booms, n, 1))
        self.point = np.concatenate([booms.place[..., :1], y, booms.place[..., 1:]], axis=2)
        self._triplets: list[tuple[Array, Ints, Ints]] = []

    def on(self, own: Array, rows: Ints) -> None:
        """Add matrices (n, k, k) on freedoms (n, k)."""
        many = rows.shape[1]
        self._triplets.append(
            (own.ravel(), np.repeat(rows, many, axis=1).ravel(), np.tile(rows, (1, many)).ravel())
        )

    def _onto(self, boom: Ints, station: Ints) -> tuple[Array, Ints]:
        """From the freedoms of a section and a boom to its three movements, and those freedoms."""
        n = self.booms.place.shape[1]
        x, z = self.booms.place[boom, station].T
        matrix = np.zeros((len(boom), 3, 4))
        matrix[:, 0, 0] = matrix[:, 2, 1] = matrix[:, 1, 3] = 1.0
        matrix[:, 0, 2], matrix[:, 2, 2] = z, -x
        rows = np.stack([3 * station, 3 * station + 1, 3 * station + 2, 3 * n + boom * n + station], axis=1)
        return matrix, rows

    def between(self, blocks: Array, corners: list[tuple[Ints, Ints]]) -> tuple[Array, Ints]:
        """Add matrices on the movements of corners, each (booms, stations); what takes freedoms to these
        movements, and the freedoms."""
        parts = [self._onto(boom, station) for boom, station in corners]
        k = len(corners)
        whole = np.zeros((len(blocks), 3 * k, 4 * k))
        for i, (matrix, _) in enumerate(parts):
            whole[:, 3 * i : 3 * i + 3, 4 * i : 4 * i + 4] = matrix
        rows = np.concatenate([r for _, r in parts], axis=1)
        self.on(np.swapaxes(whole, 1, 2) @ blocks @ whole, rows)
        return whole, rows

    def solved(self, loads: Array) -> Array:
        """All freedoms under loads on the sections, (n_stations, 3), the first section held."""
        booms, size = self.booms, self.size
        n_booms, n = booms.place.shape[:2]
        there = np.isfinite(booms.place[:, :, 0])
        free = np.ones(size, dtype=bool)
        free[:3] = False
        free[3 * n : 3 * n + n_booms * n] = (there & (np.arange(n) > 0)).ravel()
        known, right = np.zeros(size), np.zeros(size)
        right[: 3 * n] = loads.ravel()
        values, row, column = (np.concatenate(v) for v in zip(*self._triplets))
        within = sp.csc_matrix((values, (row, column)), shape=(size, size))[free][:, free]
        # Rotations and movements in one measure; a pivot that rounding alone holds is none.
        scale = 1 / np.sqrt(np.maximum(within.diagonal(), np.finfo(float).tiny))
        scaled = (sp.diags(scale) @ within @ sp.diags(scale)).tocsc()
        try:
            factor = spla.splu(
                scaled, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
            )
            pivot = factor.U.diagonal()
            weak = int(np.flatnonzero(free)[np.argsort(factor.perm_c)[int(np.argmin(pivot))]])
        except RuntimeError:  # exactly singular: where the diagonal is least
            pivot, weak = np.zeros(1), int(np.flatnonzero(free)[int(np.argmin(within.diagonal()))])
        if pivot.min() < _LEAST_PIVOT:
            station = weak // 3 if weak < 3 * n else (weak - 3 * n) % n
            raise PanelMechanism(float(booms.y[station]))
        known[free] = scale * factor.solve(scale * right[free])
        return known


def solve_panels(booms: Booms, loads: Array) -> PanelSolution:
    """Statics of booms and walls.

    Parameters
    ----------
    booms : Booms
        Held at the first station: it neither moves nor warps.
    loads : (n_stations, 3) float array
        Forces along x and z, and nose-up moment about the y axis, at every station, N and N m.

    Raises
    ------
    PanelMechanism
        Something can move freely.
    """
    n_booms, n = booms.place.shape[:2]
    bridges = booms.bridges
    slopes = _slopes(bridges)
    put = _Stiffness(booms, 3 * n + n_booms * n + len(slopes))
    first_slope = 3 * n + n_booms * n
    i, j = np.nonzero(booms.axial > 0)
    ends = np.stack([put.point[i, j], put.point[i, j + 1]], axis=1)
    bar_onto, bar_rows = put.between(bar.stiffness(ends, booms.axial[i, j]), [(i, j), (i, j + 1)])
    a, b, s = booms.walls.first, booms.walls.second, booms.walls.span
    round_it = [(a, s), (a, s + 1), (b, s + 1), (b, s)]
    corners = np.stack([put.point[corner] for corner in round_it], axis=1)
    ones = np.ones(len(s))
    wall_onto, wall_rows = put.between(
        shear_panel.unit_stiffness(corners, ones) * booms.walls.shear[:, None, None], round_it
    )
    beams = [_beam(bridges, e, booms, first_slope, slopes) for e in range(len(bridges.span))]
    for own, onto_beam, rows in beams:
        put.on((onto_beam.T @ own @ onto_beam)[None], np.array([rows]))
    for k in np.flatnonzero(np.isfinite(bridges.post_stiffness)):
        station, upper, lower = (
            int(v[k]) for v in (bridges.post_station, bridges.post_upper, bridges.post_lower)
        )
        row, columns = _chord(booms, upper, lower, station)
        row = np.append(-row, 1.0)
        columns = [*columns, first_slope + slopes[upper, station]]
        put.on(bridges.post_stiffness[k] * np.outer(row, row)[None], np.array([columns]))
    turn = 3 * np.arange(n - 1) + 2
    pair = np.array([[1.0, -1.0], [-1.0, 1.0]])
    put.on((booms.torsion / np.diff(booms.y))[:, None, None] * pair, np.stack([turn, turn + 3], axis=1))
    known = put.solved(loads)
    force = np.zeros_like(booms.axial)
    stretched = np.einsum("eij,ej->ei", bar_onto, known[bar_rows])
    axis = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(axis, axis=1)
    force[i, j] = (
        booms.axial[i, j] * np.einsum("ei,ei->e", stretched[:, 3:] - stretched[:, :3], axis) / length**2
    )
    moved = np.einsum("eij,ej->ei", wall_onto, known[wall_rows])
    flows = shear_panel.edge_flows(corners, moved, booms.walls.shear, ones)
    ends_of = np.array([own @ (onto_beam @ known[rows]) for own, onto_beam, rows in beams]).reshape(-1, 4)
    return PanelSolution(
        known[: 3 * n].reshape(n, 3),
        known[3 * n : 3 * n + n_booms * n].reshape(n_booms, n),
        force,
        -(flows[:, 0] + flows[:, 2]) / 2,
        # What turns an end up at the near one and down at the far one presses the upper side.
        ends_of[:, [1, 3]] * [1.0, -1.0],
    )


def _slopes(bridges: Bridges) -> dict[tuple[int, int], int]:
    """Number of every slope of its own, by upper boom and station."""
    tied = {
        (int(a), int(j))
        for a, j, k in zip(bridges.post_upper, bridges.post_station, bridges.post_stiffness)
        if np.isinf(k)
    }
    ends = [(int(a), int(j) + k) for a, j in zip(bridges.upper, bridges.span) for k in (0, 1)]
    return {at: n for n, at in enumerate(dict.fromkeys(at for at in ends if at not in tied))}


def _chord(booms: Booms, upper: int, lower: int, station: int) -> tuple[Array, list[int]]:
    """Slope of a section from movements of two booms along the span: minus their difference over depth."""
    n = booms.place.shape[1]
    deep = booms.place[upper, station, 1] - booms.place[lower, station, 1]
    return np.array([-1 / deep, 1 / deep]), [3 * n + upper * n + station, 3 * n + lower * n + station]


def _beam(
    bridges: Bridges, e: int, booms: Booms, first: int, slopes: dict[tuple[int, int], int]
) -> tuple[Array, Array, list[int]]:
    """A span of a bridge: its own stiffness (up, slope, up, slope), from what freedoms, and which."""
    j, upper, lower = int(bridges.span[e]), int(bridges.upper[e]), int(bridges.lower[e])
    length = float(booms.y[j + 1] - booms.y[j])
    phi = 12 * bridges.bending[e] / (bridges.shear[e] * length**2)
    a, b = length, length**2
    own = np.array(
        [
            [12, 6 * a, -12, 6 * a],
            [6 * a, (4 + phi) * b, -6 * a, (2 - phi) * b],
            [-12, -6 * a, 12, -6 * a],
            [6 * a, (2 - phi) * b, -6 * a, (4 + phi) * b],
        ]
    )
    own = own * (bridges.bending[e] / (length**3 * (1 + phi)))
    rows: list[int] = []
    columns: list[Array] = []
    for end, station in enumerate((j, j + 1)):
        x = float((booms.place[upper, station, 0] + booms.place[lower, station, 0]) / 2)
        for freedom, value in ((3 * station + 1, 1.0), (3 * station + 2, -x)):
            rows.append(freedom)
            columns.append(value * np.eye(4)[2 * end])
        if (upper, station) in slopes:
            rows.append(first + slopes[upper, station])
            columns.append(np.eye(4)[2 * end + 1])
        else:
            chord, of = _chord(booms, upper, lower, station)
            for freedom, value in zip(of, chord):
                rows.append(freedom)
                columns.append(value * np.eye(4)[2 * end + 1])
    return own, np.stack(columns, axis=1), rows


def idealised(model: Model) -> Booms:
    """The starboard half of a wing, or a specimen, as booms and walls: its stations, caps, webs, lapped
    strips, sheeting and edge sticks."""
    made = _Made(model)
    made.caps()
    made.strips()
    made.webs()
    made.edges()
    made.sheeting()
    return made.booms()


def open_spans(model: Model) -> list[tuple[int, int]]:
    """(spar, span) of the starboard half, or of a specimen, where a spar has caps and no web."""
    first = _root(model)
    webbed = set(zip(model.webs.spar.tolist(), model.webs.span.tolist()))
    caps = sorted(set(zip(model.caps.spar.tolist(), model.caps.span.tolist())))
    return [at for at in caps if at[1] >= first and at not in webbed]


def _root(model: Model) -> int:
    return int(np.argmin(np.abs(model.y)))


class _Made:
    """Booms and walls as they are collected."""

    def __init__(self, model: Model) -> None:
        self.model, self.root = model, _root(model)
        self.n = len(model.y) - self.root
        self.place: dict[tuple[object, ...], Array] = {}
        self.axial: dict[tuple[object, ...], Array] = {}
        self.rows: list[tuple[int, tuple[object, ...], tuple[object, ...], float, str, int]] = []
        self.of_node: dict[int, tuple[tuple[object, ...], int]] = {}
        self.torsion = np.zeros(self.n - 1)
        self.edge_of: dict[tuple[tuple[object, ...], int], int] = {}
        self.joined: set[tuple[int, tuple[object, ...]]] = set()

    def boom(self, key: tuple[object, ...]) -> tuple[Array, Array]:
        """Place and E A of a boom, new or known."""
        if key not in self.place:
            self.place[key] = np.full((self.n, 2), np.nan)
            self.axial[key] = np.zeros(self.n - 1)
        return self.place[key], self.axial[key]

    def caps(self) -> None:
        """Three booms a cap: E A in all, and its second moment about the upright axis."""
        model = self.model
        caps, nodes = model.caps, model.structure.nodes
        beams = model.structure.blocks["caps"]
        assert isinstance(beams, Beams)
        for s in range(len(model.wing.spars)):
            reach = {face: self._reach(s, face) for face in ("front", "rear")}
            for k in (0, 1):
                for e in np.flatnonzero(
                    (caps.spar == s) & (caps.upper == (k == 0)) & (caps.span >= self.root)
                ):
                    j = int(caps.span[e]) - self.root
                    width = float(caps.width[e])
                    ahead, behind = (width / 2 if r is None else r for r in (reach["front"], reach["rear"]))
                    self.torsion[j] += beams.sections.torsion[e]
                    whole = float(beams.sections.axial[e])
                    moment = whole * width**2 / 12 / (ahead + behind)
                    share = {"front": moment / ahead, "rear": moment / behind}
                    share["between"] = whole - share["front"] - share["rear"]
                    for face, along in (("front", -ahead), ("between", 0.0), ("rear", behind)):
                        place, axial = self.boom(("cap", s, k, face))
                        for at, node in zip((j, j + 1), beams.nodes[e]):
                            place[at] = nodes[node, 0] + along, nodes[node, 2]
                            if face == "between":
                                self.of_node[int(node)] = (("cap", s, k, face), at)
                        axial[j] += share[face]
                    sheared = 6 / 5 * float(beams.sections.shear_y[e]) / width
                    for a, b in (("front", "between"), ("between", "rear")):
                        self.rows.append((j, ("cap", s, k, a), ("cap", s, k, b), sheared, "caps", int(e)))

    def _reach(self, s: int, face: str) -> float | None:
        """From a cap's middle to the middle planes of the webs on a face, in the mean; None without any."""
        webs = self.model.webs
        on = (webs.spar == s) & (np.array(webs.face, dtype=object) == face)
        return float(np.mean((webs.cap_width + webs.thickness)[on]) / 2) if on.any() else None

    def strips(self) -> None:
        """What is lapped on the caps: to the boom beside which it lies."""
        strips = self.model.structure.blocks.get("strips")
        if not isinstance(strips, Bars) or strips.offsets is None:
            return
        for e, (node, offset) in enumerate(zip(strips.nodes[:, 0], strips.offsets[:, 0, 0])):
            if int(node) not in self.of_node or int(strips.nodes[e, 1]) not in self.of_node:
                continue
            key, j = self.of_node[int(node)]
            j = min(j, self.of_node[int(strips.nodes[e, 1])][1])
            apart = [abs(self.place[(*key[:3], f)][j, 0] - self.place[key][j, 0] - offset) for f in FACES]
            self.axial[(*key[:3], FACES[int(np.argmin(apart))])][j] += strips.axial_rigidity[e]

    def webs(self) -> None:
        """A wall each between its caps' booms, and t c^3/(6 h^2) of direct stress at either edge."""
        webs = self.model.webs
        for e in np.flatnonzero(webs.span >= self.root):
            j, face = int(webs.span[e]) - self.root, webs.face[e]
            upper, lower = (("cap", int(webs.spar[e]), k, face) for k in (0, 1))
            wood = turned(webs.materials[webs.material[e]].in_plane(), webs.grain[e])
            deep = float(np.mean(self.place[upper][j : j + 2, 1] - self.place[lower][j : j + 2, 1]))
            for key in (upper, lower):
                self.axial[key][j] += float(wood.E_x) * webs.thickness[e] * webs.clear[e] ** 3 / (6 * deep**2)
            self.rows.append((j, upper, lower, float(wood.G_xy) * float(webs.thickness[e]), "webs", int(e)))

    def edges(self) -> None:
        """Leading and trailing edge: a boom each."""
        edges = self.model.structure.blocks.get("edges")
        if not isinstance(edges, Beams) or not len(edges.nodes):
            return
        nodes = self.model.structure.nodes
        ends = {int(n) for line in (self.model.chordlines[0],) for n in line.upper}
        for e, pair in enumerate(edges.nodes):
            key = ("edge", "leading" if int(pair[0]) in ends else "trailing")
            at = [int(np.argmin(np.abs(self.model.y - nodes[node, 1]))) - self.root for node in pair]
            if min(at) < 0:
                continue
            place, axial = self.boom(key)
            for j, node in zip(at, pair):
                place[j] = nodes[node, [0, 2]]
                self.of_node[int(node)] = (key, j)
            # A stick without a node at every station goes straight between.
            first, last = min(at), max(at)
            for j in range(first + 1, last):
                place[j] = place[first] + (place[last] - place[first]) * (
                    (self.model.y[self.root + j] - self.model.y[self.root + first])
                    / (self.model.y[self.root + last] - self.model.y[self.root + first])
                )
            for j in range(first, last):
                self.edge_of[key, j] = int(e)
            axial[first:last] += edges.sections.axial[e]
            self.torsion[first:last] += edges.sections.torsion[e]

    def sheeting(self) -> None:
        """Walls between the lines of the net, and half of each one's direct stress at either."""
        model = self.model
        block = model.structure.blocks.get("sheeting")
        if block is None or not len(block.nodes):
            return
        nodes, sheets = model.structure.nodes, model.wing.sheets
        net: dict[int, tuple[tuple[object, ...], int]] = {}
        for k, line in enumerate(model.chordlines):
            for surface, row in (("upper", line.upper), ("lower", line.lower)):
                for station in np.flatnonzero(row >= 0):
                    net.setdefault(int(row[station]), (("line", k, surface), int(station) - self.root))
        for e in np.flatnonzero(model.sheets.span >= self.root).tolist():
            j = int(model.sheets.span[e]) - self.root
            keys = []
            for corner in (0, 1):
                node, next_node = int(block.nodes[e, corner]), int(block.nodes[e, 3 - corner])
                stick = self.of_node.get(node)
                own = net[node][0] if stick is None else ("skin", model.sheets.sheet[e], *stick[0])
                place, _ = self.boom(own)
                for at, one, c in ((j, node, corner), (j + 1, next_node, 3 - corner)):
                    if np.isnan(place[at, 0]):
                        shift = np.zeros(3) if block.offsets is None else block.offsets[e, c]
                        place[at] = (nodes[one] + shift)[[0, 2]]
                keys.append(own)
                if stick is not None:
                    self._on_stick(j, own, stick[0])
            sheet = sheets[model.sheets.sheet[e]]
            wood = turned(sheet.material.in_plane(), sheet.grain)
            wide = float(
                np.linalg.norm(np.diff([self.place[k][j : j + 2].mean(axis=0) for k in keys], axis=0))
            )
            thick = float(model.sheets.thickness[e])
            for key_of in keys:
                self.axial[key_of][j] += float(wood.E_x) * thick * wide / 2
            self.rows.append((j, keys[0], keys[1], float(wood.G_xy) * thick, "sheeting", int(e)))

    def _on_stick(self, j: int, skin: tuple[object, ...], stick: tuple[object, ...]) -> None:
        """A wall of a stick's own wood between its middle and the sheet on it, once a span."""
        if (j, skin) in self.joined:
            return
        self.joined.add((j, skin))
        model = self.model
        gap = np.linalg.norm(self.place[skin][j : j + 2] - self.place[stick][j : j + 2], axis=1)
        if stick[0] == "cap":
            caps = model.caps
            own = (caps.spar == stick[1]) & (caps.upper == (stick[2] == 0)) & (caps.span == j + self.root)
            e = int(np.flatnonzero(own)[0])
            beams, deep = model.structure.blocks["caps"], float(caps.layer_heights[e].sum())
        else:
            e, beams, deep = self.edge_of[stick, j], model.structure.blocks["edges"], 2 * float(gap.mean())
        assert isinstance(beams, Beams)
        self.rows.append((j, skin, stick, 6 / 5 * float(beams.sections.shear_z[e]) / deep, "sticks", -1))

    def bridges(self, number: dict[tuple[object, ...], int]) -> Bridges:
        """Open bays: caps as beams, and posts."""
        model = self.model
        caps, beams = model.caps, model.structure.blocks["caps"]
        assert isinstance(beams, Beams)
        open_ = open_spans(model)
        rows, posts = [], {}
        webbed = set(zip(model.webs.spar.tolist(), model.webs.span.tolist()))
        for s, span in open_:
            own = (caps.spar == s) & (caps.span == span)
            upper, lower = (number["cap", s, k, "between"] for k in (0, 1))
            rows.append(
                (
                    span - self.root, upper, lower, beams.sections.bending_y[own].sum(),
                    beams.sections.shear_z[own].sum(),
                )
            )  # fmt: skip
            for station in (span, span + 1):
                beside = {(s, station - 1), (s, station)} & webbed
                turn = 0.0 if beside or station == self.root else self._turn(s, station)
                if turn is not None:
                    posts[station - self.root, upper, lower] = 2 / turn if turn else np.inf
        if not rows:
            return Bridges.none()
        spans, uppers, lowers, bending, shear = (np.array(v) for v in zip(*rows))
        at = np.array(list(posts), dtype=np.intp).reshape(-1, 3)
        held = np.array(list(posts.values()))
        return Bridges(spans, uppers, lowers, bending, shear, at[:, 0], at[:, 1], at[:, 2], held)

    def _turn(self, s: int, station: int) -> float | None:
        """How far caps turn against their section by two equal moments that bend a post to an S, rad/(N m).

        The post is clear between the caps' inner faces, so that its ends turn by more than the caps do, by
        the depth between their middles over its length. None without a post.
        """
        posts, beams = self.model.posts, self.model.structure.blocks.get("posts")
        rows = np.flatnonzero((posts.spar == s) & (posts.station == station))
        if not len(rows):
            return None
        assert isinstance(beams, Beams)
        e, length = int(rows[0]), float(posts.length[rows[0]])
        bent = length / (6 * beams.sections.bending_y[e]) + 2 / (length * beams.sections.shear_z[e])
        deep = float(self.model.depth[s, station])
        return float((bent + posts.foot_flexibility[e]) * (length / deep) ** 2)

    def booms(self) -> Booms:
        """All of it."""
        keys = list(self.place)
        number = {key: k for k, key in enumerate(keys)}
        span, first, second, shear, block, element = zip(*self.rows)
        walls = Walls(
            np.array(span, dtype=np.intp),
            np.array([number[k] for k in first], dtype=np.intp),
            np.array([number[k] for k in second], dtype=np.intp),
            np.array(shear),
            tuple(block),
            np.array(element, dtype=np.intp),
        )
        return Booms(
            self.model.y[self.root :],
            np.array([self.place[k] for k in keys]),
            np.array([self.axial[k] for k in keys]),
            walls,
            self.torsion,
            self.bridges(number),
        )
