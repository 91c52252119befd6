"""What strength and movements need of a built wing, as rows of numbers: each row times the movements of the
nodes gives a force, a stress or a strain, and the tables beside say what the failure modes make of it.

Failure modes' own functions give every strength, buckling load and stiffness here; only what is linear in the
movements is drawn out of them, so that it need not be worked out again for every layout. Section forces in
webbed bays follow `models.strength.cap_stress`, means over a clear height `models.strength.web_stress`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.assembly import Assembly
from fea.reanalysis import node_recovery
from models.analysis import Analysis
from models.strength import glue_ends, modes, post, rail_joint, web_combined
from models.strength.cap_stress import through_middles, two_heights
from models.strength.mode import Mode
from models.strength.sheet_stress import sheet_stress
from models.strength.solved import Solved
from models.strength.web_edges import cap_rows
from models.strength.web_shear import strengths_of
from models.strength.web_stress import WebStress, panel_ends, slopes_at_middles, within_ribs
from models.structure.model import Model, Part
from models.woods.off_axis import to_grain

Rows = Any
"""Sparse rows; scipy's matrices have no types of their own."""
_TOGETHER = 128
"""Elements about, whose weights are worked out at a time."""
Table = dict[str, Any]
"""Arrays of constants by name, one entry a thing."""


def things(table: Table | None) -> int:
    """How many things a family's table has."""
    return len(next(iter(table.values()))) if table else 0


@dataclass(frozen=True, eq=False)
class WebRun:
    """Web elements of one kind, (spar, face, ...), that follow each other, by span."""

    kind: tuple
    spans: tuple[int, ...]
    elements: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Tables:
    """All rows and tables of one built wing.

    Parameters
    ----------
    rows : dict of str to (n, size) sparse array
        Rows by family, on the freedoms of the assembly.
    owner : dict of str to (n,) int array
        Element, or other thing, that a family's rows belong to: what decides their segment.
    span : dict of str to (n_things,) int array
        Span between two mesh stations of every thing of a family.
    table : dict of str to dict of str to (n_things, ...) float array
        Constants by family.
    """

    rows: dict[str, Rows]
    owner: dict[str, Ints]
    span: dict[str, Ints]
    table: dict[str, Table]


def blank(model: Model, assembly: Assembly) -> Analysis:
    """An analysis of a model with caps pressed by 1 N everywhere and nothing else: enough to ask failure
    modes for what does not hang on the load."""
    recovered = {}
    for name, figures in assembly.recover(np.zeros((len(model.structure.nodes), 6))).items():
        recovered[name] = {what: value.copy() for what, value in figures.items()}
    recovered["caps"]["forces"][:, :, 0] = -1.0
    return Analysis(model, None, 0, None, 1.0, recovered)  # type: ignore[arg-type]


def tables(
    model: Model, assembly: Assembly, number: Callable[[str, Part], int], *, spars: bool = True
) -> Tables:
    """Rows and tables of a built wing.

    Parameters
    ----------
    model : Model
        Half a flying wing, or a specimen.
    assembly : Assembly
        Of its structure.
    number : callable
        Gives every failure mode and part a number of their own.
    spars : bool
        Those of spars too, caps, webs and posts; else only those of rails, ribs and sheeting.
    """
    return _TableMaker(model, assembly, number).made(spars=spars)


def _means(left: Array, length: Array, panel: Ints, stretch: Array, feet: Array) -> tuple[Rows, Rows]:
    """`stretch_weights` as sparse tables."""

    def make(some: Ints) -> Array:
        there, number = np.unique(panel[some], return_inverse=True)
        return stretch_weights(left[some], length[some], number.ravel(), stretch[there], feet[there])

    return _some_at_a_time(panel, make)


