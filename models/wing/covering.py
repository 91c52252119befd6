"""The `[covering]` of a wing file: where it lies, and what it can bear."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from models import units_out as say
from models.wing.draft import BayRow, FileDraft, Location
from models.wing.faults import did_you_mean
from models.wing.parts import Covering, Line
from models.wing.schema import CoveringPiece, CoveringTable, WingFile
from models.woods import films

_EDGES = {"leading edge": "leading_edge", "trailing edge": "trailing_edge"}
_FIGURES = ("thickness", "E_across", "stretch_stiffness_across", "nu", "strength", "pretension")


def coverings(
    draft: FileDraft,
    file: WingFile,
    bays: BayRow,
    spar_ends: Mapping[str, float],
    line: Callable[[Location, str, frozenset[tuple[str, int]]], Line | None],
) -> tuple[float, tuple[Covering, ...]]:
    """Covering of a flying wing.

    Parameters
    ----------
    draft : FileDraft
        Where faults go.
    file : WingFile
        The file's shape.
    bays : BayRow
        The bays that there are.
    spar_ends : mapping of str to float
        The spars by name, and where they end, m.
    line : callable
        Line of the chord that a text at a location means, None where it is no line.

    Returns
    -------
    everywhere : float
        Mass per area of covering that lies on all of both surfaces, kg/m2; 0 where there is none, or pieces.
    found : tuple of Covering
        What has stiffness, and what lies on parts of the wing.
    """
    table = file.covering
    if table is None:
        return 0.0, ()
    entries: list[tuple[Location, CoveringPiece]] = [(("covering",), table)]
    entries += [(("covering", "pieces", i), piece) for i, piece in enumerate(table.pieces)]
    found: list[Covering] = []
    for location, piece in entries:
        found += _laid(draft, file, piece, location, bays, spar_ends, line)
    _once(draft, entries, found)
    if len(entries) == 1 and _everywhere(table):
        mass = found[0].mass_per_area if found else 0.0
        return mass, tuple(replace(one, mass_per_area=0.0) for one in found if one.stretch is not None)
    return 0.0, tuple(found)


def _everywhere(table: CoveringTable) -> bool:
    ends = (table.from_ or "leading edge", table.to or "trailing edge")
    whole = {table.surface or "both", table.side or "both"} == {"both"}
    return whole and ends == ("leading edge", "trailing edge") and not table.bays


def _laid(
    draft: FileDraft,
    file: WingFile,
    piece: CoveringPiece,
    location: Location,
    bays: BayRow,
    spar_ends: Mapping[str, float],
    line: Callable[[Location, str, frozenset[tuple[str, int]]], Line | None],
) -> list[Covering]:
    """One entry of the file, a record a surface."""
    where = bays.where(draft, location, piece.bays or (), piece.side or "both")
    made = _made(draft, piece, location)
    ends = []
    for key, text in (("from", piece.from_ or "leading edge"), ("to", piece.to or "trailing edge")):
        if text not in _EDGES and text not in spar_ends:
            known = [*_EDGES, *spar_ends]
            hint = did_you_mean(text, known) or f"; give {', '.join(known[:-1])} or {known[-1]}."
            draft.note((*location, key), f"is nothing to glue covering on{hint}", value=text)
            return []
        stick = _EDGES.get(text)
        if made is not None and made.stretch is not None and stick and getattr(file, stick) is None:
            draft.note(
                (*location, key),
                f"is the {text}, where no stick holds taut covering between the ribs; add [{stick}], or end "
                "it at a spar.",
                value=text,
            )
            return []
        ends.append(line((*location, key), text, where))
    if made is None or ends[0] is None or ends[1] is None:
        return []
    middle = (ends[0].y + ends[1].y) / 2
    if (ends[1].at(middle) <= ends[0].at(middle)).any():
        draft.note(
            (*location, "to"), "does not lie behind where it begins.", value=piece.to or "trailing edge"
        )
        return []
    surfaces = ("upper", "lower") if piece.surface in (None, "both") else (piece.surface,)
    return [replace(made, surface=s, x_from=ends[0], x_to=ends[1], bays=where) for s in surfaces]


def _made(draft: FileDraft, piece: CoveringPiece, location: Location) -> Covering | None:
    """What it is made of; where it lies is filled in later. None where a figure is at fault."""
    faults = len(draft.faults)
    nowhere = Line.constant(0.0)
    own = piece.E is not None or piece.stretch_stiffness is not None
    if piece.film is None and not own:
        for key in _FIGURES:
            if getattr(piece, key) is not None:
                draft.note(
                    (*location, key),
                    "is given to covering without stiffness; add film, E with thickness, or "
                    "stretch_stiffness.",
                )
        if piece.mass_per_area is None:
            draft.note((*location, "mass_per_area"), "is missing: it, or a film, says what the covering is.")
        if len(draft.faults) > faults:
            return None
        return Covering("", nowhere, nowhere, frozenset(), piece.mass_per_area or 0.0, "covering")
    known = films.names()
    if piece.film is not None and piece.film not in known:
        hint = did_you_mean(piece.film, known) or f"; known are {', '.join(known)}."
        draft.note((*location, "film"), f"is not a film that is known{hint}")
        return None
    film = films.film(piece.film) if piece.film is not None else None
    doubts: list[str] = []
    along, across = _stiffness(draft, piece, film, location, doubts)
    nu = piece.nu if piece.nu is not None else film.nu if film else None
    if nu is None:
        draft.note((*location, "nu"), "is missing: with figures of one's own Poisson's ratio is needed.")
    elif along and across and nu**2 * across / along >= 0.99:
        draft.note((*location, "nu"), "cannot be with these two stiffnesses; it must be less.")
    pretension = _pretension(draft, piece, film, location, doubts)
    mass = piece.mass_per_area
    if mass is None and film and film.density and piece.thickness:
        mass = film.density * piece.thickness
    if mass is None:
        draft.note((*location, "mass_per_area"), "is missing: this film has no mass of its own in the list.")
    strength = piece.strength if piece.strength is not None else film.strength if film else None
    if piece.strength is not None and piece.thickness is None:
        draft.note((*location, "strength"), "needs a thickness beside it.")
    if len(draft.faults) > faults or nu is None or mass is None or pretension is None:
        return None
    return Covering(
        "",
        nowhere,
        nowhere,
        frozenset(),
        mass,
        piece.film or "own film",
        films.stretch(along, across, nu),
        piece.grain or 0.0,
        pretension,
        strength * piece.thickness if strength is not None and piece.thickness is not None else None,
        film.stiffer if film is not None and piece.E is None and piece.stretch_stiffness is None else 1.0,
        tuple(doubts),
    )


def _stiffness(
    draft: FileDraft, piece: CoveringPiece, film: films.Film | None, location: Location, doubts: list[str]
) -> tuple[float, float]:
    """Stiffness per width along and across the grain, N/m; 0 where it is at fault."""
    if piece.stretch_stiffness is not None:
        for key in ("E", "E_across"):
            if getattr(piece, key) is not None:
                draft.note((*location, key), "stands beside stretch_stiffness; give one of the two.")
        ratio = 1.0 if film is None else film.across
        across = piece.stretch_stiffness_across or ratio * piece.stretch_stiffness
        return piece.stretch_stiffness, across
    if piece.stretch_stiffness_across is not None:
        draft.note((*location, "stretch_stiffness_across"), "needs stretch_stiffness beside it.")
        return 0.0, 0.0
    if piece.E is None and film is not None and film.stretch_stiffness is not None:
        if piece.E_across is not None:
            draft.note((*location, "E_across"), "needs E beside it.")
        doubts.append(
            f"its stiffness is the list's: {film.sources['stretch_stiffness']}; a stiffer one goes "
            "slack sooner"
        )
        return film.stretch_stiffness, film.across * film.stretch_stiffness
    modulus = piece.E if piece.E is not None else film.E if film else None
    if piece.thickness is None or modulus is None:
        draft.note((*location, "thickness"), "is missing: a film's stiffness is its E times its thickness.")
        return 0.0, 0.0
    if piece.E is None and film is not None:
        doubts.append(f"its stiffness is the list's: {film.sources['E']}; a stiffer one goes slack sooner")
    ratio = 1.0 if film is None else film.across
    across = piece.E_across if piece.E_across is not None else ratio * modulus
    return modulus * piece.thickness, across * piece.thickness


def _pretension(
    draft: FileDraft, piece: CoveringPiece, film: films.Film | None, location: Location, doubts: list[str]
) -> tuple[float, float] | None:
    """Tension along the span and the chord, N/m."""
    if piece.pretension is not None:
        return piece.pretension
    if film is None or film.shrink_stress is None or film.slack_left is None or piece.thickness is None:
        draft.note(
            (*location, "pretension"), "is missing: no tautness is known of this film; give one in N/m."
        )
        return None
    low = film.shrink_stress * film.slack_left * piece.thickness
    doubts.append(
        f"its tautness of {say.force_per_span(low):.3g} is nobody's measurement but the low end: "
        f"{film.sources['shrink_stress']}, and of that {film.sources['slack_left']}; the load "
        "at which it goes slack is in proportion to it"
    )
    return low, low


def _once(draft: FileDraft, entries: list[tuple[Location, CoveringPiece]], found: list[Covering]) -> None:
    """Note pieces that lie on each other."""
    for i, one in enumerate(found):
        for other in found[:i]:
            if one.surface != other.surface or not one.bays & other.bays:
                continue
            y = one.x_from.y
            if (
                (one.x_from.at(y) < other.x_to.at(y) - 1e-6) & (other.x_from.at(y) < one.x_to.at(y) - 1e-6)
            ).any():
                draft.note(
                    entries[-1][0],
                    f"pieces lie on each other on the {one.surface} surface; say with bays, surface, from "
                    "and to where each lies.",
                )
                return
