"""The lists that are found in what was done: shortages, loads, and the supplies used up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress

from django.db import DatabaseError
from django.db.models import Exists, F, OuterRef, Sum
from django.db.models.functions import TruncMonth
from django.utils import timezone

from assembly.bench.weighing.baselines import newest, standing
from assembly.bench.weighing.checks import sure_of
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import LoadedPackage, SetBaseline, ShelfMove, Shortfall, SupplyUse
from assembly.packages.uses import LABEL
from assembly.packages.whereabouts import OUT, whereabouts_of
from assembly.shortfalls.causes import BY_DEPARTMENT, shortfalls
from assembly.stock.standing import standings
from assembly.upkeep.loaners import away_of, here, where_it_is
from assembly.upkeep.repairs import away
from catalog.chain import sealing
from catalog.models import Container, Protector
from catalog.models.supplies import PACKAGING
from catalog.vocabulary import Method
from reports.documents.lists import Found, ListColumn, ListKind, Row

DAY, MONTH = "%Y-%m-%d", "%Y-%m"


def _open_shortages() -> Found:
    """What sets went without and have not got back, the one that waits longest first."""
    still = shortfalls().filter(closed_at=None).order_by("opened_at", "pk")
    rows = still.alias(left=F("quantity") - F("returned"), whose=BY_DEPARTMENT)
    orders = (("item_number",), ("name",), ("left",), ("instrument_set__code",), ("kind",),
              ("whose",), ("opened_at",), ("package__code",))  # fmt: skip
    return Found(rows, _shortage_words, orders)


def _shortage_words(rows: Sequence[Shortfall]) -> Iterator[Row]:
    for one in rows:
        yield (one.item_number, one.name, str(one.waits_for), str(one.instrument_set),
               one.get_kind_display(), one.department, f"{timezone.localtime(one.opened_at):{DAY}}",
               one.package.code if one.package else "")  # fmt: skip


BY_LOAD = ("load__day", "load__begun_at", "load__pk")


def _packages_by_load() -> Found:
    """Every package that was in a load, the last load first, with where it is now; in each load
    what left the department first."""
    run = LoadedPackage.objects.filter(taken_out_at=None).exclude(load__started_at=None)
    left = ShelfMove.objects.filter(package=OuterRef("package"), state__in=OUT)
    rows = run.alias(left=Exists(left)).select_related("load", "package")
    orders = (BY_LOAD, ("load__programme",), ("load__state",), ("package__code",),
              ("package__what", "package__number"), ("package__packed_by",), ())  # fmt: skip
    last_first = (f"-{name}" for name in BY_LOAD)
    return Found(rows.order_by(*last_first, "-left", "pk"), _by_load_words, orders)


def _by_load_words(rows: Sequence[LoadedPackage]) -> Iterator[Row]:
    found = {one.package.pk: one.words for one in whereabouts_of(one.package for one in rows)}
    for one in rows:
        load, package = one.load, one.package
        yield (str(load), load.programme, load.get_state_display(), package.code,
               f"{package.what} ({package.number})", package.packed_by,
               found[package.pk])  # fmt: skip


def _baselines() -> Found:
    """What each physical set weighs, and the lightest piece that the scale surely notices."""
    orders = (("instrument_set__code",), ("instrument_set__name",), ("number",), ("grams",),
              ("reading__at",), ("by",), (), ())  # fmt: skip
    return Found(newest(), _baseline_words, orders)


def _baseline_words(rows: Sequence[SetBaseline]) -> Iterator[Row]:
    policy = policy_in_force()
    for one in standing(rows):
        base, of = one.baseline, one.baseline.instrument_set
        yield (
            of.code,
            of.name,
            str(base.number),
            f"{base.grams:,}",
            f"{timezone.localtime(base.reading.at):{DAY}}",
            base.by,
            f"{sure_of(policy, one):.1f}",
            f"void: {one.void}" if one.void else "in force",
        )


def _wet_packages() -> Found:
    """Every package that was wet after its cycle, the last first, with the cause that was found."""
    wet = LoadedPackage.objects.exclude(wet_because="").select_related("load", "package")
    what = ("package__what", "package__number")
    orders = (("load__day",), BY_LOAD, ("load__programme",), ("package__code",), what,
              ("package__supply",), ("wet_because",))  # fmt: skip
    return Found(wet.order_by("-load__day", "-pk"), _wet_words, orders)


def _wet_words(rows: Sequence[LoadedPackage]) -> Iterator[Row]:
    for one in rows:
        load, package = one.load, one.package
        yield (f"{load.day:{MONTH}}", str(load), load.programme, package.code,
               f"{package.what} ({package.number})", package.supply,
               one.get_wet_because_display())  # fmt: skip


def _away() -> Iterator[Row]:
    """Every piece that is away for repair, the one that is away longest first."""
    for one in away().select_related("instrument_set"):
        here = "here, laid aside"
        yield (one.item_number, one.name, str(one.instrument_set or ""), one.reason,
               one.gone_to or here, f"{timezone.localtime(one.gone_at or one.sent_at):{DAY}}",
               str(one.expected_on or "not said"))  # fmt: skip


def _on_loan() -> Iterator[Row]:
    """What is lent and still to be returned, what goes back first; with where it is."""
    for one in here():
        at = "; ".join(f"{each.package.code}: {each.words}" for each in where_it_is(one))
        gone = "".join(f"; {gone.quantity} × {gone.name} at repair" for gone in away_of(one))
        yield (one.what, one.vendor, one.needed_for, str(one.pieces or "not counted"),
               str(one.return_by or "not said"), f"{at or 'not packed'}{gone}", "")  # fmt: skip


def _supply_use() -> Iterator[Row]:
    """How much of each supply was used up in each month, the last month first.

    By packages that were packed, those made void too.
    """
    used = SupplyUse.objects.order_by().values(
        "supply", month=TruncMonth("package__packed_at")
    ).annotate(amount=Sum("amount"), length=Sum("length_mm"))  # fmt: skip
    names = _names()
    ordered = sorted(used, key=lambda one: one["supply"])
    for one in sorted(ordered, key=lambda one: one["month"], reverse=True):
        kind, _, code = one["supply"].partition(":")
        length = f"{one['length'] / 1000:.1f} m" if one["length"] else ""
        yield (f"{one['month']:{MONTH}}", code, names.get(one["supply"], "no longer on record"),
               kind, str(one["amount"]), length)  # fmt: skip


def _on_hand() -> Iterator[Row]:
    """Every supply that is counted, those to be ordered first."""
    for one in standings():
        state = "order" if one.is_low else one.words or "enough"
        lots = "; ".join(f"{lot.lot or 'no lot'} {lot.quantity:g}, {lot.expires or 'no date'}"
                         for lot in one.lots)  # fmt: skip
        if one.expired:
            state += f"; past its date: {sum(lot.quantity for lot in one.expired):g}"
        yield (one.of.name, f"{one.on_hand:g}", lots, f"{one.demand.a_day:.1f}",
               f"{one.lead_days:g}", str(one.order_at or "–"), state)  # fmt: skip


def _names() -> dict[str, str]:
    """Every supply that a package uses up, by its key: five queries."""
    found = {}
    for kind, model in PACKAGING.items():
        for row in model._default_manager.all():
            if isinstance(row, Container):
                found[f"filter:{row.code}"] = f"{row.filter or 'filter'}, {row.name}"
            else:
                found[f"{kind}:{row.code}"] = row.name
    worn = Protector.objects.all()
    found |= {f"protector:{row.name}"[:60]: "one of several sizes" for row in worn}
    found |= {f"protector:{row.code}": row.name for row in worn}
    found |= {f"indicator:{one}": f"indicators for {one.words}" for one in Method}
    return found | {LABEL: "labels of packages"}


def _digests() -> Iterator[Row]:
    """The last digest of each day of the last month. What is open is sealed first."""
    with suppress(DatabaseError):  # Where nothing can be written, what is sealed can be read.
        sealing.seal_all()
    for day, seal in sealing.days():
        yield (f"{day:{DAY}}", sealing.grouped(bytes(seal.digest)), str(seal))


LISTS: list[ListKind] = []
LISTS.append(ListKind(
    "open-shortages", "Open shortages",
    (ListColumn("Item number", 0.8), ListColumn("Name", 1.8), ListColumn("Pieces", 0.5, "right"),
     ListColumn("Set", 1.8), ListColumn("How", 0.9), ListColumn("Department", 1.1),
     ListColumn("Since", 0.8), ListColumn("Package", 0.9)),
    _open_shortages, "Packed short, or missed in the OR, and not put back yet.",
    ("replenish", 0), "assembly.work_request", "No set waits for anything.",
))  # fmt: skip
LISTS.append(ListKind(
    "packages-by-load", "Packages by load",
    (ListColumn("Load", 1.2), ListColumn("Cycle", 1.6), ListColumn("State", 0.8),
     ListColumn("Package", 0.9), ListColumn("What", 1.9), ListColumn("Packed by", 0.9),
     ListColumn("Where it is", 1.3)),
    _packages_by_load, "The last load first; in each, what left the department first.",
    ("package", 3), "assembly.view_load", "No load was run yet.",
))  # fmt: skip
LISTS.append(ListKind(
    "wet-packages", "Wet packages",
    (ListColumn("Month", 0.6), ListColumn("Load", 1.1), ListColumn("Cycle", 1.5),
     ListColumn("Package", 0.8), ListColumn("What", 1.8), ListColumn("Packed in", 1.4),
     ListColumn("Why", 1.5)),
    _wet_packages, "As they were named at the sterilizer; the last load first.",
    ("package", 3), "assembly.view_load", "No package was named wet yet.",
))  # fmt: skip
LISTS.append(ListKind(
    "away", "Away for repair",
    (ListColumn("Item number", 0.8), ListColumn("Name", 1.8), ListColumn("Set", 1.6),
     ListColumn("Why", 1.6), ListColumn("Where", 1.2), ListColumn("Since", 0.8),
     ListColumn("Expected", 0.8)),
    _away, "Laid aside, or with who mends it; the longest away first.",
    ("instrument", 0), "assembly.assemble", "Nothing is away.",
))  # fmt: skip
LISTS.append(ListKind(
    "baselines", "What sets weigh complete",
    (ListColumn("Set", 0.8), ListColumn("Name", 1.8), ListColumn("No.", 0.4, "right"),
     ListColumn("Complete, g", 0.8, "right"), ListColumn("Read", 1.0), ListColumn("By", 1.0),
     ListColumn("Notices from, g", 0.8, "right"), ListColumn("State", 1.8)),
    _baselines, "Open in its basket. From so many grams on one missing piece is surely noticed; "
    "never a piece swapped for one of the same weight, nor whether one is clean or works.",
    ("set", 0), "catalog.view_instrumentset", "No set has a baseline yet.",
))  # fmt: skip
LISTS.append(ListKind(
    "on-loan", "On loan, to be returned",
    (ListColumn("What", 1.8), ListColumn("Whose", 1.2), ListColumn("For", 1.0),
     ListColumn("Pieces", 0.7, "right"), ListColumn("Return by", 0.8),
     ListColumn("Where it is", 1.8), ListColumn("Returned", 0.8)),
    _on_loan, "What goes back first stands first; the last column is written by hand.",
    None, "assembly.assemble", "Nothing is here on loan.",
))  # fmt: skip
LISTS.append(ListKind(
    "supply-use", "Supplies used, by month",
    (ListColumn("Month", 0.6), ListColumn("Code", 0.9), ListColumn("Name", 2.4),
     ListColumn("Kind", 0.6), ListColumn("Used", 0.5, "right"), ListColumn("Length", 0.5, "right")),
    _supply_use, "By packages recorded here, void ones too. A filter counts once a package; of "
    "indicators those inside. Labels printed again and tape are not counted.",
    None, "catalog.view_pouch", "Nothing was packed yet.",
))  # fmt: skip
LISTS.append(ListKind(
    "on-hand", "Supplies on hand, and to order",
    (ListColumn("Supply", 2.2), ListColumn("On hand", 0.6, "right"),
     ListColumn("Lot, how many, use by", 1.8), ListColumn("A day", 0.5, "right"),
     ListColumn("Delivery, days", 0.6, "right"), ListColumn("Order at", 0.6, "right"),
     ListColumn("State", 1.2)),
    _on_hand, "As they were counted, less what packages used up since; rolls in meters. Ordered at "
    "use a day × days of delivery, and more for days that vary.",
    None, "assembly.set_stock_level", "Nothing is counted.",
))  # fmt: skip
LISTS.append(ListKind(
    "digests", "Digests of the records",
    (ListColumn("Day", 0.9, whole=True), ListColumn("Digest", 5.2), ListColumn("Seal", 0.7)),
    _digests, "Each seals all that was on record at the end of its day. Keep them on paper, or on "
    "another machine: verify_records --kept holds the records against one.",
    None, "catalog.view_change", "Nothing is on record.",
))  # fmt: skip
