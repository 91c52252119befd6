"""Where it fails: the wing from above, every bay in the colour of its reserve, and its spars from the side.

Both are drawn flat, so that they are legible on a telephone and in the dark.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from models.analysis import Analysis
from models.page import svg
from models.page.figures import Picture
from models.pictures import side_view, stage
from models.pictures.first import ShownReserves
from models.wing.parts import Spar

_WIDE = 10.4
"""Inches of a drawing that is as wide as the page, whose box scrolls where there is no room."""
_MM = 1e3


def plan_picture(analysis: Analysis, found: ShownReserves) -> Picture | None:
    """The wing from above, both sides, every bay of every spar in the colour of its least reserve factor.

    None of a specimen, which has no outline.
    """
    wing, plan, first = analysis.wing, analysis.wing.planform, found.first
    if plan is None:
        return None
    y = np.unique(np.concatenate([plan.chord.y, plan.leading_edge_x.y, [0.0, plan.semispan]]))
    front = plan.leading_edge_x.at(y)
    rear = front + plan.chord.at(y)
    high = float(np.ptp(np.concatenate([front, rear])))
    height = min(max(_WIDE * high / (2 * plan.semispan), 1.0), 3.6) + 0.75
    words = f"{found.sentence} Colours: least reserve factor of each bay of each spar; ribs grey."
    with svg.drawing("where"):
        from matplotlib.figure import Figure

        figure = Figure(figsize=(_WIDE, height), facecolor="none")
        panel = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        panel.axis("off")
        for sign in (1, -1):
            ring = np.concatenate([front, rear[::-1]])
            panel.fill(_MM * sign * np.append(y, y[::-1]), _MM * ring, facecolor=svg.GHOST, alpha=0.18)
            panel.plot(_MM * sign * np.append(y, y[::-1]), _MM * ring, color=svg.FAINT, linewidth=1.2)
            for rib in wing.ribs:
                at = float(plan.leading_edge_x.at(rib.y))
                panel.plot([_MM * sign * rib.y] * 2, [_MM * at, _MM * (at + float(plan.chord.at(rib.y)))],
                           color=svg.GHOST, linewidth=0.9)  # fmt: skip
        panel.set_xlim(-1.01 * _MM * plan.semispan, 1.01 * _MM * plan.semispan)
        panel.set_aspect("equal", adjustable="datalim")
        panel.set_ylim(_MM * (rear.max() + 0.03 * high), _MM * (front.min() - 0.42 * high))
        for side, spar in zip(side_view.sides(analysis, found), wing.spars):
            least: dict[int, tuple[float, float, float]] = {}
            for piece in side.pieces:
                start, end, reserve = least.get(piece.bay, (np.inf, 0.0, np.nan))
                least[piece.bay] = (
                    min(start, piece.start), max(end, piece.end), float(np.fmin(reserve, piece.reserve)),
                )  # fmt: skip
            for start, end, reserve in least.values():
                _bay(panel, spar, start, end, reserve)
        if first is not None:
            _flag(panel, analysis, found)
        said = "Colours: least reserve factor (allowable / applied) in each bay of each spar, as below."
        return Picture("where", found.title, said, svg.inline(figure, "where", found.title, words))


def _bay(panel: Any, spar: Spar, start: float, end: float, reserve: float) -> None:
    at = np.array([start, end])
    x = spar.x.at(at)
    for sign in (1, -1):
        panel.plot(_MM * sign * at, _MM * x, color=side_view.colour_of(reserve), linewidth=6,
                   solid_capstyle="butt", zorder=4)  # fmt: skip


def _flag(panel: Any, analysis: Analysis, found: ShownReserves) -> None:
    """A ring and words at what fails first, on the side that is named or the starboard one."""
    first = found.first
    assert first is not None
    wing, plan = analysis.wing, analysis.wing.planform
    assert plan is not None
    spars = {s.name: s for s in wing.spars}
    y = abs(first.y)
    if first.spar in spars:
        x = float(spars[first.spar].x.at(y))
    else:
        x = float(plan.leading_edge_x.at(y)) + 0.15 * float(plan.chord.at(y))
    across = _MM * (-y if first.side == "port" else y)
    panel.plot(across, _MM * x, "o", markersize=20, markerfacecolor="none", markeredgecolor=svg.INK,
               markeredgewidth=2.2, zorder=6)  # fmt: skip
    bottom, top = panel.get_ylim()
    panel.annotate(
        f"fails first, at {found.load}", (across, _MM * x),
        (float(np.clip(across, -0.75 * _MM * plan.semispan, 0.75 * _MM * plan.semispan)),
         top + 0.12 * (bottom - top)),
        fontsize=17, fontweight="bold", color=svg.INK, ha="center", va="center", zorder=7,
        arrowprops={"arrowstyle": "-", "color": svg.INK, "linewidth": 1.3, "shrinkB": 11},
    )  # fmt: skip


def side_picture(analysis: Analysis, found: ShownReserves) -> Picture:
    """Every spar from the side, a strip each; see `models.pictures.side_view`."""
    every = side_view.sides(analysis, found)
    row, wide = 150, 100 * _WIDE
    high = row * len(every)
    length = max(float(side.y[-1]) for side in every)
    factors = []
    with svg.drawing("sides"):
        from matplotlib.figure import Figure

        figure = Figure(figsize=(_WIDE, high / 100), facecolor="none")
        for k, side in enumerate(every):
            bottom = high - row * (k + 1)
            inner = wide - 50
            factor, scale = side_view.exaggeration(side, inner, row - 28 - 46, length)
            factors.append(factor)
            panel = figure.add_axes((25 / wide, bottom / high, inner / wide, (row - 28) / high))
            panel.set_facecolor("none")
            side_view.side_on(panel, side, factor, scale, (inner, row - 28))
            name = stage.shortened(side.name, 60) + side_view.failing_words(side)
            figure.text(0.0, (bottom + row - 14) / high, name, fontsize=10.5, va="center", color=svg.INK)
        words = side_view.caption(
            factors, stacked=any(map(side_view.is_stacked, every)),
            outlined=any(piece.first for side in every for piece in side.pieces),
        )  # fmt: skip
        title = "The spars from the side"
        return Picture("sides", title, words, svg.inline(figure, "sides", title, words))
