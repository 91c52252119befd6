"""Every ranked failure mode on many layouts at once, from the rows of their segments.

Side by side stand the segments that the layouts share; each layout is a column. What a mode uses of the
strength (1 over the reserve factor) is worked out for all things and columns together, with the formulas of
`models.strength`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.strength import cap_compression, cap_tension, norris
from models.strength.cap_stress import mostly_bent
from models.strength.web_combined import load_at_failure
from models.studies.lightest.segments import Segment, joined_columns
from models.studies.lightest.tables import Table
from models.woods.off_axis import Strengths, to_grain

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

_ROWS = {
    "caps": 6,
    "cap bays": 1,
    "press": 2,
    "webs": 4,
    "panel shear": 1,
    "panels": 1,
    "posts": 3,
    "rails": 6,
    "ties": 5,
    "plates": 3,
}
_STRENGTHS = ("tension", "compression", "rupture", "fullness")


@dataclass(frozen=True, eq=False)
class Used:
    """What a mode uses of the strength: numbers of mode and part (n,), and shares (n, n_layouts)."""

    number: Ints
    share: Array


@dataclass(frozen=True, eq=False)
class Run:
    """Webs of one kind that follow each other over segments: spans, and elements in the stack."""

    kind: tuple
    spans: tuple[int, ...]
    elements: tuple[int, ...]


class Stack:
    """Segments that follow each other, judged together.

    Parameters
    ----------
    segments : list of Segment
        From the root outward, or from a rib on.
    cut : int
        Mesh station of the rib at which the stack ends though the wing goes on; -1 where it does not. Posts
        there are not judged.
    """

    def __init__(self, segments: list[Segment], cut: int = -1) -> None:
        self.cut = cut
        self.n_rows = np.array([len(s.rows) for s in segments])
        self.offset = np.concatenate([[0], np.cumsum(self.n_rows)])
        self.table: dict[str, Table] = {}
        self.at: dict[str, Ints] = {}
        families = sorted({name for s in segments for name in s.table if _count(s, name)})
        counts = {f: np.array([_count(s, f) for s in segments]) for f in families}
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
            if f in _ROWS:
                self.at[f] = np.concatenate(
                    [self.offset[k] + segments[k].first[f] + np.arange(counts[f][k] * _ROWS[f]) for k in have]
                    or [np.zeros(0, dtype=np.intp)]
                ).reshape(-1, _ROWS[f])
        web_start = starts.get("webs", np.zeros(len(segments) + 1, dtype=np.intp))
        self.runs = joined_runs(segments, web_start)
        self._post_sides()
        self._caps()

    def _post_sides(self) -> None:
        """Which post each side's pressure falls on; sides whose post stands in another stack are kept."""
        posts, sides = self.table.get("posts", {}), self.table.get("post sides", {})
        self.post_of = np.zeros(0, dtype=np.intp)
        if not sides:
            self.next_to_open = np.zeros(len(posts.get("id", ())), dtype=bool)
            return
        known = (
            dict(zip(zip(posts["spar"].tolist(), posts["station"].tolist()), range(len(posts["id"]))))
            if posts
            else {}
        )
        keys = zip(sides["spar"].tolist(), sides["station"].tolist())
        self.post_of = np.array([known.get(key, -1) for key in keys], dtype=np.intp)
        self.next_to_open = np.zeros(len(known), dtype=bool)
        here = self.post_of >= 0
        np.logical_or.at(self.next_to_open, self.post_of[here], sides["open"][here].astype(bool))

    def _caps(self) -> None:
        caps = self.table.get("caps", {})
        self.open_caps = np.flatnonzero(caps["open"] & caps["judged"]) if caps else np.zeros(0, dtype=np.intp)
        self.closed_caps = np.flatnonzero(~caps["open"] & caps["judged"]) if caps else self.open_caps

    def judge(self, values: Array) -> Judged:
        """Work out forces and strains of all things.

        Parameters
        ----------
        values : (n_rows, n_layouts) float array
            All segments' rows, one below the other.
        """
        return Judged(self, values)


