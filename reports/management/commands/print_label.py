"""``manage.py print_label ITEM_NUMBER ... -o FILE``, or ``--ruler`` for a stock's ruler page."""

from __future__ import annotations

from argparse import ArgumentParser
from getpass import getuser
from typing import Any

from django.core.management.base import CommandError

from assembly.rules.telling.labelling import placement
from catalog.models import Instrument
from reports.documents.papers import LabelDocument
from reports.drawing.labels.labels import write_labels
from reports.drawing.labels.rulers import draw_ruler
from reports.drawing.stocks import stock
from reports.gathering.from_catalog import label_document
from reports.gathering.stocks import label_stocks
from reports.pages.printing import PrintCommand, found, shown, write, written
from reports.pages.workstation import LABEL_STOCK


class Command(PrintCommand):
    help = "Print labels of instruments, each in its recommended package, as PDF."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("item_number", nargs="*")
        super().add_arguments(parser)
        parser.add_argument("--packed-by", default=_login_name(),
                            help="who packed it; your login name when left out")  # fmt: skip
        parser.add_argument("--stock", default=LABEL_STOCK, help="label stock")
        parser.add_argument("--copies", type=int, default=1, help="labels of each")
        parser.add_argument("--start-at", type=int, default=1, metavar="POSITION",
                            help="first free position on a part-used sheet")  # fmt: skip
        parser.add_argument("--ruler", action="store_true", help="the stock's ruler page instead")

    def print(self, **options: Any) -> None:
        on = stock(options["stock"], label_stocks())
        if options["copies"] < 1:
            raise CommandError(f"--copies: {options['copies']} was read; write 1 or more.")
        if options["ruler"]:
            write(draw_ruler(on), options["output"])
            self.stdout.write(f"{options['output']}: ruler page of {on.name}")
            return
        documents = [
            document
            for number in options["item_number"]
            for document in [_document(number, options["packed_by"])] * options["copies"]
        ]
        if not documents:
            raise CommandError("Which instruments? Name their item numbers.")
        with written(options["output"]) as out:
            write_labels(
                out,
                documents,
                on,
                start_at=options["start_at"],
                title=f"Label {documents[0].barcode_text}: {documents[0].what}",
                progress=shown(len(documents)),
            )
        names = ", ".join(dict.fromkeys(document.what for document in documents))
        self.stdout.write(f"{options['output']}: label of {names}")
        for words in dict.fromkeys(placement(_kind(document)) for document in documents):
            self.stdout.write(words)


def _login_name() -> str:
    """Who runs the command, "" where the machine does not say (then a label asks for it)."""
    try:
        return getuser()
    except (KeyError, OSError):  # a container whose user has no name
        return ""


def _document(number: str, packed_by: str) -> LabelDocument:
    problem = f"No instrument bears the item number {number}."
    return label_document(found(Instrument.objects.all(), problem, item_number=number), packed_by)


def _kind(document: LabelDocument) -> str:
    """The kind of package, the first word of what the label says it is packed in."""
    return document.package.partition(" ")[0].lower()
