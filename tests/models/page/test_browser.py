"""The page in a browser without network: nothing asked for, no sideways scrolling, and a wing that turns."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

pytestmark = pytest.mark.slow


def test_on_a_desk_it_turns_and_asks_for_nothing(
    page: Any, browse: Callable[..., Any], can_draw: bool
) -> None:
    with browse(page.path, viewport={"width": 1280, "height": 900}) as (shown, asked, errors):
        assert shown.evaluate("document.documentElement.scrollWidth") <= 1280
        assert shown.title().startswith("<script>alert(1)</script>")
        if can_draw:
            shown.locator("#view").scroll_into_view_if_needed()
            frame = shown.locator(".view.current .stage.turning iframe")
            frame.wait_for(timeout=60_000)
            inner = shown.frame_locator(".view.current .stage iframe").locator("canvas")
            inner.wait_for(timeout=60_000)
            shown.evaluate("document.getElementById('view').scrollIntoView()")
            before = _drawn(shown, frame, _is_drawn)
            assert any(_dragged(shown, frame) != before for _ in range(8))
            at = shown.evaluate("scrollY")
            shown.mouse.wheel(0, 300)
            shown.wait_for_function(f"scrollY > {at} + 100", timeout=60_000)
            shown.get_by_role("button", name="Reserve factor").click()
            assert shown.locator("#view-reserve iframe").count() == 1
            assert shown.locator("#view-deflection iframe").count() == 0
            assert not shown.locator("#view-deflection").is_visible()
            shown.get_by_role("button", name="Still picture").click()
            assert shown.locator("iframe").count() == 0
            assert shown.locator("#view-reserve img").is_visible()
        assert {a for a in asked if not a.startswith(("data:", "blob:", "about:"))} == {page.path.as_uri()}
        assert errors == []


def _dragged(shown: Any, frame: Any, *, pause: float = 0.0) -> bytes:
    """A picture of the frame after a drag, with pauses (ms) as on a slow machine."""
    box = frame.bounding_box()
    shown.mouse.move(box["x"] + 300, box["y"] + 200)
    shown.mouse.down()
    shown.wait_for_timeout(pause)
    shown.mouse.move(box["x"] + 450, box["y"] + 260, steps=1 if pause else 30)
    shown.wait_for_timeout(pause)
    shown.mouse.up()
    shown.wait_for_timeout(300)
    return _drawn(shown, frame, _is_drawn)


def test_at_one_picture_a_second_every_drag_turns_it(
    page: Any, browse: Callable[..., Any], can_draw: bool
) -> None:
    """The viewer by itself drops a movement that comes 200 ms after the last: no drag turned the wing."""
    if not can_draw:
        pytest.skip("no scenes can be drawn here")
    with browse(page.path, viewport={"width": 1280, "height": 900}) as (shown, _, errors):
        shown.locator("#view").scroll_into_view_if_needed()
        frame = shown.locator(".view.current .stage.turning iframe")
        frame.wait_for(timeout=60_000)
        shown.frame_locator(".view.current .stage iframe").locator("canvas").wait_for(timeout=60_000)
        shown.evaluate("document.querySelector('.view.current .stage').scrollIntoView()")
        before, turned = _drawn(shown, frame, _is_drawn), 0
        for _ in range(4):
            after = _dragged(shown, frame, pause=1000.0)
            turned += after != before
            before = after
        assert turned == 4
        assert errors == []


def test_in_the_dark_the_wing_is_drawn_on_the_dark_page(
    page: Any, browse: Callable[..., Any], can_draw: bool
) -> None:
    if not can_draw:
        pytest.skip("no scenes can be drawn here")
    size = {"width": 1280, "height": 900}
    with browse(page.path, viewport=size, color_scheme="dark") as (shown, _, errors):
        shown.locator("#view").scroll_into_view_if_needed()
        frame = shown.locator(".view.current .stage.turning iframe")
        frame.wait_for(timeout=60_000)
        shown.frame_locator(".view.current .stage iframe").locator("canvas").wait_for(timeout=60_000)
        shown.evaluate("document.querySelector('.view.current .stage').scrollIntoView()")
        _drawn(shown, frame, _is_light_on_dark)
        shown.get_by_role("button", name="Still picture").click()
        assert _is_light_on_dark(bytes(shown.locator(".view.current img").screenshot()))
        assert errors == []


def test_the_first_screen_has_verdict_wing_and_four_figures(page: Any, browse: Callable[..., Any]) -> None:
    with browse(page.path, viewport={"width": 1280, "height": 900}) as (shown, _, _errors):
        low = """() => Math.max(...[...document.querySelectorAll('.verdict, #answer svg, .big dd')].map(
            e => e.getBoundingClientRect().bottom))"""
        assert shown.evaluate(low) < 900
        assert shown.locator(".big dd").count() == 4
        assert shown.evaluate("document.documentElement.scrollHeight") < 11_000
        sticky = "() => getComputedStyle(document.querySelector('.box tbody th')).position"
        assert shown.evaluate(sticky) == "sticky"


def _drawn(shown: Any, frame: Any, enough: Callable[[bytes], bool]) -> bytes:
    """A picture of the frame once it is as it should be; software draws slowly on a busy machine."""
    for _ in range(60):
        picture = bytes(frame.screenshot())
        if enough(picture):
            return picture
        shown.wait_for_timeout(200)
    pytest.fail("the view does not show what it should")


def _is_light_on_dark(picture: bytes) -> bool:
    """Whether a picture has something light on a dark ground."""
    import io

    from PIL import Image

    grey = np.asarray(Image.open(io.BytesIO(picture)).convert("L").crop((20, 20, 900, 400)))
    return bool(grey.max() > 120 and grey.mean() < 90)


def _is_drawn(picture: bytes) -> bool:
    """Whether there is something dark or coloured on the white."""
    import io

    from PIL import Image

    darkest, _ = Image.open(io.BytesIO(picture)).convert("L").crop((20, 20, 900, 400)).getextrema()
    return float(darkest) < 150


@pytest.mark.parametrize("which", ["page", "specimen_page"])
def test_on_a_telephone_only_tables_scroll_sideways(
    which: str, request: pytest.FixtureRequest, browse: Callable[..., Any]
) -> None:
    written = request.getfixturevalue(which)
    settings = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True}
    with browse(written.path, **settings) as (shown, asked, errors):
        assert shown.evaluate("[document.documentElement.scrollWidth, innerWidth]") == [390, 390]
        wide = """() => [...document.querySelectorAll('main *, header *')].filter(
            e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.box, pre, svg')).length"""
        assert shown.evaluate(wide) == 0
        # Words of figures do not fall below what can be read.
        small = """() => Math.min(...[...document.querySelectorAll('svg text')].map(
            e => e.getBoundingClientRect().height))"""
        assert shown.evaluate(small) > 7
        assert shown.locator("iframe").count() == 0, "a view that takes the finger waits to be asked"
        assert asked == [written.path.as_uri()]
        assert errors == []


def test_without_script_and_on_paper_there_are_stills(
    page: Any, browse: Callable[..., Any], can_draw: bool
) -> None:
    with browse(page.path, java_script_enabled=False) as (shown, _, errors):
        if can_draw:
            assert all(picture.is_visible() for picture in shown.locator(".stage img").all())
            assert shown.locator(".stage img").count() == 3
        assert not shown.locator(".choice").is_visible()
        assert errors == []


def test_dark_words_stand_out(page: Any, browse: Callable[..., Any]) -> None:
    contrast = """() => {
        const light = c => { const v = c.match(/[\\d.]+/g).slice(0, 3).map(x => x / 255)
            .map(x => x <= .04045 ? x / 12.92 : ((x + .055) / 1.055) ** 2.4);
            return .2126 * v[0] + .7152 * v[1] + .0722 * v[2]; };
        const back = e => { for (; e; e = e.parentElement) {
            const c = getComputedStyle(e).backgroundColor;
            if (!/, 0\\)$|transparent/.test(c)) return c; } return 'rgb(255, 255, 255)'; };
        const found = [];
        const every = 'p, li, dt, dd, td, th, h1, h2, h3, figcaption, button, a';
        for (const e of document.querySelectorAll(every)) {
            if (!e.textContent.trim() || !e.offsetParent) continue;
            const a = light(getComputedStyle(e).color), b = light(back(e));
            const ratio = (Math.max(a, b) + .05) / (Math.min(a, b) + .05);
            if (ratio < 4.5) found.push([e.tagName, e.className, e.textContent.slice(0, 30), ratio]);
        }
        return found; }"""
    for scheme in ("light", "dark"):
        with browse(page.path, color_scheme=scheme) as (shown, _, _):
            assert shown.evaluate(contrast) == [], scheme
