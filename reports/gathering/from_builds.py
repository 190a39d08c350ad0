"""From packages that were recorded to papers: their label, and the count sheet as built.

A paper says what the record of the package says; nothing is decided again here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from django.conf import settings
from django.utils import timezone

from assembly.bench.tally import LineCount, Tally, tally_of
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.taking import supplies_in
from assembly.models import Load, Package
from assembly.packages.standing import Word, load_of, standing_of
from assembly.requests.working import destination_of
from catalog.vocabulary import Kind
from reports.documents.papers import (
    CountSheetDocument,
    LabelDocument,
    filled,
)
from reports.drawing.stocks import Stock
from reports.gathering.from_catalog import (
    approval_words,
    first_that_fits,
    method_shorter,
    package_label,
    sections_of,
)
from reports.gathering.photos import Photos, unread_words

OVERRIDDEN = "RULES OVERRIDDEN"
SHORT = "GOES WITH SHORTAGES"


def package_label_document(package: Package, destination: str = "") -> LabelDocument:
    """The label of a recorded package, as the policy in force wants it.

    It goes where its request says; ``destination`` is said where it has none.
    Its barcode is the package's code; sterilizer, cycle and lot are those of its load, and so
    is the programme where several serve it.
    MissingElement names what the policy requires and the record does not hold.
    """
    load, now = load_of(package), standing_of(package)
    return package_label(
        policy_in_force(),
        packed_on=timezone.localtime(package.packed_at).date(),
        double=_double(package),
        cycle_on=load.day if load else None,
        packed_by=package.packed_by,
        barcode_text=package.code,
        department=destination_of(package) or destination,
        sterilizer=load.sterilizer_code if load else "",
        cycle=str(load.cycle) if load else "",
        load=str(load.pk) if load else "",
        lot_number=load.lot if load else "",
        expires_on=package.use_by,
        flags=tuple(_flags(package)),
        notices=_notices(package),
        void=now.short if now.spoiled else "",
        what=package.what,
        item_number=package.number,
        quantity=f"{package.pieces} piece{'' if package.pieces == 1 else 's'}",
        package=package.supply[:1].upper() + package.supply[1:],
        method=_method(package, load),
    )


def _method(package: Package, load: Load | None) -> str:
    """The programme it goes in; the method and the temperature while several serve it."""
    if load and package.serves.get("words"):
        return load.programme
    return package.cycle_words


def _flags(package: Package) -> Iterator[str]:
    if package.shortages:
        yield SHORT
    if package.override_by:
        yield OVERRIDDEN


def _double(package: Package) -> bool | None:
    """Whether it is in two pouches; None for what is in no pouch."""
    kind, codes = supplies_in(package.decision["taken"])
    return len(codes) > 1 if kind == Kind.POUCH else None


def _notices(package: Package) -> tuple[str, ...]:
    not_known = (f"Not known: {sentence}" for sentence in package.not_known)
    return (*package.shortages, *_accepted(package), *not_known)


def _accepted(package: Package) -> Iterator[str]:
    """What was taken against the rules, and by whom, in a few words for whoever opens it."""
    rules = dict.fromkeys(one["rule"] for one in package.accepted if one.get("rule"))
    if rules:
        yield f"Accepted by {package.override_by}: {', '.join(rules)}"


def fitting_label(package: Package, stock: Stock, destination: str = "") -> LabelDocument:
    """The fullest wording of the label that fits on ``stock``; PrintError where none does.

    First every shortage and every unknown in its sentence, then shortages alone with the
    unknowns counted, then both counted with where to read them; each with the method in
    full before it is the programme's code alone. Why a label is void is shortened last.
    """
    return first_that_fits(_shorter(package, package_label_document(package, destination)), stock)


def _shorter(package: Package, document: LabelDocument) -> Iterator[LabelDocument]:
    for notices in _notices_shorter(package, document):
        yield from method_shorter(replace(document, notices=notices))
    if document.void:  # nothing else matters of a package that is not to be used
        *_, bare = method_shorter(replace(document, notices=(), flags=()))
        yield bare
        yield replace(bare, void="see the package's record")


def _notices_shorter(package: Package, document: LabelDocument) -> Iterator[tuple[str, ...]]:
    unknown = len(package.not_known)
    counted = (f"{unknown} not known: see the package's record",) if unknown else ()
    numbers = tuple(_how_many(words) for words in package.shortages)
    yield document.notices
    yield (*package.shortages, *_accepted(package), *counted)
    yield (*package.shortages, *counted)
    if numbers:
        yield (f"Short: {', '.join(numbers)}", *counted)
        yield (f"{len(numbers)} lines short: see the count sheet", *counted)


def _how_many(shortage: str) -> str:
    """A shortage in a few signs.

    >>> _how_many("Short: 1 of 3 Bench forceps, BT-10")
    '1 of 3 BT-10'
    """
    counts = " ".join(shortage.removeprefix("Short: ").split()[:3])
    return f"{counts} {shortage.rsplit(', ', 1)[-1]}"


def built_sheet_document(
    package: Package, printed_by: str, *, photos: Photos | None = None
) -> CountSheetDocument:
    """The count sheet of a signed set, filled: what was counted, what is short or stands in,
    who signed. ValueError for a single.

    The photographs come from ``photos``; one that cannot be read is named in the notices.
    """
    build = package.build
    if build is None:
        raise ValueError(f"{package.code} is no set and has no count sheet")
    tally = tally_of(build)
    sheet = build.count_sheet
    wanted = (one.line.instrument for one in tally.lines)
    pictures, unread = photos.of(wanted) if photos else ({}, [])
    weight, weight_status = _weight(package)
    empty = CountSheetDocument(
        hospital=settings.HOSPITAL_NAME or "Sterile processing",
        set_name=build.set_name,
        set_code=build.set_code,
        revision=str(sheet.revision),
        revision_state=Word.VOID.value if package.is_void else str(sheet.state),
        sections=sections_of(((one.line, _said(one)) for one in tally.lines), pictures),
        printed_at=timezone.localtime().replace(tzinfo=None),
        printed_by=printed_by,
        service=build.instrument_set.service,
        approval=approval_words(sheet),
        packaging=package.supply,
        gross_weight=weight,
        weight_status=weight_status,
        notices=tuple(filter(None, (*_sheet_notices(package, tally), unread_words(unread)))),
        shortages=tuple(package.shortages),
        tick_columns=policy_in_force().words("count_sheet_columns"),
    )
    return filled(
        empty,
        {number: one.inside for number, one in enumerate(tally.lines, start=1)},
        _substitutions(tally.lines),
        assembled_by=package.packed_by,
        checked_by=package.checked_by,
        day=timezone.localtime(package.packed_at).date(),
    )


def _substitutions(lines: Sequence[LineCount]) -> list[str]:
    return [
        f"{count} × {other.name}, {other.item_number}, instead of {one.line.name}, "
        f"{one.line.item_number}"
        for one in lines
        for other, count in one.instead
    ]


def _weight(package: Package) -> tuple[str, str]:
    """The gross weight against its limit as the record has it, and its status; empty words
    where it has none. Where something was not weighed the figure is what was known."""
    found = {one["rule"]: one for one in package.decision.get("findings", [])}
    gross = found.get("gross weight")
    if not gross or gross["figure"] is None:
        return "", ""
    unknown = any(one.get("weight_g") is None for one in package.decision.get("facts", []))
    least = gross["status"] == "cannot tell" or (gross["status"] == "not met" and unknown)
    known = " known" if least else ""
    limit = f" of {gross['limit'] / 1000:.2f} kg" if gross["limit"] is not None else ""
    return f"{gross['figure'] / 1000:.2f} kg{known}{limit}", gross["status"]


def _sheet_notices(package: Package, tally: Tally) -> tuple[str, ...]:
    said = [f"Package {package.code}."]
    if package.is_void:
        said.append(f"Void since {timezone.localtime(package.void_at):%Y-%m-%d %H:%M}: "
                    f"{package.void_reason}.")  # fmt: skip
    if package.override_by:
        said.append(f"Rules overridden by {package.override_by}: {package.override_reason}.")
    if package.checked_by:
        said.append(f"Second check: {package.checked_by}.")
    said += [f"Not known: {sentence}" for sentence in package.not_known]
    if tally.over:
        said.append(f"{tally.over} too many laid aside, not in the set.")
    return tuple(said)


def _said(one: LineCount) -> dict[str, Any]:
    line = one.line
    return {"quantity": line.wanted, "name": line.name, "item_number": line.item_number,
            "note": _note(one)}  # fmt: skip


def _note(one: LineCount) -> str:
    """What stands in on one line, before its own note."""
    words = [
        f"{count} × {other.name} ({other.item_number}) instead" for other, count in one.instead
    ]
    return "; ".join([*words, one.line.note] if one.line.note else words)
