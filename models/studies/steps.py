"""The order of gluing: how stiff the wing is after each step of its build, and what a hand or a board does
to it.

A step is the same wing with parts left out, the starboard half held fast at the centre line as by the hand
test (`models.studies.hand_test`). What is glued on goes on without stress, in the shape that the wing has
just then. A wing of flexibility C, bent by forces f to C f while the next part sets, springs back by C' f
when it is let go, C' its flexibility with the new part: (C - C') f stays (superposition; statics). Where a
board gives the shape u instead of a hand giving the force, f = C^-1 u and u - C' C^-1 u stays.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.assembly import Assembly
from fea.solve import Mechanism
from fea.structure import Loads
from models.analysis import Analysis
from models.covering import is_taut
from models.gravity import GRAVITY
from models.loads.hand_test import LEADING, TRAILING, BadHandLoad, HandLoad, hand_loads, loaded_nodes
from models.strength import check
from models.strength.margin import Margins
from models.structure import ACROSS_CHORD, Model
from models.studies.hand_test import given, half, hold
from models.wing.parts import Rib, Spar, Web, Wing

BREAKS = 4.0
"""A step may be lifted where a hand's lift of it must grow so many times before the first part breaks in mean
wood: two for the jolt of a hand, two for weak wood (judgement; common practice, no source)."""
TWISTS = math.radians(5.0)
"""Twist under its own weight, lifted by a corner, beyond which a step is not lifted: glue that is still
green is sheared by it (judgement; common practice, no source), rad."""
STAYS = math.radians(0.25)
"""Twist built in by a hand at the corner while the next part sets that is let pass: half a degree between
the two sides can be seen and felt in flight (judgement; common practice, no source), rad."""
ERROR = 1e-3
"""How far the board is out of true under the trailing edge of the outermost rib, m."""
FRAME, FIRST, SECOND = "frame", "first webs", "second webs"
RAILS, SHEETING, COVERING = "rails", "sheeting", "covering"
_FACES = ("between", "front", "rear")


@dataclass(frozen=True, eq=False)
class Stage:
    """The wing after one step of its build. Its name is one of `FRAME`, `FIRST`, `SECOND`, `RAILS`,
    `SHEETING`, `COVERING`; what has been glued on in words, and the wing so far."""

    name: str
    glued: str
    wing: Wing


@dataclass(frozen=True, eq=False)
class GluedStep:
    """How the wing is after one step.

    Parameters
    ----------
    stage : Stage
        What it is made of.
    mass : float
        Of one half, kg.
    hand : float
        Force of a hand at the trailing edge of the outermost rib, which bears the half wing about its middle,
        N.
    bending, torsion : float
        Force over deflection of the spar at the tip, N/m, and couple over its twist there, N m/rad; 0 of what
        nothing holds together yet.
    twisted : float
        Twist of that rib, nose down, as that hand lifts the wing, its middle held down, rad; NaN where the
        rib does not reach the edges.
    by_tip, by_corner : Margins or None
        What breaks first as the whole wing hangs between two hands at its tips, and as it is lifted by a
        corner; None of what nothing holds together yet.
    flexibility : (2, 2) float array
        Movement upward of the outermost rib's leading and trailing edge, m/N; NaN as before.
    chord : float
        Between those edges, m; NaN as before.
    analysis : Analysis or None
        Solved: 1 N and 1 N m at the spar's tip, 1 N at either edge, lifted by tip and by corner.
    board : float
        Twist that stays, nose down, of a board `ERROR` too high under the trailing edge of the outermost rib
        while this step's part set; NaN for the first, and where the rib does not reach the edges, rad.
    held : float
        Twist that stays, nose down, where a hand lifted the wing by that corner while this step's part set,
        rad.
    """

    stage: Stage
    mass: float
    hand: float
    bending: float = 0.0
    torsion: float = 0.0
    twisted: float = math.nan
    by_tip: Margins | None = None
    by_corner: Margins | None = None
    flexibility: Array = field(default_factory=lambda: np.full((2, 2), np.nan))
    chord: float = math.nan
    analysis: Analysis | None = None
    board: float = math.nan
    held: float = math.nan

    @property
    def breaks(self) -> float:
        """Least of what both lifts must grow by before the first part breaks; 0 of what falls apart."""
        if self.by_tip is None or self.by_corner is None:
            return 0.0
        return min(m.load_factor_at_first_failure() for m in (self.by_tip, self.by_corner))

    @property
    def bears(self) -> bool:
        """Whether a hand's lift does not break it (`BREAKS`)."""
        return self.breaks >= BREAKS

    @property
    def lifts(self) -> bool:
        """Whether it may be lifted once its glue has set (`BREAKS`, `TWISTS`)."""
        return self.bears and not abs(self.twisted) > TWISTS


