"""Readings of bench tests on wings that are solids, judged by `measured`: what is the truth, what is said.

The readings (`cases/bench_readings.json`) were computed with orthotropic solids for this project, with webs
left out or halved, caps softened outboard, sheeting or a rib not glued, and with noise; the judge knows the
wing file alone. The woods' table has moved since they were made (balsa's E along the grain by 15 %), so that
all of them read softer than listed, which is for the judge to see through.

    python -m validation.bench_readings [--slip offset|sign|centimetres|bags] [NAME ...]

With a slip the same readings are made as a builder mistakes them: all dials 0.5 mm off, or with their signs
turned, or written in centimetres, or bags that lie 5 mm aft of where the file has them.
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

SLIPS = {"offset": {"offset"}, "sign": {"sign"}, "centimetres": {"unit", "load unit"}, "bags": {"bags"}}
"""Slips that may be made, and the kinds of verdict that tell them: ten times as much by the dials' unit is
hardly other than 9.8 times as much by that of the bags."""
_OFF, _AFT = 0.5, 5.0
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

    @property
    def slip_told(self) -> bool:
        """The slip is told as what it is, alone or with something else."""
        if self.slip == "bags" and self.side.bags_aft > 2 * self.side.bags_aft_error:
            return True
        return any(v.kind in SLIPS.get(self.slip, ()) for v in self.side.verdict[:1])

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


def judged(name: str, slip: str = "") -> Measured:
    """A reading, judged, as it is or with one of `SLIPS`."""
    one = next(r for r in references("bench_readings")["readings"] if r["name"] == name)
    case, model = references("bench_readings")["wings"][one["wing"]], _model(one["wing"])
    bags = ["step,rib,aft [mm],mass [g]"] + [
        f"{k},{rib},{aft - _AFT * (slip == 'bags')},{k * mass}"
        for k in range(1, case["steps"] + 1)
        for rib, aft, mass in case["bags"]
    ]  # fmt: skip
    places = [
        f"{k},{side},{rib},{aft}"
        for k in range(1, case["steps"] + 1)
        for side in SIDES
        for rib in _RIBS
        for aft in _PLACES
    ]
    read = {"offset": lambda mm: mm + _OFF, "sign": lambda mm: -mm, "centimetres": lambda mm: mm / 10}
    of = read.get(slip, lambda mm: mm)
    rows = ["step,side,rib,aft [mm],deflection [mm]"]
    rows += [f"{p},{of(float(v)):.9g}" for p, v in zip(places, one["mm"])]
    laid, readings = read_bags("\n".join(bags), model), read_readings("\n".join(rows), model)
    return measured(model.wing, laid, readings, model=model)


def rows(chosen: Sequence[str], slip: str = "") -> Iterator[ReadingRow]:
    """Both sides of the readings asked for."""
    of = {one["name"]: one for one in references("bench_readings")["readings"]}
    for name in chosen:
        one = of[name]
        for side in judged(name, slip).sides:
            yield ReadingRow(name, one["wing"], one["truth"], one["noise"], side, slip)


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
    options = parser.parse_args(arguments)
    counts = {"right": 0, "silent": 0, "wrong": 0}
    told_slips = 0
    for row in rows(options.names or names(), options.slip):
        verdict = "right" if row.right else "silent" if row.silent else "wrong"
        counts[verdict] += 1
        told = [f"{v.words} {100 * v.probability:.0f} %" for v in row.side.verdict]
        said = " | ".join(told) or "nothing named"
        evidence = max((v.evidence for v in row.side.verdict), default=0.0)
        told_slips += row.slip_told
        slip = f", {row.slip} {'told' if row.slip_told else 'not told'}" if row.slip else ""
        print(
            f"{row.name} {row.wing} {row.side.side}, {row.truth}, {row.noise}: {said} (ln evidence "
            f"{evidence:.1f}, sound {row.side.chance:.2g}): {verdict}{slip}",
            flush=True,
        )
    slip = f"; {options.slip} told in {told_slips} of {sum(counts.values())}" if options.slip else ""
    print(", ".join(f"{n} {what}" for what, n in counts.items()) + slip)


if __name__ == "__main__":
    main()
