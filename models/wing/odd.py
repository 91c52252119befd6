"""Sizes, places, masses and speeds that can hardly be meant: told with the unit in which they would fit.

What is odd on its own is a caution; where a file is at fault anyway, what is odd in it is told first, for the
faults of other keys may come of it alone. All bounds are far from what is built (chosen, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from models import units_out as say
from models.gravity import GRAVITY
from models.wing.draft import Array, FileDraft, Location, mm
from models.wing.faults import Fault, as_written, path_of
from models.wing.parts import Planform, Wing
from models.wing.schema import CapTable, WingFile
from models.wing.slips import Rule, hint, usual_unit


@dataclass(frozen=True)
class Odd:
    """A value that can hardly be meant.

    Parameters
    ----------
    location : Location
        Its key.
    expected : str
        The rest of the sentence that the value begins.
    far : bool
        So far out that faults of other keys are taken as its consequence.
    absurd : bool
        Beyond anything that could be meant: a fault, not a caution.
    """

    location: Location
    expected: str
    far: bool
    absurd: bool


_FAR, _ABSURD = 1.5, 10.0
"""How many times a bound is passed where other faults are no longer told, and where it is a fault itself."""


def oddities(draft: FileDraft, file: WingFile) -> tuple[Odd, ...]:
    """Everything in a file that can hardly be meant, in the order of its keys.

    Parameters
    ----------
    draft : FileDraft
        The file being read, for its own words.
    file : WingFile
        Its checked shape.

    Returns
    -------
    tuple of Odd
    """
    usual = usual_unit(draft.raw)
    found = []
    for location, value, low, high, kind, why in _rules(file):
        if low <= value <= high:
            continue
        far = value < low / _FAR or value > high * _FAR
        absurd = value < low / _ABSURD or value > high * _ABSURD
        raw = draft.raw_at(location)
        offered = hint(raw, low, high, usual if kind == "length" else "", kind=kind, digits=kind == "length")
        found.append(Odd(location, f"is {why}{offered or '.'}", far, absurd))
    return tuple(found)


def blamed(draft: FileDraft, odd: tuple[Odd, ...]) -> list[Fault]:
    """The faults of a file with what is odd in it in front; those that follow from it left out.

    Parameters
    ----------
    draft : FileDraft
        The file with its faults.
    odd : tuple of Odd
        What is odd in it.

    Returns
    -------
    list of Fault
    """
    told = {fault.key_path for fault in draft.faults}
    new = [one for one in odd if path_of(one.location) not in told]
    if not draft.faults or not new:
        return list(draft.faults)
    first = draft.faults[0]
    rest = f" Read as it stands, {first.key_path} {first.expected}" if first.key_path else ""
    far = [one for one in new if one.far]
    words = [
        Fault(
            path_of(one.location),
            as_written(draft.raw_at(one.location)),
            f"{one.expected}{rest}" if far and one is far[0] else one.expected,
        )
        for one in (far or new)
    ]
    own = {path_of(one.location) for one in odd}
    return words + [fault for fault in draft.faults if not far or fault.key_path in own]


def refuse_absurd(draft: FileDraft, odd: tuple[Odd, ...]) -> None:
    """Note what is beyond anything that could be meant, where nothing else is at fault with it.

    Parameters
    ----------
    draft : FileDraft
        Where faults go.
    odd : tuple of Odd
        What is odd in the file.
    """
    for one in odd:
        if one.absurd:
            draft.note(one.location, one.expected)


def sentences(draft: FileDraft, odd: tuple[Odd, ...]) -> list[str]:
    """What is odd in a file that is read all the same, as cautions."""
    return [
        f"{path_of(one.location)}: {as_written(draft.raw_at(one.location))} {one.expected}"
        f"{draft.place(one.location)}"
        for one in odd
    ]


def too_slow(draft: FileDraft, file: WingFile, area: float, greatest_lift: float) -> str:
    """Note a speed of the load case that no lift coefficient makes fly; what only stalls is a caution.

    Parameters
    ----------
    draft : FileDraft
        Where the fault goes.
    file : WingFile
        Its checked shape.
    area : float
        Of the whole wing, m2.
    greatest_lift : float
        Lift coefficient at which it stalls.

    Returns
    -------
    str
        The caution, or nothing. The mass is the flying mass, else that of the entries of [[masses]] alone, so
        that the lift coefficient is no more than what is wanted.
    """
    case = file.case
    mass = case.mass or sum(one.mass * (2 if one.paired else 1) for one in file.masses)
    if case.speed is None or not mass:
        return ""
    load_factor = case.load_factor or 1.0
    if case.radius is not None:
        load_factor = 1 + case.speed**2 / (GRAVITY * case.radius)
    weight = mass * GRAVITY
    pressure = case.air_density * area / 2
    wanted = load_factor * weight / (pressure * case.speed**2)
    if wanted <= greatest_lift * 1.001:
        return ""
    least = float(np.sqrt(weight / (pressure * greatest_lift)))
    words = (
        f"is too slow for {load_factor:.3g} g: it asks for a lift coefficient of {wanted:.3g}, and the wing "
        f"stalls at {greatest_lift:.3g} (flight.max_lift_coefficient)"
    )
    if wanted > _SLOTTED:
        offered = hint(draft.raw_at(("case", "speed")), least, 15 * least, "", kind="speed")
        draft.note(("case", "speed"), f"{words}; level flight needs {say.speed(least):.3g} or more{offered}")
        return ""
    where = ("case", "speed")
    return f"case.speed: {as_written(draft.raw_at(where))} {words}.{draft.place(where)}"


_SLOTTED = 4.0
"""Lift coefficient that no wing has, slots and flaps and all (chosen, no source)."""

_STEEP, _STEEPEST_SWEEP = float(np.tan(np.radians(45))), float(np.tan(np.radians(60)))


def _rules(file: WingFile) -> Iterator[Rule]:
    stations = file.planform.stations
    if np.any(np.diff([station.y for station in stations]) <= 0):
        return
    chords = np.array([station.chord for station in stations])
    chord, semispan = float(np.median(chords)), stations[-1].y
    area = _area(file)
    yield from _outline(file)
    yield from _stations(file)
    yield from _parts(file, chord, semispan)
    yield from _hung(file, chord, semispan, area)
    yield from _flown(file, chord, semispan)


def _area(file: WingFile) -> float:
    """Of the whole wing, flat, m2."""
    y = np.array([station.y for station in file.planform.stations])
    chords = np.array([station.chord for station in file.planform.stations])
    return float(np.sum(np.diff(y) * (chords[1:] + chords[:-1])))


def _outline(file: WingFile) -> Iterator[Rule]:
    at: Location = ("planform", "stations")
    stations = file.planform.stations
    y = np.array([station.y for station in stations])
    chords = np.array([station.chord for station in stations])
    aft, up = [0.0], stations[0].height or 0.0
    yield from _chords(y, chords)
    for i, station in enumerate(stations):
        here = (*at, i)
        if 0 < i < len(stations) - 1:
            yield (
                (*here, "y"),
                station.y,
                0.01 * y[-1],
                y[-1],
                "length",
                (f"hardly off the centre line of a semispan of {mm(float(y[-1]))}"),
            )
        if i == 0:
            continue
        step = float(y[i] - y[i - 1])
        for key, angle, steep, what in (
            ("leading_edge", station.sweep, _STEEPEST_SWEEP, "sweeps"),
            ("height", station.dihedral, _STEEP, "raises"),
        ):
            given = getattr(station, key)
            before = aft[-1] if key == "leading_edge" else up
            if angle is not None:
                word = "sweep" if key == "leading_edge" else "dihedral"
                most = float(np.arctan(steep))
                size = f"more than {np.degrees(most):.0f} degrees, which hardly a wing has"
                yield (*here, word), abs(angle), 0.0, most, "angle", size
                now = before + step * float(np.tan(np.clip(angle, -1.39, 1.39)))
            else:
                now = before if given is None else given
            if given is not None and angle is None:
                yield (
                    (*here, key),
                    abs(now - before),
                    0.0,
                    steep * step,
                    "length",
                    (
                        f"{mm(abs(now - before))} from where the panel begins, {mm(step)} inboard: it {what} "
                        f"it by {np.degrees(np.arctan2(abs(now - before), step)):.0f} degrees"
                    ),
                )
            if key == "leading_edge":
                aft.append(now)
            else:
                up = now
    for i in range(1, len(stations) - 1):
        if i != _bent(y, np.array(aft)):
            continue
        off, most = float(np.interp(y[i], np.delete(y, i), np.delete(aft, i))), 0.35 * float(chords[i])
        if stations[i].leading_edge is not None:
            yield (
                (*at, i, "leading_edge"),
                aft[i],
                off - most,
                off + most,
                "length",
                (f"far from the line between its neighbours, {mm(off)}"),
            )


def _bent(y: Array, x: Array) -> int:
    """Place of the point without which a line along the span sweeps least."""
    slopes = [np.abs(np.diff(np.delete(x, k)) / np.diff(np.delete(y, k))).max() for k in range(1, len(y))]
    return 1 + int(np.argmin(slopes))


def _chords(y: Array, chords: Array) -> Iterator[Rule]:
    """The chord that stands out most from those beside it."""
    at: Location = ("planform", "stations")
    n = len(y)
    rest = [np.delete(chords, i) for i in range(n)]
    # The one without which the others agree best; of two, the one that does not go with the span.
    i = int(np.argmin([left.max() / left.min() for left in rest]))
    if n == 2:
        i = int(np.argmax([abs(np.log(y[-1] / chord / 5.0)) for chord in chords]))
        if 1.0 <= y[-1] / chords[i] <= 25.0 and chords.max() < 8 * chords.min():
            return
    chord = float(chords[i])
    if 0 < i < n - 1:
        other = float(np.interp(y[i], np.delete(y, i), rest[i]))
        low, high = other / 3, 3 * other
    else:
        other = float(chords[1] if i == 0 else chords[-2])
        low, high = (other / 6, 6 * other) if n == 2 else (other / (12 if i else 3), 4 * other)
    why = f"{say.plain(chord / other, 2)} times the chord beside it, {mm(other)}"
    yield (*at, i, "chord"), chord, low, high, "length", why


def _stations(file: WingFile) -> Iterator[Rule]:
    """A tip that the ribs do not nearly reach; a rib beside its place."""
    ribs = file.ribs.stations or ([file.ribs.to] if file.ribs.to is not None else [])
    count, tip_y = file.ribs.count, file.planform.stations[-1].y
    chord = float(np.median([station.chord for station in file.planform.stations]))
    if count is not None:
        apart = ((file.ribs.to or tip_y) - (file.ribs.from_ or 0.0)) / (count - 1)
        if apart > 0:
            yield (
                ("ribs", "count"),
                1 / apart,
                0.0,
                20 / chord,
                "",
                (f"many: it puts ribs {mm(apart)} apart on a chord of {mm(chord)}"),
            )
    last, tip = (ribs or [0.0])[-1], file.planform.stations[-1].y
    tip_at: Location = ("planform", "stations", len(file.planform.stations) - 1, "y")
    yield tip_at, tip, _STUBBY * chord, _SLENDER * chord, "length", f"odd beside a chord of {mm(chord)}"
    if not len(ribs) or np.any(np.diff(ribs) <= 0) or last > tip:
        return
    if last:
        yield (
            tip_at,
            tip,
            last,
            2 * last,
            "length",
            (f"far beyond the outermost rib at {mm(last)}"),
        )
    gaps = np.diff(ribs)
    if len(gaps) < 4 or np.any(gaps <= 0):
        return
    usual = float(np.median(gaps))
    for i in range(1, len(ribs) - 1):
        short, long = sorted((float(gaps[i - 1]), float(gaps[i])))
        if short < 0.2 * usual and long > 1.5 * usual:
            low, high = ribs[i - 1] + 0.2 * usual, ribs[i + 1] - 0.2 * usual
            yield (
                ("ribs", "stations", i),
                ribs[i],
                low,
                high,
                "length",
                (
                    f"{mm(short)} from the rib beside it and {mm(long)} from the other, where {mm(usual)} "
                    "are usual"
                ),
            )


def _parts(file: WingFile, chord: float, semispan: float) -> Iterator[Rule]:
    def size(location: Location, value: float | None, low: float, share: float, what: str) -> Iterator[Rule]:
        if value is None:
            return
        high = share * chord
        low = min(low, 0.005 * chord)
        why = f"odd for {what}: between {mm(low)} and {mm(high)} would be usual"
        yield location, value, low, max(high, 2 * low), "length", why

    def cap(location: Location, table: CapTable) -> Iterator[Rule]:
        for key, low, share in (("width", 0.9e-3, 0.2), ("height", 0.2e-3, 0.1)):
            for value in set(getattr(table, key)):
                yield from size((*location, key), value, low, share, "a cap")
            for k, step in enumerate(table.steps):
                yield from size((*location, "steps", k, key), getattr(step, key), low, share, "a cap")

    ribs = file.ribs
    yield from size(("ribs", "thickness"), ribs.thickness, 0.3e-3, 0.05, "a rib")
    if ribs.post is not None:
        yield from size(("ribs", "post", "thickness"), ribs.post.thickness, 0.3e-3, 0.15, "a post")
    if ribs.cap_strip is not None:
        strip = ribs.cap_strip
        yield from size(("ribs", "cap_strip", "width"), strip.width, 1e-3, 0.12, "a cap strip")
        yield from size(("ribs", "cap_strip", "thickness"), strip.thickness, 0.2e-3, 0.025, "a cap strip")
    for i, exception in enumerate(ribs.exceptions):
        yield from size(("ribs", "exceptions", i, "thickness"), exception.thickness, 0.3e-3, 0.05, "a rib")
    for i, spar in enumerate(file.spars):
        for name in ("caps", "upper_cap", "lower_cap"):
            table = getattr(spar, name)
            if table is not None:
                yield from cap(("spars", i, name), table)
        for j, web in enumerate(spar.webs):
            yield from size(("spars", i, "webs", j, "thickness"), web.thickness, 0.2e-3, 0.1, "a web")
    for i, sheet in enumerate(file.sheeting):
        yield from size(("sheeting", i, "thickness"), sheet.thickness, 0.2e-3, 0.025, "a sheet")
    for key, width in (("leading_edge", 0.2), ("trailing_edge", 0.35)):
        stick = getattr(file, key)
        if stick is not None:
            yield (
                (key, "width"),
                stick.width,
                0.012 * chord,
                width * chord,
                "length",
                (f"odd for an edge: between {mm(0.012 * chord)} and {mm(width * chord)} would be usual"),
            )
            yield from size((key, "height"), stick.height, 0.4e-3, 0.2, "an edge")
    for i, brace in enumerate(file.braces):
        yield from size(("braces", i, "thickness"), brace.thickness, 0.3e-3, 0.06, "a brace")
        yield (
            ("braces", i, "to"),
            brace.to,
            0.02 * semispan,
            0.6 * semispan,
            "length",
            (f"odd for a brace of a semispan of {mm(semispan)}"),
        )
    for i, one in enumerate(file.joiners):
        yield (
            ("joiners", i, "reach"),
            one.reach,
            0.02 * semispan,
            0.6 * semispan,
            "length",
            (f"odd for a joiner of a semispan of {mm(semispan)}"),
        )
    for i, rail in enumerate(file.rails):
        for key in ("width", "height"):
            yield from size(("rails", i, key), getattr(rail, key), 2e-3, 0.15, "a rail")
        yield from size(("rails", i, "tie_thickness"), rail.tie_thickness, 0.3e-3, 0.04, "a tie")
        for key in ("x_front", "x_rear"):
            yield (
                ("rails", i, key),
                abs(getattr(rail, key)),
                0.0,
                4.0 * chord,
                "length",
                (f"far from a wing whose chord is {mm(chord)}"),
            )
        if rail.bolts is not None:
            for key, low, high in (("hole", 1e-3, 15e-3), ("along", 4e-3, chord)):
                yield (
                    ("rails", i, "bolts", key),
                    getattr(rail.bolts, key),
                    low,
                    high,
                    "length",
                    (f"odd for an engine's bolts: between {mm(low)} and {mm(high)} would be usual"),
                )


_STUBBY, _SLENDER = 0.5, 50.0
"""Semispan over the chord, least and most that is not odd (chosen, no source)."""
_HEAVY = 40.0
"""Mass over the area of the wing, kg/m2: several times what models of any kind have (chosen, no source)."""


def _hung(file: WingFile, chord: float, semispan: float, area: float) -> Iterator[Rule]:
    heaviest = _HEAVY * area
    why = f"heavy for a wing of {100 * area:.3g} dm2: more than {heaviest:.3g} kg on it alone"
    if not _STUBBY * chord <= semispan <= _SLENDER * chord:
        heaviest = np.inf  # the span is told
    if file.case.mass is not None:
        yield ("case", "mass"), file.case.mass, 0.0, heaviest, "mass", why
    size = max(chord, semispan)
    for i, mass in enumerate(file.masses):
        here: Location = ("masses", i)
        yield (*here, "mass"), mass.mass, 0.0, heaviest, "mass", why
        for key, reach in (("x", 1.5 * size), ("z", max(1.5 * chord, 0.5 * semispan))):
            yield (
                (*here, key),
                abs(getattr(mass, key)),
                0.0,
                reach,
                "length",
                (f"far from a wing of {mm(chord)} chord and {mm(semispan)} semispan"),
            )
        if mass.carried_by == "rails" and file.rails:
            front = min(rail.x_front for rail in file.rails) - chord
            rear = max(rail.x_rear for rail in file.rails) + chord
            if abs(mass.x) <= 1.5 * size:
                yield (
                    (*here, "x"),
                    mass.x,
                    front,
                    rear,
                    "length",
                    (f"far beyond the rails that carry it, {mm(front + chord)} to {mm(rear - chord)}"),
                )
    engine = file.engine
    named = [] if engine is None else [mass for mass in file.masses if mass.name == engine.name]
    if engine is not None and named and all(mass.mass <= heaviest for mass in file.masses):
        yield ("engine", "rpm"), engine.rpm, 30.0, 8e3, "rate of turn", "odd for a propeller"
        weight = 9.8 * sum(mass.mass * (2 if mass.paired else 1) for mass in file.masses)
        yield (
            ("engine", "thrust"),
            engine.thrust,
            0.01 * weight,
            10 * weight,
            "force",
            (f"odd beside the weight of all masses of this file, {weight:.3g} N"),
        )
        if engine.propeller_diameter is not None:
            diameter = engine.propeller_diameter
            yield (
                ("engine", "propeller_diameter"),
                diameter,
                0.1 * chord,
                2.5 * chord,
                "length",
                (f"odd beside a chord of {mm(chord)}"),
            )
            if 0.1 * chord <= diameter <= 2.5 * chord and engine.power is not None:
                disc = np.pi / 4 * diameter**2
                least = float(engine.thrust**1.5 / np.sqrt(2 * 1.225 * disc))
                yield (
                    ("engine", "power"),
                    engine.power,
                    0.8 * least,
                    30 * least,
                    "power",
                    (f"odd beside the thrust: the least power for it is {least:.3g} W (momentum theory)"),
                )
        if engine.propeller_mass is not None:
            yield (
                ("engine", "propeller_mass"),
                engine.propeller_mass,
                1e-3 * named[0].mass,
                named[0].mass,
                "mass",
                (f"odd beside the whole engine's, {1e3 * named[0].mass:.4g} g"),
            )
    cover = file.covering
    if cover is not None:
        for here, piece in (
            (("covering",), cover), *((("covering", "pieces", i), p) for i, p in enumerate(cover.pieces))
        ):  # fmt: skip
            if piece.mass_per_area is not None:
                yield (
                    (*here, "mass_per_area"),
                    piece.mass_per_area,
                    5e-4,
                    0.4,
                    "mass per area",
                    ("odd for a covering: between 0.5 and 400 g/m2 would be usual"),
                )
            if piece.thickness is not None:
                yield (
                    (*here, "thickness"),
                    piece.thickness,
                    5e-7,
                    5e-4,
                    "length",
                    ("odd for a covering: 0.5 mm at most would be usual"),
                )


_TIMES_WEIGHT = {
    "launch": ("hand_push", "tow_load_factor"),
    "landing": ("tip_force", "belly_load_factor", "leg_load_factor", "carrying_load_factor"),
    "engine": ("vibration", "nose_over", "hard_landing"),
    "elevons": ("load_factor",),
}
"""Keys that are told in weights."""


def _flown(file: WingFile, chord: float, semispan: float) -> Iterator[Rule]:
    case = file.case
    for at, value in (
        (("case", "speed"), case.speed),
        (("flight", "cruise_speed"), file.flight.cruise_speed if file.flight else None),
        (("flight", "never_exceed_speed"), file.flight.never_exceed_speed if file.flight else None),
        (("elevons", "speed"), file.elevons.speed if file.elevons else None),
    ):
        if value is not None:
            yield at, value, 1.0, 110.0, "speed", "odd for a model: between 1 and 110 m/s would be usual"
    for at, density in (
        (("case", "air_density"), case.air_density),
        (("flight", "air_density"), file.flight.air_density if file.flight else None),
    ):
        if density is not None:
            yield at, density, 0.3, 2.0, "density", "not the density of air: about 1.2 kg/m3 near the ground"
    if case.load_factor is not None:
        yield ("case", "load_factor"), case.load_factor, 0.0, 100.0, "", "more than any model is flown to"
    elif case.speed is not None and case.radius is not None:
        load_factor = 1 + case.speed**2 / (9.81 * case.radius)
        if load_factor > 100 and case.speed <= 110:
            yield (
                ("case", "radius"),
                case.radius,
                case.radius * load_factor / 100,
                np.inf,
                "length",
                (f"so small that the pull-up has {load_factor:.0f} g, more than any model is flown to"),
            )
    if case.moment_coefficient is not None:
        yield (
            ("case", "moment_coefficient"),
            abs(case.moment_coefficient),
            0.0,
            0.5,
            "",
            ("more than any aerofoil has"),
        )
    for name, keys in _TIMES_WEIGHT.items():
        table = getattr(file, name)
        for key in keys if table is not None else ():
            if (times := getattr(table, key)) is not None:
                yield (name, key), times, 0.0, 30.0, "", "more times the weight than anything survives"
    elevons = file.elevons
    if elevons is not None and 0 < elevons.hinge < 1 and elevons.from_ < elevons.to:
        yield ("elevons", "hinge"), elevons.hinge, 0.05, 0.95, "", "hardly within the chord"
        yield (
            ("elevons", "to"),
            elevons.to,
            elevons.from_ + 0.05 * semispan,
            np.inf,
            "length",
            (f"only {mm(max(elevons.to - elevons.from_, 0.0))} from where they begin"),
        )


_RISE = 0.005
"""Of the chord by which a section's tail lies off its axis, or its mean line below, untold (chosen)."""


