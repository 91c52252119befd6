"""Runs the cases and prints computed | published | difference | tolerance | source.

Exit codes: 0 every case holds, 1 a case fails, 2 an option or a name is wrong, 3 a case could not be
computed.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import traceback
from collections.abc import Sequence

from models.cautions import CAUTIONS
from models.command.progress import Progress
from models.report.text import LENGTH, Length, Page
from validation.case import Case, Result
from validation.run import UnknownCase, chosen, run_case

HOLDS, FAILS, WRONG_OPTION, OUR_FAULT = 0, 1, 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the cases that the arguments name and print them.

    Parameters
    ----------
    arguments : sequence of str or None
        Case names and options; None for those of the process.

    Returns
    -------
    int
        Exit code.
    """
    options = _parser().parse_args(arguments)
    try:
        cases = chosen(options.names or None)
    except UnknownCase as fault:
        print(f"validate: {fault}", file=sys.stderr)
        return WRONG_OPTION
    results: dict[str, list[Result]] = {}
    broken = []
    with Progress(len(cases), quiet=True) as progress:
        for case in cases:
            progress(f"{case.name}: {case.title}")
            try:
                results[case.name] = run_case(case)
            except Exception:
                # One broken case must not hide the others; it is our fault, not a miss.
                broken.append(case.name)
                print(f"validate: case {case.name} could not be computed", file=sys.stderr)
                traceback.print_exc(file=sys.stderr)
    if options.json:
        print(
            json.dumps(
                [as_record(case, results[case.name]) for case in cases if case.name in results], indent=1
            )
        )
    else:
        _print_tables(cases, results, Length(whole=True) if options.full else LENGTH.get())
    if broken:
        return OUR_FAULT
    return HOLDS if all(result.passed for found in results.values() for result in found) else FAILS


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m validation",
        description="How far is the engine from published, textbook and measured cases?",
        epilog="example: python -m validation B1 C4 --json",
    )
    parser.add_argument(
        "names", nargs="*", metavar="CASE", help="cases to run, such as B1; all if none is named"
    )
    parser.add_argument(
        "--json", action="store_true", help="print a list with one object a case, and nothing else"
    )
    parser.add_argument("--full", action="store_true", help="print every figure with its source")
    return parser


def as_record(case: Case, results: Sequence[Result]) -> dict[str, object]:
    """A case as plain data: its hardest figure at the top, all of them under `results`.

    Parameters
    ----------
    case : Case
        The case.
    results : sequence of Result
        Its figures, at least one.

    Returns
    -------
    dict
        Keys case, title, passed, then those of the figure that uses up most of its tolerance, then results.
    """
    hardest = max(results, key=lambda result: (not result.passed, result.strain))
    return {
        "case": case.name,
        "title": case.title,
        "passed": all(result.passed for result in results),
        **{key: value for key, value in _figure(hardest).items() if key != "passed"},
        "results": [_figure(result) for result in results],
    }


def _figure(result: Result) -> dict[str, object]:
    return {
        "quantity": result.quantity,
        # JSON has no NaN.
        "computed": result.computed if math.isfinite(result.computed) else None,
        "published": result.published,
        "unit": result.unit,
        "difference": result.difference if math.isfinite(result.difference) else None,
        "tolerance": result.tolerance,
        "verdict": result.verdict,
        "passed": result.passed,
        "kind": result.kind,
        "source": result.source,
        "why": result.why,
    }


def _print_tables(cases: Sequence[Case], results: dict[str, list[Result]], length: Length) -> None:
    out = Page(length=length)
    everything = [result for found in results.values() for result in found]
    count = {verdict: sum(result.verdict == verdict for result in everything) for verdict in _VERDICTS}
    out.say(
        f"{len(results)} cases, {len(everything)} figures: {count['passes']} within tolerance, "
        f"{count['known miss']} known misses, {count['fails']} failed, {count['information']} for "
        "information.",
        "bold red" if count["fails"] else "green",
    )
    out.cautions(CAUTIONS)
    missed = sorted(
        (r for r in everything if r.verdict in _MISSES),
        key=lambda r: (r.verdict != "fails", -abs(r.difference)),
    )
    if missed:
        rows = [(r.name, r.quantity, *_numbers(r), r.verdict, r.why) for r in missed]
        out.table("Misses", [*_HEADS, "?<verdict", "?~why"], rows)
    rows = []
    for case in cases:
        last = None
        for result in results.get(case.name, ()):
            source = result.source if result.source != last else "as above"
            rows.append((case.name, result.quantity, *_numbers(result), result.verdict, source))
            last = result.source
    out.table("All figures", [*_HEADS, "<verdict", "?~source"], rows)
    told = [(r.name, r.quantity, r.why) for r in everything if r.verdict == "information"]
    if told:
        out.table("For information", ["<case", "~quantity", "~why"], told)
    out.end()


_VERDICTS = ("passes", "known miss", "information", "fails")
_MISSES = ("known miss", "fails")
_HEADS = ("<case", "~quantity", "computed", "published", "<unit", "difference", "tolerance")


def _numbers(result: Result) -> tuple[str, ...]:
    return (
        f"{result.computed:.5g}",
        f"{result.published:.5g}",
        result.unit,
        _share(result.difference),
        "" if result.tolerance is None else _share(result.tolerance),
    )


def _share(value: float) -> str:
    """A fraction as per cent, or as a power of ten where it is rounding."""
    return f"{value:.1e}" if abs(value) < 5e-5 else f"{100 * value:.3g} %"


if __name__ == "__main__":
    sys.exit(main())
