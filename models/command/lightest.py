"""Which layout of webs is the lightest that meets my limits, and what does each gram buy?

Every bay of every spar may be open, or carry a web on the front, the rear or both faces, the same on both
sides. Layouts are searched as built, their sheeting whole; the answer holds every case in the air by the
verdict of `sparbay check`. Leaves with 1 if no layout meets the limits.

example: sparbay lightest trainer --bays 1-6 --load-factor 7
"""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Iterable
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, give, recorded
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import (
    filled,
    find,
    must_fly,
    new_folder,
    read_wing,
    refuse_file,
    with_ends_of,
    write_new,
    written,
)
from models.command.options import add_workers, quantity, shared, workers_asked
from models.command.progress import Progress
from models.report.text import Page, answer, borne, fixed, rest
from models.rounding import down
from models.wing.units import QuantityError, read_quantity
from models.workers import NoWorkers

if TYPE_CHECKING:
    from models.studies.lightest import Candidate, Lightest, Limits, Stock
    from models.verdict import Verdict
    from models.wing.parts import Wing

ABOUT = (
    "Each layout's answer is that of building, solving and checking it in the pull-up as built, its sheeting "
    "whole. A new web takes thickness, wood, grain and glue from the file's nearest web. Both sides carry "
    "the same webs."
)
JUDGED = (
    "Those that meet the limits so are judged by the verdict, the lightest first: sheeting bows, lift counts "
    "where the bent wing puts it if that is harder, and every case in the air is asked. A layout that holds "
    "by that alone was not looked at."
)

ONE_BY_ONE = (
    "Sheeting that ends between spars has its edge where webs push it, all along the span, so that each "
    "layout was built anew and few could be looked at."
)


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    shared(command, "file", "json", "mesh")
    add("--load-factor", metavar="N", type=quantity("load factor", 1, 100),
        help="to be borne (default: the file's)")  # fmt: skip
    add("--survival", metavar="SHARE", type=_survival, default=0.95,
        help="share of wings that must bear it, wood being what it is; none: the wing with its woods as in"
        " the tables (default: 95 %%)")  # fmt: skip
    size, angle = quantity("length", "0.001 mm", "10 m"), quantity("angle", "0.001 deg", "90 deg")
    add("--deflection", metavar="LENGTH", type=size, help="most at the tip")
    add("--twist", metavar="ANGLE", type=angle, help="most at the tip, either way")
    mass = quantity("mass", "0 g", "100 kg")
    add("--web-mass", metavar="MASS", type=mass, help="most of all webs together")
    add("--speed", metavar="SPEED", type=quantity("speed", "0.1 m/s", "100 m/s"),
        help="at which it is flown, by flutter and the like: 90km/h or 55mph")  # fmt: skip
    add("--stock", metavar="SHEETS", action="append",
        help='sheets at hand, "balsa medium, 1.5 mm: 2 x 100 mm x 1000 mm" or "1/16 in: 2 x 4 in x 36 '
        'in", the wood left out for any; counted by area; may be given again (default: no '
        "limit)")  # fmt: skip
    add("--runs", action=argparse.BooleanOptionalAction,
        help="a web once ended is not begun again outboard, face by face (default, where the file's own webs"
        " are so); --no-runs: every layout there is")  # fmt: skip
    add("--spar", metavar="NAME", action="append", help="spar whose webs may change (default: all)")
    add("--bays", metavar="RANGE", type=_bay_range, help='bays that may change, "1-8" say (default: all)')
    add("--seconds", metavar="S", type=quantity("number of seconds", 1, 3600), default=120.0,
        help="for a search where there are too many layouts to evaluate them all (default: 120)")  # fmt: skip
    add("--layout-out", metavar="NEW", help="write the wing file with this layout, its comments kept")
    add_workers(command)
    shared(command, "folder")


def _survival(text: str) -> float | None:
    return None if text == "none" else quantity("fraction", "50 %", "99.99 %")(text)


def _bay_range(text: str) -> tuple[int, int]:
    first, _, last = text.partition("-")
    try:
        low, high = int(first), int(last or first)
    except ValueError:
        low, high = 1, 0
    if low > high:
        raise argparse.ArgumentTypeError(f"{text!r} is not a bay, or a range of bays like 1-8")
    return low, high


