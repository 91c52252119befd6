"""`python -m sparbay` is the command `sparbay`."""

from __future__ import annotations

from models.command import program

if __name__ == "__main__":
    program()
