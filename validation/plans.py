"""Whether plans of bench tests can be laid, and what they ask and show: random wings of the `new` command.

Every wing is planned as `sparbay bench` does. In plan it is looked at whether bags and battens have room
(`models.loads.laying.clashes`); readings and webs that would be named are those of every dial at every step
(before) and of the dials chosen (after). Seeds are fixed.

    python -m validation.plans --wings 20
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence

import numpy as np

from models.command.sizing import starter
from models.command.starter import Answers, NoStarter
from models.loads.laying import clashes
from models.structure import build
from models.studies.bench_test import BenchTest, bench_test
from models.studies.measured import DIAL, GAUGE, SEEN, Bench, Noise
from models.studies.readings import SIDES, Reading, bags_csv, read_bags
from models.studies.seeing import seeing
from models.wing.faults import WingFileError
from models.wing.parts import Wing
from models.wing.reading import read_text

_SEED = 20931


def random_wing(number: int) -> Wing:
    """A wing of the `new` command with random answers.

    Parameters
    ----------
    number : int
        Of the wing; the same number gives the same wing.
    """
    draw = np.random.default_rng([_SEED, number])
    while True:
        span = float(draw.uniform(0.9, 2.6))
        root = span / float(draw.uniform(5.0, 11.0))
        answers = Answers(
            name=f"Random {number}",
            span=round(span, 2),
            root_chord=round(root, 3),
            tip_chord=round(root * float(draw.uniform(0.55, 1.0)), 3),
            sweep=round(float(draw.uniform(0.0, 0.15)), 3),
            section=str(draw.choice(["NACA 2412", "NACA 0012", "NACA 4412", "NACA 0015"])),
            mass=round(span * root * float(draw.uniform(3.0, 7.0)), 2),
            load_factor=float(draw.integers(4, 9)),
            spars=int(draw.integers(1, 3)),
        )
        try:
            return read_text(starter(answers), source=answers.name)
        except (NoStarter, WingFileError):
            continue  # such a wing is refused; the next draw


def every_reading(test: BenchTest) -> list[Reading]:
    """Every dial at every step."""
    steps = range(1, len(test.fractions) + 1)
    return [Reading(k, SIDES[0], m.rib, m.x, "deflection", 0.0, 0) for k in steps for m in test.marks]


def main(arguments: Sequence[str] | None = None) -> None:
    """Print a line a wing and the sums.

    Parameters
    ----------
    arguments : sequence of str or None
        Options; None for those of the process.
    """
    assert __doc__ is not None
    parser = argparse.ArgumentParser(prog="python -m validation.plans", description=__doc__.split("\n")[0])
    parser.add_argument("--wings", type=int, default=20, help="how many")
    parser.add_argument("--first", type=int, default=0, help="number of the first")
    parser.add_argument("--mesh", type=int, default=1, help="elements along a bay")
    parser.add_argument("--dial", type=float, default=DIAL * 1e3, help="standard deviation of a dial, mm")
    parser.add_argument("--laying-only", action="store_true", help="nothing about readings")
    options = parser.parse_args(arguments)
    crowded = worse = 0
    sums = np.zeros(6)
    for number in range(options.first, options.first + options.wings):
        wing = random_wing(number)
        test = bench_test(wing, per_bay=options.mesh)
        found = clashes(test.plan.bags, test.width)
        crowded += bool(found)
        worse += not test.plan.kept
        bending, torsion = (100 * test.plan.errors[1:]).tolist()
        line = (
            f"{wing.name}: {len(wing.ribs)} ribs, {len(wing.spars)} spars, {test.plan.count} bags, "
            f"{sum(len(b.ribs) > 1 for b in test.plan.bags)} battens a side, errors {bending:.1f} and "
            f"{torsion:.1f} %, {len(found)} clashes"
        )
        if not options.laying_only:
            gauge = options.dial * 1e-3
            model = build(wing, per_bay=options.mesh)
            laid = read_bags(bags_csv(test), model)
            every = Bench(model, SIDES[0], laid, every_reading(test), options.mesh)
            before, _ = every.foreseen(Noise(gauge, GAUGE))
            one = seeing(wing, test, gauge=gauge, per_bay=options.mesh)
            after = np.array([chance for _, chance in one.webs])
            row = [
                one.every, one.n_readings, float((before >= SEEN).sum()), float((after >= SEEN).sum()),
                before.sum(), after.sum(),
            ]  # fmt: skip
            sums += row
            line += (
                f"; readings {row[0]:.0f} to {row[1]:.0f}; of {len(after)} webs seen {row[2]:.0f} to "
                f"{row[3]:.0f}, named on average {row[4]:.1f} to {row[5]:.1f}"
            )
        print(line, flush=True)
    print(
        f"{options.wings} plans, {crowded} that cannot be laid, {worse} beyond 3 % of bending or 5 % of "
        "torsion"
    )
    if not options.laying_only:
        print(
            f"readings {sums[0]:.0f} to {sums[1]:.0f}; webs seen {sums[2]:.0f} to {sums[3]:.0f}, named on "
            f"average {sums[4]:.1f} to {sums[5]:.1f}"
        )


if __name__ == "__main__":
    main()
