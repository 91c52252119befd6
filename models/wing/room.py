"""What room every part has: whether the parts that a file lists fit into the outline and beside each other.

Each rule gives the key path, the value, the room that there is and how to mend it. What can be built but is
odd goes into `Wing.cautions`. Rules that lines of the outline give (spars within the chord, caps within the
depth, edges clear of the caps) stand where those lines are laid, in `flying` and `specimen`.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from models.wing.draft import TOUCHING, Array, BayRow, FileDraft, Location, faces_of, mm
from models.wing.faults import path_of
from models.wing.parts import Brace, Edge, Planform, Rail, Sheet, Spar, Wing
from models.wing.schema import SpecimenFile, WebTable, WingFile
from models.wing.slips import hint, usual_unit

_SAMPLES = 41
_SHAVED = 2.0
"""Height of an edge stick over that of the outline where it is deepest, up to which it is sanded from stock
(chosen, no source)."""
_NOSE_WITHOUT_A_STICK = 0.05
"""Where the depth of a nose without a leading edge is taken, of the chord (chosen, no source)."""


def check_room(draft: FileDraft, file: WingFile | SpecimenFile, wing: Wing, bays: BayRow) -> tuple[str, ...]:
    """Note every part that has no room; what is odd but possible comes back in words.

    Parameters
    ----------
    draft : FileDraft
        Where faults go; without any so far, since room is measured between parts that are right.
    file : WingFile or SpecimenFile
        The file's checked shape.
    wing : Wing
        As it was read.
    bays : BayRow
        Its bays.

    Returns
    -------
    tuple of str
        Cautions, a sentence each.
    """
    said: list[str] = []
    _ribs_apart(draft, file, wing, bays)
    for i in range(len(wing.spars)):
        _webs_beside(draft, file, wing, bays, i, said)
    _sheets_apart(draft, wing, _sheet_places(file, wing), bays)
    if isinstance(file, WingFile) and wing.planform is not None:
        _edges_within(draft, wing, wing.planform, said)
        _noses(draft, file, wing, wing.planform, bays)
        _braces_apart(draft, wing, bays, said)
        _rails_apart(draft, wing)
        _rails_within(draft, wing, wing.planform, said)
        _elevons_clear(draft, wing, wing.planform)
    return tuple(said)


def _refuse(draft: FileDraft, location: Location, expected: str, room: float) -> None:
    """Note a size that has too little room, with the unit in which it would fit."""
    raw = draft.raw_at(location)
    offered = hint(raw, room / 1000, room, usual_unit(draft.raw)) if room > 0 else ""
    draft.note(location, f"{expected.rstrip('.')}{offered}" if offered else expected)


def _edges_within(draft: FileDraft, wing: Wing, outline: Planform, said: list[str]) -> None:
    """Edge sticks much higher than the outline at their inner face: shavings, or a slip of the unit."""
    y = np.linspace(0.0, wing.semispan, _SAMPLES)
    for edge in wing.edges:
        depth = _depth_at(outline, y, _stick_fraction(outline, edge, y))
        k = int(depth.argmax())
        most = float(depth[k])
        key = f"{edge.kind}_edge"
        if edge.height > _SHAVED * most:
            _refuse(
                draft,
                (key, "height"),
                f"is taller than the outline, which is {mm(most)} high at the stick's inner face where it is "
                f"highest (y = {mm(float(y[k]))}); give at most that, or a wider stick.",
                most,
            )
        elif edge.height > most * (1 + 1e-6):
            said.append(
                f"The {edge.kind} edge's stick of {mm(edge.height)} is higher than the outline all along "
                f"the span (at most {mm(most)}): what stands out is taken as sanded off."
            )


def _stick_fraction(outline: Planform, edge: Edge, y: Array) -> Array:
    """Place of an edge stick's inner face along the chord, fractions, at stations y (n,) m."""
    share = edge.width / outline.chord.at(y)
    return np.clip(share if edge.kind == "leading" else 1 - share, 0.0, 1.0)


def _depth_at(outline: Planform, y: Array, fraction: Array) -> Array:
    """Depth of the outline at a place along the chord, one a station, m."""
    top = outline.surface_at(y, fraction, True)[1]
    return np.asarray(top - outline.surface_at(y, fraction, False)[1])


