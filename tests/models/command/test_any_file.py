"""Any file whatever: an answer, or a fault of the file in words; never a fault of ours, never a warning.

Files are made from small wings and specimens by changing, adding and dropping keys as the schema has them,
and from their text by slips of the hand. A hundred or two run every time, the same ones; SPARBAY_FUZZ=20000
runs so many, other ones each time, the shipped wings among them and those of the folder
SPARBAY_FUZZ_FOLDER, and `-s` shows a table of what became of them. With SPARBAY_FUZZ_KEEP=FOLDER a run does
not stop at a file that fails: it goes on, and keeps such files there, and all that was said of the others.
"""

import contextlib
import copy
import io
import os
import re
import shutil
import time
import tomllib
import warnings
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import models.wings
from models.command.boundary import main
from models.wing.faults import MOST_LINES
from models.wing.schema import SpecimenFile, WingFile
from models.wing.tables import keys

WINGS = Path(models.wings.__file__).parent
ASKED = int(os.environ.get("SPARBAY_FUZZ", "0"))
NORMAL = 60
"""Files of each kind in the normal run."""

SMALL = """
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 2412" },
    { y = "300 mm", chord = "150 mm", leading_edge = "20 mm", dihedral = "2 deg", washout = "1 deg" },
]
[ribs]
count = 4
thickness = "2 mm"
exceptions = [{ ribs = "1-2", thickness = "3 mm" }]
[[spars]]
name = "main"
at = "30 %"
caps = { width = "8 mm", height = "4 mm", steps = [{ from = "200 mm", width = "6 mm" }] }
[[spars.webs]]
bays = "1-2"
face = "rear"
thickness = "1.5 mm"
[[spars]]
name = "rear"
at = "65 %"
caps = { width = "5 mm", height = "3 mm" }
webs = [{ bays = [1, "2-3"], face = "front", thickness = "1 mm" }]
[[sheeting]]
from = "leading edge"
to = "main"
thickness = "1 mm"
[leading_edge]
width = "8 mm"
height = "8 mm"
[trailing_edge]
width = "20 mm"
height = "4 mm"
[[braces]]
spar = "main"
face = "front"
to = "100 mm"
thickness = "2 mm"
[[rails]]
name = "bearer"
y = "20 mm"
x_front = "-40 mm"
x_rear = "62 mm"
z = "3 mm"
width = "8 mm"
height = "8 mm"
ties = ["main"]
tie_thickness = "2 mm"
[[masses]]
name = "engine"
mass = "200 g"
x = "-30 mm"
carried_by = "rails"
[case]
load_factor = 4
mass = "1.2 kg"
"""
PLAIN = """
[planform]
stations = [{ y = "0 mm", chord = "180 mm", section = "NACA 0012" }, { y = "250 mm", chord = "180 mm" }]
[ribs]
stations = ["0 mm", "80 mm", "160 mm", "250 mm"]
thickness = "1/16 in"
[[spars]]
name = "main"
x = "54 mm"
caps = { width = "1/4 in", height = "3 mm" }
webs = [{ bays = "all", face = "between", thickness = "2 mm" }]
[covering]
mass_per_area = "28 g/m2"
[case]
speed = "70 km/h"
radius = "15 m"
"""
BOX = (WINGS / "spar-box.toml").read_text(encoding="utf-8")
TEXTS = (SMALL, PLAIN, BOX, (WINGS / "box-two-spars.toml").read_text(encoding="utf-8"))
FOLDER = os.environ.get("SPARBAY_FUZZ_FOLDER")
KEEP = os.environ.get("SPARBAY_FUZZ_KEEP")
if KEEP:
    Path(KEEP).mkdir(parents=True, exist_ok=True)
LARGE = tuple(
    path.read_text(encoding="utf-8")
    for path in (
        *(WINGS / f"{name}.toml" for name in ("trainer", "powered-tailless", "sailplane")),
        *(sorted(Path(FOLDER).glob("*.toml")) if FOLDER else ()),
    )
)
"""Whole wings, whose answers take seconds: changed only on request."""

