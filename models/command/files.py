"""Files in and out: where a wing file is found, and how results are put in place whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from models import system
from models import units_out as say
from models.command.faults import InputFault
from models.wings import shipped

if TYPE_CHECKING:
    from models.wing.parts import Wing


def find(name: str) -> Path:
    """The wing file of a name: a file's path or, where no such file exists, the name of a shipped wing.

    Parameters
    ----------
    name : str
        As it was typed.

    Returns
    -------
    Path

    Raises
    ------
    InputFault
        Neither; says which wings are shipped.
    """
    path = Path(name)
    if os.path.exists(name):  # unlike Path.exists, answers also for a name that no file can have
        return path
    known = shipped()
    if name in known:
        return known[name]
    from models.wing.faults import did_you_mean
    from models.wing.intake import shown

    near = did_you_mean(path.stem[:100], known)
    told = shown(name) if len(name) <= 200 else f"{shown(name[:196])} ..."
    raise InputFault(
        f"{told}: no such file, and no shipped wing of that name{near or '.'} Shipped: {', '.join(known)}."
    )


def read_wing(name: str) -> Wing:
    """Find and read a wing file; messages name it as it was typed, and its units are spoken from now on.

    Raises
    ------
    InputFault
        There is no such file.
    WingFileError
        The file has faults.
    """
    from models.wing.reading import read

    wing = read(find(name), source=name)
    say.adopt(wing.units)
    return wing


def must_fly(wing: Wing, source: str, what: str) -> None:
    """Raise for a specimen, before anything is worked out for it.

    Parameters
    ----------
    wing : Wing
        As read.
    source : str
        Its file, as it was typed.
    what : str
        What needs a wing.

    Raises
    ------
    InputFault
        It is held at its root.
    """
    if wing.clamped:
        raise InputFault(f"{source}: a specimen does not fly; {what} needs a wing.")


def write_new(path: Path, text: str | bytes) -> None:
    """Write a file, of text or as it is, that must not exist yet, whole or not at all.

    Raises
    ------
    InputFault
        It exists already, or cannot be written.
    """
    with writing(path), _whole(path, text) as whole:
        try:
            system.put_new(whole, path)
        except FileExistsError:
            raise InputFault(f"{path}: exists already and is not overwritten; give another name.") from None


def write_text(path: Path, text: str | bytes) -> None:
    """Write a file, of text or as it is, whole, then put it in place of any before it.

    Raises
    ------
    InputFault
        It cannot be written.
    """
    with writing(path), _whole(path, text) as whole:
        os.replace(whole, path)


def with_ends_of(text: str, path: Path) -> str:
    """A text with the line ends of the file that it was made from: those of Windows, or plain ones."""
    from models.wing.intake import file_bytes

    first = file_bytes(path).partition(b"\n")[0]
    return text.replace("\n", "\r\n") if first.endswith(b"\r") else text


def rewrite(path: Path, before: bytes, text: str) -> bool:
    """Put a text in place of a file that still is what was read; against other runs, one of two wins.

    Parameters
    ----------
    path : Path
        The file; no link.
    before : bytes
        What was read.
    text : str
        What shall be there.

    Returns
    -------
    bool
        Whether it was; False leaves the file as it is.

    Raises
    ------
    InputFault
        It cannot be written.
    """
    from models.wing.intake import IntakeError, file_bytes

    try:
        if path.is_symlink():
            return False
        with system.held(path):
            if file_bytes(path) != before:
                return False
            write_text(path, text)
    except (IntakeError, FileNotFoundError):
        return False
    except OSError as error:
        raise InputFault(f"{path}: cannot be written: {error.strerror or error}.") from None
    return True


@contextmanager
def _whole(path: Path, text: str | bytes) -> Iterator[Path]:
    """The text in an unfinished file of the same folder, with the rights of an ordinary file; gone after."""
    whole = system.beside(path)
    try:
        with open(whole, "xb") as file:
            file.write(text.encode("utf-8") if isinstance(text, str) else text)
        system.ordinary_rights(whole)
        yield whole
    finally:
        system.drop(whole)


def refuse_file(path: Path, *, overwrite: bool = False, mend: str = "give another name") -> None:
    """Raise where a file may not be written, before anything is worked out for it.

    Raises
    ------
    InputFault
        Something of that name is there, or it would lie in no folder, or in one that takes none.
    """
    if os.path.isdir(path):
        raise InputFault(f"{path}: is a folder; give a file.")
    if os.path.lexists(path) and not overwrite:
        raise InputFault(f"{path}: exists already and is not overwritten; {mend}.")
    if not os.path.isdir(path.parent):
        raise InputFault(f"{path}: cannot be written: there is no folder {path.parent} to write it into.")
    _refuse_closed(path, path.parent)


def new_folder(name: str | None, *, scenes: bool = False) -> Path | None:
    """The folder of an option `--folder`, before anything is worked out for it; None where none was named.

    Parameters
    ----------
    name : str or None
        As it was typed.
    scenes : bool
        Views of the wing are drawn into it, not graphs alone.

    Raises
    ------
    InputFault
        It holds something already, or is a file, or cannot be made; or nothing can draw.
    """
    if not name:
        return None
    folder = Path(name)
    refuse_taken(folder)
    if scenes:
        need_scenes()
    else:
        need("matplotlib", _NO_PICTURES, "leave --folder out")
    return folder


_NO_PICTURES = "--folder: there is nothing to draw pictures with"


def need(library: str, what: str, without: str) -> None:
    """Raise where a library is not installed, before anything is worked out.

    Raises
    ------
    InputFault
        With the command that brings it.
    """
    from importlib.util import find_spec

    try:
        there = find_spec(library) is not None
    except (ImportError, ValueError):
        there = False
    if not there:
        raise InputFault(
            f"{what}: the library {library} is not installed; get it with: python -m pip install {library}, "
            f"or {without}."
        )


def need_scenes() -> None:
    """Raise where a library, or whatever draws without a screen, is missing.

    Raises
    ------
    InputFault
        With what brings it.
    """
    for library in ("pyvista", "matplotlib"):
        need(library, _NO_PICTURES, "leave --folder out")
    from models.pictures.screen import NoRenderer, drawing_surface

    try:
        with drawing_surface(off_screen=True):
            pass
    except (NoRenderer, ImportError) as fault:
        raise InputFault(f"{_NO_PICTURES}: {fault}; or leave --folder out.") from None


def refuse_taken(folder: Path) -> None:
    """Raise for a folder that holds something already, a file of that name, or a place that takes none."""
    if os.path.lexists(folder):
        if not folder.is_dir() or folder.is_symlink() or any(folder.iterdir()):
            raise InputFault(f"{folder}: exists already; nothing in it is overwritten. Give another folder.")
        if folder.is_mount():
            raise InputFault(f"{folder}: cannot be replaced; give a new folder within it.")
    place = Path(os.path.abspath(folder)).parent
    while not os.path.lexists(place) and place != place.parent:
        place = place.parent
    if not place.is_dir():
        raise InputFault(f"{folder}: cannot be written: {place} is a file.")
    _refuse_closed(folder, place)


def _refuse_closed(path: Path, place: Path) -> None:
    if not os.access(place, os.W_OK | os.X_OK):
        raise InputFault(f"{path}: cannot be written: no rights to write into {place}.")


def filled(folder: Path | None, fill: Callable[[Path], Iterable[Path]]) -> list[Path]:
    """Let files be written into a folder that is put in place whole, or not at all.

    Where that fails it is told in the end (`unwritten`), with the exit code; the answer, which may have taken
    long, is given all the same.

    Parameters
    ----------
    folder : Path or None
        New or empty; None writes nothing.
    fill : callable
        Writes into the folder it is given; files in the order in which they are told.

    Returns
    -------
    list of Path
        The files as they lie now.
    """
    return [] if folder is None else written(lambda: _filled(folder, fill))


def written(work: Callable[[], list[Path]]) -> list[Path]:
    """Files that `work` writes; none, and a word in `unwritten`, where it raises an `InputFault`."""
    try:
        return work()
    except InputFault as fault:
        unwritten.append(str(fault))
        return []


unwritten: list[str] = []
"""What could not be written so far, in words, and was not told yet."""


def _filled(folder: Path, fill: Callable[[Path], Iterable[Path]]) -> list[Path]:
    whole = system.beside(Path(os.path.abspath(folder)))
    with writing(folder):
        try:
            whole.parent.mkdir(parents=True, exist_ok=True)
            whole.mkdir()
            names = [path.relative_to(whole) for path in fill(whole)]
            if any(whole.iterdir()):
                system.ordinary_rights(whole, folder=True)
                system.put_folder(whole, folder)
        except FileExistsError:
            raise InputFault(
                f"{folder}: exists already: another run was quicker, nothing in it is overwritten. "
                "Give another folder."
            ) from None
        finally:
            system.drop(whole)
    return [folder / name for name in names]


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Turn what the system says of a place that cannot be written to into a fault of input that names it."""
    try:
        yield
    except OSError as error:
        raise InputFault(f"{path}: cannot be written: {error.strerror or error}.") from None
