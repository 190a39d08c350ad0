"""Mutants against the tests of their own module, in copies of the tree."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import ceil
from pathlib import Path
from random import Random
from xml.etree import ElementTree

from coverage import CoverageData

from tests.migrated import ROOT
from tests.mutation.chosen import NAMED_IN
from tests.mutation.mutating import Mutant, mutants_of

OWN = {
    "rules": (("assembly/rules",), ("tests/rules", "tests/published", "assembly/rules")),
    "units": (("catalog/units.py",), ("tests/catalog/test_units.py", "catalog/units.py")),
    "lookup": (("catalog/lookup",), ("tests/catalog/lookup", "tests/assembly/test_lookup.py",
                                     "tests/project/test_lookup_fields.py", "catalog/lookup")),
    "standing": (("assembly/packages/standing.py",),
                 ("tests/assembly/packages/test_standing.py",
                  "tests/assembly/packages/test_not_to_be_used.py")),
}  # fmt: skip
"""What is mutated, and its own tests."""
LEAST_PART = 0.1
"""Of the mutants, for each of these however small it is."""
PLUGIN = ("-p", "tests.mutation.chosen")
SLOWER = 10.0
"""So many times its usual time, and two minutes, may a run take: it goes in circles then, also on
a machine where others work."""


@dataclass(frozen=True, slots=True)
class Ended:
    """What came of a mutant: the first test that failed, "time", "does not load", or nothing."""

    name: str
    of: str
    killed_by: str
    ran: int


def chosen(count: int, seed: int, only: str = "") -> list[tuple[str, Mutant]]:
    """So many mutants, with what each belongs to: by chance, but of each a tenth at least, or
    ``only`` of one."""
    every = {of: list(_every(places)) for of, (places, _) in OWN.items() if only in ("", of)}
    total = sum(map(len, every.values()))
    chance, found = Random(seed), list[tuple[str, Mutant]]()
    shares = {of: max(LEAST_PART, len(all_) / total) for of, all_ in every.items()}
    for of, all_ in every.items():
        share = ceil(count * shares[of] / sum(shares.values()))
        found += [(of, one) for one in chance.sample(all_, min(share, len(all_)))]
    chance.shuffle(found)
    return found[:count]


def _every(places: tuple[str, ...]) -> Iterator[Mutant]:
    for place in places:
        whole = ROOT / place
        for path in sorted(whole.rglob("*.py")) if whole.is_dir() else [whole]:
            yield from mutants_of(str(path.relative_to(ROOT)), path.read_text())


@dataclass
class Copy:
    """A copy of the tree, in which one mutant lives at a time."""

    folder: Path
    tests: dict[str, list[str]] = field(default_factory=dict)
    """All own tests, the quickest first."""
    seconds: dict[str, float] = field(default_factory=dict)
    at_line: dict[str, dict[tuple[str, int], set[str]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        listed = subprocess.run(
            ["git", "ls-files", "-coz", "--exclude-standard"], cwd=ROOT, check=True,
            capture_output=True,
        ).stdout.decode()  # fmt: skip
        for name in filter(None, listed.split("\0")):
            if (ROOT / name).is_file():
                (self.folder / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(ROOT / name, self.folder / name)

    def learn(self, of: str) -> None:
        """Which of its own tests run which line. RuntimeError where one fails without a mutant."""
        places, tests = OWN[of]
        report, data = self.folder / f"{of}.xml", self.folder / f".coverage.{of}"
        done = self._pytest(
            [*tests, f"--junitxml={report}", "--cov-report=",
             *(f"--cov={place.removesuffix('.py').replace('/', '.')}" for place in places)],
            None, COVERAGE_FILE=str(data), HYPOTHESIS_PROFILE="quick",
        )  # fmt: skip
        if done.returncode:
            raise RuntimeError(f"The tests of {of} fail by themselves:\n{done.stdout[-4000:]}")
        self.at_line[of], self.seconds = defaultdict(set), {**self.seconds, **_seconds(report)}
        read = CoverageData(str(data))
        read.read()
        met = set()
        for file in read.measured_files():
            path = str(Path(file).relative_to(self.folder))
            for line, contexts in read.contexts_by_lineno(file).items():
                names = set(contexts)
                self.at_line[of][path, line] = names
                met |= names
        self.tests[of] = self._quickest_first(met - {""})

    def _quickest_first(self, names: set[str]) -> list[str]:
        return sorted(names, key=lambda name: (self.seconds.get(_key(name), 1.0), name))

    def end_of(self, of: str, mutant: Mutant) -> Ended:
        """Whether a test notices. What runs when the module is read is asked of all own tests."""
        path, names = self.folder / mutant.path, self._covering(of, mutant)
        whole = path.read_bytes()
        limit = 120 + SLOWER * sum(self.seconds.get(_key(name), 1.0) for name in names)
        path.write_bytes(mutant.made(whole))
        try:
            files = sorted({name.partition("::")[0] for name in names})
            done = self._pytest([*files, "-x"], names, limit)
            killed = {0: "", 1: _failed(done.stdout), 5: ""}.get(done.returncode, "does not load")
        except subprocess.TimeoutExpired:
            killed = "time"
        finally:
            path.write_bytes(whole)
        return Ended(mutant.name, of, killed, len(names))

    def _covering(self, of: str, mutant: Mutant) -> list[str]:
        """All own tests where the line runs as its module is read, or nobody saw it run."""
        lines = range(mutant.line, mutant.line + mutant.was.count("\n") + 1)
        names = set[str]().union(*(self.at_line[of].get((mutant.path, at), set()) for at in lines))
        return self.tests[of] if "" in names or not names else self._quickest_first(names)

    def _pytest(
        self, arguments: list[str], only: list[str] | None, limit: float | None = None, **more: str
    ) -> subprocess.CompletedProcess[str]:
        env = {**os.environ, "PYTEST_ADDOPTS": "", "HYPOTHESIS_PROFILE": "full",
               "PYTHONDONTWRITEBYTECODE": "1", **more}  # fmt: skip
        env.pop("DATABASE_URL", None)
        if only is not None:
            named = self.folder / "tests-to-run.json"
            named.write_text(json.dumps(only))
            env[NAMED_IN] = str(named)
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-n0",
            "-q",
            "--no-header",
            "-rf",
            *PLUGIN,
            *arguments,
        ]
        return subprocess.run(
            command, cwd=self.folder, env=env, text=True, timeout=limit,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip


def _seconds(report: Path) -> dict[str, float]:
    """How long each test took, by the last parts of its name."""
    cases = ElementTree.parse(report).getroot().iter("testcase")
    return {
        f"{one.get('classname', '')}::{one.get('name')}": float(one.get("time", 1)) for one in cases
    }


def _key(node: str) -> str:
    """What the report calls a test: its file and classes with dots, then its name."""
    plain, bracket, values = node.partition("[")
    *places, name = plain.split("::")
    dotted = ".".join(one.removesuffix(".py").replace("/", ".") for one in places)
    return f"{dotted}::{name}{bracket}{values}"


def _failed(said: str) -> str:
    """The test that failed, as the last lines name it."""
    lines = [line for line in said.splitlines() if line.startswith(("FAILED ", "ERROR "))]
    return lines[0].split(" ", 1)[1].partition(" - ")[0] if lines else "a test"
