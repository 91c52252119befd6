"""Drawings of a case's own figures, as SVG in the style sheet's colours.

Where figures go along something (stations, bays, angles) they are points beside the published line and its
band of tolerance. All figures of a case are shown besides as shares of what they may differ by, numbered as
in its table.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from validation.case import Result
from validation.record import share_words

WIDTH = 374.0
"""Of a drawing, in its own units: words stay legible on a telephone."""
LEAST = 4
"""Figures that make a line."""
MOST_LINES = 8
"""Lines drawn of one case; its table has the rest."""
_NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?")
_FAR = 1.5
"""Shares of the tolerance beyond which a point stands at the edge, with its share in words."""
_MOST_ROWS = 12


@dataclass(frozen=True)
class Series:
    """Figures alike but for one number in their names.

    Parameters
    ----------
    name : str
        What they have in common, "..." for the number.
    results : tuple of Result
        In the order of the number.
    at : tuple of float
        The numbers.
    """

    name: str
    results: tuple[Result, ...]
    at: tuple[float, ...]


def series(results: Sequence[Result]) -> list[Series]:
    """Figures of a case that go along something.

    Returns
    -------
    list of Series
        Of `LEAST` figures or more each; no figure is in two of them.
    """
    out: list[Series] = []
    left = list(results)
    for from_end in (1, 2, 3):
        groups: dict[tuple[str, str], list[tuple[float, Result]]] = {}
        for result in left:
            numbers = list(_NUMBER.finditer(result.quantity))
            if len(numbers) >= from_end:
                one = numbers[-from_end]
                name = f"{result.quantity[: one.start()]}…{result.quantity[one.end() :]}"
                groups.setdefault((name, result.unit), []).append((float(one.group()), result))
        for (name, _), rows in groups.items():
            if len(rows) >= LEAST and len({at for at, _ in rows}) == len(rows):
                rows.sort(key=lambda row: row[0])
                out.append(Series(name, tuple(r for _, r in rows), tuple(at for at, _ in rows)))
        drawn = {id(result) for found in out for result in found.results}
        left = [result for result in left if id(result) not in drawn]
    return out


def line(key: str, found: Series) -> str:
    """Computed points beside the published line and its band.

    Parameters
    ----------
    key : str
        A word of its own within the page.
    found : Series
        What is drawn.

    Returns
    -------
    str
        One `svg` element.
    """
    left, right, top, bottom, height = 52.0, 8.0, 8.0, 30.0, 150.0
    whole = top + height + bottom
    bands = [
        (result.tolerance or 0.0) * (abs(result.published) if result.scale is None else result.scale)
        for result in found.results
    ]
    computed = [r.computed if math.isfinite(r.computed) else r.published for r in found.results]
    published = [r.published for r in found.results]
    low = min(min(p - b, c) for p, b, c in zip(published, bands, computed))
    high = max(max(p + b, c) for p, b, c in zip(published, bands, computed))
    if low > 0 and low < 0.4 * high:
        low = 0.0
    if high < 0 and high > 0.4 * low:
        high = 0.0
    room = (high - low) or abs(high) or 1.0
    low, high = low - (0.04 * room if low else 0.0), high + (0.04 * room if high else 0.0)
    first, last = found.at[0], found.at[-1]

    def x(value: float) -> float:
        return left + 6 + (WIDTH - left - right - 12) * (value - first) / (last - first)

    def y(value: float) -> float:
        return top + height * (high - value) / (high - low)

    body = []
    for tick in _ticks(low, high):
        at = y(tick)
        body.append(f'<line class="grid" x1="{left}" x2="{WIDTH - right}" y1="{at:.1f}" y2="{at:.1f}"/>')
        body.append(f'<text class="num" x="{left - 5}" y="{at + 3:.1f}">{_short(tick)}</text>')
    last_word = -99.0
    for value in found.at:
        words = _short(value)
        if x(value) - last_word > 7.0 * len(words) + 4:
            body.append(f'<text class="mid" x="{x(value):.1f}" y="{top + height + 14}">{words}</text>')
            last_word = x(value)
    upper = [f"{x(a):.1f},{y(p + b):.1f}" for a, p, b in zip(found.at, published, bands)]
    lower = [f"{x(a):.1f},{y(p - b):.1f}" for a, p, b in zip(found.at, published, bands)]
    band = " ".join([*upper, *reversed(lower)])
    body.append(f'<polygon class="allowed" points="{band}"/>')
    points = " ".join(f"{x(a):.1f},{y(p):.1f}" for a, p in zip(found.at, published))
    body.append(f'<polyline class="published" points="{points}"/>')
    for a, c, result in zip(found.at, computed, found.results):
        look = "miss" if result.verdict in ("known miss", "fails") else "hit"
        body.append(f'<circle class="{look}" cx="{x(a):.1f}" cy="{y(c):.1f}" r="3.2"/>')
    title = f"{found.name}{f', {found.results[0].unit}' if found.results[0].unit else ''}"
    far = max(found.results, key=lambda r: r.strain)
    words = f"Points computed, line published, band what is allowed. Farthest off: {far.quantity}."
    return drawn_svg(key, title, words, whole, body)


def strip(key: str, results: Sequence[Result]) -> str:
    """Every figure's miss as a share of its tolerance, numbered as in the table.

    Parameters
    ----------
    key : str
        A word of its own within the page.
    results : sequence of Result
        Of one case.

    Returns
    -------
    str
        One `svg` element; "" where none has a tolerance.
    """
    rows = [(n, result) for n, result in enumerate(results, 1) if result.tolerance is not None]
    if not rows:
        return ""
    body = _row_strip(rows) if len(rows) <= _MOST_ROWS else _column_strip(rows)
    height = 22.0 * len(rows) + 30 if len(rows) <= _MOST_ROWS else 152.0
    worst = max((result for _, result in rows), key=lambda r: r.strain)
    words = (
        f"Miss of {len(rows)} figures over what each may miss. Most used: {worst.quantity}, "
        f"{share_words(worst.strain)} of its tolerance."
    )
    return drawn_svg(key, "How much of its tolerance every figure uses", words, height, body)


def _row_strip(rows: list[tuple[int, Result]]) -> list[str]:
    left, right, top = 176.0, 14.0, 6.0
    middle, reach = (left + WIDTH - right) / 2, (WIDTH - right - left) / 2
    bottom = top + 22.0 * len(rows)
    body = [_band(middle - reach / _FAR, top, 2 * reach / _FAR, bottom - top)]
    for place, words in ((-1, "-"), (0, "0"), (1, "+")):
        at = middle + reach * place / _FAR
        body.append(f'<line class="grid" x1="{at:.1f}" x2="{at:.1f}" y1="{top}" y2="{bottom}"/>')
        said = "no miss" if place == 0 else f"{words}tolerance"
        body.append(f'<text class="mid" x="{at:.1f}" y="{bottom + 14}">{said}</text>')
    for k, (n, result) in enumerate(rows):
        y = top + 22.0 * k + 11
        body.append(f'<text x="0" y="{y + 3.5}">{n}. {escape(_cut(result.quantity, 29))}</text>')
        share = _share(result)
        at = middle + reach * max(-_FAR, min(_FAR, share)) / _FAR
        look = "miss" if result.verdict in ("known miss", "fails") else "hit"
        body.append(f'<line class="{look} stem" x1="{middle:.1f}" x2="{at:.1f}" y1="{y}" y2="{y}"/>')
        body.append(f'<circle class="{look}" cx="{at:.1f}" cy="{y}" r="3.6"/>')
        if abs(share) > _FAR:
            side = -8 if share > 0 else 8
            end = "num" if share > 0 else ""
            body.append(f'<text class="{end}" x="{at + side:.1f}" y="{y - 3}">{share:.3g} times</text>')
    return body


def _column_strip(rows: list[tuple[int, Result]]) -> list[str]:
    left, right, top, height = 52.0, 8.0, 8.0, 116.0
    middle, reach = top + height / 2, height / 2
    body = [_band(left, middle - reach / _FAR, WIDTH - left - right, 2 * reach / _FAR)]
    for place, said in ((1, "+tolerance"), (0, "no miss"), (-1, "-tolerance")):
        at = middle - reach * place / _FAR
        body.append(f'<line class="grid" x1="{left}" x2="{WIDTH - right}" y1="{at:.1f}" y2="{at:.1f}"/>')
        body.append(f'<text class="num" x="{left - 4}" y="{at + 3:.1f}">{said}</text>')
    step = (WIDTH - left - right - 12) / (len(rows) - 1)
    last_word = -99.0
    for k, (n, result) in enumerate(rows):
        x = left + 6 + step * k
        y = middle - reach * max(-_FAR, min(_FAR, _share(result))) / _FAR
        look = "miss" if result.verdict in ("known miss", "fails") else "hit"
        body.append(f'<line class="{look} stem" x1="{x:.1f}" x2="{x:.1f}" y1="{middle:.1f}" y2="{y:.1f}"/>')
        body.append(f'<circle class="{look}" cx="{x:.1f}" cy="{y:.1f}" r="{2.6 if step > 5 else 1.9}"/>')
        if (n == 1 or n % 5 == 0) and x - last_word > 20:
            body.append(f'<text class="mid" x="{x:.1f}" y="{top + height + 14}">{n}</text>')
            last_word = x
    return body


def _share(result: Result) -> float:
    """Difference over tolerance, with its sign; beyond everything for what is no number."""
    if not math.isfinite(result.difference):
        return math.inf
    return result.difference / (result.tolerance or 1.0)


def _band(x: float, y: float, width: float, height: float) -> str:
    return f'<rect class="allowed" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


def _cut(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1].rstrip(" ,") + "…"


def _ticks(low: float, high: float) -> list[float]:
    """Round numbers between two, three to six of them."""
    room = high - low
    power = 10.0 ** math.floor(math.log10(room / 4))
    step = next(power * f for f in (1, 2, 2.5, 5, 10) if room / (power * f) <= 5)
    return [step * k for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _short(value: float) -> str:
    return f"{value:.3g}".replace("e-0", "e-").replace("e+0", "e").replace("e+", "e")


def drawn_svg(key: str, title: str, words: str, height: float, body: list[str]) -> str:
    """A drawing of the page's width with a title and words for those who do not see it.

    Parameters
    ----------
    key : str
        A word of its own within the page.
    title, words : str
        What it is, and what it shows.
    height : float
        In the drawing's own units.
    body : list of str
        Its elements.

    Returns
    -------
    str
        One `svg` element.
    """
    joined = "".join(body)
    return (
        f'<svg class="drawn" viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" '
        f'aria-labelledby="{key}-title {key}-desc"><title id="{key}-title">{escape(title)}</title>'
        f'<desc id="{key}-desc">{escape(words)}</desc>{joined}</svg>'
    )
