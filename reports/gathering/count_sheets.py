"""Count sheets: of a set as it is to be, and of a package as it was counted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import groupby, islice
from typing import Any

from django.conf import settings
from django.db.models import prefetch_related_objects
from django.utils import timezone

from assembly.bench.tally import Tally, tally_of
from assembly.judging.decisions import SetAnswer, decide_for_set
from assembly.judging.facts_from_catalog import lines_of_many, policy_in_force
from assembly.judging.questions_from_catalog import shared_now
from assembly.judging.recorded import decided_of
from assembly.layouts.saved import latest_by_sheet, latest_of, layers_of, plan_of
from assembly.models import BuildEvent, BuildLine, Load, Package, Repair
from assembly.packages.standing import Word, load_of
from assembly.rules.days import day_words, time_words
from assembly.rules.findings import metric
from assembly.rules.layers.moving import Plan, here
from assembly.upkeep.repairs import away_from_many
from catalog.models import CountSheet, Instrument, InstrumentSet, Line
from reports.documents.count_sheets import (
    CountSheetDocument,
    CountSheetLine,
    CountSheetSection,
    Signed,
    Substitute,
)
from reports.documents.papers import NothingToPrint, PrintError
from reports.gathering.photos import Photos, unread_words

MOST_NAMED = 12
READ_AT_ONCE = 25
"""Sets whose rows are read together: some thousand lines."""


def count_sheet_documents(
    sets: Iterable[InstrumentSet],
    printed_by: str,
    left_out: list[str],
    photos: Photos | None = None,
) -> Iterator[CountSheetDocument]:
    """One sheet after the other; a set without one is named in ``left_out`` instead."""
    every = iter(sets)
    while some := list(islice(every, READ_AT_ONCE)):
        read = _Read(some)
        for one in some:
            try:
                yield _document(one, read, printed_by, photos)
            except (NothingToPrint, PrintError) as problem:
                left_out.append(f"{one.code} {one.name}: {problem}")


class _Read:
    """All that the count sheets of some sets are made of, read at once."""

    def __init__(self, sets: Sequence[InstrumentSet]) -> None:
        prefetch_related_objects(sets, "container", "wrap", "basket")
        current = CountSheet.objects.filter(instrument_set__in=sets, state=CountSheet.State.CURRENT)
        self.sheets = {sheet.instrument_set_id: sheet for sheet in current}
        self.lines = lines_of_many(self.sheets.values())
        self.substitutes: dict[int, list[Instrument]] = {}
        of_lines = Line.substitutes.through._default_manager.filter(
            line__count_sheet__in=self.lines
        )
        for one in of_lines.select_related("instrument").order_by("instrument__item_number"):
            self.substitutes.setdefault(one.line_id, []).append(one.instrument)
        self.away = away_from_many(sets)
        self.layouts = latest_by_sheet(self.sheets.values())
        self.shared = shared_now()


def remarks(left_out: Iterable[str], photos: Photos | None) -> Iterator[str]:
    """What a run says on its first page is missing; to be read when the last sheet is drawn."""
    yield from left_out
    if photos and photos.unread:
        yield unread_words(photos.unread)


def count_sheet_document(
    instrument_set: InstrumentSet,
    printed_by: str,
    *,
    photos: Photos | None = None,
) -> CountSheetDocument:
    """The current count sheet of a set, with what is decided for it.

    The photographs come from ``photos``; without it none are printed. One that cannot be
    read is named in the notices.
    """
    return _document(instrument_set, _Read([instrument_set]), printed_by, photos)


def _document(
    instrument_set: InstrumentSet, read: _Read, printed_by: str, photos: Photos | None
) -> CountSheetDocument:
    sheet = read.sheets.get(instrument_set.pk)
    if sheet is None:
        raise NothingToPrint(f"No count sheet of {instrument_set.code} is approved yet: "
                             "approve one first.")  # fmt: skip
    lines = read.lines[sheet.pk]
    answer = decide_for_set(instrument_set, lines, out=(), shared=read.shared)
    away = read.away[instrument_set.pk]
    pictures, unread = photos.of(line.instrument for line in lines) if photos else ({}, [])
    counted = ({"quantity": line.quantity, "name": line.instrument.name,
                "item_number": line.instrument.item_number} for line in lines)  # fmt: skip
    return CountSheetDocument(
        **_head(instrument_set, sheet, printed_by),
        sections=_sections(
            instrument_set,
            zip(lines, counted, strict=True),
            pictures,
            read.substitutes,
            plan := plan_of(read.layouts.get(sheet.pk), instrument_set),
        ),
        layers=layers_of(plan),
        decided=answer.decided,
        notices=tuple(
            filter(None, (*_notices(instrument_set, sheet, answer, away), unread_words(unread)))
        ),
        tick_columns=answer.policy.words("count_sheet_columns"),
    )


def built_sheet_document(
    package: Package, printed_by: str, *, photos: Photos | None = None
) -> CountSheetDocument:
    """The count sheet of a signed set, as it was counted: what is missing, what stands in, who
    signed, and what is known of its load. ValueError for a single.

    The photographs come from ``photos``; one that cannot be read is named in the notices.
    """
    build = package.build
    if build is None:
        raise ValueError(f"{package.code} is no set and has no count sheet")
    tally, load = tally_of(build), load_of(package)
    lines = [one.line for one in tally.lines]
    pictures, unread = photos.of(line.instrument for line in lines) if photos else ({}, [])
    counted = zip(lines, _counts(package, tally), strict=True)
    instead = {line.pk: line.substitutes.all() for line in lines}
    plan = plan_of(latest_of(build.count_sheet), build.instrument_set)
    head = _head(build.instrument_set, build.count_sheet, printed_by)
    if package.is_void:
        head["revision_state"] = Word.VOID.value
    return CountSheetDocument(
        **{**head, "set_name": build.set_name, "set_code": build.set_code},
        sections=_sections(build.instrument_set, counted, pictures, instead, plan),
        layers=layers_of(plan),
        decided=decided_of(package, load),
        notices=tuple(filter(None, (*_of_package(package, tally), unread_words(unread)))),
        tick_columns=policy_in_force().words("count_sheet_columns"),
        package_code=package.code,
        run=tuple(_run(package, load)),
        signed=_signed(package),
    )


def _head(instrument_set: InstrumentSet, sheet: CountSheet, printed_by: str) -> dict[str, Any]:
    return {
        "hospital": settings.HOSPITAL_NAME or "Sterile processing",
        "set_name": instrument_set.name,
        "set_code": instrument_set.code,
        "revision": str(sheet.revision),
        "revision_state": str(sheet.state),
        "approval": _approval(sheet),
        "service": instrument_set.service,
        "printed_at": timezone.localtime().replace(tzinfo=None),
        "printed_by": printed_by,
    }


def _approval(sheet: CountSheet) -> str:
    """Who approved a revision and when; blank unless both are on record."""
    if not sheet.approved_by or sheet.approved_on is None:
        return ""
    return f"{sheet.approved_by}, {day_words(sheet.approved_on)}"


# --- the lines -------------------------------------------------------------------------------


def _sections(
    instrument_set: InstrumentSet,
    lines: Iterable[tuple[Line | BuildLine, dict[str, Any]]],
    photos: Mapping[str, bytes],
    substitutes: Mapping[int, Iterable[Instrument]],
    plan: Plan | None,
) -> tuple[CountSheetSection, ...]:
    """The lines, numbered, under the titles of their sections: with each where it lies by the
    saved ``plan``, what was counted of it, what the set's sheet shows of its instrument, its
    substitutes by the key of the line too, and its photograph if there is one."""
    numbered = (
        (line.section, CountSheetLine(
            number=number,
            details=(*_lies(plan, number),
                     *_details(instrument_set, line, substitutes.get(line.pk, ()))),
            photo=photos.get(line.instrument.item_number, b""),
            **counted,
        ))
        for number, (line, counted) in enumerate(lines, start=1)
    )  # fmt: skip
    return tuple(
        CountSheetSection(title, tuple(line for _, line in group))
        for title, group in groupby(numbered, key=lambda pair: pair[0])
    )


def _lies(plan: Plan | None, number: int) -> Iterator[str]:
    if plan and (words := here(plan, number)):
        yield words


def _details(
    shows: InstrumentSet, line: Line | BuildLine, substitutes: Iterable[Instrument]
) -> Iterator[str]:
    """What stands under a name: what the assembler needs, and what the set's sheet shows."""
    instrument = line.instrument
    if instrument.protector:
        yield f"protector {instrument.protector}"
    if line.may_go_without:
        yield "may go without"
    if shows.sheet_other_names and instrument.also_known_as:
        yield instrument.also_known_as
    if shows.sheet_maker_numbers and (of := _made_by(instrument)):
        yield of
    if shows.sheet_weights:
        grams = instrument.weight_g
        yield "not weighed" if grams is None else f"each {metric(float(grams), 'g')}"
    if shows.sheet_substitutes:
        for other in substitutes:
            yield f"or {other.name}, {other.item_number}"
    if shows.sheet_notes and line.note:
        yield line.note


