"""Every ranked failure mode on many layouts at once, from the rows of their segments.

Side by side stand the segments that the layouts share; each layout is a column. What a mode uses of the
strength (1 over the reserve factor) is worked out for all things and columns together, with the formulas of
`models.strength`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from models.strength import glue_ends, modes, post, web_combined
from models.studies.lightest.segments import ROWS, Segment, joined_columns
from models.studies.lightest.tables import Table, WebRun, things

T = TypeVar("T")

POST = f"id_{post.MODE.name}"
END = f"id_{glue_ends.MODE.name}"
"""Columns that number posts, and the glue at the ends of webs."""


@dataclass(frozen=True, eq=False)
class Used:
    """What a mode uses of the strength: numbers of mode and part (n,), and shares (n, n_layouts)."""

    number: Ints
    share: Array


class Stack:
    """Segments that follow each other, judged together. From the root outward, or from a rib on, to the mesh
    station `cut` of the rib at which they end though the wing goes on, whose posts are not judged; -1 where
    it does not."""

    def __init__(self, segments: list[Segment], cut: int = -1) -> None:
        self.cut = cut
        self.n_rows = np.array([len(s.rows) for s in segments])
        self.offset = np.concatenate([[0], np.cumsum(self.n_rows)])
        self.table: dict[str, Table] = {}
        self.at: dict[str, Ints] = {}
        families = sorted({name for s in segments for name in s.table if things(s.table[name])})
        counts = {f: np.array([things(s.table.get(f)) for s in segments]) for f in families}
        starts = {f: np.concatenate([[0], np.cumsum(c)]) for f, c in counts.items()}
        before = [{f: int(c[k]) for f, c in starts.items()} for k in range(len(segments))]
        for f in families:
            have = [k for k, s in enumerate(segments) if counts[f][k]]
            names = segments[have[0]].table[f] if have else {}
            starts_here = [before[k] for k in have]
            self.table[f] = {
                name: joined_columns(f, name, [segments[k].table[f][name] for k in have], starts_here)
                for name in names
            }
            if f in ROWS:
                self.at[f] = np.concatenate(
                    [self.offset[k] + segments[k].first[f] + np.arange(counts[f][k] * ROWS[f]) for k in have]
                    or [np.zeros(0, dtype=np.intp)]
                ).reshape(-1, ROWS[f])
        web_start = starts.get("webs", np.zeros(len(segments) + 1, dtype=np.intp))
        self.runs = joined_runs(segments, web_start)
        self._post_sides()
        self.kept = self._kept()

    def _post_sides(self) -> None:
        """Which post each side's pressure falls on; sides whose post stands in another stack are kept."""
        posts, sides = self.table.get("posts", {}), self.table.get("post sides", {})
        self.post_of = np.zeros(0, dtype=np.intp)
        if not sides:
            self.next_to_open = np.zeros(len(posts.get(POST, ())), dtype=bool)
            return
        known = (
            dict(zip(zip(posts["spar"].tolist(), posts["station"].tolist()), range(len(posts[POST]))))
            if posts
            else {}
        )
        keys = zip(sides["spar"].tolist(), sides["station"].tolist())
        self.post_of = np.array([known.get(key, -1) for key in keys], dtype=np.intp)
        self.next_to_open = np.zeros(len(known), dtype=bool)
        here = self.post_of >= 0
        np.logical_or.at(self.next_to_open, self.post_of[here], sides["open"][here].astype(bool))

    def _kept(self) -> dict[str, NDArray[np.bool_]]:
        """Which things of a family are judged, where some are not."""
        kept = {}
        if self.table.get("caps"):
            kept["caps"] = self.table["caps"]["judged"].astype(bool)
        if self.table.get("posts"):
            kept["posts"] = self.table["posts"]["station"] != self.cut
        return kept

    def judge(self, values: Array) -> JudgedStack:
        """Work out forces and strains of all things. Of all segments' rows (n_rows, n_layouts), one below the
        other."""
        return JudgedStack(self, values)


