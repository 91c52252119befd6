"""All cases, a family a file, in the order in which they are told."""

from importlib import import_module

from validation.case import Case

FAMILIES = (
    "beams", "macneal_harder", "frames", "stability", "vibration", "aeroelastic", "swept_plate",
    "spar_webs", "sections", "sensitivities", "cut_out", "shear_lag", "cells", "channel", "solid_spars",
    "more_solids", "askew_solids", "whole_wings", "more_wings", "ladders", "booms", "membranes",
    "spruce_square", "plate_wing", "skinned_plate_wing", "covering", "strength_modes", "failure_modes",
    "joiners", "reliability", "strips", "lift", "envelope", "lifting_surfaces", "planforms", "balance",
    "rails", "load_cases", "piece_tests", "broken_beams",
)  # fmt: skip
CASES: tuple[Case, ...] = tuple(
    case for family in FAMILIES for case in import_module(f"validation.cases.{family}").CASES
)
