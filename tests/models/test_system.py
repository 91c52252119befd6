"""What not every system has, each tried switched off too: the plain way does the same, or does without."""

from __future__ import annotations

import ctypes
import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from models import system

ROOT = Path(__file__).parents[2]
ABILITIES = ("kept memory", "hard exit", "signals", "locks", "links", "rights", "nice")


@pytest.fixture(params=[True, False], ids=["with", "without"])
def able(request, monkeypatch):
    """Everything that this system can, or nothing of it."""
    if not request.param:
        monkeypatch.setattr(system, "ABLE", set())
    return request.param


def test_abilities_are_those_told():
    assert set(ABILITIES) >= system.ABLE


def test_a_name_that_is_taken_is_not_given_again(able, tmp_path):
    first, second, path = tmp_path / "a", tmp_path / "b", tmp_path / "made"
    first.write_text("first")
    second.write_text("second")
    system.put_new(first, path)
    with pytest.raises(FileExistsError):
        system.put_new(second, path)
    assert path.read_text() == "first"
    assert second.read_text() == "second"


def test_a_link_that_leads_nowhere_is_a_name(able, tmp_path):
    (tmp_path / "made").symlink_to("nowhere")
    (tmp_path / "a").write_text("a")
    with pytest.raises(FileExistsError):
        system.put_new(tmp_path / "a", tmp_path / "made")


def test_a_full_folder_is_not_replaced_and_an_empty_one_is(able, tmp_path):
    made, whole = tmp_path / "made", tmp_path / "whole"
    made.mkdir()
    whole.mkdir()
    (whole / "file").write_text("new")
    system.put_folder(whole, made)
    assert (made / "file").read_text() == "new"
    whole.mkdir()
    with pytest.raises(FileExistsError):
        system.put_folder(whole, made)
    assert (made / "file").read_text() == "new"


def test_what_is_unfinished_is_cleared_away(able, tmp_path):
    file, folder = system.beside(tmp_path / "a"), system.beside(tmp_path / "b", ending=".png")
    file.write_text("half")
    folder.mkdir()
    (folder / "half").write_text("half")
    assert {path.name[0] for path in tmp_path.iterdir()} == {"."}
    system.clear_away()
    assert list(tmp_path.iterdir()) == []
    system.clear_away()


def test_a_result_is_for_everyone_whom_the_user_lets(able, tmp_path):
    path = tmp_path / "a"
    path.touch(mode=0o600)
    system.ordinary_rights(path)
    mask = os.umask(0)
    os.umask(mask)
    assert path.stat().st_mode & 0o777 == ((0o666 & ~mask) if able and "rights" in system.ABLE else 0o600)


def test_a_held_file_is_held_against_others(able, tmp_path):
    path = tmp_path / "a"
    path.touch()
    seen = []

    def other():
        with system.held(path):
            seen.append("other")

    thread = threading.Thread(target=other)
    with system.held(path):
        thread.start()
        thread.join(0.2)
        assert seen == ([] if able and "locks" in system.ABLE else ["other"])
    thread.join()
    assert seen == ["other"]