@dataclass(frozen=True)
class Setting:
    """One part that sets, in one order of webs and what closes the wing.

    Parameters
    ----------
    order : str
        "webs, then sheeting", say.
    what : str
        What sets: "webs", or what closes the wing.
    bending, torsion : float
        Of the wing meanwhile, without the part, N/m and N m/rad.
    board, held : float
        What stays of a board out of true, and of a hand at the corner, as of a `GluedStep`, rad.
    """

    order: str
    what: str
    bending: float
    torsion: float
    board: float
    held: float


@dataclass(frozen=True, eq=False)
class Steps:
    """The walk through the build.

    Parameters
    ----------
    wing : Wing
        In the file.
    spar : str
        Whose tip is pushed and twisted.
    y : float
        Where that is, m.
    steps : tuple of GluedStep
        In the order of the build.
    orders : tuple of Setting
        Webs before what closes the wing (webs, then that), and after it (that, then webs); empty where
        nothing closes it or there are no webs.
    """

    wing: Wing
    spar: str
    y: float
    steps: tuple[GluedStep, ...]
    orders: tuple[Setting, ...]

    @property
    def chord(self) -> float:
        """Between the edges of the outermost rib, over which a board's error counts, m; NaN without edges."""
        return self.steps[-1].chord

    def verdict(self, k: int) -> str:
        """Of a step until the next part is glued: "pinned", "lift" or "free"; of the last "done" or "by
        middle".

        "lift": it may be lifted, and goes back on the jig for the next part; "free": the next part may be
        glued to it off the jig, for what a hand at its corner leaves is within `STAYS`. A wing that is done
        and does not lift by its corner is lifted "by middle".
        """
        step = self.steps[k]
        if k + 1 == len(self.steps):
            return "done" if step.lifts else "by middle"
        if not step.lifts:
            return "pinned"
        return "free" if abs(self.steps[k + 1].held) <= STAYS else "lift"


def stages(wing: Wing) -> tuple[Stage, ...]:
    """The wing as it grows; steps that this wing does not have are left out. The last is the whole wing
    without its equipment.

    Equipment (`wing.masses`) and the wing's bolts go in when all is done and are in no step. The order is
    that of most plans: common practice, no source."""
    bare = replace(
        wing,
        spars=tuple(replace(spar, webs=()) for spar in wing.spars),
        ribs=tuple(map(_without_strips, wing.ribs)),
        sheets=(),
        rails=(),
        masses=(),
        fastening=None,
        coverings=(),
        covering_mass_per_area=0.0,
    )
    whole = replace(wing, masses=(), fastening=None)
    others = [
        word
        for word, there in (("edges", wing.edges), ("brace", wing.braces), ("joiner", wing.joiners))
        if there
    ]
    found = [Stage(FRAME, ", ".join(("ribs and caps", *others)), bare)]
    first = tuple(replace(spar, webs=_first_webs(spar)) for spar in wing.spars)
    if any(spar.webs for spar in first):
        found.append(Stage(FIRST, f"one web a bay{_faces(first)}", replace(bare, spars=first)))
    if sum(len(s.webs) for s in wing.spars) > sum(len(s.webs) for s in first):
        found.append(Stage(SECOND, "second web of the boxes", replace(bare, spars=wing.spars)))
    if wing.rails:
        found.append(Stage(RAILS, "rails and their ties", replace(found[-1].wing, rails=wing.rails)))
    strips = any(rib.cap_strip_thickness > 0 for rib in wing.ribs)
    if wing.sheets or strips:
        words = " and ".join(w for w, on in (("sheeting", wing.sheets), ("cap strips", strips)) if on)
        found.append(Stage(SHEETING, words, replace(found[-1].wing, sheets=wing.sheets, ribs=wing.ribs)))
    if wing.coverings or wing.covering_mass_per_area > 0:
        words = "covering" if is_taut(wing) else "covering (mass alone)"
        found.append(Stage(COVERING, words, whole))
    return tuple(found)


