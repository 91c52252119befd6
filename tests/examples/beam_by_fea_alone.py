"""A cantilever of spruce under a tip force: `fea` alone, which knows no wing."""

import numpy as np

from fea.elements.beam import Beams, Sections
from fea.solve import statics
from fea.structure import Loads, Structure, Supports

E, b, h, length, n = 10e9, 0.008, 0.012, 0.5, 4  # Pa, m, m, m, elements; G = E / 15
nodes = np.column_stack([np.zeros(n + 1), np.linspace(0, length, n + 1), np.zeros(n + 1)])
ends = np.column_stack([np.arange(n), np.arange(1, n + 1)])
rigidity = (E * b * h, E * b * h**3 / 12, E * h * b**3 / 12, 1.0, E / 15 * b * h / 1.2, E / 15 * b * h / 1.2)
beams = Beams(ends, Sections(*(np.full(n, value) for value in rigidity)), up=np.tile([0.0, 0.0, 1.0], (n, 1)))
force = np.zeros((n + 1, 6, 1))  # node; x y z and moments about them; case
force[-1, 2, 0] = 1.0
solution = statics(Structure(nodes, {"beam": beams}, Supports.fixed([0])), Loads(force))
by_hand = length**3 / (3 * rigidity[1]) + length / rigidity[5]  # textbook: bending and shear of a cantilever
print(f"tip {1e3 * solution.displacements[-1, 2, 0]:.6f} mm, by hand {1e3 * by_hand:.6f} mm")
