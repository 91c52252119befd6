"""The page put together: sections of words, figures and tables through the templates, with all text escaped.

One document without any address to fetch: style, script, figures and the turning view stand in it. A policy
in its head forbids the browser to fetch anything else.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

from models.page import inputs, tables
from models.page.contents import Contents
from models.page.figures import Picture, pictures
from models.page.svg import themed
from models.page.tables import Table
from models.page.views import MARK

PAPERS = {"a4": "A4 portrait", "letter": "letter portrait"}
"""Papers by the word of the option."""


@dataclass(frozen=True)
class Section:
    """A part of the page under a heading.

    Parameters
    ----------
    key : str
        Its address within the page.
    name : str
        The heading.
    words : tuple of str
        Paragraphs under it.
    pictures : tuple of Picture
        Figures.
    tables : tuple of Table
        Tables.
    bands : bool
        Whether the key of the bands of reserve factor stands with it.
    """

    key: str
    name: str
    words: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()
    tables: tuple[Table, ...] = ()
    bands: bool = False


def html(contents: Contents, *, paper: str | None = None, printed: bool = False) -> str:
    """The page as one HTML document.

    Parameters
    ----------
    contents : Contents
        What it says.
    paper : str or None
        One of `PAPERS`, to print on; None leaves the choice to who prints.
    printed : bool
        For typesetting onto paper: light, still pictures, no script.

    Returns
    -------
    str
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("models.page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["drawn"] = str if printed else themed
    environment.filters["code"] = _code
    return environment.get_template("page.html.j2").render(
        contents=contents,
        sections=sections(contents),
        answer=_answer(contents),
        band_key=tables.band_key(),
        paper=PAPERS[paper] if paper else None,
        printed=printed,
        scenes=_scenes(contents),
    )


def sections(contents: Contents) -> list[Section]:
    """Parts of the page after the answer and the view in three dimensions, those that this wing has.

    Parameters
    ----------
    contents : Contents
        What the page says.

    Returns
    -------
    list of Section
    """
    drawn = pictures(contents)
    of = lambda key: tuple(drawn.get(key, ()))  # noqa: E731
    checked, note = contents.checked, contents.note
    out = []
    if contents.noted is not None:
        out.append(Section("cases", "Which load is the hardest", tables=(tables.cases(contents.noted),)))
    out.append(Section("loads", "What it carries along the span", pictures=of("loads")))
    out.append(Section("movement", "How it bends and twists", _far(checked), of("movement")))
    strength = [*tables.reserve_tables(contents.margins), tables.bay_table(checked)]
    strength += [t for t in (tables.other_table(checked), tables.secondary_table(checked)) if t is not None]
    out.append(
        Section(
            "strength", "How near each bay is to failing", tuple(checked["answer"]["sentences"]),
            tables=tuple(strength), bands=True,
        )
    )  # fmt: skip
    if contents.flown is not None:
        out.append(
            Section(
                "envelope", "How hard it may be flown", tuple(contents.flown["answer"]["sentences"]),
                of("envelope"), (tables.corner_table(contents.flown), tables.speed_table(contents.flown)),
            )
        )  # fmt: skip
    if contents.balanced is not None:
        out.append(
            Section(
                "balance", "What it weighs and where it balances",
                tuple(contents.balanced["answer"]["sentences"]), of("balance"),
                (
                    tables.state_table(contents.balanced),
                    tables.weight_table(contents.balanced, [m.name for m in contents.wing.masses]),
                ),
            )
        )  # fmt: skip
    compared = contents.compared
    out.append(
        Section(
            "layouts", "What each layout of webs buys", tuple(compared["answer"]["sentences"]), of("layouts"),
            tuple(tables.layout_tables(compared)),
        )
    )  # fmt: skip
    assumed = inputs.assumed_table(contents.wing)
    wing = [*inputs.wing_tables(contents.wing), *([assumed] if assumed else [])]
    out.append(Section("inputs", "What went in, and what was assumed", tables=tuple(wing)))
    proof = tables.proof_table(checked, note.cases if note else None)
    out.append(Section("proof", "What the solve had to prove", tables=(proof,)))
    out.append(Section("sources", "Where the rules come from", tables=(tables.source_table(checked),)))
    return [s for s in out if s.words or s.pictures or s.tables]


def _far(checked: dict[str, Any]) -> tuple[str, ...]:
    """What is said where small movements no longer hold."""
    said = checked["small_movements"]["sentence"]
    return () if said is None else (said,)


def _answer(contents: Contents) -> dict[str, Any]:
    """The verdict in a few words, how it looks, and in sentences under headings."""
    note, noted = contents.note, contents.noted
    if note is not None and noted is not None:
        looks, short = "bad", "Not fit to fly as drawn"
        if note.fit:
            looks, short = "good", "Fit to fly as drawn"
            failing = {one.kind for one in note.verdict.ground if one.mean < 1}
            if failing:
                looks, short = "warn", f"Fit to fly as drawn; fails when {_when(failing)}"
        return {"looks": looks, "short": short} | {
            "paragraphs": noted["answer"]["paragraphs"], "description": noted["description"],
        }  # fmt: skip
    found = contents.checked["answer"]
    return {
        "looks": "good" if found["survives"] else "bad",
        "short": "Survives its load" if found["survives"] else "Fails under its load",
        "paragraphs": {"Verdict": found["sentences"]},
        "description": "A specimen clamped at its root under a load at its tip; what belongs to flight is "
        "left out.",
    }


def _when(groups: set[str]) -> str:
    words = {"landing": "it lands hard", "carrying": "it is carried"}
    return " or ".join(words[group] for group in sorted(groups, reverse=True))


def _code(words: str) -> Any:
    """Words with what stands between backticks as code, escaped."""
    from markupsafe import Markup, escape

    return Markup(re.sub(r"`([^`]*)`", r"<code>\1</code>", str(escape(words))))


def _scenes(contents: Contents) -> str:
    """Viewer and data of the turning views as JSON that no tag can end early."""
    views = contents.views
    document = {
        "mark": MARK,
        "viewer": views.viewer,
        "scenes": {view.key: view.scene for view in views.views if view.scene},
    }
    return json.dumps(document).replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
