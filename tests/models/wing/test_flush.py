"""A web or a brace on a face of the caps lies on both, or the file is refused."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.wing.faults import WingFileError
from models.wing.flush import GAP, miss
from models.wing.parts import Line
from models.wing.reading import read_text

SPECIMEN = """
[specimen]
length = "300 mm"
depth = "30 mm"
[ribs]
pitch = "100 mm"
thickness = "2 mm"
[[spars]]
name = "spar"
upper_cap = { UPPER, height = "5 mm" }
lower_cap = { LOWER, height = "5 mm" }
[[spars.webs]]
bays = BAYS
face = FACE
thickness = "1.5 mm"
[case]
tip_force = "1 N"
"""

WING = """
[planform]
stations = [{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "600 mm", chord = "200 mm" }]
[ribs]
count = 7
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
upper_cap = { UPPER, height = "3 mm" }
lower_cap = { LOWER, height = "3 mm" }
MORE
[case]
load_factor = 5
mass = "1 kg"
"""


def tapered(*width):
    return Line(np.linspace(0.0, 1.0, len(width)), np.array(width))


def faults(text):
    with pytest.raises(WingFileError) as caught:
        read_text(text)
    return [(fault.key_path, str(fault)) for fault in caught.value.faults]


def spec(upper, lower, bays='"all"', face='"front"', more=""):
    text = SPECIMEN.replace("UPPER", upper).replace("LOWER", lower)
    return text.replace("BAYS", bays).replace("FACE", face) + more


def wing(upper, lower, more):
    return WING.replace("UPPER", upper).replace("LOWER", lower).replace("MORE", more)


def test_caps_alike_leave_no_gap():
    assert miss(tapered(0.010, 0.006), tapered(0.010, 0.006), 0.1, 0.9) is None
    assert miss(tapered(0.010), tapered(0.010 + 1.9 * GAP), 0.1, 0.9) is None


def test_the_gap_is_half_of_what_widths_differ_where_they_differ_most():
    found = miss(tapered(0.010, 0.006), tapered(0.010, 0.008), 0.2, 0.7)
    assert_allclose([found.y, found.gap], [0.7, 0.0007], rtol=1e-6)
    assert found.which == ""
    # The inner end where the taper runs the other way.
    assert_allclose(miss(tapered(0.012, 0.008), tapered(0.008), 0.2, 0.7).y, 0.2, rtol=1e-6)


def test_a_step_of_both_caps_within_the_web_misses_them_and_at_its_end_does_not():
    stepped = Line(np.array([0.0, 0.5, 0.5, 1.0]), np.array([0.010, 0.010, 0.006, 0.006]))
    found = miss(stepped, stepped, 0.4, 0.6)
    assert_allclose([found.y, found.gap, found.one, found.other], [0.5, 0.002, 0.010, 0.006], rtol=1e-6)
    assert found.which == "upper"
    assert miss(stepped, stepped, 0.4, 0.5) is None
    assert miss(stepped, stepped, 0.5, 0.6) is None


@pytest.mark.parametrize("face", ["front", "rear", "both"])
def test_a_web_on_the_face_of_caps_of_two_widths_is_refused(face):
    ((path, words),) = faults(spec('width = "12 mm"', 'width = "10 mm"', face=f'"{face}"'))
    assert path == "spars[0].webs[0].face"
    assert f'"{face}" needs caps whose faces lie in one plane' in words
    assert "the upper cap is 12 mm wide, the lower 10 mm" in words
    assert "miss the narrower by 1 mm" in words
    assert 'face = "between"' in words


def test_a_web_let_in_is_not():
    (spar,) = read_text(spec('width = "12 mm"', 'width = "10 mm"', face='"between"')).spars
    assert len(spar.webs) == 3


def test_a_taper_counts_in_the_web_s_own_bays():
    # Widths alike at the clamp, half a millimetre apart for every 100 mm: the gap is half of that.
    upper, lower = 'width = ["10 mm", "8.5 mm"]', 'width = "10 mm"'
    ((path, words),) = faults(spec(upper, lower, bays="1"))
    assert path == "spars[0].webs[0].face"
    assert "0.25 mm" in words
    assert "y = 100 mm" in words
    ((_, words),) = faults(spec(upper, lower, bays='"2-3"'))
    assert "0.75 mm" in words
    assert "y = 300 mm" in words
    # Alike within the tolerance as far as bay 1 reaches.
    assert read_text(spec('width = ["10 mm", "9.5 mm"]', lower, bays="1")).spars[0].webs


def test_a_step_at_a_rib_is_fine_and_one_within_a_bay_is_refused():
    at_rib = 'width = "10 mm", steps = [{ from = "100 mm", width = "8 mm" }]'
    assert len(read_text(spec(at_rib, at_rib)).spars[0].webs) == 3
    within = at_rib.replace("100 mm", "150 mm")
    ((path, words),) = faults(spec(within, within))
    assert path == "spars[0].webs[0].face"
    assert "at y = 150 mm the upper cap steps from 10 mm to 8 mm" in words
    assert "1 mm off it" in words
    assert len(read_text(spec(within, within, bays="[1, 3]")).spars[0].webs) == 2


def test_layouts_are_held_to_it_too():
    more = '[layouts.mine]\nwebs = [{ bays = "1-2", face = "both" }]\n'
    ((path, words),) = faults(spec('width = "12 mm"', 'width = "10 mm"', face='"between"', more=more))
    assert path == "layouts.mine.webs[0].face"
    assert "miss the narrower by 1 mm" in words
    let_in = more.replace("both", "between")
    read_text(spec('width = "12 mm"', 'width = "10 mm"', face='"between"', more=let_in))


def test_webs_and_braces_of_a_wing():
    web = '[[spars.webs]]\nbays = "2-3"\nface = "rear"\nthickness = "1.5 mm"\n'
    ((path, _),) = faults(wing('width = "8 mm"', 'width = "6 mm"', web))
    assert path == "spars[0].webs[0].face"
    brace = '[[braces]]\nspar = "main"\nface = "front"\nto = "150 mm"\nthickness = "1.5 mm"\n'
    ((path, words),) = faults(wing('width = "8 mm"', 'width = "6 mm"', brace))
    assert path == "braces[0].face"
    assert "the brace would miss the narrower by 1 mm" in words
    stepped = 'width = "8 mm", steps = [{ from = "100 mm", width = "6 mm" }]'
    ((_, words),) = faults(wing(stepped, stepped, brace))
    assert "a brace across the step would stand 1 mm off it" in words
    read_text(wing('width = "8 mm"', 'width = "6 mm"', brace.replace("front", "between")))
    read_text(wing('width = "8 mm"', 'width = "8 mm"', brace))
