"""Changes that may help what is short, as edits of a wing file's text that keep its comments.

Sizes step along what is on sale, in the unit in which the file has them. How far a part falls short says how
large a step is offered besides the smallest one; whether it helps is for the solution to say.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial, reduce
from itertools import chain
from operator import getitem
from typing import Any

from models import units_out as say
from models.strength import Margin, brace_joint, joiner
from models.studies.balance import balance
from models.studies.layouts import braced
from models.verdict import CaseVerdict, Verdict
from models.wing.intake import shown_all
from models.wing.parts import Spar, Wing
from models.wing.units import QuantityError, read_quantity
from models.wing.web_entries import Make, WebKey, file_makes, reached, with_webs
from models.wing.words import number_runs, spar_words

STICKS = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40)
SHEETS = (0.8, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10)
PLIES = (0.4, 0.6, 0.8, 1, 1.5, 2, 3, 4, 5, 6, 8, 10)
"""Sizes on sale, mm: common practice, no source."""
_SIXTEENTHS, _THIRTY_SECONDS, _SIXTY_FOURTHS = 1 / 16, 1 / 32, 1 / 64
_INCH = 25.4e-3
_GROUPS = 3
"""Kinds of part that are looked at in one round, those that fall short most."""
_MORE = (1.0, 1.1, 1.25, 1.5)
"""How much more than its load one wing of twenty must bear in a case: each more than asked where every case
alone has enough and all together do not."""
_PLY = re.compile(r"\bply\b")
_HIGH = {"height": "high", "width": "wide"}
Where = Sequence[tuple[str | int, ...]]
"""Tables of a file, each by the keys and numbers that lead to it."""


@dataclass(frozen=True)
class Remedy:
    """One change. Its words are as "main spar: rear web of 2 mm in bays 6-7", `edit` gives the text with it,
    `lesser` are the same with the sizes on sale between, the smallest first."""

    words: str
    edit: Callable[[str], str] = field(compare=False)
    lesser: tuple[Remedy, ...] = field(default=(), compare=False)


@dataclass
class _Short:
    """Parts of one kind and spar that fall short: by how much at the worst, where, and in which modes."""

    kind: str
    spar: str
    lack: float
    rows: list[Margin]

    @property
    def words(self) -> str:
        """The spar in words."""
        return spar_words(self.spar)

    @property
    def bays(self) -> set[int]:
        """Where it falls short."""
        return {row.bay for row in self.rows if row.bay is not None}


def remedies(text: str, wing: Wing, found: Verdict) -> list[Remedy]:
    """What may help a wing that is not fit. Of its file's text, and of the verdict on it: the parts that fall
    short most, each once."""
    raw = shown_all(tomllib.loads(text))
    out: dict[str, Remedy] = {}
    shorts = () if found.strong else next((some for more in _MORE if (some := _shorts(found, more))), ())
    for short in shorts[:_GROUPS]:
        for remedy in _OF[short.kind](raw, wing, short) if short.kind in _OF else ():
            out.setdefault(remedy.words, remedy)
    if found.tail_heavy:
        for remedy in _forward(raw, wing):
            out.setdefault(remedy.words, remedy)
    if found.twists_off is not None:
        webs = chain.from_iterable(second_webs(raw, wing, spar) for spar in wing.spars)
        for remedy in chain(webs, thicker_sheeting(raw)):
            out.setdefault(remedy.words, remedy)
    return list(out.values())


def _shorts(found: Verdict, more: float) -> list[_Short]:
    """What falls short in the cases in the air, the worst first: below the reserve in mean wood that leaves
    one wing of twenty so many times its load."""
    groups: dict[tuple[str, str], _Short] = {}
    for case in (found.pull_up, *found.others):
        for row in case.rows:
            lack = more * _needed(case) / max(row.reserve_factor, 1e-6)
            if lack <= 1:
                break
            key = (row.part.kind, row.part.spar)
            short = groups.setdefault(key, _Short(*key, lack, []))
            short.lack = max(short.lack, lack)
            short.rows.append(row)
    return sorted(groups.values(), key=lambda one: -one.lack)


def _needed(case: CaseVerdict) -> float:
    """Reserve factor in mean wood with which one wing of twenty would just bear its load."""
    if not case.fifth or not math.isfinite(case.fifth):
        return 1.0
    return case.mean / case.fifth


# ---- webs -------------------------------------------------------------------------------------------------


def _webs(raw: dict[str, Any], wing: Wing, short: _Short) -> Iterator[Remedy]:
    spar = next((s for s in wing.spars if s.name == short.spar), None)
    if spar is None:
        return
    makes, bays = _makes(raw, wing)[short.spar], short.bays
    here = {key: make for key, make in makes.items() if key[1] in bays}
    if not here:
        return
    where = f"{short.words}, {_bays(bays)}"

    def thick(size: str) -> Remedy:
        wanted = {key: replace(make, thickness=size) for key, make in here.items() if _less(make, size)}
        return _of_webs(wing, f"{where}: webs {size} thick", short.spar, wanted)

    thinnest = min((m.thickness for m in here.values()), key=_si)
    yield from _sized(thick, thinnest, _sheet(here), short.lack)
    plies = {
        key: replace(make, wood="birch ply", thickness=_thinner(make.thickness), grain="45 deg")
        for key, make in here.items()
        if not _PLY.search(make.wood)
    }
    ply = next(iter(plies.values())).thickness if plies else ""
    for words, wanted in (
        ("webs with their grain upright",
         {key: replace(make, grain="upright") for key, make in here.items() if make.grain == "span"}),
        ("webs with their grain at 45 deg",
         {key: replace(make, grain="45 deg") for key, make in here.items() if make.grain == "upright"}),
        ("webs of balsa hard",
         {key: replace(make, wood="balsa hard") for key, make in here.items() if _softer(make.wood)}),
        (f"webs of birch ply {ply}, face grain at 45 deg", plies),
    ):  # fmt: skip
        if wanted:
            yield _of_webs(wing, f"{where}: {words}", short.spar, wanted)
    yield from _second(wing, short.spar, bays, makes)
    # Where webs end, the load of the open bay beyond crowds into the last one.
    for bay in sorted({bay + 1 for bay in bays} & set(reached(wing, spar)) - {key[1] for key in makes}):
        faces = [(side, face) for side, before, face in makes if before == bay - 1]
        if faces:
            yield Remedy(
                f"{short.words}: webs on without a gap to bay {bay}",
                partial(_on_to, wing=wing, spar=short.spar, bay=bay, faces=faces),
            )


def _makes(raw: dict[str, Any], wing: Wing) -> dict[str, dict[WebKey, Make]]:
    """Webs of the file by spar."""
    return dict(zip((s.name for s in wing.spars), file_makes(raw, wing)))


def _on_to(text: str, wing: Wing, spar: str, bay: int, faces: Sequence[tuple[str, str]]) -> str:
    """Webs from the last bay that has them out to another, as there."""
    every = _makes(shown_all(tomllib.loads(text)), wing)
    own = every[spar] = dict(every[spar])
    for side, face in faces:
        last = max((b for s, b, f in own if (s, f) == (side, face) and b < bay), default=None)
        if last is not None:
            for open_bay in range(last + 1, bay + 1):
                own[side, open_bay, face] = own[side, last, face]
    return with_webs(text, wing, every)


def _second(wing: Wing, spar: str, bays: set[int], makes: dict[WebKey, Make]) -> Iterator[Remedy]:
    """A web on the other face, of the same make, where one face alone has one; on the rear where none has."""
    wanted: dict[WebKey, Make] = {}
    for bay in bays:
        for side in ("starboard",) if wing.clamped else ("starboard", "port"):
            have = [face for face in ("front", "rear", "between") if (side, bay, face) in makes]
            taken = braced(wing, spar, bay).union(have)
            free = [face for face in ("rear", "front") if face not in taken and "between" not in have]
            if len(have) < 2 and free:
                near = min(makes, key=lambda key: (abs(key[1] - bay), key), default=None)
                like = makes[side, bay, have[0]] if have else makes[near] if near else _plain_make()
                wanted[side, bay, free[0]] = like
    if wanted:
        faces = sorted({key[2] for key in wanted})
        what = f"a {' or '.join(faces)} web" if len(faces) > 1 else f"a {faces[0]} web"
        there = {key[1] for key in wanted}
        yield _of_webs(wing, f"{spar_words(spar)}, {_bays(there)}: {what} more", spar, wanted)


def second_webs(raw: dict[str, Any], wing: Wing, spar: Spar) -> Iterator[Remedy]:
    """A web more in every bay of a spar that has a face free, of its inner and of its outer half."""
    makes = _makes(raw, wing)[spar.name]
    every = sorted(reached(wing, spar))
    half = every[: (len(every) + 1) // 2], every[(len(every) + 1) // 2 :]
    for bays in (every, *half):
        yield from _second(wing, spar.name, set(bays), makes)


def _plain_make() -> Make:
    """A web where the file has none to be like."""
    return Make("1/16 in" if say.imperial() else "1.5 mm", "balsa medium", "upright", "aliphatic")


def _of_webs(wing: Wing, words: str, spar: str, wanted: dict[WebKey, Make]) -> Remedy:
    def edit(text: str) -> str:
        every = _makes(shown_all(tomllib.loads(text)), wing)
        every[spar] = every[spar] | wanted
        return with_webs(text, wing, every)

    return Remedy(words, edit)


def _less(make: Make, thickness: str) -> bool:
    return _si(make.thickness) < _si(thickness) - 1e-9


def _softer(wood: str) -> bool:
    return wood.split(",")[0] in ("balsa", "balsa light", "balsa medium", "balsa contest") and "," not in wood


def _thinner(thickness: str) -> str:
    """Ply in place of balsa: half as thick."""
    half = _si(thickness) / 2
    if _inches(thickness):
        return _fraction(max(round(half / _INCH / _SIXTY_FOURTHS), 1) * _SIXTY_FOURTHS)
    return f"{min(PLIES, key=lambda one: abs(one - 1e3 * half)):g} mm"


def _sheet(makes: dict[WebKey, Make]) -> tuple[float, ...]:
    return PLIES if any(_PLY.search(make.wood) for make in makes.values()) else SHEETS


# ---- caps -------------------------------------------------------------------------------------------------


def _caps(raw: dict[str, Any], wing: Wing, short: _Short) -> Iterator[Remedy]:
    table = next((k for k, s in enumerate(raw["spars"]) if s["name"] == short.spar), None)
    if table is None:
        return
    spar = raw["spars"][table]
    # Where no web is, a web takes over what bends the caps.
    makes = _makes(raw, wing)[short.spar]
    there = set(reached(wing, next(s for s in wing.spars if s.name == short.spar)))
    bare = {bay for bay in short.bays & there if not any(key[1] == bay for key in makes)}
    if bare:
        yield from _second(wing, short.spar, bare, makes)
    y = max(abs(row.y) for row in short.rows)
    keys = [key for key in ("caps", "upper_cap", "lower_cap") if key in spar]
    for what, words in _HIGH.items():
        first = spar[keys[0]][what]
        first = first[0] if isinstance(first, list) else first

        def at_root(size: str, what: str = what, words: str = words) -> Remedy:
            return Remedy(
                f"{short.words}: caps {size} {words} at the root",
                partial(edited, change=partial(_cap, spar=table, keys=keys, what=what, size=size)),
            )

        yield from _sized(at_root, first, STICKS, short.lack)
    for key in keys:
        for k, step in enumerate(spar[key].get("steps", ())):
            if _si(step["from"]) < y:
                for what in (one for one in _HIGH if one in step):
                    for size in _steps(step[what], STICKS, short.lack)[:1]:
                        words = f"{short.words}: caps {size} {_HIGH[what]} from {step['from']} on"
                        yield putting(words, [("spars", table, key, "steps", k)], **{what: size})
    woods = {str(spar[key].get("wood", "spruce")) for key in keys}
    if woods and all(_softer(wood) or wood == "balsa hard" for wood in woods):
        yield putting(f"{short.words}: caps of spruce", [("spars", table, k) for k in keys], wood="spruce")
    if len(keys) == 1 and not spar[keys[0]].get("facings"):
        end = _rib_beyond(wing, y)
        yield Remedy(
            f"{short.words}: carbon strips of {_carbon()} on the caps, out to {end}",
            partial(edited, change=partial(_facing, spar=table, key=keys[0], end=end)),
        )


def _cap(document: Any, spar: int, keys: Sequence[str], what: str, size: str) -> None:
    for key in keys:
        table = document["spars"][spar][key]
        old = table[what]
        if isinstance(old, list):
            old[0] = size
        else:
            table[what] = size


def _carbon() -> str:
    """The thinnest strip of carbon, as a file has it."""
    return "0.02 in" if say.imperial() else "0.5 mm"


def _facing(document: Any, spar: int, key: str, end: str) -> None:
    import tomlkit

    strip = tomlkit.inline_table()
    strip.update({"wood": "carbon", "thickness": _carbon(), "face": "inner", "to": end})
    row = tomlkit.array()
    row.append(strip)
    document["spars"][spar][key]["facings"] = row


# ---- joints, sheeting, ribs, edges, rails -----------------------------------------------------------------


def _braces(raw: dict[str, Any], wing: Wing, short: _Short) -> Iterator[Remedy]:
    mine = [k for k, b in enumerate(raw.get("braces", ())) if b["spar"] == short.spar]
    where = [("braces", k) for k in mine]
    for size in _steps(raw["braces"][mine[0]]["thickness"], PLIES, short.lack) if mine else ():
        yield putting(f"{short.words}: brace {size} thick", where, thickness=size)
    for size in _reaches(wing, raw["braces"][mine[0]]["to"], short.lack) if mine else ():
        yield putting(f"{short.words}: brace out to {size}", where, to=size)
    if any(row.mode in (brace_joint.MODE.name, brace_joint.MODE_GLUE.name) for row in short.rows):
        k = next(k for k, s in enumerate(raw["spars"]) if s["name"] == short.spar)
        words = f"{short.words}: caps scarfed at the centre, no steeper than 1 in 12"
        yield putting(words, [("spars", k)], joint="scarfed")


def _reaches(wing: Wing, reach: str, lack: float) -> list[str]:
    """The next rib beyond a reach, and the first that makes up for what is lacking; in its unit."""
    now = _si(reach)
    ribs = [float(y) for y in wing.bay_edges if y > now + 1e-6]
    far = [y for y in ribs if y >= now * lack]
    return [in_unit(y, reach) for y in dict.fromkeys(ribs[:1] + far[:1])]


def _joiners(raw: dict[str, Any], wing: Wing, short: _Short) -> Iterator[Remedy]:
    """Joiners of a spar: thicker, longer, bound; and ply beside their boxes."""
    mine = [k for k, j in enumerate(raw["joiners"]) if j["spar"] == short.spar]
    where, first = [("joiners", k) for k in mine], raw["joiners"][mine[0]]
    spar = short.words
    if short.kind == "joiner":
        for key in ("diameter", "height"):
            for size in _steps(first[key], STICKS, short.lack, power=3.0) if key in first else ():
                words = f"{spar}: joiner {size} {'thick' if key == 'diameter' else 'high'}"
                yield putting(words, where, **{key: size})
    for size in _reaches(wing, first["reach"], short.lack):
        yield putting(f"{spar}: joiner {size} to each side", where, reach=size)
    if short.kind != "joiner box":
        return
    if any(row.mode == joiner.MODE_BURST.name for row in short.rows):
        yield putting(f"{spar}: box of the joiner bound with thread", where, wrapped=True)
    at = [(j.at - j.reach, j.at + j.reach) for j in wing.joiners if j.spar == short.spar]
    inner = {bay: (wing.bay_edges[bay - wing.first_bay], wing.bay_edges[bay - wing.first_bay + 1])
             for bay in reached(wing, next(s for s in wing.spars if s.name == short.spar))}  # fmt: skip
    bays = {b for b, (one, two) in inner.items() if any(one < end and two > begin for begin, end in at)}
    make = Make("1/32 in" if say.imperial() else "1 mm", "birch ply", "45 deg", "epoxy")
    wanted = {(s, b, f): make for s in ("starboard", "port") for b in bays for f in ("front", "rear")}
    words = f"{spar}, {_bays(bays)}: webs of birch ply {make.thickness} on both faces"
    yield _of_webs(wing, words, short.spar, wanted)


def _sheeting(raw: dict[str, Any], wing: Wing, short: _Short) -> Iterator[Remedy]:
    for k, sheet in enumerate(raw.get("sheeting", ())):
        yield from _of_sheet(k, sheet, short.lack)


def _sheet_name(sheet: dict[str, Any]) -> str:
    return f"sheeting from {sheet.get('from', 'leading edge')} to {sheet.get('to', 'trailing edge')}"


def _of_sheet(k: int, sheet: dict[str, Any], lack: float) -> Iterator[Remedy]:
    """The next thickness and the next wood of an entry of the sheeting."""
    name, where = _sheet_name(sheet), [("sheeting", k)]
    for size in _steps(sheet["thickness"], SHEETS, lack)[:1]:
        yield putting(f"{name}: {size} thick", where, thickness=size)
    yield from _next_wood(f"{name}: ", where, sheet)


def _next_wood(words: str, where: Where, table: dict[str, Any]) -> Iterator[Remedy]:
    """The next wood of a table, where there is one; `words` come before its name."""
    wood = str(table.get("wood", "balsa medium"))
    if wood in _NEXT_WOOD:
        yield putting(words + _NEXT_WOOD[wood], where, wood=_NEXT_WOOD[wood])


_NEXT_WOOD = {
    "balsa contest": "balsa light",
    "balsa light": "balsa medium",
    "balsa": "balsa hard",
    "balsa medium": "balsa hard",
}


def thicker_sheeting(raw: dict[str, Any]) -> Iterator[Remedy]:
    """Sheeting of the next thickness and wood, and with its grain askew, which is stiffer in twist."""
    for k, sheet in enumerate(raw.get("sheeting", ())):
        yield from _of_sheet(k, sheet, 1.0)
        if str(sheet.get("grain", "span")) == "span":
            yield putting(f"{_sheet_name(sheet)}: grain at 45 deg", [("sheeting", k)], grain="45 deg")


def _ribs(raw: dict[str, Any], wing: Wing, short: _Short) -> Iterator[Remedy]:
    table = raw["ribs"]
    for size in _steps(table["thickness"], SHEETS, short.lack):
        yield putting(f"ribs {size} thick", [("ribs",)], thickness=size)
    for k, one in enumerate(table.get("exceptions", ())):
        for size in _steps(one["thickness"], SHEETS, short.lack)[:1] if "thickness" in one else ():
            yield putting(f"ribs {one['ribs']}: {size} thick", [("ribs", "exceptions", k)], thickness=size)
    yield from _next_wood("ribs of ", [("ribs",)], table)


def _edges(raw: dict[str, Any], wing: Wing, short: _Short) -> Iterator[Remedy]:
    for key in ("leading_edge", "trailing_edge"):
        if key in raw and any(
            row.part.place == key.split("_")[0] + " edge" or key.startswith(row.part.place)
            for row in short.rows
        ):
            for what in ("width", "height"):
                for size in _steps(raw[key][what], STICKS, short.lack)[:1]:
                    yield putting(f"{key.replace('_', ' ')} {size} {_HIGH[what]}", [(key,)], **{what: size})


def _rails(raw: dict[str, Any], wing: Wing, short: _Short) -> Iterator[Remedy]:
    where = [("rails", k) for k in range(len(raw.get("rails", ())))]
    if not where:
        return
    first = raw["rails"][0]
    ties = {"tie_thickness": "ties of the rails {} thick"}
    for what, words in (ties if short.kind == "rail tie" else _OF_RAILS).items():
        for size in _steps(first[what], PLIES if what in ties else STICKS, short.lack):
            yield putting(words.format(size), where, **{what: size})


_OF_RAILS = {"height": "rails {} high", "width": "rails {} wide"}
_OF: dict[str, Callable[[dict[str, Any], Wing, _Short], Iterator[Remedy]]] = {
    "web": _webs, "web strip": _webs, "cap": _caps, "brace": _braces, "sheeting": _sheeting, "rib": _ribs,
    "post": _ribs, "cap strip": _ribs, "edge": _edges, "rail": _rails, "rail tie": _rails,
    "joiner": _joiners, "joiner box": _joiners,
}  # fmt: skip


# ---- balance ----------------------------------------------------------------------------------------------


def _forward(raw: dict[str, Any], wing: Wing) -> Iterator[Remedy]:
    """Masses that are moved forward until the wing balances, or as far as there is room."""
    found = balance(wing)
    tables = raw.get("masses", ())
    assert wing.planform is not None, "a wing that flies has an outline"
    # The foremost thing of the aeroplane.
    nose = min([0.0, *(item.x for item in wing.masses), *(rail.x_front for rail in wing.rails)])
    for move in found.moves:
        mine = [k for k, table in enumerate(tables) if table["name"] == move.name]
        fixed = wing.engine is not None and wing.engine.name == move.name
        if len(mine) != 1 or fixed or not move.needed:
            continue
        item = next(one for one in wing.masses if one.name == move.name)
        first = nose if item.places is None else item.places[0]
        x = max(item.x - math.ceil(-1e3 * move.needed - 1e-6) / 1e3, first)
        if x > item.x - 0.5e-3:
            continue
        size = in_unit(round(x, 4), str(tables[mine[0]]["x"]))
        words = f"{move.name} {say.length(item.x - x):.0f} forward, to {size}"
        yield putting(words, [("masses", mine[0])], x=size)


# ---- text -------------------------------------------------------------------------------------------------


def edited(text: str, change: Callable[[Any], None]) -> str:
    """A TOML text with a change of its document; all else stays as it is spelt."""
    import tomlkit

    document = tomlkit.parse(text)
    change(document)
    out = tomlkit.dumps(document)
    return out.replace("\r\n", "\n").replace("\n", "\r\n") if "\r\n" in text else out


def putting(words: str, where: Where, **figures: str | bool) -> Remedy:
    """Keys of the tables at some places set."""

    def put(document: Any) -> None:
        for path in where:
            reduce(getitem, path, document).update(figures)

    return Remedy(words, partial(edited, change=put))


def _steps(text: str, sizes: Sequence[float], lack: float, power: float = 1.0) -> list[str]:
    """The next size on sale, and the one that makes up for what is lacking; in the unit of the text."""
    now = _si(text)
    enough = now * min(lack ** (1 / power), 3.0)
    if _inches(text):
        grid = _SIXTEENTHS if now > 0.2 * _INCH else _THIRTY_SECONDS
        step = math.floor(now / _INCH / grid + 1e-6) + 1
        found = [step * grid, max(math.ceil(enough / _INCH / grid - 1e-6), step) * grid]
        return list(dict.fromkeys(_fraction(one) for one in found))
    larger = [one for one in sizes if 1e-3 * one > now + 1e-9]
    if not larger:
        return []
    found = [larger[0], next((one for one in larger if 1e-3 * one >= enough - 1e-9), larger[-1])]
    return list(dict.fromkeys(in_unit(1e-3 * one, text) for one in found))


def _sized(make: Callable[[str], Remedy], text: str, sizes: Sequence[float], lack: float) -> Iterator[Remedy]:
    """A change to each of `_steps`, which knows the lesser ones."""
    for size in _steps(text, sizes, lack):
        below, one = [], text
        while (one := _steps(one, sizes, 1.0)[0]) != size and _si(one) < _si(size):
            below.append(make(one))
        yield replace(make(size), lesser=tuple(below))


def _si(text: str) -> float:
    return float(read_quantity(text, "length"))


def _inches(text: str) -> bool:
    return bool(re.search(r'(in|inch|inches|")\s*$', text.strip()))


def _fraction(inches: float) -> str:
    """As a ruler has it: "3/32 in"."""
    parts = round(inches * 64)
    whole, rest = divmod(parts, 64)
    below = math.gcd(rest, 64)
    words = f"{rest // below}/{64 // below}" if rest else ""
    return f"{whole} {words}".strip() + " in" if whole else f"{words} in"


def in_unit(length: float, text: str) -> str:
    """A length in the unit of another text, mm where that is not one of its own."""
    if _inches(text):
        return f"{length / _INCH:.6g} in"
    match = re.search(r"([a-z]+)\s*$", text.strip())
    unit = match[1] if match else "mm"
    try:
        factor = read_quantity(f"1 {unit}", "length")
    except QuantityError:
        unit, factor = "mm", 1e-3
    return f"{length / factor:.6g} {unit}"


def _rib_beyond(wing: Wing, y: float) -> str:
    """The first rib beyond a place, as a file has it."""
    beyond = [float(edge) for edge in wing.bay_edges if edge > y + 1e-3]
    end = beyond[0] if beyond else float(wing.bay_edges[-1])
    return f"{end / say.INCH:.6g} in" if say.imperial() else f"{1e3 * end:.6g} mm"


def _bays(bays: set[int]) -> str:
    """Bays in words: "bay 3", "bays 3-5 and 7"."""
    words = number_runs(bays)
    return ("bay " if len(bays) == 1 else "bays ") + (
        " and ".join(words[-2:]) if len(words) < 3 else ", ".join(words)
    )
