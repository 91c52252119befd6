"""Every exit code, and that a fault of the input is one line a fault and never a traceback."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from fea.solve import Mechanism, UnbalancedSolve
from models import system
from models.command import boundary, faults
from models.command.exit_codes import ExitCode
from models.command.options import MOVED, flags

ROOT = Path(__file__).parents[3]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}


def process(*arguments: str, cwd: Path) -> subprocess.Popen[str]:
    """The command in a process of its own, which an interrupt reaches wherever tests run."""
    return subprocess.Popen(
        [sys.executable, "-m", "models.command", *arguments],
        cwd=cwd, env=ENVIRONMENT, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        preexec_fn=None if sys.platform == "win32" else lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip


def test_0_for_a_wing_that_survives(sparbay: Callable, wing_file: Callable) -> None:
    run = sparbay("check", wing_file())
    assert run.code == ExitCode.DONE == 0
    assert "\nFit to fly as drawn: " in run.out
    assert run.err == ""


def test_1_for_a_wing_that_fails(sparbay: Callable, wing_file: Callable) -> None:
    run = sparbay("check", wing_file(("load_factor = 6", "load_factor = 60")))
    assert run.code == ExitCode.FAILS == 1
    said = " ".join(run.out.split())
    assert " Not fit to fly as drawn: it twists off, or trim ends, near " in said
    assert " km/h (by the lattice alone). 0 of 100 such wings survive the 60.0 g asked for, 95 " in said


@pytest.mark.parametrize(
    ("change", "path"),
    [
        (('wood = "spruce"', 'wood = "sproose"'), "spars[0].caps.wood"),
        (('bays = "1-3"', 'bays = "1-30"'), "spars[0].webs[1].bays"),
        (("count = 13", 'stations = ["0 mm", "200 mm", "100 mm", "750 mm"]'), "ribs.stations[2]"),
        (('at = "30 %"', 'at = "130 %"'), "spars[0].at"),
        (('height = "5 mm", wood', 'height = "50 mm", wood'), "spars[0].caps.height"),
        (('thickness = "1.5 mm"\nwood', 'thickness = "0 mm"\nwood'), "spars[0].webs[0].thickness"),
        (('thickness = "1.5 mm"\nwood', 'thickness = "1.5"\nwood'), "spars[0].webs[0].thickness"),
        (('thickness = "1.5 mm"\nwood', 'thickness = 1.5\nwood'), "spars[0].webs[0].thickness"),
        (('thickness = "1.5 mm"\nwood', 'thickness = "1.5 kg"\nwood'), "spars[0].webs[0].thickness"),
        (("load_factor = 6", "load_factor = nan"), "case.load_factor"),
        (("[planform]", "[planform"), "line 6"),
        (('section = "NACA 2412"', 'section = "nowhere.dat"'), "planform.stations[0].section"),
        (('mass = "1.5 kg"', 'mass = "20 g"'), "case.mass"),
        (("[case]", "[case]\nload_fctor = 3"), "case.load_fctor"),
    ],
)  # fmt: skip
def test_2_for_a_faulty_file(
    sparbay: Callable, wing_file: Callable, change: tuple[str, str], path: str
) -> None:
    file = wing_file(change)
    for command in (["check"], ["compare"], ["check", "--show", "--folder", file.parent / "pictures"]):
        run = sparbay(*command, file)
        assert run.code == ExitCode.WRONG_INPUT == 2, run
        assert run.out == ""
        assert "Traceback" not in run.err
        lines = run.err.splitlines()
        assert lines[0].startswith(f"{file}: {path}"), lines
        assert all(line.startswith(str(file)) for line in lines)
    assert not (file.parent / "pictures").exists()


def test_every_fault_has_its_line(sparbay: Callable, wing_file: Callable) -> None:
    run = sparbay(
        "check", wing_file(('wood = "spruce"', 'wood = "sproose"'), ('bays = "1-3"', 'bays = "1-30"'))
    )
    assert run.code == 2
    assert len(run.err.splitlines()) == 2


@pytest.mark.parametrize(
    "arguments",
    [
        [], ["chek", "x"], ["check"], ["new"], ["check", "trainer", "--mesh", "0"],
        ["check", "trainer", "--mesh", "65"], ["check", "trainer", "--mesh", "two"],
        ["check", "trainer", "--jso"], ["compare", "trainer", "--rigid-joints"],
        ["check", "--show", "trainer", "--folder", "a", "--scene", "deflection"],
        ["check", "--show", "trainer", "--scene", "x"], ["check", "trainer", "--scene", "deflection"],
        ["compare", "--grain", "trainer", "--speed"], ["compare", "--grain", "--family", "trainer"],
        ["bench", "--proof", "trainer", "--bags", "5"], ["woods", "--piece", "--like", "balsa"],
        ["woods", "balsa", "--piece"], ["keys", "bash"], ["keys", "--completion"],
        ["check", "no such wing"], ["woods", "ironwood"], ["validate", "no-such-case"],
    ],
)  # fmt: skip
def test_2_for_wrong_options(sparbay: Callable, arguments: list[str]) -> None:
    run = sparbay(*arguments)
    assert run.code == 2
    assert run.out == ""
    assert run.err
    assert "Traceback" not in run.err


@pytest.mark.parametrize("old", MOVED)
def test_a_command_of_old_is_told_by_its_new_name(sparbay: Callable, old: str) -> None:
    run = sparbay(old, "trainer")
    assert run == (2, "", f"sparbay {old} is now sparbay {MOVED[old]}\n")
    command, flag = MOVED[old].split()
    assert flag.removeprefix("--") in flags(command)


def test_light_aeroplane_says_what_was_expected(sparbay: Callable, wing_file: Callable) -> None:
    run = sparbay("check", wing_file(('mass = "1.5 kg"', 'mass = "20 g"')))
    assert re.search(r'case\.mass: "20 g" is less than the wing and what it carries, [\d.]+ g', run.err)


def test_a_mechanism_of_the_file_names_the_part_that_moves(sparbay: Callable, wing_file: Callable) -> None:
    """Ribs beyond the end of the only spar, with no edges: nothing holds them."""
    file = wing_file(('at = "30 %"', 'at = "30 %"\nto = "375 mm"'), ('bays = "1-10"', 'bays = "1-5"'))
    text = file.read_text()
    for table in ("leading_edge", "trailing_edge"):
        text = re.sub(rf"\[{table}\].*?\n\n", "", text, flags=re.DOTALL)
    file.write_text(text)
    run = sparbay("check", file)
    assert run.code == 2
    assert re.match(r".*wing\.toml: .*rib \d+ is free to (turn|move)", run.err), run.err
    assert "matrix" not in run.err
    assert len(run.err.splitlines()) == 1


def test_a_mechanism_in_words() -> None:
    motion = np.array([[0.0, 0.1, 0.0, 0.0, -1.0, 0.0]])
    words = str(
        faults.mechanism("w.toml", Mechanism(np.array([3]), motion, ("bay 2: lower cap", "bay 2: post")))
    )
    assert words.startswith("w.toml: bay 2: lower cap is free to turn about the span (with bay 2: post)")
    assert "w.toml: a part is free" in str(faults.mechanism("w.toml", Mechanism(np.array([3]), motion, ())))


@pytest.mark.parametrize(
    "error", [UnbalancedSolve(1e-3, 1e-8), RuntimeError("two\nlines"), ValueError("unforeseen")]
)
def test_3_for_a_fault_of_ours(
    sparbay: Callable, wing_file: Callable, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("models.analysis.analyse", broken)
    run = sparbay("check", wing_file())
    assert run.code == ExitCode.OUR_FAULT == 3
    assert run.out == ""
    assert len(run.err.splitlines()) == 1
    assert type(error).__name__ in run.err
    log = Path(run.err.rpartition("the traceback is in ")[2].strip())
    assert log.name == "sparbay-error.log"
    assert "Traceback" in log.read_text()
    assert "in broken" in log.read_text()


def test_130_for_the_keyboard(
    sparbay: Callable, wing_file: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("models.analysis.analyse", stopped)
    run = sparbay("check", wing_file())
    assert run.code == ExitCode.INTERRUPTED == 130
    assert len(run.err.splitlines()) == 1


def test_every_code_is_reached_by_a_test_above() -> None:
    assert {int(code) for code in ExitCode} == {0, 1, 2, 3, 130}
    assert boundary.ExitCode is ExitCode


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_a_real_interrupt(tmp_path: Path) -> None:
    running = process("demo", cwd=tmp_path)
    assert running.stderr is not None
    assert running.stderr.readline().startswith("1")  # past the imports, far from the end
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=300)
    assert running.returncode == 130
    assert "Traceback" not in err
    assert not list(tmp_path.iterdir())


def test_processes_return_the_codes(tmp_path: Path) -> None:
    for arguments, code in ((["keys"], 0), (["check", "nothing-of-this-name"], 2)):
        running = process(*arguments, cwd=tmp_path)
        _, err = running.communicate(timeout=300)
        assert running.returncode == code
        assert "Traceback" not in err


@pytest.mark.skipif(sys.platform == "win32", reason="pipes")
def test_a_reader_that_goes_away(tmp_path: Path) -> None:
    running = process("check", "powered-tailless", "--json", cwd=tmp_path)
    assert running.stdout is not None
    running.stdout.close()
    assert running.stderr is not None
    err = running.stderr.read()
    assert running.wait(timeout=300) == 130
    assert err == ""
    running.stderr.close()


def test_drawing_is_not_loaded_for_a_check(tmp_path: Path) -> None:
    """A plain check starts fast: it loads no library that draws, exports or sets tables."""
    code = (
        "import sys; from models.command import main; main(['check', 'trainer']); "
        "print([m for m in ('pyvista', 'vtkmodules', 'matplotlib', 'meshio', 'rich') if m in sys.modules], "
        "file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env=ENVIRONMENT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stderr.strip() == "[]"


FULL = pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")


@pytest.mark.skipif(sys.platform == "win32", reason="needs a shell with >&-")
@pytest.mark.parametrize(
    ("command", "code"),
    [
        ("check spar-c >&-", 0),
        ("check spar-c >/dev/null 2>&-", 0),
        ("check spar-c >&- 2>&-", 0),
        ("check nosuch 2>&-", 2),
        ("check nosuch >&- 2>&-", 2),
        ("nocommand 2>&-", 2),
        pytest.param("--version >/dev/full", 2, marks=FULL),
        pytest.param("--help >/dev/full", 2, marks=FULL),
        pytest.param("check --help >/dev/full", 2, marks=FULL),
        pytest.param("check spar-c >/dev/full", 2, marks=FULL),
        pytest.param("check nosuch 2>/dev/full", 2, marks=FULL),
    ],
)
def test_a_closed_or_full_stream_is_never_a_wing_that_fails(command: str, code: int, tmp_path: Path) -> None:
    done = subprocess.run(
        f'"{sys.executable}" -m models.command {command}',
        shell=True, cwd=tmp_path, env=ENVIRONMENT, text=True, capture_output=True,
    )  # fmt: skip
    assert done.returncode == code
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("error", [RuntimeError("half"), ImportError("half", name="some_library")])
def test_an_end_that_a_library_makes_its_own_error_of_is_an_end(
    sparbay: Callable, wing_file: Callable, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("models.analysis.analyse", broken)
    monkeypatch.setattr(system, "_told", [signal.SIGTERM])
    run = sparbay("check", wing_file())
    assert (run.code, run.out, run.err) == (ExitCode.INTERRUPTED, "", "sparbay: ended from outside\n")


def test_a_library_that_cannot_be_loaded_is_named(
    sparbay: Callable, wing_file: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ImportError("libGL.so.1: cannot open shared object file", name="vtkmodules.vtkRendering")

    monkeypatch.setattr("models.analysis.analyse", broken)
    run = sparbay("check", wing_file())
    assert run.code == 2
    assert run.err.startswith("sparbay: the library vtkmodules cannot be loaded (libGL.so.1: cannot open")
    assert run.err.count("\n") == 1
