"""Names and numbers of parts as they are told everywhere."""

from __future__ import annotations

from collections.abc import Iterable


def spar_words(name: str) -> str:
    """A spar's name with the word spar, once: "front spar"."""
    return name if "spar" in name.lower() else f"{name} spar"


def number_runs(numbers: Iterable[int]) -> list[str]:
    """Numbers of bays or ribs as runs, the lowest first: "3-7", "9"."""
    runs: list[list[int]] = []
    for n in sorted(numbers):
        if runs and n == runs[-1][1] + 1:
            runs[-1][1] = n
        else:
            runs.append([n, n])
    return [str(a) if a == b else f"{a}-{b}" for a, b in runs]
