"""How time and memory grow with the number of unknowns: wings refined along the span, and over the chord;
and with bays and spars, for the commands that a user waits for.

Every size runs in a process of its own, so that its peak memory is its own; a run of the smallest size beside
it is the named baseline of the memory. Exponents are fitted by least squares to the logarithms from 10,000
unknowns up, where what does not grow has stopped to matter. CPU seconds of one thread.
"""

from __future__ import annotations

import itertools
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

CHILD = """
import json, resource, sys, time
import numpy as np
from models.structure import build
from models.command.files import read_wing
from fea.assembly import Assembly
from fea.reanalysis import pinned
from fea.solve import factorise
from models.loads.pull_up import pull_up
name, per_bay, across = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
clock = time.process_time
def lap(work):
    start = clock()
    return work(), clock() - start
model, built = lap(lambda: build(read_wing(name), per_bay=per_bay, across_chord=across))
assembly, pattern = lap(lambda: Assembly(model.structure))
stiffness, values = lap(assembly.stiffness)
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
supports = pinned(assembly)
factor, factorised = lap(lambda: factorise(assembly, supports, stiffness))
right = np.ones((factor.matrix.shape[0], 1))
moves, solved = lap(lambda: factor.solve(right))
gap = float(np.abs(factor.matrix @ moves - right).max())
force = float((abs(factor.matrix) @ np.abs(moves)).max())
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({"unknowns": len(right), "build": built, "assembly": pattern + values, "factor": factorised,
    "solve": solved, "peak_MB": peak / 1024, "assembled_MB": before / 1024, "residual": gap / force}))
"""
KINDS = ("build", "assembly", "factor", "solve", "peak_MB")
BOUND = 1.2
"""Greatest exponent along the span that is asked for."""


def _one(name: str, per_bay: int, across: int) -> dict[str, float]:
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    run = subprocess.run(
        [sys.executable, "-c", CHILD, name, str(per_bay), str(across)],
        capture_output=True, text=True, check=True, env=environment,
    )  # fmt: skip
    found: dict[str, float] = json.loads(run.stdout)
    return found


def exponents(rows: list[dict[str, float]], least: float = 1e4) -> dict[str, float]:
    """Slopes of log(time or memory above the smallest run's) over log(unknowns), from `least` unknowns up."""
    fitted = {}
    for kind in KINDS:
        base = rows[0][kind] if kind == "peak_MB" else 0.0
        used = [row for row in rows[1:] if row["unknowns"] >= least]
        x = np.log([row["unknowns"] for row in used])
        y = np.log([max(row[kind] - base, 1e-6) for row in used])
        fitted[kind] = float(np.polyfit(x, y, 1)[0])
    return fitted


def _table(title: str, rows: list[dict[str, float]], fitted: dict[str, float]) -> str:
    lines = [f"\n{title}", f"{'unknowns':>10}" + "".join(f"{kind:>10}" for kind in KINDS)]
    lines += [
        f"{row['unknowns']:>10.0f}" + "".join(f"{row[kind]:>10.3f}" for kind in KINDS[:-1])
        + f"{row['peak_MB']:>10.0f}"
        for row in rows
    ]  # fmt: skip
    return "\n".join([*lines, f"{'exponent':>10}" + "".join(f"{fitted[kind]:>10.2f}" for kind in KINDS)])


SPAN = [("trainer", n, 4) for n in (3, 30, 90, 300, 900, 2900, 8320)]
CHORD = [("powered-tailless", 4, n) for n in (2, 8, 16, 32, 64)]


BAYS, SPARS = (10, 40, 160), (1, 3, 6)
COMMANDS = {
    "check": ("check",),
    "note": ("note",),
    "report": ("report", "--out", "report.html"),
    "draw": ("draw", "--folder", "drawn"),
}
"""What a user waits for, by what is typed beside the wing."""
PEAK = """
import resource, sys
from models.command import main
code = main(sys.argv[1:])
used = resource.getrusage(resource.RUSAGE_SELF)
print(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, file=sys.stderr)
sys.exit(code)
"""


