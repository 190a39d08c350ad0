"""Mutants against the tests of their own module, in a copy of the tree."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from math import ceil
from pathlib import Path
from typing import Any

from coverage import CoverageData

from tests.migrated import ROOT
from tests.mutation.inside import ASKED, LEARNT
from tests.mutation.mutating import Mutant, function_of, mutants_of

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
CLOCKED = "test_a_decision_stays_near_the_bare_comparisons"
"""Reads a clock: on a busy machine it fails whatever the mistake, which kills nothing."""
LEAST_PART = 0.1
"""Of the mutants, for each of these however small it is."""
STEPS = (0.02, 0.1, 1.0)
"""Seconds: tests that take less come first, those of a step as they stand in their files (what
several of them share is made once)."""


@dataclass(frozen=True, slots=True)
class Ended:
    """What came of a mutant: the first test that failed, "time", "crash", or nothing; None where
    it was drawn and not tried yet."""

    name: str
    of: str
    killed_by: str | None
    ran: int = 0


def chosen(count: int, seed: int, only: str = "") -> list[tuple[str, Mutant]]:
    """So many mutants, with what each belongs to: by lot, but of each a tenth at least, or
    ``only`` of one."""
    every = {of: mutants_in(of) for of in OWN if only in ("", of)}
    total = sum(map(len, every.values()))
    shares = {of: max(LEAST_PART, len(all_) / total) for of, all_ in every.items()}
    found = list[tuple[str, Mutant]]()
    for of, all_ in every.items():
        share = ceil(count * shares[of] / sum(shares.values()))
        found += [(of, one) for one in sorted(all_, key=lambda one: one.drawn(seed))[:share]]
    return sorted(found, key=lambda each: each[1].drawn(seed))[:count]


@cache
def mutants_in(of: str) -> list[Mutant]:
    """All that could be drawn of one of these."""
    return [one for path in _files(OWN[of][0])
            for one in mutants_of(str(path.relative_to(ROOT)), path.read_text())]  # fmt: skip


def _files(places: tuple[str, ...]) -> Iterator[Path]:
    for whole in (ROOT / place for place in places):
        yield from sorted(whole.rglob("*.py")) if whole.is_dir() else [whole]


@dataclass
class Copy:
    """A copy of the tree, with what is compiled of it, so that work on it goes on meanwhile."""

    folder: Path

    def __post_init__(self) -> None:
        listed = subprocess.run(
            ["git", "ls-files", "-coz", "--exclude-standard"], cwd=ROOT, check=True,
            capture_output=True,
        ).stdout.decode()  # fmt: skip
        for file in (ROOT / name for name in filter(None, listed.split("\0"))):
            if file.is_file():
                for each in (file, *file.parent.glob(f"__pycache__/{file.stem}.*")):
                    to = self.folder / each.relative_to(ROOT)
                    to.parent.mkdir(parents=True, exist_ok=True)
                    shutil.copy2(each, to)

    def learn(self, of: str, mutants: list[Mutant]) -> dict[str, Any]:
        """Which own tests reach which mutant, in the order to try them, with their seconds; all
        (``anew``) for what ran as modules were read, none for a function that none of them calls.
        Kept while neither of both changes.
        RuntimeError where a test fails without a mutant."""
        read = sha256("".join(one.name for one in mutants).encode())
        for file in _files((*OWN[of][0], *OWN[of][1])):
            read.update(file.read_bytes())
        kept = Path(tempfile.gettempdir()) / f"packbench-reached-{read.hexdigest()[:16]}.json"
        if not kept.exists():
            kept.write_text(json.dumps(self._learnt(of, mutants)))
        return dict(json.loads(kept.read_text()))

    def _learnt(self, of: str, mutants: list[Mutant]) -> dict[str, Any]:
        places, tests = OWN[of]
        took, data = self.folder / "took.json", self.folder / f".coverage.{of}"
        covered = (f"--cov={place.removesuffix('.py').replace('/', '.')}" for place in places)
        self._pytest(
            [*tests, "--cov-report=", *covered],
            {LEARNT: str(took), "COVERAGE_FILE": str(data), "HYPOTHESIS_PROFILE": "quick"},
        )
        seconds, read = json.loads(took.read_text()), CoverageData(str(data))
        read.read()
        order = {name: at for at, name in enumerate(sorted(seconds, key=lambda name: sum(
            seconds[name] > step for step in STEPS)))}  # fmt: skip
        tests_of: dict[str, Any] = {}
        for one in mutants:
            reached = self._reached(read, one)
            never = not reached and function_of((ROOT / one.path).read_text(), one.line)
            all_ = not never and not reached - {""}
            names = sorted(order if all_ else reached & order.keys(), key=order.__getitem__)
            tests_of[one.name] = {
                "anew": "" in reached or all_,
                "tests": [(name, round(seconds[name], 3)) for name in names],
            }
        return tests_of

    def _reached(self, read: CoverageData, one: Mutant) -> set[str]:
        """The tests that run its lines, else, where no line of its own is on record, anything of
        its function; "" for what runs while modules are read."""
        by_line = read.contexts_by_lineno(str(self.folder / one.path))
        end = one.line + one.was.count("\n") + 1
        reached = {name for at in range(one.line, end) for name in by_line.get(at, ())}
        text = (ROOT / one.path).read_text()
        if not reached and (function := function_of(text, one.line)):
            inside = [at for at in by_line if function_of(text, at) == function]
            reached = {name for at in inside for name in by_line[at]}
        return reached

    def try_all(
        self, of: str, mutants: list[Mutant], jobs: int, reached: dict[str, Any],
        ended: Callable[[Ended], None],
    ) -> None:  # fmt: skip
        """What comes of each, as it comes."""
        tries, done = list[dict[str, Any]](), set()
        for one in mutants:
            if tests := reached[one.name]["tests"]:
                tries.append(self._try(one, tests))
            else:
                ended(Ended(one.name, of, ""))

        def end(one: dict[str, Any], killed_by: str) -> None:
            done.add(one["name"])
            ended(Ended(one["name"], of, killed_by, len(one["tests"])))

        warm = [one for one in tries if one["function"]]
        for number, killed_by in self._tried([*OWN[of][1]], warm, jobs, anew=False):
            survived_old = not killed_by and reached[warm[number]["name"]]["anew"]
            if killed_by != "anew" and not survived_old:
                end(warm[number], killed_by)
        for one in tries:
            if one["name"] not in done:
                files = sorted({name.partition("::")[0] for name, _ in one["tests"]})
                file, whole = Path(one["file"]), Path(one["file"]).read_bytes()
                file.write_text(one["text"])
                said = [word for _, word in self._tried(files, [one], 1, anew=True)]
                file.write_bytes(whole)
                end(one, said[0] if said else "does not load")

    def _try(self, one: Mutant, tests: list[tuple[str, float]]) -> dict[str, Any]:
        whole = (self.folder / one.path).read_bytes()
        return {
            "name": one.name, "file": str(self.folder / one.path), "tests": tests,
            "text": one.made(whole).decode(), "function": function_of(whole.decode(), one.line),
        }  # fmt: skip

    def _tried(
        self, tests: list[str], tries: list[dict[str, Any]], jobs: int, anew: bool
    ) -> Iterator[tuple[int, str]]:
        """The number of each and what killed it, as it comes."""
        asked, answers = self.folder / "asked.json", self.folder / "answers.jsonl"
        answers.write_text("")
        asked.write_text(
            json.dumps({"tries": tries, "jobs": jobs, "anew": anew, "answers": str(answers)})
        )
        with (
            self._started(tests, {ASKED: str(asked), "HYPOTHESIS_PROFILE": "full"}) as run,
            answers.open() as file,
        ):
            ends = False
            while not ends:
                ends = run.poll() is not None
                for line in file:
                    yield tuple(json.loads(line))
                time.sleep(0.2)

    def _pytest(self, arguments: list[str], env: dict[str, str]) -> None:
        with self._started(arguments, env) as run:
            if run.wait():
                said = (self.folder / "said.txt").read_text()
                raise RuntimeError(f"The tests fail by themselves:\n{said[-4000:]}")

    def _started(self, arguments: list[str], env: dict[str, str]) -> subprocess.Popen[bytes]:
        env = {**os.environ, "PYTEST_ADDOPTS": "", **env}
        env.pop("DATABASE_URL", None)
        with (self.folder / "said.txt").open("wb") as said:
            return subprocess.Popen(
                [sys.executable, "-m", "pytest", "-n0", "-q", "--no-header", "-rf",
                 "-p", "tests.mutation.inside", "-k", f"not {CLOCKED}", *arguments],
                cwd=self.folder, env=env, stdout=said, stderr=subprocess.STDOUT,
            )  # fmt: skip
