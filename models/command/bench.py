"""Which bags load an upside-down wing as in flight, and how far should it bend?

Says which bags to lay on which ribs, in steps up to a load that does not harm, which dials to read, what to
expect of them, and which missing webs they would show. With a folder it draws the plan and writes the
tables to take to the bench, for sparbay measured to judge. Leaves with 1 if the bags miss 3 % of bending or
5 % of torsion, or if the load would harm a sound wing.

example: sparbay bench trainer --bags 20 --largest 500g --folder bench
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, figures, give
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, new_folder, read_wing, write_new
from models.command.options import quantity, shared
from models.command.progress import Progress
from models.report.text import DEG, Columns, Page, answer, digits, fixed
from models.rounding import gees

if TYPE_CHECKING:
    from models.loads.bags import Bag
    from models.studies.bench_test import BenchTest
    from models.studies.seeing import Seeing
    from models.wing.parts import Wing


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    shared(command, "file", "json", "mesh")
    add("--bags", metavar="N", type=quantity("whole number", 2, 200), default=20,
        help="most bags, both sides (default: 20)")  # fmt: skip
    add("--largest", metavar="MASS", type=quantity("mass", "10 g", "1000 kg"), default=2.0,
        help="most that a bag may weigh, 500g or 18oz say (default: 2kg)")  # fmt: skip
    add("--bag-width", metavar="LENGTH", type=quantity("length", "5 mm", "1 m"), default=0.06,
        help="side of a bag as it lies, 60mm or 2.5in say (default: 60mm)")  # fmt: skip
    add("--steps", metavar="N", type=quantity("whole number", 1, 20), default=5,
        help="equal steps of load (default: 5)")  # fmt: skip
    add("--reading-error", metavar="LENGTH", type=quantity("length", "0.001 mm", "100 mm"), default=0.2e-3,
        help="standard deviation of the dial at hand, 0.05mm or 0.002in say (default: 0.2mm)")  # fmt: skip
    add("--twist", action="store_true",
        help="lay a couple besides: a bag on the outermost rib, first fore, then aft")  # fmt: skip
    add("--load-factor", metavar="G", type=quantity("load factor", 1, 100),
        help="load factor of the last step (default: what --proof suggests)")  # fmt: skip
    add("--folder", metavar="DIR",
        help="write the plan, the bags and a table for the readings into this folder, new or empty",
    )  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Plan the test; 1 where the bags do not reproduce the flight case or the load would harm the wing."""
    from models.studies.bench_test import N_STEPS, NoBags, NoBench, bench_test
    from models.studies.readings import BAGS_FILE, READINGS_FILE, bags_csv, readings_csv
    from models.studies.seeing import seeing

    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    try:
        with Progress(N_STEPS + 1, quiet=True) as progress:
            test = bench_test(
                wing, bags=options.bags, largest=options.largest, steps=options.steps,
                load_factor=options.load_factor, width=options.bag_width, per_bay=options.mesh,
                progress=progress,
            )  # fmt: skip
            progress("which dials tell the webs apart")
            read = {"gauge": options.reading_error, "twist": options.twist}
            chosen = seeing(wing, test, **read, per_bay=options.mesh)
    except NoBench as fault:
        raise InputFault(f"{options.file}: {fault}; bags are for a flying wing.") from None
    except NoBags as fault:
        mend = "make it stronger first (sparbay mend), or ask for more by --load-factor"
        raise InputFault(f"{options.file}: {fault}; {mend}.") from None

    def draw(place: Path) -> Iterator[Path]:
        from models.pictures.bench import draw_plan, draw_sheet

        yield draw_plan(wing, test, place / "plan.png", chosen)
        yield draw_sheet(wing, test, place / "sheet.png", chosen)
        for name, text in ((BAGS_FILE, bags_csv(test, chosen)), (READINGS_FILE, readings_csv(test, chosen))):
            write_new(place / name, text)
            yield place / name

    files = filled(folder, draw)
    record = bench_record(wing, test, chosen, options.file, options.mesh, files)
    return give(options, record, bench_text, holds=test.plan.kept and test.safe)


