"""Does the wing survive the load in its file, and which bay fails first?

Answers in words, then with tables: bays by reserve factor, deflection and twist at the ribs, mass, what the
solve had to prove, and what was assumed.

example: sparbay check powered-tailless
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from models import units_out as say
from models.command.document import Record, give, told_whole
from models.command.exit_codes import ExitCode
from models.command.files import must_fly, read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import DEG, FAR, Page, answer, borne, fixed, number, reserve
from models.rounding import gees


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")
    command.add_argument("--rigid-joints", action="store_true",
        help="hold the feet of the rib posts rigidly on the caps, to see how much their give matters",
    )  # fmt: skip
    command.add_argument("--speed", action="store_true",
        help="let flutter, twist-off and reversal enter the verdict (longer; all of it: sparbay speed)",
    )  # fmt: skip
    command.add_argument("--panels", action="store_true",
        help="show beside it what the classic model of booms and shear panels says",
    )  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Check the wing file; 1 where a wing is not fit, or a specimen fails under its load."""
    from models.analysis import analyse
    from models.command.covering import covering_record
    from models.command.panels import panels_record
    from models.command.record import check_record
    from models.covering import cover
    from models.session import Session
    from models.studies.speed_limit import limit, not_looked_at
    from models.verdict import verdict

    wing = read_wing(options.file)
    if options.speed:
        must_fly(wing, options.file, "--speed")
    mesh = {"per_bay": options.mesh, "rigid_joints": options.rigid_joints}
    decided = covered = fast = None
    with Progress(1 + bool(wing.coverings) + options.speed + wing.flies, quiet=True) as progress:
        progress("the load in the file")
        analysis = analyse(wing, **mesh, keep_factor=True)
        session = Session(wing, **mesh, sound=analysis)
        margins = session.side.told
        if wing.coverings:
            progress("covered")
            covered = cover(wing, **mesh, bent=True)
        if options.speed:
            progress("how fast")
            fast = limit(wing, session=session)
        if analysis.pull_up is not None:
            progress("every case, in wood as it scatters")
            bears = None if covered is None else covered.least_load
            decided = verdict(wing, covered=bears, speed=fast, session=session, test=told_whole(options))
    record = check_record(analysis, margins, options.file, **mesh, decided=decided, whole=told_whole(options))
    if decided is not None and decided.speed is None:
        record["answer"]["sentences"] += not_looked_at(wing)
    if covered is not None:
        found = covering_record(analysis, margins, covered)
        record["covering"] = found
        record["answer"]["sentences"] += found["sentences"]
    if options.panels:
        record["panels"] = panels_record(analysis, margins)
        record["answer"]["sentences"] += record["panels"]["sentences"]
    return give(options, record, check_text, holds=record["answer"]["survives"])


def check_text(out: Page, record: Record) -> None:
    """The answer of `check`: words first, then the cautions, then the tables."""
    answer(out, record, good=record["answer"]["survives"])
    _bays(out, record)
    if "covering" in record:
        _covering(out, record["covering"])
    if record["kind"] == "wing":
        _flight(out, record["results"]["pull_up"])
    else:
        _bench(out, record)
    _mass(out, record["mass"])
    _solve_checks(out, record)
    if record["assumed"]:
        rows = [(a["key"], say.as_spoken(a["value"])) for a in record["assumed"]]
        out.table("Assumed, since the file does not say", ["<key", "~taken as"], rows)
    if record.get("sources"):
        rows = [(s["mode"], s["source"]) for s in record["sources"]]
        out.table("Where the rules come from", ["<mode of failure", "~source"], rows)
    if "hangs_on" in record:
        _hangs_on(out, record)


def _bays(out: Page, record: Record) -> None:
    flying = record["kind"] == "wing"
    what = "fails\nat, g" if flying else "fails at\ntimes load"
    key = "load_factor_at_failure" if flying else "load_multiple_at_failure"

    sides = any(m["side"] == "port" for m in record["bays"])
    spars = len({m["spar"] for m in record["bays"]}) > 1

    def row(m: Record, *, own_bay: bool = False) -> tuple[str, ...]:
        goes = f"{m['part'].rpartition(': ')[2]}: {m['mode']}"
        goes = f"bay {m['bay']}, {goes}" if own_bay and m["bay"] else goes
        fails = borne(m[key], 1 if flying else 2) if _near(m) else "-"
        return (
            *([m["side"] or "-"] if sides else []),
            *([m["spar"] or "-"] if spars else []),
            goes,
            reserve(m["reserve_factor"]),
            fails,
            _applied(m),
        )

    columns = [*(["<side"] if sides else []), *(["<spar"] if spars else [])]
    columns += ["<goes first", "reserve\nfactor", what, "?applied of allowable"]
    bays = [(str(m["bay"]), *row(m)) for m in record["bays"]]
    others = [m for m in record["other_parts"] if _near(m)]
    beside = [(say.length.fixed(m["y_m"]), *row(m, own_bay=True)) for m in others]
    told = [("Bays, the weakest first", ["bay", *columns], bays)]
    if others:
        title = "Rib posts, ribs, rails and sheeting, the weakest first"
        told.append((title, [f"y, {say.length.unit}", *columns], beside))
        # What goes first of all stands on the first screen.
        if not bays or others[0]["reserve_factor"] < record["bays"][0]["reserve_factor"]:
            told.reverse()
    for title, heads, rows in told:
        out.table(title, heads, rows)
    _secondary(out, record.get("secondary", []), key, what, flying=flying)


