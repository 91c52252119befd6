"""How often `measured` is right: made-up bench tests of the example wings with a known truth.

Bags, readings and the couple are those of `sparbay bench --twist` for the dial that reads them.
Every made-up wing draws each of its pieces of wood from the scatter that the woods list. Its readings, one a
mark and step, have noise (3 % of each, or a dial's), the model's own error of shape (`hypotheses.SHAPE` of
each rib's largest movement), an error in common, a hold that gives in twist, and bags that lie off their
places, all together and each. Sound wings count the false alarms; of wings with one web or brace left out
(built anew without it) it is counted how often that one is named, beside the chance that `measured` itself
tells, and how often only others are; of all, how many stated errors the stiffnesses told are off. Seeds are
fixed.

    python -m validation.rates --wing trainer --dial 0.1 --noise 0.01 --sound 100 --each 20 --save FILE
    python -m validation.rates --kept

The second prints what is kept in `cases/bench_rates.csv`, a row a wing, dial and web, with the options that
made it. Not part of `sparbay validate`: it takes minutes on the larger wings.
"""

from __future__ import annotations

import argparse
import csv
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np

from fea.arrays import Array
from models.command.files import read_wing
from models.structure import build
from models.studies import hypotheses as hyp
from models.studies.bench_test import bench_test
from models.studies.measured import COMMON, WORTH, Bench, Noise, SideFound
from models.studies.measured import DIAL as DIAL_AT_HAND
from models.studies.readings import Reading, bags_csv, read_bags
from models.studies.response import Response
from models.studies.seeing import Seeing, seeing
from models.wing.parts import Wing

WINGS = ("trainer", "powered-tailless", "sailplane")
NOISE = 0.03
"""Standard deviation of a reading, as a share of it."""
DIAL = 0.0
"""Standard deviation of a reading besides, m."""
_SEED = 60413


COLUMNS = (
    "wing", "dial [mm]", "noise", "mesh", "gone", "tests", "named", "likeliest", "alarms", "misfits",
    "only others", "promised", "bending told", "off by 1", "by 2", "by 3", "twist told", "off by 1 in twist",
    "by 2 in twist", "by 3 in twist",
)  # fmt: skip


@dataclass(frozen=True)
class Rate:
    """One row: what is left out in `suspect` (None: a sound wing), tests in `n`, of which in `named` it was
    named, in `first` it was the likeliest of those named, in `alarms` something was, and in `wrong` something
    was but not it; `predicted` is the mean of the chance told beforehand (of a sound wing, of an alarm);
    `bending` and `twist` are the tests in which a stiffness was told, and those in which it was off by more
    than one, two and three of its stated errors."""

    suspect: str | None
    n: int
    named: int
    first: int
    alarms: int
    misfits: int
    predicted: float
    wrong: int = 0
    bending: tuple[int, ...] = (0, 0, 0, 0)
    twist: tuple[int, ...] = (0, 0, 0, 0)

    def row(self, before: Sequence[object]) -> list[object]:
        """As a row of `COLUMNS`, `before` those of the wing and its dials."""
        return [
            *before, self.suspect or "", self.n, self.named, self.first, self.alarms, self.misfits,
            self.wrong, f"{self.predicted:.4f}", *self.bending, *self.twist,
        ]  # fmt: skip


