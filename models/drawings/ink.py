"""What a drawing is made of: lines, circles and words in millimetres, x to the right and y up.

A drawing knows nothing of paper or file format. `pages` puts it on paper, `svg`, `pdf` and `dxf` write it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

Point = tuple[float, float]


@dataclass(frozen=True)
class Pen:
    """How a layer is drawn: width of its line and dashes, mm, and its colour (red, green, blue, 0 to 1)."""

    width: float
    dashes: tuple[float, ...] = ()
    colour: tuple[float, float, float] = (0.0, 0.0, 0.0)


LAYERS: dict[str, Pen] = {
    "CUT": Pen(0.30),
    "SHEET": Pen(0.25, (6.0, 1.5, 1.0, 1.5), (0.35, 0.35, 0.35)),
    "CENTRE": Pen(0.15, (6.0, 1.0, 1.0, 1.0), (0.0, 0.0, 0.0)),
    "MARK": Pen(0.20, (), (0.0, 0.27, 0.55)),
    "HIDDEN": Pen(0.18, (2.0, 1.0), (0.0, 0.27, 0.55)),
    "GRAIN": Pen(0.25, (), (0.45, 0.45, 0.45)),
    "TEXT": Pen(0.15),
    "SMALL": Pen(0.12, (), (0.2, 0.2, 0.2)),
    "FRAME": Pen(0.20),
    "JOIN": Pen(0.15, (1.0, 1.5), (0.3, 0.3, 0.3)),
}
"""Layers of every file, told apart by dash and width as well as by colour; what is cut is on CUT alone."""


@dataclass(frozen=True)
class Path:
    """A line through points, closed or open, or filled with grey."""

    points: tuple[Point, ...]
    layer: str = "CUT"
    closed: bool = False
    grey: float | None = None
    name: str = ""


@dataclass(frozen=True)
class Circle:
    """A circle."""

    centre: Point
    radius: float
    layer: str = "CUT"
    name: str = ""


@dataclass(frozen=True)
class Text:
    """Words on one line; `size` is that of the type, mm, `at` the start, middle or end of the base line.

    `angle` is in degrees, counter-clockwise; words are never mirrored.
    """

    at: Point
    words: str
    size: float = 2.5
    anchor: str = "start"
    angle: float = 0.0
    layer: str = "TEXT"
    bold: bool = False

    @property
    def width(self) -> float:
        """Length of the line, mm."""
        return text_width(self.words, self.size)


Item = Path | Circle | Text


@dataclass(frozen=True)
class Drawing:
    """A drawing at full size, its lower left corner at the origin.

    Parameters
    ----------
    name : str
        Name for files, without an ending.
    title : str
        For people.
    width, height : float
        mm.
    items : tuple of Path, Circle or Text
        In the order in which they are drawn.
    from_top : bool, default False
        Cut into tiles from the top downward, so that its top is whole.
    """

    name: str
    title: str
    width: float
    height: float
    items: tuple[Item, ...]
    from_top: bool = False


_NARROW = set("ijlI.,:;|!' ")
_SLIM = set('ftr()[]/-"')
_WIDE = set("mwMWQO%@")


def text_width(words: str, size: float) -> float:
    """Length of a line of plain sans-serif type, mm; of the widest in use, so rather too long."""
    total = 0.0
    for letter in words:
        if letter in _NARROW:
            total += 0.34
        elif letter in _SLIM:
            total += 0.42
        elif letter in _WIDE:
            total += 0.99
        elif letter.isupper():
            total += 0.72
        else:
            total += 0.64
    return total * size


def folded(words: str, size: float, width: float) -> list[str]:
    """Words in lines no longer than a width, broken at spaces; a word that is longer by itself is broken."""
    lines: list[str] = []
    for word in (part for whole in words.split() for part in _broken(whole, size, width)):
        if lines and text_width(f"{lines[-1]} {word}", size) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines or [""]


def _broken(word: str, size: float, width: float) -> list[str]:
    """A word in pieces no longer than a width, a letter each at least."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and text_width(pieces[-1] + letter, size) > width:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def moved(items: Iterable[Item], right: float, up: float) -> tuple[Item, ...]:
    """Items in another place."""

    def at(point: Point) -> Point:
        return point[0] + right, point[1] + up

    out: list[Item] = []
    for item in items:
        if isinstance(item, Path):
            out.append(replace(item, points=tuple(at(p) for p in item.points)))
        elif isinstance(item, Circle):
            out.append(replace(item, centre=at(item.centre)))
        else:
            out.append(replace(item, at=at(item.at)))
    return tuple(out)


