"""From a click on the page to its answer on the screen, as a browser counts it, in patterns of ordinary use.

`pytest -s --benchmark-only tests/benchmarks/test_live_in_browser.py` prints for each pattern how many
milliseconds the page itself says that its answers took.
"""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

sync_api = pytest.importorskip("playwright.sync_api")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ROOT = Path(__file__).resolve().parents[2]
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip

if CHROMIUM is None:
    pytest.skip("there is no chromium here", allow_module_level=True)


class Clicked:
    """A page and a hand on it."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.cells = page.locator("svg [role=button]")
        self.count = self.cells.count()
        self.dice = random.Random(20)

    def act(self, what: Callable[[], Any]) -> float:
        """Do something; milliseconds until its answer was on the screen."""
        n = int(self.page.evaluate("document.body.dataset.answered"))
        what()
        self.page.wait_for_selector(f'body[data-answered="{n + 1}"]')
        return float(self.page.evaluate("document.body.dataset.milliseconds"))

    def click(self, k: int | None = None) -> float:
        """Click a cell of the plan, any if not said which."""
        k = self.dice.randrange(self.count) if k is None else k
        return self.act(lambda: self.cells.nth(k).click())


@pytest.fixture
def opening(tmp_path: Path) -> Iterator[Callable[[], Clicked]]:
    """Start the program and open its page, in a browser that is there already."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    programs: list[subprocess.Popen[str]] = []
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)

        def opened() -> Clicked:
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            start = time.perf_counter()
            program = subprocess.Popen(
                [sys.executable, "-m", "models.command", "live", "powered-tailless", "--no-browser"],
                cwd=tmp_path, env=environment, stdout=subprocess.PIPE, text=True,
            )  # fmt: skip
            programs.append(program)
            assert program.stdout is not None
            address = next(line.strip() for line in program.stdout if line.startswith("http://127.0.0.1:"))
            print(f"\n  {time.perf_counter() - start:.1f} s from the command to the address", end="")
            page.goto(address)
            page.wait_for_selector("body[data-ready=yes]")
            print(f", {time.perf_counter() - start:.1f} s until the page takes clicks", end="")
            return Clicked(page)

        yield opened
        for program in programs:
            program.terminate()
            program.communicate(timeout=30)
        browser.close()


def said(name: str, found: list[float]) -> dict[str, float]:
    """Print what a pattern took, and give it as figures."""
    ordered = sorted(found)
    figures = {
        "median": ordered[len(ordered) // 2],
        "nine tenths": ordered[min(int(0.9 * len(ordered)), len(ordered) - 1)],
        "most": ordered[-1],
    }
    print(f"\n  {name}: {len(found)} answers, ms: " + ", ".join(f"{k} {v:.0f}" for k, v in figures.items()))
    return figures


@pytest.mark.parametrize("pause", [0.0, 0.3, 1.5])
def test_clicks_anywhere(benchmark, opening, pause):
    """The first as soon as the page shows, the others a pause apart."""
    hand = opening()
    found: list[float] = []

    def clicks() -> None:
        for _ in range(40):
            found.append(hand.click())
            time.sleep(pause)

    benchmark.pedantic(clicks, rounds=1)
    print(f"\n  first click {found[0]:.0f} ms", end="")
    benchmark.extra_info.update(said(f"{pause} s apart", found))


def test_one_cell_round_and_round(benchmark, opening):
    hand = opening()
    found: list[float] = []

    def clicks() -> None:
        for k in range(0, hand.count, 3):
            for _ in range(5):
                found.append(hand.click(k))
                time.sleep(0.25)

    benchmark.pedantic(clicks, rounds=1)
    benchmark.extra_info.update(said("each cell five times, 0.25 s apart", found))


def test_while_the_proof_runs(benchmark, opening):
    hand = opening()
    found: list[float] = []

    def clicks() -> None:
        for _ in range(5):
            hand.click()
            with hand.page.expect_request("**/proof", timeout=60_000):
                pass
            for _ in range(3):
                found.append(hand.click())

    benchmark.pedantic(clicks, rounds=1)
    benchmark.extra_info.update(said("while the proof runs", found))


def test_a_slider_and_back(benchmark, opening):
    hand = opening()
    found: list[float] = []

    def moves() -> None:
        hand.page.locator("#load").focus()
        for k in range(30):
            key = "ArrowRight" if k < 20 else "ArrowLeft"
            found.append(hand.act(lambda key=key: hand.page.keyboard.press(key)))
        for _ in range(5):
            hand.click()
        for _ in range(5):
            found.append(hand.act(lambda: hand.page.click("#undo")))

    benchmark.pedantic(moves, rounds=1)
    benchmark.extra_info.update(said("load slid, clicks undone", found))
