"""A plugin of pytest: of what was collected only the tests named in a file, in their order.

Where none are named, coverage is told which test runs (pytest-cov 7.1 has an option for it, which
left every line without its test here).
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from coverage import Coverage

NAMED_IN = "PACKBENCH_TESTS"
"""The variable with the name of a file: a list of tests as JSON, in the order to run them."""


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if NAMED_IN not in os.environ:
        return
    order = {name: at for at, name in enumerate(json.loads(Path(os.environ[NAMED_IN]).read_text()))}
    kept = [item for item in items if item.nodeid in order]
    config.hook.pytest_deselected(items=[item for item in items if item.nodeid not in order])
    items[:] = sorted(kept, key=lambda item: order[item.nodeid])


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """What runs meanwhile is this test's."""
    measured = Coverage.current()
    if measured:
        measured.switch_context(item.nodeid)
    try:
        return (yield)
    finally:
        if measured:
            measured.switch_context("")
