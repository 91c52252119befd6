"""What both kinds of file share while they are read: faults, bays, caps, webs and layouts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NoReturn

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.wing import places
from models.wing.faults import FaultList, WingFileError, did_you_mean, path_of
from models.wing.flush import miss
from models.wing.parts import Cap, Layer, Layout, Line, Web
from models.wing.schema import CapTable, LayoutTable, WebTable
from models.wing.stock import WoodShelf

Location = tuple[str | int, ...]
Widths = tuple[Line, Line]
TOUCHING = 1e-7
"""Lengths closer than this are the same place, m."""


@dataclass
class FileDraft:
    """A file being read: its raw data, the faults found so far, its woods."""

    raw: dict[str, Any]
    faults: FaultList
    shelf: WoodShelf
    source: str
    not_assumed: set[str] = field(default_factory=set)
    sections_read: bool = True
    odd: tuple[Any, ...] = ()
    """What can hardly be meant, `odd.Odd`: told before the faults that may come of it."""
    text: str = ""
    """The file, to tell lines of it."""
    last_rib: float = 0.0
    """Where the outermost rib of a list stands, m; 0 where the file counts ribs."""

    def give_up(self) -> NoReturn:
        """Raise what was found so far, where going on would only find faults that follow from it."""
        from models.wing.odd import blamed  # it needs this file

        raise WingFileError(self.source, blamed(self, self.odd))

    def note(self, location: Location, expected: str, *, value: object = None) -> None:
        """Note a fault; without a value that of the raw file at the location is shown."""
        self.faults.add(path_of(location), self.raw_at(location) if value is None else value, expected)

    def called(self, location: Location) -> str:
        """A part at the beginning of a sentence, with its line: "Front spar, first brace (line 104)"."""
        return places.called(path_of(location), self.raw, places.lines(self.text))

    def place(self, location: Location) -> str:
        """Where a key stands, in brackets: " (line 34: front spar, second web)"; nothing if not known."""
        words = places.place(path_of(location), self.raw, places.lines(self.text))
        return f" ({words})" if words else ""

    def raw_at(self, location: Location) -> Any:
        """What the raw file has at a location; None where it is a table, or nothing."""
        here: Any = self.raw
        for step in location:
            try:
                here = here[step]
            except (KeyError, IndexError, TypeError):
                return None
        return None if isinstance(here, dict) else here


@dataclass(frozen=True)
class BayRow:
    """The bays of one side: their edges, the number of the innermost, the sides that there are.

    `known` is false where the ribs themselves are at fault: then no choice of bays is.
    """

    edges: Array
    first: int
    n_ribs: int
    sides: tuple[str, ...]
    what: str
    known: bool = True

    @property
    def last(self) -> int:
        """Number of the outermost bay."""
        return self.first + len(self.edges) - 2

    def inner(self, bay: int) -> float:
        """Inner edge of a bay, m."""
        return float(self.edges[bay - self.first])

    def outer(self, bay: int) -> float:
        """Outer edge of a bay, m."""
        return float(self.edges[bay - self.first + 1])

    def reach(self, bay: int) -> tuple[float, float]:
        """Both edges of a bay, m."""
        return self.inner(bay), self.outer(bay)

    def where(
        self, draft: FileDraft, location: Location, bays: tuple[int, ...], side: str
    ) -> frozenset[tuple[str, int]]:
        """Sides and bays that an entry's `bays` and `side` mean together; faults as by `chosen`.

        Parameters
        ----------
        draft : FileDraft
            Where faults go.
        location : Location
            Of the entry.
        bays, side
            As the file has them.
        """
        sides = self.sides_of(draft, (*location, "side"), side)
        there = self.chosen(draft, (*location, "bays"), bays)
        return frozenset((side, bay) for bay in there for side in sides)

    def chosen(
        self, draft: FileDraft, location: Location, bays: tuple[int, ...], *, y_end: float | None = None
    ) -> tuple[int, ...]:
        """Bays that a choice means, those that are not there noted as faults.

        Parameters
        ----------
        draft : FileDraft
            Where faults go.
        location : Location
            Of the choice.
        bays : tuple of int
            The choice; empty means all (as far as y_end).
        y_end : float, optional
            Where the part that carries them ends, m.

        Returns
        -------
        tuple of int
            Bays that are there.
        """
        there = list(range(self.first, self.last + 1))
        reached = [bay for bay in there if y_end is None or self.outer(bay) <= y_end + TOUCHING]
        if not bays:
            return tuple(reached)
        for bay in bays if self.known else ():
            if bay not in there:
                side = " a side" if len(self.sides) == 2 else ""
                draft.note(
                    location,
                    f"is not a bay of this {self.what}; bays run {self.first} to {self.last} "
                    f"({self.n_ribs} ribs{side}).",
                    value=bay,
                )
                break
            if bay not in reached:
                draft.note(location, f"lies beyond the end of the spar at {mm(y_end or 0.0)}.", value=bay)
                break
        return tuple(bay for bay in bays if bay in reached)

    def sides_of(self, draft: FileDraft, location: Location, side: str) -> tuple[str, ...]:
        """Sides that "both", "port" or "starboard" means here."""
        if side == "both":
            return self.sides
        if side not in self.sides:
            draft.note(location, f"is not there: a {self.what} has no sides; leave the key out.")
            return ()
        return (side,)


def mm(length: float) -> str:
    """A length for a message, in the file's units."""
    return say.quantity(length, "length")


