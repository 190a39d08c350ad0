"""Recalled: every package held, where each was at that moment, and who has to be told."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from django.db.models import Exists, Model, OuterRef, Prefetch, Q, QuerySet
from django.utils import timezone

from assembly.ledger import Refused, check_key, inside, verb
from assembly.models import (
    Package,
    Recall,
    RecalledPackage,
    RecallNotice,
    Request,
    RequestState,
    ShelfState,
)
from assembly.models.recalls import Notice
from assembly.packages.promises import requests_of
from assembly.packages.shelf import leave
from assembly.packages.whereabouts import Whereabouts, whereabouts_of
from assembly.persons import ASK, Person
from catalog.actions import record
from catalog.models import Change

N = TypeVar("N", bound=Notice)
WITH_THEM = (RequestState.ON_THE_WAY, RequestState.HANDED_OVER)
GONE_ALREADY = (ShelfState.DAMAGED, ShelfState.RECALLED)


@inside
def hold(person: Person, recall: Recall, packages: list[Package], key: str) -> None:
    """None of the packages is to be used from now on; each is on record with where it was.

    They are locked with their requests, which learn it. What was void, damaged or recalled
    before is listed and stays so. Each department that has one gets a notice.
    """
    known = set(recall.packages.values_list("package", flat=True))
    held = [one for one in held_now(packages) if one.where.package.pk not in known]
    found = [one.where for one in held]
    rows = [
        RecalledPackage(
            recall=recall, package=one.where.package, where=one.where.words[:200],
            holder=one.holder, department=one.department, was_opened=one.where.opened,
        )
        for one in held
    ]  # fmt: skip
    RecalledPackage.objects.bulk_create(rows)
    for name in sorted({row.department for row in rows} - {""}):
        notice, new = RecallNotice.objects.get_or_create(recall=recall, department=name)
        if not new:
            RecallNotice.objects.filter(pk=notice.pk).update(read_by="", read_at=None)
    why = f"{recall.about}: {recall.reason}"[:300]
    for one in found:
        if not one.package.is_void and one.last not in GONE_ALREADY:
            leave(person, one.package, key, ShelfState.RECALLED, reason=why)


@dataclass(frozen=True, slots=True)
class Held:
    """Where a package is, who has it and the department that is told; blank where it is here."""

    where: Whereabouts
    holder: str
    department: str


def held_now(packages: Iterable[Package]) -> list[Held]:
    """Each package with who has it, those that went out first: two queries."""
    found = list(packages)
    having = _having(found)
    held = []
    for one in whereabouts_of(found):
        holder, department = _holder(one, having.get(one.package.pk))
        held.append(Held(one, holder[:90], department[:90]))
    return held


def _having(packages: Iterable[Package]) -> dict[int, Request]:
    """The requests that got the packages, or to which they are being carried."""
    found = requests_of(packages)
    return {pk: one for pk, one in found.items() if one.state in WITH_THEM}


def _holder(one: Whereabouts, request: Request | None) -> tuple[str, str]:
    """Who has the package, and the department that is told; blank where it is here."""
    if request is not None:
        return request.destination, request.department
    if one.to:
        return one.to, one.to.rpartition(", ")[2]
    return "", ""


# --- what departments are told ---------------------------------------------------------------


def notices_for(department: str) -> QuerySet[RecallNotice]:
    """Notices of recalls that nobody of the department has read; of all where it is blank."""
    found = RecallNotice.objects.select_related("recall")
    held = Prefetch("recall__packages", RecalledPackage.objects.select_related("package"))
    return unread_by(department, found.prefetch_related(held).order_by("-recall__at", "pk"))


def unread_by(department: str, notices: QuerySet[N]) -> QuerySet[N]:
    """Those of the notices that nobody of the department has read; of all where it is blank.

    What went to somebody who is no department of any request is told to every department.
    """
    unread = notices.filter(read_at=None)
    if not department:
        return unread
    asked = Request.objects.filter(department=OuterRef("department"))
    return unread.filter(Q(department__folded=department) | ~Exists(asked))


@verb(ASK)
def read_notice(person: Person, pk: int, key: str) -> RecallNotice:
    """Somebody of the department has read what is recalled; read before, it stays theirs."""
    check_key(key)
    notice = RecallNotice.objects.select_related("recall").filter(pk=pk).first()
    return mark_read(person, notice, notice.recall if notice else None)


@inside
def mark_read(person: Person, notice: N | None, about: Model | None) -> N:
    """The notice was read by this person, unless somebody read it before; on record with what it
    is ``about``. Refused where there is none."""
    if notice is None or about is None:
        raise Refused("There is no such notice. Load the page again.")
    now = timezone.now()
    unread = type(notice)._default_manager.filter(pk=notice.pk, read_at=None)
    if unread.update(read_by=person.name, read_at=now):
        notice.read_by, notice.read_at = person.name, now
        record(person.actor(), Change.Verb.CHANGED, about, str(about),
               {notice.department: "told"}, {notice.department: "read it"})  # fmt: skip
    return notice
