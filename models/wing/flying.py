"""A flying wing's rules, and its `Wing`: planform, sections, spars laid into them, what is tied to them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from models import units_out as say
from models.wing import flown, joints
from models.wing.airfoil import FRACTIONS, AirfoilError, section
from models.wing.covering import coverings
from models.wing.draft import (
    TOUCHING,
    Array,
    BayRow,
    FileDraft,
    Location,
    caps,
    clear_of_each_other,
    known_spar,
    layouts,
    mm,
    on_the_face,
    outermost_web,
    spar_names,
    webs,
)
from models.wing.faults import path_of
from models.wing.odd import Odd, beyond, oddities, refuse_absurd, sentences, too_slow
from models.wing.parts import (
    RIB_END,
    Bolts,
    Brace,
    Cap,
    Covering,
    Edge,
    Engine,
    Fastening,
    Joiner,
    Line,
    Planform,
    PointMass,
    Rail,
    Rib,
    Sheet,
    Spar,
    Web,
    Wing,
    aslant,
)
from models.wing.room import check_room
from models.wing.schema import (
    EdgeTable,
    JoinerTable,
    MassTable,
    RailTable,
    SheetTable,
    SparTable,
    Station,
    WingFile,
)
from models.wing.slips import between, hint, out_of_order, part_slips, planform_slips, usual_unit
from models.wing.units import QuantityError, read_quantity

_PIECES_A_BAY = 4
"""Points at which lines along the span are taken in each bay: what is curved between ribs is kept to that."""


_THICKEST = 0.5
"""Most of a section's thickness, of the chord (chosen, no source)."""


def flying(draft: FileDraft, file: WingFile, source: str, name: str, folder: Path) -> Wing:
    """Wing of a flying wing's file; faults go to the draft, and with any of them the result is worth nothing.

    Parameters
    ----------
    draft : FileDraft
        The file being read.
    file : WingFile
        Its checked shape.
    source : str
        The file's name.
    name : str
        Name to take where the file gives none.
    folder : Path
        Folder from which coordinate files count.

    Returns
    -------
    Wing
        Root "symmetry".
    """
    odd = _slips(draft, file)
    outline = _planform(draft, file.planform.stations, folder)
    file, said = _on_a_fuselage(draft, file, outline)
    semispan = outline.semispan
    n_faults = len(draft.faults)
    stations = _rib_stations(draft, file, semispan)
    bays = _bay_row(stations, semispan, len(draft.faults) == n_faults)
    n_faults = len(draft.faults)
    spar_names(draft, file.spars)
    if len(draft.faults) > n_faults:  # whatever names a spar would name the wrong one
        draft.give_up()
    ribs = _ribs(draft, file, stations, bays.known)
    laid = [_Laid(draft, table, i, outline, bays) for i, table in enumerate(file.spars)]
    clear_of_each_other(draft, [spar.faces() for spar in laid if spar.placed], semispan)
    by_name = {spar.name: spar for spar in laid}
    sheets = [
        sheet
        for i, table in enumerate(file.sheeting)
        for sheet in _sheets(draft, table, ("sheeting", i), outline, by_name, bays)
    ]
    strip = file.ribs.cap_strip.thickness if file.ribs.cap_strip is not None else 0.0
    spars = tuple(spar.finished(draft, sheets, strip) for spar in laid)
    finished = {spar.name: spar for spar in spars}
    ends = {spar.name: spar.y_end for spar in laid}
    widths = {spar.name: (spar.caps[0][0].width, spar.caps[1][0].width) for spar in laid if spar.caps}
    masses = _masses(draft, file, outline)
    _rail_names(draft, file)
    y = _sampled(outline, bays, semispan)
    covering_mass, covered = coverings(
        draft,
        file,
        bays,
        ends,
        lambda location, text, where: _chord_line(draft, location, text, outline, by_name, where, y),
    )
    wing = Wing(
        name=file.name or name,
        source=source,
        root="symmetry",
        semispan=semispan,
        planform=outline,
        spars=spars,
        ribs=ribs,
        sheets=tuple(sheets),
        edges=_edges(draft, file, outline, laid),
        braces=_braces(draft, file, finished),
        rails=tuple(_rail(draft, table, ("rails", i), finished) for i, table in enumerate(file.rails)),
        masses=masses,
        case=flown.case(draft, file, outline),
        layouts=layouts(draft, file.layouts, ends, widths, bays),
        whole=file.whole or _uneven(spars, [*sheets, *covered], masses),
        covering_mass_per_area=covering_mass,
        coverings=covered,
        engine=_engine(draft, file),
        flight=flown.flight(draft, file),
        elevons=flown.elevons(draft, file, semispan),
        landing=flown.landing(draft, file),
        launch=flown.launch(draft, file),
        balance=flown.balance(draft, file),
        joiners=_joiners(draft, file, finished),
        fastening=_fastening(draft, file, outline),
        hand_test=flown.hand_test(draft, file, [spar.name for spar in spars], len(ribs)),
    )
    slow = too_slow(draft, file, outline.area, flown.greatest_lift(file))
    if not draft.faults:
        refuse_absurd(draft, odd)
    if draft.faults:
        return wing
    said += [slow] if slow else []
    said += [*joints.cautions(wing), *sentences(draft, draft.odd), *beyond(wing, outline)]
    return replace(wing, cautions=(*said, *check_room(draft, file, wing, bays)))


def _slips(draft: FileDraft, file: WingFile) -> tuple[Odd, ...]:
    """What is odd in the file; slips of its sizes, which say more than what follows from them, are noted."""
    draft.last_rib = (file.ribs.stations or [0.0])[-1]
    odd = oddities(draft, file)
    two = len(file.planform.stations) == 2
    draft.odd = tuple(one for one in odd if two and one.location[-1] == "chord")
    planform_slips(draft, file)
    part_slips(draft, file)
    draft.odd = odd
    return odd


