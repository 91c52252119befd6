"""Frequency and damping of the wing's modes over speed, where it begins to beat, and how it then moves."""

from __future__ import annotations

import math
import os
from itertools import cycle
from pathlib import Path

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.pictures import stage
from models.pictures.files import write_whole
from models.pictures.plots import dress_panel, empty_sheet, save_figure
from models.studies.speed import LAST, Beating, Speeds
from models.studies.speed_doubt import SpeedDoubt
from models.studies.speed_limit import WORDS as _FIRST
from models.studies.speed_limit import limit_of

_LINES = (("#2a5b9c", "-"), ("#d9822b", "--"), ("#2a8c82", "-."), ("#a8467f", ":"),
          ("#5d5d5d", (0, (5, 1, 1, 1, 1, 1))))  # fmt: skip
_BEYOND = 1.3
"""How far beyond the last speed at which something happens the picture goes."""
_MOST_DAMPING = 30.0
"""Of the axis of damping, percent: what dies out faster is no danger."""
_TITLES = {
    "symmetric": "both sides alike",
    "antisymmetric": "one side up, the other down",
    "together": "both sides",
}


def speed_title(found: Speeds, sure: SpeedDoubt | None = None) -> str:
    """The answer over a picture: how fast at the most, and what comes first beyond."""
    name = found.reduced.wing.name
    held = limit_of(found, sure, 0.0)
    if math.isinf(held.counted):
        return f"{name}: no speed up to {say.speed.at_most(LAST)} makes it beat or twist off"
    first = f"; in mean wood it {_FIRST[held.first]} at {say.speed(held.onset):.0f}" if held.first else ""
    return f"{name}: do not fly faster than {say.speed.at_most(held.advised)}{first}"


def plot_speed(found: Speeds, path: str | os.PathLike[str], sure: SpeedDoubt | None = None) -> Path:
    """Write frequency and damping over speed as a PNG, replaced whole, a column for each kind of movement.

    The modes must have been followed; `sure` as for `speed_title`.
    """
    figure = empty_sheet(speed_title(found, sure))
    kinds = list(dict.fromkeys(mode.kind for mode in found.modes))
    panels = figure.subplots(2, len(kinds), sharex=True, squeeze=False)
    events = [found.reduced.case_speed, found.twist_off, *(one.speed for one in found.beating)]
    events += [] if found.reversal is None else [found.reversal]
    last = _BEYOND * max(speed for speed in events if speed <= LAST)
    shown = found.speeds <= last
    x = say.speed.factor * found.speeds[shown]
    for column, kind in enumerate(kinds):
        above, below = panels[0][column], panels[1][column]
        modes = [mode for mode in found.modes if mode.kind == kind]
        for k, (mode, (colour, style)) in enumerate(zip(modes, cycle(_LINES)), 1):
            look = {"color": colour, "linestyle": style, "linewidth": 2.2, "label": f"mode {k}"}
            above.plot(x, mode.frequency[shown], **look)
            below.plot(x, 100 * mode.damping[shown], **look)
        below.axhspan(-_MOST_DAMPING, 0.0, color="#d9822b", alpha=0.15, linewidth=0)
        below.axhline(0.0, color=stage.INK, linewidth=0.8)
        for panel in (above, below):
            dress_panel(panel)
        for k, (speed, words) in enumerate(_happens(found, kind)):
            at = say.speed.factor * speed
            if at > x[-1]:
                continue
            for panel in (above, below):
                panel.axvline(at, color=stage.INK, linewidth=1.2, linestyle=(":", "--")[k])
            right = at > 0.4 * x[-1]
            below.annotate(
                f"  {words}  ", (at, (-0.7, -0.9)[k] * _MOST_DAMPING), fontsize=10,
                ha="right" if right else "left", zorder=5,
                bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.9, "pad": 2.0},
            )  # fmt: skip
        above.set_title(_TITLES[kind], fontsize=12)
        above.set_ylim(bottom=0.0)
        below.set_ylim(-_MOST_DAMPING, _MOST_DAMPING)
        below.set_xlabel(f"speed, {say.speed.unit}")
    panels[0][0].set_ylabel("frequency, Hz")
    panels[1][0].set_ylabel("damping, % of critical\n(below 0 it beats)")
    handles, labels = max(
        (panel.get_legend_handles_labels() for panel in panels[0]), key=lambda of: len(of[1])
    )
    place = "outside lower right"
    figure.legend(handles, labels, loc=place, ncols=len(labels), fontsize=11, frameon=False,
                  title="the wing's modes over speed, by strips", title_fontsize=11)  # fmt: skip
    return save_figure(figure, path)


def _happens(found: Speeds, kind: str) -> tuple[tuple[float, str], tuple[float, str]]:
    """What happens to one kind of movement, by strips: twist-off or the end of the grip, and where it beats;
    speeds, m/s, infinite where it does not, and words.
    """
    speed, words = found.twist_off, "twists off, held at its middle,"
    if kind == "antisymmetric":
        speed, words = math.inf if found.reversal is None else found.reversal, "no grip in roll"
    end = (speed, f"{words} from {say.speed(speed):.0f}")
    first = next((one for one in found.beating if one.kind == kind), None)
    if first is None:
        return end, (math.inf, "")
    return end, (first.speed, f"beats from {say.speed(first.speed):.0f}, {first.frequency:.1f} Hz")


