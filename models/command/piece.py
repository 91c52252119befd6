"""`sparbay piece`: what a stick or a sheet is worth by its weight and its sag, and the wing file told of
it."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import rewrite
from models.command.record import Record, finite
from models.studies.piece_test import Piece, PieceResult, Tools, judge, sentences
from models.woods.wood import WoodError

_OPTIONS = {
    "name": "--like", "density": "--mass", "cut": "--cut", "depth": "--thickness", "held": "--held",
    "wood": "--like",
}  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Judge the piece and, where a file is named, show what would change in it and write it if that is
    wanted."""
    piece = _piece(options)
    tools = Tools(options.scales, options.tape, options.calliper, options.dial)
    try:
        result = judge(piece, tools)
    except WoodError as fault:
        option = _OPTIONS.get(fault.key, f"--{fault.key}")
        raise InputFault(f"piece: {option}: {_shown(fault.value)}: expected {fault.expected}.") from None
    entry = _entry(result)
    changed = _changed(options, entry) if options.into else None
    record = piece_record(result, entry, options.into, options.name)
    wrote = False
    if options.json:
        wrote = _write(options, changed, ask=False)
        record["file_written"] = wrote
        record["difference"] = changed[1] if changed else None
        print_json(record)
        return ExitCode.DONE
    from models.report.piece import piece_text
    from models.report.text import tell

    tell(piece_text, record)
    if changed is not None:
        # Printed past the page, which keeps such lines back in short: no change goes unshown.
        print(f"\n{changed[1]}\n")
        wrote = _write(options, changed, ask=True)
        print(
            f"Written: {options.into}"
            if wrote
            else f"Nothing was written to {options.into}; --yes writes it."
        )
    return ExitCode.DONE


def _piece(options: argparse.Namespace) -> Piece:
    def refuse(words: str) -> InputFault:
        return InputFault(f"piece: {words}")

    bent, weighed = bool(options.load or options.sag), options.mass is not None
    if not bent and not weighed:
        raise refuse(
            "nothing was measured: give --mass (with --length), or --span, --load and --sag, or all."
        )
    if weighed and options.length is None:
        raise refuse("--mass needs the --length of the piece.")
    if options.length is not None and not weighed:
        raise refuse("--length means nothing without --mass; the free length of a bend test is --span.")
    if bent and (options.span is None or not options.load or not options.sag):
        raise refuse("a bend test needs --span, --load and --sag.")
    if not bent and (options.span is not None or options.held or options.flat):
        raise refuse("--span, --held and --flat mean nothing without --load and --sag.")
    loads, sags = options.load or [], options.sag or []
    if len(loads) != len(sags):
        raise refuse(f"{len(loads)} loads and {len(sags)} sags; give a sag for each load, in the same order.")
    if options.into is None and (options.name is not None or options.replace or options.yes):
        raise refuse("--name, --replace and --yes mean nothing without --into.")
    if options.into is not None and not options.name:
        raise refuse("--into needs the --name that the wood shall have in the file.")
    kinds = {weighed for _, weighed in loads}
    if len(kinds) > 1:
        raise refuse("--load: give all loads as masses or all as forces.")
    return Piece(
        options.like, options.width, options.thickness, options.length, options.mass, options.span,
        tuple(force for force, _ in loads), tuple(sags), True in kinds, options.held or "both ends",
        options.flat, options.cut or "flat-sawn",
    )  # fmt: skip


def _shown(value: object) -> str:
    return f"{value:.4g} (in SI)" if isinstance(value, float) else repr(value)


def _entry(result: PieceResult) -> dict[str, object]:
    """The wood's table in a wing file."""
    piece = result.piece
    entry: dict[str, object] = {"like": piece.like}
    if piece.cut != "flat-sawn":
        entry["cut"] = piece.cut
    if piece.mass is not None and piece.length is not None:
        entry["piece"] = {
            "length": piece.length, "width": piece.width, "thickness": piece.thickness, "mass": piece.mass
        }  # fmt: skip
    if result.E_L is not None:
        entry["E_L"] = result.E_L
    return entry