def bench_record(
    wing: Wing, test: BenchTest, chosen: Seeing, file: str, per_bay: int, files: list[Path]
) -> Record:
    """All that `bench` has to say.

    Parameters
    ----------
    wing, test, chosen
        The wing, its plan of bags, and the readings that are worth taking.
    file : str
        As it was typed.
    per_bay : int
        Elements along a bay.
    files : list of path
        What was written.
    """
    import numpy as np

    from models import small_movements
    from models.loads.bags import BENDING_ALLOWED, LOCAL_SHARE, TORSION_ALLOWED
    from models.studies.bench_test import CAUTIONS, sentences
    from models.studies.seeing import sentences as seen_sentences

    plan, last = test.plan, float(test.fractions[-1])
    moved = small_movements.of_tip(
        wing,
        float(np.abs(last * test.full + test.own).max()),
        float(np.abs(last * test.twist + test.own_twist).max()),
    )
    too_far = small_movements.warning(moved, "Under the last step of bags and its own weight")
    record = {
        "wing": wing.name,
        "answer": {
            "sentences": [*sentences(test), *seen_sentences(chosen), *([too_far] if too_far else [])],
            "reproduced": plan.kept,
            "safe": test.safe,
            "load_factor": plan.load_factor,
            "load_factor_asked": test.asked,
            "highest_load_factor": test.proof.highest,
            "n_bags": plan.count,
            "mass_of_bags_kg": plan.mass,
        }
        | {f"error_of_{what}": float(e) for what, e in zip(("shear", "bending", "torsion"), plan.errors)},
        "errors_are_of": {
            "words": "the value at the rib, or where it is smaller this share of the greatest one",
            "share_of_greatest": LOCAL_SHARE,
            "allowed_in_bending": BENDING_ALLOWED,
            "allowed_in_torsion": TORSION_ALLOWED,
            "ribs_below_in_bending": list(plan.faint(1)),
            "ribs_below_in_torsion": list(plan.faint(2)),
            "worst_error_in_bending_of_greatest": float(plan.of_greatest[1]),
            "worst_error_in_torsion_of_greatest": float(plan.of_greatest[2]),
        },
        "small_movements": small_movements.record(moved, too_far),
        "held_to_each_side_m": test.hold,
        "bag_width_m": test.width,
        "bags_on_each_side": [
            _bag(bag, test) | {"packer_m": high or None} for bag, high in zip(plan.bags, test.packers)
        ],
        "readings": _readings(chosen, file),
        "diagrams": _diagrams(test),
        "steps": [
            {"step": k, "share_of_bags": float(f), "load_factor": float(n)}
            for k, (f, n) in enumerate(zip(test.fractions, test.load_factors), 1)
        ],
        "marks": [
            figures(mark, "rib", "y_m", aft_of_leading_edge_m="aft", place="place")
            | {
                "own_weight_deflection_m": float(test.own[k]),
                "deflection_by_step_m": (test.fractions * test.full[k]).tolist(),
            }
            for k, mark in enumerate(test.marks)
        ],
        "twist": [
            {
                "rib": int(rib),
                "own_weight_twist_rad": float(test.own_twist[k]),
                "twist_by_step_rad": (test.fractions * test.twist[k]).tolist(),
            }
            for k, rib in enumerate(test.ribs)
        ],
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(f) for f in files],
    }
    near = "5/64 in" if say.imperial() else "2 mm"
    return document("bench", file, record, tuple(one.format(near=near) for one in CAUTIONS))


def _bag(bag: Bag, test: BenchTest) -> Record:
    batten = len(bag.ribs) > 1
    return figures(bag, "ribs", "y_m", aft_of_leading_edge_m="aft") | {
        "cord_that_lifts": bag.mass < 0,
        "along_batten": bag.along if batten else None,
        "from_inner_rib_m": bag.along * (bag.y[-1] - bag.y[0]) if batten else None,
        "mass_kg": abs(bag.mass),
        "mass_by_step_kg": (test.fractions * abs(bag.mass)).tolist(),
    }


