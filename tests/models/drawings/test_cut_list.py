"""The cut list: shapes, their marks, rows and CSV."""

from __future__ import annotations

import csv
import io

import pytest
from numpy.testing import assert_allclose

from models.drawings.cut_list import COLUMNS, csv_text, grain_words, rows, shapes
from models.drawings.web_pieces import web_pieces


@pytest.fixture(scope="module")
def tailless(wing_of):
    return web_pieces(wing_of("powered-tailless"))


def test_every_piece_is_in_one_shape(tailless) -> None:
    cut = shapes(tailless)
    assert sum(len(s.pieces) for s in cut) == len(tailless) == 64
    names = [name for s in cut for name in s.names()]
    assert len(set(names)) == 64
    for shape in cut:
        for piece in shape.pieces:
            assert piece.material.name == shape.first.material.name
            assert_allclose(piece.length, shape.first.length, rtol=0, atol=1e-6)
            assert_allclose(piece.area, shape.first.area, rtol=1e-4)


def test_port_and_starboard_and_both_faces_are_one_shape(tailless) -> None:
    first = shapes(tailless)[0]
    assert {(p.side, p.face) for p in first.pieces} == {
        (side, face) for side in ("port", "starboard") for face in ("front", "rear")
    }


def test_an_upright_grain_and_one_along_the_span_are_two_shapes(make_specimen) -> None:
    webs = "".join(
        f'[[spars.webs]]\nbays = {bays}\nface = "front"\nthickness = "1.6 mm"\nwood = "reference-balsa"\n'
        f'grain = "{grain}"\n'
        for bays, grain in (('"1-3"', "upright"), ('"4-6"', "span"))
    )
    assert [len(s.pieces) for s in shapes(web_pieces(make_specimen(webs=webs)))] == [3, 3]


def test_csv_reads_back(tailless) -> None:
    cut = shapes(tailless)
    read = list(csv.DictReader(io.StringIO(csv_text(COLUMNS, rows(cut)))))
    assert tuple(read[0]) == COLUMNS
    assert sum(int(r["quantity"]) for r in read) == 64
    for row, shape in zip(read, cut, strict=True):
        assert abs(float(row["length_mm"]) - 1e3 * shape.first.length) < 0.0051
        assert abs(float(row["depth_outer_end_mm"]) - 1e3 * shape.first.depth_outer) < 0.0051
    total = sum(float(r["mass_g"]) * int(r["quantity"]) for r in read)
    assert_allclose(total, 1e3 * sum(p.mass for p in tailless), rtol=1e-3)


def test_words(tailless) -> None:
    assert rows(shapes(tailless))[0]["where"] == "front spar, bay 1, starboard and port, front and rear faces"
    assert (grain_words(0.0), grain_words(1.5707963267948966)) == ("along the span", "upright")
    assert grain_words(0.5235987755982988) == "30 deg up from outboard"
