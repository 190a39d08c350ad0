"""The lists that are found in the catalog alone."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from functools import reduce
from hashlib import sha256
from operator import or_
from typing import Any

from django.core.cache import caches
from django.db import connection
from django.db.models import (
    Case,
    DateField,
    Exists,
    Max,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Coalesce, TruncDate
from django.utils import timezone

from assembly.consequences.every_set import answers
from assembly.consequences.lacking import lacking_ranked
from assembly.judging.facts_from_catalog import instrument_facts, policy_in_force
from assembly.judging.sharpening import Uses, uses_of
from assembly.models import IfuComparison
from assembly.planning.wet_risk import with_figures
from assembly.rules.facts.declared import declared
from assembly.rules.facts.instruments import Instrument as InstrumentFacts
from assembly.rules.findings import Outcome, Status
from catalog.models import Change, CountSheet, CycleOption, Instrument, InstrumentSet, Line
from catalog.vocabulary import Form
from reports.documents.lists import Found, ListColumn, ListDocument, ListKind, Row

MONTHS_A_YEAR = 12


def list_document(
    kind: ListKind, made_by: str, rows: Found | tuple[Row, ...] | None = None
) -> ListDocument:
    """The rows of ``kind`` as they are now, or those that were found before."""
    moment = timezone.localtime().replace(tzinfo=None)
    found = found_rows(kind) if rows is None else rows
    return ListDocument(kind, tuple(found), moment, made_by, kind.plots())


KEPT_S = 600
WAITED_FOR = 60
"""So many sets are decided while a page waits: a second of processor time."""


def found_rows(kind: ListKind) -> Found | tuple[Row, ...]:
    """Found anew, or kept: the number of the last change on record, the policy and the day
    say whether anything that a decision reads has changed since. Of what grows none is read yet."""
    if not kind.costly:
        found = kind.rows()
        return found if isinstance(found, Found) else tuple(found)
    return caches["lists"].get_or_set(kept_as(kind.key), lambda: tuple(kind.rows()), KEPT_S) or ()


def kept_as(key: str) -> str:
    """The key by which what was found is kept, until something that a decision reads changes."""
    last = Change.objects.aggregate(last=Max("pk"))["last"]
    where = sha256(str(connection.settings_dict["NAME"]).encode()).hexdigest()
    return f"{where}:{key}:{last}:{policy_in_force().digest}:{timezone.localdate()}"


def takes_long(kind: ListKind) -> bool:
    """Whether a page may not wait for its rows: they are not kept, and many sets are decided."""
    sets = InstrumentSet.objects.filter(retired=False)
    return kind.costly and sets.count() > WAITED_FOR and kept_as(kind.key) not in caches["lists"]


def _heavy() -> Iterator[Row]:
    """Sets whose known weight is over the policy's share of the limit, heaviest first."""
    near = policy_in_force().number("near_limit_share")
    found = []
    for one, answer in answers():
        weight = answer.weight
        if weight.share is None:
            continue
        if weight.share >= 100 * near or weight.finding.status is Status.NOT_MET:
            known = f"{weight.known_kg} known" if weight.unknown else weight.known_kg
            unknown = f" Not weighed: {', '.join(weight.unknown)}." if weight.unknown else ""
            found.append((-weight.share, (one.code, one.name, known, weight.limit_kg,
                          f"{weight.share:.0f} %", f"{weight.state}.{unknown}")))  # fmt: skip
    return (row for _, row in sorted(found))


def _undecided() -> Iterator[Row]:
    """Sets for which nothing is decided, or nothing serves, with every reason."""
    approved = CountSheet.objects.filter(state=CountSheet.State.CURRENT)
    without = InstrumentSet.objects.filter(retired=False).exclude(
        pk__in=approved.values("instrument_set")
    )
    for one in without:
        yield one.code, one.name, "Not decided", "No count sheet of it is approved."
    for one, answer in answers():
        if answer.decision.outcome is Outcome.RECOMMENDED:
            continue
        wanted = ("Not known",) if answer.decision.outcome is Outcome.UNDECIDED else (
            "What stands in the way", "Not known")  # fmt: skip
        reasons = [s for part in answer.sections if part.heading in wanted for s in part.sentences]
        yield one.code, one.name, answer.headline, " ".join(reasons).replace("..", ".")


def _missing(instrument: Instrument) -> list[str]:
    missing = [fact.missing for fact in instrument_facts(instrument).not_on_record]
    for cycle in instrument.cycles.all():
        if cycle.exposure_min is None:
            missing.append(f"exposure in {cycle.get_method_display().lower()}")
    return missing


