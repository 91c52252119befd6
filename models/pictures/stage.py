"""What every scene has in common: a white sheet with its words, legend and axes, and the view.

Sizes and places of words are fractions of the window, so that the same scene serves a file and a window.
The view is a parallel one from ahead, above and starboard, fitted to the points shown.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from models.pictures.screen import drawing_surface
from models.structure.model import Model

SIZE = (1600, 1000)
"""Pixels of a picture."""
CAUTION = "Model aircraft only. Static proof test before flight."
INK, FAINT, GHOST = "#1a1a1a", "#6b6b6b", "#b4b4b4"
DIVERGING = ("#7f3b08", "#c76a1a", "#f0b366", "#f4f1ea", "#9aa6d1", "#5a66a8", "#2b2a6f")
"""Brown (negative) over near-white (zero) to indigo (positive), darkening evenly to both sides: one that
readers with any kind of colour blindness can tell apart. After the idea of Brewer's brown-to-purple
schemes, from memory."""
BAND_COLOURS = ("#7a0c1e", "#e0692f", "#f3c659", "#8fc1de", "#2a5b9d")
"""Reserve factor from failing to ample; dark red against blue, told apart by lightness and by hue."""
ON_BAND = ("#fefefe", "#000000", "#000000", "#000000", "#fefefe")
"""Of words on those colours."""
UNCHECKED = "#d9d9d9"
_LETTERS, _MOST_LETTERS, _BELOW = 70, 112, 140
"""Of a headline at its full size; beyond which its name is shortened; and the same of the line below it."""
AZIMUTH, ELEVATION = 28.0, 30.0
"""Whence scenes are looked at, to starboard of straight ahead and above the horizon, degrees."""
_REGION = (0.03, 0.30, 0.97, 0.84)
"""Part of the window (left, bottom, right, top) that the drawing fills."""
_LABEL = 17
_GLYPH = 0.56
"""Width of a letter over its height, on the safe side for the face used."""


@dataclass(frozen=True, eq=False)
class Camera:
    """A parallel view: the window's right and up in space (unit vectors), its middle, and its scale.

    `scale` is half the window's height in m; `pixels` the window's size.
    """

    right: Array
    up: Array
    focus: Array
    scale: float
    pixels: tuple[int, int]

    def on_screen(self, points: Array) -> Array:
        """Pixels (from the lower left) of points in space, (n, 2)."""
        at = np.stack([(points - self.focus) @ self.right, (points - self.focus) @ self.up], axis=1)
        return np.asarray(at * self.pixels[1] / (2 * self.scale) + np.array(self.pixels) / 2)

    def metres(self, pixels: float) -> float:
        """Length in space of some pixels."""
        return pixels * 2 * self.scale / self.pixels[1]


def open_stage(title: str, subtitle: str, *, off_screen: bool, size: tuple[int, int]) -> Any:
    """A white window (pyvista.Plotter): title and what is shown on top, the caution at the bottom.

    Raises
    ------
    NoRenderer
        Nothing here can draw.
    """
    with drawing_surface(off_screen=off_screen):
        import pyvista as pv

        plotter: Any = pv.Plotter(off_screen=off_screen, window_size=list(size), lighting="light kit")
    plotter.set_background(shade("white"))
    plotter.enable_anti_aliasing("ssaa" if off_screen and max(size) <= 1000 else "msaa", multi_samples=8)
    title = headline(title, _MOST_LETTERS)
    words(plotter, title, 0.02, 0.945, min(30, round(30 * _LETTERS / len(title))), bold=True)
    words(plotter, headline(subtitle, _BELOW), 0.02, 0.905, 20)
    words(plotter, CAUTION, 0.02, 0.014, 17, bold=True)
    return plotter


_NIGHT = {"white": "#16191b", INK: "#e9e6df", FAINT: "#a7acae", GHOST: "#7c8184"}
"""What paper, ink and greys become on a page in the dark; colours that mean something stay."""
_dark = ContextVar("dark", default=False)


@contextmanager
def at_night() -> Iterator[None]:
    """Scenes that are made within are drawn for a page in the dark."""
    before = _dark.set(True)
    try:
        yield
    finally:
        _dark.reset(before)


def shade(colour: str) -> str:
    """A colour as it is drawn now."""
    return _NIGHT.get(colour, colour) if _dark.get() else colour


_NAME_LETTERS = 24
"""Of a name, below which it is not shortened for the rest of a title."""


def headline(title: str, most: int) -> str:
    """A title "name: what is shown" in so many letters at the most: a long name is shortened."""
    name, mark, shown = title.partition(": ")
    if len(title) <= most:
        return title
    if not mark:
        return shortened(title, most)
    room = max(most - len(mark) - len(shown), _NAME_LETTERS)
    return shortened(f"{shortened(name, room)}{mark}{shown}", most)


def head_lines(title: str, most: int) -> list[str]:
    """A title "name: what is shown" in lines of so many letters at the most: a long name is shortened, and an
    answer that has no room on one line goes on two, about as long; none is cut that two lines hold."""
    name, mark, shown = title.partition(": ")
    title = headline(title, max(most, min(len(name), _NAME_LETTERS) + len(mark) + len(shown)))
    if len(title) <= most:
        return [title]
    first, *rest = textwrap.wrap(title, min(most, max(most * 3 // 4, len(title) // 2 + 8)))
    return [first, shortened(" ".join(rest), most)]


def shortened(name: str, most: int) -> str:
    """A name in so many letters at the most, its end left out; never taken for that of a hidden line."""
    name = name if len(name) <= most else f"{name[: most - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}"
    return f"\u200b{name}" if name.startswith("_") else name


def words(
    plotter: Any,
    text: str,
    x: float,
    y: float,
    height: int,
    *,
    colour: str = INK,
    bold: bool = False,
    justify: str = "left",
) -> None:
    """Words at a place of the window (fractions); `height` in pixels of a picture 1000 high."""
    if not text:
        return
    prop = plotter.add_text(text, position=(x, y), viewport=True, color=shade(colour), font_size=10).prop
    prop.SetFontSize(max(1, round(height * plotter.window_size[1] / SIZE[1])))
    # The letters of the plots; the renderer's own stop at plain Latin ones.
    prop.SetFontFamily(_FONT_FILE)
    prop.SetFontFile(_letters(bold=bold))
    {"left": prop.SetJustificationToLeft, "centre": prop.SetJustificationToCentered,
     "right": prop.SetJustificationToRight}[justify]()  # fmt: skip


_FONT_FILE = 4
"""VTK's number for letters from a file (vtkTextProperty.h)."""


