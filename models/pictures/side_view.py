"""Every spar from the side, drawn flat: caps and webs of each bay in the colours of their reserve factors, or
of another field (`Look`).

In a scene a web that is 6 mm high on a span of a metre is a line; here heights are drawn several times too
large, and the drawing says how many times. The spar's middle is drawn straight: dihedral is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from fea.arrays import Array
from models.analysis import Analysis
from models.pictures import fields, stage
from models.pictures.files import write_whole
from models.pictures.first import ShownReserves, elements_of
from models.rounding import down
from models.wing.words import spar_words

_FACES = ("front", "between", "rear")
_ROUND = (1, 1.5, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100)
_NAME = 60
ROW, HEAD = 178, 78
"""Height of one spar's strip, and of what stands above and below all; pixels of a picture 1600 wide."""


@dataclass(frozen=True)
class DrawnBay:
    """One bay of a cap, a web or a brace: from where to where (m), its reserve factor and grain.

    `grain` is the angle from the span towards upright, rad; None of a cap. `first` says that it fails first.
    Of another field `reserve` is that field's value where it is greatest.
    """

    bay: int
    kind: str
    place: str
    start: float
    end: float
    reserve: float
    grain: float | None
    first: bool


@dataclass(frozen=True, eq=False)
class Side:
    """One spar from the side.

    Parameters
    ----------
    name : str
        In words.
    y, half : (n,) float array
        Stations of the mesh, m, and half the depth over the caps there, m.
    cap : (n, 2) float array
        Heights of upper and lower cap there, m.
    ribs : dict of int to float
        Station of each rib by its number, m.
    pieces : tuple of DrawnBay
        Caps, webs and braces, of both sides the worse.
    """

    name: str
    y: Array
    half: Array
    cap: Array
    ribs: dict[int, float]
    pieces: tuple[DrawnBay, ...]


@dataclass(frozen=True, eq=False)
class Look:
    """How the value of a piece is shown: from it `colour` of its field, `ink` of words on it, and the
    `figure` itself; `words` say in the caption what is shown."""

    colour: Callable[[float], str]
    ink: Callable[[float], str]
    figure: Callable[[float], str]
    words: str


def sides(
    analysis: Analysis, found: ShownReserves | None, field: Mapping[str, Array] | None = None
) -> list[Side]:
    """What the side views show, one a spar, in the file's order: reserves, or a field of each block's
    elements."""
    model, wing = analysis.model, analysis.wing
    out = []
    for spar in wing.spars:
        every = model.y[model.y >= -1e-9]
        y = np.append(every[every < spar.y_end - 1e-9], spar.y_end)
        half = (spar.z_upper.at(y) - spar.z_lower.at(y)) / 2
        caps = (spar.upper, spar.lower)
        heights = [sum((layer.height.at(y) for layer in c.layers), np.zeros_like(y)) for c in caps]
        cap = np.stack(heights, axis=1)
        stations = [rib.y for rib in wing.ribs]
        ribs = {k: at for k, at in enumerate(stations, 1) if -1e-9 <= at <= spar.y_end + 1e-6}
        pieces = tuple(_pieces(analysis, found, field, spar.name))
        out.append(Side(spar_words(spar.name), y, half, cap, ribs, pieces))
    return out


def _pieces(
    analysis: Analysis, found: ShownReserves | None, field: Mapping[str, Array] | None, spar: str
) -> list[DrawnBay]:
    model = analysis.model
    first = found.first if found is not None and field is None else None
    shown = field if field is not None else found.by_part if found is not None else {}
    worst: dict[tuple[str, str, int], DrawnBay] = {}
    for part in model.parts:
        block = {"cap": "caps", "web": "webs", "brace": "webs"}.get(part.kind)
        if part.spar != spar or part.bay is None or block is None:
            continue
        mine = elements_of(model, part).get(block)
        if mine is None:
            continue
        rows = model.caps if block == "caps" else model.webs
        span = rows.span[mine]
        ends = np.abs(np.stack([model.y[span], model.y[span + 1]]))
        known = shown.get(block)
        reserve = np.nan if known is None else _of_piece(known[mine], greatest=field is not None)
        grain = None if block == "caps" else float(model.webs.grain[mine][0])
        is_first = first is not None and first.part.name_without_side == part.name_without_side
        start, end = float(ends.min()), float(ends.max())
        piece = DrawnBay(part.bay, part.kind, part.place, start, end, reserve, grain, is_first)
        key = (part.kind, part.place, part.bay)
        if key not in worst or not (
            abs(worst[key].reserve) >= abs(reserve) if field is not None else worst[key].reserve <= reserve
        ):
            worst[key] = piece
    return list(worst.values())


