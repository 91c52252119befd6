"""`sparbay loads`: every load case beside the pull-up, which is hardest, and the diagrams along the span."""

from __future__ import annotations

import argparse
from contextlib import ExitStack
from pathlib import Path

import numpy as np

from models import small_movements
from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import filled, new_folder, read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.strength import Margin
from models.studies.load_cases import CaseResult, LoadStudy, far, load_cases, movement, sentences

ABOUT = (
    "Whole wing; in the air, landing and at launch it is held by nothing, and the inertia of wing and body "
    "balances each case. The body is an even cylinder along the flight axis, gripped at the "
    "centre line. Elevons: thin-aerofoil theory (Glauert 1927, ARC R&M 1095, from memory) and "
    "the vortex lattice, without gap or stall, and so on the hard side. Counted is the wing as built; beside "
    "it stands the wing whose lift follows its own twist, in balance, at the speed of the case. "
    "Section forces are about the quarter-chord line, axes along and across the flight. Sheeting is taken as "
    "whole. The engine on rails has cases of its own: `sparbay rails`."
)
_KEYS = ("elevons.", "launch.")


def run(options: argparse.Namespace) -> ExitCode:
    """Solve and check all cases; 1 where one of them breaks the wing."""
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
    record = loads_record(study, options.file, options.mesh, files)
    if options.json:
        print_json(record)
    else:
        from models.report.loads import loads_text
        from models.report.text import tell

        tell(loads_text, record)
    return ExitCode.DONE if record["answer"]["survives"] else ExitCode.FAILS


def loads_record(study: LoadStudy, file: str, per_bay: int, files: list[Path]) -> Record:
    """All that `loads` has to say.

    Parameters
    ----------
    study : LoadStudy
        From `models.studies.load_cases.load_cases`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.
    files : list of Path
        Pictures written.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    wing, flight, body = study.wing, study.situation.flight, study.situation.body
    assert wing.landing is not None
    hardest = study.ranked[0]
    record = {
        "command": "loads",
        "version": version(),
        "file": file,
        "wing": wing.name,
        "kind": "wing",
        "answer": {
            "sentences": sentences(study),
            "survives": bool(hardest.reserve >= 1),
            "case": hardest.name,
            "least_reserve_factor": hardest.reserve,
            "order": [one.name for one in study.ranked],
        },
        "small_movements": small_movements.record(*far(study)),
        "cautions": list(CAUTIONS),
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
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(f) for f in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


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
        "bent_wing": _bent(one),
        "weakest": _margin(one.weakest),
        "sheeting_bows": _margin(one.bows),
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
    if np.isnan(one.ends):
        return None
    found = one.bent
    s, k = (None, 0) if found is None else (found.sections, found.root(0.0))
    return {
        "speed_m_per_s": one.case.speed,
        "ends_at_m_per_s": one.ends,
        "reserve_factor": None if found is None else found.reserve,
        "weakest": None if found is None else _margin(found.weakest),
        "root_bending_N_m": None if s is None else float(s.bending[k]),
        "twist_port_rad": None if found is None else float(found.twist[0]),
        "twist_starboard_rad": None if found is None else float(found.twist[1]),
    }


def _largest(values: np.ndarray) -> float:
    return float(values[np.argmax(np.abs(values))])


def _margin(margin: Margin | None) -> Record | None:
    if margin is None:
        return None
    return {
        "part": margin.part.name,
        "bay": margin.bay,
        "spar": margin.spar,
        "mode": margin.mode,
        "reserve_factor": margin.reserve_factor,
        "applied": margin.applied,
        "allowable": margin.allowable,
        "unit": margin.unit,
        "source": margin.source,
    }
