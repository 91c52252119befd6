"""Shipped wings with one thing changed."""

from __future__ import annotations

from models.wing.parts import Wing
from models.wing.reading import read_text
from models.wings import shipped


def limber_text() -> str:
    """The file of `limber`."""
    text = shipped()["trainer"].read_text(encoding="utf-8")
    for old, new in (('"front"\nthickness', '"rear"\nthickness'), ('"rear"\nto', '"front"\nto')):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def limber() -> Wing:
    """The trainer with its webs behind the spar and its brace ahead, where its twist adds to its lift."""
    return read_text(limber_text())


def heavy_tips_text() -> str:
    """The file of `heavy_tips`."""
    text = shipped()["powered-tailless"].read_text(encoding="utf-8")
    assert text.count('x = "370 mm"') == 1
    return text.replace('x = "370 mm"', 'x = "470 mm"')


def heavy_tips() -> Wing:
    """The powered wing with its fins so far aft that its tips beat first."""
    return read_text(heavy_tips_text())
