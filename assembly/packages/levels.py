"""What a coordinator sets for the shelf: places, low levels, counted spares, needs of sets."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from assembly.ledger import Refused, lock, lock_one, verb
from assembly.models import NotNeeded, SetNeed, ShelfPlace, StockLevel
from assembly.packages.recording import looks_like_package_code
from assembly.packages.shelf import on_the_shelf
from assembly.persons import ASK, SET_LEVELS, Person
from assembly.rules.days import day_words
from catalog.actions import change_instrument, record
from catalog.models import Change, Instrument, InstrumentSet

LONGEST_CODE = 20
HIGHEST_LEVEL = 999
MOST_DAYS = 366
"""Nobody knows a list of cases further ahead. Our own bound."""
MOST_NEEDED = 99
"""More of one thing for one case than this is a slip. Our own bound."""
MOST_SPARES = 9_999
"""More loose spares of one instrument than this is a slip. Our own bound."""


@verb(SET_LEVELS)
def add_place(person: Person, code: str, name: str = "") -> ShelfPlace:
    """A new place with the code that its label bears, or one that was out of use and is back.

    Refused where the code means another.
    """
    code = code.strip().upper()
    if not code or len(code) > LONGEST_CODE:
        raise Refused(f"Write a place code of 1 to {LONGEST_CODE} letters, such as A1.")
    if not (code.isascii() and code.isprintable()):
        raise Refused(f"“{code}” cannot be a code to scan: use letters A to Z, figures and plain "
                      "punctuation.")  # fmt: skip
    if looks_like_package_code(code):
        raise Refused(f"{code} looks like a package's code. Take another one.")
    if known := lock(ShelfPlace.objects.filter(code__folded=code)):
        return _back_in_use(person, known[0], name)
    place, mine = ShelfPlace.objects.get_or_create(code=code, defaults={"name": name.strip()[:80]})
    if not mine:  # somebody was faster by a moment
        return _back_in_use(person, place, name)
    record(person.actor(), Change.Verb.ADDED, place, code, None, {"name": place.name})
    return place


def _back_in_use(person: Person, place: ShelfPlace, name: str) -> ShelfPlace:
    if not place.retired:
        raise Refused(f"There is a place {place.code} already.")
    place.retired, place.name = False, name.strip()[:80] or place.name
    place.save(update_fields=["retired", "name"])
    record(person.actor(), Change.Verb.RESTORED, place, place.code, {"in use": "no"},
           {"in use": "yes", "name": place.name})  # fmt: skip
    return place


@verb(SET_LEVELS)
def retire_place(person: Person, place: ShelfPlace) -> ShelfPlace:
    """Nothing is put away at the place any more, and no list offers it; what lay there keeps it on
    record. Retired before, nothing changes. Refused while a package lies there."""
    place = lock_one(ShelfPlace, place.pk)
    if place.retired:
        return place
    lying = on_the_shelf().filter(shelved__place=place)
    if first := lying.order_by("packed_at", "pk").first():
        many = lying.count()
        rest = f" and {many - 1} more lie" if many > 1 else " lies"
        raise Refused(f"{first.code}{rest} at {place.code}. Move what is there to another place "
                      "first.")  # fmt: skip
    place.retired = True
    place.save(update_fields=["retired"])
    record(person.actor(), Change.Verb.RETIRED, place, place.code, {"in use": "yes"},
           {"in use": "no"})  # fmt: skip
    return place


@verb(SET_LEVELS)
def set_level(
    person: Person, thing: Instrument | InstrumentSet, low: int | None, spares_place: str = ""
) -> StockLevel:
    """Low under how many packages of an instrument or a set (None: no level), and where an
    instrument's loose spares lie."""
    if low is not None and not 0 < low <= HIGHEST_LEVEL:
        raise Refused(f"Write a level of 1 to {HIGHEST_LEVEL}, or leave it empty for none.")
    of: dict[str, Any] = {"instrument": thing}
    if isinstance(thing, InstrumentSet):
        of = {"instrument_set": thing}
        if spares_place:
            raise Refused(f"{thing} is a set and has no loose spares. Leave their place empty.")
    before = StockLevel.objects.filter(**of).first()
    after = {"low": low, "spares_place": spares_place.strip()[:80]}
    level, _ = StockLevel.objects.update_or_create(**of, defaults=after)
    number = thing.item_number if isinstance(thing, Instrument) else thing.code
    record(person.actor(), Change.Verb.CHANGED, level, number,
           {"low": before.low, "spares_place": before.spares_place} if before else None,
           after)  # fmt: skip
    return level


@verb(SET_LEVELS)
def count_spares(person: Person, instrument: Instrument, counted: int) -> Instrument:
    """Somebody counted the loose spares: so many lie there, whatever the record had."""
    if not 0 <= counted <= MOST_SPARES:
        raise Refused(f"Write 0 to {MOST_SPARES} loose spares; {counted} was read.")
    row = lock_one(Instrument, instrument.pk)
    return change_instrument(person.actor("counted"), row, {"spares_on_hand": counted})


@verb(ASK)
def say_when_needed(
    person: Person, thing: Instrument | InstrumentSet, needed_at: datetime, where: str = "",
    quantity: int = 1,
) -> SetNeed:  # fmt: skip
    """A set, or so many of an instrument, is needed at this time. Refused for a time that has
    passed."""
    if needed_at <= timezone.now():
        raise Refused("That time has passed. Write when it is needed next.")
    if needed_at > timezone.now() + timedelta(days=MOST_DAYS):
        raise Refused(f"{day_words(needed_at)} is more than {MOST_DAYS} days away. Write when it "
                      "is needed next.")  # fmt: skip
    if thing.retired:
        raise Refused(f"{thing} is retired and no longer kept.")
    if not 1 <= quantity <= MOST_NEEDED:
        raise Refused(f"Write 1 to {MOST_NEEDED} pieces; {quantity} was read.")
    of: dict[str, Any] = {"instrument": thing}
    if isinstance(thing, InstrumentSet):
        of = {"instrument_set": thing}
    need = SetNeed(**of, quantity=quantity, needed_at=needed_at, where=where.strip()[:40],
                   **person.by, at=timezone.now())  # fmt: skip
    need.save()
    record(person.actor(), Change.Verb.ADDED, need, need.number, None,
           {"needed at": needed_at.isoformat(timespec="minutes"), "where": need.where})  # fmt: skip
    return need


@verb(ASK)
def not_needed(person: Person, need: SetNeed) -> SetNeed:
    """It is not needed after all; taken back before, nothing changes."""
    before = NotNeeded.objects.filter(need=need).first()
    if before is None:
        said = {**person.by, "at": timezone.now()}
        NotNeeded.objects.get_or_create(need=need, defaults=said)
        record(person.actor(), Change.Verb.REMOVED, need, need.number,
               {"needed at": need.needed_at.isoformat(timespec="minutes"), "where": need.where},
               None)  # fmt: skip
    return need


def spares_wrong(on_record: int, taken: int, verb: str) -> str:
    """Fewer were on record than were taken: the record is wrong, and what to do.

    >>> spares_wrong(1, 2, "packed")
    'The record had 1 loose spare, you packed 2: count the spares.'
    """
    spares = "1 loose spare" if on_record == 1 else f"{on_record} loose spares"
    return f"The record had {spares}, you {verb} {taken}: count the spares."
