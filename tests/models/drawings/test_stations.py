"""Rib stations along a spar, against lengths by hand."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from models.drawings.ink import Path
from models.drawings.stations import stations, stations_drawing

STATIONS = (
    '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, '
    '{ y = "600 mm", chord = "200 mm", sweep = "20 deg", dihedral = "6 deg" }'
)


def test_true_lengths_along_a_swept_spar_with_dihedral(make_wing) -> None:
    wing = make_wing(stations=STATIONS, ribs='count = 7\nthickness = "2 mm"')
    found = stations(wing, wing.spars[0])
    scale = np.sqrt(1 + np.tan(np.radians(20)) ** 2 + np.tan(np.radians(6)) ** 2)
    assert_allclose([s.along for s in found], 0.1 * np.arange(7) * scale, rtol=1e-9, atol=1e-15)
    assert_allclose([s.sweep for s in found], np.radians(20), rtol=1e-6)
    assert_allclose(found[3].faces, np.array([0.299, 0.301]) * scale, rtol=1e-9)
    # A rib on the centre line is marked by half, one at the tip by the half that is on the spar.
    assert_allclose(found[0].faces, [0, 0.001 * scale], rtol=1e-9)
    assert_allclose(found[-1].faces, np.array([0.599, 0.6]) * scale, rtol=1e-9)


def test_the_marks_stand_at_their_places_and_lean_by_the_sweep(make_wing) -> None:
    wing = make_wing(stations=STATIONS, ribs='count = 7\nthickness = "2 mm"')
    drawing = stations_drawing(wing)
    (strip,) = (i for i in drawing.items if isinstance(i, Path) and i.name == "main")
    start = min(x for x, _ in strip.points)
    faces = [i for i in drawing.items if isinstance(i, Path) and i.name == "rib 4"]
    middles = sorted(np.mean(f.points, axis=0)[0] - start for f in faces)
    assert_allclose(middles, [1e3 * v for v in stations(wing, wing.spars[0])[3].faces], atol=1e-6)
    for face in faces:
        (x0, y0), (x1, y1) = face.points
        # From face to face of a cap that is 8 mm wide square to its run, leaning outboard at the rear by the
        # sweep.
        assert_allclose(np.hypot(x1 - x0, y1 - y0), 8.0 / np.cos(np.radians(20)), rtol=1e-9)
        assert_allclose(np.degrees(np.arctan2(x1 - x0, y0 - y1)), 20.0, rtol=1e-6)
    assert all(0 <= x <= drawing.width and 0 <= y <= drawing.height for f in faces for x, y in f.points)


def test_a_spar_that_ends_early_has_fewer_stations(make_wing) -> None:
    spars = (
        '[[spars]]\nname = "main"\nat = "30 %"\nto = "400 mm"\n'
        'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
    )
    wing = make_wing(spars=spars, ribs='count = 7\nthickness = "2 mm"')
    assert [s.number for s in stations(wing, wing.spars[0])] == [1, 2, 3, 4, 5]
