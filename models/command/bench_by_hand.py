"""Held down at its middle: how far does the tip give under a bag or a twist?

The test by hand, for every layout of webs of the file: deflection, twist, stiffness, stresses half way
along the bays, and how much the wing as drawn bears there; leaves with 1 where the load would harm it.
Starboard side alone; mean wood. What it bears counts sheeting that bows; movements do not.

example: sparbay bench --by-hand trainer --mass 500g --at "main" --rib 11
"""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING

from models import units_out as say
from models.command import faults
from models.command.document import Record, figures, give, recorded
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import read_wing
from models.command.options import quantity, shared
from models.command.progress import Progress
from models.report.text import DEG, Page, answer, number

if TYPE_CHECKING:
    from models.analysis import Analysis
    from models.loads.hand_test import HandLoad
    from models.studies.hand_test import Bears, Given, Slack
    from models.wing.parts import Wing

    Films = list[tuple[str, list[Slack]]]
    """When the covering goes slack, a load each, of every row with film."""


COVERED = "as drawn, covered"
"""Name of the row of the wing in the file with its covering's stiffness."""
STIFF = "as drawn, stiff film"
"""The same with film of the stiff end of what is said of it."""


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")
    add, rib = command.add_argument, quantity("rib number", 1, 10_000)
    add("--mass", metavar="MASS", type=quantity("mass", "0.001 g", "100 kg"),
        help="a bag hung from the wing, 500g or 18oz say")  # fmt: skip
    add("--force", metavar="FORCE", type=quantity("force", "-10000 N", "10000 N", zero=False),
        help="a push upward, 5N say; --force=-5N pushes down")  # fmt: skip
    add("--couple", metavar="MOMENT", type=quantity("torque", "-10000 N m", "10000 N m", zero=False),
        help="a twist of a spar, nose up, '1 N m' say")  # fmt: skip
    add("--at", metavar="PLACE", help="a spar, leading edge or trailing edge (default: the first spar)")
    add("--rib", metavar="N", type=rib, help="at which rib, 1 the innermost (default: the outermost)")
    add("--held-at", metavar="N", type=rib, help="the rib up to which it is held (default: its centre line)")


def run(options: argparse.Namespace) -> ExitCode:
    """Hold every layout and say how it gives."""
    from fea.solve import Mechanism
    from models.covering import is_taut, stiffened
    from models.loads.hand_test import BadHandLoad
    from models.studies.hand_test import half, hold, hold_covered
    from models.studies.layouts import apply, standard

    wing = read_wing(options.file)
    loads = loads_of(options, wing)
    held_at = options.held_at
    if held_at is None and wing.hand_test is not None:
        held_at = wing.hand_test.held_at
    results = []
    try:
        layouts = sorted(standard(wing), key=lambda each: each.name != "as drawn")
        with Progress(len(layouts), quiet=True) as progress:
            for layout in layouts:
                progress(layout.name)
                analysis = hold(half(apply(wing, layout), per_bay=options.mesh), loads, held_at)
                results.append((layout.name, analysis))
        slack: Films = []
        if is_taut(wing):
            for at, (name, one) in enumerate(((COVERED, wing), (STIFF, stiffened(wing))), start=1):
                film = None if one is None else half(one, per_bay=options.mesh, covered=True)
                if film is not None and film.films is not None:
                    covered, found = hold_covered(film, loads, held_at)
                    results.insert(at, (name, covered))
                    slack.append((name, found))
    except BadHandLoad as fault:
        where = {"wing": "bench --by-hand", "held_at": "--held-at or hand_test.held_at"}.get(fault.what)
        where = where or f"--{fault.what} or hand_test.hang"
        raise InputFault(f"{options.file}: {where}: {fault.given}, expected {fault.expected}.") from None
    except Mechanism as fault:
        raise faults.mechanism(options.file, fault) from None
    record = recorded(options, _figures(wing, results, loads, held_at, slack))
    harmed = any(load["bears"] and load["bears"]["harmless_factor"] < 1 for load in record["loads"])
    return give(options, record, hold_text, holds=not harmed)


