"""The count of loose spares: down, up, never below nothing, never out of nothing."""

from __future__ import annotations

import pytest

from catalog.actions import Actor, move_spares
from catalog.models import Change, Instrument
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
TAM = Actor("Tam Birkett", reason="packed as PK-0000017")


@pytest.mark.parametrize(
    ("before", "pieces", "after"), [(3, -1, 2), (3, 2, 5), (1, -2, 0), (0, -1, 0), (0, 1, 1)]
)
def test_the_count_after(before: int, pieces: int, after: int) -> None:
    instrument = make.Instrument(spares_on_hand=before)
    move_spares(TAM, instrument, pieces)
    assert Instrument.objects.get().spares_on_hand == after


@pytest.mark.parametrize("pieces", [-1, 1])
def test_uncounted_stays_uncounted(pieces: int) -> None:
    move_spares(TAM, make.Instrument(spares_on_hand=None), pieces)
    assert Instrument.objects.get().spares_on_hand is None


@pytest.mark.parametrize(("before", "missing"), [(1, 1), (2, 0), (None, 0)])
def test_it_says_what_the_record_did_not_have(before: int | None, missing: int) -> None:
    moved = move_spares(TAM, make.Instrument(spares_on_hand=before), -2)
    assert moved.not_on_record == missing


def test_it_counts_what_is_there_now_not_what_was_read_before() -> None:
    instrument = make.Instrument(spares_on_hand=5)
    Instrument.objects.update(spares_on_hand=3)
    move_spares(TAM, instrument, -1)
    assert Instrument.objects.get().spares_on_hand == 2


def test_the_record_says_who_why_and_from_what_to_what() -> None:
    move_spares(TAM, make.Instrument(spares_on_hand=3), -1)
    change = Change.objects.get()
    assert (change.actor, change.reason, change.before, change.after) == (
        "Tam Birkett", "packed as PK-0000017", {"spares_on_hand": 3}, {"spares_on_hand": 2}
    )  # fmt: skip
