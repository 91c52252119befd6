"""What is this stick or sheet worth, by its weight and its sag under a load?

Density and stiffness with their errors, beside the table's wood of that density. With --into it shows how a
wing file would change and, asked or told so, puts the wood there. Inches and ounces do as well: --width 1/4in
--thickness 3/8in --span 24in --load 18oz --sag 1/8in.

example: sparbay woods --piece --like spruce --width 6mm --thickness 10mm --span 600mm --load 500g --sag 3.5mm
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, give
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import rewrite
from models.command.options import quantity, shared
from models.gravity import GRAVITY
from models.report.text import Page, fixed

if TYPE_CHECKING:
    from models.studies.piece_test import PieceResult, TriedPiece

_OPTIONS = {
    "name": "--like", "density": "--mass", "cut": "--cut", "depth": "--thickness", "held": "--held",
    "wood": "--like",
}  # fmt: skip


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    add = command.add_argument
    size, mass = quantity("length", "0.001 mm", "100 m"), quantity("mass", "0.001 g", "100 kg")
    add("--like", metavar="WOOD", required=True, help="the wood, by its name in sparbay woods")
    add("--cut", choices=("flat-sawn", "quarter-sawn"), help="how it is sawn (default: flat-sawn)")
    add("--width", metavar="LENGTH", type=size, required=True, help="width of the section")
    add("--thickness", metavar="LENGTH", type=size, required=True, help="thickness, as the load acts")
    add("--length", metavar="LENGTH", type=size, help="whole length, of a piece that was weighed")
    add("--mass", metavar="MASS", type=mass, help="what it weighs")
    add("--span", metavar="LENGTH", type=size, help="free length in a bend test")
    add("--load", metavar="LOAD", type=_load, nargs="+",
        help="load added, 500g, 18oz or 5N say; several in turn")  # fmt: skip
    add("--sag", metavar="LENGTH", type=size, nargs="+", help="sag that each load made, at the load")
    add("--held", choices=("both ends", "one end"),
        help="on two supports with the load in the middle (default), or held at one end with the load at "
        "the other")  # fmt: skip
    add("--flat", action="store_true", help="a strip of sheet lying flat, which shears through its thickness")
    add("--scales", metavar="MASS", type=mass, default=0.5e-3, help="error of scales (default: 0.5g)")
    add("--tape", metavar="LENGTH", type=size, default=1e-3, help="of length and span (default: 1mm)")
    add("--calliper", metavar="LENGTH", type=size, default=0.05e-3,
        help="error of width and thickness (default: 0.05mm)")  # fmt: skip
    add("--dial", metavar="LENGTH", type=size, default=0.2e-3, help="error of the sag (default: 0.2mm)")
    add("--into", metavar="FILE", help="a wing file that shall have this wood")
    add("--name", metavar="NAME", help="its name there")
    add("--replace", action="store_true", help="replace the measured figures of a wood of that name")
    add("--yes", action="store_true", help="write without asking (else only after a yes on a terminal)")
    shared(command, "json")


def _load(text: str) -> tuple[float, bool]:
    """A load in N, and whether it was given as a mass."""
    from models.wing.units import QuantityError, read_quantity

    try:
        read_quantity(text, "force")
    except QuantityError:
        try:
            read_quantity(text, "mass")
        except QuantityError:
            words = f"{text!r} is neither a mass, 500g say, nor a force, 5N say"
            raise argparse.ArgumentTypeError(words) from None
        return GRAVITY * quantity("mass", "0.01 g", "1000 kg")(text), True
    return quantity("force", "0.0001 N", "10000 N")(text), False


def run(options: argparse.Namespace) -> ExitCode:
    """Judge the piece and, where a file is named, show what would change in it and write it if that is
    wanted."""
    from models.studies.piece_test import Tools, judge
    from models.woods.wood import WoodError

    piece = _piece(options)
    tools = Tools(options.scales, options.tape, options.calliper, options.dial)
    try:
        result = judge(piece, tools)
    except WoodError as fault:
        option = _OPTIONS.get(fault.key, f"--{fault.key}")
        wrong = f"woods --piece: {option}: {_shown(fault.value)}: expected {fault.expected}."
        raise InputFault(wrong) from None
    entry = _entry(result)
    changed = _changed(options, entry) if options.into else None
    record = piece_record(result, entry, options.into, options.name)
    if options.json:
        wrote = _write(options, changed, ask=False)
        record["file_written"] = wrote
        record["difference"] = changed[1] if changed else None
    code = give(options, record, piece_text)
    if changed is not None and not options.json:
        # Printed past the page, which keeps such lines back in short: no change goes unshown.
        print(f"\n{changed[1]}\n")
        wrote = _write(options, changed, ask=True)
        print(
            f"Written: {options.into}"
            if wrote
            else f"Nothing was written to {options.into}; --yes writes it."
        )
    return code


def _piece(options: argparse.Namespace) -> TriedPiece:
    from models.studies.piece_test import TriedPiece

    def refuse(words: str) -> InputFault:
        return InputFault(f"woods --piece: {words}")

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
    return TriedPiece(
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
    """All that `woods --piece` has to say.

    Parameters
    ----------
    result : PieceResult
    entry : dict
        The piece as a table of a wing file.
    into : str or None
        The file into which it was written.
    name : str or None
        Under which it stands there.
    """
    from models.studies.piece_test import sentences

    table, piece = result.table, result.piece
    record = {
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
    return document("woods --piece", None, record, None)


ABOUT = (
    "Sag = P L^3/(48 E I) + 1.2 P L/(4 G A) on two supports, P L^3/(3 E I) + 1.2 P L/(G A) held at one "
    "end (Wood Handbook, FPL-GTR-190, equations 9-2 to 9-4 and table 9-1 [looked up]); E/G from the "
    "table. Errors are one standard deviation, of the tools alone. Measure the sag that the load alone "
    "makes, at the load, and the thickness in several places: it counts three times."
)


def piece_text(out: Page, record: Record) -> None:
    """The page: words, then measured against table."""
    for sentence in record["answer"]["sentences"]:
        out.say(sentence)
    table = record["table"]
    rows = [
        (
            f"density, {say.density.unit}", say.density.fixed(record["density_kg_per_m3"]),
            say.density.fixed(record["density_error_kg_per_m3"]),
            say.density.fixed(table["usual_density_kg_per_m3"], 0),
        ),
        (
            f"E along the grain, {say.stiff_stress.unit}", say.stiff_stress.number(record["E_L_Pa"], 3),
            say.stiff_stress.number(record["E_L_error_Pa"], 2), say.stiff_stress.number(table["E_L_Pa"], 3),
        ),
    ]  # fmt: skip
    if record["share_of_shear_in_the_sag"] is not None:
        rows.append(("of the sag is shear, %", fixed(record["share_of_shear_in_the_sag"], 100), "-", "-"))
    out.table(f"The piece beside the table's {record['wood']} (E at the piece's density)",
              ["<figure", "measured", "error", "table"], rows)  # fmt: skip
    out.say(f"Table: {table['source_of_E_L']}")
    out.say(record["about"])
