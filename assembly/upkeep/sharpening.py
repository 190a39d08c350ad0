"""It was sharpened: from then on its uses are counted anew."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from assembly.ledger import Refused, begin_new, inside, verb
from assembly.models import Repair, Sharpening
from assembly.persons import ASSEMBLE, Person
from catalog.actions import record
from catalog.models import Change, Instrument, InstrumentSet


@verb(ASSEMBLE)
def sharpened(
    person: Person, instrument: Instrument, key: str, *,
    instrument_set: InstrumentSet | None = None, done_on: date | None = None, done_by: str = "",
) -> Sharpening:  # fmt: skip
    """Those of a set, or those packed singly, were sharpened, today where no day is named.

    The same key gives the same. Refused for a day that is still to come.
    """
    if before := begin_new(Sharpening, key, under=instrument):
        return before
    today = timezone.localdate()
    if done_on and done_on > today:
        raise Refused(f"{done_on} is still to come. Write the day it was sharpened, or leave it "
                      "empty for today.")  # fmt: skip
    return on_record(person, instrument, key, instrument_set, done_on or today, done_by)


@inside
def on_record(
    person: Person, instrument: Instrument, key: str, instrument_set: InstrumentSet | None,
    done_on: date, done_by: str,
) -> Sharpening:  # fmt: skip
    """The sharpening with its record."""
    made = Sharpening(
        key=key, instrument=instrument, instrument_set=instrument_set, done_on=done_on,
        done_by=done_by.strip()[:120], at=timezone.now(), **person.by,
    )  # fmt: skip
    made.save()
    where = str(instrument_set) if instrument_set else "packed singly"
    record(person.actor(), Change.Verb.ADDED, made, instrument.item_number, None,
           {"of": where, "on": done_on, "by": made.done_by})  # fmt: skip
    return made


@inside
def came_back_sharp(person: Person, repair: Repair) -> Sharpening:
    """A repair that was a sharpening: on record for the set it belongs to."""
    return on_record(person, repair.instrument, f"repair-{repair.pk}-sharp",
                     repair.instrument_set, timezone.localdate(), repair.gone_to)  # fmt: skip
