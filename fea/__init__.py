"""Finite elements for thin-walled and framed structures: bars, beams, shear panels, membranes and plates.

Describe a `Structure` (nodes, blocks of elements, supports), then ask `statics` for its answer.
Knows no wing, no wood and no file format but what meshio reads and writes.
"""