def _made_by(instrument: Instrument) -> str:
    return " ".join(filter(None, (instrument.maker, instrument.maker_catalog_number)))


def _counts(package: Package, tally: Tally) -> Iterator[dict[str, Any]]:
    """What was counted of each line when the package was signed; of one from before that was
    written with it, what its assembly has now."""
    written = package.counted.get("lines")
    for number, one in enumerate(tally.lines):
        instead = [Substitute(many, other.name, other.item_number) for other, many in one.instead]
        inside, missing = one.inside, one.short
        if written:
            was = written[number]
            instead = [Substitute(many, name, item) for item, name, many in was["instead"]]
            inside, missing = was["inside"], was["short"]
        yield {
            "quantity": one.line.wanted, "name": one.line.name,
            "item_number": one.line.item_number, "missing": missing,
            "inside": inside - sum(other.many for other in instead), "instead": tuple(instead),
        }  # fmt: skip


# --- what is to be known ---------------------------------------------------------------------


def _notices(
    instrument_set: InstrumentSet,
    sheet: CountSheet,
    answer: SetAnswer,
    away: Mapping[int, list[Repair]],
) -> Iterator[str]:
    if instrument_set.retired:
        yield "This set is retired."
    if lacks := len(sheet.left_out):
        what = (
            "1 line of an earlier list is"
            if lacks == 1
            else f"{lacks} lines of an earlier list are"
        )
        yield f"{what} not on this one: ask sterile processing before you count by it."
    for found in away.values():
        yield from (f"At repair: {one}, {one.gone_to or 'laid aside'}." for one in found)
    yield from _not_known("Not weighed", answer.weight.unknown)
    yield from _not_known("Whether it takes a protector is not on record, read its IFU", (
        line.instrument.name for line in answer.question.lines if line.instrument.protector is None
    ))  # fmt: skip