def _planform(draft: FileDraft, stations: list[Station], folder: Path) -> Planform:
    at: Location = ("planform", "stations")
    y = np.array([station.y for station in stations])
    if y[0] != 0:
        draft.note((*at, 0, "y"), "must be zero: the first station is the centre line.")
    i = out_of_order(draft, at, y.tolist(), "y")
    if i is not None:
        after = f" and the one after it at {mm(y[i + 1])}" if i + 1 < len(y) and y[i + 1] <= y[i] else ""
        draft.note(
            (*at, i, "y"),
            f"is out of order; the station before it is at {mm(y[i - 1])}{after}, and stations are listed "
            f"from the centre line outward{between(draft, (*at, i, 'y'), y.tolist(), i)}",
        )
        draft.give_up()
    first = stations[0]
    for key in ("sweep", "dihedral"):
        if getattr(first, key) is not None:
            draft.note((*at, 0, key), "has no panel inboard of it; give it at the next station.")
    if first.leading_edge:
        draft.note((*at, 0, "leading_edge"), "must be zero: it is what the other stations count from.")
    draft.not_assumed |= {f"planform.stations[0].{key}" for key in ("leading_edge", "height")}
    if first.section is None:
        draft.note((*at, 0, "section"), 'is missing; give one like "NACA 2412", or a coordinate file.')
    aft, up, washout, sections = [0.0], [first.height or 0.0], [first.washout or 0.0], [first.section]
    for i, station in enumerate(stations[1:], 1):
        step = y[i] - y[i - 1]
        aft.append(_offset(draft, (*at, i), aft[-1], step, station.leading_edge, station.sweep, "sweep"))
        up.append(_offset(draft, (*at, i), up[-1], step, station.height, station.dihedral, "dihedral"))
        washout.append(washout[-1] if station.washout is None else station.washout)
        sections.append(sections[-1] if station.section is None else station.section)
    for i, angle in enumerate(washout):
        if abs(angle) > np.radians(20):
            offered = hint(draft.raw_at((*at, i, "washout")), 0.0, np.radians(20), "", kind="angle")
            draft.note(
                (*at, i, "washout"),
                f"is more than 20 degrees either way, which no wing has{offered or '.'}",
            )
            draft.give_up()
    upper, lower = _sections(draft, at, stations, sections, folder)
    return Planform(
        semispan=float(y[-1]),
        chord=Line(y, np.array([station.chord for station in stations])),
        leading_edge_x=Line(y, np.array(aft)),
        leading_edge_z=Line(y, np.array(up)),
        washout=Line(y, np.array(washout)),
        section_y=y,
        section_x=FRACTIONS,
        section_upper=upper,
        section_lower=lower,
    )


def _offset(
    draft: FileDraft,
    location: Location,
    before: float,
    step: float,
    offset: float | None,
    angle: float | None,
    word: str,
) -> float:
    if angle is None:
        return before if offset is None else offset
    if offset is not None:
        other = "leading_edge" if word == "sweep" else "height"
        draft.note((*location, word), f"stands beside {other}; give one of the two.")
    if abs(angle) >= np.radians(80):
        offered = hint(draft.raw_at((*location, word)), 0.0, np.radians(60), "", kind="angle")
        draft.note((*location, word), f"must lie between -80 and 80 degrees{offered or '.'}")
        return before
    return before + step * float(np.tan(angle))


def _sections(
    draft: FileDraft, at: Location, stations: list[Station], names: list[str | None], folder: Path
) -> tuple[Array, Array]:
    """Ordinates, a row a station; a section that cannot be read is told once and has a stand-in."""
    known: dict[str | None, tuple[Array, Array]] = {}
    stand_in = section("NACA 0012", folder)
    for i, name in enumerate(names):
        if name is None or name in known:
            continue
        try:
            known[name] = section(name, folder)
            thick = float((known[name][0] - known[name][1]).max())
            if thick > _THICKEST:
                raise AirfoilError(
                    f"is {100 * thick:.0f} % of the chord thick, which no wing is; at most "
                    f"{100 * _THICKEST:.0f} % is taken."
                )
        except AirfoilError as error:
            draft.note((*at, i, "section"), str(error))
            draft.sections_read = False
            known[name] = stand_in
    pairs = [known.get(name, stand_in) for name in names]
    return np.array([pair[0] for pair in pairs]), np.array([pair[1] for pair in pairs])


def _rib_stations(draft: FileDraft, file: WingFile, semispan: float) -> Array:
    table = file.ribs
    stand_in = np.array([0.0, semispan])
    if (table.stations is None) == (table.count is None):
        draft.note(("ribs",), "needs either stations or a count.")
        return stand_in
    if table.stations is not None:
        for key, value in (("from", table.from_), ("to", table.to)):
            if value is not None:
                draft.note(("ribs", key), "goes with a count, not with stations.")
        if len(table.stations) < 2:
            draft.note(("ribs", "stations"), "needs two ribs or more.")
            return stand_in
        y = np.array(table.stations)
        i = out_of_order(draft, ("ribs", "stations"), y.tolist())
        if i is not None:
            after = f" and the one after it at {mm(y[i + 1])}" if i + 1 < len(y) and y[i + 1] <= y[i] else ""
            draft.note(
                ("ribs", "stations", i),
                f"is out of order; the rib before it stands at {mm(y[i - 1])}{after}, and ribs are listed "
                f"from the centre outward{between(draft, ('ribs', 'stations', i), y.tolist(), i)}",
            )
            return stand_in
        if y[-1] > semispan + TOUCHING:
            i = int(np.argmax(y > semispan + TOUCHING))
            draft.note(("ribs", "stations", i), f"lies beyond the tip at {mm(semispan)}.")
            return stand_in
        key_at: Location = ("ribs", "stations")
    else:
        start = 0.0 if table.from_ is None else table.from_
        end = semispan if table.to is None else table.to
        if end > semispan + TOUCHING:
            draft.note(("ribs", "to"), f"lies beyond the tip at {mm(semispan)}.")
            return stand_in
        if start >= end:
            draft.note(("ribs", "from"), "does not lie inboard of the last rib.")
            return stand_in
        y = np.linspace(start, end, table.count or 2)
        key_at = ("ribs", "count")
    y = np.where(np.abs(y - semispan) < TOUCHING, semispan, y)
    if np.any(np.diff(y) <= table.thickness):
        draft.note(key_at, f"leaves no clear bay between ribs that are {mm(table.thickness)} thick.")
    return y


def _bay_row(stations: Array, semispan: float, known: bool) -> BayRow:
    first = 0 if stations[0] > TOUCHING else 1
    edges = np.concatenate([[0.0], stations]) if first == 0 else stations
    if semispan - edges[-1] > TOUCHING:
        edges = np.append(edges, semispan)
    return BayRow(edges, first, len(stations), ("port", "starboard"), "wing", known)


