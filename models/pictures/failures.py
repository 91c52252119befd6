"""Pictures of buckling and of collapse: the shape of a mode, and the parts that fail in their order.

The scenes are made like those of `models.pictures.scenes`; the chart is a plot of load factor by step.
"""

from __future__ import annotations

import os
import textwrap
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from fea.arrays import Array
from models.pictures import plots, scenes, stage
from models.pictures.files import shoot
from models.pictures.first import elements_of, short
from models.pictures.surfaces import Surface, surfaces
from models.rounding import down
from models.structure.model import Model, Part
from models.studies import buckling as modes
from models.studies import collapse as story_of

SHOWN = 8
"""Failures that the picture of a collapse numbers."""
_ORDER = ("#7a0c1e", "#b8362a", "#e0692f", "#f09b4c", "#f3c659", "#dcd38a", "#b9cfc0", "#8fc1de")
"""Colours of the failures in their order, first darkest."""
_AMPLITUDE = ("#e8e6e1", "#f3c659", "#e0692f", "#a52a2a", "#4a0c1e")
"""From still to the greatest movement, darkening evenly."""
_DRAWN = 1 / 14
"""Greatest movement as it is drawn, over the wing's size."""


def buckling_mode(
    found: modes.Buckling,
    mode: modes.BucklingMode,
    *,
    off_screen: bool = True,
    size: tuple[int, int] = stage.SIZE,
) -> Any:
    """The buckled shape as a scene, coloured by how far each point moves, with words at the place.

    Parameters
    ----------
    found, mode
        How the wing buckles, and one of its modes.
    off_screen, size
        As of every scene.
    """
    analysis = found.analysis
    model = analysis.model
    parts = surfaces(model)
    at = model.structure.nodes
    moves = {name: s.moves(at, mode.shape) for name, s in parts.items()}
    every = np.concatenate(list(moves.values()))
    largest = float(np.linalg.norm(every, axis=1).max())
    unbent = np.concatenate([s.points for s in parts.values()])
    local = "as a whole" not in mode.way
    factor = (0.25 * _DRAWN if local else _DRAWN) * float(np.ptp(unbent, axis=0).max()) / largest
    shown = np.concatenate([unbent, unbent + factor * every])
    specimen = model.wing.clamped
    plotter = stage.open_stage(
        _of_mode(mode, specimen=specimen),
        f"{model.wing.name}: {scenes.load_words(analysis)}; buckles at {down(mode.factor, 2)} times that",
        off_screen=off_screen,
        size=size,
    )
    view = stage.look(plotter, shown, top=0.76)
    colours = stage.paint(_AMPLITUDE)
    for name, surface in parts.items():
        scenes.add_surface(
            plotter, surface.points, surface, f"unbent {name}", color=stage.GHOST, opacity=0.12
        )
        scenes.add_surface(
            plotter,
            surface.points + factor * moves[name],
            surface,
            name,
            clim=(0.0, 1.0),
            cmap=colours,
            scalars=np.linalg.norm(moves[name], axis=1) / largest,
            what="movement over the greatest",
            opacity=0.6 if name == "sheeting" and mode.group != "sheeting" else 1.0,
        )
    labelled = stage.label_bays(plotter, model, view, shown)
    stage.colour_bar(plotter, "Movement over the greatest, no scale", (0.0, 1.0), colours)
    name, element = _place_of(model, mode, parts, moves)
    surface = replace(parts[name], points=parts[name].points + factor * moves[name])
    words = modes.words(mode, specimen=specimen)
    scenes.mark_with_words(plotter, view, scenes.middle_of(surface, element), words)
    notes = ["Grey: before buckling. A mode has a shape, but no size."]
    if mode.opposite:
        notes.append("The port half moves opposite.")
    return scenes.finish_scene(plotter, view, analysis, [*notes, scenes.half_words(analysis), labelled])


def _place_of(
    model: Model, mode: modes.BucklingMode, parts: dict[str, Surface], moves: dict[str, Array]
) -> tuple[str, int]:
    """Block and element of the mode's part that move most; the most moved of all where it is not drawn."""
    own = elements_of(model, mode.part)
    best: tuple[float, str, int] | None = None
    for name in [b for b in own if b in parts] or list(parts):
        size = np.linalg.norm(moves[name], axis=1)
        if name in own:
            size = np.where(own[name][parts[name].element], size, -1.0)
        k = int(np.argmax(size))
        if best is None or size[k] > best[0]:
            best = (float(size[k]), name, int(parts[name].element[k]))
    assert best is not None, "something is drawn"
    return best[1], best[2]


