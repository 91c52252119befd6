"""Every command that writes, ended at random times, on a full disk, in a folder that takes nothing, and twice
at once: what it writes is there whole or not at all, nothing is lost, and no process stays behind.

Runs with SPARBAY_LONG=1; times are drawn anew each time, SPARBAY_SEED=7 draws those of 7.
"""

from __future__ import annotations

import ctypes
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

resource = pytest.importorskip("resource")

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[3]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"}
SEED = int(os.environ.get("SPARBAY_SEED", "0")) or random.SystemRandom().randrange(10**6)
_DROP, _OVERRIDE = 24, 1
"""Of prctl(2) and capabilities(7): what lets the superuser write where nobody may."""

WING = """
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 2412" },
    { y = "300 mm", chord = "150 mm" },
]
[ribs]
count = 4
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "8 mm", height = "4 mm", wood = "spruce" }
webs = [{ bays = "1-2", face = "rear", thickness = "1.5 mm" }]
[leading_edge]
width = "8 mm"
height = "8 mm"
[trailing_edge]
width = "20 mm"
height = "4 mm"
[case]
load_factor = 3
mass = "600 g"
"""

PRCTL = getattr(ctypes.CDLL(None), "prctl", None)

COMMANDS = {
    "new": ("new", "made.toml", "--span", "600 mm"),
    "keys": ("keys", "--schema", "made.json"),
    "report": ("report", "wing.toml", "--out", "made.html", "--mesh", "1"),
    "mend": ("mend", "weak.toml", "--out", "made.toml", "--mesh", "1"),
    "lightest": ("lightest", "wing.toml", "--bays", "1-2", "--layout-out", "made.toml", "--mesh", "1",
                 "--load-factor", "2"),
    "piece": ("woods", "--piece", "--like", "balsa", "--width", "100 mm", "--thickness", "2 mm", "--length",
              "1000 mm", "--mass", "30 g", "--into", "wing.toml", "--name", "mine", "--yes"),
    "draw": ("draw", "wing.toml", "--folder", "made"),
    "bench": ("bench", "wing.toml", "--folder", "made", "--mesh", "1"),
    "balance": ("balance", "wing.toml", "--folder", "made"),
    "buckle": ("collapse", "--buckle", "wing.toml", "--folder", "made", "--mesh", "4"),
    "collapse": ("collapse", "wing.toml", "--folder", "made", "--mesh", "1"),
    "envelope": ("envelope", "wing.toml", "--folder", "made", "--mesh", "1"),
    "lightest-folder": ("lightest", "wing.toml", "--bays", "1-2", "--folder", "made", "--mesh", "1",
                        "--load-factor", "2"),
    "loads": ("loads", "wing.toml", "--folder", "made", "--mesh", "1"),
    "measured": ("measured", "wing.toml", "readings.csv", "--folder", "made", "--mesh", "1"),
    "note": ("note", "wing.toml", "--folder", "made", "--mesh", "1"),
    "scatter": ("scatter", "wing.toml", "--folder", "made", "--mesh", "1", "--samples", "100", "--sets",
                "20"),
    "show": ("check", "--show", "wing.toml", "--folder", "made"),
    "validate": ("validate", "B1", "solid B", "--book", "made.html"),
    "speed": ("speed", "wing.toml", "--folder", "made", "--mesh", "1"),
    "steps": ("steps", "wing.toml", "--folder", "made", "--mesh", "1"),
    "worth": ("worth", "wing.toml", "--folder", "made", "--mesh", "1"),
    "family": ("compare", "--family", "wing.toml", "--vary", "case.load_factor=2,3,4,5", "--mesh", "1",
               "--workers", "2"),
    "demo": ("demo",),
}  # fmt: skip
WRITERS = [name for name in COMMANDS if name != "family"]
"""`compare --family` writes nothing, but has processes of its own."""
TELLING = ("demo", "mend")
"""Those that tell each step where stderr is no terminal."""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with what the commands read."""
    folder = tmp_path_factory.mktemp("bench")
    (folder / "wing.toml").write_text(WING, encoding="utf-8")
    (folder / "weak.toml").write_text(WING.replace("load_factor = 3", "load_factor = 19"), encoding="utf-8")
    done = start(("bench", "wing.toml", "--folder", "plan", "--mesh", "1"), folder)
    done.communicate(timeout=600)
    shutil.copy(folder / "plan" / "bags.csv", folder)
    rows = (folder / "plan" / "readings.csv").read_text(encoding="utf-8").splitlines()
    (folder / "readings.csv").write_text(
        "\n".join(f"{line[:-1]}5," if line.endswith(",,") else line for line in rows) + "\n",
        encoding="utf-8",
    )
    shutil.rmtree(folder / "plan")
    return folder


def start(
    arguments: tuple[str, ...], folder: Path, *, bytes_at_most: int | None = None
) -> subprocess.Popen[str]:
    """A command as the head of a group of processes, which shows what it leaves behind."""

    def bounded() -> None:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        if PRCTL is not None and os.geteuid() == 0:
            PRCTL(_DROP, _OVERRIDE, 0, 0, 0)
        if bytes_at_most is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (bytes_at_most, bytes_at_most))

    return subprocess.Popen(
        [sys.executable, "-m", "models.command", *arguments],
        cwd=folder, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
        env=ENVIRONMENT, preexec_fn=bounded,
    )  # fmt: skip


def contents(folder: Path) -> dict[str, bytes]:
    """Everything in a folder, hidden files as well."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else b""
        for path in sorted(folder.rglob("*"))
    }