def _noses(draft: FileDraft, file: WingFile, wing: Wing, outline: Planform, bays: BayRow) -> None:
    """Sheeting that fills the nose, or the section, between its two surfaces."""
    leading = next((edge for edge in wing.edges if edge.kind == "leading"), None)
    for i in range(len(file.sheeting)):
        mine = [sheet for place, sheet in zip(_sheet_places(file, wing), wing.sheets) if place == i]
        for sheet in mine[:1]:
            there = sorted({bay for _, bay in sheet.bays})
            if not there:
                continue
            y = np.unique([end for bay in there for end in bays.reach(bay)])
            both = sum(
                max(
                    (one.thickness for one in wing.sheets if one.surface == surface and _meet(one, sheet)),
                    default=0.0,
                )
                for surface in ("upper", "lower")
            )
            front, rear = (_share(outline, y, line.at(y)) for line in (sheet.x_from, sheet.x_to))
            deepest = np.max(
                [_depth_at(outline, y, front + (rear - front) * s) for s in np.linspace(0, 1, 9)], axis=0
            )
            where = "at its deepest under this sheet"
            if sheet.from_leading_edge:
                at = (
                    np.full_like(y, _NOSE_WITHOUT_A_STICK) if leading is None
                    else _stick_fraction(outline, leading, y)
                )  # fmt: skip
                nose = _depth_at(outline, y, np.minimum(at, rear))
                deepest = np.minimum(deepest, nose)
                where = (
                    f"at {_NOSE_WITHOUT_A_STICK * 100:.0f} % of the chord" if leading is None
                    else "behind the leading edge's stick"
                )  # fmt: skip
            k = int(deepest.argmin())
            if both >= deepest[k] - TOUCHING:
                _refuse(
                    draft,
                    ("sheeting", i, "thickness"),
                    f"fills the section: at y = {mm(float(y[k]))} the outline is {mm(float(deepest[k]))} "
                    f"high {where}, and the sheets take {mm(both)}; take a thinner sheet, or end it further "
                    "inboard.",
                    float(deepest[k]) / 2,
                )


def _share(outline: Planform, y: Array, x: Array) -> Array:
    """Place along the chord of x (n,) m at stations y (n,) m, fractions."""
    chord = outline.chord.at(y)
    along = x - outline.leading_edge_x.at(y) - 0.25 * chord
    return np.clip(0.25 + along / (chord * np.cos(outline.washout.at(y))), 0.0, 1.0)


def _meet(one: Sheet, other: Sheet) -> bool:
    """Whether two sheets share bays and some of the chord."""
    if not one.bays & other.bays:
        return False
    y = one.x_from.y
    return bool(np.any((one.x_from.at(y) < other.x_to.at(y)) & (other.x_from.at(y) < one.x_to.at(y))))


def _sheet_places(file: WingFile | SpecimenFile, wing: Wing) -> list[int]:
    """Entry of `sheeting` that each of the wing's sheets comes from: one or two sheets an entry."""
    places = []
    for i, table in enumerate(file.sheeting):
        places += [i] * (2 if table.surface == "both" else 1)
    return places if len(places) == len(wing.sheets) else []


def _sheets_apart(draft: FileDraft, wing: Wing, places: Sequence[int], bays: BayRow) -> None:
    """Two sheets on one another: sheeting is one layer, glued edge to edge."""
    told = set()
    for (i, one), (j, other) in combinations(zip(places, wing.sheets), 2):
        shared = one.bays & other.bays
        if i == j or one.surface != other.surface or not shared or (i, j) in told:
            continue
        for bay in sorted({bay for _, bay in shared}):
            y = np.linspace(*bays.reach(bay), 5)[1:-1]
            front = np.maximum(one.x_from.at(y), other.x_from.at(y))
            lap = np.minimum(one.x_to.at(y), other.x_to.at(y)) - front
            k = int(lap.argmax())
            if lap[k] > 1e-5:
                told.add((i, j))
                # An edge that is written is the one to move.
                key = next((k for k in ("from", "to") if draft.raw_at(("sheeting", j, k))), "bays")
                draft.note(
                    ("sheeting", j, key),
                    f"puts a second sheet on {path_of(('sheeting', i))}: on the {one.surface} surface of bay "
                    f"{bay} they lie on one another over {mm(float(lap[k]))} from x = {mm(float(front[k]))} "
                    f"at y = {mm(float(y[k]))}; let one end where the other begins, or give one sheet of "
                    "both thicknesses.",
                )
                break


