"""All pictures of a solved wing into a folder, or one in a window."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fea.arrays import Array
from models.analysis import Analysis
from models.pictures import scenes, stage
from models.pictures.files import write_whole
from models.pictures.plots import plot_span, span_curves

SCENES = ("deflection", "cap stress", "shear flow", "reserve")
"""Names of the scenes."""


def draw_all(
    analysis: Analysis,
    reserve: Mapping[str, Array] | None,
    folder: str | os.PathLike[str],
    first_failure: str | None = None,
    *,
    size: tuple[int, int] = stage.SIZE,
) -> list[Path]:
    """Write every picture of a solved wing as a PNG file.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    reserve : mapping of str to (n_elements,) float array, or None
        Reserve factors by block, NaN where nothing was checked; None leaves their picture out.
    folder : str or path
        Where to; made if it is not there.
    first_failure : str or None
        What fails first, in words, to be written at the place.
    size : (int, int), default (1600, 1000)
        Pixels.

    Returns
    -------
    list of path
        deflection.png, cap-stress.png, shear-flow.png (where there are webs), reserve.png (where reserves
        are given) and span.png.

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
            name == "reserve" and reserve is None
        ):
            continue
        path = folder / f"{name.replace(' ', '-')}.png"
        plotter = _scene(analysis, name, reserve, first_failure, off_screen=True, size=size)
        try:
            write_whole(path, plotter.screenshot)
        finally:
            plotter.close()
        written.append(path)
    path = folder / "span.png"
    plot_span(span_curves(analysis), path)
    return [*written, path]


def show(
    analysis: Analysis,
    scene: str,
    *,
    reserve: Mapping[str, Array] | None = None,
    first_failure: str | None = None,
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
    reserve, first_failure
        As for `draw_all`; the scene "reserve" needs them.
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
    plotter = _scene(analysis, scene, reserve, first_failure, off_screen=off_screen, size=size)
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
    reserve: Mapping[str, Array] | None,
    first_failure: str | None,
    *,
    off_screen: bool,
    size: tuple[int, int],
) -> Any:
    if name == "reserve":
        if reserve is None:
            raise ValueError("reserve: no reserve factors given")
        return scenes.reserve(
            analysis, reserve, first_failure=first_failure, off_screen=off_screen, size=size
        )
    plain = {
        "deflection": scenes.deflection,
        "cap stress": scenes.cap_stress,
        "shear flow": scenes.shear_flow,
    }
    if name not in plain:
        raise ValueError(f"{name}: no such scene; there are {', '.join(SCENES)}")
    return plain[name](analysis, off_screen=off_screen, size=size)