def beyond(wing: Wing, outline: Planform) -> Iterator[str]:
    """Cautions of what is odd only as it is laid: sheets no wider than the stick that they lie on."""
    for i, (upper, lower) in enumerate(zip(outline.section_upper, outline.section_lower)):
        if i and np.array_equal(upper, outline.section_upper[i - 1]):
            continue
        line = (upper + lower) / 2
        tail = float(line[-1])
        if abs(tail) > _RISE:
            yield (
                f"The section of planform.stations[{i}] is turned against its x axis by "
                f"{np.degrees(np.arctan(abs(tail))):.1f} degrees, its tail "
                f"{'above' if tail > 0 else 'below'} its nose: taken as drawn, beside the washout."
            )
        straight = outline.section_x * tail
        if float((line - straight).mean()) < -_RISE:
            yield (
                f"The section of planform.stations[{i}] is cambered downward by "
                f"{100 * float((straight - line).max()):.1f} % of the chord: is it upside down?"
            )
    for n, rib in enumerate(wing.ribs, 1):
        if 0 < rib.cap_strip_width < rib.thickness * (1 - 1e-6):
            yield (
                f"The cap strips of {mm(rib.cap_strip_width)} are narrower than rib {n}, {mm(rib.thickness)} "
                "thick."
            )
            break
    y = np.linspace(0.0, wing.semispan, 9)
    leading = next((edge for edge in wing.edges if edge.kind == "leading"), None)
    if leading is None:
        return
    for sheet in wing.sheets:
        wide = sheet.x_to.at(y) - sheet.x_from.at(y)
        if sheet.from_leading_edge and sheet.surface == "upper" and np.all(wide <= leading.width):
            yield (
                f"A sheet from the leading edge is {mm(float(wide.max()))} wide at most and lies on the "
                f"leading edge's stick, {mm(leading.width)} wide, alone."
            )
