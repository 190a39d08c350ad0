"""Where a fault is done: a database of its own, its server of PostgreSQL in hand, and its disk."""

from __future__ import annotations

import os
import signal
import subprocess
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from tests import databases
from tests.postgres import Cluster
from tests.served.held import Held
from tests.served.people import Person

SMALL_DISK_MB = {"sqlite": 48, "postgresql": 320}


@dataclass(frozen=True, slots=True)
class Place:
    """A new database: its address, its cluster where it is PostgreSQL's, its folder, and a folder
    for all else."""

    kind: str
    url: str
    folder: Path
    beside: Path
    cluster: Cluster | None = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a fault: how often it was done, what was held against the record, the answers
    that people got meanwhile, by status, and what should not have been."""

    tried: int
    held: Held
    statuses: Counter[int] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    @property
    def breaches(self) -> list[str]:
        return [
            *(f"lost: {one}" for one in self.held.lost),
            *(f"doubled: {one}" for one in self.held.doubled),
            *(f"half: {one}" for one in self.held.half),
            *self.wrong,
        ]

    def row(self, fault: str, kind: str) -> str:
        """One line of the table."""
        said = ", ".join(
            f"{code or 'none'}: {times}" for code, times in sorted(self.statuses.items())
        )
        counts = (self.held.lost, self.held.doubled, self.held.half, self.wrong)
        return (
            f"{fault:12} {kind:10} {self.tried:6} {self.held.confirmed:9,} "
            + " ".join(f"{len(one):7}" for one in counts)
            + f"  {said}"
        )


HEAD = (
    f"{'':12} {'':10} {'times':>6} {'confirmed':>9} {'lost':>7} {'doubled':>7} {'half':>7} "
    f"{'wrong':>7}  answers with errors"
)


@contextmanager
def place(kind: str, *, small_disk: bool = False) -> Iterator[Place]:
    """A new place; its database on a small disk of its own, where one can be mounted."""
    with (
        tempfile.TemporaryDirectory(prefix="packbench-") as name,
        tempfile.TemporaryDirectory(prefix="packbench-") as beside,
    ):
        folder = Path(name)
        with _disk(folder, SMALL_DISK_MB[kind] if small_disk else 0):
            if kind == "sqlite":
                yield Place(kind, databases.sqlite_in(folder), folder, Path(beside))
            else:
                folder.chmod(0o755)
                (own := folder / "postgresql").mkdir()
                with Cluster(str(own)) as cluster:
                    url = databases.in_server(cluster.url)
                    yield Place(kind, url, folder, Path(beside), cluster)


@contextmanager
def _disk(folder: Path, size_mb: int) -> Iterator[None]:
    if not size_mb:
        yield
        return
    subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size_mb}m", "tmpfs", str(folder)], check=True
    )
    try:
        yield
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


def may_mount() -> bool:
    """Whether a small disk can be made: by root alone."""
    return os.geteuid() == 0


def kill_cluster(cluster: Cluster) -> None:
    """Every process of it at once, as when the machine falls; then it is there again."""
    lock = Path(cluster.folder, "data", "postmaster.pid")
    first = int(lock.read_text().split()[0])
    every = (first, *_children(first))
    for pid in every:
        try:
            os.kill(pid, signal.SIGKILL)
        except ProcessLookupError:
            continue
    while any(_lives(pid) for pid in every):
        time.sleep(0.02)
    # Of a process that is dead, but seems alive where nobody asks how it ended.
    for left in (lock, *Path(cluster.folder).glob(".s.PGSQL.*.lock")):
        left.unlink()
    cluster.start()


def _children(parent: int) -> list[int]:
    """By ``/proc``: the processes that it started."""
    found = []
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            pid, _, rest = status.read_text().partition(" (")
        except OSError:
            continue
        if int(rest.rpartition(") ")[2].split()[1]) == parent:
            found.append(int(pid))
    return found


def _lives(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(") ")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


def errors_of(people: Iterable[Person]) -> Counter[int]:
    """The answers that were none or no good, while something was wrong; 0 for none at all."""
    return Counter(status for one in people for press in one.presses for status in press.errors)


def left_open(people: Iterable[Person]) -> list[str]:
    """Presses that were never answered well, though all was well again in the end."""
    return [
        f"never confirmed: {press.what} {press.key} ({press.answer.status} {press.answer.tone})"
        for one in people
        for press in one.presses
        if not press.confirmed
    ]
