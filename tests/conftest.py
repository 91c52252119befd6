"""What every test needs: one thread for linear algebra, the tree itself for programs that tests start, small
specimens and wings made from text; and which tests are slow, by measured time. Tests marked `long` (what
others try, on a larger wing or another draw) run with SPARBAY_LONG=1.
"""

from __future__ import annotations

import os
import resource
import time
from collections.abc import Callable, Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

# Before numpy is imported for the first time: many small products on many threads only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import hypothesis
import pytest

from models.wing.reading import read_text

ROOT = Path(__file__).resolve().parents[1]
SLOW = Path(__file__).with_name("slow.txt")
"""Tests that take longer than `LIMIT`, each with its seconds; written by `pytest --measure-slow`."""
LIMIT = 0.1
"""Seconds of processor time, with those of programs that a test starts and of fixtures that it shares."""

LONG = os.environ.get("SPARBAY_LONG", "") not in ("", "0")
"""Whether tests marked `long` run too."""

# Programs that tests start find this tree as the tests do, in whatever folder they start.
os.environ["PYTHONPATH"] = os.pathsep.join(
    [str(ROOT), str(ROOT / "models" / "front"), *filter(None, [os.environ.get("PYTHONPATH")])]
)

# How long an example takes to draw and to run is that of the machine and of what else it does.
hypothesis.settings.register_profile(
    "no clock", deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow]
)
hypothesis.settings.load_profile("no clock")

REFERENCE_BALSA = """
[woods.reference-balsa]
like = "balsa"
density = "184 kg/m3"
E_L = "3740 MPa"
E_R = "172.04 MPa"
E_T = "56.1 MPa"
G_LR = "201.96 MPa"
G_LT = "138.38 MPa"
G_RT = "18.7 MPa"
nu_LR = 0.229
nu_LT = 0.488
nu_RT = 0.665
"""
"""The wood of the solid reference spars."""


def specimen(
    faces="both",
    *,
    length=360.0,
    depth=30.0,
    pitch=60.0,
    caps='{ width = "10 mm", height = "6 mm", wood = "reference-balsa" }',
    webs=None,
    web=1.6,
    bays='"all"',
    grain="upright",
    post=2.0,
    case='tip_force = "1 N"\ntip_torque = "1 N m"',
    extra="",
):
    """One spar clamped at its root; sizes in mm. `webs` replaces the table of webs made from the rest."""
    if webs is None:
        webs = (
            f'[[spars.webs]]\nbays = {bays}\nface = "{faces}"\nthickness = "{web} mm"\n'
            f'wood = "reference-balsa"\ngrain = "{grain}"\n'
            if faces
            else ""
        )
    deep = f'"{depth} mm"' if not isinstance(depth, tuple) else f'["{depth[0]} mm", "{depth[1]} mm"]'
    return read_text(
        f"""
[specimen]
length = "{length} mm"
depth = {deep}
[ribs]
pitch = "{pitch} mm"
thickness = "{post} mm"
wood = "reference-balsa"
[[spars]]
name = "spar"
caps = {caps}
{webs}
{extra}
[case]
{case}
{REFERENCE_BALSA}
"""
    )


def flying_wing(
    *,
    stations='{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "600 mm", chord = "140 mm" }',
    ribs='count = 7\nthickness = "2 mm"',
    spars='[[spars]]\nname = "main"\nat = "30 %"\n'
    'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
    '[[spars.webs]]\nbays = "all"\nface = "rear"\nthickness = "1.5 mm"\n',
    edges='[leading_edge]\nwidth = "8 mm"\nheight = "8 mm"\n'
    '[trailing_edge]\nwidth = "20 mm"\nheight = "5 mm"\n',
    case='load_factor = 5\nmass = "1.2 kg"\nmoment_coefficient = -0.05',
    head="",
    extra="",
):
    """A small wing in flight; every piece of its file may be replaced."""
    return read_text(
        f"{head}\n[planform]\nstations = [{stations}]\n[ribs]\n{ribs}\n{spars}\n{edges}\n{extra}\n"
        f"[case]\n{case}\n" + REFERENCE_BALSA
    )