def _secondary(out: Page, margins: Sequence[Record], key: str, what: str, *, flying: bool) -> None:
    """What may give way sooner without ending the flight: the worst of every mode, and why."""
    near = [m for m in margins if _near(m)]
    if near:
        out.listed("May give way without ending the flight, or counts on a condition", near, {
            "<mode": "mode",
            "<where it comes first": "part",
            "reserve\nfactor": ("reserve_factor", reserve),
            what: (key, borne, 1 if flying else 2),
            "?~why it is not counted": "reason",
        })  # fmt: skip


def _covering(out: Page, found: Record) -> None:
    """The wing bare and covered side by side, and what else its covering does."""
    wings = [{"wing": "bare"} | found["bare"]]
    for words, of in (("covered", found), ("stiff film", found["stiff_end"])):
        if of is not None:
            wings.append({"wing": f"{words}, taut"} | of["taut"])
            wings.append({"wing": f"{words}, wrinkling"} | of["wrinkled"])
    out.listed("Bare and covered", wings, {
        "<wing": "wing",
        f"tip up\n{say.length.unit}": ("tip_deflection_m", say.length.number),
        "tip twist\ndeg": ("tip_twist_rad", number, DEG),
        "fails\nat, g": ("load_factor_at_first_failure", borne),
    })  # fmt: skip
    out.listed("What the covering may do", found["modes"], {
        "<mode": "mode",
        "<where it comes first": "part",
        "at, g": ("load_factor_at_failure", borne),
        "?applied of allowable": _applied,
        "~and then": "reason",
    })  # fmt: skip


def _hangs_on(out: Page, record: Record) -> None:
    """The figures whose doubt moves the load at first failure most, a line each."""
    figures = record["hangs_on"]["figures"]
    if not figures:
        return
    flying = record["kind"] == "wing"
    out.line()
    out.line("What this answer hangs on", "bold")
    for one in figures:
        change = one["load_factor_change"] if flying else one["load_multiple_change"]
        moved = f"{change:+.2f} g" if flying else f"{change:+.3g} times the load"
        percent = number(one["standard_deviation_over_figure"], 100, 2)
        words = f"{one['words'][:1].upper()}{one['words'][1:]}"
        out.say(f"{words}: {percent} % more moves the failing load by {moved}.")
    out.say(record["hangs_on"]["about"])


def _near(margin: Record) -> bool:
    factor = margin["reserve_factor"]
    return factor is not None and factor <= FAR


def _applied(margin: Record) -> str:
    """What is applied of what is allowed, with the unit."""
    factor, unit = say.unit_of(margin["unit"])
    applied, allowable = (number(margin[key], factor, 3) for key in ("applied", "allowable"))
    return f"{applied} of {allowable} {unit}".strip()


def _flight(out: Page, case: Record) -> None:
    spars = list(dict.fromkeys(r["spar"] for r in case["ribs"]))
    by_spar = {spar: {round(r["y_m"], 7): r for r in case["ribs"] if r["spar"] == spar} for spar in spars}
    twist = {round(t["y_m"], 7): t["twist_rad"] for t in case["twist_of_wing"]}
    rows = []
    for y in sorted(set().union(*by_spar.values())):
        cells = [say.length.fixed(y)]
        cells += [
            say.length.fixed(by_spar[spar][y]["deflection_m"], 2) if y in by_spar[spar] else "-"
            for spar in spars
        ]
        rows.append((*cells, fixed(twist.get(y), DEG, 2)))
    mm = say.length.unit
    columns = [f"y, {mm}", *(f"{spar} spar\nup, {mm}" for spar in spars), "wing's twist\nnose up, deg"]
    out.table(
        f"Deflection and twist at the ribs in the pull-up at {gees(case['load_factor'])} g", columns, rows
    )
    _mid_bays(out, "Stress half way along each bay", case["mid_bays"])


