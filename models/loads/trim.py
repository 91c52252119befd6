"""What trims an aeroplane in a pull-up: a tail, elevons over their own span, or the sections of the wing.

A wing whose file has elevons that act in pitch is trimmed by them: their lift along the span (at the wing's
lift kept) and their own sections' moment, as `models.loads.elevons` has them. One without a tail and without
elevons is trimmed by an even change of its sections' moment (reflex), which then takes the place of whatever
moment the sections have; that is told. Any other has a tail, which gives a couple to the centre section.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.loads.diagrams import lumped
from models.structure.model import Model

_NEUTRAL = 1e-6
"""Pitching moment of elevons below this share of the area times the mean chord, per radian, trims nothing."""


@dataclass(frozen=True, eq=False)
class Trimmer:
    """What a wing itself trims with, per unit of dynamic pressure and of its amount.

    Parameters
    ----------
    by : str
        "elevons": the amount is their deflection, rad, trailing edge down; "sections": a change of c_m.
    lift : (n_ribs,) float array
        At every rib, m2; nothing in all.
    roll : (n_ribs,) float array
        Moment about x of what lies outboard of the last ribs, m3.
    moment : (n_ribs,) float array
        Nose-up moment about the line of lift, m3.
    pitch : float
        Nose-up moment of all that, m3, of the modelled side or sides.
    """

    by: str
    lift: Array
    roll: Array
    moment: Array
    pitch: float


def trimmer(model: Model, stations: Array, line: Array, weights: Array) -> Trimmer:
    """Elevons that act in pitch, or else the sections.

    Parameters
    ----------
    model : Model
        Of a flying wing.
    stations : (n_ribs,) float array
        Ribs in rising order, m; both sides if any is negative.
    line : (n_ribs,) float array
        Where the sections' lift acts, m aft.
    weights : (n_ribs,) float array
        Area that each rib answers for times its chord, m3.
    """
    return _elevons(model, stations, line) or Trimmer(
        "sections", np.zeros_like(line), np.zeros_like(line), weights, float(weights.sum())
    )


def _elevons(model: Model, stations: Array, line: Array) -> Trimmer | None:
    elevons, plan = model.wing.elevons, model.wing.planform
    if elevons is None or plan is None or "pitch" not in elevons.acts:
        return None
    from models.loads.elevons import flap_lift, moment_pieces, pieces  # few wings ask for the lattice

    flap = flap_lift(plan, elevons)
    found = []
    both = bool(stations.min() < -1e-9)
    cut_at = np.concatenate([-stations[::-1], stations]) if not both else stations
    for y, amount in (pieces(flap, flap.pitch, cut_at, 1.0), moment_pieces(plan, elevons, cut_at, 1.0)):
        kept = np.full(len(y), True) if both else y > 0
        found.append(lumped(stations, y[kept], amount[kept]))
    (lift, first, last), (moment, _, _) = found
    span = np.abs(stations)
    quarter = plan.leading_edge_x.at(span) + 0.25 * plan.chord.at(span)
    # Lift of a flap acts at the quarter chord, and has a moment about a line of lift that lies elsewhere.
    moment = moment + lift * (line - quarter)
    pitch = float((moment - lift * line).sum())
    size = plan.area**2 / (2 * plan.semispan)
    if abs(pitch) < _NEUTRAL * size:
        return None
    roll = np.zeros(len(stations))
    roll[0] += first if both else 0.0
    roll[-1] += last
    return Trimmer("elevons", lift, roll, moment, pitch)


_ARM = 0.5
"""m behind the centre of gravity, for the tail's load as an example."""


def words(trimmed_by: str, moment: float, elevon: float, most: float) -> str:
    """What trims, in a sentence.

    Parameters
    ----------
    trimmed_by : str
        "tail", "elevons" or "sections".
    moment : float
        Nose-up moment that trims, N m, both sides.
    elevon : float
        Deflection of elevons, rad, trailing edge down.
    most : float
        How far the elevons go to either side, rad.
    """
    if trimmed_by == "tail":
        way = "down" if moment > 0 else "up"
        size = abs(moment)
        return (
            f"The tail carries a moment of {say.moment(size):.3g}: {say.force(size / _ARM):.3g} {way} "
            "where it stands "
            f"{say.span(_ARM):g} behind the centre of gravity, which the wing's lift does not count."
        )
    if trimmed_by == "elevons":
        found = f"Elevons {np.degrees(abs(elevon)):.1f} deg {'down' if elevon > 0 else 'up'} trim it"
        if abs(elevon) > most:
            return f"{found}, more than the {np.degrees(most):.0f} deg that they go: it cannot be flown so."
        return f"{found}."
    return (
        "Neither a tail nor elevons trim it (no flying mass beyond the wing's, no [elevons]): its sections "
        "are taken to do so all along the span, and their own moment then counts for nothing."
    )
