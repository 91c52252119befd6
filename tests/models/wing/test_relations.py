"""Relations between files, on any wing: what is said otherwise gives the same answer, what is scaled is so.

A few wings every time, the same ones; SPARBAY_FUZZ=2000 tries a tenth of so many of each relation, other ones
each time.
"""

import os
import re
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from models.analysis import analyse, spar_motion, wing_twist
from models.strength import check
from models.wing.faults import WingFileError
from models.wing.reading import read_text

ASKED = int(os.environ.get("SPARBAY_FUZZ", "0"))


@dataclass(frozen=True)
class Given:
    """A wing by what its text hangs on; lengths in mm."""

    semispan: float = 700.0
    tip: float = 130.0
    aft: float = 35.0
    up: float = 42.0
    washout: float = 2.1
    n_ribs: int = 6
    rear: bool = False
    sheeted: bool = False
    grain: str = "upright"
    face: str = "rear"
    lift: str = "schrenk"
    load_factor: float = 4.0
    mass: float = 1200.0
    moment: float = -0.05
    side: str = "both"
    at: float | None = None
    """Share of the span of one more station, on the line between the two."""
    split: bool = False
    turned: bool = False
    whole: bool = False
    unit: str = "mm"
    scale: float = 1.0

    def text(self) -> str:
        stations = [(0.0, 200.0, 0.0, 0.0, 0.0), (self.semispan, self.tip, self.aft, self.up, self.washout)]
        if self.at is not None:
            between = [a + (b - a) * self.at for a, b in zip(*stations)]
            stations.insert(1, tuple(between))
        rows = ",\n".join(
            f'{{ y = "{y!r} mm", chord = "{chord!r} mm", leading_edge = "{aft!r} mm", height = "{up!r} mm", '
            f'washout = "{out!r} deg", section = "NACA 2412" }}'
            for y, chord, aft, up, out in stations
        )
        # Over the span of the webs' last bay at most, so that both ways of writing them are there.
        bays = (f"1-{self.n_ribs - 2}",) if not self.split else (f"2-{self.n_ribs - 2}", "1")
        webs = "".join(
            f'[[spars.webs]]\nbays = "{run}"\nface = "{self.face}"\nthickness = "1.5 mm"\n'
            f'grain = "{self.grain}"\nside = "{self.side}"\n'
            for run in bays
        )
        tables = [
            f"[planform]\nstations = [\n{rows}\n]\n",
            f'[ribs]\ncount = {self.n_ribs}\nthickness = "2 mm"\n',
            f'[[spars]]\nname = "main"\nat = "30 %"\ncaps = {{ width = "8 mm", height = "4 mm" }}\n{webs}',
            '[leading_edge]\nwidth = "8 mm"\nheight = "8 mm"\n',
            '[trailing_edge]\nwidth = "20 mm"\nheight = "4 mm"\n',
            f"[case]\nload_factor = {self.load_factor / self.scale!r}\n"
            f'mass = "{self.mass * self.scale**3!r} g"\n'
            f'moment_coefficient = {self.moment!r}\nlift = "{self.lift}"\n',
        ]
        if self.rear:
            tables.insert(
                3, '[[spars]]\nname = "rear"\nat = "65 %"\ncaps = { width = "5 mm", height = "3 mm" }\n'
            )
        if self.sheeted:
            tables.append('[[sheeting]]\nfrom = "leading edge"\nto = "main"\nthickness = "1 mm"\n')
        if self.turned:
            tables = [*tables[4:], *tables[:4]] if not self.rear else [*tables[5:], *tables[:5]]
        length = self.scale / {"mm": 1.0, "in": 25.4, "m": 1000.0}[self.unit]
        text = re.sub(
            r'"([-+\de.]+) mm"', lambda m: f'"{float(m[1]) * length!r} {self.unit}"', "".join(tables)
        )
        return f"whole = true\n{text}" if self.whole else text


