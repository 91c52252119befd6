"""Memory that large arrays have given up, kept for the next ones.

The C library of Linux hands every large block back to the system as soon as it is free, which then clears new
pages for the next array: a twentieth of the time of a check.

Source: mallopt(3), Linux manual pages.
"""

from __future__ import annotations

import sys

_TRIM_THRESHOLD, _TOP_PAD, _MMAP_THRESHOLD = -1, -2, -3
_LARGEST = 1 << 26
"""Bytes up to which blocks are kept; the heap never shrinks while less than eight of these are free."""


def keep_freed() -> None:
    """Keep freed blocks in this process from now on, where the C library can."""
    if sys.platform != "linux":
        return
    import ctypes

    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):  # another C library
        return
    for what, size in ((_MMAP_THRESHOLD, _LARGEST), (_TRIM_THRESHOLD, 8 * _LARGEST), (_TOP_PAD, 1 << 22)):
        mallopt(what, size)
