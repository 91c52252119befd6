"""Text from outside: files are opened and measured before anything reads their words, and letters that would
steer a terminal are written out.

A wing's file has a few kilobytes (the longest one shipped has 4); the limits below stand far beyond that
(chosen, no source) and keep a parser from work and memory that grow with the square of what it is given.
"""

from __future__ import annotations

import codecs
import os
import re
import stat
import unicodedata
from pathlib import Path
from typing import Any

MOST_BYTES = 256_000
"""Bytes of a text file that is read."""
MOST_DEPTH = 20
"""Lists and tables within each other."""
MOST_PARTS = 16
"""Parts of one dotted key."""
MOST_DOTTED = 5_000
"""Dotted keys and headings of a file, a part each counted."""
MOST_TABLES = 5_000
"""Lists and tables, each pair of brackets counted."""
MOST_LETTERS = 1_000
"""Letters of one text in quotes."""
MOST_DIGITS = 40
"""Letters of one bare number."""
MOST_KEY = 100
"""Letters of one bare key."""


class IntakeError(ValueError):
    """A file or a text that is not read; the message ends a sentence that the file's name begins.

    Parameters
    ----------
    expected : str
        What is wrong, and the limit.
    where : str
        "line 3", or empty.
    missing : bool
        There is no such file.
    """

    def __init__(self, expected: str, where: str = "", *, missing: bool = False) -> None:
        super().__init__(f"{where}: {expected}" if where else expected)
        self.expected, self.where, self.missing = expected, where, missing


def file_text(path: Path, *, encoding: str = "utf-8", most: int = MOST_BYTES) -> str:
    """The text of an ordinary file of bounded size; never waits for a pipe or a device.

    Returns
    -------
    str
        Line ends as "\\n".

    Raises
    ------
    IntakeError
        No file, not an ordinary one, too large, not to be opened, or not text.
    """
    return decoded(file_bytes(path, most=most), encoding)


MARK = "\ufeff"
"""What some editors put before a text in UTF-8."""


def decoded(raw: bytes, encoding: str = "utf-8") -> str:
    """Text of bytes, line ends as "\\n", its encoding's mark left out; `IntakeError` where they are none."""
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise IntakeError("is text in UTF-16; save it in UTF-8.")
    if b"\0" in raw:
        line = raw.count(b"\n", 0, raw.index(b"\0")) + 1
        raise IntakeError("holds a null byte: it is not a text file.", f"line {line}")
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as error:
        raise IntakeError(f"is not text in UTF-8 (byte {error.start}); save it as plain text.") from None
    return text.removeprefix(MARK).replace("\r\n", "\n").replace("\r", "\n")


def file_bytes(path: Path, *, most: int = MOST_BYTES) -> bytes:
    """Bytes of an ordinary file of bounded size, under the errors of `file_text`."""
    try:
        # A pipe without a writer is opened at once this way, and found out below.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        raise IntakeError("there is no such file.", missing=True) from None
    except (OSError, ValueError) as error:
        if os.path.isdir(path):
            raise IntakeError("cannot be read: it is a folder.") from None
        raise IntakeError(f"cannot be read: {getattr(error, 'strerror', None) or error}.") from None
    mode = os.fstat(handle).st_mode
    if not stat.S_ISREG(mode):
        os.close(handle)
        what = "a folder" if stat.S_ISDIR(mode) else "a device or a pipe; save the text in a file"
        raise IntakeError(f"cannot be read: it is {what}.")
    with os.fdopen(handle, "rb") as file:
        try:
            raw = file.read(most + 1)
        except OSError as error:
            raise IntakeError(f"cannot be read: {error.strerror}.") from None
    if len(raw) > most:
        raise IntakeError(f"has more than {most // 1000} kB; a file of this kind has a few.")
    return raw


_TOKEN = re.compile(
    r"(?P<comment>#[^\n]*+)"
    r'|(?P<text>"""(?:[^"\\]|\\.|"(?!""))*+(?:"{3,5}|\Z|\\)'
    r"|'''(?:[^']|'(?!''))*+(?:'{3,5}|\Z)"
    r'|"(?:[^"\\\n]|\\[^\n])*+(?:"|(?=\n)|\Z|\\)'
    r"|'[^'\n]*+(?:'|(?=\n)|\Z))"
    r"|(?P<open>[\[{])|(?P<close>[\]}])"
    r"|(?P<word>[A-Za-z0-9_+\-.:]++)"
    r"|(?P<end>[=,\n])",
    re.DOTALL,
)


