"""A figure of the plotting library as SVG that stands in a page: words stay words, colours are the page's.

The page's style sheet gives every colour a light and a dark value; here the figure's own are replaced by
their names. Identifiers get the figure's name in front, so that figures do not take each other's.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from typing import Any

INK, FAINT, GRID, PAPER = "#1a1a1a", "#6b6b6b", "#e4e4e4", "#ffffff"
BLUE, ORANGE, GREEN, PINK, GHOST = "#2a5b9c", "#d9822b", "#2a8c82", "#a8467f", "#b4b4b4"
COLOURS = {
    INK: "ink", FAINT: "faint", GRID: "rule", PAPER: "paper", BLUE: "blue", ORANGE: "orange", GREEN: "green",
    PINK: "pink", GHOST: "ghost",
}  # fmt: skip
"""Names in the style sheet of the colours that figures are drawn in."""
WIDTH = 5.2
"""Of a figure, inches: small enough that its words stay legible on a telephone."""


@contextmanager
def drawing(key: str) -> Iterator[None]:
    """Settings under which a figure is made and written; a dollar sign in a name is only a dollar sign."""
    import matplotlib as mpl

    settings: Any = {
        "svg.fonttype": "none",
        "svg.hashsalt": key,
        "text.parse_math": False,
        "text.color": INK,
        "axes.labelcolor": INK,
        "axes.edgecolor": FAINT,
        "axes.titlecolor": INK,
        "xtick.color": FAINT,
        "ytick.color": FAINT,
        "xtick.labelcolor": INK,
        "ytick.labelcolor": INK,
        "font.size": 9.5,
        "hatch.linewidth": 0.6,
    }
    with mpl.rc_context(settings):
        yield


def sheet(height: float) -> Any:
    """An empty figure of the page's width, its height in inches."""
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH, height), layout="constrained", facecolor="none")


def dress(panel: Any) -> None:
    """What all panels have in common."""
    panel.spines[["top", "right"]].set_visible(False)
    panel.grid(visible=True, color=GRID, linewidth=0.8)
    panel.set_axisbelow(True)
    panel.set_facecolor("none")
    panel.tick_params(labelsize=9, color=FAINT)
    for label in (panel.xaxis.label, panel.yaxis.label):
        label.set_fontsize(9)


def inline(figure: Any, key: str, title: str, words: str) -> str:
    """The figure, made under `drawing`, as one `svg` element for a page.

    Parameters
    ----------
    figure, key, title, words
        A word of its own among the figures of a page; what it is and shows, for those who do not see it.
    """
    held = io.StringIO()
    figure.savefig(held, format="svg", metadata={"Date": None, "Creator": None}, transparent=True)
    text = held.getvalue()
    text = text[text.index("<svg") :].strip()
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.S)
    text = re.sub(r'\bid="([^"]+)"', rf'id="{key}-\1"', text)
    text = re.sub(r'(xlink:href="#|url\(#)([^")]+)', rf"\g<1>{key}-\2", text)
    head = re.search(r'viewBox="([^"]+)"', text)
    box = head.group(1) if head else ""
    body = text[text.index(">") + 1 :]
    named = f'<title id="{key}-title">{escape(title)}</title><desc id="{key}-desc">{escape(words)}</desc>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="{box}" '
        f'role="img" aria-labelledby="{key}-title {key}-desc">{named}{body}'
    )


def themed(svg: str) -> str:
    """The same with the names of its colours in place of their values, but for those in words."""
    pieces = re.split(r"(<[^>]*>)", svg)
    return "".join(_themed(piece) if piece.startswith("<") else piece for piece in pieces)


def _themed(tag: str) -> str:
    return re.sub(
        "|".join(COLOURS), lambda found: f"var(--{COLOURS[found.group()]})", tag, flags=re.IGNORECASE
    )