def _count(segment: Segment, family: str) -> int:
    table = segment.table.get(family)
    return len(next(iter(table.values()))) if table else 0


def joined_runs(segments: list[Segment], web_start: Ints | None = None) -> list[Run]:
    """Pieces of webs that go on over the ends of segments, put together.

    Parameters
    ----------
    segments : list of Segment
        That follow each other.
    web_start : (n_segments,) int array or None
        Number of each segment's first web element; None where elements do not matter.

    Returns
    -------
    list of Run
    """
    web_start = np.zeros(len(segments), dtype=np.intp) if web_start is None else web_start
    open_runs: dict[tuple[tuple, int], Run] = {}
    done: list[Run] = []
    for k, segment in enumerate(segments):
        here: dict[tuple[tuple, int], Run] = {}
        for piece in sorted(segment.pieces, key=lambda p: p.spans[0]):
            elements = tuple(int(web_start[k]) + e for e in piece.elements)
            before = open_runs.pop((piece.kind, piece.spans[0]), None) or here.pop(
                (piece.kind, piece.spans[0]), None
            )
            run = (
                Run(piece.kind, before.spans + piece.spans, before.elements + elements)
                if before
                else Run(piece.kind, piece.spans, elements)
            )
            here[piece.kind, piece.spans[-1] + 1] = run
        done += open_runs.values()
        open_runs = here
    return done + list(open_runs.values())


def _larger(a: Array, b: Array) -> Array:
    return np.where(np.abs(a) >= np.abs(b), a, b)


