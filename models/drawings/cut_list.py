"""The cut list: webs of one shape under one mark, with every single piece numbered, as rows and as CSV."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from csv import DictWriter
from dataclasses import dataclass
from io import StringIO
from typing import TypeVar

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.drawings.web_pieces import WebPiece
from models.wing.intake import cell
from models.wing.words import number_runs, spar_words

Thing = TypeVar("Thing")

ALIKE = 1e-6
"""Outlines closer than this are one shape, m."""
_SAME_BEVEL = np.radians(0.5)
"""Ends bevelled alike: half a degree is 0.02 mm on a web 2 mm thick."""


@dataclass(frozen=True, eq=False)
class Shape:
    """Webs that are cut alike: a port web is the starboard one turned over.

    Parameters
    ----------
    mark : str
        "W1" and so on.
    outline : (n, 2) float array
        As `WebPiece.outline` of the starboard web, m.
    grain : float
        Of the starboard web, rad.
    pieces : tuple of WebPiece
        All of this shape; the k-th of them, counted from 1, is called "W1-k".
    """

    mark: str
    outline: Array
    grain: float
    pieces: tuple[WebPiece, ...]

    @property
    def first(self) -> WebPiece:
        """The piece that stands for all."""
        return self.pieces[0]

    def names(self) -> tuple[str, ...]:
        """Name of every piece."""
        return tuple(f"{self.mark}-{k}" for k in range(1, len(self.pieces) + 1))


def starboard(piece: WebPiece) -> tuple[Array, float]:
    """Outline, (n, 2), m, and grain, rad, of a piece, a port one turned over; the inner end on the left."""
    if piece.side != "port":
        return piece.outline, piece.grain
    return piece.outline * [-1.0, 1.0], float((np.pi - piece.grain) % np.pi)


def gathered(things: Iterable[Thing], alike: Callable[[Thing, Thing], bool]) -> list[list[Thing]]:
    """Things that are like the first of their group, in the order in which a group first comes."""
    groups: list[list[Thing]] = []
    for one in things:
        like = next((group for group in groups if alike(group[0], one)), None)
        if like is None:
            groups.append([one])
        else:
            like.append(one)
    return groups


def close(one: Array, other: Array, within: float) -> bool:
    """Whether two outlines or edges, (n, 2), have the same corners within a length, m."""
    return one.shape == other.shape and bool(np.abs(one - other).max() < within)


def shapes(pieces: Sequence[WebPiece]) -> tuple[Shape, ...]:
    """Pieces gathered by shape, in the order in which a shape first comes."""
    groups = enumerate(gathered(pieces, _same), 1)
    return tuple(Shape(f"W{k}", *starboard(own[0]), tuple(own)) for k, own in groups)


def _same(piece: WebPiece, other: WebPiece) -> bool:
    (one, grain), (two, angle) = starboard(piece), starboard(other)
    return (
        piece.material.name == other.material.name
        and abs(piece.thickness - other.thickness) < 1e-9
        and abs(piece.bevel - other.bevel) < _SAME_BEVEL
        and bool(abs(np.sin(angle - grain)) < 1e-9)
        and close(one, two, ALIKE)
    )


def where(pieces: Sequence[WebPiece]) -> str:
    """Where pieces of one shape go, in words: spar, bays, sides, faces."""
    words = []
    for spar in dict.fromkeys(p.spar for p in pieces):
        own = [p for p in pieces if p.spar == spar]
        bays = sorted({p.bay for p in own})
        faces = [f for f in ("front", "rear", "between") if any(p.face == f for p in own)]
        sides = [s for s in ("starboard", "port", "both") if any(p.side == s for p in own)]
        face = " and ".join("between the caps" if f == "between" else f for f in faces)
        face += "" if faces == ["between"] else " faces" if len(faces) > 1 else " face"
        side = " and ".join("across the centre" if s == "both" else s for s in sides)
        bay = f"bay{'s' if len(bays) > 1 else ''} {', '.join(number_runs(bays))}"
        words.append(", ".join(w for w in (spar_words(spar), bay, side, face) if w))
    return "; ".join(words)


def grain_words(angle: float) -> str:
    """A grain direction in words; the angle of an oblique one counts from the span outboard, upward."""
    if abs(np.sin(angle)) < 1e-6:
        return "along the span"
    if abs(np.cos(angle)) < 1e-6:
        return "upright"
    return f"{np.degrees(angle):.0f} deg up from outboard"


COLUMNS = (
    "piece", "quantity", "wood", "thickness_mm", "length_mm", "depth_inner_end_mm", "depth_outer_end_mm",
    "outer_end_higher_by_mm", "grain", "end_bevel_deg", "area_mm2", "mass_g", "where",
)  # fmt: skip


def rows(of: Sequence[Shape]) -> list[dict[str, object]]:
    """The cut list as plain rows in builder's units, `COLUMNS`, a row a shape; area and mass of one piece."""
    found = []
    for shape in of:
        one = shape.first
        cells = (
            shape.mark, len(shape.pieces), one.material.name, round(1e3 * one.thickness, 3),
            round(1e3 * one.length, 2), round(1e3 * one.depth_inner, 2), round(1e3 * one.depth_outer, 2),
            round(1e3 * one.rise, 2), grain_words(shape.grain), round(float(np.degrees(one.bevel)), 2),
            round(1e6 * one.area, 1), round(1e3 * one.mass, 3), where(shape.pieces),
        )  # fmt: skip
        found.append(dict(zip(COLUMNS, cells, strict=True)))
    return found


def csv_text(columns: Sequence[str], of: Iterable[Mapping[str, object]]) -> str:
    """Rows of a list as CSV with a line of headings, in the units spoken."""
    out = StringIO()
    writer = DictWriter(out, [say.column(name) for name in columns], lineterminator="\n")
    writer.writeheader()
    writer.writerows({key: cell(value) for key, value in say.columns(row).items()} for row in of)
    return out.getvalue()
