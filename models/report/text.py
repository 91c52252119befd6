"""Records of answers as text and tables for people: builder's units, a sane number of digits.

An answer is gathered first and printed at its end: on one screen, unless all of it is asked for. Printed
whole into a file, tables take the width that they need, so that a report looks the same everywhere.
"""

from __future__ import annotations

import math
import os
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from contextvars import ContextVar
from typing import IO, Any, NamedTuple

from models.cautions import CAUTIONS, IN_SHORT
from models.rounding import down, gees
from models.units_out import as_spoken

Record = dict[str, Any]
Tell = str | Callable[[Record], str] | tuple[Any, ...]
"""What a column tells of a record: words under a key; what a function says of the record; or (key, function,
more of its arguments)."""
Columns = dict[str, Tell]
"""Of a table, by their headings."""

WIDTH = 110
"""Greatest width of a paragraph."""
SCREEN = (80, 39)
"""Columns where no terminal says otherwise, and lines: a screen of forty with the prompt below them."""
ROWS = 5
"""Rows of a table in short, the worst or the first; one that is hardly longer stands whole."""
_FEWEST = 3
"""Rows below which a long table is named instead of begun, if it is not the first."""
_ANSWER = 22
"""Lines of sentences; what does not fit beside a table is told with the rest."""
_FOLDED = 52
"""Greatest width of a column of words that may be folded."""
_NARROW = 28
"""Width of a column of words below which rather another column is left out."""
_GAP = "  "
FAR = 100.0
"""Reserve factors above this are not told apart: the part carries next to nothing."""
DEG = 180 / math.pi
_CODES = {"bold": "1", "red": "31", "green": "32", "yellow": "33"}


class Length(NamedTuple):
    """How much of an answer is printed.

    Parameters
    ----------
    whole : bool
        Everything, on as many screens as it takes.
    rows : int or None
        Every table, but no more of its rows than this.
    quiet : bool
        The answer and the cautions alone.
    """

    whole: bool = False
    rows: int | None = None
    quiet: bool = False


_SHORT = Length()
LENGTH: ContextVar[Length] = ContextVar("length", default=_SHORT)
"""How much of an answer the options of the command ask for."""


class _Words(NamedTuple):
    lines: tuple[str, ...]
    style: str
    kind: str


class _Table(NamedTuple):
    title: str
    heads: list[list[str]]
    left: list[bool]
    folds: list[bool]
    spare: list[bool]
    rows: list[list[str]]
    kind: str = "table"

    def fitted(self, width: int | None, *, drop: bool) -> tuple[list[int], list[list[list[str]]], list[int]]:
        """Columns that stay, rows of cells of lines, widths; None for as wide as it must be.

        Where it is too wide, columns that can be spared are left out (`drop`), then words are folded, then
        other columns left out from the right. Beyond that the widths stay as they come out.
        """
        kept = list(range(len(self.heads)))
        most = [_FOLDED if folds else 10**6 for folds in self.folds]
        wide = self._widths(kept, most)
        if width is None or self._total(wide) <= width:
            return kept, self._cells(kept, most), wide
        while drop and self._total(self._widths(kept, most)) > width:
            spare = [k for k in kept if self.spare[k]]
            if not spare:
                break
            kept.remove(spare[-1])
        narrow = [min(m, _NARROW) if to_left else m for m, to_left in zip(most, self.left)]
        while drop and len(kept) > 2 and self._total(self._widths(kept, narrow)) > width:
            kept = kept[:-1]
        wide = self._widths(kept, most)
        while (over := self._total(wide) - width) > 0:
            words = [k for k in kept if self.left[k] and wide[k] > _NARROW]
            if not words:
                break
            widest = max(words, key=lambda k: wide[k])
            most[widest] = max(_NARROW, wide[widest] - over)
            wide = self._widths(kept, most)
            if wide[widest] > most[widest]:  # a heading that is wider than its words
                break
        return kept, self._cells(kept, most), wide

    def _cells(self, kept: list[int], most: list[int]) -> list[list[list[str]]]:
        return [
            [_wrapped(row[k], most[k]) or [""] if self.left[k] else [row[k]] for k in kept]
            for row in self.rows
        ]

    def _widths(self, kept: list[int], most: list[int]) -> list[int]:
        cells = self._cells(kept, most)
        return [
            max(map(len, (*self.heads[k], *(line for row in cells for line in row[n]))))
            for n, k in enumerate(kept)
        ]

    @staticmethod
    def _total(widths: list[int]) -> int:
        return sum(widths) + len(_GAP) * (len(widths) - 1)


