"""No word of a picture is cut by its edge, lies over another or over what it names, on any wing.

Every text that is really drawn is measured by the plotting library's own renderer: those of the three shipped
wings, and of one that is made up to be hard: 25 bays, three spars, names of 40 letters.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from models.page.figures import pictures
from models.page.where import plan_picture, side_picture
from models.pictures import bench, judged, plots
from models.pictures.balance import plot_balance
from models.pictures.failures import plot_collapse
from models.pictures.lightest import plot_fronts
from models.pictures.load_diagrams import plot_loads
from models.pictures.plots import LayoutBar
from models.pictures.reserves import plot_reserves
from models.pictures.scenes import flow_from_the_side, stress_from_the_side
from models.pictures.side_view import drawn_sides
from models.pictures.speed import plot_speed
from models.pictures.steps import plot_steps
from models.pictures.worth import plot_worth
from models.session import Session
from models.studies.balance import balance
from models.studies.bench_test import bench_test
from models.studies.collapse import collapse
from models.studies.compare import compare
from models.studies.envelope import envelope
from models.studies.lightest import Asymmetric, Limits, lightest
from models.studies.load_cases import load_cases
from models.studies.note import note
from models.studies.scatter import scatter
from models.studies.speed import condense, speeds
from models.studies.steps import steps
from models.studies.worth import worth
from models.wing.parts import Wing
from models.wing.reading import read, read_text
from models.wings import shipped

pytestmark = pytest.mark.slow
LONG = "of a name that has forty letters all {k}"
assert len(LONG.format(k="xyz")) == 40
SPAR = """
[[spars]]
name = "{name}"
at = "{at} %"
caps = {{ width = "8 mm", height = "5 mm", wood = "spruce" }}
[[spars.webs]]
bays = "1-{last}"
face = "both"
thickness = "1.5 mm"
"""
MADE_UP = f"""
name = "{LONG.format(k="wng")}"
[planform]
stations = [
    {{ y = "0 mm", chord = "300 mm", section = "NACA 2412" }},
    {{ y = "1500 mm", chord = "200 mm", leading_edge = "30 mm" }},
]
[ribs]
count = 26
thickness = "2 mm"
{
    "".join(
        SPAR.format(name=LONG.format(k=k), at=at, last=last)
        for k, at, last in (("one", 12, 12), ("two", 30, 25), ("3rd", 65, 20))
    )
}
[leading_edge]
width = "8 mm"
height = "8 mm"
[trailing_edge]
width = "25 mm"
height = "5 mm"
[[masses]]
name = "{LONG.format(k="mas")}"
mass = "300 g"
x = "20 mm"
[case]
name = "{LONG.format(k="cas")}"
load_factor = 4
mass = "3 kg"
moment_coefficient = 0
"""


@pytest.fixture(
    scope="module",
    params=[
        "trainer",
        pytest.param("powered-tailless", marks=pytest.mark.long),
        pytest.param("sailplane", marks=pytest.mark.long),
        "made up",
    ],
)
def session(request: pytest.FixtureRequest) -> Session:
    """A wing on the coarsest mesh; words are as long on it as on a fine one."""
    name = request.param
    wing = read_text(MADE_UP) if name == "made up" else read(shipped()[name])
    return Session(wing, per_bay=1)


@contextmanager
def _measured(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """Faults of every figure that is saved meanwhile, with the words at fault."""
    from matplotlib.figure import Figure

    found: list[str] = []
    written = Figure.savefig

    def measured(figure: Any, path: Any, **named: Any) -> None:
        found.extend(_faults(figure))
        if named.get("format") == "svg":  # a drawing of the page, whose text is looked into
            written(figure, path, **named)

    monkeypatch.setattr(Figure, "savefig", measured)
    monkeypatch.setattr("models.pictures.plots.write_whole", lambda path, draw: draw(str(path)))
    yield found


def _faults(figure: Any) -> list[str]:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.text import Text

    drawn: list[tuple[str, Any]] = []
    plain = Text.draw

    def draw(self: Any, renderer: Any, *rest: Any, **named: Any) -> None:
        plain(self, renderer, *rest, **named)
        if self.get_visible() and self.get_text().strip():
            drawn.append((self.get_text(), Text.get_window_extent(self, renderer)))

    canvas = FigureCanvasAgg(figure)
    figure.draw_without_rendering()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Text, "draw", draw)
        canvas.draw()
    room = figure.bbox
    said = [
        f"cut: {text!r}" for text, box in drawn
        if box.x0 < -1 or box.y0 < -1 or box.x1 > room.x1 + 1 or box.y1 > room.y1 + 1
    ]  # fmt: skip
    head = figure._suptitle
    if head is not None and head.get_text().endswith("\N{HORIZONTAL ELLIPSIS}"):
        said.append(f"cut: {head.get_text()!r}")
    edges = np.array([[box.x0 + 1, box.x1 - 1, box.y0 + 1.5, box.y1 - 1.5] for _, box in drawn])
    across = (edges[:, None, 0] < edges[None, :, 1]) & (edges[None, :, 0] < edges[:, None, 1])
    along = (edges[:, None, 2] < edges[None, :, 3]) & (edges[None, :, 2] < edges[:, None, 3])
    said += [
        f"over each other: {drawn[i][0]!r} and {drawn[k][0]!r}"
        for i, k in np.argwhere(np.triu(across & along, 1))
    ]
    for panel in figure.axes:
        key = panel.get_legend()
        if key is None:
            continue
        box = key.get_window_extent()
        # The renderer's boxes of bars and lines, of which legends must keep clear.
        hidden = [bar for bar in panel.patches if bar.get_window_extent().overlaps(box) and bar.get_height()]
        lines = [line for line in panel.lines if box.count_contains(
            line.get_transform().transform(np.asarray(line.get_xydata(), float)))]  # fmt: skip
        if hidden or lines:
            said.append(f"legend over what it names: {[t.get_text() for t in key.get_texts()]}")
    return said


PICTURES: dict[str, Callable[[Session, Wing, Path], object]] = {
    "span": lambda s, w, p: plots.plot_span(plots.span_curves(s.side.sound), p / "span.png"),
    "reserve modes": lambda s, w, p: plot_reserves(
        s.side.margins, p / "a.png", title=judged(s.side.sound, s.side.margins).title
    ),
    "side": lambda s, w, p: drawn_sides(s.side.sound, judged(s.side.sound, s.side.margins)).savefig(p / "a"),
    "side, shear flow": lambda s, w, p: drawn_sides(
        s.side.sound, None, painted=flow_from_the_side(s.side.sound)
    ).savefig(p / "a"),
    "side, stress": lambda s, w, p: drawn_sides(
        s.side.sound, None, painted=stress_from_the_side(s.side.sound)
    ).savefig(p / "a"),
    "envelope": lambda s, w, p: _envelope(s, w, p),
    "balance": lambda s, w, p: plot_balance(balance(w), p / "a.png"),
    "loads": lambda s, w, p: plot_loads(load_cases(w, session=s), p),
    "bench": lambda s, w, p: bench.draw_plan(w, bench_test(w, per_bay=1), p / "a.png"),
    "scatter": lambda s, w, p: plots.plot_scatter(scatter(w, per_bay=1, samples=100, states=20), p / "a.png"),
    "layouts": lambda s, w, p: plots.compare_layouts(
        [LayoutBar(f"{LONG.format(k='lay')}", 0.06, -0.03, 800.0, 23.0, 0.41, 2.2) for _ in range(5)],
        p / "a.png",
        title=f"{w.name}: layouts compared",
    ),
    "collapse": lambda s, w, p: plot_collapse(collapse(w, per_bay=1), p / "a.png"),
    "steps": lambda s, w, p: plot_steps(steps(w, per_bay=1), p / "a.png"),
    "speed": lambda s, w, p: plot_speed(speeds(condense(w, per_bay=1)), p / "a.png"),
    "lightest": lambda s, w, p: _lightest(w, p),
    "worth": lambda s, w, p: plot_worth(worth(w, per_bay=1), p / "a.png"),
    "report": lambda s, w, p: _report(s, w),
}
DEAR = {"bench": "made up", "scatter": "made up", "worth": "trainer", "speed": "trainer", "lightest": "",
        "report": "trainer"}  # fmt: skip
"""Pictures that take long, and the wing that is quick enough to be drawn every time."""


def _envelope(session: Session, wing: Wing, folder: Path) -> None:
    found = envelope(wing, session=session)
    one = found.worst
    plots.plot_envelope(plots.envelope_title(wing.name, one), one, folder / "a.png", found.advised)


def _report(session: Session, wing: Wing) -> None:
    """The page's own drawings, those in three dimensions left out."""
    noted = note(wing, session=session)
    found = judged(session.side.sound, session.side.margins, noted.verdict.pull_up.rows)
    contents: Any = SimpleNamespace(
        wing=wing, analysis=session.side.sound, margins=session.side.margins, note=noted, judged=found,
        layouts=tuple(compare(wing, per_bay=1)),
    )  # fmt: skip
    assert pictures(contents)["layouts"]
    plan_picture(session.side.sound, found)
    side_picture(session.side.sound, found)


