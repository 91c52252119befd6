"""Sizes of sheet as they are typed."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from models.drawings.stock import PLY, SOLID, StockError, choose, read_stock, unused
from models.woods.wood import material

BALSA, BIRCH = material("balsa medium"), material("birch ply")


@pytest.mark.parametrize(
    ("text", "wood", "thickness", "width", "length"),
    [
        ("100 mm x 1000 mm", None, None, 0.1, 1.0),
        ("4 in x 36 in", None, None, 0.1016, 0.9144),
        ("birch ply: 12 in x 24 in", "birch ply", None, 0.3048, 0.6096),
        ("1/16 in: 75 mm x 900 mm", None, 0.0015875, 0.075, 0.9),
        ("balsa medium, 1.5 mm: 75 mm x 1 m", "balsa medium", 0.0015, 0.075, 1.0),
    ],
)
def test_sizes(text, wood, thickness, width, length) -> None:
    stock = read_stock(text)
    assert stock.wood == wood
    assert_allclose([stock.width, stock.length], [width, length], rtol=1e-12)
    assert stock.thickness == (None if thickness is None else pytest.approx(thickness, rel=1e-12))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("100 x 1000", "has no unit"),
        ("100 mm", "no size of sheet"),
        ("9 mm x 1 m", "between 10 mm and 3100 mm"),
        ("100 mm x 3.2 m", "between 10 mm and 3100 mm"),
        ("balsa, 1 g: 100 mm x 5 kg", "a mass"),
    ],
)
def test_what_is_no_size_is_told(text: str, words: str) -> None:
    with pytest.raises(StockError, match=words):
        read_stock(text)


def test_the_size_that_says_most_counts() -> None:
    plain, thick, of_wood, both = (
        read_stock(t)
        for t in (
            "100 mm x 900 mm",
            "1.5 mm: 90 mm x 900 mm",
            "balsa medium: 80 mm x 900 mm",
            "balsa medium, 1.5 mm: 70 mm x 900 mm",
        )
    )
    assert choose([], BALSA, 0.0015) is SOLID
    assert choose([], BIRCH, 0.0015) is PLY
    assert choose([plain], BIRCH, 0.0015) is plain
    assert choose([both, thick, plain], BALSA, 0.0015) is both
    assert choose([both, of_wood, plain], BALSA, 0.002) is of_wood
    assert choose([thick, plain], BIRCH, 0.0015) is thick


def test_a_size_for_nothing_is_found() -> None:
    sheets = [(BALSA, 0.0015)]
    used, lost = read_stock("1.5 mm: 90 mm x 900 mm"), read_stock("spruce: 90 mm x 900 mm")
    assert unused([used], sheets) is None
    assert unused([used, lost], sheets) is lost
