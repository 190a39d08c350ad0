"""From packages that were recorded to their labels.

A paper says what the record of the package says; nothing is decided again here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from django.db.models import prefetch_related_objects
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.recorded import decided_of
from assembly.judging.taking import supplies_in
from assembly.models import Package
from assembly.packages.standing import load_of, standing_of
from assembly.requests.working import destination_of
from assembly.rules.telling.missing import missing_in_all, substitute_words, without_counts
from catalog.vocabulary import Kind
from reports.documents.papers import LabelDocument, NotPrinted, PrintError
from reports.drawing.stocks import Stock
from reports.gathering.from_catalog import first_that_fits, method_shorter, package_label

OVERRIDDEN = "RULES OVERRIDDEN"


def package_label_document(package: Package, destination: str = "") -> LabelDocument:
    """The label of a recorded package, as the policy in force wants it.

    It goes where its request says; ``destination`` is said where it has none.
    Its barcode is the package's code; sterilizer, cycle and lot are those of its load, and so
    is the programme where several serve it.
    MissingElement names what the policy requires and the record does not hold.
    """
    load, now = load_of(package), standing_of(package)
    decided = decided_of(package, load)
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
        package=decided.package,
        method=decided.cycle,
    )


def _flags(package: Package) -> Iterator[str]:
    if package.override_by:
        yield OVERRIDDEN


def _double(package: Package) -> bool | None:
    """Whether it is in two pouches; None for what is in no pouch."""
    kind, codes = supplies_in(package.taken)
    return len(codes) > 1 if kind == Kind.POUCH else None


def _notices(package: Package) -> tuple[str, ...]:
    not_known = (f"Not known: {sentence}" for sentence in package.not_known)
    instead = _instead(package)
    return (*package.shortages, *instead, *_accepted(package), *not_known)


def _instead(package: Package) -> tuple[str, ...]:
    """What stands in for what, each by its name."""
    names = {one["item_number"]: one["name"] for one in package.counted.get("lines", [])}
    return tuple(
        substitute_words(one["quantity"], one["name"], names.get(number, number))
        for one in package.contents
        if (number := one.get("instead_of"))
    )


def _accepted(package: Package) -> Iterator[str]:
    """What was taken against the rules, and by whom, in a few words for whoever opens it."""
    rules = dict.fromkeys(one["rule"] for one in package.accepted if one.get("rule"))
    if rules:
        yield f"Accepted by {package.override_by}: {', '.join(rules)}"


def fitting_label(package: Package, stock: Stock, destination: str = "") -> LabelDocument:
    """The fullest wording of the label that fits on ``stock``; PrintError where none does.

    First what is missing, what stands in and every unknown in its sentence, then the unknowns
    counted, then all of it counted with where to read it; each with the method in full before
    it is the programme's code alone. Why a label is void is shortened last.
    """
    return first_that_fits(_shorter(package, package_label_document(package, destination)), stock)


def labels_or_why(
    packages: Iterable[Package], stock: Stock, destination: str = ""
) -> Iterator[LabelDocument | NotPrinted]:
    """The labels of several packages; of one that has none, why."""
    packages = list(packages)
    prefetch_related_objects(packages, "decided")
    for package in packages:
        try:
            yield fitting_label(package, stock, destination)
        except PrintError as problem:
            yield NotPrinted(package.code, package.what, str(problem))


def _shorter(package: Package, document: LabelDocument) -> Iterator[LabelDocument]:
    for notices in _notices_shorter(package, document):
        yield from method_shorter(replace(document, notices=notices))
    if document.void:  # nothing else matters of a package that is not to be used
        *_, bare = method_shorter(replace(document, notices=(), flags=()))
        yield bare
        yield replace(bare, void="see the package's record")


def _notices_shorter(package: Package, document: LabelDocument) -> Iterator[tuple[str, ...]]:
    """What is missing and what stands in, in fewer and fewer words; never left out."""
    unknown, instead = len(package.not_known), _instead(package)
    counted = (f"{unknown} not known: see the package's record",) if unknown else ()
    missing = tuple(package.shortages)
    brief = tuple(without_counts(words) for words in missing)
    yield document.notices
    yield (*missing, *instead, *_accepted(package), *counted)
    yield (*missing, *instead, *counted)
    yield (*brief, *instead, *counted)
    stands_in = (f"{len(instead)} SUBSTITUTE{'S' * (len(instead) > 1)}",) if instead else ()
    yield (*brief, *stands_in, *counted)
    if missing:
        in_all = f"{missing_in_all(missing)}: see the count sheet"
        yield (in_all, *stands_in, *counted)
        yield (in_all.partition(" on ")[0], *stands_in, *counted)
