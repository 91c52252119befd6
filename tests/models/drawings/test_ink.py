"""The estimate of how long a line of words is: never shorter than in the types that files are shown in."""

from __future__ import annotations

import matplotlib
import pytest
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from models.drawings.ink import Text, bounds, folded, text_width

LINES = (
    "front spar, bay 3, starboard and port, front and rear faces",
    "length 69.63 mm, depth 41.61 mm at the inner end, 39.52 mm at the outer",
    "balsa medium, 1.5 mm; grain upright",
    "Sheet 2 of 3: birch ply, 1.5 mm, 300 x 600 mm; grain up the sheet",
    "page 12 of 18, tile A3",
)


@pytest.mark.parametrize("line", LINES)
def test_no_shorter_than_the_widest_type_and_not_much_longer(line: str) -> None:
    path = f"{matplotlib.get_data_path()}/fonts/ttf/DejaVuSans.ttf"
    pdfmetrics.registerFont(TTFont("wide", path))
    widest = pdfmetrics.stringWidth(line, "wide", 10)
    assert pdfmetrics.stringWidth(line, "Helvetica", 10) <= widest
    # A tenth more than the widest costs nothing; less would let words run into each other.
    assert widest <= text_width(line, 10) <= 1.1 * widest


def test_folding_keeps_to_the_width() -> None:
    lines = folded(LINES[1], 2.2, 60)
    assert " ".join(lines) == LINES[1]
    assert len(lines) > 1
    assert all(text_width(line, 2.2) <= 60 for line in lines)


def test_bounds_of_turned_words() -> None:
    words = Text((10.0, 20.0), "grain", 3.0, angle=90)
    left, bottom, right, top = bounds(words)
    assert (bottom, top) == (20.0, pytest.approx(20.0 + words.width))
    assert left < 10 < right


def test_a_word_longer_than_the_line_is_broken() -> None:
    lines = folded(f"front {'w' * 40} spar", 2.2, 58.0)
    assert max(text_width(line, 2.2) for line in lines) <= 58.0
    assert "".join(lines).replace(" ", "") == f"front{'w' * 40}spar"
    assert folded("front spar", 2.2, 58.0) == ["front spar"]
    assert folded("ab", 2.2, 0.1) == ["a", "b"]
