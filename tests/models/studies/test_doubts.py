"""What an answer hangs on: slopes against solves of changed wood, the choice of pieces against all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import Analysis, analyse
from models.strength import Margins, check, modes
from models.studies.doubts import TOLD, Doubt, doubts
from models.studies.scatter.pieces import SIZE, pieces_of
from models.studies.scatter.states import Judge
from models.wing.parts import Wing
from models.wing.reading import read


@cache
def solved(name: str) -> tuple[Analysis, Margins]:
    analysis = analyse(read(resources.files("models.wings") / f"{name}.toml"))
    return analysis, check(analysis)


def by_solving(analysis: Analysis, margins: Margins, named: str, *, size: bool) -> float:
    """Slope of the load at first failure with stiffness or size of a piece, by solving changed sets of wood
    as `scatter` does, with more of it: two places of a part that are alike turn the slope at nought (both
    ends of the post of a spar of two like caps). The rule's own share is put in as there."""
    first = margins.first()
    pieces = pieces_of(analysis.model)
    part = analysis.model.parts.index(first.part)
    names = [p.name.removesuffix(", starboard").replace("spar spar", "spar") for p in pieces.pieces]
    p, n = names.index(named), len(names)
    step = 1e-4
    stiff, sizes = np.ones((2, n)), np.ones((2, n))
    (sizes if size else stiff)[:, p] += np.array([step, 0.0])
    judge = Judge(analysis, pieces)
    found = judge.reserves(stiff, sizes)[:, judge.modes[first.mode], part]
    slope = (found[0] - found[1]) / step
    rule = modes.named(first.mode).scatter
    if p == pieces.of_part[part]:
        slope += first.reserve_factor * (rule.size if size else rule.stiffness)
    return float(slope * analysis.load_factor)


@pytest.mark.parametrize(
    "name",
    [
        "trainer",
        "spar-c",
        "spar-open",
        "spar-box-spanwise",
        pytest.param("powered-tailless", marks=pytest.mark.long),
    ],
)
def test_stiffness_and_size_against_solving_other_wood(name: str) -> None:
    analysis, margins = solved(name)
    found = doubts(analysis, margins)
    sizes = ("thickness", "width and height")
    compared = [one for one in found if "strength" not in one.figure]
    assert len(compared) >= 4
    for one in compared:
        wanted = by_solving(analysis, margins, one.piece, size=one.figure in sizes) * one.variation
        assert_allclose(one.change, wanted, rtol=2e-3, atol=1e-5 * margins.load_factor_at_first_failure())


@pytest.mark.parametrize(
    "name", ["trainer", "powered-tailless", "sailplane", "spar-open", "spar-c", "box-two-spars"]
)
def test_pieces_left_out_would_not_be_told(name: str) -> None:
    analysis, margins = solved(name)
    few, every = doubts(analysis, margins), doubts(analysis, margins, others=99)
    assert len(every) >= len(few)
    for one, other in zip(few[:TOLD], every[:TOLD], strict=True):
        assert_allclose(one.change, other.change, rtol=1e-6)
    changes = [abs(one.change) for one in every]
    assert changes == sorted(changes, reverse=True)


def stronger(wing: Wing, factor: float) -> Wing:
    """Caps of another strength along the grain: what acts together in a rule is taken to scatter together."""

    def cap(one):
        return replace(
            one,
            layers=tuple(
                replace(
                    la,
                    material=replace(
                        la.material,
                        compression=factor * la.material.compression,
                        bending=factor * la.material.bending,
                    ),
                )
                for la in one.layers
            ),
        )

    spars = tuple(replace(s, upper=cap(s.upper), lower=cap(s.lower)) for s in wing.spars)
    return replace(wing, spars=spars)


def strength(found: list[Doubt]) -> Doubt:
    return next(one for one in found if "strength" in one.figure)


def test_crushing_strength_against_a_wing_of_stronger_wood() -> None:
    analysis, margins = solved("box-two-spars")
    assert margins.first().mode == "cap compression"
    load = margins.load_factor_at_first_failure()
    one = strength(doubts(analysis, margins))
    assert one.figure == "crushing strength"
    cap = analysis.wing.spars[0].upper.layers[0].material
    assert one.variation == cap.scatter["compression"]
    assert one.source == cap.sources["scatter.compression"]
    again = check(analyse(stronger(analysis.wing, 1.01))).load_factor_at_first_failure()
    assert_allclose(one.change / one.variation, (again - load) / 0.01, rtol=1e-6)


def test_a_column_shares_its_doubt_between_strength_and_stiffness(make_specimen: Callable) -> None:
    """Slim caps between far ribs: strength and modulus together move a column's force as far as it goes."""
    slim = '{ width = "3 mm", height = "3 mm", wood = "reference-balsa" }'
    analysis = analyse(make_specimen(None, caps=slim, pitch=120, case='tip_force = "1 N"'))
    margins = check(analysis)
    if not modes.named(margins.first().mode).scatter.column:
        analysis = analyse(
            make_specimen("both", web=0.4, caps=slim, pitch=180, case='tip_force = "1 N"'), per_bay=4
        )
        margins = check(analysis)
    assert modes.named(margins.first().mode).scatter.column, margins.first().mode
    load = margins.load_factor_at_first_failure()
    found = doubts(analysis, margins)
    one = strength(found)
    share = one.change / one.variation / load
    assert 0 <= share < 1
    again = check(analyse(stronger(analysis.wing, 1.001))).load_factor_at_first_failure()
    assert_allclose(share, (again / load - 1) / 1e-3, rtol=2e-2, atol=1e-6)


def test_glue_and_nothing_loaded() -> None:
    analysis, margins = solved("sailplane")
    # As if the glue went first, whatever does.
    glued = replace(margins, rows=tuple(row for row in margins.rows if row.mode == "glue line"))
    one = strength(doubts(analysis, glued))
    assert one.figure == "strength of the glue line"
    assert_allclose(one.change, one.variation * glued.load_factor_at_first_failure(), rtol=1e-12)
    assert doubts(analysis, replace(margins, rows=())) == []


def test_size_is_the_scatter_of_builders() -> None:
    analysis, margins = solved("trainer")
    thick = next(one for one in doubts(analysis, margins) if one.figure == "thickness")
    assert thick.variation == SIZE
    assert "no source" in thick.source