def _ribs(draft: FileDraft, file: WingFile, stations: Array, known: bool) -> tuple[Rib, ...]:
    table = file.ribs
    material = draft.shelf.find(table.wood, "ribs", "wood")
    exceptions: dict[int, int] = {}
    exception_woods = []
    for i, exception in enumerate(table.exceptions):
        here: Location = ("ribs", "exceptions", i)
        exception_woods.append(
            material if exception.wood is None else draft.shelf.find(exception.wood, *here, "wood")
        )
        n_faults = len(draft.faults)
        for number in exception.ribs or range(1, len(stations) + 1):
            if number - 1 in exceptions and exceptions[number - 1] != i:
                draft.note(
                    (*here, "ribs"),
                    f"names rib {number}, which ribs.exceptions[{exceptions[number - 1]}] names already; "
                    "give each rib one exception.",
                )
                break
            if not 1 <= number <= len(stations):
                if not known:
                    break
                draft.note((*here, "ribs"), f"is not a rib; ribs run 1 to {len(stations)}.", value=number)
                break
            exceptions[number - 1] = i
        same = exception.thickness is None and exception.wood is None and exception.grain is None
        if same and len(draft.faults) == n_faults:
            draft.note((*here, "ribs"), "changes nothing: give a thickness, a wood or a grain too.")
    post = table.post
    post_wood = None
    if post is not None and post.wood is not None:
        post_wood = draft.shelf.find(post.wood, "ribs", "post", "wood")
    strip = table.cap_strip
    strip_wood = None if strip is None else draft.shelf.find(strip.wood, "ribs", "cap_strip", "wood")
    found = []
    for i, y in enumerate(stations):
        thickness, wood, grain = table.thickness, material, table.grain
        if i in exceptions:
            own = table.exceptions[exceptions[i]]
            wood = exception_woods[exceptions[i]]
            thickness = thickness if own.thickness is None else own.thickness
            grain = grain if own.grain is None else own.grain
        found.append(
            Rib(
                y=float(y),
                thickness=thickness,
                material=wood,
                grain=grain,
                panel="chord",
                post_thickness=post.thickness
                if post is not None and post.thickness is not None
                else thickness,
                post_material=post_wood if post_wood is not None else wood,
                post_grain=grain if post is None else post.grain,
                cap_strip_width=0.0 if strip is None else strip.width,
                cap_strip_thickness=0.0 if strip is None else strip.thickness,
                cap_strip_material=strip_wood,
            )
        )
    return tuple(found)


def _chord_x(outline: Planform, y: Array, fraction: Array | float) -> Array:
    """x of a line at a fraction of the chord, on the chord line turned by the washout."""
    chord = outline.chord.at(y)
    along = chord * (np.asarray(fraction) - 0.25) * np.cos(outline.washout.at(y))
    return np.asarray(outline.leading_edge_x.at(y) + 0.25 * chord + along)


def _fraction(outline: Planform, y: Array, x: Array) -> Array:
    """Inverse of `_chord_x`."""
    chord = outline.chord.at(y)
    along = x - outline.leading_edge_x.at(y) - 0.25 * chord
    return np.asarray(0.25 + along / (chord * np.cos(outline.washout.at(y))))


def _sampled(outline: Planform, bays: BayRow, y_end: float, *more: Array) -> Array:
    """Stations at which a line along the span is taken, m."""
    edges = bays.edges
    between = np.concatenate(
        [edges[:-1] + (edges[1:] - edges[:-1]) * k / _PIECES_A_BAY for k in range(_PIECES_A_BAY)]
    )
    y = np.concatenate([between, edges, outline.chord.y, [0.0, y_end], *more])
    y = np.sort(y[(y >= 0) & (y <= y_end)])
    keep = np.concatenate([[True], np.diff(y) > 1e-9])
    return y[keep]


