"""Which parts of a wing are cut from one piece of wood, and how much one piece differs from the next.

A cap is one stick for each spar, side and face; webs of one spar, wood and thickness are cut from one sheet
on each side; so is sheeting of one surface; ribs of one wood and thickness come with their cap strips from
one sheet; edges, rails and their ties are a piece each. Coefficients of variation are the wood's own
(`Material.scatter`, halved where the piece was weighed): E_L for sticks, sheeting and braces, whose stretch
along the span counts, G for webs and ribs, which carry shear. The factor is on the whole of a piece, so that
of G stands for a sheet's stiffness across its grain too, whose coefficient is no larger.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Ints
from models import units_out as say
from models.structure.model import FASTENINGS, Model, Part
from models.wing.parts import Rib, Sheet
from models.woods.wood import Material

SIZE = 0.025
"""Variation coefficient of a thickness or width as builders cut and sand (common practice, no source)."""


@dataclass(frozen=True)
class WoodPiece:
    """A stick or a sheet.

    `stiffness` and `size` are coefficients of variation, of the modulus that counts and of the thickness (of
    a stick, of the area of its section).
    """

    name: str
    material: Material
    stiffness: float
    size: float


@dataclass(frozen=True, eq=False)
class Pieces:
    """Pieces of a model.

    Parameters
    ----------
    pieces : tuple of WoodPiece
        All of them.
    keys : tuple of tuple
        What tells each from all others, in no units that are spoken.
    of_part : (n_parts,) int array
        Which piece each part is cut from, -1 for what is no wood (masses).
    groups : mapping of str to (n_elements,) int array
        The same for every element of every block.
    """

    pieces: tuple[WoodPiece, ...]
    keys: tuple[tuple[object, ...], ...]
    of_part: Ints
    groups: dict[str, Ints]


def pieces_of(model: Model) -> Pieces:
    """Sort the parts of a model by the pieces that they are cut from.

    Parameters
    ----------
    model : Model
        From `models.structure.build`.

    Returns
    -------
    Pieces
    """
    numbers: dict[tuple[object, ...], int] = {}
    pieces: list[WoodPiece] = []
    of_part = np.full(len(model.parts), -1, dtype=np.intp)
    webs = _web_parts(model)
    ribs = {round(rib.y, 9): rib for rib in model.wing.ribs}
    for p, part in enumerate(model.parts):
        found = _piece(model, part, webs, ribs)
        if found is None:
            continue
        key, piece = found
        if key not in numbers:
            numbers[key] = len(pieces)
            pieces.append(piece)
        of_part[p] = numbers[key]
    groups = {
        name: of_part[block.part] for name, block in model.structure.blocks.items() if block.part is not None
    }
    return Pieces(tuple(pieces), tuple(numbers), of_part, groups)


def _web_parts(model: Model) -> dict[Part, tuple[Material, float]]:
    """Wood and thickness of every web and brace."""
    block = model.structure.blocks.get("webs")
    if block is None or block.part is None:
        return {}
    webs = model.webs
    rows = zip(block.part.tolist(), webs.material.tolist(), webs.thickness.tolist())
    return {model.parts[p]: (webs.materials[m], t) for p, m, t in rows}


def _piece(
    model: Model, part: Part, webs: dict[Part, tuple[Material, float]], ribs: dict[float, Rib]
) -> tuple[tuple[object, ...], WoodPiece] | None:
    """Key and description of the piece that a part is cut from."""
    side = f", {part.side}" if part.side else ""
    wing = model.wing
    if part.kind == "cap":
        spar = next(s for s in wing.spars if s.name == part.spar)
        layers = (spar.upper if part.place == "upper" else spar.lower).layers
        wood = max(layers, key=lambda layer: float(layer.height.value.max())).material
        return ("cap", part.spar, part.place, part.side), _stick(
            f"{part.spar} spar, {part.place} cap{side}", wood
        )
    if part.kind in ("web", "web strip", "brace", "brace strip"):
        kind, face = part.kind.split()[0], part.place.split()[0]
        wood, thickness = webs[Part(kind, part.spar, face, part.bay, part.side)]
        what = f"{part.spar} spar, {kind} sheet, {wood.name} {say.size(thickness):g}{side}"
        modulus = "G" if kind == "web" else "E_L"
        web_key = (kind, part.spar, wood.name, wood.density, thickness, part.side)
        return web_key, WoodPiece(what, wood, wood.scatter[modulus], SIZE)
    if part.kind in ("rib", "post", "cap strip"):
        rib = ribs[round(abs(part.station or 0.0), 9)]
        what = f"rib sheet, {rib.material.name} {say.size(rib.thickness):g}"
        rib_key = ("rib", rib.material.name, rib.material.density, rib.thickness)
        return rib_key, WoodPiece(what, rib.material, rib.material.scatter["G"], SIZE)
    if part.kind == "sheeting":
        sheet = _sheet(wing.sheets, part)
        wood = sheet.material
        what = f"{part.place} sheeting, {wood.name} {say.size(sheet.thickness):g}{side}"
        sheet_key = ("sheeting", part.place, wood.name, wood.density, sheet.thickness, part.side)
        return sheet_key, WoodPiece(what, wood, wood.scatter["E_L"], SIZE)
    if part.kind == "edge":
        wood = next(e.material for e in wing.edges if e.kind == part.place)
        return ("edge", part.place, part.side), _stick(f"{part.place} edge{side}", wood)
    if part.kind in FASTENINGS and wing.fastening is not None:
        wood = wing.fastening.plate_material  # whose strengths scatter more than those of bolts
        return (part.kind,), WoodPiece(part.kind, wood, wood.scatter["E_L"], 0.0)
    if part.kind in ("joiner", "joiner box"):
        own = next(j for j in wing.joiners if (j.spar, j.station) == (part.spar, part.station))
        # Drawn or pultruded to a gauge; what fills its box is cut as other wood is.
        wood, size = (own.material, 0.0) if part.kind == "joiner" else (own.filler, SIZE)
        return (part.kind, part.spar, part.station), WoodPiece(part.name, wood, wood.scatter["E_L"], size)
    if part.kind in ("rail", "rail tie"):
        rail = next(r for r in wing.rails if r.name == part.place)
        if part.kind == "rail":
            return ("rail", part.place, part.side), _stick(f"{part.place}{side}", rail.material)
        wood = rail.tie_material
        return ("tie", part.place, part.side), WoodPiece(
            f"ties of {part.place}{side}", wood, wood.scatter["G"], SIZE
        )
    return None


def _stick(name: str, wood: Material) -> WoodPiece:
    """A stick varies in width and height, one independent of the other."""
    return WoodPiece(name, wood, wood.scatter["E_L"], SIZE * 2**0.5)


def _sheet(sheets: tuple[Sheet, ...], part: Part) -> Sheet:
    """The sheet that a part of the sheeting belongs to; the foremost where two share a bay."""
    of = [s for s in sheets if s.surface == part.place]
    here = [s for s in of if (part.side or "starboard", part.bay) in s.bays or ("", part.bay) in s.bays]
    return (here or of)[0]
