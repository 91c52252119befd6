"""What strength and movements need of a built wing, as rows of numbers: each row times the movements of the
nodes gives a force, a stress or a strain, and the tables beside say what the failure modes make of it.

Failure modes' own functions give every strength, buckling load and stiffness here; only what is linear in the
movements is drawn out of them, so that it need not be worked out again for every layout. Section forces in
webbed bays follow `models.strength.cap_stress`, means over a clear height `models.strength.web_stress`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.assembly import Assembly, rigid_motions
from fea.reanalysis import node_recovery
from models.analysis import Analysis
from models.strength import cap_column, cap_compression, cap_twist, glue_line, norris, web_column
from models.strength.cap_stress import between_posts, cap_stress, through_middles
from models.strength.post import _bay_lengths
from models.strength.rail_joint import MODE as RAIL_GLUE
from models.strength.rail_joint import MODE_SPAR as SPAR_GLUE
from models.strength.rail_joint import _rail_glue, _spar_glue
from models.strength.sheet_stress import sheet_stress
from models.strength.web_buckling import critical_flow
from models.strength.web_direct import strength_along
from models.strength.web_edges import cap_rows, web_edges
from models.strength.web_shear import shear_at, strengths_of
from models.strength.web_stress import WebStress, _panel_ends, _slopes, _within_ribs, web_stress
from models.structure.model import Model, Part
from models.woods.off_axis import hankinson, to_grain

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Rows = Any
"""Sparse rows; scipy's matrices have no types of their own."""
Table = dict[str, Any]
"""Arrays of constants by name, one entry a thing."""