def run(options: argparse.Namespace) -> ExitCode:
    """Look for the layout; 1 where none meets the limits."""
    from models.studies.lightest import Asymmetric, lightest
    from models.studies.lightest.search import survived

    folder = new_folder(options.folder)
    target = Path(options.layout_out) if options.layout_out else None
    if target is not None:
        refuse_file(target)
    wing = read_wing(options.file)
    if options.speed is not None:
        must_fly(wing, options.file, "--speed")
    limits = _limits(options, wing)
    free = _free(options, wing)
    asked = {"free": free, "per_bay": options.mesh, "seconds": options.seconds}
    try:
        with workers_asked(options) as work, Progress(12, quiet=True) as progress:
            run = None if work is map else work
            found = lightest(wing, limits, **asked, progress=progress, run=run)
            checked = found.best
            if found.best is not None and limits.survival is None:
                checked = survived(found.places, found.best, limits, options.mesh, progress, run)
    except Asymmetric as error:
        raise InputFault(f"{options.file}: {error}.") from error
    except NoWorkers as fault:
        raise InputFault(f"lightest: {fault}") from None

    def draw(place: Path) -> list[Path]:
        from models.pictures.lightest import plot_fronts

        return [plot_fronts(found, place / "lightest.png")]

    files = filled(folder, draw)
    if target is not None and found.best is not None:
        files += written(lambda: _write_layout(options.file, target, found))
    record = recorded(options, _figures(found, checked), files)
    if found.best is not None and wing.flies:
        _verify(record, found, options.mesh)
    return give(options, record, lightest_text, holds=found.best is not None)


def _verify(record: Record, found: Lightest, per_bay: int) -> None:
    """The whole verdict on the layout that was found, among the answers; if too few wings survive by that,
    the lightest heavier one on the front of mass against strength with which enough do.

    Along that front strength grows with mass, so that it is found by halving.
    """
    from models.studies.lightest.held import held
    from models.studies.lightest.search import first_that, meets
    from models.verdict import record as verdict_record
    from models.verdict import share

    known = {one.codes.tobytes(): one.verdict for one in found.judged}

    def judged(one: Candidate) -> Verdict:
        there = known.get(one.codes.tobytes())
        if there is not None:
            return there
        return held(found.places.laid(one.codes), found.limits.load_factor, per_bay=per_bay)

    best = found.best
    assert best is not None
    decided = best.verdict
    assert decided is not None
    record["verdict"] = verdict_record(decided)
    fit = "fit" if decided.fit else "not fit"
    words = (
        f"By the whole verdict, wood as it scatters, it is {fit}: {share(decided.survive)} such wings "
        "survive all that is asked."
    )
    if decided.tail_heavy:
        words += " It balances too far aft (`sparbay balance`)."
    if decided.twists_off is not None:
        near = f"{say.speed(decided.twists_off.ends):.0f}"
        words += f" It twists off, or trim ends, near {near} (`sparbay speed`)."
    if decided.strong:
        record["answer"]["sentences"].append(words)
        return
    front = [one for one in found.strength if one.web_mass > best.web_mass and meets(one, found.limits)]
    least = first_that(len(front), lambda k: judged(front[k]).strong)
    holds = None if least is None else front[least]
    if holds is None:
        words += f" No heavier one on that front is either; hardest is {decided.hardest.name}."
    else:
        more = _grams(holds.web_mass)
        words += f" The next that is strong enough by that: {in_words(holds.faces)}, {more}."
    record["strong_by_the_whole_verdict"] = None if holds is None else _row(holds)
    record["answer"]["sentences"].append(words)


def _limits(options: argparse.Namespace, wing: Wing) -> Limits:
    from models.studies.lightest import Limits

    factor = options.load_factor
    if factor is None:
        factor = wing.case.load_factor if wing.flies else 1.0
    return Limits(
        factor,
        options.survival,
        options.deflection,
        options.twist,
        options.web_mass,
        tuple(read_stock(text) for text in options.stock or ()),
        ends_once(wing) if options.runs is None else options.runs,
        options.speed,
    )


def ends_once(wing: Wing) -> bool:
    """Whether the file's webs end once on every face: bays that may not change are part of the rule."""
    for spar in wing.spars:
        for face in ("front", "rear"):
            bays = {web.bay for web in spar.webs if web.face == face}
            if bays and max(bays) - min(bays) >= len(bays):
                return False
    return True


