"""Records of answers as text and tables for people: builder's units, a sane number of digits.

An answer is gathered first and printed at its end: on one screen, unless all of it is asked for. Printed
whole into a file, tables take the width that they need, so that a report looks the same everywhere.
"""

from __future__ import annotations

import math
import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from typing import IO, Any

from models.cautions import CAUTIONS, IN_SHORT
from models.rounding import down

Record = dict[str, Any]

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
_CODES = {"bold": "1", "red": "31", "green": "32", "yellow": "33"}


@dataclass(frozen=True)
class Length:
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


@dataclass(frozen=True)
class _Words:
    lines: tuple[str, ...]
    style: str
    kind: str


@dataclass(frozen=True)
class _Table:
    title: str
    heads: list[list[str]]
    left: list[bool]
    folds: list[bool]
    spare: list[bool]
    rows: list[list[str]]
    kind: str = field(default="table", init=False)

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
        columns = shutil.get_terminal_size((WIDTH, 24)).columns if terminal else unseen
        self._width = min(WIDTH, columns)
        self._room = columns if terminal or not self._length.whole else None
        self._blocks: list[_Words | _Table] = []
        self._kind = "answer"

    @property
    def width(self) -> int:
        """Of a paragraph."""
        return self._width

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
        left, kept_back = SCREEN[1], []
        for block in (b for b in self._blocks if isinstance(b, _Words) and b.kind in ("line", "answer")):
            if block.kind == "answer" and SCREEN[1] - left + len(block.lines) > _ANSWER:
                kept_back = ["more of the answer"]
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
        first = replace(table, rows=table.rows[:n])
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
    """A load that is borne, rounded down as the verdict's; "-" for none."""
    return "-" if value is None else down(value, places)


def reserve(value: float | None) -> str:
    """A reserve factor, rounded down to two places so that a failure is never written as 1.00."""
    if value is None:
        return "no limit"
    return down(value, 2) if value <= FAR else f"over {FAR:.0f}"


_DEG = 180 / math.pi


def check_text(out: Page, record: Record) -> None:
    """The answer of `check`: words first, then the cautions, then the tables.

    Parameters
    ----------
    out : Console
        Where to.
    record : dict
        From `models.command.record.check_record`.
    """
    answer(out, record, good=record["answer"]["survives"])
    _bays(out, record)
    if "covering" in record:
        _covering(out, record["covering"])
    if record["kind"] == "wing":
        _flight(out, record["results"]["pull_up"])
    else:
        _bench(out, record)
    _mass(out, record["mass"])
    _solve_checks(out, record)
    if record["assumed"]:
        rows = [(a["key"], a["value"]) for a in record["assumed"]]
        out.table("Assumed, since the file does not say", ["<key", "~taken as"], rows)
    if record.get("sources"):
        rows = [(s["mode"], s["source"]) for s in record["sources"]]
        out.table("Where the rules come from", ["<mode of failure", "~source"], rows)
    _hangs_on(out, record)


def _bays(out: Page, record: Record) -> None:
    flying = record["kind"] == "wing"
    what = "fails\nat, g" if flying else "fails at\ntimes load"
    key = "load_factor_at_failure" if flying else "load_multiple_at_failure"

    sides = any(m["side"] == "port" for m in record["bays"])
    spars = len({m["spar"] for m in record["bays"]}) > 1

    def row(m: Record) -> tuple[str, ...]:
        goes = f"{m['part'].rpartition(': ')[2]}: {m['mode']}"
        applied, allowable = (number(m[key], _unit_factor(m), 3) for key in ("applied", "allowable"))
        fails = borne(m[key], 1 if flying else 2) if _near(m) else "-"
        return (
            *([m["side"] or "-"] if sides else []),
            *([m["spar"] or "-"] if spars else []),
            goes,
            reserve(m["reserve_factor"]),
            fails,
            f"{applied} of {allowable} {_unit_name(m)}".strip(),
        )

    columns = [*(["<side"] if sides else []), *(["<spar"] if spars else [])]
    columns += ["<goes first", "reserve\nfactor", what, "?applied of allowable"]
    bays = [(str(m["bay"]), *row(m)) for m in record["bays"]]
    out.table("Bays, the weakest first", ["bay", *columns], bays)
    others = [m for m in record["other_parts"] if _near(m)]
    if others:
        title = "Rib posts, ribs, rails and sheeting, the weakest first"
        out.table(title, ["y, mm", *columns], [(fixed(m["y_m"], 1e3), *row(m)) for m in others])
    _secondary(out, record.get("secondary", []), key, what, flying=flying)


