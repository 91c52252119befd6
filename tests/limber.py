"""The trainer with its single webs behind the spar instead of in front, where its twist adds to its lift."""

from __future__ import annotations

from models.wing.parts import Wing
from models.wing.reading import read_text
from models.wings import shipped


def limber_text() -> str:
    """Its file, in which its webs and its brace have changed faces, nothing else."""
    text = shipped()["trainer"].read_text(encoding="utf-8")
    for old, new in (('"front"\nthickness', '"rear"\nthickness'), ('"rear"\nto', '"front"\nto')):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def limber() -> Wing:
    return read_text(limber_text())