def joined_runs(segments: list[Segment], web_start: Ints | None = None) -> list[WebRun]:
    """Pieces of webs that go on over the ends of segments, put together. Segments follow each other;
    `web_start` (n_segments,) is the number of each one's first web element, None where elements do not
    matter."""
    web_start = np.zeros(len(segments), dtype=np.intp) if web_start is None else web_start
    open_runs: dict[tuple[tuple, int], WebRun] = {}
    done: list[WebRun] = []
    for k, segment in enumerate(segments):
        here: dict[tuple[tuple, int], WebRun] = {}
        for piece in sorted(segment.pieces, key=lambda p: p.spans[0]):
            elements = tuple(int(web_start[k]) + e for e in piece.elements)
            before = open_runs.pop((piece.kind, piece.spans[0]), None) or here.pop(
                (piece.kind, piece.spans[0]), None
            )
            run = (
                WebRun(piece.kind, before.spans + piece.spans, before.elements + elements)
                if before
                else WebRun(piece.kind, piece.spans, elements)
            )
            here[piece.kind, piece.spans[-1] + 1] = run
        done += open_runs.values()
        open_runs = here
    return done + list(open_runs.values())


def _larger(a: Array, b: Array) -> Array:
    return np.where(np.abs(a) >= np.abs(b), a, b)