def collapse_sequence(
    story: story_of.Collapse, *, off_screen: bool = True, size: tuple[int, int] = stage.SIZE
) -> Any:
    """A scene of the parts that fail, numbered and coloured in their order, on the sound wing."""
    analysis = story.analysis
    model = analysis.model
    parts = surfaces(model)
    order = numbered(story)
    shown = np.concatenate([s.points for s in parts.values()])
    plotter = stage.open_stage(
        _headline(story),
        f"{model.wing.name}: what fails, in order, and the load factor held up to it",
        off_screen=off_screen,
        size=size,
    )
    view = stage.look(plotter, shown, top=0.78)
    scenes.ghosts(plotter, parts)
    labelled = stage.label_bays(plotter, model, view, shown)
    tags: list[tuple[Array, list[int]]] = []
    for part, numbers in order.items():
        first = numbers[0] - 1
        middles = []
        for name, own in elements_of(model, part).items():
            if name not in parts:
                continue
            mine = parts[name].only(own[parts[name].element])
            middles.append(mine.points)
            opacity = 0.55 if name == "sheeting" else 1.0
            named = f"failed {first} {name}"
            scenes.add_surface(plotter, mine.points, mine, named, color=_ORDER[first], opacity=opacity)
        if middles:
            tags.append((np.concatenate(middles).mean(axis=0), numbers))
    _number(plotter, view, tags)
    lines = _told(story)
    if len(story.steps) > SHOWN:
        lines.append(f"and {len(story.steps) - SHOWN} more; {story.end}")
    for k, line in enumerate(textwrap.shorten(text, 78) for text in reversed(lines)):
        stage.words(plotter, line, 0.02, 0.052 + 0.026 * k, 16)
    note = f"Load factor held up to each failure. {labelled}"
    stage.words(plotter, note, 0.56, 0.052, 16, colour=stage.FAINT)
    stage.words(plotter, scenes.half_words(analysis), 0.56, 0.026, 16, colour=stage.FAINT)
    stage.draw_axes(plotter, model.wing.clamped, view, (0.925, 0.205))
    return plotter


def numbered(story: story_of.Collapse) -> dict[Part, list[int]]:
    """Numbers, from 1, under which each part stands among the failures shown."""
    out: dict[Part, list[int]] = {}
    for k, step in enumerate(story.steps[:SHOWN]):
        out.setdefault(step.part, []).append(k + 1)
    return out


def _number(plotter: Any, view: stage.Camera, tags: Sequence[tuple[Array, Sequence[int]]]) -> None:
    """Numbers in frames above places, moved up until clear of those before; leaders run behind them."""
    unit = 20 * view.pixels[1] / stage.SIZE[1]
    taken: list[tuple[Array, Array]] = []
    placed = []
    for at, numbers in tags:
        text = " " + ", ".join(map(str, numbers)) + " "
        pixel = view.on_screen(at[None])[0]
        half = np.array([0.36 * unit * len(text), 0.8 * unit])
        goal = pixel + np.array([0.0, 3.0 * unit])
        while any((np.abs(goal - other) < half + size).all() for other, size in taken):
            goal = goal + np.array([0.0, 0.3 * unit])
        taken.append((goal, half))
        shift = goal - pixel
        end = at + view.metres(shift[0]) * view.right + view.metres(shift[1]) * view.up
        placed.append((text, end))
        foot = end - view.metres(0.8 * unit) * view.up
        stage.overlay(plotter, np.stack([foot, at]), stage.INK, width=1.4, in_space=True)
    for text, end in placed:
        stage.pinned(plotter, text, end, height=20, box=True)


def _at(story: story_of.Collapse, step: story_of.FailureStep) -> str:
    specimen = story.analysis.wing.clamped
    return f"x {down(step.load_factor, 2)}" if specimen else f"{down(step.load_factor)} g"


def _told(story: story_of.Collapse) -> list[str]:
    """A line for each failure shown."""
    return [
        f"{k}. at {_at(story, s)}: {story_of.happens(replace(s, part=short(s.part)), side=story.one_side)}"
        for k, s in enumerate(story.steps[:SHOWN], 1)
    ]


def _headline(story: story_of.Collapse) -> str:
    if not story.steps:
        return "Nothing fails"
    what = "which ends" if story.ends_flight else "which does not end"
    first = story.steps[0]
    specimen = story.analysis.wing.clamped
    flight = "test" if specimen else "flight"
    at = f"{down(first.load_factor, 2)} times its load" if specimen else _at(story, first)
    named = replace(first, part=short(first.part))
    before = ""
    if story.joint is not None:
        load = f"{down(story.joint_at, 2)} times its load" if specimen else f"{down(story.joint_at)} g"
        before = f"; before it, at {load}, its joint gives way"
    return f"At {at} {story_of.happens(named, side=story.one_side)}, {what} the {flight}{before}"