@dataclass(frozen=True, eq=False)
class Piece:
    """A run of web elements of one kind within one segment: (spar, face, ...) and its elements by span."""

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

    Returns
    -------
    Tables
    """
    return _Maker(model, assembly, number).made(spars=spars)


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
    slope = np.stack([_slopes(unit[k], size, panel[order]) for k in range(n)], axis=1) if n else unit
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


class _Maker:
    def __init__(self, model: Model, assembly: Assembly, number: Callable[[str, Part], int]) -> None:
        self.model, self.assembly, self.number = model, assembly, number
        self.blocks = model.structure.blocks
        self.fake = blank(model, assembly)
        self.out = Tables({}, {}, {}, {})

    def made(self, *, spars: bool) -> Tables:
        if spars:
            self.caps()
            self.webs()
            self.posts()
        self.rails()
        self.plates()
        return self.out

    def ids(self, mode: str, block: str, elements: Ints) -> Ints:
        parts = self.blocks[block].part
        assert parts is not None
        return np.array([self.number(mode, self.model.parts[p]) for p in parts[elements]], dtype=np.intp)

    def outputs(self, name: str, what: str) -> Array:
        """What a block recovers per movement of its elements' nodes, (n, ..., 6 k)."""
        return node_recovery(self.assembly, name, what)

    def global_rows(self, name: str, values: Array) -> Rows:
        """Rows (n, m, 6 k) of a block's elements on all freedoms, (n m, size)."""
        nodes = self.blocks[name].nodes
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
        model, caps, posts = self.model, self.model.caps, self.model.posts
        n = len(caps.span)
        parts = self.blocks["caps"].part
        assert parts is not None
        stress = cap_stress(self.fake)
        joined = ~stress.open | stress.sheeted
        first, last = model.y[caps.span], model.y[caps.span + 1]
        reach = posts.thickness / 2 + np.where(joined, caps.layer_heights.sum(axis=1), 0.0)[:, None]
        same = caps.spar[:, None] == posts.spar[None]
        centre = np.broadcast_to(model.y[posts.station], same.shape)
        start, end = between_posts(first, last, centre, np.where(same, reach, 0.0))
        covered = np.isnan(stress.forces[:, 0, 0])
        share = (np.stack([start, end], axis=1) - first[:, None]) / (last - first)[:, None]
        points = np.stack([start, end], axis=1)
        drawn = through_middles(np.eye(n), first, last, parts, points)  # (n, 2, n)
        _, run = np.unique(parts, return_inverse=True)
        length, height = last - first, caps.layer_heights.sum(axis=1)
        depth = (model.depth[caps.spar, caps.span] + model.depth[caps.spar, caps.span + 1]) / 2
        clear = np.maximum(depth - height, height)
        stretch = np.bincount(run, 2 * clear * length) / np.bincount(run, length)
        means = stretch_weights(first, length, run, stretch, np.zeros((len(stretch), 2)))

        forces = self.outputs("caps", "forces")  # (n, 2, 6, 12)
        ends = {k: [self.global_rows("caps", forces[:, [p], k]) for p in (0, 1)] for k in (0, 4, 5)}
        middle = {k: (ends[k][0] + ends[k][1]) / 2 for k in ends}
        plain, drawn_here = ~joined & ~covered, joined & ~covered

        def pick(mask: NDArray[np.bool_], weights: Array | None = None) -> Rows:
            return sp.diags(mask.astype(float)) if weights is None else _sparse(weights * mask[:, None])

        rows = []
        for p in (0, 1):
            line = (
                sp.diags(plain * (1 - share[:, p])) @ ends[0][0] + sp.diags(plain * share[:, p]) @ ends[0][1]
            )
            rows.append(line + (pick(drawn_here, drawn[:, p]) + pick(covered)) @ middle[0])
        for k in (4, 5):
            for p in (0, 1):
                line = (
                    sp.diags(plain * (1 - share[:, p])) @ ends[k][0]
                    + sp.diags(plain * share[:, p]) @ ends[k][1]
                )
                rows.append(line + pick(drawn_here, means[p]) @ middle[k])
        stacked = sp.vstack(rows).tocsr()[np.arange(6 * n).reshape(6, n).T.ravel()]
        self.add("caps", stacked, np.repeat(np.arange(n), 6))
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
            "tension": stress.tension,
            "compression": stress.compression,
            "rupture": stress.bending_strength,
            "fullness": cap_compression.fullness(stress.compression, stress.bending_strength, stress.slowly),
            "axial": section.axial,
            "upright": section.bending_y,
            "sideways": section.bending_z,
            **{
                name: self.ids(mode, "caps", np.arange(n))
                for name, mode in (
                    ("id_tension", "cap tension"),
                    ("id_compression", "cap compression"),
                    ("id_bending", "cap bending, open bay"),
                )
            },
        }
        # Bay by bay: mean push against the least force that any of its elements bears.
        n_runs = int(run.max()) + 1
        weight = np.zeros((n_runs, n))
        weight[run, np.arange(n)] = length / np.bincount(run, length)[run]
        self.add("cap bays", _sparse(weight) @ middle[0], np.arange(n_runs))
        member = np.zeros(n_runs, dtype=np.intp)
        member[run] = np.arange(n)
        self.out.span["cap bays"] = caps.span[member]
        edges = web_edges(self.fake, stress)
        table: Table = {}
        for name, found in (
            ("column", cap_column.findings(self.fake, stress, edges)),
            ("twist", cap_twist.findings(self.fake, stress)),
        ):
            least = np.full(n_runs, np.inf)
            for one in found:
                np.minimum.at(
                    least, run[one.element], one.allowable * height[one.element] * caps.width[one.element]
                )
            table[name] = least
        table["id_column"] = self.ids(cap_column.MODE, "caps", member)
        table["id_twist"] = self.ids(cap_twist.MODE, "caps", member)
        self.out.table["cap bays"] = table
        self.stress, self.edges = stress, edges

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
        rows = sp.vstack([curve, force]).tocsr()[np.arange(2 * m).reshape(2, m).T.ravel()]
        self.add("press", rows, np.repeat(np.arange(m), 2))
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
        edges, stress = self.edges, web_stress(self.fake)
        if edges is not None:
            strip = edges.young[:, None] * webs.thickness[:, None]
            strip = strip * np.where(webs.lap > webs.thickness[:, None], webs.lap, 0)
            for k, key in enumerate(zip(webs.spar.tolist(), webs.span.tolist())):
                strips[key] = strips.get(key, np.zeros(2)) + strip[k]
        self.press(sorted(pairs, key=lambda p: (p[1], p[0])), strips)
        if edges is None or stress is None:
            return
        n = len(webs.span)
        left, right = model.y[webs.span], model.y[webs.span + 1]
        own = self.outputs("webs", "stress")  # (n, 3, 24) in grain axes
        turn = np.stack([to_grain(a, b, c, -stress.grain) for a, b, c in np.eye(3).tolist()], axis=2)
        plane = turn @ own
        sz, tau = self.global_rows("webs", plane[:, [1]]), self.global_rows("webs", plane[:, [2]])
        feet = _within_ribs(self.fake, _panel_ends(stress.panel, left, right, len(stress.first)))
        means = stretch_weights(left, stress.length, stress.panel, stress.panel_clear, feet)
        rows = [
            _sparse(means[0]) @ tau,
            _sparse(means[1]) @ tau,
            _sparse(means[0]) @ sz,
            _sparse(means[1]) @ sz,
        ]
        self.add(
            "webs",
            sp.vstack(rows).tocsr()[np.arange(4 * n).reshape(4, n).T.ravel()],
            np.repeat(np.arange(n), 4),
        )
        self.out.span["webs"] = webs.span
        self._web_table(stress)
        self._panels(stress, tau, sz)

    def _web_table(self, stress: WebStress) -> None:
        webs, caps, edges = self.model.webs, self.model.caps, self.edges
        assert edges is not None
        n = len(webs.span)
        strengths = strengths_of(webs.materials, webs.material)
        rupture = np.array([m.bending for m in webs.materials])[webs.material]
        bent = strengths._replace(tension=rupture, compression=rupture)
        beside = cap_rows(self.fake)
        height = caps.layer_heights.sum(axis=1)
        sign = np.array([1.0, -1.0])
        side = np.array([{"front": -0.5, "between": 0.0, "rear": 0.5}[f] for f in webs.face])
        lapped = np.array([f != "between" for f in webs.face])
        glued = glue_line.lines(self.fake)
        solid = np.array([m.kind == "solid" for m in webs.materials])[webs.material]
        upright = np.sin(stress.grain) ** 2 > np.cos(stress.grain) ** 2
        every = np.arange(n)
        one = np.ones(n)
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
            "lapped": lapped,
            "grain": stress.grain,
            "pull": strength_along(stress.grain, strengths, tension=True),
            "push": strength_along(stress.grain, strengths, tension=False),
            "bend": strength_along(stress.grain, bent, tension=True),
            "shear_up": shear_at(stress.grain, one, strengths),
            "shear_down": shear_at(stress.grain, -one, strengths),
            "strength": np.stack(
                [np.broadcast_to(np.asarray(s, dtype=float), (n,)) for s in strengths], axis=1
            ),
            "glue": glued.shear * webs.lap,
            "splits": solid & ~upright,
            "id_shear": self.ids("web shear", "webs", every),
            "id_combined": self.ids("web shear, bending and crushing", "webs", every),
            "id_direct": self.ids("web direct stress", "webs", every),
            "id_splitting": self.ids("web splitting", "webs", every),
            "id_glue": self.ids(glue_line.MODE, "webs", every),
            "id_end": self.ids("glue at web end", "webs", every),
        }

    def _panels(self, stress: WebStress, tau: Rows, sz: Rows) -> None:
        model, webs = self.model, self.model.webs
        n, first = len(webs.span), stress.first
        n_panels = len(first)
        total = np.bincount(stress.panel, stress.length)
        across = (
            (model.bay[webs.span[first]] == 0) & (model.wing.root == "symmetry") & (model.wing.first_bay == 0)
        )
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
        sheet = [webs.materials[m].in_bending() for m in webs.material[first]]
        bounded = np.maximum(stress.panel_length, stress.panel_clear * 1e-3)
        flows = [
            critical_flow(
                bounded, stress.panel_clear, webs.thickness[first], sheet, stress.grain[first],
                np.full(n_panels, sign),
            )
            for sign in (True, False)
        ]  # fmt: skip
        assert self.edges is not None
        critical, _, _ = web_column.panel_figures(self.fake, stress, self.edges)
        self.out.table["panels"] = {
            "flow_up": flows[0] / webs.thickness[first],
            "flow_down": flows[1] / webs.thickness[first],
            "critical": critical,
            "id_shear": self.ids("web shear buckling", "webs", first),
            "id_column": self.ids(web_column.MODE, "webs", first),
            "id_both": self.ids("web buckling, shear and crushing", "webs", first),
        }
        self.out.table["webs"]["panel"] = stress.panel
        self.out.table["webs"]["panel_share"] = weight

    # ---- posts ----------------------------------------------------------------------------------------

    def _stiff_posts(self) -> Ints:
        model = self.model
        posts = model.posts
        if not len(posts.station):
            return np.zeros(0, dtype=np.intp)
        ribs = {round(r.y, 9): r.post_grain for r in model.wing.ribs}
        at = model.y[posts.station]
        off = np.pi / 2 - np.array([ribs.get(round(abs(float(y)), 9), np.pi / 2) for y in at])
        ply = np.array([w.kind == "ply" for w in posts.materials])
        self.off = off
        return np.flatnonzero((np.abs(np.sin(off)) < np.sqrt(0.5)) | ply)

    def posts(self) -> None:
        model, posts = self.model, self.model.posts
        at = self._stiff_posts()
        n = len(at)
        if not n:
            return
        woods = [posts.materials[k] for k in at]
        off = self.off[at]
        figure = {
            name: np.array([getattr(w, name) for w in woods])
            for name in ("tension", "compression", "bending", "tension_across", "compression_across", "E_L")
        }
        tension = hankinson(figure["tension"], figure["tension_across"], off, 1.5)
        crushing = hankinson(figure["compression"], figure["compression_across"], off)
        rupture = hankinson(figure["bending"], figure["tension_across"], off, 1.5)
        modulus = hankinson(figure["E_L"], np.array([w.in_plane().E_2 for w in woods]), off)
        y = model.y[posts.station[at]]
        share = np.where(model.half & (np.abs(y) < 1e-9), 0.5, 1.0)
        forces = self.outputs("posts", "forces")[at] / share[:, None, None, None]
        block_rows = self._rows_of("posts", at)
        own = posts.with_rib[at][:, None]
        values = np.stack(
            [forces[:, :, 0].mean(axis=1), forces[:, 0, 4] / own, forces[:, 1, 4] / own], axis=1
        )
        self.add("posts", block_rows(values), np.repeat(np.arange(n), 3))
        # A post at a station goes with the span inboard of it, save at the root.
        self.out.span["posts"] = np.maximum(posts.station[at] - 1, 0)
        thickness, width, length = posts.thickness[at], posts.width[at], posts.length[at]
        area = width * thickness
        least = np.minimum(width, thickness)
        column = cap_column.column_force(
            crushing * area, np.pi**2 * modulus * area * least**2 / 12 / length**2
        )
        twice = np.where(model.half & (np.abs(y) < 1e-9), 2.0, 1.0)
        bays = _bay_lengths(self.fake)
        caps = model.caps
        own = (caps.layer_modulus * caps.layer_heights**3).sum(axis=1) * caps.width / 12
        rigid = np.full((len(model.wing.spars), len(model.bay)), np.inf)
        np.minimum.at(rigid, (caps.spar, caps.span), own)
        rate = np.zeros(rigid.shape)
        webbed = np.zeros(rigid.shape, dtype=bool)
        if self.edges is not None:
            rate[model.webs.spar, model.webs.span] = self.edges.stiffness
            webbed[model.webs.spar, model.webs.span] = True
        # Of every spar and span: what a post at either end takes of the pressure there.
        with np.errstate(divide="ignore", over="ignore"):
            reach = np.where(
                rate > 0, (2 * np.maximum(rigid, 1e-30) / np.maximum(rate, 1e-300)) ** 0.25, np.inf
            )
        taken = np.minimum(reach, bays[None] / 2)
        sides = [
            (s, j, i, self.press_of[s, i], taken[s, i] * twice[k], not webbed[s, i])
            for k, (s, j) in enumerate(zip(posts.spar[at].tolist(), posts.station[at].tolist()))
            for i in (j - 1, j)
            if (s, i) in self.press_of
        ]
        columns = [np.array(c) for c in zip(*sides)]
        self.out.span["post sides"] = columns[2]
        self.out.table["post sides"] = dict(
            zip(("spar", "station", "press", "weight", "open"), (*columns[:2], *columns[3:]))
        )
        self.out.table["posts"] = {
            "spar": posts.spar[at],
            "station": posts.station[at],
            "tear": 1 / (tension * area),
            "crush": 1 / column,
            "bend": 6 / (area * thickness * rupture),
            "id": self.ids("rib post", "posts", at),
        }

    def _rows_of(self, name: str, elements: Ints) -> Callable[[Array], Rows]:
        def rows(values: Array) -> Rows:
            n, m, width = values.shape
            nodes = self.blocks[name].nodes[elements]
            columns = np.broadcast_to(
                (nodes[:, :, None] * 6 + np.arange(6)).reshape(n, 1, width), values.shape
            )
            out = sp.csr_matrix(
                (values.ravel(), columns.ravel(), np.arange(n * m + 1) * width),
                shape=(n * m, self.assembly.size),
            )
            out.sum_duplicates()
            return out

        return rows

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
        width, height = np.array([r.width for r in those]), np.array([r.height for r in those])
        area = width * height
        strength = {
            k: np.array([getattr(r.material, k) for r in those])
            for k in ("tension", "compression", "bending")
        }
        self.out.table["rails"] = {
            "pull": 1 / area / strength["tension"],
            "push": 1 / area / strength["compression"],
            "up": 6 / (area * height * strength["bending"]),
            "side": 6 / (area * width * strength["bending"]),
            "id": self.ids("rail bending", "rails", np.arange(n)),
        }
        if "rail ties" in blocks:
            self.ties(rails)

    def _station(self, nodes: Ints) -> Ints:
        y = self.model.structure.nodes[nodes, 1]
        return np.abs(self.model.y[None] - y[:, None]).argmin(axis=1)

    def ties(self, rails: dict) -> None:
        model, block = self.model, self.blocks["rail ties"]
        part = block.part
        assert part is not None
        forces = self.outputs("rail ties", "forces").mean(axis=1)  # (n, 6, 12)
        rows = self.global_rows("rail ties", forces[:, :3]).tocsr()  # N, V_y, V_z of every tie
        spar_of = {
            int(node): (s, c)
            for s, two in enumerate(model.cap_nodes)
            for c, row in enumerate(two)
            for node in row
            if node >= 0
        }
        pairs: dict[tuple[int, int], list[int]] = {}
        for k, (cap, rail_node) in enumerate(block.nodes.tolist()):
            pairs.setdefault((rail_node, spar_of[cap][0]), []).append(k)
        n = len(pairs)
        out, span, figures, ids = [], [], [], []
        for (_, s), members in pairs.items():
            rail = rails[model.parts[part[members[0]]].place]
            share = 0.5 if model.half and rail.y < 1e-9 else 1.0
            y = float(model.structure.nodes[block.nodes[members[0], 0], 1])
            sign = [1.0 if spar_of[int(block.nodes[k, 0])][1] == 0 else -1.0 for k in members]
            up = sum(g * rows[3 * k] for g, k in zip(sign, members))
            aside = [rows[3 * k + c] for k in (members * 2)[:2] for c in (1, 2)]
            out += [up / share, *(v / share for v in aside)]
            span.append(max(int(self._station(block.nodes[[members[0]], 0])[0]) - 1, 0))
            figures.append((_rail_glue(self.fake, rail, s), _spar_glue(self.fake, rail, s, y), len(members)))
            ids.append(
                [self.ids(mode, "rail ties", np.array(members[:1]))[0] for mode in (RAIL_GLUE, SPAR_GLUE)]
            )
        self.add("ties", sp.vstack(out).tocsr(), np.repeat(np.arange(n), 5))
        self.out.span["ties"] = np.array(span, dtype=np.intp)
        strength = np.array(figures)
        self.out.table["ties"] = {
            "rail": strength[:, 0],
            "spar": strength[:, 1],
            "count": strength[:, 2],
            "id_rail": np.array(ids, dtype=np.intp)[:, 0],
            "id_spar": np.array(ids, dtype=np.intp)[:, 1],
        }

    # ---- ribs and sheeting ----------------------------------------------------------------------------

    def plates(self) -> None:
        model, blocks = self.model, self.blocks
        rows, span, strengths, ids = [], [], [], []
        if "ribs" in blocks:
            part = blocks["ribs"].part
            assert part is not None
            woods = {round(rib.y, 9): rib.material for rib in model.wing.ribs}
            at = np.array([model.parts[p].station for p in part], dtype=float)
            found = norris.strengths_of([woods[round(abs(y), 9)] for y in at.tolist()])
            rows.append(self.global_rows("ribs", self.outputs("ribs", "stress")))
            span.append(np.maximum(self._station(blocks["ribs"].nodes[:, 0]) - 1, 0))
            strengths.append(np.stack([np.asarray(s) for s in found], axis=1))
            ids.append(self.ids("rib shear", "ribs", np.arange(len(at))))
        if "sheeting" in blocks:
            stress, slope = (self.outputs("sheeting", what) for what in ("stress", "slope"))
            group, weight = self._strips()
            n, m = len(group), int(group.max()) + 1
            mean = sp.csr_matrix((weight, (group, np.arange(n))), shape=(m, n))
            for edge in (stress - slope, stress + slope):
                every = self.global_rows("sheeting", edge)
                three = [mean @ every[k::3] for k in range(3)]
                rows.append(sp.vstack(three).tocsr()[np.arange(3 * m).reshape(3, m).T.ravel()])
            member = np.zeros(m, dtype=np.intp)
            member[group] = np.arange(n)
            member = np.tile(member, 2)
            sheets = sheet_stress(self.fake)
            assert sheets is not None
            found = norris.strengths_of([sheets.materials[k] for k in member])
            span.append(model.sheets.span[member])
            strengths.append(np.stack([np.asarray(s) for s in found], axis=1))
            ids.append(self.ids("sheeting strength", "sheeting", member))
        if not rows:
            return
        total = np.concatenate(span)
        self.add("plates", sp.vstack(rows).tocsr(), np.repeat(np.arange(len(total)), 3))
        self.out.span["plates"] = total
        self.out.table["plates"] = {"strength": np.concatenate(strengths), "id": np.concatenate(ids)}

    def _strips(self) -> tuple[Ints, Array]:
        """Strip of the net within a bay that each element of the sheeting belongs to, and its share of the
        mean: read off `sheet_stress` itself, an element at a time being stressed."""
        model = self.model
        n = len(model.sheets.span)
        corners = model.structure.true_corners(model.structure.blocks["sheeting"])
        size = corners[:, 3, 1] - corners[:, 0, 1]
        # The mean of distinct marks tells the strips apart.
        marks = np.random.default_rng(41579).uniform(1.0, 2.0, n)
        recovered = dict(self.fake.recovered)
        recovered["sheeting"] = {"stress": np.repeat(marks[:, None], 3, axis=1), "slope": np.zeros((n, 3))}
        found = sheet_stress(replace(self.fake, recovered=recovered))
        assert found is not None
        _, group = np.unique(np.round(found.stress[:, 0, 0], 12), return_inverse=True)
        return group.astype(np.intp), size / np.bincount(group, size)[group]


