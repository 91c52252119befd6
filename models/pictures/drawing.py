"""All pictures of a solved wing into a folder, or one in a window."""

from __future__ import annotations

import os
from contextlib import closing
from pathlib import Path
from typing import Any

from models.analysis import Analysis
from models.pictures import scenes, stage
from models.pictures.files import shoot
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
    """Write every picture of a solved wing as a PNG file into a folder, which is made if it is not there.

    Parameters
    ----------
    analysis, found, folder, size
        Without reserves (None) their pictures are left out; pixels.

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
        webless = name == "shear flow" and "webs" not in analysis.model.structure.blocks
        if webless or (name == "reserve" and found is None):
            continue
        path = folder / f"{name.replace(' ', '-')}.png"
        plotter = _scene(analysis, name, found, off_screen=True, size=size)
        if name == "reserve" and found is not None:
            with closing(plotter):
                with_side_view(plotter, analysis, found, path)
        elif name in _FROM_THE_SIDE:
            with closing(plotter):
                with_side_view(plotter, analysis, None, path, _FROM_THE_SIDE[name](analysis))
        else:
            shoot(plotter, path)
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
    analysis, scene, found
        One of `SCENES`; "reserve" needs reserves.
    off_screen, path, size
        Write a PNG, by default of the scene's name in the working folder, and open nothing; pixels.

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
    shoot(plotter, Path(f"{scene.replace(' ', '-')}.png") if path is None else Path(path))


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
