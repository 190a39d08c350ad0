"""``manage.py print_work_card ITEM_NUMBER_OR_SET_CODE -o FILE``."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from catalog.models import Instrument, InstrumentSet
from reports.documents.cards import Card
from reports.drawing.cards.work import draw_work_card
from reports.gathering.work_cards import instrument_card, set_card
from reports.pages.printing import PrintCommand, found, write


class Command(PrintCommand):
    help = "Print the work card of one instrument or one set, as PDF on one page."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("number", help="an item number or a set code")
        super().add_arguments(parser)
        parser.add_argument("--paper", choices=["A4", "letter"], default="A4")
        parser.add_argument("--printed-by", default="command line", help="who prints it")

    def print(self, **options: Any) -> None:
        card = _card(options["number"], options["printed_by"])
        write(draw_work_card(card, options["paper"]), options["output"])
        self.stdout.write(f"{options['output']}: work card of {card.code} {card.title}")


def _card(number: str, printed_by: str) -> Card:
    instrument = Instrument.objects.filter(item_number__folded=number).first()
    if instrument:
        return instrument_card(instrument, printed_by)
    problem = f"No instrument and no set bears the number {number}."
    return set_card(found(InstrumentSet.objects.all(), problem, code=number), printed_by)
