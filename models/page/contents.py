"""What a report page is made from: the wing, its studies, and the records that the other commands print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from models.analysis import Analysis
from models.page.views import Views
from models.pictures.first import ShownReserves
from models.strength import Margins
from models.studies.compare import LayoutResult
from models.studies.doubts import Doubt
from models.studies.note import Note
from models.wing.parts import Wing

Record = dict[str, Any]


@dataclass(frozen=True, eq=False)
class Contents:
    """Everything that the page says.

    Parameters
    ----------
    wing : Wing
        As read.
    file, text : str
        Its file's name as it was typed, and what stands in it.
    analysis : Analysis
        The load of the file, solved.
    margins : Margins
        Its reserve factors.
    layouts : tuple of LayoutResult
        Layouts of webs compared.
    note : Note or None
        The whole picture; None of a specimen.
    judged : ShownReserves
        Reserves as pictures show them: what the verdict names first.
    doubts : tuple of Doubt
        Figures that the load at first failure hangs on, the one that moves it most first.
    views : Views
        Of the wing in three dimensions.
    checked, compared : dict
        What `check` and `compare` print.
    noted, flown, balanced : dict or None
        What `note`, `envelope` and `balance` print; None of a specimen.
    version, made : str
        Of the program; the day.
    """

    wing: Wing
    file: str
    text: str
    analysis: Analysis
    margins: Margins
    layouts: tuple[LayoutResult, ...]
    note: Note | None
    judged: ShownReserves
    doubts: tuple[Doubt, ...]
    views: Views
    checked: Record
    compared: Record
    noted: Record | None
    flown: Record | None
    balanced: Record | None
    version: str
    made: str
