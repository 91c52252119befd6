"""Readings of bench tests on wings that are solids, judged by `measured`: what is the truth, what is said.

The readings (`cases/bench_readings.json`) were computed with orthotropic solids for this project, with webs
left out or halved, caps softened outboard, sheeting or a rib not glued, and with noise; the judge knows the
wing file alone. The woods' table has moved since they were made (balsa's E along the grain by 15 %), so that
all of them read softer than listed, which is for the judge to see through.

    python -m validation.bench_readings [--slip offset|dial|sign|centimetres|bags] [--by MM] [NAME ...]

With a slip the same readings are made as a builder mistakes them: all dials 0.5 mm off, or one of them (the
fore one of rib 6), or with their signs turned, or written in centimetres, or bags that lie 5 mm aft of where
the file has them; `--by` makes the first two and the last another size. Beside how many are told stands how
many of them are as large as `measured` itself says that its readings tell (nine times of ten).
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from models.structure import build
from models.studies.measured import Measured, SideFound, measured
from models.studies.readings import SIDES, read_bags, read_readings
from models.wing.reading import read_text
from validation.cases.solids import references

SLIPS = {
    "offset": {"offset"}, "dial": {"dial offset"}, "sign": {"sign"}, "centimetres": {"unit", "load unit"},
    "bags": {"bags"},
}  # fmt: skip
"""Slips that may be made, and the kinds of verdict that tell them: ten times as much by the dials' unit is
hardly other than 9.8 times as much by that of the bags."""
SIZES = {"offset": 0.5, "dial": 0.5, "bags": 5.0}
"""How large slips are, where they have a size, mm."""
_DIAL = (6, 60.0)
_RIBS, _PLACES = range(2, 11), (60.0, 180.0)


@dataclass(frozen=True)
class ReadingRow:
    """A side of a reading: `truth`, the verdict and whether it is `right` (what is off is among what is
    named), `silent` (nothing is named) or wrong."""

    name: str
    wing: str
    truth: str
    noise: str
    side: SideFound
    slip: str = ""
    by: float = 0.0

    @property
    def slip_told(self) -> bool:
        """The slip is told as what it is, alone or with something else, or where bags lie by a sentence of
        its own."""
        return self.slip_named or (self.slip == "bags" and self.side.bags_aft > 2 * self.side.bags_aft_error)

    @property
    def slip_named(self) -> bool:
        """The slip is the likeliest verdict, alone or with something else."""
        return any(v.kind in SLIPS.get(self.slip, ()) for v in self.side.verdict[:1])

    @property
    def tellable(self) -> bool:
        """The slip is as large as the readings are said to tell nine times of ten."""
        least = {"bags": self.side.bags_told, "dial": self.side.dials_told[1]}.get(self.slip, 0.0)
        return self.by * 1e-3 >= least

    @property
    def silent(self) -> bool:
        """Nothing but wood and the slip is named."""
        of_slip = SLIPS.get(self.slip, set()) | {"wood"}
        loose = any("is loose" in v.words for v in self.side.verdict)
        return all(v.kind in of_slip for v in self.side.verdict) and not self.side.named and not loose

    @property
    def right(self) -> bool:
        """What is off is named as what it is."""
        kinds, bays = self._truth()
        if self.slip_told and not self.silent:
            words = {"sheet2": "sheeting of bay 2 is loose", "rib4": "rib 4 is loose"}.get(self.truth, "")
            named = {s.bay for s in self.side.named}
            return bays <= named if bays else bool(words) and words in self.side.verdict[0].words
        return bool(self.side.verdict) and all(
            v.kind in kinds for v in self.side.verdict[:1]
        ) and bays <= {s.bay for s in self.side.named}  # fmt: skip

    @property
    def wrong(self) -> bool:
        """Something is named, and it is not what is off."""
        return not self.silent and not self.right

    def _truth(self) -> tuple[set[str], set[int]]:
        """Kinds of verdict that are right, and bays that must be named."""
        if self.truth.startswith("web"):
            bays = {int(b) for b in self.truth[3:].split("+")}
            return ({"web gone", "web loose"} if len(bays) == 1 else {"two webs"}), bays
        if self.truth.startswith("half"):
            return {"web loose"}, {int(self.truth[4:])}
        return {"sheet2": {"sheeting"}, "rib4": {"rib"}}.get(self.truth, set()), set()


@cache
def _model(wing: str) -> Any:
    return build(read_text(references("bench_readings")["wings"][wing]["file"], source=wing), per_bay=4)


def names() -> list[str]:
    """Of all readings."""
    return [one["name"] for one in references("bench_readings")["readings"]]


def judged(name: str, slip: str = "", by: float | None = None) -> Measured:
    """A reading, judged, as it is or with one of `SLIPS`, of a size in mm (`SIZES` if left out)."""
    by = SIZES.get(slip, 0.0) if by is None else by
    one = next(r for r in references("bench_readings")["readings"] if r["name"] == name)
    case, model = references("bench_readings")["wings"][one["wing"]], _model(one["wing"])
    bags = ["step,rib,aft [mm],mass [g]"] + [
        f"{k},{rib},{aft - by * (slip == 'bags')},{k * mass}"
        for k in range(1, case["steps"] + 1)
        for rib, aft, mass in case["bags"]
    ]  # fmt: skip
    places = [
        (f"{k},{side},{rib},{aft}", (rib, aft))
        for k in range(1, case["steps"] + 1)
        for side in SIDES
        for rib in _RIBS
        for aft in _PLACES
    ]

    def read(mm: float, place: tuple[int, float]) -> float:
        if slip == "offset" or (slip == "dial" and place == _DIAL):
            return mm + by
        return -mm if slip == "sign" else mm / 10 if slip == "centimetres" else mm

    rows = ["step,side,rib,aft [mm],deflection [mm]"]
    rows += [f"{words},{read(float(v), place):.9g}" for (words, place), v in zip(places, one["mm"])]
    laid, readings = read_bags("\n".join(bags), model), read_readings("\n".join(rows), model)
    return measured(model.wing, laid, readings, model=model)


def rows(chosen: Sequence[str], slip: str = "", by: float | None = None) -> Iterator[ReadingRow]:
    """Both sides of the readings asked for."""
    of = {one["name"]: one for one in references("bench_readings")["readings"]}
    for name in chosen:
        one = of[name]
        for side in judged(name, slip, by).sides:
            size = SIZES.get(slip, 0.0) if by is None else by
            yield ReadingRow(name, one["wing"], one["truth"], one["noise"], side, slip, size)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print truth, what is said, evidence and probability of a sound wing, and how many are right.

    Parameters
    ----------
    arguments : sequence of str or None
        Options and names of readings; None for those of the process, all if there are no names.
    """
    assert __doc__ is not None
    parser = argparse.ArgumentParser(
        prog="python -m validation.bench_readings", description=__doc__.split("\n")[0]
    )
    parser.add_argument("names", nargs="*", metavar="NAME", help="readings; all if left out")
    parser.add_argument("--slip", choices=SLIPS, default="", help="make the readings with this slip")
    parser.add_argument("--by", type=float, help="how large a slip of dials or bags is, mm")
    options = parser.parse_args(arguments)
    counts = {"right": 0, "silent": 0, "wrong": 0}
    told_slips = named = tellable = both = 0
    for row in rows(options.names or names(), options.slip, options.by):
        verdict = "right" if row.right else "silent" if row.silent else "wrong"
        counts[verdict] += 1
        told = [f"{v.words} {100 * v.probability:.0f} %" for v in row.side.verdict]
        said = " | ".join(told) or "nothing named"
        evidence = max((v.evidence for v in row.side.verdict), default=0.0)
        told_slips += row.slip_told
        named += row.slip_named
        tellable += row.tellable
        both += row.slip_named and row.tellable
        slip = f", {row.slip} {'told' if row.slip_told else 'not told'}" if row.slip else ""
        print(
            f"{row.name} {row.wing} {row.side.side}, {row.truth}, {row.noise}: {said} (ln evidence "
            f"{evidence:.1f}, sound {row.side.chance:.2g}): {verdict}{slip}",
            flush=True,
        )
    slip = (
        f"; {options.slip} told in {told_slips} of {sum(counts.values())}, by its name in {named}; tellable "
        f"in {tellable}, {both} of them told by name"
        if options.slip
        else ""
    )
    print(", ".join(f"{n} {what}" for what, n in counts.items()) + slip)


if __name__ == "__main__":
    main()
