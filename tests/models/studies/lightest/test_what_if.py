"""One change of webs answered from memory, against the same layout built, solved and checked."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse, from_centre, tip_deflection, wing_twist
from models.strength import check, sentence
from models.studies.compare import web_mass
from models.studies.lightest import WhatIf
from models.wing.reading import read

WINGS = Path(__file__).parents[4] / "models" / "wings"


@lru_cache(maxsize=2)
def session(name: str) -> WhatIf:
    return WhatIf(read(WINGS / f"{name}.toml"), per_bay=1)


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("trainer", {("main", 3): ()}),
        ("trainer", {("main", 7): ("front", "rear")}),
        ("box-two-spars-sheeted", {("front", 2): ("rear",)}),
        pytest.param("powered-tailless", {("front", 3): ("rear",)}, marks=pytest.mark.long),
    ],
)
def test_everything_is_as_in_a_full_check(name: str, changes: dict) -> None:
    what_if = session(name)
    builds = what_if.segments.builds
    answer = what_if.answer(changes, movement=True)
    assert what_if.segments.builds == builds  # every single change is ready when the session begins
    analysis = analyse(what_if.places.laid(what_if.places.codes(changes)), per_bay=1)
    margins = check(analysis)
    full = {(r.mode, r.part): 1 / r.reserve_factor for r in margins.rows}
    found = {(r.mode, r.part): 1 / r.reserve_factor for r in answer.reserves}
    assert found.keys() == full.keys()
    keys = list(full)
    # Rounding: relative to the part, and for those that carry next to nothing to the strength itself.
    assert_allclose([found[k] for k in keys], [full[k] for k in keys], rtol=1e-9, atol=5e-11)
    assert_allclose(answer.load_factor_at_first_failure, margins.load_factor_at_first_failure(), rtol=1e-9)
    assert answer.sentence == sentence(margins)
    assert_allclose(answer.web_mass, web_mass(analysis.model), rtol=1e-12)
    assert_allclose(answer.tip_deflection, tip_deflection(analysis), rtol=1e-9)
    assert_allclose(answer.tip_twist, wing_twist(analysis)[1][-1], rtol=1e-9)
    assert answer.movement is not None
    moves = from_centre(analysis.model, analysis.solution.displacements[:, :, analysis.case])
    nodes = np.ones(len(moves), dtype=bool)
    nodes[analysis.model.structure.blocks["web ends"].nodes[:, 0]] = False  # these slip, and turn no way
    assert_allclose(answer.movement.moves[nodes], moves[nodes], rtol=0, atol=1e-9 * np.abs(moves).max())
    assert_allclose(answer.movement.points, analysis.model.structure.nodes, rtol=0, atol=1e-12)


def test_the_load_factor_asked_about() -> None:
    what_if = session("trainer")
    plain, hard = what_if.answer({}), what_if.answer({}, 24.0)
    assert plain.load_factor == 4
    assert plain.movement is None
    assert_allclose(hard.tip_deflection, 6 * plain.tip_deflection, rtol=1e-12)
    assert_allclose(hard.reserves[0].reserve_factor, plain.reserves[0].reserve_factor / 6, rtol=1e-12)
    assert hard.load_factor_at_first_failure == plain.load_factor_at_first_failure
    assert hard.sentence == plain.sentence
    assert plain.survives
    assert not hard.survives
    assert plain.faces["main", 1] == ("front",)


def test_changes_that_are_none_are_refused() -> None:
    with pytest.raises(KeyError, match="bay 1"):
        session("trainer").answer({("main", 1): ("rear",)})


def test_a_session_can_begin_at_once_and_build_as_it_goes(make_specimen) -> None:
    what_if = WhatIf(make_specimen(bays='"1-2"'), per_bay=1, ahead=False)
    assert what_if.segments.builds == 1
    first = what_if.answer({("spar", 4): ("front",)})
    builds = what_if.segments.builds
    assert builds > 1
    assert what_if.answer({("spar", 4): ("front",)}).reserves == first.reserves
    assert what_if.segments.builds == builds


def test_a_wing_that_does_not_fall_into_bays_is_built_for_every_change(make_wing) -> None:
    wing = make_wing(
        extra='[[sheeting]]\nfrom = "leading edge"\nto = "15 %"\nthickness = "1 mm"\nwood = "balsa medium"\n'
    )
    what_if = WhatIf(wing, per_bay=1)
    assert not what_if.tabulated
    answer = what_if.answer({("main", 2): ("front",)}, 10.0, movement=True)
    margins = check(analyse(what_if.places.laid(what_if.places.codes({("main", 2): ("front",)})), per_bay=1))
    assert answer.load_factor_at_first_failure == margins.load_factor_at_first_failure()
    assert_allclose(answer.reserves[0].reserve_factor, margins.first().reserve_factor / 2, rtol=1e-12)
    assert answer.movement is not None