def alone(process: subprocess.Popen[str]) -> bool:
    """Whether nothing of a process that has ended still runs, after a moment."""
    for _ in range(100):
        try:
            os.killpg(process.pid, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.1)
    return False


@pytest.fixture
def place(bench: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "place"
    shutil.copytree(bench, folder)
    return folder


_WHOLE: dict[str, tuple[set[str], float, int]] = {}


@pytest.fixture
def whole(request: pytest.FixtureRequest, bench: Path, tmp_path: Path) -> tuple[set[str], float, int]:
    """Names of the files after a run that nobody disturbs, its seconds, and its exit code."""
    name = request.node.callspec.params["name"]
    if name not in _WHOLE:
        folder = tmp_path / "whole"
        shutil.copytree(bench, folder)
        begun = time.perf_counter()
        process = start(COMMANDS[name], folder)
        out, err = process.communicate(timeout=900)
        assert process.returncode in (0, 1), err
        assert "Traceback" not in err
        _WHOLE[name] = set(contents(folder)), time.perf_counter() - begun, process.returncode
        if name in WRITERS and name != "piece":
            assert _WHOLE[name][0] > set(contents(bench)), out
    return _WHOLE[name]


def untouched_or_whole(name: str, before: dict[str, bytes], after: dict[str, bytes], names: set[str]) -> str:
    """What a disturbed run has left: "nothing" or "all"; anything between is a failure."""
    changed = {key for key in before if after.get(key) != before[key]}
    if name == "piece":
        assert changed in (set(), {"wing.toml"})
        assert set(after) == set(before)
        if changed:
            assert after["wing.toml"].decode().count("[woods.mine]") == 1
            assert len(after["wing.toml"]) > len(before["wing.toml"])
        return "all" if changed else "nothing"
    assert not changed
    assert set(after) in (set(before), names), sorted(set(after) ^ names)
    return "nothing" if set(after) == set(before) else "all"


@pytest.mark.parametrize("name", COMMANDS)
def test_ended_at_random_times(name: str, bench: Path, tmp_path: Path, whole: tuple) -> None:
    names, seconds, _ = whole
    dice = random.Random(f"{SEED} {name}")
    # Half of them near the end, where files are written.
    times = [dice.uniform(0.1, 1) for _ in range(5)] + [dice.uniform(0.8, 1.02) for _ in range(5)]
    before = contents(bench)
    for k, share in enumerate(times):
        folder = tmp_path / f"{k}"
        shutil.copytree(bench, folder)
        process = start(COMMANDS[name], folder)
        time.sleep(share * seconds)
        process.send_signal(signal.SIGTERM)
        _, err = process.communicate(timeout=120)
        told = f"{name}, seed {SEED}, after {share:.2f} of {seconds:.1f} s: {process.returncode} {err}"
        assert process.returncode in (0, 1, 130, -signal.SIGTERM), told
        assert "Traceback" not in err, told
        assert alone(process), told
        left = untouched_or_whole(name, before, contents(folder), names)
        assert process.returncode not in (0, 1) or left == "all" or name == "family", told
        shutil.rmtree(folder)


@pytest.mark.parametrize("name", COMMANDS)
def test_killed(name: str, bench: Path, tmp_path: Path, whole: tuple) -> None:
    """Nobody can clear away after that; but nothing half has its place, and no process stays."""
    names, seconds, _ = whole
    dice = random.Random(f"{SEED} {name} killed")
    before = contents(bench)
    for k in range(3):
        folder = tmp_path / f"{k}"
        shutil.copytree(bench, folder)
        process = start(COMMANDS[name], folder)
        time.sleep(dice.uniform(0.5, 1.02) * seconds)
        process.kill()
        process.communicate(timeout=120)
        assert alone(process), f"{name}, seed {SEED}"
        after = {key: data for key, data in contents(folder).items() if not key.startswith(".")}
        untouched_or_whole(name, before, after, names)


@pytest.mark.parametrize("name", WRITERS)
@pytest.mark.parametrize("most", [0, 3000])
def test_a_full_disk(name: str, most: int, bench: Path, place: Path, whole: tuple) -> None:
    process = start(COMMANDS[name], place, bytes_at_most=most)
    _, err = process.communicate(timeout=900)
    told = f"{name}: {process.returncode} {err}"
    left = untouched_or_whole(name, contents(bench), contents(place), whole[0])
    if left == "all":  # small enough
        assert most
        assert process.returncode == whole[2], told
        return
    assert process.returncode == 2, told
    assert "cannot be written" in err, told
    assert "Traceback" not in err, told
    assert len(err.splitlines()) == 1 or name in TELLING, told


@pytest.mark.parametrize("name", WRITERS)
def test_a_folder_that_takes_nothing(name: str, bench: Path, place: Path) -> None:
    os.chmod(place, 0o555)
    process = start(COMMANDS[name], place)
    begun = time.perf_counter()
    out, err = process.communicate(timeout=900)
    os.chmod(place, 0o755)
    assert process.returncode == 2, err
    assert "cannot be written" in err
    assert len(err.splitlines()) == 1
    assert out == "" or name == "piece"
    assert contents(place) == contents(bench)
    assert time.perf_counter() - begun < 60


@pytest.mark.parametrize("name", WRITERS)
def test_two_at_once(name: str, bench: Path, place: Path, whole: tuple) -> None:
    """One wins, the other says so."""
    both = [start(COMMANDS[name], place) for _ in range(2)]
    errors = [process.communicate(timeout=900)[1] for process in both]
    codes = sorted(process.returncode for process in both)
    assert codes == sorted([whole[2], 2]), errors
    lost = errors[0] if both[0].returncode == 2 else errors[1]
    if name == "piece":
        assert "has changed since" in lost or "stands there already" in lost
    else:
        assert "exists already" in lost
    assert len(lost.splitlines()) == 1 or name in TELLING
    assert untouched_or_whole(name, contents(bench), contents(place), whole[0]) == "all"


@pytest.mark.parametrize("name", [name for name in WRITERS if name != "piece"])
def test_a_link_that_leads_nowhere_is_not_replaced(name: str, place: Path) -> None:
    made = {"demo": "sparbay-demo"}.get(
        name, next((one for one in COMMANDS[name] if one.startswith("made")), "made")
    )
    (place / made).symlink_to("nowhere")
    before = sorted(place.iterdir())
    process = start(COMMANDS[name], place)
    _, err = process.communicate(timeout=900)
    assert process.returncode == 2, err
    assert made in err
    assert sorted(place.iterdir()) == before
    assert (place / made).is_symlink()
