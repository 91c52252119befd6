"""What to change: every step solved and needed, the file's own words kept, sizes that are on sale."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest

from models.studies import mend as mend_module
from models.studies.mend import mend, sentences
from models.studies.mend.remedies import _steps
from models.verdict import verdict
from models.wing.reading import read_text
from models.wings import shipped

TRAINER = shipped()["trainer"].read_text(encoding="utf-8")
WEAK = """\
# A wing for a test, a little too weak.
name = "Weak wing"

[planform]
stations = [{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "250 mm", chord = "200 mm" }]

[ribs]
count = 4
thickness = "2 mm"

[[spars]]
name = "main"
at = "30 %"
caps = { width = "5 mm", height = "2 mm", wood = "spruce" } # thin

[[spars.webs]]
bays = "1" # not far
face = "rear"
thickness = "1/32 in"

[leading_edge]
width = "6 mm"
height = "6 mm"

[trailing_edge]
width = "20 mm"
height = "4 mm"

[case]
load_factor = 7
mass = "1.3 kg"
"""


@pytest.fixture(scope="module")
def mended():
    return mend(WEAK, per_bay=1)


def judged(text: str):
    return verdict(read_text(text, source="wing.toml", folder=Path()), per_bay=1)


def test_the_wing_is_fit_by_its_own_verdict_and_each_step_is_needed(mended):
    assert not mended.before.fit
    assert mended.after.fit
    after = judged(mended.text)
    assert after.fit
    assert after.survive == pytest.approx(mended.after.survive)
    assert mended.grams == pytest.approx(1e3 * (after.mass - judged(WEAK).mass))
    for k in range(len(mended.steps)):
        text = WEAK
        for one in mended.steps[:k] + mended.steps[k + 1 :]:
            text = one.remedy.edit(text)
        assert not judged(text).fit or judged(text).mass > after.mass
    assert f"{mended.grams:.1f} g" in sentences(mended)[0]


def test_the_file_keeps_its_words(mended):
    for words in ("# A wing for a test", "# thin", "# not far"):
        assert words in mended.text
    lines = set(mended.text.splitlines())
    assert len([line for line in WEAK.splitlines() if line not in lines]) <= 2 * len(mended.steps)


def test_no_few_of_the_first_changes_are_fit_and_much_lighter(mended):
    best = [one.remedy for one in mended.alone[:4]]
    fit = []
    for few in (few for n in (1, 2, 3) for few in combinations(best, n)):
        text = WEAK
        for one in few:
            text = one.edit(text)
        found = judged(text)
        if found.fit:
            fit.append(1e3 * (found.mass - mended.before.mass))
    assert mended.grams <= min(fit, default=1e9) + 1.0


def test_a_fit_wing_is_left_alone():
    text = TRAINER.replace("load_factor = 4", "load_factor = 2")
    found = mend(text, per_bay=1)
    assert found.before.fit
    assert found.text == text
    assert not found.steps
    assert sentences(found) == ["The wing is fit as drawn: nothing needs to be changed."]


def test_sizes_are_those_on_sale_in_the_units_of_the_file():
    assert _steps("1.5 mm", (1, 1.5, 2, 3, 4), 1.9) == ["2 mm", "3 mm"]
    assert _steps("0.15 cm", (1, 1.5, 2, 3), 1.01) == ["0.2 cm"]
    assert _steps("1/16 in", (1, 2), 1.4) == ["3/32 in"]
    assert _steps("1/4 in", (1, 2), 1.6) == ["5/16 in", "7/16 in"]
    assert _steps("4 mm", (1, 2, 4), 2.0) == []


def test_a_wing_that_is_fit_on_its_own_mesh_alone_is_left_alone(monkeypatch):
    # On the coarse mesh of the trials it would not be.
    real = mend_module.verdict

    def coarse_is_worse(wing, *, per_bay, trial=None):
        found = real(wing, per_bay=1, trial=trial)
        return found if per_bay == 4 else replace(found, survive=0.5)

    monkeypatch.setattr(mend_module, "verdict", coarse_is_worse)
    text = TRAINER.replace("load_factor = 4", "load_factor = 2")
    found = mend(text, per_bay=4)
    assert found.text == text
    assert not found.steps