class _Laid:
    """A spar laid into the planform: line, caps and webs; its height follows once the sheeting is known."""

    def __init__(
        self, draft: FileDraft, table: SparTable, index: int, outline: Planform, bays: BayRow
    ) -> None:
        self.name = table.name
        self.table = table
        self.index = index
        self.here: Location = ("spars", index)
        self.outline = outline
        self.y_end = self._end(draft, bays)
        self.key = "at" if table.at is not None else "x"
        self.placed = (table.at is None) != (table.x is None)
        made = caps(draft, table, self.here, self.y_end)
        self.caps = made
        steps = [line.y for cap in self._caps() for line in (cap.width, *(la.height for la in cap.layers))]
        self.y = _sampled(outline, bays, self.y_end, *steps)
        self.x = self._line(draft)
        self.webs: tuple[Web, ...] = ()
        if made is not None:
            widths = made[0][0].width, made[1][0].width
            self.webs = webs(draft, table.webs, (*self.here, "webs"), bays, self.y_end, widths)
            self._inside_chord(draft)

    def _caps(self) -> tuple[Cap, ...]:
        return () if self.caps is None else (self.caps[0][0], self.caps[1][0])

    def _end(self, draft: FileDraft, bays: BayRow) -> float:
        semispan = self.outline.semispan
        end = self.table.to
        if end is None:
            return semispan
        near = bays.edges[np.argmin(np.abs(bays.edges - end))]
        if end > semispan + TOUCHING:
            draft.note((*self.here, "to"), f"lies beyond the tip at {mm(semispan)}.")
            return semispan
        if not bays.known:
            return end
        if abs(near - end) > TOUCHING:
            draft.note(
                (*self.here, "to"), f"ends between ribs; a spar ends at a rib, the nearest is at {mm(near)}."
            )
        return float(near) if near > 0 else semispan

    def _line(self, draft: FileDraft) -> Array:
        table, semispan = self.table, self.outline.semispan
        if not self.placed:
            draft.note(self.here, 'needs either "at", a place along the chord, or "x", a straight line.')
            return _chord_x(self.outline, self.y, 0.3)
        if table.at is not None:
            root, tip = table.at
            return _chord_x(self.outline, self.y, root + (tip - root) * self.y / semispan)
        root, tip = table.x or (0.0, 0.0)
        return np.asarray(root + (tip - root) * self.y / semispan)

    def half_width(self, y: Array) -> Array:
        """Half of what the wider cap takes along x, m."""
        widths = [cap.width.at(y) for cap in self._caps()]
        return self.aslant(y) * np.max(widths, axis=0) / 2 if widths else np.zeros_like(y)

    def aslant(self, y: Array) -> Array:
        """Size along x over size square to the spar."""
        return aslant(Line(self.y, self.x)).at(y)

    def x_at(self, y: Array) -> Array:
        """Middle of the caps, m."""
        return np.interp(y, self.y, self.x)

    def faces(self) -> tuple[int, str, Array, Array]:
        """Place in the file, name, front and rear faces over the whole span, m; NaN beyond the spar's end."""
        y = np.linspace(0.0, self.outline.semispan, 61)
        half = np.where(y <= self.y_end + TOUCHING, self.half_width(y), np.nan)
        return self.index, self.name, self.x_at(y) - half, self.x_at(y) + half

    def _inside_chord(self, draft: FileDraft) -> None:
        half = self.half_width(self.y)
        front, rear = _chord_x(self.outline, self.y, 0.0), _chord_x(self.outline, self.y, 1.0)
        outside = np.flatnonzero((self.x - half <= front) | (self.x + half >= rear))
        if len(outside) and self.placed:
            self.placed = False
            i = outside[0]
            draft.note(
                (*self.here, self.key),
                f"puts the spar outside the airfoil: at y = {mm(self.y[i])} its caps run from x = "
                f"{mm(self.x[i] - half[i])} to {mm(self.x[i] + half[i])}, "
                f"the chord from {mm(front[i])} to {mm(rear[i])}.",
            )

    def _inset(self, draft: FileDraft, sheets: list[Sheet], strip: float) -> float:
        """Depth of the caps' outer faces under the surface; a spar is straight, so the thickest counts."""
        if self.table.inset is not None:
            return self.table.inset
        over = [sheet.thickness for sheet in sheets if self._covered(sheet)]
        return max([strip, *over])

    def _covered(self, sheet: Sheet) -> bool:
        inside = (self.x >= sheet.x_from.at(self.y) - 1e-6) & (self.x <= sheet.x_to.at(self.y) + 1e-6)
        return bool(np.any(inside)) and bool(sheet.bays)

    def finished(self, draft: FileDraft, sheets: list[Sheet], strip: float) -> Spar:
        """The spar with its caps' outer faces on the airfoil less what covers it; caps too tall are noted."""
        inset = self._inset(draft, sheets, strip)
        fraction = np.clip(_fraction(self.outline, self.y, self.x), 0.0, 1.0)
        top = self.outline.surface_at(self.y, fraction, True)[1] - inset
        bottom = self.outline.surface_at(self.y, fraction, False)[1] + inset
        if self.caps is None or not self.placed:
            return self._nowhere()
        (upper, where), (lower, _) = self.caps
        # Just outboard of a step as well as inboard of it: `Line.at` gives the inboard value.
        filled = np.maximum(
            upper.height(self.y) + lower.height(self.y),
            upper.height(self.y + 1e-9) + lower.height(self.y + 1e-9),
        )
        depth = top - bottom
        tight = np.flatnonzero(filled >= depth - TOUCHING)
        if len(tight) and draft.sections_read:
            i = tight[0]
            if self.table.inset is not None and filled[i] < depth[i] + 2 * inset - TOUCHING:
                draft.note(
                    (*self.here, "inset"),
                    f"leaves no room for the caps: at y = {mm(self.y[i])} the section is "
                    f"{mm(depth[i] + 2 * inset)} deep at this spar, and the caps take {mm(filled[i])}; an "
                    f"inset of less than {mm((depth[i] + 2 * inset - filled[i]) / 2)} fits.",
                )
                return self._nowhere()
            if self._blame_cover(draft, sheets, strip, float(depth[i]) + 2 * inset, float(filled[i]), i):
                return self._nowhere()
            under = f" under {mm(inset)} of covering" if inset else ""
            faced = " with their facings" if len(upper.layers) + len(lower.layers) > 2 else ""
            here, room = self._tall(where, float(self.y[i])), max(float(depth[i]), 0.0)
            meant = hint(draft.raw_at(here), room / 1000, room / 3, usual_unit(draft.raw))
            draft.note(
                here,
                f"is too tall: at y = {mm(self.y[i])} the section is {mm(room)} deep at this spar{under}, "
                f"and the caps{faced} take {mm(filled[i])}{meant or '.'}",
            )
            return self._nowhere()
        return Spar(
            self.name,
            Line(self.y, self.x),
            Line(self.y, top),
            Line(self.y, bottom),
            upper,
            lower,
            self.webs,
            self.y_end,
            self.table.joint or "",
        )

    def _tall(self, where: Location, y: float) -> Location:
        """Key that gives the height of a cap at y, m: its own, or that of a step."""
        name = where[-1]
        table = getattr(self.table, str(name))
        steps = [k for k, step in enumerate(table.steps) if step.from_ <= y + TOUCHING and step.height]
        if steps and (table.steps[steps[-1]].height or 0.0) > table.height[0]:
            return (*where, "steps", steps[-1], "height")
        return (*where, "height")

    def _blame_cover(
        self, draft: FileDraft, sheets: list[Sheet], strip: float, depth: float, filled: float, i: int
    ) -> bool:
        """Note the sheet or the cap strip that leaves caps no room which would fit without it."""
        room = (depth - filled) / 2
        over = [sheet for sheet in sheets if self._covered(sheet)]
        thickest = max([sheet.thickness for sheet in over], default=0.0)
        if room <= TOUCHING or filled > 0.75 * depth:
            return False
        location: Location = ("ribs", "cap_strip", "thickness")
        if thickest > strip:
            raw = draft.raw.get("sheeting", [])
            places = [k for k in range(len(raw)) if self._is(draft, k, thickest)]
            if not places:
                return False
            location = ("sheeting", places[0], "thickness")
        if any(fault.key_path == path_of(location) for fault in draft.faults):
            return True  # one spar is told
        offered = hint(draft.raw_at(location), room / 1000, room, usual_unit(draft.raw))
        draft.note(
            location,
            f"leaves no room for the caps of spar {self.name} under it: at y = {mm(self.y[i])} the section "
            f"is {mm(depth)} deep and the caps take {mm(filled)}; less than {mm(room)} fits{offered or '.'}",
        )
        return True

    def _is(self, draft: FileDraft, place: int, thickness: float) -> bool:
        try:
            given = read_quantity(draft.raw_at(("sheeting", place, "thickness")), "length")
        except QuantityError:
            return False
        return abs(given - thickness) < TOUCHING

    def _nowhere(self) -> Spar:
        """Stand-in for a spar at fault, of no length, so that nothing else is checked against it."""
        zero, nothing = Line.constant(0.0), Cap(Line.constant(0.0), ())
        return Spar(self.name, zero, zero, zero, nothing, nothing, (), 0.0)