def _secondary(out: Page, margins: Sequence[Record], key: str, what: str, *, flying: bool) -> None:
    """What may give way sooner without ending the flight: the worst of every mode, and why."""
    near = [m for m in margins if _near(m)]
    if not near:
        return
    rows = [
        (
            m["mode"],
            m["part"],
            reserve(m["reserve_factor"]),
            borne(m[key], 1 if flying else 2),
            m["reason"],
        )
        for m in near
    ]
    columns = ["<mode", "<where it comes first", "reserve\nfactor", what, "?~why it is not counted"]
    out.table("May give way without ending the flight, or counts on a condition", columns, rows)


def _covering(out: Page, found: Record) -> None:
    """The wing bare and covered side by side, and what else its covering does."""
    wings = [("bare", found["bare"])]
    for words, of in (("covered", found), ("stiff film", found["stiff_end"])):
        if of is not None:
            wings += [(f"{words}, taut", of["taut"]), (f"{words}, wrinkling", of["wrinkled"])]
    rows = [
        (
            words,
            number(row["tip_deflection_m"], 1e3, 4),
            number(row["tip_twist_rad"], _DEG, 4),
            borne(row["load_factor_at_first_failure"]),
        )
        for words, row in wings
    ]
    out.table("Bare and covered", ["<wing", "tip up\nmm", "tip twist\ndeg", "fails\nat, g"], rows)
    modes = [
        (
            m["mode"],
            m["part"],
            borne(m["load_factor_at_failure"]),
            f"{number(m['applied'], _unit_factor(m), 3)} of {number(m['allowable'], _unit_factor(m), 3)} "
            f"{_unit_name(m)}",
            m["reason"],
        )
        for m in found["modes"]
    ]
    columns = ["<mode", "<where it comes first", "at, g", "?applied of allowable", "~and then"]
    out.table("What the covering may do", columns, modes)


def _hangs_on(out: Page, record: Record) -> None:
    """The figures whose doubt moves the load at first failure most, a line each."""
    figures = record["hangs_on"]["figures"]
    if not figures:
        return
    flying = record["kind"] == "wing"
    out.line()
    out.line("What this answer hangs on", "bold")
    for one in figures:
        change = one["load_factor_change"] if flying else one["load_multiple_change"]
        moved = f"{change:+.2f} g" if flying else f"{change:+.3g} times the load"
        percent = number(one["standard_deviation_over_figure"], 100, 2)
        words = f"{one['words'][:1].upper()}{one['words'][1:]}"
        out.say(f"{words}: {percent} % more moves the failing load by {moved}.")
    out.say(record["hangs_on"]["about"])


def _near(margin: Record) -> bool:
    factor = margin["reserve_factor"]
    return factor is not None and factor <= FAR


def _unit_factor(margin: Record) -> float:
    return 1e-6 if margin["unit"] == "Pa" else 1.0


def _unit_name(margin: Record) -> str:
    return "MPa" if margin["unit"] == "Pa" else str(margin["unit"])


def _flight(out: Page, case: Record) -> None:
    spars = list(dict.fromkeys(r["spar"] for r in case["ribs"]))
    by_spar = {spar: {round(r["y_m"], 7): r for r in case["ribs"] if r["spar"] == spar} for spar in spars}
    twist = {round(t["y_m"], 7): t["twist_rad"] for t in case["twist_of_wing"]}
    rows = []
    for y in sorted(set().union(*by_spar.values())):
        cells = [fixed(y, 1e3)]
        cells += [
            fixed(by_spar[spar][y]["deflection_m"], 1e3, 2) if y in by_spar[spar] else "-" for spar in spars
        ]
        rows.append((*cells, fixed(twist.get(y), _DEG, 2)))
    columns = ["y, mm", *(f"{spar} spar\nup, mm" for spar in spars), "wing's twist\nnose up, deg"]
    out.table(
        f"Deflection and twist at the ribs in the pull-up at {case['load_factor']:.1f} g", columns, rows
    )
    _mid_bays(out, "Stress half way along each bay", case["mid_bays"])