def ran(code: str, *, off: str = "", end: bool = False) -> subprocess.CompletedProcess:
    """A process of its own that runs code; ended from outside once it says that it is ready."""
    text = f"import sys\nfrom models import system\nsystem.ABLE -= {set(off.split(','))!r}\n{code}"
    process = subprocess.Popen(
        [sys.executable, "-c", text], cwd=ROOT, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    if end:
        assert process.stdout.readline() == "ready\n"
        process.send_signal(signal.SIGTERM)
    out, err = process.communicate(timeout=60)
    return subprocess.CompletedProcess([], process.returncode, out, err)


@pytest.mark.parametrize("off", ["", "hard exit,kept memory"])
def test_the_end_of_a_process_runs_what_is_registered_and_clears_away(off, tmp_path):
    done = ran(
        "import atexit\nfrom pathlib import Path\n"
        "system.keep_freed()\natexit.register(lambda: print('registered'))\n"
        f"name = system.beside(Path({str(tmp_path / 'a')!r}))\nname.write_text('half')\nprint('work')\n"
        "system.end_process(7)",
        off=off,
    )
    assert (done.returncode, done.stdout, done.stderr) == (7, "work\nregistered\n", "")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif("signals" not in system.ABLE or sys.platform == "win32", reason="signals")
@pytest.mark.parametrize(("off", "code", "words"), [("", 130, "cleared\n"), ("signals", -signal.SIGTERM, "")])
def test_a_process_that_is_told_to_end_clears_away(off, code, words):
    done = ran(
        "import time\nsystem.end_in_order()\n"
        "try:\n    print('ready', flush=True)\n    time.sleep(60)\n"
        "except system.Ended:\n    print('cleared')\n    system.end_process(130)",
        off=off,
        end=True,
    )
    assert (done.returncode, done.stdout) == (code, words)


@pytest.mark.skipif("signals" not in system.ABLE or sys.platform == "win32", reason="signals")
def test_an_end_that_is_told_where_nothing_is_heard_is_told_again():
    done = ran(
        "import time\nsystem.end_in_order()\n"
        "class Slow:\n    def __del__(self):\n        print('ready', flush=True)\n        time.sleep(60)\n"
        "try:\n    Slow()\n    time.sleep(60)\n"
        "except system.Ended:\n    print('cleared')\n    system.end_process(130)",
        end=True,
    )
    assert (done.returncode, done.stdout, done.stderr) == (130, "cleared\n", "")


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_a_worker_ends_with_the_one_it_works_for(tmp_path):
    """However that ends, by SIGKILL here."""
    path = tmp_path / "worker.py"
    path.write_text(
        "import multiprocessing, os, sys, time\n"
        "from models import system\n"
        "def work():\n    system.end_with_parent()\n    print(os.getpid(), flush=True)\n    time.sleep(600)\n"
        "if __name__ == '__main__':\n"
        "    multiprocessing.get_context('spawn').Process(target=work).start()\n    time.sleep(600)\n"
    )
    process = subprocess.Popen(
        [sys.executable, str(path)], text=True, stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    worker = int(process.stdout.readline())
    process.kill()
    process.wait()
    for _ in range(300):
        try:
            os.kill(worker, 0)
        except ProcessLookupError:
            break
        time.sleep(0.1)
        # Where nobody collects orphans it stays in the table as what it was.
        state = Path(f"/proc/{worker}/stat")
        if state.exists() and state.read_text().rpartition(")")[2].split()[0] == "Z":
            break
    else:
        os.kill(worker, signal.SIGKILL)
        pytest.fail("the worker still runs")
    process.stdout.close()


def test_no_parent_is_nobody_to_end_with():
    before = threading.active_count()
    assert multiprocessing.parent_process() is None
    system.end_with_parent()
    assert threading.active_count() == before


def test_stepping_back_is_left_out_where_it_is_not_known(monkeypatch):
    monkeypatch.setattr(system, "ABLE", set())
    monkeypatch.setattr(os, "nice", lambda by: pytest.fail("asked"), raising=False)
    system.step_back()


@pytest.mark.skipif("signals" not in system.ABLE or sys.platform == "win32", reason="signals")
def test_an_end_is_held_back_from_what_must_not_break_off():
    done = ran(
        "import os, signal\nsystem.end_in_order()\n"
        "try:\n    with system.unbroken():\n        os.kill(os.getpid(), signal.SIGTERM)\n"
        "        print('whole')\n    print('not reached')\n"
        "except system.Ended:\n    print('ended')"
    )
    assert done.stdout.split() == ["whole", "ended"], done.stderr


@pytest.mark.skipif(os.name != "posix", reason="reaches the C library by no name")
def test_what_a_library_prints_is_not_heard_while_it_is_hushed(capfd):
    printf = ctypes.CDLL(None).printf
    print("before")
    with system.hushed():
        printf(b"of the library\n")
    print("after")
    system._print_out()
    assert capfd.readouterr().out == "before\nafter\n"
