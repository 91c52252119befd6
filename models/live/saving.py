"""Files of the page: the wing file that was opened, and new files in the working folder by a plain name.

Nothing else is read or written, and nothing is written over but the opened file itself, and that only while
it is still what was read. Files are written whole or not at all.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from models.command.faults import InputFault
from models.command.files import rewrite, shipped, write_new
from models.live.cells import LiveState
from models.live.opened import Opened
from models.wing.faults import WingFileError
from models.wing.intake import MARK, IntakeError, file_bytes

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._+-]{0,99}")
_LONGEST = 600.0
"""Seconds that a report may take."""


class Refused(ValueError):
    """The page may not do that; the message says why and what to do instead."""


def plain_name(name: object, ending: str) -> str:
    """A file's name without any folder, with its ending (".toml", or "" for a folder) where it is missing.

    Raises
    ------
    Refused
        It is no plain name.
    """
    if not isinstance(name, str) or not _PLAIN.fullmatch(name.strip()) or ".." in name:
        raise Refused(
            "a name is letters, digits, blanks, full stops, hyphens, underscores and plus signs, begins with "
            "a letter or a digit, and names no folder."
        )
    name = name.strip().rstrip(".")
    return name if not ending or name.lower().endswith(ending) else name + ending


class Desk:
    """The opened file and the working folder.

    Parameters
    ----------
    path : Path
        Of the wing file.
    folder : Path
        The working folder.
    source : str
        The file's name as it was typed.

    Raises
    ------
    InputFault
        The file cannot be read.
    """

    def __init__(self, path: Path, folder: Path, source: str) -> None:
        self.folder = folder.resolve()
        self.source = source
        self.path = path.resolve()
        try:
            self._bytes = file_bytes(self.path)
            text = self._bytes.decode("utf-8")
        except IntakeError as error:
            raise InputFault(f"{self.source}: {error}") from None
        except UnicodeDecodeError as error:
            raise InputFault(
                f"{self.source}: is not text in UTF-8 (byte {error.start}); save it as plain text."
            ) from None
        # States are always written into the text as it was opened, so that what is undone is undone whole.
        self._mark = MARK if text.startswith(MARK) else ""
        self._looked: tuple[int, int, int] | None = None
        self._disk = ""
        self.opened = Opened(text.removeprefix(MARK), self.path.parent, self.source, self.path.stem)

    @property
    def is_shipped(self) -> bool:
        """The file came with the program and is not to be written over."""
        return self.path in {path.resolve() for path in shipped().values()}

    @property
    def hash(self) -> str:
        """Of what the file has, as it was read or last saved here: whoever saves says what was seen."""
        return hashlib.sha256(self._bytes).hexdigest()[:32]

    def on_disk(self) -> str:
        """Words where the file on disk is no longer what was read or saved; else nothing."""
        try:
            found = os.stat(self.path)
            now = (found.st_mtime_ns, found.st_size, found.st_ino)
        except OSError:
            self._looked = None
            return f"{self.path.name} is gone from its folder; Save is refused, save under another name."
        if now != self._looked:
            self._disk = "" if self._is_as_read() else (
                f"{self.path.name} has changed on disk since it was read ({found.st_size} bytes now); it is "
                "left as it is: save under another name, or end the program and open it anew."
            )  # fmt: skip
            self._looked = now
        return self._disk

    def save(self, state: LiveState, seen: tuple[object, object] | None = None) -> str:
        """Write a state into the opened file; words of what was done.

        `seen` is the name and the hash of the file that the asking tab believes to save in; None asks
        nothing.

        Raises
        ------
        Refused
            A shipped wing, a file that is no longer what was read, or another than the tab believes.
        InputFault
            It cannot be written.
        models.wing.faults.WingFileError, models.live.opened.NotWritten
            The state is no wing, or cannot be put into the file's text.
        """
        if self.is_shipped:
            raise Refused(f"{self.source} came with the program and is never overwritten; save under a name.")
        if seen is not None and seen != (self.path.name, self.hash):
            other = self.path.name
            what = "saved in it" if seen[0] == other else f"gone on with {other}"
            raise Refused(
                f"another tab of this page has {what} since this one was loaded; nothing was written. Reload "
                "this tab to go on from there (its layout stays), or save under another name."
            )
        text = self.opened.text_of(state)
        if not rewrite(self.path, self._bytes, self._mark + text):
            raise Refused(
                self.on_disk()
                or f"{self.path.name} has changed on disk since it was read, and is left as it is; save "
                "under another name, or open it anew."
            )
        self._bytes = (self._mark + text).encode("utf-8")
        return f"Saved in {self.path.name}."

    def save_as(self, state: LiveState, name: object) -> str:
        """Write a state as a new file in the working folder and go on with that; words of what was done.

        Raises
        ------
        Refused
            No plain name, or a text that is not the same wing there.
        InputFault
            The file exists already, or cannot be written.
        models.wing.faults.WingFileError, models.live.opened.NotWritten
            As `save`.
        """
        path = self.folder / plain_name(name, ".toml")
        text = self.opened.text_of(state)
        # Coordinate files count from the wing file's folder.
        _ = Opened(text, self.folder, path.name, path.stem).wing
        write_new(path, text)
        self.path, self.source, self._bytes, self._mark = path, path.name, text.encode("utf-8"), ""
        return f"Saved as {path.name} in the working folder; the page goes on with that file."

    def mended(self, state: LiveState, name: object) -> tuple[str, LiveState | None]:
        """Let `sparbay mend` find the smallest changes that make the wing fit and write the file with them.

        Returns
        -------
        str, State or None
            Words of what was done, and the state with the changes where they are all of webs.

        Raises
        ------
        Refused
            As `report`.
        """
        plain = plain_name(name, ".toml")
        said = self._command(state, self.folder / plain, "mend", "--out", said="--json")
        try:
            words = [str(one) for one in json.loads(said)["answer"]["sentences"]]
        except (ValueError, KeyError, TypeError):
            words = []
        found = None
        if (self.folder / plain).exists():
            with contextlib.suppress(WingFileError, IntakeError, UnicodeDecodeError):
                text = file_bytes(self.folder / plain).decode("utf-8").removeprefix(MARK)
                found = self.opened.state_of(text)
            words.append(
                f"The wing with these changes is {plain} in the working folder; open it with: sparbay live "
                f"{plain}"
            )
        else:
            words.append("No file was written.")
        if found is not None:
            words.append("All of them are of webs: they are put in on this page now; Undo takes them out.")
        return "\n".join(words), found

    def report(self, state: LiveState, name: object) -> str:
        """Let `sparbay report` write the page of a state into the working folder; words of what was done.

        Raises
        ------
        Refused
            No plain name, or what the command said where it could not do it.
        """
        plain = plain_name(name, ".html")
        self._command(state, self.folder / plain, "report", "--out")
        return f"The report is {plain} in the working folder."

    def drawings(self, state: LiveState, name: object) -> str:
        """Let `sparbay draw` write drawings of a state into a new folder; words of what was done.

        Raises
        ------
        Refused
            As `report`.
        """
        plain = plain_name(name, "")
        self._command(state, self.folder / plain, "draw", "--folder")
        return f"Drawings and cut list are in the folder {plain} in the working folder."

    def _is_as_read(self) -> bool:
        """The file on disk is still what was read; it may have changed, grown beyond bounds, or gone."""
        try:
            return file_bytes(self.path) == self._bytes
        except IntakeError:
            return False

    def _command(self, state: LiveState, out: Path, command: str, option: str, said: str = "--quiet") -> str:
        if os.path.lexists(out):
            raise Refused(f"{out.name} exists already and is not overwritten; give another name.")
        text = self.opened.text_of(state)
        with tempfile.TemporaryDirectory() as there:
            file = self.path
            if (self._mark + text).encode("utf-8") != self._bytes or not self._is_as_read():
                file = Path(there) / self.path.name
                file.write_text(text, encoding="utf-8", newline="")
            root = str(Path(__file__).resolve().parents[2])
            # By its bare name, which is all that the report should say of where it lies.
            name = f"./{file.name}" if file.name.startswith("-") else file.name
            line = [sys.executable, "-m", "models.command", command, name, option, str(out), said]
            path = os.pathsep.join([root, os.environ.get("PYTHONPATH", "")])
            try:
                done = subprocess.run(
                    line, capture_output=True, text=True, cwd=file.parent, timeout=_LONGEST,
                    env={**os.environ, "PYTHONPATH": path},
                )  # fmt: skip
            except subprocess.TimeoutExpired:
                raise Refused(
                    f"sparbay {command} took longer than {_LONGEST:.0f} s and was ended; nothing was written."
                ) from None
        if done.returncode not in (0, 1):
            raise Refused(done.stderr.strip() or f"sparbay {command} left with {done.returncode}.")
        return done.stdout
