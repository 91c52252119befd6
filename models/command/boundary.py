"""`main`: reads the options, runs the command, and turns whatever goes wrong into a message and a code."""

from __future__ import annotations

import argparse
import contextlib
import errno
import gc
import io
import logging
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

from models import system
from models import units_out as say
from models.command import faults, files
from models.command.exit_codes import ExitCode
from models.command.options import parser
from models.version import VERSION

_FEW_COLLECTIONS = 100_000
"""New objects between two collections of garbage: loading libraries makes many, and none of them garbage."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command from what stands after `sparbay`, None for the process's own; one of `ExitCode`."""
    _open_closed_streams()
    # That it has no home to keep its fonts in is the drawing library's own affair.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A name in letters that the terminal lacks is no reason to stop.
        sys.stdout.reconfigure(errors="replace")
    try:
        words = sys.argv[1:] if arguments is None else arguments
        options = parser(next((word for word in words if word[:1] != "-"), "")).parse_args(words)
    except SystemExit as leave:  # argparse has said what there is to say
        return _told() if not leave.code else ExitCode.WRONG_INPUT
    except OSError as error:
        return _not_told(error)
    collecting = gc.get_threshold()
    gc.set_threshold(_FEW_COLLECTIONS, *collecting[1:])
    try:
        with say.speak(getattr(options, "units", None)):
            code = _as_long_as_asked(options)
        sys.stdout.flush()
        if files.unwritten:
            return _say("\n".join(files.unwritten), ExitCode.WRONG_INPUT)
    except faults.InputFault as fault:
        return _say(str(fault), ExitCode.WRONG_INPUT)
    except system.Ended:
        return _say("sparbay: ended from outside", ExitCode.INTERRUPTED)
    except KeyboardInterrupt:
        return _say("sparbay: interrupted", ExitCode.INTERRUPTED)
    except OSError as error:
        return _not_told(error)
    except ImportError as error:
        library = (error.name or "").split(".")[0]
        if not library or library in _OURS or system.told_to_end():
            return _own_up(error)
        return _say(
            f"sparbay: the library {library} cannot be loaded ({error}); get it with: "
            f"python -m pip install {library}",
            ExitCode.WRONG_INPUT,
        )
    except Exception as error:
        return _own_up(error)
    finally:
        files.unwritten.clear()
        gc.set_threshold(*collecting)
    return code


def _told() -> ExitCode:
    """Done, if what was printed has gone where it should."""
    try:
        sys.stdout.flush()
    except OSError as error:
        return _not_told(error)
    return ExitCode.DONE


def _not_told(error: OSError) -> ExitCode:
    """The code where the answer could not be written, or nobody reads on."""
    if isinstance(error, BrokenPipeError):
        # The interpreter's own flush at the end must not complain about it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return ExitCode.INTERRUPTED
    if error.errno not in _UNWRITABLE:
        return _own_up(error)
    return _say(f"sparbay: the answer could not be written: {error.strerror}.", ExitCode.WRONG_INPUT)


_UNWRITABLE = (errno.ENOSPC, errno.EIO, errno.EBADF, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))
"""Errors of a stream or a disk that takes no more."""
_OURS = ("fea", "models", "validation", "sparbay")


def _open_closed_streams() -> None:
    """Let words go nowhere where the shell has closed a stream: the exit code still answers."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115


def program() -> NoReturn:
    """Run the command that the process was started for, and end the process."""
    system.keep_freed()
    system.end_in_order()
    try:
        code = ExitCode(main())
    except BaseException as error:
        # Between the end of the work and here, or in the middle of a library that makes another error of it.
        if not (system.told_to_end() or isinstance(error, KeyboardInterrupt)):
            raise
        code = _say("sparbay: ended from outside", ExitCode.INTERRUPTED)
    system.end_process(code)


def _as_long_as_asked(options: argparse.Namespace) -> ExitCode:
    """Run the command; its pages and its progress keep to `--full`, `--rows` and `--quiet`."""
    asked = {name: getattr(options, key, None) for name, key in _LENGTHS.items()}
    if not any(value is not None and value is not False for value in asked.values()):
        return run(options)
    from models.report.text import LENGTH, Length

    token = LENGTH.set(Length(bool(asked["whole"]), asked["rows"], bool(asked["quiet"])))
    try:
        return run(options)
    finally:
        LENGTH.reset(token)


_LENGTHS = {"whole": "full", "rows": "rows", "quiet": "quiet"}
"""Options that say how much is printed, by what a page calls them."""


def run(options: argparse.Namespace) -> ExitCode:
    """Run the command that the options name; exceptions that a file can cause become its faults.

    `answer` or else `command` names a module beside this one, `file` is the wing's where there is one.

    Raises
    ------
    InputFault
        The input is wrong.
    """
    command = import_module(f"models.command.{options.answer or options.command}")
    try:
        return ExitCode(command.run(options))
    except (ValueError, ArithmeticError) as error:
        fault = _as_input(options, error)
        if fault is None:
            raise
        raise fault from error


def _as_input(options: argparse.Namespace, error: Exception) -> faults.InputFault | None:
    """The error as a fault of input, or None where it is ours."""
    from fea.solve import Mechanism
    from models.loads.pull_up import LightAeroplane
    from models.strength.margin import NothingLoaded
    from models.studies.speed import HeavyControl
    from models.wing.faults import WingFileError

    source = str(getattr(options, "file", None) or "the shipped wing")
    if isinstance(error, WingFileError):
        return faults.InputFault(str(error))
    if isinstance(error, NothingLoaded):
        return faults.InputFault(f"{source}: {error}; give the case a load.")
    if isinstance(error, LightAeroplane):
        return faults.light_aeroplane(source, error)
    if isinstance(error, HeavyControl):
        return faults.heavy_control(source, error)
    if isinstance(error, Mechanism):
        return faults.mechanism(source, error)
    return faults.contradicting_flight(source, error)


def _say(message: str, code: ExitCode) -> ExitCode:
    from models.wing.intake import shown

    with contextlib.suppress(OSError, ValueError):  # where nobody can be told, the code says it
        print(shown(message, keep="\n"), file=sys.stderr, flush=True)
    return code


def _own_up(error: Exception) -> ExitCode:
    if system.told_to_end():
        return _say("sparbay: ended from outside", ExitCode.INTERRUPTED)
    log = faults.log_of(error)
    where = f"the traceback is in {log}" if log else "the traceback could not be written to a log file"
    words = " ".join(f"{type(error).__name__}: {error}".split())
    message = f"sparbay {VERSION}: a fault of ours, not of your file: {words}; {where}"
    return _say(message, ExitCode.OUR_FAULT)
