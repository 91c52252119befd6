"""The answer of `check` as plain data: one record from which both the tables and the JSON document are made.

Every number is in SI and its key ends in its unit (`_m`, `_rad`, `_Pa`, `_kg`, `_N`, `_N_m`); a key without a
unit is a pure number or a name. A figure that does not exist is null.

`small_movements`, in `check` and wherever deflection or twist are told, is the rule of
`models.small_movements`: `hold` (false beyond 10 degrees of twist, or beyond a tenth of the semispan, of a
specimen its length, in deflection: all figures are then only an indication), `largest_deflection_m` and
`largest_twist_rad` of the answer (the farthest of several cases or layouts), `deflection_limit_m`,
`twist_limit_rad`, and `sentence` (null where they hold), which stands among the answer's sentences too. In
lists of cases, layouts, steps and members `small_movements_hold` says the same of each.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from fea.elements.mass import Masses
from models import small_movements
from models import units_out as say
from models.analysis import Analysis, solve, spar_motion, wing_twist
from models.cautions import CAUTIONS
from models.command.document import Record, document, figures
from models.loads import trim
from models.loads.pull_up import air_speed, growing_words, lift_words
from models.mid_bay import mid_bays
from models.strength import Margin, Margins, rounded_down, sentence
from models.strength.cap_bending import MODE as CAP_BENDING
from models.strength.cap_compression import MODE as CAP_COMPRESSION
from models.strength.cap_tension import MODE as CAP_TENSION
from models.studies.bowed import sheet_buckling
from models.studies.doubts import ABOUT, TOLD, doubts
from models.studies.mesh_error import mesh_error, words
from models.verdict import Verdict, down
from models.verdict import record as verdict_record
from models.verdict import sentences as verdict_sentences
from models.wing.parts import Wing


def check_record(
    analysis: Analysis,
    margins: Margins,
    file: str,
    *,
    per_bay: int,
    rigid_joints: bool,
    decided: Verdict | None = None,
    whole: bool = True,
) -> Record:
    """All that `check` has to say; `decided`, on a flying wing, alone says whether it is fit.

    Parameters
    ----------
    analysis, margins : Analysis, Margins
        Of the load in the file, all sheeting whole.
    file : str
        Name of the file, as it was given.
    per_bay, rigid_joints
        As for `models.structure.build`, of the analysis.
    decided : Verdict or None
        On a flying wing; None of a specimen.
    whole : bool, default True
        False leaves out what the answer hangs on and the mesh's error, each of them solved for anew, which a
        page of one screen does not tell.
    """
    wing = analysis.wing
    flying = analysis.pull_up is not None
    moved = small_movements.of(analysis)
    given = answer(analysis, margins, moved)
    settled = margins
    if decided is not None:
        settled = replace(margins, rows=decided.pull_up.rows)
        beside = warnings(analysis, margins, moved, decided, settled=True)
        given["sentences"] = [*verdict_sentences(decided), *beside]
        given["survives"] = decided.fit
        given["verdict"] = verdict_record(decided)
    record: Record = {
        "wing": wing.name,
        "kind": "wing" if flying else "specimen",
        "answer": given,
        "small_movements": small_movements.record(moved, small_movements.warning(moved)),
        "bays": [
            margin_record(m, analysis) for m in sorted(settled.by_bay(), key=lambda m: m.reserve_factor)
        ],
        "other_parts": [margin_record(m, analysis) for m in others(settled)],
        "secondary": [
            margin_record(m, analysis) | {"reason": m.reason} for m in _each_mode(margins.secondary)
        ],
        "sources": [{"mode": mode, "source": source} for mode, source in margins.sources().items()],
        "results": _flight(analysis) if flying else _bench(analysis),
        "mass": _mass(analysis),
        **({"hangs_on": _hangs_on(analysis, margins)} if whole else {}),
        "solve_checks": _checks(analysis),
        "assumed": [{"key": path, "value": value} for path, value in wing.assumed],
        "mesh": {
            "elements_per_bay": per_bay,
            "rigid_joints": rigid_joints,
            "half_wing": analysis.model.half,
            "n_nodes": len(analysis.model.structure.nodes),
            "n_elements": sum(len(b.nodes) for b in analysis.model.structure.blocks.values()),
            **(_mesh_error(analysis, margins, per_bay=per_bay, rigid_joints=rigid_joints) if whole else {}),
        },
    }
    if not flying:
        record["flexibilities"] = _flexibilities(analysis)
    return document("check", file, record, [*wing.cautions, *CAUTIONS])


def _mesh_error(analysis: Analysis, margins: Margins, *, per_bay: int, rigid_joints: bool) -> Record:
    found = mesh_error(analysis, margins, per_bay=per_bay, rigid_joints=rigid_joints)
    changes = None
    if found is not None:
        changes = {
            "tip_deflection": found.deflection,
            "tip_twist": found.twist,
            "first_failure": found.failure,
            "another_part_first": found.elsewhere,
        }
    return {"change_from_half_as_fine": changes, "words": words(found)}


def _hangs_on(analysis: Analysis, margins: Margins) -> Record:
    """What one standard deviation of the figures that matter most does to the load at first failure."""
    what = "load_factor_change" if analysis.pull_up is not None else "load_multiple_change"
    return {
        "about": ABOUT,
        "figures": [
            {
                "figure": one.figure,
                "piece": one.piece,
                "wood": one.wood or None,
                "standard_deviation_over_figure": one.variation,
                what: one.change,
                "source": one.source,
                "words": one.words,
            }
            for one in doubts(analysis, margins)[:TOLD]
        ],
    }


def answer(analysis: Analysis, margins: Margins, moved: small_movements.Movement | None = None) -> Record:
    """What fails first, at what load, and whether the load asked for is survived; in words and in figures.

    `moved` is how far it moves under that load, for a warning; None for words that give it elsewhere.
    """
    first = margins.first() if margins.rows else None  # none where nothing is loaded
    reserve = first.reserve_factor if first else math.inf
    survives = bool(reserve >= 1.0)
    flight, case = analysis.pull_up, analysis.wing.case
    found: Record = {
        "sentences": [
            sentence(margins),
            _verdict(analysis, reserve, survives=survives),
            *warnings(analysis, margins, moved),
        ],
        "survives": survives,
        "reserve_factor": reserve,
        "first_failure": margin_record(first, analysis) if first else None,
    }
    if flight is not None:
        found["load_factor_asked"] = analysis.load_factor
        found["load_factor_at_first_failure"] = margins.load_factor_at_first_failure()
        speed = air_speed(case, flight.lift, _area(analysis.wing))
        found["speed_at_first_failure_m_s"] = speed * math.sqrt(reserve)
    else:
        found["tip_force_asked_N"], found["tip_torque_asked_N_m"] = case.tip_force, case.tip_torque
        found["load_multiple_at_first_failure"] = reserve
        found["tip_force_at_first_failure_N"] = reserve * case.tip_force if first else None
        found["tip_torque_at_first_failure_N_m"] = reserve * case.tip_torque if first else None
    return found


def warnings(
    analysis: Analysis,
    margins: Margins,
    moved: small_movements.Movement | None = None,
    decided: Verdict | None = None,
    *,
    settled: bool = False,
) -> list[str]:
    """What is said beside an answer: sheeting that bows, movements beyond small ones, caps beyond their
    strength, what trims and how loads grow up to the failing load.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    margins : Margins
        Its reserve factors, all sheeting whole.
    moved : small_movements.Movement or None
        How far it moves, for a warning.
    decided : Verdict or None
        Whose failing load is told, where there is one.
    settled : bool, default False
        Reserve factors that are told beside it have sheeting bowed as far as it is.

    Returns
    -------
    list of str
    """
    reserve = margins.rows[0].reserve_factor if margins.rows else math.inf
    fails = reserve if decided is None else decided.failing / decided.asked
    return [
        *_bowed_sheeting(analysis, margins, fails, settled=settled), *_far(moved), *_overstressed(margins),
        *_air(analysis, fails),
    ]  # fmt: skip


def _area(wing: Wing) -> float:
    assert wing.planform is not None, "a wing in flight has a planform"
    return wing.planform.area


def _air(analysis: Analysis, reserve: float) -> list[str]:
    """How its loads grow, what trims a wing in flight, and where the methods of spreading its lift differ."""
    flight, wing = analysis.pull_up, analysis.wing
    if flight is None or wing.planform is None:
        return []
    most = wing.elevons.deflection if wing.elevons is not None else 0.0
    trimmed = trim.words(flight.trimmed_by, flight.trim_moment, flight.elevon, most)
    apart = lift_words(wing.planform, wing.case, flight.lift)
    grows = [growing_words(wing.case, flight.lift, wing.planform.area, reserve)] * math.isfinite(reserve)
    return [*grows, trimmed, *([] if apart is None else [apart])]


def _far(moved: small_movements.Movement | None) -> list[str]:
    said = None if moved is None else small_movements.warning(moved)
    return [] if said is None else [said]


_CAPS = {mode.name for mode in (CAP_BENDING, CAP_COMPRESSION, CAP_TENSION)}


def _overstressed(margins: Margins) -> list[str]:
    """A warning where the load asked for is beyond what the wood of a cap bears: stiffnesses are of wood that
    springs back."""
    worst = next((row for row in margins.rows if row.mode in _CAPS), None)  # the weakest come first
    if worst is None or worst.reserve_factor >= 1:
        return []
    return [
        f"The load asked for is {1 / worst.reserve_factor:.3g} times what a cap bears ({worst.part.name}): "
        "deflection, twist and stress at it are of wood that would not give."
    ]


def _bowed_sheeting(analysis: Analysis, margins: Margins, reserve: float, *, settled: bool) -> list[str]:
    """A warning where sheeting bows before the first failure, and what has it whole."""
    bows = sheet_buckling(margins)
    part = min(bows, key=bows.__getitem__, default=None)
    if part is None or bows[part] >= reserve:
        return []
    if analysis.pull_up is not None:
        where = f"{down(bows[part] * analysis.load_factor)} g"
    else:
        where = f"{bows[part]:.2g} times the load"
    counts = "`sparbay collapse` counts that, reserve factors do not"
    if settled:
        counts = "verdict and reserve factors count that, deflection and stress do not"
    return [
        f"Sheeting bows before that, from {where} on ({part.name}), and then leaves more of the bending to "
        f"the caps: {counts}."
    ]


def _verdict(analysis: Analysis, reserve: float, *, survives: bool) -> str:
    fate = f"{'survives' if survives else 'fails'}, reserve factor {rounded_down(reserve)}"
    if analysis.pull_up is not None:
        return f"The pull-up asked for is {down(analysis.load_factor)} g: the wing {fate}."
    return f"The bench load asked for is {bench_load(analysis.wing)}: the specimen {fate}."


def bench_load(wing: Wing) -> str:
    """The bench load in words."""
    case = wing.case
    parts = [f"{say.force(case.tip_force):.4g} up" * bool(case.tip_force)]
    parts += [f"{say.small_moment(case.tip_torque):.4g} nose up" * bool(case.tip_torque)]
    return " and ".join(p for p in parts if p) + " at the tip" if any(parts) else "nothing"


def others(margins: Margins) -> list[Margin]:
    """The worst margin of every part that belongs to no bay (rib posts, rails), lowest reserve first."""
    found: dict[str, Margin] = {}
    for row in margins.rows:
        if row.bay is None or not row.spar:
            found.setdefault(row.part.name, row)
    return list(found.values())


def _each_mode(rows: Iterable[Margin]) -> list[Margin]:
    """The first, that is the worst, of every mode."""
    found: dict[str, Margin] = {}
    for row in rows:
        found.setdefault(row.mode, row)
    return list(found.values())


def margin_record(margin: Margin, analysis: Analysis) -> Record:
    """One margin as plain data."""
    found = figures(margin, "bay", "side", "spar", part="part.name")
    found |= figures(margin, "mode", "reserve_factor", "applied", "allowable", "unit", "y_m", "source")
    if analysis.pull_up is not None:
        return found | {"load_factor_at_failure": margin.reserve_factor * analysis.load_factor}
    return found | {"load_multiple_at_failure": margin.reserve_factor}


def _flight(analysis: Analysis) -> Record:
    flight = analysis.pull_up
    assert flight is not None
    y, twist = wing_twist(analysis)
    stations = _stations(analysis)
    shown = [k for k in range(len(y)) if np.abs(stations - y[k]).min() < 1e-6]
    record = figures(flight, "load_factor", "lift_N") | {"lift_method": analysis.wing.case.lift_method}
    record |= figures(
        flight, "flying_mass_kg", "wing_mass_kg", "trim_moment_N_m", "trimmed_by",
        elevon_deflection_rad="elevon", lift_line_x_m="lift_x", balance_x_m="balance_x",
    )  # fmt: skip
    record["twist_of_wing"] = [{"y_m": float(y[k]), "twist_rad": float(twist[k])} for k in shown]
    return {"pull_up": record | motion_record(analysis, None)}


def _bench(analysis: Analysis) -> Record:
    """Force alone, torque alone and both as in the file, and 1 N and 1 N m at the same place."""
    case = analysis.wing.case
    loads = {
        "force": (case.tip_force, 0.0),
        "torque": (0.0, case.tip_torque),
        "both": (case.tip_force, case.tip_torque),
    }
    found = {
        name: _loads(*load) | motion_record(analysis, column)
        for column, (name, load) in enumerate(loads.items())
    }
    unit = _unit(analysis, _loaded_spar(analysis))
    found["unit_force"] = _loads(1.0, 0.0) | motion_record(unit, 0)
    found["unit_torque"] = _loads(0.0, 1.0) | motion_record(unit, 1)
    return found


def _loads(force: float, torque: float) -> Record:
    return {"tip_force_N": force, "tip_torque_N_m": torque}


def _loaded_spar(analysis: Analysis) -> str:
    wing = analysis.wing
    names = [spar.name for spar in wing.spars]
    return wing.case.tip_spar if wing.case.tip_spar in names else names[0]


def _unit(analysis: Analysis, spar: str) -> Analysis:
    """The same specimen under 1 N and under 1 N m at the tip of a spar, columns 0 and 1."""
    wing = analysis.wing
    case = replace(wing.case, tip_force=1.0, tip_torque=1.0, tip_spar=spar)
    model = replace(analysis.model, wing=replace(wing, case=case))
    return solve(model, assembly=analysis.solution.assembly)


def _flexibilities(analysis: Analysis) -> Record:
    """Movement of every spar's tip per unit load at every spar's tip, and what follows by superposition."""
    spars = analysis.wing.spars
    names = [spar.name for spar in spars]
    units = [_unit(analysis, name) for name in names]

    def tips(column: int, what: str) -> np.ndarray:
        return np.array(
            [[getattr(spar_motion(u, s, column), what)[-1] for u in units] for s in range(len(spars))]
        )

    bends, turns = tips(0, "deflection"), tips(0, "twist")
    turned = tips(1, "twist")
    found: Record = {
        "spars": names,
        "about": "row: the spar that moves; column: the spar that is loaded at its tip",
        "deflection_by_force_m_per_N": bends.tolist(),
        "twist_by_force_rad_per_N": turns.tolist(),
        "deflection_by_torque_m_per_N_m": tips(1, "deflection").tolist(),
        "twist_by_torque_rad_per_N_m": turned.tolist(),
    }
    # A force at x aft of the caps' centre line adds a torque -x F; no tip twist at turns = x turned.
    own = [float(turns[s, s] / turned[s, s]) for s in range(len(spars))]
    found["twist_free_force_aft_of_caps_m"] = own
    found["twist_free_deflection_m_per_N"] = [
        float(bends[s, s] - own[s] * tips(1, "deflection")[s, s]) for s in range(len(spars))
    ]
    if len(spars) > 1:
        x = [float(spar.x.at(spar.y_end)) for spar in spars]
        front, rear = int(np.argmin(x)), int(np.argmax(x))
        apart = x[rear] - x[front]
        pair = bends[np.ix_([front, rear], [front, rear])]
        found["twist_by_couple_of_outer_spars_rad_per_N_m"] = float(
            (pair[0, 0] - pair[0, 1] - pair[1, 0] + pair[1, 1]) / apart**2
        )
    return found


def _stations(analysis: Analysis) -> np.ndarray:
    """Where movement is told: at every rib and at the ends of the wing, m."""
    model = analysis.model
    ends = [model.y[0], model.y[-1]] if model.wing.flies else [model.y[-1]]
    return np.unique(np.concatenate([model.y[model.rib_station], ends, [s.y_end for s in model.wing.spars]]))


def motion_record(analysis: Analysis, case: int | None) -> Record:
    """Deflection and twist of every spar at every rib and at its tip; stresses half way along every bay."""
    stations, ending = _stations(analysis), analysis.wing.semispan
    at_rib = analysis.model.y[analysis.model.rib_station]
    ribs: list[Record] = []
    tips: list[Record] = []
    for s, spar in enumerate(analysis.wing.spars):
        motion = spar_motion(analysis, s, case)
        for y, up, twist in zip(
            motion.y.tolist(), motion.deflection.tolist(), motion.twist.tolist(), strict=True
        ):
            row = {"spar": spar.name, "y_m": y, "deflection_m": up, "twist_rad": twist}
            if np.abs(at_rib - y).min() < 1e-6 or abs(y) > ending - 1e-9:
                ribs.append(row)
            if np.abs(stations - y).min() < 1e-6:
                last = row
        tips.append(last)
    mid = [figures(at, "spar", "bay", "side", "y_m", **_MID_BAY) for at in mid_bays(analysis, case)]
    return {"ribs": ribs, "tip": tips, "mid_bays": mid}


_MID_BAY = {
    "upper_cap_stress_Pa": "upper_cap",
    "lower_cap_stress_Pa": "lower_cap",
    "upper_cap_stress_slope_z_Pa_per_m": "upper_slope_z",
    "lower_cap_stress_slope_z_Pa_per_m": "lower_slope_z",
    "upper_cap_stress_slope_x_Pa_per_m": "upper_slope_x",
    "lower_cap_stress_slope_x_Pa_per_m": "lower_slope_x",
    "web_shear_stress_Pa": "web_shear",
}
"""What is told of the middle of a bay, and what `models.mid_bay` calls it."""


def _mass(analysis: Analysis) -> Record:
    model = analysis.model
    sides = 2.0 if model.half else 1.0
    kinds = {kind: sides * mass for kind, mass in model.structural_mass.items() if kind != "mass"}
    found: Record = {"structure_by_kind_kg": kinds, "structure_kg": sum(kinds.values())}
    block = model.structure.blocks.get("masses")
    if isinstance(block, Masses) and block.part is not None:
        parts = [model.parts[p] for p in block.part]
        names = np.array([p.place if p.kind == "mass" else p.name for p in parts])
        hung = {
            str(name): sides * float(block.mass_values[names == name].sum()) for name in dict.fromkeys(names)
        }
        found["covering_kg"] = hung.pop("covering", 0.0)
        found["carried_by_name_kg"] = hung
    if analysis.pull_up is not None:
        found["wing_with_all_it_carries_kg"] = analysis.pull_up.wing_mass
        found["aeroplane_kg"] = analysis.pull_up.flying_mass
    return found


def _checks(analysis: Analysis) -> Record:
    checks = analysis.solution.checks
    found = {
        "residual_over_loads": checks.residual,
        "reaction_sum_over_loads": checks.reaction_sum,
        "energy_difference": checks.energy,
        "smallest_scaled_pivot": checks.smallest_pivot,
    }
    if analysis.pull_up is not None:
        found["support_reaction_over_loads"] = checks.free_reaction
    return found
