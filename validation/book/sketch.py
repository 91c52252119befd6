"""A wing or specimen in outline: from above, and every spar from behind; all to one scale."""

from __future__ import annotations

from html import escape

import numpy as np
from numpy.typing import NDArray

from fea.structure import Structure
from models.structure import Model, build
from models.studies.hand_test import half
from models.wing.parts import Wing
from validation.book.plots import WIDTH, drawn_svg

_GAP = 16.0
_LEAST_CAP = 1.6


def sketch(key: str, of: Wing | Structure) -> tuple[str, str]:
    """Plan and spars of a wing or specimen, or the elements of a structure.

    Parameters
    ----------
    key : str
        A word of its own within the page.
    of : Wing or Structure
        A wing's starboard half is drawn.

    Returns
    -------
    svg : str
        One `svg` element.
    words : str
        What it shows.
    """
    if isinstance(of, Structure):
        return _elements(key, of)
    wing = of
    model = build(wing, per_bay=1) if wing.clamped else half(wing, per_bay=1, across_chord=2)
    nodes = model.structure.nodes
    scale = (WIDTH - 8) / float(nodes[:, 1].max())
    body: list[str] = []
    down = 4.0
    if wing.clamped and len(wing.spars) == 1:
        words = "One spar from its face, held at the left."
    else:
        body += _plan(model, scale, down)
        down += scale * float(np.ptp(nodes[:, 0])) + _GAP
        words = "From above, held at the left; below it the spars from behind."
    for s, spar in enumerate(wing.spars):
        if len(wing.spars) > 1:
            body.append(f'<text x="4" y="{down + 5:.1f}">{escape(spar.name)} spar</text>')
            down += 8
        drawn, deep = _spar(model, s, scale, down)
        body += drawn
        down += deep + _GAP
    millimetres = _round_length(1e3 * float(nodes[:, 1].max()) / 4)
    end = 4 + scale * millimetres * 1e-3
    body.append(f'<line class="cut" x1="4" x2="{end:.1f}" y1="{down}" y2="{down}"/>')
    body.append(f'<text x="{end + 5:.1f}" y="{down + 3.5}">{millimetres:.0f} mm</text>')
    shaded = " Shaded between the caps: webs, darker where there is one on both faces."
    words += shaded if model.webs.face else " No webs."
    return drawn_svg(key, "The specimen", words, down + 8, body), words


def _elements(key: str, structure: Structure) -> tuple[str, str]:
    """Elements of a structure, seen along the axis in which it is flat, else from above at a slant."""
    nodes = structure.nodes
    size = np.ptp(nodes, axis=0)
    flat = int(np.argmin(size))
    if size[flat] < 1e-9 * size.max():
        a, b = ((1, 2), (0, 2), (1, 0))[flat]
        flip = 1.0 if flat == 2 else -1.0
        seen = np.stack([nodes[:, a], flip * nodes[:, b]], axis=1)
        words = "The elements of the model."
    else:
        seen = np.stack([nodes[:, 1] + 0.35 * nodes[:, 0], 0.35 * nodes[:, 0] - nodes[:, 2]], axis=1)
        words = "The elements of the model, at a slant from above."
    seen = seen - seen.min(axis=0)
    scale = min((WIDTH - 8) / seen[:, 0].max(), 160 / max(float(seen[:, 1].max()), 1e-12))
    at = [f"{4 + scale * x:.1f} {4 + scale * y:.1f}" for x, y in seen]
    paths: dict[str, list[str]] = {"web": [], "edge": []}
    drawn: set[tuple[int, ...]] = set()
    for block in structure.blocks.values():
        for corners in block.nodes.tolist():
            if len(corners) in (2, 4) and tuple(sorted(corners)) not in drawn:
                drawn.add(tuple(sorted(corners)))
                line = "M" + " L".join(at[n] for n in corners)
                paths["web" if len(corners) == 4 else "edge"].append(
                    line + ("Z" if len(corners) == 4 else "")
                )
    joined = {look: " ".join(found) for look, found in paths.items() if found}
    body = [f'<path class="{look}" d="{lines}"/>' for look, lines in joined.items()]
    return drawn_svg(key, "The model", words, 8 + scale * float(seen[:, 1].max()), body), words


