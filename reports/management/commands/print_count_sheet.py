"""``manage.py print_count_sheet SET_CODE -o FILE``."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from catalog.models import InstrumentSet
from reports.documents import PrintError
from reports.drawing.count_sheets import draw_count_sheet
from reports.from_catalog import NothingToPrint, count_sheet_document
from reports.printing import write


class Command(BaseCommand):
    help = "Print the count sheet in force of one set, as PDF."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("set_code")
        parser.add_argument("-o", "--output", required=True, metavar="FILE", help="PDF to write")
        parser.add_argument("--paper", choices=["A4", "letter"], default="A4")
        parser.add_argument("--printed-by", default="command line", help="who prints it")

    def handle(self, *args: Any, **options: Any) -> None:
        code = options["set_code"]
        instrument_set = InstrumentSet.objects.filter(code__iexact=code).first()
        if instrument_set is None:
            raise CommandError(f"No set bears the code {code}.")
        try:
            document = count_sheet_document(instrument_set, options["printed_by"])
            pdf = draw_count_sheet(document, options["paper"])
        except (NothingToPrint, PrintError) as problem:
            raise CommandError(str(problem)) from problem
        write(pdf, options["output"])
        self.stdout.write(f"{options['output']}: count sheet of {instrument_set}")
