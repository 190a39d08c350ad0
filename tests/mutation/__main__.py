"""Whether tests notice small mistakes in the rules, units, look-up and standing.

Run as ``python -m tests.mutation``, with ``--count`` (300), ``--seed``, ``--only`` one of them,
``--jobs``. Each mutant is one comparison, constant, operator, condition or answer that is wrong, in
a copy of the tree, where its own module's tests run that reach it. Which are tried is drawn by a
digest of seed, file and code of each, the same ones at the same commit on any machine, and stands
in a file (``--record``) with what came of each: there it stays as the code grows, what was tried is
not tried again, survivors by ``--again``. Ends with 1 where less than nine in ten were killed.
Survivors are listed, with why it is no mistake where ``known.toml`` says so: they count as
survivors all the same.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
import tomllib
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path

from tests.mutation.mutating import Mutant
from tests.mutation.running import OWN, Copy, Ended, chosen, mutants_in

GOAL = 0.9
KNOWN = Path(__file__).with_name("known.toml")


def drawn(record: Path, count: int, seed: int, only: str) -> list[tuple[str, Mutant]]:
    """What the record drew, as far as its code is still there; written there where it is new."""
    if not record.exists():
        lines = [
            json.dumps(asdict(Ended(one.name, of, None))) for of, one in chosen(count, seed, only)
        ]
        record.write_text("".join(f"{line}\n" for line in lines))
    every = {one.name: (of, one) for of in OWN for one in mutants_in(of)}
    names = dict.fromkeys(json.loads(line)["name"] for line in record.read_text().splitlines())
    if gone := [name for name in names if name not in every]:
        print(f"{len(gone)} drawn are gone with their code.")
    return [every[name] for name in names if name in every]


def run(mutants: Iterable[tuple[str, Mutant]], jobs: int, record: Path, again: bool) -> list[Ended]:
    """What comes of each; what the record has is not done again, but for survivors ``again``."""
    mutants = list(mutants)
    done = {one.name: one for one in (Ended(**json.loads(line)) for line in record.open())}
    tried = (lambda one: one.killed_by) if again else (lambda one: one.killed_by is not None)
    done = {name: one for name, one in done.items() if tried(one)}

    def ended(one: Ended) -> None:
        done[one.name] = one
        with record.open("a") as file:
            file.write(f"{json.dumps(asdict(one))}\n")
        if not one.killed_by:
            print(f"survived: {places[one.name]} {one.name} ({one.ran} tests)", flush=True)

    places = {one.name: one.place for _, one in mutants}
    with tempfile.TemporaryDirectory(prefix="packbench-mutants-") as folder:
        copy = Copy(Path(folder))
        for of in OWN:
            every = [one for kind, one in mutants if kind == of]
            if left := [one for one in every if one.name not in done]:
                reached, began = copy.learn(of, every), time.monotonic()
                copy.try_all(of, left, jobs, reached, ended)
                took = time.monotonic() - began
                print(f"{of}: {len(left)} in {took:.0f} s, {took / len(left):.1f} each", flush=True)
    return [done[one.name] for _, one in mutants]


def told(ended: list[Ended]) -> bool:
    """The table, and whether enough were killed."""
    known = tomllib.loads(KNOWN.read_text())["survivors"]
    why = {one["mutant"]: one["why"] for one in known}
    print(f"\n{'':10}{'mutants':>9}{'killed':>8}{'part':>8}")
    kinds = Counter(one.of for one in ended)
    killed = Counter(one.of for one in ended if one.killed_by)
    for of in OWN:
        if kinds[of]:
            print(f"{of:10}{kinds[of]:9}{killed[of]:8}{killed[of] / kinds[of]:8.0%}")
    part = killed.total() / max(1, len(ended))
    print(f"{'all':10}{len(ended):9}{killed.total():8}{part:8.1%}   (at least {GOAL:.0%})\n")
    for one in ended:
        if not one.killed_by:
            print(f"{one.name} ({one.ran} tests)\n    {why.get(one.name, 'not explained')}")
    return part >= GOAL


if __name__ == "__main__":
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=16)
    parser.add_argument("--only", choices=OWN, default="", help="mutants of this alone")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--record", type=Path, help="what is done already, and from now on")
    parser.add_argument("--again", action="store_true", help="try those that survived again")
    given = parser.parse_args()
    usual = Path(tempfile.gettempdir()) / f"packbench-mutants-{given.seed}.jsonl"
    record = given.record or usual
    mutants = drawn(record, given.count, given.seed, given.only)
    ended = run(mutants, given.jobs, record, given.again)
    sys.exit(not told(ended))