class Judged:
    """Forces, strains and shares of strength of a stack's things in many layouts (columns)."""

    def __init__(self, stack: Stack, values: Array) -> None:
        self.stack, self.values = stack, values
        self.n = values.shape[1]
        at = stack.at
        six = values[at["caps"]]  # (n, 6, layouts)
        joined = stack.table["caps"]["joined"].astype(bool)
        self.force = six[:, 0:2]
        self.up, self.aft = (self._moments(six[:, k : k + 2], joined) for k in (2, 4))
        two = values[at["press"]] if "press" in at else np.zeros((0, 2, self.n))
        self.press = np.maximum(two[:, 0] * two[:, 1], 0.0)
        if "webs" in at:
            four = values[at["webs"]]
            self.shear, self.upright = _larger(four[:, 0], four[:, 1]), _larger(four[:, 2], four[:, 3])
            self._edges()

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

    # ---- modes ----------------------------------------------------------------------------------------

    def used(self) -> Iterator[Used]:
        """All modes but the web's combined stress and glue at web ends."""
        yield from self._cap_modes()
        bays, push = (
            self.stack.table["cap bays"],
            np.maximum(-self.values[self.stack.at["cap bays"][:, 0]], 0.0),
        )
        yield Used(bays["id_column"], push / bays["column"][:, None])
        yield Used(bays["id_twist"], push / bays["twist"][:, None])
        if len(self.stack.table.get("webs", {}).get("id_shear", ())):
            yield from self._web_modes()
        if len(self.stack.table.get("posts", {}).get("id", ())):
            whole = self.stack.table["posts"]["station"] != self.stack.cut
            if whole.any():
                table = self.stack.table["posts"]
                share = post_shares(table, *self.posts(), self.stack.next_to_open[:, None])
                yield Used(table["id"][whole], share[whole])
        if "rails" in self.stack.at:
            yield self._rail_mode()
        if "ties" in self.stack.at:
            yield from self._tie_modes()
        if "plates" in self.stack.at:
            table, at = self.stack.table["plates"], self.stack.at["plates"]
            yield Used(table["id"], np.sqrt(_left_side(self.values[at.T], table["strength"])))

    def _cap_modes(self) -> Iterator[Used]:
        table = self.stack.table["caps"]
        for which, is_open in ((self.stack.closed_caps, False), (self.stack.open_caps, True)):
            if not len(which):
                continue
            torn, crushed, bent = None, None, None
            for p in (0, 1):
                force, up, aft = self.force[which, p], self.up[which, p], self.aft[which, p]
                size_up, size_aft = np.abs(up), np.abs(aft)
                for layer in range(table["pull"].shape[1]):
                    c = {
                        k: table[k][which, layer, None] for k in ("pull", "tilt", "bend", "side", *_STRENGTHS)
                    }
                    mean = c["pull"] * force + c["tilt"] * up
                    bending = c["bend"] * size_up + c["side"] * size_aft
                    pulled = mean, bending, c["tension"], c["rupture"]
                    pressed = mean, bending, c["compression"], c["rupture"]
                    for wise, share in enumerate(
                        (cap_tension.used(*pulled), cap_compression.used(*pressed, c["fullness"]))
                    ):
                        if is_open:
                            mostly = mostly_bent(*((-mean, bending, *pressed[2:]) if wise else pulled))
                            bent = _most(bent, np.where(mostly, share, 0.0))
                            share = np.where(mostly, 0.0, share)
                        if wise == 0:
                            torn = _most(torn, share)
                        else:
                            crushed = _most(crushed, share)
            assert torn is not None
            assert crushed is not None
            yield Used(table["id_tension"][which], torn)
            yield Used(table["id_compression"][which], crushed)
            if bent is not None:
                yield Used(table["id_bending"][which], bent)

    def _web_modes(self) -> Iterator[Used]:
        table = self.stack.table["webs"]
        shear, size = self.shear, np.abs(self.shear)
        yield Used(
            table["id_shear"],
            size * np.where(shear >= 0, table["shear_up"][:, None], table["shear_down"][:, None]),
        )
        glue = table["thickness"] / table["glue"].min(axis=1)
        yield Used(table["id_glue"], size * glue[:, None])
        lapped = table["lapped"].astype(bool)[:, None]
        young = table["young"][:, None]
        direct = None
        for c in (0, 1):
            mean = young * np.where(lapped, self.axis[:, c], self.inner[:, c])
            extra = np.where(lapped, np.maximum(np.abs(young * self.outer[:, c]) - np.abs(mean), 0.0), 0.0)
            share = np.where(mean > 0, mean / table["pull"][:, None], -mean / table["push"][:, None])
            direct = _most(direct, share + extra / table["bend"][:, None])
        assert direct is not None
        yield Used(table["id_direct"], direct)
        splits = np.flatnonzero(table["splits"])
        if len(splits):
            yield self._splitting(splits)
        yield from self._panel_modes()

    def _splitting(self, at: Ints) -> Used:
        table = self.stack.table["webs"]
        grain = table["grain"][at, None]
        tension, press = table["strength"][at, 2, None], table["strength"][at, 3, None]
        ss, cc, cs = np.sin(grain) ** 2, np.cos(grain) ** 2, np.sin(grain) * np.cos(grain)
        crushing = cc * self.crushing[at]
        share = None
        for along in (
            table["young"][at, None] * self.inner[at, 0],
            table["young"][at, None] * self.inner[at, 1],
            np.zeros((len(at), self.n)),
        ):
            across = ss * along + cc * self.upright[at] - 2 * cs * self.shear[at]
            torn = np.maximum(across, 0.0) / tension
            crushed = _growing(np.maximum(-across, 0.0) / press, crushing / press)
            share = _most(share, np.maximum(torn, crushed))
        assert share is not None
        return Used(table["id_splitting"][at], share)

    def _panel_modes(self) -> Iterator[Used]:
        stack = self.stack
        webs, panels, sub = stack.table["webs"], stack.table["panels"], stack.table["panel shear"]["panel"]
        n = len(panels["critical"])
        part = self.values[stack.at["panel shear"][:, 0]]
        if len(sub) == n:
            shear = np.empty_like(part)
            shear[sub] = part
            flow = np.where(shear > 0, panels["flow_up"][:, None], panels["flow_down"][:, None])
            size = np.abs(shear)
        else:  # shear that turns round within a panel counts with its size all along
            size = np.zeros((n, self.n))
            np.add.at(size, sub, np.abs(part))
            shear = np.zeros((n, self.n))
            np.add.at(shear, sub, part)
            single = np.bincount(sub, minlength=n) == 1
            positive = np.where(single[:, None], shear > 0, size > 0)
            flow = np.where(positive, panels["flow_up"][:, None], panels["flow_down"][:, None])
        sheared = size / flow
        yield Used(panels["id_shear"], sheared)
        critical = panels["critical"][:, None]
        pressed = np.maximum(-self.values[stack.at["panels"][:, 0]], 0.0) / critical
        crushing = np.zeros((n, self.n))
        np.add.at(crushing, webs["panel"], self.crushing * webs["panel_share"][:, None])
        crushing /= critical
        yield Used(panels["id_column"], _growing(pressed, crushing))
        yield Used(panels["id_both"], _growing(pressed, sheared**2 + crushing))

    def combined(self, least: Array | None) -> Used | None:
        """The web's combined stress; of those that cannot use more than `least` (n_layouts,) nothing.

        Norris' left side at a factor k on the load is no more than that of the sizes of all stresses,
        crushing besides, with the least strengths and a product that adds; this bound grows with k, so that
        below 1 at 1/`least` the web lasts longer than what decides.
        """
        table = self.stack.table.get("webs", {})
        if not len(table.get("id_combined", ())):
            return None
        n = len(table["grain"])
        if least is None:
            web, column = np.divmod(np.arange(n * self.n), self.n)
        else:
            web, column = np.nonzero(self._bound(1 / np.maximum(least, 1e-300)) >= 1 - 1e-9)
        out = np.zeros((n, self.n))
        if len(web):
            young = table["young"][web]
            strengths = Strengths(*table["strength"][web].T)
            grain, zero = table["grain"][web], np.zeros(len(web))
            upright, shear = self.upright[web, column], self.shear[web, column]
            crushed = to_grain(zero, -self.crushing[web, column], zero, grain)
            for along in (young * self.inner[web, 0, column], young * self.inner[web, 1, column], zero):
                factor = load_at_failure(to_grain(along, upright, shear, grain), crushed, strengths)
                out[web, column] = np.maximum(out[web, column], 1 / factor)
        return Used(table["id_combined"], out)

    def _bound(self, factor: Array) -> Array:
        """The largest that Norris' left side can be at any load up to `factor`, (n_webs, n_layouts)."""
        table = self.stack.table["webs"]
        grain = table["grain"][:, None]
        cc, ss = np.cos(grain) ** 2, np.sin(grain) ** 2
        cs = np.abs(np.sin(grain) * np.cos(grain))
        along = table["young"][:, None] * np.maximum(np.abs(self.inner[:, 0]), np.abs(self.inner[:, 1]))
        upright = np.abs(self.upright) + factor * self.crushing
        shear = np.abs(self.shear)
        weak = table["strength"]
        first = (cc * along + ss * upright + 2 * cs * shear) / np.minimum(weak[:, 0], weak[:, 1])[:, None]
        second = (ss * along + cc * upright + 2 * cs * shear) / np.minimum(weak[:, 2], weak[:, 3])[:, None]
        third = (cs * (along + upright) + np.abs(cc - ss) * shear) / weak[:, 4, None]
        return factor**2 * (first**2 + second**2 + third**2 + first * second)

    # ---- posts, rails, ties ---------------------------------------------------------------------------

    def posts(self) -> tuple[Array, Array, Array]:
        """Axial force, moment in the spar's plane and pressing of every post by curvature, (n, layouts)."""
        rows = self.values[self.stack.at["posts"]]
        pressed = np.zeros((len(rows), self.n))
        sides = self.stack.table.get("post sides", {})
        here = np.flatnonzero(self.stack.post_of >= 0)
        if len(here):
            force = self.press[sides["press"][here]] * sides["weight"][here, None]
            np.add.at(pressed, self.stack.post_of[here], force)
        return rows[:, 0], np.maximum(np.abs(rows[:, 1]), np.abs(rows[:, 2])), pressed

    def _rail_mode(self) -> Used:
        table = self.stack.table["rails"]
        rows = self.values[self.stack.at["rails"]].reshape(-1, 2, 3, self.n)
        share = None
        for p in (0, 1):
            force, up, aft = (rows[:, p, k] for k in range(3))
            direct = np.where(force > 0, force * table["pull"][:, None], -force * table["push"][:, None])
            bend = np.abs(up) * table["up"][:, None] + np.abs(aft) * table["side"][:, None]
            share = _most(share, direct + bend)
        assert share is not None
        return Used(table["id"], share)

    def _tie_modes(self) -> Iterator[Used]:
        table = self.stack.table["ties"]
        rows = self.values[self.stack.at["ties"]]
        second = (table["count"] > 1)[:, None]
        aside = np.hypot(rows[:, 1], rows[:, 2]) + np.where(second, np.hypot(rows[:, 3], rows[:, 4]), 0.0)
        total = np.hypot(rows[:, 0], aside)
        yield Used(table["id_rail"], total / table["rail"][:, None])
        yield Used(table["id_spar"], total / table["spar"][:, None])

    # ---- glue at web ends -----------------------------------------------------------------------------

    def end_flow(self, element: int) -> Array:
        """Shear flow of a web element, (layouts,), N/m."""
        return np.asarray(np.abs(self.shear[element]) * self.stack.table["webs"]["thickness"][element])

    def end_force(self, element: int) -> Array:
        """Force along the span in each half of a web at an element, (2, layouts), N; as
        `models.strength.glue_ends.end_force`."""
        table = self.stack.table["webs"]
        strain = (
            self.axis[element] * table["lap"][element][:, None]
            + self.inner[element] * table["clear"][element] / 4
        )
        return np.asarray(np.abs(table["young"][element] * table["thickness"][element] * strain))


