"""Tests put on record: done, read later, signed off where they failed, taken back."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from assembly.judging.asked_again import check_asked
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused, begin, begin_new, lock_one, note, verb, write
from assembly.models import Biological, EquipmentTest, Load, LoadState
from assembly.persons import SIGN_OFF, TEST, Person
from assembly.rules.days import time_words
from catalog.models import Sealer, Sterilizer

Kind, State = EquipmentTest.Kind, EquipmentTest.State
COOLEST_C, HOTTEST_C = Decimal(60), Decimal(300)
"""What a sealer reads is between these, else it is a slip of the hand. Our own bounds."""


@verb(TEST)
def put_on_record(
    person: Person, thing: Sterilizer | Sealer, kind: str, key: str, *, passed: bool | None = None,
    lot: str = "", incubator: str = "", read_c: Decimal | None = None, load: Load | None = None,
    words: str = "",
) -> EquipmentTest:  # fmt: skip
    """A test that was done today, with its result; the same key gives the same test.

    A biological indicator (its ``lot``, ``incubator`` and ``load``) waits to be read: ``passed``
    None. A seal test says what the sealer read (°C). Refused for what is retired, a kind that
    it does not have, and where a part of the result is missing.
    """
    if before := begin_new(EquipmentTest, key, under=thing):
        return before
    if not thing.active:
        raise Refused(f"{thing} is retired on the page of supplies. Nothing was put on record.")
    _check_whole(thing, kind, passed, lot.strip(), read_c)
    if load and load.sterilizer_id != thing.pk:
        raise Refused(f"Load {load} runs in {load.sterilizer_code}, not in {thing}.")
    now = timezone.now()
    state = State.WAITS if passed is None else State.PASSED if passed else State.FAILED
    test = EquipmentTest.objects.create(
        key=key, kind=kind, state=state, day=timezone.localdate(now), lot=lot.strip(),
        incubator=incubator.strip(), read_c=read_c, load=load, done_by=person.name, done_at=now,
        **{"sealer" if isinstance(thing, Sealer) else "sterilizer": thing},
    )  # fmt: skip
    write(test, person, key, {"state": state}, reason=words)
    note(person, test, None, {"result": test.get_state_display()}, words)
    return test


def _check_whole(
    thing: Sterilizer | Sealer, kind: str, passed: bool | None, lot: str, read_c: Decimal | None
) -> None:
    if kind not in Kind or (kind == Kind.SEAL) is not isinstance(thing, Sealer):
        raise Refused(f"“{kind}” is no test of {thing}. Load the page again.")
    if kind == Kind.BIOLOGICAL:
        if not lot:
            raise Refused(
                "Write the lot number of the biological indicator: it stands on the vial."
            )
        if passed is not None:
            raise Refused("A biological indicator is read after its time in the incubator. Put it "
                          "on record first.")  # fmt: skip
    elif passed is None:
        raise Refused(f"Say whether the {Kind(kind).label.lower()} passed or failed.")
    if kind == Kind.SEAL and passed and read_c is None:
        raise Refused(f"Write what {thing} reads, in °C: its pouches are held against it.")
    if read_c is not None and not COOLEST_C <= read_c <= HOTTEST_C:
        raise Refused(f"{read_c} °C was read. A sealer reads {COOLEST_C} to {HOTTEST_C} °C.")


@verb(TEST)
def read(person: Person, pk: int, key: str, *, passed: bool, reason: str = "") -> EquipmentTest:
    """A biological indicator is read: no growth (``passed``), its control grew, or growth.

    A load that was released with it learns it. Growth needs words: what is done about it.
    Refused where no growth is read before its time in the incubator is over.
    """
    load = _lock_load(pk)
    test, before = begin(EquipmentTest, pk, key, (State.WAITS,))
    if before:
        return test
    if passed:
        _check_incubated(test)
    if not passed and not reason.strip():
        raise Refused("It grew: write what is done about it. It stays on record.")
    write(test, person, key, {"state": State.PASSED if passed else State.FAILED}, reason=reason)
    _tell_load(person, key, load, Biological.NO_GROWTH if passed else Biological.GROWTH, test)
    return test


def _check_incubated(test: EquipmentTest) -> None:
    minutes = policy_in_force().number("biological_wait_min")
    over = test.done_at + timedelta(minutes=minutes)
    if timezone.now() < over:
        raise Refused(f"Lot {test.lot} went into the incubator "
                      f"{time_words(timezone.localtime(test.done_at))}: by the policy no growth "
                      f"is read after {minutes:g} min, not before "
                      f"{time_words(timezone.localtime(over))}. Where its maker's IFU says "
                      "another time, a coordinator sets it under Policy.")  # fmt: skip


def _lock_load(test_pk: int) -> Load | None:
    """The load that a test went through with: it is locked before the test."""
    found = EquipmentTest.objects.filter(pk=test_pk).values_list("load", flat=True).first()
    return lock_one(Load, found) if found else None


def _tell_load(
    person: Person, key: str, load: Load | None, said: Biological, test: EquipmentTest
) -> None:
    if load and load.state == LoadState.RELEASED and load.biological != said:
        words = f"biological indicator, lot {test.lot[:40]}: {said.label.lower()}"
        write(load, person, key, {"biological": said}, words=words)


@verb(SIGN_OFF)
def sign_off(person: Person, pk: int, key: str, reason: str) -> EquipmentTest:
    """It runs on although the test failed, with the reason. The test stays a failed one."""
    check_asked(person)
    wanted = "Write why it may run on after this test: it stays on record."
    return _ends(person, pk, key, reason, (State.FAILED,), State.SIGNED_OFF, wanted)


@verb(TEST)
def take_back(person: Person, pk: int, key: str, reason: str) -> EquipmentTest:
    """It was put on record by mistake, with the reason. To a load released with it, its
    biological indicator is not read again."""
    load, states = _lock_load(pk), (State.WAITS, State.PASSED, State.FAILED)
    wanted = "Write what was wrong with it: it stays on record."
    test = _ends(person, pk, key, reason, states, State.TAKEN_BACK, wanted)
    _tell_load(person, key, load, Biological.NOT_READ, test)
    return test


def _ends(
    person: Person, pk: int, key: str, reason: str, states: tuple[str, ...], becomes: str,
    wanted: str,
) -> EquipmentTest:  # fmt: skip
    test, before = begin(EquipmentTest, pk, key, states)
    if before:
        return test
    if not reason.strip():
        raise Refused(wanted)
    write(test, person, key, {"state": becomes}, reason=reason)
    return test
