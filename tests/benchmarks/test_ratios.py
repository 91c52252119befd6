"""Processor time of every command on the three shipped wings and two large ones, over that of `check` in the
same run.

python -m pytest tests/benchmarks/test_ratios.py --benchmark-enable -m slow -s

Each command is a process of its own, from start to end, and all that it imports has been compiled by a run
before; `check` runs before, between and after, and its middle time is what counts. Ratios leave out how fast
the machine is, and nearly all of its neighbours.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys

import pytest

WINGS = ("trainer", "sailplane", "powered-tailless")
LARGE = {
    "new, 4 m, two spars": ("--span", "4m", "--mass", "4kg", "--spars", "2", "--sweep", "300mm"),
    "new, 3 m, engine": ("--span", "3m", "--mass", "3kg", "--spars", "2", "--engine", "300g"),
}
"""Large wings, by what `new` is told."""
COMMANDS = {
    "balance": ("balance",),
    "bench": ("bench",),
    "bench --by-hand": ("bench", "--by-hand", "--mass", "500 g"),
    "bench --proof": ("bench", "--proof"),
    "check --speed": ("check", "--speed"),
    "collapse": ("collapse",),
    "collapse --buckle": ("collapse", "--buckle"),
    "compare": ("compare",),
    "compare --grain": ("compare", "--grain"),
    "draw": ("draw", "--folder"),
    "envelope": ("envelope",),
    "loads": ("loads",),
    "loads --rails": ("loads", "--rails"),
    "note": ("note",),
    "report": ("report", "--out"),
    "scatter": ("scatter",),
    "speed": ("speed",),
    "steps": ("steps",),
    "worth": ("worth",),
}
"""What is typed beside the wing."""
MOST = {"note": 4.0, "report": 10.0}
"""Ratios that are aimed at, where it is not `REST`."""
REST = 5.0
ONLY = {"loads --rails": ("powered-tailless",)}
"""Commands that some wings have nothing for."""
EVERY = 5
"""A `check` after so many commands."""


def _processor_seconds(arguments: tuple[str, ...], cache: str) -> float:
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONPYCACHEPREFIX": cache}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    run = subprocess.run(
        (sys.executable, "-m", "models.command", *arguments), capture_output=True, env=environment
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert run.returncode in (0, 1), run.stderr.decode()
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _arguments(name: str, wing: str, folder: str) -> tuple[str, ...]:
    typed = COMMANDS[name]
    if typed[-1] in ("--out", "--folder"):
        return (*typed, f"{folder}/{name}.html", wing)
    return (*typed, wing)


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    """A folder of its own for what is compiled, with all that the commands import."""
    folder = tmp_path_factory.mktemp("ratios")
    for name in COMMANDS:
        wing = next(iter(ONLY.get(name, WINGS)))
        _processor_seconds(_arguments(name, wing, str(folder)), str(folder / "compiled"))
    return str(folder / "compiled")


@pytest.mark.slow
@pytest.mark.parametrize("name", [*WINGS, *LARGE])
def test_every_command_beside_check(name, tmp_path, capsys, cache):
    wing = name
    if name in LARGE:
        wing = str(tmp_path / "large.toml")
        _processor_seconds(("new", wing, *LARGE[name]), cache)
    names = [name for name in COMMANDS if name not in ONLY or wing in ONLY[name]]
    checks, took = [_processor_seconds(("check", wing), cache)], {}
    for k, each in enumerate(names):
        took[each] = _processor_seconds(_arguments(each, wing, str(tmp_path)), cache)
        if k % EVERY == EVERY - 1 or k == len(names) - 1:
            checks.append(_processor_seconds(("check", wing), cache))
    check = statistics.median(checks)
    ratios = {each: seconds / check for each, seconds in took.items()}
    beyond = {each: ratio for each, ratio in ratios.items() if ratio > MOST.get(each, REST)}
    with capsys.disabled():
        print(f"\n{name}: check {check:.2f} s of processor ({min(checks):.2f} to {max(checks):.2f})")
        for each, ratio in ratios.items():
            aim = MOST.get(each, REST)
            print(f"{each:18}{took[each]:8.2f} s{ratio:8.2f}   of {aim:g}{' beyond' if ratio > aim else ''}")
    assert not beyond
