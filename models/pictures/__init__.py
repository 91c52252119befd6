"""Pictures of a solved wing: solid scenes and plots along the span.

`draw_all` writes them as PNG files without a screen, `show` opens one in a window. The drawing libraries
are imported when a picture is asked for and not before.
"""

from models.pictures.drawing import SCENES, draw_all, show
from models.pictures.first import ShownReserves, judged
from models.pictures.plots import LayoutBar, SpanCurves, compare_layouts, plot_span, span_curves
from models.pictures.screen import NoRenderer

__all__ = [
    "SCENES",
    "LayoutBar",
    "NoRenderer",
    "ShownReserves",
    "SpanCurves",
    "compare_layouts",
    "draw_all",
    "judged",
    "plot_span",
    "show",
    "span_curves",
]