def loads_of(options: argparse.Namespace, wing: Wing) -> list[HandLoad]:
    """The loads of the options or, where they name none, those of the file.

    The wing's first spar and its outermost rib are what is loaded where nothing is said.

    Raises
    ------
    InputFault
        Nothing is put on.
    """
    from models.loads.hand_test import HandLoad

    at = options.at or wing.spars[0].name
    rib = options.rib or len(wing.ribs)
    found = []
    if options.mass is not None:
        found.append(HandLoad.hung(options.mass, at, rib))
    if options.force is not None:
        found.append(HandLoad(at, rib, force=options.force))
    if options.couple is not None:
        found.append(HandLoad(at, rib, couple=options.couple))
    if not found and wing.hand_test is not None:
        found = [HandLoad.hung(h.mass, h.at or at, h.rib or rib) for h in wing.hand_test.hang]
    if not found:
        raise InputFault(
            f"{options.file}: bench --by-hand: no load, expected --mass, --force or --couple (or [hand_test] "
            "hang in the file); --mass 500g hangs a bag on the first spar at the tip."
        )
    return found


def _figures(
    wing: Wing, results: list[tuple[str, Analysis]], loads: list[HandLoad], held_at: int | None, slack: Films
) -> Record:
    from models import small_movements
    from models.command.covering import doubts
    from models.command.record import motion_record
    from models.mid_bay import sheet_mid_bays
    from models.studies.hand_test import bears, given

    borne = [bears(results[0][1], k) for k in range(len(loads))]
    gives = [(name, given(analysis, loads)) for name, analysis in results]
    moved = [[small_movements.of(analysis, k) for _, analysis in results] for k in range(len(loads))]
    named = [
        (f"{name}, with {_load_words(load)}", one)
        for load, row in zip(loads, moved, strict=True)
        for (name, _), one in zip(results, row, strict=True)
    ]
    too_far = small_movements.worst(named, "layout")
    said = [_with_strength(_sentence(k, load, gives), load, borne[k]) for k, load in enumerate(loads)]
    if slack:
        said = [
            " ".join([words, *(f"{name.capitalize()}: {_slack_words(found[k])}." for name, found in slack)])
            for k, words in enumerate(said)
        ]
        said += doubts(wing)
    return {
        "wing": wing.name,
        "kind": "wing",
        "answer": {"sentences": [*said, *([too_far] if too_far else [])]},
        "small_movements": small_movements.record(
            max((one for _, one in named), key=lambda one: one.beyond), too_far
        ),
        "held_at_rib": held_at,
        "loads": [
            figures(load, "at", "rib")
            | {"y_m": gives[0][1][k].y}
            | figures(load, "force_N", "couple_N_m", "mass_kg")
            | {"words": _load_words(load), "bears": _bears(borne[k])}
            | ({"covering": [_slack(name, found[k]) for name, found in slack]} if slack else {})
            | {
                "layouts": [
                    {"layout": name}
                    | figures(found[k], "deflection_m", "twist_rad", "stiffness_N_per_m")
                    | figures(found[k], "torsional_stiffness_N_m_per_rad")
                    | {"small_movements_hold": one.hold}
                    | motion_record(analysis, k)
                    | {"sheeting": [figures(row, **_SHEET) for row in sheet_mid_bays(analysis, k)]}
                    for (name, found), (_, analysis), one in zip(gives, results, moved[k], strict=True)
                ],
            }
            for k, load in enumerate(loads)
        ],
    }


def _with_strength(words: str, load: HandLoad, one: Bears | None) -> str:
    """How it gives, with what it bears: that first where it is less than the load."""
    if one is None:
        return words
    both = [words, _bears_words(load, one)]
    return " ".join(both if one.harmless >= 1 else both[::-1])


def _bears_words(load: HandLoad, one: Bears) -> str:
    from models.strength.modes import named

    let, most = (_amount(load, factor) for factor in (one.harmless, one.breaks))
    fails = f"{one.first.part.name} {named(one.first.mode).words}"
    if one.breaks < 1:
        return (
            f"Do not: {_load_words(load)} breaks the wing as drawn. In mean wood it bears {most} there: then "
            f"{fails}. No harm comes of {let}."
        )
    if one.harmless < 1:
        return (
            f"Do not: {_load_words(load)} strains the wing as drawn too far. No harm comes of {let} there; "
            f"in mean wood {fails} at {most}."
        )
    return f"As drawn it takes no harm from {let} there; in mean wood {fails} at {most}."


def _amount(load: HandLoad, factor: float) -> str:
    """So much of a load, rounded down."""
    if load.mass:
        return say.mass.at_most(load.mass * factor)
    kind, value = (say.moment, load.couple) if load.couple else (say.force, load.force)
    return f"{kind.down(abs(value) * factor, 2)} {kind.unit}"


def _bears(one: Bears | None) -> Record | None:
    return None if one is None else {
        "harmless_factor": one.harmless, "harmless_by": one.by.part.name, "harmless_mode": one.by.mode,
        "breaks_factor": one.breaks, "first_failure": one.first.part.name, "mode": one.first.mode,
    }  # fmt: skip