def read_stock(text: str) -> Stock:
    """Sheets at hand from "balsa medium, 1.5 mm: 2 x 100 mm x 1000 mm", the wood left out for any.

    Parameters
    ----------
    text : str
        As it was typed.

    Returns
    -------
    Stock

    Raises
    ------
    InputFault
        Not of that form.
    """
    from models.studies.lightest import Stock

    wrong = InputFault(
        f'--stock: "{text}" is not sheets at hand: thickness, number and sides are wanted, '
        'as in "1.5 mm: 2 x 100 mm x 1000 mm" or "balsa medium, 1.5 mm: 2 x 100 mm x 1000 mm".'
    )
    head, colon, tail = text.partition(":")
    sides = [part.strip() for part in re.split(r"\bx\b", tail)]
    wood, _, thickness = head.rpartition(",")
    if not colon or len(sides) != 3 or not sides[0].isdigit() or not int(sides[0]):
        raise wrong
    try:
        size, one, two = (read_quantity(part, "length") for part in (thickness.strip(), *sides[1:]))
    except QuantityError:
        raise wrong from None
    if min(size, one, two) <= 0:
        raise wrong
    return Stock(size, int(sides[0]) * one * two, wood.strip(), text)


def _free(options: argparse.Namespace, wing: Wing) -> tuple[tuple[str, int], ...] | None:
    """Cells that may choose: the spars and bays named."""
    names = [spar.name for spar in wing.spars]
    for name in options.spar or ():
        if name not in names:
            raise InputFault(
                f'{options.file}: --spar: "{name}" is no spar of this wing; it has {", ".join(names)}.'
            )
    first, last = wing.first_bay, wing.first_bay + len(wing.bay_edges) - 2
    bays = range(first, last + 1)
    if options.bays is not None:
        low, high = options.bays
        if low < first or high > last:
            raise InputFault(
                f"{options.file}: --bays: {low}-{high} is not within the bays of this wing, {first}-{last}."
            )
        bays = range(low, high + 1)
    return tuple((name, bay) for name in options.spar or names for bay in bays)


def _write_layout(source: str, target: Path, found: Lightest) -> list[Path]:
    """The file with the lightest layout, read again before it is put in place; told as what was written."""
    from models.studies.layouts import as_drawn
    from models.wing.intake import file_text
    from models.wing.reading import read_text
    from models.wing.relaid import relaid

    assert found.best is not None
    path = find(source)
    text = relaid(file_text(path), found.best.faces)
    again = as_drawn(read_text(text, source=source)).webs
    wanted = {k: set(v) for k, v in found.places.layout(found.best.codes).webs.items()}
    if {k: set(v) for k, v in again.items()} != wanted:
        raise InputFault(
            f"{target}: not written: {source} holds its webs in a form that cannot be rewritten."
        )
    write_new(target, with_ends_of(text, path))
    return [target]


# ---- words --------------------------------------------------------------------------------------------


def _figures(found: Lightest, checked: Candidate | None) -> Record:
    from models import small_movements

    limits, wing = found.limits, found.places.wing
    flying = wing.flies
    cells = found.places.free
    told = {"as drawn": found.own, "with webs everywhere": found.everything}
    if checked is not None:
        told = {"that is lightest": checked} | told
    moved = [(name, small_movements.of_tip(wing, c.deflection, c.twist)) for name, c in told.items()]
    too_far = small_movements.worst(moved, "layout")
    return {
        "wing": wing.name,
        "kind": "wing" if flying else "specimen",
        "answer": {
            "sentences": [*sentences(found, checked), *([too_far] if too_far else [])],
            "found": found.best is not None,
            "proven": found.proven,
            "web_mass_kg": found.best.web_mass if found.best else None,
            "web_mass_with_woods_as_in_the_tables_kg": found.nominal.web_mass if found.nominal else None,
            "lower_bound_kg": found.lower_bound,
            "bays_that_need_a_web": [{"spar": spar, "bay": bay} for spar, bay in found.needed],
            "lighter_than_all_webs_by_kg": found.everything.web_mass - found.best.web_mass
            if found.best
            else None,
            "layout": _layout(found.best) if found.best else None,
        },
        "small_movements": small_movements.record(
            max((one for _, one in moved), key=lambda one: one.beyond), too_far
        ),
        "limits": {
            "load_factor": limits.load_factor,
            "survival": limits.survival,
            "tip_deflection_m": limits.deflection,
            "tip_twist_rad": limits.twist,
            "web_mass_kg": limits.web_mass,
            "sheets": [{"sheets": s.words, "area_m2": s.area} for s in limits.stock],
            "webs_end_once": limits.runs,
            "speed_m_per_s": limits.speed,
        },
        "free_bays": len(cells),
        "layouts": found.total,
        "evaluated": found.evaluated,
        "thrown_out": found.thrown,
        "lightest": _row(checked) if checked else None,
        "as_drawn": _row(found.own),
        "webs_everywhere": _row(found.everything),
        "mass_against_strength": [_row(c) for c in found.strength],
        "mass_against_deflection": [_row(c) for c in found.stiffness],
        "mass_against_twist": [_row(c) for c in found.twisting],
        "scattered": [_row(c) for c in found.tried],
        "judged": [_row(c) for c in found.judged],
        "rejected_by_the_verdict": len(_rejected(found)),
        "flown": [_row(c) | {"fastest_advised_m_per_s": v} for c, v in found.fast],
        "about": " ".join([ABOUT, *([JUDGED] if flying else []), *([] if found.tabulated else [ONE_BY_ONE])]),
    }


