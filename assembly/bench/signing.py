"""Packing a built set, signing it, and opening it again: the verbs after the counting."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from assembly.bench.builds import OPEN, RUNNING, Kind, State
from assembly.bench.tally import Tally, tally_of
from assembly.judging.asked_again import check_asked
from assembly.judging.decisions import SetAnswer, decide_for_set
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.kept import on_record
from assembly.judging.sharpening import check_sharp
from assembly.judging.taking import (
    Option,
    Plan,
    accepted,
    carried_on_record,
    checked,
    reasons_in,
    settled,
)
from assembly.ledger import Refused, begin, check_locked, check_may, verb, write
from assembly.models import (
    Build,
    BuildEvent,
    KeptDecision,
    OwnContainer,
    Package,
    Shortfall,
    SupplyLot,
)
from assembly.packages.containers import for_packing, supply_words
from assembly.packages.lots import lock_lots
from assembly.packages.promises import lock_with_requests
from assembly.packages.recording import make_void, record_package
from assembly.packages.sealing import to_look_at
from assembly.packages.uses import uses_before, uses_of
from assembly.persons import ASSEMBLE, Person
from assembly.rules.findings import Show, metric
from assembly.rules.telling.guidance import Guidance
from assembly.rules.telling.labelling import tray_words

SECOND = "The policy asks for a second person, who looks before the lid. They sign here too."
WHICH_TRAY = "“{text}” is no tray number. Write 2, or 2 of 3, or leave it empty."
SOMEBODY_ELSE = "The second check is somebody else's. Nothing was recorded."


def answer_for(tally: Tally, show: Show = metric, programme: str = "") -> SetAnswer | None:
    """The decision for what will be in the set once all is found that is not said to be short:
    so its trouble shows before the first count. None where nothing will be.

    ``programme`` is the code of the one that a person chose.
    """
    if not tally.expected:
        return None
    return decide_for_set(tally.build.instrument_set, tally.expected, show, tally.reading_g,
                          tally.weighed_in, programme)  # fmt: skip


@verb(ASSEMBLE)
def pack(
    person: Person, build_pk: int, plan: Plan, key: str, checker: Person | None = None
) -> BuildEvent:
    """The set is packed: every piece accounted for, every check answered yes.

    ``checker`` is the second person, who looks before the lid where the policy asks for one,
    and is never the person who packs.

    Refused while a piece is unaccounted for, where a line is short that the set may not
    go without, or where its container is not to be packed. NotClosed where a check is answered
    no or the rules refuse the packaging.
    """
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    check_asked(person)
    tally = tally_of(build)
    answer = answer_for(tally, programme=plan.programme)
    _may_be_packed(tally)
    _looked_at(person, checker)
    if answer is None:
        raise Refused("Nothing is in the set. Count it first.")
    inside = [one.instrument for one in tally.contents]
    check_sharp(inside, build.instrument_set, answer.policy)
    option = settled(answer, plan)
    own = for_packing(option.key, plan.container, answer.policy)
    tray = _which_tray(plan.tray)
    guidance = answer.guidance_in(option.candidate)
    checks = checked(guidance, plan)
    taken = accepted(option, plan.override)
    return write(
        build,
        person,
        key,
        {"state": State.PACKED},
        kind=Kind.PACKED,
        reason=reasons_in(taken),
        data={
            **_as_judged(answer, option, guidance),
            "supply": supply_words(option.name, own),
            "container": own.number if own else "",
            "tray": tray,
            "checks": checks,
            "override": {"name": taken[0]["by"]} if taken else None,
            "accepted": taken,
            "checked_by": checker.name if checker else "",
            "checker": checker.pk if checker else None,
        },
    )


def _which_tray(text: str) -> str:
    words = tray_words(text)
    if words is None:
        raise Refused(WHICH_TRAY.format(text=text))
    return words


def _as_judged(answer: SetAnswer, option: Option, guidance: Guidance) -> dict[str, Any]:
    """What stays on record of what was taken, as the rules judged it."""
    return {
        "option": option.key,
        "method": option.method,
        "closed": to_look_at(guidance),
        "not_known": option.not_known(),
        "refused": option.refused(),
        "serves": carried_on_record(answer, option),
        "uses": uses_of(answer, option, guidance),
        "decided": KeptDecision.of(on_record(answer, option)).pk,
    }


def _looked_at(person: Person, checker: Person | None) -> None:
    if checker is None:
        if policy_in_force().flag("second_check"):
            raise Refused(SECOND)
        return
    if checker.pk == person.pk:
        raise Refused(SOMEBODY_ELSE)
    check_may(checker, ASSEMBLE)


def _may_be_packed(tally: Tally) -> None:
    open_lines = [one for one in tally.lines if one.remaining]
    if open_lines:
        one = open_lines[0]
        raise Refused(f"{tally.remaining} to be found yet, first {one.line.name}. "
                      "Count them, or say that they are short.")  # fmt: skip
    if held_back := [one for one in tally.lines if one.refuses_to_go]:
        raise Refused(f"The set may not go without {held_back[0].line.name}. Find it, take an "
                      "accepted substitute, or leave the set open.")  # fmt: skip


@verb(ASSEMBLE)
def unpack(person: Person, build_pk: int, key: str) -> BuildEvent:
    """Back to counting, before it is signed."""
    build, before = begin(Build, build_pk, key, (State.PACKED,), person)
    if before:
        return before
    return write(build, person, key, {"state": State.OPEN}, kind=Kind.UNPACKED)


@verb(ASSEMBLE)
def sign(person: Person, build_pk: int, key: str) -> Package:
    """The set is signed: its package is recorded and a shortfall opened for each shortage.

    Refused where the policy asks for a second person by now, and none looked before the lid.
    The same key gives the same package.
    """
    lots = lock_lots(person)
    build, before = begin(Build, build_pk, key, (State.PACKED,), person)
    if before:
        return build.packages.get(pk=before.data["package"])
    check_asked(person)
    tally = tally_of(build)
    package = _package(person, tally, key, lots)
    for one in tally.short:
        Shortfall.objects.create(
            kind=Shortfall.Kind.PACKED_SHORT,
            instrument_set=build.instrument_set,
            package=package,
            instrument=one.line.instrument,
            item_number=one.line.item_number,
            name=one.line.name,
            quantity=one.short,
            opened_by=person.name,
            opened_at=package.packed_at,
        )
    write(build, person, key, {"state": State.SIGNED}, kind=Kind.SIGNED,
          data={"package": package.pk},
          noted={"package": package.code, "short": package.shortages})  # fmt: skip
    return package


def _package(person: Person, tally: Tally, key: str, lots: list[SupplyLot]) -> Package:
    build, packing = tally.build, tally.packing
    if packing is None:
        raise Refused("It is not packed yet.")
    data = packing.data
    if policy_in_force().flag("second_check") and not data.get("checked_by"):
        raise Refused(f"{SECOND} Go back to counting, and pack it with them.")
    if data.get("checker") == person.pk:
        raise Refused(SOMEBODY_ELSE)
    own = for_packing(data["option"], data.get("container", ""), policy_in_force())
    return record_package(
        person,
        {
            "key": f"{build.pk}:{key}"[:64],
            "kind": Package.Kind.SET,
            "what": build.set_name,
            "number": build.set_code,
            "tray": data.get("tray", ""),
            "pieces": tally.inside,
            "build": build,
            "contents": contents_words(tally),
            "counted": on_record_counted(tally, own),
            "supply": data["supply"],
            "own_container": own,
            "method": data["method"],
            "serves": data.get("serves", {}),
            "taken": data["option"],
            "decided_id": data["decided"],
            "checks": data["checks"],
            "closed": data.get("closed", []),
            "not_known": data["not_known"],
            "shortages": [one.missing_words for one in tally.short],
            "checked_by": data.get("checked_by", ""),
            "accepted": accepted_on(packing),
        },
        lots,
        data.get("uses") or uses_before(data["option"], data.get("serves", {})),
    )


def accepted_on(packing: BuildEvent | None) -> list[dict[str, Any]]:
    """What was accepted when it was packed; before each finding was by itself, all in one."""
    if packing is None:
        return []
    by = packing.data["override"]
    all_in_one = [{"by": by["name"], "reason": packing.reason}] if by else []
    found: list[dict[str, Any]] = packing.data.get("accepted", all_in_one)
    return found


def contents_words(tally: Tally) -> list[dict[str, object]]:
    """What is in the set, line by line, with what each piece stands in for."""
    found: list[dict[str, object]] = []
    for one in tally.lines:
        line = {"item_number": one.line.item_number, "name": one.line.name}
        if one.counted:
            found.append({**line, "quantity": one.counted})
        found += [
            {"item_number": other.item_number, "name": other.name, "quantity": quantity,
             "instead_of": one.line.item_number}
            for other, quantity in one.instead
        ]  # fmt: skip
    return found


def on_record_counted(tally: Tally, own: OwnContainer | None) -> dict[str, Any]:
    """The count sheet as it was counted, in plain values: nothing of it changes with the catalog.

    Its revision with who approved it, and of each line the pieces wanted, in it and short, with
    what stands in; and the container around it as it was.
    """
    sheet = tally.build.count_sheet
    return {
        "container": own.as_it_is if own else "",
        "revision": sheet.revision,
        "approved_by": sheet.approved_by,
        "approved_on": sheet.approved_on.isoformat() if sheet.approved_on else "",
        "lines": [
            {"item_number": one.line.item_number, "name": one.line.name,
             "wanted": one.line.wanted, "inside": one.inside, "short": one.short,
             "note": one.line.note,
             "instead": [[other.item_number, other.name, many] for other, many in one.instead]}
            for one in tally.lines
        ],
    }  # fmt: skip


@verb(ASSEMBLE)
def reopen(person: Person, build_pk: int, reason: str, key: str) -> BuildEvent:
    """A signed set is opened again: its label is void, its requests closed, and why."""
    in_force = Package.objects.filter(build=build_pk, void_at=None)
    packages = lock_with_requests(in_force)
    build, before = begin(Build, build_pk, key, (State.SIGNED,))
    if before:
        return before
    check_locked(in_force, packages)
    if not reason.strip():
        raise Refused("Write the reason: it stays on record with the package.")
    for package in packages:
        make_void(person, package, reason)
    holder = {"holder_id": person.pk, "holder_name": person.name, "held_since": timezone.now()}
    return write(build, person, key, {"state": State.OPEN, **holder}, kind=Kind.REOPENED,
                 reason=reason)  # fmt: skip


@verb(ASSEMBLE)
def give_up(person: Person, build_pk: int, reason: str, key: str) -> BuildEvent:
    """The build is not finished: it leaves the lists and stays on record, with the reason."""
    build, before = begin(Build, build_pk, key, RUNNING, person)
    if before:
        return before
    if not reason.strip():
        raise Refused("Write the reason: it stays on record with the set.")
    return write(build, person, key, {"state": State.VOID}, kind=Kind.GIVEN_UP,
                 reason=reason)  # fmt: skip
