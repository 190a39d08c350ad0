"""From catalog rows and decisions to documents: what a paper says is settled here."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from django.conf import settings
from django.utils import timezone

from assembly.decisions import Answer, WeightBar, decide_for_instrument, decide_for_set
from assembly.packing import explain
from assembly.packing.findings import Outcome
from catalog.models import CountSheet, Instrument, InstrumentSet, Line
from reports.documents import (
    CountSheetDocument,
    CountSheetLine,
    CountSheetSection,
    LabelDocument,
)

EVENT_RELATED = "Sterile until opened, damaged or wet."


class NothingToPrint(Exception):  # noqa: N818
    """There is nothing that may be put on paper. Says why, for the person at the bench."""


def label_document(instrument: Instrument, packed_by: str) -> LabelDocument:
    """The label of one instrument in its recommended package.

    Where nothing is recommended there is no label: NothingToPrint says what is missing.
    """
    answer = decide_for_instrument(instrument)
    taken = answer.decision.recommended
    if answer.decision.outcome is not Outcome.RECOMMENDED or taken is None:
        raise NothingToPrint(_why_no_label(instrument, answer))
    return LabelDocument(
        what=instrument.name,
        item_number=instrument.item_number,
        quantity="1 piece",
        package=_sentence_case(explain.name(taken)),
        method=answer.cycle,
        packed_by=packed_by,
        packed_on=timezone.localdate(),
        statement=EVENT_RELATED,
        barcode_text=instrument.item_number,
    )


def _sentence_case(words: str) -> str:
    return words[:1].upper() + words[1:]


def _why_no_label(instrument: Instrument, answer: Answer) -> str:
    shown = answer.shown
    reasons = [finding.sentence() for finding in shown.reasons] if shown else []
    return " ".join(
        [f"No label for {instrument.item_number}: {answer.headline[0].lower()}"
         f"{answer.headline[1:]}.", *reasons]
    )  # fmt: skip


def count_sheet_document(instrument_set: InstrumentSet, printed_by: str) -> CountSheetDocument:
    """The current count sheet of a set, with its weight against the limit."""
    sheet = instrument_set.current
    if sheet is None:
        raise NothingToPrint(f"No count sheet of {instrument_set.code} is approved yet.")
    lines = list(sheet.lines.select_related("instrument").prefetch_related("instrument__cycles"))
    weight = decide_for_set(instrument_set, lines).weight
    return CountSheetDocument(
        hospital=settings.HOSPITAL_NAME or "Sterile processing",
        set_name=instrument_set.name,
        set_code=instrument_set.code,
        revision=str(sheet.revision),
        revision_state=str(sheet.state),
        sections=_sections(lines),
        printed_at=timezone.localtime().replace(tzinfo=None),
        printed_by=printed_by,
        service=instrument_set.service,
        approval=_approval(sheet),
        packaging=instrument_set.packed_in,
        gross_weight=_weight_words(weight),
        weight_status=weight.state,
        notices=_notices(sheet, weight),
    )


def _approval(sheet: CountSheet) -> str:
    if not sheet.approved_by or sheet.approved_on is None:
        return ""
    return f"{sheet.approved_by}, {sheet.approved_on:%Y-%m-%d}"


def _weight_words(weight: WeightBar) -> str:
    known = f"{weight.known_kg} known" if weight.unknown else weight.known_kg
    return f"{known} of {weight.limit_kg}" if weight.limit_kg else known


def _notices(sheet: CountSheet, weight: WeightBar) -> tuple[str, ...]:
    notices = [f"Left out when the spreadsheet was read: {line}" for line in sheet.left_out]
    if weight.unknown:
        notices.append(f"Not weighed: {', '.join(weight.unknown)}.")
    return tuple(notices)


def _sections(lines: Sequence[Line]) -> tuple[CountSheetSection, ...]:
    numbered = [
        (
            line.section,
            CountSheetLine(
                number=number,
                quantity=line.quantity,
                name=line.instrument.name,
                item_number=line.instrument.item_number,
                also_known_as=line.instrument.also_known_as,
                protector=_protector(line.instrument),
                may_go_without=line.may_go_without,
                note=line.note,
            ),
        )
        for number, line in enumerate(lines, start=1)
    ]
    return tuple(
        CountSheetSection(title, tuple(line for _, line in group))
        for title, group in groupby(numbered, key=lambda pair: pair[0])
    )


def _protector(instrument: Instrument) -> str:
    if instrument.protector is None:
        return "not known"
    return instrument.protector