def pieces(model: Model) -> list[Piece]:
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
                out.append(Piece(kind, tuple(i for i, _ in run), tuple(k for _, k in run)))
                run = []
            run.append(row)
        out.append(Piece(kind, tuple(i for i, _ in run), tuple(k for _, k in run)))
    return out


def end_rows(model: Model) -> tuple[tuple[str, ...], Array]:
    """Deflection of every spar's end and twist of the wing, per movement of the caps.

    Returns
    -------
    names : tuple of str
        "deflection" of each spar that reaches farthest, and "twist" last.
    rows : (n, 6 n_nodes) float array
        Against the centre, as `models.analysis.spar_motion` and `wing_twist` give them; m and rad.
    """
    nodes, wing = model.structure.nodes, model.wing
    size = 6 * len(nodes)
    free = np.zeros((6, size))
    centre = int(np.argmin(np.abs(model.y)))
    symmetric = wing.root == "symmetry"
    rigid = rigid_motions(nodes).reshape(-1, 6, 6)
    if symmetric:
        caps = model.cap_nodes[:, :, centre].ravel()
        columns = (caps[:, None] * 6 + np.arange(3)).ravel()
        free[:, columns] = np.linalg.pinv(rigid[caps][:, :3].reshape(-1, 6))

    def seen(node: int, axis: int) -> Array:
        row = -rigid[node, axis] @ free
        row[node * 6 + axis] += 1.0
        return row

    def deflection(s: int, j: int) -> Array:
        def up(at: int) -> Array:
            return (seen(int(model.cap_nodes[s, 0, at]), 2) + seen(int(model.cap_nodes[s, 1, at]), 2)) / 2

        return up(j) - up(centre) if symmetric else up(j)

    far = max(spar.y_end for spar in wing.spars)
    rows = []
    for s, spar in enumerate(wing.spars):
        if spar.y_end > far - 1e-6:
            rows.append(deflection(s, int(np.flatnonzero(model.cap_nodes[s, 0] >= 0)[-1])))
    middle = [float(np.nanmean(spar.x.at(np.array([0.0, wing.semispan])))) for spar in wing.spars]
    front, rear = int(np.argmin(middle)), int(np.argmax(middle))
    if front == rear:
        there = np.flatnonzero(model.cap_nodes[front, 0] >= 0)

        def turn(j: int) -> Array:
            upper, lower = (int(v) for v in model.cap_nodes[front, :, j])
            return (seen(upper, 0) - seen(lower, 0)) / model.depth[front, j]

        twist = turn(int(there[-1])) - (turn(centre) if symmetric else 0.0)
    else:
        both = (model.cap_nodes[front, 0] >= 0) & (model.cap_nodes[rear, 0] >= 0)
        j = int(np.flatnonzero(both)[-1])
        apart = float(wing.spars[rear].x.at(abs(model.y[j])) - wing.spars[front].x.at(abs(model.y[j])))
        twist = (deflection(front, j) - deflection(rear, j)) / apart
    return (*["deflection"] * len(rows), "twist"), np.stack([*rows, twist])
