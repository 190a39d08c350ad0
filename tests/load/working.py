"""A department at work for some seconds, and how the server bore it."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from threading import Event

from tests.served.browser import Answer
from tests.served.crew import Pace, at_work, hire, presses_of
from tests.served.held import Held
from tests.served.people import Person
from tests.served.record import held
from tests.served.server import Server

LINES, EACH = 20, 2
"""Of each bench's set: forty pieces, one every two seconds, which is faster than most hands. A
bench also asks how its set stands after each piece, a liaison for the list after each request."""
MOST_TIMES_BARE = 3.0


@dataclass(frozen=True, slots=True)
class Ran:
    """How one kind of request was answered: seconds of each, and what was no answer."""

    kind: str
    took: list[float]
    errors: int

    def at(self, part: float) -> float:
        """So long at the most for this part of all; 0 where there was none."""
        return sorted(self.took)[int(part * (len(self.took) - 1))] if self.took else 0.0


@dataclass(frozen=True, slots=True)
class Worked:
    """One run: what was asked, and what is on record of it."""

    kinds: list[Ran]
    held: Held

    @property
    def errors(self) -> int:
        return sum(one.errors for one in self.kinds)

    @property
    def times_bare(self) -> float:
        """p95 of a count, in p95 of a bare page in the same run."""
        count, bare = (next((one.at(0.95) for one in self.kinds if one.kind == kind), 0.0)
                       for kind in ("count", "bare page"))  # fmt: skip
        return count / bare if bare else 0.0

    @property
    def breached(self) -> bool:
        return bool(self.errors) or not self.held.whole or self.times_bare > MOST_TIMES_BARE


def work(url: str, folder: Path, seconds: float, benches: int, liaisons: int) -> Worked:
    """So many people for so long on a server of their own; Django is set up on its database."""
    hired = hire(benches, liaisons, lines=LINES, each=EACH)
    with Server(url, folder) as server:
        people = hired.at(server.port, over := Event(), Pace())
        with at_work(people):
            over.wait(seconds)
    return Worked(list(_ran(people)), held(presses_of(people)))


def _ran(people: Iterable[Person]) -> Iterator[Ran]:
    asked: dict[str, list[Answer]] = {}
    errors: dict[str, int] = {}
    for one in people:
        for press in one.presses:
            asked.setdefault(press.what, []).append(press.answer)
            bad = len(press.errors) + (not press.confirmed)
            errors[press.what] = errors.get(press.what, 0) + bad
        for kind, answer in one.asked:
            asked.setdefault(kind, []).append(answer)
            errors[kind] = errors.get(kind, 0) + (answer.status not in (200, 204, 302))
    for kind, answers in sorted(asked.items()):
        yield Ran(kind, [one.took for one in answers], errors[kind])


def table(worked: Worked) -> str:
    """How it went, a line for each kind of request."""
    lines = [f"  {'':16}{'sent':>7}{'p50 ms':>9}{'p95 ms':>9}{'longest':>9}{'errors':>8}"]
    lines += [
        f"  {one.kind:16}{len(one.took):7,}{statistics.median(one.took) * 1000:9.0f}"
        f"{one.at(0.95) * 1000:9.0f}{max(one.took) * 1000:9.0f}{one.errors:8}"
        for one in worked.kinds
    ]
    kept = worked.held
    lines += [
        f"  confirmed {kept.confirmed:,}: lost {len(kept.lost)}, doubled {len(kept.doubled)}, "
        f"half {len(kept.half)}; errors {worked.errors}",
        f"  p95 of a count is {worked.times_bare:.1f} times that of a bare page "
        f"(at most {MOST_TIMES_BARE:g})",
        *(f"    {one}" for one in [*kept.lost, *kept.doubled, *kept.half][:20]),
    ]
    return "\n".join(lines)
