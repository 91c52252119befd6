"""What does the whole job look like on a shipped wing?

Checks the powered tailless wing, compares its layouts, and writes wing file, report, tables, pictures and a
VTU file for any viewer into ./sparbay-demo.

example: sparbay demo
"""

from __future__ import annotations

import argparse
import io
import json
import os
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import need_scenes, new_folder, shipped, writing
from models.command.progress import Progress
from models.report.text import Page
from models.rounding import down
from models.wing.words import spar_words

if TYPE_CHECKING:
    from models.verdict import Verdict
    from models.wing.parts import Wing

WING = "powered-tailless"
FOLDER = "sparbay-demo"
PER_BAY = 4
MENDED = f"{WING}-mended.toml"


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    command.add_argument("--overwrite", action="store_true",
        help="replace the files of an earlier run; others in the folder are left alone")  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Check, mend, compare, draw and export into ./sparbay-demo; all of it appears at once, or nothing."""
    from models import system

    folder = Path(FOLDER)
    refuse(folder, overwrite=options.overwrite)
    with writing(folder):
        beside = system.beside(folder)
        try:
            beside.mkdir()
            checked, why, mended = _fill(beside)
            names = _put(beside, folder, overwrite=options.overwrite)
        except FileExistsError:
            raise InputFault(
                f"{folder}: exists already: another run was quicker, and nothing in it is overwritten."
            ) from None
        finally:
            system.drop(beside)
    out = Page()
    demo_text(out, checked, why, mended, [str(folder / name) for name in names])
    out.end()
    # A demonstration has answered its question whether or not the wing survives, which the report says.
    return ExitCode.DONE


def refuse(folder: Path, *, overwrite: bool) -> None:
    """Raise where the folder exists and may not be written to."""
    if not os.path.lexists(folder):
        new_folder(str(folder), scenes=True)
        return
    need_scenes()
    if not folder.is_dir():
        raise InputFault(f"{folder}: is a file where the folder of the demo should be; move it away.")
    if not overwrite:
        raise InputFault(
            f"{folder}: exists already; move it away, or give --overwrite to replace the demo's files."
        )


def _fill(folder: Path) -> tuple[Record, str, Record]:
    """All files of the demo in a folder of their own; what is wrong, why, and what mends it."""
    from models.analysis import analyse
    from models.command.compare import compare_record
    from models.command.mend import mend_record
    from models.command.record import check_record
    from models.session import Session
    from models.strength import check
    from models.studies.compare import compare
    from models.studies.mend import mend
    from models.verdict import verdict
    from models.wing.reading import read

    source = shipped()[WING]
    wing = read(source, source=f"{WING}.toml")
    from fea.export import write

    with Progress(None) as progress:
        progress("reading and solving the wing")
        shutil.copyfile(source, folder / f"{WING}.toml")
        analysis = analyse(wing, per_bay=PER_BAY)
        session = Session(wing, per_bay=PER_BAY, sound=analysis)
        margins = session.side.told
        decided = verdict(wing, session=session)
        checked = check_record(
            analysis, margins, f"{WING}.toml", per_bay=PER_BAY, rigid_joints=False, decided=decided
        )
        text = source.read_text(encoding="utf-8")
        found = mend(
            text, source=f"{WING}.toml", name=WING, per_bay=PER_BAY, step=progress, before=decided, fast=False
        )
        (folder / MENDED).write_text(found.text, encoding="utf-8")
        mended = mend_record(found, f"{WING}.toml", PER_BAY, [Path(MENDED)])
        results = compare(wing, per_bay=PER_BAY, progress=progress)
        compared = compare_record(wing, results, f"{WING}.toml", PER_BAY)
        progress("writing report and tables")
        _write_report(folder, checked, compared, mended)
        progress("writing the VTU file")
        fields = {"reserve factor": dict(margins.element_reserve)}
        solution, case = analysis.solution, analysis.case
        write(folder / f"{WING}.vtu", analysis.model.structure, solution, case=case, fields=fields)
        progress("drawing pictures")
        from models.pictures import LayoutBar, compare_layouts, draw_all, judged

        draw_all(analysis, judged(analysis, margins, decided.pull_up.rows), folder)
        from models.pictures.reserves import plot_reserves

        better = check(analyse(read(folder / MENDED, source=MENDED), per_bay=PER_BAY))
        title = f"{wing.name}, mended: reserve factors"
        plot_reserves(better, folder / "reserve-modes-mended.png", title=title)
        bars = [
            LayoutBar(
                r.name, r.tip_deflection, r.tip_twist, r.bending_stiffness, r.torsional_stiffness, r.web_mass,
                r.load_factor_at_first_failure,
            )
            for r in results
            if r.scope == "wing"
        ]  # fmt: skip
        title = f"{wing.name}: layouts of webs compared"
        compare_layouts(bars, folder / "layouts.png", title=title)
    return checked, why(decided, wing), mended


def why(decided: Verdict, wing: Wing) -> str:
    """What makes the part weak that goes first in the hardest case, where it shows in the file; else ""."""
    first = decided.hardest.first
    spar = None if first is None else next((one for one in wing.spars if one.name == first.spar), None)
    if first is None or spar is None or first.part.kind != "web" or first.bay is None:
        return ""
    if any(web.bay == first.bay + 1 for web in spar.webs):
        return ""
    return (
        f"the webs of the {spar_words(spar.name)} end at bay {first.bay}. Beyond it caps and ribs alone "
        "carry the shear, bending as they do; that bends the last web's edges and tears at their glue."
    )


def _write_report(folder: Path, checked: Record, compared: Record, mended: Record) -> None:
    from models.command.check import check_text
    from models.command.compare import compare_text
    from models.command.mend import mend_text

    page = io.StringIO()
    out = Page(page)
    check_text(out, checked)
    compare_text(out, compared)
    mend_text(out, mended)
    out.end()
    (folder / "report.txt").write_text(page.getvalue(), encoding="utf-8")
    for name, record in (("check", checked), ("compare", compared), ("mend", mended)):
        document = json.dumps(record, indent=1, allow_nan=False, ensure_ascii=False)
        (folder / f"{name}.json").write_text(document + "\n", encoding="utf-8")
    _write_table(folder / "bays.csv", checked["bays"])
    _write_table(folder / "ribs.csv", checked["results"]["pull_up"]["ribs"])
    _write_table(folder / "layouts.csv", compared["layouts"])


def _write_table(path: Path, rows: list[Record]) -> None:
    """Rows as comma-separated values, one column a key."""
    import csv

    from models.wing.intake import cell

    columns = list(dict.fromkeys(key for row in rows for key in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns)
        writer.writeheader()
        writer.writerows({key: cell(value) for key, value in row.items()} for row in rows)


def _put(beside: Path, folder: Path, *, overwrite: bool) -> list[str]:
    """Move what was made into place, in one step or file by file into a folder that is there; the names."""
    from models import system

    names = sorted(path.name for path in beside.iterdir())
    if not (overwrite and folder.exists()):
        system.ordinary_rights(beside, folder=True)
        system.put_folder(beside, folder)
        return names
    for name in names:
        os.replace(beside / name, folder / name)
    return names


def demo_text(out: Page, checked: Record, why: str, mended: Record, names: list[str]) -> None:
    """The story in its order.

    Parameters
    ----------
    out : Page
    checked : Record
        Of `check`.
    why : str
        What stands behind the verdict; "" for nothing.
    mended : Record
        Of `mend`.
    names : list of str
        Files that were written.
    """
    out.say(checked["wing"], "bold")
    verdict = checked["answer"]["verdict"]["sentences"]
    for k, sentence in enumerate(verdict[:3]):
        out.say(sentence, "" if k else "green" if checked["answer"]["survives"] else "bold red")
    if why:
        out.say(f"Why: {why}")
    for k, sentence in enumerate(mended["answer"]["sentences"]):
        out.say(sentence, "" if k else "green" if mended["answer"]["fit"] else "bold red")
    out.cautions(checked["cautions"])
    if mended["steps"]:
        told = [("as drawn", "-", mended["before"]["share_surviving_all"])]
        for one in mended["steps"]:
            grams = say.grams.bare(1e-3 * one["grams"], ".1f")
            told.append((one["change"], grams, one["share_surviving_all"]))
        rows = [(what, grams, down(100 * share, 0)) for what, grams, share in told]
        out.table("Mended", ["<change", f"gains, {say.grams.unit}", "survive of 100"], rows)
    out.files(names)
    out.say("The same for a wing of your own: `sparbay new`, `sparbay check FILE`, `sparbay mend FILE`.")
