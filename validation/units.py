"""Factors between the units in which the sources print their figures and SI."""

from models.gravity import GRAVITY

MM = 1e-3
"""m in a millimetre."""
MPA = 1e6
"""Pa in a N/mm2."""
N_PER_MM = 1e3
"""N/m in a N/mm."""
KGF = GRAVITY
"""N in the weight of a kilogram."""