def _readings(chosen: Seeing, file: str) -> Record:
    from models.studies.readings import READINGS_FILE

    couple = chosen.couple
    gauge = f"{chosen.gauge / say.INCH:.4g}in" if say.imperial() else f"{chosen.gauge * 1e3:g}mm"
    return {
        "number": chosen.n_readings,
        "number_if_all_were_read": chosen.every,
        "reading_error_m": chosen.gauge,
        "twist_stiffness_error": chosen.twist,
        "judge_with": f"sparbay measured {file} {READINGS_FILE} --reading-error {gauge}",
        "chance_of_naming_anything_in_a_sound_wing": chosen.alarm,
        "couple": None
        if couple is None
        else figures(couple, "rib", "mass_kg", "steps", aft_of_leading_edge_m="aft"),
        "dials": [
            figures(dial, rib="mark.rib", y_m="mark.y", aft_of_leading_edge_m="mark.aft", place="mark.place")
            | figures(dial, "steps", "expected_m", standard_deviation_m="doubt")
            for dial in chosen.dials
        ],
        "webs": [
            {"part": suspect.name, "chance_of_being_named_if_missing": chance}
            for suspect, chance in chosen.webs
        ],
    }


def _diagrams(test: BenchTest) -> list[Record]:
    flight, bench, own = test.plan.flight, test.plan.bench, test.plan.own
    units = ("shear_N", "bending_N_m", "torsion_N_m")
    rows = []
    for k, y in enumerate(flight.y.tolist()):
        row: Record = {"y_m": y, "rib": int(test.plan.rib[k]) or None}
        for what, values in (("flight", flight.values), ("bench", bench.values), ("own_weight", own.values)):
            row |= {f"{what}_{unit}": float(v) for unit, v in zip(units, values[k])}
        error = flight.error(bench)[k]
        row |= {f"error_of_{unit.split('_')[0]}": float(e) for unit, e in zip(units, error)}
        rows.append(row)
    return rows


def bench_text(out: Page, record: Record) -> None:
    """The answer of `bench`: words, bags, cautions, diagrams, and what to expect at each step."""
    found = record["answer"]
    answer(out, record, good=found["reproduced"] and found["safe"])
    steps = record["steps"]
    heads = [f"step {s['step']}\n{gees(s['load_factor'])} g" for s in steps]
    rows: list[tuple[str, ...]] = []
    for bag in record["bags_on_each_side"]:
        ribs = " and ".join(str(r) for r in bag["ribs"])
        aft = " and ".join(say.ruler.fixed(a, 0) for a in bag["aft_of_leading_edge_m"])
        what = "cord up" if bag["cord_that_lifts"] else "batten" if len(bag["ribs"]) > 1 else "bag"
        along = say.ruler.fixed(bag["from_inner_rib_m"], 0) if what == "batten" else "-"
        nr, packer = str(len(rows) + 1), say.ruler.fixed(bag["packer_m"], 0)
        masses = (say.bag_mass.fixed(m, 0) for m in bag["mass_by_step_kg"])
        rows.append((nr, ribs, what, aft, along, packer, *masses))
    columns = [
        "no.", "<rib", "<how", f"aft of leading\nedge, {say.length.unit}",
        f"batten: from the\ninner rib, {say.length.unit}", f"packers'\nheight, {say.length.unit}",
    ]  # fmt: skip
    title = f"Bags on each side, {say.grams.unit} at each step (both sides alike)"
    out.table(title, [*columns, *heads], rows)
    if any(row[2] == "batten" for row in rows):
        out.say(
            "A batten rests on one point of each of its two ribs, as far aft as given for each; its bag "
            "lies on it so far from the inner rib, packers lie under both its ends, and the ribs between are "
            "left free."
        )
    couple = record["readings"]["couple"]
    if couple:
        ruler = say.ruler_word()
        aft = f" {ruler}, then ".join(say.ruler.fixed(a, 0) for a in couple["aft_of_leading_edge_m"])
        first, then = couple["steps"]
        out.say(
            f"Then, with all other bags off, a couple: {say.bag_mass.told(couple['mass_kg'], 0)} on each "
            f"side alone on rib {couple['rib']}, first {aft} {ruler} aft of the leading edge (steps {first} "
            f"and {then}), on a stick along the rib."
        )
    _expected(out, record, heads)
    _reproduced(out, record)


