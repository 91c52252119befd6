"""All pictures of a solved wing into a folder, or one in a window."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from models.analysis import Analysis
from models.pictures import scenes, stage
from models.pictures.files import write_whole
from models.pictures.first import ShownReserves
from models.pictures.plots import plot_span, span_curves
from models.pictures.reserves import plot_reserves
from models.pictures.side_view import with_side_view

SCENES = ("deflection", "cap stress", "shear flow", "reserve")
"""Names of the scenes."""


_FROM_THE_SIDE = {"cap stress": scenes.stress_from_the_side, "shear flow": scenes.flow_from_the_side}


def draw_all(
    analysis: Analysis,
    found: ShownReserves | None,
    folder: str | os.PathLike[str],
    *,
    size: tuple[int, int] = stage.SIZE,
) -> list[Path]:
    """Write every picture of a solved wing as a PNG file.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    found : ShownReserves or None
        Reserve factors and what fails first; None leaves their pictures out.
    folder : str or path
        Where to; made if it is not there.
    size : (int, int), default (1600, 1000)
        Pixels.

    Returns
    -------
    list of path
        deflection.png; cap-stress.png, shear-flow.png (where there are webs) and reserve.png (where reserves
        are given), with the spars from the side below the scene; reserve-modes.png and span.png.

    Raises
    ------
    OSError
        A file cannot be written.
    NoRenderer
        This machine can draw no scenes; `plot_span` would still work.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name in SCENES:
        if (name == "shear flow" and "webs" not in analysis.model.structure.blocks) or (
            name == "reserve" and found is None
        ):
            continue
        path = folder / f"{name.replace(' ', '-')}.png"
        plotter = _scene(analysis, name, found, off_screen=True, size=size)
        try:
            if name == "reserve" and found is not None:
                with_side_view(plotter, analysis, found, path)
            elif name in _FROM_THE_SIDE:
                with_side_view(plotter, analysis, None, path, _FROM_THE_SIDE[name](analysis))
            else:
                write_whole(path, plotter.screenshot)
        finally:
            plotter.close()
        written.append(path)
    path = folder / "span.png"
    plot_span(span_curves(analysis), path)
    written.append(path)
    if found is not None:
        written.append(plot_reserves(found.margins, folder / "reserve-modes.png", title=found.title))
    return written


def show(
    analysis: Analysis,
    scene: str,
    *,
    found: ShownReserves | None = None,
    off_screen: bool = False,
    path: str | os.PathLike[str] | None = None,
    size: tuple[int, int] = stage.SIZE,
) -> None:
    """Show one scene in a window that can be turned, or write it where there is no screen.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    scene : str
        One of `SCENES`.
    found
        As for `draw_all`; the scene "reserve" needs it.
    off_screen : bool, default False
        Write a PNG to `path` and open nothing.
    path : str or path or None
        Where to write; None is the scene's name in the working folder.
    size : (int, int)
        Pixels.

    Raises
    ------
    ValueError
        No such scene, no webs for the shear flow, or no reserve factors for the reserves.
    NoRenderer
        No screen for a window, or nothing that can draw without one.
    """
    plotter = _scene(analysis, scene, found, off_screen=off_screen, size=size)
    if not off_screen:
        plotter.show(title=f"{analysis.wing.name}: {scene}")
        return
    try:
        write_whole(
            Path(f"{scene.replace(' ', '-')}.png") if path is None else Path(path), plotter.screenshot
        )
    finally:
        plotter.close()


def _scene(
    analysis: Analysis,
    name: str,
    found: ShownReserves | None,
    *,
    off_screen: bool,
    size: tuple[int, int],
) -> Any:
    if name == "reserve":
        if found is None:
            raise ValueError("reserve: no reserve factors given")
        return scenes.reserve(analysis, found, off_screen=off_screen, size=size)
    plain = {
        "deflection": scenes.deflection,
        "cap stress": scenes.cap_stress,
        "shear flow": scenes.shear_flow,
    }
    if name not in plain:
        raise ValueError(f"{name}: no such scene; there are {', '.join(SCENES)}")
    return plain[name](analysis, off_screen=off_screen, size=size)