def _lightest(wing: Wing, folder: Path) -> None:
    free = tuple((wing.spars[0].name, bay) for bay in (1, 2, 3))
    limits = Limits(load_factor=wing.case.load_factor, deflection=0.2, twist=0.2)
    try:
        plot_fronts(lightest(wing, limits, free=free, per_bay=1), folder / "a.png")
    except Asymmetric:
        pytest.skip("its sides differ")


@pytest.mark.parametrize("picture", list(PICTURES))
def test_words_are_whole_and_clear_of_each_other(
    session: Session, picture: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    name = "made up" if "forty" in session.wing.name else session.wing.name.split()[0].lower()
    if picture in DEAR and DEAR[picture] != name and not os.environ.get("SPARBAY_LONG"):
        pytest.skip("takes long on this wing; SPARBAY_LONG=1 draws it too")
    with _measured(monkeypatch) as faults:
        PICTURES[picture](session, session.wing, tmp_path)
    assert faults == []


def test_the_measure_finds_what_is_wrong() -> None:
    """A picture with a cut word, two on top of each other, and a legend over its bar."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4, 3), dpi=100)
    figure.text(0.9, 0.5, "runs out of the sheet")
    figure.text(0.3, 0.3, "one")
    figure.text(0.3, 0.3, "two")
    panel = figure.subplots()
    panel.barh([0], [1.0], label="bar")
    panel.legend(loc="center")
    said = _faults(figure)
    assert any(words.startswith("cut: 'runs") for words in said)
    assert "over each other: 'one' and 'two'" in said
    assert any(words.startswith("legend over") for words in said)
