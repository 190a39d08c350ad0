"""What the pages of the shelf and of a package send."""

from __future__ import annotations

from django import forms

from assembly.presses import KnownField, Reasoned, Scan, Sent
from assembly.requests.forms import MomentField
from catalog.forms.fields import WholeField, WordsField
from catalog.models import Instrument, InstrumentSet

NEEDS_BOTH = "Write the code of a set, and the day and time it is needed."
UNREAD = "“{text}” was read: write a whole number. Nothing was changed."


class Scanned(Scan):
    """A scan at the shelf, with the place or who gets it."""

    place = WordsField()
    to = WordsField(90)


class TakenOff(Reasoned):
    """How a package left the shelf, and why."""

    state = WordsField()


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


class Level(OfInstrument):
    """Its low level, and where its loose spares lie."""

    low = WholeField(required=False, problem=UNREAD)
    spares_place = WordsField()


class Counted(OfInstrument):
    """How many loose spares of it were counted; None: not now."""

    counted = WholeField(required=False, problem=UNREAD)


class Place(Sent):
    """A shelf place."""

    code = WordsField()
    name = WordsField()


class Voided(Sent):
    """Why a package is void, and whether what was in it is loose again."""

    reason = WordsField()
    to_spares = forms.BooleanField(required=False)


class Closed(Sent):
    """Why a repair or a shortage is at an end."""

    because = WordsField()