_SHEET = {
    "surface": "surface", "bay": "bay", "y_m": "y", "span_stress_Pa": "span_stress",
    "shear_stress_Pa": "shear",
}  # fmt: skip


def _slack(name: str, one: Slack) -> Record:
    return {
        "layout": name,
        "slack_at_times_the_load": one.factor,
        "slack_part": None if one.part is None else one.part.name,
        "share_of_area_wrinkled": one.share,
    }


def _slack_words(one: Slack) -> str:
    from models.command.covering import slack_words

    if one.part is None:
        return "the covering stays taut"
    where = slack_words(one.part.bay, one.part.side, one.part.place)
    said = f"the covering goes slack at {one.factor:.2g} times the load, in {where}"
    return said if one.factor >= 1 else f"{said}, and {100 * one.share:.0f} % of it is wrinkled"


def _load_words(load: HandLoad) -> str:
    place = load.at if load.at.endswith(("spar", "edge")) else f"{load.at} spar"
    if load.mass:
        what = f"a {say.mass(load.mass):.4g} bag"
    elif load.couple:
        what = f"a twist of {say.moment(abs(load.couple)):.4g} nose {'up' if load.couple > 0 else 'down'}"
    else:
        what = f"a push of {say.force(abs(load.force)):.4g} {'up' if load.force > 0 else 'down'}"
    return f"{what} on the {place} at rib {load.rib}"


def _sentence(k: int, load: HandLoad, gives: list[tuple[str, list[Given]]]) -> str:
    """A 500 g bag on the front spar at rib 9: 14 mm down (file); no webs: 31 mm down."""
    found = []
    for name, rows in gives:
        row = rows[k]
        if load.couple:
            amount = f"{abs(math.degrees(row.twist)):.3g} degrees nose {'up' if row.twist > 0 else 'down'}"
        else:
            amount = f"{say.length(abs(row.deflection)):.3g} {'up' if row.deflection > 0 else 'down'}"
        found.append(f"{name}: {amount}")
    words = _load_words(load)
    return f"{words[0].upper()}{words[1:]}: {'; '.join(found)}."


def hold_text(out: Page, record: Record) -> None:
    """The page: words, cautions, and for every load how each layout gives, then rib by rib."""
    answer(out, record)
    rib = record["held_at_rib"]
    held = "held at the centre line" if rib is None else f"held from the centre line to rib {rib}"
    for load in record["loads"]:
        title = f"{load['words'][0].upper()}{load['words'][1:]}, {held}"
        mm = say.length.unit
        up = ("deflection_m", say.length.number)
        turned = ("twist_rad", number, DEG)
        stiffness = ("torsional_stiffness_N_m_per_rad", say.torsion_stiffness.number)
        out.listed(title, load["layouts"], {
            "<layout": "layout",
            f"up\n{mm}": up,
            "twist\ndeg": turned,
            say.bending_stiffness.unit: ("stiffness_N_per_m", say.bending_stiffness.number),
            f"{say.moment.unit}\nper deg": stiffness,
        })  # fmt: skip
        first = load["layouts"][0]
        out.listed(f"At every rib: {first['layout']}", first["ribs"], {
            "<spar": "spar", f"y\n{mm}": ("y_m", say.length.number), f"up\n{mm}": up, "twist\ndeg": turned,
        })  # fmt: skip
        _stresses(out, first)


def _stresses(out: Page, layout: Record) -> None:
    def webs(r: Record) -> str:
        told = r["web_shear_stress_Pa"].items()
        return ", ".join(f"{face} {say.stress.bare(v, '.3g')}" for face, v in told) or "open"

    title = f"Stresses half way along the bays, {say.stress.unit}: {layout['layout']}"
    out.listed(title, layout["mid_bays"], {
        "bay": ("bay", str),
        "<spar": "spar",
        "upper\ncap": ("upper_cap_stress_Pa", say.stress.number, 3),
        "lower\ncap": ("lower_cap_stress_Pa", say.stress.number, 3),
        "<web shear": webs,
    })  # fmt: skip
    if layout["sheeting"]:
        out.listed(f"Sheeting, mean over its width, {say.stress.unit}", layout["sheeting"], {
            "bay": ("bay", str),
            "<surface": "surface",
            "along\nspan": ("span_stress_Pa", say.stress.number, 3),
            "shear": ("shear_stress_Pa", say.stress.number, 3),
        })  # fmt: skip
