"""Packages that requests were promised: locked with them, and let go again."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import uuid4

from django.db.models import QuerySet
from django.utils import timezone

from assembly.ledger import inside, lock, lock_one, note, write
from assembly.models import Package, Request, RequestPackage, RequestState
from assembly.persons import Person


@inside
def lock_with_requests(packages: QuerySet[Package]) -> list[Package]:
    """The packages and the requests that were promised them, locked in their order.

    No request is promised a locked package, so that ``tell_of`` finds none but these.
    """
    locked = lock(packages)
    promised = RequestPackage.objects.filter(package__in=locked, let_go_at=None)
    lock(Request.objects.filter(pk__in=promised.values("request")))
    return locked


@inside
def let_go(request: Request) -> None:
    """Its packages serve whoever needs them again."""
    RequestPackage.objects.filter(request=request, let_go_at=None).update(let_go_at=timezone.now())


@inside
def tell_of(person: Person, package: Package, what: str) -> None:
    """Each request of the package has a step that says ``what`` became of it.

    A running one lets the package go, and is back with its holder where it was on the way, or was
    packed and has no package left.
    One that was handed over stays so: its department sees what changed. The package is locked
    ``with_requests``.
    """
    words = f"{package.code} {what}. Do not use it."[:300]
    ties = RequestPackage.objects.filter(package=package, let_go_at=None)
    for tied in ties.order_by("request_id"):
        request = lock_one(Request, tied.request_id)
        changes: dict[str, str] = {}
        if request.running:
            RequestPackage.objects.filter(pk=tied.pk).update(let_go_at=timezone.now())
            if request.state == RequestState.ON_THE_WAY or _nothing_packed(request):
                changes = {"state": RequestState.TAKEN}
        write(request, person, uuid4().hex, changes, reason=words)
        if not changes:
            state = {"state": request.state}
            note(person, request, state, state, words)


def _nothing_packed(request: Request) -> bool:
    """Whether it is said to be packed, and no package of it is left."""
    if request.state != RequestState.PACKING:
        return False
    return not RequestPackage.objects.filter(request=request, let_go_at=None).exists()


def requests_of(packages: Iterable[Package]) -> dict[int, Request]:
    """The request that each package serves or served, by the number of the package: one query."""
    ties = RequestPackage.objects.filter(package__in=list(packages), let_go_at=None)
    return {tie.package_id: tie.request for tie in ties.select_related("request")}