def stretch_weights(left: Array, length: Array, panel: Ints, stretch: Array, feet: Array) -> Array:
    """Weights of the two means of which `models.strength.web_stress.stretch_mean` takes the greater.

    Parameters
    ----------
    left, length : (n,) float array
        First end and length of each element, m.
    panel : (n,) int array
        Which panel each belongs to.
    stretch : (n_panels,) float array
        Length to average over, m.
    feet : (n_panels, 2) float array
        Length left out at both ends, m.

    Returns
    -------
    (2, n, n) float array
        Of the mean over the stretch that starts with the element, and over that which ends with it: rows
        times the elements' values.
    """
    n = len(left)
    order = np.lexsort((left, panel))
    size = length[order]
    edge = np.concatenate([[0.0], np.cumsum(size)])
    unit = np.eye(n)
    slope = (
        np.stack([slopes_at_middles(unit[k], size, panel[order]) for k in range(n)], axis=1) if n else unit
    )
    total = np.bincount(panel, length)
    last = np.cumsum(total)
    low, high = (last - total + feet[:, 0])[panel], (last - feet[:, 1])[panel]
    width = np.minimum(stretch[panel], high - low)
    start, end = np.empty_like(length), np.empty_like(length)
    start[order], end[order] = edge[:-1], edge[1:]

    def integral(at: Array) -> Array:
        e = np.clip(np.searchsorted(edge, at, side="right") - 1, 0, n - 1)
        past = at - edge[e]
        full = np.where(np.arange(n)[None] < e[:, None], size[None], 0.0)
        full[np.arange(n), e] += past
        return np.asarray(full + slope[e] * (past * (past - size[e]) / 2)[:, None])

    out = np.zeros((2, n, n))
    for k, first in enumerate((start, end - width)):
        at = np.clip(first, low, high - width)
        out[k][:, order] = (integral(at + width) - integral(at)) / width[:, None]
    return out


def _sparse(weights: Array) -> Rows:
    return sp.csr_matrix(weights)


