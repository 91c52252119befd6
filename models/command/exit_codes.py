"""What the process tells the one who started it."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """Exit codes of every command."""

    DONE = 0
    """The question was answered; a check that was asked for holds."""
    FAILS = 1
    """The wing is not fit to fly, or it or a published case fails the check that was asked for."""
    WRONG_INPUT = 2
    """The file, the options or the place for the results is wrong."""
    OUR_FAULT = 3
    """A bug, or a solve that fails its own check."""
    INTERRUPTED = 130
    """Stopped from outside: the keyboard, or a reader of the output that went away."""
