"""What elements recover from movements, block by block as it is asked for: modes of failure look at few of a
structure's blocks, and some of the others have the most elements."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly

Figures = dict[str, Array]
"""Of one block, by name: stresses, section forces."""


class NotFinite(ArithmeticError):
    """A figure that is no number: taken further it would look like a part that carries nothing."""


class Recovered(Mapping[str, Figures]):
    """Figures of blocks, each worked out as it is first asked for. `work` gives a block's figures by its
    name."""

    def __init__(self, names: Iterable[str], work: Callable[[str], Figures]) -> None:
        self._names, self._work = tuple(names), work
        self._known: dict[str, Figures] = {}

    def __getitem__(self, name: str) -> Figures:
        if name not in self._known:
            if name not in self._names:
                raise KeyError(name)
            figures = self._work(name)
            for key, values in figures.items():
                if not np.isfinite(values).all():
                    raise NotFinite(f"{key} of the {name} are not finite")
            self._known[name] = figures
        return self._known[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)

    def __reduce__(self) -> tuple[type, tuple[dict[str, Figures]]]:
        """To another process go the figures alone."""
        return dict, (dict(self),)


def recovered(assembly: Assembly, moves: Array) -> Recovered:
    """What `Assembly.recover` gives of movements (n_nodes, 6, ...), which must not be changed any more."""
    return Recovered(assembly.structure.blocks, lambda name: assembly.recover_block(name, moves))


def changed(figures: Mapping[str, Figures], change: Callable[[str, Figures], Figures]) -> Recovered:
    """The same figures, each block's changed as it is asked for."""
    return Recovered(figures, lambda name: change(name, figures[name]))


def with_block(figures: Mapping[str, Figures], name: str, own: Figures) -> Recovered:
    """The same figures but for those of one block."""
    return Recovered(figures, lambda one: own if one == name else figures[one])
