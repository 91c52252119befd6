"""Webs written back into a wing file's text; comments, order and spelling of everything else stay.

tomlkit keeps a TOML text as it was written. An entry of webs keeps the bays that still have just its webs;
what is left goes into an entry that would make the same, else into new ones. An entry without bays goes, its
comments do not.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from models.wing.parts import Spar, Wing
from models.wing.schema import WebTable
from models.wing.words import number_runs

_COMMENT_OR_TEXT = re.compile(r'"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|#[^\r\n]*')


@dataclass(frozen=True)
class Make:
    """How a web is made, in the words of the file: "1.5 mm", "balsa medium", "upright", "aliphatic"."""

    thickness: str
    wood: str
    grain: str
    glue: str


WebKey = tuple[str, int, str]
"""Side, bay and face."""


def entry_make(entry: Mapping[str, Any]) -> Make:
    """How the webs of one entry of the file are made, defaults filled in."""
    default = {key: WebTable.model_fields[key].default for key in ("wood", "grain", "glue")}
    return Make(
        *(str(entry[k]) if k in entry else str(default[k]) for k in ("thickness", "wood", "grain", "glue"))
    )


def entry_places(entry: Mapping[str, Any], wing: Wing, spar: Spar) -> list[WebKey]:
    """Side, bay and face of every web of one entry of the file."""
    table = WebTable.model_validate(dict(entry))
    bays = table.bays or tuple(reached(wing, spar))
    sides = ("starboard",) if wing.clamped else ("starboard", "port")
    sides = sides if table.side == "both" else (table.side,)
    faces = ("front", "rear") if table.face == "both" else (table.face,)
    return [(side, bay, face) for bay in bays for side in sides for face in faces]


def reached(wing: Wing, spar: Spar) -> list[int]:
    """Numbers of the bays that a spar passes, from the centre outward."""
    edges = wing.bay_edges
    return [wing.first_bay + i for i in range(len(edges) - 1) if edges[i] < spar.y_end - 1e-9]


def file_makes(raw: Mapping[str, Any], wing: Wing) -> list[dict[WebKey, Make]]:
    """How every web of a file is made, spar by spar."""
    found = []
    for table, spar in zip(raw["spars"], wing.spars, strict=True):
        makes: dict[WebKey, Make] = {}
        for entry in table.get("webs", ()):
            makes |= dict.fromkeys(entry_places(entry, wing, spar), entry_make(entry))
        found.append(makes)
    return found


def with_webs(text: str, wing: Wing, wanted: Mapping[str, Mapping[WebKey, Make]]) -> str:
    """A wing file's text with other webs.

    Parameters
    ----------
    text : str
        Of the file.
    wing : Wing
        The same, read.
    wanted : mapping of str to mapping
        By spar all webs it shall have: side, bay and face, and how each is made.
    """
    import tomlkit

    document = tomlkit.parse(text)
    tables: Any = document["spars"]
    changed = False
    for table, spar in zip(tables, wing.spars, strict=True):
        changed |= _rewrite(table, wing, spar.name, dict(wanted.get(spar.name, {})))
    if not changed:
        return text
    out = tomlkit.dumps(document)
    if "\r\n" in text:
        out = out.replace("\r\n", "\n").replace("\n", "\r\n")
    return out


def _rewrite(table: Any, wing: Wing, name: str, left: dict[WebKey, Make]) -> bool:
    spar = next(s for s in wing.spars if s.name == name)
    entries: Any = table.get("webs", [])
    places = [entry_places(e.unwrap(), wing, spar) for e in entries]
    makes = [entry_make(e.unwrap()) for e in entries]
    before = [sorted({bay for _, bay, _ in of}) for of in places]
    kept: list[list[int]] = []
    for of, make, bays in zip(places, makes, before):
        mine = {b: [key for key in of if key[1] == b] for b in bays}
        kept.append([b for b in bays if all(left.get(key) == make for key in mine[b])])
        for b in kept[-1]:
            for key in mine[b]:
                del left[key]
    for of, make, bays in zip(places, makes, kept):
        pattern = {(side, face) for side, _, face in of}
        for b in sorted({key[1] for key in left}):
            here = {(side, face) for side, bay, face in left if bay == b}
            if here == pattern and all(left[side, b, face] == make for side, face in here):
                bays.append(b)
                for side, face in here:
                    del left[side, b, face]
    new = _grouped(left, wing)
    if not new and all(sorted(after) == bays for after, bays in zip(kept, before)):
        return False
    for entry, bays, old in zip(entries, kept, before):
        if bays and sorted(bays) != old:
            entry["bays"] = _bays(bays)
    for j in reversed(range(len(kept))):
        if not kept[j]:
            _take_out(table, entries, j)
    for figures in new:
        _put_in(table, figures)
    return True


def _grouped(left: Mapping[WebKey, Make], wing: Wing) -> list[dict[str, Any]]:
    """New entries: bays that carry the same webs of the same make together."""
    groups: dict[tuple[str, str, Make], list[int]] = {}
    for bay in sorted({key[1] for key in left}):
        found: dict[tuple[str, Make], list[str]] = {}
        for face in ("front", "between", "rear"):
            for side in ("starboard", "port"):
                if (side, bay, face) in left:
                    found.setdefault((face, left[side, bay, face]), []).append(side)
        rows = {}
        for (face, make), sides in found.items():
            word = "both" if len(sides) == 2 or wing.clamped else sides[0]
            rows[face, word, make] = True
        for face, word, make in list(rows):
            if face == "front" and ("rear", word, make) in rows:
                del rows["front", word, make], rows["rear", word, make]
                rows["both", word, make] = True
        for row in rows:
            groups.setdefault(row, []).append(bay)
    out = []
    for (face, side, make), bays in groups.items():
        figures = {"bays": _bays(bays), "side": side, "face": face, "thickness": make.thickness}
        figures |= {"wood": make.wood, "grain": make.grain, "glue": make.glue}
        if side == "both":
            del figures["side"]
        if make.glue == "aliphatic":
            del figures["glue"]
        out.append(figures)
    return out


def _bays(bays: list[int]) -> Any:
    """Bays as a file writes them: "3-7", or a list of such."""
    words = number_runs(bays)
    return words[0] if len(words) == 1 else words


def _take_out(table: Any, entries: Any, j: int) -> None:
    """Take an entry out; its comments stay, with the entry before it or, without one, at the spar."""
    import tomlkit
    from tomlkit.items import AoT

    if not isinstance(entries, AoT):
        before = _COMMENT_OR_TEXT.findall(entries.as_string())
        del entries[j]
        for line in _COMMENT_OR_TEXT.findall(entries.as_string()):
            before.remove(line)
        for line in before:
            if line.startswith("#"):
                entries.add_line(comment=line.lstrip("#").strip(), indent="    ", add_comma=False)
        return
    comments = _comments(entries[j])
    del entries[j]
    home = entries[j - 1] if j else (entries[0] if len(entries) else table)
    if not len(entries):
        del table["webs"]
    for line in comments:
        home.add(tomlkit.comment(line.lstrip("#").strip()))


def _comments(entry: Any) -> list[str]:
    """All comments of an entry, those beside its keys as well."""
    from tomlkit.items import Whitespace

    items = [entry, *(item for _, item in entry.value.body)]
    return [i.trivia.comment for i in items if not isinstance(i, Whitespace) and i.trivia.comment]


def _words_for_what_follows(entry: Any) -> list[str]:
    """Comments after the last blank line of an entry, which are about what stands below it; taken off it."""
    from tomlkit.items import Comment, Whitespace

    body = entry.value.body
    at = len(body)
    while at and body[at - 1][0] is None and isinstance(body[at - 1][1], Comment):
        at -= 1
    if at == len(body) or not at or not isinstance(body[at - 1][1], Whitespace):
        return []
    found = [item.trivia.comment for _, item in body[at:]]
    del body[at:]
    return found


def _put_in(table: Any, figures: Mapping[str, Any]) -> None:
    import tomlkit
    from tomlkit.items import AoT, InlineTable

    webs = table.get("webs")
    if webs is None and isinstance(table, InlineTable):
        webs = tomlkit.array()
        table["webs"] = webs
        webs = table["webs"]
    elif webs is None:
        table["webs"] = tomlkit.aot()
        webs = table["webs"]
    if isinstance(webs, AoT):
        entry: Any = tomlkit.table()
        entry.update(figures)
        after = _words_for_what_follows(webs[-1]) if len(webs) else []
        entry.add(tomlkit.nl())
        for line in after:
            entry.add(tomlkit.comment(line.lstrip("#").strip()))
    else:
        entry = tomlkit.inline_table()
        entry.update(figures)
    webs.append(entry)