@lru_cache(maxsize=2)
def _letters(*, bold: bool) -> str:
    """The file of the typeface that the plots use."""
    # Not looked for by name: the first time, that reads every typeface of the computer.
    from matplotlib import get_data_path

    return str(Path(get_data_path()) / "fonts" / "ttf" / f"DejaVuSans{'-Bold' if bold else ''}.ttf")


def polygons(points: Array, faces: Ints) -> Any:
    """Faces of one number of corners as a surface: a `pyvista.PolyData`."""
    import pyvista as pv

    whole: Any = faces.astype(int)
    return pv.PolyData.from_regular_faces(points, whole)


def overlay(
    plotter: Any,
    points: Array,
    colour: str | Sequence[str],
    *,
    faces: Ints | None = None,
    width: float = 1.0,
    in_space: bool = False,
) -> Any:
    """Flat shapes in front of everything: a line through the points, or faces filled with colour.

    Parameters
    ----------
    points : (n, 3) float array
        Fractions of the window, or with `in_space` metres, in which case the shape stays where it is as the
        view turns.
    faces : (m, k) int array or None
        Filled polygons; None draws the line.
    """
    import pyvista as pv
    from vtkmodules.vtkRenderingCore import vtkActor2D, vtkCoordinate, vtkPolyDataMapper2D

    if faces is None:
        shape = pv.PolyData(points, lines=np.concatenate([[len(points)], np.arange(len(points))]))
    else:
        shape = polygons(points, faces)
    place = vtkCoordinate()
    if in_space:
        place.SetCoordinateSystemToWorld()
    else:
        place.SetCoordinateSystemToNormalizedViewport()
    mapper = vtkPolyDataMapper2D()
    if not isinstance(colour, str):
        shape.cell_data["colour"] = np.array([pv.Color(shade(c)).int_rgb for c in colour], dtype=np.uint8)
        shape.set_active_scalars("colour")
        mapper.SetScalarModeToUseCellData()
    mapper.SetInputData(shape)
    mapper.SetTransformCoordinate(place)
    actor = vtkActor2D()
    actor.SetMapper(mapper)
    if isinstance(colour, str):
        actor.GetProperty().SetColor(*pv.Color(shade(colour)).float_rgb)
    actor.GetProperty().SetLineWidth(width * plotter.window_size[1] / SIZE[1])
    plotter.add_actor(actor)
    return actor