_FRAMES, _PERIOD = 20, 1.6
"""Of the moving picture: how many, and how long one swing takes in it, s."""
_SMALL = 56
"""Dots an inch of it."""
_SWING = 0.12
"""Greatest movement drawn, of the semispan: far more than it is."""
_DEPTH, _SLANT = 0.5, 0.3
"""How the chord is drawn seen from behind and above: down, and aside."""


def moved(found: Speeds, one: Beating, turn: float) -> tuple[Array, Array, Array]:
    """Where ribs are at one moment of a swing, a turn (rad) of it gone, that neither grows nor dies.

    Returns
    -------
    x, y, z : (n_ribs, 3) float arrays
        Leading edge, hinge (else three quarters of the chord) and trailing edge of every rib, m; up `_SWING`
        of the semispan where it moves most.
    """
    reduced = found.reduced
    wing, y = reduced.wing, reduced.rib_y
    plan, elevons = wing.planform, wing.elevons
    assert plan is not None, "what flies has a planform"
    lead, chord = plan.leading_edge_x.at(np.abs(y)), plan.chord.at(np.abs(y))
    share = np.array([0.0, 0.75 if elevons is None else elevons.hinge, 1.0])
    behind = (share - 0.5) * chord[:, None]
    shape = one.up[:, None] - behind * one.nose_up[:, None]
    if elevons is not None:
        there = (np.abs(y) > elevons.y_from - 1e-6) & (np.abs(y) < elevons.y_to + 1e-6)
        side = np.where((y < 0) & (one.kind == "antisymmetric"), -1.0, 1.0)
        shape[there, 2] -= one.turn * side[there] * (1 - elevons.hinge) * chord[there]
    size = _SWING * wing.semispan / np.abs(shape).max()
    z = size * (shape * np.exp(1j * turn)).real
    return lead[:, None] + share * chord[:, None], np.repeat(y[:, None], 3, axis=1), z


def animate_speed(found: Speeds, path: str | os.PathLike[str]) -> Path:
    """Write the shape that beats first as a moving picture (GIF), replaced whole."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.collections import PolyCollection
    from matplotlib.colors import LinearSegmentedColormap
    from PIL import Image

    one = found.beating[0]
    wing = found.reduced.wing
    often = f"{one.frequency:.1f} times a second"
    figure = empty_sheet(f"{wing.name}: beats from {say.speed(one.speed):.0f}, {often}")
    figure.set_dpi(_SMALL)
    canvas = FigureCanvasAgg(figure)
    panel = figure.subplots()
    panel.set_axis_off()
    panel.set_aspect("equal")
    most = _SWING * wing.semispan

    def seen(x: Array, y: Array, z: Array) -> Array:
        return np.stack([y - _SLANT * x, z - _DEPTH * x], axis=-1)

    def quads(points: Array) -> Array:
        four = (points[:-1, :-1], points[1:, :-1], points[1:, 1:], points[:-1, 1:])
        return np.stack(four, axis=2).reshape(-1, 4, 2)

    x, y, z = moved(found, one, 0.0)
    rest = seen(x, y, 0 * z)
    outline = np.vstack([rest[:, 0], rest[::-1, 2], rest[:1, 0]])
    panel.plot(*outline.T, color=stage.INK, linewidth=0.8, linestyle=":")
    colours = LinearSegmentedColormap.from_list("up and down", stage.DIVERGING)
    skin = PolyCollection(list(quads(rest)), cmap=colours, edgecolor=stage.INK, linewidth=0.7, alpha=0.9)
    skin.set_clim(-most, most)
    panel.add_collection(skin)
    corners = rest.reshape(-1, 2)
    for axis, (low, high) in enumerate(zip(corners.min(axis=0), corners.max(axis=0), strict=True)):
        ends = low - 1.1 * most * axis - 0.02, high + 1.1 * most * axis + 0.02
        (panel.set_ylim if axis else panel.set_xlim)(*ends)
    words = f"{_TITLES[one.kind]}; slowed down, and drawn far larger than it is; seen from behind"
    panel.set_title(words, fontsize=14)
    frames = []
    for k in range(_FRAMES):
        x, y, z = moved(found, one, 2 * np.pi * k / _FRAMES)
        skin.set_verts(list(quads(seen(x, y, z))))
        four = (z[:-1, :-1], z[1:, :-1], z[1:, 1:], z[:-1, 1:])
        skin.set_array(np.mean(four, axis=0).ravel())
        canvas.draw()
        figure.set_layout_engine("none")  # as the first one was laid out
        pixels = np.asarray(canvas.buffer_rgba())[..., :3]
        frames.append(Image.fromarray(pixels.copy()).quantize(64))

    path, wait = Path(path), round(1000 * _PERIOD / _FRAMES)
    write_whole(
        path,
        lambda beside: frames[0].save(
            beside, format="GIF", save_all=True, append_images=frames[1:], duration=wait, loop=0
        ),
    )
    return path
