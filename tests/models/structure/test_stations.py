"""Mesh stations along the span: where they must stand and how the bays between them are numbered."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from models.structure.stations import nearest, stations

STEPPED = (
    '{ width = "10 mm", height = "6 mm", wood = "reference-balsa", '
    'steps = [{ from = "150 mm", width = "8 mm" }] }'
)


def has(y, *positions):
    return all(np.abs(y - p).min() < 1e-9 for p in positions)


def test_a_specimen_has_every_rib_and_finer_pieces_beside_it(make_specimen):
    wing = make_specimen()
    y, bay = stations(wing, 4, False)
    assert_allclose(y[[0, -1]], [0, 0.36], atol=1e-15)
    assert has(y, *(rib.y for rib in wing.ribs))
    pieces = np.diff(y)[:4]
    assert_allclose(pieces.sum(), 0.06, rtol=1e-12)
    assert_allclose(pieces, pieces[::-1], rtol=1e-12)
    assert pieces[0] < 0.015 < pieces[1] < 1.25 * 0.015
    assert list(np.unique(bay)) == [1, 2, 3, 4, 5, 6]
    # The stub beyond the last rib belongs to the last bay and is not cut.
    assert bay[-1] == 6
    assert (bay == 6).sum() == 5
    assert (bay == 3).sum() == 4


def test_a_step_inside_a_bay_is_a_station_and_no_bay(make_specimen):
    y, bay = stations(make_specimen("between", caps=STEPPED), 4, False)
    assert has(y, 0.15)
    assert set(bay[(y[:-1] >= 0.12 - 1e-9) & (y[1:] <= 0.18 + 1e-9)]) == {3}
    assert (np.diff(y) < 1.25 * 0.015).all()


def test_bays_are_numbered_from_the_centre_on_both_sides(make_wing):
    y, bay = stations(make_wing(), 3, True)
    assert_allclose(y, -y[::-1], atol=1e-15)
    assert list(bay) == list(bay[::-1])
    middle = (y[1:] + y[:-1]) / 2
    assert_allclose(np.ceil(np.abs(middle) / 0.1 - 1e-9), bay)
    assert (bay[np.abs(middle) < 0.1] == 1).all()


def test_a_bay_that_straddles_the_centre_is_number_0(make_wing):
    wing = make_wing(ribs='stations = ["50 mm", "200 mm", "400 mm", "600 mm"]\nthickness = "2 mm"')
    y, bay = stations(wing, 4, True)
    middle = np.abs(y[1:] + y[:-1]) / 2
    assert (bay[middle < 0.05] == 0).all()
    assert (bay[(middle > 0.05) & (middle < 0.2)] == 1).all()
    assert has(y, 0.0)


def test_ends_of_spars_braces_and_rails_are_stations(make_wing):
    extra = '[[braces]]\nspar = "main"\nface = "front"\nto = "70 mm"\nthickness = "2 mm"\n'
    y, _ = stations(make_wing(extra=extra), 4, True)
    assert has(y, 0.07, -0.07)


def test_the_nearest_station():
    assert nearest(np.array([-1.0, 0.0, 0.4, 1.0]), 0.3) == 2