def _not_known(what: str, names: Iterable[str]) -> Iterator[str]:
    """Each name once; of many only the first."""
    each = list(dict.fromkeys(names))
    more = len(each) - MOST_NAMED
    if each:
        yield f"{what}: {'; '.join(each[:MOST_NAMED])}{f' and {more} more' if more > 0 else ''}."


def _of_package(package: Package, tally: Tally) -> Iterator[str]:
    if package.is_void:
        when = time_words(timezone.localtime(package.void_at))
        yield f"Void since {when}: {package.void_reason}."
    if package.override_by:
        yield f"{'; '.join(package.accepted_marks)}: {package.override_reason}."
    yield from (f"Not known: {sentence}" for sentence in package.not_known)
    if tally.over:
        yield f"{tally.over} too many laid aside, not in the set."


def _run(package: Package, load: Load | None) -> Iterator[tuple[str, str]]:
    """Which of several trays it is, and what is known of the load that it is in."""
    if package.tray:
        yield "Tray", package.tray
    if load is None:
        return
    if load.lot:
        yield "Lot", load.lot
    yield "Sterilizer, cycle no.", f"{load.sterilizer_code}, {load.cycle}, {day_words(load.day)}"
    if load.number is not None:
        yield "Load no.", str(load.number)


def _signed(package: Package) -> Signed:
    """Who signed and who looked before the lid, each with the moment."""
    looked = None
    if package.checked_by and package.build:
        packed = package.build.steps.filter(kind=BuildEvent.Kind.PACKED, at__lte=package.packed_at)
        looked = packed.order_by("-pk").values_list("at", flat=True).first()
    return Signed(
        package.packed_by,
        _moment(package.packed_at),
        package.checked_by,
        _moment(looked),
    )


def _moment(at: datetime | None) -> str:
    return time_words(timezone.localtime(at)) if at else ""
