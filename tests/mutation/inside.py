"""A plugin of pytest: learns which test reaches what, or tries mutants where all is imported.

Each mutant has a process of its own, forked when the tests are collected and none has run: there
its function is given the code with the mistake, and its tests run up to the first that fails. That
is as good as importing the module with it where nothing called the function meanwhile. A mutant
that survives so although its line ran as modules were read, or that stands in no function, has a
whole run in which it stands in its file (``anew``).
"""

from __future__ import annotations

import gc
import json
import os
import resource
import signal
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from types import FunctionType
from typing import Any

import pytest
from coverage import Coverage

from tests.mutation.mutating import code_of

ASKED, LEARNT = "PACKBENCH_MUTANTS", "PACKBENCH_LEARNT"
"""Variables with the name of a file of JSON: what to try, and where to write what tests took."""
SLOWER = 10
"""So many times its usual time, and ten seconds, of the processor's may a test take: it goes in
circles then."""
MEMORY = 6 * 2**30

asked: dict[str, Any] = {}
if ASKED in os.environ:
    asked = json.loads(Path(os.environ[ASKED]).read_text())
seconds: dict[str, float] = defaultdict(float)


def say(number: int, killed_by: str) -> None:
    with Path(asked["answers"]).open("a") as file:
        file.write(f"{json.dumps([number, killed_by])}\n")


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    seconds[report.nodeid] += report.duration
    if report.failed and (number := asked.get("at")) is not None:
        say(number, report.nodeid)
        os._exit(0)


def pytest_sessionfinish() -> None:
    if LEARNT in os.environ:
        Path(os.environ[LEARNT]).write_text(json.dumps(seconds))


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> Iterator[None]:
    """To learn what reaches what, all is measured: also what CI passes over to save time."""
    yield
    if LEARNT in os.environ:
        for node in {node for item in items for node in item.listchain()}:
            node.own_markers = [one for one in node.own_markers if one.name != "unmeasured"]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """What runs meanwhile is this test's (pytest-cov 7.1 has an option for it, which left every
    line without its test here)."""
    measured = Coverage.current()
    if measured:
        measured.switch_context(item.nodeid)
    try:
        return (yield)
    finally:
        if measured:
            measured.switch_context("")


@pytest.hookimpl(tryfirst=True)
def pytest_runtestloop(session: pytest.Session) -> bool | None:
    if not asked:
        return None
    items = {item.nodeid: item for item in session.items}
    functions = {} if asked["anew"] else _functions()
    running: dict[int, int] = {}
    for number, one in enumerate(asked["tries"]):
        if len(running) == asked["jobs"]:
            _wait(running)
        if pid := os.fork():
            running[pid] = number
            continue
        try:
            asked["at"] = number
            if asked["anew"] or _changed(functions, one):
                tests = one["tests"] or [(name, 1.0) for name in items]
                _run([(items[name], took) for name, took in tests if name in items])
                say(number, "")
            else:
                say(number, "anew")
        finally:
            os._exit(0)
    while running:
        _wait(running)
    return True


def _run(tests: list[tuple[pytest.Item, float]]) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    following = [item for item, _ in tests[1:]]
    for (item, took), then in zip(tests, [*following, None], strict=False):
        signal.setitimer(signal.ITIMER_PROF, 10 + SLOWER * took)
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=then)


def _wait(running: dict[int, int]) -> None:
    pid, status = os.wait()
    number = running.pop(pid)
    if os.WIFSIGNALED(status):
        say(number, "time" if os.WTERMSIG(status) == signal.SIGPROF else "crash")


def _functions() -> dict[tuple[str, str, int], list[FunctionType]]:
    """All that live, by file, name and first line."""
    found = defaultdict(list)
    gc.unfreeze()
    for one in gc.get_objects():
        if isinstance(one, FunctionType):
            code = one.__code__
            found[code.co_filename, code.co_name, code.co_firstlineno].append(one)
    gc.freeze()
    return found


def _changed(functions: dict[tuple[str, str, int], list[FunctionType]], one: Any) -> bool:
    """Whether the function lives, and with the mistake is another one of the same form."""
    found = functions.get((one["file"], *one["function"]), [])
    code = code_of(compile(one["text"], one["file"], "exec"), tuple(one["function"]))
    if not found or not code or code == found[0].__code__:
        return False
    if code.co_freevars != found[0].__code__.co_freevars:
        return False
    for function in found:
        function.__code__ = code
    return True
