"""The command line: `sparbay check wing.toml` and its neighbours.

`main` is the only boundary: whatever goes wrong below it becomes a message on stderr and an exit code of
`exit_codes`. Answers go to stdout, progress and messages to stderr.
"""

from __future__ import annotations

import os

# Before numpy is loaded: an analysis is thousands of small dense products, for which more threads only cost.
for _library in ("OPENBLAS", "OMP", "MKL"):
    os.environ.setdefault(f"{_library}_NUM_THREADS", "1")

# Huge pages for arrays that live for a moment cost the system more than they save: a tenth of a check of 50
# bays.
os.environ.setdefault("NUMPY_MADVISE_HUGEPAGE", "0")

# No plugin has business with wing files, and to look for one every installed package is opened.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

from models.command.boundary import main, program  # noqa: E402
from models.command.unloaded import postpone  # noqa: E402

postpone()

__all__ = ["main", "program"]
