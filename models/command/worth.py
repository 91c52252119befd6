"""Which web is worth gluing in next, which may be left out, for how many grams?

The webs that are named are judged by the whole verdict of `sparbay check`, every case in the air among
it. With --full: for every bay, face and wood, what a gram buys in load at first failure (as built,
sheeting whole), tip deflection and twist, as a slope and for the whole web.

example: sparbay worth trainer --folder worth
"""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, figures, give, recorded, told_whole
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, must_fly, new_folder, read_wing
from models.command.options import quantity, shared
from models.command.progress import Progress
from models.report.text import DEG, LENGTH, Page, answer, borne, fixed, number, reserve
from models.rounding import down

if TYPE_CHECKING:
    from models.studies.worth import Change, SiteWorth, Worth
    from models.studies.worth_designs import Site
    from models.studies.worth_slopes import Slope

ABOUT = (
    "The slope is for a little wood more, by adjoint solves: of a web that is there, for thickening it; of "
    "one that is not there, for the first trace of it, a ghost with the place, joints and grain of the web "
    "that would be put in, whose stiffness in its plane and mass grow in proportion from nought (its plate "
    "stiffness, with the cube of the thickness, does not count yet). It is that of the part that fails first "
    "as drawn. The first trace of a web in an open bay takes over most of the shear: its slope may be many "
    "times what the whole web does.",
    "The change is that of the whole web, put in or taken out, and the wing built, solved and checked again; "
    "both are for each {mass} put in, so that they can be compared. A web is no small change, and another "
    "part may come to fail first: where slope and change differ, the change is right.",
    "A web that is put in is a copy of that in the nearest bay of its spar. Loads follow the mass: inertia, "
    "trim, and lift where the file gives no flying mass. Masses are of both sides of a flying wing.",
    "Density changes stiffness, strength and mass by the wood's own rule; of plywood, carbon and woods of "
    "the builder's own, mass alone.",
)
ABOUT_FLYING = (
    "The webs judged are solved in every case of the verdict of `sparbay check`; their figures are those "
    "that it has for the wing so changed: sheeting bows, and lift counts where the bent wing puts it if "
    "that is harder. They are the best of {tried} at most that were tried on a coarse mesh in the pull-up "
    "and the case that governs: those that do most as built for the load and against twist, those beside "
    "what goes first, and those around the best so far. One that was not tried might be better.",
    "All other figures of load, slopes and changes, are of the pull-up as built, all sheeting whole.",
)
ABOUT_FIFTH = (
    "Fifth percentile: {sets} sets of wood, the same sticks and sheets with and without the web (seed "
    "{seed}); the interval is of 95 %. Its slope takes what decides in half wings about as strong, each with "
    "its share, in the wing as in the tables."
)


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    shared(command, "file", "json", "mesh")
    add("--scatter", action="store_true",
        help="add the load that one wing in twenty does not reach, in the same wood for each web",
    )  # fmt: skip
    add("--seed", metavar="S", type=quantity("whole number", 0, 2**32 - 1),
        help="of the wood, with --scatter (default: 20261)")  # fmt: skip
    add("--woods", action="store_true",
        help="try light, medium and hard balsa and 0.8 mm birch ply for every web")  # fmt: skip
    add("--speed", action="store_true", help="add what thickening every web buys in the speed of flutter")
    shared(command, "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Find what every web is worth and tell it."""
    from models.studies.speed import condense, speeds
    from models.studies.speed_doubt import by_web
    from models.studies.worth import SEED, n_steps, worth

    if options.seed is not None and not options.scatter:
        raise InputFault("--seed: is that of the sets of wood; it needs --scatter.")
    folder = new_folder(options.folder, scenes=True)
    wing = read_wing(options.file)
    if options.speed:
        must_fly(wing, options.file, "--speed")
    seed = SEED if options.seed is None else options.seed
    thorough = LENGTH.get().whole
    # One screen tells webs that were judged; slopes beside them where columns of them were asked for.
    slopes = told_whole(options) or options.scatter or options.speed or not wing.flies
    told = {"woods": options.woods, "thorough": thorough, "slopes": slopes}
    with Progress(n_steps(wing, **told), quiet=True) as progress:
        result = worth(
            wing, per_bay=options.mesh, scatter=options.scatter, seed=seed, progress=progress, **told
        )
    fast = None
    if options.speed:
        fast = by_web(speeds(condense(wing, per_bay=options.mesh), follow=False))

    def draw(place: Path) -> list[Path]:
        from models.pictures.worth import draw_worth

        return draw_worth(result, place)

    files = filled(folder, draw)
    record = recorded(options, _figures(result, seed, fast), files)
    return give(options, record, worth_text)


def _figures(result: Worth, seed: int, fast: dict[tuple[str, str, int, str], float] | None = None) -> Record:
    from models import small_movements
    from models.studies.worth import LARGER, SETS, sentences
    from models.studies.worth_designs import WOODS, wood_words
    from models.studies.worth_held import TRIED
    from models.verdict import brief

    drawn, fifth = result.drawn, result.fifth
    about = [one.format(mass=say.small_mass()) for one in ABOUT]
    if fast is not None:
        about.append(
            "Flutter speed: of the first that beats by strips, by the derivative of its eigenvalue, for webs "
            "that are there; twist-off and reversal by layout: sparbay speed, sparbay compare --speed."
        )
    if result.verdict is not None:
        about = [one.format(tried=TRIED) for one in ABOUT_FLYING] + about
    if fifth is not None:
        about.append(ABOUT_FIFTH.format(sets=SETS, seed=seed))
    moved = small_movements.of(result.analysis)
    too_far = small_movements.warning(moved)
    return {
        "wing": result.analysis.wing.name,
        "kind": "wing" if result.flying else "specimen",
        "answer": {
            "sentences": [*sentences(result), *([too_far] if too_far else [])],
            "next_in": _where(result.next_in),
            "best_left_out": _where(result.best_out),
        },
        "small_movements": small_movements.record(moved, too_far),
        "as_drawn": figures(drawn, tip_deflection_m="deflection", tip_twist_rad="twist")
        | {
            "load_factor_at_first_failure": result.failing,
            "first_failure": _first_failure(result),
            "load_factor_at_first_failure_as_built_sheeting_whole": drawn.load_factor,
            "first_failure_as_built_sheeting_whole": drawn.first_failure,
            "load_factor_fifth_percentile": fifth,
            "verdict": None if result.verdict is None else brief(result.verdict),
        }
        | figures(drawn, "mass_kg"),
        "judged": [
            {
                **_site(one.site),
                "thickness_m": one.thickness,
                "wood": one.wood,
                "mass_gained_kg": None if one.change is None else one.change.mass,
                "verdict": None if one.after is None else brief(one.after),
            }
            for one in result.judged
        ],
        "webs": [
            {
                **_site(one.site),
                "thickness_m": one.thickness,
                "wood": one.wood,
                "mass_kg": one.grams / 1e3,
                **({} if fast is None else {"flutter_m_per_s_per_kg": _faster(one, fast)}),
                "slope": None if one.slope is None else _slope(one.slope),
                "change": None if one.change is None else _change(one.change),
            }
            for one in ranked(result)
        ],
        "sizes": [
            {
                "what": one.size.what,
                "part": one.size.part,
                "slope": _slope(one.slope),
                "factor": LARGER,
                "change": None if one.change is None else _change(one.change),
            }
            for one in result.sizes or ()
        ],
        "other_woods": [
            {**_place(one.site), "wood": one.wood, "change": _change(one.change)} for one in result.woods
        ],
        "woods_tried": [wood_words(words) for words, _, _ in WOODS] if result.woods else [],
        "about": about,
    }  # fmt: skip


def ranked(result: Worth) -> list[SiteWorth]:
    """Webs by what a gram of the whole web does to the load at first failure, the most first."""

    def per_gram(one: SiteWorth) -> float:
        gain = math.nan if one.change is None else one.change.per_gram(one.change.load_factor)
        return -math.inf if math.isnan(gain) else gain

    return sorted(result.sites, key=per_gram, reverse=True)


def _faster(one: SiteWorth, fast: dict[tuple[str, str, int, str], float]) -> float | None:
    """Flutter speed that a kilogram more of a web buys, m/s; None of one that is not there."""
    site = one.site
    slopes = [fast[key] for side in site.sides if (key := (site.spar, site.face, site.bay, side)) in fast]
    return sum(slopes) * 1e3 / one.grams if site.present and slopes and one.grams else None


def _place(site: object) -> Record:
    return {key: getattr(site, key) for key in ("bay", "spar", "face", "side")}


def _site(site: Site) -> Record:
    return {**_place(site), "present": site.present}


def _first_failure(result: Worth) -> str:
    """Part and mode that go first in the pull-up, as the verdict has it."""
    if result.verdict is None:
        return result.drawn.first_failure
    first = result.verdict.pull_up.first
    return "" if first is None else f"{first.part.name}: {first.mode}"


def _where(one: SiteWorth | None) -> Record | None:
    return None if one is None else _place(one.site)


def _slope(slope: Slope) -> Record:
    """Slope for each kilogram; of the fifth percentile only where it was asked for."""
    figures = [v * 1e3 for v in slope.per_gram()]
    return {
        "tip_deflection_m_per_kg": figures[0],
        "tip_twist_rad_per_kg": figures[1],
        "load_factor_per_kg": figures[2],
        "load_factor_fifth_percentile_per_kg": figures[3] if len(figures) > 3 else None,
    }


def _change(change: Change) -> Record:
    """Change of the whole, and the same for each kilogram put in."""
    fifth = change.fifth
    per = 1e3 * change.per_gram(1.0)
    return {
        "mass_kg": change.mass,
        "tip_deflection_m": change.deflection,
        "tip_twist_rad": change.twist,
        "load_factor": change.load_factor,
        "tip_deflection_m_per_kg": change.deflection * per,
        "tip_twist_rad_per_kg": change.twist * per,
        "load_factor_per_kg": change.load_factor * per,
        "load_factor_fifth_percentile": None if fifth is None else fifth.change,
        "fifth_percentile_interval": None if fifth is None else [fifth.low, fifth.high],
        "within_noise": None if fifth is None else fifth.within_noise,
        "first_failure": change.first_failure,
    }


def worth_text(out: Page, record: Record) -> None:
    """Words first, then the webs that were judged, those that could be put in, those that are there, sizes,
    and other woods."""
    answer(out, record)
    flying = record["kind"] == "wing"
    unit = "g" if flying else "x load"
    drawn = record["as_drawn"]
    if flying:
        _judged(out, record)
    rows = [
        (f"tip deflection, {say.length.unit}", say.length.fixed(drawn["tip_deflection_m"], 2)),
        ("tip twist, deg nose up", fixed(drawn["tip_twist_rad"], DEG, 3)),
        (f"load at first failure, {unit}", borne(drawn["load_factor_at_first_failure"], 2)),
        (f"mass with what it carries, {say.grams.unit}", say.mass.fixed(drawn["mass_kg"])),
    ]
    if drawn["load_factor_fifth_percentile"] is not None:
        rows.insert(
            3,
            (
                f"load that one in twenty does not reach, {unit}",
                borne(drawn["load_factor_fifth_percentile"], 2),
            ),
        )
    rows.append(("first failure", drawn["first_failure"]))
    how = ""
    if flying:
        how = ", as built, sheeting whole"
        whole = "load_factor_at_first_failure_as_built_sheeting_whole"
        rows.append((f"load at first failure{how}, g", borne(drawn[whole], 2)))
        rows.append((f"first failure{how}", drawn["first_failure_as_built_sheeting_whole"]))
    out.table("As drawn", ["<figure", "~value"], rows)
    absent = [w for w in record["webs"] if not w["present"]]
    present = [w for w in reversed(record["webs"]) if w["present"]]
    if record["webs"] and record["webs"][0]["slope"] is None:
        if out.short:
            out.hold_back("what every web, size and wood does as built")
    else:
        mass = say.a_small_mass()
        if absent:
            _webs(out, f"Webs that could be glued in{how}, the best for {mass} first", absent, unit)
        if present:
            _webs(out, f"Webs that are there{how}, the least missed for {mass} first", present, unit)
        _sizes(out, record["sizes"], unit, how)
    if record["other_woods"]:
        _woods(out, record["other_woods"], unit)
    out.line()
    for line in record["about"]:
        out.say(f"- {line}")
    out.files(record["files"])


def _judged(out: Page, record: Record) -> None:
    """The wing as drawn and with each of the webs that were judged whole, by the verdict."""
    sides = any(one["side"] for one in record["judged"])

    def row(what: tuple[str, ...], gains: str, found: Record) -> tuple[str, ...]:
        return (
            *what,
            gains,
            borne(found["load_factor_failing_mean_wood"], 2),
            down(100 * found["share_surviving_all"], 0),
            reserve(found["governing_reserve_factor_mean_wood"]),
            found["governing_case"],
        )

    rows = [row(("as drawn", "", "", "", *([""] if sides else [])), "-", record["as_drawn"]["verdict"])]
    for one in record["judged"]:
        side = [one["side"]] if sides else []
        what = ("out" if one["present"] else "in", str(one["bay"]), one["spar"], one["face"], *side)
        rows.append(row(what, say.mass.fixed(one["mass_gained_kg"], 2), one["verdict"]))
    columns = ["<web", "bay", "<spar", "<face", *(["<side"] if sides else []), f"gains\n{say.grams.unit}"]
    columns += ["fails\nat, g", "survive\nof 100", "case that\ngoverns, x", "~and which it is"]
    out.table("Judged by the whole verdict of check", columns, rows)


def _pair(one: Record, key: str, factor: float) -> tuple[str, str]:
    """Slope and change of one figure for a gram."""
    change = one["change"]
    return (
        number(one["slope"][key], factor / say.mass.factor, 3),
        "-" if change is None else number(change[key], factor / say.mass.factor, 3),
    )


def _both(one: Record) -> tuple[str, ...]:
    return (
        *_pair(one, "load_factor_per_kg", 1.0),
        *_pair(one, "tip_deflection_m_per_kg", say.length.factor),
        *_pair(one, "tip_twist_rad_per_kg", DEG),
    )


def _per() -> str:
    """The unit of mass that figures are for, short."""
    return "oz" if say.imperial() else "gram"


def _heads(unit: str) -> list[str]:
    out = []
    for what, measure in (("load", unit), ("deflection", say.length.unit), ("twist", "deg")):
        out += [f"{what}\n{measure}/{_per()}\n{way}" for way in ("slope", "change")]
    return out


def _webs(out: Page, title: str, webs: list[Record], unit: str) -> None:
    fifth = any(w["slope"]["load_factor_fifth_percentile_per_kg"] is not None for w in webs)
    sides = any(w["side"] for w in webs)
    flutter = any(w.get("flutter_m_per_s_per_kg") is not None for w in webs)
    rows = []
    for web in webs:
        change = web["change"]
        row = [str(web["bay"]), web["spar"], web["face"], *([web["side"]] if sides else [])]
        row += [say.mass.fixed(web["mass_kg"], 2), *_both(web)]
        if flutter:
            row.append(number(web["flutter_m_per_s_per_kg"], say.speed.factor / say.mass.factor, 3))
        if fifth:
            row += [
                number(web["slope"]["load_factor_fifth_percentile_per_kg"], 1 / say.mass.factor, 3),
                *_fifth(change),
            ]
        rows.append([*row, "the wing cannot fly so" if change is None else change["first_failure"]])
    columns = ["bay", "<spar", "<face", *(["<side"] if sides else []), say.grams.unit, *_heads(unit)]
    columns += [f"flutter\n{say.speed.unit}/{_per()}\nslope"] if flutter else []
    if fifth:
        columns += [f"1 in 20\n{unit}/{_per()}\nslope", f"1 in 20\n{unit}\nwhole web", "\n95 %\ninterval"]
    out.table(title, [*columns, "~then goes first"], rows)


def _fifth(change: Record | None) -> tuple[str, str]:
    if change is None or change["fifth_percentile_interval"] is None:
        return "-", "-"
    low, high = change["fifth_percentile_interval"]
    noise = ", within noise" if change["within_noise"] else ""
    return (
        number(change["load_factor_fifth_percentile"], 1, 3),
        f"{number(low, 1, 2)} to {number(high, 1, 2)}{noise}",
    )


def _sizes(out: Page, sizes: list[Record], unit: str, how: str) -> None:
    rows = []
    for one in sizes:
        change = one["change"]
        grams = "-" if change is None else say.mass.fixed(change["mass_kg"], 2)
        rows.append((one["what"], one["part"], grams, *_both(one)))
    if rows:
        percent = round(100 * (sizes[0]["factor"] - 1))
        columns = ["<what", "<of", f"{say.grams.unit} for\n{percent} % more", *_heads(unit)]
        out.table(f"Sizes and woods{how} (change: for as much more)", columns, rows)


def _woods(out: Page, woods: list[Record], unit: str) -> None:
    rows = [
        (
            str(one["bay"]),
            one["spar"],
            one["face"],
            one["wood"],
            say.mass.fixed(one["change"]["mass_kg"], 2),
            number(one["change"]["load_factor"], 1, 3),
            say.length.number(one["change"]["tip_deflection_m"], 3),
            number(one["change"]["tip_twist_rad"], DEG, 3),
            one["change"]["first_failure"],
        )
        for one in woods
    ]
    columns = [
        "bay", "<spar", "<face", "<wood", say.grams.unit, f"load\n{unit}", f"deflection\n{say.length.unit}",
        "twist\ndeg", "~then goes first",
    ]  # fmt: skip
    out.table("The same web of other wood: change of the whole", columns, rows)
