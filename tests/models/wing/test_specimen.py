"""Specimen files against the description of the solid reference spars and boxes, and by hand."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

import models.wings
from models.wing.parts import GRAIN_UPRIGHT
from models.wing.reading import read, read_text

WINGS = Path(models.wings.__file__).parent
MPA = 1e6


def shipped(name):
    return read(WINGS / f"{name}.toml")


@pytest.mark.parametrize(
    ("name", "faces", "grain"),
    [
        ("spar-open", set(), None),
        ("spar-c", {"front"}, GRAIN_UPRIGHT),
        ("spar-box", {"front", "rear"}, GRAIN_UPRIGHT),
        ("spar-box-spanwise", {"front", "rear"}, 0.0),
    ],
)
def test_the_shipped_spars(name, faces, grain):
    wing = shipped(name)
    assert (wing.root, wing.planform, wing.first_bay) == ("clamped", None, 1)
    assert_allclose(wing.semispan, 0.36, rtol=1e-15)
    # Five ribs centred on their stations, the last with its outer face at the tip.
    assert_allclose([rib.y for rib in wing.ribs], [0.06, 0.12, 0.18, 0.24, 0.30, 0.359], rtol=1e-14)
    assert {rib.panel for rib in wing.ribs} == {"none"}
    assert_allclose([rib.post_thickness for rib in wing.ribs], 0.002, rtol=1e-15)
    assert {rib.post_grain for rib in wing.ribs} == {GRAIN_UPRIGHT}
    (spar,) = wing.spars
    y = np.array([0.0, 0.1, 0.36])
    assert_allclose(spar.z_upper.at(y), 0.015, rtol=1e-15)
    assert_allclose(spar.z_lower.at(y), -0.015, rtol=1e-15)
    for cap in (spar.upper, spar.lower):
        assert_allclose(cap.width.at(y), 0.010, rtol=1e-15)
        (stick,) = cap.layers
        assert_allclose(stick.height.at(y), 0.006, rtol=1e-15)
        # Width along R, height along T: upright faces lie in the L-T plane.
        constants = stick.material.stick()
        assert_allclose([constants.E_up, constants.E_aft], [56.1 * MPA, 172.04 * MPA], rtol=1e-12)
        assert_allclose([constants.G_up, constants.G_aft], [138.38 * MPA, 201.96 * MPA], rtol=1e-12)
    assert {(web.bay, web.face) for web in spar.webs} == {
        (bay, face) for bay in range(1, 7) for face in faces
    }
    assert {web.side for web in spar.webs} <= {"starboard"}
    for web in spar.webs:
        assert web.grain == grain
        assert_allclose(web.thickness, 0.0016, rtol=1e-15)
        sheet = web.material.in_plane()
        assert_allclose(
            [sheet.E_1, sheet.E_2, sheet.G_12, sheet.nu_12],
            [3740 * MPA, 56.1 * MPA, 138.38 * MPA, 0.488],
            rtol=1e-12,
        )
    assert (wing.case.kind, wing.case.tip_force, wing.case.tip_spar) == ("bench", 1.0, "spar")


def test_the_shipped_boxes():
    bare, sheeted = shipped("box-two-spars"), shipped("box-two-spars-sheeted")
    assert bare.sheets == ()
    for wing in (bare, sheeted):
        front, rear = wing.spars
        assert_allclose([front.x.at(0.2), rear.x.at(0.2)], [0.0, 0.1], atol=1e-18)
        assert {web.face for web in front.webs} == {"front", "rear"}
        assert {web.face for web in rear.webs} == {"front"}
        assert {(rib.panel, rib.grain) for rib in wing.ribs} == {("between spars", 0.0)}
    assert {sheet.surface for sheet in sheeted.sheets} == {"upper", "lower"}
    for sheet in sheeted.sheets:
        # From the front face of the front spar's front web to the rear face of the rear spar's caps.
        assert_allclose(sheet.x_from.at(0.1), -0.0066, rtol=1e-12)
        assert_allclose(sheet.x_to.at(0.1), 0.105, rtol=1e-12)
        assert sheet.grain == 0.0
        assert sheet.bays == {("starboard", bay) for bay in range(1, 7)}


BASE = """
[specimen]
length = "400 mm"
depth = ["40 mm", "20 mm"]
[ribs]
stations = ["100 mm", "250 mm", "400 mm"]
thickness = "3 mm"
last_rib_flush = false
post = { thickness = "5 mm", wood = "spruce", grain = "chord" }
[[spars]]
name = "spar"
[spars.upper_cap]
width = "10 mm"
height = ["5 mm", "4 mm"]
wood = "spruce"
steps = [{ from = "250 mm", width = "6 mm" }]
[spars.lower_cap]
width = "10 mm"
height = "4 mm"
wood = "balsa, 120 kg/m3, quarter-sawn"
steps = [{ from = "250 mm", height = "3 mm", width = "6 mm" }]
facings = [
    { thickness = "0.5 mm", to = "200 mm" },
    { wood = "spruce", thickness = "1 mm", face = "inner" },
]
[[spars.webs]]
bays = [1, 3]
face = "front"
thickness = "1 mm"
grain = "45 deg"
glue = "epoxy"
[[spars.webs]]
bays = 2
face = "between"
thickness = "3 mm"
wood = "birch ply"
[case]
tip_torque = "250 N mm"
[layouts.mixed]
grain = "span"
webs = [{ bays = "1-2", face = "both" }, { bays = "2", face = "between" }]
"""


def test_taper_steps_facings_and_layouts():
    wing = read_text(BASE)
    assert_allclose([rib.y for rib in wing.ribs], [0.1, 0.25, 0.4], rtol=1e-15)
    assert {(rib.post_thickness, rib.post_grain, rib.post_material.name) for rib in wing.ribs} == {
        (0.005, 0.0, "spruce")
    }
    (spar,) = wing.spars
    assert_allclose(spar.z_upper.at(np.array([0, 0.2, 0.4])), [0.020, 0.015, 0.010], rtol=1e-14)
    assert_allclose(spar.upper.width.at(np.array([0, 0.25, 0.2501])), [0.010, 0.010, 0.006], rtol=1e-14)
    (upper,) = spar.upper.layers
    assert_allclose(upper.height.at(np.array([0, 0.2, 0.4])), [0.005, 0.0045, 0.004], rtol=1e-14)
    carbon, stick, inner = spar.lower.layers
    assert (carbon.material.name, stick.material.cut, inner.material.name) == (
        "carbon",
        "quarter-sawn",
        "spruce",
    )
    assert_allclose(stick.material.density, 120.0, rtol=1e-14)
    # At a step the inboard value counts; just outboard of it the new one.
    at = np.array([0.1, 0.25, 0.2501, 0.4])
    assert_allclose(stick.height.at(at), [0.004, 0.004, 0.003, 0.003], rtol=1e-14)
    assert_allclose(spar.lower.width.at(at), [0.010, 0.010, 0.006, 0.006], rtol=1e-14)
    assert_allclose(carbon.height.at(np.array([0.1, 0.2])), 0.0005, rtol=1e-14)
    assert_allclose(carbon.height.at(np.array([0.2001, 0.4])), 0.0, atol=1e-18)
    webs = {(web.bay, web.face): web for web in spar.webs}
    assert set(webs) == {(1, "front"), (2, "between"), (3, "front")}
    assert_allclose(webs[1, "front"].grain, np.pi / 4, rtol=1e-14)
    assert (webs[1, "front"].glue, webs[2, "between"].glue) == ("epoxy", "aliphatic")
    assert webs[2, "between"].material.kind == "ply"
    assert_allclose(wing.case.tip_torque, 0.25, rtol=1e-14)
    (layout,) = wing.layouts
    assert layout.webs == {
        ("spar", "starboard", 1): ("front", "rear"),
        ("spar", "starboard", 2): ("front", "rear", "between"),
    }
    assert layout.grain == 0.0


def test_a_pitch_that_does_not_divide_the_length_ends_with_a_rib_at_the_tip():
    text = BASE.replace('stations = ["100 mm", "250 mm", "400 mm"]', 'pitch = "150 mm"')
    text = text.replace("250 mm", "300 mm")  # the caps' step stays at a rib
    assert_allclose([rib.y for rib in read_text(text).ribs], [0.15, 0.30, 0.40], rtol=1e-14)


def test_a_sheet_edge_follows_a_step_of_the_caps():
    text = BASE.replace(
        "[case]", '[[sheeting]]\nfrom = "spar front"\nto = "spar rear"\nthickness = "1 mm"\n[case]'
    )
    sheet = read_text(text).sheets[0]
    at = np.array([0.1, 0.25, 0.251, 0.4])
    assert_allclose(sheet.x_to.at(at), [0.005, 0.005, 0.003, 0.003], rtol=1e-12)
    assert_allclose(sheet.x_from.at(at), [-0.006, -0.006, -0.004, -0.004], rtol=1e-12)


def test_defaults_are_written_down():
    assumed = dict(shipped("spar-c").assumed)
    assert assumed["spars[0].webs[0].glue"] == "aliphatic"
    assert assumed["ribs.last_rib_flush"] == "true"
    assert assumed["case.tip_spar"] == "the first"
    assert "spars[0].webs[0].grain" not in assumed
