"""The figures of `woods.toml`, read once when first asked for, and the line that says where one is from."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any


@lru_cache(maxsize=1)
def tables() -> dict[str, Any]:
    """Tables of the data file as they stand there; nobody may change them."""
    with Path(__file__).with_name("woods.toml").open("rb") as file:
        return tomllib.load(file)


def cite(figure: Mapping[str, Any]) -> str:
    """Source, note and, in square brackets, tag of a figure of the data file."""
    note = f" ({figure['note']})" if "note" in figure else ""
    return f"{tables()['sources'][figure['source']]}{note} [{figure['tag']}]"
