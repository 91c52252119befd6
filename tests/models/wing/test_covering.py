"""The covering of a wing file: good and bad values, and what they come to."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.wing.faults import WingFileError
from models.wing.reading import read_text
from models.woods import films

WING = """
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 0012" },
    { y = "400 mm", chord = "200 mm" },
]
[ribs]
count = 6
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "6 mm", height = "4 mm" }
[leading_edge]
width = "8 mm"
height = "8 mm"
[trailing_edge]
width = "12 mm"
height = "3 mm"
"""


def covered(text, wing=WING):
    return read_text(f"{wing}\n[covering]\n{text}")


def refused(text, wing=WING):
    with pytest.raises(WingFileError) as error:
        covered(text, wing)
    return str(error.value)


def test_mass_alone_has_no_stiffness():
    wing = covered('mass_per_area = "50 g/m2"')
    assert_allclose(wing.covering_mass_per_area, 0.05, rtol=1e-14)
    assert wing.coverings == ()
    assert not [key for key, _ in wing.assumed if key.startswith("covering")]


def test_a_film_of_the_list_takes_the_low_end_and_says_so():
    wing = covered('film = "polyester film"\nthickness = "25 um"'.replace("25 um", "0.025 mm"))
    upper, lower = wing.coverings
    assert (upper.surface, lower.surface) == ("upper", "lower")
    assert_allclose(wing.covering_mass_per_area, 1390 * 25e-6, rtol=1e-12)
    assert_allclose(upper.stretch[2, 2], 0.467e9 * 25e-6 / 2.8, rtol=1e-12)
    assert_allclose(upper.pretension, (62.5, 62.5), rtol=1e-12)
    assert_allclose(upper.strength, 5000, rtol=1e-12)
    assert len(upper.doubts) == 2
    assert "low end" in upper.doubts[1]


def test_own_figures():
    wing = covered(
        'mass_per_area = "40 g/m2"\nE = "4.5 GPa"\nthickness = "0.025 mm"\nnu = 0.38\n'
        'pretension = ["100 N/m", "60 N/m"]\nstrength = "100 MPa"'
    )
    film = wing.coverings[0]
    assert_allclose(film.stretch[2, 2], 40.76e3, rtol=1e-4)  # line 13 of the reference
    assert film.pretension == (100, 60)
    assert film.doubts == ()
    tissue = covered(
        'film = "tissue and dope"\nmass_per_area = "25 g/m2"\npretension = "30 N/m"\ngrain = "chord"'
    ).coverings[0]
    assert_allclose(tissue.stretch[1, 1] / tissue.stretch[0, 0], 0.5, rtol=1e-12)
    assert tissue.grain == np.pi / 2
    assert tissue.strength is None


def test_pieces_lie_where_they_are_said_to():
    wing = covered(
        'film = "polyester film"\nthickness = "0.012 mm"\nsurface = "upper"\nfrom = "main"\n'
        '[[covering.pieces]]\nmass_per_area = "20 g/m2"\nsurface = "lower"\nbays = "1-2"'
    )
    assert wing.covering_mass_per_area == 0
    upper, lower = wing.coverings
    assert upper.stretch is not None
    assert lower.stretch is None
    assert {bay for _, bay in upper.bays} == {1, 2, 3, 4, 5}
    assert {bay for _, bay in lower.bays} == {1, 2}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('film = "nylon"\nthickness = "0.02 mm"', "covering.film"),
        ('film = "polyester film"', "covering.thickness: is missing"),
        ('film = "tissue and dope"\nmass_per_area = "20 g/m2"', "covering.pretension: is missing"),
        ('film = "polyester film"\nthickness = "0.02 mm"\npretension = "0 N/m"', "must be more than zero"),
        ('film = "polyester film"\nthickness = "0.02 mm"\npretension = "30 MPa"', "force per length"),
        ('film = "polyester film"\nthickness = "0.02 mm"\nfrom = "30 %"', "nothing to glue covering on"),
        ('film = "polyester film"\nthickness = "0.02 mm"\nbays = "9"', "is not a bay"),
        ('mass_per_area = "20 g/m2"\npretension = "30 N/m"', "covering without stiffness"),
        ('E = "1 GPa"\nthickness = "0.02 mm"', "covering.nu"),
        ('surface = "upper"', "covering.mass_per_area: is missing"),
        (
            'mass_per_area = "20 g/m2"\n[[covering.pieces]]\nmass_per_area = "20 g/m2"\nbays = 2',
            "lie on each other",
        ),
    ],
)
def test_faults_name_their_key(text, said):
    assert said in refused(text)


def test_taut_covering_needs_a_stick_to_hold_it():
    bare = WING.split("[trailing_edge]")[0]
    text = 'film = "polyester film"\nthickness = "0.02 mm"'
    assert "[trailing_edge]" in refused(text, bare)
    assert covered(f'{text}\nto = "main"', bare).coverings


def test_every_film_has_sources():
    for name in films.names():
        assert all(line.endswith("]") for line in films.film(name).sources.values())
