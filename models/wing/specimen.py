"""A specimen file's rules, and its `Wing`: one spar or a box of several, clamped, under a bench load."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

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
    outermost_web,
    spar_names,
    webs,
)
from models.wing.parts import Layer, Line, LoadCase, Rib, Sheet, Spar, Wing
from models.wing.room import check_room
from models.wing.schema import SheetTable, SpecimenFile
from models.wing.units import QuantityError, read_quantity

LEAST_LOAD = 1e-3
"""N or N m below which a bench loads nothing: a tenth of a gram (a judgement, no source)."""


def specimen(draft: FileDraft, file: SpecimenFile, source: str, name: str) -> Wing:
    """Wing of a specimen file; faults go to the draft, and with any of them the result is worth nothing.

    Parameters
    ----------
    draft : FileDraft
        The file being read.
    file : SpecimenFile
        Its checked shape.
    source : str
        The file's name.
    name : str
        Name to take where the file gives none.

    Returns
    -------
    Wing
        Root "clamped", planform None, bays from 1 to the number of ribs.
    """
    length = file.specimen.length
    n_faults = len(draft.faults)
    stations = _stations(draft, file)
    edges, known = np.concatenate([[0.0], stations]), len(draft.faults) == n_faults
    bays = BayRow(edges, 1, len(stations), ("starboard",), "specimen", known)
    spar_names(draft, file.spars)
    spars = _spars(draft, file, bays)
    clear_of_each_other(draft, [(i, *_faces(spar)) for i, spar in enumerate(spars)], length)
    wing = Wing(
        name=file.name or name,
        source=source,
        root="clamped",
        semispan=length,
        planform=None,
        spars=spars,
        ribs=_ribs(draft, file, stations),
        sheets=tuple(
            sheet
            for i, table in enumerate(file.sheeting)
            for sheet in _sheets(draft, table, ("sheeting", i), spars, bays)
        ),
        edges=(),
        braces=(),
        rails=(),
        masses=(),
        case=_case(draft, file),
        layouts=layouts(
            draft,
            file.layouts,
            {spar.name: length for spar in spars},
            {spar.name: (spar.upper.width, spar.lower.width) for spar in spars},
            bays,
        ),
    )
    return wing if draft.faults else replace(wing, cautions=check_room(draft, file, wing, bays))


def _stations(draft: FileDraft, file: SpecimenFile) -> Array:
    """Where ribs are asked for, the last at the tip."""
    length, table = file.specimen.length, file.ribs
    if (table.stations is None) == (table.pitch is None):
        draft.note(("ribs",), "needs either stations or a pitch.")
        return np.array([length])
    if table.pitch is not None:
        if table.pitch > length + TOUCHING:
            draft.note(("ribs", "pitch"), f"is more than the length of the specimen, {mm(length)}.")
            return np.array([length])
        if length / table.pitch > 1000:
            draft.note(("ribs", "pitch"), f"makes more than 1000 ribs; give {mm(length / 1000)} or more.")
            return np.array([length])
        whole = np.arange(1, int(length / table.pitch + 1e-9) + 1) * table.pitch
        if length - whole[-1] > TOUCHING:
            whole = np.append(whole, length)
        whole[-1] = length
        stations = np.asarray(whole, dtype=float)
        key: Location = ("ribs", "pitch")
    else:
        stations = np.array(table.stations)
        for i in range(1, len(stations)):
            if stations[i] <= stations[i - 1]:
                draft.note(
                    ("ribs", "stations", i),
                    f"is out of order; the rib before it stands at {mm(stations[i - 1])}, and ribs are "
                    "listed from "
                    "the clamp outward.",
                )
                return np.array([length])
        if len(stations) == 0 or abs(stations[-1] - length) > TOUCHING:
            draft.note(
                ("ribs", "stations"),
                f"must end at the tip, {mm(length)}: the load goes in through a rib there.",
            )
            return np.array([length])
        key = ("ribs", "stations")
    if np.any(np.diff(np.concatenate([[0.0], stations])) <= table.thickness):
        draft.note(key, f"leaves no clear bay between ribs that are {mm(table.thickness)} thick.")
    return stations


def _ribs(draft: FileDraft, file: SpecimenFile, stations: Array) -> tuple[Rib, ...]:
    table = file.ribs
    material = draft.shelf.find(table.wood, "ribs", "wood")
    post = table.post
    post_wood = draft.shelf.find(post.wood, "ribs", "post", "wood") if post.wood is not None else material
    middles = stations.copy()
    if table.last_rib_flush:
        middles[-1] -= table.thickness / 2
    return tuple(
        Rib(
            y=float(y),
            thickness=table.thickness,
            material=material,
            grain=table.grain,
            panel="between spars" if len(file.spars) > 1 else "none",
            post_thickness=post.thickness or table.thickness,
            post_material=post_wood,
            post_grain=post.grain,
        )
        for y in middles
    )


def _spars(draft: FileDraft, file: SpecimenFile, bays: BayRow) -> tuple[Spar, ...]:
    length = file.specimen.length
    root, tip = file.specimen.depth
    half = Line(np.array([0.0, length]), np.array([root / 2, tip / 2]))
    found = []
    for i, table in enumerate(file.spars):
        here: Location = ("spars", i)
        made = caps(draft, table, here, length)
        if made is None:
            continue
        (upper, upper_at), (lower, _) = made
        if max(upper.width.value.max(), lower.width.value.max()) > length:
            draft.note((*upper_at, "width"), f"is wider than the specimen is long, {mm(length)}.")
            continue
        y = np.unique(np.concatenate([[0.0, length], _points(upper.layers), _points(lower.layers)]))
        y = np.clip(np.concatenate([y, y + TOUCHING]), 0.0, length)
        filled = upper.height(y) + lower.height(y)
        tight = np.flatnonzero(filled >= 2 * half.at(y) - TOUCHING)
        if len(tight):
            at = tight[0]
            draft.note(
                (*upper_at, "height"),
                f"is too tall: at y = {mm(y[at])} the caps take {mm(filled[at])} of a depth of "
                f"{mm(2 * float(half.at(y[at])))}.",
            )
        found.append(
            Spar(
                name=table.name,
                x=Line.constant(table.x),
                z_upper=half,
                z_lower=Line(half.y, -half.value),
                upper=upper,
                lower=lower,
                webs=webs(draft, table.webs, (*here, "webs"), bays, length, (upper.width, lower.width)),
                y_end=length,
            )
        )
    return tuple(found)


def _points(layers: tuple[Layer, ...]) -> Array:
    return np.concatenate([layer.height.y for layer in layers])


def _faces(spar: Spar) -> tuple[str, Array, Array]:
    y = np.linspace(0.0, spar.y_end, 41)
    half = np.maximum(spar.upper.width.at(y), spar.lower.width.at(y)) / 2
    return spar.name, spar.x.at(y) - half, spar.x.at(y) + half


def _sheets(
    draft: FileDraft, table: SheetTable, location: Location, spars: tuple[Spar, ...], bays: BayRow
) -> list[Sheet]:
    if not spars:
        return []
    where = bays.where(draft, location, table.bays, table.side)
    front = _edge(draft, (*location, "from"), table.from_, f"{spars[0].name} front", spars, where)
    rear = _edge(draft, (*location, "to"), table.to, f"{spars[-1].name} rear", spars, where)
    material = draft.shelf.find(table.wood, *location, "wood")
    if front is None or rear is None:
        return []
    if np.any(rear.value <= front.at(rear.y) + TOUCHING):
        draft.note((*location, "to"), "does not lie behind the front edge.")
    surfaces = ("upper", "lower") if table.surface == "both" else (table.surface,)
    return [
        Sheet(surface, front, rear, False, table.thickness, material, table.grain, where)
        for surface in surfaces
    ]


def _edge(
    draft: FileDraft,
    location: Location,
    text: str | None,
    otherwise: str,
    spars: tuple[Spar, ...],
    where: frozenset[tuple[str, int]],
) -> Line | None:
    """Line of a sheet's edge: a spar's middle, or its outermost face with the webs of the sheeted bays."""
    text = otherwise if text is None else text
    try:
        read_quantity(text, "fraction")
    except QuantityError:
        pass
    else:
        draft.note(location, "is no line of a specimen, which has no chord; name a spar.")
        return None
    name, sign = text, 0.0
    for word, direction in ((" front", -1.0), (" rear", 1.0)):
        if text.endswith(word):
            name, sign = text.removesuffix(word), direction
    by_name = {spar.name: spar for spar in spars}
    if not known_spar(draft, location, name, by_name):
        return None
    return face_line(by_name[name], sign, where, np.array([0.0, spars[0].y_end]))


def face_line(spar: Spar, sign: float, where: frozenset[tuple[str, int]], y: Array) -> Line:
    """Middle (sign 0), outermost front (-1) or rear (1) face of a spar along the span.

    Parameters
    ----------
    spar : Spar
        The spar.
    sign : float
        -1, 0 or 1.
    where : frozenset of (str, int)
        Sides and bays whose webs count.
    y : (n,) float array
        Stations of the line, m.

    Returns
    -------
    Line
        x, m.
    """
    if sign == 0:
        return Line(y, spar.x.at(y))
    # Each point twice, just inboard and just outboard of it, so that a step of the caps stays a step.
    y = np.unique(np.concatenate([y, spar.upper.width.y, spar.lower.width.y]))
    beside = np.stack([y, y + 1e-9], axis=1).ravel()
    half = np.maximum(spar.upper.width.at(beside), spar.lower.width.at(beside)) / 2
    web = outermost_web(spar.webs, "front" if sign < 0 else "rear", where)
    value = spar.x.at(beside) + sign * (half + web)
    step = np.concatenate([[False], np.abs(np.diff(value)) > 1e-12])
    keep = step | (np.arange(len(beside)) % 2 == 0)
    return Line(np.repeat(y, 2)[keep], value[keep])


def _case(draft: FileDraft, file: SpecimenFile) -> LoadCase:
    case = file.case
    names = [spar.name for spar in file.spars]
    if abs(case.tip_force) < LEAST_LOAD and abs(case.tip_torque) < LEAST_LOAD:
        draft.note(
            ("case",), "has no load; give a tip_force or a tip_torque, of a thousandth N or N m at least."
        )
    if case.tip_spar is not None:
        known_spar(draft, ("case", "tip_spar"), case.tip_spar, names)
    return LoadCase(
        name=case.name,
        kind="bench",
        tip_force=case.tip_force,
        tip_torque=case.tip_torque,
        tip_spar=case.tip_spar if case.tip_spar is not None else names[0],
    )
