"""From catalog rows and decisions to labels: what a label says is settled here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date
from typing import Any

from django.utils import timezone

from assembly.judging.decisions import Answer, decide_for_instrument
from assembly.judging.facts_from_catalog import shelf_lives
from assembly.rules.findings import Outcome
from assembly.rules.policy.values import Policy
from assembly.rules.telling import explain
from assembly.rules.telling.labelling import lot_number, use_by
from catalog.models import Instrument
from catalog.vocabulary import Kind
from reports.documents.papers import LabelDocument, PrintError
from reports.drawing.labels.labels import check_label
from reports.drawing.stocks import Stock

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
            check_label(wording, stock)
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
