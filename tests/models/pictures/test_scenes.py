import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models import units_out as say
from models.analysis import analyse, spar_motion
from models.pictures import fields, scenes, stage
from models.pictures.drawing import SCENES, draw_all, show
from models.pictures.files import write_whole
from models.pictures.first import elements_of, judged
from models.pictures.screen import NoRenderer, drawing_surface
from models.pictures.side_view import Side, exaggeration, sides
from models.pictures.surfaces import surfaces
from models.strength import Margin, Margins
from models.structure.model import Part
from models.wing.reading import read
from models.wings import shipped

SMALL = (320, 200)


@pytest.fixture(scope="module")
def spar():
    return analyse(read(shipped()["spar-c"]))


@pytest.fixture(scope="module")
def wing():
    return analyse(read(shipped()["powered-tailless"]))


@pytest.fixture(scope="module", autouse=True)
def _can_draw():
    try:
        with drawing_surface(off_screen=True):
            pass
    except NoRenderer as fault:
        pytest.skip(str(fault))


def _texts(plotter):
    """All words on a picture."""
    return [
        a.GetInput()
        for a in plotter.renderer.actors.values()
        if hasattr(a, "GetInput") and a.IsA("vtkTextActor")
    ]


def _mesh(plotter, name):
    mapper = plotter.renderer.actors[name].mapper
    mapper.update()
    return mapper.dataset


def _reserve(analysis, lowest=0.8):
    caps = np.linspace(lowest, 5.0, len(analysis.model.caps.spar))
    return _judged(analysis, {"caps": caps, "webs": np.full(len(analysis.model.webs.spar), 2.5)})


def _judged(analysis, factors, mode="cap compression"):
    """Reserves by element, the least of them a margin."""
    block = min(factors, key=lambda name: np.nanmin(factors[name]))
    k = int(np.nanargmin(factors[block]))
    part = analysis.model.parts[analysis.model.structure.blocks[block].part[k]]
    y = float(analysis.solution.assembly.corners(block)[k, :, 1].mean())
    least = float(factors[block][k])
    row = Margin(mode, part, part.spar, part.bay, part.side, least, 1.0, least, "Pa", y, "none")
    return judged(analysis, Margins((row,), 1.0, factors, specimen=analysis.wing.clamped))


def test_deflection_shows_the_tips_movement_in_mm(spar):
    plotter = scenes.deflection(spar, factor=10, size=SMALL)
    bent = _mesh(plotter, "caps")
    up = bent.point_data["upward deflection, mm"]
    unbent = _mesh(plotter, "unbent caps").points
    at_tip = np.isclose(unbent[:, 1], 0.360)
    assert at_tip.sum() == 8
    # Over the tip's section the deflection varies with twist; its mean is the spar's.
    assert_allclose(up[at_tip].mean(), 1e3 * spar_motion(spar, 0).deflection[-1], rtol=1e-6)
    assert "Deflection drawn 10 x true." in _texts(plotter)
    plotter.close()


def test_the_bent_shape_is_drawn_by_the_factor(spar):
    once, often = (scenes.deflection(spar, factor=k, size=SMALL) for k in (1, 20))
    near, far = (_mesh(p, "webs").points.astype(float) for p in (once, often))
    moves = fields.displacements(spar)[spar.model.structure.blocks["webs"].nodes, :3]
    assert np.abs(far - near).max() == pytest.approx(19 * np.abs(moves).max(), rel=0.5)
    assert "Deflection drawn to true scale." in _texts(once)
    once.close()
    often.close()


def test_a_half_wing_is_mirrored_for_its_deflection_and_says_so(wing):
    plotter = scenes.deflection(wing, size=SMALL)
    starboard, port = _mesh(plotter, "caps").points, _mesh(plotter, "caps, mirrored").points
    assert_allclose(port * [1, -1, 1], starboard, rtol=0, atol=1e-6)
    assert any("mirror image" in t for t in _texts(plotter))
    plotter.close()


