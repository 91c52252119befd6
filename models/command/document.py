"""What the record of every command repeats, and how a record is told: as JSON or as a page."""

from __future__ import annotations

import argparse
import math
import re
import sys
from collections.abc import Callable, Iterable
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

from models.cautions import CAUTIONS
from models.command.exit_codes import ExitCode
from models.version import VERSION

if TYPE_CHECKING:
    from models.report.text import Page
    from models.strength import Margin

Record = dict[str, Any]


def document(
    command: str, file: str | None, figures: Record, cautions: Iterable[str] | None = CAUTIONS
) -> Record:
    """The record of a command: plain data in SI, its unit in the key, null for what does not exist.

    Parameters
    ----------
    command, file, figures, cautions
        Whose, of which file as it was typed, what it found, what is to be heeded; None for none.
    """
    every = {"command": command, "version": VERSION, "file": file, "cautions": cautions}
    whole = finite({key: value for key, value in every.items() if value is not None} | figures)
    assert isinstance(whole, dict)
    return whole


def recorded(
    options: argparse.Namespace,
    figures: Record,
    files: Iterable[Path] | None = None,
    cautions: Iterable[str] | None = CAUTIONS,
) -> Record:
    """The record of the command that was asked, with its file, its mesh and what it wrote.

    Parameters
    ----------
    options, figures, files, cautions
        As the command was asked, what it found, where it wrote, what is to be heeded.
    """
    flag = options.answer.removeprefix(options.command).replace("_", "-")
    mesh = {"mesh": {"elements_per_bay": options.mesh} | figures.get("mesh", {})}
    wrote = {} if files is None else {"files": [str(path) for path in files]}
    name = f"{options.command} -{flag}" if flag else options.command
    return document(name, options.file, figures | mesh | wrote, cautions)


_UNITS = re.compile(r"(_(N|Pa|kg|m|m2|m3|rad|s|Hz|per))+$")
"""What a figure's key ends in, beside its name."""


def figures(of: object, *keys: str, **named: str) -> Record:
    """Figures of something as plain data, each under its attribute's name with the unit behind it.

    Parameters
    ----------
    of, *keys, **named
        `length_m` is its `length` and `bay` its `bay`; `wood="material.name"` says where a figure is.
    """
    told = {key: key if hasattr(of, key) else _UNITS.sub("", key) for key in keys} | named
    return {key: _plain(attrgetter(path)(of)) for key, path in told.items()}


def _plain(value: Any) -> Any:
    """An array or a number of numpy's as JSON has them; all else as it is."""
    return value.tolist() if hasattr(value, "tolist") else value


def margin_figures(margin: Margin | None, *more: str) -> Record | None:
    """The figures of a reserve factor, with `more` of its fields; None for none."""
    if margin is None:
        return None
    told = (*more, "mode", "reserve_factor", "applied", "allowable", "unit", "source")
    return {"part": margin.part.name} | figures(margin, *told)


def finite(value: Any) -> Any:
    """The same data with null for every number that is not finite: JSON has no word for those."""
    if isinstance(value, dict):
        return {key: finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [finite(item) for item in value]
    if hasattr(value, "item"):  # a number of numpy's
        value = value.item()
    return None if isinstance(value, float) and not math.isfinite(value) else value


def give(
    options: argparse.Namespace, record: Record, text: Callable[[Page, Record], None], *, holds: bool = True
) -> ExitCode:
    """Tell a record on standard output as the options ask for; 1 where what was asked does not hold.

    Parameters
    ----------
    options, record, text, holds
        Of the command; `text` writes the record onto a page.
    """
    if options.json:
        print_json(record)
    else:
        from models.report.text import tell

        tell(text, record)
    return ExitCode.DONE if holds else ExitCode.FAILS


def told_whole(options: argparse.Namespace) -> bool:
    """Whether all that was found is told: as JSON, or on a page that is not cut to one screen."""
    return bool(options.json or getattr(options, "full", False) or getattr(options, "rows", None) is not None)


def print_json(document: object) -> None:
    """One JSON document on standard output."""
    import json

    json.dump(document, sys.stdout, indent=1, allow_nan=False)
    sys.stdout.write("\n")
