import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.pictures import plots, stage
from models.pictures.plots import LayoutBar, compare_layouts, plot_span, span_curves
from models.studies.envelope import envelope
from models.wing.reading import read, read_text
from models.wings import shipped

ROWS = [
    LayoutBar("none", 0.061, -0.036, 800.0, 23.0, 0.410, 2.2),
    LayoutBar("box", 0.031, -0.010, 1600.0, 109.0, 0.437, float("nan")),
]


@pytest.fixture
def drawn(monkeypatch):
    """The figure that is being saved."""
    kept = []
    monkeypatch.setattr(plots, "save_figure", lambda figure, path: kept.append(figure))
    return kept


def test_layout_bars_are_the_numbers_in_the_builders_units(drawn):
    compare_layouts(ROWS, "unused.png", title="Layouts")
    panels = {p.get_title(loc="left"): p for p in drawn[0].axes}
    widths = {title: [bar.get_width() for bar in p.patches] for title, p in panels.items()}
    assert_allclose(widths["Bending stiffness, N per mm at the tip"], [0.8, 1.6], rtol=1e-12)
    assert_allclose(
        widths["Torsional stiffness, N m per degree at the tip"], np.radians([23.0, 109.0]), rtol=1e-12
    )
    assert_allclose(widths["Mass of the webs, g"], [410, 437], rtol=1e-12)
    assert_allclose(widths["Tip deflection, mm up"], [61, 31], rtol=1e-12)
    assert_allclose(widths["Tip twist, degrees nose up"], np.degrees([-0.036, -0.010]), rtol=1e-12)
    failure = panels["Load factor at first failure"]
    assert [t.get_text() for t in failure.texts] == ["2.2", "not worked out"]


def test_layouts_may_be_mappings(tmp_path):
    path = compare_layouts([vars(row) for row in ROWS], tmp_path / "layouts.png")
    assert path.read_bytes()[:4] == b"\x89PNG"
    assert list(tmp_path.iterdir()) == [path]


def test_span_curves_of_a_wing_add_up_to_its_lift():
    analysis = analyse(read(shipped()["powered-tailless"]))
    curves = span_curves(analysis)
    y, lift = curves.lift
    # Each rib's lift over its length, summed back: half the lift of the aeroplane.
    edges = np.concatenate([y[:1], (y[1:] + y[:-1]) / 2, y[-1:]])
    assert_allclose((lift * np.diff(edges)).sum(), analysis.pull_up.lift / 2, rtol=1e-9)
    assert [name for name, *_ in curves.deflection] == ["front spar", "rear spar"]
    # The moment's slope is the shear force, save for the place of a station's load and couples on ribs;
    # masses on the rails act beside their node, so the innermost bays are left out.
    y, shear = curves.shear
    slope, mean = np.diff(curves.bending[1]) / np.diff(y), (shear[1:] + shear[:-1]) / 2
    outer = y[1:] > 0.08
    assert np.abs(slope + mean)[outer].max() < 0.1 * np.abs(shear).max()


def test_span_plot_of_wing_and_specimen(tmp_path):
    for name in ("trainer", "spar-c"):
        path = plot_span(span_curves(analyse(read(shipped()[name]))), tmp_path / f"{name}.png")
        assert path.stat().st_size > 10000


FLIGHT = "[flight]\nnever_exceed_speed = {speed}\n\n[case]"


@pytest.mark.parametrize(
    ("speed", "moment", "breaks"),
    [("140 km/h", "0", True), ("80 km/h", "0", False), ("220 km/h", "-0.9", True)],
)
def test_envelope_numbers_every_corner_where_it_lies(drawn, speed, moment, breaks):
    # The last: a section moment that leaves no load factor at the highest speeds, so that curves end early.
    text = shipped()["trainer"].read_text(encoding="utf-8")
    text = text.replace("[case]", FLIGHT.format(speed=f'"{speed}"'))
    text = text.replace("moment_coefficient = -0.05", f"moment_coefficient = {moment}")
    one = envelope(read_text(text), per_bay=1).worst
    plots.plot_envelope("Trainer wing", one, "unused.png")
    panel, beside = drawn[0].axes
    dots = [line.get_xydata()[0] for line in panel.lines if line.get_marker() == "o"]
    expected = {(round(3.6 * c.speed, 6), round(c.load_factor, 6)) for c in one.corners}
    assert {(round(x, 6), round(y, 6)) for x, y in dots} == expected
    labels = {note.get_text(): note for note in panel.texts}
    assert sorted(labels) == [str(k + 1) for k in range(len(one.corners))]
    for k, corner in enumerate(one.corners):
        assert_allclose(labels[str(k + 1)].xy, (3.6 * corner.speed, corner.load_factor), rtol=1e-12)
    words = "\n".join(text.get_text() for text in beside.texts)
    assert all(corner.name in words for corner in one.corners)
    assert ("breaks it" in words) == (one.breaks is not None) == breaks
    assert panel.get_xlabel() == "speed, km/h"
    named = {text.get_text().partition("\n")[0] for text in beside.get_legend().get_texts()}
    # The box that is flown fills the chart; what lies far beyond it is said in the legend.
    low, high = panel.get_ylim()
    box = [one.limits.up, -one.limits.down, 1.0, *(c.load_factor for c in one.corners)]
    assert max(box) < high <= 1.18 * 2 * max(box)
    assert 1.18 * 2 * min(*box, -1.0) <= low < min(box)
    assert {"greatest lift", "first part breaks", "gust met at 1 g", "never-exceed speed"} <= named


def test_a_long_name_leaves_room_for_what_is_shown() -> None:
    assert stage.headline("Trainer: balance", 40) == "Trainer: balance"
    short = stage.headline(f"{'Aa' * 60}: what a gram: of web buys", 60)
    assert len(short) <= 60
    assert short.endswith("\N{HORIZONTAL ELLIPSIS}: what a gram: of web buys")
    assert stage.headline("x" * 90, 60) == "x" * 59 + "\N{HORIZONTAL ELLIPSIS}"


def test_an_answer_too_long_for_a_line_goes_on_two_and_is_whole() -> None:
    assert stage.head_lines("Trainer: balances", 40) == ["Trainer: balances"]
    answer = "what the file describes balances at 1.76 in and 1.72 in; the range wanted, 1.83 to 3.30 in"
    two = stage.head_lines(f"{'Aa' * 30}: {answer}", 80)
    assert len(two) == 2
    assert all(len(line) <= 80 for line in two)
    assert " ".join(two).endswith(f"\N{HORIZONTAL ELLIPSIS}: {answer}")
