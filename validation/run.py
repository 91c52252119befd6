"""Runs cases, all or those named."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import replace

from validation.case import BadCase, Case, Result
from validation.cases import CASES


class UnknownCase(ValueError):
    """A case is asked for that does not exist; `name` is what was asked for."""

    def __init__(self, name: str) -> None:
        self.name = name
        low = name.lower()
        known = [case.name for case in CASES]
        near = [one for one in known if low in one.lower()] or difflib.get_close_matches(name, known, 3)
        meant = (
            f"did you mean {' or '.join(near[:3])}?" if near else "`sparbay validate --full` has them all."
        )
        super().__init__(f"no case named {name[:40]!r}; {meant}")


def chosen(names: Iterable[str] | None = None) -> tuple[Case, ...]:
    """Cases by name, in their own order.

    Parameters
    ----------
    names : iterable of str or None
        Names, capital letters or small; None for all.

    Raises
    ------
    UnknownCase
        No such case.
    """
    if names is None:
        return CASES
    by_name = {case.name.lower(): case for case in CASES}
    asked = list(names)
    for name in asked:
        if name.lower() not in by_name:
            raise UnknownCase(name)
    wanted = {name.lower() for name in asked}
    return tuple(case for case in CASES if case.name.lower() in wanted)


def run_case(case: Case) -> list[Result]:
    """Results of one case.

    Raises
    ------
    BadCase
        It has none, or they bear another name.
    """
    try:
        results = list(case.run())
    except BadCase as error:
        raise BadCase(f"{case.name}: {error}") from None
    if not results or any(result.name not in ("", case.name) for result in results):
        raise BadCase(f"{case.name}: no result, or one under another name")
    return [replace(result, name=case.name) for result in results]
