"""`python -m models.command` is the command `sparbay`."""

from __future__ import annotations

import sys

from models.command import main

if __name__ == "__main__":
    sys.exit(main())
