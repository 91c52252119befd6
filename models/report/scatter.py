"""The answer of `scatter` for people: words, what goes first, and the assumptions behind the chances."""

from __future__ import annotations

from models.report.text import Page, Record, answer, fixed


def scatter_text(out: Page, record: Record) -> None:
    """Words first, then the tables, then what was assumed.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.scatter.scatter_record`.
    """
    answer(out, record)
    percent = f"{100 * record['confidence']:.0f} %"
    flying = record["kind"] == "wing"
    unit = "g" if flying else "times the load"
    found = record["answer"]
    bays = [
        (
            "-" if b["bay"] is None else str(b["bay"]),
            b["spar"] or "-",
            b["side"] or "-",
            fixed(b["chance"], 100),
        )
        for b in record["bays"]
    ]
    out.table("Where it goes first", ["bay", "<spar", "<side", "wings\n%"], bays)
    firsts = [
        (f["part"], f["mode"], fixed(f["chance"], 100), f"{fixed(f['low'], 100)} to {fixed(f['high'], 100)}")
        for f in record["first_failures"]
    ]
    out.table("What goes first", ["<part", "<mode", "wings\n%", f"{percent}\ninterval"], firsts)
    low, high = found["fifth_percentile_interval"]
    rows = [
        ("with everything as in the tables", fixed(found["load_factor_nominal"]), "-"),
        ("median", fixed(found["load_factor_median"]), "-"),
        ("fifth percentile", fixed(found["load_factor_fifth_percentile"]), f"{fixed(low)} to {fixed(high)}"),
    ]
    out.table(f"At first failure, {unit}", ["<wings", unit, f"{percent}\ninterval"], rows)
    if record.get("layouts"):
        _layouts(out, record, unit)
    out.line()
    sample = record["sample"]
    kind = "wings" if flying else "specimens"
    out.say(
        f"{sample['n_wings']} {kind} from {sample['n_sets_of_wood']} sets of wood, seed {sample['seed']}; "
        f"the sets that they share make them count for {sample['n_effective']:.0f}."
    )
    for assumption in record["assumptions"]:
        out.say(f"- {assumption}")
    out.files(record["files"])


def _layouts(out: Page, record: Record, unit: str) -> None:
    rows = [
        (
            r["layout"],
            fixed(r["load_factor_median"]),
            fixed(r["load_factor_fifth_percentile"]),
            " to ".join(fixed(v) for v in r["fifth_percentile_interval"]),
            fixed(r["survival"], 100),
            f"{r['first_failure']} ({100 * r['first_failure_chance']:.0f} %)",
        )
        for r in record["layouts"]
    ]
    columns = [
        "<layout",
        f"median\n{unit}",
        f"fifth\n{unit}",
        "interval",
        "survive\n%",
        "~likeliest to go first",
    ]
    out.table("Layouts", columns, rows)
