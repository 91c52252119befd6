"""What every scene has in common: a white sheet with title, notes, legend, axes and caution, and the view of the wing.

Sizes and places of words are fractions of the window, so that the same scene serves a file and a window. The view is a
parallel one from ahead, above and starboard, fitted to the points shown.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from models.build.model import Model

Array = NDArray[np.float64]

SIZE = (1600, 1000)
"""Pixels of a picture."""
CAUTION = "Model aircraft only. Static proof test before flight."
INK, FAINT, GHOST = "#1a1a1a", "#6b6b6b", "#b9b9b9"
DIVERGING = ("#7f3b08", "#c76a1a", "#f0b366", "#f4f1ea", "#9aa6d1", "#5a66a8", "#2b2a6f")
"""Brown (negative) over near-white (zero) to indigo (positive), darkening evenly to both sides: one that readers with
any kind of colour blindness can tell apart. After the idea of Brewer's brown-to-purple schemes, from memory."""
BAND_COLOURS = ("#7a0c1e", "#e0692f", "#f3c659", "#8fc1de", "#2a5b9c")
"""Reserve factor from failing to ample; dark red against blue, told apart by lightness and by hue."""
UNCHECKED = "#d9d9d9"
_REGION = (0.035, 0.235, 0.965, 0.865)
"""Part of the window (left, bottom, right, top) that the drawing fills."""
_LABEL = 17
_GLYPH = 0.56
"""Width of a letter over its height, on the safe side for the face used."""


@dataclass(frozen=True, eq=False)
class View:
    """A parallel view: unit vectors of the window's right and up in space, the middle of the window, and its scale.

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


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the drawing library from reporting on stderr that a machine without a screen has none."""
    import vtkmodules.vtkCommonCore as core

    before = core.vtkLogger.GetCurrentVerbosityCutoff()
    core.vtkLogger.SetStderrVerbosity(core.vtkLogger.VERBOSITY_OFF)
    try:
        yield
    finally:
        core.vtkLogger.SetStderrVerbosity(before)


def open_stage(title: str, subtitle: str, notes: Sequence[str], *, off_screen: bool, size: tuple[int, int]) -> Any:
    """A white window with its words: title and what is shown on top, notes and the caution at the bottom.

    Returns
    -------
    pyvista.Plotter
    """
    import pyvista as pv

    with _quiet():
        plotter = pv.Plotter(off_screen=off_screen, window_size=list(size), lighting="light kit")
    plotter.set_background("white")
    plotter.enable_anti_aliasing("ssaa" if off_screen and max(size) <= 1000 else "msaa", multi_samples=8)
    words(plotter, title, 0.02, 0.945, 30, bold=True)
    words(plotter, subtitle, 0.02, 0.905, 20)
    for k, note in enumerate(reversed(notes)):
        words(plotter, note, 0.02, 0.050 + 0.030 * k, 17, colour=FAINT)
    words(plotter, CAUTION, 0.02, 0.014, 17, bold=True)
    return plotter


def words(
    plotter: Any, text: str, x: float, y: float, height: int, *, colour: str = INK, bold: bool = False, right: bool = False
) -> None:
    """Words at a place of the window (fractions); `height` in pixels of a picture 1000 high."""
    actor = plotter.add_text(text, position=(x, y), viewport=True, color=colour, font_size=10)
    prop = actor.prop
    prop.SetFontSize(max(1, round(height * plotter.window_size[1] / SIZE[1])))
    prop.SetBold(bold)
    if right:
        prop.SetJustificationToRight()


def swatch(plotter: Any, x: float, y: float, width: float, height: float, colour: str, *, edge: bool = True) -> None:
    """A coloured rectangle at a place of the window (fractions)."""
    import pyvista as pv
    from vtkmodules.vtkRenderingCore import vtkActor2D, vtkCoordinate, vtkPolyDataMapper2D

    corners = np.array([[x, y, 0], [x + width, y, 0], [x + width, y + height, 0], [x, y + height, 0]])
    shapes = [pv.PolyData(corners, faces=[4, 0, 1, 2, 3])]
    if edge:
        shapes.append(pv.PolyData(corners, lines=[5, 0, 1, 2, 3, 0]))
    for shape, paint in zip(shapes, (colour, FAINT)):
        place = vtkCoordinate()
        place.SetCoordinateSystemToNormalizedViewport()
        mapper = vtkPolyDataMapper2D()
        mapper.SetInputData(shape)
        mapper.SetTransformCoordinate(place)
        actor = vtkActor2D()
        actor.SetMapper(mapper)
        actor.GetProperty().SetColor(*pv.Color(paint).float_rgb)
        plotter.add_actor(actor)