def _without_strips(rib: Rib) -> Rib:
    return replace(rib, cap_strip_width=0.0, cap_strip_thickness=0.0, cap_strip_material=None)


def _first_webs(spar: Spar) -> tuple[Web, ...]:
    """One web of every bay that has any: that of the face with most webs, else the one there is.

    Of faces with as many the one let in between the caps, then the front.
    """
    count = {face: sum(1 for web in spar.webs if web.face == face) for face in _FACES}
    order = sorted(_FACES, key=lambda face: (-count[face], _FACES.index(face)))
    best: dict[tuple[str, int], Web] = {}
    for web in spar.webs:
        key = (web.side, web.bay)
        if key not in best or order.index(web.face) < order.index(best[key].face):
            best[key] = web
    return tuple(web for web in spar.webs if best[web.side, web.bay] is web)


def _faces(spars: tuple[Spar, ...]) -> str:
    faces = {web.face for spar in spars for web in spar.webs}
    if len(faces) > 1:
        return ""
    face = next(iter(faces))
    return ", between the caps" if face == "between" else f", {face} face"


def where(wing: Wing) -> tuple[str, int]:
    """The spar whose tip is pushed and twisted, and the number of the rib: the first of those that reach
    farthest."""
    reach = [sum(rib.y <= spar.y_end + 1e-7 for rib in wing.ribs) for spar in wing.spars]
    return wing.spars[reach.index(max(reach))].name, max(reach)


_FORCE, _COUPLE, _NOSE, _TAIL, _BY_TIP, _BY_CORNER = range(6)
"""Columns of the solution."""


def _solved(stage: Stage, per_bay: int, across_chord: int, *, last: bool) -> GluedStep:
    """A stage before it is known what came before it. Raises `Mechanism` for the last one alone: a wing half
    built may well fall apart."""
    wing = stage.wing
    spar, rib = where(wing)
    model = half(wing, per_bay=per_bay, across_chord=across_chord, covered=is_taut(wing))
    weight = own_weight(model)
    total = float(-weight[:, 2].sum())
    y = model.structure.nodes[:, 1]
    about_middle = float(-(weight[:, 2] @ y + weight[:, 3].sum()))
    unit = [HandLoad(spar, rib, force=1.0), HandLoad(spar, rib, couple=1.0)]
    edges = [HandLoad(LEADING, -1, force=1.0), HandLoad(TRAILING, -1, force=1.0)]
    corners = _corners(model, edges)
    # What does not reach the edges is lifted by its spar.
    nodal = hand_loads(model, [*unit, *(edges if corners else [unit[0], unit[0]])]).nodal
    at = y[corners[1]].mean() if corners else y[loaded_nodes(model, unit[0])].mean()
    hand = about_middle / float(at)
    lifts = [weight + total * nodal[:, :, _FORCE], weight + hand * nodal[:, :, _TAIL]]
    nodal = np.concatenate([nodal, np.stack(lifts, axis=2)], axis=2)
    found = GluedStep(stage, total / GRAVITY, hand)
    try:
        analysis = hold(model, Loads(nodal))
    except Mechanism:
        if last:
            raise
        return found
    if corners:
        moves = analysis.solution.displacements
        up = np.stack([moves[nodes, 2].mean(axis=0) for nodes in corners])
        chord = _apart(model, corners)
        twisted = float(up[1, _BY_CORNER] - up[0, _BY_CORNER]) / chord
        found = replace(found, flexibility=up[:, [_NOSE, _TAIL]], chord=chord, twisted=twisted)
    by_tip, by_corner = (check(analysis.column(k)) for k in (_BY_TIP, _BY_CORNER))
    force, couple = given(analysis, unit)
    return replace(
        found, bending=force.stiffness, torsion=couple.torsional_stiffness, by_tip=by_tip,
        by_corner=by_corner, analysis=analysis,
    )  # fmt: skip


def _corners(model: Model, edges: list[HandLoad]) -> list[NDArray[np.intp]]:
    """Nodes of the outermost rib's leading and trailing edge; none where it does not reach them."""
    try:
        found = [loaded_nodes(model, one) for one in edges]
    except BadHandLoad:
        return []
    return found if _apart(model, found) > 1e-6 else []


def _apart(model: Model, corners: list[NDArray[np.intp]]) -> float:
    nose, tail = (float(model.structure.nodes[nodes, 0].mean()) for nodes in corners)
    return tail - nose


