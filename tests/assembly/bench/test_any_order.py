"""Through the verbs of counting, in any order: the counts are the sum of the events.

What is held against it is kept here beside the verbs: a list of what was done, from which an undo
takes the last.
"""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from assembly.bench import builds
from assembly.bench.tally import tally_of
from assembly.ledger import Refused
from assembly.models import Build, Repair
from tests.factories import bench as at
from tests.factories import requests as ask

Done = tuple[str, int, int]
"""What was done, at which line, with how many pieces."""
WANTED = (1, 3)
STEPS = st.tuples(
    st.sampled_from(["count", "damaged", "undo", "short", "over", "take over"]),
    st.sampled_from([0, 1]),
    st.integers(1, 4),
    st.booleans(),
)
"""A step, its line, its pieces, and whether its press comes twice."""


def do(build: Build, step: str, line: int, pieces: int, key: str) -> str:
    """The step by its holder; what kind of event it became."""
    build.refresh_from_db()
    tam, ola = at.person(), ask.other()
    person = tam if build.holder_id == tam.pk else ola
    row = tally_of(build).lines[line].line.pk
    if step == "count":
        return builds.count(person, build.pk, row, pieces, key).kind
    if step == "short":
        return builds.short(person, build.pk, row, pieces, "not found", key).kind
    if step == "damaged":
        return builds.damaged(person, build.pk, row, "bent", key).kind
    if step == "over":
        return builds.over(person, build.pk, row, key).kind
    if step == "take over":
        return builds.take_over(ola if person == tam else tam, build.pk, key).kind
    return builds.undo(person, build.pk, key).kind


class TestWhateverIsCounted(TestCase):
    @settings(max_examples=25)
    @given(steps=st.lists(STEPS, min_size=6, max_size=16))
    def test_the_counts_are_the_sum_of_the_events(
        self, steps: list[tuple[str, int, int, bool]]
    ) -> None:
        build = at.a_build(at.a_set("TS-1", WANTED))
        done: list[Done] = []
        for step, line, pieces, twice in steps:
            key = at.key()
            try:
                kind = do(build, step, line, pieces, key)
            except Refused:
                continue
            if twice and step != "take over":  # then somebody else holds it, and it is refused
                do(build, step, line, pieces, key)
            if kind == "undo":
                done.pop()
            elif kind != "taken":
                done.append((kind, line, 1 if kind in ("damaged", "taken out") else pieces))
            self.check(build, done)

    def check(self, build: Build, done: list[Done]) -> None:
        tally = tally_of(build)
        for number, one in enumerate(tally.lines):
            here = [(kind, pieces) for kind, line, pieces in done if line == number]
            counted = sum(pieces for kind, pieces in here if kind == "counted")
            counted -= sum(1 for kind, _ in here if kind == "taken out")
            assert one.inside == counted, (number, done)
            assert 0 <= one.inside <= WANTED[number]
            assert one.inside + one.short + one.remaining == WANTED[number]
            assert one.over == sum(1 for kind, _ in here if kind == "over")
        repairs = sum(1 for kind, _, _ in done if kind in ("damaged", "taken out"))
        assert Repair.objects.filter(event__build=build, closed_at=None).count() == repairs
        build.refresh_from_db()
        assert build.steps.count() == build.last_step
