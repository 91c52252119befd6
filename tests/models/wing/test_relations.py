"""Relations between files: what is said in another way gives the same answer."""

import re

import numpy as np
import pytest

from models.analysis import analyse, spar_motion, wing_twist
from models.strength import check
from models.wing.reading import read_text

WING = """
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 2412" },
    { y = "700 mm", chord = "130 mm", leading_edge = "35 mm", height = "42 mm", washout = "2.1 deg" },
]
[ribs]
stations = ["0 mm", "90 mm", "180 mm", "280 mm", "380 mm", "480 mm", "590 mm", "700 mm"]
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "8 mm", height = "4 mm" }
[[spars.webs]]
bays = "1-5"
face = "rear"
thickness = "1.5 mm"
[leading_edge]
width = "8 mm"
height = "8 mm"
[trailing_edge]
width = "20 mm"
height = "4 mm"
[case]
load_factor = 4
mass = "1.2 kg"
moment_coefficient = -0.05
lift = "schrenk"
"""


def figures(text):
    """Load factor at first failure, tip deflection and twist along the starboard side of a wing."""
    analysis = analyse(read_text(text))
    y, twist = wing_twist(analysis)
    return np.array(
        [
            check(analysis).load_factor_at_first_failure(),
            spar_motion(analysis, 0).deflection[-1],
            *twist[y > 1e-6],
        ]
    )


def same(one, other, rtol=1e-8):
    np.testing.assert_allclose(figures(other), figures(one), rtol=rtol, atol=rtol * 1e-3)


@pytest.mark.parametrize("lift", ["schrenk", "surface"])
@pytest.mark.parametrize("share", [0.2, 0.4])
def test_a_station_on_the_line_between_two_changes_nothing(lift, share):
    text = WING.replace("schrenk", lift)
    y, chord, aft, up, twist = 700 * share, 200 - 70 * share, 35 * share, 42 * share, 2.1 * share
    more = (
        f'    {{ y = "{y:.12g} mm", chord = "{chord:.12g} mm", leading_edge = "{aft:.12g} mm", '
        f'height = "{up:.12g} mm", washout = "{twist:.12g} deg" }},\n    {{ y = "700 mm"'
    )
    same(text, text.replace('    { y = "700 mm"', more))


def test_units_change_nothing():
    inches = re.sub(r'"([\d.]+) mm"', lambda m: f'"{float(m[1]) / 25.4:.15g} in"', WING)
    assert "in" in inches
    same(WING, inches)


def test_an_entry_of_webs_in_two_and_the_order_of_entries_change_nothing():
    entry = '[[spars.webs]]\nbays = "{}"\nface = "rear"\nthickness = "1.5 mm"\n'
    same(WING, WING.replace(entry.format("1-5"), entry.format("3-5") + entry.format("1-2")))


def test_tables_in_another_order_change_nothing():
    head, rest = WING.split("[leading_edge]")
    edges, case = rest.split("[case]")
    same(WING, f"[case]{case}\n[leading_edge]{edges}\n{head}")


def test_the_whole_wing_is_as_the_half():
    same(WING, "whole = true\n" + WING, 1e-6)


def test_twice_the_load_is_twice_the_movement_and_half_the_reserve():
    one, two = figures(WING), figures(WING.replace("load_factor = 4", "load_factor = 8"))
    np.testing.assert_allclose(two[1:], 2 * one[1:], rtol=1e-8, atol=1e-12)
    assert two[0] == pytest.approx(one[0], rel=1e-8)
