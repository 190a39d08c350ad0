"""What the pages of the shelf and of a package send."""

from __future__ import annotations

from django import forms

from assembly.presses import KnownField, Reasoned, Scan, Sent
from assembly.requests.forms import MomentField
from catalog.forms.fields import WholeField, WordsField
from catalog.models import Instrument, InstrumentSet

NEEDS_BOTH = "Write the code of a set, and the day and time it is needed."
UNREAD = "“{text}” was read: write a whole number. Nothing was changed."


Scanned = Scan.plus(place=WordsField(), to=WordsField(90))


class Needed(Sent):
    """When a set is needed next, and where."""

    called = {"code": "instrument_set", "time": "needed_at"}
    code = KnownField(InstrumentSet.objects.all(), "code", NEEDS_BOTH)
    time = MomentField(NEEDS_BOTH)
    where = WordsField()


class OfInstrument(Sent):
    """Something about one instrument."""

    called = {"item": "instrument"}
    item = KnownField(
        Instrument.objects.filter(retired=False),
        "item_number",
        "“{text}” is no item number of the catalog. Nothing was changed.",
    )


Level = OfInstrument.plus(low=WholeField(required=False, problem=UNREAD), spares_place=WordsField())
Counted = OfInstrument.plus(counted=WholeField(required=False, problem=UNREAD))
Place = Sent.plus(code=WordsField(), name=WordsField())
TakenOff = Reasoned.plus(state=WordsField())
Voided = Sent.plus(reason=WordsField(), to_spares=forms.BooleanField(required=False))
Closed = Sent.plus(because=WordsField())
