"""From packages that were recorded to their labels.

A label says what the record of the package says; nothing is decided again here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date
from math import inf
from typing import Any

from django.conf import settings
from django.db.models import prefetch_related_objects
from django.utils import timezone

from assembly.judging.recorded import decided_of
from assembly.judging.taking import supplies_in
from assembly.models import Package
from assembly.packages.printable import NoPlace
from assembly.packages.standing import load_of, standing_of
from assembly.requests.working import destination_of
from assembly.rules.policy.values import Policy
from assembly.rules.telling.labelling import lot_number, sticks
from assembly.rules.telling.missing import substitute_words
from catalog.vocabulary import Kind
from reports.documents.giving_way import without_drying
from reports.documents.labels import LabelDocument
from reports.documents.papers import NotPrinted, PrintError
from reports.drawing.fitting import PrintRefused
from reports.drawing.labels.packages import plan_of
from reports.drawing.stocks import Stock
from reports.gathering.labels.marks import Marks
from reports.gathering.stocks import label_stocks

EVENT_RELATED = (
    "Sterile only if the outside indicator has changed, and unless opened, damaged or wet."
)


def package_label(
    policy: Policy,
    *,
    packed_on: date | None,
    double: bool | None,
    sterilized_on: date | None = None,
    **stated: Any,
) -> LabelDocument:
    """A label as the policy in force wants it; MissingElement names what it has to state.

    ``stated`` are the other fields of the label that are on record; ``double`` is None for
    what is in no pouch. A lot number that is not on record is put together by ``lot_pattern``
    from the sterilizer, the day of the cycle and its number; a part not known leaves it out.
    """
    pattern = policy.words("lot_pattern")
    lot = lot_number(
        pattern,
        sterilizer=stated.get("sterilizer", ""),
        day=sterilized_on,
        cycle=stated.get("cycle", ""),
    )
    required = _required(policy, void=bool(stated.get("void")), pouch=double is not None)
    say_single = "single or double" in required
    return LabelDocument(
        **{**stated, "lot_number": stated.get("lot_number") or lot},
        packed_on=packed_on,
        sterilized_on=sterilized_on,
        hospital=settings.HOSPITAL_NAME or "",
        statement="" if policy.word("shelf_life") == "use-by date" else EVENT_RELATED,
        single_or_double="double" if double else "single" if say_single else "",
        symbol=policy.word("label_symbol"),
        gs1_prefix=policy.text("gs1_company_prefix"),
        lot_holds=pattern,
        required=required,
    )


def _required(policy: Policy, *, void: bool, pouch: bool) -> tuple[str, ...]:
    """What the label has to state: nothing on a void one; single or double of pouches alone."""
    if void:
        return ()
    required = policy.words("label_required")
    if policy.word("shelf_life") == "use-by date":
        required = (*required, "use-by date")
    return tuple(name for name in required if pouch or name != "single or double")


def package_label_document(
    package: Package, destination: str = "", marks: Marks | None = None
) -> LabelDocument:
    """The label of a recorded package, as the policy of ``marks``, the one in force, wants it.

    It goes where its request says; ``destination`` is said where it has none.
    Its barcode is the package's code; sterilizer, cycle, load and day are those of its load, as
    the sterilizer counts them, and so is the programme where several serve it.
    MissingElement names what the policy requires and the record does not hold.
    """
    marks = marks or Marks()
    load, now, policy = load_of(package), standing_of(package), marks.policy
    decided = decided_of(package, load)
    document = package_label(
        policy,
        packed_on=timezone.localtime(package.packed_at).date(),
        double=_double(package),
        sterilized_on=load.day if load else None,
        packed_by=package.packed_by,
        barcode_text=package.code,
        department=destination_of(package) or destination,
        sterilizer=load.sterilizer_code if load else "",
        cycle=str(load.cycle) if load else "",
        load=str(load.number or "") if load else "",
        lot_number=load.lot if load else "",
        expires_on=package.use_by,
        flags=tuple(marks.of(package)),
        missing=tuple(package.shortages),
        instead=_instead(package),
        unknown=tuple(f"Not known: {sentence}" for sentence in package.not_known),
        void=now.short if now.spoiled else "",
        what=package.what,
        tray=package.tray,
        item_number=package.number,
        quantity=f"{package.pieces} piece{'' if package.pieces == 1 else 's'}",
        weight=_weight_words(package, policy.number_or_none("label_weight_g")),
        package=decided.package,
        method=without_drying(decided.cycle),
    )
    return _without_load(document) if load and load.number is None else document


def _without_load(document: LabelDocument) -> LabelDocument:
    """No line for the load where the sterilizer counts none."""
    return replace(document, required=tuple(name for name in document.required if name != "load"))


def _instead(package: Package) -> tuple[str, ...]:
    """What stands in for what, each by its name."""
    names = {one["item_number"]: one["name"] for one in package.counted.get("lines", [])}
    return tuple(
        substitute_words(one["quantity"], one["name"], names.get(number, number))
        for one in package.contents
        if (number := one.get("instead_of"))
    )


def _double(package: Package) -> bool | None:
    """Whether it is in two pouches; None for what is in no pouch."""
    kind, codes = supplies_in(package.taken)
    return len(codes) > 1 if kind == Kind.POUCH else None


def _weight_words(package: Package, over_g: float | None) -> str:
    """What it weighs, where that is more than ``over_g``; "over" where not all was weighed."""
    grams, whole = gross_of(package)
    if over_g is None or grams is None or grams <= over_g:
        return ""
    return f"{'' if whole else 'over '}{grams / 1000:.1f} kg"


def gross_of(package: Package) -> tuple[float | None, bool]:
    """The gross weight on record (g, None where none is), and whether it is the whole."""
    found = {one["rule"]: one for one in package.decision.get("findings", [])}
    gross, facts = found.get("gross weight"), package.decision.get("facts", [])
    if not gross or gross["figure"] is None:
        known = package.serves.get("gross_g")
        return known, not package.serves.get("not_weighed")
    each = facts if isinstance(facts, list) else [facts]
    unknown = any(one.get("weight_g") is None for one in each)
    least = gross["status"] == "cannot tell" or (gross["status"] == "not met" and unknown)
    return gross["figure"], not least


# --- on a stock --------------------------------------------------------------------------


def fitting_label(
    package: Package, stock: Stock, destination: str = "", marks: Marks | None = None
) -> LabelDocument:
    """The fullest wording of the label that fits on ``stock``; PrintError where none does, or
    where the stock has no place on the package."""
    marks = marks or Marks()
    document = package_label_document(package, destination, marks)
    if not document.void:
        check_sticks(stock, film_of(package), marks.policy)
    return plan_of(document, stock).document


def labels_or_why(
    packages: Iterable[Package], stock: Stock, destination: str = ""
) -> Iterator[LabelDocument | NotPrinted]:
    """The labels of several packages; of one that has none, why."""
    packages, marks = list(packages), Marks()
    prefetch_related_objects(packages, "decided")
    for package in packages:
        try:
            yield fitting_label(package, stock, destination, marks)
        except PrintError as problem:
            yield NotPrinted(package.code, package.what, str(problem))


Film = tuple[float, float]
"""Length and width of the film of a pouch or roll, in mm."""


def film_of(package: Package) -> Film | None:
    """The film that the label is stuck on, of the outermost pouch or roll, as it was on record
    when it was packed; None for what has none, or of an unknown size."""
    return film_around(package.serves.get("around", ()))


def film_around(supplies: Iterable[dict[str, Any]]) -> Film | None:
    """The film of the outermost of these supplies on record; None as for :func:`film_of`."""
    films = [_film(one) for one in supplies]
    known = [one for one in films if one]
    return max(known, key=lambda one: one[1]) if known else None


def _film(supply: dict[str, Any]) -> Film | None:
    """The film of one supply on record; how long a roll was cut does not matter."""
    if supply["kind"] == Kind.POUCH:
        length, width = supply.get("inner_length_mm"), supply.get("inner_width_mm")
        return (length, width) if length and width else None
    if supply["kind"] == Kind.ROLL and supply.get("nominal_width_mm"):
        return inf, supply["nominal_width_mm"] - 2 * (supply.get("side_seal_mm") or 0.0)
    return None


def no_place_on(stock: Stock, film: Film | None, policy: Policy) -> NoPlace | None:
    """Why a label of this stock has no place on the film, with the stocks that have one."""
    if film is None or sticks((stock.width_mm, stock.height_mm), film, policy):
        return None
    fit = tuple((one.key, one.name) for one in label_stocks().values()
                if sticks((one.width_mm, one.height_mm), film, policy))  # fmt: skip
    length, width = (f"{side:.0f}" for side in film)
    size = f"{width} mm wide" if film[0] == inf else f"{width} x {length} mm"
    share = policy.number("label_film_share")
    why = (f"{stock.name} is wider than the pouch, or would cover more than {share:.0%} of its "
           f"film ({size} inside).{'' if fit else ' No stock here is small enough.'}")  # fmt: skip
    return NoPlace(why, fit)


def check_sticks(stock: Stock, film: Film | None, policy: Policy) -> None:
    """PrintRefused where a label of this stock has no place on the film, with those that do."""
    if none := no_place_on(stock, film, policy):
        fit = "; ".join(name for _, name in none.fit)
        raise PrintRefused("label stock", none.why + (fit and f" These fit: {fit}."))
