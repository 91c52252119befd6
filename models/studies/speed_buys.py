"""What webs, masses, covering and fuel do to each speed that limits a wing, and what a gram of webs buys.

Every row is a wing of its own, condensed and tried as `models.studies.speed` does; each speed is the lower of
strips and lattice. Layouts of webs are held against the wing without any; one face's webs against the wing
that lacks them; what else is tried against the wing as drawn.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from models import units_out as say
from models.studies.envelope import loaded, loadings_of
from models.studies.layouts import apply, as_drawn, bays_of, standard
from models.studies.speed import LAST, Speeds, condense, masses_forward, speeds
from models.wing.faults import WingFileError
from models.wing.flush import takes_webs
from models.wing.parts import Layout, Wing
from models.wing.reading import read_text
from models.woods import films

FILM = "polyester film"
"""Of the list of films, tried where the file's covering has mass and no stiffness."""


@dataclass(frozen=True)
class Reach:
    """Speeds up to which a wing flies, m/s; infinite where nothing happens up to the last speed tried. It
    beats by flutter, twists off held at the middle, and has no grip beyond reversal in roll (NaN without
    ailerons or elevons)."""

    beats: float
    twists_off: float
    no_grip: float

    @classmethod
    def of(cls, found: Speeds) -> Reach:
        """Of strips and lattice, the lower."""
        beats = [one.speed for one in found.beating]
        off, grip = [found.twist_off], [np.nan if found.reversal is None else found.reversal]
        if found.lattice is not None:
            beats += [speed for _, speed, _ in found.lattice.beating]
            off.append(found.lattice.twist_off)
            grip.append(found.lattice.reversal)
        return cls(min(beats, default=np.inf), min(off), float(np.min(grip)))

    @property
    def each(self) -> tuple[float, float, float]:
        """In that order."""
        return self.beats, self.twists_off, self.no_grip


@dataclass(frozen=True, eq=False)
class Bought:
    """One wing. Its webs weigh `grams` kg more than those of what it is held against, whose speeds are
    `against`; None of that itself."""

    name: str
    grams: float
    reach: Reach
    against: Reach | None

    @property
    def per_gram(self) -> tuple[float, float, float]:
        """What a kilogram of its webs buys of each speed, m/s; NaN where it adds none, or beyond the last."""
        if self.against is None or abs(self.grams) < 1e-9:
            return np.nan, np.nan, np.nan
        gained = [a - b for a, b in zip(self.reach.each, self.against.each, strict=True)]
        ends = [max(a, b) for a, b in zip(self.reach.each, self.against.each, strict=True)]
        one, two, three = (
            float(g / self.grams) if end <= LAST else np.nan for g, end in zip(gained, ends, strict=True)
        )
        return one, two, three


def buys(
    wing: Wing, text: str = "", *, per_bay: int = 4, progress: Callable[[str], None] | None = None
) -> list[Bought]:
    """Try every layout and every other change of a flying wing: layouts first, the one without webs leading.

    Parameters
    ----------
    wing : Wing
        A flying wing.
    text : str
        Of its file, by which its covering is tried as film; "" leaves that out.
    per_bay : int
        Elements along each bay.
    progress : callable or None
        Told the name of each before it is tried.
    """
    known: dict[str, tuple[Reach, float]] = {}

    def tried(name: str, changed: Wing) -> tuple[Reach, float]:
        if name not in known:
            if progress is not None:
                progress(name)
            reduced = condense(changed, per_bay=per_bay)
            known[name] = Reach.of(speeds(reduced, follow=False)), reduced.web_mass
        return known[name]

    found: list[Bought] = []
    layouts = {one.name: one for one in standard(wing)}
    bare, none = tried("no webs", apply(wing, layouts["no webs"]))
    found.append(Bought("no webs", 0.0, bare, None))
    for name, layout in layouts.items():
        if name != "no webs":
            reach, mass = tried(name, apply(wing, layout))
            found.append(Bought(name, mass - none, reach, bare))
    drawn, webs = tried("as drawn", wing)
    for name, without in _without(wing):
        less, mass = tried(name, apply(wing, without))
        found.append(Bought(name, webs - mass, drawn, less))
    for name, changed in _changes(wing, text):
        reach, mass = tried(name, changed)
        found.append(Bought(name, mass - webs, reach, drawn))
    return found


def _without(wing: Wing) -> list[tuple[str, Layout]]:
    """The webs of each face of each spar, and the layout that lacks them."""
    drawn = as_drawn(wing)
    faces = dict.fromkeys((spar.name, web.face) for spar in wing.spars for web in spar.webs)
    if len(faces) < 2:  # the wing without webs says it
        return []
    out = []
    for name, face in faces:
        left = {key: tuple(f for f in on if (key[0], f) != (name, face)) for key, on in drawn.webs.items()}
        out.append((f"{face} webs, {name} spar", replace(drawn, webs={k: v for k, v in left.items() if v})))
    return out


def _changes(wing: Wing, text: str) -> list[tuple[str, Wing]]:
    """What else may be changed."""
    out: list[tuple[str, Wing]] = []
    drawn = as_drawn(wing)
    longer = dict(drawn.webs)
    for spar in wing.spars:
        for side in dict.fromkeys(web.side for web in spar.webs):
            last = max(web.bay for web in spar.webs if web.side == side)
            on = drawn.webs[spar.name, side, last]
            for where, bay in bays_of(wing, spar):
                if where == side and bay > last and takes_webs(wing, spar, bay):
                    longer[spar.name, side, bay] = on
    if longer != drawn.webs:
        out.append(("webs on to the tip", apply(wing, replace(drawn, webs=longer))))
    out += masses_forward(wing)
    filmed = with_film(wing, text)
    if filmed is not None:
        out.append(("its covering as film", filmed))
    if any(one.stretch is not None for one in wing.coverings):
        torn = tuple(replace(one, stretch=None) for one in wing.coverings)
        out.append(("covering torn", replace(wing, coverings=torn)))
    out += [(one.name, loaded(wing, one)) for one in loadings_of(wing)[1:]]
    return out


def with_film(wing: Wing, text: str) -> Wing | None:
    """The wing with its covering as film of the list, as thick as the covering's own mass says.

    None where the file says no covering, or already one that has stiffness, or none that film may take the
    place of.
    """
    density = films.film(FILM).density
    mass = wing.covering_mass_per_area
    if not text or not mass or wing.coverings or density is None:
        return None
    keys = f'[covering]\nfilm = "{FILM}"\nthickness = "{say.length(mass / density):.6g}"\n'
    written, n = re.subn(r"^\[covering\][^\S\n]*\n", keys, text, count=1, flags=re.MULTILINE)
    if not n:
        return None
    try:
        return read_text(written)
    except WingFileError:
        return None
