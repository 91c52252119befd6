"""The command: table, JSON, exit codes."""

from __future__ import annotations

import json

import pytest

import validation.__main__ as command
from validation.case import Case, Result
from validation.run import UnknownCase, chosen, run_case


def _result(computed: float) -> Result:
    return Result("length", computed, 1.0, "m", 0.03, "a book, from memory", "rounded", "rounding")


def _raises() -> list[Result]:
    raise ZeroDivisionError("on purpose")


@pytest.fixture
def one_case(monkeypatch: pytest.MonkeyPatch) -> object:
    def put(run: object) -> None:
        monkeypatch.setattr("validation.run.CASES", (Case("T1", "a trial", run),))  # type: ignore[arg-type]

    return put


def test_good_case_exits_with_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["B1", "s1", "--full"]) == 0
    out = capsys.readouterr().out
    for word in ("computed", "published", "difference", "tolerance", "source", "2 cases", "S1"):
        assert word in out


def test_failing_case_exits_with_1(one_case: object, capsys: pytest.CaptureFixture[str]) -> None:
    one_case(lambda: [_result(1.5)])  # type: ignore[operator]
    assert command.main([]) == 1
    assert "fails" in capsys.readouterr().out


def test_unknown_case_exits_with_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["B99"]) == 2
    streams = capsys.readouterr()
    assert "B99" in streams.err
    assert not streams.out


def test_case_that_cannot_be_computed_exits_with_3(
    one_case: object, capsys: pytest.CaptureFixture[str]
) -> None:
    one_case(_raises)  # type: ignore[operator]
    assert command.main(["--json"]) == 3
    streams = capsys.readouterr()
    assert json.loads(streams.out) == []
    assert "T1" in streams.err


def test_json_is_one_object_a_case_with_the_hardest_figure_on_top(
    one_case: object, capsys: pytest.CaptureFixture[str]
) -> None:
    one_case(lambda: [_result(1.0), _result(1.02), _result(0.99)])  # type: ignore[operator]
    assert command.main(["--json"]) == 0
    (record,) = json.loads(capsys.readouterr().out)
    assert record["case"] == "T1"
    assert record["passed"] is True
    assert record["computed"] == 1.02
    assert len(record["results"]) == 3
    for key in ("published", "difference", "tolerance", "source", "unit", "why", "quantity"):
        assert key in record
        assert all(key in figure for figure in record["results"])


def test_json_of_real_cases(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["C1", "E1", "--json"]) == 0
    records = json.loads(capsys.readouterr().out)
    assert [record["case"] for record in records] == ["C1", "E1"]


def test_a_figure_that_is_no_number_stays_valid_json(
    one_case: object, capsys: pytest.CaptureFixture[str]
) -> None:
    one_case(lambda: [_result(float("nan"))])  # type: ignore[operator]
    assert command.main(["--json"]) == 1
    text = capsys.readouterr().out
    assert "NaN" not in text
    assert json.loads(text)[0]["computed"] is None


def test_cases_come_in_their_own_order_whatever_the_letters() -> None:
    results = [result for case in chosen(["S4", "b1"]) for result in run_case(case)]
    assert list(dict.fromkeys(result.name for result in results)) == ["B1", "S4"]


def test_a_name_that_does_not_exist_is_refused() -> None:
    with pytest.raises(UnknownCase, match="B99"):
        chosen(["B99"])
