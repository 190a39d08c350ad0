"""``manage.py print_work_card ITEM_NUMBER_OR_SET_CODE -o FILE``."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from catalog.models import Instrument, InstrumentSet
from reports.documents.cards import Card
from reports.documents.papers import PrintError
from reports.drawing.cards import draw_card
from reports.gathering.cards_from_policy import instrument_card, set_card
from reports.gathering.from_catalog import NothingToPrint
from reports.pages.printing import write


class Command(BaseCommand):
    help = "Print the work card of one instrument or one set, as PDF on one page."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("number", help="an item number or a set code")
        parser.add_argument("-o", "--output", required=True, metavar="FILE", help="PDF to write")
        parser.add_argument("--paper", choices=["A5", "half letter", "A4", "letter"], default="A5")
        parser.add_argument("--printed-by", default="command line", help="who prints it")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            card = _card(options["number"], options["printed_by"])
            pdf = draw_card(card, options["paper"])
        except (NothingToPrint, PrintError) as problem:
            raise CommandError(str(problem)) from problem
        write(pdf, options["output"])
        self.stdout.write(f"{options['output']}: work card of {card.code} {card.title}")


def _card(number: str, printed_by: str) -> Card:
    instrument = Instrument.objects.filter(item_number__iexact=number).first()
    if instrument:
        return instrument_card(instrument, printed_by)
    one = InstrumentSet.objects.filter(code__iexact=number).first()
    if one is None:
        raise CommandError(f"No instrument and no set bears the number {number}.")
    return set_card(one, printed_by)
