"""The page put together: sections of words, figures and tables through the templates, with all text escaped.

One document without any address to fetch: style, script, figures and the turning view stand in it. A policy
in its head forbids the browser to fetch anything else.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

import numpy as np

from models import units_out as say
from models.analysis import spar_motion, wing_twist
from models.page import inputs, tables
from models.page.contents import Contents
from models.page.figures import Picture, pictures
from models.page.scatter import scatter_picture
from models.page.svg import themed
from models.page.tables import PageTable
from models.page.views import MARK
from models.page.where import plan_picture, side_picture
from models.pictures import fields
from models.report.text import number
from models.rounding import down
from models.studies.note import Note
from models.verdict import Verdict, sentences, share

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
    tables : tuple of PageTable
        Tables.
    bands : bool
        Whether the key of the bands of reserve factor stands with it.
    wide : bool
        Its figures are as wide as the page.
    aside : tuple of str
        More sentences, folded.
    """

    key: str
    name: str
    words: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()
    tables: tuple[PageTable, ...] = ()
    bands: bool = False
    wide: bool = False
    aside: tuple[str, ...] = ()


def html(contents: Contents, *, paper: str | None = None, printed: bool = False) -> str:
    """The page as one HTML document.

    Parameters
    ----------
    contents : Contents
    paper : str or None
        One of `PAPERS`, to print on; None leaves the choice to who prints.
    printed : bool
        For typesetting onto paper: light, still pictures, no script.
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
        where=plan_picture(contents.analysis, contents.judged),
        figures=_figures(contents),
        band_key=tables.band_key(),
        paper=PAPERS[paper] if paper else None,
        printed=printed,
        scenes=_scenes(contents),
    )


def sections(contents: Contents) -> list[Section]:
    """Parts of the page after the answer and the view in three dimensions, those that this wing has."""
    drawn = pictures(contents)
    of = lambda key: tuple(drawn.get(key, ()))  # noqa: E731
    fold = tables.folded
    checked, note = contents.checked, contents.note
    out = []
    if note is not None:
        out.append(
            Section("scatter", "How surely: no two pieces of wood are alike", _surely(note.verdict),
                    (scatter_picture(note.verdict),))
        )  # fmt: skip
        out.append(Section("change", "What to change", _change(contents)))
    hangs = "What the answer hangs on, and what was assumed"
    out.append(Section("assumed", hangs, tables=_assumed(contents)))
    strength = [fold(t) for t in tables.reserve_tables(contents.judged.margins)]
    strength += [fold(tables.bay_table(checked), 6)]
    more = (tables.other_table(checked), tables.secondary_table(checked))
    strength += [fold(t, 3) for t in more if t is not None]
    sides = (side_picture(contents.analysis, contents.judged),)
    out.append(
        Section(
            "strength", "How near each bay is to failing", (contents.judged.sentence,), sides,
            tuple(strength), bands=True, wide=True,
        )
    )  # fmt: skip
    if contents.noted is not None:
        out.append(
            Section("cases", "Which load is the hardest", tables=(fold(tables.cases(contents.noted), 6),))
        )
    out.append(Section("loads", "What it carries along the span", pictures=of("loads")))
    out.append(Section("movement", "How it bends and twists", _far(checked), of("movement")))
    if contents.flown is not None:
        out.append(
            Section(
                "envelope", "How hard it may be flown", tuple(contents.flown["answer"]["sentences"][:2]),
                of("envelope"),
                (fold(tables.corner_table(contents.flown)), fold(tables.speed_table(contents.flown))),
                aside=tuple(contents.flown["answer"]["sentences"][2:]),
            )
        )  # fmt: skip
    if contents.balanced is not None:
        said = contents.balanced["answer"]["sentences"]
        out.append(
            Section(
                "balance", "What it weighs and where it balances", tuple(said[:2]), of("balance"),
                (
                    tables.state_table(contents.balanced),
                    fold(tables.weight_table(contents.balanced, [m.name for m in contents.wing.masses])),
                ),
                aside=tuple(said[2:]),
            )
        )  # fmt: skip
    compared = contents.compared
    said = compared["answer"]["sentences"]
    out.append(
        Section(
            "layouts", "What each layout of webs buys", tuple(said[:2]), of("layouts"),
            tuple(fold(t) for t in tables.layout_tables(compared)), aside=tuple(said[2:]),
        )
    )  # fmt: skip
    out.append(
        Section("inputs", "What went in", tables=tuple(fold(t) for t in inputs.wing_tables(contents.wing)))
    )
    proof = tables.proof_table(checked, note.cases if note else None)
    out.append(Section("proof", "What the solve had to prove", tables=(fold(proof),)))
    sources = fold(tables.source_table(checked))
    out.append(Section("sources", "Where the rules come from", tables=(sources,)))
    return [s for s in out if s.words or s.pictures or s.tables]


def _surely(found: Verdict) -> tuple[str, ...]:
    return (
        f"{share(found.survive)} such wings survive all that is asked in the air; "
        f"{down(100 * found.wanted, 0)} are wanted.",
    )


def _change(contents: Contents) -> tuple[str, ...]:
    """What to do first, and which commands look for the smallest changes."""
    assert contents.noted is not None
    said = contents.noted["answer"]["paragraphs"]
    found = list(said.get("Do first", []))
    found += [one for one in said["Verdict"] if one.startswith(("What to change", "What lets it fly faster"))]
    return tuple(found) or ("Nothing has to be changed for what the file asks.",)


def _assumed(contents: Contents) -> tuple[tables.PageTable, ...]:
    """Figures ranked by how far they move the load at first failure, then defaults, folded."""
    flying = contents.note is not None
    first = contents.margins.load_factor_at_first_failure()
    ranked = tables.hanging(contents.doubts, "g" if flying else "times load", first)
    assumed = inputs.assumed_table(contents.wing)
    out = []
    if ranked is not None:
        out = [tables.folded(ranked, 5), tables.folded(tables.hanging_sources(contents.doubts))]
    return tuple(out) if assumed is None else (*out, tables.folded(assumed))


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
            "why": _why(note),
        }  # fmt: skip
    found = contents.checked["answer"]
    return {
        "looks": "good" if found["survives"] else "bad",
        "short": "Survives its load" if found["survives"] else "Fails under its load",
        "paragraphs": {"Verdict": found["sentences"]},
        "why": found["sentences"][0],
        "description": "A specimen clamped at its root under a load at its tip; what belongs to flight is "
        "left out.",
    }


def _why(note: Note) -> str:
    """What decides, in a sentence or two: the share that survives, then what else speaks against it."""
    said = sentences(note.verdict, note.against)[0].partition(": ")[2]
    beside = [] if note.verdict.speed is None or note.verdict.speed.holds else [note.verdict.speed.sentence]
    if note.against and not note.verdict.fit:
        beside.append(f"Against it: {'; '.join(note.against)}.")
    return " ".join([f"{said[:1].upper()}{said[1:]}", *beside])


def _figures(contents: Contents) -> list[tuple[str, str, str, str]]:
    """Four figures that tell the most: number, unit, what it is, and its look."""
    if contents.note is None:
        found = contents.checked["answer"]
        factor = contents.margins.load_factor_at_first_failure()
        settled = fields.settled(contents.analysis)
        ends = [float(spar_motion(settled, s).deflection[-1]) for s in range(len(contents.wing.spars))]
        twist = float(np.degrees(wing_twist(settled)[1][-1]))
        looks = "good" if found["survives"] else "bad"
        return [
            (down(factor, 2), "times its load", "fails first, in mean wood", looks),
            (say.length.number(max(ends, key=abs), 3), say.length.unit, "the end moves up", ""),
            (number(twist, digits=3), "degrees", "the end twists, nose up", ""),
            (str(len({m.bay for m in contents.margins.rows if m.bay is not None})), "bays", "checked", ""),
        ]
    said = contents.note.verdict
    asked, wanted = f"{down(said.asked)} g are asked", f"{down(100 * said.wanted, 0)} are wanted"
    look = lambda holds: "good" if holds else "bad"  # noqa: E731
    out = [
        (
            down(100 * said.survive, 0), "of 100",
            f"such wings survive all that is asked in the air; {wanted}",
            look(said.survive >= said.wanted),
        ),
        (
            down(said.fifth), "g", f"one wing in twenty has failed in the pull-up; {asked}",
            look(said.fifth >= said.asked),
        ),
        (
            down(said.failing), "g", f"fails in the pull-up, in mean wood; {asked}",
            look(said.failing >= said.asked),
        ),
    ]  # fmt: skip
    speed = said.speed if said.speed is not None else contents.note.envelope.speed
    if speed is not None and np.isfinite(speed.advised):
        advised = say.speed.down(speed.advised)
        out.append((advised, say.speed.unit, "not to be flown faster", look(speed.holds)))
    else:
        one = said.hardest
        words = f"reserve factor of one wing in twenty in the hardest case, {one.name}"
        out.append((down(one.fifth, 2), "", words, look(one.fifth >= 1)))
    return out


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
