"""Finding: by number, name or nickname (every word somewhere), and by what was scanned."""

from __future__ import annotations

from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from catalog.models import Identifier, Instrument, InstrumentSet
from catalog.scans.elements import IdentifierKind, Wanted
from catalog.scans.scanning import Scan


def find_instruments(words: str, among: QuerySet[Instrument] | None = None) -> QuerySet[Instrument]:
    """Instruments in which every word stands in number, name, nickname, group or maker.

    An exact item number comes first, then an exact name or nickname, then the rest by
    number. No words: all.
    """
    found = Instrument.objects.filter(retired=False) if among is None else among
    for word in words.split():
        found = found.filter(
            Q(item_number__icontains=word)
            | Q(name__icontains=word)
            | Q(also_known_as__icontains=word)
            | Q(group__icontains=word)
            | Q(maker__icontains=word)
            | Q(maker_catalog_number__iexact=word)
        )
    text = words.strip()
    return found.annotate(
        rank=Case(
            When(item_number__iexact=text, then=Value(0)),
            When(name__iexact=text, then=Value(1)),
            When(also_known_as__iexact=text, then=Value(1)),
            When(also_known_as__istartswith=f"{text};", then=Value(1)),
            When(also_known_as__icontains=f"; {text};", then=Value(1)),
            When(also_known_as__iendswith=f"; {text}", then=Value(1)),
            default=Value(2),
            output_field=IntegerField(),
        )
    ).order_by("rank", "item_number")


def find_sets(words: str, among: QuerySet[InstrumentSet] | None = None) -> QuerySet[InstrumentSet]:
    """Sets in which every word stands in code, name or service; an exact code first."""
    found = InstrumentSet.objects.filter(retired=False) if among is None else among
    for word in words.split():
        found = found.filter(
            Q(code__icontains=word) | Q(name__icontains=word) | Q(service__icontains=word)
        )
    return found.annotate(
        rank=Case(
            When(code__iexact=words.strip(), then=Value(0)),
            default=Value(1),
            output_field=IntegerField(),
        )
    ).order_by("rank", "code")


def find_by_scan(scan: Scan) -> Instrument | InstrumentSet | None:
    """The one thing that a scan names; None when the catalog knows none.

    Tried in the scan's order, the single piece before its model. An own text is first an
    item number, then a set's code, then another text on record. A GTIN identifies the
    model, with or without a serial. What is retired is not found.
    """
    for wanted in scan.identifiers:
        found = _by_own_text(wanted.value) if wanted.kind is IdentifierKind.TEXT else None
        if found := found or _by_identifier(wanted):
            return found
    return None


def _by_own_text(text: str) -> Instrument | InstrumentSet | None:
    instrument = Instrument.objects.filter(item_number__iexact=text, retired=False).first()
    return instrument or InstrumentSet.objects.filter(code__iexact=text, retired=False).first()


def _by_identifier(wanted: Wanted) -> Instrument | None:
    identifier = (
        Identifier.objects.select_related("instrument")
        .filter(kind=wanted.kind.value, value=wanted.value, instrument__retired=False)
        .first()
    )
    return identifier.instrument if identifier else None
