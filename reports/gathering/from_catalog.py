"""From catalog rows and decisions to documents: what a paper says is settled here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from itertools import groupby
from typing import Any

from django.conf import settings
from django.utils import timezone

from assembly.judging.decisions import (
    Answer,
    SetAnswer,
    WeightBar,
    decide_for_instrument,
    decide_for_set,
)
from assembly.judging.facts_from_catalog import lines_of, shelf_lives
from assembly.models import BuildLine
from assembly.rules.findings import Outcome
from assembly.rules.policy.values import Policy
from assembly.rules.telling import explain
from assembly.rules.telling.labelling import lot_number, use_by
from assembly.upkeep.repairs import away_from
from catalog.models import CountSheet, Instrument, InstrumentSet, Line
from catalog.vocabulary import Kind
from reports.documents.papers import (
    CountSheetDocument,
    CountSheetLine,
    CountSheetSection,
    LabelDocument,
    PrintError,
)
from reports.drawing.labels.labels import draw_label
from reports.drawing.stocks import Stock
from reports.gathering.photos import Photos, unread_words

EVENT_RELATED = "Sterile until opened, damaged or wet."


class NothingToPrint(Exception):  # noqa: N818
    """There is nothing that may be put on paper. Says why, for the person at the bench."""


def package_label(
    policy: Policy,
    *,
    packed_on: date | None,
    double: bool | None,
    cycle_on: date | None = None,
    **stated: Any,
) -> LabelDocument:
    """A label as the policy in force wants it; MissingElement names what it has to state.

    ``stated`` are the other fields of the label that are on record; ``double`` is None for
    what is in no pouch. A lot number that is not on record is put together by ``lot_pattern``
    from the sterilizer, the day of the cycle (else the day of packing) and the cycle; a part
    not known leaves it out.
    """
    lot = lot_number(
        policy.words("lot_pattern"),
        sterilizer=stated.get("sterilizer", ""),
        day=cycle_on or packed_on,
        cycle=stated.get("cycle", ""),
    )
    return LabelDocument(
        **{**stated, "lot_number": stated.get("lot_number") or lot},
        packed_on=packed_on,
        statement="" if policy.word("shelf_life") == "use-by date" else EVENT_RELATED,
        single_or_double={True: "double", False: "single", None: ""}[double],
        symbol=policy.word("label_symbol"),
        gs1_prefix=policy.text("gs1_company_prefix"),
        required=_required(policy, void=bool(stated.get("void")), pouch=double is not None),
    )


def _required(policy: Policy, *, void: bool, pouch: bool) -> tuple[str, ...]:
    """What the label has to state: nothing on a void one; single or double of pouches alone."""
    if void:
        return ()
    required = policy.words("label_required")
    if policy.word("shelf_life") == "use-by date":
        required = (*required, "use-by date")
    return tuple(name for name in required if pouch or name != "single or double")


NOT_A_PACKAGE = "NOT A PACKAGE"
"""On a label without a package on record: nothing was checked, nothing can be traced."""


def label_document(
    instrument: Instrument,
    packed_by: str,
    *,
    packed_on: date | None = None,
    pieces: int = 1,
    double: bool = False,
) -> LabelDocument:
    """The label of one instrument, or several of a kind, in the recommended package: of nothing
    that was packed, and it says so.

    Where nothing is recommended there is no label: NothingToPrint says what is missing.
    """
    answer = decide_for_instrument(instrument, pieces=pieces, double=double, out=())
    taken = answer.decision.recommended
    if answer.decision.outcome is not Outcome.RECOMMENDED or taken is None:
        raise NothingToPrint(_why_no_label(instrument, answer))
    day = packed_on or timezone.localdate()
    months = shelf_lives(taken.kind, filter(None, (taken.code, *taken.with_codes)))
    return package_label(
        answer.policy,
        packed_on=day,
        double=bool(taken.with_codes) if taken.kind == Kind.POUCH else None,
        packed_by=packed_by,
        expires_on=use_by(day, months),
        barcode_text=instrument.item_number,
        what=instrument.name,
        item_number=instrument.item_number,
        quantity="1 piece" if pieces == 1 else f"{pieces} pieces",
        package=_sentence_case(explain.name(taken)),
        method=answer.cycle,
        flags=(NOT_A_PACKAGE,),
    )


def method_shorter(document: LabelDocument) -> Iterator[LabelDocument]:
    """The label with its method in full, then with the programme's code alone."""
    code, _, words = document.method.partition(" (")
    yield document
    if words:
        yield replace(document, method=code)


def first_that_fits(wordings: Iterable[LabelDocument], stock: Stock) -> LabelDocument:
    """The first wording that fits on ``stock``; the PrintError of the last where none does."""
    problem: PrintError | None = None
    for wording in wordings:
        try:
            draw_label(wording, stock)
            return wording
        except PrintError as refusal:
            problem = refusal
    assert problem is not None
    raise problem