def colour_bar(plotter: Any, title: str, limits: tuple[float, float], colours: Any, ends: tuple[str, str] = ("", "")) -> None:
    """A legend for a continuous scale at the lower right: title with unit, five figures, a word at either end."""
    from matplotlib.colors import to_hex

    left, width, bottom, height, steps = 0.56, 0.40, 0.085, 0.024, 96
    for k in range(steps):
        paint = to_hex(colours((k + 0.5) / steps))
        swatch(plotter, left + width * k / steps, bottom, width / steps * 1.02, height, paint, edge=False)
    words(plotter, title, left, bottom + height + 0.014, 20, bold=True)
    figures = np.linspace(*limits, 5)
    for k, figure in enumerate(figures):
        text = f"{figure:.6g}"
        shift = 0.5 * _GLYPH * len(text) * 18 / SIZE[0]
        words(plotter, text, left + width * k / 4 - shift, bottom - 0.030, 18)
    words(plotter, ends[0], left, bottom - 0.062, 18, colour=FAINT)
    words(plotter, ends[1], left + width, bottom - 0.062, 18, colour=FAINT, right=True)


def band_legend(plotter: Any, title: str, rows: Sequence[tuple[str, str]]) -> None:
    """A legend of named colours at the lower right, one a column."""
    left, width, bottom, height = 0.46, 0.52, 0.085, 0.026
    words(plotter, title, left, bottom + height + 0.014, 20, bold=True)
    for k, (name, colour) in enumerate(rows):
        x = left + width * k / len(rows)
        swatch(plotter, x, bottom, width / len(rows) - 0.006, height, colour)
        words(plotter, name, x, bottom - 0.030, 17)


def paint(colours: Sequence[str]) -> Any:
    """A colour map through evenly spaced colours."""
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("own", list(colours), N=256)


def look(plotter: Any, points: Array, *, azimuth: float, elevation: float) -> View:
    """Fit a parallel view from ahead to points: turned `azimuth` to starboard, `elevation` above the horizon (degrees)."""
    a, e = np.radians([azimuth, elevation])
    back = np.array([-np.cos(a) * np.cos(e), np.sin(a) * np.cos(e), np.sin(e)])
    right = np.cross([0.0, 0.0, 1.0], back)
    right /= np.linalg.norm(right)
    up = np.cross(back, right)
    across, high = points @ right, points @ up
    left, bottom, rightmost, top = _REGION
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
    return View(right, up, focus, float(scale), (plotter.window_size[0], plotter.window_size[1]))


def pinned(plotter: Any, text: str, at: Array, *, height: int = _LABEL, colour: str = INK, box: bool = False) -> Any:
    """Words at a point in space that always face the reader, centred; `box` puts a white ground with a border behind."""
    import pyvista as pv
    from vtkmodules.vtkRenderingCore import vtkBillboardTextActor3D

    actor = vtkBillboardTextActor3D()
    actor.SetInput(text)
    actor.SetPosition(*at)
    prop = actor.GetTextProperty()
    prop.SetFontSize(max(1, round(height * plotter.window_size[1] / SIZE[1])))
    prop.SetColor(*pv.Color(colour).float_rgb)
    prop.SetJustificationToCentered()
    prop.SetVerticalJustificationToCentered()
    prop.SetBackgroundColor(1.0, 1.0, 1.0)
    prop.SetBackgroundOpacity(1.0 if box else 0.75)
    if box:
        prop.SetFrame(True)
        prop.SetFrameColor(*pv.Color(colour).float_rgb)
        prop.SetFrameWidth(2)
    actor.ForceOpaqueOff()
    actor.ForceTranslucentOn()
    plotter.add_actor(actor, pickable=False, reset_camera=False)
    return actor


@dataclass(frozen=True, eq=False)
class BayLabels:
    """Names of bays with the point that each names and the point where its words stand, (n, 3), m."""

    texts: tuple[str, ...]
    named: Array
    at: Array