def _plan(model: Model, scale: float, down: float) -> list[str]:
    nodes = model.structure.nodes
    ahead = float(nodes[:, 0].min())

    def at(node: NDArray[np.intp]) -> list[str]:
        return [f"{4 + scale * nodes[n, 1]:.1f} {down + scale * (nodes[n, 0] - ahead):.1f}" for n in node]

    out = []
    blocks = model.structure.blocks
    if "sheeting" in blocks and len(blocks["sheeting"].nodes):
        path = " ".join(f"M{' L'.join(at(four))}Z" for four in blocks["sheeting"].nodes)
        out.append(f'<path class="sheet" d="{path}"/>')
    if "ribs" in blocks:
        lines: dict[float, tuple[float, float]] = {}
        for four in blocks["ribs"].nodes:
            y = round(float(nodes[four, 1].mean()), 6)
            x = nodes[four, 0]
            low, high = lines.get(y, (np.inf, -np.inf))
            lines[y] = (min(low, float(x.min())), max(high, float(x.max())))
        for y, (low, high) in lines.items():
            x = 4 + scale * y
            out.append(
                f'<line class="rib" x1="{x:.1f}" x2="{x:.1f}" y1="{down + scale * (low - ahead):.1f}" '
                f'y2="{down + scale * (high - ahead):.1f}"/>'
            )
    if "edges" in blocks:
        path = " ".join(f"M{' L'.join(at(two))}" for two in blocks["edges"].nodes)
        out.append(f'<path class="edge" d="{path}"/>')
    caps = blocks["caps"].nodes[model.caps.upper]
    wide = max(_LEAST_CAP, scale * float(np.mean(model.caps.width)))
    path = " ".join(f"M{' L'.join(at(two))}" for two in caps)
    out.append(f'<path class="cap" stroke-width="{wide:.1f}" d="{path}"/>')
    if "sheeting" not in blocks and "ribs" not in blocks:
        for y in {float(rib.y) for rib in model.wing.ribs}:
            x = 4 + scale * y
            rows = nodes[:, 0]
            out.append(
                f'<line class="rib" x1="{x:.1f}" x2="{x:.1f}" y1="{down:.1f}" '
                f'y2="{down + scale * float(np.ptp(rows)):.1f}"/>'
            )
    return out


def _spar(model: Model, s: int, scale: float, down: float) -> tuple[list[str], float]:
    """A spar from behind, and its depth in the drawing's units."""
    nodes, caps = model.structure.nodes, model.caps
    rows = np.flatnonzero(caps.spar == s)
    ends = nodes[model.structure.blocks["caps"].nodes[rows]]
    deep = caps.layer_heights[rows].sum(axis=1)
    sign = np.where(caps.upper[rows], 1.0, -1.0)
    outer = ends[:, :, 2] + (sign * caps.centroid[rows])[:, None]
    inner = outer - (sign * deep)[:, None]
    top = float(np.max(outer))

    def at(y: float, z: float) -> str:
        return f"{4 + scale * y:.1f},{down + scale * (top - z):.1f}"

    out = []
    webs = model.structure.blocks.get("webs")
    if webs is not None:
        for e in np.flatnonzero(model.webs.spar == s):
            corners = nodes[webs.nodes[e]] + (0.0 if webs.offsets is None else webs.offsets[e])
            points = " ".join(at(c[1], c[2]) for c in corners)
            out.append(f'<polygon class="web" points="{points}"/>')
    for k in range(len(rows)):
        quad = [
            (ends[k, 0, 1], outer[k, 0]), (ends[k, 1, 1], outer[k, 1]), (ends[k, 1, 1], inner[k, 1]),
            (ends[k, 0, 1], inner[k, 0]),
        ]  # fmt: skip
        points = " ".join(at(y, z) for y, z in quad)
        out.append(f'<polygon class="wood" points="{points}"/>')
    upper, lower = model.cap_nodes[s, 0], model.cap_nodes[s, 1]
    for station in model.rib_station:
        if upper[station] >= 0:
            a, b = nodes[upper[station]], nodes[lower[station]]
            (x1, y1), (x2, y2) = at(a[1], a[2]).split(","), at(b[1], b[2]).split(",")
            out.append(f'<line class="rib" x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>')
    return out, scale * (top - float(np.min(outer)))


def _round_length(length: float) -> float:
    power = 10.0 ** np.floor(np.log10(length))
    return float(power * max(f for f in (1, 2, 5) if f * power <= length))
