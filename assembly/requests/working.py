"""Working a request: taken, packed, on the way, handed over, or why it could not be met."""

from __future__ import annotations

from django.db.models import Q, QuerySet
from django.utils import timezone

from assembly.judging.decisions import Answer
from assembly.judging.taking import Plan
from assembly.ledger import Refused, begin, check_locked, check_stands, lock, lock_one, verb, write
from assembly.models import Package, Request, RequestPackage, RequestState, ShelfState
from assembly.models.requests import HELD, RUNNING
from assembly.packages import recording as packages
from assembly.packages.lots import lock_lots
from assembly.packages.promises import let_go
from assembly.packages.shelf import leave, pick_up
from assembly.packages.standing import check_may_go, check_to_be_had
from assembly.persons import WORK, Person
from catalog.models import CountSheet, Line

State = RequestState
WORKING = (State.TAKEN, State.PACKING)
"""Its holder has it in hand: packages are made for it, or fetched."""


@verb(WORK)
def take(person: Person, pk: int, key: str) -> Request:
    """The request is this person's. Refused where somebody else was faster; says who."""
    request, before = begin(Request, pk, key, (State.OPEN,))
    if before:
        return request
    holder = {"holder_id": person.pk, "holder_name": person.name}
    return write(request, person, key, {"state": State.TAKEN, **holder}).request


@verb(WORK)
def take_and_pack(person: Person, pk: int, key: str) -> Request:
    """Taken and being packed at once: both, or neither."""
    take(person, pk, key)
    return start_packing(person, pk, f"{key[:60]}:p")


@verb(WORK)
def start_packing(person: Person, pk: int, key: str) -> Request:
    """A single package is being made for it. Refused where there is nothing to pack.

    Pressed again while it is being packed it changes nothing.
    """
    request, before = begin(Request, pk, key, WORKING, person)
    if before or request.state == State.PACKING:
        return request
    if request.packed_as is None:
        raise Refused("Only an instrument of the catalog can be packed from here. "
                      "Scan the package you send, or say why it could not be met.")  # fmt: skip
    if request.packed_as.retired:
        raise Refused(f"{request.packed_as} was retired since it was asked for. Send an accepted "
                      "substitute, or say that it could not be met.")  # fmt: skip
    return write(request, person, key, {"state": State.PACKING}).request


@verb(WORK)
def pack_for_request(person: Person, pk: int, answer: Answer, plan: Plan, key: str) -> Package:
    """A single package is made and tied to the request: both, or neither.

    The same key gives the same package, whatever became of the request since. Refused where
    the request was withdrawn or taken away meanwhile, with who did it; NotClosed as for any
    single package.
    """
    if made := Package.objects.filter(key=key, ties__request=pk).first():
        return made
    lock_lots(person)
    request = lock_one(Request, pk)
    if request.packed_as is None:
        raise Refused("Only an instrument of the catalog can be packed for a request.")
    check_stands(request, WORKING, person)
    package = packages.pack_single(person, request.packed_as, answer, plan, key)
    _tie(person, request, package)
    return package


@verb(WORK)
def give_back(person: Person, pk: int, key: str, reason: str = "") -> Request:
    """Back on the queue; its packages are let go. A reason where another person holds it."""
    request, before = begin(Request, pk, key, HELD)
    if before:
        return request
    if request.holder_id != person.pk and not reason.strip():
        raise Refused(f"{request.holder_name} has taken it. Write why it goes back on the queue.")
    let_go(request)
    nobody = {"holder_id": None, "holder_name": ""}
    return write(request, person, key, {"state": State.OPEN, **nobody}, reason=reason).request


@verb(WORK)
def tie(person: Person, pk: int, package: Package) -> RequestPackage:
    """This package serves the request; its label carries the destination from now on.

    Tied again it changes nothing. Refused for a package that is not to be used, gone, for another
    request, or of something else than was asked for.
    """
    package = lock_one(Package, package.pk)
    request = lock_one(Request, pk)
    if tied := request.ties.filter(package=package, let_go_at=None).first():
        return tied
    check_stands(request, WORKING, person)
    return _tie(person, request, package)


def _tie(person: Person, request: Request, package: Package) -> RequestPackage:
    """Inside a verb that locked both."""
    check_to_be_had(package)
    _check_fits(request, package)
    if other := RequestPackage.objects.filter(package=package, let_go_at=None).first():
        raise Refused(f"{package.code} is promised to request {other.request_id}, "
                      f"{other.request.destination}. Take another.")  # fmt: skip
    return RequestPackage.objects.create(
        request=request, package=package, tied_by=person.name, tied_at=timezone.now()
    )


def _promised(pk: int) -> QuerySet[Package]:
    """The packages that serve a request, by number."""
    return Package.objects.filter(ties__request=pk, ties__let_go_at=None).order_by("pk")