def _webs_beside(
    draft: FileDraft, file: WingFile | SpecimenFile, wing: Wing, bays: BayRow, i: int, said: list[str]
) -> None:
    """Webs on a spar's faces: no thicker than half the cap, on a bench than the cap, nor than the gap beside
    them."""
    spar = wing.spars[i]
    if not spar.y_end:
        return
    for j, table in enumerate(file.spars[i].webs):
        if table.face == "between":
            continue
        here: Location = ("spars", i, "webs", j, "thickness")
        there = [b for b in table.bays or range(bays.first, bays.last + 1) if _within(bays, b, spar.y_end)]
        for bay in there:
            y = np.linspace(*bays.reach(bay), 7)
            y[0] += TOUCHING
            width = np.minimum(spar.upper.width.at(y), spar.lower.width.at(y))
            k = int(width.argmin())
            half = float(width[k]) / 2
            if table.thickness > half * (1 + 1e-6):
                if wing.clamped and table.thickness <= 2 * half:  # a bench may try what no wing has
                    said.append(
                        f"{draft.called(here[:-1])} of {mm(table.thickness)} is thicker than half the "
                        f"cap, {mm(half)}."
                    )
                    break
                most = 2 * half if wing.clamped else half
                _refuse(
                    draft,
                    here,
                    f"is more than {'' if wing.clamped else 'half '}the cap: a web on a face of a cap "
                    f"{mm(2 * half)} wide (bay {bay}) is at most {mm(most)} thick; take a thinner one, or "
                    'face = "between".',
                    most,
                )
                break
            if not _has_gap(draft, wing, i, table, here, bay, y, said):
                break


def _within(bays: BayRow, bay: int, y_end: float) -> bool:
    return bays.first <= bay <= bays.last and bays.outer(bay) <= y_end + TOUCHING


def _has_gap(
    draft: FileDraft, wing: Wing, i: int, table: WebTable, here: Location, bay: int, y: Array, said: list[str]
) -> bool:
    """Whether a web goes between its spar and whatever stands before or behind it; if not, it is noted."""
    spar = wing.spars[i]
    aslant = spar.aslant.at(y)
    half = aslant * np.maximum(spar.upper.width.at(y), spar.lower.width.at(y)) / 2
    for face in faces_of(table.face):
        sign = -1.0 if face == "front" else 1.0
        beyond = _neighbour(wing, i, sign, bay, y)
        if beyond is None:
            continue
        what, edge = beyond
        gap = sign * (edge - (spar.x.at(y) + sign * half)) / aslant
        k = int(gap.argmin())
        if table.thickness >= gap[k] - TOUCHING:
            if what.startswith("the "):  # an edge's stick can be cut back behind the web
                said.append(
                    f"{draft.called(here[:-1])}, {mm(table.thickness)} thick, stands in {what} at y = "
                    f"{mm(float(y[k]))}, {mm(max(float(gap[k]), 0.0))} from the caps of spar {spar.name}."
                )
                return False
            _refuse(
                draft,
                here,
                f"has no room on the {face} face of spar {spar.name}: at y = {mm(float(y[k]))} (bay {bay}) "
                f"{mm(max(float(gap[k]), 0.0))} are left to {what}; take a thinner web, or move the spar.",
                float(gap[k]),
            )
            return False
    return True


def _neighbour(wing: Wing, i: int, sign: float, bay: int, y: Array) -> tuple[str, Array] | None:
    """What stands next to a spar's face (sign -1 before, 1 behind) in a bay, and where its near face lies."""
    k = i + int(sign)
    if 0 <= k < len(wing.spars) and wing.spars[k].y_end >= y[-1] - TOUCHING:
        other = wing.spars[k]
        aslant = other.aslant.at(y)
        half = np.maximum(other.upper.width.at(y), other.lower.width.at(y)) / 2
        facing = "rear" if sign < 0 else "front"
        # One thicker than its own cap lets is told there, and takes no room from others.
        most = float(half.min()) * (2.0 if wing.clamped else 1.0) * (1 + 1e-6)
        webs = [w.thickness for w in other.webs if w.face == facing and w.bay == bay and w.thickness <= most]
        web = max(webs, default=0.0)
        name = f"spar {other.name}" + (" with its web" if web else "")
        return name, other.x.at(y) - sign * aslant * (half + web)
    kind = "leading" if sign < 0 else "trailing"
    edge = next((one for one in wing.edges if one.kind == kind), None)
    plan = wing.planform
    if plan is None or edge is None or 0 <= k < len(wing.spars):
        return None
    ends = plan.leading_edge_x.at(y) + (0.0 if sign < 0 else plan.chord.at(y))
    return f"the {kind} edge", ends - sign * edge.width