def _bench(out: Page, record: Record) -> None:
    titles = {"force": "the force alone", "torque": "the torque alone", "both": "force and torque"}
    cases = record["results"]
    asked = cases["both"]
    shown = [name for name, key in (("force", "tip_force_N"), ("torque", "tip_torque_N_m")) if asked[key]]
    if len(shown) == 2:
        shown.append("both")
    for name in shown:
        out.listed(f"Deflection and twist at the ribs and the tip, {titles[name]}", cases[name]["ribs"], {
            "<spar": "spar",
            f"y, {say.length.unit}": ("y_m", say.length.fixed),
            f"up, {say.length.unit}": ("deflection_m", say.length.number),
            "twist\nnose up, deg": ("twist_rad", number, DEG),
        })  # fmt: skip
        _mid_bays(out, f"Stress half way along each bay, {titles[name]}", cases[name]["mid_bays"])
    flex = record["flexibilities"]
    rows = [
        (
            spar,
            number(flex["deflection_by_force_m_per_N"][k][k], say.length.factor / say.force.factor),
            number(flex["twist_by_torque_rad_per_N_m"][k][k], DEG / say.small_moment.factor),
            say.length.fixed(flex["twist_free_force_aft_of_caps_m"][k], 2),
        )
        for k, spar in enumerate(flex["spars"])
    ]
    mm = say.length.unit
    columns = [
        "<spar", f"tip up\n{mm} per {say.force.unit}", f"tip twist\ndeg per {say.small_moment.unit}",
        f"twist-free force\naft of caps, {mm}",
    ]  # fmt: skip
    out.table("Flexibility", columns, rows)


def _mid_bays(out: Page, title: str, bays: Sequence[Record]) -> None:
    carried = {face for b in bays for face in b["web_shear_stress_Pa"]}
    faces = [face for face in ("front", "between", "rear") if face in carried]
    rows = []
    for b in bays:
        caps = [say.stress.number(b[f"{c}_cap_stress_Pa"], 3) for c in ("upper", "lower")]
        webs = [say.stress.number(b["web_shear_stress_Pa"].get(face), 3) for face in faces]
        rows.append((b["spar"], str(b["bay"]), b["side"] or "-", say.length.fixed(b["y_m"]), *caps, *webs))
    columns = [
        "<spar", "bay", "<side", f"y, {say.length.unit}", "upper\ncap", "lower\ncap",
        *(f"{face}\nweb" for face in faces),
    ]  # fmt: skip
    out.table(f"{title}: axial stress of caps, mean shear stress of webs, {say.stress.unit}", columns, rows)


def _mass(out: Page, mass: Record) -> None:
    kinds = sorted(mass["structure_by_kind_kg"].items(), key=lambda item: -item[1])
    rows = [(kind, say.grams.fixed(kg)) for kind, kg in kinds]
    rows.append(("structure", say.grams.fixed(mass["structure_kg"])))
    if mass.get("covering_kg"):
        rows.append(("covering", say.grams.fixed(mass["covering_kg"])))
    rows += [(name, say.grams.fixed(kg)) for name, kg in mass.get("carried_by_name_kg", {}).items()]
    totals = {"wing_with_all_it_carries_kg": "wing with all it carries", "aeroplane_kg": "whole aeroplane"}
    rows += [(name, say.grams.fixed(mass[key])) for key, name in totals.items() if key in mass]
    out.table("Mass (of a wing, both sides)", ["<part", say.grams.unit], rows)


def _solve_checks(out: Page, record: Record) -> None:
    names = {
        "residual_over_loads": "force left over at a node, over the loads",
        "reaction_sum_over_loads": "loads and reactions together, over the loads",
        "support_reaction_over_loads": "reaction of the supports of the wing in flight, over the loads",
        "energy_difference": "work of the loads against strain energy, relative",
        "smallest_scaled_pivot": "smallest pivot of the scaled matrix (0 is a mechanism)",
    }
    rows = [(names[key], f"{value:.1e}") for key, value in record["solve_checks"].items()]
    mesh = record["mesh"]
    out.table("Proof of the solve", ["<check", "value"], rows)
    joints = "rigid rib joints" if mesh["rigid_joints"] else "rib joints that give"
    size = f"{mesh['n_nodes']} nodes, {mesh['n_elements']} elements"
    out.say(f"Mesh: {mesh['elements_per_bay']} elements a bay, {size}, {joints}.")
    if "words" in mesh:
        out.say(mesh["words"])
