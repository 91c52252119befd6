"""Pictures of what webs are worth: every web coloured by what a gram of it does, and bars by bay.

Webs on the front and the rear face of a spar would hide each other; they are drawn set off from the spar.
"""

from __future__ import annotations

import math
import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models import units_out as say
from models.pictures import plots, scenes, stage
from models.pictures.files import shoot
from models.pictures.surfaces import Surface, surfaces
from models.rounding import down
from models.structure import build
from models.structure.model import Model
from models.studies.worth import SiteWorth, Worth, load_words
from models.studies.worth_designs import Site, toggled
from models.wing.words import spar_words

_SET_OFF = 1.9
"""How far webs are drawn from their spar, over the greatest clear height between caps: seen from the usual
place, front and rear ones then lie clear of each other."""
_ROOM, _MOST = 100, 4
"""Letters of spars' names beside each other, and columns in which every panel is titled."""
_LABELS = 125
"""Letters of labels of bays that stand beside each other on a sheet."""
_FACES = {"front": plots.BLUE, "rear": plots.ORANGE, "between": plots.GREEN}


def worth_scene(result: Worth, *, off_screen: bool = True, size: tuple[int, int] = stage.SIZE) -> Any:
    """Every web, there or not, coloured by the change of the load at first failure for a gram of it."""
    analysis = result.analysis
    wing = analysis.wing
    absent = [s.site for s in result.sites if not s.site.present]
    full = build(toggled(wing, absent), per_bay=1)
    parts = {k: v for k, v in surfaces(analysis.model).items() if k != "webs"}
    webs = surfaces(full)["webs"]
    drawn = _set_off(full, webs)
    owner = _owners(full, result)
    values = np.array([_per_gram(s) for s in result.sites]) * 1e3 / say.mass.factor
    unit = "g" if result.flying else "x load"
    most = scenes.round_limit(float(np.nanmax(np.abs(values))))
    shown = np.concatenate([*(s.points for s in parts.values()), drawn])
    plotter = stage.open_stage(_answer(result), _subtitle(result), off_screen=off_screen, size=size)
    view = stage.look(plotter, shown, top=0.76)
    for name, surface in parts.items():
        opacity = 0.9 if name == "caps" else min(0.22, scenes.CLEAR.get(name, 1.0))
        scenes.add_surface(
            plotter, surface.points, surface, f"ghost {name}", color=stage.GHOST, opacity=opacity
        )
    colours = stage.paint(stage.DIVERGING)
    for k, one in enumerate(result.sites):
        mine = owner[webs.element] == k
        surface = webs.only(mine)
        points = drawn[np.repeat(mine.reshape(-1, 8).all(axis=1), 8)]
        if not len(points) or not np.isfinite(values[k]):
            continue
        scenes.add_surface(
            plotter,
            points,
            surface,
            f"web {k}",
            scalars=np.full(len(points), values[k]),
            clim=(-most, most),
            cmap=colours,
            what=f"load for {say.a_small_mass()}, {unit}",
            # A web that is there has a dark edge, one that could be put in a pale one.
            show_edges=True,
            edge_color=stage.INK if one.site.present else "#c9c9c9",
            line_width=2.2 if one.site.present else 1.0,
        )
    labelled = stage.label_bays(plotter, analysis.model, view, shown)
    words = f"Load factor at first failure for {say.a_small_mass()} of web, {unit}"
    stage.colour_bar(plotter, words, (-most, most), colours, ("weakens", "strengthens"))
    best = result.next_in
    if best is not None:
        _flag(plotter, view, result, best, webs, drawn, owner)
    notes = [
        "Dark edge: web that is there (what it does). Pale edge: web that could be glued in. All are set off "
        "from their spar, forward or aft by their face.",
        *(["Colours: as built, all sheeting whole; words: by the verdict."] if result.flying else []),
        scenes.half_words(analysis),
        labelled,
    ]
    return scenes.finish_scene(plotter, view, analysis, notes)