def _ribs_apart(draft: FileDraft, file: WingFile | SpecimenFile, wing: Wing, bays: BayRow) -> None:
    """Ribs, posts and cap strips that fill the bay beside them."""
    table = file.ribs
    length = np.diff(bays.edges)
    stations = bays.edges[1:] if bays.first == 1 and wing.clamped else bays.edges
    places = [int(np.argmin(np.abs(bays.edges - rib.y))) for rib in wing.ribs]
    if wing.clamped:
        places = [int(np.argmin(np.abs(stations - rib.y))) + 1 for rib in wing.ribs]
    half = np.zeros(len(bays.edges))
    if not places or max(places) >= len(half):
        return
    exceptions = {
        number - 1: n
        for n, one in enumerate(getattr(table, "exceptions", []))
        for number in one.ribs or range(1, len(wing.ribs) + 1)
    }

    def refuse(location: Location, what: str, sizes: Sequence[float]) -> None:
        half[:] = 0.0
        for n, place in enumerate(places):
            half[place] = sizes[n] / 2
        taken = half[:-1] + half[1:]
        if bays.first == 0:
            taken[0] = 2 * half[1]
        room = np.where(np.arange(len(length)) == 0, 2 * length if bays.first == 0 else length, length)
        left = np.round(room - taken, 9)
        if half[-1] == 0:  # no rib at the tip: the last one may end flush with it, and its strips are cut
            own = location[-1] == "thickness" and "post" not in location
            left[-1] = left[-1] + 2 * TOUCHING if own else np.inf
        k = int(left.argmin())
        if left[k] <= TOUCHING:
            _refuse(
                draft,
                location,
                f"{what} as wide as the bay: bay {bays.first + k} is {mm(float(room[k]))} from rib to rib, "
                f"and they take {mm(float(taken[k]))} of it; take less, or space the ribs wider.",
                float(room[k]),
            )

    n_faults = len(draft.faults)
    for n, exception in enumerate(getattr(table, "exceptions", [])):
        if exception.thickness is not None and exception.thickness > table.thickness:
            thick = [
                rib.thickness if exceptions.get(k, n) == n else table.thickness
                for k, rib in enumerate(wing.ribs)
            ]
            refuse(("ribs", "exceptions", n, "thickness"), "makes ribs", thick)
    if len(draft.faults) == n_faults:
        refuse(("ribs", "thickness"), "makes ribs", [rib.thickness for rib in wing.ribs])
    post = table.post
    if post is not None and post.thickness is not None:
        refuse(("ribs", "post", "thickness"), "makes posts", [rib.post_thickness for rib in wing.ribs])
    if getattr(table, "cap_strip", None) is not None:
        refuse(("ribs", "cap_strip", "width"), "makes cap strips", [rib.cap_strip_width for rib in wing.ribs])


def _braces_apart(draft: FileDraft, wing: Wing, bays: BayRow, said: list[str]) -> None:
    """Braces twice in one place; one where a web is can be built over it, and is told."""
    spars = {spar.name: spar for spar in wing.spars}
    for i, brace in enumerate(wing.braces):
        for j, other in enumerate(wing.braces[:i]):
            if (brace.spar, brace.face) == (other.spar, other.face):
                draft.note(
                    ("braces", i, "face"),
                    f"puts a second brace where {path_of(('braces', j))} is already; take another face, or "
                    "one brace as thick as both.",
                )
                break
        spar = spars[brace.spar]
        _brace_room(draft, wing, spar, i, brace, said)
        for web in spar.webs:
            if web.face != brace.face or not bays.inner(web.bay) < brace.y_end - TOUCHING:
                continue
            both = f"{draft.called(('braces', i))} and the web of bay {web.bay} of spar {spar.name}"
            where = "lie between the caps" if web.face == "between" else f"share the {web.face} face"
            said.append(f"{both} {where}: both are taken as glued on the caps, one through the other.")
            break


