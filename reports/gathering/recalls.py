"""The sheet to walk with: every package of a recall by where it is, with boxes to tick."""

from __future__ import annotations

from django.utils import timezone

from assembly.models import Recall, RecalledPackage
from assembly.rules.days import time_words
from reports.documents.lists import ListColumn, ListDocument, ListKind, Row

COLUMNS = (ListColumn("Where to look", 2.2), ListColumn("Package", 1.0), ListColumn("What", 2.0),
           ListColumn("Opened or used", 0.8), ListColumn("Found, kept apart", 0.9),
           ListColumn("Who, when", 1.1))  # fmt: skip
BOX = "______"
FULL_STOP = "."


def recall_sheet(recall: Recall, made_by: str) -> ListDocument:
    """What went out first, by who has it; then by where it lies."""
    found = sorted(recall.packages.select_related("package"), key=_way)
    said = f"{recall.by}, {time_words(timezone.localtime(recall.at))}"
    kind = ListKind(
        f"recall-{recall.pk}", f"Recall {recall.pk}: {recall.about}", COLUMNS, list,
        f"{recall.reason.rstrip(FULL_STOP)}. {said}. "
        f"{len(found)} packages, none to be used: keep each apart, unopened.",
        nothing="No package of it was on record.",
    )  # fmt: skip
    return ListDocument(kind, tuple(map(_row, found)), timezone.localtime(), made_by)


def _way(one: RecalledPackage) -> tuple[bool, str, str]:
    return not one.holder, one.holder.casefold() or one.where.casefold(), one.package.code


def _row(one: RecalledPackage) -> Row:
    where = one.holder or one.where
    package = one.package
    return (where, package.code, f"{package.what} ({package.number})",
            "opened" if one.was_opened else "", BOX, "")  # fmt: skip
