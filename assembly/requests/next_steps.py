"""What comes next for a package: the one step that will work now, and the page where it is done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from assembly.models import Load, LoadState, Package, Request, RequestState
from assembly.packages.shelf import promise_of
from assembly.packages.standing import Word, load_in, standing_of
from assembly.persons import ASSEMBLE, KEEP_SHELF, RELEASE_LOAD, RUN_LOAD, WORK, Person
from assembly.requests.working import WORKING
from assembly.sterilizing.lists import gathering_for
from assembly.sterilizing.releasing import earliest_of


@dataclass(frozen=True, slots=True)
class Next:
    """What is done next with a package, and the ``page`` where it is.

    ``needs`` is the permission for it. ``loads`` are being gathered and take the package by one
    press; ``small`` says when it can be done.
    """

    words: str
    page: str
    needs: str
    loads: Sequence[Load] = ()
    small: str = ""


def next_of(package: Package, person: Person) -> Next | None:
    """The next step of a package that was read `with_standing`, for a person who may do it; None
    where nothing is left to do, or somebody else has to."""
    found = _next(package, person)
    return found if found and found.needs in person.permissions else None


def _next(package: Package, person: Person) -> Next | None:
    standing, load = standing_of(package), load_in(package)
    if not standing.to_be_had:
        return None
    if standing.word == Word.UNSEALED:
        return Next("Look at its seal", reverse("package", args=[package.code]), ASSEMBLE)
    if standing.may_go:
        return _goes(package, person)
    if load is None:
        loads = gathering_for(package)
        return Next("Put it into a load", reverse("loads"), RUN_LOAD, loads)
    page = reverse("load", args=[load.pk])
    if load.state == LoadState.GATHERING:
        return Next(f"Start load {load}", page, RUN_LOAD)
    earliest = earliest_of(load)
    if earliest and earliest > timezone.now():
        before = f"Not before {timezone.localtime(earliest):%H:%M}."
        return Next(f"Load {load}", page, RELEASE_LOAD, small=before)
    return Next(f"Release load {load}", page, RELEASE_LOAD)


def _goes(package: Package, person: Person) -> Next | None:
    """What may go: to its request, to one that this person has in hand, or to its place."""
    if tied := promise_of(package):
        carried = tied.request.state == RequestState.ON_THE_WAY
        words = "Hand it over" if carried else "Send it"
        page = reverse("request", args=[tied.request_id])
        return Next(f"{words}: request {tied.request_id}", page, WORK)
    if hasattr(package, "shelved"):
        return None
    in_hand = Request.objects.filter(
        holder_id=person.pk, state__in=WORKING, number=package.number
    ).exclude(ties__let_go_at=None, ties__isnull=False)  # fmt: skip
    if waits := in_hand.first():
        page = reverse("request", args=[waits.pk])
        return Next(f"Request {waits.pk} waits for one", page, WORK)
    page = f"{reverse('shelf')}?{urlencode({'package': package.code})}"
    return Next("Put it away", page, KEEP_SHELF)