def _of_piece(values: Array, *, greatest: bool) -> float:
    """The value of a piece from those of its elements: the greatest in size; of reserves, all are alike."""
    if not greatest or np.isnan(values).all():
        return float(values[0])
    return float(values[np.nanargmax(np.abs(values))])


def exaggeration(side: Side, width: float, height: float, length: float) -> tuple[float, float]:
    """How many times too high a spar is drawn, a round number, and pixels a metre along the span.

    Less than the width allows where even true heights would not fit.

    Parameters
    ----------
    side, width, height, length
        Pixels that are there for length and depth; length of the longest spar, m.
    """
    deep, scale = 2 * float(side.half.max()), width / length
    most = height / (deep * scale)
    if most < 1:
        return 1.0, height / deep
    return float(max(k for k in _ROUND if k <= most * (1 + 1e-9))), scale


def side_on(
    panel: Any,
    side: Side,
    factor: float,
    scale: float,
    size: tuple[float, float],
    font: float = 9.0,
    look: Look | None = None,
) -> None:
    """Draw one spar into a panel whose size is known.

    Parameters
    ----------
    panel, side
        Axes of matplotlib, and what to draw on them.
    factor, scale, size, font
        From `exaggeration`; of the panel, pixels at 100 to the inch; points of the figures.
    look
        Of the field shown; None: reserve factors.
    """
    look = look or RESERVES
    width, height = size
    upright = factor * scale
    panel.set_xlim(0, width / scale)
    panel.set_ylim(-height / 2 / upright, height / 2 / upright)
    panel.axis("off")
    at = lambda y: np.interp(y, side.y, side.half)  # noqa: E731
    cap = lambda y, k: np.interp(y, side.y, side.cap[:, k])  # noqa: E731
    stacked: dict[int, list[DrawnBay]] = {}
    for piece in side.pieces:
        if piece.grain is None:
            k = 0 if piece.place == "upper" else 1
            sign, ends = 1 - 2 * k, np.array([piece.start, piece.end])
            outer: Array = np.asarray(at(ends))
            inner = outer - cap(ends, k)
            # A cap of a few pixels still shows its colour.
            inner = np.minimum(inner, outer - 5 / upright)
            _field(panel, piece, look, ends, sign * inner, sign * outer)
        else:
            stacked.setdefault(piece.bay, []).append(piece)
    for pieces in stacked.values():
        pieces.sort(key=lambda piece: _FACES.index(piece.place) if piece.place in _FACES else 3)
        for row, piece in enumerate(pieces):
            ends = np.array([piece.start, piece.end])
            top = np.minimum(at(ends) - cap(ends, 0), at(ends) - 5 / upright)
            low = -np.minimum(at(ends) - cap(ends, 1), at(ends) - 5 / upright)
            share = (row / len(pieces), (row + 1) / len(pieces))
            high, below = (np.asarray(top + (low - top) * f) for f in share)
            _field(panel, piece, look, ends, below, high)
            room = scale * (piece.end - piece.start)
            text = look.figure(piece.reserve)
            if text and room > 7.2 * len(text) * font / 9 and upright * float(np.mean(high - below)) > 13:
                panel.text(
                    float(ends.mean()), float((high + below).mean() / 2), text, fontsize=font, ha="center",
                    va="center", color=look.ink(piece.reserve), zorder=6,
                    bbox={"facecolor": look.colour(piece.reserve), "edgecolor": "none", "pad": 1.0},
                )  # fmt: skip
    _ribs_and_bays(panel, side, scale, upright, font)


