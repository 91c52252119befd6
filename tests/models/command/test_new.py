"""`new`: what it writes is a wing for any sensible answers, and a file that exists is left alone."""

from __future__ import annotations

import io
import random
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from models.command.sizing import fitted, starter
from models.command.starter import COVERINGS, JOINTS, SHEETINGS, Answers, NoStarter
from models.verdict import in_short
from models.wing.reading import read_text


def test_starter_runs_and_survives(sparbay: Callable, tmp_path: Path) -> None:
    file = tmp_path / "w.toml"
    run = sparbay("new", file)
    assert run.code == 0
    assert str(file) in run.out
    assert sparbay("check", file).code == 0


@pytest.fixture
def unmended(monkeypatch: pytest.MonkeyPatch) -> None:
    """First sizes as they are: what is asked here does not hang on them."""
    text = "models.command.sizing.fitted"
    monkeypatch.setattr(text, lambda a, folder, *_: SimpleNamespace(text=starter(a, folder)))


def test_an_existing_file_is_left_alone(sparbay: Callable, tmp_path: Path) -> None:
    file = tmp_path / "w.toml"
    file.write_text("mine")
    run = sparbay("new", file)
    assert run.code == 2
    assert "exists already" in run.err
    assert file.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [file]


def test_no_folder(sparbay: Callable, tmp_path: Path) -> None:
    assert sparbay("new", tmp_path / "nowhere" / "w.toml").code == 2


FLAGS = [
    ("--name", 'Grey "Heron" \\ 2', ("name",)),
    ("--span", "2.4 m", ("planform", "stations", 1, "y")),
    ("--root-chord", "12 in", ("planform", "stations", 0, "chord")),
    ("--tip-chord", "150mm", ("planform", "stations", 1, "chord")),
    ("--sweep", "310 mm", ("planform", "stations", 1, "leading_edge")),
    ("--section", "NACA 0012", ("planform", "stations", 0, "section")),
    ("--mass", "5 lb", ("case", "mass")),
    ("--load-factor", "8.5", ("case", "load_factor")),
    ("--spars", "2", ("spars", 1, "name")),
    ("--engine", "450 g", ("masses", 0, "mass")),
    ("--joint", "scarfed", ("spars", 0, "joint")),
    ("--sheeting", "nose", ("sheeting", 0, "from")),
    ("--covering", "film", ("covering", "mass_per_area")),
]
"""A flag, its value, and where that stands in the file."""


@pytest.mark.usefixtures("unmended")
@pytest.mark.parametrize(
    "given",
    [pytest.param(FLAGS, id="all"), *(pytest.param([f], id=f[0], marks=pytest.mark.long) for f in FLAGS)],
)
def test_a_flag_shows_in_the_file(
    given: list[tuple[str, str, tuple[str | int, ...]]], sparbay: Callable, tmp_path: Path
) -> None:
    file = tmp_path / "w.toml"
    assert sparbay("new", file, *(word for one in given for word in one[:2])).code == 0
    expected = {
        "--span": "1200 mm", "--root-chord": "304.8 mm", "--tip-chord": "150 mm", "--mass": "2.268 kg",
        "--load-factor": 8.5, "--spars": "rear",
        "--sheeting": "leading edge", "--covering": "60 g/m2",
    }  # fmt: skip
    for flag, value, lead in given:
        found = tomllib.loads(file.read_text())
        for key in lead:
            found = found[key]
        assert found == expected.get(flag, value)


@pytest.mark.parametrize(
    ("flags", "says"),
    [
        (("--span", "20 m"), "span 20 m"),
        (("--span", "20"), "no unit"),
        (("--load-factor", "nan"), "load factor"),
        (("--spars", "3"), "not a number of spars from 1 to 2"),
        (("--section", "NACA 241200"), "four- or five-digit"),
        (("--engine", "9 kg"), "as much as the whole"),
        (("--tip-chord", "1 mm"), "tip chord"),
        (("--sheeting", "everywhere"), "'everywhere' is none of: none, nose"),
        (("--joint", "butted", "--span", "4 m", "--mass", "25 kg"), "Take a scarfed joint"),
    ],
)
def test_bad_answers_write_nothing(
    flags: tuple[str, ...], says: str, sparbay: Callable, tmp_path: Path
) -> None:
    run = sparbay("new", tmp_path / "w.toml", *flags)
    assert run.code == 2
    assert says in run.err
    assert not list(tmp_path.iterdir())


def test_what_cannot_be_fit_is_refused_with_what_would_help(sparbay: Callable, tmp_path: Path) -> None:
    run = sparbay("new", tmp_path / "w.toml", "--span", "4 m", "--section", "NACA 0003", "--mass", "20 kg")
    assert run.code == 2
    assert re.search(r"one in twenty fails at [\d.]+ g, and 6 g are asked: .*gives way", run.err)
    assert "thicker section" in run.err
    assert not list(tmp_path.iterdir())