def caps(
    draft: FileDraft, table: Any, location: Location, y_end: float
) -> tuple[tuple[Cap, Location], tuple[Cap, Location]] | None:
    """Upper and lower cap of a spar, each with the place in the file that describes it."""
    found = []
    for name in ("upper_cap", "lower_cap"):
        own = getattr(table, name)
        key = name if own is not None else "caps"
        given = own if own is not None else table.caps
        if given is None:
            draft.note(
                (*location, name), 'is missing; give "caps" for both, or an upper_cap and a lower_cap.'
            )
            return None
        found.append((_cap(draft, given, (*location, key), y_end), (*location, key)))
    if table.caps is not None and table.upper_cap is not None and table.lower_cap is not None:
        draft.note((*location, "caps"), "describes nothing: upper_cap and lower_cap are both given.")
    return found[0], found[1]


def _cap(draft: FileDraft, table: CapTable, location: Location, y_end: float) -> Cap:
    stick = Layer(
        _size(draft, table, "height", location, y_end), draft.shelf.find(table.wood, *location, "wood")
    )
    outer: list[Layer] = []
    inner: list[Layer] = []
    for i, facing in enumerate(table.facings):
        here = (*location, "facings", i)
        height = Line.constant(facing.thickness)
        if facing.to is not None:
            if facing.to > y_end + TOUCHING:
                draft.note((*here, "to"), f"lies beyond the end of the spar at {mm(y_end)}.")
            elif facing.to < y_end - TOUCHING:
                height = Line(
                    np.array([0.0, facing.to, facing.to, y_end]),
                    np.array([facing.thickness, facing.thickness, 0.0, 0.0]),
                )
        layer = Layer(height, draft.shelf.find(facing.wood, *here, "wood"))
        (outer if facing.face == "outer" else inner).append(layer)
    return Cap(_size(draft, table, "width", location, y_end), (*outer, stick, *inner))


def _size(draft: FileDraft, table: CapTable, key: str, location: Location, y_end: float) -> Line:
    """Width or height of a cap's stick: a straight taper, or steps."""
    root, tip = getattr(table, key)
    steps = [(i, s.from_, getattr(s, key)) for i, s in enumerate(table.steps) if getattr(s, key) is not None]
    if not steps:
        return Line.constant(root) if root == tip else Line(np.array([0.0, y_end]), np.array([root, tip]))
    if root != tip:
        draft.note((*location, key), "tapers and has steps too; give one of the two.")
    y, value = [0.0], [root]
    for i, start, size in steps:
        if not y[-1] + TOUCHING < start < y_end - TOUCHING:
            draft.note(
                (*location, "steps", i, "from"),
                f"is out of order; steps run outward, between 0 and the end of the spar at {mm(y_end)}.",
            )
            continue
        y += [start, start]
        value += [value[-1], size]
    return Line(np.array([*y, y_end]), np.array([*value, value[-1]]))