def _sheets(
    draft: FileDraft,
    table: SheetTable,
    location: Location,
    outline: Planform,
    spars: dict[str, _Laid],
    bays: BayRow,
) -> list[Sheet]:
    where = bays.where(draft, location, table.bays, table.side)
    material = draft.shelf.find(table.wood, *location, "wood")
    y = _sampled(outline, bays, outline.semispan)
    front = _chord_line(draft, (*location, "from"), table.from_ or "leading edge", outline, spars, where, y)
    rear = _chord_line(draft, (*location, "to"), table.to or "trailing edge", outline, spars, where, y)
    if front is None or rear is None:
        return []
    if np.any(rear.at(y) <= front.at(y) + TOUCHING):
        draft.note(
            (*location, "to"), "does not lie behind the front edge.", value=table.to or "trailing edge"
        )
    at_nose = (table.from_ or "leading edge") == "leading edge"
    surfaces = ("upper", "lower") if table.surface == "both" else (table.surface,)
    return [
        Sheet(surface, front, rear, at_nose, table.thickness, material, table.grain, where)
        for surface in surfaces
    ]


def _chord_line(
    draft: FileDraft,
    location: Location,
    text: str,
    outline: Planform,
    spars: dict[str, _Laid],
    where: frozenset[tuple[str, int]],
    y: Array,
) -> Line | None:
    """Line of a sheet's edge: an edge of the wing, a share of the chord, a spar's middle or its face."""
    edges = {"leading edge": 0.0, "trailing edge": 1.0}
    if text in edges:
        return Line(y, _chord_x(outline, y, edges[text]))
    if "%" in text:
        try:
            share = read_quantity(text, "fraction")
        except QuantityError as error:
            draft.note(location, str(error))
            return None
        if not 0 <= share <= 1:
            draft.note(location, "lies outside the chord; 0 % is the leading edge, 100 % the trailing edge.")
            return None
        return Line(y, _chord_x(outline, y, share))
    name, sign = text, 0.0
    for word, direction in ((" front", -1.0), (" rear", 1.0)):
        if text.endswith(word):
            name, sign = text.removesuffix(word), direction
    if name not in spars:
        words = [*edges, *spars]
        draft.note(
            location,
            'is no line of this wing; give "leading edge", "trailing edge", a share of the chord like "30 '
            '%", or a spar: '
            f"{', '.join(words[2:])}.",
        )
        return None
    spar = spars[name]
    if not spar.placed:
        return None
    face = outermost_web(spar.webs, "front" if sign < 0 else "rear", where)
    return Line(y, spar.x_at(y) + sign * (spar.half_width(y) + spar.aslant(y) * face))


def _edges(draft: FileDraft, file: WingFile, outline: Planform, laid: list[_Laid]) -> tuple[Edge, ...]:
    _clear_of_spars(draft, file, outline, [spar for spar in laid if spar.placed])
    found = []
    for kind in ("leading", "trailing"):
        table: EdgeTable | None = getattr(file, f"{kind}_edge")
        if table is not None:
            wood = draft.shelf.find(table.wood, f"{kind}_edge", "wood")
            found.append(flown.record(Edge, table, kind=kind, material=wood))
    return tuple(found)


def _clear_of_spars(draft: FileDraft, file: WingFile, outline: Planform, laid: list[_Laid]) -> None:
    """Note edge sticks that reach a spar's caps, or each other: the rib between is what joins them."""
    y = np.linspace(0.0, outline.semispan, 61)
    front = outline.leading_edge_x.at(y)
    rear = front + outline.chord.at(y)
    sticks = {"leading_edge": file.leading_edge, "trailing_edge": file.trailing_edge}
    width = {key: 0.0 if table is None else table.width for key, table in sticks.items()}
    clear = True
    for key, table in sticks.items():
        for spar in laid if table is not None else []:
            _, name, ahead, behind = spar.faces()
            room = (ahead - front if key == "leading_edge" else rear - behind)[y <= spar.y_end + TOUCHING]
            if clear and width[key] > room.min() - TOUCHING:
                clear = False
                draft.note(
                    (key, "width"),
                    f"reaches the caps of spar {name} and leaves no rib between: at y = "
                    f"{mm(float(y[room.argmin()]))} there is room for less than "
                    f"{mm(max(float(room.min()), 0.0))}.",
                )
    for spar in laid:
        place, name, ahead, behind = spar.faces()
        for key, room, word in (
            ("leading_edge", ahead - front, "ahead of"),
            ("trailing_edge", rear - behind, "behind"),
        ):
            if sticks[key] is not None or np.all(np.isnan(room)):
                continue
            left = room - RIB_END * (rear - front)
            k = int(np.nanargmin(left))
            if left[k] <= TOUCHING:
                draft.note(
                    ("spars", place, spar.key),
                    f"leaves {mm(max(float(room[k]), 0.0))} {word} the caps of spar {name} at y = "
                    f"{mm(float(y[k]))}; without a {key.replace('_', ' ')} ribs end {100 * RIB_END:.0f} % of "
                    f"the chord from there, {mm(RIB_END * float((rear - front)[k]))}: move the spar, or give "
                    "the edge.",
                )
    least = float((rear - front).min())
    if clear and sum(width.values()) >= least - TOUCHING:
        draft.note(
            ("trailing_edge" if width["trailing_edge"] else "leading_edge", "width"),
            f"leaves no rib between the edges where the chord is {mm(least)}.",
        )


def _braces(draft: FileDraft, file: WingFile, spars: dict[str, Spar]) -> tuple[Brace, ...]:
    found = []
    for i, table in enumerate(file.braces):
        here: Location = ("braces", i)
        material = draft.shelf.find(table.wood, *here, "wood")
        if not known_spar(draft, (*here, "spar"), table.spar, spars):
            continue
        spar = spars[table.spar]
        if 0 < spar.y_end < table.to - TOUCHING:
            draft.note((*here, "to"), f"lies beyond the end of spar {spar.name} at {mm(spar.y_end)}.")
            continue
        width = (
            min(float(spar.upper.width.value.min()), float(spar.lower.width.value.min()))
            if spar.y_end
            else 0.0
        )
        if spar.y_end and table.face == "between" and table.thickness > width + TOUCHING:
            draft.note((*here, "thickness"), f"does not go between caps that are {mm(width)} wide.")
        if spar.y_end and table.face != "between" and table.thickness > width + TOUCHING:
            offered = hint(draft.raw_at((*here, "thickness")), width / 1000, width, usual_unit(draft.raw))
            draft.note(
                (*here, "thickness"),
                f"is more than the cap that it is glued on, {mm(width)} wide; take a thinner one, or one on "
                f"each face{offered or '.'}",
            )
        if spar.y_end and table.face != "between":
            reach = (0.0, min(table.to, spar.y_end))
            on_the_face(draft, (*here, "face"), "brace", (spar.upper.width, spar.lower.width), [reach])
        found.append(flown.record(Brace, table, y_end=table.to, material=material))
    return tuple(found)


