"""What may be changed on the page: for every bay of every spar which faces carry a web, and how it is made.

A wing whose two sides are alike has one cell for both; where they differ each side has its own. Thickness,
wood and grain are kept in the wing file's own words, so that a file is written back in the units that it was
read in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from models import units_out as say
from models.studies.lightest.places import FREE, Faces
from models.wing.flush import takes_webs
from models.wing.parts import Wing
from models.wing.web_entries import Make, WebKey, file_makes, reached

FACES = ("front", "between", "rear")
"""In the order of a choice."""
_LONGEST = 80
"""Letters of a thickness, a wood or a grain; no file needs more."""


@dataclass(frozen=True)
class WebChange:
    """What the builder wants otherwise of the webs in a cell; "" leaves what the file has."""

    thickness: str = ""
    wood: str = ""
    grain: str = ""

    def of(self, make: Make) -> Make:
        """The make with the change."""
        return Make(
            self.thickness or make.thickness, self.wood or make.wood, self.grain or make.grain, make.glue
        )


@dataclass(frozen=True)
class Cell:
    """One bay of one spar.

    Parameters
    ----------
    spar : str
        Its name.
    bay : int
        Its number.
    sides : tuple of str
        Sides that it stands for.
    choices : tuple of tuple of str
        Sets of faces that may carry a web, in the order in which clicks step through them.
    own : int
        Which of them the file has.
    makes : mapping of str to Make
        How a web on each face is made, as the file has it or, where it has none, as its nearest neighbour.
    """

    spar: str
    bay: int
    sides: tuple[str, ...]
    choices: tuple[Faces, ...]
    own: int
    makes: Mapping[str, Make]


@dataclass(frozen=True)
class LiveState:
    """A choice and a change for every cell."""

    choices: tuple[int, ...]
    changes: tuple[WebChange, ...]


class BadState(ValueError):
    """What the page sent is no state of this wing; the message says what is wrong."""


def cells(raw: Mapping[str, Any], wing: Wing) -> tuple[Cell, ...]:
    """All cells of a wing, from the centre outward, spar by spar in each bay; `raw` is the file as TOML.

    A face that a brace covers takes no web, nor do the faces of caps of different width.
    """
    makes = file_makes(raw, wing)
    if wing.clamped:
        groups: tuple[tuple[str, ...], ...] = (("starboard",),)
    elif wing.whole:
        groups = (("starboard",), ("port",))
    else:
        groups = (("starboard", "port"),)
    edges = dict(zip(range(wing.first_bay, wing.first_bay + len(wing.bay_edges) - 1), wing.bay_edges))
    found = []
    for bay, inner in edges.items():
        for k, spar in enumerate(wing.spars):
            if bay not in reached(wing, spar):
                continue
            taken = {b.face for b in wing.braces if b.spar == spar.name and b.y_end > inner + 1e-9}
            taken |= set() if takes_webs(wing, spar, bay) else {"front", "rear"}
            for sides in groups if bay else (groups[0] if len(groups) == 1 else ("starboard", "port"),):
                own = tuple(f for f in FACES if (sides[0], bay, f) in makes[k])
                choices = [faces for faces in FREE if not taken & set(faces)]
                choices += [] if own in choices else [own]
                here = {face: _make(makes, k, sides[0], bay, face) for face in FACES}
                found.append(Cell(spar.name, bay, sides, tuple(choices), choices.index(own), here))
    return tuple(found)


def _make(makes: Sequence[Mapping[WebKey, Make]], spar: int, side: str, bay: int, face: str) -> Make:
    """As the file has it there, else as `models.studies.layouts.template` borrows it."""
    own = makes[spar]
    if (side, bay, face) in own:
        return own[side, bay, face]
    same_side = {key: make for key, make in own.items() if key[0] == side}
    pool = same_side or own or {key: make for of in makes for key, make in of.items()}
    if not pool:
        return Make("1/16 in" if say.imperial() else "1.5 mm", "balsa medium", "upright", "aliphatic")
    ordered = sorted(pool, key=lambda key: (key[1], key[0], key[2]))
    return pool[min(ordered, key=lambda key: (abs(key[1] - bay), key[1]))]


def own_state(of: Sequence[Cell]) -> LiveState:
    """The file's own layout."""
    return LiveState(tuple(cell.own for cell in of), (WebChange(),) * len(of))


def read_state(of: Sequence[Cell], data: Any) -> LiveState:
    """A state of a wing as the page sends it: a list with one object a cell.

    Raises
    ------
    BadState
        It does not fit the wing.
    """
    if not isinstance(data, list) or len(data) != len(of):
        raise BadState(f"a state of this wing has {len(of)} cells.")
    choices, changes = [], []
    for cell, item in zip(of, data):
        where = f"bay {cell.bay}, {cell.spar} spar"
        if not isinstance(item, dict) or not {"choice"} <= set(item) <= {"choice", *_WORDS}:
            raise BadState(f"{where}: a cell has a choice and, if wanted, {', '.join(_WORDS)}.")
        choice = item["choice"]
        if isinstance(choice, bool) or not isinstance(choice, int) or not 0 <= choice < len(cell.choices):
            raise BadState(f"{where}: {choice!r} is not a choice from 0 to {len(cell.choices) - 1}.")
        for key in _WORDS:
            value = item.get(key, "")
            if not isinstance(value, str) or len(value) > _LONGEST or not value.isprintable():
                raise BadState(f"{where}: {key} is not a line of at most {_LONGEST} letters.")
        choices.append(choice)
        changes.append(WebChange(*(item.get(key, "").strip() for key in _WORDS)))
    return LiveState(tuple(choices), tuple(changes))


_WORDS = ("thickness", "wood", "grain")


def wanted(of: Sequence[Cell], state: LiveState) -> dict[str, dict[WebKey, Make]]:
    """All webs of a state by spar: side, bay and face, and how each is made."""
    found: dict[str, dict[WebKey, Make]] = {}
    for cell, choice, change in zip(of, state.choices, state.changes, strict=True):
        webs = found.setdefault(cell.spar, {})
        for face in cell.choices[choice]:
            for side in cell.sides:
                webs[side, cell.bay, face] = change.of(cell.makes[face])
    return found
