"""The wing file that was opened: its text as it was read, and the text and the wing of every state."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from operator import attrgetter
from pathlib import Path
from typing import Any

import numpy as np

from models.live.cells import Cell, LiveState, WebChange, cells, wanted
from models.wing.intake import shown_all
from models.wing.parts import Wing
from models.wing.reading import read_text
from models.wing.web_entries import Make, file_makes, with_webs


class NotWritten(ValueError):
    """The state cannot be put into the file's text so that it is read back as it is."""


def _change(make: Make, other: Make) -> WebChange:
    """What makes another make of one."""
    pairs = zip(_said(make), _said(other))
    return WebChange(*(b if a != b else "" for a, b in pairs))


def _said(make: Make) -> tuple[str, str, str]:
    return make.thickness, make.wood, make.grain


def _without_webs(text: str) -> dict[str, Any]:
    """A wing file but for the webs of its spars."""
    raw = tomllib.loads(text)
    spars = [{key: value for key, value in spar.items() if key != "webs"} for spar in raw.get("spars", [])]
    return {**raw, "spars": spars}


def _size(cell: Cell, which: Callable[..., int]) -> int:
    """The choice of the fewest or of the most faces."""
    return which(range(len(cell.choices)), key=lambda k: len(cell.choices[k]))


@dataclass(frozen=True, eq=False)
class Opened:
    """A wing file in memory.

    Parameters
    ----------
    text : str
        As it was read.
    folder : Path
        From which coordinate files count.
    source : str
        Name of the file in messages.
    name : str
        Of the wing where the file gives none.
    """

    text: str
    folder: Path
    source: str
    name: str

    @cached_property
    def wing(self) -> Wing:
        """The file, read."""
        return read_text(self.text, source=self.source, folder=self.folder, name=self.name)

    @cached_property
    def cells(self) -> tuple[Cell, ...]:
        """What may be changed."""
        return cells(shown_all(tomllib.loads(self.text)), self.wing)

    @cached_property
    def follows_webs(self) -> bool:
        """Sheeting that ends at webs' faces, so that a change of webs changes the sheeting."""
        none = (WebChange(),) * len(self.cells)
        fewest = LiveState(tuple(_size(cell, min) for cell in self.cells), none)
        most = LiveState(tuple(_size(cell, max) for cell in self.cells), none)
        one, other = (self.wing_of(state).sheets for state in (fewest, most))
        return any(
            not np.array_equal(getattr(a, edge).value, getattr(b, edge).value)
            for a, b in zip(one, other, strict=True)
            for edge in ("x_from", "x_to")
        )

    def text_of(self, state: LiveState) -> str:
        """The file's text with the webs of a state, read back as a proof.

        Raises
        ------
        models.wing.faults.WingFileError
            The state is no wing: a wood that is not known, say.
        NotWritten
            What would be read back is not the state.
        """
        want = wanted(self.cells, state)
        text = with_webs(self.text, self.wing, want)
        wing = read_text(text, source=self.source, folder=self.folder, name=self.name)
        found = file_makes(shown_all(tomllib.loads(text)), wing)
        if any(makes != want.get(spar.name, {}) for makes, spar in zip(found, wing.spars, strict=True)):
            raise NotWritten(
                f"{self.source}: its webs are written in a way that this page cannot change without loss; "
                "nothing was written. Change them with an editor."
            )
        return text

    def state_of(self, text: str) -> LiveState | None:
        """The state that another text of this file is, where nothing but webs is otherwise in it; None where
        the page has no such state.
        """
        other = Opened(text, self.folder, self.source, self.name)
        if _without_webs(text) != _without_webs(self.text) or len(other.cells) != len(self.cells):
            return None
        choices: list[int] = []
        changes: list[WebChange] = []
        place = attrgetter("spar", "bay", "sides")
        for cell, its in zip(self.cells, other.cells):
            faces = its.choices[its.own]
            if place(cell) != place(its) or faces not in cell.choices:
                return None
            choices.append(cell.choices.index(faces))
            new = {_change(cell.makes[face], its.makes[face]) for face in faces} or {WebChange()}
            if len(new) > 1:
                return None
            changes += new
        state = LiveState(tuple(choices), tuple(changes))
        have, want = file_makes(shown_all(tomllib.loads(text)), other.wing), wanted(self.cells, state)
        same = all(
            makes == want.get(spar.name, {}) for makes, spar in zip(have, other.wing.spars, strict=True)
        )
        return state if same else None

    def wing_of(self, state: LiveState) -> Wing:
        """The wing of a state, as the file with it would be read.

        Raises
        ------
        models.wing.faults.WingFileError, NotWritten
            As `text_of`.
        """
        return read_text(self.text_of(state), source=self.source, folder=self.folder, name=self.name)