def _bench(out: Page, record: Record) -> None:
    titles = {"force": "the force alone", "torque": "the torque alone", "both": "force and torque"}
    cases = record["results"]
    asked = cases["both"]
    shown = [name for name, key in (("force", "tip_force_N"), ("torque", "tip_torque_N_m")) if asked[key]]
    if len(shown) == 2:
        shown.append("both")
    for name in shown:
        rows = [
            (r["spar"], fixed(r["y_m"], 1e3), number(r["deflection_m"], 1e3), number(r["twist_rad"], _DEG))
            for r in cases[name]["ribs"]
        ]
        columns = ["<spar", "y, mm", "up, mm", "twist\nnose up, deg"]
        out.table(f"Deflection and twist at the ribs and the tip, {titles[name]}", columns, rows)
        _mid_bays(out, f"Stress half way along each bay, {titles[name]}", cases[name]["mid_bays"])
    flex = record["flexibilities"]
    rows = [
        (
            spar,
            number(flex["deflection_by_force_m_per_N"][k][k], 1e3),
            number(flex["twist_by_torque_rad_per_N_m"][k][k], 1e-3 * _DEG),
            fixed(flex["twist_free_force_aft_of_caps_m"][k], 1e3, 2),
        )
        for k, spar in enumerate(flex["spars"])
    ]
    columns = ["<spar", "tip up\nmm per N", "tip twist\ndeg per N mm", "twist-free force\naft of caps, mm"]
    out.table("Flexibility", columns, rows)


def _mid_bays(out: Page, title: str, bays: Sequence[Record]) -> None:
    carried = {face for b in bays for face in b["web_shear_stress_Pa"]}
    faces = [face for face in ("front", "between", "rear") if face in carried]
    rows = []
    for b in bays:
        caps = [number(b[f"{c}_cap_stress_Pa"], 1e-6, 3) for c in ("upper", "lower")]
        webs = [number(b["web_shear_stress_Pa"].get(face), 1e-6, 3) for face in faces]
        rows.append((b["spar"], str(b["bay"]), b["side"] or "-", fixed(b["y_m"], 1e3), *caps, *webs))
    columns = [
        "<spar",
        "bay",
        "<side",
        "y, mm",
        "upper\ncap",
        "lower\ncap",
        *(f"{face}\nweb" for face in faces),
    ]
    out.table(f"{title}: axial stress of caps, mean shear stress of webs, MPa", columns, rows)


def _mass(out: Page, mass: Record) -> None:
    kinds = sorted(mass["structure_by_kind_kg"].items(), key=lambda item: -item[1])
    rows = [(kind, fixed(kg, 1e3)) for kind, kg in kinds]
    rows.append(("structure", fixed(mass["structure_kg"], 1e3)))
    if mass.get("covering_kg"):
        rows.append(("covering", fixed(mass["covering_kg"], 1e3)))
    rows += [(name, fixed(kg, 1e3)) for name, kg in mass.get("carried_by_name_kg", {}).items()]
    totals = {"wing_with_all_it_carries_kg": "wing with all it carries", "aeroplane_kg": "whole aeroplane"}
    rows += [(name, fixed(mass[key], 1e3)) for key, name in totals.items() if key in mass]
    out.table("Mass (of a wing, both sides)", ["<part", "grams"], rows)


def _solve_checks(out: Page, record: Record) -> None:
    names = {
        "residual_over_loads": "force left over at a node, over the loads",
        "reaction_sum_over_loads": "loads and reactions together, over the loads",
        "support_reaction_over_loads": "reaction of the supports of the wing in flight, over the loads",
        "energy_difference": "work of the loads against strain energy, relative",
        "smallest_scaled_pivot": "smallest pivot of the scaled matrix (0 is a mechanism)",
    }
    rows = [(names[key], f"{value:.1e}") for key, value in record["solve_checks"].items()]
    mesh = record["mesh"]
    out.table("Proof of the solve", ["<check", "value"], rows)
    joints = "rigid rib joints" if mesh["rigid_joints"] else "rib joints that give"
    size = f"{mesh['n_nodes']} nodes, {mesh['n_elements']} elements"
    out.say(f"Mesh: {mesh['elements_per_bay']} elements a bay, {size}, {joints}.")
    out.say(mesh["words"])


