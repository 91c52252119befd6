"""Drawings for the bench at full size: webs, cutting sheets, ribs, stations along the spars, rails.

Pieces are worked out in SI from the wing alone; from `ink` on everything is in millimetres on paper, y up.
"""