OPENS = Q(hinged=True) | Q(hinged=None, form=Form.RINGS)
"""What opens, of what has no width open on record."""
CYCLES = CycleOption.objects.filter(instrument=OuterRef("pk"))
LACKS = {
    "sharp": Q(tip=Instrument.Tip.UNKNOWN),
    "width_open_mm": Q(width_open_mm=None) & OPENS,
    "cycles": ~Exists(CYCLES) | Exists(CYCLES.filter(exposure_min=None)),
}
"""What no column of the same name says: the others are not on record where they are null."""


def _lacking() -> Q:
    """Instruments of which `_missing` says something, as the database is asked."""
    asked = (one.name for one in declared(InstrumentFacts) if one.missing)
    return reduce(or_, (LACKS.get(name, Q(**{name: None})) for name in asked))


def _facts_missing() -> Found:
    """Instruments in use that lack a fact some decision asks for."""
    rows = Instrument.objects.filter(_lacking(), retired=False).order_by("item_number")
    return Found(rows.prefetch_related("cycles"), _facts_words, (("item_number",), ("name",), ()))


def _facts_words(rows: Sequence[Instrument]) -> Iterator[Row]:
    for one in rows:
        yield one.item_number, one.name, ", ".join(_missing(one))


def _lacking_ranked() -> Iterator[Row]:
    """What is missing, first what frees most sets."""
    for one in lacking_ranked():
        missing = ", ".join(one.missing)
        yield one.number, one.name, missing, str(one.frees), str(one.blocks)


def _sharpening() -> Iterator[Row]:
    """What has an edge, with its uses since it was sharpened, those that are due first."""
    policy, found = policy_in_force(), list[Uses]()
    current = Line.objects.filter(count_sheet__state=CountSheet.State.CURRENT,
                                  count_sheet__instrument_set__retired=False)  # fmt: skip
    inside: dict[InstrumentSet, list[Instrument]] = {}
    for line in current.select_related("instrument", "count_sheet__instrument_set"):
        inside.setdefault(line.count_sheet.instrument_set, []).append(line.instrument)
    for whose, instruments in inside.items():
        found += uses_of(instruments, whose, policy)
    for uses in sorted(found, key=lambda one: (not one.due, -one.uses)):
        one, state = uses.instrument, "due" if uses.due else ""
        yield (one.item_number, one.name, str(uses.instrument_set),
               str(uses.since or "not on record"), str(uses.uses), state)  # fmt: skip


REVISION = re.compile(r"((?:19|20)\d\d)(?:[-/.](0?[1-9]|1[0-2]))?(?![0-9])")


def revision_month(words: str) -> date | None:
    """The month that a revision such as "2023-04" names; a year alone is read as its January.

    >>> revision_month("2023-04"), revision_month("Rev. 2021"), revision_month("C")
    (datetime.date(2023, 4, 1), datetime.date(2021, 1, 1), None)
    """
    found = REVISION.search(words)
    return date(int(found[1]), int(found[2] or 1), 1) if found else None


def _ifus() -> Found:
    """Instruments whose IFU is older than the policy allows, not on record, or of unknown age;
    not those that were compared with the maker's current one since. The oldest first."""
    most, today = int(policy_in_force().number("ifu_review_months")), timezone.localdate()
    years, month = divmod(today.year * MONTHS_A_YEAR + today.month - 1 - most, MONTHS_A_YEAR)
    in_use = Instrument.objects.filter(retired=False)
    compared = IfuComparison.objects.filter(instrument=OuterRef("pk")).values("at")[:1]
    rows = in_use.annotate(compared=Subquery(compared), since=_ifu_since(in_use))
    due = rows.alias(from_day=Coalesce("since", Value(date.min)))
    due = due.filter(from_day__lt=date(years, month + 1, 1)).order_by("from_day", "item_number")
    orders = (("item_number",), ("name",), ("maker",), ("ifu_revision",), ("from_day",))
    return Found(due, lambda part: _ifu_words(part, today), orders)


def _ifu_since(rows: QuerySet[Instrument]) -> Case:
    """The day from which an IFU's age is counted, of rows that say when it was ``compared``: that
    day, else the month that its revision names. Which revisions there are is one query."""
    years: dict[int, dict[date, list[str]]] = {}
    for words in rows.order_by().values_list("ifu_revision", flat=True).distinct():
        if month := revision_month(words):
            years.setdefault(month.year, {}).setdefault(month, []).append(words)
    named = (
        When(ifu_revision__in=[one for words in of.values() for one in words], then=Case(*(
            When(ifu_revision__in=words, then=Value(month)) for month, words in of.items())))
        for of in years.values()
    )  # fmt: skip
    compared = When(compared__isnull=False, then=TruncDate("compared"))
    return Case(compared, *named, output_field=DateField())