def _brace_room(draft: FileDraft, wing: Wing, spar: Spar, i: int, brace: Brace, said: list[str]) -> None:
    """A brace that runs into what stands before or behind it, or has no room beside a web between caps."""
    here: Location = ("braces", i, "thickness")
    y = np.linspace(0.0, min(brace.y_end, spar.y_end), 9)
    if not spar.y_end or y[-1] <= 0:
        return
    width = float(np.minimum(spar.upper.width.at(y), spar.lower.width.at(y)).min())
    edges = wing.bay_edges
    webs = [w for w in spar.webs if w.face == brace.face and edges[w.bay - wing.first_bay] < y[-1] - TOUCHING]
    if brace.face == "between":
        beside = max((web.thickness for web in webs), default=0.0)
        if beside and beside + brace.thickness > width + TOUCHING:
            _refuse(
                draft,
                here,
                f"has no room between the caps: a web of {mm(beside)} is there too, and the caps of spar "
                f"{spar.name} are {mm(width)} wide; take less, or a face.",
                width - beside,
            )
        return
    sign = -1.0 if brace.face == "front" else 1.0
    beyond = _neighbour(wing, list(wing.spars).index(spar), sign, wing.first_bay, y)
    if beyond is None:
        return
    what, edge = beyond
    aslant = spar.aslant.at(y)
    half = aslant * np.maximum(spar.upper.width.at(y), spar.lower.width.at(y)) / 2
    gap = sign * (edge - (spar.x.at(y) + sign * half)) / aslant
    k = int(gap.argmin())
    if brace.thickness < gap[k] - TOUCHING:
        return
    left = mm(max(float(gap[k]), 0.0))
    if what.startswith("the "):
        said.append(
            f"{draft.called(here[:-1])}, {mm(brace.thickness)} thick, stands in {what} at y = "
            f"{mm(float(y[k]))}, {left} from the caps of spar {spar.name}."
        )
        return
    _refuse(
        draft,
        here,
        f"has no room on the {brace.face} face of spar {spar.name}: at y = {mm(float(y[k]))} {left} are left "
        f"to {what}; take a thinner brace, or another face.",
        float(gap[k]),
    )


def _rails_apart(draft: FileDraft, wing: Wing) -> None:
    """Rails that run into each other."""
    for (i, one), (j, other) in combinations(enumerate(wing.rails), 2):
        if _clash(one, other):
            draft.note(
                ("rails", j, "y"),
                f"makes the rail run into {path_of(('rails', i))} at y = {mm(one.y)}: rails {mm(one.width)} "
                f"and {mm(other.width)} wide need middles {mm((one.width + other.width) / 2)} apart.",
            )


def _rails_within(draft: FileDraft, wing: Wing, outline: Planform, said: list[str]) -> None:
    """Rails that stand out of the chord by more than another chord."""
    for i, rail in enumerate(wing.rails):
        front = float(outline.leading_edge_x.at(np.array(rail.y)))
        chord = float(outline.chord.at(np.array(rail.y)))
        out = max(front - rail.x_front, rail.x_rear - front - chord)
        if out > chord:
            end = "x_front" if out == front - rail.x_front else "x_rear"
            raw, usual = draft.raw_at(("rails", i, end)), usual_unit(draft.raw)
            offered = hint(raw, 0.0, 1.2 * chord, usual, digits=True)
            said.append(
                f"The rail {rail.name} stands out of the chord by {mm(out)}, more than the chord of "
                f"{mm(chord)}{offered or '.'}"
            )


def _elevons_clear(draft: FileDraft, wing: Wing, outline: Planform) -> None:
    """A hinge ahead of a spar: what is cut off there would hold the spar, and not the wing."""
    elevons = wing.elevons
    if elevons is None:
        return
    for spar in wing.spars:
        y = np.linspace(elevons.y_from, min(elevons.y_to, spar.y_end), _SAMPLES)
        if spar.y_end <= elevons.y_from + TOUCHING:
            continue
        half = np.maximum(spar.upper.width.at(y), spar.lower.width.at(y)) / 2
        rear = _share(outline, y, spar.x.at(y) + half)
        k = int(rear.argmax())
        if elevons.hinge < rear[k] - 1e-6:
            draft.note(
                ("elevons", "hinge"),
                f"cuts spar {spar.name} off the wing, whose caps reach to {100 * rear[k]:.1f} % of the chord "
                f"at y = {mm(float(y[k]))}; put the hinge behind that, or let the spar end at a rib inboard "
                "of the elevon.",
            )
            return


def _clash(one: Rail, other: Rail) -> bool:
    return (
        abs(one.y - other.y) < (one.width + other.width) / 2 - TOUCHING
        and abs(one.z - other.z) < (one.height + other.height) / 2 - TOUCHING
        and one.x_front < other.x_rear - TOUCHING
        and other.x_front < one.x_rear - TOUCHING
    )