def _some_at_a_time(group: Ints, make: Callable[[Ints], Array]) -> tuple[Rows, Rows]:
    """Two tables of weights (n, n) of elements none of which weighs one of another group.

    `make` gives them of some elements, (2, m, m), from their numbers (m,). It is asked for a few groups at a
    time: the whole tables, nearly all zeros, grow with the square of the wing's length.
    """
    n = len(group)
    if not n:
        return sp.csr_matrix((0, 0)), sp.csr_matrix((0, 0))
    order = np.argsort(group, kind="stable")
    size = np.bincount(group)
    batch = (np.cumsum(size) // _TOGETHER)[group[order]]
    found: tuple[list[Any], list[Any]] = ([], [])
    for some in np.split(order, np.flatnonzero(np.diff(batch)) + 1):
        some = np.sort(some)
        for out, weights in zip(found, make(some)):
            row, column = np.nonzero(weights)
            out.append((weights[row, column], some[row], some[column]))
    one, two = (
        sp.csr_matrix((value, (row, column)), shape=(n, n))
        for value, row, column in ([np.concatenate(of) for of in zip(*out)] for out in found)
    )
    return one, two


def _by_thing(rows: list[Rows]) -> tuple[Rows, Ints]:
    """Rows (n, size) of the same things one thing after the other, and whose each is."""
    n, m = rows[0].shape[0], len(rows)
    return sp.vstack(rows).tocsr()[np.arange(m * n).reshape(m, n).T.ravel()], np.repeat(np.arange(n), m)


class _TableMaker:
    def __init__(self, model: Model, assembly: Assembly, number: Callable[[str, Part], int]) -> None:
        self.model, self.assembly, self.number = model, assembly, number
        self.blocks = model.structure.blocks
        self.fake = blank(model, assembly)
        self.at = Solved(self.fake)
        self.out = Tables({}, {}, {}, {})

    def made(self, *, spars: bool) -> Tables:
        if spars:
            self.caps()
            self.webs()
            self.posts()
        self.rails()
        self.plates()
        return self.out

    def judged(self, family: str, elements: Ints) -> None:
        """Adds to a family's table what the modes that judge its things need; `elements` has one of each
        thing's."""
        table = self.out.table[family]
        for mode in modes.MODES:
            if mode.many is not None and mode.many.family == family:
                table.update(mode.many.constants(self.at))
                table[f"id_{mode.name}"] = self.ids(mode, elements)

    def ids(self, mode: Mode, elements: Ints) -> Ints:
        parts = self.blocks[mode.block].part
        assert parts is not None
        return np.array([self.number(mode.name, self.model.parts[p]) for p in parts[elements]], dtype=np.intp)

    def outputs(self, name: str, what: str) -> Array:
        """What a block recovers per movement of its elements' nodes, (n, ..., 6 k)."""
        return node_recovery(self.assembly, name, what)

    def global_rows(self, name: str, values: Array, elements: Ints | slice = slice(None)) -> Rows:
        """Rows (n, m, 6 k) of a block's elements, all or some, on all freedoms, (n m, size)."""
        nodes = self.blocks[name].nodes[elements]
        n, m, width = values.shape
        columns = (nodes[:, :, None] * 6 + np.arange(6)).reshape(n, 1, width)
        columns = np.broadcast_to(columns, values.shape)
        pointer = np.arange(n * m + 1) * width
        matrix = sp.csr_matrix((values.ravel(), columns.ravel(), pointer), shape=(n * m, self.assembly.size))
        matrix.sum_duplicates()
        return matrix

    def add(self, family: str, rows: Rows, owner: Ints) -> None:
        self.out.rows[family] = rows.tocsr()
        self.out.owner[family] = owner

    # ---- caps -----------------------------------------------------------------------------------------

    def caps(self) -> None:
        model, caps = self.model, self.model.caps
        n = len(caps.span)
        parts = self.blocks["caps"].part
        assert parts is not None
        stress = self.at.caps
        joined = ~stress.open | stress.sheeted
        first, last = model.y[caps.span], model.y[caps.span + 1]
        points = stress.y
        covered = np.isnan(stress.forces[:, 0, 0])
        share = (points - first[:, None]) / (last - first)[:, None]
        run, stretch = two_heights(model)
        length = last - first

        def lines(some: Ints) -> Array:
            unit = np.eye(len(some))
            return through_middles(unit, first[some], last[some], run[some], points[some]).transpose(1, 0, 2)

        drawn = _some_at_a_time(run, lines)
        means = _means(first, length, run, stretch, np.zeros((len(stretch), 2)))

        forces = self.outputs("caps", "forces")  # (n, 2, 6, 12)
        ends = {k: [self.global_rows("caps", forces[:, [p], k]) for p in (0, 1)] for k in (0, 4, 5)}
        middle = {k: (ends[k][0] + ends[k][1]) / 2 for k in ends}
        plain, drawn_here = ~joined & ~covered, joined & ~covered

        def pick(mask: NDArray[np.bool_], weights: Rows | None = None) -> Rows:
            chosen = sp.diags(mask.astype(float))
            return chosen if weights is None else chosen @ weights

        def at_point(k: int, p: int) -> Rows:
            inner, outer = (
                sp.diags(plain * part) @ ends[k][e] for e, part in enumerate((1 - share[:, p], share[:, p]))
            )
            return inner + outer

        rows = [at_point(0, p) + (pick(drawn_here, drawn[p]) + pick(covered)) @ middle[0] for p in (0, 1)]
        rows += [at_point(k, p) + pick(drawn_here, means[p]) @ middle[k] for k in (4, 5) for p in (0, 1)]
        self.add("caps", *_by_thing(rows))
        self.out.span["caps"] = caps.span
        self.cap_force = rows[:2]
        self.cap_middle = middle[0]
        section = self.blocks["caps"].sections  # type: ignore[attr-defined]
        self.section = section

        stiff = caps.layer_modulus * caps.layer_heights * caps.width[:, None]
        inward = np.cumsum(caps.layer_heights, axis=1) - caps.layer_heights / 2 - caps.centroid[:, None]
        z = np.where(caps.upper, -1.0, 1.0)[:, None] * inward
        axial = stiff.sum(axis=1)
        upright = (stiff * (z**2 + caps.layer_heights**2 / 12)).sum(axis=1)
        sideways = axial * caps.width**2 / 12
        absent = caps.layer_heights <= 0
        young = np.where(absent, 0.0, caps.layer_modulus)
        self.out.table["caps"] = {
            "joined": joined,
            "judged": ~covered,
            "open": stress.open,
            "pull": young / axial[:, None],
            "tilt": young * z / upright[:, None],
            "bend": young * caps.layer_heights / 2 / upright[:, None],
            "side": young * caps.width[:, None] / 2 / sideways[:, None],
            "axial": section.axial,
            "upright": section.bending_y,
            "sideways": section.bending_z,
        }
        self.judged("caps", np.arange(n))
        # Bay by bay: mean push against the least force that any of its elements bears.
        n_runs = int(run.max()) + 1
        weight = np.zeros((n_runs, n))
        weight[run, np.arange(n)] = length / np.bincount(run, length)[run]
        self.add("cap bays", _sparse(weight) @ middle[0], np.arange(n_runs))
        member = np.zeros(n_runs, dtype=np.intp)
        member[run] = np.arange(n)
        self.out.span["cap bays"] = caps.span[member]
        self.out.table["cap bays"] = {}
        self.judged("cap bays", member)
        self.edges = self.at.edges if self.at.has("webs") else None

    # ---- crushing by curvature ------------------------------------------------------------------------

    def press(self, pairs: list[tuple[int, int]], strips: dict[tuple[int, int], Array]) -> None:
        """Curvature of a spar, and half the difference of its caps' forces, of every (spar, span)."""
        model, caps = self.model, self.model.caps
        row_of = {
            (int(s), bool(u), int(i)): e for e, (s, u, i) in enumerate(zip(caps.spar, caps.upper, caps.span))
        }
        n = len(caps.span)
        upper = np.array([row_of[s, True, i] for s, i in pairs], dtype=np.intp)
        lower = np.array([row_of[s, False, i] for s, i in pairs], dtype=np.intp)
        mean = sp.diags(0.5 / self.section.axial) @ (self.cap_force[0] + self.cap_force[1])
        depth = np.array([(model.depth[s, i] + model.depth[s, i + 1]) / 2 for s, i in pairs])
        m = len(pairs)

        def of(rows: Ints, weight: Array) -> Rows:
            return sp.csr_matrix((weight, (np.arange(m), rows)), shape=(m, n))

        webbed = np.array([pair in strips for pair in pairs])
        both = np.array([strips.get(pair, np.zeros(2)) for pair in pairs]).reshape(m, 2)
        curve = (of(lower, 1 / depth) - of(upper, 1 / depth)) @ mean
        force = (
            of(lower, np.where(webbed, self.section.axial[lower] + both[:, 1], 0.0) / 2)
            - of(upper, np.where(webbed, self.section.axial[upper] + both[:, 0], 0.0) / 2)
        ) @ mean
        half = np.where(webbed, 0.0, 0.5)
        force = force + (of(lower, half) - of(upper, half)) @ self.cap_middle
        self.add("press", *_by_thing([curve, force]))
        self.out.span["press"] = np.array([i for _, i in pairs], dtype=np.intp)
        self.out.table["press"] = {"spar": np.array([s for s, _ in pairs], dtype=np.intp)}
        self.press_of = {pair: k for k, pair in enumerate(pairs)}

    # ---- webs -----------------------------------------------------------------------------------------

    def webs(self) -> None:
        model, webs = self.model, self.model.webs
        stiff_posts = self._stiff_posts()
        beside = {
            (int(model.posts.spar[k]), i)
            for k in stiff_posts
            for i in (int(model.posts.station[k]) - 1, int(model.posts.station[k]))
            if 0 <= i < len(model.bay) and model.cap_nodes[model.posts.spar[k], 0, [i, i + 1]].min() >= 0
        }
        pairs = beside | set(zip(webs.spar.tolist(), webs.span.tolist()))
        strips: dict[tuple[int, int], Array] = {}
        edges = self.edges
        if edges is not None:
            strip = edges.young[:, None] * webs.thickness[:, None]
            strip = strip * np.where(webs.lap > webs.thickness[:, None], webs.lap, 0)
            for k, key in enumerate(zip(webs.spar.tolist(), webs.span.tolist())):
                strips[key] = strips.get(key, np.zeros(2)) + strip[k]
        self.press(sorted(pairs, key=lambda p: (p[1], p[0])), strips)
        if edges is None:
            return
        stress = self.at.webs
        left, right = model.y[webs.span], model.y[webs.span + 1]
        own = self.outputs("webs", "stress")  # (n, 3, 24) in grain axes
        turn = np.stack([to_grain(a, b, c, -stress.grain) for a, b, c in np.eye(3).tolist()], axis=2)
        plane = turn @ own
        sz, tau = self.global_rows("webs", plane[:, [1]]), self.global_rows("webs", plane[:, [2]])
        feet = within_ribs(self.fake, panel_ends(stress.panel, left, right, len(stress.first)))
        means = _means(left, stress.length, stress.panel, stress.panel_clear, feet)
        self.add("webs", *_by_thing([mean @ of for of in (tau, sz) for mean in means]))
        self.out.span["webs"] = webs.span
        self._web_table(stress)
        self._panels(stress, tau, sz)

    def _web_table(self, stress: WebStress) -> None:
        webs, caps, edges = self.model.webs, self.model.caps, self.edges
        assert edges is not None
        n = len(webs.span)
        strengths = strengths_of(webs.materials, webs.material)
        beside = cap_rows(self.fake)
        height = caps.layer_heights.sum(axis=1)
        sign = np.array([1.0, -1.0])
        side = np.array([{"front": -0.5, "between": 0.0, "rear": 0.5}[f] for f in webs.face])
        lapped = np.array([f != "between" for f in webs.face])
        self.out.table["webs"] = {
            "cap": beside,
            "press": np.array(
                [self.press_of[k] for k in zip(webs.spar.tolist(), webs.span.tolist())], dtype=np.intp
            ),
            "young": edges.young,
            "thickness": webs.thickness,
            "clear": webs.clear,
            "lap": np.where(lapped[:, None], webs.lap, 0.0),
            "share": edges.across / webs.clear / edges.stiffness,
            "x": side[:, None] * caps.width[beside],
            "in": -(height - caps.centroid)[beside] * sign,
            "out": caps.centroid[beside] * sign,
            "grain": stress.grain,
            "strength": np.stack(
                [np.broadcast_to(np.asarray(s, dtype=float), (n,)) for s in strengths], axis=1
            ),
            **{
                f"id_{mode.name}": self.ids(mode, np.arange(n))
                for mode in (web_combined.MODE, glue_ends.MODE)
            },
        }
        self.judged("webs", np.arange(n))

    def _panels(self, stress: WebStress, tau: Rows, sz: Rows) -> None:
        model, webs = self.model, self.model.webs
        n, first = len(webs.span), stress.first
        n_panels = len(first)
        total = np.bincount(stress.panel, stress.length)
        across = (model.bay[webs.span[first]] == 0) & (model.wing.flies) & (model.wing.first_bay == 0)
        weight = stress.length / total[stress.panel]
        # Sub-rows whose sizes add up: one a panel, or one an element where shear turns round in the middle.
        sub = np.where(across[stress.panel], np.arange(n), n + stress.panel)
        keys, place = np.unique(sub, return_inverse=True)
        of_sub = np.zeros(len(keys), dtype=np.intp)
        of_sub[place] = stress.panel
        order = np.argsort(of_sub, kind="stable")
        back = np.empty_like(order)
        back[order] = np.arange(len(order))
        rows = sp.csr_matrix((weight, (back[place], np.arange(n))), shape=(len(keys), n)) @ tau
        self.add("panel shear", rows, np.arange(len(keys)))
        self.out.span["panel shear"] = webs.span[first][of_sub[order]]
        self.out.table["panel shear"] = {"panel": of_sub[order]}
        mean = sp.csr_matrix((weight, (stress.panel, np.arange(n))), shape=(n_panels, n))
        self.add("panels", mean @ sz, np.arange(n_panels))
        self.out.span["panels"] = webs.span[first]
        self.out.table["panels"] = {}
        self.judged("panels", first)
        self.out.table["webs"]["panel"] = stress.panel
        self.out.table["webs"]["panel_share"] = weight

    # ---- posts ----------------------------------------------------------------------------------------

    def _stiff_posts(self) -> Ints:
        if not self.at.has("posts"):
            return np.zeros(0, dtype=np.intp)
        return np.flatnonzero(self.at.the(post.bearing).stiff)

    def posts(self) -> None:
        model, posts = self.model, self.model.posts
        at = self._stiff_posts()
        n = len(at)
        if not n:
            return
        y = model.y[posts.station[at]]
        share = np.where(model.half & (np.abs(y) < 1e-9), 0.5, 1.0)
        forces = self.outputs("posts", "forces")[at] / share[:, None, None, None]
        own = posts.with_rib[at][:, None]
        values = np.stack(
            [forces[:, :, 0].mean(axis=1), forces[:, 0, 4] / own, forces[:, 1, 4] / own], axis=1
        )
        self.add("posts", self.global_rows("posts", values, at), np.repeat(np.arange(n), 3))
        # A post at a station goes with the span inboard of it, save at the root.
        self.out.span["posts"] = np.maximum(posts.station[at] - 1, 0)
        twice = np.where(model.half & (np.abs(y) < 1e-9), 2.0, 1.0)
        taken = post.reach(self.at)
        webbed = set(zip(model.webs.spar.tolist(), model.webs.span.tolist()))
        sides = [
            (s, j, i, self.press_of[s, i], taken[s, i] * twice[k], (s, i) not in webbed)
            for k, (s, j) in enumerate(zip(posts.spar[at].tolist(), posts.station[at].tolist()))
            for i in (j - 1, j)
            if (s, i) in self.press_of
        ]
        columns = [np.array(c) for c in zip(*sides)]
        self.out.span["post sides"] = columns[2]
        self.out.table["post sides"] = dict(
            zip(("spar", "station", "press", "weight", "open"), (*columns[:2], *columns[3:]))
        )
        self.out.table["posts"] = {"spar": posts.spar[at], "station": posts.station[at]}
        self.judged("posts", at)

    # ---- rails ----------------------------------------------------------------------------------------

    def rails(self) -> None:
        model, blocks = self.model, self.blocks
        if "rails" not in blocks:
            return
        rails = {r.name: r for r in model.wing.rails}
        part = blocks["rails"].part
        assert part is not None
        those = [rails[model.parts[p].place] for p in part]
        share = np.array([0.5 if model.half and r.y < 1e-9 else 1.0 for r in those])
        forces = self.outputs("rails", "forces") / share[:, None, None, None]
        n = len(those)
        values = forces[:, :, [0, 4, 5]].reshape(n, 6, -1)
        self.add("rails", self.global_rows("rails", values), np.repeat(np.arange(n), 6))
        station = self._station(blocks["rails"].nodes[:, 0])
        self.out.span["rails"] = np.maximum(station - 1, 0)
        self.out.table["rails"] = {}
        self.judged("rails", np.arange(n))
        if "rail ties" in blocks:
            self.ties()

    def _station(self, nodes: Ints) -> Ints:
        y = self.model.structure.nodes[nodes, 1]
        return np.abs(self.model.y[None] - y[:, None]).argmin(axis=1)

    def ties(self) -> None:
        block, found = self.blocks["rail ties"], self.at.the(rail_joint.ties)
        forces = self.outputs("rail ties", "forces").mean(axis=1)  # (n, 6, 12)
        rows = self.global_rows("rail ties", forces[:, :3]).tocsr()  # N, V_y, V_z of every tie
        out, span = [], []
        for one in found:
            up = sum((1.0 if c == 0 else -1.0) * rows[3 * k] for c, k in zip(one.cap, one.rows))
            aside = [rows[3 * k + c] for k in (one.rows * 2)[:2] for c in (1, 2)]
            out += [up / one.share, *(v / one.share for v in aside)]
            span.append(max(int(self._station(block.nodes[one.rows[:1], 0])[0]) - 1, 0))
        self.add("ties", sp.vstack(out).tocsr(), np.repeat(np.arange(len(found)), 5))
        self.out.span["ties"] = np.array(span, dtype=np.intp)
        self.out.table["ties"] = {"count": np.array([len(one.rows) for one in found])}
        self.judged("ties", np.array([one.rows[0] for one in found], dtype=np.intp))

    # ---- ribs and sheeting ----------------------------------------------------------------------------

    def plates(self) -> None:
        model, blocks = self.model, self.blocks
        if "ribs" in blocks:
            n = len(blocks["ribs"].nodes)
            self.add(
                "rib panels",
                self.global_rows("ribs", self.outputs("ribs", "stress")),
                np.repeat(np.arange(n), 3),
            )
            self.out.span["rib panels"] = np.maximum(self._station(blocks["ribs"].nodes[:, 0]) - 1, 0)
            self.out.table["rib panels"] = {}
            self.judged("rib panels", np.arange(n))
        if "sheeting" in blocks:
            sheets = self.at.the(sheet_stress)
            stress, slope = (self.outputs("sheeting", what) for what in ("stress", "slope"))
            strip, member = sheets.strip, np.unique(sheets.strip, return_index=True)[1]
            n, m = len(strip), len(member)
            weight = sheets.size / np.bincount(strip, sheets.size)[strip]
            mean = sp.csr_matrix((weight, (strip, np.arange(n))), shape=(m, n))
            edges = []
            for edge in (stress - slope, stress + slope):
                every = self.global_rows("sheeting", edge)
                edges.append(_by_thing([mean @ every[k::3] for k in range(3)])[0])
            member = np.tile(member, 2)
            self.add("sheeting strips", sp.vstack(edges).tocsr(), np.repeat(np.arange(2 * m), 3))
            self.out.span["sheeting strips"] = model.sheets.span[member]
            self.out.table["sheeting strips"] = {}
            self.judged("sheeting strips", member)


def pieces(model: Model) -> list[WebRun]:
    """Runs of webs and braces of one kind that lie one after another, as `glue_ends` joins them, but cut at
    the ends of bays."""
    webs = model.webs
    kinds = zip(
        webs.spar.tolist(),
        webs.face,
        webs.thickness.tolist(),
        [webs.materials[m] for m in webs.material],
        webs.grain.tolist(),
        webs.glue,
        webs.brace.tolist(),
    )
    found: dict[tuple, list[tuple[int, int]]] = {}
    for k, (kind, i) in enumerate(zip(kinds, webs.span.tolist())):
        found.setdefault((kind, int(model.bay[i])), []).append((i, k))
    out = []
    for (kind, _), rows in found.items():
        rows.sort()
        run = [rows[0]]
        for row in rows[1:]:
            if row[0] != run[-1][0] + 1:
                out.append(WebRun(kind, tuple(i for i, _ in run), tuple(k for _, k in run)))
                run = []
            run.append(row)
        out.append(WebRun(kind, tuple(i for i, _ in run), tuple(k for _, k in run)))
    return out