@pytest.mark.parametrize("scene", ["deflection", "cap stress", "shear flow", "reserve"])
def test_every_scene_has_title_unit_axes_bays_and_caution(wing, scene):
    make = {
        "deflection": lambda: scenes.deflection(wing),
        "cap stress": lambda: scenes.cap_stress(wing),
        "shear flow": lambda: scenes.shear_flow(wing),
        "reserve": lambda: scenes.reserve(wing, _reserve(wing)),
    }[scene]
    plotter = make()
    texts = _texts(plotter)
    unit = {"deflection": "mm", "cap stress": "MPa", "shear flow": "N/mm", "reserve": "allowable / applied"}[
        scene
    ]
    assert any(t.startswith("Powered tailless wing: ") for t in texts)
    answers = ("MPa at most", "N/mm at most", "bends", "is crushed at 0.8 g")
    assert any(answer in t for t in texts for answer in answers)
    assert any(unit in t for t in texts)
    assert {"aft", "starboard tip", "up", stage.CAUTION, "bay 1"} <= set(texts)
    assert any("labelled" in t for t in texts)
    assert len([t for t in texts if t.startswith("bay ")]) == len({t for t in texts if t.startswith("bay ")})
    # Notes end before the legend begins.
    assert max(len(t) for t in texts if t.endswith(".")) <= 64
    plotter.close()


def test_cap_stress_is_centred_on_zero_and_names_its_ends(wing):
    plotter = scenes.cap_stress(wing, size=SMALL)
    low, high = plotter.renderer.actors["caps"].mapper.scalar_range
    stress = _mesh(plotter, "caps").point_data["axial stress, MPa"]
    assert low == -high
    assert high <= 1.3 * np.abs(stress).max()
    assert {"compression", "tension"} <= set(_texts(plotter))
    plotter.close()


def test_shear_flow_colours_are_the_webs_numbers(wing):
    plotter = scenes.shear_flow(wing, size=SMALL)
    shown = _mesh(plotter, "webs").point_data["shear flow, N/mm"].reshape(-1, 8)
    assert_allclose(shown, np.repeat(fields.shear_flow(wing)[:, None] / 1e3, 8, axis=1), rtol=1e-12)
    plotter.close()


def test_shear_flow_without_webs_is_refused():
    with pytest.raises(ValueError, match="no webs"):
        scenes.shear_flow(analyse(read(shipped()["spar-open"])), size=SMALL)


def test_reserve_colours_by_band_and_marks_the_first_to_fail(spar):
    given = _reserve(spar)
    plotter = scenes.reserve(spar, given, size=SMALL)
    mesh = _mesh(plotter, "caps")
    factors = given.by_part["caps"]
    import pyvista as pv

    expected = np.array([pv.Color(stage.BAND_COLOURS[b]).int_rgb for b in fields.bands(factors)])
    assert (mesh.point_data["colour"].reshape(-1, 8, 3) == expected[:, None]).all()
    assert any("Fails first, at 0.8 times its load" in t for t in _texts(plotter))
    assert "Bay 1, spar: upper cap is crushed at 0.8 times its load" in _texts(plotter)
    assert any("least reserve factor 0.80" in t for t in _texts(plotter))
    plotter.close()


def test_what_a_verdict_names_is_coloured_and_named_before_a_lower_reserve_of_the_check(wing):
    """A brace over cut caps is in no reserve by element; a picture names and colours it all the same."""
    checked = _reserve(wing)
    part = next(p for p in wing.model.parts if p.kind == "brace")
    row = Margin("brace, caps cut", part, part.spar, part.bay, part.side, 0.3, 1.0, 0.3, "Pa", 0.01, "none")
    found = judged(wing, checked.margins, [row])
    assert found.first is row
    mine = elements_of(wing.model, part)["webs"]
    assert_allclose(found.by_part["webs"][mine], 0.3, rtol=1e-12)
    assert found.title.startswith(f"Bay {part.bay}, front spar")
    drawn = sides(wing, found)
    named = [piece for side in drawn for piece in side.pieces if piece.first]
    assert [(piece.kind, piece.bay, piece.reserve) for piece in named] == [("brace", part.bay, 0.3)]


def test_a_part_without_a_surface_is_marked_by_a_ball(wing):
    part = Part("joiner", spar="front", side="starboard")
    row = Margin("joiner bending", part, "front", None, "starboard", 0.3, 1.0, 0.3, "Pa", 0.01, "none")
    plotter = scenes.reserve(wing, judged(wing, _reserve(wing).margins, [row]), size=SMALL)
    assert "the first" in plotter.renderer.actors
    plotter.close()


def test_peaks_that_the_check_averages_leave_the_scale_alone(wing):
    main = fields.main_layer(wing.model)
    surface = surfaces(wing.model)["caps"]
    drawn = np.abs(fields.cap_stress(wing, surface)[surface.layer == main]).max() / 1e6
    checked = fields.checked_cap_stress(wing, main) / 1e6
    plotter = scenes.cap_stress(wing, size=SMALL)
    assert plotter.renderer.actors["caps"].mapper.scalar_range[1] == scenes.round_limit(min(drawn, checked))
    plotter.close()


