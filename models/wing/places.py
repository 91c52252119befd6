"""Where in a wing file a fault stands: its line, and the part of the wing in a builder's words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from models.wing.words import spar_words

_HEADER = re.compile(r"\s*(\[\[|\[)\s*([^\[\]]+?)\s*\]{1,2}\s*(?:#.*)?")
_KEY = re.compile(r"\s*([A-Za-z0-9_-]+(?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=")
_STEP = re.compile(r'\[(\d+)\]|"([^"]*)"|([A-Za-z0-9_-]+)')
_NAMES = {
    "webs": "web", "spars": "spar", "stations": "station", "sheeting": "sheeting", "braces": "brace",
    "joiners": "joiner", "rails": "rail", "masses": "mass", "steps": "step", "exceptions": "exception",
    "facings": "facing",
}  # fmt: skip
_ON_A_SPAR = ("brace", "joiner")
"""Parts of the wing that name the spar on which they are."""
_COUNTED = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def lines(text: str) -> dict[str, int]:
    """Line, from 1, of every table and of every key at the beginning of a line, by its path in messages."""
    found: dict[str, int] = {}
    counts: dict[str, int] = {}
    here = ""
    for number, line in enumerate(text.splitlines(), 1):
        header = _HEADER.fullmatch(line)
        if header is not None:
            names = [name.strip().strip('"') for name in header[2].split(".")]
            here = ""
            for k, name in enumerate(names):
                here = f"{here}.{name}" if here else name
                if k == len(names) - 1 and header[1] == "[[":
                    counts[here] = counts.get(here, -1) + 1
                if here in counts:
                    here = f"{here}[{counts[here]}]"
            found.setdefault(here, number)
            continue
        key = _KEY.match(line)
        if key is not None:
            path = ".".join(name.strip() for name in key[1].split("."))
            found.setdefault(f"{here}.{path}" if here else path, number)
    return found


def place(path: str, raw: dict[str, Any], known: dict[str, int]) -> str:
    """Where a key path leads: "line 34: front spar, second web"; what is not known is left out.

    Parameters
    ----------
    path : str
        As messages have it, "spars[0].webs[1].bays".
    raw : dict
        The file as it is parsed.
    known : dict of str to int
        From `lines`.
    """
    steps = [(int(m[1]) if m[1] else m[2] or m[3]) for m in _STEP.finditer(path)]
    line = next((known[head] for k in range(len(path), 0, -1) if (head := path[:k]) in known), None)
    words = _words(steps, raw)
    return ": ".join(filter(None, [f"line {line}" if line is not None else "", ", ".join(words)]))


def called(path: str, raw: dict[str, Any], known: dict[str, int]) -> str:
    """A part at the beginning of a sentence: "Front spar, first brace (line 104)".

    Parameters
    ----------
    path, raw, known
        As of `place`.
    """
    line, _, words = place(path, raw, known).partition(": ")
    told = f"{words} ({line})" if words else line
    return f"{told[:1].upper()}{told[1:]}"


def _words(steps: Sequence[str | int], raw: Any) -> list[str]:
    found, here = [], raw
    for k, step in enumerate(steps):
        row = here
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            break
        of = _NAMES.get(str(steps[k - 1])) if isinstance(step, int) and k else None
        if of is None or not isinstance(step, int):
            continue
        name = here.get("name") if isinstance(here, dict) else None
        if isinstance(name, str) and name and len(name) < 40:
            found.append(spar_words(name) if of == "spar" else name)
            continue
        spar = here.get("spar") if isinstance(here, dict) else None
        if of in _ON_A_SPAR and isinstance(spar, str) and spar and len(spar) < 40:
            found.append(spar_words(spar))  # and counted among those of this spar
            step = sum(isinstance(one, dict) and one.get("spar") == spar for one in row[:step])
        if step < len(_COUNTED):
            found.append(f"{_COUNTED[step]} {of}")
    return found