def _expected(out: Page, record: Record, heads: list[str]) -> None:
    read = record["readings"]
    steps = sorted({k for dial in read["dials"] for k in dial["steps"]})
    own = {(m["rib"], m["aft_of_leading_edge_m"]): m["own_weight_deflection_m"] for m in record["marks"]}
    rows = []
    for dial in read["dials"]:
        at = {k: j for j, k in enumerate(dial["steps"])}
        error = dial["standard_deviation_m"]
        shown = [max(err, read["reading_error_m"]) for err in error]
        most = max(range(len(shown)), key=lambda j: abs(dial["expected_m"][j]))
        aft = dial["aft_of_leading_edge_m"]
        expected = ["-"] * len(steps)
        for k, j in at.items():
            expected[steps.index(k)] = say.length.fixed(dial["expected_m"][j], digits(shown[j]))
        rows.append(
            (
                str(dial["rib"]), dial["place"], say.ruler.fixed(aft, 0),
                say.length.fixed(own[dial["rib"], aft], 1), *expected,
                say.length.fixed(2 * shown[most], digits(shown[most])),
            )
        )  # fmt: skip
    named = dict(enumerate(heads, 1))
    columns = ["rib", "<at", f"aft of leading\nedge, {say.length.unit}", "own weight\n(before zero)"]
    columns += [named.get(k, f"step {k}\ncouple") for k in steps]
    out.table(
        f"Read these dials, {say.length.unit} (the tip sinks: as lift bends it), and expect of the bags",
        [*columns, "give or take\nat the most"], rows,
    )  # fmt: skip
    out.say(
        "Give or take: two standard deviations of what wood, hold, bags and the model may do; a wing within "
        "it is as computed. " + f"Judge with: {read['judge_with']}"
    )
    twice = {d["rib"] for d in read["dials"] if sum(e["rib"] == d["rib"] for e in read["dials"]) > 1}
    last = len(heads)
    if told := [t for t in record["twist"] if t["rib"] in twice]:
        out.listed("Twist to expect, degrees nose up", told, {
            "rib": ("rib", str),
            "own weight\n(before zero)": ("own_weight_twist_rad", fixed, DEG),
            heads[last - 1]: lambda t: fixed(t["twist_by_step_rad"][-1], DEG),
        })  # fmt: skip
    chance = "chance_of_being_named_if_missing"
    if seen := [w for w in read["webs"] if w[chance] >= 0.05]:
        heads_of: Columns = {"<web or brace": "part", "%": (chance, fixed, 100, 0)}
        out.listed("Chance of being named if missing, % (those not listed: below 5)", seen, heads_of)


def _reproduced(out: Page, record: Record) -> None:
    kinds = {"shear_N": say.force, "bending_N_m": say.moment, "torsion_N_m": say.moment}
    rows = []
    for d in record["diagrams"]:
        cells = [str(d["rib"] or "hold"), say.length.fixed(d["y_m"], 0)]
        for unit, kind in kinds.items():
            cells += [kind.number(d[f"{what}_{unit}"], 3) for what in ("flight", "bench")]
            cells.append(fixed(d[f"error_of_{unit.split('_')[0]}"], 100))
        rows.append(cells)
    columns = ["rib", f"at y\n{say.length.unit}"]
    for unit, kind in kinds.items():
        columns += [f"{unit.split('_')[0]}, {kind.unit}\nflight", "\nbench", "\nerror, %"]
    out.table("Flight and bench just inboard of each rib (the first row: at the hold)", columns, rows)
    share = record["errors_are_of"]["share_of_greatest"]
    out.say(
        f"Errors are of the value at the rib, or of {100 * share:.0f} % of the greatest where it is smaller. "
        "Bending and torsion are about axes across and along the first spar that reaches the tip. Flight: "
        "lift less inertia of structure and equipment; bench: bags and the bare wing's own weight."
    )
    out.files(record["files"])