def _strip(left: float, bottom: float, width: float, height: float, cells: int) -> tuple[Array, Ints]:
    """A rectangle of the window cut into cells side by side: points and faces."""
    x = left + width * np.arange(cells + 1) / cells
    points = np.zeros((2 * cells + 2, 3))
    points[:, 0] = np.tile(x, 2)
    points[:, 1] = np.repeat([bottom, bottom + height], cells + 1)
    k = np.arange(cells)
    return points, np.stack([k, k + 1, k + cells + 2, k + cells + 1], axis=1)


def colour_bar(
    plotter: Any, title: str, limits: tuple[float, float], colours: Any, ends: tuple[str, str] = ("", "")
) -> None:
    """A legend at the lower right: title with unit, scale of colours, five figures, a word at either end."""
    from matplotlib.colors import to_hex

    left, width, bottom, height, steps = 0.56, 0.40, 0.085, 0.024, 128
    points, faces = _strip(left, bottom, width, height, steps)
    overlay(plotter, points, [to_hex(colours((k + 0.5) / steps)) for k in range(steps)], faces=faces)
    words(plotter, title, left, bottom + height + 0.014, 20, bold=True)
    for k, figure in enumerate(np.linspace(*limits, 5)):
        words(plotter, f"{figure:.6g}", left + width * k / 4, bottom - 0.030, 18, justify="centre")
    words(plotter, ends[0], left, bottom - 0.062, 18, colour=FAINT)
    words(plotter, ends[1], left + width, bottom - 0.062, 18, colour=FAINT, justify="right")


def band_legend(plotter: Any, title: str, rows: Sequence[tuple[str, str]]) -> None:
    """A legend of named colours at the lower right, one a column."""
    left, width, bottom, height = 0.46, 0.52, 0.085, 0.026
    words(plotter, title, left, bottom + height + 0.014, 20, bold=True)
    for k, (name, colour) in enumerate(rows):
        x = left + width * k / len(rows)
        points, faces = _strip(x, bottom, width / len(rows) - 0.006, height, 1)
        overlay(plotter, points, colour, faces=faces)
        words(plotter, name, x, bottom - 0.030, 17)


def paint(colours: Sequence[str]) -> Any:
    """A colour map through evenly spaced colours."""
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("own", list(colours), N=256)


def from_ahead() -> tuple[Array, Array, Array]:
    """Unit vectors of the usual view, (3,): to its right, up, and back to the reader."""
    a, e = np.radians([AZIMUTH, ELEVATION])
    back = np.array([-np.cos(a) * np.cos(e), np.sin(a) * np.cos(e), np.sin(e)])
    right = np.cross([0.0, 0.0, 1.0], back)
    right /= np.linalg.norm(right)
    return right, np.cross(back, right), back


def look(plotter: Any, points: Array, top: float | None = None) -> Camera:
    """Fit a parallel view from ahead to all that is to be seen, (n, 3), m, into the drawing's region of the
    window, whose upper end is `top`, a fraction of the window, where that is not the usual one.
    """
    right, up, back = from_ahead()
    across, high = points @ right, points @ up
    left, bottom, rightmost, usual_top = _REGION
    top = usual_top if top is None else top
    aspect = plotter.window_size[0] / plotter.window_size[1]
    scale = max(np.ptp(across) / (2 * aspect * (rightmost - left)), np.ptp(high) / (2 * (top - bottom)))
    middle = np.array([(across.min() + across.max()) / 2, (high.min() + high.max()) / 2])
    middle -= scale * np.array([(left + rightmost - 1) * aspect, bottom + top - 1])
    depth = float((points @ back).mean())
    focus = middle[0] * right + middle[1] * up + depth * back
    size = float(np.linalg.norm(np.ptp(points, axis=0)))
    camera = plotter.camera
    camera.parallel_projection = True
    camera.focal_point = tuple(focus)
    camera.position = tuple(focus + 3 * size * back)
    camera.up = tuple(up)
    camera.parallel_scale = scale
    camera.clipping_range = (0.1 * size, 8 * size)
    return Camera(right, up, focus, float(scale), (plotter.window_size[0], plotter.window_size[1]))