def own_weight(model: Model) -> Array:
    """Weight of what is modelled, (n_nodes, 6), N and N m."""
    assembly = Assembly(model.structure)
    return np.asarray(-GRAVITY * assembly.nodal(assembly.rigid_inertia()[:, [2]])[:, :, 0])


def stays(before: Array, after: Array, error: float = ERROR) -> Array:
    """Heights of the outermost rib's edges that stay once it is let go, of a board too high under the rear
    one. (2,), leading and trailing edge, m, by the flexibility of the edges (2, 2) before and after the next
    part was glued, m/N; all NaN before: nothing holds it. `error` m is the board's under the trailing edge;
    under the leading edge it is true."""
    shape = np.array([0.0, error])
    if np.isnan(before).all():
        return shape
    return np.asarray(shape - after @ np.linalg.solve(before, shape))


def _step(before: GluedStep | None, now: GluedStep) -> GluedStep:
    """With what stays of what was done to it while its part set."""
    if before is None or np.isnan(now.flexibility).any():
        return now
    edges = stays(before.flexibility, now.flexibility)
    lost = before.flexibility - now.flexibility
    # What nothing holds yet takes any shape that a hand gives it.
    held = np.inf if before.analysis is None else before.hand * float(lost[1, 1] - lost[0, 1]) / now.chord
    return replace(now, board=float(edges[1] - edges[0]) / now.chord, held=held)


def n_solved(wing: Wing) -> int:
    """How many stages `steps` solves, for whoever counts them."""
    found = stages(wing)
    return len(found) + len(_late(found))


def _late(found: tuple[Stage, ...]) -> tuple[Stage, ...]:
    """The wing just before and after what closes it, its webs left out; none where nothing closes it."""
    closing = _closing(found)
    if closing is None or not any(stage.name == FIRST for stage in found):
        return ()
    bare = found[0].wing.spars
    return tuple(replace(one, wing=replace(one.wing, spars=bare)) for one in found[closing - 1 : closing + 1])


def _closing(found: tuple[Stage, ...]) -> int | None:
    """Which step closes the wing's cells: its sheeting, else its taut covering."""
    closes = {SHEETING: lambda wing: wing.sheets, COVERING: is_taut}
    return next(
        (
            k
            for name, of in closes.items()
            for k, one in enumerate(found)
            if one.name == name and of(one.wing)
        ),
        None,
    )


def steps(
    wing: Wing,
    *,
    per_bay: int = 4,
    across_chord: int = ACROSS_CHORD,
    progress: Callable[[str], None] | None = None,
) -> Steps:
    """Walk through the build of a wing.

    Parameters
    ----------
    wing : Wing
        A flying wing.
    per_bay, across_chord : int
        As for `models.structure.build`.
    progress : callable or None
        Told each step in a few words.

    Raises
    ------
    models.loads.hand_test.BadHandLoad
        A specimen.
    fea.solve.Mechanism
        The whole wing can move freely.
    """
    if wing.clamped:
        raise BadHandLoad("wing", "a specimen", "a wing with a planform; a specimen is clamped already")
    found = stages(wing)

    def solve(stage: Stage, words: str, *, last: bool = False) -> GluedStep:
        if progress is not None:
            progress(words)
        return _solved(stage, per_bay, across_chord, last=last)

    solved = [solve(stage, stage.glued, last=stage is found[-1]) for stage in found]
    made = tuple(_step(a, b) for a, b in zip([None, *solved[:-1]], solved, strict=True))
    orders: tuple[Setting, ...] = ()
    late, closing = _late(found), _closing(found)
    if late and closing is not None:
        name = found[closing].name
        open_, closed = (solve(stage, f"{stage.glued}, webs left out") for stage in late)
        webbed, whole = solved[closing - 1], solved[closing]
        orders = (
            _setting(f"webs, then {name}", "webs", open_, webbed),
            _setting(f"webs, then {name}", name, webbed, whole),
            _setting(f"{name}, then webs", name, open_, closed),
            _setting(f"{name}, then webs", "webs", closed, whole),
        )
    spar, rib = where(wing)
    return Steps(wing, spar, float(wing.ribs[rib - 1].y), made, orders)


def _setting(order: str, what: str, before: GluedStep, after: GluedStep) -> Setting:
    step = _step(before, after)
    return Setting(order, what, before.bending, before.torsion, step.board, step.held)
