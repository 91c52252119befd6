"""`sparbay live`: what it says before it serves, and how it ends."""

from __future__ import annotations

import importlib
import re
import sys
import webbrowser

import pytest

from models.command.exit_codes import ExitCode
from models.live.page import Server
from models.strength.counted import JOINT


@pytest.fixture
def opened(monkeypatch):
    """Addresses that a browser was asked to open; the server itself does not wait for anybody."""
    found: list[str] = []

    def opening(address: str) -> bool:
        found.append(address)
        return False

    monkeypatch.setattr(webbrowser, "open", opening)
    monkeypatch.setattr(Server, "run", lambda self: self.socket.close())
    return found


def test_the_answer_comes_first_and_the_address_last(sparbay, wing_file, opened):
    done = sparbay("live", wing_file(), "--no-browser")
    assert done.code == ExitCode.DONE
    name, first, alone = done.out.splitlines()[:3]
    assert name == sparbay("check", wing_file()).out.splitlines()[0]
    assert "fails first" in first
    # The other cases, and other wood, are worked out behind the page.
    assert alone.startswith("Pull-up alone, mean wood, lift as built: at 6.0 g the wing survives")
    assert "Caution: For model aircraft only" in done.out
    last = done.out.splitlines()[-1]
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\?token=[\w-]{43}", last)
    assert not opened


def test_a_browser_is_opened_unless_told_not_to(sparbay, wing_file, opened):
    done = sparbay("live", wing_file(), "--mesh", "1")
    assert done.code == ExitCode.DONE
    assert opened == re.findall(r"http://\S+", done.out)
    assert "No browser could be opened" in done.out


def test_every_run_has_its_own_port_and_token(sparbay, wing_file, opened):
    for _ in range(2):
        sparbay("live", wing_file(), "--mesh", "1")
    one, two = opened
    assert one.split("token=")[1] != two.split("token=")[1]


def test_a_finer_mesh_is_another_answer(sparbay, wing_file, opened, monkeypatch):
    found = []
    monkeypatch.setattr(Server, "run", lambda self: found.append(self.bench.engine) or self.socket.close())
    for n in ("1", "2"):
        sparbay("live", wing_file(), "--mesh", n)
    one, two = (engine.answer(engine._current) for engine in found)
    assert len(one.points) < len(two.points)
    assert one.tip_deflection != two.tip_deflection


def test_a_file_that_is_not_there_is_said(sparbay, opened):
    done = sparbay("live", "nothing.toml")
    assert done.code == ExitCode.WRONG_INPUT
    assert "no such file" in done.err
    assert not opened


def test_a_faulty_file_is_said(sparbay, wing_file, opened):
    path = wing_file()
    path.write_text("name = 3", encoding="utf-8")
    done = sparbay("live", path)
    assert done.code == ExitCode.WRONG_INPUT
    assert "name" in done.err


@pytest.mark.parametrize("name", ["starlette", "uvicorn", "jinja2"])
def test_a_missing_library_is_named_with_the_mend(sparbay, wing_file, opened, monkeypatch, name):
    monkeypatch.setitem(sys.modules, name, None)
    importlib.invalidate_caches()
    done = sparbay("live", wing_file())
    assert done.code == ExitCode.WRONG_INPUT
    assert f"the library {name} is not installed" in done.err
    assert "pip install" in done.err


@pytest.mark.parametrize(
    ("page", "bowed", "bent", "covered", "mode", "said"),
    [
        (21.04, 21.04, 21.04, None, "cap", ""),
        (21.04, 20.66, 20.66, None, "cap",
         "takes all sheeting as whole; the verdict counts sheeting that bows too: 20.6 g."),
        (21.04, 21.04, 21.04, 18.0, "cap",
         "takes the wing as bare; the verdict counts the covering too: 18.0 g."),
        (21.04, 20.66, 20.66, 18.0, "cap",
         "takes all sheeting as whole and the wing as bare; the verdict counts sheeting that bows and the "
         "covering too: 18.0 g."),
        (21.04, 20.66, 18.94, None, "cap",
         "takes all sheeting as whole and lift as built; the verdict counts sheeting that bows and lift "
         "where the bent wing puts it too: 18.9 g."),
        (21.04, 4.3, 4.3, None, JOINT[0], "takes joints as holding; the verdict counts joints too: 4.3 g."),
    ],
)  # fmt: skip
def test_why_the_verdict_fails_at_another_load_is_said(page, bowed, bent, covered, mode, said):
    from types import SimpleNamespace

    from models.command.live import what_differs

    decided = SimpleNamespace(
        pull_up=SimpleNamespace(mean=bent / 6, built=bowed / 6, first=SimpleNamespace(mode=mode)),
        asked=6.0,
        failing=min(bent, covered or bent),
    )
    margins = SimpleNamespace(load_factor_at_first_failure=lambda: page)
    found = what_differs(decided, margins)
    assert found == (f"The first failure of 21.0 g {said}" if said else "")