LENGTHS = ("0.01", "0.4", "1", "1.5", "2", "3", "5", "8", "12", "20", "40", "70", "150", "300", "1000", "1e5")
UNITS = {
    "length": ("mm", "mm", "mm", "in", "cm", "m", "ft"), "mass": ("g", "kg", "oz"), "angle": ("deg", "rad"),
    "density": ("kg/m3", "lb/ft3"), "force": ("N", "lbf"), "torque": ("N m", "in lbf"), "stress": ("MPa",),
    "torque per angle": ("N m/rad", "N mm/deg"),
    "speed": ("m/s", "km/h"), "rate of turn": ("rpm",), "power": ("W",), "fraction": ("%",),
    "mass per area": ("g/m2",), "force per length": ("N/m",), "moment of inertia": ("kg m2", "g cm2"),
}  # fmt: skip
ODD = st.one_of(
    st.sampled_from(
        ["", "nan mm", "1e308 m", "-3 mm", "0 mm", "all", "1-3", "0", "99", "main", "rear", "front",
         "spruce", "balsa, 90 kg/m3", "birch ply", "carbon", "leading edge", "30 %", "NACA 4418", "=1+1",
         "\x1b[2J", "\u202e", "3", "mm", "1/0 in", "1 1/2 in", "schrenk", "surface", True, False, 0, 1, -1,
         7, 10**30, 0.5, -0.0, 1e308, float("inf"), float("nan"), [],
         {}, [[]], [1, 2], ["1 mm"], ["5 mm", "3 mm"], {"y": "1 mm"}]
    ),
    st.text(max_size=8), st.integers(-5, 40), st.floats(-1e3, 1e3),
)  # fmt: skip


def quantity(kind):
    number = st.sampled_from(LENGTHS) | st.floats(-50, 500).map(lambda v: f"{v:.3g}")
    return st.tuples(number, st.sampled_from(UNITS[kind])).map(" ".join)


def value_of(kind):
    """Values of a key as the schema words its kind: mostly what is asked for."""
    if kind in UNITS:
        return quantity(kind)
    if kind.startswith("one of"):
        return st.sampled_from([word.strip('" ') for word in kind.removeprefix("one of").split(",")])
    if "number" in kind:
        return st.integers(0, 12) | st.floats(0, 20)
    if "true" in kind:
        return st.booleans()
    for name in UNITS:
        if name in kind:
            return st.lists(quantity(name), min_size=2, max_size=2) | quantity(name)
    if "bays" in kind or "all" in kind:
        return st.sampled_from(["all", "1", "1-2", "2-3", "0", [1, 3]])
    if "share" in kind:
        return st.sampled_from([0.5, 0.95, 0.0, 1.0])
    if "grain" in kind or "upright" in kind or "span" in kind:
        return st.sampled_from(["upright", "span", "chord", "45 deg", "0 deg", "90 deg", "7 deg"])
    if "wood" in kind:
        return st.sampled_from(
            ["balsa", "spruce", "birch ply", "carbon", "beech", "balsa, 60 kg/m3", "steel wire"]
        )
    return st.sampled_from(["main", "rear", "leading edge", "trailing edge", "engine", "50 %", "x"])


KEYS = {model: [(key.path, value_of(key.kind)) for key in keys(model)] for model in (WingFile, SpecimenFile)}


TWISTS = ("type", "extreme", "unit", "list", "name")
CHANGES = ("near", "near", "near", "size", "size", "key", "key", "odd", "drop", "twice", "swap", *TWISTS)


def spots(value, path=()):
    """Where something stands in a file, as keys and list positions."""
    if path:
        yield path
    for key, item in (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    ):
        yield from spots(item, (*path, key))


def put(raw, path, value):
    """Put a value at a path of the schema, "spars[].webs[].bays", making what is missing on the way."""
    here = raw
    *way, last = path.split(".")
    for step in way:
        name = step.removesuffix("[]")
        below = here.get(name) if isinstance(here, dict) else None
        if step.endswith("[]"):
            if not isinstance(below, list) or not below or not isinstance(below[0], dict):
                below = here[name] = [{}]
            here = below[-1]
        else:
            if not isinstance(below, dict):
                below = here[name.replace("NAME", "main")] = {}
            here = below
    here[last.removesuffix("[]")] = value


EXTREMES = (
    "0", "-1", "1e-300", "1e300", "1e-30", "1e30", "nan", "inf", "-inf", "1e400", "0.0000001", "1_000",
    "1,5", "1.5.2", "--3", "+4", "0x10", " ", "1/3", "3 1/2", "\u0663", "\u221e", "\u00bd",
)  # fmt: skip
"""Numbers as written that stand in a quantity for its own."""
NAMES = (
    "", " ", "a" * 60, "a" * 5000, "\u0416\u6f22\u5b57", "a\u0301\U0001f6e9", "a,b;c", "a/b\\c", "../x",
    "main", "rear", "leading edge", "{x}", "%s", "<b>&amp;", "'\"`", "tab\there", "two\nlines", "\x7f",
    "spars[0]", "1-2", "None",
)  # fmt: skip
"""Names, and what else may stand where words do."""