def _layout(one: Candidate) -> list[Record]:
    return [
        {"spar": spar, "bay": bay, "faces": list(faces)} for (spar, bay), faces in one.faces.items() if faces
    ]


def _row(one: Candidate) -> Record:
    from models.verdict import brief

    return {
        "webs": in_words(one.faces),
        "layout": _layout(one),
        "web_mass_kg": one.web_mass,
        "load_factor_at_first_failure": one.load_factor,
        "part": one.part.name,
        "mode": one.mode,
        "tip_deflection_m": one.deflection,
        "tip_twist_rad": one.twist,
        "verdict": None if one.verdict is None else brief(one.verdict),
        "survival": one.survival,
        "survival_interval": list(one.survival_interval) if one.survival_interval else None,
    }


def sentences(found: Lightest, checked: Candidate | None) -> list[str]:
    """The answer in words."""
    limits = found.limits
    asked = _asked(found)
    if found.best is None and found.judged:
        return [*_none_holds(found, asked), _proof(found)]
    if found.best is None and found.fast:
        one, most_fast = max(found.fast, key=lambda pair: pair[1])
        return [
            f"None of {len(found.fast)} layouts on the fronts of mass against strength, deflection and twist "
            f"{asked}: the fastest may be flown at {say.speed.at_most(most_fast)}, with "
            f"{_grams(one.web_mass)}: {in_words(one.faces)}.",
            _proof(found),
        ]
    if found.best is None and found.nominal is not None:
        most = max((c.survival or 0.0, c.load_factor) for c in found.tried)
        return [
            f"No layout that was built from scattered wood {asked}: at best {100 * most[0]:.0f} of 100 do. "
            f"With woods as in the tables {_grams(found.nominal.web_mass)} would do: "
            f"{in_words(found.nominal.faces)}.",
            _proof(found),
        ]
    if found.best is None:
        told = f"None of the {found.evaluated + found.thrown} layouts looked at {asked}"
        why = f"; {_nearest(found)}" if found.strength else ""
        rest = (
            ""
            if found.proven
            else " Not all could be looked at; more time (--seconds) or fewer bays may find one."
        )
        return [f"{told}{why}.{rest}"]
    best, every = found.best, found.everything
    saved = every.web_mass - best.web_mass
    beside = (
        f", {_grams(saved)} lighter than webbing everything ({_grams(every.web_mass)})"
        if saved > 1e-9
        else ""
    )
    out = [f"Lightest that {asked}: {in_words(best.faces)}: {_grams(best.web_mass)}{beside}."]
    flying = found.places.wing.flies
    load = f"{down(best.load_factor)} g" if flying else f"{best.load_factor:.3g} times its load"
    how = "As built, its sheeting whole, it" if flying else "It"
    out.append(f"{how} fails first at {load}: {best.part.name}, {best.mode}.")
    if best.verdict is not None:
        out.append(_held_words(best.verdict, len(_rejected(found))))
    if checked is not None and checked.survival is not None and checked.survival_interval is not None:
        low, high = checked.survival_interval
        out.append(
            f"Wood scatters: {100 * checked.survival:.0f} in 100 of such "
            f"{'wings' if flying else 'specimens'} bear {_load(found)} (95 % interval {100 * low:.0f} to "
            f"{100 * high:.0f})."
        )
    nominal = found.nominal
    if limits.survival is not None and nominal is not None and nominal is not best:
        out.append(
            f"With woods as in the tables {_grams(nominal.web_mass)} would do, {in_words(nominal.faces)}: "
            "too few wings live up to the tables."
        )
    out.append(_proof(found))
    return out