class MadeUp:
    """Made-up bench tests of one wing.

    Parameters
    ----------
    wing : Wing
        A flying wing.
    per_bay : int
        Elements along a bay.
    noise : float
        Standard deviation of a reading, as a share of it.
    dial : float
        The same besides, m.
    exact : bool
        Without errors of shape, in common and of places.
    couple : bool
        With the couple.
    listed : bool
        All wood as listed, in place of wood drawn from its scatter.
    """

    def __init__(
        self, wing: Wing, *, per_bay: int = 2, noise: float = NOISE, listed: bool = False,
        dial: float = DIAL, exact: bool = False, couple: bool = True,
    ) -> None:  # fmt: skip
        self.noise, self.listed, self.dial, self.exact = noise, listed, dial, exact
        model = build(wing, per_bay=per_bay)
        plan = bench_test(wing, per_bay=per_bay)
        chosen = seeing(wing, plan, gauge=dial or DIAL_AT_HAND, twist=couple, per_bay=per_bay)
        laid = read_bags(bags_csv(plan, chosen), model)
        self.known = Noise(dial, relative=noise) if dial else None
        self.bench = Bench(model, "starboard", laid, _places(chosen), per_bay)
        # What is promised before the test is what is held against what is found.
        self.promised = self.bench.foreseen(self.known) if self.known else None

    def found(
        self, suspect: int | None, n: int, left: Mapping[int, float] | None = None, again: int | None = None
    ) -> Iterator[tuple[SideFound, Array]]:
        """Judge so many made-up tests with a suspect left out (None: nothing is), or with some that keep
        only a share of their stiffness; and the true movements. Other draws with every number `again`."""
        bench = self.bench
        truth: Response = bench.sound if suspect is None else bench.without(suspect)
        seed = [_SEED, *(left or ()), 0 if suspect is None else suspect + 1]
        draw = np.random.default_rng(seed if again is None else [*seed, again])
        for _ in range(n):
            (wood,) = bench.prior.draws(draw, 1)
            solved = truth.solve(0 * wood if self.listed else wood)
            true = truth.weakened(solved, left or {}).moves
            moves = true if self.exact else self._off(true, draw)
            noise = 1 + self.noise * draw.standard_normal(len(bench.share))
            dial = self.dial * draw.standard_normal(len(bench.share))
            value = moves[bench.mark_of] * bench.share * noise + dial
            yield bench.judged(self.known, value, foreseen=self.promised), true

    def _off(self, moves: Array, draw: np.random.Generator) -> Array:
        """Movements with the model's errors and with bags that lie off their places."""
        bench = self.bench
        bags = bench.bag_columns
        placed = hyp.PLACED * (draw.standard_normal() + draw.standard_normal(bags.shape[1]))
        shape = hyp.SHAPE * bench._largest(moves) * draw.standard_normal(len(moves))
        hold = hyp.HOLD * bench._turns()[:, 1] * draw.standard_normal()
        return np.asarray(moves * (1 + COMMON * draw.standard_normal()) + bags @ placed + hold + shape)

    def rate(self, suspect: int | None, n: int) -> Rate:
        """Count."""
        who = None if suspect is None else self.bench.suspects[suspect]
        named = first = alarms = misfits = wrong = 0
        predicted = 0.0
        strays: dict[bool, list[float]] = {False: [], True: []}
        for one, true in self.found(suspect, n):
            for turned, told, error in (
                (False, one.bending, one.bending_error),
                (True, one.twist, one.twist_error),
            ):
                if error <= WORTH:
                    right, _ = self.bench._ratio(true, one.error, one.computed, turned=turned)
                    strays[turned].append((told - right) / error)
            alarms += bool(one.verdict)
            wrong += bool(one.verdict) and who not in one.named
            misfits += not one.fits
            named += who in one.named
            first += bool(one.named) and one.named[0] == who
            due = one.alarm if who is None else 0.0
            predicted += next((s.seen for s in one.suspects if s.suspect == who), due)
        return Rate(
            who.name if who else None, n, named, first, alarms, misfits, predicted / n, wrong,
            _beyond(strays[False]), _beyond(strays[True]),
        )  # fmt: skip

    def weak(self, webs: tuple[int, ...], n: int, left: float, again: int | None = None) -> dict[str, int]:
        """How many of made-up tests with webs that keep only a share are told how: all of these webs and no
        others named, these and others (or some of these), nothing, only others."""
        counts = dict.fromkeys(("right", "partly", "nothing", "only others"), 0)
        due = {self.bench.suspects[k] for k in webs}
        for one, _ in self.found(None, n, dict.fromkeys(webs, left), again):
            named = set(one.named)
            how = "right" if named == due else "partly" if named & due else "only others"
            counts[how if one.verdict else "nothing"] += 1
        return counts