def post_shares(
    table: Table, axial: Array, moment: Array, pressed: Array, open_beside: NDArray[np.bool_]
) -> Array:
    """Shares of the strength that posts use, as `models.strength.post.findings` works them out.

    Parameters
    ----------
    table : dict
        `tear`, `crush` and `bend`: 1 over what each post bears pulled, pressed and bent, (n,), 1/N and
        1/(N m).
    axial, moment, pressed : (n, n_layouts) float array
        Axial force (N), moment in the spar's plane (N m), and pressing by the spar's curvature (N).
    open_beside : (n, 1) or (n, n_layouts) bool array
        Which stand next to an open bay.

    Returns
    -------
    (n, n_layouts) float array
    """
    tear, crush, bend = (table[name][:, None] for name in ("tear", "crush", "bend"))
    bent = np.where(open_beside, moment, 0.0) * bend
    plain = np.where(axial > 0, axial * tear, -axial * crush) + bent
    beside = np.maximum(-axial, 0.0) * crush + bent
    return np.maximum(plain, _growing(beside, pressed * crush))


def _most(a: Array | None, b: Array) -> Array:
    return b if a is None else np.maximum(a, b)


def _growing(linear: Array, square: Array) -> Array:
    """1 over `models.strength.finding.growing`."""
    return np.asarray((linear + np.sqrt(linear**2 + 4 * square)) / 2)


def _left_side(stress: Array, strength: Array) -> Array:
    """`models.strength.norris.left_side` of stresses (3, n, layouts) against strengths (n, 5)."""
    return norris.left_side(stress.T, Strengths(*(strength[:, k, None] for k in range(5))))
