"""What must hold whatever the wing: more strength, more web, another load, the other side."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.command.files import read_wing
from models.strength import Margins, check
from models.strength.margin import Margin
from models.studies.grain import with_grain
from models.wing.parts import Cap, Wing
from models.woods.wood import Material

STRENGTHS = (
    "tension",
    "compression",
    "bending",
    "shear",
    "tension_across",
    "compression_across",
    "rolling_shear",
)
SLOW = settings(max_examples=8, deadline=None)


@cache
def drawn(name: str) -> Wing:
    return read_wing(name)


def margins_of(wing: Wing) -> Margins:
    return check(analyse(wing, per_bay=2))


def rows_of(margins: Margins) -> dict[tuple[str, str], Margin]:
    return {(row.mode, row.part.name): row for row in (*margins.rows, *margins.secondary)}


def with_woods(wing: Wing, change: Callable[[Material], Material]) -> Wing:
    """The wing with every wood of spars, ribs and sheets changed."""

    def cap(old: Cap) -> Cap:
        return replace(
            old, layers=tuple(replace(layer, material=change(layer.material)) for layer in old.layers)
        )

    spars = tuple(
        replace(
            s,
            upper=cap(s.upper),
            lower=cap(s.lower),
            webs=tuple(replace(w, material=change(w.material)) for w in s.webs),
        )
        for s in wing.spars
    )
    ribs = tuple(
        replace(r, material=change(r.material), post_material=change(r.post_material)) for r in wing.ribs
    )
    sheets = tuple(replace(s, material=change(s.material)) for s in wing.sheets)
    return replace(wing, spars=spars, ribs=ribs, sheets=sheets)


def with_front_web(wing: Wing, thickness: float) -> Wing:
    spars = tuple(
        replace(s, webs=tuple(replace(w, thickness=thickness) if w.face == "front" else w for w in s.webs))
        for s in wing.spars
    )
    return replace(wing, spars=spars)


@SLOW
@given(
    name=st.sampled_from(["spar-c", "spar-open", "box-two-spars-sheeted"]),
    figure=st.sampled_from(STRENGTHS),
    factor=st.floats(1.0, 4.0),
    grain=st.floats(0, np.pi),
)
def test_stronger_wood_never_lowers_a_reserve(name: str, figure: str, factor: float, grain: float) -> None:
    wing = with_grain(drawn(name), grain)
    before = rows_of(margins_of(wing))
    after = rows_of(
        margins_of(with_woods(wing, lambda m: replace(m, **{figure: getattr(m, figure) * factor})))
    )
    assert len(before) > 20
    # Caps of open bays go by the name of the larger share, axial force or bending, and stronger wood moves a
    # point from one name to another: one rule under three names.
    shared = ("cap tension", "cap compression", "cap bending, open bay")
    for key in after:
        if key in before:
            mode, *part = key
            alike = shared if mode in shared else (mode,)
            least, was = (
                min(rows[name, *part].reserve_factor for name in alike if (name, *part) in rows)
                for rows in (after, before)
            )
            assert least >= was * (1 - 1e-9), (key, figure, factor)


@SLOW
@given(
    thickness=st.floats(1.6e-3, 5e-3), more=st.floats(1.02, 2.0), name=st.sampled_from(["spar-c", "spar-box"])
)
def test_a_thicker_web_never_lowers_its_own_shear_reserve(thickness: float, more: float, name: str) -> None:
    # In a box it draws more of the shear, but less than it grows itself. What the property does not say: its
    # glue line, no higher than before, has more to bear, and the other web of a box may too, since a force on
    # the caps' middle line twists a box of unlike webs.
    thin, thick = (rows_of(margins_of(with_front_web(drawn(name), t))) for t in (thickness, thickness * more))
    for mode in ("web shear", "web shear buckling"):
        keys = [key for key in thin if key[0] == mode and key[1].endswith("front web")]
        assert keys
        for key in keys:
            assert thick[key].reserve_factor > thin[key].reserve_factor * (1 - 1e-6), key


@SLOW
@given(factor=st.floats(0.2, 5.0), name=st.sampled_from(["spar-c", "spar-open", "spar-box-spanwise"]))
def test_reserves_fall_as_the_load_grows(factor: float, name: str) -> None:
    # Crushing grows with the square of the load, and the load at failure is found with it so that it stays
    # the same: in every mode the reserve factor is that load over the case's.
    wing = drawn(name)
    once, more = (
        rows_of(margins_of(replace(wing, case=replace(wing.case, tip_force=f, tip_torque=0.01 * f))))
        for f in (1.0, factor)
    )
    loaded = {key: row for key, row in once.items() if row.reserve_factor < 1e4}
    assert len(loaded) > 20
    for key, row in loaded.items():
        assert_allclose(more[key].reserve_factor * factor, row.reserve_factor, rtol=1e-6, err_msg=str(key))


@pytest.mark.parametrize("name", ["powered-tailless", "trainer", "sailplane"])
def test_both_sides_of_a_whole_wing_answer_alike_and_as_half_a_wing_does(name: str) -> None:
    half, whole = margins_of(drawn(name)), margins_of(replace(drawn(name), whole=True))
    sides: dict[str, dict[tuple[str, str], float]] = {"starboard": {}, "port": {}, "": {}}
    for row in (*whole.rows, *whole.secondary):
        words = row.part.name.replace("port", "").replace("starboard", "")
        if row.part.station is not None:
            words = words.replace("-", "")
        key = (row.mode, words)
        sides[row.side][key] = min(row.reserve_factor, sides[row.side].get(key, np.inf))
    assert len(sides["port"]) > 50
    assert set(sides["port"]) == set(sides["starboard"])
    for key, found in sides["starboard"].items():
        assert_allclose(sides["port"][key], found, rtol=1e-5, err_msg=str(key))
    for row in (*half.rows, *half.secondary):
        if row.side == "starboard":
            key = (row.mode, row.part.name.replace("starboard", ""))
            assert_allclose(sides["starboard"][key], row.reserve_factor, rtol=1e-5, err_msg=str(key))
    assert_allclose(whole.load_factor_at_first_failure(), half.load_factor_at_first_failure(), rtol=1e-6)
