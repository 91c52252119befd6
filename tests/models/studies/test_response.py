"""Movements, slopes and parts taken out, against solves of structures changed by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.solve import factorise
from models.loads.bags import hold, rib_stations
from models.structure import build
from models.studies.measured import DIAL, Bench
from models.studies.readings import Laid, Reading
from models.studies.response import LEFT
from models.wing.reading import read

WINGS = Path(__file__).parents[3] / "models" / "wings"


@pytest.fixture(scope="module", params=["trainer", "powered-tailless"])
def bench(request: pytest.FixtureRequest) -> Bench:
    """Deflections and twists under bags of two shapes."""
    model = build(read(WINGS / f"{request.param}.toml"), per_bay=2)
    stations = rib_stations(model)
    ribs = [n for n, y in enumerate(stations.tolist(), 1) if y > hold(model) + 1e-9]
    laid = [Laid(2, n, 0.08, float(stations[n - 1]), 0.2) for n in ribs]
    laid += [Laid(1, ribs[-1], 0.02, float(stations[-1]), 0.3)]
    rows = [
        Reading(step, "starboard", n, 0.05, what, 1.0, 0)
        for step in (1, 2)
        for n in ribs[::3]
        for what in ("deflection", "twist")
    ]
    return Bench(model, "starboard", tuple(laid), rows, 2)


def test_slopes_are_those_of_differences(bench: Bench) -> None:
    wood = 0.2 * np.random.default_rng(8101).standard_normal(len(bench.prior.mean))
    slopes, step = bench.sound.at(wood).slopes, 3e-3
    for p in range(0, len(wood), 4):
        side = step * np.eye(len(wood))[p]
        moved = [bench.sound.at(wood + way * side).moves for way in (1, -1)]
        # Central differences: an error of the square of the step, and the rounding of two solves.
        wanted = (moved[0] - moved[1]) / (2 * step)
        assert_allclose(slopes[:, p], wanted, atol=1e-5 * np.abs(slopes[:, p]).max() + 1e-12)


def test_all_wood_softer_by_one_factor_moves_as_much_more(bench: Bench) -> None:
    n = len(bench.prior.mean)
    base = bench.sound.at(np.zeros(n))
    # Covering and glue are no pieces of wood, and nothing else carries.
    assert_allclose(bench.sound.at(np.full(n, np.log(2.0))).moves, 2 * base.moves, rtol=1e-6)
    assert_allclose(base.slopes.sum(axis=1), base.moves, rtol=1e-6)


def directly(bench: Bench, wood: np.ndarray, part: int) -> np.ndarray:
    """Movements at the marks by a matrix summed anew, with `LEFT` of a part's elements."""
    response = bench.sound
    blocks, stiff = response.assembly.structure.blocks, np.append(np.exp(-wood), 1.0)
    scales = {name: blocks[name].scale * stiff[of] for name, of in response._pieces.items()}
    for name, of in response._given_parts.items():
        scales[name] = scales[name] * np.where(of == part, LEFT, 1.0)
    factor = factorise(response.assembly, response.supports, response.assembly.stiffness(scales))
    moves = factor.turn @ factor.solve(factor.turn.T @ response._loads)
    return (response._rows @ moves)[np.arange(len(bench.marks)), response.shape_of_mark]


def test_a_part_taken_out_is_a_structure_without_it(bench: Bench) -> None:
    wood = 0.2 * np.random.default_rng(8103).standard_normal(len(bench.prior.mean))
    solved = bench.sound.solve(wood)
    whole = solved.whole
    assert_allclose(whole.moves, directly(bench, wood, -2), rtol=1e-9)
    step = 1e-4
    for k in range(0, len(bench.suspects), 6):
        out, wanted = bench.sound.without(solved, k), directly(bench, wood, k)
        assert np.abs(wanted - whole.moves).max() > 1e-5 * np.abs(whole.moves).max()
        # A millionth of the part is left: freedoms of its own are known to six digits less.
        assert_allclose(out.moves, wanted, rtol=1e-6, atol=1e-8 * np.abs(wanted).max())
        for p in range(0, len(wood), 5):
            side = step * np.eye(len(wood))[p]
            slope = (directly(bench, wood + side, k) - directly(bench, wood - side, k)) / (2 * step)
            assert_allclose(out.slopes[:, p], slope, atol=1e-5 * np.abs(out.slopes).max())


def test_a_wing_built_without_a_web_is_near_one_with_it_taken_out(bench: Bench) -> None:
    # Joints of web and cap change besides: a tenth of the web's own effect at the most, or a tenth of a per
    # cent of the movements, far below what a dial tells.
    listed = np.zeros(len(bench.prior.mean))
    for k in range(1, len(bench.suspects), 7):
        built, out, whole = bench.without(k).at(listed).moves, bench.drawn[k + 1].moves, bench.drawn[0].moves
        effect = np.linalg.norm(built - whole)
        assert np.linalg.norm(built - out) < 0.1 * effect + 1e-3 * np.linalg.norm(whole)


def test_parts_weakened_together_are_a_structure_with_less_of_them(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    wood = 0.2 * np.random.default_rng(8107).standard_normal(len(bench.prior.mean))
    left = {1: 0.5, 4: 0.2, bench.others[0][3][0]: 0.3}
    response = bench.sound
    blocks, stiff = response.assembly.structure.blocks, np.append(np.exp(-wood), 1.0)
    scales = {name: blocks[name].scale * stiff[of] for name, of in response._pieces.items()}
    for name, of in response._given_parts.items():
        for part, share in left.items():
            scales[name] = scales[name] * np.where(of == part, share, 1.0)
    factor = factorise(response.assembly, response.supports, response.assembly.stiffness(scales))
    moves = factor.turn @ factor.solve(factor.turn.T @ response._loads)
    wanted = (response._rows @ moves)[np.arange(len(bench.marks)), response.shape_of_mark]
    # A rib is wide: what is left out of it is far below what a dial tells.
    near = response.weakened(response.solve(wood), left)
    assert np.abs(near.moves - wanted).max() < 0.01 * DIAL
    monkeypatch.setattr("models.studies.response._WIDE", 10**6)
    solved = response.solve(wood)
    assert np.abs(wanted - solved.whole.moves).max() > 1e-5 * np.abs(wanted).max()
    found = response.weakened(solved, left)
    assert_allclose(found.moves, wanted, rtol=1e-7)
    for p in {response._all_parts(solved.factor.turn.indices)[part].piece for part in left}:
        side = 1e-4 * np.eye(len(wood))[p]
        both = [response.weakened(response.solve(wood + way * side), left).moves for way in (1, -1)]
        slope = (both[0] - both[1]) / 2e-4
        assert_allclose(found.slopes[:, p], slope, atol=1e-6 * np.abs(found.slopes).max())
