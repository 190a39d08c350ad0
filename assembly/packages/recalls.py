"""Recalled: every package held, where each was at that moment, and who has to be told."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from assembly.ledger import Refused, check_key, inside, verb
from assembly.models import (
    Package,
    Recall,
    RecalledPackage,
    RecallNotice,
    Request,
    RequestPackage,
    RequestState,
    ShelfState,
)
from assembly.packages.shelf import leave
from assembly.packages.whereabouts import Whereabouts, whereabouts_of
from assembly.persons import ASK, Person
from catalog.actions import record
from catalog.models import Change

WITH_THEM = (RequestState.ON_THE_WAY, RequestState.HANDED_OVER)
GONE_ALREADY = (ShelfState.DAMAGED, ShelfState.RECALLED)


@inside
def hold(person: Person, recall: Recall, packages: list[Package], key: str) -> None:
    """None of the packages is to be used from now on; each is on record with where it was.

    They are locked with their requests, which learn it. What was void, damaged or recalled
    before is listed and stays so. Each department that has one gets a notice.
    """
    known = set(recall.packages.values_list("package", flat=True))
    found = [one for one in whereabouts_of(packages) if one.package.pk not in known]
    having = _having(packages)
    rows = []
    for one in found:
        tied = having.get(one.package.pk)
        holder, department = _holder(one, tied)
        rows.append(RecalledPackage(
            recall=recall, package=one.package, where=one.words[:200], holder=holder[:90],
            department=department[:90], was_opened=one.opened,
        ))  # fmt: skip
    RecalledPackage.objects.bulk_create(rows)
    for name in sorted({row.department for row in rows} - {""}):
        notice, new = RecallNotice.objects.get_or_create(recall=recall, department=name)
        if not new:
            RecallNotice.objects.filter(pk=notice.pk).update(read_by="", read_at=None)
    why = f"{recall.about}: {recall.reason}"[:300]
    for one in found:
        if not one.package.is_void and one.last not in GONE_ALREADY:
            leave(person, one.package, key, ShelfState.RECALLED, reason=why)


def _having(packages: Iterable[Package]) -> dict[int, Request]:
    """The requests that got the packages, or to which they are being carried."""
    ties = RequestPackage.objects.filter(
        package__in=list(packages), let_go_at=None, request__state__in=WITH_THEM
    )
    return {tie.package_id: tie.request for tie in ties.select_related("request")}


def _holder(one: Whereabouts, request: Request | None) -> tuple[str, str]:
    """Who has the package, and the department that is told; blank where it is here."""
    if request is not None:
        return request.destination, request.department
    if one.to:
        return one.to, one.to.rpartition(", ")[2]
    return "", ""


# --- what departments are told ---------------------------------------------------------------


def notices_for(department: str) -> QuerySet[RecallNotice]:
    """Notices that nobody of the department has read; of all where it is blank.

    What went to somebody who is no department of any request is told to every department.
    """
    unread = RecallNotice.objects.filter(read_at=None).select_related("recall")
    held = Prefetch("recall__packages", RecalledPackage.objects.select_related("package"))
    unread = unread.prefetch_related(held).order_by("-recall__at", "pk")
    if not department:
        return unread
    others = Request.objects.exclude(department__iexact=department).values("department")
    return unread.exclude(department__in=others)


@verb(ASK)
def read_notice(person: Person, pk: int, key: str) -> RecallNotice:
    """Somebody of the department has read what is recalled; read before, it stays theirs."""
    check_key(key)
    notice = RecallNotice.objects.select_related("recall").filter(pk=pk).first()
    if notice is None:
        raise Refused("There is no such notice. Load the page again.")
    unread = RecallNotice.objects.filter(pk=pk, read_at=None)
    if unread.update(read_by=person.name, read_at=timezone.now()):
        record(person.actor(), Change.Verb.CHANGED, notice.recall, str(notice.recall),
               {notice.department: "told"}, {notice.department: "read it"})  # fmt: skip
    return notice
