"""Runs the cases and prints computed | published | difference | tolerance | source.

Exit codes: 0 every case holds, 1 a case fails, 2 an option or a name is wrong, 3 a case could not be
computed.
"""

from __future__ import annotations

import argparse
import json
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path

from models.cautions import CAUTIONS
from models.command.faults import InputFault
from models.command.files import need, refuse_file, write_new
from models.command.progress import Progress
from models.report.text import LENGTH, Length, Page
from validation.book.chapters import chapters
from validation.case import Case, Result
from validation.record import as_record, counted, figures_words
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
    book = None if options.book is None else Path(options.book)
    try:
        cases = chosen(options.names or None)
        if book is not None:
            _refuse(book)
    except (UnknownCase, InputFault) as fault:
        print(f"validate: {fault}", file=sys.stderr)
        return WRONG_OPTION
    results: dict[str, list[Result]] = {}
    broken = []
    unwritten = ""
    with Progress(len(cases) + (0 if book is None else len(chapters(cases))), quiet=True) as progress:
        for case in cases:
            progress(f"{case.name}: {case.title}")
            try:
                results[case.name] = run_case(case)
            except Exception:
                # One broken case must not hide the others; it is our fault, not a miss.
                broken.append(case.name)
                print(f"validate: case {case.name} could not be computed", file=sys.stderr)
                traceback.print_exc(file=sys.stderr)
        if book is not None and broken:
            unwritten = f"{book}: not written, as {', '.join(broken)} could not be computed."
        elif book is not None:
            unwritten = _write(book, cases, results, progress)
    if options.json:
        print(
            json.dumps(
                [as_record(case, results[case.name]) for case in cases if case.name in results], indent=1
            )
        )
    else:
        files = [] if book is None or unwritten else [str(book)]
        _print_tables(cases, results, Length(whole=True) if options.full else LENGTH.get(), files)
    if unwritten:
        print(f"validate: {unwritten}", file=sys.stderr)
    if broken:
        return OUR_FAULT
    if unwritten:
        return WRONG_OPTION
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
    parser.add_argument(
        "--book", metavar="FILE.html", help="write every case, and the theory, into one page to read or print"
    )
    parser.add_argument("--full", action="store_true", help="print every figure with its source")
    return parser


def _refuse(book: Path) -> None:
    """Raise for a place that the book cannot be written to, before anything is computed."""
    if book.suffix.lower() not in (".html", ".htm"):
        raise InputFault(f"--book: {book} does not end in .html; give book.html, say.")
    refuse_file(book)
    need("jinja2", "--book", "leave --book out")


def _write(book: Path, cases: Sequence[Case], results: dict[str, list[Result]], progress: Progress) -> str:
    """Write the book; what hindered it, "" where nothing did."""
    from validation.book.write import html

    try:
        write_new(book, html(cases, results, progress))
    except InputFault as fault:
        return str(fault)
    return ""


def _print_tables(
    cases: Sequence[Case], results: dict[str, list[Result]], length: Length, files: Sequence[str]
) -> None:
    out = Page(length=length)
    everything = [result for found in results.values() for result in found]
    count = counted(everything)
    out.say(
        f"{len(results)} cases, {len(everything)} figures: {count['passes']} within tolerance, "
        f"{count['known miss']} known misses, {count['fails']} failed, {count['information']} for "
        "information.",
        "bold red" if count["fails"] else "green",
    )
    out.cautions(CAUTIONS)
    out.files(files)
    missed = sorted(
        (r for r in everything if r.verdict in _MISSES),
        key=lambda r: (r.verdict != "fails", -abs(r.difference)),
    )
    if missed:
        rows = [(r.name, r.quantity, *figures_words(r), r.verdict, r.why) for r in missed]
        out.table("Misses", [*_HEADS, "?<verdict", "?~why"], rows)
    rows = []
    for case in cases:
        last = None
        for result in results.get(case.name, ()):
            source = result.source if result.source != last else "as above"
            rows.append((case.name, result.quantity, *figures_words(result), result.verdict, source))
            last = result.source
    out.table("All figures", [*_HEADS, "<verdict", "?~source"], rows)
    told = [(r.name, r.quantity, r.why) for r in everything if r.verdict == "information"]
    if told:
        out.table("For information", ["<case", "~quantity", "~why"], told)
    out.end()


_MISSES = ("known miss", "fails")
_HEADS = ("<case", "~quantity", "computed", "published", "<unit", "difference", "tolerance")


if __name__ == "__main__":
    sys.exit(main())
