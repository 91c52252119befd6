"""The answer of `scatter` for people: words, what goes first, and the assumptions behind the chances."""

from __future__ import annotations

from models.report.text import Page, Record, cautions, fixed

MOST_ROWS = 12
"""Rows of the table of parts and modes; the JSON document has them all."""


def scatter_text(out: Page, record: Record) -> None:
    """Words first, then the tables, then what was assumed.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.scatter.scatter_record`.
    """
    out.say(record["wing"], "bold")
    for sentence in record["answer"]["sentences"]:
        out.say(sentence)
    cautions(out, record)
    percent = f"{100 * record['confidence']:.0f} %"
    flying = record["kind"] == "wing"
    unit = "g" if flying else "times the load"
    answer = record["answer"]
    bays = [
        (
            "-" if b["bay"] is None else str(b["bay"]),
            b["spar"] or "-",
            b["side"] or "-",
            fixed(b["chance"], 100),
        )
        for b in record["bays"]
    ]
    out.table("Where it goes first", ["bay", "<spar", "<side", "wings\n%"], bays[:MOST_ROWS])
    firsts = [
        (f["part"], f["mode"], fixed(f["chance"], 100), f"{fixed(f['low'], 100)} to {fixed(f['high'], 100)}")
        for f in record["first_failures"]
    ]
    title = "What goes first" + (f" ({MOST_ROWS} of {len(firsts)})" if len(firsts) > MOST_ROWS else "")
    out.table(title, ["<part", "<mode", "wings\n%", f"{percent}\ninterval"], firsts[:MOST_ROWS])
    low, high = answer["fifth_percentile_interval"]
    rows = [
        ("with everything as in the tables", fixed(answer["load_factor_nominal"]), "-"),
        ("median", fixed(answer["load_factor_median"]), "-"),
        ("fifth percentile", fixed(answer["load_factor_fifth_percentile"]), f"{fixed(low)} to {fixed(high)}"),
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
    if record["files"]:
        out.say(f"Pictures: {', '.join(record['files'])}")


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
