"""Finite elements for thin-walled and framed structures: bars, beams, shear panels, membranes and plates.

Describe a `Structure` (nodes, blocks of elements, supports), then ask `statics` for its answer.
Knows no wing, no wood and no file format but what meshio reads and writes.

A steel wire that hangs at one end and carries a kilogram at the other stretches by F L / (E A):

>>> import numpy as np
>>> from fea.elements.bar import Bars
>>> from fea.solve import statics
>>> from fea.structure import Loads, Structure, Supports
>>> nodes = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, -2.0]])  # m
>>> wire = Bars(np.array([[0, 1]]), axial_rigidity=np.array([200e9 * 1e-6]))  # Pa m2
>>> supports = Supports.fixed([0], "xyz") + Supports.fixed([1], "xy")
>>> force = np.zeros((2, 6, 1))  # node; forces along x y z, N, and moments about them, N m; case
>>> force[1, 2, 0] = -9.80665
>>> solution = statics(Structure(nodes, {"wire": wire}, supports), Loads(force))
>>> print(f"{1e3 * solution.displacements[1, 2, 0]:.4f} mm, {9.80665 * 2 / (200e9 * 1e-6) * 1e3:.4f} mm")
-0.0981 mm, 0.0981 mm
"""