def _rejected(found: Lightest) -> list[Candidate]:
    """Layouts that meet the limits as built and fail by the verdict."""
    from models.studies.lightest.held import holds

    return [one for one in found.judged if one.verdict is not None and not holds(one.verdict)]


def _held_words(decided: Verdict, rejected: int) -> str:
    """What the layout that was found bears by the verdict, and how many were rejected by that."""
    beside = ""
    if rejected:
        beside = f"; {rejected} lighter on the fronts {'was' if rejected == 1 else 'were'} rejected by that"
    return (
        f"By the verdict of `sparbay check` in mean wood it fails at {down(decided.failing)} g; hardest is "
        f"{decided.governing.name}, {down(decided.least, 2)} times its load{beside}."
    )


def _none_holds(found: Lightest, asked: str) -> list[str]:
    """That no layout which meets the limits as built does so by the verdict, and which comes nearest."""
    pairs = [(one.verdict.least, one.verdict, one) for one in found.judged if one.verdict is not None]
    least, decided, one = max(pairs, key=lambda pair: pair[0])
    told = (
        f"None of {len(found.judged)} layouts on the fronts of mass against strength, deflection and twist "
        f"that {asked} as built"
    )
    if least >= 1:
        return [f"{told} holds every case of the verdict of `sparbay check` and does so in enough wings."]
    return [
        f"{told} holds every case of the verdict of `sparbay check` in mean wood: nearest comes "
        f"{decided.governing.name}, {down(least, 2)} times its load, with {_grams(one.web_mass)}: "
        f"{in_words(one.faces)}."
    ]


def _asked(found: Lightest) -> str:
    import numpy as np

    limits = found.limits
    flying = found.places.wing.flies
    words = [f"holds {_load(found)}"]
    if limits.survival is not None:
        words[0] += f" in {100 * limits.survival:.4g} of 100 {'wings' if flying else 'specimens'}"
    if limits.deflection is not None:
        words.append(f"bends at most {say.length(limits.deflection):.3g}")
    if limits.twist is not None:
        words.append(f"twists at most {np.degrees(limits.twist):.3g} deg")
    if limits.speed is not None:
        words.append(f"may be flown at {say.speed(limits.speed):.0f}")
    if limits.web_mass is not None:
        words.append(f"weighs at most {_grams(limits.web_mass)}")
    if limits.stock:
        words.append("can be cut from the sheets at hand")
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _load(found: Lightest) -> str:
    factor = f"{found.limits.load_factor:.3g}"
    return f"{factor} g" if found.places.wing.flies else f"{factor} times its load"


def _nearest(found: Lightest) -> str:
    strongest = max(found.strength, key=lambda c: c.load_factor)
    return f"the strongest holds {strongest.load_factor:.1f} with {_grams(strongest.web_mass)} of webs"


def _proof(found: Lightest) -> str:
    looked = f"{found.evaluated} of {_count(found.total)} layouts were evaluated"
    if found.stopped:
        looked = f"Interrupted: {looked}"
    exactly = ", each exactly"
    if found.thrown:
        exactly += f", and {found.thrown} more thrown out by the first mode that fails"
    if found.needed and found.nominal is not None:
        places = ", ".join(f"bay {bay} of the {spar} spar" for spar, bay in found.needed)
        most = _grams(found.nominal.web_mass)
        exactly += f"; without a web in {places} none of up to {most} holds, whatever its other webs"
    if found.proven and found.evaluated >= found.total:
        exact = f"All {_count(found.total)} layouts were evaluated, each exactly"
    elif found.proven:
        exact = f"{looked}{exactly}; every one that is lighter fails, or cannot be cut"
    else:
        least = _grams(found.lower_bound)
        exact = (
            f"{looked}{exactly}: best known, not proven; none under {least} does it. More time (--seconds) "
            "or fewer bays may prove it"
        )
    if found.fast:
        exact += (
            f". The speed of {len(found.fast)} on the fronts of mass against strength, deflection and twist "
            "was worked out, the lightest first; a layout off those fronts might be lighter"
        )
    if found.limits.survival is None:
        return f"{exact}."
    return (
        f"{exact}. {len(found.tried)} on the front of mass against strength were then built from scattered "
        "wood; a layout off that front was not, and might be lighter."
    )


