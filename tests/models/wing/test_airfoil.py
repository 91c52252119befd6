import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.wing.airfoil import FRACTIONS, AirfoilError, four_digit, from_coordinates, half_thickness, section
from models.wing.reading import WingFileError, read_text

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
        ("NACA 230120", "is not a four- or five-digit section"),
        ("NACA 26012", "none of the five-digit sections"),
        ("NACA 03012", "none of the five-digit sections"),
        ("NACA 23000", "has no thickness"),
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
        AirfoilError, match="neither a four- or five-digit section nor a coordinate file that is there"
    ):
        from_coordinates(tmp_path / "nothing.dat")
    with pytest.raises(AirfoilError, match="cannot be read"):
        from_coordinates(tmp_path)
    (tmp_path / "binary.dat").write_bytes(b"\xff\xfe\x80\x81" * 20)
    with pytest.raises(AirfoilError, match="cannot be read"):
        from_coordinates(tmp_path / "binary.dat")


def upper_run():
    x, upper, lower = points()
    return list(zip(x, upper, strict=True)), list(zip(x, lower, strict=True))


def commas(pairs, between=" "):
    return "\n".join(f"{x:.5f}".replace(".", ",") + between + f"{y:.5f}".replace(".", ",") for x, y in pairs)


READ = {
    "decimal commas": "Unser Profil\n" + commas(loop()),
    "decimal commas and semicolons": "Unser Profil\n" + commas(loop(), ";"),
    "semicolons": written(loop()).replace(" ", ";"),
    "tabs": written(loop()).replace(" ", "\t"),
    "percent": "\n".join(f"{100 * x:.4f}% {100 * y:.4f}%" for x, y in loop()),
    "percent apart": "\n".join(f"{100 * x:.4f} % {100 * y:.4f} %" for x, y in loop()),
    "three columns, z is zero": "\n".join(f"{x:.6f} {y:.6f} 0.0" for x, y in loop()),
    "three columns, counted": "\n".join(f"{k} {x:.6f} {y:.6f}" for k, (x, y) in enumerate(loop(), 1)),
    "three columns, both surfaces": "\n".join(
        f"{x:.6f} {u:.6f} {lo:.6f}" for (x, u), (_, lo) in zip(*upper_run(), strict=True)
    ),
    "one long line": " ".join(f"{x:.6f} {y:.6f}" for x, y in loop()),
    "one long line under a name": "Ours\n" + " ".join(f"{x:.6f} {y:.6f}" for x, y in loop()),
    "carriage returns": written(loop()).replace("\n", "\r"),
}


@pytest.mark.parametrize("text", READ.values(), ids=READ)
def test_ways_of_writing_that_are_read(tmp_path, text):
    path = tmp_path / "section.dat"
    path.write_text(text)
    upper, lower = from_coordinates(path)
    expected = four_digit(0.02, 0.4, 0.12)
    behind = FRACTIONS > 0.002
    assert_allclose(upper[behind], expected[0][behind], rtol=0, atol=3e-4)
    assert_allclose(lower[behind], expected[1][behind], rtol=0, atol=3e-4)


def test_a_name_in_latin_1_is_read(tmp_path):
    path = tmp_path / "section.dat"
    path.write_bytes(("Flügel\n" + written(loop())).encode("latin-1"))
    assert from_coordinates(path)[0].max() > 0.05


def turned(degrees):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return [(x * c + y * s, y * c - x * s) for x, y in loop()]


def spiked(k, by):
    return [(x, y + by * (i == k)) for i, (x, y) in enumerate(loop())]


def stepped():
    """A point of the upper surface behind the same one of the lower, and none after it but the tail."""
    points = loop()
    k = next(i for i in range(41, 81) if points[i][0] > 0.7)
    return [*points[: k + 1], (points[k][0], points[80 - k][1]), points[-1]]


REFUSED = {
    "cut off": (written(loop()[:60]), r"is cut off: one surface ends at \d.* % .* \(line 60\)"),
    "cut off in front": (written(loop()[20:]), r"is cut off: one surface ends at .* \(line 1\)"),
    "cut off within the first surface": (written(loop()[:30]), "has one surface only"),
    "upper only": (written(upper_run()[0]), "has one surface only: x runs once from nose to tail"),
    "upper only, from the tail": (written(upper_run()[0][::-1]), "has one surface only: of 41 points 40 lie"),
    "one surface short": (
        written(upper_run()[0]) + "\n" + written(upper_run()[1][:30]),
        r"is cut off: one surface ends at .* \(line 71\)",
    ),
    "turned": (written(turned(8)), r"is turned by 8 degrees: its tail lies 1.* below its nose"),
    "a spike": (written(spiked(25, 0.03)), r"has a spike at line 26: .* stands [2-4].* % of"),
    "a spike below": (written(spiked(60, -0.02)), r"has a spike at line 61"),
    "a step": (written(stepped()), r"has a step between lines \d+ and \d+: at 7\d.* % of .* jumps by"),
    "x and y exchanged": (written([(y, x) for x, y in loop()]), "."),
    "three odd columns": ("\n".join(f"{x} {y} {x * y}" for x, y in loop()), "has three columns, and"),
    "percent here and there": (
        "\n".join(f"{100 * x:.3f}% {y:.5f}" for x, y in loop()), "some of its coordinates in %",
    ),
    "an odd count in one line": ("1 " + written(loop()).replace("\n", " "), "an odd count of numbers"),
    "a null byte": (written(loop()) + "\0", "cannot be read as a text file"),
    "too large": ("1 0\n" * 100_000, "has more than 256 kB"),
    "beyond all": (written([(1e300 * x, 1e300 * y) for x, y in loop()]), "."),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_wrong_and_where(tmp_path, name):
    text, message = REFUSED[name]
    path = tmp_path / "section.dat"
    path.write_text(text)
    with pytest.raises(AirfoilError, match=message):
        from_coordinates(path)


@pytest.mark.parametrize("thickness", [0.04, 0.08, 0.18, 0.3, 0.4])
@pytest.mark.parametrize("n", [6, 9, 14, 41])
@pytest.mark.parametrize("spacing", ["even", "cosine"])
def test_true_sections_of_few_points_have_no_spike(tmp_path, thickness, n, spacing):
    x = np.linspace(0, 1, n) if spacing == "even" else (1 - np.cos(np.linspace(0, np.pi, n))) / 2
    upper, lower = four_digit(0.04, 0.4, thickness)
    at = [np.interp(x, FRACTIONS, side) for side in (upper, lower)]
    path = tmp_path / "section.dat"
    path.write_text(written([*zip(x[::-1], at[0][::-1]), *zip(x[1:], at[1][1:])]))
    from_coordinates(path)


def test_a_file_as_windows_writes_and_names_it(tmp_path):
    (tmp_path / "foils").mkdir()
    text = written([*zip(FRACTIONS[::-4], four_digit(0.02, 0.4, 0.12)[0][::-4]),
                    *zip(FRACTIONS[4::4], four_digit(0.02, 0.4, 0.12)[1][4::4])])  # fmt: skip
    (tmp_path / "foils" / "a.dat").write_text(text)
    (tmp_path / "foils" / "b.dat").write_bytes(text.replace("\n", "\r\n").encode())
    one, other = section("foils/a.dat", tmp_path), section("foils\\b.dat", tmp_path)
    np.testing.assert_array_equal(one, other)


def test_a_path_that_is_no_text_of_the_file_says_how_to_write_it():
    with pytest.raises(WingFileError, match=r"not TOML: .*; write / between folders"):
        read_text('[planform]\nstations = [{ y = "0 mm", section = "foils\\a.dat" }]\n')
