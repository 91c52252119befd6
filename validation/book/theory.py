"""What the book says of the mechanics (`theory.toml`): equations as the code has them, each with its source
and the file that holds it.

Nothing in it is new: every source is named, with how far it was read, in the docstrings of the file beside it
(a test looks there).
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib import resources


@dataclass(frozen=True)
class Source:
    """A source and the file whose docstrings name it.

    Parameters
    ----------
    words : str
        Author, title, and how far it was read.
    key : str
        A word of it that the file holds.
    file : str
        Below the top folder.
    """

    words: str
    key: str
    file: str


@dataclass(frozen=True)
class Topic:
    """A piece of the theory.

    Parameters
    ----------
    key, name : str
        Its address within the page and its heading.
    body : tuple of str
        Paragraphs; one that begins with "= " is an equation, with markup for what stands high and low.
    sources : tuple of Source
        Where it comes from.
    """

    key: str
    name: str
    body: tuple[str, ...]
    sources: tuple[Source, ...]


def _read() -> tuple[Topic, ...]:
    text = resources.files("validation.book").joinpath("theory.toml").read_text(encoding="utf-8")
    return tuple(
        Topic(
            topic["key"],
            topic["name"],
            tuple(" ".join(part.split()) for part in topic["body"].strip().split("\n\n")),
            tuple(Source(**source) for source in topic["sources"]),
        )
        for topic in tomllib.loads(text)["topic"]
    )


TOPICS = _read()
