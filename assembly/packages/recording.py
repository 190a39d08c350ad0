"""Packages: recorded when they are closed, void when they are opened again."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any
from uuid import uuid4

from django.utils import timezone
from stdnum.iso7064 import mod_37_36

from assembly.judging.decisions import Answer
from assembly.judging.facts_from_catalog import shelf_lives
from assembly.judging.kept import on_record
from assembly.judging.sharpening import check_sharp
from assembly.judging.taking import (
    MOST_ALIKE,
    Option,
    Plan,
    accepted,
    carried_on_record,
    checked,
    reasons_in,
    settled,
    supplies_in,
)
from assembly.ledger import Refused, begin_new, inside, lock, verb, write
from assembly.models import KeptDecision, OwnContainer, Package, Question, Shortfall, SupplyLot
from assembly.packages.containers import for_packing, lock_container, supply_words
from assembly.packages.lots import lock_lots, lots_for, lots_of_filter, open_for
from assembly.packages.on_hand import check_fresh
from assembly.packages.printable import check_printable
from assembly.packages.promises import lock_with_requests, tell_of
from assembly.packages.sealing import to_look_at
from assembly.packages.uses import Uses, uses_in, uses_of, write_uses
from assembly.persons import ASSEMBLE, Person
from assembly.rules.telling.labelling import use_by
from catalog.actions import move_spares, record
from catalog.models import Change, Instrument

OUT_OF_USE = "{what} is retired: it is out of use. {then} Ask a coordinator."
_CODE = re.compile(r"^PK-?(\d{6,})-?([0-9A-Z])$", re.IGNORECASE)


def package_code(number: int) -> str:
    """The code of a package: its number with a check character (ISO/IEC 7064, MOD 37,36).

    >>> package_code(123)
    'PK-0001239'
    """
    digits = f"{number:06d}"
    return f"PK-{digits}{mod_37_36.calc_check_digit('PK' + digits)}"


def read_package_code(words: str) -> str | None:
    """A package code as it is stored; None where the words are none, or were misread.

    >>> read_package_code("pk-0001239"), read_package_code("PK-0001238")
    ('PK-0001239', None)
    """
    found = _CODE.match(words.strip())
    if not found:
        return None
    digits, mark = found[1], found[2].upper()
    good = mod_37_36.is_valid(f"PK{digits}{mark}")
    return f"PK-{digits}{mark}" if good else None


def looks_like_package_code(words: str) -> bool:
    """Whether the words have the shape of a package code, read well or not."""
    return bool(_CODE.match(words.strip()))


@verb(ASSEMBLE)
def pack_single(
    person: Person, instrument: Instrument, answer: Answer, plan: Plan, key: str
) -> Package:
    """A single package, checked, to be closed under its label; the same key gives the same package.

    Several ``copies`` of a plan are packages of their own, each with its code; the first is
    given, the others stand ``alike`` with it. From the loose spares, their count goes down by
    the pieces of each in the same transaction. NotClosed where a check is open or answered no,
    or the rules refuse what was chosen; Refused for more than can be looked at in one go, and
    where a lot in use was recalled or is past its date, or all that is on hand is, or where the
    container it goes into is not to be packed.
    """
    lots = lock_lots(person)
    lock_container(plan.container)
    if before := begin_new(Package, key, under=instrument):
        return before
    if instrument.retired:
        raise Refused(OUT_OF_USE.format(what=instrument, then="Lay it aside."))
    if not 1 <= plan.copies <= MOST_ALIKE:
        raise Refused(f"{plan.copies} packages in one go: 1 to {MOST_ALIKE} are closed alike.")
    check_sharp([instrument], None, answer.policy)
    option = settled(answer, plan)
    own = for_packing(option.key, plan.container, answer.policy, plan.copies)
    values = _of_single(instrument, answer, plan, option) | _in_container(option.name, own)
    uses = uses_of(answer, option, answer.guidance_in(option.candidate))
    decided = KeptDecision.of(on_record(answer, option))
    made: list[Package] = []
    for number in range(plan.copies):
        one = {"key": f"{key[:60]}-{number}" if number else key,
               "packed_with": made[0] if made else None, "decided": decided}  # fmt: skip
        made.append(record_package(person, values | one, lots, uses))
    if plan.from_spares:
        for package in made:
            _take_from_spares(person, instrument, package)
    return made[0]


def _of_single(
    instrument: Instrument, answer: Answer, plan: Plan, option: Option
) -> dict[str, Any]:
    """What is on record of each package, alike or alone. NotClosed as :func:`pack_single` says."""
    guidance, pieces = answer.guidance_in(option.candidate), answer.pieces
    content = {"item_number": instrument.item_number, "name": instrument.name, "quantity": pieces}
    return {
        "kind": Package.Kind.SINGLE,
        "what": instrument.name,
        "number": instrument.item_number,
        "pieces": pieces,
        "instrument": instrument,
        "contents": [content],
        "method": option.method,
        "serves": carried_on_record(answer, option),
        "taken": option.key,
        "checks": checked(guidance, plan),
        "closed": to_look_at(guidance, alike=plan.copies > 1),
        "not_known": option.not_known(),
        "accepted": accepted(option, plan.override),
    }


def _in_container(name: str, own: OwnContainer | None) -> dict[str, Any]:
    """What it is packed in, and the container around it as it was."""
    kept = {"container": own.as_it_is} if own else {}
    return {"supply": supply_words(name, own), "own_container": own, "counted": kept}


def _take_from_spares(person: Person, instrument: Instrument, package: Package) -> None:
    actor = person.actor(f"packed as {package.code}")
    moved = move_spares(actor, instrument, -package.pieces)
    package.from_spares, package.spares_on_record = True, moved.before
    package.save(update_fields=["from_spares", "spares_on_record"])


@inside
def record_package(
    person: Person, values: dict[str, Any], lots: Iterable[SupplyLot], uses: Uses
) -> Package:
    """The package under its new code, with its record; overridden where findings were accepted.

    It bears those of the ``lots`` in use of what it ``uses`` up, and those that a filter may be of
    that stays in its container; it waits for its seal. An override that the answer to a question
    signed serves this package alone: the question is closed. Refused where another one had it,
    where a lot was recalled or is past its date, and where no label of it can be printed.
    """
    own = values.get("own_container")
    uses, in_it = uses_in(own, uses), lots_of_filter(own)
    borne = _borne(uses, lots)
    by, now = next((one["by"] for one in values["accepted"]), ""), timezone.now()
    package = Package.objects.create(
        code=uuid4().hex[:20],  # until it has its number
        packed_by=person.name,
        packed_at=now,
        use_by=use_by(timezone.localtime(now).date(), shelf_lives(*supplies_in(values["taken"]))),
        override_by=by,
        override_reason=reasons_in(values["accepted"]),
        **values,
    )
    package.code = package_code(package.pk)
    package.save(update_fields=["code"])
    if package.packed_with is None:  # all that are alike have the same label
        check_printable(package, person.stock)
    package.lots.set([*borne, *in_it])
    write_uses(package, uses, borne)
    after = {"what": package.what, "number": package.number, "packed in": package.supply}
    if by:
        after |= {"rules overridden by": by}
    record(person.actor(package.override_reason), Change.Verb.ADDED, package, package.code,
           None, after)  # fmt: skip
    for pk in {one["question"] for one in package.accepted if "question" in one}:
        _use(person, Question.objects.get(pk=pk), package)
    return package


def _borne(uses: Uses, lots: Iterable[SupplyLot]) -> list[SupplyLot]:
    """The lots that a package bears which uses this up; Refused where one is not to be used."""
    supplies = {one["supply"] for one in uses}
    borne = lots_for(lots, supplies)
    check_fresh(supplies - {one.supply for one in borne})
    return borne


def check_supplies(person: Person, uses: Uses, own: OwnContainer | None) -> None:
    """Refused where the press would be for what it uses up at this person's workstation now.

    For pages, so that nobody answers the checks first: nothing is locked, and the press looks
    again.
    """
    lots_of_filter(own)
    _borne(uses_in(own, uses), open_for(person))


def _use(person: Person, question: Question, package: Package) -> None:
    if question.state != Question.State.ANSWERED:
        raise Refused(f"{question.answered_by} signed for one package, and it was used or put "
                      "away since. Ask again, or have it signed here.")  # fmt: skip
    write(question, person, uuid4().hex, {"state": Question.State.CLOSED},
          reason=f"packed so as {package.code}")  # fmt: skip


@verb(ASSEMBLE)
def void_package(
    person: Person, package_pk: int, reason: str, *, to_spares: bool = False
) -> Package:
    """The package is opened or thrown away: its label is void and says so when scanned.

    ``to_spares``: its pieces lie with the loose spares now and are counted there, wherever
    they came from; spares that nobody has counted stay uncounted. A set's package becomes
    void when the set is reopened, not here. Void again changes and counts nothing. Refused
    without a reason.
    """
    [package] = lock_with_requests(Package.objects.filter(pk=package_pk))
    if package.is_void:
        return package
    if package.kind == Package.Kind.SET:
        raise Refused("Reopen the set instead: its label becomes void with it.")
    make_void(person, package, reason)
    if to_spares and package.instrument:
        actor = person.actor(f"{package.code} void: {package.void_reason}")
        move_spares(actor, package.instrument, package.pieces)
    return package


@inside
def make_void(person: Person, package: Package, reason: str) -> Package:
    """Void with a reason; it waits for nothing any more. It is locked ``with_requests``."""
    reason = reason.strip()
    if not reason:
        raise Refused("Write the reason: it stays on record with the package.")
    package.void_at, package.void_by, package.void_reason = timezone.now(), person.name, reason
    package.here = False
    package.save(update_fields=["here", "void_at", "void_by", "void_reason"])
    record(person.actor(reason), Change.Verb.RETIRED, package, package.code,
           {"state": "in force"}, {"state": "void"})  # fmt: skip
    tell_of(person, package, f"was made void: {reason}")
    short = package.shortfalls.filter(kind=Shortfall.Kind.PACKED_SHORT, closed_at=None)
    lock(short)
    short.update(
        closed_at=timezone.now(), closed_by=person.name, closed_because=f"void: {reason}"[:300]
    )
    return package
