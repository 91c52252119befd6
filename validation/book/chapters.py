"""The families of cases in the order in which the book has them, a family a file of `validation.cases`."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from importlib import import_module, resources
from inspect import cleandoc
from typing import Any

from models.strength.modes import MODES
from validation.case import Case

CHAPTERS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    (
        "solids",
        "Built-up spars and half wings against solids",
        ("solid_spars", "more_solids", "askew_solids", "whole_wings", "more_wings", "ladders"),
    ),
    (
        "measured",
        "Structures that were measured and broken",
        ("spruce_square", "plate_wing", "skinned_plate_wing", "strips", "broken_beams", "piece_tests"),
    ),
    ("beams", "Beams and frames", ("beams", "macneal_harder", "frames")),
    ("sheets", "Membranes", ("membranes",)),
    (
        "walls",
        "Thin walls, cells and shear panels",
        ("spar_webs", "sections", "cells", "channel", "cut_out", "shear_lag", "booms"),
    ),
    ("stability", "Buckling and vibration", ("stability", "vibration")),
    ("modes", "Modes of failure", ("strength_modes", "failure_modes", "joiners")),
    ("covering", "Covering", ("covering",)),
    ("scatter", "Scatter and slopes", ("reliability", "sensitivities")),
    (
        "loads",
        "Lift, loads and balance",
        ("lift", "lifting_surfaces", "planforms", "envelope", "load_cases", "balance", "rails"),
    ),
    ("air", "Divergence, reversal and flutter", ("aeroelastic", "swept_plate")),
)
"""Key, name and files of every chapter."""


@dataclass(frozen=True)
class Family:
    """Cases of one file.

    Parameters
    ----------
    key : str
        Name of the file, without its ending.
    words : str
        What its docstring says.
    cases : tuple of Case
        In their own order.
    """

    key: str
    words: str
    cases: tuple[Case, ...]

    @property
    def name(self) -> str:
        """The first sentence of its words, without the dot."""
        return self.words.split("\n\n")[0].replace("\n", " ").rstrip(".")


@dataclass(frozen=True)
class Chapter:
    """Families that belong together; `key` is its address within the book."""

    key: str
    name: str
    families: tuple[Family, ...]


def chapters(cases: Iterable[Case]) -> tuple[Chapter, ...]:
    """Cases by chapter and family.

    Parameters
    ----------
    cases : iterable of Case
        All or some.

    Returns
    -------
    tuple of Chapter
        Those that have any; a file that no chapter names comes last, under "Others".
    """
    by_file: dict[str, list[Case]] = {}
    for case in cases:
        by_file.setdefault(file_of(case), []).append(case)
    named = {name for _, _, names in CHAPTERS for name in names}
    others = ("others", "Others", tuple(name for name in by_file if name not in named))
    out = []
    for key, title, names in (*CHAPTERS, others):
        families = tuple(_family(name, by_file[name]) for name in names if name in by_file)
        if families:
            out.append(Chapter(key, title, families))
    return tuple(out)


def file_of(case: Case) -> str:
    """Name of the file, without its ending, whose function computes a case."""
    return str(_function(case).__module__).rsplit(".", 1)[-1]


def set_up(case: Case) -> tuple[str, ...]:
    """What is said of a case's set-up and rule, a paragraph each.

    Parameters
    ----------
    case : Case
        One that bears the name of a mode of failure has the words of that mode's file.

    Returns
    -------
    tuple of str
        Empty where nothing is said beside the title.
    """
    said = _paragraphs(_function(case).__doc__ or "")
    for mode in MODES:
        if re.sub(r"\W+", "-", mode.name) == case.name:
            return (*said, *_paragraphs(import_module(mode.find.__module__).__doc__ or ""))
    return said


def _paragraphs(text: str) -> tuple[str, ...]:
    """Of a docstring, each on one line, without heads and parameters."""
    text = cleandoc(text)
    found = (" ".join(part.split()) for part in re.split(r"\n\n", text) if "\n---" not in part)
    return tuple(part for part in found if part)


def _function(case: Case) -> Any:
    run: Any = case.run
    while True:
        if isinstance(run, partial):
            run = run.func
        elif hasattr(run, "__wrapped__"):
            run = run.__wrapped__
        else:
            return run


def _family(name: str, cases: list[Case]) -> Family:
    words = None
    if file_of(cases[0]) == name:
        try:
            words = import_module(f"validation.cases.{name}").__doc__
        except ImportError:  # a case of a test's own
            words = None
    about = resources.files("validation.cases").joinpath(f"{name}.json")
    if about.is_file():
        said = json.loads(about.read_text(encoding="utf-8")).get("about")
        words = f"{(words or name).strip()}\n\nThe references: {said}" if said else words
    return Family(name, (words or name).strip(), tuple(cases))
