"""Pieces are back in the sets that went short of them: all of them, or as many as there are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from assembly.ledger import Refused, begin_new, lock, verb
from assembly.models import PiecesBack, Shortfall
from assembly.persons import ASSEMBLE, WORK, Person
from assembly.rules.days import time_words
from assembly.shortfalls.causes import of_instrument, waiting_for
from catalog.actions import SparesMoved, move_spares, record
from catalog.models import Change, Instrument


@dataclass(frozen=True, slots=True)
class Replenished:
    """A row for each set that got pieces; how the loose spares were counted, if they were."""

    rows: list[PiecesBack]
    spares: SparesMoved | None = None


@verb(WORK)
def replenish(
    person: Person, instrument: Instrument, back: Mapping[str, int], key: str,
    because: str = "", *, from_spares: bool = False,
) -> Replenished:  # fmt: skip
    """So many pieces of the instrument are back in each set; 0 means not in this one.

    ``back`` has the shortfalls' keys. A set that has all back waits no longer. The same key
    gives the same answer and counts nothing again. ``from_spares``: all of these pieces lay
    loose in store, and are counted down there in the same transaction. Refused, and nothing
    saved, where nothing came back, a set waits for fewer (others may have been faster), or
    for something else.
    """
    return _replenish(Posting(person, key, because.strip()[:300] or "replenished", from_spares),
                      instrument, back)  # fmt: skip


def _replenish(posting: Posting, instrument: Instrument, back: Mapping[str, int]) -> Replenished:
    named = [one.pk for one in of_instrument(instrument) if one.key in back]
    lock(Shortfall.objects.filter(pk__in=named))
    if begin_new(PiecesBack, posting.key, under=instrument):
        return Replenished(list(PiecesBack.objects.filter(key=posting.key)))
    every = {one.key: one for one in of_instrument(instrument)}
    if strange := set(back) - set(every):
        raise Refused(f"{', '.join(sorted(strange))} does not wait for {instrument}. "
                      "Load the page again.")  # fmt: skip
    given = [(every[one], pieces) for one, pieces in back.items() if pieces]
    if not given:
        raise Refused("Write how many are back, in one set at least.")
    rows = [_put_back(posting, one, pieces) for one, pieces in given]
    spares = _from_spares(posting.person, instrument, given) if posting.from_spares else None
    return Replenished(rows, spares)


def _from_spares(
    person: Person, instrument: Instrument, given: list[tuple[Shortfall, int]]
) -> SparesMoved:
    sets = ", ".join(one.instrument_set.code for one, _ in given)
    total = sum(pieces for _, pieces in given)
    return move_spares(person.actor(f"put into {sets}"[:300]), instrument, -total)


@verb(ASSEMBLE)
def all_back(person: Person, shortfall: Shortfall, because: str = "") -> None:
    """A set has back all that it still waits for.

    Pressed again, or where the set waits for nothing any more, it changes nothing.
    """
    for one in waiting_for(shortfall.instrument).filter(pk=shortfall.pk):
        posting = Posting(person, f"all back {one.key}", because.strip()[:300] or "replenished")
        _replenish(posting, one.instrument, {one.key: one.waits_for})


@dataclass(frozen=True, slots=True)
class Posting:
    """What is the same for every set of one posting."""

    person: Person
    key: str
    because: str
    from_spares: bool = False


def _put_back(posting: Posting, one: Shortfall, pieces: int) -> PiecesBack:
    if not 0 < pieces <= one.waits_for:
        raise Refused(_too_many(one, pieces))
    now, returned = timezone.now(), one.returned + pieces
    who = {"at": now, "by": posting.person.name, "because": posting.because}
    _count(one, returned, who if returned == one.quantity else {})
    done = PiecesBack(key=posting.key, shortfall=one, pieces=pieces, account=posting.person.pk,
                      from_spares=posting.from_spares, **who)  # fmt: skip
    done.save()
    record(posting.person.actor(posting.because), Change.Verb.CHANGED, one, one.item_number,
           {"back in the set": f"{one.returned} of {one.quantity}"},
           {"back in the set": f"{returned} of {one.quantity}"})  # fmt: skip
    return done


def _count(one: Shortfall, returned: int, closed: Mapping[str, Any]) -> None:
    """The row has its new count, and who closed it where all is back.

    It changes only if nobody changed it since it was read, whatever the database locks: a
    package may become void at the same moment.
    """
    unchanged = Shortfall.objects.filter(pk=one.pk, returned=one.returned, closed_at=None)
    values = {f"closed_{name}": value for name, value in closed.items()}
    if not unchanged.update(returned=returned, **values):
        raise Refused(f"{one.instrument_set} was changed by somebody else at this moment. "
                      "Nothing was saved: load the page again.")  # fmt: skip


def _too_many(one: Shortfall, pieces: int) -> str:
    if one.closed_at:
        when = f"{time_words(timezone.localtime(one.closed_at))}"
        return (f"{one.instrument_set} has all {one.quantity} back since {when} "
                f"({one.closed_by}); {pieces} was read. Nothing was saved.")  # fmt: skip
    return (f"{one.instrument_set} {one.waiting}; {pieces} was read. Write 0 to {one.waits_for}. "
            "Nothing was saved.")  # fmt: skip
