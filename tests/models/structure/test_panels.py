"""The classic panel model: statics, mechanisms, and how near it comes to the full model."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse, spar_motion
from models.command.files import read_wing
from models.strength import check
from models.structure.panels import Booms, Bridges, PanelMechanism, Walls, idealised, open_spans, solve_panels
from models.studies.panels import MODES, in_panels, second_opinion, station_loads, words


def _box(n: int = 6, walls: int = 4) -> Booms:
    corners = np.array([[0.0, 0.02], [0.05, 0.02], [0.05, -0.02], [0.0, -0.02]])
    pairs = [(0, 1), (1, 2), (2, 3), (3, 0)][:walls]
    first, second = (np.tile([p[k] for p in pairs], n).astype(np.intp) for k in (0, 1))
    span = np.repeat(np.arange(n), len(pairs)).astype(np.intp)
    shear = np.full(len(span), 6e5)
    none = np.full(len(span), -1, dtype=np.intp)
    made = Walls(span, first, second, shear, ("caps",) * len(span), none)
    y = np.linspace(0, 0.6, n + 1)
    place = np.repeat(corners[:, None], n + 1, axis=1)
    return Booms(y, place, np.full((4, n), 2e5), made, np.zeros(n), Bridges.none())


def _tip(n: int, force: float, torque: float) -> np.ndarray:
    loads = np.zeros((n, 3))
    loads[-1] = 0.0, force, torque
    return loads


def test_forces_of_booms_balance_the_bending_at_every_span() -> None:
    booms = _box()
    found = solve_panels(booms, _tip(7, 10.0, -0.25))  # through the middle of the box
    arm = booms.y[-1] - (booms.y[:-1] + booms.y[1:]) / 2
    assert_allclose((found.force * booms.place[:, :-1, 1]).sum(axis=0), -10.0 * arm, rtol=1e-9)
    assert_allclose(found.force.sum(axis=0), 0, atol=1e-8)
    assert_allclose(found.moves[:, 2], 0, atol=1e-12)
    # Shear flow of the webs carries the force, whichever way it is told.
    flow = np.abs(found.flow.reshape(6, 4))
    assert_allclose(flow[:, 1] + flow[:, 3], 10.0 / 0.04, rtol=1e-9)


def test_answers_are_alike_seen_from_elsewhere() -> None:
    booms = _box()
    away = replace(booms, place=booms.place + np.array([0.3, -0.1]))
    here = solve_panels(booms, _tip(7, 10.0, 1.0))
    there = solve_panels(away, _tip(7, 10.0, 1.0 - 10.0 * 0.3))
    assert_allclose(there.force, here.force, rtol=1e-7, atol=1e-7)
    assert_allclose(there.moves[:, 2], here.moves[:, 2], rtol=1e-7)


def test_what_can_move_freely_is_told() -> None:
    with pytest.raises(PanelMechanism, match="can move freely"):
        solve_panels(_box(walls=2), _tip(7, 1.0, 0.0))


@pytest.mark.parametrize(
    ("name", "bend", "turn"),
    [("spar-open", 0.01, 0.04), ("spar-c", 0.16, 0.2), ("spar-box", 0.05, 0.07)],
)
def test_specimens_come_near_the_full_model(name: str, bend: float, turn: float) -> None:
    wing = read_wing(name)
    analysis = analyse(replace(wing, case=replace(wing.case, tip_force=1.0, tip_torque=1.0)))
    booms = idealised(analysis.model)
    for column, freedom, share in ((0, 1, bend), (1, 2, turn)):
        motion = spar_motion(analysis, 0, column)
        ours = solve_panels(booms, station_loads(replace(analysis, case=column))).moves[-1, freedom]
        full = motion.deflection[-1] if freedom == 1 else motion.twist[-1]
        assert abs(ours / full - 1) < share


def test_loads_gathered_to_stations_keep_their_sum_and_moments() -> None:
    analysis = analyse(read_wing("trainer"), per_bay=1)
    model = analysis.model
    loads, nodes = analysis.solution.loads[:, :, analysis.case], model.structure.nodes
    out = nodes[:, 1] > 1e-9
    gathered = station_loads(analysis)
    assert_allclose(gathered[:, 1].sum(), loads[out, 2].sum(), rtol=1e-9)
    about_x = (nodes[out, 1] * loads[out, 2] - nodes[out, 2] * loads[out, 1] + loads[out, 3]).sum()
    assert_allclose((model.y * gathered[:, 1]).sum(), about_x, rtol=1e-9)
    about_y = (nodes[out, 2] * loads[out, 0] - nodes[out, 0] * loads[out, 2] + loads[out, 4]).sum()
    assert_allclose(gathered[:, 2].sum(), about_y, rtol=1e-9)


def test_signs_and_sizes_of_stresses_are_those_of_the_full_model() -> None:
    """On a box with sheeting both models carry the same loads by the same parts."""
    analysis = analyse(read_wing("box-two-spars-sheeted"))
    booms = idealised(analysis.model)
    ours = in_panels(analysis, booms, solve_panels(booms, station_loads(analysis))).recovered
    for block, key, column in (("webs", "stress", 2), ("sheeting", "stress", 2)):
        full, panels = (found[block][key][:, column] for found in (analysis.recovered, ours))
        assert np.corrcoef(full, panels)[0, 1] > 0.9
        assert 0.7 < np.linalg.norm(panels) / np.linalg.norm(full) < 1.3
    full, panels = (found["caps"]["forces"].mean(axis=1)[:, 0] for found in (analysis.recovered, ours))
    assert np.corrcoef(full, panels)[0, 1] > 0.98


def test_a_second_opinion_says_what_it_misses_and_bridges() -> None:
    analysis = analyse(read_wing("trainer"), per_bay=2)
    margins = check(analysis)
    found = second_opinion(analysis, margins)
    assert found.first is not None
    assert found.first.mode in MODES
    assert found.all_load_factor <= found.full_load_factor
    assert found.bridged == ("main spar, bays 7-10",)
    assert open_spans(analysis.model)
    said = " ".join(words(found, specimen=False))
    for word in ("classic panel model", "full model", "mm", "degrees", "misses", "mechanism"):
        assert word in said


def test_modes_it_asks_exist() -> None:
    from models.strength.modes import named

    assert [named(name).name for name in MODES] == list(MODES)


def test_a_wing_whose_halves_differ_is_told_by_its_starboard_half() -> None:
    from models.wing.reading import read_text
    from models.wings import shipped

    text = shipped()["trainer"].read_text(encoding="utf-8")
    analysis = analyse(
        read_text(text.replace("[[spars.webs]]", '[[spars.webs]]\nside = "port"', 1), source="x"), per_bay=1
    )
    assert not analysis.model.half
    found = second_opinion(analysis, check(analysis))
    assert found.starboard
    assert found.first is not None
    assert found.first.side == "starboard"
    assert "starboard one is told" in words(found, specimen=False)[-1]