def twisted(what, here, last, draw):
    """Change one value of a file's data to something of another shape, size or order."""
    value = here[last]
    if what == "type":
        others = [
            [value], [value, value], {"value": value}, {"mm": value}, [[value]], str(value), f" {value} ",
            True, 3, 2.5, [], {},
        ]  # fmt: skip
        if isinstance(value, str) and (number := re.match(r"-?\d+(\.\d+)?", value)):
            others += [
                float(number[0]),
                number[0],
                value.replace(" ", ""),
                value.upper(),
                value.replace(".", ","),
            ]
        if isinstance(value, list) and value:
            others += [value[0], dict.fromkeys("ab", value[0]), {str(k): v for k, v in enumerate(value)}]
        if isinstance(value, dict):
            others += [list(value.values()), list(value), next(iter(value.values()), 1)]
        here[last] = copy.deepcopy(draw(st.sampled_from(others)))
    elif what == "extreme":
        if isinstance(value, str) and value[:1].isdigit():
            here[last] = f"{draw(st.sampled_from(EXTREMES))} {value.rpartition(' ')[2]}"
        elif isinstance(value, int | float):
            here[last] = draw(
                st.sampled_from([0, -1, 1e-300, 1e300, float("nan"), float("inf"), 10**400, -0.0])
            )
    elif what == "unit":
        if isinstance(value, str) and value[:1].isdigit():
            units = [unit for units in UNITS.values() for unit in units]
            unit = draw(st.sampled_from([*units, "", "mm mm", "MM", "feet", '"', "stone", "mm2", "deg C"]))
            here[last] = f"{value.rpartition(' ')[0]} {unit}"
    elif what == "list":
        if isinstance(value, list):
            here[last] = draw(
                st.sampled_from([[], value * 2, value[::-1], value[:-1], value[1:], value * 30])
            )
    elif what == "name":
        if isinstance(value, str) and not value[:1].isdigit():
            here[last] = draw(st.sampled_from(NAMES))
        elif isinstance(here, dict):
            here[draw(st.sampled_from([*NAMES, str(last).upper(), f"{last}s", f" {last}"]))] = here.pop(last)


@st.composite
def files(draw, texts=(PLAIN, BOX, *TEXTS)):
    """A file's data after one to four changes."""
    raw = tomllib.loads(draw(st.sampled_from(texts)))
    model = SpecimenFile if "specimen" in raw else WingFile
    for _ in range(draw(st.integers(1, 4))):
        what = draw(st.sampled_from(CHANGES))
        try:
            if what == "key":
                path, values = draw(st.sampled_from(KEYS[model]))
                put(raw, path, draw(values))
                continue
            places = list(spots(raw))
            place = draw(st.sampled_from(places))
            here = raw
            for step in place[:-1]:
                here = here[step]
            if what in TWISTS:
                twisted(what, here, place[-1], draw)
            elif what == "swap":
                *way, last = draw(st.sampled_from(places))
                there = raw
                for step in way:
                    there = there[step]
                values = copy.deepcopy((here[place[-1]], there[last]))
                there[last], here[place[-1]] = values
            elif what == "drop":
                del here[place[-1]]
            elif what == "odd":
                here[place[-1]] = draw(ODD)
            elif what == "twice" and isinstance(here, list):
                here.append(copy.deepcopy(here[place[-1]]))
            elif what == "near" and isinstance(here[place[-1]], int | float):
                if abs(here[place[-1]]) > 1e300:  # an integer of so many digits is no float
                    continue
                here[place[-1]] *= draw(st.sampled_from([0.3, 0.8, 1.2, 3, 20]))
            elif isinstance(here[place[-1]], str) and here[place[-1]][:1].isdigit():
                number, _, unit = here[place[-1]].rpartition(" ")
                if what == "near" and number.replace(".", "", 1).isdigit():
                    factor = draw(
                        st.sampled_from([0.0, 0.1, 0.3, 0.5, 0.8, 0.99, 1.01, 1.2, 1.5, 2.0, 3.0, 10.0])
                    )
                    here[place[-1]] = f"{float(number) * factor:.6g} {unit}"
                    continue
                kind = next((k for k, units in UNITS.items() if unit in units), "length")
                here[place[-1]] = draw(quantity(kind))
        except (KeyError, IndexError, TypeError, AttributeError):
            continue
    return written(raw)


