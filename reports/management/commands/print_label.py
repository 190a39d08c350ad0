"""``manage.py print_label PK-... -o FILE`` for packages, ``ITEM_NUMBER ...`` for shelves and bins,
or ``--ruler`` for a stock's ruler page."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from assembly.judging.taking import supplies_in
from assembly.models import Package
from assembly.packages.recording import looks_like_package_code, read_package_code
from assembly.rules.telling.labelling import placement
from catalog.models import Instrument
from reports.documents.labels import AnyLabel
from reports.documents.papers import NotPrinted, PrintError
from reports.drawing.labels.labels import planned, title_of, write_labels
from reports.drawing.labels.rulers import draw_ruler
from reports.drawing.stocks import Stock, stock
from reports.gathering.labels.marks import Marks
from reports.gathering.labels.packages import fitting_label
from reports.gathering.labels.shelves import instrument_shelf_label
from reports.gathering.stocks import label_stocks
from reports.pages.printing import PrintCommand, found, shown, write, written
from reports.pages.workstation import LABEL_STOCK


class Command(PrintCommand):
    help = (
        "Print labels as PDF: of packages on record by their codes (PK-...), and of the shelves "
        "and bins of instruments by their item numbers."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", nargs="*", help="a package's code, or an item number")
        super().add_arguments(parser)
        parser.add_argument("--stock", default=LABEL_STOCK, help="label stock")
        parser.add_argument("--copies", type=int, default=1, help="labels of each")
        parser.add_argument("--start-at", type=int, default=1, metavar="POSITION",
                            help="first free position on a part-used sheet")  # fmt: skip
        parser.add_argument("--ruler", action="store_true", help="the stock's ruler page instead")

    def print(self, **options: Any) -> None:
        on, copies = stock(options["stock"], label_stocks()), options["copies"]
        if options["ruler"]:
            write(draw_ruler(on), options["output"])
            self.stdout.write(f"{options['output']}: ruler page of {on.name}")
            return
        if not options["code"]:
            raise CommandError("Labels of what? Name package codes or item numbers.")
        if copies < 1:
            raise CommandError(f"--copies {copies}: print 1 or more of each.")
        packages = {code: _package(code) for code in options["code"]
                    if looks_like_package_code(code)}  # fmt: skip
        marks = Marks()
        asked = [_document(code, packages.get(code), on, marks) for code in options["code"]]
        documents = [one for one in asked if not isinstance(one, NotPrinted)]
        left_out = [str(one) for one in asked if isinstance(one, NotPrinted)]
        if not documents:
            raise CommandError("\n".join(left_out))
        title = title_of(documents[0]) if len(documents) == 1 else f"{len(documents)} labels"
        with written(options["output"]) as out:
            write_labels(
                out,
                [one for one in asked for _ in range(copies)],
                on,
                start_at=options["start_at"],
                title=title,
                progress=shown(len(asked) * copies),
            )
        for words in left_out:
            self.stderr.write(f"Not printed: {words}")
        self.stdout.write(f"{options['output']}: {_named(documents)}")
        kinds = (supplies_in(package.taken)[0] for package in packages.values())
        for words in dict.fromkeys(map(placement, kinds)):
            self.stdout.write(words)


def _package(code: str) -> Package:
    whole = read_package_code(code)
    if whole is None:
        raise CommandError(f"{code} was misread: its check character does not fit. Scan it again.")
    one = Package.objects.filter(code=whole).first()
    if one is None:
        raise CommandError(f"No package on record bears the code {code}.")
    return one


def _document(code: str, package: Package | None, on: Stock, marks: Marks) -> AnyLabel | NotPrinted:
    """The label of a package, or of an instrument's shelf; why, where it cannot be printed."""
    problem = f"No instrument bears the item number {code}."
    what = package or found(Instrument.objects.all(), problem, item_number=code)
    try:
        if isinstance(what, Package):
            return fitting_label(what, on, marks=marks)
        shelf = instrument_shelf_label(what)
        planned(shelf, on)
        return shelf
    except PrintError as refusal:
        name = what.what if isinstance(what, Package) else what.name
        return NotPrinted(code, name, str(refusal))


def _named(documents: list[AnyLabel]) -> str:
    """What was printed; of many the first ones."""
    names = list(dict.fromkeys(title_of(document) for document in documents))
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return "; ".join(names[:3]) + more