def _ribs_and_bays(panel: Any, side: Side, scale: float, upright: float, font: float) -> None:
    edge = float(side.half.max()) + 4 / upright
    numbers, stations = list(side.ribs), np.array(list(side.ribs.values()))
    for station in stations:
        half = float(np.interp(station, side.y, side.half))
        panel.plot([station, station], [-half, half], color=stage.INK, linewidth=0.9, zorder=5, clip_on=False)
    gap = scale * float(np.diff(stations).min()) if len(stations) > 1 else np.inf
    step = next((k for k in (1, 2, 5, 10, 20) if k * gap > 26), 50)
    for number, station in zip(numbers, stations):
        if (number - 1) % step == 0:
            words = f"rib {number}" if number == numbers[0] else str(number)
            panel.text(station, edge, words, fontsize=font - 1, color=stage.FAINT, ha="center", va="bottom")
    bays: dict[int, tuple[float, float]] = {}
    for piece in side.pieces:
        low, high = bays.get(piece.bay, (np.inf, 0.0))
        bays[piece.bay] = (min(low, piece.start), max(high, piece.end))
    for bay, ends in bays.items():
        if (bay - 1) % step == 0:
            words = f"bay {bay}" if bay == min(bays) else str(bay)
            panel.text(sum(ends) / 2, -edge, words, fontsize=font, fontweight="bold", color=stage.INK,
                       ha="center", va="top")  # fmt: skip


def _field(panel: Any, piece: DrawnBay, look: Look, ends: Array, below: Array, above: Array) -> None:
    """A bay of a cap or web as a filled outline, its grain as thin lines."""
    from matplotlib.patches import Polygon

    corners = np.stack([np.append(ends, ends[::-1]), np.append(below, above[::-1])], axis=1)
    panel.add_patch(
        Polygon(corners, facecolor=look.colour(piece.reserve), edgecolor="#fefefe", linewidth=0.6)
    )
    if piece.grain is not None:
        panel.add_patch(
            Polygon(corners, facecolor="none", edgecolor="#00000048", hatch=_hatch(piece.grain), linewidth=0,
                    zorder=3)
        )  # fmt: skip
    if piece.first:
        panel.add_patch(
            Polygon(corners, facecolor="none", edgecolor=stage.INK, linewidth=2.6, zorder=7, clip_on=False)
        )


def _hatch(grain: float) -> str:
    """Lines along the grain, as the drawing library writes them: to the nearest eighth of a turn."""
    return {0: "--", 1: "//", 2: "||", 3: "\\\\"}[round(np.degrees(grain) / 45) % 4]


def colour_of(reserve: float) -> str:
    """Colour of the band that a reserve factor falls in."""
    band = int(fields.bands(np.array([reserve]))[0])
    return stage.UNCHECKED if band < 0 else stage.BAND_COLOURS[band]


def _on(reserve: float) -> str:
    """Colour of words on a field; neither the page's paper nor its ink, which turn round in the dark."""
    return stage.ON_BAND[int(fields.bands(np.array([reserve]))[0])]


def _figure(reserve: float) -> str:
    if not np.isfinite(reserve) or reserve >= 1000:
        return ""
    return down(reserve, 2 if reserve < 10 else 0)


RESERVES = Look(colour_of, _on, _figure, "figures: reserve factor of the webs, worse side")
"""Reserve factors in their bands."""


def caption(factors: list[float], *, stacked: bool, outlined: bool, shown: str = RESERVES.words) -> str:
    """What has to be said of the drawing: scale, what its figures are, stacked webs, grain, what is outlined.

    Parameters
    ----------
    factors
        How many times too high each strip is drawn.
    stacked, outlined
        Webs lie on both faces somewhere; a part is outlined.
    shown
        What the figures are.
    """
    lowest, highest = min(factors), max(factors)
    times = f"{lowest:g}" if lowest == highest else f"{lowest:g} to {highest:g}"
    scale = "to true scale" if highest == 1 else f"{times} times too high"
    said = f"Drawn {scale}, dihedral left out; {shown}; lines: grain."
    if stacked:
        said += " Webs on both faces: the front one on top."
    return f"{said} Outlined: fails first." if outlined else said


