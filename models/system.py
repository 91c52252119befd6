"""What not every operating system has, in one place, each with a plain way to do without.

`ABLE` names what this one can do; what is taken out of it is done the plain way, so that each way can be
tried on any machine. Nothing else asks which system this is, but for the kind of window that pictures are
drawn in (`models/pictures/screen.py`), which the drawing library decides.

Sources: mallopt(3), flock(2), link(2), signal(7), Linux manual pages.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import signal
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from types import FrameType
from typing import NoReturn


def _able() -> set[str]:
    found = {"signals"} if hasattr(signal, "SIGTERM") else set()
    found |= {"hard exit"} if hasattr(os, "_exit") else set()
    found |= {"links"} if hasattr(os, "link") else set()
    found |= {"rights"} if os.name == "posix" else set()
    found |= {"nice"} if hasattr(os, "nice") else set()
    found |= {"kept memory"} if sys.platform.startswith("linux") else set()
    with contextlib.suppress(ImportError):
        import fcntl  # noqa: F401

        found.add("locks")
    return found


ABLE = _able()
"""kept memory, hard exit, signals, locks, links, rights, nice: as far as this system has them."""

_TRIM_THRESHOLD, _TOP_PAD, _MMAP_THRESHOLD = -1, -2, -3
_LARGEST = 1 << 27
"""Bytes up to which blocks are kept; the heap never shrinks while less than eight of these are free."""


def keep_freed() -> None:
    """Keep memory that large arrays have given up for the next ones, from now on, where the C library can.

    That of Linux hands every large block back to the system as soon as it is free, which then clears new
    pages for the next array: a twentieth of the time of a check.
    """
    if "kept memory" not in ABLE:
        return
    import ctypes

    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):  # another C library
        return
    for what, size in ((_MMAP_THRESHOLD, _LARGEST), (_TRIM_THRESHOLD, 8 * _LARGEST), (_TOP_PAD, 1 << 22)):
        mallopt(what, size)


@contextlib.contextmanager
def hushed() -> Iterator[None]:
    """What a library in C prints to the standard output meanwhile is heard by nobody: a page of text or a
    JSON document is no place for it. Of the whole process, so only about what prints nothing itself."""
    try:
        kept = os.dup(1)
    except OSError:  # nothing is printed anywhere
        yield
        return
    try:
        _print_out()
        with open(os.devnull, "wb") as nowhere:
            os.dup2(nowhere.fileno(), 1)
        yield
    finally:
        _print_out()
        os.dup2(kept, 1)
        os.close(kept)


def _print_out() -> None:
    """Hand on what Python and the C library have not yet, as far as that can be reached."""
    import ctypes

    with contextlib.suppress(OSError, ValueError, AttributeError):
        sys.stdout.flush()
    with contextlib.suppress(OSError, TypeError, AttributeError):  # another C library
        ctypes.CDLL(None).fflush(None)


# ---- beginning and end of a process -----------------------------------------------------------------------


class Ended(KeyboardInterrupt):
    """The process was told to end, by SIGTERM or by a terminal that closed."""


_told: list[int] = []


def told_to_end() -> bool:
    """Whether the process was told to end; what `Ended` breaks in a library may come out as its own error."""
    return bool(_told)


def _end(number: int, frame: FrameType | None) -> None:
    _told.append(number)
    # Once: whatever is being cleared away is not interrupted by a second one.
    for name in _ENDING:
        signal.signal(getattr(signal, name), signal.SIG_IGN)
    if not _held_back:
        raise Ended(signal.Signals(number).name)


_held_back: list[bool] = []


@contextlib.contextmanager
def unbroken() -> Iterator[None]:
    """Hold back the end that the process is told, for what a library does not survive breaking off: the
    loading of modules written in C++.

    Raises
    ------
    Ended
        After it, where the process was told meanwhile.
    """
    told = len(_told)
    _held_back.append(True)
    try:
        yield
    finally:
        _held_back.pop()
    if len(_told) > told and not _held_back:
        raise Ended(signal.Signals(_told[-1]).name)


_ENDING = tuple(name for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))


def end_in_order() -> None:
    """Turn the signals that end a process into `Ended`, so that what is unfinished is cleared away."""
    if "signals" not in ABLE or threading.current_thread() is not threading.main_thread():
        return
    for name in _ENDING:
        # One that is ignored stays so: nohup.
        if signal.getsignal(getattr(signal, name)) == signal.SIG_DFL:
            signal.signal(getattr(signal, name), _end)
    if hasattr(signal, "setitimer"):
        signal.signal(signal.SIGALRM, _end)
        sys.unraisablehook = _unheard


def _unheard(told: sys.UnraisableHookArgs) -> None:
    """Say again, a moment later, what came where Python lets nothing out: in the end of an object, say."""
    if isinstance(told.exc_value, Ended):
        signal.setitimer(signal.ITIMER_REAL, 0.01)
    else:
        sys.__unraisablehook__(told)


def end_process(code: int) -> NoReturn:
    """End the process: what is registered for the end is run, streams are flushed, files half made removed.

    After that the memory goes back whole, which for some hundred loaded modules is a good deal faster than
    taking them apart.
    """
    clear_away()
    if "hard exit" not in ABLE:
        raise SystemExit(code)
    # Told to end, it waits for nobody: what libraries registered joins threads and workers, which a signal in
    # the middle of a start may leave waiting for ever.
    registered = () if told_to_end() else (atexit._run_exitfuncs,)
    # A log or a pipe that is closed by now has been told about, or nobody listens.
    for work in (*registered, sys.stdout.flush, sys.stderr.flush):
        with contextlib.suppress(OSError, ValueError):
            work()
    os._exit(code)


def end_with_parent() -> None:
    """Let this process of `multiprocessing` end with the one that started it, however that ends."""
    import multiprocessing
    from multiprocessing.connection import wait

    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def interrupted_by_parent_alone() -> None:
    """Leave the terminal's interrupt to the process that started this one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def step_back() -> None:
    """Yield to everything else on the computer."""
    if "nice" in ABLE:
        os.nice(10)