def place_bay_labels(model: Model, drawn: Array, *, both_sides: bool = False) -> BayLabels:
    """Where the labels of the bays go: pointing at the middle of the foremost spar's upper cap in each bay.

    The words of a specimen stand above the spar; those of a wing ahead of whatever lies foremost in the bay, where they
    hide nothing.

    Parameters
    ----------
    model : Model
        The wing.
    drawn : (n, 3) float array
        Points of all that is drawn.
    both_sides : bool
        Label the port side where it is modelled.
    """
    wing = model.wing
    size = float(np.ptp(drawn, axis=0).max())
    middle = (model.y[1:] + model.y[:-1]) / 2
    texts, named, at = [], [], []
    for sign in (1, -1) if both_sides else (1,):
        for bay in np.unique(model.bay[middle * sign > 0]):
            ends = np.flatnonzero((model.bay == bay) & (middle * sign > 0))
            low, high = model.y[ends.min()], model.y[ends.max() + 1]
            y = (low + high) / 2
            spars = [s for s in wing.spars if s.y_end > abs(y)] or list(wing.spars)
            front = min(spars, key=lambda s: float(s.x.at(abs(y))))  # noqa: B023
            point = np.array([float(front.x.at(abs(y))), y, float(front.z_upper.at(abs(y)))])
            here = drawn[(drawn[:, 1] >= low - 1e-9) & (drawn[:, 1] <= high + 1e-9)]
            if wing.planform is None:
                words_at = point + np.array([0.0, 0.0, 0.09 * size])
            else:
                words_at = np.array([here[:, 0].min() - 0.035 * size, y, point[2]])
            texts.append(f"bay {bay}")
            named.append(point)
            at.append(words_at)
    return BayLabels(tuple(texts), np.array(named), np.array(at))


def every_which(labels: BayLabels, view: View) -> int:
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


def _kept(number: NDArray[np.intp], step: int) -> NDArray[np.bool_]:
    return np.asarray((number % step == 0) | (number == number.min()) if step > 1 else number == number)


def label_bays(plotter: Any, labels: BayLabels, view: View) -> str:
    """Draw the labels with their leaders; says which bays are labelled."""
    import pyvista as pv

    step = every_which(labels, view)
    number = np.array([int(t.split()[1]) for t in labels.texts])
    for k in np.flatnonzero(_kept(number, step)):
        start, end = labels.at[k], labels.named[k]
        line = pv.Line(start, end)
        plotter.add_mesh(line, color=FAINT, line_width=1.2, lighting=False, name=f"leader {k}", reset_camera=False)
        dot = pv.PolyData(end[None])
        plotter.add_mesh(dot, color=INK, point_size=5, render_points_as_spheres=True, name=f"dot {k}", reset_camera=False)
        pinned(plotter, labels.texts[k], start)
    if step == 1:
        return "Every bay is labelled, at the front spar." if len(labels.texts) else ""
    return f"Bays 1 and every {_ORDINAL.get(step, f'{step}th')} are labelled, for room."


_ORDINAL = {2: "2nd", 5: "5th", 10: "10th", 20: "20th"}


def draw_axes(plotter: Any, specimen: bool, view: View, corner: tuple[float, float]) -> None:
    """Three named arrows at a corner of the drawing (fractions of the window)."""
    import pyvista as pv

    pixels = np.array(corner) * view.pixels - np.array(view.pixels) / 2
    back = np.cross(view.right, view.up)
    origin = view.focus + view.metres(pixels[0]) * view.right + view.metres(pixels[1]) * view.up
    length = view.metres(0.075 * view.pixels[1])
    for direction, name in (((1, 0, 0), "aft"), ((0, 1, 0), "to the tip" if specimen else "starboard tip"), ((0, 0, 1), "up")):
        vector = np.array(direction, dtype=float)
        arrow = pv.Arrow(start=origin, direction=vector, scale=length, shaft_radius=0.02, tip_radius=0.07, tip_length=0.25)
        plotter.add_mesh(arrow, color=FAINT, lighting=False, reset_camera=False)
        seen = vector - (vector @ back) * back
        seen = seen / np.linalg.norm(seen)
        gap = view.metres(14 + 0.5 * _GLYPH * _LABEL * len(name) * abs(float(seen @ view.right)))
        pinned(plotter, name, origin + length * vector + gap * seen, colour=FAINT)