class JudgedStack:
    """Forces, strains and shares of strength of a stack's things in many layouts (columns)."""

    def __init__(self, stack: Stack, values: Array) -> None:
        self.stack, self.values, self.table = stack, values, stack.table
        self._known: dict[Callable[..., Any], Any] = {}
        self.n = values.shape[1]
        at = stack.at
        six = values[at["caps"]]  # (n, 6, layouts)
        joined = stack.table["caps"]["joined"].astype(bool)
        self.force = six[:, 0:2]
        self.up, self.aft = (self._moments(six[:, k : k + 2], joined) for k in (2, 4))
        self.push = np.maximum(-values[at["cap bays"][:, 0]], 0.0)
        two = values[at["press"]] if "press" in at else np.zeros((0, 2, self.n))
        self.press = np.maximum(two[:, 0] * two[:, 1], 0.0)
        if "webs" in at:
            four = values[at["webs"]]
            self.shear, self.upright = _larger(four[:, 0], four[:, 1]), _larger(four[:, 2], four[:, 3])
            self._edges()
            self._panels()

    @staticmethod
    def _moments(pair: Array, joined: NDArray[np.bool_]) -> Array:
        """At both points: each its own in open bays, in webbed ones the greater of two means."""
        out = pair.copy()
        which = np.flatnonzero(joined)
        out[which] = _larger(pair[which, 0], pair[which, 1])[:, None]
        return out

    def _edges(self) -> None:
        """Strains of webs at the caps' axes, inner and outer edges, (n_webs, 2 caps, layouts)."""
        caps, webs = self.stack.table["caps"], self.stack.table["webs"]
        rows = webs["cap"]
        stretch = self.force / caps["axial"][:, None, None]
        up = self.up / caps["upright"][:, None, None]
        aft = self.aft / caps["sideways"][:, None, None]
        points = []
        for p in (0, 1):
            face = stretch[rows, p] + aft[rows, p] * webs["x"][..., None]
            tilt = up[rows, p]
            points.append(
                (stretch[rows, p], face + tilt * webs["in"][..., None], face + tilt * webs["out"][..., None])
            )
        self.axis, self.inner, self.outer = (_larger(a, b) for a, b in zip(*points))
        self.crushing = self.press[webs["press"]] * webs["share"][:, None]

    def _panels(self) -> None:
        """Shear and pressures of panels of webs."""
        stack = self.stack
        webs, sub = stack.table["webs"], stack.table["panel shear"]["panel"]
        n = len(stack.at["panels"])
        part = self.values[stack.at["panel shear"][:, 0]]
        if len(sub) == n:
            shear = np.empty_like(part)
            shear[sub] = part
            self.panel_positive, self.panel_shear = shear > 0, np.abs(shear)
        else:  # shear that turns round within a panel counts with its size all along
            size = np.zeros((n, self.n))
            np.add.at(size, sub, np.abs(part))
            shear = np.zeros((n, self.n))
            np.add.at(shear, sub, part)
            single = np.bincount(sub, minlength=n) == 1
            self.panel_positive, self.panel_shear = np.where(single[:, None], shear > 0, size > 0), size
        self.panel_pressed = np.maximum(-self.values[stack.at["panels"][:, 0]], 0.0)
        self.panel_crushing = np.zeros((n, self.n))
        np.add.at(self.panel_crushing, webs["panel"], self.crushing * webs["panel_share"][:, None])

    # ---- modes ----------------------------------------------------------------------------------------

    def rows(self, family: str) -> Array:
        """Rows of all things of a family, (n, n_rows, layouts)."""
        return np.asarray(self.values[self.stack.at[family]])

    def the(self, work: Callable[[Any], T]) -> T:
        """What a function makes of this, worked out once."""
        if work not in self._known:
            self._known[work] = work(self)
        found: T = self._known[work]
        return found

    def used(self) -> Iterator[Used]:
        """All modes but the web's combined stress and glue at web ends."""
        for mode in modes.MODES:
            many = mode.many
            number = None if many is None else self.table.get(many.family, {}).get(f"id_{mode.name}")
            if many is None or number is None or not len(number):
                continue
            share, kept = self.the(many.used), self.stack.kept.get(many.family)
            yield Used(number, share) if kept is None else Used(number[kept], share[kept])

    def combined(self, least: Array | None) -> Used | None:
        """The web's combined stress; of those that cannot use more than `least` (n_layouts,) nothing."""
        number = self.table.get("webs", {}).get(f"id_{web_combined.MODE.name}", ())
        return Used(number, web_combined.many(self, least)) if len(number) else None

    # ---- posts ----------------------------------------------------------------------------------------

    def posts(self, *, at_cut: bool = False) -> tuple[Array, Array, Array]:
        """Axial force, moment in the spar's plane and pressing of every post by curvature, (n, layouts); the
        moment 0 but next to open bays, unless that is not known yet at the cut."""
        rows = self.values[self.stack.at["posts"]]
        pressed = np.zeros((len(rows), self.n))
        sides = self.stack.table.get("post sides", {})
        here = np.flatnonzero(self.stack.post_of >= 0)
        if len(here):
            force = self.press[sides["press"][here]] * sides["weight"][here, None]
            np.add.at(pressed, self.stack.post_of[here], force)
        moment = np.maximum(np.abs(rows[:, 1]), np.abs(rows[:, 2]))
        beside = at_cut | self.stack.next_to_open[:, None]
        return rows[:, 0], np.where(beside, moment, 0.0), pressed

    # ---- glue at web ends -----------------------------------------------------------------------------

    def end_flow(self, element: int) -> Array:
        """Shear flow of a web element, (layouts,), N/m."""
        return np.asarray(np.abs(self.shear[element]) * self.stack.table["webs"]["thickness"][element])

    def end_force(self, element: int) -> Array:
        """Force along the span in each half of a web at an element, (2, layouts), N; as
        `models.strength.glue_ends.end_force`."""
        table = self.stack.table["webs"]
        lap, clear = table["lap"][element][:, None], table["clear"][element]
        stiff = table["young"][element], table["thickness"][element]
        return np.abs(glue_ends.end_force(*stiff, self.axis[element], self.inner[element], lap, clear))

    def end_share(self, element: int, middle: int, length: float, *, inboard: bool) -> Array:
        """What a web's end uses of its glue, (layouts,).

        Parameters
        ----------
        element, middle : int
            At the end, and half way along.
        length : float
            From one to the other, m.
        inboard : bool
            It is the end nearer the root.
        """
        total = glue_ends.together(self.end_force(middle) / length, self.end_flow(element), inboard)
        return np.asarray((total / self.stack.table["webs"]["glue"][element][:, None]).max(axis=0))
