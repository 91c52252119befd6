"""A wood put into a wing file: nothing else changes, and what is there is not lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from models.wing.reading import read_text
from models.wing.writing import NotToml, TakenName, difference, with_wood

WINGS = Path(__file__).parents[3] / "models" / "wings"
FIGURES = {
    "like": "balsa",
    "piece": {"length": 0.9144, "width": 0.006, "thickness": 0.0063, "mass": 0.0071},
    "E_L": 3.456e9,
}


@pytest.mark.parametrize("path", sorted(WINGS.glob("*.toml")), ids=lambda p: p.stem)
def test_every_shipped_wing_takes_a_wood_and_keeps_its_lines(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    new = with_wood(text, "my stick", FIGURES)
    assert new.startswith(text)
    read_text(new, folder=WINGS)
    added = [line for line in difference(text, new, "a").splitlines()[2:] if line[:1] in "+-"]
    assert [line[1:] for line in added] == [
        "",
        '[woods."my stick"]',
        'like = "balsa"',
        'piece = {length = "914.4 mm", width = "6 mm", thickness = "6.3 mm", mass = "7.1 g"}',
        'E_L = "3.456 GPa"',
    ]


OLD = """# the file's head
[woods.stick] # bought in May
like = "spruce" # guessed
density = "420 kg/m3"
tension = "90 MPa" # tested,  twice

[woods.other]
like = "balsa"
"""


def test_a_name_that_is_taken_is_refused_or_replaced() -> None:
    with pytest.raises(TakenName):
        with_wood(OLD, "stick", FIGURES)
    new = with_wood(OLD, "stick", FIGURES, replace=True)
    for kept in (
        "# the file's head",
        "# bought in May",
        'tension = "90 MPa" # tested,  twice',
        "[woods.other]",
    ):
        assert kept in new
    assert "density" not in new  # beside a piece it would contradict it
    assert 'E_L = "3.456 GPa"' in new
    assert new.count("[woods.stick]") == 1


def test_a_figure_that_was_not_measured_anew_stays() -> None:
    old = OLD.replace("density", 'E_L = "11 GPa" # bent\ndensity')
    new = with_wood(old, "stick", {"like": "spruce", "density": 430.0}, replace=True)
    assert 'E_L = "11 GPa" # bent' in new
    assert 'density = "430 kg/m3"' in new
    assert 'like = "spruce" # guessed' in new


def test_line_ends_stay() -> None:
    text = OLD.replace("\n", "\r\n")
    new = with_wood(text, "new", FIGURES)
    assert new.startswith(text)
    assert "\n" not in new.replace("\r\n", "")


def test_woods_in_one_line_take_another() -> None:
    text = 'woods = { stick = { like = "spruce" } } # mine\n'
    new = with_wood(text, "new", {"like": "balsa", "E_L": 3e9})
    assert "# mine" in new
    assert 'new = {like = "balsa", E_L = "3 GPa"}' in new


def test_no_toml_is_refused() -> None:
    with pytest.raises(NotToml):
        with_wood("[woods\n", "stick", FIGURES)