def faces_of(face: str) -> tuple[str, ...]:
    """The faces that "front", "rear", "both" or "between" means."""
    return ("front", "rear") if face == "both" else (face,)


def on_the_face(
    draft: FileDraft, location: Location, what: str, widths: Widths, stretches: Sequence[tuple[float, float]]
) -> None:
    """Note where a plate on the face of a spar misses a cap, once, at the widest gap.

    Parameters
    ----------
    draft : FileDraft
        Where faults go.
    location : Location
        Of the word "front", "rear" or "both".
    what : str
        "web" or "brace".
    widths : (Line, Line)
        Of the upper and the lower cap, m.
    stretches : sequence of (float, float)
        Where the plates begin and end along the span, m.
    """
    found = [gap for gap in (miss(*widths, *stretch) for stretch in stretches) if gap is not None]
    if found:
        draft.note(location, max(found, key=lambda each: each.gap).words(what))


def webs(
    draft: FileDraft,
    tables: Sequence[WebTable],
    location: Location,
    bays: BayRow,
    y_end: float,
    widths: Widths,
) -> tuple[Web, ...]:
    """Webs of a spar, one record for each bay, side and face, from the innermost bay outward.

    Parameters
    ----------
    draft : FileDraft
        Where faults go.
    tables : sequence of WebTable
        The entries of the file.
    location : Location
        Of the list of entries.
    bays : BayRow
        The bays that there are.
    y_end : float
        Where the spar ends, m.
    widths : (Line, Line)
        Of its upper and its lower cap, m.

    Returns
    -------
    tuple of Web
        The records.
    """
    taken: dict[tuple[str, int, str], int] = {}
    found: list[Web] = []
    narrowest = float(min(line.value.min() for line in widths))
    for i, table in enumerate(tables):
        here = (*location, i)
        material = draft.shelf.find(table.wood, *here, "wood")
        if table.face == "between" and table.thickness > narrowest + TOUCHING:
            draft.note((*here, "thickness"), f"does not go between caps that are {mm(narrowest)} wide.")
        told = False
        there = bays.chosen(draft, (*here, "bays"), table.bays, y_end=y_end)
        if table.face != "between" and bays.known:
            on_the_face(draft, (*here, "face"), "web", widths, [bays.reach(bay) for bay in there])
        for bay in there:
            for side in bays.sides_of(draft, (*here, "side"), table.side):
                for face in faces_of(table.face):
                    other = taken.setdefault((side, bay, face), i)
                    if other != i and not told:
                        where = (
                            f"{'between' if face == 'between' else 'on the ' + face + ' face of'} the caps"
                        )
                        which = f"bay {bay} {side}" if len(bays.sides) == 2 else f"bay {bay}"
                        draft.note(
                            (*here, "bays"),
                            f"puts a second web {where} in {which}; "
                            f"{path_of((*location, other))} is there already.",
                        )
                        told = True
                    found.append(Web(bay, side, face, table.thickness, material, table.grain, table.glue))
    return tuple(sorted(found, key=lambda web: (web.bay, web.side, web.face)))


def outermost_web(spar_webs: Sequence[Web], face: str, bays: frozenset[tuple[str, int]]) -> float:
    """Greatest thickness of the webs on one face of a spar in some bays, m."""
    return max(
        (web.thickness for web in spar_webs if web.face == face and (web.side, web.bay) in bays), default=0.0
    )


