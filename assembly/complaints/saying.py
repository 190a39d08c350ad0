"""Saying that something was wrong, and what was found when somebody looked into it."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlencode

from django.db.models import QuerySet
from django.utils import timezone

from assembly.ledger import Refused, begin, begin_new, check_key, note, verb, write
from assembly.models import (
    Complaint,
    ComplaintNotice,
    Load,
    Package,
    ShelfMove,
    ShelfState,
    Wrong,
)
from assembly.models.complaints import HURTS, OF_THE_LOAD
from assembly.packages.promises import lock_with_requests
from assembly.packages.recalls import held_now, mark_read, unread_by
from assembly.packages.shelf import leave
from assembly.packages.standing import TAKEN_OFF, load_of, packages_in
from assembly.packages.whereabouts import whereabouts_of
from assembly.persons import ASK, Person

SEE, LOOK_INTO = "assembly.view_package", "assembly.look_into_complaint"
Line = tuple[str, str]
"""Item number and name of a line, as the package has it."""


def lines_of(package: Package) -> list[Line]:
    """What can be named as missing or wrong: the lines of its count sheet as it was counted,
    else what was packed. Each once."""
    lines = package.counted.get("lines") or package.contents
    return list(dict.fromkeys((str(one["item_number"]), str(one["name"])) for one in lines))


@verb(SEE)
def say(
    person: Person, package_pk: int, kind: str, key: str, words: str = "", item: str = "", *,
    apart: bool = False,
) -> Complaint:  # fmt: skip
    """Something was wrong with a package; the same key is the same complaint.

    Where a patient could be hurt by it, or ``apart`` asks for it, nobody uses the package from
    now on, and its requests learn it. Where others of its load may have it too, each department
    that holds one is told. Refused for a kind or a line that is none, and for something else
    without its words.
    """
    [package] = lock_with_requests(Package.objects.filter(pk=package_pk))
    if before := begin_new(Complaint, key, under=package):
        return before
    number, name = _checked(package, kind, words, item)
    [where] = whereabouts_of([package])
    load = load_of(package)
    made = Complaint.objects.create(
        key=key, kind=kind, package=package, load=load, words=words.strip()[:300],
        item_number=number, item_name=name, where=where.words[:200], by=person.name,
        at=timezone.now(),
    )  # fmt: skip
    write(made, person, key, reason=made.words)
    note(person, made, None, {"package": package.code, "what was wrong": made.said})
    if kind in HURTS or apart:
        _take_off(person, package, made, key)
    if load is not None and kind in OF_THE_LOAD:
        _tell_holders(made, load)
    return made


def _checked(package: Package, kind: str, words: str, item: str) -> Line:
    if kind not in Wrong.values:
        raise Refused("Choose what was wrong.")
    if kind == Wrong.OTHER and not words.strip():
        raise Refused("Write in a few words what was wrong.")
    if not item:
        return "", ""
    found = next((one for one in lines_of(package) if one[0] == item), None)
    if found is None:
        raise Refused(f"“{item}” is no line of {package.code}. Choose one of the list, or none.")
    return found


def _take_off(person: Person, package: Package, made: Complaint, key: str) -> None:
    """What is void, opened, damaged or recalled is not used anyway, and stays so."""
    last = ShelfMove.objects.filter(package=package).last()
    if not package.is_void and not (last and last.state in TAKEN_OFF):
        leave(person, package, key, ShelfState.DAMAGED, reason=made.said[:300])


def _tell_holders(made: Complaint, load: Load) -> None:
    """Each department that holds other packages of the load has a notice that names them."""
    others = packages_in(load).exclude(pk=made.package_id).filter(void_at=None)
    held: dict[str, list[dict[str, str]]] = {}
    for one in held_now(others):
        if one.department and one.where.last not in TAKEN_OFF:
            package = one.where.package
            named = {"code": package.code, "what": package.what, "holder": one.holder}
            held.setdefault(one.department, []).append(named)
    ComplaintNotice.objects.bulk_create(
        ComplaintNotice(complaint=made, department=name, packages=packages)
        for name, packages in sorted(held.items())
    )


@verb(LOOK_INTO)
def look_into(person: Person, pk: int, key: str, reason: str) -> Complaint:
    """Somebody looked into it: ``reason`` is what was found and done."""
    return _end(person, pk, key, reason, Complaint.State.LOOKED_INTO)


@verb(LOOK_INTO)
def mistaken(person: Person, pk: int, key: str, reason: str) -> Complaint:
    """It was said by mistake: it counts no more. A package that was taken off for it stays so."""
    return _end(person, pk, key, reason, Complaint.State.MISTAKE)


def _end(person: Person, pk: int, key: str, reason: str, state: str) -> Complaint:
    complaint, before = begin(Complaint, pk, key, (Complaint.State.OPEN,))
    if before:
        return complaint
    if not reason.strip():
        raise Refused("Write what was found: it stays on record with the package.")
    done: Complaint = write(complaint, person, key, {"state": state}, reason=reason).complaint
    return done


def instead_of(package: Package, said: Sequence[Complaint]) -> str:
    """What the asking page is told, so that another one is asked for: what was missing of a set
    or wrong in it, else the same again. ``said`` is what was wrong with it, the last first."""
    last = said[0] if said else None
    if package.kind == Package.Kind.SINGLE:
        return urlencode({"item": package.number})
    if last is not None and last.kind in (Wrong.MISSING, Wrong.ITEM):
        short = {"from": package.number, "package": package.code}
        return urlencode({"item": last.item_number, **short} if last.item_number else short)
    return urlencode({"whole": package.number})


# --- what was said ---------------------------------------------------------------------------


def of_package(package: Package) -> QuerySet[Complaint]:
    """All that was said of the package, the last first, with its steps."""
    return _read(Complaint.objects.filter(package=package))


def of_load(load: Load) -> QuerySet[Complaint]:
    """All that was said of packages that were in this load, the last first."""
    return _read(Complaint.objects.filter(load=load))


def still_open() -> QuerySet[Complaint]:
    """What nobody has looked into, oldest first, with who was told."""
    found = Complaint.objects.filter(state=Complaint.State.OPEN)
    return _read(found).prefetch_related("notices").order_by("at", "pk")


def latest() -> QuerySet[Complaint]:
    """All that was said, the last first."""
    return _read(Complaint.objects.all())


def _read(found: QuerySet[Complaint]) -> QuerySet[Complaint]:
    return found.select_related("package", "load").prefetch_related("steps")


def notices_for(department: str) -> QuerySet[ComplaintNotice]:
    """Notices that nobody of the department has read; of all where it is blank."""
    found = ComplaintNotice.objects.select_related("complaint__load", "complaint__package")
    return unread_by(department, found.order_by("-pk"))


@verb(ASK)
def read_notice(person: Person, pk: int, key: str) -> ComplaintNotice:
    """Somebody of the department has read it; read before, it stays theirs."""
    check_key(key)
    notice = ComplaintNotice.objects.select_related("complaint__package").filter(pk=pk).first()
    return mark_read(person, notice, notice.complaint if notice else None)
