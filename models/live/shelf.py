"""Cells whose choices are whole webs, of which there may come more."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fea.arrays import Ints
from models.studies.lightest.places import Faces, Places
from models.wing.parts import Web, Wing


class Glued(str):
    """A face, with the web that is glued on it."""

    web: Web

    def __new__(cls, web: Web) -> Glued:
        self = super().__new__(cls, web.face)
        self.web = web
        return self

    def __getnewargs__(self) -> tuple[Web]:  # type: ignore[override]
        return (self.web,)


@dataclass(frozen=True, eq=False)
class Shelf(Places):
    """Places whose choices are whole webs."""

    def laid(self, codes: Ints) -> Wing:
        """The wing with a layout's webs."""
        spars = []
        for spar in self.wing.spars:
            webs = [
                replace(face.web, side=side)
                for (name, _), faces in self.faces(codes).items()
                for face in faces
                for side in self.sides()
                if name == spar.name and isinstance(face, Glued)
            ]
            ordered = sorted(webs, key=lambda web: (web.bay, web.side, web.face))
            spars.append(replace(spar, webs=tuple(ordered)))
        return replace(self.wing, spars=tuple(spars))

    def web(self, cell: int, face: str) -> Web:
        """The web that a layout puts on a face of a cell."""
        assert isinstance(face, Glued)
        return face.web

    def codes(self, faces: dict[tuple[str, int], Faces]) -> Ints:
        """The layout with other choices, each one of its cell's own."""
        out = self.own
        for k, cell in enumerate(self.cells):
            wanted = faces.get((cell.spar, cell.bay))
            if wanted is not None:
                out[k] = next(i for i, choice in enumerate(cell.choices) if choice is wanted)
        return out