def written(value, top=True):
    """Data as TOML."""
    if isinstance(value, dict):
        pairs = [f"{written(key, False)} = {written(item, False)}" for key, item in value.items()]
        return "\n".join(pairs) if top else "{" + ", ".join(pairs) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(written(item, False) for item in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        letters = (
            c if c.isprintable() and c not in '"\\' else f"\\u{min(ord(c), 0xD7FF):04x}" for c in value
        )
        return '"' + "".join(letters) + '"'
    return str(value)


@st.composite
def slips(draw, texts=TEXTS):
    """The text of a file after slips of the hand."""
    text = draw(st.sampled_from(texts))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(text)))
        what = draw(st.sampled_from(["drop", "letter", "line", "cut", "swap"]))
        if what == "drop":
            text = text[:at] + text[at + draw(st.integers(1, 3)) :]
        elif what == "letter":
            letters = st.characters(exclude_categories=["Cs"]) | st.sampled_from('0123456789."[]{}=,\n#-')
            text = text[:at] + draw(letters) + text[at:]
        elif what == "cut" and draw(st.integers(0, 5)) == 0:
            text = text[:at]
        else:
            lines = text.splitlines()
            if len(lines) > 2:
                i = draw(st.integers(0, len(lines) - 1))
                if what == "line":
                    lines.insert(draw(st.integers(0, len(lines))), lines[i])
                elif draw(st.booleans()):
                    del lines[i]
                else:
                    j = draw(st.integers(0, len(lines) - 1))
                    lines[i], lines[j] = lines[j], lines[i]
                text = "\n".join(lines) + "\n"
    return text


CHECK = "any.toml", ("check", "any.toml")