def _changed(options: argparse.Namespace, entry: dict[str, object]) -> tuple[str, str, bytes]:
    """The file's new text, what changes in it, and what it was; refused where that would be no wing file."""
    from models.wing.faults import WingFileError
    from models.wing.intake import MARK, IntakeError, file_bytes, measure
    from models.wing.reading import read_text
    from models.wing.writing import NotToml, TakenName, difference, with_wood

    name = options.into
    path = Path(name)
    try:
        raw = file_bytes(path)
        text = raw.decode("utf-8")
        before = text.removeprefix(MARK)
        measure(before)
    except UnicodeDecodeError:
        raise InputFault(f"{name}: is not a text file in UTF-8.") from None
    except IntakeError as error:
        raise InputFault(f"{name}: {'cannot be read: ' if error.missing else ''}{error}") from None
    try:
        after = with_wood(before, options.name, entry, replace=options.replace)
        read_text(after, source=name, folder=path.parent)
    except TakenName:
        raise InputFault(
            f"{name}: woods.{options.name}: stands there already; give another --name, or --replace to "
            "replace its measured figures."
        ) from None
    except NotToml as fault:
        raise InputFault(f"{name}: is no TOML: {fault}.") from None
    except WingFileError as fault:
        raise InputFault(
            f"{fault}\n{name}: nothing was written: with the new wood it would have these faults."
        ) from None
    return text[: len(text) - len(before)] + after, difference(before, after, name), raw


def _write(options: argparse.Namespace, changed: tuple[str, str, bytes] | None, *, ask: bool) -> bool:
    """Write the new text if it was said so, or is said so now on a terminal."""
    if changed is None or not changed[1]:
        return False
    agreed = options.yes
    if not agreed and ask and sys.stdin.isatty() and sys.stdout.isatty():
        agreed = input("Write this into the file? [y/N] ").strip().lower() in ("y", "yes")
    if agreed and not rewrite(Path(os.path.realpath(options.into)), changed[2], changed[0]):
        raise InputFault(f"{options.into}: has changed since it was read, and is left as it is; try again.")
    return bool(agreed)


def piece_record(result: PieceResult, entry: dict[str, object], into: str | None, name: str | None) -> Record:
    """All that `piece` has to say.

    Parameters
    ----------
    result : PieceResult
        From `models.studies.piece_test.judge`.
    entry : dict
        The wood's table in a wing file, SI.
    into, name : str or None
        The file, and the wood's name in it.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    table, piece = result.table, result.piece
    record = {
        "command": "piece",
        "version": version(),
        "wood": piece.like,
        "answer": {"sentences": sentences(result)},
        "density_kg_per_m3": result.density,
        "density_error_kg_per_m3": result.density_error,
        "E_L_Pa": result.E_L,
        "E_L_error_Pa": result.E_L_error,
        "share_of_shear_in_the_sag": result.shear_share,
        "spread_of_the_loads": result.spread,
        "table": {
            "density_kg_per_m3": table.density,
            "usual_density_kg_per_m3": result.table_density,
            "E_L_Pa": table.E_L,
            "scatter_of_E_L": result.table_scatter,
            "source_of_E_L": table.sources["E_L"],
        },
        "stiffer_than_table": result.stiffer,
        "stiffer_error": result.stiffer_error,
        "standard_deviations_from_table": result.strays,
        "about": ABOUT,
        "into": into,
        "name": name,
        "entry": entry,
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


ABOUT = (
    "Sag = P L^3/(48 E I) + 1.2 P L/(4 G A) on two supports, P L^3/(3 E I) + 1.2 P L/(G A) held at one "
    "end (Wood Handbook, FPL-GTR-190, equations 9-2 to 9-4 and table 9-1 [looked up]); E/G from the "
    "table. Errors are one standard deviation, of the tools alone. Measure the sag that the load alone "
    "makes, at the load, and the thickness in several places: it counts three times."
)
