"""Everything here is timed work: it runs when benchmarks are asked for, and not in the normal run."""

from __future__ import annotations

from pathlib import Path

import pytest


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip what measures without the benchmark fixture too."""
    if config.getoption("benchmark_only") or config.getoption("benchmark_enable"):
        return
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.skip(reason="runs with --benchmark-enable"))
