"""Recalls: from a load, a sterilizer, a lot, an instrument or a container to every package.

All of them are held at once.

What a recall starts from is looked up again each time (:func:`scope_of`), so that its page can
say what came to be packed or loaded since.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import Q, QuerySet
from django.utils import timezone

from assembly.equipment.standing import last_good_biological
from assembly.ledger import Refused, begin, check_key, lock, verb, write
from assembly.models import (
    Biological,
    EquipmentTest,
    Load,
    LoadState,
    OwnContainer,
    Package,
    Recall,
    RecallKind,
    SupplyLot,
)
from assembly.packages import lots
from assembly.packages.promises import lock_with_requests
from assembly.packages.recalls import hold
from assembly.persons import RELEASE_LOAD, Person
from catalog.models import Instrument, Sterilizer

BY_NUMBER = "#"
"""Before the number of a row, as pages name a load: nobody types it."""
SINCE = " since "
"""Between the number of a container and the day from which on it was packed."""
RUN = (LoadState.RUNNING, LoadState.RELEASED)
COUNTED = EquipmentTest.objects.exclude(state=EquipmentTest.State.TAKEN_BACK)


@dataclass(frozen=True, slots=True)
class Scope:
    """What a recall is about: its packages now, the loads that end with it, its lots."""

    kind: RecallKind
    of: str
    about: str
    packages: QuerySet[Package]
    loads: Sequence[int] = ()
    lots: Sequence[int] = ()


def scope_of(kind: str, of: str) -> Scope:
    """What is to be recalled, by its kind and its number, code or lot as a person types it.

    Refused where there is no such thing on record, with what was read.
    """
    text = of.strip()
    match kind:
        case RecallKind.LOAD:
            return _of_load(text)
        case RecallKind.STERILIZER:
            return _of_sterilizer(text)
        case RecallKind.LOT:
            return _of_lot(text)
        case RecallKind.INSTRUMENT:
            return _of_instrument(text)
        case RecallKind.CONTAINER:
            return _of_container(*since_in(text))
    raise Refused("Choose what is recalled: a load, a sterilizer, a lot, an instrument or a "
                  "container.")  # fmt: skip


def _of_load(text: str) -> Scope:
    ran = Load.objects.filter(started_at__isnull=False)
    by_number = text.startswith(BY_NUMBER) and text[1:].isdecimal()
    found = list(ran.filter(pk=int(text[1:])) if by_number else ran.filter(lot__folded=text))
    if not found or not text:
        raise Refused(f"“{text}” is no load that was run. Write its lot number, such as "
                      "ST1-20260131-7.")  # fmt: skip
    if len(found) > 1:
        raise Refused(f"{len(found)} loads are called {text}. Recall each on its own page.")
    [load] = found
    return Scope(RecallKind.LOAD, f"{BY_NUMBER}{load.pk}", f"load {load}", _inside([load.pk]),
                 [load.pk])  # fmt: skip


def _of_sterilizer(text: str) -> Scope:
    sterilizer = Sterilizer.objects.filter(code__folded=text).first()
    if sterilizer is None:
        raise Refused(f"“{text}” is no sterilizer here. Write its code, such as ST1.")
    last = last_good_biological(sterilizer, timezone.now())
    since = Load.objects.filter(sterilizer=sterilizer, state__in=RUN)
    about = f"{sterilizer}, every load on record (none has a good biological reading)"
    if last is not None:
        since = since.filter(started_at__gt=last.at)
        good = f"{timezone.localtime(last.at):%Y-%m-%d %H:%M}"
        about = f"{sterilizer}, loads since its last good biological reading, of {good}"
    pks = list(since.order_by("started_at").values_list("pk", flat=True))
    return Scope(RecallKind.STERILIZER, sterilizer.code, about, _inside(pks), pks)


def _of_lot(text: str) -> Scope:
    """What was packed with a lot, and what the tests with it stood for: loads and heat seals."""
    found = list(SupplyLot.objects.filter(lot__folded=text))
    loads, sealed, sealers = _tested_with(text)
    if not found and not loads and not sealers:
        raise Refused(f"No lot “{text}” was opened here, or tested with. Write it as it stands "
                      "under Lots, or under Equipment.")  # fmt: skip
    pks = sorted(loads)
    names = list(dict.fromkeys(one.name for one in found))
    names += [f"tests of {len(pks)} load{'' if len(pks) == 1 else 's'}"] * bool(pks)
    names += [f"seal tests of {', '.join(sealers)}"] * bool(sealers)
    either = Q(pk__in=lots.packed_with(text).values("pk")) | Q(pk__in=_inside(pks).values("pk"))
    return Scope(RecallKind.LOT, text, f"lot {text} ({'; '.join(names)})"[:200],
                 Package.objects.filter(either | sealed), pks, [one.pk for one in found]
                 )  # fmt: skip


def _tested_with(lot: str) -> tuple[set[int], Q, list[str]]:
    """What tests with a lot stood for: loads, packages that a sealer closed, and those sealers.

    Of a test that ran in a load, that load; of any other, what the same thing ran or closed on
    the :func:`_days` that it stood for.
    """
    loads, sealed, sealers = set[int](), Q(pk__in=()), list[str]()
    tests = COUNTED.filter(lot__folded=lot).exclude(lot="").select_related("sealer")
    ran = Load.objects.filter(started_at__isnull=False)
    loads.update(ran.filter(tests__in=tests).values_list("pk", flat=True))
    alone = sorted((one for one in tests if not one.load_id), key=_tested)
    for _, each in groupby(alone, key=_tested):
        same = list(each)
        sealer = same[0].sealer
        for end, start in _days(same).items():
            if sealer:
                span = Q(sealer=sealer, sealed_at__date__gte=start)
                sealed |= span & Q(sealed_at__date__lt=end) if end else span
            else:
                those = ran.filter(sterilizer=same[0].sterilizer_id, day__gte=start)
                those = those.filter(day__lt=end) if end else those
                loads.update(those.values_list("pk", flat=True))
        sealers += [sealer.code] if sealer else []
    return loads, sealed, sealers


def _tested(test: EquipmentTest) -> tuple[int, int, str]:
    return test.sterilizer_id or 0, test.sealer_id or 0, test.kind


def _days(tests: Sequence[EquipmentTest]) -> dict[date | None, date]:
    """The days that tests of one kind, of one thing, with one lot stood for: the day after them
    (that of the next test with another lot; None where none is), with the first of them.

    A test whose lot nobody wrote ends nothing: rather too many.
    """
    of = tests[0]
    others = COUNTED.filter(sterilizer=of.sterilizer_id, sealer=of.sealer_id, kind=of.kind)
    others = others.exclude(lot="").exclude(lot__folded=of.lot).order_by("day")
    days = list(others.values_list("day", flat=True))
    found: dict[date | None, date] = {}
    for test in sorted(tests, key=lambda one: one.day):
        found.setdefault(next((day for day in days if day > test.day), None), test.day)
    return found


def _of_instrument(text: str) -> Scope:
    one = Instrument.objects.filter(item_number__folded=text).first()
    if one is None:
        raise Refused(f"“{text}” is no instrument here. Write its item number.")
    inside = Q(instrument=one) | Q(build__lines__instrument=one) | Q(build__steps__instrument=one)
    return Scope(RecallKind.INSTRUMENT, one.item_number, f"{one.item_number} {one.name}"[:200],
                 Package.objects.filter(pk__in=Package.objects.filter(inside).values("pk"))
                 )  # fmt: skip


def with_since(of: str, since: date | None) -> str:
    """What a recall of a container is of: its number, with the day where there is one.

    >>> with_since("C-017", date(2026, 1, 31)), since_in("C-017 since 2026-01-31")[0]
    ('C-017 since 2026-01-31', 'C-017')
    """
    return f"{of.strip()}{SINCE}{since.isoformat()}" if since else of


def since_in(text: str) -> tuple[str, date | None]:
    """The number and the day of :func:`with_since`; all of it is the number where no day is."""
    number, said, day = text.rpartition(SINCE)
    try:
        return (number, date.fromisoformat(day)) if said else (text, None)
    except ValueError:
        return text, None


def _of_container(number: str, since: date | None) -> Scope:
    """What was packed in a container, where its number was said, from that day on."""
    one = OwnContainer.objects.filter(number__folded=number).first()
    if one is None:
        raise Refused(f"“{number}” is no container on record. Write the number on it.")
    found = Package.objects.filter(own_container=one)
    about = f"container {one}, every package that names it"
    if since:
        found = found.filter(packed_at__date__gte=since)
        about = f"container {one}, packages since {since} that name it"
    return Scope(RecallKind.CONTAINER, with_since(one.number, since), about[:200], found)


def _inside(loads: Sequence[int]) -> QuerySet[Package]:
    return Package.objects.filter(loaded__load__in=loads, loaded__taken_out_at=None)


@verb(RELEASE_LOAD)
def recall(person: Person, kind: str, of: str, key: str, reason: str) -> Recall:
    """No package of it is to be used from now on, wherever it is; all of them, or nothing.

    A load that was released becomes recalled, one that runs is not released; nothing is packed
    with a lot of it any more. The same key gives the same recall. Refused without a reason, and
    where nothing of it is on record.
    """
    check_key(key)
    scope = scope_of(kind, of)
    lock(SupplyLot.objects.filter(pk__in=scope.lots))
    packages = lock_with_requests(scope.packages)
    if before := Recall.objects.filter(key=key).first():
        return before
    if not packages and not scope.lots:
        raise Refused(f"Nothing of it is on record: {scope.about}. Nothing was recalled.")
    made = _recalled(person, scope, packages, key, reason)
    _end_all(person, scope, key, reason)
    now = timezone.now()
    SupplyLot.objects.filter(pk__in=scope.lots, recalled_at=None).update(recalled_at=now)
    return made


def _recalled(
    person: Person, scope: Scope, packages: list[Package], key: str, reason: str
) -> Recall:
    if not reason.strip():
        raise Refused("Write why it is recalled: everybody who has a package reads it.")
    made = Recall.objects.create(
        key=key, kind=scope.kind, of=scope.of[:60], about=scope.about[:200],
        reason=reason.strip()[:300], by=person.name, at=timezone.now(),
    )  # fmt: skip
    hold(person, made, packages, key)
    return made


def _end_all(person: Person, scope: Scope, key: str, reason: str) -> None:
    for pk in sorted(scope.loads):
        load, _ = begin(Load, pk, key)
        _end(person, load, key, reason)


def _end(
    person: Person, load: Load, key: str, reason: str, said: Mapping[str, str] | None = None
) -> None:
    ends = {LoadState.RELEASED: LoadState.RECALLED, LoadState.RUNNING: LoadState.NOT_RELEASED}
    if state := ends.get(LoadState(load.state)):
        changes = {"state": state, **(said or {})}
        write(load, person, key, changes, words=state.label.lower(), reason=reason)


@verb(RELEASE_LOAD)
def recall_load(person: Person, pk: int, key: str, reason: str, *, grew: bool = False) -> Load:
    """A released load turned out to have failed: it is recalled. ``grew``: its indicator did."""
    packages = lock_with_requests(_inside([pk]))
    load, before = begin(Load, pk, key, (LoadState.RELEASED,))
    if before:
        return load
    _recalled(person, scope_of(RecallKind.LOAD, f"{BY_NUMBER}{pk}"), packages, key, reason)
    said = {"biological": Biological.GROWTH} if grew else {}
    _end(person, load, key, reason, said)
    return load


@verb(RELEASE_LOAD)
def recall_more(person: Person, pk: int, key: str) -> Recall:
    """What came to be packed or loaded of it since the recall is held too."""
    check_key(key)
    made = Recall.objects.filter(pk=pk).first()
    if made is None:
        raise Refused("There is no such recall. Load the page again.")
    hold(person, made, lock_with_requests(since(made)), key)
    _end_all(person, scope_of(made.kind, made.of), key, made.reason)
    return made


def since(made: Recall) -> QuerySet[Package]:
    """Packages of what was recalled that the recall did not hold."""
    held = made.packages.values("package")
    return scope_of(made.kind, made.of).packages.exclude(pk__in=held)
