"""Which woods are known, with which figures, and where is each figure from?

Without a name, a table of all; with one, every figure of that wood with its source.

example: sparbay woods spruce
"""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Any

from models import units_out as say
from models.command.document import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.options import add_units, shared

if TYPE_CHECKING:
    from models.woods.wood import Material

SHOWN = ("density", "E_L", "E_T", "G_LT", "tension", "compression", "shear", "rolling_shear")
"""Figures of the table of all woods."""
MARKS = {
    "looked up": "l",
    "from memory": "m",
    "computed": "c",
    "guess": "g",
    "common practice, no source": "p",
}
"""Letters that stand for the tags of figures in that table."""


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    command.add_argument("wood", nargs="?", metavar="WOOD", help="one wood, in full")
    shared(command, "json")
    add_units(command)


def run(options: argparse.Namespace) -> ExitCode:
    """Print all woods, or one in full."""
    from models.woods.wood import WoodError, material, names

    if options.wood is None:
        found = [wood_record(material(name)) for name in names()]
    else:
        try:
            found = [wood_record(material(options.wood))]
        except WoodError as error:
            raise InputFault(
                f"woods: {options.wood!r} is no wood; {error.expected.removeprefix('a wood; ')}"
            ) from None
    if options.json:
        print_json({"command": "woods", "woods": found})
    elif options.wood is None:
        _all(found)
    else:
        _one(found[0])
    return ExitCode.DONE


def wood_record(of: Material) -> dict[str, Any]:
    """A wood as plain data: value, unit, source and tag of every figure."""
    from models.woods.wood import FIGURES, RATIOS

    figures = {}
    for key in ("density", *FIGURES):
        unit = "kg/m3" if key == "density" else "" if key in RATIOS else "Pa"
        figures[key] = {"value": getattr(of, key), "unit": unit} | _source(of.sources.get(key, ""))
    scatter = {
        key: {"value": v} | _source(of.sources.get(f"scatter.{key}", "")) for key, v in of.scatter.items()
    }
    return {"name": of.name, "kind": of.kind, "figures": figures, "scatter": scatter}


def _source(line: str) -> dict[str, str]:
    """Source and tag of a line that ends in [tag]."""
    tag = re.search(r"\[([^\]]*)\]$", line)
    return {"source": line[: tag.start()].strip() if tag else line, "tag": tag[1] if tag else ""}


def _all(found: list[dict[str, Any]]) -> None:
    from models.report import text
    from models.woods.wood import MODULI

    out = text.Page(length=text.Length(whole=True))
    rows = []
    for wood in found:
        cells = []
        for key in SHOWN:
            figure = wood["figures"][key]
            kind = say.stress if figure["unit"] == "Pa" else say.density
            cells.append(f"{kind.number(figure['value'], 3)} {MARKS.get(figure['tag'], '?')}")
        rows.append((wood["name"], *cells))
    columns = [
        "<wood",
        *(
            f"{key if key in MODULI else key.replace('_', ' ')}\n"
            + (say.stress if key != "density" else say.density).unit
            for key in SHOWN
        ),
    ]
    out.table(
        "Woods at 12 % moisture: along the grain L, across it T; strengths along the grain",
        columns,
        rows,
    )
    out.say("Letters: " + ", ".join(f"{mark} {tag}" for tag, mark in MARKS.items()) + ".")
    out.say(
        'All figures of one with their sources: sparbay woods NAME. At another density: "balsa, 140 kg/m3".',
    )
    out.end()


def _one(wood: dict[str, Any]) -> None:
    from models.report import text

    out = text.Page(length=text.Length(whole=True))
    rows = []
    for key, figure in wood["figures"].items():
        pascal = figure["unit"] == "Pa"
        dense = figure["unit"] == "kg/m3"
        value = text.number(
            figure["value"], say.stress.factor if pascal else say.density.factor if dense else 1
        )
        unit = say.stress.unit if pascal else say.density.unit if dense else figure["unit"]
        rows.append((key, value, unit, figure["tag"], figure["source"]))
    out.table(f"{wood['name']} ({wood['kind']})", ["<figure", "value", "<unit", "<tag", "~source"], rows)
    scatter = [(k, f"{100 * s['value']:.0f} %", s["tag"], s["source"]) for k, s in wood["scatter"].items()]
    out.table("Scatter: standard deviation over mean", ["<figure", "value", "<tag", "~source"], scatter)
    out.end()
