"""What `check` and `bench --by-hand` say of a wing with taut covering."""

from __future__ import annotations

import pytest

FILM = """
[covering]
film = "polyester film"
thickness = "0.025 mm"
pretension = "40 N/m"
"""


@pytest.fixture
def covered(wing_file):
    def write(film: str = FILM):
        path = wing_file()
        text = path.read_text(encoding="utf-8")
        assert "[covering]" not in text
        path.write_text(text + film, encoding="utf-8")
        return path

    return write


def test_check_says_bare_and_covered(sparbay, covered):
    path = covered()
    record = sparbay("check", path, "--mesh", "2", "--json").document
    found = record["covering"]
    for key in ("bare", "taut", "wrinkled"):
        assert set(found[key]) >= {"tip_deflection_m", "tip_twist_rad", "load_factor_at_first_failure"}
    assert abs(found["taut"]["tip_twist_rad"]) < abs(found["bare"]["tip_twist_rad"])
    assert found["slack_load_factor"] > 0
    assert found["slack_surface"] in ("upper", "lower")
    assert [f["surface"] for f in found["films"]] == ["upper", "lower"]
    text = sparbay("check", path, "--mesh", "2", "--full").out
    words = " ".join(text.split())
    assert found["stiff_end"]["slack_load_factor"] < found["slack_load_factor"]
    assert "it goes slack at" in words
    assert "Fit to fly as drawn: " in words
    assert "With film of the stiff end of what is said of it" in words
    assert f"in bay {found['slack_bay']}, {found['slack_side']}, {found['slack_surface']}" in words
    assert "Bare and covered" in text
    assert "a tenth of the 4.5 GPa" in words  # what the stiffness of the list is worth
    first = record["answer"]["load_factor_at_first_failure"]
    assert found["bare"]["load_factor_at_first_failure"] == pytest.approx(first)


def test_check_of_mass_alone_says_nothing_of_covering(sparbay, covered, wing_file):
    plain = covered('\n[covering]\nmass_per_area = "30 g/m2"\n')
    assert "covering" not in sparbay("check", plain, "--json").document
    assert "slack" not in sparbay("check", plain).out


def test_wing_that_fails_covered_fails(sparbay, covered):
    """The answer is of both wings: the load between the two failing loads decides."""
    found = sparbay("check", covered(FILM.replace("40 N/m", "400 N/m")), "--json").document
    film = found["covering"]
    wings = film["bare"], film["wrinkled"], film["stiff_end"]["wrinkled"]
    loads = [one["load_factor_at_first_failure"] for one in wings]
    asked = found["answer"]["load_factor_asked"]
    assert found["answer"]["survives"] == (min(loads) >= asked)


def test_hold_has_a_row_for_the_covered_wing(sparbay, covered):
    path = covered()
    record = sparbay("bench", "--by-hand", path, "--mass", "300g", "--json").document
    load = record["loads"][0]
    rows = {row["layout"]: row for row in load["layouts"]}
    assert list(rows)[:3] == ["as drawn", "as drawn, covered", "as drawn, stiff film"]
    assert rows["as drawn, stiff film"]["deflection_m"] > rows["as drawn, covered"]["deflection_m"]
    assert rows["as drawn, covered"]["deflection_m"] > rows["as drawn"]["deflection_m"]  # less far down
    assert [one["layout"] for one in load["covering"]] == ["as drawn, covered", "as drawn, stiff film"]
    soft, stiff = (one["slack_at_times_the_load"] for one in load["covering"])
    assert 0 < stiff < soft
    assert "as drawn, covered" in sparbay("bench", "--by-hand", path, "--mass", "300g").out
    assert "covering" not in record["cautions"]


def test_hold_without_film_has_none(sparbay, wing_file):
    record = sparbay("bench", "--by-hand", wing_file(), "--mass", "300g", "--json").document
    assert "covering" not in record["loads"][0]
    assert "as drawn, covered" not in [row["layout"] for row in record["loads"][0]["layouts"]]


def test_a_bad_film_is_one_clear_error(sparbay, covered):
    outcome = sparbay("check", covered('\n[covering]\nfilm = "polyester"\nthickness = "0.02 mm"\n'))
    assert outcome.code == 2
    assert "covering.film" in outcome.err
    assert "did you mean polyester film" in outcome.err
