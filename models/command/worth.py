"""`sparbay worth`: what each web buys for a gram of wood, and which to glue in or leave out next."""

from __future__ import annotations

import argparse
import math
from pathlib import Path

from models import small_movements
from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import filled, must_fly, new_folder, read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.studies.speed import condense, speeds
from models.studies.speed_doubt import by_web
from models.studies.worth import (
    LARGER,
    SEED,
    SETS,
    Change,
    SiteWorth,
    Worth,
    n_steps,
    sentences,
    worth,
)
from models.studies.worth_designs import WOODS
from models.studies.worth_slopes import Slope

ABOUT = (
    "The slope is for a little wood more, by adjoint solves: of a web that is there, for thickening it; of "
    "one that is not there, for the first trace of it, a ghost with the place, joints and grain of the web "
    "that would be put in, whose stiffness in its plane and mass grow in proportion from nought (its plate "
    "stiffness, with the cube of the thickness, does not count yet). It is that of the part that fails first "
    "as drawn.",
    "The change is that of the whole web, put in or taken out, and the wing built, solved and checked again; "
    "both are for each gram put in, so that they can be compared. A web is no small change, and another part "
    "may come to fail first: where slope and change differ, the change is right.",
    "A web that is put in is a copy of that in the nearest bay of its spar. Loads follow the mass: inertia, "
    "trim, and lift where the file gives no flying mass. Masses are of both sides of a flying wing.",
    "Density changes stiffness, strength and mass by the wood's own rule; of plywood, carbon and woods of "
    "the builder's own, mass alone.",
)
ABOUT_FIFTH = (
    "Fifth percentile: {sets} sets of wood, the same sticks and sheets with and without the web (seed "
    "{seed}); the interval is of 95 %. Its slope takes what decides in half wings about as strong, each with "
    "its share, in the wing as in the tables."
)


def run(options: argparse.Namespace) -> ExitCode:
    """Find what every web is worth and tell it."""
    if options.seed is not None and not options.scatter:
        raise InputFault("--seed: is that of the sets of wood; it needs --scatter.")
    folder = new_folder(options.folder, scenes=True)
    wing = read_wing(options.file)
    if options.speed:
        must_fly(wing, options.file, "--speed")
    seed = SEED if options.seed is None else options.seed
    with Progress(n_steps(wing, woods=options.woods), quiet=True) as progress:
        try:
            result = worth(
                wing,
                per_bay=options.mesh,
                scatter=options.scatter,
                woods=options.woods,
                seed=seed,
                progress=progress,
            )
        except ValueError as fault:
            if type(fault) is not ValueError:
                raise
            raise InputFault(f"{options.file}: {fault}; give the case a load.") from None
    slopes = None
    if options.speed:
        slopes = by_web(speeds(condense(wing, per_bay=options.mesh), follow=False))

    def draw(place: Path) -> list[Path]:
        from models.pictures.worth import draw_worth

        return draw_worth(result, place)

    files = filled(folder, draw)
    record = worth_record(result, options.file, per_bay=options.mesh, seed=seed, files=files, fast=slopes)
    if options.json:
        print_json(record)
    else:
        from models.report.text import tell
        from models.report.worth import worth_text

        tell(worth_text, record)
    return ExitCode.DONE


def worth_record(
    result: Worth,
    file: str,
    *,
    per_bay: int,
    seed: int,
    files: list[Path],
    fast: dict[tuple[str, str, int, str], float] | None = None,
) -> Record:
    """All that `worth` has to say.

    Parameters
    ----------
    result : Worth
        From `models.studies.worth.worth`.
    file : str
        The file's name as it was typed.
    per_bay, seed
        As the study was made.
    files : list of Path
        Pictures.
    fast : dict or None
        From `models.studies.speed_doubt.by_web`, where it was asked for.

    Returns
    -------
    dict
        Plain data in SI (per kilogram, not per gram); load factors of a specimen are multiples of its load.
    """
    drawn, fifth = result.drawn, result.fifth
    about = [*ABOUT]
    if fast is not None:
        about.append(
            "Flutter speed: of the first that beats by strips, by the derivative of its eigenvalue, for webs "
            "that are there; twist-off and reversal by layout: sparbay speed, sparbay compare --speed."
        )
    if fifth is not None:
        about.append(ABOUT_FIFTH.format(sets=SETS, seed=seed))
    moved = small_movements.of(result.analysis)
    too_far = small_movements.warning(moved)
    record: Record = {
        "command": "worth",
        "version": version(),
        "file": file,
        "wing": result.analysis.wing.name,
        "kind": "wing" if result.flying else "specimen",
        "answer": {
            "sentences": [*sentences(result), *([too_far] if too_far else [])],
            "next_in": _where(result.next_in),
            "best_left_out": _where(result.best_out),
        },
        "small_movements": small_movements.record(moved, too_far),
        "cautions": list(CAUTIONS),
        "as_drawn": {
            "tip_deflection_m": drawn.deflection,
            "tip_twist_rad": drawn.twist,
            "load_factor_at_first_failure": drawn.load_factor,
            "load_factor_fifth_percentile": fifth,
            "first_failure": drawn.first_failure,
            "mass_kg": drawn.mass,
        },
        "webs": [
            {
                **_site(one),
                "thickness_m": one.thickness,
                "wood": one.wood,
                "mass_kg": one.grams / 1e3,
                **({} if fast is None else {"flutter_m_per_s_per_kg": _faster(one, fast)}),
                "slope": _slope(one.slope),
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
            for one in result.sizes
        ],
        "other_woods": [
            {**_place(one.site), "wood": one.wood, "change": _change(one.change)} for one in result.woods
        ],
        "woods_tried": [words for words, _, _ in WOODS] if result.woods else [],
        "about": about,
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(path) for path in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


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


def _site(one: SiteWorth) -> Record:
    return {**_place(one.site), "present": one.site.present}


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
