"""A whole family of wings checked one by one: files side by side, or one file with keys that vary.

Every wing is judged by one function, `judge`, whoever runs it: this process, processes of its own beside it,
or the workers of a cluster (dask.distributed, the optional extra `cluster`). What goes out is text and what
comes back is a few numbers, in the order in which it was asked, so that the answers are the same everywhere.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from models.wing.intake import IntakeError, file_text, measure
from models.workers import Run

if TYPE_CHECKING:
    from models.small_movements import Movement

MOST = 100_000
"""Members of a family that still make sense in one run."""


class FamilyError(ValueError):
    """What was asked makes no family; the message is complete."""


@dataclass(frozen=True)
class Member:
    """One wing of a family, not read yet. `source` names its file in messages, coordinate files count from
    `folder`, `changes` are key paths and the values set there, as written."""

    source: str
    text: str
    folder: str
    changes: tuple[tuple[str, str], ...] = ()

    @property
    def name(self) -> str:
        """The file and what was changed in it."""
        return ", ".join([self.source, *(f"{key} = {value}" for key, value in self.changes)])


@dataclass(frozen=True)
class MemberVerdict:
    """What became of one member.

    Parameters
    ----------
    member : str
        Its name.
    wing : str
        Name of the wing in the file.
    fault : str
        Why there is no answer; "" where there is one.
    reserve_factor : float
        Least of all parts; infinite where nothing is loaded.
    load_factor_at_failure : float or None
        Of a flying wing in mean wood by the verdict, g; None for a specimen.
    part, mode : str
        What goes first, and how.
    structural_mass : float
        Of the whole wing or the specimen, kg.
    tip_deflection : float
        Greatest of the spars' tips under the load asked for, upward, m.
    residual : float
        Of the solve, over the loads.
    moved : Movement or None
        How far it moves under the load asked for; None where there is no answer.
    fit : bool or None
        By `models.verdict`; None for a specimen.
    fifth, share : float or None
        Load factor at which one wing in twenty has failed, and the share that survives all that is asked.
    """

    member: str
    wing: str = ""
    fault: str = ""
    reserve_factor: float = 0.0
    load_factor_at_failure: float | None = None
    part: str = ""
    mode: str = ""
    structural_mass: float = 0.0
    tip_deflection: float = 0.0
    residual: float = 0.0
    moved: Movement | None = None
    fit: bool | None = None
    fifth: float | None = None
    share: float | None = None

    @property
    def survives(self) -> bool:
        """Whether a wing is fit to fly, and a specimen stands the load in its file."""
        return not self.fault and (self.reserve_factor >= 1.0 if self.fit is None else self.fit)


_RANGE = re.compile(r"\s*(?P<first>.+?)\s*\.\.\s*(?P<last>.+?)\s*\.\.\s*(?P<n>\d+)\s*")
_QUANTITY = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*(.*)")


def values_of(text: str) -> tuple[str, tuple[str, ...]]:
    """Key and values of "KEY=VALUE,VALUE" or "KEY=FIRST..LAST..N". As "ribs.thickness=1.5 mm,2 mm", or
    "case.load_factor=4..8..5" for five from 4 to 8; values as they would stand in a file.

    Raises
    ------
    FamilyError
        No key, no value, or a range whose ends have different units or no numbers.
    """
    key, equals, given = (part.strip() for part in text.partition("="))
    if not equals or not key or not given:
        raise FamilyError(f'"{text}" is not KEY=VALUES; write "ribs.thickness=1.5 mm,2 mm".')
    match = _RANGE.fullmatch(given)
    if match is None:
        values = tuple(value.strip() for value in given.split(","))
        if not all(values):
            raise FamilyError(f'"{text}" has an empty value between its commas.')
        return key, values
    ends = [_QUANTITY.fullmatch(match[name]) for name in ("first", "last")]
    n = int(match["n"])
    if ends[0] is None or ends[1] is None or ends[0][2] != ends[1][2] or not 2 <= n <= MOST:
        raise FamilyError(
            f'"{text}" is no range; write both ends in one unit and how many, like "{key}=1 mm..3 mm..5".'
        )
    first, last, unit = float(ends[0][1]), float(ends[1][1]), ends[0][2]
    numbers = [first + (last - first) * k / (n - 1) for k in range(n)]
    return key, tuple(f"{number:.12g} {unit}".strip() for number in numbers)


def family(files: Sequence[tuple[str, Path]], vary: Sequence[str] = ()) -> list[Member]:
    """Members of a family: every file with every combination of values. Names are for messages; `vary` as
    `values_of` reads it, the last varies fastest.

    Raises
    ------
    FamilyError
        Values that cannot be read, a key twice, a file that is no text, or too many members.
    """
    varied = [values_of(one) for one in vary]
    keys = [key for key, _ in varied]
    for key in keys:
        if keys.count(key) > 1:
            raise FamilyError(f"{key} is varied twice; give all its values in one list.")
    n = len(files)
    for _, values in varied:
        n *= len(values)
    if n > MOST:
        raise FamilyError(f"these are {n} wings; at most {MOST} are checked in one run.")
    found = []
    for source, path in files:
        try:
            text = file_text(path)
            measure(text)
        except IntakeError as error:
            raise FamilyError(f"{source}: cannot be read: {error}") from None
        plain = Member(source, text, str(path.parent))
        for chosen in itertools.product(*(values for _, values in varied)):
            found.append(replace(plain, changes=tuple(zip(keys, chosen, strict=True))))
    return found


def changed_text(member: Member) -> str:
    """The text of a member's file with its changes made. TOML that can be written to a file of its own.

    Raises
    ------
    FamilyError
        The file is not TOML, or a key's table is not there.
    """
    if not member.changes:
        return member.text
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(member.text)
    except TOMLKitError as error:
        raise FamilyError(f"{member.source}: not TOML: {error}.") from None
    for key, value in member.changes:
        steps: list[str | int] = [
            int(step) if step.isdigit() else step for step in re.findall(r"[^.\[\]]+", key)
        ]
        table: Any = document
        try:
            for step in steps[:-1]:
                table = table[step]
            if isinstance(steps[-1], int):
                table[steps[-1]]
            table[steps[-1]] = _value(value)
        except (KeyError, IndexError, TypeError, ValueError, TOMLKitError):
            raise FamilyError(
                f"{member.source}: {key}: there is no such place in the file; write the path as messages do, "
                "like spars[0].caps.height."
            ) from None
    return tomlkit.dumps(document)


def _value(text: str) -> bool | int | float | str:
    """A value as TOML would have it; whatever is no number and no truth value is text."""
    if text in ("true", "false"):
        return text == "true"
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text


def judge(member: Member, per_bay: int = 4) -> MemberVerdict:
    """Read, analyse and check one member; faults of its file come back as words, not as errors."""
    from fea.solve import Mechanism
    from models import small_movements
    from models.analysis import analyse, spar_motion
    from models.loads.pull_up import LightAeroplane
    from models.session import Session
    from models.verdict import verdict
    from models.wing.reading import WingFileError, read_text

    try:
        text = changed_text(member)
        wing = read_text(
            text, source=member.source, folder=Path(member.folder), name=Path(member.source).stem
        )
        analysis = analyse(wing, per_bay=per_bay, keep_factor=True)
    except (FamilyError, WingFileError) as fault:
        return MemberVerdict(member.name, fault=str(fault))
    except (Mechanism, LightAeroplane) as fault:
        return MemberVerdict(member.name, fault=f"{member.source}: {fault}")
    session = Session(wing, per_bay=per_bay, sound=analysis)
    margins = session.side.told
    decided = verdict(wing, session=session) if analysis.pull_up is not None else None
    first = margins.first() if margins.rows else None
    model = analysis.model
    sides = 2.0 if model.half else 1.0
    tips = [float(spar_motion(analysis, s).deflection[-1]) for s in range(len(wing.spars))]
    return MemberVerdict(
        member.name,
        wing.name,
        reserve_factor=first.reserve_factor if first else float("inf"),
        load_factor_at_failure=None if decided is None else decided.failing,
        part=first.part.name if first else "",
        mode=first.mode if first else "",
        structural_mass=sides * sum(m for kind, m in model.structural_mass.items() if kind != "mass"),
        tip_deflection=max(tips, key=abs),
        residual=analysis.solution.checks.residual,
        moved=small_movements.of(analysis),
        fit=None if decided is None else decided.fit,
        fifth=None if decided is None else decided.fifth,
        share=None if decided is None else decided.survive,
    )


def check_family(members: Sequence[Member], *, per_bay: int = 4, run: Run = map) -> Iterator[MemberVerdict]:
    """Judge every member. In their order; `run` does the work: `map` here and now, or what `processes` or
    `cluster` gives."""
    yield from run(judge, members, [per_bay] * len(members))