def compare_text(out: Page, record: Record) -> None:
    """The answer of `compare`: words first, then a table for the wing and for each spar.

    Parameters
    ----------
    out : Console
        Where to.
    record : dict
        From `models.command.compare`.
    """
    answer(out, record)
    for scope in dict.fromkeys(r["scope"] for r in record["layouts"]):
        _layouts(out, scope, [r for r in record["layouts"] if r["scope"] == scope])
    out.say(record["about_gains"])


_STRENGTH = {
    "load_factor_at_first_failure": ("fails at\ng", 1),
    "load_multiple_at_first_failure": ("fails at\ntimes load", 2),
    "tip_force_at_first_failure_N": ("fails at\nN", 2),
}


def _layouts(out: Page, scope: str, rows: Sequence[Record]) -> None:
    strength = next(key for key in _STRENGTH if key in rows[0])
    heading, places = _STRENGTH[strength]
    cells = [
        (
            r["layout"],
            fixed(r["web_mass_kg"], 1e3, 2),
            borne(r[strength], places),
            number(r["bending_stiffness_N_per_m"], 1e-3, 3),
            number(r["torsional_stiffness_N_m_per_rad"], 1 / _DEG, 3),
            *([number(r["speed_m_per_s"], 3.6, 3)] if "speed_m_per_s" in r else []),
            number(r["tip_deflection_m"], 1e3, 4),
            number(r["tip_twist_rad"], _DEG, 4),
            *(fixed(r[f"{gain}_gain_percent_per_g"]) for gain in ("bending", "torsion", "strength")),
            r["first_failure"],
        )
        for r in rows
    ]
    columns = ["<layout", "webs\ngrams", heading, "bending\nN/mm", "torsion\nN m/deg"]
    columns += [*(["beats, twists\noff at, km/h"] if "speed_m_per_s" in rows[0] else [])]
    columns += ["tip up\nmm", "tip twist\ndeg", "bending\n%/g", "torsion\n%/g", "strength\n%/g"]
    columns += ["~first failure"]
    whom = "Whole wing" if scope == "wing" else f"Spar alone, {scope}"
    out.table(f"{whom}: tip movement under {rows[0]['tip_load']}", columns, cells)


_ANGLE_HEADS = {
    "upright": "upright",
    "along the span": "along span",
    "45 degrees, rising outboard": "45 rising",
    "45 degrees, falling outboard": "45 falling",
}


def grain_text(out: Page, record: Record) -> None:
    """The answer of `grain`: words first, then each web's governing mode, then its reserves by mode.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.grain`.
    """
    answer(out, record)
    out.line()
    out.say(record["about"])
    directions = record["directions"]
    if not directions:
        return
    heads = [_ANGLE_HEADS[d["grain"]] for d in directions]
    webs = list(zip(*(d["webs"] for d in directions)))
    rows = []
    for same in webs:
        one = same[0]
        rows.append(
            (
                *_web_name(one),
                fixed(one["depth_over_thickness"]),
                fixed(one["length_over_depth"], places=2),
                *(f"{reserve(w['reserve_factors'][w['governs']])} {w['governs']}" for w in same),
            )
        )
    columns = ["<spar", "bay", "<side", "<face", "depth over\nthickness", "length\nover depth"]
    columns += [f"<{h}" for h in heads]
    out.table("Least reserve factor of each web and what governs", columns, rows)
    modes = list(dict.fromkeys(mode for same in webs for w in same for mode in w["reserve_factors"]))
    for mode in modes:
        cells = [
            (*_web_name(same[0]), *(reserve(w["reserve_factors"].get(mode)) for w in same)) for same in webs
        ]
        out.table(f"Reserve factor: {mode}", ["<spar", "bay", "<side", "<face", *heads], cells)
    shares = [(*_web_name(same[0]), *(fixed(w["share_of_bending"], 100) for w in same)) for same in webs]
    out.table("Share of the spar's bending, %", ["<spar", "bay", "<side", "<face", *heads], shares)


def _web_name(web: Record) -> tuple[str, ...]:
    return web["spar"], str(web["bay"]), web["side"] or "-", web["face"]