def layouts(
    draft: FileDraft,
    tables: dict[str, LayoutTable],
    spar_ends: dict[str, float],
    widths: dict[str, Widths],
    bays: BayRow,
) -> tuple[Layout, ...]:
    """Named layouts.

    Parameters
    ----------
    draft : FileDraft
        Where faults go.
    tables : dict of str to LayoutTable
        The file's layouts.
    spar_ends : dict of str to float
        Where each spar ends, m.
    widths : dict of str to (Line, Line)
        Of each spar's upper and lower cap, m; a spar at fault may be missing.
    bays : BayRow
        The bays that there are.

    Returns
    -------
    tuple of Layout
        In the file's order.
    """
    found = []
    for name, table in tables.items():
        chosen: dict[tuple[str, str, int], tuple[str, ...]] = {}
        for i, web in enumerate(table.webs):
            here = ("layouts", name, "webs", i)
            if web.spar is not None and not known_spar(draft, (*here, "spar"), web.spar, spar_ends):
                continue
            for spar in [web.spar] if web.spar is not None else spar_ends:
                # An entry for every spar means, of each, the bays that it reaches.
                y_end = spar_ends[spar]
                there = bays.chosen(draft, (*here, "bays"), web.bays, y_end=y_end if web.spar else None)
                there = tuple(bay for bay in there if bays.outer(bay) <= y_end + TOUCHING)
                if web.face != "between" and spar in widths and bays.known:
                    reaches = [bays.reach(bay) for bay in there]
                    on_the_face(draft, (*here, "face"), "web", widths[spar], reaches)
                for bay in there:
                    for side in bays.sides_of(draft, (*here, "side"), web.side):
                        before = chosen.get((spar, side, bay), ())
                        more = tuple(face for face in faces_of(web.face) if face not in before)
                        chosen[spar, side, bay] = before + more
        found.append(Layout(name, chosen, table.grain))
    return tuple(found)


def known_spar(draft: FileDraft, location: Location, name: str, known: Any) -> bool:
    """Whether a spar of that name is there; if not, a fault is noted."""
    if name in known:
        return True
    hint = did_you_mean(name, known) or f"; spars are {', '.join(known)}."
    draft.note(location, f"is not a spar of this file{hint}")
    return False


def spar_names(draft: FileDraft, tables: Sequence[Any]) -> None:
    """Note spars that share a name, or take a word that means something else."""
    seen: dict[str, int] = {}
    for i, table in enumerate(tables):
        if table.name in ("leading edge", "trailing edge") or table.name.endswith((" front", " rear", "%")):
            draft.note(("spars", i, "name"), "means another line of the chord; take another name.")
        if table.name in seen:
            draft.note(("spars", i, "name"), f"is the name of spars[{seen[table.name]}] already.")
        seen.setdefault(table.name, i)


def clear_of_each_other(
    draft: FileDraft, spars: Sequence[tuple[int, str, Array, Array]], length: float
) -> None:
    """Note spars that overlap or touch, or do not stand from the front to the rear.

    Parameters
    ----------
    draft : FileDraft
        Where faults go.
    spars : sequence of (int, str, (n,) float array, (n,) float array)
        Place in the file, name, front and rear face of the caps at the same stations, m; NaN where it is not.
    length : float
        From the first of these stations to the last, evenly spaced, m.
    """
    for i in range(1, len(spars)):
        (_, before, _, rear), (place, name, front, _) = spars[i - 1], spars[i]
        gap = np.where(np.isnan(front) | np.isnan(rear), np.inf, front - rear)
        k = int(gap.argmin())
        if gap[k] <= TOUCHING:
            y = length * k / (len(gap) - 1) if len(gap) > 1 else 0.0
            there = "they touch" if gap[k] > -TOUCHING else f"they overlap by {mm(-float(gap[k]))}"
            draft.note(
                ("spars", place),
                f"spar {name} does not stand wholly behind spar {before}: at y = {mm(y)} {there}; list spars "
                "from the front to the rear, clear of each other.",
            )
