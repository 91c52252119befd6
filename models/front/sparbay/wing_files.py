"""What begins with a wing file: reading one, and the page about one."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from models.wing import reading
from models.wing.parts import Wing
from models.wings import shipped


def read(file: str | Path) -> Wing:
    """Read a wing file, or a wing that comes with the program.

    Parameters
    ----------
    file : str or Path
        A TOML file or, where there is none of that name, the name of a shipped wing (`shipped` lists them).

    Returns
    -------
    Wing
        In SI, with every default that was filled in listed in `assumed`.

    Raises
    ------
    WingFileError
        There is no such file, or it has faults; all that were found, a line each.

    Examples
    --------
    >>> import sparbay
    >>> wing = sparbay.read("trainer")
    >>> wing.name
    'Trainer wing'
    >>> print(f"{wing.semispan:.3f} m, {len(wing.ribs)} ribs, spars: {', '.join(s.name for s in wing.spars)}")
    0.700 m, 11 ribs, spars: main
    """
    known = shipped() if isinstance(file, str) and not Path(file).exists() else {}
    return reading.read(known.get(str(file), file), source=str(file))


def report(
    file: str | Path,
    out: str | Path,
    *,
    per_bay: int = 4,
    page: Literal["a4", "letter"] | None = None,
    overwrite: bool = False,
) -> dict[str, Any]:
    """Write one file that says everything about one wing, as the command `sparbay report` does.

    Parameters
    ----------
    file : str or Path
        A wing file or the name of a shipped wing.
    out : str or Path
        Where to; ends in .html, or in .pdf (which needs the extra `pdf` and Pango).
    per_bay : int, default 4
        Elements along a bay.
    page : {"a4", "letter"} or None
        Paper; None for the printer's own, of a PDF a4.
    overwrite : bool, default False
        Replace a file that is there.

    Returns
    -------
    dict
        The answers of the page as plain data in SI, units in the keys; `["answer"]["fit"]` is the verdict,
        `["answer"]["sentences"]` its words.

    Raises
    ------
    WingFileError
        The file has faults.
    InputFault
        There is no such file, or the page cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from pathlib import Path
    >>> import sparbay
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     answers = sparbay.report("spar-c", Path(folder) / "spar.html", per_bay=1)
    ...     text = (Path(folder) / "spar.html").read_text(encoding="utf-8")
    >>> answers["answer"]["fit"]
    True
    >>> text[:15]
    '<!doctype html>'
    """
    from models.command.report import written

    return written(str(file), Path(out), per_bay=per_bay, page=page, overwrite=overwrite)
