"""The shopping list: sums by hand, everything of the wing in it, sticks by their lengths."""

from __future__ import annotations

import csv
import io
from functools import cache

import pytest
from numpy.testing import assert_allclose

from models.drawings.cut_list import csv_text, shapes
from models.drawings.other_pieces import plates, sticks
from models.drawings.rib_outlines import rib_shapes
from models.drawings.shopping import COLUMNS, n_sticks, rows, shopping
from models.drawings.web_pieces import web_pieces


@cache
def bought(wing):
    return shopping(wing, shapes(web_pieces(wing)), rib_shapes(wing), plates(wing), sticks(wing), [], 1e-3)


def test_sticks_are_cut_from_metres_and_long_ones_scarfed():
    assert n_sticks([0.6, 0.6, 0.4], 5e-3) == 2
    assert n_sticks([0.6] * 3, 5e-3) == 3
    assert n_sticks([1.0], 5e-3) == 1
    # 1.02 m and a scarf of 12 x 5 mm: a stick and 80 mm of another, for eleven times.
    assert n_sticks([1.02], 5e-3) == 2
    assert n_sticks([1.02] * 11, 5e-3) == 12
    assert n_sticks([2.5], 5e-3) == 3


@pytest.mark.parametrize("name", ["trainer", "sailplane", "powered-tailless"])
def test_everything_is_on_the_list_and_weighed_once(name, wing_of):
    wing = wing_of(name)
    items = bought(wing)
    webs = sum(p.mass for p in web_pieces(wing))
    ribs = sum(r.count * sum(p.area for p in r.parts) * r.rib.thickness * r.rib.material.density
               for r in rib_shapes(wing))  # fmt: skip
    rest = sum(p.count * p.mass for p in (*plates(wing), *sticks(wing)))
    fitted = sum(m.mass * (2 if m.paired else 1) for m in wing.masses)
    film = 2 * wing.planform.area * wing.covering_mass_per_area
    assert_allclose(sum(one.mass for one in items), webs + ribs + rest + fitted + film, rtol=1e-9)
    assert min(one.quantity for one in items) > 0
    uses = " ".join(one.use for one in items)
    for words, there in (("webs", True), ("ribs", True), ("sheeting", wing.sheets), ("ties", wing.rails)):
        assert (words in uses) == bool(there)


def test_a_sheet_for_webs_and_sheeting_of_one_wood_is_counted_once(wing_of):
    items = bought(wing_of("sailplane"))
    woods = [(one.what, one.size) for one in items if one.unit == "sheet"]
    assert len(set(woods)) == len(woods)
    (shared,) = [one for one in items if "sheeting" in one.use and "balsa medium" in one.what]
    assert "webs" in shared.use


def test_film_joiners_and_names_that_look_like_formulas(make_wing):
    extra = (
        '[covering]\nfilm = "polyester film"\nthickness = "0.025 mm"\nE = "4.5 GPa"\npretension = "60 N/m"\n'
        'mass_per_area = "45 g/m2"\n[[masses]]\nname = "=SUM(A1)"\nmass = "20 g"\nx = "20 mm"\n'
    )
    wing = make_wing(extra=extra)
    items = bought(wing)
    film = next(one for one in items if one.unit == "m2")
    assert_allclose(film.quantity, 2 * wing.planform.area, rtol=1e-6)
    assert_allclose(film.mass, film.quantity * 0.045, rtol=1e-6)
    listed = list(csv.reader(io.StringIO(csv_text(COLUMNS, rows(items)))))
    assert not any(text.startswith("=") for row in listed for text in row)


def test_a_piece_longer_than_its_sheet_is_counted_by_area(make_wing):
    extra = (
        '[[braces]]\nspar = "main"\nface = "front"\nto = "500 mm"\nthickness = "2 mm"\nwood = "birch ply"\n'
    )
    wing = make_wing(extra=extra)
    ply = next(one for one in bought(wing) if "brace" in one.use)
    assert "longer than a sheet" in ply.use
    assert ply.quantity == 1