def _joiners(draft: FileDraft, file: WingFile, spars: dict[str, Spar]) -> tuple[Joiner, ...]:
    found: list[Joiner] = []
    for i, table in enumerate(file.joiners):
        here: Location = ("joiners", i)
        width, height, wall = _joiner_section(draft, here, table)
        made = flown.record(
            Joiner,
            table,
            width=width,
            height=height,
            wall=wall,
            material=draft.shelf.find(table.wood, *here, "wood"),
            filler=draft.shelf.find(table.box_wood, *here, "box_wood"),
            upright=table.box_grain == "upright",
        )
        if not known_spar(draft, (*here, "spar"), table.spar, spars):
            continue
        spar = spars[table.spar]
        if table.box_from >= table.reach:
            draft.note(
                (*here, "box_from"), f"leaves no box: the joiner reaches {mm(table.reach)} from the joint."
            )
        elif 0 < table.at < table.reach:
            draft.note((*here, "reach"), f"reaches over the centre line from a joint at {mm(table.at)}.")
        elif spar.y_end and spar.y_end < table.at + table.reach - TOUCHING:
            draft.note((*here, "reach"), f"lies beyond the end of spar {spar.name} at {mm(spar.y_end)}.")
        elif spar.y_end:
            _joiner_room(draft, here, made, spar)
        for other in found:
            if other.spar == made.spar and abs(other.at - made.at) < other.reach + made.reach:
                draft.note((*here, "at"), f"puts two joiners of spar {spar.name} into one box.")
        for j, brace in enumerate(file.braces):
            if brace.spar == table.spar and brace.to > table.at + TOUCHING:
                draft.note(
                    (*here, "at"),
                    f"puts the joint where braces[{j}] crosses it: parts on a joiner come off, and no brace "
                    "holds them; leave one of the two out.",
                    value=mm(table.at),
                )
        if spar.joint not in ("", "joiner") and table.at == 0:
            draft.note(
                ("spars", list(spars).index(spar.name), "joint"),
                f'stands beside joiners[{i}], which cuts the caps there; leave it out, or give "joiner".',
            )
        found.append(made)
    joined = {one.spar for one in found}
    for i, laid in enumerate(file.spars):
        if laid.joint == "joiner" and laid.name not in joined:
            draft.note(("spars", i, "joint"), "needs an entry of [[joiners]] for this spar; there is none.")
    return tuple(found)


_BREAKS = {
    "nylon": {"M3": 200.0, "M4": 400.0, "M5": 700.0, "M6": 1000.0, "M8": 2000.0, "M10": 2500.0},
    "steel": {"M3": 2110.0, "M4": 3690.0, "M5": 5960.0, "M6": 8440.0, "M8": 15400.0, "M10": 24400.0},
}
"""Pull at which a bolt breaks, N: a seller's table of plastic fasteners (polyamide 6.6); least ultimate loads
of class 4.8, ISO 898-1, on a maker's page (both looked up)."""


_HOLDING = ("plate", "dowel", "former")
"""What of a fastening is of wood."""


def _fastening(draft: FileDraft, file: WingFile, outline: Planform) -> Fastening | None:
    table, at = file.fastening, "fastening"
    if table is None:
        return None
    if (table.bolts is None) == (table.bands is None):
        draft.note((at,), "needs one of the two: bolts (with dowels ahead of them), or bands.")
    wanted = ("thread", "bolts_at", "plate", "dowel_diameter", "dowels_at", "former")
    for key in wanted:
        given = getattr(table, key) is not None
        if given != (table.bolts is not None) and (given or table.bands is None):
            draft.note((at, key), "goes with bolts." if given else "is missing: bolts need it.")
    if (table.band_pull is None) != (table.bands is None):
        said = "is missing: weigh one band, stretched as it lies on the wing, with a luggage scale."
        draft.note((at, "band_pull"), said if table.band_pull is None else "goes with bands.")
    chord = float(outline.chord.at(0.0))
    bolts_at, dowels_at = table.bolts_at or 0.0, table.dowels_at or 0.0
    if table.bolts_at is not None and table.dowels_at is not None:
        if dowels_at >= bolts_at - TOUCHING:
            draft.note((at, "dowels_at"), f"does not lie ahead of the bolts at x = {mm(bolts_at)}.")
        for key in ("bolts_at", "dowels_at"):
            if not -0.25 * chord <= getattr(table, key) <= 1.25 * chord:
                draft.note((at, key), f"lies far from the wing, whose chord there is {mm(chord)}.")
    thread = float((table.thread or "M5")[1:]) * 1e-3
    washer = table.washer or 2 * thread
    if washer <= thread:
        draft.note((at, "washer"), f"is no wider than the bolt, {mm(thread)}.")
    find = draft.shelf.find
    woods = {f"{key}_material": find(getattr(table, f"{key}_wood"), at, f"{key}_wood") for key in _HOLDING}
    return flown.record(
        Fastening,
        table,
        bolts=table.bolts or 0,
        thread=thread,
        breaking=table.breaking_load or _BREAKS[table.bolts_of][table.thread or "M5"],
        washer=washer,
        plate=table.plate or 1e-3,
        dowel=table.dowel_diameter or 1e-3,
        former=table.former or 1e-3,
        bands=table.bands or 0,
        **woods,
    )