@pytest.mark.usefixtures("unmended")
def test_asks(sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said = "\n2 m\nwide\n300 mm" + 11 * "\n"  # the name, span, a chord that is none, the chord, and so on
    monkeypatch.setattr("sys.stdin", io.StringIO(said))
    file = tmp_path / "w.toml"
    run = sparbay("new", file, "--ask", "--mass", "2 kg")
    assert run.code == 0
    assert "mass of the whole" not in run.err
    assert "'wide' is not a length" in run.err
    stations = tomllib.loads(file.read_text())["planform"]["stations"]
    assert (stations[0]["chord"], stations[1]["y"]) == ("300 mm", "1000 mm")


def test_an_input_that_ends_writes_nothing(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n"))
    assert sparbay("new", tmp_path / "w.toml", "--ask").code == 2
    assert not list(tmp_path.iterdir())


def _no_room_for_rails(answers: Answers) -> bool:
    if not answers.engine:
        return False
    try:
        starter(answers)
    except NoStarter as error:
        return "no room for engine rails" in str(error)
    return False


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    span=st.floats(0.5, 6),
    aspect=st.floats(4, 14),
    taper=st.floats(0.4, 1),
    sweep=st.floats(-0.1, 0.4),
    loading=st.floats(2, 9),
    n=st.floats(2, 12),
    spars=st.sampled_from([1, 2]),
    engine=st.sampled_from([0, 0.25]),
    section=st.sampled_from(["NACA 2412", "NACA 0012", "NACA 4415"]),
)
def test_any_sensible_answers_make_a_wing(
    span: float, aspect: float, taper: float, sweep: float, loading: float, n: float,
    spars: int, engine: float, section: str,
) -> None:  # fmt: skip
    chord = span / aspect * 2 / (1 + taper)
    if not (0.12 <= chord <= 1 and taper * chord >= 0.06):
        return
    mass = loading * span**2 / aspect
    answers = Answers(
        "x", span, chord, taper * chord, sweep * span, section, mass, n, spars,
        engine * mass if spars == 2 else 0,
    )  # fmt: skip
    if _no_room_for_rails(answers):
        return
    wing = read_text(starter(answers))
    assert len(wing.spars) == spars
    caps = wing.spars[0].upper
    wooden = sum(float(layer.height.at(0.0)) for layer in caps.layers if layer.material.name == "spruce")
    assert wooden <= float(caps.width.at(0.0))


def test_a_chord_too_small_for_any_stick() -> None:
    with pytest.raises(NoStarter, match="too small"):
        starter(Answers(root_chord=0.08, tip_chord=0.06, section="NACA 0006"))


@pytest.mark.long
@pytest.mark.usefixtures("unmended")
@pytest.mark.parametrize("spars", ["1", pytest.param("2", marks=pytest.mark.long)])
def test_a_wide_root_and_a_narrow_tip_make_a_wing_too(sparbay: Callable, tmp_path: Path, spars: str) -> None:
    file = tmp_path / "w.toml"
    sizes = ("--span", "4 m", "--root-chord", "1.2 m", "--tip-chord", "60 mm", "--mass", "30 kg")
    assert sparbay("new", file, *sizes, "--spars", spars).code == 0
    assert sparbay("check", file, "--mesh", "1").code in (0, 1)


@pytest.mark.parametrize(
    "answers",
    [
        Answers(span=0.7, root_chord=0.13, tip_chord=0.1, mass=0.35, load_factor=8),
        # Between caps so tall no brace carries them butted, so that they are scarfed.
        Answers(span=1.024, root_chord=0.129, tip_chord=0.106, mass=0.69, load_factor=9),
        pytest.param(
            Answers(span=2.6, root_chord=0.36, tip_chord=0.26, mass=4.0, spars=2), marks=pytest.mark.long
        ),
    ],
)
def test_what_is_written_is_fit_by_its_own_verdict(answers: Answers) -> None:
    found = fitted(answers)
    assert found.after.fit
    wing = read_text(found.text)
    assert wing.spars[0].joint in ("butted", "scarfed")
    if answers.span == 1.024:
        assert wing.spars[0].joint == "scarfed"


def drawn(seed: int) -> Answers:
    """Answers of a builder, drawn at random: spans 0.6 to 4 m."""
    draw = random.Random(seed)
    span = draw.uniform(0.6, 4)
    chord = span / draw.uniform(4, 12)
    taper, spars = draw.uniform(0.5, 1), draw.choice([1, 2])
    loading = draw.uniform(3, 9)  # kg/m2
    mass = loading * span * chord * (1 + taper) / 2
    engine = draw.choice([0, 0, 0.2]) * mass if spars == 2 else 0.0
    section = draw.choice(["NACA 2412", "NACA 0012", "NACA 4415", "NACA 2415", "NACA 23012"])
    n = draw.uniform(3, 10)
    sweep = draw.uniform(0, 0.1) * span
    joints = ("any", "any", *JOINTS)  # most wings are too heavy for butted caps
    words = (draw.choice(every) for every in (joints, SHEETINGS, sorted(COVERINGS)))
    return Answers("x", span, chord, taper * chord, sweep, section, mass, n, spars, engine, *words)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(200))
def test_any_wing_that_is_written_is_fit_or_refused_with_a_reason(seed: int) -> None:
    try:
        found = fitted(drawn(seed))
    except NoStarter as error:
        why = str(error)
    else:
        why = ""
    if why:
        assert re.search("[Tt]ake a|is not from|has room", why), why
        return
    assert found.after.fit, in_short(found.after)
    assert read_text(found.text).case.survive == found.after.wanted
