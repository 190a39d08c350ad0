"""From packages that were recorded to papers: their label, and the count sheet as built.

A paper says what the record of the package says; nothing is decided again here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby

from django.conf import settings
from django.utils import timezone

from assembly.facts_from_catalog import policy_in_force
from assembly.loads.standing import load_of
from assembly.models import Load, LoadState, Package
from assembly.packing.vocabulary import Kind
from assembly.requests.working import destination_of
from assembly.taking import supplies_in
from assembly.tally import LineCount, Tally, tally_of
from reports.documents import (
    CountSheetDocument,
    CountSheetLine,
    CountSheetSection,
    LabelDocument,
    PrintError,
)
from reports.drawing.labels import draw_label
from reports.drawing.stocks import Stock
from reports.from_catalog import Packing, package_label
from reports.photos import Photos, unread_words

OVERRIDDEN = "RULES OVERRIDDEN"
SHORT = "GOES WITH SHORTAGES"


def package_label_document(package: Package) -> LabelDocument:
    """The label of a recorded package, as the policy in force wants it.

    Its barcode is the package's code; sterilizer, cycle and lot are those of its load.
    MissingElement names what the policy requires and the record does not hold.
    """
    load = load_of(package)
    packing = Packing(
        packed_by=package.packed_by,
        packed_on=timezone.localtime(package.packed_at).date(),
        code=package.code,
        destination=destination_of(package),
        sterilizer=load.sterilizer_code if load else "",
        cycle=str(load.cycle) if load else "",
        cycle_on=load.day if load else None,
        load=str(load.pk) if load else "",
        lot=load.lot if load else "",
        expires_on=package.use_by,
        flags=tuple(_flags(package)),
        notices=_notices(package),
        void=_void(package, load),
    )
    return package_label(
        policy_in_force(),
        packing,
        what=package.what,
        item_number=package.number,
        quantity=f"{package.pieces} piece{'' if package.pieces == 1 else 's'}",
        package=package.supply[:1].upper() + package.supply[1:],
        method=package.method,
        double=_double(package),
    )


def _flags(package: Package) -> Iterator[str]:
    if package.shortages:
        yield SHORT
    if package.override_by:
        yield OVERRIDDEN


def _void(package: Package, load: Load | None) -> str:
    """Why the package is not to be used; blank where nothing on record says so."""
    if package.is_void:
        return package.void_reason
    if load and load.state in (LoadState.NOT_RELEASED, LoadState.RECALLED):
        return f"load {load} {load.get_state_display().lower()}"
    return ""


def _double(package: Package) -> bool | None:
    """Whether it is in two pouches; None for what is in no pouch."""
    kind, codes = supplies_in(package.decision["taken"])
    return len(codes) > 1 if kind == Kind.POUCH else None


def _notices(package: Package) -> tuple[str, ...]:
    not_known = (f"Not known: {sentence}" for sentence in package.not_known)
    return (*package.shortages, *not_known)


def draw_package_label(package: Package, stock: Stock) -> bytes:
    """The label as a PDF; what does not fit is named shorter, and never left out in silence."""
    return draw_label(fitting_label(package, stock), stock)


def fitting_label(package: Package, stock: Stock) -> LabelDocument:
    """The fullest wording of the label that fits on ``stock``; PrintError where none does.

    First every shortage and every unknown in its sentence, then shortages alone with the
    unknowns counted, then both counted with where to read them; each with the method in
    full before it is the programme's code alone. Why a label is void is shortened last.
    """
    problem: PrintError | None = None
    for shorter in _shorter(package, package_label_document(package)):
        try:
            draw_label(shorter, stock)
            return shorter
        except PrintError as refusal:
            problem = refusal
    assert problem is not None
    raise problem


def _shorter(package: Package, document: LabelDocument) -> Iterator[LabelDocument]:
    code, _, words = document.method.partition(" (")
    wordings = list(_notices_shorter(package, document))
    methods = [document.method, code] if words else [document.method]
    for notices in wordings:
        for method in methods:
            yield replace(document, method=method, notices=notices)
    if document.void:
        yield replace(document, method=code, notices=wordings[-1], void="see the package's record")


def _notices_shorter(package: Package, document: LabelDocument) -> Iterator[tuple[str, ...]]:
    unknown = len(package.not_known)
    counted = (f"{unknown} not known: see the package's record",) if unknown else ()
    numbers = tuple(words.rsplit(", ", 1)[-1] for words in package.shortages)
    yield document.notices
    yield (*package.shortages, *counted)
    if numbers:
        yield (f"Short: {', '.join(numbers)}", *counted)
        yield (f"{len(numbers)} lines short: see the count sheet", *counted)


def built_sheet_document(package: Package, *, photos: Photos | None = None) -> CountSheetDocument:
    """The count sheet of a signed set, with what is really in it. ValueError for a single.

    The photographs come from ``photos``; one that cannot be read is named in the notices.
    """
    build = package.build
    if build is None:
        raise ValueError(f"{package.code} is no set and has no count sheet")
    tally = tally_of(build)
    sheet = build.count_sheet
    wanted = (one.line.instrument for one in tally.lines)
    pictures, unread = photos.of(wanted) if photos else ({}, [])
    return CountSheetDocument(
        hospital=settings.HOSPITAL_NAME or "Sterile processing",
        set_name=build.set_name,
        set_code=build.set_code,
        revision=str(sheet.revision),
        revision_state="void" if package.is_void else str(sheet.state),
        sections=_sections(tally.lines, pictures),
        printed_at=timezone.localtime().replace(tzinfo=None),
        printed_by=package.packed_by,
        service=build.instrument_set.service,
        approval=f"{sheet.approved_by}, {sheet.approved_on:%Y-%m-%d}" if sheet.approved_on else "",
        packaging=package.supply,
        gross_weight=_weight(package),
        weight_status="",
        notices=tuple(filter(None, (*_sheet_notices(package, tally), unread_words(unread)))),
        shortages=tuple(package.shortages),
    )


def _weight(package: Package) -> str:
    """The gross weight as the record of the package has it; empty where it has none."""
    found = {one["rule"]: one for one in package.decision.get("findings", [])}
    gross = found.get("gross weight", {}).get("figure")
    return "" if gross is None else f"{gross / 1000:.2f} kg"


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


def _sections(
    lines: Sequence[LineCount], pictures: Mapping[str, bytes]
) -> tuple[CountSheetSection, ...]:
    numbered = [
        (
            one.line.section,
            CountSheetLine(
                number=number,
                quantity=one.line.wanted,
                name=one.line.name,
                item_number=one.line.item_number,
                also_known_as=one.line.instrument.also_known_as,
                protector="not known" if one.line.instrument.protector is None
                else one.line.instrument.protector,
                may_go_without=one.line.may_go_without,
                note=_note(one),
                photo=pictures.get(one.line.instrument.item_number, b""),
            ),
        )
        for number, one in enumerate(lines, start=1)
    ]  # fmt: skip
    return tuple(
        CountSheetSection(title, tuple(line for _, line in group))
        for title, group in groupby(numbered, key=lambda pair: pair[0])
    )


def _note(one: LineCount) -> str:
    """What differs from the count sheet on one line, before its own note."""
    words = [f"{one.inside} of {one.line.wanted} in"] if one.missing else []
    words += [
        f"{count} × {other.name} ({other.item_number}) instead" for other, count in one.instead
    ]
    return "; ".join([*words, one.line.note] if one.line.note else words)
