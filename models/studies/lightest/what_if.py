"""What if this web were not there? One change of layout answered at once and exactly, the wing kept in
memory.

The wing is a chain of condensed segments (`segments`); a change exchanges the segments that it touches, and
one pass along the chain solves the wing anew. What any layout needs is built when the session begins
(`portions`), and the segments of every single change are put together; those of other layouts are when they
are first asked for, in milliseconds, and kept. A wing whose mesh does not fall into bays is built, solved and
checked for every change, which takes longer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from fea.arrays import Array, Ints
from fea.chain import End, followed, moved, outward
from models.analysis import from_centre, tip_deflection, wing_twist
from models.strength.margin import UNLOADED, Margin, Margins, sentence
from models.structure.model import Part
from models.studies.compare import web_mass
from models.studies.lightest.judge import END, JudgedStack, Stack
from models.studies.lightest.places import Faces, places
from models.studies.lightest.plain import full
from models.studies.lightest.portions import Portions
from models.studies.lightest.segments import Untabulated
from models.studies.lightest.sweep import ends_of
from models.wing.parts import Wing

_NEAR = 1.1
"""Modes this near to the first failure are looked at for its wording."""


@dataclass(frozen=True)
class Reserve:
    """Reserve factor of one part in one mode, at the load factor asked about."""

    mode: str
    part: Part
    reserve_factor: float


@dataclass(frozen=True, eq=False)
class NodeMovement:
    """Movements seen from the centre section, (n_nodes, 6), m and rad, and the nodes' places, (n_nodes, 3),
    m; nodes are numbered as `models.structure.build` numbers those of the same layout."""

    moves: Array
    points: Array


@dataclass(frozen=True, eq=False)
class WhatIfAnswer:
    """A layout's answer.

    Parameters
    ----------
    faces : dict of (str, int) to tuple of str
        Faces that carry webs, by spar and bay, of all cells.
    load_factor : float
        Asked about.
    load_factor_at_first_failure : float
        n (or multiples of a specimen's load).
    reserves : tuple of Reserve
        Of every part and mode that is ranked, the least first.
    sentence : str
        Which part fails first, at what load and how.
    web_mass : float
        Webs with their strips, both sides of a flying wing, kg.
    tip_deflection, tip_twist : float
        At the load factor asked about, m and rad (nose up).
    movement : NodeMovement or None
        For a picture, if asked for; at the load factor asked about.
    """

    faces: dict[tuple[str, int], Faces]
    load_factor: float
    load_factor_at_first_failure: float
    reserves: tuple[Reserve, ...]
    sentence: str
    web_mass: float
    tip_deflection: float
    tip_twist: float
    movement: NodeMovement | None

    @property
    def survives(self) -> bool:
        """The load factor asked about breaks nothing."""
        return self.load_factor_at_first_failure >= self.load_factor


@dataclass(frozen=True, eq=False)
class SolvedChain:
    """A layout solved along its chain of segments.

    Parameters
    ----------
    parts : list of Composed
        Its segments, from the root outward.
    moves, inside : list of (n,) float array
        Movements of the interfaces and inside the segments, scaled.
    points : (n_nodes, 3) float array
        Where the nodes stand, m.
    inertia : (6, 6) float array
        Of what is modelled, about the origin: kg, kg m, kg m2.
    ends : (n_ends,) float array
        Deflections of the spars' ends that reach farthest, m, and twist of the wing, rad.
    number, share : (n,) int and float array
        Modes of parts as the register numbers them, and the most that each uses of its strength.
    """

    parts: list
    moves: list[Array]
    inside: list[Array]
    points: Array
    inertia: Array
    ends: Array
    number: Ints
    share: Array


class WhatIf:
    """A wing in memory, ready for changes of its webs.

    Parameters
    ----------
    wing : Wing
        The drawing.
    per_bay : int
        Elements along a bay.
    ahead : bool
        Get ready for every change when the session begins (some seconds): single ones wholly, others so that
        they need no build. Else each is built when it is first asked for.
    progress : callable or None
        Told before every step of getting ready.

    Raises
    ------
    models.studies.lightest.places.Asymmetric
        Its two sides differ in more than webs.
    """

    segments: Portions

    def __init__(
        self,
        wing: Wing,
        *,
        per_bay: int = 4,
        ahead: bool = True,
        progress: Callable[[str], None] | None = None,
    ) -> None:
        self.places = places(wing)
        self.per_bay = per_bay
        try:
            segments = Portions(self.places, per_bay=per_bay)
        except Untabulated:
            self.tabulated = False
            return
        self.tabulated = True
        self.segments = segments
        own = self.places.own
        segments.prepare(own[None], progress)
        if ahead:
            segments.build_all(progress)
            segments.prepare(np.concatenate([own[None], self.places.single_changes(own)]), progress)

    def answer(
        self,
        changes: Mapping[tuple[str, int], Faces],
        load_factor: float | None = None,
        *,
        movement: bool = False,
    ) -> WhatIfAnswer:
        """The wing with other webs. Faces by (spar, bay) are in place of the file's, on both sides of a
        flying wing. A load factor of None is the file's; a specimen counts in multiples of its load. With
        `movement` movements of all nodes besides.

        Raises
        ------
        KeyError
            No such cell, or no such faces there.
        models.loads.pull_up.LightAeroplane
            The layout's wing is heavier than the aeroplane.
        """
        codes = self.places.codes(dict(changes))
        if not self.tabulated:
            return self._full(codes, load_factor, movement=movement)
        return self._answer(codes, load_factor, movement=movement)

    def _full(self, codes: Ints, load_factor: float | None, *, movement: bool) -> WhatIfAnswer:
        """By building, solving and checking the layout."""
        analysis, margins = full(self.places, codes, self.per_bay)
        case = analysis.load_factor
        asked = case if load_factor is None else load_factor
        moves = from_centre(analysis.model, analysis.solution.displacements[:, :, analysis.case])
        rows = margins.rows
        return WhatIfAnswer(
            self.places.faces(codes),
            asked,
            margins.load_factor_at_first_failure(),
            tuple(Reserve(r.mode, r.part, r.reserve_factor * case / asked) for r in rows),
            sentence(margins),
            web_mass(analysis.model),
            tip_deflection(analysis) * asked / case,
            float(wing_twist(analysis)[1][-1]) * asked / case,
            NodeMovement(moves * (asked / case), analysis.model.structure.nodes) if movement else None,
        )

    def solved(self, codes: Ints) -> SolvedChain:
        """Solve a layout (n_cells,) along the chain, and judge it, at the case's load.

        Raises
        ------
        models.loads.pull_up.LightAeroplane
            Its wing is heavier than the aeroplane.
        numpy.linalg.LinAlgError
            A part of it is held by nothing.
        """
        own = self.segments
        parts = own.segments(codes)
        inertia = np.asarray(sum(p.inertia for p in parts))
        resultant = sum(p.resultant for p in parts)
        amounts = own.loads.amounts(inertia[None], np.asarray(resultant)[None], own.allowed)[0]
        points = own.points(parts)
        moves, inside = self._along(parts, amounts, points)
        values = [
            p.rows @ np.concatenate([within, moves[m], moves[m + 1]])
            for m, (p, within) in enumerate(zip(parts, inside))
        ]
        ends = np.asarray(sum(v[p.first["ends"] :] for p, v in zip(parts, values)))
        stack = Stack(parts)
        judged = stack.judge(np.concatenate(values)[:, None])
        number, share = self._shares(stack, judged)
        return SolvedChain(parts, moves, inside, points, inertia, ends, number, share)

    def _along(self, parts: list, amounts: Array, points: Array) -> tuple[list[Array], list[Array]]:
        """Movements of the interfaces, the root's and the tip's empty, and inside; what the layout
        before had alike from the root on is not eliminated again.

        What the elimination has rounded off is found by the forces that it leaves over, and made good. These,
        and what moves inside, are taken from how each segment is deformed beside its movement as one body.
        """
        before = getattr(self, "_before", [])
        same = next((m for m, (p, (q, _)) in enumerate(zip(parts, before)) if p is not q), len(before))
        ends: list[End] = [end for _, end in before[:same]]
        for part in parts[same:]:
            ends.append(outward(ends[-1] if ends else None, part.link))
        self._before: list[tuple[Any, End]] = list(zip(parts, ends))
        moves = followed(ends[::-1], np.zeros(0), amounts)[::-1]
        pairs = [np.concatenate(two) for two in pairwise(moves)]
        bodies = self.segments.bodies.carried(pairs, points)
        left = [np.zeros(len(one)) for one in moves]
        for m, (part, pair, body) in enumerate(zip(parts, pairs, bodies)):
            link = part.link
            forces = link.load @ amounts - link.stiffness @ (pair - body[len(body) - len(pair) :])
            left[m] += forces[: link.n_inner]
            left[m + 1] += forces[link.n_inner :]
        moves = [one + more for one, more in zip(moves, moved(ends, left))]
        inside = []
        for part, two, body in zip(parts, pairwise(moves), bodies):
            p = len(part.root)
            inside.append(body[:p] + part.inside(np.concatenate(two) - body[p:], amounts))
        return moves, inside

    def _answer(self, codes: Ints, load_factor: float | None, *, movement: bool) -> WhatIfAnswer:
        own, found = self.segments, self.solved(codes)
        number, share = found.number, found.share
        case = own.loads.load_factor
        asked = case if load_factor is None else load_factor
        tips, twist = found.ends[:-1], float(found.ends[-1])
        names = own.register.names()
        order = np.argsort(-share, kind="stable")
        order = order[share[order] > 1 / UNLOADED]
        reserves = tuple(
            Reserve(names[k][0], names[k][1], case / (asked * s))
            for k, s in zip(number[order].tolist(), share[order].tolist())
        )
        field = None
        if movement:
            every = own.whole_moves(found.moves, found.inside)
            field = NodeMovement(from_centre(own.model, every, found.points) * (asked / case), found.points)
        return WhatIfAnswer(
            self.places.faces(codes),
            asked,
            float(case / share.max()) if len(order) else float("inf"),
            reserves,
            self._sentence(reserves, asked),
            (2.0 if own.half else 1.0) * sum(p.web_mass for p in found.parts),
            float(tips[np.abs(tips).argmax()]) * asked / case,
            twist * asked / case,
            field,
        )

    def _shares(self, stack: Stack, judged: JudgedStack) -> tuple[Ints, Array]:
        """Numbers of all modes of parts, and the most that each uses of its strength."""
        numbers, shares = [], []
        for used in judged.used():
            numbers.append(used.number)
            shares.append(used.share[:, 0])
        combined = judged.combined(None)
        if combined is not None:
            numbers.append(combined.number)
            shares.append(combined.share[:, 0])
        model = self.segments.model
        for run in stack.runs:
            element = dict(zip(run.spans, run.elements))
            for end in ends_of(model.y, run.spans, model.wing.semispan):
                at = element[end.span]
                numbers.append(stack.table["webs"][END][[at]])
                shares.append(judged.end_share(at, element[end.middle], end.length, inboard=end.inboard))
        number, share = np.concatenate(numbers), np.concatenate(shares)
        most = np.zeros(len(self.segments.register.known))
        np.maximum.at(most, number, share)
        found = np.flatnonzero(most > 0)
        return found, most[found]

    def _sentence(self, reserves: tuple[Reserve, ...], load_factor: float) -> str:
        rows: list[Margin] = []
        for one in reserves:
            if rows and one.reserve_factor > _NEAR * rows[0].reserve_factor:
                break
            part = one.part
            rows.append(
                Margin(
                    one.mode, part, part.spar, part.bay, part.side, one.reserve_factor,
                    float("nan"), float("nan"), "", float("nan"), "",
                )
            )  # fmt: skip
        specimen = self.places.wing.clamped
        return sentence(Margins(tuple(rows), load_factor, {}, specimen))