def _ifu_words(rows: Sequence[Any], today: date) -> Iterator[Row]:
    for one in rows:
        why = "no revision on record" if not one.ifu_revision else "its age cannot be told"
        if since := one.since:
            age = (today.year - since.year) * MONTHS_A_YEAR + today.month - since.month
            why = f"{age} months old"
        yield one.item_number, one.name, one.maker, one.ifu_revision or "–", why


def _wet_risk() -> Found:
    """Every set in use, most water first."""
    orders = (("code",), ("name",), ("water_g",), ("mass_g",), ("per_cm2",), ("heaviest_g",),
              ("wet",))  # fmt: skip
    return Found(with_figures(), _wet_words, orders)


def _wet_words(rows: Sequence[Any]) -> Iterator[Row]:
    for one in rows:
        least = "at least " if one.not_known else ""
        per, heaviest = one.per_cm2, one.heaviest_g
        yield (one.code, one.name, f"{least}{one.water_g:.0f}", f"{least}{one.mass_g:.0f}",
               "–" if per is None else f"{least}{per:.1f}",
               "–" if heaviest is None else f"{heaviest:.0f}", str(one.wet))  # fmt: skip


CODE, NAME = ListColumn("Set", 0.7), ListColumn("Name", 1.8)
ITEM = ListColumn("Item number", 0.8)

LISTS: list[ListKind] = []
LISTS.append(ListKind(
    "heavy-sets", "Sets over or near the weight limit",
    (CODE, NAME, ListColumn("Weight", 0.9, "right"), ListColumn("Limit", 0.8, "right"),
     ListColumn("Share", 0.6, "right"), ListColumn("State", 2.0)),
    _heavy, "What is not weighed is not counted: such a set is heavier than it says.",
    ("set", 0), nothing="No set is over or near its limit as far as weights are known.",
    costly=True,
))  # fmt: skip
LISTS.append(ListKind(
    "undecided-sets", "Sets that cannot be decided, and why",
    (CODE, NAME, ListColumn("Decision", 1.6), ListColumn("Why", 3.4)),
    _undecided, "A missing fact never passes: measure, weigh or read it, then the set is decided.",
    ("set", 0), nothing="Every set with an approved count sheet is decided.", costly=True,
))  # fmt: skip
LISTS.append(ListKind(
    "wet-risk", "Sets by the water to dry",
    (CODE, NAME, ListColumn("Water, g", 0.9, "right"), ListColumn("Metal, g", 0.8, "right"),
     ListColumn("Metal, g/cm²", 0.8, "right"), ListColumn("Heaviest piece, g", 0.9, "right"),
     ListColumn("Named wet", 0.6, "right")),
    _wet_risk, "Advice, never a limit. What steam leaves on instruments taken to be steel, warmed "
    "as the policy says: a heat balance. “At least”: something of it is not on record.",
    ("wet_set", 0), nothing="No set is in use.",
))  # fmt: skip
LISTS.append(ListKind(
    "missing-facts", "Instruments missing facts",
    (ITEM, ListColumn("Name", 2.2), ListColumn("Not on record", 2.0)),
    _facts_missing, "Each of these stops some decision.",
    ("instrument", 0), "catalog.view_instrument", "Every instrument has every fact.",
))  # fmt: skip
LISTS.append(ListKind(
    "missing-frees", "What is missing, by the sets it frees",
    (ITEM, ListColumn("Name", 2.2), ListColumn("Missing", 1.6),
     ListColumn("Sets it frees", 0.8, "right"), ListColumn("Sets it blocks", 0.8, "right")),
    _lacking_ranked, "Frees: nothing else in these sets lacks a size, a weight or a cycle.",
    ("instrument", 0), "catalog.view_instrument", "Every instrument has sizes, weight and cycle.",
))  # fmt: skip
LISTS.append(ListKind(
    "ifus", "IFUs to review",
    (ITEM, ListColumn("Name", 2.0), ListColumn("Maker", 1.2), ListColumn("Revision", 0.8),
     ListColumn("Why", 1.4)),
    _ifus, "Older than the policy lets an IFU grow before it is read again, or of no known age.",
    ("instrument", 0), "catalog.view_instrument", "No IFU is due.",
))  # fmt: skip
LISTS.append(ListKind(
    "sharpening", "Uses since sharpening",
    (ITEM, ListColumn("Name", 2.0), ListColumn("Set", 1.8), ListColumn("Sharpened", 0.9),
     ListColumn("Packages since", 0.8, "right"), ListColumn("State", 0.5)),
    _sharpening, "Packages closed with it, void ones not counted, up to the policy's number.",
    ("instrument", 0), nothing="The policy sets no number of uses, or nothing has an edge.",
    costly=True,
))  # fmt: skip