def wing_text(bays: int, spars: int) -> str:
    """A plain wing of so many bays a side, all of one width, and so many spars, webs on one face of each."""
    semispan = 60 * bays  # mm
    lines = [
        f'name = "{bays} bays, {spars} spars"',
        "[planform]",
        "stations = [",
        '{ y = "0 mm", chord = "300 mm", section = "NACA 2412" },',
        f'{{ y = "{semispan} mm", chord = "300 mm" }}',
        "]",
        "[ribs]",
        f"count = {bays + 1}",
        'thickness = "2 mm"',
        'wood = "balsa, 140 kg/m3"',
    ]
    for k in range(spars):
        lines += [
            "[[spars]]",
            f'name = "spar {k + 1}"',
            f'at = "{25 + 9 * k} %"',
            'caps = { width = "6 mm", wood = "spruce", height = "3 mm" }',
            'joint = "through"',
            "[[spars.webs]]",
            f'bays = "1-{bays}"',
            'face = "rear"',
            'thickness = "1.5 mm"',
            'wood = "balsa medium"',
            'grain = "upright"',
        ]
    lines += [
        "[leading_edge]", 'width = "8 mm"', 'height = "8 mm"',
        "[trailing_edge]", 'width = "24 mm"', 'height = "5 mm"',
        "[case]", "load_factor = 4", f'mass = "{0.4 * bays:g} kg"', "moment_coefficient = -0.05",
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


PREPARED = """
import json, resource, sys, time
from pathlib import Path
from models.live.cells import LiveState, own_state
from models.live.engine import LiveEngine
from models.live.opened import Opened
clock = time.process_time
engine = LiveEngine(Opened(Path("wing.toml").read_text(encoding="utf-8"), Path(), "wing.toml", "wing"))
own = own_state(engine.opened.cells)
engine.answer(own)
opened = clock()
layouts = engine.first_builds()
engine.make_ready(layouts)
ready = clock()
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
cells, clicks = engine.opened.cells, []
for k in range(0, len(cells), max(len(cells) // 20, 1)):
    step = (own.choices[k] + 1) % len(cells[k].choices)
    start = clock()
    found = engine.answer(LiveState((*own.choices[:k], step, *own.choices[k + 1 :]), own.changes))
    clicks.append(clock() - start)
    assert not (found.built or found.whole)
print(json.dumps({"open": opened, "ready": ready, "click": sorted(clicks)[len(clicks) // 2], "peak_MB": peak,
    "builds": len(layouts)}))
"""
"""The live page without its second process: until a first click, and until every single click, is answered at
once."""
CLICKED = {"open": BOUND, "ready": BOUND, "click": 1.0, "peak_MB": 1.0}
"""Greatest exponents of the number of bays that are asked for."""


def _command(typed: tuple[str, ...], folder: Path) -> tuple[float, float]:
    """Processor seconds and peak memory, MB, of a command on the folder's wing."""
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    environment["PYTHONPATH"] = str(Path(__file__).parents[2])
    run = subprocess.run(
        [sys.executable, "-c", PEAK, *typed, "wing.toml"],
        capture_output=True, text=True, env=environment, cwd=folder,
    )  # fmt: skip
    assert run.returncode in (0, 1), run.stderr
    seconds, peak = run.stderr.split()[-2:]
    return float(seconds), float(peak)


def fitted_to(rows: dict[tuple[int, int], float]) -> tuple[float, float]:
    """Exponents of bays and of spars, by least squares to the logarithms of all but the smallest."""
    at = [(np.log(bays), np.log(spars), 1.0) for bays, spars in rows]
    found = np.linalg.lstsq(np.array(at), np.log(list(rows.values())), rcond=None)[0]
    return float(found[0]), float(found[1])


@pytest.mark.slow
def test_growth_of_commands(tmp_path, capsys):
    """Bays and spars together, as a user's wings have them; SPARBAY_MOST_BAYS stops sooner."""
    most = int(os.environ.get("SPARBAY_MOST_BAYS", BAYS[-1]))
    took: dict[str, dict[tuple[int, int], float]] = {name: {} for name in COMMANDS}
    peaks: dict[str, dict[tuple[int, int], float]] = {name: {} for name in COMMANDS}
    for bays, spars in itertools.product([n for n in BAYS if n <= most], SPARS):
        folder = tmp_path / f"{bays}-{spars}"
        folder.mkdir()
        (folder / "wing.toml").write_text(wing_text(bays, spars), encoding="utf-8")
        for name, typed in COMMANDS.items():
            took[name][bays, spars], peaks[name][bays, spars] = _command(typed, folder)
        with capsys.disabled():
            line = "".join(f"{took[n][bays, spars]:>9.2f}{peaks[n][bays, spars]:>7.0f}" for n in COMMANDS)
            print(f"\n{bays:>5} bays {spars} spars{line}", end="")
    with capsys.disabled():
        print("\n" + " " * 19 + "".join(f"{name + ', s':>9}{'MB':>7}" for name in COMMANDS))
        for kind, of in (("time", took), ("memory", peaks)):
            for name in COMMANDS:
                along, across = fitted_to(of[name])
                print(f"{kind} of {name}: bays to the {along:.2f}, spars to the {across:.2f}")
                assert along < BOUND or kind == "memory"


@pytest.mark.slow
def test_growth_of_the_live_page(tmp_path, capsys):
    """Preparation, memory and clicks; SPARBAY_MOST_BAYS stops sooner."""
    most = int(os.environ.get("SPARBAY_MOST_BAYS", BAYS[-1]))
    rows: dict[str, dict[tuple[int, int], float]] = {kind: {} for kind in CLICKED}
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    environment["PYTHONPATH"] = str(Path(__file__).parents[2])
    for bays, spars in itertools.product([n for n in BAYS if n <= most], SPARS):
        (tmp_path / "wing.toml").write_text(wing_text(bays, spars), encoding="utf-8")
        run = subprocess.run(
            [sys.executable, "-c", PREPARED], capture_output=True, text=True, env=environment, cwd=tmp_path
        )
        assert run.returncode == 0, run.stderr
        found = json.loads(run.stdout)
        for kind, of in rows.items():
            of[bays, spars] = found[kind]
        with capsys.disabled():
            print(f"\n{bays:>5} bays {spars} spars {found}", end="")
    with capsys.disabled():
        for kind, of in rows.items():
            along, across = fitted_to(of)
            print(f"\n{kind}: bays to the {along:.2f}, spars to the {across:.2f}", end="")
            assert along < CLICKED[kind]


def test_exponents_of_known_growth_by_bays_and_spars():
    """Runs in the ordinary suite too."""
    rows = {(bays, spars): bays**1.1 * spars**0.9 for bays, spars in itertools.product(BAYS, SPARS)}
    assert fitted_to(rows) == pytest.approx((1.1, 0.9), abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize(("along", "sizes"), [("the span", SPAN), ("the chord", CHORD)])
def test_growth(benchmark, capsys, along, sizes):
    rows = [_one(*size) for size in sizes[:-1]]
    rows.append(benchmark.pedantic(_one, args=sizes[-1], rounds=1))
    fitted = exponents(rows)
    benchmark.extra_info.update({"rows": rows, "exponents": fitted})
    with capsys.disabled():
        print(_table(f"{sizes[0][0]} refined along {along}, CPU s and MB", rows, fitted))
    # Nothing fast is wrong: what is left over is rounding of the element forces.
    assert max(row["residual"] for row in rows) < 1e-11


def test_exponents_of_known_growth():
    """Runs in the ordinary suite too."""
    rows = [
        {"unknowns": n, "build": n, "assembly": 3 * n, "factor": n**1.5, "solve": n**1.1, "peak_MB": 50 + n}
        for n in (1, 2e4, 1e5, 1e6)
    ]
    fitted = exponents([row | {"peak_MB": float(row["peak_MB"])} for row in rows])
    assert fitted == pytest.approx(
        {"build": 1, "assembly": 1, "factor": 1.5, "solve": 1.1, "peak_MB": 1}, abs=0.01
    )