def _beyond(off: Sequence[float]) -> tuple[int, ...]:
    """How many there are, and how many are beyond 1, 2 and 3."""
    return (len(off), *(sum(abs(one) > k for one in off) for k in (1, 2, 3)))


def kept() -> list[tuple[list[str], Rate]]:
    """Rows that are kept: wing, dial, noise and mesh, and what was counted."""
    text = resources.files("validation.cases").joinpath("bench_rates.csv").read_text(encoding="utf-8")
    out = []
    for row in list(csv.reader(text.splitlines()))[1:]:
        n, named, first, alarms, misfits, wrong = (int(cell) for cell in row[5:11])
        off = [int(cell) for cell in row[12:20]]
        rate = Rate(
            row[4] or None, n, named, first, alarms, misfits, float(row[11]), wrong, tuple(off[:4]),
            tuple(off[4:]),
        )  # fmt: skip
        out.append((row[:4], rate))
    return out


def _places(chosen: Seeing) -> list[Reading]:
    return [
        Reading(k, "starboard", d.mark.rib, d.mark.x, "deflection", 0.0, 0)
        for d in chosen.dials
        for k in d.steps
    ]


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the rates of the wings asked for.

    Parameters
    ----------
    arguments : sequence of str or None
        Options; None for those of the process.
    """
    assert __doc__ is not None
    parser = argparse.ArgumentParser(prog="python -m validation.rates", description=__doc__.split("\n")[0])
    parser.add_argument("--wing", action="append", choices=WINGS, help="example wing; all if left out")
    parser.add_argument("--sound", type=int, default=200, help="sound wings")
    parser.add_argument("--each", type=int, default=20, help="wings without each web or brace")
    parser.add_argument("--blind", type=int, help="the same of webs promised less than 10 %%; as --each")
    parser.add_argument("--half", type=int, default=0, help="wings with each web at half its stiffness")
    parser.add_argument("--two", type=int, default=0, help="wings with two webs gone")
    parser.add_argument("--mesh", type=int, default=2, help="elements along a bay")
    parser.add_argument("--noise", type=float, default=NOISE, help="of a reading, as a share of it")
    parser.add_argument("--dial", type=float, default=DIAL * 1e3, help="noise of a dial, mm")
    parser.add_argument("--exact", action="store_true", help="no errors but wood and noise")
    parser.add_argument("--no-couple", action="store_true", help="bags of the plan alone")
    parser.add_argument("--listed", action="store_true", help="all wood as listed")
    parser.add_argument("--save", type=Path, metavar="FILE", help="add the rows to this table")
    parser.add_argument("--kept", action="store_true", help="sums of what is kept, no tests")
    options = parser.parse_args(arguments)
    every: list[Rate] = []
    if options.kept:
        for wing in WINGS:
            mine = [row for (name, *_), row in kept() if name == wing]
            print(f"{wing}: {_sums(mine)}")
        _tell([row for _, row in kept()])
        return
    for name in options.wing or WINGS:
        tests = MadeUp(
            read_wing(name), per_bay=options.mesh, listed=options.listed, noise=options.noise,
            dial=options.dial * 1e-3, exact=options.exact, couple=not options.no_couple,
        )  # fmt: skip
        marks, suspects = len(tests.bench.marks), tests.bench.suspects
        before = [name, f"{options.dial:g}", f"{options.noise:g}", str(options.mesh)]
        print(f"{name}: {marks} marks, {len(suspects)} webs and braces", flush=True)
        if options.sound:
            row = tests.rate(None, options.sound)
            due = row.predicted * row.n
            print(f"  sound: {row.alarms} alarms of {row.n} ({due:.1f} due), {row.misfits} unexplained")
            every.append(row)
            _save(options.save, row.row(before))
        rows = []
        for k in range(len(suspects)):
            blind = tests.promised is not None and float(tests.promised[0][k]) < 0.1
            n_each = options.blind if blind and options.blind is not None else options.each
            if not n_each:
                continue
            row = tests.rate(k, n_each)
            _save(options.save, row.row(before))
            told = f"chance told {100 * row.predicted:.0f} %"
            print(
                f"  {row.suspect}: named {row.named} of {row.n}, likeliest {row.first}, "
                f"only others {row.wrong}, {told}",
                flush=True,
            )
            rows.append(row)
        for line in calibration(rows):
            print(f"  {line}", flush=True)
        every += rows
        count = len(suspects)
        pairs = np.random.default_rng(_SEED).permuted(np.tile(np.arange(count), (options.two, 1)), axis=1)
        for words, webs, each, left in (
            ("each web at half its stiffness", [(k,) for k in range(count)], options.half, 0.5),
            ("two webs gone", [tuple(sorted(two)) for two in pairs[:, :2].tolist()], 1, 0.0),
        ):
            if webs and each:
                sums = {"right": 0}
                for number, those in enumerate(webs):
                    # The same two come up more than once, with other wood and noise.
                    for how, n in tests.weak(those, each, left, None if len(those) == 1 else number).items():
                        sums[how] = sums.get(how, 0) + n
                print(f"  {words}: {', '.join(f'{how} {n}' for how, n in sums.items())}", flush=True)
    _tell(every)


def _save(table: Path | None, row: list[object]) -> None:
    """Add a row to a table, that is begun if there is none."""
    if table is None:
        return
    new = not table.exists()
    with table.open("a", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        if new:
            writer.writerow(COLUMNS)
        writer.writerow(row)


def _sums(rows: list[Rate]) -> str:
    """Tests and false alarms."""
    sound = [row for row in rows if row.suspect is None]
    return (
        f"{sum(row.n for row in rows)} tests: {sum(row.alarms for row in sound)} false alarms of "
        f"{sum(row.n for row in sound)} sound wings ({sum(row.n * row.predicted for row in sound):.1f} due)"
    )


def _tell(every: list[Rate]) -> None:
    """Print sums of rows of any wings."""
    print(_sums(every))
    for line in calibration([row for row in every if row.suspect is not None]) + strays(every):
        print(f"  {line}", flush=True)


def calibration(rows: list[Rate]) -> list[str]:
    """Rows gathered by the chance told: how many were named, against how many were to be.

    Parameters
    ----------
    rows : list of Rate
        Of wings with something left out.

    Returns
    -------
    list of str
        One for each range of chances.
    """
    out = []
    for low, high in ((0.0, 0.1), (0.1, 0.4), (0.4, 0.7), (0.7, 0.95), (0.95, 1.01)):
        of = [row for row in rows if low <= row.predicted < high]
        if not of:
            continue
        n, told = sum(row.n for row in of), sum(row.n * row.predicted for row in of)
        doubt = math.sqrt(sum(row.n * row.predicted * max(1 - row.predicted, 0.0) for row in of))
        between = f"told {100 * low:.0f} to {min(100 * high, 100):.0f} %: {len(of)} webs and braces"
        out.append(
            f"{between}, named {sum(row.named for row in of)} of {n}, {told:.1f} told (+- {doubt:.1f}), "
            f"only others {sum(row.wrong for row in of)}"
        )
    return out


def strays(rows: list[Rate]) -> list[str]:
    """How often the stiffnesses told are off by more than one, two and three of their stated errors.

    Parameters
    ----------
    rows : list of Rate
        Of any wings.

    Returns
    -------
    list of str
        One for bending and one for twist.
    """
    out = []
    for words, each in (("bending", [r.bending for r in rows]), ("twist", [r.twist for r in rows])):
        told, *beyond = (sum(of) for of in zip((0, 0, 0, 0), *each))
        many = ", ".join(map(str, beyond))
        out.append(f"{words} told in {told} tests, off by more than 1, 2, 3 errors in {many}")
    return out


if __name__ == "__main__":
    main()
