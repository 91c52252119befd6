"""Segments condensed straight from a built wing, all elements of a bay at once: what those that are put
together from portions are held against."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
import scipy.sparse as sp

from fea.arrays import Array, Ints
from fea.assembly import Assembly, rigid_motions
from fea.chain import Link, eliminated
from models.structure import build
from models.studies.lightest.segments import FAMILIES, LINKS, CutWing
from models.studies.lightest.tables import Table, Tables, tables
from models.studies.tip import end_rows


@dataclass(frozen=True, eq=False)
class CutOut:
    """As `models.studies.lightest.segments.Segment`, with what its inside needs and where its nodes stand."""

    link: Link
    rows: Array
    given: Array
    first: dict[str, int]
    table: dict[str, Table]
    inertia: Array
    resultant: Array
    web_mass: float
    own: Array
    follow: Array
    nodes: Ints
    points: Array

    def solved(self, ends: Array, amounts: Array) -> tuple[Array, Array]:
        """Values of all rows and movements inside, from those of both interfaces and the columns' amounts."""
        return self.rows @ ends + self.given @ amounts, self.own @ amounts - self.follow @ ends


def _cut_out(of: CutWing, codes: Ints) -> list[CutOut]:
    model = build(of.places.laid(codes), per_bay=of.per_bay)
    assembly = Assembly(model.structure)
    made = tables(model, assembly, of.register.number)
    motions, columns = rigid_motions(model.structure.nodes), of.loads.columns(model)
    ends, unit = end_rows(model)[1], assembly.unit_stiffness()
    web_parts = np.array([p.kind in ("web", "web strip") for p in model.parts])
    span_segment = np.searchsorted(of._cut.planes, (model.y[1:] + model.y[:-1]) / 2) - 1
    out = []
    for m in range(of.n_segments):
        inside, inner, outer = of._cut.inside[m], of._cut.inner[m], of._cut.outer[m]
        freedoms = np.concatenate([inside, inner, outer])
        n, p = len(freedoms), len(inside)
        local = np.full(assembly.size, n, dtype=np.intp)
        local[freedoms] = np.arange(n)
        stiffness, inertial, web_mass = np.zeros((n + 1, n + 1)), np.zeros((assembly.size, 6)), 0.0
        for name, block in model.structure.blocks.items():
            at = np.flatnonzero(of._element_segments(model, block.nodes) == m)
            if not len(at):
                continue
            d = (block.nodes[at][:, :, None] * 6 + np.arange(6)).reshape(len(at), -1)
            square = (len(at), d.shape[1], d.shape[1])
            values = unit[name][at].reshape(square) * block.scale[at, None, None]
            np.add.at(stiffness, (local[d][:, :, None], local[d][:, None, :]), values)
            mass = assembly.on_nodes(name, block.mass(assembly.corners(name)))[at].reshape(square)
            moved = mass @ motions[d]
            np.add.at(inertial, d, moved)
            if block.part is not None:
                web = web_parts[block.part[at]]
                web_mass += float(np.einsum("ei,ei->", motions[d[web]][:, :, 0], moved[web][:, :, 0]))
        nodes = of._owned_nodes(model, m)
        mine = np.zeros(assembly.size, dtype=bool)
        mine[(nodes[:, None] * 6 + np.arange(6)).ravel()] = True
        loads = columns * mine[:, None]
        scale = of._scale[freedoms]
        rows, first, table = _own_rows(made, span_segment == m)
        values = np.concatenate([rows[:, freedoms].toarray(), np.where(mine, ends, 0.0)[:, freedoms]]) * scale
        right = np.concatenate([loads, -inertial @ of.allowed], axis=1)[freedoms] * scale[:, None]
        done = eliminated(stiffness[:n, :n] * scale[:, None] * scale, right, p)
        out.append(
            CutOut(
                Link(len(inner), done.stiffness, done.load),
                values[:, p:] - values[:, :p] @ done.follow,
                values[:, :p] @ done.own,
                {**first, "ends": rows.shape[0]},
                table,
                motions.T @ inertial,
                motions.T @ loads,
                web_mass,
                done.own,
                done.follow,
                nodes,
                model.structure.nodes[nodes],
            )
        )
    return out


def _own_rows(made: Tables, spans: Array) -> tuple[Any, dict[str, int], dict[str, Table]]:
    """Rows of a segment that has these spans, where each family begins, and its tables counted afresh."""
    numbers = {}
    for family, span in made.span.items():
        here = spans[span]
        numbers[family] = np.where(here, np.cumsum(here) - 1, -1)
    rows, first = [], {}
    for family in FAMILIES[:-1]:
        first[family] = sum(one.shape[0] for one in rows)
        if family in made.rows:
            rows.append(made.rows[family][numbers[family][made.owner[family]] >= 0])
    table: dict[str, Table] = {}
    for family, figures in made.table.items():
        table[family] = {}
        for name, value in figures.items():
            kept = np.asarray(value)[numbers[family] >= 0]
            link = LINKS.get((family, name))
            table[family][name] = kept if link is None else numbers[link][kept]
    return sp.vstack(rows).tocsr(), first, table


@pytest.fixture(scope="session")
def cut_out() -> Callable[[CutWing, Ints], list[CutOut]]:
    """Gives all segments of a layout (n_cells,) of a cut wing, from the root outward."""
    return _cut_out