def bounds(item: Item) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of an item, mm; of words an estimate."""
    if isinstance(item, Path):
        xs, ys = zip(*item.points)
        return min(xs), min(ys), max(xs), max(ys)
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius
        return x - r, y - r, x + r, y + r
    start = {"start": 0.0, "middle": -0.5, "end": -1.0}[item.anchor] * item.width
    turn = np.radians(item.angle)
    c, s = float(np.cos(turn)), float(np.sin(turn))
    corners = [
        (item.at[0] + a * c - b * s, item.at[1] + a * s + b * c)
        for a in (start, start + item.width)
        for b in (-0.25 * item.size, 0.8 * item.size)
    ]
    xs, ys = zip(*corners)
    return min(xs), min(ys), max(xs), max(ys)


def outline(points: Any, layer: str = "CUT", name: str = "") -> Path:
    """A closed line from an array of corners in mm."""
    return Path(tuple((float(x), float(y)) for x, y in points), layer, closed=True, name=name)


def line(*points: Point, layer: str = "MARK", name: str = "") -> Path:
    """An open line."""
    return Path(tuple((float(x), float(y)) for x, y in points), layer, name=name)


def arrow(
    start: Point, end: Point, layer: str = "GRAIN", *, both: bool = True, head: float = 1.6
) -> list[Path]:
    """A line, mm, with an arrow head of a length, mm, at its end or at both ends.

    Parameters
    ----------
    start, end : (2,) floats
        mm.
    layer : str
    both : bool
        A head at the start too.
    head : float
        Its length, mm.
    """
    x, y = end[0] - start[0], end[1] - start[1]
    length = float(np.hypot(x, y)) or 1.0
    x, y = x / length, y / length
    out = [line(start, end, layer=layer)]
    for (px, py), sign in ((end, -1.0), (start, 1.0)) if both else ((end, -1.0),):
        back = (px + sign * head * x, py + sign * head * y)
        side = (-y * head / 3, x * head / 3)
        ends = ((back[0] + side[0], back[1] + side[1]), (px, py), (back[0] - side[0], back[1] - side[1]))
        out.append(line(*ends, layer=layer))
    return out


def grain_arrow(middle: Point, angle: float, half: float, head: float = 1.6) -> list[Path]:
    """An arrow along the grain about its middle.

    Parameters
    ----------
    middle, angle, half, head
        Angle from the right towards up, rad; half its length and its head's, mm.
    """
    x, y = half * float(np.cos(angle)), half * float(np.sin(angle))
    return arrow((middle[0] - x, middle[1] - y), (middle[0] + x, middle[1] + y), head=head)


def letter(k: int) -> str:
    """Letter of the k-th row or spar from 0: A, B and so on, AA after Z."""
    return chr(65 + k) if k < 26 else letter(k // 26 - 1) + chr(65 + k % 26)


def block(
    lines: Sequence[str], at: Point, size: float, layer: str = "TEXT", anchor: str = "start"
) -> list[Text]:
    """Lines of words under one another; `at` is the top of the first, mm, as `anchor` says.

    Parameters
    ----------
    lines : sequence of str
    at : (2,) floats
        mm.
    size : float
        Height of the letters, mm.
    layer : str
    anchor : {"start", "middle", "end"}
        Which part of a line lies at `at`.
    """
    return [
        Text((at[0], at[1] - 0.8 * size - 1.25 * size * k), words, size, anchor, layer=layer)
        for k, words in enumerate(lines)
    ]
