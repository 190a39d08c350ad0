"""``manage.py print_work_card ITEM_NUMBER_OR_SET_CODE -o FILE``."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from assembly.judging.decisions import decide_for_instrument, decide_for_set
from assembly.judging.facts_from_catalog import lines_of
from catalog.models import Instrument, InstrumentSet
from reports.documents.cards import Card
from reports.documents.papers import PrintError
from reports.drawing.cards import draw_card
from reports.gathering.cards_from_policy import work_card
from reports.pages.printing import write


class Command(BaseCommand):
    help = "Print the work card of one instrument or one set, as PDF on one page."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("number", help="an item number or a set code")
        parser.add_argument("-o", "--output", required=True, metavar="FILE", help="PDF to write")
        parser.add_argument("--paper", choices=["A5", "half letter", "A4", "letter"], default="A5")
        parser.add_argument("--printed-by", default="command line", help="who prints it")

    def handle(self, *args: Any, **options: Any) -> None:
        card = _card(options["number"], options["printed_by"])
        try:
            pdf = draw_card(card, options["paper"])
        except PrintError as problem:
            raise CommandError(str(problem)) from problem
        write(pdf, options["output"])
        self.stdout.write(f"{options['output']}: work card of {card.code} {card.title}")


def _card(number: str, printed_by: str) -> Card:
    instrument = Instrument.objects.filter(item_number__iexact=number).first()
    if instrument:
        answer = decide_for_instrument(instrument)
        return work_card(answer, instrument.name, instrument.item_number, printed_by)
    one = InstrumentSet.objects.filter(code__iexact=number).first()
    if one is None:
        raise CommandError(f"No instrument and no set bears the number {number}.")
    sheet = one.current
    if sheet is None:
        raise CommandError(f"No count sheet of {one.code} is approved yet.")
    lines = lines_of(sheet)
    return work_card(decide_for_set(one, lines), one.name, one.code, printed_by)