def pinned(
    plotter: Any, text: str, at: Array, *, height: int = _LABEL, colour: str = INK, box: bool = False
) -> Any:
    """Words centred on a point in space, in front of everything; `box` puts them on white in a frame."""
    import pyvista as pv
    from vtkmodules.vtkRenderingCore import vtkTextActor

    actor = vtkTextActor()
    actor.SetInput(text)
    actor.SetTextScaleModeToNone()
    place = actor.GetPositionCoordinate()
    place.SetCoordinateSystemToWorld()
    place.SetValue(*at)
    prop = actor.GetTextProperty()
    prop.SetFontFamily(_FONT_FILE)
    prop.SetFontFile(_letters(bold=False))
    prop.SetFontSize(max(1, round(height * plotter.window_size[1] / SIZE[1])))
    prop.SetColor(*pv.Color(shade(colour)).float_rgb)
    prop.SetJustificationToCentered()
    prop.SetVerticalJustificationToCentered()
    prop.SetLineSpacing(1.15)
    if box:
        prop.SetBackgroundColor(*pv.Color(shade("white")).float_rgb)
        prop.SetBackgroundOpacity(1.0)
        prop.SetFrame(True)
        prop.SetFrameColor(*pv.Color(shade(colour)).float_rgb)
        prop.SetFrameWidth(2)
    plotter.add_actor(actor)
    return actor


class _Labels(NamedTuple):
    """Names of bays with the point that each names and the point where its words stand, (n, 3), m."""

    texts: list[str]
    named: Array
    at: Array


def _place_labels(model: Model, view: Camera, drawn: Array, moves: Array | None, *, above: bool) -> _Labels:
    """Where the labels of the bays go.

    Each leader starts at the middle of the bay, on the foremost spar's upper cap. It runs upright on the
    screen until the words are clear of everything drawn, (n, 3); as a rule downwards, since a wing's rear
    parts lie above its spar.
    """
    outline = view.on_screen(drawn)
    unit = _LABEL * view.pixels[1] / SIZE[1]
    side = 1.0 if above else -1.0
    middle = (model.y[1:] + model.y[:-1]) / 2
    texts, named, at = [], [], []
    for sign in (1,) if model.half else (1, -1):
        for bay in np.unique(model.bay[middle * sign > 0]):
            ends = np.flatnonzero((model.bay == bay) & (middle * sign > 0))
            point = on_spar(model, (model.y[ends.min()] + model.y[ends.max() + 1]) / 2, moves)
            x, height = view.on_screen(point[None])[0]
            away = outline[:, 0] - x
            # Long elements have corners far apart: the next ones to either side bound what lies between.
            sides = [here for here in (away <= 0, away >= 0) if here.any()]
            reach = max(float(np.abs(away[here]).min()) for here in sides)
            near = np.abs(away) < max(3 * unit, reach + unit)
            clear = (side * outline[near, 1]).max() + 1.3 * unit - side * height
            texts.append(f"bay {bay}")
            named.append(point)
            at.append(point + side * view.metres(clear) * view.up)
    return _Labels(texts, np.array(named), np.array(at))


def on_spar(model: Model, y: float, moves: Array | None, which: int | None = None) -> Array:
    """The upper face of a spar at a station, moved with the cap's nodes, (3,), m.

    Parameters
    ----------
    model : Model
    y : float
        Station, m, port negative.
    moves : (n_nodes, 3) float array or None
        How far each node is drawn from its place, m.
    which : int or None
        Row of the spar; None is the foremost there.
    """
    span = abs(y)
    every = model.wing.spars
    spars = [k for k, s in enumerate(every) if s.y_end > span] or list(range(len(every)))
    k = min(spars, key=lambda k: float(every[k].x.at(span))) if which is None else which
    spar = every[k]
    point = np.array([float(spar.x.at(span)), y, float(spar.z_upper.at(span))])
    if moves is None:
        return point
    there = np.flatnonzero(model.cap_nodes[k, 0] >= 0)
    at = moves[model.cap_nodes[k, 0, there]]
    return point + np.array([np.interp(y, model.y[there], at[:, axis]) for axis in range(3)])