def _joiner_section(draft: FileDraft, here: Location, table: JoinerTable) -> tuple[float, float, float]:
    """Width, height and wall of a joiner, m; keys of another form, or missing, are noted."""
    wanted = {"rod": ("diameter",), "tube": ("diameter", "wall"), "blade": ("width", "height")}[table.form]
    for key in ("diameter", "wall", "width", "height"):
        if (getattr(table, key) is None) == (key in wanted):
            draft.note(
                (*here, key),
                f"is missing: a {table.form} is given by {' and '.join(wanted)}."
                if key in wanted
                else f"does not go with a {table.form}, which is given by {' and '.join(wanted)}.",
            )
    if table.form == "blade":
        return table.width or 1.0, table.height or 1.0, 0.0
    across, wall = table.diameter or 1.0, table.wall or 0.0
    if table.form == "tube" and 2 * wall >= across:
        draft.note((*here, "wall"), f"fills the tube: less than {mm(across / 2)} fits.")
    return across, across, wall


def _joiner_room(draft: FileDraft, here: Location, made: Joiner, spar: Spar) -> None:
    """Note a joiner that does not fit between the caps, and beside a web that is let in there."""
    tall, wide = ("height", "width") if made.form == "blade" else ("diameter", "diameter")
    ends = made.at + np.array([made.box_from, made.reach])
    if made.at:
        ends = np.append(ends, 2 * made.at - ends)
    caps = spar.upper.height(ends) + spar.lower.height(ends)
    room = float((spar.z_upper.at(ends) - spar.z_lower.at(ends) - caps).min())
    across = float(np.minimum(spar.upper.width.at(ends), spar.lower.width.at(ends)).min())
    if made.height > room + TOUCHING:
        draft.note((*here, tall), f"does not go between the caps of spar {spar.name}, {mm(room)} apart.")
    elif made.width > across + TOUCHING:
        draft.note((*here, wide), f"is wider than the caps of spar {spar.name}, {mm(across)}.")


def _rail_names(draft: FileDraft, file: WingFile) -> None:
    """Note rails that share a name, and an engine whose name several masses have."""
    names = [table.name for table in file.rails]
    for i, name in enumerate(names):
        if name in names[:i]:
            draft.note(("rails", i, "name"), f"is the name of rails[{names.index(name)}] already.")
    if file.engine is not None and sum(mass.name == file.engine.name for mass in file.masses) > 1:
        draft.note(("engine", "name"), "is the name of more than one of the masses; give them two names.")


def _rail(draft: FileDraft, table: RailTable, here: Location, spars: dict[str, Spar]) -> Rail:
    if table.x_rear <= table.x_front:
        draft.note((*here, "x_rear"), "does not lie behind x_front.")
    elif 0 < table.y < table.width / 2:
        draft.note((*here, "y"), "makes the rail and its twin run into each other on the centre line.")
    for j, name in enumerate(table.ties):
        if name in table.ties[:j]:
            draft.note((*here, "ties", j), "is tied already; name each spar once.")
            continue
        if not known_spar(draft, (*here, "ties", j), name, spars):
            continue
        spar = spars[name]
        if not spar.y_end or table.x_rear <= table.x_front:
            continue
        y = np.array(table.y)
        if table.y > spar.y_end + TOUCHING:
            draft.note((*here, "y"), f"lies beyond the end of spar {name} at {mm(spar.y_end)}.")
            continue
        half = float(spar.aslant.at(y) * np.maximum(spar.upper.width.at(y), spar.lower.width.at(y))) / 2
        front, rear = float(spar.x.at(y)) - half, float(spar.x.at(y)) + half
        if table.x_rear < front - TOUCHING:
            draft.note(
                (*here, "x_rear"),
                f"does not reach spar {name}, whose caps begin at x = {mm(front)} at y = {mm(table.y)}.",
            )
        elif table.x_front > rear + TOUCHING:
            draft.note(
                (*here, "x_front"),
                f"begins behind spar {name}, whose caps end at x = {mm(rear)} at y = {mm(table.y)}.",
            )
        _between_caps(draft, table, here, spar)
    for spar in spars.values():
        if spar.name in table.ties or not 0 <= table.y <= spar.y_end or not spar.y_end:
            continue
        x = float(spar.x.at(np.array(table.y)))
        if table.x_front < x < table.x_rear:
            _between_caps(draft, table, here, spar)
    return flown.record(
        Rail,
        table,
        material=draft.shelf.find(table.wood, *here, "wood"),
        ties=tuple(table.ties),
        tie_material=draft.shelf.find(table.tie_wood, *here, "tie_wood"),
        bolts=_bolts(draft, table, here),
    )


def _between_caps(draft: FileDraft, table: RailTable, here: Location, spar: Spar) -> None:
    """Note a rail that does not pass between the caps of a spar that it crosses."""
    y = np.array(table.y)
    top = float(spar.z_upper.at(y) - spar.upper.height(y))
    bottom = float(spar.z_lower.at(y) + spar.lower.height(y))
    half_high = table.height / 2 - TOUCHING
    clear = bottom <= table.z - half_high and table.z + half_high <= top
    if not clear and draft.sections_read:
        draft.note(
            (*here, "z"),
            f"does not let a rail {mm(table.height)} high pass between the caps of spar {spar.name}, which "
            f"leave z = {mm(bottom)} to {mm(top)} at y = {mm(table.y)}.",
            value=mm(table.z),
        )


_BOLTS_APART = (8e-3, 0.15)
"""Between which the bolts of an engine are apart across its rails, m (chosen, no source)."""


def _bolts(draft: FileDraft, table: RailTable, here: Location) -> Bolts | None:
    bolts = table.bolts
    if bolts is None:
        return None
    at: Location = (*here, "bolts")
    if (bolts.across is None) != (table.y == 0):
        draft.note(
            (*at, "across"),
            "is missing: measure the engine across its bolts."
            if bolts.across is None
            else "goes with two rails; one on the centre line has its bolts on its middle line.",
        )
    across = bolts.across or 0.0
    off = abs(across / 2 - table.y)
    fits = max((across - table.width) / 2, 0.0), (across + table.width) / 2
    meant = hint(draft.raw_at((*here, "y")), *fits, usual_unit(draft.raw), digits=True)
    over = (bolts.across is None) == (table.y == 0) and off + bolts.hole / 2 >= table.width / 2
    if over and meant and _BOLTS_APART[0] <= across <= _BOLTS_APART[1]:
        draft.note(
            (*here, "y"),
            f"is not half of what the bolts of both rails are apart, {mm(across)}{meant}",
        )
    elif over:
        twice = max(2 * table.y - table.width, 0.0), 2 * table.y + table.width
        meant = hint(draft.raw_at((*at, "across")), *twice, usual_unit(draft.raw), digits=True)
        draft.note(
            (*at, "across"),
            f"puts holes of {mm(bolts.hole)} over the edge of a rail {mm(table.width)} wide whose middle is "
            f"{mm(table.y)} from the centre line: rails {mm(across)} apart would fit{meant or '.'}",
            value=mm(across),
        )
    last = bolts.from_front + (bolts.per_rail - 1) * bolts.along
    if bolts.from_front <= bolts.hole / 2 or last + bolts.hole / 2 >= table.x_rear - table.x_front:
        draft.note(
            (*at, "from_front"),
            f"puts a hole over the end of a rail {mm(table.x_rear - table.x_front)} long.",
        )
    if bolts.per_rail > 1 and bolts.along <= bolts.hole:
        draft.note((*at, "along"), f"makes holes of {mm(bolts.hole)} run into each other.")
    return flown.record(Bolts, bolts, across=across)


