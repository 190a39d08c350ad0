"""Codes that stand on an instrument or its box: put on record, taken off again."""

from __future__ import annotations

from django.db import transaction

from catalog.actions.recording import Actor, record
from catalog.models import Change, Identifier, Instrument, InstrumentSet
from catalog.scans.elements import IdentifierKind, Wanted

FORMER_NUMBER = "former item number"
"""Where a number was found by which an instrument went until it got another one."""


class IdentifierRefusedError(ValueError):
    """The identifier cannot be put on record; the message says why and what to do."""


@transaction.atomic
def add_identifier(
    actor: Actor, instrument: Instrument, wanted: Wanted, where_found: str
) -> Identifier:
    """Put one code on record for an instrument. ``wanted`` comes from a scan.

    IdentifierRefusedError without a place, or when the code leads somewhere else already.
    """
    where_found = where_found.strip()
    if not where_found:
        raise IdentifierRefusedError("Say where the code was found: on the instrument, on the box.")
    kind = Identifier.Kind(wanted.kind.value)
    if taken := Identifier.objects.filter(kind=kind, value=wanted.value).first():
        raise IdentifierRefusedError(
            f"{taken} is on record for {taken.instrument} already. One code leads to one "
            "instrument: take it off there first if that is wrong."
        )
    if wanted.kind is IdentifierKind.TEXT:
        _refuse_own_number(wanted.value)
    identifier = Identifier.objects.create(
        instrument=instrument, kind=kind, value=wanted.value, where_found=where_found
    )
    values = {"instrument": instrument.item_number, "where_found": where_found}
    record(actor, Change.Verb.ADDED, identifier, wanted.value[:80], None, values)
    return identifier


def _refuse_own_number(text: str) -> None:
    """An item number or a set's code is found before any other text would be."""
    owners = (
        Instrument.objects.filter(item_number__folded=text).first(),
        InstrumentSet.objects.filter(code__folded=text).first(),
    )
    if owner := next((owner for owner in owners if owner), None):
        raise IdentifierRefusedError(
            f"“{text}” is the number of {owner} itself and leads there already."
        )


@transaction.atomic
def remove_identifier(actor: Actor, identifier: Identifier) -> None:
    """Take a code off its instrument; what it was stays in the history."""
    before = {
        "instrument": identifier.instrument.item_number,
        "where_found": identifier.where_found,
    }
    record(actor, Change.Verb.RETIRED, identifier, identifier.value[:80], before, None)
    identifier.delete()


def number_is_own(number: str) -> None:
    """An instrument has this number from now on: it leads to no other that had it before."""
    Identifier.objects.filter(
        kind=Identifier.Kind.TEXT, value=number, where_found=FORMER_NUMBER
    ).delete()


def keep_former_number(instrument: Instrument, former: str) -> None:
    """The number that an instrument had leads to it: it stands on labels and lists."""
    number_is_own(instrument.item_number)
    Identifier.objects.get_or_create(
        kind=Identifier.Kind.TEXT,
        value=former,
        defaults={"instrument": instrument, "where_found": FORMER_NUMBER},
    )
