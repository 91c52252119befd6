"""A wing file with other webs: the text kept as it is, comments and all, but for the tables of webs.

New tables take thickness, wood, grain and glue from the table that carried the web before, else from that of
the nearest bay of the same spar, else from the first of any spar, as layouts do everywhere
(`models.studies.layouts`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from models.wing.intake import shown_all

Faces = tuple[str, ...]


def relaid(text: str, faces: Mapping[tuple[str, int], Faces]) -> str:
    """Give a wing file other webs, the same on both sides.

    Parameters
    ----------
    text : str
        A wing file that can be read.
    faces : mapping of (spar, bay) to tuple of str
        "front", "rear" or "between" for every bay of every spar; none where it is open.

    Returns
    -------
    str
        The file; comments within its old tables of webs are gone, all others stay.
    """
    import tomlkit
    from tomlkit.items import AoT

    document: Any = tomlkit.parse(text)
    bays = sorted({bay for _, bay in faces})
    every = [web for spar in document["spars"] for web in spar.get("webs", [])]
    for spar in document["spars"]:
        name = shown_all(str(spar["name"]))
        mine = {bay: faces.get((name, bay), ()) for bay in bays}
        own = list(spar.get("webs", []))
        runs: list[tuple[list[int], Faces, Any]] = []
        for bay in bays:
            by_table: dict[int, list[str]] = {}
            sources: dict[int, Any] = {}
            for face in mine[bay]:
                source = _source(own or every, bay, face, bays)
                by_table.setdefault(id(source), []).append(face)
                sources[id(source)] = source
            for key, on in by_table.items():
                here = tuple(on)
                run = next(
                    (r for r in runs if r[0][-1] == bay - 1 and r[1] == here and r[2] is sources[key]),
                    None,
                )
                if run is None:
                    runs.append(([bay], here, sources[key]))
                else:
                    run[0].append(bay)
        spar.pop("webs", None)
        if not runs:
            continue
        tables = []
        for run_bays, faces_here, source in runs:
            table = tomlkit.table()
            table["bays"] = run_bays[0] if len(run_bays) == 1 else f"{run_bays[0]}-{run_bays[-1]}"
            table["face"] = "both" if set(faces_here) == {"front", "rear"} else faces_here[0]
            for key, value in (source or {"thickness": "1.5 mm"}).items():
                if key not in ("bays", "face", "side"):
                    table[key] = value
            tables.append(table)
        tables[-1].add(tomlkit.nl())
        spar["webs"] = AoT(tables)
    return tomlkit.dumps(document)


def _source(tables: list[Any], bay: int, face: str, bays: list[int]) -> Any:
    """The table that carries a web in a bay on a face, else that of the nearest bay; None without any."""
    reach = [(_bays(t["bays"], bays), t) for t in tables if t.get("side", "both") != "port"]
    reach = reach or [(_bays(t["bays"], bays), t) for t in tables]
    for own, table in reach:
        if bay in own and table["face"] in ((face,) if face == "between" else (face, "both")):
            return table
    near = [((abs(b - bay), b, k), table) for k, (own, table) in enumerate(reach) for b in own]
    return min(near, key=lambda row: row[0])[1] if near else None


def _bays(value: Any, bays: list[int]) -> list[int]:
    if value == "all":
        return bays
    if isinstance(value, list):
        return [b for one in value for b in _bays(one, bays)]
    text = str(value)
    first, _, last = text.partition("-")
    return list(range(int(first), int(last or first) + 1))
