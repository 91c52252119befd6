"""Families of wings: values, changed files, verdicts, and the same answers whoever works."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from models.analysis import analyse
from models.command.files import shipped
from models.strength import check
from models.studies.family import (
    FamilyError,
    Member,
    changed_text,
    check_family,
    family,
    judge,
    values_of,
)
from models.verdict import verdict as whole
from models.wing.reading import read
from models.workers import NoWorkers, cluster, processes

TRAINER = ("trainer", shipped()["trainer"])
VARY = ["ribs.thickness=1.5 mm,2 mm", "case.load_factor=5..8..3"]


@pytest.mark.parametrize(
    ("text", "key", "values"),
    [
        ("ribs.thickness=1.5 mm, 2 mm", "ribs.thickness", ("1.5 mm", "2 mm")),
        ("case.load_factor=4..8..5", "case.load_factor", ("4", "5", "6", "7", "8")),
        ("spars[0].at=25 %..30 %..2", "spars[0].at", ("25 %", "30 %")),
        ("a.b=-1 mm..1 mm..3", "a.b", ("-1 mm", "0 mm", "1 mm")),
        ("spars[0].caps.wood=spruce", "spars[0].caps.wood", ("spruce",)),
    ],
)
def test_values(text: str, key: str, values: tuple[str, ...]) -> None:
    assert values_of(text) == (key, values)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("ribs.thickness", "is not KEY=VALUES"),
        ("=3", "is not KEY=VALUES"),
        ("a=", "is not KEY=VALUES"),
        ("a=1,,2", "empty value"),
        ("a=1 mm..2 cm..3", "one unit"),
        ("a=one..two..3", "one unit"),
        ("a=1..2..1", "how many"),
    ],
)
def test_values_without_sense_are_refused(text: str, words: str) -> None:
    with pytest.raises(FamilyError, match=words):
        values_of(text)


def test_every_combination_of_every_file_the_last_fastest() -> None:
    members = family([TRAINER, ("sailplane", shipped()["sailplane"])], VARY)
    assert len(members) == 12
    assert members[0].changes == (("ribs.thickness", "1.5 mm"), ("case.load_factor", "5"))
    assert members[1].changes == (("ribs.thickness", "1.5 mm"), ("case.load_factor", "6.5"))
    assert [m.source for m in members[::6]] == ["trainer", "sailplane"]


def test_too_many_a_key_twice_and_no_text_are_refused(tmp_path: Path) -> None:
    with pytest.raises(FamilyError, match="at most"):
        family([TRAINER], ["a=1..2..1000", "b=1..2..1000"])
    with pytest.raises(FamilyError, match="varied twice"):
        family([TRAINER], ["a=1", "a=2"])
    (tmp_path / "wing.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(FamilyError, match="cannot be read"):
        family([("wing.toml", tmp_path / "wing.toml")])


def test_only_the_key_changes() -> None:
    member = family([TRAINER], ["spars[0].caps.height=7 mm", "ribs.count=13"])[0]
    before, after = tomllib.loads(member.text), tomllib.loads(changed_text(member))
    assert (after["spars"][0]["caps"]["height"], after["ribs"]["count"]) == ("7 mm", 13)
    after["spars"][0]["caps"]["height"] = before["spars"][0]["caps"]["height"]
    after["ribs"]["count"] = before["ribs"]["count"]
    assert after == before


@pytest.mark.parametrize("key", ["spars[7].caps.height", "nothing.there", "name.deeper"])
def test_a_place_that_is_not_there_is_told(key: str) -> None:
    verdict = judge(family([TRAINER], [f"{key}=1 mm"])[0])
    assert "no such place" in verdict.fault
    assert not verdict.survives


def test_a_verdict_is_that_of_the_check() -> None:
    verdict = judge(family([TRAINER])[0])
    analysis = analyse(read(TRAINER[1]))
    first = check(analysis).first()
    assert verdict.reserve_factor == first.reserve_factor
    assert (verdict.part, verdict.mode) == (first.part.name, first.mode)
    found = whole(analysis.wing)
    assert (verdict.load_factor_at_failure, verdict.fifth, verdict.share) == (
        found.failing, found.fifth, found.survive
    )  # fmt: skip
    assert verdict.survives is found.fit
    assert 0 < verdict.residual < 1e-8


def test_faults_come_back_as_words() -> None:
    light = judge(family([TRAINER], ["case.mass=50 g"])[0])
    assert "is less than" in light.fault
    wrong = judge(family([TRAINER], ["ribs.thickness=thin"])[0])
    assert "ribs.thickness" in wrong.fault
    broken = judge(Member("x.toml", "name = ", "."))
    assert "not TOML" in broken.fault


def test_thicker_ribs_weigh_more_and_more_load_leaves_less() -> None:
    verdicts = list(check_family(family([TRAINER], VARY), per_bay=1))
    assert verdicts[3].structural_mass > verdicts[0].structural_mass
    reserves = [verdict.reserve_factor for verdict in verdicts[:3]]
    assert sorted(reserves, reverse=True) == reserves


def test_processes_give_the_same_answers_in_order() -> None:
    members = family([TRAINER], ["case.load_factor=5..8..3"])
    alone = list(check_family(members, per_bay=1))
    with processes(2) as run:
        assert list(check_family(members, per_bay=1, run=run)) == alone


def test_a_cluster_gives_the_same_answers_in_order() -> None:
    from distributed import LocalCluster

    members = family([TRAINER], ["case.load_factor=5,8", "spars[0].caps.height=5 mm,thin"])
    alone = list(check_family(members, per_bay=1))
    assert any(verdict.fault for verdict in alone)
    with (
        LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None) as here,
        cluster(here.scheduler_address) as run,
    ):
        assert list(check_family(members, per_bay=1, run=run)) == alone


def test_without_the_library_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(NoWorkers, match="sparbay\\[cluster\\]"), cluster("tcp://127.0.0.1:1"):
        pass
