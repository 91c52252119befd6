import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.wing.airfoil import FRACTIONS, AirfoilError, four_digit, from_coordinates, half_thickness, section

# NACA 0012, half thickness in % of the chord: NACA TR 460 (ordinates as remembered of the published table).
STATIONS = [1.25, 2.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 90, 95, 100]
HALF = [1.894, 2.615, 3.555, 4.200, 4.683, 5.345, 5.738, 5.941, 6.002, 5.803, 5.294, 4.563, 3.664, 2.623]
HALF += [1.448, 0.807, 0.126]


def test_naca_0012_is_the_published_table():
    # The table is rounded to 0.001.
    assert_allclose(100 * half_thickness(np.array(STATIONS) / 100, 0.12), HALF, rtol=0, atol=0.00051)
    upper, lower = section("NACA 0012", None)
    # The ordinates are kept at 401 points, straight between them: 0.0005 more at the nose.
    assert_allclose(100 * np.interp(np.array(STATIONS) / 100, FRACTIONS, upper), HALF, rtol=0, atol=0.001)
    assert_allclose(lower, -upper, rtol=1e-15)


def test_camber_of_naca_2412():
    upper, lower = four_digit(0.02, 0.4, 0.12)
    # The mean line is 2 % high at 40 % (from the section's name); thickness 12 % at 30 %, laid off square to
    # a mean line whose slope there is 1/40, so that the upright thickness differs by 3e-4 of itself.
    assert_allclose(np.interp(0.4, FRACTIONS, upper + lower) / 2, 0.02, rtol=2e-4)
    assert_allclose(np.interp(0.3, FRACTIONS, upper - lower), 0.12, rtol=1e-3)
    assert upper[0] == lower[0] == 0


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("NACA 23012", "is not a four-digit section"),
        ("NACA 2400", "has no thickness"),
        ("NACA 0412", "has camber without a place"),
        ("NACA 2012", "has camber without a place"),
    ],
)
def test_other_names_are_refused(name, message):
    with pytest.raises(AirfoilError, match=message):
        section(name, None)


def points(n=41):
    x = (1 - np.cos(np.linspace(0, np.pi, n))) / 2
    upper, lower = four_digit(0.02, 0.4, 0.12)
    return x, np.interp(x, FRACTIONS, upper), np.interp(x, FRACTIONS, lower)


def written(rows):
    return "\n".join(f"{x:.6f} {y:.6f}" for x, y in rows)


def loop():
    x, upper, lower = points()
    return [*zip(x[::-1], upper[::-1]), *zip(x[1:], lower[1:])]


@pytest.mark.parametrize(
    "text",
    [
        "Our own section\n" + written(loop()),
        written(loop()),
        written(loop()[::-1]),
        written([(100 * x, 100 * y) for x, y in loop()]),
        "Section 12\n" + written(loop()).replace(" ", ", "),
        "Two runs\n41 41\n\n" + written(zip(*points()[:2])) + "\n\n" + written(zip(points()[0], points()[2])),
        "Two runs\n41. 41.\n" + written(zip(*points()[:2])) + "\n" + written(zip(points()[0], points()[2])),
        "No counts\n" + written(zip(*points()[:2])) + "\n\n" + written(zip(points()[0], points()[2])),
    ],
    ids=["named", "bare", "lower first", "chord 100", "commas", "counts", "counts with dots", "two runs"],
)
def test_every_order_of_a_coordinate_file_gives_the_section(tmp_path, text):
    path = tmp_path / "section.dat"
    path.write_text(text)
    upper, lower = from_coordinates(path)
    expected = four_digit(0.02, 0.4, 0.12)
    # 41 points a side, straight in the root of x between them: within 3e-4 of the chord.
    # Ahead of 0.2 % the file has no point but the nose itself.
    behind = FRACTIONS > 0.002
    assert_allclose(upper[behind], expected[0][behind], rtol=0, atol=3e-4)
    assert_allclose(lower[behind], expected[1][behind], rtol=0, atol=3e-4)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "has 0 points; a section needs at least 10"),
        ("Name\n1 0\n0.5 0.1\n0 0\n1 0\n", "has 4 points"),
        ("Name\n" + written(loop()[:30]) + "\n0.5 abc\n" + written(loop()[30:]), "is unreadable at line 32"),
        ("Name\n" + written(loop()[:30]) + "\n0.5 nan\n" + written(loop()[30:]), "is unreadable at line 32"),
        ("Name\n" + written([(0.0, 0.1 * i) for i in range(12)]), "has fewer than three points"),
        ("Name\n" + written([(x, 0.0) for x, _ in loop()]), "has surfaces that cross or touch"),
        ("Name\n" + written([loop()[i] for i in [0, 20, 10, 30, 5, *range(31, 60)]]), "is in no order"),
    ],
)
def test_a_file_that_is_no_section_is_refused(tmp_path, text, message):
    path = tmp_path / "section.dat"
    path.write_text(text)
    with pytest.raises(AirfoilError, match=message):
        from_coordinates(path)


def test_a_file_that_is_not_there_or_not_text(tmp_path):
    with pytest.raises(
        AirfoilError, match="neither a four-digit section nor a coordinate file that is there"
    ):
        from_coordinates(tmp_path / "nothing.dat")
    with pytest.raises(AirfoilError, match="cannot be read"):
        from_coordinates(tmp_path)
    (tmp_path / "binary.dat").write_bytes(b"\xff\xfe\x80\x81" * 20)
    with pytest.raises(AirfoilError, match="cannot be read"):
        from_coordinates(tmp_path / "binary.dat")