def _flag(
    plotter: Any, view: stage.Camera, result: Worth, best: SiteWorth, webs: Surface, drawn: Array, owner: Any
) -> None:
    """An arrow with words at the next web to glue in."""
    k = result.sites.index(best)
    elements = np.flatnonzero(owner == k)
    assert best.change is not None
    gain = load_words(result, best).replace(" ", "\N{NO-BREAK SPACE}")
    words = f"Next in: {best.site.words}, {gain} for "
    words += f"{say.grams(1e-3 * best.change.grams):.1f}".replace(" ", "\N{NO-BREAK SPACE}")
    surface = replace(webs, points=drawn)
    scenes.mark_with_words(plotter, view, scenes.middle_of(surface, int(elements[0])), words)


_NAME = 24
"""Letters of a spar's name in a title."""


def worth_title(result: Worth) -> str:
    """The wing's name and the answer: the web to glue in next, or that none raises the load."""
    said = _answer(result)
    said = f"{said[:1].lower()}{said[1:]}".replace("the next web to glue in is", "glue in next")
    return f"{result.analysis.wing.name}: {said}"


def _answer(result: Worth) -> str:
    best = result.next_in
    unit = "g" if result.flying else "times its load"
    if best is None or best.change is None:
        if result.verdict is not None:  # which may fail sooner elsewhere than in the pull-up
            return "No single web that was judged helps in the hardest case"
        return f"No single web more raises the {down(result.failing)} {unit} at first failure"
    gain, weight = load_words(result, best), say.grams(1e-3 * best.change.grams)
    return f"The next web to glue in is {_short(best.site)}: {gain} for {weight:.1f}"


def _short(site: Site) -> str:
    """A place in words, its spar's name no longer than a title has room for."""
    return replace(site, spar=stage.shortened(site.spar, _NAME)).words


def _subtitle(result: Worth) -> str:
    unit = "g" if result.flying else "times its load"
    name = stage.shortened(result.analysis.wing.name, 2 * _NAME)
    text = f"{name}: fails first at {down(result.failing)} {unit}"
    least = result.best_out
    if least is not None and least.change is not None:
        what = load_words(result, least)
        text += (
            f"; best left out is {_short(least.site)}, {say.grams(-1e-3 * least.change.grams):.1f}, {what}"
        )
    return text


def _per_gram(one: SiteWorth) -> float:
    return float("nan") if one.change is None else one.change.per_gram(one.change.load_factor)


def _set_off(model: Model, webs: Surface) -> Array:
    """Points of the webs, moved forward or aft from their spar."""
    face = np.array([{"front": -1.0, "rear": 1.0}.get(f, 0.0) for f in model.webs.face])
    far = _SET_OFF * float(model.webs.clear.max())
    middle = np.array([float(np.nanmean(s.x.at(np.array([0.0, s.y_end])))) for s in model.wing.spars])
    if len(middle) > 1:
        far = min(far, 0.4 * float(np.diff(np.sort(middle)).min()))
    points = webs.points.copy()
    points[:, 0] += far * face[webs.element]
    return points


def _owners(model: Model, result: Worth) -> NDArray[np.intp]:
    """Site of every web element, -1 for braces."""
    webs, names = model.webs, [s.name for s in model.wing.spars]
    found: dict[tuple[str, int, str, str], int] = {}
    for k, one in enumerate(result.sites):
        for side in one.site.sides:
            found[one.site.spar, one.site.bay, one.site.face, side] = k
    rows = zip(webs.spar.tolist(), webs.span.tolist(), webs.face, webs.brace.tolist())
    owners = [
        -1 if brace else found.get((names[s], int(model.bay[i]), face, model.side(i)), -1)
        for s, i, face, brace in rows
    ]
    return np.array(owners, dtype=np.intp)