@pytest.mark.parametrize(("length", "deep", "factor"), [(0.7, 0.030, 1.5), (1.25, 0.021, 4), (0.1, 0.08, 1)])
def test_spars_are_drawn_a_round_number_of_times_too_high(length, deep, factor):
    side = Side("spar", np.array([0.0, length]), np.full(2, deep / 2), np.full((2, 2), 0.003), {}, ())
    times, scale = exaggeration(side, 1536, 104, length)
    assert times == factor
    assert times * scale * deep <= 104 * (1 + 1e-9)
    assert scale <= 1536 / length * (1 + 1e-9)


@pytest.mark.parametrize(
    ("size", "move", "factor"),
    [(1.0, 0.01, 10), (1.0, 0.06, 2), (1.0, 0.3, 1), (1.0, 2.0, 0.2), (1.0, 1e-5, 10000)],
)
def test_drawn_factor_is_round_and_visible(size, move, factor):
    points = np.array([[0, 0, 0], [0, size, 0]], dtype=float)
    assert scenes.drawn_factor(points, np.array([[0, 0, 0], [0, 0, move]])) == pytest.approx(
        factor, rel=1e-12
    )


def test_drawn_factor_of_no_movement_is_one():
    assert scenes.drawn_factor(np.eye(3), np.zeros((3, 3))) == 1


@pytest.mark.parametrize(
    ("value", "limit"), [(19.8, 20), (245, 300), (0.0521, 0.06), (1, 1), (0, 1), (9.1, 10)]
)
def test_round_limit(value, limit):
    assert_allclose(scenes.round_limit(value), limit, rtol=1e-12)


def test_round_limits_hold_both_ends_and_zero():
    assert scenes.round_limits(-0.1, 26) == (0, 30)
    assert scenes.round_limits(-26, 0.1) == (-30, 0)
    assert scenes.round_limits(-36, 33) == (-40, 40)
    assert scenes.round_limits(-3, 34) == (-12, 36)
    for low, high in ((-1, 1), (-0.07, 1.1), (-5, 2), (-11, 97)):
        first, last = scenes.round_limits(low, high)
        assert first <= low < 0 < high <= last
        zero = -first / (last - first) * 4
        assert zero == pytest.approx(round(zero), abs=1e-9)


@pytest.mark.parametrize("name", ["powered-tailless", "sailplane", "trainer", "spar-c", "box-two-spars"])
def test_labels_of_bays_do_not_touch(name):
    analysis = analyse(read(shipped()[name]))
    plotter = scenes.cap_stress(analysis)
    labels = [
        a
        for a in plotter.renderer.actors.values()
        if a.IsA("vtkTextActor") and a.GetInput().startswith("bay ")
    ]
    plotter.screenshot()
    boxes = []
    for actor in labels:
        box = [0.0] * 4
        actor.GetBoundingBox(plotter.renderer, box)
        at = actor.GetPositionCoordinate().GetComputedViewportValue(plotter.renderer)
        boxes.append([box[0] + at[0], box[1] + at[0], box[2] + at[1], box[3] + at[1]])
    assert len(boxes) >= 2
    for i, a in enumerate(boxes):
        assert a[1] - a[0] > 25
        assert a[0] >= 0
        assert a[1] <= stage.SIZE[0]
        for b in boxes[:i]:
            assert a[1] < b[0] or b[1] < a[0] or a[3] < b[2] or b[3] < a[2]
    plotter.close()


def test_long_elements_leave_room_for_labels(make_specimen):
    plotter = scenes.deflection(analyse(make_specimen(length=120.0), per_bay=1), size=SMALL)
    assert {"bay 1", "bay 2"} <= set(_texts(plotter))
    plotter.close()


def test_draw_all_writes_whole_pictures_and_nothing_else(spar, tmp_path):
    written = draw_all(spar, _reserve(spar), tmp_path / "new", size=SMALL)
    assert [p.name for p in written] == [
        "deflection.png",
        "cap-stress.png",
        "shear-flow.png",
        "reserve.png",
        "span.png",
        "reserve-modes.png",
    ]
    assert sorted(p.name for p in (tmp_path / "new").iterdir()) == sorted(p.name for p in written)
    from matplotlib.image import imread

    for path in written[:-2]:
        image = imread(path)[..., :3]
        assert image.shape[1] == SMALL[0]
        # Below all but the shape stand the spars from the side.
        assert image.shape[0] == SMALL[1] if path.stem == "deflection" else image.shape[0] > SMALL[1]
        # White paper, something on it, and something in colour.
        assert_allclose(image[0, -1], 1.0, rtol=1e-6)
        assert 0.02 < (image < 0.9).any(axis=2).mean() < 0.7
        assert (np.ptp(image, axis=2) > 0.2).mean() > 0.005


