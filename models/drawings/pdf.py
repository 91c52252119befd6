"""Pages as one PDF in points, by ReportLab: exact vector output, no system library, well kept."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from models.drawings.ink import LAYERS, Circle, Item, Path, Text
from models.drawings.pages import DrawingPage

MM = 72 / 25.4
"""Points in a millimetre."""


def pdf_bytes(pages: Sequence[DrawingPage], title: str) -> bytes:
    """Pages, from `models.drawings.pages`, as a PDF document of a title."""
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    canvas.setTitle(title)
    canvas.setCreator("sparbay")
    fonts = _fonts(item.words for page in pages for item in page.frame + page.items if isinstance(item, Text))
    for page in pages:
        canvas.setPageSize((page.width * MM, page.height * MM))
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        canvas.saveState()
        left, bottom, right, top = page.clip
        window = canvas.beginPath()
        window.rect(left * MM, bottom * MM, (right - left) * MM, (top - bottom) * MM)
        canvas.clipPath(window, stroke=0, fill=0)
        for item in page.items:
            _draw(canvas, item, fonts)
        canvas.restoreState()
        for item in page.frame:
            _draw(canvas, item, fonts)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _fonts(words: Any) -> tuple[str, str]:
    """Plain and bold: Helvetica, which every reader has, unless a name needs letters that it lacks."""
    try:
        for text in words:
            text.encode("cp1252")
    except UnicodeEncodeError:
        import matplotlib
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont

        folder = f"{matplotlib.get_data_path()}/fonts/ttf"
        for name in ("DejaVuSans", "DejaVuSans-Bold"):
            pdfmetrics.registerFont(TTFont(name, f"{folder}/{name}.ttf"))
        return "DejaVuSans", "DejaVuSans-Bold"
    return "Helvetica", "Helvetica-Bold"


def _draw(canvas: Any, item: Item, fonts: tuple[str, str]) -> None:
    pen = LAYERS[item.layer]
    canvas.setStrokeColorRGB(*pen.colour)
    canvas.setLineWidth(pen.width * MM)
    canvas.setDash([d * MM for d in pen.dashes])
    if isinstance(item, Path):
        path = canvas.beginPath()
        path.moveTo(item.points[0][0] * MM, item.points[0][1] * MM)
        for x, y in item.points[1:]:
            path.lineTo(x * MM, y * MM)
        if item.closed:
            path.close()
        if item.grey is not None:
            canvas.setFillGray(item.grey)
        canvas.drawPath(path, stroke=1, fill=int(item.grey is not None))
    elif isinstance(item, Circle):
        canvas.circle(item.centre[0] * MM, item.centre[1] * MM, item.radius * MM)
    else:
        _words(canvas, item, fonts[1] if item.bold else fonts[0])


def _words(canvas: Any, item: Text, font: str) -> None:
    canvas.saveState()
    canvas.setFillColorRGB(*LAYERS[item.layer].colour)
    canvas.translate(item.at[0] * MM, item.at[1] * MM)
    canvas.rotate(item.angle)
    canvas.setFont(font, item.size * MM)
    write = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
    write[item.anchor](0, 0, item.words)
    canvas.restoreState()