def plot_worth(result: Worth, path: str | os.PathLike[str]) -> Path:
    """Write what a gram of each web does, and the grams, by bay as a PNG, replaced whole."""
    wing = result.analysis.wing
    figure = plots.empty_sheet(worth_title(result))
    panels = figure.subplots(4, len(wing.spars), sharey="row", sharex="col", squeeze=False)
    unit = "g" if result.flying else "x load"
    built = " as built" if result.flying else ""
    titles = (
        f"Load at first failure{built}, {unit} for {say.a_small_mass()}",
        "Tip deflection, % by the web",
        "Tip twist (its size), % by the web",
        f"Weight of the web, {say.grams.unit}",
    )
    grams = say.mass.factor / 1e3
    table = worth_bars(result) * np.array([1 / grams, 1.0, 1.0, grams])[:, None]
    for column, spar in enumerate(wing.spars):
        rows = [k for k, one in enumerate(result.sites) if one.site.spar == spar.name]
        places = sorted({_place(result.sites[k].site) for k in rows})
        faces = [f for f in _FACES if any(result.sites[k].site.face == f for k in rows)]
        for row, (title, values) in enumerate(zip(titles, table)):
            panel = panels[row, column]
            for k in rows:
                site = result.sites[k].site
                width = 0.8 / len(faces)
                x = places.index(_place(site)) + (faces.index(site.face) - (len(faces) - 1) / 2) * width
                if np.isfinite(values[k]):
                    panel.bar(
                        x, values[k], width, color=_FACES[site.face] if site.present else "white",
                        edgecolor=_FACES[site.face], hatch=None if site.present else "////", linewidth=1.0,
                    )  # fmt: skip
            panel.axhline(0, color=stage.INK, linewidth=0.8)
            plots.dress_panel(panel)
            name = spar_words(stage.shortened(spar.name, _ROOM // len(wing.spars)))
            above = title if column == 0 or len(wing.spars) <= _MOST else ""
            if row == 0 and len(wing.spars) > 1:
                above = f"{name[:1].upper()}{name[1:]}\n{above}"
            panel.set_title(above, fontsize=12, loc="left")
        ticks = [_tick(place) for place in places]
        # Every label needs some room beside its letters; of many bays every second or third is labelled.
        each = math.ceil(len(places) * len(wing.spars) * (0.5 + max(map(len, ticks))) / _LABELS)
        panels[-1, column].set_xticks(range(0, len(places), each), ticks[::each])
        panels[-1, column].set_xlabel("bay, from the centre outward", fontsize=11)
    key = _legend(result)
    figure.legend(handles=key, loc="outside lower right", ncols=4, fontsize=11, frameon=False)
    return plots.save_figure(figure, path)


def _legend(result: Worth) -> list[Any]:
    from matplotlib.patches import Patch

    there = {s.site.face for s in result.sites}
    out: list[Any] = [Patch(facecolor=c, label=f"{f} face") for f, c in _FACES.items() if f in there]
    out.append(Patch(facecolor=stage.FAINT, edgecolor=stage.FAINT, label="there (what it does)"))
    out.append(Patch(facecolor="white", edgecolor=stage.FAINT, hatch="////", label="could be glued in"))
    return out


def _place(site: Site) -> tuple[int, str]:
    return site.bay, site.side if site.side == "port" else ""


def _tick(place: tuple[int, str]) -> str:
    return f"{place[0]}{' port' if place[1] else ''}"


def worth_bars(result: Worth) -> Array:
    """What the bars show of every site, (4, n_sites).

    For a gram put in: change of the load factor; of deflection and twist by the whole web, in percent of
    their size without it, so that no web takes off more than all; and grams. nan where the wing would not
    stand.
    """
    rows = []
    for one in result.sites:
        change = one.change
        each = [np.nan] * 3
        if change is not None:
            grown = (result.growth(change, what) for what in ("deflection", "twist"))
            each = [_per_gram(one), *(_by_the_web(one, share) for share in grown)]
        rows.append([*each, one.grams])
    return np.array(rows).T


def _by_the_web(one: SiteWorth, growth: float) -> float:
    """Percent that a movement grows by as the web is glued in, from how it grows as the file is changed."""
    return 100 * (1 / (1 + growth) - 1 if one.site.present and growth > -1 else growth)


def draw_worth(
    result: Worth, folder: str | os.PathLike[str], *, size: tuple[int, int] = stage.SIZE
) -> list[Path]:
    """Write the scene and the bars into a folder, which is made, as worth.png and worth-bars.png."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    shoot(worth_scene(result, size=size), folder / "worth.png")
    return [folder / "worth.png", plot_worth(result, folder / "worth-bars.png")]