def measure(text: str) -> None:
    """Refuse a TOML text that would be costly to parse: one pass over its words, before the parser.

    Raises
    ------
    IntakeError
        With the line, what was found and the limit.
    """
    if len(text) > MOST_BYTES:
        raise IntakeError(f"has more than {MOST_BYTES // 1000} kB; a file of this kind has a few.")
    depth, dots, dotted, tables = 0, 0, 0, 0
    for match in _TOKEN.finditer(text):
        kind, word = match.lastgroup, match[0]
        if kind == "open":
            depth += 1
            tables += 1
            if tables > MOST_TABLES:
                _refuse(text, match, f"has more than {MOST_TABLES} lists and tables.")
            if depth > MOST_DEPTH:
                _refuse(text, match, f"nests lists and tables more than {MOST_DEPTH} deep.")
        elif kind == "close":
            depth, dots = max(depth - 1, 0), 0
        elif kind == "end":
            dots = 0
        elif kind == "text":
            if len(word) > MOST_LETTERS:
                _refuse(text, match, f"holds a text of {len(word)} letters; at most {MOST_LETTERS} are read.")
        elif kind == "word":
            if word[0] in "+-0123456789" and len(word) > MOST_DIGITS and "-" not in word[1:]:
                _refuse(text, match, f"holds a number of {len(word)} digits; at most {MOST_DIGITS} are read.")
            more = word.count(".")
            dots += more
            dotted += more
            if dots >= MOST_PARTS:
                _refuse(text, match, f"holds a dotted key of more than {MOST_PARTS} parts; no key has those.")
            if len(word) > MOST_KEY:
                _refuse(text, match, f"holds a word of {len(word)} letters; no key has more than {MOST_KEY}.")
            if dotted > MOST_DOTTED:
                _refuse(text, match, f"has more than {MOST_DOTTED} dotted keys and decimals.")


MOST_ENTRIES = {
    "planform.stations": 100, "spars": 20, "webs": 200, "steps": 100, "facings": 20, "sheeting": 60,
    "braces": 40, "joiners": 20, "rails": 20, "ties": 20, "masses": 300, "pieces": 60, "hang": 100,
    "woods": 200, "layouts": 100, "loadings": 60,
}  # fmt: skip
"""Entries of a list or a table of names, by the end of its key path; others have `MOST_OF_A_LIST`. Far beyond
what a wing has, and so few that what compares them by twos comes to an end (chosen, no source)."""
MOST_OF_A_LIST = 1_000


def longest(raw: Any) -> tuple[tuple[str | int, ...], int, int] | None:
    """Place of a list or a table of names that has more entries than any wing, their number and the limit."""
    found: list[tuple[tuple[str | int, ...], int, int]] = []

    def walk(value: Any, path: tuple[str | int, ...]) -> None:
        names = [step for step in path if isinstance(step, str)]
        if (
            isinstance(value, dict | list)
            and names
            and (isinstance(value, list) or names[-1] in MOST_ENTRIES)
        ):
            most = MOST_ENTRIES.get(".".join(names[-2:]), MOST_ENTRIES.get(names[-1], MOST_OF_A_LIST))
            if len(value) > most:
                found.append((path, len(value), most))
                return
        for key, item in value.items() if isinstance(value, dict) else enumerate(value):
            if isinstance(item, dict | list):
                walk(item, (*path, key))

    walk(raw, ())
    return found[0] if found else None


def _refuse(text: str, match: re.Match[str], expected: str) -> None:
    raise IntakeError(expected, f"line {text.count(chr(10), 0, match.start()) + 1}")


_SAFE = re.compile(r"[\x20-\x7e]*")
_STEERING = ("Cc", "Cf", "Zl", "Zp", "Cs")
"""Unicode's categories of letters that steer: controls, direction marks and other formats, separators."""


def shown(text: str, *, keep: str = "") -> str:
    """A text with every letter that steers instead of standing for itself, but for those in `keep`,
    written as its code: a clear screen is "\\u001b[2J", a mark that turns the direction of writing
    "\\u202e"."""
    if _SAFE.fullmatch(text):
        return text
    return "".join(
        letter
        if letter in keep or unicodedata.category(letter) not in _STEERING
        else (f"\\u{ord(letter):04x}" if ord(letter) < 0x10000 else f"\\U{ord(letter):08x}")
        for letter in text
    )


def shown_all(value: Any) -> Any:
    """Parsed data with all its keys and texts `shown`; line ends in a text become a blank."""
    if isinstance(value, str):
        return shown(" ".join(value.splitlines()) if "\n" in value else value)
    if isinstance(value, dict):
        return {shown(key): shown_all(item) for key, item in value.items()}
    if isinstance(value, list):
        return [shown_all(item) for item in value]
    return value


_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def cell(value: Any) -> Any:
    """A cell of a CSV table that no spreadsheet takes for a formula.

    Parameters
    ----------
    value : Any
        A number stays as it is; a text that begins with = + - or @ and is no number gets a ' before it, which
        spreadsheets show as text (common practice, no source).
    """
    if not isinstance(value, str) or not value.startswith(_FORMULA):
        return value
    try:
        float(value)
    except ValueError:
        return "'" + value
    return value
