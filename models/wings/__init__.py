"""Wing files that come with the program."""

from __future__ import annotations

from pathlib import Path


def shipped() -> dict[str, Path]:
    """Their paths by their names.

    Examples
    --------
    >>> import sparbay
    >>> "trainer" in sparbay.shipped(), sparbay.shipped()["trainer"].name
    (True, 'trainer.toml')
    """
    from importlib.resources import files

    return {
        Path(str(f)).stem: Path(str(f))
        for f in sorted(files("models.wings").iterdir(), key=str)
        if f.name.endswith(".toml")
    }
