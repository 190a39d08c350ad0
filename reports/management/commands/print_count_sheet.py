"""``manage.py print_count_sheet SET_CODE ... -o FILE``, or ``--all``."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from catalog.models import InstrumentSet
from reports.drawing.sheets.count_sheets import draw_count_sheet, write_count_sheets
from reports.gathering.count_sheets import count_sheet_document, count_sheet_documents, remarks
from reports.gathering.photos import Photos, unread_words
from reports.pages.printing import PrintCommand, found, shown, write, written


class Command(PrintCommand):
    help = (
        "Print the count sheets in force, as PDF: of one set, of several in the order given "
        "with a table of contents, or of all. Stop a long run with Ctrl-C; nothing is kept then."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("set_code", nargs="*")
        parser.add_argument("--all", action="store_true", help="every set in use, by its code")
        super().add_arguments(parser)
        parser.add_argument("--paper", choices=["A4", "letter"], default="A4")
        parser.add_argument("--photos", action="store_true", help="the instruments' photos too")
        parser.add_argument("--printed-by", default="command line", help="who prints it")

    def print(self, **options: Any) -> None:
        sets = _sets(options["set_code"], every=options["all"])
        by, paper = options["printed_by"], options["paper"]
        left_out, refused = list[str](), list[str]()
        photos = Photos() if options["photos"] else None
        if len(sets) == 1 and not options["all"]:
            pdf = draw_count_sheet(count_sheet_document(sets[0], by, photos=photos), paper)
            write(pdf, options["output"])
        else:
            with written(options["output"]) as out:
                refused = write_count_sheets(
                    out,
                    count_sheet_documents(sets, by, left_out, photos),
                    paper,
                    left_out=remarks(left_out, photos),
                    progress=shown(len(sets)),
                )
        left_out += refused
        for words in left_out:
            self.stderr.write(f"Not printed: {words}")
        if photos and photos.unread:
            self.stderr.write(unread_words(photos.unread))
        what = str(sets[0]) if len(sets) == 1 else f"{len(sets) - len(left_out)} sets"
        self.stdout.write(f"{options['output']}: count sheet of {what}")


def _sets(codes: list[str], *, every: bool) -> list[InstrumentSet]:
    """The sets by their codes, in the order given; CommandError names a code nobody bears."""
    rows = InstrumentSet.objects.select_related("container", "basket", "wrap")
    if every:
        if codes:
            raise CommandError("Name sets, or say --all, not both.")
        return list(rows.filter(retired=False).order_by("code"))
    if not codes:
        raise CommandError("Which sets? Name their codes, or say --all.")
    return [found(rows, f"No set bears the code {code}.", code=code) for code in codes]
