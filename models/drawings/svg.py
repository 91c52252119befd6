"""Pages as SVG: width and height in millimetres, one user unit a millimetre; by the standard library."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence

from models.drawings.ink import LAYERS, Circle, Item, Path, Text
from models.drawings.pages import DrawingPage

_NAMESPACE = "http://www.w3.org/2000/svg"
_FONT = "Helvetica, Arial, sans-serif"


def svg_text(page: DrawingPage) -> str:
    """One page as an SVG document."""
    ET.register_namespace("", _NAMESPACE)
    root = ET.Element(
        f"{{{_NAMESPACE}}}svg",
        {
            "width": f"{_number(page.width)}mm",
            "height": f"{_number(page.height)}mm",
            "viewBox": f"0 0 {_number(page.width)} {_number(page.height)}",
        },
    )
    left, bottom, right, top = page.clip
    clip = _child(_child(root, "defs"), "clipPath", id="window")
    _child(
        clip,
        "rect",
        x=_number(left),
        y=_number(page.height - top),
        width=_number(right - left),
        height=_number(top - bottom),
    )
    _child(root, "rect", width=_number(page.width), height=_number(page.height), fill="white")
    _layers(root, page.items, page.height, {"clip-path": "url(#window)", "id": "drawing"})
    _layers(root, page.frame, page.height, {"id": "frame"})
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _layers(root: ET.Element, items: Sequence[Item], height: float, attributes: dict[str, str]) -> None:
    group = _child(root, "g", **attributes)
    for layer, pen in LAYERS.items():
        own = [item for item in items if item.layer == layer]
        if not own:
            continue
        colour = "#" + "".join(f"{round(255 * c):02x}" for c in pen.colour)
        style = {
            "class": layer,
            "fill": "none",
            "stroke": colour,
            "stroke-width": _number(pen.width),
            "stroke-linecap": "round",
            "stroke-linejoin": "round",
        }
        if pen.dashes:
            style["stroke-dasharray"] = " ".join(map(_number, pen.dashes))
        inner = _child(group, "g", **style)
        for item in own:
            _draw(inner, item, height, colour)


def _draw(group: ET.Element, item: Item, height: float, colour: str) -> None:
    if isinstance(item, Path):
        points = " L ".join(f"{_number(x)} {_number(height - y)}" for x, y in item.points)
        attributes = {"d": f"M {points}{' Z' if item.closed else ''}"}
        if item.grey is not None:
            attributes["fill"] = "#" + f"{round(255 * item.grey):02x}" * 3
        if item.name:
            attributes["data-name"] = item.name
        _child(group, "path", **attributes)
    elif isinstance(item, Circle):
        attributes = {"data-name": item.name} if item.name else {}
        x, y = item.centre
        _child(group, "circle", cx=_number(x), cy=_number(height - y), r=_number(item.radius), **attributes)
    else:
        _words(group, item, height, colour)


def _words(group: ET.Element, item: Text, height: float, colour: str) -> None:
    x, y = item.at[0], height - item.at[1]
    attributes = {
        "x": _number(x),
        "y": _number(y),
        "font-family": _FONT,
        "font-size": _number(item.size),
        "text-anchor": item.anchor,
        "fill": colour,
        "stroke": "none",
    }
    if item.bold:
        attributes["font-weight"] = "bold"
    if item.angle:
        attributes["transform"] = f"rotate({_number(-item.angle)} {_number(x)} {_number(y)})"
    _child(group, "text", **attributes).text = item.words


def _child(parent: ET.Element, tag: str, **attributes: str) -> ET.Element:
    return ET.SubElement(parent, f"{{{_NAMESPACE}}}{tag}", attributes)


def _number(value: float) -> str:
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