def checked(text, folder, file="any.toml", words=CHECK[1]):
    """Exit code, output and errors of a command, `words`, that reads a text in a file."""
    (folder / file).write_text(text, encoding="utf-8", newline="")
    words = [str(folder / word) if "." in word else word for word in words]
    out, err = io.StringIO(), io.StringIO()
    with (
        warnings.catch_warnings(record=True) as said,
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        warnings.simplefilter("always")
        code = int(main([*words, "--mesh", "1"]))
    assert not said, f"{said[0].category.__name__}: {said[0].message} ({said[0].filename}:{said[0].lineno})"
    return code, out.getvalue(), err.getvalue()


@dataclass
class Fate:
    """What became of the files of a kind."""

    codes: Counter = field(default_factory=Counter)
    slowest: float = 0.0
    """By processor time, s: the machine may be busy."""
    most: int = 0
    """Memory, kB; 0 where the system does not tell."""
    failed: int = 0
    again: int = 0
    """Files with the same data as one that was answered: their answer is not asked for once more."""


FATES = defaultdict(Fate)
"""By kind of file."""
ANSWERED = set()
"""Data of the files that were answered."""


def peak(fresh=False):
    """Most memory that this process had since the last fresh beginning, kB."""
    try:
        if fresh:
            Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
            return 0
        return int(re.search(r"VmHWM:\s*(\d+)", Path("/proc/self/status").read_text(encoding="ascii"))[1])
    except OSError:
        return 0


def held(text, folder, kind="one", asked=CHECK):
    """Try one file; where such as fail are kept, go on."""
    if not KEEP:
        tried(text, folder, kind, asked)
        return
    try:
        tried(text, folder, kind, asked)
    except Exception as fault:
        FATES[kind].failed += 1
        place = Path(KEEP) / f"{kind.replace(' ', '-')}-{FATES[kind].failed}"
        place.with_suffix(".toml").write_text(text, encoding="utf-8")
        place.with_suffix(".txt").write_text(str(fault), encoding="utf-8")
    if sum(fate.codes.total() for fate in FATES.values()) % 500 == 0:
        table()


def tried(text, folder, kind, asked):
    peak(fresh=True)
    start = time.process_time()
    fate = FATES[kind]
    data = text
    with contextlib.suppress(ValueError, RecursionError):
        data = repr(tomllib.loads(text))
    if data in ANSWERED:  # a slip in a comment
        fate.again += 1
        return
    code, out, err = checked(text, folder, *asked)
    fate.codes[code] += 1
    fate.slowest = max(fate.slowest, time.process_time() - start)
    fate.most = max(fate.most, peak())
    if KEEP and code == 2:
        with (Path(KEEP) / "told.txt").open("a", encoding="utf-8") as told:
            told.write(err)
    assert code in (0, 1, 2), err
    assert "Traceback" not in out + err
    if code == 2:
        assert out == ""
        assert 1 <= len(err.splitlines()) <= MOST_LINES, err
        assert all("any." in line for line in err.splitlines()), err
    else:
        ANSWERED.add(data)
        assert err == ""
        assert " nan" not in out.replace(" nan mm", "")  # a name that is tried
        assert " inf " not in out
    assert "\x1b" not in out + err
    assert "\u202e" not in out + err


def manner(n, share):
    return settings(
        max_examples=round(ASKED * share) or n, derandomize=not ASKED, deadline=None, database=None,
        suppress_health_check=list(HealthCheck), print_blob=False, report_multiple_bugs=False,
    )  # fmt: skip


def table():
    """Print what became of each kind of file."""
    for kind, fate in FATES.items():
        codes = ", ".join(f"{n} times {code}" for code, n in sorted(fate.codes.items()))
        print(
            f"\n{kind}: {fate.codes.total()} files, {codes}; {fate.again} again; {fate.failed} failed; "
            f"slowest {fate.slowest:.1f} s, most {fate.most / 1000:.0f} MB",
            flush=True,
        )


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    yield tmp_path_factory.mktemp("any")
    table()
    assert not any(fate.failed for fate in FATES.values()), f"see {KEEP}"


@manner(NORMAL, 0.5)
@given(text=files())
def test_any_data(folder, text):
    held(text, folder, "data of small wings")


@manner(NORMAL, 0.4)
@given(text=slips())
def test_any_slip(folder, text):
    held(text, folder, "text of small wings")


@pytest.mark.skipif(not ASKED, reason="whole wings: with SPARBAY_FUZZ")
@manner(1, 0.05)
@given(text=files(LARGE))
def test_any_data_of_whole_wings(folder, text):
    held(text, folder, "data of whole wings")


@pytest.mark.skipif(not ASKED, reason="whole wings: with SPARBAY_FUZZ")
@manner(1, 0.05)
@given(text=slips(LARGE))
def test_any_slip_in_whole_wings(folder, text):
    held(text, folder, "text of whole wings")


SECTION = "A section\n" + "".join(
    f"{x:.5f} {y:.5f}\n"
    for x, y in [
        (1, 0.001), (0.9, 0.018), (0.7, 0.045), (0.5, 0.065), (0.3, 0.075), (0.15, 0.064), (0.05, 0.042),
        (0.0125, 0.022), (0, 0), (0.0125, -0.016), (0.05, -0.028), (0.15, -0.039), (0.3, -0.041),
        (0.5, -0.034), (0.7, -0.022), (0.9, -0.007), (1, -0.001),
    ]
)  # fmt: skip


@manner(NORMAL, 0.1)
@given(text=slips((SECTION, SECTION.replace(" ", ","), SECTION.replace("\n", "\r\n"))))
def test_any_section(folder, text):
    wing = folder / "wing.toml"
    if not wing.exists():
        wing.write_text(PLAIN.replace("NACA 0012", "any.dat"), encoding="utf-8")
    held(text, folder, "sections", ("any.dat", ("check", "wing.toml")))


@pytest.fixture(scope="module")
def readings(folder):
    """Readings of a wing as its bench test would give them, beside its file."""
    (folder / "bent.toml").write_text(PLAIN, encoding="utf-8")
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        main(["bench", str(folder / "bent.toml"), "--folder", str(folder / "plan"), "--mesh", "1"])
    shutil.copy(folder / "plan" / "bags.csv", folder)
    text = (folder / "plan" / "readings.csv").read_text(encoding="utf-8")
    rows = text.splitlines()
    return "\n".join(f"{row[:-1]}5," if row.endswith(",,") else row for row in rows) + "\n"


@manner(NORMAL // 3, 0.1)
@given(data=st.data())
def test_any_readings(folder, readings, data):
    held(data.draw(slips((readings,))), folder, "readings", ("any.csv", ("measured", "bent.toml", "any.csv")))


@pytest.mark.parametrize("text", TEXTS)
def test_the_files_of_this_test_are_answered(folder, text):
    assert checked(text, folder)[0] in (0, 1)


@pytest.mark.parametrize("front", ["leading edge", "main front"])
def test_sheeting_that_ends_on_a_web_ahead_of_another_spar(folder, front):
    sheet = f'from = "{front}"\nto = "main rear"'
    held(SMALL.replace('from = "leading edge"\nto = "main"', sheet), folder)


def test_bags_for_a_wing_that_bears_little(folder):
    path = folder / "any.toml"
    path.write_text(PLAIN, encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = int(main(["bench", str(path), "--mesh", "1"]))
    assert code in (0, 1), err.getvalue()
