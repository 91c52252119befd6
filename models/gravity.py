"""The one acceleration of gravity."""

GRAVITY = 9.80665
"""Standard acceleration of gravity, m/s2 (ISO 80000-3)."""