WINGS = st.builds(
    Given,
    semispan=st.floats(300, 1200),
    tip=st.floats(110, 220),
    aft=st.floats(-60, 150),
    up=st.floats(0, 80),
    washout=st.sampled_from([0.0, 1e-3, 0.5, 2.1, -1.0]),
    n_ribs=st.integers(4, 7),
    rear=st.booleans(),
    sheeted=st.booleans(),
    grain=st.sampled_from(["upright", "span", "upright", "30 deg"]),
    face=st.sampled_from(["rear", "front", "both", "between"]),
    lift=st.sampled_from(["schrenk", "surface"]),
    load_factor=st.floats(2, 8),
    mass=st.floats(700, 2500),
    moment=st.floats(-0.1, 0.02),
)


def manner(n):
    return settings(
        max_examples=ASKED // 10 or n, derandomize=not ASKED, deadline=None, database=None,
        suppress_health_check=list(HealthCheck), print_blob=False, report_multiple_bugs=False,
    )  # fmt: skip


def figures(wing, side=1):
    """Load factor at first failure, tip deflection and twist along a side of a wing; None for one refused."""
    try:
        read = read_text(wing.text())
    except WingFileError:
        return None
    analysis = analyse(read, per_bay=1)
    y, twist = wing_twist(analysis)
    there = side * y > 1e-6
    deflection = spar_motion(analysis, 0).deflection
    return np.array(
        [
            check(analysis).load_factor_at_first_failure(),
            deflection[-1] if side > 0 else deflection[0],
            *twist[there][np.argsort(np.abs(y[there]))],
        ]
    )


def same(one, other, rtol=1e-8, side=1, by=(1.0, 1.0, 1.0)):
    """Figures of the other are those of the one, times the factors of failure, deflection and twist."""
    was, now = figures(one), figures(other, side)
    assert (was is None) == (now is None)
    if was is None:
        return
    n = len(was) - 2
    factor = np.array([by[0], by[1], *np.full(n, by[2])])
    scale = np.array([was[0], was[1], *np.full(n, max(np.abs(was[2:]).max(), 1e-6))]) * factor
    np.testing.assert_allclose(now / scale, was * factor / scale, rtol=0, atol=rtol)


@pytest.mark.parametrize("lift", ["schrenk", "surface"])
def test_a_station_on_the_line_between_two_leaves_a_tiny_twist(lift):
    wing = Given(lift=lift, washout=1e-3)
    same(wing, replace(wing, at=0.2), 1e-7)


@manner(3)
@given(wing=WINGS, at=st.floats(0.1, 0.9))
def test_a_station_on_the_line_between_two_changes_nothing(wing, at):
    same(wing, replace(wing, at=at), 1e-7)


@manner(3)
@given(wing=WINGS, unit=st.sampled_from(["in", "m"]))
def test_units_change_nothing(wing, unit):
    same(wing, replace(wing, unit=unit))


@manner(3)
@given(wing=WINGS, turned=st.booleans())
def test_webs_in_two_entries_and_tables_in_another_order_change_nothing(wing, turned):
    same(wing, replace(wing, split=True, turned=turned))


@manner(2)
@given(wing=WINGS)
def test_the_whole_wing_is_as_the_half(wing):
    same(wing, replace(wing, whole=True), 1e-6)


@manner(2)
@given(wing=WINGS)
def test_webs_on_port_are_those_on_starboard_in_the_mirror(wing):
    same(replace(wing, side="port"), replace(wing, side="starboard"), 1e-6, side=-1)


@manner(3)
@given(wing=WINGS, scale=st.sampled_from([0.5, 1.7, 3.0]))
def test_a_wing_of_another_size_under_the_same_stress_is_similar(wing, scale):
    """All lengths, mass with their cube, load factor with their inverse: forces with their square."""
    same(wing, replace(wing, scale=scale), 1e-6, by=(1 / scale, scale, 1.0))


@manner(3)
@given(wing=WINGS)
def test_twice_the_load_is_twice_the_movement_and_half_the_reserve(wing):
    same(wing, replace(wing, load_factor=2 * wing.load_factor), by=(1.0, 2.0, 2.0))
