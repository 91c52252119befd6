"""Files in and out: where a wing file is found, and how results are put in place whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

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

    near = did_you_mean(path.stem, known)
    raise InputFault(
        f"{name}: no such file, and no shipped wing of that name{near or '.'} Shipped: {', '.join(known)}."
    )


def read_wing(name: str) -> Wing:
    """Find and read a wing file; messages name it as it was typed.

    Raises
    ------
    InputFault
        There is no such file.
    WingFileError
        The file has faults.
    """
    from models.wing.reading import read

    return read(find(name), source=name)


def write_new(path: Path, text: str | bytes) -> None:
    """Write a file, of text or as it is, that must not exist yet, whole or not at all.

    Raises
    ------
    InputFault
        It exists already, or cannot be written.
    """
    with writing(path):
        whole = _beside(path, text)
        try:
            os.link(whole, path)  # unlike a rename, refuses to take the place of a file
        except FileExistsError:
            raise InputFault(f"{path}: exists already and is not overwritten; give another name.") from None
        except OSError:  # a file system without links
            if path.exists():
                raise InputFault(
                    f"{path}: exists already and is not overwritten; give another name."
                ) from None
            os.replace(whole, path)
        finally:
            Path(whole).unlink(missing_ok=True)


def write_text(path: Path, text: str | bytes) -> None:
    """Write a file, of text or as it is, whole, then put it in place of any before it.

    Raises
    ------
    InputFault
        It cannot be written.
    """
    with writing(path):
        os.replace(_beside(path, text), path)


def _beside(path: Path, text: str | bytes) -> str:
    """The text in a temporary file of the same folder, with the rights of an ordinary file."""
    import tempfile

    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode("utf-8") if isinstance(text, str) else text)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return name


def new_folder(name: str | None) -> Path | None:
    """The folder of an option `--folder`, before anything is worked out for it; None where none was named.

    Raises
    ------
    InputFault
        It holds something already, or is a file.
    """
    if not name:
        return None
    folder = Path(name)
    refuse_taken(folder)
    return folder


def refuse_taken(folder: Path) -> None:
    """Raise for a folder that holds something already, or a file of that name."""
    if folder.is_dir() and not any(folder.iterdir()):
        return
    if os.path.lexists(folder):
        raise InputFault(f"{folder}: exists already; nothing in it is overwritten. Give another folder.")


@contextmanager
def filling(folder: Path) -> Iterator[None]:
    """`writing`, with the folder made first."""
    with writing(folder):
        folder.mkdir(parents=True, exist_ok=True)
        yield


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Turn what the system says of a place that cannot be written to into a fault of input that names it."""
    try:
        yield
    except OSError as error:
        raise InputFault(f"{path}: cannot be written: {error.strerror or error}.") from None