def _sentence_case(words: str) -> str:
    return words[:1].upper() + words[1:]


def _why_no_label(instrument: Instrument, answer: Answer) -> str:
    shown = answer.shown
    reasons = [finding.sentence() for finding in shown.reasons] if shown else []
    return " ".join(
        [f"No label for {instrument.item_number}: {answer.headline[0].lower()}"
         f"{answer.headline[1:]}.", *reasons]
    )  # fmt: skip


def count_sheet_documents(
    sets: Iterable[InstrumentSet],
    printed_by: str,
    left_out: list[str],
    photos: Photos | None = None,
) -> Iterator[CountSheetDocument]:
    """One sheet after the other; a set without one is named in ``left_out`` instead."""
    for one in sets:
        try:
            yield count_sheet_document(one, printed_by, photos=photos)
        except (NothingToPrint, PrintError) as problem:
            left_out.append(f"{one.code} {one.name}: {problem}")


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
    """The current count sheet of a set, with its weight against the limit.

    The photographs come from ``photos``; without it none are printed. One that cannot be
    read is named in the notices.
    """
    sheet = instrument_set.current
    if sheet is None:
        raise NothingToPrint(f"No count sheet of {instrument_set.code} is approved yet.")
    lines = lines_of(sheet)
    answer = decide_for_set(instrument_set, lines, out=())
    weight = answer.weight
    pictures, unread = photos.of(line.instrument for line in lines) if photos else ({}, [])
    return CountSheetDocument(
        hospital=settings.HOSPITAL_NAME or "Sterile processing",
        set_name=instrument_set.name,
        set_code=instrument_set.code,
        revision=str(sheet.revision),
        revision_state=str(sheet.state),
        sections=sections_of(((line, _said(line)) for line in lines), pictures),
        printed_at=timezone.localtime().replace(tzinfo=None),
        printed_by=printed_by,
        service=instrument_set.service,
        approval=approval_words(sheet),
        packaging=instrument_set.packed_in or _weighed_in(answer),
        gross_weight=_weight_words(weight),
        weight_status=weight.state,
        notices=_notices(sheet, weight, unread_words(unread)),
        tick_columns=answer.policy.words("count_sheet_columns"),
    )


def approval_words(sheet: CountSheet) -> str:
    """Who approved a revision and when; blank unless both are on record."""
    if not sheet.approved_by or sheet.approved_on is None:
        return ""
    return f"{sheet.approved_by}, {sheet.approved_on:%Y-%m-%d}"


def _weighed_in(answer: SetAnswer) -> str:
    """The package that the gross weight holds, where the set names none of its own."""
    taken = answer.decision.recommended
    return f"{_sentence_case(explain.name(taken))} (recommended)" if taken else ""


def _weight_words(weight: WeightBar) -> str:
    known = f"{weight.known_kg} known" if weight.unknown else weight.known_kg
    return f"{known} of {weight.limit_kg}" if weight.limit_kg else known


def _notices(sheet: CountSheet, weight: WeightBar, unread: str) -> tuple[str, ...]:
    notices = ["This set is retired."] if sheet.instrument_set.retired else []
    notices += [f"Left out when the spreadsheet was read: {line}" for line in sheet.left_out]
    gone = [one for found in away_from(sheet.instrument_set).values() for one in found]
    notices += [f"At repair: {one}, {one.gone_to or 'laid aside'}." for one in gone]
    if weight.unknown:
        notices.append(f"Not weighed: {', '.join(weight.unknown)}.")
    return (*notices, unread) if unread else tuple(notices)


def sections_of(
    lines: Iterable[tuple[Line | BuildLine, dict[str, Any]]], photos: Mapping[str, bytes]
) -> tuple[CountSheetSection, ...]:
    """The lines, numbered, under the titles of their sections: with each what is said of it
    beside what is on record of its instrument, and its photograph if there is one."""
    numbered = (
        (line.section, CountSheetLine(
            number=number,
            also_known_as=line.instrument.also_known_as,
            protector="not known" if line.instrument.protector is None
            else line.instrument.protector,
            may_go_without=line.may_go_without,
            photo=photos.get(line.instrument.item_number, b""),
            **said,
        ))
        for number, (line, said) in enumerate(lines, start=1)
    )  # fmt: skip
    return tuple(
        CountSheetSection(title, tuple(line for _, line in group))
        for title, group in groupby(numbered, key=lambda pair: pair[0])
    )


def _said(line: Line) -> dict[str, Any]:
    instrument = line.instrument
    return {"quantity": line.quantity, "name": instrument.name,
            "item_number": instrument.item_number, "note": line.note}  # fmt: skip