def failing_words(side: Side) -> str:
    """What fails first, where that is in this spar: ": bay 1, brace between the caps fails first (0.06)"."""
    found = [piece for piece in side.pieces if piece.first]
    if not found:
        return ""
    one = found[0]
    what = f"{one.place} cap" if one.grain is None else f"{one.place} {one.kind}"
    if one.place == "between":
        what = f"{one.kind} between the caps"
    return f": bay {one.bay}, {what} fails first (reserve factor {down(one.reserve, 2)})"


def is_stacked(side: Side) -> bool:
    """Whether some bay has webs on more than one face."""
    bays = [piece.bay for piece in side.pieces if piece.grain is not None]
    return len(bays) > len(set(bays))


Painted = tuple[Mapping[str, Array], Look]
"""A field by block, and how it is shown."""


def drawn_sides(
    analysis: Analysis,
    found: ShownReserves | None,
    *,
    width: int = stage.SIZE[0],
    painted: Painted | None = None,
) -> Any:
    """A sheet of matplotlib with every spar from the side, a strip each, reduced where its width in pixels is
    less than that of a whole picture.

    Parameters
    ----------
    analysis, found
        Solved, with its reserves; these are None where something else is painted.
    width
        Pixels.
    painted
        What is shown instead of reserve factors.
    """
    from matplotlib.figure import Figure

    field, look = painted if painted is not None else (None, RESERVES)
    every = sides(analysis, found, field)
    high, wide = HEAD + ROW * len(every), stage.SIZE[0]
    figure = Figure(figsize=(wide / 100, high / 100), dpi=100 * width / wide, facecolor="white")
    left, right = 0.02 * wide, 0.02 * wide
    inner = wide - left - right
    length = max(float(side.y[-1]) for side in every)
    factors = []
    for k, side in enumerate(every):
        bottom = high - 40 - ROW * (k + 1)
        box = (left / wide, bottom / high, inner / wide, (ROW - 30) / high)
        factor, scale = exaggeration(side, inner, ROW - 30 - 44, length)
        factors.append(factor)
        panel = figure.add_axes(box)
        side_on(panel, side, factor, scale, (inner, ROW - 30), look=look)
        name = stage.shortened(side.name, _NAME) + failing_words(side)
        figure.text(0.02, (bottom + ROW - 10) / high, name, fontsize=12, va="center", ha="left")
    figure.text(0.02, 1 - 18 / high, "The spars from the side", fontsize=14, fontweight="bold", va="center")
    said = caption(
        factors, stacked=any(map(is_stacked, every)),
        outlined=any(piece.first for side in every for piece in side.pieces), shown=look.words,
    )  # fmt: skip
    figure.text(0.02, 16 / high, said, fontsize=10.5, color=stage.FAINT, va="center")
    return figure


def with_side_view(
    plotter: Any,
    analysis: Analysis,
    found: ShownReserves | None,
    path: Path,
    painted: Painted | None = None,
) -> None:
    """Write a scene with the spars from the side below it as one PNG, replaced whole.

    Parameters
    ----------
    plotter
        With the scene.
    analysis, found
        As for `drawn_sides`.
    path
        Where to.
    painted
        As for `drawn_sides`.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from PIL import Image

    above = np.asarray(plotter.screenshot(return_img=True))[..., :3]
    canvas = FigureCanvasAgg(drawn_sides(analysis, found, width=above.shape[1], painted=painted))
    canvas.draw()
    below = np.asarray(canvas.buffer_rgba())[..., :3]
    wide = np.full((below.shape[0], above.shape[1], 3), 255, dtype=np.uint8)
    wide[:, : below.shape[1]] = below[:, : above.shape[1]]
    picture = Image.fromarray(np.concatenate([above, wide]))
    write_whole(path, lambda beside: picture.save(beside))
