"""Fixtures of the page's tests: pages of small wings whose every name is markup, and a browser."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from models.command import main
from models.pictures.screen import NoRenderer, drawing_surface

NASTY = """<script>alert(1)</script> & "quoted" 'single' $x$ </title></style>"""
MARKED = "</svg><img src=x onerror=alert(2)>"
WING = f"""
name = '''{NASTY}'''
[planform]
stations = [{{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }}, {{ y = "500 mm", chord = "160 mm" }}]
[ribs]
count = 5
thickness = "2 mm"
[[spars]]
name = "{MARKED}"
at = "30 %"
caps = {{ width = "8 mm", height = "5 mm", wood = "spruce" }}
[[spars.webs]]
bays = "1-3"
face = "rear"
thickness = "1.5 mm"
[leading_edge]
width = "8 mm"
height = "8 mm"
[trailing_edge]
width = "25 mm"
height = "5 mm"
[[masses]]
name = "<b onclick=alert(3)>lead</b>"
mass = "300 g"
x = "20 mm"
[case]
name = "<i>loop & 'roll'</i>"
load_factor = LOAD
mass = "1 kg"
moment_coefficient = 0
[layouts."<u>one</u> & \\"two\\""]
webs = [{{ spar = "{MARKED}", bays = "1", face = "front" }}]
"""
"""Without a section moment, and so with a quick envelope."""
SPECIMEN = f"""
name = '''{NASTY}'''
[specimen]
length = "120 mm"
depth = "30 mm"
[ribs]
pitch = "60 mm"
thickness = "2 mm"
[[spars]]
name = "{MARKED}"
caps = {{ width = "10 mm", height = "6 mm", wood = "spruce" }}
[[spars.webs]]
bays = "all"
face = "front"
thickness = "1.5 mm"
[case]
tip_force = "1 N"
tip_torque = "5 N mm"
"""
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
OPTIONS = (
    "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
)  # fmt: skip


@dataclass(frozen=True)
class Element:
    """A tag of the page with its attributes, its place in the tree, and the words in it."""

    tag: str
    attributes: dict[str, str | None]
    inside: tuple[str, ...]
    words: list[str]

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())


class Reader(HTMLParser):
    """Reads a page into a list of elements in their order."""

    EMPTY = frozenset({"meta", "link", "img", "br", "use", "path", "source"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        made = Element(tag, dict(attrs), tuple(e.tag for e in self._open), [])
        self.elements.append(made)
        if tag not in self.EMPTY:
            self._open.append(made)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(Element(tag, dict(attrs), tuple(e.tag for e in self._open), []))

    def handle_endtag(self, tag: str) -> None:
        if tag in self.EMPTY:
            return
        while self._open:
            if self._open.pop().tag == tag:
                break

    def handle_data(self, data: str) -> None:
        for element in self._open:
            element.words.append(data)

    def all(self, tag: str) -> list[Element]:
        """Elements of a tag."""
        return [e for e in self.elements if e.tag == tag]


@dataclass(frozen=True)
class Written:
    """A page that was written: where, its text, its elements, what it was made with, and the exit code."""

    path: Path
    text: str
    reader: Reader
    wing: Path
    code: int


def _write(folder: Path, text: str) -> Written:
    wing, path = folder / "wing.toml", folder / "wing.html"
    wing.write_text(text, encoding="utf-8")
    code = main(["report", str(wing), "--out", str(path), "--mesh", "1", "--quiet"])
    page = path.read_text(encoding="utf-8")
    return Written(path, page, Reader(page), wing, code)


@pytest.fixture(scope="session")
def can_draw() -> bool:
    """Whether scenes can be drawn here."""
    try:
        with drawing_surface(off_screen=True):
            return True
    except NoRenderer:
        return False


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """The page of the wing whose names are markup."""
    return _write(tmp_path_factory.mktemp("wing"), WING.replace("LOAD", "3"))


@pytest.fixture(scope="session")
def specimen_page(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """The page of a specimen."""
    return _write(tmp_path_factory.mktemp("specimen"), SPECIMEN)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A browser for the tests of a file: it is dear to start."""
    sync = pytest.importorskip("playwright.sync_api")
    if CHROMIUM is None:
        pytest.skip("there is no chromium here")
    with sync.sync_playwright() as player:
        started = player.chromium.launch(executable_path=CHROMIUM, headless=True, args=list(OPTIONS))
        yield started
        started.close()


@pytest.fixture
def browse(browser: Any) -> Callable[..., Any]:
    """Open a page in a browser without network and with a new empty profile; no browser, no test.

    Gives the browser's page, the addresses that it asked for, and the errors of its scripts.
    """

    @contextmanager
    def opened(path: Path, **settings: Any) -> Iterator[tuple[Any, list[str], list[str]]]:
        context = browser.new_context(offline=True, **settings)
        try:
            shown = context.new_page()
            asked: list[str] = []
            errors: list[str] = []
            context.on("request", lambda request: asked.append(request.url))
            shown.on("pageerror", lambda error: errors.append(str(error)))
            shown.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
            shown.on("dialog", lambda dialog: (errors.append(dialog.message), dialog.dismiss()))
            shown.goto(path.as_uri())
            yield shown, asked, errors
        finally:
            context.close()

    return opened