# ---- files ------------------------------------------------------------------------------------------------

_UNFINISHED: set[Path] = set()


def beside(path: Path, *, ending: str = "") -> Path:
    """A name for the unfinished form of a file or folder, in the folder where it will lie, hidden.

    It is removed at the end of the process if it is still there then.
    """
    name = path.parent / f".{path.name[:100]}.{os.urandom(4).hex()}{ending}"
    _UNFINISHED.add(name)
    return name


def drop(name: Path) -> None:
    """Remove what `beside` named, if it is there."""
    import shutil

    with contextlib.suppress(OSError):
        if name.is_dir() and not name.is_symlink():
            shutil.rmtree(name, ignore_errors=True)
        else:
            name.unlink(missing_ok=True)
    _UNFINISHED.discard(name)


def clear_away() -> None:
    """Remove everything that is unfinished."""
    for name in list(_UNFINISHED):
        drop(name)


def put_new(whole: Path, path: Path) -> None:
    """Give a finished file its name, which nothing may have yet.

    Raises
    ------
    FileExistsError
        Something has it.
    """
    if "links" in ABLE:
        try:
            os.link(whole, path)  # unlike a rename, refuses to take the place of a file
            return
        except FileExistsError:
            raise
        except OSError:  # a file system without links
            pass
    # The name is taken first, with nothing in it, and by one alone.
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
    try:
        os.replace(whole, path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def put_folder(whole: Path, folder: Path) -> None:
    """Give a finished folder its name, which nothing but an empty folder may have.

    Raises
    ------
    FileExistsError
        Something has it.
    """
    if folder.is_dir() and not folder.is_symlink():
        with contextlib.suppress(OSError):
            folder.rmdir()  # does so only with an empty one
    try:
        if os.path.lexists(folder):
            raise FileExistsError(str(folder))
        os.rename(whole, folder)
    except OSError:
        # Between the look and the move another one's folder may have come: a full one is not replaced.
        if os.path.lexists(folder):
            raise FileExistsError(str(folder)) from None
        raise


def ordinary_rights(path: Path, *, folder: bool = False) -> None:
    """Let a result be seen by whomever the user lets see his files."""
    if "rights" in ABLE:
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(path, (0o777 if folder else 0o666) & ~mask)


@contextlib.contextmanager
def held(path: Path) -> Iterator[None]:
    """Keep a file that is there to this process, against others of ours, while it is looked at and replaced.

    Without locks nothing is kept.
    """
    if "locks" not in ABLE:
        yield
        return
    import fcntl

    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    try:
        with contextlib.suppress(OSError):  # a file system without locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)