def _every_which(labels: _Labels, view: Camera) -> int:
    """Smallest of 1, 2, 5, 10 ... so that labels of every so manieth bay do not touch on the screen."""
    at = view.on_screen(labels.at)
    unit = _LABEL * view.pixels[1] / SIZE[1]
    number = np.array([int(t.split()[1]) for t in labels.texts])
    for step in (1, 2, 5, 10, 20, 50):
        shown = np.flatnonzero(_kept(number, step))
        apart = np.abs(np.diff(at[shown], axis=0))
        width = unit * _GLYPH * np.array([len(labels.texts[k]) for k in shown])
        needed = (width[1:] + width[:-1]) / 2 + 0.5 * unit
        if ((apart[:, 0] > needed) | (apart[:, 1] > 1.3 * unit)).all():
            return step
    return 100


def _kept(number: Ints, step: int) -> NDArray[np.bool_]:
    return np.asarray((number - number.min()) % step == 0)


def label_bays(
    plotter: Any, model: Model, view: Camera, drawn: Array, *, moves: Array | None = None, above: bool = False
) -> str:
    """Draw labels of bays with their leaders, on the port side too where it is modelled; says which have one.

    Parameters
    ----------
    plotter, model, view
        The scene, the wing, and how it is looked at.
    drawn : (n, 3) float array
        Points of all that is drawn, m.
    moves : (n_nodes, 3) float array or None
        How far each node is drawn from its place, m.
    above : bool
        Put the words above the drawing.
    """
    labels = _place_labels(model, view, drawn, moves, above=above)
    step = _every_which(labels, view)
    number = np.array([int(t.split()[1]) for t in labels.texts])
    for k in np.flatnonzero(_kept(number, step)):
        start, end = labels.at[k], labels.named[k]
        stop = view.metres(0.65 * _LABEL * view.pixels[1] / SIZE[1]) * view.up
        leader = np.stack([start + np.sign((end - start) @ view.up) * stop, end])
        overlay(plotter, leader, FAINT, width=1.3, in_space=True)
        corners = [view.right + view.up, view.up - view.right, -view.right - view.up, view.right - view.up]
        dot = view.metres(2.5) * np.array(corners)
        overlay(plotter, end + dot, INK, faces=np.arange(4)[None], in_space=True)
        pinned(plotter, labels.texts[k], start)
    if step == 1:
        return "Every bay is labelled, at its foremost spar." if len(labels.texts) else ""
    return f"Every {_ORDINAL.get(step, f'{step}th')} bay is labelled, for room."


_ORDINAL = {2: "2nd", 5: "5th", 10: "10th", 20: "20th"}


def draw_axes(plotter: Any, specimen: bool, view: Camera, corner: tuple[float, float]) -> None:
    """Three named arrows at a corner of the drawing (fractions of the window)."""
    import pyvista as pv

    pixels = np.array(corner) * view.pixels - np.array(view.pixels) / 2
    back = np.cross(view.right, view.up)
    origin = view.focus + view.metres(pixels[0]) * view.right + view.metres(pixels[1]) * view.up
    length = view.metres(0.06 * view.pixels[1])
    for direction, name in (
        ((1, 0, 0), "aft"),
        ((0, 1, 0), "to the tip" if specimen else "starboard tip"),
        ((0, 0, 1), "up"),
    ):
        vector = np.array(direction, dtype=float)
        arrow = pv.Arrow(
            start=origin, direction=vector, scale=length, shaft_radius=0.02, tip_radius=0.07, tip_length=0.25
        )
        plotter.add_mesh(arrow, color=shade(FAINT), lighting=False, reset_camera=False)
        seen = vector - (vector @ back) * back
        seen = seen / np.linalg.norm(seen)
        gap = view.metres(14 + 0.5 * _GLYPH * _LABEL * len(name) * abs(float(seen @ view.right)))
        pinned(plotter, name, origin + length * vector + gap * seen, colour=FAINT)
