"""``manage.py print_label ITEM_NUMBER -o FILE``."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from catalog.models import Instrument
from reports.documents import PrintError
from reports.drawing.labels import draw_label
from reports.drawing.stocks import StockError, stock
from reports.from_catalog import NothingToPrint, label_document
from reports.printing import write
from reports.views import LABEL_STOCK


class Command(BaseCommand):
    help = "Print the label of one instrument in its recommended package, as PDF."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("item_number")
        parser.add_argument("-o", "--output", required=True, metavar="FILE", help="PDF to write")
        parser.add_argument("--packed-by", default="not stated", help="who packed it")
        parser.add_argument("--stock", default=LABEL_STOCK, help="label stock")

    def handle(self, *args: Any, **options: Any) -> None:
        number = options["item_number"]
        instrument = Instrument.objects.filter(item_number__iexact=number).first()
        if instrument is None:
            raise CommandError(f"No instrument bears the item number {number}.")
        try:
            document = label_document(instrument, options["packed_by"])
            pdf = draw_label(document, stock(options["stock"]))
        except (NothingToPrint, PrintError, StockError) as problem:
            raise CommandError(str(problem)) from problem
        write(pdf, options["output"])
        self.stdout.write(f"{options['output']}: label of {instrument}")