def test_show_off_screen_writes_and_refuses_an_unknown_scene(spar, tmp_path):
    show(spar, "cap stress", off_screen=True, path=tmp_path / "a.png", size=SMALL)
    assert (tmp_path / "a.png").stat().st_size > 1000
    with pytest.raises(ValueError, match="no such scene"):
        show(spar, "stress", off_screen=True)
    with pytest.raises(ValueError, match="no reserve factors"):
        show(spar, "reserve", off_screen=True)
    assert len(SCENES) == 4


def test_a_window_without_a_screen_is_refused_in_words(spar, monkeypatch):
    if not sys.platform.startswith("linux"):
        pytest.skip("other systems always have a screen to ask")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("VTK_DEFAULT_OPENGL_WINDOW", raising=False)
    with pytest.raises(NoRenderer, match="no screen"):
        show(spar, "deflection")


def test_a_failed_drawing_leaves_the_old_file_and_no_other(tmp_path):
    path = tmp_path / "a.png"
    path.write_bytes(b"old")

    def fail(beside):
        Path(beside).write_bytes(b"half")
        raise OSError("disc full")

    with pytest.raises(OSError, match="disc full"):
        write_whole(path, fail)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_drawing_libraries_are_not_imported_with_the_module():
    code = (
        "import sys, models.pictures, models.pictures.scenes, models.pictures.plots\n"
        "print([m for m in ('pyvista', 'vtkmodules', 'matplotlib') if m in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_drawing_says_nothing_on_stderr(tmp_path):
    code = (
        "from models.analysis import analyse\nfrom models.wing.reading import read\n"
        "from models.pictures import show\n"
        f"show(analyse(read({str(shipped()['spar-c'])!r})), 'deflection', off_screen=True, size=(64, 40),"
        f" path={str(tmp_path / 'a.png')!r})"
    )
    found = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=True
    )
    assert found.stderr == ""


def test_sheeting_that_fails_first_is_coloured_alone(wing):
    factors = {name: np.full(len(b.nodes), 3.0) for name, b in wing.model.structure.blocks.items()
               if name in ("caps", "sheeting")}  # fmt: skip
    part = wing.model.structure.blocks["sheeting"].part
    factors["sheeting"][5] = 0.7
    plotter = scenes.reserve(wing, _judged(wing, factors, "sheeting strength"), size=SMALL)
    try:
        coloured = _mesh(plotter, "sheeting, the first")
        assert 0 < coloured.n_cells == 6 * np.count_nonzero(part == part[5])
        assert (coloured.point_data["colour"] == np.array([0x7A, 0x0C, 0x1E])).all()
    finally:
        plotter.close()


def test_words_of_scenes_are_in_inches_without_exponents_where_those_are_spoken(spar):
    with say.speak("imperial"):
        plotter = scenes.cap_stress(spar, size=SMALL)
        words = " ".join(_texts(plotter))
        plotter.close()
        assert " in up" in scenes.tip_title(spar)
    assert "psi" in words
    assert "e+0" not in words


def test_front_webs_hide_others_only_where_there_are_others(spar, wing):
    for analysis, hides in ((spar, False), (wing, True)):
        plotter = scenes.shear_flow(analysis, size=SMALL)
        assert any("Front" in text for text in _texts(plotter)) is hides
        plotter.close()


def test_the_spars_from_the_side_show_the_greatest_of_each_bay(spar):
    flow, look = scenes.flow_from_the_side(spar)
    (side,) = sides(spar, None, flow)
    webs = [piece for piece in side.pieces if piece.grain is not None]
    assert len({(piece.bay, piece.place) for piece in webs}) == len(webs) > 1
    assert max(abs(piece.reserve) for piece in webs) == pytest.approx(np.abs(flow["webs"]).max(), rel=1e-12)
    assert not any(piece.first for piece in side.pieces)
    assert look.colour(0.0) != look.colour(webs[0].reserve) != look.colour(-webs[0].reserve)
    stress, _ = scenes.stress_from_the_side(spar)
    (side,) = sides(spar, None, stress)
    caps = {piece.place: piece.reserve for piece in side.pieces if piece.grain is None and piece.bay == 1}
    assert caps["upper"] < 0 < caps["lower"]  # the tip goes up


def test_the_line_below_the_title_of_the_bent_wing_is_whole(wing):
    plotter = scenes.deflection(wing, size=SMALL)
    assert not [text for text in _texts(plotter) if "\N{HORIZONTAL ELLIPSIS}" in text]
    plotter.close()
