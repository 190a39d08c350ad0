"""Gathering a load: begun for one cycle of one sterilizer, filled by scan, and started."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date

from django.utils import timezone

from assembly.equipment.standing import for_a_load
from assembly.judging.facts_from_catalog import policy_in_force, programme_facts
from assembly.ledger import (
    Refused,
    begin,
    begin_new,
    check_locked,
    lock,
    lock_one,
    note,
    verb,
    write,
)
from assembly.models import Load, LoadedPackage, LoadState, Package
from assembly.packages.standing import (
    check_to_be_had,
    load_of,
    packages_in,
    standing_of,
    with_standing,
)
from assembly.persons import RUN_LOAD, Person
from assembly.rules.days import day_words
from assembly.rules.facts.from_json import plain
from assembly.rules.policy.values import Policy
from assembly.rules.telling.labelling import lot_number
from assembly.sterilizing.serving import check_claims, check_served
from catalog.models import Programme, Sterilizer

GATHERING = (LoadState.GATHERING,)
MOST_CYCLES = 999_999
"""A cycle number beyond this is a slip. Our own bound."""
LONGEST_REASON = 300
"""Signs that a step of a load keeps."""


def next_numbers(sterilizer: Sterilizer) -> tuple[int, int | None]:
    """One more than the cycle and the load number of the sterilizer's last load on record: what
    it will show next. A cycle of 1 where there is none; None where it shows no load number."""
    run = Load.objects.filter(sterilizer=sterilizer).exclude(state=LoadState.GIVEN_UP)
    last = run.order_by("begun_at", "pk").last()
    if last is None:
        return 1, None
    return last.cycle + 1, None if last.number is None else last.number + 1


@verb(RUN_LOAD)
def begin_load(
    person: Person, sterilizer: Sterilizer, programme: Programme, cycle: int, key: str,
    number: int | None = None,
) -> Load:  # fmt: skip
    """A load for one cycle; the same key gives the same load.

    ``cycle`` and ``number``, of the load, are those that the sterilizer shows. Refused for a
    programme the sterilizer does not run, and for a cycle that another load of the day has.
    """
    if before := begin_new(Load, key, under=sterilizer):
        return before
    if not sterilizer.active or not sterilizer.programmes.filter(pk=programme.pk).exists():
        raise Refused(f"{sterilizer} does not run {programme} by the page of supplies. Choose one "
                      "of its cycles.")  # fmt: skip
    _check_number(cycle)
    now = timezone.now()
    day = timezone.localtime(now).date()
    _check_free(sterilizer, day, cycle)
    runs = programme_facts(programme)
    load = Load.objects.create(
        key=key,
        sterilizer=sterilizer,
        sterilizer_code=sterilizer.code,
        programme=str(runs),
        runs=plain(asdict(runs)),
        method=programme.method,
        cycle=cycle,
        number=number,
        day=day,
        lot=lot_of(sterilizer.code, day, cycle),
        begun_by=person.name,
        begun_at=now,
    )
    write(load, person, key, words="begun")
    note(person, load, None, {"programme": load.programme, "cycle": cycle})
    return load


def _check_number(cycle: int) -> None:
    if not 1 <= cycle <= MOST_CYCLES:
        raise Refused(f"Write the cycle's number as the sterilizer shows it; {cycle} was read.")


def _check_free(sterilizer: Sterilizer, day: date, cycle: int, but: Load | None = None) -> None:
    others = Load.objects.filter(sterilizer=sterilizer, day=day, cycle=cycle)
    other = others.exclude(state=LoadState.GIVEN_UP).first()
    if other and other != but:
        raise Refused(f"Cycle {cycle} of {sterilizer} on {day_words(day)} is load {other}, begun "
                      f"by {other.begun_by}. Open that one, or write another number.")  # fmt: skip


def lot_of(sterilizer: str, day: date, cycle: int) -> str:
    """The lot number as the policy of the day puts it together."""
    pattern = policy_in_force(day).words("lot_pattern")
    return lot_number(pattern, sterilizer=sterilizer, day=day, cycle=str(cycle))


@verb(RUN_LOAD)
def add(person: Person, pk: int, package: Package, key: str) -> Load:
    """The package goes into the load. Added again it changes nothing.

    Refused for a package that is void, gone, not sealed, in another load, or that the load's
    programme does not certainly serve, alone or with what is in it.
    """
    package = lock_one(Package, package.pk)
    load, before = begin(Load, pk, key, GATHERING)
    if before or (held := load_of(package)) == load:
        return load
    if held:
        raise Refused(_held_elsewhere(package, held))
    check_to_be_had(package, sealed=True)
    if hasattr(package, "shelved"):
        raise Refused(f"{package.code} lies at {package.shelved.place}. What was put away is not "
                      "sterilized again as it is: void it and pack it anew.")  # fmt: skip
    policy = policy_in_force()
    check_served(package, load, policy)
    check_claims([*packages_in(load), package], load, policy,
                 f"Put {package.code} into another load.")  # fmt: skip
    LoadedPackage.objects.create(
        load=load, package=package, added_by=person.name, added_at=timezone.now()
    )
    return write(load, person, key, words=f"{package.code} put in").load


def _held_elsewhere(package: Package, load: Load) -> str:
    if load.state == LoadState.GATHERING:
        return f"{package.code} is in load {load} already. Take it out there first."
    return (f"{package.code} was in load {load} ({load.get_state_display().lower()}). Void it and "
            "pack it anew: nothing is sterilized twice in one package.")  # fmt: skip


@verb(RUN_LOAD)
def take_out(person: Person, pk: int, package: Package, key: str) -> Load:
    """The package is not in this load after all; it may go into another one."""
    lock_one(Package, package.pk)
    load, before = begin(Load, pk, key, GATHERING)
    if before:
        return load
    held = LoadedPackage.objects.filter(load=load, package=package, taken_out_at=None)
    if not held.update(taken_out_at=timezone.now()):
        raise Refused(f"{package.code} is not in load {load}. Nothing was changed.")
    return write(load, person, key, words=f"{package.code} taken out").load


@verb(RUN_LOAD)
def start(
    person: Person, pk: int, key: str, cycle: int | None = None, number: int | None = None
) -> Load:
    """The cycle runs. The lot number takes the day on which it was started, and the ``cycle``
    that the sterilizer shows then, if another one than when the load was begun.

    Refused while the load is empty, something in it is not to be used, its cycle's claims for a
    lumen do not certainly cover it, or a test that its sterilizer needs stops it.
    """
    loaded = Package.objects.filter(loaded__load=pk, loaded__taken_out_at=None)
    locked = lock(loaded)
    load, before = begin(Load, pk, key, GATHERING)
    if before:
        return load
    check_locked(loaded, locked)
    inside = list(with_standing(packages_in(load)))
    if not inside:
        raise Refused("Nothing is in this load. Scan the packages first.")
    if spoiled := [one.why for one in map(standing_of, inside) if one.spoiled]:
        raise Refused(f"{' '.join(spoiled)} Take out first what is not to be used.")
    policy = policy_in_force()
    check_claims(inside, load, policy, "Take packages out before it is started.")
    cautions = check_tested(load, policy)
    now = timezone.now()
    day = timezone.localtime(now).date()
    cycle = load.cycle if cycle is None else cycle
    _check_number(cycle)
    _check_free(load.sterilizer, day, cycle, but=load)
    lot = lot_of(load.sterilizer_code, day, cycle)
    changes = {"state": LoadState.RUNNING, "started_at": now, "day": day, "lot": lot,
               "cycle": cycle, "number": load.number if number is None else number}  # fmt: skip
    words = f"started with {len(inside)} packages"
    return write(load, person, key, changes, words=words, reason=cautions).load


def check_tested(load: Load, policy: Policy) -> str:
    """What its sterilizer's tests leave to take care of, in words; "" where there is nothing.

    Refused where one of them stops it, with what to do.
    """
    open_ = for_a_load(load, policy)
    if against := [one.finding.sentence() for one in open_ if one.stops]:
        raise Refused(f"Not started. {' '.join(against)} Put the test on record below, or under "
                      "Equipment.")  # fmt: skip
    return " ".join(one.finding.sentence() for one in open_)[:LONGEST_REASON]


@verb(RUN_LOAD)
def give_up(person: Person, pk: int, key: str, reason: str) -> Load:
    """The load is not run; its packages wait for another one. Only before it is started."""
    load, before = begin(Load, pk, key, GATHERING)
    if before:
        return load
    if not reason.strip():
        raise Refused("Write why the load is canceled: it stays on record.")
    load.loaded.filter(taken_out_at=None).update(taken_out_at=timezone.now())
    return write(
        load, person, key, {"state": LoadState.GIVEN_UP}, words="canceled", reason=reason
    ).load