class Page:
    """Text on its way to a terminal or a file; `end` prints it.

    Written here and not with a library: loading one for tables takes as long as half an analysis.

    Parameters
    ----------
    file : text file or None
        Where to, whole; None for standard output, as long as `LENGTH` says. Colours go to a terminal only,
        and NO_COLOR is honoured.
    length : Length or None
        How much of it, if not so.
    """

    def __init__(self, file: IO[str] | None = None, *, length: Length | None = None) -> None:
        self._file = sys.stdout if file is None else file
        self._length = length or (LENGTH.get() if file is None else Length(whole=True))
        terminal = self._file.isatty()
        self._colours = terminal and not os.environ.get("NO_COLOR")
        unseen = WIDTH if self._length.whole else SCREEN[0]
        import shutil  # loads all kinds of compression

        columns = shutil.get_terminal_size((WIDTH, 24)).columns if terminal else unseen
        self._width = min(WIDTH, columns)
        self._room = columns if terminal or not self._length.whole else None
        self._blocks: list[_Words | _Table] = []
        self._held: list[str] = []
        self._kind = "answer"

    @property
    def width(self) -> int:
        """Of a paragraph."""
        return self._width

    @property
    def short(self) -> bool:
        """Whether it is to fit one screen, and what is held back is told."""
        return not (self._length.whole or self._length.rows is not None)

    def hold_back(self, what: str) -> None:
        """Tell that something is printed with --full alone."""
        self._held.append(what)

    def line(self, text: str = "", style: str = "") -> None:
        """One line as it is; `style` is of words such as "bold red"."""
        kind = "line" if self._kind == "answer" else self._kind
        self._blocks.append(_Words((text.rstrip(),), style, kind))

    def say(self, text: str, style: str = "") -> None:
        """A paragraph, as wide as the terminal at most; after the cautions or a table it is a remark."""
        self._say(text, style, self._kind)

    def _say(self, text: str, style: str, kind: str) -> None:
        indent = " " * (len(text) - len(text.lstrip()))
        lines = _wrapped(text, self._width, subsequent_indent=indent)
        self._blocks.append(_Words(tuple(lines), style, kind))

    def cautions(self, cautions: Sequence[str]) -> None:
        """What to heed, of its own and in general, printed however short the answer is."""
        self._kind = "remark"
        own = [one for one in cautions if one not in CAUTIONS]
        if self._length.whole:
            self.line()
            for caution in (*own, *CAUTIONS):
                self._say(f"Caution: {caution}", "yellow", "caution")
            return
        if own:
            self._say("Caution: " + " ".join(map(_gist, own)), "yellow", "caution")
        self._say(IN_SHORT, "yellow", "caution")

    def warn(self, text: str) -> None:
        """Something of this run to heed, printed however short the answer is."""
        self._say(text, "yellow", "caution")

    def files(self, names: Sequence[str]) -> None:
        """Files that have been written; each path stays in one piece, to be copied."""
        folders: dict[str, list[str]] = {}
        for name in names:
            folder, slash, last = name.rpartition(os.sep)
            folders.setdefault(folder + slash, []).append(last)
        for folder, lasts in folders.items():
            listed = f" in {folder}: {', '.join(lasts)}" if len(lasts) > 1 else f": {folder}{lasts[0]}"
            lines = textwrap.wrap(
                f"Written{listed}", self._width, break_long_words=False, break_on_hyphens=False
            )
            self._blocks.append(_Words(tuple(lines), "", "file"))

    def table(self, title: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
        """A table as wide as it must be, no digit ever cut off; on a terminal too narrow for it, a list.

        Parameters
        ----------
        title : str
            Over the table.
        columns : sequence of str
            Headings, lines parted by line feeds; that of a column of words begins with "<", or "~" to fold.
            On one screen those that begin with "?", and then the last, are left out where there is no room.
        rows : iterable of sequences of str
            Cells.
        """
        self._kind = "remark"
        spare = [column[:1] == "?" for column in columns]
        columns = [column.removeprefix("?") for column in columns]
        heads = [column.lstrip("<~").split("\n") for column in columns]
        left, folds = ([column[:1] in tuple(marks) for column in columns] for marks in ("<~", "~"))
        self._blocks.append(_Table(title, heads, left, folds, spare, [list(row) for row in rows]))

    def listed(self, title: str, of: Iterable[Record], columns: Columns) -> None:
        """A table of records: by its heading, as of `table`, what a column tells of each."""
        rows = [[_cell(one, told) for told in columns.values()] for one in of]
        self.table(title, list(columns), rows)

    def end(self) -> None:
        """Print what was gathered."""
        if self._length.quiet:
            self._print_words("line", "answer", "caution")
        elif self._length.whole or self._length.rows is not None:
            self._print_whole()
        else:
            self._print_screen()
        self._blocks = []
        self._file.flush()

    def _print_words(self, *kinds: str) -> int:
        """Lines of these kinds in their order; how many."""
        n = 0
        for block in self._blocks:
            if isinstance(block, _Words) and block.kind in kinds:
                n += self._lines(block.lines, block.style)
        return n

    def _print_whole(self) -> None:
        for block in self._blocks:
            if isinstance(block, _Words):
                self._lines(block.lines, block.style)
                continue
            rows = block.rows if self._length.rows is None else block.rows[: self._length.rows]
            self._lines(self._drawn(block, len(rows), drop=False))

    def _print_screen(self) -> None:
        left, kept_back = SCREEN[1], list(self._held)
        for block in (b for b in self._blocks if isinstance(b, _Words) and b.kind in ("line", "answer")):
            if block.kind == "answer" and SCREEN[1] - left + len(block.lines) > _ANSWER:
                kept_back = [*self._held, "more of the answer"]
                continue
            left -= self._lines(block.lines, block.style)
        self._lines(("",))
        left -= 1 + self._print_words("caution")
        written = [b for b in self._blocks if isinstance(b, _Words) and b.kind == "file"]
        files = [line for block in written for line in block.lines]
        left -= len(files) + (1 if files else 0)
        left -= _MORE
        fewest = 1
        for table in (b for b in self._blocks if isinstance(b, _Table)):
            n = len(table.rows) if len(table.rows) <= ROWS + 1 else ROWS
            while n and len(drawn := self._drawn(table, n, drop=True)) > left:
                n -= 1
            if n < min(fewest, len(table.rows)):
                n = 0
            fewest = _FEWEST
            if n:
                left -= self._lines(drawn)
            if n < len(table.rows):
                kept_back.append(_named(table.title, n, len(table.rows)))
        if any(b.kind == "remark" for b in self._blocks):
            kept_back.append("remarks")
        if kept_back:
            self._lines(("", *_in_short("All of it with --full: ", kept_back, self._width)))
        if files:
            self._lines(("", *files))

    def _lines(self, lines: Sequence[str], style: str = "") -> int:
        for text in lines:
            words = style
            if text.startswith("\x00"):  # a title among the lines of a table
                text, words = text[1:], "bold"
            if self._colours and words and text:
                text = f"\x1b[{';'.join(_CODES[word] for word in words.split())}m{text}\x1b[0m"
            self._file.write(text.rstrip() + "\n")
        return len(lines)

    def _drawn(self, table: _Table, n: int, *, drop: bool) -> list[str]:
        """The table's first rows as lines under a blank one; the title is marked."""
        of = f" ({n} of {len(table.rows)})" if n < len(table.rows) else ""
        title = _wrapped(table.title + of, self._room) if self._room else [table.title + of]
        out = ["", *("\x00" + line for line in title)]
        first = table._replace(rows=table.rows[:n])
        kept, body, widths = first.fitted(self._room, drop=drop)
        rows_wide = first._total(widths)
        heads = [table.heads[k] for k in kept]
        if self._room is not None and rows_wide > self._room:
            return out + self._list([" ".join(filter(None, head)) for head in heads], body)
        height = max(map(len, heads))
        heads = [[""] * (height - len(head)) + head for head in heads]
        for cells in (heads, None, *body):
            if cells is None:
                out.append("-" * rows_wide)
                continue
            for line in range(max(map(len, cells))):
                pieces = [cell[line] if line < len(cell) else "" for cell in cells]
                out.append(
                    _GAP.join(
                        piece.ljust(w) if table.left[k] else piece.rjust(w)
                        for piece, w, k in zip(pieces, widths, kept)
                    )
                )
        return out

    def _list(self, heads: list[str], body: list[list[list[str]]]) -> list[str]:
        """Every row as lines "heading: cell", under a rule each."""
        out = []
        for row in body:
            out.append("-" * min(self._width, 40))
            for head, cell in zip(heads, row):
                words = " ".join(cell)
                out += _wrapped(f"{head}: {words}" if head else words, self._width)
        return out


def _cell(one: Record, told: Tell) -> str:
    if callable(told):
        return told(one)
    if isinstance(told, str):
        return str(one[told])
    key, say, *more = told
    return str(say(one[key], *more))


def _wrapped(text: str, width: int, subsequent_indent: str = "") -> list[str]:
    """Lines of a paragraph; a word with a hyphen stays whole."""
    return textwrap.wrap(text, width, subsequent_indent=subsequent_indent, break_on_hyphens=False)


def _gist(caution: str) -> str:
    """The first part of a long caution."""
    if len(caution) <= WIDTH:
        return caution
    ends = [at for at in (caution.find(mark) for mark in (". ", "; ", ": ")) if at > 0]
    return caution[: min(ends)].rstrip(".") + "." if ends else caution


_MORE = 3
"""Lines that tell what was kept back."""


def _named(title: str, shown: int, of: int) -> str:
    """A table that is not shown whole, in a few words."""
    name = title
    for mark in (" (", ": ", ", ", "; "):
        name = name.partition(mark)[0]
    return f"{name[:1].lower()}{name[1:]} ({of - shown} {'more' if shown else 'rows'})"


def _in_short(begin: str, names: list[str], width: int) -> list[str]:
    """The names in two lines, and of those beyond it the number."""
    for n in range(len(names), 0, -1):
        rest = f" and {len(names) - n} more tables" if n < len(names) else ""
        lines = _wrapped(begin + ", ".join(names[:n]) + rest + ".", width)
        if len(lines) < _MORE:
            break
    return lines


def tell(text: Callable[[Page, Record], None], record: Record) -> None:
    """Print a record's page on standard output, as long as the options ask for.

    Parameters
    ----------
    text : callable
        Of a page and the record: writes the answer onto the page.
    record : dict
        What the command found.
    """
    out = Page()
    text(out, record)
    out.end()


def answer(out: Page, record: Record, *, good: bool | None = None) -> None:
    """The wing's name, the answer in words and the cautions.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        Of any command.
    good : bool or None
        Green where it is, red where it is not; None for neither.
    """
    if "wing" in record:
        out.say(record["wing"], "bold")
    for k, sentence in enumerate(record["answer"]["sentences"]):
        out.say(sentence, "" if k or good is None else "green" if good else "bold red")
    out.cautions(record["cautions"])


def rest(out: Page, record: Record) -> None:
    """What an answer ends with: what was assumed, what it rests on, and the files written."""
    if record.get("assumed"):
        rows = [(a["key"], as_spoken(a["value"])) for a in record["assumed"]]
        out.table("Assumed, because the file does not say", ["<key", "~value"], rows)
    out.line()
    for words in [record["about"]] if isinstance(record["about"], str) else record["about"]:
        out.say(words)
    out.files(record["files"])


def number(value: float | None, factor: float = 1.0, digits: int = 4) -> str:
    """A number in another unit to so many significant digits, plain where that is readable; "-" for none."""
    if value is None or not math.isfinite(value):
        return "-"
    value *= factor
    if value == 0:
        return "0"
    size = math.floor(math.log10(abs(value)))
    if not -4 <= size <= 6:
        return f"{value:.{digits - 1}e}"
    return f"{value:.{max(digits - 1 - size, 0)}f}"


def fixed(value: float | None, factor: float = 1.0, places: int = 1) -> str:
    """A number in another unit to so many places; "-" for none, and no minus before a zero."""
    if value is None:
        return "-"
    text = f"{value * factor:.{places}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def borne(value: float | None, places: int = 1) -> str:
    """A load that is borne or flown, rounded down as the verdict's; "-" for none."""
    return "-" if value is None else gees(value, places)


def reserve(value: float | None) -> str:
    """A reserve factor, rounded down to two places so that a failure is never written as 1.00."""
    if value is None:
        return "no limit"
    return down(value, 2) if value <= FAR else f"over {FAR:.0f}"


def digits(error: float) -> int:
    """Places, in mm, that mean something beside a standard deviation in m."""
    return max(0, min(2, -math.floor(math.log10(max(error * 1e3, 1e-3)))))


def load_unit(record: Record) -> tuple[str, int]:
    """What loads are counted in, a heading, and to how many places."""
    return ("times\nits load", 2) if record["kind"] == "specimen" else ("g", 1)