def _of_mode(mode: modes.BucklingMode, *, specimen: bool) -> str:
    """The answer over a mode: where, how and at what load it buckles."""
    return modes.words(replace(mode, part=short(mode.part)), specimen=specimen).partition(" (stressed")[0]


def plot_collapse(story: story_of.Collapse, path: str | os.PathLike[str]) -> Path:
    """Write load factor held and stiffness left by step as a PNG, replaced whole."""
    said = _headline(story)
    figure = plots.empty_sheet(f"{story.analysis.wing.name}: {said[:1].lower()}{said[1:]}")
    upper, lower = figure.subplots(2, 1, sharex=True, gridspec_kw={"height_ratios": (3, 1)})
    specimen = story.analysis.wing.clamped
    unit = "times its load" if specimen else "g"
    n = np.arange(1, len(story.steps) + 1)
    held = np.array([s.load_factor for s in story.steps])
    upper.step(n, held, where="mid", color=plots.BLUE, linewidth=1.2)
    upper.plot(n, held, "o", color=plots.BLUE, markersize=7)
    upper.axhline(story.first, color=plots.PINK, linewidth=1.2, linestyle="--")
    asked = story.analysis.load_factor
    places = 2 if specimen else 1
    beside = [(story.first, f"first failure,\n{down(story.first, places)} {unit}", plots.PINK)]
    if not specimen:
        upper.axhline(asked, color=plots.GREEN, linewidth=1.2, linestyle=":")
        beside.append((asked, f"asked for,\n{down(asked)} g", plots.GREEN))
    for at, words, colour in beside:
        lower_one = at < max(value for value, *_ in beside)
        upper.annotate(
            words, (1.0, at), (6, 0), xycoords=upper.get_yaxis_transform(), textcoords="offset points",
            va="top" if lower_one else "bottom", color=colour, fontsize=11,
        )  # fmt: skip
    lines = _told(story)
    for k, step in enumerate(story.steps[:SHOWN], 1):
        upper.annotate(
            str(k), (k, step.load_factor), (0, 8), textcoords="offset points", ha="center", fontsize=11
        )
    top = max(held.max(), asked if not specimen else 0.0)
    upper.set_ylim(0, 1.9 * top)
    upper.text(
        0.5, 0.98, "\n".join(lines), transform=upper.transAxes, va="top", fontsize=11, linespacing=1.4,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 2.0},
    )  # fmt: skip
    plots.dress_panel(upper, f"Load held up to each failure, {unit}")
    left = 100 * np.array([s.stiffness_left for s in story.steps])
    lower.step(n, left, where="mid", color=plots.ORANGE, linewidth=2)
    lower.set_ylim(0, 105)
    words = f"failure, in order; the end: {story.end}"
    plots.dress_panel(lower, "Stiffness left before it, % of the sound wing", words)
    for panel in (upper, lower):
        panel.margins(x=0.03)
    lower.xaxis.get_major_locator().set_params(integer=True)
    return plots.save_figure(figure, path)


def draw_buckling(
    found: modes.Buckling, folder: str | os.PathLike[str], *, size: tuple[int, int] = stage.SIZE
) -> list[Path]:
    """Write the lowest mode of all, and that of the spars where it is another, as PNG files.

    In a folder, made if it is not there: buckling.png and buckling-spars.png.
    """
    wanted = {}
    if found.modes:
        wanted["buckling"] = found.modes[0]
    spars = found.first_of.get("spars")
    if spars is not None and (not found.modes or found.modes[0].group != "spars"):
        wanted["buckling-spars"] = spars
    return _write({name: buckling_mode(found, mode, size=size) for name, mode in wanted.items()}, folder)


def draw_collapse(
    story: story_of.Collapse, folder: str | os.PathLike[str], *, size: tuple[int, int] = stage.SIZE
) -> list[Path]:
    """Write the parts that fail in their order, and the chart of what the wing holds, as PNG files.

    In a folder, made if it is not there: collapse.png and collapse-steps.png; none where nothing fails.
    """
    if not story.steps:
        return []
    written = _write({"collapse": collapse_sequence(story, size=size)}, folder)
    return [*written, plot_collapse(story, Path(folder) / "collapse-steps.png")]


def _write(plotters: dict[str, Any], folder: str | os.PathLike[str]) -> list[Path]:
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    for name, plotter in plotters.items():
        shoot(plotter, folder / f"{name}.png")
    return [folder / f"{name}.png" for name in plotters]
