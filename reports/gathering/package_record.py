"""The record of one package, from what was written down when it happened.

It reads the package, its steps and those of what it went through, as they were written. Nothing
here asks the catalog, the policy or an account: a name, a revision or a limit that was changed
since changes nothing of it (a test holds that).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from django.utils import timezone

from assembly.models import BuildEvent, Load, LoadedPackage, Package
from assembly.packages.standing import standing_of, with_standing
from assembly.rules.days import day_words, time_words
from reports.documents.lists import ListColumn, Row
from reports.documents.records import EVENTS, FACTS, PackageRecord, RecordSection, section

Kind = BuildEvent.Kind
TOLD = (Kind.STARTED, Kind.SHORT, Kind.DAMAGED, Kind.TAKEN_OUT, Kind.SUBSTITUTED, Kind.OVER,
        Kind.WEIGHED, Kind.TAKEN, Kind.PACKED, Kind.UNPACKED, Kind.SIGNED,
        Kind.REOPENED)  # fmt: skip
"""Events of an assembly that stand on the record; each count of a line stands with its line."""
COUNTED = (ListColumn("Item number", 1.0), ListColumn("Instrument", 2.4),
           ListColumn("Wanted", 0.6, "right"), ListColumn("In", 0.5, "right"),
           ListColumn("Missing", 0.6, "right"), ListColumn("Instead, notes", 1.8))  # fmt: skip
FINDINGS = (ListColumn("Rule", 1.1), ListColumn("Came out", 0.8), ListColumn("What was found", 3.0),
            ListColumn("Source", 1.6))  # fmt: skip
CODE = "PK-"
"""How the code of any package begins."""
ANSWERS = (ListColumn("When", 1.0), ListColumn("Question", 3.6), ListColumn("Answer", 0.6))


def when(moment: datetime | None) -> str:
    """A moment by the department's clock; "" for none."""
    return time_words(timezone.localtime(moment)) if moment else ""


def package_record(code: str) -> PackageRecord:
    """The whole record. ``Package.DoesNotExist`` where there is no such package."""
    package = with_standing(Package.objects.select_related("decided")).get(code=code)
    now = standing_of(package)
    loaded = list(LoadedPackage.objects.filter(package=package).select_related("load"))
    sections = (
        section("Package", FACTS, _facts(package)),
        section("Who", FACTS, _people(package)),
        *_sheet(package),
        section("Missing, not known, accepted", FACTS, _reserves(package)),
        *_assembly(package),
        *_loads(package, loaded),
        section("Where it was", EVENTS, _moves(package)),
        section("Asked for", EVENTS, _requests(package)),
        section("Recalled", EVENTS, _recalls(package)),
        section("Something was wrong", EVENTS, _complaints(package)),
        section("Looked at", ANSWERS, _answers(package)),
        *_decisions(package, loaded),
    )
    loud = f"{now.word.label}. Do not use this package." if now.spoiled else ""
    return PackageRecord(package.code, f"{package.what} ({package.number})", loud, sections)


# --- what it is ------------------------------------------------------------------------------


def _facts(package: Package) -> Iterator[Row]:
    if package.tray:
        yield "Tray", package.tray
    yield "Pieces", str(package.pieces)
    if "lines" not in package.counted:
        for one in package.contents:
            instead = f", instead of {one['instead_of']}" if one.get("instead_of") else ""
            yield "Inside", f"{one['quantity']} × {one['name']}, {one['item_number']}{instead}"
    yield "Packed in", package.supply
    if container := package.counted.get("container"):
        yield "Container", container
    yield "Cycle", package.cycle_words or "none that serves all"
    if len(package.programmes) > 1:
        yield "Cycles that serve", "; ".join(package.programmes)
    if package.from_spares:
        before = package.spares_on_record
        many = "not counted" if before is None else f"{before} on record before"
        yield "Taken from", f"the loose spares, {many}"
    for lot in package.lots.order_by("pk"):
        yield "Lot", f"{lot.lot}, {lot.name}"
    if package.use_by:
        yield "Use by", day_words(package.use_by)


def _sheet(package: Package) -> Iterator[RecordSection]:
    counted = package.counted
    if "lines" not in counted:
        return
    by = counted.get("approved_by") or ""
    approved = f", approved by {by}, {counted['approved_on']}" if by else ""
    rows = []
    for one in counted["lines"]:
        instead = [f"{many} × {name} ({number}) instead" for number, name, many in one["instead"]]
        notes = "; ".join(filter(None, (*instead, one["note"])))
        rows.append((one["item_number"], one["name"], str(one["wanted"]), str(one["inside"]),
                     str(one["short"] or ""), notes))  # fmt: skip
    heading = f"Count sheet {package.number}, revision {counted['revision']}{approved}"
    yield section(heading, COUNTED, rows)


def _reserves(package: Package) -> Iterator[Row]:
    for words in package.shortages:
        yield "Missing", words
    for words in package.not_known:
        yield "Not known", words
    for one in package.accepted:
        sentence = one.get("sentence", "")
        yield "Accepted", f"{sentence} Accepted by {one['by']}: {one['reason']}".strip()


def _decisions(package: Package, loaded: Iterable[LoadedPackage]) -> Iterator[RecordSection]:
    decision = package.decision
    policy = f" (policy {decision['policy']})" if decision.get("policy") else ""
    heading = f"Decision: {decision.get('headline', '')}{policy}"
    yield section(heading, FINDINGS, _findings(decision.get("findings", [])))
    for load in (one.load for one in loaded if one.taken_out_at is None):
        heading = f"What load {load} was decided on"
        yield section(heading, FINDINGS, _findings(load.findings))