def short_tailless() -> str:
    """Text of the powered tailless wing with 6 ribs a side instead of 15: all that it has, soon solved."""
    text = (files("models.wings") / "powered-tailless.toml").read_text(encoding="utf-8")
    ribs = text.index("[ribs]")
    first, last = text.index("stations = [", ribs), text.index("thickness", ribs)
    text = (
        text[:first]
        + 'stations = ["0 mm", "140 mm", "280 mm", "490 mm", "740 mm", "1000 mm"]\n'
        + text[last:]
    )
    changes = {
        'bays = "1-2"': 'bays = "1"', 'bays = "3-7"': 'bays = "2-3"', 'bays = "8-11"': 'bays = "4"',
        'bays = "3-10"': 'bays = "2-4"', 'bays = "3-14"': 'bays = "2-5"', 'ribs = "1-3"': 'ribs = "1-2"',
        'to = "210 mm"': 'to = "280 mm"',
    }  # fmt: skip
    for old, new in changes.items():
        assert old in text, old
        text = text.replace(old, new)
    return text


@pytest.fixture(scope="session")
def path_of(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """Path of a shipped wing's file by its name, and of `short-tailless`."""
    short = tmp_path_factory.mktemp("short") / "short-tailless.toml"
    short.write_text(short_tailless(), encoding="utf-8")

    def found(name: str) -> Path:
        return short if name == short.stem else Path(str(files("models.wings"))) / f"{name}.toml"

    return found


@pytest.fixture(scope="session")
def make_specimen():
    return specimen


@pytest.fixture(scope="session")
def make_wing():
    return flying_wing


# ---- which tests are slow ---------------------------------------------------------------------------------


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--measure-slow", action="store_true", help=f"renew {SLOW.name} for the tests that run")


def listed() -> dict[str, float]:
    """Seconds of every slow test by its name, from the folder of tests on."""
    rows = SLOW.read_text(encoding="utf-8").splitlines() if SLOW.exists() else []
    return {name: float(seconds) for seconds, _, name in (row.partition(" ") for row in rows)}


def name_of(item: pytest.Item) -> str:
    """A test's name from the folder of tests on, wherever pytest was started."""
    return item.path.relative_to(SLOW.parent).as_posix() + "::" + item.nodeid.partition("::")[2]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    slow = listed()
    for item in items:
        if item.get_closest_marker("long") and not LONG:
            item.add_marker(pytest.mark.skip(reason="runs with SPARBAY_LONG=1"))
        if item.path.is_relative_to(SLOW.parent) and name_of(item) in slow:
            item.add_marker(pytest.mark.slow)


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("--measure-slow"):
        config.pluginmanager.register(Stopwatch())


class Stopwatch:
    """Measures tests in processor time, so that a busy machine makes none of them slow."""

    def __init__(self) -> None:
        self.own: dict[str, float] = {}
        self.shared: dict[str, float] = {}
        self.within = 0.0

    @staticmethod
    def now() -> float:
        """Processor time of this process and of those that it waited for, s."""
        ended = resource.getrusage(resource.RUSAGE_CHILDREN)
        return time.process_time() + ended.ru_utime + ended.ru_stime

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        start, before = self.now(), self.within
        try:
            return (yield)
        finally:
            if fixturedef.scope != "function":  # every test that shares it may be the one to pay for it
                self.shared[fixturedef.argname] = self.now() - start
                self.within = before + self.now() - start

    def pytest_fixture_post_finalizer(self, fixturedef: Any) -> None:
        self.shared.pop(fixturedef.argname, None)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.within, start = 0.0, self.now()
        try:
            return (yield)
        finally:
            name = name_of(item)
            self.own[name] = self.own.get(name, 0.0) + self.now() - start - self.within

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        names: list[str] = getattr(item, "fixturenames", [])
        self.own[name_of(item)] = max((self.shared.get(name, 0.0) for name in names), default=0.0)
        return (yield)

    def pytest_sessionfinish(self) -> None:
        """Put what was measured in the place of what was known of these tests."""
        kept = {name: seconds for name, seconds in listed().items() if name not in self.own}
        kept |= {name: seconds for name, seconds in self.own.items() if seconds > LIMIT}
        SLOW.write_text("".join(f"{kept[name]:.1f} {name}\n" for name in sorted(kept)), encoding="utf-8")