def _check_fits(request: Request, package: Package) -> None:
    """Refused where the package holds something else than was asked for."""
    if request.wanted_set_id:
        if package.number == request.number:
            return
    elif request.instrument_id is None or _holds(package, request):
        return
    raise Refused(f"{package.code} is {package.what} ({package.number}). Asked for was "
                  f"{request.what} ({request.number}). Scan another package.")  # fmt: skip


def _holds(package: Package, request: Request) -> bool:
    numbers = {str(one["item_number"]) for one in package.contents}
    return bool(numbers & {request.number, *accepted_numbers(request)})


def accepted_numbers(request: Request) -> set[str]:
    """Item numbers that a current count sheet accepts instead.

    Of the set it is missing from, where that is known; else of any set.
    """
    lines = Line.objects.filter(
        instrument=request.instrument_id, count_sheet__state=CountSheet.State.CURRENT
    )
    if request.missing_from_id:
        lines = lines.filter(count_sheet__instrument_set=request.missing_from_id)
    in_use = lines.filter(substitutes__retired=False)
    found = in_use.values_list("substitutes__item_number", flat=True)
    return {number for number in found if number}


@verb(WORK)
def untie(person: Person, pk: int, package: Package) -> None:
    """The package does not serve the request after all; it is to be had by others again."""
    lock_one(Package, package.pk)
    request = lock_one(Request, pk)
    check_stands(request, WORKING, person)
    held = request.ties.filter(package=package, let_go_at=None)
    if not held.update(let_go_at=timezone.now()):
        raise Refused(f"{package.code} does not serve request {pk}. Nothing was changed.")


@verb(WORK)
def send(
    person: Person, pk: int, key: str, package: Package | None = None, reason: str = ""
) -> Request:
    """It is on the way with this person, who holds it from now on. A scanned package is tied
    first, by the one who had it taken.

    Refused without a package where something of the catalog was asked for; fewer pieces
    than asked for need a reason, which the liaison reads.
    """
    promised = _promised(pk)
    scanned = Q(pk=package.pk) if package else Q()
    locked = lock(Package.objects.filter(scanned | Q(pk__in=promised.values("pk"))))
    request, before = begin(Request, pk, key, WORKING)
    if before:
        return request
    check_locked(promised, locked)
    if package or not request.number:
        check_stands(request, WORKING, person)
    if package:
        tie(person, pk, package)
    packages = list(promised)
    for one in packages:
        check_may_go(one)
    if request.number and not packages:
        raise Refused("Scan the package that you send.")
    pieces = pieces_for(request, packages)
    if packages and pieces < request.quantity and not reason.strip():
        raise Refused(f"{request.quantity} asked for, {pieces} in the package. Scan another one "
                      "first, or write why fewer go.")  # fmt: skip
    if short := [one.code for one in packages if one.shortages and not reason.strip()]:
        raise Refused(f"{', '.join(short)} goes with shortages. Write so: the liaison reads it.")
    for one in packages:
        pick_up(person, one)
    carries = {"holder_id": person.pk, "holder_name": person.name}
    changes = {"state": State.ON_THE_WAY, **carries}
    return write(request, person, key, changes, reason=reason).request


def pieces_for(request: Request, packages: list[Package]) -> int:
    """How many of the pieces asked for lie in these packages; a set counts as one."""
    if request.wanted_set_id or request.instrument_id is None:
        return len(packages)
    numbers = {request.number, *accepted_numbers(request)}
    return sum(
        int(one["quantity"])
        for package in packages
        for one in package.contents
        if one["item_number"] in numbers
    )


@verb(WORK)
def hand_over(person: Person, pk: int, key: str) -> Request:
    """It is in the hands of those who asked; its packages leave the shelf."""
    promised = _promised(pk)
    locked = lock(promised)
    request, before = begin(Request, pk, key, (State.ON_THE_WAY,))
    if before:
        return request
    check_locked(promised, locked)
    for package in promised:
        check_may_go(package)
        leave(person, package, key, ShelfState.HANDED_OVER, to=request.destination)
    return write(request, person, key, {"state": State.HANDED_OVER}).request


@verb(WORK)
def could_not_be_met(person: Person, pk: int, key: str, reason: str) -> Request:
    """The request ends unmet, with the reason that the liaison reads."""
    request, before = begin(Request, pk, key, RUNNING)
    if before:
        return request
    if request.holder_id not in (None, person.pk):
        raise Refused(f"{request.holder_name} has taken it. Ask them, or put it back first.")
    if not reason.strip():
        raise Refused("Write why it could not be met: the liaison reads it.")
    let_go(request)
    return write(request, person, key, {"state": State.NOT_MET}, reason=reason).request


def destination_of(package: Package) -> str:
    """Where a package goes, for its label; empty where no request has it."""
    held = RequestPackage.objects.select_related("request").filter(package=package)
    tied = held.filter(let_go_at=None).last()
    return tied.request.destination if tied else ""
