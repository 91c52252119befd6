"""All cases, named one by one: a family a file."""

from validation.case import Case
from validation.cases import (
    beams,
    cells,
    channel,
    cut_out,
    frames,
    lift,
    macneal_harder,
    membranes,
    plate_wing,
    sections,
    shear_lag,
    solid_spars,
    spar_webs,
    spruce_square,
    stability,
    strength_modes,
    strips,
    vibration,
)

CASES: tuple[Case, ...] = (
    *beams.CASES,
    *macneal_harder.CASES,
    *frames.CASES,
    *stability.CASES,
    *vibration.CASES,
    *spar_webs.CASES,
    *sections.CASES,
    *cut_out.CASES,
    *shear_lag.CASES,
    *cells.CASES,
    *channel.CASES,
    *solid_spars.CASES,
    *membranes.CASES,
    *spruce_square.CASES,
    *plate_wing.CASES,
    *strength_modes.CASES,
    *strips.CASES,
    *lift.CASES,
)
