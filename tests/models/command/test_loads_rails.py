"""`sparbay loads --rails`: exit codes and one document."""

from __future__ import annotations


def test_the_shipped_wing_holds(sparbay):
    outcome = sparbay("loads", "--rails", "powered-tailless", "--json", "--mesh", "2")
    assert outcome.code == 0
    assert outcome.document["answer"]["holds"]


def test_a_wing_without_an_engine_is_refused(sparbay):
    outcome = sparbay("loads", "--rails", "trainer")
    assert outcome.code == 2
    assert "[engine]" in outcome.err
