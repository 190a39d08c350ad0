"""A package that a request was promised, or got, is not to be used: whoever asked learns it."""

from __future__ import annotations

from uuid import uuid4

from django.utils import timezone

from assembly.models import Package, Request, RequestPackage, RequestState
from assembly.packages.promises import note, write
from assembly.persons import Person


def tell_of(person: Person, package: Package, what: str) -> None:
    """Each request of the package has a step that says ``what`` became of it.

    A running one lets the package go, and is back with its holder where it was on the way.
    One that was handed over stays so: its department sees what changed. Inside the verb's
    transaction.
    """
    words = f"{package.code} {what}. Do not use it."[:300]
    for tied in RequestPackage.objects.filter(package=package, let_go_at=None):
        request = Request.objects.select_for_update().get(pk=tied.request_id)
        key = uuid4().hex
        if not request.running:
            note(request, person, key, words)
            continue
        RequestPackage.objects.filter(pk=tied.pk).update(let_go_at=timezone.now())
        sent = request.state == RequestState.ON_THE_WAY
        write(request, person, RequestState.TAKEN if sent else request.state, key, words)