def _count(total: int) -> str:
    return f"{total}" if total < 1e7 else f"{total:.2g}"


def in_words(faces: dict[tuple[str, int], tuple[str, ...]]) -> str:
    """A layout in words, spar by spar, bays of one kind together.

    Parameters
    ----------
    faces : dict of (spar, bay) to tuple of str
        Faces that carry webs.

    Returns
    -------
    str
        "webs on both faces in bays 1-2 and on the front face in bays 3-7 of the front spar".
    """
    told = []
    for spar in dict.fromkeys(name for name, _ in faces):
        kinds: dict[str, list[int]] = {}
        for (name, bay), here in faces.items():
            if name == spar and here:
                kinds.setdefault(_face_words(here), []).append(bay)
        if kinds:
            parts = [f"{kind} in {_bay_words(bays)}" for kind, bays in kinds.items()]
            told.append(f"{_listed(parts)} of the {spar if 'spar' in spar else f'{spar} spar'}")
    return f"webs {'; '.join(told)}" if told else "no webs at all"


def _face_words(here: tuple[str, ...]) -> str:
    if len(here) > 1:
        return "on both faces"
    return "between the caps" if here[0] == "between" else f"on the {here[0]} face"


def _bay_words(bays: Iterable[int]) -> str:
    runs = []
    for _, group in groupby(enumerate(sorted(bays)), key=lambda row: row[1] - row[0]):
        run = [bay for _, bay in group]
        runs.append(f"{run[0]}" if len(run) == 1 else f"{run[0]}-{run[-1]}")
    single = len(runs) == 1 and "-" not in runs[0]
    return f"bay{'' if single else 's'} {_listed(runs)}"


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _grams(mass: float) -> str:
    return f"{say.grams(mass):.0f}" if 1e3 * mass >= 99.95 else f"{say.grams(mass):.1f}"


MOST_ROWS = 16
"""Rows of a front; the JSON document has them all."""


def lightest_text(out: Page, record: Record) -> None:
    """Words first, then the tables."""
    answer(out, record, good=record["answer"]["found"])
    flying = record["kind"] == "wing"
    unit = "g" if flying else "x load"
    columns = [f"webs\n{say.grams.unit}", f"fails at\n{unit}", f"tip up\n{say.length.unit}", "twist\ndeg"]
    columns += ["~fails first", "~webs"]
    named = [
        (name, record[key])
        for name, key in (
            ("lightest", "lightest"),
            ("as drawn", "as_drawn"),
            ("webs everywhere", "webs_everywhere"),
        )
        if record[key]
    ]
    how = ", as built, sheeting whole" if flying else ""
    out.table(f"Side by side{how}", ["<", *columns], [(name, *_told(r)) for name, r in named])
    best = "nothing lighter is better"
    if record["evaluated"] < record["layouts"]:
        best = "nothing lighter that was evaluated is better"
    for title, key in (
        (f"What each {say.small_mass()} buys in strength", "mass_against_strength"),
        (f"What each {say.small_mass()} buys against bending", "mass_against_deflection"),
        (f"What each {say.small_mass()} buys against twist", "mass_against_twist"),
    ):
        rows = record[key]
        shown = _thinned(rows)
        more = f" ({len(shown)} of {len(rows)})" if len(shown) < len(rows) else ""
        out.table(f"{title}: {best}{more}", columns, [_told(r) for r in shown])
    rest(out, record)


def _thinned(rows: list[Record]) -> list[Record]:
    """Evenly chosen rows of a long table, first and last among them."""
    if len(rows) <= MOST_ROWS:
        return rows
    last = len(rows) - 1
    return [rows[k] for k in sorted({round(i * last / (MOST_ROWS - 1)) for i in range(MOST_ROWS)})]


def _told(row: Record) -> tuple[str, ...]:
    return (
        say.mass.fixed(row["web_mass_kg"]),
        borne(row["load_factor_at_first_failure"], 2),
        say.length.fixed(row["tip_deflection_m"]),
        fixed(row["tip_twist_rad"], 180 / math.pi, places=2),
        f"{row['part']}, {row['mode']}",
        row["webs"],
    )
