"""The page in a real browser: two tabs on one file, a reload, a telephone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.models.live.test_browser import ARGUMENTS, CHROMIUM, PATIENCE, answered, cell, command, sync_api

pytestmark = pytest.mark.slow

PLAIN = Path(__file__).with_name("remarked.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def wing(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tabs") / "mine.toml"
    path.write_text(PLAIN, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser(wing: Path) -> Iterator[Any]:
    """A browser and the address of a page that runs."""
    program = command("live", wing.name, "--no-browser", "--mesh", "2", folder=wing.parent)
    assert program.stdout is not None
    address = next((line.strip() for line in program.stdout if line.startswith("http://127.0.0.1:")), "")
    try:
        with sync_api.sync_playwright() as playwright:
            shown = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
            yield shown, address
            shown.close()
    finally:
        program.terminate()
        program.communicate(timeout=300)


@pytest.fixture
def tabs(browser: tuple[Any, str]) -> Iterator[Any]:
    """Opens tabs, of whatever width, and sees that nothing goes wrong in them."""
    shown, address = browser
    context = shown.new_context(viewport={"width": 1280, "height": 900})
    faults: list[str] = []

    def opened(width: int = 1280, height: int = 900) -> Any:
        page = context.new_page()
        page.set_viewport_size({"width": width, "height": height})
        page.set_default_timeout(PATIENCE)
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("dialog", lambda dialog: dialog.accept())
        page.goto(address)
        page.wait_for_selector("body[data-answered]")
        return page

    yield opened
    context.close()
    assert not faults


def test_what_was_done_survives_a_reload(tabs):
    page = tabs()
    page.click("#pin")
    answered(page, lambda: cell(page, 2, "main").click())
    page.click("#pin")
    answered(page, lambda: cell(page, 5, "main").click())
    answer = page.inner_text("#sentence"), page.inner_text("#bays tbody")
    assert page.locator("#tried .dot").count() == 3
    page.reload()
    page.wait_for_selector("body[data-answered]")
    assert (page.inner_text("#sentence"), page.inner_text("#bays tbody")) == answer
    assert page.locator("#pins tbody tr").count() == 2
    assert page.locator("#tried .dot").count() == 3
    assert page.is_visible("#unsaved")
    answered(page, lambda: page.click("#undo"))
    answered(page, lambda: page.click("#undo"))
    assert not page.is_visible("#unsaved")
    answered(page, lambda: page.click('[aria-label="Go to the pinned layout B"]'))
    assert page.locator('.cell[aria-label^="Bay 2, main spar: both"]').count() == 1
    page.click('[aria-label="Take the pin A off"]')
    assert page.locator("#pins tbody tr").count() == 1


def test_one_tab_does_not_write_over_the_file_of_the_other(tabs, wing):
    one, other = tabs(), tabs()
    answered(one, lambda: cell(one, 1, "main").click())
    answered(other, lambda: cell(other, 7, "main").click())
    one.fill("#name-save", "next.toml")
    one.click('[data-file="save-as"]')
    one.wait_for_selector('#filed:has-text("Saved as next.toml")')
    new = wing.with_name("next.toml").read_bytes()
    other.click("#save")
    other.wait_for_selector('#filed:has-text("another tab of this page has gone on with next.toml")')
    assert wing.with_name("next.toml").read_bytes() == new
    assert wing.read_text(encoding="utf-8") == PLAIN
    other.reload()
    other.wait_for_selector("body[data-answered]")
    assert other.inner_text("#save") == "Save in next.toml"
    other.click("#save")  # knowing now what it writes over
    other.wait_for_selector('#filed:has-text("Saved in next.toml.")')
    one.click("#save")
    one.wait_for_selector('#filed:has-text("another tab of this page has saved in it")')
    wing.with_name("next.toml").unlink()
    other.wait_for_selector('#disk:has-text("next.toml is gone from its folder")')


def test_a_telephone_has_figures_and_the_chosen_bay_in_reach(tabs):
    page = tabs(375, 740)
    assert page.evaluate("document.documentElement.scrollWidth") <= 375
    cell(page, 3, "main").scroll_into_view_if_needed()
    answered(page, lambda: cell(page, 3, "main").click())
    seen = page.evaluate(
        """() => ["bar-limit", "bar-grams", "bar-chosen", "bar-steps"].map((id) => {
            const box = document.getElementById(id).getBoundingClientRect();
            return box.width > 0 && box.top >= 0 && box.bottom <= innerHeight && box.right <= innerWidth;
        })"""
    )
    assert seen == [True] * 4
    assert page.inner_text("#bar-chosen") == "Bay 3, main spar"
    answered(page, lambda: page.locator("#bar-steps button", has_text="open").click())
    assert page.locator('.cell[aria-label^="Bay 3, main spar: open"]').count() == 1
    before = page.inner_text("#bar-limit")
    page.fill("#thickness", "1000 mm")
    page.locator("#thickness").blur()
    page.wait_for_selector("#fault:not([hidden])")
    assert "Webs of the main spar, thickness" in page.inner_text("#fault")
    assert page.inner_text("#bar-limit") == before