def _beyond_the_chord(table: MassTable, outline: Planform) -> tuple[float, float] | None:
    """Where the chord begins and ends, m, beside a mass that lies beyond it; None where it does not."""
    front = float(outline.leading_edge_x.at(abs(table.y)))
    rear = front + float(outline.chord.at(abs(table.y)))
    return None if front <= table.x <= rear else (front, rear)


def _on_a_fuselage(draft: FileDraft, file: WingFile, outline: Planform) -> tuple[WingFile, list[str]]:
    """The file with what lies beyond the chord on the centre line, and no rail reaches, carried by a
    fuselage where it does not say by what; and a caution about it."""
    taken = [
        i
        for i, one in enumerate(file.masses)
        if "carried_by" not in one.model_fields_set
        and one.y == 0
        and _beyond_the_chord(one, outline)
        and not (file.engine is not None and file.engine.name == one.name)
        and not any(rail.x_front <= one.x <= rail.x_rear for rail in file.rails)
    ]
    if not taken:
        return file, []
    draft.not_assumed |= {f"masses[{i}].carried_by" for i in taken}
    masses = [
        one.model_copy(update={"carried_by": "fuselage"}) if i in taken else one
        for i, one in enumerate(file.masses)
    ]
    names = [file.masses[i].name for i in taken]
    listed = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]
    said = (
        f"{listed[0].upper()}{listed[1:]} beyond the chord on the centre line: taken as carried by a "
        'fuselage that the spars hold there (carried_by = "fuselage"; "wing" if ribs carry it).'
    )
    return file.model_copy(update={"masses": masses}), [said]


def _masses(draft: FileDraft, file: WingFile, outline: Planform) -> tuple[PointMass, ...]:
    found, semispan = [], outline.semispan
    for i, table in enumerate(file.masses):
        here: Location = ("masses", i)
        if abs(table.y) > semispan:
            draft.note((*here, "y"), f"lies beyond the tip at {mm(semispan)}.")
            continue
        if table.paired and table.y <= 0:
            draft.note(
                (*here, "paired"), "goes with a mass to starboard of the centre line: give y more than zero."
            )
        if table.empty is not None and table.empty > table.mass:
            draft.note((*here, "empty"), f"is more than the mass when full, {say.mass(table.mass):.4g}.")
        if table.moves_between is not None and not (
            table.moves_between[0] - TOUCHING <= table.x <= table.moves_between[1] + TOUCHING
        ):
            draft.note((*here, "moves_between"), f"does not hold the place where it is, x = {mm(table.x)}.")
        if table.carried_by == "rails" and not file.rails:
            draft.note((*here, "carried_by"), "names rails, and there are none.")
        beyond = _beyond_the_chord(table, outline)
        if "carried_by" not in table.model_fields_set and beyond:
            meant = hint(draft.raw_at((*here, "x")), *beyond, usual_unit(draft.raw), digits=True)
            meant = meant.replace("; was ", "; or was x = ").removesuffix("?") + "?" if meant else "."
            draft.note(
                (*here, "carried_by"),
                f"is missing: at x = {mm(table.x)} the mass lies beyond the chord, {mm(beyond[0])} to "
                f'{mm(beyond[1])}; give "fuselage" (the spars on the centre line hold it), "rails", or '
                f'"wing" (the ribs beside it hold it){meant}',
            )
        found.append(flown.record(PointMass, table, empty=table.empty, places=table.moves_between))
    return tuple(found)


def _engine(draft: FileDraft, file: WingFile) -> Engine | None:
    table = file.engine
    if table is None:
        return None
    named = [mass for mass in file.masses if mass.name == table.name]
    if not named:
        draft.note(("engine", "name"), "is not the name of any of the masses.")
    elif named[0].carried_by != "rails" or named[0].y != 0:
        draft.note(("engine", "name"), 'names a mass that is not on the centre line, carried_by = "rails".')
    if (table.torque is None) == (table.power is None):
        draft.note(("engine", "torque"), "needs one of the two: torque or power.")
    if table.idle is not None and table.idle >= table.rpm:
        draft.note(("engine", "idle"), "is no slower than rpm, its full speed.")
    torque = table.torque or (table.power or 0.0) / table.rpm
    two = table.propeller_diameter, table.propeller_mass
    if (two[0] is None) != (two[1] is None) or (table.rotor_inertia is None) == (two[0] is None):
        draft.note(
            ("engine", "rotor_inertia"),
            "needs one of the two: rotor_inertia, or propeller_diameter with propeller_mass.",
        )
    # A propeller as a uniform rod: real blades taper, so that this is on the safe side.
    inertia = table.rotor_inertia or (two[1] or 0.0) * (two[0] or 0.0) ** 2 / 12
    return flown.record(
        Engine,
        table,
        torque=torque,
        speed=table.rpm,
        firings=table.firings_per_revolution,
        rotor_inertia=inertia,
        idle=table.idle or table.rpm / 4,
    )


def _uneven(
    spars: tuple[Spar, ...], sheets: Sequence[Sheet | Covering], masses: tuple[PointMass, ...]
) -> bool:
    """Whether the two sides differ, so that half the wing is not enough."""
    for spar in spars:
        port, starboard = (
            {
                (web.bay, web.face, web.thickness, web.material.name, web.grain)
                for web in spar.webs
                if web.side == side and web.material is not None
            }
            for side in ("port", "starboard")
        )
        if port != starboard:
            return True
    other = {"starboard": "port", "port": "starboard"}
    one_sided = any((other[side], bay) not in sheet.bays for sheet in sheets for side, bay in sheet.bays)
    return one_sided or any(mass.y != 0 and not mass.paired for mass in masses)
