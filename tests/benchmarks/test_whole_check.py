"""A whole `sparbay check powered-tailless`, start of the process to its end, beside the bare import of numpy
and scipy.sparse.linalg, in pairs turn and turn about; and a hundred wings in one process.

Processor seconds of the child, so that neighbours on the machine count little. What Python has compiled is
kept, as an installation does (`PYTHONDONTWRITEBYTECODE` is taken away).
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys

from models.command.files import shipped
from models.studies.family import check_family, family

BARE = (sys.executable, "-c", "import numpy, scipy.sparse.linalg")
CHECK = (
    sys.executable, "-c",
    "import sys; from models.command import main; sys.exit(main(['check', 'powered-tailless']))",
)  # fmt: skip
PAIRS = 15


def _processor_seconds(command: tuple[str, ...], cache: str) -> float:
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        command,
        check=True,
        stdout=subprocess.DEVNULL,
        env=environment | {"OPENBLAS_NUM_THREADS": "1", "PYTHONPYCACHEPREFIX": cache},
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def test_check_beside_the_bare_import(benchmark, tmp_path, capsys):
    cache = str(tmp_path)
    for command in (CHECK, BARE):
        _processor_seconds(command, cache)
    pairs = [(_processor_seconds(CHECK, cache), _processor_seconds(BARE, cache)) for _ in range(PAIRS)]
    ratios = sorted(check / bare for check, bare in pairs)
    ours, bare = (statistics.median(column) for column in zip(*pairs))
    middle = statistics.median(ratios)
    benchmark.extra_info.update(check=ours, bare=bare, ratio=middle)
    benchmark.pedantic(_processor_seconds, args=(CHECK, cache), rounds=3)
    with capsys.disabled():
        print(
            f"\nsparbay check powered-tailless {ours:.3f} s, bare import {bare:.3f} s of processor: ratio "
            f"{middle:.2f} (median of {PAIRS} pairs; {ratios[0]:.2f} to {ratios[-1]:.2f})"
        )


def test_a_hundred_wings(benchmark):
    """A family in one process, where nothing is loaded twice."""
    members = family([("trainer", shipped()["trainer"])], ["ribs.thickness=1.5 mm..3 mm..100"])
    verdicts = benchmark.pedantic(lambda: list(check_family(members)), rounds=1)
    masses = [verdict.structural_mass for verdict in verdicts]
    assert sorted(masses) == masses
    assert not any(verdict.fault for verdict in verdicts)
