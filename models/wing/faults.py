"""What is wrong with a wing file: faults with their key path, gathered into one error.

A fault reads `KEY PATH: VALUE what was expected`; the error puts the file's name before each, one line a
fault.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from models.wing.intake import shown

MOST_LINES = 10
"""Faults that are shown of one file; of more only their number."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True)
class Fault:
    """One fault of a file.

    Parameters
    ----------
    key_path : str
        Where: `spars[0].webs[2].bay`, or `line 3, column 5` of a file that is not TOML.
    value : str
        The offending value as the file would write it; empty where there is none to show.
    expected : str
        The rest of the sentence: what is wrong with the value, what was expected, the mend if a rule gives
        one.
    place : str
        Line and part of the wing, which follow in brackets; empty where they are not known.
    """

    key_path: str
    value: str
    expected: str
    place: str = field(default="", compare=False)

    def __str__(self) -> str:
        sentence = f"{self.value} {self.expected}" if self.value else self.expected
        return f"{self.key_path}: {sentence}" if self.key_path else sentence


class WingFileError(ValueError):
    """A wing file that cannot be used; `faults` holds all that was found, `source` the file's name."""

    def __init__(self, source: str, faults: Iterable[Fault]) -> None:
        self.source = source
        self.faults = tuple(faults)
        super().__init__(source, self.faults)

    def __str__(self) -> str:
        source = shown(self.source)
        lines = [
            f"{source}: {shown(str(fault))}" + (f" ({shown(fault.place)})" if fault.place else "")
            for fault in self.faults[:MOST_LINES]
        ]
        if len(self.faults) > MOST_LINES:
            lines[-1:] = [f"{source}: and {len(self.faults) - MOST_LINES + 1} faults more; mend these first."]
        return "\n".join(lines)


class FaultList(list[Fault]):
    """Faults gathered while a file is read; the same fault is kept once."""

    _known: set[Fault]

    def __init__(self) -> None:
        super().__init__()
        self._known = set()

    def add(self, key_path: str, value: object, expected: str) -> None:
        """Note one fault; `value` None shows no value."""
        fault = Fault(key_path, "" if value is None else as_written(value), expected)
        if fault not in self._known:
            self._known.add(fault)
            self.append(fault)


def path_of(location: Iterable[str | int]) -> str:
    """Key path of a location, ("spars", 0, "webs", 2, "bay") is spars[0].webs[2].bay, in the file's own
    words; keys that TOML would quote are quoted."""
    path = ""
    for step in location:
        if isinstance(step, int):
            path += f"[{step}]"
        else:
            key = step if _BARE_KEY.fullmatch(step) else f'"{step}"'
            path += f".{key}" if path else key
    return path


def as_written(value: object) -> str:
    """A value as a TOML file would write it, cut short if it is long."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = '"' + value.replace("\n", "\\n") + '"'
    elif isinstance(value, dict):
        text = "a table" if value else "an empty table"
    elif isinstance(value, list | tuple):
        text = "[" + ", ".join(as_written(item) for item in value) + "]"
    else:
        text = str(value)
    return text if len(text) <= 60 else text[:56] + " ..."


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """The end of a sentence that offers the closest known word, or nothing where none is close."""
    near = difflib.get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f"; did you mean {near[0]}?" if near else ""