def _findings(found: Iterable[dict[str, Any]]) -> Iterator[Row]:
    for one in found:
        yield one["rule"], one["status"], one["sentence"], one["source"]


def _answers(package: Package) -> Iterator[Row]:
    for one in package.checks:
        yield "Before it was closed", one["question"], one.get("answer", "yes")
    for one in package.closed:
        yield "Once it was closed", one["question"], one.get("answer", "not answered")


def _people(package: Package) -> Iterator[Row]:
    yield "Packed by", f"{package.packed_by}, {when(package.packed_at)}"
    if package.kind == Package.Kind.SET:
        yield "Second person, before the lid", package.checked_by or "none on record"
    if package.override_by:
        yield "Against the rules", f"{'; '.join(package.accepted_marks)}: {package.override_reason}"
    sealed = f"{package.sealed_by}, {when(package.sealed_at)}" if package.sealed_at else "not yet"
    yield "Sealed by", sealed
    if package.seal_findings:
        said = " ".join(one["sentence"] for one in package.seal_findings)
        yield "Sealer", f"{package.sealed_with or 'not on record'}. {said}"
    if package.void_at:
        yield "Made void by", f"{package.void_by}, {when(package.void_at)}: {package.void_reason}"


# --- what happened to it ---------------------------------------------------------------------


def _assembly(package: Package) -> Iterator[RecordSection]:
    """The events of its assembly up to its signature, but for those that were undone."""
    if package.build_id is None:
        return
    events = list(BuildEvent.objects.filter(build=package.build_id).select_related("line"))
    undone = {one.undoes_id for one in events if one.undoes_id}
    signed = next(
        (
            one.pk
            for one in events
            if one.kind == Kind.SIGNED and one.data.get("package") == package.pk
        ),
        None,
    )
    rows = []
    for one in events:
        if one.kind in TOLD and one.pk not in undone and (signed is None or one.pk <= signed):
            line = f": {one.quantity} × {one.line.name}, {one.line.item_number}" if one.line else ""
            rows.append((when(one.at), f"{one.get_kind_display()}{line}", one.by, one.reason))
    yield section(f"Assembly {package.build_id}", EVENTS, rows)


def _loads(package: Package, loaded: Iterable[LoadedPackage]) -> Iterator[RecordSection]:
    """Each load it was put in with its steps, but for those of other packages."""
    for one in loaded:
        yield section(f"Load {one.load}", FACTS, _load(one))
        steps = [
            step
            for step in one.load.steps.all()
            if package.code in step.words or not step.words.startswith(CODE)
        ]
        yield section(
            f"Steps of load {one.load}",
            EVENTS,
            ((when(step.at), _sentence(step.words), step.by, step.reason) for step in steps),
        )
    if not loaded:
        yield section("Load", FACTS, ())


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _load(one: LoadedPackage) -> Iterator[Row]:
    load = one.load
    number = "" if load.number is None else f", load no. {load.number}"
    run = f"{load.sterilizer_code}, cycle no. {load.cycle}{number}"
    yield "Sterilizer", f"{run}, {day_words(load.day)}"
    yield "Cycle", load.programme
    yield "Put in by", f"{one.added_by}, {when(one.added_at)}"
    if one.taken_out_at:
        yield "Taken out", when(one.taken_out_at)
    if one.wet_because:
        yield "Wet", one.get_wet_because_display()
    yield "State", load.get_state_display()
    if load.biological:
        yield "Biological indicator", load.get_biological_display()
    for test in load.tests.prefetch_related("steps"):
        said = ", ".join(filter(None, (test.get_state_display(), test.detail, test.people)))
        yield test.get_kind_display(), said
    typed = _typed(load)
    if typed:
        yield "From its record", typed


def _typed(load: Load) -> str:
    """What was typed from the sterilizer's record, in words."""
    return "; ".join(f"{name.replace('_', ' ')} {value}" for name, value in load.record.items()
                     if value not in (None, ""))  # fmt: skip


def _moves(package: Package) -> Iterator[Row]:
    for one in package.steps.all():
        to = f" to {one.to}" if one.to else ""
        place = f": {one.at_place}" if one.at_place else ""
        yield when(one.at), f"{one.get_state_display()}{to}{place}", one.by, one.reason


def _requests(package: Package) -> Iterator[Row]:
    for one in package.ties.select_related("request"):
        asked = one.request
        let_go = f"Let go {when(one.let_go_at)}" if one.let_go_at else ""
        yield (when(one.tied_at), f"Request {asked.pk}: {asked} for {asked.destination}, asked for "
               f"by {asked.asked_by}; {asked.get_state_display().lower()}", one.tied_by,
               let_go)  # fmt: skip


def _recalls(package: Package) -> Iterator[Row]:
    for one in package.recalls.select_related("recall"):
        made = one.recall
        yield when(made.at), f"{made.about}. It was: {one.where}", made.by, made.reason


def _complaints(package: Package) -> Iterator[Row]:
    for one in package.complaints.prefetch_related("steps").order_by("at", "pk"):
        yield when(one.at), f"{one.said}. It was: {one.where}", one.by, one.get_state_display()
        for step in list(one.steps.all())[1:]:
            yield when(step.at), _sentence(step.state), step.by, step.reason
