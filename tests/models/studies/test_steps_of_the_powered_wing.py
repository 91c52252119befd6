"""Steps of building the shipped powered wing, each against that wing with tables of its file taken out."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from models import wings
from models.loads.hand_test import GRAVITY, HandLoad
from models.studies.hand_test import given, half, hold
from models.studies.steps import COVERING, FIRST, FRAME, RAILS, SECOND, SHEETING, Steps, own_weight, steps
from models.wing.reading import read_text

pytestmark = pytest.mark.long
WING = (Path(wings.__file__).parent / "powered-tailless.toml").read_text(encoding="utf-8")
COARSE = {"per_bay": 1, "across_chord": 2}


def without(text: str, *headings: str) -> str:
    """The file with every table of these headings taken out."""
    tables = re.split(r"(?m)^(?=\[)", text)
    return "".join(one for one in tables if not one.startswith(headings))


def file_of(step: str) -> str:
    """The wing so far, as a builder would write its file."""
    text = without(WING, "[layouts", "[engine]", "[[masses]]", "[landing]")
    if step == COVERING:
        return text
    text = without(text, "[covering]")
    if step == SHEETING:
        return text
    # What sheeting and cap strips make room for has to be said where they are not there yet.
    joint = 'joint = "scarfed"\n'
    text = without(text, "[[sheeting]]").replace(joint, joint + 'inset = "1.5 mm"\n')
    text = re.sub(r"(?m)^cap_strip = .*\n", "", text)
    if step == RAILS:
        return text
    text = without(text, "[[rails]]", "[rails.bolts]")
    if step == SECOND:
        return text
    return text.replace('"both"', '"front"') if step == FIRST else without(text, "[[spars.webs]]")


@pytest.fixture(scope="module")
def built() -> Steps:
    return steps(read_text(WING), **COARSE)


@pytest.mark.parametrize("name", [FRAME, FIRST, SECOND, RAILS, SHEETING, COVERING])
def test_a_step_is_the_wing_of_a_file_without_the_other_parts(built: Steps, name: str) -> None:
    step = next(step for step in built.steps if step.stage.name == name)
    model = half(read_text(file_of(name)), **COARSE)
    loads = [
        HandLoad(built.spar, -1, force=1.0), HandLoad(built.spar, -1, couple=1.0),
        HandLoad("leading edge", -1, force=1.0), HandLoad("trailing edge", -1, force=1.0),
    ]  # fmt: skip
    push, turn, nose, tail = given(hold(model, loads), loads)
    assert_allclose(step.bending, push.stiffness, rtol=1e-9)
    assert_allclose(step.torsion, turn.torsional_stiffness, rtol=1e-9)
    assert_allclose(step.flexibility.diagonal(), [nose.deflection, tail.deflection], rtol=1e-9)
    assert_allclose(step.mass, -own_weight(model)[:, 2].sum() / GRAVITY, rtol=1e-9)


def test_every_step_is_another_wing(built: Steps) -> None:
    told = [(step.mass, step.bending, step.torsion) for step in built.steps]
    assert [step.stage.name for step in built.steps] == [FRAME, FIRST, SECOND, RAILS, SHEETING, COVERING]
    assert all(a[0] < b[0] for a, b in pairwise(told))
