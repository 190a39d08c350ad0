"""What waits for a coordinator, each part the oldest first. Only reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from assembly.complaints.saying import still_open
from assembly.models import Complaint, Proposal, Question, RecallNotice, Request, RequestState
from assembly.packages.recalls import notices_for
from assembly.questions.asking import asked
from assembly.questions.proposing import waiting
from assembly.requests.lists import Row, nothing_can_serve, rows
from assembly.skills import late
from assembly.stock.standing import Standing, standings
from catalog.models import Instrument, SpreadsheetBatch

State = SpreadsheetBatch.State
UNFINISHED = (State.UPLOADED, State.CHECKED, State.STOPPED)
"""Spreadsheets with which somebody has still to do something."""
MOST_SHOWN = 10


@dataclass(frozen=True, slots=True)
class ForCoordinators:
    """All parts of the page, each empty where nothing waits.

    ``notices`` of recalls nobody in their department has read; ``complaints`` are what was wrong
    with packages; ``overrides`` ask about a finding, ``questions`` about none; ``not_in_catalog``
    are requests in words for which nothing can be named, ``unserved`` those that nothing on record
    serves. ``checks`` say who is to be watched again at their work.
    """

    notices: Sequence[RecallNotice]
    complaints: Sequence[Complaint]
    overrides: Sequence[Question]
    questions: Sequence[Question]
    proposals: Sequence[Proposal]
    not_in_catalog: Sequence[Row]
    unserved: Sequence[Row]
    ifus: Sequence[Instrument]
    ifus_in_all: int
    imports: Sequence[SpreadsheetBatch]
    to_order: Sequence[Standing]
    checks: Sequence[str]

    @property
    def count(self) -> int:
        """How many things wait."""
        parts = (
            self.notices, self.complaints, self.overrides, self.questions, self.proposals,
            self.not_in_catalog, self.unserved, self.imports, self.to_order, self.checks,
        )  # fmt: skip
        return sum(len(part) for part in parts) + self.ifus_in_all


def waits_for_coordinators(user: Any) -> ForCoordinators:
    """What waits now; spreadsheets only for who may read them in."""
    questions = asked()
    in_words = Request.objects.filter(state=RequestState.OPEN, instrument=None, wanted_set=None)
    ifus = to_be_compared()
    imports = SpreadsheetBatch.objects.filter(state__in=UNFINISHED).defer("content")
    return ForCoordinators(
        notices=list(notices_for("")),
        complaints=list(still_open()),
        overrides=[one for one in questions if one.finding],
        questions=[one for one in questions if not one.finding],
        proposals=waiting(),
        not_in_catalog=rows(in_words, reckon=False),
        unserved=[row for row in nothing_can_serve() if row.request.number],
        ifus=list(ifus[:MOST_SHOWN]),
        ifus_in_all=ifus.count(),
        imports=list(imports[:MOST_SHOWN]) if user.has_perm("catalog.import_spreadsheets") else [],
        to_order=[one for one in standings() if one.is_low],
        checks=late(),
    )


def to_be_compared() -> QuerySet[Instrument]:
    """Instruments whose IFU is due to be compared with the maker's current one, the longest due
    first: by the day on record for it. The age of a revision says nothing of that."""
    due = Instrument.objects.filter(retired=False, ifu_review_on__lte=timezone.localdate())
    return due.order_by("ifu_review_on", "item_number")
