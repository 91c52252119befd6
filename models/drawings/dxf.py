"""Drawings as one DXF in millimetres, by ezdxf: layers as in `ink`, closed polylines for what is cut."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from models.drawings.ink import LAYERS, Circle, Drawing, Item, Path, Text, moved
from models.drawings.pages import scale_bars

_APART = 20.0
"""Between two drawings side by side, mm."""
_COLOURS = {"CUT": 7, "MARK": 5, "HIDDEN": 5, "GRAIN": 8, "SHEET": 8, "SMALL": 8, "JOIN": 8}
_WIDTHS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35)
"""Line weights that the format knows, hundredths of a millimetre."""
_CAPITAL = 0.72
"""Height of a capital over the size of its type; the format counts the former."""


def dxf_text(drawings: Sequence[Drawing]) -> str:
    """Drawings side by side at full size, the scale bars under each."""
    import ezdxf
    from ezdxf import units

    document = ezdxf.new("R2010", units=units.MM)
    document.header["$MEASUREMENT"] = 1
    for layer, pen in LAYERS.items():
        hundredths = min(_WIDTHS, key=lambda w, pen=pen: abs(w - 100 * pen.width))  # type: ignore[misc]
        attributes: dict[str, Any] = {"color": _COLOURS.get(layer, 7), "lineweight": hundredths}
        if pen.dashes:
            pattern = [d if k % 2 == 0 else -d for k, d in enumerate(pen.dashes)]
            document.linetypes.add(layer, [sum(pen.dashes), *pattern])
            attributes["linetype"] = layer
        document.layers.add(layer, **attributes)
    space = document.modelspace()
    left = 0.0
    for drawing in drawings:
        for item in (*moved(drawing.items, left, 0.0), *scale_bars(left, -28.0)):
            _draw(space, item)
        _draw(space, Text((left, -34.0), drawing.title, 3.0))
        left += max(drawing.width, 103.0) + _APART
    out = io.StringIO()
    document.write(out)
    return out.getvalue()


def _draw(space: Any, item: Item) -> None:
    from ezdxf.enums import TextEntityAlignment as Align

    at = {"layer": item.layer}
    if isinstance(item, Path):
        space.add_lwpolyline(item.points, close=item.closed, dxfattribs=at)
    elif isinstance(item, Circle):
        space.add_circle(item.centre, item.radius, dxfattribs=at)
    else:
        align = {"start": Align.LEFT, "middle": Align.CENTER, "end": Align.RIGHT}[item.anchor]
        text = space.add_text(item.words, height=_CAPITAL * item.size, rotation=item.angle, dxfattribs=at)
        text.set_placement(item.at, align=align)
