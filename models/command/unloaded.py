"""Modules that libraries load though nothing here uses them: loaded when they are first used.

scipy's array interface takes over everything that numpy exports, and so loads numpy's Fortran wrapper
generator and its test tools: a third of the time that numpy and scipy need to start. The standard library's
`LazyLoader` leaves the module in its place and loads it at the first look inside.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder
from importlib.util import LazyLoader
from types import ModuleType

POSTPONED = ("numpy.f2py", "numpy.testing")


class _Later(MetaPathFinder):
    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if fullname not in POSTPONED:
            return None
        spec = PathFinder.find_spec(fullname, path, target)
        if spec is not None and spec.loader is not None:
            spec.loader = LazyLoader(spec.loader)
        return spec


def postpone() -> None:
    """Load `POSTPONED` when they are first used, in this process, from now on; once is enough."""
    if not any(isinstance(finder, _Later) for finder in sys.meta_path):
        sys.meta_path.insert(0, _Later())
