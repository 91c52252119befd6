"""The figures of `woods.toml`, and the line that says where one is from.

A table is parsed when it is first asked for: a wing knows three or four woods, and to read them all takes
longer than to build it.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

_HEADER = re.compile(
    r'^\[(?P<group>[\w-]+)(?:\.(?:"(?P<quoted>[^"]+)"|(?P<plain>[\w-]+)))?.*\]', re.MULTILINE
)


class _Unread(Mapping[str, Any]):
    """Tables by name, each parsed from its piece of text at the first look."""

    def __init__(self, texts: Mapping[str, str | Mapping[str, Any]], group: str | None = None) -> None:
        self._texts, self._group, self._read = texts, group, dict[str, Any]()

    def __getitem__(self, name: str) -> Any:
        text = self._texts[name]
        if not isinstance(text, str):
            return text
        if name not in self._read:
            whole = tomllib.loads(text)
            self._read[name] = whole[name] if self._group is None else whole[self._group][name]
        return self._read[name]

    def __contains__(self, name: object) -> bool:
        return name in self._texts

    def __iter__(self) -> Iterator[str]:
        return iter(self._texts)

    def __len__(self) -> int:
        return len(self._texts)


@lru_cache(maxsize=1)
def tables() -> Mapping[str, Any]:
    """Tables of the data file as they stand there; nobody may change them."""
    text = Path(__file__).with_name("woods.toml").read_text(encoding="utf-8")
    headers = list(_HEADER.finditer(text))
    ends = [header.start() for header in headers[1:]] + [len(text)]
    groups: dict[str, dict[str, str]] = {}
    for header, end in zip(headers, ends):
        name = header["quoted"] or header["plain"] or ""
        texts = groups.setdefault(header["group"], {})
        texts[name] = texts.get(name, "") + text[header.start() : end]
    # A group with figures of its own is read whole, another table by table.
    return _Unread(
        {
            group: "".join(texts.values()) if "" in texts else _Unread(texts, group)
            for group, texts in groups.items()
        }
    )


def spread(figure: Mapping[str, Any], left: float = 1.0) -> float:
    """Coefficient of variation of an entry of scatter, sqrt((left value)^2 + doubt^2): piece to piece, of
    which a share is left, as in a weighed piece, and the doubt of the figure itself, which stays."""
    return math.hypot(left * figure["value"], figure.get("doubt", 0.0))


def cite(figure: Mapping[str, Any]) -> str:
    """Source, note and, in square brackets, tag of a figure of the data file."""
    note = f" ({figure['note']})" if "note" in figure else ""
    return f"{tables()['sources'][figure['source']]}{note} [{figure['tag']}]"
