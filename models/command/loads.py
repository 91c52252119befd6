"""Which load is the hardest beside the pull-up: elevons, landing, launch, or carrying?

Solves and checks rolls and pitching with elevons, tip strike, belly and undercarriage, tow, bungee and hand
launch, and carrying by the tips, as the file's [elevons], [landing] and [launch] say. Leaves with 1 if a
case breaks the wing.

example: sparbay loads trainer
"""

from __future__ import annotations

import argparse
import math
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, give, margin_figures, recorded
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, new_folder, read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import DEG, Page, answer, fixed, reserve, rest

if TYPE_CHECKING:
    import numpy as np

    from models.studies.load_cases import CaseResult, LoadStudy

ABOUT = (
    "Whole wing; in the air, landing and at launch it is held by nothing, and the inertia of wing and body "
    "balances each case. The body is an even cylinder along the flight axis, gripped at the "
    "centre line. Elevons: thin-aerofoil theory (Glauert 1927, ARC R&M 1095, from memory) and "
    "the vortex lattice, without gap or stall, and so on the hard side. Counted is the wing as built; beside "
    "it stands the wing whose lift follows its own twist, in balance, at the speed of the case. "
    "Section forces are about the quarter-chord line, axes along and across the flight. Sheeting is taken as "
    "whole. The engine on rails has cases of its own: `sparbay loads --rails`."
)
_KEYS = ("elevons.", "launch.")


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh", "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Solve and check all cases; 1 where one of them breaks the wing."""
    from models.studies.load_cases import load_cases

    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    if wing.landing is None:
        raise InputFault(f"{options.file}: a specimen neither flies nor lands; load cases need a wing.")
    with ExitStack() as stack:
        bars: list[Progress] = []

        def step(name: str, n_cases: int) -> None:
            if not bars:
                bars.append(stack.enter_context(Progress(n_cases, quiet=True)))
            bars[0](name)

        study = load_cases(wing, per_bay=options.mesh, step=step, bent=None)

    def draw(place: Path) -> list[Path]:
        from models.pictures.load_diagrams import plot_loads

        return plot_loads(study, place)

    files = filled(folder, draw)
    record = recorded(options, _figures(study), files)
    return give(options, record, loads_text, holds=record["answer"]["survives"])


def _figures(study: LoadStudy) -> Record:
    from models import small_movements
    from models.studies.load_cases import far, movement, sentences

    wing, flight, body = study.wing, study.situation.flight, study.situation.body
    assert wing.landing is not None
    hardest = study.ranked[0]
    return {
        "wing": wing.name,
        "kind": "wing",
        "answer": {
            "sentences": sentences(study),
            "survives": bool(hardest.harder.reserve >= 1),
            "case": hardest.name,
            "least_reserve_factor": hardest.harder.reserve,
            "order": [one.name for one in study.ranked],
        },
        "small_movements": small_movements.record(*far(study)),
        "flying_mass_kg": flight.flying_mass,
        "wing_mass_kg": flight.wing_mass,
        "body_length_m": body.length if body.mass > 0 else None,
        "body_width_m": body.width if body.mass > 0 else None,
        "centre_of_gravity_x_m": flight.balance_x,
        "aileron_reversal_speed_m_per_s": study.reversal,
        "cases": [
            _case(one, study.root_y) | {"small_movements_hold": movement(one, wing).hold}
            for one in study.cases
        ],
        "assumed": [
            {"key": key, "value": value}
            for key, value in (
                *wing.landing.assumed,
                *((k, v) for k, v in wing.assumed if k.startswith(_KEYS)),
            )
        ],
        "about": ABOUT,
    }


def _case(one: CaseResult, root_y: float) -> Record:
    s, k = one.sections, one.root(root_y)
    port, starboard = 0, 1
    return {
        "case": one.name,
        "kind": one.case.kind,
        "acts": one.case.acts,
        "stated_size": one.case.stated,
        "load_factor": one.case.load_factor,
        "reserve_factor": one.reserve,
        "counted_reserve_factor": one.harder.reserve,
        "bent_wing": _bent(one),
        "weakest": margin_figures(one.weakest, "bay", "spar"),
        "sheeting_bows": margin_figures(one.bows, "bay", "spar"),
        "root": {
            "y_m": float(s.y[k]),
            "shear_N": float(s.shear[k]),
            "bending_N_m": float(s.bending[k]),
            "torsion_N_m": float(s.torsion[k]),
            "drag_shear_N": float(s.drag[k]),
            "sweeping_bending_N_m": float(s.sweeping[k]),
        },
        "largest": {
            "shear_N": _largest(s.shear),
            "bending_N_m": _largest(s.bending),
            "torsion_N_m": _largest(s.torsion),
        },
        "twist_port_rad": float(one.twist[port]),
        "twist_starboard_rad": float(one.twist[starboard]),
        "tip_deflection_port_m": float(one.tip_deflection[port]),
        "tip_deflection_starboard_m": float(one.tip_deflection[starboard]),
        "diagrams": {
            "y_m": s.y.tolist(),
            "shear_N": s.shear.tolist(),
            "bending_N_m": s.bending.tolist(),
            "torsion_N_m": s.torsion.tolist(),
        },
        "solve_checks": {
            "residual": one.checks.residual,
            "sum_of_forces_and_moments": one.checks.reaction_sum,
            "reaction_of_a_free_wing": one.checks.free_reaction,
            "sections_from_elements_against_loads": one.gap,
        },
    }


def _bent(one: CaseResult) -> Record | None:
    """The case with the lift where the bent wing puts it, at its speed; null where that is not asked."""
    if math.isnan(one.ends):
        return None
    found = one.bent
    s, k = (None, 0) if found is None else (found.sections, found.root(0.0))
    return {
        "speed_m_per_s": one.case.speed,
        "ends_at_m_per_s": one.ends,
        "reserve_factor": None if found is None else found.reserve,
        "weakest": None if found is None else margin_figures(found.weakest, "bay", "spar"),
        "root_bending_N_m": None if s is None else float(s.bending[k]),
        "twist_port_rad": None if found is None else float(found.twist[0]),
        "twist_starboard_rad": None if found is None else float(found.twist[1]),
    }


def _largest(values: np.ndarray) -> float:
    import numpy as np

    return float(values[np.argmax(np.abs(values))])


def loads_text(out: Page, record: Record) -> None:
    """Words, cautions, a table of the cases, one of the section forces, what was assumed, files."""
    answer(out, record, good=record["answer"]["survives"])
    at = {c["case"]: c for c in record["cases"]}
    ranked = [at[name] for name in record["answer"]["order"]]
    _cases(out, ranked)
    _sections(out, ranked)
    rest(out, record)


def _cases(out: Page, cases: list[Record]) -> None:
    rows = []
    for c in cases:
        weakest = c["weakest"]
        part, mode = ("-", "-") if weakest is None else (weakest["part"], weakest["mode"])
        bows = "-" if c["sheeting_bows"] is None else "bows"
        bent = c["bent_wing"]
        told = None if bent is None else bent["reserve_factor"]
        twisted = "" if bent is None else "-" if told is None else reserve(told)
        rows.append((c["case"], reserve(c["reserve_factor"]), twisted, part, mode, bows))
    columns = ["~case", "reserve\nfactor", "of bent\nwing", "~weakest part", "~how it fails", "<sheeting"]
    out.table("Load cases, the hardest first", columns, rows)
    acts = [(c["case"], c["acts"]) for c in cases]
    out.table("What acts (W: weight of the aeroplane)", ["~case", "~what acts"], acts)


_SIDES = ("port", "starboard")
_ROOT = ("shear_N", "bending_N_m", "torsion_N_m", "sweeping_bending_N_m")


def _plain(value: float, largest: float, kind: say.Kind = say.moment) -> str:
    """Three digits; rounding beside the largest of its kind is nothing."""
    return kind.number(value if abs(value) > 1e-5 * largest else 0.0, 3)


def _sections(out: Page, cases: list[Record]) -> None:
    rows = []
    largest = {key: max(abs(c["root"][key]) for c in cases) for key in _ROOT}
    for c in cases:
        root = c["root"]
        rows.append(
            (
                c["case"],
                "port" if root["y_m"] < 0 else "starboard",
                *(
                    _plain(root[key], largest[key], say.force if key == "shear_N" else say.moment)
                    for key in _ROOT
                ),
                _plain(c["largest"]["bending_N_m"], largest["bending_N_m"]),
                " / ".join(fixed(c[f"twist_{side}_rad"], DEG) for side in _SIDES),
                " / ".join(say.length.fixed(c[f"tip_deflection_{side}_m"], 0) for side in _SIDES),
            )
        )
    moment = say.moment.unit
    columns = ["~case", "<side", f"shear\n{say.force.unit}", f"bending\n{moment}", f"torsion\n{moment}",
               f"bending\naft, {moment}", f"most bending\nanywhere, {moment}", "twist, port /\nstarb., deg",
               f"tip rises, port /\nstarb., {say.length.unit}"]  # fmt: skip
    out.table(
        "Root of the side that bends more, about the quarter chord; positive: up, tip lifted, nose up, aft",
        columns,
        rows,
    )
